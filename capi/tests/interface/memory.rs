//! What is freed is free: memory stays level. LITDIODE_ROUNDS=1000000 for the long version.

use crate::host::{call, list, one, size};
use litdiode_capi::choices::{LITDIODE_I0, LITDIODE_N, LITDIODE_RS, LITDIODE_RSH};
use litdiode_capi::{fit, fit_settings, general, sweep};

/// Resident memory in bytes, where the system tells it.
fn resident() -> Option<usize> {
    let pages = std::fs::read_to_string("/proc/self/statm").ok()?;
    pages.split_whitespace().nth(1)?.parse::<usize>().ok().map(|pages| 4096 * pages)
}

/// A sweep of five readings, its fit with one free parameter, and both freed.
fn round(settings: u64, (v, i): (&[f64], &[f64])) {
    let (mut of_sweep, mut of_fit) = (0, 0);
    let n = v.len();
    // No `made!`: a text buffer of a megabyte would be most of the time.
    let mut needed = 0;
    let none = || unsafe { litdiode_capi::pointers::Out::new(std::ptr::null_mut()) };
    let status =
        sweep::litdiode_sweep_new(0, list(v), n, list(i), n, one(&mut of_sweep), none(), 0, one(&mut needed));
    assert_eq!(status, 0);
    assert_eq!(
        fit::litdiode_fit_new(of_sweep, 1, settings, 0, one(&mut of_fit), none(), 0, one(&mut needed)),
        0
    );
    for handle in [of_sweep, of_fit] {
        assert_eq!(general::litdiode_free(handle, none(), 0, one(&mut needed)), 0);
    }
}

/// In a process of its own: other tests use memory as well.
#[test]
fn memory_stays_level() {
    let own = std::process::Command::new(std::env::current_exe().unwrap())
        .args(["--exact", "memory::rounds", "--ignored", "--nocapture"])
        .output()
        .unwrap();
    let told = String::from_utf8_lossy(&own.stdout);
    println!(
        "{}",
        told.lines().find(|line| line.contains("rounds:") || line.contains("LEFT OUT")).unwrap_or(&told)
    );
    assert!(own.status.success(), "{told}{}", String::from_utf8_lossy(&own.stderr));
}

#[test]
#[ignore = "memory_stays_level runs it in a process of its own"]
fn rounds() {
    let settings = crate::host::made!(fit_settings::litdiode_fit_settings_new);
    for (parameter, value) in
        [(LITDIODE_I0, 1e-9), (LITDIODE_N, 1.3), (LITDIODE_RS, 0.0), (LITDIODE_RSH, f64::INFINITY)]
    {
        let (status, text) = call!(fit_settings::litdiode_fit_settings_fix, settings, parameter, value);
        assert_eq!(status, 0, "{text}");
    }
    let v = [0.0, 0.2, 0.4, 0.5, 0.55];
    let i: Vec<f64> = v.iter().map(|v| 0.030 - 1e-9 * ((v / 0.0334f64).exp() - 1.0)).collect();
    let rounds = size("LITDIODE_ROUNDS", 4000);
    let mut first = None;
    for k in 0..rounds {
        round(settings, (&v, &i));
        // The allocator and the stacks have what they need by then.
        if k == rounds / 4 {
            first = resident();
        }
    }
    let (Some(first), Some(last)) = (first, resident()) else {
        println!("LEFT OUT: this system does not tell the memory of a process");
        return;
    };
    println!("{rounds} rounds: {first} bytes after a quarter of them, {last} at the end");
    // A leak of 3 bytes a round would show in the long version, one of 700 bytes in the short one.
    assert!(last < first + (2 << 20), "{first} → {last}");
}
