//! What a segment asks of a body: how hard, on which option, with which kit, by which name and with
//! which cues. Screen, voice, check and estimates all ask here.

use std::collections::BTreeMap;

use super::{Segment, Side, Timeline};
use crate::plan::{Choice, Effort, Entry, Id, Level, Plan, Word as _};

/// The shortest break in which kit can be fetched, in seconds; common practice, no source.
pub const LEAST_FETCH: u32 = 10;

/// The option that a member chose for a move, by their places in the plan. A move that is not
/// there is done as written.
pub type Ways = BTreeMap<usize, usize>;

/// Every move done at one level, as far as it has such an option: its first one.
///
/// ```
/// use rungbook::plan::{Level, Plan};
/// use rungbook::timeline::{Ways, all_at};
/// let plan = Plan::from_json(r#"{
///     "format": "rungbook-plan", "version": 1, "title": "One",
///     "moves": [ { "id": "squat", "name": "Squat", "options": [
///         { "id": "low", "level": "harder" }, { "id": "chair", "level": "easier" } ] },
///         { "id": "row", "name": "Row" } ],
///     "blocks": [ { "kind": "flow", "steps": ["squat", "row"], "work": 20 } ]
/// }"#)?;
/// assert_eq!(all_at(&plan, Level::Easier), Ways::from([(0, 1)]));
/// # Ok::<(), rungbook::plan::PlanError>(())
/// ```
#[must_use]
pub fn all_at(plan: &Plan, level: Level) -> Ways {
    let mut ways = Ways::new();
    for (of, known) in plan.moves.iter().enumerate() {
        let option = known
            .options
            .iter()
            .position(|option| option.level == level);
        if let Some(option) = option {
            ways.insert(of, option);
        }
    }
    ways
}

/// The option that is chosen for a move, by its place; none: as written.
#[must_use]
pub fn way<'p>(plan: &'p Plan, of: usize, ways: &Ways) -> Option<&'p Choice> {
    plan.moves.get(of)?.options.get(*ways.get(&of)?)
}

/// The option that is chosen for a segment's move.
#[must_use]
pub fn chosen<'t>(timeline: &'t Timeline, segment: &Segment, ways: &Ways) -> Option<&'t Choice> {
    way(timeline.plan(), segment.move_at?, ways)
}

/// Whether the sides change at half time, by the plan or by the chosen option.
#[must_use]
pub fn changes_at_half(timeline: &Timeline, segment: &Segment, ways: &Ways) -> bool {
    if matches!(segment.side, Side::Half { .. }) {
        return true;
    }
    // What is done in a window, and when one changes sides there, is at one's own pace.
    if !timeline.tasks_of(segment).is_empty() {
        return false;
    }
    chosen(timeline, segment, ways).is_some_and(|option| option.switch_at_half)
}

/// The kit that a move takes as it is done, by its place: the chosen option's, which stands in place
/// of the move's.
#[must_use]
pub fn kit_of<'p>(plan: &'p Plan, of: usize, ways: &Ways) -> &'p [Id] {
    let written = plan.moves.get(of).map(|known| &known.kit);
    let kit = way(plan, of, ways).map(|option| &option.kit).or(written);
    kit.map_or(&[], Vec::as_slice)
}

/// Whether a class needs a piece of kit, by its id, when its moves are done in these ways.
#[must_use]
pub fn needs(plan: &Plan, ways: &Ways, kit: &str) -> bool {
    let mut all = (0..plan.moves.len()).flat_map(|of| kit_of(plan, of, ways));
    all.any(|id| **id == *kit)
}

/// What pieces of kit are called, by their ids.
pub(crate) fn called(plan: &Plan, kit: &[Id]) -> Vec<String> {
    kit.iter()
        .filter_map(|id| plan.kit_named(id))
        .map(|kit| kit.called().to_owned())
        .collect()
}

/// What the kit of all moves of a segment's block is called.
fn kit_of_block(timeline: &Timeline, segment: &Segment, ways: &Ways) -> Vec<String> {
    let plan = timeline.plan();
    let mut all = Vec::new();
    for entry in timeline
        .block_of(segment)
        .into_iter()
        .flat_map(|block| block.entries())
    {
        let Some(of) = plan.moves.iter().position(|known| known.id == entry.of) else {
            continue;
        };
        for name in called(plan, kit_of(plan, of, ways)) {
            if !all.contains(&name) {
                all.push(name);
            }
        }
    }
    all
}

/// The kit that has to be fetched before a work segment: what its block needs, and the block of the
/// work before did not. Empty within a block.
#[must_use]
pub fn kit_to_fetch(timeline: &Timeline, ways: &Ways, work: usize) -> Vec<String> {
    let segments = timeline.segments();
    let Some(first) = segments.get(work) else {
        return Vec::new();
    };
    let before = segments[..work].iter().rfind(|before| before.is_work());
    if before.is_some_and(|before| before.block == first.block) {
        return Vec::new();
    }
    let had = before.map(|before| kit_of_block(timeline, before, ways));
    let had = had.unwrap_or_default();
    let mut kit = kit_of_block(timeline, first, ways);
    kit.retain(|name| !had.contains(name));
    kit
}

impl Timeline {
    /// How hard a segment is meant to be: as its entry says, or its move. Of a window's several
    /// tasks the one in the middle counts, the lighter of two: all of them are done in the same
    /// minutes, so that neither the first nor the hardest speaks for the rest.
    ///
    /// ```
    /// use rungbook::{plan::{Effort, Plan}, timeline::Timeline};
    /// let plan = Plan::from_json(r#"{
    ///     "format": "rungbook-plan", "version": 1, "title": "Window", "ready": 0,
    ///     "moves": [ { "id": "march", "name": "March", "effort": "light" },
    ///                { "id": "jump", "name": "Jump", "effort": "vigorous" } ],
    ///     "blocks": [ { "kind": "window", "tasks": ["march", "jump", "jump"], "work": 60 } ]
    /// }"#)?;
    /// let timeline = Timeline::new(&plan);
    /// assert_eq!(timeline.effort_of(&timeline.segments()[0]), Effort::Vigorous);
    /// # Ok::<(), rungbook::plan::PlanError>(())
    /// ```
    #[must_use]
    pub fn effort_of(&self, segment: &Segment) -> Effort {
        let tasks = self.tasks_of(segment);
        if tasks.len() > 1 {
            let of = |task: &Entry| {
                let known = self.plan().move_named(&task.of);
                task.effort
                    .or(known.map(|known| known.effort))
                    .unwrap_or_default()
            };
            let mut efforts: Vec<_> = tasks.iter().map(of).collect();
            let hard = |one: &Effort| Effort::WORDS.iter().position(|(known, _)| known == one);
            efforts.sort_unstable_by_key(hard);
            return efforts[(efforts.len() - 1) / 2];
        }
        let own = self.entry_of(segment).and_then(|entry| entry.effort);
        own.or(self.move_of(segment).map(|known| known.effort))
            .unwrap_or_default()
    }
}
