//! Each estimator of Rs and Rsh recovers the truth of simulated sweeps under its own assumptions.
//!
//! Cells are invented. The truth is the parameter that the simulation was made with; 95 % intervals must hold it in
//! 93 to 97 % of 2000 sweeps: `LITDIODE_RUNS=2000 cargo test --release --test resistance -- --nocapture` prints the
//! shares; the default is 200 sweeps with three and a half binomial standard deviations beside that band.

use crate::support::kinds::{Bench, QUOTED, kept_aside};
use crate::support::{Rng, as_given};
use litdiode::diode::{Device, Parameters};
use litdiode::estimate::{Estimate, Unit};
use litdiode::quantity_format::sentences;
use litdiode::resistance::{
    Implied, Measured, Quantity, QuoteReason, Resistance, Resistances, dark_ideality, fill_factor_losses,
    local_ideality, resistances,
};
use litdiode::sweep::{Noise, Sweep, Swept};

const SILICON: Parameters<1> = Parameters {
    iph_a: 0.035,
    i0_a: [1e-10],
    n: [1.2],
    rs_ohm: 0.5,
    rsh_ohm: 3000.0,
    cells: 1,
    temperature_c: 25.0,
};
const VT: f64 = 0.025692579121493725; // k·T/q at 25 °C

fn runs() -> usize {
    std::env::var("LITDIODE_RUNS").map_or(200, |n| n.parse().unwrap())
}

/// LITDIODE_SEED=1 and above: sweeps other than those that anything was chosen by.
fn fresh() -> u64 {
    std::env::var("LITDIODE_SEED")
        .map_or(0, |n| n.parse::<u64>().unwrap().wrapping_mul(0x5851_f42d_4c95_7f2d))
}

/// `points` readings from `from` to `to` V with the stated noise, `stated` in the sweep or not.
struct Rig {
    from: f64,
    to: f64,
    points: usize,
    noise: Noise,
    stated: bool,
}

fn measure<const K: usize>(p: Parameters<K>, rig: &Rig, rng: &mut Rng) -> Sweep {
    let device = Device::new(p).unwrap();
    let step = (rig.to - rig.from) / (rig.points - 1) as f64;
    let mut v: Vec<f64> = (0..rig.points).map(|k| rig.from + step * k as f64).collect();
    let mut i = vec![0.0; v.len()];
    device.current(&v, &mut i).unwrap();
    i.iter_mut().for_each(|i| *i += rig.noise.sigma_current(*i) * rng.normal());
    v.iter_mut().for_each(|v| *v += rig.noise.sigma_voltage(*v) * rng.normal());
    let options = as_given(25.0, 1).noise(rig.stated.then_some(rig.noise));
    Sweep::new(&v, &i, options).unwrap()
}

fn at_light<const K: usize>(p: Parameters<K>, suns: f64) -> Parameters<K> {
    Parameters { iph_a: p.iph_a * suns, ..p }
}

fn on_current(current_a: f64) -> Noise {
    Noise::default().current_a(current_a)
}

/// Whether the truth was held, whether the assumptions hold, value and u.
type Outcome = (bool, bool, f64, Option<f64>);

fn holds_truth(estimate: &Estimate, truth: f64) -> bool {
    let interval = estimate.interval(0.95);
    // Without a ±, an infinite shunt holds nothing.
    interval.low.is_some_and(|low| low <= truth) && interval.high.is_some_and(|high| truth <= high)
}

fn interval_holds(found: &Resistance, truth: f64) -> bool {
    let (low, high) = (found.interval.low, found.interval.high);
    low.is_none_or(|low| low <= truth) && high.is_none_or(|high| truth <= high) && low.or(high).is_some()
}

