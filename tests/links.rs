//! Writes the link texts that the end-to-end tests open, and checks that each comes back whole; and
//! the tones of each class, to which they hold what reaches the loudspeaker.
#![cfg(not(target_arch = "wasm32"))]
#![allow(clippy::unwrap_used, clippy::panic, missing_docs)]

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};

use rungbook::cue::{Call, CallLevel, Calling, notes};
use rungbook::link;
use rungbook::plan::Plan;
use rungbook::run::{Input, Run};
use rungbook::timeline::Timeline;
use serde_json::{Value, json};

/// Where the plans are that are opened in the browser; a link is named after its file.
const FOLDERS: [&str; 2] = ["src/demos", "tests/e2e/plans"];

fn plans(root: &Path) -> Vec<PathBuf> {
    FOLDERS
        .iter()
        .flat_map(|folder| fs::read_dir(root.join(folder)).unwrap())
        .map(|entry| entry.unwrap().path())
        .filter(|path| path.extension().is_some_and(|ext| ext == "json"))
        .collect()
}

#[test]
fn the_links_of_the_end_to_end_tests_are_written_and_read_back() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let mut links = BTreeMap::new();
    let mut sounds = BTreeMap::new();
    for path in plans(root) {
        let name = path.file_stem().unwrap().to_string_lossy().into_owned();
        let plan = Plan::from_json(&fs::read_to_string(&path).unwrap())
            .unwrap_or_else(|e| panic!("{}: {e}", path.display()));
        let link = link::encode(&plan);
        assert_eq!(link::decode(&link).as_ref(), Ok(&plan), "{name}");
        sounds.insert(name.clone(), tones(&plan));
        assert_eq!(links.insert(name, link), None, "two plans of one name");
    }
    assert!(links.len() >= 8, "the plans have gone missing");
    // Not the target folder of this build, which may be elsewhere: the one that e2e looks into.
    let target = root.join("target");
    fs::create_dir_all(&target).unwrap();
    let text = serde_json::to_string_pretty(&links).unwrap();
    fs::write(target.join("e2e-links.json"), text).unwrap();
    let text = serde_json::to_string(&sounds).unwrap();
    fs::write(target.join("e2e-cues.json"), text).unwrap();
}

/// What the preset dictionary is for: with another one none of these links may be longer than it was
/// with the one before, those of words that no class shares by three per cent at most.
#[test]
fn the_links_of_the_demos_and_of_the_tests_stay_short() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let most = |name: &str| match name {
        "chair-class" => 1_375,
        "compounds" => 588,
        "every-kind" => 343,
        "harbour-lunch" => 1_500,
        "hostile" => 864,
        "long-names" => 786,
        "long-segments" => 208,
        "quay-pyramid" => 1_774,
        "tap" => 274,
        "two-minutes" => 326,
        other => panic!("{other} has no length yet"),
    };
    for path in plans(root) {
        let name = path.file_stem().unwrap().to_string_lossy().into_owned();
        let plan = Plan::from_json(&fs::read_to_string(&path).unwrap()).unwrap();
        let length = link::encode(&plan).len();
        assert!(length <= most(&name), "{name}: {length} characters");
    }
}

/// What sounds in a class from its start to its end: class time, the call, where its notes begin.
fn tones(plan: &Plan) -> Value {
    let timeline = Timeline::new(plan);
    let far = timeline.total_ms() + 1;
    let mut run = Run::new(timeline);
    run.call(Calling {
        level: CallLevel::Tones,
        ..Calling::default()
    });
    let set = None;
    run.input(0, Input::Start { set, lead: false });
    let sounding = run.sound(0, far);
    let tone = |at: i64, call: Call| {
        let onsets: Vec<i64> = notes(call).iter().map(|note| note.from_ms).collect();
        let name = format!("{call:?}").to_lowercase();
        json!({ "at_ms": at, "call": name, "onsets_ms": onsets })
    };
    sounding.iter().map(|one| tone(one.at, one.call)).collect()
}
