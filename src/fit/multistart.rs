//! The optimum of a weighted problem from its automatic starts.

use super::initial_guess::starts;
use super::residuals::{Points, Problem, Residual};
use crate::diode::{Circuit, Junction};
use crate::numerics::least_squares::levenberg_marquardt::Descent;
use crate::numerics::least_squares::minimise::descend_from;
use crate::numerics::least_squares::problem::{Bounds, Residuals, Solution, Step, Stop};
use crate::sweep::range;

/// How long a search goes on.
#[derive(Clone, Copy)]
pub(super) struct Effort {
    /// Automatic starts that are followed at most.
    pub starts: usize,
    /// Steps of one descent.
    pub steps: usize,
}

impl Effort {
    /// For the optimum of a fit.
    pub const fn whole(diodes: usize) -> Self {
        Self { starts: MOST_STARTS[diodes - 1], steps: 2000 }
    }

    /// For the searches of a profile, and for descents that begin at the optimum of a problem much like it.
    pub const SHORT: Self = Self { starts: 1, steps: 300 };
}

/// Steps at each uncertainty of the current on the approach to a voltage residual; the next begins where they end.
const MOST_SOFT_STEPS: usize = 20;
/// Uncertainties of the current on this approach, as shares of the largest current; and the one of its start.
const SHARES: [f64; 3] = [1.0, 1e-2, 1e-4];
const START_SHARE: f64 = 1e-2;
/// Starts that are followed at most, for one diode and for two. Over 20,000 simulated sweeps of all kinds a second
/// start of one diode ended lower once.
const MOST_STARTS: [usize; 2] = [1, 4];

/// Every so many steps a descent of two diodes from the one within them is compared with the best: it may be hopeless.
const PROBED: usize = 20;

/// The shunt that [`carry_all`] opens carries this part of the largest current at the highest voltage.
const LEAST_SHUNT: f64 = 1e-3;

/// Times the rounding of the residuals below which sums of squares are not told apart.
pub(super) const EXACT: f64 = 1e4;
/// Ratio of σ's from which weights count as uneven.
const UNEVEN: f64 = 3.0;

/// The best of the descents, and its path.
pub(super) fn search<const K: usize>(
    points: &Points,
    residual: Residual,
    bounds: &Bounds,
    wanted: Option<&[f64]>,
) -> (Solution, Vec<Step>) {
    search_with::<K>(points, residual, bounds, wanted, Effort::whole(K))
}

/// [`search`] with a stated effort.
pub(super) fn search_with<const K: usize>(
    points: &Points,
    residual: Residual,
    bounds: &Bounds,
    wanted: Option<&[f64]>,
    effort: Effort,
) -> (Solution, Vec<Step>) {
    let candidates = match wanted {
        Some(theta) => vec![theta.to_vec()],
        None => candidates::<K>(points, residual, bounds, effort.starts),
    };
    let best = best_of::<K>(points, residual, bounds, candidates, effort);
    if wanted.is_some() || best.as_ref().is_some_and(|b| b.0.cost.is_finite()) {
        return best.unwrap_or_else(|| (nowhere(bounds), Vec::new()));
    }
    // Readings all but level: the knots of Rs reach to voltages that no diode carries. Without Rs they do not.
    let mut held = bounds.clone();
    held.high[2 * K + 1] = bounds.low[2 * K + 1];
    let plain = starts(&Problem::<K> { points, residual }, &held, 1);
    best_of::<K>(points, residual, bounds, plain, effort).unwrap_or_else(|| (nowhere(bounds), Vec::new()))
}

/// At most `most` automatic starts.
fn candidates<const K: usize>(
    points: &Points,
    residual: Residual,
    bounds: &Bounds,
    most: usize,
) -> Vec<Vec<f64>> {
    let found = if residual == Residual::Voltage {
        let points = &with_current_uncertainty::<K>(points, START_SHARE);
        starts(&Problem::<K> { points, residual: Residual::Nearest }, bounds, most)
    } else {
        starts(&Problem::<K> { points, residual }, bounds, most)
    };
    with_even_start::<K>(points, bounds, found)
}

/// The descent from each of the starts that ends lowest.
fn best_of<const K: usize>(
    points: &Points,
    residual: Residual,
    bounds: &Bounds,
    candidates: Vec<Vec<f64>>,
    effort: Effort,
) -> Option<(Solution, Vec<Step>)> {
    let exact = EXACT * Problem::<K> { points, residual }.rounding();
    let mut best: Option<(Solution, Vec<Step>)> = None;
    for theta in candidates {
        let found = descend::<K>(points, residual, bounds, &theta, effort);
        if best.as_ref().is_none_or(|b| is_better(&found.0, &b.0, exact)) {
            best = Some(found);
        }
    }
    best
}

/// Whether `a` ends lower than `b`; below `exact`, where the sums are rounding, one that came to rest counts more.
pub(super) fn is_better(a: &Solution, b: &Solution, exact: f64) -> bool {
    let key = |s: &Solution| (s.cost.max(exact), u8::from(!s.stop.converged()), s.cost);
    let (a, b) = (key(a), key(b));
    a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)).then(a.2.total_cmp(&b.2)).is_lt()
}

