"""What every file of the corpus is made of: invented devices, their readings, written digits and the expected answer.

The digits that a file shows are the truth: a reading is rounded to what is written, and the expected number is that
decimal number times a power of ten, formed exactly before it becomes a float.
"""

import math
import random
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Any


@dataclass(frozen=True)
class Expected:
    """One sweep that a file holds: V and A in generator sign, and the options of the sweep that the file states."""

    label: str | None
    voltage_v: list[float]
    current_a: list[float]
    options: dict[str, float] = field(default_factory=dict)


@dataclass(frozen=True)
class CorpusFile:
    """A file and its right answer.

    `needs` holds the options without which a careful person would have to ask, too; `refused` says why no reading is
    right; `incomplete` says that the file is cut, which a reader must mention.
    """

    name: str
    data: bytes
    kind: str
    sweeps: list[Expected]
    needs: dict[str, Any] | None = None
    refused: str | None = None
    incomplete: bool = False


@dataclass(frozen=True)
class Device:
    """An invented cell or module: I(V) = Isc·[1 − (1 − k)·(exp(V/a) − 1)/(exp(Voc/a) − 1) − k·V/Voc], k the leak."""

    isc_a: float
    voc_v: float
    a_v: float
    leak: float
    area_cm2: str
    cells: int = 1

    def current(self, v: float) -> float:
        """Current (A) at a voltage (V), generator sign."""
        rise = math.expm1(v / self.a_v) / math.expm1(self.voc_v / self.a_v)
        return self.isc_a * (1 - (1 - self.leak) * rise - self.leak * v / self.voc_v)

    def voltage(self, i: float) -> float:
        """Voltage (V) at a current (A) by bisection; the current falls strictly with the voltage."""
        low, high = -30 * self.voc_v, 2 * self.voc_v
        for _ in range(80):
            middle = (low + high) / 2
            low, high = (middle, high) if self.current(middle) > i else (low, middle)
        return low


@dataclass(frozen=True)
class Column:
    """Numbers as they stand in a file, with "." and "-", and what they mean in SI."""

    texts: list[str]
    si: list[float]

    def negative(self) -> "Column":
        """The same meaning written in load sign: the texts change their sign, the SI numbers do not."""
        turned = [t[1:] if t.startswith("-") else "-" + t for t in self.texts]
        return Column(turned, self.si)


EXPONENT = {"V": 0, "mV": -3, "kV": 3, "A": 0, "mA": -3, "µA": -6, "uA": -6, "nA": -9}


def write(values: Sequence[float], exponent: int = 0, digits: int = 5, style: str = "fixed") -> Column:
    """Round values (SI) to written digits in a unit of 10^exponent; `digits` count from the largest value's first."""
    scaled = [v / 10.0**exponent for v in values]
    largest = max(abs(v) for v in scaled)
    if style == "exponent":
        texts = [f"{v:.{digits - 1}e}" for v in scaled]
    else:
        decimals = max(0, digits - 1 - math.floor(math.log10(largest)))
        texts = [f"{v:.{decimals}f}" for v in scaled]
    texts = [t[1:] if t.startswith("-") and Decimal(t) == 0 else t for t in texts]
    return Column(texts, [meaning(t, exponent) for t in texts])


def write_decimals(values: Sequence[float], exponent: int, decimals: int) -> Column:
    """Round values (SI) to a fixed number of decimals in a unit of 10^exponent."""
    texts = [f"{v / 10.0**exponent:.{decimals}f}" for v in values]
    texts = [t[1:] if t.startswith("-") and Decimal(t) == 0 else t for t in texts]
    return Column(texts, [meaning(t, exponent) for t in texts])


def meaning(text: str, exponent: int = 0, factor: str = "1") -> float:
    """The float nearest to text · 10^exponent · factor."""
    return float(Decimal(text) * Decimal(factor).scaleb(exponent))


@dataclass(frozen=True)
class Sweep:
    """One sweep as it is written: voltage and current columns, their units and the device."""

    v: Column
    i: Column
    v_unit: str
    i_unit: str
    device: Device

    def __len__(self) -> int:
        return len(self.v.texts)

    def backwards(self) -> "Sweep":
        """The same readings from the last to the first."""
        v, i = (Column(c.texts[::-1], c.si[::-1]) for c in (self.v, self.i))
        return Sweep(v, i, self.v_unit, self.i_unit, self.device)

    def expected(self, label: str | None = None, /, **options: float) -> Expected:
        """The answer when every reading is there."""
        return Expected(label, self.v.si, self.i.si, options)

    def kept(self, rows: Sequence[int], label: str | None = None, /, **options: float) -> Expected:
        """The answer when only some rows hold a reading."""
        return Expected(label, [self.v.si[k] for k in rows], [self.i.si[k] for k in rows], options)


Readings = tuple[list[float], list[float]]

# Isc (A), Voc (V), a (V), share of the leak, areas (cm²), cells.
DEVICES: dict[str, tuple[tuple[float, float], tuple[float, float], float, float, list[str], int]] = {
    "dye": ((3e-5, 9e-4), (0.55, 0.75), 0.055, 1.0, ["0.25", "0.16"], 1),
    "organic": ((5e-4, 2e-3), (0.6, 0.85), 0.05, 1.0, ["0.09", "0.12"], 1),
    "perovskite": ((1.5e-3, 9e-3), (0.95, 1.15), 0.06, 1.0, ["0.1", "0.2"], 1),
    "silicon": ((0.05, 0.9), (0.52, 0.64), 0.036, 0.33, ["4.0", "20"], 1),
    "module": ((1.2, 5.0), (19.0, 22.0), 1.4, 0.25, ["3600", "5100"], 36),
}


