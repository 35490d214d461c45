//! What is called in a class, for every plan; and the calls of the demos, as they were read and
//! found right. `RUNGBOOK_WRITE_CALLS=1 cargo test --test cues` writes those anew: read the change.
#![cfg(not(target_arch = "wasm32"))]
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, missing_docs)]

mod common;

use std::fmt::Write as _;
use std::path::Path;

use proptest::collection::vec;
use proptest::prelude::*;
use proptest::sample::Index;

use common::{cases, plan};
use rungbook::cue::{
    COUNTED_WORK_MS, Call, CallLevel, Calling, Calls, FIVE_WORK_MS, Phrase, TEN_WORK_MS, Tongue,
    Topic, calls, speech_ms,
};
use rungbook::plan::Plan;
use rungbook::timeline::{Counted, Segment, SegmentKind, Side, Timeline, Ways, changes_at_half};

/// Ways for the moves of a plan: some of them, some that are not there.
fn ways(plan: &Plan, picks: &[(Index, Index)]) -> Ways {
    picks
        .iter()
        .map(|(of, option)| {
            let of = of.index(plan.moves.len() + 1);
            let options = plan.moves.get(of).map_or(0, |one| one.options.len());
            (of, option.index(options + 1))
        })
        .collect()
}

fn picks() -> impl Strategy<Value = Vec<(Index, Index)>> {
    vec((any::<Index>(), any::<Index>()), 0..4)
}

fn level() -> impl Strategy<Value = CallLevel> {
    prop_oneof![
        Just(CallLevel::Tones),
        Just(CallLevel::Short),
        Just(CallLevel::Full)
    ]
}

fn calling() -> impl Strategy<Value = Calling> {
    let tongue = prop_oneof![Just(Tongue::English), Just(Tongue::Spanish)];
    (level(), tongue).prop_map(|(level, tongue)| Calling { level, tongue })
}

fn work_segments(timeline: &Timeline) -> impl Iterator<Item = (usize, &Segment)> {
    let all = timeline.segments().iter().enumerate();
    all.filter(|(_, segment)| segment.kind == SegmentKind::Work)
}

/// The instants of one call of one segment.
fn at(all: &Calls, segment: usize, call: Call) -> Vec<i64> {
    all.cues
        .iter()
        .filter(|cue| (cue.segment, cue.call) == (segment, call))
        .map(|cue| cue.at_ms)
        .collect()
}

/// Whether two stretches of sides are the two sides of one move.
fn other_side(before: &Segment, segment: &Segment) -> bool {
    before.move_at == segment.move_at
        && [(Side::Right, Side::Left), (Side::Left, Side::Right)]
            .contains(&(before.side, segment.side))
}

