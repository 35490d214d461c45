//! What is being written on this phone.

use leptos::prelude::*;
use web_sys::Event;

use super::fields::line;
use super::pick::{OWN_MOVES, own_moves, put_own};
use super::{Desk, free_key};
use crate::app::parts::buttons::to_classes;
use crate::app::parts::live::{button, live, nothing, part, touch, way_back};
use crate::app::parts::notices::fault_line;
use crate::app::parts::{Opened, Screen, Shell, library, shell, text};
use crate::demos::DEMOS;
use crate::device::{Store, chosen_file, read_file, save_file};
use crate::draft::{Given, keep_move};
use crate::notation;
use crate::plan::{Plan, limits};
use crate::stored::StoredDraft;
use crate::timeline::Timeline;

/// The handle of the field for a new title.
const TITLE: &str = "new-title";
/// The slot of a new class, in seconds.
const USUAL_SLOT: u32 = 1800;

/// Keeps a plan as a class to write, and opens it.
pub fn write_on(shell: Shell, plan: &Plan) {
    let mut plan = plan.clone();
    let now = shell.session.now();
    // Whoever begins with one of ours makes a class of their own.
    let ours = DEMOS.iter().filter_map(|link| Opened::read(link).ok());
    if ours.into_iter().any(|demo| *demo.plan() == plan) {
        plan.id.clear();
        plan.revision = 0;
    }
    let new = plan.id.is_empty();
    if new {
        plan.id = free_key(shell, &format!("class-{}", now / 1000));
    }
    let key = plan.id.clone();
    // What is being written under this name goes on. Only a later revision, from another phone, takes
    // its place, and what was written here then stays beside it; so does what can't be read.
    let there = shell.store.with_value(|store| store.draft(&key));
    let goes_on = there.as_ref().is_some_and(|there| {
        let mine = notation::draft(&there.text, library());
        mine.is_ok_and(|mine| mine.revision >= plan.revision)
    });
    if !goes_on {
        if let Some(there) = there {
            keep(shell, &beside(shell, there));
        }
        let text = notation::write(&plan, library());
        // Somebody has it under its name already: what changes from here is a correction.
        let given = (!new).then(|| Given::of(&plan));
        keep(
            shell,
            &StoredDraft {
                key: key.clone(),
                edited: now,
                given,
                text,
            },
        );
    }
    shell.writing.set(key);
    shell.screen.set(Screen::Write);
}

/// What was written under a name that goes to another text, under a name of its own.
fn beside(shell: Shell, was: StoredDraft) -> StoredDraft {
    let key = free_key(shell, &was.key);
    let text = match notation::draft(&was.text, library()) {
        Ok(mut plan) => {
            plan.id.clone_from(&key);
            plan.title = format!("{} (as it was here)", plan.title);
            notation::write(&plan, library())
        }
        Err(_) => was.text,
    };
    StoredDraft {
        key,
        given: None,
        text,
        ..was
    }
}

/// Keeps a class that is written. Returns whether it is kept.
fn keep(shell: Shell, draft: &StoredDraft) -> bool {
    let kept = shell.store.with_value(|store| store.keep_draft(draft));
    let could = kept.is_ok();
    shell.fault.set(kept.err().map(super::fault_words));
    could
}

/// The list.
pub fn desk() -> AnyView {
    let shell = shell();
    let drafts = RwSignal::new(shell.store.with_value(Store::drafts));
    let removed = RwSignal::new(None::<StoredDraft>);
    let again = move || drafts.set(shell.store.with_value(Store::drafts));
    let new = move || {
        write_on(
            shell,
            &Plan {
                title: "New class".into(),
                slot: Some(USUAL_SLOT),
                ..Plan::default()
            },
        );
    };
    let undo = move || {
        if let Some(draft) = removed.get_untracked() {
            // What can't be put back can be tried again.
            if keep(shell, &draft) {
                removed.set(None);
            }
            again();
        }
    };
    let back = way_back(
        move || removed.with(Option::is_some),
        "It is removed.",
        "undo-remove-draft",
        undo,
    );
    let list = part(move || {
        let drafts = drafts.get();
        if drafts.is_empty() {
            return view! { <p>"Nothing yet. What you write stays on this phone until you hand it out."</p> }
                .into_any();
        }
        drafts
            .into_iter()
            .map(|draft| one(shell, draft, removed, again))
            .collect_view()
            .into_any()
    });
    let brought = RwSignal::new(String::new());
    let bring = move |event: Event| {
        if let Some(file) = chosen_file(&event) {
            // Many classes may stand in one file.
            read_file(file, 8 * limits::FILE_BYTES, move |text| {
                // What was told of another file goes.
                shell.fault.try_set(None);
                brought.try_set(bring_in(shell, text.as_deref().unwrap_or_default()));
                again();
            });
        }
    };
    view! {
        <main class="page" data-testid="desk">
            <header>
                {to_classes()}
                <h1>"Write"</h1>
                <p>"Write a class once, look it over, make it fit, and hand out a link."</p>
            </header>
            {fault_line()}
            {back}
            {button("strong", "new-class", "New class", new)}
            <section>
                <h2>"What you write"</h2>
                <ul class="plain">{list}</ul>
            </section>
            {own_list(shell)}
            <section>
                <h2>"Bring and save"</h2>
                <div class="row">
                    {button("", "export-drafts", "Save all as a file", move || save_all(shell))}
                </div>
                <label class="wide">
                    <span>"Bring classes from a file: a plan file, a class as text, or all that was saved"</span>
                    <input type="file" accept=".json,.txt,application/json,text/plain" on:change=bring data-testid="import-drafts" />
                </label>
                <p role="status" data-testid="brought-in">{live(move || brought.get())}</p>
            </section>
        </main>
    }
    .into_any()
}

