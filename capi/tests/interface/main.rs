//! The C interface, called as a host calls it.

mod examples;
mod handles;
mod header;
mod host;
mod hostile;
mod memory;
mod rules;
mod same_bits;
mod settings;
mod threads;
