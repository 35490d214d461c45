//! During the class: the ladder one climbs.

mod ahead;
pub(super) mod asks;
mod coach;
mod controls;
mod fitted;
mod panel;
mod strip;
pub(super) mod sure;
mod ways;

use std::sync::Arc;

use leptos::prelude::*;

use super::live::live;
use super::session::Session;
use super::{Opened, shell, text};
use crate::device::{Listener, listen_window};
use crate::plan::fill;
use crate::run::{Input, Phase};
use crate::timeline::{Segment, SegmentKind, Timeline};

/// The Class screen.
pub(super) fn class(opened: &Opened) -> AnyView {
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
            {panel::panel(opened, segment, fitted, coach)}
            {ahead::ahead(&timeline, segment, fitted)}
            {sunk(&timeline, segment)}
            {ways::ways(&timeline, segment, fitted, coach)}
            {coach::coach(opened, coach)}
            {controls::controls(unwell, coach)}
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
    let words = live(move || {
        let Some(segment) = segment.get().map(|i| timeline.segments()[i]) else {
            return String::new();
        };
        // Untracked: a choice is heard from its button, not from here.
        let ways = session.ways.get_untracked();
        let named = |segment: &Segment| timeline.name_of(segment, &ways);
        let mut words = vec![text::phase(segment.kind).to_owned()];
        words.extend(named(&segment));
        words.push(text::length(segment.len_ms()));
        let next = timeline.work_from(&segment).filter(|_| !segment.is_work());
        if let Some(next) = next {
            words.extend(named(next).map(|name| format!("then {name}")));
            // In a gap there is time to hear what to mind.
            let known = timeline.move_of(next);
            let caution = known.map(|known| fill(&known.caution, next.hands().next()));
            words.extend(caution.filter(|caution| !caution.is_empty()));
        }
        words.join(", ")
    });
    view! { <p class="sr" aria-live="polite">{words}</p> }.into_any()
}
