//! Range of a list of numbers, and runs of those that lie close together.

use std::ops::Range;

/// Cuts rising places into runs of successive ones, `most` of them at most (2 or more; half as many where the places are
/// even): none is wider than 2/most of the whole range, none holds more than about 2/most of all places.
pub(crate) fn runs(places: &[f64], most: usize) -> Vec<Range<usize>> {
    let half = most.div_ceil(2).max(1) as f64;
    let (low, high) = range(places);
    let (widest, fullest) = ((high - low) / half, (places.len() as f64 / half).ceil() as usize);
    let (mut runs, mut from) = (Vec::new(), 0);
    for k in 1..=places.len() {
        if k == places.len() || k - from >= fullest || places[k] - places[from] > widest {
            runs.push(from..k);
            from = k;
        }
    }
    runs
}

/// Smallest and largest of `xs`; (∞, −∞) of none.
///
/// # Examples
/// ```
/// assert_eq!(litdiode::sweep::range(&[0.3, -0.1, 0.6]), (-0.1, 0.6));
/// ```
pub fn range(xs: &[f64]) -> (f64, f64) {
    xs.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), x| (l.min(*x), h.max(*x)))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Runs hold every place once and are neither many nor wide nor full, wherever the places lie.
    #[test]
    fn runs_are_bounded_whatever_the_places() {
        let even: Vec<f64> = (0..5000).map(f64::from).collect();
        let crowded: Vec<f64> = (0..5000).map(|k| f64::from(k).powi(9)).collect();
        let few: Vec<f64> = (0..7).map(f64::from).collect();
        for (places, most) in [(&even, 200), (&crowded, 200), (&even, 3), (&few, 200), (&vec![1.0; 900], 50)]
        {
            let runs = runs(places, most);
            assert!(runs.len() <= most, "{}", runs.len());
            assert!(runs.iter().flat_map(Clone::clone).eq(0..places.len()));
            let width = 2.0 * (places[places.len() - 1] - places[0]) / most as f64;
            assert!(runs.iter().all(|r| places[r.end - 1] - places[r.start] <= width * (1.0 + 1e-12)));
        }
        assert_eq!(runs(&few, 200).len(), 7);
        assert!(runs(&[], 5).is_empty());
    }
}
