//! What may move, how far, and the numbers that it is made of.

use crate::plan::unroll::unroll;
use crate::plan::{Block, BlockKind, Plan, limits};

/// The shortest that work may become, in seconds.
pub const LEAST_WORK: u32 = 10;
/// The shortest that a rest, a break, a change of sides or a demo may become, in seconds.
pub const LEAST_GAP: u32 = 5;
/// The shortest that an interlude may become, in seconds: someone has to get to their water and back.
pub const LEAST_INTERLUDE: u32 = 20;
/// By how many seconds a rest or a change of sides may grow at least; a longer one may double.
pub const MOST_SHORT: i64 = 15;
/// The most steps by which a value of seconds moves either way, whatever [`May::most`] says: so
/// that no wish can keep a phone busy.
pub const MOST_STEPS: u32 = 120;

/// What may move, and how far.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct May {
    /// Breaks between rounds and after blocks, and interludes.
    pub breaks: bool,
    /// Rests within rounds, and changes of sides.
    pub rests: bool,
    /// Work.
    pub work: bool,
    /// Rounds, sets and times.
    pub rounds: bool,
    /// Demos.
    pub demos: bool,
    /// Seconds: values of seconds move by multiples of it. 0 counts as 1.
    pub step: u32,
    /// Seconds: a value of seconds moves by at most this either way.
    pub most: u32,
    /// Rounds: a number of rounds moves by at most this either way.
    pub most_rounds: u32,
    /// Blocks, by their places, that stay as they are.
    pub locked: Vec<usize>,
}

impl Default for May {
    fn default() -> Self {
        May {
            breaks: true,
            rests: true,
            work: false,
            rounds: false,
            demos: false,
            step: 5,
            most: 30,
            most_rounds: 2,
            locked: Vec::new(),
        }
    }
}

impl May {
    /// Everything may move, as far as the defaults let it.
    #[must_use]
    pub fn all() -> May {
        Kind::ALL
            .iter()
            .fold(May::default(), |may, kind| may.and(*kind))
    }

    /// The same, with a kind allowed.
    #[must_use]
    pub fn and(mut self, kind: Kind) -> May {
        match kind {
            Kind::Breaks => self.breaks = true,
            Kind::Rests => self.rests = true,
            Kind::Demos => self.demos = true,
            Kind::Work => self.work = true,
            Kind::Rounds => self.rounds = true,
        }
        self
    }

    /// Whether a kind may move.
    #[must_use]
    pub fn allows(&self, kind: Kind) -> bool {
        match kind {
            Kind::Breaks => self.breaks,
            Kind::Rests => self.rests,
            Kind::Demos => self.demos,
            Kind::Work => self.work,
            Kind::Rounds => self.rounds,
        }
    }
}

/// What a coach allows to move, or not.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Kind {
    /// See [`May::breaks`].
    Breaks,
    /// See [`May::rests`].
    Rests,
    /// See [`May::demos`].
    Demos,
    /// See [`May::work`].
    Work,
    /// See [`May::rounds`].
    Rounds,
}

impl Kind {
    /// All, in the order in which they are asked for: what the class notices least comes first.
    pub const ALL: [Kind; 5] = [
        Kind::Breaks,
        Kind::Rests,
        Kind::Demos,
        Kind::Work,
        Kind::Rounds,
    ];
}

/// One value of a block.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Value {
    /// The break after the block.
    After,
    /// Rounds, sets or times.
    Rounds,
    /// The demos of the moves that are first shown in the block.
    Demo,
    /// How long an interlude lasts.
    Interlude,
    /// The breaks between rounds.
    Break,
    /// The rests within rounds.
    Rest,
    /// The change of sides.
    Change,
    /// The work of the block and the own work of its entries.
    Work,
}

impl Value {
    /// The kind as part of which it may move.
    #[must_use]
    pub fn kind(self) -> Kind {
        match self {
            Value::After | Value::Break | Value::Interlude => Kind::Breaks,
            Value::Rest | Value::Change => Kind::Rests,
            Value::Demo => Kind::Demos,
            Value::Work => Kind::Work,
            Value::Rounds => Kind::Rounds,
        }
    }

    /// Seconds (rounds: rounds) below which no number of it goes.
    pub(super) fn least(self) -> u32 {
        match self {
            Value::Work => LEAST_WORK,
            Value::Interlude => LEAST_INTERLUDE,
            Value::Rounds => 1,
            Value::After | Value::Break | Value::Rest | Value::Change | Value::Demo => LEAST_GAP,
        }
    }

    /// Seconds that a number of it may shrink to: with less than half its work it is another class.
    pub(super) fn least_of(self, now: i64) -> i64 {
        match self {
            Value::Work => (now + 1) / 2,
            _ => 0,
        }
    }

    /// Seconds that a number of it may grow to, as far as the format goes: a superset with half a
    /// minute between its moves is none.
    pub(super) fn most(self, now: i64) -> i64 {
        let limit = i64::from(limits::SEGMENT_SECONDS);
        let most = match self {
            Value::Rest | Value::Change => limit.min((2 * now).max(now + MOST_SHORT)),
            _ => limit,
        };
        most.max(now)
    }
}

/// The length of a class in seconds; a plan has no other times than whole seconds.
pub(super) fn length_s(plan: &Plan) -> i64 {
    let mut end_ms = 0;
    unroll(plan, &mut |segment| {
        end_ms = segment.end_ms;
        true
    });
    end_ms / 1000
}

/// Every number that a value is made of, to be read or moved.
pub(super) fn numbers<'p>(
    plan: &'p mut Plan,
    block: usize,
    value: Value,
    demos: &[usize],
) -> Vec<&'p mut u32> {
    if value == Value::Demo {
        let moves = plan.moves.iter_mut().enumerate();
        return moves
            .filter(|(at, _)| demos.contains(at))
            .map(|(_, known)| &mut known.demo)
            .collect();
    }
    let Some(block) = plan.blocks.get_mut(block) else {
        return Vec::new();
    };
    match value {
        Value::After => vec![&mut block.after],
        Value::Break => block.pause.0.iter_mut().collect(),
        Value::Rest => block.rest.0.iter_mut().collect(),
        Value::Change => vec![&mut block.change],
        Value::Work => {
            let Block { kind, work, .. } = block;
            let own = match kind {
                BlockKind::Flow { steps: list }
                | BlockKind::Rounds { moves: list, .. }
                | BlockKind::Sets { moves: list, .. }
                | BlockKind::Window { tasks: list, .. } => core::slice::from_mut(list),
                BlockKind::Ladder { rungs, .. } => rungs.as_mut_slice(),
                BlockKind::Interlude { .. } => &mut [],
            };
            let own = own.iter_mut().flatten().flat_map(|entry| &mut entry.work.0);
            work.0.iter_mut().chain(own).collect()
        }
        Value::Rounds => match &mut block.kind {
            BlockKind::Rounds { rounds: n, .. }
            | BlockKind::Sets { sets: n, .. }
            | BlockKind::Window { times: n, .. } => vec![n],
            _ => Vec::new(),
        },
        Value::Interlude => match &mut block.kind {
            BlockKind::Interlude { lasts, .. } => vec![lasts],
            _ => Vec::new(),
        },
        Value::Demo => Vec::new(),
    }
}

/// Moves a value. What is 0 stays 0: no gap appears where the coach wrote none.
pub(super) fn shift(plan: &mut Plan, block: usize, value: Value, by: i64, demos: &[usize]) {
    for number in numbers(plan, block, value, demos) {
        if *number > 0 {
            *number = u32::try_from(i64::from(*number) + by).unwrap_or(0);
        }
    }
}
