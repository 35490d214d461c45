//! How long the core takes on this machine. `make bench` puts the medians beside the design's goals;
//! a time is a figure here and never a failed test.
#![cfg(not(target_arch = "wasm32"))]
#![allow(clippy::unwrap_used, missing_docs)]

use std::collections::BTreeMap;
use std::fs;
use std::hint::black_box;
use std::path::Path;
use std::time::Duration;

use criterion::{Criterion, Throughput};
use rungbook::link;
use rungbook::plan::{Block, BlockKind, ByRound, Entry, Move, Plan, limits};
use rungbook::timeline::{Segment, Timeline};

/// Lookups in one measured pass: enough that the loop around them does not show.
const LOOKUPS: usize = 1_024;

fn class(blocks: Vec<Block>) -> Plan {
    let moves = (0..10).map(|i| Move {
        id: format!("move-{i}").as_str().into(),
        name: format!("Move {i}"),
        ..Move::default()
    });
    Plan {
        title: "As many segments as wanted".to_owned(),
        ready: 0,
        moves: moves.collect(),
        blocks,
        ..Plan::default()
    }
}

fn block(kind: BlockKind) -> Block {
    Block {
        work: ByRound(vec![8]),
        rest: ByRound(vec![2]),
        after: 5,
        ..Block::new(kind)
    }
}

fn entry(i: usize) -> Entry {
    Entry::of(&format!("move-{}", i % 10))
}

/// Circuits of equal size: each entry is a work and the gap behind it, so two segments a round.
fn circuits(blocks: usize, moves: usize, rounds: u32) -> Plan {
    let circuit = || Block {
        pause: ByRound(vec![5]),
        ..block(BlockKind::Rounds {
            moves: (0..moves).map(entry).collect(),
            rounds,
        })
    };
    class((0..blocks).map(|_| circuit()).collect())
}

/// A plan that repeats nothing: every segment of work is an entry of the file.
fn written_out(entries: usize) -> Plan {
    class(vec![block(BlockKind::Flow {
        steps: (0..entries).map(entry).collect(),
    })])
}

/// The demo of half an hour, done over and over until the class is longer than an hour.
fn over_an_hour(demo: &Plan) -> Plan {
    let mut plan = demo.clone();
    plan.id = String::new();
    plan.slot = None;
    while Timeline::new(&plan).total_ms() < 65 * 60_000 {
        plan.blocks.extend(demo.blocks.iter().cloned());
    }
    plan
}

/// Times all over a class, in an order that no branch predictor learns (a linear congruential
/// generator with Knuth's MMIX constants, from memory: any odd multiplier would do).
fn times(timeline: &Timeline) -> Vec<i64> {
    let mut state: u64 = 1;
    let mut next = || {
        state = state
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        (state >> 33) as i64 % timeline.total_ms()
    };
    (0..LOOKUPS).map(|_| next()).collect()
}

fn linear(timeline: &Timeline, ms: i64) -> Option<&Segment> {
    timeline.segments().iter().find(|s| ms < s.end_ms)
}

fn main() {
    let demo = link::decode(rungbook::demos::DEMOS[0]).unwrap();
    let large = circuits(10, 10, 25);
    let small = circuits(1, 5, 5);
    let long = written_out(limits::SEGMENTS / 2);
    for (plan, segments) in [
        (&large, limits::SEGMENTS),
        (&small, 50),
        (&long, limits::SEGMENTS),
    ] {
        plan.validate().unwrap();
        assert_eq!(Timeline::new(plan).segments().len(), segments);
    }

    // What tools/measure.mjs opens in the browser.
    let links = BTreeMap::from([
        ("over-an-hour", link::encode(&over_an_hour(&demo))),
        // Equal but for the rounds: what opening them differs in is the work that segments make.
        ("5,000 segments", link::encode(&large)),
        ("200 segments", link::encode(&circuits(10, 10, 1))),
    ]);
    let target = Path::new(env!("CARGO_MANIFEST_DIR")).join("target");
    fs::create_dir_all(&target).unwrap();
    fs::write(
        target.join("bench-links.json"),
        serde_json::to_string_pretty(&links).unwrap(),
    )
    .unwrap();

    let mut c = Criterion::default()
        .warm_up_time(Duration::from_millis(300))
        .measurement_time(Duration::from_secs(1))
        .configure_from_args();
    for (name, plan) in [
        ("compile 5000 of circuits", &large),
        ("compile 5000 written out", &long),
        ("compile 50 of circuits", &small),
        ("compile the demo", &demo),
    ] {
        c.bench_function(name, |b| b.iter(|| Timeline::new(black_box(plan))));
    }

    let mut lookups = c.benchmark_group("1024 lookups");
    lookups.throughput(Throughput::Elements(LOOKUPS as u64));
    for (size, plan) in [("5000", &large), ("50", &small)] {
        let timeline = Timeline::new(plan);
        let times = times(&timeline);
        for ms in &times {
            assert_eq!(timeline.at(*ms), linear(&timeline, *ms));
        }
        lookups.bench_function(format!("at in {size}"), |b| {
            b.iter(|| {
                for ms in &times {
                    black_box(timeline.at(black_box(*ms)));
                }
            });
        });
        lookups.bench_function(format!("linear in {size}"), |b| {
            b.iter(|| {
                for ms in &times {
                    black_box(linear(&timeline, black_box(*ms)));
                }
            });
        });
    }
    lookups.finish();

    let text = link::encode(&demo);
    c.bench_function("encode the demo", |b| {
        b.iter(|| link::encode(black_box(&demo)))
    });
    c.bench_function("decode the demo", |b| {
        b.iter(|| link::decode(black_box(&text)))
    });
    c.final_summary();
}
