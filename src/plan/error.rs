//! What is wrong with a plan: where, which fault, and its parts. The words are made where it is shown.

use core::fmt;

use super::keys::KINDS;
use super::limits::Limit;
use super::model::{FORMAT, VERSION};

/// Why a plan can't be used: where, and what is wrong there. Shown, it says what to do about it too.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PlanError {
    /// The place in the file, as `blocks[2].rungs[1][0]`; empty for the file as a whole.
    pub place: String,
    /// What is wrong there.
    pub problem: Problem,
}

impl PlanError {
    pub(crate) fn new(place: impl Into<String>, problem: Problem) -> Self {
        let place = place.into();
        PlanError { place, problem }
    }

    /// A limit is passed.
    pub(crate) fn over(place: impl Into<String>, limit: Limit, found: u64) -> Self {
        PlanError::new(place, Problem::Over { limit, found })
    }
}

impl fmt::Display for PlanError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if !self.place.is_empty() {
            write!(f, "{}: ", self.place)?;
        }
        write!(f, "{}. {}", self.problem, self.problem.remedy())
    }
}

impl core::error::Error for PlanError {}

/// What can be wrong with a plan, with the parts that tell it. Shown, it says what is wrong;
/// [`Problem::remedy`] says what puts it right.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Problem {
    /// The text is no JSON.
    NotJson {
        /// The line, from 1.
        line: usize,
        /// The character in it, from 1.
        column: usize,
    },
    /// It is JSON, but no plan.
    NotAPlan,
    /// It is a plan of another version of the format.
    Version {
        /// Which.
        found: u32,
    },
    /// A key that can't be left out is not there.
    Missing {
        /// The key.
        key: String,
    },
    /// Something of another type stands there.
    Type {
        /// What has to stand there.
        wanted: Type,
        /// What does.
        found: Type,
    },
    /// A number has a fraction, or is below 0 or far too large.
    NotWhole {
        /// As it is written.
        number: String,
    },
    /// A list of numbers is empty.
    NoNumbers,
    /// A text is none of the words for this.
    NotAWord {
        /// The text, at most 40 characters of it.
        word: String,
        /// The words for this.
        words: &'static [&'static str],
    },
    /// There is no such kind of block.
    NoSuchKind {
        /// The word, at most 40 characters of it.
        word: String,
    },
    /// A limit is passed.
    Over {
        /// Which.
        limit: Limit,
        /// How many there are.
        found: u64,
    },
    /// A list that must not be empty is.
    Empty,
    /// There are 0 rounds, sets or times.
    Zero {
        /// What there are none of.
        of: Limit,
    },
    /// A text can't be an id.
    BadId {
        /// The text, at most 40 characters of it.
        id: String,
    },
    /// Two have the same id.
    IdTwice {
        /// The id.
        id: String,
    },
    /// A text has a control character.
    Control {
        /// Which.
        found: char,
    },
    /// Work of 0 seconds.
    NoSeconds,
    /// Nothing says how long the work is.
    NoWorkTime,
    /// There is no kit with this id.
    NoSuchKit {
        /// The id, at most 40 characters of it.
        id: String,
    },
    /// There is no move with this id.
    NoSuchMove {
        /// The id, at most 40 characters of it.
        id: String,
    },
    /// A block has a key that its kind does not take.
    NotTaken {
        /// The kind's word.
        kind: &'static str,
    },
    /// An extra call is not inside its work.
    MarkOutside {
        /// Seconds from the start of the work.
        at: u32,
        /// Seconds of the work.
        work: u32,
    },
    /// There is no work in the class.
    NoWork,
}

/// A type of JSON, as far as a plan has it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Type {
    /// `null`.
    Null,
    /// `true` or `false`.
    Flag,
    /// A number.
    Number,
    /// A whole number of seconds, or a whole count.
    Whole,
    /// A text.
    Text,
    /// A list.
    List,
    /// An object.
    Object,
    /// A move's id, or an object.
    Entry,
}

impl Type {
    fn words(self) -> &'static str {
        match self {
            Type::Null => "null",
            Type::Flag => "true or false",
            Type::Number => "a number",
            Type::Whole => "a whole number of seconds, or a whole count",
            Type::Text => "a text",
            Type::List => "a list",
            Type::Object => "an object",
            Type::Entry => "a move's id or an object",
        }
    }
}

