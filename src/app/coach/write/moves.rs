//! The moves and the kit of the class.

use leptos::prelude::*;

use super::fields::{area, choice, line, seconds, switch, texts, words_of};
use super::{Desk, Pick, pick};
use crate::app::parts::live::{button, live, part, touch};
use crate::app::parts::text;
use crate::draft;
use crate::plan::{Choice, Effort, Id, Impact, Level, Move, Pattern, Plan, Position, Word as _};

fn with<T: Default>(plan: &Plan, at: usize, read: impl FnOnce(&Move) -> T) -> T {
    plan.moves.get(at).map(read).unwrap_or_default()
}

fn change(plan: &mut Plan, at: usize, write: impl FnOnce(&mut Move)) {
    if let Some(one) = plan.moves.get_mut(at) {
        write(one);
    }
}

/// The moves, each of which opens to be changed.
pub(super) fn moves(desk: Desk) -> AnyView {
    // Drawn anew when moves or their ways come and go, and not for each letter.
    let frame = Memo::new(move |_| {
        desk.read(|plan| {
            let moves = plan.moves.iter();
            let moves: Vec<(Id, usize)> = moves
                .map(|one| (one.id.clone(), one.options.len()))
                .collect();
            let kit: Vec<Id> = plan.kit.iter().map(|kit| kit.id.clone()).collect();
            (moves, kit)
        })
    });
    let open = RwSignal::new(None::<Id>);
    let list = part(move || {
        let (moves, kit) = frame.get();
        let now = open.get();
        moves
            .iter()
            .enumerate()
            .map(|(at, (id, ways))| one(desk, at, id, *ways, &kit, open, now.as_ref() == Some(id)))
            .collect_view()
            .into_any()
    });
    view! {
        <section>
            <h2>"Moves"</h2>
            <ul class="plain">{list}</ul>
            {button("", "new-move-here", "A move of my own", move || {
                let mut made = None;
                desk.step("", |plan| made = Some(draft::new_move(plan)));
                open.set(made);
            })}
        </section>
    }
    .into_any()
}

fn one(
    desk: Desk,
    at: usize,
    id: &Id,
    ways: usize,
    kit: &[Id],
    open: RwSignal<Option<Id>>,
    is_open: bool,
) -> AnyView {
    let name = live(move || desk.read(|plan| with(plan, at, |one| one.called().to_owned())));
    let facts = {
        let id = id.clone();
        live(move || {
            desk.read(|plan| {
                with(plan, at, |one| {
                    let mut facts = vec![
                        one.effort.word().to_owned(),
                        text::position(one.position).to_owned(),
                    ];
                    facts.extend(one.pattern.map(|pattern| pattern.word().to_owned()));
                    if one.demo > 0 {
                        facts.push(format!("shown for {} s", one.demo));
                    }
                    if !draft::is_used(plan, &id) {
                        facts.push("not used".into());
                    }
                    facts.join(", ")
                })
            })
        })
    };
    let toggle = {
        let id = id.clone();
        touch(move || {
            open.update(|now| {
                *now = if now.as_ref() == Some(&id) {
                    None
                } else {
                    Some(id.clone())
                }
            })
        })
    };
    let inside = is_open.then(|| fields(desk, at, id, ways, kit));
    view! {
        <li class="writes" data-testid="write-move">
            <button class="card" aria-expanded=is_open.to_string() data-testid=format!("move-{at}") on:click=toggle>
                <strong dir="auto">{name}</strong>
                <span></span>
                <span class="small">{facts}</span>
            </button>
            {inside}
        </li>
    }
    .into_any()
}

