//! What the browser can do, each behind a small type that does without it where it is missing.
//!
//! Nothing here knows a rule of a class; arrows come from the screens and none go back.

mod audio;
mod clock;
mod file;
mod fit;
mod launch;
mod lead;
mod listen;
mod offline;
mod share;
mod store;
mod timer;
mod tones;
mod wake_lock;

pub use audio::{Audio, SoundState};
pub use clock::{Clock, Sleep, instant, instant_text, local_instant};
pub use file::{read_file, save_file};
pub use fit::fit;
pub use launch::{Handed, on_launch};
pub use lead::Lead;
pub use listen::{Listener, is_hidden, listen_document, listen_window};
pub use offline::{Kept, Offline, OfflineState, is_installed, keep_storage};
pub use share::{Shared, share};
pub use store::{Shelf, Store, StoreError, StoredClass, StoredRun};
pub use timer::Timer;
pub use tones::play;
pub use wake_lock::WakeLock;
