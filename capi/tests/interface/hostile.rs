//! Calls that no careful host makes end with a status. LITDIODE_HOSTILE=100000 for the long version.
//!
//! Every function of the header is called with arguments drawn by their types: pointers that are null or lead to a list of
//! [`ROOM`] values, lengths up to that or absurd, handles in use, freed, of another kind or of no table, numbers that are none.
//! What lies behind the lists must stay as it is; under an address sanitizer nothing else may be touched either.

use crate::host::{Random, size};
use litdiode_capi::pointers::{In, Out, Plain};
use litdiode_capi::*;
use std::collections::{BTreeMap, BTreeSet};
use std::ffi::c_char;

/// Values in each list.
const ROOM: usize = 64;
/// How often a call that got nowhere is made again, on average.
const TRIES: usize = 30;
/// Values behind it that no call may touch.
const FENCE: usize = 8;

/// The memory of the host, and what it draws.
struct Host {
    random: Random,
    lists: Vec<Vec<f64>>,
    texts: Vec<Vec<u8>>,
    handles: Vec<u64>,
    new: Box<u64>,
    /// Lists that were lent to this call, in bytes with their fence.
    lent: Vec<Vec<u8>>,
    /// Whether the last call ended at the border.
    got_nowhere: bool,
    /// Whether this call has numbers that may be right, and one handle throughout: most get no further than that.
    calm: bool,
    favourite: u64,
    length: usize,
}

trait Drawn {
    fn drawn(host: &mut Host) -> Self;
}

impl Drawn for f64 {
    fn drawn(host: &mut Host) -> Self {
        const SOME: [f64; 16] = [
            f64::NAN,
            f64::INFINITY,
            f64::NEG_INFINITY,
            0.0,
            -0.0,
            -1.0,
            1.0,
            0.5,
            0.95,
            25.0,
            1e-9,
            1e300,
            -1e300,
            5e-324,
            1e3,
            9.9e37,
        ];
        if host.calm || host.random.below(3) == 0 {
            host.random.unit()
        } else {
            SOME[host.random.below(SOME.len())]
        }
    }
}

impl Drawn for i32 {
    fn drawn(host: &mut Host) -> Self {
        match host.random.below(8) {
            0 if !host.calm => -1,
            1 if !host.calm => i32::MIN,
            2 if !host.calm => i32::MAX,
            3 => 100 + host.random.below(10) as i32,
            _ => host.random.below(if host.calm { 3 } else { 12 }) as i32,
        }
    }
}

impl Drawn for u32 {
    fn drawn(host: &mut Host) -> Self {
        [0, 1, 1, 36, u32::MAX][host.random.below(5)]
    }
}

impl Drawn for usize {
    fn drawn(host: &mut Host) -> Self {
        match host.random.below(6) {
            _ if host.calm => host.length,
            0 => 0,
            1 if host.random.below(2) == 0 => usize::MAX >> host.random.below(30),
            2 => ROOM,
            _ => host.random.below(ROOM + 1),
        }
    }
}

impl Drawn for u64 {
    fn drawn(host: &mut Host) -> Self {
        match host.random.below(12) {
            0 => 0,
            _ if host.calm => host.favourite,
            1 => host.random.next(),
            2 => u64::MAX,
            3 => host.random.below(1000) as u64,
            // The next generation of a handle in use.
            4 => host.handles[host.random.below(host.handles.len())].wrapping_add(1 << 22),
            _ => host.handles[host.random.below(host.handles.len())],
        }
    }
}

impl Drawn for In<f64> {
    fn drawn(host: &mut Host) -> Self {
        let k = host.random.below(host.lists.len() + usize::from(!host.calm));
        let pointer = host.lists.get(k).map_or(std::ptr::null(), |list| list.as_ptr());
        // SAFETY: null, or ROOM values that live on; lengths are at most ROOM, or absurd.
        unsafe { In::new(pointer) }
    }
}

impl Drawn for In<c_char> {
    fn drawn(host: &mut Host) -> Self {
        let k = host.random.below(host.texts.len() + usize::from(!host.calm));
        let pointer = host.texts.get(k).map_or(std::ptr::null(), |text| text.as_ptr().cast());
        // SAFETY: null, or a text with a 0 byte that lives on.
        unsafe { In::new(pointer) }
    }
}

