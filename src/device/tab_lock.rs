//! The lock that one tab of a browser holds while it runs a class.

use std::cell::{Cell, RefCell};
use std::rc::Rc;

use js_sys::{Array, Function, Promise};
use wasm_bindgen::closure::Closure;
use wasm_bindgen::{JsCast as _, JsValue};
use wasm_bindgen_futures::JsFuture;

use super::js;

const NAME: &str = "rungbook-class";

/// A web lock, where the browser has them.
#[derive(Clone, Default)]
pub struct TabLock {
    free: Rc<RefCell<Option<Function>>>,
}

impl TabLock {
    /// Asks for the lock, and with `steal` takes it from the tab that has it. `won` hears whether
    /// it was to be had, `lost` when another tab takes it away. Returns whether it could be asked
    /// for: where the browser has no locks nobody answers.
    pub fn ask(
        &self,
        steal: bool,
        won: impl FnOnce(bool) + 'static,
        lost: impl FnOnce() + 'static,
    ) -> bool {
        self.free();
        let Some(locks) = js::of_navigator("locks") else {
            return false;
        };
        let how = if steal { "steal" } else { "ifAvailable" };
        let options = js::object(&[(how, JsValue::TRUE)]);
        let held = self.free.clone();
        let waiting = Rc::new(Cell::new(Some(won)));
        let hears = waiting.clone();
        let granted = Closure::once_into_js(move |lock: JsValue| -> JsValue {
            let Some(won) = hears.take() else {
                return JsValue::UNDEFINED;
            };
            if lock.is_null() {
                won(false);
                return JsValue::UNDEFINED;
            }
            // The lock is held until this promise comes true.
            let until = Promise::new(&mut |done, _| {
                held.replace(Some(done));
            });
            won(true);
            until.into()
        });
        let asked = js::call(&locks, "request", &[NAME.into(), options.into(), granted])
            .and_then(|asked| asked.dyn_into::<Promise>().ok());
        let Some(asked) = asked else { return false };
        js::later(async move {
            // It fails when the lock is stolen, and comes true when it was let go. A page that may
            // not ask at all has the lock to itself.
            if JsFuture::from(asked).await.is_err() {
                match waiting.take() {
                    Some(won) => won(true),
                    None => lost(),
                }
            }
        });
        true
    }

    /// Calls back with whether a tab holds the lock, this one among them. Returns whether it could
    /// be asked.
    pub fn query(held: impl FnOnce(bool) + 'static) -> bool {
        let asked = js::of_navigator("locks").and_then(|locks| js::call(&locks, "query", &[]));
        let Some(asked) = asked.and_then(|asked| asked.dyn_into::<Promise>().ok()) else {
            return false;
        };
        js::later(async move {
            let state = JsFuture::from(asked).await.ok();
            let locks = state.and_then(|state| js::part(&state, "held")?.dyn_into::<Array>().ok());
            let is_ours = |lock: JsValue| js::part(&lock, "name").is_some_and(|name| name == NAME);
            held(locks.is_some_and(|locks| locks.iter().any(is_ours)));
        });
        true
    }

    /// Lets the lock go.
    pub fn free(&self) {
        if let Some(done) = self.free.take() {
            // A promise's own function does not fail.
            let _ = done.call0(&JsValue::UNDEFINED);
        }
    }
}
