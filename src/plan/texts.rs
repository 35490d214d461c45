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

/// Whether a character turns the direction of all that follows it, until another takes that back
/// (UAX #9, sections 2.1 to 2.4).
fn turns(c: char) -> bool {
    matches!(c, '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}')
}

/// Whether a character, or what stands beside it, may run from right to left.
fn is_right_to_left(c: char) -> bool {
    turns(c)
        || matches!(
            c,
            '\u{590}'..='\u{8ff}'
                | '\u{200e}'
                | '\u{200f}'
                | '\u{fb1d}'..='\u{fdff}'
                | '\u{fe70}'..='\u{feff}'
                | '\u{10800}'..='\u{10fff}'
                | '\u{1e800}'..='\u{1efff}'
        )
}

/// A text of a plan for use within a sentence of the app's own: it runs in its own direction and
/// changes nothing around it (UAX #9, section 2.4.2). Where it stands in an element of its own that
/// has `dir="auto"`, it needs none of this.
///
/// ```
/// use rungbook::plan::isolated;
/// assert_eq!(isolated("Squat"), "Squat");
/// assert_eq!(isolated("\u{202e}Squat"), "\u{2068}Squat\u{2069}");
/// ```
#[must_use]
pub fn isolated(text: &str) -> String {
    if text.contains(is_right_to_left) {
        format!("\u{2068}{}\u{2069}", unturned(text))
    } else {
        text.to_owned()
    }
}

/// A sentence that holds texts of a plan somewhere, without what would turn the direction of the rest.
///
/// ```
/// use rungbook::plan::unturned;
/// assert_eq!(unturned("\u{202e}Squat: no easier way"), "Squat: no easier way");
/// ```
#[must_use]
pub fn unturned(text: &str) -> String {
    text.replace(turns, "")
}
