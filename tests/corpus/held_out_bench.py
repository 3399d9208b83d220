"""Invented devices, their written readings and small tools for the held-out files; shared by all held_out_* modules.

A sweep is what a file shows: texts with "." and "-" in a unit. Its expected numbers are those texts times a power of
ten, in generator sign, so the truth is never finer than the digits.
"""

import math
import random
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from parts import CorpusFile, Expected

POWER = {"V": 0, "mV": -3, "kV": 3, "A": 0, "mA": -3, "µA": -6, "uA": -6, "nA": -9}


@dataclass(frozen=True)
class Device:
    """An invented device: I = Iph − I0·(exp(u/a) − 1) − g·u at the junction voltage u, and V = u − Rs·I."""

    isc_a: float
    voc_v: float
    a_v: float
    rs_ohm: float
    g_s: float
    area: str
    cells: int

    def at_junction(self, u: float, light: float) -> float:
        """Current (A) at a junction voltage (V); `light` 1 gives the full photocurrent, 0 the dark curve."""
        i0 = (self.isc_a - self.g_s * self.voc_v) / math.expm1(self.voc_v / self.a_v)
        return light * self.isc_a - i0 * math.expm1(min(u / self.a_v, 600.0)) - self.g_s * u

    def current(self, v: float, light: float = 1.0) -> float:
        """Current (A) at a voltage (V)."""
        u = bisect(lambda u: u - self.rs_ohm * self.at_junction(u, light) - v, v - 2 * self.voc_v, v + 2 * self.voc_v)
        return self.at_junction(u, light)

    def voltage(self, i: float, light: float = 1.0) -> float:
        """Voltage (V) at a current (A)."""
        u = bisect(lambda u: i - self.at_junction(u, light), -20 * self.voc_v, 2 * self.voc_v)
        return u - self.rs_ohm * i


def bisect(rising: Callable[[float], float], low: float, high: float) -> float:
    """The root of a rising function."""
    for _ in range(90):
        middle = (low + high) / 2
        low, high = (middle, high) if rising(middle) < 0 else (low, middle)
    return low


# Isc per area (mA/cm², of the whole string), Voc (V), ideality, Rs and g in units of Voc/Isc and Isc/Voc, areas (cm²),
# cells.
KINDS: dict[str, tuple[tuple[float, float], tuple[float, float], float, float, float, list[str], int]] = {
    "indoor dye": ((0.06, 0.15), (0.48, 0.6), 1.8, 0.02, 0.03, ["0.25", "0.28", "0.88"], 1),
    "dye": ((7.0, 15.0), (0.62, 0.76), 1.9, 0.09, 0.02, ["0.16", "0.25", "0.36"], 1),
    "organic": ((7.0, 15.0), (0.55, 0.88), 1.6, 0.05, 0.12, ["0.045", "0.09", "0.1"], 1),
    "perovskite": ((17.0, 24.0), (0.98, 1.17), 1.7, 0.05, 0.03, ["0.09", "0.1", "1.0"], 1),
    "thin film": ((22.0, 35.0), (0.5, 0.72), 1.5, 0.06, 0.06, ["0.5", "0.43", "1.0"], 1),
    "small silicon": ((30.0, 38.0), (0.53, 0.61), 1.3, 0.07, 0.05, ["1.0", "2.25", "4.0"], 1),
    "wafer": ((35.0, 40.0), (0.63, 0.69), 1.1, 0.03, 0.01, ["243.4", "244.3", "239"], 1),
    "calculator": ((0.003, 0.012), (2.1, 2.6), 1.9, 0.04, 0.05, ["3.2", "2.75"], 4),
    "minimodule": ((1.8, 3.2), (3.8, 4.6), 1.7, 0.06, 0.05, ["20", "25"], 7),
    "panel": ((0.75, 1.0), (20.4, 22.1), 1.2, 0.04, 0.02, ["3240", "5100"], 36),
    "module": ((0.5, 0.56), (44.8, 47.2), 1.1, 0.03, 0.01, ["16400", "19400"], 72),
}
SMALL = ["indoor dye", "dye", "organic", "perovskite", "thin film", "small silicon"]
LARGE = ["wafer", "panel", "module"]


