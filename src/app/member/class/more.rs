//! How an exercise is done, all of it: asked for by a touch on its name, shown until the segment ends.

use std::sync::Arc;

use leptos::prelude::*;

use super::fitted::Fitted;
use crate::app::parts::live::{button, live, nothing, part, touch};
use crate::app::parts::{shell, text};
use crate::cue::caution;
use crate::plan::fill;
use crate::timeline::{Timeline, way};

/// The exercise's name, as what is touched to see how it is done.
pub(super) fn name(words: String, more: RwSignal<bool>) -> AnyView {
    let open = live(move || more.get().to_string());
    let turn = touch(move || more.update(|more| *more = !*more));
    view! {
        <button class="bare" data-testid="show-how" aria-expanded=open on:click=turn>
            {words}
        </button>
    }
    .into_any()
}

/// All that is told of the exercise that the segment is about, over what comes.
pub(super) fn more(
    timeline: &Arc<Timeline>,
    segment: Memo<Option<usize>>,
    more: RwSignal<bool>,
    fitted: Fitted,
) -> AnyView {
    let session = shell().session;
    let timeline = timeline.clone();
    let hand = Memo::new(move |_| session.moment.get().hand);
    let before = StoredValue::new(None);
    part(move || {
        let at = segment.get();
        // Another segment is about something else.
        if before.get_value() != at {
            before.set_value(at);
            if more.get_untracked() {
                more.set(false);
            }
        }
        if !more.get() {
            return nothing();
        }
        let Some(segment) = at.map(|at| timeline.segments()[at]) else {
            return nothing();
        };
        let Some(about) = timeline.about(&segment) else {
            return nothing();
        };
        let plan = timeline.plan();
        let Some(known) = plan.moves.get(about.move_at) else {
            return nothing();
        };
        let work = about.work.map(|work| timeline.segments()[work]);
        let hand = hand
            .get()
            .or_else(|| work.and_then(|work| work.hand_at(work.start_ms)));
        let option = way(plan, about.move_at, &session.ways.get());
        let own = work.and_then(|work| timeline.entry_of(&work).map(|entry| entry.notes.clone()));
        let usual = match option {
            Some(option) if !option.notes.is_empty() => &option.notes,
            _ => &known.notes,
        };
        let own = own.unwrap_or_default();
        let notes = own
            .iter()
            .chain(usual)
            .map(|note| view! { <li dir="auto">{fill(note, hand)}</li> })
            .collect_view();
        let mind = caution(known, hand, false);
        view! {
            <section class="more" data-testid="more" aria-label="How it is done" node_ref=fitted.more>
                <h2 dir="auto">{text::move_name(known)}</h2>
                {(!mind.is_empty()).then(|| view! { <p class="caution" dir="auto">{mind}</p> })}
                <p class="how keep-lines" dir="auto">{fill(&known.how, hand)}</p>
                <ul class="notes">{notes}</ul>
                {button("", "more-close", "Close", move || more.set(false))}
            </section>
        }
        .into_any()
    })
    .into_any()
}
