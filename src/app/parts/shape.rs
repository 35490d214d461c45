//! The shape of a class: each segment as wide as it is long, work hatched by effort, gaps low.

use std::fmt::Write as _;

use leptos::prelude::*;

use super::text;
use crate::check::shares;
use crate::energy::energy;
use crate::plan::{Effort, Word as _};
use crate::timeline::Timeline;

/// Of the drawing, in its own units; its width is the class in seconds.
const HEIGHT: i64 = 100;
const GAP: i64 = 22;
/// For who looks at a class and is nobody in particular.
const USUAL_KG: f64 = 70.0;

/// The picture, with kit and patterns beside it and what it says in words, in full or on a touch.
pub fn shape(timeline: &Timeline, in_full: bool) -> AnyView {
    // Drawn, not a background: paper leaves those out.
    let key = [
        ("light", "light"),
        ("moderate", "moderate"),
        ("vigorous", "vigorous"),
        ("all-out", "all-out"),
        ("gap", "no work"),
    ]
    .map(|(class, words)| {
        let path = if class == "gap" {
            "M0 9h20v5h-20z"
        } else {
            "M0 0h20v14h-20z"
        };
        view! {
            <span class="key">
                <svg viewBox="0 0 20 14" aria-hidden="true"><path class=class d=path></path></svg>
                {words}
            </span>
        }
        .into_any()
    })
    .into_iter()
    .collect_view();
    let detail = view! { {bars_of(timeline)} {words(timeline)} };
    let detail = if in_full {
        detail.into_any()
    } else {
        view! {
            <details class="more">
                <summary>"Kit, patterns, and the shape in words"</summary>
                {detail}
            </details>
        }
        .into_any()
    };
    view! {
        <figure class="shape" data-testid="shape">
            <svg class="hatches" aria-hidden="true">
                <defs>
                    <pattern id="hatch-light" width="12" height="12" patternUnits="userSpaceOnUse">
                        <path d="M0 6h12" class="hatch thin"></path>
                    </pattern>
                    <pattern id="hatch-moderate" width="10" height="20" patternUnits="userSpaceOnUse">
                        <path d="M0 20L10 0" class="hatch"></path>
                    </pattern>
                    <pattern id="hatch-vigorous" width="7" height="14" patternUnits="userSpaceOnUse">
                        <path d="M0 14L7 0M0 0L7 14" class="hatch"></path>
                    </pattern>
                </defs>
            </svg>
            {picture(timeline, timeline.total_ms(), "Effort over the class")}
            <figcaption class="small">{key}</figcaption>
            {detail}
        </figure>
    }
    .into_any()
}

/// The drawing alone, on a scale of so many milliseconds. Its hatching is that of a [`shape`] on the page.
pub fn picture(timeline: &Timeline, whole_ms: i64, label: &'static str) -> AnyView {
    let whole = whole_ms.max(timeline.total_ms()).max(1);
    // Hatching must not widen with the class: it goes by thousandths of the width.
    let scale = |ms: i64| ms * 1000 / whole;
    let mut paths = [const { String::new() }; 5];
    for segment in timeline.segments() {
        let (at, height) = if segment.is_work() {
            (1 + level(timeline.effort_of(segment)), HEIGHT)
        } else {
            (0, GAP)
        };
        let (from, to) = (scale(segment.start_ms), scale(segment.end_ms));
        let width = (to - from).max(1);
        let hair = if segment.is_work() && width > 4 { 1 } else { 0 };
        // Writing to a string can't fail.
        let _ = write!(
            paths[at],
            "M{from} {}h{}v{height}h-{}z",
            HEIGHT - height,
            width - hair,
            width - hair
        );
    }
    let bars = paths
        .into_iter()
        .zip(["gap", "light", "moderate", "vigorous", "all-out"])
        .map(|(path, class)| view! { <path class=class d=path></path> }.into_any())
        .collect_view();
    let blocks = block_lines(timeline)
        .into_iter()
        .map(|(ms, _)| {
            let x = scale(ms).to_string();
            view! { <path class="block-line" d=format!("M{x} 0v{HEIGHT}")></path> }.into_any()
        })
        .collect_view();
    view! {
        <svg viewBox=format!("0 0 1000 {HEIGHT}") preserveAspectRatio="none" role="img" aria-label=label>
            {bars}
            {blocks}
        </svg>
    }
    .into_any()
}

