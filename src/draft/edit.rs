//! The steps of an editor. Each passes over a place that is not there.

use crate::library::Library;
use crate::plan::keys::{self, Key};
use crate::plan::{
    Block, BlockKind, ByRound, Direction, Entry, Id, Kit, Move, Part, Plan, Sides, free_id, limits,
    slug,
};
use crate::timeline::{Segment, Timeline};

/// Seconds to change sides, where nobody said others; common practice, no source.
const CHANGE_S: u32 = 5;

/// A block to start from.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Start {
    /// Easy moves first.
    WarmUp,
    /// Rounds that grow by a rung.
    Ladder,
    /// The same moves a number of times.
    Rounds,
    /// Two moves back to back, a number of times.
    Superset,
    /// Work that grows and shrinks again.
    Pyramid,
    /// All sets of one move before the next.
    Sets,
    /// One after the other.
    Flow,
    /// All tasks within each time, at one's own pace.
    Window,
    /// Water, set-up, talk.
    Water,
    /// Short and hard, near the end.
    Finisher,
    /// Stretches last.
    CoolDown,
}

impl Start {
    /// All, in the order in which a coach looks for them.
    pub const ALL: [Start; 11] = [
        Start::WarmUp,
        Start::Ladder,
        Start::Rounds,
        Start::Superset,
        Start::Pyramid,
        Start::Sets,
        Start::Flow,
        Start::Window,
        Start::Water,
        Start::Finisher,
        Start::CoolDown,
    ];

    /// What it is called.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Start::WarmUp => "Warm-up",
            Start::Ladder => "Ladder",
            Start::Rounds => "Rounds",
            Start::Superset => "Superset",
            Start::Pyramid => "Pyramid",
            Start::Sets => "Sets",
            Start::Flow => "Flow",
            Start::Window => "Window",
            Start::Water => "Water",
            Start::Finisher => "Finisher",
            Start::CoolDown => "Cool-down",
        }
    }

    /// The block, without moves. Its seconds are common practice, no source.
    #[must_use]
    pub fn block(self) -> Block {
        let none = Vec::new;
        let flow = || Block::new(BlockKind::Flow { steps: none() });
        let rounds = |rounds| {
            Block::new(BlockKind::Rounds {
                moves: none(),
                rounds,
            })
        };
        let timed = |block: Block, work: &[u32], rest: u32, pause: u32| Block {
            work: ByRound(work.to_vec()),
            rest: rest.into(),
            pause: if pause == 0 {
                ByRound::default()
            } else {
                pause.into()
            },
            after: 20,
            ..block
        };
        let block = match self {
            Start::WarmUp => Block {
                part: Part::WarmUp,
                ..timed(flow(), &[30], 5, 0)
            },
            Start::Ladder => timed(
                Block::new(BlockKind::Ladder {
                    rungs: Vec::new(),
                    direction: Direction::Up,
                }),
                &[30],
                10,
                20,
            ),
            Start::Rounds => timed(rounds(3), &[30], 10, 20),
            Start::Superset => timed(rounds(3), &[30], 5, 20),
            Start::Pyramid => timed(rounds(5), &[20, 30, 40, 30, 20], 10, 20),
            Start::Sets => timed(
                Block::new(BlockKind::Sets {
                    moves: none(),
                    sets: 3,
                }),
                &[30],
                15,
                20,
            ),
            Start::Flow => timed(flow(), &[30], 10, 0),
            Start::Window => timed(
                Block::new(BlockKind::Window {
                    tasks: none(),
                    times: 1,
                }),
                &[300],
                30,
                0,
            ),
            Start::Water => Block {
                after: 10,
                ..Block::new(BlockKind::Interlude {
                    lasts: 30,
                    say: "Sip some water.".into(),
                })
            },
            Start::Finisher => Block {
                part: Part::Finisher,
                ..timed(rounds(3), &[20], 10, 10)
            },
            Start::CoolDown => Block {
                part: Part::CoolDown,
                after: 0,
                ..timed(flow(), &[30], 5, 0)
            },
        };
        Block {
            name: self.name().into(),
            ..block
        }
    }
}

