//! Stopping long work: a token that every long loop looks at.
//!
//! ```text
//! token.run(work) ─▶ work calls the library ─▶ its long loops ask `requested()` ─▶ they end early ─▶ Err(Cancelled)
//! ```
//!
//! A token is in force on the thread that runs the work, and on the threads that the library starts for it. Runs nest:
//! work ends when its own token or one around it asks for it. What a loop that ended early returns has no meaning, and
//! [`Token::run`] drops it.

use std::cell::{Cell, RefCell};
use std::fmt;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::thread::{self, ThreadId};
use std::time::{Duration, Instant};

/// How often a watch is asked.
const LOOK: Duration = Duration::from_millis(50);

/// Requests of a thread for one reading of the clock, which takes ten times as long as a request without it.
const PER_READING: u32 = 4;

type Watch = Box<dyn Fn() -> bool + Send + Sync>;

/// Asks work to stop: from any thread, at a deadline, or when a watch says so.
///
/// # Examples
/// ```
/// use litdiode::cancel::{Cancelled, Token};
/// use litdiode::{curve, sweep::{Sweep, SweepOptions}};
/// let sweep = Sweep::new(&[0.0, 0.2, 0.4, 0.5, 0.6], &[1.0, 0.99, 0.9, 0.6, -0.2], SweepOptions::default())?;
/// let token = Token::new();
/// assert!(token.run(|| curve::key_points(&sweep)).is_ok());
/// token.cancel();
/// assert_eq!(token.run(|| curve::key_points_many(&[&sweep], None, |_| true)), Err(Cancelled));
/// # Ok::<(), litdiode::sweep::SweepError>(())
/// ```
#[derive(Clone, Default)]
pub struct Token(Arc<Source>);

#[derive(Default)]
struct Source {
    cancelled: AtomicBool,
    deadline: Option<Instant>,
    /// With the thread that asks it.
    watch: Option<(Watch, ThreadId)>,
}

/// The work was stopped before its end.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Cancelled;

impl fmt::Display for Cancelled {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("the work was stopped before its end, by its token or its deadline")
    }
}

impl std::error::Error for Cancelled {}

/// One run of a token, and whether a loop ended early for it.
#[derive(Clone)]
struct Run {
    token: Token,
    cut_short: Arc<AtomicBool>,
}

/// The runs in force on a thread, the outermost first.
#[derive(Clone, Default)]
pub(crate) struct Runs(Vec<Run>);

thread_local! {
    static IN_FORCE: RefCell<Runs> = const { RefCell::new(Runs(Vec::new())) };
    static REQUESTS: Cell<u32> = const { Cell::new(0) };
    static LAST_LOOK: Cell<Option<Instant>> = const { Cell::new(None) };
}

impl Token {
    /// A token that only [`Token::cancel`] sets.
    pub fn new() -> Self {
        Self::default()
    }

    /// A token that sets itself after `limit`, counted from now.
    pub fn within(limit: Duration) -> Self {
        // A limit beyond the range of the clock is none.
        Self(Arc::new(Source { deadline: Instant::now().checked_add(limit), ..Source::default() }))
    }

    /// A token that sets itself when `watch` returns `false`. It is asked some twenty times a second, on the thread that
    /// made the token, while that thread runs long work under it.
    pub fn watched(watch: impl Fn() -> bool + Send + Sync + 'static) -> Self {
        Self(Arc::new(Source { watch: Some((Box::new(watch), thread::current().id())), ..Source::default() }))
    }

    /// Asks the work to stop.
    pub fn cancel(&self) {
        self.0.cancelled.store(true, Ordering::Relaxed);
    }

    /// Whether the work has been asked to stop.
    pub fn is_cancelled(&self) -> bool {
        self.0.cancelled.load(Ordering::Relaxed) || self.0.deadline.is_some_and(|end| Instant::now() >= end)
    }

    /// Runs `work` with this token in force.
    ///
    /// # Errors
    /// [`Cancelled`] where a loop of the library ended early for it; what the work returned is dropped.
    pub fn run<T>(&self, work: impl FnOnce() -> T) -> Result<T, Cancelled> {
        let (done, cut_short) = self.enforce(work);
        if cut_short { Err(Cancelled) } else { Ok(done) }
    }

    /// Runs `work` with this token in force; whether a loop ended early for it or for a token around it.
    pub(crate) fn enforce<T>(&self, work: impl FnOnce() -> T) -> (T, bool) {
        let run = Run { token: self.clone(), cut_short: Arc::default() };
        let cut_short = run.cut_short.clone();
        let mut runs = Runs::in_force();
        runs.0.push(run);
        let done = runs.enforce(work);
        (done, cut_short.load(Ordering::Relaxed))
    }

