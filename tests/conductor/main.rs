//! The session around a run, on a simulated phone: one file a behaviour.
#![cfg(not(target_arch = "wasm32"))]
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, missing_docs)]

#[path = "../common/mod.rs"]
mod common;
mod phone;

mod away;
mod properties;
mod returning;
mod sounding;
mod starting;
mod starts;
mod storing;
mod tabs;
mod together;
