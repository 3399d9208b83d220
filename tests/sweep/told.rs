//! What the readings show at once: each remark where it belongs, and just beside it none. Thresholds by the words of the
//! remarks and of the constants' comments, curves by hand.

use crate::support::as_given;
use litdiode::sweep::{Finding, Kind, Leads, Sign, Sweep, SweepOptions, Swept};

/// A falling line of `points` readings over `v`, in A the voltage's size below 1.
fn line(low: f64, high: f64, points: usize) -> (Vec<f64>, Vec<f64>) {
    let v: Vec<f64> = (0..points).map(|k| low + (high - low) * k as f64 / (points - 1) as f64).collect();
    let i = v.iter().map(|v| 0.5 - v * v.abs() - 0.01 * v).collect();
    (v, i)
}

fn found(v: &[f64], i: &[f64], options: SweepOptions) -> Vec<Finding> {
    Sweep::new(v, i, options).unwrap().findings().to_vec()
}

fn given(swept: Swept) -> SweepOptions {
    as_given(25.0, 1).swept(swept)
}

fn told(v: &[f64], i: &[f64], swept: Swept, kind: Kind) -> Option<Finding> {
    let all: Vec<Finding> = found(v, i, given(swept)).into_iter().filter(|f| f.kind == kind).collect();
    assert!(all.len() < 2, "{all:?}");
    all.into_iter().next()
}

#[test]
fn a_whole_curve_of_ten_readings_has_no_remark() {
    let (v, i) = line(-0.1, 0.9, 10);
    assert_eq!(found(&v, &i, SweepOptions::default()), []);
    assert_eq!(found(&v, &i, given(Swept::Current)), []);
    let few = told(&v[..9], &i[..9], Swept::Voltage, Kind::FewPoints).unwrap();
    assert!(few.text.starts_with("9 points are few"), "{few:?}");
}

/// A range that ends on the axis reaches it.
#[test]
fn a_range_that_misses_an_axis_is_told_with_its_cure() {
    for (low, high) in [(0.0, 0.9), (-0.9, 0.0)] {
        let (v, i) = line(low, high, 12);
        assert_eq!(told(&v, &i, Swept::Voltage, Kind::ShortOfIsc), None, "{low} {high}");
    }
    for (low, high, range) in [(0.1, 0.9, "0.1000 to 0.9000 V"), (-0.9, -0.2, "−0.9000 to −0.2000 V")] {
        let (v, i) = line(low, high, 12);
        let by_voltage = told(&v, &i, Swept::Voltage, Kind::ShortOfIsc).unwrap().text;
        assert!(by_voltage.contains(range) && by_voltage.contains("start it below 0 V"), "{by_voltage}");
        let by_current = told(&v, &i, Swept::Current, Kind::ShortOfIsc).unwrap().text;
        assert!(by_current.contains("step the current further, beyond Isc"), "{by_current}");
    }
    let touch = |last: f64| -> (Vec<f64>, Vec<f64>) {
        let (v, mut i) = line(-0.1, 0.4, 12);
        i[11] = last;
        (v, i)
    };
    for swept in [Swept::Voltage, Swept::Current] {
        let (v, i) = touch(0.0);
        assert_eq!(told(&v, &i, swept, Kind::ShortOfVoc), None);
        // All currents on the other side of 0.
        let below: Vec<f64> = i.iter().map(|i| i - 0.6).collect();
        assert!(told(&v, &below, swept, Kind::ShortOfVoc).is_some());
    }
    let (v, i) = touch(0.1);
    let by_voltage = told(&v, &i, Swept::Voltage, Kind::ShortOfVoc).unwrap().text;
    assert!(by_voltage.contains("ends at 0.4000 V") && by_voltage.contains("sweep further"), "{by_voltage}");
    let by_current = told(&v, &i, Swept::Current, Kind::ShortOfVoc).unwrap().text;
    assert!(
        by_current.contains("100.0 to 511.0 mA") && by_current.contains("start it at 0 A"),
        "{by_current}"
    );
}

/// Three readings in a row at one extreme current, five at one extreme voltage that was read; fewer, apart from each other, or of
/// a voltage that was set are no limit.
#[test]
fn readings_that_stick_at_an_end_are_told() {
    let (v, i) = line(-0.1, 0.9, 14);
    let with = |x: &[f64], at: &[usize], value: f64| -> Vec<f64> {
        let mut x = x.to_vec();
        at.iter().for_each(|k| x[*k] = value);
        x
    };
    for (low, top) in [([11, 12, 13], -0.5), ([0, 1, 2], 0.6)] {
        let told_at = told(&v, &with(&i, &low, top), Swept::Voltage, Kind::Clipped).unwrap();
        assert_eq!(told_at.points, low);
        assert!(told_at.text.starts_with("3 readings in a row are exactly"), "{told_at:?}");
        assert!(told_at.text.contains("a current limit or a full range"), "{told_at:?}");
        assert_eq!(told(&v, &with(&i, &low[..2], top), Swept::Voltage, Kind::Clipped), None);
    }
    assert_eq!(told(&v, &with(&i, &[0, 1, 3], 0.6), Swept::Voltage, Kind::Clipped), None);
    let read = with(&v, &[0, 1, 2, 3, 4], -0.2);
    let full = told(&read, &i, Swept::Current, Kind::Clipped).unwrap();
    assert_eq!(full.points, [0, 1, 2, 3, 4]);
    assert!(full.text.contains("exactly −0.2000 V: a full range"), "{full:?}");
    assert_eq!(told(&with(&v, &[0, 1, 2, 3], -0.2), &i, Swept::Current, Kind::Clipped), None);
    // Where the voltage is set, five equal ones were set; the currents agree, so that nothing contradicts.
    let steady = with(&i, &[0, 1, 2, 3, 4], 0.5);
    assert_eq!(
        told(&read, &steady, Swept::Voltage, Kind::Clipped).map(|f| f.text.contains(" V:")),
        Some(false)
    );
    // One value everywhere has no extremes that it sticks at.
    assert_eq!(told(&v, &[0.3; 14], Swept::Voltage, Kind::Clipped), None);
}

