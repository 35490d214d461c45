//! A plan compiled: segments with their times, where one is at a time, totals.
//!
//! All times are integer milliseconds from the start of the class.

mod about;
mod place;
mod rungs;
mod ways;

use std::collections::BTreeMap;

pub use crate::plan::unroll::{Segment, SegmentKind, Side};
pub use about::About;
pub use place::{Count, Counted};
pub use rungs::{Rung, RungKind};
pub(crate) use ways::called;
pub use ways::{
    LEAST_FETCH, Ways, all_at, changes_at_half, chosen, kit_of, kit_to_fetch, needs, way,
};

use crate::plan::{Block, Effort, Entry, Move, Part, Plan, unroll::unroll};

/// A length in words, to the nearest second.
///
/// ```
/// use rungbook::timeline::length_in_words;
/// assert_eq!(length_in_words(725_000), "12 min 5 s");
/// assert_eq!(length_in_words(1_800_000), "30 min");
/// assert_eq!(length_in_words(7_500_000), "2 h 5 min");
/// ```
#[must_use]
pub fn length_in_words(ms: i64) -> String {
    let seconds = (ms + 500) / 1000;
    if seconds >= 6_000 {
        let (hours, minutes) = (seconds / 3_600, seconds / 60 % 60);
        return match (hours / 24, hours % 24) {
            (0, _) => format!("{hours} h {minutes} min"),
            (days, hours) => format!("{days} d {hours} h"),
        };
    }
    match (seconds / 60, seconds % 60) {
        (0, s) => format!("{s} s"),
        (m, 0) => format!("{m} min"),
        (m, s) => format!("{m} min {s} s"),
    }
}

/// The class, laid out. It keeps the plan that it was made of.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Timeline {
    plan: Plan,
    segments: Vec<Segment>,
}

/// How long is spent on what, in milliseconds.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Totals {
    /// Getting into place.
    pub ready: i64,
    /// Work.
    pub work: i64,
    /// Rest within rounds.
    pub rest: i64,
    /// Changing sides.
    pub change: i64,
    /// Breaks between rounds and after blocks.
    pub pause: i64,
    /// Demos.
    pub demo: i64,
    /// Interludes.
    pub interlude: i64,
}

impl Totals {
    /// All of it.
    #[must_use]
    pub fn all(&self) -> i64 {
        self.ready + self.work + self.rest + self.change + self.pause + self.demo + self.interlude
    }

    fn add(&mut self, segment: &Segment) {
        let part = match segment.kind {
            SegmentKind::Ready => &mut self.ready,
            SegmentKind::Work => &mut self.work,
            SegmentKind::Rest => &mut self.rest,
            SegmentKind::Change => &mut self.change,
            SegmentKind::Break => &mut self.pause,
            SegmentKind::Demo => &mut self.demo,
            SegmentKind::Interlude => &mut self.interlude,
        };
        *part += segment.len_ms();
    }

    fn of<'s>(segments: impl Iterator<Item = &'s Segment>) -> Totals {
        let mut totals = Totals::default();
        segments.for_each(|segment| totals.add(segment));
        totals
    }
}

impl Timeline {
    /// Compiles a plan.
    ///
    /// A plan that was read or decoded compiles whole. Of one that a program built and did not
    /// validate, references that lead nowhere are passed over and the limits on segments and on
    /// the class's length cut it short, so that this never fails and never runs away.
    ///
    /// ```
    /// use rungbook::plan::Plan;
    /// use rungbook::timeline::{SegmentKind, Side, Timeline};
    ///
    /// let plan = Plan::from_json(r#"{
    ///     "format": "rungbook-plan", "version": 1, "title": "Lunges", "ready": 5,
    ///     "moves": [ { "id": "lunge", "name": "Lunge", "sided": true } ],
    ///     "blocks": [ { "kind": "flow", "steps": ["lunge"], "work": 30, "change": 5 } ]
    /// }"#)?;
    /// let timeline = Timeline::new(&plan);
    /// let kinds: Vec<_> = timeline.segments().iter().map(|s| (s.kind, s.side)).collect();
    /// assert_eq!(kinds, [
    ///     (SegmentKind::Ready, Side::None),
    ///     (SegmentKind::Work, Side::Right),
    ///     (SegmentKind::Change, Side::None),
    ///     (SegmentKind::Work, Side::Left),
    /// ]);
    /// assert_eq!(timeline.total_ms(), 70_000);
    /// # Ok::<(), rungbook::plan::PlanError>(())
    /// ```
    #[must_use]
    pub fn new(plan: &Plan) -> Timeline {
        use crate::plan::limits;
        let mut segments = Vec::new();
        unroll(plan, &mut |segment| {
            let fits = segment.end_ms <= limits::CLASS_MS;
            if fits {
                segments.push(segment);
            }
            fits && segments.len() < limits::SEGMENTS
        });
        Timeline {
            plan: plan.clone(),
            segments,
        }
    }

