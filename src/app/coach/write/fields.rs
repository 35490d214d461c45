//! Fields of the editor: each shows what the plan says now and takes a step when it is changed.

use std::sync::Arc;

use leptos::html::Textarea;
use leptos::prelude::*;
use web_sys::{Event, MouseEvent};

use super::Desk;
use crate::app::parts::live::{Live, follow, live, touch};
use crate::plan::{ByRound, Plan, limits};

/// A stepper goes by so many seconds.
const STEP_S: u32 = 5;

type Read<T> = Box<dyn Fn(&Plan) -> T + Send + Sync>;
type Put<T> = Box<dyn Fn(&mut Plan, T) + Send + Sync>;

fn words(id: &str) -> String {
    id.to_owned()
}

type PutText = Box<dyn Fn(&mut Plan, &str) + Send + Sync>;
/// Whether the lines could be read.
type PutLines = Box<dyn Fn(&mut Plan, Vec<String>) -> bool + Send + Sync>;

/// A line of text, kept as it is typed.
pub(super) fn line(
    desk: Desk,
    label: impl Into<String>,
    id: impl Into<String>,
    get: impl Fn(&Plan) -> String + Send + Sync + 'static,
    set: impl Fn(&mut Plan, &str) + Send + Sync + 'static,
) -> AnyView {
    typed(
        desk,
        label.into(),
        id.into(),
        false,
        Box::new(get),
        Box::new(set),
    )
}

/// Several lines of text, kept as they are typed.
pub(super) fn area(
    desk: Desk,
    label: impl Into<String>,
    id: impl Into<String>,
    get: impl Fn(&Plan) -> String + Send + Sync + 'static,
    set: impl Fn(&mut Plan, &str) + Send + Sync + 'static,
) -> AnyView {
    typed(
        desk,
        label.into(),
        id.into(),
        true,
        Box::new(get),
        Box::new(set),
    )
}

fn typed(
    desk: Desk,
    label: String,
    id: String,
    lines: bool,
    get: Read<String>,
    set: PutText,
) -> AnyView {
    let about = words(&id);
    let write = move |event: Event| {
        let text = event_target_value(&event);
        desk.step(&about, |plan| set(plan, &text));
    };
    let text = live(move || desk.read(&get));
    let field = if lines {
        view! { <textarea dir="auto" rows="2" data-testid=id prop:value=text on:input=write></textarea> }.into_any()
    } else {
        view! {
            <input type="text" dir="auto" maxlength="500" autocomplete="off" data-testid=id prop:value=text on:input=write />
        }
        .into_any()
    };
    view! { <label class="wide"><span>{label}</span> {field}</label> }.into_any()
}

/// Short texts, one on each line, kept as they are typed.
pub(super) fn texts(
    desk: Desk,
    label: impl Into<String>,
    id: impl Into<String>,
    get: impl Fn(&Plan) -> Vec<String> + Send + Sync + 'static,
    set: impl Fn(&mut Plan, Vec<String>) + Send + Sync + 'static,
) -> AnyView {
    lines_of(desk, label, id, "", get, move |plan, lines| {
        set(plan, lines);
        true
    })
}

