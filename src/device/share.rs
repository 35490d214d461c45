//! Handing a link out: by the system's share sheet, or by the clipboard.

use js_sys::{Function, Object, Promise, Reflect};
use wasm_bindgen::{JsCast as _, JsValue};
use wasm_bindgen_futures::{JsFuture, spawn_local};

/// How a link left the page.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Shared {
    /// Through the system's share sheet, or the person thought better of it.
    Sheet,
    /// It lies on the clipboard.
    Copied,
    /// The browser can do neither.
    No,
}

fn call(of: &JsValue, name: &str, argument: &JsValue) -> Option<Promise> {
    let method: Function = Reflect::get(of, &name.into()).ok()?.dyn_into().ok()?;
    method.call1(of, argument).ok()?.dyn_into().ok()
}

/// Hands out a link, in the handler of a touch.
pub fn share(title: &str, address: &str, told: impl FnOnce(Shared) + 'static) {
    let Some(window) = web_sys::window() else {
        return told(Shared::No);
    };
    let navigator: JsValue = window.navigator().into();
    let what = Object::new();
    // Setting a key of a new object does not fail.
    let _ = Reflect::set(&what, &"title".into(), &title.into());
    let _ = Reflect::set(&what, &"url".into(), &address.into());
    if let Some(asked) = call(&navigator, "share", &what) {
        spawn_local(async move {
            // A share sheet that was closed again is no fault.
            let _ = JsFuture::from(asked).await;
            told(Shared::Sheet);
        });
        return;
    }
    let clipboard = Reflect::get(&navigator, &"clipboard".into()).unwrap_or(JsValue::UNDEFINED);
    let asked = if clipboard.is_object() {
        call(&clipboard, "writeText", &address.into())
    } else {
        None
    };
    match asked {
        Some(asked) => spawn_local(async move {
            let copied = JsFuture::from(asked).await.is_ok();
            told(if copied { Shared::Copied } else { Shared::No });
        }),
        None => told(Shared::No),
    }
}
