//! Making the class exactly its slot: what may move, and the class before and after.

use leptos::prelude::*;
use web_sys::Event;

use super::super::hand_out;
use super::Desk;
use crate::app::parts::live::{button, follow, nothing, part, touch};
use crate::app::parts::shape::picture;
use crate::app::parts::text;
use crate::check::check;
use crate::fit::{Change, Fitted, Kind, May, Value, fit as fitted};
use crate::plan::Plan;
use crate::timeline::Timeline;

/// What a coach chooses between for the bound of a change, in seconds.
const BOUNDS: [u32; 4] = [10, 20, 30, 60];
const STEPS: [u32; 4] = [1, 5, 10, 15];

fn kind_words(kind: Kind) -> &'static str {
    match kind {
        Kind::Breaks => "breaks and interludes",
        Kind::Rests => "rests",
        Kind::Demos => "demos",
        Kind::Work => "work",
        Kind::Rounds => "rounds",
    }
}

fn value_words(value: Value) -> &'static str {
    match value {
        Value::After => "break after it",
        Value::Rounds => "rounds",
        Value::Demo => "demos",
        Value::Interlude => "lasts",
        Value::Break => "break between rounds",
        Value::Rest => "rest",
        Value::Change => "change of sides",
        Value::Work => "work",
    }
}

/// The panel.
pub(super) fn fit(desk: Desk) -> AnyView {
    let may = RwSignal::new(May::default());
    let allow = |kind: Kind, id: &'static str| {
        let toggle = move |event: Event| {
            let on = event_target_checked(&event);
            may.update(|may| match kind {
                Kind::Breaks => may.breaks = on,
                Kind::Rests => may.rests = on,
                Kind::Demos => may.demos = on,
                Kind::Work => may.work = on,
                Kind::Rounds => may.rounds = on,
            });
        };
        view! {
            <label class="switch">
                <input type="checkbox" data-testid=id prop:checked=move || may.with(|may| may.allows(kind)) on:change=toggle />
                <span>{super::fields::capital(kind_words(kind))}</span>
            </label>
        }
        .into_any()
    };
    let number = |label: &'static str,
                  id: &'static str,
                  of: &'static [u32],
                  now: u32,
                  set: fn(&mut May, u32)| {
        let options = of
            .iter()
            .map(|n| {
                view! { <option value=n.to_string() selected=*n == now>{format!("{n} s")}</option> }
                    .into_any()
            })
            .collect_view();
        let chosen = move |event: Event| {
            if let Ok(n) = event_target_value(&event).parse() {
                may.update(|may| set(may, n));
            }
        };
        view! {
            <label class="field"><span>{label}</span><select data-testid=id on:change=chosen>{options}</select></label>
        }
        .into_any()
    };
    // Locks are by place: when blocks come, go or change places, they are off.
    let names = Memo::new(move |_| {
        desk.read(|plan| {
            let blocks = plan.blocks.iter();
            blocks.map(text::block).collect::<Vec<_>>()
        })
    });
    follow(move || {
        names.track();
        may.update(|may| may.locked.clear());
    });
    let locks = part(move || {
        let rows = names.get().into_iter().enumerate().map(|(at, name)| {
            let toggle = move |event: Event| {
                let on = event_target_checked(&event);
                may.update(|may| {
                    may.locked.retain(|locked| *locked != at);
                    if on {
                        may.locked.push(at);
                    }
                });
            };
            view! {
                <label class="switch">
                    <input type="checkbox" data-testid=format!("lock-{at}") on:change=toggle />
                    <span dir="auto">{format!("{}. {name}", at + 1)}</span>
                </label>
            }
            .into_any()
        });
        rows.collect_view().into_any()
    });
    let outcome = part(move || {
        let plan = desk.read(Plan::clone);
        let Some(slot) = plan.slot else {
            return view! { <p>"Give the class a slot first."</p> }.into_any();
        };
        if let Some(e) = desk.unfinished.get() {
            return view! { <p>{format!("Not yet: {}", super::place_words(desk, &e))}</p> }
                .into_any();
        }
        match fitted(&plan, slot, &may.get()) {
            Ok(fitted) if fitted.changes.is_empty() => {
                view! { <p data-testid="fits">"The class is exactly its slot."</p> }.into_any()
            }
            Ok(fitted) => proposal(desk, &plan, fitted, Reach::Slot),
            Err(miss) => {
                let slot = i64::from(slot) * 1000;
                let away = slot - desk.timeline.with(|timeline| timeline.total_ms());
                let off_step = away % (i64::from(may.with(|may| may.step.max(1))) * 1000) != 0;
                let mut words =
                    String::from("It can't be made exactly the slot with what may move now.");
                if let Some(below) = miss.below {
                    words += &format!(" The nearest below is {} short.", text::clock(slot - below));
                }
                if let Some(above) = miss.above {
                    words += &format!(" The nearest above is {} over.", text::clock(above - slot));
                }
                match &miss.would {
                    Some(kinds) => {
                        let kinds: Vec<_> = kinds.iter().map(|kind| kind_words(*kind)).collect();
                        words += &format!(" It works if these may move too: {}.", kinds.join(", "));
                    }
                    None if off_step => {
                        words += " The slot is not whole steps away from the class: choose a smaller step.";
                    }
                    None => words += " Let values move further, or add or take out a block.",
                }
                let would = miss.would.clone().map(|kinds| {
                    button("", "allow-would", "Let them move", move || {
                        may.update(|may| {
                            for kind in &kinds {
                                *may = may.clone().and(*kind);
                            }
                        });
                    })
                });
                let nearest = miss.nearest.filter(|nearest| !nearest.changes.is_empty());
                let nearest = nearest.map_or_else(nothing, |nearest| {
                    proposal(desk, &plan, *nearest, Reach::Nearest)
                });
                view! {
                    <div class="problem" data-testid="misses"><p>{words}</p> {would}</div>
                    {nearest}
                }
                .into_any()
            }
        }
    });
    view! {
        <section class="notice" data-testid="fit-panel">
            <h2>"Fit to the slot"</h2>
            <div class="choices" role="group" aria-label="What may move">
                {allow(Kind::Breaks, "may-breaks")}
                {allow(Kind::Rests, "may-rests")}
                {allow(Kind::Work, "may-work")}
                {allow(Kind::Rounds, "may-rounds")}
                {allow(Kind::Demos, "may-demos")}
            </div>
            <details class="more">
                <summary>"How far, and what stays"</summary>
                {number("By at most", "may-most", &BOUNDS, 30, |may, n| may.most = n)}
                {number("In steps of", "may-step", &STEPS, 5, |may, n| may.step = n)}
                <div role="group" aria-label="Blocks that stay as they are">
                    <p class="small">"These stay as they are:"</p>
                    {locks}
                </div>
            </details>
            <div aria-live="polite">{outcome}</div>
        </section>
    }
    .into_any()
}

