//! What was found.

use super::remedy::Remedy;

/// How much weight a finding has.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Weight {
    /// Someone may get hurt.
    Safety,
    /// The class does not do what it says.
    Class,
    /// It could be kinder.
    Comfort,
}

/// What a finding is about.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Place {
    /// The whole class.
    Class,
    /// A block, by its place.
    Block(usize),
    /// A move, by its place.
    Move(usize),
    /// A piece of kit, by its place.
    Kit(usize),
}

/// Something that was found.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Finding {
    /// How much weight it has.
    pub weight: Weight,
    /// What it is about.
    pub place: Place,
    /// What is so.
    pub what: String,
    /// Why it matters, and what would help.
    pub why: &'static str,
    /// On whose word.
    pub source: &'static str,
    /// What puts it right at one touch, where something does.
    pub remedy: Option<Remedy>,
}
