//! Whether the app is on the phone, and the offer of a newer version.

use leptos::prelude::*;

use super::context::shell;
use super::live::{button, nothing, part};
use crate::device::{Kept, Offline, OfflineState, is_installed, keep_storage, reload};

#[derive(Clone, Copy)]
struct OnPhone {
    state: RwSignal<OfflineState>,
    copy: StoredValue<Offline, LocalStorage>,
}

/// Begins to save the app on the phone. Call it once, where the app starts.
pub fn provide_offline() {
    let state = RwSignal::new(OfflineState::default());
    let copy = Offline::new(move |now| {
        state.set(now);
        // Who installed it wants it kept.
        if now.kept == Kept::Saved && is_installed() {
            keep_storage();
        }
    });
    provide_context(OnPhone {
        state,
        copy: StoredValue::new_local(copy),
    });
}

/// Whether the class can do without a network; the truth, as the browser last told it.
pub fn offline_line() -> AnyView {
    let OnPhone { state, copy } = expect_context();
    let shell = shell();
    // Not in the phone's store, or another revision of it is.
    let class_missing =
        move || shell.fault.with(Option::is_some) || shell.kept.with(Option::is_some);
    part(move || {
        let kept = state.get().kept;
        let words = match kept {
            Kept::Saved if class_missing() => "The app is saved on this phone, this class is not.",
            Kept::Saved => "Saved on this phone: works without a network.",
            Kept::Saving => "Not saved yet: it is being saved now.",
            Kept::Broken => "Not saved yet: the network broke off, or this phone has no room.",
            Kept::Insecure => "Not saved: this address is not secure (https), so a browser keeps nothing from it.",
            Kept::Barred => "This browser keeps nothing here, as in a private window or inside another app. Open it in your browser to keep the class.",
            Kept::Guest => "This page runs inside another app and can't be kept. Open it in your browser to keep the class.",
        };
        let again = (kept == Kept::Broken).then_some(Offer {
            id: "save-again",
            words: "Save it now",
            touch: Offline::save,
        });
        line("row small", "kept", words, again, copy)
    })
    .into_any()
}

/// What is said where the app is of another version by now than this page.
pub const OUTDATED: &str = "Rungbook was updated while this page was open.";

/// What loads the page anew. It has no place on Class.
pub fn reload_button() -> AnyView {
    button("strong", "reload", "Reload", reload)
}

/// The way on where a part of the app can't come any more: the page is older than the app.
pub fn outdated_line() -> AnyView {
    let outdated = shell().outdated;
    part(move || {
        if !outdated.get() {
            return nothing();
        }
        view! {
            <div class="notice row">
                <p role="alert" data-testid="outdated">{OUTDATED} " Reload to go on; your class is kept."</p>
                {reload_button()}
            </div>
        }
        .into_any()
    })
    .into_any()
}

/// The offer of a newer version. It loads the page anew, so it has no place on Class.
pub fn update_offer() -> AnyView {
    let OnPhone { state, copy } = expect_context();
    part(move || {
        if !state.get().update {
            return outdated_line();
        }
        let take = Offer {
            id: "use-update",
            words: "Use it",
            touch: Offline::accept_update,
        };
        line(
            "notice row",
            "update",
            "A new version is ready.",
            Some(take),
            copy,
        )
    })
    .into_any()
}

struct Offer {
    id: &'static str,
    words: &'static str,
    touch: fn(&Offline),
}

/// A line, and what can be done about it. Both lines are of one type, which a member downloads once.
fn line(
    class: &'static str,
    id: &'static str,
    words: &'static str,
    offer: Option<Offer>,
    copy: StoredValue<Offline, LocalStorage>,
) -> AnyView {
    let button = offer
        .map(|Offer { id, words, touch }| button("", id, words, move || copy.with_value(touch)));
    view! {
        <div class=class>
            <p aria-live="polite" data-testid=id>{words}</p>
            {button}
        </div>
    }
    .into_any()
}
