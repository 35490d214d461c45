//! The plain notation: lossless both ways, with errors that point at the line.
#![cfg(not(target_arch = "wasm32"))]
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, missing_docs)]

mod common;

use proptest::prelude::*;
use rungbook::check::check;
use rungbook::library::Library;
use rungbook::notation::{read, write};
use rungbook::plan::Plan;
use rungbook::timeline::Timeline;

fn library() -> Library {
    Library::shipped()
}

#[test]
fn every_written_plan_comes_back() {
    let library = library();
    let mut count = 0;
    for folder in ["src/demos", "tests/plans", "tests/e2e/plans"] {
        let path = format!("{}/{folder}", env!("CARGO_MANIFEST_DIR"));
        for file in std::fs::read_dir(path).unwrap() {
            let path = file.unwrap().path();
            if path.extension().is_none_or(|ext| ext != "json") {
                continue;
            }
            let Ok(plan) = Plan::from_json(&std::fs::read_to_string(&path).unwrap()) else {
                continue;
            };
            for known in [&library, &Library::default()] {
                let text = write(&plan, known);
                assert_eq!(read(&text, known).as_ref(), Ok(&plan), "{path:?}\n{text}");
            }
            count += 1;
        }
    }
    assert!(count > 3, "{count} plans");
}

/// The text of the notation's own page, which is what a coach copies from.
#[test]
fn the_example_of_the_page_is_a_class() {
    let page = include_str!("../src/notation/NOTATION.md");
    let example = page
        .split("```text")
        .nth(1)
        .unwrap()
        .split("```")
        .next()
        .unwrap();
    let plan = read(example, &library()).unwrap();
    assert_eq!(plan.blocks.len(), 3);
    assert_eq!(plan.slot, Some(1200));
    assert_eq!(plan.moves.len(), 6);
}

/// The README's class is exactly its slot, and nothing stands out in it.
#[test]
fn the_class_of_the_readme_is_as_it_says() {
    let readme = include_str!("../README.md");
    let rest = readme.split("```text\n").nth(1).unwrap();
    let plan = read(rest.split("```").next().unwrap(), &library()).unwrap();
    let timeline = Timeline::new(&plan);
    assert_eq!(timeline.total_ms(), 20 * 60_000);
    assert_eq!(check(&timeline), []);
}

#[test]
fn an_error_points_at_its_line() {
    let check = |text: &str, line: usize, part: &str| {
        let e = read(text, &library()).unwrap_err();
        assert_eq!(
            (e.line, e.problem.to_string().contains(part)),
            (line, true),
            "{e}"
        );
    };
    check("", 1, "no class");
    check("class A\nclass B", 2, "second class");
    check("class A\nslot soon", 2, "no whole number");
    check("class A\nslot 1:75", 2, "no whole number");
    check("class A\nslot 45", 2, "would be 45 seconds");
    check("class A\ncolour blue", 2, "says nothing here");
    check("class A\nkit anvil", 2, "no kit");
    check("class A\nmove anvil", 2, "no move");
    check("class A\nmove a = A\n  is heavy", 3, "no pattern");
    check("class A\nmove a = A\n  easier b", 3, "way without a name");
    check(
        "class A\nmove a = A\n  easier b = B\n  demo 5",
        4,
        "says nothing here",
    );
    check("class A\nflow\n  break 5", 3, "a flow has no");
    check("class A\nflow\n  + march", 3, "only a ladder");
    check("class A\ninterlude\n  - march", 3, "no moves");
    check("class A\nflow\n  - march work", 3, "number is missing");
    check("class A\nflow\n  - march quick", 3, "says nothing here");
    check("class A\nflow\n  sides both", 3, "none of the words");
    check("class A\nflow\nwork 30\n\n- marsh", 5, "no move “marsh”");
    // What the plan's own reader finds is found on its line too.
    check("class A\nflow\n- march", 2, "");
    check(
        "class A\nflow\nwork 30\n- march\n- half-squat work 0",
        5,
        "0 seconds",
    );
    check(
        "class A\nladder\nwork 30\n- march\n- half-squat\n+ hip-hinge work 0",
        6,
        "0 seconds",
    );
    check(
        "class A\nkit a = A\nkit a = B\nflow\nwork 30\n- march",
        3,
        "twice",
    );
    check("class A\nmove b = B\nuses c\nflow\nwork 30\n- b", 2, "c");
}

