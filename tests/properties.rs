//! What holds for every plan: the timeline, the file. Where a property needs to know
//! what should come out, it is derived here from the format's text, apart from the code under test.
#![cfg(not(target_arch = "wasm32"))]
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, missing_docs)]

mod common;
/// The preset dictionary is part of the form of a link: with it, links are taken apart and put
/// together here by means of their own.
#[path = "../src/link/dictionary.rs"]
mod dictionary;

use std::collections::BTreeMap;

use base64::Engine as _;
use base64::engine::general_purpose::URL_SAFE_NO_PAD;
use miniz_oxide::deflate::compress_to_vec;
use miniz_oxide::inflate::TINFLStatus;
use miniz_oxide::inflate::core::{DecompressorOxide, decompress, inflate_flags};

use proptest::collection::vec;
use proptest::prelude::*;
use proptest::sample::{Index, select};
use serde_json::Value;

use common::{Found, cases, found, plan};
use rungbook::link::{decode, encode};
use rungbook::plan::{Block, BlockKind, ByRound, Direction, Entry, Hand, Move, Plan, Sides};
use rungbook::timeline::{RungKind, Segment, SegmentKind, Side, Timeline, Totals};

// ---- The format's text, once more ----

#[derive(Clone, Debug, PartialEq, Eq)]
struct Work {
    block: usize,
    round: u32,
    rounds: u32,
    entry: u32,
    entries: u32,
    of: usize,
    side: Side,
    seconds: u32,
}

/// What a class is made of, in order.
enum Piece {
    /// A rest or a break: demos that follow take its end.
    Gap(u32),
    /// The moves that are about to be worked: those not shown yet are shown here.
    Show(Vec<usize>),
    /// A change of sides or an interlude: nothing takes from it.
    Fixed(u32),
    Work(Work),
}

fn by(list: &ByRound, turn: u32) -> u32 {
    let n = list.0.len();
    if n == 0 {
        return 0;
    }
    list.0[(turn as usize - 1) % n]
}

struct Outline<'p> {
    plan: &'p Plan,
    pieces: Vec<Piece>,
}

impl<'p> Outline<'p> {
    fn of(plan: &'p Plan) -> Vec<Piece> {
        let mut outline = Outline {
            plan,
            pieces: Vec::new(),
        };
        for (at, block) in plan.blocks.iter().enumerate() {
            outline.block(at, block);
            outline.pieces.push(Piece::Gap(block.after));
        }
        outline.pieces
    }

    fn show(&mut self, found: &[Found<'p>]) {
        let moves = found.iter().map(|one| one.of).collect();
        self.pieces.push(Piece::Show(moves));
    }

    fn block(&mut self, at: usize, block: &'p Block) {
        match &block.kind {
            BlockKind::Interlude { lasts, .. } => self.pieces.push(Piece::Fixed(*lasts)),
            BlockKind::Flow { steps } => {
                let steps = found(self.plan, steps);
                for (i, step) in (1..).zip(&steps) {
                    if i > 1 {
                        self.pieces.push(Piece::Gap(by(&block.rest, 1)));
                    }
                    self.show(&[*step]);
                    self.entry(at, block, *step, (1, 1), (i, steps.len() as u32), 1);
                }
            }
            BlockKind::Rounds { moves, rounds } => {
                let rounds: Vec<_> = (0..*rounds).map(|_| found(self.plan, moves)).collect();
                self.rounds(at, block, &rounds);
            }
            BlockKind::Ladder { rungs, direction } => {
                let n = rungs.len();
                let heights: Vec<usize> = match direction {
                    Direction::Up => (1..=n).collect(),
                    Direction::Down => (1..=n).rev().collect(),
                    Direction::UpDown => (1..=n).chain((1..n).rev()).collect(),
                };
                let rounds: Vec<_> = heights
                    .iter()
                    .map(|height| {
                        let rungs = &rungs[..*height];
                        rungs.iter().flat_map(|r| found(self.plan, r)).collect()
                    })
                    .collect();
                self.rounds(at, block, &rounds);
            }
            BlockKind::Sets { moves, sets } => {
                let moves = found(self.plan, moves);
                let of = moves.len() as u32;
                for (k, one) in (1..).zip(&moves) {
                    if k > 1 {
                        self.pieces.push(Piece::Gap(by(&block.pause, k - 1)));
                    }
                    self.show(&[*one]);
                    for set in 1..=*sets {
                        if set > 1 {
                            self.pieces.push(Piece::Gap(by(&block.rest, set - 1)));
                        }
                        self.entry(at, block, *one, (k, of), (set, *sets), set);
                    }
                }
            }
            BlockKind::Window { tasks, times } => {
                let tasks = found(self.plan, tasks);
                self.show(&tasks);
                for time in 1..=*times {
                    if time > 1 {
                        self.pieces.push(Piece::Gap(by(&block.rest, time - 1)));
                    }
                    self.pieces.push(Piece::Work(Work {
                        block: at,
                        round: 1,
                        rounds: 1,
                        entry: time,
                        entries: *times,
                        of: tasks[0].of,
                        side: Side::None,
                        seconds: by(&block.work, time),
                    }));
                }
            }
        }
    }

    fn rounds(&mut self, at: usize, block: &'p Block, rounds: &[Vec<Found<'p>>]) {
        let of = rounds.len() as u32;
        for (k, round) in (1..).zip(rounds) {
            if k > 1 {
                self.pieces.push(Piece::Gap(by(&block.pause, k - 1)));
            }
            self.show(round);
            for (i, one) in (1..).zip(round) {
                if i > 1 {
                    self.pieces.push(Piece::Gap(by(&block.rest, k)));
                }
                self.entry(at, block, *one, (k, of), (i, round.len() as u32), k);
            }
        }
    }

