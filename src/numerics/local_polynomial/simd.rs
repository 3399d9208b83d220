//! Local polynomials over several windows abreast: the equations of [`scalar`](super::scalar), one window a lane of vector
//! code.
//!
//! ```text
//! pass j:  ‖pⱼ‖², αⱼ, cⱼ = ⟨pⱼ, y − Σᵢ cᵢpᵢ⟩/‖pⱼ‖² (i < j), and what the polynomial of degree j − 1 leaves of y
//! ```
//!
//! Every pass works the lower polynomials out anew by their recurrence, which costs less than to keep them: a point of a
//! long window costs what one of a short window does. No lane depends on its neighbours, as long as the values are finite.

use crate::numerics::local_polynomial::scalar::{COUNT, DEGENERATE, MAX_DEGREE};
use multiversion::multiversion;
use std::array::from_fn;
use std::ops::Range;

/// Windows that are worked on together.
pub const LANES: usize = 4;

/// A number for each window.
pub type Lane = [f64; LANES];

const ZERO: Lane = [0.0; LANES];

/// Most points of a window whose residuals are wanted as a matrix.
pub const MOST: usize = 7;

const PAIRS: usize = MOST * (MOST + 1) / 2;

/// The upper triangle of a symmetric matrix, row by row; see [`pair`].
pub type Triangle = [Lane; PAIRS];

/// Points of rising x.
#[derive(Clone, Copy, Debug)]
pub struct Columns<'a> {
    /// Where.
    pub x: &'a [f64],
    /// What was read.
    pub y: &'a [f64],
    /// Other values at the same places.
    pub other: &'a [f64],
}

/// Polynomials of all degrees over each of the windows that were fitted last. Its buffers serve for the next.
#[derive(Default)]
pub struct Abreast {
    fit: Fit,
    even: Vec<Point>,
}

#[derive(Default)]
struct Fit {
    /// −1 where there is no polynomial.
    highest: Lane,
    weight: Lane,
    recurrence: Recurrence,
    y: [Lane; COUNT],
    other: [Lane; COUNT],
    rungs: [Rung; COUNT],
}

/// pⱼ₊₁(t) = (t − αⱼ) pⱼ(t) − βⱼ pⱼ₋₁(t), t = (x − centre)/half width.
#[derive(Default)]
struct Recurrence {
    centre: Lane,
    half_width: Lane,
    alpha: [Lane; COUNT],
    beta: [Lane; COUNT],
    /// 1/‖pⱼ‖², 0 where there is no pⱼ.
    share: [Lane; COUNT],
}

/// The polynomials of one degree.
#[derive(Clone, Copy, Debug, Default)]
pub struct Rung {
    /// Weighted sum of squared residuals of y.
    pub misfit: Lane,
    /// The same of the other values.
    pub other_misfit: Lane,
}

/// One point of each window.
#[derive(Clone, Copy, Default)]
struct Point {
    t: Lane,
    weight: Lane,
    y: Lane,
    other: Lane,
}

/// All windows to be worked on: where they begin and how many points each has.
pub struct Windows {
    first: [usize; LANES],
    count: [usize; LANES],
}

impl Windows {
    /// Up to [`LANES`] windows; the lanes beyond them stay empty.
    pub fn new(spans: &[Range<usize>]) -> Self {
        let of = |l: usize| spans.get(l).cloned().unwrap_or(0..0);
        Self { first: from_fn(|l| of(l).start), count: from_fn(|l| of(l).len()) }
    }

    fn span(&self, l: usize) -> Range<usize> {
        self.first[l]..self.first[l] + self.count[l]
    }

    fn scale(&self, x: &[f64]) -> (Lane, Lane) {
        let ends = |l: usize| match self.count[l] {
            0 => (0.0, 0.0),
            count => (x[self.first[l]], x[self.first[l] + count - 1]),
        };
        let centre = from_fn(|l| 0.5 * (ends(l).0 + ends(l).1));
        let half_width = from_fn(|l| {
            let (low, high) = ends(l);
            if high > low { 0.5 * (high - low) } else { 1.0 }
        });
        (centre, half_width)
    }
}

