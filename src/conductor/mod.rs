//! The session around a run, as a state machine that does no I/O.
//!
//! Whatever happens around a class goes in by [`Conductor::handle`], each event with the instant at
//! which it happened: touches, the page that is hidden or frozen, the lock that one tab holds, what
//! is stored, sound, voices, a wake-up. Out come effects, to be carried out in order: sounds to lay
//! and to take back, words to say, what to store, which screen to show, when to wake. A device
//! reports and obeys; every decision is here.
//!
//! The contract: handle an event, carry out its effects, feed what comes of them in the same way,
//! and draw what the conductor says ([`Conductor::moment`] and its neighbours). Wake it at the last
//! [`Effect::WakeAt`]. Early, late or double wake-ups are harmless. What a touch needs of the
//! browser (sound, full screen, the screen lock) comes out of its own call, before the tab lock or
//! the storage has answered.
//!
//! ```
//! use std::sync::Arc;
//! use rungbook::conductor::{Conductor, Effect, Event, Opened, Start};
//! use rungbook::run::Phase;
//! use rungbook::{demos::DEMOS, library::Library, link, timeline::Timeline};
//!
//! let plan = link::decode_with(DEMOS[0], &Library::shipped()).unwrap();
//! let opened = Opened::new(Arc::new(Timeline::new(&plan)), DEMOS[0].into());
//! let mut conductor = Conductor::default();
//! let t = 1_795_000_000_000; // from the device's clock, in milliseconds
//! let start = Start { opened, options: Default::default(), warm_up: None };
//! let effects = conductor.handle(t, Event::Start(start));
//! assert!(effects.contains(&Effect::UnlockSound));
//! assert!(effects.contains(&Effect::AskLock { steal: false }));
//! assert_eq!(conductor.moment(t).phase, Phase::Running);
//! ```

mod event;
mod keeping;
mod left;
mod opened;
mod second_touch;
mod session;
mod sounding;
mod speaker;
mod start;

pub use event::{Effect, Event, Kept, SoundState, Stage, Start};
pub use left::{Found, Left, Unreadable};
pub use opened::Opened;
pub use second_touch::{DOUBLE_TAP_MS, SECOND_TOUCH_MS, SecondTouch};
pub use session::{
    AWAY_MS, BACK_FOR_MS, Conductor, Elsewhere, SEEN_EVERY_MS, UNDO_FOR_MS, WARM_UP_MS,
};
pub use sounding::{SOUND_AHEAD_MS, SOUND_STEP_MS};
pub use start::{Starts, TwoStarts, starts};
