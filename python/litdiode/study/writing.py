"""A study as text for machines: CSV and JSON."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Sequence
from typing import TYPE_CHECKING

from .. import tidy
from .group import Summary
from .plain import plain

if TYPE_CHECKING:
    from .study import Study


def csv_of(rows: Sequence[tidy.Row]) -> str:
    """A heading and a line a row, with commas; what is not there is empty."""
    text = io.StringIO()
    writer = csv.DictWriter(text, tidy.columns(rows), restval="", lineterminator="\n")
    writer.writeheader()
    writer.writerows(plain(row) for row in rows)
    return text.getvalue()


def json_of(study: Study) -> str:
    """Inputs, figures, findings, summaries and comparisons."""
    content = {
        "title": study.title,
        "software": {"name": "litdiode", "version": version()},
        "inputs": [{"file": file, "sha256": digest} for file, digest in study.inputs().items()],
        "unreadable": study.unreadable,
        "figures": [plain(row) for row in study.rows()],
        "findings": [
            {"label": label, "kind": f.kind, "severity": f.severity, "figures": list(f.figures), "text": f.text}
            for label, found in zip(study.labels, study.findings, strict=True)
            for f in found
        ],
        "groups": [
            {"group": name, **(plain(found) if isinstance(found, Summary) else {"figure": figure, "absent": found})}
            for figure in study.figures
            for name, found in study.summaries(figure).items()
        ],
        "comparisons": [plain(found) for found in study.comparisons()],
        "not_compared": study.not_compared(),
    }
    return json.dumps(content, ensure_ascii=False, indent=1, allow_nan=False) + "\n"


def version() -> str:
    """The version of litdiode that is installed."""
    from importlib import metadata

    try:
        return metadata.version("litdiode")
    except metadata.PackageNotFoundError:
        return "not installed"
