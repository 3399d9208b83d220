//! The smoothing spline's rows, degrees of freedom, penalties and band, and the test of the falling, concave shape.
//!
//! The curves are invented: a lit diode without series resistance, and an S-shape. Agreement of the spline itself with
//! SciPy's is in `tests/interpolant/curves.rs`.

use crate::support::smooths::{Case, Device, EVEN, Held, KINDS, STEPPED, held, outside, stepped, tally};
use crate::support::{Rng, as_given};
use litdiode::estimate::Interval;
use litdiode::interpolant::{
    InterpolantError, Penalty, Points, Smooth, shape_constrained, shape_sweep, smooth_sweep, smoothing,
};
use litdiode::sweep::{Noise, Sweep, SweepOptions, Swept};

const COUNT: usize = 30;

/// A lit diode: falling and concave.
fn lit(v: f64) -> f64 {
    0.03 - 1e-7 * (v / 0.05).exp_m1() - 2e-3 * v
}

/// The same with a soft barrier that takes a part of the current between 0.3 and 0.5 V.
fn ess(v: f64) -> f64 {
    lit(v) - 0.006 * (1.0 + ((v - 0.35) / 0.04).tanh()) * (-((v - 0.3) / 0.25).powi(2)).exp()
}

fn mesh(count: usize) -> Vec<f64> {
    (0..count).map(|k| -0.05 + 0.67 * k as f64 / (count - 1) as f64).collect()
}

fn noisy(rng: &mut Rng, v: &[f64], truth: fn(f64) -> f64, sigma_a: f64) -> Vec<f64> {
    v.iter().map(|v| truth(*v) + sigma_a * rng.normal()).collect()
}

fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(a, b)| a * b).sum()
}

/// A row times the readings is the curve; a row at its own point sums to the degrees of freedom; rows of a line's
/// values are exact (Σℓ = 1, ΣℓV = V), for any penalty and weights.
#[test]
fn rows_are_the_smoother() {
    let mut rng = Rng(3);
    let v: Vec<f64> = (0..COUNT).map(|_| rng.between(0.0, 0.7)).collect();
    let sigma: Vec<f64> = v.iter().map(|_| rng.decades(1e-5, 1e-3)).collect();
    let i: Vec<f64> = v.iter().zip(&sigma).map(|(v, s)| lit(*v) + s * rng.normal()).collect();
    let points = Points::with_noise(&v, &i, &sigma).unwrap();
    for lambda in [0.0, 1e-2, 1.0, 1e2, 1e5] {
        let smooth = smoothing(&points, Penalty::Lambda(lambda)).unwrap();
        let trace: f64 =
            points.voltage_v().iter().enumerate().map(|(k, v)| smooth.row(*v).unwrap().current[k]).sum();
        assert!((trace - smooth.edf()).abs() < 1e-9, "{lambda}: {trace} {}", smooth.edf());
        let (low, high) = smooth.curve().range_v();
        for x in (0..=57).map(|k| (low + (high - low) * f64::from(k) / 57.0).min(high)) {
            let (row, curve) = (smooth.row(x).unwrap(), smooth.curve());
            let (i, d) =
                (curve.current(&[x], false).unwrap().values[0], curve.slope(&[x], false).unwrap().values[0]);
            assert!((dot(&row.current, points.current_a()) - i).abs() < 1e-12, "{lambda} {x}");
            assert!(
                (dot(&row.slope, points.current_a()) - d).abs() < 1e-9 * d.abs().max(1.0),
                "{lambda} {x}"
            );
            assert!((row.current.iter().sum::<f64>() - 1.0).abs() < 1e-10);
            assert!((dot(&row.current, points.voltage_v()) - x).abs() < 1e-10);
        }
    }
}

/// At a point the wider band has u² = σ²·A_kk, the narrower σ²·Σ A_kj²; without a penalty both are the reading's own σ.
#[test]
fn the_wider_band_at_a_point_is_its_leverage() {
    let mut rng = Rng(6);
    let (v, sigma_a) = (mesh(COUNT), 1e-3);
    let points = Points::with_noise(&v, &noisy(&mut rng, &v, lit, sigma_a), &[sigma_a; COUNT]).unwrap();
    for lambda in [0.0, 1.0, 100.0] {
        let smooth = smoothing(&points, Penalty::Lambda(lambda)).unwrap();
        let half = |b: Vec<Interval>| 0.5 * (b[0].high.unwrap() - b[0].low.unwrap()) / 1.959963984540054;
        for k in [0, 4, COUNT - 1] {
            let row = smooth.row(v[k]).unwrap().current;
            let wide = half(smooth.band_with_bias(&v[k..=k], 0.95).unwrap());
            let narrow = half(smooth.band(&v[k..=k], 0.95).unwrap());
            assert!((wide - sigma_a * row[k].sqrt()).abs() < 1e-9 * sigma_a, "{lambda} {k}: {wide}");
            assert!(
                (narrow - sigma_a * dot(&row, &row).sqrt()).abs() < 1e-9 * sigma_a,
                "{lambda} {k}: {narrow}"
            );
            assert!(lambda > 0.0 || (wide - sigma_a).abs() < 1e-9 * sigma_a);
        }
    }
}

