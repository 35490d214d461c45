//! Following a recording: its clock, as a member reads it off the video, says where the class is.

use super::ALIGN_ASKS_MS;
use crate::timeline::Timeline;

/// What a recording's clock would make of now.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct ClockOffer {
    /// By how much class time would move, in milliseconds: what a nudge takes.
    pub by_ms: i64,
    /// Whether it is far enough to ask first.
    pub asks: bool,
}

/// Why a clock says nothing about the class. Times are seconds of the recording's clock.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ClockError {
    /// The plan says nothing of a recording.
    NoRecording,
    /// No recording has a time below 0.
    BeforeRecording,
    /// The class is over by then.
    AfterClass {
        /// When the class ends on the recording.
        ends_s: i64,
    },
}

/// Where a recording's clock, in seconds, takes a class that stands at `class_ms`. Before the class
/// begins on the recording it leads to before the class, which then counts down to its start.
///
/// # Errors
/// [`ClockError`] where the clock lies outside of what the recording has of the class. At its very
/// end the class is over too: a clock never ends a class.
///
/// ```
/// use rungbook::plan::Plan;
/// use rungbook::run::{ClockError, at_clock};
/// use rungbook::timeline::Timeline;
///
/// let plan = Plan::from_json(r#"{
///     "format": "rungbook-plan", "version": 1, "title": "One", "recording": 95,
///     "moves": [ { "id": "squat", "name": "Squat" } ],
///     "blocks": [ { "kind": "flow", "steps": ["squat"], "work": 20 } ]
/// }"#)?;
/// let timeline = Timeline::new(&plan); // 30 s long: 10 s to get ready, 20 s of work
/// assert_eq!(at_clock(&timeline, 0, 100).unwrap().by_ms, 5_000);
/// assert_eq!(at_clock(&timeline, 0, 30).unwrap().by_ms, -65_000); // counts down to 1:35
/// assert_eq!(at_clock(&timeline, 0, 125), Err(ClockError::AfterClass { ends_s: 125 }));
/// # Ok::<(), rungbook::plan::PlanError>(())
/// ```
pub fn at_clock(
    timeline: &Timeline,
    class_ms: i64,
    clock_s: i64,
) -> Result<ClockOffer, ClockError> {
    let recording = timeline.plan().recording;
    let begins_s = i64::from(recording.ok_or(ClockError::NoRecording)?);
    if clock_s < 0 {
        return Err(ClockError::BeforeRecording);
    }
    let to_ms = clock_s.saturating_sub(begins_s).saturating_mul(1000);
    if to_ms >= timeline.total_ms() {
        // A class has whole seconds.
        let ends_s = begins_s + timeline.total_ms() / 1000;
        return Err(ClockError::AfterClass { ends_s });
    }
    let by_ms = to_ms - class_ms;
    Ok(ClockOffer {
        by_ms,
        asks: by_ms.abs() > ALIGN_ASKS_MS,
    })
}
