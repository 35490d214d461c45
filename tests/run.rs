//! One run of one class: a scenario for each rule, with a clock of its own that jumps from one
//! wake-up to the next, and what holds whatever a person does.
#![cfg(not(target_arch = "wasm32"))]
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, missing_docs)]

mod common;

use proptest::collection::vec;
use proptest::prelude::*;
use proptest::sample::Index;

use common::{T, at_instants, cases, wild_run};
use rungbook::cue::{COUNTED_WORK_MS, Call};
use rungbook::plan::{Hand, Plan};
use rungbook::run::{
    ClockError, ClockOffer, Did, Input, Log, LogError, Logged, MOST_INPUTS, Moment, Phase, RATINGS,
    Run, Shift, Sounding, Span, Times, at_clock, tally,
};
use rungbook::timeline::Timeline;

// ---- A class and a phone ----

/// Two rounds of a squat and of a lunge that changes sides at half time. Its segments:
///
/// | 0 | 1 | 2 | 3 | 4 | 5 | 6 | 7 |
/// | --- | --- | --- | --- | --- | --- | --- | --- |
/// | ready | squat | rest | lunge | break | squat | rest | lunge |
/// | 0-10 s | 10-40 | 40-50 | 50-80 | 80-100 | 100-130 | 130-140 | 140-170 |
///
/// When a coach leads, the rests and the break are held.
const DRILL: &str = r#"{
    "format": "rungbook-plan", "version": 1, "title": "Quay drill",
    "moves": [
        { "id": "squat", "name": "Squat",
          "options": [ { "id": "sit", "level": "easier" }, { "id": "one", "switch_at_half": true } ] },
        { "id": "lunge", "name": "Lunge", "sided": true }
    ],
    "blocks": [ { "kind": "rounds", "moves": ["squat", "lunge"], "rounds": 2, "sides": "half",
                  "work": 30, "rest": 10, "break": 20, "held": true } ]
}"#;

const START: Input = Input::Start {
    set: None,
    lead: false,
};
const LEAD: Input = Input::Start {
    set: None,
    lead: true,
};

/// A phone that runs a class: its clock jumps to the next wake-up.
struct Phone {
    run: Run,
    now: i64,
}

impl Phone {
    fn new(plan: &str) -> Phone {
        let plan = Plan::from_json(plan).unwrap();
        Phone {
            run: Run::new(Timeline::new(&plan)),
            now: T,
        }
    }

    /// A phone on which the drill was started.
    fn started(start: Input) -> Phone {
        let mut phone = Phone::new(DRILL);
        phone.does(start);
        phone
    }

    /// A phone on which the drill starts at a set instant, some seconds from now.
    fn set(seconds: i64) -> Phone {
        Phone::started(Input::Start {
            set: Some(T + seconds * 1000),
            lead: false,
        })
    }

    fn does(&mut self, input: Input) {
        self.run.input(self.now, input);
    }

    /// Sleeps from wake-up to wake-up for so many milliseconds.
    fn waits_ms(&mut self, ms: i64) {
        const MOST_WAKES: usize = 10_000;
        let until = self.now + ms;
        for _ in 0..MOST_WAKES {
            match self.run.wake(self.now) {
                Some(wake) if wake <= until => {
                    assert!(wake > self.now, "woken without sleep");
                    self.now = wake;
                }
                _ => {
                    self.now = until;
                    return;
                }
            }
        }
        panic!("{MOST_WAKES} wake-ups in {ms} ms");
    }

    fn waits(&mut self, seconds: i64) {
        self.waits_ms(seconds * 1000);
    }

    fn show(&self) -> Moment {
        self.run.show(self.now)
    }

    #[track_caller]
    fn stands(&self, phase: Phase, class_ms: i64) {
        let show = self.show();
        assert_eq!((show.phase, show.class_ms), (phase, class_ms));
    }

    /// What sounds in the next so many seconds: seconds from now, and the call.
    fn hears(&self, seconds: i64) -> Vec<(i64, Call)> {
        let from_now = |one: &Sounding| ((one.at - self.now) / 1000, one.call);
        let sounding = self.run.sound(self.now, self.now + seconds * 1000);
        assert!(sounding.iter().all(|one| (one.at - self.now) % 1000 == 0));
        sounding.iter().map(from_now).collect()
    }
}

fn jump(to: usize) -> Input {
    Input::Jump { to }
}

fn align(to: usize) -> Input {
    Input::Align { to }
}

fn nudge(ms: i64) -> Input {
    Input::Nudge { ms }
}

fn choose(option: usize) -> Input {
    Input::Choose {
        of: 0,
        option: Some(option),
    }
}

// ---- Starting and ending ----

#[test]
fn a_run_that_is_not_interrupted_ends_with_the_class() {
    let mut phone = Phone::started(START);
    phone.stands(Phase::Running, 0);
    phone.waits(169);
    phone.stands(Phase::Running, 169_000);
    assert_eq!(phone.show().seconds, 1);
    phone.waits(1);
    phone.stands(Phase::Done, 170_000);
    phone.waits(3_600);
    phone.stands(Phase::Done, 170_000);
    assert_eq!(phone.run.elapsed_ms(phone.now), 170_000);
    let record = phone.run.record(phone.now);
    assert!(record.reached_end);
    assert_eq!(record.running_ms, 170_000);
    assert_eq!(record.worked_ms, 4 * 30_000);
    assert_eq!(record.segments(Did::All).collect::<Vec<_>>(), [1, 3, 5, 7]);
}

#[test]
fn nothing_but_a_choice_is_taken_before_the_start() {
    let mut phone = Phone::new(DRILL);
    for input in [
        Input::Pause,
        Input::Skip,
        nudge(5_000),
        jump(3),
        Input::Stop,
        Input::Go,
    ] {
        phone.does(input);
        assert_eq!(phone.show().phase, Phase::Idle);
    }
    phone.does(choose(1));
    assert_eq!(phone.run.ways().get(&0), Some(&1));
    assert_eq!(phone.run.wake(phone.now), None);
    assert!(phone.hears(60).is_empty());
    phone.waits(60);
    phone.does(START);
    phone.stands(Phase::Running, 0);
}

#[test]
fn a_second_start_does_nothing() {
    let mut phone = Phone::started(START);
    phone.waits(30);
    phone.does(LEAD);
    phone.stands(Phase::Running, 30_000);
    phone.waits(30);
    phone.stands(Phase::Running, 60_000);
}

/// Back from the end: what lies between is a pause, and the spans still touch.
#[test]
fn a_run_that_was_stopped_can_be_opened_again() {
    let mut phone = Phone::started(START);
    phone.waits(30);
    phone.does(Input::Stop);
    phone.waits(20);
    phone.does(Input::Reopen);
    phone.stands(Phase::Paused, 30_000);
    phone.does(Input::Resume);
    phone.waits(3);
    phone.stands(Phase::Running, 30_000);
    let spans = phone.run.spans(phone.now);
    assert!(spans.windows(2).all(|two| two[0].to == two[1].from));
    assert_eq!(phone.run.record(phone.now).paused_ms, 23_000);
    assert_eq!(phone.run.elapsed_ms(phone.now), 53_000);
}

#[test]
fn an_interval_of_which_less_than_half_was_run_through_was_skipped() {
    // Work from 10 s to 40 s.
    for (skip_at, did) in [
        (12, Did::None),
        (24, Did::None),
        (25, Did::Part),
        (39, Did::Part),
    ] {
        let mut phone = Phone::started(START);
        phone.waits(skip_at);
        phone.does(Input::Skip);
        phone.waits(1);
        assert_eq!(phone.run.record(phone.now).work[0].1, did, "{skip_at} s");
    }
}

#[test]
fn what_the_phone_slept_through_is_worked_only_once_the_member_says_so() {
    let mut phone = Phone::started(START);
    phone.waits(20);
    let from = phone.now;
    phone.waits(15);
    phone.does(Input::Away { from });
    let record = phone.run.record(phone.now);
    assert_eq!((record.worked_ms, record.away_ms), (10_000, 15_000));
    assert_eq!(phone.run.away().map(|away| away.class_ms), Some(20_000));
    phone.does(Input::KeptGoing);
    let record = phone.run.record(phone.now);
    assert_eq!((record.worked_ms, record.away_ms), (25_000, 0));
    assert_eq!(phone.run.away(), None);
}