/// By hand: three points at −1, 0, 1, equal weights. The second difference d = I₀ − 2I₁ + I₂ is shrunk by R/(R + 6λ)
/// with R = 2/3: edf = 2 + 1/(1 + 9λ), and the residuals are (1, −2, 1)·d/6·9λ/(1 + 9λ).
#[test]
fn three_points_by_hand() {
    let points = Points::new(&[-1.0, 0.0, 1.0], &[0.0, 1.0, 0.0]).unwrap();
    let lambda = 0.2;
    let smooth = smoothing(&points, Penalty::Lambda(lambda)).unwrap();
    let (free, shrunk) = (1.0 / (1.0 + 9.0 * lambda), 9.0 * lambda / (1.0 + 9.0 * lambda));
    assert!((smooth.edf() - 2.0 - free).abs() < 1e-14);
    let at = smooth.curve().current(&[-1.0, 0.0, 1.0], false).unwrap().values;
    for (got, want) in at.iter().zip([shrunk / 3.0, 1.0 - 2.0 * shrunk / 3.0, shrunk / 3.0]) {
        assert!((got - want).abs() < 1e-15, "{at:?}");
    }
    assert!((smooth.chi2() - 6.0 * (shrunk / 3.0).powi(2)).abs() < 1e-15);
}

/// A reading given three times weighs as one with a third of the variance; only the scatter among them is new.
#[test]
fn repeated_readings_are_readings_of_less_noise() {
    let mut rng = Rng(8);
    let v = mesh(12);
    let i = noisy(&mut rng, &v, lit, 1e-3);
    let thrice = |x: &[f64]| x.iter().flat_map(|x| [*x; 3]).collect::<Vec<_>>();
    let once = Points::with_noise(&v, &i, &[1e-3 / 3f64.sqrt(); 12]).unwrap();
    let repeated = Points::with_noise(&thrice(&v), &thrice(&i), &[1e-3; 36]).unwrap();
    let [a, b] = [once, repeated].map(|p| smoothing(&p, Penalty::Lambda(10.0)).unwrap());
    let band = |s: &Smooth| s.current(&[0.333]).unwrap().remove(0);
    assert!((band(&a).value - band(&b).value).abs() < 1e-15);
    assert!((band(&a).u.unwrap() - band(&b).u.unwrap()).abs() < 1e-15);
    assert!((a.edf() - b.edf()).abs() < 1e-10 && b.residual_dof() - a.residual_dof() > 23.9);
}

#[test]
fn penalties_are_what_they_say() {
    let mut rng = Rng(21);
    let v = mesh(COUNT);
    let i = noisy(&mut rng, &v, ess, 3e-4);
    let points = Points::with_noise(&v, &i, &[3e-4; COUNT]).unwrap();
    let stated = smoothing(&points, Penalty::StatedNoise).unwrap();
    assert!(
        (stated.chi2() - stated.residual_dof()).abs() < 1e-6,
        "{} {}",
        stated.chi2(),
        stated.residual_dof()
    );
    // Too little noise stated: no curve is so near. Far too much: a line is near enough.
    let little = Points::with_noise(&v, &i, &[3e-9; COUNT]).unwrap();
    assert!(matches!(smoothing(&little, Penalty::StatedNoise), Err(InterpolantError::NoPenalty { .. })));
    let much = Points::with_noise(&v, &i, &[3e-1; COUNT]).unwrap();
    assert!(smoothing(&much, Penalty::StatedNoise).unwrap().edf() < 2.01);
}

#[test]
fn too_few_readings_give_no_scatter_and_say_so() {
    let two = smoothing(&Points::new(&[0.0, 1.0], &[1.0, 0.0]).unwrap(), Penalty::CrossValidation).unwrap();
    let estimate = two.current(&[0.5]).unwrap().remove(0);
    assert_eq!((estimate.value, estimate.u, two.edf()), (0.5, None, 2.0));
    assert!(two.band(&[0.5], 0.95).unwrap()[0].note().unwrap().contains("state the noise"));
    assert!(matches!(two.band(&[0.5], 1.5), Err(InterpolantError::Value { name: "level", .. })));
    assert!(matches!(two.row(1.5), Err(InterpolantError::Outside { .. })));
}

