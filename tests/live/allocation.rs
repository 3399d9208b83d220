//! Nothing is allocated between construction and the end of a sweep by push or next_set_point.

use crate::support::live::{Cell, Rig};
use crate::support::random::Rng;
use litdiode::diode::Junction;
use litdiode::live::LiveSweep;
use litdiode::sweep::Swept;
use std::alloc::{GlobalAlloc, Layout, System};
use std::cell::Cell as Counter;

thread_local! {
    static COUNT: Counter<usize> = const { Counter::new(0) };
}

/// Counts the allocations of each thread.
struct Counting;

// SAFETY: every call goes to the allocator of the system as it is.
unsafe impl GlobalAlloc for Counting {
    unsafe fn alloc(&self, layout: Layout) -> *mut u8 {
        COUNT.with(|count| count.set(count.get() + 1));
        // SAFETY: the caller's promise is passed on.
        unsafe { System.alloc(layout) }
    }

    unsafe fn dealloc(&self, at: *mut u8, layout: Layout) {
        // SAFETY: the caller's promise is passed on.
        unsafe { System.dealloc(at, layout) }
    }

    unsafe fn realloc(&self, at: *mut u8, layout: Layout, size: usize) -> *mut u8 {
        COUNT.with(|count| count.set(count.get() + 1));
        // SAFETY: the caller's promise is passed on.
        unsafe { System.realloc(at, layout, size) }
    }
}

#[global_allocator]
static COUNTING: Counting = Counting;

fn counted<T>(work: impl FnOnce() -> T) -> (T, usize) {
    let before = COUNT.with(Counter::get);
    let done = work();
    (done, COUNT.with(Counter::get) - before)
}

#[test]
fn the_counter_counts() {
    assert!(counted(|| vec![1.0; 100]).1 > 0);
}

#[test]
fn push_and_next_set_point_allocate_nothing() {
    let mut rng = Rng(11);
    for (swept, noise) in [(Swept::Voltage, 0.01), (Swept::Current, 0.003)] {
        for stated in [true, false] {
            let (cell, rig) = (Cell::random(&mut rng), Rig { swept, noise, stated });
            let mut live = LiveSweep::new(rig.options(&cell, 1e-9).capacity(120)).unwrap();
            // What the thread makes at its first use, such as which instructions the processor has, is made.
            let _ = cell.circuit.current_at(0.1);
            let (mut pushes, mut set_points) = (0, 0);
            loop {
                let (next, count) = counted(|| live.next_set_point());
                set_points += count;
                let Some(next) = next else { break };
                let x = next.value;
                let (v, a) = match swept {
                    Swept::Voltage => (x, cell.circuit.current_at(x) + noise * cell.isc * rng.normal()),
                    Swept::Current => (cell.circuit.voltage_at(x) + noise * rng.normal(), x),
                };
                let (_, count) = counted(|| live.push(v, a));
                pushes += count;
            }
            assert_eq!(live.len(), 120);
            assert_eq!((pushes, set_points), (0, 0), "{swept:?}, stated {stated}");
        }
    }
}