impl Abreast {
    /// Polynomials up to degree `top`, all points counting alike.
    pub fn even(&mut self, columns: Columns, windows: &Windows, top: usize) {
        let scale = windows.scale(columns.x);
        let longest = windows.count.iter().copied().max().unwrap_or(0);
        self.even.resize(longest, Point::default());
        for l in 0..LANES {
            let span = windows.span(l);
            self.even[span.len()..].iter_mut().for_each(|point| point.weight[l] = 0.0);
            let values =
                columns.x[span.clone()].iter().zip(&columns.y[span.clone()]).zip(&columns.other[span]);
            for (point, ((x, y), other)) in self.even.iter_mut().zip(values) {
                point.t[l] = (x - scale.0[l]) * (1.0 / scale.1[l]);
                (point.weight[l], point.y[l], point.other[l]) = (1.0, *y, *other);
            }
        }
        fit_even(&self.even, windows, scale, top, &mut self.fit);
    }

    /// R, what the residuals of windows fitted by [`even`](Self::even), of up to [`MOST`] points, are of the readings.
    pub fn residuals(&self) -> Triangle {
        residuals(&self.even, &self.fit)
    }

    /// The highest degree that the points of window `l` allow, at most the one asked for; `None` without points or with a
    /// weight sum that is not positive.
    pub fn degree(&self, l: usize) -> Option<usize> {
        (self.fit.highest[l] >= 0.0).then_some(self.fit.highest[l] as usize)
    }

    /// What is known of the polynomials of `degree`, at most the one asked for.
    pub fn rung(&self, degree: usize) -> &Rung {
        &self.fit.rungs[degree]
    }

    /// The polynomial of `degree` through y of window `l`, at `x`; `None` where there is none.
    pub fn at(&self, l: usize, degree: usize, x: f64) -> Option<f64> {
        let top = self.degree(l)?;
        let Recurrence { centre, half_width, alpha, beta, .. } = &self.fit.recurrence;
        let t = (x - centre[l]) / half_width[l];
        let (mut older, mut p, mut value) = (0.0, 1.0, 0.0);
        for j in 0..=top.min(degree) {
            value += self.fit.y[j][l] * p;
            (older, p) = (p, (t - alpha[j][l]) * p - beta[j][l] * older);
        }
        Some(value)
    }
}

#[multiversion(targets("x86_64+avx512f+avx512dq+avx512vl+avx512bw+fma", "x86_64+avx2+fma", "aarch64+neon"))]
fn fit_even(points: &[Point], windows: &Windows, scale: (Lane, Lane), top: usize, fit: &mut Fit) {
    climb(points, windows, scale, top, fit);
}

#[multiversion(targets("x86_64+avx512f+avx512dq+avx512vl+avx512bw+fma", "x86_64+avx2+fma", "aarch64+neon"))]
fn residuals(points: &[Point], fit: &Fit) -> Triangle {
    let Recurrence { alpha, beta, share, .. } = &fit.recurrence;
    let degrees = 1 + fit.highest.iter().fold(0.0, |m: f64, h| m.max(*h)) as usize;
    let mut p = [[ZERO; COUNT]; MOST];
    let count = points.len().min(MOST);
    for (p, point) in p.iter_mut().zip(points) {
        let (mut older, mut this) = (ZERO, [1.0; LANES]);
        for (j, p) in p[..degrees].iter_mut().enumerate() {
            *p = this;
            let next = from_fn(|l| (point.t[l] - alpha[j][l]).mul_add(this[l], -(beta[j][l] * older[l])));
            (older, this) = (this, next);
        }
    }
    let mut triangle = [ZERO; PAIRS];
    for row in 0..count {
        let pull: [Lane; COUNT] = from_fn(|j| times(&p[row][j], &share[j]));
        for column in row..count {
            let mut entry = if row == column { [1.0; LANES] } else { ZERO };
            for j in 0..degrees {
                subtract(&mut entry, &pull[j], &p[column][j]);
            }
            triangle[pair(count, row, column)] = entry;
        }
    }
    triangle
}