/// In %: how often the 95 % band holds the truth, averaged over the whole curve; at the worst place; and at the worst
/// place more than three gaps from the ends. 1000 sweeps.
fn coverage(truth: fn(f64) -> f64, sigma_a: f64, penalty: Penalty, state: bool, biased: bool) -> [f64; 3] {
    const SWEEPS: usize = 1000;
    let (v, x) = (mesh(COUNT), mesh(101));
    let mut held = vec![0usize; x.len()];
    for sweep in 0..SWEEPS {
        let i = noisy(&mut Rng(1000 + sweep as u64), &v, truth, sigma_a);
        let points = if state { Points::with_noise(&v, &i, &[sigma_a; COUNT]) } else { Points::new(&v, &i) };
        let smooth = smoothing(&points.unwrap(), penalty).unwrap();
        let band = if biased { smooth.band_with_bias(&x, 0.95) } else { smooth.band(&x, 0.95) }.unwrap();
        let holds = |b: &Interval, x: f64| (b.low.unwrap()..=b.high.unwrap()).contains(&truth(x));
        held.iter_mut().zip(band.iter().zip(&x)).for_each(|(h, (b, x))| *h += usize::from(holds(b, *x)));
    }
    let share: Vec<f64> = held.iter().map(|h| 100.0 * *h as f64 / SWEEPS as f64).collect();
    let least = |range: &[f64]| range.iter().copied().fold(100.0, f64::min);
    let inner: Vec<f64> =
        x.iter().zip(&share).filter(|p| (v[3]..=v[COUNT - 4]).contains(p.0)).map(|p| *p.1).collect();
    [share.iter().sum::<f64>() / x.len() as f64, least(&share), least(&inner)]
}

/// Averaged over the curve the band with bias keeps to 92–98 % from 1 % of noise on where the penalty is cross-validated; no
/// band falls below 85 %. Place by place it does not: where the curve bends hardest, and above all in the last gaps before
/// an end at which it still bends (the spline's second derivative is 0 there, the diode's largest), the bias counts, the
/// more the less noise there is. The figures are printed.
#[test]
fn the_band_covers_the_truth_on_average() {
    let mut short = Vec::new();
    for (name, truth) in [("lit", lit as fn(f64) -> f64), ("ess", ess)] {
        for sigma_a in [3e-5, 3e-4, 1e-3] {
            for (choice, penalty, state) in [
                ("cross-validated, noise estimated", Penalty::CrossValidation, false),
                ("cross-validated, noise stated", Penalty::CrossValidation, true),
                ("stated noise", Penalty::StatedNoise, true),
            ] {
                for biased in [false, true] {
                    let [mean, least, inner] = coverage(truth, sigma_a, penalty, state, biased);
                    println!(
                        "{name} σ = {sigma_a:.0e} A, {choice}, bias counted: {biased}: \
                         {mean:.1} %, worst {least:.1} %, within {inner:.1} %"
                    );
                    let held = biased && penalty == Penalty::CrossValidation && sigma_a > 1e-4;
                    if mean > 98.5 || mean < if held { 92.0 } else { 85.0 } {
                        short.push((name, sigma_a, choice, biased, mean));
                    }
                }
            }
        }
    }
    assert!(short.is_empty(), "{short:?}");
}

