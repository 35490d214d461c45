//! What a headset, a watch, a lock screen or a media key shows and says.

use js_sys::Function;
use wasm_bindgen::closure::Closure;
use wasm_bindgen::{JsCast as _, JsValue};

use super::js;

/// What such a key asks for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum MediaKey {
    /// Go on.
    Play,
    /// Stand still.
    Pause,
    /// The next one.
    Next,
    /// The one before.
    Previous,
}

const KEYS: [(MediaKey, &str); 4] = [
    (MediaKey::Play, "play"),
    (MediaKey::Pause, "pause"),
    (MediaKey::Next, "nexttrack"),
    (MediaKey::Previous, "previoustrack"),
];

/// Calls back with each key that is pressed.
pub fn on_media_key(pressed: impl Fn(MediaKey) + Clone + 'static) {
    let Some(session) = js::of_navigator("mediaSession") else {
        return;
    };
    for (key, name) in KEYS {
        let pressed = pressed.clone();
        let hears = Closure::<dyn Fn()>::new(move || pressed(key)).into_js_value();
        // A browser that does not know a key throws; the others are still heard.
        let _ = js::call(&session, "setActionHandler", &[name.into(), hears]);
    }
}

/// Says what is on. Empty: nothing is.
pub fn show_media(title: &str, line: &str, playing: bool) {
    let Some(session) = js::of_navigator("mediaSession") else {
        return;
    };
    let state = match (title.is_empty(), playing) {
        (true, _) => "none",
        (false, true) => "playing",
        (false, false) => "paused",
    };
    js::set(&session, "playbackState", &state.into());
    let metadata = web_sys::window()
        .and_then(|window| js::part(&window, "MediaMetadata"))
        .and_then(|class| class.dyn_into::<Function>().ok())
        .filter(|_| !title.is_empty())
        .and_then(|class| {
            let fields = js::object(&[("title", line.into()), ("artist", title.into())]);
            js_sys::Reflect::construct(&class, &js_sys::Array::of1(&fields)).ok()
        });
    js::set(&session, "metadata", &metadata.unwrap_or(JsValue::NULL));
}
