//! Texts that name the working side.

use super::words::Hand;

/// What stands for the sides in a text, in one language.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct SideWords {
    /// The right side.
    pub right: &'static str,
    /// The left side.
    pub left: &'static str,
    /// The side that works, where that is neither.
    pub working: &'static str,
    /// The opposite of that one.
    pub other: &'static str,
}

impl SideWords {
    /// In English, which the screens speak.
    pub const ENGLISH: SideWords = SideWords {
        right: "right",
        left: "left",
        working: "working",
        other: "other",
    };

    /// The working side and the opposite one.
    fn both(&self, hand: Option<Hand>) -> (&'static str, &'static str) {
        match hand {
            Some(Hand::Right) => (self.right, self.left),
            Some(Hand::Left) => (self.left, self.right),
            None => (self.working, self.other),
        }
    }
}

/// Puts the working side in place of `{side}` and the opposite one in place of `{other}`; where
/// the work has no side they read "working" and "other". In English, as a text is shown.
///
/// ```
/// use rungbook::plan::{Hand, fill};
/// let note = "{side} foot ahead, {other} heel up";
/// assert_eq!(fill(note, Some(Hand::Left)), "left foot ahead, right heel up");
/// assert_eq!(fill(note, None), "working foot ahead, other heel up");
/// ```
#[must_use]
pub fn fill(text: &str, hand: Option<Hand>) -> String {
    fill_in(text, hand, &SideWords::ENGLISH)
}

/// The same in the words of another language, as a text is spoken.
#[must_use]
pub fn fill_in(text: &str, hand: Option<Hand>, words: &SideWords) -> String {
    if !text.contains('{') {
        return text.to_owned();
    }
    let (side, other) = words.both(hand);
    text.replace("{side}", side).replace("{other}", other)
}
