"""Tables that set several methods side by side: maximum power, series and shunt resistance."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from html import escape
from typing import TYPE_CHECKING, Any

from ._core import Estimate, Sweep, power_rows, resistance_rows
from .quote import quoted
from .storage import Stored
from .tidy import frame as tidy_frame
from .tidy import labelled, of_powers, of_resistances

if TYPE_CHECKING:
    import pandas as pd
    from matplotlib.axes import Axes
    from numpy.typing import ArrayLike


@dataclass(frozen=True)
class PowerRow:
    """Pmax by one method: a row of `MaximumPowers`.

    - `method`: "highest sample", "guided curve", "smooth curve", "concave curve" or "diode model".
    - `pmax`: an `Estimate` in W.
    - `v_pmax`: its voltage in V.
    - `remark`: what must be known with it; empty if nothing.
    """

    method: str
    pmax: Estimate
    v_pmax: float
    remark: str


@dataclass(frozen=True)
class ResistanceRow:
    """A resistance by one method: a row of `Resistances`.

    - `quantity`: "series" or "shunt".
    - `method`: the method, in a few words.
    - `resistance`: an `Estimate` in Ω.
    - `interval`: its 95 % interval in Ω, (low, high): the profile's where a fit needs one, one-sided where there is a
      bound alone; None for an end that is not there.
    - `measures`: what the figure means: lumped or not, at which bias.
    - `doubt`: why the assumptions of the method do not hold on these data; empty where they do.
    - `source`: where the method comes from.
    """

    quantity: str
    method: str
    resistance: Estimate
    interval: tuple[float | None, float | None]
    measures: str
    doubt: str
    source: str


@dataclass(frozen=True)
class MaximumPowers(Stored):
    """Pmax of a sweep by every method, side by side; made by `maximum_powers`.

    - `sweep`: the measured `Sweep`.
    - `rows`: a `PowerRow` for each method that gave a figure.
    - `absent`: the other methods, by name, with the reason.
    - `quote`, `why`: the row to quote, and why that one; `quote` is None where none can be quoted.
    - `window_v`: lowest and highest voltage in V of the readings that lie about the maximum, or None.

    ```python
    >>> import litdiode as ld
    >>> cell = ld.SingleDiode(iph_a=0.03, i0_a=1e-9, n=1.3, rs_ohm=0.5, rsh_ohm=900)  # invented
    >>> found = ld.maximum_powers(ld.simulate_sweep(cell, ld.Instrument(noise_current_a=2e-5), seed=1))
    >>> [row.method for row in found.rows]
    ['highest sample', 'guided curve', 'smooth curve', 'concave curve', 'diode model']
    >>> print(found.quote.method, found.quote.pmax, sep=": ")
    guided curve: 12.9391 ± 0.0058 mW
    ```
    """

    sweep: Sweep
    rows: tuple[PowerRow, ...]
    absent: dict[str, str]
    quote: PowerRow | None
    why: str
    window_v: tuple[float, float] | None

    def plot(self, ax: Axes | None = None, **options: Any) -> list[Axes]:
        """Draws every method's point on the measured power, a chart below, in `ax` (a new figure if None).

        `options` are those of `litdiode.plots.plot_maximum_powers`: `level=0.95`, of the bars. Returns both axes.

        ```python
        >>> import litdiode as ld
        >>> cell = ld.SingleDiode(iph_a=0.03, i0_a=1e-9, n=1.3, rs_ohm=0.5, rsh_ohm=900)  # invented
        >>> found = ld.maximum_powers(ld.simulate_sweep(cell, ld.Instrument(noise_current_a=2e-5), seed=1))
        >>> power, chart = found.plot()
        >>> chart.get_xlabel()
        'Pmax / mW'
        ```
        """
        from .plots import plot_maximum_powers

        return plot_maximum_powers(self, ax, **options)

    def frame(self) -> pd.DataFrame:
        """The rows as a frame of pandas: method, pmax_w and u_w in W, v_pmax_v in V, remark."""
        return _frame(
            {"method": r.method, "pmax_w": r.pmax.value, "u_w": r.pmax.u, "v_pmax_v": r.v_pmax, "remark": r.remark}
            for r in self.rows
        )

    def tidy(self) -> pd.DataFrame:
        """One row a method, as a frame with the columns label, figure, method, value, u, unit, remark.

        A method that gave no figure has the value NaN, and the reason as its remark; "quoted" is the one to quote.
        """
        return tidy_frame(labelled(of_powers(self), self.sweep.label))

    def _lines(self) -> list[tuple[str, ...]]:
        rows: list[tuple[str, ...]] = [
            (r.method, str(r.pmax), f"at {quoted(r.v_pmax, None, 'V')}", r.remark) for r in self.rows
        ]
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
class Resistances(Stored):
    """Rs and Rsh by every method that the sweeps allow, side by side; made by `resistances`.

    - `rows`: a `ResistanceRow` for each method that gave a figure, series resistances first.
    - `absent`: (quantity, method, reason) of the others.
    - `quote`, `why`: the row to quote and the reason, each by "series" and "shunt"; the row is None where none can be
      quoted.
    - `lit`, `dark`: the sweeps, or None.
    - `slope_at_voc`: −dV/dI at Voc, an `Estimate` in Ω with the diode's own n·VT/Isc in it, or None.

    ```python
    >>> import litdiode as ld
    >>> cell = ld.SingleDiode(iph_a=0.03, i0_a=1e-9, n=1.3, rs_ohm=0.5, rsh_ohm=900)  # invented
    >>> found = ld.resistances(ld.simulate_sweep(cell, ld.Instrument(noise_current_a=2e-5), seed=1))
    >>> print(found.quote["series"].method, found.quote["series"].resistance, sep=": ")
    diode fit, lit: 499.90 ± 0.66 mΩ
    >>> [row.method for row in found.rows if row.quantity == "shunt"]
    ['slope at Isc', 'reverse bias, lit', 'co-content', 'diode fit, lit']
    ```
    """

    rows: tuple[ResistanceRow, ...]
    absent: tuple[tuple[str, str, str], ...]
    quote: dict[str, ResistanceRow | None]
    why: dict[str, str]
    lit: Sweep | None = None
    dark: Sweep | None = None
    slope_at_voc: Estimate | None = None

    def plot(self, ax: Axes | None = None, **options: Any) -> list[Axes]:
        """Draws the curve with its tangents and every figure, in `ax` (a new figure if None); returns the axes.

        `options` are those of `litdiode.plots.plot_resistances`: `level=0.95`, of the intervals.

        ```python
        >>> import litdiode as ld
        >>> cell = ld.SingleDiode(iph_a=0.03, i0_a=1e-9, n=1.3, rs_ohm=0.5, rsh_ohm=900)  # invented
        >>> found = ld.resistances(ld.simulate_sweep(cell, ld.Instrument(noise_current_a=2e-5), seed=1))
        >>> curve, series, shunt = found.plot()
        >>> series.get_xlabel()
        'Rs / mΩ'
        ```
        """
        from .plots import plot_resistances

        return plot_resistances(self, ax, **options)

    def get(self, quantity: str, method: str) -> ResistanceRow | None:
        """The row of the `method` for the `quantity` "series" or "shunt"; None where there is none.

        ```python
        >>> import litdiode as ld
        >>> cell = ld.SingleDiode(iph_a=0.03, i0_a=1e-9, n=1.3, rs_ohm=0.5, rsh_ohm=900)  # invented
        >>> found = ld.resistances(ld.simulate_sweep(cell, ld.Instrument(noise_current_a=2e-5), seed=1))
        >>> row = found.get("shunt", "slope at Isc")
        >>> print(row.resistance, row.measures, sep="; ")
        903 ± 56 Ω; lumped with the series resistance, at short circuit under light
        ```
        """
        return next((r for r in self.rows if (r.quantity, r.method) == (quantity, method)), None)

    def frame(self) -> pd.DataFrame:
        """The rows as a frame of pandas: ohm, u_ohm, low_ohm and high_ohm (95 %) in Ω; `holds` without a `doubt`,
        `quoted` for the rows to quote."""
        return _frame(
            {
                "quantity": r.quantity,
                "method": r.method,
                "ohm": r.resistance.value,
                "u_ohm": r.resistance.u,
                "low_ohm": r.interval[0],
                "high_ohm": r.interval[1],
                "quoted": r is self.quote[r.quantity],
                "measures": r.measures,
                "holds": not r.doubt,
                "doubt": r.doubt,
                "source": r.source,
            }
            for r in self.rows
        )

    def tidy(self) -> pd.DataFrame:
        """One row a method, as a frame with the columns label, figure, method, value, u, unit, remark.

        A method that gave no figure has the value NaN, and the reason as its remark; "quoted" is the one to quote.
        """
        named = self.lit or self.dark
        return tidy_frame(labelled(of_resistances(self), named and named.label))

    def _lines(self) -> list[tuple[str, ...]]:
        rows: list[tuple[str, ...]] = [
            (r.quantity, r.method, str(r.resistance), r.doubt and f"does not hold: {r.doubt}") for r in self.rows
        ]
        return rows + [(quantity, method, "none", why) for quantity, method, why in self.absent]

    def _verdicts(self) -> list[str]:
        """One sentence a quantity: what to quote and why."""

        def verdict(quantity: str, symbol: str) -> str:
            row = self.quote[quantity]
            why = self.why[quantity]
            return f"{symbol}: {why}" if row is None else f"{symbol}: quote the {row.method}, {_shown(row)}: {why}"

        return [verdict("series", "Rs"), verdict("shunt", "Rsh")]

    def __repr__(self) -> str:
        return "\n".join([f"Resistances\n{_columns(self._lines())}", *(f"  {v}" for v in self._verdicts())])

    def _repr_html_(self) -> str:
        return _html(self._lines()) + "".join(f"<p>{escape(v)}</p>" for v in self._verdicts())


def _shown(row: ResistanceRow) -> str:
    """The figure, or the end of the interval where there is only a bound."""
    low, high = row.interval
    if row.resistance.u is None and low is not None and (high is None or high == float("inf")):
        return f"above {low:.3g} Ω (95 %)"
    if row.resistance.u is None and high is not None:
        return f"below {high:.3g} Ω (95 %)"
    return str(row.resistance)


def maximum_powers(sweep: Sweep, *, progress: bool | Callable[[int], Any] | None = None) -> MaximumPowers:
    """Pmax of a sweep by every method, side by side, with the one to quote: a `MaximumPowers`.

    ```text
    highest sample   max Vᵢ·Iᵢ, with the bias that its scatter gives it
    guided curve     maximum of V·I(V) of the curve that a pilot fit guides, as in `Sweep.key_points`
    smooth curve     maximum of V·s(V), s a penalised spline
    concave curve    the same of the falling, concave curve, where the readings do not speak against that shape
    diode model      maximum of the fitted single diode
    ```

    - `sweep`: a measured `Sweep`.
    - `progress`: True shows a bar; a function is told the number of methods done, of all five; its exception stops the
      work.

    Every Pmax is an `Estimate` in W. The guided curve is the one to quote: it holds on curves of one bend and on
    S-shapes; `why` says what else agrees. Never fails: a method that gives no figure says why in `absent`.

    ```python
    >>> import litdiode as ld
    >>> cell = ld.SingleDiode(iph_a=0.03, i0_a=1e-9, n=1.3, rs_ohm=0.5, rsh_ohm=900)  # invented
    >>> found = ld.maximum_powers(ld.simulate_sweep(cell, ld.Instrument(noise_current_a=2e-5), seed=1))
    >>> found.quote.method, f"{found.quote.pmax.value:.4f} {found.quote.pmax.unit}"
    ('guided curve', '0.0129 W')
    ```
    """
    rows, absent, quote, why, window_v = power_rows(sweep, progress)
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
    progress: bool | Callable[[int], Any] | None = None,
) -> Resistances:
    """Rs and Rsh by every method that the sweeps of one device allow, side by side: a `Resistances`.

    - `lit`: a `Sweep` under light: slope at Voc, slope at Isc, reverse bias, co-content, diode fit.
    - `dark`: one without, same temperature: Cheung's regression, Werner's plot, ohmic region, reverse bias, diode fit;
      with `lit` also the distance of both at maximum power.
    - `more_lit`: sweeps at other irradiances and the same temperature: points of equal Isc − I.
    - `implied_v`, `suns`: open-circuit voltages in V and the irradiances they belong to as parts of that of `lit`,
      6 or more of each, in place of a dark sweep.
    - `n`: ideality factor of one cell, a number or an `Estimate` from 0.3 to 10, where it is known: the slope at Voc
      is Rs + n·VT/Isc, VT = cells·k·T/q.
    - `progress`: True shows a bar; a function is told the number of methods done, in the end those of `rows` and
      `absent`; its exception stops the work.

    The methods measure different things: each row says what, whether its assumptions hold on these data, and its
    source. Noise is that of each sweep where it is stated, else found from its scatter. `quote` names for Rs and Rsh
    the first method of a fixed order whose assumptions hold, and `why` says why; docs/resistances.md shows how often
    the intervals hold. Methods without a figure are in `absent` with the reason. Raises `InputError` for `implied_v`
    without `suns` or the reverse, for values of them that cannot be, and for an `n` that is none.

    ```python
    >>> import litdiode as ld
    >>> cell = ld.SingleDiode(iph_a=0.03, i0_a=1e-9, n=1.3, rs_ohm=0.5, rsh_ohm=900)  # invented
    >>> sweep = ld.simulate_sweep(cell, ld.Instrument(noise_current_a=2e-5), seed=1)
    >>> found = ld.resistances(sweep)
    >>> found.quote["series"].method, found.quote["series"].resistance.unit
    ('diode fit, lit', 'Ω')
    ```
    """
    rows, absent, quoted = resistance_rows(lit, dark, more_lit, implied_v, suns, n, progress)
    table = tuple(ResistanceRow(*r) for r in rows)
    by_name = {(r.quantity, r.method): r for r in table}
    quote = {quantity: by_name.get((quantity, method or "")) for quantity, method, _ in quoted}
    why = {quantity: reason for quantity, _, reason in quoted}
    # Without n the method gives the slope itself.
    plain = rows if n is None or lit is None else resistance_rows(lit, None, [], None, None, None)[0]
    slope = next((r[2] for r in plain if r[:2] == ("series", "slope at Voc")), None)
    return Resistances(table, tuple(absent), quote, why, lit, dark, slope)


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
