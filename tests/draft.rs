//! Writing a class: every step can be taken back and done again, and no step brings the app down.
#![cfg(not(target_arch = "wasm32"))]
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, missing_docs)]

mod common;

use proptest::prelude::*;
use rungbook::draft::{self, Draft, Start};
use rungbook::library::Library;
use rungbook::notation;
use rungbook::plan::Plan;

/// One step of the editor, by numbers that may lead nowhere.
fn step(plan: &mut Plan, library: &Library, (what, a, b): (u8, usize, usize)) {
    match what {
        0 => draft::add_block(plan, Start::ALL[a % Start::ALL.len()], b),
        1 => draft::remove_block(plan, a),
        2 => draft::copy_block(plan, a),
        3 => draft::shift_block(plan, a, b % 2 == 0),
        4 => draft::split_block(plan, a),
        5 => draft::set_kind(
            plan,
            a,
            ["flow", "rounds", "ladder", "sets", "window", "interlude"][b % 6],
        ),
        6 => {
            let id = library
                .bring(b * 11, plan)
                .unwrap_or_else(|| "march".into());
            if plan.move_named(&id).is_some() {
                draft::add_entry(plan, a, &id);
            }
        }
        7 => draft::remove_entry(plan, a, b),
        8 => {
            let entry = draft::entry(plan, a, b).cloned();
            let to = draft::shift_entry(plan, a, b, true);
            // It says where the entry went.
            assert_eq!(draft::entry(plan, a, to).cloned(), entry);
        }
        9 => draft::join_entry(plan, a, b),
        10 => draft::tidy(plan, library),
        11 => {
            let id = draft::new_move(plan);
            draft::add_entry(plan, a, &id);
        }
        12 => plan.remove_kit(a),
        13 => {
            let ids: Vec<_> = plan.moves.iter().map(|one| one.id.clone()).collect();
            if !ids.is_empty() {
                draft::replace_move(plan, &ids[a % ids.len()], &ids[b % ids.len()]);
            }
        }
        _ => plan.title.push('x'),
    }
}

proptest! {
    #![proptest_config(common::cases(96))]

    #[test]
    fn steps_are_taken_back_and_done_again(
        start in prop_oneof![Just(Plan::default()), common::plan()],
        steps in prop::collection::vec((0u8..15, 0usize..6, 0usize..8), 1..40),
    ) {
        let library = Library::shipped();
        let mut draft = Draft::new(start.clone());
        let mut seen = vec![start];
        for one in steps {
            if draft.change("", |plan| step(plan, &library, one)) {
                seen.push(draft.plan().clone());
            }
            // What can be timed is timed, and what is kept comes back.
            let lengths = draft::block_lengths(&draft.shown());
            prop_assert_eq!(lengths.len(), draft.plan().blocks.len());
            let kept = notation::write(draft.plan(), &library);
            let back = notation::draft(&kept, &library);
            prop_assert_eq!(back.as_ref(), Ok(draft.plan()), "{}", kept);
        }
        for plan in seen.iter().rev().skip(1) {
            prop_assert!(draft.undo());
            prop_assert_eq!(draft.plan(), plan);
        }
        prop_assert!(!draft.undo());
        for plan in seen.iter().skip(1) {
            prop_assert!(draft.redo());
            prop_assert_eq!(draft.plan(), plan);
        }
        prop_assert!(!draft.can_redo());
    }
}
