//! Handing a link out: by the system's share sheet, or by the clipboard.

use js_sys::Promise;
use wasm_bindgen::{JsCast as _, JsValue};
use wasm_bindgen_futures::JsFuture;

use super::js;

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

/// Hands out a link, in the handler of a touch.
pub fn share(title: &str, address: &str, told: impl FnOnce(Shared) + 'static) {
    let Some(window) = web_sys::window() else {
        return told(Shared::No);
    };
    let navigator: JsValue = window.navigator().into();
    let what = js::object(&[("title", title.into()), ("url", address.into())]);
    let promise = |asked: Option<JsValue>| asked.and_then(|asked| asked.dyn_into::<Promise>().ok());
    if let Some(asked) = promise(js::call(&navigator, "share", &[what.into()])) {
        js::later(async move {
            // A share sheet that was closed again is no fault.
            let _ = JsFuture::from(asked).await;
            told(Shared::Sheet);
        });
        return;
    }
    let clipboard = js::part(&navigator, "clipboard");
    let asked =
        clipboard.and_then(|clipboard| js::call(&clipboard, "writeText", &[address.into()]));
    let asked = promise(asked);
    match asked {
        Some(asked) => js::later(async move {
            let copied = JsFuture::from(asked).await.is_ok();
            told(if copied { Shared::Copied } else { Shared::No });
        }),
        None => told(Shared::No),
    }
}