/// Puts a block to start from into a plan, at a place. A plan that is full stays as it is.
pub fn add_block(plan: &mut Plan, start: Start, at: usize) {
    if plan.blocks.len() < limits::BLOCKS {
        plan.blocks.insert(at.min(plan.blocks.len()), start.block());
    }
}

/// Takes a block away.
pub fn remove_block(plan: &mut Plan, at: usize) {
    if at < plan.blocks.len() {
        plan.blocks.remove(at);
    }
}

/// Puts a copy of a block behind it.
pub fn copy_block(plan: &mut Plan, at: usize) {
    if plan.blocks.len() < limits::BLOCKS
        && let Some(block) = plan.blocks.get(at).cloned()
    {
        plan.blocks.insert(at + 1, block);
    }
}

/// Moves a block by one place, up (towards the start) or down.
pub fn shift_block(plan: &mut Plan, at: usize, up: bool) {
    let _ = shift(&mut plan.blocks, at, up);
}

/// Returns where it stands then.
fn shift<T>(list: &mut [T], at: usize, up: bool) -> usize {
    let other = if up { at.checked_sub(1) } else { Some(at + 1) };
    match other {
        Some(other) if at < list.len() && other < list.len() => {
            list.swap(at, other);
            other
        }
        _ => at,
    }
}

/// Splits a block in two: a flow, sets and a ladder by their entries, rounds and windows by their
/// times (by their entries where there is one time), an interlude by its seconds. What is one stays
/// one. A class lasts as long as before, but for a ladder, which becomes two shorter ones.
pub fn split_block(plan: &mut Plan, at: usize) {
    let Some(whole) = plan.blocks.get(at) else {
        return;
    };
    if plan.blocks.len() >= limits::BLOCKS {
        return;
    }
    let (mut first, mut second) = (whole.clone(), whole.clone());
    let by_times = match &whole.kind {
        BlockKind::Rounds { rounds: times, .. } | BlockKind::Window { times, .. } => *times > 1,
        _ => false,
    };
    let is_set = matches!(whole.kind, BlockKind::Sets { .. });
    let is_window = matches!(whole.kind, BlockKind::Window { .. });
    match (&mut first.kind, &mut second.kind) {
        (BlockKind::Rounds { rounds: one, .. }, BlockKind::Rounds { rounds: two, .. })
        | (BlockKind::Window { times: one, .. }, BlockKind::Window { times: two, .. })
            if by_times =>
        {
            (*one, *two) = (one.div_ceil(2), *one / 2);
            let done = *one;
            first.after = if whole.has_breaks() {
                whole.pause.at(done)
            } else {
                whole.rest.at(done)
            };
            go_on(&mut second, done);
        }
        (BlockKind::Flow { steps: one }, BlockKind::Flow { steps: two })
        | (BlockKind::Sets { moves: one, .. }, BlockKind::Sets { moves: two, .. })
        | (BlockKind::Rounds { moves: one, .. }, BlockKind::Rounds { moves: two, .. })
        | (BlockKind::Window { tasks: one, .. }, BlockKind::Window { tasks: two, .. }) => {
            *two = one.split_off(one.len().div_ceil(2));
            if two.is_empty() {
                return;
            }
            let done = one.len();
            if is_window {
                // The time is shared out by the tasks.
                let (all, tasks) = (whole.work.at(1), (done + two.len()) as u32);
                let share = (u64::from(all) * done as u64 / u64::from(tasks)) as u32;
                first.work = share.into();
                second.work = (all - share).into();
            }
            first.after = if is_window {
                0
            } else if is_set {
                second
                    .pause
                    .0
                    .rotate_left(done % whole.pause.0.len().max(1));
                whole.pause.at(done as u32)
            } else {
                whole.rest.at(1)
            };
        }
        (BlockKind::Ladder { rungs: one, .. }, BlockKind::Ladder { rungs: two, .. }) => {
            *two = one.split_off(one.len().div_ceil(2));
            if two.is_empty() {
                return;
            }
            first.after = whole.pause.at(one.len() as u32);
        }
        (BlockKind::Interlude { lasts: one, .. }, BlockKind::Interlude { lasts: two, .. }) => {
            (*one, *two) = (one.div_ceil(2), *one / 2);
            if *two == 0 {
                return;
            }
            first.after = 0;
        }
        _ => return,
    }
    plan.blocks[at] = first;
    plan.blocks.insert(at + 1, second);
}