    /// The plan that it was made of.
    #[must_use]
    pub fn plan(&self) -> &Plan {
        &self.plan
    }

    /// The segments in order. They touch, and their lengths add up to [`Timeline::total_ms`].
    ///
    /// ```
    /// # use rungbook::{plan::Plan, timeline::Timeline};
    /// # let plan = Plan::from_json(r#"{"format":"rungbook-plan","version":1,"title":"t","moves":[{"id":"a","name":"A"}],"blocks":[{"kind":"flow","steps":["a"],"work":20}]}"#)?;
    /// let timeline = Timeline::new(&plan);
    /// let [ready, work] = timeline.segments() else { panic!() };
    /// assert_eq!((ready.start_ms, ready.end_ms), (0, 10_000));
    /// assert_eq!((work.start_ms, work.end_ms), (10_000, 30_000));
    /// # Ok::<(), rungbook::plan::PlanError>(())
    /// ```
    #[must_use]
    pub fn segments(&self) -> &[Segment] {
        &self.segments
    }

    /// The segment at a class time in milliseconds, in O(log n); its start belongs to it, its
    /// end to the next. `None` before the class and from its end on.
    ///
    /// ```
    /// # use rungbook::{plan::Plan, timeline::{SegmentKind, Timeline}};
    /// # let plan = Plan::from_json(r#"{"format":"rungbook-plan","version":1,"title":"t","moves":[{"id":"a","name":"A"}],"blocks":[{"kind":"flow","steps":["a"],"work":20}]}"#)?;
    /// let timeline = Timeline::new(&plan);
    /// assert_eq!(timeline.at(9_999).map(|s| s.kind), Some(SegmentKind::Ready));
    /// assert_eq!(timeline.at(10_000).map(|s| s.kind), Some(SegmentKind::Work));
    /// assert_eq!(timeline.at(30_000), None);
    /// # Ok::<(), rungbook::plan::PlanError>(())
    /// ```
    #[must_use]
    pub fn at(&self, ms: i64) -> Option<&Segment> {
        self.index_at(ms).map(|i| &self.segments[i])
    }

    /// Like [`Timeline::at`], as a place in [`Timeline::segments`].
    #[must_use]
    pub fn index_at(&self, ms: i64) -> Option<usize> {
        if ms < 0 {
            return None;
        }
        let i = self.segments.partition_point(|s| s.end_ms <= ms);
        (i < self.segments.len()).then_some(i)
    }

    /// The length of the class in milliseconds.
    ///
    /// ```
    /// # use rungbook::{plan::Plan, timeline::Timeline};
    /// # let plan = Plan::from_json(r#"{"format":"rungbook-plan","version":1,"title":"t","moves":[{"id":"a","name":"A"}],"blocks":[{"kind":"flow","steps":["a"],"work":20}]}"#)?;
    /// assert_eq!(Timeline::new(&plan).total_ms(), 30_000);
    /// # Ok::<(), rungbook::plan::PlanError>(())
    /// ```
    #[must_use]
    pub fn total_ms(&self) -> i64 {
        self.segments.last().map_or(0, |s| s.end_ms)
    }

    /// What the class's time is spent on.
    #[must_use]
    pub fn totals(&self) -> Totals {
        Totals::of(self.segments.iter())
    }

    /// What a block's time is spent on.
    #[must_use]
    pub fn block_totals(&self, block: usize) -> Totals {
        Totals::of(self.segments.iter().filter(|s| s.block == block))
    }

    /// Milliseconds of a part of the class, its gaps included.
    #[must_use]
    pub fn part_ms(&self, part: Part) -> i64 {
        let of_part = |segment: &&Segment| {
            let block = self.block_of(segment);
            block.is_some_and(|block| block.part == part)
        };
        self.segments
            .iter()
            .filter(of_part)
            .map(Segment::len_ms)
            .sum()
    }

