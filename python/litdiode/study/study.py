"""A study: many sweeps in groups, their figures, their comparison, and what is written of them."""

from __future__ import annotations

import itertools
import os
from collections.abc import Callable, Mapping, Sequence
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Any

from .. import tidy
from .._core import Finding, InputError, Sweep
from ..analysis import Resistances, resistances
from ..arguments import require, require_number
from ..batch import Fits, KeyPointRows, fit_many, key_points_many
from ..reading import Origin, Sweeps, read_sweeps
from ..symbols import PARAMETERS
from .comparison import Comparison, compare
from .group import FIGURES, Group, Summary
from .labels import distinct
from .membership import Groups, membership
from .settings import StudyFile, read_study_file
from .writing import csv_of, json_of

if TYPE_CHECKING:
    import pandas as pd
    from matplotlib.axes import Axes


class Study:
    """Many sweeps in groups: figures, comparisons, pictures, a report.

    - `sweeps`: a list of `Sweep`s, or what `read_sweeps` gives, which knows groups and files.
    - `groups`: the group of each sweep, a list of names with None for a sweep in none; or a dict from the name of a
      group to the labels or files of its sweeps, patterns such as `"soot_*"` among them. None takes those of
      `read_sweeps`.
    - `title`: of report and pictures.
    - `figures`: those that are compared, key points or parameters of the fits; None takes the efficiency where two
      groups have it, else Pmax.
    - `margins`: a difference that does not matter, as a share of the mean (0.05 is 5 %): one number, or one a figure.
    - `reference`: the group that all others are compared with; None compares all pairs.
    - `level`: of intervals and verdicts, for all pairs of a figure together.
    - `diodes`: of the model that is fitted to every sweep, 1 or 2; 0 for no fit.
    - `resistances`: whether Rs and Rsh are found by every method.

    Raises `InputError` for an empty list, a sweep in two groups, a pattern that no sweep fits, unknown figures and
    groups.

    ```python
    >>> import litdiode as ld
    >>> cell = ld.SingleDiode(iph_a=0.03, i0_a=1e-9, n=1.3, rs_ohm=0.5, rsh_ohm=900)  # invented
    >>> tracer = ld.Instrument(noise_current_a=2e-5)
    >>> sweeps = [ld.simulate_sweep(cell, tracer, seed=k) for k in range(4)]
    >>> study = ld.Study(sweeps, groups=["A", "A", "B", "B"])
    >>> study.comparisons()[0].verdict
    'undecided'
    ```
    """

    def __init__(
        self,
        sweeps: Sequence[Sweep],
        *,
        groups: Groups | None = None,
        title: str | None = None,
        figures: Sequence[str] | None = None,
        margins: float | Mapping[str, float] | None = None,
        reference: str | None = None,
        level: float = 0.95,
        diodes: int = 0,
        resistances: bool = False,
    ) -> None:
        self._sweeps = _checked(sweeps)
        own = isinstance(sweeps, Sweeps) and len(sweeps.origins) == len(sweeps)
        self._origins: list[Origin | None] = list(sweeps.origins) if own else [None] * len(self._sweeps)  # type: ignore[attr-defined]
        self.unreadable: dict[str, str] = dict(sweeps.unreadable) if isinstance(sweeps, Sweeps) else {}
        self.labels = distinct(self._sweeps, self._origins)
        self._membership = membership(groups, self.labels, self._origins)
        if not isinstance(diodes, int) or isinstance(diodes, bool) or diodes not in PARAMETERS:
            raise InputError(f"diodes = {diodes!r}: pass 0 for no fit, 1 or 2")
        require("title", title, (str, type(None)), "a text")
        require("resistances", resistances, bool, "True or False")
        self.title, self.diodes, self.with_resistances = title or "Study", diodes, resistances
        self.level = require_number("level", level)
        if not 0.5 <= self.level < 1:
            raise InputError(f"level = {level} must be from 0.5 to 1, such as 0.95")
        self.figures = self._known_figures(figures)
        self.margins = _margins(margins, self.figures)
        require("reference", reference, (str, type(None)), "the name of a group, or None")
        if reference is not None and reference not in self.groups:
            known = ", ".join(self.groups) or "none: pass groups"
            raise InputError(f"reference={reference!r} is no group; pass one of {known}")
        self.reference = reference
        self.stated: tuple[str, ...] = ()
        self.own_inputs: dict[str, str] = {}
        self._summaries: dict[str, dict[str, Summary | str]] = {}

    @staticmethod
    def read(path: str | os.PathLike[str], *, progress: bool | Callable[[int], Any] = False) -> Study:
        """The study that a file `study.toml` describes: files, conditions, instrument, groups (docs/report.md).

        - `path`: of that file; the paths in it are taken from its folder.
        - `progress`: True shows a bar over the files; a function is told the number done.

        A file that cannot be read is a `LitdiodeWarning` and stands in `unreadable`. What the study file states once,
        such as the area of the mask or the irradiance, is one source of uncertainty common to all sweeps. Raises
        `InputError` for a key that is not known, with its line and the nearest one, and where no file can be read.

        ```python
        >>> import warnings
        >>> from pathlib import Path
        >>> import litdiode as ld
        >>> with warnings.catch_warnings():
        ...     warnings.simplefilter("ignore", ld.LitdiodeWarning)  # of swapped leads
        ...     study = ld.Study.read(Path(ld.__file__).parent / "demo" / "study.toml")  # invented data
        >>> len(study.sweeps), study.figures
        (14, ('efficiency', 'ff'))
        >>> print(study.comparisons()[1])
        ff of soot is higher than of graphite, by 0.02745 to 0.07795 (95 % interval)
        ```
        """
        require("path", path, (str, os.PathLike), "the path of a study.toml")
        said = read_study_file(Path(path))
        files = read_sweeps(said.files, unreadable="warn", progress=progress, **said.reading)
        return study_of(said, files)

    def _known_figures(self, asked: Sequence[str] | None) -> tuple[str, ...]:
        if asked is None:
            told = sum(self._has(group, "efficiency") for group in self.groups.values())
            return ("efficiency",) if told > 1 else ("pmax",)
        require("figures", asked, (str, list, tuple), 'a list such as ["efficiency", "ff"]')
        figures = (asked,) if isinstance(asked, str) else tuple(asked)
        for figure in figures:
            self._check(figure, "figures")
        return figures

    def _check(self, figure: str, name: str) -> None:
        require(name, figure, str, "the name of a figure")
        known = (*FIGURES, *PARAMETERS[self.diodes])
        if figure not in known:
            more = "" if self.diodes else "; parameters of a fit need diodes=1"
            raise InputError(f"{name}: {figure!r} is not known; pass some of {', '.join(known)}{more}")

    @staticmethod
    def _has(group: Group, figure: str) -> bool:
        return len(group.figures(figure)[0]) > 1

    @property
    def sweeps(self) -> tuple[Sweep, ...]:
        """All sweeps, in the order of `labels`."""
        return tuple(self._sweeps)

    @property
    def membership(self) -> tuple[str | None, ...]:
        """The group of each sweep, or None."""
        return tuple(self._membership)

    @property
    def origins(self) -> tuple[Origin | None, ...]:
        """Where each sweep comes from, or None."""
        return tuple(self._origins)

    @cached_property
    def groups(self) -> dict[str, Group]:
        """The groups by name, in the order of their first sweeps."""
        return {name: self._group(name, {k: self._sweeps[k] for k in places}) for name, places in self.places.items()}

    def _group(self, name: str, members: Mapping[int, Any]) -> Group:
        """Members by their places, in batches where each comes from one."""
        batches = [origin.batch if (origin := self._origins[k]) else None for k in members]
        known = [batch for batch in batches if batch is not None]
        return Group(name, list(members.values()), batch=known if len(known) == len(batches) else None)

    @cached_property
    def places(self) -> dict[str, list[int]]:
        """The places of each group's sweeps."""
        found: dict[str, list[int]] = {}
        for k, name in enumerate(self._membership):
            if name is not None:
                found.setdefault(name, []).append(k)
        return found

    @cached_property
    def key_points(self) -> KeyPointRows:
        """The key points of every sweep."""
        return key_points_many(self._sweeps)

    @cached_property
    def fits(self) -> Fits | None:
        """The fit of every sweep, or None where `diodes` is 0."""
        return fit_many(self._sweeps, diodes=self.diodes) if self.diodes else None

    @cached_property
    def resistances(self) -> list[Resistances] | None:
        """Rs and Rsh of every sweep by all methods, or None where they are not asked for.

        A sweep that delivers no power, with no reading at V > 0 and I > 0, is taken for a dark one.
        """
        return [_by_all_methods(sweep) for sweep in self._sweeps] if self.with_resistances else None

    @cached_property
    def findings(self) -> list[list[Finding]]:
        """What each sweep says of itself, as `Sweep.findings`."""
        return [sweep.findings for sweep in self._sweeps]

    def group_for(self, name: str, figure: str) -> Group:
        """The group of this `name` whose members have the `figure`: of sweeps, or of fits.

        - `name`: of the group.
        - `figure`: a key point, or a parameter of the fits.

        Raises `InputError` for a name or a figure that is not known.

        ```python
        >>> import litdiode as ld
        >>> cell = ld.SingleDiode(iph_a=0.03, i0_a=1e-9, n=1.3, rs_ohm=0.5, rsh_ohm=900)  # invented
        >>> sweeps = [ld.simulate_sweep(cell, ld.Instrument(noise_current_a=2e-5), seed=k) for k in range(4)]
        >>> study = ld.Study(sweeps, groups=["A", "A", "B", "B"], figures=["ff"])
        >>> group = study.group_for("A", "ff")
        >>> group.label, len(group.members)
        ('A', 2)
        ```
        """
        self._check(figure, "figure")
        require("name", name, str, "the name of a group")
        if name not in self.groups:
            raise InputError(f"name={name!r} is no group; pass one of {', '.join(self.groups)}")
        if figure in FIGURES or self.fits is None:
            return self.groups[name]
        fits = {k: fit for k in self.places[name] if not isinstance(fit := self.fits[k], str)}
        return self._group(name, fits)

    def summaries(self, figure: str) -> dict[str, Summary | str]:
        """Mean and spread of each group; the reason where there is none.

        - `figure`: a key point, or a parameter of the fits.

        Raises `InputError` for a figure that is not known.

        ```python
        >>> import litdiode as ld
        >>> cell = ld.SingleDiode(iph_a=0.03, i0_a=1e-9, n=1.3, rs_ohm=0.5, rsh_ohm=900)  # invented
        >>> sweeps = [ld.simulate_sweep(cell, ld.Instrument(noise_current_a=2e-5), seed=k) for k in range(4)]
        >>> study = ld.Study(sweeps, groups=["A", "A", "B", "B"], figures=["ff"])
        >>> [f"{name}: {summary.n} cells, {summary.mean}" for name, summary in study.summaries("ff").items()]
        ['A: 2 cells, 0.75094 ± 0.00057', 'B: 2 cells, 0.75063 ± 0.00054']
        ```
        """
        self._check(figure, "figure")
        if figure not in self._summaries:
            self._summaries[figure] = {
                name: _tried(lambda name=name: self.group_for(name, figure).summary(figure)) for name in self.groups
            }
        return dict(self._summaries[figure])

    @cached_property
    def _compared(self) -> tuple[list[Comparison], list[str]]:
        done: list[Comparison] = []
        failed: list[str] = []
        for figure in self.figures:
            for first, second in self._pairs():
                found = _tried(lambda f=figure, a=first, b=second: self._compare(f, a, b))
                if isinstance(found, str):
                    failed.append(f"{figure} of {first} and {second}: {found}")
                else:
                    done.append(found)
        return done, failed

    def _pairs(self) -> list[tuple[str, str]]:
        if self.reference is None:
            return list(itertools.combinations(self.groups, 2))
        return [(name, self.reference) for name in self.groups if name != self.reference]

    def _compare(self, figure: str, first: str, second: str) -> Comparison:
        a, b = (self.group_for(name, figure) for name in (first, second))
        # Bonferroni's: intervals and verdicts of all pairs of a figure hold together.
        level = 1 - (1 - self.level) / len(self._pairs())
        return compare(a, b, figure, margin=self.margins.get(figure), level=level)

    def comparisons(self) -> list[Comparison]:
        """What `litdiode.compare` says of each of `figures`, for each pair of groups or each against `reference`.

        The verdicts and intervals of all m pairs of a figure hold together at `level`: each is made at
        1 − (1 − level)/m. `litdiode.compare_all` has Holm's correction, which tells a little more apart and gives no
        intervals.
        """
        return list(self._compared[0])

    def left_out(self, one: Comparison) -> list[str]:
        """Labels of the cells of both groups of the comparison `one` that lack its figure.

        ```python
        >>> import litdiode as ld
        >>> cell = ld.SingleDiode(iph_a=0.03, i0_a=1e-9, n=1.3, rs_ohm=0.5, rsh_ohm=900)  # invented
        >>> sweeps = [ld.simulate_sweep(cell, ld.Instrument(noise_current_a=2e-5), seed=k) for k in range(4)]
        >>> short = ld.Sweep([0.1, 0.2, 0.3, 0.4], [0.030, 0.030, 0.0295, 0.028], label="stops short")  # invented
        >>> study = ld.Study([*sweeps, short], groups=["A", "A", "B", "B", "B"], figures=["ff"])
        >>> study.left_out(study.comparisons()[0])
        ['stops short']
        ```
        """
        require("one", one, Comparison, "a litdiode.Comparison of this study")
        places = [k for name in (one.first, one.second) for k in self.places[name]]
        return [self.labels[k] for k in places if not self._has_figure(k, one.figure)]

    def _has_figure(self, k: int, figure: str) -> bool:
        if figure in FIGURES:
            points = self.key_points[k]
            return not isinstance(points, str) and getattr(points, figure) is not None
        return self.fits is not None and not isinstance(self.fits[k], str)

    def not_compared(self) -> list[str]:
        """What could not be compared, and why."""
        return list(self._compared[1])

    def rows(self) -> list[tidy.Row]:
        """One dict a figure: label, group, figure, method, value, u, unit, remark."""
        rows: list[tidy.Row] = []
        batches = any(origin and origin.batch for origin in self._origins)
        for k, (label, group, origin) in enumerate(zip(self.labels, self._membership, self._origins, strict=True)):
            more = {"group": group or ""} | ({"batch": (origin and origin.batch) or ""} if batches else {})
            rows += tidy.labelled(self._figures_of(k), label, **more)
        return rows

    def _figures_of(self, k: int) -> list[tidy.Row]:
        rows = tidy.of_key_points(self.key_points[k])
        if self.fits is None and self.resistances is None:
            return rows
        # Where several ways give a figure, each row says which.
        rows = [{**row, "method": "curve"} for row in rows]
        if self.fits is not None:
            name = "one diode" if self.diodes == 1 else "two diodes"
            rows += [{**row, "method": name} for row in tidy.of_fit(self.fits[k], PARAMETERS[self.diodes])]
        if self.resistances is not None:
            rows += tidy.of_resistances(self.resistances[k])
        return rows

    def frame(self) -> pd.DataFrame:
        """All figures as a tidy frame of pandas: label, group, figure, value, u, unit, remark.

        With fits or resistances there is a column `method`, with batches a column `batch`. A figure that is not there
        has the value NaN, and the reason as its remark.
        """
        return tidy.frame(self.rows())

    def to_csv(self, path: str | os.PathLike[str] | None = None) -> str:
        """The rows of `frame` as text with commas, a line a figure; written to a file as well if there is a `path`.

        ```python
        >>> import litdiode as ld
        >>> cell = ld.SingleDiode(iph_a=0.03, i0_a=1e-9, n=1.3, rs_ohm=0.5, rsh_ohm=900)  # invented
        >>> sweeps = [ld.simulate_sweep(cell, ld.Instrument(noise_current_a=2e-5), seed=k) for k in range(4)]
        >>> study = ld.Study(sweeps, groups=["A", "A", "B", "B"], figures=["ff"])
        >>> print(study.to_csv().splitlines()[0])
        label,group,figure,value,u,unit,remark
        ```
        """
        return _written(path, csv_of(self.rows()))

    def to_json(self, path: str | os.PathLike[str] | None = None) -> str:
        """Inputs, figures, summaries and comparisons as JSON; written to a file as well where there is a `path`.

        What is not there, and what is infinite, is null; a remark says which.

        ```python
        >>> import json
        >>> import litdiode as ld
        >>> cell = ld.SingleDiode(iph_a=0.03, i0_a=1e-9, n=1.3, rs_ohm=0.5, rsh_ohm=900)  # invented
        >>> sweeps = [ld.simulate_sweep(cell, ld.Instrument(noise_current_a=2e-5), seed=k) for k in range(4)]
        >>> study = ld.Study(sweeps, groups=["A", "A", "B", "B"], figures=["ff"])
        >>> sorted(json.loads(study.to_json()))
        ['comparisons', 'figures', 'findings', 'groups', 'inputs', 'not_compared', 'software', 'title', 'unreadable']
        ```
        """
        return _written(path, json_of(self))

    def inputs(self) -> dict[str, str]:
        """SHA-256 of each file, in hexadecimal digits, by its path; those of the study file and its tables first."""
        return self.own_inputs | {origin.file: origin.sha256 for origin in self._origins if origin is not None}

    def plot(self, ax: Axes | None = None) -> Axes:
        """Draws all curves into `ax` (a new figure if None), a colour, marker and line a group; returns it.

        ```python
        >>> import litdiode as ld
        >>> cell = ld.SingleDiode(iph_a=0.03, i0_a=1e-9, n=1.3, rs_ohm=0.5, rsh_ohm=900)  # invented
        >>> sweeps = [ld.simulate_sweep(cell, ld.Instrument(noise_current_a=2e-5), seed=k) for k in range(4)]
        >>> study = ld.Study(sweeps, groups=["A", "A", "B", "B"], figures=["ff"])
        >>> ax = study.plot()
        >>> [text.get_text() for text in ax.get_legend().get_texts()]
        ['A (2)', 'B (2)']
        ```
        """
        from ..plots import plot_study

        return plot_study(self, ax)

    def report(self, path: str | os.PathLike[str]) -> Path:
        """Writes the report: one page of HTML at `path`, and beside it the figures as CSV and JSON.

        Needs `pip install 'litdiode[report]'`. Returns the path. Raises `InputError` where that is missing, and where
        nothing can be written there.

        ```python
        >>> import tempfile
        >>> import litdiode as ld
        >>> cell = ld.SingleDiode(iph_a=0.03, i0_a=1e-9, n=1.3, rs_ohm=0.5, rsh_ohm=900)  # invented
        >>> sweeps = [ld.simulate_sweep(cell, ld.Instrument(noise_current_a=2e-5), seed=k) for k in range(4)]
        >>> study = ld.Study(sweeps, groups=["A", "A", "B", "B"], figures=["ff"])
        >>> with tempfile.TemporaryDirectory() as folder:
        ...     path = study.report(f"{folder}/report.html")
        ...     print(path.name, sorted(other.suffix for other in path.parent.iterdir()))
        report.html ['.csv', '.html', '.json']
        ```
        """
        from ..report import write_report

        return write_report(self, path)

    def __repr__(self) -> str:
        counts = ", ".join(f"{name} {len(group)}" for name, group in self.groups.items()) or "no groups"
        return f"Study({self.title!r}, {len(self._sweeps)} sweeps: {counts})"


