//! Keeping the screen on in class.

use std::cell::RefCell;
use std::rc::Rc;

use js_sys::{Function, Promise, Reflect};
use wasm_bindgen::{JsCast as _, JsValue};
use wasm_bindgen_futures::{JsFuture, spawn_local};

/// The screen wake lock, where the browser has one. It lets go of it by itself when the page is
/// hidden: ask again when the page is back.
#[derive(Clone, Default)]
pub struct WakeLock {
    held: Rc<RefCell<Option<JsValue>>>,
    wanted: Rc<RefCell<bool>>,
}

fn call(of: &JsValue, name: &str, arguments: &[JsValue]) -> Option<Promise> {
    let method: Function = Reflect::get(of, &name.into()).ok()?.dyn_into().ok()?;
    let list: js_sys::Array = arguments.iter().collect();
    Reflect::apply(&method, of, &list).ok()?.dyn_into().ok()
}

impl WakeLock {
    /// Asks for the screen to stay on.
    pub fn ask(&self) {
        *self.wanted.borrow_mut() = true;
        let lock = web_sys::window()
            .and_then(|window| Reflect::get(&window.navigator(), &"wakeLock".into()).ok())
            .filter(JsValue::is_object);
        let Some(asked) = lock.and_then(|lock| call(&lock, "request", &["screen".into()])) else {
            return;
        };
        let this = self.clone();
        spawn_local(async move {
            // Refused on a low battery, or when the page was hidden meanwhile: the class goes on.
            if let Ok(held) = JsFuture::from(asked).await {
                this.held.replace(Some(held));
                if !*this.wanted.borrow() {
                    this.release();
                }
            }
        });
    }

    /// Asks again, if it was asked for: the browser let go when the page was hidden.
    pub fn again(&self) {
        if *self.wanted.borrow() {
            self.ask();
        }
    }

    /// Lets the screen go dark again.
    pub fn release(&self) {
        *self.wanted.borrow_mut() = false;
        if let Some(held) = self.held.take() {
            // Nothing hangs on when it is let go.
            let _ = call(&held, "release", &[]);
        }
    }
}
