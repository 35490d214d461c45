//! Findings about a plan: what a coach would want to know before it is handed out.
//!
//! Each says where, why it matters, and on whose word. Shares of patterns are counted, not judged.
//! Only the plan is looked at; what a group needs, its coach knows.

mod remedy;
mod rules;

use crate::plan::{Effort, Entry, Pattern, Word as _};
use crate::timeline::{Segment, Timeline};

pub use remedy::Remedy;

/// How much weight a finding has.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Weight {
    /// Someone may get hurt.
    Safety,
    /// The class does not do what it says.
    Class,
    /// It could be kinder.
    Comfort,
}

/// What a finding is about.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Place {
    /// The whole class.
    Class,
    /// A block, by its place.
    Block(usize),
    /// A move, by its place.
    Move(usize),
    /// A piece of kit, by its place.
    Kit(usize),
}

/// Something that was found.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Finding {
    /// How much weight it has.
    pub weight: Weight,
    /// What it is about.
    pub place: Place,
    /// What is so.
    pub what: String,
    /// Why it matters, and what would help.
    pub why: &'static str,
    /// On whose word.
    pub source: &'static str,
    /// What puts it right at one touch, where something does.
    pub remedy: Option<Remedy>,
}

/// Looks a class over. The most weighty findings come first.
///
/// ```
/// use rungbook::check::check;
/// use rungbook::{plan::Plan, timeline::Timeline};
/// let plan = Plan::from_json(r#"{
///     "format": "rungbook-plan", "version": 1, "title": "Short", "slot": 60, "ready": 10,
///     "moves": [ { "id": "reach", "name": "Reach", "effort": "light" } ],
///     "blocks": [ { "kind": "flow", "steps": ["reach"], "work": 80 } ]
/// }"#)?;
/// let [finding] = check(&Timeline::new(&plan)).try_into().unwrap();
/// assert_eq!(finding.what, "The class is 30 s longer than its slot.");
/// # Ok::<(), rungbook::plan::PlanError>(())
/// ```
#[must_use]
pub fn check(timeline: &Timeline) -> Vec<Finding> {
    let mut found = rules::Found::default();
    rules::all(timeline, &mut found);
    let mut list = Vec::new();
    for weight in [Weight::Safety, Weight::Class, Weight::Comfort] {
        list.extend(found.0.iter().filter(|one| one.weight == weight).cloned());
    }
    list
}

/// How hard a segment is meant to be: as its entry says, or its move.
#[must_use]
pub fn effort_of(timeline: &Timeline, segment: &Segment) -> Effort {
    let tasks = timeline.tasks_of(segment);
    if tasks.len() > 1 {
        // Of several tasks the one in the middle, the lighter of two.
        let of = |task: &Entry| {
            let known = timeline.plan().move_named(&task.of);
            task.effort
                .or(known.map(|known| known.effort))
                .unwrap_or_default()
        };
        let mut efforts: Vec<_> = tasks.iter().map(of).collect();
        let hard = |one: &Effort| Effort::WORDS.iter().position(|(known, _)| known == one);
        efforts.sort_unstable_by_key(hard);
        return efforts[(efforts.len() - 1) / 2];
    }
    let own = timeline.entry_of(segment).and_then(|entry| entry.effort);
    own.or(timeline.move_of(segment).map(|known| known.effort))
        .unwrap_or_default()
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