fn fields(desk: Desk, at: usize, id: &Id, ways: usize, kit: &[Id]) -> AnyView {
    let handle = |word: &str| format!("move-{word}-{at}");
    let mut patterns = words_of::<Pattern>();
    patterns.insert(0, (String::new(), "Not said".to_owned()));
    let uses = kit_choices(
        desk,
        kit,
        format!("Kit of {id}"),
        handle("kit"),
        move |plan| with(plan, at, |one| one.kit.clone()),
        move |plan, ids| change(plan, at, |one| one.kit = ids),
    );
    let ways = (0..ways)
        .map(|way| way_fields(desk, at, way, kit))
        .collect_view();
    let add_way = move |level: Level, handle: &'static str, words: &'static str| {
        button("", handle, words, move || {
            desk.step("", |plan| {
                change(plan, at, |one| {
                    let id = crate::plan::free_id(level.word(), |id| {
                        one.options.iter().any(|way| &*way.id == id)
                    });
                    let kit = one.kit.clone();
                    one.options.push(Choice {
                        id,
                        level,
                        kit,
                        ..Choice::default()
                    });
                });
            });
        })
    };
    let instead = id.clone();
    let gone = id.clone();
    view! {
        <div class="inside">
            {line(desk, "Name", handle("name"), move |plan| with(plan, at, |one| one.name.clone()), move |plan, to| change(plan, at, |one| to.clone_into(&mut one.name)))}
            {area(desk, "How: the start, then two or three steps", handle("how"), move |plan| with(plan, at, |one| one.how.clone()), move |plan, to| change(plan, at, |one| to.clone_into(&mut one.how)))}
            {texts(desk, "Cues, one on each line", handle("notes"), move |plan| with(plan, at, |one| one.notes.clone()), move |plan, to| change(plan, at, |one| one.notes = to))}
            {line(desk, "Caution", handle("caution"), move |plan| with(plan, at, |one| one.caution.clone()), move |plan, to| change(plan, at, |one| to.clone_into(&mut one.caution)))}
            {seconds(desk, "Demo before its first round, in seconds", handle("demo"), move |plan| with(plan, at, |one| Some(one.demo.into())), move |plan, to| change(plan, at, |one| one.demo = to.map_or(0, |to| to.at(1))))}
            {choice(desk, "Pattern", handle("pattern"), patterns, move |plan| with(plan, at, |one| one.pattern.map_or("", Pattern::word).to_owned()), move |plan, word| change(plan, at, |one| one.pattern = Pattern::from_word(word)))}
            {choice(desk, "Effort", handle("effort"), words_of::<Effort>(), move |plan| with(plan, at, |one| one.effort.word().to_owned()), move |plan, word| change(plan, at, |one| one.effort = Effort::from_word(word).unwrap_or_default()))}
            {choice(desk, "Position", handle("position"), words_of::<Position>(), move |plan| with(plan, at, |one| one.position.word().to_owned()), move |plan, word| change(plan, at, |one| one.position = Position::from_word(word).unwrap_or_default()))}
            {switch(desk, "One side at a time", handle("sided"), move |plan| with(plan, at, |one| one.sided), move |plan, on| change(plan, at, |one| one.sided = on))}
            {switch(desk, "The feet leave the ground", handle("impact"), move |plan| with(plan, at, |one| one.impact == Impact::High), move |plan, on| change(plan, at, |one| one.impact = if on { Impact::High } else { Impact::Low }))}
            {uses}
            <p class="small">"{side} and {other} in a text become the side that works and the other one."</p>
            <h3>"Ways to do it"</h3>
            <ul class="plain">{ways}</ul>
            <div class="row">
                {add_way(Level::Easier, "add-easier", "An easier way")}
                {add_way(Level::Harder, "add-harder", "A harder way")}
                {add_way(Level::Other, "add-other", "Another way")}
            </div>
            <div class="row">
                {button("", "replace-move", "Replace it everywhere", move || desk.picking.set(Some(Pick::Instead(instead.clone()))))}
                {button("", "keep-own", "Keep with my own moves", move || {
                    if let Some(one) = desk.now(|plan| plan.moves.get(at).cloned()) {
                        pick::keep_own(desk, &one);
                    }
                })}
                {button("", "remove-move", "Remove it", move || {
                    if desk.now(|plan| draft::is_used(plan, &gone)) {
                        desk.told.set("A block uses this move. Take it out there, or replace it.".to_owned());
                    } else {
                        desk.step("", |plan| plan.moves.retain(|one| one.id != gone));
                    }
                })}
            </div>
        </div>
    }
    .into_any()
}

