//! What the browser can do, each behind a small type that does without it where it is missing.
//!
//! Nothing here knows a rule of a class; arrows come from the screens and none go back.

mod audio;
mod audio_map;
mod clock;
mod file;
mod fit;
mod js;
mod launch;
mod listen;
mod media;
mod offline;
mod share;
mod store;
mod tab_lock;
mod timer;
mod tones;
mod track;
mod vibration;
mod voice;
mod wake_lock;

pub use audio::{Audio, LOOK_AGAIN_MS, has_audio_session, keep_sounding};
pub use audio_map::{AudioMap, BURST, BURST_EVERY_MS, BURSTS_EVERY_MS};
pub use clock::{Clock, Sleep, instant_text, local_instant, local_text};
pub use file::{chosen_file, print_page, read_file, save_file};
pub use fit::{Sizes, fit, fit_by_less};
pub use launch::{Handed, on_launch};
pub use listen::{
    Listener, can_fill_screen, fill_screen, is_handheld, is_hidden, listen_document, listen_window,
};
pub use media::{MediaKey, on_media_key, show_media};
pub use offline::{Kept, Offline, OfflineState, is_installed, is_outdated, keep_storage, reload};
pub use share::{Shared, share};
pub use store::{Shelf, Store};
pub use tab_lock::TabLock;
pub use timer::Timer;
pub use tones::play;
pub use track::Track;
pub use vibration::{can_vibrate, vibrate};
pub use voice::{Voice, VoiceState};
pub use wake_lock::{Awake, WakeLock};