/// A smooth whose penalty is chosen minimises Σ w(I − s)² + λ∫ρ s″², from the definition: the derivative by any change
/// φ of the curve, Σ w(s − I)φ + λ∫ρ s″φ″, is 0. All C¹ cubics with the points as knots are tried, one knot at a time; the
/// integrals of the products of two straight lines are exact.
#[test]
fn a_chosen_penalty_is_minimised_with_its_roughness_weight() {
    let mut rng = Rng(14);
    let v: Vec<f64> = mesh(COUNT).iter().map(|v| v + rng.between(-0.008, 0.008)).collect();
    for (truth, stated) in [(lit as fn(f64) -> f64, true), (ess, false)] {
        let i = noisy(&mut rng, &v, truth, 2e-4);
        let points =
            if stated { Points::with_noise(&v, &i, &[2e-4; COUNT]) } else { Points::new(&v, &i) }.unwrap();
        let smooth = smoothing(&points, Penalty::CrossValidation).unwrap();
        let rho = smooth.roughness_weight();
        assert!(rho.iter().any(|r| *r > 3.0) && rho.iter().any(|r| *r < 1.0 / 3.0), "{rho:?}");
        let at = smooth.curve().current(&v, false).unwrap().values;
        let weight = points.weight();
        let pieces = smooth.curve().coefficients_a();
        for knot in 0..COUNT {
            // φ is 1 at the knot with slope 0, or 0 with slope 1, and 0 with slope 0 at all others: (value, slope, φ″ at
            // the ends of the gap before and after it).
            for (value, before, after) in [(1.0, [6.0, -6.0], [-6.0, 6.0]), (0.0, [-2.0, 4.0], [-4.0, 2.0])] {
                let mut sum = value * weight[knot] * (at[knot] - i[knot]);
                let mut size = (weight[knot] * (at[knot] - i[knot])).abs();
                for (gap, bend) in
                    [(knot.checked_sub(1), before), (Some(knot).filter(|k| k + 1 < COUNT), after)]
                {
                    let Some(gap) = gap else { continue };
                    let h = v[gap + 1] - v[gap];
                    // A slope of 1/V is one of h over the gap.
                    let bend = bend.map(|b| b * if value == 0.0 { h } else { 1.0 });
                    let (c, d) = (2.0 * pieces[gap][2], 6.0 * pieces[gap][3]);
                    let integral = h
                        * (c * bend[0]
                            + 0.5 * (c * (bend[1] - bend[0]) + d * bend[0])
                            + d * (bend[1] - bend[0]) / 3.0);
                    let term = smooth.lambda() * rho[gap] * integral / h.powi(4);
                    sum += term;
                    size += term.abs();
                }
                assert!(sum.abs() < 1e-7 * size, "{knot} {value}: {sum:e} of {size:e}");
            }
        }
    }
}

/// Very many readings: stiff smooths of them are beyond a double, and the one that is wanted is not. It is that of the
/// means of neighbours, within a fraction of what either is uncertain by.
#[test]
fn very_many_readings_have_the_smooth_of_their_means() {
    const EACH: usize = 50;
    let sigma_a = 1e-4;
    let mut rng = Rng(40);
    for count in [40_000, 150_000] {
        let v = mesh(count);
        let i = noisy(&mut rng, &v, lit, sigma_a);
        let mean =
            |x: &[f64]| x.chunks(EACH).map(|x| x.iter().sum::<f64>() / x.len() as f64).collect::<Vec<_>>();
        let all = Points::with_noise(&v, &i, &vec![sigma_a; count]).unwrap();
        let own = sigma_a / (EACH as f64).sqrt();
        let means = Points::with_noise(&mean(&v), &mean(&i), &vec![own; count / EACH]).unwrap();
        // χ² of a stated noise has a spread of its own, by which either may be stiffer.
        for (penalty, most) in [(Penalty::CrossValidation, 0.3), (Penalty::StatedNoise, 2.0)] {
            let [smooth, of_means] = [&all, &means].map(|points| smoothing(points, penalty).unwrap());
            let at = mesh(60);
            let [a, b] = [&smooth, &of_means].map(|s| s.current(&at[1..59]).unwrap());
            let apart: f64 =
                a.iter().zip(&b).map(|(a, b)| ((a.value - b.value) / b.u.unwrap()).powi(2)).sum();
            let apart = (apart / 58.0).sqrt();
            println!(
                "{count} {penalty:?}: {:.1} and {:.1} degrees of freedom, {apart:.2} u apart",
                smooth.edf(),
                of_means.edf()
            );
            assert!(apart < most);
        }
    }
}

/// Devices that no constant was chosen by: the error against that of the best constant penalty, and the bands. The
/// table of docs/smoothing.md is this test with `LITDIODE_SMOOTHS=1000`; `LITDIODE_SMOOTHS_TUNING=1` takes the other half.
#[test]
fn chosen_penalties_against_the_best_constant_one() {
    let number = |name| std::env::var(name).ok().map(|n| n.parse::<u64>().expect("a number"));
    let (sweeps, kept) =
        (number("LITDIODE_SMOOTHS").unwrap_or(60), number("LITDIODE_SMOOTHS_TUNING").is_none());
    println!(
        "| shape | points | noise/% | stated | median | 90th | constant, median | 90th | holds/% | with bias/% |"
    );
    println!("|---|---|---|---|---|---|---|---|---|---|");
    let mut missed = Vec::new();
    for (kind, name) in KINDS.iter().enumerate() {
        for points in [25, 100] {
            for noise in [0.003, 0.01, 0.03] {
                for stated in [false, true] {
                    let t = tally(Case { kind, points, current_stepped: false, noise, stated }, kept, sweeps);
                    let line = format!(
                        "| {name} | {points} | {} | {stated} | {:.2} | {:.2} | {:.2} | {:.2} | {:.1} | {:.1} |",
                        100.0 * noise,
                        t.error[0],
                        t.error[1],
                        t.constant[0],
                        t.constant[1],
                        t.holds[0],
                        t.holds[1]
                    );
                    println!("{line}");
                    // Beside the aim: three standard deviations of 60 sweeps, as measured.
                    let holds = (90.0..=99.0).contains(&t.holds[1]);
                    if t.error[0] > 1.08 || t.error[1] > 1.35 || !holds {
                        missed.push(line);
                    }
                }
            }
        }
    }
    assert!(missed.is_empty(), "{missed:#?}");
}

