//! Bytes as edits of a stored fit: what is read again is whole, and answers without a panic or a NaN; or it is refused.

#![no_main]

use litdiode::fit::{Figure, Fit, Options, Parameter, fit_single_diode};
use litdiode::key_points::KeyPoint;
use litdiode::sweep::{Sweep, SweepOptions};
use std::sync::OnceLock;

/// The text of a fit of invented readings.
fn text() -> &'static [u8] {
    static TEXT: OnceLock<Vec<u8>> = OnceLock::new();
    TEXT.get_or_init(|| {
        let v: Vec<f64> = (0..12).map(|k| -0.05 + 0.05 * f64::from(k)).collect();
        let curve = |v: &f64| 0.030 - 1e-9 * (v / 0.033f64).exp_m1() - v / 500.0 + 1e-5 * (40.0 * v).sin();
        let i: Vec<f64> = v.iter().map(curve).collect();
        let sweep = Sweep::new(&v, &i, SweepOptions::default()).expect("a sweep");
        let mut fit = fit_single_diode(&sweep, &Options::default()).expect("a fit");
        fit.trace.clear();
        serde_json::to_vec(&fit).expect("text")
    })
}

/// Four bytes an edit: a place, what is done there, and with which character.
fn edited(edits: &[u8]) -> Vec<u8> {
    let mut text = text().to_vec();
    for edit in edits.chunks_exact(4) {
        let at = usize::from(u16::from_le_bytes([edit[0], edit[1]])) % text.len().max(1);
        let character = b"0123456789.-e+\"[]{},:naif "[usize::from(edit[3]) % 26];
        match edit[2] % 3 {
            0 => text[at] = character,
            1 => text.insert(at, character),
            _ => drop(text.remove(at)),
        }
        if text.is_empty() {
            break;
        }
    }
    text
}

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| {
    let Ok(fit) = serde_json::from_slice::<Fit<1>>(&edited(bytes)) else { return };
    for figure in [Figure::from(Parameter::Rs), Parameter::N.into(), KeyPoint::Pmax.into()] {
        if let Some(interval) = fit.interval(figure, 0.95) {
            let (low, high) = (interval.low, interval.high);
            assert!(!low.is_some_and(f64::is_nan) && !high.is_some_and(f64::is_nan), "{figure}: {interval:?}");
        }
    }
    for name in ["isc", "voc", "pmax", "ff"] {
        assert!(!fit.key_points().get(name).is_some_and(|e| e.value.is_nan()), "{name}");
    }
    drop(fit.path());
});
