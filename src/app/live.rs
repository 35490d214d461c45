//! What follows its signals, in two types for all: the machinery of a reactive view is compiled
//! anew for each type of closure, and a member downloads all of it.

use leptos::prelude::*;

/// A text, or an attribute's value.
pub(super) type Live = Box<dyn FnMut() -> String + Send>;
/// A piece of a screen.
pub(super) type Part = Box<dyn FnMut() -> AnyView + Send>;

pub(super) fn live(text: impl FnMut() -> String + Send + 'static) -> Live {
    Box::new(text)
}

pub(super) fn part(view: impl FnMut() -> AnyView + Send + 'static) -> Part {
    Box::new(view)
}

/// Nothing, as a piece of a screen.
pub(super) fn nothing() -> AnyView {
    ().into_any()
}
