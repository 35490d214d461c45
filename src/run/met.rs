//! Whether an exercise was met before in a run: what is told in full the first time is told short
//! from then on.

use super::record::{Did, Record};
use crate::timeline::Timeline;

impl Record {
    /// Whether the exercise that a segment is about was done before in this run, in another segment.
    /// The segment is given by its place in the timeline that the run is of.
    #[must_use]
    pub fn met(&self, timeline: &Timeline, segment: usize) -> bool {
        let segments = timeline.segments();
        let about = segments
            .get(segment)
            .and_then(|segment| timeline.about(segment));
        let Some(about) = about else { return false };
        self.work.iter().any(|(at, did)| {
            let other = segments.get(*at);
            let same = other.is_some_and(|other| other.move_at == Some(about.move_at));
            same && about.work != Some(*at) && *did != Did::None
        })
    }
}

#[cfg(test)]
mod tests {
    use super::super::{Input, Run};
    use crate::plan::Plan;
    use crate::timeline::Timeline;

    fn run() -> Run {
        let plan = Plan::from_json(
            r#"{"format":"rungbook-plan","version":1,"title":"t","ready":5,
                "moves":[{"id":"a","name":"A"},{"id":"s","name":"S","sided":true}],
                "blocks":[{"kind":"rounds","moves":["a","s"],"rounds":2,"work":20,"rest":5,"break":10,"change":5}]}"#,
        );
        let mut run = Run::new(Timeline::new(&plan.expect("a good plan")));
        run.input(
            0,
            Input::Start {
                set: None,
                lead: false,
            },
        );
        run
    }

    /// Whether what is shown at an instant was met.
    fn met(run: &Run, now: i64) -> bool {
        run.record(now)
            .met(run.timeline(), run.show(now).segment.expect("in class"))
    }

    #[test]
    fn an_exercise_is_new_until_it_was_worked_on_in_another_segment() {
        let run = run();
        // Ready 5, A 20, rest 5, S right 20, change 5, S left 20, break 10, A again from 85 s.
        for (at, known) in [
            (1_000, false),
            (24_000, false),
            (26_000, false),
            (49_000, false),
            (51_000, true),
            (60_000, true),
            (76_000, true),
            (90_000, true),
        ] {
            assert_eq!(met(&run, at), known, "at {at}");
        }
    }

    #[test]
    fn what_was_skipped_was_not_met_and_a_step_back_is_the_same_segment() {
        let mut run = run();
        run.input(1_000, Input::Skip); // To the start of A,
        run.input(1_000, Input::Skip); // past all of it,
        run.input(1_000, Input::Skip); // to S, right.
        assert!(!met(&run, 2_000));
        run.input(12_000, Input::Back); // To its start: it is not another one.
        assert!(!met(&run, 13_000));
        // A was never done: its second time is its first.
        let again = run
            .timeline()
            .segments()
            .iter()
            .rposition(|s| s.move_at == Some(0));
        let again = again.expect("A comes again");
        assert!(!run.record(13_000).met(run.timeline(), again));
    }
}
