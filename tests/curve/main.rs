//! Key points without a model: `cargo test --test curve`.
#![cfg(feature = "methods")]

#[path = "../support/mod.rs"]
mod support;

mod few_readings;
mod key_points;
mod many_readings;
mod shapes;
mod sources;
mod tracers;
