//! The limits of the format, each from both sides: a plan at the limit is accepted, one beyond it
//! is refused and the limit named, whether it comes as a file, as a link or from a program. The
//! numbers are those of the format's text and not the constants under test.
#![cfg(not(target_arch = "wasm32"))]
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, missing_docs)]

mod common;

use std::sync::mpsc;
use std::thread;
use std::time::{Duration, Instant};

use rungbook::link;
use rungbook::plan::{
    Block, BlockKind, ByRound, Choice, Direction, Entry, Id, Kit, Mark, Move, Plan, PlanError,
    limits,
};
use rungbook::timeline::Timeline;

/// The ways by which a plan can arrive.
fn arrivals(plan: &Plan) -> [(&'static str, Result<(), PlanError>); 3] {
    let by_link = match link::decode(&link::encode(plan)) {
        Ok(back) => {
            assert_eq!(&back, plan);
            Ok(())
        }
        Err(link::LinkError::Plan(e)) => Err(e),
        Err(e) => panic!("{e:?}"),
    };
    let by_file = Plan::from_json(&plan.to_json()).map(|back| assert_eq!(&back, plan));
    [
        ("program", plan.validate().map(drop)),
        ("file", by_file),
        ("link", by_link),
    ]
}

#[track_caller]
fn accepted(what: &str, plan: &Plan) {
    for (way, result) in arrivals(plan) {
        assert_eq!(result, Ok(()), "{what}, by {way}");
    }
}

/// Refused at a place, with the limit in the message.
#[track_caller]
fn refused(what: &str, plan: &Plan, place: &str, limit: &str) {
    for (way, result) in arrivals(plan) {
        let Err(e) = result else {
            panic!("{what}, by {way}: accepted");
        };
        let message = e.to_string();
        assert!(
            message.contains(&format!("the limit is {limit}")),
            "{what}, by {way}: {message}"
        );
        // A link is refused as soon as its numbers say so, where the place is not yet known whole.
        match way {
            "link" => assert!(place.starts_with(&e.place), "{what}, by {way}: {message}"),
            _ => assert_eq!(e.place, place, "{what}, by {way}: {message}"),
        }
    }
}

fn a_move(id: &str) -> Move {
    Move {
        id: id.into(),
        name: "Squat".to_owned(),
        ..Move::default()
    }
}

fn class(blocks: Vec<Block>) -> Plan {
    Plan {
        title: "Limits".to_owned(),
        ready: 0,
        moves: vec![a_move("a"), a_move("b")],
        blocks,
        ..Plan::default()
    }
}

fn block(kind: BlockKind, work: u32) -> Block {
    Block {
        work: ByRound::from(work),
        ..Block::new(kind)
    }
}

fn entries(n: usize) -> Vec<Entry> {
    vec![Entry::of("a"); n]
}

fn flow(steps: usize, work: u32) -> Block {
    let steps = entries(steps);
    block(BlockKind::Flow { steps }, work)
}

fn rounds(n: usize, rounds: u32, work: u32) -> Block {
    let moves = entries(n);
    block(BlockKind::Rounds { moves, rounds }, work)
}

fn sets(n: usize, sets: u32, work: u32) -> Block {
    let moves = entries(n);
    block(BlockKind::Sets { moves, sets }, work)
}

fn window(n: usize, times: u32, work: u32) -> Block {
    let tasks = entries(n);
    block(BlockKind::Window { tasks, times }, work)
}

fn ladder(n: usize, direction: Direction, work: u32) -> Block {
    let rungs = vec![entries(1); n];
    block(BlockKind::Ladder { rungs, direction }, work)
}

#[test]
fn the_constants_are_those_of_the_format() {
    assert_eq!(limits::JSON_BYTES, 65_536);
    assert_eq!(limits::CLASS_MS, 43_200_000);
    assert_eq!(limits::SEGMENTS, 5_000);
    assert_eq!(limits::MOVES, 200);
    assert_eq!(limits::BLOCKS, 200);
    assert_eq!(limits::TEXT_CHARS, 500);
    assert_eq!(limits::ROUNDS, 99);
    assert_eq!(limits::SEGMENT_SECONDS, 3_600);
}

// ---- 64 KiB of JSON ----

/// A class whose file is so many bytes, of text that hardly packs.
fn of_bytes(bytes: usize) -> Plan {
    let mut plan = class(vec![flow(1, 20)]);
    // The numbers of a linear congruential generator (those of Knuth's MMIX), as letters.
    let mut seed = 7u64;
    let mut letter = || {
        seed = seed
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        const LETTERS: &[u8] = b"abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789+/";
        char::from(LETTERS[(seed >> 58) as usize])
    };
    let mut note = |len: usize| (0..len).map(|_| letter()).collect::<String>();
    plan.moves[0].notes.push(String::new());
    loop {
        let missing = bytes - plan.to_json().len();
        let notes = &mut plan.moves[0].notes;
        // A further note costs two quotes and a comma.
        if missing > 503 + 3 {
            notes.push(note(500));
        } else if missing > 500 {
            notes.push(note(missing / 2));
        } else {
            *notes.first_mut().unwrap() = note(missing);
            break;
        }
    }
    assert_eq!(plan.to_json().len(), bytes);
    plan
}

#[test]
fn a_plan_may_have_64_kib_of_json() {
    accepted("65,536 bytes", &of_bytes(65_536));
    refused("65,537 bytes", &of_bytes(65_537), "", "65536 (64 KiB)");
}

#[test]
fn white_space_of_a_file_does_not_count_as_json() {
    let json = of_bytes(65_536).to_json();
    let spaced = format!("{}{json}\n", " ".repeat(60_000));
    assert_eq!(Plan::from_json(&spaced), Plan::from_json(&json));
    let e = Plan::from_json(&" ".repeat(10_000_000)).unwrap_err();
    assert!(e.to_string().contains("the limit is"), "{e}");
}

// ---- 12 hours ----

#[test]
fn a_class_may_last_12_hours() {
    accepted("12 h of work", &class(vec![flow(12, 3_600)]));
    let mut with_ready = class(vec![flow(11, 3_600), flow(1, 3_590)]);
    with_ready.ready = 10;
    accepted("12 h with the ready time", &with_ready);
    with_ready.ready = 11;
    refused(
        "a second more of ready",
        &with_ready,
        "",
        "43200 (12 hours)",
    );
    let mut with_after = class(vec![flow(12, 3_600)]);
    with_after.blocks[0].after = 1;
    refused(
        "a second more at the end",
        &with_after,
        "",
        "43200 (12 hours)",
    );
    let mut with_demo = class(vec![flow(12, 3_600)]);
    with_demo.moves[0].demo = 1;
    refused("a second more of demo", &with_demo, "", "43200 (12 hours)");
    refused(
        "99 hours",
        &class(vec![rounds(1, 99, 3_600)]),
        "",
        "43200 (12 hours)",
    );
}

// ---- 5,000 segments ----

#[test]
fn a_class_may_have_5000_segments_in_any_shape() {
    let with = |mut block: Block, rest: u32, pause: u32| {
        block.rest = rest.into();
        block.pause = pause.into();
        block
    };
    let mut sided = class(vec![flow(1_250, 1)]);
    sided.moves[0].sided = true;
    sided.blocks[0].change = 1;
    sided.blocks[0].rest = 1.into();
    sided.ready = 1; // 1,250 x 3 of work and change, 1,249 of rest, 1 of ready
    let interludes = Block::new(BlockKind::Interlude {
        lasts: 1,
        say: String::new(),
    });
    let shapes = [
        ("steps", class(vec![flow(5_000, 8)])),
        ("rounds", class(vec![rounds(50, 99, 8), flow(50, 8)])),
        (
            "rounds of one",
            class([vec![rounds(1, 99, 1); 50], vec![flow(50, 1)]].concat()),
        ),
        ("sets", class(vec![sets(50, 99, 8), flow(50, 8)])),
        (
            "windows",
            class([vec![window(3, 99, 1); 50], vec![flow(50, 1)]].concat()),
        ),
        (
            "a ladder up",
            class(vec![ladder(99, Direction::Up, 8), flow(50, 8)]),
        ),
        (
            "a ladder down",
            class(vec![ladder(99, Direction::Down, 8), flow(50, 8)]),
        ),
        (
            "ladders up and down",
            class(vec![
                ladder(50, Direction::UpDown, 8),
                ladder(50, Direction::UpDown, 8),
            ]),
        ),
        // 50 x (50 + 49) with 49 breaks between, then one more.
        (
            "gaps",
            class(vec![with(rounds(50, 50, 1), 1, 1), flow(1, 1)]),
        ),
        ("pairs", sided),
        (
            "interludes",
            class([vec![interludes; 199], vec![flow(4_801, 1)]].concat()),
        ),
    ];
    for (what, mut plan) in shapes {
        // What is short of the limit is filled up.
        let short = 5_000 - Timeline::new(&plan).segments().len();
        if short > 0 {
            plan.blocks.push(flow(short, 1));
        }
        accepted(what, &plan);
        let timeline = Timeline::new(&plan);
        assert_eq!(timeline.segments().len(), 5_000, "{what}");
        assert!(short <= 50, "{what} is hardly a shape: {short} short");
        plan.blocks.last_mut().unwrap().after = 1;
        refused(what, &plan, "", "5000");
    }
}

// ---- 200 moves, 200 blocks ----

#[test]
fn a_plan_may_have_200_moves() {
    let with = |n: usize| {
        let mut plan = class(vec![block(
            BlockKind::Flow {
                steps: vec![Entry::of("m0")],
            },
            20,
        )]);
        plan.moves = (0..n).map(|i| a_move(&format!("m{i}"))).collect();
        plan
    };
    accepted("200 moves", &with(200));
    refused("201 moves", &with(201), "moves", "200");
}

#[test]
fn a_plan_may_have_200_blocks() {
    accepted("200 blocks", &class(vec![flow(1, 20); 200]));
    refused(
        "201 blocks",
        &class(vec![flow(1, 20); 201]),
        "blocks",
        "200",
    );
}

// ---- 500 characters ----

#[test]
fn a_text_may_have_500_characters_wherever_it_stands() {
    fn put(place: &str, text: String) -> Plan {
        let mut plan = class(vec![
            flow(1, 20),
            Block::new(BlockKind::Interlude {
                lasts: 20,
                say: String::new(),
            }),
        ]);
        plan.kit.push(Kit {
            id: "mat".into(),
            name: String::new(),
            instead: vec![String::new()],
        });
        plan.moves[0].notes = vec![String::new()];
        plan.moves[0].options = vec![Choice {
            id: "easy".into(),
            notes: vec![String::new()],
            ..Choice::default()
        }];
        let BlockKind::Flow { steps } = &mut plan.blocks[0].kind else {
            panic!("a flow");
        };
        steps[0].notes = vec![String::new()];
        steps[0].marks = vec![Mark {
            at: 5,
            say: String::new(),
        }];
        let step = &mut steps[0];
        let option = &mut plan.moves[0].options[0];
        *match place {
            "title" => &mut plan.title,
            "coach" => &mut plan.coach,
            "about" => &mut plan.about,
            "kit[0].name" => &mut plan.kit[0].name,
            "kit[0].instead[0]" => &mut plan.kit[0].instead[0],
            "moves[0].options[0].name" => &mut option.name,
            "moves[0].options[0].notes[0]" => &mut option.notes[0],
            "moves[0].name" => &mut plan.moves[0].name,
            "moves[0].how" => &mut plan.moves[0].how,
            "moves[0].notes[0]" => &mut plan.moves[0].notes[0],
            "moves[0].caution" => &mut plan.moves[0].caution,
            "blocks[0].steps[0].notes[0]" => &mut step.notes[0],
            "blocks[0].steps[0].marks[0].say" => &mut step.marks[0].say,
            "blocks[0].name" => &mut plan.blocks[0].name,
            "blocks[1].say" => match &mut plan.blocks[1].kind {
                BlockKind::Interlude { say, .. } => say,
                _ => panic!("an interlude"),
            },
            _ => panic!("{place}"),
        } = text;
        plan
    }
    for place in [
        "title",
        "coach",
        "about",
        "kit[0].name",
        "kit[0].instead[0]",
        "moves[0].name",
        "moves[0].how",
        "moves[0].notes[0]",
        "moves[0].caution",
        "moves[0].options[0].name",
        "moves[0].options[0].notes[0]",
        "blocks[0].name",
        "blocks[0].steps[0].notes[0]",
        "blocks[0].steps[0].marks[0].say",
        "blocks[1].say",
    ] {
        // Characters are counted, not bytes.
        for one in ["a", "é", "足", "🦽"] {
            accepted(place, &put(place, one.repeat(500)));
            refused(place, &put(place, one.repeat(501)), place, "500");
        }
    }
}

// ---- 99 rounds ----

#[test]
fn a_block_may_have_99_rounds_sets_times() {
    for (what, key, of) in [
        ("rounds", "rounds", rounds as fn(usize, u32, u32) -> Block),
        ("sets", "sets", sets),
        ("times", "times", window),
    ] {
        accepted(what, &class(vec![of(1, 99, 5)]));
        for n in [100, u32::MAX] {
            let place = format!("blocks[0].{key}");
            refused(what, &class(vec![of(1, n, 5)]), &place, "99");
        }
    }
}

#[test]
fn a_ladder_may_have_99_rounds() {
    for (direction, most) in [
        (Direction::Up, 99),
        (Direction::Down, 99),
        (Direction::UpDown, 50), // 2 x 50 - 1
    ] {
        let what = format!("{direction:?}");
        accepted(&what, &class(vec![ladder(most, direction, 5)]));
        let beyond = class(vec![ladder(most + 1, direction, 5)]);
        refused(&what, &beyond, "blocks[0].rungs", "99");
    }
}

// ---- 3,600 seconds ----

#[test]
fn a_segment_may_last_3600_seconds() {
    fn put(place: &str, seconds: u32) -> Plan {
        let mut plan = class(vec![rounds(2, 2, 20)]);
        plan.blocks.push(Block::new(BlockKind::Interlude {
            lasts: 20,
            say: String::new(),
        }));
        plan.moves[0].sided = true;
        let lists = |block: &mut Block| block.work = ByRound(vec![20, seconds]);
        let first = &mut plan.blocks[0];
        match place {
            "ready" => plan.ready = seconds,
            "moves[0].demo" => plan.moves[0].demo = seconds,
            "blocks[0].work" => first.work = seconds.into(),
            "blocks[0].work[1]" => lists(first),
            "blocks[0].rest" => first.rest = seconds.into(),
            "blocks[0].rest[1]" => first.rest = ByRound(vec![0, seconds]),
            "blocks[0].break" => first.pause = seconds.into(),
            "blocks[0].change" => first.change = seconds,
            "blocks[0].after" => first.after = seconds,
            "blocks[0].moves[1].work" => match &mut first.kind {
                BlockKind::Rounds { moves, .. } => moves[1].work = seconds.into(),
                _ => panic!("rounds"),
            },
            "blocks[1].lasts" => match &mut plan.blocks[1].kind {
                BlockKind::Interlude { lasts, .. } => *lasts = seconds,
                _ => panic!("an interlude"),
            },
            _ => panic!("{place}"),
        }
        plan
    }
    for place in [
        "ready",
        "moves[0].demo",
        "blocks[0].work",
        "blocks[0].work[1]",
        "blocks[0].rest",
        "blocks[0].rest[1]",
        "blocks[0].break",
        "blocks[0].change",
        "blocks[0].after",
        "blocks[0].moves[1].work",
        "blocks[1].lasts",
    ] {
        accepted(place, &put(place, 3_600));
        for seconds in [3_601, u32::MAX] {
            refused(place, &put(place, seconds), place, "3600");
        }
    }
}

// ---- What the format leaves open ----

/// Not limits of the format: they bound the memory that a small link can ask for.
#[test]
fn entries_details_and_numbers_are_bounded_in_all() {
    accepted("entries", &class(vec![window(5_000, 1, 20)]));
    refused(
        "entries",
        &class(vec![window(5_001, 1, 20)]),
        "blocks",
        "5000",
    );
    let with_notes = |n: usize| {
        let mut plan = class(vec![flow(1, 20)]);
        plan.moves[0].notes = vec![String::new(); n];
        plan
    };
    accepted("notes", &with_notes(5_000));
    refused("notes", &with_notes(5_001), "", "5000");
    let with_numbers = |n: usize| {
        let mut plan = class(vec![flow(1, 20)]);
        plan.blocks[0].work = ByRound(vec![9; n]);
        plan
    };
    accepted("numbers", &with_numbers(10_000));
    refused("numbers", &with_numbers(10_001), "blocks", "10000");
}

// ---- Ids and empty lists ----

#[test]
fn an_id_may_have_32_characters() {
    let with = |id: &str| {
        let mut plan = class(vec![flow(1, 20)]);
        plan.moves[1].id = id.into();
        plan.validate().map(drop).map_err(|e| e.place)
    };
    assert_eq!(with(&"x-9".repeat(10)), Ok(()));
    assert_eq!(with(&"a".repeat(32)), Ok(()));
    for wrong in ["", "A", "a b", "é", "a_b", &"a".repeat(33)] {
        assert_eq!(with(wrong), Err("moves[1].id".to_owned()), "{wrong}");
    }
}

#[test]
fn what_must_not_be_empty_is_refused_when_built_in_code() {
    let place_of = |plan: Plan| plan.validate().unwrap_err().place;
    let mut without_moves = class(vec![flow(1, 20)]);
    without_moves.moves.clear();
    assert_eq!(place_of(without_moves), "moves");
    assert_eq!(place_of(class(Vec::new())), "blocks");
    for (block, key) in [
        (flow(0, 20), "steps"),
        (rounds(0, 2, 20), "moves"),
        (sets(0, 2, 20), "moves"),
        (window(0, 2, 20), "tasks"),
        (ladder(0, Direction::Up, 20), "rungs"),
    ] {
        assert_eq!(place_of(class(vec![block])), format!("blocks[0].{key}"));
    }
    let rungs = vec![entries(1), Vec::new()];
    let direction = Direction::Up;
    let with_empty_rung = block(BlockKind::Ladder { rungs, direction }, 20);
    assert_eq!(place_of(class(vec![with_empty_rung])), "blocks[0].rungs[1]");
    let water = Block::new(BlockKind::Interlude {
        lasts: 20,
        say: "Water".to_owned(),
    });
    assert_eq!(place_of(class(vec![water])), "blocks");
}

// ---- A plan that is being written ----

/// Compiling never runs away, also where nobody has validated the plan: limits cut it short.
#[test]
fn an_unvalidated_plan_is_cut_short() {
    let id: Id = "nowhere".into();
    let lost = |n: usize| {
        vec![
            Entry {
                of: id.clone(),
                ..Entry::default()
            };
            n
        ]
    };
    let mut no_work = sets(1, u32::MAX, 20);
    no_work.work = ByRound::default();
    let mut empty_window = window(1, u32::MAX, 20);
    empty_window.work = ByRound::default();
    let plans = [
        ("rounds", class(vec![rounds(3, u32::MAX, 3_600)])),
        ("sets", class(vec![sets(3, u32::MAX, 1)])),
        ("a window", class(vec![window(3, u32::MAX, u32::MAX)])),
        (
            "rounds of moves that are not there",
            class(vec![block(
                BlockKind::Rounds {
                    moves: lost(2),
                    rounds: u32::MAX,
                },
                20,
            )]),
        ),
        ("sets without work", class(vec![no_work])),
        ("a window without work", class(vec![empty_window])),
    ];
    // One that runs away never comes back: it is left behind after a while.
    let compiling = plans.map(|(what, plan)| {
        let (done, compiled) = mpsc::channel();
        thread::spawn(move || drop(done.send(Timeline::new(&plan))));
        (what, compiled)
    });
    let patience = Instant::now() + Duration::from_secs(5);
    let mut wrong = Vec::new();
    for (what, compiled) in compiling {
        let left = patience.saturating_duration_since(Instant::now());
        let Ok(timeline) = compiled.recv_timeout(left) else {
            wrong.push(what);
            continue;
        };
        assert!(timeline.segments().len() <= 5_000, "{what}");
        assert!(timeline.total_ms() <= 43_200_000, "{what}");
    }
    assert!(wrong.is_empty(), "compiling runs away: {wrong:?}");
}
