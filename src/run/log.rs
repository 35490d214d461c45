//! The log of a run: what a person did, and when. It is all that is ever stored of a run.

use core::fmt;

use serde::{Deserialize, Serialize};

use crate::plan::limits::CLASS_MS;

/// The version of the log's form.
pub const VERSION: u32 = 1;
/// Inputs that a stored log may have: a touch a second for hours.
pub const MOST_INPUTS: usize = 10_000;
/// Milliseconds from 1970 that a log may name: what a double holds exactly.
const MOST_MS: i64 = 1 << 53;

/// An instant that a log may name.
pub(super) fn sane_instant(at: i64) -> i64 {
    at.clamp(-MOST_MS, MOST_MS)
}

impl Input {
    /// The input with its values within what a log may name: what is logged can be read again.
    pub(super) fn sane(self) -> Input {
        match self {
            Input::Start { set, lead } => Input::Start {
                set: set.map(sane_instant),
                lead,
            },
            Input::Nudge { ms } => Input::Nudge {
                ms: ms.clamp(-CLASS_MS, CLASS_MS),
            },
            other => other,
        }
    }
}

/// Something that a person did.
///
/// Places are places in [`Timeline::segments`](crate::timeline::Timeline::segments) and in the
/// plan's lists; the log's digest keeps it from being read against another plan.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Input {
    /// Start the class.
    Start {
        /// The instant of class time 0, for a class at a set instant; `None`: now.
        set: Option<i64>,
        /// A coach leads with this phone: held gaps wait.
        lead: bool,
    },
    /// Stop class time.
    Pause,
    /// Go on, after a count-in of [`COUNT_IN_MS`](super::COUNT_IN_MS).
    Resume,
    /// To the start of the next segment.
    Skip,
    /// To the start of this segment; of the one before within its first seconds.
    Back,
    /// To the start of a work segment.
    Jump {
        /// The segment.
        to: usize,
    },
    /// The coach ends a held gap.
    Go,
    /// The coach's go, heard: this is the start of a work segment.
    Align {
        /// The segment.
        to: usize,
    },
    /// Shift class time a little.
    Nudge {
        /// Milliseconds; positive: further on.
        ms: i64,
    },
    /// Take off the last shift.
    Undo,
    /// Return to the shared clock of a class at a set instant.
    Rejoin,
    /// Do a move another way from here on.
    Choose {
        /// The move.
        of: usize,
        /// The option; `None`: as written.
        option: Option<usize>,
    },
    /// End the run here.
    Stop,
}

/// An input with its instant, in milliseconds of the device's clock (from 1970, UTC).
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Logged(pub i64, pub Input);

/// The inputs of one run of one plan, in the order in which they came.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Log {
    version: u32,
    plan: String,
    inputs: Vec<Logged>,
}

/// Why a stored log can't be used.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LogError {
    /// It can't be read.
    Damaged,
    /// It was written by a newer app.
    Newer,
    /// It belongs to another plan, or to another revision of this one.
    OtherPlan,
}

impl fmt::Display for LogError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            LogError::Damaged => "The record of the last class can't be read.",
            LogError::Newer => "The record of the last class was written by a newer app.",
            LogError::OtherPlan => "The class was changed since: it starts from the beginning.",
        })
    }
}

impl core::error::Error for LogError {}

impl Log {
    /// A log with nothing in it, for the plan with a digest.
    #[must_use]
    pub fn new(digest: u64) -> Log {
        Log {
            version: VERSION,
            plan: format!("{digest:016x}"),
            inputs: Vec::new(),
        }
    }

    /// What was done, in order.
    #[must_use]
    pub fn inputs(&self) -> &[Logged] {
        &self.inputs
    }

    pub(super) fn push(&mut self, logged: Logged) {
        self.inputs.push(logged);
    }

    /// Whether it was made for the plan with a digest.
    #[must_use]
    pub fn is_for(&self, digest: u64) -> bool {
        self.plan == format!("{digest:016x}")
    }

    /// Writes it down.
    ///
    /// ```
    /// use rungbook::run::Log;
    /// let log = Log::new(7);
    /// assert_eq!(Log::from_json(&log.to_json()), Ok(log));
    /// ```
    #[must_use]
    pub fn to_json(&self) -> String {
        serde_json::to_string(self).unwrap_or_default()
    }

    /// Reads what [`Log::to_json`] wrote.
    ///
    /// # Errors
    /// [`LogError::Damaged`] or [`LogError::Newer`].
    pub fn from_json(text: &str) -> Result<Log, LogError> {
        #[derive(Deserialize)]
        struct Version {
            version: u32,
        }
        match serde_json::from_str::<Version>(text) {
            Ok(found) if found.version > VERSION => return Err(LogError::Newer),
            Ok(_) => {}
            Err(_) => return Err(LogError::Damaged),
        }
        let log: Log = serde_json::from_str(text).map_err(|_| LogError::Damaged)?;
        let sane = log.inputs.len() <= MOST_INPUTS
            && log
                .inputs
                .iter()
                .all(|Logged(at, input)| sane_instant(*at) == *at && input.sane() == *input);
        if sane {
            Ok(log)
        } else {
            Err(LogError::Damaged)
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_log_that_can_not_be_read_says_why() {
        let check = |text: &str, expected| assert_eq!(Log::from_json(text), Err(expected));
        check("", LogError::Damaged);
        check("{}", LogError::Damaged);
        check(r#"{"version":2,"runs":[]}"#, LogError::Newer);
        check(
            r#"{"version":1,"plan":"0","inputs":[[9223372036854775807,"pause"]]}"#,
            LogError::Damaged,
        );
        check(
            r#"{"version":1,"plan":"0","inputs":[[0,{"nudge":{"ms":9223372036854775807}}]]}"#,
            LogError::Damaged,
        );
    }
}