proptest! {
    #![proptest_config(cases(192))]

    #[test]
    fn every_work_segment_has_its_go_its_end_and_its_counts(
        plan in plan(),
        picks in picks(),
        calling in calling(),
    ) {
        let timeline = Timeline::new(&plan);
        let all = calls(&timeline, &ways(&plan, &picks), calling);
        let mut before: Option<&Segment> = None;
        for (i, s) in work_segments(&timeline) {
            let over = before.is_some_and(|before| other_side(before, s));
            let (go, none) = if over { (Call::Over, Call::Go) } else { (Call::Go, Call::Over) };
            prop_assert_eq!(at(&all, i, go), [s.start_ms]);
            prop_assert!(at(&all, i, none).is_empty());
            prop_assert_eq!(at(&all, i, Call::End), [s.end_ms]);
            // Where the work before ends, or the class begins: from there on time is free.
            let free_from = before.map_or(0, |before| before.end_ms);
            for n in [1, 2, 3] {
                let mut expected = Vec::new();
                if s.start_ms - i64::from(n) * 1000 >= free_from {
                    expected.push(s.start_ms - i64::from(n) * 1000);
                }
                if s.len_ms() >= COUNTED_WORK_MS {
                    expected.push(s.end_ms - i64::from(n) * 1000);
                }
                prop_assert_eq!(at(&all, i, Call::Count(n)), expected);
            }
            before = Some(s);
        }
        prop_assert!(all.cues.iter().all(|c| timeline.segments()[c.segment].is_work()));
    }

    #[test]
    fn calls_are_in_order_and_lie_in_the_class(plan in plan(), picks in picks(), calling in calling()) {
        let timeline = Timeline::new(&plan);
        let all = calls(&timeline, &ways(&plan, &picks), calling);
        prop_assert!(all.cues.is_sorted_by_key(|cue| cue.at_ms));
        prop_assert!(all.phrases.is_sorted_by_key(|phrase| phrase.at_ms));
        prop_assert!(all.cues.iter().all(|c| (0..=timeline.total_ms()).contains(&c.at_ms)));
        prop_assert!(all.phrases.iter().all(|p| 0 <= p.at_ms && p.end_ms() <= timeline.total_ms()));
        // An end and the go that touches it: the end first.
        for pair in all.cues.windows(2).filter(|pair| pair[0].at_ms == pair[1].at_ms) {
            prop_assert!(
                !(matches!(pair[0].call, Call::Go | Call::Over) && pair[1].call == Call::End)
            );
        }
        prop_assert_eq!(calling.level == CallLevel::Tones && !all.phrases.is_empty(), false);
    }

    #[test]
    fn half_time_is_called_where_sides_change(plan in plan(), picks in picks(), calling in calling()) {
        let timeline = Timeline::new(&plan);
        let ways = ways(&plan, &picks);
        let all = calls(&timeline, &ways, calling);
        for (i, s) in work_segments(&timeline) {
            let of = s.move_at.unwrap();
            let option = ways.get(&of).and_then(|option| plan.moves[of].options.get(*option));
            let changes = matches!(s.side, Side::Half { .. })
                // In a window one changes at one's own pace.
                || (timeline.tasks_of(s).is_empty()
                    && option.is_some_and(|option| option.switch_at_half));
            prop_assert_eq!(changes_at_half(&timeline, s, &ways), changes);
            let full = calling.level == CallLevel::Full && s.len_ms() >= 30_000;
            let expected: &[i64] = if changes || full { &[s.start_ms + s.len_ms() / 2] } else { &[] };
            prop_assert_eq!(at(&all, i, Call::Half), expected);
        }
    }

    #[test]
    fn no_two_phrases_overlap_and_none_runs_into_a_countdown(
        plan in plan(),
        picks in picks(),
        calling in calling(),
    ) {
        let timeline = Timeline::new(&plan);
        let all = calls(&timeline, &ways(&plan, &picks), calling);
        for pair in all.phrases.windows(2) {
            prop_assert!(pair[0].end_ms() <= pair[1].at_ms, "{:?}", pair);
        }
        prop_assert!(all.phrases.iter().all(|p| p.end_ms() <= p.until_ms && !p.text.is_empty()));
        // The countdown: from half a second before its first count to what it counts to.
        let mut from = None;
        for cue in &all.cues {
            match cue.call {
                Call::Count(_) => from = from.or(Some(cue.at_ms)),
                Call::Go | Call::Over | Call::End => {
                    if let Some(from) = from.take() {
                        let (from, to) = (from - 500, cue.at_ms);
                        let into = |p: &&Phrase| p.at_ms < to && p.end_ms() > from;
                        prop_assert_eq!(all.phrases.iter().find(into), None, "{}..{}", from, to);
                    }
                }
                _ => {}
            }
        }
    }

    #[test]
    fn ten_five_and_marks_are_heard_once(plan in plan(), picks in picks(), calling in calling()) {
        let timeline = Timeline::new(&plan);
        let all = calls(&timeline, &ways(&plan, &picks), calling);
        for (i, s) in work_segments(&timeline) {
            let said = |topic| all.phrases.iter().filter(|p| (p.segment, p.topic) == (i, topic)).count();
            let marks = timeline.entry_of(s).unwrap().marks.iter();
            let marks = marks.filter(|mark| i64::from(mark.at) * 1000 < s.len_ms()).count();
            for (topic, call, expected) in [
                (Topic::Ten, Call::Ten, usize::from(s.len_ms() >= TEN_WORK_MS)),
                (Topic::Five, Call::Five, usize::from(s.len_ms() >= FIVE_WORK_MS)),
                (Topic::Mark, Call::Mark, marks),
            ] {
                prop_assert_eq!(said(topic) + at(&all, i, call).len(), expected, "{:?}", topic);
            }
        }
    }

    /// Words change nothing but words: of the tones only those that stand in for words.
    #[test]
    fn levels_and_languages_share_their_tones(plan in plan(), picks in picks(), one in calling(), other in calling()) {
        let timeline = Timeline::new(&plan);
        let ways = ways(&plan, &picks);
        let tones = |calling| {
            let mut cues = calls(&timeline, &ways, calling).cues;
            cues.retain(|c| !matches!(c.call, Call::Ten | Call::Five | Call::Mark | Call::Half));
            cues
        };
        prop_assert_eq!(tones(one), tones(other));
    }

    /// Another way of one move changes the calls that are about this move, and no others: the
    /// words on its way in, its half time, what its words push aside, its block's kit.
    #[test]
    fn another_way_changes_its_own_calls_alone(
        plan in plan(),
        of in any::<Index>(),
        option in any::<Index>(),
        calling in calling(),
    ) {
        let timeline = Timeline::new(&plan);
        let of = of.index(plan.moves.len());
        prop_assume!(!plan.moves[of].options.is_empty());
        let option = option.index(plan.moves[of].options.len());
        let plain = calls(&timeline, &Ways::new(), calling);
        let other = calls(&timeline, &Ways::from([(of, option)]), calling);
        let segments = timeline.segments();
        let id = &plan.moves[of].id;
        let works = |block: usize| plan.blocks[block].entries().any(|entry| entry.of == *id);
        let own = |i: usize| {
            let next = timeline.next_work(i);
            let before = (0..next.unwrap_or(segments.len())).rev().find(|i| segments[*i].is_work());
            [next, before].into_iter().flatten().any(|i| {
                let tasks = timeline.tasks_of(&segments[i]);
                segments[i].move_at == Some(of) || tasks.iter().any(|task| task.of == *id)
            })
        };
        let before = |i: usize| (0..i).rev().find(|i| segments[*i].is_work());
        // Whether the way into this work names its block's kit, and the move has to do with that.
        let kit = |work: usize| {
            let before = before(work).map(|before| segments[before].block);
            before != Some(segments[work].block)
                && (works(segments[work].block) || before.is_some_and(works))
        };
        let said = |all: &Calls, work: usize, topic: Topic| {
            let mut phrases = all.phrases.iter().filter(|p| (p.segment, p.topic) == (work, topic));
            phrases.next().cloned()
        };
        // Demos and interludes take what the words on the way into the next work leave.
        let pushed = |i: usize| timeline.next_work(i).is_some_and(|work| {
            let ours = own(work) || kit(work);
            ours && [Topic::Block, Topic::Next].iter().any(|topic| said(&plain, work, *topic) != said(&other, work, *topic))
        });
        let others = |all: &Calls| {
            let cues: Vec<_> = all.cues.iter().copied().filter(|cue| {
                !(segments[cue.segment].move_at == Some(of)
                    && matches!(cue.call, Call::Half | Call::Ten | Call::Five | Call::Mark))
            }).collect();
            let phrases: Vec<_> = all.phrases.iter().filter(|p| match p.topic {
                Topic::Block | Topic::Next => !(own(p.segment) || kit(p.segment)),
                Topic::Demo | Topic::Interlude => !(own(p.segment) || pushed(p.segment)),
                _ => !own(p.segment),
            }).cloned().collect();
            (cues, phrases)
        };
        prop_assert_eq!(others(&plain), others(&other));
    }
}

