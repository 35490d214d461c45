//! Fitting a plan to its slot against trying everything, on small plans: whether the slot can be
//! met, and with how few and how small changes. The rules for what may move are written here once
//! more, from their description, apart from the code under test.
#![cfg(not(target_arch = "wasm32"))]
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, missing_docs)]

mod common;

use std::collections::BTreeMap;
use std::time::Instant;

use proptest::collection::vec;
use proptest::option::of;
use proptest::prelude::*;
use proptest::sample::select;

use common::{cases, plan_file};
use rungbook::fit::{Change, Fitted, Kind, May, Value, fit};
use rungbook::plan::{
    Block, BlockKind, ByRound, Direction, Entry, Hand, Kit, Mark, Move, Part, Plan, Sides,
};
use rungbook::timeline::{SegmentKind, Timeline};

fn seconds(plan: &Plan) -> i64 {
    Timeline::new(plan).total_ms() / 1000
}

fn entries_mut(block: &mut Block) -> Vec<&mut Entry> {
    match &mut block.kind {
        BlockKind::Flow { steps: list }
        | BlockKind::Rounds { moves: list, .. }
        | BlockKind::Sets { moves: list, .. }
        | BlockKind::Window { tasks: list, .. } => list.iter_mut().collect(),
        BlockKind::Ladder { rungs, .. } => rungs.iter_mut().flatten().collect(),
        BlockKind::Interlude { .. } => Vec::new(),
    }
}

fn rounds_mut(block: &mut Block) -> Option<&mut u32> {
    match &mut block.kind {
        BlockKind::Rounds { rounds: n, .. }
        | BlockKind::Sets { sets: n, .. }
        | BlockKind::Window { times: n, .. } => Some(n),
        _ => None,
    }
}

/// The moves that each block shows first.
fn shown(plan: &Plan) -> Vec<Vec<usize>> {
    let mut shown = vec![Vec::new(); plan.blocks.len()];
    for segment in Timeline::new(plan).segments() {
        if segment.kind == SegmentKind::Demo {
            shown[segment.block].push(segment.move_at.unwrap());
        }
    }
    shown
}

/// Every number of a value.
fn numbers<'p>(plan: &'p mut Plan, at: usize, value: Value, demos: &[usize]) -> Vec<&'p mut u32> {
    let block = &mut plan.blocks[at];
    match value {
        Value::After => vec![&mut block.after],
        Value::Break => block.pause.0.iter_mut().collect(),
        Value::Rest => block.rest.0.iter_mut().collect(),
        Value::Change => vec![&mut block.change],
        Value::Rounds => rounds_mut(block).into_iter().collect(),
        Value::Interlude => match &mut block.kind {
            BlockKind::Interlude { lasts, .. } => vec![lasts],
            _ => vec![],
        },
        Value::Demo => {
            let moves = plan.moves.iter_mut().enumerate();
            let first = moves.filter(|(i, _)| demos.contains(i));
            first.map(|(_, known)| &mut known.demo).collect()
        }
        Value::Work => {
            let (list, kind) = (&mut block.work.0, &mut block.kind);
            let lists = match kind {
                BlockKind::Ladder { rungs, .. } => rungs.iter_mut().flatten().collect(),
                BlockKind::Flow { steps: own }
                | BlockKind::Rounds { moves: own, .. }
                | BlockKind::Sets { moves: own, .. }
                | BlockKind::Window { tasks: own, .. } => own.iter_mut().collect(),
                BlockKind::Interlude { .. } => Vec::<&mut Entry>::new(),
            };
            let own = lists.into_iter().flat_map(|entry| entry.work.0.iter_mut());
            list.iter_mut().chain(own).collect()
        }
    }
}

fn moved(plan: &Plan, at: usize, value: Value, by: i64, demos: &[usize]) -> Plan {
    let mut plan = plan.clone();
    for number in numbers(&mut plan, at, value, demos) {
        if *number > 0 {
            *number = u32::try_from(i64::from(*number) + by).unwrap();
        }
    }
    plan
}

