//! After the class: what was worked, for how long, what was skipped.

use leptos::prelude::*;

use super::rungs::strip;
use crate::app::parts::buttons::{to_classes, to_history};
use crate::app::parts::live::{button, live, nothing, part, touch};
use crate::app::parts::notices::fault_line;
use crate::app::parts::offline::update_offer;
use crate::app::parts::{Opened, Screen, shell, text};
use crate::conductor::Event;
use crate::run::{Did, Input, RATINGS, Record, Tally, Times, load, tally};
use crate::stored::StoredDone;

/// What was really done.
pub fn done(opened: &Opened) -> AnyView {
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
    let tallies = tally(&opened.timeline, &record);
    let moves = |which: fn(&Tally) -> Times| {
        let met = tallies.iter().map(|tally| (tally, which(tally)));
        met.filter(|(_, times)| !times.is_none())
            .filter_map(|(tally, times)| {
                let known = opened.plan().moves.get(tally.of)?;
                Some((text::move_name(known), times.to_string()))
            })
            .collect::<Vec<_>>()
    };
    let chosen = shell.session.ways.get_untracked();
    let ways = chosen
        .iter()
        .filter_map(|(of, option)| {
            let known = opened.plan().moves.get(*of)?;
            Some((known.called_as(known.options.get(*option)), String::new()))
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
            {to_history()}
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
            {strip(&opened.timeline, &record)}
            {rated(&record)}
            {list("Worked", "worked", moves(|tally| tally.worked))}
            {list("Your ways", "your-ways", ways)}
            {list("Before you came", "missed", moves(|tally| tally.missed))}
            {list(if record.reached_end { "Skipped" } else { "Skipped or not reached" }, "skipped", moves(|tally| tally.skipped))}
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
pub fn rating(done: &StoredDone, running_ms: i64) -> AnyView {
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
    let choices = RATINGS
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
            "Load of this class: {} (the rating times the minutes, Foster and others 2001). Compare it with your own classes only.",
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
            {fault_line()}
    }
    .into_any()
}

fn list(heading: &'static str, id: &'static str, moves: Vec<(String, String)>) -> AnyView {
    if moves.is_empty() {
        return nothing();
    }
    let items = moves
        .into_iter()
        .map(|(name, times)| {
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
