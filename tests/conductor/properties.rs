//! Whatever happens, in whatever order: no log entry is lost, no call sounds twice, none sounds
//! where it must not.

use std::collections::BTreeSet;

use proptest::collection::vec;
use proptest::prelude::*;
use proptest::sample::select;

use rungbook::conductor::{Event, SoundState, Stage};
use rungbook::run::{Input, Log, Run};

use crate::common::cases;
use crate::phone::{Phone, T, long, squats, start_of};

/// Something that happens to a phone.
#[derive(Clone, Debug)]
enum Happens {
    Pass(i64),
    Touch(Input),
    Feed(Event),
    Sound(SoundState),
    Freeze,
    Thaw,
    Full(bool),
}

fn happens() -> impl Strategy<Value = Happens> {
    let touch = select(vec![
        Input::Pause,
        Input::Resume,
        Input::Skip,
        Input::Back,
        Input::Undo,
        Input::Nudge { ms: -500 },
        Input::Nudge { ms: 500 },
        Input::Jump { to: 9 },
        Input::Align { to: 5 },
        Input::Choose {
            of: 0,
            option: None,
        },
        Input::KeptGoing,
        Input::Return,
        Input::Rejoin,
        Input::Go,
    ]);
    let feed = select(vec![
        Event::Wake,
        Event::Hidden,
        Event::Shown,
        Event::Unwell,
        Event::AdviceClosed,
        Event::SoundMoved,
        Event::Voice(true),
        Event::Voice(false),
        Event::VoiceFailed,
        Event::WakeSound,
        Event::TrackMade,
        Event::TrackRefused,
        Event::Look,
        Event::LockHeld(true),
        Event::LockHeld(false),
        Event::LockRefused,
        Event::Closing,
    ]);
    prop_oneof![
        6 => prop_oneof![0..1_500i64, 0..90_000i64].prop_map(Happens::Pass),
        4 => touch.prop_map(Happens::Touch),
        4 => feed.prop_map(Happens::Feed),
        1 => select(vec![SoundState::On, SoundState::Waiting]).prop_map(Happens::Sound),
        1 => Just(Happens::Freeze),
        1 => Just(Happens::Thaw),
        1 => any::<bool>().prop_map(Happens::Full),
    ]
}

fn happen(phone: &mut Phone, tab: usize, one: Happens) {
    match one {
        Happens::Pass(ms) => phone.pass(ms),
        Happens::Touch(input) => phone.touch(tab, input),
        Happens::Feed(event) => phone.feed(tab, event),
        Happens::Sound(state) => phone.sound(tab, state),
        Happens::Freeze => phone.freeze(tab),
        Happens::Thaw => phone.thaw(tab),
        Happens::Full(full) => phone.full = full,
    }
}

