//! The copy of the app that stays on the phone, and the newer version that waits to replace it.
//!
//! The build writes the service worker (`tools/worker.js`); it saves what was built, and is asked
//! here whether all of that is still there.

use std::cell::{Cell, RefCell};
use std::rc::Rc;

use js_sys::Reflect;
use wasm_bindgen::{JsCast as _, JsValue};
use wasm_bindgen_futures::JsFuture;
use web_sys::{
    Event, EventTarget, MessageEvent, RegistrationOptions, ServiceWorkerContainer,
    ServiceWorkerRegistration, ServiceWorkerUpdateViaCache,
};

use super::listen::{Listener, listen_on};

use super::js;

/// Whether the app is on the phone.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Kept {
    /// It is being saved, or looked at.
    #[default]
    Saving,
    /// All of it is there.
    Saved,
    /// The last try broke off: no network, no room, or a host that serves other bytes than were built.
    Broken,
    /// Browsers keep nothing from an address that is not secure.
    Insecure,
    /// The page runs inside another app, which keeps nothing for the browser.
    Guest,
    /// The browser has no service workers here, as in a private window or inside another app.
    Barred,
}

/// What there is to say about the copy.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct OfflineState {
    /// Whether the app is on the phone.
    pub kept: Kept,
    /// Whether a newer version waits to be used.
    pub update: bool,
}

/// The offline copy. Where the browser keeps none, it says so and does nothing.
#[derive(Clone)]
pub struct Offline(Rc<Inner>);

struct Inner {
    container: Option<ServiceWorkerContainer>,
    registration: RefCell<Option<ServiceWorkerRegistration>>,
    state: Cell<OfflineState>,
    tell: Box<dyn Fn(OfflineState)>,
    accepted: Cell<bool>,
    listeners: RefCell<Vec<Listener>>,
}

impl Offline {
    /// Saves the app once the page is loaded, and tells each time that there is something new to
    /// say.
    pub fn new(tell: impl Fn(OfflineState) + 'static) -> Offline {
        let offline = Offline(Rc::new(Inner {
            container: container(),
            registration: RefCell::default(),
            state: Cell::default(),
            tell: Box::new(tell),
            accepted: Cell::default(),
            listeners: RefCell::default(),
        }));
        match place() {
            Some(kept) => offline.kept(kept),
            None => offline.begin(),
        }
        offline
    }

    fn begin(&self) {
        let (Some(container), Some(window)) = (&self.0.container, web_sys::window()) else {
            return;
        };
        self.listen(container, "controllerchange", |this, _| {
            // Only the page that took the new version goes on with it: another may be in a class.
            if this.0.accepted.get() {
                reload();
            } else {
                this.look();
            }
        });
        self.listen(container, "message", |this, event| {
            let message = event.dyn_ref::<MessageEvent>();
            match message.and_then(|message| message.data().as_string()) {
                Some(word) if word == "saved" => this.kept(Kept::Saved),
                Some(word) if word == "broken" => this.kept(Kept::Broken),
                _ => {}
            }
        });
        self.listen(&window, "online", |this, _| {
            if this.0.state.get().kept == Kept::Broken {
                this.save();
            }
        });
        // The first visit's own files come first.
        if is_loaded() {
            self.save();
        } else {
            self.listen(&window, "load", |this, _| this.save());
        }
    }

    fn listen(&self, target: &EventTarget, name: &'static str, then: fn(&Offline, &Event)) {
        let this = self.clone();
        let listener = listen_on(target, name, move |event| then(&this, &event));
        self.0.listeners.borrow_mut().push(listener);
    }

    /// Saves the app, or what is missing of it.
    pub fn save(&self) {
        let Some(container) = &self.0.container else {
            return;
        };
        self.kept(Kept::Saving);
        let options = RegistrationOptions::new();
        options.set_scope("./");
        options.set_update_via_cache(ServiceWorkerUpdateViaCache::None);
        let wanted = container.register_with_options("./worker.js", &options);
        let this = self.clone();
        js::later(async move {
            match JsFuture::from(wanted).await {
                Ok(registration) => this.follow(registration.unchecked_into()),
                Err(_) => this.kept(Kept::Broken),
            }
        });
    }

    fn follow(&self, registration: ServiceWorkerRegistration) {
        // The same one comes again while it lives; after a first save that broke off it is a new one.
        let known = self.0.registration.borrow().as_ref() == Some(&registration);
        if !known {
            self.listen(&registration, "updatefound", |this, _| this.watch());
            *self.0.registration.borrow_mut() = Some(registration);
        }
        self.watch();
    }

    /// Follows a version that is being saved.
    fn watch(&self) {
        let registration = self.0.registration.borrow().clone();
        if let Some(worker) = registration.and_then(|registration| registration.installing()) {
            self.listen(&worker, "statechange", |this, _| this.look());
        }
        self.look();
    }

