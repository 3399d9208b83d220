//! Estimators of Rs and Rsh: `cargo test --test resistance`.
#![cfg(feature = "methods")]

#[path = "../support/mod.rs"]
mod support;

mod common_sources;
mod estimators;
