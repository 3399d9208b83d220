//! Means of repeated readings, and the noise that their spread shows: by hand, and against the likelihood searched by itself.

use crate::support::Rng;
use litdiode::sweep::{SweepError, means_of_repeats};

/// Rows x ± s/√2 of two repetitions, whose sample variances are s² exactly.
fn pairs(x: &[f64], s: &[f64]) -> Vec<Vec<f64>> {
    let row = |sign: f64| x.iter().zip(s).map(|(x, s)| x + sign * s / 2f64.sqrt()).collect();
    vec![row(1.0), row(-1.0)]
}

fn close(got: f64, want: f64, relative: f64) {
    assert!((got / want - 1.0).abs() <= relative, "{got} for {want}");
}

/// Two rows 0.1 A to either side: s² = 0.02 A², of which a mean of two keeps half, 0.1 A. Four rows: s² = 0.04/3 A² and a
/// quarter of it. Voltages that never vary are not stated. One degree of freedom less than rows at each of three points.
#[test]
fn an_even_scatter_by_hand() {
    let v = vec![0.0, 0.1, 0.2];
    for (signs, floor, dof) in
        [(vec![1.0, -1.0], 0.1, 3.0), (vec![1.0, -1.0, 1.0, -1.0], (0.04f64 / 12.0).sqrt(), 9.0)]
    {
        let rows: Vec<Vec<f64>> =
            signs.iter().map(|s| [1.0, 2.0, 3.0].map(|x| x + 0.1 * s).to_vec()).collect();
        let (mean_v, mean_a, noise) = means_of_repeats(&vec![v.clone(); signs.len()], &rows).unwrap();
        assert_eq!(mean_v, v);
        mean_a.iter().zip([1.0, 2.0, 3.0]).for_each(|(got, want)| close(*got, want, 1e-15));
        close(noise.current_a, floor, 1e-12);
        assert_eq!((noise.current_rel, noise.voltage_v, noise.voltage_rel), (0.0, 0.0, 0.0));
        assert!(!noise.states_voltage() && noise.dof() == dof, "{noise:?}");
    }
}

/// Spreads that follow σ² = floor² + (rel·x)² to the digit are answered with just these, whichever axis shows them; the two
/// parts share the degrees of freedom. Over three decades of x the proportional part is not in doubt.
#[test]
fn a_spread_of_the_model_gives_its_parameters_back() {
    let x: Vec<f64> = (0..24).map(|k| 10f64.powf(-3.0 + f64::from(k) / 8.0)).collect();
    let still = vec![x.clone(), x.clone()];
    for (floor, rel) in [(1e-3, 0.02), (1e-2, 0.3), (2e-4, 1e-3)] {
        let s: Vec<f64> = x.iter().map(|x| f64::hypot(floor, rel * x)).collect();
        let rows = pairs(&x, &s);
        let (_, mean, noise) = means_of_repeats(&still, &rows).unwrap();
        mean.iter().zip(&x).for_each(|(got, want)| close(*got, *want, 1e-12));
        close(noise.current_a, floor / 2f64.sqrt(), 1e-6);
        close(noise.current_rel, rel / 2f64.sqrt(), 1e-6);
        assert_eq!((noise.voltage_v, noise.voltage_rel, noise.dof()), (0.0, 0.0, 12.0));
        let (_, _, noise) = means_of_repeats(&rows, &still).unwrap();
        close(noise.voltage_v, floor / 2f64.sqrt(), 1e-6);
        close(noise.voltage_rel, rel / 2f64.sqrt(), 1e-6);
        assert_eq!((noise.current_a, noise.current_rel, noise.dof()), (0.0, 0.0, 12.0));
    }
}

/// −ln L of sample variances s² on `nu` degrees of freedom, but for what does not depend on the two parameters.
fn cost(x: &[f64], s: &[f64], nu: f64, floor2: f64, rel2: f64) -> f64 {
    let one = |(x, s): (&f64, &f64)| {
        let sigma2 = floor2 + rel2 * x * x;
        0.5 * nu * (sigma2.ln() + s * s / sigma2)
    };
    x.iter().zip(s).map(one).sum()
}

