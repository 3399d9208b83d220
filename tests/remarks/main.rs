//! Remarks on sweeps: `cargo test --test remarks`.

#[path = "../support/mod.rs"]
mod support;

mod faults;
mod findings;
mod wild_readings;