fn way_fields(desk: Desk, at: usize, way: usize, kit: &[Id]) -> AnyView {
    let handle = |word: &str| format!("way-{word}-{at}-{way}");
    let read = move |plan: &Plan| {
        with(plan, at, |one| {
            one.options.get(way).cloned().unwrap_or_default()
        })
    };
    let set = move |plan: &mut Plan, write: &dyn Fn(&mut Choice)| {
        change(plan, at, |one| {
            if let Some(way) = one.options.get_mut(way) {
                write(way);
            }
        });
    };
    let uses = kit_choices(
        desk,
        kit,
        "Kit of this way".to_owned(),
        handle("kit"),
        move |plan| read(plan).kit,
        move |plan, ids| set(plan, &|way| way.kit.clone_from(&ids)),
    );
    view! {
        <li class="part">
            {choice(desk, "Level", handle("level"), words_of::<Level>(), move |plan| read(plan).level.word().to_owned(), move |plan, word| set(plan, &|way| way.level = Level::from_word(word).unwrap_or_default()))}
            {line(desk, "Name of the way", handle("name"), move |plan| read(plan).name, move |plan, to| set(plan, &|way| to.clone_into(&mut way.name)))}
            {texts(desk, "Its cues, one on each line", handle("notes"), move |plan| read(plan).notes, move |plan, to| set(plan, &|way| way.notes.clone_from(&to)))}
            {uses}
            {switch(desk, "One side at a time, changing at half time", handle("half"), move |plan| read(plan).switch_at_half, move |plan, on| set(plan, &|way| way.switch_at_half = on))}
            {button("quiet", "remove-way", "Remove this way", move || desk.step("", |plan| change(plan, at, |one| {
                if way < one.options.len() {
                    one.options.remove(way);
                }
            })))}
        </li>
    }
    .into_any()
}

/// Which of the class's kit something needs.
fn kit_choices(
    desk: Desk,
    kit: &[Id],
    label: String,
    handle: String,
    get: impl Fn(&Plan) -> Vec<Id> + Copy + Send + Sync + 'static,
    set: impl Fn(&mut Plan, Vec<Id>) + Copy + Send + Sync + 'static,
) -> AnyView {
    if kit.is_empty() {
        return view! { <p class="small">"Kit that a move needs is listed below, under Kit."</p> }
            .into_any();
    }
    let choices = kit
        .iter()
        .map(|id| {
            let (own, named, id) = (id.clone(), id.clone(), id.clone());
            let pressed = live(move || desk.read(|plan| get(plan).contains(&own)).to_string());
            let name = live(move || desk.read(|plan| plan.kit_named(&named).map_or_else(String::new, |kit| kit.called().to_owned())));
            let handle = format!("{handle}-{id}");
            let toggle = touch(move || {
                desk.step("", |plan| {
                    let mut ids = get(plan);
                    if ids.contains(&id) {
                        ids.retain(|one| *one != id);
                    } else {
                        ids.push(id.clone());
                    }
                    set(plan, ids);
                });
            });
            view! { <button class="choice" data-testid=handle aria-pressed=pressed on:click=toggle>{name}</button> }.into_any()
        })
        .collect_view();
    view! {
        <div role="group" aria-label=label>
            <p class="small">"Its kit"</p>
            <div class="choices">{choices}</div>
        </div>
    }
    .into_any()
}

/// The kit of the class.
pub(super) fn kit(desk: Desk) -> AnyView {
    let frame = Memo::new(move |_| {
        desk.read(|plan| {
            plan.kit
                .iter()
                .map(|kit| kit.id.clone())
                .collect::<Vec<Id>>()
        })
    });
    let list = part(move || {
        let kit = frame.get();
        if kit.is_empty() {
            return view! { <p>"None. Moves of the library bring theirs along."</p> }.into_any();
        }
        let rows = (0..kit.len())
            .map(|at| {
                view! {
                    <li class="part">
                        {line(desk, "What it is", format!("kit-name-{at}"), move |plan| plan.kit.get(at).map_or_else(String::new, |kit| kit.name.clone()), move |plan, to| if let Some(kit) = plan.kit.get_mut(at) { to.clone_into(&mut kit.name); })}
                        {texts(desk, "What can be used instead, one on each line", format!("kit-instead-{at}"), move |plan| plan.kit.get(at).map_or_else(Vec::new, |kit| kit.instead.clone()), move |plan, to| if let Some(kit) = plan.kit.get_mut(at) { kit.instead = to; })}
                        {button("quiet", "remove-kit", "Take it off the list", move || desk.step("", |plan| plan.remove_kit(at)))}
                    </li>
                }
                .into_any()
            })
            .collect_view();
        view! { <ul class="plain">{rows}</ul> }.into_any()
    });
    view! {
        <section>
            <h2>"Kit"</h2>
            {list}
            {button("", "new-kit", "More kit", move || desk.step("", draft::new_kit))}
        </section>
    }
    .into_any()
}
