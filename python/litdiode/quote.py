"""Numbers as they are quoted: value ± standard uncertainty, two digits of the uncertainty, a prefixed unit.

7.31 ± 0.12 mA
"""

from __future__ import annotations

import math

_PREFIXES = {-15: "f", -12: "p", -9: "n", -6: "µ", -3: "m", 0: "", 3: "k", 6: "M", 9: "G"}
_PLAIN = ("", "1", "%", "cm²", "W/m²")


def prefix_exponent(size: float, unit: str) -> int:
    """The power of ten, a multiple of three, that leaves 1 to 999 of `size`; 0 if `unit` takes no prefix."""
    if unit in _PLAIN or unit.startswith("1/") or not math.isfinite(size) or size == 0:
        return 0
    return max(-15, min(9, 3 * math.floor(math.log10(abs(size)) / 3 + 1e-9)))


def prefixed(unit: str, exponent: int) -> str:
    """The unit with the prefix that goes with a power of ten: `A`, -3 → `mA`."""
    return "" if unit == "1" else _PREFIXES[exponent] + unit


def plus_minus(value: float, u: float | None) -> str:
    """`value ± u` with two significant digits of `u`; without `u` the value alone, in four digits."""
    if not math.isfinite(value):
        return "∞" if value > 0 else "−∞" if value < 0 else "?"
    if u is None or not math.isfinite(u) or u <= 0:
        return _minus(_plain(value, 3 - _power(value)))
    digits = 1 - _power(u)
    # 0.0996 rounds up to 0.10: one decimal fewer then holds two digits.
    digits = 1 - _power(round(u, digits))
    return f"{_minus(_plain(value, digits))} ± {_plain(u, digits)}"


def quoted(value: float, u: float | None, unit: str, exponent: int | None = None) -> str:
    """`value ± u` with its unit; the prefix is chosen by the value's size unless its exponent is given.

    Tenths of a volt stay in volts, as the trade quotes them. A very large or very small figure, such as a
    saturation current of 1e-20 A, is written with a power of ten.
    """
    tenths = unit == "V" and 0.1 <= abs(value) < 1
    power = exponent if exponent is not None else 0 if tenths else prefix_exponent(_size(value, u), unit)
    scale = 10.0**power
    if value and math.isfinite(value) and unit not in _PLAIN and not 1e-3 <= abs(value) / scale < 1e6:
        return f"{value:.2e} {unit}" if not u else f"({value:.2e} ± {u:.1e}) {unit}"
    text = plus_minus(value / scale, None if u is None else u / scale)
    named = prefixed(unit, power)
    if not named:
        return text
    return f"({text}) {named}" if "±" in text and named == "%" else f"{text} {named}"


def _size(value: float, u: float | None) -> float:
    """What the prefix is chosen by: a figure within its uncertainty of zero has the size of that."""
    return max(abs(value), u) if u is not None and math.isfinite(u) else value


def between(value: float, low: float | None, high: float | None, unit: str) -> str:
    """`value (95 %: low to high) unit`, three digits each; an end that is not given is written as an open one."""
    finite = [abs(x) for x in (value, low, high) if x is not None and math.isfinite(x) and x != 0]
    power = prefix_exponent(min(finite, default=0.0) if not math.isfinite(value) else value, unit)
    scale = 10.0**power

    def end(x: float | None) -> str:
        if x is None:
            return "open"
        if not math.isfinite(x):
            return "∞" if x > 0 else "−∞"
        scaled = x / scale
        return _minus(_plain(scaled, 2 - _power(scaled))) if 1e-3 <= abs(scaled) < 1e6 else _minus(f"{scaled:.2e}")

    named = prefixed(unit, power)
    return f"{end(value)} (95 %: {end(low)} to {end(high)}){' ' + named if named else ''}"


def _power(size: float) -> int:
    return math.floor(math.log10(abs(size))) if size else 0


def _plain(value: float, digits: int) -> str:
    return f"{round(value, digits):.{max(0, digits)}f}"


def _minus(text: str) -> str:
    return text.replace("-", "−")
