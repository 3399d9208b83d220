//! Key points with their joint uncertainty: against first-order propagation by differences, and by hand.

use litdiode::estimate::{Estimate, Unit};
use litdiode::key_points::{Found, KeyPoint, KeyPoints, NAMES, Surroundings};

/// Isc, Voc, Pmax, V_Pmax, I_Pmax; FF = 0.75.
const VALUES: [f64; 5] = [0.1, 0.6, 0.045, 0.5, 0.09];

/// Found has no constructor: one that a sweep gives is filled anew.
fn found(values: [f64; 5], covariance: Result<[[f64; 5]; 5], String>, dof: [f64; 5]) -> Found {
    let mut found =
        litdiode::curve::found(&[], &[], &litdiode::curve::Stated::ReadCurrent, &Default::default());
    found.values = values.map(Ok);
    found.covariance = covariance.map_err(|why| why.as_str().into());
    found.dof = dof;
    found
}

/// A covariance of full rank: standard uncertainties of about 1 % with correlations of both signs, positive definite since its
/// rows are dominated by the diagonal.
fn covariance() -> [[f64; 5]; 5] {
    let correlation = [
        [1.0, 0.1, 0.3, -0.1, 0.2],
        [0.1, 1.0, 0.2, 0.15, -0.05],
        [0.3, 0.2, 1.0, 0.1, 0.25],
        [-0.1, 0.15, 0.1, 1.0, -0.3],
        [0.2, -0.05, 0.25, -0.3, 1.0],
    ];
    let share = [0.01, 0.004, 0.012, 0.02, 0.015];
    std::array::from_fn(|i| {
        std::array::from_fn(|j| correlation[i][j] * share[i] * share[j] * VALUES[i] * VALUES[j])
    })
}

fn points(values: [f64; 5], c: [[f64; 5]; 5]) -> KeyPoints {
    KeyPoints::new(&found(values, Ok(c), [f64::INFINITY; 5]), Surroundings::default())
}

fn close(got: f64, want: f64, relative: f64) {
    assert!((got - want).abs() <= relative * want.abs(), "{got} for {want}");
}

/// The joint covariance of all six: FF by central differences of Pmax/(Isc·Voc).
#[test]
fn the_joint_covariance_is_that_of_first_order() {
    let (c, got) = (covariance(), points(VALUES, covariance()));
    let ratio = |v: &[f64; 5]| v[2] / (v[0] * v[1]);
    let slope: [f64; 5] = std::array::from_fn(|k| {
        let moved = |by: f64| {
            let mut v = VALUES;
            v[k] *= 1.0 + by;
            ratio(&v)
        };
        (moved(1e-6) - moved(-1e-6)) / (2e-6 * VALUES[k])
    });
    let row = |k: usize| -> [f64; 5] {
        if k == 5 { slope } else { std::array::from_fn(|j| f64::from(u8::from(j == k))) }
    };
    assert_eq!(got.names, NAMES);
    for i in 0..6 {
        for j in 0..6 {
            let (a, b) = (row(i), row(j));
            let want: f64 = (0..25).map(|k| a[k / 5] * c[k / 5][k % 5] * b[k % 5]).sum();
            close(got.covariance[6 * i + j], want, 1e-8);
        }
        let figure = got.get(NAMES[i]).unwrap();
        close(figure.u.unwrap().powi(2), got.covariance[7 * i], 1e-12);
    }
    close(got.ff.unwrap().value, 0.75, 1e-15);
}

/// 1/√ν = Σ wₖ/√νₖ with wₖ the share of each figure in the variance of FF, without their correlations. By hand: relative
/// uncertainties of 1, 2 and 2 % are shares of 1/9, 4/9 and 4/9; with 4, 16 and 64 degrees of freedom the sum is
/// 1/18 + 1/9 + 1/18 = 2/9, ν = 20.25.
#[test]
fn the_fill_factor_has_the_degrees_of_freedom_of_its_parts() {
    let share = [0.01, 0.02, 0.02, 0.01, 0.01];
    let c = std::array::from_fn(|i| {
        std::array::from_fn(|j| if i == j { (share[i] * VALUES[i]).powi(2) } else { 0.0 })
    });
    let dof = [4.0, 16.0, 64.0, 9.0, 25.0];
    let got = KeyPoints::new(&found(VALUES, Ok(c), dof), Surroundings::default());
    close(got.ff.as_ref().unwrap().dof, 20.25, 1e-12);
    close(got.ff.as_ref().unwrap().relative_u().unwrap(), 0.03, 1e-12);
    for (k, name) in NAMES[..5].iter().enumerate() {
        assert_eq!(got.get(name).unwrap().dof, dof[k]);
    }
    // A figure without variance has no share; without any, nothing is uncertain.
    let exact = KeyPoints::new(&found(VALUES, Ok([[0.0; 5]; 5]), dof), Surroundings::default());
    assert_eq!((exact.ff.as_ref().unwrap().dof, exact.ff.unwrap().u), (f64::INFINITY, Some(0.0)));
}

