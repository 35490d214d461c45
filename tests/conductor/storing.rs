//! A storage that fills up.

use rungbook::conductor::{Effect, Stage};
use rungbook::run::Input;
use rungbook::stored::StoreError;

use crate::phone::{Phone, T, long, squats, start_of};

#[test]
fn a_storage_that_fills_up_in_mid_class_is_told_at_once() {
    let mut phone = Phone::with(&squats());
    phone.start(0);
    phone.pass(30_000);
    assert_eq!(phone.tabs[0].conductor.fault(), None);
    phone.full = true;
    phone.pass(5_000);
    assert_eq!(phone.tabs[0].conductor.fault(), Some(StoreError::Full));
    phone.full = false;
    phone.pass(5_000);
    assert_eq!(phone.tabs[0].conductor.fault(), None, "and taken back");
}

#[test]
fn a_class_that_can_not_be_put_into_the_history_stays_stored_and_is_put_there_later() {
    let class = squats();
    let mut phone = Phone::with(&class);
    phone.start(0);
    phone.pass(60_000);
    phone.full = true;
    phone.touch(0, Input::Stop);
    assert_eq!(phone.tabs[0].stage, Some(Stage::Done));
    assert_eq!(
        phone.tabs[0].conductor.archived(),
        Some(Err(StoreError::Full))
    );
    phone.kill(0);
    phone.full = false;
    phone.tab(&class);
    // What was stored last is from before the stop.
    let (seen, of) = (phone.history.get(&T), phone.run.is_none());
    assert!(seen.is_some() || !of, "it is not lost");
}

#[test]
fn a_run_that_was_left_is_not_replaced_where_the_history_has_no_room_for_it() {
    let (class, other) = (squats(), long());
    let mut phone = Phone::left(&class, 60_000);
    let tab = phone.tab(&other);
    phone.full = true;
    phone.start(tab);
    phone.pass(20_000);
    assert_eq!(phone.run.plan, *class.link, "the older one is still there");
    assert_eq!(phone.tabs[tab].conductor.fault(), Some(StoreError::Full));
    phone.full = false;
    phone.pass(6_000);
    assert!(phone.history.contains_key(&T));
    assert_eq!(phone.run.plan, *other.link, "as soon as there is room");
    assert_eq!(phone.tabs[tab].conductor.fault(), None);
}

#[test]
fn each_input_is_stored_in_its_own_call() {
    let mut phone = Phone::with(&squats());
    phone.start(0);
    phone.pass(20_000);
    for input in [Input::Pause, Input::Resume, Input::Skip, Input::Undo] {
        phone.touch(0, input);
        let stores = |effect: &Effect| matches!(effect, Effect::Store(_));
        assert!(phone.tabs[0].effects.iter().any(stores), "{input:?}");
        phone.pass(4_000);
    }
}

#[test]
fn a_class_of_which_nothing_was_worked_is_not_in_the_history() {
    let class = squats();
    let mut phone = Phone::with(&class);
    phone.start(0);
    phone.pass(5_000);
    phone.touch(0, Input::Stop);
    assert!(phone.history.is_empty());
    assert!(phone.run.is_none());
    phone.feed(0, start_of(&class));
    assert_eq!(
        phone.tabs[0].stage,
        Some(Stage::Class),
        "the lock is free again"
    );
    phone.pass(1_000);
    assert!(!phone.run.is_none());
}
