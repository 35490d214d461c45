//! Links that refer to the library of moves.
#![cfg(not(target_arch = "wasm32"))]
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, missing_docs)]

use proptest::prelude::*;
use rungbook::library::Library;
use rungbook::link::{self, LinkError, decode, decode_with, encode, encode_with};
use rungbook::plan::Plan;

fn demo(name: &str) -> Plan {
    let path = format!("{}/src/demos/{name}.json", env!("CARGO_MANIFEST_DIR"));
    Plan::from_json(&std::fs::read_to_string(path).unwrap()).unwrap()
}

/// A class of 30 minutes of library exercises, as a coach writes it.
const THIRTY: &str = "class Harbour thirty
slot 30:00
flow Warm-up
part warm-up
work 40
rest 5
change 5
after 20
- march, half squat, hip hinge, step back and reach, overhead reach
ladder Ladder
work 40
rest 15
break 30
change 5
after 30
- goblet squat
- back lunge
- romanian deadlift
- high knees
interlude Water
lasts 40
say Sip some water.
rounds Rounds
times 3
work 40
rest 15
break 30
after 30
- push-up, one-arm row, dead bug
flow Cool-down
part cool-down
work 35
rest 5
change 5
- standing hip-flexor stretch, standing hamstring stretch, shoulder stretch";

/// The goals of DESIGN.md: a 30-minute class of library exercises in 360 characters.
#[test]
fn a_class_of_the_library_is_short_and_scans() {
    let library = Library::shipped();
    let plan = rungbook::notation::read(THIRTY, &library).unwrap();
    let short = encode_with(&plan, &library);
    println!(
        "{} characters, {} without the library",
        short.len(),
        encode(&plan).len()
    );
    assert_eq!(decode_with(&short, &library), Ok(plan));
    assert!(short.len() <= 360, "{} characters", short.len());
    let code = link::qr("https://example.org/harbour/", &short, None).unwrap();
    assert!(code.version <= 15, "version {}", code.version);
}

#[test]
fn each_demo_comes_back() {
    let library = Library::shipped();
    for name in ["harbour-lunch", "quay-pyramid", "chair-class"] {
        let plan = demo(name);
        let link = encode_with(&plan, &library);
        assert_eq!(decode_with(&link, &library), Ok(plan), "{name}");
    }
}

#[test]
fn without_the_library_it_says_so_and_a_later_library_is_newer() {
    let library = Library::shipped();
    let short = encode_with(&demo("harbour-lunch"), &library);
    assert_eq!(decode(&short), Err(LinkError::Library));
    let mut old = library.clone();
    old.moves.truncate(5);
    assert_eq!(decode_with(&short, &old), Err(LinkError::Newer));
}

proptest! {
    /// Whatever a coach changed of a library move, the link brings back.
    #[test]
    fn changed_moves_come_back(
        places in prop::collection::btree_set(0usize..157, 1..12),
        changes in prop::collection::vec((0u8..9, any::<u8>()), 0..20),
    ) {
        let library = Library::shipped();
        let mut plan = Plan { title: "Any".into(), ..Plan::default() };
        let mut steps = Vec::new();
        for at in places {
            steps.push(rungbook::plan::Entry::of(&library.bring(at, &mut plan).unwrap()));
        }
        let mut block = rungbook::plan::Block::new(rungbook::plan::BlockKind::Flow { steps });
        block.work = 30.into();
        plan.blocks.push(block);
        let count = plan.moves.len();
        for (what, which) in changes {
            let one = &mut plan.moves[usize::from(which) % count];
            match what {
                0 => one.name.push_str(" it"),
                1 => one.how.push_str(" Slowly."),
                2 => one.caution.clear(),
                3 => { one.notes.pop(); }
                4 => one.notes.insert(0, "First".into()),
                5 => { one.options.pop(); }
                6 => one.effort = rungbook::plan::Effort::AllOut,
                7 => one.kit.clear(),
                _ => one.demo = 15,
            }
        }
        let link = encode_with(&plan, &library);
        prop_assert_eq!(decode_with(&link, &library), Ok(plan));
    }

    /// A changed byte is never another class.
    #[test]
    fn a_damaged_short_link_is_refused(at in 0usize..400, to in 0u8..64) {
        const LETTERS: &[u8] = b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789-_";
        let library = Library::shipped();
        let plan = demo("harbour-lunch");
        let mut link = encode_with(&plan, &library).into_bytes();
        let at = at % link.len();
        link[at] = LETTERS[usize::from(to)];
        let read = decode_with(std::str::from_utf8(&link).unwrap(), &library);
        prop_assert!(read.is_err() || read == Ok(plan));
    }
}
