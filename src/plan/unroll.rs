//! The order of a class: blocks, rounds, sides, gaps and demos laid end to end.
//!
//! This is the one place that knows the rules of the format's kinds. It gives one segment after
//! the other to a sink and keeps none, so that a plan can be measured before memory is spent on it.

use std::collections::BTreeMap;

use super::limits;
use super::model::{Block, BlockKind, ByRound, Entry, Plan};
use super::words::{Direction, Hand, Sides};

/// What a segment is for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum SegmentKind {
    /// Getting into place before the first go.
    Ready,
    /// A move, or a window's tasks.
    Work,
    /// Between two work segments of a round.
    Rest,
    /// Between the two sides of a paired move.
    Change,
    /// Between rounds and after blocks.
    Break,
    /// The coach shows a move.
    Demo,
    /// Water, set-up, talk.
    Interlude,
}

impl SegmentKind {
    /// The kind's word, as the app's `data-phase` has it.
    ///
    /// ```
    /// assert_eq!(rungbook::timeline::SegmentKind::Work.word(), "work");
    /// ```
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            SegmentKind::Ready => "ready",
            SegmentKind::Work => "work",
            SegmentKind::Rest => "rest",
            SegmentKind::Change => "change",
            SegmentKind::Break => "break",
            SegmentKind::Demo => "demo",
            SegmentKind::Interlude => "interlude",
        }
    }
}

/// The side on which a segment is worked.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum Side {
    /// The move has no side, or the segment no work.
    #[default]
    None,
    /// The right side throughout.
    Right,
    /// The left side throughout.
    Left,
    /// Both sides, changing over at half time.
    Half {
        /// The side that comes first.
        first: Hand,
    },
}

impl From<Hand> for Side {
    fn from(hand: Hand) -> Self {
        match hand {
            Hand::Right => Side::Right,
            Hand::Left => Side::Left,
        }
    }
}

/// One stretch of class time with one thing to do. Segments touch: each starts where the one
/// before ends.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Segment {
    /// What it is for.
    pub kind: SegmentKind,
    /// Milliseconds of class time at its start.
    pub start_ms: i64,
    /// Milliseconds of class time at its end, which is the start of the next.
    pub end_ms: i64,
    /// The block that it stands in, from 0. A break after a block stands in that block; a demo
    /// and the ready time in the block that comes.
    pub block: usize,
    /// The round, from 1. A break stands in the round before it, a demo in the one after.
    pub round: u32,
    /// Of how many rounds.
    pub rounds: u32,
    /// The number that a coach says: the entry in the round, from 1 (in straight sets the set,
    /// in a window the time). 0 outside work.
    pub entry: u32,
    /// Of how many. 0 outside work.
    pub entries: u32,
    /// The move, by its place in the plan: of work and demos. A window has its first task's.
    pub move_at: Option<usize>,
    /// The entry in its block, as (list, place in the list) of [`Block::lists`]: of work alone.
    pub entry_at: Option<(usize, usize)>,
    /// The turn by which lists of seconds and reps go, from 1.
    pub turn: u32,
    /// The working side.
    pub side: Side,
    /// When the coach leads, class time stops at its end until the coach says go.
    pub held: bool,
}

impl Segment {
    /// Its length in milliseconds.
    #[must_use]
    pub fn len_ms(&self) -> i64 {
        self.end_ms - self.start_ms
    }

    /// Whether it is work.
    #[must_use]
    pub fn is_work(&self) -> bool {
        self.kind == SegmentKind::Work
    }

    /// Class time of half time, to the millisecond.
    #[must_use]
    pub fn half_ms(&self) -> i64 {
        self.start_ms + self.len_ms() / 2
    }

    /// The side that works at a class time within the segment.
    #[must_use]
    pub fn hand_at(&self, ms: i64) -> Option<Hand> {
        match self.side {
            Side::None => None,
            Side::Right => Some(Hand::Right),
            Side::Left => Some(Hand::Left),
            Side::Half { first } if ms < self.half_ms() => Some(first),
            Side::Half { first } => Some(first.other()),
        }
    }
}

