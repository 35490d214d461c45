//! A plan fitted to its slot: the few values that have to move so that the class lasts exactly as
//! long as it may, to the second.
//!
//! The coach says what may move. What comes out changes the fewest values; of all ways to do that
//! the one whose largest change is smallest; of those the one that changes the least in all. It
//! is solved exactly, not approached: `solve` says why the best can be built up part by part.
//!
//! A value moves as a whole: a block's rests all by the same number of seconds, its work with the
//! own work of its entries, its demos together; rounds by whole rounds, and where sides alternate
//! to an even number only. What is 0 stays 0; `ready` never moves, nor does a break after the last
//! block, in which nobody waits for anything.

mod measure;
mod solve;

use crate::plan::unroll::unroll;
use crate::plan::{Block, BlockKind, Plan, limits};

/// The shortest that work may become, in seconds.
pub const LEAST_WORK: u32 = 10;
/// The shortest that a rest, a break, a change of sides or a demo may become, in seconds.
pub const LEAST_GAP: u32 = 5;
/// The shortest that an interlude may become, in seconds: someone has to get to their water and back.
pub const LEAST_INTERLUDE: u32 = 20;
/// The shortest that a break before a block may become whose kit has to be fetched, in seconds.
pub const LEAST_FETCH: u32 = 10;
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
    fn least(self) -> u32 {
        match self {
            Value::Work => LEAST_WORK,
            Value::Interlude => LEAST_INTERLUDE,
            Value::Rounds => 1,
            Value::After | Value::Break | Value::Rest | Value::Change | Value::Demo => LEAST_GAP,
        }
    }

    /// Seconds that a number of it may shrink to: with less than half its work it is another class.
    fn least_of(self, now: i64) -> i64 {
        match self {
            Value::Work => (now + 1) / 2,
            _ => 0,
        }
    }

    /// Seconds that a number of it may grow to, as far as the format goes: a superset with half a
    /// minute between its moves is none.
    fn most(self, now: i64) -> i64 {
        let limit = i64::from(limits::SEGMENT_SECONDS);
        let most = match self {
            Value::Rest | Value::Change => limit.min((2 * now).max(now + MOST_SHORT)),
            _ => limit,
        };
        most.max(now)
    }
}

/// A value that moved.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Change {
    /// The block, by its place.
    pub block: usize,
    /// Which of its values.
    pub value: Value,
    /// As it was: the list as the block has it, or the one number. Demos: those of the moves that
    /// are first shown in the block, in order. Work: the block's own list, or where it has none
    /// that of the first entry with one; the lists of the entries moved by as much.
    pub from: Vec<u32>,
    /// As it is now, in the same order.
    pub to: Vec<u32>,
    /// What it adds to the class, in milliseconds; negative: takes away. Where changes of a block
    /// bear on each other (more rounds of longer work) each counts what it adds to the ones
    /// before it in the list, so that together they make up the whole difference.
    pub ms: i64,
}

/// A plan that fits.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Fitted {
    /// The plan with the changes made, and nothing else touched.
    pub plan: Plan,
    /// What changed, in the order of the class.
    pub changes: Vec<Change>,
}

/// The slot can't be met.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Miss {
    /// The longest class below the slot that can be had, in milliseconds.
    pub below: Option<i64>,
    /// The shortest class above the slot that can be had, in milliseconds.
    pub above: Option<i64>,
    /// The plan for the nearer of the two; the shorter where both are as near.
    pub nearest: Option<Box<Fitted>>,
    /// The fewest kinds that would have to move as well for the slot to be met; of several
    /// sets as small, the first in the order of [`Kind::ALL`]. `None`: nothing helps.
    pub would: Option<Vec<Kind>>,
}

/// Makes the class last exactly its slot, in seconds.
///
/// A value moves by multiples of [`May::step`] and at most by [`May::most`]. None of its numbers
/// falls below its least ([`LEAST_WORK`] and so on; one that is lower already does not sink
/// further) or goes beyond the format's limit, no work becomes shorter than half of it, that of a
/// warm-up or a cool-down not shorter at all, no rest and no change of sides grows to more than
/// twice what it is ([`MOST_SHORT`] more where that is longer), and no call inside the work that is
/// said now falls out of it. The change of a number of rounds counts, as the size of a change, with the seconds
/// that it adds to the class as written.
///
/// A plan that is not valid has no length to be trusted, and is not fitted: nothing comes near.
///
/// ```
/// use rungbook::fit::{May, Value, fit};
/// use rungbook::plan::Plan;
/// let plan = Plan::from_json(r#"{
///     "format": "rungbook-plan", "version": 1, "title": "Quay circuit", "ready": 10,
///     "moves": [ { "id": "squat", "name": "Squat" }, { "id": "push", "name": "Push-up" } ],
///     "blocks": [ { "kind": "rounds", "moves": ["squat", "push"], "rounds": 3,
///                   "work": 30, "rest": 10, "break": 40 } ]
/// }"#)?;
/// let fitted = fit(&plan, 320, &May::default()).unwrap(); // it lasts 300 s
/// let [change] = fitted.changes.try_into().unwrap();
/// assert_eq!((change.value, change.from, change.to), (Value::Break, vec![40], vec![50]));
/// assert_eq!(change.ms, 20_000);
/// # Ok::<(), rungbook::plan::PlanError>(())
/// ```
///
/// # Errors
/// When no way of moving what may move meets the slot: how near it comes, and what would help.
pub fn fit(plan: &Plan, slot_s: u32, may: &May) -> Result<Fitted, Miss> {
    if plan.validate().is_err() {
        return Err(Miss {
            below: None,
            above: None,
            nearest: None,
            would: None,
        });
    }
    let slot = i64::from(slot_s);
    let class = measure::Class::of(plan, may);
    let items = class.items(&|kind| may.allows(kind));
    let target = slot - class.seconds;
    let longest = limits::CLASS_MS / 1000;
    let reach = solve::reach(&items);
    let in_reach = slot <= longest && reach.has(target);
    if in_reach {
        let fitted = carry_out(plan, &class, &items, target);
        debug_assert!(
            length_s(&fitted.plan) == slot,
            "the parts of a class were measured wrongly"
        );
        // A plan at the very edge of its bytes can be pushed over it by a digit.
        if fitted.plan.validate().is_ok() {
            return Ok(fitted);
        }
    }
    let ms = |sum: i64| (class.seconds + sum) * 1000;
    let below = reach.below(target.min(longest - class.seconds + 1));
    let above = reach
        .above(target)
        .filter(|sum| class.seconds + sum <= longest);
    let near = match (below, above) {
        (Some(low), Some(high)) if high - target < target - low => Some(high),
        (low, high) => low.or(high),
    };
    Err(Miss {
        below: below.map(ms),
        above: above.map(ms),
        nearest: near.map(|sum| Box::new(carry_out(plan, &class, &items, sum))),
        would: if in_reach || slot > longest {
            None
        } else {
            would(plan, slot, may)
        },
    })
}

