//! The budget of a search: how many evaluations of residuals all of its stages share.
//!
//! A search has many stages (starts, descents, profiles), each bounded by itself; their product is no bound that a
//! program can wait for. The budget is one count a thread: the outermost search sets it, every evaluation takes one off,
//! and each descent looks at what is left and at the tokens in force ([`crate::cancel`]).

use super::problem::Stop;
use crate::numerics::cancel;
use std::cell::Cell;

/// Ordinary points that take as long as one at which the curve is hard to solve.
const HARD: usize = 6;

thread_local! {
    static LEFT: Cell<Option<usize>> = const { Cell::new(None) };
}

/// Runs `search` with at most `evaluations`; within another search, with at most what that has left.
pub(crate) fn within<T>(evaluations: usize, search: impl FnOnce() -> T) -> T {
    /// Takes what was spent off the search around, also after a panic.
    struct Around(Option<usize>, usize);
    impl Drop for Around {
        fn drop(&mut self) {
            let spent = self.1 - LEFT.get().unwrap_or(0);
            LEFT.set(self.0.map(|left| left - spent));
        }
    }
    let around = LEFT.get();
    let own = around.map_or(evaluations, |left| left.min(evaluations));
    LEFT.set(Some(own));
    let _around = Around(around, own);
    search()
}

/// Takes one evaluation off.
pub(crate) fn spend() {
    take(1);
}

/// Takes off what so many hard points among the readings of one evaluation cost beside it.
pub(crate) fn spend_on(hard: usize, readings: usize) {
    take(HARD * hard / readings.max(1));
}

fn take(evaluations: usize) {
    LEFT.set(LEFT.get().map(|left| left.saturating_sub(evaluations)));
}

/// Readings of which an evaluation takes so long that the clock may be read at each.
const LONG: usize = 500;

/// Why the search of this thread must end, if it must.
pub(crate) fn used_up() -> Option<Stop> {
    used_up_between(LONG)
}

/// The same between two evaluations of so many readings.
pub(crate) fn used_up_between(readings: usize) -> Option<Stop> {
    if LEFT.get() == Some(0) {
        return Some(Stop::Budget);
    }
    let cancelled = if readings < LONG { cancel::requested() } else { cancel::requested_now() };
    cancelled.then_some(Stop::Cancelled)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_search_within_another_spends_from_both() {
        within(5, || {
            spend();
            within(2, || {
                spend();
                assert_eq!(used_up(), None);
                spend();
                assert_eq!(used_up(), Some(Stop::Budget));
            });
            assert_eq!(used_up(), None);
            within(100, || {
                spend();
                spend();
                assert_eq!(used_up(), Some(Stop::Budget));
            });
            assert_eq!(used_up(), Some(Stop::Budget));
        });
        assert_eq!(used_up(), None);
    }
}
