//! The coach's desk: a class is written here, looked over, fitted to its slot and tried.

mod blocks;
mod fields;
mod fit;
mod head;
mod list;
mod look;
mod moves;
mod pick;
mod plain;
mod state;

use leptos::prelude::*;
use wasm_bindgen::JsCast as _;
use web_sys::KeyboardEvent;

use crate::app::parts::live::{button, follow, live, part, touch};
use crate::app::parts::shell;
use crate::device::{Listener, listen_window};
use crate::draft::Draft;
use crate::plan::unturned;
use head::{against_slot, head};

pub use list::{desk, write_on};
pub(super) use state::{
    Desk, Face, Pick, fault_words, focus_in_block, focus_nth_soon, focus_soon, free_key,
    place_words,
};

/// The editor of one class.
pub fn write(key: &str) -> AnyView {
    let shell = shell();
    let Some(stored) = shell.store.with_value(|store| store.draft(key)) else {
        return list::desk();
    };
    let desk = Desk::new(&stored);
    // The phone's Back closes the list of moves.
    let (over, picking) = (shell.over, desk.picking);
    follow(move || over.set(picking.with(Option::is_some)));
    follow(move || {
        if !over.get() && picking.with_untracked(Option::is_some) {
            picking.set(None);
        }
    });
    on_cleanup(move || over.set(false));
    let keys = StoredValue::new_local(undo_by_key(desk));
    on_cleanup(move || keys.dispose());
    let body = part(move || {
        if let Some(pick) = desk.picking.get() {
            return pick::pick(desk, pick);
        }
        let face = match desk.face.get() {
            Face::Form => form(desk),
            Face::Plain => plain::plain(desk),
        };
        view! { {face} {foot(desk)} }.into_any()
    });
    view! {
        <main class="page write" data-testid="write">{body}</main>
    }
    .into_any()
}

/// Ctrl+Z takes a step back, and Ctrl+Shift+Z or Ctrl+Y takes it again. Where a text is being typed the
/// browser does that itself, letter by letter.
fn undo_by_key(desk: Desk) -> [Option<Listener>; 3] {
    let typed = StoredValue::new(false);
    let keys = listen_window("keydown", move |event| {
        let Some(key) = event.dyn_ref::<KeyboardEvent>() else {
            return;
        };
        let in_text = document().active_element().is_some_and(|element| {
            element
                .matches("input[type=text], textarea")
                .unwrap_or(false)
        });
        let held = (key.ctrl_key() || key.meta_key()) && !key.alt_key();
        if !held
            || key.is_composing()
            || (in_text && typed.get_value())
            || desk.picking.with_untracked(Option::is_some)
        {
            return;
        }
        match (key.key().to_ascii_lowercase().as_str(), key.shift_key()) {
            ("z", false) => desk.undo(),
            ("z", true) | ("y", false) => desk.redo(),
            _ => return,
        }
        event.prevent_default();
    });
    [
        keys,
        listen_window("input", move |_| typed.set_value(true)),
        listen_window("focusin", move |_| typed.set_value(false)),
    ]
}

/// What stays in reach of the thumb.
fn foot(desk: Desk) -> AnyView {
    let gone = move |can: fn(&Draft) -> bool| live(move || (!desk.draft.with(can)).to_string());
    view! {
        <div class="start-bar foot">
            <p class="figure" aria-hidden="true">{live(move || against_slot(desk))}</p>
            <p class="told" role="status" data-testid="told">{live(move || told(desk))}</p>
            <div class="row">
                <button data-testid="undo" aria-disabled=gone(Draft::can_undo) on:click=touch(move || desk.undo())>"Undo"</button>
                <button data-testid="redo" aria-disabled=gone(Draft::can_redo) on:click=touch(move || desk.redo())>"Redo"</button>
                {button("strong", "to-hand-out", "Hand out", move || desk.hand_out())}
            </div>
        </div>
    }
    .into_any()
}

/// What was told last, or what of the text can't be read.
fn told(desk: Desk) -> String {
    let told = desk.told.get();
    let told = match desk.wrong.get() {
        Some(e) if told.is_empty() => e.to_string(),
        _ => told,
    };
    unturned(&told)
}

fn form(desk: Desk) -> AnyView {
    view! {
        {head(desk)}
        {class_fields(desk)}
        {blocks::blocks(desk)}
        {moves::moves(desk)}
        {moves::kit(desk)}
        {look::look(desk)}
    }
    .into_any()
}

fn class_fields(desk: Desk) -> AnyView {
    use fields::{area, line, minutes, seconds};
    let slots = [15, 20, 30, 45]
        .into_iter()
        .map(|minutes: u32| {
            let id: &'static str = match minutes {
                15 => "slot-15",
                20 => "slot-20",
                30 => "slot-30",
                _ => "slot-45",
            };
            let pressed = live(move || desk.read(|plan| plan.slot == Some(minutes * 60)).to_string());
            let set = touch(move || desk.step("", |plan| plan.slot = Some(minutes * 60)));
            view! { <button class="choice" data-testid=id aria-pressed=pressed on:click=set>{format!("{minutes} min")}</button> }
                .into_any()
        })
        .collect_view();
    view! {
        <section>
            <h2>"The class"</h2>
            {line(desk, "Title", "title", |plan| plan.title.clone(), |plan, text| text.clone_into(&mut plan.title))}
            <div class="slots">
                {minutes(desk, "Slot, in minutes", "slot", |plan| plan.slot.map(Into::into), |plan, list| plan.slot = list.map(|list| list.at(1)).filter(|slot| *slot > 0))}
                <div class="choices slot" role="group" aria-label="Usual slots">{slots}</div>
            </div>
            <details class="more">
                <summary>"More about the class"</summary>
                {line(desk, "Coach", "coach", |plan| plan.coach.clone(), |plan, text| text.clone_into(&mut plan.coach))}
                {area(desk, "A few words about it", "about", |plan| plan.about.clone(), |plan, text| text.clone_into(&mut plan.about))}
                {seconds(desk, "To get ready before the start, in seconds", "ready", |plan| Some(plan.ready.into()), |plan, list| plan.ready = list.map_or(0, |list| list.at(1)))}
                {seconds(desk, "From the start of your recording to class time 0, in seconds", "recording", |plan| plan.recording.map(Into::into), |plan, list| plan.recording = list.map(|list| list.at(1)))}
            </details>
        </section>
    }
    .into_any()
}
