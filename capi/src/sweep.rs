//! Sweeps: from readings to points in generator sign, with what was done to them and what is to be said of them.

use crate::choices::{SEVERITY, flag};
use crate::handles;
use crate::interface::interface;
use crate::misuse::Answer;
use crate::pointers::{In, Out, buffer};
use crate::work::{give, place, under};
use litdiode::code::Coded;
use litdiode::remarks;
use litdiode::sweep::{Finding, Sweep, SweepOptions};
use std::sync::Arc;

interface! {
    /// A sweep of readings in V and A, in the order of measurement, turned to generator sign. `settings` may be 0. A fault of
    /// a reading names its index.
    fn litdiode_sweep_new(
        settings: u64,
        voltage_v: In<f64>,
        voltage_length: usize,
        current_a: In<f64>,
        current_length: usize,
        sweep: Out<u64>,
    ) {
        give("sweep", sweep, || {
            let settings = handles::optional::<Arc<SweepOptions>>("settings", settings)?;
            let voltage_v = voltage_v.list("voltage_v", voltage_length)?;
            let current_a = current_a.list("current_a", current_length)?;
            Ok(Sweep::new(&voltage_v, &current_a, settings.as_deref().cloned().unwrap_or_default())?)
        })?;
        Ok(Answer::Done)
    }

    /// The number of points of a sweep, and of what was done to its readings.
    fn litdiode_sweep_counts(sweep: u64, points: Out<usize>, changes: Out<usize>) {
        let sweep = handles::get::<Sweep>("sweep", sweep)?;
        points.set("points", sweep.len())?;
        changes.set("changes", sweep.changes().len())?;
        Ok(Answer::Done)
    }

    /// The points in V and A, generator sign, after corrections, in the order of measurement.
    fn litdiode_sweep_points(
        sweep: u64,
        voltage_v: Out<f64>,
        voltage_capacity: usize,
        current_a: Out<f64>,
        current_capacity: usize,
    ) {
        let sweep = handles::get::<Sweep>("sweep", sweep)?;
        buffer!(voltage_v, voltage_capacity).fill(sweep.voltage_v())?;
        buffer!(current_a, current_capacity).fill(sweep.current_a())?;
        Ok(Answer::Done)
    }

    /// Change `index` as text, with the evidence; `automatic` is 1 where the library decided it, 0 where it was asked for.
    fn litdiode_sweep_change(sweep: u64, index: usize, automatic: Out<i32>) {
        let sweep = handles::get::<Sweep>("sweep", sweep)?;
        let change = place(sweep.changes(), "index", index, "changes")?;
        automatic.set("automatic", change.automatic.into())?;
        Ok(Answer::Text(change.to_string()))
    }

    /// What must be known with the figures of a sweep. `thorough` 0: what the readings show at once; 1: also what takes a
    /// few fits, and figures that no device has, as of a current in mA or an area in m².
    fn litdiode_findings_new(sweep: u64, thorough: i32, cancel: u64, findings: Out<u64>) {
        give("findings", findings, || {
            let (sweep, thorough) = (handles::get::<Sweep>("sweep", sweep)?, flag("thorough", thorough)?);
            let find = || if thorough { remarks::findings(&sweep) } else { sweep.findings().to_vec() };
            Ok(Arc::new(under(cancel, find)?))
        })?;
        Ok(Answer::Done)
    }

    /// The number of findings.
    fn litdiode_findings_count(findings: u64, count: Out<usize>) {
        count.set("count", handles::get::<Arc<Vec<Finding>>>("findings", findings)?.len())?;
        Ok(Answer::Done)
    }

    /// Finding `index` as text, with its number (docs/embedding.md), its severity, and how many points it is about, 0 where it
    /// is about the whole.
    fn litdiode_finding(findings: u64, index: usize, kind: Out<i32>, severity: Out<i32>, points: Out<usize>) {
        let findings = handles::get::<Arc<Vec<Finding>>>("findings", findings)?;
        let finding = place(&findings, "index", index, "findings")?;
        kind.set("kind", finding.kind.code().into())?;
        severity.set("severity", SEVERITY.number(finding.severity()))?;
        points.set("points", finding.points.len())?;
        Ok(Answer::Text(finding.to_string()))
    }

    /// The points that finding `index` is about, counted from 0.
    fn litdiode_finding_points(findings: u64, index: usize, points: Out<usize>, points_capacity: usize) {
        let findings = handles::get::<Arc<Vec<Finding>>>("findings", findings)?;
        let finding = place(&findings, "index", index, "findings")?;
        buffer!(points, points_capacity).fill(&finding.points)?;
        Ok(Answer::Done)
    }
}
