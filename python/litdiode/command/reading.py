"""Files to a study: a file that cannot be read gets one line on stderr, and spoils no other."""

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

from .._core import LitdiodeError
from ..reading import Plan, Sweeps, make_plan, progress_of
from ..reading.sources import named, paths, shown
from ..study.settings import READER, StudyFile, read_study_file
from ..study.study import Study, study_of
from .options import SWEEP, reading

# More files get a bar.
_FEW = 20


def demo() -> str:
    """The study file of the bundled demo."""
    return str(resources.files("litdiode") / "demo" / "study.toml")


def study(asked: argparse.Namespace) -> tuple[Study | None, bool]:
    """The study of what was named, None where nothing can be read; and whether all could be."""
    said = _study_file(asked)
    options = (said.reading if said else {}) | reading(asked)
    files, found = _files(said.files if said else asked.files)
    plan = make_plan(
        {key: options.pop(key) for key in READER if key in options},
        options,
        options.pop("pattern", None),
        options.pop("conditions", None),
        strict=False,
    )
    files = [file for file in files if plan.is_about(file)]
    report = progress_of(len(files) > _FEW and sys.stderr.isatty(), len(files))
    sweeps = Sweeps()
    for done, file in enumerate(files, start=1):
        found = _read(file, plan, sweeps) and found
        report(done)
    unused = plan.conditions.unused() if plan.conditions else []
    if unused:
        say("warning", "conditions", f"no file fits {', '.join(unused[:5])}: check the names")
    if not sweeps:
        return None, False
    return _made(said, sweeps, asked), found


def _study_file(asked: argparse.Namespace) -> StudyFile | None:
    named_files = asked.files or [demo()]
    if len(named_files) == 1 and named_files[0].lower().endswith(".toml"):
        return read_study_file(named_files[0])
    return None


def _files(asked: Sequence[str]) -> tuple[list[str], bool]:
    """Every file of the paths, folders and patterns, and whether all have some."""
    files: list[str] = []
    found = True
    for one in asked:
        try:
            files += [os.fspath(path) for path in paths(one)]
        except LitdiodeError as problem:
            say("error", Path(one).name, problem)
            found = False
    return files, found


def _read(file: str, plan: Plan, sweeps: Sweeps) -> bool:
    name = Path(shown(file)).name
    with warnings.catch_warnings(record=True) as caught:
        warnings.simplefilter("always")
        try:
            placed = plan.read(named(file))
        except LitdiodeError as problem:
            sweeps.unreadable[shown(file)] = str(problem)
            say("error", name, problem)
            return False
    for warning in caught:
        say("warning", name, warning.message)
    for sweep, origin in placed:
        sweeps.append(sweep)
        sweeps.origins.append(origin)
    return True


def _made(said: StudyFile | None, sweeps: Sweeps, asked: argparse.Namespace) -> Study:
    more: dict[str, Any] = {}
    if asked.fit:
        more["diodes"] = asked.fit
    if asked.resistances:
        more["resistances"] = True
    return Study(sweeps, **more) if said is None else study_of(said, sweeps, **more)


def say(kind: str, name: str, message: object) -> None:
    """One line on stderr, in the words of the command line: `current_unit=` is `--current-unit` here."""
    text = " ".join(str(message).split())
    text = re.sub(rf"\b({'|'.join((*READER, *SWEEP))})=", lambda key: "--" + _dashed(key.group(1)) + " ", text)
    text = re.sub(r"(--[\w-]+) (?=[ ,.;:)]|$)", r"\1", text).replace("pattern=", "--group-pattern ")
    print(f"{kind}: {text}" if name in text else f"{kind}: {name}: {text}", file=sys.stderr)


def _dashed(name: str) -> str:
    return name.replace("_", "-")
