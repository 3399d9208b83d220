"""Ctrl-C ends every long call: the call raises KeyboardInterrupt and gives nothing."""

import os
import signal
import sys
import threading
import time

import numpy as np
import pytest

import litdiode as ld

CELL = ld.SingleDiode(iph_a=0.035, i0_a=1e-10, n=1.25, rs_ohm=0.5, rsh_ohm=3500)  # invented
MANY = 200_000


def sweep(points, **options):
    """A noisy sweep; noise with proportional parts on both axes makes every search dear."""
    voltage_v = np.linspace(-0.05, 0.66, points)
    current_a = CELL.current(voltage_v) + 1e-4 * np.random.default_rng(1).standard_normal(points)
    return ld.Sweep(voltage_v, current_a, sign="generator", leads="as_given", **options)


def dear(points):
    noise = ld.Noise(voltage_v=1e-4, voltage_rel=1e-3, current_a=1e-4, current_rel=1e-3)
    return sweep(points, noise=noise)


def rows(count):
    voltage_v = np.linspace(-0.05, 0.66, 25)
    return voltage_v, CELL.current(voltage_v) + 1e-4 * np.random.default_rng(1).standard_normal((count, 25))


# What is prepared, and the call, which takes a second or more where nothing stops it: many times what passes before
# Ctrl-C is sent, so that a machine several times as fast finds the call at work.
CALLS = {
    "fit_single_diode": (lambda: dear(MANY), lambda s: ld.fit_single_diode(s)),
    "fit_double_diode": (lambda: dear(20_000), lambda s: ld.fit_double_diode(s)),
    "Fit.interval": (lambda: ld.fit_single_diode(dear(400_000)), lambda f: f.interval("pmax", method="profile")),
    "Fit.band": (lambda: ld.fit_single_diode(sweep(5000)), lambda f: f.band(np.linspace(0.7, 0.8, 2000))),
    "Fit.resample": (lambda: ld.fit_single_diode(sweep(25)), lambda f: f.resample(draws=5_000_000)),
    "resistances": (lambda: dear(50_000), lambda s: ld.resistances(s)),
    "maximum_powers": (lambda: dear(50_000), lambda s: ld.maximum_powers(s)),
    "interpolate smoothing": (lambda: sweep(80_000), lambda s: s.interpolate("smoothing")),
    "plan_sweep": (lambda: ld.Noise(current_a=1e-4), lambda n: ld.plan_sweep(CELL, 1000, noise=n)),
    "points_needed": (lambda: ld.Noise(current_a=1e-4), lambda n: ld.points_needed(CELL, 1e-4, 400, noise=n)),
    "fit_many": (lambda: rows(100_000), lambda r: ld.fit_many(*r)),
    "key_points_many": (lambda: rows(300_000), lambda r: ld.key_points_many(*r)),
}


# What is prepared, the call, and the number that its progress ends with.
TOLD = {
    "Fit.band": (
        lambda: ld.fit_single_diode(sweep(200)),
        lambda f, told: f.band(np.linspace(0.7, 0.8, 40), progress=told),
        lambda band: len(band[0]),
    ),
    "resistances": (
        lambda: sweep(60),
        lambda s, told: ld.resistances(s, progress=told),
        lambda found: len(found.rows) + len(found.absent),
    ),
    "maximum_powers": (
        lambda: sweep(60),
        lambda s, told: ld.maximum_powers(s, progress=told),
        lambda found: len(found.rows) + len(found.absent),
    ),
}


@pytest.mark.parametrize("name", TOLD)
def test_progress_rises_to_all_and_its_exception_ends_the_call(name):
    prepare, call, total = TOLD[name]
    given, told = prepare(), []
    found = call(given, told.append)
    assert told == sorted(told) and told[-1] == total(found)
    assert repr(call(given, None)) == repr(found)

    def refuse(done):
        seen.append(done)
        raise ZeroDivisionError

    seen: list[int] = []
    with pytest.raises(ZeroDivisionError):
        call(given, refuse)
    assert len(seen) == 1


def interrupted(name, after_s=0.05):
    """Sends Ctrl-C to this process while the call is at work; seconds from then to its end."""
    prepare, call = CALLS[name]
    given, sent = prepare(), []

    def send():
        sent.append(time.perf_counter())
        os.kill(os.getpid(), signal.SIGINT)

    # A process that a shell starts in the background ignores Ctrl-C unless told otherwise.
    before = signal.signal(signal.SIGINT, signal.default_int_handler)
    timer = threading.Timer(after_s, send)
    timer.start()
    try:
        call(given)
    except KeyboardInterrupt:
        return time.perf_counter() - sent[0]
    finally:
        timer.cancel()
        timer.join()
        signal.signal(signal.SIGINT, before)
    return None


@pytest.mark.skipif(sys.platform == "win32", reason="Ctrl-C is no signal there")
@pytest.mark.parametrize("name", CALLS)
def test_ctrl_c_ends_the_call(name):
    assert interrupted(name) is not None, "the call came to its end"


if __name__ == "__main__":
    for name in CALLS:
        took = sorted(interrupted(name) or float("nan") for _ in range(5))
        print(f"{name:24s} median {1e3 * took[2]:5.0f} ms, longest {1e3 * took[-1]:5.0f} ms")