/// Makes a block go on after so many rounds: its lists, and the side whose turn it is.
fn go_on(block: &mut Block, done: u32) {
    let turn = |list: &mut ByRound| {
        let len = list.0.len().max(1);
        list.0.rotate_left(done as usize % len);
    };
    for list in [&mut block.work, &mut block.rest, &mut block.pause] {
        turn(list);
    }
    for entry in block.entries_mut() {
        turn(&mut entry.work);
        turn(&mut entry.reps);
    }
    let mut entries = block.entries();
    let alternates = entries.any(|entry| block.sides_of(entry) == Sides::Alternate);
    drop(entries);
    if alternates && done % 2 == 1 {
        block.first_side = block.first_side.other();
    }
}

/// Gives a block another kind. Its entries come along: a ladder makes each a rung.
pub fn set_kind(plan: &mut Plan, at: usize, kind: &str) {
    let Some(block) = plan.blocks.get_mut(at) else {
        return;
    };
    let Some(new) = BlockKind::empty(kind).filter(|_| block.kind.word() != kind) else {
        return;
    };
    let old = core::mem::replace(block, Block::new(new));
    // Keys that the kind does not have are left behind.
    for row in block.kind.rows().filter(|row| old.takes(row.key)) {
        block.put(row.key, old.get(row.key));
    }
    let entries = old.entries().cloned();
    match &mut block.kind {
        BlockKind::Ladder { rungs, .. } => *rungs = entries.map(|entry| vec![entry]).collect(),
        BlockKind::Window { tasks, times } => {
            *tasks = entries.map(keys::as_task).collect();
            *times = 1;
        }
        BlockKind::Interlude { lasts, .. } => *lasts = 30,
        kind => {
            if let Some(list) = kind.list_mut() {
                *list = entries.collect();
            }
            if let (Some(times), None) = (kind.times_mut(), old.kind.times()) {
                *times = 3;
            }
        }
    }
    if block.takes(Key::Work) && block.work.is_empty() {
        block.work = 30.into();
    }
}

/// Puts a move at the end of a block; in a ladder as a rung of its own.
pub fn add_entry(plan: &mut Plan, block: usize, id: &str) {
    let sided = |id: &str| plan.move_named(id).is_some_and(|of| of.sided);
    // The first one-sided move of a block brings time to change sides along.
    let first = sided(id)
        && plan.blocks.get(block).is_some_and(|block| {
            block.has_sides() && !block.entries().any(|entry| sided(&entry.of))
        });
    let Some(block) = plan.blocks.get_mut(block) else {
        return;
    };
    if first && block.change == 0 {
        block.change = CHANGE_S;
    }
    let entry = Entry::of(id);
    if let BlockKind::Ladder { rungs, .. } = &mut block.kind {
        rungs.push(vec![entry]);
    } else if let Some(list) = block.kind.list_mut() {
        list.push(entry);
    }
}

/// The nth entry of a block, counted through its rungs.
#[must_use]
pub fn entry(plan: &Plan, block: usize, nth: usize) -> Option<&Entry> {
    plan.blocks.get(block)?.entries().nth(nth)
}

/// The nth entry of a block, to be changed.
pub fn entry_mut(plan: &mut Plan, block: usize, nth: usize) -> Option<&mut Entry> {
    plan.blocks.get_mut(block)?.entries_mut().nth(nth)
}

