//! What is heard, said and felt, and when.

use rungbook::conductor::{Effect, Event, SOUND_AHEAD_MS, SoundState};
use rungbook::cue::{Call, CallLevel, Calling};
use rungbook::run::{Input, Run, Sounding};
use rungbook::stored::Settings;

use crate::phone::{Phone, T, long, squats};

/// What a run without any input but its start sounds.
fn expected(phone: &Phone, until: i64) -> Vec<Sounding> {
    let mut run = Run::new(phone.tabs[0].class.timeline.clone());
    // Without a voice.
    run.call(Calling {
        level: CallLevel::Tones,
        ..Calling::default()
    });
    let (set, lead) = (None, false);
    run.input(T, Input::Start { set, lead });
    run.sound(T, until)
}

fn voiced(level: CallLevel) -> Phone {
    let mut phone = Phone::new();
    let mut settings = Settings::default();
    settings.calling.level = level;
    let class = crate::phone::open(
        r#"{ "format": "rungbook-plan", "version": 1, "title": "Told",
             "moves": [ { "id": "squat", "name": "Squat" } ],
             "blocks": [ { "kind": "interlude", "lasts": 40, "say": "Take the mat over to the wall, sit down on it with the legs long, and have a good drink of water before we go on together." },
                         { "kind": "rounds", "moves": ["squat"], "rounds": 3, "work": 60, "break": 20 } ] }"#,
    );
    phone.tab_with(&class, settings);
    phone.feed(0, Event::Voice(true));
    phone.start(0);
    phone
}

#[test]
fn each_call_of_a_class_is_heard_once_at_its_time() {
    let mut phone = Phone::with(&long());
    phone.start(0);
    let end = T + phone.tabs[0].class.timeline.total_ms() + 1_000;
    phone.pass(end - T);
    assert_eq!(phone.tabs[0].heard, expected(&phone, end));
    assert!(phone.tabs[0].heard.len() > 300);
}

#[test]
fn sound_is_laid_ahead_in_steps_and_never_further_than_it_has_to() {
    let mut phone = Phone::with(&long());
    phone.start(0);
    let last = |phone: &Phone| {
        phone.tabs[0]
            .laid()
            .last()
            .map_or(0, |one| one.at - phone.now)
    };
    assert!(last(&phone) < 60_000, "not all at once");
    phone.pass(60_000);
    assert!((SOUND_AHEAD_MS - 60_000..=SOUND_AHEAD_MS).contains(&last(&phone)));
}

#[test]
fn a_loudspeaker_that_comes_back_does_not_make_up_for_what_it_missed() {
    let mut phone = Phone::with(&squats());
    phone.start(0);
    phone.pass(6_900);
    phone.sound(0, SoundState::Waiting);
    phone.pass(1_125); // A count was due at 8 s, 25 ms ago.
    phone.sound(0, SoundState::On);
    phone.pass(3_000);
    let heard: Vec<_> = phone.tabs[0].heard.iter().map(|one| one.at - T).collect();
    assert_eq!(heard, [9_000, 10_000]);
}

#[test]
fn a_pause_silences_what_was_laid_and_a_skip_lays_what_comes_instead() {
    let mut phone = Phone::with(&squats());
    phone.start(0);
    phone.pass(8_500);
    phone.touch(0, Input::Pause);
    phone.pass(30_000);
    assert_eq!(
        phone.tabs[0].heard.len(),
        2,
        "three and two; then the pause"
    );
    phone.touch(0, Input::Resume);
    phone.pass(3_000);
    let counts = |phone: &Phone| {
        phone.tabs[0].heard[2..]
            .iter()
            .map(|one| one.call)
            .collect::<Vec<_>>()
    };
    assert_eq!(
        counts(&phone),
        [Call::Count(3), Call::Count(2), Call::Count(1)]
    );
    phone.touch(0, Input::Skip);
    phone.pass(1);
    assert_eq!(phone.tabs[0].heard.last().unwrap().call, Call::Go);
}

#[test]
fn a_choice_in_mid_call_cuts_nothing_and_sounds_nothing_twice() {
    for after in [-30, -15, -5, 0, 1, 5, 19, 20, 21, 60] {
        let mut phone = Phone::with(&squats());
        phone.start(0);
        phone.pass(9_000 + after);
        phone.touch(
            0,
            Input::Choose {
                of: 0,
                option: None,
            },
        );
        phone.pass(100_000 - after);
        assert_eq!(
            phone.tabs[0].heard,
            expected(&phone, T + 109_000),
            "{after} ms"
        );
    }
}

#[test]
fn a_map_that_moved_lays_anew_only_where_nothing_sounds() {
    let mut phone = Phone::with(&squats());
    phone.start(0);
    phone.pass(9_010); // Within the count.
    phone.feed(0, Event::SoundMoved);
    let cancels = |effect: &Effect| *effect == Effect::CancelSound;
    assert!(
        !phone.tabs[0].effects.iter().any(cancels),
        "a call that sounds is left whole"
    );
    phone.pass(100_000);
    assert_eq!(phone.tabs[0].heard, expected(&phone, phone.now));
    phone.pass(40_500); // Within the work, far from any call.
    phone.feed(0, Event::SoundMoved);
    assert!(phone.tabs[0].effects.iter().any(cancels));
}