#[test]
fn stop_ends_the_run_for_good() {
    let mut phone = Phone::started(START);
    phone.waits(60);
    phone.does(Input::Stop);
    assert_eq!(phone.show().phase, Phase::Done);
    for input in [
        START,
        Input::Resume,
        Input::Undo,
        Input::Rejoin,
        jump(1),
        align(3),
        Input::Go,
    ] {
        phone.waits(5);
        phone.does(input);
        assert_eq!(phone.show().phase, Phase::Done);
    }
    assert!(phone.hears(300).is_empty());
    assert_eq!(phone.run.wake(phone.now), None);
    assert_eq!(phone.run.elapsed_ms(phone.now), 60_000);
    let record = phone.run.record(phone.now);
    assert!(!record.reached_end);
    let did: Vec<_> = record.work.iter().map(|(_, did)| *did).collect();
    // Ten seconds of the second are less than half of it.
    assert_eq!(did, [Did::All, Did::None, Did::None, Did::None]);
}

#[test]
fn an_input_that_is_timed_before_the_last_is_taken_at_the_last_ones_instant() {
    let mut phone = Phone::started(START);
    phone.waits(30);
    phone.does(Input::Pause);
    phone.run.input(T + 5_000, Input::Resume);
    // The count-in began with the pause, not before it.
    assert_eq!(phone.show().count_in, Some(3));
    phone.waits(3);
    phone.stands(Phase::Running, 30_000);
    assert_eq!(phone.run.elapsed_ms(phone.now), 33_000);
    // Asked about an instant before the last input, a run answers for that input's.
    assert_eq!(phone.run.show(T), phone.run.show(T + 30_000));
}

#[test]
fn elapsed_is_running_and_paused_and_held_to_the_millisecond() {
    let mut phone = Phone::started(LEAD);
    phone.waits_ms(12_345);
    phone.does(Input::Pause);
    phone.waits_ms(6_789);
    phone.does(Input::Resume);
    phone.waits_ms(3_000 + 37_655); // to the end of the rest, where it is held
    phone.stands(Phase::Held, 50_000);
    phone.waits_ms(4_321);
    phone.does(Input::Go);
    phone.waits_ms(1);
    let record = phone.run.record(phone.now);
    assert_eq!(record.running_ms, 50_001);
    assert_eq!(record.paused_ms, 9_789);
    assert_eq!(record.held_ms, 4_321);
    assert_eq!(phone.run.elapsed_ms(phone.now), 50_001 + 9_789 + 4_321);
}

// ---- Before the class ----

#[test]
fn a_set_instant_is_the_start_of_time_0() {
    let mut phone = Phone::set(60);
    phone.stands(Phase::Before, -60_000);
    assert_eq!((phone.show().seconds, phone.show().segment), (60, None));
    assert_eq!(phone.run.elapsed_ms(phone.now), 0);
    phone.waits_ms(59_999);
    phone.stands(Phase::Before, -1);
    assert_eq!(phone.show().seconds, 1);
    phone.waits_ms(1);
    phone.stands(Phase::Running, 0);
    assert_eq!((phone.show().seconds, phone.show().segment), (10, Some(0)));
    phone.waits(10);
    phone.stands(Phase::Running, 10_000);
    assert_eq!(phone.run.elapsed_ms(phone.now), 10_000);
}

#[test]
fn pause_and_skip_do_nothing_before_the_class() {
    let mut phone = Phone::set(60);
    for input in [Input::Pause, Input::Skip, Input::Resume] {
        phone.waits(10);
        phone.does(input);
        assert_eq!(phone.show().phase, Phase::Before);
        assert_eq!(phone.show().shared, Some(true));
    }
    phone.stands(Phase::Before, -30_000);
    phone.waits(45);
    phone.stands(Phase::Running, 15_000);
}

#[test]
fn what_sounds_before_a_set_instant_belongs_to_the_class() {
    let phone = Phone::set(60);
    assert!(phone.hears(60 + 7).is_empty());
    assert_eq!(
        phone.hears(60 + 11),
        [
            (67, Call::Count(3)),
            (68, Call::Count(2)),
            (69, Call::Count(1)),
            (70, Call::Go)
        ]
    );
}

// ---- Pause and the count-in ----

#[test]
fn a_pause_stops_class_time_until_it_is_resumed() {
    let mut phone = Phone::started(START);
    phone.waits_ms(20_250);
    phone.does(Input::Pause);
    phone.waits(600);
    phone.stands(Phase::Paused, 20_250);
    assert_eq!((phone.show().seconds, phone.show().count_in), (20, None));
    assert_eq!(phone.run.wake(phone.now), None);
    assert!(phone.hears(600).is_empty());
}

#[test]
fn a_count_in_belongs_to_the_pause() {
    let mut phone = Phone::started(START);
    phone.waits(20);
    phone.does(Input::Pause);
    phone.waits(5);
    phone.does(Input::Resume);
    phone.stands(Phase::Paused, 20_000);
    let counts = [
        (0, Call::Count(3)),
        (1, Call::Count(2)),
        (2, Call::Count(1)),
        (3, Call::Go),
    ];
    assert_eq!(phone.hears(4), counts);
    for left in [3, 2, 1] {
        assert_eq!(phone.show().count_in, Some(left));
        phone.stands(Phase::Paused, 20_000);
        phone.waits(1);
    }
    phone.stands(Phase::Running, 20_000);
    assert_eq!(phone.show().count_in, None);
    let record = phone.run.record(phone.now);
    assert_eq!((record.running_ms, record.paused_ms), (20_000, 8_000));
}

#[test]
fn a_second_resume_does_not_count_anew() {
    let mut phone = Phone::started(START);
    phone.waits(20);
    phone.does(Input::Pause);
    phone.does(Input::Resume);
    phone.waits(2);
    phone.does(Input::Resume);
    phone.waits(1);
    phone.stands(Phase::Running, 20_000);
}

#[test]
fn a_pause_within_the_count_in_calls_it_off() {
    let mut phone = Phone::started(START);
    phone.waits(20);
    phone.does(Input::Pause);
    phone.does(Input::Resume);
    phone.waits(2);
    phone.does(Input::Pause);
    phone.waits(60);
    phone.stands(Phase::Paused, 20_000);
    assert_eq!(phone.show().count_in, None);
    phone.does(Input::Resume);
    phone.waits(3);
    phone.stands(Phase::Running, 20_000);
}

/// A pause on the very go: whoever comes back hears one go, that of the count-in.
#[test]
fn a_pause_on_the_go_is_followed_by_one_go() {
    let mut phone = Phone::started(START);
    phone.waits(10);
    phone.does(Input::Pause);
    phone.does(Input::Resume);
    let gos: Vec<_> = phone
        .hears(40)
        .into_iter()
        .filter(|(_, call)| *call == Call::Go)
        .collect();
    assert_eq!(gos, [(3, Call::Go)]);
}

/// Sound is asked for part by part: the part that begins with the go after a pause has it.
#[test]
fn the_go_after_a_pause_sounds_however_sound_is_asked_for() {
    let mut phone = Phone::started(START);
    phone.waits(20);
    phone.does(Input::Pause);
    phone.does(Input::Resume);
    let go = phone.now + 3_000;
    let gos = |from, until| -> Vec<i64> {
        let sounding = phone.run.sound(from, until).into_iter();
        sounding
            .filter(|one| one.call == Call::Go)
            .map(|one| one.at)
            .collect()
    };
    assert_eq!(gos(phone.now, go + 1), [go]);
    assert!(gos(phone.now, go).is_empty());
    assert_eq!(gos(go, go + 1), [go]);
}

/// Sound is asked for part by part: the part that begins with the end of the class has it.
#[test]
fn the_end_of_the_class_sounds_however_sound_is_asked_for() {
    let phone = Phone::started(START);
    let ends = |from, until| -> Vec<i64> {
        let sounding = phone.run.sound(from, until).into_iter();
        let ends = sounding.filter(|one| one.call == Call::End);
        ends.map(|one| one.at - T).collect()
    };
    assert_eq!(ends(T + 140_000, T + 170_001), [170_000]);
    assert!(ends(T + 140_000, T + 170_000).is_empty());
    assert_eq!(ends(T + 170_000, T + 170_001), [170_000]);
}

// ---- Skip, back and jump ----

#[test]
fn skip_goes_to_the_start_of_the_next_segment() {
    let mut phone = Phone::started(START);
    for start in [10, 40, 50, 80] {
        phone.waits(3);
        phone.does(Input::Skip);
        phone.stands(Phase::Running, start * 1000);
    }
    phone.waits(5);
    phone.stands(Phase::Running, 85_000);
}

#[test]
fn skip_in_the_last_segment_ends_the_class() {
    let mut phone = Phone::started(START);
    phone.does(jump(7));
    phone.waits(1);
    phone.does(Input::Skip);
    phone.stands(Phase::Done, 170_000);
}

