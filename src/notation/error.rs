//! What is wrong with a text: on which line, which fault, and its parts. The words are made where it
//! is shown.

use core::fmt;

use crate::plan::{self, Level, Word as _, keys};

/// What is wrong with a text. Shown, it says what to do about it too.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct NotationError {
    /// The line, from 1.
    pub line: usize,
    /// What is wrong there.
    pub problem: Problem,
}

impl fmt::Display for NotationError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let NotationError { line, problem } = self;
        write!(f, "Line {line}: {problem}. {}", problem.remedy())
    }
}

impl core::error::Error for NotationError {}

/// What can be wrong with a text, with the parts that tell it. Shown, it says what is wrong;
/// [`Problem::remedy`] says what puts it right.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Problem {
    /// No line says `class`.
    NoClass,
    /// A second one does.
    SecondClass,
    /// A word that says nothing where it stands.
    Unknown {
        /// The word.
        word: String,
        /// What it stands under.
        under: Under,
    },
    /// The library has no kit with this id.
    NoSuchKit {
        /// The id.
        id: String,
    },
    /// The library has no move with this id.
    NotInLibrary {
        /// The id.
        id: String,
    },
    /// Neither the class nor the library has a move with this id.
    NoSuchMove {
        /// The id.
        id: String,
    },
    /// An option without a name.
    NoOptionName {
        /// The word of its line.
        level: Level,
    },
    /// No pattern, effort, position or impact.
    NotATrait {
        /// The word.
        word: String,
    },
    /// A block has a key that its kind does not take.
    NotTaken {
        /// The kind's word.
        kind: &'static str,
        /// The key's word.
        key: &'static str,
    },
    /// A line adds to a rung, and there are no rungs.
    NoRungs,
    /// An interlude has an entry.
    NoEntries,
    /// An entry names no move.
    NoMove,
    /// A number is wanted.
    NotANumber {
        /// What stands there.
        text: String,
    },
    /// A number is wanted, and nothing stands there.
    NoNumber,
    /// A slot so short that it was meant in minutes.
    SlotInSeconds {
        /// The seconds.
        slot: u32,
    },
    /// A text is none of the words that stand here.
    NotAWord {
        /// The text.
        text: String,
        /// The words.
        words: &'static [&'static str],
    },
    /// Each line can be read, and the plan can't be used.
    Plan(plan::Problem),
}

/// What a line stands under.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Under {
    /// The class.
    Class,
    /// A piece of kit.
    Kit,
    /// A move.
    Move,
    /// An option of a move.
    Option,
    /// A block.
    Block,
    /// An entry: a word within its line.
    Entry,
}

impl Under {
    /// What can stand there.
    fn known(self) -> String {
        let known = match self {
            Under::Class => {
                "class, id, revision, coach, about, slot, ready, recording, kit, move, or a kind of block"
            }
            Under::Kit => "instead",
            Under::Move => {
                "uses, sided, is, demo, how, note, caution, easier, harder, other, or what begins something new"
            }
            Under::Option => {
                "note, uses, switch at half, easier, harder, other, or what begins something new"
            }
            Under::Block => {
                let mut lines: Vec<_> = keys::ROWS.iter().map(|row| row.line).collect();
                lines.dedup();
                lines.retain(|line| !line.is_empty());
                let lines = lines.join(", ");
                return format!("{lines}, an entry, or what begins something new");
            }
            Under::Entry => "work, side, sides, reps, effort, or a comma and a further move",
        };
        known.to_owned()
    }
}

impl fmt::Display for Problem {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Problem::NoClass => f.write_str("there is no class"),
            Problem::SecondClass => f.write_str("a second class begins"),
            Problem::Unknown { word, .. } => write!(f, "“{word}” says nothing here"),
            Problem::NoSuchKit { id } => write!(f, "the library has no kit “{id}”"),
            Problem::NotInLibrary { id } => write!(f, "the library has no move “{id}”"),
            Problem::NoSuchMove { id } => write!(f, "there is no move “{id}”"),
            Problem::NoOptionName { .. } => f.write_str("a way without a name"),
            Problem::NotATrait { word } => {
                write!(f, "“{word}” is no pattern, effort, position or impact")
            }
            Problem::NotTaken { kind, key } => write!(f, "a {kind} has no “{key}”"),
            Problem::NoRungs => f.write_str("only a ladder has rungs to add to"),
            Problem::NoEntries => f.write_str("an interlude has no moves"),
            Problem::NoMove => f.write_str("an entry without a move"),
            Problem::NotANumber { text } => write!(f, "“{text}” is no whole number"),
            Problem::NoNumber => f.write_str("a number is missing"),
            Problem::SlotInSeconds { slot } => {
                write!(f, "“slot {slot}” would be {slot} seconds")
            }
            Problem::NotAWord { text, .. } => {
                write!(f, "“{text}” is none of the words that stand here")
            }
            Problem::Plan(problem) => problem.fmt(f),
        }
    }
}

impl Problem {
    /// What puts it right.
    #[must_use]
    pub fn remedy(&self) -> String {
        let says = match self {
            Problem::NoClass => "Begin with “class” and its title.",
            Problem::SecondClass => "Write one class in one text.",
            Problem::Unknown { under, .. } => return format!("Here stands {}.", under.known()),
            Problem::NoSuchKit { .. } => "Write “kit”, an id, “=” and its name.",
            Problem::NotInLibrary { .. } => "Write “move”, an id, “=” and its name.",
            Problem::NoSuchMove { .. } => {
                "Write a “move” with this id, or take one of the library's."
            }
            Problem::NoOptionName { level } => {
                return format!("Write “{}”, an id, “=” and its name.", level.word());
            }
            Problem::NotATrait { .. } => "The page on the notation lists the words.",
            Problem::NotTaken { .. } | Problem::NoEntries => {
                "Take the line out, or choose another kind."
            }
            Problem::NoRungs => "Begin the line with “-”.",
            Problem::NoMove => "Write the id or the name of a move after the sign.",
            Problem::NotANumber { .. } | Problem::NoNumber => "Write seconds as 45 or 1:30.",
            Problem::SlotInSeconds { slot } => {
                let (minutes, seconds) = (slot / 60, slot % 60);
                return format!("Write minutes as {slot}:00, seconds as {minutes}:{seconds:02}.");
            }
            Problem::NotAWord { words, .. } => {
                return format!("Write one of: {}.", words.join(", "));
            }
            Problem::Plan(problem) => return problem.remedy(),
        };
        says.to_owned()
    }
}
