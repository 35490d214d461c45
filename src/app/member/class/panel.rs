//! The present rung: the seconds, the move, the side that works, what to mind.

use std::sync::Arc;

use leptos::prelude::*;

use super::fitted::Fitted;
use super::more::name;
use crate::app::parts::live::{live, nothing, part};
use crate::app::parts::{Opened, shell, text};
use crate::cue::caution;
use crate::plan::{BlockKind, Hand, Move, Word as _, fill, isolated};
use crate::run::Phase;
use crate::timeline::{Segment, SegmentKind, Side, Timeline, changes_at_half, needs, way};

/// A start that is further off than this is told by the time of day.
const SOON_S: i64 = 90;
/// One that is further off than this is told with its day.
const TODAY_S: i64 = 12 * 3_600;

/// The present rung.
pub(super) fn panel(
    opened: &Opened,
    segment: Memo<Option<usize>>,
    fitted: Fitted,
    coach: RwSignal<bool>,
    more: RwSignal<bool>,
) -> AnyView {
    let timeline = &opened.timeline;
    let session = shell().session;
    let moment = session.moment;
    let starts_at = session.starts_at();
    let seconds = Memo::new(move |_| moment.get().seconds);
    let hand = Memo::new(move |_| moment.get().hand);
    let waits = Memo::new(move |_| moment.get().phase == Phase::Before);
    let recording = timeline.plan().recording;
    let stands = Memo::new(move |_| match (moment.get().phase, moment.get().count_in) {
        (Phase::Paused, Some(n)) => format!("On in {n}"),
        (Phase::Paused, None) => "Paused".to_owned(),
        (Phase::Held, _) => "Waiting for the coach".to_owned(),
        (Phase::Before, _) => match starts_at {
            Some(at) if moment.get().seconds > TODAY_S => {
                format!("Starts on {}", text::instant(at))
            }
            Some(at) if moment.get().seconds > SOON_S => format!("Starts at {}", text::time(at)),
            Some(_) => "Starts soon".to_owned(),
            None => recording.map_or_else(
                || "Starts soon".to_owned(),
                |from| {
                    let begins = text::clock(i64::from(from) * 1_000);
                    format!("Starts at {begins} of the video")
                },
            ),
        },
        _ => session.joins.get().map_or_else(String::new, |at| {
            format!("Joins in {}", text::clock((at - session.now()).max(0)))
        }),
    });
    let now = {
        let timeline = timeline.clone();
        Memo::new(move |_| segment.get().map(|i| timeline.segments()[i]))
    };
    let len_ms = move || now.get().map(|segment| segment.len_ms());
    let shown = move || match waits.get() {
        true => text::wait(seconds.get()),
        false => seconds.get().to_string(),
    };
    // What is read from the floor; the number of seconds stays beside it for who asks for that.
    let clock = Memo::new(move |_| {
        let len_ms = len_ms().filter(|_| !waits.get())?;
        text::in_minutes(len_ms, seconds.get())
    });
    let of_segment = |show: fn(&Timeline, &Segment) -> AnyView| {
        let timeline = timeline.clone();
        part(move || {
            now.get()
                .map_or_else(nothing, |segment| show(&timeline, &segment))
        })
    };
    let kind = move || now.get().map_or(SegmentKind::Ready, |segment| segment.kind);
    // By the longest number of the segment: nothing moves when the seconds lose a digit.
    let digits = live(move || {
        let most = len_ms().map_or_else(shown, |len_ms| {
            let seconds = (len_ms + 999) / 1000;
            text::in_minutes(len_ms, seconds).unwrap_or_else(|| seconds.to_string())
        });
        most.len().clamp(2, 5).to_string()
    });
    let side = move || hand.get().map_or("", Hand::word).to_owned();
    // A gap spans the width, as work on both sides does.
    let lean = live(move || {
        let mirrored = session.settings.get().mirror;
        let at = hand
            .get()
            .map(|hand| if mirrored { hand.other() } else { hand });
        at.map_or("none", Hand::word).to_owned()
    });
    let met = met(timeline, segment);
    let words = {
        let timeline = timeline.clone();
        part(move || {
            let told = Told {
                hand: hand.get(),
                met: met.get(),
            };
            match now.get() {
                Some(segment) => words(&timeline, &segment, told),
                None => to_come(&timeline),
            }
        })
    };
    // The seconds are counted to the end of the work: to the change it is another number.
    let half_left = Memo::new(move |_| {
        let left = now.get()?.half_ms() - moment.get().class_ms;
        (left > 0).then_some((left + 999) / 1_000)
    });
    let half = {
        let timeline = timeline.clone();
        live(move || {
            let Some((left, segment)) = half_left.get().zip(now.get()) else {
                return String::new();
            };
            match segment.side {
                Side::Half { first } => format!("then {} in {left} s", first.other().word()),
                _ if segment.is_work()
                    && changes_at_half(&timeline, &segment, &session.ways.get()) =>
                {
                    format!("change sides in {left} s")
                }
                _ => String::new(),
            }
        })
    };
    let named = {
        let (timeline, class) = (timeline.clone(), opened.title());
        part(move || match now.get() {
            Some(segment) => title(&timeline, &segment, more),
            None => view! { <p class="name" dir="auto">{class.clone()}</p> }.into_any(),
        })
    };
    // A number in it that counts down changes nothing of its box.
    let stands_long = Memo::new(move |_| stands.with(String::len));
    fitted.keep(move || {
        hand.track();
        segment.track();
        stands_long.track();
        session.ways.track();
        coach.track();
        more.track();
        // What is told of them takes its room from what stands above.
        session.sound.track();
        session.awake.track();
    });
    view! {
        <section class="panel" data-lean=lean data-digits=digits aria-label="Now">
            <p class="place">
                <span class="phase" data-testid="phase" data-phase=live(move || kind().word().to_owned())>
                    {live(move || text::phase(kind()).to_owned())}
                </span>
                <span data-testid="round">{of_segment(place)}</span>
            </p>
            <p
                class="seconds"
                data-testid="seconds"
                data-clock=move || clock.get()
                aria-label="seconds left"
                role="timer"
            >
                <span>{live(shown)}</span>
            </p>
            <div class="name-box" node_ref=fitted.name>
                {named}
                <p class="side">
                    <span data-testid="side">{live(side)}</span>
                    <span class="half">{half}</span>
                </p>
            </div>
            <div class="words" node_ref=fitted.words>{words}</div>
            <p class="stands" data-testid="stands" aria-live="polite">{live(move || stands.get())}</p>
        </section>
    }
    .into_any()
}

