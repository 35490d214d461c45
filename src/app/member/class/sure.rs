//! What is done at the second touch only, on the screen.

use leptos::prelude::*;

use crate::app::parts::shell;
use crate::conductor::{SECOND_TOUCH_MS, SecondTouch};
use crate::device::Timer;

/// Whether someone is sure: it is asked for a moment, not for ever.
#[derive(Clone, Copy)]
pub(in super::super) struct Sure {
    asked: RwSignal<SecondTouch>,
    ends: StoredValue<Timer, LocalStorage>,
}

impl Sure {
    pub fn new() -> Sure {
        Sure {
            asked: RwSignal::new(SecondTouch::default()),
            ends: StoredValue::new_local(Timer::default()),
        }
    }

    /// Whether the second touch is waited for; it changes with that.
    pub fn asks(self) -> bool {
        self.asked.get().asks(shell().session.now())
    }

    /// Takes a touch. Returns whether it is the second; the first one asks for it.
    pub fn touched(self) -> bool {
        let now = shell().session.now();
        let mut asked = self.asked.get_untracked();
        let sure = asked.touch(now);
        self.asked.set(asked);
        self.ends.update_value(|timer| {
            timer.set(SECOND_TOUCH_MS, move || {
                self.asked.try_update(SecondTouch::forget);
            });
        });
        sure
    }

    /// Asks no more.
    pub fn forget(self) {
        if self.asked.get_untracked() != SecondTouch::default() {
            self.asked.set(SecondTouch::default());
        }
    }
}
