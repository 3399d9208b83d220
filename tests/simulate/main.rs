//! The simulated instrument: `cargo test --test simulate`.
#![cfg(feature = "methods")]
#![cfg(feature = "simulate")]

#[path = "../support/mod.rs"]
mod support;

mod instrument;