#[test]
fn back_goes_to_the_start_of_this_segment() {
    let mut phone = Phone::started(START);
    phone.waits(43);
    phone.does(Input::Back);
    phone.stands(Phase::Running, 40_000);
}

#[test]
fn back_within_three_seconds_goes_to_the_segment_before() {
    let mut phone = Phone::started(START);
    phone.waits_ms(42_999);
    phone.does(Input::Back);
    phone.stands(Phase::Running, 10_000);
    phone.does(Input::Back);
    phone.stands(Phase::Running, 0);
    // There is none before the first.
    phone.does(Input::Back);
    phone.stands(Phase::Running, 0);
}

#[test]
fn jump_goes_to_the_start_of_work_and_of_nothing_else() {
    let mut phone = Phone::started(START);
    phone.waits(5);
    phone.does(jump(5));
    phone.stands(Phase::Running, 100_000);
    phone.does(jump(1));
    phone.stands(Phase::Running, 10_000);
    for nowhere in [0, 2, 4, 8, usize::MAX] {
        phone.does(jump(nowhere));
        phone.stands(Phase::Running, 10_000);
    }
}

#[test]
fn skip_back_and_jump_keep_a_pause() {
    let mut phone = Phone::started(START);
    phone.waits(45);
    phone.does(Input::Pause);
    for (input, class_ms) in [
        (Input::Skip, 50_000),
        (Input::Back, 40_000),
        (jump(5), 100_000),
    ] {
        phone.waits(10);
        phone.does(input);
        phone.stands(Phase::Paused, class_ms);
    }
    phone.waits(10);
    phone.does(Input::Resume);
    phone.waits(2);
    phone.does(Input::Skip);
    phone.stands(Phase::Paused, 130_000);
    phone.waits(2);
    phone.stands(Phase::Running, 131_000);
}

#[test]
fn what_was_skipped_was_not_done_and_what_was_done_twice_counts_twice() {
    let mut phone = Phone::started(START);
    phone.waits(40);
    phone.does(jump(1)); // the squat again
    phone.waits(30);
    phone.does(jump(5)); // past the first lunge
    phone.waits(15);
    phone.does(jump(7)); // out of half of the second squat
    phone.waits(30);
    let record = phone.run.record(phone.now);
    assert!(record.reached_end);
    assert_eq!(record.worked_ms, 30_000 + 30_000 + 15_000 + 30_000);
    let did: Vec<_> = record.work.iter().map(|(_, did)| *did).collect();
    assert_eq!(did, [Did::All, Did::None, Did::Part, Did::All]);
}

// ---- Held gaps ----

#[test]
fn a_held_gap_waits_only_when_a_coach_leads() {
    let (mut member, mut coach) = (Phone::started(START), Phone::started(LEAD));
    for phone in [&mut member, &mut coach] {
        phone.waits_ms(49_999);
        phone.stands(Phase::Running, 49_999);
        phone.waits_ms(1);
    }
    member.stands(Phase::Running, 50_000);
    coach.stands(Phase::Held, 50_000);
    coach.waits(600);
    coach.stands(Phase::Held, 50_000);
    // The gap is what is shown, to its very end and beyond.
    assert_eq!((coach.show().segment, coach.show().seconds), (Some(2), 0));
    assert_eq!(coach.run.wake(coach.now), None);
}

#[test]
fn go_ends_a_held_gap() {
    let mut coach = Phone::started(LEAD);
    coach.waits(77);
    coach.does(Input::Go);
    coach.stands(Phase::Running, 50_000);
    assert_eq!(coach.show().segment, Some(3));
    assert_eq!(coach.hears(1), [(0, Call::Go)]);
    coach.waits(60);
    coach.stands(Phase::Held, 100_000);
}

#[test]
fn go_elsewhere_does_nothing() {
    let mut coach = Phone::started(LEAD);
    for (seconds, class_ms) in [(5, 5_000), (15, 20_000), (25, 45_000)] {
        coach.waits(seconds);
        coach.does(Input::Go);
        coach.stands(Phase::Running, class_ms);
    }
    coach.does(Input::Pause);
    coach.does(Input::Go);
    coach.stands(Phase::Paused, 45_000);
}

#[test]
fn a_pause_in_a_held_gap_returns_to_it() {
    let mut coach = Phone::started(LEAD);
    coach.waits(55);
    coach.does(Input::Pause);
    coach.stands(Phase::Paused, 50_000);
    coach.does(Input::Go);
    coach.stands(Phase::Paused, 50_000);
    coach.waits(10);
    coach.does(Input::Resume);
    coach.waits(3);
    coach.stands(Phase::Held, 50_000);
    assert_eq!(coach.show().segment, Some(2));
    coach.waits(20);
    coach.does(Input::Go);
    coach.stands(Phase::Running, 50_000);
    let record = coach.run.record(coach.now);
    assert_eq!((record.paused_ms, record.held_ms), (13_000, 5_000 + 20_000));
}

#[test]
fn a_pause_before_a_held_gaps_end_does_not_let_it_pass() {
    let mut coach = Phone::started(LEAD);
    coach.waits(45);
    coach.does(Input::Pause);
    coach.does(Input::Resume);
    coach.waits(3 + 5);
    coach.stands(Phase::Held, 50_000);
}

#[test]
fn skip_leaves_a_held_gap() {
    let mut coach = Phone::started(LEAD);
    coach.waits(45);
    coach.does(Input::Skip); // within the gap, before it is held
    coach.stands(Phase::Running, 50_000);
    coach.waits(55);
    coach.stands(Phase::Held, 100_000);
    coach.does(Input::Skip);
    coach.stands(Phase::Running, 100_000);
    coach.waits(5);
    coach.stands(Phase::Running, 105_000);
}

#[test]
fn back_and_jump_and_align_leave_a_held_gap() {
    for (input, class_ms) in [
        (Input::Back, 40_000),
        (jump(5), 100_000),
        (align(3), 50_000),
    ] {
        let mut coach = Phone::started(LEAD);
        coach.waits(60);
        coach.stands(Phase::Held, 50_000);
        coach.does(input);
        coach.stands(Phase::Running, class_ms);
    }
}

#[test]
fn a_nudge_does_not_carry_out_of_a_held_gap() {
    let mut coach = Phone::started(LEAD);
    coach.waits(47);
    coach.does(nudge(5_000));
    coach.stands(Phase::Held, 50_000);
    coach.does(nudge(5_000));
    coach.stands(Phase::Held, 50_000);
    coach.waits(30);
    coach.stands(Phase::Held, 50_000);
}

/// A held gap stops class time at its end until go: taking off a shift is no go.
#[test]
fn undo_does_not_let_a_held_gap_pass() {
    // Back out of the held gap by mistake, and undo.
    let mut coach = Phone::started(LEAD);
    coach.waits(60);
    coach.does(Input::Back);
    coach.stands(Phase::Running, 40_000);
    coach.does(Input::Undo);
    coach.stands(Phase::Held, 50_000);
    // The same with a second of thought.
    let mut coach = Phone::started(LEAD);
    coach.waits(60);
    coach.does(Input::Back);
    coach.waits(1);
    coach.does(Input::Undo);
    coach.stands(Phase::Held, 50_000);
    // And with so much thought that the gap is held again by then.
    let mut coach = Phone::started(LEAD);
    coach.waits(60);
    coach.does(Input::Back);
    coach.waits(30);
    coach.stands(Phase::Held, 50_000);
    coach.does(Input::Undo);
    coach.stands(Phase::Held, 50_000);
}

/// A skip out of a held gap shifts class time by nothing, so that there is nothing to take off
/// and the next held gap stays held.
#[test]
fn undo_of_a_skip_out_of_a_held_gap_does_not_leave_the_next() {
    let mut coach = Phone::started(LEAD);
    coach.waits(60);
    coach.does(Input::Skip);
    coach.waits(60);
    coach.stands(Phase::Held, 100_000);
    coach.does(Input::Undo);
    coach.stands(Phase::Held, 100_000);
}

