//! What is done at the second touch only.

/// How long the second touch is waited for, in milliseconds.
pub const SECOND_TOUCH_MS: i64 = 6_000;
/// Two touches that are closer than this are one: a double tap says nothing twice. In milliseconds.
pub const DOUBLE_TAP_MS: i64 = 700;

/// Something that ends or moves a class a long way asks for a second touch.
///
/// ```
/// use rungbook::conductor::SecondTouch;
/// let mut end = SecondTouch::default();
/// assert!(!end.touch(1_000)); // asks
/// assert!(!end.touch(1_300)); // a double tap is one touch
/// assert!(end.touch(2_000));
/// assert!(!end.touch(9_000)); // asks again
/// ```
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct SecondTouch {
    asked: Option<i64>,
}

impl SecondTouch {
    /// Takes a touch. Returns whether it is the second; the first one asks for it.
    pub fn touch(&mut self, now: i64) -> bool {
        match self.asked.filter(|at| now - at < SECOND_TOUCH_MS) {
            // No finger touches twice in one millisecond: that is a program that steers the page.
            Some(at) if (1..DOUBLE_TAP_MS).contains(&(now - at)) => false,
            Some(_) => {
                self.asked = None;
                true
            }
            None => {
                self.asked = Some(now);
                false
            }
        }
    }

    /// Whether the second touch is waited for.
    #[must_use]
    pub fn asks(&self, now: i64) -> bool {
        self.asked.is_some_and(|at| now - at < SECOND_TOUCH_MS)
    }

    /// Asks no more.
    pub fn forget(&mut self) {
        self.asked = None;
    }
}
