//! The screens. They own no rule of a class: what happens when is the core's to say.

mod brief;
mod class;
mod classes;
mod done;
mod effort;
mod hand_out;
mod hearing;
mod history;
mod later;
mod launch;
mod live;
mod offline;
mod session;
mod set_time;
mod text;
mod trail;
mod write;

use std::sync::{Arc, OnceLock};

use leptos::prelude::*;
use leptos::task::spawn_local;

use crate::conductor::{Opened, TwoStarts, starts};
use crate::device::{Store, instant_text, listen_window};
use crate::export::file_name;
use crate::library::Library;
use crate::link::{self, Fragment};
use crate::stored::StoredClass;
use crate::timeline::{Timeline, Ways};
use session::Session;

/// Which screen is shown.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Screen {
    /// What is stored here.
    Classes,
    /// Before the class.
    Brief,
    /// During the class.
    Class,
    /// After the class.
    Done,
    /// What was done so far.
    History,
    /// What a coach hands out.
    HandOut,
    /// The classes that are being written.
    Desk,
    /// The editor.
    Write,
}

/// The library of moves, once it is there.
static LIBRARY: OnceLock<Library> = OnceLock::new();

/// The library of moves; an empty one until it was asked for.
fn library() -> &'static Library {
    static NONE: Library = Library {
        kit: Vec::new(),
        moves: Vec::new(),
    };
    LIBRARY.get().unwrap_or(&NONE)
}

impl Opened {
    /// Reads a class from the text of a link.
    fn read(link: &str) -> Result<Opened, String> {
        // Whatever stood around it stays out of the address and of what is stored.
        let link = link::normal(link);
        let plan = link::decode_with(&link, library()).map_err(|e| e.to_string())?;
        Ok(Opened {
            timeline: Arc::new(Timeline::new(&plan)),
            link: link.into(),
            at: None,
            trial: false,
        })
    }

    /// The address of the class, with an app's address before it.
    fn address(&self, app: &str) -> String {
        let at = self.at.map(instant_text);
        link::join(app, &self.link, at.as_deref())
    }

    fn title(&self) -> String {
        text::title(self.plan())
    }

    /// What a file of it is called, by its title.
    fn file(&self, extension: &str) -> String {
        let name = file_name(&self.plan().title, &self.key());
        format!("{name}{extension}")
    }

    /// Names the class across its revisions, as far as its plan does.
    fn key(&self) -> String {
        let plan = self.plan();
        if plan.id.is_empty() {
            format!("{:016x}", plan.digest())
        } else {
            plan.id.clone()
        }
    }
}

/// A class that is kept, beside another revision of it that was opened.
#[derive(Clone, Debug, PartialEq)]
struct Kept {
    opened: Opened,
    /// What was opened is the later one.
    older: bool,
}

/// What all screens share.
#[derive(Clone, Copy)]
struct Shell {
    screen: RwSignal<Screen>,
    opened: RwSignal<Option<Opened>>,
    /// Why the last link or file could not be opened.
    error: RwSignal<Option<String>>,
    /// Why the last class could not be kept.
    fault: RwSignal<Option<String>>,
    /// What is kept of the class that is open, where that is another revision.
    kept: RwSignal<Option<Kept>>,
    /// The class that is open has a start on this phone, and the link had another one, or none.
    starts: RwSignal<Option<TwoStarts>>,
    /// The app is of another version by now than this page.
    outdated: RwSignal<bool>,
    store: StoredValue<Store, LocalStorage>,
    session: Session,
    /// The class that is being written, by its key.
    writing: RwSignal<String>,
    /// What is handed out was opened where it is written.
    from_desk: RwSignal<bool>,
    /// Something lies over the screen, and goes with the phone's Back.
    over: RwSignal<bool>,
    /// Whether the class is to be left is asked.
    leaving: RwSignal<bool>,
}

