//! Texts that name the working side, and names as ids.

use super::limits;
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

/// Small letters, digits and single hyphens: the id that a name would have.
pub(crate) fn slug(name: &str) -> String {
    let mut slug = String::new();
    for c in name.chars() {
        if c.is_ascii_alphanumeric() {
            slug.push(c.to_ascii_lowercase());
        } else if !slug.is_empty() && !slug.ends_with('-') {
            slug.push('-');
        }
    }
    slug.truncate(limits::ID_CHARS);
    slug.trim_end_matches('-').to_owned()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_slug_is_an_id() {
        let check = |name: &str, expected: &str| assert_eq!(slug(name), expected);
        check("Goblet squat", "goblet-squat");
        check("  Step back, and reach! ", "step-back-and-reach");
        check("Übung", "bung");
        check(&"long ".repeat(20), "long-long-long-long-long-long-lo");
        check("…", "");
    }
}
