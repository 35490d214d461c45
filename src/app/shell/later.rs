//! What a member's first visit does not download: it comes in modules of their own when it is asked
//! for, and is precached with the rest.
//!
//! The build cuts the program at the functions that stand here and in `parts/modules.rs`
//! (`tools/split.mjs`); on a phone each is the same function after a fetch. Whatever only they reach
//! is in their modules.

// What the macro writes declares an import of the module and its export, each with the other's type.
#![allow(unsafe_code)]

use std::pin::Pin;

use leptos::prelude::*;
use leptos::reactive::computed::ScopedFuture;
use leptos::task::spawn_local;

use crate::app::parts::live::{button, nothing, part};
use crate::app::parts::modules::{NOT_YET, Trouble, bring_library, later};
use crate::app::parts::offline::{OUTDATED, reload_button, update_offer};
use crate::app::parts::{Opened, Screen, Shell, shell};
use crate::app::{coach, member};
use crate::device::{Listener, Timer, is_outdated, listen_window};

later! {
    desk fn hand_out_now(opened: Opened) -> AnyView {
        Ok(coach::hand_out(&opened))
    }

    /// How hard a class is.
    desk fn effort(opened: Opened) -> AnyView {
        Ok(member::effort(&opened))
    }

    desk fn history_now() -> AnyView {
        Ok(member::history())
    }

    /// The list of classes.
    more fn classes() -> AnyView {
        Ok(member::classes())
    }

    /// After the class.
    more fn done(opened: Opened) -> AnyView {
        Ok(member::done(&opened))
    }

    /// Fetches what comes after the class, so that it is there when the network is not.
    more fn ready_for_done() -> () {
        Ok(())
    }

    write fn desk_now() -> AnyView {
        Ok(coach::desk())
    }

    write fn write_on_now(shell: Shell, opened: Opened) -> () {
        coach::write_on(shell, opened.plan());
        Ok(())
    }

    write fn write_now(key: String) -> AnyView {
        Ok(coach::write(&key))
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

/// How hard a class is, as soon as that is there.
pub(super) fn effort_of(opened: Opened) -> AnyView {
    screen(move || effort(opened.clone()))
}

/// Takes a class to the editor.
pub(super) fn write_on(shell: Shell, opened: Opened) {
    spawn_local(async move {
        let came = match bring_library().await {
            Ok(()) => write_on_now(shell, opened).await,
            Err(trouble) => Err(trouble),
        };
        if let Err(trouble) = came {
            let say = |shell: Shell, words| shell.fault.set(Some(words));
            shell.tell(trouble, say).await;
        }
    });
}

/// A screen, or a part of one, on its way.
type Coming = Pin<Box<dyn Future<Output = Result<AnyView, Trouble>>>>;

/// How long what did not come is waited for before it is asked for again. Where the browser tells that
/// the network is back, it is asked for at once.
const AGAIN_MS: i64 = 10_000;

/// Where a screen that comes later stands.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Stands {
    Coming,
    Missing,
    /// It is gone: the app is of another version by now than this page.
    Outdated,
    There,
}

/// What shows a screen as soon as it is there, and asks for it until then.
#[derive(Clone, Copy)]
struct Later {
    ask: StoredValue<Box<dyn Fn() -> Coming>, LocalStorage>,
    came: StoredValue<Option<AnyView>, LocalStorage>,
    asking: StoredValue<bool>,
    stands: RwSignal<Stands>,
    again: StoredValue<Timer, LocalStorage>,
}

impl Later {
    fn ask(self) {
        let there = self.stands.try_get_untracked() == Some(Stands::There);
        if there || self.asking.try_get_value() != Some(false) {
            return;
        }
        let Some(coming) = self.ask.try_with_value(|ask| ask()) else {
            return;
        };
        self.asking.set_value(true);
        spawn_local(async move {
            let came = coming.await;
            let stands = match &came {
                Ok(_) => Stands::There,
                Err(_) if is_outdated().await => Stands::Outdated,
                Err(_) => Stands::Missing,
            };
            // Who left in the meantime has nothing to show it in.
            if self.asking.try_set_value(false).is_some() {
                return;
            }
            if let Ok(view) = came {
                self.came.set_value(Some(view));
            }
            if stands == Stands::Missing {
                self.again
                    .update_value(|again| again.set(AGAIN_MS, move || self.ask()));
            }
            // What is told already is not told anew.
            if self.stands.get_untracked() != stands {
                self.stands.set(stands);
            }
        });
    }
}

/// Shows a screen, or a part of one, as soon as it is there. Until it comes it is said what is safe.
pub(super) fn screen<F>(view: impl Fn() -> F + 'static) -> AnyView
where
    F: Future<Output = Result<AnyView, Trouble>> + 'static,
{
    shown(Box::new(move || Box::pin(view())))
}

fn shown(view: Box<dyn Fn() -> Coming>) -> AnyView {
    let owner = Owner::current();
    // Its signals and effects belong to where it is shown, however late it comes.
    let ask: Box<dyn Fn() -> Coming> = Box::new(move || match &owner {
        Some(owner) => owner.with(|| Box::pin(ScopedFuture::new(view())) as Coming),
        None => view(),
    });
    let later = Later {
        ask: StoredValue::new_local(ask),
        came: StoredValue::new_local(None),
        asking: StoredValue::new(false),
        stands: RwSignal::new(Stands::Coming),
        again: StoredValue::new_local(Timer::default()),
    };
    let online = listen_window("online", move |_| later.ask());
    let online: StoredValue<Option<Listener>, LocalStorage> = StoredValue::new_local(online);
    on_cleanup(move || online.dispose());
    later.ask();
    part(move || match later.stands.get() {
        Stands::Coming => nothing(),
        Stands::Missing => missing(later, false),
        Stands::Outdated => missing(later, true),
        Stands::There => {
            let view = later.came.try_update_value(Option::take).flatten();
            view.unwrap_or_else(nothing)
        }
    })
    .into_any()
}

/// What is said in the place of a screen that has not come: what is safe, and when it comes.
fn missing(later: Later, outdated: bool) -> AnyView {
    let shell = shell();
    let screen = shell.screen.get_untracked();
    let archived = shell.session.archived();
    let lost = screen == Screen::Done && matches!(archived, Some(Err(_)));
    let safe = match (screen, archived) {
        (Screen::Brief, _) => None,
        (Screen::Done, Some(Ok(_))) => Some(
            "What you did is kept on this phone. You can rate it later too, under “Done so far”."
                .to_owned(),
        ),
        (Screen::Done, Some(Err(fault))) => {
            Some(format!("What you did could not be kept. {fault}"))
        }
        (Screen::Done, None) => None,
        _ => Some("What is kept on this phone stays there.".to_owned()),
    };
    let heading = match (screen, outdated) {
        (Screen::Brief, _) => None,
        (Screen::Done, _) => Some("The class is over"),
        (_, true) => Some("Reload Rungbook"),
        (_, false) => Some("Not here yet"),
    };
    let heading = heading.map(|heading| view! { <h1>{heading}</h1> });
    let to_class = shell.opened.with_untracked(Option::is_some).then(|| {
        button("", "", "Back to this class", move || {
            shell.screen.set(Screen::Brief)
        })
    });
    let ways = (screen != Screen::Brief).then(|| {
        let classes = (screen != Screen::Classes)
            .then(|| button("", "", "All classes", move || shell.to_classes()));
        view! { {to_class} {classes} }
    });
    let (words, way_on) = match (outdated, lost) {
        (true, true) => (" Reload to go on.", reload_button()),
        (true, false) => (" Reload to go on; your class is kept.", reload_button()),
        (false, _) => (
            " It comes by itself as soon as there is a network.",
            button("strong", "ask-again", "Try again now", move || later.ask()),
        ),
    };
    let why = if outdated { OUTDATED } else { NOT_YET };
    // The other version may wait to be used. Brief offers it already.
    let update = (!outdated && screen != Screen::Brief).then(update_offer);
    let inside = view! {
            {heading}
            {safe.map(|safe| view! { <p role="status" data-testid="safe">{safe}</p> })}
            <p class="problem" role="alert" data-testid="missing">{why} {words}</p>
            <div class="row">
                {way_on}
                {ways}
            </div>
            {update}
    }
    .into_any();
    if screen == Screen::Brief {
        return view! { <section>{inside}</section> }.into_any();
    }
    view! { <main class="page">{inside}</main> }.into_any()
}
