//! What the tests share: valid plans that use every key of the format, and whatever a person may
//! do to a run.
#![cfg(not(target_arch = "wasm32"))]
// Each test file uses a part of it.
#![allow(
    dead_code,
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    missing_docs
)]

use std::fs;
use std::path::Path;

use proptest::collection::vec;
use proptest::option;
use proptest::prelude::*;
use proptest::sample::{Index, select};

use rungbook::plan::{
    Block, BlockKind, ByRound, Choice, Effort, Entry, Id, Kit, Mark, Move, Plan, Word,
};
use rungbook::run::Input;
use rungbook::timeline::Timeline;

/// An instant of the device's clock at which the tests begin.
pub const T: i64 = 1_700_000_000_000;

/// Settings for a property: so many cases, or as many as `PROPTEST_CASES` says. Nothing is written
/// beside the sources: a failure prints its input.
pub fn cases(cases: u32) -> ProptestConfig {
    let usual = ProptestConfig::default();
    let asked = std::env::var_os("PROPTEST_CASES").is_some();
    ProptestConfig {
        cases: if asked { usual.cases } else { cases },
        failure_persistence: None,
        ..usual
    }
}

/// Reads a plan of this repository.
pub fn plan_file(path: &str) -> Plan {
    let text = fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join(path)).unwrap();
    Plan::from_json(&text).unwrap_or_else(|e| panic!("{path}: {e}"))
}

/// An entry with the place of its move in the plan and of itself in its block.
#[derive(Clone, Copy)]
pub struct Found<'p> {
    pub entry: &'p Entry,
    pub of: usize,
}

/// The entries of a list with their moves.
pub fn found<'p>(plan: &Plan, list: &'p [Entry]) -> Vec<Found<'p>> {
    list.iter()
        .map(|entry| Found {
            entry,
            of: plan.moves.iter().position(|m| m.id == entry.of).unwrap(),
        })
        .collect()
}

// ---- Plans ----

type Texts = BoxedStrategy<String>;

/// Any text that a plan may hold.
pub fn text() -> Texts {
    prop_oneof![
        3 => Just(String::new()),
        4 => "[A-Za-z ]{1,10}",
        1 => "\\PC{0,12}",
        2 => select(vec![
            "{side} foot ahead, {other} heel up",
            "Füße schulterbreit",
            "右足を前へ",
            "👩‍🦽 sit tall",
            "\"quoted\" \\ with\ttab\nand line",
            "e\u{301}\u{202e}\u{feff}",
        ])
        .prop_map(String::from),
    ]
    .boxed()
}

fn word<W: Word + std::fmt::Debug>() -> impl Strategy<Value = W> + Clone {
    select(W::WORDS.iter().map(|(value, _)| *value).collect::<Vec<W>>())
}

/// A number that stands for a reference until the plan is put together.
fn reference() -> impl Strategy<Value = Id> {
    (0u8..20).prop_map(|n| n.to_string().into())
}

/// Leads a reference to one of the ids that there are.
fn lead_to(reference: &Id, ids: &[Id]) -> Option<Id> {
    let n: usize = reference.parse().unwrap();
    (!ids.is_empty()).then(|| ids[n % ids.len()].clone())
}

fn seconds(most: u32) -> BoxedStrategy<u32> {
    prop_oneof![3 => 0..=most, 1 => Just(0), 1 => 1..=3u32].boxed()
}

fn work() -> BoxedStrategy<u32> {
    prop_oneof![2 => 1..=9u32, 3 => 1..=60u32].boxed()
}

/// A list that goes by the round, or none.
fn by_round(one: BoxedStrategy<u32>) -> BoxedStrategy<ByRound> {
    prop_oneof![
        2 => Just(ByRound::default()),
        3 => one.clone().prop_map(ByRound::from),
        2 => vec(one, 2..4).prop_map(ByRound),
    ]
    .boxed()
}

fn kit(text: &Texts) -> impl Strategy<Value = Kit> + use<> {
    (text.clone(), vec(text.clone(), 0..3)).prop_map(|(name, instead)| Kit {
        id: "".into(),
        name,
        instead,
    })
}

fn choice(text: &Texts) -> impl Strategy<Value = Choice> + use<> {
    (
        word(),
        text.clone(),
        vec(text.clone(), 0..2),
        vec(reference(), 0..2),
        any::<bool>(),
    )
        .prop_map(|(level, name, notes, kit, switch_at_half)| Choice {
            id: "".into(),
            level,
            name,
            notes,
            kit,
            switch_at_half,
        })
}

