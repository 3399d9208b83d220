//! Translation to other conditions: `cargo test --test translate`.
#![cfg(feature = "methods")]

#[path = "../support/mod.rs"]
mod support;

mod procedures;