/// Makes the changes that add a number of seconds, which must be within reach.
fn carry_out(plan: &Plan, class: &measure::Class, items: &[solve::Item], sum: i64) -> Fitted {
    let mut fitted = Fitted {
        plan: plan.clone(),
        changes: Vec::new(),
    };
    let mut moves = solve::solve(items, sum);
    moves.sort_unstable_by_key(|one| (one.group, one.value));
    let mut length = class.seconds;
    for one in moves {
        // The break after a block belongs with the block that follows: see `measure`.
        let block = match one.value {
            Value::After => one.group.saturating_sub(1),
            _ => one.group,
        };
        let demos = class.demos.get(block).map_or(&[][..], Vec::as_slice);
        let from = shown(&fitted.plan, block, one.value, demos);
        shift(&mut fitted.plan, block, one.value, one.by, demos);
        let now = length_s(&fitted.plan);
        fitted.changes.push(Change {
            block,
            value: one.value,
            from,
            to: shown(&fitted.plan, block, one.value, demos),
            ms: (now - length) * 1000,
        });
        length = now;
    }
    fitted
}

/// The smallest set of kinds that are not allowed yet and would bring the slot within reach.
fn would(plan: &Plan, slot: i64, may: &May) -> Option<Vec<Kind>> {
    let everything = Kind::ALL.iter().fold(may.clone(), |all, one| all.and(*one));
    let class = measure::Class::of(plan, &everything);
    let others: Vec<Kind> = Kind::ALL
        .into_iter()
        .filter(|kind| !may.allows(*kind))
        .collect();
    let helps = |more: &[Kind]| {
        let items = class.items(&|kind| may.allows(kind) || more.contains(&kind));
        solve::reach(&items).has(slot - class.seconds)
    };
    // What may move can always stay, so that where all of them don't help, none of the sets does.
    if others.is_empty() || !helps(&others) {
        return None;
    }
    let mut sets: Vec<Vec<Kind>> = (1u32..1 << others.len())
        .map(|mask| {
            let taken = others.iter().enumerate();
            taken
                .filter(|(i, _)| mask >> i & 1 == 1)
                .map(|(_, kind)| *kind)
                .collect()
        })
        .collect();
    sets.sort_by(|a, b| a.len().cmp(&b.len()).then_with(|| a.cmp(b)));
    sets.into_iter().find(|set| helps(set))
}

/// The length of a class in seconds; a plan has no other times than whole seconds.
fn length_s(plan: &Plan) -> i64 {
    let mut end_ms = 0;
    unroll(plan, &mut |segment| {
        end_ms = segment.end_ms;
        true
    });
    end_ms / 1000
}

/// Every number that a value is made of, to be read or moved.
fn numbers<'p>(
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
fn shift(plan: &mut Plan, block: usize, value: Value, by: i64, demos: &[usize]) {
    for number in numbers(plan, block, value, demos) {
        if *number > 0 {
            *number = u32::try_from(i64::from(*number) + by).unwrap_or(0);
        }
    }
}

/// A value as a [`Change`] shows it.
fn shown(plan: &Plan, at: usize, value: Value, demos: &[usize]) -> Vec<u32> {
    let Some(block) = plan.blocks.get(at) else {
        return Vec::new();
    };
    match value {
        Value::After => vec![block.after],
        Value::Break => block.pause.0.clone(),
        Value::Rest => block.rest.0.clone(),
        Value::Change => vec![block.change],
        Value::Work => {
            let own = block.entries().map(|entry| &entry.work);
            let mut lists = core::iter::once(&block.work).chain(own);
            lists
                .find(|list| !list.is_empty())
                .map_or_else(Vec::new, |list| list.0.clone())
        }
        Value::Demo => demos
            .iter()
            .filter_map(|of| plan.moves.get(*of))
            .map(|known| known.demo)
            .collect(),
        Value::Rounds => match block.kind {
            BlockKind::Rounds { rounds: n, .. }
            | BlockKind::Sets { sets: n, .. }
            | BlockKind::Window { times: n, .. } => vec![n],
            _ => Vec::new(),
        },
        Value::Interlude => match block.kind {
            BlockKind::Interlude { lasts, .. } => vec![lasts],
            _ => Vec::new(),
        },
    }
}

#[cfg(test)]
mod tests;
