//! What each value adds to the class when it moves, measured by laying the plan out.
//!
//! The class falls into groups whose lengths add up: a block with the break before it, which is
//! the `after` of the block before. They belong together because demos take the end of the gap
//! before them: a gap of g seconds with demos of d seconds lasts max(g, d). The last group is the
//! `after` of the last block alone, which stays. Which moves a block shows first does not depend on
//! any value.
//!
//! Within a group, seconds are linear in each value at a given number of rounds, but for the gaps
//! with demos. Each such gap is governed by one value (after, break or rest) and by the demos; how
//! much longer it makes the group does not depend on the number of rounds, since a block shows
//! its moves before its first round, set or time, or has no number of rounds. So what a value adds
//! is its linear part at that number of rounds and, where there are demos, the part of the demos,
//! each measured for itself.

use super::solve::{Axis, Case, Item, Way};
use super::value::{Kind, MOST_STEPS, May, Value, length_s, numbers, shift};
use crate::plan::unroll::{SegmentKind, own_or, unroll};
use crate::plan::{Block, BlockKind, Move, Part, Plan, Sides, limits};
use crate::timeline::{LEAST_FETCH, Timeline, Ways, kit_to_fetch};

/// A class, measured.
pub(super) struct Class {
    /// How long it lasts as it is.
    pub seconds: i64,
    /// The moves that each block shows first, in order.
    pub demos: Vec<Vec<usize>>,
    groups: Vec<Group>,
}

/// A block with the break before it, measured.
struct Group {
    rounds: Vec<Rounds>,
    demos: Vec<Demos>,
    axes: Vec<Line>,
}

/// A number of rounds: by how much it differs, what that adds, and what one second of each axis
/// adds at this number.
struct Rounds {
    by: i64,
    adds: i64,
    per_second: Vec<i64>,
}

/// By how much the demos differ, what that adds, and what demos add to each way of each axis.
struct Demos {
    by: i64,
    adds: i64,
    extra: Vec<Vec<i64>>,
}

/// A value of seconds with the ways in which it may move.
struct Line {
    value: Value,
    by: Vec<i64>,
}

/// A plan of one group, which is moved about and measured.
struct Bench {
    plan: Plan,
    /// Places in `plan` of the moves that the block shows first, with their seconds.
    demos: Vec<(usize, u32)>,
    shown: Vec<usize>,
}

/// The places in a bench's plan.
const BEFORE: usize = 0;
const BLOCK: usize = 1;

impl Bench {
    fn new(plan: &Plan, group: usize, shown: &[usize]) -> Bench {
        // In front stands an interlude of no length: it takes the ready time of 0 and leaves the
        // break after it. Before the first block there is none, since ready gives way to nothing.
        let mut before = Block::new(BlockKind::Interlude {
            lasts: 0,
            say: String::new(),
        });
        if let Some(block) = group.checked_sub(1).and_then(|at| plan.blocks.get(at)) {
            before.after = block.after;
        }
        let mut bench = Bench {
            plan: Plan {
                ready: 0,
                blocks: vec![before],
                ..Plan::default()
            },
            demos: Vec::new(),
            shown: Vec::new(),
        };
        let Some(block) = plan.blocks.get(group) else {
            return bench;
        };
        for entry in block.entries() {
            let known = plan.moves.iter().position(|one| one.id == entry.of);
            let Some(at) = known.filter(|_| bench.plan.move_named(&entry.of).is_none()) else {
                continue;
            };
            let of = &plan.moves[at];
            if shown.contains(&at) {
                bench.demos.push((bench.plan.moves.len(), of.demo));
                bench.shown.push(bench.plan.moves.len());
            }
            bench.plan.moves.push(Move {
                id: of.id.clone(),
                sided: of.sided,
                ..Move::default()
            });
        }
        bench.plan.blocks.push(Block {
            after: 0,
            ..block.clone()
        });
        bench
    }

