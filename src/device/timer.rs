//! One wake-up at a time.

use gloo_timers::callback::Timeout;

/// A timer that is set again and again; setting it drops the wake-up that was set before.
#[derive(Default)]
pub struct Timer(Option<Timeout>);

impl Timer {
    /// The longest wait that browsers take; a longer one is cut, and what is woken asks again.
    const MOST_MS: i64 = i32::MAX as i64;

    /// Calls back after so many milliseconds, or a little later.
    pub fn set(&mut self, after_ms: i64, call: impl FnOnce() + 'static) {
        let after = after_ms.clamp(0, Self::MOST_MS) as u32;
        self.0 = Some(Timeout::new(after, call));
    }

    /// Drops the wake-up.
    pub fn clear(&mut self) {
        self.0 = None;
    }
}