const VALUES: [(Value, Kind, i64); 8] = [
    (Value::After, Kind::Breaks, 5),
    (Value::Rounds, Kind::Rounds, 1),
    (Value::Demo, Kind::Demos, 5),
    (Value::Interlude, Kind::Breaks, 20),
    (Value::Break, Kind::Breaks, 5),
    (Value::Rest, Kind::Rests, 5),
    (Value::Change, Kind::Rests, 5),
    (Value::Work, Kind::Work, 10),
];

/// Right and left work of each entry with alternating sides in a block, in ms.
fn by_side(plan: &Plan, at: usize) -> BTreeMap<(usize, usize), (i64, i64)> {
    let mut sums = BTreeMap::new();
    let timeline = Timeline::new(plan);
    for segment in timeline.segments().iter().filter(|s| s.block == at) {
        let Some(place) = segment.entry_at.filter(|_| segment.is_work()) else {
            continue;
        };
        let sum: &mut (i64, i64) = sums.entry(place).or_default();
        match segment.hand_at(segment.start_ms) {
            Some(Hand::Right) => sum.0 += segment.len_ms(),
            Some(Hand::Left) => sum.1 += segment.len_ms(),
            None => {}
        }
    }
    let block = &plan.blocks[at];
    sums.retain(|(list, i), _| {
        let entry = &block.lists()[*list][*i];
        plan.move_named(&entry.of).unwrap().sided
            && entry.side.is_none()
            && block.has_sides()
            && entry.sides.unwrap_or(block.sides) == Sides::Alternate
    });
    sums
}

fn may_move(plan: &Plan, at: usize, value: Value, by: i64, least: i64, demos: &[usize]) -> bool {
    let limit = if value == Value::Rounds { 99 } else { 3_600 };
    let mut copy = plan.clone();
    let there: Vec<i64> = numbers(&mut copy, at, value, demos)
        .into_iter()
        .map(|n| i64::from(*n))
        .filter(|n| *n > 0)
        .collect();
    let short = matches!(value, Value::Rest | Value::Change);
    let most = |n: i64| {
        if short {
            limit.min((2 * n).max(n + 15))
        } else {
            limit
        }
    };
    let within = |n: &i64| n + by >= least.min(*n) && n + by <= most(*n);
    if there.is_empty() || !there.iter().all(within) {
        return false;
    }
    // Work keeps its half, and that of a warm-up or a cool-down keeps all.
    let part = plan.blocks[at].part;
    let all = matches!(part, Part::WarmUp | Part::CoolDown);
    if value == Value::Work && by < 0 && (all || !there.iter().all(|n| 2 * (n + by) >= *n)) {
        return false;
    }
    if value == Value::Rounds {
        let then = moved(plan, at, value, by, demos);
        let (before, after) = (by_side(plan, at), by_side(&then, at));
        return before.is_empty()
            || (there[0] + by) % 2 == 0
                && before.iter().all(|(place, (right, left))| {
                    right != left || after[place].0 == after[place].1
                });
    }
    if value == Value::Work {
        let flow = matches!(plan.blocks[at].kind, BlockKind::Flow { .. });
        let block = copy.blocks[at].work.clone();
        for entry in entries_mut(&mut copy.blocks[at]) {
            let own = if entry.work.is_empty() {
                &block
            } else {
                &entry.work
            };
            let used = &own.0[..if flow { 1 } else { own.0.len() }];
            let kept = |at: i64| {
                used.iter()
                    .all(|n| at >= i64::from(*n) || at < i64::from(*n) + by)
            };
            if !entry.marks.iter().all(|mark| kept(i64::from(mark.at))) {
                return false;
            }
        }
    }
    true
}

/// Whether the break after a block is for fetching what the next one needs.
fn fetches(plan: &Plan, at: usize) -> bool {
    let with_kit = |block: &Block| {
        let mut entries = block.entries();
        entries.any(|entry| !plan.move_named(&entry.of).unwrap().kit.is_empty())
    };
    let works = |block: &&Block| !matches!(block.kind, BlockKind::Interlude { .. });
    let before = plan.blocks[..=at].iter().rev().find(works);
    let next = plan.blocks.get(at + 1);
    next.is_some_and(with_kit) && !before.is_some_and(with_kit)
}