/// Runs `job` and checks how often its figures hold their truth, and that their assumptions are said to hold.
fn covers(name: &str, seed: u64, truth: f64, job: impl Fn(&mut Rng) -> Resistance + Sync + Send) {
    let count = runs();
    let outcome = |k: usize| {
        let found = job(&mut Rng(seed.wrapping_mul(0x1000_0000).wrapping_add(k as u64 * 0x9e37) ^ fresh()));
        (interval_holds(&found, truth), found.holds(), found.estimate.value, found.estimate.u)
    };
    let all = litdiode::threads::rows(count, None, outcome, |_| true).unwrap();
    let share = |f: &dyn Fn(&Outcome) -> bool| all.iter().filter(|o| f(o)).count() as f64 / count as f64;
    let (held, sound) = (share(&|o| o.0), share(&|o| o.1));
    let mean = all.iter().map(|o| o.2).sum::<f64>() / count as f64;
    let spread = (all.iter().map(|o| (o.2 - mean).powi(2)).sum::<f64>() / count as f64).sqrt();
    let u = all.iter().filter_map(|o| o.3).sum::<f64>() / count as f64;
    println!(
        "{name}: held {held:.4}, assumptions hold {sound:.3}, mean {mean:.5} (truth {truth}), sd {spread:.5}, \
         mean u {u:.5}, bias/u {:.3}",
        (mean - truth) / u
    );
    let slack = if count >= 2000 { 0.0 } else { 3.5 * (0.95 * 0.05 / count as f64).sqrt() };
    assert!(held >= 0.93 - slack && held <= 0.97 + slack, "{name}: {held}");
    assert!(sound > 0.95, "{name}: assumptions are said to hold in {sound} of the sweeps only");
    // The mean of many sweeps has a scatter of its own.
    assert!((mean - truth).abs() <= 0.25 * u + 3.0 * spread / (count as f64).sqrt(), "{name}: biased");
}

fn get(all: Resistances, quantity: Quantity, method: &str) -> Resistance {
    all.get(quantity, method)
        .unwrap_or_else(|| panic!("{method}: {:?}", all.why_absent(quantity, method)))
        .clone()
}

fn from_lit(sweep: &Sweep, quantity: Quantity, method: &str) -> Resistance {
    let n = Estimate::new(1.2, 0.0, Unit::One);
    get(resistances(&Measured::default().lit(sweep).n(&n)), quantity, method)
}

fn lit_rig() -> Rig {
    Rig { from: -0.1, to: 0.66, points: 60, noise: on_current(1e-4), stated: true }
}

#[test]
fn slope_at_voc() {
    for (name, stated, noise) in [
        ("slope at Voc, stated", true, on_current(1e-4)),
        ("slope at Voc, found", false, on_current(1e-4)),
        ("slope at Voc, both axes", true, on_current(1e-4).voltage_v(3e-4)),
    ] {
        let rig = Rig { stated, noise, ..lit_rig() };
        // That the shunt carries no current worth naming at Voc is the assumption of n·VT/Isc.
        let cell = Parameters { rsh_ohm: 3e4, ..SILICON };
        covers(name, 1, 0.5, |rng| from_lit(&measure(cell, &rig, rng), Quantity::Series, "slope at Voc"));
    }
}

#[test]
fn equal_current_below_isc() {
    for (name, seed, suns, method) in [
        ("two irradiances", 2, vec![0.5], "two irradiances"),
        ("several irradiances", 3, vec![0.7, 0.4, 0.25], "several irradiances"),
    ] {
        covers(name, seed, 0.5, |rng| {
            let lit = measure(SILICON, &lit_rig(), rng);
            let more: Vec<Sweep> =
                suns.iter().map(|s| measure(at_light(SILICON, *s), &lit_rig(), rng)).collect();
            let measured = Measured::default().lit(&lit).more_lit(&more);
            get(resistances(&measured), Quantity::Series, method)
        });
    }
}

fn dark_rig() -> Rig {
    let noise = Noise::default().current_rel(0.01).current_a(1e-8);
    Rig { from: -0.1, to: 0.75, points: 60, noise, stated: true }
}

#[test]
fn dark_regression() {
    let dark = at_light(SILICON, 0.0);
    covers("dark regression, 1 % noise", 4, 0.5, |rng| {
        dark_ideality(&measure(dark, &dark_rig(), rng)).unwrap().resistance
    });
    covers("dark regression, n", 5, 1.2, |rng| {
        let mut found = dark_ideality(&measure(dark, &dark_rig(), rng)).unwrap();
        found.resistance.interval = found.n.interval(0.95);
        found.resistance.estimate = found.n;
        found.resistance
    });
}

