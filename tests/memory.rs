//! What a link may make the app allocate: no input takes more than 1 MiB at a time.
//!
//! Alone in its file, since the measure is of the whole process.
#![cfg(not(target_arch = "wasm32"))]
#![allow(clippy::expect_used, missing_docs)]

use peak_alloc::PeakAlloc;
use rungbook::link::{decode, encode};
use rungbook::plan::{Block, BlockKind, ByRound, Entry, Mark, Move, Plan, limits};

#[global_allocator]
static ALLOC: PeakAlloc = PeakAlloc;

fn peak_of_decoding(link: &str) -> usize {
    let before = ALLOC.current_usage();
    ALLOC.reset_peak_usage();
    let decoded = decode(link);
    let peak = ALLOC.peak_usage() - before;
    drop(decoded);
    peak
}

fn a_move(i: usize) -> Move {
    Move {
        id: format!("a-move-with-a-very-long-id-{i:05}").as_str().into(),
        name: "x".to_owned(),
        ..Move::default()
    }
}

fn block(steps: Vec<Entry>) -> Block {
    Block {
        work: ByRound(vec![1]),
        ..Block::new(BlockKind::Flow { steps })
    }
}

/// Plans that ask for as much as a link can: as many as possible of what costs most.
fn greedy() -> Vec<(&'static str, Plan)> {
    let moves: Vec<_> = (0..limits::MOVES).map(a_move).collect();
    let entry = |i: usize| Entry::of(&moves[i % moves.len()].id);
    let plan = |moves: &[Move], blocks| Plan {
        title: "t".to_owned(),
        moves: moves.to_vec(),
        blocks,
        ..Plan::default()
    };
    let mut notes = moves.clone();
    for one in &mut notes {
        one.notes = vec!["n".to_owned(); limits::DETAILS / limits::MOVES];
    }
    let full = |i: usize| Entry {
        work: ByRound(vec![1, 2]),
        marks: vec![Mark::default()],
        ..entry(i)
    };
    let rungs = (0..99)
        .map(|i| (0..50).map(|k| entry(i + k)).collect())
        .collect();
    let ladder = Block {
        work: ByRound(vec![1]),
        ..Block::new(BlockKind::Ladder {
            rungs,
            direction: rungbook::plan::Direction::Up,
        })
    };
    let window = Block {
        work: ByRound(vec![1]),
        ..Block::new(BlockKind::Window {
            tasks: (0..limits::ENTRIES).map(entry).collect(),
            times: 99,
        })
    };
    // With short ids the file stays within its limit, so that the plan is laid out too.
    let short: Vec<_> = (0..limits::MOVES)
        .map(|i| Move {
            id: format!("{i}").as_str().into(),
            ..a_move(i)
        })
        .collect();
    let short_steps = (0..4_990).map(|i| Entry::of(&short[i % 10].id)).collect();
    vec![
        (
            "short entries",
            plan(&short[..10], vec![block(short_steps)]),
        ),
        (
            "entries",
            plan(
                &moves,
                vec![block((0..limits::ENTRIES).map(entry).collect())],
            ),
        ),
        (
            "full entries",
            plan(
                &moves,
                vec![block((0..limits::ENTRIES).map(full).collect())],
            ),
        ),
        (
            "too many entries",
            plan(&moves, vec![block((0..30_000).map(entry).collect())]),
        ),
        (
            "entries and notes",
            plan(
                &notes,
                vec![block((0..limits::ENTRIES).map(entry).collect())],
            ),
        ),
        ("a ladder", plan(&moves, vec![ladder])),
        ("a window", plan(&moves, vec![window])),
        (
            "many blocks",
            plan(
                &moves,
                (0..limits::BLOCKS).map(|i| block(vec![full(i)])).collect(),
            ),
        ),
    ]
}

#[test]
fn no_link_takes_more_than_a_mebibyte() {
    const MOST: usize = 1 << 20;
    let mut worst = 0;
    for (what, plan) in greedy() {
        let link = encode(&plan);
        let peak = peak_of_decoding(&link);
        println!(
            "{what}: {} characters, {peak} bytes at most, accepted: {}",
            link.len(),
            decode(&link).is_ok()
        );
        assert!(peak <= MOST, "{what}: {peak} bytes");
        worst = worst.max(peak);
        // Damage after the checksum was right would be another plan; before it, nothing is read.
        assert!(peak_of_decoding(&link[..link.len() / 2]) <= MOST);
    }
    // The measure measures: the largest plan does take some hundred kilobytes.
    assert!(worst > 200_000, "{worst}");
    for text in [
        "A".repeat(10_000_000),
        "AQ".repeat(40_000),
        "é".repeat(40_000),
    ] {
        assert!(peak_of_decoding(&text) <= MOST);
    }
}

/// Prints the lengths of the demos' links: the README quotes them.
#[test]
fn the_demos_are_short_links() {
    for (name, file, most) in [
        (
            "harbour-lunch",
            include_str!("../src/demos/harbour-lunch.json"),
            1_500,
        ),
        (
            "quay-pyramid",
            include_str!("../src/demos/quay-pyramid.json"),
            2_000,
        ),
        (
            "chair-class",
            include_str!("../src/demos/chair-class.json"),
            2_000,
        ),
    ] {
        let link = encode(&Plan::from_json(file).expect("a good plan"));
        println!("{name}: {} characters", link.len());
        // Some messengers stop linking beyond 2,000 characters or so (PLATFORM notes, inferred).
        assert!(link.len() <= most, "{name}: {}", link.len());
    }
}