/// A value with the ways in which it may move, each with its size.
struct Choice {
    at: usize,
    value: Value,
    ways: Vec<(i64, i64)>,
}

fn choices(plan: &Plan, may: &May) -> Vec<Choice> {
    let demos = shown(plan);
    let mut choices = Vec::new();
    for at in (0..plan.blocks.len()).filter(|at| !may.locked.contains(at)) {
        for (value, kind, least) in VALUES.into_iter().filter(|one| may.allows(one.1)) {
            assert_eq!(value.kind(), kind);
            let least = match value {
                // Nobody waits for anything after the last block.
                Value::After if at + 1 == plan.blocks.len() => continue,
                Value::After if fetches(plan, at) => 10,
                _ => least,
            };
            let all: Vec<i64> = if value == Value::Rounds {
                (1..=i64::from(may.most_rounds)).collect()
            } else {
                let step = i64::from(may.step);
                (1..=i64::from(may.most) / step).map(|k| k * step).collect()
            };
            let ways: Vec<_> = all
                .into_iter()
                .flat_map(|by| [by, -by])
                .filter(|by| may_move(plan, at, value, *by, least, &demos[at]))
                .map(|by| match value {
                    Value::Rounds => {
                        let then = moved(plan, at, value, by, &demos[at]);
                        (by, (seconds(&then) - seconds(plan)).abs())
                    }
                    _ => (by, by.abs()),
                })
                .collect();
            if !ways.is_empty() {
                choices.push(Choice { at, value, ways });
            }
        }
    }
    choices
}

fn ways_in_all(choices: &[Choice]) -> usize {
    choices
        .iter()
        .fold(1, |all, one| all.saturating_mul(one.ways.len() + 1))
}

/// Changed values, the largest size, the sum of sizes.
type Cost = (usize, i64, i64);

/// The best cost for every length in seconds that can be had.
fn everything(plan: &Plan, may: &May) -> BTreeMap<i64, Cost> {
    fn go(
        plan: &Plan,
        left: &[Choice],
        demos: &[Vec<usize>],
        (count, largest, sum): Cost,
        best: &mut BTreeMap<i64, Cost>,
    ) {
        let Some((one, left)) = left.split_first() else {
            let cost = (count, largest, sum);
            let known = best.entry(seconds(plan)).or_insert(cost);
            *known = cost.min(*known);
            return;
        };
        go(plan, left, demos, (count, largest, sum), best);
        for (by, size) in &one.ways {
            let then = moved(plan, one.at, one.value, *by, &demos[one.at]);
            let cost = (count + 1, largest.max(*size), sum + size);
            go(&then, left, demos, cost, best);
        }
    }
    let mut best = BTreeMap::new();
    let choices = choices(plan, may);
    go(plan, &choices, &shown(plan), (0, 0, 0), &mut best);
    best
}

fn cost_of(plan: &Plan, changes: &[Change]) -> Cost {
    let sizes: Vec<i64> = changes
        .iter()
        .map(|change| {
            let by = by_of(change);
            if change.value == Value::Rounds {
                let then = moved(plan, change.block, Value::Rounds, by, &[]);
                (seconds(&then) - seconds(plan)).abs()
            } else {
                by.abs()
            }
        })
        .collect();
    let largest = sizes.iter().copied().max().unwrap_or(0);
    (sizes.len(), largest, sizes.iter().sum())
}

/// By how much a change moves; all of its numbers that are not 0 must move by as much.
fn by_of(change: &Change) -> i64 {
    let by = |(from, to): (&u32, &u32)| i64::from(*to) - i64::from(*from);
    assert_eq!(change.from.len(), change.to.len());
    let pairs = || change.from.iter().zip(&change.to);
    let first = pairs().find(|(from, _)| **from > 0).map(by).unwrap();
    for (from, to) in pairs() {
        assert_eq!(by((from, to)), if *from > 0 { first } else { 0 });
    }
    assert_ne!(first, 0);
    first
}