/// Speech in seconds against words that fit at 150 words a minute: 12 in 5 s, 25 in 10 s
/// (arithmetic; 150 is a usual speaking rate).
#[test]
fn words_take_as_long_as_the_published_rate_says() {
    let words = |n: usize| vec!["word"; n].join(" ");
    for (seconds, fit) in [(5, 12), (10, 25)] {
        assert!(speech_ms(&words(fit)) <= seconds * 1000);
        assert!(speech_ms(&words(fit + 1)) > seconds * 1000);
    }
}

/// An option that has no cues of its own keeps the move's: the voice says the one that the screen shows.
#[test]
fn the_voice_gives_the_cue_that_the_screen_shows() {
    let plan = Plan::from_json(
        r#"{"format":"rungbook-plan","version":1,"title":"t","ready":30,"moves":[
            {"id":"squat","name":"Squat","notes":["Heels down"],"options":[
                {"id":"bare","name":"to a chair"},
                {"id":"told","name":"with a pause","notes":["Hold it low"]}]}],
            "blocks":[{"kind":"flow","steps":["squat"],"work":20}]}"#,
    )
    .unwrap();
    let timeline = Timeline::new(&plan);
    let calling = Calling {
        level: CallLevel::Full,
        tongue: Tongue::English,
    };
    for (ways, said) in [
        (Ways::new(), "First: Squat. Heels down"),
        (Ways::from([(0, 0)]), "First: Squat: to a chair. Heels down"),
        (
            Ways::from([(0, 1)]),
            "First: Squat: with a pause. Hold it low",
        ),
    ] {
        let all = calls(&timeline, &ways, calling);
        let next = all.phrases.iter().find(|one| one.topic == Topic::Next);
        assert_eq!(&*next.unwrap().text, said);
        assert!(said.ends_with(timeline.cues_of(&timeline.segments()[1], &ways)[0]));
    }
}

