//! The ways to do a move, each one touch away: of the move at work, and of the next.

use std::sync::Arc;

use leptos::prelude::*;

use super::fitted::Fitted;
use crate::app::parts::live::{button, live, nothing, part, touch};
use crate::app::parts::{shell, text};
use crate::plan::{Choice, Hand, Level, Move, fill};
use crate::run::Input;
use crate::timeline::{SegmentKind, Timeline};

/// Which move's ways are looked at.
#[derive(Clone, Copy, PartialEq, Eq)]
struct Subject {
    /// The move.
    of: usize,
    /// A work segment of it.
    segment: usize,
    /// It is not at work yet.
    next: bool,
}

fn has_ways(timeline: &Timeline, segment: usize) -> Option<usize> {
    let segment = &timeline.segments()[segment];
    let of = segment.move_at?;
    // In a window each task has its own; there they are read before, on Brief.
    let alone = timeline.tasks_of(segment).len() <= 1;
    let known = timeline.plan().moves.get(of)?;
    (alone && !known.options.is_empty()).then_some(of)
}

/// The move at work or shown and the next one, as far as they have ways.
fn subjects(timeline: &Timeline, segment: usize) -> [Option<Subject>; 2] {
    let present = &timeline.segments()[segment];
    let about = timeline.about(present);
    let (now, from) = match present.kind {
        SegmentKind::Work => (Some(segment), segment + 1),
        SegmentKind::Demo => (about.and_then(|about| about.work), segment),
        _ => (None, segment),
    };
    let subject = |at: Option<usize>, next| {
        let segment = at?;
        let of = has_ways(timeline, segment)?;
        Some(Subject { of, segment, next })
    };
    let now = subject(now, false);
    // The other side of the same move is no other move.
    let next = subject(timeline.next_work(from), true);
    let next = next.filter(|next| now.is_none_or(|now| now.of != next.of));
    [now, next]
}

/// The row of ways.
pub(super) fn ways(
    timeline: &Arc<Timeline>,
    segment: Memo<Option<usize>>,
    fitted: Fitted,
    hidden: RwSignal<bool>,
) -> AnyView {
    let turned = RwSignal::new(false);
    // Where there is no room for the row, a touch shows it.
    let open = RwSignal::new(false);
    let timeline = timeline.clone();
    let before = StoredValue::new(None);
    part(move || {
        // The row's place is taken while the coach is followed.
        let Some(at) = segment.get().filter(|_| !hidden.get()) else {
            return nothing();
        };
        // A new segment begins with the move at work.
        if before.get_value() != Some(at) {
            before.set_value(Some(at));
            for shown in [turned, open] {
                if shown.get_untracked() {
                    shown.set(false);
                }
            }
        }
        let [now, next] = subjects(&timeline, at);
        let first = if turned.get() {
            next.or(now)
        } else {
            now.or(next)
        };
        let Some(subject) = first else {
            return nothing();
        };
        let Some(known) = timeline.plan().moves.get(subject.of) else {
            return nothing();
        };
        let both = now.is_some() && next.is_some();
        let later = comes_again(&timeline, subject);
        let begin = &timeline.segments()[subject.segment];
        let hand = begin.hand_at(begin.start_ms);
        let head = head(subject, known, later, both, turned);
        let all = in_order(known);
        let (columns, rows) = grid(known, all.len()).unzip();
        let many = (all.len() > FEW).then_some("");
        let all = all
            .into_iter()
            .map(|option| way(subject.of, known, option, hand, open))
            .collect_view();
        view! {
            <div
                class="ways"
                role="group"
                data-testid="ways"
                data-columns=columns
                data-rows=rows
                data-many=many
                data-open=live(move || open.get().to_string())
                aria-label=format!("Ways to do {}", text::move_name(known))
                node_ref=fitted.ways
            >
                {button("open-ways", "open-ways", "Easier or harder", move || open.set(true))}
                {head}
                {all}
            </div>
        }
        .into_any()
    })
    .into_any()
}

/// Whether a move comes again after a segment.
fn comes_again(timeline: &Timeline, subject: Subject) -> bool {
    timeline.segments()[subject.segment + 1..]
        .iter()
        .any(|segment| segment.is_work() && segment.move_at == Some(subject.of))
}

