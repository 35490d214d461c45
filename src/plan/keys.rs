//! The keys of a block: which kind takes which, in a file and in the notation, what each says where
//! it is left out, and within which limits. Reading, writing, checking, the notation and the steps of
//! the editor all go by this table.

use serde::ser::SerializeMap;
use serde::{Serialize, Serializer};

use super::limits::Limit;
use super::model::{Block, BlockKind, ByRound, Entry};
use super::words::{Direction, Hand, Part, Sides, Word};

/// The kinds of blocks, in the order of the format's text. The nth has the nth bit of [`Row::kinds`].
pub(crate) const KINDS: [&str; 6] = ["flow", "rounds", "ladder", "sets", "window", "interlude"];
const FLOW: u8 = 1;
const ROUNDS: u8 = 1 << 1;
const LADDER: u8 = 1 << 2;
const SETS: u8 = 1 << 3;
const WINDOW: u8 = 1 << 4;
const INTERLUDE: u8 = 1 << 5;
const ALL: u8 = WORKS | INTERLUDE;
const WORKS: u8 = SIDED | WINDOW;
/// A window's tasks have no side.
const SIDED: u8 = FLOW | ROUND_BY_ROUND;
/// A flow and a window are one round.
const ROUND_BY_ROUND: u8 = ROUNDS | LADDER | SETS;

/// What a key is about. A key of one meaning may have another word in another kind.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Key {
    Name,
    Part,
    Entries,
    Times,
    Direction,
    Lasts,
    Say,
    Work,
    Rest,
    Break,
    Sides,
    Change,
    FirstSide,
    After,
    Held,
}

/// What a key may say, with what it says where it is left out.
#[derive(Clone, Copy, Debug)]
pub(crate) enum Form {
    /// A text; else none.
    Text,
    /// Said or not; else not.
    Flag,
    /// A number; else this.
    Number(u32),
    /// A number, or a list of numbers that goes by the round; else none.
    Numbers,
    /// One of some words; else the one at this place.
    Word(&'static [&'static str], u8),
    /// The entries. In the notation they have lines of their own.
    Entries,
}

/// What a key says.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) enum Value {
    Text(String),
    Flag(bool),
    Number(u32),
    Numbers(ByRound),
    /// By its place among the words.
    Word(u8),
    /// They are the block's lists.
    Entries,
}

/// A key as some kinds have it.
#[derive(Debug)]
pub(crate) struct Row {
    pub key: Key,
    /// The key in a file.
    pub word: &'static str,
    /// The word that begins its line in the notation; empty: it is said in another way.
    pub line: &'static str,
    /// The kinds that take it, a bit each.
    kinds: u8,
    pub form: Form,
    /// It can't be left out.
    pub needed: bool,
    /// The least number.
    pub least: u32,
    /// What bounds its numbers above.
    pub limit: Limit,
}

/// The shortest work, in seconds.
pub(crate) const LEAST_WORK: u32 = 1;

/// A key that can be left out, and whose numbers, if any, are seconds.
const fn row(key: Key, word: &'static str, line: &'static str, kinds: u8, form: Form) -> Row {
    Row {
        key,
        word,
        line,
        kinds,
        form,
        needed: false,
        least: 0,
        limit: Limit::SegmentSeconds,
    }
}

const fn needed(row: Row) -> Row {
    Row {
        needed: true,
        ..row
    }
}

const fn entries(word: &'static str, kinds: u8) -> Row {
    needed(row(Key::Entries, word, "", kinds, Form::Entries))
}

const fn times(word: &'static str, kinds: u8, limit: Limit) -> Row {
    Row {
        least: 1,
        limit,
        ..row(Key::Times, word, "times", kinds, Form::Number(1))
    }
}

/// In the order in which they are written.
pub(crate) static ROWS: [Row; 20] = [
    row(Key::Name, "name", "", ALL, Form::Text),
    row(Key::Part, "part", "part", ALL, Form::Word(Part::NAMES, 1)),
    entries("steps", FLOW),
    entries("moves", ROUNDS | SETS),
    entries("rungs", LADDER),
    entries("tasks", WINDOW),
    times("rounds", ROUNDS, Limit::Rounds),
    times("sets", SETS, Limit::Sets),
    times("times", WINDOW, Limit::Times),
    row(
        Key::Direction,
        "direction",
        "direction",
        LADDER,
        Form::Word(Direction::NAMES, 0),
    ),
    needed(row(
        Key::Lasts,
        "lasts",
        "lasts",
        INTERLUDE,
        Form::Number(0),
    )),
    needed(row(Key::Say, "say", "say", INTERLUDE, Form::Text)),
    Row {
        least: LEAST_WORK,
        ..row(Key::Work, "work", "work", WORKS, Form::Numbers)
    },
    row(Key::Rest, "rest", "rest", WORKS, Form::Numbers),
    row(Key::Break, "break", "break", ROUND_BY_ROUND, Form::Numbers),
    row(
        Key::Sides,
        "sides",
        "sides",
        SIDED,
        Form::Word(Sides::NAMES, 0),
    ),
    row(Key::Change, "change", "change", SIDED, Form::Number(0)),
    row(
        Key::FirstSide,
        "first_side",
        "first",
        SIDED,
        Form::Word(Hand::NAMES, 0),
    ),
    row(Key::After, "after", "after", ALL, Form::Number(0)),
    row(Key::Held, "held", "held", ALL, Form::Flag),
];

