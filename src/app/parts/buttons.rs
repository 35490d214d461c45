//! Buttons that lead from several screens to another.

use leptos::prelude::*;

use super::context::shell;
use super::live::button;
use super::screen::Screen;
use super::text;

/// Back to the list.
pub fn to_classes() -> AnyView {
    let shell = shell();
    button("quiet", "", "All classes", move || shell.to_classes())
}

/// The way to the list.
pub fn to_history() -> AnyView {
    let shell = shell();
    button("quiet", "to-history", "Done so far", move || {
        shell.screen.set(Screen::History);
        text::set_title("Done so far");
    })
}
