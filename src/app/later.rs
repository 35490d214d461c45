//! What a member's first visit does not download: it comes in modules of their own when it is asked
//! for, and is precached with the rest.
//!
//! The build cuts the program at the functions that stand here (`tools/split.mjs`); on a phone each
//! is the same function after a fetch. Whatever only they reach is in their modules.

// What the macro writes declares an import of the module and its export, each with the other's type.
#![allow(unsafe_code)]

use leptos::prelude::*;
use leptos::reactive::computed::ScopedFuture;
use leptos::task::spawn_local;
use wasm_split_helpers::SplitLoaderError;

use super::live::{button, nothing, part};
use super::{LIBRARY, Opened, Shell, classes, done, effort, hand_out, history, shell, write};
use crate::library::Library;
use crate::link;
use crate::plan::Plan;

/// Why something did not come, or what was wrong with what it was given.
pub(super) struct Trouble(pub String);

impl From<SplitLoaderError> for Trouble {
    fn from(_: SplitLoaderError) -> Self {
        Trouble(
            "This part of the app is not on the phone yet. Try again with a network.".to_owned(),
        )
    }
}

/// Functions that come later, each with the module it comes in. A build with debug assertions is
/// never cut: its tests load one file.
macro_rules! later {
    ($($(#[$about:meta])* $part:ident fn $name:ident($($arg:ident: $of:ty),*) -> $to:ty $body:block)+) => { $(
        $(#[$about])*
        #[cfg(not(debug_assertions))]
        #[wasm_split_helpers::wasm_split($part, fallible)]
        pub(super) fn $name($($arg: $of),*) -> Result<$to, Trouble> $body

        $(#[$about])*
        #[cfg(debug_assertions)]
        pub(super) async fn $name($($arg: $of),*) -> Result<$to, Trouble> $body
    )+ };
}

later! {
    /// The link text of a plan file.
    desk fn link_of_file(text: String) -> String {
        let plan = Plan::from_json(text.trim()).map_err(|e| Trouble(e.to_string()))?;
        Ok(link::encode(&plan))
    }

    desk fn hand_out_now(opened: Opened) -> AnyView {
        Ok(hand_out::hand_out(&opened))
    }

    /// How hard a class is.
    desk fn effort(opened: Opened) -> AnyView {
        Ok(effort::effort(&opened))
    }

    desk fn history_now() -> AnyView {
        Ok(history::history())
    }

    /// The list of classes.
    more fn classes() -> AnyView {
        Ok(classes::classes())
    }

    /// After the class.
    more fn done(opened: Opened) -> AnyView {
        Ok(done::done(&opened))
    }

    /// Fetches what comes after the class, so that it is there when the network is not.
    more fn ready_for_done() -> () {
        Ok(())
    }

    library fn library() -> Library {
        Ok(Library::shipped())
    }

    write fn desk_now() -> AnyView {
        Ok(write::desk())
    }

    write fn write_on_now(shell: Shell, opened: Opened) -> () {
        write::write_on(shell, opened.plan());
        Ok(())
    }

    write fn write_now(key: String) -> AnyView {
        Ok(write::write(&key))
    }
}

/// What is handed out of a class. With the library its link is shorter; it needs none.
pub(super) async fn hand_out(opened: Opened) -> Result<AnyView, Trouble> {
    let _ = bring_library().await;
    hand_out_now(opened).await
}

/// In a class there is time to fetch what comes after it, once the class itself is quiet.
pub(super) fn fetch_done_soon() {
    set_timeout(
        || {
            spawn_local(async {
                // Where it does not come now it is asked for again at the end.
                let _ = ready_for_done().await;
            });
        },
        core::time::Duration::from_secs(15),
    );
}

/// What was done so far. A history that is brought back may refer to the library.
pub(super) async fn history() -> Result<AnyView, Trouble> {
    let _ = bring_library().await;
    history_now().await
}

/// The list of what is being written.
pub(super) async fn desk() -> Result<AnyView, Trouble> {
    bring_library().await?;
    desk_now().await
}

/// The editor of a class.
pub(super) async fn write(key: String) -> Result<AnyView, Trouble> {
    bring_library().await?;
    write_now(key).await
}

/// What takes a class to the editor.
pub(super) fn write_button(opened: &Opened) -> AnyView {
    let shell = shell();
    let opened = opened.clone();
    button("quiet", "write-on", "Write on from it", move || {
        let opened = opened.clone();
        spawn_local(async move {
            let came = match bring_library().await {
                Ok(()) => write_on_now(shell, opened).await,
                Err(trouble) => Err(trouble),
            };
            if let Err(trouble) = came {
                shell.fault.set(Some(trouble.0));
            }
        });
    })
}

/// Fetches the library of moves, unless it is there.
pub(super) async fn bring_library() -> Result<(), Trouble> {
    if LIBRARY.get().is_none() {
        // A second one that came meanwhile is the same.
        let _ = LIBRARY.set(library().await?);
    }
    Ok(())
}

/// Shows a screen, or a part of one, as soon as it is there.
pub(super) fn screen(
    view: impl Future<Output = Result<AnyView, Trouble>> + Send + 'static,
) -> AnyView {
    let there = RwSignal::new(false);
    let came = StoredValue::new_local(None);
    // Its signals and effects belong to where it is shown.
    let view = ScopedFuture::new(view);
    spawn_local(async move {
        let view = view.await;
        // Who left in the meantime has nothing to show it in.
        if came.try_set_value(Some(view)).is_none() {
            there.set(true);
        }
    });
    part(move || {
        if !there.get() {
            return nothing();
        }
        match came.try_update_value(Option::take).flatten() {
            Some(Ok(view)) => view,
            Some(Err(trouble)) => missing(trouble),
            None => nothing(),
        }
    })
    .into_any()
}

fn missing(trouble: Trouble) -> AnyView {
    let shell = shell();
    view! {
        <section class="page">
            <p class="problem" role="alert" data-testid="missing">{trouble.0}</p>
            <div class="row">
                {button("", "", "All classes", move || shell.to_classes())}
            </div>
        </section>
    }
    .into_any()
}
