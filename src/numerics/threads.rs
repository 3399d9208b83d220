//! The same job for many rows, on threads, with a look at the clock.
//!
//! Rows are handed out one at a time; the result does not depend on the number of threads. The calling thread only
//! waits, and asks `watch` and the [`Token`]s in force now and then whether to go on, so that a progress bar and an
//! interrupt need no thread of their own.

use crate::numerics::cancel::{self, Runs, Token};
use std::num::NonZeroUsize;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::mpsc::{Receiver, RecvTimeoutError, Sender, channel};
use std::time::Duration;

/// Threads at most: more serve no machine, and a system refuses to start very many.
pub(crate) const MOST_THREADS: usize = 256;

/// How often `watch` is asked.
const LOOK: Duration = Duration::from_millis(50);

/// How far the work is.
struct Work {
    count: usize,
    next: AtomicUsize,
    done: AtomicUsize,
    stop: Token,
}

impl Work {
    /// Row after row until none is left, each with its number.
    fn take<T>(&self, expected: usize, job: impl Fn(usize) -> T) -> Vec<(usize, T)> {
        let mut own = Vec::with_capacity(expected);
        while !self.stop.is_cancelled() {
            let row = self.next.fetch_add(1, Ordering::Relaxed);
            if row >= self.count {
                break;
            }
            own.push((row, job(row)));
            self.done.fetch_add(1, Ordering::Relaxed);
        }
        own
    }

    /// Asks `watch` and the tokens in force until the last thread is through.
    fn look(&self, last: &Receiver<()>, watch: &mut impl FnMut(usize) -> bool) {
        // Nothing is ever sent: the channel closes when every thread has dropped its end.
        while last.recv_timeout(LOOK) == Err(RecvTimeoutError::Timeout) {
            if cancel::requested_now() || !watch(self.done.load(Ordering::Relaxed)) {
                self.stop.cancel();
            }
        }
    }
}

/// `job(0)`, …, `job(count − 1)` on `threads` threads (all that the machine offers if `None`).
///
/// `watch` is told how many rows are done; `false` stops the work, also within a row. `None` where it was stopped, by the
/// watch or by a [`Token`] in force.
///
/// # Examples
/// ```
/// let mut told = 0;
/// let squares = litdiode::threads::rows(5, None, |k| k * k, |done| { told = done; true });
/// assert_eq!((squares, told), (Some(vec![0, 1, 4, 9, 16]), 5));
/// ```
pub fn rows<T: Send>(
    count: usize,
    threads: Option<NonZeroUsize>,
    job: impl Fn(usize) -> T + Sync,
    mut watch: impl FnMut(usize) -> bool,
) -> Option<Vec<T>> {
    let offered = || std::thread::available_parallelism().map_or(1, usize::from);
    let threads = threads.map_or_else(offered, usize::from).min(count).clamp(1, MOST_THREADS);
    let work = Work { count, next: AtomicUsize::new(0), done: AtomicUsize::new(0), stop: Token::new() };
    let around = Runs::in_force();
    let (end, last) = channel::<()>();
    let worker = |end: Sender<()>, around: Runs| {
        let own = around.enforce(|| work.stop.enforce(|| work.take(count / threads + 1, &job)).0);
        drop(end);
        own
    };
    let found = std::thread::scope(|scope| {
        let (worker, start) = (&worker, || (end.clone(), around.clone()));
        let spawn = |(end, around)| scope.spawn(move || worker(end, around));
        let workers: Vec<_> = (0..threads).map(|_| spawn(start())).collect();
        drop(end);
        work.look(&last, &mut watch);
        workers.into_iter().map(|worker| worker.join()).collect::<Vec<_>>()
    });
    let parts: Vec<_> =
        found.into_iter().map(|part| part.unwrap_or_else(|panic| std::panic::resume_unwind(panic))).collect();
    // A row of a token that was set is worth nothing, even if every row came to its end.
    if work.stop.is_cancelled() || cancel::requested_now() {
        return None;
    }
    watch(count);
    in_order(parts, count)
}

/// The rows of all threads; each thread's are in order, so that every row is moved once.
fn in_order<T>(parts: Vec<Vec<(usize, T)>>, count: usize) -> Option<Vec<T>> {
    let mut parts: Vec<_> = parts.into_iter().map(|part| part.into_iter().peekable()).collect();
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
