//! Calls that are felt.

use js_sys::Array;

use super::js;
use crate::cue::{Call, notes};

/// Whether the browser knows how to.
#[must_use]
pub fn can_vibrate() -> bool {
    js::of_navigator("vibrate").is_some()
}

/// Buzzes a call's rhythm, so that what is felt and what is heard are one.
pub fn vibrate(call: Call) {
    let Some(window) = web_sys::window().filter(|_| can_vibrate()) else {
        return;
    };
    let pattern = Array::new();
    let mut at = 0;
    for note in notes(call) {
        if at > 0 {
            pattern.push(&f64_of(note.from_ms - at));
        }
        pattern.push(&f64_of(note.for_ms));
        at = note.from_ms + note.for_ms;
    }
    // Refused before the first touch of the page, and where the person has it off.
    let _ = js::call(&window.navigator(), "vibrate", &[pattern.into()]);
}

/// A whole number as JavaScript's plain one: an `i64` would become a big integer.
fn f64_of(ms: i64) -> wasm_bindgen::JsValue {
    wasm_bindgen::JsValue::from_f64(ms as f64)
}
