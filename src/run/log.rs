//! The log of a run: what a person did, and when. It is all that is ever stored of a run.

use core::fmt::{self, Write as _};

use crate::plan::limits::CLASS_MS;

/// The version of the log's form.
pub const VERSION: u32 = 1;
/// How a log begins.
const NAME: &str = "rungbook-run";
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
            Input::Away { from } => Input::Away {
                from: sane_instant(from),
            },
            Input::Jump { to } => Input::Jump { to: sane_place(to) },
            Input::Align { to } => Input::Align { to: sane_place(to) },
            Input::Choose { of, option } => Input::Choose {
                of: sane_place(of),
                option: option.map(sane_place),
            },
            other => other,
        }
    }
}

/// A place that a log may name: no list is as long.
fn sane_place(place: usize) -> usize {
    place.min(u32::MAX as usize)
}

/// Something that a person did.
///
/// Places are places in [`Timeline::segments`](crate::timeline::Timeline::segments) and in the
/// plan's lists; the log's digest keeps it from being read against another plan.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
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
    /// Back into the run that was ended, which is paused since.
    Reopen,
    /// The phone was asleep, frozen or closed until now: nobody is known to have taken part.
    Away {
        /// The last instant at which the class was seen to run.
        from: i64,
    },
    /// The member took part all the same: what the phone missed counts as worked.
    KeptGoing,
    /// Back to where the class stood when the phone went away, with a count-in.
    Return,
}

/// An input with its instant, in milliseconds of the device's clock (from 1970, UTC).
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Logged(pub i64, pub Input);

/// The inputs of one run of one plan, in the order in which they came.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Log {
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
            plan: format!("{digest:016x}"),
            inputs: Vec::new(),
        }
    }

    /// What was done, in order.
    #[must_use]
    pub fn inputs(&self) -> &[Logged] {
        &self.inputs
    }

    /// The instant of the first input, which names the run among those of its plan.
    #[must_use]
    pub fn begun(&self) -> Option<i64> {
        self.inputs.first().map(|logged| logged.0)
    }

    pub(super) fn push(&mut self, logged: Logged) {
        self.inputs.push(logged);
    }

    /// Whether it was made for the plan with a digest.
    #[must_use]
    pub fn is_for(&self, digest: u64) -> bool {
        self.plan == format!("{digest:016x}")
    }

    /// Writes it down: a line for the plan, and a line for each input.
    ///
    /// ```
    /// use rungbook::run::Log;
    /// let log = Log::new(7);
    /// assert_eq!(log.to_text(), "rungbook-run 1 0000000000000007\n");
    /// assert_eq!(Log::from_text(&log.to_text()), Ok(log));
    /// ```
    #[must_use]
    pub fn to_text(&self) -> String {
        let mut text = format!("{NAME} {VERSION} {}\n", self.plan);
        for Logged(at, input) in &self.inputs {
            let (word, numbers) = input.words();
            // Writing to a text does not fail.
            let _ = write!(text, "{at} {word}");
            for number in numbers.into_iter().flatten() {
                let _ = write!(text, " {number}");
            }
            text.push('\n');
        }
        text
    }

    /// Reads what [`Log::to_text`] wrote.
    ///
    /// # Errors
    /// [`LogError::Damaged`] or [`LogError::Newer`].
    pub fn from_text(text: &str) -> Result<Log, LogError> {
        let mut lines = text.lines();
        let mut head = lines.next().unwrap_or_default().split(' ');
        let (name, version, plan) = (head.next(), head.next(), head.next());
        match version.and_then(|version| version.parse::<u32>().ok()) {
            Some(version) if name == Some(NAME) && version > VERSION => {
                return Err(LogError::Newer);
            }
            Some(_) if name == Some(NAME) => {}
            _ => return Err(LogError::Damaged),
        }
        let mut log = Log {
            plan: plan.ok_or(LogError::Damaged)?.to_owned(),
            inputs: Vec::new(),
        };
        for line in lines {
            let logged = Logged::read(line).ok_or(LogError::Damaged)?;
            if log.inputs.len() == MOST_INPUTS {
                return Err(LogError::Damaged);
            }
            log.inputs.push(logged);
        }
        Ok(log)
    }
}

