//! Any bytes as a sweep and a request: see `tests/support/hostile.rs` for what must hold.

#![no_main]

#[path = "../../tests/support/hostile.rs"]
mod hostile;

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| {
    hostile::run(bytes, None);
});