/// The rung of the nth entry, and its place in it.
fn rung_of(rungs: &[Vec<Entry>], nth: usize) -> Option<(usize, usize)> {
    let mut left = nth;
    for (at, rung) in rungs.iter().enumerate() {
        if left < rung.len() {
            return Some((at, left));
        }
        left -= rung.len();
    }
    None
}

/// Takes the nth entry out of a block; a rung that is empty then goes too.
pub fn remove_entry(plan: &mut Plan, block: usize, nth: usize) {
    let Some(block) = plan.blocks.get_mut(block) else {
        return;
    };
    if let BlockKind::Ladder { rungs, .. } = &mut block.kind {
        if let Some((rung, at)) = rung_of(rungs, nth) {
            rungs[rung].remove(at);
            rungs.retain(|rung| !rung.is_empty());
        }
    } else if let Some(list) = block.kind.list_mut()
        && nth < list.len()
    {
        list.remove(nth);
    }
}

/// Moves the nth entry of a block by one place; in a ladder its whole rung. Returns which entry it is
/// then.
pub fn shift_entry(plan: &mut Plan, block: usize, nth: usize, up: bool) -> usize {
    let Some(block) = plan.blocks.get_mut(block) else {
        return nth;
    };
    if let BlockKind::Ladder { rungs, .. } = &mut block.kind {
        let Some((rung, place)) = rung_of(rungs, nth) else {
            return nth;
        };
        let to = shift(rungs, rung, up);
        rungs[..to].iter().map(Vec::len).sum::<usize>() + place
    } else if let Some(list) = block.kind.list_mut() {
        shift(list, nth, up)
    } else {
        nth
    }
}

/// Puts the nth entry of a ladder onto the rung before it, or, if it is there already, onto a rung
/// of its own.
pub fn join_entry(plan: &mut Plan, block: usize, nth: usize) {
    let Some(BlockKind::Ladder { rungs, .. }) =
        plan.blocks.get_mut(block).map(|block| &mut block.kind)
    else {
        return;
    };
    match rung_of(rungs, nth) {
        Some((rung, 0)) if rung > 0 => {
            let joining = rungs.remove(rung);
            rungs[rung - 1].extend(joining);
        }
        Some((rung, at)) if at > 0 => {
            let own = rungs[rung].split_off(at);
            rungs.insert(rung + 1, own);
        }
        _ => {}
    }
}

/// Puts one move in the place of another wherever it is used.
pub fn replace_move(plan: &mut Plan, from: &str, to: &str) {
    for block in &mut plan.blocks {
        for entry in block.entries_mut() {
            if &*entry.of == from {
                entry.of = to.into();
            }
        }
    }
}

/// Whether an entry uses a move.
#[must_use]
pub fn is_used(plan: &Plan, id: &str) -> bool {
    let mut entries = plan.blocks.iter().flat_map(Block::entries);
    entries.any(|entry| &*entry.of == id)
}

/// Takes out what nothing uses and what can be had again from where it came: moves and kit that are
/// the library's. What the coach wrote stays.
pub fn tidy(plan: &mut Plan, library: &Library) {
    let used: Vec<bool> = plan
        .moves
        .iter()
        .map(|one| is_used(plan, &one.id) || !library.moves.contains(one))
        .collect();
    let mut used = used.into_iter();
    plan.moves.retain(|_| used.next().unwrap_or(true));
    let needed: Vec<Id> = plan.moves.iter().flat_map(Move::all_kit).cloned().collect();
    plan.kit
        .retain(|kit| needed.contains(&kit.id) || !library.kit.contains(kit));
}

/// Adds an empty move of the coach's own and returns its id.
pub fn new_move(plan: &mut Plan) -> Id {
    let id = free_id("move", |id| plan.move_named(id).is_some());
    plan.moves.push(Move {
        id: id.clone(),
        name: "New move".into(),
        ..Move::default()
    });
    id
}

