"""Exact single- and double-diode values: the implicit circuit equation, solved in high precision.

    F(V, I) = Iph − Σk I0k·(exp((V + I·Rs)/ak) − 1) − (V + I·Rs)/Rsh − I = 0,   ak = nk·cells·k·T/q

F falls in V and in I and is concave, so each of V and I is one bracketed root and P = V·I(V) is concave. The
unknown is V or I itself, never the junction voltage; safeguarded Newton steps find it, a change of sign
certifies it. Slopes come from implicit differentiation, second slopes from differences on
the tangent. Shared by make_diode_truth.py and diode_truth_check.py; k and q are the exact SI values of 2019.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

from mpmath import mp, mpf

DIGITS = 130  # 60 for a result, 30 for a relative difference, 40 to spare
POLISHED = 3  # Newton steps below a relative 1e-45 that end a solution: each doubles its digits
MAX_STEPS = 5000
Circuit = dict[str, mpf]
Slopes = dict[str, mpf]


@dataclass(frozen=True)
class Device:
    """One circuit in binary64, as the table prints it; i02_a and n2 are absent for a single diode."""

    iph_a: float
    i01_a: float
    n1: float
    i02_a: float | None
    n2: float | None
    rs_ohm: float
    rsh_ohm: float
    cells: int
    temperature_c: float

    @property
    def diodes(self) -> int:
        return 1 if self.i02_a is None else 2

    def saturation_a(self) -> list[float]:
        return [self.i01_a] if self.i02_a is None else [self.i01_a, self.i02_a]

    def thermal_v(self) -> list[float]:
        """The ak in V, to double precision: for choosing samples and working digits only."""
        string = self.cells * 8.617333262e-5 * (self.temperature_c + 273.15)
        return [n * string for n in (self.n1, self.n2) if n is not None]


def exact(device: Device) -> Circuit:
    """The device in the current working precision, with `vt` = cells·k·T/q in V."""
    kelvin = mpf(device.temperature_c) + mpf("273.15")
    circuit = {
        "iph": mpf(device.iph_a),
        "i01": mpf(device.i01_a),
        "n1": mpf(device.n1),
        "rs": mpf(device.rs_ohm),
        "rsh": mpf(device.rsh_ohm),
        "vt": device.cells * kelvin * mpf("1.380649e-23") / mpf("1.602176634e-19"),
    }
    if device.i02_a is not None:
        circuit |= {"i02": mpf(device.i02_a), "n2": mpf(device.n2)}
    return circuit


def names(circuit: Circuit) -> list[str]:
    """The parameters that enter a scale, in the order of the table's columns."""
    return [p for p in ("iph", "i01", "n1", "i02", "n2", "rs", "rsh") if p in circuit]


def digits(device: Device, x: float) -> int:
    """Working digits.

    The junction voltage is what is left of V + I·Rs: the digits cancelled there are added, and once more for
    the step h of `second_slopes`, as h² moves I·Rs and must not move the junction voltage.
    """
    least_a = math.log10(min(device.thermal_v()))
    lost = [0.0]
    if x:
        lost.append(math.log10(abs(x)) + max(0.0, math.log10(device.rs_ohm or 1.0)) - least_a)
    if device.iph_a and device.rs_ohm:
        lost.append(math.log10(device.iph_a) + math.log10(device.rs_ohm) - least_a)
    return DIGITS + 2 * math.ceil(max(lost))


def _pairs(c: Circuit) -> list[tuple[mpf, mpf, str]]:
    """(I0k, ak, k) of each diode."""
    return [(c["i0" + k], c["n" + k] * c["vt"], k) for k in "12" if "i0" + k in c]


def imbalance(c: Circuit, v: mpf, i: mpf) -> mpf:
    """F(V, I) in A."""
    u = v + i * c["rs"]
    return c["iph"] - sum(i0 * mp.expm1(u / a) for i0, a, _ in _pairs(c)) - u / c["rsh"] - i


def slopes(c: Circuit, v: mpf, i: mpf) -> Slopes:
    """∂I/∂V (key `v`) and ∂I/∂p, by implicit differentiation of F."""
    u = v + i * c["rs"]
    g = 1 / c["rsh"]
    out: Slopes = {}
    conductance = g
    for i0, a, k in _pairs(c):
        conductance += i0 * mp.exp(u / a) / a
        out["i0" + k] = -mp.expm1(u / a)
        out["n" + k] = i0 * mp.exp(u / a) * u / (a * c["n" + k])
    out |= {"v": -conductance, "iph": mpf(1), "rs": -conductance * i, "rsh": u * g * g}
    return {p: d / (1 + c["rs"] * conductance) for p, d in out.items()}