    /// What is spent on a move, by its place in the plan: its work and its demo.
    #[must_use]
    pub fn move_totals(&self, at: usize) -> Totals {
        Totals::of(self.segments.iter().filter(|s| s.move_at == Some(at)))
    }

    /// Work in milliseconds by move, by its place. Several tasks share their window evenly.
    #[must_use]
    pub fn work_by_move(&self) -> Vec<i64> {
        let mut work = vec![0; self.plan.moves.len()];
        for segment in self.segments.iter().filter(|s| s.is_work()) {
            let moves = self.moves_of(segment);
            for at in &moves {
                work[*at] += segment.len_ms() / moves.len() as i64;
            }
        }
        work
    }

    /// The moves of a segment, by their places: one, or those of its tasks.
    #[must_use]
    pub fn moves_of(&self, segment: &Segment) -> Vec<usize> {
        let tasks = self.tasks_of(segment);
        if tasks.is_empty() {
            return segment.move_at.into_iter().collect();
        }
        let place = |task: &Entry| self.plan.moves.iter().position(|one| one.id == task.of);
        tasks.iter().filter_map(place).collect()
    }

    /// Work in milliseconds by side of every move that is done by side: (right, left).
    #[must_use]
    pub fn work_by_side(&self) -> BTreeMap<usize, (i64, i64)> {
        use crate::plan::Hand;
        let mut by_move: BTreeMap<usize, (i64, i64)> = BTreeMap::new();
        for segment in self.segments.iter().filter(|s| s.is_work()) {
            let Some(at) = segment.move_at else { continue };
            let half = segment.half_ms() - segment.start_ms;
            let rest = segment.len_ms() - half;
            let (right, left) = match segment.side {
                Side::None => continue,
                Side::Right => (segment.len_ms(), 0),
                Side::Left => (0, segment.len_ms()),
                Side::Half { first: Hand::Right } => (half, rest),
                Side::Half { first: Hand::Left } => (rest, half),
            };
            let sum = by_move.entry(at).or_default();
            sum.0 += right;
            sum.1 += left;
        }
        by_move
    }

    /// A segment's move.
    #[must_use]
    pub fn move_of(&self, segment: &Segment) -> Option<&Move> {
        self.plan.moves.get(segment.move_at?)
    }

    /// A segment's block.
    #[must_use]
    pub fn block_of(&self, segment: &Segment) -> Option<&Block> {
        self.plan.blocks.get(segment.block)
    }

    /// A work segment's entry.
    #[must_use]
    pub fn entry_of(&self, segment: &Segment) -> Option<&Entry> {
        let (list, i) = segment.entry_at?;
        self.block_of(segment)?.lists().get(list)?.get(i)
    }

    /// The tasks of a window's work segment; none for any other.
    #[must_use]
    pub fn tasks_of(&self, segment: &Segment) -> &[Entry] {
        use crate::plan::BlockKind;
        match self.block_of(segment).map(|block| &block.kind) {
            Some(BlockKind::Window { tasks, .. }) if segment.is_work() => tasks,
            _ => &[],
        }
    }

    /// For who joins at a class time: the first work of a warm-up that is over by then, where hard
    /// work is under way or comes next. Hard is vigorous and all-out.
    ///
    /// ```
    /// use rungbook::{plan::Plan, timeline::Timeline};
    /// let plan = Plan::from_json(r#"{
    ///     "format": "rungbook-plan", "version": 1, "title": "Late", "ready": 0,
    ///     "moves": [ { "id": "march", "name": "March", "effort": "light" },
    ///                { "id": "jump", "name": "Jump", "effort": "vigorous" } ],
    ///     "blocks": [ { "kind": "flow", "part": "warm-up", "steps": ["march"], "work": 60 },
    ///                 { "kind": "flow", "steps": ["jump", "march"], "work": 30 } ]
    /// }"#)?;
    /// let timeline = Timeline::new(&plan);
    /// assert_eq!(timeline.missed_warm_up(30_000), None);
    /// assert_eq!(timeline.missed_warm_up(60_000), Some(0));
    /// assert_eq!(timeline.missed_warm_up(100_000), None); // marching is not hard
    /// # Ok::<(), rungbook::plan::PlanError>(())
    /// ```
    #[must_use]
    pub fn missed_warm_up(&self, ms: i64) -> Option<usize> {
        let warms = |segment: &Segment| {
            let part = self.block_of(segment).map(|block| block.part);
            segment.is_work() && part == Some(Part::WarmUp)
        };
        let first = self.segments.iter().position(warms)?;
        let last = self.segments.iter().rposition(warms)?;
        let next = self.next_work(self.index_at(ms)?)?;
        let segment = &self.segments[next];
        let hard = matches!(self.effort_of(segment), Effort::Vigorous | Effort::AllOut);
        (hard && self.segments[last].end_ms <= ms).then_some(first)
    }

