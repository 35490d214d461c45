//! Findings about a plan: what a coach would want to know before it is handed out.
//!
//! Each says where, why it matters, and on whose word. Shares of patterns are counted, not judged.
//! Only the plan is looked at; what a group needs, its coach knows.

mod finding;
mod remedy;
mod rules;

use crate::plan::Pattern;
use crate::timeline::Timeline;

pub use finding::{Finding, Place, Problem, Weight};
pub use remedy::Remedy;

/// Looks a class over. The most weighty findings come first.
///
/// ```
/// use rungbook::check::{Problem, check};
/// use rungbook::{plan::Plan, timeline::Timeline};
/// let plan = Plan::from_json(r#"{
///     "format": "rungbook-plan", "version": 1, "title": "Short", "slot": 60, "ready": 10,
///     "moves": [ { "id": "reach", "name": "Reach", "effort": "light" } ],
///     "blocks": [ { "kind": "flow", "steps": ["reach"], "work": 80 } ]
/// }"#)?;
/// let [finding] = check(&Timeline::new(&plan)).try_into().unwrap();
/// assert_eq!(finding.problem, Problem::TooLong { by: 30_000 });
/// assert_eq!(finding.problem.to_string(), "The class is 30 s longer than its slot.");
/// # Ok::<(), rungbook::plan::PlanError>(())
/// ```
#[must_use]
pub fn check(timeline: &Timeline) -> Vec<Finding> {
    let mut found = rules::Found::default();
    rules::all(timeline, &mut found);
    let mut list = Vec::new();
    for weight in [Weight::Safety, Weight::Class, Weight::Comfort] {
        list.extend(
            found
                .0
                .iter()
                .filter(|one| one.problem.weight() == weight)
                .cloned(),
        );
    }
    list
}

/// Work in milliseconds by pattern, the most first; moves without a pattern are left out. Several tasks
/// share their window evenly.
#[must_use]
pub fn shares(timeline: &Timeline) -> Vec<(Pattern, i64)> {
    let mut shares: Vec<(Pattern, i64)> = Vec::new();
    let moves = timeline.plan().moves.iter();
    for (known, work) in moves.zip(timeline.work_by_move()) {
        let Some(pattern) = known.pattern else {
            continue;
        };
        match shares.iter_mut().find(|(other, _)| *other == pattern) {
            Some((_, sum)) => *sum += work,
            None if work > 0 => shares.push((pattern, work)),
            None => {}
        }
    }
    let mut ordered: Vec<(Pattern, i64)> = Vec::new();
    for share in shares {
        let at = ordered.iter().position(|other| other.1 < share.1);
        ordered.insert(at.unwrap_or(ordered.len()), share);
    }
    ordered
}
