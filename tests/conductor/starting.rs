//! A start, its double tap, and the end of a class.

use rungbook::conductor::{DOUBLE_TAP_MS, Effect, Event, Stage};
use rungbook::run::{Input, Phase};
use rungbook::stored::Settings;

use crate::phone::{Phone, long, squats, start_of};

#[test]
fn what_a_touch_needs_comes_before_the_lock_and_the_storage_have_answered() {
    let class = squats();
    let mut phone = Phone::new();
    phone.lock_delay = 5_000;
    let settings = Settings {
        fill_screen: true,
        screen_off: true,
        ..Settings::default()
    };
    let tab = phone.tab_with(&class, settings);
    phone.feed(tab, start_of(&class));
    let effects = &phone.tabs[tab].effects;
    for needed in [
        Effect::UnlockSound,
        Effect::UnlockVoice,
        Effect::UnlockTrack,
        Effect::KeepScreenOn(true),
        Effect::FillScreen(true),
        Effect::AskLock { steal: false },
        Effect::Show(Stage::Class),
    ] {
        assert!(effects.contains(&needed), "{needed:?} in {effects:?}");
    }
    assert!(
        phone.run.is_none(),
        "nothing is stored before the lock is ours"
    );
    phone.pass(6_000);
    assert!(!phone.run.is_none());
}

#[test]
fn a_double_tap_on_start_touches_nothing_of_the_class() {
    for after in [80, 350, DOUBLE_TAP_MS - 1] {
        let mut phone = Phone::with(&squats());
        phone.start(0);
        phone.pass(after);
        phone.feed(0, Event::Unwell);
        phone.touch(0, Input::Pause);
        phone.touch(0, Input::Stop);
        phone.feed(0, Event::MediaKey(Input::Skip));
        assert_eq!(phone.moment(0).phase, Phase::Running, "{after} ms");
        assert!(!phone.tabs[0].conductor.is_unwell());
        phone.pass(DOUBLE_TAP_MS);
        phone.feed(0, Event::Unwell);
        assert_eq!(phone.moment(0).phase, Phase::Paused);
        assert!(phone.tabs[0].conductor.is_unwell());
    }
}

#[test]
fn a_class_that_was_ended_by_a_touch_can_be_gone_back_to_for_two_minutes() {
    let mut phone = Phone::with(&squats());
    phone.start(0);
    phone.pass(40_000);
    phone.touch(0, Input::Stop);
    assert_eq!(phone.tabs[0].stage, Some(Stage::Done));
    assert_eq!(phone.history.len(), 1);
    phone.pass(30_000);
    assert!(phone.tabs[0].conductor.can_go_back(phone.now));
    phone.feed(0, Event::BackToClass);
    assert_eq!(phone.tabs[0].stage, Some(Stage::Class));
    phone.pass(3_000);
    assert_eq!(
        phone.class_ms(0),
        40_000,
        "at the second where it was ended"
    );
    phone.pass(190_000);
    assert_eq!(phone.tabs[0].stage, Some(Stage::Done));
    assert_eq!(phone.history.len(), 1, "it is one class in the history");
    let record = phone.tabs[0].conductor.record(phone.now).unwrap();
    assert!(record.reached_end);
    assert_eq!((record.worked_ms, record.paused_ms), (180_000, 33_000));
    assert!(
        !phone.tabs[0].conductor.can_go_back(phone.now),
        "it ended by itself"
    );
}

#[test]
fn the_way_back_into_a_class_is_offered_no_longer_than_two_minutes() {
    let mut phone = Phone::with(&squats());
    phone.start(0);
    phone.pass(40_000);
    phone.touch(0, Input::Stop);
    phone.pass(119_999);
    assert!(phone.tabs[0].conductor.can_go_back(phone.now));
    phone.pass(1);
    assert!(!phone.tabs[0].conductor.can_go_back(phone.now));
    phone.feed(0, Event::BackToClass);
    assert_eq!(phone.tabs[0].stage, Some(Stage::Done));
}

#[test]
fn a_shift_can_be_undone_for_20_s_and_a_jump_until_something_else_is_done() {
    let mut phone = Phone::with(&long());
    phone.start(0);
    phone.pass(20_000);
    let offers = |phone: &Phone| phone.tabs[0].conductor.offers_undo();
    phone.touch(0, Input::Skip);
    phone.pass(19_999);
    assert!(offers(&phone));
    phone.pass(1);
    assert!(!offers(&phone));
    let to = phone.tabs[0].class.timeline.next_work(20).unwrap();
    phone.touch(0, Input::Jump { to });
    phone.pass(120_000);
    assert!(offers(&phone), "a long jump is noticed late");
    phone.touch(0, Input::Undo);
    phone.pass(20_000);
    assert!(!offers(&phone));
}

#[test]
fn a_class_that_is_tried_leaves_no_trace_and_is_in_nobodys_way() {
    let class = squats();
    let mut phone = Phone::with(&class);
    phone.start(0);
    phone.pass(20_000);
    let mut tried = long();
    tried.trial = true;
    let other = phone.tab(&tried);
    phone.feed(other, start_of(&tried));
    phone.pass(60_000);
    phone.touch(other, Input::Stop);
    assert_eq!(phone.tabs[other].stage, Some(Stage::Done));
    assert!(phone.history.is_empty());
    assert_eq!(phone.moment(0).phase, Phase::Running);
    assert_eq!(phone.run.plan, *class.link);
}