    fn entry(
        &mut self,
        at: usize,
        block: &Block,
        one: Found<'p>,
        (round, rounds): (u32, u32),
        (entry, entries): (u32, u32),
        turn: u32,
    ) {
        let own = &one.entry.work;
        let seconds = if own.0.is_empty() {
            by(&block.work, turn)
        } else {
            by(own, turn)
        };
        let work = |side| {
            Piece::Work(Work {
                block: at,
                round,
                rounds,
                entry,
                entries,
                of: one.of,
                side,
                seconds,
            })
        };
        let hand = |hand| match hand {
            Hand::Right => Side::Right,
            Hand::Left => Side::Left,
        };
        let first = block.first_side;
        let sides = one.entry.sides.unwrap_or(block.sides);
        match (self.plan.moves[one.of].sided, one.entry.side, sides) {
            (false, _, _) => self.pieces.push(work(Side::None)),
            (true, Some(only), _) => self.pieces.push(work(hand(only))),
            (true, None, Sides::Paired) => {
                self.pieces.push(work(hand(first)));
                self.pieces.push(Piece::Fixed(block.change));
                self.pieces.push(work(hand(first.other())));
            }
            (true, None, Sides::Alternate) => {
                let odd = turn % 2 == 1;
                self.pieces
                    .push(work(hand(if odd { first } else { first.other() })));
            }
            (true, None, Sides::Half) => self.pieces.push(work(Side::Half { first })),
        }
    }
}

/// The length of a class in seconds.
fn length(plan: &Plan) -> u32 {
    let mut shown = vec![false; plan.moves.len()];
    let (mut total, mut gap) = (plan.ready, 0);
    for piece in Outline::of(plan) {
        match piece {
            Piece::Gap(seconds) => {
                total += gap;
                gap = seconds;
            }
            Piece::Show(moves) => {
                let demos: u32 = moves
                    .into_iter()
                    .filter(|of| !std::mem::replace(&mut shown[*of], true))
                    .map(|of| plan.moves[of].demo)
                    .sum();
                gap = gap.max(demos);
            }
            Piece::Fixed(seconds) => total += std::mem::take(&mut gap) + seconds,
            Piece::Work(work) => total += std::mem::take(&mut gap) + work.seconds,
        }
    }
    total + gap
}

fn works(plan: &Plan) -> Vec<Work> {
    Outline::of(plan)
        .into_iter()
        .filter_map(|piece| match piece {
            Piece::Work(work) => Some(work),
            _ => None,
        })
        .collect()
}

fn work_segments(timeline: &Timeline) -> impl Iterator<Item = (usize, &Segment)> {
    let all = timeline.segments().iter().enumerate();
    all.filter(|(_, segment)| segment.is_work())
}

// ---- The timeline ----

