//! Fields of the editor: each shows what the plan says now and takes a step when it is changed.

use std::sync::Arc;

use leptos::prelude::*;
use web_sys::{Event, MouseEvent};

use super::super::live::{Live, live, touch};
use super::Desk;
use crate::plan::{ByRound, Plan};

/// A stepper goes by so many seconds.
const STEP_S: u32 = 5;

type Get<T> = Box<dyn Fn(&Plan) -> T + Send + Sync>;
type Set<T> = Box<dyn Fn(&mut Plan, T) + Send + Sync>;

fn words(id: &str) -> String {
    id.to_owned()
}

/// A line of text, kept as it is typed.
pub(super) fn line(
    desk: Desk,
    label: impl Into<String>,
    id: impl Into<String>,
    get: impl Fn(&Plan) -> String + Send + Sync + 'static,
    set: impl Fn(&mut Plan, &str) + Send + Sync + 'static,
) -> AnyView {
    fn made(
        desk: Desk,
        label: String,
        id: String,
        get: Get<String>,
        set: Box<dyn Fn(&mut Plan, &str) + Send + Sync>,
    ) -> AnyView {
        let about = words(&id);
        let typed = move |event: Event| {
            let text = event_target_value(&event);
            desk.step(&about, |plan| set(plan, &text));
        };
        view! {
            <label class="wide">
                <span>{label}</span>
                <input type="text" dir="auto" maxlength="500" autocomplete="off" data-testid=id
                    prop:value=live(move || desk.read(&get)) on:input=typed />
            </label>
        }
        .into_any()
    }
    made(desk, label.into(), id.into(), Box::new(get), Box::new(set))
}

/// Several lines of text, kept as they are typed.
pub(super) fn area(
    desk: Desk,
    label: impl Into<String>,
    id: impl Into<String>,
    get: impl Fn(&Plan) -> String + Send + Sync + 'static,
    set: impl Fn(&mut Plan, &str) + Send + Sync + 'static,
) -> AnyView {
    fn made(
        desk: Desk,
        label: String,
        id: String,
        get: Get<String>,
        set: Box<dyn Fn(&mut Plan, &str) + Send + Sync>,
    ) -> AnyView {
        let about = words(&id);
        let typed = move |event: Event| {
            let text = event_target_value(&event);
            desk.step(&about, |plan| set(plan, &text));
        };
        view! {
            <label class="wide">
                <span>{label}</span>
                <textarea dir="auto" rows="2" data-testid=id
                    prop:value=live(move || desk.read(&get)) on:input=typed></textarea>
            </label>
        }
        .into_any()
    }
    made(desk, label.into(), id.into(), Box::new(get), Box::new(set))
}

/// Short texts, one on each line. They are taken when the field is left: an empty line is none.
pub(super) fn texts(
    desk: Desk,
    label: impl Into<String>,
    id: impl Into<String>,
    get: impl Fn(&Plan) -> Vec<String> + Send + Sync + 'static,
    set: impl Fn(&mut Plan, Vec<String>) + Send + Sync + 'static,
) -> AnyView {
    fn made(
        desk: Desk,
        label: String,
        id: String,
        get: Get<Vec<String>>,
        set: Set<Vec<String>>,
    ) -> AnyView {
        let left = move |event: Event| {
            let text = event_target_value(&event);
            let list = text
                .lines()
                .map(str::trim)
                .filter(|line| !line.is_empty())
                .map(str::to_owned)
                .collect();
            desk.step("", |plan| set(plan, list));
        };
        view! {
            <label class="wide">
                <span>{label}</span>
                <textarea dir="auto" rows="2" data-testid=id
                    prop:value=live(move || desk.read(|plan| get(plan).join("\n"))) on:change=left></textarea>
            </label>
        }
        .into_any()
    }
    made(desk, label.into(), id.into(), Box::new(get), Box::new(set))
}

/// Reads `45`, `1:30`, or several of them; nothing: none.
fn read_seconds(text: &str) -> Option<Option<ByRound>> {
    let mut list = Vec::new();
    for one in text.split([' ', ',', ';']).filter(|one| !one.is_empty()) {
        let number = match one.split_once(':') {
            None => one.parse::<u32>().ok()?,
            Some((minutes, seconds)) => {
                let seconds = seconds.parse::<u32>().ok().filter(|s| *s < 60)?;
                minutes
                    .parse::<u32>()
                    .ok()?
                    .checked_mul(60)?
                    .checked_add(seconds)?
            }
        };
        list.push(number.min(99_999));
    }
    Some((!list.is_empty()).then_some(ByRound(list)))
}

fn shown_seconds(list: Option<&ByRound>) -> String {
    let Some(list) = list else {
        return String::new();
    };
    let one = |s: &u32| {
        if *s < 120 {
            s.to_string()
        } else {
            format!("{}:{:02}", s / 60, s % 60)
        }
    };
    list.0.iter().map(one).collect::<Vec<_>>().join(" ")
}

