//! Pieces that all screens share, each in one type for all: the machinery of a view is compiled anew
//! for each type of closure, and a member downloads all of it.

use leptos::prelude::*;
use web_sys::MouseEvent;

/// A text, or an attribute's value.
pub type Live = Box<dyn FnMut() -> String + Send>;
/// A piece of a screen.
pub type Part = Box<dyn FnMut() -> AnyView + Send>;

pub fn live(text: impl FnMut() -> String + Send + 'static) -> Live {
    Box::new(text)
}

pub fn part(view: impl FnMut() -> AnyView + Send + 'static) -> Part {
    Box::new(view)
}

/// Nothing, as a piece of a screen.
pub fn nothing() -> AnyView {
    ().into_any()
}

/// What a touch does.
pub fn touch(mut act: impl FnMut() + 'static) -> Box<dyn FnMut(MouseEvent)> {
    Box::new(move |_| act())
}

/// A button of words: its class and its handle, each of which may be empty, and what it does.
pub fn button(
    class: &'static str,
    id: &'static str,
    words: impl Into<String>,
    act: impl FnMut() + 'static,
) -> AnyView {
    fn made(
        class: &'static str,
        id: &'static str,
        words: String,
        act: Box<dyn FnMut(MouseEvent)>,
    ) -> AnyView {
        view! { <button class=class data-testid=id on:click=act>{words}</button> }.into_any()
    }
    made(class, id, words.into(), touch(act))
}

/// The way back after something was removed, as long as there is one.
pub fn way_back(
    removed: impl Fn() -> bool + Send + 'static,
    words: &'static str,
    id: &'static str,
    undo: impl Fn() + Copy + Send + 'static,
) -> AnyView {
    part(move || {
        if !removed() {
            return nothing();
        }
        view! {
            <p class="notice row" role="status">
                <span>{words}</span>
                {button("", id, "Undo", undo)}
            </p>
        }
        .into_any()
    })
    .into_any()
}

/// Runs now, and again when a signal that it read has changed.
pub fn follow(act: impl FnMut() + 'static) {
    let mut act: Box<dyn FnMut()> = Box::new(act);
    Effect::new(move |_: Option<()>| act());
}
