//! What a segment asks of a body: how hard, on which option, with which kit, by which name and with
//! which cues. Screen, voice, check and estimates all ask here.

use std::collections::BTreeMap;

use super::{Segment, Side, Timeline};
use crate::plan::{Choice, Effort, Entry, Hand, Id, Level, Plan, Word as _};

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
            // Counted, not sorted: every member downloads this.
            let mut before = (tasks.len() - 1) / 2;
            for (effort, _) in Effort::WORDS {
                let as_hard = tasks.iter().filter(|task| of(task) == *effort).count();
                if before < as_hard {
                    return *effort;
                }
                before -= as_hard;
            }
        }
        let own = self.entry_of(segment).and_then(|entry| entry.effort);
        own.or(self.move_of(segment).map(|known| known.effort))
            .unwrap_or_default()
    }

    /// What is done in a segment, or shown in a demo, by name: its move as it is done, or a window's
    /// several tasks in turn. Empty where nothing is.
    #[must_use]
    pub fn names_of(&self, segment: &Segment, ways: &Ways) -> Vec<String> {
        let tasks = self.tasks_of(segment);
        if tasks.len() > 1 {
            let known = tasks
                .iter()
                .filter_map(|task| self.plan().move_named(&task.of));
            return known.map(|known| known.called().to_owned()).collect();
        }
        let known = self.move_of(segment);
        let name = known.map(|known| known.called_as(chosen(self, segment, ways)));
        name.into_iter().collect()
    }

    /// The same on one line, with its sides.
    ///
    /// ```
    /// use rungbook::{plan::Plan, timeline::{Timeline, Ways}};
    /// let plan = Plan::from_json(r#"{
    ///     "format": "rungbook-plan", "version": 1, "title": "Lunges", "ready": 5,
    ///     "moves": [ { "id": "lunge", "name": "Back lunge", "sided": true,
    ///                  "options": [ { "id": "hold", "name": "hold a chair" } ] } ],
    ///     "blocks": [ { "kind": "flow", "steps": ["lunge"], "work": 30, "sides": "half" } ]
    /// }"#)?;
    /// let timeline = Timeline::new(&plan);
    /// let [ready, lunge] = timeline.segments() else { panic!() };
    /// let name = |segment, ways| timeline.name_of(segment, &ways);
    /// assert_eq!(name(ready, Ways::new()), None);
    /// assert_eq!(name(lunge, Ways::new()).unwrap(), "Back lunge, right, then left");
    /// assert_eq!(name(lunge, Ways::from([(0, 0)])).unwrap(), "Back lunge: hold a chair, right, then left");
    /// # Ok::<(), rungbook::plan::PlanError>(())
    /// ```
    #[must_use]
    pub fn name_of(&self, segment: &Segment, ways: &Ways) -> Option<String> {
        let mut words = self.names_of(segment, ways);
        if words.is_empty() {
            return None;
        }
        let sides: Vec<_> = segment.hands().map(Hand::word).collect();
        if !sides.is_empty() {
            words.push(sides.join(", then "));
        }
        Some(words.join(", "))
    }

    /// The cues of a segment: its entry's own, then those of the chosen option or, where that has
    /// none, of the move. What is true of the move mostly is of its options too, and who took an
    /// easier one is not left without a word.
    #[must_use]
    pub fn cues_of(&self, segment: &Segment, ways: &Ways) -> Vec<&str> {
        let own = self.entry_of(segment).map(|entry| &entry.notes);
        let option = chosen(self, segment, ways).map(|option| &option.notes);
        let usual = option
            .filter(|notes| !notes.is_empty())
            .or(self.move_of(segment).map(|known| &known.notes));
        let all = own.into_iter().chain(usual).flatten();
        all.map(String::as_str).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn timeline(blocks: &str) -> Timeline {
        let text = format!(
            r#"{{"format":"rungbook-plan","version":1,"title":"t","ready":0,"moves":[
                {{"id":"march","name":"March","effort":"light","notes":["Tall"],
                  "options":[{{"id":"bare","name":"bare"}},{{"id":"told","name":"told","notes":["Slow"]}}]}},
                {{"id":"jump","name":"Jump","effort":"vigorous"}}],"blocks":{blocks}}}"#
        );
        Timeline::new(&Plan::from_json(&text).expect("a good plan"))
    }

    /// A warm-up, then a window of these tasks.
    fn window(tasks: &str) -> Timeline {
        timeline(&format!(
            r#"[{{"kind":"flow","part":"warm-up","steps":["march"],"work":60}},
                {{"kind":"window","tasks":{tasks},"work":60}}]"#
        ))
    }

    #[test]
    fn a_window_is_as_hard_as_the_task_in_the_middle_wherever_that_is_asked() {
        let check = |tasks: &str, effort: Effort| {
            let t = window(tasks);
            assert_eq!(t.effort_of(&t.segments()[1]), effort, "{tasks}");
            // Who comes late to hard work is offered the warm-up: by the same effort.
            let hard = effort == Effort::Vigorous;
            assert_eq!(t.missed_warm_up(60_000).is_some(), hard, "{tasks}");
        };
        check(r#"["march","jump","jump"]"#, Effort::Vigorous);
        check(r#"["jump","march","march"]"#, Effort::Light);
        check(r#"["jump","march"]"#, Effort::Light);
        check(r#"["jump"]"#, Effort::Vigorous);
        check(
            r#"["march",{"move":"march","effort":"vigorous"},"jump"]"#,
            Effort::Vigorous,
        );
    }

    #[test]
    fn a_window_has_the_names_of_all_its_tasks() {
        let t = window(r#"["march","jump"]"#);
        let work = &t.segments()[1];
        // In a window each does a task in a way of their own: it is told by the task's name alone.
        for ways in [Ways::new(), Ways::from([(0, 1)])] {
            assert_eq!(t.names_of(work, &ways), ["March", "Jump"]);
            assert_eq!(t.name_of(work, &ways).as_deref(), Some("March, Jump"));
        }
        let alone = window(r#"["march"]"#);
        let ways = Ways::from([(0, 1)]);
        assert_eq!(alone.names_of(&alone.segments()[1], &ways), ["March: told"]);
    }

    #[test]
    fn an_option_without_cues_keeps_those_of_the_move() {
        let t = timeline(
            r#"[{"kind":"flow","steps":[{"move":"march","notes":["Own"]},"jump"],"work":30}]"#,
        );
        let cues = |ways: &Ways| t.cues_of(&t.segments()[0], ways);
        assert_eq!(cues(&Ways::new()), ["Own", "Tall"]);
        assert_eq!(cues(&Ways::from([(0, 0)])), ["Own", "Tall"]);
        assert_eq!(cues(&Ways::from([(0, 1)])), ["Own", "Slow"]);
        assert!(t.cues_of(&t.segments()[1], &Ways::new()).is_empty());
    }
}