#[test]
fn a_few_lines_are_a_class() {
    let plan = read(
        "Class Quick\nslot 20:00\n\nFlow Warm-up\npart warm-up\nwork 30\n- march, half squat,hip-hinge\nrounds\ntimes 3\nwork 40\nrest 20\n- Goblet Squat reps 10, Push-up effort vigorous work 30 40\n  note Last round counts",
        &library(),
    )
    .unwrap();
    assert_eq!(plan.moves.len(), 5);
    assert_eq!(&*plan.kit[0].id, "bell");
    let last = plan.blocks[1].entries().last().unwrap();
    assert_eq!(last.notes, ["Last round counts"]);
    assert_eq!(last.work.0, [30, 40]);
}

/// A coach writes a library move as it is called, or by its id; settings may follow.
#[test]
fn every_name_and_every_id_of_the_library_is_read() {
    let library = library();
    for known in &library.moves {
        for text in [&*known.name, &*known.name.to_lowercase(), &*known.id] {
            for settings in ["", " reps 8", "  effort light work 20 30"] {
                let line = format!("class A\nflow\nwork 30\n- {text}{settings}, march");
                let plan = read(&line, &library).unwrap_or_else(|e| panic!("{line}: {e}"));
                let entry = plan.blocks[0].entries().next().unwrap();
                assert_eq!(entry.of, known.id, "{text}{settings}");
                assert_eq!(entry.reps.is_empty(), settings != " reps 8");
            }
            let line = format!("class A\nmove {text}\nflow\nwork 30\n- {text}");
            assert_eq!(read(&line, &library).unwrap().moves, vec![known.clone()]);
        }
    }
}

/// An id is what another move is called: the name counts, and the text says which one is meant.
#[test]
fn a_whole_name_wins_over_an_id() {
    let moves =
        "move row = One-arm pull\nmove pull = Row\nmove squat = My squat\nmove long = Row work 40";
    let class = |entries: &str| format!("class A\n{moves}\nflow\nwork 30\n- {entries}");
    let of = |plan: &Plan| -> Vec<String> {
        plan.blocks[0]
            .entries()
            .map(|entry| entry.of.to_string())
            .collect()
    };
    for known in [library(), Library::default()] {
        let plan = read(
            &class("row, =row, pull, Row work 40, =row work 40, ROW reps 5, squat"),
            &known,
        )
        .unwrap();
        assert_eq!(
            of(&plan),
            ["pull", "row", "pull", "long", "row", "pull", "squat"]
        );
        let text = write(&plan, &known);
        assert!(text.contains("- =row\n  - pull\n"), "{text}");
        assert_eq!(read(&text, &known), Ok(plan));
    }
}

proptest! {
    #[test]
    fn every_generated_plan_comes_back(plan in common::plan()) {
        let library = library();
        prop_assert_eq!(read(&write(&plan, &library), &library), Ok(plan));
    }

    /// Any text is read or refused, without a panic.
    #[test]
    fn any_text_is_answered(lines in prop::collection::vec(
        prop_oneof![
            "\\PC{0,30}",
            "(class|kit|move|flow|ladder|sets|window|interlude|rounds|-|\\+|note|mark|easier|work|times|say|lasts|uses|is|switch) ?[a-z0-9 =,:\\\\-]{0,20}",
        ], 0..30)) {
        let library = library();
        if let Ok(plan) = read(&lines.join("\n"), &library) {
            prop_assert_eq!(read(&write(&plan, &library), &library), Ok(plan));
        }
    }
}