/// Even steps of current, noise of the voltage as a share of Voc, the same devices: the error of V(I) at even currents against
/// that of the best constant penalty of V(I), and how often the band of I at even voltages holds the curve. Most of these
/// voltages lie beyond V = 0, between the last few readings, where the bracket decides and the band holds more.
#[test]
fn sweeps_stepped_in_current_have_a_band_that_holds() {
    let number = |name| std::env::var(name).ok().map(|n| n.parse::<u64>().expect("a number"));
    let (sweeps, kept) =
        (number("LITDIODE_SMOOTHS").unwrap_or(40), number("LITDIODE_SMOOTHS_TUNING").is_none());
    println!("| shape | points | noise of V/% | stated | median | 90th | holds/% | with bias/% |");
    println!("|---|---|---|---|---|---|---|---|");
    let mut cases = Vec::new();
    for kind in 0..KINDS.len() {
        for points in [25, 100] {
            for (noise, stated) in [(0.001, false), (0.001, true), (0.005, false), (0.005, true)] {
                cases.push(Case { kind, points, current_stepped: true, noise, stated });
            }
        }
    }
    let tallies =
        litdiode::threads::rows(cases.len(), None, |k| tally(cases[k], kept, sweeps), |_| true).unwrap();
    let mut missed = Vec::new();
    for (Case { kind, points, noise, stated, .. }, t) in cases.into_iter().zip(tallies) {
        let ([median, most], [plain, biased]) = (t.error, t.holds);
        let line = format!(
            "| {} | {points} | {} | {stated} | {median:.2} | {most:.2} | {plain:.1} | {biased:.1} |",
            KINDS[kind],
            100.0 * noise
        );
        println!("{line}");
        // Beside the aim: three standard deviations of 40 sweeps, as measured.
        if median > 1.08 || most > 1.45 || biased < 90.0 {
            missed.push(line);
        }
    }
    assert!(missed.is_empty(), "{missed:#?}");
}

/// The smooth of a sweep stepped in current lies within its own bands, whatever the device, the number of readings and
/// their noise, stated or not.
#[test]
fn a_smooth_by_current_lies_in_its_own_band() {
    let mut missed = Vec::new();
    for kind in 0..7 {
        for points in [10, 17, 25, 30, 60, 120, 300] {
            for noise in [0.0, 0.001, 0.005, 0.02] {
                for stated in [false, true] {
                    let case = Case { kind, points, current_stepped: true, noise, stated };
                    let mut rng = Rng(points as u64 + (1e4 * noise) as u64);
                    let smooth = stepped(&Device::new(kind, points as u64), case, &mut rng);
                    if outside(&smooth) > 0 {
                        missed.push((kind, points, noise, stated, outside(&smooth)));
                    }
                }
            }
        }
    }
    assert!(missed.is_empty(), "{} {missed:?}", missed.len());
}

