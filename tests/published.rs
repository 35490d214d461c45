//! The main job against the literature: protocols with published timings, as plan files, must run
//! for as long as their sources say. Beside them facts of the trade, and the demo classes against
//! their slots.
//!
//! The totals are plain arithmetic on the published work and rest times. How well each time is
//! known is said beside it: "read" in the source or its abstract, "second hand" in a secondary
//! transcription, "from memory".
#![cfg(not(target_arch = "wasm32"))]
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, missing_docs)]

mod common;

use common::plan_file;
use rungbook::cue::{Call, CallLevel, Calling, calls};
use rungbook::demos::DEMOS;
use rungbook::link::decode;
use rungbook::plan::{Plan, Sides};
use rungbook::timeline::{SegmentKind, Timeline, Ways};

struct Published {
    file: &'static str,
    /// Work segments.
    times: usize,
    /// Seconds of one.
    work: i64,
    /// Seconds between two.
    rest: i64,
    /// Totals, as (minutes, seconds): work, rest without the last one, all without it, all with it.
    totals: [(i64, i64); 4],
}

#[track_caller]
fn check(published: &Published) {
    let file = published.file;
    let [work, rest, without_last, with_last] = published.totals.map(|(m, s)| (m * 60 + s) * 1000);
    let mut plan = plan_file(&format!("tests/plans/{file}.json"));

    let timeline = Timeline::new(&plan);
    let lengths = |kinds: &[SegmentKind]| -> Vec<i64> {
        let of_kinds = timeline
            .segments()
            .iter()
            .filter(|s| kinds.contains(&s.kind));
        of_kinds.map(|s| s.len_ms()).collect()
    };
    let works = lengths(&[SegmentKind::Work]);
    assert_eq!(
        works,
        vec![published.work * 1000; published.times],
        "{file}"
    );
    let rests = lengths(&[SegmentKind::Rest, SegmentKind::Break]);
    assert_eq!(
        rests,
        vec![published.rest * 1000; published.times - 1],
        "{file}"
    );
    let totals = timeline.totals();
    assert_eq!(totals.work, work, "{file}: work");
    assert_eq!(totals.rest + totals.pause, rest, "{file}: rest");
    assert_eq!(
        timeline.total_ms(),
        without_last,
        "{file}: without the last rest"
    );
    assert_eq!(work + rest, without_last, "{file}: the published totals");
    // Nothing but the protocol is in the file.
    assert_eq!(
        totals.work + totals.rest + totals.pause,
        totals.all(),
        "{file}"
    );

    plan.blocks.last_mut().unwrap().after = u32::try_from(published.rest).unwrap();
    plan.validate().unwrap();
    let timeline = Timeline::new(&plan);
    assert_eq!(timeline.total_ms(), with_last, "{file}: with the last rest");
    assert_eq!(
        timeline.totals().work,
        work,
        "{file}: work, with the last rest"
    );
}

/// Tabata et al. 1996, Med Sci Sports Exerc 28(10):1327-30: 7 to 8 sets of 20 s, 10 s between
/// (second hand).
#[test]
fn twenty_seconds_with_ten_between_seven_and_eight_times() {
    check(&Published {
        file: "protocol-8x20-10",
        times: 8,
        work: 20,
        rest: 10,
        totals: [(2, 40), (1, 10), (3, 50), (4, 0)],
    });
    check(&Published {
        file: "protocol-7x20-10",
        times: 7,
        work: 20,
        rest: 10,
        totals: [(2, 20), (1, 0), (3, 20), (3, 30)],
    });
}

/// Low-volume intervals as in RezkAllah & Takla 2019: 10 times 60 s, 60 s between (read).
#[test]
fn ten_minutes_one_by_one() {
    check(&Published {
        file: "protocol-10x60-60",
        times: 10,
        work: 60,
        rest: 60,
        totals: [(10, 0), (9, 0), (19, 0), (20, 0)],
    });
}

/// Helgerud et al. 2007, Med Sci Sports Exerc 39(4):665-71: 4 times 4 min, 3 min between (read).
#[test]
fn four_times_four_minutes() {
    check(&Published {
        file: "protocol-4x4min-3min",
        times: 4,
        work: 240,
        rest: 180,
        totals: [(16, 0), (9, 0), (25, 0), (28, 0)],
    });
}

/// Klika & Jordan 2013, ACSM Health Fit J 17(3):8-13: 12 moves of 30 s, 10 s between (second
/// hand).
#[test]
fn a_circuit_of_twelve() {
    check(&Published {
        file: "protocol-12x30-10-circuit",
        times: 12,
        work: 30,
        rest: 10,
        totals: [(6, 0), (1, 50), (7, 50), (8, 0)],
    });
}

/// Wingate-type sprint intervals: 4 times 30 s, 4 min between (second hand, partly from memory).
#[test]
fn four_sprints() {
    check(&Published {
        file: "protocol-4x30-4min",
        times: 4,
        work: 30,
        rest: 240,
        totals: [(2, 0), (12, 0), (14, 0), (18, 0)],
    });
}