/// More than two readings of power at negative voltage, and more than four times those at positive.
#[test]
fn power_at_negative_voltage_is_told() {
    let (v, i) = line(-0.1, 0.9, 40);
    let (v, i): (Vec<f64>, Vec<f64>) = v.iter().zip(&i).map(|(v, i)| (-v, -i)).unzip();
    let backwards = v.iter().zip(&i).filter(|p| *p.0 < 0.0 && *p.1 < 0.0).count();
    assert!(backwards > 20, "{backwards}");
    let fault = told(&v, &i, Swept::Voltage, Kind::NegativeVoltage).unwrap();
    assert!(fault.text.contains("swapped leads, or a fault"), "{fault:?}");
    // By hand: readings (−0.3, −0.2) at 3 voltages tell, at 2 not; beside one of the first quadrant 5 tell, 4 not.
    let quadrants = |back: usize, forth: usize| {
        let mut points: Vec<(f64, f64)> = (0..back).map(|k| (-0.1 - 0.02 * k as f64, -0.2)).collect();
        points.extend((0..forth).map(|k| (0.1 + 0.02 * k as f64, 0.1)));
        points.push((0.0, 0.0));
        points.push((0.5, -0.9));
        let (v, i): (Vec<f64>, Vec<f64>) = points.into_iter().unzip();
        told(&v, &i, Swept::Voltage, Kind::NegativeVoltage).is_some()
    };
    assert_eq!(
        [(3, 0), (2, 0), (5, 1), (4, 1), (9, 2), (8, 2)].map(|(b, f)| quadrants(b, f)),
        [true, false, true, false, true, false]
    );
}

/// A forced sign that the readings contradict is a remark where the leads are taken as given, and an error where they are to be
/// recognised; each names the other sign.
#[test]
fn a_forced_sign_that_the_readings_contradict() {
    let (v, i) = line(-0.1, 0.9, 12);
    let turned: Vec<f64> = i.iter().map(|i| -i).collect();
    for (sign, readings, right, other) in
        [(Sign::Generator, &turned, &i, "load"), (Sign::Load, &i, &turned, "generator")]
    {
        let options = || SweepOptions::default().sign(sign);
        let remark = found(&v, readings, options().leads(Leads::AsGiven));
        let remark = remark.iter().find(|f| f.kind == Kind::SignContradicted).unwrap();
        assert!(remark.text.contains(&format!("set sign to {other}")), "{remark:?}");
        let error = Sweep::new(&v, readings, options()).unwrap_err().to_string();
        assert!(error.contains("contradicts the readings") && error.contains(other), "{error}");
        assert!(found(&v, right, options().leads(Leads::AsGiven)).is_empty());
    }
}

/// Every remark has a name of its own, in words.
#[test]
fn kinds_have_names() {
    for (kind, name) in [
        (Kind::NegativeVoltage, "negative_voltage"),
        (Kind::ShortOfIsc, "short_of_isc"),
        (Kind::ShortOfVoc, "short_of_voc"),
        (Kind::FewPoints, "few_points"),
        (Kind::Clipped, "clipped"),
        (Kind::TurnsBack, "turns_back"),
        (Kind::CurrentStepped, "current_stepped"),
        (Kind::SignContradicted, "sign_contradicted"),
        (Kind::Outlier, "outlier"),
        (Kind::Scatter, "scatter"),
        (Kind::Quantised, "quantised"),
        (Kind::Implausible, "implausible"),
    ] {
        assert_eq!(kind.name(), name);
    }
}

/// Steps of the current that are even to 1 % of a step, of voltages that are not, in ten readings or more.
#[test]
fn even_steps_of_the_current_tell_what_was_stepped() {
    let stepped = |points: usize, odd: f64| {
        let mut i: Vec<f64> = (0..points).map(|k| 0.01 * (points - k) as f64 - 0.02).collect();
        i[4] += odd * 0.01;
        let v: Vec<f64> = i.iter().map(|i| 0.5 - i - 40.0 * i * i).collect();
        told(&v, &i, Swept::Voltage, Kind::CurrentStepped).is_some()
    };
    assert!(stepped(10, 0.0) && !stepped(9, 0.0));
    assert!(stepped(12, 0.008) && !stepped(12, 0.02) && !stepped(12, -0.02));
}
