//! The class as a ladder: what comes, one rung a move.

use super::{Segment, SegmentKind, Timeline};
use crate::plan::Hand;

/// What a rung of the ladder holds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum RungKind {
    /// Work on a move, by its place in the plan.
    Move(usize),
    /// An interlude.
    Interlude,
}

/// A step of the ladder: the same move twice in a row is one rung with a count.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Rung {
    /// What it holds.
    pub kind: RungKind,
    /// Its first segment.
    pub first: usize,
    /// Its last segment.
    pub last: usize,
    /// How many times it is done; the two sides of a paired move are one time.
    pub count: u32,
    /// The sides in the order in which they are first worked; empty for none.
    pub hands: Vec<Hand>,
}

impl Timeline {
    /// The rungs that begin at or after a segment, nearest first, at most so many.
    ///
    /// Gaps do not end a rung and make none; an interlude does both, and so does a new block.
    ///
    /// ```
    /// use rungbook::{plan::Plan, timeline::Timeline};
    /// let plan = Plan::from_json(r#"{
    ///     "format": "rungbook-plan", "version": 1, "title": "Sets",
    ///     "moves": [ { "id": "squat", "name": "Squat" }, { "id": "row", "name": "Row" } ],
    ///     "blocks": [ { "kind": "sets", "moves": ["squat", "row"], "sets": 3, "work": 30, "rest": 20 } ]
    /// }"#)?;
    /// let rungs = Timeline::new(&plan).rungs_from(0, 5);
    /// assert_eq!(rungs.iter().map(|rung| rung.count).collect::<Vec<_>>(), [3, 3]);
    /// # Ok::<(), rungbook::plan::PlanError>(())
    /// ```
    #[must_use]
    pub fn rungs_from(&self, from: usize, most: usize) -> Vec<Rung> {
        let mut rungs: Vec<Rung> = Vec::new();
        for (i, segment) in self.segments().iter().enumerate().skip(from) {
            let kind = match (segment.kind, segment.move_at) {
                (SegmentKind::Work, Some(at)) => RungKind::Move(at),
                (SegmentKind::Interlude, _) => RungKind::Interlude,
                _ => continue,
            };
            if let Some(rung) = rungs.last_mut()
                && self.same_rung(rung, segment, kind)
            {
                self.extend(rung, i);
            } else if rungs.len() < most {
                rungs.push(Rung {
                    kind,
                    first: i,
                    last: i,
                    count: 1,
                    hands: segment.hands().collect(),
                });
            } else {
                break;
            }
        }
        rungs
    }

    /// The move of the rung below the one that a segment stands on or comes after: what was worked
    /// last before it.
    ///
    /// ```
    /// # use rungbook::{plan::Plan, timeline::Timeline};
    /// # let plan = Plan::from_json(r#"{"format":"rungbook-plan","version":1,"title":"t","ready":0,"moves":[{"id":"a","name":"A"},{"id":"b","name":"B"}],"blocks":[{"kind":"sets","moves":["a","b"],"sets":2,"work":20,"rest":5}]}"#)?;
    /// let timeline = Timeline::new(&plan); // work, rest, work of A; work, rest, work of B
    /// assert_eq!(timeline.rung_below(2), None);
    /// assert_eq!(timeline.rung_below(5), Some(0));
    /// # Ok::<(), rungbook::plan::PlanError>(())
    /// ```
    #[must_use]
    pub fn rung_below(&self, at: usize) -> Option<usize> {
        let here = self.segments().get(at)?;
        let present = here.move_at.filter(|_| here.is_work());
        self.segments()[..at]
            .iter()
            .rev()
            .filter(|segment| segment.is_work())
            .find(|segment| segment.move_at != present || segment.block != here.block)?
            .move_at
    }

    fn same_rung(&self, rung: &Rung, segment: &Segment, kind: RungKind) -> bool {
        kind != RungKind::Interlude
            && rung.kind == kind
            && self.segments()[rung.last].block == segment.block
    }

    fn extend(&self, rung: &mut Rung, at: usize) {
        let (before, now) = (&self.segments()[rung.last], &self.segments()[at]);
        // The second side of a paired move has the number of the first: it is the same time.
        let other_side =
            (before.round, before.entry) == (now.round, now.entry) && before.side != now.side;
        if !other_side {
            rung.count += 1;
        }
        for hand in now.hands() {
            if !rung.hands.contains(&hand) {
                rung.hands.push(hand);
            }
        }
        rung.last = at;
    }
}

impl Segment {
    /// The sides that it works, in order.
    pub fn hands(&self) -> impl Iterator<Item = Hand> + use<> {
        let first = self.hand_at(self.start_ms);
        let last = self
            .hand_at(self.end_ms)
            .filter(|last| Some(*last) != first);
        first.into_iter().chain(last)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plan::Plan;

    fn rungs(blocks: &str, from: usize) -> Vec<(usize, u32, usize)> {
        let text = format!(
            r#"{{"format":"rungbook-plan","version":1,"title":"t","ready":0,"moves":[
                {{"id":"a","name":"A"}},{{"id":"s","name":"S","sided":true}}],"blocks":{blocks}}}"#
        );
        Timeline::new(&Plan::from_json(&text).expect("a good plan"))
            .rungs_from(from, 9)
            .into_iter()
            .map(|rung| match rung.kind {
                RungKind::Move(at) => (at, rung.count, rung.hands.len()),
                RungKind::Interlude => (99, rung.count, 0),
            })
            .collect()
    }

    #[test]
    fn two_sides_are_one_time() {
        let block = r#"[{"kind":"rounds","moves":["s"],"rounds":2,"work":30,"break":10}]"#;
        assert_eq!(rungs(block, 0), [(1, 2, 2)]);
        // From the second side on: the rest of the first time, and the second.
        assert_eq!(rungs(block, 1), [(1, 2, 2)]);
        assert_eq!(rungs(block, 4), [(1, 1, 1)]);
    }

    #[test]
    fn a_superset_keeps_its_order_and_an_interlude_parts_rungs() {
        let blocks = r#"[{"kind":"rounds","moves":["a","s"],"rounds":2,"work":30,"sides":"half"},
            {"kind":"flow","steps":["s"],"work":20},{"kind":"interlude","lasts":20,"say":"Water"},
            {"kind":"flow","steps":["s"],"work":20}]"#;
        assert_eq!(
            rungs(blocks, 0),
            [
                (0, 1, 0),
                (1, 1, 2),
                (0, 1, 0),
                (1, 1, 2),
                (1, 1, 2),
                (99, 1, 0),
                (1, 1, 2)
            ]
        );
    }
}
