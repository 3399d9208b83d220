//! The C interface of litdiode: plain functions for programs in any language.
//!
//! ```text
//! int32_t status = litdiode_…(handles, numbers, lists and lengths…, text, text_capacity, text_needed)
//! ```
//!
//! Objects are handles, 64-bit numbers. No struct crosses the border; what a function says goes to the caller's text
//! buffer. `docs/embedding.md` states the rules, `include/litdiode.h` is made of this crate by `header`.
//!
//! | file | holds |
//! |---|---|
//! | `interface` | what every function does besides its own work: panics, status, text |
//! | `pointers` | reading and writing through pointers, the only unsafe code |
//! | `handles`, `objects` | the table of objects; what there is in it |
//! | `choices`, `misuse` | numbers that stand for choices; what can be passed wrongly |
//! | `general` | version, freeing, text and JSON of any handle, requests to stop |
//! | `sweep_settings`, `sweep`, `key_points`, `fit_settings`, `fit`, `model`, `models`, `resistances`, `live`, `plan` | the functions, by room |
//! | `header` | the declarations of all functions |

#![warn(missing_docs)]
#![warn(clippy::too_many_lines, clippy::excessive_nesting)]
#![cfg_attr(not(test), warn(clippy::unwrap_used, clippy::expect_used, clippy::panic))]
#![deny(unsafe_op_in_unsafe_fn)]
// A C function has as many arguments as it has numbers to pass.
#![allow(clippy::too_many_arguments)]

pub mod choices;
pub mod fit;
pub mod fit_settings;
pub mod general;
pub mod handles;
pub mod header;
mod interface;
pub mod key_points;
pub mod live;
pub mod misuse;
pub mod model;
pub mod models;
pub mod objects;
pub mod plan;
pub mod pointers;
pub mod resistances;
pub mod sweep;
pub mod sweep_settings;
mod work;