/// Uneven weights make a long bent valley of the sum of squares. The optimum for even ones lies on its floor
/// and stands first.
fn with_even_start<const K: usize>(
    points: &Points,
    bounds: &Bounds,
    mut candidates: Vec<Vec<f64>>,
) -> Vec<Vec<f64>> {
    let (low, high) = range(&points.sigma_a);
    if low > 0.0 && high > UNEVEN * low {
        let even = Points {
            sigma_a: vec![high; points.sigma_a.len()],
            sigma_v: vec![0.0; points.sigma_v.len()],
            ..points.clone()
        };
        let (found, _) = search::<K>(&even, Residual::Current, bounds, None);
        candidates.insert(0, found.x);
    }
    candidates
}

/// One descent. The voltage residual exists only where the curve carries every current, so it is approached
/// through the nearest distance with an uncertainty of the current that shrinks to nothing.
pub(super) fn descend<const K: usize>(
    points: &Points,
    residual: Residual,
    bounds: &Bounds,
    start: &[f64],
    effort: Effort,
) -> (Solution, Vec<Step>) {
    let mut theta = start.to_vec();
    if residual == Residual::Voltage {
        for share in SHARES {
            let soft = with_current_uncertainty::<K>(points, share);
            let problem = Problem::<K> { points: &soft, residual: Residual::Nearest };
            theta = descend_from(&problem, &theta, bounds, MOST_SOFT_STEPS, |_| {}).x;
        }
        carry_all::<K>(points, bounds, &mut theta);
    }
    follow(&Problem::<K> { points, residual }, bounds, &theta, effort.steps)
}

/// Opens the shunt of `theta` a little where its curve does not carry every current: then no voltage is out of reach.
fn carry_all<const K: usize>(points: &Points, bounds: &Bounds, theta: &mut [f64]) {
    let problem = Problem::<K> { points, residual: Residual::Voltage };
    let mut residuals = vec![0.0; points.current_a.len()];
    if problem.evaluate(theta, &mut residuals, None) && residuals.iter().all(|r| r.is_finite()) {
        return;
    }
    let highest = points.voltage_v.iter().fold(f64::MIN_POSITIVE, |m, v| m.max(v.abs()));
    let g = 2 * K + 2;
    let open = LEAST_SHUNT * points.largest_current_a() / highest;
    theta[g] = theta[g].max(open).clamp(bounds.low[g], bounds.high[g]);
}

/// One descent straight from `start`, which must have residuals.
fn follow<const K: usize>(
    problem: &Problem<K>,
    bounds: &Bounds,
    start: &[f64],
    steps: usize,
) -> (Solution, Vec<Step>) {
    let (mut descent, mut trace) = (direct(problem, bounds, start), Vec::new());
    let solution = descent.run(problem, bounds, steps, |descent| trace.push(descent.as_step()));
    ordered::<K>(solution, trace, bounds)
}

/// The same, given up where it stays above `best` by more than its last steps took off: a bent valley is long.
pub(super) fn descend_below<const K: usize>(
    problem: &Problem<K>,
    bounds: &Bounds,
    start: &[f64],
    best: f64,
) -> Option<(Solution, Vec<Step>)> {
    let (mut descent, mut trace) = (direct(problem, bounds, start), Vec::new());
    let mut last = f64::INFINITY;
    for steps in (PROBED..=Effort::whole(K).steps).step_by(PROBED) {
        let solution = descent.run(problem, bounds, steps, |descent| trace.push(descent.as_step()));
        if solution.stop.converged() || descent.stop().is_some() {
            return Some(ordered::<K>(solution, trace, bounds));
        }
        if solution.cost - best > last - solution.cost {
            return None;
        }
        last = solution.cost;
    }
    None
}

fn direct<const K: usize>(problem: &Problem<K>, bounds: &Bounds, start: &[f64]) -> Descent {
    let mut descent = Descent::begin(problem, start, bounds);
    if problem.residual != Residual::Voltage {
        descent.expect_close();
    }
    descent
}

fn ordered<const K: usize>(
    mut solution: Solution,
    mut trace: Vec<Step>,
    bounds: &Bounds,
) -> (Solution, Vec<Step>) {
    in_order::<K>(&mut solution.x, bounds);
    trace.iter_mut().for_each(|step| in_order::<K>(&mut step.x, bounds));
    (solution, trace)
}

/// Exchanges two diodes with a1 > a2: the first is the one of smaller a. The curve is the same.
fn in_order<const K: usize>(x: &mut [f64], bounds: &Bounds) {
    let within = |k: usize, x: f64| bounds.low[k] <= x && x <= bounds.high[k];
    if K == 2 && x[2] > x[4] && within(1, x[3]) && within(3, x[1]) && within(2, x[4]) && within(4, x[2]) {
        x.swap(1, 3);
        x.swap(2, 4);
    }
}