/// Seconds, or a list of them by the round, with steppers.
pub(super) fn seconds(
    desk: Desk,
    label: impl Into<String>,
    id: impl Into<String>,
    get: impl Fn(&Plan) -> Option<ByRound> + Send + Sync + Clone + 'static,
    set: impl Fn(&mut Plan, Option<ByRound>) + Send + Sync + Clone + 'static,
) -> AnyView {
    fn made(
        desk: Desk,
        label: String,
        id: String,
        get: Get<Option<ByRound>>,
        set: Set<Option<ByRound>>,
    ) -> AnyView {
        let get = Arc::new(get);
        let set = Arc::new(set);
        let step = |up: bool| {
            let (get, set, about) = (get.clone(), set.clone(), words(&id));
            touch(move || {
                desk.step(&about, |plan| {
                    let mut list = get(plan).unwrap_or_default();
                    if list.is_empty() {
                        list.0.push(0);
                    }
                    for one in &mut list.0 {
                        *one = if up {
                            *one + STEP_S
                        } else {
                            one.saturating_sub(STEP_S)
                        };
                    }
                    set(plan, Some(list));
                });
            })
        };
        let (less, more) = (step(false), step(true));
        let typed = move |event: Event| {
            if let Some(list) = read_seconds(&event_target_value(&event)) {
                desk.step("", |plan| set(plan, list));
            }
            // What can't be read leaves what there was.
            desk.draft.notify();
        };
        let shown = live(move || desk.read(|plan| shown_seconds(get(plan).as_ref())));
        stepper(label, id, "5", shown, Box::new(typed), (less, more))
    }
    made(desk, label.into(), id.into(), Box::new(get), Box::new(set))
}

/// A count with steppers of one.
pub(super) fn count(
    desk: Desk,
    label: impl Into<String>,
    id: impl Into<String>,
    get: impl Fn(&Plan) -> u32 + Send + Sync + 'static,
    set: impl Fn(&mut Plan, u32) + Send + Sync + 'static,
) -> AnyView {
    fn made(desk: Desk, label: String, id: String, get: Get<u32>, set: Set<u32>) -> AnyView {
        let get = Arc::new(get);
        let set = Arc::new(set);
        let step = |up: bool| {
            let (get, set, about) = (get.clone(), set.clone(), words(&id));
            touch(move || {
                desk.step(&about, |plan| {
                    let now = get(plan);
                    set(
                        plan,
                        if up {
                            now + 1
                        } else {
                            now.saturating_sub(1).max(1)
                        },
                    );
                });
            })
        };
        let (less, more) = (step(false), step(true));
        let typed = move |event: Event| {
            if let Ok(n) = event_target_value(&event).trim().parse::<u32>() {
                desk.step("", |plan| set(plan, n.max(1)));
            }
            desk.draft.notify();
        };
        let shown = live(move || desk.read(|plan| get(plan)).to_string());
        stepper(label, id, "1", shown, Box::new(typed), (less, more))
    }
    made(desk, label.into(), id.into(), Box::new(get), Box::new(set))
}

type Touch = Box<dyn FnMut(MouseEvent)>;

/// A field with a step down and a step up.
fn stepper(
    label: String,
    id: String,
    step: &str,
    shown: Live,
    typed: Box<dyn FnMut(Event)>,
    (less, more): (Touch, Touch),
) -> AnyView {
    view! {
        <div class="number">
            <label>
                <span>{label.clone()}</span>
                <input type="text" autocomplete="off" data-testid=id.clone() prop:value=shown on:change=typed />
            </label>
            <button aria-label=format!("{label}: \u{2212}{step}") data-testid=format!("{id}-less") on:click=less>{format!("\u{2212}{step}")}</button>
            <button aria-label=format!("{label}: +{step}") data-testid=format!("{id}-more") on:click=more>{format!("+{step}")}</button>
        </div>
    }
    .into_any()
}

/// One of some words.
pub(super) fn choice(
    desk: Desk,
    label: impl Into<String>,
    id: impl Into<String>,
    of: Vec<(String, String)>,
    get: impl Fn(&Plan) -> String + Send + Sync + 'static,
    set: impl Fn(&mut Plan, &str) + Send + Sync + 'static,
) -> AnyView {
    fn made(
        desk: Desk,
        label: String,
        id: String,
        of: Vec<(String, String)>,
        get: Get<String>,
        set: Box<dyn Fn(&mut Plan, &str) + Send + Sync>,
    ) -> AnyView {
        let get = Arc::new(get);
        let options = of
            .into_iter()
            .map(|(value, words)| {
                let (get, own) = (get.clone(), value.clone());
                let selected = move || desk.read(|plan| get(plan) == own);
                view! { <option value=value prop:selected=selected>{words}</option> }.into_any()
            })
            .collect_view();
        let chosen = move |event: Event| {
            let value = event_target_value(&event);
            desk.step("", |plan| set(plan, &value));
        };
        view! {
            <label class="field">
                <span>{label}</span>
                <select data-testid=id on:change=chosen>{options}</select>
            </label>
        }
        .into_any()
    }
    made(
        desk,
        label.into(),
        id.into(),
        of,
        Box::new(get),
        Box::new(set),
    )
}

/// Yes or no.
pub(super) fn switch(
    desk: Desk,
    label: impl Into<String>,
    id: impl Into<String>,
    get: impl Fn(&Plan) -> bool + Send + Sync + 'static,
    set: impl Fn(&mut Plan, bool) + Send + Sync + 'static,
) -> AnyView {
    fn made(desk: Desk, label: String, id: String, get: Get<bool>, set: Set<bool>) -> AnyView {
        let changed = move |event: Event| {
            let on = event_target_checked(&event);
            desk.step("", |plan| set(plan, on));
        };
        view! {
            <label class="switch">
                <input type="checkbox" data-testid=id prop:checked=move || desk.read(&get) on:change=changed />
                <span>{label}</span>
            </label>
        }
        .into_any()
    }
    made(desk, label.into(), id.into(), Box::new(get), Box::new(set))
}

/// The words of a closed set, for [`choice`].
pub(super) fn words_of<W: crate::plan::Word>() -> Vec<(String, String)> {
    W::WORDS
        .iter()
        .map(|(_, word)| ((*word).to_owned(), capital(word)))
        .collect()
}

/// With a capital, as a choice stands by itself.
pub(super) fn capital(word: &str) -> String {
    let mut letters = word.chars();
    letters
        .next()
        .map(|first| first.to_uppercase().collect::<String>() + letters.as_str())
        .unwrap_or_default()
}