/// The least cost over floor² ≥ a millionth of the average variance and rel² ≥ 0, by halving meshes from many places.
fn searched(x: &[f64], s: &[f64], nu: f64, average: f64) -> (f64, f64, f64) {
    let at = |f: f64, r: f64| cost(x, s, nu, f, r);
    let largest = x.iter().fold(0.0f64, |m, x| m.max(x * x));
    let mut best = (f64::INFINITY, 0.0, 0.0);
    for start in 0..36 {
        let (mut f, mut r) =
            (average * 10f64.powi(start % 6 - 5), average / largest * 10f64.powi(start / 6 - 3));
        let (mut step, mut here) = (2.0f64, at(f, r));
        while step > 1e-9 {
            let moves = [(step, 0.0), (-step, 0.0), (0.0, step), (0.0, -step), (step, -step), (-step, step)];
            let tried = moves.map(|(df, dr): (f64, f64)| {
                let (f, r) = ((f * df.exp()).max(1e-6 * average), r * dr.exp());
                (at(f, r), f, r)
            });
            let least = tried.into_iter().min_by(|a, b| a.0.total_cmp(&b.0)).unwrap();
            if least.0 < here {
                (here, f, r) = least;
            } else {
                step *= 0.5;
            }
        }
        best = if here < best.0 { (here, f, r) } else { best };
    }
    best
}

/// Random spreads: where a proportional part lowers −ln L by more than 1 (Akaike), the two numbers are those of the least −ln L
/// that a search of its own finds; else the floor is the root of the mean variance. The reweighting stays at a floor alone where
/// the first fit of s² on x̄² falls, in 2 of these 32, though a proportional part elsewhere is likelier.
#[test]
fn the_noise_is_that_of_the_largest_likelihood() {
    let (mut rng, mut counts, mut missed) = (Rng(12), [0; 2], 0);
    for case in 0..60 {
        let (floor, rel) = (1e-3, [0.0, 2e-3, 2e-2, 0.2][case % 4]);
        let x: Vec<f64> = (0..14).map(|_| rng.decades(1e-2, 1.0)).collect();
        let s: Vec<f64> =
            x.iter().map(|x| f64::hypot(floor, rel * x) * rng.normal().abs().max(1e-2)).collect();
        let (_, mean, noise) = means_of_repeats(&[x.clone(), x.clone()], &pairs(&x, &s)).unwrap();
        let (found, rel) = (2.0 * noise.current_a.powi(2), 2.0 * noise.current_rel.powi(2));
        let average = s.iter().map(|s| s * s).sum::<f64>() / 14.0;
        let plain = cost(&mean, &s, 1.0, average, 0.0);
        let (least, floor2, rel2) = searched(&mean, &s, 1.0, average);
        if plain - least > 1.01 {
            counts[1] += 1;
            let own = cost(&mean, &s, 1.0, found, rel);
            if own > least + 1e-6 {
                println!("{case}: {own} {least}, {found:e} {floor2:e}, {rel:e} {rel2:e}");
                missed += 1;
            }
        } else if plain - least < 0.99 {
            counts[0] += 1;
            close(found, average, 1e-9);
            assert_eq!(rel, 0.0, "{case}");
        }
    }
    println!("{counts:?} without and with a proportional part, {missed} missed");
    assert!(counts[0] >= 10 && counts[1] >= 10 && missed <= 2, "{counts:?} {missed}");
}

#[test]
fn repeats_that_do_not_match_are_named() {
    let rows = |lengths: &[usize]| lengths.iter().map(|n| vec![0.1; *n]).collect::<Vec<_>>();
    let error = |v: &[Vec<f64>], a: &[Vec<f64>]| means_of_repeats(v, a).unwrap_err();
    let few = error(&rows(&[3]), &rows(&[3]));
    assert_eq!(few, SweepError::Repeats { voltage: 1, current: 1 });
    assert!(few.to_string().contains("at least 2, one a repetition"), "{few}");
    let uneven = error(&rows(&[3, 3]), &rows(&[3, 3, 3]));
    assert_eq!(uneven, SweepError::Repeats { voltage: 2, current: 3 });
    let short = error(&rows(&[3, 3]), &rows(&[3, 2]));
    assert_eq!(short, SweepError::RepeatLength { name: "current_a", row: 1, given: 2, wanted: 3 });
    let short = error(&rows(&[3, 4]), &rows(&[3, 3]));
    assert_eq!(short, SweepError::RepeatLength { name: "voltage_v", row: 1, given: 4, wanted: 3 });
    let nan = error(&rows(&[2, 2]), &[vec![0.1, 0.2], vec![0.1, f64::INFINITY]]);
    assert_eq!(nan, SweepError::NotFinite { name: "current_a", index: 1, value: f64::INFINITY });
}