/// Before the start: what to have at hand, and what comes first.
fn to_come(timeline: &Timeline) -> AnyView {
    let plan = timeline.plan();
    let ways = shell().session.ways.get();
    let kit = plan.kit.iter().filter(|kit| needs(plan, &ways, &kit.id));
    let mut kit: Vec<_> = kit.map(|kit| isolated(kit.called())).collect();
    kit.push("water".to_owned());
    let first = timeline.next_work(0).map(|at| &timeline.segments()[at]);
    let first = first.map(|work| timeline.names_of(work, &ways).join(", "));
    view! {
        <p dir="auto" data-testid="at-hand"><b>"Have at hand: "</b> {kit.join(", ")}</p>
        {first.map(|first| view! { <p dir="auto" data-testid="comes-first"><b>"First: "</b> <bdi>{first}</bdi></p> })}
    }
    .into_any()
}

/// The present one's name: a move's in work and demos, else what the gap is.
fn title(timeline: &Timeline, segment: &Segment, more: RwSignal<bool>) -> AnyView {
    let ways = shell().session.ways.get();
    let about = timeline.about(segment);
    let plan = timeline.plan();
    let called = about.and_then(|about| {
        let known = plan.moves.get(about.move_at)?;
        Some(known.called_as(way(plan, about.move_at, &ways)))
    });
    match segment.kind {
        SegmentKind::Work | SegmentKind::Demo => {
            let called = called.unwrap_or_else(|| text::phase(segment.kind).to_owned());
            // Small: what is shown now is what one has to read.
            let then = about.and_then(|about| {
                let next = timeline.segments().get(about.then?)?;
                timeline.name_of(next, &ways)
            });
            view! {
                <p class="name" dir="auto" data-testid="move">{name(called, more)}</p>
                {then.map(|then| {
                    view! { <p class="demo-then" data-testid="demo-then">"then: " <bdi>{then}</bdi></p> }
                })}
            }
            .into_any()
        }
        SegmentKind::Interlude => {
            let block = timeline.block_of(segment).map(|block| block.name.clone());
            let block = text::or(&block.unwrap_or_default(), text::phase(segment.kind));
            view! { <p class="name" dir="auto" data-testid="move">{block}</p> }.into_any()
        }
        kind => {
            let next = about.and_then(|about| timeline.segments().get(about.work?));
            // Several tasks are a list of their own.
            let alone = next.filter(|next| timeline.tasks_of(next).len() <= 1);
            // In a gap what comes is what one has to read.
            let then = alone.zip(called).map(|(next, called)| {
                let side = text::hands(&next.hands().collect::<Vec<_>>());
                view! {
                    <p class="name then" dir="auto">{name(called, more)}</p>
                    <p class="side then-side">{side}</p>
                }
                .into_any()
            });
            let class = if then.is_some() {
                "name gap-name"
            } else {
                "name"
            };
            view! {
                <p class=class dir="auto" data-testid="move">{text::phase(kind)}</p>
                {then}
            }
            .into_any()
        }
    }
}

/// Where in the class this is, as a coach counts it.
fn place(timeline: &Timeline, segment: &Segment) -> AnyView {
    let counts = timeline.counts_of(segment).into_iter();
    counts
        .map(|count| format!("{} {} of {}", count.what.word(), count.number, count.of))
        .collect::<Vec<_>>()
        .join(", ")
        .into_any()
}

/// By what the words of a segment go.
#[derive(Clone, Copy)]
struct Told {
    /// The side that works.
    hand: Option<Hand>,
    /// The exercise was met before: its caution is one line.
    met: bool,
}

