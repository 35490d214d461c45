//! Looking the class over: findings with their remedies, and what members will see.

use std::sync::Arc;

use leptos::prelude::*;
use web_sys::MouseEvent;

use super::super::hand_out;
use super::Desk;
use crate::app::parts::live::{button, nothing, part};
use crate::app::parts::{library, text};
use crate::check::Remedy;
use crate::timeline::{Timeline, Ways};

/// What stands out, as a count.
pub(super) fn count(desk: Desk) -> String {
    if desk.unfinished.with(Option::is_some) {
        return "Not finished yet".to_owned();
    }
    match desk.findings.with(Vec::len) {
        0 => "Nothing stands out".to_owned(),
        n => text::count(n, "finding", "findings"),
    }
}

/// Goes to the findings. The address stays the class's own.
pub(super) fn to_look(event: MouseEvent) {
    event.prevent_default();
    if let Some(place) = document().get_element_by_id("look") {
        place.scroll_into_view();
    }
}

/// Findings, then the preview.
pub(super) fn look(desk: Desk) -> AnyView {
    let put_right: hand_out::PutRight = Arc::new(move |remedy: &Remedy| {
        if *remedy == Remedy::Fit {
            desk.fitting.set(true);
            return super::focus_soon("fit-panel".to_owned());
        }
        let at = desk.findings.with_untracked(|found| {
            let mut remedies = found.iter().filter_map(|one| one.remedy.as_ref());
            remedies.position(|one| one == remedy)
        });
        desk.step("", |plan| remedy.apply(plan, library()));
        // The focus goes to what takes its place.
        let left = "#look [data-testid=remedy]".to_owned();
        super::focus_nth_soon(left, at.unwrap_or(0) as u32, |_| {});
    });
    let findings = part(move || {
        if let Some(e) = desk.unfinished.get() {
            let words = super::place_words(desk, &e);
            return view! { <p data-testid="unfinished">{format!("Not finished yet: {words}")}</p> }.into_any();
        }
        desk.findings
            .with(|found| hand_out::finding_list(found, Some(put_right.clone())))
    });
    view! {
        <section id="look" data-testid="look-over">
            <h2>"Look it over"</h2>
            {part(move || match desk.wrong.with(Option::is_some) {
                true => view! { <p class="small">"This is of the class as the text could last be read."</p> }.into_any(),
                false => nothing(),
            })}
            {findings}
            <p class="small">"This looks at the plan alone. Your training, local rules, and what licensed practitioners say to your members come first."</p>
        </section>
        <section data-testid="preview">
            <h2>"What members will see"</h2>
            {preview(desk)}
        </section>
    }
    .into_any()
}

/// The class screen's words, one segment after the other.
fn preview(desk: Desk) -> AnyView {
    let at = RwSignal::new(0_usize);
    let card = part(move || {
        let timeline = desk.timeline.get();
        let count = timeline.segments().len();
        if count == 0 {
            return nothing();
        }
        segment(&timeline, at.get().min(count - 1), count)
    });
    let go = move |on: i32| {
        let count = desk
            .timeline
            .with_untracked(|timeline| timeline.segments().len());
        at.update(|at| {
            let now = (*at).min(count.saturating_sub(1));
            *at = if on > 0 {
                (now + 1).min(count.saturating_sub(1))
            } else {
                now.saturating_sub(1)
            };
        });
    };
    view! {
        <div aria-live="polite">{card}</div>
        <div class="row">
            {button("", "preview-back", "The one before", move || go(-1))}
            {button("", "preview-on", "The next one", move || go(1))}
        </div>
    }
    .into_any()
}

fn segment(timeline: &Timeline, at: usize, count: usize) -> AnyView {
    let segment = &timeline.segments()[at];
    let plan = timeline.plan();
    let one = timeline.move_of(segment);
    let name = timeline.name_of(segment, &Ways::new()).unwrap_or_default();
    let say = match plan.blocks.get(segment.block).map(|block| &block.kind) {
        Some(crate::plan::BlockKind::Interlude { say, .. }) if !segment.is_work() => say.clone(),
        _ => String::new(),
    };
    let hand = segment.hands().next();
    let notes = if segment.is_work() {
        timeline.cues_of(segment, &Ways::new())
    } else {
        Vec::new()
    };
    let notes: Vec<_> = notes
        .iter()
        .map(|note| view! { <li dir="auto">{crate::plan::fill(note, hand)}</li> }.into_any())
        .collect();
    let caution = one
        .filter(|one| !one.caution.is_empty() && segment.is_work())
        .map(|one| crate::plan::fill(&one.caution, hand));
    let ways: Vec<_> = one
        .filter(|_| segment.is_work())
        .into_iter()
        .flat_map(|one| &one.options)
        .map(|way| way.called().to_owned())
        .collect();
    let then = timeline
        .next_work(at + 1)
        .and_then(|next| timeline.name_of(&timeline.segments()[next], &Ways::new()))
        .map(|name| format!("Then {name}"));
    view! {
        <div class=if segment.is_work() { "preview work" } else { "preview" } data-testid="preview-card">
            <p class="small">{format!("{} of {count}, at {}", at + 1, text::clock(segment.start_ms))}</p>
            <p><strong>{text::phase(segment.kind)}</strong> " " <span class="figure">{(segment.len_ms() / 1000).to_string()} " s"</span></p>
            <p class="preview-name" dir="auto">{name} {say}</p>
            <ul class="notes">{notes}</ul>
            {caution.map(|caution| view! { <p class="caution" dir="auto">{caution}</p> })}
            {(!ways.is_empty()).then(|| view! { <p class="small" dir="auto">"Ways: " {ways.join(", ")}</p> })}
            {then.map(|then| view! { <p class="small" dir="auto">{then}</p> })}
        </div>
    }
    .into_any()
}
