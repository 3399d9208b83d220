"""The report of a study: one page of HTML without scripts, and its figures beside it as CSV and JSON.

Study ──content──▶ plain dicts ──page.html.j2──▶ report.html, report.csv, report.json
"""

from __future__ import annotations

import os
from importlib import resources
from pathlib import Path

from .._core import InputError
from ..arguments import require
from ..study.study import Study
from .content import content

__all__ = ["write_report"]


def write_report(study: Study, path: str | os.PathLike[str]) -> Path:
    """Writes the report of a `study` to `path`, and the same figures beside it with the endings csv and json.

    Raises `InputError` where jinja2, matplotlib or SciPy are not installed, for an ending that is not html, and where
    nothing can be written.
    """
    require("study", study, Study, "a litdiode.Study")
    require("path", path, (str, os.PathLike), "the path of a file that ends in .html")
    target = Path(path)
    if target.suffix.lower() not in (".html", ".htm"):
        raise InputError(f"path = {target}: pass one that ends in .html; CSV and JSON are written beside it")
    text = page(study, target)
    try:
        target.parent.mkdir(parents=True, exist_ok=True)
        target.write_text(text, encoding="utf-8")
    except OSError as problem:
        raise InputError(f"path = {target}: cannot be written ({problem.strerror}): pass another") from None
    study.to_csv(target.with_suffix(".csv"))
    study.to_json(target.with_suffix(".json"))
    return target


def page(study: Study, target: Path) -> str:
    """The page as text; `target` names the files beside it."""
    try:
        import jinja2
        import matplotlib  # noqa: F401
        import scipy  # noqa: F401
    except ImportError as missing:
        raise InputError(f"a report needs {missing.name}: pip install 'litdiode[report]'") from None
    folder = resources.files(__package__)
    parts = {name: (folder / name).read_text(encoding="utf-8") for name in ("page.html.j2", "page.css")}
    environment = jinja2.Environment(
        loader=jinja2.DictLoader(parts),
        autoescape=True,
        trim_blocks=True,
        lstrip_blocks=True,
        undefined=jinja2.StrictUndefined,
    )
    return environment.get_template("page.html.j2").render(content(study, target))
