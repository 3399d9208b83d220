"""A measurement point by point through the C interface: the standard library alone, no package.

python capi/examples/tracer.py target/release/liblitdiode_capi.so

The tracer is simulated, its cell invented. Keep the compliance of the source at the limits as well: a program cannot
guard what a loose wire does. Above 60 V d.c., of a string of cells, a hand on a contact is dangerous; a lamp burns and
blinds.
"""

from __future__ import annotations

import random
import sys
from ctypes import byref, c_double, c_int32, c_size_t, c_uint64

from readings import Litdiode, LitdiodeError, doubles, estimate

FF, RS, NOISE_CURRENT_A = 5, 103, 1
NOISE_A = 60e-6


class Tracer:
    """In place of a source and a meter. The clock is simulated as well: `time.sleep` and `time.monotonic` go there."""

    def __init__(self, library: Litdiode) -> None:
        self.library, self.random, self.readings, self.time_s = library, random.Random(1), 0, 0.0
        parameters = doubles([0.03, 1e-9, 1.4, 0.8, 900.0])
        self.cell = library.new("model_new", c_int32(1), parameters, c_size_t(5), c_int32(1), c_double(25.0))

    def set_and_read(self, voltage_v: float, dwell_s: float) -> float:
        """Sets a voltage in V, waits, and reads the current in A. Each fifth reading is lost on the way."""
        self.readings += 1
        self.time_s += dwell_s
        if self.readings % 5 == 0:
            return float("nan")
        current = c_double()
        one = c_size_t(1)
        self.library("model_current", self.cell, doubles([voltage_v]), one, byref(current), one)
        return current.value + self.random.gauss(0.0, NOISE_A)


def new_live_sweep(library: Litdiode) -> c_uint64:
    """FF to 0.3 % within the limits of the source, in at most 100 readings and 60 s, each 0.2 s after its set point."""
    settings = library.new("live_settings_new", *map(c_double, (-0.1, 0.8, -0.06, 0.06)))
    library("live_settings_target", settings, c_int32(FF), c_double(0.003))
    library("live_settings_time", settings, c_size_t(100), c_double(60.0), c_double(0.2))
    of_sweep = library.new("sweep_settings_new")
    library("sweep_settings_noise", of_sweep, c_int32(NOISE_CURRENT_A), c_double(NOISE_A))
    library("live_settings_sweep", settings, of_sweep)
    live = library.new("live_new", settings)
    library("free", settings)
    library("free", of_sweep)
    return live


def measure(library: Litdiode, live: c_uint64, tracer: Tracer) -> None:
    """Takes readings until the live sweep asks for no more."""
    more, purpose, flag = c_int32(), c_int32(), c_int32()
    set_point, dwell = c_double(), c_double()
    while True:
        library("live_next", live, c_uint64(0), byref(more), byref(set_point), byref(dwell), byref(purpose))
        if not more.value:
            return
        current = tracer.set_and_read(set_point.value, dwell.value)
        try:
            said = library("live_push", live, set_point, c_double(current), c_double(tracer.time_s), byref(flag))
        except LitdiodeError as error:
            # Nothing is lost: the next set point is the same one.
            print(f"refused: {error}")
            continue
        if flag.value:
            print(f"odd ({flag.value}): {said}")


def main(path: str) -> None:
    """Measures, and prints what came out."""
    library = Litdiode(path)
    tracer, live = Tracer(library), new_live_sweep(library)
    measure(library, live, tracer)
    print("source at 0 V and off")
    reason, count = c_int32(), c_size_t()
    said = library("live_reason", live, byref(reason))
    print(f"stopped ({reason.value}): {said}")
    points, fit = library.new("live_key_points", live), library.new("live_fit", live, c_double(1.0))
    print("FF {:.4f} ± {:.4f}".format(*estimate(library, "key_points_figure", points, FF)))
    print("Rs {:.3f} ± {:.3f} Ω".format(*estimate(library, "fit_parameter", fit, RS)))
    for handle in (tracer.cell, live, points, fit):
        library("free", handle)
    library("handle_count", byref(count))
    print(f"{count.value} handles in use")


if __name__ == "__main__":
    main(sys.argv[1])
