"""Make the demo study in python/litdiode/demo: invented cells, seeded noise, and a few everyday troubles.

Run from the project's root:  python tests/data/make_demo.py [folder]

The story, all of it invented: dye-sensitised cells with two counter-electrode coatings, carbon soot and
graphite, six each, on a home-built tracer near its detection limit; a silicon cell as a check, lit and dark.
Independent of the library: I = Iph − I0·(exp(u/a) − 1) − u/Rsh with u = V + Rs·I, by scipy's brentq.
"""

from __future__ import annotations

import sys
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from scipy.constants import Boltzmann, elementary_charge
from scipy.optimize import brentq

SEED = 20240607
FOLDER = Path(__file__).parents[2] / "python" / "litdiode" / "demo"
THERMAL_V = Boltzmann * 298.15 / elementary_charge
DYE_AREA_CM2, SILICON_AREA_CM2 = 0.2, 4.0
Array = NDArray[np.float64]
Rows = tuple[Array, Array]


@dataclass(frozen=True)
class Cell:
    """A one-diode cell: A, A, unitless, Ω, Ω."""

    iph_a: float
    i0_a: float
    n: float
    rs_ohm: float
    rsh_ohm: float

    def current(self, voltage_v: Array) -> Array:
        """I(V) in generator sign."""
        return np.array([self._inside(u) for u in (self._junction(v) for v in voltage_v)])

    def _inside(self, u: float) -> float:
        return self.iph_a - self.i0_a * np.expm1(u / (self.n * THERMAL_V)) - u / self.rsh_ohm

    def _junction(self, v: float) -> float:
        return brentq(lambda u: u - self.rs_ohm * self._inside(u) - v, -2.0, 2.0, xtol=1e-15)


# Typical cell of each recipe; the members of a group scatter about it.
SOOT = Cell(0.66e-3, 1.1e-8, 2.2, 110.0, 9.0e3)
GRAPHITE = Cell(0.56e-3, 1.3e-8, 2.2, 190.0, 6.0e3)
SILICON = Cell(0.132, 2.8e-9, 1.3, 0.12, 400.0)


def member(recipe: Cell, rng: np.random.Generator) -> Cell:
    """One cell of a recipe: every parameter off by a few percent, the saturation current by more."""
    spread = np.exp(rng.normal(0.0, [0.05, 0.3, 0.02, 0.15, 0.25]))
    values = np.array([recipe.iph_a, recipe.i0_a, recipe.n, recipe.rs_ohm, recipe.rsh_ohm]) * spread
    return Cell(*map(float, values))


def measure(cell: Cell, voltage_v: Array, rng: np.random.Generator, floor_a: float, floor_v: float) -> Rows:
    """What the tracer writes down: noise on both readings, 0.5 % of proportional noise on the current."""
    true = cell.current(voltage_v)
    current = true + rng.normal(0.0, np.hypot(floor_a, 0.005 * true))
    return voltage_v + rng.normal(0.0, floor_v, voltage_v.size), current


def write(path: Path, remarks: Sequence[str], heading: str, rows: Rows, line: Callable[[float, float], str]) -> None:
    """One file: commented remarks, a heading, a row a point."""
    head = ["# invented data, made by tests/data/make_demo.py: no real cell was measured", *remarks, heading]
    path.write_text("\n".join([*head, *(line(v, i) for v, i in zip(*rows, strict=True))]) + "\n", encoding="utf-8")


def milli(v: float, i: float) -> str:
    """Volts and milliamperes, decimal point, comma between."""
    return f"{v:.3f},{i * 1e3:.4f}"


def micro_with_commas(v: float, i: float) -> str:
    """Millivolts and microamperes, decimal comma, semicolon between."""
    return f"{v * 1e3:.1f};{i * 1e6:.1f}".replace(".", ",")


def dye_remarks(label: str) -> list[str]:
    """What the notes say of a dye-sensitised cell."""
    return [
        f"# label: {label}",
        f"# area: {DYE_AREA_CM2} cm²",
        "# irradiance: 1000 W/m²",
        "# temperature: 25 °C",
    ]


def write_dye(folder: Path, coating: str, number: int, rows: Rows) -> None:
    """One dye-sensitised cell; a few of them with a trouble of every laboratory."""
    v, i = rows
    path, remarks = folder / f"{coating}_{number}.csv", dye_remarks(f"{coating} {number}")
    match coating, number:
        case "soot", 3:  # measured in load sign
            write(path, remarks, "Voltage (V),Current (mA)", (v, -i), milli)
        case "graphite", 2:  # the two leads of the cell were swapped
            write(path, remarks, "Voltage (V),Current (mA)", (-v, -i), milli)
        case "graphite", 5:  # the sweep stops short of Voc
            write(path, remarks, "Voltage (V),Current (mA)", (v[:18], i[:18]), milli)
        case "soot", 5:  # another spreadsheet: mV, µA, decimal commas
            write(path, remarks, "U / mV;I / µA", rows, micro_with_commas)
        case _:
            write(path, remarks, "Voltage (V),Current (mA)", rows, milli)


STUDY = """\
# invented data, made by tests/data/make_demo.py: no real cell was measured
title = "Soot against graphite (invented data)"
files = ["*.csv"]
figures = ["efficiency", "ff"]
margins = 0.05
diodes = 1
resistances = true

[groups]
soot = ["soot_*"]
graphite = ["graphite_*"]
"""


def make(folder: Path) -> None:
    """Write all files of the demo into `folder`."""
    folder.mkdir(parents=True, exist_ok=True)
    rng = np.random.default_rng(SEED)
    for coating, recipe in (("soot", SOOT), ("graphite", GRAPHITE)):
        for number in range(1, 7):
            steps = np.linspace(-0.04, 0.68, 25)
            write_dye(folder, coating, number, measure(member(recipe, rng), steps, rng, 4e-6, 1e-3))
    silicon = ["# area: 4.0 cm²", "# temperature: 25 °C"]
    rows = measure(SILICON, np.linspace(-0.05, 0.61, 25), rng, 1e-4, 3e-4)
    lit = ["# label: silicon check", *silicon, "# irradiance: 1000 W/m²"]
    write(folder / "silicon_check.csv", lit, "Voltage (V),Current (mA)", rows, milli)
    dark = Cell(0.0, SILICON.i0_a, SILICON.n, SILICON.rs_ohm, SILICON.rsh_ohm)
    rows = measure(dark, np.linspace(-0.3, 0.6, 31), rng, 2e-6, 3e-4)
    # A dark curve shows no sign of its own, so the notes state it.
    remarks = ["# label: silicon dark", *silicon, "# sign: generator", "# leads: as_given"]
    write(folder / "silicon_dark.csv", remarks, "Voltage (V),Current (mA)", rows, milli)
    (folder / "study.toml").write_text(STUDY, encoding="utf-8")


if __name__ == "__main__":
    make(Path(sys.argv[1]) if len(sys.argv) > 1 else FOLDER)
