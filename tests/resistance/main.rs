//! Estimators of Rs and Rsh: `cargo test --test resistance`.

#[path = "../support/mod.rs"]
mod support;

mod common_sources;
mod estimators;
