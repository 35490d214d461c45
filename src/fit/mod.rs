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
mod value;

pub use value::{Kind, LEAST_GAP, LEAST_INTERLUDE, LEAST_WORK, MOST_SHORT, MOST_STEPS, May, Value};

use crate::plan::{BlockKind, Plan, limits};
use value::{length_s, shift};

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
