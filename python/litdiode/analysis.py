"""Tables that set several methods side by side: maximum power, series and shunt resistance."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from html import escape
from typing import TYPE_CHECKING, Any

from ._core import Estimate, Sweep, power_rows, resistance_rows

if TYPE_CHECKING:
    import pandas as pd
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure
    from numpy.typing import ArrayLike


@dataclass(frozen=True)
class PowerRow:
    """Pmax by one method."""

    method: str
    pmax: Estimate
    v_pmax: float
    remark: str


@dataclass(frozen=True)
class ResistanceRow:
    """A resistance by one method. `doubt` says why its assumptions do not hold on these data; empty where they do."""

    quantity: str
    method: str
    resistance: Estimate
    measures: str
    doubt: str
    source: str


@dataclass(frozen=True)
class MaximumPowers:
    """Pmax of `sweep` by every method; `quote` is the one to quote, and `why`. `absent` holds the others' reasons.

    `window_v`: the lowest and the highest voltage of the readings that the local polynomial is fitted to.
    """

    sweep: Sweep
    rows: tuple[PowerRow, ...]
    absent: dict[str, str]
    quote: PowerRow | None
    why: str
    window_v: tuple[float, float] | None

    def plot(self, figure: Figure | None = None, **options: Any) -> list[Axes]:
        """Every method's point on the measured power; returns the axes. See `litdiode.plots.plot_maximum_powers`."""
        from .plots import plot_maximum_powers

        return plot_maximum_powers(self, figure, **options)

    def frame(self) -> pd.DataFrame:
        """The rows as a frame of pandas."""
        return _frame(
            {"method": r.method, "pmax_w": r.pmax.value, "u_w": r.pmax.u, "v_pmax_v": r.v_pmax, "remark": r.remark}
            for r in self.rows
        )

    def _lines(self) -> list[tuple[str, ...]]:
        rows: list[tuple[str, ...]] = [(r.method, str(r.pmax), f"at {r.v_pmax:.4g} V", r.remark) for r in self.rows]
        return rows + [(method, "none", "", why) for method, why in self.absent.items()]

    def _verdict(self) -> str:
        if self.quote is None:
            return self.why
        return f"quote the {self.quote.method}, {self.quote.pmax}: {self.why}"

    def __repr__(self) -> str:
        return f"MaximumPowers\n{_columns(self._lines())}\n  {self._verdict()}"

    def _repr_html_(self) -> str:
        return _html(self._lines()) + f"<p>{escape(self._verdict())}</p>"


@dataclass(frozen=True)
class Resistances:
    """Rs and Rsh by every method that the sweeps allow; `absent` holds (quantity, method, reason) of the others.

    `lit` and `dark` are the sweeps, `slope_at_voc` is −dV/dI there with the diode's own n·VT/Isc in it.
    """

    rows: tuple[ResistanceRow, ...]
    absent: tuple[tuple[str, str, str], ...]
    lit: Sweep | None = None
    dark: Sweep | None = None
    slope_at_voc: Estimate | None = None

    def plot(self, figure: Figure | None = None, **options: Any) -> list[Axes]:
        """The curve with its tangents and every figure; returns the axes. See `litdiode.plots.plot_resistances`."""
        from .plots import plot_resistances

        return plot_resistances(self, figure, **options)

    def get(self, quantity: str, method: str) -> ResistanceRow | None:
        """The row of a method for "series" or "shunt"."""
        return next((r for r in self.rows if (r.quantity, r.method) == (quantity, method)), None)

    def frame(self) -> pd.DataFrame:
        """The rows as a frame of pandas."""
        return _frame(
            {
                "quantity": r.quantity,
                "method": r.method,
                "ohm": r.resistance.value,
                "u_ohm": r.resistance.u,
                "measures": r.measures,
                "holds": not r.doubt,
                "doubt": r.doubt,
                "source": r.source,
            }
            for r in self.rows
        )

    def _lines(self) -> list[tuple[str, ...]]:
        rows: list[tuple[str, ...]] = [
            (r.quantity, r.method, str(r.resistance), r.doubt and f"does not hold: {r.doubt}") for r in self.rows
        ]
        return rows + [(quantity, method, "none", why) for quantity, method, why in self.absent]

    def __repr__(self) -> str:
        return f"Resistances\n{_columns(self._lines())}"

    def _repr_html_(self) -> str:
        return _html(self._lines())


def maximum_powers(sweep: Sweep) -> MaximumPowers:
    """Pmax of a sweep by the highest sample, a local polynomial, a smooth curve, a concave one and the diode model."""
    rows, absent, quote, why, window_v = power_rows(sweep)
    quoted = quote and PowerRow(*quote)
    return MaximumPowers(sweep, tuple(PowerRow(*r) for r in rows), dict(absent), quoted, why, window_v)


def resistances(
    lit: Sweep | None = None,
    dark: Sweep | None = None,
    *,
    more_lit: Iterable[Sweep] = (),
    implied_v: ArrayLike | None = None,
    suns: ArrayLike | None = None,
    n: float | Estimate | None = None,
) -> Resistances:
    """Rs and Rsh by every method that the sweeps of one device allow.

    `lit` under light, `dark` without, `more_lit` at other irradiances and the same temperature, `implied_v` the
    open-circuit voltages in V over irradiance `suns` (1 is that of `lit`), `n` the ideality factor where it is known.
    """
    rows, absent = resistance_rows(lit, dark, list(more_lit), implied_v, suns, n)
    table = tuple(ResistanceRow(*r) for r in rows)
    # Without n the method gives the slope itself.
    plain = rows if n is None or lit is None else resistance_rows(lit, None, [], None, None, None)[0]
    slope = next((r[2] for r in plain if r[:2] == ("series", "slope at Voc")), None)
    return Resistances(table, tuple(absent), lit, dark, slope)


def _frame(rows: Iterable[dict[str, Any]]) -> pd.DataFrame:
    import pandas as pd

    return pd.DataFrame(list(rows))


def _columns(lines: list[tuple[str, ...]]) -> str:
    widths = [max(len(line[k]) for line in lines) for k in range(len(lines[0]) - 1)] if lines else []
    return "\n".join(
        "  " + "  ".join([*(cell.ljust(w) for cell, w in zip(line, widths, strict=False)), line[-1]]).rstrip()
        for line in lines
    )


def _html(lines: list[tuple[str, ...]]) -> str:
    cells = ("".join(f"<td>{escape(cell)}</td>" for cell in line) for line in lines)
    return "<table>" + "".join(f"<tr>{row}</tr>" for row in cells) + "</table>"
