"""Options of the command line."""

from __future__ import annotations

import argparse
import re
from typing import Any

from .._core import Estimate, InputError, LeadResistance, Noise, Offset, SenseResistor
from ..reading.quantities import quantity
from ..study.settings import READER
from ..study.writing import version
from ..table import WIDTH

SWEEP = ("area_cm2", "irradiance_w_m2", "temperature_c", "cells", "sign", "leads", "swept")
_NOISE = ("current_a", "voltage_v", "current_step_a", "voltage_step_v")


def parser() -> argparse.ArgumentParser:
    """All options, in groups."""
    made = argparse.ArgumentParser(
        prog="python -m litdiode",
        description="Key points of current–voltage sweeps, with their uncertainties; of groups, which is better. "
        "Without files: a demo.",
        formatter_class=lambda prog: argparse.HelpFormatter(prog, width=WIDTH),
    )
    made.add_argument(
        "files", nargs="*", help="files of tables, folders, patterns such as 'day1/*.csv'; or a study.toml"
    )
    made.add_argument("--out", default="litdiode_out", help="folder for pictures (default: %(default)s)")
    made.add_argument("--version", action="version", version=f"litdiode {version()}")
    for add in (_study, _cells, _tracer, _text):
        add(made)
    return made


def _study(made: argparse.ArgumentParser) -> None:
    study = made.add_argument_group("the study; - writes to the standard output, and nothing else there")
    study.add_argument("--group-pattern", metavar="NAME", help="group and label by file name: '{group}_{label}.csv'")
    study.add_argument("--conditions", metavar="CSV", help="a row a file: file, area_cm2, irradiance_w_m2, group …")
    study.add_argument("--fit", type=int, nargs="?", const=1, choices=[1, 2], help="fit one diode, or two")
    study.add_argument("--resistances", action="store_true", help="series and shunt resistance by every method")
    study.add_argument("--csv", metavar="FILE", help="write all figures, a line a figure")
    study.add_argument("--json", metavar="FILE", help="write figures, groups and comparisons")
    study.add_argument("--report", metavar="FILE", help="write a page of HTML, CSV and JSON beside it")


def _cells(made: argparse.ArgumentParser) -> None:
    cell = made.add_argument_group("the cells, where the files do not say it themselves")
    cell.add_argument("--area-cm2", type=_quantity, help="area of the cell in cm²")
    cell.add_argument("--irradiance-w-m2", type=_quantity, help="irradiance in W/m²; full sun is 1000")
    cell.add_argument("--temperature-c", type=float, help="temperature of the cell in °C")
    cell.add_argument("--cells", type=int, help="number of cells in series")
    cell.add_argument("--sign", choices=["auto", "generator", "load"], help="sign of the current")
    cell.add_argument("--leads", choices=["auto", "as_given", "swapped"], help="whether the leads were swapped")
    cell.add_argument("--swept", choices=["voltage", "current"], help="what the instrument stepped")


def _tracer(made: argparse.ArgumentParser) -> None:
    tracer = made.add_argument_group("the instrument; a number may have its standard uncertainty: 100+-0.5")
    tracer.add_argument("--offset-v", type=_quantity, help="bias to be subtracted from the voltage, in V")
    tracer.add_argument("--sense-resistor-ohm", type=_quantity, help="the current column holds volts over it, in Ω")
    tracer.add_argument("--lead-resistance-ohm", type=_quantity, help="of both leads together, in Ω")
    tracer.add_argument("--current-a", type=float, help="scatter of a corrected current in A")
    tracer.add_argument("--voltage-v", type=float, help="scatter of a corrected voltage in V")
    tracer.add_argument("--current-step-a", type=float, help="step of the converter of the current in A")
    tracer.add_argument("--voltage-step-v", type=float, help="step of the converter of the voltage in V")


def _text(made: argparse.ArgumentParser) -> None:
    text = made.add_argument_group("the files, where they do not decide it themselves")
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


def _column(text: str) -> str | int:
    return int(text) if re.fullmatch(r"\d+", text) else text


def _quantity(text: str) -> float | Estimate:
    """`100`, or `100±0.5` and `100+-0.5` with its standard uncertainty."""
    try:
        return quantity(text)
    except InputError:
        raise argparse.ArgumentTypeError(f"{text!r} is no number; write 100 or 100+-0.5") from None


def reading(asked: argparse.Namespace) -> dict[str, Any]:
    """The options of `read_sweeps` that were given."""
    options = {key: value for key in (*READER, *SWEEP) if (value := getattr(asked, key)) is not None}
    for key, option in (("pattern", asked.group_pattern), ("conditions", asked.conditions)):
        if option is not None:
            options[key] = option
    kinds = (
        ("offset_v", lambda value: Offset(voltage_v=value)),
        ("sense_resistor_ohm", SenseResistor),
        ("lead_resistance_ohm", LeadResistance),
    )
    # Corrections in the order in which they act; the noise is that of the corrected readings.
    corrections = [kind(value) for name, kind in kinds if (value := getattr(asked, name)) is not None]
    noise = {name: value for name in _NOISE if (value := getattr(asked, name)) is not None}
    return (
        options | ({"corrections": corrections} if corrections else {}) | ({"noise": Noise(**noise)} if noise else {})
    )
