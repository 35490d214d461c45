//! Stop, I feel unwell: the class stands, is silent, and says what to do.

use leptos::html::Dialog;
use leptos::prelude::*;

use super::super::live::{button, follow};
use super::super::shell;
use crate::run::Input;

/// The dialog, over everything else.
pub(super) fn unwell(open: RwSignal<bool>) -> AnyView {
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
    let go_on = move || {
        open.set(false);
        session.act(Input::Resume);
    };
    let end = move || {
        open.set(false);
        session.act(Input::Stop);
    };
    view! {
        <dialog class="unwell" node_ref=dialog aria-labelledby="unwell-title" data-testid="unwell-help"
            on:close=move |_| {
                open.try_set(false);
                session.speak_up();
            }>
            <h2 id="unwell-title">"The class is stopped"</h2>
            <p>"Sit or lie down. Tell someone who is near."</p>
            <p><strong>
                "Call your local emergency number now at: pain or pressure in the chest, trouble breathing, fainting, a sudden bad headache, weakness on one side, or a heartbeat that does not calm down."
            </strong></p>
            <p>"If it passes within a few minutes: rest, drink some water, and end for today. See a doctor before the next class."</p>
            <div class="row">
                {button("strong", "end", "End the class", end)}
                {button("", "go-on", "I am well, go on", go_on)}
            </div>
        </dialog>
    }
    .into_any()
}