// ---- What is spoken, and what the screen shows ----

/// Every plan of the tests, by its file.
fn plans_of_the_tests() -> Vec<(String, Plan)> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let mut plans = Vec::new();
    for folder in ["src/demos", "tests/plans", "tests/e2e/plans"] {
        for entry in std::fs::read_dir(root.join(folder)).unwrap() {
            let path = entry.unwrap().path();
            if path.extension().is_some_and(|ext| ext == "json") {
                let file = std::fs::read_to_string(&path).unwrap();
                let name = path.file_stem().unwrap().to_string_lossy().into_owned();
                plans.push((name, Plan::from_json(&file).unwrap()));
            }
        }
    }
    assert!(plans.len() > 30, "the plans have gone missing");
    plans
}

/// The number that is spoken is the one that the screen shows (`Timeline::counts_of`), and the
/// exercise with that number in the block is the one that is named, by the order of the file: in
/// every kind of block that numbers its exercises they are counted as they are written.
#[test]
fn the_exercise_that_is_spoken_is_the_one_that_the_screen_shows() {
    let mut numbers = 0;
    for (name, plan) in plans_of_the_tests() {
        let timeline = Timeline::new(&plan);
        let level = CallLevel::Full;
        let tongue = Tongue::English;
        let all = calls(&timeline, &Ways::new(), Calling { level, tongue });
        for phrase in all.phrases.iter().filter(|p| p.topic == Topic::Next) {
            let Some(numbered) = phrase.text.strip_prefix("Exercise ") else {
                continue;
            };
            let place = format!("{name}, {} ms: {}", phrase.at_ms, phrase.text);
            let (number, what) = numbered.split_once(": ").unwrap();
            let number: u32 = number.parse().unwrap();
            let segment = &timeline.segments()[phrase.segment];
            let shown = timeline.count_of(segment, Counted::Exercise);
            assert_eq!(shown.map(|count| count.number), Some(number), "{place}");
            let move_of = timeline.move_of(segment).unwrap();
            assert!(what.starts_with(move_of.called()), "{place}");
            let block = timeline.block_of(segment).unwrap();
            let written = block.entries().nth(number as usize - 1);
            assert_eq!(written.map(|entry| &entry.of), Some(&move_of.id), "{place}");
            numbers += 1;
        }
    }
    assert!(numbers > 100, "{numbers} numbers");
}

