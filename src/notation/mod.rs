//! A class as plain text, for coaches who type fast: a line says one thing.
//!
//! [`write`] and [`read`] are each other's inverse for every plan.
//!
//! # The notation
#![doc = include_str!("NOTATION.md")]

mod error;
mod read;
mod write;

pub use error::{NotationError, Problem, Under};
pub use read::{draft, read};
pub use write::write;

use crate::plan::{Level, Word as _};

/// The words that a line starts with, by what they belong to.
const LEVELS: [Level; 3] = [Level::Easier, Level::Harder, Level::Other];

/// A text on one line: what would end the line, or be taken for the line's own white space, is
/// written with a backslash.
fn escaped(text: &str) -> String {
    let mut out = String::new();
    let last = text.chars().count().saturating_sub(1);
    for (at, c) in text.chars().enumerate() {
        match c {
            '\\' => out.push_str("\\\\"),
            '\n' => out.push_str("\\n"),
            '\r' => out.push_str("\\r"),
            '\t' => out.push_str("\\t"),
            ' ' if at == 0 || at == last => out.push_str("\\s"),
            c => out.push(c),
        }
    }
    out
}

fn unescaped(text: &str) -> String {
    let mut out = String::new();
    let mut rest = text.chars();
    while let Some(c) = rest.next() {
        if c != '\\' {
            out.push(c);
            continue;
        }
        match rest.next() {
            Some('n') => out.push('\n'),
            Some('r') => out.push('\r'),
            Some('t') => out.push('\t'),
            Some('s') => out.push(' '),
            Some('\\') => out.push('\\'),
            // A backslash that starts nothing is one.
            Some(other) => out.extend(['\\', other]),
            None => out.push('\\'),
        }
    }
    out
}

fn level(word: &str) -> Option<Level> {
    LEVELS.into_iter().find(|level| level.word() == word)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_text_keeps_its_white_space_on_one_line() {
        for text in [
            "",
            " ",
            "  two",
            "end ",
            "a\nb\r\n",
            "\\n is two",
            "tab\there",
            "\\",
            "é…",
        ] {
            let line = escaped(text);
            assert!(!line.contains(['\n', '\r', '\t']), "{line:?}");
            assert_eq!(line.trim_matches(' '), line, "{line:?}");
            assert_eq!(unescaped(&line), text);
        }
    }
}