    /// For who would join at about a class time: the start of the first gap from half a minute before
    /// that on, so that they get ready with all others, and not in the middle of a move's two sides;
    /// that time itself where no gap is near.
    #[must_use]
    pub fn gap_near(&self, ms: i64) -> i64 {
        const SOONER_MS: i64 = 30_000;
        const LATER_MS: i64 = 90_000;
        let near = |s: &&Segment| (ms - SOONER_MS..=ms + LATER_MS).contains(&s.start_ms);
        let leads_on = |s: &&Segment| !s.is_work() && s.kind != SegmentKind::Change;
        let gap = self.segments.iter().find(|s| leads_on(s) && near(s));
        gap.map_or(ms, |gap| gap.start_ms)
    }

    /// The work that a gap leads to; of work itself, that work.
    #[must_use]
    pub fn work_from(&self, segment: &Segment) -> Option<&Segment> {
        let next = self.next_work(self.index_at(segment.start_ms)?)?;
        self.segments.get(next)
    }

    /// The first work segment from a place on.
    #[must_use]
    pub fn next_work(&self, from: usize) -> Option<usize> {
        (from..self.segments.len()).find(|i| self.segments[*i].is_work())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn plan(blocks: &str) -> Timeline {
        let text = format!(
            r#"{{"format":"rungbook-plan","version":1,"title":"t","ready":5,"moves":[
                {{"id":"a","name":"A","demo":8}},{{"id":"s","name":"S","sided":true}}],"blocks":{blocks}}}"#
        );
        Timeline::new(&Plan::from_json(&text).expect("a good plan"))
    }

    #[test]
    fn totals_add_up_to_the_class() {
        let t = plan(
            r#"[{"kind":"rounds","moves":["a","s"],"rounds":2,"work":[30,20],"rest":5,"break":15,"change":2,"after":7},
                {"kind":"interlude","lasts":40,"say":"Water"}]"#,
        );
        let totals = t.totals();
        assert_eq!(totals.all(), t.total_ms());
        assert_eq!(totals.work, 3 * 30_000 + 3 * 20_000);
        assert_eq!(totals.demo, 8_000);
        assert_eq!(totals.rest, 2 * 5_000);
        assert_eq!(totals.change, 2 * 2_000);
        assert_eq!(totals.pause, 22_000);
        let blocks = t.block_totals(0).all() + t.block_totals(1).all();
        assert_eq!(blocks, t.total_ms());
        assert_eq!(t.move_totals(0).demo, 8_000);
        assert_eq!(t.move_totals(1).work, 100_000);
        assert_eq!(t.work_by_side()[&1], (50_000, 50_000));
    }

    #[test]
    fn an_odd_half_changes_over_at_the_millisecond() {
        let t = plan(r#"[{"kind":"flow","steps":["s"],"work":25,"sides":"half"}]"#);
        let s = t.segments()[1];
        assert_eq!(s.half_ms(), 5_000 + 12_500);
        use crate::plan::Hand;
        assert_eq!(s.hand_at(17_499), Some(Hand::Right));
        assert_eq!(s.hand_at(17_500), Some(Hand::Left));
        assert_eq!(t.work_by_side()[&1], (12_500, 12_500));
    }

    #[test]
    fn an_invalid_plan_compiles_to_what_can_be_laid_out() {
        let mut wrong = t_plan();
        wrong.blocks[0].kind = crate::plan::BlockKind::Rounds {
            moves: vec![Entry::of("nowhere"), Entry::of("a")],
            rounds: u32::MAX,
        };
        let t = Timeline::new(&wrong);
        assert!(t.segments().len() <= crate::plan::limits::SEGMENTS);
        assert!(t.segments().iter().all(|s| s.move_at != Some(1)));
    }

    fn t_plan() -> Plan {
        plan(r#"[{"kind":"rounds","moves":["a"],"rounds":2,"work":30}]"#)
            .plan()
            .clone()
    }
}