/// A list of ROOM values and its fence, at any alignment; null at times.
fn lend<T: Plain>(host: &mut Host) -> Out<T> {
    if !host.calm && host.random.below(12) == 0 {
        // SAFETY: null is allowed.
        return unsafe { Out::new(std::ptr::null_mut()) };
    }
    let offset = host.random.below(8);
    let bytes = ROOM * size_of::<T>();
    let mut memory = vec![0xAB; offset + bytes + FENCE];
    let pointer = memory[offset..].as_mut_ptr();
    host.lent.push(memory);
    // SAFETY: ROOM values, which live until the call is judged; capacities are at most ROOM, or absurd.
    unsafe { Out::new(pointer.cast()) }
}

macro_rules! drawn_out {
    ($($type:ty),*) => {
        $(impl Drawn for Out<$type> {
            fn drawn(host: &mut Host) -> Self {
                lend(host)
            }
        })*
    };
}
drawn_out!(f64, i32, u32, usize, c_char);

impl Drawn for Out<u64> {
    /// Where a new handle is kept.
    fn drawn(host: &mut Host) -> Self {
        let at: *mut u64 =
            if !host.calm && host.random.below(12) == 0 { std::ptr::null_mut() } else { &mut *host.new };
        // SAFETY: null, or a value that lives on.
        unsafe { Out::new(at) }
    }
}

/// Calls a function with arguments that are drawn.
trait Call {
    fn call(&self, host: &mut Host) -> i32;
}

/// A function with so many arguments, to be called with drawn ones.
macro_rules! arities {
    ($($name:ident: $($argument:ident)+;)+) => {
        $(
            impl<$($argument: Drawn),+> Call for extern "C" fn($($argument),+) -> i32 {
                fn call(&self, host: &mut Host) -> i32 {
                    self($($argument::drawn(host)),+)
                }
            }

            fn $name<$($argument: Drawn + 'static),+>(function: extern "C" fn($($argument),+) -> i32) -> Box<dyn Call> {
                Box::new(function)
            }
        )+
    };
}
arities! {
    four: A B C D;
    five: A B C D E;
    six: A B C D E F;
    seven: A B C D E F G;
    eight: A B C D E F G H;
    nine: A B C D E F G H I;
    ten: A B C D E F G H I J;
    eleven: A B C D E F G H I J K;
}

macro_rules! functions {
    ($($arity:ident { $($module:ident::$function:ident,)+ })+) => {
        vec![$($((stringify!($function), $arity($module::$function)),)+)+]
    };
}

