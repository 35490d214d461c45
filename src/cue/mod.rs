//! What is called, and when: segments and the chosen options -> calls at exact class times.
//!
//! The rules, by the length of the work (common practice, no source, but for the rate of speech):
//!
//! | call | where | tones | short | full |
//! | --- | --- | --- | --- | --- |
//! | three, two, one | before a go, as far as the gap reaches; before the end of work of 8 s and more | tone | tone | tone |
//! | go | every start of work | tone | tone | tone |
//! | over | in place of the go, where the other side of the same move starts | tone | tone | tone |
//! | half time | work that changes sides there, by the plan or by the chosen option | tone | tone, spoken | tone, spoken |
//! | half time | other work of 30 s and more | - | - | tone, spoken |
//! | ten to go | work of 30 s and more | tone | spoken | spoken |
//! | five to go | work of 20 s and more | tone | spoken | spoken |
//! | an entry's marks | inside the work | tone | spoken | spoken |
//! | end | every end of work | tone | tone | tone |
//! | get ready: the next move and side | the gap before it | - | spoken | spoken, with number, kit, a note and, the first time, its caution |
//! | a new block and its kit | the gap before it | - | its kit, if new | its name and its kit |
//! | a demo | the demo | - | its name | its name and how-to |
//! | an interlude | the interlude | - | its name | its words |
//!
//! **What gives way.** Class time never does: no call moves another, and none changes the class.
//! - Nothing is spoken over a countdown: the last word has ended half a second before the three.
//! - Of two tones in one millisecond the more urgent one sounds: go, half time, end, count, ten,
//!   five, mark.
//! - Half time, ten, five and marks keep their instant. Where two would be spoken over each other,
//!   a change of sides comes before a mark, a mark before ten, ten before five, five before a plain
//!   half time; what gives way sounds as its tone.
//! - What is said in a gap keeps to the gap. The next move comes first and ends last; it takes
//!   fewer words where there is less room. Where the gap has no room at all, it is said in the last
//!   15 s of the work before, between the calls there. A block, a demo and an interlude take what
//!   is left, from the start of theirs, with fewer words or none.
//!
//! How long words take is [`speech_ms`].

mod call;
mod phrases;
mod tones;
mod words;

pub(crate) use call::is_other_side;
pub use call::{
    COUNTED_WORK_MS, Call, CallLevel, Calling, Cue, FIVE_WORK_MS, TEN_WORK_MS, WORDS_A_MINUTE,
    speech_ms,
};
pub use phrases::{Phrase, Topic, caution};
pub use tones::{MOST_HERTZ, Note, notes, tone_ms};
pub use words::Tongue;

use crate::timeline::{Segment, Timeline, Ways, changes_at_half};
use call::{counts_before, place};

/// All that is called in a class.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Calls {
    /// The tones, in order.
    pub cues: Vec<Cue>,
    /// What is spoken, in order. No two overlap.
    pub phrases: Vec<Phrase>,
}

