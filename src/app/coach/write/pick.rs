//! Moves to choose from: the class's own, the coach's own, the library's.

use leptos::prelude::*;
use web_sys::{Event, KeyboardEvent};

use super::{Desk, Pick};
use crate::app::parts::library;
use crate::app::parts::live::{button, live, part, touch};
use crate::app::parts::{Shell, text};
use crate::draft;
use crate::library::{Library, distance};
use crate::notation;
use crate::plan::{Effort, Id, Impact, Move, Part, Pattern, Plan, Word as _, isolated};

/// The coach's own moves, as they are kept: a class without blocks.
pub(super) fn own_moves(shell: Shell) -> Plan {
    let text = shell.store.with_value(crate::device::Store::own_moves);
    let mut own = notation::draft(&text, library()).unwrap_or_default();
    own.title = OWN_MOVES.into();
    own
}

/// Keeps the coach's own moves. Returns whether they are kept.
pub(super) fn put_own(shell: Shell, own: &Plan) -> bool {
    let text = notation::write(own, library());
    let kept = shell.store.with_value(|store| store.keep_own_moves(&text));
    let could = kept.is_ok();
    shell.fault.set(kept.err().map(super::fault_words));
    could
}

/// Keeps a move of the class with the coach's own, in place of one with its name.
pub(super) fn keep_own(desk: Desk, one: &Move) {
    let mut own = own_moves(desk.shell);
    desk.now(|class| draft::keep_move(&mut own, class, one));
    let told = if put_own(desk.shell, &own) {
        format!("{} is with your own moves.", one.called())
    } else {
        desk.shell.fault.get_untracked().unwrap_or_default()
    };
    desk.told.set(told);
}

/// What the text of the coach's own moves is called.
pub(super) const OWN_MOVES: &str = "Own moves";

/// Where a move to choose comes from.
#[derive(Clone, Copy, PartialEq, Eq)]
enum From {
    Class,
    Own,
    Library,
}

/// Whether a move suits a part of the class, as far as a move says.
fn suits(one: &Move, part: Option<Part>) -> bool {
    let stretches = one.pattern == Some(Pattern::Stretch);
    let easy = one.effort == Effort::Light && one.impact == Impact::Low;
    match part {
        Some(Part::WarmUp) => easy && !stretches && one.kit.is_empty(),
        Some(Part::CoolDown) => easy && (stretches || one.pattern == Some(Pattern::Mobility)),
        _ => true,
    }
}

/// The moves that have the words, each once: what suits the part of the class first, of that the
/// class's own.
fn found(desk: Desk, own: &Library, words: &str, part: Option<Part>) -> Vec<(From, Move)> {
    let class = desk.now(|plan| Library {
        kit: plan.kit.clone(),
        moves: plan.moves.clone(),
    });
    let mut list: Vec<(From, Move)> = Vec::new();
    for (from, of) in [
        (From::Class, &class),
        (From::Own, own),
        (From::Library, library()),
    ] {
        for (_, one) in of.find(words) {
            let there = |other: &Move| other.id == one.id || other.name == one.name;
            if !list.iter().any(|(_, other)| there(other)) {
                list.push((from, one.clone()));
            }
        }
    }
    list.sort_by_cached_key(|(_, one)| (distance(one, words), !suits(one, part)));
    list
}

