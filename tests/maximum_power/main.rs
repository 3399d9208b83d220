//! Methods for the maximum power: `cargo test --test maximum_power`.

#[path = "../support/mod.rs"]
mod support;

mod choice;
mod recommended;
