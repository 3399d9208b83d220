"""Which circuits, voltages and currents the table of exact values holds: seeded, log-uniform, with edges.

A row's edge reads `device/point`, the names of the two samplers it came from. Sampled parameters are rounded
to five decimal digits, so that the table does not hang on the last bit of a platform's logarithm.
"""

from __future__ import annotations

import math
import random
from collections.abc import Callable, Iterator
from dataclasses import replace

from mpmath import mp, mpf

from diode_truth_rows import KEY_KINDS, Case
from diode_truth_solve import Device, current, digits, exact, voltage

SEED = 19680405
INF = math.inf


def short(x: float) -> float:
    return float(f"{x:.4e}")


class Sampler:
    """One seeded stream of devices and points."""

    def __init__(self, seed: int) -> None:
        self.random = random.Random(seed)

    def log(self, low: float, high: float) -> float:
        """10 to a uniform power between low and high."""
        return short(10.0 ** self.random.uniform(low, high))

    def flat(self, low: float, high: float) -> float:
        return short(self.random.uniform(low, high))

    def pick(self, *of: float) -> float:
        return self.random.choice(of)

    def device(self, diodes: int) -> Device:
        """Anything in the domain."""
        second = diodes == 2
        return Device(
            iph_a=self.log(-12, 3),
            i01_a=self.log(-40, 0),
            n1=self.log(math.log10(0.30001), 1),
            i02_a=self.log(-40, 0) if second else None,
            n2=self.log(math.log10(0.30001), 1) if second else None,
            rs_ohm=self.log(-6, 6),
            rsh_ohm=self.log(-3, 12),
            cells=round(self.log(0, 3)),
            temperature_c=self.flat(-223.15, 226.85),
        )

    def everyday(self, device: Device) -> Device:
        """A cell or a module as one meets them."""
        cells, iph = int(self.pick(1, 1, 1, 36, 60)), self.log(-5, 1)
        second = device.i02_a is not None
        return Device(
            iph_a=iph,
            i01_a=short(iph * self.log(-14, -5)),
            n1=self.flat(1, 2),
            i02_a=short(iph * self.log(-9, -4)) if second else None,
            n2=self.flat(1.5, 2) if second else None,
            rs_ohm=short(cells * self.log(-3.5, -1) / iph),
            rsh_ohm=short(cells * self.log(1, 4) / iph),
            cells=cells,
            temperature_c=self.pick(25.0, 45.0, -10.0, 75.0),
        )

    def corner(self, device: Device) -> Device:
        """Every parameter at an end of its range."""
        second = device.i02_a is not None
        return Device(
            iph_a=self.pick(1e-12, 1e3),
            i01_a=self.pick(1e-40, 1.0),
            n1=self.pick(0.3, 10.0),
            i02_a=self.pick(1e-40, 1.0) if second else None,
            n2=self.pick(0.3, 10.0) if second else None,
            rs_ohm=self.pick(1e-12, 1e6),
            rsh_ohm=self.pick(1e-3, 1e300),
            cells=int(self.pick(1, 1000)),
            temperature_c=self.pick(-223.15, 226.85),
        )

    def same_n(self, device: Device) -> Device:
        return device if device.n2 is None else replace(device, n2=device.n1)

    def unlike(self, device: Device) -> Device:
        """A steep weak diode beside a flat strong one, in either order."""
        steep, flat = (self.log(-40, -25), self.flat(0.3, 1)), (self.log(-5, 0), self.flat(3, 10))
        if device.i02_a is None:
            return replace(device, i01_a=steep[0], n1=steep[1])
        first, second = self.random.sample([steep, flat], 2)
        return replace(device, i01_a=first[0], n1=first[1], i02_a=second[0], n2=second[1])

    def i0_tiny(self, device: Device) -> Device:
        i02 = None if device.i02_a is None else self.log(-40, -30)
        return replace(device, i01_a=self.pick(1e-40, self.log(-40, -30)), i02_a=i02)

    def i0_large(self, device: Device) -> Device:
        return replace(device, i01_a=self.pick(1.0, self.log(-3, 0)))

    def families(self) -> dict[str, Callable[[Device], Device]]:
        """Device samplers by name; each bends a device drawn from the whole domain."""
        return {
            "whole": lambda d: d,
            "everyday": self.everyday,
            "corner": self.corner,
            "rs_zero": lambda d: replace(d, rs_ohm=0.0),
            "rsh_inf": lambda d: replace(d, rsh_ohm=INF),
            "rs_zero_rsh_inf": lambda d: replace(d, rs_ohm=0.0, rsh_ohm=INF),
            "dark": lambda d: replace(d, iph_a=0.0),
            "dark_bare": lambda d: replace(d, iph_a=0.0, rs_ohm=0.0, rsh_ohm=INF),
            "rs_tiny": lambda d: replace(d, rs_ohm=1e-12),
            "g_tiny": lambda d: replace(d, rsh_ohm=self.log(15, 300)),
            "i0_tiny": self.i0_tiny,
            "i0_large": self.i0_large,
            "same_n": self.same_n,
            "unlike": self.unlike,
            "cold": lambda d: replace(d, temperature_c=self.flat(-223.15, -193.15)),
        }

    # Voltages for I(V).

    def sweep(self, d: Device) -> float:
        """Between 0 and a little above Voc, or a few a for a dark device."""
        top = open_circuit_v(d) or 10 * min(d.thermal_v())
        return short(self.random.uniform(0, 1.2) * top)

    def near_voc(self, d: Device) -> float:
        voc = open_circuit_v(d)
        return voc * (1.0 + self.pick(0.0, 1.0, -1.0) * self.log(-15.5, -2)) if voc else self.near_zero(d)

    def near_zero(self, d: Device) -> float:
        return self.pick(0.0, 1.0, -1.0, 1.0, -1.0) * self.log(self.pick(-300, -20, -8), -3)

    def forward(self, d: Device) -> float:
        """Where a diode alone would carry 1e-20 A to 1e6 A."""
        k = self.random.randrange(d.diodes)
        carried, a = self.log(-20, 6), d.thermal_v()[k]
        return short(a * math.log1p(carried / d.saturation_a()[k]) + d.rs_ohm * carried)

    def reverse(self, d: Device) -> float:
        return -self.log(-3, 4)

    def huge(self, d: Device) -> float:
        """|V| from 1e3 V to 1e300 V; forward with Rs = 0 only as far as the current stays in range."""
        if d.rs_ohm == 0 and self.pick(0, 1):
            i0, a = d.saturation_a()[0], d.thermal_v()[0]
            return short(a * (math.log(10) * self.random.uniform(6, 307) - math.log(i0)))
        size = self.log(3, self.pick(8, 40, 300))
        return -size if d.rs_ohm == 0 else self.pick(-size, size, size)

    # Currents for V(I).

    def inside(self, d: Device) -> float:
        return short(self.random.random() * d.iph_a) if d.iph_a else -self.log(-30, 3)

    def injected(self, d: Device) -> float:
        return -self.log(-25, 6)

    def under_iph(self, d: Device) -> float:
        """Iph, or below it by a relative 1e-16 to 1e-3; for a dark device below 0 by that part of ΣI0."""
        if d.iph_a == 0:
            return -math.fsum(d.saturation_a()) * self.log(-16, -3)
        return d.iph_a * (1.0 - self.pick(0.0, 1.0, 1.0, 1.0) * self.log(-16, -3))

    def saturated(self, d: Device) -> float:
        """Between Iph and Iph + ΣI0, down to a relative 1e-15 of the end."""
        dark = math.fsum(d.saturation_a())
        return d.iph_a + dark * self.pick(self.random.random(), 1.0 - self.log(-15, -1), self.log(-12, -1))

    def over_iph(self, d: Device) -> float:
        return short(d.iph_a + self.log(-12, 4))

    def near_isc(self, d: Device) -> float:
        """Where V nearly vanishes."""
        isc = short_circuit_a(d) or self.log(-300, -40)
        return isc * (1.0 + self.pick(0.0, 1.0, -1.0) * self.log(-15.5, -2))

    def huge_current(self, d: Device) -> float:
        return self.pick(-1.0, -1.0, 1.0) * self.log(3, self.pick(8, 40, 300))