/// What to mind now; in a gap, how the next move goes.
fn words(timeline: &Timeline, segment: &Segment, told: Told) -> AnyView {
    let hand = told.hand;
    let tasks = timeline.tasks_of(segment);
    if tasks.len() > 1 {
        let tasks = text::tasks(timeline, tasks, segment.turn)
            .into_iter()
            .map(|task| view! { <li dir="auto" data-testid="note">{task}</li> })
            .collect_view();
        return view! { <ul class="notes tasks">{tasks}</ul> }.into_any();
    }
    match segment.kind {
        SegmentKind::Work => {
            let entry = timeline.entry_of(segment);
            let known = timeline.move_of(segment);
            let ways = shell().session.ways.get();
            let reps = entry.map_or(0, |entry| entry.reps.at(segment.turn));
            let reps = (reps > 0).then(|| format!("{reps} times"));
            let notes = timeline
                .cues_of(segment, &ways)
                .into_iter()
                .map(|note| view! { <li dir="auto" data-testid="note">{fill(note, hand)}</li> })
                .collect_view();
            let how = known.map(|known| fill(&known.how, hand));
            let how = how.filter(|how| !how.is_empty());
            view! {
                {known.and_then(|known| caution_line(known, told))}
                <ul class="notes">
                    {reps.map(|reps| view! { <li class="reps">{reps}</li> })}
                    {notes}
                </ul>
                {how.map(|how| {
                    view! { <p class="how if-room" dir="auto" data-testid="how">{how}</p> }
                })}
                {touch_for_more()}
            }
            .into_any()
        }
        _ => {
            let fetch = text::fetch(timeline, segment, &shell().session.ways.get()).map(|kit| {
                view! { <p class="fetch" data-testid="fetch" dir="auto"><b>"Fetch: "</b> {kit}</p> }
                    .into_any()
            });
            view! { {fetch} {gap_words(timeline, segment, told)} {touch_for_more()} }.into_any()
        }
    }
}

/// In a gap: how the next move goes.
fn gap_words(timeline: &Timeline, segment: &Segment, told: Told) -> AnyView {
    match segment.kind {
        SegmentKind::Interlude => {
            let say = match timeline.block_of(segment).map(|block| &block.kind) {
                Some(BlockKind::Interlude { say, .. }) => say.clone(),
                _ => String::new(),
            };
            view! { <p class="say keep-lines" dir="auto" data-testid="note">{say}</p> }.into_any()
        }
        kind => {
            let Some(about) = timeline.about(segment) else {
                return nothing();
            };
            let work = about.work.and_then(|at| timeline.segments().get(at));
            let hand = work.and_then(|work| work.hand_at(work.start_ms));
            // One exercise stands beside the seconds by its name already.
            let tasks = work.is_some_and(|work| timeline.tasks_of(work).len() > 1);
            let named = tasks && kind != SegmentKind::Demo;
            how(timeline, about.move_at, Told { hand, ..told }, named)
        }
    }
}

/// How a move goes, for someone who does not know it.
fn how(timeline: &Timeline, of: usize, told: Told, named: bool) -> AnyView {
    let plan = timeline.plan();
    let Some(known) = plan.moves.get(of) else {
        return nothing();
    };
    let hand = told.hand;
    let how = fill(&known.how, hand);
    let ways = shell().session.ways.get();
    let way = way(plan, of, &ways);
    // What is chosen comes before what is written.
    let notes = way.map(|way| {
        let notes: Vec<_> = way.notes.iter().map(|note| fill(note, hand)).collect();
        view! { <p class="how" dir="auto" data-testid="way-notes">{notes.join(". ")}</p> }
            .into_any()
    });
    let name = named.then(|| view! { <b>{known.called_as(way)}</b> " " });
    view! {
        {notes}
        <p class="how" dir="auto">{name} <span data-testid="how">{how}</span></p>
        {caution_line(known, told)}
    }
    .into_any()
}

/// What to mind: in full the first time, and as its first sentence where there is no room for more.
fn caution_line(known: &Move, told: Told) -> Option<AnyView> {
    let (all, one) = (
        caution(known, told.hand, told.met),
        caution(known, told.hand, true),
    );
    let rest = all
        .strip_prefix(one.as_str())
        .unwrap_or_default()
        .to_owned();
    (!one.is_empty()).then(|| {
        view! {
            <p class="caution" dir="auto" data-testid="caution">
                {one}
                <span class="rest">{rest}</span>
            </p>
        }
        .into_any()
    })
}

/// Says how what has no room is seen; the page shows it only then.
fn touch_for_more() -> AnyView {
    view! { <p class="touch-for-more">"Touch the name for more."</p> }.into_any()
}

/// Whether the segment's exercise was done before in this run.
pub(super) fn met(timeline: &Arc<Timeline>, segment: Memo<Option<usize>>) -> Memo<bool> {
    let timeline = timeline.clone();
    Memo::new(move |_| {
        let record = shell().session.record();
        segment
            .get()
            .zip(record)
            .is_some_and(|(at, record)| record.met(&timeline, at))
    })
}
