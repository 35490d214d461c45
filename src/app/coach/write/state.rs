//! The class that is being written: its steps, where it is kept, and how it leaves the desk.

use std::cell::RefCell;
use std::collections::BTreeMap;
use std::sync::Arc;

use leptos::prelude::*;
use wasm_bindgen::JsCast as _;
use web_sys::HtmlElement;

use crate::app::parts::{Opened, Screen, Shell, library, shell, text};
use crate::check::{Finding, check};
use crate::draft::{Draft, Given, trial};
use crate::link;
use crate::notation::{self, NotationError};
use crate::plan::{Id, Plan, PlanError, Problem, free_id};
use crate::stored::StoreError;
use crate::stored::StoredDraft;
use crate::timeline::Timeline;

/// The way in which the class is written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Face {
    Form,
    Plain,
}

/// What a chosen move is for.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Pick {
    /// Entries of a block.
    Block(usize),
    /// The place of another move, everywhere.
    Instead(Id),
}

/// What the parts of the editor share.
#[derive(Clone, Copy)]
pub struct Desk {
    pub shell: Shell,
    pub draft: RwSignal<Draft>,
    pub key: StoredValue<String>,
    pub given: StoredValue<Option<Given>>,
    /// The block that is open to be changed.
    pub open: RwSignal<Option<usize>>,
    pub picking: RwSignal<Option<Pick>>,
    pub face: RwSignal<Face>,
    pub fitting: RwSignal<bool>,
    /// What the last touch did, where that can't be seen.
    pub told: RwSignal<String>,
    /// What is wrong with the text, while it is no class; the class then is the last one that it was.
    pub wrong: RwSignal<Option<NotationError>>,
    /// The text while it is no class.
    pub raw: StoredValue<String>,
    /// Such a text that was let go.
    pub dropped: RwSignal<Option<String>>,
    /// The last change of what is stored that this editor knows of.
    pub seen: StoredValue<i64>,
    /// The class as far as it can be timed.
    pub timeline: Memo<Arc<Timeline>>,
    /// What keeps it from being handed out.
    pub unfinished: Memo<Option<PlanError>>,
    /// What stands out, of a class that is finished.
    pub findings: Memo<Vec<Finding>>,
}

thread_local! {
    /// What was written since the page was opened, with the block that was open: undo outlives a trial.
    static WRITTEN: RefCell<BTreeMap<String, (Draft, Option<usize>)>> = const { RefCell::new(BTreeMap::new()) };
}

impl Desk {
    pub fn new(stored: &StoredDraft) -> Desk {
        let written = WRITTEN.with_borrow(|written| written.get(&stored.key).cloned());
        // Unless another window changed it since.
        let written =
            written.filter(|(draft, _)| notation::write(draft.plan(), library()) == stored.text);
        let (draft, open, wrong) = match written {
            Some((draft, open)) => (draft, open, None),
            None => match notation::draft(&stored.text, library()) {
                Ok(plan) => (Draft::new(plan), None, None),
                // It stays as it is until it can be read.
                Err(e) => {
                    let id = stored.key.clone();
                    let plan = Plan {
                        id,
                        ..Plan::default()
                    };
                    (Draft::new(plan), None, Some(e))
                }
            },
        };
        let draft = RwSignal::new(draft);
        let timeline = Memo::new(move |_| Arc::new(draft.with(Draft::shown)));
        let unfinished = Memo::new(move |_| draft.with(Draft::unfinished));
        let findings = Memo::new(move |_| match unfinished.with(Option::is_some) {
            true => Vec::new(),
            false => timeline.with(|timeline| check(timeline)),
        });
        Desk {
            shell: shell(),
            draft,
            key: StoredValue::new(stored.key.clone()),
            given: StoredValue::new(stored.given),
            open: RwSignal::new(open),
            picking: RwSignal::new(None),
            face: RwSignal::new(if wrong.is_some() {
                Face::Plain
            } else {
                Face::Form
            }),
            fitting: RwSignal::new(false),
            told: RwSignal::new(String::new()),
            raw: StoredValue::new(stored.text.clone()),
            dropped: RwSignal::new(None),
            wrong: RwSignal::new(wrong),
            seen: StoredValue::new(stored.edited),
            timeline,
            unfinished,
            findings,
        }
    }

    /// Reads the plan, and again when it changes.
    pub fn read<T>(self, read: impl FnOnce(&Plan) -> T) -> T {
        self.draft.with(|draft| read(draft.plan()))
    }

    /// Reads the plan as it is now.
    pub fn now<T>(self, read: impl FnOnce(&Plan) -> T) -> T {
        self.draft.with_untracked(|draft| read(draft.plan()))
    }