/// Every function of the interface.
fn functions() -> Vec<(&'static str, Box<dyn Call>)> {
    functions! {
        four {
            general::litdiode_version,
            general::litdiode_free,
            general::litdiode_handle_count,
            general::litdiode_text,
            general::litdiode_to_json,
            general::litdiode_cancel_request,
            sweep_settings::litdiode_sweep_settings_new,
            fit_settings::litdiode_fit_settings_new,
            resistances::litdiode_measurements_new,
            plan::litdiode_plan_settings_new,
        }
        five {
            general::litdiode_kind,
            general::litdiode_cancel_new,
            general::litdiode_cancel_requested,
            sweep_settings::litdiode_sweep_settings_instrument,
            sweep_settings::litdiode_sweep_settings_label,
            sweep_settings::litdiode_sweep_settings_dark,
            sweep::litdiode_findings_count,
            fit_settings::litdiode_fit_settings_residual,
            fit_settings::litdiode_fit_settings_noise_scale,
            fit::litdiode_fit_model,
            model::litdiode_model_key_points,
            resistances::litdiode_measurements_lit,
            resistances::litdiode_measurements_more_lit,
            resistances::litdiode_measurements_dark,
            live::litdiode_live_settings_order,
            live::litdiode_live_settings_sweep,
            live::litdiode_live_new,
            live::litdiode_live_reason,
            live::litdiode_live_key_points,
            live::litdiode_live_sweep,
            plan::litdiode_plan_settings_spread,
            plan::litdiode_plan_settings_fix,
        }
        six {
            general::litdiode_from_json,
            sweep_settings::litdiode_sweep_settings_noise,
            sweep_settings::litdiode_sweep_settings_area,
            sweep_settings::litdiode_sweep_settings_irradiance,
            sweep_settings::litdiode_sweep_settings_device,
            sweep_settings::litdiode_sweep_settings_times,
            sweep_settings::litdiode_sweep_settings_monitor,
            sweep::litdiode_sweep_counts,
            sweep::litdiode_sweep_change,
            fit_settings::litdiode_fit_settings_fix,
            fit_settings::litdiode_fit_settings_start,
            fit_settings::litdiode_fit_settings_budget,
            fit::litdiode_fit_note,
            fit::litdiode_fit_residuals,
            fit::litdiode_fit_key_points,
            resistances::litdiode_measurements_ideality,
            resistances::litdiode_resistances_new,
            resistances::litdiode_resistances_counts,
            resistances::litdiode_resistance_doubts,
            live::litdiode_live_settings_target,
            live::litdiode_live_settings_safety,
            live::litdiode_live_progress,
            live::litdiode_live_fit,
            plan::litdiode_plan_settings_noise,
            plan::litdiode_plan_settings_target,
            plan::litdiode_plan_counts,
            plan::litdiode_plan_note,
        }
        seven {
            sweep_settings::litdiode_sweep_settings_convention,
            sweep_settings::litdiode_sweep_settings_correct,
            sweep::litdiode_findings_new,
            sweep::litdiode_finding_points,
            fit_settings::litdiode_fit_settings_bounds,
            model::litdiode_model_curve,
            models::litdiode_models_key_points,
            resistances::litdiode_resistance_interval,
            resistances::litdiode_resistance_absent,
            resistances::litdiode_resistance_quote,
            live::litdiode_live_settings_time,
            plan::litdiode_plan_settings_points,
            plan::litdiode_plan_new,
        }
        eight {
            sweep::litdiode_sweep_points,
            sweep::litdiode_finding,
            key_points::litdiode_key_points_new,
            key_points::litdiode_key_points_figure,
            key_points::litdiode_key_points_interval,
            fit::litdiode_fit_new,
            fit::litdiode_fit_parameter,
            model::litdiode_model_current,
            model::litdiode_model_voltage,
            model::litdiode_model_slope,
            model::litdiode_model_power,
            live::litdiode_live_settings_new,
            live::litdiode_live_push,
        }
        nine {
            sweep::litdiode_sweep_new,
            key_points::litdiode_key_points_covariance,
            fit::litdiode_fit_covariance,
            model::litdiode_model_new,
            model::litdiode_model_parameters,
            models::litdiode_models_new,
            models::litdiode_models_current,
            models::litdiode_models_voltage,
            resistances::litdiode_measurements_implied,
            resistances::litdiode_resistance,
            live::litdiode_live_next,
            plan::litdiode_plan_settings_limits,
            plan::litdiode_plan_figure,
        }
        ten {
            sweep_settings::litdiode_sweep_settings_calibrate,
            sweep_settings::litdiode_sweep_settings_effect,
            fit::litdiode_fit_interval,
            fit::litdiode_fit_quality,
            plan::litdiode_plan_points,
        }
        eleven {
            model::litdiode_model_at,
            plan::litdiode_points_needed,
        }
    }
}

/// Handles that stand for something, one of each kind, from a sweep that is sound.
fn handles() -> Vec<u64> {
    use crate::host::{done, list, made};
    let v: Vec<f64> = (0..25).map(|k| -0.05 + 0.025 * f64::from(k)).collect();
    let i: Vec<f64> = v.iter().map(|v| 0.030 - 1e-9 * ((v / 0.033f64).exp() - 1.0) - v / 500.0).collect();
    let sweep = made!(sweep::litdiode_sweep_new, 0, list(&v), 25, list(&i), 25);
    let fit = made!(fit::litdiode_fit_new, sweep, 1, 0, 0);
    let measurements = made!(resistances::litdiode_measurements_new);
    done!(resistances::litdiode_measurements_lit, measurements, sweep);
    let live_settings = made!(live::litdiode_live_settings_new, -0.1, 0.8, -0.06, 0.06);
    let plan_settings = made!(plan::litdiode_plan_settings_new);
    done!(plan::litdiode_plan_settings_points, plan_settings, 12, 0, 0.0);
    vec![
        sweep,
        fit,
        measurements,
        made!(resistances::litdiode_resistances_new, measurements, 0),
        made!(sweep_settings::litdiode_sweep_settings_new),
        made!(fit_settings::litdiode_fit_settings_new),
        made!(sweep::litdiode_findings_new, sweep, 1, 0),
        made!(key_points::litdiode_key_points_new, sweep, 0, 0, 0),
        made!(fit::litdiode_fit_model, fit),
        made!(models::litdiode_models_new, 1, list(&[0.03, 1e-9, 1.3, 0.5, 900.0]), 5, 1, 25.0),
        made!(general::litdiode_cancel_new, f64::NAN),
        live_settings,
        made!(live::litdiode_live_new, live_settings),
        plan_settings,
        made!(plan::litdiode_plan_new, fit, plan_settings, 0),
    ]
}