/// Of single devices, repeated with other noise: how often the band with bias and the interval of the slope hold the truth at
/// each of 25 even voltages from 0 to 0.92 Voc. `LITDIODE_SMOOTHS` sweeps of each of three devices a row make the table of
/// docs/smoothing.md.
#[test]
fn bands_and_slopes_by_current_hold_place_by_place() {
    let number = |name| std::env::var(name).ok().map(|n| n.parse::<u64>().expect("a number"));
    let (sweeps, kept) = (number("LITDIODE_SMOOTHS"), number("LITDIODE_SMOOTHS_TUNING").is_none());
    let (devices, sweeps) = if let Some(n) = sweeps { (3, n) } else { (1, 10) };
    let mut cases = Vec::new();
    for (kind, name) in STEPPED {
        for points in [10, 25, 40, 60, 120, 300] {
            for noise in [0.001, 0.005, 0.02] {
                for stated in [false, true] {
                    cases.push((name, Case { kind, points, current_stepped: true, noise, stated }));
                }
            }
        }
    }
    let row = |case: &Case| -> Vec<Held> {
        (0..devices).map(|k| held(*case, 2 * (k + 40) + u64::from(kept), sweeps)).collect()
    };
    let half = cases.len() / 2;
    let run = |of: &[(&str, Case)]| of.iter().map(|(_, c)| row(c)).collect::<Vec<_>>();
    let rows = std::thread::scope(|s| {
        let first = s.spawn(|| run(&cases[..half]));
        let mut second = run(&cases[half..]);
        let mut all = first.join().unwrap();
        all.append(&mut second);
        all
    });
    println!("| device | points | noise of V/% | stated | band/% | worst | slope/% | worst | width/Isc |");
    println!("|---|---|---|---|---|---|---|---|---|");
    let mut missed = Vec::new();
    for ((name, case), row) in cases.iter().zip(&rows) {
        let mean =
            |of: fn(&Held) -> &[f64; EVEN]| row.iter().flat_map(of).sum::<f64>() / (EVEN * row.len()) as f64;
        let worst = |of: fn(&Held) -> &[f64; EVEN]| row.iter().flat_map(of).copied().fold(100.0, f64::min);
        let width = row.iter().map(|h| h.width).sum::<f64>() / row.len() as f64;
        let (band, slope) = (mean(|h| &h.band), mean(|h| &h.slope));
        let line = format!(
            "| {name} | {} | {} | {} | {band:.1} | {:.0} | {slope:.1} | {:.0} | {width:.4} |",
            case.points,
            100.0 * case.noise,
            case.stated,
            worst(|h| &h.band),
            worst(|h| &h.slope)
        );
        println!("{line}");
        let outside: usize = row.iter().map(|h| h.outside).sum();
        if outside > 0 || band < 90.0 || worst(|h| &h.band) < 50.0 || slope < 85.0 {
            missed.push(format!("{line} {outside} outside"));
        }
    }
    println!(
        "\n| device | points | band/% | worst | slope/% | worst | width/Isc |\n|---|---|---|---|---|---|---|"
    );
    for (of, rows) in cases.chunks(6).zip(rows.chunks(6)) {
        let all: Vec<&Held> = rows.iter().flatten().collect();
        let mean = |of: fn(&Held) -> f64| all.iter().map(|h| of(h)).sum::<f64>() / all.len() as f64;
        let least =
            |of: fn(&Held) -> &[f64; EVEN]| all.iter().flat_map(|h| of(h)).copied().fold(100.0, f64::min);
        println!(
            "| {} | {} | {:.1} | {:.0} | {:.1} | {:.0} | {:.4} |",
            of[0].0,
            of[0].1.points,
            mean(|h| h.band.iter().sum::<f64>() / EVEN as f64),
            least(|h| &h.band),
            mean(|h| h.slope.iter().sum::<f64>() / EVEN as f64),
            least(|h| &h.slope),
            mean(|h| h.width)
        );
    }
    assert!(missed.is_empty(), "{} {missed:#?}", missed.len());
}

/// A fast logger: 4,000 readings of a current-stepped sweep lie closer than their noise. The smooth is within 5 of its
/// standard uncertainties of the curve from 5 to 95 % of Isc, and these are far below the noise of a reading.
#[test]
fn thousands_of_noisy_readings_by_current_have_a_smooth() {
    let (mut rng, count) = (Rng(5), 4000);
    let device = Device::new(0, 7);
    let i: Vec<f64> =
        (0..count).map(|k| 1.03 * device.current(0.0) * k as f64 / (count - 1) as f64).collect();
    let v: Vec<f64> = i.iter().map(|i| device.voltage(*i) + 3e-3 * rng.normal()).collect();
    for noise in [None, Some(Noise::default().voltage_v(3e-3))] {
        let options = as_given(25.0, 1).noise(noise).swept(Swept::Current);
        let smooth = smooth_sweep(&Sweep::new(&v, &i, options).unwrap(), Penalty::CrossValidation).unwrap();
        let at: Vec<f64> = (5..=95).map(|k| f64::from(k) / 100.0).collect();
        let x: Vec<f64> = at.iter().map(|i| device.voltage(*i)).collect();
        let (found, slope) = (smooth.current(&x).unwrap(), smooth.slope(&x).unwrap());
        for ((e, i), d) in found.iter().zip(&at).zip(&slope) {
            let u = e.u.unwrap();
            assert!((e.value - i).abs() < 5.0 * u, "{e:?} {i}");
            assert!(u < 0.3 * 3e-3 * d.value.abs(), "{u} {d:?}");
        }
        let scatter = smooth.scatter().unwrap() / if noise.is_some() { 1.0 } else { 3e-3 };
        assert!((scatter - 1.0).abs() < 0.05, "{scatter}");
        assert!(smooth.points().of_current() && smooth.points().len() == count);
    }
}

