//! What is done at the second touch only.

use leptos::prelude::*;

use crate::device::Timer;

/// How long the second touch is waited for.
const SURE_MS: i64 = 6_000;

/// Whether someone is sure: it is asked for a moment, not for ever.
#[derive(Clone, Copy)]
pub(super) struct Sure {
    asked: RwSignal<bool>,
    ends: StoredValue<Timer, LocalStorage>,
}

impl Sure {
    pub fn new() -> Sure {
        Sure {
            asked: RwSignal::new(false),
            ends: StoredValue::new_local(Timer::default()),
        }
    }

    /// Whether the second touch is waited for; it changes with that.
    pub fn asks(self) -> bool {
        self.asked.get()
    }

    /// Takes a touch. Returns whether it is the second; the first one asks for it.
    pub fn touched(self) -> bool {
        let asked = self.asked;
        if asked.get_untracked() {
            return true;
        }
        asked.set(true);
        self.ends.update_value(|timer| {
            timer.set(SURE_MS, move || {
                asked.try_set(false);
            });
        });
        false
    }

    /// Asks no more.
    pub fn forget(self) {
        if self.asked.get_untracked() {
            self.asked.set(false);
        }
    }
}
