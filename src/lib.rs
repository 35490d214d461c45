//! Rungbook: a run book for timed group-exercise classes.
//!
//! The core (all but `app` and `device`) knows no browser, no clock, no randomness and no I/O:
//! time is an argument. A [`plan::Plan`] compiles to a [`timeline::Timeline`]; a [`run::Run`] is
//! fed with timestamped inputs and says what to show, what to sound and when to wake next; a
//! [`link`] carries a plan in an address.
//!
//! ```
//! use rungbook::plan::Plan;
//! use rungbook::run::{Input, Run};
//! use rungbook::timeline::Timeline;
//!
//! let plan = Plan::from_json(r#"{
//!     "format": "rungbook-plan", "version": 1, "title": "Quay circuit",
//!     "moves": [ { "id": "squat", "name": "Squat" }, { "id": "push", "name": "Push-up" } ],
//!     "blocks": [ { "kind": "rounds", "moves": ["squat", "push"], "rounds": 3,
//!                   "work": 30, "rest": 10, "break": 40 } ]
//! }"#)?;
//! let link = rungbook::link::encode(&plan);
//! assert_eq!(rungbook::link::decode(&link).as_ref(), Ok(&plan));
//!
//! let mut run = Run::new(Timeline::new(&plan));
//! let t = 1_795_000_000_000; // from the device's clock, in milliseconds
//! run.input(t, Input::Start { set: None, lead: false });
//! assert_eq!(run.show(t + 25_000).seconds, 15); // 15 s into the first work
//! # Ok::<(), rungbook::plan::PlanError>(())
//! ```

// In a test a panic is the message.
#![cfg_attr(test, allow(clippy::unwrap_used, clippy::expect_used, clippy::panic))]

pub mod check;
pub mod conductor;
pub mod cue;
pub mod demos;
pub mod draft;
pub mod energy;
pub mod export;
pub mod fit;
pub mod library;
pub mod link;
pub mod notation;
pub mod plan;
pub mod run;
pub mod stored;
pub mod timeline;

#[cfg(target_arch = "wasm32")]
pub mod app;
#[cfg(target_arch = "wasm32")]
pub mod device;
