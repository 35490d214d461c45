//! A class is passed on by its link.

use leptos::prelude::window;

use crate::conductor::Opened;
use crate::device::{Shared, share};

/// Hands a class's link on, in the handler of a touch, and tells how that went.
pub fn pass_on(opened: &Opened, told: impl FnOnce(&'static str) + 'static) {
    share(&opened.title(), &opened.address(&here()), move |how| {
        told(match how {
            Shared::Sheet => "The link was handed to the phone.",
            Shared::Copied => "The link is copied: paste it into a message.",
            Shared::No => "This browser can't share. Copy the address of this page instead.",
        });
    });
}

/// The page's own address, as far as it is the app's.
pub fn here() -> String {
    let here = window().location().href().unwrap_or_default();
    here.split(['?', '#']).next().unwrap_or_default().to_owned()
}
