//! What puts a finding right at one touch.

use crate::library::Library;
use crate::plan::{
    Block, BlockKind, ByRound, Choice, Entry, Id, Level, Move, Part, Pattern, Plan, Sides, free_id,
    limits,
};
use crate::timeline::Timeline;

/// A change of the plan that a finding asks for. Each is one step that can be undone.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Remedy {
    /// Make it exactly the slot: [`fit`](crate::fit) does that.
    Fit,
    /// Easy moves first.
    WarmUp {
        /// Seconds for all of it.
        lasts: u32,
    },
    /// Stretches last.
    CoolDown {
        /// Seconds for all of it.
        lasts: u32,
    },
    /// An interlude before a block.
    Water {
        /// The block.
        before: usize,
    },
    /// One round more, so that sides that alternate are equal.
    EvenRounds {
        /// The block.
        block: usize,
    },
    /// Both sides in each entry, so that they are equal.
    BothSides {
        /// The move.
        of: usize,
    },
    /// An easier way, the library's where it knows the move.
    EasierWay {
        /// The move.
        of: usize,
    },
    /// A caution, the library's where it knows the move.
    Caution {
        /// The move.
        of: usize,
    },
    /// An easy move of the same pattern in the warm-up.
    Warm {
        /// The move that wants it.
        of: usize,
    },
    /// Break after the block before.
    BreakBefore {
        /// The block.
        block: usize,
        /// Seconds.
        lasts: u32,
    },
    /// Rest between the entries of a block.
    Rest {
        /// The block.
        block: usize,
        /// Seconds.
        lasts: u32,
    },
    /// Time to change sides.
    Change {
        /// The block.
        block: usize,
        /// Seconds.
        lasts: u32,
    },
    /// So many rounds.
    Rounds {
        /// The block.
        block: usize,
        /// The rounds.
        rounds: u32,
    },
    /// No break after the last block.
    NoLastBreak,
    /// Take a piece of kit off the list.
    Unlist {
        /// The piece of kit.
        kit: usize,
    },
    /// A longer demo of a move.
    Demo {
        /// The move.
        of: usize,
        /// Seconds.
        lasts: u32,
    },
    /// A longer interlude.
    Interlude {
        /// The block.
        block: usize,
        /// Seconds.
        lasts: u32,
    },
}

/// Seconds of an interlude for water.
const WATER_S: u32 = 30;
/// Seconds between two moves of a warm-up or a cool-down.
const EASY_REST_S: u32 = 5;

impl Remedy {
    /// What the button says.
    #[must_use]
    pub fn words(&self) -> String {
        match self {
            Remedy::Fit => "Fit it to the slot".into(),
            Remedy::WarmUp { .. } => "Add a warm-up".into(),
            Remedy::CoolDown { .. } => "Add a cool-down".into(),
            Remedy::Water { .. } => "Add water before it".into(),
            Remedy::EvenRounds { .. } => "One round more".into(),
            Remedy::BothSides { .. } => "Both sides each time".into(),
            Remedy::EasierWay { .. } => "Add an easier way".into(),
            Remedy::Caution { .. } => "Add a caution".into(),
            Remedy::Warm { .. } => "Warm it up".into(),
            Remedy::BreakBefore { lasts, .. } => format!("{lasts} s of break before it"),
            Remedy::Rest { lasts, .. } => format!("{lasts} s of rest each time"),
            Remedy::Change { lasts, .. } => format!("{lasts} s to change sides"),
            Remedy::Rounds { rounds, .. } => format!("{rounds} rounds"),
            Remedy::NoLastBreak => "End with the last move".into(),
            Remedy::Unlist { .. } => "Take it off the list".into(),
            Remedy::Demo { lasts, .. } => format!("Show it for {lasts} s"),
            Remedy::Interlude { lasts, .. } => format!("Give it {lasts} s"),
        }
    }