#[test]
fn shunts() {
    let leaky = Parameters { rsh_ohm: 400.0, rs_ohm: 0.3, ..SILICON };
    let rig = Rig { from: -0.5, points: 80, noise: on_current(2e-5), ..lit_rig() };
    for (k, method) in ["slope at Isc", "reverse bias, lit", "diode fit, lit"].into_iter().enumerate() {
        covers(method, 6 + k as u64, 400.0, |rng| {
            from_lit(&measure(leaky, &rig, rng), Quantity::Shunt, method)
        });
    }
    let dark = at_light(leaky, 0.0);
    let rig = Rig { noise: Noise::default().current_rel(0.01).current_a(1e-5), ..rig };
    for (k, method) in ["dark ohmic region", "reverse bias, dark", "diode fit, dark"].into_iter().enumerate()
    {
        covers(method, 16 + k as u64, 400.0, |rng| {
            let sweep = measure(dark, &rig, rng);
            get(resistances(&Measured::default().dark(&sweep)), Quantity::Shunt, method)
        });
    }
}

#[test]
fn series_by_fit() {
    covers("diode fit, lit, Rs", 9, 0.5, |rng| {
        from_lit(&measure(SILICON, &lit_rig(), rng), Quantity::Series, "diode fit, lit")
    });
}

#[test]
fn conductance_plot() {
    let dark = at_light(SILICON, 0.0);
    let rig = Rig { points: 100, ..dark_rig() };
    covers("conductance plot", 10, 0.5, |rng| {
        let sweep = measure(dark, &rig, rng);
        let measured = Measured::default().dark(&sweep);
        get(resistances(&measured), Quantity::Series, "conductance plot (Werner)")
    });
}

/// Sweeps of so many readings that neighbours are averaged: of the figures without a doubt 95 % of the intervals should hold
/// the truth. Those of one set of sweeps are correlated: 12 sets leave 85 %.
#[test]
fn many_readings() {
    let lit = Rig { from: -0.3, points: 2000, noise: on_current(5e-5), ..lit_rig() };
    let night = Rig { from: -0.3, points: 2000, ..dark_rig() };
    let job = |k: usize| {
        let rng = &mut Rng(0x1a46e + 977 * k as u64 + fresh());
        let (one, dark) = (measure(SILICON, &lit, rng), measure(at_light(SILICON, 0.0), &night, rng));
        let more = [0.6, 0.3].map(|suns| measure(at_light(SILICON, suns), &lit, rng));
        let n = Estimate::new(1.2, 0.0, Unit::One);
        let (lit, dark) = (Some(&one), Some(&dark));
        resistances(&Measured::default().lit(lit).dark(dark).more_lit(&more).n(&n)).found
    };
    let all = litdiode::threads::rows(12, None, job, |_| true).unwrap();
    let clear: Vec<&Resistance> = all.iter().flatten().filter(|r| r.holds()).collect();
    let truth = |r: &Resistance| if r.quantity == Quantity::Series { 0.5 } else { 3000.0 };
    let held = clear.iter().filter(|r| interval_holds(r, truth(r))).count();
    for r in clear.iter().filter(|r| !interval_holds(r, truth(r))) {
        println!("{}: {} {:?}", r.method, r.estimate.value, r.interval);
    }
    println!("{held} of {}", clear.len());
    for method in ["two irradiances", "several irradiances", "conductance plot (Werner)"] {
        assert!(clear.iter().filter(|r| r.method == method).count() >= 6, "{method}");
    }
    assert!(clear.len() > 96 && held as f64 > 0.85 * clear.len() as f64, "{held} of {}", clear.len());
}

#[test]
fn lit_against_dark() {
    covers("lit against dark", 11, 0.5, |rng| {
        let (lit, dark) = (
            measure(SILICON, &lit_rig(), rng),
            measure(at_light(SILICON, 0.0), &Rig { to: 0.7, ..lit_rig() }, rng),
        );
        let measured = Measured::default().lit(&lit).dark(&dark);
        get(resistances(&measured), Quantity::Series, "lit against dark")
    });
}

/// Voltages at open circuit of the cell at 40 irradiances from 0.01 to 1.2 suns, with 0.5 mV of scatter.
fn implied(rng: &mut Rng, stated: bool) -> Implied {
    let suns: Vec<f64> = (0..40).map(|k| 0.01 * 120f64.powf(f64::from(k) / 39.0)).collect();
    let voltage: Vec<f64> = suns
        .iter()
        .map(|s| {
            let device = Device::new(at_light(SILICON, *s)).unwrap();
            device.key_points().voc.unwrap().value + 5e-4 * rng.normal()
        })
        .collect();
    Implied::new(&voltage, &suns, stated.then_some(5e-4)).unwrap()
}