impl Shell {
    /// Opens a class and shows its brief. A start that it has on this phone is kept.
    fn open(self, opened: Opened) {
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
    fn tries(self) -> bool {
        let trial = |opened: &Option<Opened>| opened.as_ref().is_some_and(|opened| opened.trial);
        self.opened.with_untracked(trial)
    }

    /// When a class that is kept here under the same name starts, if it is not over.
    fn set_start(self, opened: &Opened) -> Option<i64> {
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
    fn take_start(self, at: Option<i64>) {
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
    fn keep(self, opened: &Opened) {
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
    fn open_address(self) {
        let address = window().location().hash().unwrap_or_default();
        if !address.is_empty() && Fragment::read(&address).plan.is_some() {
            self.open_link(&address);
        }
    }

    /// Opens the text of a file, or says why it can't be.
    fn open_text(self, text: String) {
        if !text.trim_start().starts_with('{') {
            return self.open_link(&text);
        }
        spawn_local(async move {
            let link = later::link_of_file(text).await;
            match link.map(|link| Opened::read(&link)) {
                Ok(Ok(opened)) => self.open(opened),
                Ok(Err(message)) => self.refuse(message),
                Err(trouble) => trouble.tell(self, Shell::refuse).await,
            }
        });
    }

    /// Opens an address that carries a plan, or its link text alone, or whatever else was pasted.
    fn open_link(self, text: &str) {
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
    fn needs_library(self) -> bool {
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
    fn with_library(self, needed: impl FnOnce(Shell) -> bool, then: impl FnOnce() + 'static) {
        if LIBRARY.get().is_some() || !needed(self) {
            return then();
        }
        spawn_local(async move {
            // Where it does not come, what refers to it says so.
            let _ = later::bring_library().await;
            then();
        });
    }

    /// Says why something was not opened. What is stored or open stays as it is.
    fn refuse(self, message: String) {
        // What was told of another link goes with it.
        self.fault.set(None);
        self.error.set(Some(message));
        self.screen.set(Screen::Classes);
    }

    /// Shows the list of classes, and an address that opens it.
    fn to_classes(self) {
        self.error.set(None);
        // Another tab may have kept a class that refers to the library.
        self.with_library(Shell::needs_library, move || {
            self.screen.set(Screen::Classes);
        });
        text::set_title("Classes");
        trail::set_fragment("");
    }
}

fn shell() -> Shell {
    expect_context::<Shell>()
}

/// Starts the app in the page's body.
pub fn mount() {
    console_error_panic_hook::set_once();
    leptos::mount::mount_to_body(App);
}

/// The app.
#[component]
#[must_use]
pub fn App() -> impl IntoView {
    let screen = RwSignal::new(Screen::Classes);
    let opened = RwSignal::new(None);
    let store = Store::default();
    let shell = Shell {
        screen,
        opened,
        error: RwSignal::new(None),
        fault: RwSignal::new(store.fault().map(|e| e.to_string())),
        kept: RwSignal::new(None),
        starts: RwSignal::new(None),
        outdated: RwSignal::new(false),
        session: Session::new(screen, opened, store.clone()),
        store: StoredValue::new_local(store),
        writing: RwSignal::new(String::new()),
        from_desk: RwSignal::new(false),
        over: RwSignal::new(false),
        leaving: RwSignal::new(false),
    };
    provide_context(shell);
    offline::provide_offline();
    // What is kept here may refer to the library too.
    let ready = RwSignal::new(false);
    shell.with_library(Shell::needs_library, move || {
        shell.open_address();
        launch::take_launches(shell);
        ready.set(true);
    });
    let hash = listen_window("hashchange", move |_| {
        // Nobody loses a class to a touch in a chat.
        if shell.screen.get_untracked() != Screen::Class && !trail::says_so() {
            shell.open_address();
        }
    });
    let listeners = StoredValue::new_local((hash, trail::follow_back(shell, ready)));
    on_cleanup(move || listeners.dispose());

    live::part(move || match (screen.get(), opened.get()) {
        _ if !ready.get() => live::nothing(),
        (Screen::Brief, Some(opened)) => brief::brief(&opened),
        (Screen::Class, Some(opened)) => {
            later::fetch_done_soon();
            class::class(&opened)
        }
        (Screen::Done, Some(opened)) => {
            // What was done is another, once the member has said what they did meanwhile.
            shell.session.away.track();
            later::screen(move || later::done(opened.clone()))
        }
        (Screen::HandOut, Some(opened)) => later::screen(move || later::hand_out(opened.clone())),
        (Screen::History, _) => later::screen(later::history),
        (Screen::Desk, _) => later::screen(later::desk),
        (Screen::Write, _) => {
            let key = shell.writing.get();
            later::screen(move || later::write(key.clone()))
        }
        _ => later::screen(later::classes),
    })
}
