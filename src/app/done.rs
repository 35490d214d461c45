//! After the class: what was worked, for how long, what was skipped.

use leptos::prelude::*;

use super::classes::to_classes;
use super::history;
use super::live::{button, live, nothing, part, touch};
use super::offline::update_offer;
use super::{Opened, Screen, shell, text};
use crate::conductor::Event;
use crate::run::{Did, Input, Record, load};
use crate::stored::StoredDone;
use crate::timeline::Timeline;

/// What was really done.
pub(super) fn done(opened: &Opened) -> AnyView {
    let shell = shell();
    let Some(record) = shell.session.record() else {
        return view! { <main class="page" data-testid="done">{to_classes()}</main> }.into_any();
    };
    let title = opened.title();
    let heading = if opened.trial {
        "Tried"
    } else if record.reached_end {
        "Done"
    } else {
        "Ended early"
    };
    let whole = record.segments(Did::All).count();
    let all = record.work.len();
    let times = times(&opened.timeline, &record);
    let moves = |which: &dyn Fn(&Time) -> bool| by_move(&opened.timeline, &times, which);
    let joined = record.joined_ms;
    let worked = moves(&|time| time.worked);
    let one_side = moves(&|time| time.worked && time.left_out);
    let missed = moves(&|time| !time.worked && time.end_ms <= joined);
    let skipped = moves(&|time| !time.worked && time.end_ms > joined);
    let chosen = shell.session.ways.get_untracked();
    let ways = chosen
        .iter()
        .filter_map(|(of, option)| {
            let known = opened.plan().moves.get(*of)?;
            Some((known.called_as(known.options.get(*option)), 0))
        })
        .collect();
    let row = |what: &'static str, ms: i64| {
        view! { <tr><th scope="row">{what}</th>" "<td class="figure">{text::clock(ms)}</td></tr> }
            .into_any()
    };
    let back = if opened.trial {
        button("strong", "to-write", "Back to writing", move || {
            shell.screen.set(Screen::Write);
        })
    } else {
        view! {
            {button("strong", "", "Back to this class", move || shell.screen.set(Screen::Brief))}
            {to_classes()}
            {history::to_history()}
        }
        .into_any()
    };
    let unwell = shell.session.unwell.get_untracked().then(|| {
        view! { <section class="problem" data-testid="advice">{super::class::asks::advice()}</section> }
    });
    let pauses = (record.paused_ms > 0).then(|| row("Paused", record.paused_ms));
    view! {
        <main class="page done" data-testid="done">
            <header>
                <h1>{heading}</h1>
                <p dir="auto">{title}</p>
            </header>
            {unwell}
            {back_to_class()}
            {away(opened)}
            <table>
                <tbody>
                    {row("Worked", record.worked_ms)}
                    {row("Class time", record.running_ms)}
                    {pauses}
                </tbody>
            </table>
            <p>{format!("{whole} of {} in full.", text::count(all, "work interval", "work intervals"))}</p>
            {history::strip(&opened.timeline, &record)}
            {rated(&record)}
            {list("Worked", "worked", worked)}
            {list("Of these on one side only", "one-side", one_side)}
            {list("Your ways", "your-ways", ways)}
            {list("Before you came", "missed", missed)}
            {list(if record.reached_end { "Skipped" } else { "Skipped or not reached" }, "skipped", skipped)}
            <p class="small">"If something hurts tomorrow more than a muscle should, see a doctor before the next class."</p>
            <div class="row">{back}</div>
            {update_offer()}
        </main>
    }
    .into_any()
}

/// The way back into a class that was ended a moment ago.
fn back_to_class() -> AnyView {
    let session = shell().session;
    part(move || {
        if !session.can_go_back.get() {
            return nothing();
        }
        view! {
            <div class="row">
                {button("", "back-to-class", "Back to the class", move || session.feed(Event::BackToClass))}
            </div>
        }
        .into_any()
    })
    .into_any()
}

/// Whether the member kept going while the phone was away.
fn away(opened: &Opened) -> AnyView {
    let session = shell().session;
    let Some(away) = session.away.get_untracked() else {
        return nothing();
    };
    view! {
        <section class="notice" data-testid="away-done">
            <p>{text::away(&opened.timeline, &away)}</p>
            <div class="row">
                {button("strong", "kept-going", "I kept going", move || session.act(Input::KeptGoing))}
                {button("", "return", "Back to there", move || session.act(Input::Return))}
            </div>
        </section>
    }
    .into_any()
}

/// The anchors of the rating (the session form of the category-ratio scale, Foster et al. 2001,
/// from memory).
const ANCHORS: [&str; 11] = [
    "rest",
    "very, very easy",
    "easy",
    "moderate",
    "somewhat hard",
    "hard",
    "",
    "very hard",
    "",
    "",
    "maximal",
];

