"""The handbook names everything public once, its glossary names what exists, and all files name one version."""

from __future__ import annotations

import inspect
import re
from collections import Counter
from pathlib import Path
from typing import Any

import litdiode as ld
from litdiode import plots

ROOT = Path(__file__).parents[2]
DOCS = ROOT / "docs"


def test_the_reference_names_everything_public_once() -> None:
    pages = [page.read_text(encoding="utf-8") for page in sorted((DOCS / "reference").glob("*.md"))]
    # Functions that share their name with their module stand with its whole path.
    path = re.compile(r"^::: litdiode\.(?:study\.\w+\.(?=\w+$))?([\w.]+)$", re.MULTILINE)
    named = Counter(name for page in pages for name in path.findall(page))
    # Rows of tables have no name of their own in the package.
    rows = {name for name in named if name.startswith("analysis.")}
    public = [
        *ld.__all__,
        *(f"course.{name}" for name in ld.course.__all__),
        *(f"plots.{name}" for name in plots.__all__),
    ]
    assert {name: count for name, count in named.items() if name not in rows} == Counter(public)


def words() -> set[str]:
    """Names that a user writes: of functions, classes, their members and their arguments."""
    found = set(ld.__all__)
    for name in ld.__all__:
        thing = getattr(ld, name)
        if inspect.ismodule(thing) or (inspect.isclass(thing) and issubclass(thing, BaseException)):
            continue
        members = [member for member in dir(thing) if not member.startswith("_")] if inspect.isclass(thing) else []
        found |= {*members, *getattr(thing, "__dataclass_fields__", ())}
        callables: list[Any] = [thing, *(getattr(thing, member) for member in members)]
        for one in callables:
            # A class that is made by others alone has no signature.
            if callable(one) and not (
                inspect.isclass(one) and one.__text_signature__ is None and one.__init__ is object.__init__
            ):
                found |= set(inspect.signature(one).parameters)
    return found


def test_the_glossary_names_what_exists() -> None:
    cell = ld.SingleDiode(iph_a=0.03, i0_a=1e-9, n=1.3, rs_ohm=0.5, rsh_ohm=900)  # invented
    fits = ld.fit_many([ld.simulate_sweep(cell, ld.Instrument(points=40, noise_current_a=1e-5))], diodes=2)
    fit = fits[0]
    assert isinstance(fit, ld.Fit)
    # What stands in quotes, the name of a variable, and kinds of findings.
    known = words() | set(fit.parameters) | {"fit", "sweep", "plan", "noise", "estimate", "summary", "comparison"}
    known |= set(re.findall(r'"(\w+)"', ld.Finding.__doc__ or ""))
    rows = re.findall(r"^\|.*\|$", (DOCS / "glossary.md").read_text(encoding="utf-8"), re.MULTILINE)
    codes = [code for row in rows for code in re.findall(r"`([^`]+)`", row.split("|")[-2])]
    assert len(codes) > 80
    for code in codes:
        names = re.findall(r"[A-Za-z_]\w*", re.sub(r'"[^"]*"', "", code))
        assert names and set(names) <= known, code


def test_all_files_name_one_version() -> None:
    files = ["pyproject.toml", "Cargo.toml", "capi/Cargo.toml", "python/Cargo.toml"]
    stated = {name: re.search(r'^version = "(.+)"$', (ROOT / name).read_text(), re.MULTILINE) for name in files}
    stated["CITATION.cff"] = re.search(r"^version: (.+)$", (ROOT / "CITATION.cff").read_text(), re.MULTILINE)
    stated["CHANGELOG.md"] = re.search(r"^## ([\d.]+)", (ROOT / "CHANGELOG.md").read_text(), re.MULTILINE)
    versions = {name: found and found[1] for name, found in stated.items()}
    assert len(set(versions.values())) == 1 and None not in versions.values(), versions