    fn look(&self, now: Instant, ask: bool) {
        let late = self.0.deadline.is_some_and(|end| now >= end);
        let stopped = || match &self.0.watch {
            Some((watch, thread)) if ask && *thread == thread::current().id() => !watch(),
            _ => false,
        };
        if late || stopped() {
            self.cancel();
        }
    }
}

/// Runs `work` with a function that counts a part of it as done and tells `watch` how many are; `None` where `watch`
/// answered `false`, or a token in force stopped it.
pub(crate) fn watched<T>(
    mut watch: impl FnMut(usize) -> bool,
    work: impl FnOnce(&mut dyn FnMut()) -> T,
) -> Option<T> {
    let (token, mut done) = (Token::new(), 0);
    let mut tell = || {
        done += 1;
        // Once it was stopped there is nothing more to tell.
        if !token.is_cancelled() && !watch(done) {
            token.cancel();
        }
    };
    let found = token.run(|| work(&mut tell)).ok()?;
    (!token.is_cancelled()).then_some(found)
}

impl Runs {
    /// Those of this thread.
    pub fn in_force() -> Self {
        IN_FORCE.with_borrow(Clone::clone)
    }

    /// Runs `work` under them, on any thread.
    pub fn enforce<T>(self, work: impl FnOnce() -> T) -> T {
        /// Puts the former runs back, also after a panic.
        struct Former(Runs);
        impl Drop for Former {
            fn drop(&mut self) {
                IN_FORCE.with_borrow_mut(|runs| std::mem::swap(runs, &mut self.0));
            }
        }
        let former = IN_FORCE.with_borrow_mut(|runs| std::mem::replace(runs, self));
        let _former = Former(former);
        work()
    }

    /// Whether any was asked to stop; those within it are cut short.
    fn are_cancelled(&self) -> bool {
        let Some(outermost) = self.0.iter().position(|run| run.token.0.cancelled.load(Ordering::Relaxed))
        else {
            return false;
        };
        self.0[outermost..].iter().for_each(|run| run.cut_short.store(true, Ordering::Relaxed));
        true
    }

    fn look(&self) {
        let now = Instant::now();
        let ask = LAST_LOOK.get().is_none_or(|last| now - last >= LOOK);
        if ask {
            LAST_LOOK.set(Some(now));
        }
        self.0.iter().for_each(|run| run.token.look(now, ask));
    }
}

/// Whether the work of this thread has been asked to stop. A loop that is told so ends; what it returns is dropped, or is
/// a report of its own that says so.
pub(crate) fn requested() -> bool {
    let runs = IN_FORCE.with_borrow(|runs| if runs.0.is_empty() { None } else { Some(runs.are_cancelled()) });
    let Some(cancelled) = runs else { return false };
    let count = REQUESTS.get().wrapping_add(1);
    REQUESTS.set(count);
    if cancelled || !count.is_multiple_of(PER_READING) {
        return cancelled;
    }
    look()
}

/// The same with a reading of the clock, for loops that ask seldom.
pub(crate) fn requested_now() -> bool {
    IN_FORCE.with_borrow(|runs| !runs.0.is_empty()) && look()
}

fn look() -> bool {
    // A watch may call the library: the list is not borrowed while it is asked.
    let runs = Runs::in_force();
    runs.look();
    runs.are_cancelled()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn spin() -> usize {
        (0..).find(|_| requested()).unwrap_or(usize::MAX)
    }

    #[test]
    fn a_deadline_and_a_watch_end_work() {
        assert_eq!(Token::within(Duration::from_millis(20)).run(spin), Err(Cancelled));
        assert_eq!(Token::watched(|| false).run(spin), Err(Cancelled));
        assert!(!requested());
    }

    #[test]
    fn another_thread_ends_work() {
        let token = Token::new();
        let elsewhere = token.clone();
        let canceller = thread::spawn(move || elsewhere.cancel());
        assert_eq!(token.run(spin), Err(Cancelled));
        canceller.join().unwrap();
    }

    /// A token within does not cut short what runs around it; one around cuts short what runs within.
    #[test]
    fn runs_nest() {
        let outer = Token::new();
        let inner = Token::new();
        inner.cancel();
        assert_eq!(outer.run(|| inner.run(spin)), Ok(Err(Cancelled)));
        outer.cancel();
        assert_eq!(outer.run(|| Token::new().run(spin)), Err(Cancelled));
    }

    #[test]
    fn work_that_was_not_cut_short_keeps_its_result() {
        let token = Token::new();
        assert_eq!(token.run(|| token.cancel()), Ok(()));
    }

    /// The library may be called by the watch itself.
    #[test]
    fn a_watch_may_run_work_of_its_own() {
        let asked = Arc::new(AtomicBool::new(false));
        let note = asked.clone();
        let token = Token::watched(move || {
            note.store(!requested(), Ordering::Relaxed);
            false
        });
        assert_eq!(token.run(spin), Err(Cancelled));
        assert!(asked.load(Ordering::Relaxed));
    }
}
