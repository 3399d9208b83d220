//! Whether one quantity rises or falls with another, whatever the curve.
//!
//! ```text
//! S = Σ_{j<k} sign(yₖ − yⱼ) in the order of x        var S = n(n − 1)(2n + 5)/18 of pure scatter
//! ```
//!
//! H. B. Mann, Econometrica 13 (1945) 245; M. G. Kendall, Rank Correlation Methods (1948); from memory.

/// Standard deviations of S beyond which there is a trend; few readings cannot show that many.
const TREND: f64 = 3.0;

/// Part of the largest S that serves in their stead.
const OF_ALL: f64 = 0.7;

/// Readings that a trend is looked for in: the time goes with their square.
const LOOKED_AT: usize = 200;

/// Whether y has a trend along x.
pub(crate) fn has_trend(x: &[f64], y: &[f64]) -> bool {
    let mut order: Vec<usize> = (0..x.len()).step_by(x.len().div_ceil(LOOKED_AT).max(1)).collect();
    order.sort_by(|&j, &k| x[j].total_cmp(&x[k]));
    let y: Vec<f64> = order.iter().map(|k| y[*k]).collect();
    let n = y.len() as f64;
    let (most, spread) = (0.5 * n * (n - 1.0), (n * (n - 1.0) * (2.0 * n + 5.0) / 18.0).sqrt());
    score(&y).abs() >= (TREND * spread).min(OF_ALL * most)
}

/// S.
fn score(y: &[f64]) -> f64 {
    let sign = |a: f64, b: f64| f64::from(i8::from(b > a) - i8::from(b < a));
    (1..y.len()).map(|k| y[..k].iter().map(|before| sign(*before, y[k])).sum::<f64>()).sum()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// S by hand: of 1 3 2 4 all six pairs but one rise; ties count nothing.
    #[test]
    fn the_score_counts_pairs() {
        assert_eq!(score(&[1.0, 3.0, 2.0, 4.0]), 4.0);
        assert_eq!(score(&[2.0, 2.0, 1.0]), -2.0);
    }

    /// Mean 0 and variance n(n − 1)(2n + 5)/18 over all orders of five numbers: 16.67; S = ±10 in two of 120.
    #[test]
    fn the_variance_is_that_of_all_orders() {
        let mut orders = vec![vec![]];
        for k in 0..5 {
            let insert = |order: &Vec<f64>| -> Vec<Vec<f64>> {
                (0..=order.len()).map(|at| [&order[..at], &[f64::from(k)], &order[at..]].concat()).collect()
            };
            orders = orders.iter().flat_map(insert).collect();
        }
        let scores: Vec<f64> = orders.iter().map(|order| score(order)).collect();
        let square = scores.iter().map(|s| s * s).sum::<f64>() / 120.0;
        assert_eq!((scores.len(), scores.iter().sum::<f64>()), (120, 0.0));
        assert!((square - 5.0 * 4.0 * 15.0 / 18.0).abs() < 1e-12, "{square}");
        assert_eq!(scores.iter().filter(|s| s.abs() == 10.0).count(), 2);
    }

    /// The limit: 3 standard deviations of S among ten readings are 33.5 of 45, of which 0.7 is 31.5. In whichever order they
    /// came.
    #[test]
    fn readings_are_taken_in_the_order_of_x() {
        let x: Vec<f64> = (0..10).map(f64::from).collect();
        let swapped = |pairs: usize| -> Vec<f64> {
            let mut y: Vec<f64> = x.clone();
            // A number moved to the front by so many places takes twice as much off S.
            y[..=pairs].rotate_right(1);
            y
        };
        assert!(has_trend(&x, &swapped(6)) && !has_trend(&x, &swapped(7)));
        let reversed: Vec<f64> = x.iter().rev().copied().collect();
        assert!(has_trend(&reversed, &x) && has_trend(&reversed, &reversed));
        assert!(!has_trend(&x, &[1.0; 10]));
    }

    /// Of 1,000 readings in an order that is not that of x, one in five is looked at.
    #[test]
    fn of_many_readings_some_are_looked_at() {
        let x: Vec<f64> = (0..1000).map(|k| f64::from(k * 389 % 1000)).collect();
        let rising: Vec<f64> = x.iter().map(|x| x + 200.0 * (0.7 * x).sin()).collect();
        let level: Vec<f64> = x.iter().map(|x| (0.7 * x).sin()).collect();
        assert!(has_trend(&x, &rising) && !has_trend(&x, &level));
    }
}