proptest! {
    #![proptest_config(cases(192))]

    #[test]
    fn a_class_is_as_long_and_its_work_as_the_format_says(plan in plan()) {
        prop_assert_eq!(plan.validate().map(|_| ()), Ok(()));
        let timeline = Timeline::new(&plan);
        let compiled: Vec<Work> = work_segments(&timeline)
            .map(|(_, s)| Work {
                block: s.block,
                round: s.round,
                rounds: s.rounds,
                entry: s.entry,
                entries: s.entries,
                of: s.move_at.unwrap(),
                side: s.side,
                seconds: u32::try_from(s.len_ms() / 1000).unwrap(),
            })
            .collect();
        prop_assert_eq!(compiled, works(&plan));
        prop_assert_eq!(timeline.total_ms(), i64::from(length(&plan)) * 1000);
    }

    #[test]
    fn segments_touch_and_cover_the_class(plan in plan()) {
        let timeline = Timeline::new(&plan);
        let mut reached = 0;
        for segment in timeline.segments() {
            prop_assert_eq!(segment.start_ms, reached);
            prop_assert!(segment.end_ms > segment.start_ms, "a segment of no length");
            prop_assert_eq!(segment.len_ms() % 1000, 0);
            reached = segment.end_ms;
        }
        prop_assert_eq!(reached, timeline.total_ms());
        let sum: i64 = timeline.segments().iter().map(Segment::len_ms).sum();
        prop_assert_eq!(sum, timeline.total_ms());
    }

    #[test]
    fn ready_comes_once_and_each_move_that_is_worked_is_shown_once(plan in plan()) {
        let timeline = Timeline::new(&plan);
        let of_kind = |kind| timeline.segments().iter().filter(move |s| s.kind == kind);
        let ready: Vec<i64> = of_kind(SegmentKind::Ready).map(Segment::len_ms).collect();
        let expected: &[i64] = match plan.ready {
            0 => &[],
            seconds => &[i64::from(seconds) * 1000],
        };
        prop_assert_eq!(ready, expected);
        let mut expected: Vec<usize> = plan
            .blocks
            .iter()
            .flat_map(Block::entries)
            .map(|entry| plan.moves.iter().position(|m| m.id == entry.of).unwrap())
            .filter(|of| plan.moves[*of].demo > 0)
            .collect();
        expected.sort_unstable();
        expected.dedup();
        let mut shown: Vec<usize> = of_kind(SegmentKind::Demo).map(|s| s.move_at.unwrap()).collect();
        shown.sort_unstable();
        prop_assert_eq!(shown, expected);
        for (i, segment) in timeline.segments().iter().enumerate() {
            if segment.kind != SegmentKind::Demo {
                continue;
            }
            let of = segment.move_at.unwrap();
            prop_assert_eq!(segment.len_ms(), i64::from(plan.moves[of].demo) * 1000);
            let before = &timeline.segments()[..i];
            prop_assert!(before.iter().all(|s| !s.is_work() || s.move_at != Some(of)));
        }
    }

    #[test]
    fn every_paired_side_has_its_twin(plan in plan()) {
        let timeline = Timeline::new(&plan);
        let mut entries: BTreeMap<_, Vec<usize>> = BTreeMap::new();
        for (i, s) in work_segments(&timeline) {
            entries.entry((s.block, s.round, s.entry)).or_default().push(i);
        }
        for ((block, ..), at) in entries {
            let block = &plan.blocks[block];
            let first = &timeline.segments()[at[0]];
            let entry = timeline.entry_of(first).unwrap();
            let paired = block.has_sides()
                && timeline.move_of(first).unwrap().sided
                && entry.side.is_none()
                && entry.sides.unwrap_or(block.sides) == Sides::Paired;
            if !paired {
                prop_assert_eq!(at.len(), 1);
                continue;
            }
            prop_assert_eq!(at.len(), 2);
            let second = &timeline.segments()[at[1]];
            prop_assert_eq!(first.side, Side::from(block.first_side));
            prop_assert_eq!(second.side, Side::from(block.first_side.other()));
            prop_assert_eq!(first.len_ms(), second.len_ms());
            prop_assert_eq!(first.move_at, second.move_at);
            prop_assert_eq!(second.start_ms - first.end_ms, i64::from(block.change) * 1000);
            let between = &timeline.segments()[at[0] + 1..at[1]];
            prop_assert!(between.iter().all(|s| s.kind == SegmentKind::Change));
        }
    }

    #[test]
    fn halves_share_a_segment_to_the_millisecond(plan in plan()) {
        let timeline = Timeline::new(&plan);
        for (_, s) in work_segments(&timeline) {
            let Side::Half { first } = s.side else { continue };
            let half = s.start_ms + s.len_ms() / 2;
            prop_assert_eq!(s.half_ms(), half);
            prop_assert_eq!(s.hand_at(s.start_ms), Some(first));
            prop_assert_eq!(s.hand_at(half - 1), Some(first));
            prop_assert_eq!(s.hand_at(half), Some(first.other()));
            prop_assert_eq!(s.hand_at(s.end_ms - 1), Some(first.other()));
        }
    }

    #[test]
    fn held_gaps_are_those_of_held_blocks(plan in plan()) {
        let timeline = Timeline::new(&plan);
        for segment in timeline.segments() {
            let waits = matches!(
                segment.kind,
                SegmentKind::Rest | SegmentKind::Break | SegmentKind::Demo | SegmentKind::Interlude
            );
            prop_assert_eq!(segment.held, waits && plan.blocks[segment.block].held);
        }
    }

    #[test]
    fn where_one_is_agrees_with_a_look_at_every_segment(
        plan in plan(),
        some in vec(any::<Index>(), 20),
    ) {
        let timeline = Timeline::new(&plan);
        let scan = |ms: i64| {
            let segments = timeline.segments();
            segments.iter().position(|s| s.start_ms <= ms && ms < s.end_ms)
        };
        let total = timeline.total_ms();
        let bounds = timeline.segments().iter().flat_map(|s| [s.start_ms - 1, s.start_ms, s.start_ms + 1]);
        let some = some.iter().map(|index| index.index(total as usize) as i64);
        let ends = [i64::MIN, -1, total - 1, total, total + 1, i64::MAX];
        for ms in bounds.chain(some).chain(ends) {
            prop_assert_eq!(timeline.index_at(ms), scan(ms), "at {}", ms);
            prop_assert_eq!(timeline.at(ms), scan(ms).map(|i| &timeline.segments()[i]));
        }
    }

    #[test]
    fn totals_add_up(plan in plan()) {
        let timeline = Timeline::new(&plan);
        let totals = timeline.totals();
        prop_assert_eq!(totals.all(), timeline.total_ms());
        let work: u32 = works(&plan).iter().map(|work| work.seconds).sum();
        prop_assert_eq!(totals.work, i64::from(work) * 1000);
        prop_assert_eq!(totals.ready, i64::from(plan.ready) * 1000);
        let sum = |all: Vec<Totals>, of: fn(&Totals) -> i64| all.iter().map(of).sum::<i64>();
        let blocks = || (0..plan.blocks.len()).map(|i| timeline.block_totals(i)).collect();
        let moves = || (0..plan.moves.len()).map(|i| timeline.move_totals(i)).collect();
        prop_assert_eq!(sum(blocks(), Totals::all), totals.all());
        prop_assert_eq!(sum(blocks(), |t| t.rest), totals.rest);
        prop_assert_eq!(sum(blocks(), |t| t.pause), totals.pause);
        prop_assert_eq!(sum(blocks(), |t| t.interlude), totals.interlude);
        prop_assert_eq!(sum(moves(), |t| t.work), totals.work);
        prop_assert_eq!(sum(moves(), |t| t.demo), totals.demo);
        prop_assert_eq!(sum(moves(), Totals::all), totals.work + totals.demo);
        let mut sides: BTreeMap<usize, i64> = BTreeMap::new();
        for (_, s) in work_segments(&timeline).filter(|(_, s)| s.side != Side::None) {
            *sides.entry(s.move_at.unwrap()).or_default() += s.len_ms();
        }
        let by_side: BTreeMap<usize, i64> = timeline
            .work_by_side()
            .into_iter()
            .map(|(of, (right, left))| (of, right + left))
            .collect();
        prop_assert_eq!(by_side, sides);
    }

    #[test]
    fn rungs_tile_the_work(plan in plan(), from in any::<Index>(), most in 0..6usize) {
        let timeline = Timeline::new(&plan);
        let segments = timeline.segments();
        let from = from.index(segments.len() + 1);
        let counts = |s: &Segment| s.is_work() || s.kind == SegmentKind::Interlude;
        let to_climb: Vec<usize> = (from..segments.len()).filter(|i| counts(&segments[*i])).collect();
        let all = timeline.rungs_from(from, usize::MAX);
        let mut climbed = Vec::new();
        for rung in &all {
            let inside: Vec<usize> =
                (rung.first..=rung.last).filter(|i| counts(&segments[*i])).collect();
            prop_assert_eq!((inside[0], inside[inside.len() - 1]), (rung.first, rung.last));
            let mut times: Vec<(u32, u32)> = Vec::new();
            for i in &inside {
                let s = &segments[*i];
                match rung.kind {
                    RungKind::Move(of) => prop_assert_eq!(s.move_at, Some(of)),
                    RungKind::Interlude => prop_assert_eq!(s.kind, SegmentKind::Interlude),
                }
                prop_assert_eq!(s.block, segments[rung.first].block);
                times.push((s.round, s.entry));
            }
            times.dedup();
            prop_assert_eq!(rung.count as usize, times.len());
            let mut hands: Vec<Hand> = Vec::new();
            for i in &inside {
                let s = &segments[*i];
                for hand in [s.hand_at(s.start_ms), s.hand_at(s.end_ms - 1)].into_iter().flatten() {
                    if !hands.contains(&hand) {
                        hands.push(hand);
                    }
                }
            }
            prop_assert_eq!(&rung.hands, &hands);
            climbed.extend(inside);
        }
        prop_assert_eq!(climbed, to_climb);
        for pair in all.windows(2) {
            let same = pair[0].kind == pair[1].kind
                && pair[0].kind != RungKind::Interlude
                && segments[pair[0].first].block == segments[pair[1].first].block;
            prop_assert!(!same, "the same move twice in a row is one rung");
        }
        let few = timeline.rungs_from(from, most);
        prop_assert_eq!(&few[..], &all[..most.min(all.len())]);
    }
}