#[test]
fn a_gap_of_no_length_is_not_held() {
    let without_rest = DRILL.replace(r#""rest": 10"#, r#""rest": 0"#);
    let mut coach = Phone::new(&without_rest);
    coach.does(LEAD);
    coach.waits(45);
    coach.stands(Phase::Running, 45_000);
    coach.waits(45);
    coach.stands(Phase::Held, 90_000);
    let timeline = coach.run.timeline();
    assert!(
        timeline
            .segments()
            .iter()
            .all(|s| !s.held || s.len_ms() >= 1_000)
    );
}

/// The counts are the last three seconds before a go; where the coach's go is waited for, nobody
/// knows when those are.
#[test]
fn no_count_runs_into_a_hold() {
    let mut coach = Phone::started(LEAD);
    coach.waits(41);
    assert_eq!(coach.hears(60), []);
    // A member's phone without the coach uses the written lengths.
    let mut member = Phone::started(START);
    member.waits(41);
    assert_eq!(
        member.hears(10)[..2],
        [(6, Call::Count(3)), (7, Call::Count(2))]
    );
}

/// A go is called where something goes: after the count-in of a pause within a hold, the hold
/// goes on.
#[test]
fn a_count_in_back_into_a_hold_ends_without_a_go() {
    let mut coach = Phone::started(LEAD);
    coach.waits(55);
    coach.does(Input::Pause);
    coach.does(Input::Resume);
    assert!(coach.hears(600).iter().all(|(_, call)| *call != Call::Go));
}

// ---- Align, nudge, undo ----

#[test]
fn align_takes_the_nearest_start_of_work() {
    let mut phone = Phone::started(START);
    // Starts of work: 10, 50, 100 and 140 s.
    for (at, to, by_ms) in [
        (0, 1, 10_000),
        (12, 1, -2_000),
        (29, 1, -19_000),
        (31, 3, 19_000),
        (74, 3, -24_000),
        (76, 5, 24_000),
        (169, 7, -29_000),
    ] {
        phone.waits_ms(T + at * 1000 - phone.now);
        let offer = phone.run.align_offer(phone.now).unwrap();
        assert_eq!(
            (offer.to, offer.by_ms, offer.asks),
            (to, by_ms, false),
            "at {at}"
        );
    }
}

#[test]
fn align_takes_the_later_on_a_tie() {
    let mut phone = Phone::started(START);
    phone.waits(30); // 20 s after one start and before another
    let offer = phone.run.align_offer(phone.now).unwrap();
    assert_eq!((offer.to, offer.by_ms), (3, 20_000));
}

#[test]
fn align_while_paused_takes_the_next() {
    let mut phone = Phone::started(START);
    phone.waits(12);
    phone.does(Input::Pause);
    phone.waits(100);
    let offer = phone.run.align_offer(phone.now).unwrap();
    assert_eq!((offer.to, offer.by_ms), (3, 38_000));
}

#[test]
fn align_makes_now_the_start_of_its_target_and_runs() {
    for pause in [false, true] {
        let mut phone = Phone::started(START);
        phone.waits(47);
        if pause {
            phone.does(Input::Pause);
        }
        phone.does(align(3));
        phone.stands(Phase::Running, 50_000);
        assert_eq!(phone.hears(1), [(0, Call::Go)]);
    }
    // Before a class at a set instant, too: the coach was early.
    let mut phone = Phone::set(20);
    phone.does(align(1));
    phone.stands(Phase::Running, 10_000);
    assert_eq!(phone.show().shared, Some(true));
}

#[test]
fn an_align_that_is_moved_by_a_rung_asks_beyond_thirty_seconds() {
    let mut phone = Phone::started(START);
    let asks = |phone: &Phone, to| phone.run.align_to(phone.now, to).unwrap().asks;
    phone.waits_ms(19_999);
    assert!(asks(&phone, 3)); // 30.001 s ahead
    assert!(!asks(&phone, 1));
    assert!(asks(&phone, 5));
    assert_eq!(phone.run.align_to(phone.now, 2), None);
    assert_eq!(phone.run.align_to(phone.now, 99), None);
    phone.waits_ms(1);
    assert!(!asks(&phone, 3)); // 30 s ahead
}

#[test]
fn the_log_keeps_the_target_of_an_align() {
    let mut phone = Phone::started(START);
    phone.waits(47);
    phone.does(align(3));
    let text = phone.run.log().to_text();
    let log = Log::from_text(&text).unwrap();
    assert_eq!(log.inputs().last(), Some(&Logged(T + 47_000, align(3))));
}

#[test]
fn an_align_to_no_work_does_nothing() {
    let mut phone = Phone::started(START);
    phone.waits(47);
    for nowhere in [0, 2, 4, 8, usize::MAX] {
        phone.does(align(nowhere));
        phone.stands(Phase::Running, 47_000);
        assert_eq!(phone.show().undo, None);
    }
}

#[test]
fn undo_takes_off_the_shift_not_an_absolute_time() {
    for (input, shift, by) in [
        (Input::Skip, Shift::Skip, 20),
        (Input::Back, Shift::Back, -10),
        (jump(5), Shift::Jump, 80),
        (align(3), Shift::Align, 30),
        (nudge(-4_000), Shift::Nudge, -4),
    ] {
        let mut phone = Phone::started(START);
        phone.waits(20);
        phone.does(input);
        phone.stands(Phase::Running, (20 + by) * 1000);
        assert_eq!(phone.show().undo, Some(shift));
        phone.waits(7);
        phone.does(Input::Undo);
        phone.stands(Phase::Running, 27_000);
        assert_eq!(phone.show().undo, None);
        phone.does(Input::Undo);
        phone.stands(Phase::Running, 27_000);
    }
}

#[test]
fn undo_takes_off_the_last_shift_first() {
    let mut phone = Phone::started(START);
    phone.waits(20);
    phone.does(Input::Skip); // 40
    phone.waits(1);
    phone.does(nudge(2_000)); // 43
    phone.waits(1);
    phone.does(Input::Undo); // 42
    phone.stands(Phase::Running, 42_000);
    phone.does(Input::Undo); // 22
    phone.stands(Phase::Running, 22_000);
}

#[test]
fn undo_takes_off_a_shift_across_a_pause_and_keeps_it() {
    let mut phone = Phone::started(START);
    phone.waits(20);
    phone.does(jump(5));
    phone.waits(2);
    phone.does(Input::Pause);
    phone.waits(50);
    phone.does(Input::Undo);
    phone.stands(Phase::Paused, 22_000);
}

#[test]
fn a_nudge_moves_class_time() {
    let mut phone = Phone::started(START);
    phone.waits(20);
    phone.does(nudge(1_500));
    phone.stands(Phase::Running, 21_500);
    phone.does(nudge(-2_000));
    phone.stands(Phase::Running, 19_500);
}

#[test]
fn a_nudge_to_before_the_class_counts_down_to_its_start() {
    let mut phone = Phone::started(START);
    phone.waits(20);
    phone.does(nudge(-85_000));
    phone.stands(Phase::Before, -65_000);
    assert_eq!((phone.show().seconds, phone.show().segment), (65, None));
    assert_eq!(phone.show().class_left_ms, 170_000);
    assert!(phone.hears(65).is_empty());
    phone.waits(65);
    phone.stands(Phase::Running, 0);
    // What was waited is no part of the class.
    assert_eq!(phone.run.elapsed_ms(phone.now), 20_000);
    assert_eq!(phone.run.record(phone.now).running_ms, 20_000);
    phone.does(Input::Undo);
    phone.stands(Phase::Running, 85_000);
    // In a pause it stays paused, and going on waits for the class.
    phone.does(Input::Pause);
    phone.does(nudge(-100_000));
    phone.stands(Phase::Paused, -15_000);
    phone.does(Input::Resume);
    phone.waits(3);
    phone.stands(Phase::Before, -15_000);
    phone.does(nudge(-43_200_000));
    phone.stands(Phase::Before, -43_215_000);
}

/// The drill, recorded from 1:35 of a video on: it ends at 4:25 there.
fn recorded() -> Phone {
    let recorded = DRILL.replace("\"version\": 1,", "\"version\": 1, \"recording\": 95,");
    let mut phone = Phone::new(&recorded);
    phone.does(START);
    phone
}

#[test]
fn a_recordings_clock_says_where_the_class_is() {
    let mut phone = recorded();
    let offer =
        |phone: &Phone, clock_s| at_clock(phone.run.timeline(), phone.show().class_ms, clock_s);
    phone.waits(20);
    // (the video's clock in seconds, the shift, whether it asks): beyond 30 s, as an align does.
    for (clock_s, by_ms, asks) in [
        (115, 0, false),
        (145, 30_000, false),
        (146, 31_000, true),
        (85, -30_000, false),
        (84, -31_000, true),
        (0, -115_000, true),
        (264, 149_000, true),
    ] {
        assert_eq!(offer(&phone, clock_s), Ok(ClockOffer { by_ms, asks }));
    }
    // A clock never ends the class: neither its last second nor a slip of the finger.
    for clock_s in [265, 2_700, i64::MAX] {
        assert_eq!(
            offer(&phone, clock_s),
            Err(ClockError::AfterClass { ends_s: 265 })
        );
    }
    for clock_s in [-1, i64::MIN] {
        assert_eq!(offer(&phone, clock_s), Err(ClockError::BeforeRecording));
    }
    let plain = Phone::started(START);
    assert_eq!(offer(&plain, 100), Err(ClockError::NoRecording));
}

#[test]
fn a_wait_for_a_recording_can_be_paused_and_one_for_a_set_instant_can_not() {
    let mut phone = recorded();
    phone.does(nudge(-65_000));
    phone.waits(20);
    phone.does(Input::Pause);
    phone.waits(600);
    phone.stands(Phase::Paused, -45_000);
    phone.does(Input::Resume);
    phone.waits(3);
    phone.stands(Phase::Before, -45_000);
    phone.waits(45);
    phone.stands(Phase::Running, 0);
    let mut phone = Phone::set(60);
    phone.does(Input::Pause);
    phone.waits(20);
    phone.stands(Phase::Before, -40_000);
}

#[test]
fn a_recording_that_has_not_come_to_the_class_is_waited_for() {
    let mut phone = recorded();
    let offer = at_clock(phone.run.timeline(), phone.show().class_ms, 30).unwrap();
    assert_eq!((offer.by_ms, offer.asks), (-65_000, true));
    phone.does(nudge(offer.by_ms));
    phone.stands(Phase::Before, -65_000);
    phone.waits_ms(64_999);
    phone.stands(Phase::Before, -1);
    phone.waits_ms(1);
    phone.stands(Phase::Running, 0); // 1:35 on the video
    phone.does(Input::Undo);
    phone.stands(Phase::Running, 65_000);
}

// ---- What was done ----

#[test]
fn a_side_that_was_skipped_is_told_as_that_side() {
    let mut phone = Phone::started(START);
    let whole = |whole| Times {
        whole,
        ..Times::default()
    };
    let sides = |right, left| Times {
        right,
        left,
        ..Times::default()
    };
    phone.waits(65); // half of the first lunge: its right
    phone.does(Input::Skip);
    phone.waits(20); // the break
    phone.does(jump(7));
    phone.waits(30);
    phone.stands(Phase::Done, 170_000);
    let [squat, lunge] = tally(phone.run.timeline(), &phone.run.record(phone.now))
        .try_into()
        .unwrap();
    assert_eq!(
        (squat.of, squat.worked, squat.skipped),
        (0, whole(1), whole(1))
    );
    assert_eq!(
        (lunge.of, lunge.worked, lunge.skipped),
        (1, sides(2, 1), sides(0, 1))
    );
    assert!(squat.missed.is_none() && lunge.missed.is_none());
    let words =
        [squat.worked, lunge.worked, lunge.skipped, sides(2, 2)].map(|times| times.to_string());
    assert_eq!(
        words,
        ["1 ×", "2 × right, 1 × left", "1 × left", "2 × each side"]
    );
    // Who came late missed what was over, and skipped nothing.
    let late = Phone::set(-95);
    let [squat, lunge] = tally(late.run.timeline(), &late.run.record(late.now))
        .try_into()
        .unwrap();
    assert_eq!((squat.missed, squat.skipped), (whole(1), whole(1)));
    assert_eq!((lunge.missed, lunge.skipped), (sides(1, 1), sides(1, 1)));
}

#[test]
fn each_rating_has_short_words_of_its_own() {
    assert_eq!(RATINGS.len(), 11); // 0 to 10
    for (n, words) in RATINGS.iter().enumerate() {
        assert!((4..=26).contains(&words.len()), "{n}: {words}");
        assert!(!RATINGS[..n].contains(words), "{n}: {words} comes twice");
    }
}

// ---- The shared clock ----

#[test]
fn pause_skip_back_and_jump_leave_the_shared_clock() {
    for input in [Input::Skip, Input::Back, jump(5)] {
        let mut phone = Phone::set(-20);
        assert_eq!(phone.show().shared, Some(true));
        phone.does(input);
        assert_eq!(phone.show().shared, Some(false));
        phone.waits(10);
        assert_eq!(phone.show().shared, Some(false));
    }
    let mut phone = Phone::set(-20);
    phone.does(Input::Pause);
    assert_eq!(phone.show().shared, Some(false));
    phone.does(Input::Resume);
    phone.waits(3);
    phone.stands(Phase::Running, 20_000);
    assert_eq!(phone.show().shared, Some(false));
    // A class that starts at once has no shared clock.
    assert_eq!(Phone::started(START).show().shared, None);
}

#[test]
fn align_and_nudge_stay_on_the_shared_clock() {
    for input in [align(3), nudge(4_000), nudge(-4_000)] {
        let mut phone = Phone::set(-47);
        phone.does(input);
        assert_eq!(phone.show().shared, Some(true));
        phone.does(Input::Undo);
        assert_eq!(phone.show().shared, Some(true));
        phone.stands(Phase::Running, 47_000);
    }
}

#[test]
fn rejoin_returns_with_all_shifts() {
    let mut phone = Phone::set(-20);
    phone.does(nudge(2_000)); // 22 s
    phone.waits(20); // 42 s
    phone.does(align(3)); // 50 s
    phone.waits(10); // 60 s
    phone.does(Input::Pause);
    phone.waits(20);
    phone.does(Input::Back);
    phone.waits(5);
    phone.does(Input::Rejoin);
    phone.stands(Phase::Running, 85_000);
    assert_eq!(phone.show().shared, Some(true));
    // What moved this phone alone is gone; what moved the clock can still be taken off.
    assert_eq!(phone.show().undo, Some(Shift::Align));
    phone.does(Input::Undo);
    phone.stands(Phase::Running, 77_000);
    assert_eq!(phone.show().shared, Some(true));
    phone.does(Input::Undo);
    phone.stands(Phase::Running, 75_000);
    assert_eq!(phone.show().undo, None);
}

/// The coach's go moves the shared clock by what it was off, however far behind this phone was.
#[test]
fn an_align_after_a_pause_is_back_on_the_shared_clock() {
    let mut phone = Phone::set(-20);
    phone.does(Input::Pause);
    phone.waits(26); // by the shared clock it is 46 s now
    phone.does(align(3));
    phone.stands(Phase::Running, 50_000);
    assert_eq!(phone.show().shared, Some(true));
    phone.waits(10);
    phone.does(Input::Pause);
    phone.waits(5);
    phone.does(Input::Rejoin);
    phone.stands(Phase::Running, 65_000);
    // What is taken off then is what the clock was moved by.
    phone.does(Input::Undo);
    phone.stands(Phase::Running, 61_000);
    assert_eq!(phone.show().shared, Some(true));
}

#[test]
fn rejoin_may_lead_to_before_the_class_and_past_its_end() {
    let mut phone = Phone::set(30);
    phone.does(align(1));
    phone.does(Input::Undo);
    phone.stands(Phase::Before, -30_000);
    phone.waits(40);
    phone.does(Input::Pause);
    phone.waits(170);
    phone.does(Input::Rejoin);
    phone.stands(Phase::Done, 170_000);
}

#[test]
fn rejoin_does_nothing_without_a_shared_clock() {
    let mut phone = Phone::started(START);
    phone.waits(20);
    phone.does(Input::Skip);
    phone.does(Input::Rejoin);
    phone.stands(Phase::Running, 40_000);
    phone.does(Input::Pause);
    phone.does(Input::Rejoin);
    phone.stands(Phase::Paused, 40_000);
}

#[test]
fn who_joins_late_sees_what_a_run_from_the_start_shows() {
    let set = Input::Start {
        set: Some(T + 30_000),
        lead: false,
    };
    let mut first = Phone::started(set);
    for _ in 0..250 {
        first.waits_ms(997);
        let mut late = Phone::new(DRILL);
        late.now = first.now;
        late.does(set);
        assert_eq!(late.show(), first.show());
        assert_eq!(late.run.wake(late.now), first.run.wake(first.now));
        let until = first.now + 200_000;
        assert_eq!(
            late.run.sound(late.now, until),
            first.run.sound(first.now, until)
        );
    }
    first.stands(Phase::Done, 170_000);
}

#[test]
fn who_comes_after_the_end_finds_the_class_over() {
    let phone = Phone::set(-170);
    phone.stands(Phase::Done, 170_000);
    assert_eq!(phone.run.elapsed_ms(phone.now), 0);
}

// ---- Choices ----

fn halves(phone: &Phone) -> Vec<i64> {
    let calls = phone.hears(300).into_iter();
    calls
        .filter(|(_, call)| *call == Call::Half)
        .map(|(at, _)| at)
        .collect()
}

#[test]
fn a_choice_before_half_time_brings_its_half_call() {
    let mut phone = Phone::started(START);
    phone.waits(24);
    // The lunges change sides at 65 and 155 s of class time.
    assert_eq!(halves(&phone), [41, 131]);
    phone.does(choose(1));
    assert_eq!(halves(&phone), [1, 41, 91, 131]);
    phone.does(choose(0));
    assert_eq!(halves(&phone), [41, 131]);
}

#[test]
fn a_choice_after_half_time_brings_no_half_call() {
    let mut phone = Phone::started(START);
    phone.waits(26);
    phone.does(choose(1));
    // None for the squat that is under way, one for the squat to come.
    assert_eq!(halves(&phone), [39, 89, 129]);
    // Nor does asking about an earlier instant bring it back.
    let asked = phone.run.sound(T, T + 40_000);
    assert!(asked.iter().all(|one| one.call != Call::Half));
}

#[test]
fn a_choice_never_changes_a_time() {
    let (mut plain, mut other) = (Phone::started(START), Phone::started(START));
    other.waits(15);
    other.does(choose(1));
    plain.waits(15);
    for _ in 0..160 {
        assert_eq!(plain.show(), other.show());
        assert_eq!(plain.run.wake(plain.now), other.run.wake(other.now));
        plain.waits(1);
        other.waits(1);
    }
}

#[test]
fn a_choice_of_what_is_not_there_does_nothing() {
    let mut phone = Phone::started(START);
    phone.does(choose(1));
    for (of, option) in [(0, Some(2)), (1, Some(0)), (2, Some(0)), (usize::MAX, None)] {
        phone.does(Input::Choose { of, option });
    }
    assert_eq!(phone.run.ways().iter().collect::<Vec<_>>(), [(&0, &1)]);
    phone.does(Input::Choose {
        of: 0,
        option: None,
    });
    assert!(phone.run.ways().is_empty());
}

// ---- The log ----

#[test]
fn a_stored_log_brings_the_run_back() {
    let mut phone = Phone::set(5);
    phone.waits(30);
    phone.does(choose(1));
    phone.does(Input::Pause);
    phone.waits(10);
    phone.does(Input::Resume);
    let log = Log::from_text(&phone.run.log().to_text()).unwrap();
    let again = Run::replay(phone.run.timeline().clone(), &log).unwrap();
    phone.waits_ms(1_234);
    assert_eq!(again.show(phone.now), phone.show());
    assert_eq!(again.ways(), phone.run.ways());
    let until = phone.now + 300_000;
    assert_eq!(
        again.sound(phone.now, until),
        phone.run.sound(phone.now, until)
    );
    assert_eq!(again.log(), phone.run.log());
}

#[test]
fn another_revision_never_reuses_a_log() {
    let phone = Phone::started(START);
    let mut plan = phone.run.timeline().plan().clone();
    plan.revision += 1;
    let replayed = Run::replay(Timeline::new(&plan), phone.run.log());
    assert_eq!(replayed.err(), Some(LogError::OtherPlan));
    // Nor does a plan that only says something else.
    plan.revision -= 1;
    assert!(Run::replay(Timeline::new(&plan), phone.run.log()).is_ok());
    plan.moves[0].notes.push("Heels down".to_owned());
    let replayed = Run::replay(Timeline::new(&plan), phone.run.log());
    assert_eq!(replayed.err(), Some(LogError::OtherPlan));
}

fn stored(inputs: &str) -> Result<Log, LogError> {
    Log::from_text(&format!("rungbook-run 1 0000000000000000\n{inputs}"))
}

/// What is stored may have been tampered with: a log whose times no clock shows is refused, and
/// reading it is no reason to stop.
#[test]
fn a_stored_log_with_times_that_no_clock_shows_is_refused() {
    for inputs in [
        "9223372036854775807 pause",
        "-9223372036854775808 pause",
        "0 start 9223372036854775807",
        "0 start -9223372036854775808",
        "0 nudge 9223372036854775807",
        "0 nudge -9223372036854775808",
        "0 nudge 9223372036854775808",
    ] {
        let read = std::panic::catch_unwind(|| stored(inputs));
        assert_eq!(read.ok(), Some(Err(LogError::Damaged)), "{inputs}");
    }
    assert!(stored("0 start\n5 pause\n").is_ok());
}

#[test]
fn a_log_of_too_many_inputs_is_refused() {
    let inputs = |n: usize| vec!["0 go"; n].join("\n");
    assert!(stored(&inputs(MOST_INPUTS)).is_ok());
    assert_eq!(stored(&inputs(MOST_INPUTS + 1)), Err(LogError::Damaged));
}

/// Saving the log is crash recovery: whatever a run took, its log can be read again.
#[test]
fn whatever_a_run_took_its_log_can_be_read_again() {
    let check = |name: &str, inputs: &[Input]| {
        let mut phone = Phone::new(DRILL);
        for input in inputs {
            phone.does(*input);
            phone.waits(1);
        }
        let read = Log::from_text(&phone.run.log().to_text());
        let timeline = phone.run.timeline().clone();
        let again = read.and_then(|log| Run::replay(timeline, &log));
        let shows = again.map(|run| run.show(phone.now));
        assert_eq!(shows, Ok(phone.show()), "{name}");
    };
    check(
        "a nudge beyond the longest class",
        &[START, nudge(50_000_000)],
    );
    check(
        "the longest nudge",
        &[START, nudge(i64::MAX), nudge(i64::MIN)],
    );
    check(
        "more inputs than a log may have",
        &vec![START; MOST_INPUTS + 1],
    );
}

// ---- Whatever a person does ----

/// A run to which all inputs were given.
fn run_of(timeline: &Timeline, inputs: &[(i64, Input)]) -> Run {
    let mut run = Run::new(timeline.clone());
    for (at, input) in inputs {
        run.input(*at, *input);
    }
    run
}

/// Instants from which a run is looked at: at its inputs, around them, and long after.
fn looks(inputs: &[(i64, Input)], some: &[(Index, i64)]) -> Vec<i64> {
    let mut looks: Vec<i64> = inputs
        .iter()
        .flat_map(|(at, _)| [-1, 0, 1, 999, 2_999, 3_000].map(|by| at + by))
        .collect();
    if !inputs.is_empty() {
        let from_some = |(index, by): &(Index, i64)| inputs[index.index(inputs.len())].0 + by;
        looks.extend(some.iter().map(from_some));
    }
    looks.push(T);
    looks.extend(inputs.last().map(|(at, _)| at + 20_000_000));
    looks
}

fn some_looks() -> impl Strategy<Value = Vec<(Index, i64)>> {
    vec((any::<Index>(), 0..120_000i64), 8)
}

/// Everything that a run says at an instant.
fn says(run: &Run, now: i64) -> impl PartialEq + std::fmt::Debug + use<> {
    (
        run.show(now),
        run.wake(now),
        run.sound(now, now + 100_000),
        run.spans(now),
        run.elapsed_ms(now),
        run.record(now),
        run.align_offer(now),
    )
}

/// What does not change between wake-ups.
fn still(show: &Moment) -> impl PartialEq + std::fmt::Debug + use<> {
    (
        show.seconds,
        show.hand,
        show.segment,
        show.phase,
        show.count_in,
        show.shared,
        show.undo,
    )
}

proptest! {
    #![proptest_config(cases(256))]

    #[test]
    fn a_replay_in_one_go_is_the_run_step_by_step(
        (timeline, inputs) in wild_run(),
        some in some_looks(),
    ) {
        let inputs = at_instants(&inputs);
        let looks = looks(&inputs, &some);
        let mut run = Run::new(timeline.clone());
        for (i, (at, input)) in inputs.iter().enumerate() {
            // Looking at it in between must not matter.
            let _ = says(&run, looks[i]);
            run.input(*at, *input);
        }
        let stored = Log::from_text(&run.log().to_text()).unwrap();
        prop_assert_eq!(&stored, run.log());
        let again = Run::replay(timeline.clone(), &stored).unwrap();
        prop_assert_eq!(again.log(), run.log());
        prop_assert_eq!(again.ways(), run.ways());
        for now in looks {
            prop_assert_eq!(says(&again, now), says(&run, now));
        }
        prop_assert_eq!(run.timeline(), &*timeline);
    }

    #[test]
    fn early_late_and_double_wake_ups_are_harmless(
        (timeline, inputs) in wild_run(),
        some in some_looks(),
        parts in vec(0..=100i64, 24),
    ) {
        // An input that does nothing settles the run at its instant, as a wake-up might.
        let nothing = Input::Choose { of: usize::MAX, option: None };
        let inputs = at_instants(&inputs);
        let mut woken = Run::new(timeline.clone());
        let mut last = i64::MIN;
        for ((at, input), part) in inputs.iter().zip(parts.iter().cycle()) {
            let next = (*at).max(last);
            // Being away begins no earlier than the last input.
            if last > i64::MIN && !matches!(input, Input::Away { .. }) {
                let between = last + (next - last) * part / 100;
                woken.input(between, nothing);
                woken.input(between, nothing);
            }
            woken.input(*at, *input);
            last = next;
        }
        let plain = run_of(&timeline, &inputs);
        for now in looks(&inputs, &some) {
            let now = now.max(last);
            prop_assert_eq!(woken.show(now), plain.show(now));
            prop_assert_eq!(woken.wake(now), plain.wake(now));
            prop_assert_eq!(woken.record(now), plain.record(now));
            prop_assert_eq!(woken.elapsed_ms(now), plain.elapsed_ms(now));
            prop_assert_eq!(woken.sound(now, now + 60_000), plain.sound(now, now + 60_000));
        }
    }

    #[test]
    fn elapsed_is_the_sum_of_its_spans_which_tile_the_run(
        (timeline, inputs) in wild_run(),
        some in some_looks(),
    ) {
        let inputs = at_instants(&inputs);
        let run = run_of(&timeline, &inputs);
        let last = inputs.iter().map(|(at, _)| *at).max().unwrap_or(T);
        let mut began = None;
        let mut latest = i64::MIN;
        for (at, input) in &inputs {
            latest = latest.max(*at);
            if matches!(input, Input::Start { .. }) && began.is_none() {
                began = Some(latest);
            }
        }
        for now in looks(&inputs, &some) {
            let spans = run.spans(now);
            let record = run.record(now);
            let sum = |phase| -> i64 {
                let of_phase = spans.iter().filter(|span| span.phase == phase);
                of_phase.map(|span| span.to - span.from).sum()
            };
            prop_assert_eq!(record.running_ms + record.away_ms, sum(Phase::Running));
            prop_assert_eq!(record.paused_ms, sum(Phase::Paused));
            prop_assert_eq!(record.held_ms, sum(Phase::Held));
            prop_assert_eq!(
                run.elapsed_ms(now),
                record.running_ms + record.away_ms + record.paused_ms + record.held_ms
            );
            // They touch, from the start of the run to now or to its end.
            prop_assert!(spans.iter().all(|span| span.to > span.from));
            prop_assert!(spans.windows(2).all(|pair| pair[0].to == pair[1].from));
            if let (Some(first), Some(end)) = (spans.first(), spans.last()) {
                prop_assert_eq!(Some(first.from), began);
                if run.show(now).phase != Phase::Done {
                    prop_assert_eq!(end.to, now.max(last));
                }
            }
            for span in &spans {
                let moved = span.class_to - span.class_from;
                match span.phase {
                    Phase::Running | Phase::Before => prop_assert_eq!(moved, span.to - span.from),
                    Phase::Paused | Phase::Held => prop_assert_eq!(moved, 0),
                    Phase::Idle | Phase::Done => prop_assert!(false, "a span of {:?}", span.phase),
                }
            }
        }
    }

    #[test]
    fn the_record_says_what_was_run_through(
        (timeline, inputs) in wild_run(),
        some in some_looks(),
    ) {
        let inputs = at_instants(&inputs);
        let run = run_of(&timeline, &inputs);
        for now in looks(&inputs, &some).into_iter().rev().take(6) {
            let (record, spans) = (run.record(now), run.spans(now));
            if record.away_ms > 0 {
                continue;
            }
            let ran: Vec<&Span> = spans.iter().filter(|s| s.phase == Phase::Running).collect();
            let mut worked = 0;
            let mut expected = Vec::new();
            for (i, segment) in timeline.segments().iter().enumerate() {
                if !segment.is_work() {
                    continue;
                }
                // Pieces between any two ends are run through whole or not at all.
                let mut cuts = vec![segment.start_ms, segment.end_ms];
                cuts.extend(ran.iter().flat_map(|s| [s.class_from, s.class_to]));
                cuts.retain(|cut| (segment.start_ms..=segment.end_ms).contains(cut));
                cuts.sort_unstable();
                cuts.dedup();
                let mut covered = 0;
                for piece in cuts.windows(2) {
                    let times = ran
                        .iter()
                        .filter(|s| s.class_from <= piece[0] && piece[1] <= s.class_to)
                        .count() as i64;
                    worked += times * (piece[1] - piece[0]);
                    covered += times.min(1) * (piece[1] - piece[0]);
                }
                let joined = record.joined_ms;
                let open = if (segment.start_ms..segment.end_ms).contains(&joined) {
                    segment.end_ms - joined
                } else {
                    segment.len_ms()
                };
                expected.push((i, match covered {
                    all if all == segment.len_ms() => Did::All,
                    part if 2 * part >= open => Did::Part,
                    _ => Did::None,
                }));
            }
            prop_assert_eq!(record.worked_ms, worked);
            prop_assert_eq!(record.work, expected);
        }
    }

    #[test]
    fn what_is_shown_stands_until_the_next_wake_up(
        (timeline, inputs) in wild_run(),
        some in some_looks(),
    ) {
        let inputs = at_instants(&inputs);
        let mut run = Run::new(timeline.clone());
        // After each input, not only after the last.
        for (at, input) in &inputs {
            run.input(*at, *input);
            check_wake(&run, *at)?;
        }
        for now in looks(&inputs, &some) {
            check_wake(&run, now)?;
        }
    }

    #[test]
    fn what_is_shown_fits_the_phase(
        (timeline, inputs) in wild_run(),
        some in some_looks(),
    ) {
        let inputs = at_instants(&inputs);
        let run = run_of(&timeline, &inputs);
        for now in looks(&inputs, &some) {
            let show = run.show(now);
            prop_assert!(show.seconds >= 0);
            prop_assert!(show.class_ms <= timeline.total_ms());
            prop_assert!((0..=timeline.total_ms()).contains(&show.class_left_ms));
            prop_assert!(show.count_in.is_none() || show.phase == Phase::Paused);
            prop_assert!(show.count_in.is_none_or(|left| (1..=3).contains(&left)));
            match show.phase {
                Phase::Before => {
                    prop_assert!(show.class_ms < 0);
                    prop_assert_eq!(show.segment, None);
                }
                Phase::Running => {
                    prop_assert!(show.class_ms >= 0);
                    let at = show.segment.unwrap();
                    prop_assert_eq!(timeline.index_at(show.class_ms), Some(at));
                    let segment = &timeline.segments()[at];
                    let left = segment.end_ms - show.class_ms;
                    prop_assert!((show.seconds - 1) * 1000 < left && left <= show.seconds * 1000);
                    let hand: Option<Hand> = segment.hand_at(show.class_ms);
                    prop_assert_eq!(show.hand, hand);
                }
                Phase::Held => {
                    let segment = &timeline.segments()[show.segment.unwrap()];
                    prop_assert!(segment.held);
                    prop_assert_eq!((show.class_ms, show.seconds), (segment.end_ms, 0));
                }
                Phase::Idle | Phase::Paused | Phase::Done => {}
            }
        }
    }

    #[test]
    fn what_sounds_does_not_depend_on_how_often_it_is_asked(
        (timeline, inputs) in wild_run(),
        some in some_looks(),
        parts in vec(0..=60_000i64, 3),
    ) {
        let inputs = at_instants(&inputs);
        let run = run_of(&timeline, &inputs);
        for now in looks(&inputs, &some) {
            let end = now + 60_000;
            let whole = run.sound(now, end);
            prop_assert!(whole.windows(2).all(|pair| pair[0].at <= pair[1].at));
            prop_assert!(whole.iter().all(|one| (now..end).contains(&one.at)));
            // Parted anywhere, and at the very calls and beside them.
            let calls = whole.iter().flat_map(|one| [one.at, one.at + 1]);
            let anywhere = parts.iter().map(|part| now + part);
            for middle in calls.chain(anywhere) {
                let mut parted = run.sound(now, middle);
                parted.extend(run.sound(middle, end));
                prop_assert_eq!(&parted, &whole, "parted {} ms on", middle - now);
            }
        }
    }

    #[test]
    fn what_is_said_does_not_depend_on_how_often_it_is_asked_and_fits(
        (timeline, inputs) in wild_run(),
        some in some_looks(),
        part in 0..=60_000i64,
    ) {
        let inputs = at_instants(&inputs);
        let run = run_of(&timeline, &inputs);
        for now in looks(&inputs, &some) {
            let end = now + 60_000;
            let whole = run.say(now, end);
            for middle in whole.iter().flat_map(|one| [one.at, one.at + 1]).chain([now + part]) {
                let mut parted = run.say(now, middle);
                parted.extend(run.say(middle, end));
                prop_assert_eq!(&parted, &whole, "parted {} ms on", middle - now);
            }
            for one in &whole {
                prop_assert!((now..end).contains(&one.at) && one.fits(one.at));
                let show = run.show(one.at);
                prop_assert!(matches!(show.phase, Phase::Running | Phase::Before), "{:?}", show.phase);
            }
        }
    }

    #[test]
    fn what_sounds_is_true(
        (timeline, inputs) in wild_run(),
        some in some_looks(),
    ) {
        let inputs = at_instants(&inputs);
        let run = run_of(&timeline, &inputs);
        for now in looks(&inputs, &some) {
            let further = run.sound(now, now + 93_001);
            for one in run.sound(now, now + 90_000) {
                let show = run.show(one.at);
                let Some(i) = one.segment else {
                    // The count-in, and it alone, belongs to a pause.
                    let before = run.show(one.at - 1);
                    match one.call {
                        Call::Count(n) => {
                            prop_assert_eq!(show.phase, Phase::Paused);
                            prop_assert_eq!(show.count_in, Some(i64::from(n)));
                        }
                        call => {
                            prop_assert_eq!(call, Call::Go);
                            prop_assert_eq!(before.phase, Phase::Paused);
                            prop_assert_ne!(show.phase, Phase::Paused);
                        }
                    }
                    continue;
                };
                let segment = &timeline.segments()[i];
                prop_assert!(segment.is_work());
                let at_ms = match one.call {
                    Call::Go | Call::Over => segment.start_ms,
                    Call::Ten => segment.end_ms - 10_000,
                    Call::Five => segment.end_ms - 5_000,
                    Call::Mark => {
                        let marks = &timeline.entry_of(segment).unwrap().marks;
                        let at = (show.class_ms - segment.start_ms) / 1000;
                        prop_assert!(marks.iter().any(|mark| i64::from(mark.at) == at));
                        segment.start_ms + at * 1000
                    }
                    Call::Half => segment.half_ms(),
                    Call::End => segment.end_ms,
                    Call::Count(n) => {
                        let before_go = segment.start_ms - i64::from(n) * 1000;
                        let before_end = segment.end_ms - i64::from(n) * 1000;
                        let ends = segment.len_ms() >= COUNTED_WORK_MS;
                        if show.class_ms == before_end && ends { before_end } else { before_go }
                    }
                };
                prop_assert_eq!(show.class_ms, at_ms);
                match one.call {
                    // The class may end with it.
                    Call::End => prop_assert!(matches!(show.phase, Phase::Running | Phase::Done)),
                    _ => prop_assert_eq!(show.phase, Phase::Running),
                }
                if matches!(one.call, Call::Go | Call::Over) {
                    prop_assert_eq!(show.segment, Some(i));
                }
                if let Call::Count(n) = one.call {
                    // It leads to what it counts to.
                    let to = one.at + i64::from(n) * 1000;
                    // An end gives way to the go of the work that touches it.
                    let leads = further.iter().any(|next| {
                        let go = matches!(next.call, Call::Go | Call::Over);
                        next.at == to && (go || (next.call, next.segment) == (Call::End, one.segment))
                    });
                    prop_assert!(leads, "a count of {} at {} ms leads nowhere", n, show.class_ms);
                }
            }
        }
    }

    #[test]
    fn every_go_and_every_end_of_work_that_is_run_through_sounds(
        (timeline, inputs) in wild_run(),
    ) {
        let inputs = at_instants(&inputs);
        let run = run_of(&timeline, &inputs);
        let Some(last) = inputs.iter().map(|(at, _)| *at).max() else { return Ok(()) };
        // What comes by itself after the last input.
        let far = last + 100_000_000;
        let sounding = run.sound(last, far);
        let heard = |i: usize, call: Call, at: i64| {
            sounding.iter().any(|one| {
                let go = matches!(one.call, Call::Go | Call::Over);
                let own = one.segment == Some(i) || one.segment.is_none();
                // An end gives way to the go of the work that touches it.
                one.at == at && (go && call == Call::End || own && (one.call == call || go && call == Call::Go))
            })
        };
        for span in run.spans(far).iter().filter(|s| s.phase == Phase::Running && s.to > last) {
            for (i, segment) in timeline.segments().iter().enumerate() {
                if !segment.is_work() {
                    continue;
                }
                let instant = |class_ms: i64| span.from + class_ms - span.class_from;
                let inside = |class_ms: i64| span.class_from <= class_ms && instant(class_ms) >= last;
                if inside(segment.start_ms) && segment.start_ms < span.class_to {
                    prop_assert!(heard(i, Call::Go, instant(segment.start_ms)), "no go {}", i);
                }
                if inside(segment.end_ms) && segment.end_ms <= span.class_to
                    && segment.end_ms > span.class_from
                {
                    prop_assert!(heard(i, Call::End, instant(segment.end_ms)), "no end {}", i);
                }
            }
        }
    }

    #[test]
    fn whoever_is_in_step_shows_what_a_late_joiner_shows(
        (timeline, inputs) in wild_run(),
        some in some_looks(),
    ) {
        // Without what moves the clock itself: that the late joiner can't know.
        let inputs: Vec<_> = at_instants(&inputs)
            .into_iter()
            .filter(|(_, input)| !matches!(input, Input::Align { .. } | Input::Nudge { .. }))
            .collect();
        let start = inputs.iter().find(|(_, input)| matches!(input, Input::Start { .. }));
        let Some((_, start @ Input::Start { set: Some(_), .. })) = start else { return Ok(()) };
        let run = run_of(&timeline, &inputs);
        let last = inputs.iter().map(|(at, _)| *at).max().unwrap_or(T);
        for now in looks(&inputs, &some).into_iter().filter(|now| *now >= last) {
            let show = run.show(now);
            if show.shared != Some(true) {
                continue;
            }
            let mut late = Run::new(timeline.clone());
            for (of, option) in run.ways() {
                late.input(now, Input::Choose { of: *of, option: Some(*option) });
            }
            late.input(now, *start);
            prop_assert_eq!(late.show(now), Moment { undo: None, ..show });
            prop_assert_eq!(late.wake(now), run.wake(now));
            prop_assert_eq!(late.sound(now, now + 60_000), run.sound(now, now + 60_000));
        }
    }

    #[test]
    fn undo_takes_off_what_the_shift_put_on(
        (timeline, inputs) in wild_run(),
        shift in prop_oneof![
            Just(Input::Skip),
            Just(Input::Back),
            any::<Index>().prop_map(|to| jump(to.index(40))),
            any::<Index>().prop_map(|to| align(to.index(40))),
            (-9_000..9_000i64).prop_map(nudge),
        ],
        wait in 0..20_000i64,
    ) {
        let inputs = at_instants(&inputs);
        let last = inputs.iter().map(|(at, _)| *at).max().unwrap_or(T);
        let (mut shifted, mut plain) = (run_of(&timeline, &inputs), run_of(&timeline, &inputs));
        let before = plain.show(last);
        shifted.input(last, shift);
        let put_on = shifted.show(last).class_ms - before.class_ms;
        let now = last + wait;
        let moved = shifted.show(now);
        shifted.input(now, Input::Undo);
        plain.input(now, Input::Choose { of: usize::MAX, option: None });
        // Where the shift ended the class, or a hold or the class's ends stood in the way, the
        // scenarios say what comes.
        let ran_on = |show: &Moment| matches!(show.phase, Phase::Running | Phase::Paused | Phase::Before);
        let expected = moved.class_ms - put_on;
        let held_between = |show: &Moment| {
            timeline.segments().iter().any(|s| {
                s.held && (show.class_ms.min(expected)..=show.class_ms.max(expected)).contains(&s.end_ms)
            })
        };
        let done_in_the_shift = moved.phase == Phase::Done || put_on == 0;
        if done_in_the_shift || !ran_on(&moved) || held_between(&moved) || expected < 0 {
            return Ok(());
        }
        let undone = shifted.show(now);
        prop_assert_eq!(undone.class_ms, expected.min(timeline.total_ms()));
        // In one and the same phase all along, it is as if nothing had been.
        if moved.phase == before.phase && plain.show(now).phase == before.phase {
            prop_assert_eq!(undone, plain.show(now));
        }
    }
}

fn check_wake(run: &Run, now: i64) -> Result<(), TestCaseError> {
    let show = run.show(now);
    let until = match run.wake(now) {
        Some(wake) => {
            prop_assert!(wake > now, "a wake-up at {} asked at {}", wake, now);
            wake
        }
        None => now + 40_000_000,
    };
    for within in [now + 1, now + (until - now) / 2, until - 1] {
        if within < until {
            prop_assert_eq!(
                still(&run.show(within)),
                still(&show),
                "{} ms on",
                within - now
            );
            prop_assert_eq!(run.wake(within), run.wake(now));
        }
    }
    Ok(())
}