/// It lasts as long as it should, is valid, and differs from the plan in the listed changes alone.
#[track_caller]
fn check(plan: &Plan, fitted: &Fitted, slot: i64) {
    assert_eq!(seconds(&fitted.plan), slot);
    assert!(fitted.plan.validate().is_ok());
    let sum: i64 = fitted.changes.iter().map(|change| change.ms).sum();
    assert_eq!(sum, (slot - seconds(plan)) * 1000);
    let demos = shown(plan);
    let mut again = plan.clone();
    for change in &fitted.changes {
        let demos = &demos[change.block];
        if change.value == Value::Demo {
            let from: Vec<u32> = demos.iter().map(|at| again.moves[*at].demo).collect();
            assert_eq!(change.from, from);
        } else if change.value != Value::Work {
            let now = numbers(&mut again, change.block, change.value, demos);
            let now: Vec<u32> = now.into_iter().map(|n| *n).collect();
            assert_eq!(change.from, now);
        }
        again = moved(&again, change.block, change.value, by_of(change), demos);
    }
    assert_eq!(again, fitted.plan);
    let places: Vec<_> = fitted.changes.iter().map(|c| (c.block, c.value)).collect();
    let mut once = places.clone();
    once.sort_unstable();
    once.dedup();
    assert_eq!(once.len(), places.len(), "a value is listed twice");
}

// ---- Small plans ----

fn list(numbers: &'static [u32]) -> impl Strategy<Value = ByRound> {
    prop_oneof![
        1 => Just(ByRound::default()),
        3 => select(numbers).prop_map(ByRound::from),
        1 => vec(select(numbers), 2..=3).prop_map(ByRound),
    ]
}

fn sides() -> impl Strategy<Value = Sides> {
    select(&[Sides::Paired, Sides::Alternate, Sides::Half][..])
}

fn entry() -> impl Strategy<Value = Entry> {
    (
        select(&["a", "b", "s", "t"][..]),
        prop_oneof![3 => Just(None), 1 => select(&[10u32, 18, 30][..]).prop_map(Some)],
        prop_oneof![3 => Just(None), 1 => sides().prop_map(Some)],
        prop_oneof![4 => Just(None), 1 => Just(Some(Hand::Left))],
        of(select(&[1u32, 4, 6][..])),
    )
        .prop_map(|(id, work, sides, side, before_end)| Entry {
            work: work.map_or_else(ByRound::default, ByRound::from),
            sides,
            side,
            marks: before_end
                .map(|seconds| Mark {
                    at: work.unwrap_or(10) - seconds,
                    say: "Now".into(),
                })
                .into_iter()
                .collect(),
            ..Entry::of(id)
        })
}

fn block() -> impl Strategy<Value = Block> {
    let numbers = (
        prop_oneof![
            3 => select(&[10u32, 14, 20, 30][..]).prop_map(ByRound::from),
            1 => vec(select(&[15u32, 20, 30][..]), 2..=3).prop_map(ByRound),
        ],
        list(&[0, 3, 10, 15]),
        list(&[0, 5, 10, 20]),
        select(&[0u32, 0, 5, 12, 20][..]),
        select(&[0u32, 0, 5, 8][..]),
    );
    (0..6u8, vec(entry(), 1..=3), 1..=4u32, numbers, sides()).prop_map(
        |(kind, mut entries, n, (work, rest, pause, after, change), sides)| {
            let kind = match kind {
                0 => BlockKind::Flow { steps: entries },
                1 => BlockKind::Rounds {
                    moves: entries,
                    rounds: n,
                },
                2 => BlockKind::Ladder {
                    rungs: entries.into_iter().map(|one| vec![one]).collect(),
                    direction: [Direction::Up, Direction::Down, Direction::UpDown][n as usize % 3],
                },
                3 => BlockKind::Sets {
                    moves: entries,
                    sets: n,
                },
                4 => {
                    for one in &mut entries {
                        *one = Entry::of(&one.of);
                    }
                    BlockKind::Window {
                        tasks: entries,
                        times: n,
                    }
                }
                _ => BlockKind::Interlude {
                    lasts: 10 * n,
                    say: "Water".into(),
                },
            };
            let mut block = Block::new(kind);
            block.after = after;
            block.part = [Part::Main, Part::WarmUp, Part::Main, Part::CoolDown][after as usize % 4];
            if !matches!(block.kind, BlockKind::Interlude { .. }) {
                (block.work, block.rest) = (work, rest);
            }
            if block.has_sides() {
                (block.sides, block.change) = (sides, change);
            }
            if block.has_breaks() {
                block.pause = pause;
            }
            block
        },
    )
}

