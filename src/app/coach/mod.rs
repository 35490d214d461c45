//! The screens of a coach: what is being written, the editor, and what is handed out.

mod hand_out;
mod write;

pub(super) use hand_out::hand_out;
pub(super) use write::{desk, write, write_on};
