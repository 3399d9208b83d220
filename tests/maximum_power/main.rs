//! Methods for the maximum power: `cargo test --test maximum_power`.
#![cfg(feature = "methods")]

#[path = "../support/mod.rs"]
mod support;

mod choice;
mod recommended;
