//! Series and shunt resistance by every method that the sweeps at hand allow, side by side.

use crate::choices::QUANTITY;
use crate::handles;
use crate::interface::interface;
use crate::misuse::{Answer, Fault, Misuse};
use crate::objects::Measurements;
use crate::pointers::{In, Out};
use crate::work::{edit, estimate, give, optional, place, under, write_estimate, write_interval};
use litdiode::code::Coded;
use litdiode::estimate::Unit;
use litdiode::quantity_format::sentences;
use litdiode::resistance::{Implied, Measured, Quantity, Resistance, Resistances, resistances};
use litdiode::sweep::Sweep;
use std::sync::Arc;

fn get(all: u64) -> Result<Arc<Resistances>, Fault> {
    handles::get("resistances", all)
}

fn found(all: &Resistances, index: usize) -> Result<&Resistance, Fault> {
    place(&all.found, "index", index, "resistances found")
}

/// A number of the resistance to quote that stands for none.
const NONE: i32 = -1;

interface! {
    /// The sweeps of one device, none yet.
    fn litdiode_measurements_new(measurements: Out<u64>) {
        give("measurements", measurements, || Ok(Arc::new(Measurements::default())))?;
        Ok(Answer::Done)
    }

    /// With a sweep under light.
    fn litdiode_measurements_lit(measurements: u64, sweep: u64) {
        let sweep = handles::get::<Sweep>("sweep", sweep)?;
        edit("measurements", measurements, |of: Measurements| Measurements { lit: Some(sweep), ..of })
    }

    /// With one more sweep, at another irradiance and the same temperature.
    fn litdiode_measurements_more_lit(measurements: u64, sweep: u64) {
        let sweep = handles::get::<Sweep>("sweep", sweep)?;
        edit("measurements", measurements, |mut of: Measurements| {
            of.more_lit.push(sweep);
            of
        })
    }

    /// With a sweep in the dark, at the same temperature.
    fn litdiode_measurements_dark(measurements: u64, sweep: u64) {
        let sweep = handles::get::<Sweep>("sweep", sweep)?;
        edit("measurements", measurements, |of: Measurements| Measurements { dark: Some(sweep), ..of })
    }

    /// With voltages in V at open circuit over irradiances as parts of that of the lit sweep; `sigma_v` is the scatter of a
    /// voltage in V, NaN where it is not known.
    fn litdiode_measurements_implied(
        measurements: u64,
        voltage_v: In<f64>,
        voltage_length: usize,
        suns: In<f64>,
        suns_length: usize,
        sigma_v: f64,
    ) {
        let voltage_v = voltage_v.list("voltage_v", voltage_length)?;
        let implied = Implied::new(&voltage_v, &suns.list("suns", suns_length)?, optional(sigma_v))?;
        edit("measurements", measurements, |of: Measurements| Measurements { implied: Some(implied), ..of })
    }

    /// With the ideality factor of a cell and its standard uncertainty, NaN where that is not known.
    fn litdiode_measurements_ideality(measurements: u64, n: f64, u: f64) {
        if !(0.3..=10.0).contains(&n) {
            let cure = "give an ideality factor between 0.3 and 10";
            return Err(Misuse::Number { argument: "n", value: n, cure }.into());
        }
        if u < 0.0 || u.is_infinite() {
            let cure = "give a standard uncertainty, 0 or more, or NaN where it is not known";
            return Err(Misuse::Number { argument: "u", value: u, cure }.into());
        }
        let n = estimate(n, u, Unit::One);
        edit("measurements", measurements, |of: Measurements| Measurements { n: Some(n), ..of })
    }

    /// Every resistance that the measurements give, and the reason for every one that they do not.
    fn litdiode_resistances_new(measurements: u64, cancel: u64, resistances: Out<u64>) {
        give("resistances", resistances, || {
            let of = handles::get::<Arc<Measurements>>("measurements", measurements)?;
            let measured = Measured::default()
                .lit(of.lit.as_ref())
                .more_lit(&of.more_lit)
                .dark(of.dark.as_ref())
                .implied(of.implied.as_ref())
                .n(of.n.as_ref());
            Ok(Arc::new(under(cancel, || self::resistances(&measured))?))
        })?;
        Ok(Answer::Done)
    }

    /// The number of methods that gave a figure, and of those that gave none.
    fn litdiode_resistances_counts(resistances: u64, found: Out<usize>, absent: Out<usize>) {
        let all = get(resistances)?;
        found.set("found", all.found.len())?;
        absent.set("absent", all.absent.len())?;
        Ok(Answer::Done)
    }

    /// Resistance `index` in Ω with its standard uncertainty (NaN where there is none) and its degrees of freedom; the text is
    /// its method.
    fn litdiode_resistance(
        resistances: u64,
        index: usize,
        quantity: Out<i32>,
        value: Out<f64>,
        u: Out<f64>,
        dof: Out<f64>,
    ) {
        let all = get(resistances)?;
        let one = self::found(&all, index)?;
        quantity.set("quantity", QUANTITY.number(one.quantity))?;
        write_estimate(&one.estimate, value, u, dof)?;
        Ok(Answer::Text(one.method.into()))
    }

    /// The 95 % interval of resistance `index` in Ω; an end that is not there is NaN. The text is what must be known with it.
    fn litdiode_resistance_interval(resistances: u64, index: usize, low: Out<f64>, high: Out<f64>) {
        let all = get(resistances)?;
        let one = self::found(&all, index)?;
        write_interval(&one.interval, low, high)?;
        // An interval without a ± has the notes of its estimate.
        let own = one.estimate.notes.iter().filter(|note| !one.interval.notes.contains(note));
        let all: Vec<_> = one.interval.notes.iter().chain(own).collect();
        Ok(Answer::Remarks(sentences(&all)))
    }

    /// How many doubts there are of resistance `index`; the text is what they are, empty where its assumptions hold.
    fn litdiode_resistance_doubts(resistances: u64, index: usize, doubts: Out<usize>) {
        let all = get(resistances)?;
        let one = self::found(&all, index)?;
        doubts.set("doubts", one.doubts.len())?;
        Ok(Answer::Text(sentences(&one.doubts)))
    }

    /// Which resistance method `index` of those without a figure would have given, the number of the reason, and as text
    /// its name and the reason.
    fn litdiode_resistance_absent(resistances: u64, index: usize, quantity: Out<i32>, reason: Out<i32>) {
        let all = get(resistances)?;
        let one = place(&all.absent, "index", index, "methods without a figure")?;
        quantity.set("quantity", QUANTITY.number(one.quantity))?;
        reason.set("reason", one.why.code().into())?;
        Ok(Answer::Text(format!("{}: {}", one.method, one.why)))
    }

    /// The index of the resistance to quote, −1 where there is none, the number of the reason, and as text the reason.
    fn litdiode_resistance_quote(resistances: u64, quantity: i32, index: Out<i32>, reason: Out<i32>) {
        let (all, quantity) = (get(resistances)?, QUANTITY.of(quantity)?);
        let quote = if quantity == Quantity::Series { &all.series } else { &all.shunt };
        let at = quote.resistance.as_ref().and_then(|one| {
            all.found.iter().position(|r| r.quantity == quantity && r.method == one.method)
        });
        index.set("index", at.and_then(|k| i32::try_from(k).ok()).unwrap_or(NONE))?;
        reason.set("reason", quote.why.code().into())?;
        Ok(Answer::Text(quote.why.to_string()))
    }
}