impl Row {
    /// What it says where it is left out.
    pub fn usual(&self) -> Value {
        match self.form {
            Form::Text => Value::Text(String::new()),
            Form::Flag => Value::Flag(false),
            Form::Number(usual) => Value::Number(usual),
            Form::Numbers => Value::Numbers(ByRound::default()),
            Form::Word(_, usual) => Value::Word(usual),
            Form::Entries => Value::Entries,
        }
    }
}

impl BlockKind {
    fn at(&self) -> usize {
        match self {
            BlockKind::Flow { .. } => 0,
            BlockKind::Rounds { .. } => 1,
            BlockKind::Ladder { .. } => 2,
            BlockKind::Sets { .. } => 3,
            BlockKind::Window { .. } => 4,
            BlockKind::Interlude { .. } => 5,
        }
    }

    /// The kind's word in a plan file.
    #[must_use]
    pub fn word(&self) -> &'static str {
        KINDS[self.at()]
    }

    /// The kind of a word, without entries and with all else at its default.
    pub(crate) fn empty(word: &str) -> Option<BlockKind> {
        Some(match KINDS.iter().position(|known| *known == word)? {
            0 => BlockKind::Flow { steps: Vec::new() },
            1 => BlockKind::Rounds {
                moves: Vec::new(),
                rounds: 1,
            },
            2 => BlockKind::Ladder {
                rungs: Vec::new(),
                direction: Direction::default(),
            },
            3 => BlockKind::Sets {
                moves: Vec::new(),
                sets: 1,
            },
            4 => BlockKind::Window {
                tasks: Vec::new(),
                times: 1,
            },
            _ => BlockKind::Interlude {
                lasts: 0,
                say: String::new(),
            },
        })
    }

    /// The keys that it takes, in the order in which they are written.
    pub(crate) fn rows(&self) -> impl Iterator<Item = &'static Row> + use<> {
        let bit = 1 << self.at();
        ROWS.iter().filter(move |row| row.kinds & bit != 0)
    }
}

impl Block {
    /// Whether its kind takes a key.
    pub(crate) fn takes(&self, key: Key) -> bool {
        self.kind.rows().any(|row| row.key == key)
    }

    /// Whether its work has sides: not so in a window or an interlude.
    #[must_use]
    pub fn has_sides(&self) -> bool {
        self.takes(Key::Sides)
    }

    /// Whether it has breaks between rounds: a flow and a window are one round.
    #[must_use]
    pub fn has_breaks(&self) -> bool {
        self.takes(Key::Break)
    }

    /// What a key says. A key that is a part of other kinds says what it says where it is left out.
    pub(crate) fn get(&self, key: Key) -> Value {
        match (key, &self.kind) {
            (Key::Name, _) => Value::Text(self.name.clone()),
            (Key::Part, _) => Value::Word(self.part.index()),
            (Key::Entries, _) => Value::Entries,
            (Key::Times, kind) => Value::Number(kind.times().unwrap_or(1)),
            (Key::Direction, BlockKind::Ladder { direction, .. }) => Value::Word(direction.index()),
            (Key::Direction, _) => Value::Word(0),
            (Key::Lasts, BlockKind::Interlude { lasts, .. }) => Value::Number(*lasts),
            (Key::Lasts, _) => Value::Number(0),
            (Key::Say, BlockKind::Interlude { say, .. }) => Value::Text(say.clone()),
            (Key::Say, _) => Value::Text(String::new()),
            (Key::Work, _) => Value::Numbers(self.work.clone()),
            (Key::Rest, _) => Value::Numbers(self.rest.clone()),
            (Key::Break, _) => Value::Numbers(self.pause.clone()),
            (Key::Sides, _) => Value::Word(self.sides.index()),
            (Key::Change, _) => Value::Number(self.change),
            (Key::FirstSide, _) => Value::Word(self.first_side.index()),
            (Key::After, _) => Value::Number(self.after),
            (Key::Held, _) => Value::Flag(self.held),
        }
    }

