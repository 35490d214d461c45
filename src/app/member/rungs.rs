//! What was done, as a small picture.

use std::fmt::Write as _;

use leptos::prelude::*;

use crate::run::{Did, Record};
use crate::timeline::Timeline;

/// The class as a small row of rungs: filled where it was worked, hollow where it was not.
pub fn strip(timeline: &Timeline, record: &Record) -> AnyView {
    let total = timeline.total_ms().max(1);
    let (mut done, mut left) = (String::new(), String::new());
    for (at, did) in &record.work {
        let segment = &timeline.segments()[*at];
        let path = if *did == Did::None {
            &mut left
        } else {
            &mut done
        };
        // In thousandths of the class; a hair between two. Half a rung for half the work.
        let (from, to) = (
            segment.start_ms * 1000 / total,
            segment.end_ms * 1000 / total,
        );
        let wide = (to - from - 1).max(1);
        let (top, tall) = if *did == Did::Part { (12, 12) } else { (0, 24) };
        let _ = write!(path, "M{from} {top}h{wide}v{tall}h-{wide}z");
    }
    let all = record.work.len();
    let worked = all - record.segments(Did::None).count();
    view! {
        <svg class="past-strip" viewBox="0 0 1000 24" preserveAspectRatio="none" role="img"
            aria-label=format!("{worked} of {all} work intervals")>
            <path class="left" d=left></path>
            <path class="done" d=done></path>
        </svg>
    }
    .into_any()
}