    /// Sees which versions there are, and asks the one in use whether its copy is whole.
    fn look(&self) {
        let Some(registration) = self.0.registration.borrow().clone() else {
            return;
        };
        let coming = registration.waiting().or(registration.installing());
        match registration.active() {
            Some(worker) => {
                self.say(OfflineState {
                    update: registration.waiting().is_some(),
                    ..self.0.state.get()
                });
                // A worker that is gone does not answer, and another event comes.
                let _ = worker.post_message(&JsValue::from_str("check"));
            }
            None if coming.is_some() => self.kept(Kept::Saving),
            None => self.kept(Kept::Broken),
        }
    }

    /// Goes on with the version that waits: the page loads anew. Never call it during a class.
    pub fn accept_update(&self) {
        let registration = self.0.registration.borrow().clone();
        if let Some(worker) = registration.and_then(|registration| registration.waiting()) {
            self.0.accepted.set(true);
            let _ = worker.post_message(&JsValue::from_str("use"));
        }
    }

    fn kept(&self, kept: Kept) {
        self.say(OfflineState {
            kept,
            ..self.0.state.get()
        });
    }

    fn say(&self, state: OfflineState) {
        if self.0.state.replace(state) != state {
            (self.0.tell)(state);
        }
    }
}

/// A part of the navigator that not every browser has, and that some forbid.
fn part_of_navigator(name: &str) -> Option<JsValue> {
    let navigator = web_sys::window()?.navigator();
    let part = Reflect::get(&navigator, &JsValue::from_str(name)).ok()?;
    part.is_object().then_some(part)
}

fn container() -> Option<ServiceWorkerContainer> {
    part_of_navigator("serviceWorker").map(JsValue::unchecked_into)
}

/// Why nothing can be kept here, if that is known from the start. No browser tells it for sure: a
/// view inside another app calls itself `wv` on some phones, and has no service workers on others.
fn place() -> Option<Kept> {
    let window = web_sys::window()?;
    if !window.is_secure_context() {
        return Some(Kept::Insecure);
    }
    let inside = window
        .navigator()
        .user_agent()
        .is_ok_and(|agent| agent.contains("; wv)"));
    if inside {
        return Some(Kept::Guest);
    }
    container().is_none().then_some(Kept::Barred)
}

fn is_loaded() -> bool {
    web_sys::window()
        .and_then(|window| window.document())
        .is_none_or(|document| document.ready_state() == "complete")
}

/// Loads the page anew. Never call it during a class.
pub fn reload() {
    if let Some(window) = web_sys::window() {
        // Refused only for a page that is going anyway.
        let _ = window.location().reload();
    }
}

/// Whether a reload would bring another build of the app than this page is of: the copy on this
/// phone has it, or the host where there is no copy. False where neither answers, and where what
/// answers is not the app, as the sign-in page of a café is not.
pub async fn is_outdated() -> bool {
    let Some((own, page)) = own_script().zip(page_now().await) else {
        return false;
    };
    let stem = own.split_inclusive('-').next().unwrap_or_default();
    page.contains(stem) && !page.contains(&own)
}

/// The name of the script that this page runs: each build has its own.
fn own_script() -> Option<String> {
    let document = web_sys::window()?.document()?;
    let link = document.query_selector("link[rel=modulepreload]").ok()??;
    let name = link.get_attribute("href")?.rsplit('/').next()?.to_owned();
    (!name.is_empty()).then_some(name)
}

/// The text of the page as a reload would bring it.
async fn page_now() -> Option<String> {
    let window = web_sys::window()?;
    // What the browser itself keeps of it may be old.
    let fresh = js::object(&[("cache", JsValue::from_str("no-cache"))]);
    let arguments = [JsValue::from_str("./"), fresh.into()];
    let answer = js::call(&window, "fetch", &arguments)?;
    let answer = JsFuture::from(answer.dyn_into::<js_sys::Promise>().ok()?);
    let text = js::call(&answer.await.ok()?, "text", &[])?;
    let text = JsFuture::from(text.dyn_into::<js_sys::Promise>().ok()?);
    text.await.ok()?.as_string()
}

/// Whether the page runs as an installed app, in a window of its own.
#[must_use]
pub fn is_installed() -> bool {
    web_sys::window()
        .and_then(|window| {
            window
                .match_media("(display-mode: standalone)")
                .ok()
                .flatten()
        })
        .is_some_and(|query| query.matches())
}

/// Asks the browser to leave what is stored here when it needs room. Some ask the user: call it only
/// for one who wants it kept.
pub fn keep_storage() {
    if let Some(storage) = part_of_navigator("storage") {
        // What is refused stays as it was: kept as long as there is room.
        let _ = storage
            .unchecked_into::<web_sys::StorageManager>()
            .persist();
    }
}
