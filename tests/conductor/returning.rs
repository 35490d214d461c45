//! A class that was left: by a reload, a crash, a closed page.

use rungbook::conductor::{Event, Stage, Unreadable};
use rungbook::run::{Input, Phase};

use crate::phone::{Phone, T, long, squats, start_of};

#[test]
fn a_reload_in_mid_class_offers_to_go_on_at_the_same_second_with_a_count_in() {
    let class = squats();
    let mut phone = Phone::left(&class, 42_000);
    phone.pass(600_000);
    let tab = phone.tab(&class);
    let left = phone.tabs[tab].conductor.left().unwrap().clone();
    assert_eq!(left.at(phone.now).class_ms, 42_000);
    phone.feed(tab, Event::ResumeLeft);
    assert_eq!(phone.tabs[tab].stage, Some(Stage::Class));
    assert_eq!(phone.moment(tab).count_in, Some(3));
    phone.pass(3_000 + 188_000);
    assert_eq!(phone.tabs[tab].stage, Some(Stage::Done));
    let record = phone.tabs[tab].conductor.record(phone.now).unwrap();
    assert_eq!((record.worked_ms, record.paused_ms), (180_000, 603_000));
    assert!(
        phone.history.contains_key(&T),
        "the class is one, by its first start"
    );
    assert!(phone.run.is_none());
}

#[test]
fn a_crash_loses_five_seconds_at_most() {
    let class = squats();
    for ran in [37_000, 39_999, 41_300] {
        let mut phone = Phone::with(&class);
        phone.start(0);
        phone.pass(ran);
        phone.kill(0);
        let tab = phone.tab(&class);
        let left = phone.tabs[tab].conductor.left().unwrap().at(phone.now);
        assert!(
            (ran - 5_000..=ran).contains(&left.class_ms),
            "{ran}: {left:?}"
        );
    }
}

#[test]
fn a_pause_is_found_again_as_a_pause() {
    let class = squats();
    let mut phone = Phone::with(&class);
    phone.start(0);
    phone.pass(30_000);
    phone.touch(0, Input::Pause);
    phone.pass(20_000);
    phone.kill(0);
    phone.pass(3_600_000);
    let tab = phone.tab(&class);
    let left = phone.tabs[tab].conductor.left().unwrap().at(phone.now);
    assert_eq!((left.phase, left.class_ms), (Phase::Paused, 30_000));
}

#[test]
fn a_class_that_is_over_is_not_offered_again() {
    let class = squats();
    for stop_at in [60_000, 240_000] {
        let mut phone = Phone::with(&class);
        phone.start(0);
        phone.pass(stop_at);
        phone.touch(0, Input::Stop);
        phone.kill(0);
        let tab = phone.tab(&class);
        assert_eq!(phone.tabs[tab].conductor.left(), None);
        assert_eq!(phone.history.len(), 1);
    }
}

#[test]
fn what_is_discarded_is_in_the_history_as_far_as_it_was_seen() {
    let class = squats();
    let mut phone = Phone::left(&class, 60_000);
    let tab = phone.tab(&class);
    phone.feed(tab, Event::DiscardLeft);
    assert_eq!(phone.tabs[tab].conductor.left(), None);
    assert!(phone.run.is_none());
    assert_eq!(phone.history[&T].end, T + 60_000);
}

#[test]
fn a_new_class_puts_the_one_that_was_left_into_the_history() {
    let class = squats();
    let mut phone = Phone::left(&class, 60_000);
    phone.pass(100_000);
    let other = long();
    let tab = phone.tab(&other);
    assert!(phone.tabs[tab].conductor.left().is_some());
    phone.feed(tab, start_of(&other));
    assert_eq!(phone.history[&T].end, T + 60_000);
    assert_eq!(phone.run.plan, *other.link);
}

#[test]
fn a_clock_that_was_set_back_before_the_resume_does_not_freeze_the_class() {
    let class = squats();
    let mut phone = Phone::left(&class, 42_000);
    phone.now -= 3_600_000;
    let tab = phone.tab(&class);
    phone.feed(tab, Event::ResumeLeft);
    let begun = phone.now;
    phone.sound(tab, rungbook::conductor::SoundState::On);
    phone.pass(5_000);
    assert_eq!(phone.class_ms(tab), 44_000);
    phone.pass(200_000);
    assert_eq!(phone.tabs[tab].stage, Some(Stage::Done));
    // Its calls are heard by the clock as it is now.
    let go = phone.tabs[tab].heard.iter().map(|one| one.at - begun);
    assert_eq!(go.take(4).collect::<Vec<_>>(), [0, 1_000, 2_000, 3_000]);
}

#[test]
fn a_class_at_a_set_instant_is_joined_anew_after_a_clock_was_set_back() {
    let mut class = long();
    class.at = Some(T - 600_000);
    let mut phone = Phone::left(&class, 100_000);
    phone.now -= 300_000;
    let tab = phone.tab(&class);
    phone.feed(tab, Event::ResumeLeft);
    phone.pass(2_000);
    let moment = phone.moment(tab);
    assert_eq!(moment.class_ms, phone.now - (T - 600_000));
    assert_eq!(moment.shared, Some(true));
    assert!(
        phone.history.contains_key(&T),
        "what was done before is kept"
    );
}

#[test]
fn a_stored_run_that_can_not_be_read_is_told_kept_and_not_replaced() {
    for why in [Unreadable::Newer, Unreadable::Class, Unreadable::Damaged] {
        let class = squats();
        let mut phone = Phone::new();
        phone.unreadable = Some(why);
        let tab = phone.tab(&class);
        assert_eq!(phone.tabs[tab].conductor.unreadable(), Some(why));
        phone.start(tab);
        phone.pass(30_000);
        assert_eq!(phone.aside, 1, "it was put aside");
        assert_eq!(phone.run.plan, *class.link);
    }
}

#[test]
fn a_wait_for_a_recording_is_taken_up_where_it_was_left() {
    // 65 s to go on the video; away for a minute, and for longer than the class.
    for away in [60_000, 7_200_000] {
        let class = squats();
        let mut phone = Phone::with(&class);
        phone.start(0);
        phone.pass(10_000);
        phone.touch(0, Input::Nudge { ms: -75_000 });
        phone.pass(5_000);
        phone.feed(0, Event::Closing);
        phone.kill(0);
        phone.pass(away);
        let tab = phone.tab(&class);
        let left = phone.tabs[tab]
            .conductor
            .left()
            .expect("it goes on")
            .clone();
        let stands = left.at(phone.now);
        assert_eq!((stands.phase, stands.class_ms), (Phase::Before, -60_000));
        assert!(phone.history.is_empty(), "nothing of it is over");
        phone.feed(tab, Event::ResumeLeft);
        assert_eq!(phone.tabs[tab].stage, Some(Stage::Class));
        assert_eq!(
            (phone.moment(tab).count_in, phone.class_ms(tab)),
            (Some(3), -60_000)
        );
        phone.pass(3_000);
        assert_eq!(
            (phone.moment(tab).phase, phone.class_ms(tab)),
            (Phase::Before, -60_000)
        );
        phone.pass(60_000);
        assert_eq!(
            (phone.moment(tab).phase, phone.class_ms(tab)),
            (Phase::Running, 0)
        );
        phone.pass(230_000);
        assert_eq!(phone.tabs[tab].stage, Some(Stage::Done));
    }
}
