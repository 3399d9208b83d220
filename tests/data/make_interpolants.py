"""Make interpolants.csv: invented sweeps and their SciPy interpolants, for tests/interpolant/curves.rs.

Run from the project's root:  python tests/data/make_interpolants.py

Independent of the library: SciPy's PchipInterpolator, CubicSpline(bc_type="natural") and make_smoothing_spline, each
turned into a piecewise polynomial; the maximum of V·I is the best of the piece ends and of the roots that brentq finds
between the sign changes of (V·I)' on a dense mesh of every piece.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import CubicSpline, PchipInterpolator, PPoly, make_smoothing_spline
from scipy.optimize import brentq

OUT = Path(__file__).with_name("interpolants.csv")
SEED = 20250211
MESH = 400
Array = NDArray[np.float64]


def uneven(rng: np.random.Generator, count: int, low: float, high: float) -> Array:
    """Voltages with gaps that differ by up to a factor of ten."""
    gaps = np.cumsum(rng.uniform(0.1, 1.0, count))
    return low + (high - low) * (gaps - gaps[0]) / (gaps[-1] - gaps[0])


def sweeps() -> dict[str, tuple[Array, Array, Array | None]]:
    """Voltage, current and weight (or none) of each invented sweep."""
    rng = np.random.default_rng(SEED)
    lit = uneven(rng, 25, -0.05, 0.62)
    noisy = uneven(rng, 40, -0.1, 0.68)
    ess = uneven(rng, 18, 0.0, 0.9)
    few = uneven(rng, 5, 0.0, 21.0)
    wild = uneven(rng, 12, -1.0, 2.0)
    diode = lambda v, iph, i0, a, g: iph - i0 * np.expm1(v / a) - g * v  # noqa: E731
    noisy_a = diode(noisy, 3e-6, 2e-12, 0.047, 2e-7)
    sigma = 2e-8 + 0.02 * np.abs(noisy_a)
    return {
        "lit": (lit, diode(lit, 0.031, 1e-9, 0.034, 2e-3), None),
        "noisy": (noisy, noisy_a + sigma * rng.normal(size=noisy.size), 1.0 / sigma**2),
        "s_shaped": (ess, 0.01 - 0.012 / (1.0 + np.exp(-(ess - 0.45) / 0.07)) - 3e-3 * ess, None),
        "few": (few, np.array([8.1, 8.0, 7.9, 6.2, -0.4]), None),
        "wild": (wild, rng.normal(size=wild.size), rng.uniform(0.5, 4.0, wild.size)),
    }


def maximum(curve: PPoly) -> tuple[float, float]:
    """The voltage of the largest V·I, and that power."""
    slope = curve.derivative()
    dp = lambda v: curve(v) + v * slope(v)  # noqa: E731
    places = list(curve.x)
    for low, high in zip(curve.x[:-1], curve.x[1:], strict=False):
        mesh = np.linspace(low, high, MESH + 1)
        values = dp(mesh)
        for k in np.flatnonzero(values[:-1] * values[1:] < 0.0):
            places.append(brentq(dp, mesh[k], mesh[k + 1], xtol=1e-15, rtol=1e-15))
    best = max(places, key=lambda v: v * curve(v))
    return best, best * float(curve(best))


def rows_of(name: str, method: str, curve: PPoly, v: Array) -> list[tuple[str, str, str, float, float]]:
    """Current and slope at the points and between them, and the maximum."""
    mesh = np.unique(np.concatenate([v, np.linspace(v[0], v[-1], 61)]))
    mesh = mesh[(mesh >= v[0]) & (mesh <= v[-1])]
    slope = curve.derivative()
    rows = [(name, method, "current", x, float(curve(x))) for x in mesh]
    rows += [(name, method, "slope", x, float(slope(x))) for x in mesh]
    return [*rows, (name, method, "pmax", *maximum(curve))]


def main() -> None:
    """Write the table."""
    rows: list[tuple[str, str, str, float, float]] = []
    for name, (v, i, w) in sweeps().items():
        rows += [(name, "data", "point", x, y) for x, y in zip(v, i, strict=False)]
        if w is not None:
            rows += [(name, "data", "weight", x, y) for x, y in zip(v, w, strict=False)]
        pchip, natural = PchipInterpolator(v, i), CubicSpline(v, i, bc_type="natural")
        rows += rows_of(name, "monotone", PPoly(pchip.c, pchip.x), v)
        rows += rows_of(name, "natural", PPoly(natural.c, natural.x), v)
        scale = (1.0 if w is None else w.mean()) * ((v[-1] - v[0]) / v.size) ** 3
        for k, stiff in enumerate((0.01, 1.0, 30.0)):
            lam = stiff * scale
            smooth = PPoly.from_spline(make_smoothing_spline(v, i, w=w, lam=lam))
            inside = np.diff(smooth.x) > 0.0
            pieces = PPoly(smooth.c[:, inside], np.append(smooth.x[:-1][inside], smooth.x[-1]))
            rows += [(name, f"smoothing{k}", "lambda", 0.0, lam), *rows_of(name, f"smoothing{k}", pieces, v)]
    with OUT.open("w", encoding="utf-8", newline="\n") as file:
        file.write("# made by make_interpolants.py; invented sweeps\nsweep,method,what,x,value\n")
        file.writelines(f"{n},{m},{what},{float(x)!r},{float(y)!r}\n" for n, m, what, x, y in rows)


if __name__ == "__main__":
    main()
