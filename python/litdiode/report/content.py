"""What stands on the page, as plain dicts: one function a section."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from datetime import date
from pathlib import Path
from typing import Any

from .._core import Estimate, Fit, KeyPoints
from ..quote import quoted
from ..study.comparison import Comparison
from ..study.group import Summary
from ..study.study import Study
from ..study.verdicts import between, sentence
from ..study.writing import version
from ..symbols import SYMBOLS, shown_unit
from ..tidy import rms_unit
from . import pictures
from .conditions import conditions, inputs
from .marks import column, pair, probability, symbol, two_digits
from .methods import cautions, methods

#: Figures of the table; the others stand in the files beside the page.
_SHOWN = ("isc", "voc", "pmax", "ff", "jsc", "efficiency")
#: Texts of one kind, and cells of one table, beyond which the files beside the page have the rest.
_MOST_TEXTS, _MOST_ROWS = 12, 300
_SEVERITIES = ("fault", "warning", "note")


def content(study: Study, target: Path) -> dict[str, Any]:
    """Everything that the page says."""
    return {
        "title": study.title,
        "date": date.today().isoformat(),
        "version": version(),
        "level": f"{100 * study.level:g} %",
        "counts": _counts(study),
        "verdicts": _verdicts(study),
        "remarks": _remarks(study),
        "curves": pictures.curves(study),
        "figures": _figures(study),
        "summaries": [_summary(study, figure) for figure in study.figures] if study.groups else [],
        "comparisons": _comparisons(study),
        "fits": _fits(study),
        "resistances": _resistances(study),
        "budgets": _budgets(study),
        "conditions": conditions(study),
        "assumptions": _assumptions(study),
        "methods": methods(study),
        "cautions": cautions(study),
        "inputs": inputs(study),
        "unreadable": study.unreadable,
        "beside": [target.with_suffix(ending).name for ending in (".csv", ".json")],
    }


def _counts(study: Study) -> str:
    cells = f"{len(study.sweeps)} sweep{'s' if len(study.sweeps) > 1 else ''}"
    if not study.groups:
        return cells
    inside = ", ".join(f"{name} with {len(places)}" for name, places in study.places.items())
    free = len(study.sweeps) - sum(map(len, study.places.values()))
    return f"{cells} in {len(study.groups)} group{'s' if len(study.groups) > 1 else ''}: {inside}" + (
        f"; {free} in no group" if free else ""
    )


def _verdicts(study: Study) -> dict[str, Any]:
    done = study.comparisons()
    several = ""
    figures = len({one.figure for one in done})
    if len(done) > figures:
        several = (
            f"The verdicts and intervals of all pairs of one figure hold together at {100 * study.level:g} % "
            "(Bonferroni's correction)."
        )
    if figures > 1:
        chance = 100 * (1 - study.level**figures)
        several += (
            f" {figures} figures were compared: if all groups were equal, the chance of calling at least one pair "
            f"different in one of them would be up to {chance:.0f} %."
        )
    said = [(one.verdict, sentence(one, study.left_out(one)).removeprefix("undecided: ")) for one in done]
    sentences = [{"verdict": verdict, "sentence": f"{text}."} for verdict, text in said]
    return {"sentences": sentences, "several": several, "failed": study.not_compared()}


def _named(kind: str) -> str:
    """`short_of_voc` as people write it."""
    return " ".join(SYMBOLS.get(word, word) for word in kind.split("_"))


def _remarks(study: Study) -> list[dict[str, Any]]:
    """Findings by severity and kind, each with the cells it is about."""
    kinds: dict[tuple[str, str], list[dict[str, str]]] = {}
    for label, found in zip(study.labels, study.findings, strict=True):
        for one in found:
            kinds.setdefault((one.severity, one.kind), []).append({"label": label, "text": one.text})
    order = sorted(kinds, key=lambda key: (_SEVERITIES.index(key[0]), -len(kinds[key])))
    return [
        {
            "severity": severity,
            "kind": _named(kind),
            "count": len(kinds[severity, kind]),
            "texts": kinds[severity, kind][:_MOST_TEXTS],
            "more": max(0, len(kinds[severity, kind]) - _MOST_TEXTS),
        }
        for severity, kind in order
    ]


def _by_group(study: Study) -> list[tuple[str, list[int]]]:
    grouped = list(study.places.items())
    free = [k for k, name in enumerate(study.membership) if name is None]
    return grouped + ([("no group" if grouped else "", free)] if free else [])


def _rows_shown(study: Study) -> list[int]:
    """Places of the sweeps that have a row, group by group."""
    return [k for _, places in _by_group(study) for k in places][:_MOST_ROWS]


def _figures(study: Study) -> dict[str, Any]:
    """The table of key points, a block of rows a group."""
    order = _rows_shown(study)
    rows: list[KeyPoints | str] = [study.key_points[k] for k in order]
    columns = [column(f, [None if isinstance(p, str) else getattr(p, f) for p in rows]) for f in _SHOWN]
    columns = [one for one in columns if any(cell[0] != "—" for cell in one["cells"])]
    place = {k: n for n, k in enumerate(order)}
    blocks = [
        {
            "name": name,
            "rows": [
                {"label": study.labels[k], "cells": [one["cells"][place[k]] for one in columns]}
                for k in places
                if k in place
            ],
        }
        for name, places in _by_group(study)
    ]
    return {
        "columns": columns,
        "blocks": [block for block in blocks if block["rows"]],
        "absent": _absent(study, order),
        "more": max(0, len(study.sweeps) - _MOST_ROWS),
    }


def _absent(study: Study, order: Sequence[int]) -> list[dict[str, str]]:
    """Why figures are missing: a reason with the cells that it holds for."""
    reasons: dict[str, list[str]] = {}
    for k in order:
        points = study.key_points[k]
        if isinstance(points, str):
            reasons.setdefault(points, []).append(study.labels[k])
            continue
        texts: dict[str, list[str]] = {}
        for name in _SHOWN:
            if name in points.absent:
                texts.setdefault(points.absent[name], []).append(SYMBOLS[name])
        for text, names in texts.items():
            reasons.setdefault(f"no {', '.join(names)}: {text}", []).append(study.labels[k])
    return [{"text": text, "cells": listed(labels)} for text, labels in reasons.items()]


def listed(labels: Sequence[str], most: int = 8) -> str:
    """The labels, or the first of them and how many more."""
    shown = ", ".join(labels[:most])
    return f"{shown} and {len(labels) - most} more" if len(labels) > most else shown


def _summary(study: Study, figure: str) -> dict[str, Any]:
    """Mean and spread of every group in one figure."""
    found = study.summaries(figure)
    known = [one for one in found.values() if isinstance(one, Summary)]
    size = max((abs(one.mean.value) for one in known), default=1.0)
    scale, unit = shown_unit(figure, known[0].unit if known else "", size)
    rows = [_summary_row(study, name, one, scale) for name, one in found.items()]
    return {
        "symbol": symbol(figure),
        "name": SYMBOLS.get(figure, figure),
        "unit": unit,
        "rows": rows,
        "picture": pictures.cells(study, figure),
    }


def _summary_row(study: Study, name: str, one: Summary | str, scale: float) -> dict[str, Any]:
    if isinstance(one, str):
        return {"group": name, "why": one}
    found = one.mean.interval(study.level)
    ends = None if found is None or found.low is None or found.high is None else (found.low, found.high)

    labels = [study.labels[k] for k in study.places[name]]
    return {
        "group": name,
        "why": "",
        "n": one.n,
        "mean": pair(one.mean, scale),
        "interval": "—" if ends is None else between(*ends, scale),
        "sd": two_digits(one.sd, scale),
        "cells": two_digits(one.sd_cells, scale),
        "measured": two_digits(one.sd_measured, scale),
        "common": two_digits(one.u_common, scale),
        "outliers": [f"{labels[place]} {why}" for place, _, why in one.outliers],
    }


def _comparisons(study: Study) -> list[dict[str, Any]]:
    """One table and one picture a figure."""
    tables = []
    for figure in study.figures:
        rows = [one for one in study.comparisons() if one.figure == figure]
        if not rows:
            continue
        size = max(max(abs(one.low), abs(one.high)) for one in rows)
        scale, unit = shown_unit(figure, rows[0].difference.unit, size)
        tables.append(
            {
                "symbol": symbol(figure),
                "unit": unit,
                "margins": any(one.margin is not None for one in rows),
                "rows": [_comparison_row(one, scale) for one in rows],
                "picture": pictures.comparisons(study, figure),
            }
        )
    return tables


def _comparison_row(one: Comparison, scale: float) -> dict[str, Any]:
    return {
        "pair": f"{one.first} − {one.second}",
        "difference": pair(one.difference, scale),
        "interval": between(one.low, one.high, scale),
        "p_welch": probability(one.p_welch),
        "p_exact": probability(one.p_exact),
        "p_rank": probability(one.p_rank),
        "g": f"{one.hedges_g:.2f} ({one.g_low:.2f} to {one.g_high:.2f})".replace("-", "−"),
        "margin": "—" if one.margin is None else f"± {one.margin / scale:.3g}",
        "p_equivalence": "—" if one.p_equivalence is None else probability(one.p_equivalence),
        "verdict": one.verdict,
    }


def _fits(study: Study) -> dict[str, Any] | None:
    """Parameters of every fit, with its status and notes."""
    if study.fits is None:
        return None
    order = _rows_shown(study)
    found = [study.fits[k] for k in order]
    names = next((list(fit.parameters) for fit in found if isinstance(fit, Fit)), [])
    columns = [column(name, [None if isinstance(f, str) else f.parameters[name] for f in found]) for name in names]
    columns.append(column("rms", [None if isinstance(f, str) else Estimate(f.rms, unit=_rms_unit(f)) for f in found]))
    rows = [
        {
            "label": study.labels[k],
            "cells": [one["cells"][n] for one in columns],
            "status": "no fit" if isinstance(fit, str) else fit.status.replace("_", " "),
            "notes": [fit] if isinstance(fit, str) else list(fit.notes),
        }
        for n, (k, fit) in enumerate(zip(order, found, strict=True))
    ]
    return {"columns": columns, "rows": rows, "doubts": _doubts(rows), "more": max(0, len(study.sweeps) - _MOST_ROWS)}


def _rms_unit(fit: Fit) -> str:
    unit = rms_unit(fit)
    return "" if unit == "1" else unit


def _doubts(rows: Iterable[dict[str, Any]]) -> list[dict[str, str]]:
    texts: dict[str, list[str]] = {}
    for row in rows:
        for note in row["notes"]:
            texts.setdefault(note, []).append(row["label"])
    return [{"text": text, "cells": listed(labels)} for text, labels in texts.items()]


def _resistances(study: Study) -> dict[str, Any] | None:
    """The resistances to quote, and every method with its doubt."""
    if study.resistances is None:
        return None
    order = _rows_shown(study)
    chosen = [study.resistances[k] for k in order]
    columns = []
    for quantity, name in (("series", "rs"), ("shunt", "rsh")):
        quotes = [one.quote[quantity] for one in chosen]
        columns.append(column(name, [row.resistance if row else None for row in quotes]))
        columns[-1]["methods"] = [row.method if row else "none" for row in quotes]
    rows = [
        {
            "label": study.labels[k],
            "quotes": [(one["cells"][n], one["methods"][n]) for one in columns],
            "methods": [
                {
                    "quantity": r.quantity,
                    "method": r.method,
                    "value": quoted(r.resistance.value, r.resistance.u, "Ω"),
                    "doubt": r.doubt,
                }
                for r in chosen[n].rows
            ],
        }
        for n, k in enumerate(order)
    ]
    absent = {(q, method, why) for one in chosen for q, method, why in one.absent}
    sources = {(r.quantity, r.method): (r.measures, r.source) for one in chosen for r in one.rows}
    return {
        "columns": columns,
        "rows": rows,
        "absent": [{"quantity": q, "method": m, "why": why} for q, m, why in sorted(absent)],
        "sources": [{"method": f"{q}: {m}", "measures": x[0], "source": x[1]} for (q, m), x in sources.items()],
        "more": max(0, len(study.sweeps) - _MOST_ROWS),
    }


def _budgets(study: Study) -> list[dict[str, Any]]:
    """What the ± of the efficiency, or else of Pmax, is made of, for the middle cell of each group."""
    tables = []
    for name, places in _by_group(study):
        for figure in ("efficiency", "pmax"):
            known = [(one.value, k) for k in places if (one := _figure(study, k, figure)) is not None and one.u]
            if not known:
                continue
            _, k = sorted(known)[len(known) // 2]
            tables.append(_budget(study, name, k, figure))
            break
    return tables[:_MOST_TEXTS]


def _figure(study: Study, k: int, figure: str) -> Estimate | None:
    points = study.key_points[k]
    found: Estimate | None = None if isinstance(points, str) else getattr(points, figure)
    return found


def _budget(study: Study, group: str, k: int, figure: str) -> dict[str, Any]:
    budget = study.sweeps[k].budget(figure)
    scale, unit = shown_unit(figure, budget.estimate.unit, abs(budget.estimate.value))
    value, u = pair(budget.estimate, scale)
    return {
        "group": group,
        "label": study.labels[k],
        "symbol": symbol(figure),
        "estimate": f"({value} {u}) {unit}" if unit else f"{value} {u}",
        "unit": unit,
        "rows": [
            {"source": source, "u": two_digits(u, scale), "share": f"{100 * share:.1f} %"}
            for source, u, share in budget.contributions
        ],
    }


def _assumptions(study: Study) -> list[dict[str, str]]:
    """Changes, and figures whose ± is not whole, with the cells that they hold for."""
    texts: dict[str, dict[str, str]] = {}
    for k, label in enumerate(study.labels):
        for text in _assumed(study, k):
            # What differs in a word of the file alone, such as its last line, is said once.
            texts.setdefault(re.sub(r"'[^']*'", "", text), {}).setdefault(label, text)
    total = len(study.sweeps)
    found = [{"text": text, "cells": "all"} for text in study.stated]
    for cells in sorted(texts.values(), key=len, reverse=True):
        same = len(set(cells.values())) == 1
        text = next(iter(cells.values())) + ("" if same else ", and alike")
        found.append({"text": text, "cells": "all" if len(cells) == total else listed(list(cells))})
    return found


def _assumed(study: Study, k: int) -> Iterator[str]:
    for change in study.sweeps[k].changes:
        yield f"{change.what}: {change.why}" if change.why else str(change.what)
    for name in _SHOWN:
        found = _figure(study, k, name)
        if found is not None and found.note:
            yield f"{SYMBOLS[name]}: {found.note}"
