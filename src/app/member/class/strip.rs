//! The whole class along one edge: every segment as tall as it is long, the start at the bottom.

use std::fmt::Write as _;
use std::sync::Arc;

use leptos::html::Div;
use leptos::prelude::*;
use web_sys::{KeyboardEvent, PointerEvent};

use crate::app::parts::live::{live, nothing, part};
use crate::app::parts::{shell, text};
use crate::device::Timer;
use crate::run::Input;
use crate::timeline::{Timeline, Ways};

/// How long the strip is held before letting go jumps: a hand that brushes it moves nothing.
const HOLD_MS: i64 = 600;

/// Work, or all else, as one path of bars in a box of 10 by the class's length in tenths of a second.
fn bars(timeline: &Timeline, work: bool) -> String {
    let total = timeline.total_ms();
    let mut path = String::new();
    for segment in timeline.segments().iter().filter(|s| s.is_work() == work) {
        // A hair between two bars, so that touching work does not run together.
        let hair = (segment.len_ms() / 8).min(1_500);
        let (top, height) = (total - segment.end_ms, segment.len_ms() - hair);
        // Writing to a text does not fail.
        let _ = write!(path, "M0 {}h10v{}h-10z", top / 100, height / 100);
    }
    path
}

/// The start of work that lies nearest to a class time.
fn nearest_work(timeline: &Timeline, ms: i64) -> Option<usize> {
    let inside = timeline
        .index_at(ms)
        .filter(|i| timeline.segments()[*i].is_work());
    inside.or_else(|| {
        let segments = timeline.segments();
        (0..segments.len())
            .filter(|i| segments[*i].is_work())
            .min_by_key(|i| (segments[*i].start_ms - ms).abs())
    })
}

/// How far beside the strip, in CSS pixels, a finger that was held on it calls the jump off.
const BESIDE_PX: f64 = 48.0;

/// The strip. Who holds it sees where letting go would jump; with the arrow keys a target is chosen,
/// and Enter jumps.
pub(super) fn strip(timeline: &Arc<Timeline>) -> AnyView {
    let session = shell().session;
    let moment = session.moment;
    let total = timeline.total_ms().max(1);
    let target = RwSignal::new(None::<usize>);
    // Held for long enough: letting go jumps.
    let ready = RwSignal::new(false);
    let hold = StoredValue::new_local(Timer::default());
    let bar = NodeRef::<Div>::new();
    // In thousandths: a phone's strip has fewer pixels.
    let done = Memo::new(move |_| moment.get().class_ms.clamp(0, total) * 1_000 / total);
    let minutes = Memo::new(move |_| {
        // Who warms up late ends when the class does that they are about to join.
        let ends = session.joins.get().and(session.starts_at());
        let left = ends.map_or(moment.get().class_left_ms, |start| {
            start + total - session.now()
        });
        (left.max(0) + 59_999) / 60_000
    });

    let place = {
        let timeline = timeline.clone();
        move |event: &PointerEvent| -> Option<usize> {
            let rect = bar.get_untracked()?.get_bounding_client_rect();
            let x = f64::from(event.client_x());
            if x < rect.left() - BESIDE_PX || x > rect.right() + BESIDE_PX {
                return None;
            }
            let up = 1.0 - (f64::from(event.client_y()) - rect.top()) / rect.height().max(1.0);
            nearest_work(&timeline, (up.clamp(0.0, 1.0) * total as f64) as i64)
        }
    };
    // A pointer may leave the strip because the screen went away under it.
    let let_go = move || {
        hold.try_update_value(Timer::clear);
        target.try_set(None);
        ready.try_set(false);
    };
    let press = {
        let place = place.clone();
        move |event: PointerEvent| {
            if event.button() == 0 {
                target.set(place(&event));
                hold.update_value(|hold| {
                    hold.set(HOLD_MS, move || {
                        ready.try_set(true);
                    });
                });
            }
        }
    };
    let slide = move |event: PointerEvent| {
        let now = target.get_untracked();
        match place(&event) {
            // Beside the strip nothing is chosen any more.
            None if now.is_some() => let_go(),
            to if now.is_some() && to != now => target.set(to),
            _ => {}
        }
    };
    let release = move || {
        let to = target.get_untracked().filter(|_| ready.get_untracked());
        let_go();
        if let Some(to) = to {
            session.act(Input::Jump { to });
        }
    };
    let key = {
        let timeline = timeline.clone();
        move |event: KeyboardEvent| {
            let segments = timeline.segments();
            let from = target
                .get_untracked()
                .or(moment.get_untracked().segment)
                .unwrap_or(0);
            let to = match event.key().as_str() {
                "ArrowUp" | "ArrowRight" => timeline.next_work(from + 1),
                "ArrowDown" | "ArrowLeft" => (0..from).rev().find(|i| segments[*i].is_work()),
                "Enter" => {
                    if let Some(to) = target.get_untracked() {
                        session.act(Input::Jump { to });
                    }
                    target.set(None);
                    return;
                }
                "Escape" => return target.set(None),
                _ => return,
            };
            event.prevent_default();
            event.stop_propagation();
            target.set(to.or(target.get_untracked()));
        }
    };
    let label = {
        let timeline = timeline.clone();
        move |i: usize| {
            let segment = &timeline.segments()[i];
            format!(
                "{} at {}",
                timeline.name_of(segment, &Ways::new()).unwrap_or_default(),
                text::clock(segment.start_ms)
            )
        }
    };
    let said = {
        let label = label.clone();
        live(move || match target.get() {
            Some(i) => format!("Enter jumps to {}", label(i)),
            None => format!("{} minutes left", minutes.get()),
        })
    };
    let offer = part(move || match target.get() {
        Some(i) => {
            let lead = if ready.get() {
                "Let go to jump to "
            } else {
                "Hold: "
            };
            view! { <p class="jump-offer" data-testid="jump-offer">{lead} <bdi>{label(i)}</bdi></p> }
                .into_any()
        }
        None => nothing(),
    });
    view! {
        <div class="strip">
            <p class="left-over" data-testid="minutes-left">
                <span class="figure">{live(move || minutes.get().to_string())}</span>
                <span class="unit">"min left"</span>
            </p>
            <div
                class="bar"
                node_ref=bar
                data-testid="strip"
                role="slider"
                tabindex="0"
                aria-label="The whole class. Hold a place and let go to jump there."
                aria-orientation="vertical"
                aria-valuemin="0"
                aria-valuemax=(total / 60_000).to_string()
                aria-valuenow=live(move || (total / 60_000 - minutes.get()).max(0).to_string())
                aria-valuetext=said
                on:pointerdown=press
                on:pointermove=slide
                on:pointerup=move |_| release()
                on:pointercancel=move |_| let_go()
                on:pointerleave=move |_| let_go()
                on:contextmenu=|event| event.prevent_default()
                on:keydown=key
            >
                <svg viewBox=format!("0 0 10 {}", total / 100) preserveAspectRatio="none" aria-hidden="true">
                    <path class="gap" d=bars(timeline, false)></path>
                    <path class="work" d=bars(timeline, true)></path>
                </svg>
                <div class="climbed" style:transform=live(move || format!("scaleY(calc({} / 1000))", done.get()))></div>
                <div class="here" style:transform=live(move || format!("translateY(calc((5px - 100%) * {} / 1000))", done.get()))>
                    <span></span>
                </div>
            </div>
            {offer}
        </div>
    }
    .into_any()
}