class Draw(random.Random):
    """Random choices of one file; two files of one seed are independent of each other."""

    def device(self, kind: str | None = None) -> Device:
        """An invented device: dye (µA), organic, perovskite (mA), silicon (A) or module (36 cells)."""
        kind = kind or self.choice(["dye", "organic", "perovskite", "silicon", "module"])
        leak = self.uniform(0.02, 0.2)
        isc, voc, a, leaks, areas, cells = DEVICES[kind]
        return Device(self.uniform(*isc), self.uniform(*voc), a, leak * leaks, self.choice(areas), cells)

    def curve(self, device: Device, points: int | None = None, swept: str | None = None) -> Readings:
        """Noisy readings (V, A) of a device, stepped in voltage or in current."""
        points = points or self.choice([25, 25, 25, 25, 25, 26, 21, 31, 12, 40, 6, 8, 60])
        swept = swept or self.choice(["voltage", "voltage", "current"])
        # A few readings with noise may not show the sign of their current.
        noise = self.choice([0.0, 1e-3, 3e-3]) if points > 12 else 0.0
        if swept == "current":
            top = 1 + 0.1 * device.leak
            i = [device.isc_a * top * k / (points - 1) for k in range(points)]
            v = [device.voltage(x) + noise * device.voc_v * self.gauss(0, 0.3) for x in i]
            return v, i
        start = self.choice([0.0, -0.05, -0.1])
        v = [device.voc_v * (start + (1.05 - start) * k / (points - 1)) for k in range(points)]
        i = [device.current(x) + noise * device.isc_a * self.gauss(0, 1) for x in v]
        return v, i

    def sweep(
        self,
        kind: str | None = None,
        *,
        v_unit: str = "V",
        i_unit: str | None = None,
        points: int | None = None,
        swept: str | None = None,
        digits: int | None = None,
        style: str = "fixed",
    ) -> Sweep:
        """A sweep of an invented device with its digits written."""
        device = self.device(kind)
        v, i = self.curve(device, points, swept)
        unit = i_unit or self.usual_unit(device)
        digits = digits or self.choice([4, 5, 5, 6])
        i_column = write(i, EXPONENT[unit], digits, style)
        return Sweep(write(v, EXPONENT[v_unit], digits, "fixed"), i_column, v_unit, unit, device)

    def usual_unit(self, device: Device) -> str:
        """A unit that people would write this device's current in."""
        if device.isc_a < 1e-3:
            return self.choice(["µA", "mA", "uA", "mA"])
        return self.choice(["mA", "A"]) if device.isc_a < 1 else "A"


Maker = Callable[[Draw, int], CorpusFile]


def made(kind: str, count: int, seed: int, maker: Maker) -> Iterator[CorpusFile]:
    """`count` files of one kind; the maker gets a draw of its own and the number of the file."""
    for k in range(count):
        made_file = maker(Draw(f"{seed}/{kind}/{k}"), k)
        stem, dot, ending = made_file.name.rpartition(".")
        name = f"{kind.replace('/', '_').replace(' ', '_')}_{k:02d}_{stem}{dot}{ending}"
        yield CorpusFile(
            name,
            made_file.data,
            kind,
            made_file.sweeps,
            made_file.needs,
            made_file.refused,
            made_file.incomplete,
        )


def rows(columns: Sequence[Sequence[str]], delimiter: str = ",") -> list[str]:
    """The lines of a table from its columns."""
    return [delimiter.join(cells) for cells in zip(*columns, strict=True)]


def comma(texts: Sequence[str]) -> list[str]:
    """Numbers with a decimal comma."""
    return [t.replace(".", ",") for t in texts]


def aligned(columns: Sequence[Sequence[str]], gap: int = 2, left: bool = False) -> list[str]:
    """Lines of columns that are filled up with blanks to one width."""
    widths = [max(len(c) for c in column) for column in columns]
    pad: Callable[[str, int], str] = str.ljust if left else str.rjust
    filled = [[pad(c, w) for c in column] for column, w in zip(columns, widths, strict=True)]
    return [(" " * gap).join(cells) for cells in zip(*filled, strict=True)]


def headed(sweep: Sweep, delimiter: str = ",", v_name: str = "Voltage", i_name: str = "Current") -> str:
    """The usual heading line."""
    return f"{v_name} ({sweep.v_unit}){delimiter}{i_name} ({sweep.i_unit})"


def table(sweep: Sweep, delimiter: str = ",") -> list[str]:
    """The usual table: a heading line and two columns."""
    return [headed(sweep, delimiter), *rows([sweep.v.texts, sweep.i.texts], delimiter)]


def text(lines: Sequence[str], end: str = "\n", encoding: str = "utf-8") -> bytes:
    """Lines as bytes, the last one ended as well."""
    return "".join(line + end for line in lines).encode(encoding)


def one(name: str, lines: Sequence[str], expected: Expected, **more: Any) -> CorpusFile:
    """A file in UTF-8 with one sweep; its kind is filled in by `made`."""
    return CorpusFile(name, text(lines), "", [expected], **more)
