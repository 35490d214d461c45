//! The class as text: typed, read, and taken over when it is right.

use leptos::html::Textarea;
use leptos::prelude::*;
use web_sys::Event;

use super::super::library;
use super::super::live::{button, live, part};
use super::{Desk, Face, head};
use crate::notation;

/// The page on the notation, which the app carries with it.
const PAGE: &str = include_str!("../../notation/NOTATION.md");

/// The face.
pub(super) fn plain(desk: Desk) -> AnyView {
    let field = NodeRef::<Textarea>::new();
    let wrong = RwSignal::new(None::<notation::NotationError>);
    // Typing changes the class as soon as the text is one; what the class is does not change the
    // text under the coach's hands.
    let typed = move |event: Event| {
        let text = event_target_value(&event);
        match notation::draft(&text, library()) {
            Ok(mut plan) => {
                wrong.set(notation::read(&text, library()).err());
                desk.step("text", |now| {
                    // A text that does not say so is no other class.
                    if plan.id.is_empty() {
                        plan.id.clone_from(&now.id);
                    }
                    plan.revision = plan.revision.max(now.revision);
                    *now = plan;
                });
            }
            Err(e) => wrong.set(Some(e)),
        }
    };
    let first = desk.now(|plan| notation::write(plan, library()));
    let again = move || {
        if let Some(field) = field.get_untracked() {
            field.set_value(&desk.now(|plan| notation::write(plan, library())));
        }
        wrong.set(None);
    };
    let go = move || {
        let (Some(field), Some(e)) = (field.get_untracked(), wrong.get_untracked()) else {
            return;
        };
        let text = field.value();
        // The browser counts UTF-16 units.
        let units = |text: &str| text.encode_utf16().count() as u32;
        let before: String = text.split_inclusive('\n').take(e.line - 1).collect();
        let line = text.lines().nth(e.line - 1).unwrap_or_default();
        let _ = field.focus();
        let _ = field.set_selection_range(units(&before), units(&before) + units(line));
    };
    let problem = part(move || match wrong.get() {
        None => view! { <p class="small">"The text is the class."</p> }.into_any(),
        Some(e) => view! {
            <div class="problem" data-testid="text-problem">
                <p>{e.to_string()}</p>
                {button("", "go-to-line", format!("Go to line {}", e.line), go)}
            </div>
        }
        .into_any(),
    });
    view! {
        {head(desk)}
        <section>
            <label class="wide">
                <span>"The class as text"</span>
                <textarea class="plain-text" rows="24" spellcheck="false" autocapitalize="off" dir="auto" node_ref=field
                    data-testid="plain-text" on:input=typed>{first}</textarea>
            </label>
            <div role="status">{problem}</div>
            <div class="row">
                {button("", "rewrite", "Write the text anew from the class", again)}
                {button("", "to-form", "Go on by form", move || desk.face.set(Face::Form))}
            </div>
            <details class="more">
                <summary>"The notation on one page"</summary>
                <pre class="notation">{PAGE}</pre>
            </details>
        </section>
        <p class="sr">{live(move || desk.told.get())}</p>
    }
    .into_any()
}
