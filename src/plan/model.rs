//! What a plan says, as types. Their serialised form is the plan file.

use std::sync::Arc;

use serde::ser::SerializeMap;
use serde::{Serialize, Serializer};

use super::texts::is_blank;
use super::words::{Direction, Effort, Hand, Impact, Level, Part, Pattern, Position, Sides};

/// The name by which one part of a plan refers to another: `[a-z0-9-]{1,32}`.
///
/// Shared rather than copied: a long ladder refers to the same move hundreds of times.
pub type Id = Arc<str>;

/// What the key `format` must say.
pub const FORMAT: &str = "rungbook-plan";
/// The version of the format that this code reads and writes.
pub const VERSION: u32 = 1;

/// Seconds to get into place before the first segment, where a plan does not say.
pub const DEFAULT_READY: u32 = 10;

/// One class, as its coach wrote it.
///
/// Read one with [`Plan::from_json`](super::Plan::from_json); build or change one freely and
/// ask [`Plan::validate`](super::Plan::validate) whether it can be run.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Plan {
    /// Names the class across its revisions; empty: none.
    pub id: String,
    /// Counts corrections of the same class.
    pub revision: u32,
    /// The class's name.
    pub title: String,
    /// Who leads it.
    pub coach: String,
    /// A few words about it.
    pub about: String,
    /// Seconds from the start of the coach's recording to class time 0.
    pub recording: Option<u32>,
    /// The time that the class has, in seconds.
    pub slot: Option<u32>,
    /// Seconds to get into place before the first segment.
    pub ready: u32,
    /// What the class uses.
    pub kit: Vec<Kit>,
    /// The moves that the blocks refer to.
    pub moves: Vec<Move>,
    /// The class itself, in order.
    pub blocks: Vec<Block>,
}

impl Default for Plan {
    fn default() -> Self {
        Plan {
            id: String::new(),
            revision: 0,
            title: String::new(),
            coach: String::new(),
            about: String::new(),
            recording: None,
            slot: None,
            ready: DEFAULT_READY,
            kit: Vec::new(),
            moves: Vec::new(),
            blocks: Vec::new(),
        }
    }
}

/// A thing to bring.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize)]
pub struct Kit {
    /// What moves and options refer to.
    pub id: Id,
    /// What it is called.
    pub name: String,
    /// What can be used in its place.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub instead: Vec<String>,
}

impl Kit {
    /// What it is called: by its id where it has no name.
    #[must_use]
    pub fn called(&self) -> &str {
        named(&self.name, &self.id)
    }
}

/// A move, described once and used by any number of entries.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize)]
pub struct Move {
    /// What entries refer to.
    pub id: Id,
    /// What it is called.
    pub name: String,
    /// The kit that it needs, by id.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub kit: Vec<Id>,
    /// Done on one side at a time.
    #[serde(skip_serializing_if = "is_false")]
    pub sided: bool,
    /// What it trains.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub pattern: Option<Pattern>,
    /// How hard it is meant to be.
    #[serde(skip_serializing_if = "is_default")]
    pub effort: Effort,
    /// Where the body is.
    #[serde(skip_serializing_if = "is_default")]
    pub position: Position,
    /// Whether the feet leave the ground.
    #[serde(skip_serializing_if = "is_default")]
    pub impact: Impact,
    /// Seconds for which the coach shows it before it is first worked; 0: not shown.
    #[serde(skip_serializing_if = "is_default")]
    pub demo: u32,
    /// For someone who does not know the move.
    #[serde(skip_serializing_if = "String::is_empty")]
    pub how: String,
    /// Short cues.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub notes: Vec<String>,
    /// What to take care of.
    #[serde(skip_serializing_if = "String::is_empty")]
    pub caution: String,
    /// Other ways to do it.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub options: Vec<Choice>,
}

impl Move {
    /// What it is called: by its id where it has no name.
    #[must_use]
    pub fn called(&self) -> &str {
        named(&self.name, &self.id)
    }

    /// The kit that it needs, as written and in any of its ways; the same may come twice.
    pub fn all_kit(&self) -> impl Iterator<Item = &Id> {
        let ways = self.options.iter().flat_map(|way| &way.kit);
        self.kit.iter().chain(ways)
    }

