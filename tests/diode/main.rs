//! The models of devices: `cargo test --test diode`.
#![cfg(feature = "methods")]

#[path = "../support/mod.rs"]
mod support;

mod drawn;
mod exact_values;
mod models;
mod third_model;
