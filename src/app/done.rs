//! After the class: what was worked, for how long, what was skipped.

use std::collections::BTreeMap;

use leptos::prelude::*;

use super::classes::to_classes;
use super::live::{button, nothing};
use super::offline::update_offer;
use super::{Opened, Screen, shell, text};
use crate::run::{Did, Record};
use crate::timeline::{Segment, Timeline};

/// What was really done.
pub(super) fn done(opened: &Opened) -> AnyView {
    let shell = shell();
    let Some(record) = shell.session.record() else {
        return view! { <main class="page" data-testid="done">{to_classes()}</main> }.into_any();
    };
    let title = opened.title();
    let heading = if record.reached_end {
        "Done"
    } else {
        "Ended early"
    };
    let whole = record.segments(Did::All).count();
    let all = record.work.len();
    let moves = |which: &dyn Fn(&Segment, Did) -> bool| by_move(&opened.timeline, &record, which);
    let joined = record.joined_ms;
    let worked = moves(&|_, did| did != Did::None);
    let missed = moves(&|segment, did| did == Did::None && segment.end_ms <= joined);
    let skipped = moves(&|segment, did| did == Did::None && segment.end_ms > joined);
    let row = |what: &'static str, ms: i64| {
        view! { <tr><th scope="row">{what}</th>" "<td class="figure">{text::clock(ms)}</td></tr> }
            .into_any()
    };
    let pauses = (record.paused_ms > 0).then(|| row("Paused", record.paused_ms));
    view! {
        <main class="page done" data-testid="done">
            <header>
                <h1>{heading}</h1>
                <p>{title}</p>
            </header>
            <table>
                <tbody>
                    {row("Worked", record.worked_ms)}
                    {row("Class time", record.running_ms)}
                    {pauses}
                </tbody>
            </table>
            <p>{format!("{whole} of {} in full.", text::count(all, "work interval", "work intervals"))}</p>
            {list("Worked", "worked", worked)}
            {list("Before you came", "missed", missed)}
            {list("Skipped", "skipped", skipped)}
            <p class="small">"If something hurts tomorrow more than a muscle should, see a doctor before the next class."</p>
            <div class="row">
                {button("strong", "", "Back to this class", move || shell.screen.set(Screen::Brief))}
                {to_classes()}
            </div>
            {update_offer()}
        </main>
    }
    .into_any()
}

/// How often each move was met in a way, in the order of the class.
fn by_move(
    timeline: &Timeline,
    record: &Record,
    which: &dyn Fn(&Segment, Did) -> bool,
) -> Vec<(String, usize)> {
    let mut order = Vec::new();
    let mut counts: BTreeMap<usize, usize> = BTreeMap::new();
    for (segment, did) in &record.work {
        let segment = &timeline.segments()[*segment];
        let Some(at) = segment.move_at else {
            continue;
        };
        if which(segment, *did) {
            if !counts.contains_key(&at) {
                order.push(at);
            }
            *counts.entry(at).or_default() += 1;
        }
    }
    order
        .into_iter()
        .filter_map(|at| {
            let known = timeline.plan().moves.get(at)?;
            Some((text::move_name(known), counts[&at]))
        })
        .collect()
}

fn list(heading: &'static str, id: &'static str, moves: Vec<(String, usize)>) -> AnyView {
    if moves.is_empty() {
        return nothing();
    }
    let items = moves
        .into_iter()
        .map(|(name, times)| {
            view! { <li>{name} " " <span class="small">{format!("{times} ×")}</span></li> }
        })
        .collect_view();
    view! {
        <section data-testid=id>
            <h2>{heading}</h2>
            <ul class="tally">{items}</ul>
        </section>
    }
    .into_any()
}
