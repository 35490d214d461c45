//! In step with a coach elsewhere: the go that is heard, a delayed stream, a recording's clock.

use std::sync::Arc;

use leptos::ev::SubmitEvent;
use leptos::html::Input as Field;
use leptos::prelude::*;

use super::sure::Sure;
use crate::app::parts::live::{button, follow, live, nothing, part};
use crate::app::parts::{Opened, shell, text};
use crate::run::{ALIGN_ASKS_MS, ClockError, Input, at_clock};
use crate::timeline::{Timeline, Ways};

/// By how much a stream is followed at a touch, in milliseconds.
const NUDGE_MS: i64 = 500;

/// The rows of it, while they are asked for.
pub(super) fn coach(opened: &Opened, open: RwSignal<bool>) -> AnyView {
    let opened = opened.clone();
    part(move || {
        if open.get() {
            rows(&opened, open)
        } else {
            nothing()
        }
    })
    .into_any()
}

fn rows(opened: &Opened, open: RwSignal<bool>) -> AnyView {
    let session = shell().session;
    let timeline = opened.timeline.clone();
    // A target that was moved by hand stays; else it is the nearest go.
    let pinned = RwSignal::new(None::<usize>);
    let sure = Sure::new();
    let told = RwSignal::new(String::new());
    let nudged = RwSignal::new(0_i64);
    // What is told of a shift goes with it when it is taken off.
    let stands = Memo::new(move |_| session.moment.get().undo.is_some());
    follow(move || {
        if !stands.get() {
            told.set(String::new());
            nudged.set(0);
        }
    });
    let offer = move || {
        session.moment.track();
        session.align_offer(pinned.get())
    };
    let step = {
        let timeline = timeline.clone();
        move |later: bool| {
            let Some(offer) = session.align_offer(pinned.get_untracked()) else {
                return;
            };
            let to = if later {
                timeline.next_work(offer.to + 1)
            } else {
                (0..offer.to)
                    .rev()
                    .find(|i| timeline.segments()[*i].is_work())
            };
            sure.forget();
            pinned.set(to.or(Some(offer.to)));
        }
    };
    let words = {
        let timeline = timeline.clone();
        live(move || {
            let Some(offer) = offer() else {
                return "No go to come".to_owned();
            };
            let segment = &timeline.segments()[offer.to];
            let mut words = timeline.name_of(segment, &Ways::new()).unwrap_or_default();
            if segment.rounds > 1 {
                words = format!("{words}, round {}", segment.round);
            }
            if sure.asks() {
                return format!("{words}: {}? Again", shift(offer.by_ms));
            }
            words
        })
    };
    let align = crate::app::parts::live::touch(move || {
        let Some(offer) = session.align_offer(pinned.get_untracked()) else {
            return;
        };
        if offer.asks && !sure.touched() {
            return;
        }
        sure.forget();
        pinned.set(None);
        session.act(Input::Align { to: offer.to });
        nudged.set(0);
        told.set(shift(offer.by_ms));
    });
    let nudge = move |ms: i64| {
        session.act(Input::Nudge { ms });
        // What several touches come to, not what the last one did.
        nudged.update(|sum| *sum += ms);
        told.set(shift(nudged.get_untracked()));
    };
    let earlier = step.clone();
    let video = opened
        .plan()
        .recording
        .map(|_| recording(&opened.timeline, told));
    view! {
        <section class="coach" aria-label="In step with the coach" data-testid="coach">
            <div class="coach-row">
                {button("", "align-before", "Move before", move || earlier(false))}
                <button class="align" data-testid="align" on:click=align>
                    <small>"The coach's go is now:"</small>
                    <b>{words}</b>
                </button>
                {button("", "align-after", "Move after", move || step(true))}
            </div>
            <div class="coach-row">
                {button("", "nudge-back", "½ s later", move || nudge(-NUDGE_MS))}
                {button("", "nudge-on", "½ s sooner", move || nudge(NUDGE_MS))}
                <p class="told" aria-live="polite" data-testid="shifted">{live(move || told.get())}</p>
                {button("", "coach-close", "Close", move || open.set(false))}
            </div>
            {video}
        </section>
    }
    .into_any()
}

fn shift(by_ms: i64) -> String {
    let tenths = (by_ms.abs() + 50) / 100;
    let way = if by_ms < 0 { "back" } else { "on" };
    format!("{}.{} s {way}", tenths / 10, tenths % 10)
}

/// To where a recording is: its clock is typed in.
fn recording(timeline: &Arc<Timeline>, told: RwSignal<String>) -> AnyView {
    let session = shell().session;
    let timeline = timeline.clone();
    let field = NodeRef::<Field>::new();
    let sure = Sure::new();
    // What is asked or refused goes with the clock that it was about, a question when it is no longer
    // waited for.
    let said = RwSignal::new(String::new());
    follow(move || {
        if !sure.asks() {
            said.set(String::new());
        }
    });
    let go = move |event: SubmitEvent| {
        event.prevent_default();
        let Some(at) = field
            .get_untracked()
            .and_then(|field| text::read_clock(&field.value()))
        else {
            sure.forget();
            return said.set("Write the video’s clock as 12:05.".to_owned());
        };
        let offer = match at_clock(&timeline, session.class_ms(), at) {
            Ok(offer) => offer,
            Err(e) => {
                sure.forget();
                return said.set(clock_words(e));
            }
        };
        if offer.asks && !sure.touched() {
            return said.set(format!("{}? Go there again", far(offer.by_ms)));
        }
        sure.forget();
        said.set(String::new());
        session.act(Input::Nudge { ms: offer.by_ms });
        told.set(far(offer.by_ms));
    };
    view! {
        <form class="coach-row" on:submit=go>
            <label>
                "The video’s clock: "
                <input type="text" inputmode="numeric" placeholder="12:05" node_ref=field data-testid="video-clock"
                    on:input=move |_| {
                        sure.forget();
                        said.set(String::new());
                    } />
            </label>
            <p class="told" aria-live="polite" data-testid="video-told">{live(move || said.get())}</p>
            <button data-testid="video-go">"Go there"</button>
        </form>
    }
    .into_any()
}

/// A shift by tenths of a second where it is small, by the clock where it is large.
fn far(by_ms: i64) -> String {
    if by_ms.abs() <= ALIGN_ASKS_MS {
        return shift(by_ms);
    }
    let way = if by_ms < 0 { "back" } else { "on" };
    format!("{} {way}", text::clock(by_ms.abs()))
}

fn clock_words(e: ClockError) -> String {
    match e {
        ClockError::NoRecording => "This class has no recording.".to_owned(),
        ClockError::BeforeRecording => "A recording begins at 0:00.".to_owned(),
        ClockError::AfterClass { ends_s } => format!(
            "The class ends at {} on this recording.",
            text::clock(ends_s * 1000)
        ),
    }
}
