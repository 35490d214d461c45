//! What was done, exercise by exercise: how often, and on which side.

use std::fmt;

use super::record::{Did, Record};
use crate::plan::Hand;
use crate::timeline::Timeline;

/// How often something was done. A side counts by itself; what has no sides counts once.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Times {
    /// With both sides at once.
    pub whole: usize,
    /// On the right.
    pub right: usize,
    /// On the left.
    pub left: usize,
}

impl Times {
    fn add(&mut self, hand: Option<Hand>) {
        *match hand {
            None => &mut self.whole,
            Some(Hand::Right) => &mut self.right,
            Some(Hand::Left) => &mut self.left,
        } += 1;
    }

    /// Whether it was never done.
    #[must_use]
    pub fn is_none(self) -> bool {
        self == Times::default()
    }
}

/// As `3 ×`, `2 × each side` or `2 × right, 1 × left`.
impl fmt::Display for Times {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let even = self.right == self.left;
        let parts = [
            (self.whole, ""),
            (if even { self.right } else { 0 }, " each side"),
            (if even { 0 } else { self.right }, " right"),
            (if even { 0 } else { self.left }, " left"),
        ];
        let parts = parts.iter().filter(|(n, _)| *n > 0);
        for (i, (n, of)) in parts.enumerate() {
            let between = if i > 0 { ", " } else { "" };
            write!(f, "{between}{n} ×{of}")?;
        }
        Ok(())
    }
}

/// How an exercise was met over the class.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Tally {
    /// The move, by its place in the plan.
    pub of: usize,
    /// All or some of it was worked.
    pub worked: Times,
    /// It was over before a class at a set instant was joined.
    pub missed: Times,
    /// It was skipped, or not reached.
    pub skipped: Times,
}

/// The exercises of the class in its order, each with how it was met.
#[must_use]
pub fn tally(timeline: &Timeline, record: &Record) -> Vec<Tally> {
    let mut tallies: Vec<Tally> = Vec::new();
    for (at, did) in &record.work {
        let segment = &timeline.segments()[*at];
        let hands: Vec<_> = segment.hands().map(Some).collect();
        let hands = if hands.is_empty() { vec![None] } else { hands };
        let met = record.by_side(*at, *did);
        for of in timeline.moves_of(segment) {
            let known = tallies.iter().position(|tally| tally.of == of);
            let known = known.unwrap_or_else(|| {
                tallies.push(Tally {
                    of,
                    worked: Times::default(),
                    missed: Times::default(),
                    skipped: Times::default(),
                });
                tallies.len() - 1
            });
            let tally = &mut tallies[known];
            for (hand, did) in hands.iter().zip(&met) {
                let times = match did {
                    Did::All | Did::Part => &mut tally.worked,
                    Did::None if segment.end_ms <= record.joined_ms => &mut tally.missed,
                    Did::None => &mut tally.skipped,
                };
                times.add(*hand);
            }
        }
    }
    tallies
}
