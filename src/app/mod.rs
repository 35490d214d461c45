//! The screens. They own no rule of a class: what happens when is the core's to say.

mod brief;
mod class;
mod classes;
mod done;
mod live;
mod session;
mod text;

use std::sync::Arc;

use leptos::prelude::*;

use crate::device::listen_window;
use crate::link::{self, Fragment};
use crate::plan::Plan;
use crate::timeline::Timeline;
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
}

/// A class that was opened, laid out.
#[derive(Clone, Debug, PartialEq)]
struct Opened {
    timeline: Arc<Timeline>,
    /// Its link text: what the address shows and what is stored with a run.
    link: String,
}

impl Opened {
    fn new(plan: &Plan) -> Opened {
        Opened {
            timeline: Arc::new(Timeline::new(plan)),
            link: link::encode(plan),
        }
    }

    fn plan(&self) -> &Plan {
        self.timeline.plan()
    }
}

/// What all screens share.
#[derive(Clone, Copy)]
struct Shell {
    screen: RwSignal<Screen>,
    opened: RwSignal<Option<Opened>>,
    /// Why the last link or file could not be opened.
    error: RwSignal<Option<String>>,
    session: Session,
}

impl Shell {
    /// Opens a class and shows its brief.
    fn open(self, plan: &Plan) {
        let opened = Opened::new(plan);
        text::set_title(&text::or(&opened.plan().title, "Untitled class"));
        self.error.set(None);
        self.opened.set(Some(opened));
        self.screen.set(Screen::Brief);
    }

    /// Opens what the page's address carries, if it carries something.
    fn open_address(self) {
        let address = window().location().hash().unwrap_or_default();
        let Some(text) = Fragment::read(&address)
            .plan
            .filter(|_| !address.is_empty())
        else {
            return;
        };
        match link::decode(&text) {
            Ok(plan) => self.open(&plan),
            Err(e) => {
                // What is stored or open stays as it is.
                self.error.set(Some(e.to_string()));
                self.screen.set(Screen::Classes);
            }
        }
    }

    /// Shows the list of classes, and an address that opens it.
    fn to_classes(self) {
        self.error.set(None);
        self.screen.set(Screen::Classes);
        text::set_title("Classes");
        text::set_fragment("");
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
    let shell = Shell {
        screen,
        opened,
        error: RwSignal::new(None),
        session: Session::new(screen),
    };
    provide_context(shell);
    shell.open_address();
    let hash = listen_window("hashchange", move |_| {
        // A link that arrives in mid-class waits: nobody loses a class to a touch in a chat.
        if shell.screen.get_untracked() != Screen::Class {
            shell.open_address();
        }
    });
    let listeners = StoredValue::new_local(hash);
    on_cleanup(move || listeners.dispose());

    live::part(move || match (screen.get(), opened.get()) {
        (Screen::Brief, Some(opened)) => brief::brief(&opened),
        (Screen::Class, Some(opened)) => class::class(&opened),
        (Screen::Done, Some(opened)) => done::done(&opened),
        _ => classes::classes(),
    })
}