def second_slopes(c: Circuit, v: mpf, i: mpf, along: list[str]) -> dict[str, Slopes]:
    """∂(∂I/∂p)/∂q for each q of `along` that is neither 0 nor ∞, by central differences on the tangent."""
    first = slopes(c, v, i)
    out = {}
    for q in along:
        at = v if q == "v" else c[q]
        if at == 0 or mp.isinf(at):
            continue
        h = at * mpf(10) ** -((mp.dps - 70) // 2)
        up, down = (
            slopes(c, v + s, i + s * first[q]) if q == "v" else slopes(c | {q: at + s}, v, i + s * first[q])
            for s in (h, -h)
        )
        out[q] = {p: (up[p] - down[p]) / (2 * h) for p in first}
    return out


def current(c: Circuit, v: mpf) -> mpf:
    """I(V) in A."""
    if c["rs"] == 0:
        return imbalance(c, v, mpf(0))
    g, dark = 1 / c["rsh"], sum(i0 for i0, _, _ in _pairs(c))
    balanced = -v / c["rs"]
    low = min(c["iph"], balanced)
    high = (c["iph"] + dark - g * v) / (1 + g * c["rs"])
    if balanced > c["iph"]:
        high = min(high, balanced)
    return _root(c, low, high, lambda i: (v, i), "i")


def voltage(c: Circuit, i: mpf) -> mpf:
    """V(I) in V; −∞ where no voltage drives that current (no shunt, I ≥ Iph + ΣI0)."""
    g, shift = 1 / c["rsh"], i * c["rs"]
    dark = sum(i0 for i0, _, _ in _pairs(c))
    excess = i - c["iph"]
    if excess == 0:
        return -shift
    if excess < 0:
        bounds = [a * mp.log1p(-excess / i0) for i0, a, _ in _pairs(c)] + ([-excess / g] if g else [])
        return _root(c, -shift, min(bounds) - shift, lambda v: (v, i), "v")
    if g == 0 and excess >= dark:
        return -mp.inf
    bounds = [max(a for _, a, _ in _pairs(c)) * mp.log1p(-excess / dark)] if excess < dark else []
    bounds += [-excess / g] if g else []
    return _root(c, max(bounds) - shift, -shift, lambda v: (v, i), "v")


def maximum(c: Circuit) -> tuple[mpf, mpf]:
    """(V_Pmax, I_Pmax): the root of dP/dV = I + V·∂I/∂V on (0, Voc)."""
    low, high = mpf(0), voltage(c, mpf(0))
    v = high * mpf("0.8")
    settled = False
    for _ in range(MAX_STEPS):
        i = current(c, v)
        first = slopes(c, v, i)
        rise = i + v * first["v"]
        if settled or rise == 0:
            _certify(lambda w: (j := current(c, w)) + w * slopes(c, w, j)["v"], v, v * mpf(10) ** -45)
            return v, i
        low, high = (v, high) if rise > 0 else (low, v)
        bend = 2 * first["v"] + v * second_slopes(c, v, i, ["v"])["v"]["v"]
        step = v - rise / bend
        settled = abs(step - v) < abs(v) * mpf(10) ** -35
        v = step if low < step < high or settled else (low + high) / 2
    raise ArithmeticError("no maximum of power")


def _root(c: Circuit, low: mpf, high: mpf, point: Callable[[mpf], tuple[mpf, mpf]], unknown: str) -> mpf:
    """The root of F between F(low) ≥ 0 and F(high) ≤ 0 in the unknown `v` or `i`.

    Newton on F near the root; far above turn-on Newton on ln(F + Σ I0·exp(u/a)) − ln(Σ I0·exp(u/a)), which is
    nearly straight where F is nearly exponential; bisection whenever the step leaves the bracket.
    """
    ends = [x for x in (low, high) if imbalance(c, *point(x)) == 0]
    if ends:
        return ends[0]
    x, settled, gap = low, 0, mpf(0)
    for count in range(MAX_STEPS):
        f = imbalance(c, *point(x))
        if f == 0 or settled == POLISHED:
            _certify(lambda y: imbalance(c, *point(y)), x, gap)
            return x
        low, high = (x, high) if f > 0 else (low, x)
        gap = _gap(c, x, point, unknown)
        trial = [y for y in _newton(c, x, f, point, unknown) if low - gap < y < high + gap]
        newton = bool(trial) and count % 64 < 60
        step = trial[0] if newton else (low + high) / 2
        settled = settled + 1 if newton and abs(step - x) < gap else 0
        x = step
    raise ArithmeticError(f"no root between {low} and {high}")


def _newton(c: Circuit, x: mpf, f: mpf, point: Callable[[mpf], tuple[mpf, mpf]], unknown: str) -> list[mpf]:
    """The Newton steps worth trying from x, best first."""
    v, i = point(x)
    u, g = v + i * c["rs"], 1 / c["rsh"]
    du = c["rs"] if unknown == "i" else mpf(1)
    straight = g * du + (1 if unknown == "i" else 0)
    grown = [(i0 * mp.exp(u / a), a) for i0, a, _ in _pairs(c)]
    total, steep = sum(e for e, _ in grown), sum(e / a for e, a in grown) * du
    plain = x + f / (straight + steep)
    # F + Σ I0·exp(u/a), without the cancellation of the two.
    rest = c["iph"] + sum(i0 for i0, _, _ in _pairs(c)) - g * u - i
    least_a = min(a for _, a in grown)
    if u < -least_a or abs(plain - x) * du < least_a or rest <= 0:
        return [plain]
    logarithmic = x + mp.log(rest / total) / (straight / rest + steep / total)
    return [logarithmic, plain]


def _gap(c: Circuit, x: mpf, point: Callable[[mpf], tuple[mpf, mpf]], unknown: str) -> mpf:
    """What x may be off: a relative 1e-45 of itself and of a (of the junction voltage, where below −a)."""
    v, i = point(x)
    u = max(-(v + i * c["rs"]), min(a for _, a, _ in _pairs(c)))
    return min(abs(x), u / c["rs"] if unknown == "i" else u) * mpf(10) ** -45


def _certify(f: Callable[[mpf], mpf], x: mpf, gap: mpf) -> None:
    """Raise unless a falling f changes sign within the gap around x."""
    if not (f(x - gap) > 0 > f(x + gap)) and f(x) != 0:
        raise ArithmeticError(f"{mp.nstr(x, 20)} is not a root")
