//! What is wrong with a plan, said to the coach who wrote it.

use core::fmt;

/// Why a plan can't be used: where, what, and what to do about it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PlanError {
    /// The place in the file, as `blocks[2].rungs[1][0]`; empty for the file as a whole.
    pub place: String,
    /// What is wrong there.
    pub problem: String,
    /// What puts it right.
    pub remedy: String,
}

impl PlanError {
    pub(crate) fn new(
        place: impl Into<String>,
        problem: impl Into<String>,
        remedy: impl Into<String>,
    ) -> Self {
        PlanError {
            place: place.into(),
            problem: problem.into(),
            remedy: remedy.into(),
        }
    }

    /// A limit of [`limits`](super::limits) is passed.
    pub(crate) fn over(
        place: impl Into<String>,
        what: &str,
        found: impl fmt::Display,
        limit: impl fmt::Display,
    ) -> Self {
        PlanError::new(
            place,
            format!("{found} {what}; the limit is {limit}"),
            "Make it smaller or split the class.",
        )
    }
}

impl fmt::Display for PlanError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if !self.place.is_empty() {
            write!(f, "{}: ", self.place)?;
        }
        write!(f, "{}. {}", self.problem, self.remedy)
    }
}

impl core::error::Error for PlanError {}

/// Something in a plan that is not used. The plan runs without it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Warning {
    /// The place in the file.
    pub place: String,
    /// What is not used there, and why.
    pub problem: String,
}

impl fmt::Display for Warning {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}: {}", self.place, self.problem)
    }
}
