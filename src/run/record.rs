//! What was really done: the spans of a run held against the class.

use super::state::{Away, Phase, Span};
use crate::timeline::{Side, Timeline};

/// How a work segment was met.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Did {
    /// All of it was run through.
    All,
    /// Half of it or more was, or of what was left of it when the class was joined.
    Part,
    /// It was skipped: less than half of it was run through, or nothing.
    None,
}

/// The load of a session: its rating from 0 to 10 times its minutes, rounded (Foster et al. 2001,
/// J Strength Cond Res 15(1):109-15).
///
/// ```
/// use rungbook::run::load;
/// assert_eq!(load(7, 60 * 60_000), 420); // the paper's form: 60 min x 7
/// assert_eq!(load(5, 30 * 60_000), 150);
/// ```
#[must_use]
pub fn load(rating: u8, running_ms: i64) -> i64 {
    i64::from(rating) * ((running_ms + 30_000) / 60_000)
}

/// What the ratings from 0 to 10 stand for, in a class's own terms: talking, breathing, wanting to
/// stop. The words are ours and no published scale's, so a load compares with one's own alone.
pub const RATINGS: [&str; 11] = [
    "only watched",
    "could have sung along",
    "chatted all through",
    "chatted, breathing deeper",
    "sentences between breaths",
    "short sentences",
    "a few words at a time",
    "no breath for words",
    "wished for a break",
    "wanted to stop",
    "could not do one more",
];

/// What was done of a class. Times are milliseconds.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Record {
    /// Class time ran, and someone is known to have followed it.
    pub running_ms: i64,
    /// Class time ran while the phone was away, and nobody said that they kept going.
    pub away_ms: i64,
    /// Class time stood in pauses, their count-ins included.
    pub paused_ms: i64,
    /// Class time stood in held gaps.
    pub held_ms: i64,
    /// Of the running time, what fell into work; what was done twice counts twice.
    pub worked_ms: i64,
    /// How each work segment was met, with its place in the timeline.
    pub work: Vec<(usize, Did)>,
    /// The same of the two halves of work that changes sides at half time.
    pub halves: Vec<(usize, [Did; 2])>,
    /// The class was left by its end, not by being stopped.
    pub reached_end: bool,
    /// Class time at which a class at a set instant was joined; 0: from its start.
    pub joined_ms: i64,
}

impl Record {
    pub(super) fn new(
        timeline: &Timeline,
        spans: &[Span],
        away: &[Away],
        reached_end: bool,
        joined_ms: i64,
    ) -> Record {
        let total = |phase| -> i64 {
            spans
                .iter()
                .filter(|span| span.phase == phase)
                .map(|span| span.to - span.from)
                .sum()
        };
        let mut ran: Vec<(i64, i64)> = Vec::new();
        for span in spans.iter().filter(|span| span.phase == Phase::Running) {
            // The stretches of it in which someone was there.
            let class_at = |at: i64| span.class_from + (at - span.from);
            let mut from = span.from;
            for away in away.iter().filter(|away| !away.kept_going) {
                let (gone, back) = (away.from.max(from), away.to.min(span.to));
                if gone < back {
                    ran.push((class_at(from), class_at(gone)));
                    from = back;
                }
            }
            ran.push((class_at(from), span.class_to));
        }
        ran.retain(|(from, to)| from < to);
        let seen_ms: i64 = ran.iter().map(|(from, to)| to - from).sum();
        // By class time: who went back ran through it in another order.
        for i in 1..ran.len() {
            let behind = ran[..i]
                .iter()
                .rev()
                .take_while(|one| **one > ran[i])
                .count();
            ran[i - behind..=i].rotate_right(1);
        }
        // Class time of a stretch that was run through, each millisecond once.
        let covered = |start: i64, end: i64| {
            let (mut covered, mut reached) = (0, start);
            for (from, to) in &ran {
                let (from, to) = (*from.max(&start), *to.min(&end));
                covered += (to - from.max(reached)).max(0);
                reached = reached.max(to);
            }
            // Of what was under way when the class was joined there was no more to do than the rest.
            let open = end
                - if joined_ms < end {
                    start.max(joined_ms)
                } else {
                    start
                };
            match covered {
                all if all == end - start => Did::All,
                part if 2 * part >= open => Did::Part,
                _ => Did::None,
            }
        };
        let mut worked_ms = 0;
        let (mut work, mut halves) = (Vec::new(), Vec::new());
        for (i, segment) in timeline.segments().iter().enumerate() {
            if !segment.is_work() {
                continue;
            }
            let (start, end) = (segment.start_ms, segment.end_ms);
            for (from, to) in &ran {
                worked_ms += (*to.min(&end) - *from.max(&start)).max(0);
            }
            work.push((i, covered(start, end)));
            if let Side::Half { .. } = segment.side {
                let half = segment.half_ms();
                halves.push((i, [covered(start, half), covered(half, end)]));
            }
        }
        Record {
            running_ms: seen_ms,
            away_ms: total(Phase::Running) - seen_ms,
            paused_ms: total(Phase::Paused),
            held_ms: total(Phase::Held),
            worked_ms,
            work,
            halves,
            reached_end,
            joined_ms,
        }
    }

    /// How a work segment was met on each of its sides, in their order; on both at once: once.
    pub(super) fn by_side(&self, segment: usize, did: Did) -> Vec<Did> {
        match self.halves.iter().find(|(i, _)| *i == segment) {
            Some((_, halves)) => halves.to_vec(),
            None => vec![did],
        }
    }

    /// The work segments that were met in one way.
    pub fn segments(&self, did: Did) -> impl Iterator<Item = usize> + '_ {
        self.work
            .iter()
            .filter(move |(_, met)| *met == did)
            .map(|(segment, _)| *segment)
    }
}
