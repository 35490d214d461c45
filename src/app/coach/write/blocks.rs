//! The blocks of the class, each of which opens to be changed.

use leptos::prelude::*;

use super::fields::{area, choice, count, line, lines_of, seconds, switch, texts, words_of};
use super::{Desk, Pick};
use crate::app::parts::live::{button, live, nothing, part, touch};
use crate::app::parts::{library, text};
use crate::draft::{self, Start, block_lengths};
use crate::plan::{
    Block, BlockKind, ByRound, Direction, Effort, Entry, Hand, Part, Plan, Sides, Word as _, limits,
};

const NO_MOVES: &str =
    "An interlude has no moves: the ones of this block are gone. Undo brings them back.";

/// What the list is made of: it is drawn anew when this changes, and not for each number.
#[derive(Clone, PartialEq)]
struct Frame {
    blocks: Vec<(&'static str, Vec<Vec<crate::plan::Id>>)>,
    open: Option<usize>,
}

fn frame(desk: Desk) -> Frame {
    Frame {
        open: desk.open.get(),
        blocks: desk.read(|plan| {
            let ids = |list: &Vec<Entry>| list.iter().map(|entry| entry.of.clone()).collect();
            let blocks = plan.blocks.iter();
            blocks
                .map(|block| (block.kind.word(), block.lists().iter().map(ids).collect()))
                .collect()
        }),
    }
}

/// The list of blocks, and what adds one.
pub(super) fn blocks(desk: Desk) -> AnyView {
    let frame = Memo::new(move |_| frame(desk));
    let list = part(move || {
        let frame = frame.get();
        let blocks = (0..frame.blocks.len())
            .map(|at| block(desk, at, frame.open == Some(at)))
            .collect_view();
        view! { <ol class="plain">{blocks}</ol> }.into_any()
    });
    let starts = Start::ALL
        .into_iter()
        .map(|start| {
            let add = touch(move || {
                let at = desk.now(|plan| place_of(plan, start));
                if !desk.steps("", |plan| draft::add_block(plan, start, at)) {
                    return desk
                        .told
                        .set(format!("A class has at most {} blocks.", limits::BLOCKS));
                }
                desk.open.set(Some(at));
                if start == Start::Water {
                    // It stands before the cool-down, which may be far from the button.
                    return super::focus_in_block(&format!("lasts-{at}"));
                }
                desk.picking.set(Some(Pick::Block(at)));
            });
            let id = format!("add-{}", start.name().to_lowercase());
            view! { <button data-testid=id on:click=add>{start.name()}</button> }.into_any()
        })
        .collect_view();
    view! {
        <section>
            <h2>"Blocks"</h2>
            {list}
            <h3 class="add">"Add a block"</h3>
            <div class="row starts">{starts}</div>
        </section>
    }
    .into_any()
}

/// A warm-up stands first and a cool-down last; anything else before the cool-down.
fn place_of(plan: &Plan, start: Start) -> usize {
    let last = plan.blocks.len();
    match start {
        Start::WarmUp => 0,
        Start::CoolDown => last,
        _ => {
            let cool = plan
                .blocks
                .iter()
                .rposition(|block| block.part != Part::CoolDown);
            cool.map_or(0, |at| at + 1)
        }
    }
}

fn with<T: Default>(plan: &Plan, at: usize, read: impl FnOnce(&Block) -> T) -> T {
    plan.blocks.get(at).map(read).unwrap_or_default()
}

fn change(plan: &mut Plan, at: usize, write: impl FnOnce(&mut Block)) {
    if let Some(block) = plan.blocks.get_mut(at) {
        write(block);
    }
}

fn block(desk: Desk, at: usize, open: bool) -> AnyView {
    let name = live(move || desk.read(|plan| with(plan, at, text::block)));
    let length = live(move || {
        let lengths = desk.timeline.with(|timeline| block_lengths(timeline));
        text::clock(lengths.get(at).copied().unwrap_or(0))
    });
    let about = live(move || desk.read(|plan| with(plan, at, |block| about(plan, block))));
    let toggle = touch(move || {
        desk.open
            .update(|now| *now = if *now == Some(at) { None } else { Some(at) });
    });
    let inside = if open { fields(desk, at) } else { nothing() };
    view! {
        <li class="writes" data-testid="write-block">
            <button class="card" aria-expanded=open.to_string() on:click=toggle data-testid=format!("block-{at}")>
                <strong dir="auto">{name}</strong>
                <span class="figure">{length}</span>
                <span class="small" dir="auto">{about}</span>
            </button>
            {inside}
        </li>
    }
    .into_any()
}

/// A block in a line.
fn about(plan: &Plan, block: &Block) -> String {
    let names = |list: &[Entry]| {
        let names: Vec<_> = list
            .iter()
            .map(|entry| {
                plan.move_named(&entry.of)
                    .map_or(&*entry.of, |one| one.called())
            })
            .collect();
        names.join(" + ")
    };
    let numbers = |list: &ByRound| {
        let words: Vec<_> = list.0.iter().map(u32::to_string).collect();
        words.join("/")
    };
    if let BlockKind::Interlude { say, .. } = &block.kind {
        return say.clone();
    }
    let lists: Vec<_> = block.lists().iter().map(|list| names(list)).collect();
    let moves = lists.join(", ");
    let times = match &block.kind {
        BlockKind::Rounds { rounds, .. } => text::count(*rounds as usize, "round", "rounds"),
        BlockKind::Sets { sets, .. } => text::count(*sets as usize, "set", "sets"),
        BlockKind::Window { times, .. } => text::count(*times as usize, "time", "times"),
        BlockKind::Ladder { direction, .. } => format!("ladder {}", direction.word()),
        BlockKind::Flow { .. } | BlockKind::Interlude { .. } => "one after the other".to_owned(),
    };
    let mut timing = match block.work.is_empty() {
        true => "no work yet".to_owned(),
        false => format!("{} s", numbers(&block.work)),
    };
    if !block.rest.is_empty() {
        timing = format!("{timing} / {} s", numbers(&block.rest));
    }
    format!("{times}, {timing}: {}", text::or(&moves, "no moves yet"))
}

fn fields(desk: Desk, at: usize) -> AnyView {
    let Some(block) = desk.now(|plan| plan.blocks.get(at).cloned()) else {
        return nothing();
    };
    let id = |word: &str| format!("{word}-{at}");
    let works = !matches!(block.kind, BlockKind::Interlude { .. });
    let list = |list: &ByRound| (!list.is_empty()).then(|| list.clone());
    let kinds = ["flow", "rounds", "ladder", "sets", "window", "interlude"]
        .map(|word| (word.to_owned(), super::fields::capital(word)))
        .to_vec();
    let times = match block.kind {
        BlockKind::Rounds { .. } => Some("Rounds"),
        BlockKind::Sets { .. } => Some("Sets of each"),
        BlockKind::Window { .. } => Some("Times"),
        _ => None,
    };
    let times = times.map(|label| {
        count(
            desk,
            label,
            id("times"),
            move |plan| with(plan, at, |block| block.kind.times()).unwrap_or(1),
            move |plan, n| {
                change(plan, at, |block| {
                    if let Some(times) = block.kind.times_mut() {
                        *times = n;
                    }
                });
            },
        )
    });
    let direction = matches!(block.kind, BlockKind::Ladder { .. }).then(|| {
        choice(
            desk,
            "Direction",
            id("direction"),
            words_of::<Direction>(),
            move |plan| {
                with(plan, at, |block| match &block.kind {
                    BlockKind::Ladder { direction, .. } => direction.word().to_owned(),
                    _ => String::new(),
                })
            },
            move |plan, word| {
                change(plan, at, |block| {
                    if let (BlockKind::Ladder { direction, .. }, Some(to)) =
                        (&mut block.kind, Direction::from_word(word))
                    {
                        *direction = to;
                    }
                });
            },
        )
    });
    let timing = works.then(|| {
        let breaks = block.has_breaks().then(|| {
            seconds(
                desk,
                match block.kind {
                    BlockKind::Sets { .. } => "Break between exercises, in seconds",
                    _ => "Break between rounds, in seconds",
                },
                id("break"),
                move |plan| with(plan, at, |block| list(&block.pause)),
                move |plan, to| change(plan, at, |block| block.pause = to.unwrap_or_default()),
            )
        });
        view! {
            {seconds(desk, "Work, in seconds", id("work"),
                move |plan| with(plan, at, |block| list(&block.work)),
                move |plan, to| change(plan, at, |block| block.work = to.unwrap_or_default()))}
            {seconds(desk, "Rest, in seconds", id("rest"),
                move |plan| with(plan, at, |block| list(&block.rest)),
                move |plan, to| change(plan, at, |block| block.rest = to.unwrap_or_default()))}
            {breaks}
        }
        .into_any()
    });
    let talk = (!works).then(|| {
        view! {
            {seconds(desk, "Lasts, in seconds", id("lasts"),
                move |plan| with(plan, at, |block| match block.kind { BlockKind::Interlude { lasts, .. } => Some(lasts.into()), _ => None }),
                move |plan, to| change(plan, at, |block| if let BlockKind::Interlude { lasts, .. } = &mut block.kind { *lasts = to.map_or(0, |to| to.at(1)); }))}
            {area(desk, "What you say", id("say"),
                move |plan| with(plan, at, |block| match &block.kind { BlockKind::Interlude { say, .. } => say.clone(), _ => String::new() }),
                move |plan, to| change(plan, at, |block| if let BlockKind::Interlude { say, .. } = &mut block.kind { to.clone_into(say); }))}
        }
        .into_any()
    });
    let sides = block.has_sides().then(|| {
        view! {
            {choice(desk, "One-sided moves", id("sides"), ways_of_sides(),
                move |plan| with(plan, at, |block| block.sides.word().to_owned()),
                move |plan, word| change(plan, at, |block| block.sides = Sides::from_word(word).unwrap_or_default()))}
            {choice(desk, "First side", id("first"), words_of::<Hand>(),
                move |plan| with(plan, at, |block| block.first_side.word().to_owned()),
                move |plan, word| change(plan, at, |block| block.first_side = Hand::from_word(word).unwrap_or_default()))}
            {seconds(desk, "To change sides, in seconds", id("change"),
                move |plan| with(plan, at, |block| Some(block.change.into())),
                move |plan, to| change(plan, at, |block| block.change = to.map_or(0, |to| to.at(1))))}
        }
        .into_any()
    });
    let entries = works.then(|| entries(desk, at, &block));
    let act = move |id: &'static str,
                    words: &'static str,
                    step: fn(&mut Plan, usize),
                    to: fn(usize) -> Option<usize>| {
        button("", id, words, move || {
            let name = desk.now(|plan| plan.blocks.get(at).map(text::block).unwrap_or_default());
            if desk.steps("", |plan| {
                step(plan, at);
                draft::tidy(plan, library());
            }) {
                let last = desk.now(|plan| plan.blocks.len()).saturating_sub(1);
                let to = to(at).map(|to| to.min(last));
                desk.open.set(to);
                if to.is_none() {
                    desk.told
                        .set(format!("{name} is removed. Undo brings it back."));
                    return super::focus_soon(format!("block-{}", at.min(last)));
                }
                super::focus_soon(id.to_owned());
            }
        })
    };
    view! {
        <div class="inside" data-testid="inside">
            {line(desk, "Name", id("name"), move |plan| with(plan, at, |block| block.name.clone()), move |plan, to| change(plan, at, |block| to.clone_into(&mut block.name)))}
            {entries}
            {times}
            {direction}
            {timing}
            {talk}
            {seconds(desk, "Break after the block, in seconds", id("after"),
                move |plan| with(plan, at, |block| Some(block.after.into())),
                move |plan, to| change(plan, at, |block| block.after = to.map_or(0, |to| to.at(1))))}
            <details class="more">
                <summary>"More about this block"</summary>
                {choice(desk, "Kind", id("kind"), kinds,
                    move |plan| with(plan, at, |block| block.kind.word().to_owned()),
                    move |plan, word| {
                        let had = with(plan, at, |block| block.entries().count());
                        draft::set_kind(plan, at, word);
                        if had > 0 && with(plan, at, |block| block.entries().count()) == 0 {
                            // After the step, which takes away what was told before.
                            queue_microtask(move || desk.told.set(NO_MOVES.to_owned()));
                        }
                    })}
                {choice(desk, "Part of the class", id("part"), words_of::<Part>(),
                    move |plan| with(plan, at, |block| block.part.word().to_owned()),
                    move |plan, word| change(plan, at, |block| block.part = Part::from_word(word).unwrap_or_default()))}
                {sides}
                {switch(desk, "Its gaps wait for the coach, when one leads", id("held"),
                    move |plan| with(plan, at, |block| block.held),
                    move |plan, on| change(plan, at, |block| block.held = on))}
                <p class="small">"Several seconds with a space between go by the round: 40 30 20."</p>
            </details>
            <div class="row">
                {button("", "try-block", "Try this block", move || desk.try_out(Some(at)))}
                {act("block-up", "Up", |plan, at| draft::shift_block(plan, at, true), |at| Some(at.saturating_sub(1)))}
                {act("block-down", "Down", |plan, at| draft::shift_block(plan, at, false), |at| Some(at + 1))}
                {act("block-copy", "Copy", draft::copy_block, |at| Some(at + 1))}
                {act("block-split", "Split", draft::split_block, Some)}
                {act("block-remove", "Remove", draft::remove_block, |_| None)}
            </div>
        </div>
    }
    .into_any()
}

/// How one-sided moves are done, in a coach's words.
fn ways_of_sides() -> Vec<(String, String)> {
    Sides::WORDS
        .iter()
        .map(|(sides, word)| {
            let words = match sides {
                Sides::Paired => "One side, then the other",
                Sides::Alternate => "A side a round, in turn",
                Sides::Half => "Change at half time",
            };
            ((*word).to_owned(), words.to_owned())
        })
        .collect()
}

fn entries(desk: Desk, at: usize, block: &Block) -> AnyView {
    let ladder = matches!(block.kind, BlockKind::Ladder { .. });
    let window = matches!(block.kind, BlockKind::Window { .. });
    let mut nth = 0;
    let mut rows = Vec::new();
    for (rung, list) in block.lists().iter().enumerate() {
        for (place, of) in list.iter().enumerate() {
            rows.push(entry(
                desk,
                at,
                nth,
                &of.of,
                ladder.then_some((rung, place)),
                window,
            ));
            nth += 1;
        }
    }
    view! {
        <ol class="plain entries">{rows}</ol>
        {button("", "add-moves", "Add moves", move || desk.picking.set(Some(Pick::Block(at))))}
    }
    .into_any()
}

fn entry(
    desk: Desk,
    at: usize,
    nth: usize,
    of: &crate::plan::Id,
    rung: Option<(usize, usize)>,
    window: bool,
) -> AnyView {
    let id = |word: &str| format!("{word}-{at}-{nth}");
    let read = move |plan: &Plan| draft::entry(plan, at, nth).cloned().unwrap_or_default();
    let set = move |plan: &mut Plan, write: &dyn Fn(&mut Entry)| {
        if let Some(entry) = draft::entry_mut(plan, at, nth) {
            write(entry);
        }
    };
    let list = |list: ByRound| (!list.is_empty()).then_some(list);
    let of = of.clone();
    let called = desk.now(|plan| {
        plan.move_named(&of)
            .map_or_else(|| of.to_string(), |one| one.called().to_owned())
    });
    let name = live(move || {
        desk.read(|plan| {
            plan.move_named(&of)
                .map_or_else(|| of.to_string(), |one| one.called().to_owned())
        })
    });
    // A step says which entry the focus goes to.
    let act = move |handle: &'static str,
                    words: &'static str,
                    step: fn(&mut Plan, usize, usize) -> usize| {
        let label = format!("{words}: {called}");
        let act = touch(move || {
            let mut to = nth;
            desk.step("", |plan| {
                to = step(plan, at, nth);
                draft::tidy(plan, library());
            });
            super::focus_soon(format!("{handle}-{at}-{to}"));
        });
        view! { <button class="quiet" aria-label=label data-testid=id(handle) on:click=act>{words}</button> }.into_any()
    };
    let join = |plan: &mut Plan, at, nth| {
        draft::join_entry(plan, at, nth);
        nth
    };
    let rung_line = rung.map(|(rung, place)| {
        let join = match (rung, place) {
            (0, 0) => nothing(),
            (_, 0) => act("join", "Same rung as before", join),
            _ => act("join", "A rung of its own", join),
        };
        view! { <span class="small">{if place == 0 { format!("rung {}", rung + 1) } else { "and".to_owned() }}</span> {join} }
            .into_any()
    });
    let mut sides = ways_of_sides();
    sides.insert(0, (String::new(), "As the block".to_owned()));
    let mut hands = words_of::<Hand>();
    hands.insert(0, (String::new(), "Both".to_owned()));
    let mut efforts = words_of::<Effort>();
    efforts.insert(0, (String::new(), "As the move".to_owned()));
    let timed = (!window).then(|| {
        view! {
            {seconds(desk, "Work of its own, in seconds", id("entry-work"),
                move |plan| list(read(plan).work),
                move |plan, to| set(plan, &|entry| entry.work = to.clone().unwrap_or_default()))}
            {choice(desk, "Sides", id("entry-sides"), sides,
                move |plan| read(plan).sides.map_or("", Sides::word).to_owned(),
                move |plan, word| set(plan, &|entry| entry.sides = Sides::from_word(word)))}
            {choice(desk, "One side alone", id("entry-side"), hands,
                move |plan| read(plan).side.map_or("", Hand::word).to_owned(),
                move |plan, word| set(plan, &|entry| entry.side = Hand::from_word(word)))}
            {lines_of(desk, "Extra calls, one on each line: seconds and what is said", id("entry-marks"),
                "Not kept yet: each line is a time and what is said, as “20 Halfway”.",
                move |plan| read(plan).marks.iter().map(|mark| format!("{} {}", mark.at, mark.say)).collect(),
                move |plan, lines| {
                    let read: Option<Vec<_>> = lines.iter().map(|line| mark(line)).collect();
                    let reads = read.is_some();
                    if let Some(marks) = read {
                        set(plan, &|entry| entry.marks.clone_from(&marks));
                    }
                    reads
                })}
        }
        .into_any()
    });
    view! {
        <li data-testid="entry">
            <div class="row entry">
                <strong dir="auto">{name}</strong>
                {rung_line}
                {act("entry-up", "Up", |plan, at, nth| draft::shift_entry(plan, at, nth, true))}
                {act("entry-down", "Down", |plan, at, nth| draft::shift_entry(plan, at, nth, false))}
                {act("entry-remove", "Remove", |plan, at, nth| {
                    draft::remove_entry(plan, at, nth);
                    let left = plan.blocks.get(at).map_or(0, |block| block.entries().count());
                    nth.min(left.saturating_sub(1))
                })}
            </div>
            <details class="more">
                <summary>"Only here"</summary>
                {timed}
                {seconds(desk, "Target count", id("entry-reps"),
                    move |plan| list(read(plan).reps),
                    move |plan, to| set(plan, &|entry| entry.reps = to.clone().unwrap_or_default()))}
                {choice(desk, "Effort", id("entry-effort"), efforts,
                    move |plan| read(plan).effort.map_or("", Effort::word).to_owned(),
                    move |plan, word| set(plan, &|entry| entry.effort = Effort::from_word(word)))}
                {texts(desk, "Cues, one on each line", id("entry-notes"),
                    move |plan| read(plan).notes,
                    move |plan, lines| set(plan, &|entry| entry.notes.clone_from(&lines)))}
            </details>
        </li>
    }
    .into_any()
}

fn mark(line: &str) -> Option<crate::plan::Mark> {
    let (at, say) = line.split_once(' ')?;
    Some(crate::plan::Mark {
        at: u32::try_from(text::read_clock(at.trim_end_matches(':'))?).ok()?,
        say: say.trim().to_owned(),
    })
}
