//! Eight threads at once, with handles that they share and handles of their own; work that another thread stops.

use crate::host::{call, done, list, made, one};
use litdiode_capi::choices::{LITDIODE_RS, LITDIODE_VOC};
use litdiode_capi::{fit, general, key_points, sweep, sweep_settings};
use std::thread;
use std::time::{Duration, Instant};

const THREADS: usize = 8;

fn readings(points: usize) -> (Vec<f64>, Vec<f64>) {
    let v: Vec<f64> = (0..points).map(|k| -0.05 + 0.65 * k as f64 / points as f64).collect();
    let i = v.iter().enumerate().map(|(k, v)| {
        // A scatter of 1e-5 A that is the same in every run.
        let scatter = 1e-5 * ((k * 7919 % 101) as f64 / 50.0 - 1.0);
        0.030 - 1e-9 * ((v / 0.033f64).exp() - 1.0) - v / 500.0 + scatter
    });
    let i = i.collect();
    (v, i)
}

fn new_sweep(points: usize) -> u64 {
    let (v, i) = readings(points);
    made!(sweep::litdiode_sweep_new, 0, list(&v), points, list(&i), points)
}

fn figures(sweep: u64) -> [u64; 2] {
    let points = made!(key_points::litdiode_key_points_new, sweep, 0, 0, 0);
    let (mut voc, mut rs, mut u, mut dof) = (0.0, 0.0, 0.0, 0.0);
    let outs = (one(&mut voc), one(&mut u), one(&mut dof));
    done!(key_points::litdiode_key_points_figure, points, LITDIODE_VOC, outs.0, outs.1, outs.2);
    let fitted = made!(fit::litdiode_fit_new, sweep, 1, 0, 0);
    let outs = (one(&mut rs), one(&mut u), one(&mut dof));
    done!(fit::litdiode_fit_parameter, fitted, LITDIODE_RS, outs.0, outs.1, outs.2);
    done!(general::litdiode_free, points);
    done!(general::litdiode_free, fitted);
    [voc.to_bits(), rs.to_bits()]
}

/// All threads find the same bits from the sweep that they share; settings that all change at once stay whole; a handle that
/// all free at once is freed once.
#[test]
fn threads_share_handles() {
    let shared = new_sweep(25);
    let settings = made!(sweep_settings::litdiode_sweep_settings_new);
    let alone = figures(shared);
    for _ in 0..4 {
        let once = new_sweep(20);
        let work = |k: usize| {
            thread::spawn(move || {
                let own = new_sweep(20 + k);
                assert_eq!(figures(shared), alone);
                figures(own);
                done!(sweep_settings::litdiode_sweep_settings_correct, settings, 3, 1.0 + k as f64, f64::NAN);
                done!(general::litdiode_free, own);
                call!(general::litdiode_free, once).0
            })
        };
        let threads: Vec<_> = (0..THREADS).map(work).collect();
        let freed: Vec<i32> = threads.into_iter().map(|thread| thread.join().unwrap()).collect();
        assert_eq!(freed.iter().filter(|status| **status == 0).count(), 1);
        assert!(freed.iter().all(|status| [0, 1002].contains(status)), "{freed:?}");
    }
    let stored = done!(general::litdiode_to_json, settings);
    assert_eq!(stored.matches("\"Gain\"").count(), 4 * THREADS);
}

/// Work that would take minutes ends with the status 1 when another thread asks for it.
#[test]
fn another_thread_stops_work() {
    let sweep = new_sweep(3000);
    let cancel = made!(general::litdiode_cancel_new, f64::NAN);
    let asker = thread::spawn(move || {
        thread::sleep(Duration::from_millis(50));
        done!(general::litdiode_cancel_request, cancel);
    });
    let mut last = 0;
    for _ in 0..100_000 {
        let mut handle = 0;
        last = call!(fit::litdiode_fit_new, sweep, 2, 0, cancel, one(&mut handle)).0;
        if last != 0 {
            break;
        }
        done!(general::litdiode_free, handle);
    }
    assert_eq!(last, 1);
    asker.join().unwrap();
    let mut requested = 0;
    done!(general::litdiode_cancel_requested, cancel, one(&mut requested));
    assert_eq!(requested, 1);
    // What was asked to stop never starts again.
    let mut handle = 0;
    assert_eq!(call!(key_points::litdiode_key_points_new, sweep, 0, 0, cancel, one(&mut handle)).0, 1);
    // Work that is running stops: a deadline long before its end.
    let (start, whole) = (Instant::now(), made!(fit::litdiode_fit_new, sweep, 2, 0, 0));
    let time = start.elapsed();
    done!(general::litdiode_free, whole);
    let early = made!(general::litdiode_cancel_new, 0.25 * time.as_secs_f64());
    let start = Instant::now();
    assert_eq!(call!(fit::litdiode_fit_new, sweep, 2, 0, early, one(&mut handle)).0, 1);
    assert!(start.elapsed() < time.mul_f64(0.75), "{:?} of {time:?}", start.elapsed());
    let late = made!(general::litdiode_cancel_new, 0.0);
    assert_eq!(call!(key_points::litdiode_key_points_new, sweep, 0, 0, late, one(&mut handle)).0, 1);
}
