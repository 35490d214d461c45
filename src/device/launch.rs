//! What the phone hands to the installed app: a link that was touched, a file.

use js_sys::Array;
use wasm_bindgen::closure::Closure;
use wasm_bindgen::{JsCast as _, JsValue};
use wasm_bindgen_futures::JsFuture;
use web_sys::{File, FileSystemFileHandle};

use super::js::{self, call, part};

/// What was handed over.
#[derive(Clone, Debug)]
pub enum Handed {
    /// The address that was opened.
    Address(String),
    /// A file.
    File(File),
}

/// Calls back with each thing that is handed to the app. Browsers that load the page anew instead
/// never call.
pub fn on_launch(take: impl Fn(Handed) + Clone + 'static) {
    let queue = web_sys::window().and_then(|window| part(&window, "launchQueue"));
    let Some(queue) = queue else { return };
    let consume = Closure::<dyn Fn(JsValue)>::new(move |launch: JsValue| {
        let take = take.clone();
        js::later(async move {
            if let Some(handed) = read(&launch).await {
                take(handed);
            }
        });
    });
    // It is called for as long as the page lives.
    let consume = consume.into_js_value();
    // A queue that refuses hands nothing over.
    let _ = call(&queue, "setConsumer", &[consume]);
}

async fn read(launch: &JsValue) -> Option<Handed> {
    let files = part(launch, "files").map(|files| Array::from(&files));
    let Some(files) = files.filter(|files| files.length() > 0) else {
        return part(launch, "targetURL")?.as_string().map(Handed::Address);
    };
    let handle: FileSystemFileHandle = files.get(0).dyn_into().ok()?;
    let file = JsFuture::from(handle.get_file()).await.ok()?;
    file.dyn_into().ok().map(Handed::File)
}