fn small() -> impl Strategy<Value = Plan> {
    let demos = vec(select(&[0u32, 0, 5, 7, 15, 25][..]), 4);
    (vec(block(), 1..=3), demos, select(&[0u32, 10][..])).prop_map(|(blocks, demos, ready)| {
        let ids = [("a", false), ("b", false), ("s", true), ("t", true)];
        let moves = ids.iter().zip(demos).map(|((id, sided), demo)| Move {
            id: (*id).into(),
            name: (*id).into(),
            sided: *sided,
            demo,
            kit: (*id == "b").then(|| "rope".into()).into_iter().collect(),
            ..Move::default()
        });
        Plan {
            title: "t".into(),
            ready,
            kit: vec![Kit {
                id: "rope".into(),
                ..Kit::default()
            }],
            moves: moves.collect(),
            blocks,
            ..Plan::default()
        }
    })
}

fn may() -> impl Strategy<Value = May> {
    let kinds = vec(any::<bool>(), 5);
    (kinds, select(&[5u32, 5, 5, 3][..]), 1..=2u32, 0..=2u32).prop_map(
        |(kinds, step, steps, most_rounds)| {
            let none = May {
                breaks: false,
                rests: false,
                step,
                most: step * steps,
                most_rounds,
                ..May::default()
            };
            let allowed = Kind::ALL.iter().zip(kinds).filter(|(_, yes)| *yes);
            allowed.fold(none, |may, (kind, _)| may.and(*kind))
        },
    )
}

proptest! {
    #![proptest_config(cases(200))]

    #[test]
    fn it_is_as_good_as_trying_everything(plan in small(), mut may in may()) {
        prop_assume!(plan.validate().is_ok());
        // Blocks are locked until all the ways can be tried.
        while ways_in_all(&choices(&plan, &may)) > 1_500 {
            if may.most > may.step {
                may.most = may.step;
            } else {
                may.locked.push(may.locked.len());
            }
        }
        let best = everything(&plan, &may);
        let (low, high) = (*best.keys().next().unwrap(), *best.keys().last().unwrap());
        // All lengths from a little below the shortest to a little above the longest, in strides.
        let stride = (best.len() / 12).max(1);
        let slots = best.keys().copied().step_by(stride).chain([low - 3, high + 4, low + 1, high - 1, seconds(&plan)]);
        for slot in slots.filter(|slot| *slot > 0) {
            match (fit(&plan, slot as u32, &may), best.get(&slot)) {
                (Ok(fitted), Some(cost)) => {
                    check(&plan, &fitted, slot);
                    prop_assert_eq!(cost_of(&plan, &fitted.changes), *cost, "{}", plan.to_json());
                }
                (Err(miss), None) => {
                    let below = best.range(..slot).next_back().map(|(at, _)| *at);
                    let above = best.range(slot + 1..).next().map(|(at, _)| *at);
                    prop_assert_eq!(miss.below, below.map(|s| s * 1000));
                    prop_assert_eq!(miss.above, above.map(|s| s * 1000));
                    let near = [below, above].into_iter().flatten().min_by_key(|s| (s - slot).abs()).unwrap();
                    let nearest = miss.nearest.unwrap();
                    check(&plan, &nearest, near);
                    prop_assert_eq!(cost_of(&plan, &nearest.changes), best[&near]);
                    // What would help does; and all that there is does not where nothing would.
                    let more = miss.would.clone().unwrap_or(Kind::ALL.to_vec());
                    prop_assert!(!more.iter().all(|kind| may.allows(*kind)) || miss.would.is_none());
                    let with = more.iter().fold(may.clone(), |may, kind| may.and(*kind));
                    prop_assert_eq!(fit(&plan, slot as u32, &with).is_ok(), miss.would.is_some());
                    for less in miss.would.into_iter().flatten() {
                        let rest = more.iter().filter(|kind| **kind != less);
                        let with = rest.fold(may.clone(), |may, kind| may.and(*kind));
                        prop_assert!(fit(&plan, slot as u32, &with).is_err());
                    }
                }
                (found, cost) => prop_assert!(false, "slot {}: {:?}, not {:?}: {}", slot, found.is_ok(), cost, plan.to_json()),
            }
        }
    }

    #[test]
    fn it_gives_the_same_each_time(plan in small(), slot in 30..600u32) {
        prop_assert_eq!(fit(&plan, slot, &May::all()), fit(&plan, slot, &May::all()));
    }
}