#[test]
fn lit_against_implied_voltage() {
    for (name, stated) in [("lit against implied, stated", true), ("lit against implied, found", false)] {
        covers(name, 12, 0.5, |rng| {
            let (lit, implied) = (measure(SILICON, &lit_rig(), rng), implied(rng, stated));
            let measured = Measured::default().lit(&lit).implied(&implied);
            get(resistances(&measured), Quantity::Series, "lit against implied voltage")
        });
    }
    // The pseudo fill factor is that of the same cell without Rs.
    let device = Device::new(Parameters { rs_ohm: 0.0, ..SILICON }).unwrap();
    let truth = device.key_points().ff.unwrap().value;
    let runs = 2 * runs() as u64;
    let held = (0..runs).filter(|k| {
        let fill = implied(&mut Rng((77 + k) ^ fresh()), true).fill_factor().unwrap();
        holds_truth(&fill, truth)
    });
    let held = held.count() as f64 / runs as f64;
    println!("pseudo fill factor: held {held}");
    assert!(held > 0.91 && held < 0.99, "{held}");
}

#[test]
fn co_content() {
    let leaky = Parameters { rsh_ohm: 400.0, ..SILICON };
    let rig = Rig { points: 200, noise: on_current(3e-5), ..lit_rig() };
    for (k, (quantity, truth)) in [(Quantity::Series, 0.5), (Quantity::Shunt, 400.0)].into_iter().enumerate()
    {
        covers("co-content", 13 + k as u64, truth, |rng| {
            from_lit(&measure(leaky, &rig, rng), quantity, "co-content")
        });
    }
}

/// Half a percent of noise on few and on many readings: J and J² scatter on both sides of the equation, which least
/// squares would answer with two thirds of Rs.
#[test]
fn co_content_of_noisy_readings() {
    let dye = Parameters { iph_a: 600e-6, i0_a: [2e-9], n: [1.9], rs_ohm: 57.6, rsh_ohm: 9e3, ..SILICON };
    for (points, seed) in [(30, 20), (100, 21)] {
        let rig = Rig { from: -0.03, to: 0.62, points, noise: on_current(3e-6), stated: points > 30 };
        for (quantity, truth) in [(Quantity::Series, 57.6), (Quantity::Shunt, 9e3)] {
            covers(&format!("co-content, dye-like, {points} points"), seed, truth, |rng| {
                from_lit(&measure(dye, &rig, rng), quantity, "co-content")
            });
        }
    }
}

/// Kinds that nothing was chosen by, both axes swept: what carries no doubt holds. A reduced version of
/// `examples/resistances.rs`, all methods together; five standard deviations of dependent figures beside the band.
#[test]
fn what_carries_no_doubt_holds() {
    let kinds: Vec<_> =
        kept_aside().into_iter().filter(|k| ["silicon, large", "organic"].contains(&k.name)).collect();
    let (mut clear, mut held, mut quoted) = (0.0, 0.0, 0.0);
    for (kind, swept, stated) in kinds
        .iter()
        .flat_map(|k| [(k, Swept::Voltage, true), (k, Swept::Voltage, false), (k, Swept::Current, true)])
    {
        for t in kind.tally(&Bench { swept, stated, points: 30, noise: 0.005 }, 60, 3) {
            if t.method == QUOTED {
                quoted += t.clear;
            } else {
                (clear, held) = (clear + t.clear, held + t.held);
            }
        }
    }
    println!("{held:.2} of {clear:.2} hold; {quoted:.2} of 12 quoted");
    assert!((0.92..0.98).contains(&(held / clear)), "{held} of {clear}");
    assert!(clear >= 60.0, "{clear}");
    // Rs and Rsh of six sets of sweeps.
    assert!(quoted > 11.0, "{quoted} of 12");
}

