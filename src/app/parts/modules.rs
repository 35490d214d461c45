//! Modules that come later, cut off by the build: how a function is marked for one, and what of them
//! all screens need. `shell/later.rs` has the screens.

// What the macro writes declares an import of the module and its export, each with the other's type.
#![allow(unsafe_code)]

use std::sync::OnceLock;

use wasm_split_helpers::SplitLoaderError;

use crate::library::Library;
use crate::link;
use crate::plan::Plan;

/// The library of moves, once it is there.
pub static LIBRARY: OnceLock<Library> = OnceLock::new();

/// The library of moves; an empty one until it was asked for.
pub fn library() -> &'static Library {
    static NONE: Library = Library {
        kit: Vec::new(),
        moves: Vec::new(),
    };
    LIBRARY.get().unwrap_or(&NONE)
}

/// Why something did not come, or what was wrong with what it was given.
pub enum Trouble {
    /// A part of the app did not come.
    Missing,
    /// What was given was wrong: why, in words.
    Wrong(String),
}

/// What is said in the place of what did not come.
pub const NOT_YET: &str = "This part of the app is not on the phone yet.";

impl From<SplitLoaderError> for Trouble {
    fn from(_: SplitLoaderError) -> Self {
        Trouble::Missing
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

pub(crate) use later;

later! {
    /// The link text of a plan file.
    desk fn link_of_file(text: String) -> String {
        let plan = Plan::from_json(text.trim()).map_err(|e| Trouble::Wrong(e.to_string()))?;
        Ok(link::encode(&plan))
    }

    library fn shipped() -> Library {
        Ok(Library::shipped())
    }
}

/// Fetches the library of moves, unless it is there.
pub async fn bring_library() -> Result<(), Trouble> {
    if LIBRARY.get().is_none() {
        // A second one that came meanwhile is the same.
        let _ = LIBRARY.set(shipped().await?);
    }
    Ok(())
}
