//! Events of the window and the document, for as long as the listener is kept.

use wasm_bindgen::JsCast as _;
use wasm_bindgen::closure::Closure;
use web_sys::{Event, EventTarget, VisibilityState};

/// Takes its event handler off again when it is dropped.
pub struct Listener {
    target: EventTarget,
    name: &'static str,
    handler: Closure<dyn FnMut(Event)>,
}

impl Listener {
    fn new(
        target: EventTarget,
        name: &'static str,
        handler: impl FnMut(Event) + 'static,
    ) -> Listener {
        let handler = Closure::<dyn FnMut(Event)>::new(handler);
        // A target that refuses the listener never calls it: the app then goes without the event.
        let _ = target.add_event_listener_with_callback(name, handler.as_ref().unchecked_ref());
        Listener {
            target,
            name,
            handler,
        }
    }
}

impl Drop for Listener {
    fn drop(&mut self) {
        let _ = self
            .target
            .remove_event_listener_with_callback(self.name, self.handler.as_ref().unchecked_ref());
    }
}

/// Listens on anything that has events.
pub(super) fn listen_on(
    target: &EventTarget,
    name: &'static str,
    handler: impl FnMut(Event) + 'static,
) -> Listener {
    Listener::new(target.clone(), name, handler)
}

/// Listens on the window.
pub fn listen_window(name: &'static str, handler: impl FnMut(Event) + 'static) -> Option<Listener> {
    Some(Listener::new(web_sys::window()?.into(), name, handler))
}

/// Listens on the document.
pub fn listen_document(
    name: &'static str,
    handler: impl FnMut(Event) + 'static,
) -> Option<Listener> {
    let document = web_sys::window()?.document()?;
    Some(Listener::new(document.into(), name, handler))
}

/// Whether the page can't be seen.
#[must_use]
pub fn is_hidden() -> bool {
    web_sys::window()
        .and_then(|window| window.document())
        .is_some_and(|document| document.visibility_state() == VisibilityState::Hidden)
}

/// Whether the page is on something that is held in a hand, with a screen that goes dark.
#[must_use]
pub fn is_handheld() -> bool {
    web_sys::window()
        .and_then(|window| window.match_media("(pointer: coarse)").ok().flatten())
        .is_some_and(|coarse| coarse.matches())
}

/// Whether a page can fill the screen here.
#[must_use]
pub fn can_fill_screen() -> bool {
    root().is_some_and(|root| super::js::part(&root, "requestFullscreen").is_some())
}

/// Fills the screen, in the handler of a touch, or lets it go.
pub fn fill_screen(on: bool) {
    let Some(document) = web_sys::window().and_then(|window| window.document()) else {
        return;
    };
    let asked = if on {
        root().and_then(|root| super::js::call(&root, "requestFullscreen", &[]))
    } else if super::js::part(&document, "fullscreenElement").is_some() {
        super::js::call(&document, "exitFullscreen", &[])
    } else {
        None
    };
    // Refused where the touch was too long ago: the class goes on as it is.
    if let Some(asked) = asked.and_then(|asked| asked.dyn_into::<js_sys::Promise>().ok()) {
        super::js::later(async move {
            let _ = wasm_bindgen_futures::JsFuture::from(asked).await;
        });
    }
}

fn root() -> Option<web_sys::Element> {
    web_sys::window()?.document()?.document_element()
}
