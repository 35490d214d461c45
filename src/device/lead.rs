//! Which of several tabs runs the class.

use std::cell::{Cell, RefCell};
use std::rc::Rc;

use js_sys::{Array, Function, Promise};
use wasm_bindgen::closure::Closure;
use wasm_bindgen::{JsCast as _, JsValue};
use wasm_bindgen_futures::JsFuture;

use super::js;

const NAME: &str = "rungbook-class";

/// One tab leads at a time, by a web lock. Where the browser has none, each tab leads.
#[derive(Clone, Default)]
pub struct Lead {
    let_go: Rc<RefCell<Option<Function>>>,
}

impl Lead {
    /// Asks for the lead: `took` hears whether it was to be had, and `lost` when another tab takes
    /// it over. With `over` it is taken from whoever has it.
    pub fn take(
        &self,
        over: bool,
        took: impl FnOnce(bool) + 'static,
        lost: impl FnOnce() + 'static,
    ) {
        self.let_go();
        let Some(locks) = js::of_navigator("locks") else {
            return took(true);
        };
        let how = if over { "steal" } else { "ifAvailable" };
        let options = js::object(&[(how, JsValue::TRUE)]);
        let held = self.let_go.clone();
        let waiting = Rc::new(Cell::new(Some(took)));
        let hears = waiting.clone();
        let granted = Closure::once_into_js(move |lock: JsValue| -> JsValue {
            let Some(took) = hears.take() else {
                return JsValue::UNDEFINED;
            };
            if lock.is_null() {
                took(false);
                return JsValue::UNDEFINED;
            }
            // The lock is held until this promise comes true.
            let until = Promise::new(&mut |done, _| {
                held.replace(Some(done));
            });
            took(true);
            until.into()
        });
        let asked = js::call(&locks, "request", &[NAME.into(), options.into(), granted])
            .and_then(|asked| asked.dyn_into::<Promise>().ok());
        if let Some(asked) = asked {
            js::later(async move {
                // It fails when the lock is taken over, and comes true when it was let go. A page
                // that may not ask at all leads without one.
                if JsFuture::from(asked).await.is_err() {
                    match waiting.take() {
                        Some(took) => took(true),
                        None => lost(),
                    }
                }
            });
        }
    }

    /// Calls back where a tab has the lead, this one among them.
    pub fn ask(taken: impl FnOnce() + 'static) {
        let asked = js::of_navigator("locks").and_then(|locks| js::call(&locks, "query", &[]));
        let Some(asked) = asked.and_then(|asked| asked.dyn_into::<Promise>().ok()) else {
            return;
        };
        js::later(async move {
            let held = JsFuture::from(asked).await.ok();
            let held = held.and_then(|state| js::part(&state, "held")?.dyn_into::<Array>().ok());
            let is_ours = |lock: JsValue| js::part(&lock, "name").is_some_and(|name| name == NAME);
            if held.is_some_and(|held| held.iter().any(is_ours)) {
                taken();
            }
        });
    }

    /// Lets another tab lead.
    pub fn let_go(&self) {
        if let Some(done) = self.let_go.take() {
            // A promise's own function does not fail.
            let _ = done.call0(&JsValue::UNDEFINED);
        }
    }
}