/// Common practice, no source: an add-on ladder of n single rungs does n(n+1)/2 work intervals.
/// Up and down again it does n^2: the sum of 1 to n and of n-1 to 1.
#[test]
fn a_ladder_of_single_rungs_does_the_triangular_and_the_square_number() {
    for n in 1..=50u32 {
        for (direction, expected) in [
            (Direction::Up, n * (n + 1) / 2),
            (Direction::Down, n * (n + 1) / 2),
            (Direction::UpDown, n * n),
        ] {
            let plan = ladder(n, direction);
            plan.validate().unwrap();
            let timeline = Timeline::new(&plan);
            assert_eq!(
                work_segments(&timeline).count(),
                expected as usize,
                "{n} rungs {direction:?}"
            );
            assert_eq!(timeline.totals().work, i64::from(expected) * 5_000);
        }
    }
}

/// n rungs of one move each that works both sides at once.
fn ladder(n: u32, direction: Direction) -> Plan {
    let id = |k: u32| format!("m{k}");
    let mut block = Block::new(BlockKind::Ladder {
        rungs: (1..=n).map(|k| vec![Entry::of(&id(k))]).collect(),
        direction,
    });
    block.work = ByRound::from(5);
    Plan {
        title: "Ladder".to_owned(),
        moves: (1..=n)
            .map(|k| Move {
                id: id(k).into(),
                name: format!("Rung {k}"),
                ..Move::default()
            })
            .collect(),
        blocks: vec![block],
        ..Plan::default()
    }
}

