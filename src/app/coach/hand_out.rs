//! What a coach hands out: the link, a code to scan, a calendar entry, files, the run sheet.

use std::sync::Arc;

use leptos::html::Input;
use leptos::prelude::*;

use crate::app::parts::live::{button, live, nothing, part};
use crate::app::parts::offline::outdated_line;
use crate::app::parts::pass_on::{here, pass_on};
use crate::app::parts::shape::shape;
use crate::app::parts::{Opened, Screen, library, shell, text, trail};
use crate::check::{Finding, Remedy, Weight, check};
use crate::device::{instant_text, local_instant, local_text, print_page, save_file};
use crate::export::{Entry, calendar, captions, chapters, csv, segment_name, segment_rows};
use crate::link::{self, qr};
use crate::plan::{isolated, unturned};
use crate::timeline::{Counted, Timeline};

/// A code of a higher version is hard to scan from a screen at a distance.
const EASY_VERSION: u8 = 12;

/// The screen.
pub fn hand_out(opened: &Opened) -> AnyView {
    let shell = shell();
    let opened = &shortest(opened);
    let at = RwSignal::new(opened.at);
    let told = RwSignal::new(String::new());
    let field = NodeRef::<Input>::new();
    let set = move |_| {
        let instant = field
            .get_untracked()
            .and_then(|field| local_instant(&field.value()));
        at.set(instant);
        told.set(String::new());
        // It stays when the screen is left, or loaded again.
        shell.opened.update_untracked(|opened| {
            if let Some(opened) = opened {
                opened.at = instant;
                trail::says(opened);
                shell.keep(opened);
            }
        });
    };
    let starts_at = opened.at.map(local_text);
    let kept = StoredValue::new(opened.clone());
    let with_start = move || {
        let mut opened = kept.get_value();
        opened.at = at.get();
        opened
    };
    let give = move || {
        pass_on(&untrack(with_start), move |words| {
            told.set(words.to_owned())
        });
    };
    let save = move |name: &'static str, kind: &'static str, make: fn(&Opened) -> String| {
        let opened = untrack(with_start);
        let could = save_file(&opened.file(name), kind, &make(&opened));
        told.set(if could {
            String::new()
        } else {
            "This browser can't save a file.".to_owned()
        });
    };
    let starts = live(move || match at.get() {
        Some(at) if at < shell.session.now() => format!(
            "{} is in the past: who opens the link comes late to it, or finds it over.",
            text::instant(at)
        ),
        Some(at) => format!(
            "The link, the code and the calendar entry start it on {}.",
            text::instant(at)
        ),
        None => "Without a time everyone starts when they like.".to_owned(),
    });
    let entry = part(move || {
        if at.get().is_none() {
            return nothing();
        }
        button("", "save-calendar", "Calendar entry", move || {
            save(".ics", "text/calendar", calendar_of)
        })
    });
    let write = if shell.from_desk.get_untracked() {
        button("", "to-write", "Back to writing", move || {
            shell.screen.set(Screen::Write)
        })
    } else {
        let opened = opened.clone();
        let write_on = button("quiet", "write-on", "Write on from it", move || {
            (shell.write_on)(shell, opened.clone());
        });
        view! { {write_on} {outdated_line()} }.into_any()
    };
    view! {
        <main class="page hand-out" data-testid="hand-out">
            <header>
                <div class="row">
                    {button("quiet", "to-brief", "Back to the class", move || shell.screen.set(Screen::Brief))}
                    {write}
                </div>
                <h1>"Hand out"</h1>
                <p dir="auto">{opened.title()}</p>
            </header>
            <section>
                <h2>"Look it over"</h2>
                {finding_list(&check(&opened.timeline), None)}
            </section>
            <section>
                <h2>"When"</h2>
                <label class="wide">
                    <span>"For a class at a set time: when it starts, by this phone's clock"</span>
                    <input type="datetime-local" node_ref=field value=starts_at on:change=set data-testid="hand-out-at" />
                </label>
                <p class="small" aria-live="polite" data-testid="hand-out-starts">{starts}</p>
            </section>
            <section>
                <h2>"Link"</h2>
                {button("strong", "hand-out-link", "Share the link", give)}
                <p class="small" aria-live="polite">{live(move || told.get())}</p>
            </section>
            <section>
                <h2>"Code to scan"</h2>
                {part(move || code(&with_start()))}
            </section>
            <section>
                <h2>"Files"</h2>
                <div class="row">
                    {button("", "save-plan", "Plan file", move || save(".rungbook.json", "application/json", |one| one.plan().to_json()))}
                    {entry}
                    {button("", "save-captions", "Captions for the video", move || save(".captions.vtt", "text/vtt", |one| captions(&one.timeline)))}
                    {button("", "save-chapters", "Chapters for the video", move || save(".chapters.vtt", "text/vtt", |one| chapters(&one.timeline)))}
                    {button("", "save-segments", "Table of times (CSV)", move || save(".csv", "text/csv", |one| csv(&segment_rows(&one.timeline))))}
                </div>
            </section>
            <section>
                <h2>"Run sheet"</h2>
                {button("", "print", "Print it", print_page)}
                {run_sheet(opened)}
            </section>
        </main>
    }
    .into_any()
}

/// What puts a finding right.
pub(super) type PutRight = Arc<dyn Fn(&Remedy) + Send + Sync>;