@dataclass(frozen=True)
class Sweep:
    """Readings as they are written, with what turns them into V and A in generator sign."""

    v: list[str]
    i: list[str]
    vu: str
    iu: str
    device: Device
    sign: int = 1
    leads: int = 1
    area: str = "1"

    def __len__(self) -> int:
        return len(self.v)

    def expected(self, label: str | None = None, rows: Sequence[int] | None = None, /, **options: float) -> Expected:
        """The right answer from all rows, or from some."""
        kept = range(len(self)) if rows is None else rows
        power = POWER[self.iu]
        volts = [float(self.leads * Decimal(self.v[k]).scaleb(POWER[self.vu])) + 0.0 for k in kept]
        factor = self.leads * self.sign * Decimal(self.area)
        amperes = [float(factor * Decimal(self.i[k]).scaleb(power)) + 0.0 for k in kept]
        return Expected(label, volts, amperes, options)

    def part(self, start: int, stop: int) -> "Sweep":
        """Some consecutive readings."""
        v, i = self.v[start:stop], self.i[start:stop]
        return Sweep(v, i, self.vu, self.iu, self.device, self.sign, self.leads, self.area)

    def power(self, decimals: int = 4) -> list[str]:
        """The product of the two columns, as programs like to print it."""
        products = [float(v) * float(i) for v, i in zip(self.v, self.i, strict=True)]
        return [f"{p:.{decimals}f}" for p in products]


def written(values: Sequence[float], power: int, digits: int, style: str = "fixed") -> list[str]:
    """Texts in a unit of 10^power; `digits` are significant ones of the largest value."""
    scaled = [v / 10.0**power for v in values]
    if style in "eE":
        return [f"{v:.{digits - 1}{style}}" for v in scaled]
    if style == "g":
        return [f"{v:.{digits}g}" for v in scaled]
    largest = max(abs(v) for v in scaled)
    decimals = max(0, digits - 1 - math.floor(math.log10(largest)))
    texts = [f"{v:.{decimals}f}" for v in scaled]
    return [t[1:] if t.startswith("-") and Decimal(t) == 0 else t for t in texts]


@dataclass(frozen=True)
class Fact:
    """A text of a header and the option that it states."""

    text: str
    options: dict[str, float]


