//! What must always hold for the forward models, over their whole domain.

use approx::assert_relative_eq;
use litdiode::diode::{Circuit, DoubleDiode, Junction, ModelError, Parameters, SingleDiode};
use proptest::prelude::*;

/// A circuit anywhere in the physical domain, one diode.
fn circuits() -> impl Strategy<Value = Circuit<1>> {
    let iph = prop_oneof![Just(0.0), (-9.0..3.0f64).prop_map(|x| 10f64.powf(x))];
    let rs = prop_oneof![Just(0.0), (-12.0..6.0f64).prop_map(|x| 10f64.powf(x))];
    let g = prop_oneof![Just(0.0), (-12.0..3.0f64).prop_map(|x| 10f64.powf(x))];
    (iph, -40.0..0.0f64, -2.5..2.5f64, rs, g)
        .prop_map(|(iph, i0, a, rs, g)| Circuit::new(iph, [10f64.powf(i0)], [10f64.powf(a)], rs, g))
}

/// The error scale of I at `v`: |I| + |V·∂I/∂V| + Σ|p·∂I/∂p|.
fn scale(c: &Circuit<1>, v: f64) -> f64 {
    let g = c.gradient_at(v, &c.a);
    let shunt = if c.g > 0.0 { g.rsh / c.g } else { 0.0 };
    [c.current_at(v), v * g.voltage, c.iph * g.iph, c.i0[0] * g.i0[0], c.a[0] * g.n[0], c.rs * g.rs, shunt]
        .iter()
        .map(|x| x.abs())
        .sum()
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(4000))]

    /// V(I(V)) is V to the conditioning of the curve: ΔI of the forward error, through dV/dI.
    #[test]
    fn voltage_of_the_current_of_a_voltage(c in circuits(), x in -20.0..40.0f64) {
        let v = x * c.a[0];
        let i = c.current_at(v);
        prop_assume!(i.is_finite());
        let slope = c.slope_at(v).abs();
        let back = c.voltage_at(i);
        // What is left out counts: proptest gives up where too many cases are.
        prop_assume!(slope > 0.0 && back.is_finite());
        let allowed = 16.0 * f64::EPSILON * (scale(&c, v) / slope + v.abs() + (c.rs * i).abs());
        prop_assert!((back - v).abs() <= allowed, "{c:?} at {v}: {back}, allowed {allowed}");
    }

    #[test]
    fn current_falls_as_the_voltage_rises(c in circuits(), x in -20.0..40.0f64, dx in 1e-6..1.0f64) {
        let (v, w) = (x * c.a[0], (x + dx) * c.a[0]);
        let rounding = 8.0 * f64::EPSILON * (scale(&c, v) + scale(&c, w));
        prop_assert!(c.current_at(w) <= c.current_at(v) + rounding);
    }

    /// All currents times k, all resistances over k: the same voltages. A power of two costs no rounding.
    #[test]
    fn scale_of_current_does_not_matter(c in circuits(), x in -20.0..30.0f64, e in -20i32..20) {
        let k = 2f64.powi(e);
        let scaled = Circuit::new(c.iph * k, [c.i0[0] * k], c.a, c.rs / k, c.g * k);
        let v = x * c.a[0];
        let difference = (scaled.current_at(v) / k - c.current_at(v)).abs();
        prop_assert!(difference <= 8.0 * f64::EPSILON * scale(&c, v), "{difference}");
    }

    #[test]
    fn nothing_is_nan_at_any_finite_voltage_or_current(c in circuits(), x in -300.0..300.0f64, negative: bool) {
        let y = if negative { -10f64.powf(x) } else { 10f64.powf(x) };
        prop_assert!(!c.current_at(y).is_nan(), "I({y}) of {c:?}");
        prop_assert!(!c.voltage_at(y).is_nan(), "V({y}) of {c:?}");
        let g = c.gradient_at(y, &c.a);
        for d in [g.voltage, g.iph, g.i0[0], g.n[0], g.rs, g.rsh] {
            prop_assert!(!d.is_nan(), "{g:?} at {y} of {c:?}");
        }
    }

    /// No other point of the curve gives more power, and a slightly different voltage gives less.
    #[test]
    fn maximum_power_is_the_maximum(c in circuits(), log_iph in -9.0..3.0f64, t in 0.0..1.0f64) {
        let c = Circuit::new(10f64.powf(log_iph), c.i0, c.a, c.rs, c.g);
        let best = c.maximum_power();
        let v = t * c.voc();
        prop_assert!(v * c.current_at(v) <= best.pmax * (1.0 + 1e-12), "{best:?} below {v}");
        prop_assert!(best.pmax <= c.voc() * c.isc() * (1.0 + 1e-12));
    }
}

