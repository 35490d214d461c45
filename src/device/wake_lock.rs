//! Keeping the screen on in class.

use std::cell::{Cell, RefCell};
use std::rc::Rc;

use js_sys::Promise;
use wasm_bindgen::{JsCast as _, JsValue};
use wasm_bindgen_futures::JsFuture;

use super::js;

/// Whether the screen stays on.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Awake {
    /// Not asked for.
    #[default]
    Unasked,
    /// It does.
    Held,
    /// The phone said no: on a low battery, mostly.
    Refused,
    /// The browser knows no way.
    Missing,
}

/// The screen wake lock, where the browser has one. It lets go of it by itself when the page is
/// hidden: ask again when the page is back.
#[derive(Clone, Default)]
pub struct WakeLock {
    held: Rc<RefCell<Option<JsValue>>>,
    wanted: Rc<Cell<bool>>,
    state: Rc<Cell<Awake>>,
}

impl WakeLock {
    /// Whether the browser has one.
    #[must_use]
    pub fn exists() -> bool {
        js::of_navigator("wakeLock").is_some()
    }

    /// Whether the screen stays on.
    #[must_use]
    pub fn state(&self) -> Awake {
        self.state.get()
    }

    /// Asks for the screen to stay on.
    pub fn ask(&self) {
        self.wanted.set(true);
        let Some(lock) = js::of_navigator("wakeLock") else {
            self.state.set(Awake::Missing);
            return;
        };
        let asked = js::call(&lock, "request", &["screen".into()]);
        let Some(asked) = asked.and_then(|asked| asked.dyn_into::<Promise>().ok()) else {
            self.state.set(Awake::Refused);
            return;
        };
        let this = self.clone();
        js::later(async move {
            match JsFuture::from(asked).await {
                Ok(held) => {
                    this.held.replace(Some(held));
                    this.state.set(Awake::Held);
                    if !this.wanted.get() {
                        this.release();
                    }
                }
                // Also when the page was hidden meanwhile; then it is asked again.
                Err(_) => this.state.set(Awake::Refused),
            }
        });
    }

    /// Asks again, if it was asked for: the browser let go when the page was hidden.
    pub fn again(&self) {
        if self.wanted.get() {
            self.ask();
        }
    }

    /// Lets the screen go dark again.
    pub fn release(&self) {
        self.wanted.set(false);
        self.state.set(Awake::Unasked);
        if let Some(held) = self.held.take() {
            // Nothing hangs on when it is let go.
            let _ = js::call(&held, "release", &[]);
        }
    }
}