    /// What it is called when it is done a certain way; `None`: as written.
    ///
    /// ```
    /// use rungbook::plan::{Choice, Move};
    /// let chair = Choice { name: "to a chair".into(), ..Choice::default() };
    /// let squat = Move { name: "Squat".into(), ..Move::default() };
    /// assert_eq!(squat.called_as(Some(&chair)), "Squat: to a chair");
    /// assert_eq!(squat.called_as(None), "Squat");
    /// ```
    #[must_use]
    pub fn called_as(&self, way: Option<&Choice>) -> String {
        match way {
            Some(way) => format!("{}: {}", self.called(), way.called()),
            None => self.called().to_owned(),
        }
    }
}

impl Choice {
    /// What it is called: by its id where it has no name.
    #[must_use]
    pub fn called(&self) -> &str {
        named(&self.name, &self.id)
    }
}

/// Another way to do a move: what the format calls an option. It never changes a time.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize)]
pub struct Choice {
    /// Unique among the move's options.
    pub id: Id,
    /// How it compares with the move as written.
    pub level: Level,
    /// What it is called.
    #[serde(skip_serializing_if = "String::is_empty")]
    pub name: String,
    /// Short cues.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub notes: Vec<String>,
    /// The kit that it needs in place of the move's, by id.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub kit: Vec<Id>,
    /// Done one side at a time, changing over at half time.
    #[serde(skip_serializing_if = "is_false")]
    pub switch_at_half: bool,
}

/// Whole numbers that go by the round and start over when they end; empty: left out.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct ByRound(pub Vec<u32>);

impl ByRound {
    /// The value for a turn, counted from 1; 0 where nothing was written.
    ///
    /// ```
    /// use rungbook::plan::ByRound;
    /// let rest = ByRound(vec![10, 20]);
    /// assert_eq!((rest.at(1), rest.at(2), rest.at(3)), (10, 20, 10));
    /// assert_eq!(ByRound::default().at(7), 0);
    /// ```
    #[must_use]
    pub fn at(&self, turn: u32) -> u32 {
        match self.0.len() {
            0 => 0,
            n => self.0[(turn.max(1) - 1) as usize % n],
        }
    }

    /// Whether nothing was written.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }
}

impl From<u32> for ByRound {
    fn from(one: u32) -> Self {
        ByRound(vec![one])
    }
}

impl Serialize for ByRound {
    fn serialize<S: Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
        match self.0.as_slice() {
            [one] => one.serialize(to),
            many => many.serialize(to),
        }
    }
}

/// An extra call inside a work segment.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize)]
pub struct Mark {
    /// Seconds from the segment's start.
    pub at: u32,
    /// What is said.
    pub say: String,
}

/// A move as a block uses it.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Entry {
    /// The move's id.
    pub of: Id,
    /// This entry's own seconds of work.
    pub work: ByRound,
    /// The one side on which a sided move is done here.
    pub side: Option<Hand>,
    /// How the sides are shared here, where that differs from the block.
    pub sides: Option<Sides>,
    /// A target count: shown, never timed.
    pub reps: ByRound,
    /// How hard it is meant to be here.
    pub effort: Option<Effort>,
    /// Cues that come before the move's own.
    pub notes: Vec<String>,
    /// Extra calls.
    pub marks: Vec<Mark>,
}

impl Entry {
    /// An entry that says nothing but which move.
    #[must_use]
    pub fn of(id: &str) -> Entry {
        Entry {
            of: id.into(),
            ..Entry::default()
        }
    }

    /// Whether nothing but the move is said, so that the file has the id alone.
    #[must_use]
    pub fn is_plain(&self) -> bool {
        self.work.is_empty()
            && self.side.is_none()
            && self.sides.is_none()
            && self.reps.is_empty()
            && self.effort.is_none()
            && self.notes.is_empty()
            && self.marks.is_empty()
    }
}

