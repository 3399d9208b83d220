//! Curves through a sweep, and smooths: `cargo test --test interpolant`.
#![cfg(feature = "methods")]

#[path = "../support/mod.rs"]
mod support;

mod common_sources;
mod curves;
mod shape;
mod smooth;
