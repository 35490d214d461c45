//! Which revision a class goes out as.

use crate::plan::Plan;

/// What of a class went out last.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Given {
    /// Its revision: no class of the same name went out with a higher one.
    pub revision: u32,
    /// Its [`Plan::digest`].
    pub digest: u64,
}

impl Given {
    /// A plan that went out.
    #[must_use]
    pub fn of(plan: &Plan) -> Given {
        Given {
            revision: plan.revision,
            digest: plan.digest(),
        }
    }

    /// The revision under which a plan goes out. Members go by the number, so one that went out stands
    /// for its content for good: anything else gets a higher one, also what went out before that.
    /// `None`: there is no higher one.
    ///
    /// ```
    /// use rungbook::{draft::Given, plan::Plan};
    /// let mut plan = Plan { title: "Quay circuit".into(), ..Plan::default() };
    /// assert_eq!(Given::next(None, &plan), Some(0));
    /// let given = Some(Given::of(&plan));
    /// assert_eq!(Given::next(given, &plan), Some(0)); // the same, once more
    /// plan.title.push('!');
    /// assert_eq!(Given::next(given, &plan), Some(1));
    /// ```
    #[must_use]
    pub fn next(given: Option<Given>, plan: &Plan) -> Option<u32> {
        let Some(given) = given else {
            return Some(plan.revision);
        };
        let as_given = Plan {
            revision: given.revision,
            ..plan.clone()
        };
        if Given::of(&as_given) == given {
            Some(given.revision)
        } else {
            plan.revision.max(given.revision).checked_add(1)
        }
    }
}
