//! Bytes as a file: they are read or refused, without a panic and without a reading that is no number.

#![no_main]

use libfuzzer_sys::fuzz_target;
use litdiode::reading::{Options, read};

fuzz_target!(|data: &[u8]| {
    // The first byte chooses options, the others are the file.
    let Some((choice, file)) = data.split_first() else { return };
    let mut options = Options::default();
    if choice & 1 == 1 {
        options = options.delimiter([';', ',', '\t', ' '][usize::from(choice >> 1 & 3)]);
    }
    if choice & 8 == 8 {
        options = options.decimal([',', '.'][usize::from(choice >> 4 & 1)]);
    }
    if choice & 32 == 32 {
        options = options.header_row(1 + usize::from(choice >> 6));
    }
    let Ok(contents) = read(file, &options) else { return };
    for sweep in &contents.sweeps {
        assert_eq!(sweep.voltage_v.len(), sweep.current_a.len());
        assert_eq!(sweep.voltage_v.len(), sweep.lines.len());
        assert!(sweep.voltage_v.iter().chain(&sweep.current_a).all(|x| x.is_finite()));
    }
});