/// Lays a plan out, segment by segment, until it ends or the sink says false.
///
/// References that lead nowhere are passed over: a plan that is being written must not bring
/// the app down. `Plan::validate` is what reports them.
pub(crate) fn unroll(plan: &Plan, sink: &mut dyn FnMut(Segment) -> bool) {
    // One by one: collected, they would be sorted, by code that is larger than this function.
    let mut by_id = BTreeMap::new();
    for (at, known) in plan.moves.iter().enumerate() {
        by_id.entry(&*known.id).or_insert(at);
    }
    let mut walk = Walk {
        plan,
        by_id,
        sink,
        now_ms: 0,
        shown: vec![false; plan.moves.len()],
        gap: Some(Gap {
            kind: SegmentKind::Ready,
            seconds: plan.ready,
            place: None,
        }),
        stopped: false,
    };
    for (at, block) in plan.blocks.iter().enumerate() {
        walk.block(at, block);
    }
    // The class ends with the break after its last block, where there is one.
    if let Some(place) = walk.gap.as_ref().and_then(|gap| gap.place) {
        walk.close_gap(place, &[]);
    }
}

/// Where a segment stands.
#[derive(Clone, Copy)]
struct Place {
    block: usize,
    round: u32,
    rounds: u32,
    held: bool,
}

/// A gap that is known but not yet laid down: demos may still take its end.
struct Gap {
    kind: SegmentKind,
    seconds: u32,
    /// `None`: it stands where what comes after it stands.
    place: Option<Place>,
}

/// A round being laid down.
struct Round<'a> {
    block: &'a Block,
    place: Place,
    /// In a flow, each step may have a demo before it; elsewhere all come before the round.
    demo_each: bool,
    entries: u32,
}

/// An entry with the place of its move in the plan and of itself in the block.
#[derive(Clone, Copy)]
struct Found<'a> {
    entry: &'a Entry,
    move_at: usize,
    at: (usize, usize),
}

struct Walk<'a, 's> {
    plan: &'a Plan,
    by_id: BTreeMap<&'a str, usize>,
    sink: &'s mut dyn FnMut(Segment) -> bool,
    now_ms: i64,
    shown: Vec<bool>,
    gap: Option<Gap>,
    stopped: bool,
}

fn blank(kind: SegmentKind, place: Place) -> Segment {
    Segment {
        kind,
        start_ms: 0,
        end_ms: 0,
        block: place.block,
        round: place.round,
        rounds: place.rounds,
        entry: 0,
        entries: 0,
        move_at: None,
        entry_at: None,
        turn: 0,
        side: Side::None,
        held: place.held
            && matches!(
                kind,
                SegmentKind::Rest | SegmentKind::Break | SegmentKind::Demo | SegmentKind::Interlude
            ),
    }
}

