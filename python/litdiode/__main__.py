"""`python -m litdiode [files]`: the table of key points and one picture; of the bundled demo without files.

A file that cannot be read or analysed gets one line on stderr; the others are analysed all the same. The exit
code is 1 if anything failed.
"""

from __future__ import annotations

import argparse
import os
import re
import sys
import warnings
from collections.abc import Sequence
from importlib import resources
from pathlib import Path
from typing import Any

from ._core import Estimate, LeadResistance, LitdiodeError, Noise, Offset, SenseResistor, Sweep
from .reading import read_sweeps
from .reading.sources import paths as files
from .table import WIDTH, Row, row, table

_READER = (
    "voltage",
    "current",
    "voltage_unit",
    "current_unit",
    "decimal",
    "thousands",
    "delimiter",
    "encoding",
    "skip_rows",
    "header_row",
    "comment",
    "overflow",
)
_NOISE = ("current_a", "voltage_v", "current_step_a", "voltage_step_v")
_SWEEP = ("area_cm2", "irradiance_w_m2", "temperature_c", "cells", "sign", "leads", "swept")


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the command; the exit code comes back."""
    for stream in (sys.stdout, sys.stderr):
        # A terminal without ± or Ω shows a question mark rather than a traceback.
        getattr(stream, "reconfigure", lambda **_: None)(errors="replace")
    asked = _parser().parse_args(arguments)
    paths = asked.files or _demo()
    if not asked.files:
        print("No files named: here is the bundled demo. Its data are invented.\n")
    options = {key: value for key in (*_READER, *_SWEEP) if (value := getattr(asked, key)) is not None}
    try:
        options |= _instrument(asked)
    except LitdiodeError as problem:
        print(f"error: {problem}", file=sys.stderr)
        return 1
    analysed = [one for path in paths for one in _analyse_all(path, options)]
    done = [one for found in analysed for one in found]
    if not done:
        return 1
    print(table([found for _, found in done]))
    drawn = _picture([sweep for sweep, _ in done], Path(asked.out))
    return 0 if drawn and all(analysed) else 1


def _instrument(asked: argparse.Namespace) -> dict[str, Any]:
    """Corrections in the order in which they act, and the noise of the corrected readings."""
    kinds = (
        ("offset_v", lambda value: Offset(voltage_v=value)),
        ("sense_resistor_ohm", SenseResistor),
        ("lead_resistance_ohm", LeadResistance),
    )
    corrections = [kind(value) for name, kind in kinds if (value := getattr(asked, name)) is not None]
    noise = {name: value for name in _NOISE if (value := getattr(asked, name)) is not None}
    found: dict[str, Any] = {"corrections": corrections} if corrections else {}
    return found | ({"noise": Noise(**noise)} if noise else {})


def _demo() -> list[str]:
    folder = resources.files(__package__) / "demo"
    return sorted(str(entry) for entry in folder.iterdir() if entry.name.endswith(".csv"))


def _analyse_all(path: str, options: dict[str, Any]) -> list[list[tuple[Sweep, Row]]]:
    """Every file of a path, a folder or a pattern: one that cannot be read spoils no other."""
    try:
        return [_analyse(os.fspath(file), options) for file in files(path)]
    except LitdiodeError as problem:
        _say("error", Path(path).name, problem)
        return [[]]


def _analyse(path: str, options: dict[str, Any]) -> list[tuple[Sweep, Row]]:
    """Every sweep of a path with its row of the table; none where it cannot be read."""
    name = Path(path).name
    with warnings.catch_warnings(record=True) as caught:
        warnings.simplefilter("always")
        try:
            sweeps = read_sweeps(path, **options)
            found = [(sweep, row(sweep, sweep.label or name)) for sweep in sweeps]
        except LitdiodeError as problem:
            _say("error", name, problem)
            return []
    for warning in caught:
        _say("warning", name, warning.message)
    return found


def _say(kind: str, name: str, message: object) -> None:
    """One line on stderr, in the words of the command line: `current_unit=` is `--current-unit` here."""
    text = " ".join(str(message).split())
    text = re.sub(rf"\b({'|'.join((*_READER, *_SWEEP))})=", lambda key: "--" + _dashed(key.group(1)) + " ", text)
    text = re.sub(r"(--[\w-]+) (?=[ ,.;:)]|$)", r"\1", text)
    print(f"{kind}: {text}" if name in text else f"{kind}: {name}: {text}", file=sys.stderr)


def _dashed(name: str) -> str:
    return name.replace("_", "-")


def _picture(sweeps: Sequence[Sweep], folder: Path) -> bool:
    """Write the picture and say where it is; False if that failed. A missing matplotlib is no failure."""
    try:
        from matplotlib.backends.backend_agg import FigureCanvasAgg
        from matplotlib.figure import Figure
    except ImportError:
        print("\nNo picture: matplotlib is not installed. `pip install matplotlib` brings it.")
        return True
    from .plots import plot_sweeps

    figure = Figure(layout="constrained")
    plot_sweeps(sweeps, figure)
    target = folder / "sweeps.png"
    try:
        folder.mkdir(parents=True, exist_ok=True)
        FigureCanvasAgg(figure)
        figure.savefig(target)
    except OSError as problem:
        print(f"error: {target}: cannot be written ({problem.strerror}): pass another --out", file=sys.stderr)
        return False
    print(f"\nPicture: {target}")
    return True


def _column(text: str) -> str | int:
    return int(text) if re.fullmatch(r"\d+", text) else text


def _quantity(text: str) -> float | Estimate:
    """`100`, or `100±0.5` and `100+-0.5` with its standard uncertainty."""
    value, _, u = text.replace("+-", "±").partition("±")
    try:
        return Estimate(float(value), float(u)) if u else float(value)
    except ValueError:
        raise argparse.ArgumentTypeError(f"{text!r} is no number; write 100 or 100+-0.5") from None


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="python -m litdiode",
        description="Key points of current–voltage sweeps, with their uncertainties. Without files: a demo.",
        formatter_class=lambda prog: argparse.HelpFormatter(prog, width=WIDTH),
    )
    parser.add_argument("files", nargs="*", help="files of tables, folders, or patterns such as 'day1/*.csv'")
    parser.add_argument("--out", default="litdiode_out", help="folder for the picture (default: %(default)s)")
    cell = parser.add_argument_group("the cells, where the files do not say it themselves")
    cell.add_argument("--area-cm2", type=float, help="area of the cell in cm²")
    cell.add_argument("--irradiance-w-m2", type=float, help="irradiance in W/m²; full sun is 1000")
    cell.add_argument("--temperature-c", type=float, help="temperature of the cell in °C")
    cell.add_argument("--cells", type=int, help="number of cells in series")
    cell.add_argument("--sign", choices=["auto", "generator", "load"], help="sign of the current")
    cell.add_argument("--leads", choices=["auto", "as_given", "swapped"], help="whether the leads were swapped")
    cell.add_argument("--swept", choices=["voltage", "current"], help="what the instrument stepped")
    tracer = parser.add_argument_group("the instrument; a number may have its standard uncertainty: 100+-0.5")
    tracer.add_argument("--offset-v", type=_quantity, help="bias to be subtracted from the voltage, in V")
    tracer.add_argument("--sense-resistor-ohm", type=_quantity, help="the current column holds volts over it, in Ω")
    tracer.add_argument("--lead-resistance-ohm", type=_quantity, help="of both leads together, in Ω")
    tracer.add_argument("--current-a", type=float, help="scatter of a corrected current in A")
    tracer.add_argument("--voltage-v", type=float, help="scatter of a corrected voltage in V")
    tracer.add_argument("--current-step-a", type=float, help="step of the converter of the current in A")
    tracer.add_argument("--voltage-step-v", type=float, help="step of the converter of the voltage in V")
    text = parser.add_argument_group("the files, where they do not decide it themselves")
    text.add_argument("--voltage", type=_column, help="heading or number (from 0) of the voltage column")
    text.add_argument("--current", type=_column, help="heading or number (from 0) of the current column")
    text.add_argument("--voltage-unit", help="such as mV")
    text.add_argument("--current-unit", help="such as mA, uA or mA/cm2")
    text.add_argument("--decimal", choices=[".", ","], help="decimal mark")
    text.add_argument("--thousands", choices=[",", ".", " ", "'"], help="mark between groups of three digits")
    text.add_argument("--delimiter", help="what parts the cells: one character, or \\t")
    text.add_argument("--encoding", help="such as latin-1")
    text.add_argument("--skip-rows", type=int, help="number of lines to leave out at the top")
    text.add_argument("--header-row", type=int, help="number (from 1) of the line of headings")
    text.add_argument("--comment", help="what begins a comment")
    text.add_argument("--overflow", choices=["exclude", "error"], help="rows with the mark of an overflow")
    return parser


if __name__ == "__main__":
    sys.exit(main())