fn a_move(text: &Texts) -> impl Strategy<Value = Move> + use<> {
    let kind = (option::of(word()), word(), word(), word(), any::<bool>());
    let said = (
        text.clone(),
        text.clone(),
        text.clone(),
        vec(text.clone(), 0..3),
    );
    let lists = (vec(reference(), 0..3), vec(choice(text), 0..3));
    (kind, said, lists, seconds(12)).prop_map(|(kind, said, lists, demo)| {
        let (pattern, effort, position, impact, sided) = kind;
        let (name, how, caution, notes) = said;
        let (kit, options) = lists;
        Move {
            id: "".into(),
            name,
            kit,
            sided,
            pattern,
            effort,
            position,
            impact,
            demo,
            how,
            notes,
            caution,
            options,
        }
    })
}

fn entry(text: &Texts) -> BoxedStrategy<Entry> {
    let mark = (0..60u32, text.clone()).prop_map(|(at, say)| Mark { at, say });
    let object = (
        reference(),
        by_round(work()),
        option::weighted(0.3, word()),
        option::weighted(0.3, word()),
        by_round((0..=30u32).boxed()),
        option::of(word::<Effort>()),
        vec(text.clone(), 0..3),
        vec(mark, 0..3),
    )
        .prop_map(
            |(of, work, side, sides, reps, effort, notes, marks)| Entry {
                of,
                work,
                side,
                sides,
                reps,
                effort,
                notes,
                marks,
            },
        );
    let plain = reference().prop_map(|of| Entry::of(&of));
    prop_oneof![2 => plain, 1 => object].boxed()
}

fn kind(text: &Texts) -> impl Strategy<Value = BlockKind> + use<> {
    let list = vec(entry(text), 1..4);
    prop_oneof![
        2 => list.clone().prop_map(|steps| BlockKind::Flow { steps }),
        2 => (list.clone(), 1..4u32).prop_map(|(moves, rounds)| BlockKind::Rounds { moves, rounds }),
        2 => (vec(vec(entry(text), 1..3), 1..4), word())
            .prop_map(|(rungs, direction)| BlockKind::Ladder { rungs, direction }),
        2 => (list.clone(), 1..4u32).prop_map(|(moves, sets)| BlockKind::Sets { moves, sets }),
        1 => (list, 1..4u32).prop_map(|(tasks, times)| BlockKind::Window { tasks, times }),
        1 => (seconds(40), text.clone())
            .prop_map(|(lasts, say)| BlockKind::Interlude { lasts, say }),
    ]
}

/// A block, and the seconds of work that it falls back on where nothing else gives any.
fn block(text: &Texts) -> impl Strategy<Value = (Block, u32)> + use<> {
    (
        (kind(text), text.clone(), word(), any::<bool>()),
        (
            by_round(work()),
            by_round(seconds(15)),
            by_round(seconds(25)),
        ),
        (word(), seconds(5), word(), seconds(20)),
        work(),
    )
        .prop_map(|(own, lists, sides, fallback)| {
            let mut block = Block::new(own.0);
            (block.name, block.part, block.held) = (own.1, own.2, own.3);
            block.after = sides.3;
            if !matches!(block.kind, BlockKind::Interlude { .. }) {
                (block.work, block.rest) = (lists.0, lists.1);
            }
            if block.has_breaks() {
                block.pause = lists.2;
            }
            if block.has_sides() {
                (block.sides, block.change, block.first_side) = (sides.0, sides.1, sides.2);
            }
            (block, fallback)
        })
}

fn put_together(plan: &mut Plan, blocks: Vec<(Block, u32)>) {
    for (i, kit) in plan.kit.iter_mut().enumerate() {
        kit.id = format!("kit-{i}").into();
    }
    let kit: Vec<Id> = plan.kit.iter().map(|kit| kit.id.clone()).collect();
    let refer = |list: &mut Vec<Id>| {
        *list = list.iter().filter_map(|id| lead_to(id, &kit)).collect();
    };
    for (i, one) in plan.moves.iter_mut().enumerate() {
        one.id = format!("m{i}").into();
        refer(&mut one.kit);
        for (k, option) in one.options.iter_mut().enumerate() {
            option.id = format!("o{k}").into();
            refer(&mut option.kit);
        }
    }
    let moves: Vec<Id> = plan.moves.iter().map(|one| one.id.clone()).collect();
    plan.blocks = blocks
        .into_iter()
        .map(|(mut block, fallback)| {
            finish_block(&mut block, fallback, &moves);
            block
        })
        .collect();
    let works = |block: &Block| block.entries().next().is_some();
    if !plan.blocks.iter().any(works) {
        let mut block = Block::new(BlockKind::Flow {
            steps: vec![Entry::of(&moves[0])],
        });
        block.work = ByRound::from(20);
        plan.blocks.push(block);
    }
}

