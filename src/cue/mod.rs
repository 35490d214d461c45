//! What is called, and when: segments and the chosen options -> cues at exact class times.
//!
//! The rules, by what stands around the go (common practice, no source):
//!
//! | cue | when |
//! | --- | --- |
//! | three, two, one | the last three seconds before a go, as far as the gap before it reaches; before the end of work of [`COUNTED_WORK_MS`] and more |
//! | go | at the start of every work segment |
//! | half | at half time of work that changes sides there, by the plan or by the chosen option |
//! | end | at the end of every work segment |

use std::collections::BTreeMap;

use crate::timeline::{Segment, Side, Timeline};

/// Work that is shorter than this ends without a count: its go and its count would run together.
pub const COUNTED_WORK_MS: i64 = 8_000;

/// What is called.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Call {
    /// Three, two or one second to go.
    Count(u8),
    /// Half time: change sides.
    Half,
    /// The work ends.
    End,
    /// The work starts.
    Go,
}

/// A call at a class time.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Cue {
    /// Milliseconds of class time.
    pub at_ms: i64,
    /// What is called.
    pub call: Call,
    /// The work segment that it belongs to.
    pub segment: usize,
}

/// The option that a member chose for a move, by their places in the plan. A move that is not
/// there is done as written.
pub type Ways = BTreeMap<usize, usize>;

/// All cues of a class, in order.
///
/// ```
/// use rungbook::cue::{Call, Ways, cues};
/// use rungbook::{plan::Plan, timeline::Timeline};
/// let plan = Plan::from_json(r#"{
///     "format": "rungbook-plan", "version": 1, "title": "One", "ready": 2,
///     "moves": [ { "id": "squat", "name": "Squat" } ],
///     "blocks": [ { "kind": "flow", "steps": ["squat"], "work": 5 } ]
/// }"#)?;
/// let calls: Vec<_> = cues(&Timeline::new(&plan), &Ways::new())
///     .into_iter()
///     .map(|cue| (cue.at_ms, cue.call))
///     .collect();
/// assert_eq!(calls, [
///     (0, Call::Count(2)), (1_000, Call::Count(1)), (2_000, Call::Go), (7_000, Call::End),
/// ]);
/// # Ok::<(), rungbook::plan::PlanError>(())
/// ```
#[must_use]
pub fn cues(timeline: &Timeline, ways: &Ways) -> Vec<Cue> {
    let mut cues = Vec::new();
    // Where the last work ended: a count before a go does not reach back into it.
    let mut free_from = 0;
    for (i, segment) in timeline.segments().iter().enumerate() {
        if !segment.is_work() {
            continue;
        }
        let mut put = |at_ms, call| {
            cues.push(Cue {
                at_ms,
                call,
                segment: i,
            });
        };
        count(segment.start_ms, free_from, &mut put);
        put(segment.start_ms, Call::Go);
        if changes_at_half(timeline, segment, ways) {
            put(segment.half_ms(), Call::Half);
        }
        if segment.len_ms() >= COUNTED_WORK_MS {
            count(segment.end_ms, segment.start_ms, &mut put);
        }
        put(segment.end_ms, Call::End);
        free_from = segment.end_ms;
    }
    // An end and the go that touches it stand in one millisecond: the end first.
    cues.sort_unstable();
    cues
}

fn count(to_ms: i64, from_ms: i64, put: &mut impl FnMut(i64, Call)) {
    for n in [3, 2, 1] {
        let at_ms = to_ms - i64::from(n) * 1000;
        if at_ms >= from_ms {
            put(at_ms, Call::Count(n));
        }
    }
}

/// Whether the sides change at half time, by the plan or by the chosen option.
#[must_use]
pub fn changes_at_half(timeline: &Timeline, segment: &Segment, ways: &Ways) -> bool {
    if matches!(segment.side, Side::Half { .. }) {
        return true;
    }
    // What is done in a window, and when one changes sides there, is at one's own pace.
    if !timeline.tasks_of(segment).is_empty() {
        return false;
    }
    let chosen = segment.move_at.and_then(|at| {
        let option = *ways.get(&at)?;
        timeline.plan().moves.get(at)?.options.get(option)
    });
    chosen.is_some_and(|option| option.switch_at_half)
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

    fn calls(timeline: &Timeline, ways: &Ways) -> Vec<(i64, Call)> {
        cues(timeline, ways)
            .into_iter()
            .map(|cue| (cue.at_ms, cue.call))
            .collect()
    }

    #[test]
    fn every_work_segment_has_its_go_and_its_end() {
        let t = timeline(r#"[{"kind":"rounds","moves":["a","s"],"rounds":3,"work":20,"rest":1}]"#);
        let all = cues(&t, &Ways::new());
        for (i, s) in t.segments().iter().enumerate().filter(|(_, s)| s.is_work()) {
            let here = |call, at_ms| {
                all.iter()
                    .filter(|c| c.segment == i && c.call == call && c.at_ms == at_ms)
                    .count()
            };
            assert_eq!(
                (here(Call::Go, s.start_ms), here(Call::End, s.end_ms)),
                (1, 1)
            );
        }
    }

    #[test]
    fn a_count_does_not_reach_into_the_work_before() {
        // 1 s of rest: only "one" fits before the second go.
        let t = timeline(r#"[{"kind":"rounds","moves":["a","a"],"work":5,"rest":1}]"#);
        assert_eq!(
            calls(&t, &Ways::new())[3..],
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
        let half = |ways: &Ways| -> Vec<i64> {
            cues(&t, ways)
                .into_iter()
                .filter(|cue| cue.call == Call::Half)
                .map(|cue| cue.at_ms)
                .collect()
        };
        assert_eq!(half(&Ways::new()), [35_000 + 12_500]);
        assert_eq!(half(&Ways::from([(0, 0)])), [22_500, 47_500]);
    }
}