impl<'a> Walk<'a, '_> {
    /// Lays down a segment; one of no length is none.
    fn put(&mut self, seconds: u32, segment: Segment) {
        if seconds == 0 || self.stopped {
            return;
        }
        let start_ms = self.now_ms;
        self.now_ms += i64::from(seconds) * 1000;
        self.stopped = !(self.sink)(Segment {
            start_ms,
            end_ms: self.now_ms,
            ..segment
        });
    }

    fn find(&self, block: &'a Block) -> Vec<Found<'a>> {
        block
            .lists()
            .iter()
            .enumerate()
            .flat_map(|(list, entries)| {
                entries
                    .iter()
                    .enumerate()
                    .map(move |(i, entry)| (entry, (list, i)))
            })
            .filter_map(|(entry, at)| {
                let move_at = *self.by_id.get(&*entry.of)?;
                Some(Found { entry, move_at, at })
            })
            .collect()
    }

    /// The moves among these that still have to be shown, in order; they count as shown now.
    fn take_unshown(&mut self, found: &[Found<'_>]) -> Vec<usize> {
        let mut show = Vec::new();
        for at in found.iter().map(|found| found.move_at) {
            if self.plan.moves[at].demo > 0 && !self.shown[at] {
                self.shown[at] = true;
                show.push(at);
            }
        }
        show
    }

    /// Lays down the gap before a place. Demos take its end: a break or rest gives way to them,
    /// and grows where they are longer. The ready time gives nothing: demos come before it.
    fn close_gap(&mut self, next: Place, demos: &[usize]) {
        let demo_total = demos.iter().fold(0u32, |sum, at| {
            sum.saturating_add(self.plan.moves[*at].demo)
        });
        let mut ready = 0;
        match self.gap.take() {
            Some(gap) if gap.kind == SegmentKind::Ready => ready = gap.seconds,
            Some(gap) => self.put(
                gap.seconds.saturating_sub(demo_total),
                blank(gap.kind, gap.place.unwrap_or(next)),
            ),
            None => {}
        }
        for at in demos {
            let mut demo = blank(SegmentKind::Demo, next);
            demo.move_at = Some(*at);
            self.put(self.plan.moves[*at].demo, demo);
        }
        self.put(ready, blank(SegmentKind::Ready, next));
    }

    fn wait(&mut self, kind: SegmentKind, seconds: u32, place: Place) {
        self.gap = Some(Gap {
            kind,
            seconds,
            place: Some(place),
        });
    }

    fn block(&mut self, at: usize, block: &'a Block) {
        let place = |round, rounds| Place {
            block: at,
            round,
            rounds,
            held: block.held,
        };
        let last = match &block.kind {
            BlockKind::Interlude { lasts, .. } => {
                let here = place(1, 1);
                self.close_gap(here, &[]);
                self.put(*lasts, blank(SegmentKind::Interlude, here));
                here
            }
            BlockKind::Flow { .. } => {
                let here = place(1, 1);
                let found = self.find(block);
                self.round(block, here, 1, &found, true);
                here
            }
            BlockKind::Rounds { rounds, .. } => {
                let found = self.find(block);
                self.rounds(block, (*rounds).min(limits::ROUNDS), place, |_| &found)
            }
            BlockKind::Ladder { rungs, direction } => {
                let n = rungs.len().min(limits::ROUNDS as usize) as u32;
                let found = self.find(block);
                let height = |k: u32| match direction {
                    Direction::Up => k,
                    Direction::Down => n - k + 1,
                    Direction::UpDown => k.min(2 * n - k),
                };
                let rounds = ladder_rounds(n, *direction);
                self.rounds(block, rounds, place, |k| {
                    let top = height(k) as usize;
                    &found[..found.partition_point(|one| one.at.0 < top)]
                })
            }
            BlockKind::Sets { sets, .. } => {
                let found = self.find(block);
                self.sets(block, (*sets).min(limits::ROUNDS), place, &found)
            }
            BlockKind::Window { times, .. } => {
                let here = place(1, 1);
                let found = self.find(block);
                self.window(block, (*times).min(limits::ROUNDS), here, &found);
                here
            }
        };
        // Where nothing in the block could be laid down, the gap before it is still open.
        if let Some(open) = self.gap.as_ref().and_then(|gap| gap.place) {
            self.close_gap(open, &[]);
        }
        if block.after > 0 && self.gap.is_none() {
            self.wait(SegmentKind::Break, block.after, last);
        }
    }

    /// Rounds with breaks between; `found` gives the entries of round k. Returns the last place.
    fn rounds<'f>(
        &mut self,
        block: &'a Block,
        rounds: u32,
        place: impl Fn(u32, u32) -> Place,
        found: impl Fn(u32) -> &'f [Found<'a>],
    ) -> Place
    where
        'a: 'f,
    {
        for k in 1..=rounds {
            if self.stopped {
                break;
            }
            if k > 1 {
                self.wait(
                    SegmentKind::Break,
                    block.pause.at(k - 1),
                    place(k - 1, rounds),
                );
            }
            self.round(block, place(k, rounds), k, found(k), false);
        }
        place(rounds, rounds)
    }

    /// One round: every entry in order with rest between.
    fn round(
        &mut self,
        block: &'a Block,
        place: Place,
        turn: u32,
        found: &[Found<'a>],
        demo_each: bool,
    ) {
        let round = Round {
            block,
            place,
            demo_each,
            entries: found.len() as u32,
        };
        if !demo_each {
            let demos = self.take_unshown(found);
            self.close_gap(place, &demos);
        }
        for (i, one) in found.iter().enumerate() {
            if i > 0 {
                self.wait(SegmentKind::Rest, block.rest.at(turn), place);
            }
            self.entry(&round, *one, i as u32 + 1, turn);
        }
    }

    /// Straight sets: one entry's sets are one round. Returns the last place.
    fn sets(
        &mut self,
        block: &'a Block,
        sets: u32,
        place: impl Fn(u32, u32) -> Place,
        found: &[Found<'a>],
    ) -> Place {
        let rounds = found.len() as u32;
        for (k, one) in (1..).zip(found) {
            if k > 1 {
                self.wait(
                    SegmentKind::Break,
                    block.pause.at(k - 1),
                    place(k - 1, rounds),
                );
            }
            let demos = self.take_unshown(core::slice::from_ref(one));
            self.close_gap(place(k, rounds), &demos);
            let round = Round {
                block,
                place: place(k, rounds),
                demo_each: false,
                entries: sets,
            };
            for set in 1..=sets {
                if set > 1 {
                    self.wait(SegmentKind::Rest, block.rest.at(set - 1), round.place);
                }
                self.entry(&round, *one, set, set);
                if self.stopped {
                    return round.place;
                }
            }
        }
        place(rounds.max(1), rounds.max(1))
    }

    fn window(&mut self, block: &'a Block, times: u32, place: Place, found: &[Found<'a>]) {
        let Some(first) = found.first() else { return };
        let demos = self.take_unshown(found);
        self.close_gap(place, &demos);
        for time in 1..=times {
            if time > 1 {
                self.wait(SegmentKind::Rest, block.rest.at(time - 1), place);
                self.close_gap(place, &[]);
            }
            self.put(
                block.work.at(time),
                Segment {
                    entry: time,
                    entries: times,
                    move_at: Some(first.move_at),
                    entry_at: Some(first.at),
                    turn: time,
                    ..blank(SegmentKind::Work, place)
                },
            );
            if self.stopped {
                return;
            }
        }
    }

    /// One entry: one work segment, or two for a paired move.
    ///
    /// `turn` is also the running number by which alternate sides go: the round, or the set.
    fn entry(&mut self, round: &Round<'a>, found: Found<'a>, number: u32, turn: u32) {
        let demos = if round.demo_each {
            self.take_unshown(&[found])
        } else {
            Vec::new()
        };
        if self.gap.is_some() || !demos.is_empty() {
            self.close_gap(round.place, &demos);
        }
        let Found { entry, move_at, at } = found;
        let seconds = own_or(&entry.work, &round.block.work).at(turn);
        let work = |side| Segment {
            entry: number,
            entries: round.entries,
            move_at: Some(move_at),
            entry_at: Some(at),
            turn,
            side,
            ..blank(SegmentKind::Work, round.place)
        };
        let first = round.block.first_side;
        if !self.plan.moves[move_at].sided {
            return self.put(seconds, work(Side::None));
        }
        if let Some(only) = entry.side {
            return self.put(seconds, work(only.into()));
        }
        match round.block.sides_of(entry) {
            Sides::Paired => {
                self.put(seconds, work(first.into()));
                self.put(round.block.change, blank(SegmentKind::Change, round.place));
                self.put(seconds, work(first.other().into()));
            }
            Sides::Alternate => {
                let hand = if turn % 2 == 1 { first } else { first.other() };
                self.put(seconds, work(hand.into()));
            }
            Sides::Half => self.put(seconds, work(Side::Half { first })),
        }
    }
}

/// An entry's own list where it has one, else the block's.
pub(crate) fn own_or<'a>(own: &'a ByRound, block: &'a ByRound) -> &'a ByRound {
    if own.is_empty() { block } else { own }
}

/// The rounds of a ladder of n rungs.
pub(super) fn ladder_rounds(n: u32, direction: Direction) -> u32 {
    match direction {
        Direction::UpDown => (2 * n).saturating_sub(1),
        Direction::Up | Direction::Down => n,
    }
}