/// A row of a smooth by current is the derivative of its current and slope by the voltages read: against differences, where
/// the steps are fine.
#[test]
fn rows_by_current_are_derivatives() {
    let mut rng = Rng(9);
    let device = Device::new(0, 3);
    let i: Vec<f64> = (0..40).map(|k| 0.95 * device.current(0.0) * k as f64 / 39.0).collect();
    let v: Vec<f64> = i.iter().map(|i| device.voltage(*i) + 1e-3 * rng.normal()).collect();
    let smooth = |v: &[f64]| {
        let options = as_given(25.0, 1).swept(Swept::Current);
        smooth_sweep(&Sweep::new(v, &i, options).unwrap(), Penalty::Lambda(1e-5)).unwrap()
    };
    let whole = smooth(&v);
    let (low, high) = whole.curve().range_v();
    for x in [0.3, 0.6, 0.8].map(|share| low + share * (high - low)) {
        let row = whole.row(x).unwrap();
        for k in [3, 17, 30] {
            let moved = |by: f64| {
                let mut v = v.clone();
                v[k] += by;
                let curve = smooth(&v);
                [
                    curve.curve().current(&[x], false).unwrap().values[0],
                    curve.curve().slope(&[x], false).unwrap().values[0],
                ]
            };
            let (up, down) = (moved(1e-5), moved(-1e-5));
            let [di, dd] = [0, 1].map(|j| (up[j] - down[j]) / 2e-5);
            let size = |row: &[f64]| row.iter().fold(0.0f64, |m, l| m.max(l.abs()));
            assert!(
                (row.current[k] - di).abs() < 0.02 * size(&row.current),
                "{x} {k}: {} {di}",
                row.current[k]
            );
            assert!((row.slope[k] - dd).abs() < 0.1 * size(&row.slope), "{x} {k}: {} {dd}", row.slope[k]);
        }
    }
}

/// How many of the right shape are turned away at 95 %, how many S-shapes are seen.
#[test]
fn the_shape_is_told_from_others() {
    let v = mesh(25);
    let verdicts = |sweeps: u64, truth: fn(f64) -> f64, sigma_a: f64, state: bool| {
        let one = |k: u64| {
            let i = noisy(&mut Rng(k), &v, truth, sigma_a);
            let points = if state { Points::with_noise(&v, &i, &[sigma_a; 25]) } else { Points::new(&v, &i) };
            shape_constrained(&points.unwrap()).unwrap().fits_the_shape(0.95).unwrap().fits
        };
        (0..sweeps).filter(|k| one(*k)).count()
    };
    for state in [true, false] {
        for sigma_a in [1e-4, 5e-4] {
            let (kept, fooled) = (verdicts(100, lit, sigma_a, state), verdicts(30, ess, sigma_a, state));
            println!(
                "σ = {sigma_a:.0e} A, noise stated: {state}: {kept} of 100 kept, {fooled} of 30 S-shapes pass"
            );
            // 95 % of 100 is 95; three standard deviations are 7.
            assert!(kept >= 88 && fooled <= 1, "{kept} {fooled}");
        }
    }
}

#[test]
fn exact_readings_of_the_shape_pass() {
    let v = mesh(25);
    let i: Vec<f64> = v.iter().map(|v| 0.03 - 0.01 * v - 0.02 * v * v * v.max(0.0)).collect();
    let verdict = shape_constrained(&Points::new(&v, &i).unwrap()).unwrap().fits_the_shape(0.95).unwrap();
    println!("{verdict:?}");
    assert!(verdict.fits);
}

/// The noise of a sweep, proportional part and voltage included, is what the smooth is weighed with: where it is right,
/// χ² of the smooth is near N − edf on average (within 4 standard errors, and 0.5 for what the choice of the least score
/// takes off χ²). A noise off by 10 % would shift it by 1.6.
#[test]
fn the_noise_of_a_sweep_weighs_its_smooth() {
    let noise = Noise::default().current_a(5e-5).current_rel(0.01).voltage_v(1e-3);
    let (mut chi2, mut dof) = (0.0, 0.0);
    let v = mesh(COUNT);
    for k in 0..400 {
        let mut rng = Rng(k);
        let read: Vec<f64> = v.iter().map(|v| v + 1e-3 * rng.normal()).collect();
        let scatter = |i: f64| 5e-5f64.hypot(0.01 * i);
        let i: Vec<f64> = v.iter().map(|v| lit(*v) + scatter(lit(*v)) * rng.normal()).collect();
        let options = crate::support::as_given(25.0, 1).noise(noise);
        let smooth =
            smooth_sweep(&Sweep::new(&read, &i, options).unwrap(), Penalty::CrossValidation).unwrap();
        chi2 += smooth.chi2() / 400.0;
        dof += smooth.residual_dof() / 400.0;
    }
    println!("χ² {chi2:.2}, N − edf {dof:.2}");
    assert!((chi2 - dof).abs() < 4.0 * (2.0 * dof / 400.0).sqrt() + 0.5, "{chi2} {dof}");
}

