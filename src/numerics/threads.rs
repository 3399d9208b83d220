//! The same job for many rows, on threads, with a look at the clock.
//!
//! Rows are handed out one at a time; the result does not depend on the number of threads. The calling thread only
//! waits, and asks `watch` and the [`Token`]s in force now and then whether to go on, so that a progress bar and an
//! interrupt need no thread of their own.

use crate::numerics::cancel::{self, Runs, Token};
use std::num::NonZeroUsize;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::mpsc::{RecvTimeoutError, channel};
use std::time::Duration;

/// Threads at most: more serve no machine, and a system refuses to start very many.
pub(crate) const MOST_THREADS: usize = 256;

/// How often `watch` is asked.
const LOOK: Duration = Duration::from_millis(50);

/// `job(0)`, …, `job(count − 1)` on `threads` threads (all that the machine offers if `None`).
///
/// `watch` is told how many rows are done; `false` stops the work, also within a row. `None` where it was stopped, by the
/// watch or by a [`Token`] in force.
pub fn rows<T: Send>(
    count: usize,
    threads: Option<NonZeroUsize>,
    job: impl Fn(usize) -> T + Sync,
    mut watch: impl FnMut(usize) -> bool,
) -> Option<Vec<T>> {
    let offered = || std::thread::available_parallelism().map_or(1, usize::from);
    let threads = threads.map_or_else(offered, usize::from).min(count).clamp(1, MOST_THREADS);
    let (next, done, stop) = (AtomicUsize::new(0), AtomicUsize::new(0), Token::new());
    let around = Runs::in_force();
    let worker = || {
        let mut own = Vec::with_capacity(count / threads + 1);
        while !stop.is_cancelled() {
            let row = next.fetch_add(1, Ordering::Relaxed);
            if row >= count {
                break;
            }
            own.push((row, job(row)));
            done.fetch_add(1, Ordering::Relaxed);
        }
        own
    };
    let (finished, wait) = channel::<()>();
    let worker = &worker;
    let found = std::thread::scope(|scope| {
        let workers: Vec<_> = (0..threads)
            .map(|_| {
                let (finished, around, stop) = (finished.clone(), around.clone(), stop.clone());
                scope.spawn(move || {
                    let own = around.enforce(|| stop.enforce(worker).0);
                    drop(finished);
                    own
                })
            })
            .collect();
        drop(finished);
        // Nothing is ever sent: the channel closes when the last worker is through.
        while wait.recv_timeout(LOOK) == Err(RecvTimeoutError::Timeout) {
            if cancel::requested_now() || !watch(done.load(Ordering::Relaxed)) {
                stop.cancel();
            }
        }
        let joined: Vec<_> = workers.into_iter().map(|w| w.join()).collect();
        joined
    });
    let mut parts = Vec::with_capacity(threads);
    for part in found {
        match part {
            Ok(part) => parts.push(part.into_iter().peekable()),
            Err(panic) => std::panic::resume_unwind(panic),
        }
    }
    // A row of a token that was set is worth nothing, even if every row came to its end.
    if stop.is_cancelled() || cancel::requested_now() {
        return None;
    }
    watch(count);
    // Each thread's rows are in order: every row is moved once.
    let next =
        |row: usize| parts.iter_mut().find_map(|part| part.next_if(|own| own.0 == row)).map(|own| own.1);
    (0..count).map(next).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rows_come_back_in_order_whatever_the_threads() {
        for threads in [1, 2, 7] {
            let squares = rows(100, NonZeroUsize::new(threads), |k| k * k, |_| true).unwrap();
            assert_eq!(squares, (0..100).map(|k| k * k).collect::<Vec<_>>());
        }
        assert_eq!(rows(0, None, |k| k, |_| true), Some(vec![]));
    }

    #[test]
    fn a_watch_that_says_no_stops_the_work() {
        let slow = |k: usize| {
            std::thread::sleep(Duration::from_millis(5));
            k
        };
        assert_eq!(rows(10_000, NonZeroUsize::new(2), slow, |_| false), None);
    }
}