/// Up to so many ways are told apart by their levels where their names have no room.
const FEW: usize = 4;

/// The longest name of a way that a narrow column holds in letters that can be read from the floor.
const SHORT: usize = 24;

/// In how many columns and rows many ways stand, or ways with long names, on a phone; few and short ones
/// stand in one row. More than three rows are moved through.
fn grid(known: &Move, all: usize) -> Option<(&'static str, &'static str)> {
    let long = known
        .options
        .iter()
        .any(|option| option.name.chars().count() > SHORT);
    Some(match all {
        3 if long => ("2", "2"),
        0..=3 => return None,
        4 => ("2", "2"),
        5..=6 => ("3", "2"),
        7..=9 => ("3", "3"),
        10..=12 => ("4", "3"),
        _ => ("3", "more"),
    })
}

/// Easier ways first, then as written, then harder ones and others.
fn in_order(known: &Move) -> Vec<Option<usize>> {
    let of = |easier: bool| {
        (0..known.options.len())
            .filter(move |i| (known.options[*i].level == Level::Easier) == easier)
            .map(Some)
    };
    of(true).chain([None]).chain(of(false)).collect()
}

/// What the row is about; where there are two moves, a touch turns to the other.
fn head(
    subject: Subject,
    known: &Move,
    later: bool,
    both: bool,
    turned: RwSignal<bool>,
) -> AnyView {
    let session = shell().session;
    // A choice holds for what comes of the move: the row says so.
    let when = live(move || {
        let chosen = session.ways.get().contains_key(&subject.of);
        match (chosen && later, subject.next) {
            (true, _) => "Kept from now on",
            (false, true) => "Next move",
            (false, false) => "This move",
        }
        .to_owned()
    });
    // The name of the one at work stands above already.
    let name = subject.next.then(|| text::move_name(known));
    if !both {
        return view! { <p class="when"><small>{when}</small> " " <bdi class="when-name">{name}</bdi></p> }
            .into_any();
    }
    let turn = touch(move || turned.update(|turned| *turned = !*turned));
    let to = if subject.next {
        "← This move"
    } else {
        "Next move →"
    };
    view! {
        <button class="when" data-testid="turn-ways" on:click=turn>
            <small>{when}</small>
            <bdi class="when-name">{name}</bdi>
            <b>{to}</b>
        </button>
    }
    .into_any()
}

fn way(
    of: usize,
    known: &Move,
    option: Option<usize>,
    hand: Option<Hand>,
    open: RwSignal<bool>,
) -> AnyView {
    let session = shell().session;
    let choice = option.and_then(|option| known.options.get(option));
    let level = match choice.map(|choice| choice.level) {
        None => "",
        Some(Level::Easier) => "Easier",
        Some(Level::Harder) => "Harder",
        Some(Level::Other) => "Another way",
    };
    let name = choice.map_or("As written".to_owned(), text::option_name);
    let note = choice.and_then(|choice| choice.notes.first().map(|note| fill(note, hand)));
    let is_chosen = move || session.ways.get().get(&of).copied() == option;
    let choose = touch(move || {
        let now = session.ways.get_untracked().get(&of).copied();
        // A touch on what is chosen takes it back.
        let option = if now == option { None } else { option };
        session.act(Input::Choose { of, option });
        open.set(false);
    });
    // Told by its level alone, it is told apart from others of that level by its number.
    let nth = option.and_then(|option| {
        let same = |one: &Choice| Some(one.level) == choice.map(|choice| choice.level);
        let before = known.options.iter().take(option).filter(|one| same(one));
        let all = known.options.iter().filter(|one| same(one)).count();
        (all > 1).then(|| (before.count() + 1).to_string())
    });
    view! {
        <button
            class="way"
            data-testid="option"
            aria-pressed=live(move || is_chosen().to_string())
            on:click=choose
        >
            <small>{level} <span class="nth">{nth}</span></small>
            <b class:way-name=choice.is_some() dir="auto">{name}</b>
            <small class="way-note" dir="auto">{note}</small>
        </button>
    }
    .into_any()
}
