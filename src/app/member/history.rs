//! What was done so far, kept on this phone and nowhere else.

use leptos::prelude::*;
use web_sys::Event;

use super::rungs::strip;
use crate::app::parts::buttons::to_classes;
use crate::app::parts::live::{button, live, nothing, part, touch, way_back};
use crate::app::parts::notices::fault_line;
use crate::app::parts::{Opened, Shell, shell, text};
use crate::device::{Store, chosen_file, instant_text, read_file, save_file};
use crate::export::csv;
use crate::run::{Did, Log, Record, Run, load};
use crate::stored::{HistoryError, StoredDone, history_file, merge};

/// A file of a history: some hundred classes with their plans.
const MOST_BYTES: usize = 8 << 20;

/// What was removed last, for the way back.
type Removed = RwSignal<Option<StoredDone>>;

/// A class that was done, read back.
struct Past {
    stored: StoredDone,
    opened: Opened,
    record: Record,
    /// When it began: who waits for a set start pressed before that.
    began: i64,
}

impl Past {
    /// What a stored class tells; `None` where it can't be read.
    fn read(stored: StoredDone) -> Option<Past> {
        let opened = Opened::read(&stored.plan).ok()?;
        let log = Log::from_text(&stored.log).ok()?;
        let run = Run::replay(opened.timeline.clone(), &log).ok()?;
        let record = run.record(stored.end);
        let began = run.set().map_or(stored.start, |set| set.max(stored.start));
        Some(Past {
            stored,
            opened,
            record,
            began,
        })
    }

    fn load(&self) -> Option<i64> {
        Some(load(self.stored.rating?, self.record.running_ms))
    }

    fn cells(&self) -> Vec<String> {
        let count = |did| self.record.segments(did).count().to_string();
        let optional = |number: Option<i64>| number.map_or_else(String::new, |n| n.to_string());
        vec![
            instant_text(self.began),
            self.opened.title(),
            (self.record.running_ms / 1000).to_string(),
            (self.record.worked_ms / 1000).to_string(),
            (self.record.paused_ms / 1000).to_string(),
            count(Did::All),
            count(Did::Part),
            count(Did::None),
            optional(self.stored.rating.map(i64::from)),
            optional(self.load()),
            self.stored.note.clone(),
        ]
    }
}

const COLUMNS: [&str; 11] = [
    "start", "class", "class_s", "worked_s", "paused_s", "full", "part", "skipped", "rating",
    "load", "note",
];

fn all(shell: Shell) -> Vec<Past> {
    let stored = shell.store.with_value(Store::done);
    stored.into_iter().filter_map(Past::read).collect()
}

/// The list of what was done.
pub fn history() -> AnyView {
    let shell = shell();
    // Counts the changes: what is shown is what is stored.
    let changed = RwSignal::new(0_u32);
    let again = move || changed.update(|n| *n += 1);
    let removed: Removed = RwSignal::new(None);
    let undo = move || {
        if let Some(done) = removed.get_untracked() {
            let kept = shell.store.with_value(|store| store.keep_done(&done));
            shell.fault.set(kept.err().map(|e| e.to_string()));
        }
        removed.set(None);
        again();
    };
    let back = way_back(
        move || removed.with(Option::is_some),
        "It is removed.",
        "undo-remove-past",
        undo,
    );
    let list = part(move || {
        changed.track();
        let all = all(shell);
        if all.is_empty() {
            return view! { <p>"Nothing yet. A class that you did is listed here, on this phone alone."</p> }
                .into_any();
        }
        weeks(shell, all, removed, again)
    });
    let sure = RwSignal::new(false);
    let empty = part(move || {
        changed.track();
        let stored = shell.store.with_value(Store::done);
        if stored.is_empty() {
            return nothing();
        }
        let clear = move || {
            if !sure.get_untracked() {
                return sure.set(true);
            }
            shell.store.with_value(Store::remove_all_done);
            removed.set(None);
            sure.set(false);
            again();
        };
        let words = if sure.get() {
            "Really delete all? Touch again"
        } else {
            "Delete all"
        };
        view! {
            <div class="row">
                {button("", "export-csv", "Save as a table (CSV)", move || save_csv(shell))}
                {button("", "export-json", "Save all to bring back (JSON)", move || save_json(shell))}
                {button("quiet", "delete-all", words, clear)}
            </div>
        }
        .into_any()
    });
    let brought = RwSignal::new(String::new());
    let choose = move |event: Event| {
        if let Some(file) = chosen_file(&event) {
            read_file(file, MOST_BYTES, move |text| {
                let came = match text {
                    Some(text) => bring_back(shell, &text),
                    None => Err("This file can't be read, or is too large.".to_owned()),
                };
                // What was told of another file goes.
                brought.try_set(came.as_ref().cloned().unwrap_or_default());
                shell.fault.try_set(came.err());
                changed.try_update(|n| *n += 1);
            });
        }
    };
    view! {
        <main class="page" data-testid="history">
            <header>
                {to_classes()}
                <h1>"Done so far"</h1>
                <p>"Your own notes, on this phone alone. Nothing is sent anywhere."</p>
                <p class="small">"Minutes are those in which a class ran. The load of a class is its rating from 0 to 10 times its minutes (Foster and others 2001, J Strength Cond Res 15(1):109-15)."</p>
            </header>
            {fault_line()}
            {back}
            {list}
            {empty}
            <label class="wide">
                <span>"Bring back what was saved (JSON)"</span>
                <input type="file" accept=".json,application/json" on:change=choose data-testid="import-history" />
            </label>
            <p role="status" data-testid="brought-back">{live(move || brought.get())}</p>
        </main>
    }
    .into_any()
}

