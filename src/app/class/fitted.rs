//! Texts as large as their boxes hold, and in order: the move's name is never smaller than what
//! stands around it.

use std::rc::Rc;

use leptos::html::{Div, Ol};
use leptos::prelude::*;

use super::super::live::follow;
use wasm_bindgen::{JsCast as _, JsValue};
use web_sys::{Element, HtmlElement};

use crate::device::{Sizes, fit, listen_window};

/// The boxes whose text is fitted.
#[derive(Clone, Copy)]
pub(super) struct Fitted {
    pub name: NodeRef<Div>,
    pub words: NodeRef<Div>,
    pub ahead: NodeRef<Ol>,
    pub ways: NodeRef<Div>,
}

/// The largest size, and the one below which a word is broken sooner than made smaller, in thousandths of
/// the screen's shorter side; and the smallest, in pixels.
const NAME: [i32; 3] = [160, 70, 8];
const WORDS: [i32; 3] = [84, 40, 4];
const AHEAD: [i32; 3] = [62, 36, 6];
const WAYS: [i32; 3] = [46, 34, 5];
/// The name on a rung to come is this much larger than the rung's font, in hundredths.
const RUNG_NAME: i32 = 115;

impl Fitted {
    pub fn new() -> Fitted {
        Fitted {
            name: NodeRef::new(),
            words: NodeRef::new(),
            ahead: NodeRef::new(),
            ways: NodeRef::new(),
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
            // After this turn's changes are in the page.
            let again = again.clone();
            queue_microtask(move || again());
        });
        let resized = StoredValue::new_local(listen_window("resize", move |_| resized()));
        on_cleanup(move || resized.dispose());
    }

    fn again(self) {
        let window = window();
        let length = |px: Result<JsValue, JsValue>| {
            px.ok().and_then(|px| px.as_f64()).unwrap_or(320.0) as i32
        };
        let shorter = length(window.inner_width()).min(length(window.inner_height()));
        let refit = |element: Option<Element>, [most, whole, least]: [i32; 3], below: i32| {
            let element = element?.dyn_into::<HtmlElement>().ok()?;
            let halves = |share: i32| (2 * share * shorter / 1000).min(below);
            let sizes = Sizes {
                least: 2 * least,
                whole: halves(whole),
                most: halves(most),
            };
            Some(fit(&element, sizes))
        };
        // The class may have ended meanwhile, and its screen with it.
        let name = self.name.try_get_untracked().flatten().map(Into::into);
        let Some(name) = refit(name, NAME, i32::MAX) else {
            return;
        };
        let words = self.words.try_get_untracked().flatten().map(Into::into);
        refit(words, WORDS, name - 1);
        let ahead = self.ahead.try_get_untracked().flatten().map(Into::into);
        refit(ahead, AHEAD, (name - 1) * 100 / RUNG_NAME);
        let ways = self.ways.try_get_untracked().flatten().map(Into::into);
        refit(ways, WAYS, name - 1);
    }
}
