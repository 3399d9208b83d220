//! Plans of set points: `cargo test --test plan`.

#[path = "../support/mod.rs"]
mod support;

mod asked;
mod designs;
mod simulated;
