//! Mounts the app, shows the screen whose turn it is, and follows the address and the phone's Back.

mod back;
mod later;
mod launch;

use leptos::prelude::*;

use crate::app::member;
use crate::app::parts::live::{nothing, part};
use crate::app::parts::offline::provide_offline;
use crate::app::parts::session::Session;
use crate::app::parts::{Screen, Shell, trail};
use crate::device::{Store, listen_window};

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
        effort: later::effort_of,
        write_on: later::write_on,
    };
    provide_context(shell);
    provide_offline();
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
    let listeners = StoredValue::new_local((hash, back::follow_back(shell, ready)));
    on_cleanup(move || listeners.dispose());

    part(move || match (screen.get(), opened.get()) {
        _ if !ready.get() => nothing(),
        (Screen::Brief, Some(opened)) => member::brief(&opened),
        (Screen::Class, Some(opened)) => {
            later::fetch_done_soon();
            member::class(&opened)
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