/// Findings, each with what puts it right at one touch, where that can be done here.
pub(super) fn finding_list(found: &[Finding], put_right: Option<PutRight>) -> AnyView {
    if found.is_empty() {
        return view! { <p data-testid="no-findings">"Nothing stands out. You know your group; this only knows the plan."</p> }
            .into_any();
    }
    let list = found
        .iter()
        .map(|one| {
            // Weight in words and in shape.
            let (weight, mark) = match one.problem.weight() {
                Weight::Safety => ("Safety", "finding safety"),
                Weight::Class => ("Class", "finding"),
                Weight::Comfort => ("Comfort", "finding comfort"),
            };
            let remedy = one
                .remedy
                .clone()
                .zip(put_right.clone())
                .map(|(remedy, put_right)| {
                    let words = remedy.words();
                    button("", "remedy", words, move || put_right(&remedy))
                });
            view! {
                <li class=mark data-testid="finding">
                    <strong>{weight} ": "</strong>
                    <span dir="auto">{unturned(&one.problem.to_string())}</span>
                    <p>{one.problem.why()}</p>
                    <p class="small">{one.problem.source()}</p>
                    {remedy}
                </li>
            }
            .into_any()
        })
        .collect_view();
    view! { <ul class="plain">{list}</ul> }.into_any()
}

/// The class with the shorter of its links.
fn shortest(opened: &Opened) -> Opened {
    let link = link::encode_with(opened.plan(), library());
    let mut opened = opened.clone();
    if link.len() < opened.link.len() {
        opened.link = link.into();
    }
    opened
}

fn calendar_of(opened: &Opened) -> String {
    let start = opened.at.unwrap_or(0);
    let kit: Vec<_> = opened.plan().kit.iter().map(|kit| kit.called()).collect();
    calendar(&Entry {
        uid: &format!("{}-{start}@rungbook", opened.key()),
        title: &opened.title(),
        about: &opened.plan().about,
        kit: &kit,
        address: &opened.address(&here()),
        start,
        lasts: opened.timeline.total_ms(),
        made: shell().session.now(),
    })
}

/// The address as a QR code, on white with its quiet zone.
fn code(opened: &Opened) -> AnyView {
    let at = opened.at.map(instant_text);
    let Some(code) = qr(&here(), &opened.link, at.as_deref()) else {
        return view! { <p data-testid="no-code">"This class is too long for a code: hand out the link."</p> }.into_any();
    };
    let side = code.side + 8;
    let hint = if code.version > EASY_VERSION {
        "A long class makes a fine code: show it large and near, or hand out the link."
    } else {
        "It can be scanned from a video."
    };
    view! {
        <svg class="code" data-testid="code" role="img" aria-label="QR code of the link" shape-rendering="crispEdges"
            viewBox=format!("-4 -4 {side} {side}")>
            <rect x="-4" y="-4" width=side.to_string() height=side.to_string() fill="#ffffff"></rect>
            <path d=code.path() fill="#000000"></path>
        </svg>
        <p class="small">{hint}</p>
    }
    .into_any()
}

/// The whole class on a page to print: when, what, for how long.
fn run_sheet(opened: &Opened) -> AnyView {
    let timeline = &opened.timeline;
    let plan = opened.plan();
    let blocks = plan
        .blocks
        .iter()
        .enumerate()
        .map(|(at, block)| {
            let name = text::block(block);
            let rows = rows(timeline, at);
            view! {
                <tbody>
                    <tr><th colspan="3" scope="rowgroup" dir="auto">{name}</th></tr>
                    {rows}
                </tbody>
            }
            .into_any()
        })
        .collect_view();
    let cautions = plan
        .moves
        .iter()
        .filter(|known| !known.caution.is_empty())
        .map(|known| {
            format!(
                "{}: {}",
                isolated(known.called()),
                isolated(&crate::plan::fill(&known.caution, None))
            )
        })
        .collect::<Vec<_>>()
        .join(" ");
    let kit: Vec<_> = plan.kit.iter().map(|kit| isolated(kit.called())).collect();
    view! {
        <article class="run-sheet" data-testid="run-sheet">
            <h3><bdi>{opened.title()}</bdi> ", " {text::length(timeline.total_ms())}</h3>
            {shape(&opened.timeline, true)}
            <p>"Kit: " {if kit.is_empty() { "none".to_owned() } else { kit.join(", ") }}</p>
            <table>{blocks}</table>
            <p class="sheet-cautions" dir="auto">{cautions}</p>
        </article>
    }
    .into_any()
}

fn rows(timeline: &Timeline, block: usize) -> Vec<AnyView> {
    timeline
        .segments()
        .iter()
        .filter(|segment| segment.block == block)
        .map(|segment| {
            let work = segment.is_work();
            let number = timeline
                .count_of(segment, Counted::Exercise)
                .map_or_else(String::new, |count| format!("{}. ", count.number));
            view! {
                <tr class=if work { "work" } else { "gap" }>
                    <td class="figure">{text::clock(segment.start_ms)}</td>
                    <td dir="auto">{number} <bdi>{unturned(&segment_name(timeline, segment))}</bdi></td>
                    <td class="figure">{(segment.len_ms() / 1000).to_string()}</td>
                </tr>
            }
            .into_any()
        })
        .collect()
}
