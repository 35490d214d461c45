//! What is here to start from.

use leptos::ev::SubmitEvent;
use leptos::html::Input;
use leptos::prelude::*;
use web_sys::{DragEvent, File};

use crate::app::parts::buttons::to_history;
use crate::app::parts::live::{button, nothing, part, touch, way_back};
use crate::app::parts::notices::{fault_line, left_off};
use crate::app::parts::offline::update_offer;
use crate::app::parts::{Opened, Screen, Shell, shell, text};
use crate::demos::DEMOS;
use crate::device::{Store, chosen_file, read_file, save_file};
use crate::plan::{limits, unturned};
use crate::stored::StoredClass;

/// The list of classes.
pub fn classes() -> AnyView {
    let shell = shell();
    let drop_file = move |event: DragEvent| {
        event.prevent_default();
        let files = event.data_transfer().and_then(|moved| moved.files());
        if let Some(file) = files.and_then(|files| files.get(0)) {
            open_file(shell, file);
        }
    };
    let demos = DEMOS
        .iter()
        .filter_map(|link| Opened::read(link).ok())
        .map(|opened| {
            let plan = opened.plan();
            let length = text::length(opened.timeline.total_ms());
            let (title, about) = (plan.title.clone(), plan.about.clone());
            view! {
                <li>
                    <button class="card" on:click=touch(move || shell.open(opened.clone()))>
                        <strong dir="auto">{title}</strong>
                        <span class="figure">{length}</span>
                        <span class="small" dir="auto">{about}</span>
                    </button>
                </li>
            }
        })
        .collect_view();
    view! {
        <main
            class="page"
            data-testid="classes"
            on:dragover=|event| event.prevent_default()
            on:drop=drop_file
        >
            <header>
                <h1>"Classes"</h1>
                <div class="row">
                    {to_history()}
                    {button("quiet", "to-desk", "Write a class", move || shell.screen.set(Screen::Desk))}
                </div>
                <p>"A coach hands out a link; this phone times the class. Nothing you do here leaves the phone."</p>
            </header>
            {error_line()}
            {left_off()}
            {update_offer()}
            {on_this_phone()}
            {open_class()}
            <section>
                <h2>"Classes to try"</h2>
                <ul class="plain">{demos}</ul>
            </section>
        </main>
    }
    .into_any()
}

pub fn open_file(shell: Shell, file: File) {
    read_file(file, limits::FILE_BYTES, move |text| match text {
        Some(text) if could_be(&text) => shell.open_text(text),
        Some(_) => shell.refuse(
            "This is no plan file. A class as text is brought in under “Write a class”.".to_owned(),
        ),
        None => shell.refuse("This file can't be read, or is larger than any class.".to_owned()),
    });
}

/// Whether a file could be a plan, or hold the link of one.
fn could_be(text: &str) -> bool {
    let text = text.trim();
    let word = |letter: char| letter.is_ascii_alphanumeric() || "-_".contains(letter);
    text.starts_with('{') || text.contains("#plan=") || (text.len() > 30 && text.chars().all(word))
}

/// The ways in: a pasted link, a file.
fn open_class() -> AnyView {
    let shell = shell();
    let field = NodeRef::<Input>::new();
    let paste = move |event: SubmitEvent| {
        event.prevent_default();
        if let Some(field) = field.get_untracked() {
            shell.open_link(&field.value());
        }
    };
    let choose = move |event: web_sys::Event| {
        if let Some(file) = chosen_file(&event) {
            open_file(shell, file);
        }
    };
    view! {
        <section>
            <h2>"Open a class"</h2>
            <form class="row" on:submit=paste>
                <label class="wide">
                    <span>"The coach's link"</span>
                    <input type="text" node_ref=field autocomplete="off" spellcheck="false" data-testid="link-field" />
                </label>
                <button data-testid="open-link">"Open"</button>
            </form>
            <label class="wide">
                <span>"or a plan file"</span>
                <input type="file" accept=".json,application/json" on:change=choose data-testid="file-field" />
            </label>
        </section>
    }
    .into_any()
}

/// What is kept here.
fn on_this_phone() -> AnyView {
    let shell = shell();
    let kept = RwSignal::new(shell.store.with_value(Store::classes));
    let removed = RwSignal::new(None::<StoredClass>);
    let again = move || kept.set(shell.store.with_value(Store::classes));
    let remove = move |class: StoredClass| {
        shell
            .store
            .with_value(|store| store.remove_class(&class.key));
        removed.set(Some(class));
        again();
    };
    let undo = move || {
        if let Some(class) = removed.get_untracked() {
            let back = shell.store.with_value(|store| store.keep_class(&class));
            shell.fault.set(back.err().map(|e| e.to_string()));
            removed.set(None);
            again();
        }
    };
    let list = part(move || {
        kept.get()
            .into_iter()
            .map(|class| kept_class(shell, class, remove))
            .collect_view()
            .into_any()
    });
    let back = way_back(
        move || removed.with(Option::is_some),
        "The class is removed.",
        "undo-remove",
        undo,
    );
    view! {
        {fault_line()}
        <section class="kept" class:none=move || kept.with(Vec::is_empty) && removed.with(Option::is_none)>
            <h2>"On this phone"</h2>
            {back}
            <ul class="plain">{list}</ul>
        </section>
    }
    .into_any()
}

fn kept_class(
    shell: Shell,
    class: StoredClass,
    remove: impl Fn(StoredClass) + Copy + Send + 'static,
) -> AnyView {
    let taken = class.clone();
    let away = move || remove(taken.clone());
    let Ok(mut opened) = Opened::read(&class.source) else {
        return view! {
            <li class="kept-class">
                <p>{format!("“{}” was damaged on this phone and can't be opened. Ask the coach for the link again.", class.key)}</p>
                {button("", "", "Remove", away)}
            </li>
        }
        .into_any();
    };
    let (title, length) = (opened.title(), text::length(opened.timeline.total_ms()));
    let now = shell.session.now();
    let starts = opened.unless_over(class.at, now);
    let used = match starts {
        Some(at) if at <= now => {
            let end = at + opened.timeline.total_ms();
            format!("runs now, until {}", text::time(end))
        }
        Some(at) => format!("starts {}", text::instant(at)),
        None => format!("last opened {}", text::day(class.used)),
    };
    opened.at = starts;
    let file = opened.clone();
    let save = move || {
        let name = file.file(".rungbook.json");
        if !save_file(&name, "application/json", &file.plan().to_json()) {
            shell
                .fault
                .set(Some("This browser can't save a file.".to_owned()));
        }
    };
    let open = move || shell.open(opened.clone());
    view! {
        <li class="kept-class" data-testid="kept-class">
            <button class="card" on:click=touch(open)>
                <strong dir="auto">{title.clone()}</strong>
                <span class="figure">{length}</span>
                <span class="small">{used}</span>
            </button>
            <div class="row">
                <button class="quiet" aria-label=format!("Save as a file: {title}") on:click=touch(save)>"Save as a file"</button>
                <button class="quiet" aria-label=format!("Remove: {title}") on:click=touch(away) data-testid="remove">"Remove"</button>
            </div>
        </li>
    }
    .into_any()
}

/// Why the last link could not be opened.
fn error_line() -> AnyView {
    let error = shell().error;
    part(move || match error.get() {
        Some(message) => {
            view! { <p class="problem" role="alert" data-testid="error">{unturned(&message)}</p> }
                .into_any()
        }
        None => nothing(),
    })
    .into_any()
}