fn level(effort: Effort) -> usize {
    match effort {
        Effort::Light => 0,
        Effort::Moderate => 1,
        Effort::Vigorous => 2,
        Effort::AllOut => 3,
    }
}

/// Where blocks begin, with their places.
fn block_lines(timeline: &Timeline) -> Vec<(i64, usize)> {
    let mut lines: Vec<(i64, usize)> = Vec::new();
    for segment in timeline.segments() {
        if lines
            .last()
            .is_none_or(|(_, block)| *block != segment.block)
        {
            lines.push((segment.start_ms, segment.block));
        }
    }
    lines
}

/// When each piece of kit is used, and how much of the work each pattern has, as bars.
fn bars_of(timeline: &Timeline) -> AnyView {
    let plan = timeline.plan();
    let total = (timeline.total_ms() / 1000).max(1);
    let mut rows = Vec::new();
    let mut row = |name: String, path: String| {
        rows.push(
            view! {
                <span dir="auto">{name}</span>
                <svg viewBox="0 0 1000 10" preserveAspectRatio="none" aria-hidden="true"><path class="used" d=path></path></svg>
            }
            .into_any(),
        );
    };
    for kit in &plan.kit {
        let mut path = String::new();
        for segment in timeline
            .segments()
            .iter()
            .filter(|segment| segment.is_work())
        {
            if timeline
                .move_of(segment)
                .is_some_and(|one| one.kit.contains(&kit.id))
            {
                let scale = |ms: i64| ms / total;
                let (from, to) = (scale(segment.start_ms), scale(segment.end_ms));
                // Writing to a string can't fail.
                let _ = write!(path, "M{from} 0h{0}v10h-{0}z", (to - from).max(1));
            }
        }
        if !path.is_empty() {
            row(kit.called().to_owned(), path);
        }
    }
    let shares = shares(timeline);
    let all: i64 = shares.iter().map(|(_, ms)| ms).sum();
    for (pattern, ms) in shares {
        let width = ms * 1000 / all.max(1);
        row(
            format!("{} {}", pattern.word(), text::clock(ms)),
            format!("M0 0h{width}v10h-{width}z"),
        );
    }
    view! { <div class="bars">{rows}</div> }.into_any()
}

fn words(timeline: &Timeline) -> AnyView {
    let plan = timeline.plan();
    let totals = timeline.totals();
    let mut by_effort = [0_i64; 4];
    for segment in timeline
        .segments()
        .iter()
        .filter(|segment| segment.is_work())
    {
        by_effort[level(timeline.effort_of(segment))] += segment.len_ms();
    }
    let efforts: Vec<_> = Effort::WORDS
        .iter()
        .filter(|(effort, _)| by_effort[level(*effort)] > 0)
        .map(|(effort, word)| format!("{word} {}", text::clock(by_effort[level(*effort)])))
        .collect();
    let patterns: Vec<_> = shares(timeline)
        .into_iter()
        .map(|(pattern, ms)| format!("{} {}", pattern.word(), text::clock(ms)))
        .collect();
    let blocks = block_lines(timeline)
        .into_iter()
        .map(|(ms, at)| {
            let block = &plan.blocks[at];
            let name = text::block(block);
            let mut kit: Vec<&str> = Vec::new();
            for entry in block.entries() {
                for id in plan.move_named(&entry.of).into_iter().flat_map(|one| &one.kit) {
                    if let Some(one) = plan.kit_named(id)
                        && !kit.contains(&one.called())
                    {
                        kit.push(one.called());
                    }
                }
            }
            let kit = if kit.is_empty() { "no kit".to_owned() } else { kit.join(", ") };
            view! { <li><span class="figure">{text::clock(ms)}</span> " " <span dir="auto">{name}</span> ": " {kit}</li> }
                .into_any()
        })
        .collect_view();
    let energy = energy(timeline, USUAL_KG).map(|energy| {
        format!(
            "Energy: about {:.0} to {:.0} kcal at {USUAL_KG:.0} kg, an estimate by effort (how it is reckoned stands on the class's page).",
            energy.low, energy.high
        )
    });
    view! {
        <p>{format!("Work {}, no work {}.", text::clock(totals.work), text::clock(totals.all() - totals.work))}</p>
        <p>{format!("Work by effort: {}.", text::or(&efforts.join(", "), "none"))}</p>
        <p>{format!("Work by pattern: {}.", text::or(&patterns.join(", "), "none said"))}</p>
        <p>{energy}</p>
        <ul class="plain tight">{blocks}</ul>
    }
    .into_any()
}