fn finish_block(block: &mut Block, fallback: u32, moves: &[Id]) {
    let flow = matches!(block.kind, BlockKind::Flow { .. });
    let window = matches!(block.kind, BlockKind::Window { .. });
    if window && block.work.is_empty() {
        block.work = fallback.into();
    }
    let common = block.work.clone();
    let lists: &mut [Vec<Entry>] = match &mut block.kind {
        BlockKind::Flow { steps: list }
        | BlockKind::Rounds { moves: list, .. }
        | BlockKind::Sets { moves: list, .. }
        | BlockKind::Window { tasks: list, .. } => std::slice::from_mut(list),
        BlockKind::Ladder { rungs, .. } => rungs,
        BlockKind::Interlude { .. } => &mut [],
    };
    for entry in lists.iter_mut().flatten() {
        entry.of = lead_to(&entry.of, moves).unwrap();
        if window {
            entry.work = ByRound::default();
            (entry.side, entry.sides) = (None, None);
            entry.marks.clear();
            continue;
        }
        if entry.work.is_empty() && common.is_empty() {
            entry.work = fallback.into();
        }
        let work = if entry.work.is_empty() {
            &common
        } else {
            &entry.work
        };
        let longest = match flow {
            true => work.0[0],
            false => *work.0.iter().max().unwrap(),
        };
        for mark in &mut entry.marks {
            mark.at %= longest;
        }
    }
}

/// Valid plans that use every key of the format, small enough to be quick.
pub fn plan() -> BoxedStrategy<Plan> {
    let text = text();
    let id = prop_oneof![Just(String::new()), "[a-z0-9-]{1,32}"];
    let numbers = (
        0..4u32,
        option::of(0..9u32),
        option::of(0..4000u32),
        seconds(15),
    );
    let said = (id, text.clone(), text.clone(), text.clone());
    let lists = (
        vec(kit(&text), 0..3),
        vec(a_move(&text), 1..5),
        vec(block(&text), 1..4),
    );
    (numbers, said, lists)
        .prop_map(|(numbers, said, (kit, moves, blocks))| {
            let mut plan = Plan {
                id: said.0,
                revision: numbers.0,
                title: said.1,
                coach: said.2,
                about: said.3,
                recording: numbers.1,
                slot: numbers.2,
                ready: numbers.3,
                kit,
                moves,
                blocks: Vec::new(),
            };
            put_together(&mut plan, blocks);
            plan
        })
        .boxed()
}

// ---- Inputs ----

/// A place in a list: one that is there, or one that is not.
#[derive(Clone, Debug)]
enum Target {
    In(Index),
    Beyond(usize),
}

impl Target {
    fn of(&self, len: usize) -> usize {
        match self {
            Target::In(index) if len > 0 => index.index(len),
            Target::In(_) => 0,
            Target::Beyond(by) => len.saturating_add(*by),
        }
    }
}

fn target() -> impl Strategy<Value = Target> + Clone {
    prop_oneof![
        8 => any::<Index>().prop_map(Target::In),
        1 => select(vec![0, 1, 7, usize::MAX]).prop_map(Target::Beyond),
    ]
}

/// An input whose places are not yet led to a timeline.
#[derive(Clone, Debug)]
enum Raw {
    Plain(Input),
    Jump(Target),
    Align(Target),
    Choose(Target, Option<Target>),
}

impl Raw {
    fn on(&self, timeline: &Timeline) -> Input {
        let segments = timeline.segments().len();
        match self {
            Raw::Plain(input) => *input,
            Raw::Jump(to) => Input::Jump {
                to: to.of(segments),
            },
            Raw::Align(to) => Input::Align {
                to: to.of(segments),
            },
            Raw::Choose(of, option) => {
                let moves = &timeline.plan().moves;
                let of = of.of(moves.len());
                let options = moves.get(of).map_or(0, |one| one.options.len());
                Input::Choose {
                    of,
                    option: option.as_ref().map(|option| option.of(options)),
                }
            }
        }
    }
}

