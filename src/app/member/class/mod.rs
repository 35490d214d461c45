//! During the class: the ladder one climbs.

mod ahead;
pub(super) mod asks;
mod coach;
mod controls;
mod fitted;
mod more;
mod panel;
mod strip;
pub(super) mod sure;
mod ways;

use std::sync::Arc;

use leptos::prelude::*;

use crate::app::parts::live::live;
use crate::app::parts::session::Session;
use crate::app::parts::{Opened, shell, text};
use crate::cue::caution;
use crate::device::{Listener, listen_window};
use crate::plan::{BlockKind, Word as _, isolated};
use crate::run::{Input, Phase};
use crate::timeline::{Segment, SegmentKind, Timeline, changes_at_half};

/// The Class screen.
pub fn class(opened: &Opened) -> AnyView {
    let session = shell().session;
    let moment = session.moment;
    let segment = Memo::new(move |_| moment.get().segment);
    let paused = live(move || (moment.get().phase == Phase::Paused).to_string());
    let timeline = opened.timeline.clone();
    let ground = {
        let timeline = timeline.clone();
        live(move || {
            segment
                .get()
                .map_or(SegmentKind::Ready, |i| timeline.segments()[i].kind)
                .word()
                .to_owned()
        })
    };
    let fitted = fitted::Fitted::new();
    let unwell = RwSignal::new(false);
    let coach = RwSignal::new(false);
    let more = RwSignal::new(false);
    let leaving = shell().leaving;
    let keys = listen_window("keydown", move |event| {
        if !unwell.get_untracked() && !leaving.get_untracked() {
            on_key(session, &event);
        }
    });
    let keys: StoredValue<Option<Listener>, LocalStorage> = StoredValue::new_local(keys);
    on_cleanup(move || keys.dispose());
    view! {
        <main class="class" data-testid="class" data-ground=ground data-paused=paused>
            <h1 class="sr">{opened.title()}</h1>
            {strip::strip(&timeline)}
            {panel::panel(opened, segment, fitted, coach, more)}
            {ahead::ahead(&timeline, segment, fitted)}
            {more::more(&timeline, segment, more, fitted)}
            {sunk(&timeline, segment)}
            {ways::ways(&timeline, segment, fitted, coach)}
            {coach::coach(opened, coach)}
            {controls::controls(unwell, coach, fitted)}
            {asks::unwell(unwell)}
            {asks::leave(unwell)}
            {asks::away(opened, unwell)}
            {spoken(timeline, segment)}
        </main>
    }
    .into_any()
}

/// What is done sinks out below: the tread of the last rung, once there is one.
fn sunk(timeline: &Arc<Timeline>, segment: Memo<Option<usize>>) -> AnyView {
    let timeline = timeline.clone();
    let below = live(move || {
        let below = segment.get().and_then(|i| timeline.rung_below(i));
        below.is_some().to_string()
    });
    view! { <div class="sunk" data-done=below></div> }.into_any()
}

/// Keys of a keyboard or of a presenter's remote.
fn on_key(session: Session, event: &web_sys::Event) {
    use wasm_bindgen::JsCast as _;
    let Some(key) = event.dyn_ref::<web_sys::KeyboardEvent>() else {
        return;
    };
    let focused_control = document()
        .active_element()
        .is_some_and(|element| element.matches("button, [role=slider]").unwrap_or(false));
    let typing = document()
        .active_element()
        .is_some_and(|element| element.matches("input").unwrap_or(false));
    if typing || key.ctrl_key() || key.alt_key() || key.meta_key() {
        return;
    }
    let input = match key.key().as_str() {
        // A button that has the focus takes these itself.
        " " | "Enter" if focused_control => return,
        " " => {
            let moment = session.moment.get_untracked();
            // Within the count-in the key calls it off.
            if moment.phase == Phase::Paused && moment.count_in.is_none() {
                Input::Resume
            } else {
                Input::Pause
            }
        }
        "PageDown" => Input::Skip,
        "PageUp" => Input::Back,
        "ArrowRight" if !focused_control => Input::Skip,
        "ArrowLeft" if !focused_control => Input::Back,
        _ => return,
    };
    event.prevent_default();
    session.act(input);
}

/// The changes of the class for a screen reader: phase, move and side, not each second.
fn spoken(timeline: Arc<Timeline>, segment: Memo<Option<usize>>) -> AnyView {
    let session = shell().session;
    let met = panel::met(&timeline, segment);
    // At half time the other side is told, in place of what the segment began with.
    let change = {
        let timeline = timeline.clone();
        Memo::new(move |_| {
            let work = segment.get().map(|i| timeline.segments()[i])?;
            let moment = session.moment.get();
            let ways = session.ways.get_untracked();
            let over = changes_at_half(&timeline, &work, &ways)
                && work.is_work()
                && moment.class_ms >= work.half_ms();
            over.then(|| match moment.hand {
                Some(hand) => format!("Change sides, {}", hand.word()),
                None => "Change sides".to_owned(),
            })
        })
    };
    let words = live(move || {
        let Some(segment) = segment.get().map(|i| timeline.segments()[i]) else {
            return String::new();
        };
        // Untracked: a choice is heard from its button, not from here.
        let ways = session.ways.get_untracked();
        if let Some(change) = change.get() {
            return change;
        }
        let named = |segment: &Segment| {
            let tasks = timeline.tasks_of(segment);
            if tasks.len() > 1 {
                return Some(text::tasks(&timeline, tasks, segment.turn).join(", "));
            }
            timeline.name_of(segment, &ways).map(|name| isolated(&name))
        };
        let length = text::length(segment.len_ms());
        let mut words = vec![text::phase(segment.kind).to_owned()];
        if let Some(block) = timeline.block_of(&segment)
            && let BlockKind::Interlude { say, .. } = &block.kind
            && segment.kind == SegmentKind::Interlude
        {
            words.extend([block.name.clone(), length, say.clone()]);
            words.retain(|words| !words.is_empty());
            return words.join(", ");
        }
        words.extend(named(&segment));
        words.push(length);
        if segment.is_work() {
            return words.join(", ");
        }
        let next = timeline.work_from(&segment);
        words.extend(next.and_then(named).map(|name| format!("then {name}")));
        let kit = text::fetch(&timeline, &segment, &ways);
        words.extend(kit.map(|kit| format!("Fetch: {kit}")));
        // In a gap there is time to hear what to mind.
        if let Some(about) = timeline.about(&segment)
            && let Some(known) = timeline.plan().moves.get(about.move_at)
        {
            let work = about.work.map(|work| timeline.segments()[work]);
            let hand = work.and_then(|work| work.hands().next());
            words.push(isolated(&caution(known, hand, met.get())));
            words.retain(|words| !words.is_empty());
        }
        words.join(", ")
    });
    view! { <p class="sr" aria-live="polite">{words}</p> }.into_any()
}