/// Adds an empty piece of kit.
pub fn new_kit(plan: &mut Plan) {
    let id = free_id("kit", |id| plan.kit_named(id).is_some());
    plan.kit.push(Kit {
        id,
        name: "new kit".into(),
        instead: Vec::new(),
    });
}

/// Puts a move of a class, with its kit, among the coach's own. There it has an id after its name; one
/// of the same name is replaced. Returns that id.
pub fn keep_move(own: &mut Plan, class: &Plan, one: &Move) -> Id {
    let mut kept = one.clone();
    let mut ids: Vec<&mut Id> = kept.kit.iter_mut().collect();
    ids.extend(kept.options.iter_mut().flat_map(|way| way.kit.iter_mut()));
    for id in ids {
        let Some(kit) = class.kit_named(id) else {
            continue;
        };
        let there = own.kit.iter().find(|known| known.name == kit.name);
        *id = match there {
            Some(known) => known.id.clone(),
            None => {
                let new = free_id(&slug_or(&kit.name, "kit"), |id| own.kit_named(id).is_some());
                own.kit.push(Kit {
                    id: new.clone(),
                    ..kit.clone()
                });
                new
            }
        };
    }
    if let Some(known) = own.moves.iter_mut().find(|known| known.name == kept.name) {
        kept.id = known.id.clone();
        *known = kept.clone();
    } else {
        kept.id = free_id(&slug_or(&kept.name, "move"), |id| {
            own.move_named(id).is_some()
        });
        own.moves.push(kept.clone());
    }
    kept.id
}

/// The id that a name would have, or a word where it has none.
fn slug_or(name: &str, word: &str) -> String {
    let id = slug(name);
    if id.is_empty() { word.to_owned() } else { id }
}

/// Milliseconds of each block, its demos and the break after it included; the time to get ready
/// counts with the first one.
#[must_use]
pub fn block_lengths(timeline: &Timeline) -> Vec<i64> {
    let mut lengths = vec![0; timeline.plan().blocks.len()];
    for segment in timeline.segments() {
        if let Some(length) = lengths.get_mut(segment.block) {
            *length += Segment::len_ms(segment);
        }
    }
    lengths
}

