//! The screens. They own no rule of a class: what happens when is the core's to say.
//!
//! Four rooms: `parts` is what screens share, `member` the screens of who follows a class, `coach` of
//! who writes and hands one out, and `shell` mounts the app, shows the screen whose turn it is, and
//! follows the address. The shell uses all; member and coach use the parts, and never each other.

mod coach;
mod member;
mod parts;
mod shell;

pub use shell::{App, mount};
