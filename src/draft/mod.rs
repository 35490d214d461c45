//! A class that is being written: every change is one step that can be taken back and done again.
//!
//! A draft may be unfinished: blocks without moves, a class without a title. [`Draft::shown`] is as
//! much of it as can be timed.

mod edit;
mod given;

use std::sync::Arc;

use crate::plan::{Plan, PlanError};
use crate::timeline::Timeline;

pub use edit::*;
pub use given::Given;

/// A plan with what it was before, and what it was before a step was taken back.
#[derive(Clone, Debug, Default)]
pub struct Draft {
    plan: Arc<Plan>,
    past: Vec<Arc<Plan>>,
    future: Vec<Arc<Plan>>,
    /// What the last step was about: the next one about the same joins it.
    about: String,
}

impl Draft {
    /// A draft that starts from a plan.
    #[must_use]
    pub fn new(plan: Plan) -> Draft {
        Draft {
            plan: Arc::new(plan),
            ..Draft::default()
        }
    }

    /// The plan as it is now.
    #[must_use]
    pub fn plan(&self) -> &Plan {
        &self.plan
    }

    /// Takes a step. Steps in a row about the same thing (a name that is typed, a number that is
    /// counted up) are one; an empty `about` is always a step of its own. Returns whether anything
    /// changed: what changes nothing is no step.
    ///
    /// ```
    /// use rungbook::draft::Draft;
    /// let mut draft = Draft::default();
    /// draft.change("title", |plan| plan.title.push('Q'));
    /// draft.change("title", |plan| plan.title.push('y'));
    /// assert!(!draft.change("", |_| ()));
    /// assert_eq!(draft.plan().title, "Qy");
    /// assert!(draft.undo());
    /// assert_eq!(draft.plan().title, "");
    /// assert!(draft.redo());
    /// assert_eq!(draft.plan().title, "Qy");
    /// ```
    pub fn change(&mut self, about: &str, step: impl FnOnce(&mut Plan)) -> bool {
        let mut next = Plan::clone(&self.plan);
        step(&mut next);
        if next == *self.plan {
            return false;
        }
        let before = core::mem::replace(&mut self.plan, Arc::new(next));
        let joins = !about.is_empty() && self.about == about && !self.past.is_empty();
        if !joins {
            self.past.push(before);
        }
        about.clone_into(&mut self.about);
        self.future.clear();
        true
    }

    /// Takes the last step back. Returns whether there was one.
    pub fn undo(&mut self) -> bool {
        self.about.clear();
        let Some(before) = self.past.pop() else {
            return false;
        };
        let undone = core::mem::replace(&mut self.plan, before);
        self.future.push(undone);
        true
    }

    /// Does the step again that was taken back last. Returns whether there was one.
    pub fn redo(&mut self) -> bool {
        self.about.clear();
        let Some(again) = self.future.pop() else {
            return false;
        };
        let before = core::mem::replace(&mut self.plan, again);
        self.past.push(before);
        true
    }

    /// The class goes out as a revision. That is no step: what is taken back or done again later has
    /// been out under no lower number. Returns whether anything changed.
    ///
    /// ```
    /// use rungbook::draft::Draft;
    /// let mut draft = Draft::default();
    /// draft.change("", |plan| plan.title.push('Q'));
    /// draft.goes_out_as(3);
    /// assert!(draft.undo());
    /// assert_eq!(draft.plan().revision, 3);
    /// ```
    pub fn goes_out_as(&mut self, revision: u32) -> bool {
        self.about.clear();
        let mut changed = false;
        let all = self.past.iter_mut().chain(&mut self.future);
        for plan in all.chain([&mut self.plan]) {
            if plan.revision < revision {
                Arc::make_mut(plan).revision = revision;
                changed = true;
            }
        }
        changed
    }

    /// Whether there is a step to take back.
    #[must_use]
    pub fn can_undo(&self) -> bool {
        !self.past.is_empty()
    }

    /// Whether there is a step to do again.
    #[must_use]
    pub fn can_redo(&self) -> bool {
        !self.future.is_empty()
    }

    /// What keeps it from being handed out.
    #[must_use]
    pub fn unfinished(&self) -> Option<PlanError> {
        self.plan.validate().err()
    }

    /// As much of it as can be timed.
    #[must_use]
    pub fn shown(&self) -> Timeline {
        Timeline::new(&self.plan)
    }
}