/// The order of preference is fixed; a method with a doubt is passed over and named.
#[test]
fn quotes_give_their_reason() {
    let all = resistances(&Measured::default().lit(&measure(SILICON, &lit_rig(), &mut Rng(5))));
    let series = all.series.resistance.as_ref().expect("a quote");
    assert_eq!((series.method, series.quantity), ("diode fit, lit", Quantity::Series));
    assert!(matches!(all.series.why, QuoteReason::Chosen { .. }), "{}", all.series.why);
    // A second diode breaks the fit of one: the next that holds.
    let two = Parameters {
        iph_a: 0.035,
        i0_a: [1e-13, 1e-7],
        n: [1.0, 2.0],
        rs_ohm: 0.5,
        rsh_ohm: 400.0,
        cells: 1,
        temperature_c: 25.0,
    };
    let lit = measure(two, &Rig { from: -0.5, noise: on_current(3e-6), ..lit_rig() }, &mut Rng(6));
    let all = resistances(&Measured::default().lit(&lit));
    let fit = all.get(Quantity::Shunt, "diode fit, lit").expect("a fit");
    assert!(!fit.holds());
    let shunt = all.shunt.resistance.as_ref().expect("a quote");
    assert!(
        shunt.method != "diode fit, lit" && all.shunt.why.to_string().contains("diode fit, lit"),
        "{}",
        all.shunt.why
    );
    let none = resistances(&Measured::default());
    assert!(
        none.series.resistance.is_none() && none.series.why == QuoteReason::NoMethod,
        "{}",
        none.series.why
    );
}

/// A shunt that no conductance was seen of: the bound is the lower end of a two-sided interval.
#[test]
fn a_shunt_that_is_not_seen_is_bounded() {
    let rig = Rig { from: -0.5, noise: on_current(1e-4), ..lit_rig() };
    let open = Parameters { rsh_ohm: 1e9, ..SILICON };
    let (mut held, mut bounds) = (0, 0);
    for seed in 0..200 {
        let found = from_lit(&measure(open, &rig, &mut Rng(seed)), Quantity::Shunt, "reverse bias, lit");
        held += u32::from(found.interval.low.is_some_and(|low| low <= 1e9));
        bounds += u32::from(found.estimate.u.is_none() && found.interval.high == Some(f64::INFINITY));
    }
    // 97.5 % with 2.4 standard deviations; half come out below 0.
    assert!(held >= 190 && (60..140).contains(&bounds), "{held} {bounds}");
}

/// n(V) = n + Rs·I/VT for one diode behind Rs, from d ln I/dV = 1/(a + Rs·I).
#[test]
fn ideality_from_place_to_place() {
    let cell = Parameters { rsh_ohm: f64::INFINITY, ..at_light(SILICON, 0.0) };
    let rig = Rig {
        points: 200,
        from: 0.1,
        noise: Noise::default().current_rel(0.002).current_a(1e-10),
        ..dark_rig()
    };
    let device = Device::new(cell).unwrap();
    let (mut held, mut all) = (0, 0);
    for seed in 0..40 {
        for place in local_ideality(&measure(cell, &rig, &mut Rng(seed))).unwrap() {
            let mut i = [0.0];
            device.current(&[place.voltage_v], &mut i).unwrap();
            let truth = 1.2 - 0.5 * i[0] / VT;
            held += usize::from(holds_truth(&place.n, truth));
            all += 1;
        }
    }
    println!("n(V): held {held} of {all}");
    assert!(
        all > 4000 && held as f64 > 0.93 * all as f64 && (held as f64) < 0.97 * all as f64,
        "{held} of {all}"
    );
}

/// The gain of one axis moves every V/I ratio by its own share.
#[test]
fn gains_do_not_average_down() {
    let noise = on_current(1e-7).voltage_gain_u(0.03).current_gain_u(0.04);
    let rig = Rig { noise, from: -0.5, ..lit_rig() };
    let leaky = Parameters { rsh_ohm: 400.0, ..SILICON };
    let found = from_lit(&measure(leaky, &rig, &mut Rng(1)), Quantity::Shunt, "reverse bias, lit");
    assert!((found.estimate.relative_u().unwrap() - 0.05).abs() < 0.001, "{found:?}");
}

