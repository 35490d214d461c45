//! How hard a class is: the talk test, a heart-rate guide and the energy, as estimates.

use core::ops::RangeInclusive;

use leptos::prelude::*;
use web_sys::Event;

use crate::app::parts::live::{live, nothing, part};
use crate::app::parts::shape::shape;
use crate::app::parts::{Opened, shell, text};
use crate::energy::{self, AgeFormula, Load};
use crate::plan::{Effort, Word as _};
use crate::stored::Body;

fn shown(n: Option<impl ToString>) -> String {
    n.map_or_else(String::new, |n| n.to_string())
}

/// A formula by its place; the usual one where there is none.
fn formula(text: &str) -> usize {
    text.parse().map_or(1, |n: usize| n % AgeFormula::ALL.len())
}

/// A whole number within a range.
fn whole(text: &str, range: RangeInclusive<u32>) -> Option<u32> {
    text.parse().ok().filter(|n| range.contains(n))
}

/// A mass, with a decimal point or comma.
fn mass(text: &str) -> Option<f64> {
    let kg: f64 = text.replace(',', ".").parse().ok()?;
    energy::MASSES.contains(&kg).then_some(kg)
}

/// The section.
pub fn effort(opened: &Opened) -> AnyView {
    let shell = shell();
    let body = RwSignal::new(shell.store.with_value(crate::device::Store::body));
    // Which fields hold what is not used: it is told until they don't.
    let unused = RwSignal::new([false; 3]);
    let keep = move || {
        shell
            .store
            .with_value(|store| store.keep_body(&body.get_untracked()));
    };
    let field = |at: usize,
                 (label, id): (&'static str, &'static str),
                 now: String,
                 write: fn(&mut Body, &str) -> bool| {
        let set = move |event: Event| {
            let text = event_target_value(&event);
            let text = text.trim();
            let mut used = false;
            body.update(|body| used = write(body, text));
            unused.update(|unused| unused[at] = !used && !text.is_empty());
            keep();
        };
        let invalid = live(move || unused.get()[at].to_string());
        view! {
            <label class="field">
                <span>{label}</span>
                <input type="text" inputmode="decimal" autocomplete="off" value=now aria-invalid=invalid data-testid=id on:change=set />
            </label>
        }
        .into_any()
    };
    let told = live(move || {
        let words = if unused.get().contains(&true) {
            "What is not used: age takes whole years from 10 to 100, the resting pulse 30 to 120, mass 30 to 250 kg."
        } else {
            ""
        };
        words.to_owned()
    });
    let choose = move |event: Event| {
        body.update(|body| body.formula = formula(&event_target_value(&event)));
        keep();
    };
    let first = body.get_untracked();
    let formulas = AgeFormula::ALL
        .iter()
        .enumerate()
        .map(|(at, formula)| {
            view! { <option value=at.to_string() selected=at == first.formula>{formula.name()}</option> }.into_any()
        })
        .collect_view();
    let timeline = opened.timeline.clone();
    let mut efforts: Vec<Effort> = Vec::new();
    for (effort, _) in Effort::WORDS {
        let works = |segment: &crate::timeline::Segment| {
            segment.is_work() && timeline.effort_of(segment) == *effort
        };
        if timeline.segments().iter().any(works) {
            efforts.push(*effort);
        }
    }
    let rows = part(move || {
        let body = body.get();
        let formula = AgeFormula::ALL[body.formula];
        efforts
            .iter()
            .map(|effort| {
                let beats = body
                    .age
                    .and_then(|age| energy::zone(*effort, age, body.resting, formula));
                let feel = energy::feel(*effort);
                let beats = beats.map_or_else(String::new, |(low, high)| match high {
                    Some(high) => {
                        format!("about {low} to {} beats a minute", high.saturating_sub(1))
                    }
                    None => format!("about {low} beats a minute and more"),
                });
                view! {
                    <li data-testid="effort-row">
                        <strong>{effort.word()}</strong> ": " {feel.words} " " <span class="small">{format!("({})", feel.source)}</span>
                        <span class="small keep">{beats}</span>
                    </li>
                }
                .into_any()
            })
            .collect_view()
            .into_any()
    });
    let source = part(move || {
        let body = body.get();
        let formula = AgeFormula::ALL[body.formula];
        let Some(max) = body.age.and_then(|age| formula.max(age)) else {
            return view! { <p class="small">"With your age there are beats a minute beside it."</p> }.into_any();
        };
        let way = if body.resting.is_some() {
            "of the reserve above rest (Karvonen)"
        } else {
            "of the highest rate"
        };
        view! {
            <p class="small" data-testid="rate-source">{format!(
                "An estimate: highest rate about {max:.0} ({}); classes of effort by ACSM (Garber et al. 2011), as shares {way}. People differ by 10 beats and more.",
                formula.source()
            )}</p>
        }
        .into_any()
    });
    let timeline = opened.timeline.clone();
    let kcal = part(move || {
        let Some(kg) = body.get().kg else {
            return view! { <p class="small">"With your body mass there is an estimate of the energy."</p> }.into_any();
        };
        let Some(energy) = energy::energy(&timeline, kg) else {
            return nothing();
        };
        let parts = energy
            .parts
            .iter()
            .map(|part| {
                let (low, high) = part.mets;
                let name = match part.load {
                    Load::Gap => "gaps",
                    Load::Stretch => "stretching and mobility",
                    Load::Light => "light work",
                    Load::Moderate => "moderate work",
                    Load::Vigorous => "vigorous work",
                    Load::AllOut => "all-out work",
                };
                let ms = (part.minutes * 60_000.0) as i64;
                view! { <li>{format!("{name}: {} at {low:.1} to {high:.1} MET", text::clock(ms))}</li> }.into_any()
            })
            .collect_view();
        view! {
            <p data-testid="kcal">{format!("About {:.0} to {:.0} kcal at {kg} kg, an estimate.", energy.low, energy.high)}</p>
            <details class="more">
                <summary>"How that is reckoned"</summary>
                <ul>{parts}</ul>
                <p class="small">{energy::basis()}</p>
            </details>
        }
        .into_any()
    });
    view! {
        <div class="hearing" data-testid="effort">
            <ul class="plain tight">{rows}</ul>
            <p class="small">"What you can say needs no watch. Some medicines, beta blockers among them, make heart rate a poor guide: ask who prescribed them, and go by the talk test."</p>
            {field(0, ("Age, in years", "age"), shown(first.age), |body, text| { body.age = whole(text, energy::AGES); body.age.is_some() })}
            {field(1, ("Resting pulse, if you know it", "resting"), shown(first.resting), |body, text| { body.resting = whole(text, energy::RESTING); body.resting.is_some() })}
            {field(2, ("Body mass, in kg", "mass"), shown(first.kg), |body, text| { body.kg = mass(text); body.kg.is_some() })}
            <label class="field">
                <span>"Highest rate by"</span>
                <select data-testid="formula" on:change=choose>{formulas}</select>
            </label>
            <p class="small" role="status" data-testid="body-told">{told}</p>
            {source}
            {kcal}
            {shape(&opened.timeline, false)}
            <p class="small">"What you write here stays on this phone."</p>
        </div>
    }
    .into_any()
}
