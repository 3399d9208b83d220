"""From readings to key points and a diode fit through the C interface: the standard library alone, no package.

python capi/examples/readings.py target/release/liblitdiode_capi.so

The readings are invented.
"""

from __future__ import annotations

import ctypes
import math
import sys
from ctypes import byref, c_char, c_double, c_int32, c_size_t, c_uint64

POINTS = 25
VOC, FF, RS, RSH, NOISE_CURRENT_A = 1, 5, 103, 104, 1


class LitdiodeError(Exception):
    """A status above 0 with the text of the library."""

    def __init__(self, status: int, text: str) -> None:
        super().__init__(f"status {status}: {text}")
        self.status = status


class Litdiode:
    """The library; every call takes the arguments of the header but for the text buffer."""

    def __init__(self, path: str) -> None:
        self._library = ctypes.CDLL(path)

    def __call__(self, name: str, *arguments: object) -> str:
        """The text of a call; ctypes converts nothing by itself but int, so that numbers come as c_double."""
        function = getattr(self._library, f"litdiode_{name}")
        function.restype = c_int32
        text, needed = (c_char * 1024)(), c_size_t()
        status = function(*arguments, text, c_size_t(len(text)), byref(needed))
        said = text.value.decode("utf-8")
        if status:
            raise LitdiodeError(status, said)
        return said

    def new(self, name: str, *arguments: object) -> c_uint64:
        """The handle that a call makes."""
        handle = c_uint64()
        self(name, *arguments, byref(handle))
        return handle


def doubles(values: list[float]) -> ctypes.Array[c_double]:
    """A list as an array of C."""
    return (c_double * len(values))(*values)


def estimate(library: Litdiode, name: str, handle: c_uint64, figure: int) -> tuple[float, float]:
    """Value and standard uncertainty of a figure or a parameter."""
    value, u, dof = c_double(), c_double(), c_double()
    library(name, handle, c_int32(figure), byref(value), byref(u), byref(dof))
    return value.value, u.value


def main(path: str) -> None:
    """Prints what the library makes of a sweep, and of a sweep that is none."""
    library, abi = Litdiode(path), c_int32()
    print(f"litdiode {library('version', byref(abi))}, interface {abi.value}")

    voltage = [-0.05 + 0.026 * k for k in range(POINTS)]
    scatter = [2e-5 * (k * 7919 % 101 / 50 - 1) for k in range(POINTS)]
    current = [0.030 - 1e-9 * math.expm1(v / 0.0334) - v / 900 + e for v, e in zip(voltage, scatter, strict=True)]

    settings = library.new("sweep_settings_new")
    library("sweep_settings_noise", settings, c_int32(NOISE_CURRENT_A), c_double(1.2e-5))
    n = c_size_t(POINTS)
    sweep = library.new("sweep_new", settings, doubles(voltage), n, doubles(current), n)
    points = library.new("key_points_new", sweep, c_int32(0), c_int32(0), c_uint64(0))
    for name, figure in [("Voc", VOC), ("FF", FF)]:
        value, u = estimate(library, "key_points_figure", points, figure)
        print(f"{name} {value:.5f} ± {u:.5f}")
    fit = library.new("fit_new", sweep, c_int32(1), c_uint64(0), c_uint64(0))
    for name, parameter in [("Rs", RS), ("Rsh", RSH)]:
        value, u = estimate(library, "fit_parameter", fit, parameter)
        print(f"{name} {value:.4g} ± {u:.2g} Ω")

    current[3] = math.nan
    try:
        library.new("sweep_new", settings, doubles(voltage), n, doubles(current), n)
    except LitdiodeError as error:
        print(error)

    for handle in (settings, sweep, points, fit):
        library("free", handle)
    count = c_size_t()
    library("handle_count", byref(count))
    print(f"{count.value} handles in use")


if __name__ == "__main__":
    main(sys.argv[1])
