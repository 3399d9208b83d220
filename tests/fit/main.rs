//! Extraction of parameters: `cargo test --test fit`.
#![cfg(feature = "methods")]

#[path = "../support/mod.rs"]
mod support;

mod bootstrap;
mod extraction;
mod global_optimum;
mod leads;
mod nist;
mod profiles;
mod second_diode;
mod stored;
