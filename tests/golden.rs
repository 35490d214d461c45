//! Small plans, one a rule of the format, against segments that were worked out by hand from the
//! format's text (`tests/plans/*.segments`), and wrong plans against the place that the error must
//! name (`tests/plans/invalid`). `tests/plans/reference.py` derives the same dumps independently.
#![cfg(not(target_arch = "wasm32"))]
#![allow(clippy::unwrap_used, clippy::panic, missing_docs)]

use std::fmt::Write as _;
use std::fs;
use std::path::{Path, PathBuf};

use rungbook::plan::{Hand, Plan};
use rungbook::timeline::{Side, Timeline};

fn files(folder: &str) -> Vec<PathBuf> {
    let mut files: Vec<_> = fs::read_dir(Path::new(env!("CARGO_MANIFEST_DIR")).join(folder))
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .filter(|path| path.extension().is_some_and(|ext| ext == "json"))
        .collect();
    files.sort();
    files
}

/// One line a segment, in the columns that `tests/plans/*.segments` have.
fn dump(plan: &Plan) -> String {
    let mut out = String::new();
    for (i, s) in Timeline::new(plan).segments().iter().enumerate() {
        let dash_or = |text: String, there: bool| if there { text } else { "-".to_owned() };
        let side = match s.side {
            Side::None => "none",
            Side::Right => "right",
            Side::Left => "left",
            Side::Half { first: Hand::Right } => "half:right",
            Side::Half { first: Hand::Left } => "half:left",
        };
        writeln!(
            out,
            "{i}\t{}\t{}\t{}\t{}\t{}\t{}\t{}\t{}\t{}\t{}\t{}",
            s.kind.word(),
            s.start_ms,
            s.end_ms,
            s.block,
            s.round,
            s.rounds,
            dash_or(s.entry.to_string(), s.is_work()),
            dash_or(s.entries.to_string(), s.is_work()),
            s.move_at.map_or("-", |at| &plan.moves[at].id),
            dash_or(side.to_owned(), s.is_work()),
            if s.held { "held" } else { "-" },
        )
        .unwrap();
    }
    out
}

#[test]
fn every_rule_unrolls_as_worked_out_by_hand() {
    let plans = files("tests/plans");
    assert!(plans.len() >= 30, "the plans have gone missing");
    for path in plans {
        let plan = Plan::from_json(&fs::read_to_string(&path).unwrap())
            .unwrap_or_else(|e| panic!("{}: {e}", path.display()));
        let golden: String = fs::read_to_string(path.with_extension("segments"))
            .unwrap()
            .lines()
            .filter(|line| !line.starts_with('#') && !line.trim().is_empty())
            .map(|line| format!("{}\n", line.trim_end()))
            .collect();
        assert_eq!(dump(&plan), golden, "{}", path.display());
    }
}

#[test]
fn every_wrong_plan_is_refused_at_its_place() {
    let plans = files("tests/plans/invalid");
    assert!(plans.len() >= 100, "the plans have gone missing");
    let mut wrong = Vec::new();
    for path in plans {
        let name = path.file_stem().unwrap().to_string_lossy().into_owned();
        let expect = fs::read_to_string(path.with_extension("expect")).unwrap();
        let mut lines = expect.lines();
        let (place, word) = (lines.next().unwrap(), lines.next().unwrap());
        match Plan::from_json(&fs::read_to_string(&path).unwrap()) {
            Ok(_) => wrong.push(format!("{name}: accepted")),
            Err(e) => {
                if e.place != place {
                    wrong.push(format!("{name}: place {:?}, not {place:?} ({e})", e.place));
                }
                if !e.to_string().to_lowercase().contains(&word.to_lowercase()) {
                    wrong.push(format!("{name}: no {word:?} in: {e}"));
                }
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// What the README shows is a plan that a coach can copy.
#[test]
fn the_plan_in_the_readme_is_one() {
    let readme = include_str!("../README.md");
    let (_, rest) = readme.split_once("```json").unwrap();
    let (file, _) = rest.split_once("```").unwrap();
    let (plan, warnings) = Plan::read(file).unwrap();
    assert_eq!(warnings, []);
    // "A whole class of 2:10 minutes".
    assert_eq!(Timeline::new(&plan).total_ms(), 130_000);
}
