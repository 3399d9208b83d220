//! Figures, their uncertainties and how they are written: `cargo test --test quantity`.
#![cfg(feature = "methods")]

#[path = "../support/mod.rs"]
mod support;

mod detection;
mod estimate;
mod key_points;
mod ledger;
mod written;