/// A week: its Monday, what was done in it, and the rows.
struct Week {
    monday: i64,
    running_ms: i64,
    load: i64,
    rows: Vec<AnyView>,
}

/// Week by week, the last first, each with its classes, its minutes and its load.
fn weeks(
    shell: Shell,
    all: Vec<Past>,
    removed: Removed,
    again: impl Fn() + Copy + 'static,
) -> AnyView {
    let mut weeks: Vec<Week> = Vec::new();
    for past in all {
        let monday = text::monday(past.began);
        if weeks.last().is_none_or(|week| week.monday != monday) {
            weeks.push(Week {
                monday,
                running_ms: 0,
                load: 0,
                rows: Vec::new(),
            });
        }
        if let Some(week) = weeks.last_mut() {
            week.running_ms += past.record.running_ms;
            week.load += past.load().unwrap_or(0);
            week.rows.push(row(shell, &past, removed, again));
        }
    }
    weeks
        .into_iter()
        .map(|week| {
            let heading = format!("Week of {}", text::day(week.monday));
            let sums = format!(
                "{}, {} min, load {}",
                text::count(week.rows.len(), "class", "classes"),
                (week.running_ms + 30_000) / 60_000,
                week.load
            );
            view! {
                <section data-testid="week">
                    <h2><span>{heading}</span> " " <span class="figure sums" data-testid="week-load">{sums}</span></h2>
                    <ul class="plain">{week.rows}</ul>
                </section>
            }
            .into_any()
        })
        .collect_view()
        .into_any()
}

fn row(shell: Shell, past: &Past, removed: Removed, again: impl Fn() + Copy + 'static) -> AnyView {
    let start = past.stored.start;
    let title = past.opened.title();
    let mut facts = vec![
        text::instant(past.began),
        format!("worked {}", text::clock(past.record.worked_ms)),
    ];
    if !past.record.reached_end {
        facts.push("ended early".to_owned());
    }
    if let (Some(rating), Some(load)) = (past.stored.rating, past.load()) {
        facts.push(format!("effort {rating}, load {load}"));
    }
    let note = past.stored.note.clone();
    let gone = past.stored.clone();
    let remove = move || {
        shell.store.with_value(|store| store.remove_done(start));
        removed.set(Some(gone.clone()));
        again();
    };
    let (stored, running_ms) = (past.stored.clone(), past.record.running_ms);
    let open = RwSignal::new(false);
    let rate = part(move || {
        if open.get() {
            super::done::rating(&stored, running_ms)
        } else {
            nothing()
        }
    });
    let turn = move || {
        // What was written shows when it is closed again.
        if open.get_untracked() {
            again();
        }
        open.update(|open| *open = !*open);
    };
    let class = past.opened.clone();
    let open_class = touch(move || shell.open(class.clone()));
    view! {
        <li class="past" data-testid="past">
            <button class="card" data-testid="open-past" on:click=open_class>
                <strong dir="auto">{title}</strong>
                {strip(&past.opened.timeline, &past.record)}
                <span class="small">{facts.join(", ")}</span>
            </button>
            <span class="small" dir="auto">{note}</span>
            <div class="row">
                {button("quiet", "rate-past", "Effort and note", turn)}
                {button("quiet", "remove-past", "Remove", remove)}
            </div>
            {rate}
        </li>
    }
    .into_any()
}

fn save_csv(shell: Shell) {
    let mut rows = vec![COLUMNS.map(str::to_owned).to_vec()];
    rows.extend(all(shell).iter().map(Past::cells));
    saved(
        shell,
        save_file("rungbook-done.csv", "text/csv", &csv(&rows)),
    );
}

fn save_json(shell: Shell) {
    let all = shell.store.with_value(Store::done);
    let could = save_file(
        "rungbook-done.json",
        "application/json",
        &history_file(&all),
    );
    saved(shell, could);
}

fn saved(shell: Shell, could: bool) {
    if !could {
        shell
            .fault
            .set(Some("This browser can't save a file.".to_owned()));
    }
}

/// Keeps what a saved file holds, beside what is here, and tells what came of it.
fn bring_back(shell: Shell, file: &str) -> Result<String, String> {
    let here = |start| shell.store.with_value(|store| store.done_at(start));
    let readable = |done: &StoredDone| Past::read(done.clone()).is_some();
    let merged = merge(file, here, readable).map_err(|e| match e {
        HistoryError::Foreign => "This file holds no classes that were done.".to_owned(),
        HistoryError::Newer => {
            "This file was saved by a newer Rungbook. Update this one to bring it back.".to_owned()
        }
    })?;
    for (at, done) in merged.take.iter().enumerate() {
        let kept = shell.store.with_value(|store| store.keep_done(done));
        kept.map_err(|fault| {
            let brought = text::count(at, "class was", "classes were");
            format!("{brought} brought back, and then no more. {fault}")
        })?;
    }
    let tell = |n: usize, words: &str| (n > 0).then(|| format!("{words}: {n}."));
    let told = [
        tell(merged.added, "Brought back"),
        tell(
            merged.replaced(),
            "Changed later in the file, and taken from it",
        ),
        tell(
            merged.newer_here,
            "Changed later on this phone, and kept as it is here",
        ),
        tell(merged.same, "Here already, just as in the file"),
        tell(merged.unreadable, "Could not be read"),
    ];
    let told: Vec<_> = told.into_iter().flatten().collect();
    match told.is_empty() {
        true => Err("There are no classes in this file.".to_owned()),
        false => Ok(told.join(" ")),
    }
}