    /// Changes the plan. What is not there any more is passed over; [`Remedy::Fit`] changes nothing.
    ///
    /// ```
    /// use rungbook::{check::Remedy, library::Library, plan::Plan};
    /// let mut plan = Plan::default();
    /// Remedy::WarmUp { lasts: 180 }.apply(&mut plan, &Library::shipped());
    /// assert_eq!(plan.blocks[0].part, rungbook::plan::Part::WarmUp);
    /// ```
    pub fn apply(&self, plan: &mut Plan, library: &Library) {
        match *self {
            Remedy::Fit => {}
            Remedy::WarmUp { lasts } => {
                let at = extendable(plan, Part::WarmUp);
                easy(plan, library, Part::WarmUp, lasts, at);
            }
            Remedy::CoolDown { lasts } => {
                let at = extendable(plan, Part::CoolDown);
                easy(plan, library, Part::CoolDown, lasts, at);
            }
            Remedy::Water { before } => {
                let water = Block {
                    name: "Water".into(),
                    ..Block::new(BlockKind::Interlude {
                        lasts: WATER_S,
                        say: "Sip some water.".into(),
                    })
                };
                plan.blocks.insert(before.min(plan.blocks.len()), water);
            }
            Remedy::EvenRounds { block } => {
                set_times(plan, block, |times| times + 1);
            }
            Remedy::BothSides { of } => both_sides(plan, of),
            Remedy::EasierWay { of } => easier_way(plan, library, of),
            Remedy::Caution { of } => {
                let same = plan.moves.get(of).and_then(|one| known(library, &one.name));
                let caution = same
                    .map(|known| known.caution.clone())
                    .filter(|caution| !caution.is_empty())
                    .unwrap_or_else(|| "Go only as far as is comfortable.".into());
                if let Some(one) = plan.moves.get_mut(of) {
                    one.caution = caution;
                }
            }
            Remedy::Warm { of } => warm(plan, library, of),
            Remedy::BreakBefore { block, lasts } => {
                // After an interlude too: its break is what comes before the next block.
                if let Some(before) = block.checked_sub(1).and_then(|at| plan.blocks.get_mut(at)) {
                    before.after = before.after.max(lasts);
                }
            }
            Remedy::Rest { block, lasts } => {
                if let Some(block) = plan.blocks.get_mut(block) {
                    // No gap becomes shorter by it.
                    let at_least = |list: &mut ByRound| {
                        if list.is_empty() {
                            *list = lasts.into();
                        }
                        list.0.iter_mut().for_each(|one| *one = (*one).max(lasts));
                    };
                    at_least(&mut block.rest);
                    if block.has_sides() {
                        block.change = block.change.max(lasts);
                    }
                    if block.has_breaks() {
                        at_least(&mut block.pause);
                    }
                }
            }
            Remedy::Change { block, lasts } => {
                if let Some(block) = plan.blocks.get_mut(block) {
                    block.change = block.change.max(lasts);
                }
            }
            Remedy::Rounds { block, rounds } => {
                set_times(plan, block, |_| rounds);
            }
            Remedy::NoLastBreak => {
                if let Some(last) = plan.blocks.last_mut() {
                    last.after = 0;
                }
            }
            Remedy::Unlist { kit } => plan.remove_kit(kit),
            Remedy::Demo { of, lasts } => {
                if let Some(one) = plan.moves.get_mut(of) {
                    one.demo = lasts;
                }
            }
            Remedy::Interlude { block, lasts } => {
                if let Some(BlockKind::Interlude { lasts: has, .. }) =
                    plan.blocks.get_mut(block).map(|block| &mut block.kind)
                {
                    *has = lasts;
                }
            }
        }
    }
}

/// Gives a block another number of rounds, sets or times, where it has one.
fn set_times(plan: &mut Plan, block: usize, to: impl FnOnce(u32) -> u32) {
    let block = plan.blocks.get_mut(block);
    if let Some(times) = block.and_then(|block| block.kind.times_mut()) {
        *times = to(*times).clamp(1, limits::ROUNDS);
    }
}

/// The library's move of a name.
fn known<'l>(library: &'l Library, name: &str) -> Option<&'l Move> {
    library.moves.iter().find(|known| known.name == name)
}

/// Moves for a warm-up of a class, or for its cool-down: standing first, the plan's own patterns first.
fn chosen(plan: &Plan, library: &Library, part: Part, count: usize) -> Vec<usize> {
    use crate::plan::{Effort, Position};
    let used: Vec<Pattern> = plan.moves.iter().filter_map(|one| one.pattern).collect();
    let fits = |at: usize| {
        let one = &library.moves[at];
        let stretch = one.pattern == Some(Pattern::Stretch);
        one.kit.is_empty()
            && one.effort == Effort::Light
            && one.position == Position::Standing
            && (part == Part::CoolDown) == stretch
    };
    let mut found = Vec::new();
    let mut patterns = Vec::new();
    // Each pattern of the class once, then whatever is easy.
    for of_class in [true, false] {
        for at in (0..library.moves.len()).filter(|at| fits(*at)) {
            let pattern = library.moves[at].pattern;
            let wanted = !of_class
                || (pattern.is_some_and(|p| used.contains(&p)) && !patterns.contains(&pattern));
            if found.len() < count && wanted && !found.contains(&at) {
                patterns.push(pattern);
                found.push(at);
            }
        }
    }
    found
}

/// The block that takes further moves once each.
fn extendable(plan: &Plan, part: Part) -> Option<usize> {
    plan.blocks
        .iter()
        .position(|block| block.part == part && matches!(block.kind, BlockKind::Flow { .. }))
}

