//! Which start a class is opened with, where the phone has one already.

use rungbook::conductor::{Opened, Starts, TwoStarts, starts};

use crate::phone::{T, squats};

/// Squats take 3:50.
const LASTS: i64 = 230_000;

fn class(at: Option<i64>) -> Opened {
    let mut class = squats();
    class.at = at;
    class
}

/// What is opened at [`T`] by a link with a start, on a phone that has the class with another.
fn opened(link: Option<i64>, kept: Option<i64>) -> Starts {
    starts(&class(link), Some(&class(kept)), false, T)
}

fn asks(kept: i64, link: Option<i64>) -> Starts {
    Starts {
        at: Some(kept),
        differ: Some(TwoStarts { kept, link }),
    }
}

fn silent(at: Option<i64>) -> Starts {
    Starts { at, differ: None }
}

#[test]
fn the_same_start_is_no_question() {
    assert_eq!(
        opened(Some(T + 60_000), Some(T + 60_000)),
        silent(Some(T + 60_000))
    );
    assert_eq!(opened(None, None), silent(None));
}

#[test]
fn a_class_that_the_phone_has_not_opens_as_its_link_says() {
    for at in [None, Some(T + 60_000), Some(T - LASTS)] {
        assert_eq!(starts(&class(at), None, false, T), silent(at));
        // Nor is a start lost where there is none.
        assert_eq!(opened(at, None), silent(at));
    }
}

#[test]
fn another_start_is_asked_about_and_the_phones_own_holds_until_then() {
    let (friday, saturday) = (T + 86_400_000, T + 2 * 86_400_000);
    assert_eq!(
        opened(Some(saturday), Some(friday)),
        asks(friday, Some(saturday))
    );
    assert_eq!(
        opened(Some(friday), Some(saturday)),
        asks(saturday, Some(friday))
    );
    // One that runs is not over: its last millisecond counts.
    let running = T - LASTS + 1;
    assert_eq!(
        opened(Some(friday), Some(running)),
        asks(running, Some(friday))
    );
}

#[test]
fn a_link_without_a_start_does_not_take_the_phones_own() {
    assert_eq!(opened(None, Some(T + 60_000)), asks(T + 60_000, None));
}

#[test]
fn a_start_that_is_over_makes_way() {
    for link in [None, Some(T + 60_000), Some(T - 2 * LASTS)] {
        assert_eq!(opened(link, Some(T - LASTS)), silent(link));
    }
}

#[test]
fn a_links_start_that_is_over_replaces_nothing_without_a_word() {
    let over = T - LASTS;
    assert_eq!(
        opened(Some(over), Some(T + 60_000)),
        asks(T + 60_000, Some(over))
    );
}

#[test]
fn a_correction_without_a_start_keeps_it_and_one_with_another_asks() {
    let (friday, saturday) = (T + 86_400_000, T + 2 * 86_400_000);
    let corrected = |link| starts(&class(link), Some(&class(Some(friday))), true, T);
    assert_eq!(corrected(None), silent(Some(friday)));
    assert_eq!(corrected(Some(friday)), silent(Some(friday)));
    assert_eq!(corrected(Some(saturday)), asks(friday, Some(saturday)));
}