fn start() -> impl Strategy<Value = Raw> + Clone {
    // Set instants shortly before and after; now and then long past or far ahead.
    let set = prop_oneof![
        8 => Just(None),
        4 => (-100_000..30_000i64).prop_map(|by| Some(T + by)),
        4 => (-60..30i64).prop_map(|by| Some(T + by * 1000)),
        1 => Just(Some(T - 90_000_000)),
        1 => Just(Some(T + 40_000_000)),
    ];
    (set, any::<bool>()).prop_map(|(set, lead)| Raw::Plain(Input::Start { set, lead }))
}

fn raw_input() -> impl Strategy<Value = Raw> + Clone {
    let plain = |input| Just(Raw::Plain(input));
    let nudge = prop_oneof![
        9 => -20_000..20_000i64,
        3 => select(vec![0, 1, -1]),
        1 => select(vec![43_200_000, -43_200_000]),
    ];
    prop_oneof![
        12 => plain(Input::Pause),
        12 => plain(Input::Resume),
        8 => plain(Input::Skip),
        8 => plain(Input::Back),
        6 => plain(Input::Go),
        6 => plain(Input::Undo),
        4 => plain(Input::Rejoin),
        1 => plain(Input::Stop),
        1 => plain(Input::Reopen),
        1 => plain(Input::KeptGoing),
        2 => plain(Input::Return),
        2 => (-10_000..900_000i64).prop_map(|by| Raw::Plain(Input::Away { from: T + by })),
        2 => start(),
        6 => nudge.prop_map(|ms| Raw::Plain(Input::Nudge { ms })),
        6 => target().prop_map(Raw::Jump),
        6 => target().prop_map(Raw::Align),
        6 => (target(), option::of(target())).prop_map(|(of, option)| Raw::Choose(of, option)),
    ]
}

/// Milliseconds from one input to the next; below 0: the clock was out of order.
fn delta() -> impl Strategy<Value = i64> + Clone {
    prop_oneof![
        8 => 0..5_000i64,
        4 => 5_000..30_000i64,
        4 => (0..20i64).prop_map(|s| s * 1000),
        2 => Just(0i64),
        2 => -30_000..0i64,
        1 => 30_000..400_000i64,
    ]
}

fn raw_inputs() -> impl Strategy<Value = Vec<(i64, Raw)>> + Clone {
    let begins = (prop::bool::weighted(0.95), delta(), start());
    (begins, vec((delta(), raw_input()), 0..24)).prop_map(|((begins, delta, start), mut rest)| {
        if begins {
            rest.insert(0, (delta, start));
        }
        rest
    })
}

fn on(timeline: &Timeline, raw: &[(i64, Raw)]) -> Vec<(i64, Input)> {
    raw.iter()
        .map(|(delta, raw)| (*delta, raw.on(timeline)))
        .collect()
}

/// Sequences of inputs of every kind, sensible or not, each with the milliseconds since the one
/// before: the first is counted from [`T`], and below 0 is out of order.
pub fn wild_inputs(timeline: &Timeline) -> impl Strategy<Value = Vec<(i64, Input)>> + use<> {
    let timeline = timeline.clone();
    raw_inputs().prop_map(move |raw| on(&timeline, &raw))
}

/// A class of a property, which prints as its plan file where the property fails.
pub struct Class(Timeline);

impl std::ops::Deref for Class {
    type Target = Timeline;

    fn deref(&self) -> &Timeline {
        &self.0
    }
}

impl std::fmt::Debug for Class {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(&self.plan().to_json())
    }
}

/// A class with wild inputs. It shrinks better than a class followed by its [`wild_inputs`].
pub fn wild_run() -> impl Strategy<Value = (Class, Vec<(i64, Input)>)> {
    (plan(), raw_inputs()).prop_map(|(plan, raw)| {
        let timeline = Timeline::new(&plan);
        let inputs = on(&timeline, &raw);
        (Class(timeline), inputs)
    })
}

/// The same with instants in place of distances.
pub fn at_instants(inputs: &[(i64, Input)]) -> Vec<(i64, Input)> {
    let mut now = T;
    inputs
        .iter()
        .map(|(delta, input)| {
            now += delta;
            (now, *input)
        })
        .collect()
}