/// With equal n two diodes are one with the sum of both saturation currents.
#[test]
fn two_equal_diodes_are_one() {
    let one = Circuit::new(0.7, [3e-7], [0.038], 0.04, 0.02);
    let two = Circuit::new(0.7, [1e-7, 2e-7], [0.038, 0.038], 0.04, 0.02);
    for k in -20..70 {
        let v = 0.01 * f64::from(k);
        assert_relative_eq!(two.current_at(v), one.current_at(v), max_relative = 1e-13, epsilon = 1e-15);
    }
    assert_relative_eq!(two.voc(), one.voc(), max_relative = 1e-14);
    assert_relative_eq!(two.maximum_power().pmax, one.maximum_power().pmax, max_relative = 1e-14);
}

/// Exact ideal fill factors at v = qVoc/nkT (recomputed for Green, Solid-State Electronics 24 (1981) 788).
#[test]
fn ideal_fill_factors() {
    for (v, ff) in [(10.0, 0.693633), (15.0, 0.765268), (20.0, 0.807956), (25.0, 0.836556)] {
        let a = 0.03;
        let c = Circuit::new(1.0, [1.0 / f64::exp_m1(v)], [a], 0.0, 0.0);
        let found = c.maximum_power().pmax / (c.isc() * c.voc());
        assert_relative_eq!(found, ff, epsilon = 5e-7);
    }
}

/// Without a series resistance everything is explicit: I = Iph − I0·expm1(V/a) − g·V.
#[test]
fn explicit_case() {
    let c = Circuit::new(0.5, [1e-9], [0.04], 0.0, 0.01);
    assert_relative_eq!(c.current_at(0.6), 0.5 - 1e-9 * f64::exp_m1(15.0) - 0.006, max_relative = 1e-15);
    assert_relative_eq!(c.slope_at(0.6), -1e-9 * f64::exp(15.0) / 0.04 - 0.01, max_relative = 1e-14);
}

#[test]
fn a_dark_device_has_no_fill_factor_and_says_why() {
    let dark = parameters(0.0, 0.1).and_then(SingleDiode::new).unwrap();
    let points = dark.key_points();
    assert_eq!(points.isc.as_ref().unwrap().value, 0.0);
    assert_eq!(points.pmax.as_ref().unwrap().value, 0.0);
    assert!(points.ff.is_none() && points.why_absent("ff").unwrap().to_string().contains("dark"));
}

fn parameters(iph_a: f64, rs_ohm: f64) -> Result<Parameters<1>, ModelError> {
    Ok(Parameters {
        iph_a,
        i0_a: [1e-9],
        n: [1.2],
        rs_ohm,
        rsh_ohm: f64::INFINITY,
        cells: 1,
        temperature_c: 25.0,
    })
}

#[test]
fn parameters_outside_their_domain_are_named() {
    let text = |p: Parameters<1>| SingleDiode::new(p).unwrap_err().to_string();
    let good = parameters(0.03, 0.1).unwrap();
    assert!(text(Parameters { rs_ohm: -1.0, ..good }).starts_with("rs_ohm = -1 is outside 0 to"));
    assert!(text(Parameters { n: [f64::NAN], ..good }).starts_with("n = NaN is outside"));
    assert!(text(Parameters { rsh_ohm: 0.0, ..good }).starts_with("rsh_ohm = 0"));
    assert!(text(Parameters { cells: 0, ..good }).starts_with("cells = 0"));
    assert!(text(Parameters { temperature_c: -300.0, ..good }).starts_with("temperature_c = -300"));
    let two = Parameters {
        i0_a: [1e-9, 0.0],
        n: [1.0, 2.0],
        iph_a: 0.03,
        rs_ohm: 0.1,
        rsh_ohm: 1e3,
        cells: 1,
        temperature_c: 25.0,
    };
    assert!(DoubleDiode::new(two).unwrap_err().to_string().starts_with("i02_a = 0"));
    let model = SingleDiode::new(good).unwrap();
    let error = model.current(&[0.1, f64::NAN], &mut [0.0; 2]).unwrap_err();
    assert!(error.to_string().starts_with("voltage_v[1] = NaN"));
}

#[test]
fn a_curve_meets_its_ends_and_is_dense_at_the_knee() {
    let cell = SingleDiode::new(parameters(0.03, 0.5).unwrap()).unwrap();
    let (v, i) = cell.curve(50);
    assert_eq!((v.len(), v[0]), (50, 0.0));
    assert_relative_eq!(v[49], cell.key_points().voc.unwrap().value, max_relative = 1e-15);
    assert!(v.windows(2).all(|w| w[1] > w[0]) && i.windows(2).all(|w| w[1] <= w[0]));
    // Chords stay close to the curve: power at the best of 50 points is the maximum to 2e-4.
    let best = v.iter().zip(&i).map(|(v, i)| v * i).fold(0.0, f64::max);
    assert!(best > (1.0 - 2e-4) * cell.key_points().pmax.unwrap().value);
}

