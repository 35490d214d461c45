//! Texts as large as their boxes hold, and in order: the move's name is never smaller than what
//! stands around it.

use std::rc::Rc;

use leptos::html::{Div, Nav, Ol, Section};
use leptos::prelude::*;

use crate::app::parts::live::follow;
use wasm_bindgen::{JsCast as _, JsValue};
use web_sys::{Element, HtmlElement};

use crate::device::{Sizes, fit, fit_by_less, listen_window};

/// The boxes whose text is fitted.
#[derive(Clone, Copy)]
pub(super) struct Fitted {
    pub name: NodeRef<Div>,
    pub words: NodeRef<Div>,
    pub ahead: NodeRef<Ol>,
    pub ways: NodeRef<Div>,
    pub more: NodeRef<Section>,
    pub controls: NodeRef<Nav>,
}

/// The largest size, and the one below which a word is broken sooner than made smaller, in thousandths of
/// the screen's shorter side; and the smallest, in pixels.
const NAME: [i32; 3] = [160, 70, 12];
const WORDS: [i32; 3] = [84, 40, 12];
const AHEAD: [i32; 3] = [62, 36, 12];
const WAYS: [i32; 3] = [46, 34, 12];
const MORE: [i32; 3] = [62, 44, 15];
/// How often less can be shown of each where the smallest size does not hold it.
const LESS_WORDS: u8 = 6;
const LESS_AHEAD: u8 = 4;
const LESS_WAYS: u8 = 3;
const LESS_CONTROLS: u8 = 3;
/// The how-to stands below the cues where all of it is as large as this, in thousandths as above and in
/// pixels, and the cues keep seven tenths of the size that they have alone.
const HOW_ROOM: [i32; 2] = [44, 16];
/// The name on a rung to come is this much larger than the rung's font, in hundredths.
const RUNG_NAME: i32 = 115;

impl Fitted {
    pub fn new() -> Fitted {
        Fitted {
            name: NodeRef::new(),
            words: NodeRef::new(),
            ahead: NodeRef::new(),
            ways: NodeRef::new(),
            more: NodeRef::new(),
            controls: NodeRef::new(),
        }
    }

    /// Fits the texts when what is tracked changes, and when the window does.
    pub fn keep(self, track: impl Fn() + 'static) {
        let again = Rc::new(move || self.again());
        let resized = again.clone();
        follow(move || {
            track();
            self.name.track();
            self.ways.track();
            self.more.track();
            // After this turn's changes are in the page.
            let again = again.clone();
            queue_microtask(move || again());
        });
        let resized = StoredValue::new_local(listen_window("resize", move |_| resized()));
        on_cleanup(move || resized.dispose());
    }

    fn again(self) {
        // First what takes its room from all others.
        if let Some(controls) = self.controls.try_get_untracked().flatten() {
            fit_by_less(&controls, "button", LESS_CONTROLS);
        }
        let window = window();
        let length = |px: Result<JsValue, JsValue>| {
            px.ok().and_then(|px| px.as_f64()).unwrap_or(320.0) as i32
        };
        let shorter = length(window.inner_width()).min(length(window.inner_height()));
        let refit =
            |element: Option<Element>, [most, whole, least]: [i32; 3], below: i32, less: u8| {
                let element = element?.dyn_into::<HtmlElement>().ok()?;
                let halves = |share: i32| (2 * share * shorter / 1000).min(below);
                let sizes = Sizes {
                    least: 2 * least,
                    whole: halves(whole),
                    most: halves(most),
                };
                Some(fit(&element, sizes, less))
            };
        // The class may have ended meanwhile, and its screen with it. The ways come before what shares
        // the rest of the screen; then the name, which nothing around it is larger than.
        let larger = (text_scale() * f64::from(WAYS[0])) as i32;
        let ways = self.ways.try_get_untracked().flatten().map(Into::into);
        let less = less_ways(ways.as_ref());
        let ways = refit(ways, [larger, WAYS[1], WAYS[2]], i32::MAX, less);
        let name = self.name.try_get_untracked().flatten().map(Into::into);
        let Some(name) = refit(name, NAME, i32::MAX, 0) else {
            return;
        };
        if let Some(words) = self.words.try_get_untracked().flatten() {
            let fit_words = |how: bool| {
                // An attribute of this name can be set on every element.
                let _ = words.set_attribute("data-how", if how { "true" } else { "false" });
                let words: &Element = words.as_ref();
                refit(Some(words.clone()), WORDS, name - 1, LESS_WORDS).unwrap_or_default()
            };
            let alone = fit_words(false);
            if let Ok(Some(_)) = words.query_selector(".if-room") {
                let [share, least] = HOW_ROOM;
                let room = (2 * share * shorter / 1000).max(2 * least);
                let room = room.max(alone * 7 / 10);
                if fit_words(true) < room || words.has_attribute("data-less") {
                    fit_words(false);
                }
            }
        }
        let ahead = self.ahead.try_get_untracked().flatten().map(Into::into);
        refit(ahead, AHEAD, (name - 1) * 100 / RUNG_NAME, LESS_AHEAD);
        if ways.is_some_and(|ways| ways >= name) {
            let ways = self.ways.try_get_untracked().flatten().map(Into::into);
            refit(ways, WAYS, name - 1, less);
        }
        let more = self.more.try_get_untracked().flatten().map(Into::into);
        refit(more, MORE, i32::MAX, 0);
    }
}

/// How often less can be shown of the ways: many are told apart by their names alone, and are moved
/// through where they have no room.
fn less_ways(ways: Option<&Element>) -> u8 {
    match ways {
        Some(ways) if ways.has_attribute("data-many") => 1,
        _ => LESS_WAYS,
    }
}

/// How much larger than usual text is that a member set in the browser: 1 to 2.
fn text_scale() -> f64 {
    let root = document().document_element();
    let style = root.and_then(|root| window().get_computed_style(&root).ok().flatten());
    let size = style.and_then(|style| style.get_property_value("font-size").ok());
    let px = size.and_then(|size| size.trim_end_matches("px").parse::<f64>().ok());
    (px.unwrap_or(16.0) / 16.0).clamp(1.0, 2.0)
}