/// A reason, in words that say what to do, where a method has no ground.
#[test]
fn what_is_missing_is_said() {
    let mut rng = Rng(5);
    let (lit, same) = (measure(SILICON, &lit_rig(), &mut rng), measure(SILICON, &lit_rig(), &mut rng));
    let all = resistances(&Measured::default().lit(&lit).more_lit(&[same]));
    let why = |q, method| all.why_absent(q, method).unwrap_or_else(|| panic!("{method} is there"));
    assert!(why(Quantity::Series, "two irradiances").to_string().contains("change the irradiance"));
    assert!(why(Quantity::Series, "several irradiances").to_string().contains("a sweep under light"));
    assert!(why(Quantity::Shunt, "dark ohmic region").to_string().contains("a dark sweep"));
    let slope = all.get(Quantity::Series, "slope at Voc").unwrap();
    assert!(sentences(&slope.doubts).contains("pass n"), "{slope:?}");
    // The slope of the model itself: Rs + 1/(Id/a + g).
    let circuit = *Device::new(SILICON).unwrap().circuit();
    let voc = Device::new(SILICON).unwrap().key_points().voc.unwrap().value;
    let diode = circuit.i0[0] * (voc / circuit.a[0]).exp() / circuit.a[0];
    let truth = 0.5 + 1.0 / (diode + circuit.g);
    assert!((slope.estimate.value - truth).abs() < 4.0 * slope.estimate.u.unwrap(), "{slope:?} {truth}");
    let short = Implied::new(&[0.5; 6], &[1.0; 5], None).unwrap_err().to_string();
    assert!(short.contains("6") && short.contains("5"), "{short}");
    let dark = Implied::new(&[0.5; 6], &[1.0, 0.5, 0.2, 0.0, 0.1, 0.3], None).unwrap_err().to_string();
    assert!(dark.contains("suns[3] = 0"), "{dark}");
}

/// A common offset of the current moves the logarithm of every dark current.
#[test]
fn an_offset_of_the_current_reaches_the_dark_regression() {
    let noise = dark_rig().noise.current_offset_u(1e-5);
    let dark = at_light(SILICON, 0.0);
    let plain = dark_ideality(&measure(dark, &dark_rig(), &mut Rng(3))).unwrap();
    let offset = dark_ideality(&measure(dark, &Rig { noise, ..dark_rig() }, &mut Rng(3))).unwrap();
    assert_eq!(plain.resistance.estimate.value, offset.resistance.estimate.value);
    assert!(offset.n.u.unwrap() > plain.n.u.unwrap());
    assert!(offset.resistance.estimate.u.unwrap() > plain.resistance.estimate.u.unwrap());
}

/// Against the highest product of many samples of the same model: the losses are differences of those.
#[test]
fn fill_factor_with_and_without_resistances() {
    let p = Parameters { rsh_ohm: 200.0, ..SILICON };
    let sampled = |rs_ohm: f64, rsh_ohm: f64| {
        let device = Device::new(Parameters { rs_ohm, rsh_ohm, ..p }).unwrap();
        let points = device.key_points();
        let (isc, voc) = (points.isc.unwrap().value, points.voc.unwrap().value);
        let v: Vec<f64> = (0..=100_000).map(|k| voc * f64::from(k) / 1e5).collect();
        let mut w = vec![0.0; v.len()];
        device.power(&v, &mut w).unwrap();
        w.iter().copied().fold(0.0, f64::max) / (isc * voc)
    };
    let found = fill_factor_losses(&Device::new(p).unwrap()).unwrap().unwrap();
    let inf = f64::INFINITY;
    for (name, value, truth) in [
        ("ideal", found.ideal, sampled(0.0, inf)),
        ("Rs", found.with_rs, sampled(0.5, inf)),
        ("Rsh", found.with_rsh, sampled(0.0, 200.0)),
        ("both", found.with_both, sampled(0.5, 200.0)),
        ("loss", found.loss_both, sampled(0.0, inf) - sampled(0.5, 200.0)),
    ] {
        assert!((value - truth).abs() < 1e-7, "{name}: {value} {truth}");
    }
    assert!(fill_factor_losses(&Device::new(at_light(p, 0.0)).unwrap()).unwrap().is_none());
}

