//! The forward models against exact values over their whole domain.
//!
//! `tests/data/diode_truth.csv` is made by `tests/data/make_diode_truth.py` (mpmath, 60 digits), which solves the
//! implicit equation in I or V itself. The measure is the componentwise backward error: the difference over
//! ε·(|y| + |x·∂y/∂x| + Σ|p·∂y/∂p|), plus the smallest normal number.

use litdiode::diode::{CurrentGradient, Device, Junction, Parameters};
use std::collections::HashMap;

/// One row: its columns by name.
struct Row<'a>(HashMap<&'a str, &'a str>);

impl Row<'_> {
    fn number(&self, name: &str) -> f64 {
        self.0[name].parse().unwrap_or_else(|_| panic!("{name} = {:?}", self.0[name]))
    }

    fn device<const K: usize>(&self) -> Device<K> {
        let list = |names: [&str; 2]| std::array::from_fn(|k| self.number(names[k]));
        Device::new(Parameters {
            iph_a: self.number("iph_a"),
            i0_a: list(["i01_a", "i02_a"]),
            n: list(["n1", "n2"]),
            rs_ohm: self.number("rs_ohm"),
            rsh_ohm: self.number("rsh_ohm"),
            cells: self.number("cells") as u32,
            temperature_c: self.number("temperature_c"),
        })
        .unwrap()
    }

    /// Error of `got` for the column `name`, in units of ε times the scale.
    fn error(&self, got: f64, name: &str, low: &str, scale: &str) -> f64 {
        let want = self.number(name);
        if !want.is_finite() || !got.is_finite() {
            return if got == want { 0.0 } else { f64::INFINITY };
        }
        let rest = if low.is_empty() { 0.0 } else { self.number(low) };
        let allowed = f64::EPSILON * self.number(scale);
        let difference = ((got - want) - rest).abs() - f64::MIN_POSITIVE;
        if difference <= 0.0 { 0.0 } else { difference / allowed }
    }
}

/// Errors by kind of quantity.
type Errors = HashMap<String, Vec<(f64, String)>>;

fn check<const K: usize>(row: &Row, line: &str, errors: &mut Errors) {
    let device = row.device::<K>();
    let c = device.circuit();
    let kind = row.0["kind"];
    let got = match kind {
        "current" => c.current_at(row.number("x")),
        "voltage" => c.voltage_at(row.number("x")),
        "isc" => c.isc(),
        "voc" => c.voc(),
        "pmax" => c.maximum_power().pmax,
        "v_pmax" => c.maximum_power().v_pmax,
        "i_pmax" => c.maximum_power().i_pmax,
        other => panic!("unknown kind {other}"),
    };
    let mut note = |what: &str, error: f64| errors.entry(what.into()).or_default().push((error, line.into()));
    note(kind, row.error(got, "value", "value_lo", "scale"));
    if kind == "pmax" {
        let want = row.number("value");
        assert!((got - want).abs() <= 1e-14 * want.abs(), "Pmax off by more than 1e-14 at {line}");
    }
    if kind == "current" && !row.0["didv"].is_empty() {
        let g: CurrentGradient<K> = device.gradient(row.number("x")).unwrap();
        for (name, got) in [("didv", g.voltage), ("didiph", g.iph), ("didrs", g.rs), ("didrsh", g.rsh)] {
            note(name, row.error(got, name, "", &format!("{name}_scale")));
        }
        for k in 0..K {
            let (i0, n) = (format!("didi0{}", k + 1), format!("didn{}", k + 1));
            note("didi0", row.error(g.i0[k], &i0, "", &format!("{i0}_scale")));
            note("didn", row.error(g.n[k], &n, "", &format!("{n}_scale")));
        }
    }
}

#[test]
fn exact_values_over_the_whole_domain() {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/data/diode_truth.csv");
    let text = std::fs::read_to_string(path).unwrap();
    let mut lines = text.lines().filter(|l| !l.starts_with('#'));
    let names: Vec<&str> = lines.next().unwrap().split(',').collect();
    let (mut errors, mut rows) = (Errors::new(), 0);
    for line in lines {
        let row = Row(names.iter().copied().zip(line.split(',')).collect());
        if row.0["diodes"] == "1" {
            check::<1>(&row, line, &mut errors)
        } else {
            check::<2>(&row, line, &mut errors)
        }
        rows += 1;
    }
    assert!(rows >= 2000, "{rows} rows");
    let mut kinds: Vec<_> = errors.into_iter().collect();
    kinds.sort_by(|a, b| a.0.cmp(&b.0));
    let (mut bad, mut compared) = (Vec::new(), Vec::new());
    for (kind, mut list) in kinds {
        list.sort_by(|a, b| a.0.total_cmp(&b.0));
        let at = |q: f64| list[((list.len() - 1) as f64 * q) as usize].0;
        let bar = if kind.starts_with("did") { 64.0 } else { 4.0 };
        compared.push((kind.clone(), list.len()));
        println!(
            "{kind:<8}{:>6} rows  median {:>8.3}  99 % {:>8.3}  worst {:>10.4e} ε",
            list.len(),
            at(0.5),
            at(0.99),
            at(1.0)
        );
        let over: Vec<_> = list.iter().filter(|e| e.0.is_nan() || e.0 > bar).collect();
        if let Some((error, line)) = over.last() {
            bad.push(format!("{kind}: {} over {bar} ε, worst {error:e} at {line}", over.len()));
        }
    }
    assert!(bad.is_empty(), "\n{}", bad.join("\n"));
    // Seven quantities and six derivatives, each in many rows.
    assert_eq!(compared.len(), 13, "{compared:?}");
    assert!(compared.iter().all(|kind| kind.1 >= 100), "{compared:?}");
}
