//! Plans of set points: `cargo test --test plan`.
#![cfg(feature = "methods")]

#[path = "../support/mod.rs"]
mod support;

mod asked;
mod counted;
mod designs;
mod safety;
mod simulated;