/// The rating of the class that was just done, or why it is not kept.
fn rated(record: &Record) -> AnyView {
    match shell().session.archived() {
        None => nothing(),
        Some(Err(fault)) => view! {
            <p class="problem" role="status" data-testid="not-kept">"What you did could not be kept. " {fault.to_string()}</p>
        }
        .into_any(),
        Some(Ok(done)) => view! {
            <section>
                <h2>"How hard was it, all in all?"</h2>
                {rating(&done, record.running_ms)}
            </section>
        }
        .into_any(),
    }
}

/// How hard it was, and a note: both stay on the phone.
pub(super) fn rating(done: &StoredDone, running_ms: i64) -> AnyView {
    let shell = shell();
    let chosen = RwSignal::new(done.rating);
    let start = done.start;
    let note = done.note.clone();
    let change = move |with: &dyn Fn(&mut StoredDone)| {
        let Some(mut done) = shell.store.with_value(|store| store.done_at(start)) else {
            return;
        };
        with(&mut done);
        // Later than before, also where the phone's clock was set back.
        done.changed = shell.session.now().max(done.changed + 1);
        let kept = shell.store.with_value(|store| store.keep_done(&done));
        shell.fault.set(kept.err().map(|e| e.to_string()));
    };
    let choices = ANCHORS
        .iter()
        .zip(0_u8..)
        .map(|(anchor, n)| {
            let pressed = live(move || (chosen.get() == Some(n)).to_string());
            let rate = touch(move || {
                chosen.set(Some(n));
                change(&move |done| done.rating = Some(n));
            });
            view! {
                <button class="choice" data-testid=format!("rate-{n}") aria-pressed=pressed on:click=rate>
                    <strong>{n}</strong>
                    <span class="small">{*anchor}</span>
                </button>
            }
            .into_any()
        })
        .collect_view();
    let told = live(move || match chosen.get() {
        Some(n) => format!(
            "Load of this class: {} (rating x minutes).",
            load(n, running_ms)
        ),
        None => String::new(),
    });
    let write = move |event: web_sys::Event| {
        let note = event_target_value(&event);
        change(&move |done| done.note.clone_from(&note));
    };
    view! {
            <div class="choices ratings" role="group" aria-label="How hard it was, 0 to 10">{choices}</div>
            <p aria-live="polite" data-testid="load">{told}</p>
            <label class="wide">
                <span>"A note for yourself"</span>
                <input type="text" maxlength="500" dir="auto" value=note on:input=write data-testid="own-note" />
            </label>
            {super::classes::fault_line()}
    }
    .into_any()
}

/// One time that a move comes: its two sides are one.
struct Time {
    of: usize,
    /// The block, the round and the entry.
    place: (usize, u32, u32),
    worked: bool,
    /// A side of it was not worked at all.
    left_out: bool,
    end_ms: i64,
}

/// The times of the moves, in the order of the class.
fn times(timeline: &Timeline, record: &Record) -> Vec<Time> {
    let mut times: Vec<Time> = Vec::new();
    for (segment, did) in &record.work {
        let segment = &timeline.segments()[*segment];
        let place = (segment.block, segment.round, segment.entry);
        let (worked, left_out) = (*did != Did::None, *did == Did::None);
        for of in timeline.moves_of(segment) {
            let same = |last: &&mut Time| (last.of, last.place) == (of, place);
            if let Some(last) = times.last_mut().filter(same) {
                last.worked |= worked;
                last.left_out |= left_out;
                last.end_ms = segment.end_ms;
                continue;
            }
            times.push(Time {
                of,
                place,
                worked,
                left_out,
                end_ms: segment.end_ms,
            });
        }
    }
    times
}

/// How often each move was met in a way, in the order of the class.
fn by_move(
    timeline: &Timeline,
    times: &[Time],
    which: &dyn Fn(&Time) -> bool,
) -> Vec<(String, usize)> {
    let mut moves: Vec<(usize, usize)> = Vec::new();
    for time in times.iter().filter(|time| which(time)) {
        match moves.iter_mut().find(|(of, _)| *of == time.of) {
            Some((_, count)) => *count += 1,
            None => moves.push((time.of, 1)),
        }
    }
    moves
        .into_iter()
        .filter_map(|(of, count)| {
            let known = timeline.plan().moves.get(of)?;
            Some((text::move_name(known), count))
        })
        .collect()
}

fn list(heading: &'static str, id: &'static str, moves: Vec<(String, usize)>) -> AnyView {
    if moves.is_empty() {
        return nothing();
    }
    let items = moves
        .into_iter()
        .map(|(name, times)| {
            let times = (times > 0).then(|| format!("{times} ×"));
            view! { <li><span dir="auto">{name}</span> " " <span class="small">{times}</span></li> }
        })
        .collect_view();
    view! {
        <section data-testid=id>
            <h2>{heading}</h2>
            <ul class="tally">{items}</ul>
        </section>
    }
    .into_any()
}