/// As [`texts`], of lines that have a form: `set` returns whether they could be read. Where they can't
/// they change nothing and stay as they were typed, and `else_told` says why.
pub(super) fn lines_of(
    desk: Desk,
    label: impl Into<String>,
    id: impl Into<String>,
    else_told: &'static str,
    get: impl Fn(&Plan) -> Vec<String> + Send + Sync + 'static,
    set: impl Fn(&mut Plan, Vec<String>) -> bool + Send + Sync + 'static,
) -> AnyView {
    fn made(
        desk: Desk,
        (label, id, else_told): (String, String, &'static str),
        get: Read<Vec<String>>,
        set: PutLines,
    ) -> AnyView {
        let about = words(&id);
        let wrong = RwSignal::new(false);
        let typed = move |event: Event| {
            let text = event_target_value(&event);
            let list = text
                .lines()
                .map(str::trim)
                .filter(|line| !line.is_empty())
                .map(str::to_owned)
                .collect();
            let mut reads = true;
            desk.step(&about, |plan| reads = set(plan, list));
            if !reads {
                desk.told.set(else_told.to_owned());
            }
            wrong.set(!reads);
        };
        let field = NodeRef::<Textarea>::new();
        // An empty line is none, but the coach is about to write on it: while the field has the focus
        // it is left alone.
        let first = desk.now(|plan| get(plan).join("\n"));
        follow(move || {
            let text = desk.read(|plan| get(plan).join("\n"));
            let Some(field) = field.get_untracked() else {
                return;
            };
            let active = document().active_element();
            if active.as_ref() != Some(field.as_ref()) && !wrong.get_untracked() {
                field.set_value(&text);
            }
        });
        view! {
            <label class="wide">
                <span>{label}</span>
                <textarea dir="auto" rows="2" data-testid=id node_ref=field on:input=typed
                    aria-invalid=live(move || wrong.get().to_string())
                    on:blur=move |_| desk.draft.notify()>{first}</textarea>
            </label>
        }
        .into_any()
    }
    made(
        desk,
        (label.into(), id.into(), else_told),
        Box::new(get),
        Box::new(set),
    )
}

/// Reads `45`, `45 s`, `1:30`, `1:00:00`, or several of them; nothing: none.
fn read_seconds(text: &str) -> Option<Option<ByRound>> {
    let mut list = Vec::new();
    for one in text.split([' ', ',', ';', '/']) {
        let one = one.trim_end_matches('s');
        if one.is_empty() {
            continue;
        }
        let seconds = crate::app::parts::text::read_clock(one)?;
        list.push(u32::try_from(seconds).ok()?);
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
    get: impl Fn(&Plan) -> Option<ByRound> + Send + Sync + 'static,
    set: impl Fn(&mut Plan, Option<ByRound>) + Send + Sync + 'static,
) -> AnyView {
    stepped(
        desk,
        label.into(),
        id.into(),
        STEP_S,
        Box::new(get),
        Box::new(set),
    )
}

/// Minutes, with steppers. A bare number is minutes, where it could be.
pub(super) fn minutes(
    desk: Desk,
    label: impl Into<String>,
    id: impl Into<String>,
    get: impl Fn(&Plan) -> Option<ByRound> + Send + Sync + 'static,
    set: impl Fn(&mut Plan, Option<ByRound>) + Send + Sync + 'static,
) -> AnyView {
    stepped(
        desk,
        label.into(),
        id.into(),
        60,
        Box::new(get),
        Box::new(set),
    )
}

fn stepped(
    desk: Desk,
    label: String,
    id: String,
    by: u32,
    get: Read<Option<ByRound>>,
    set: Put<Option<ByRound>>,
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
                        one.saturating_add(by)
                    } else {
                        one.saturating_sub(by)
                    };
                }
                set(plan, Some(list));
            });
        })
    };
    let (less, more) = (step(false), step(true));
    let typed = move |event: Event| {
        let text = event_target_value(&event);
        // A slot is one time, not one for each round.
        let is_one =
            |list: &Option<ByRound>| by < 60 || list.as_ref().is_none_or(|list| list.0.len() == 1);
        match read_seconds(&text).filter(is_one) {
            Some(mut list) => {
                // “20” for a slot is minutes: no class has a slot of 20 s.
                if by == 60
                    && !text.contains(':')
                    && let Some(list) = &mut list
                {
                    list.0
                        .iter_mut()
                        .for_each(|one| *one = one.saturating_mul(60));
                }
                desk.step("", |plan| set(plan, list));
            }
            None if by == 60 => desk.told.set(format!(
                "“{text}” is no time. Write minutes as 30 or 27:30."
            )),
            None => desk
                .told
                .set(format!("“{text}” is no time. Write seconds as 45 or 1:30.")),
        }
        // What can't be read leaves what there was.
        desk.draft.notify();
    };
    let shown = live(move || desk.read(|plan| shown_seconds(get(plan).as_ref())));
    let sign = if by == 60 { "1 min" } else { "5" };
    stepper(label, id, sign, shown, Box::new(typed), (less, more))
}

/// A count with steppers of one.
pub(super) fn count(
    desk: Desk,
    label: impl Into<String>,
    id: impl Into<String>,
    get: impl Fn(&Plan) -> u32 + Send + Sync + 'static,
    set: impl Fn(&mut Plan, u32) + Send + Sync + 'static,
) -> AnyView {
    fn made(desk: Desk, label: String, id: String, get: Read<u32>, set: Put<u32>) -> AnyView {
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
                            (now + 1).min(limits::ROUNDS)
                        } else {
                            now.saturating_sub(1).max(1)
                        },
                    );
                });
            })
        };
        let (less, more) = (step(false), step(true));
        let typed = move |event: Event| {
            let text = event_target_value(&event);
            match text.trim().parse::<u32>() {
                Ok(n) if (1..=limits::ROUNDS).contains(&n) => desk.step("", |plan| set(plan, n)),
                _ => desk.told.set(format!(
                    "“{text}” is no number from 1 to {}.",
                    limits::ROUNDS
                )),
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
        get: Read<String>,
        set: PutText,
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
    fn made(desk: Desk, label: String, id: String, get: Read<bool>, set: Put<bool>) -> AnyView {
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
