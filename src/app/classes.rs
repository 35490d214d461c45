//! What is here to start from.

use leptos::prelude::*;

use super::live::{nothing, part};
use super::session::Unfinished;
use super::{shell, text};
use crate::demos::DEMOS;
use crate::plan::Plan;
use crate::timeline::Timeline;

/// The list of classes.
pub(super) fn classes() -> AnyView {
    let shell = shell();
    let demos = DEMOS
        .iter()
        .filter_map(|file| Plan::from_json(file).ok())
        .map(|plan| {
            let length = text::length(Timeline::new(&plan).total_ms());
            let (title, about) = (plan.title.clone(), plan.about.clone());
            view! {
                <li>
                    <button class="card" on:click=move |_| shell.open(&plan)>
                        <strong>{title}</strong>
                        <span class="figure">{length}</span>
                        <span class="small">{about}</span>
                    </button>
                </li>
            }
        })
        .collect_view();
    view! {
        <main class="page" data-testid="classes">
            <header>
                <h1>"Classes"</h1>
                <p>"A coach hands out a link; this phone times the class. Nothing you do here leaves the phone."</p>
            </header>
            {error_line()}
            {left_off()}
            <section>
                <h2>"Classes to try"</h2>
                <ul class="plain">{demos}</ul>
            </section>
        </main>
    }
    .into_any()
}

/// Why the last link could not be opened.
fn error_line() -> AnyView {
    let error = shell().error;
    part(move || match error.get() {
        Some(message) => {
            view! { <p class="problem" role="alert" data-testid="error">{message}</p> }.into_any()
        }
        None => nothing(),
    })
    .into_any()
}

/// The way back into a class that was left before its end.
pub(super) fn left_off() -> AnyView {
    let shell = shell();
    let left = RwSignal::new(shell.session.unfinished());
    let go_on = move |left: Unfinished| {
        shell.opened.set(Some(left.opened.clone()));
        shell.session.go_on(&left);
    };
    part(move || match left.get() {
        None => nothing(),
        Some(found) => {
            let title = text::or(&found.opened.plan().title, "Untitled class");
            let at = text::clock(found.at.class_ms);
            view! {
                <section class="notice" data-testid="left-off">
                    <p>{format!("You left {title} at {at}.")}</p>
                    <div class="row">
                        <button class="strong" on:click=move |_| go_on(found.clone())>
                            "Go on there"
                        </button>
                        <button on:click=move |_| {
                            shell.session.forget_unfinished();
                            left.set(None);
                        }>"Let it go"</button>
                    </div>
                </section>
            }
            .into_any()
        }
    })
    .into_any()
}

/// Back to the list.
pub(super) fn to_classes() -> AnyView {
    let shell = shell();
    view! {
        <button class="quiet" on:click=move |_| shell.to_classes()>"All classes"</button>
    }
    .into_any()
}
