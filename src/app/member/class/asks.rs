//! Questions over the class: what to do when one feels unwell, and whether to leave.

use leptos::html::Dialog;
use leptos::prelude::*;

use crate::app::parts::live::{button, follow, live};
use crate::app::parts::{Opened, shell, text};
use crate::conductor::Event;
use crate::run::{Input, Phase};

/// Stop, I feel unwell: the class stands, is silent, and says what to do.
pub(super) fn unwell(open: RwSignal<bool>) -> AnyView {
    let session = shell().session;
    let go_on = move || {
        open.set(false);
        session.act(Input::Resume);
    };
    let inside = view! {
        // By the keyboard, too, it is scrolled where it is longer than the screen.
        <div class="asks-text" tabindex="0">{advice()}</div>
        <div class="row">
            {button("strong", "end", "End the class", move || end(open))}
            {button("", "go-on", "I am well, go on", go_on)}
        </div>
    }
    .into_any();
    dialog("unwell-help", "The class is stopped", open, inside)
}

/// What to do. It stays to be read when the class was ended.
pub(in super::super) fn advice() -> AnyView {
    view! {
        <p>"Sit or lie down. Tell someone who is near."</p>
        <p><strong>
            "Call your local emergency number now at: pain or pressure in the chest, trouble breathing, fainting, a sudden bad headache, weakness on one side, or a heartbeat that does not calm down."
        </strong></p>
        <p>"If it passes within a few minutes: rest, drink some water, and end for today. See a doctor before the next class."</p>
    }
    .into_any()
}

/// Whether to leave the class, for who touched the phone's Back. Nothing stops until that is answered.
pub(super) fn leave(unwell: RwSignal<bool>) -> AnyView {
    let (open, session) = (shell().leaving, shell().session);
    open.set(false);
    // Nothing is put over what to do when one feels unwell.
    follow(move || {
        if open.get() && unwell.get_untracked() {
            open.set(false);
        }
    });
    let stands = live(move || {
        match session.moment.get().phase {
            Phase::Before => "The start is still waited for.",
            Phase::Paused => "The class is paused.",
            _ => "The class goes on behind this question.",
        }
        .to_owned()
    });
    let inside = view! {
        <div class="asks-text"><p>{stands}</p></div>
        <div class="row">
            {button("strong", "stay", "Stay in class", move || open.set(false))}
            {button("", "leave", "End the class", move || end(open))}
        </div>
    }
    .into_any();
    dialog("leave-class", "Leave the class?", open, inside)
}

/// Whether the member kept going while the phone was away. The class goes on behind the question.
pub(super) fn away(opened: &Opened, unwell: RwSignal<bool>) -> AnyView {
    let session = shell().session;
    let open = RwSignal::new(false);
    follow(move || {
        let asks = session.away.get().is_some() && !unwell.get();
        open.set(asks && session.moment.get_untracked().phase != Phase::Done);
    });
    let timeline = opened.timeline.clone();
    let words = live(move || {
        let away = session.away.get();
        away.map_or_else(String::new, |away| text::away(&timeline, &away))
    });
    let answer = move |input| {
        open.set(false);
        session.act(input);
    };
    let inside = view! {
        <p>{words}</p>
        <div class="row">
            {button("strong", "kept-going", "I kept going", move || answer(Input::KeptGoing))}
            {button("", "return", "Back to there", move || answer(Input::Return))}
        </div>
    }
    .into_any();
    dialog("away", "Were you away?", open, inside)
}

fn end(open: RwSignal<bool>) {
    open.set(false);
    shell().session.act(Input::Stop);
}

fn dialog(
    id: &'static str,
    heading: &'static str,
    open: RwSignal<bool>,
    inside: AnyView,
) -> AnyView {
    let session = shell().session;
    let dialog = NodeRef::<Dialog>::new();
    follow(move || {
        let Some(dialog) = dialog.get() else { return };
        if open.get() {
            // Refused only where it is open already.
            let _ = dialog.show_modal();
        } else {
            dialog.close();
        }
    });
    view! {
        <dialog class="asks" node_ref=dialog aria-label=heading data-testid=id
            on:close=move |_| {
                open.try_set(false);
                session.feed(Event::AdviceClosed);
            }>
            // It takes the focus, so that what opens is seen from its top.
            <h2 tabindex="-1" autofocus>{heading}</h2>
            {inside}
        </dialog>
    }
    .into_any()
}
