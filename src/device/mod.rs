//! What the browser can do, each behind a small type that does without it where it is missing.
//!
//! Nothing here knows a rule of a class; arrows come from the screens and none go back.

mod audio;
mod clock;
mod fit;
mod listen;
mod store;
mod timer;
mod tones;
mod wake_lock;

pub use audio::{Audio, SoundState};
pub use clock::{Clock, Sleep};
pub use fit::fit;
pub use listen::{Listener, is_hidden, listen_document, listen_window};
pub use store::{Store, StoredRun};
pub use timer::Timer;
pub use tones::{play, tone_ms};
pub use wake_lock::WakeLock;
