//! A sweep while it is measured: `cargo test --test live`.
#![cfg(feature = "methods")]

#[path = "../support/mod.rs"]
mod support;

mod allocation;
mod bad_readings;
#[cfg(feature = "simulate")]
mod example;
mod hostile_hosts;
mod limits;
mod points_saved;
mod running;