def open_circuit_v(d: Device) -> float:
    """Voc rounded to binary64."""
    with mp.workdps(digits(d, 0.0)):
        return float(voltage(exact(d), mpf(0)))


def short_circuit_a(d: Device) -> float:
    """Isc rounded to binary64."""
    with mp.workdps(digits(d, 0.0)):
        return float(current(exact(d), mpf(0)))


def at_the_ends() -> Iterator[Case]:
    """Voltages and currents at the ends of binary64, where the answer may lie beyond it."""
    largest, least = 1.7976931348623157e308, 5e-324
    lit = Device(0.76, 3.2e-7, 1.48, None, None, 0.036, 53.7, 1, 33.0)
    two = replace(lit, i01_a=1e-40, n1=0.3, i02_a=1.0, n2=10.0)
    bare = replace(lit, rs_ohm=0.0, rsh_ohm=INF)
    tiny, large = replace(two, rs_ohm=1e-12, rsh_ohm=1e300), replace(lit, rs_ohm=1e6, iph_a=1e3)
    for name, device in {"lit": lit, "two": two, "bare": bare, "rs_tiny": tiny, "rs_large": large}.items():
        for device_or_dark, dark in ((device, ""), (replace(device, iph_a=0.0), "_dark")):
            for x in (largest, -largest, 1e290, least, -2.3e-308):
                yield Case("current", device_or_dark, x, f"ends_{name}{dark}/voltage")
                yield Case("voltage", device_or_dark, -x, f"ends_{name}{dark}/current")


def cases(seed: int = SEED) -> Iterator[Case]:
    """All rows wanted, in the table's order."""
    s = Sampler(seed)
    voltages = [s.sweep, s.near_voc, s.near_zero, s.forward, s.reverse, s.huge]
    currents = [s.inside, s.injected, s.under_iph, s.saturated, s.over_iph, s.near_isc, s.huge_current]
    for kind, points, repeats in (("current", voltages, 10), ("voltage", currents, 6)):
        for family, bend in s.families().items():
            for point in points:
                for repeat in range(repeats):
                    device = bend(s.device(1 + repeat % 2))
                    yield Case(kind, device, point(device), f"{family}/{point.__name__}")
    yield from at_the_ends()
    for family, bend in s.families().items():
        for repeat in range(2 if family.startswith("dark") else 8):
            device = bend(s.device(1 + repeat % 2))
            for kind in KEY_KINDS:
                yield Case(kind, device, None, f"{family}/key")
