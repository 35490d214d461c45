//! The class as text: typed, read, and taken over when it is right.

use leptos::html::Textarea;
use leptos::prelude::*;
use web_sys::Event;

use super::head::head;
use super::{Desk, look};
use crate::app::parts::library;
use crate::app::parts::live::{button, follow, nothing, part};
use crate::notation;

/// The page on the notation, which the app carries with it.
const PAGE: &str = include_str!("../../../notation/NOTATION.md");

/// The page as it is read, without the marks of its own form.
fn page() -> String {
    let lines = PAGE.lines().filter(|line| !line.starts_with("```"));
    let plain = lines.map(|line| {
        line.trim_start_matches('#')
            .replace("**", "")
            .replace('`', "")
    });
    plain.collect::<Vec<_>>().join("\n")
}

/// What is typed within this time is taken back together.
const STEP_MS: i64 = 4_000;

/// The face.
pub(super) fn plain(desk: Desk) -> AnyView {
    let field = NodeRef::<Textarea>::new();
    let wrong = desk.wrong;
    // Typing changes the class as soon as the text is one; what typing makes of the class does not
    // change the text under the coach's hands.
    let own = StoredValue::new(false);
    let typed = move |event: Event| {
        let text = event_target_value(&event);
        desk.raw.set_value(text.clone());
        match notation::draft(&text, library()) {
            Ok(mut plan) => {
                wrong.set(None);
                // So many seconds of typing are a step.
                let about = format!("text {}", desk.shell.session.now() / STEP_MS);
                let changed = desk.change(&about, |now| {
                    // The class keeps its name; another class has one of its own.
                    plan.id = desk.key.get_value();
                    plan.revision = plan.revision.max(now.revision);
                    *now = plan;
                });
                own.set_value(changed);
            }
            Err(e) => {
                wrong.set(Some(e));
                desk.keep();
            }
        }
    };
    let first = if wrong.with_untracked(Option::is_some) {
        desk.raw.get_value()
    } else {
        desk.now(|plan| notation::write(plan, library()))
    };
    let again = move || {
        desk.dropped.set(Some(desk.raw.get_value()));
        wrong.set(None);
        if let Some(field) = field.get_untracked() {
            field.set_value(&desk.now(|plan| notation::write(plan, library())));
        }
        desk.told.set(String::new());
        desk.keep();
    };
    let bring_back = move || {
        let Some(text) = desk.dropped.get_untracked() else {
            return;
        };
        desk.dropped.set(None);
        if let Some(field) = field.get_untracked() {
            field.set_value(&text);
        }
        wrong.set(notation::draft(&text, library()).err());
        desk.raw.set_value(text);
        desk.keep();
    };
    // What changed the class from elsewhere changes the text.
    follow(move || {
        let text = desk.read(|plan| notation::write(plan, library()));
        let by_typing = own.get_value();
        own.set_value(false);
        if !by_typing
            && wrong.with_untracked(Option::is_none)
            && let Some(field) = field.get_untracked()
            && field.value() != text
        {
            field.set_value(&text);
        }
    });
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
    let dropped = part(move || {
        if desk.dropped.with(Option::is_none) || wrong.with(Option::is_some) {
            return nothing();
        }
        view! {
            <p class="notice row">
                <span>"The class is as it could last be read."</span>
                {button("", "bring-back", "Bring what I typed back", bring_back)}
            </p>
        }
        .into_any()
    });
    let problem = part(move || {
        match wrong.get() {
        None => match desk.unfinished.get() {
            None => view! { <p class="small">"The text is the class."</p> }.into_any(),
            Some(e) => view! { <p class="small">{format!("Not finished yet: {}", super::place_words(desk, &e))}</p> }.into_any(),
        },
        Some(e) => view! {
            <div class="problem" data-testid="text-problem">
                <p>{e.to_string()}</p>
                <div class="row">
                    {button("", "go-to-line", format!("Go to line {}", e.line), go)}
                    {button("", "drop-text", "Back to how it was", again)}
                </div>
            </div>
        }
        .into_any(),
    }
    });
    view! {
        {head(desk)}
        <section>
            <label class="wide">
                <span>"The class as text"</span>
                <textarea class="plain-text" rows="24" spellcheck="false" autocapitalize="off" dir="auto" node_ref=field
                    data-testid="plain-text" on:input=typed>{first}</textarea>
            </label>
            <div>{problem} {dropped}</div>
            <details class="more">
                <summary>"The notation on one page"</summary>
                <pre class="notation">{page()}</pre>
            </details>
        </section>
        {look::look(desk)}
    }
    .into_any()
}
