//! Where in its block work stands, as a coach counts it.

use super::{Segment, Timeline};
use crate::plan::BlockKind;

/// What a coach counts.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Counted {
    /// Rounds of a block.
    Round,
    /// Exercises of a round, or of straight sets.
    Exercise,
    /// Sets of one exercise.
    Set,
    /// Times of a window.
    Time,
}

impl Counted {
    /// The word for it.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Counted::Round => "round",
            Counted::Exercise => "exercise",
            Counted::Set => "set",
            Counted::Time => "time",
        }
    }
}

/// A number that a coach says: `exercise 2 of 3`.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Count {
    /// What is counted.
    pub what: Counted,
    /// Which one this is, from 1.
    pub number: u32,
    /// Of how many: more than one.
    pub of: u32,
}

impl Timeline {
    /// What a coach counts in a work segment, the larger first. What there is only one of is not
    /// counted; a gap has no number.
    ///
    /// ```
    /// use rungbook::{plan::Plan, timeline::{Counted, Timeline}};
    /// let plan = Plan::from_json(r#"{
    ///     "format": "rungbook-plan", "version": 1, "title": "Sets", "ready": 0,
    ///     "moves": [ { "id": "squat", "name": "Squat" }, { "id": "row", "name": "Row" } ],
    ///     "blocks": [ { "kind": "sets", "moves": ["squat", "row"], "sets": 2, "work": 30 } ]
    /// }"#)?;
    /// let timeline = Timeline::new(&plan); // two sets of squats, two of rows
    /// let counts = timeline.counts_of(&timeline.segments()[2]);
    /// let told: Vec<_> = counts.iter().map(|c| (c.what, c.number, c.of)).collect();
    /// assert_eq!(told, [(Counted::Exercise, 2, 2), (Counted::Set, 1, 2)]);
    /// # Ok::<(), rungbook::plan::PlanError>(())
    /// ```
    #[must_use]
    pub fn counts_of(&self, segment: &Segment) -> Vec<Count> {
        if !segment.is_work() {
            return Vec::new();
        }
        // One exercise's sets are one round of the plan, and its sets the entries of that round.
        let (round, entry) = match self.block_of(segment).map(|block| &block.kind) {
            Some(BlockKind::Sets { .. }) => (Some(Counted::Exercise), Counted::Set),
            Some(BlockKind::Window { .. }) => (None, Counted::Time),
            _ => (Some(Counted::Round), Counted::Exercise),
        };
        let rounds = round.map(|what| (what, segment.round, segment.rounds));
        let entries = (entry, segment.entry, segment.entries);
        rounds
            .into_iter()
            .chain([entries])
            .filter(|(.., of)| *of > 1)
            .map(|(what, number, of)| Count { what, number, of })
            .collect()
    }

    /// One of these numbers, where it is counted.
    #[must_use]
    pub fn count_of(&self, segment: &Segment, what: Counted) -> Option<Count> {
        let counts = self.counts_of(segment);
        counts.into_iter().find(|count| count.what == what)
    }
}
