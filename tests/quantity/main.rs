//! Figures, their uncertainties and how they are written: `cargo test --test quantity`.

#[path = "../support/mod.rs"]
mod support;

mod estimate;
mod key_points;
mod written;
