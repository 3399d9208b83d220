//! Remarks on sweeps: `cargo test --test remarks`.
#![cfg(feature = "methods")]

#[path = "../support/mod.rs"]
mod support;

mod faults;
mod findings;
mod wild_readings;