/// A shunt of a few Ω is no small correction any more.
#[test]
fn broken_assumptions_are_said() {
    let shunted = Parameters { rsh_ohm: 30.0, rs_ohm: 3.0, ..SILICON };
    let rig = Rig { noise: on_current(1e-5), ..lit_rig() };
    let sweep = measure(shunted, &rig, &mut Rng(7));
    for (quantity, method) in [(Quantity::Shunt, "slope at Isc"), (Quantity::Series, "slope at Voc")] {
        let found = from_lit(&sweep, quantity, method);
        assert!(!found.holds(), "{found:?}");
    }
    let two = Parameters {
        iph_a: 0.0,
        i0_a: [1e-13, 1e-8],
        n: [1.0, 2.0],
        rs_ohm: 0.5,
        rsh_ohm: f64::INFINITY,
        cells: 1,
        temperature_c: 25.0,
    };
    let found = dark_ideality(&measure(two, &dark_rig(), &mut Rng(8))).unwrap();
    assert!(!found.resistance.holds(), "{:?}", found.resistance);
    assert!((found.n.value * VT).is_finite());
}

fn check(found: &Resistance) {
    let e = &found.estimate;
    assert!(e.value.is_finite() || e.value == f64::INFINITY, "{found:?}");
    match e.u {
        Some(u) => assert!(u.is_finite() && u >= 0.0, "{found:?}"),
        None => assert!(!e.notes.is_empty(), "{found:?}"),
    }
    let interval = e.interval(0.95);
    assert!(!interval.low.is_some_and(f64::is_nan) && !interval.high.is_some_and(f64::is_nan), "{found:?}");
}

/// Curves with damage, few points, wild scales: a figure or a reason, never a NaN.
#[test]
fn random_sweeps() {
    let found = litdiode::threads::rows(1000, None, |k| hostile(&mut Rng(0x99 + k as u64 * 77)), |_| true);
    let (found, dark) = found.unwrap().into_iter().fold((0, 0), |sum, x| (sum.0 + x.0, sum.1 + x.1));
    println!("{found} figures, {dark} dark regressions");
    assert!(found > 7000 && dark >= 400, "{found} {dark}");
}

/// Points of invented curves, some of them damaged.
fn any_sweep(rng: &mut Rng, light: f64, scale: f64) -> Option<Sweep> {
    let points = 2 + (rng.unit() * 40.0) as usize;
    let (from, to) = (rng.between(-1.0, 0.3), rng.between(0.31, 1.2));
    let a = rng.decades(0.01, 0.2);
    let (voc, leak, noise) = (rng.between(0.1, 1.0), rng.unit(), rng.decades(1e-6, 0.3));
    let v: Vec<f64> = (0..points).map(|k| from + (to - from) * k as f64 / points as f64).collect();
    let mut i: Vec<f64> = v
        .iter()
        .map(|v| scale * (light - ((v - voc) / a).exp().min(5.0) - leak * v + noise * rng.normal()))
        .collect();
    if rng.unit() < 0.2 {
        let k = (rng.unit() * points as f64) as usize;
        i[k] *= rng.decades(1e-3, 1e6);
    }
    let stated = rng.unit() < 0.5;
    let noise = Noise::default().current_a(scale * noise).current_gain_u(0.01);
    Sweep::new(&v, &i, as_given(25.0, 1).noise(stated.then_some(noise))).ok()
}

/// Number of figures found, and of dark regressions.
fn hostile(rng: &mut Rng) -> (usize, usize) {
    let scale = rng.decades(1e-9, 1e3);
    let (lit, dark) = (any_sweep(rng, 1.0, scale), any_sweep(rng, 0.0, scale));
    let more: Vec<Sweep> =
        [any_sweep(rng, 0.5, scale), any_sweep(rng, 0.25, scale)].into_iter().flatten().collect();
    let n = Estimate::new(rng.between(0.5, 3.0), 0.1, Unit::One);
    let measured = Measured::default().lit(lit.as_ref()).dark(dark.as_ref()).more_lit(&more).n(&n);
    let all = resistances(&measured);
    all.found.iter().for_each(check);
    assert!(all.absent.iter().all(|a| !a.why.to_string().is_empty()));
    let regression = dark.as_ref().map(dark_ideality).and_then(Result::ok);
    let regressions = usize::from(regression.is_some());
    if let Some(d) = regression {
        let plots = d.plots;
        let numbers = plots.middle_a.iter().chain(&plots.dv_dlni_v).chain(&plots.current_a).chain(&plots.h_v);
        assert!(numbers.into_iter().all(|x| x.is_finite()));
        assert!(d.n.value.is_finite());
    }
    (all.found.len(), regressions)
}