/// The screen.
pub(super) fn pick(desk: Desk, pick: Pick) -> AnyView {
    let words = RwSignal::new(String::new());
    let own = own_moves(desk.shell);
    let own = Library {
        kit: own.kit,
        moves: own.moves,
    };
    // In the order of the touches.
    let chosen = RwSignal::new(Vec::<Id>::new());
    let heading = match &pick {
        Pick::Block(at) => {
            let name = desk.now(|plan| plan.blocks.get(*at).map(text::block));
            format!("Moves for {}", isolated(&name.unwrap_or_default()))
        }
        Pick::Instead(id) => {
            let name = desk.now(|plan| plan.move_named(id).map(|one| one.called().to_owned()));
            format!("In place of {}", isolated(&name.unwrap_or_default()))
        }
    };
    let part_of = match &pick {
        Pick::Block(at) => desk.now(|plan| plan.blocks.get(*at).map(|block| block.part)),
        Pick::Instead(_) => None,
    };
    let back = match &pick {
        Pick::Block(_) => "add-moves",
        Pick::Instead(_) => "new-move-here",
    };
    let leave = move || {
        desk.picking.set(None);
        super::focus_soon(back.to_owned());
    };
    let give_up = move || {
        let count = chosen.with_untracked(Vec::len);
        leave();
        if count > 0 {
            desk.told.set(format!(
                "{} not added.",
                text::count(count, "chosen move was", "chosen moves were")
            ));
        }
    };
    // Its heading stays in sight.
    super::focus_nth_soon("[data-testid=find]".to_owned(), 0, |_| {
        window().scroll_to_with_x_and_y(0.0, 0.0);
    });
    let bring = {
        let own = own.clone();
        move |plan: &mut Plan, id: &Id| {
            if plan.move_named(id).is_some() {
                return;
            }
            for of in [&own, library()] {
                if let Some(at) = of.moves.iter().position(|one| one.id == *id) {
                    of.bring(at, plan);
                    return;
                }
            }
        }
    };
    let bring = StoredValue::new(bring);
    let pick = StoredValue::new(pick);
    let put = move |plan: &mut Plan, id: &Id| {
        bring.with_value(|bring| bring(plan, id));
        match pick.get_value() {
            Pick::Block(block) => draft::add_entry(plan, block, id),
            Pick::Instead(from) => draft::replace_move(plan, &from, id),
        }
    };
    let take = move |ids: Vec<Id>| {
        desk.step("", |plan| {
            for id in &ids {
                put(plan, id);
            }
            if let Pick::Instead(_) = pick.get_value() {
                draft::tidy(plan, library());
            }
        });
        leave();
        if let Pick::Instead(_) = pick.get_value() {
            desk.told
                .set("Replaced everywhere. Undo brings the other one back.".to_owned());
        }
    };
    let several = matches!(pick.get_value(), Pick::Block(_));
    let new = move || {
        desk.step("", |plan| {
            // What was chosen before comes along.
            for id in chosen.get_untracked() {
                put(plan, &id);
            }
            let made = draft::new_move(plan);
            put(plan, &made);
        });
        desk.told
            .set("Your new move stands under Moves: give it a name and its notes.".to_owned());
        leave();
    };
    let own = StoredValue::new(own);
    let found = move |words: &str| own.with_value(|own| found(desk, own, words, part_of));
    // Enter in Find: what was chosen, and the first of what is found.
    let enter = move |event: KeyboardEvent| {
        if event.key() != "Enter" || event.is_composing() {
            return;
        }
        event.prevent_default();
        let words = words.get_untracked();
        let mut all = chosen.get_untracked();
        let first = found(&words).into_iter().next();
        if let Some((_, one)) = first.filter(|_| !words.trim().is_empty())
            && !all.contains(&one.id)
        {
            all.push(one.id);
        }
        if !all.is_empty() {
            take(all);
        }
    };
    let list = part(move || {
        let list = found(&words.get());
        if list.is_empty() {
            return view! { <p>"No move has all of these words."</p> }.into_any();
        }
        list.into_iter()
            .map(|(from, one)| {
                let kit: Vec<_> = one
                    .kit
                    .iter()
                    .map(|id| own.with_value(|own| kit_name(desk, own, from, id)))
                    .collect();
                row(from, &one, &kit, chosen, several, take)
            })
            .collect_view()
            .into_any()
    });
    let add = part(move || {
        let count = chosen.with(Vec::len);
        if !several {
            return crate::app::parts::live::nothing();
        }
        let words = match count {
            0 => "Choose moves above".to_owned(),
            n => format!("Add {}", text::count(n, "move", "moves")),
        };
        view! {
            <div class="start-bar">
                <button class="start" data-testid="add-chosen" aria-disabled=(count == 0).to_string()
                    on:click=touch(move || if chosen.with_untracked(|all| !all.is_empty()) { take(chosen.get_untracked()) })>{words}</button>
            </div>
        }
        .into_any()
    });
    view! {
        <header>
            {button("quiet", "leave-pick", "Back to the class", give_up)}
            <h1 dir="auto">{heading}</h1>
        </header>
        <label class="wide">
            <span>"Find: a name, a pattern, kit, “floor”, “no kit”. Enter adds the first one."</span>
            <input type="text" autocomplete="off" spellcheck="false" data-testid="find"
                on:input=move |event: Event| words.set(event_target_value(&event)) on:keydown=enter />
        </label>
        {button("", "new-move", "A move of my own", new)}
        <ul class="plain picks" data-testid="picks">{list}</ul>
        {add}
    }
    .into_any()
}

fn row(
    from: From,
    one: &Move,
    kit: &[String],
    chosen: RwSignal<Vec<Id>>,
    several: bool,
    take: impl Fn(Vec<Id>) + Copy + Send + 'static,
) -> AnyView {
    let id = one.id.clone();
    let mut facts: Vec<String> = Vec::new();
    match from {
        From::Class => facts.push("in this class".into()),
        From::Own => facts.push("your own".into()),
        From::Library => {}
    }
    if let Some(pattern) = one.pattern {
        facts.push(pattern.word().into());
    }
    facts.push(one.effort.word().into());
    facts.push(text::position(one.position).into());
    if one.sided {
        facts.push("one side at a time".into());
    }
    if one.impact == Impact::High {
        facts.push("jumps".into());
    }
    if !kit.is_empty() {
        facts.push(kit.join(" and "));
    }
    let place = {
        let id = id.clone();
        move || chosen.with(|all| all.iter().position(|one| *one == id))
    };
    let pressed = {
        let place = place.clone();
        live(move || place().is_some().to_string())
    };
    let number = live(move || place().map_or_else(String::new, |at| format!("{}. ", at + 1)));
    let handle = format!("pick-{id}");
    let toggle = touch(move || {
        if !several {
            return take(vec![id.clone()]);
        }
        chosen.update(|all| match all.iter().position(|one| *one == id) {
            Some(at) => {
                all.remove(at);
            }
            None => all.push(id.clone()),
        });
    });
    view! {
        <li>
            <button class="choice pick" data-testid=handle aria-pressed=pressed on:click=toggle>
                <strong dir="auto">{number} {one.called().to_owned()}</strong>
                <span class="small">{facts.join(", ")}</span>
                <span class="small" dir="auto">{crate::plan::fill(&one.how, None)}</span>
            </button>
        </li>
    }
    .into_any()
}

/// What a piece of kit is called where the move comes from.
fn kit_name(desk: Desk, own: &Library, from: From, id: &Id) -> String {
    let called = |kit: &[crate::plan::Kit]| {
        let known = kit.iter().find(|kit| kit.id == *id);
        known.map(|kit| kit.called().to_owned())
    };
    let name = match from {
        From::Class => desk.now(|plan| called(&plan.kit)),
        From::Own => called(&own.kit),
        From::Library => called(&library().kit),
    };
    name.unwrap_or_else(|| id.to_string())
}
