//! Writing a class: every step can be taken back and done again, and no step brings the app down.
#![cfg(not(target_arch = "wasm32"))]
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, missing_docs)]

mod common;

use std::collections::BTreeMap;

use proptest::prelude::*;
use rungbook::draft::{self, Draft, Given, Start};
use rungbook::library::Library;
use rungbook::notation;
use rungbook::plan::Plan;
use rungbook::stored::{Stored as _, StoredDraft, read};

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

/// Where a class is written, as far as handing out goes.
#[derive(Default)]
struct Desk {
    draft: Draft,
    given: Option<Given>,
    /// Each revision that went out, with its content.
    out: BTreeMap<u32, Plan>,
}

impl Desk {
    fn hand_out(&mut self) -> u32 {
        let revision = Given::next(self.given, self.draft.plan()).unwrap();
        self.draft.goes_out_as(revision);
        let plan = self.draft.plan().clone();
        assert_eq!(plan.revision, revision);
        self.given = Some(Given::of(&plan));
        let same = self.out.entry(revision).or_insert_with(|| plan.clone());
        assert_eq!(
            *same, plan,
            "revision {revision} went out with other content"
        );
        revision
    }

    /// The page is loaded again: undo is gone, what is stored comes back.
    fn reload(&mut self) {
        let stored = StoredDraft {
            given: self.given,
            text: notation::write(self.draft.plan(), &Library::default()),
            ..StoredDraft::default()
        };
        let found = read::<StoredDraft>(&stored.key(), Some(&stored.to_text()));
        let found = found.unwrap().unwrap();
        self.given = found.given;
        self.draft = Draft::new(notation::draft(&found.text, &Library::default()).unwrap());
    }

    fn edit(&mut self, word: &str) {
        self.draft
            .change("", |plan| plan.title = format!("{} {word}", plan.title));
    }
}

#[test]
fn what_is_taken_back_after_it_went_out_goes_out_under_a_number_of_its_own() {
    let mut desk = Desk::default();
    desk.edit("one");
    assert_eq!(desk.hand_out(), 0);
    desk.edit("two");
    assert_eq!(desk.hand_out(), 1);
    assert!(desk.draft.undo());
    desk.edit("three");
    assert_eq!(desk.hand_out(), 2);
    desk.draft.undo();
    desk.reload();
    assert_eq!(desk.hand_out(), 3);
    // The same once more is the same.
    desk.reload();
    assert_eq!(desk.hand_out(), 3);
}

#[test]
fn numbers_end_and_are_not_used_again_then() {
    let plan = Plan {
        revision: u32::MAX,
        ..Plan::default()
    };
    let given = Some(Given::of(&plan));
    assert_eq!(Given::next(given, &plan), Some(u32::MAX));
    let other = Plan {
        title: "Other".into(),
        ..plan
    };
    assert_eq!(Given::next(given, &other), None);
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

    #[test]
    fn a_revision_that_went_out_stands_for_one_content(
        steps in prop::collection::vec((0_u8..6, 0_usize..3), 1..40),
    ) {
        let mut desk = Desk::default();
        desk.edit("a");
        for (what, word) in steps {
            match what {
                0 | 1 => desk.edit(["a", "b", "c"][word]),
                2 => { desk.draft.undo(); }
                3 => { desk.draft.redo(); }
                4 => desk.reload(),
                _ => { desk.hand_out(); }
            }
        }
    }
}