def study_of(said: StudyFile, sweeps: Sweeps, **more: Any) -> Study:
    """The study of a study file, once its sweeps are read; `more` is asked beside what it says."""
    if not sweeps:
        why = "; ".join(sweeps.unreadable.values()) or "name files"
        raise InputError(f"{said.path}: no sweep can be read: {why}")
    made = Study(sweeps, **said.asked | more)
    made.stated, made.own_inputs = said.stated, said.inputs
    return made


def _by_all_methods(sweep: Sweep) -> Resistances:
    lit = bool(((sweep.voltage_v > 0) & (sweep.current_a > 0)).any())
    return resistances(sweep) if lit else resistances(dark=sweep)


def _checked(sweeps: Sequence[Sweep]) -> list[Sweep]:
    require("sweeps", sweeps, (list, tuple), "a list of litdiode.Sweep")
    for k, sweep in enumerate(sweeps):
        require(f"sweeps[{k}]", sweep, Sweep, "a list of litdiode.Sweep")
    if not sweeps:
        raise InputError("sweeps is empty: pass one at least")
    return list(sweeps)


def _margins(margins: float | Mapping[str, float] | None, figures: Sequence[str]) -> dict[str, float]:
    if margins is None:
        return {}
    if not isinstance(margins, Mapping):
        margins = {figure: margins for figure in figures}
    for figure, share in margins.items():
        if figure not in figures:
            raise InputError(f"margins: {figure!r} is not compared; pass figures among {', '.join(figures)}")
        if not 0 < require_number(f"margins[{figure!r}]", share) < 1:
            raise InputError(f"margins[{figure!r}] = {share} must be a share between 0 and 1, such as 0.05 for 5 %")
    return {figure: float(share) for figure, share in margins.items()}


def _tried(job: Any) -> Any:
    """What a job gives, or the text of what it refuses."""
    try:
        return job()
    except InputError as problem:
        return str(problem)


def _written(path: str | os.PathLike[str] | None, text: str) -> str:
    require("path", path, (str, os.PathLike, type(None)), "the path of a file, or None")
    if path is not None:
        try:
            Path(path).write_text(text, encoding="utf-8")
        except OSError as problem:
            raise InputError(f"path = {path}: cannot be written ({problem.strerror}): pass another") from None
    return text
