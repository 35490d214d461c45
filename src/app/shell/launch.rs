//! Classes that reach the installed app from outside: a link, a shared text, a file. The manifest
//! says what the app takes.

use leptos::prelude::*;
use web_sys::Url;

use crate::app::member::open_file;
use crate::app::parts::{Screen, Shell};
use crate::device::{Handed, on_launch};
use crate::link::Fragment;

/// Opens what is handed to the app, now and while it runs.
pub(super) fn take_launches(shell: Shell) {
    open_query(shell, &here());
    on_launch(move |handed| {
        // Nobody loses a class to a touch elsewhere.
        if shell.screen.get_untracked() == Screen::Class {
            return;
        }
        match handed {
            Handed::File(file) => open_file(shell, file),
            // The first launch is the page that was just loaded.
            Handed::Address(address) if address == here() => {}
            Handed::Address(address) => {
                if Fragment::read(&address).plan.is_some() {
                    shell.open_link(&address);
                } else {
                    open_query(shell, &address);
                }
            }
        }
    });
}

fn here() -> String {
    window().location().href().unwrap_or_default()
}

/// Does what an address asks for in its query: open what was shared, or show the list.
fn open_query(shell: Shell, address: &str) {
    let Ok(url) = Url::new(address) else { return };
    let query = url.search_params();
    let shared: Vec<_> = ["url", "text"]
        .iter()
        .filter_map(|name| query.get(name))
        .collect();
    if !shared.is_empty() {
        // Where there is no link, opening says so.
        let link = shared
            .iter()
            .find(|text| text.contains(['#', '%']) && Fragment::read(text).plan.is_some());
        shell.open_link(link.map_or("", String::as_str));
    } else if query.has("classes") {
        shell.to_classes();
    }
}
