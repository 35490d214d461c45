//! A class that was opened.

use std::sync::Arc;

use crate::plan::Plan;
use crate::timeline::Timeline;

/// A class that was opened, laid out.
#[derive(Clone, Debug, PartialEq)]
pub struct Opened {
    /// Its timeline, which has the plan.
    pub timeline: Arc<Timeline>,
    /// Its link text: what the address shows, what is stored, and what is handed on.
    pub link: Arc<str>,
    /// The instant of time 0, for a class at a set instant.
    pub at: Option<i64>,
    /// Only tried by the coach who writes it: it leaves no trace.
    pub trial: bool,
}

impl Opened {
    /// A class of one's own, to be started at any time.
    #[must_use]
    pub fn new(timeline: Arc<Timeline>, link: Arc<str>) -> Opened {
        Opened {
            timeline,
            link,
            at: None,
            trial: false,
        }
    }

    /// The plan.
    #[must_use]
    pub fn plan(&self) -> &Plan {
        self.timeline.plan()
    }

    /// A set start of it, if the class is not over by an instant.
    #[must_use]
    pub fn unless_over(&self, at: Option<i64>, now: i64) -> Option<i64> {
        at.filter(|at| now - at < self.timeline.total_ms())
    }
}
