"""Tidy tables: one row a figure, with the columns label, group, figure, (method,) value, u, unit, remark.

    figures of any kind ──▶ rows ──▶ a frame of pandas, a CSV file, JSON

Group stands only where it is known, method where several give the same figure. A figure that is not there has the value
NaN and says why in its remark; a standard uncertainty that is not there is NaN.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING, Any

from ._core import Estimate, Fit, KeyPoints
from .study.group import FIGURES

if TYPE_CHECKING:
    import pandas as pd

    from .analysis import MaximumPowers, Resistances

Row = dict[str, Any]
#: Order of the columns; a table has those that its rows have.
COLUMNS = ("label", "group", "batch", "figure", "method", "value", "u", "unit", "remark")


def of_estimate(figure: str, found: Estimate | None, why: str = "") -> Row:
    """The row of one figure; `why` there is none, or what is to be known with it."""
    if found is None:
        return {"figure": figure, "value": math.nan, "u": math.nan, "unit": "", "remark": why}
    u = math.nan if found.u is None else found.u
    remark = "; ".join(text for text in (why, found.note or "") if text)
    return {"figure": figure, "value": found.value, "u": u, "unit": found.unit, "remark": remark}


def of_key_points(points: KeyPoints | str) -> list[Row]:
    """Every key point; where there are none, the reason in each row."""
    if isinstance(points, str):
        return [of_estimate(name, None, points) for name in FIGURES]
    return [of_estimate(name, getattr(points, name), points.absent.get(name, "")) for name in FIGURES]


def rms_unit(fit: Fit) -> str:
    """Unit of the root mean square of the residuals: that of the residual, "1" for those in standard uncertainties."""
    return {"voltage": "V", "nearest": "1"}.get(fit.residual, "A")


def of_fit(fit: Fit | str, names: Sequence[str]) -> list[Row]:
    """Every parameter, and the root mean square of the residuals; `names` of those that a failed fit lacks."""
    if isinstance(fit, str):
        return [of_estimate(name, None, fit) for name in (*names, "rms")]
    said = "" if fit.status == "converged" else fit.status.replace("_", " ")
    rows = [of_estimate(name, found, said) for name, found in fit.parameters.items()]
    rms = {"figure": "rms", "value": fit.rms, "u": math.nan, "unit": rms_unit(fit), "remark": said}
    return [*rows, rms]


def of_resistances(found: Resistances) -> list[Row]:
    """Rs and Rsh by every method, what does not hold in the remark; the figure to quote has the method "quoted"."""
    symbol = {"series": "rs", "shunt": "rsh"}
    rows = [{**of_estimate(symbol[r.quantity], r.resistance, r.doubt), "method": r.method} for r in found.rows]
    rows += [{**of_estimate(symbol[quantity], None, why), "method": method} for quantity, method, why in found.absent]
    for quantity, name in symbol.items():
        row = found.quote[quantity]
        quoted = of_estimate(name, row.resistance if row else None, found.why[quantity])
        rows.append({**quoted, "method": "quoted"})
    return rows


def of_powers(found: MaximumPowers) -> list[Row]:
    """Pmax by every method."""
    rows = [{**of_estimate("pmax", r.pmax, r.remark), "method": r.method} for r in found.rows]
    rows += [{**of_estimate("pmax", None, why), "method": method} for method, why in found.absent.items()]
    quoted = of_estimate("pmax", found.quote.pmax if found.quote else None, found.why)
    return [*rows, {**quoted, "method": "quoted"}]


def labelled(rows: Iterable[Row], label: object, **more: object) -> list[Row]:
    """The rows with the label of their sweep."""
    return [{"label": label, **more, **row} for row in rows]


def frame(rows: Sequence[Row]) -> pd.DataFrame:
    """The rows as a frame of pandas, the columns in their order."""
    import pandas as pd

    return pd.DataFrame(list(rows), columns=list(columns(rows)))


def columns(rows: Sequence[Row]) -> list[str]:
    """Columns that any row has, in their order."""
    return [name for name in COLUMNS if any(name in row for row in rows) or (not rows and name in ("label", "figure"))]