    /// Takes a step and keeps it; see [`Draft::change`].
    pub fn step(self, about: &str, step: impl FnOnce(&mut Plan)) {
        self.steps(about, step);
    }

    /// As [`Desk::step`]; returns whether anything changed.
    pub fn steps(self, about: &str, step: impl FnOnce(&mut Plan)) -> bool {
        !self.blocked() && self.change(about, step)
    }

    pub fn change(self, about: &str, step: impl FnOnce(&mut Plan)) -> bool {
        // What changes nothing wakes nothing: a field that is left as it was stays as it is.
        let mut changed = false;
        self.draft.maybe_update(|draft| {
            changed = draft.change(about, step);
            changed
        });
        if changed {
            self.told.set(String::new());
            self.keep();
        }
        changed
    }

    pub fn undo(self) {
        self.travel(Draft::undo);
    }

    pub fn redo(self) {
        self.travel(Draft::redo);
    }

    pub fn travel(self, to: fn(&mut Draft) -> bool) {
        if self.blocked() {
            return;
        }
        let blocks = |desk: Desk| desk.now(|plan| plan.blocks.len());
        let before = blocks(self);
        self.draft.maybe_update(to);
        if blocks(self) != before {
            self.open.set(None);
        }
        self.told.set(String::new());
        self.keep();
    }

    /// Whether the text is no class yet: it is mended or dropped before anything else changes the class.
    pub fn blocked(self) -> bool {
        let Some(e) = self.wrong.get_untracked() else {
            return false;
        };
        self.face.set(Face::Plain);
        self.told.set(format!(
            "Line {} of the text can't be read yet: mend it, or go back to how it was.",
            e.line
        ));
        true
    }

    /// Keeps the class on the phone as it is now; a text that is no class as it was typed.
    pub fn keep(self) {
        let now = self.shell.session.now();
        let there = self
            .key
            .with_value(|key| self.shell.store.with_value(|store| store.draft(key)));
        if there.is_some_and(|there| there.edited != self.seen.get_value()) {
            // Another window wrote on: neither takes the other's place.
            let key = free_key(self.shell, &self.key.get_value());
            self.draft
                .maybe_update(|draft| draft.change("", |plan| plan.id.clone_from(&key)));
            self.key.set_value(key);
            self.given.set_value(None);
            self.told.set(
                "This class was changed in another window. What you write here is kept as a class of its own.".to_owned(),
            );
        }
        let key = self.key.get_value();
        let wrong = self.wrong.with_untracked(Option::is_some);
        let stored = StoredDraft {
            key: key.clone(),
            edited: now.max(self.seen.get_value() + 1),
            given: self.given.get_value(),
            text: if wrong {
                self.raw.get_value()
            } else {
                self.now(|plan| notation::write(plan, library()))
            },
        };
        let kept = self
            .shell
            .store
            .with_value(|store| store.keep_draft(&stored));
        if kept.is_ok() {
            self.seen.set_value(stored.edited);
        }
        self.shell.fault.set(kept.err().map(fault_words));
        let draft = self.draft.get_untracked();
        let open = self.open.get_untracked();
        WRITTEN.with_borrow_mut(|written| written.insert(key, (draft, open)));
    }

    /// What hinders, said in the place of what was asked for.
    pub fn is_unfinished(self) -> bool {
        if self.blocked() {
            return true;
        }
        let problem = self.unfinished.get_untracked();
        if let Some(e) = &problem {
            self.told.set(format!("Not yet: {}", place_words(self, e)));
        }
        problem.is_some()
    }

    /// What of this class went out last, as far as this phone knows: by what was written here, or as it
    /// is kept for who follows it.
    pub fn given(self) -> Option<Given> {
        let id = self.now(|plan| plan.id.clone());
        let kept = self.shell.store.with_value(|store| store.class(&id));
        let kept = kept.and_then(|class| Opened::read(&class.source).ok());
        let kept = kept.map(|opened| Given::of(opened.plan()));
        let given = self.given.get_value().into_iter().chain(kept);
        given.max_by_key(|given| given.revision)
    }

    /// Shows what is handed out. A class that changed since is a revision of its own.
    pub fn hand_out(self) {
        if self.is_unfinished() {
            return;
        }
        let given = self.given();
        let Some(revision) = self.now(|plan| Given::next(given, plan)) else {
            self.told.set("This class has had as many revisions as there can be. Copy its text into a new class.".to_owned());
            return;
        };
        self.draft.maybe_update(|draft| draft.goes_out_as(revision));
        self.given.set_value(Some(self.now(Given::of)));
        self.keep();
        let link = self.now(|plan| link::encode_with(plan, library()));
        match Opened::read(&link) {
            Ok(mut opened) => {
                // A correction starts when the class does that was handed out, today or some days ago.
                let before = self.shell.opened.get_untracked();
                let before = before.filter(|before| before.plan().id == opened.plan().id);
                opened.at = match before {
                    Some(before) => before.at,
                    None => self.shell.set_start(&opened),
                };
                self.shell.open(opened);
                // It is the coach's own: the phone keeps what was handed out last.
                if let Some(opened) = self.shell.opened.get_untracked() {
                    self.shell.keep(&opened);
                }
                self.shell.kept.set(None);
                self.shell.from_desk.set(true);
                self.shell.screen.set(Screen::HandOut);
            }
            Err(message) => self.told.set(message),
        }
    }