impl Serialize for Entry {
    fn serialize<S: Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
        if self.is_plain() {
            return self.of.serialize(to);
        }
        let mut map = to.serialize_map(None)?;
        map.serialize_entry("move", &self.of)?;
        unless(&mut map, self.work.is_empty(), "work", &self.work)?;
        unless(&mut map, self.side.is_none(), "side", &self.side)?;
        unless(&mut map, self.sides.is_none(), "sides", &self.sides)?;
        unless(&mut map, self.reps.is_empty(), "reps", &self.reps)?;
        unless(&mut map, self.effort.is_none(), "effort", &self.effort)?;
        unless(&mut map, self.notes.is_empty(), "notes", &self.notes)?;
        unless(&mut map, self.marks.is_empty(), "marks", &self.marks)?;
        map.end()
    }
}

/// A stretch of the class with one rule for its order.
///
/// Keys that a kind does not have stay at their defaults: they are neither read nor written.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Block {
    /// What it is called.
    pub name: String,
    /// The part of the class that it belongs to.
    pub part: Part,
    /// Its order, with what is particular to it.
    pub kind: BlockKind,
    /// Seconds of work, by the round (in sets and windows: by the set or time).
    pub work: ByRound,
    /// Seconds between two work segments of a round.
    pub rest: ByRound,
    /// Seconds between rounds, by the round before.
    pub pause: ByRound,
    /// How a sided move is shared between the sides.
    pub sides: Sides,
    /// Seconds between the sides of a paired move.
    pub change: u32,
    /// The side that a sided move starts on.
    pub first_side: Hand,
    /// Seconds of break after the block.
    pub after: u32,
    /// When the coach leads, its gaps wait for the coach.
    pub held: bool,
}

impl Block {
    /// A block of a kind with everything else at its default.
    #[must_use]
    pub fn new(kind: BlockKind) -> Block {
        Block {
            name: String::new(),
            part: Part::default(),
            kind,
            work: ByRound::default(),
            rest: ByRound::default(),
            pause: ByRound::default(),
            sides: Sides::default(),
            change: 0,
            first_side: Hand::default(),
            after: 0,
            held: false,
        }
    }

    /// The entries as lists: the rungs of a ladder, one list for every other kind.
    #[must_use]
    pub fn lists(&self) -> &[Vec<Entry>] {
        match &self.kind {
            BlockKind::Flow { steps: list }
            | BlockKind::Rounds { moves: list, .. }
            | BlockKind::Sets { moves: list, .. }
            | BlockKind::Window { tasks: list, .. } => core::slice::from_ref(list),
            BlockKind::Ladder { rungs, .. } => rungs,
            BlockKind::Interlude { .. } => &[],
        }
    }

    /// All entries, in the order of the file.
    pub fn entries(&self) -> impl Iterator<Item = &Entry> {
        self.lists().iter().flatten()
    }

    /// All entries, to be changed.
    pub fn entries_mut(&mut self) -> impl Iterator<Item = &mut Entry> {
        let lists: &mut [Vec<Entry>] = match &mut self.kind {
            BlockKind::Ladder { rungs, .. } => rungs,
            kind => kind.list_mut().map_or(&mut [], core::slice::from_mut),
        };
        lists.iter_mut().flatten()
    }

    /// How an entry of it is shared between the sides: its own way, else the block's.
    #[must_use]
    pub fn sides_of(&self, entry: &Entry) -> Sides {
        entry.sides.unwrap_or(self.sides)
    }
}

/// The order of a block.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum BlockKind {
    /// Every step once.
    Flow {
        /// The steps.
        steps: Vec<Entry>,
    },
    /// Every entry in order, a number of times.
    Rounds {
        /// The entries of a round.
        moves: Vec<Entry>,
        /// How many rounds.
        rounds: u32,
    },
    /// Rounds that grow or shrink by a rung.
    Ladder {
        /// The rungs, each one entry or several.
        rungs: Vec<Vec<Entry>>,
        /// Which way.
        direction: Direction,
    },
    /// All sets of one entry before the next entry.
    Sets {
        /// The entries.
        moves: Vec<Entry>,
        /// Sets of each.
        sets: u32,
    },
    /// All tasks within each work segment, at one's own pace.
    Window {
        /// The tasks.
        tasks: Vec<Entry>,
        /// How many work segments.
        times: u32,
    },
    /// No work: water, set-up, talk.
    Interlude {
        /// Seconds.
        lasts: u32,
        /// What is said.
        say: String,
    },
}