    /// The demos, moved by so many seconds; `None`: there are none.
    fn set_demos(&mut self, by: Option<i64>) {
        for (at, seconds) in &self.demos {
            if let Some(known) = self.plan.moves.get_mut(*at) {
                known.demo =
                    by.map_or(0, |by| u32::try_from(i64::from(*seconds) + by).unwrap_or(0));
            }
        }
    }

    fn place(value: Value) -> usize {
        if value == Value::After { BEFORE } else { BLOCK }
    }

    fn seconds(&self) -> i64 {
        length_s(&self.plan)
    }

    /// How long it lasts with a value moved.
    fn seconds_with(&mut self, value: Value, by: i64) -> i64 {
        // A demo has its own way to be set: one that is not there must not be moved.
        shift(&mut self.plan, Bench::place(value), value, by, &[]);
        let seconds = self.seconds();
        shift(&mut self.plan, Bench::place(value), value, -by, &[]);
        seconds
    }
}

impl Class {
    /// Measures what may move.
    pub fn of(plan: &Plan, may: &May) -> Class {
        let mut demos = vec![Vec::new(); plan.blocks.len()];
        unroll(plan, &mut |segment| {
            let shown = demos.get_mut(segment.block);
            if let (SegmentKind::Demo, Some(of), Some(shown)) =
                (segment.kind, segment.move_at, shown)
            {
                shown.push(of);
            }
            true
        });
        let more_rounds = room_for_rounds(plan, may, &demos);
        let fetches = fetches(plan);
        let groups = (0..=plan.blocks.len())
            .map(|group| {
                let shown = demos.get(group).map_or(&[][..], Vec::as_slice);
                let fetches = fetches.get(group).copied().unwrap_or_default();
                measure(plan, group, shown, may, more_rounds, fetches)
            })
            .collect();
        Class {
            seconds: length_s(plan),
            demos,
            groups,
        }
    }

    /// What is to be chosen, where some kinds may move.
    pub fn items(&self, allows: &dyn Fn(Kind) -> bool) -> Vec<Item> {
        let mut items = Vec::new();
        for (at, group) in self.groups.iter().enumerate() {
            let mut cases = Vec::new();
            for rounds in &group.rounds {
                for demos in &group.demos {
                    let out = |by: i64, kind| by != 0 && !allows(kind);
                    if !out(rounds.by, Kind::Rounds) && !out(demos.by, Kind::Demos) {
                        cases.push(group.case(rounds, demos, allows));
                    }
                }
            }
            match cases.as_mut_slice() {
                // Nothing binds the values to each other: each is an item of its own.
                [one] => items.extend(core::mem::take(&mut one.axes).into_iter().map(|axis| {
                    let cases = vec![Case {
                        axes: vec![axis],
                        ..Case::default()
                    }];
                    Item { group: at, cases }
                })),
                _ => items.push(Item { group: at, cases }),
            }
        }
        items
    }
}

impl Group {
    fn case(&self, rounds: &Rounds, demos: &Demos, allows: &dyn Fn(Kind) -> bool) -> Case {
        let mut moved = Vec::new();
        if rounds.by != 0 {
            moved.push((Value::Rounds, rounds.by, rounds.adds.unsigned_abs() as u32));
        }
        if demos.by != 0 {
            moved.push((Value::Demo, demos.by, demos.by.unsigned_abs() as u32));
        }
        let lines = self.axes.iter().zip(&rounds.per_second).zip(&demos.extra);
        let axes = lines
            .filter(|((line, _), _)| allows(line.value.kind()))
            .map(|((line, per_second), extra)| Axis {
                value: line.value,
                ways: line
                    .by
                    .iter()
                    .zip(extra)
                    .map(|(by, extra)| Way {
                        by: *by,
                        adds: by * per_second + extra,
                    })
                    // A change that changes nothing is never among the fewest.
                    .filter(|way| way.adds != 0)
                    .collect(),
            })
            .filter(|axis| !axis.ways.is_empty())
            .collect();
        Case {
            adds: rounds.adds + demos.adds,
            moved,
            axes,
        }
    }
}

