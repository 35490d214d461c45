//! What the thumb can say: words along the edge nearest to it.

use leptos::prelude::*;

use super::super::set_time::rejoin;
use super::fitted::Fitted;
use super::sure::Sure;
use crate::app::parts::live::{button, live, nothing, part};
use crate::app::parts::{Screen, shell};
use crate::conductor::{Event, SoundState};
use crate::device::Awake;
use crate::run::{Input, Phase, Shift};

/// Back, pause or go on, skip; the way back from a shift; stop.
pub(super) fn controls(unwell: RwSignal<bool>, coach: RwSignal<bool>, fitted: Fitted) -> AnyView {
    let shell = shell();
    let session = shell.session;
    let moment = session.moment;
    let paused = Memo::new(move |_| moment.get().phase == Phase::Paused);
    let counting = Memo::new(move |_| moment.get().count_in.is_some());
    let shift = Memo::new(move |_| {
        let offered = session.offers_undo.get();
        moment.get().undo.filter(|_| offered)
    });
    let undo = part(move || match shift.get() {
        None => nothing(),
        Some(shift) => {
            let words = match shift {
                Shift::Jump => "Undo the jump",
                Shift::Skip => "Undo the skip",
                Shift::Back => "Undo the step back",
                Shift::Align | Shift::Nudge => "Undo the shift",
            };
            button("undo", "undo", words, move || session.act(Input::Undo))
        }
    });
    let waits = Memo::new(move |_| moment.get().phase == Phase::Before);
    let middle = move || {
        if paused.get() && !counting.get() {
            button("middle", "resume", "Go on", move || {
                session.act(Input::Resume)
            })
        } else {
            button("middle", "pause", "Pause", move || {
                session.act(Input::Pause)
            })
        }
    };
    // Before the start there is nothing to steer.
    let steering = part(move || {
        if waits.get() {
            return nothing();
        }
        view! {
            {button("", "back", "Back", move || session.act(Input::Back))}
            {part(middle)}
            {button("", "skip", "Skip", move || session.act(Input::Skip))}
        }
        .into_any()
    });
    let dark = RwSignal::new(false);
    let risky = RwSignal::new(false);
    let silent = part(move || {
        if session.fault.get().is_some() && !risky.get() {
            let words = "This phone can’t store the class: don’t close the page. OK";
            return button("silent", "not-stored", words, move || risky.set(true));
        }
        let words = match session.sound.get() {
            SoundState::On => {
                if dark.get() || session.awake.get() != Awake::Refused {
                    return nothing();
                }
                return button(
                    "silent",
                    "dark",
                    "The screen may go dark. Understood",
                    move || dark.set(true),
                );
            }
            SoundState::Missing => "No sound in this browser",
            SoundState::Untried | SoundState::Waiting => "Sound is off: touch to hear the calls",
        };
        button("silent", "", words, move || {
            session.feed(Event::WakeSound);
        })
    });
    let sure = Sure::new();
    // While the class stands still there is nothing to align, and a way out.
    let fourth = part(move || {
        if shell.tries() {
            // Who tries a block is no member: one touch leads back.
            return button("", "stop-trying", "Back to writing", move || {
                session.act(Input::Stop);
                shell.screen.set(Screen::Write);
            });
        }
        if waits.get() || (paused.get() && !counting.get()) {
            let words = if sure.asks() { "Really end?" } else { "End" };
            return button("", "end-class", words, move || {
                if sure.touched() {
                    session.act(Input::Stop);
                }
            });
        }
        sure.forget();
        button("", "with-coach", "Coach’s go", move || {
            coach.update(|open| *open = !*open)
        })
    });
    let stop = move || {
        session.feed(Event::Unwell);
        unwell.set(session.unwell.get_untracked());
    };
    view! {
        <nav class="controls" aria-label="Steer the class" node_ref=fitted.controls>
            {silent}
            <div class="steer" data-waits=live(move || waits.get().to_string())>
                {steering}
                {fourth}
            </div>
            <div class="last">
                {undo}
                {rejoin()}
                {button("stop", "unwell", "Stop, I feel unwell", stop)}
            </div>
        </nav>
    }
    .into_any()
}