/// Points with an uncertainty of the current, for the approach to a voltage residual: of one diode σI = share·max|I|, of two
/// σI = share·max|I|·σV/max|V|. With the second rule 4 of 2,000 fits of one diode to sweeps with stated noise ended far above
/// the optimum, with the first none.
fn with_current_uncertainty<const K: usize>(points: &Points, share: f64) -> Points {
    let largest = |xs: &[f64]| xs.iter().fold(f64::MIN_POSITIVE, |m: f64, x| m.max(x.abs()));
    let scale = share * largest(&points.current_a);
    let most_v = largest(&points.voltage_v);
    let sigma_a = points.sigma_v.iter().map(|s| if K == 1 { scale } else { scale * s / most_v }).collect();
    Points { sigma_a, ..points.clone() }
}

fn nowhere(bounds: &Bounds) -> Solution {
    let x = bounds.low.iter().zip(&bounds.high).map(|(l, h)| 0.0f64.clamp(*l, *h)).collect();
    Solution { x, cost: f64::INFINITY, evaluations: 0, stop: Stop::NoResiduals }
}

/// Steps of the descent of an approximate optimum: with 12, V_Pmax of a cell with a high Rs at 3 % noise was off by one u.
const FEW_STEPS: usize = 20;

/// Share of Σr² that an approximate optimum leaves: parameters are then within √(share·dof) of their standard deviations,
/// an eighth with 15 degrees of freedom, and what is left is corrected to first order.
const ROUGH: f64 = 1e-3;

/// Points that a rough start is sought from: its own scatter is then a hundredth of that of a single reading, and it only
/// has to lie within reach of a descent on all of them.
const ENOUGH_TO_START: usize = 10_000;

/// θ of a diode near the readings, for work that corrects it to first order: one start, followed for a few steps.
/// `None` where no start carries the readings.
pub(crate) fn approximate_optimum(points: &Points, residual: Residual, bounds: &Bounds) -> Option<Vec<f64>> {
    let problem = Problem::<1> { points, residual };
    let first = candidates::<1>(&points.thinned(ENOUGH_TO_START), residual, bounds, 1).into_iter().next();
    let (cost, theta) = first.map_or((f64::INFINITY, Vec::new()), |theta| approach(&problem, bounds, theta));
    if cost.is_finite() {
        return Some(theta);
    }
    let effort = Effort { starts: 1, steps: FEW_STEPS };
    let (solution, _) = search_with::<1>(points, residual, bounds, None, effort);
    solution.cost.is_finite().then_some(solution.x)
}

/// Σr² and θ near the optimum of a diode whose ln a is `ln_a`, from the `theta` of another a, for work that weighs one
/// against the other; `None` where it does not carry the readings.
pub(crate) fn conditional_optimum(
    points: &Points,
    residual: Residual,
    bounds: &Bounds,
    (theta, ln_a): (&[f64], f64),
) -> Option<(f64, Vec<f64>)> {
    let problem = Problem::<1> { points, residual };
    let (mut bounds, mut theta) = (bounds.clone(), theta.to_vec());
    // I0 that leaves Voc where it is.
    let voc = Circuit::<1>::from_theta(&theta).voc();
    let ln_i0 = theta[1] + voc * ((-theta[LN_A]).exp() - (-ln_a).exp());
    if ln_i0.is_finite() {
        theta[1] = ln_i0.clamp(bounds.low[1], bounds.high[1]);
    }
    for x in [&mut bounds.low[LN_A], &mut bounds.high[LN_A], &mut theta[LN_A]] {
        *x = ln_a;
    }
    if residual == Residual::Voltage {
        carry_all::<1>(points, &bounds, &mut theta);
    }
    let (cost, theta) = rough(&problem, &bounds, &theta);
    cost.is_finite().then_some((cost, theta))
}

/// Place of ln a in θ of one diode.
const LN_A: usize = 2;

/// Σr² and θ after a few steps from `theta`.
fn rough(problem: &Problem<1>, bounds: &Bounds, theta: &[f64]) -> (f64, Vec<f64>) {
    let mut descent = direct(problem, bounds, theta);
    for _ in 0..FEW_STEPS {
        if !descent.advance(problem, bounds) || descent.has_little_left(ROUGH) {
            break;
        }
    }
    (descent.cost(), descent.x().to_vec())
}

/// Σr² and θ where a descent along the way of [`descend`] has little left to gain.
fn approach(problem: &Problem<1>, bounds: &Bounds, mut theta: Vec<f64>) -> (f64, Vec<f64>) {
    if problem.residual == Residual::Voltage {
        for share in SHARES {
            let soft = with_current_uncertainty::<1>(problem.points, share);
            theta = rough(&Problem { points: &soft, residual: Residual::Nearest }, bounds, &theta).1;
        }
        carry_all::<1>(problem.points, bounds, &mut theta);
    }
    rough(problem, bounds, &theta)
}
