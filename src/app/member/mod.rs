//! The screens of who follows a class: Classes, Brief, Class, Done, History.

mod brief;
mod class;
mod classes;
mod done;
mod effort;
mod history;
mod rungs;
mod set_time;

pub(super) use brief::brief;
pub(super) use class::class;
pub(super) use classes::{classes, open_file};
pub(super) use done::done;
pub(super) use effort::effort;
pub(super) use history::history;
