//! Translation to other conditions: `cargo test --test translate`.

#[path = "../support/mod.rs"]
mod support;

mod procedures;