/// Where a [`Triangle`] of `count` points holds an entry, `row` ≤ `column`.
pub const fn pair(count: usize, row: usize, column: usize) -> usize {
    row * (2 * count + 1 - row) / 2 + column - row
}

/// From one degree to the next, up to `top`.
#[inline(always)]
fn climb(points: &[Point], windows: &Windows, (centre, half_width): (Lane, Lane), top: usize, fit: &mut Fit) {
    let top = top.min(MAX_DEGREE);
    let room = windows.count.map(|count| count as f64);
    (fit.recurrence.centre, fit.recurrence.half_width) = (centre, half_width);
    fit.highest = [-1.0; LANES];
    for j in 0..=top + 1 {
        let sums = match j {
            0 => pass::<0>(points, fit),
            1 => pass::<1>(points, fit),
            2 => pass::<2>(points, fit),
            3 => pass::<3>(points, fit),
            4 => pass::<4>(points, fit),
            5 => pass::<5>(points, fit),
            6 => pass::<6>(points, fit),
            _ => pass::<COUNT>(points, fit),
        };
        if j > 0 {
            fit.rungs[j - 1] = sums.left;
        }
        if j <= top {
            fit.take(j, &sums, &room);
        }
    }
}

impl Fit {
    /// Coefficients from the sums of pass `j`; a window whose points have no more distinct places gets no more.
    #[inline(always)]
    fn take(&mut self, j: usize, sums: &Sums, room: &Lane) {
        if j == 0 {
            self.weight = sums.norm;
        }
        let norm = &sums.norm;
        let Recurrence { half_width, alpha, beta, share, .. } = &mut self.recurrence;
        let below = if j > 0 {
            share[j - 1]
        } else {
            from_fn(|l| if half_width[l] < f64::INFINITY { 1.0 } else { 0.0 })
        };
        let least = if j > 0 { DEGENERATE } else { 0.0 };
        share[j] = from_fn(|l| {
            let there = (below[l] > 0.0)
                & (room[l] > j as f64)
                & (norm[l] > least * self.weight[l])
                & (norm[l] < f64::INFINITY);
            if there { 1.0 / norm[l] } else { 0.0 }
        });
        self.highest = from_fn(|l| if share[j][l] > 0.0 { j as f64 } else { self.highest[l] });
        alpha[j] = times(&sums.first, &share[j]);
        beta[j] =
            if j > 0 { from_fn(|l| if share[j][l] > 0.0 { norm[l] * below[l] } else { 0.0 }) } else { ZERO };
        self.y[j] = times(&sums.y, &share[j]);
        self.other[j] = times(&sums.other, &share[j]);
    }
}

/// Sums over the points in pass j.
#[derive(Clone, Copy, Default)]
struct Sums {
    norm: Lane,
    first: Lane,
    y: Lane,
    other: Lane,
    /// What degree j − 1 leaves.
    left: Rung,
}

/// Pass J: what degree J − 1 leaves, and the sums that give pⱼ and its coefficients.
#[inline(always)]
fn pass<const J: usize>(points: &[Point], fit: &Fit) -> Sums {
    let Recurrence { alpha, beta, .. } = &fit.recurrence;
    let mut sums = Sums::default();
    for point in points {
        let Point { t, weight, mut y, mut other } = *point;
        let (mut older, mut p) = (ZERO, [1.0; LANES]);
        for i in 0..J {
            subtract(&mut y, &fit.y[i], &p);
            subtract(&mut other, &fit.other[i], &p);
            let next = from_fn(|l| (t[l] - alpha[i][l]).mul_add(p[l], -(beta[i][l] * older[l])));
            (older, p) = (p, next);
        }
        let (wp, wy, wo) = (times(&weight, &p), times(&weight, &y), times(&weight, &other));
        let wpp = times(&wp, &p);
        sums.norm = from_fn(|l| sums.norm[l] + wpp[l]);
        add(&mut sums.first, &wpp, &t);
        add(&mut sums.y, &wp, &y);
        add(&mut sums.other, &wp, &other);
        if J > 0 {
            add(&mut sums.left.misfit, &wy, &y);
            add(&mut sums.left.other_misfit, &wo, &other);
        }
    }
    sums
}