    /// Lets a key say something. What is not of its form, or is a part of other kinds, is passed over.
    pub(crate) fn put(&mut self, key: Key, value: Value) {
        match (key, value, &mut self.kind) {
            (Key::Name, Value::Text(name), _) => self.name = name,
            (Key::Part, Value::Word(at), _) => self.part = word(at),
            (Key::Times, Value::Number(n), kind) => {
                if let Some(times) = kind.times_mut() {
                    *times = n;
                }
            }
            (Key::Direction, Value::Word(at), BlockKind::Ladder { direction, .. }) => {
                *direction = word(at);
            }
            (Key::Lasts, Value::Number(n), BlockKind::Interlude { lasts, .. }) => *lasts = n,
            (Key::Say, Value::Text(text), BlockKind::Interlude { say, .. }) => *say = text,
            (Key::Work, Value::Numbers(list), _) => self.work = list,
            (Key::Rest, Value::Numbers(list), _) => self.rest = list,
            (Key::Break, Value::Numbers(list), _) => self.pause = list,
            (Key::Sides, Value::Word(at), _) => self.sides = word(at),
            (Key::Change, Value::Number(n), _) => self.change = n,
            (Key::FirstSide, Value::Word(at), _) => self.first_side = word(at),
            (Key::After, Value::Number(n), _) => self.after = n,
            (Key::Held, Value::Flag(held), _) => self.held = held,
            _ => {}
        }
    }
}

fn word<W: Word + Default>(at: u8) -> W {
    W::from_index(at).unwrap_or_default()
}

/// The keys of an entry that the tasks of a window don't take: they are done together, so that
/// nothing of them has a time or a side. Each with whether the entry says it.
pub(crate) fn not_of_tasks(entry: &Entry) -> [(&'static str, bool); 4] {
    [
        ("work", !entry.work.is_empty()),
        ("side", entry.side.is_some()),
        ("sides", entry.sides.is_some()),
        ("marks", !entry.marks.is_empty()),
    ]
}

/// An entry as a task of a window: without those.
pub(crate) fn as_task(entry: Entry) -> Entry {
    Entry {
        work: ByRound::default(),
        side: None,
        sides: None,
        marks: Vec::new(),
        ..entry
    }
}

impl Serialize for Block {
    fn serialize<S: Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
        let mut map = to.serialize_map(None)?;
        let mut kind = Some(self.kind.word());
        for row in self.kind.rows() {
            if !matches!(row.key, Key::Name | Key::Part)
                && let Some(kind) = kind.take()
            {
                map.serialize_entry("kind", kind)?;
            }
            let value = self.get(row.key);
            // A plan travels in a link, so what need not be said is not.
            if !row.needed && value == row.usual() {
                continue;
            }
            match (value, row.form) {
                (Value::Text(text), _) => map.serialize_entry(row.word, &text)?,
                (Value::Flag(flag), _) => map.serialize_entry(row.word, &flag)?,
                (Value::Number(n), _) => map.serialize_entry(row.word, &n)?,
                (Value::Numbers(list), _) => map.serialize_entry(row.word, &list)?,
                (Value::Word(at), Form::Word(words, _)) => {
                    map.serialize_entry(row.word, words[usize::from(at)])?;
                }
                (Value::Word(_), _) => {}
                (Value::Entries, _) => match self.lists() {
                    [list] if !matches!(self.kind, BlockKind::Ladder { .. }) => {
                        map.serialize_entry(row.word, list)?;
                    }
                    rungs => map.serialize_entry(row.word, rungs)?,
                },
            }
        }
        map.end()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A block of each kind, as it is made.
    fn blocks() -> impl Iterator<Item = Block> {
        KINDS
            .iter()
            .map(|word| Block::new(BlockKind::empty(word).unwrap()))
    }

    #[test]
    fn a_new_block_says_what_the_table_says_where_nothing_is_written() {
        for block in blocks() {
            for row in &ROWS {
                assert_eq!(block.get(row.key), row.usual(), "{}", row.word);
            }
        }
    }

    #[test]
    fn what_is_put_is_what_is_got_and_bears_on_no_other_key() {
        for block in blocks() {
            for row in block.kind.rows() {
                let other = match row.form {
                    Form::Text => Value::Text("Water".into()),
                    Form::Flag => Value::Flag(true),
                    Form::Number(_) => Value::Number(7),
                    Form::Numbers => Value::Numbers(ByRound(vec![7, 9])),
                    Form::Word(words, usual) => Value::Word((usual + 1) % words.len() as u8),
                    Form::Entries => continue,
                };
                let mut changed = block.clone();
                changed.put(row.key, other.clone());
                for key in block.kind.rows().map(|row| row.key) {
                    let expected = if key == row.key {
                        other.clone()
                    } else {
                        block.get(key)
                    };
                    assert_eq!(changed.get(key), expected, "{} and {key:?}", row.word);
                }
            }
        }
    }

    #[test]
    fn no_kind_takes_a_word_twice() {
        for block in blocks() {
            let mut words: Vec<_> = block.kind.rows().map(|row| row.word).collect();
            words.sort_unstable();
            let all = words.len();
            words.dedup();
            assert_eq!(words.len(), all, "{}", block.kind.word());
            assert_eq!(BlockKind::empty(block.kind.word()), Some(block.kind));
        }
        assert_eq!(BlockKind::empty("circus"), None);
    }
}