/// A block by itself, to be tried: with its moves and its kit, and a few seconds to get ready.
#[must_use]
pub fn trial(plan: &Plan, block: usize) -> Option<Plan> {
    let block = plan.blocks.get(block)?.clone();
    let name = if block.name.is_empty() {
        block.kind.word().to_owned()
    } else {
        block.name.clone()
    };
    Some(Plan {
        id: String::new(),
        title: format!("Trying: {name}"),
        slot: None,
        recording: None,
        ready: 5,
        blocks: vec![block],
        ..plan.clone()
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::notation;

    fn plan(text: &str) -> Plan {
        notation::read(&format!("class A\n{text}"), &Library::shipped()).unwrap()
    }

    fn entries(plan: &Plan, block: usize) -> Vec<Vec<String>> {
        let lists = plan.blocks[block].lists().iter();
        lists
            .map(|list| list.iter().map(|entry| entry.of.to_string()).collect())
            .collect()
    }

    /// Every start becomes a class that can be run as soon as it has a move.
    #[test]
    fn each_start_runs_with_a_move() {
        for start in Start::ALL {
            let mut plan = plan("flow\nwork 30\n- march");
            add_block(&mut plan, start, 0);
            add_entry(&mut plan, 0, "march");
            assert_eq!(plan.validate(), Ok(vec![]), "{start:?}");
            let lengths = block_lengths(&Timeline::new(&plan));
            assert!(lengths.iter().all(|ms| *ms > 0), "{start:?}: {lengths:?}");
        }
    }

    #[test]
    fn a_split_takes_as_long_as_the_whole_where_nothing_else_stood_between() {
        let check = |text: &str, blocks: usize| {
            let mut plan = plan(text);
            let before = Timeline::new(&plan).total_ms();
            split_block(&mut plan, 0);
            assert_eq!(plan.blocks.len(), blocks, "{text}");
            assert_eq!(plan.validate(), Ok(vec![]));
            assert_eq!(Timeline::new(&plan).total_ms(), before, "{text}");
        };
        check("flow\nwork 30\nrest 10\n- march, half-squat, hip-hinge", 2);
        check("rounds\ntimes 5\nwork 20 30 40 30 20\nbreak 15\n- march", 2);
        check("window\ntimes 4\nwork 60\nrest 20\n- march", 2);
        check("rounds\ntimes 5\nwork 30\nbreak 10 20 30 40\n- march", 2);
        check(
            "rounds\ntimes 4\nwork 30\nrest 20\nbreak 10\n- march, half-squat",
            2,
        );
        check("rounds\ntimes 4\nwork 30\nrest 10\n- march, half-squat", 2);
        check("rounds\ntimes 4\nbreak 5\n- march work 20 30 40 50", 2);
        check("window\ntimes 3\nwork 60\nrest 20 30\n- march", 2);
        check(
            "window\nwork 5:00\nrest 20\n- march, half-squat, hip-hinge",
            2,
        );
        check(
            "sets\ntimes 3\nwork 30\nrest 15\nbreak 5 25\n- march, half-squat, hip-hinge",
            2,
        );
        check("rounds\nwork 30\nrest 10\n- march, half-squat", 2);
        check("interlude\nlasts 31\nflow\nwork 30\n- march", 3);
        // One round and one step can't be halved.
        check("rounds\nwork 30\n- march", 1);
    }

    #[test]
    fn the_first_one_sided_move_brings_time_to_change_sides() {
        let mut plan = plan("flow\nwork 30\n- march\nwindow\nwork 60\n- march");
        let library = Library::shipped();
        let lunge = library.find("back lunge")[0].0;
        let lunge = library.bring(lunge, &mut plan).unwrap();
        add_entry(&mut plan, 0, "half-squat");
        assert_eq!(plan.blocks[0].change, 0);
        for block in [0, 1] {
            add_entry(&mut plan, block, &lunge);
        }
        assert_eq!(
            (plan.blocks[0].change, plan.blocks[1].change),
            (CHANGE_S, 0)
        );
        // A coach who wants none of it has none.
        plan.blocks[0].change = 0;
        add_entry(&mut plan, 0, &lunge);
        assert_eq!(plan.blocks[0].change, 0);
    }

    #[test]
    fn a_split_keeps_the_sides_equal() {
        let mut plan = plan("rounds\ntimes 6\nwork 30\nbreak 10\nsides alternate\n- back-lunge");
        split_block(&mut plan, 0);
        for (_, (right, left)) in Timeline::new(&plan).work_by_side() {
            assert_eq!(right, left);
        }
    }

    /// Two classes each have an own move and own kit under the same ids; kept, both stand.
    #[test]
    fn own_moves_do_not_take_each_others_place() {
        let library = Library::shipped();
        let mut own = Plan::default();
        for (name, thing) in [("Bag lift", "sandbag"), ("Ball slam", "medicine ball")] {
            let class = plan(&format!(
                "kit kit = {thing}\nmove move = {name}\n  uses kit\nflow\nwork 30\n- move"
            ));
            keep_move(&mut own, &class, &class.moves[0]);
            // Once more is the same one.
            keep_move(&mut own, &class, &class.moves[0]);
        }
        let names: Vec<_> = own
            .moves
            .iter()
            .map(|one| (&*one.id, &*one.kit[0]))
            .collect();
        assert_eq!(
            names,
            [("bag-lift", "sandbag"), ("ball-slam", "medicine-ball")]
        );
        let mine = Library {
            kit: own.kit,
            moves: own.moves,
        };
        let mut class = Plan::default();
        mine.bring(1, &mut class);
        library.bring(0, &mut class);
        assert_eq!(class.kit[0].name, "medicine ball");
    }

    #[test]
    fn blocks_are_moved_copied_and_removed() {
        let mut plan = plan("flow A\nwork 30\n- march\nrounds B\nwork 30\n- half-squat");
        let names =
            |plan: &Plan| -> String { plan.blocks.iter().map(|b| b.name.as_str()).collect() };
        shift_block(&mut plan, 1, true);
        assert_eq!(names(&plan), "BA");
        shift_block(&mut plan, 0, true);
        shift_block(&mut plan, 1, false);
        assert_eq!(names(&plan), "BA");
        copy_block(&mut plan, 0);
        assert_eq!(names(&plan), "BBA");
        remove_block(&mut plan, 2);
        remove_block(&mut plan, 9);
        assert_eq!(names(&plan), "BB");
    }

    #[test]
    fn rungs_join_and_part() {
        let mut plan = plan("ladder\nwork 30\n- march\n- half-squat\n- hip-hinge");
        join_entry(&mut plan, 0, 1);
        assert_eq!(
            entries(&plan, 0),
            [vec!["march", "half-squat"], vec!["hip-hinge"]]
        );
        join_entry(&mut plan, 0, 1);
        assert_eq!(
            entries(&plan, 0),
            [["march"], ["half-squat"], ["hip-hinge"]]
        );
        shift_entry(&mut plan, 0, 2, true);
        assert_eq!(
            entries(&plan, 0),
            [["march"], ["hip-hinge"], ["half-squat"]]
        );
        remove_entry(&mut plan, 0, 1);
        assert_eq!(entries(&plan, 0), [["march"], ["half-squat"]]);
        join_entry(&mut plan, 0, 0);
        assert_eq!(entries(&plan, 0), [["march"], ["half-squat"]]);
    }

    #[test]
    fn a_kind_keeps_the_moves() {
        let mut plan =
            plan("rounds\ntimes 4\nwork 30\nbreak 10\nsides half\nchange 5\n- back-lunge, march");
        for kind in ["ladder", "sets", "flow", "window", "rounds"] {
            set_kind(&mut plan, 0, kind);
            assert_eq!(plan.blocks[0].kind.word(), kind);
            let all: Vec<_> = plan.blocks[0].entries().map(|e| &*e.of).collect();
            assert_eq!(all, ["back-lunge", "march"], "{kind}");
            assert_eq!(plan.validate(), Ok(vec![]), "{kind}");
        }
    }

    #[test]
    fn a_move_is_replaced_everywhere_and_what_the_library_has_goes() {
        let library = Library::shipped();
        let mut plan = plan(
            "move own = Own\nflow\nwork 30\n- goblet-squat, own\nrounds\nwork 30\n- goblet-squat, march",
        );
        assert!(plan.kit_named("bell").is_some());
        replace_move(&mut plan, "goblet-squat", "march");
        assert!(!is_used(&plan, "goblet-squat"));
        tidy(&mut plan, &library);
        assert!(plan.move_named("goblet-squat").is_none());
        assert!(plan.move_named("own").is_some());
        assert_eq!(plan.kit, []);
        assert_eq!(plan.validate(), Ok(vec![]));
    }

    #[test]
    fn a_block_is_tried_by_itself() {
        let plan = plan("flow\nwork 30\n- march\nrounds Two\nwork 20\n- goblet-squat");
        let trial = trial(&plan, 1).unwrap();
        assert_eq!(trial.validate(), Ok(vec![]));
        assert_eq!(trial.title, "Trying: Two");
        assert_eq!(Timeline::new(&trial).total_ms(), 25_000);
        assert_eq!(super::trial(&plan, 2), None);
    }

    #[test]
    fn ids_are_free() {
        let mut plan = plan("flow\nwork 30\n- march");
        assert_eq!(&*new_move(&mut plan), "move");
        assert_eq!(&*new_move(&mut plan), "move-2");
        new_kit(&mut plan);
        new_kit(&mut plan);
        assert_eq!(&*plan.kit[1].id, "kit-2");
        plan.remove_kit(0);
        assert_eq!(plan.kit.len(), 1);
    }
}
