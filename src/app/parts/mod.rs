//! What screens share: what is open and which screen is shown, the class that runs, the address, and
//! pieces of screens.

pub(super) mod buttons;
mod context;
pub(super) mod hearing;
pub(super) mod live;
pub(super) mod modules;
pub(super) mod notices;
pub(super) mod offline;
mod opened;
pub(super) mod pass_on;
mod screen;
pub(super) mod session;
pub(super) mod shape;
pub(super) mod text;
pub(super) mod trail;

pub(super) use crate::conductor::Opened;
pub(super) use context::{Shell, shell};
pub(super) use modules::library;
pub(super) use screen::Screen;