impl Logged {
    fn read(line: &str) -> Option<Logged> {
        let mut words = line.split(' ');
        let at: i64 = words.next()?.parse().ok()?;
        let word = words.next()?;
        let mut numbers = [None; 2];
        for number in &mut numbers {
            *number = words.next().map(str::parse::<i64>).transpose().ok()?;
        }
        let input = Input::read(word, numbers)?;
        // What the word has no place for, or no log may name.
        let whole = words.next().is_none() && input.words() == (word, numbers);
        let sane = sane_instant(at) == at && input.sane() == input;
        (whole && sane).then_some(Logged(at, input))
    }
}

/// What is written behind an input's word.
type Numbers = [Option<i64>; 2];

fn place(at: usize) -> Option<i64> {
    i64::try_from(at).ok()
}

fn at(place: Option<i64>) -> Option<usize> {
    usize::try_from(place?).ok()
}

impl Input {
    /// The input as a word and what stands behind it.
    fn words(self) -> (&'static str, Numbers) {
        match self {
            Input::Start { set, lead: false } => ("start", [set, None]),
            Input::Start { set, lead: true } => ("lead", [set, None]),
            Input::Pause => ("pause", [None; 2]),
            Input::Resume => ("resume", [None; 2]),
            Input::Skip => ("skip", [None; 2]),
            Input::Back => ("back", [None; 2]),
            Input::Jump { to } => ("jump", [place(to), None]),
            Input::Go => ("go", [None; 2]),
            Input::Align { to } => ("align", [place(to), None]),
            Input::Nudge { ms } => ("nudge", [Some(ms), None]),
            Input::Undo => ("undo", [None; 2]),
            Input::Rejoin => ("rejoin", [None; 2]),
            Input::Choose { of, option } => ("choose", [place(of), option.and_then(place)]),
            Input::Stop => ("stop", [None; 2]),
            Input::Reopen => ("reopen", [None; 2]),
            Input::Away { from } => ("away", [Some(from), None]),
            Input::KeptGoing => ("kept-going", [None; 2]),
            Input::Return => ("return", [None; 2]),
        }
    }

    fn read(word: &str, [one, other]: Numbers) -> Option<Input> {
        Some(match word {
            "start" | "lead" => Input::Start {
                set: one,
                lead: word == "lead",
            },
            "pause" => Input::Pause,
            "resume" => Input::Resume,
            "skip" => Input::Skip,
            "back" => Input::Back,
            "jump" => Input::Jump { to: at(one)? },
            "go" => Input::Go,
            "align" => Input::Align { to: at(one)? },
            "nudge" => Input::Nudge { ms: one? },
            "undo" => Input::Undo,
            "rejoin" => Input::Rejoin,
            "choose" => Input::Choose {
                of: at(one)?,
                option: at(other),
            },
            "stop" => Input::Stop,
            "reopen" => Input::Reopen,
            "away" => Input::Away { from: one? },
            "kept-going" => Input::KeptGoing,
            "return" => Input::Return,
            _ => return None,
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_log_that_can_not_be_read_says_why() {
        let check = |text: &str, expected| assert_eq!(Log::from_text(text), Err(expected));
        check("", LogError::Damaged);
        check("{}", LogError::Damaged);
        check("rungbook-run", LogError::Damaged);
        check("rungbook-run 1", LogError::Damaged);
        check("rungbook-run 2 new things", LogError::Newer);
        check("another 2 new things", LogError::Damaged);
        for line in [
            "9223372036854775807 pause",
            "0 nudge 9223372036854775807",
            "0 nudge",
            "0 jump -1",
            "0 jump one",
            "0 pause 3",
            "0 jump 3 4",
            "0 choose 1 2 3",
            "0 fly",
            "pause",
            "",
        ] {
            check(&format!("rungbook-run 1 0\n{line}\n"), LogError::Damaged);
        }
    }

    #[test]
    fn every_input_is_read_as_it_was_written() {
        let (to, of) = (7, 2);
        for input in [
            Input::Start {
                set: None,
                lead: false,
            },
            Input::Start {
                set: Some(5),
                lead: true,
            },
            Input::Pause,
            Input::Resume,
            Input::Skip,
            Input::Back,
            Input::Jump { to },
            Input::Go,
            Input::Align { to },
            Input::Nudge { ms: -500 },
            Input::Undo,
            Input::Rejoin,
            Input::Choose {
                of,
                option: Some(1),
            },
            Input::Choose { of, option: None },
            Input::Stop,
            Input::Reopen,
            Input::Away { from: 4 },
            Input::KeptGoing,
            Input::Return,
        ] {
            let mut log = Log::new(1);
            log.push(Logged(3, input));
            assert_eq!(Log::from_text(&log.to_text()), Ok(log));
        }
    }
}