#[test]
fn what_has_no_uncertainty_says_why() {
    let why = "no noise was stated".to_owned();
    let got = KeyPoints::new(&found(VALUES, Err(why.clone()), [5.0; 5]), Surroundings::default());
    for name in NAMES {
        let figure = got.get(name).unwrap();
        assert_eq!((figure.u, figure.note().as_ref()), (None, Some(&why)), "{name}");
    }
    assert!(got.names.is_empty() && got.covariance.is_empty());
    // Without degrees of freedom, or with a variance that is none, a figure has no ± and the others keep theirs.
    let mut c = covariance();
    c[3][3] = f64::NAN;
    let mut dof = [f64::INFINITY; 5];
    dof[4] = 0.0;
    let got = KeyPoints::new(&found(VALUES, Ok(c), dof), Surroundings::default());
    for name in ["v_pmax", "i_pmax"] {
        let figure = got.get(name).unwrap();
        let note = figure.note().unwrap();
        assert!(figure.u.is_none() && note.contains("no degrees of freedom for a ±"), "{name}: {note}");
    }
    assert_eq!(got.names, ["isc", "voc", "pmax", "ff"]);
    assert_eq!(got.covariance.len(), 16);
    close(got.covariance[5], c[1][1], 1e-15);
    // Rounding may leave a variance below 0.
    c = covariance();
    c[0][0] = -1e-30;
    assert_eq!(points(VALUES, c).isc.unwrap().u, Some(0.0));
}

/// A figure that was not found does not spoil the others, and FF names all that it misses.
#[test]
fn what_is_not_found_is_absent_with_its_reason() {
    for (missing, words) in
        [(vec![0], "needs Isc, "), (vec![1], "needs Voc, "), (vec![0, 2], "needs Isc and Pmax, ")]
    {
        let mut c = covariance();
        let mut given = found(VALUES, Ok(c), [f64::INFINITY; 5]);
        for &k in &missing {
            given.values[k] = Err(format!("{} was not reached", NAMES[k]).as_str().into());
            c[k] = [f64::NAN; 5];
            c.iter_mut().for_each(|row| row[k] = f64::NAN);
        }
        given.covariance = Ok(c);
        let got = KeyPoints::new(&given, Surroundings::default());
        for &k in &missing {
            assert!(got.get(NAMES[k]).is_none());
            assert_eq!(
                got.why_absent(NAMES[k]).map(ToString::to_string),
                Some(format!("{} was not reached", NAMES[k]))
            );
        }
        assert!(
            got.ff.is_none() && got.why_absent("ff").unwrap().to_string().contains(words),
            "{:?}",
            got.absent
        );
        assert_eq!(got.names.len(), 5 - missing.len());
        assert!(got.covariance.iter().all(|x| x.is_finite()));
        assert_eq!(got.why_absent("voc").is_some(), missing.contains(&1));
    }
}

/// FF has a meaning where Isc, Voc and Pmax are above five of their uncertainties, and is 1 at most.
#[test]
fn a_fill_factor_needs_figures_above_zero() {
    let with_u = |k: usize, times: f64| {
        let mut c = [[0.0; 5]; 5];
        c[k][k] = (VALUES[k] / times).powi(2);
        points(VALUES, c)
    };
    for (k, symbol) in ["Isc", "Voc", "Pmax"].into_iter().enumerate() {
        assert!(with_u(k, 5.01).ff.is_some());
        let dark = with_u(k, 4.99);
        let why = dark.why_absent("ff").unwrap();
        assert!(
            dark.ff.is_none() && why.to_string().starts_with(&format!("{symbol} is not clearly above zero")),
            "{why}"
        );
        let mut values = VALUES;
        for none in [0.0, -0.1] {
            values[k] = none;
            let got = points(values, [[0.0; 5]; 5]);
            assert!(got.why_absent("ff").unwrap().to_string().contains("dark curve"), "{symbol}");
        }
    }
    let full = points([0.1, 0.6, 0.06 * (1.0 + 1e-9), 0.5, 0.09], [[0.0; 5]; 5]);
    assert!(
        full.why_absent("ff").unwrap().to_string().contains("= 1.000 is not between 0 and 1"),
        "{:?}",
        full.absent
    );
    assert!(points([0.1, 0.6, 0.06 * (1.0 - 1e-9), 0.5, 0.09], [[0.0; 5]; 5]).ff.is_some());
}

