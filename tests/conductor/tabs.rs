//! Several tabs of one browser, of which one leads.

use rungbook::conductor::{Event, Stage};
use rungbook::run::{Input, Phase};

use crate::phone::{Phone, T, long, squats, start_of};

#[test]
fn of_two_tabs_one_leads_and_the_other_names_what_runs() {
    let class = squats();
    let mut phone = Phone::with(&class);
    phone.start(0);
    phone.pass(30_000);
    let other = phone.tab(&class);
    let elsewhere = phone.tabs[other].conductor.elsewhere().expect("it is told");
    let left = elsewhere.class.expect("by its name");
    assert_eq!(left.opened.link, class.link);
    assert!(!elsewhere.refused);
}

#[test]
fn a_start_beside_a_class_that_runs_is_refused_and_offers_to_end_the_other() {
    let (class, other) = (squats(), long());
    let mut phone = Phone::with(&class);
    phone.start(0);
    phone.pass(20_000);
    // It is paused, and forgotten.
    phone.touch(0, Input::Pause);
    phone.pass(600_000);
    let tab = phone.tab(&other);
    phone.feed(tab, start_of(&other));
    assert_eq!(phone.tabs[tab].stage, Some(Stage::Brief));
    let elsewhere = phone.tabs[tab].conductor.elsewhere().unwrap();
    assert!(elsewhere.refused);
    assert_eq!(
        elsewhere.class.unwrap().opened.link,
        class.link,
        "the other is named"
    );
    phone.feed(tab, Event::EndOther);
    phone.pass(1_000);
    assert_eq!(phone.tabs[tab].stage, Some(Stage::Class));
    assert_eq!(phone.class_ms(tab), 1_000);
    assert_eq!(
        phone.tabs[0].stage,
        Some(Stage::Brief),
        "the other has ended"
    );
    assert!(
        phone.history.contains_key(&T),
        "what was done of it is kept"
    );
    assert_eq!(phone.run.plan, *other.link);
}

#[test]
fn a_class_is_taken_over_at_the_same_second_without_a_pause() {
    for delay in [0, 40, 2_000] {
        let class = squats();
        let mut phone = Phone::with(&class);
        phone.lock_delay = delay;
        phone.start(0);
        phone.pass(33_000);
        let other = phone.tab(&class);
        phone.pass(2_500);
        phone.feed(other, Event::TakeOver);
        phone.pass(6_500);
        assert_eq!(phone.class_ms(other), 42_000, "delay {delay}");
        assert_eq!(phone.moment(other).phase, Phase::Running);
        assert_eq!(phone.tabs[0].stage, Some(Stage::Brief));
        phone.pass(200_000);
        let record = phone.tabs[other].conductor.record(phone.now).unwrap();
        assert_eq!((record.worked_ms, record.paused_ms), (180_000, 0));
    }
}

#[test]
fn what_the_other_tab_did_since_it_was_looked_at_is_taken_over_too() {
    let class = squats();
    let mut phone = Phone::with(&class);
    phone.start(0);
    phone.pass(20_000);
    let other = phone.tab(&class);
    phone.pass(1_000);
    phone.touch(0, Input::Skip);
    let there = phone.class_ms(0);
    phone.feed(other, Event::TakeOver);
    assert_eq!(phone.class_ms(other), there);
}

#[test]
fn a_tab_that_closed_without_a_word_is_gone_on_with() {
    let class = squats();
    let mut phone = Phone::with(&class);
    phone.start(0);
    phone.pass(30_000);
    let other = phone.tab(&class);
    assert!(phone.tabs[other].conductor.elsewhere().is_some());
    phone.kill(0);
    phone.pass(120_000);
    phone.feed(other, Event::TakeOver);
    phone.pass(3_000);
    assert_eq!(phone.class_ms(other), 30_000);
}

#[test]
fn a_steal_that_is_told_late_lets_no_older_run_replace_the_newer() {
    let (class, other) = (squats(), long());
    let mut phone = Phone::with(&class);
    phone.start(0);
    phone.pass(20_000);
    let tab = phone.tab(&other);
    phone.feed(tab, start_of(&other));
    phone.lock_delay = 8_000;
    phone.feed(tab, Event::EndOther);
    // The old tab stores once more before it is told.
    phone.pass(7_000);
    phone.touch(0, Input::Skip);
    phone.pass(30_000);
    assert_eq!(phone.run.plan, *other.link);
    assert_eq!(phone.tabs[0].stage, Some(Stage::Brief));
    // The newer one ends before the older one is told: nothing of it comes back.
    phone.touch(tab, Input::Stop);
    phone.pass(30_000);
    assert!(phone.run.is_none());
    assert_eq!(phone.history.len(), 2);
}

#[test]
fn without_locks_each_tab_leads_and_none_is_lost() {
    let (class, other) = (squats(), long());
    let mut phone = Phone::with(&class);
    phone.lockless = true;
    phone.start(0);
    phone.pass(20_000);
    let tab = phone.tab(&other);
    phone.start(tab);
    phone.pass(20_000);
    assert_eq!(phone.moment(0).phase, Phase::Running);
    assert_eq!(phone.moment(tab).phase, Phase::Running);
    assert_eq!(phone.run.plan, *other.link);
    phone.pass(300_000);
    assert_eq!(phone.tabs[0].stage, Some(Stage::Done));
    assert_eq!(phone.history[&T].end, T + 230_000, "in whole");
    phone.touch(tab, Input::Stop);
    assert_eq!(phone.history.len(), 2);
}

#[test]
fn a_class_that_ended_while_nobody_looked_goes_to_the_history_once_no_tab_runs_it() {
    let mut class = squats();
    class.at = Some(T);
    let mut phone = Phone::left(&class, 60_000);
    phone.pass(3_600_000);
    let tab = phone.tab(&class);
    assert_eq!(phone.tabs[tab].conductor.left(), None);
    assert_eq!(phone.history[&T].end, T + 60_000);
    assert!(phone.run.is_none());
}