#[inline(always)]
fn times(a: &Lane, b: &Lane) -> Lane {
    from_fn(|l| a[l] * b[l])
}

#[inline(always)]
fn add(sum: &mut Lane, a: &Lane, b: &Lane) {
    *sum = from_fn(|l| a[l].mul_add(b[l], sum[l]));
}

#[inline(always)]
fn subtract(rest: &mut Lane, a: &Lane, b: &Lane) {
    *rest = from_fn(|l| (-a[l]).mul_add(b[l], rest[l]));
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    const X: [f64; 9] = [-0.1, 0.0, 0.07, 0.2, 0.24, 0.3, 0.41, 0.5, 0.55];

    fn cubic(x: f64) -> f64 {
        1.0 - x + 3.0 * x * x - 2.0 * x.powi(3)
    }

    /// A polynomial is found again from its own points, and one degree less leaves something of it.
    #[test]
    fn a_cubic_comes_back_in_every_window() {
        let y = X.map(cubic);
        let mut abreast = Abreast::default();
        let windows = Windows::new(&[0..7, 1..8, 2..9]);
        abreast.even(Columns { x: &X, y: &y, other: &y }, &windows, 4);
        for l in 0..3 {
            assert_eq!(abreast.degree(l), Some(4));
            assert_relative_eq!(abreast.at(l, 3, 0.33).unwrap(), cubic(0.33), max_relative = 1e-14);
            assert!(abreast.rung(3).misfit[l] < 1e-29 && abreast.rung(2).misfit[l] > 1e-9);
        }
        assert!(abreast.degree(3).is_none() && abreast.at(3, 0, 0.0).is_none());
    }

    /// R is a projection on what polynomials cannot follow: R·y = 0 for a cubic, tr R = points − coefficients.
    #[test]
    fn residuals_of_a_cubic_vanish() {
        let y = X.map(cubic);
        let mut abreast = Abreast::default();
        abreast.even(Columns { x: &X, y: &y, other: &y }, &Windows::new(&[0..7, 2..9]), 3);
        let triangle = abreast.residuals();
        for (l, first) in [(0, 0), (1, 2)] {
            let entry = |a: usize, b: usize| triangle[pair(7, a.min(b), a.max(b))][l];
            for row in 0..7 {
                let rest: f64 = (0..7).map(|k| entry(row, k) * y[first + k]).sum();
                assert!(rest.abs() < 1e-14, "{rest}");
            }
            assert_relative_eq!((0..7).map(|k| entry(k, k)).sum::<f64>(), 3.0, max_relative = 1e-13);
        }
    }

    /// Points at three places allow no more than a parabola, and the other windows do not notice.
    #[test]
    fn degrees_end_where_the_places_do() {
        let x = [0.0, 0.0, 0.1, 0.1, 0.2, 0.2, 0.3, 0.4];
        let y = x.map(cubic);
        let mut abreast = Abreast::default();
        let spans = [0..6, 2..8, 0..0, 3..4];
        abreast.even(Columns { x: &x, y: &y, other: &y }, &Windows::new(&spans), 6);
        assert_eq!([0, 1, 2, 3].map(|l| abreast.degree(l)), [Some(2), Some(3), None, Some(0)]);
        assert_relative_eq!(abreast.at(1, 3, 0.15).unwrap(), cubic(0.15), max_relative = 1e-14);
    }
}