/// For each block, whether its kit has to be fetched before it.
fn fetches(plan: &Plan) -> Vec<bool> {
    let timeline = Timeline::new(plan);
    let mut fetches = vec![false; plan.blocks.len()];
    for (at, segment) in timeline.segments().iter().enumerate() {
        if segment.is_work() && !kit_to_fetch(&timeline, &Ways::new(), at).is_empty() {
            fetches[segment.block] = true;
        }
    }
    fetches
}

fn measure(
    plan: &Plan,
    group: usize,
    shown: &[usize],
    may: &May,
    more_rounds: bool,
    fetches: bool,
) -> Group {
    let mut bench = Bench::new(plan, group, shown);
    let locked = may.locked.contains(&group);
    let last = group == plan.blocks.len();
    let before_locked = group
        .checked_sub(1)
        .is_none_or(|before| last || may.locked.contains(&before));
    let mut axes = Vec::new();
    for value in [
        Value::After,
        Value::Interlude,
        Value::Break,
        Value::Rest,
        Value::Change,
        Value::Work,
    ] {
        let locked = if value == Value::After {
            before_locked
        } else {
            locked
        };
        if locked || !may.allows(value.kind()) {
            continue;
        }
        let least = match value {
            Value::After if fetches => LEAST_FETCH,
            _ => value.least(),
        };
        let by = ways(&mut bench, value, may, least);
        if !by.is_empty() {
            axes.push(Line { value, by });
        }
    }
    let first = numbers(&mut bench.plan, BLOCK, Value::Rounds, &[])
        .first()
        .map_or(0, |n| i64::from(**n));

    // Rounds, with no demo in the way.
    bench.set_demos(None);
    let as_written = bench.seconds();
    let mut steps = vec![0];
    if may.rounds && !locked && first > 0 {
        steps.extend(round_steps(plan, &bench, first as u32, may, more_rounds));
    }
    let mut rounds = Vec::new();
    for by in steps {
        shift(&mut bench.plan, BLOCK, Value::Rounds, by, &[]);
        let base = bench.seconds();
        let per_second = axes
            .iter()
            .map(|line| bench.seconds_with(line.value, 1) - base)
            .collect();
        shift(&mut bench.plan, BLOCK, Value::Rounds, -by, &[]);
        rounds.push(Rounds {
            by,
            adds: base - as_written,
            per_second,
        });
    }

    // Demos. How many rounds there are makes no difference to them: one is measured quickest.
    if first > 0 {
        shift(&mut bench.plan, BLOCK, Value::Rounds, 1 - first, &[]);
    }
    let without = bench.seconds();
    let bare: Vec<Vec<i64>> = axes
        .iter()
        .map(|line| {
            let by = line.by.iter();
            by.map(|by| bench.seconds_with(line.value, *by)).collect()
        })
        .collect();
    bench.set_demos(Some(0));
    let as_shown = bench.seconds();
    let mut steps = vec![0];
    if may.demos && !locked && !shown.is_empty() {
        steps.extend(ways(&mut bench, Value::Demo, may, Value::Demo.least()));
    }
    let mut demos = Vec::new();
    for by in steps {
        bench.set_demos(Some(by));
        let with = bench.seconds();
        let extra = axes
            .iter()
            .zip(&bare)
            .map(|(line, bare)| {
                let gives_way = matches!(line.value, Value::After | Value::Break | Value::Rest);
                let each = line.by.iter().zip(bare);
                each.map(|(by, bare)| {
                    if shown.is_empty() || !gives_way {
                        return 0;
                    }
                    (bench.seconds_with(line.value, *by) - bare) - (with - without)
                })
                .collect()
            })
            .collect();
        demos.push(Demos {
            by,
            adds: with - as_shown,
            extra,
        });
    }
    Group {
        rounds,
        demos,
        axes,
    }
}

