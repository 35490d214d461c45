//! Which screens there are.

/// Which screen is shown.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Screen {
    /// What is stored here.
    Classes,
    /// Before the class.
    Brief,
    /// During the class.
    Class,
    /// After the class.
    Done,
    /// What was done so far.
    History,
    /// What a coach hands out.
    HandOut,
    /// The classes that are being written.
    Desk,
    /// The editor.
    Write,
}