#[test]
fn every_protocol_file_is_checked_here() {
    let here = include_str!("published.rs");
    let folder = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/plans");
    let mut checked = 0;
    for entry in std::fs::read_dir(folder).unwrap() {
        let name = entry.unwrap().file_name().into_string().unwrap();
        let Some(name) = name.strip_suffix(".json") else {
            continue;
        };
        if name.starts_with("protocol-") {
            assert!(here.contains(&format!("\"{name}\"")), "{name}");
            checked += 1;
        }
    }
    assert_eq!(checked, 6);
}

fn class(moves: &str, blocks: &str) -> Timeline {
    let plan = Plan::from_json(&format!(
        r#"{{"format":"rungbook-plan","version":1,"title":"Practice","ready":10,
            "moves":[{moves}],"blocks":[{blocks}]}}"#
    ));
    Timeline::new(&plan.unwrap())
}

const SIDED: &str = r#"{"id":"lunge","name":"Lunge","sided":true}"#;
const BOTH: &str = r#"{"id":"squat","name":"Squat"},{"id":"row","name":"Row"}"#;

/// Common practice, no source: of a 30 s interval the side change is called at 15 s, ten and five
/// seconds to go are called, and a go and an end are counted in with three, two, one.
#[test]
fn thirty_seconds_change_sides_at_fifteen_and_are_counted_in() {
    let block = r#"{"kind":"flow","steps":["lunge"],"work":30,"sides":"half"}"#;
    let timeline = class(SIDED, block);
    let tones = Calling {
        level: CallLevel::Tones,
        ..Calling::default()
    };
    let calls: Vec<(i64, Call)> = calls(&timeline, &Ways::new(), tones)
        .cues
        .into_iter()
        .map(|cue| ((cue.at_ms - 10_000) / 1000, cue.call))
        .collect();
    assert_eq!(
        calls,
        [
            (-3, Call::Count(3)),
            (-2, Call::Count(2)),
            (-1, Call::Count(1)),
            (0, Call::Go),
            (15, Call::Half),
            (20, Call::Ten),
            (25, Call::Five),
            (27, Call::Count(3)),
            (28, Call::Count(2)),
            (29, Call::Count(1)),
            (30, Call::End),
        ]
    );
}

/// Common practice, no source: a one-sided move is done for the same time on each side.
#[test]
fn one_sided_work_is_the_same_on_each_side() {
    for sides in ["paired", "half", "alternate"] {
        // Alternate sides are balanced over an even number of rounds.
        let block = format!(
            r#"{{"kind":"rounds","moves":["lunge"],"rounds":4,"work":30,"break":10,"sides":"{sides}"}}"#
        );
        let (right, left) = class(SIDED, &block).work_by_side()[&0];
        assert_eq!(right, left, "{sides}");
        assert!(right > 0, "{sides}");
    }
}

/// Common practice, no source: a superset is two moves back to back.
#[test]
fn a_superset_is_two_moves_back_to_back() {
    let block = r#"{"kind":"rounds","moves":["squat","row"],"rounds":3,"work":30,"break":60}"#;
    let timeline = class(BOTH, block);
    let order: Vec<_> = timeline.segments()[1..]
        .iter()
        .map(|s| (s.kind, s.move_at, s.len_ms() / 1000))
        .collect();
    let (work, pause) = (SegmentKind::Work, SegmentKind::Break);
    let round = [(work, Some(0), 30), (work, Some(1), 30), (pause, None, 60)];
    let mut expected = round.repeat(3);
    expected.pop();
    assert_eq!(order, expected);
}

/// The demo classes: each fills its slot to the second, balances its sides, and has nothing in it
/// that is not used.
#[test]
fn the_demo_classes_fill_their_slots_and_balance_their_sides() {
    let mut sided_in_all = 0;
    for demo in DEMOS {
        let plan = decode(demo).unwrap();
        let warnings = plan.validate().unwrap();
        let title = &plan.title;
        assert!(warnings.is_empty(), "{title}: {warnings:?}");
        assert!(
            plan.about.contains("invented"),
            "{title} is not marked as invented"
        );
        let timeline = Timeline::new(&plan);
        let slot = plan.slot.expect("a demo class has a slot");
        assert_eq!(timeline.total_ms(), i64::from(slot) * 1000, "{title}");
        for (of, (right, left)) in timeline.work_by_side() {
            assert_eq!(right, left, "{title}: {}", plan.moves[of].name);
            sided_in_all += 1;
        }
        for (of, one) in plan.moves.iter().enumerate() {
            assert!(
                timeline.move_totals(of).work > 0,
                "{title}: {} is not used",
                one.name
            );
        }
    }
    assert!(
        sided_in_all >= 6,
        "the demo classes hardly show a sided move"
    );
}

/// The demos show what there is: every kind of block, and every way to share the sides.
#[test]
fn the_demo_classes_use_what_there_is() {
    let plans = DEMOS.map(|demo| decode(demo).unwrap());
    let blocks = || plans.iter().flat_map(|plan| &plan.blocks);
    for word in ["flow", "rounds", "ladder", "sets", "interlude"] {
        assert!(blocks().any(|block| block.kind.word() == word), "{word}");
    }
    assert!(blocks().any(|block| block.held));
    assert!(blocks().any(|block| block.sides == Sides::Alternate));
    assert!(blocks().any(|block| block.sides == Sides::Half));
}
