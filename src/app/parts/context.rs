//! What all screens share: what is open, which screen is shown, and the ways to open a class.

use leptos::prelude::*;
use leptos::task::spawn_local;

use super::modules::{self, LIBRARY, NOT_YET, Trouble};
use super::screen::Screen;
use super::session::Session;
use super::{text, trail};
use crate::conductor::{Opened, TwoStarts, starts};
use crate::device::{Store, is_outdated};
use crate::link::{self, Fragment};
use crate::stored::StoredClass;
use crate::timeline::Ways;

/// A class that is kept, beside another revision of it that was opened.
#[derive(Clone, Debug, PartialEq)]
pub struct Kept {
    pub opened: Opened,
    /// What was opened is the later one.
    pub older: bool,
}

/// What all screens share.
#[derive(Clone, Copy)]
pub struct Shell {
    pub screen: RwSignal<Screen>,
    pub opened: RwSignal<Option<Opened>>,
    /// Why the last link or file could not be opened.
    pub error: RwSignal<Option<String>>,
    /// Why the last class could not be kept.
    pub fault: RwSignal<Option<String>>,
    /// What is kept of the class that is open, where that is another revision.
    pub kept: RwSignal<Option<Kept>>,
    /// The class that is open has a start on this phone, and the link had another one, or none.
    pub starts: RwSignal<Option<TwoStarts>>,
    /// The app is of another version by now than this page.
    pub outdated: RwSignal<bool>,
    pub store: StoredValue<Store, LocalStorage>,
    pub session: Session,
    /// The class that is being written, by its key.
    pub writing: RwSignal<String>,
    /// What is handed out was opened where it is written.
    pub from_desk: RwSignal<bool>,
    /// Something lies over the screen, and goes with the phone's Back.
    pub over: RwSignal<bool>,
    /// Whether the class is to be left is asked.
    pub leaving: RwSignal<bool>,
    /// How hard a class is: a piece of Brief that comes later.
    pub effort: fn(Opened) -> AnyView,
    /// Takes a class to the editor, which comes later.
    pub write_on: fn(Shell, Opened),
}

impl Shell {
    /// Opens a class and shows its brief. A start that it has on this phone is kept.
    pub fn open(self, opened: Opened) {
        self.open_asking(opened, false);
    }

    /// Opens a class and shows its brief, where `asks` with the question which start is meant.
    fn open_asking(self, mut opened: Opened, asks: bool) {
        self.error.set(None);
        let has = self.kept_of(&opened);
        let older = |has: &Opened| has.plan().revision < opened.plan().revision;
        let older = has.as_ref().is_some_and(older);
        let found = starts(&opened, has.as_ref(), older, self.session.now());
        opened.at = found.at;
        let kept = has
            .filter(|has| has.plan() != opened.plan())
            .map(|has| Kept {
                opened: Opened {
                    at: found.at,
                    ..has
                },
                older,
            });
        trail::says(&opened);
        if kept.is_none() {
            self.keep(&opened);
        }
        self.starts.set(found.differ.filter(|_| asks));
        self.kept.set(kept);
        self.session.ways.set(Ways::new());
        self.opened.set(Some(opened));
        self.screen.set(Screen::Brief);
    }

    /// Whether what is open is only tried by who writes it.
    pub fn tries(self) -> bool {
        let trial = |opened: &Option<Opened>| opened.as_ref().is_some_and(|opened| opened.trial);
        self.opened.with_untracked(trial)
    }

    /// When a class that is kept here under the same name starts, if it is not over.
    pub fn set_start(self, opened: &Opened) -> Option<i64> {
        let stored = self.store.with_value(|store| store.class(&opened.key()))?;
        opened.unless_over(stored.at, self.session.now())
    }

    /// What is kept of a class. Of one that can't be read its start is.
    fn kept_of(self, opened: &Opened) -> Option<Opened> {
        let stored = self.store.with_value(|store| store.class(&opened.key()))?;
        let mut kept = Opened::read(&stored.source).unwrap_or_else(|_| opened.clone());
        kept.at = stored.at;
        Some(kept)
    }

    /// Takes a start for the class that is open, in place of the one on this phone.
    pub fn take_start(self, at: Option<i64>) {
        self.starts.set(None);
        let Some(mut opened) = self.opened.get_untracked() else {
            return;
        };
        opened.at = at;
        trail::says(&opened);
        match self.kept.get_untracked() {
            // The other revision, too, starts then, whichever of the two is chosen.
            Some(mut kept) => {
                kept.opened.at = at;
                self.keep(&kept.opened);
                self.kept.set(Some(kept));
            }
            None => self.keep(&opened),
        }
        self.opened.set(Some(opened));
    }

