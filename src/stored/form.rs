//! The form of every stored text: a line for each field, `name=value`. A line break within a value is
//! written as `\n` and a backslash as `\\`, so that no value can be taken for another field.

use core::fmt::Display;
use core::str::FromStr;

use super::Unreadable;

/// The last instants that a date of ECMAScript names, in milliseconds before and after 1970 (ECMA-262,
/// "Time Values and Time Range").
const MOST_MS: i64 = 8_640_000_000_000_000;

/// A text that is being put together.
#[derive(Default)]
pub(super) struct Fields(String);

impl Fields {
    pub fn with(mut self, name: &str, value: impl Display) -> Fields {
        self.0.push_str(name);
        self.0.push('=');
        for c in value.to_string().chars() {
            match c {
                '\\' => self.0.push_str("\\\\"),
                '\n' => self.0.push_str("\\n"),
                c => self.0.push(c),
            }
        }
        self.0.push('\n');
        self
    }

    /// A field that is left out where there is no value.
    pub fn with_some(self, name: &str, value: Option<impl Display>) -> Fields {
        match value {
            Some(value) => self.with(name, value),
            None => self,
        }
    }

    pub fn text(self) -> String {
        self.0
    }
}

/// The value of a field.
///
/// # Errors
/// [`Unreadable::Damaged`] where a backslash stands before something else than [`Fields`] writes.
pub(super) fn field(text: &str, name: &str) -> Result<Option<String>, Unreadable> {
    let value = text
        .split('\n')
        .find_map(|line| line.strip_prefix(name)?.strip_prefix('='));
    let Some(value) = value else { return Ok(None) };
    let mut read = String::with_capacity(value.len());
    let mut chars = value.chars();
    while let Some(c) = chars.next() {
        read.push(match c {
            '\\' => match chars.next() {
                Some('n') => '\n',
                Some('\\') => '\\',
                _ => return Err(Unreadable::Damaged),
            },
            c => c,
        });
    }
    Ok(Some(read))
}

/// A field that has to be there.
pub(super) fn needed(text: &str, name: &str) -> Result<String, Unreadable> {
    field(text, name)?.ok_or(Unreadable::Damaged)
}

/// A field that holds a number or a word, and may be missing.
///
/// # Errors
/// [`Unreadable::Damaged`] where it is there and holds something else.
pub(super) fn value<T: FromStr>(text: &str, name: &str) -> Result<Option<T>, Unreadable> {
    match field(text, name)? {
        Some(value) => value.parse().map(Some).map_err(|_| Unreadable::Damaged),
        None => Ok(None),
    }
}

/// A field that holds an instant and may be missing.
pub(super) fn instant(text: &str, name: &str) -> Result<Option<i64>, Unreadable> {
    match value(text, name)? {
        Some(at) if !is_instant(at) => Err(Unreadable::Damaged),
        at => Ok(at),
    }
}

/// Whether a number can be an instant: a phone could show it as a date.
pub(super) fn is_instant(at: i64) -> bool {
    (-MOST_MS..=MOST_MS).contains(&at)
}

/// Whether a text came to its end: each field ends its line.
pub(super) fn whole(text: &str) -> Result<(), Unreadable> {
    if text.ends_with('\n') {
        Ok(())
    } else {
        Err(Unreadable::Damaged)
    }
}