#[test]
fn nothing_sounds_while_someone_is_unwell_and_no_remote_goes_on() {
    let mut phone = voiced(CallLevel::Full);
    phone.pass(55_000);
    phone.feed(0, Event::Unwell);
    let before = phone.tabs[0].heard.len();
    phone.feed(0, Event::MediaKey(Input::Resume));
    phone.feed(0, Event::Shown);
    phone.sound(0, SoundState::Waiting);
    phone.sound(0, SoundState::On);
    phone.pass(60_000);
    phone.touch(0, Input::Resume);
    phone.pass(2_000);
    assert_eq!(
        phone.tabs[0].heard.len(),
        before,
        "as long as the advice is open"
    );
    phone.feed(0, Event::AdviceClosed);
    phone.pass(10_000);
    assert!(phone.tabs[0].heard.len() > before);
    assert!(!phone.tabs[0].conductor.is_unwell());
}

#[test]
fn tones_are_as_loud_as_before_once_words_are_cut() {
    let mut phone = voiced(CallLevel::Full);
    phone.pass(15_000);
    assert!(
        phone.tabs[0].ducked_until > phone.now,
        "{:?}",
        phone.tabs[0].said
    );
    phone.touch(0, Input::Skip);
    assert!(
        phone.tabs[0].ducked_until <= phone.now,
        "a skip within an interlude"
    );
    assert_eq!(phone.tabs[0].hushed.last(), Some(&phone.now));
}

#[test]
fn words_that_fail_are_tones_from_then_on() {
    let mut phone = voiced(CallLevel::Short);
    phone.pass(45_000);
    let said = phone.tabs[0].said.len();
    assert!(said > 0);
    phone.feed(0, Event::VoiceFailed);
    assert!(phone.tabs[0].ducked_until <= phone.now);
    phone.pass(100_000);
    assert_eq!(phone.tabs[0].said.len(), said);
    let tens = |one: &&Sounding| one.call == Call::Ten;
    assert!(
        phone.tabs[0].heard.iter().any(|one| tens(&one)),
        "ten to go is a tone instead"
    );
}

#[test]
fn the_sound_check_of_a_new_context_waits_for_it_to_run() {
    let mut phone = Phone::with(&squats());
    phone.feed(0, Event::CheckSound(Some("Next: squat".into())));
    phone.pass(800);
    assert!(phone.tabs[0].heard.is_empty());
    phone.sound(0, SoundState::On);
    let from = phone.now;
    phone.pass(4_000);
    let heard: Vec<_> = phone.tabs[0]
        .heard
        .iter()
        .map(|one| one.at - from)
        .collect();
    assert_eq!(heard, [100, 700, 1_300, 1_900]);
    assert_eq!(
        phone.tabs[0].said,
        [(from + 2_500, "Next: squat".to_owned())]
    );
    // Where the browser holds sound back for good, nothing comes out of nowhere later.
    let mut phone = Phone::with(&squats());
    phone.feed(0, Event::CheckSound(None));
    phone.pass(6_000);
    phone.sound(0, SoundState::On);
    phone.pass(6_000);
    assert!(phone.tabs[0].heard.is_empty());
}

#[test]
fn behind_a_dark_screen_the_track_sounds_and_nothing_else() {
    let mut phone = Phone::new();
    let settings = Settings {
        screen_off: true,
        ..Settings::default()
    };
    phone.tab_with(&squats(), settings);
    phone.start(0);
    phone.pass(5_000);
    phone.feed(0, Event::Hidden);
    assert!(phone.tabs[0].track);
    assert!(phone.tabs[0].laid().is_empty());
    phone.pass(30_000);
    phone.feed(0, Event::MediaKey(Input::Skip));
    assert!(phone.tabs[0].track, "a track of the class as it runs now");
    assert!(phone.tabs[0].laid().is_empty());
    phone.tabs[0].track = false;
    phone.feed(0, Event::TrackRefused);
    assert!(
        !phone.tabs[0].laid().is_empty(),
        "what the browser won't play is laid"
    );
    phone.feed(0, Event::Shown);
    assert!(!phone.tabs[0].track);
    assert!(!phone.tabs[0].laid().is_empty());
}

#[test]
fn a_class_is_felt_as_it_is_heard() {
    let mut phone = Phone::with(&squats());
    phone.start(0);
    phone.pass(230_000);
    let felt: Vec<_> = phone.tabs[0]
        .felt
        .iter()
        .map(|(at, call)| (*at, *call))
        .collect();
    let heard: Vec<_> = phone.tabs[0]
        .heard
        .iter()
        .map(|one| (one.at, one.call))
        .collect();
    let late = felt
        .iter()
        .zip(&heard)
        .all(|(felt, heard)| felt.1 == heard.1 && felt.0 - heard.0 < 150);
    assert!(late && felt.len() >= heard.len(), "{felt:?} {heard:?}");
}

#[test]
fn another_volume_or_language_changes_nothing_that_sounds_already() {
    let mut phone = Phone::with(&squats());
    phone.start(0);
    phone.pass(9_005);
    phone.feed(
        0,
        Event::Settings(Settings {
            volume: 50,
            ..Settings::default()
        }),
    );
    phone.pass(60_000);
    assert_eq!(phone.tabs[0].heard, expected(&phone, phone.now));
}