impl BlockKind {
    /// The one list of entries, of the kinds that have one: not of a ladder, nor of an interlude.
    pub fn list_mut(&mut self) -> Option<&mut Vec<Entry>> {
        match self {
            BlockKind::Flow { steps: list }
            | BlockKind::Rounds { moves: list, .. }
            | BlockKind::Sets { moves: list, .. }
            | BlockKind::Window { tasks: list, .. } => Some(list),
            BlockKind::Ladder { .. } | BlockKind::Interlude { .. } => None,
        }
    }

    /// Rounds, sets or times, of the kinds that count them.
    #[must_use]
    pub fn times(&self) -> Option<u32> {
        match self {
            BlockKind::Rounds { rounds: times, .. }
            | BlockKind::Sets { sets: times, .. }
            | BlockKind::Window { times, .. } => Some(*times),
            BlockKind::Flow { .. } | BlockKind::Ladder { .. } | BlockKind::Interlude { .. } => None,
        }
    }

    /// The same, to be changed.
    pub fn times_mut(&mut self) -> Option<&mut u32> {
        match self {
            BlockKind::Rounds { rounds: times, .. }
            | BlockKind::Sets { sets: times, .. }
            | BlockKind::Window { times, .. } => Some(times),
            BlockKind::Flow { .. } | BlockKind::Ladder { .. } | BlockKind::Interlude { .. } => None,
        }
    }
}

impl Serialize for Plan {
    fn serialize<S: Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
        let mut map = to.serialize_map(None)?;
        map.serialize_entry("format", FORMAT)?;
        map.serialize_entry("version", &VERSION)?;
        unless(&mut map, self.id.is_empty(), "id", &self.id)?;
        unless(&mut map, self.revision == 0, "revision", &self.revision)?;
        map.serialize_entry("title", &self.title)?;
        unless(&mut map, self.coach.is_empty(), "coach", &self.coach)?;
        unless(&mut map, self.about.is_empty(), "about", &self.about)?;
        unless(
            &mut map,
            self.recording.is_none(),
            "recording",
            &self.recording,
        )?;
        unless(&mut map, self.slot.is_none(), "slot", &self.slot)?;
        unless(&mut map, self.ready == DEFAULT_READY, "ready", &self.ready)?;
        unless(&mut map, self.kit.is_empty(), "kit", &self.kit)?;
        map.serialize_entry("moves", &self.moves)?;
        map.serialize_entry("blocks", &self.blocks)?;
        map.end()
    }
}

/// Writes a key unless it has its default: a plan travels in a link, so what need not be said is not.
fn unless<M: SerializeMap, T: Serialize + ?Sized>(
    map: &mut M,
    default: bool,
    key: &'static str,
    value: &T,
) -> Result<(), M::Error> {
    if default {
        Ok(())
    } else {
        map.serialize_entry(key, value)
    }
}

/// The first of `word`, `word-2`, `word-3` and so on that is not taken, cut to what an id may have.
///
/// ```
/// use rungbook::plan::free_id;
/// assert_eq!(&*free_id("kit", |id| id == "kit"), "kit-2");
/// assert_eq!(free_id(&"a".repeat(40), |id| id.ends_with('a')).len(), 32);
/// ```
#[must_use]
pub fn free_id(word: &str, taken: impl Fn(&str) -> bool) -> Id {
    let cut = |end: &str| {
        let room = super::limits::ID_CHARS - end.len();
        let word: String = word.chars().take(room).collect();
        format!("{word}{end}")
    };
    let mut id = cut("");
    let mut n = 1_u32;
    while taken(&id) {
        n += 1;
        id = cut(&format!("-{n}"));
    }
    id.into()
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
    slug.truncate(super::limits::ID_CHARS);
    slug.trim_end_matches('-').to_owned()
}

fn named<'a>(name: &'a str, id: &'a str) -> &'a str {
    if is_blank(name) { id } else { name }
}

fn is_false(value: &bool) -> bool {
    !value
}

fn is_default<T: Default + PartialEq>(value: &T) -> bool {
    *value == T::default()
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
