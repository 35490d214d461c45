//! Files that come in and go out.

use js_sys::Array;
use wasm_bindgen::JsCast as _;
use wasm_bindgen_futures::JsFuture;
use web_sys::{Blob, BlobPropertyBag, Event, File, HtmlAnchorElement, HtmlInputElement, Url};

use super::js;

/// Reads a chosen or dropped file; `None` where it is larger than allowed or can't be read.
pub fn read_file(file: File, most_bytes: usize, take: impl FnOnce(Option<String>) + 'static) {
    if file.size() > most_bytes as f64 {
        return take(None);
    }
    js::later(async move {
        let text = JsFuture::from(file.text()).await.ok();
        take(text.and_then(|text| text.as_string()));
    });
}

/// The file that was chosen in a field.
#[must_use]
pub fn chosen_file(event: &Event) -> Option<File> {
    let input: HtmlInputElement = event.target()?.dyn_into().ok()?;
    input.files()?.get(0)
}

/// Hands a text out as a file, the way a browser downloads one. Returns whether it could.
#[must_use]
pub fn save_file(name: &str, kind: &str, text: &str) -> bool {
    offer(name, kind, text).is_some()
}

fn offer(name: &str, kind: &str, text: &str) -> Option<()> {
    let options = BlobPropertyBag::new();
    options.set_type(kind);
    let blob = Blob::new_with_str_sequence_and_options(&Array::of1(&text.into()), &options).ok()?;
    let address = Url::create_object_url_with_blob(&blob).ok()?;
    let document = web_sys::window()?.document()?;
    let anchor: HtmlAnchorElement = document.create_element("a").ok()?.dyn_into().ok()?;
    anchor.set_href(&address);
    anchor.set_download(name);
    anchor.click();
    // The download has its own hold on the bytes by now.
    let _ = Url::revoke_object_url(&address);
    Some(())
}

/// Prints the page.
pub fn print_page() {
    if let Some(window) = web_sys::window() {
        // Refused in a frame that may not; there is no frame around the app.
        let _ = window.print();
    }
}