impl fmt::Display for Problem {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Problem::NotJson { line, column } => write!(
                f,
                "this is not complete JSON (line {line}, column {column})"
            ),
            Problem::NotAPlan => write!(
                f,
                "this is not a Rungbook plan (its “format” is not “{}”)",
                FORMAT
            ),
            Problem::Version { found } => write!(
                f,
                "this plan is of version {found}; this app reads version {}",
                VERSION
            ),
            Problem::Missing { key } => write!(f, "“{key}” is missing"),
            Problem::Type { wanted, found } => {
                write!(f, "this must be {}, not {}", wanted.words(), found.words())
            }
            Problem::NotWhole { number } => write!(
                f,
                "{number} is not a whole number of seconds, rounds or the like"
            ),
            Problem::NoNumbers | Problem::Empty => f.write_str("this list is empty"),
            Problem::NotAWord { word, .. } => {
                write!(f, "“{word}” is not one of the words for this")
            }
            Problem::NoSuchKind { word } => write!(f, "there is no kind of block “{word}”"),
            Problem::Over { limit, found } => {
                write!(
                    f,
                    "{found} {}; the limit is {}",
                    limit.words(),
                    limit.most()
                )?;
                match limit {
                    Limit::JsonBytes => f.write_str(" (64 KiB)"),
                    Limit::ClassSeconds => f.write_str(" (12 hours)"),
                    _ => Ok(()),
                }
            }
            Problem::Zero { of } => write!(f, "0 {}", of.words()),
            Problem::BadId { id } => write!(f, "“{id}” can't be an id"),
            Problem::IdTwice { id } => write!(f, "the id “{id}” is used twice"),
            Problem::Control { found } => write!(
                f,
                "there is a control character (U+{:04X})",
                u32::from(*found)
            ),
            Problem::NoSeconds => f.write_str("work of 0 seconds"),
            Problem::NoWorkTime => f.write_str("there is no time for the work"),
            Problem::NoSuchKit { id } => write!(f, "there is no kit “{id}”"),
            Problem::NoSuchMove { id } => write!(f, "there is no move “{id}”"),
            Problem::NotTaken { kind } => write!(f, "a {kind} takes no such key"),
            Problem::MarkOutside { at, work } => {
                write!(f, "{at} s is not inside the work of {work} s")
            }
            Problem::NoWork => f.write_str("there is no work in this class"),
        }
    }
}

impl Problem {
    /// What puts it right.
    #[must_use]
    pub fn remedy(&self) -> String {
        let says = match self {
            Problem::NotJson { .. } => {
                "Check the brackets, quotes and commas there, or ask for the file again."
            }
            Problem::NotAPlan => "Choose a plan file, or ask the coach for the link again.",
            Problem::Version { found } if *found > VERSION => {
                "Update the app: the plan was written with a newer version."
            }
            Problem::Version { .. } => "Write \"version\": 1.",
            Problem::Missing { key } if key == "say" => "Write what is said, or \"\" for nothing.",
            Problem::Missing { key } => return format!("Add “{key}”."),
            Problem::Type { wanted, .. } => return format!("Write {} here.", wanted.words()),
            Problem::NotWhole { .. } => "Write a whole number, 0 or more.",
            Problem::NoNumbers => "Write a number, or a list of at least one.",
            Problem::NotAWord { words, .. } => {
                return format!("Use one of: {}.", words.join(", "));
            }
            Problem::NoSuchKind { .. } => {
                return format!("Use one of: {}.", KINDS.join(", "));
            }
            Problem::Over { .. } => "Make it smaller or split the class.",
            Problem::Empty => "Add at least one, or leave the block out.",
            Problem::Zero { .. } => "Write 1 or more, or leave the block out.",
            Problem::BadId { .. } => "Use 1 to 32 small letters a-z, digits and hyphens.",
            Problem::IdTwice { .. } => "Give each its own id.",
            Problem::Control { .. } => "Delete it: texts are plain text.",
            Problem::NoSeconds => "Write 1 second or more, or take the entry out.",
            Problem::NoWorkTime => {
                "Write “work” in seconds for the block, or for every entry of it."
            }
            Problem::NoSuchKit { .. } => "Add it to “kit”, or use the id of one that is there.",
            Problem::NoSuchMove { .. } => "Add it to “moves”, or use the id of one that is there.",
            Problem::NotTaken { .. } => "Take it out.",
            Problem::MarkOutside { .. } => "Place the call before the end of the work.",
            Problem::NoWork => "Add a block with moves.",
        };
        says.to_owned()
    }
}

/// Something in a plan that is not used. The plan runs without it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Warning {
    /// The place in the file.
    pub place: String,
    /// What is not used there, and why.
    pub problem: String,
}

impl fmt::Display for Warning {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}: {}", self.place, self.problem)
    }
}
