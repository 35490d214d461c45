//! Texts that name the working side.

use super::words::{Hand, Word as _};

/// Puts the working side in place of `{side}` and the opposite one in place of `{other}`; where
/// the work has no side they read "working" and "other".
///
/// ```
/// use rungbook::plan::{Hand, fill};
/// let note = "{side} foot ahead, {other} heel up";
/// assert_eq!(fill(note, Some(Hand::Left)), "left foot ahead, right heel up");
/// assert_eq!(fill(note, None), "working foot ahead, other heel up");
/// ```
#[must_use]
pub fn fill(text: &str, hand: Option<Hand>) -> String {
    if !text.contains('{') {
        return text.to_owned();
    }
    let (side, other) = match hand {
        Some(hand) => (hand.word(), hand.other().word()),
        None => ("working", "other"),
    };
    text.replace("{side}", side).replace("{other}", other)
}
