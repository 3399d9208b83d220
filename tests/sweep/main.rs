//! Readings and what is said of them: `cargo test --test sweep`.
#![cfg(feature = "methods")]

#[path = "../support/mod.rs"]
mod support;

mod corrections;
mod hysteresis;
mod noise;
mod readings;
mod repeats;
mod step_response;
mod told;
