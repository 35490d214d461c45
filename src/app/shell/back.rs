//! Follows the screens and the phone's Back along the browser's history.

use leptos::prelude::*;

use crate::app::parts::live::follow;
use crate::app::parts::trail::{self, Asked, Place, above, place};
use crate::app::parts::{Screen, Shell};
use crate::device::{Listener, listen_window};

impl Shell {
    /// Whether what is open comes from where it is written.
    fn written(self, screen: Screen) -> bool {
        match screen {
            Screen::HandOut => self.from_desk.get_untracked(),
            _ => self.tries(),
        }
    }

    fn place(self) -> Place {
        let screen = self.screen.get();
        let (depth, of_class) = place(screen, self.written(screen));
        (depth + i32::from(self.over.get()), of_class)
    }

    /// Goes up until nothing deeper is shown.
    fn up_to(self, most: i32) {
        if untrack(move || self.place()).0 > most && self.over.get_untracked() {
            self.over.set(false);
        }
        let shown = self.screen.get_untracked();
        let written = self.written(shown);
        let mut screen = shown;
        while place(screen, written).0 > most {
            screen = above(screen, written);
        }
        match screen {
            _ if screen == shown => {}
            Screen::Classes => self.to_classes(),
            Screen::Brief => {
                if let Some(opened) = self.opened.get_untracked() {
                    trail::says(&opened);
                }
                self.screen.set(Screen::Brief);
            }
            screen => self.screen.set(screen),
        }
    }
}

/// Follows the screens, once it is known with which one the app begins, and the phone's Back.
pub fn follow_back(shell: Shell, ready: RwSignal<bool>) -> Option<Listener> {
    follow(move || {
        if ready.get() {
            let place = shell.place();
            trail::settle(place);
        }
    });
    // A screen is read from its top.
    follow(move || {
        shell.screen.track();
        window().scroll_to_with_x_and_y(0.0, 0.0);
    });
    listen_window("popstate", move |_| {
        let (screen, place) = untrack(move || (shell.screen.get(), shell.place()));
        match trail::stepped(screen, place) {
            Asked::Nothing => {}
            Asked::Up(most) => shell.up_to(most),
            Asked::Leave => shell.leaving.set(true),
        }
    })
}