fn host(seed: u64) -> Host {
    let v: Vec<f64> = (0..ROOM).map(|k| -0.05 + 0.011 * k as f64).collect();
    let i: Vec<f64> = v.iter().map(|v| 0.030 - 1e-9 * ((v / 0.033f64).exp() - 1.0) - v / 500.0).collect();
    let mut bad = i.clone();
    bad[3] = f64::NAN;
    let parameters = [0.03, 1e-9, 1.3, 0.5, 900.0, 1e-7, 2.0].into_iter().cycle().take(ROOM).collect();
    let texts = [&b"a name\0"[..], b"\0", b"\xff\xfe\0", b"{\"One\":{}}\0", b"[]\0", "Ω of 🔆\0".as_bytes()];
    Host {
        random: Random(seed),
        lists: vec![v, i, bad, parameters, vec![0.0; ROOM], vec![9.9e37; ROOM]],
        texts: texts.map(<[u8]>::to_vec).to_vec(),
        handles: handles(),
        new: Box::new(0),
        lent: Vec::new(),
        got_nowhere: false,
        calm: false,
        favourite: 0,
        length: ROOM,
    }
}

/// One call: its status. Handles that it gave are kept, some of them freed later by calls of `litdiode_free`.
fn attack(host: &mut Host, function: &dyn Call) -> i32 {
    *host.new = 0;
    let status = function.call(host);
    for memory in host.lent.drain(..) {
        assert!(memory[memory.len() - FENCE..].iter().all(|b| *b == 0xAB), "a call wrote behind its list");
    }
    if *host.new > 0 {
        if host.handles.len() < 200 {
            host.handles.push(*host.new);
        } else {
            let k = host.random.below(host.handles.len());
            let old = std::mem::replace(&mut host.handles[k], *host.new);
            let mut text = crate::host::Text::new(0);
            general::litdiode_free(old, text.pointer(), 0, crate::host::one(&mut text.needed));
        }
    }
    status
}

/// A hostile call may not fill the table, work for ever, or panic behind the border.
#[test]
fn hostile_calls_end_with_a_status() {
    let calls = size("LITDIODE_HOSTILE", 10_000);
    let (functions, mut host) = (functions(), host(0xbad5eed));
    let mut statuses: BTreeMap<i32, usize> = BTreeMap::new();
    let mut succeeded = BTreeSet::new();
    let mut chosen = 0;
    for k in 0..calls {
        // A call that got nowhere is made again, so that half of them reach what lies behind the border.
        if k == 0 || host.random.below(TRIES) == 0 || !host.got_nowhere {
            chosen = host.random.below(functions.len());
        }
        host.calm = host.random.below(3) > 0;
        host.length = [ROOM, ROOM, 35, 0][host.random.below(4)];
        host.favourite = host.handles[host.random.below(host.handles.len())];
        let (name, function) = &functions[chosen];
        let status = attack(&mut host, &**function);
        host.got_nowhere = (1001..1007).contains(&status);
        assert!((0..=1013).contains(&status), "call {k}, {name}: status {status}");
        *statuses.entry(status).or_default() += 1;
        if status == 0 {
            succeeded.insert(*name);
        }
        if host.random.below(500) == 0 {
            host.handles.extend(handles());
        }
    }
    println!("{calls} calls of {} functions, statuses {statuses:?}", functions.len());
    println!("{} functions succeeded at least once", succeeded.len());
    // Calls that get nowhere would show nothing.
    assert!(statuses[&0] > calls / 50, "{statuses:?}");
    for status in [1001, 1002, 1003, 1004, 1006] {
        assert!(statuses[&status] > calls / 1000, "{status}: {statuses:?}");
    }
    assert!(2 * succeeded.len() > functions.len(), "{} {succeeded:?}", succeeded.len());
}

/// Whatever is added to the header is attacked as well.
#[test]
fn every_function_is_attacked() {
    let declared = header::declarations();
    let mut declared: Vec<&str> =
        declared.split("extern \"C\" fn ").skip(1).filter_map(|text| text.split('(').next()).collect();
    let mut attacked: Vec<&str> = functions().iter().map(|(name, _)| *name).collect();
    declared.sort_unstable();
    attacked.sort_unstable();
    assert_eq!(declared, attacked);
}
