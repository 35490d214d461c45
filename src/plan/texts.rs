//! What texts hold: the working side, and characters that nobody sees.

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

/// Whether a character takes no room and only changes what stands around it: zero-width characters,
/// soft hyphens, marks and overrides of the direction (Unicode's `Default_Ignorable_Code_Point`, as far
/// as messages and copied texts have it).
#[must_use]
pub fn is_invisible(c: char) -> bool {
    matches!(
        c,
        '\u{ad}'
            | '\u{34f}'
            | '\u{61c}'
            | '\u{115f}'
            | '\u{1160}'
            | '\u{17b4}'
            | '\u{17b5}'
            | '\u{180b}'..='\u{180f}'
            | '\u{200b}'..='\u{200f}'
            | '\u{202a}'..='\u{202e}'
            | '\u{2060}'..='\u{206f}'
            | '\u{3164}'
            | '\u{fe00}'..='\u{fe0f}'
            | '\u{feff}'
            | '\u{ffa0}'
            | '\u{e0000}'..='\u{e0fff}'
    )
}

/// Whether nobody would see a text: it has white space and [invisible](is_invisible) characters only.
///
/// ```
/// use rungbook::plan::is_blank;
/// assert!(is_blank("") && is_blank(" \u{200b}\u{2060}\u{feff}"));
/// assert!(!is_blank(" a "));
/// ```
#[must_use]
pub fn is_blank(text: &str) -> bool {
    text.chars().all(|c| c.is_whitespace() || is_invisible(c))
}
