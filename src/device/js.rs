//! Parts of the browser that web-sys does not have, or only for some browsers: by name.

use core::future::Future;
use js_sys::{Array, Function, Object, Reflect};

use wasm_bindgen::{JsCast as _, JsValue};
use wasm_bindgen_futures::spawn_local;

/// A part of a thing, where there is one.
pub(super) fn part(of: &JsValue, name: &str) -> Option<JsValue> {
    let part = Reflect::get(of, &JsValue::from_str(name)).ok()?;
    (!part.is_undefined() && !part.is_null()).then_some(part)
}

/// A part of the navigator, where this browser has it.
pub(super) fn of_navigator(name: &str) -> Option<JsValue> {
    part(&web_sys::window()?.navigator(), name)
}

/// Sets a part. What refuses it stays as it is.
pub(super) fn set(of: &JsValue, name: &str, value: &JsValue) {
    let _ = Reflect::set(of, &JsValue::from_str(name), value);
}

/// Calls a method; `None` where there is none, or where it throws.
pub(super) fn call(of: &JsValue, name: &str, arguments: &[JsValue]) -> Option<JsValue> {
    let method: Function = part(of, name)?.dyn_into().ok()?;
    let list: Array = arguments.iter().collect();
    Reflect::apply(&method, of, &list).ok()
}

/// An object with fields.
pub(super) fn object(fields: &[(&str, JsValue)]) -> Object {
    let object = Object::new();
    for (name, value) in fields {
        set(&object, name, value);
    }
    object
}

/// Runs a future on its own. In one type for all: the machinery is compiled anew for each.
pub(super) fn later(work: impl Future<Output = ()> + 'static) {
    let work: core::pin::Pin<Box<dyn Future<Output = ()>>> = Box::pin(work);
    spawn_local(work);
}
