//! What fuzzing found worth keeping (`tests/fuzz/corpus`), and each input that once broke something,
//! through the same checks as the fuzz targets make.
#![cfg(not(target_arch = "wasm32"))]
#![allow(clippy::unwrap_used, clippy::panic, missing_docs)]

#[path = "fuzz/checks.rs"]
mod checks;

use std::fs;
use std::panic;
use std::path::Path;

/// Runs each input of a corpus. Some must be accepted and some refused: otherwise half of the checks ran dry.
fn run(target: &str, check: fn(&[u8]) -> bool) {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/fuzz/corpus");
    let (mut accepted, mut refused) = (0, 0);
    for file in fs::read_dir(folder.join(target)).unwrap() {
        let path = file.unwrap().path();
        let data = fs::read(&path).unwrap();
        match panic::catch_unwind(|| check(&data)) {
            Ok(true) => accepted += 1,
            Ok(false) => refused += 1,
            Err(_) => panic!("{} breaks a check (see above)", path.display()),
        }
    }
    assert!(
        accepted >= 5 && refused >= 5,
        "{target}: {accepted} accepted, {refused} refused: the corpus has gone missing"
    );
}

#[test]
fn links() {
    run("link", checks::link);
}

#[test]
fn files() {
    run("file", checks::file);
}