/// All calls of a class.
///
/// ```
/// use rungbook::cue::{Call, CallLevel, Calling, Tongue, calls};
/// use rungbook::{plan::Plan, timeline::{Timeline, Ways}};
/// let plan = Plan::from_json(r#"{
///     "format": "rungbook-plan", "version": 1, "title": "One", "ready": 8,
///     "moves": [ { "id": "squat", "name": "Squat" } ],
///     "blocks": [ { "kind": "flow", "steps": ["squat"], "work": 5 } ]
/// }"#)?;
/// let how = Calling { level: CallLevel::Short, tongue: Tongue::English };
/// let calls = calls(&Timeline::new(&plan), &Ways::new(), how);
/// let cues: Vec<_> = calls.cues.iter().map(|cue| (cue.at_ms, cue.call)).collect();
/// assert_eq!(cues, [
///     (5_000, Call::Count(3)), (6_000, Call::Count(2)), (7_000, Call::Count(1)),
///     (8_000, Call::Go), (13_000, Call::End),
/// ]);
/// // Two words take 0.8 s, and end half a second before the three.
/// let [said] = calls.phrases.as_slice() else { panic!() };
/// assert_eq!((said.at_ms, &*said.text), (3_700, "First: Squat"));
/// # Ok::<(), rungbook::plan::PlanError>(())
/// ```
#[must_use]
pub fn calls(timeline: &Timeline, ways: &Ways, calling: Calling) -> Calls {
    let (phrases, instead) = if calling.level == CallLevel::Tones {
        Default::default()
    } else {
        phrases::phrases(timeline, ways, calling)
    };
    let mut instead = instead.into_iter().peekable();
    let mut cues = Vec::new();
    let mut before: Option<&Segment> = None;
    for (i, segment) in timeline.segments().iter().enumerate() {
        if !segment.is_work() {
            continue;
        }
        let mut put = |at_ms, call| {
            let segment = i;
            place(
                &mut cues,
                Cue {
                    at_ms,
                    call,
                    segment,
                },
                |cue| (cue.at_ms, cue.call),
            );
        };
        // A count before a go does not reach back into the work before.
        let free_from = before.map_or(0, |before| before.end_ms);
        for n in 1..=counts_before(segment.start_ms - free_from) {
            put(segment.start_ms - i64::from(n) * 1000, Call::Count(n));
        }
        let over = before.is_some_and(|before| is_other_side(before, segment));
        put(segment.start_ms, if over { Call::Over } else { Call::Go });
        let long = segment.len_ms() >= TEN_WORK_MS && calling.level == CallLevel::Full;
        if long || changes_at_half(timeline, segment, ways) {
            put(segment.half_ms(), Call::Half);
        }
        if calling.level == CallLevel::Tones {
            for moment in phrases::moments(timeline, segment) {
                put(moment.at_ms, moment.call);
            }
        }
        while let Some(tone) = instead.next_if(|tone| tone.segment == i) {
            put(tone.at_ms, tone.call);
        }
        if segment.len_ms() >= COUNTED_WORK_MS {
            for n in [3, 2, 1] {
                put(segment.end_ms - i64::from(n) * 1000, Call::Count(n));
            }
        }
        put(segment.end_ms, Call::End);
        before = Some(segment);
    }
    Calls { cues, phrases }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plan::Plan;

    fn timeline(blocks: &str) -> Timeline {
        let text = format!(
            r#"{{"format":"rungbook-plan","version":1,"title":"t","ready":10,"moves":[
                {{"id":"a","name":"A","options":[{{"id":"one","switch_at_half":true}}]}},
                {{"id":"s","name":"S","sided":true}}],"blocks":{blocks}}}"#
        );
        Timeline::new(&Plan::from_json(&text).expect("a good plan"))
    }

    fn at(level: CallLevel) -> Calling {
        Calling {
            level,
            tongue: Tongue::English,
        }
    }

    fn tones(timeline: &Timeline, ways: &Ways, level: CallLevel) -> Vec<(i64, Call)> {
        calls(timeline, ways, at(level))
            .cues
            .into_iter()
            .map(|cue| (cue.at_ms, cue.call))
            .collect()
    }

    #[test]
    fn a_count_does_not_reach_into_the_work_before() {
        // 1 s of rest: only "one" fits before the second go.
        let t = timeline(r#"[{"kind":"rounds","moves":["a","a"],"work":5,"rest":1}]"#);
        assert_eq!(
            tones(&t, &Ways::new(), CallLevel::Short)[3..],
            [
                (10_000, Call::Go),
                (15_000, Call::Count(1)),
                (15_000, Call::End),
                (16_000, Call::Go),
                (21_000, Call::End),
            ]
        );
    }

    #[test]
    fn half_is_called_for_sides_and_for_an_option_that_changes_there() {
        let t = timeline(r#"[{"kind":"flow","steps":["a","s"],"work":[25],"sides":"half"}]"#);
        let half = |ways: &Ways, level| -> Vec<i64> {
            tones(&t, ways, level)
                .into_iter()
                .filter(|(_, call)| *call == Call::Half)
                .map(|(at_ms, _)| at_ms)
                .collect()
        };
        for level in [CallLevel::Tones, CallLevel::Short, CallLevel::Full] {
            assert_eq!(half(&Ways::new(), level), [35_000 + 12_500]);
            assert_eq!(half(&Ways::from([(0, 0)]), level), [22_500, 47_500]);
        }
        // Long work without a change has its half time at the full level alone.
        let t = timeline(r#"[{"kind":"flow","steps":["a"],"work":30}]"#);
        let has = |level| tones(&t, &Ways::new(), level).contains(&(25_000, Call::Half));
        assert!(!has(CallLevel::Tones) && !has(CallLevel::Short) && has(CallLevel::Full));
    }

    #[test]
    fn ten_and_five_go_by_the_length_of_the_work() {
        for (work, ten, five) in [
            (19, false, false),
            (20, false, true),
            (29, false, true),
            (30, true, true),
        ] {
            let t = timeline(&format!(
                r#"[{{"kind":"flow","steps":["a"],"work":{work}}}]"#
            ));
            let end = t.total_ms();
            let cues = tones(&t, &Ways::new(), CallLevel::Tones);
            assert_eq!(cues.contains(&(end - 10_000, Call::Ten)), ten, "{work}");
            assert_eq!(cues.contains(&(end - 5_000, Call::Five)), five, "{work}");
        }
    }

    #[test]
    fn the_other_side_has_a_go_of_its_own() {
        let t =
            timeline(r#"[{"kind":"rounds","moves":["s","a"],"rounds":2,"work":10,"change":5}]"#);
        let gos: Vec<_> = tones(&t, &Ways::new(), CallLevel::Tones)
            .into_iter()
            .map(|(_, call)| call)
            .filter(|call| matches!(call, Call::Go | Call::Over))
            .collect();
        use Call::{Go, Over};
        assert_eq!(gos, [Go, Over, Go, Go, Over, Go]);
    }
}
