//! A class at a set instant: early, late, by way of the warm-up.

use rungbook::conductor::{Event, Start, WARM_UP_MS};
use rungbook::run::{Input, Phase};
use rungbook::timeline::Ways;

use crate::phone::{Phone, T, long};

/// The long class at an instant, and a phone that has it open.
fn at(set: i64) -> Phone {
    let mut class = long();
    class.at = Some(set);
    Phone::with(&class)
}

/// Starts by way of the warm-up.
fn warm_up(phone: &mut Phone) {
    let opened = phone.tabs[0].class.clone();
    let first = opened.timeline.next_work(0).unwrap();
    let start = Start {
        opened,
        options: Ways::new(),
        warm_up: Some(first),
    };
    phone.feed(0, Event::Start(start));
}

#[test]
fn early_waits_and_late_lands_in_the_right_second() {
    let mut phone = at(T + 30_000);
    phone.start(0);
    assert_eq!(phone.moment(0).phase, Phase::Before);
    phone.pass(30_000);
    assert_eq!(
        (phone.moment(0).phase, phone.class_ms(0)),
        (Phase::Running, 0)
    );
    let mut phone = at(T - 200_000);
    phone.start(0);
    assert_eq!(phone.class_ms(0), 200_000);
    assert_eq!(phone.moment(0).shared, Some(true));
}

#[test]
fn a_class_that_is_over_is_done_alone_from_its_start() {
    let mut phone = at(T - 10_000_000);
    phone.start(0);
    assert_eq!((phone.class_ms(0), phone.moment(0).shared), (0, None));
}

#[test]
fn the_late_warm_up_begins_with_the_first_work_and_joins_by_itself_in_a_gap() {
    let mut phone = at(T - 400_000);
    warm_up(&mut phone);
    assert_eq!(phone.class_ms(0), 10_000);
    let joins = phone.tabs[0].conductor.joins().expect("it joins by itself");
    assert!(
        (WARM_UP_MS - 50_000..WARM_UP_MS + 50_000).contains(&(joins - T)),
        "{joins}"
    );
    phone.pass(joins - phone.now);
    assert_eq!(phone.class_ms(0), phone.now - (T - 400_000));
    assert_eq!(phone.moment(0).shared, Some(true));
    let segment = phone.moment(0).segment.unwrap();
    assert!(!phone.tabs[0].class.timeline.segments()[segment].is_work());
    assert_eq!(phone.tabs[0].conductor.joins(), None);
}

#[test]
fn whoever_steers_in_the_late_warm_up_is_not_moved_any_more() {
    for input in [Input::Pause, Input::Skip, Input::Back, Input::Rejoin] {
        let mut phone = at(T - 400_000);
        warm_up(&mut phone);
        phone.pass(20_000);
        phone.touch(0, input);
        assert_eq!(phone.tabs[0].conductor.joins(), None, "{input:?}");
    }
    let mut phone = at(T - 400_000);
    warm_up(&mut phone);
    phone.pass(20_000);
    phone.touch(
        0,
        Input::Choose {
            of: 0,
            option: None,
        },
    );
    assert!(
        phone.tabs[0].conductor.joins().is_some(),
        "an option moves nothing"
    );
}

#[test]
fn a_reload_within_the_late_warm_up_still_joins_by_itself() {
    for away in [3_000, 30_000, 300_000] {
        let mut phone = at(T - 400_000);
        warm_up(&mut phone);
        let joins = phone.tabs[0].conductor.joins().unwrap();
        phone.pass(40_000);
        phone.feed(0, Event::Closing);
        phone.kill(0);
        phone.pass(away);
        let class = phone.tabs[0].class.clone();
        let tab = phone.tab(&class);
        phone.feed(tab, Event::ResumeLeft);
        phone.pass((joins - phone.now).max(0) + 4_000);
        assert_eq!(phone.moment(tab).shared, Some(true), "away {away}");
        assert_eq!(phone.class_ms(tab), phone.now - (T - 400_000));
    }
}

#[test]
fn whoever_closed_the_page_finds_the_class_where_it_is_by_now_and_was_not_working() {
    let mut phone = at(T);
    phone.start(0);
    phone.pass(100_000);
    phone.feed(0, Event::Closing);
    phone.kill(0);
    phone.pass(200_000);
    let class = phone.tabs[0].class.clone();
    let tab = phone.tab(&class);
    let left = phone.tabs[tab].conductor.left().unwrap();
    assert!(left.in_step(phone.now));
    assert_eq!(left.at(phone.now).class_ms, 300_000);
    phone.feed(tab, Event::ResumeLeft);
    assert_eq!(phone.class_ms(tab), 300_000);
    let record = phone.tabs[tab].conductor.record(phone.now).unwrap();
    assert_eq!(record.paused_ms, 200_000);
}

#[test]
fn a_wake_up_that_comes_early_or_twice_starts_nothing_early() {
    let mut phone = at(T + 10_000);
    phone.start(0);
    for _ in 0..100 {
        phone.feed(0, Event::Wake);
        phone.feed(0, Event::Wake);
        phone.pass(150);
        assert_eq!(phone.class_ms(0), phone.now - (T + 10_000));
    }
}
