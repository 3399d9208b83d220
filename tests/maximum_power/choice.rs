//! Which maximum power is quoted, and what is said of the others: by the words of the module, on simulated sweeps.

use crate::support::shapes::{Rig, shapes};
use litdiode::maximum_power::{MaximumPowers, PowerEstimate, maximum_powers};
use litdiode::sweep::{Sweep, SweepOptions};

fn of<'a>(all: &'a MaximumPowers, method: &str) -> Option<&'a PowerEstimate> {
    all.estimates.iter().find(|e| e.method == method)
}

/// The guided curve is quoted, with its own figure. Another method is said to be more precise, by the ratio of the two u, where its
/// u is the smaller, its figure is within one and a half u of the quoted one, and, of the diode model, where the fit has no
/// remark. Each way to be left out is met.
#[test]
fn others_are_named_where_they_agree_and_are_more_precise() {
    let (mut named, mut apart, mut remarked, mut wider) = ([0; 2], 0, 0, 0);
    for shape in shapes() {
        for seed in 0..60 {
            let noise = [1e-3, 1e-2, 3e-2][seed as usize % 3];
            let rig =
                Rig { points: 15 + 10 * (seed as usize % 2), noise, stated: seed % 4 < 2, shifted: true };
            let all = maximum_powers(&shape.sweep(&rig, 3_000 + seed));
            let Some(guided) = of(&all, "guided curve").filter(|e| e.pmax.u.is_some()) else { continue };
            assert_eq!(all.quote.as_ref(), Some(guided));
            let why = all.why.to_string();
            assert!(why.starts_with("no model is needed"), "{why}");
            let own = guided.pmax.u.unwrap();
            let others =
                [("concave curve", "if the curve is concave"), ("diode model", "if the device is a diode")];
            for (k, (method, condition)) in others.into_iter().enumerate() {
                let told = why.contains(method);
                let Some((found, u)) = of(&all, method).and_then(|e| Some((e, e.pmax.u?))) else {
                    assert!(!told, "{why}");
                    continue;
                };
                let off = (found.pmax.value - guided.pmax.value).abs() / own;
                let doubted = method == "diode model" && found.remark.is_some();
                assert_eq!(told, off < 1.5 && 1.05 * u < own && !doubted, "{method} {off} {u} {own} {why}");
                if told {
                    let words =
                        format!("; the {method} agrees and is {:.1} times as precise, {condition}", own / u);
                    assert!(why.contains(&words), "{words}: {why}");
                    named[k] += 1;
                }
                apart += usize::from(off >= 1.5 && u < own && !doubted);
                wider += usize::from(u >= own);
                remarked += usize::from(doubted && off < 1.5 && u < own);
            }
        }
    }
    println!("named {named:?}, apart {apart}, remarked {remarked}, wider {wider}");
    assert!(named[0] >= 5 && named[1] >= 60 && apart >= 1 && remarked >= 1, "{named:?} {apart} {remarked}");
}

/// Three readings leave the guided curve no figure: nothing is quoted, whatever the other methods say.
#[test]
fn without_the_guided_curve_nothing_is_quoted() {
    let (v, i) = ([0.0, 0.3, 0.6], [0.03, 0.028, -0.01]);
    let all = maximum_powers(&Sweep::new(&v, &i, SweepOptions::default()).unwrap());
    assert!(of(&all, "guided curve").is_none_or(|e| e.pmax.u.is_none()));
    assert_eq!(all.quote, None);
    assert_eq!(all.why.to_string(), "none: the guided curve gives no maximum with an uncertainty");
    // Every method is in one list or the other, by hand: the highest sample is 0.3 V · 28 mA.
    assert_eq!(all.estimates.len() + all.absent.len(), 5);
    let highest = of(&all, "highest sample").unwrap();
    assert!((highest.pmax.value - 8.4e-3).abs() < 1e-15 && highest.v_pmax == 0.3, "{highest:?}");
}

/// In the dark no sample delivers power, and no method gives a figure.
#[test]
fn a_dark_sweep_has_no_maximum() {
    let v: Vec<f64> = (0..20).map(|k| -0.2 + 0.04 * f64::from(k)).collect();
    let i: Vec<f64> = v.iter().map(|v| -1e-6 * (v / 0.05).exp_m1()).collect();
    let all = maximum_powers(&Sweep::new(&v, &i, SweepOptions::default()).unwrap());
    let why = all.absent.iter().find(|a| a.0 == "highest sample").unwrap();
    assert_eq!(
        why.1.to_string(),
        "Pmax: no reading with V > 0 and I > 0, the device delivers no power in this sweep"
    );
    assert!(all.quote.is_none() && of(&all, "guided curve").is_none(), "{all:?}");
}