/// How far a proposal comes.
#[derive(Clone, Copy)]
enum Reach {
    Slot,
    Nearest,
}

fn proposal(desk: Desk, plan: &Plan, fitted: Fitted, reach: Reach) -> AnyView {
    let (was, will) = (Timeline::new(plan), Timeline::new(&fitted.plan));
    let (before, after) = (was.total_ms(), will.total_ms());
    let whole = before.max(after);
    let drawn = |words: &str, timeline: &Timeline, label: &'static str| {
        view! {
            <p class="small">{format!("{words}, {}", text::clock(timeline.total_ms()))}</p>
            {picture(timeline, whole, label)}
        }
        .into_any()
    };
    let count = text::count(fitted.changes.len(), "value changes", "values change");
    // Only what does it may say that it does.
    let (claim, words) = match reach {
        Reach::Slot => (
            format!("{count}, the fewest that do it, each changed as little as can be."),
            "Take it",
        ),
        Reach::Nearest => (
            format!("the nearest that can be reached, not the slot. {count}."),
            "Take the nearest",
        ),
    };
    let rows = fitted
        .changes
        .iter()
        .map(|change| row(plan, change))
        .collect_view();
    // What stands out already is not the proposal's doing.
    let known = desk.findings.get_untracked();
    let new: Vec<_> = check(&will)
        .into_iter()
        .filter(|one| !known.iter().any(|old| old.problem.same_rule(&one.problem)))
        .collect();
    let new = (!new.is_empty()).then(|| {
        view! {
            <div data-testid="fit-findings">
                <p>"With this, something stands out that does not now:"</p>
                {hand_out::finding_list(&new, None)}
            </div>
        }
    });
    let plan = fitted.plan;
    let take = touch(move || {
        if !desk.steps("", |now| *now = plan.clone()) {
            return;
        }
        desk.fitting.set(false);
        desk.told.set(format!(
            "The class lasts {} now. Undo takes it back.",
            text::clock(after)
        ));
    });
    view! {
        <p data-testid="proposal">{format!(
            "{} becomes {}: {claim}", text::clock(before), text::clock(after),
        )}</p>
        <div class="shape" data-testid="before-after">
            {drawn("Before", &was, "Effort over the class before")}
            {drawn("After", &will, "Effort over the class after")}
        </div>
        <ul class="plain tight changes">{rows}</ul>
        {new}
        <button class="strong" data-testid="take-fit" on:click=take>{words}</button>
    }
    .into_any()
}

fn row(plan: &Plan, change: &Change) -> AnyView {
    let block = plan.blocks.get(change.block);
    let name = block.map(text::block).unwrap_or_default();
    let numbers = |list: &[u32]| {
        list.iter()
            .map(u32::to_string)
            .collect::<Vec<_>>()
            .join(" ")
    };
    let unit = if change.value == Value::Rounds {
        ""
    } else {
        " s"
    };
    let adds = if change.ms < 0 { "takes" } else { "adds" };
    view! {
        <li data-testid="fit-change">
            <strong dir="auto">{format!("{}. {name}", change.block + 1)}</strong>
            {format!(", {}: {} to {}{unit}", value_words(change.value), numbers(&change.from), numbers(&change.to))}
            <span class="small">{format!(" ({adds} {})", text::clock(change.ms.abs()))}</span>
        </li>
    }
    .into_any()
}
