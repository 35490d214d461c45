//! How hard a class is: the talk test, a heart-rate guide and the energy, as estimates.

use leptos::prelude::*;
use web_sys::Event;

use super::live::{nothing, part};
use super::{Opened, shell, text};
use crate::check::effort_of;
use crate::energy::{self, AgeFormula, Load};
use crate::plan::{Effort, Word as _};

/// What the member said, all of it optional. It stays on the phone.
#[derive(Clone, Debug, Default, PartialEq)]
struct Body {
    age: Option<u32>,
    resting: Option<u32>,
    kg: Option<u32>,
    formula: usize,
}

impl Body {
    /// Four numbers on a line, each of which may be missing.
    fn read(text: &str) -> Body {
        let mut parts = text.split(',').map(|part| part.parse().ok());
        let mut next = || parts.next().flatten();
        Body {
            age: next(),
            resting: next(),
            kg: next(),
            formula: next().map_or(1, |n| n as usize % AgeFormula::ALL.len()),
        }
    }

    fn text(&self) -> String {
        let word = |n: Option<u32>| n.map_or_else(String::new, |n| n.to_string());
        format!(
            "{},{},{},{}",
            word(self.age),
            word(self.resting),
            word(self.kg),
            self.formula
        )
    }
}

/// The efforts of the class, with what each feels like.
fn feels(effort: Effort) -> &'static str {
    match effort {
        Effort::Light => "you can talk and sing",
        Effort::Moderate => "you can talk, and not sing",
        Effort::Vigorous => "a few words, then a breath",
        Effort::AllOut => "no words; seconds, not minutes",
    }
}

/// The section.
pub(super) fn effort(opened: &Opened) -> AnyView {
    let shell = shell();
    let body = RwSignal::new(Body::read(
        &shell.store.with_value(crate::device::Store::body),
    ));
    let told = RwSignal::new("");
    let set = move |write: fn(&mut Body, Option<u32>) -> bool| {
        move |event: Event| {
            let text = event_target_value(&event);
            let n = text.trim().parse().ok();
            let mut could = text.trim().is_empty();
            body.update(|body| could |= write(body, n));
            told.set(if could {
                ""
            } else {
                "That number is not used: whole numbers, age 10 to 100, pulse 30 to 120, mass 30 to 250."
            });
            shell
                .store
                .with_value(|store| store.keep_body(&body.get_untracked().text()));
        }
    };
    let field = |label: &'static str,
                 id: &'static str,
                 now: Option<u32>,
                 write: fn(&mut Body, Option<u32>) -> bool| {
        let now = now.map_or_else(String::new, |n| n.to_string());
        view! {
            <label class="field">
                <span>{label}</span>
                <input type="text" inputmode="numeric" autocomplete="off" value=now data-testid=id on:change=set(write) />
            </label>
        }
        .into_any()
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
            segment.is_work() && effort_of(&timeline, segment) == *effort
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
                let beats = beats.map_or_else(String::new, |(low, high)| match high {
                    Some(high) => {
                        format!("about {low} to {} beats a minute", high.saturating_sub(1))
                    }
                    None => format!("about {low} beats a minute and more"),
                });
                view! {
                    <li data-testid="effort-row">
                        <strong>{effort.word()}</strong> ": " {feels(*effort)}
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
        let Some(energy) = energy::energy(&timeline, f64::from(kg)) else {
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
            <p class="small">"The talk test (CDC) needs no watch. Some medicines, beta blockers among them, make heart rate a poor guide: ask who prescribed them, and go by the talk test."</p>
            {field("Age, in years", "age", first.age, |body, n| { body.age = n.filter(|n| energy::AGES.contains(n)); body.age.is_some() })}
            {field("Resting pulse, if you know it", "resting", first.resting, |body, n| { body.resting = n.filter(|n| energy::RESTING.contains(n)); body.resting.is_some() })}
            {field("Body mass, in kg", "mass", first.kg, |body, n| { body.kg = n.filter(|n| energy::MASSES.contains(&f64::from(*n))); body.kg.is_some() })}
            <label class="field">
                <span>"Highest rate by"</span>
                <select data-testid="formula" on:change=set(|body, n| { body.formula = n.map_or(1, |n| n as usize % AgeFormula::ALL.len()); true })>{formulas}</select>
            </label>
            <p class="small" role="status" data-testid="body-told">{super::live::live(move || told.get().to_owned())}</p>
            {source}
            {kcal}
            {super::write::shape(&opened.timeline, false)}
            <p class="small">"What you write here stays on this phone."</p>
        </div>
    }
    .into_any()
}
