//! What several screens tell: why a class is not kept, and that one was left or runs elsewhere.

use leptos::prelude::*;

use super::context::shell;
use super::live::{button, nothing, part};
use super::text;
use crate::conductor::{Elsewhere, Event, Left, Unreadable};
use crate::plan::{isolated, unturned};

/// Why the last class is not kept.
pub fn fault_line() -> AnyView {
    let fault = shell().fault;
    part(move || match fault.get() {
        Some(message) => {
            view! { <p class="problem" role="status" data-testid="fault">{unturned(&message)}</p> }
                .into_any()
        }
        None => nothing(),
    })
    .into_any()
}

/// A class that was left before its end, or that runs in another tab.
pub fn left_off() -> AnyView {
    let session = shell().session;
    session.feed(Event::Look);
    part(move || {
        if let Some(other) = session.elsewhere.get() {
            return elsewhere(&other);
        }
        if let Some(why) = session.unreadable.get() {
            return unreadable(why);
        }
        match session.left.get() {
            Some(left) => left_class(&left),
            None => nothing(),
        }
    })
    .into_any()
}

fn left_class(left: &Left) -> AnyView {
    let session = shell().session;
    let now = session.now();
    let title = isolated(&left.opened.title());
    let class_ms = left.at(now).class_ms;
    let at = text::clock(class_ms.max(0));
    let (words, resume) = if class_ms < 0 {
        (
            format!("You left {title} before it began."),
            text::resume(class_ms),
        )
    } else if left.in_step(now) {
        (
            format!("{title} goes on without you: it is at {at} now."),
            "Join it there".to_owned(),
        )
    } else {
        (format!("You left {title} at {at}."), text::resume(class_ms))
    };
    view! {
        <section class="notice" data-testid="left-off">
            <p>{words}</p>
            <div class="row">
                {button("strong", "resume-left", resume, move || session.feed(Event::ResumeLeft))}
                {button("", "discard-left", "Discard", move || session.feed(Event::DiscardLeft))}
            </div>
            <p class="small">"If you discard it, what you did of it goes to the history."</p>
        </section>
    }
    .into_any()
}

/// A class that was left and can't be read: it is kept, and a newer app or a network may help.
fn unreadable(why: Unreadable) -> AnyView {
    let words = match why {
        Unreadable::Newer => {
            "You left a class that a newer Rungbook keeps. Update the app to resume it; it is not touched until then."
        }
        Unreadable::Class => {
            "You left a class that can’t be read without the exercise library. Open the app with a network to resume it; it is kept until then."
        }
        Unreadable::Damaged => {
            "You left a class, and what was stored of it is damaged. It can’t be resumed; it is kept as it is."
        }
    };
    view! { <p class="notice" role="status" data-testid="left-unreadable">{words}</p> }.into_any()
}

/// The way to a class that runs in another tab.
fn elsewhere(other: &Elsewhere) -> AnyView {
    let session = shell().session;
    let now = session.now();
    let words = match &other.class {
        Some(left) => format!(
            "{} runs in another tab or window of this browser, at {}.",
            isolated(&left.opened.title()),
            text::clock(left.at(now).class_ms.max(0))
        ),
        None => "A class runs in another tab or window of this browser.".to_owned(),
    };
    let here = other.class.is_some().then(|| {
        button("", "take-over", "Resume it here", move || {
            session.feed(Event::TakeOver)
        })
    });
    let end = other.refused.then(|| {
        button(
            "strong",
            "end-other",
            "End it and start this one",
            move || session.feed(Event::EndOther),
        )
    });
    view! {
        <section class="notice" role="alert" data-testid="elsewhere">
            <p>{words}</p>
            <div class="row">{end} {here}</div>
        </section>
    }
    .into_any()
}
