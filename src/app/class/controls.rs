//! What the thumb can say: words along the edge nearest to it.

use leptos::prelude::*;

use super::super::live::{nothing, part};
use super::super::set_time::rejoin;
use super::super::shell;
use crate::device::{Awake, SoundState};
use crate::run::{Input, Phase, Shift};

/// Back, pause or go on, skip; the way back from a shift; stop.
pub(super) fn controls(unwell: RwSignal<bool>) -> AnyView {
    let session = shell().session;
    let moment = session.moment;
    let paused = Memo::new(move |_| moment.get().phase == Phase::Paused);
    let counting = Memo::new(move |_| moment.get().count_in.is_some());
    let shift = Memo::new(move |_| {
        session.undo_until.get()?;
        moment.get().undo
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
            view! {
                <button class="undo" data-testid="undo" on:click=move |_| session.act(Input::Undo)>
                    {words}
                </button>
            }
            .into_any()
        }
    });
    let middle = part(move || {
        if paused.get() && !counting.get() {
            view! {
                <button class="middle" data-testid="resume" on:click=move |_| session.act(Input::Resume)>
                    "Go on"
                </button>
            }
            .into_any()
        } else {
            view! {
                <button class="middle" data-testid="pause" on:click=move |_| session.act(Input::Pause)>
                    "Pause"
                </button>
            }
            .into_any()
        }
    });
    let dark = RwSignal::new(false);
    let silent = part(move || {
        let words = match session.sound.get() {
            SoundState::On => {
                if dark.get() || session.awake.get() != Awake::Refused {
                    return nothing();
                }
                return view! {
                    <button class="silent" data-testid="dark" on:click=move |_| dark.set(true)>
                        "The screen may go dark: the phone won't keep it on. Understood"
                    </button>
                }
                .into_any();
            }
            SoundState::Missing => "No sound in this browser",
            SoundState::Untried | SoundState::Waiting => "Sound is off: touch to hear the calls",
        };
        view! {
            <button class="silent" on:click=move |_| session.wake_sound()>{words}</button>
        }
        .into_any()
    });
    let stop = move |_| {
        session.act(Input::Pause);
        session.silence();
        unwell.set(true);
    };
    view! {
        <nav class="controls" aria-label="Steer the class">
            {silent}
            <div class="steer">
                <button data-testid="back" on:click=move |_| session.act(Input::Back)>"Back"</button>
                {middle}
                <button data-testid="skip" on:click=move |_| session.act(Input::Skip)>"Skip"</button>
            </div>
            <div class="last">
                {undo}
                {rejoin()}
                <button class="stop" data-testid="unwell" on:click=stop>"Stop, I feel unwell"</button>
            </div>
        </nav>
    }
    .into_any()
}
