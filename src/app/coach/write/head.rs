//! What stands above both faces of the editor.

use leptos::prelude::*;

use super::{Desk, Face, fit, look};
use crate::app::parts::live::{button, live, nothing, part, touch};
use crate::app::parts::notices::fault_line;
use crate::app::parts::shape::shape;
use crate::app::parts::{Screen, text};

/// What stands above both faces.
pub(super) fn head(desk: Desk) -> AnyView {
    let face = move |to: Face, id: &'static str, words: &'static str| {
        let pressed = live(move || (desk.face.get() == to).to_string());
        view! {
            <button class="choice" data-testid=id aria-pressed=pressed
                on:click=touch(move || if !desk.blocked() { desk.face.set(to) })>{words}</button>
        }
        .into_any()
    };
    view! {
        <header>
            {button("quiet", "to-desk", "All that you write", move || desk.shell.screen.set(Screen::Desk))}
            <h1 dir="auto">{live(move || desk.read(text::title))}</h1>
        </header>
        <section class="against">
            <p class="figure" data-testid="against-slot">{live(move || against_slot(desk))}</p>
            {part(move || shape(&desk.timeline.get(), false))}
        </section>
        <div class="row tools">
            {button("", "fit", "Fit to the slot", move || desk.fitting.update(|on| *on = !*on))}
            {button("", "try", "Try it", move || desk.try_out(None))}
            <a class="button" href="#look" data-testid="to-look" on:click=look::to_look>{live(move || look::count(desk))}</a>
        </div>
        {fault_line()}
        {part(move || if desk.fitting.get() { fit::fit(desk) } else { nothing() })}
        <div class="choices two" role="group" aria-label="How to write">
            {face(Face::Form, "face-form", "By form")}
            {face(Face::Plain, "face-text", "As text")}
        </div>
    }
    .into_any()
}

/// The class's length, held against the slot.
pub(super) fn against_slot(desk: Desk) -> String {
    let against = length_against_slot(desk);
    match desk.wrong.with(Option::is_some) {
        true => format!("As last read: {against}"),
        false => against,
    }
}

fn length_against_slot(desk: Desk) -> String {
    let total = desk.timeline.with(|timeline| timeline.total_ms());
    let slot = desk.read(|plan| plan.slot);
    let long = text::clock(total);
    match slot.map(|slot| i64::from(slot) * 1000) {
        None => format!("{long} long"),
        Some(slot) if slot == total => format!("{long}: exactly the slot"),
        Some(slot) if slot > total => {
            format!(
                "{long} of {}: {} to fill",
                text::clock(slot),
                text::clock(slot - total)
            )
        }
        Some(slot) => {
            format!(
                "{long} of {}: {} too long",
                text::clock(slot),
                text::clock(total - slot)
            )
        }
    }
}