/// V(I(V)) over a million circuits and voltages of the whole domain: never off by more than 4 ε of the error
/// scale of I, carried through the curve's slope.
#[test]
fn a_million_round_trips() {
    let mut rng = crate::support::Rng(2026);
    let (mut cases, mut compared, mut worst) = (0, 0, 0.0f64);
    while cases < 1_000_000 {
        let pick = |rng: &mut crate::support::Rng, low: f64, high: f64| {
            let x = rng.decades(low, high);
            if rng.next().is_multiple_of(8) { 0.0 } else { x }
        };
        let (iph, rs, g) =
            (pick(&mut rng, 1e-9, 1e3), pick(&mut rng, 1e-12, 1e6), pick(&mut rng, 1e-12, 1e3));
        let c = Circuit::new(iph, [rng.decades(1e-40, 1.0)], [rng.decades(1e-3, 400.0)], rs, g);
        let v = c.a[0] * rng.between(-30.0, 60.0);
        let i = c.current_at(v);
        cases += 1;
        let slope = c.slope_at(v).abs();
        let back = c.voltage_at(i);
        // A saturated diode without a shunt has a slope that no f64 holds: any voltage carries its current.
        if !i.is_finite() || slope == 0.0 || (c.g == 0.0 && back == f64::NEG_INFINITY) {
            assert!(!i.is_nan() && !back.is_nan(), "{c:?} at {v}");
            continue;
        }
        let allowed = f64::EPSILON * (scale(&c, v) / slope + v.abs() + (c.rs * i).abs());
        // Where the error of I spans a bend of the curve its slope at V says nothing, and I(V) is compared.
        let in_current = (c.current_at(back) - i).abs() / (f64::EPSILON * (scale(&c, v) + scale(&c, back)));
        let off = ((back - v).abs() / allowed).min(in_current);
        assert!(!off.is_nan(), "{c:?} at {v}");
        worst = worst.max(off);
        compared += 1;
    }
    println!("{compared} of {cases} compared, worst {worst} ε");
    assert!(worst <= 4.0 && compared >= 990_000, "worst {worst} ε of {compared}");
}

/// A current or voltage is the same number alone, at any place of a list, and in a list of any length: to the bit.
#[test]
fn lists_and_single_calls_agree_to_the_bit() {
    fn check<const K: usize>(circuit: &Circuit<K>, x: &[f64]) {
        let (mut i, mut v) = (vec![0.0; x.len()], vec![0.0; x.len()]);
        circuit.currents_at(x, &mut i);
        circuit.voltages_at(x, &mut v);
        for (k, &x) in x.iter().enumerate() {
            assert_eq!(circuit.current_at(x).to_bits(), i[k].to_bits(), "I({x}) at {k} of {circuit:?}");
            assert_eq!(circuit.voltage_at(x).to_bits(), v[k].to_bits(), "V({x}) at {k} of {circuit:?}");
        }
    }
    let mut rng = crate::support::Rng(5);
    for _ in 0..2000 {
        let (iph, rs, g) = (rng.decades(1e-6, 10.0), rng.decades(1e-3, 10.0), rng.decades(1e-6, 1e-1));
        let (i0, a) = ([rng.decades(1e-14, 1e-6), rng.decades(1e-12, 1e-5)], [0.026, 0.05]);
        let x: Vec<f64> = (0..1 + (rng.next() % 70) as usize).map(|_| rng.between(-1.0, 1.0)).collect();
        check(&Circuit::<1>::new(iph, [i0[0]], [a[0]], rs, g), &x);
        check(&Circuit::<1>::new(iph, [i0[0]], [a[0]], 0.0, 0.0), &x);
        check(&Circuit::<2>::new(iph, i0, a, rs, g), &x);
    }
}

/// ρ·I0 alone lies below the smallest number, ρ·I0·exp(u/a) does not. Currents by mpmath, 80 digits more than cancel:
/// the root of the implicit equation in the junction voltage, bracketed, by Newton's method.
#[test]
fn series_and_saturation_of_a_product_below_the_smallest_number() {
    fn check<const K: usize>(iph_a: f64, i0_a: [f64; K], n: [f64; K], rs: (f64, f64), v: f64, want: f64) {
        let (rs_ohm, rsh_ohm) = rs;
        let parameters = Parameters { iph_a, i0_a, n, rs_ohm, rsh_ohm, cells: 1, temperature_c: 25.0 };
        let device = litdiode::diode::Device::new(parameters).unwrap();
        assert_relative_eq!(device.circuit().current_at(v), want, max_relative = 1e-13);
    }
    let inf = f64::INFINITY;
    check(0.0, [1e-300], [1.0], (1e-20, 100.0), 20.0, -1.067_333_873_949_439_3e20);
    check(0.0, [1e-290], [1.0], (1e-100, inf), 1e20, -1e120);
    check(0.0, [1e-20], [1.0], (1e-300, inf), 20.0, -1.067_333_873_949_439_3e300);
    check(1e-3, [1e-290, 1e-5], [1.0, 2.0], (1e-100, inf), 100.0, -8.734_685_071_628_509e101);
}
