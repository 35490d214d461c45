//! Which exercise a segment is about: one rule for the screen and the voice.

use super::{Segment, SegmentKind, Timeline};

/// What a segment is about.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct About {
    /// The exercise, by its place in the plan.
    pub move_at: usize,
    /// The work on it that this is or that comes, by its place in [`Timeline::segments`]; none of a
    /// demo that no work follows.
    pub work: Option<usize>,
    /// The work that starts before that: what a demo leads to, where it is another exercise.
    pub then: Option<usize>,
}

impl Timeline {
    /// The exercise that a segment is about: in work the one at work, in a demo the one that is shown,
    /// in any other gap the one that comes; in an interlude, and where nothing comes, none.
    ///
    /// ```
    /// use rungbook::{plan::Plan, timeline::Timeline};
    /// let plan = Plan::from_json(r#"{
    ///     "format": "rungbook-plan", "version": 1, "title": "Two rungs", "ready": 5,
    ///     "moves": [ { "id": "a", "name": "A" }, { "id": "b", "name": "B", "demo": 8 } ],
    ///     "blocks": [ { "kind": "ladder", "rungs": [["a"], ["b"]], "work": 20 } ]
    /// }"#)?;
    /// let timeline = Timeline::new(&plan);
    /// // The demo of the second rung comes before a round that begins with the first exercise.
    /// let demo = timeline.segments().iter().find(|s| s.move_at == Some(1)).unwrap();
    /// let about = timeline.about(demo).unwrap();
    /// assert_eq!(about.move_at, 1);
    /// let of = |at: Option<usize>| timeline.segments()[at.unwrap()].move_at;
    /// assert_eq!((of(about.work), of(about.then)), (Some(1), Some(0)));
    /// # Ok::<(), rungbook::plan::PlanError>(())
    /// ```
    #[must_use]
    pub fn about(&self, segment: &Segment) -> Option<About> {
        let from = self.index_at(segment.start_ms)?;
        let next = self.next_work(from);
        match segment.kind {
            SegmentKind::Interlude => None,
            SegmentKind::Demo => {
                let move_at = segment.move_at?;
                let segments = &self.segments;
                let has = |i: &usize| {
                    segments[*i].is_work() && self.moves_of(&segments[*i]).contains(&move_at)
                };
                let work = (from..segments.len()).find(has);
                Some(About {
                    move_at,
                    work,
                    then: next.filter(|next| work != Some(*next)),
                })
            }
            _ => Some(About {
                move_at: self.segments.get(next?)?.move_at?,
                work: next,
                then: None,
            }),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::super::SegmentKind;
    use super::*;
    use crate::plan::Plan;

    fn timeline(blocks: &str) -> Timeline {
        let text = format!(
            r#"{{"format":"rungbook-plan","version":1,"title":"t","ready":5,"moves":[
                {{"id":"a","name":"A","demo":8}},{{"id":"b","name":"B","demo":8}}],"blocks":{blocks}}}"#
        );
        Timeline::new(&Plan::from_json(&text).expect("a good plan"))
    }

    #[test]
    fn a_demo_is_about_what_it_shows_and_every_other_gap_about_what_comes() {
        let t = timeline(
            r#"[{"kind":"ladder","rungs":[["a"],["b"]],"work":20,"rest":5,"break":15,"after":9},
                {"kind":"interlude","lasts":20,"say":"Water"}]"#,
        );
        for (i, segment) in t.segments().iter().enumerate() {
            let about = t.about(segment);
            let next = t.next_work(i).and_then(|next| t.segments()[next].move_at);
            match segment.kind {
                SegmentKind::Demo => {
                    assert_eq!(about.map(|about| about.move_at), segment.move_at);
                    let work = about.and_then(|about| about.work);
                    assert_eq!(
                        work.and_then(|at| t.segments()[at].move_at),
                        segment.move_at
                    );
                }
                SegmentKind::Interlude => assert_eq!(about, None),
                SegmentKind::Work => assert_eq!(about.and_then(|about| about.work), Some(i)),
                _ => assert_eq!(about.map(|about| about.move_at), next, "{i}"),
            }
        }
        let then: Vec<_> = t
            .segments()
            .iter()
            .filter(|s| s.kind == SegmentKind::Demo)
            .map(|s| t.about(s).and_then(|about| about.then).is_some())
            .collect();
        assert_eq!(then, [false, true]);
    }
}