/// Volts or millivolts, µA or kA: the same curve, degrees of freedom and verdict.
#[test]
fn units_change_nothing() {
    let v = mesh(25);
    let i = noisy(&mut Rng(4), &v, lit, 2e-4);
    let plain = Points::new(&v, &i).unwrap();
    let smooth = smoothing(&plain, Penalty::CrossValidation).unwrap();
    let verdict = shape_constrained(&plain).unwrap().fits_the_shape(0.95).unwrap();
    let want = smooth.current(&[0.4]).unwrap().remove(0);
    for (volts, amperes) in [(1e3, 1e-6), (1e-3, 3e4), (7.0, 1e9)] {
        let scaled = |x: &[f64], by: f64| x.iter().map(|x| x * by).collect::<Vec<_>>();
        let points = Points::new(&scaled(&v, volts), &scaled(&i, amperes)).unwrap();
        let other = smoothing(&points, Penalty::CrossValidation).unwrap();
        let got = other.current(&[0.4 * volts]).unwrap().remove(0);
        assert!((other.edf() - smooth.edf()).abs() < 1e-4, "{} {}", other.edf(), smooth.edf());
        assert!((got.value / amperes - want.value).abs() < 1e-7);
        assert!((got.u.unwrap() / amperes - want.u.unwrap()).abs() < 1e-7);
        let again = shape_constrained(&points).unwrap().fits_the_shape(0.95).unwrap();
        assert!((again.p - verdict.p).abs() < 0.02 && again.fits == verdict.fits, "{again:?} {verdict:?}");
    }
}

/// The shape of a sweep is that of its points weighed by the noise; without any the penalty by it is refused.
#[test]
fn the_shape_of_a_sweep_is_weighed_and_a_missing_noise_is_said() {
    let v = mesh(30);
    let i = noisy(&mut Rng(11), &v, lit, 1e-3);
    let with = |noise: Option<Noise>| Sweep::new(&v, &i, as_given(25.0, 1).noise(noise)).unwrap();
    let noise = Noise::default().current_a(1e-3).current_rel(0.01);
    let weighed = shape_sweep(&with(Some(noise))).unwrap();
    assert!(weighed.points().noise_stated());
    assert_ne!(weighed.curve(), shape_sweep(&with(None)).unwrap().curve());
    let again =
        shape_constrained(smooth_sweep(&with(Some(noise)), Penalty::CrossValidation).unwrap().points());
    assert_eq!(weighed.curve(), again.unwrap().curve());
    let why = smooth_sweep(&with(None), Penalty::StatedNoise).unwrap_err();
    assert_eq!(why, InterpolantError::NoNoise);
}

/// Where the set current scatters more than the voltage, as a share of the ranges, the smooth is one of I(V): weights of V(I) would
/// leave the branch about Isc to nothing. Isc of it lies near the truth.
#[test]
fn a_current_that_scatters_more_than_the_voltage_leaves_isc_alone() {
    let device = crate::support::device::Device::single(2.2e-4, 2e-9, 0.0488, 60.0, 2.5e-5);
    let isc = device.current_at(0.0);
    for seed in 1..=20 {
        let mut random = Rng(seed);
        let (voltage, current): (Vec<f64>, Vec<f64>) = (0..25)
            .map(|k| {
                let i = 9.3e-6 * f64::from(k);
                let v = 5e-4 * ((device.voltage_at(i) + 4e-4 * random.normal()) / 5e-4).round();
                (v, 4e-6 * (i / 4e-6).round())
            })
            .unzip();
        let noise = Noise::default().voltage_v(4e-4).voltage_step_v(5e-4).current_step_a(4e-6);
        let options = SweepOptions::default().swept(Swept::Current).noise(noise);
        let sweep = Sweep::new(&voltage, &current, options).unwrap();
        let smooth = smooth_sweep(&sweep, Penalty::CrossValidation).unwrap();
        let found = &smooth.current(&[0.0]).unwrap()[0];
        assert!((found.value / isc - 1.0).abs() < 0.03, "{seed}: {} {isc}", found.value);
    }
}