proptest! {
    #![proptest_config(cases(200))]

    #[test]
    fn no_order_of_events_loses_an_input_or_sounds_a_call_where_it_must_not(
        events in vec(happens(), 1..60),
    ) {
        let mut phone = Phone::with(&long());
        phone.start(0);
        phone.pass(1_000);
        // What sounds by the log as it was while it sounded.
        let mut may_sound = BTreeSet::new();
        // The advice for someone unwell stands open.
        let mut hushed = false;
        for one in events {
            let run = phone.tabs[0].conductor.run().unwrap().clone();
            let before = phone.now;
            let logged = run.log().inputs().to_vec();
            let heard_before = phone.tabs[0].heard.len();
            match &one {
                Happens::Feed(Event::Unwell) => {
                    happen(&mut phone, 0, one);
                    hushed |= phone.tabs[0].conductor.is_unwell();
                }
                Happens::Feed(Event::AdviceClosed) => {
                    happen(&mut phone, 0, one);
                    hushed = false;
                }
                _ => happen(&mut phone, 0, one),
            }
            let now = phone.tabs[0].conductor.run().unwrap();
            prop_assert!(now.log().inputs().starts_with(&logged), "an input was lost");
            let late = 21;
            for runs in [&run, now] {
                may_sound.extend(runs.sound(before - late, phone.now + 1).iter().map(|one| (one.at, one.call)));
            }
            if hushed {
                prop_assert_eq!(phone.tabs[0].heard.len(), heard_before, "it sounds beside the advice");
            }
        }
        let heard = &phone.tabs[0].heard;
        let mut once = BTreeSet::new();
        for one in heard {
            prop_assert!(once.insert((one.at, one.call)), "twice: {one:?}");
            prop_assert!(may_sound.contains(&(one.at, one.call)), "not of the class: {one:?}");
        }
    }

    #[test]
    fn wake_ups_early_late_or_double_change_nothing(
        touches in vec((0..60_000i64, select(vec![Input::Pause, Input::Resume, Input::Skip, Input::Back])), 0..8),
        extra in vec(0..3_000i64, 0..120),
    ) {
        let play = |extra: &[i64]| {
            let mut phone = Phone::with(&long());
            phone.start(0);
            let mut between = extra.iter().copied().cycle();
            for (after, input) in &touches {
                let mut left = *after;
                while let Some(step) = between.next().filter(|_| !extra.is_empty() && left > 0) {
                    let step = step.clamp(1, left);
                    phone.pass(step);
                    phone.feed(0, Event::Wake);
                    phone.feed(0, Event::Wake);
                    left -= step;
                }
                phone.pass(left);
                phone.touch(0, *input);
            }
            phone.pass(30_000);
            let tab = phone.tabs.remove(0);
            let log = tab.conductor.run().unwrap().log().clone();
            (tab.heard, tab.felt, log)
        };
        prop_assert_eq!(play(&[]), play(&extra));
    }

    #[test]
    fn two_tabs_that_are_killed_at_any_point_lose_no_run(
        steps in vec((0..2usize, 0..9u8, 0..40_000i64), 1..40),
        delay in select(vec![0, 5, 700, 9_000i64]),
        lockless in any::<bool>(),
    ) {
        let classes = [squats(), long()];
        let mut phone = Phone::new();
        phone.lock_delay = delay;
        phone.lockless = lockless;
        let mut open = [phone.tab(&classes[0]), phone.tab(&classes[1])];
        // Each run that worked and was stored has to be somewhere, from then on.
        let mut started: BTreeSet<i64> = BTreeSet::new();
        let mut generation = 0;
        for (which, what, ms) in steps {
            let tab = open[which];
            match what {
                0 | 1 => phone.feed(tab, start_of(&classes[which])),
                2 => phone.feed(tab, Event::ResumeLeft),
                3 => phone.feed(tab, Event::TakeOver),
                4 => phone.feed(tab, Event::EndOther),
                5 => {
                    phone.kill(tab);
                    open[which] = phone.tab(&classes[which]);
                }
                6 => phone.touch(tab, Input::Skip),
                7 => phone.touch(tab, Input::Stop),
                _ => phone.feed(tab, Event::Look),
            }
            phone.pass(ms);
            prop_assert!(phone.run.generation >= generation, "an older run replaced a newer one");
            generation = phone.run.generation;
            if let Ok(log) = Log::from_text(&phone.run.log) {
                let class = classes.iter().find(|class| *class.link == *phone.run.plan).unwrap();
                let run = Run::replay(class.timeline.clone(), &log).unwrap();
                if run.record(phone.run.seen).worked_ms > 0 {
                    started.extend(log.begun());
                }
            }
            let stored = Log::from_text(&phone.run.log).ok().and_then(|log| log.begun());
            for start in &started {
                let on = |tab: &usize| {
                    let tab = &phone.tabs[*tab];
                    let run = tab.conductor.run().filter(|_| tab.stage == Some(Stage::Class));
                    run.and_then(|run| run.log().begun()) == Some(*start)
                };
                prop_assert!(
                    phone.history.contains_key(start) || stored == Some(*start) || open.iter().any(on),
                    "the run of {} is lost", start - T
                );
            }
            // With locks, one tab at most leads for longer than it takes to be told.
            if !lockless && ms > 2 * delay + 100 {
                let runs = |tab: &&usize| {
                    let tab = &phone.tabs[**tab];
                    tab.stage == Some(Stage::Class)
                };
                prop_assert!(open.iter().filter(runs).count() <= 1, "two tabs lead");
            }
        }
    }
}
