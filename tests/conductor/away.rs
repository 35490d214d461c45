//! Time asleep, frozen or away is not taken for work.

use rungbook::conductor::{Event, Stage};
use rungbook::run::{Did, Input, Phase, Run};
use rungbook::stored::{Settings, StoredDone};

use crate::phone::{Phone, T, long, squats};

/// What the history makes of a class.
fn worked(phone: &Phone, done: &StoredDone) -> (i64, usize) {
    let log = rungbook::run::Log::from_text(&done.log).unwrap();
    let run = Run::replay(phone.tabs[0].class.timeline.clone(), &log).unwrap();
    let record = run.record(done.end);
    (record.worked_ms, record.segments(Did::All).count())
}

#[test]
fn twelve_hours_asleep_are_no_work_until_the_member_says_so() {
    let mut phone = Phone::slept(&long(), 300_000, 12 * 3_600_000);
    assert_eq!(phone.tabs[0].stage, Some(Stage::Done), "it ended meanwhile");
    let seen = phone.tabs[0].conductor.record(phone.now).unwrap();
    let away = phone.tabs[0].conductor.away().expect("Done asks");
    assert_eq!(away.class_ms, 300_000);
    assert!(seen.worked_ms < 210_000, "{}", seen.worked_ms);
    let before = worked(&phone, &phone.history[&T]);
    assert_eq!(before.0, seen.worked_ms, "nor in the history");
    assert_eq!(
        phone.history[&T].end,
        T + phone.tabs[0].class.timeline.total_ms()
    );
    phone.touch(0, Input::KeptGoing);
    assert_eq!(worked(&phone, &phone.history[&T]), (1_200_000, 40));
    assert_eq!(phone.tabs[0].conductor.away(), None, "it is asked once");
}

#[test]
fn after_ten_minutes_asleep_class_asks_and_one_touch_leads_back() {
    let mut phone = Phone::slept(&long(), 300_000, 600_000);
    assert_eq!(phone.class_ms(0), 900_000, "class time went on");
    let away = phone.tabs[0].conductor.away().expect("it is asked");
    assert_eq!((away.class_ms, away.to - away.from), (300_000, 600_000));
    phone.touch(0, Input::Return);
    assert_eq!(phone.moment(0).count_in, Some(3));
    phone.pass(3_000);
    assert_eq!(phone.class_ms(0), 300_000);
    phone.pass(2_000_000);
    let record = phone.tabs[0].conductor.record(phone.now).unwrap();
    assert_eq!((record.worked_ms, record.away_ms), (1_200_000, 600_000));
}

#[test]
fn whoever_kept_going_has_worked() {
    let mut phone = Phone::slept(&long(), 300_000, 600_000);
    phone.touch(0, Input::KeptGoing);
    phone.pass(2_000_000);
    let record = phone.tabs[0].conductor.record(phone.now).unwrap();
    assert_eq!((record.worked_ms, record.away_ms), (1_200_000, 0));
}

#[test]
fn a_class_that_ended_in_the_sleep_can_be_gone_back_to_from_done() {
    let mut phone = Phone::slept(&squats(), 40_000, 3_600_000);
    assert_eq!(phone.tabs[0].stage, Some(Stage::Done));
    phone.touch(0, Input::Return);
    assert_eq!(phone.tabs[0].stage, Some(Stage::Class));
    phone.pass(3_000 + 190_000);
    assert_eq!(phone.tabs[0].stage, Some(Stage::Done));
    let record = phone.tabs[0].conductor.record(phone.now).unwrap();
    assert_eq!(record.worked_ms, 180_000);
    assert_eq!(phone.history.len(), 1);
}

#[test]
fn a_short_sleep_or_a_page_behind_another_is_not_asked_about() {
    let mut phone = Phone::slept(&long(), 60_000, 59_000);
    assert_eq!(phone.tabs[0].conductor.away(), None);
    // Hidden, not frozen: its wake-ups go on.
    phone.feed(0, Event::Hidden);
    phone.pass(400_000);
    phone.feed(0, Event::Shown);
    assert_eq!(phone.tabs[0].conductor.away(), None);
}

#[test]
fn with_the_screen_off_by_choice_done_asks_and_class_does_not() {
    let mut phone = Phone::new();
    let settings = Settings {
        screen_off: true,
        ..Settings::default()
    };
    phone.tab_with(&long(), settings);
    phone.start(0);
    for _ in 0..2 {
        phone.pass(120_000);
        phone.freeze(0);
        phone.pass(300_000);
        phone.thaw(0);
        assert_eq!(phone.tabs[0].conductor.away(), None);
    }
    phone.pass(2_000_000);
    assert_eq!(phone.tabs[0].stage, Some(Stage::Done));
    let away = phone.tabs[0]
        .conductor
        .away()
        .expect("Done asks once, about all of it");
    assert_eq!((away.class_ms, away.to - away.from), (120_000, 720_000));
    phone.touch(0, Input::KeptGoing);
    assert_eq!(worked(&phone, &phone.history[&T]), (1_200_000, 40));
}

#[test]
fn a_pause_that_is_slept_through_is_a_pause() {
    let mut phone = Phone::with(&long());
    phone.start(0);
    phone.pass(60_000);
    phone.touch(0, Input::Pause);
    phone.freeze(0);
    phone.pass(3_600_000);
    phone.thaw(0);
    assert_eq!(phone.moment(0).phase, Phase::Paused);
    assert_eq!(phone.tabs[0].conductor.away(), None);
}