fn one(
    shell: Shell,
    draft: StoredDraft,
    removed: RwSignal<Option<StoredDraft>>,
    again: impl Fn() + Copy + Send + 'static,
) -> AnyView {
    let read = notation::draft(&draft.text, library());
    let length = match &read {
        Ok(plan) => text::length(Timeline::new(plan).total_ms()),
        Err(e) => format!("line {} can't be read", e.line),
    };
    // What can't be read has no title to change.
    let readable = read.is_ok();
    let plan = read.unwrap_or_default();
    // A text that can't be read still says what it is.
    let first = draft
        .text
        .lines()
        .next()
        .filter(|_| !readable)
        .unwrap_or_default();
    let title = text::or(plan.title.trim(), first.trim_start_matches("class").trim());
    let title = text::or(&title, "Untitled class");
    let edited = format!("last changed {}", text::day(draft.edited));
    let key = draft.key.clone();
    let open = move || {
        shell.writing.set(key.clone());
        shell.screen.set(Screen::Write);
    };
    let copy = {
        let plan = Plan {
            id: String::new(),
            revision: 0,
            title: format!("{title} (copy)"),
            ..plan
        };
        move || write_on(shell, &plan)
    };
    let naming = RwSignal::new(false);
    let stored = draft.clone();
    let field = part(move || {
        if !naming.get() {
            return nothing();
        }
        // What is typed is kept as in the editor, and can be undone there.
        let desk = Desk::new(&stored);
        view! {
            <div class="inside">
                {line(desk, "Title", TITLE, |plan| plan.title.clone(), |plan, text| text.clone_into(&mut plan.title))}
                <div class="row">{button("", "renamed", "Done", again)}</div>
            </div>
        }
        .into_any()
    });
    let rename = readable.then(|| {
        let label = format!("Rename: {title}");
        let act = touch(move || {
            naming.set(true);
            super::focus_soon(TITLE.to_owned());
        });
        view! { <button class="quiet" data-testid="rename-draft" aria-label=label on:click=act>"Rename"</button> }
            .into_any()
    });
    let remove = move || {
        shell
            .store
            .with_value(|store| store.remove_draft(&draft.key));
        removed.set(Some(draft.clone()));
        again();
    };
    view! {
        <li class="kept-class" data-testid="draft">
            <button class="card" on:click=touch(open)>
                <strong dir="auto">{title.clone()}</strong>
                <span class="figure">{length}</span>
                <span class="small">{edited}</span>
            </button>
            {field}
            <div class="row">
                {rename}
                <button class="quiet" data-testid="copy-draft" aria-label=format!("Copy: {title}") on:click=touch(copy)>"Copy"</button>
                <button class="quiet" data-testid="remove-draft" aria-label=format!("Remove: {title}") on:click=touch(remove)>"Remove"</button>
            </div>
        </li>
    }
    .into_any()
}

