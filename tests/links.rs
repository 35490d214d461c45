//! Writes the link texts that the end-to-end tests open, and checks that each comes back whole.
#![cfg(not(target_arch = "wasm32"))]
#![allow(clippy::unwrap_used, clippy::panic, missing_docs)]

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};

use rungbook::link;
use rungbook::plan::Plan;

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
    for path in plans(root) {
        let name = path.file_stem().unwrap().to_string_lossy().into_owned();
        let plan = Plan::from_json(&fs::read_to_string(&path).unwrap())
            .unwrap_or_else(|e| panic!("{}: {e}", path.display()));
        let link = link::encode(&plan);
        assert_eq!(link::decode(&link).as_ref(), Ok(&plan), "{name}");
        assert_eq!(links.insert(name, link), None, "two plans of one name");
    }
    assert!(links.len() >= 8, "the plans have gone missing");
    // Not the target folder of this build, which may be elsewhere: the one that e2e looks into.
    let target = root.join("target");
    fs::create_dir_all(&target).unwrap();
    let text = serde_json::to_string_pretty(&links).unwrap();
    fs::write(target.join("e2e-links.json"), text).unwrap();
}
