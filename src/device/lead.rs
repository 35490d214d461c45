//! Which of several tabs runs the class.

use std::cell::{Cell, RefCell};
use std::rc::Rc;

use js_sys::{Function, Object, Promise, Reflect};
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
        let locks = web_sys::window()
            .and_then(|window| Reflect::get(&window.navigator(), &"locks".into()).ok())
            .filter(JsValue::is_object);
        let request = locks.as_ref().and_then(|locks| {
            Reflect::get(locks, &"request".into())
                .ok()?
                .dyn_into::<Function>()
                .ok()
        });
        let (Some(locks), Some(request)) = (locks, request) else {
            return took(true);
        };
        let options = Object::new();
        let how = if over { "steal" } else { "ifAvailable" };
        // Setting a key of a new object does not fail.
        let _ = Reflect::set(&options, &how.into(), &JsValue::TRUE);
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
        let asked = request
            .call3(&locks, &NAME.into(), &options, &granted)
            .ok()
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

    /// Lets another tab lead.
    pub fn let_go(&self) {
        if let Some(done) = self.let_go.take() {
            // A promise's own function does not fail.
            let _ = done.call0(&JsValue::UNDEFINED);
        }
    }
}
