"""What the command line gives of a study: tables, verdicts, pictures, a report, CSV and JSON."""

from __future__ import annotations

import argparse
import shutil
import sys
import textwrap
from collections.abc import Callable
from pathlib import Path

from .._core import Fit, LitdiodeError
from ..study.study import Study
from ..study.verdicts import sentence
from ..symbols import PARAMETERS
from ..table import WIDTH, Row, row, table

# Narrower terminals get lines of this width all the same.
_NARROWEST = 40


def width() -> int:
    """Columns of the terminal, at most 100; 100 where the output goes elsewhere."""
    if not sys.stdout.isatty():
        return WIDTH
    return max(_NARROWEST, min(WIDTH, shutil.get_terminal_size((WIDTH, 24)).columns))


def show(study: Study) -> None:
    """Tables and verdicts on the standard output."""
    wide = width()
    pairs = zip(study.sweeps, study.labels, study.findings, strict=True)
    print(table([row(sweep, label, found) for sweep, label, found in pairs], width=wide))
    if study.fits is not None:
        print(f"\nFit of {'one diode' if study.diodes == 1 else 'two diodes'}")
        rows = [_fit_row(label, fit) for label, fit in zip(study.labels, study.fits, strict=True)]
        print(table(rows, PARAMETERS[study.diodes], width=wide))
    if study.resistances is not None:
        print("\nResistances to quote")
        print(table(_resistance_rows(study), ("rs", "rsh"), width=wide))
    if study.groups:
        print()
        print("\n".join(line for text in verdicts(study) for line in _wrapped(text, wide)))


def _fit_row(label: str, fit: Fit | str) -> Row:
    if isinstance(fit, str):
        return Row(label, {}, [f"no fit: {fit}"])
    status = [] if fit.status == "converged" else [fit.status.replace("_", " ")]
    return Row(label, dict(fit.parameters), [*status, *fit.notes])


def _resistance_rows(study: Study) -> list[Row]:
    rows = []
    for label, found in zip(study.labels, study.resistances or [], strict=True):
        quotes = {"rs": found.quote["series"], "rsh": found.quote["shunt"]}
        notes = [
            f"{symbol} by the {one.method}" if one else f"no {symbol}: {found.why[quantity]}"
            for symbol, quantity, one in (("Rs", "series", quotes["rs"]), ("Rsh", "shunt", quotes["rsh"]))
        ]
        rows.append(Row(label, {name: one.resistance if one else None for name, one in quotes.items()}, notes))
    return rows


def verdicts(study: Study) -> list[str]:
    """A sentence a comparison; the reason where there is none."""
    try:
        done = study.comparisons()
    except ImportError:
        return ["No verdict: scipy is not installed. `pip install 'litdiode[study]'` brings it."]
    return [sentence(one, study.left_out(one)) for one in done] + [
        f"not compared: {why}" for why in study.not_compared()
    ]


def _wrapped(text: str, wide: int) -> list[str]:
    return textwrap.wrap(text, wide, subsequent_indent="  ", break_long_words=True)


def pictures(study: Study, folder: Path) -> bool:
    """Write the pictures and say where they are; False if that failed. A missing matplotlib is no failure."""
    try:
        from matplotlib.backends.backend_agg import FigureCanvasAgg
        from matplotlib.figure import Figure
    except ImportError:
        print("\nNo picture: matplotlib is not installed. `pip install matplotlib` brings it.")
        return True
    from ..plots import plot_cells, plot_study, plot_sweeps

    sweeps = Figure(layout="constrained")
    plot_sweeps(study.sweeps, sweeps, labels=study.labels)
    drawn = {"sweeps.png": sweeps}
    try:
        if study.groups:
            both = Figure(figsize=(11.0, max(4.6, 1.2 + 0.85 * len(study.groups))), layout="constrained")
            left, right = both.subplots(1, 2)
            plot_study(study, left)
            plot_cells(study, None, right)
            drawn["groups.png"] = both
    except ImportError:
        pass  # Without scipy there is no mean to draw, which the verdicts say.
    try:
        folder.mkdir(parents=True, exist_ok=True)
        for name, figure in drawn.items():
            FigureCanvasAgg(figure)
            figure.savefig(folder / name)
    except OSError as problem:
        print(f"error: {folder}: cannot be written ({problem.strerror}): pass another --out", file=sys.stderr)
        return False
    print()
    for name in drawn:
        print(f"Picture: {folder / name}")
    return True


def files(study: Study, asked: argparse.Namespace, *, whole: bool) -> bool:
    """Write report, CSV and JSON where they are asked for; `whole`: the report of a study file comes unasked."""
    written = True
    for text, target in ((study.to_csv, asked.csv), (study.to_json, asked.json)):
        if target == "-":
            sys.stdout.write(text())
        elif target:
            written = _written(text, target) and written
    if asked.report:
        written = _written(study.report, asked.report) and written
    if whole and not asked.report:
        _report_unasked(study, Path(asked.out) / "report.html")
    return written


def _written(write: Callable[[str], object], target: str) -> bool:
    try:
        write(target)
    except LitdiodeError as problem:
        print(f"error: {problem}", file=sys.stderr)
        return False
    print(f"Written: {target}", file=sys.stderr)
    return True


def _report_unasked(study: Study, target: Path) -> None:
    try:
        study.report(target)
    except LitdiodeError as problem:
        print(f"No report: {problem}")
    else:
        print(f"Report: {target}")