    /// Keeps a class on the phone, in place of what was kept of it.
    pub fn keep(self, opened: &Opened) {
        let class = StoredClass {
            key: opened.key(),
            source: opened.link.to_string(),
            used: self.session.now(),
            at: opened.at,
        };
        let kept = self.store.with_value(|store| store.keep_class(&class));
        self.fault.set(kept.err().map(|e| e.to_string()));
    }

    /// Opens what the page's address carries, if it carries something.
    pub fn open_address(self) {
        let address = window().location().hash().unwrap_or_default();
        if !address.is_empty() && Fragment::read(&address).plan.is_some() {
            self.open_link(&address);
        }
    }

    /// Opens the text of a file, or says why it can't be.
    pub fn open_text(self, text: String) {
        if !text.trim_start().starts_with('{') {
            return self.open_link(&text);
        }
        spawn_local(async move {
            let link = modules::link_of_file(text).await;
            match link.map(|link| Opened::read(&link)) {
                Ok(Ok(opened)) => self.open(opened),
                Ok(Err(message)) => self.refuse(message),
                Err(trouble) => self.tell(trouble, Shell::refuse).await,
            }
        });
    }

    /// Opens an address that carries a plan, or its link text alone, or whatever else was pasted.
    pub fn open_link(self, text: &str) {
        if text.trim_start().starts_with('{') {
            return self.open_text(text.to_owned());
        }
        let found = Fragment::read(text);
        let link = found.plan.as_deref().unwrap_or(text);
        let (needed, link, at) = (link::refers(link), link.to_owned(), found.at);
        self.with_library(move |_| needed, move || self.open_found(&link, at));
    }

    fn open_found(self, link: &str, at: Option<String>) {
        let opened = Opened::read(link);
        let at = at.as_deref().map(|at| link::instant(at).ok_or(at));
        match opened {
            Ok(mut opened) => {
                opened.at = at.and_then(Result::ok);
                self.open_asking(opened, !matches!(at, Some(Err(_))));
                // The class can be done all the same; who is asked to come at a time should know.
                if let Some(Err(at)) = at {
                    self.fault.set(Some(format!(
                        "The start time in this link can't be read: {at}. Ask for the link again, or start by yourself."
                    )));
                }
            }
            Err(message) => self.refuse(message),
        }
    }

    /// Whether a class that is kept here, or the page's address, can't be read without the library of
    /// moves. The history fetches it for itself.
    pub fn needs_library(self) -> bool {
        let address = window().location().hash().unwrap_or_default();
        let link = Fragment::read(&address).plan.unwrap_or_default();
        self.store.with_value(|store| {
            link::refers(&link)
                || store
                    .classes()
                    .iter()
                    .any(|class| link::refers(&class.source))
                || (store.run().ok().flatten()).is_some_and(|run| link::refers(&run.plan))
        })
    }

    /// Does something, after the library of moves came where that is needed.
    pub fn with_library(self, needed: impl FnOnce(Shell) -> bool, then: impl FnOnce() + 'static) {
        if LIBRARY.get().is_some() || !needed(self) {
            return then();
        }
        spawn_local(async move {
            // Where it does not come, what refers to it says so.
            let _ = modules::bring_library().await;
            then();
        });
    }

    /// Says what is wrong. A page that is older than the app is offered a reload instead: what it
    /// asks for does not come any more.
    pub async fn tell(self, trouble: Trouble, say: impl FnOnce(Shell, String)) {
        match trouble {
            Trouble::Wrong(words) => say(self, words),
            Trouble::Missing if is_outdated().await => self.outdated.set(true),
            Trouble::Missing => say(self, format!("{NOT_YET} Try again with a network.")),
        }
    }

    /// Says why something was not opened. What is stored or open stays as it is.
    pub fn refuse(self, message: String) {
        // What was told of another link goes with it.
        self.fault.set(None);
        self.error.set(Some(message));
        self.screen.set(Screen::Classes);
    }

    /// Shows the list of classes, and an address that opens it.
    pub fn to_classes(self) {
        self.error.set(None);
        // Another tab may have kept a class that refers to the library.
        self.with_library(Shell::needs_library, move || {
            self.screen.set(Screen::Classes);
        });
        text::set_title("Classes");
        trail::set_fragment("");
    }
}

/// What all screens share.
pub fn shell() -> Shell {
    expect_context::<Shell>()
}
