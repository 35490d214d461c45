//! What texts hold: the working side, a short form, and characters that nobody sees.

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

/// The first sentence of a text: the one line that a caution is shown as once it has been read in
/// full. A text of one sentence is returned whole.
///
/// A sentence ends with `.`, `!` or `?` before white space that no small letter follows, so that
/// "e.g. knees" is not cut, or with the line.
///
/// ```
/// use rungbook::plan::first_sentence;
/// assert_eq!(first_sentence("Pad the knees. Make fists for sore wrists."), "Pad the knees.");
/// assert_eq!(first_sentence("Keep the back long"), "Keep the back long");
/// ```
#[must_use]
pub fn first_sentence(text: &str) -> &str {
    let text = text.trim();
    let ends = text.char_indices().find_map(|(at, c)| {
        let next = at + c.len_utf8();
        let after = &text[next..];
        match c {
            '\n' => Some(at),
            '.' | '!' | '?' if after.starts_with(char::is_whitespace) => {
                let small = after.trim_start().starts_with(char::is_lowercase);
                (!small).then_some(next)
            }
            _ => None,
        }
    });
    text[..ends.unwrap_or(text.len())].trim_end()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_first_sentence_is_cut_at_its_end_and_nowhere_else() {
        let check = |text: &str, first: &str| assert_eq!(first_sentence(text), first, "{text:?}");
        check("", "");
        check("  \n ", "");
        check("Pad the knees. Go slowly.", "Pad the knees.");
        check("Dizzy? Sit down.", "Dizzy?");
        check("Never bounce!  Breathe.", "Never bounce!");
        check(
            "Take light weights, e.g. two bottles. Go slowly.",
            "Take light weights, e.g. two bottles.",
        );
        check("At most 2.5 kg. Go slowly.", "At most 2.5 kg.");
        check("Pad the knees\nGo slowly.", "Pad the knees");
        check("Keep the back long", "Keep the back long");
        check("Échauffez-vous. Été.", "Échauffez-vous.");
    }
}