/// By how many seconds a value may move; nothing where it is not there.
fn ways(bench: &mut Bench, value: Value, may: &May, least: u32) -> Vec<i64> {
    let step = may.step.clamp(1, limits::SEGMENT_SECONDS);
    let steps = i64::from((may.most / step).min(MOST_STEPS));
    let step = i64::from(step);
    let shown = bench.shown.clone();
    let there: Vec<i64> = numbers(&mut bench.plan, Bench::place(value), value, &shown)
        .into_iter()
        .filter(|number| **number > 0)
        .map(|number| i64::from(*number))
        .collect();
    if there.is_empty() {
        return Vec::new();
    }
    let least = i64::from(least);
    // A warm-up and a cool-down keep what they have.
    let kept = bench.plan.blocks.get(BLOCK).is_some_and(|block| {
        value == Value::Work && matches!(block.part, Part::WarmUp | Part::CoolDown)
    });
    let call = match value {
        Value::Work => bench.plan.blocks.get(BLOCK).and_then(calls_need),
        _ => None,
    };
    (1..=steps)
        .flat_map(|k| [-k * step, k * step])
        .filter(|by| {
            there.iter().all(|number| {
                let to = number + by;
                let lowest = if kept {
                    *number
                } else {
                    value.least_of(*number).max(least).min(*number)
                };
                (lowest..=value.most(*number)).contains(&to)
            }) && call.is_none_or(|call| *by >= call)
        })
        .collect()
}

/// By how little work may move for every call inside it that is said now to be said still.
fn calls_need(block: &Block) -> Option<i64> {
    let one_round = matches!(block.kind, BlockKind::Flow { .. });
    let mut need = None;
    for entry in block.entries() {
        let lists = &own_or(&entry.work, &block.work).0;
        let used = if one_round { 1 } else { lists.len() };
        for seconds in lists.iter().take(used) {
            for mark in entry.marks.iter().filter(|mark| mark.at < *seconds) {
                let by = i64::from(mark.at) + 1 - i64::from(*seconds);
                need = need.max(Some(by));
            }
        }
    }
    need
}

/// By how many rounds a number of them may move.
fn round_steps(plan: &Plan, bench: &Bench, now: u32, may: &May, more: bool) -> Vec<i64> {
    let Some(block) = bench.plan.blocks.get(BLOCK) else {
        return Vec::new();
    };
    let by = may.most_rounds.min(limits::ROUNDS);
    let lowest = now.saturating_sub(by).max(1);
    let highest = if more {
        (now + by).min(limits::ROUNDS)
    } else {
        now
    };
    (lowest..=highest)
        .filter(|rounds| *rounds != now && sides_equal(plan, block, now, *rounds))
        .map(|rounds| i64::from(rounds) - i64::from(now))
        .collect()
}

/// Whether a number of rounds gives both sides the same: an even number where sides alternate, and
/// where the work goes by a list, one at which the sides don't get apart that are equal now.
fn sides_equal(plan: &Plan, block: &Block, now: u32, then: u32) -> bool {
    let alternates = |entry: &&crate::plan::Entry| {
        block.has_sides()
            && entry.side.is_none()
            && block.sides_of(entry) == Sides::Alternate
            && plan.move_named(&entry.of).is_some_and(|of| of.sided)
    };
    block.entries().filter(alternates).all(|entry| {
        let work = own_or(&entry.work, &block.work);
        let apart = |rounds: u32| {
            (1..=rounds).fold(0i64, |sum, turn| {
                let seconds = i64::from(work.at(turn));
                if turn % 2 == 1 {
                    sum + seconds
                } else {
                    sum - seconds
                }
            })
        };
        then.is_multiple_of(2) && (apart(then) == 0 || apart(now) != 0)
    })
}

/// Whether the class has room for more rounds everywhere within the format's number of segments.
/// A demo that gets shorter can bring back a gap that it had taken whole: hence one for each.
fn room_for_rounds(plan: &Plan, may: &May, demos: &[Vec<usize>]) -> bool {
    if !may.rounds {
        return false;
    }
    let mut most = plan.clone();
    for block in 0..most.blocks.len() {
        let more = i64::from(may.most_rounds.min(limits::ROUNDS));
        shift(&mut most, block, Value::Rounds, more, &[]);
    }
    let mut segments = demos.iter().map(Vec::len).sum::<usize>();
    unroll(&most, &mut |_| {
        segments += 1;
        segments <= limits::SEGMENTS
    });
    segments <= limits::SEGMENTS
}