/// Isc/A and Pmax/(A·G), by hand: 0.1 A on 4 cm² is 25 mA/cm²; relative variances add, and the degrees of freedom by the
/// formula of Welch and Satterthwaite: 1 % with 4 and 2 % with 16 leave 25/(1/4 + 16/16) = 20.
#[test]
fn density_and_efficiency_by_hand() {
    let mut c = [[0.0; 5]; 5];
    (c[0][0], c[2][2]) = ((0.01 * VALUES[0]).powi(2), (0.01 * VALUES[2]).powi(2));
    let given = found(VALUES, Ok(c), [4.0; 5]);
    let area = Estimate::new(4.0, 0.08, Unit::Cm2).with_dof(16.0);
    let light = Estimate::new(800.0, 16.0, Unit::WattPerM2);
    let both = Surroundings::default().area_cm2(&area).irradiance_w_m2(&light);
    let got = KeyPoints::new(&given, both);
    let (jsc, eta) = (got.jsc.unwrap(), got.efficiency.unwrap());
    close(jsc.value, 0.025, 1e-14);
    close(jsc.relative_u().unwrap(), 0.01 * 5f64.sqrt(), 1e-12);
    close(jsc.dof, 20.0, 1e-12);
    assert_eq!((jsc.unit, jsc.note()), (Unit::AmperePerCm2, None));
    close(eta.value, 0.140_625, 1e-14);
    close(eta.relative_u().unwrap(), 0.03, 1e-12);
    // 81/(1/4 + 16/16 + 16/∞) = 64.8.
    close(eta.dof, 64.8, 1e-12);
    assert_eq!((eta.unit, eta.note()), (Unit::One, None));
}

/// Area or light without an uncertainty leave the electrical part; without u of the figure its own reason remains.
#[test]
fn density_and_efficiency_of_what_is_not_known() {
    let given = found(VALUES, Ok(covariance()), [f64::INFINITY; 5]);
    let exact = |x: f64, unit| Estimate::without_u(x, unit, "given");
    let (area, light) = (exact(4.0, Unit::Cm2), exact(800.0, Unit::WattPerM2));
    let got = KeyPoints::new(&given, Surroundings::default().area_cm2(&area).irradiance_w_m2(&light));
    let (jsc, eta) = (got.jsc.unwrap(), got.efficiency.unwrap());
    close(jsc.relative_u().unwrap(), 0.01, 1e-12);
    assert_eq!(jsc.note().as_deref(), Some("electrical part only: no uncertainty of area was given"));
    let words = "electrical part only: no uncertainty of area or irradiance was given";
    assert_eq!(eta.note().as_deref(), Some(words));
    let none = found(VALUES, Err("one reading only".into()), [f64::INFINITY; 5]);
    let got = KeyPoints::new(&none, Surroundings::default().area_cm2(&area));
    let jsc = got.jsc.as_ref().unwrap();
    assert_eq!((jsc.value, jsc.u, jsc.note().as_deref()), (0.025, None, Some("one reading only")));
    let why = |around: Surroundings, name: &str| {
        KeyPoints::new(&given, around)
            .why_absent(name)
            .map(|w| w.to_string().split(" needs ").last().unwrap().to_owned())
    };
    let nothing = Surroundings::default();
    assert_eq!(why(nothing, "jsc").unwrap(), "the area: pass area_cm2");
    assert_eq!(why(nothing, "efficiency").unwrap(), "both: pass area_cm2 and irradiance_w_m2");
    assert_eq!(why(nothing.area_cm2(&area), "efficiency").unwrap(), "the irradiance: pass irradiance_w_m2");
    assert_eq!(why(nothing.irradiance_w_m2(&light), "efficiency").unwrap(), "the area: pass area_cm2");
    let mut short = found(VALUES, Ok(covariance()), [f64::INFINITY; 5]);
    (short.values[0], short.values[2]) = (Err("no".into()), Err("no".into()));
    let got = KeyPoints::new(&short, nothing.area_cm2(&area).irradiance_w_m2(&light));
    assert!(got.why_absent("jsc").unwrap().to_string().contains("needs Isc"));
    assert!(got.why_absent("efficiency").unwrap().to_string().contains("needs Pmax"));
}

/// Each figure by its name, and no other name.
#[test]
fn figures_are_got_by_their_names() {
    let (area, light) = (Estimate::new(4.0, 0.1, Unit::Cm2), Estimate::new(800.0, 9.0, Unit::WattPerM2));
    let around = Surroundings::default().area_cm2(&area).irradiance_w_m2(&light);
    let got = KeyPoints::new(&found(VALUES, Ok(covariance()), [f64::INFINITY; 5]), around);
    let wanted = [0.1, 0.6, 0.045, 0.5, 0.09, 0.75, 0.025, 0.140_625];
    for (point, want) in KeyPoint::ALL.into_iter().zip(wanted) {
        close(got.get(point.name()).unwrap().value, want, 1e-14);
        assert_eq!(got.why_absent(point.name()), None);
    }
    let units = ["A", "V", "W", "V", "A", "", "A/cm²", ""];
    for (point, unit) in KeyPoint::ALL.into_iter().zip(units) {
        assert_eq!(got.get(point.name()).unwrap().unit.symbol(), unit);
    }
    assert!(got.get("rs").is_none() && got.absent.is_empty());
}
