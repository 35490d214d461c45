//! What is handed out, read by decoders that are not ours.
#![cfg(not(target_arch = "wasm32"))]
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, missing_docs)]

mod common;

use rungbook::export::segment_rows;
use rungbook::link::{Fragment, Qr, decode, encode, qr};
use rungbook::timeline::Timeline;

/// A QR code drawn with its quiet zone, and read by rqrr (crates.io), which is not ours: its version
/// and its text.
fn scanned(code: &Qr) -> (usize, String) {
    const MODULE: usize = 4;
    const QUIET: usize = 4;
    let side = code.side as usize;
    let pixels = (side + 2 * QUIET) * MODULE;
    let dark = |x: usize, y: usize| {
        let module = |at: usize| (at / MODULE).checked_sub(QUIET);
        match (module(x), module(y)) {
            (Some(x), Some(y)) => code.is_dark(x as u32, y as u32),
            _ => false,
        }
    };
    let mut image = rqrr::PreparedImage::prepare_from_greyscale(pixels, pixels, |x, y| {
        if dark(x, y) { 0 } else { 255 }
    });
    let grids = image.detect_grids();
    assert_eq!(grids.len(), 1);
    let (facts, text) = grids[0].decode().unwrap();
    (facts.version.0, text)
}

#[test]
fn a_code_is_read_by_a_decoder_that_is_not_ours_and_brings_the_plan_back() {
    for demo in ["harbour-lunch", "quay-pyramid", "chair-class"] {
        let plan = common::plan_file(&format!("src/demos/{demo}.json"));
        let link = encode(&plan);
        let at = "2026-11-25T12:30:00Z";
        let code = qr("https://example.org/hall/", &link, Some(at)).expect("not too long");
        let (version, text) = scanned(&code);
        assert_eq!(version, usize::from(code.version), "{demo}");
        let found = Fragment::read(&text);
        assert_eq!(found.at.as_deref(), Some(at), "{demo}");
        assert_eq!(decode(&found.plan.unwrap()).as_ref(), Ok(&plan), "{demo}");
        // The format's own capacity (ISO/IEC 18004, level L, numeric): digits take fewer modules
        // than the same link as letters.
        let letters = rungbook::link::join("https://example.org/hall/", &link, Some(at)).len();
        println!(
            "{demo}: {} characters, version {}",
            link.len(),
            code.version
        );
        let byte_capacity = [(10, 271), (15, 520), (20, 858), (25, 1273), (40, 2953)];
        let as_letters = byte_capacity
            .iter()
            .find(|(_, most)| letters <= *most)
            .unwrap();
        assert!(u32::from(code.version) <= as_letters.0, "{demo}");
    }
}

#[test]
fn what_is_too_long_for_a_code_has_none() {
    // Version 40 holds 7,089 digits at level L (ISO/IEC 18004, table 7), and a character takes about
    // 1.8 of them; a class that is that long is handed out as a link or a file.
    assert!(qr("https://example.org/", &"A".repeat(3_800), None).is_some());
    assert_eq!(qr("https://example.org/", &"A".repeat(4_000), None), None);
}

/// The columns of a plan's table by their names, of the work alone; gaps have no number.
fn numbers(plan: &str, columns: &[&str]) -> Vec<Vec<String>> {
    let timeline = Timeline::new(&common::plan_file(&format!("tests/plans/{plan}.json")));
    let rows = segment_rows(&timeline);
    let (heading, rows) = rows.split_first().unwrap();
    let at = |name: &str| heading.iter().position(|cell| cell == name).unwrap();
    let counts = at("round")..heading.len();
    let (work, gaps): (Vec<_>, Vec<_>) = rows.iter().partition(|row| row[at("kind")] == "work");
    assert!(
        gaps.iter()
            .all(|row| row[counts.clone()].iter().all(String::is_empty))
    );
    assert_eq!(rows.len(), timeline.segments().len());
    let cells = |row: &&Vec<String>| columns.iter().map(|name| row[at(name)].clone()).collect();
    work.iter().map(cells).collect()
}

#[test]
fn the_table_numbers_exercises_sets_and_rounds_as_a_coach_counts_them() {
    // Three sets of each of three exercises; of the second one each side is a work of its own.
    let sets = ["exercise", "exercises", "set", "sets", "round", "rounds"];
    let told: Vec<_> = [("1", 1), ("2", 2), ("3", 1)]
        .into_iter()
        .flat_map(|(exercise, sides)| {
            ["1", "2", "3"]
                .into_iter()
                .flat_map(move |set| std::iter::repeat_n([exercise, "3", set, "3", "", ""], sides))
        })
        .collect();
    assert_eq!(numbers("sets-lists", &sets), told);
    // A circuit counts exercises within rounds, and no sets.
    let circuit = numbers(
        "rounds-alternate",
        &["round", "rounds", "exercise", "exercises", "set"],
    );
    assert!(
        circuit
            .iter()
            .all(|row| !row[1].is_empty() && row[4].is_empty()),
        "{circuit:?}"
    );
    // A window has times of its tasks.
    let window = numbers("window", &["time", "times", "exercise", "set"]);
    assert!(
        window
            .iter()
            .any(|row| row[0] == "1" && row[2].is_empty() && row[3].is_empty()),
        "{window:?}"
    );
}