/// As the format has it: one entry's sets are one round, a window's times are no exercises.
#[test]
fn what_a_coach_counts_is_told_for_each_kind_of_block() {
    let check = |block: &str, at: usize, expected: &str| {
        let text = format!(
            r#"{{"format":"rungbook-plan","version":1,"title":"t","ready":0,
            "moves":[{{"id":"a","name":"A"}},{{"id":"b","name":"B"}},{{"id":"c","name":"C"}}],
            "blocks":[{{{block},"work":20}}]}}"#
        );
        let timeline = Timeline::new(&Plan::from_json(&text).unwrap());
        let counts = timeline.counts_of(&timeline.segments()[at]).into_iter();
        let told: Vec<_> = counts
            .map(|count| format!("{} {} of {}", count.what.word(), count.number, count.of))
            .collect();
        assert_eq!(told.join(", "), expected, "{block}");
    };
    let all = r#"["a","b","c"]"#;
    check(
        &format!(r#""kind":"sets","sets":2,"moves":{all}"#),
        3,
        "exercise 2 of 3, set 2 of 2",
    );
    check(r#""kind":"sets","sets":3,"moves":["a"]"#, 1, "set 2 of 3");
    check(
        &format!(r#""kind":"sets","moves":{all}"#),
        1,
        "exercise 2 of 3",
    );
    check(
        &format!(r#""kind":"rounds","rounds":2,"moves":{all}"#),
        4,
        "round 2 of 2, exercise 2 of 3",
    );
    check(
        r#""kind":"rounds","rounds":3,"moves":["a"]"#,
        1,
        "round 2 of 3",
    );
    check(
        r#""kind":"ladder","rungs":[["a"],["b"],["c"]]"#,
        2,
        "round 2 of 3, exercise 2 of 2",
    );
    check(
        &format!(r#""kind":"flow","steps":{all}"#),
        2,
        "exercise 3 of 3",
    );
    check(
        &format!(r#""kind":"window","times":3,"tasks":{all}"#),
        1,
        "time 2 of 3",
    );
    check(&format!(r#""kind":"window","tasks":{all}"#), 0, "");
    check(&format!(r#""kind":"rounds","moves":{all},"rest":5"#), 1, "");
}

/// The sides within a cue and a how-to are those of the language that speaks.
#[test]
fn the_sides_in_a_text_are_spoken_in_the_language_of_the_calls() {
    let plan = Plan::from_json(
        r#"{"format":"rungbook-plan","version":1,"title":"Muelle","ready":10,
        "moves":[{"id":"a","name":"Zancada","sided":true,"demo":15,"how":"Pie {other} al lado del pie {side}.","notes":["Pie {side} delante, pie {other} lejos"]},
                 {"id":"b","name":"Sentadilla","notes":["Pie {side} y pie {other}"]}],
        "blocks":[{"kind":"flow","steps":["a","b"],"work":30,"rest":15,"change":15}]}"#,
    )
    .unwrap();
    let timeline = Timeline::new(&plan);
    let spoken = |tongue| -> String {
        let level = CallLevel::Full;
        let all = calls(&timeline, &Ways::new(), Calling { level, tongue });
        let texts: Vec<_> = all.phrases.iter().map(|p| p.text.to_string()).collect();
        texts.join("\n")
    };
    let spanish = spoken(Tongue::Spanish);
    for said in [
        "Pie contrario al lado del pie que trabaja.",
        "Pie derecho delante, pie izquierdo lejos",
        "Pie que trabaja y pie contrario",
    ] {
        assert!(spanish.contains(said), "{said} in {spanish}");
    }
    for word in ["right", "left", "working", "other"] {
        assert!(!spanish.contains(word), "{word} in {spanish}");
    }
    let english = spoken(Tongue::English);
    assert!(
        english.contains("Pie right delante, pie left lejos"),
        "{english}"
    );
}

// ---- The demos ----

/// All calls, a line each.
fn written(plan: &Plan, calling: Calling) -> String {
    let timeline = Timeline::new(plan);
    let all = calls(&timeline, &Ways::new(), calling);
    let mut lines: Vec<(i64, String)> = Vec::new();
    for cue in &all.cues {
        let call = match cue.call {
            Call::Count(n) => n.to_string(),
            other => format!("{other:?}").to_lowercase(),
        };
        match lines.last_mut() {
            // A countdown is one line.
            Some((_, line)) if line.ends_with(['3', '2']) && call.len() == 1 => {
                let _ = write!(line, " {call}");
            }
            _ => lines.push((cue.at_ms, format!("♪ {call}"))),
        }
    }
    for phrase in &all.phrases {
        let line = format!("“{}”", phrase.text.replace('\n', " / "));
        lines.push((phrase.at_ms, line));
    }
    lines.sort_by_key(|(at_ms, _)| *at_ms);
    let mut text = String::new();
    for (at_ms, line) in lines {
        let _ = writeln!(
            text,
            "{:>2}:{:02}.{:03}  {line}",
            at_ms / 60_000,
            at_ms / 1000 % 60,
            at_ms % 1000
        );
    }
    text
}

#[test]
fn the_calls_of_the_demos_are_those_that_were_read_and_found_right() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let write = std::env::var_os("RUNGBOOK_WRITE_CALLS").is_some();
    for demo in ["harbour-lunch", "quay-pyramid", "chair-class"] {
        let plan = common::plan_file(&format!("src/demos/{demo}.json"));
        for (name, level, tongue) in [
            ("short", CallLevel::Short, Tongue::English),
            ("full", CallLevel::Full, Tongue::English),
            ("tones", CallLevel::Tones, Tongue::English),
            ("short.es", CallLevel::Short, Tongue::Spanish),
        ] {
            let path = root.join(format!("tests/plans/calls/{demo}.{name}.txt"));
            let now = written(&plan, Calling { level, tongue });
            if write {
                std::fs::create_dir_all(path.parent().unwrap()).unwrap();
                std::fs::write(&path, now).unwrap();
                continue;
            }
            let then = std::fs::read_to_string(&path).unwrap();
            for (line, (then, now)) in (1..).zip(then.lines().zip(now.lines())) {
                assert_eq!(now, then, "{demo}.{name}, line {line}");
            }
            assert_eq!(now.lines().count(), then.lines().count(), "{demo}.{name}");
        }
    }
}