/// A block of easy moves, or more of them in the one that is too short.
fn easy(plan: &mut Plan, library: &Library, part: Part, lasts: u32, old: Option<usize>) {
    let count = (lasts / 35).clamp(2, 8);
    // A one-sided move is two.
    let work = (lasts / count)
        .saturating_sub(EASY_REST_S)
        .clamp(20, 60)
        .div_ceil(5)
        * 5;
    let mut left = i64::from(lasts);
    let mut steps = Vec::new();
    let has: Vec<Id> = old
        .map(|at| {
            plan.blocks[at]
                .entries()
                .map(|entry| entry.of.clone())
                .collect()
        })
        .unwrap_or_default();
    if old.is_some() {
        left -= Timeline::new(plan).part_ms(part) / 1000;
    }
    for at in chosen(plan, library, part, count as usize + has.len()) {
        let one = &library.moves[at];
        if left <= 0 || has.contains(&one.id) {
            continue;
        }
        left -= i64::from((work + EASY_REST_S) * if one.sided { 2 } else { 1 });
        if let Some(id) = library.bring(at, plan) {
            steps.push(Entry::of(&id));
        }
    }
    match old.and_then(|at| plan.blocks[at].kind.list_mut()) {
        Some(has) => has.extend(steps),
        None => {
            let mut block = Block {
                part,
                work: work.into(),
                rest: EASY_REST_S.into(),
                change: EASY_REST_S,
                ..Block::new(BlockKind::Flow { steps })
            };
            if part == Part::WarmUp {
                block.name = "Warm-up".into();
                block.after = 20;
                plan.blocks.insert(0, block);
            } else {
                block.name = "Cool-down".into();
                if let Some(last) = plan.blocks.last_mut() {
                    last.after = last.after.max(20);
                }
                plan.blocks.push(block);
            }
        }
    }
}

/// Where the move alternates it changes over at half time, which takes no more time than before.
fn both_sides(plan: &mut Plan, of: usize) {
    let Some(id) = plan.moves.get(of).map(|one| one.id.clone()) else {
        return;
    };
    for block in plan.blocks.iter_mut().filter(|block| block.has_sides()) {
        let of_block = block.sides;
        for entry in block.entries_mut() {
            let alternates = entry.sides.unwrap_or(of_block) == Sides::Alternate;
            if entry.of == id && entry.side.is_none() && alternates {
                entry.sides = Some(Sides::Half);
            }
        }
    }
}

fn easier_way(plan: &mut Plan, library: &Library, of: usize) {
    let Some(one) = plan.moves.get(of) else {
        return;
    };
    let way = known(library, &one.name)
        .and_then(|known| {
            known
                .options
                .iter()
                .find(|option| option.level == Level::Easier)
        })
        .filter(|way| way.kit.iter().all(|id| plan.kit_named(id).is_some()))
        .cloned();
    let jumps = one.impact == crate::plan::Impact::High;
    let mut way = way.unwrap_or_else(|| Choice {
        id: "easy".into(),
        level: Level::Easier,
        name: if jumps {
            "Step, no jump"
        } else {
            "Smaller and slower"
        }
        .into(),
        kit: one.kit.clone(),
        ..Choice::default()
    });
    way.id = free_id(&way.id, |id| one.options.iter().any(|way| &*way.id == id));
    if let Some(one) = plan.moves.get_mut(of) {
        one.options.push(way);
    }
}

fn warm(plan: &mut Plan, library: &Library, of: usize) {
    use crate::plan::{Effort, Impact};
    let Some(pattern) = plan.moves.get(of).and_then(|one| one.pattern) else {
        return;
    };
    let fits = |one: &Move| {
        one.pattern == Some(pattern)
            && one.impact == Impact::Low
            && matches!(one.effort, Effort::Light | Effort::Moderate)
    };
    // Light and without kit where there is one, else without kit, else what there is.
    let place = |better: &dyn Fn(&Move) -> bool| {
        library
            .moves
            .iter()
            .position(|one| fits(one) && better(one))
    };
    let Some(id) = place(&|one| one.kit.is_empty() && one.effort == Effort::Light)
        .or_else(|| place(&|one| one.kit.is_empty()))
        .or_else(|| place(&|_| true))
        .and_then(|at| library.bring(at, plan))
    else {
        return;
    };
    let warm_up = plan
        .blocks
        .iter_mut()
        .find_map(|block| match &mut block.kind {
            BlockKind::Flow { steps } if block.part == Part::WarmUp => Some(steps),
            _ => None,
        });
    match warm_up {
        Some(steps) => steps.push(Entry {
            work: ByRound(vec![30]),
            ..Entry::of(&id)
        }),
        None => plan.blocks.insert(
            0,
            Block {
                name: "Warm-up".into(),
                part: Part::WarmUp,
                work: 30.into(),
                after: 20,
                ..Block::new(BlockKind::Flow {
                    steps: vec![Entry::of(&id)],
                })
            },
        ),
    }
}