#[test]
fn the_demo_class_is_fitted_to_slots_around_its_own() {
    let plan = plan_file("src/demos/harbour-lunch.json");
    let may = May::all();
    let mut longest = 0;
    for slot in (21 * 60..=31 * 60).step_by(30) {
        let start = Instant::now();
        let fitted = fit(&plan, slot, &may);
        let took = start.elapsed().as_micros();
        longest = longest.max(took);
        let fitted = fitted.unwrap_or_else(|miss| panic!("{slot} s: {:?}", miss.would));
        check(&plan, &fitted, i64::from(slot));
        let (count, largest, sum) = cost_of(&plan, &fitted.changes);
        println!("{slot} s: {count} changes, largest {largest} s, sum {sum} s, {took} us");
    }
    println!("the slowest took {longest} us");
    // Breaks and rests alone, as it is set at first.
    for slot in (21 * 60..=31 * 60).step_by(60) {
        let start = Instant::now();
        let fitted = fit(&plan, slot, &May::default());
        let took = start.elapsed().as_micros();
        match fitted {
            Ok(fitted) => {
                check(&plan, &fitted, i64::from(slot));
                let count = fitted.changes.len();
                println!("breaks and rests, {slot} s: {count} changes, {took} us");
            }
            Err(miss) => println!(
                "breaks and rests, {slot} s: a miss, {:?}, {took} us",
                miss.would
            ),
        }
    }
    // What comes out last: everything may move, and nothing helps.
    let start = Instant::now();
    let miss = fit(&plan, 1_563, &may).unwrap_err();
    println!("a miss: {} us", start.elapsed().as_micros());
    assert_eq!((miss.below, miss.would), (Some(1_560_000), None));
    check(&plan, &miss.nearest.unwrap(), 1_565);
}

#[test]
fn a_class_of_two_hours_is_fitted() {
    // The blocks of the demo class four times over, as far as two hours.
    let mut plan = plan_file("src/demos/harbour-lunch.json");
    let blocks = plan.blocks.clone();
    for _ in 0..3 {
        plan.blocks.extend(blocks.clone());
    }
    for (slot, may) in [
        (seconds(&plan) + 600, May::all()),
        (seconds(&plan) + 605, May::default()),
        (seconds(&plan) - 1_800, May::all()),
        (seconds(&plan) - 900, May::default()),
    ] {
        let start = Instant::now();
        let fitted = fit(&plan, slot as u32, &may);
        let took = start.elapsed().as_micros();
        match fitted {
            Ok(fitted) => {
                check(&plan, &fitted, slot);
                println!("{slot} s: {} changes, {took} us", fitted.changes.len());
            }
            Err(miss) => println!("{slot} s: a miss, {:?}, {took} us", miss.would),
        }
    }
}