// ---- The file ----

proptest! {
    #![proptest_config(cases(192))]

    #[test]
    fn a_file_brings_the_plan_back(plan in plan()) {
        let json = plan.to_json();
        let (back, warnings) = Plan::read(&json).unwrap();
        prop_assert_eq!(&back, &plan);
        prop_assert_eq!(back.to_json(), json);
        prop_assert_eq!(back.digest(), plan.digest());
        // What it warns of is what the plan says, not how it was written down.
        prop_assert_eq!(warnings, plan.validate().unwrap());
    }

    #[test]
    fn white_space_and_the_order_of_keys_do_not_matter(plan in plan()) {
        let value: Value = serde_json::from_str(&plan.to_json()).unwrap();
        // A `Value` keeps its keys in the order of the alphabet.
        let pretty = serde_json::to_string_pretty(&value).unwrap();
        prop_assert_eq!(Plan::from_json(&pretty).unwrap(), plan);
    }

    #[test]
    fn different_plans_have_different_digests(one in plan(), other in plan()) {
        prop_assert_eq!(one == other, one.digest() == other.digest());
        let mut next = one.clone();
        next.revision += 1;
        prop_assert_ne!(next.digest(), one.digest());
        let mut renamed = one.clone();
        renamed.moves[0].name.push('x');
        prop_assert_ne!(renamed.digest(), one.digest());
    }
}

/// CRC-64/XZ bit by bit: polynomial 0x42F0E1EBA9EA3693 (ECMA-182), reflected, all ones in and
/// out. The parameters are from memory; the check value below is the catalogued one.
fn crc_64_xz(bytes: &[u8]) -> u64 {
    const REFLECTED: u64 = 0x42F0_E1EB_A9EA_3693_u64.reverse_bits();
    !bytes.iter().fold(u64::MAX, |crc, byte| {
        (0..8).fold(crc ^ u64::from(*byte), |crc, _| {
            let carry = crc & 1 == 1;
            if carry {
                (crc >> 1) ^ REFLECTED
            } else {
                crc >> 1
            }
        })
    })
}

#[test]
fn a_digest_is_the_crc_of_the_file() {
    // The published check value of CRC-64/XZ.
    assert_eq!(crc_64_xz(b"123456789"), 0x995d_c9bb_df19_39fa);
    for file in ["harbour-lunch", "quay-pyramid", "chair-class"] {
        let plan = common::plan_file(&format!("src/demos/{file}.json"));
        assert_eq!(
            plan.digest(),
            crc_64_xz(plan.to_json().as_bytes()),
            "{file}"
        );
    }
}

/// Keys that a kind does not have are neither read nor written: a plan that a program built with
/// such a key is refused, or its file leads back to the same file. Or else its digest would change
/// on the way, and a run's log be lost.
#[test]
fn keys_of_another_kind_do_not_change_a_plan_on_its_way() {
    let plan = ladder(2, Direction::Up);
    let with = |kind: BlockKind, change: fn(&mut Block)| {
        let mut block = Block::new(kind);
        block.work = ByRound::from(20);
        change(&mut block);
        let mut plan = plan.clone();
        plan.blocks.push(block);
        plan
    };
    let interlude = || BlockKind::Interlude {
        lasts: 20,
        say: "Water".to_owned(),
    };
    let window = || BlockKind::Window {
        tasks: vec![Entry::of("m1")],
        times: 2,
    };
    let flow = || BlockKind::Flow {
        steps: vec![Entry::of("m1")],
    };
    let mut wrong = Vec::new();
    for (name, plan) in [
        ("work of an interlude", with(interlude(), |_| {})),
        (
            "sides of a window",
            with(window(), |b| b.sides = Sides::Half),
        ),
        ("break of a flow", with(flow(), |b| b.pause = 9.into())),
        ("change of a window", with(window(), |b| b.change = 3)),
        (
            "work of a window's task",
            with(window(), |b| {
                if let BlockKind::Window { tasks, .. } = &mut b.kind {
                    tasks[0].work = 9.into();
                }
            }),
        ),
    ] {
        if plan.validate().is_err() {
            continue;
        }
        let by_file = Plan::from_json(&plan.to_json()).unwrap();
        let by_link = decode(&encode(&plan)).unwrap();
        if by_file.digest() != plan.digest() || by_link.digest() != plan.digest() {
            wrong.push(name);
        }
    }
    assert!(
        wrong.is_empty(),
        "accepted, and changed on the way: {wrong:?}"
    );
}