/// The coach's own moves, which stand beside the library's when moves are chosen.
fn own_list(shell: Shell) -> AnyView {
    let own = RwSignal::new(own_moves(shell));
    let was = RwSignal::new(None::<Plan>);
    let put = move |plan: &Plan| {
        put_own(shell, plan);
        own.set(own_moves(shell));
    };
    part(move || {
        let plan = own.get();
        if plan.moves.is_empty() && was.with(Option::is_none) {
            return nothing();
        }
        let rows = (0..plan.moves.len())
            .map(|at| {
                let name = plan.moves[at].called().to_owned();
                let remove = touch(move || {
                    let mut plan = own.get_untracked();
                    was.set(Some(plan.clone()));
                    if at < plan.moves.len() {
                        plan.moves.remove(at);
                    }
                    put(&plan);
                });
                view! {
                    <li class="row entry" data-testid="own-move">
                        <strong dir="auto">{name.clone()}</strong>
                        <button class="quiet" aria-label=format!("Remove: {name}") on:click=remove>"Remove"</button>
                    </li>
                }
                .into_any()
            })
            .collect_view();
        let undo = move || {
            if let Some(plan) = was.get_untracked() {
                put(&plan);
                was.set(None);
            }
        };
        let back = way_back(
            move || was.with(Option::is_some),
            "The move is removed; classes that use it keep it.",
            "undo-own",
            undo,
        );
        view! {
            <section>
                <h2>"Your own moves"</h2>
                {back}
                <ul class="plain tight">{rows}</ul>
            </section>
        }
        .into_any()
    })
    .into_any()
}

/// Puts moves that were saved among the coach's own. Returns whether they are kept.
fn bring_own(shell: Shell, from: &Plan) -> bool {
    let mut own = own_moves(shell);
    for one in &from.moves {
        keep_move(&mut own, from, one);
    }
    put_own(shell, &own)
}

/// What stands between two classes in a file of several.
const BETWEEN: &str = "\n# ---- the next class ----\n";

fn save_all(shell: Shell) {
    let drafts = shell.store.with_value(Store::drafts);
    let mut texts: Vec<_> = drafts.into_iter().map(|draft| draft.text).collect();
    let own = shell.store.with_value(Store::own_moves);
    if !own.is_empty() {
        texts.push(own);
    }
    if !save_file("rungbook-classes.txt", "text/plain", &texts.join(BETWEEN)) {
        shell
            .fault
            .set(Some("This browser can't save a file.".to_owned()));
    }
}

/// Keeps the classes of a file beside what is there. Returns what came of it, as far as it went well.
fn bring_in(shell: Shell, file: &str) -> String {
    let file = &file.replace("\r\n", "\n");
    let mut plans = Vec::new();
    let (mut wrong, mut there, mut new) = (None, 0, 0);
    let texts: Vec<&str> = if file.trim_start().starts_with('{') {
        vec![file]
    } else {
        file.split(BETWEEN).collect()
    };
    let one = texts.len() == 1;
    for text in texts {
        let plan = if text.trim_start().starts_with('{') {
            Plan::from_json(text).map_err(|e| e.to_string())
        } else if let Ok(opened) = Opened::read(text) {
            Ok(opened.plan().clone())
        } else {
            notation::draft(text, library()).map_err(|e| e.to_string())
        };
        match plan {
            Ok(plan) => plans.push(plan),
            Err(e) => {
                let name = text.lines().find(|line| !line.trim().is_empty());
                let name: String = name.unwrap_or_default().chars().take(60).collect();
                wrong = Some((name, e));
            }
        }
    }
    let now = shell.session.now();
    for mut plan in plans {
        if plan.blocks.is_empty() && plan.title == OWN_MOVES {
            new += usize::from(bring_own(shell, &plan));
            continue;
        }
        let text = notation::write(&plan, library());
        let same = |draft: StoredDraft| draft.text == text;
        if shell
            .store
            .with_value(|store| store.draft(&plan.id))
            .is_some_and(same)
        {
            there += 1;
            continue;
        }
        // What is there stays: another class under its name gets a name of its own.
        plan.id = free_key(shell, &text::or(&plan.id, "class"));
        let kept = keep(
            shell,
            &StoredDraft {
                key: plan.id.clone(),
                edited: now,
                given: Some(Given::of(&plan)),
                text: notation::write(&plan, library()),
            },
        );
        if !kept {
            // The fault says why.
            wrong = None;
            break;
        }
        new += 1;
    }
    if let Some((name, e)) = wrong {
        shell.fault.set(Some(if one {
            format!("This file could not be read as a class. {e}")
        } else {
            format!("One class of this file could not be read, the one that begins “{name}”. {e}")
        }));
    }
    let tell = |n: usize, words: &str| (n > 0).then(|| format!("{words}: {n}."));
    let told = [
        tell(new, "Brought in"),
        tell(there, "Here already, just as in the file"),
    ];
    told.into_iter().flatten().collect::<Vec<_>>().join(" ")
}