class Bench(random.Random):
    """The random choices of one file."""

    def device(self, kind: str | Sequence[str] | None = None) -> Device:
        """An invented device of a kind, or of one of several kinds."""
        if not isinstance(kind, str):
            kind = self.choice(kind or list(KINDS))
        density, voc, n, rs, g, areas, cells = KINDS[kind]
        area = self.choice(areas)
        isc_a, voc_v = self.uniform(*density) * float(area) / 1000, self.uniform(*voc)
        r = voc_v / isc_a
        spread = self.uniform(0.6, 1.5)
        return Device(isc_a, voc_v, n * 0.0257 * cells, rs * r * spread, g / r * spread, area, cells)

    def sweep(
        self,
        kind: str | Sequence[str] | Device | None = None,
        *,
        points: int | None = None,
        stepped: str = "voltage",
        start: float = -0.05,
        stop: float = 1.04,
        light: float = 1.0,
        backwards: bool = False,
        vu: str = "V",
        iu: str | None = None,
        vd: int = 4,
        idg: int = 5,
        style: str = "fixed",
        sign: int = 1,
        leads: int = 1,
        area: str | None = None,
    ) -> Sweep:
        """Readings with noise: voltage-stepped from start·Voc to stop·Voc, or current-stepped from 0 to Isc."""
        device = kind if isinstance(kind, Device) else self.device(kind)
        count = points or self.choice([8, 11, 16, 21, 25, 25, 31, 41])
        v, i = self.readings(device, count, stepped, (start, stop), light)
        if backwards:
            v, i = v[::-1], i[::-1]
        unit = iu or ("µA" if device.isc_a < 2e-4 else "mA" if device.isc_a < 0.5 else "A")
        per = Decimal(area) if area else Decimal(1)
        i = [x * sign * leads / float(per) for x in i]
        v = [x * leads for x in v]
        v_texts = written(v, POWER[vu], vd, style)
        return Sweep(v_texts, written(i, POWER[unit], idg, style), vu, unit, device, sign, leads, str(per))

    def readings(
        self, device: Device, count: int, stepped: str, span: tuple[float, float], light: float
    ) -> tuple[list[float], list[float]]:
        """Voltages and currents of a curve; the read quantity carries noise, the stepped one almost none."""
        noise = self.choice([0.0003, 0.001, 0.002]) if count > 12 else 0.0003
        if stepped == "current":
            i = [0.99 * device.isc_a * k / (count - 1) for k in range(count)]
            return [device.voltage(x) + noise * device.voc_v * self.gauss(0, 1) for x in i], i
        low, high = span
        v = [device.voc_v * (low + (high - low) * k / (count - 1)) for k in range(count)]
        # A dark reading scatters with its own size, so a passive device never seems to give power.
        size = device.isc_a if light > 0 else 0.0
        clean = [device.current(x, light) for x in v]
        return v, [c + noise * (size + 0.3 * abs(c)) * self.gauss(0, 1) for c in clean]

    def area(self, device: Device, decimal: str = ".") -> Fact:
        """The area as a header states it."""
        cm2 = Decimal(device.area)
        ways = [(device.area, "cm²"), (device.area, "cm2"), (device.area, "cm^2")]
        if cm2 < 1:
            ways.append((f"{(cm2 * 100).normalize():f}", "mm²"))
        if cm2 > 3000:
            ways = [(f"{(cm2 / 10000).normalize():f}", "m²"), (device.area, "cm²")]
        number, unit = self.choice(ways)
        return Fact(f"{number.replace('.', decimal)} {unit}", {"area_cm2": float(cm2)})

    def light(self, decimal: str = ".") -> Fact:
        """The irradiance as a header states it."""
        number, unit, factor = self.choice(
            [
                ("1000", "W/m²", 1),
                ("1000", "W/m2", 1),
                ("100", "mW/cm²", 10),
                ("100.0", "mW/cm2", 10),
                ("500", "W/m²", 1),
                ("987", "W/m^2", 1),
                ("99.2", "mW/cm²", 10),
                ("50", "mW/cm^2", 10),
            ]
        )
        options = {"irradiance_w_m2": float(Decimal(number) * factor)}
        return Fact(f"{number.replace('.', decimal)} {unit}", options)

    def heat(self, decimal: str = ".") -> Fact:
        """The temperature as a header states it."""
        number, unit, offset = self.choice(
            [
                ("25", "°C", "0"),
                ("25.3", "°C", "0"),
                ("24.8", "°C", "0"),
                ("22", "°C", "0"),
                ("31.5", "°C", "0"),
                ("298.15", "K", "273.15"),
                ("45.0", "°C", "0"),
                ("25.0", "degC", "0"),
            ]
        )
        options = {"temperature_c": float(Decimal(number) - Decimal(offset))}
        return Fact(f"{number.replace('.', decimal)} {unit}", options)

    def date(self) -> str:
        """A day as ISO date."""
        return f"20{self.randint(11, 25)}-{self.randint(1, 12):02d}-{self.randint(1, 28):02d}"

    def clock(self) -> str:
        """A time of day."""
        return f"{self.randint(8, 19):02d}:{self.randint(0, 59):02d}:{self.randint(0, 59):02d}"


def stated(*facts: Fact) -> dict[str, float]:
    """The options of several header lines."""
    return {name: value for fact in facts for name, value in fact.options.items()}


def comma(texts: Sequence[str]) -> list[str]:
    """Numbers with a decimal comma."""
    return [t.replace(".", ",") for t in texts]


def grouped(texts: Sequence[str], thousands: str, decimal: str) -> list[str]:
    """Numbers with marked thousands."""
    return [f"{Decimal(t):,}".replace(",", "\0").replace(".", decimal).replace("\0", thousands) for t in texts]


def joined(delimiter: str, *columns: Sequence[str]) -> list[str]:
    """Lines of a table."""
    return [delimiter.join(cells) for cells in zip(*columns, strict=True)]


def padded(width: int, *columns: Sequence[str]) -> list[str]:
    """Lines of a table with right-aligned columns."""
    return ["".join(c.rjust(width) for c in cells) for cells in zip(*columns, strict=True)]


def numbered(count: int, first: int = 1, pattern: str = "{}") -> list[str]:
    """A column of running numbers."""
    return [pattern.format(k) for k in range(first, first + count)]


def clocked(count: int, step: float, pattern: str = "{:.2f}", start: float = 0.0) -> list[str]:
    """A column of times."""
    return [pattern.format(start + k * step) for k in range(count)]


def text_file(
    name: str,
    lines: Sequence[str],
    *sweeps: Expected,
    end: str = "\n",
    encoding: str = "utf-8",
    ended: bool = True,
    **more: Any,
) -> CorpusFile:
    """A text file; its kind and the number in its name are given later."""
    text = end.join(lines) + (end if ended else "")
    return CorpusFile(name, text.encode(encoding), "", list(sweeps), **more)


Layout = Callable[[Bench], CorpusFile]