// ---- Hostile files ----

/// Whatever is read is refused, or is a plan that holds its own limits and leads back to itself.
fn good_or_refused(text: &str) -> Result<(), TestCaseError> {
    let Ok((plan, _)) = Plan::read(text) else {
        return Ok(());
    };
    prop_assert_eq!(plan.validate().map(|_| ()), Ok(()));
    prop_assert_eq!(Plan::from_json(&plan.to_json()).unwrap(), plan.clone());
    let timeline = Timeline::new(&plan);
    prop_assert!((1..=12 * 3_600_000).contains(&timeline.total_ms()));
    prop_assert!(timeline.segments().len() <= 5_000);
    prop_assert_eq!(timeline.total_ms(), i64::from(length(&plan)) * 1000);
    Ok(())
}

#[derive(Clone, Debug)]
enum Harm {
    Delete(usize),
    Double(usize),
    Replace(char),
    Number(&'static str),
    Type(&'static str),
}

const NUMBERS: &[&str] = &[
    "0",
    "1",
    "99",
    "100",
    "3600",
    "3601",
    "43200",
    "4294967295",
    "4294967296",
    "99999999999999999999999",
    "1e9",
    "1e999",
    "-1",
    "-0",
    "0.5",
    "2.0",
];

const VALUES: &[&str] = &[
    "null",
    "true",
    "0",
    "-7",
    "1.5",
    "4294967295",
    "\"\"",
    "\"m0\"",
    "\"ladder\"",
    "\"interlude\"",
    "[]",
    "{}",
    "[[]]",
    "[7, 8, 9]",
    "{\"move\": \"m0\", \"marks\": [{\"at\": 4294967295, \"say\": \"\"}]}",
];

fn harm() -> impl Strategy<Value = (Index, Harm)> {
    let harm = prop_oneof![
        (1..6usize).prop_map(Harm::Delete),
        (1..20usize).prop_map(Harm::Double),
        prop_oneof![
            select(vec![
                '"', '\\', '{', '}', '[', ']', ',', ':', '9', '-', 'e', '\u{0}', '\u{7f}'
            ]),
            any::<char>(),
        ]
        .prop_map(Harm::Replace),
        select(NUMBERS).prop_map(Harm::Number),
        select(VALUES).prop_map(Harm::Type),
    ];
    (any::<Index>(), harm)
}

/// Does harm to a text, by characters.
fn harmed(text: &str, at: &Index, harm: &Harm) -> String {
    if let Harm::Type(value) = harm {
        return retyped(text, at, value);
    }
    let mut chars: Vec<char> = text.chars().collect();
    if chars.is_empty() {
        return String::new();
    }
    let at = at.index(chars.len());
    match harm {
        Harm::Delete(n) => {
            chars.drain(at..(at + n).min(chars.len()));
        }
        Harm::Double(n) => {
            let piece = chars[at..(at + n).min(chars.len())].to_vec();
            chars.splice(at..at, piece);
        }
        Harm::Replace(with) => chars[at] = *with,
        Harm::Number(number) => {
            let digit = |c: &char| c.is_ascii_digit();
            let ahead = chars[at..].iter().position(digit).map(|by| at + by);
            if let Some(from) = ahead.or_else(|| chars.iter().position(digit)) {
                let len = chars[from..].iter().take_while(|c| digit(c)).count();
                chars.splice(from..from + len, number.chars());
            }
        }
        Harm::Type(_) => {}
    }
    chars.into_iter().collect()
}

/// Puts a value of any type in the place of one of a JSON text's values.
fn retyped(text: &str, at: &Index, with: &str) -> String {
    fn each<'v>(value: &'v mut Value, f: &mut dyn FnMut(&mut Value)) {
        f(value);
        match value {
            Value::Array(list) => list.iter_mut().for_each(|item| each(item, f)),
            Value::Object(map) => map.values_mut().for_each(|item| each(item, f)),
            _ => {}
        }
    }
    let Ok(mut value) = serde_json::from_str::<Value>(text) else {
        return text.to_owned();
    };
    let mut count = 0usize;
    each(&mut value, &mut |_| count += 1);
    let (at, mut now) = (at.index(count), 0usize);
    let with: Value = serde_json::from_str(with).unwrap();
    let mut put = Some(with);
    each(&mut value, &mut |here| {
        if now == at
            && let Some(with) = put.take()
        {
            *here = with;
        }
        now += 1;
    });
    value.to_string()
}

proptest! {
    #![proptest_config(cases(512))]

    #[test]
    fn any_text_is_read_or_refused(text in any::<String>()) {
        good_or_refused(&text)?;
    }

    #[test]
    fn any_bytes_are_read_or_refused(bytes in vec(any::<u8>(), 0..200)) {
        good_or_refused(&String::from_utf8_lossy(&bytes))?;
    }

    #[test]
    fn a_harmed_file_is_read_or_refused(plan in plan(), harms in vec(harm(), 1..4)) {
        let mut text = plan.to_json();
        for (at, harm) in &harms {
            text = harmed(&text, at, harm);
        }
        good_or_refused(&text)?;
    }
}

#[test]
fn a_file_that_is_nested_without_end_is_refused() {
    for (open, close) in [("[", "]"), ("{\"a\":", "}")] {
        let deep = format!("{}0{}", open.repeat(20_000), close.repeat(20_000));
        assert!(Plan::from_json(&deep).is_err());
        let inside = format!(
            r#"{{"format":"rungbook-plan","version":1,"title":"t","moves":{deep},"blocks":[]}}"#
        );
        assert!(Plan::from_json(&inside).is_err());
    }
}

// ---- The link ----

const ALPHABET: &str = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789-_";

proptest! {
    #![proptest_config(cases(192))]

    #[test]
    fn a_link_brings_the_plan_back(plan in plan()) {
        let link = encode(&plan);
        prop_assert!(link.chars().all(|c| ALPHABET.contains(c)));
        let back = decode(&link);
        prop_assert_eq!(back.as_ref(), Ok(&plan));
        prop_assert_eq!(encode(&plan), link);
    }

    #[test]
    fn a_changed_character_is_noticed(
        plan in plan(),
        changes in vec((any::<Index>(), any::<Index>()), 12),
        foreign in any::<char>(),
    ) {
        let link: Vec<char> = encode(&plan).chars().collect();
        let alphabet: Vec<char> = ALPHABET.chars().chain(['=', '+', '/', '%', ' ', foreign]).collect();
        for (at, with) in changes {
            let mut changed = link.clone();
            let (at, with) = (at.index(link.len()), *with.get(&alphabet));
            if changed[at] == with {
                continue;
            }
            changed[at] = with;
            let changed: String = changed.into_iter().collect();
            prop_assert!(decode(&changed).is_err(), "{:?} at {}", with, at);
        }
    }

    #[test]
    fn a_cut_or_prolonged_link_is_noticed(plan in plan(), tail in "[A-Za-z0-9_-]{1,9}") {
        let link = encode(&plan);
        for len in 0..link.len() {
            prop_assert!(decode(&link[..len]).is_err(), "cut to {} of {}", len, link.len());
        }
        prop_assert!(decode(&link[1..]).is_err());
        prop_assert!(decode(&(link.clone() + &tail)).is_err());
        prop_assert!(decode(&(tail + &link)).is_err());
        prop_assert!(decode(&link.repeat(2)).is_err());
    }

    #[test]
    fn a_wrapped_link_is_whole(plan in plan(), at in any::<Index>()) {
        let link = encode(&plan);
        let (a, b) = link.split_at(at.index(link.len()));
        let back = decode(&format!(" {a}\r\n {b}\n"));
        prop_assert_eq!(back, Ok(plan));
    }
}

proptest! {
    #![proptest_config(cases(512))]

    #[test]
    fn any_text_is_a_link_or_refused(text in any::<String>(), ours in "A[Q-T][A-Za-z0-9_-]{0,80}") {
        prop_assert!(decode(&text).is_err());
        prop_assert!(decode(&ours).is_err());
    }

    #[test]
    fn a_harmed_link_is_refused(plan in plan(), harms in vec(harm(), 1..4)) {
        let link = encode(&plan);
        let mut text = link.clone();
        for (at, harm) in &harms {
            text = harmed(&text, at, harm);
        }
        match decode(&text) {
            Ok(back) => prop_assert_eq!(back, plan, "{} became {}", link, text),
            Err(e) => prop_assert!(!e.to_string().is_empty()),
        }
    }

    /// A link that arrives whole, but was made by someone who means harm: its check value is right
    /// and what it holds is not.
    #[test]
    fn a_hostile_link_is_refused_or_a_good_plan(
        plan in plan(),
        harms in vec((any::<Index>(), byte_harm()), 1..4),
    ) {
        let mut held = unpacked(&encode(&plan));
        for (at, harm) in &harms {
            harm_bytes(&mut held, at, harm);
        }
        if let Ok(plan) = decode(&packed(&held)) {
            prop_assert_eq!(plan.validate().map(|_| ()), Ok(()));
            let timeline = Timeline::new(&plan);
            prop_assert!((1..=12 * 3_600_000).contains(&timeline.total_ms()));
            prop_assert!(timeline.segments().len() <= 5_000);
            let again = decode(&encode(&plan));
            prop_assert_eq!(again, Ok(plan));
        }
    }

    #[test]
    fn any_bytes_in_a_whole_link_are_refused_or_a_good_plan(bytes in vec(any::<u8>(), 0..120)) {
        if let Ok(plan) = decode(&packed(&bytes)) {
            prop_assert_eq!(plan.validate().map(|_| ()), Ok(()));
        }
        // The same behind a good start, and as what the packing holds.
        let mut head = vec![1, bytes.len() as u8];
        head.extend(crc_32(&head, &bytes).to_le_bytes());
        head.extend(&bytes);
        prop_assert!(decode(&URL_SAFE_NO_PAD.encode(head)).is_err());
    }
}

#[test]
fn a_link_is_made_as_its_form_says() {
    for file in ["harbour-lunch", "quay-pyramid", "chair-class"] {
        let plan = common::plan_file(&format!("src/demos/{file}.json"));
        let held = unpacked(&encode(&plan));
        assert_eq!(decode(&packed(&held)), Ok(plan), "{file}");
    }
}

/// The check value of RFC 1952's CRC-32 (CRC-32/ISO-HDLC) is catalogued as 0xCBF43926.
#[test]
fn the_check_of_a_link_is_the_published_one() {
    assert_eq!(crc_32(b"1234", b"56789"), 0xcbf4_3926);
}

/// CRC-32 (ISO-HDLC) bit by bit: polynomial 0x04C11DB7, reflected, all ones in and out.
fn crc_32(head: &[u8], body: &[u8]) -> u32 {
    const REFLECTED: u32 = 0x04C1_1DB7_u32.reverse_bits();
    !head.iter().chain(body).fold(u32::MAX, |crc, byte| {
        (0..8).fold(crc ^ u32::from(*byte), |crc, _| {
            let carry = crc & 1 == 1;
            if carry {
                (crc >> 1) ^ REFLECTED
            } else {
                crc >> 1
            }
        })
    })
}

/// What a link holds: its text, without base64url, head and packing.
fn unpacked(link: &str) -> Vec<u8> {
    let bytes = URL_SAFE_NO_PAD.decode(link).unwrap();
    assert_eq!(bytes[0], 1, "the version");
    let len_bytes = bytes[1..].iter().take_while(|b| **b >= 0x80).count() + 1;
    let body = &bytes[1 + len_bytes + 4..];
    let start = dictionary::DICTIONARY.len();
    let mut out = dictionary::DICTIONARY.as_bytes().to_vec();
    out.resize(start + 65_536, 0);
    let mut state = DecompressorOxide::new();
    let flags = inflate_flags::TINFL_FLAG_USING_NON_WRAPPING_OUTPUT_BUF;
    let (status, read, len) = decompress(&mut state, body, &mut out, start, flags);
    assert_eq!((status, read), (TINFLStatus::Done, body.len()));
    out[start..start + len].to_vec()
}

/// A whole link that holds these bytes.
fn packed(held: &[u8]) -> String {
    // Packed bytes that do not refer to the dictionary are packed bytes all the same.
    let body = compress_to_vec(held, 6);
    let mut bytes = vec![1];
    let mut len = body.len();
    while len >= 0x80 {
        bytes.push(len as u8 | 0x80);
        len >>= 7;
    }
    bytes.push(len as u8);
    bytes.extend(crc_32(&bytes, &body).to_le_bytes());
    bytes.extend(body);
    URL_SAFE_NO_PAD.encode(bytes)
}

#[derive(Clone, Debug)]
enum ByteHarm {
    Delete(usize),
    Double(usize),
    Replace(u8),
    Number(&'static [u8]),
}

/// Numbers that a link holds are seven bits a byte, the lowest first: here 2^32 - 1, 2^31, 5001,
/// 201, 100, 3,601 and one that never ends.
const LONG_NUMBERS: &[&[u8]] = &[
    &[0xff, 0xff, 0xff, 0xff, 0x0f],
    &[0x80, 0x80, 0x80, 0x80, 0x08],
    &[0x89, 0x27],
    &[0xc9, 0x01],
    &[0x64],
    &[0x91, 0x1c],
    &[0xff, 0xff, 0xff, 0xff, 0xff, 0xff],
];

fn byte_harm() -> impl Strategy<Value = ByteHarm> {
    prop_oneof![
        1 => (1..4usize).prop_map(ByteHarm::Delete),
        1 => (1..20usize).prop_map(ByteHarm::Double),
        3 => select(vec![0, 1, 2, 3, 4, 7, 0x20, 0x7f, 0x80, 0xff]).prop_map(ByteHarm::Replace),
        3 => any::<u8>().prop_map(ByteHarm::Replace),
        3 => select(LONG_NUMBERS).prop_map(ByteHarm::Number),
    ]
}

fn harm_bytes(bytes: &mut Vec<u8>, at: &Index, harm: &ByteHarm) {
    if bytes.is_empty() {
        return;
    }
    // Numbers stand first: harm done to the texts alone would teach little.
    let at = at.index(bytes.len().min(120));
    match harm {
        ByteHarm::Delete(n) => {
            bytes.drain(at..(at + n).min(bytes.len()));
        }
        ByteHarm::Double(n) => {
            let piece = bytes[at..(at + n).min(bytes.len())].to_vec();
            bytes.splice(at..at, piece);
        }
        ByteHarm::Replace(with) => bytes[at] = *with,
        ByteHarm::Number(number) => {
            bytes.splice(at..=at, number.iter().copied());
        }
    }
}