    /// Starts a class that is not put to what was done: the whole one, or a block of it.
    pub fn try_out(self, block: Option<usize>) {
        if self.blocked() {
            return;
        }
        self.keep();
        let plan = self.now(|plan| match block {
            Some(at) => trial(plan, at),
            None => Some(plan.clone()),
        });
        let Some(plan) = plan else { return };
        if let Err(e) = plan.validate() {
            self.told.set(format!("Not yet: {}", place_words(self, &e)));
            return;
        }
        let opened = Opened {
            timeline: Arc::new(Timeline::new(&plan)),
            link: link::encode(&plan).into(),
            at: None,
            trial: true,
        };
        self.shell.session.ways.set(crate::timeline::Ways::new());
        self.shell.opened.set(Some(opened.clone()));
        self.shell.session.start(&opened);
    }
}

/// Why what is written is not kept, for who writes.
pub fn fault_words(e: StoreError) -> String {
    match e {
        StoreError::Full => "There is no room left on the phone: what you write now is not kept. Save all as a file, then remove a class that you no longer need.".to_owned(),
        StoreError::Forbidden => "This browser keeps nothing here, as private windows do: what you write is gone when the page is closed. Hand it out or save it as a file.".to_owned(),
        StoreError::Newer => e.to_string(),
    }
}

/// Puts the focus on what has a handle, once it is drawn, so that who works by keyboard goes on there.
pub fn focus_soon(id: String) {
    focus_nth_soon(format!("[data-testid=\"{id}\"]"), 0, |field| {
        field.scroll_into_view_with_bool(true);
    });
}

/// Puts the focus on a field of a block, and brings the whole block into view.
pub fn focus_in_block(id: &str) {
    focus_nth_soon(format!("[data-testid=\"{id}\"]"), 0, |field| {
        let block = field.closest("[data-testid=write-block]").ok().flatten();
        if let Some(block) = block {
            block.scroll_into_view_with_bool(true);
        }
    });
}

/// The same with the nth of what a selector finds, or the last; `then` is done with it.
pub fn focus_nth_soon(all: String, nth: u32, then: fn(&HtmlElement)) {
    set_timeout(
        move || {
            let Ok(found) = document().query_selector_all(&all) else {
                return;
            };
            let nth = nth.min(found.length().saturating_sub(1));
            let field = found
                .item(nth)
                .and_then(|found| found.dyn_into::<HtmlElement>().ok());
            if let Some(field) = field {
                let _ = field.focus();
                then(&field);
            }
        },
        core::time::Duration::ZERO,
    );
}

/// A plan's error with the place as the screen names it.
pub fn place_words(desk: Desk, e: &PlanError) -> String {
    let number = |list: &str| -> Option<usize> {
        let rest = e.place.strip_prefix(list)?.strip_prefix('[')?;
        rest.split(']').next()?.parse().ok()
    };
    let name = desk.now(|plan| {
        number("blocks")
            .and_then(|at| plan.blocks.get(at).map(|block| (at, block)))
            .map(|(at, block)| {
                format!(
                    "block {}, {}",
                    at + 1,
                    text::or(&block.name, block.kind.word())
                )
            })
            .or_else(|| {
                number("moves")
                    .and_then(|at| plan.moves.get(at))
                    .map(|one| one.called().to_owned())
            })
            .or_else(|| {
                number("kit")
                    .and_then(|at| plan.kit.get(at))
                    .map(|kit| kit.called().to_owned())
            })
    });
    let empty = e.problem == Problem::Empty;
    match (name, e.place.as_str()) {
        (None, "blocks") if empty => "the class has no blocks. Add one.".to_owned(),
        (None, "moves") if empty => "the class has no moves. Add some to a block.".to_owned(),
        (Some(name), _) if empty => format!("{name} has no moves. Add some, or remove it."),
        (Some(name), _) => format!("{name}: {}. {}", e.problem, e.problem.remedy()),
        (None, _) => e.to_string(),
    }
}

/// A key, after a word, under which nothing is written yet.
pub fn free_key(shell: Shell, word: &str) -> String {
    let taken = |id: &str| shell.store.with_value(|store| store.draft(id)).is_some();
    free_id(word, taken).to_string()
}
