from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import Any, Literal, final, overload

import numpy as np
from matplotlib.axes import Axes
from numpy.typing import ArrayLike, NDArray
from typing_extensions import disjoint_base

__all__ = [
    "Budget",
    "Calibration",
    "Change",
    "ClosedForm",
    "Correction",
    "DarkSweep",
    "DetectionLimits",
    "DoubleDiode",
    "DoubleDiodes",
    "Estimate",
    "Finding",
    "Fit",
    "FitList",
    "Gain",
    "Hysteresis",
    "InputError",
    "Instrument",
    "InstrumentCheck",
    "Interpolant",
    "Interval",
    "KeyPointList",
    "KeyPoints",
    "KeyPointsTable",
    "LeadResistance",
    "Leakage",
    "LitdiodeError",
    "LitdiodeWarning",
    "LiveSweep",
    "Maximum",
    "Monitor",
    "Noise",
    "Offset",
    "Plan",
    "PointsNeeded",
    "Procedure1",
    "Procedure2",
    "Resample",
    "SenseResistor",
    "SetPoint",
    "ShapeTest",
    "SingleDiode",
    "SingleDiodes",
    "StepResponse",
    "Sweep",
    "SweepRows",
    "TemperatureCoefficients",
    "Translated",
    "between",
    "check_instrument",
    "curve_correction",
    "detection_limits",
    "fit_double_diode",
    "fit_rows",
    "fit_single_diode",
    "from_end_slopes",
    "from_key_points",
    "hysteresis",
    "irradiance_factor",
    "key_point_rows",
    "plan_sweep",
    "plus_minus",
    "points_needed",
    "power_rows",
    "prefix_exponent",
    "prefixed",
    "quoted",
    "resistance_rows",
    "simulate_sweep",
    "smallest_cell",
    "span",
    "step_response",
    "sweeps_of",
    "temperature_coefficients",
    "translate_between",
    "translation_resistance",
    "ufloats",
]

_Array = NDArray[np.float64]
_Residual = Literal["auto", "nearest", "current", "voltage", "implicit"]
_Kind = Literal["linear", "monotone_cubic", "natural_cubic", "smoothing", "shape_constrained"]
_Limits = tuple[float, float] | None

class LitdiodeError(Exception):
    """What went wrong in litdiode: the base of its exceptions.

    ```python
    >>> import litdiode as ld
    >>> try:
    ...     ld.SingleDiode(iph_a=0.03, i0_a=1e-9, n=-1.3, rs_ohm=0.5, rsh_ohm=900)
    ... except ld.LitdiodeError as error:
    ...     print(type(error).__name__, error, sep=": ")
    InputError: n = -1.3 is outside 0.01 to 1000; give the ideality factor of one cell, usually 1 to 2
    ```
    """

class InputError(LitdiodeError, ValueError):
    """Bad input, also a ValueError: the text names the argument, the index, the value and the cure.

    ```python
    >>> import litdiode as ld
    >>> try:
    ...     ld.Sweep([0.0, 0.2, 0.4], [0.030, float("nan"), 0.028])
    ... except ld.InputError as error:
    ...     print(error)
    current_a[1] = NaN is not a finite number; remove the point or repeat the reading
    ```
    """

class LitdiodeWarning(UserWarning):
    """Something was decided that you should know of, such as a turn of the sign; see Sweep.changes.

    ```python
    >>> import warnings
    >>> import litdiode as ld
    >>> with warnings.catch_warnings(record=True) as told:
    ...     warnings.simplefilter("always")
    ...     sweep = ld.Sweep([0.0, 0.2, 0.4, 0.5, 0.6], [-0.030, -0.030, -0.028, -0.017, 0.041])  # invented
    >>> told[0].category.__name__, sweep.changes[0].what
    ('LitdiodeWarning', 'current turned from load sign to generator sign')
    ```
    """

@final
class Estimate:
    """A value with its standard uncertainty, degrees of freedom and unit.

    ```text
    value ± t·u        t: Student's t for the level and dof, two-sided (JCGM 100:2008, annex G)
    ```

    - `value`: the best value, in `unit`.
    - `u`: its standard uncertainty (one standard deviation) in `unit`, 0 or more; None where no ± exists.
    - `dof`: degrees of freedom behind `u`, above 0; infinite, the noise being known, unless given.
    - `unit`: one of "", "A", "V", "W", "Ω", "A/cm²", "cm²", "W/m²", "S", "K", "1/K", "A/K", "V/K", "Ω/K", "s", "1/h"; "" is a pure
      number.
    - `name`: a name, or None. An estimate is one source of uncertainty: what is computed with it, its copies and its pickles
      has it in common, so that the difference of two figures that rest on it is free of it. A name makes it common to
      other programs as well that give the same.

    Estimates compute: `+`, `-`, `*`, `/`, powers with a known exponent, `abs` and order by value (`==` asks for the same value, u,
    dof and unit), with numbers in the same
    unit and with each other, to first order and with all correlations that are recorded (those of key points, of parameters
    of a fit and of what was given); a note says where one is not. The unit of the result goes with it; `InputError` where
    there is none.

    `float(estimate)` is the value; `str` and `format` without a specification quote value ± u with two digits of u and
    a prefixed unit, and `format(estimate, ".3f")` applies the specification to both numbers in the unit itself. Raises
    `InputError` for an unknown unit, a `u` that is negative or not finite, and a `dof` that is not above 0.

    ```python
    >>> import litdiode as ld
    >>> area = ld.Estimate(0.25, 0.01, unit="cm²")
    >>> print(area, f"{area:.3f}", sep="; ")
    0.250 ± 0.010 cm²; (0.250 ± 0.010) cm²
    ```
    """
    def __new__(
        cls, value: float, u: float | None = None, *, dof: float = ..., unit: str = "", name: str | None = None
    ) -> Estimate: ...
    @property
    def value(self) -> float:
        """The best value, in `unit`."""
    @property
    def u(self) -> float | None:
        """Standard uncertainty in `unit`; None where no ± exists."""
    @property
    def dof(self) -> float:
        """Degrees of freedom behind `u`; infinite when the noise is known."""
    @property
    def unit(self) -> str:
        """The unit's symbol; empty for a pure number."""
    @property
    def note(self) -> str | None:
        """What must be known with the figure: why `u` is absent, or what it leaves out; None where there is nothing to
        say.
        """
    def __add__(self, other: Estimate | float, /) -> Estimate: ...
    def __radd__(self, other: Estimate | float, /) -> Estimate: ...
    def __sub__(self, other: Estimate | float, /) -> Estimate: ...
    def __rsub__(self, other: Estimate | float, /) -> Estimate: ...
    def __mul__(self, other: Estimate | float, /) -> Estimate: ...
    def __rmul__(self, other: Estimate | float, /) -> Estimate: ...
    def __truediv__(self, other: Estimate | float, /) -> Estimate: ...
    def __rtruediv__(self, other: Estimate | float, /) -> Estimate: ...
    def __pow__(self, exponent: float, modulo: None = None, /) -> Estimate: ...
    def __rpow__(self, base: Any, modulo: None = None, /) -> Any: ...
    def __neg__(self) -> Estimate: ...
    def __pos__(self) -> Estimate: ...
    def __abs__(self) -> Estimate: ...
    def __lt__(self, other: Estimate | float, /) -> bool: ...
    def __le__(self, other: Estimate | float, /) -> bool: ...
    def __gt__(self, other: Estimate | float, /) -> bool: ...
    def __ge__(self, other: Estimate | float, /) -> bool: ...
    def budget(self) -> Budget:
        """The independent sources that its ± is made of, as a `Budget`.

        ```text
        u² = Σ uₖ²
        ```

        Raises `InputError`, with the reason, where there is no `u`.

        ```python
        >>> import litdiode as ld
        >>> lamp = ld.Estimate(1.0, 0.02, name="lamp calibration")
        >>> (lamp * ld.Estimate(0.03, 0.0001, unit="A", name="meter")).budget()
        Budget
          figure: 30.00 ± 0.61 mA
            lamp calibration      600.0 µA   97.3 %
            meter                 100.0 µA    2.7 %
        ```
        """
    def interval(self, level: float = 0.95) -> Interval:
        """The interval that holds the true value with probability `level` (0 to 1, both excluded), by Student's t.

        ```text
        value ± t·u       I0, n: value·exp(±t·u/value)       Rsh: 1/(1/value ± t·u/value²), which may reach infinity
        ```

        The ends are in `unit`. Without `u` both are None, and the note says why. Raises `InputError` for a level that
        is none.

        ```python
        >>> import litdiode as ld
        >>> area = ld.Estimate(0.250, 0.010, dof=4, unit="cm²")
        >>> interval = area.interval(0.95)
        >>> f"{interval.low:.3f} to {interval.high:.3f} cm²"
        '0.222 to 0.278 cm²'
        ```
        """
    def ufloat(self) -> Any:
        """The figure as a `ufloat` of the package `uncertainties`, without its unit and its degrees of freedom.

        Raises `InputError` where there is no `u`.
        """
    def __float__(self) -> float: ...
    def __format__(self, spec: str, /) -> str: ...
    def _repr_html_(self) -> str: ...
    def to_json(self) -> str:
        """The object as JSON text, lossless; non-finite numbers are the words "inf", "-inf", "nan"."""
    @staticmethod
    def from_json(text: str) -> Estimate:
        """The object that `to_json` wrote as `text`; `InputError` where the text is none of this class.

        ```python
        >>> import litdiode as ld
        >>> noise = ld.Noise(current_a=1e-5, current_rel=0.002)
        >>> ld.Noise.from_json(noise.to_json()) == noise
        True
        ```
        """
    def __eq__(self, other: object, /) -> bool: ...

@final
class Interval:
    """An interval at a stated level, from `Estimate.interval`, `Fit.interval` or `Resample.interval`.

    `low` and `high` are in the unit of the figure. An end that the data do not give is None, and `note` says why; a
    physical bound (Rs = 0, Rsh infinite) is an end like any other.

    ```python
    >>> import litdiode as ld
    >>> cell = ld.SingleDiode(iph_a=0.03, i0_a=1e-9, n=1.3, rs_ohm=0.5, rsh_ohm=900)  # invented
    >>> sweep = ld.simulate_sweep(cell, ld.Instrument(points=12, noise_current_a=3e-4), seed=1)
    >>> interval = ld.fit_single_diode(sweep).interval("rsh")
    >>> f"{interval.low:.0f} Ω", interval.high, interval.level
    ('451 Ω', inf, 0.95)
    ```
    """
    @property
    def low(self) -> float | None:
        """Lower end in the unit of the figure; None where the data give none."""
    @property
    def high(self) -> float | None:
        """Upper end in the unit of the figure; None where the data give none."""
    @property
    def level(self) -> float:
        """Probability that the interval is stated to hold."""
    @property
    def note(self) -> str | None:
        """Why an end is missing, where one is."""
    def to_json(self) -> str:
        """The object as JSON text, lossless; non-finite numbers are the words "inf", "-inf", "nan"."""
    @staticmethod
    def from_json(text: str) -> Interval:
        """The object that `to_json` wrote as `text`; `InputError` where the text is none of this class.

        ```python
        >>> import litdiode as ld
        >>> noise = ld.Noise(current_a=1e-5, current_rel=0.002)
        >>> ld.Noise.from_json(noise.to_json()) == noise
        True
        ```
        """
    def __eq__(self, other: object, /) -> bool: ...

@final
class KeyPoints:
    """Isc, Voc, the point of maximum power and FF, and Jsc and efficiency where area and irradiance are known.

    ```text
    FF = Pmax/(Isc·Voc)      Jsc = Isc/area      η = Pmax/(area·irradiance)
    ```

    Each figure is an `Estimate`, or None with the reason in `absent`. Uncertainties are carried to first order with the
    covariance of the figures (JCGM 100:2008, 5.2.2); degrees of freedom of Jsc and η by Welch–Satterthwaite (annex G).
    FF and η are pure numbers from 0 to 1. Where area or irradiance has no uncertainty, the note of Jsc or η says
    "electrical part only". `repr` shows the `findings` of the sweep beside the figures. Comes from `Sweep.key_points`, `Fit.key_points`, `Translated.key_points` and, exact and
    without ±, from a model.

    ```python
    >>> import litdiode as ld
    >>> cell = ld.SingleDiode(iph_a=0.03, i0_a=1e-9, n=1.3, rs_ohm=0.5, rsh_ohm=900)  # invented
    >>> tracer = ld.Instrument(swept="current", start=0.0, stop=0.0305, noise_voltage_v=5e-4)
    >>> sweep = ld.simulate_sweep(cell, tracer, seed=1)
    >>> sweep = ld.Sweep(sweep.voltage_v, sweep.current_a, swept="current", area_cm2=ld.Estimate(1.0, 0.02))
    >>> points = sweep.key_points()
    >>> print(points.voc, points.ff, points.jsc, sep="; ")
    0.57444 ± 0.00028 V; 0.75148 ± 0.00092; 29.98 ± 0.60 mA/cm²
    >>> points.absent
    {'efficiency': 'η = Pmax/(area·irradiance) needs the irradiance: pass irradiance_w_m2'}
    ```
    """
    @property
    def isc(self) -> Estimate | None:
        """Short-circuit current in A."""
    @property
    def voc(self) -> Estimate | None:
        """Open-circuit voltage in V."""
    @property
    def pmax(self) -> Estimate | None:
        """Maximum power in W."""
    @property
    def v_pmax(self) -> Estimate | None:
        """Voltage of maximum power in V."""
    @property
    def i_pmax(self) -> Estimate | None:
        """Current of maximum power in A."""
    @property
    def ff(self) -> Estimate | None:
        """Fill factor, 0 to 1."""
    @property
    def jsc(self) -> Estimate | None:
        """Short-circuit current density in A/cm²."""
    @property
    def efficiency(self) -> Estimate | None:
        """Efficiency, 0 to 1."""
    @property
    def findings(self) -> list[Finding]:
        """Remarks on the sweep that the figures come from, as `Finding`s; empty for those of a model."""
    @property
    def absent(self) -> dict[str, str]:
        """The figures that are not there, by name, with the reason."""
    @property
    def names(self) -> list[str]:
        """The figures that `covariance` is over: those of the first six that have a ±."""
    @property
    def covariance(self) -> _Array:
        """Covariance of `names` in SI units, one row and one column a name."""
    def _repr_html_(self) -> str: ...
    def to_json(self) -> str:
        """The object as JSON text, lossless; non-finite numbers are the words "inf", "-inf", "nan"."""
    @staticmethod
    def from_json(text: str) -> KeyPoints:
        """The object that `to_json` wrote as `text`; `InputError` where the text is none of this class.

        ```python
        >>> import litdiode as ld
        >>> noise = ld.Noise(current_a=1e-5, current_rel=0.002)
        >>> ld.Noise.from_json(noise.to_json()) == noise
        True
        ```
        """
    def __eq__(self, other: object, /) -> bool: ...

@final
class Budget:
    """What the ± of a figure is made of; from `Sweep.budget` and `Fit.budget`.

    ```text
    u² = Σ uₖ²        uₖ = |∂F/∂xₖ|·u(xₖ), the source xₖ independent of the others (JCGM 100:2008, 5.1.2)
    ```

    The sources are the scatter of the readings, the shape of the curve between them (of key points without a model), the
    gains and offsets of the `noise`, each correction, and area and irradiance where they enter. `repr` is a table, the
    largest first.

    ```python
    >>> import litdiode as ld
    >>> cell = ld.SingleDiode(iph_a=0.03, i0_a=1e-9, n=1.3, rs_ohm=0.5, rsh_ohm=900)  # invented
    >>> measured = ld.simulate_sweep(cell, ld.Instrument(noise_current_a=2e-5), seed=1)
    >>> sweep = measured.correct([ld.Gain(current=ld.Estimate(1.0, 0.01))])
    >>> budget = sweep.budget("isc")
    >>> source, u, share = budget.contributions[0]
    >>> f"{source}: {1e3 * u:.2f} mA, {100 * share:.0f} % of u²"
    'current gain: 0.30 mA, 100 % of u²'
    ```
    """
    @property
    def figure(self) -> str:
        """The name of the figure."""
    @property
    def symbol(self) -> str:
        """The figure as the trade writes it, such as "FF"."""
    @property
    def estimate(self) -> Estimate:
        """Its value and ±."""
    @property
    def contributions(self) -> list[tuple[str, float, float]]:
        """A tuple a source, the largest first: its name, its u in the unit of the figure, its share of u², 0 to 1."""
    def frame(self) -> Any:
        """The contributions as a frame of pandas: source, u in the unit of the figure, share of u²."""
    def plot(self, ax: Axes | None = None, **options: Any) -> Axes:
        """Draws the contributions as bars into `ax` (a new figure if None), and returns it.

        `litdiode.plots.plot_budget` takes no `options`.

        ```python
        >>> import litdiode as ld
        >>> cell = ld.SingleDiode(iph_a=0.03, i0_a=1e-9, n=1.3, rs_ohm=0.5, rsh_ohm=900)  # invented
        >>> ax = ld.simulate_sweep(cell, ld.Instrument(noise_current_a=2e-5), seed=1).budget("ff").plot()
        >>> [text.get_text() for text in ax.get_yticklabels()]
        ['scatter of the readings', 'shape of the curve between the readings']
        ```
        """
    def to_json(self) -> str:
        """The object as JSON text, lossless; non-finite numbers are the words "inf", "-inf", "nan"."""
    @staticmethod
    def from_json(text: str) -> Budget:
        """The object that `to_json` wrote as `text`; `InputError` where the text is none of this class.

        ```python
        >>> import litdiode as ld
        >>> noise = ld.Noise(current_a=1e-5, current_rel=0.002)
        >>> ld.Noise.from_json(noise.to_json()) == noise
        True
        ```
        """
    def __eq__(self, other: object, /) -> bool: ...

@final
class Noise:
    """Standard uncertainties of an instrument, in SI units; a part that is 0 is not stated.

    ```text
    σ² = floor² + (rel·x)² + step²/12        scatter of one reading of the size x, on each axis
    ```

    Floor, proportional part and step are independent from point to point and average down. A gain or an offset is
    common to all points: it does not average down, and is added to the figures after the fit. For the weight of a
    current, x is taken from the fitted curve or from a smooth, not from the reading itself. The 1/12 of the step is
    that of a rectangular distribution (JCGM 100:2008, 4.3.7).

    - `voltage_v`, `current_a`: floor of the scatter in V and in A.
    - `voltage_rel`, `current_rel`: scatter as a share of the reading; needs a floor or a step on its axis.
    - `voltage_step_v`, `current_step_a`: quantisation step in V and in A.
    - `voltage_gain_u`, `current_gain_u`: standard uncertainty of the gain as a share; 0.005 is half a per cent.
    - `voltage_offset_u`, `current_offset_u`: standard uncertainty of the offset in V and in A.
    - `scatter_dof`: degrees of freedom behind the scatter where it was estimated; 0 for a scatter that is known. Key points
      without a model then use Student's t; fits take the scatter as known.

    - `instrument`: a name, or None. Gains and offsets are common to all sweeps that are given one `Noise` object, its copies
      and pickles; with a name also to those of other programs that give the same.

    All others are single numbers by keyword, 0 unless given. Raises `InputError` for a part that is negative or not finite,
    and for a proportional part without a floor, which leaves a reading of 0 no uncertainty at all.

    ```python
    >>> import litdiode as ld
    >>> ld.Noise(current_a=1e-5, current_rel=0.002, current_gain_u=0.005)
    Noise(current_a=0.00001, current_rel=0.002, current_gain_u=0.005)
    ```
    """
    def __new__(
        cls,
        *,
        voltage_v: float = 0.0,
        current_a: float = 0.0,
        voltage_rel: float = 0.0,
        current_rel: float = 0.0,
        voltage_step_v: float = 0.0,
        current_step_a: float = 0.0,
        voltage_gain_u: float = 0.0,
        current_gain_u: float = 0.0,
        voltage_offset_u: float = 0.0,
        current_offset_u: float = 0.0,
        scatter_dof: float = 0.0,
        instrument: str | None = None,
    ) -> Noise: ...
    @property
    def voltage_v(self) -> float:
        """Floor of the voltage's scatter in V."""
    @property
    def current_a(self) -> float:
        """Floor of the current's scatter in A."""
    @property
    def voltage_rel(self) -> float:
        """Scatter of a voltage as a share of it."""
    @property
    def current_rel(self) -> float:
        """Scatter of a current as a share of it."""
    @property
    def voltage_step_v(self) -> float:
        """Quantisation step of the voltage in V."""
    @property
    def current_step_a(self) -> float:
        """Quantisation step of the current in A."""
    @property
    def voltage_gain_u(self) -> float:
        """Standard uncertainty of the voltage gain, a share."""
    @property
    def current_gain_u(self) -> float:
        """Standard uncertainty of the current gain, a share."""
    @property
    def voltage_offset_u(self) -> float:
        """Standard uncertainty of the voltage offset in V."""
    @property
    def current_offset_u(self) -> float:
        """Standard uncertainty of the current offset in A."""
    @property
    def scatter_dof(self) -> float:
        """Degrees of freedom behind the scatter; 0 where it is known."""
    def to_json(self) -> str:
        """The object as JSON text, lossless; non-finite numbers are the words "inf", "-inf", "nan"."""
    @staticmethod
    def from_json(text: str) -> Noise:
        """The object that `to_json` wrote as `text`; `InputError` where the text is none of this class.

        ```python
        >>> import litdiode as ld
        >>> noise = ld.Noise(current_a=1e-5, current_rel=0.002)
        >>> ld.Noise.from_json(noise.to_json()) == noise
        True
        ```
        """
    def __eq__(self, other: object, /) -> bool: ...

@final
class Change:
    """What was done to the readings, and why: an entry of `Sweep.changes`.

    What the library decided by itself (`automatic`) is warned of with a `LitdiodeWarning` when the sweep is made.

    ```python
    >>> import warnings
    >>> import litdiode as ld
    >>> voltage_v, current_a = [0.0, 0.2, 0.4, 0.5, 0.6], [-0.030, -0.030, -0.028, -0.017, 0.041]  # invented
    >>> with warnings.catch_warnings():
    ...     warnings.simplefilter("ignore", ld.LitdiodeWarning)
    ...     change = ld.Sweep(voltage_v, current_a).changes[0]
    >>> print(change.what, change.why, change.automatic, sep="; ")
    current turned from load sign to generator sign; the current rises with voltage, as it does in load sign; True
    ```
    """
    @property
    def what(self) -> str:
        """What was done."""
    @property
    def why(self) -> str:
        """The evidence, or the option that asked for it; empty for what a caller or a reader of files recorded."""
    @property
    def automatic(self) -> bool:
        """Whether the library decided it."""
    def to_json(self) -> str:
        """The object as JSON text, lossless; non-finite numbers are the words "inf", "-inf", "nan"."""
    @staticmethod
    def from_json(text: str) -> Change:
        """The object that `to_json` wrote as `text`; `InputError` where the text is none of this class.

        ```python
        >>> import litdiode as ld
        >>> noise = ld.Noise(current_a=1e-5, current_rel=0.002)
        >>> ld.Noise.from_json(noise.to_json()) == noise
        True
        ```
        """
    def __eq__(self, other: object, /) -> bool: ...

@disjoint_base
class Correction:
    """One step from what an instrument read to what the device did; `Offset`, `SenseResistor`, `Gain`, `Calibration`,
    `LeadResistance`, `Leakage`, `DarkSweep` and `Monitor` make them, and `Sweep(..., corrections=[...])` applies them in
    the order given, before the sign is recognised.

    Each number is a number or an `Estimate`. The uncertainty of an estimate is one source that moves all points together:
    key points and fits carry it, and it does not average down (JCGM 100:2008, 5.2.2). The `noise` of the sweep is that of
    the corrected readings, in V and A.

    ```python
    >>> import litdiode as ld
    >>> bias, shunt = ld.Offset(voltage_v=1.5), ld.SenseResistor(ld.Estimate(10.0, 0.05, unit="Ω"))  # invented
    >>> sweep = ld.Sweep([1.5, 1.7, 1.9, 2.0, 2.1], [0.300, 0.300, 0.280, 0.170, -0.410], corrections=[bias, shunt])
    >>> sweep.voltage_v.round(3).tolist(), sweep.current_a.round(4).tolist()
    ([0.0, 0.2, 0.4, 0.5, 0.6], [0.03, 0.03, 0.028, 0.017, -0.041])
    >>> [change.what for change in sweep.changes]
    ['voltage less an offset of 1.500 V', 'current from the voltage over 10.000 ± 0.050 Ω']
    ```
    """
    def to_json(self) -> str:
        """The object as JSON text, lossless; non-finite numbers are the words "inf", "-inf", "nan"."""
    @staticmethod
    def from_json(text: str) -> Correction:
        """The object that `to_json` wrote as `text`; `InputError` where the text is none of this class.

        ```python
        >>> import litdiode as ld
        >>> noise = ld.Noise(current_a=1e-5, current_rel=0.002)
        >>> ld.Noise.from_json(noise.to_json()) == noise
        True
        ```
        """
    def __eq__(self, other: object, /) -> bool: ...

@final
class Offset(Correction):
    """A bias that is to be subtracted: true = reading − offset.

    - `voltage_v`, `current_a`: what the instrument reads of nothing, in V and in A as the readings stand when their turn
      comes, each a number, an `Estimate` or None.

    ```python
    >>> import litdiode as ld
    >>> ld.Offset(voltage_v=ld.Estimate(1.5, 0.002, unit="V"))
    Correction(voltage less an offset of 1.5000 ± 0.0020 V)
    ```
    """
    def __new__(
        cls, *, voltage_v: float | Estimate | None = None, current_a: float | Estimate | None = None
    ) -> Offset: ...

@final
class SenseResistor(Correction):
    """The currents are voltages over a resistor: I = U/R.

    - `ohm`: its resistance in Ω, above 0, a number or an `Estimate`.

    ```python
    >>> import litdiode as ld
    >>> shunt = ld.SenseResistor(ld.Estimate(10.0, 0.05, unit="Ω"))
    >>> over_it = [0.300, 0.300, 0.280, 0.170, -0.410]  # invented, in V
    >>> sweep = ld.Sweep([0.0, 0.2, 0.4, 0.5, 0.6], over_it, corrections=[shunt])
    >>> sweep.current_a.round(4).tolist()
    [0.03, 0.03, 0.028, 0.017, -0.041]
    ```
    """
    def __new__(cls, ohm: float | Estimate) -> SenseResistor: ...

@final
class Gain(Correction):
    """True = reading/gain.

    - `voltage`, `current`: gains above 0, each a number, an `Estimate` or None.

    ```python
    >>> import litdiode as ld
    >>> clamp = ld.Gain(current=ld.Estimate(1.02, 0.005))  # invented: reads 2 % high
    >>> sweep = ld.Sweep([0.0, 0.2, 0.4, 0.5, 0.6], [0.0306, 0.0306, 0.0286, 0.0173, -0.0418], corrections=[clamp])
    >>> sweep.current_a.round(4).tolist()
    [0.03, 0.03, 0.028, 0.017, -0.041]
    ```
    """
    def __new__(cls, *, voltage: float | Estimate | None = None, current: float | Estimate | None = None) -> Gain: ...

@final
class Calibration(Correction):
    """A table of readings and what they stand for, linear between its points; a line is a table of two.

    - `voltage` or `current`: a pair of lists, readings in rising order and actual values, in V or A.
    - `u`: standard uncertainty common to all actual values, in V or A.

    A reading outside the table is an `InputError`.

    ```python
    >>> import litdiode as ld
    >>> meter = ld.Calibration(voltage=([0.0, 0.5, 1.0], [0.002, 0.503, 1.006]), u=0.001)  # invented
    >>> sweep = ld.Sweep([0.0, 0.2, 0.4, 0.5, 0.6], [0.030, 0.030, 0.028, 0.017, -0.041], corrections=[meter])
    >>> sweep.voltage_v.round(4).tolist()
    [0.002, 0.2024, 0.4028, 0.503, 0.6036]
    ```
    """
    def __new__(
        cls,
        *,
        voltage: tuple[ArrayLike, ArrayLike] | None = None,
        current: tuple[ArrayLike, ArrayLike] | None = None,
        u: float | Estimate | None = None,
    ) -> Calibration: ...

@final
class LeadResistance(Correction):
    """Leads and contacts between the device and where the voltage is read: V = V_read + I·R in generator sign.

    - `ohm`: the resistance of both leads together in Ω, a number or an `Estimate`.

    ```python
    >>> import litdiode as ld
    >>> leads = ld.LeadResistance(ld.Estimate(0.5, 0.05, unit="Ω"))
    >>> voltage_v, current_a = [0.0, 0.2, 0.4, 0.5, 0.6], [0.030, 0.030, 0.028, 0.017, -0.041]  # invented
    >>> ld.Sweep(voltage_v, current_a, corrections=[leads]).voltage_v.round(4).tolist()
    [0.015, 0.215, 0.414, 0.5085, 0.5795]
    ```
    """
    def __new__(cls, ohm: float | Estimate) -> LeadResistance: ...

@final
class Leakage(Correction):
    """A path beside the device, such as an insulation or the input of a meter: I = I_read + V/R in generator sign.

    - `ohm`: its resistance in Ω, above 0, a number or an `Estimate`.

    ```python
    >>> import litdiode as ld
    >>> read = [0.030, 0.0298, 0.0276, 0.0165, -0.0416]  # invented
    >>> sweep = ld.Sweep([0.0, 0.2, 0.4, 0.5, 0.6], read, corrections=[ld.Leakage(1000.0)])
    >>> sweep.current_a.round(4).tolist()
    [0.03, 0.03, 0.028, 0.017, -0.041]
    ```
    """
    def __new__(cls, ohm: float | Estimate) -> Leakage: ...

@final
class DarkSweep(Correction):
    """The currents of a sweep in the dark are subtracted at the same voltages: I = I_read − I_dark(V).

    - `sweep`: that `Sweep`, which reaches all voltages of the readings; between its readings its current is linear.

    Each of its readings is a source of uncertainty, by the `noise` that it states or else by its scatter.

    ```python
    >>> import litdiode as ld
    >>> voltage_v, leak_a = [0.0, 0.2, 0.4, 0.5, 0.6], [0.0, -0.0002, -0.0004, -0.0005, -0.0006]  # invented
    >>> dark = ld.Sweep(voltage_v, leak_a, sign="generator", leads="as_given")
    >>> sweep = ld.Sweep(voltage_v, [0.030, 0.0298, 0.0276, 0.0165, -0.0416], corrections=[ld.DarkSweep(dark)])
    >>> sweep.current_a.round(4).tolist()
    [0.03, 0.03, 0.028, 0.017, -0.041]
    ```
    """
    def __new__(cls, sweep: Sweep) -> DarkSweep: ...

@final
class Monitor(Correction):
    """The drift of the light is taken out: I = I_read·m̄/m, m̄ being the mean of the monitor.

    - `readings`: one above 0 for each point, in any unit.

    ```python
    >>> import litdiode as ld
    >>> lamp = ld.Monitor([1.00, 1.02, 1.01, 0.99, 0.98])  # invented: readings of a photodiode
    >>> sweep = ld.Sweep([0.0, 0.2, 0.4, 0.5, 0.6], [0.0300, 0.0306, 0.0283, 0.0168, -0.0402], corrections=[lamp])
    >>> sweep.current_a.round(4).tolist()
    [0.03, 0.03, 0.028, 0.017, -0.041]
    ```
    """
    def __new__(cls, readings: ArrayLike) -> Monitor: ...

@final
class Finding:
    """A remark on a sweep that its figures do not show by themselves: an entry of `Sweep.findings`.

    `kind` is one of

    - "negative_voltage": power is delivered at V < 0, after the leads were taken as given;
    - "short_of_isc", "short_of_voc": the readings do not reach V = 0, or I = 0;
    - "few_points": fewer than 10 readings;
    - "clipped": three or more readings in a row at exactly the lowest or the highest current;
    - "turns_back": the voltage goes one way and comes back by more than half of it; `points` holds the turn;
    - "current_stepped": the currents rise in even steps and the voltages do not, though the voltage counts as set;
    - "sign_contradicted": with the `sign` that was passed the current rises with voltage;
    - "outlier": a reading far from the diode curve through the others, `points` holds it: its studentised deleted
      residual is beyond chance, and clearly larger than every other residual (1.8 times where these look like noise, else three times), and the curve of the key
      points through the others contradicts it (so none is told among fewer than 8 readings). Of readings 15 to 40 σ off
      on diodes, 87 to 94 % are found among 25, 79 % among 15, 56 to 61 % among 10; of S-shapes with 10 and 15 readings 2 %
      have a false one;
    - "scatter": the readings scatter more than the stated noise, beyond doubt;
    - "quantised": the readings of what was set are m or m + 1 steps of a converter apart, and the noise states no step: a
      rounding that is in no ±;
    - "implausible": a figure that no device has: Voc per cell above 3 V, a current density above that of all photons of
      sunlight, an efficiency above 100 % or above the detailed-balance limit of one junction, 33.77 %, a temperature above
      200 °C (kelvin), a fill factor that no junction of so low a voltage has (exchanged columns, too many `cells`);
    - "bias": the current is flat already at the lowest voltage, far from V = 0, or Voc is above 1.7 V a cell: a bias may not
      have been subtracted;
    - "below_noise": Isc or Voc is below its detection limit (3.29 u), or no power stands out of the scatter;
    - "no_voltage": a current and no voltage: a short circuit;
    - "few_at_knee": fewer than three readings about the point of maximum power;
    - "not_settled": the maximum powers of two ways part by more than 3 u: see `hysteresis`;
    - "not_monotone": readings rise where a passive device falls, by 6 times the stated noise;
    - "s_shape": the curve is bent both ways, beyond chance;
    - "shunted", "series_limited": a resistance that takes a tenth of FF or more, clear of its ±;
    - "low_ideality": n below 2/3 by 4 u.

    Of 100 simulated faults (25 kinds, four devices) each is found by its code, and of 8,000 clean sweeps 0.11 % show a finding
    (`tests/remarks/faults.rs`).

    ```python
    >>> import litdiode as ld
    >>> volts = [1.5, 1.7, 1.9, 2.0, 2.1]  # invented: a bias of 1.5 V is in them
    >>> sweep = ld.Sweep(volts, [0.030, 0.030, 0.028, 0.017, -0.041])
    >>> [(finding.kind, finding.severity) for finding in sweep.findings]
    [('short_of_isc', 'warning'), ('few_points', 'note'), ('bias', 'warning')]
    ```
    """
    @property
    def kind(self) -> str:
        """What it is about, in one word; the class lists them."""
    @property
    def severity(self) -> str:
        """How much it says against the figures: "note" (good to know), "warning" (a figure may be off by more than its ±, or is
        missing) or "fault" (a figure is that of a fault, and not of the device).
        """
    @property
    def figures(self) -> list[str]:
        """Names of the key points that it is about."""
    @property
    def text(self) -> str:
        """The remark, in one sentence."""
    @property
    def points(self) -> list[int]:
        """Indices of the points it is about; empty where it is about the whole."""
    def to_json(self) -> str:
        """The object as JSON text, lossless; non-finite numbers are the words "inf", "-inf", "nan"."""
    @staticmethod
    def from_json(text: str) -> Finding:
        """The object that `to_json` wrote as `text`; `InputError` where the text is none of this class.

        ```python
        >>> import litdiode as ld
        >>> noise = ld.Noise(current_a=1e-5, current_rel=0.002)
        >>> ld.Noise.from_json(noise.to_json()) == noise
        True
        ```
        """
    def __eq__(self, other: object, /) -> bool: ...

@final
class Sweep:
    """A measured current–voltage sweep, checked and turned to generator sign: under light I > 0 at V = 0, V > 0 at I = 0.

    - `voltage_v`, `current_a`: the readings in V and A, one-dimensional and of one length, two or more, in the order of
      measurement, upwards or downwards.
    - `swept`: the quantity that was stepped, "voltage" or "current"; the other was read, and carries the scatter where
      `noise` states none.
    - `sign`: "generator" (I > 0 is delivered), "load" (I > 0 flows into the device: the current is turned), or "auto":
      load sign where the current rises with voltage.
    - `leads`: "as_given", "swapped" (both axes are turned), or "auto": swapped where the power is delivered at V < 0
      and I < 0; in the dark, where the device conducts better at V < 0.
    - `noise`: the `Noise` of the instrument; without it every ± comes from the scatter of the readings.
    - `area_cm2`, `irradiance_w_m2`: illuminated area in cm² and irradiance in W/m², each a number above 0 or an
      `Estimate`; Jsc and the efficiency need them.
    - `temperature_c`: temperature of the device in °C, one number.
    - `cells`: cells in series, a whole number.
    - `time_s`: time of each reading in s, or None.
    - `label`: a name, or None.
    - `changes`: texts on what was done to the readings before, recorded first in `Sweep.changes`.
    - `corrections`: what is to be done to the readings, in order and before their sign is recognised: a list of `Offset`,
      `SenseResistor`, `Gain`, `Calibration`, `LeadResistance`, `Leakage`, `DarkSweep` and `Monitor`.

    - `outliers`: "keep" (the default: they are told as findings, with how far a figure moves without them), or "exclude": a reading
      far off the curve through the others is left out of the sweep and recorded in `changes`; `raw()` has it still.

    Each turn is recorded in `changes`; one that "auto" decided is a `LitdiodeWarning` as well. Raises `InputError`,
    naming argument, index, value and cure, for lengths that differ, a reading that is not finite or an over-range mark
    (9.9e37 or more, common practice), readings at one voltage only or all without current, two readings at one voltage
    that no scatter explains (8 combined standard uncertainties; a fifth of the current's span where no scatter is
    stated), an option outside its domain, and a sign or a polarity that the data do not show. An unknown option is a
    `TypeError`.

    ```python
    >>> import litdiode as ld
    >>> ld.Sweep([-0.1, 0.2, 0.4, 0.5, 0.6], [0.030, 0.030, 0.028, 0.017, -0.041], label="invented")
    Sweep("invented", 5 points, −0.1000 to 0.6000 V, −41.00 to 30.00 mA)
    ```
    """
    def __new__(
        cls,
        voltage_v: ArrayLike,
        current_a: ArrayLike,
        *,
        swept: Literal["voltage", "current"] = "voltage",
        sign: Literal["auto", "generator", "load"] = "auto",
        leads: Literal["auto", "as_given", "swapped"] = "auto",
        noise: Noise | None = None,
        area_cm2: float | Estimate | None = None,
        irradiance_w_m2: float | Estimate | None = None,
        temperature_c: float = 25.0,
        cells: int = 1,
        time_s: ArrayLike | None = None,
        label: str | None = None,
        changes: Sequence[str] | None = None,
        corrections: Sequence[Correction] | None = None,
        outliers: Literal["keep", "exclude"] = "keep",
    ) -> Sweep: ...
    def branches(self) -> list[Sweep]:
        """The ways of a sweep that goes and returns, as a list of sweeps in the order of measurement; one sweep where it goes one
        way only. A single reading at a turn belongs to the way that led to it; of several there each way has its half.

        A way ends where the quantity that was set comes back by more than a tenth of its range. Raises `InputError` where a way
        is no sweep of its own.
        """
    def estimate_noise(self) -> Noise:
        """The scatter of the readings on the axis that was read, as the sweep itself shows it, as a `Noise`.

        ```text
        σ² = floor² + (rel·x)²        u(σ) = σ/√(2·scatter_dof)
        ```

        Gains, offsets and the other axis are those of the sweep's own `noise`. Raises `InputError`, with the reason, where the
        readings show no scatter, for instance where they are fewer than seven.

        ```python
        >>> import litdiode as ld
        >>> cell = ld.SingleDiode(iph_a=0.03, i0_a=1e-9, n=1.3, rs_ohm=0.5, rsh_ohm=900)  # invented
        >>> sweep = ld.simulate_sweep(cell, ld.Instrument(points=60, noise_current_a=2e-5), seed=1)
        >>> found = sweep.estimate_noise()
        >>> bool(abs(found.current_a / 2e-5 - 1) < 3 / (2 * found.scatter_dof) ** 0.5)
        True
        ```
        """
    @staticmethod
    def from_repeats(voltage_v: Sequence[ArrayLike], current_a: Sequence[ArrayLike], **options: Any) -> Sweep:
        """A sweep of the means of repeated readings, with the noise that their spread shows.

        ```text
        min Σ ν/2·[ln σᵢ² + sᵢ²/σᵢ²]     σᵢ² = floor² + (rel·x̄ᵢ)²     sᵢ²: variance at set point i on ν = m − 1
        ```

        - `voltage_v`, `current_a`: readings in V and A, one row a repetition and one column a set point, m ≥ 2 rows
          each.
        - `options`: those of `Sweep`. Of a stated `noise` the floors and proportional parts are replaced by those
          found, the other parts kept.

        A mean of m readings scatters by 1/√m of the σ found; an axis that never varies is not stated. Raises
        `InputError` for fewer than two rows, rows of unequal length, and whatever `Sweep` refuses.

        ```python
        >>> import litdiode as ld
        >>> voltage_v = [[0.571, 0.560, 0.530, 0.101], [0.573, 0.558, 0.532, 0.097], [0.572, 0.559, 0.530, 0.099]]
        >>> current_a = [[0.0, 0.01, 0.02, 0.03]] * 3  # invented: steps of the current, three times
        >>> sweep = ld.Sweep.from_repeats(voltage_v, current_a, swept="current")
        >>> sweep.voltage_v.round(4).tolist()
        [0.572, 0.559, 0.5307, 0.099]
        >>> f"{1e3 * sweep.noise.voltage_v:.2f} mV"
        '0.78 mV'
        ```
        """
    @property
    def voltage_v(self) -> _Array:
        """Voltages in V, generator sign, in the order of measurement."""
    @property
    def current_a(self) -> _Array:
        """Currents in A, generator sign, in the order of measurement."""
    @property
    def time_s(self) -> _Array | None:
        """Time of each point in s, where it was given."""
    @property
    def changes(self) -> list[Change]:
        """What was done to the readings, in order, as `Change`s."""
    @property
    def findings(self) -> list[Finding]:
        """Remarks on the sweep, as `Finding`s; made anew at each call, which takes some fits."""
    @property
    def corrections(self) -> list[Correction]:
        """What was done to the readings before their sign was recognised, in order."""
    @property
    def swept(self) -> str:
        """The quantity that was stepped: "voltage" or "current"."""
    @property
    def noise(self) -> Noise | None:
        """Noise of the instrument, where it was given."""
    @property
    def area_cm2(self) -> Estimate | None:
        """Illuminated area in cm², where it was given."""
    @property
    def irradiance_w_m2(self) -> Estimate | None:
        """Irradiance in W/m², where it was given."""
    @property
    def temperature_c(self) -> float:
        """Temperature of the device in °C."""
    @property
    def cells(self) -> int:
        """Cells in series."""
    @property
    def label(self) -> str | None:
        """A name, where one was given."""
    def budget(self, name: str) -> Budget:
        """The sources of the ± of a key point, as a `Budget`: what to improve first.

        - `name`: "isc", "voc", "pmax", "v_pmax", "i_pmax", "ff", "jsc" or "efficiency".

        Raises `InputError` for another name, and with the reason where the figure or its ± is absent.

        ```python
        >>> import litdiode as ld
        >>> cell = ld.SingleDiode(iph_a=0.03, i0_a=1e-9, n=1.3, rs_ohm=0.5, rsh_ohm=900)  # invented
        >>> measured = ld.simulate_sweep(cell, ld.Instrument(noise_current_a=2e-5), seed=1)
        >>> sweep = measured.correct([ld.Gain(current=ld.Estimate(1.0, 0.01))])
        >>> sweep.budget("isc").contributions[0][0]
        'current gain'
        ```
        """
    def raw(self) -> tuple[_Array, _Array]:
        """The voltages in V and the currents in A as they came, before corrections and before the turn to generator sign."""
    def correct(self, corrections: Sequence[Correction]) -> Sweep:
        """The sweep after further `corrections`, a list as that of `Sweep`; its readings are in generator sign by now, and
        `raw()` stays as it was.

        Raises `InputError` for what `Sweep` refuses.

        ```python
        >>> import litdiode as ld
        >>> sweep = ld.Sweep([-0.1, 0.2, 0.4, 0.5, 0.6], [0.030, 0.030, 0.028, 0.017, -0.041])  # invented
        >>> better = sweep.correct([ld.LeadResistance(ld.Estimate(2.0, 0.1, unit="Ω"))])
        >>> print(better.voltage_v[:2], better.changes[0])
        [-0.04  0.26] Change(voltage corrected for leads of 2.00 ± 0.10 Ω: a correction that was asked for)
        ```
        """
    def key_points(self, *, extrapolate: Literal["isc", "voc"] | Sequence[Literal["isc", "voc"]] = ()) -> KeyPoints:
        """Isc, Voc, Pmax, FF and what follows, each with its ±, from the curve alone: without a model of the device.

        ```text
        curve: a quick diode fit (the pilot) + a Gaussian process of what the readings differ by from it
        Isc = I(0)        Voc = V(0)        Pmax: maximum of V·I(V)        FF = Pmax/(Isc·Voc)
        ```

        The quantity that was set counts as exact, the one that was read as noisy: say `swept="current"` to `Sweep` where
        the current was stepped. Where the pilot fits, the figures are nearly those of a fit; where it does not (an
        S-shape), they follow the readings. docs/key_points.md shows how often the intervals hold.

        - `extrapolate`: "isc", "voc" or both in a list or tuple. Such a figure is continued by up to a quarter of the range
          swept; its u holds what that costs, and its note says so. Otherwise what the sweep does not reach is absent.

        Returns `KeyPoints`. The ± is that of the stated noise (infinite `dof`) or of the scatter found in the sweep,
        carried through with the correlations, with the stated gains and offsets, and with what the curve may do between
        the readings. Raises `InputError` for an unknown name in `extrapolate`; readings that give no figure are
        no error: `absent` says why.

        ```python
        >>> import litdiode as ld
        >>> cell = ld.SingleDiode(iph_a=0.03, i0_a=1e-9, n=1.3, rs_ohm=0.5, rsh_ohm=900)  # invented
        >>> sweep = ld.simulate_sweep(cell, ld.Instrument(noise_current_a=2e-5), seed=1)
        >>> points = sweep.key_points()
        >>> round(points.voc.value, 2), points.voc.unit, points.jsc
        (0.57, 'V', None)
        ```
        """
    def interpolate(
        self, kind: _Kind, *, penalty: Literal["cross_validation", "stated_noise"] | float | None = None
    ) -> Interpolant:
        """The curve of a `kind` through the readings (or near them), an `Interpolant`:

        - "linear": straight lines from point to point;
        - "monotone_cubic": a cubic that rises where the points rise and falls where they fall (Fritsch, Carlson, SIAM
          J. Numer. Anal. 17 (1980) 238);
        - "natural_cubic": the curve through the points of the least ∫ (d²I/dV²)² dV;
        - "smoothing": minimises Σ w(I − s(V))² + λ·∫ ρ(V)·(d²s/dV²)² dV (Reinsch, Numer. Math. 10 (1967) 177), with a
          band; ρ is small where a pilot of the curve bends, 1 throughout where λ is given (Abramovich, Steinberg, J.
          Stat. Plan. Inference 49 (1996) 327; from memory).
          Where the current was set it is V(I) that is smoothed, w = 1/σ² of the voltages, and I(V) its inverse, kept
          falling; between readings far apart the band holds all that the neighbours allow a falling curve of one bend.
          docs/smoothing.md says how far it can be believed;
        - "shape_constrained": the falling, concave curve nearest to the readings; ask its `shape_test` first.

        `penalty` of a smoothing: "cross_validation" (if not said; generalised: Craven, Wahba, Numer. Math. 31 (1979)
        377, a degree of freedom counted 1.2-fold, with 0.3 of the restricted likelihood in ln λ), "stated_noise" (χ² = N − effective degrees of freedom), or λ itself, 0 or more, in V³/A² where the sweep
        states its noise, else in V³ (A³/V² and A³ where the current was set). The last two kinds weigh each reading by the stated noise. Readings at one voltage
        count as their mean. Raises `InputError` for an unknown kind or penalty, a penalty of another kind,
        "stated_noise" of a sweep that states none or that no curve comes near.

        ```python
        >>> import litdiode as ld
        >>> cell = ld.SingleDiode(iph_a=0.03, i0_a=1e-9, n=1.3, rs_ohm=0.5, rsh_ohm=900)  # invented
        >>> sweep = ld.simulate_sweep(cell, ld.Instrument(noise_current_a=2e-5), seed=1)
        >>> curve = sweep.interpolate("smoothing", penalty="cross_validation")
        >>> curve.penalty_chosen_by, f"{1e3 * curve.current(0.45):.2f} mA", f"{1e3 * cell.current(0.45):.2f} mA"
        ('cross_validation', '28.39 mA', '28.40 mA')
        ```
        """
    def translate(
        self,
        parameters: Procedure1 | Procedure2,
        *,
        irradiance_w_m2: float | None = None,
        temperature_c: float | None = None,
    ) -> Translated:
        """The sweep at another irradiance and temperature by procedure 1 or 2 of IEC 60891, a `Translated`.

        - `parameters`: a `Procedure1` or a `Procedure2`; their classes hold the equations.
        - `irradiance_w_m2`: that of the target in W/m², above 0; that of the sweep unless given.
        - `temperature_c`: that of the target in °C; that of the sweep unless given.

        The target counts as exact; the uncertainty of the measured irradiance lies on the points. Conditions beyond the
        range of the parameters, and inputs without uncertainty, are told in `Translated.warnings`. Procedure 3, between
        two sweeps, is `translate_between`. Raises `InputError` for a sweep without irradiance, or without the Isc (1) or
        Voc (2) that is needed.

        ```python
        >>> import litdiode as ld
        >>> rules = ld.Procedure1(alpha_a_per_k=1.5e-5, beta_v_per_k=-0.0021, rs_ohm=0.4, kappa_ohm_per_k=0.002)
        >>> voltage_v, current_a = [-0.1, 0.2, 0.4, 0.5, 0.6], [0.030, 0.030, 0.028, 0.017, -0.041]  # invented
        >>> sweep = ld.Sweep(voltage_v, current_a, irradiance_w_m2=900)
        >>> there = sweep.translate(rules, irradiance_w_m2=1000, temperature_c=35)
        >>> there.sweep.current_a.round(4).tolist()
        [0.0335, 0.0335, 0.0315, 0.0205, -0.0375]
        >>> there.warnings[0]
        'irradiance_w_m2 has no uncertainty: the ± leaves it out'
        ```
        """
    def plot(self, ax: Axes | None = None, **options: Any) -> tuple[Axes, Axes]:
        """Draws current and power with the key points into `ax` (a new figure if None); returns the axes of both.

        `options` are those of `litdiode.plots.plot_sweep`: `level=0.95`, of the intervals.

        ```python
        >>> import litdiode as ld
        >>> cell = ld.SingleDiode(iph_a=0.03, i0_a=1e-9, n=1.3, rs_ohm=0.5, rsh_ohm=900)  # invented
        >>> tracer = ld.Instrument(swept="current", start=0.0, stop=0.0305, noise_voltage_v=5e-4)
        >>> sweep = ld.simulate_sweep(cell, tracer, seed=1)
        >>> current, power = sweep.plot()
        >>> power.get_ylabel()
        'power / mW'
        ```
        """
    def __len__(self) -> int: ...
    def _repr_html_(self) -> str: ...
    def to_json(self) -> str:
        """The object as JSON text, lossless; non-finite numbers are the words "inf", "-inf", "nan"."""
    @staticmethod
    def from_json(text: str) -> Sweep:
        """The object that `to_json` wrote as `text`; `InputError` where the text is none of this class.

        ```python
        >>> import litdiode as ld
        >>> noise = ld.Noise(current_a=1e-5, current_rel=0.002)
        >>> ld.Noise.from_json(noise.to_json()) == noise
        True
        ```
        """
    def __eq__(self, other: object, /) -> bool: ...

@final
class SingleDiode:
    """One diode with light, shunt and series resistance; many such devices where a parameter is an array.

    ```text
    I = Iph − I0·(exp((V + I·Rs)/a) − 1) − (V + I·Rs)/Rsh        a = n·cells·k·T/q
    ```

    - `iph_a`: light-generated current in A, 0 (in the dark) to 1e9.
    - `i0_a`: saturation current in A, 1e-300 to 1e6.
    - `n`: ideality factor of one cell, 0.01 to 1000.
    - `rs_ohm`: series resistance in Ω, 0 to 1e12.
    - `rsh_ohm`: shunt resistance in Ω, 1e-12 up to `float("inf")`, which is none.
    - `cells`: cells in series, a whole number, 1 unless given.
    - `temperature_c`: temperature in °C, −272.15 to 3000, 25 unless given.

    Numbers make a `SingleDiode`. An array among them makes a `SingleDiodes`: the parameters broadcast. k and q are the
    exact constants of the SI of 2019. Raises `InputError` naming the parameter, its place in an array, the value and
    its limits.

    ```python
    >>> import litdiode as ld
    >>> cell = ld.SingleDiode(iph_a=0.035, i0_a=1e-9, n=1.4, rs_ohm=0.8, rsh_ohm=900)  # invented
    >>> round(cell.current(0.5), 4)
    0.0322
    >>> cell.current([0.0, 0.5]).round(4).tolist()
    [0.035, 0.0322]
    ```
    """
    @overload
    def __new__(
        cls,
        *,
        iph_a: float,
        i0_a: float,
        n: float,
        rs_ohm: float,
        rsh_ohm: float,
        cells: int = 1,
        temperature_c: float = 25.0,
    ) -> SingleDiode: ...
    @overload
    def __new__(  # type: ignore[misc]
        cls,
        *,
        iph_a: ArrayLike,
        i0_a: ArrayLike,
        n: ArrayLike,
        rs_ohm: ArrayLike,
        rsh_ohm: ArrayLike,
        cells: ArrayLike = 1,
        temperature_c: ArrayLike = 25.0,
    ) -> SingleDiodes: ...
    @property
    def i0_a(self) -> float:
        """Saturation current in A."""
    @property
    def n(self) -> float:
        """Ideality factor, that of one cell."""
    @property
    def iph_a(self) -> float:
        """Light-generated current in A."""
    @property
    def rs_ohm(self) -> float:
        """Series resistance in Ω."""
    @property
    def rsh_ohm(self) -> float:
        """Shunt resistance in Ω."""
    @property
    def cells(self) -> int:
        """Cells in series."""
    @property
    def temperature_c(self) -> float:
        """Temperature in °C."""
    def current(self, voltage_v: ArrayLike, *, threads: int | None = 1) -> Any:
        """I in A at `voltage_v` in V: a number for a number, an array of the same shape for anything array-like.

        `threads`: how many work on it, 1 unless given, None for all there are. A current beyond the range of a
        double is infinite. Raises `InputError` for a voltage that is not finite.

        ```python
        >>> import litdiode as ld
        >>> cell = ld.SingleDiode(iph_a=0.035, i0_a=1e-9, n=1.4, rs_ohm=0.8, rsh_ohm=900)  # invented
        >>> cell.current([0.0, 0.5, 0.7]).round(4).tolist()
        [0.035, 0.0322, -0.0529]
        ```
        """
    def voltage(self, current_a: ArrayLike, *, threads: int | None = 1) -> Any:
        """V in V at `current_a` in A, shapes and `threads` as in `current`.

        −inf where no finite voltage carries the current: Rsh infinite and I ≥ Iph plus the saturation currents.
        Raises `InputError` for a current that is not finite.

        ```python
        >>> import litdiode as ld
        >>> cell = ld.SingleDiode(iph_a=0.035, i0_a=1e-9, n=1.4, rs_ohm=0.8, rsh_ohm=900)  # invented
        >>> cell.voltage([0.035, 0.02, 0.0]).round(4).tolist()
        [-0.028, 0.5767, 0.6241]
        ```
        """
    def power(self, voltage_v: ArrayLike) -> Any:
        """P = V·I in W, delivered, at `voltage_v` in V; shapes and errors as in `current`.

        ```python
        >>> import litdiode as ld
        >>> cell = ld.SingleDiode(iph_a=0.035, i0_a=1e-9, n=1.4, rs_ohm=0.8, rsh_ohm=900)  # invented
        >>> f"{1e3 * cell.power(0.5):.2f} mW"
        '16.09 mW'
        ```
        """
    def slope(self, voltage_v: ArrayLike) -> Any:
        """dI/dV in S at `voltage_v` in V, below 0; shapes and errors as in `current`. The dynamic resistance is
        −1/(dI/dV).

        ```python
        >>> import litdiode as ld
        >>> cell = ld.SingleDiode(iph_a=0.035, i0_a=1e-9, n=1.4, rs_ohm=0.8, rsh_ohm=900)  # invented
        >>> f"{-1 / cell.slope(0.0):.0f} Ω at Isc, {-1 / cell.slope(cell.voltage(0.0)):.2f} Ω at Voc"
        '901 Ω at Isc, 1.85 Ω at Voc'
        ```
        """
    def gradient(self, voltage_v: float) -> dict[str, float]:
        """Derivatives of I at one voltage, `voltage_v` in V: a dictionary of numbers in SI units.

        Keys: `voltage` (dI/dV) and the parameters as fits name them: `iph i0 n rs rsh`, or `iph i01 n1 i02 n2
        rs rsh`. Raises `InputError` for a voltage that is not finite.

        ```python
        >>> import litdiode as ld
        >>> cell = ld.SingleDiode(iph_a=0.035, i0_a=1e-9, n=1.4, rs_ohm=0.8, rsh_ohm=900)  # invented
        >>> slopes = cell.gradient(0.5)
        >>> {name: f"{slopes[name]:.3g}" for name in ("voltage", "iph", "rs", "rsh")}
        {'voltage': '-0.06', 'iph': '0.952', 'rs': '-0.00193', 'rsh': '6.18e-07'}
        ```
        """
    def key_points(self) -> KeyPoints:
        """Isc, Voc, the point of maximum power and FF of the model, as `KeyPoints`: exact for the parameters, so
        without ±.

        In the dark (Iph = 0) all are 0, and FF is absent with the reason.
        """
    def at(
        self,
        irradiance_w_m2: float | None = None,
        temperature_c: float | None = None,
        *,
        reference_irradiance_w_m2: float = 1000.0,
        isc_per_k: float = 0.0,
        gap_ev: float = 1.12,
        shunt_follows_light: bool = False,
        saturation_law: Literal["ideality", "intrinsic"] = "ideality",
    ) -> SingleDiode:
        """The model at another irradiance G and temperature T; n, Rs and cells stay.

        ```text
        Iph = Iph₀·(1 + isc_per_k·(T − T₀))·G/G₀      Rsh = Rsh₀·G₀/G on request
        I0 = I0₀·(T/T₀)^(3/n)·exp((T/T₀ − 1)·Eg/(n·kT/q))      each diode with its own n
        ```

        Voc then falls by (Eg/q + 3kT/q − Voc)/T, about 2 mV/K in silicon, at any n.

        - `irradiance_w_m2`: G in W/m², 0 (dark) to 1e8; G₀ unless given.
        - `temperature_c`: T in °C; that of the model, T₀, unless given.
        - `reference_irradiance_w_m2`: G₀ in W/m², at which the parameters hold; 1000 unless given.
        - `isc_per_k`: relative change of the photocurrent per kelvin, −0.1 to 0.1; 0 unless given.
        - `gap_ev`: band gap Eg in eV, 0 to 10; 1.12, silicon, unless given.
        - `shunt_follows_light`: whether Rsh is proportional to 1/G, as in thin films (common practice).
        - `saturation_law`: "ideality" (unless given) as above, or "intrinsic": I0 = I0₀·(T/T₀)³·exp(Eg/k·(1/T₀ −
          1/T)), the intrinsic carrier density squared, whatever n; the same at n = 1, at n = 2 Voc falls by 6 mV/K.

        Raises `InputError` for a value outside its limits, also of a parameter that leaves its own. Sources: L. W.
        Nagel, SPICE2, ERL-M520, University of California, Berkeley (1975); for "intrinsic" S. M. Sze, Physics of
        Semiconductor Devices, chapter 1; both from memory.

        ```python
        >>> import litdiode as ld
        >>> cell = ld.SingleDiode(iph_a=0.035, i0_a=1e-9, n=1.4, rs_ohm=0.8, rsh_ohm=900)  # invented
        >>> hot = cell.at(irradiance_w_m2=500, temperature_c=60)
        >>> f"{cell.key_points().voc.value:.4f} V, {hot.key_points().voc.value:.4f} V, {hot.iph_a:.4f} A"
        '0.6241 V, 0.5279 V, 0.0175 A'
        ```
        """
    def curve(self, points: int = 200) -> tuple[_Array, _Array]:
        """(voltage_v, current_a) in V and A for a plot: two arrays of `points` numbers (2 or more), dense at the
        knee.

        From V = 0 to Voc under light; in the dark over −5 to 25 thermal voltages of the junction.

        ```python
        >>> import litdiode as ld
        >>> cell = ld.SingleDiode(iph_a=0.035, i0_a=1e-9, n=1.4, rs_ohm=0.8, rsh_ohm=900)  # invented
        >>> voltage_v, current_a = cell.curve(points=5)
        >>> voltage_v.round(3).tolist()
        [0.0, 0.43, 0.498, 0.559, 0.624]
        ```
        """
    def to_json(self) -> str:
        """The object as JSON text, lossless; non-finite numbers are the words "inf", "-inf", "nan"."""
    @staticmethod
    def from_json(text: str) -> SingleDiode:
        """The object that `to_json` wrote as `text`; `InputError` where the text is none of this class.

        ```python
        >>> import litdiode as ld
        >>> noise = ld.Noise(current_a=1e-5, current_rel=0.002)
        >>> ld.Noise.from_json(noise.to_json()) == noise
        True
        ```
        """
    def __eq__(self, other: object, /) -> bool: ...

@final
class DoubleDiode:
    """Two diodes in parallel with light, shunt and series resistance; many such devices where a parameter is an array.

    ```text
    I = Iph − Σk I0k·(exp((V + I·Rs)/ak) − 1) − (V + I·Rs)/Rsh        ak = nk·cells·k·T/q,  k = 1, 2
    ```

    - `iph_a`: light-generated current in A, 0 (in the dark) to 1e9.
    - `i01_a`, `i02_a`: saturation currents in A, 1e-300 to 1e6.
    - `n1`, `n2`: ideality factors of one cell, 0.01 to 1000; often 1 and 2.
    - `rs_ohm`: series resistance in Ω, 0 to 1e12.
    - `rsh_ohm`: shunt resistance in Ω, 1e-12 up to `float("inf")`, which is none.
    - `cells`: cells in series, a whole number, 1 unless given.
    - `temperature_c`: temperature in °C, −272.15 to 3000, 25 unless given.

    Numbers make a `DoubleDiode`, an array among them a `DoubleDiodes`; errors as in `SingleDiode`.

    ```python
    >>> import litdiode as ld
    >>> cell = ld.DoubleDiode(iph_a=0.035, i01_a=1e-12, n1=1, i02_a=1e-8, n2=2, rs_ohm=0.8, rsh_ohm=900)  # invented
    >>> round(cell.key_points().voc.value, 4)
    0.6219
    ```
    """
    @overload
    def __new__(
        cls,
        *,
        iph_a: float,
        i01_a: float,
        n1: float,
        i02_a: float,
        n2: float,
        rs_ohm: float,
        rsh_ohm: float,
        cells: int = 1,
        temperature_c: float = 25.0,
    ) -> DoubleDiode: ...
    @overload
    def __new__(  # type: ignore[misc]
        cls,
        *,
        iph_a: ArrayLike,
        i01_a: ArrayLike,
        n1: ArrayLike,
        i02_a: ArrayLike,
        n2: ArrayLike,
        rs_ohm: ArrayLike,
        rsh_ohm: ArrayLike,
        cells: ArrayLike = 1,
        temperature_c: ArrayLike = 25.0,
    ) -> DoubleDiodes: ...
    @property
    def i01_a(self) -> float:
        """Saturation current of the first diode in A."""
    @property
    def n1(self) -> float:
        """Ideality factor of the first diode, that of one cell."""
    @property
    def i02_a(self) -> float:
        """Saturation current of the second diode in A."""
    @property
    def n2(self) -> float:
        """Ideality factor of the second diode, that of one cell."""
    @property
    def iph_a(self) -> float:
        """Light-generated current in A."""
    @property
    def rs_ohm(self) -> float:
        """Series resistance in Ω."""
    @property
    def rsh_ohm(self) -> float:
        """Shunt resistance in Ω."""
    @property
    def cells(self) -> int:
        """Cells in series."""
    @property
    def temperature_c(self) -> float:
        """Temperature in °C."""
    def current(self, voltage_v: ArrayLike, *, threads: int | None = 1) -> Any:
        """I in A at `voltage_v` in V: a number for a number, an array of the same shape for anything array-like.

        `threads`: how many work on it, 1 unless given, None for all there are. A current beyond the range of a
        double is infinite. Raises `InputError` for a voltage that is not finite.

        ```python
        >>> import litdiode as ld
        >>> cell = ld.DoubleDiode(iph_a=0.035, i01_a=1e-12, n1=1, i02_a=1e-8, n2=2, rs_ohm=0.8, rsh_ohm=900)  # invented
        >>> cell.current([0.0, 0.5, 0.7]).round(4).tolist()
        [0.035, 0.0333, -0.0634]
        ```
        """
    def voltage(self, current_a: ArrayLike, *, threads: int | None = 1) -> Any:
        """V in V at `current_a` in A, shapes and `threads` as in `current`.

        −inf where no finite voltage carries the current: Rsh infinite and I ≥ Iph plus the saturation currents.
        Raises `InputError` for a current that is not finite.

        ```python
        >>> import litdiode as ld
        >>> cell = ld.DoubleDiode(iph_a=0.035, i01_a=1e-12, n1=1, i02_a=1e-8, n2=2, rs_ohm=0.8, rsh_ohm=900)  # invented
        >>> cell.voltage([0.035, 0.02, 0.0]).round(4).tolist()
        [-0.028, 0.5827, 0.6219]
        ```
        """
    def power(self, voltage_v: ArrayLike) -> Any:
        """P = V·I in W, delivered, at `voltage_v` in V; shapes and errors as in `current`.

        ```python
        >>> import litdiode as ld
        >>> cell = ld.DoubleDiode(iph_a=0.035, i01_a=1e-12, n1=1, i02_a=1e-8, n2=2, rs_ohm=0.8, rsh_ohm=900)  # invented
        >>> f"{1e3 * cell.power(0.5):.2f} mW"
        '16.67 mW'
        ```
        """
    def slope(self, voltage_v: ArrayLike) -> Any:
        """dI/dV in S at `voltage_v` in V, below 0; shapes and errors as in `current`. The dynamic resistance is
        −1/(dI/dV).

        ```python
        >>> import litdiode as ld
        >>> cell = ld.DoubleDiode(iph_a=0.035, i01_a=1e-12, n1=1, i02_a=1e-8, n2=2, rs_ohm=0.8, rsh_ohm=900)  # invented
        >>> f"{-1 / cell.slope(0.0):.0f} Ω at Isc, {-1 / cell.slope(cell.voltage(0.0)):.2f} Ω at Voc"
        '901 Ω at Isc, 1.57 Ω at Voc'
        ```
        """
    def gradient(self, voltage_v: float) -> dict[str, float]:
        """Derivatives of I at one voltage, `voltage_v` in V: a dictionary of numbers in SI units.

        Keys: `voltage` (dI/dV) and the parameters as fits name them: `iph i0 n rs rsh`, or `iph i01 n1 i02 n2
        rs rsh`. Raises `InputError` for a voltage that is not finite.

        ```python
        >>> import litdiode as ld
        >>> cell = ld.DoubleDiode(iph_a=0.035, i01_a=1e-12, n1=1, i02_a=1e-8, n2=2, rs_ohm=0.8, rsh_ohm=900)  # invented
        >>> slopes = cell.gradient(0.5)
        >>> {name: f"{slopes[name]:.3g}" for name in ("voltage", "iph", "rs", "rsh")}
        {'voltage': '-0.0366', 'iph': '0.971', 'rs': '-0.00122', 'rsh': '6.31e-07'}
        ```
        """
    def key_points(self) -> KeyPoints:
        """Isc, Voc, the point of maximum power and FF of the model, as `KeyPoints`: exact for the parameters, so
        without ±.

        In the dark (Iph = 0) all are 0, and FF is absent with the reason.
        """
    def at(
        self,
        irradiance_w_m2: float | None = None,
        temperature_c: float | None = None,
        *,
        reference_irradiance_w_m2: float = 1000.0,
        isc_per_k: float = 0.0,
        gap_ev: float = 1.12,
        shunt_follows_light: bool = False,
        saturation_law: Literal["ideality", "intrinsic"] = "ideality",
    ) -> DoubleDiode:
        """The model at another irradiance G and temperature T; n, Rs and cells stay.

        ```text
        Iph = Iph₀·(1 + isc_per_k·(T − T₀))·G/G₀      Rsh = Rsh₀·G₀/G on request
        I0 = I0₀·(T/T₀)^(3/n)·exp((T/T₀ − 1)·Eg/(n·kT/q))      each diode with its own n
        ```

        Voc then falls by (Eg/q + 3kT/q − Voc)/T, about 2 mV/K in silicon, at any n.

        - `irradiance_w_m2`: G in W/m², 0 (dark) to 1e8; G₀ unless given.
        - `temperature_c`: T in °C; that of the model, T₀, unless given.
        - `reference_irradiance_w_m2`: G₀ in W/m², at which the parameters hold; 1000 unless given.
        - `isc_per_k`: relative change of the photocurrent per kelvin, −0.1 to 0.1; 0 unless given.
        - `gap_ev`: band gap Eg in eV, 0 to 10; 1.12, silicon, unless given.
        - `shunt_follows_light`: whether Rsh is proportional to 1/G, as in thin films (common practice).
        - `saturation_law`: "ideality" (unless given) as above, or "intrinsic": I0 = I0₀·(T/T₀)³·exp(Eg/k·(1/T₀ −
          1/T)), the intrinsic carrier density squared, whatever n; the same at n = 1, at n = 2 Voc falls by 6 mV/K.

        Raises `InputError` for a value outside its limits, also of a parameter that leaves its own. Sources: L. W.
        Nagel, SPICE2, ERL-M520, University of California, Berkeley (1975); for "intrinsic" S. M. Sze, Physics of
        Semiconductor Devices, chapter 1; both from memory.

        ```python
        >>> import litdiode as ld
        >>> cell = ld.DoubleDiode(iph_a=0.035, i01_a=1e-12, n1=1, i02_a=1e-8, n2=2, rs_ohm=0.8, rsh_ohm=900)  # invented
        >>> hot = cell.at(irradiance_w_m2=500, temperature_c=60)
        >>> f"{cell.key_points().voc.value:.4f} V, {hot.key_points().voc.value:.4f} V, {hot.iph_a:.4f} A"
        '0.6219 V, 0.5329 V, 0.0175 A'
        ```
        """
    def curve(self, points: int = 200) -> tuple[_Array, _Array]:
        """(voltage_v, current_a) in V and A for a plot: two arrays of `points` numbers (2 or more), dense at the
        knee.

        From V = 0 to Voc under light; in the dark over −5 to 25 thermal voltages of the junction.

        ```python
        >>> import litdiode as ld
        >>> cell = ld.DoubleDiode(iph_a=0.035, i01_a=1e-12, n1=1, i02_a=1e-8, n2=2, rs_ohm=0.8, rsh_ohm=900)  # invented
        >>> voltage_v, current_a = cell.curve(points=5)
        >>> voltage_v.round(3).tolist()
        [0.0, 0.455, 0.514, 0.565, 0.622]
        ```
        """
    def to_json(self) -> str:
        """The object as JSON text, lossless; non-finite numbers are the words "inf", "-inf", "nan"."""
    @staticmethod
    def from_json(text: str) -> DoubleDiode:
        """The object that `to_json` wrote as `text`; `InputError` where the text is none of this class.

        ```python
        >>> import litdiode as ld
        >>> noise = ld.Noise(current_a=1e-5, current_rel=0.002)
        >>> ld.Noise.from_json(noise.to_json()) == noise
        True
        ```
        """
    def __eq__(self, other: object, /) -> bool: ...

@final
class SingleDiodes:
    """Many devices of one diode: what `SingleDiode` gives where a parameter is an array.

    The equation, the parameters (`i0_a`, `n` and the others), their units and limits are those of `SingleDiode`; they
    broadcast to `shape` by the rules of numpy, and so do voltages and currents with them. `devices[k]`, or a tuple for
    more axes, is the `SingleDiode` at a place; `len` is the length of the first axis.

    ```python
    >>> import litdiode as ld
    >>> cells = ld.SingleDiode(iph_a=[0.030, 0.035], i0_a=1e-9, n=1.4, rs_ohm=0.8, rsh_ohm=900)  # invented
    >>> cells.shape, cells.current([[0.0], [0.5]]).shape, cells[1].iph_a
    ((2,), (2, 2), 0.035)
    ```
    """
    @property
    def i0_a(self) -> Any:
        """Saturation current in A."""
    @property
    def n(self) -> Any:
        """Ideality factor, that of one cell."""
    @property
    def iph_a(self) -> Any:
        """Light-generated current in A."""
    @property
    def rs_ohm(self) -> Any:
        """Series resistance in Ω."""
    @property
    def rsh_ohm(self) -> Any:
        """Shunt resistance in Ω."""
    @property
    def cells(self) -> Any:
        """Cells in series."""
    @property
    def temperature_c(self) -> Any:
        """Temperature in °C."""
    @property
    def shape(self) -> tuple[int, ...]:
        """The common shape of the parameters, a tuple."""
    @property
    def size(self) -> int:
        """Number of devices, the product of `shape`."""
    def current(self, voltage_v: ArrayLike, *, threads: int | None = 1) -> Any:
        """I in A at `voltage_v` in V, a number or an array that broadcasts with the parameters.

        `threads`: how many work on it, 1 unless given, None for all there are. Raises `InputError` for a
        voltage that is not finite and for shapes that do not go together.

        ```python
        >>> import litdiode as ld
        >>> cells = ld.SingleDiode(iph_a=[0.030, 0.035], i0_a=1e-9, n=1.4, rs_ohm=0.8, rsh_ohm=900)  # invented
        >>> cells.current([[0.0], [0.5]]).round(4).tolist()
        [[0.03, 0.035], [0.0274, 0.0322]]
        ```
        """
    def voltage(self, current_a: ArrayLike, *, threads: int | None = 1) -> Any:
        """V in V at `current_a` in A, shapes, `threads` and errors as in `current`; −inf where no finite voltage
        carries the current.

        ```python
        >>> import litdiode as ld
        >>> cells = ld.SingleDiode(iph_a=[0.030, 0.035], i0_a=1e-9, n=1.4, rs_ohm=0.8, rsh_ohm=900)  # invented
        >>> cells.voltage(0.0).round(4).tolist()
        [0.6184, 0.6241]
        ```
        """
    def power(self, voltage_v: ArrayLike, *, threads: int | None = 1) -> Any:
        """P = V·I in W, delivered, at `voltage_v` in V; shapes, `threads` and errors as in `current`.

        ```python
        >>> import litdiode as ld
        >>> cells = ld.SingleDiode(iph_a=[0.030, 0.035], i0_a=1e-9, n=1.4, rs_ohm=0.8, rsh_ohm=900)  # invented
        >>> (1e3 * cells.power(0.5)).round(2).tolist()
        [13.71, 16.09]
        ```
        """
    def slope(self, voltage_v: ArrayLike, *, threads: int | None = 1) -> Any:
        """dI/dV in S at `voltage_v` in V, below 0; shapes, `threads` and errors as in `current`.

        ```python
        >>> import litdiode as ld
        >>> cells = ld.SingleDiode(iph_a=[0.030, 0.035], i0_a=1e-9, n=1.4, rs_ohm=0.8, rsh_ohm=900)  # invented
        >>> (-1 / cells.slope(0.0)).round(1).tolist()
        [900.8, 900.8]
        ```
        """
    def key_points(self, *, threads: int | None = 1) -> KeyPointsTable:
        """Isc, Voc, the point of maximum power and FF of each device, exact for its parameters: a
        `KeyPointsTable`.

        `threads`: how many work on it, 1 unless given, None for all there are. Raises `MemoryError` where the
        result finds no room.

        ```python
        >>> import litdiode as ld
        >>> cells = ld.SingleDiode(iph_a=[0.030, 0.035], i0_a=1e-9, n=1.4, rs_ohm=0.8, rsh_ohm=900)  # invented
        >>> found = cells.key_points()
        >>> (1e3 * found.pmax).round(2).tolist(), found.ff.round(4).tolist()
        ([13.71, 16.1], [0.7395, 0.7376])
        ```
        """
    def to_json(self) -> str:
        """The object as JSON text, lossless; non-finite numbers are the words "inf", "-inf", "nan"."""
    @staticmethod
    def from_json(text: str) -> SingleDiodes:
        """The object that `to_json` wrote as `text`; `InputError` where the text is none of this class.

        ```python
        >>> import litdiode as ld
        >>> noise = ld.Noise(current_a=1e-5, current_rel=0.002)
        >>> ld.Noise.from_json(noise.to_json()) == noise
        True
        ```
        """
    def __eq__(self, other: object, /) -> bool: ...
    def __len__(self) -> int: ...
    def __getitem__(self, place: int | tuple[int, ...], /) -> SingleDiode: ...

@final
class DoubleDiodes:
    """Many devices of two diodes: what `DoubleDiode` gives where a parameter is an array.

    The equation, the parameters (`i01_a`, `n1`, `i02_a`, `n2` and the others), their units and limits are those of
    `DoubleDiode`; they broadcast to `shape` by the rules of numpy, and so do voltages and currents with them.
    `devices[k]`, or a tuple for more axes, is the `DoubleDiode` at a place; `len` is the length of the first axis.

    ```python
    >>> import litdiode as ld
    >>> cells = ld.DoubleDiode(iph_a=[0.030, 0.035], i01_a=1e-12, n1=1, i02_a=1e-8, n2=2,
    ...                        rs_ohm=0.8, rsh_ohm=900)  # invented
    >>> cells.shape, cells[1].iph_a
    ((2,), 0.035)
    >>> cells.key_points().voc.round(4).tolist()
    [0.6177, 0.6219]
    ```
    """
    @property
    def i01_a(self) -> Any:
        """Saturation current of the first diode in A."""
    @property
    def n1(self) -> Any:
        """Ideality factor of the first diode, that of one cell."""
    @property
    def i02_a(self) -> Any:
        """Saturation current of the second diode in A."""
    @property
    def n2(self) -> Any:
        """Ideality factor of the second diode, that of one cell."""
    @property
    def iph_a(self) -> Any:
        """Light-generated current in A."""
    @property
    def rs_ohm(self) -> Any:
        """Series resistance in Ω."""
    @property
    def rsh_ohm(self) -> Any:
        """Shunt resistance in Ω."""
    @property
    def cells(self) -> Any:
        """Cells in series."""
    @property
    def temperature_c(self) -> Any:
        """Temperature in °C."""
    @property
    def shape(self) -> tuple[int, ...]:
        """The common shape of the parameters, a tuple."""
    @property
    def size(self) -> int:
        """Number of devices, the product of `shape`."""
    def current(self, voltage_v: ArrayLike, *, threads: int | None = 1) -> Any:
        """I in A at `voltage_v` in V, a number or an array that broadcasts with the parameters.

        `threads`: how many work on it, 1 unless given, None for all there are. Raises `InputError` for a
        voltage that is not finite and for shapes that do not go together.

        ```python
        >>> import litdiode as ld
        >>> cells = ld.DoubleDiode(iph_a=[0.030, 0.035], i01_a=1e-12, n1=1, i02_a=1e-8, n2=2,
        ...                        rs_ohm=0.8, rsh_ohm=900)  # invented
        >>> cells.current([[0.0], [0.5]]).round(4).tolist()
        [[0.03, 0.035], [0.0285, 0.0333]]
        ```
        """
    def voltage(self, current_a: ArrayLike, *, threads: int | None = 1) -> Any:
        """V in V at `current_a` in A, shapes, `threads` and errors as in `current`; −inf where no finite voltage
        carries the current.

        ```python
        >>> import litdiode as ld
        >>> cells = ld.DoubleDiode(iph_a=[0.030, 0.035], i01_a=1e-12, n1=1, i02_a=1e-8, n2=2,
        ...                        rs_ohm=0.8, rsh_ohm=900)  # invented
        >>> cells.voltage(0.0).round(4).tolist()
        [0.6177, 0.6219]
        ```
        """
    def power(self, voltage_v: ArrayLike, *, threads: int | None = 1) -> Any:
        """P = V·I in W, delivered, at `voltage_v` in V; shapes, `threads` and errors as in `current`.

        ```python
        >>> import litdiode as ld
        >>> cells = ld.DoubleDiode(iph_a=[0.030, 0.035], i01_a=1e-12, n1=1, i02_a=1e-8, n2=2,
        ...                        rs_ohm=0.8, rsh_ohm=900)  # invented
        >>> (1e3 * cells.power(0.5)).round(2).tolist()
        [14.24, 16.67]
        ```
        """
    def slope(self, voltage_v: ArrayLike, *, threads: int | None = 1) -> Any:
        """dI/dV in S at `voltage_v` in V, below 0; shapes, `threads` and errors as in `current`.

        ```python
        >>> import litdiode as ld
        >>> cells = ld.DoubleDiode(iph_a=[0.030, 0.035], i01_a=1e-12, n1=1, i02_a=1e-8, n2=2,
        ...                        rs_ohm=0.8, rsh_ohm=900)  # invented
        >>> (-1 / cells.slope(0.0)).round(1).tolist()
        [900.5, 900.5]
        ```
        """
    def key_points(self, *, threads: int | None = 1) -> KeyPointsTable:
        """Isc, Voc, the point of maximum power and FF of each device, exact for its parameters: a
        `KeyPointsTable`.

        `threads`: how many work on it, 1 unless given, None for all there are. Raises `MemoryError` where the
        result finds no room.

        ```python
        >>> import litdiode as ld
        >>> cells = ld.DoubleDiode(iph_a=[0.030, 0.035], i01_a=1e-12, n1=1, i02_a=1e-8, n2=2,
        ...                        rs_ohm=0.8, rsh_ohm=900)  # invented
        >>> found = cells.key_points()
        >>> (1e3 * found.pmax).round(2).tolist(), found.ff.round(4).tolist()
        ([14.34, 16.8], [0.7746, 0.7726])
        ```
        """
    def to_json(self) -> str:
        """The object as JSON text, lossless; non-finite numbers are the words "inf", "-inf", "nan"."""
    @staticmethod
    def from_json(text: str) -> DoubleDiodes:
        """The object that `to_json` wrote as `text`; `InputError` where the text is none of this class.

        ```python
        >>> import litdiode as ld
        >>> noise = ld.Noise(current_a=1e-5, current_rel=0.002)
        >>> ld.Noise.from_json(noise.to_json()) == noise
        True
        ```
        """
    def __eq__(self, other: object, /) -> bool: ...
    def __len__(self) -> int: ...
    def __getitem__(self, place: int | tuple[int, ...], /) -> DoubleDiode: ...

@final
class KeyPointsTable:
    """Key points of many devices, an array a figure, each of the shape of the devices; from `SingleDiodes.key_points`.

    - `isc`, `i_pmax`: currents in A.
    - `voc`, `v_pmax`: voltages in V.
    - `pmax`: maximum powers in W.
    - `ff`: fill factors, Pmax/(Isc·Voc); NaN for a device in the dark, which has none.

    They are exact for the parameters and have no ±. The arrays are taken as they are given.

    ```python
    >>> import litdiode as ld
    >>> cells = ld.SingleDiode(iph_a=[0.0, 0.030], i0_a=1e-9, n=1.4, rs_ohm=0.8, rsh_ohm=900)  # invented
    >>> table = cells.key_points()  # the first cell is in the dark
    >>> table.voc.round(4).tolist(), table.ff.round(4).tolist()
    ([0.0, 0.6184], [nan, 0.7395])
    ```
    """
    def __new__(
        cls,
        *,
        isc: _Array,
        voc: _Array,
        pmax: _Array,
        v_pmax: _Array,
        i_pmax: _Array,
        ff: _Array,
    ) -> KeyPointsTable: ...
    @property
    def isc(self) -> _Array:
        """Short-circuit currents in A."""
    @property
    def voc(self) -> _Array:
        """Open-circuit voltages in V."""
    @property
    def pmax(self) -> _Array:
        """Maximum powers in W."""
    @property
    def v_pmax(self) -> _Array:
        """Voltages of maximum power in V."""
    @property
    def i_pmax(self) -> _Array:
        """Currents of maximum power in A."""
    @property
    def ff(self) -> _Array:
        """Fill factors, 0 to 1; NaN in the dark."""
    def columns(self) -> dict[str, _Array]:
        """The six arrays by name, in SI units, for a table of any kind."""
    def frame(self) -> Any:
        """The columns as a frame of pandas, one row a device, the last axis running fastest."""

@final
class Fit:
    """A fitted diode model with its uncertainties, from `fit_single_diode`, `fit_double_diode` or `fit_many`.

    `model` is the fitted curve, `parameters` its numbers with their ± (`fit.rs` is `fit.parameters["rs"]`), `status` how
    far they can be believed and `notes` what must be known with them. The ± is first order, from the covariance at the
    optimum:

    ```text
    C = s²·(JᵀJ)⁻¹ + common gains and offsets        J: ∂r/∂(Iph, ln I0, ln a, Rs, 1/Rsh) of the weighted residuals r
    s² = 1 where the noise is stated (`noise_stated`, infinite dof), else χ²/ν with ν = points − free parameters
    ```

    `status` is the first that holds of

    - "not_converged": the solver found no optimum, or its budget or deadline ended before; the last good state is given;
    - "not_identified": the data leave at least one parameter open, or do not support the second diode, or show no
      current beyond noise (this before "not_converged");
    - "at_bound": an optimum with a parameter at its bound, which gets a one-sided interval and no ±;
    - "converged": an optimum inside the bounds.

    `str(fit)` shows all of it, for a figure whose interval is the profile's with that interval in place of ±.

    ```python
    >>> import litdiode as ld
    >>> cell = ld.SingleDiode(iph_a=0.03, i0_a=1e-9, n=1.3, rs_ohm=0.5, rsh_ohm=900)  # invented
    >>> tracer = ld.Instrument(swept="current", start=0.0, stop=0.0305, noise_voltage_v=5e-4)
    >>> sweep = ld.simulate_sweep(cell, tracer, seed=1)
    >>> fit = ld.fit_single_diode(sweep)
    >>> fit.status, fit.residual, f"{1e3 * fit.rms:.2f} mV"
    ('converged', 'voltage', '0.49 mV')
    >>> print(fit.n, fit.rs, sep="; ")
    1.273 ± 0.022; 549 ± 45 mΩ
    ```
    """
    @property
    def sweep(self) -> Sweep:
        """The measured sweep."""
    @property
    def model(self) -> Any:
        """The fitted model, a `SingleDiode` or a `DoubleDiode` at the temperature and with the cells of the sweep."""
    @property
    def residual(self) -> str:
        """The distance that was made small: "nearest", "current", "voltage" or "implicit"."""
    @property
    def parameters(self) -> dict[str, Estimate]:
        """Every parameter as an `Estimate`, by name: `iph i0 n rs rsh`, or `iph i01 n1 i02 n2 rs rsh`.

        `u` is None for one that is fixed or at its bound; the note says which, and what the data do not determine.
        Intervals of I0 and n are symmetric in their logarithms, that of Rsh in 1/Rsh.
        """
    @property
    def iph(self) -> Estimate:
        """The photocurrent as an `Estimate` in A."""
    @property
    def i0(self) -> Estimate:
        """The saturation current of the one diode as an `Estimate` in A; a fit of two has `i01` and `i02`."""
    @property
    def n(self) -> Estimate:
        """The ideality factor of the one diode as an `Estimate`; a fit of two has `n1` and `n2`."""
    @property
    def i01(self) -> Estimate:
        """The saturation current of the first of two diodes as an `Estimate` in A; a fit of one has `i0`."""
    @property
    def n1(self) -> Estimate:
        """The ideality factor of the first of two diodes as an `Estimate`; a fit of one has `n`."""
    @property
    def i02(self) -> Estimate:
        """The saturation current of the second of two diodes as an `Estimate` in A; a fit of one has `i0`."""
    @property
    def n2(self) -> Estimate:
        """The ideality factor of the second of two diodes as an `Estimate`; a fit of one has `n`."""
    @property
    def rs(self) -> Estimate:
        """The series resistance as an `Estimate` in Ω."""
    @property
    def rsh(self) -> Estimate:
        """The shunt resistance as an `Estimate` in Ω."""
    @property
    def names(self) -> list[str]:
        """The free parameters, which `covariance` is over."""
    @property
    def covariance(self) -> _Array:
        """Covariance of `names` in SI units, one row and one column a name; NaN where the data give none."""
    @property
    def rms(self) -> float:
        """Root mean square of the residuals in their own unit: A for current and implicit, V for voltage; √(χ²/N) for
        nearest.
        """
    @property
    def chi2(self) -> float:
        """The sum that was made small: of squared residuals in units of the noise that the sweep states for them, also where
        its size is taken from the scatter; where it states none, in the residual's unit squared.
        """
    @property
    def dof(self) -> int:
        """Points less free parameters."""
    @property
    def noise_stated(self) -> bool:
        """Whether ± comes from the stated noise; else from the scatter about the curve."""
    @property
    def status(self) -> str:
        """ "converged", "at_bound", "not_identified" or "not_converged"; the class says what they mean."""
    @property
    def notes(self) -> list[str]:
        """What must be known with the fit, in sentences; empty where there is nothing to say.

        What the data do not determine and what would settle it; parameters at a bound; residuals with a pattern (too
        few runs of one sign: A. Wald, J. Wolfowitz, Ann. Math. Stat. 11 (1940) 147) or of another size than the stated
        noise; why it did not converge; last, the remarks on single readings and on figures that no device has, as in
        `Sweep.findings`.
        """
    @property
    def residuals(self) -> _Array:
        """model − measured of each point, in the order of the sweep: in A or V as `rms`, in units of σ for nearest."""
    @property
    def trace(self) -> list[dict[str, Any]]:
        """The path of the solver: a dictionary a step with `iteration`, `parameters` (SI, by name), `coordinates` (Iph,
        ln I0, ln a, …, Rs, g), `norm` (√Σr²), `damping`, `taken`, and `stopped`: the reason, in the last one.
        """
    @property
    def stopped(self) -> str:
        """Why the solver stopped, in a few words."""
    @property
    def needs_profile(self) -> bool:
        """Whether the default interval is the profile's: u(ln n) is above 0.1, or a parameter lies within 4 u of a bound."""
    @property
    def support(self) -> dict[str, Any] | None:
        """For two diodes, whether the data support the second: a dictionary, or None (for one diode, or nothing to
        compare).

        ```text
        Λ = Δχ² where the noise is stated, N·ln(SS₁/SS₂) where not      AICc = −2·ln L + 2k + 2k(k + 1)/(N − k − 1)
        ```

        Two hypotheses stand beside the two diodes. The better of either diode alone, of n `n_alone`: `likelihood_ratio` is
        Λ against it, `parameters` what the second diode adds, `p` the probability of χ² ≥ Λ on as many degrees of freedom,
        `aicc_difference` the difference of AICc. One diode with a free n, `free_n`: `aicc_beside_free_n`. Differences are
        negative where they speak for the second diode. `holds` where both are; where two diodes within their bounds cannot
        be the one with the free n (`free_n_is_nested` is False), only below −2.7: of one true diode the second is then
        claimed in at most 5 %. AICc: C. M. Hurvich, C.-L. Tsai, Biometrika 76 (1989) 297.
        """
    @property
    def correlation(self) -> _Array:
        """Correlation of `names`, pure numbers, one row and one column a name; NaN where the data give none."""
    def key_points(self) -> KeyPoints:
        """Isc, Voc, Pmax, FF and what follows, by the fitted curve and its covariance, as `KeyPoints`.

        A figure that lies beyond the readings is given by the model and says so in its note; its ± is the longer half of its
        95 % profile interval over Student's t, and there is none where that interval is open.
        """
    def budget(self, name: str) -> Budget:
        """The sources of the ± of a parameter or key point of the fit, to first order, as a `Budget`.

        - `name`: a parameter, or a key point: `isc voc pmax v_pmax i_pmax ff jsc efficiency`.

        Raises `InputError` for another name, and with the reason where the figure or its ± is absent.

        ```python
        >>> import litdiode as ld
        >>> cell = ld.SingleDiode(iph_a=0.03, i0_a=1e-9, n=1.3, rs_ohm=0.5, rsh_ohm=900)  # invented
        >>> noise = ld.Noise(current_a=2e-5, current_gain_u=0.01)
        >>> measured = ld.simulate_sweep(cell, ld.Instrument(noise_current_a=2e-5), seed=1)
        >>> sweep = ld.Sweep(measured.voltage_v, measured.current_a, noise=noise)
        >>> ld.fit_single_diode(sweep).budget("isc")
        Budget
          isc: 29.98 ± 0.30 mA
            current gain                 299.8 µA   99.9 %
            scatter of the readings      6.929 µA    0.1 %
        ```
        """
    def interval(
        self, name: str, level: float = 0.95, *, method: Literal["default", "linear", "profile"] = "default"
    ) -> Interval:
        """The `Interval` of a parameter or of a key point, in SI units.

        ```text
        profile end: χ²(figure held) − χ²(optimum) = t²·s²        linear: Student's t on the figure's own scale
        ```

        - `name`: a parameter, or a key point that the fit gives: `isc voc pmax v_pmax i_pmax ff jsc efficiency`.
        - `level`: the probability with which it holds the truth, between 0 and 1.
        - `method`: "linear", "profile" (of the likelihood), or "default": linear, unless `needs_profile` or the figure is a
          key point beyond the readings.

        An end that the data do not give is None and the note says so; a physical bound (Iph = 0, Rs = 0, Rsh infinite)
        is an end. Raises `InputError` for an unknown name or method and a level that is none.

        ```python
        >>> import litdiode as ld
        >>> cell = ld.SingleDiode(iph_a=0.03, i0_a=1e-9, n=1.3, rs_ohm=0.5, rsh_ohm=900)  # invented
        >>> tracer = ld.Instrument(swept="current", start=0.0, stop=0.0305, noise_voltage_v=5e-4)
        >>> sweep = ld.simulate_sweep(cell, tracer, seed=1)
        >>> fit = ld.fit_single_diode(sweep)
        >>> linear, profile = fit.interval("rsh", method="linear"), fit.interval("rsh", method="profile")
        >>> f"{linear.low:.0f} to {linear.high:.0f} Ω, {profile.low:.0f} to {profile.high:.0f} Ω"
        '854 to 914 Ω, 856 to 915 Ω'
        ```
        """
    def band(
        self, voltage_v: ArrayLike, level: float = 0.95, *, progress: bool | Callable[[int], Any] | None = None
    ) -> tuple[_Array, _Array]:
        """The band that holds the true curve with probability `level` at each voltage by itself: (low, high), two arrays
        in A.

        - `voltage_v`: voltages in V, one-dimensional.
        - `level`: the probability, between 0 and 1.
        - `progress`: True shows a bar; a function is told the number of voltages done.

        First order, or by the profile where `needs_profile` and beyond the readings, which takes a search a voltage; NaN
        where the fit gives none. That the whole curve lies in the band is less probable. All threads work on it; Ctrl-C,
        or an exception of `progress`, stops them. Raises `InputError` for a voltage that is not finite and a level that is
        none.

        ```python
        >>> import litdiode as ld
        >>> cell = ld.SingleDiode(iph_a=0.03, i0_a=1e-9, n=1.3, rs_ohm=0.5, rsh_ohm=900)  # invented
        >>> tracer = ld.Instrument(swept="current", start=0.0, stop=0.0305, noise_voltage_v=5e-4)
        >>> sweep = ld.simulate_sweep(cell, tracer, seed=1)
        >>> low, high = ld.fit_single_diode(sweep).band([0.0, 0.45, 0.57])
        >>> [f"{1e6 * width:.0f} µA" for width in high - low]
        ['35 µA', '59 µA', '496 µA']
        ```
        """
    def ufloats(self) -> dict[str, Any]:
        """Free parameters and key points as `ufloat`s of the package `uncertainties`, with their correlations: a
        dictionary by name, in SI units. Raises `InputError` where the fit has no covariance.
        """
    def resample(
        self,
        draws: int = 1000,
        seed: int = 0,
        *,
        scatter: Literal["parametric", "residual"] = "parametric",
        threads: int | None = None,
        progress: bool | Callable[[int], Any] | None = None,
    ) -> Resample:
        """Repeats the fit on sweeps that could as well have been measured (bootstrap); returns a `Resample`.

        - `draws`: how many sweeps, 1 to 10 million.
        - `seed`: a whole number from 0; the same seed gives the same draws, whatever the threads.
        - `scatter`: "parametric", normal noise of the stated or found size about the fitted curve; or "residual", the
          residuals of the fit, rᵢ/√(1 − hᵢ) with the leverage hᵢ, drawn with replacement.
        - `threads`: how many work on it; None takes all there are.
        - `progress`: True shows a bar; a function is told the number of draws done.

        A stated gain or offset uncertainty is drawn once a sweep. Ctrl-C, or an exception of `progress`, stops the
        work. Raises `InputError` where the fit has no scatter to draw from. Source: A. C. Davison, D. V. Hinkley,
        Bootstrap Methods and their Application (1997), section 6.2 (from memory).

        ```python
        >>> import litdiode as ld
        >>> cell = ld.SingleDiode(iph_a=0.03, i0_a=1e-9, n=1.3, rs_ohm=0.5, rsh_ohm=900)  # invented
        >>> tracer = ld.Instrument(swept="current", start=0.0, stop=0.0305, noise_voltage_v=5e-4)
        >>> sweep = ld.simulate_sweep(cell, tracer, seed=1)
        >>> fit = ld.fit_single_diode(sweep)
        >>> drawn = fit.resample(draws=200, seed=1)
        >>> len(drawn), drawn.failed
        (200, 0)
        >>> bool(0.8 < drawn.column("ff").std() / fit.key_points().ff.u < 1.2)
        True
        ```
        """
    def plot(self, ax: Axes | None = None, **options: Any) -> tuple[Axes, Axes]:
        """Draws the fitted curve through the points into `ax` (a new figure if None), the residuals below; returns
        both axes.

        `options` are those of `litdiode.plots.plot_fit`: `points=300` of the curve, `level=0.95` of the band (None for
        no band).

        ```python
        >>> import litdiode as ld
        >>> cell = ld.SingleDiode(iph_a=0.03, i0_a=1e-9, n=1.3, rs_ohm=0.5, rsh_ohm=900)  # invented
        >>> tracer = ld.Instrument(swept="current", start=0.0, stop=0.0305, noise_voltage_v=5e-4)
        >>> sweep = ld.simulate_sweep(cell, tracer, seed=1)
        >>> curve, residuals = ld.fit_single_diode(sweep).plot(level=None)
        >>> residuals.get_ylabel()
        'residual / µV'
        ```
        """
    def _repr_html_(self) -> str: ...
    def to_json(self) -> str:
        """The object as JSON text, lossless; non-finite numbers are the words "inf", "-inf", "nan"."""
    @staticmethod
    def from_json(text: str) -> Fit:
        """The object that `to_json` wrote as `text`; `InputError` where the text is none of this class.

        ```python
        >>> import litdiode as ld
        >>> noise = ld.Noise(current_a=1e-5, current_rel=0.002)
        >>> ld.Noise.from_json(noise.to_json()) == noise
        True
        ```
        """
    def __eq__(self, other: object, /) -> bool: ...

@final
class Resample:
    """Parameters and key points of every drawn sweep, from `Fit.resample`: one row a draw, in SI units.

    `names` are all parameters of the model, fixed ones too, then `isc voc pmax v_pmax i_pmax ff` (not in the dark).
    Draws whose fit did not converge are left out and counted in `failed`; `len` is the number of rows.

    ```python
    >>> import litdiode as ld
    >>> cell = ld.SingleDiode(iph_a=0.03, i0_a=1e-9, n=1.3, rs_ohm=0.5, rsh_ohm=900)  # invented
    >>> tracer = ld.Instrument(swept="current", start=0.0, stop=0.0305, noise_voltage_v=5e-4)
    >>> sweep = ld.simulate_sweep(cell, tracer, seed=1)
    >>> drawn = ld.fit_single_diode(sweep).resample(draws=100, seed=1)
    >>> drawn.names
    ['iph', 'i0', 'n', 'rs', 'rsh', 'isc', 'voc', 'pmax', 'v_pmax', 'i_pmax', 'ff']
    >>> drawn.values.shape, len(drawn), drawn.failed
    ((100, 11), 100, 0)
    ```
    """
    @property
    def names(self) -> list[str]:
        """The names of the columns of `values`."""
    @property
    def values(self) -> _Array:
        """One row a draw, one column a figure, SI units."""
    @property
    def failed(self) -> int:
        """Draws whose fit did not converge; their rows are left out."""
    def column(self, name: str) -> _Array:
        """The draws of the figure `name`: an array in SI units. Raises `InputError` for an unknown name.

        ```python
        >>> import litdiode as ld
        >>> cell = ld.SingleDiode(iph_a=0.03, i0_a=1e-9, n=1.3, rs_ohm=0.5, rsh_ohm=900)  # invented
        >>> tracer = ld.Instrument(swept="current", start=0.0, stop=0.0305, noise_voltage_v=5e-4)
        >>> sweep = ld.simulate_sweep(cell, tracer, seed=1)
        >>> ff = ld.fit_single_diode(sweep).resample(draws=100, seed=1).column("ff")
        >>> ff.shape, f"{ff.mean():.2f}"
        ((100,), '0.75')
        ```
        """
    def interval(self, name: str, level: float = 0.95) -> Interval:
        """The `Interval` of the figure `name` between the quantiles (1 ± `level`)/2 of its draws, in SI units.

        Linear between the draws in order. Without ends where fewer than two draws converged; the note says so, and how
        many draws failed. Raises `InputError` for an unknown name and for a level that is not between 0 and 1.

        ```python
        >>> import litdiode as ld
        >>> cell = ld.SingleDiode(iph_a=0.03, i0_a=1e-9, n=1.3, rs_ohm=0.5, rsh_ohm=900)  # invented
        >>> tracer = ld.Instrument(swept="current", start=0.0, stop=0.0305, noise_voltage_v=5e-4)
        >>> sweep = ld.simulate_sweep(cell, tracer, seed=1)
        >>> interval = ld.fit_single_diode(sweep).resample(draws=200, seed=1).interval("n", 0.9)
        >>> interval.level, interval.low < 1.3 < interval.high
        (0.9, True)
        ```
        """
    def __len__(self) -> int: ...
    def to_json(self) -> str:
        """The object as JSON text, lossless; non-finite numbers are the words "inf", "-inf", "nan"."""
    @staticmethod
    def from_json(text: str) -> Resample:
        """The object that `to_json` wrote as `text`; `InputError` where the text is none of this class.

        ```python
        >>> import litdiode as ld
        >>> noise = ld.Noise(current_a=1e-5, current_rel=0.002)
        >>> ld.Noise.from_json(noise.to_json()) == noise
        True
        ```
        """
    def __eq__(self, other: object, /) -> bool: ...

@final
class ClosedForm:
    """A one-diode model from a few figures of a curve, from `from_end_slopes` or `from_key_points`.

    A closed form believes its inputs: noise goes straight into the parameters, and there is no ±. It is judged by its
    own curve: where Isc, Voc, Pmax or V_Pmax of the model is more than 1 % off the figure given (an end slope more than
    5 %), or an assumption failed on the way, `reservations` says so.

    ```python
    >>> import litdiode as ld
    >>> found = ld.from_key_points(isc_a=0.030, voc_v=0.58, v_pmax_v=0.47, i_pmax_a=0.0275, n=1.3)  # invented
    >>> found.trustworthy, f"{found.model.rs_ohm:.2f} Ω", f"{found.model.rsh_ohm:.0f} Ω"
    (True, '0.74 Ω', '951 Ω')
    >>> found = ld.from_key_points(isc_a=0.030, voc_v=0.58, v_pmax_v=0.45, i_pmax_a=0.0281, n=1.6)
    >>> print(found.reservations[1])
    V_Pmax of the found curve is +2.7 % off the one given
    ```
    """
    @property
    def model(self) -> SingleDiode:
        """The model, a `SingleDiode`."""
    @property
    def trustworthy(self) -> bool:
        """Whether the assumptions hold on these figures: no `reservations`."""
    @property
    def reservations(self) -> list[str]:
        """Where the assumptions do not hold, in sentences."""
    def to_json(self) -> str:
        """The object as JSON text, lossless; non-finite numbers are the words "inf", "-inf", "nan"."""
    @staticmethod
    def from_json(text: str) -> ClosedForm:
        """The object that `to_json` wrote as `text`; `InputError` where the text is none of this class.

        ```python
        >>> import litdiode as ld
        >>> noise = ld.Noise(current_a=1e-5, current_rel=0.002)
        >>> ld.Noise.from_json(noise.to_json()) == noise
        True
        ```
        """
    def __eq__(self, other: object, /) -> bool: ...

@final
class Instrument:
    """A simulated tracer for `simulate_sweep`: its set points, and each of its faults, all off unless given.

    ```text
    set points ─lag─▶ device behind its leads ─compliance─▶ offsets ─noise─▶ quantisation ─▶ readings
    x(t) = x_static + (x_before − x_static)·exp(−dwell/τ)        the lag of the quantity that is read
    ```

    - `swept`: the quantity that is stepped, "voltage" or "current".
    - `start`, `stop`: first and last set point in V, or in A where the current is stepped; −0.1 and 0.7 unless given. A
      `stop` below `start` sweeps downwards.
    - `points`: number of set points, evenly spaced, 2 to 10 million; 25 unless given.
    - `noise_voltage_v`, `noise_current_a`: standard deviation of a reading in V and A, normal.
    - `noise_current_rel`: the same as a share of the current, added in quadrature.
    - `voltage_step_v`, `current_step_a`: quantisation step in V and A.
    - `voltage_offset_v`, `current_offset_a`: added to every reading, in V and A.
    - `lead_resistance_ohm`: resistance of leads that the voltage is read across, in Ω: two-wire connection.
    - `compliance_a`, `compliance_v`: largest magnitude of the current in A and of the voltage in V; infinite for none.
    - `time_constant_s`: τ in s with which the device follows a step, at rest at the first set point.
    - `dwell_s`: time from one set point to its reading in s, 0.1 unless given.

    Raises `InputError` naming the property that lies outside its limits.

    ```python
    >>> import litdiode as ld
    >>> ld.Instrument(stop=0.65, noise_current_a=1e-5)
    Instrument(swept="voltage", start=-0.1, stop=0.65, points=25, noise_current_a=0.00001)
    ```
    """
    def __new__(
        cls,
        *,
        swept: Literal["voltage", "current"] = "voltage",
        start: float = ...,
        stop: float = 0.7,
        points: int = 25,
        noise_voltage_v: float = ...,
        noise_current_a: float = ...,
        noise_current_rel: float = ...,
        voltage_step_v: float = ...,
        current_step_a: float = ...,
        voltage_offset_v: float = ...,
        current_offset_a: float = ...,
        lead_resistance_ohm: float = ...,
        compliance_a: float = ...,
        compliance_v: float = ...,
        time_constant_s: float = ...,
        dwell_s: float = ...,
    ) -> Instrument: ...
    @property
    def swept(self) -> str:
        """The quantity that is stepped: "voltage" or "current"."""
    @property
    def start(self) -> float:
        """First set point in V, or in A where the current is stepped."""
    @property
    def stop(self) -> float:
        """Last set point, in the unit of `start`."""
    @property
    def points(self) -> int:
        """Number of set points."""
    @property
    def noise_voltage_v(self) -> float:
        """Standard deviation of a voltage reading in V."""
    @property
    def noise_current_a(self) -> float:
        """Standard deviation of a current reading in A."""
    @property
    def noise_current_rel(self) -> float:
        """Standard deviation of a current reading as a share of the current."""
    @property
    def voltage_step_v(self) -> float:
        """Quantisation step of the voltage in V."""
    @property
    def current_step_a(self) -> float:
        """Quantisation step of the current in A."""
    @property
    def voltage_offset_v(self) -> float:
        """Added to every voltage reading, in V."""
    @property
    def current_offset_a(self) -> float:
        """Added to every current reading, in A."""
    @property
    def lead_resistance_ohm(self) -> float:
        """Resistance of the leads that the voltage is read across, in Ω."""
    @property
    def compliance_a(self) -> float:
        """Largest magnitude of the current in A."""
    @property
    def compliance_v(self) -> float:
        """Largest magnitude of the voltage in V."""
    @property
    def time_constant_s(self) -> float:
        """Time constant in s with which the device follows a step."""
    @property
    def dwell_s(self) -> float:
        """Time from one set point to its reading in s."""
    def noise(self) -> Noise:
        """The scatter that the owner of such an instrument could state, a `Noise`: scatter and steps, no offsets."""
    def to_json(self) -> str:
        """The object as JSON text, lossless; non-finite numbers are the words "inf", "-inf", "nan"."""
    @staticmethod
    def from_json(text: str) -> Instrument:
        """The object that `to_json` wrote as `text`; `InputError` where the text is none of this class.

        ```python
        >>> import litdiode as ld
        >>> noise = ld.Noise(current_a=1e-5, current_rel=0.002)
        >>> ld.Noise.from_json(noise.to_json()) == noise
        True
        ```
        """
    def __eq__(self, other: object, /) -> bool: ...

@final
class Interpolant:
    """A curve I(V) of cubic pieces through the readings of a sweep, or near them; no model of the device.

    ```text
    I(V) = c0 + c1·s + c2·s² + c3·s³        s = (V − Vk)/(Vk+1 − Vk)  between the breakpoints Vk ≤ V ≤ Vk+1
    ```

    From `Sweep.interpolate`, which names the kinds. Breakpoints and coefficients are `breakpoints_v` and
    `coefficients_a`. Arguments are numbers or arrays of any shape; results have the same shape. A voltage outside the
    sweep is an `InputError` unless `extrapolate`, which continues the end pieces; so is one that is not finite.

    ```python
    >>> import litdiode as ld
    >>> sweep = ld.Sweep([-0.1, 0.2, 0.4, 0.5, 0.6], [0.030, 0.030, 0.028, 0.017, -0.041])  # invented
    >>> curve = sweep.interpolate("monotone_cubic")
    >>> round(curve.current(0.45), 4), curve.breakpoints_v.size
    (0.0246, 5)
    ```
    """
    @property
    def kind(self) -> _Kind:
        """ "linear", "monotone_cubic", "natural_cubic", "smoothing" or "shape_constrained"."""
    @property
    def sweep(self) -> Sweep:
        """The sweep it was drawn through."""
    def current(self, voltage_v: ArrayLike, extrapolate: bool = False) -> Any:
        """I in A at `voltage_v` in V; `extrapolate` continues the end pieces beyond the sweep.

        ```python
        >>> import litdiode as ld
        >>> sweep = ld.Sweep([-0.1, 0.2, 0.4, 0.5, 0.6], [0.030, 0.030, 0.028, 0.017, -0.041])  # invented
        >>> curve = sweep.interpolate("monotone_cubic")
        >>> round(curve.current(0.45), 4), round(curve.current(0.61, extrapolate=True), 4)
        (0.0246, -0.0492)
        ```
        """
    def slope(self, voltage_v: ArrayLike, extrapolate: bool = False) -> Any:
        """dI/dV in S at `voltage_v` in V; at a kink that of the piece to the right. `extrapolate` as in `current`.

        ```python
        >>> import litdiode as ld
        >>> sweep = ld.Sweep([-0.1, 0.2, 0.4, 0.5, 0.6], [0.030, 0.030, 0.028, 0.017, -0.041])  # invented
        >>> curve = sweep.interpolate("linear")
        >>> f"{curve.slope(0.45):.3f} S", f"{-1 / curve.slope(0.55):.2f} Ω"
        ('-0.110 S', '1.72 Ω')
        ```
        """
    def power(self, voltage_v: ArrayLike, extrapolate: bool = False) -> Any:
        """P = V·I(V) in W at `voltage_v` in V; `extrapolate` as in `current`.

        ```python
        >>> import litdiode as ld
        >>> sweep = ld.Sweep([-0.1, 0.2, 0.4, 0.5, 0.6], [0.030, 0.030, 0.028, 0.017, -0.041])  # invented
        >>> sweep.interpolate("linear").power([0.4, 0.45, 0.5]).round(5).tolist()
        [0.0112, 0.01012, 0.0085]
        ```
        """
    def voltage(self, current_a: ArrayLike, extrapolate: bool = False) -> Any:
        """The voltage in V at which the curve has each current `current_a` in A.

        Raises `InputError` where there are several (see `voltages`) or none. With `extrapolate` a current that the
        sweep does not carry is met at the nearest place beyond it.

        ```python
        >>> import litdiode as ld
        >>> sweep = ld.Sweep([-0.1, 0.2, 0.4, 0.5, 0.6], [0.030, 0.030, 0.028, 0.017, -0.041])  # invented
        >>> curve = sweep.interpolate("monotone_cubic")
        >>> f"Voc {curve.voltage(0.0):.4f} V, {curve.voltage(0.02):.4f} V at 20 mA"
        'Voc 0.5431 V, 0.4828 V at 20 mA'
        ```
        """
    def voltages(self, current_a: float, extrapolate: bool = False) -> _Array:
        """All voltages in V, rising, at which the curve has the one current `current_a` in A; of a flat stretch its two
        ends.

        `extrapolate` continues the end pieces beyond the sweep. Raises `InputError` where the current is not reached.

        ```python
        >>> import litdiode as ld
        >>> voltage_v = [0.0, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6]
        >>> current_a = [0.030, 0.030, 0.031, 0.030, 0.027, 0.017, -0.041]  # invented: rises at first
        >>> sweep = ld.Sweep(voltage_v, current_a, sign="generator", leads="as_given")
        >>> sweep.interpolate("linear").voltages(0.0305).round(3).tolist()
        [0.15, 0.25]
        ```
        """
    def maximum_power(self) -> Maximum:
        """The largest V·I between the first and the last reading: the best of the breakpoints and the zeros of (V·I)′, a
        `Maximum`, exact for the curve and without ±.
        """
    def band(self, voltage_v: ArrayLike, level: float = 0.95, *, with_bias: bool = True) -> tuple[Any, Any]:
        """For a smoothing: the band in A, (low, high), that holds the current with probability `level` at each voltage.

        ```text
        u² = Σ lk·mk·σk², m the row of the curve of least roughness through the points        without bias: u² = Σ lk²·σk²
        ```

        - `voltage_v`: voltages in V within the sweep; low and high have their shape.
        - `level`: between 0 and 1.
        - `with_bias`: whether what the penalty bends away counts, beside the noise that l (see `shares`) carries. Then the
          band holds the curve with probability `level` averaged over the sweep, not place by place (Wahba, J. R. Stat.
          Soc. B 45 (1983) 133); without, 1 to 5 % less often (docs/smoothing.md).

        Of a sweep stepped in current: the currents at which such a band of V(I) holds the voltage, with all that the
        neighbours allow between readings far apart.

        Gains and offsets of the noise and the sweep's effects of one source count beside it. σ is as stated, or as the
        scatter shows it (Student's t). Raises `InputError` for other kinds, a voltage outside
        the sweep, a level that is none, and where no degrees of freedom are left.

        ```python
        >>> import litdiode as ld
        >>> cell = ld.SingleDiode(iph_a=0.03, i0_a=1e-9, n=1.3, rs_ohm=0.5, rsh_ohm=900)  # invented
        >>> sweep = ld.simulate_sweep(cell, ld.Instrument(noise_current_a=2e-5), seed=1)
        >>> low, high = sweep.interpolate("smoothing").band(0.4)
        >>> bool(low < cell.current(0.4) < high), f"{1e6 * (high - low):.0f} µA wide"
        (True, '131 µA wide')
        ```
        """
    def u_current(self, voltage_v: ArrayLike) -> Any:
        """For a smoothing: the standard uncertainty of the current in A at `voltage_v` in V within the sweep.

        It carries the noise and what moves all readings together, not what the penalty bends away (see `band`), and has the degrees of freedom of `scatter`
        where the noise is not stated. Errors as in `band`.

        ```python
        >>> import litdiode as ld
        >>> cell = ld.SingleDiode(iph_a=0.03, i0_a=1e-9, n=1.3, rs_ohm=0.5, rsh_ohm=900)  # invented
        >>> curve = ld.simulate_sweep(cell, ld.Instrument(noise_current_a=2e-5), seed=1).interpolate("smoothing")
        >>> [f"{1e6 * u:.1f} µA" for u in curve.u_current([0.0, 0.4, 0.56])]
        ['14.4 µA', '24.2 µA', '24.3 µA']
        ```
        """
    def u_slope(self, voltage_v: ArrayLike) -> Any:
        """For a smoothing: the standard uncertainty of the slope dI/dV in S at `voltage_v` in V, as `u_current`.

        ```python
        >>> import litdiode as ld
        >>> cell = ld.SingleDiode(iph_a=0.03, i0_a=1e-9, n=1.3, rs_ohm=0.5, rsh_ohm=900)  # invented
        >>> curve = ld.simulate_sweep(cell, ld.Instrument(noise_current_a=2e-5), seed=1).interpolate("smoothing")
        >>> f"{1e3 * curve.slope(0.2):.2f} ± {1e3 * curve.u_slope(0.2):.2f} mS"
        '-1.65 ± 0.45 mS'
        ```
        """
    def shares(self, voltage_v: float) -> tuple[_Array, _Array]:
        """For a smoothing: what the reading at each of `points` contributes to the current (a pure number) and to the
        slope (1/V) at one voltage, `voltage_v` in V: the row of the smoother, two arrays. Of a sweep stepped in current the voltages
        read contribute, in S and S/V. Errors as in `band`.

        ```python
        >>> import litdiode as ld
        >>> cell = ld.SingleDiode(iph_a=0.03, i0_a=1e-9, n=1.3, rs_ohm=0.5, rsh_ohm=900)  # invented
        >>> curve = ld.simulate_sweep(cell, ld.Instrument(noise_current_a=2e-5), seed=1).interpolate("smoothing")
        >>> to_current, to_slope = curve.shares(0.4)
        >>> round(float(to_current.sum()), 6), abs(float(to_slope.sum())) < 1e-9
        (1.0, True)
        >>> float(curve.points["voltage_v"][to_current.argmax()].round(3))
        0.4
        ```
        """
    def shape_test(self, level: float = 0.95) -> ShapeTest:
        """For a shape-constrained curve: whether the readings speak against the falling, concave shape, a `ShapeTest`.

        ```text
        T = χ²(shape) − χ²(smooth), over χ²(smooth) where the noise is not stated        p = (1 + number of T* ≥ T)/(1 + draws)
        ```

        `level`: the probability, 0 to 1, with which readings of that shape pass. T* are drawn by up to 199 fits to the
        fitted shape with fresh noise, always from the same seed (Efron, Tibshirani, An Introduction to the Bootstrap
        (1993), ch. 16); drawing stops when it cannot change the verdict. Raises `InputError` for other kinds, a level
        that is none, and too few readings.

        ```python
        >>> import litdiode as ld
        >>> voltage_v = [0.0, 0.1, 0.2, 0.3, 0.4, 0.45, 0.5, 0.55, 0.6, 0.65]
        >>> current_a = [10.0, 9.9, 9.7, 8.9, 6.5, 4.9, 3.6, 2.7, 1.7, 0.3]  # invented, in mA: an S-shape
        >>> sweep = ld.Sweep(voltage_v, [1e-3 * i for i in current_a], noise=ld.Noise(current_a=5e-5))
        >>> test = sweep.interpolate("shape_constrained").shape_test()
        >>> test.fits, test.p < 0.05
        (False, True)
        ```
        """
    @property
    def range_v(self) -> tuple[float, float]:
        """Lowest and highest voltage in V."""
    @property
    def breakpoints_v(self) -> _Array:
        """Voltages in V at which one piece ends and the next begins."""
    @property
    def coefficients_a(self) -> _Array:
        """c0 to c3 of each piece in A, a row a piece."""
    @property
    def points(self) -> dict[str, NDArray[Any]]:
        """The points of distinct, rising voltages (in a smoothing of a sweep stepped in current: of currents) that the
        readings were gathered to: arrays `voltage_v`, `current_a`,
        `weight` (Σ 1/σ² in 1/A², or 1/V² of the latter, where the noise weighs, else the number of readings) and `count`.
        """
    @property
    def penalty(self) -> float | None:
        """λ of a smoothing in V³/A² where the noise weighs, else in V³, A³/V² or A³ where the current was set; None for other
        kinds.
        """
    @property
    def penalty_chosen_by(self) -> Literal["cross_validation", "stated_noise", "given"] | None:
        """How λ was chosen: "cross_validation", "stated_noise" or "given"; None for other kinds."""
    @property
    def effective_dof(self) -> float:
        """Effective degrees of freedom: of a smoothing the trace of the smoother (2 for a line), of a shape-constrained
        curve its parameters in use, of the others the number of points.
        """
    @property
    def residual_dof(self) -> float | None:
        """For a smoothing: the number of readings less `effective_dof`; None for other kinds."""
    @property
    def chi2(self) -> float | None:
        """Σ w(I − s)² over the readings: χ² where the noise weighs, else in A² (V² where the current was set and smoothed); None for the kinds that pass through them."""
    @property
    def scatter(self) -> float | None:
        """For a smoothing: √(chi2/ν), ν = `residual_dof` where λ was given, `residual_dof`·(1 − 0.4·`effective_dof`/N) where it
        was chosen from the same N readings: the standard deviation of a reading in A (in V where the current was set), or, where the noise weighs, a
        number to be compared with 1. None where no degrees of freedom are left, and for other kinds.
        """
    @property
    def noise_stated(self) -> bool:
        """Whether the stated noise of the sweep weighs the readings."""
    def plot(self, ax: Axes | None = None, **options: Any) -> tuple[Axes, Axes]:
        """Draws the curve over the points into `ax` (a new figure if None), with its band where it has one; returns
        both axes.

        `options` are those of `litdiode.plots.plot_interpolant`: `points=400`, `level=0.95`, `with_bias=True`.

        ```python
        >>> import litdiode as ld
        >>> sweep = ld.Sweep([-0.1, 0.2, 0.4, 0.5, 0.6], [0.030, 0.030, 0.028, 0.017, -0.041])  # invented
        >>> curve, below = sweep.interpolate("monotone_cubic").plot()
        >>> below.get_ylabel()
        'power / mW'
        ```
        """
    def to_json(self) -> str:
        """The object as JSON text, lossless; non-finite numbers are the words "inf", "-inf", "nan"."""
    @staticmethod
    def from_json(text: str) -> Interpolant:
        """The object that `to_json` wrote as `text`; `InputError` where the text is none of this class.

        ```python
        >>> import litdiode as ld
        >>> noise = ld.Noise(current_a=1e-5, current_rel=0.002)
        >>> ld.Noise.from_json(noise.to_json()) == noise
        True
        ```
        """
    def __eq__(self, other: object, /) -> bool: ...

@final
class Maximum:
    """The point of maximum power of an interpolant, from `Interpolant.maximum_power`: exact for its curve.

    It has no ±; `maximum_powers` gives one.

    ```python
    >>> import litdiode as ld
    >>> sweep = ld.Sweep([-0.1, 0.2, 0.4, 0.5, 0.6], [0.030, 0.030, 0.028, 0.017, -0.041])  # invented
    >>> best = sweep.interpolate("monotone_cubic").maximum_power()
    >>> f"{1e3 * best.pmax_w:.2f} mW at {best.v_pmax_v:.3f} V", best.at_end
    ('11.42 mW at 0.422 V', False)
    ```
    """
    @property
    def pmax_w(self) -> float:
        """Largest V·I in W."""
    @property
    def v_pmax_v(self) -> float:
        """Its voltage in V; the lowest where several give the same power."""
    @property
    def i_pmax_a(self) -> float:
        """Its current in A."""
    @property
    def at_end(self) -> bool:
        """Whether it lies at an end of the sweep, where the power may rise further."""
    def to_json(self) -> str:
        """The object as JSON text, lossless; non-finite numbers are the words "inf", "-inf", "nan"."""
    @staticmethod
    def from_json(text: str) -> Maximum:
        """The object that `to_json` wrote as `text`; `InputError` where the text is none of this class.

        ```python
        >>> import litdiode as ld
        >>> noise = ld.Noise(current_a=1e-5, current_rel=0.002)
        >>> ld.Noise.from_json(noise.to_json()) == noise
        True
        ```
        """
    def __eq__(self, other: object, /) -> bool: ...

@final
class ShapeTest:
    """Whether readings have the falling, concave shape, or were bent into it: the answer of `Interpolant.shape_test`.

    χ² is Σ w(I − s)² over the readings, a pure number where the noise is stated, else in A².

    ```python
    >>> import litdiode as ld
    >>> cell = ld.SingleDiode(iph_a=0.03, i0_a=1e-9, n=1.3, rs_ohm=0.5, rsh_ohm=900)  # invented
    >>> sweep = ld.simulate_sweep(cell, ld.Instrument(noise_current_a=2e-5), seed=1)
    >>> test = sweep.interpolate("shape_constrained").shape_test()
    >>> test.fits, test.p > 0.05
    (True, True)
    ```
    """
    @property
    def fits(self) -> bool:
        """Whether p is above 1 − level: nothing speaks against the shape."""
    @property
    def p(self) -> float:
        """Probability of so large a lack of fit were the shape right; at least 1/200. To ±0.3 p where it is large."""
    @property
    def chi2_shape(self) -> float:
        """χ² of the falling, concave curve (in A² where the noise is not stated)."""
    @property
    def chi2_smooth(self) -> float:
        """The same of the smooth it is compared with."""
    def to_json(self) -> str:
        """The object as JSON text, lossless; non-finite numbers are the words "inf", "-inf", "nan"."""
    @staticmethod
    def from_json(text: str) -> ShapeTest:
        """The object that `to_json` wrote as `text`; `InputError` where the text is none of this class.

        ```python
        >>> import litdiode as ld
        >>> noise = ld.Noise(current_a=1e-5, current_rel=0.002)
        >>> ld.Noise.from_json(noise.to_json()) == noise
        True
        ```
        """
    def __eq__(self, other: object, /) -> bool: ...

@final
class Procedure1:
    """Parameters of procedure 1 of IEC 60891, which adds to the currents; for `Sweep.translate`.

    ```text
    I2 = I1 + Isc1·(G2/G1 − 1) + α·ΔT        V2 = V1 − Rs·(I2 − I1) − κ·I2·ΔT + β·ΔT        ΔT = T2 − T1
    ```

    - `alpha_a_per_k`: α, change of Isc with temperature in A/K, at the irradiance of the target.
    - `beta_v_per_k`: β, change of Voc with temperature in V/K.
    - `rs_ohm`: series resistance Rs in Ω.
    - `kappa_ohm_per_k`: curve correction factor κ in Ω/K.
    - `irradiance_range_w_m2`, `temperature_range_c`: (low, high) in which the parameters were found, in W/m² and °C; no
      limits unless given. A translation beyond them says so in `Translated.warnings`.

    Each is a number, which has no uncertainty, or an `Estimate` in that unit. Raises `InputError` for another unit, a
    number that is not finite, and a range in the wrong order. Source: IEC 60891:2009, clause 3.2 (from memory).

    ```python
    >>> import litdiode as ld
    >>> with_ = ld.Procedure1(alpha_a_per_k=1.5e-5, beta_v_per_k=-0.0021, rs_ohm=0.4, kappa_ohm_per_k=0.002)  # invented
    >>> sweep = ld.Sweep([-0.1, 0.2, 0.4, 0.5, 0.6], [0.030, 0.030, 0.028, 0.017, -0.041], irradiance_w_m2=900)
    >>> sweep.translate(with_, irradiance_w_m2=1000).sweep.irradiance_w_m2.value
    1000.0
    ```
    """
    def __new__(
        cls,
        *,
        alpha_a_per_k: float | Estimate,
        beta_v_per_k: float | Estimate,
        rs_ohm: float | Estimate,
        kappa_ohm_per_k: float | Estimate,
        irradiance_range_w_m2: _Limits = None,
        temperature_range_c: _Limits = None,
    ) -> Procedure1: ...
    @staticmethod
    def from_sweeps(*, at_irradiances: Iterable[Sweep], at_temperatures: Iterable[Sweep]) -> Procedure1:
        """All parameters of procedure 1 from two sets of sweeps of one device: a `Procedure1` with its ranges.

        - `at_irradiances`: a list of `Sweep`s at several irradiances and one temperature (within 4 K); they give Rs.
        - `at_temperatures`: sweeps at several temperatures and one irradiance (within 4 %), that of the target; they
          give α, β, κ.

        The ± are the scatter about straight lines, N − 2 degrees of freedom; two conditions give none. Raises
        `InputError` for sets that hold fewer than two conditions or mix them, and sweeps without irradiance, Isc or
        Voc.

        ```python
        >>> import litdiode as ld
        >>> cell = ld.SingleDiode(iph_a=0.03, i0_a=1e-9, n=1.3, rs_ohm=0.5, rsh_ohm=900)  # invented
        >>> def at(irradiance_w_m2, temperature_c):
        ...     model = cell.at(irradiance_w_m2, temperature_c, isc_per_k=5e-4)
        ...     voltage_v, current_a = model.curve(points=30)
        ...     return ld.Sweep(voltage_v, current_a, irradiance_w_m2=irradiance_w_m2, temperature_c=temperature_c)
        >>> light, heat = [at(700, 25), at(850, 25), at(1000, 25)], [at(1000, 25), at(1000, 35), at(1000, 45)]
        >>> found = ld.Procedure1.from_sweeps(at_irradiances=light, at_temperatures=heat)
        >>> f"Rs {found.rs.value:.2f} Ω, β {1e3 * found.beta.value:.2f} mV/K"
        'Rs 0.49 Ω, β -2.08 mV/K'
        >>> found.irradiance_range_w_m2, found.temperature_range_c
        ((700.0, 1000.0), (25.0, 45.0))
        ```
        """
    @property
    def alpha(self) -> Estimate:
        """α, change of Isc with temperature, in A/K."""
    @property
    def beta(self) -> Estimate:
        """β, change of Voc with temperature, in V/K."""
    @property
    def rs(self) -> Estimate:
        """Series resistance Rs in Ω."""
    @property
    def kappa(self) -> Estimate:
        """Curve correction factor κ in Ω/K."""
    @property
    def irradiance_range_w_m2(self) -> tuple[float, float]:
        """Irradiances (low, high) in W/m² in which the parameters were found."""
    @property
    def temperature_range_c(self) -> tuple[float, float]:
        """Temperatures (low, high) in °C in which the parameters were found."""
    def to_json(self) -> str:
        """The object as JSON text, lossless; non-finite numbers are the words "inf", "-inf", "nan"."""
    @staticmethod
    def from_json(text: str) -> Procedure1:
        """The object that `to_json` wrote as `text`; `InputError` where the text is none of this class.

        ```python
        >>> import litdiode as ld
        >>> noise = ld.Noise(current_a=1e-5, current_rel=0.002)
        >>> ld.Noise.from_json(noise.to_json()) == noise
        True
        ```
        """
    def __eq__(self, other: object, /) -> bool: ...

@final
class Procedure2:
    """Parameters of procedure 2 of IEC 60891, which multiplies the currents; for `Sweep.translate`.

    ```text
    I2 = I1·(1 + α_rel·ΔT)·G2/G1                                                            ΔT = T2 − T1
    V2 = V1 + Voc1·(β_rel·ΔT + a·ln(G2/G1)) − R′s·(I2 − I1) − κ′·I2·ΔT
    ```

    - `alpha_rel_per_k`: α_rel in 1/K, relative to Isc of the sweep that is translated.
    - `beta_rel_per_k`: β_rel in 1/K, relative to its Voc.
    - `a`: irradiance factor a, a pure number: dVoc/d(ln G) over its Voc.
    - `rs_ohm`: R′s in Ω.
    - `kappa_ohm_per_k`: κ′ in Ω/K.
    - `irradiance_range_w_m2`, `temperature_range_c`: (low, high) in which the parameters were found, in W/m² and °C; no
      limits unless given. A translation beyond them says so in `Translated.warnings`.

    Each is a number, which has no uncertainty, or an `Estimate` in that unit; errors as in `Procedure1`. Source: IEC
    60891:2009, clause 3.3 (from memory).

    ```python
    >>> import litdiode as ld
    >>> rules = ld.Procedure2(alpha_rel_per_k=5e-4, beta_rel_per_k=-0.0033, a=0.06, rs_ohm=0.4, kappa_ohm_per_k=2e-3)
    >>> voltage_v, current_a = [-0.1, 0.2, 0.4, 0.5, 0.6], [0.030, 0.030, 0.028, 0.017, -0.041]  # invented
    >>> sweep = ld.Sweep(voltage_v, current_a, irradiance_w_m2=900)
    >>> there = sweep.translate(rules, irradiance_w_m2=1000)
    >>> there.procedure, there.sweep.current_a.round(4).tolist()
    (2, [0.0333, 0.0333, 0.0311, 0.0189, -0.0456])
    ```
    """
    def __new__(
        cls,
        *,
        alpha_rel_per_k: float | Estimate,
        beta_rel_per_k: float | Estimate,
        a: float | Estimate,
        rs_ohm: float | Estimate,
        kappa_ohm_per_k: float | Estimate,
        irradiance_range_w_m2: _Limits = None,
        temperature_range_c: _Limits = None,
    ) -> Procedure2: ...
    @staticmethod
    def from_sweeps(*, at_irradiances: Iterable[Sweep], at_temperatures: Iterable[Sweep], start: Sweep) -> Procedure2:
        """All parameters of procedure 2 from two sets of sweeps of one device: a `Procedure2` with its ranges.

        - `at_irradiances`: a list of `Sweep`s at several irradiances and one temperature (within 4 K); they give R′s
          and a.
        - `at_temperatures`: sweeps at several temperatures and one irradiance (within 4 %); they give α_rel, β_rel and
          κ′.
        - `start`: the `Sweep` that will be translated, or one of its condition, to which α_rel, β_rel and a refer.

        ± and errors as in `Procedure1.from_sweeps`; `start` needs an irradiance.

        ```python
        >>> import litdiode as ld
        >>> cell = ld.SingleDiode(iph_a=0.03, i0_a=1e-9, n=1.3, rs_ohm=0.5, rsh_ohm=900)  # invented
        >>> def at(irradiance_w_m2, temperature_c):
        ...     model = cell.at(irradiance_w_m2, temperature_c, isc_per_k=5e-4)
        ...     voltage_v, current_a = model.curve(points=30)
        ...     return ld.Sweep(voltage_v, current_a, irradiance_w_m2=irradiance_w_m2, temperature_c=temperature_c)
        >>> light, heat = [at(700, 25), at(850, 25), at(1000, 25)], [at(1000, 25), at(1000, 35), at(1000, 45)]
        >>> found = ld.Procedure2.from_sweeps(at_irradiances=light, at_temperatures=heat, start=light[1])
        >>> f"R′s {found.rs.value:.2f} Ω, a {found.a.value:.4f}, β {100 * found.beta_rel.value:.3f} %/K"
        'R′s 0.16 Ω, a 0.0602, β -0.362 %/K'
        ```
        """
    @property
    def alpha_rel(self) -> Estimate:
        """Relative change of Isc with temperature, in 1/K."""
    @property
    def beta_rel(self) -> Estimate:
        """Relative change of Voc with temperature, in 1/K."""
    @property
    def a(self) -> Estimate:
        """Irradiance factor a, a pure number."""
    @property
    def rs(self) -> Estimate:
        """Series resistance R′s in Ω."""
    @property
    def kappa(self) -> Estimate:
        """Curve correction factor κ′ in Ω/K."""
    @property
    def irradiance_range_w_m2(self) -> tuple[float, float]:
        """Irradiances (low, high) in W/m² in which the parameters were found."""
    @property
    def temperature_range_c(self) -> tuple[float, float]:
        """Temperatures (low, high) in °C in which the parameters were found."""
    def to_json(self) -> str:
        """The object as JSON text, lossless; non-finite numbers are the words "inf", "-inf", "nan"."""
    @staticmethod
    def from_json(text: str) -> Procedure2:
        """The object that `to_json` wrote as `text`; `InputError` where the text is none of this class.

        ```python
        >>> import litdiode as ld
        >>> noise = ld.Noise(current_a=1e-5, current_rel=0.002)
        >>> ld.Noise.from_json(noise.to_json()) == noise
        True
        ```
        """
    def __eq__(self, other: object, /) -> bool: ...

@final
class TemperatureCoefficients:
    """α = dIsc/dT and β = dVoc/dT of one device, from `temperature_coefficients`.

    Absolute (`alpha`, `beta`) and as shares of Isc and Voc at the reference temperature (`alpha_rel`, `beta_rel`), each
    an `Estimate`, with the irradiances and temperatures in which they were found.

    ```python
    >>> import litdiode as ld
    >>> cell = ld.SingleDiode(iph_a=0.03, i0_a=1e-9, n=1.3, rs_ohm=0.5, rsh_ohm=900)  # invented
    >>> def at(irradiance_w_m2, temperature_c):
    ...     model = cell.at(irradiance_w_m2, temperature_c, isc_per_k=5e-4)
    ...     voltage_v, current_a = model.curve(points=30)
    ...     return ld.Sweep(voltage_v, current_a, irradiance_w_m2=irradiance_w_m2, temperature_c=temperature_c)
    >>> found = ld.temperature_coefficients([at(1000, 25), at(1000, 35), at(1000, 45)])
    >>> f"α {1e6 * found.alpha.value:.1f} µA/K, β {100 * found.beta_rel.value:.2f} %/K"
    'α 15.0 µA/K, β -0.36 %/K'
    >>> found.temperature_range_c
    (25.0, 45.0)
    ```
    """
    @property
    def alpha(self) -> Estimate:
        """dIsc/dT in A/K."""
    @property
    def beta(self) -> Estimate:
        """dVoc/dT in V/K."""
    @property
    def alpha_rel(self) -> Estimate:
        """α over Isc at the reference temperature, in 1/K."""
    @property
    def beta_rel(self) -> Estimate:
        """β over Voc at the reference temperature, in 1/K."""
    @property
    def irradiance_range_w_m2(self) -> tuple[float, float]:
        """Irradiances (low, high) in W/m² in which the parameters were found."""
    @property
    def temperature_range_c(self) -> tuple[float, float]:
        """Temperatures (low, high) in °C in which the parameters were found."""
    def to_json(self) -> str:
        """The object as JSON text, lossless; non-finite numbers are the words "inf", "-inf", "nan"."""
    @staticmethod
    def from_json(text: str) -> TemperatureCoefficients:
        """The object that `to_json` wrote as `text`; `InputError` where the text is none of this class.

        ```python
        >>> import litdiode as ld
        >>> noise = ld.Noise(current_a=1e-5, current_rel=0.002)
        >>> ld.Noise.from_json(noise.to_json()) == noise
        True
        ```
        """
    def __eq__(self, other: object, /) -> bool: ...

@final
class Translated:
    """A sweep at another irradiance and temperature, with what the uncertain inputs of the translation do to it.

    ```text
    e_k = u(x_k)·(∂V/∂x_k, ∂I/∂x_k) at every point          Cov(point i, point j) = Σk e_k(i)·e_k(j)ᵀ
    ```

    Each input x_k (a parameter, the measured irradiance, Isc or Voc of the sweep) moves all points together (JCGM
    100:2008, 5.2.2). From `Sweep.translate` and `translate_between`; `len` is the number of points.

    ```python
    >>> import litdiode as ld
    >>> rs = ld.Estimate(0.4, 0.1, unit="Ω")  # invented
    >>> rules = ld.Procedure1(alpha_a_per_k=1.5e-5, beta_v_per_k=-0.0021, rs_ohm=rs, kappa_ohm_per_k=0.002)
    >>> sweep = ld.Sweep([-0.1, 0.2, 0.4, 0.5, 0.6], [0.030, 0.030, 0.028, 0.017, -0.041], irradiance_w_m2=900)
    >>> there = sweep.translate(rules, irradiance_w_m2=1000)
    >>> list(there.effects), (1e3 * there.u_voltage_v).round(2).tolist()
    (['rs'], [0.33, 0.33, 0.33, 0.33, 0.33])
    >>> print(there.key_points().voc)
    0.5504 V
    ```
    """
    @property
    def procedure(self) -> int:
        """The procedure of IEC 60891: 1, 2 or 3."""
    @property
    def sweep(self) -> Sweep:
        """The points at the target as a sweep, for fits and all else. It carries what the scatter of the readings and the
        inputs do to its points, so that its own key points have the same u as `key_points`; a fit of it holds the scatter
        alone. The translation is the last of its changes.
        """
    @property
    def origins(self) -> list[Sweep]:
        """The measured sweeps it started from: one, or two for procedure 3."""
    @property
    def warnings(self) -> list[str]:
        """What must be known before the points are believed, in sentences."""
    @property
    def effects(self) -> dict[str, tuple[_Array, _Array]]:
        """What one standard uncertainty of each uncertain input does to all points: name to (change of each voltage in V,
        change of each current in A).
        """
    @property
    def u_current_a(self) -> _Array:
        """Standard uncertainty in A that the inputs add to the current of each point."""
    @property
    def u_voltage_v(self) -> _Array:
        """Standard uncertainty in V that the inputs add to the voltage of each point."""
    def covariance(self, i: int, j: int) -> _Array:
        """Covariance that the inputs add between (V, I) of the points `i` and `j`, counted from 0: a 2 × 2 array in SI
        units, rows of `i`, columns of `j`. Raises `InputError` where there is no such point.

        ```python
        >>> import litdiode as ld
        >>> rs = ld.Estimate(0.4, 0.1, unit="Ω")  # invented
        >>> rules = ld.Procedure1(alpha_a_per_k=1.5e-5, beta_v_per_k=-0.0021, rs_ohm=rs, kappa_ohm_per_k=0.002)
        >>> sweep = ld.Sweep([-0.1, 0.2, 0.4, 0.5, 0.6], [0.030, 0.030, 0.028, 0.017, -0.041], irradiance_w_m2=900)
        >>> there = sweep.translate(rules, irradiance_w_m2=1000)
        >>> u_v = there.u_voltage_v
        >>> abs(float(there.covariance(1, 3)[0, 0]) - float(u_v[1] * u_v[3])) < 1e-12  # both points move together
        True
        ```
        """
    def key_points(self) -> KeyPoints:
        """Key points at the target, as `KeyPoints`, with everything in their uncertainties: scatter, calibration, and the
        inputs.
        """
    def plot(self, ax: Axes | None = None, **options: Any) -> tuple[Axes, Axes]:
        """Draws the translated points beside the measured ones into `ax` (a new figure if None), their powers below;
        returns both axes.

        `litdiode.plots.plot_translated` takes no `options`.

        ```python
        >>> import litdiode as ld
        >>> rules = ld.Procedure1(alpha_a_per_k=1.5e-5, beta_v_per_k=-0.0021, rs_ohm=0.4, kappa_ohm_per_k=0.002)
        >>> voltage_v, current_a = [-0.1, 0.2, 0.4, 0.5, 0.6], [0.030, 0.030, 0.028, 0.017, -0.041]  # invented
        >>> sweep = ld.Sweep(voltage_v, current_a, irradiance_w_m2=900)
        >>> current, power = sweep.translate(rules, irradiance_w_m2=1000).plot()
        >>> power.get_xlabel()
        'voltage / V'
        ```
        """
    def __len__(self) -> int: ...
    def to_json(self) -> str:
        """The object as JSON text, lossless; non-finite numbers are the words "inf", "-inf", "nan"."""
    @staticmethod
    def from_json(text: str) -> Translated:
        """The object that `to_json` wrote as `text`; `InputError` where the text is none of this class.

        ```python
        >>> import litdiode as ld
        >>> noise = ld.Noise(current_a=1e-5, current_rel=0.002)
        >>> ld.Noise.from_json(noise.to_json()) == noise
        True
        ```
        """
    def __eq__(self, other: object, /) -> bool: ...

@final
class DetectionLimits:
    """What can be detected against a blank, from `detection_limits`.

    ```text
    σ₀ = s·√(1 + 1/n)        critical = t₁₋α(ν)·σ₀        detection = δ(α, β, ν)·σ₀        quantification = 10·σ₀
    ```

    `repr` shows the three limits.

    ```python
    >>> import litdiode as ld
    >>> blank = [0.4e-6, -0.2e-6, 0.1e-6, 0.3e-6, -0.1e-6, 0.0, 0.2e-6, -0.3e-6]  # invented, in A
    >>> print(ld.detection_limits(blank, unit="A"))
    DetectionLimits
      critical level        490 ± 130 nA  (above it a signal is there; wrong in 5 %)
      detection limit       950 ± 260 nA  (a signal of this size is missed in 5 %)
      quantification limit  2.60 ± 0.69 µA  (a signal of this size is known to 10 %)
    ```
    """
    @property
    def blank(self) -> Estimate:
        """Mean of the blank, which is to be subtracted from a reading."""
    @property
    def scatter(self) -> Estimate:
        """Scatter of one reading, with what so few blanks leave uncertain of it."""
    @property
    def critical(self) -> Estimate:
        """Net signal above which something is there, but for a chance of `alpha`."""
    @property
    def detection(self) -> Estimate:
        """Smallest true signal that is found, but for a chance of `beta`."""
    @property
    def quantification(self) -> Estimate:
        """Smallest signal with a relative standard uncertainty of 10 %."""
    @property
    def alpha(self) -> float:
        """Chance of finding what is not there."""
    @property
    def beta(self) -> float:
        """Chance of missing what is there."""
    def to_json(self) -> str:
        """The object as JSON text, lossless; non-finite numbers are the words "inf", "-inf", "nan"."""
    @staticmethod
    def from_json(text: str) -> DetectionLimits:
        """The object that `to_json` wrote as `text`; `InputError` where the text is none of this class.

        ```python
        >>> import litdiode as ld
        >>> noise = ld.Noise(current_a=1e-5, current_rel=0.002)
        >>> ld.Noise.from_json(noise.to_json()) == noise
        True
        ```
        """
    def __eq__(self, other: object, /) -> bool: ...

@final
class Hysteresis:
    """What two ways of a sweep say of a device that follows slowly, from `hysteresis`.

    ```text
    index = (P_second − P_first)/(P_second + P_first)        left = exp(−T/τ)        T: dwell time a step
    ```

    A figure that the readings do not give is None, and `why` says why. `repr` shows all.

    ```python
    >>> import litdiode as ld
    >>> cell = ld.SingleDiode(iph_a=0.02, i0_a=1e-10, n=1.6, rs_ohm=1.0, rsh_ohm=2000)  # invented
    >>> rig = dict(noise_current_a=2e-5, time_constant_s=0.05, dwell_s=0.1)
    >>> up = ld.simulate_sweep(cell, ld.Instrument(start=-0.1, stop=0.85, **rig), seed=1)
    >>> down = ld.simulate_sweep(cell, ld.Instrument(start=0.85, stop=-0.1, **rig), seed=2)
    >>> ld.hysteresis(up, down)
    Hysteresis
      hysteresis index  −0.01094 ± 0.00057
      left of a step    0.13586 ± 0.00058
      time constant     50.10 ± 0.11 ms
    ```
    """
    @property
    def index(self) -> Estimate | None:
        """Hysteresis index: the difference of the maximum powers of the second and the first way over their sum. Common practice
        knows several indices; this one is 0 without hysteresis and lies between −1 and 1.
        """
    @property
    def left(self) -> Estimate | None:
        """The part of a step that is left after the dwell time."""
    @property
    def time_constant_s(self) -> Estimate | None:
        """Time constant in s."""
    @property
    def dwell_s(self) -> float | None:
        """Dwell time a step in s, where the sweeps carry times."""
    @property
    def settled(self) -> Sweep | None:
        """The curve on which the device would settle, a `Sweep` whose noise is what both ways leave of theirs; None where no lag
        was looked for.
        """
    @property
    def why(self) -> list[tuple[str, str]]:
        """The figures that are None, by name, with the reason."""
    def dwell_for(self, bound: float) -> Estimate:
        """The dwell time a step, an `Estimate` in s, that leaves an error of at most `bound` on even steps.

        ```text
        error ≤ Δ·e/(1 − e)     T = τ·ln(1 + Δ/bound)     Δ: largest step of the settled curve
        ```

        - `bound`: in A, or in V where the current was stepped; above 0.

        Raises `InputError` for another bound, and with the reason where there is no time constant.

        ```python
        >>> import litdiode as ld
        >>> cell = ld.SingleDiode(iph_a=0.02, i0_a=1e-10, n=1.6, rs_ohm=1.0, rsh_ohm=2000)  # invented
        >>> rig = dict(noise_current_a=2e-5, time_constant_s=0.05, dwell_s=0.1)
        >>> up = ld.simulate_sweep(cell, ld.Instrument(start=-0.1, stop=0.85, **rig), seed=1)
        >>> down = ld.simulate_sweep(cell, ld.Instrument(start=0.85, stop=-0.1, **rig), seed=2)
        >>> print(ld.hysteresis(up, down).dwell_for(1e-4))
        263.06 ± 0.56 ms
        ```
        """
    def to_json(self) -> str:
        """The object as JSON text, lossless; non-finite numbers are the words "inf", "-inf", "nan"."""
    @staticmethod
    def from_json(text: str) -> Hysteresis:
        """The object that `to_json` wrote as `text`; `InputError` where the text is none of this class.

        ```python
        >>> import litdiode as ld
        >>> noise = ld.Noise(current_a=1e-5, current_rel=0.002)
        >>> ld.Noise.from_json(noise.to_json()) == noise
        True
        ```
        """
    def __eq__(self, other: object, /) -> bool: ...

@final
class StepResponse:
    """How a device settles after one step, from `step_response`.

    ```text
    y(t) = s + Δ·exp(−(t − t₀)/τ)        t₀: the first reading
    ```

    `time_constant_s` is None where the readings do not determine it, and `why` says why. `repr` shows all.

    ```python
    >>> import litdiode as ld
    >>> time_s = [0.00, 0.02, 0.04, 0.06, 0.08, 0.10, 0.15, 0.20, 0.30]
    >>> read = [0.0140, 0.0153, 0.0161, 0.0167, 0.0171, 0.0174, 0.0178, 0.0179, 0.0180]  # invented, in A
    >>> ld.step_response(time_s, read, "A")
    StepResponse
      time constant 53.56 ± 0.81 ms
      settles at 18.014 ± 0.018 mA
      first reading −3.999 ± 0.026 mA from there
    ```
    """
    @property
    def time_constant_s(self) -> Estimate | None:
        """Time constant τ in s, with its interval on a logarithmic scale."""
    @property
    def why(self) -> str:
        """Why there is no time constant; empty where there is one."""
    @property
    def settled(self) -> Estimate:
        """s, where the reading settles, in its unit."""
    @property
    def step(self) -> Estimate:
        """Δ, how far from it the first reading lies."""
    @property
    def scatter(self) -> float:
        """Standard deviation of a reading about the curve."""
    def dwell_for(self, bound: float) -> Estimate:
        """The time, an `Estimate` in s, after a step of this size until at most `bound` of it is left.

        ```text
        T = τ·ln(|Δ|/bound), 0 where the step is smaller
        ```

        - `bound`: in the unit of the reading; above 0.

        Raises `InputError` for another bound, and with the reason where there is no time constant.

        ```python
        >>> import litdiode as ld
        >>> time_s = [0.00, 0.02, 0.04, 0.06, 0.08, 0.10, 0.15, 0.20, 0.30]
        >>> read = [0.0140, 0.0153, 0.0161, 0.0167, 0.0171, 0.0174, 0.0178, 0.0179, 0.0180]  # invented, in A
        >>> print(ld.step_response(time_s, read, "A").dwell_for(1e-5))
        320.9 ± 4.9 ms
        ```
        """
    def to_json(self) -> str:
        """The object as JSON text, lossless; non-finite numbers are the words "inf", "-inf", "nan"."""
    @staticmethod
    def from_json(text: str) -> StepResponse:
        """The object that `to_json` wrote as `text`; `InputError` where the text is none of this class.

        ```python
        >>> import litdiode as ld
        >>> noise = ld.Noise(current_a=1e-5, current_rel=0.002)
        >>> ld.Noise.from_json(noise.to_json()) == noise
        True
        ```
        """
    def __eq__(self, other: object, /) -> bool: ...

@final
class SetPoint:
    """What to set next, how long to wait, and why, from `LiveSweep.next_set_point`. `float()` gives its value.

    ```python
    >>> import litdiode as ld
    >>> live = ld.LiveSweep(limits_v=(-0.1, 0.8), limits_a=(-0.05, 0.05), noise=ld.Noise(current_a=2e-5))
    >>> point = live.next_set_point()
    >>> point.value, point.purpose, point.dwell_s
    (0.0, 'bracket', 0.0)
    ```
    """
    @property
    def value(self) -> float:
        """Voltage in V, or current in A where that is swept, in the sign and with the leads of the instrument."""
    @property
    def dwell_s(self) -> float:
        """How long to wait between setting and reading, in s."""
    @property
    def purpose(self) -> str:
        """Why it is asked for: "bracket", "information", "gap" (of a curve that one diode does not describe) or "confirmation" (of
        a wild reading).
        """
    def to_json(self) -> str:
        """The object as JSON text, lossless; non-finite numbers are the words "inf", "-inf", "nan"."""
    @staticmethod
    def from_json(text: str) -> SetPoint:
        """The object that `to_json` wrote as `text`; `InputError` where the text is none of this class.

        ```python
        >>> import litdiode as ld
        >>> noise = ld.Noise(current_a=1e-5, current_rel=0.002)
        >>> ld.Noise.from_json(noise.to_json()) == noise
        True
        ```
        """
    def __eq__(self, other: object, /) -> bool: ...
    def __float__(self) -> float: ...
    def __reduce__(self) -> tuple[Any, ...]: ...

@final
class LiveSweep:
    """A sweep while it is measured: running figures with their ±, and the set point that tells most.

    ```text
    next_set_point ─▶ set, wait, read ─▶ push ─▶ key_points()        u′² = u² − (gᵀ·C·t)²/(1 + gᵀ·C·g)
    ```

    - `limits_v`, `limits_a`: lowest and highest voltage in V and current in A as pairs; they hold 0, where the sweep begins. The
      lower voltage limits the reverse bias.
    - `limit_w`: most power in W, delivered or taken up, or None.
    - `safe`: a set point in V, or in A where the current is set, that is known to be below Voc, or Isc: the bracket goes there
      from 0 at once, which saves readings.
    - `target`: the figure that is to be known, "isc", "voc", "pmax", "v_pmax", "i_pmax" or "ff".
    - `wanted`: its relative standard uncertainty at which the sweep stops.
    - `capacity`: most readings, 8 to 100,000; all room is made at the start.
    - `time_limit_s`: time in s that the sweep may take, by the times that are pushed, or None.
    - `dwell_s`: time in s between setting and reading, handed on with each set point.
    - `order`: "free", or "up_and_down" for a device that follows slowly.
    - `swept`: what is set, "voltage" or "current"; the other is read.
    - `sign`, `leads`: "generator" or "load", "as_given" or "swapped", fixed at the start; "auto" counts as "generator" and "as_given".
    - `noise`: the `Noise` of the instrument; without it every ± comes from the scatter of the readings.
    - `area_cm2`, `irradiance_w_m2`: area in cm² and irradiance in W/m², each a number above 0 or an `Estimate`.
    - `temperature_c`: temperature of the device in °C; `cells`: cells in series; `label`: a name, or None.
    - `corrections`: those of `Sweep` but `SenseResistor` and `Monitor`; they enter with `sweep()`.

    First the curve is bracketed, by steps that keep within the limits whatever one or two diodes there are; then each set point is the one after
    which the target has the least variance, by a fit of one diode that follows the readings. A set point never leaves the
    limits. A limit on what is read can be kept only as far as the device is a diode and the source goes where it is set: keep the compliance of the source
    as well. Figures are those of the readings as they are pushed. Raises `InputError` for options
    outside their domain.

    ```python
    >>> import litdiode as ld
    >>> cell = ld.SingleDiode(iph_a=0.03, i0_a=1e-9, n=1.35, rs_ohm=0.4, rsh_ohm=900)  # invented, in place of an instrument
    >>> live = ld.LiveSweep(limits_v=(-0.1, 0.9), limits_a=(-0.1, 0.1), noise=ld.Noise(current_a=1e-4))
    >>> while (point := live.next_set_point()) is not None:
    ...     live.push(point.value, cell.current(point.value))
    >>> live.reason.split(";")[0][:14]
    'FF is known to'
    ```
    """
    def __new__(
        cls,
        *,
        limits_v: tuple[float, float],
        limits_a: tuple[float, float],
        limit_w: float | None = None,
        safe: float = 0.0,
        target: Literal["isc", "voc", "pmax", "v_pmax", "i_pmax", "ff"] = "ff",
        wanted: float = 0.01,
        capacity: int = 200,
        time_limit_s: float | None = None,
        dwell_s: float = 0.0,
        order: Literal["free", "up_and_down"] = "free",
        swept: Literal["voltage", "current"] = "voltage",
        sign: Literal["auto", "generator", "load"] = "auto",
        leads: Literal["auto", "as_given", "swapped"] = "auto",
        noise: Noise | None = None,
        area_cm2: float | Estimate | None = None,
        irradiance_w_m2: float | Estimate | None = None,
        temperature_c: float = 25.0,
        cells: int = 1,
        label: str | None = None,
        corrections: Sequence[Correction] | None = None,
    ) -> LiveSweep: ...
    @property
    def voltage_v(self) -> NDArray[np.float64]:
        """Voltages in V so far, generator sign, in the order of measurement."""
    @property
    def current_a(self) -> NDArray[np.float64]:
        """Currents in A so far, generator sign, in the order of measurement."""
    @property
    def flags(self) -> list[str | None]:
        """What is odd about each reading, or None."""
    @property
    def reason(self) -> str | None:
        """Why there is no further set point; None while there is one."""
    @property
    def reason_kind(self) -> str | None:
        """The kind of `reason`: "reached", "common_to_all", "points_used_up", "time_used_up", "no_power", "limit_reached",
        "beyond_limits", "not_followed", "no_numbers" or "cancelled"; None while there is a further set point.
        """
    @property
    def swept(self) -> str:
        """The quantity that is set: "voltage" or "current"."""
    @property
    def sign(self) -> str:
        """The sign of the instrument as it was stated: "generator" or "load"; "auto" counts as "generator"."""
    @property
    def leads(self) -> str:
        """The leads as they were stated: "as_given" or "swapped"; "auto" counts as "as_given"."""
    @property
    def target(self) -> str:
        """The figure that is to be known."""
    @property
    def wanted(self) -> float:
        """Its relative standard uncertainty that is wanted."""
    @property
    def capacity(self) -> int:
        """Most readings."""
    def push(self, voltage_v: float, current_a: float, time_s: float | None = None) -> str | None:
        """Takes a reading in the sign and with the leads of the instrument; returns what is odd about it as text, or None.

        - `voltage_v`, `current_a`: the reading in V and A.
        - `time_s`: its time in s by any clock that rises, or None.

        A wild reading, 6 standard deviations off the running curve, is left out of the figures until a second one at its
        place confirms it, which the next set point asks for. Raises `InputError` for a number that is not finite or marks an overflow, a time before that of the reading
        before, and beyond `capacity`; the sweep stays as it was, and `next_set_point` gives the same set point again.

        ```python
        >>> import litdiode as ld
        >>> live = ld.LiveSweep(limits_v=(-0.1, 0.8), limits_a=(-0.05, 0.05), noise=ld.Noise(current_a=2e-5))
        >>> for voltage_v, current_a in [(0.0, 0.0300), (0.3, 0.0296), (0.6, -0.0200)]:  # invented
        ...     live.push(voltage_v, current_a)
        >>> len(live), live.voltage_v.tolist()
        (3, [0.0, 0.3, 0.6])
        >>> try:
        ...     live.push(0.4, float("nan"))
        ... except ld.InputError as error:
        ...     print(error)
        current_a = NaN of reading 3 is no reading; ask for the next set point and read again, it will be the same one
        >>> len(live)
        3
        ```
        """
    def next_set_point(self) -> SetPoint | None:
        """The next `SetPoint`; None where there is none, and `reason` says why. The same again until a reading was taken."""
    def key_points(self) -> KeyPoints:
        """The key points of the readings so far, of the fit of one diode that follows them; what they do not give yet is absent, with
        the reason. Key points without a model are those of `sweep().key_points()`.
        """
    def missing(self) -> dict[str, str]:
        """The figures that have no ± yet, by name, and what they wait for."""
    def relative_u(self) -> float | None:
        """Relative standard uncertainty of the target so far, as `wanted` is compared with; None where there is no ± yet."""
    def curve(self, voltage_v: ArrayLike) -> NDArray[np.float64] | None:
        """Currents in A of the running curve at `voltage_v` in V, a list or a one-dimensional array, both in generator sign;
        an array of the same length. None before there is a curve. Raises `InputError` for another shape.

        ```python
        >>> import litdiode as ld
        >>> cell = ld.SingleDiode(iph_a=0.03, i0_a=1e-9, n=1.3, rs_ohm=0.5, rsh_ohm=900)  # invented
        >>> live = ld.LiveSweep(limits_v=(-0.1, 0.8), limits_a=(-0.05, 0.05), noise=ld.Noise(current_a=2e-5))
        >>> for voltage_v in (0.0, 0.2, 0.4, 0.5, 0.55, 0.6):
        ...     live.push(voltage_v, cell.current(voltage_v))
        >>> live.curve([0.3, 0.45]).round(4).tolist(), cell.current([0.3, 0.45]).round(4).tolist()
        ([0.0296, 0.0284], [0.0296, 0.0284])
        ```
        """
    def sweep(self) -> Sweep:
        """The `Sweep` of the readings so far with all that was stated at the start, without those that are wild.

        Raises `InputError` for readings that are no sweep, such as fewer than two.
        """
    def fit(self, deadline_s: float = 0.005) -> Fit:
        """The whole `Fit` of one diode to the readings so far, from the running one.

        - `deadline_s`: the time in s that it may take; one that is still at work then comes back as it is, with its status.

        Raises `InputError` for readings that are no sweep, or fewer than the five parameters.

        ```python
        >>> import litdiode as ld
        >>> cell = ld.SingleDiode(iph_a=0.03, i0_a=1e-9, n=1.3, rs_ohm=0.5, rsh_ohm=900)  # invented
        >>> live = ld.LiveSweep(limits_v=(-0.1, 0.8), limits_a=(-0.05, 0.05), noise=ld.Noise(current_a=2e-5))
        >>> for voltage_v in (0.0, 0.2, 0.4, 0.45, 0.5, 0.55, 0.58, 0.6):
        ...     live.push(voltage_v, cell.current(voltage_v))
        >>> fit = live.fit(deadline_s=5.0)
        >>> fit.status, round(fit.n.value, 2)
        ('converged', 1.3)
        ```
        """
    def plot(self, ax: Axes | None = None, **options: Any) -> Axes:
        """Draws the readings so far, the running curve and the next set point into `ax` (a new figure if None), which
        it clears; returns it.

        `options` are those of `litdiode.plots.plot_live_sweep`: `points=200` of the curve.

        ```python
        >>> import litdiode as ld
        >>> live = ld.LiveSweep(limits_v=(-0.1, 0.8), limits_a=(-0.05, 0.05), noise=ld.Noise(current_a=2e-5))
        >>> for voltage_v, current_a in [(0.0, 0.0300), (0.3, 0.0296), (0.45, 0.0280), (0.6, -0.0200)]:  # invented
        ...     live.push(voltage_v, current_a)
        >>> live.plot().get_ylabel()
        'current / mA'
        ```
        """
    def to_json(self) -> str:
        """The object as JSON text, lossless; non-finite numbers are the words "inf", "-inf", "nan"."""
    @staticmethod
    def from_json(text: str) -> LiveSweep:
        """The object that `to_json` wrote as `text`; `InputError` where the text is none of this class.

        ```python
        >>> import litdiode as ld
        >>> noise = ld.Noise(current_a=1e-5, current_rel=0.002)
        >>> ld.Noise.from_json(noise.to_json()) == noise
        True
        ```
        """
    def __len__(self) -> int: ...
    def __reduce__(self) -> tuple[Any, ...]: ...

@final
class InstrumentCheck:
    """What figures of a reference device say of a rig, from `check_instrument`; `str` is one sentence.

    ```python
    >>> import litdiode as ld
    >>> read = [ld.Estimate(x, 0.003, unit="A") for x in (1.017, 1.018, 1.019)]  # invented
    >>> found = ld.check_instrument(read, ld.Estimate(1.0, 0.002, unit="A"))
    >>> print(found.bias, found.passes, f"{found.en:.2f}", sep="; ")
    0.0180 ± 0.0027; False; 3.40
    ```
    """
    @property
    def mean(self) -> Estimate:
        """Mean of what was measured."""
    @property
    def reference(self) -> Estimate:
        """The known figure."""
    @property
    def bias(self) -> Estimate:
        """mean/reference − 1, a share: 0.018 is 1.8 % high."""
    @property
    def en(self) -> float:
        """(mean − reference)/√(U² + U_ref²), U = 2u."""
    @property
    def passes(self) -> bool:
        """Whether |`en`| ≤ 1: no bias beyond the uncertainties."""
    @property
    def drift(self) -> Estimate | None:
        """Relative drift per hour; None without times or with fewer than three figures."""
    @property
    def drifts(self) -> bool:
        """Whether the 95 % interval of the drift leaves 0 out."""
    def to_json(self) -> str:
        """The object as JSON text, lossless; non-finite numbers are the words "inf", "-inf", "nan"."""
    @staticmethod
    def from_json(text: str) -> InstrumentCheck:
        """The object that `to_json` wrote as `text`; `InputError` where the text is none of this class.

        ```python
        >>> import litdiode as ld
        >>> noise = ld.Noise(current_a=1e-5, current_rel=0.002)
        >>> ld.Noise.from_json(noise.to_json()) == noise
        True
        ```
        """
    def __eq__(self, other: object, /) -> bool: ...

def detection_limits(
    blank: ArrayLike, *, unit: str = "", alpha: float = 0.05, beta: float = 0.05, scatter: float | None = None
) -> DetectionLimits:
    """Critical level, detection limit and quantification limit of a signal, from readings of nothing.

    ```text
    critical = t₁₋α(ν)·σ₀     detection = δ(α, β, ν)·σ₀     quantification = 10·σ₀     σ₀ = s·√(1 + 1/n)
    ```

    - `blank`: readings of the blank (in the dark, the cell replaced by an open or a short), two or more, all taken as one
      reading of the signal will be.
    - `unit`: the unit of the readings, one of those of `Estimate`.
    - `alpha`, `beta`: chance of finding what is not there, and of missing what is, between 0 and 0.5.
    - `scatter`: the standard deviation of one reading where it is known from elsewhere, in `unit`; else it is that of the
      blank, with Student's t and the non-central t distribution for few readings.

    L. A. Currie, Anal. Chem. 40 (1968) 586; Pure Appl. Chem. 67 (1995) 1699 (from memory). Raises `InputError` for fewer than
    two readings without a `scatter`, readings that are not finite or all equal, and chances outside their range.

    ```python
    >>> import litdiode as ld
    >>> blank = [0.4e-6, -0.2e-6, 0.1e-6, 0.3e-6, -0.1e-6, 0.0, 0.2e-6, -0.3e-6]  # invented, in A
    >>> print(ld.detection_limits(blank, unit="A").detection)
    950 ± 260 nA
    ```
    """

def smallest_cell(
    model: SingleDiode | DoubleDiode,
    noise: Noise,
    figure: Literal["isc", "voc", "pmax", "v_pmax", "i_pmax", "ff"] = "ff",
    relative_u: float = 0.05,
    *,
    swept: Literal["voltage", "current"] = "voltage",
    points: int = 25,
) -> float:
    """The smallest cell of a kind of which a rig gives a figure as well as wanted, as its short-circuit current in A.

    ```text
    cell of s times the area: Iph, I0 → s·Iph, s·I0     Rs, Rsh → Rs/s, Rsh/s
    ```

    - `model`: a `SingleDiode` or `DoubleDiode` under light, of any size.
    - `noise`: the `Noise` of the rig, with a stated scatter.
    - `figure`: "isc", "voc", "pmax", "v_pmax", "i_pmax" or "ff".
    - `relative_u`: the relative standard uncertainty that is wanted, between 0 and 1.
    - `swept`: the quantity that is stepped; `points`: readings a sweep, from just before V = 0 (I = 0) to just beyond Voc (Isc).

    The uncertainty is that which `Sweep.key_points` gives such readings, gains and offsets of the noise included. Returns the
    current, 0 where a cell of any size will do; under it this rig does not give the figure. Raises `InputError` for arguments outside their domain, and where no size
    does.

    ```python
    >>> import litdiode as ld
    >>> dye = ld.SingleDiode(iph_a=5e-4, i0_a=1e-9, n=2.0, rs_ohm=60, rsh_ohm=2e4)  # invented
    >>> rig = ld.Noise(current_a=3e-6)
    >>> f"{1e6 * ld.smallest_cell(dye, rig, 'ff', 0.05):.0f} µA"
    '43 µA'
    ```
    """

def step_response(time_s: ArrayLike, reading: ArrayLike, unit: Literal["A", "V"]) -> StepResponse:
    """The time constant with which a reading settles after one step of what was set.

    ```text
    y(t) = s + Δ·exp(−(t − t₀)/τ)        least squares in s, Δ and ln τ
    ```

    - `time_s`: rising times in s, five or more; where the first is the step itself or later.
    - `reading`: what was read then, one number a time.
    - `unit`: "A" for currents, "V" for voltages.

    Returns a `StepResponse`. A time constant is given where the readings bound it on both sides and settle along one
    exponential: its 95 % interval held in 94 to 96 % of simulated steps (12 to 200 readings, scatter of 1 to 10 % of the step).
    Raises `InputError` for unequal lengths, times that do not rise, and numbers that are not finite.

    ```python
    >>> import litdiode as ld
    >>> time_s = [0.00, 0.02, 0.04, 0.06, 0.08, 0.10, 0.15, 0.20, 0.30]
    >>> read = [0.0140, 0.0153, 0.0161, 0.0167, 0.0171, 0.0174, 0.0178, 0.0179, 0.0180]  # invented
    >>> round(ld.step_response(time_s, read, "A").time_constant_s.value, 3)
    0.054
    ```
    """

def hysteresis(first: Sweep, second: Sweep) -> Hysteresis:
    """Compares two ways of a sweep, one up and one down, in the order in which they were measured.

    ```text
    index = (P_second − P_first)/(P_second + P_first)
    yₖ(up) − yₖ(down) = e·(yₖ₋₁(up) − yₖ₊₁(down))        e = exp(−T/τ)
    ```

    - `first`, `second`: two `Sweep`s, such as `Sweep.branches` gives. A time constant needs the same set points in both and
      `time_s`; it is that of a device that follows each step with one time constant, and needs no model of the curve.

    Returns a `Hysteresis`. Raises `InputError` for sweeps of different kinds or the same direction.

    ```python
    >>> import litdiode as ld
    >>> cell = ld.SingleDiode(iph_a=0.02, i0_a=1e-10, n=1.6, rs_ohm=1.0, rsh_ohm=2000)  # invented
    >>> rig = dict(noise_current_a=2e-5, time_constant_s=0.05, dwell_s=0.1)
    >>> up = ld.simulate_sweep(cell, ld.Instrument(start=-0.1, stop=0.85, **rig), seed=1)
    >>> down = ld.simulate_sweep(cell, ld.Instrument(start=0.85, stop=-0.1, **rig), seed=2)
    >>> found = ld.hysteresis(up, down)
    >>> bool(abs(found.time_constant_s.value - 0.05) < 3 * found.time_constant_s.u)
    True
    ```
    """

def check_instrument(
    measured: Sequence[Estimate], reference: Estimate, *, time_h: ArrayLike | None = None
) -> InstrumentCheck:
    """Checks figures of a reference device against its known one: bias, E_n score and drift of a rig.

    ```text
    bias = x̄/X − 1        E_n = (x̄ − X)/√(U² + U_ref²), U = 2u        drift: slope of x/X over the time
    ```

    - `measured`: a list of `Estimate`s of one figure, such as Isc of the reference cell after each batch.
    - `reference`: its known value, an `Estimate` in the same unit.
    - `time_h`: when each was measured, in hours, or None.

    What the readings have in common (a gain, the lamp) is not averaged away. Where they scatter more than they state, the ±
    of the mean grows. E_n after ISO 13528:2022, 9.7 (from memory). Raises `InputError` for an empty list, a figure without u, units
    that differ, and times that do not fit.

    ```python
    >>> import litdiode as ld
    >>> read = [ld.Estimate(x, 0.003, unit="A") for x in (1.017, 1.018, 1.019)]  # invented
    >>> print(ld.check_instrument(read, ld.Estimate(1.0, 0.002, unit="A")))
    the rig reads (1.80 ± 0.27) % high (E_n = 3.40, does not pass)
    ```
    """

def ufloats(estimates: Sequence[Estimate]) -> list[Any]:
    """Estimates as `ufloat`s of the package `uncertainties`, their correlations with each other kept.

    - `estimates`: a list of `Estimate`s.

    Figures that share sources share variables. Units and degrees of freedom are lost. Raises `InputError` for an estimate
    without `u`; the package is the extra "uncertainties".

    ```python
    >>> import litdiode as ld
    >>> lamp = ld.Estimate(1000.0, 20.0, unit="W/m²")
    >>> a, b = ld.ufloats([0.1 * lamp, 0.3 * lamp])
    >>> print(b - 3 * a)
    0.0+/-0
    ```
    """

def sweeps_of(
    data: bytes,
    name: str,
    label: str | None,
    reader: dict[str, Any],
    options: dict[str, Any],
    one: bool,
    which: int | str | None = None,
) -> tuple[list[Sweep], list[str]]:
    """All sweeps of a file, or the one that is asked for, with the texts to warn of."""

def translate_between(
    first: Sweep,
    second: Sweep,
    c: float | None = None,
    *,
    irradiance_w_m2: float | None = None,
    temperature_c: float | None = None,
    correlation: float = 0.0,
) -> Translated:
    """Between two sweeps of one device by procedure 3 of IEC 60891, without any parameter, a `Translated`.

    ```text
    X3 = X1 + c·(X2 − X1),  X = V, I, G, T        for pairs of points with I2 − I1 = Isc2 − Isc1
    ```

    - `first`, `second`: the `Sweep`s, each with its irradiance.
    - `c`: the share of the way, 0 for the first sweep and 1 for the second; beyond them it extrapolates.
    - `irradiance_w_m2`, `temperature_c`: instead of `c`, the irradiance in W/m² or the temperature in °C to be reached.
    - `correlation`: that of the errors of the two irradiances, −1 to 1: 1 for one reference device, 0 for two; 0 unless
      given.

    The pairs are found on smooth curves. Extrapolation, and points without a partner, which are left out, are told in
    `Translated.warnings`. The scatter of both sweeps is carried, (1 − c) and c times; gains and offsets are those of the
    first. Raises
    `InputError` unless exactly one of the three is given, and for a sweep without irradiance or Isc, a target without
    light, and fewer than five pairs. Source: IEC 60891:2009, clause 3.4 (from memory).

    ```python
    >>> import litdiode as ld
    >>> cell = ld.SingleDiode(iph_a=0.03, i0_a=1e-9, n=1.3, rs_ohm=0.5, rsh_ohm=900)  # invented
    >>> def at(irradiance_w_m2):
    ...     voltage_v, current_a = cell.at(irradiance_w_m2).curve(points=30)
    ...     return ld.Sweep(voltage_v, current_a, irradiance_w_m2=irradiance_w_m2)
    >>> found = ld.translate_between(at(500), at(1000), irradiance_w_m2=800)
    >>> f"{found.key_points().isc.value:.4f} A", round(found.sweep.irradiance_w_m2.value)
    ('0.0240 A', 800)
    ```
    """

def temperature_coefficients(sweeps: Iterable[Sweep], reference_c: float = 25.0) -> TemperatureCoefficients:
    """α = dIsc/dT and β = dVoc/dT, and their shares of Isc and Voc: a `TemperatureCoefficients`.

    ```text
    Isc = Isc(T0) + α·(T − T0)     α_rel = α/Isc(T0)          Voc = Voc(T0) + β·(T − T0)     β_rel = β/Voc(T0)
    ```

    - `sweeps`: a list of `Sweep`s of one device at two or more temperatures, 1 K apart or more, and one irradiance
      (within 4 %; the rest is taken out of Isc by proportion).
    - `reference_c`: T0 in °C, 25 unless given. For procedure 2 give the temperature of the sweep to be translated.

    Straight lines, weighted by the key points' own uncertainties where all have one. The ± is the scatter about the
    line, N − 2 degrees of freedom; two temperatures give none. Raises `InputError` for other sets, and sweeps without
    irradiance, Isc or Voc.

    ```python
    >>> import litdiode as ld
    >>> cell = ld.SingleDiode(iph_a=0.03, i0_a=1e-9, n=1.3, rs_ohm=0.5, rsh_ohm=900)  # invented
    >>> def at(irradiance_w_m2, temperature_c):
    ...     model = cell.at(irradiance_w_m2, temperature_c, isc_per_k=5e-4)
    ...     voltage_v, current_a = model.curve(points=30)
    ...     return ld.Sweep(voltage_v, current_a, irradiance_w_m2=irradiance_w_m2, temperature_c=temperature_c)
    >>> found = ld.temperature_coefficients([at(1000, 25), at(1000, 35), at(1000, 45)])
    >>> f"α {1e6 * found.alpha.value:.1f} µA/K, β {1e3 * found.beta.value:.2f} mV/K"
    'α 15.0 µA/K, β -2.08 mV/K'
    ```
    """

def irradiance_factor(sweeps: Iterable[Sweep], from_w_m2: float) -> Estimate:
    """The irradiance factor a of procedure 2, an `Estimate` without unit.

    ```text
    Voc = A + B·ln G        a = B/Voc(G1)
    ```

    - `sweeps`: a list of `Sweep`s of one device at two or more irradiances, 2 % apart or more, and one temperature
      (within 4 K).
    - `from_w_m2`: G1, the irradiance in W/m² of the sweeps that will be translated, above 0.

    A weighted straight line; ± and errors as in `temperature_coefficients`.

    ```python
    >>> import litdiode as ld
    >>> cell = ld.SingleDiode(iph_a=0.03, i0_a=1e-9, n=1.3, rs_ohm=0.5, rsh_ohm=900)  # invented
    >>> def at(irradiance_w_m2, temperature_c):
    ...     model = cell.at(irradiance_w_m2, temperature_c, isc_per_k=5e-4)
    ...     voltage_v, current_a = model.curve(points=30)
    ...     return ld.Sweep(voltage_v, current_a, irradiance_w_m2=irradiance_w_m2, temperature_c=temperature_c)
    >>> light = [at(500, 25), at(700, 25), at(1000, 25)]
    >>> f"{ld.irradiance_factor(light, from_w_m2=700).value:.4f}"
    '0.0611'
    ```
    """

def translation_resistance(sweeps: Iterable[Sweep], *, procedure: Literal[1, 2] = 1) -> Estimate:
    """Rs of procedure 1 or R′s of procedure 2, the one that makes translated curves coincide: an `Estimate` in Ω.

    ```text
    1:  V_k(Isc_k − d) = h(d) − Rs·Isc_k        2:  V_k(s·Isc_k) − Voc_k = h(s) − R′s·s·Isc_k        h common to all sweeps k
    ```

    - `sweeps`: a list of `Sweep`s of one device at two or more irradiances, 2 % apart or more, and one temperature
      (within 4 K).
    - `procedure`: 1 or 2; 1 unless given.

    The levels d and s lie about the points of maximum power. The ± is the scatter of the sweeps about the line, N − 2
    degrees of freedom; two irradiances give none. Raises `InputError` for other sets, and sweeps that do not reach from
    Isc to Voc.

    ```python
    >>> import litdiode as ld
    >>> cell = ld.SingleDiode(iph_a=0.03, i0_a=1e-9, n=1.3, rs_ohm=0.5, rsh_ohm=900)  # invented
    >>> def at(irradiance_w_m2, temperature_c):
    ...     model = cell.at(irradiance_w_m2, temperature_c, isc_per_k=5e-4)
    ...     voltage_v, current_a = model.curve(points=30)
    ...     return ld.Sweep(voltage_v, current_a, irradiance_w_m2=irradiance_w_m2, temperature_c=temperature_c)
    >>> light = [at(700, 25), at(850, 25), at(1000, 25)]
    >>> f"{ld.translation_resistance(light).value:.2f} Ω"
    '0.49 Ω'
    ```
    """

def curve_correction(
    sweeps: Iterable[Sweep],
    *,
    rs_ohm: float | Estimate,
    beta_v_per_k: float | Estimate | None = None,
    procedure: Literal[1, 2] = 1,
) -> Estimate:
    """The curve correction κ of procedure 1 or κ′ of procedure 2, an `Estimate` in Ω/K.

    ```text
    1:  V_k(Isc_k − d) + Rs·Isc_k = h(d) + [β − κ·(Isc − d)]·T_k
    2:  V_k(s·Isc_k) − Voc_k + R′s·s·Isc_k = h(s) − κ′·s·Isc·T_k        h common to all sweeps k
    ```

    - `sweeps`: a list of `Sweep`s of one device at two or more temperatures, 1 K apart or more, and one irradiance
      (within 4 %).
    - `rs_ohm`: Rs or R′s in Ω, a number or an `Estimate`.
    - `beta_v_per_k`: β in V/K, a number or an `Estimate`; procedure 1 needs it, procedure 2 takes Voc from each sweep.
    - `procedure`: 1 or 2; 1 unless given.

    The ± holds the scatter about the line and those of `rs_ohm` and `beta_v_per_k`; two temperatures give none. Errors
    as in `translation_resistance`.

    ```python
    >>> import litdiode as ld
    >>> cell = ld.SingleDiode(iph_a=0.03, i0_a=1e-9, n=1.3, rs_ohm=0.5, rsh_ohm=900)  # invented
    >>> def at(irradiance_w_m2, temperature_c):
    ...     model = cell.at(irradiance_w_m2, temperature_c, isc_per_k=5e-4)
    ...     voltage_v, current_a = model.curve(points=30)
    ...     return ld.Sweep(voltage_v, current_a, irradiance_w_m2=irradiance_w_m2, temperature_c=temperature_c)
    >>> rs, heat = ld.Estimate(0.5, 0.02, unit="Ω"), [at(1000, 25), at(1000, 35), at(1000, 45)]
    >>> found = ld.curve_correction(heat, rs_ohm=rs, beta_v_per_k=ld.temperature_coefficients(heat).beta)
    >>> f"{1e3 * found.value:.2f} ± {1e3 * found.u:.2f} mΩ/K"
    '9.53 ± 0.10 mΩ/K'
    ```
    """

def simulate_sweep(model: SingleDiode | DoubleDiode, instrument: Instrument, *, seed: int = 0) -> Sweep:
    """The `Sweep` that an instrument takes of a model, with known truth: for teaching and for tests.

    - `model`: a `SingleDiode` or a `DoubleDiode`.
    - `instrument`: the `Instrument` with its set points and faults.
    - `seed`: a whole number from 0, 0 unless given; the same seed gives the same readings on every machine.

    The sweep carries cells and temperature of the model and the time of each reading in s. It states no noise:
    `instrument.noise()` is what an owner could state. Raises `InputError` for a set point at which the device has no
    finite reading, and for readings that make no `Sweep`.

    ```python
    >>> import litdiode as ld
    >>> cell = ld.SingleDiode(iph_a=0.03, i0_a=1e-9, n=1.3, rs_ohm=0.5, rsh_ohm=900)  # invented
    >>> sweep = ld.simulate_sweep(cell, ld.Instrument(stop=0.6, noise_current_a=1e-5), seed=1)
    >>> len(sweep), sweep.noise
    (25, None)
    ```
    """

def fit_single_diode(
    sweep: Sweep,
    *,
    residual: _Residual = "auto",
    fix: Mapping[str, float] | None = None,
    bounds: Mapping[str, tuple[float, float]] | None = None,
    start: Mapping[str, float] | None = None,
    noise_scale: Literal["stated", "from_scatter"] = "stated",
    most_evaluations: int | None = None,
    deadline_s: float | None = None,
) -> Fit:
    """Fits one diode to a sweep: parameters `iph i0 n rs rsh`, in A, A, 1, Ω, Ω.

    ```text
    I = Iph − I0·(exp((V + I·Rs)/a) − 1) − (V + I·Rs)/Rsh        a = n·cells·k·T/q        min Σ (r/σ)²
    nearest: (r/σ)² = least of ((V − Vi)/σV)² + ((I − Ii)/σI)² on the curve
    ```

    - `sweep`: the measured `Sweep`, with its noise, cells and temperature.
    - `residual`: the distance r that is made small, model − measured: "current" at the measured voltage; "voltage" at
      the measured current; "nearest" to the curve, which needs a stated noise; "implicit", right side less left side of
      the equation at the measured point, which many papers print. "auto" takes nearest where the sweep states scatter
      on both axes, the axis that has it where on one, and the axis that was read (not swept) where on none.
    - `fix`: parameters held, a dictionary of name to SI value.
    - `bounds`: parameters kept between two SI values, a dictionary of name to (low, high). Where none are given: Iph ≥
      0, I0 > 0, n from 0.3 to 10, Rs ≥ 0, Rsh above 0 up to infinite.
    - `start`: SI values to start from, by name; what is not named starts from the best of a grid. Without it the start
      is found from the data, always the same.
    - `noise_scale`: "stated" takes the size of ± from the noise that the sweep states, and from the scatter where it
      states none; "from_scatter" takes it from the scatter always, and a stated noise gives the weights only.
    - `most_evaluations`: how often the residuals of the sweep may be evaluated in all; None for 120,000/√n with n readings,
      many times what ordinary sweeps take; one in which the curve is hard to solve counts as several. A fit that uses them up is "not_converged" and holds its best state.
    - `deadline_s`: the time in s that the fit may take, None for no limit; one that is still at work then ends likewise.

    Returns a `Fit`. Weights that depend on the curve follow it. A fit that does not converge is no error but a status.
    Ctrl-C stops the work.
    Raises `InputError` for a name that is no parameter, a value outside its limits (those of `SingleDiode`), bounds
    that cross, fewer points than free parameters, "nearest" without a stated noise, and voltages too high for the
    number of cells.

    ```python
    >>> import litdiode as ld
    >>> cell = ld.SingleDiode(iph_a=0.03, i0_a=1e-9, n=1.3, rs_ohm=0.5, rsh_ohm=900)  # invented
    >>> sweep = ld.simulate_sweep(cell, ld.Instrument(noise_current_a=2e-5), seed=1)
    >>> fit = ld.fit_single_diode(sweep, fix={"n": 1.3})
    >>> fit.status, fit.residual, fit.names
    ('converged', 'current', ['iph', 'i0', 'rs', 'rsh'])
    ```
    """

def fit_double_diode(
    sweep: Sweep,
    *,
    residual: _Residual = "auto",
    fix: Mapping[str, float] | None = None,
    bounds: Mapping[str, tuple[float, float]] | None = None,
    start: Mapping[str, float] | None = None,
    noise_scale: Literal["stated", "from_scatter"] = "stated",
    most_evaluations: int | None = None,
    deadline_s: float | None = None,
) -> Fit:
    """Fits two diodes to a sweep: parameters `iph i01 n1 i02 n2 rs rsh`, in A, A, 1, A, 1, Ω, Ω.

    ```text
    I = Iph − Σk I0k·(exp((V + I·Rs)/ak) − 1) − (V + I·Rs)/Rsh        ak = nk·cells·k·T/q        min Σ (r/σ)²
    nearest: (r/σ)² = least of ((V − Vi)/σV)² + ((I − Ii)/σI)² on the curve
    ```

    - `sweep`: the measured `Sweep`, with its noise, cells and temperature.
    - `residual`: the distance r that is made small, model − measured: "current" at the measured voltage; "voltage" at
      the measured current; "nearest" to the curve, which needs a stated noise; "implicit", right side less left side of
      the equation at the measured point, which many papers print. "auto" takes nearest where the sweep states scatter
      on both axes, the axis that has it where on one, and the axis that was read (not swept) where on none.
    - `fix`: parameters held, a dictionary of name to SI value; {"n1": 1, "n2": 2} is common. `fix` and
      `bounds` must leave room for n1 ≤ n2.
    - `bounds`: parameters kept between two SI values, a dictionary of name to (low, high). Where none are given: Iph ≥
      0, I01 and I02 > 0, n1 and n2 from 1 to 2, Rs ≥ 0, Rsh above 0 up to infinite.
    - `start`: SI values to start from, by name; what is not named starts from the best of a grid. Without it the start
      is found from the data, always the same. Either way the optimum of one diode within the bounds is a start as well, so
      that χ² of two is at most χ² of one; where the first diode comes out as the one of larger n, they are exchanged.
    - `noise_scale`: "stated" takes the size of ± from the noise that the sweep states, and from the scatter where it
      states none; "from_scatter" takes it from the scatter always, and a stated noise gives the weights only.
    - `most_evaluations`: how often the residuals of the sweep may be evaluated in all; None for 240,000/√n with n readings,
      many times what ordinary sweeps take; one in which the curve is hard to solve counts as several. A fit that uses them up is "not_converged" and holds its best state.
    - `deadline_s`: the time in s that the fit may take, None for no limit; one that is still at work then ends likewise.

    Returns a `Fit`. Weights that depend on the curve follow it. A fit that does not converge is no error but a status.
    Ctrl-C stops the work.
    Raises `InputError` for a name that is no parameter, a value outside its limits (those of `DoubleDiode`), bounds
    that cross, fewer points than free parameters, "nearest" without a stated noise, and voltages too high for the
    number of cells.

    `Fit.support` says whether the data support the second diode, beside one of the two alone and beside one diode with a
    free n; where they do not, the status is "not_identified".

    ```python
    >>> import litdiode as ld
    >>> cell = ld.DoubleDiode(iph_a=0.03, i01_a=3e-12, n1=1, i02_a=1e-7, n2=2, rs_ohm=0.5, rsh_ohm=900)  # invented
    >>> tracer = ld.Instrument(swept="current", start=0.0, stop=0.0305, points=40, noise_voltage_v=1e-4)
    >>> fit = ld.fit_double_diode(ld.simulate_sweep(cell, tracer, seed=1), fix={"n1": 1, "n2": 2})
    >>> fit.status, fit.names
    ('converged', ['iph', 'i01', 'i02', 'rs', 'rsh'])
    >>> fit.support["holds"]
    True
    ```
    """

@final
class SweepRows:
    """Sweeps to be worked on together. Those of arrays are made on the threads that work on them."""
    @staticmethod
    def of_sweeps(sweeps: Sequence[Sweep]) -> SweepRows:
        """The sweeps themselves."""
    @staticmethod
    def of_arrays(voltage_v: Any, current_a: Any, **options: Any) -> SweepRows:
        """Rows of voltages, or one for all, and rows of currents; `options` are those of `Sweep`."""
    def __len__(self) -> int: ...

@final
class FitList:
    """Fits in the order of their sweeps; a row without a fit holds the reason instead."""
    def __new__(cls, rows: Sequence[Fit | str]) -> FitList: ...
    def __len__(self) -> int: ...
    def __getitem__(self, k: int, /) -> Fit | str: ...
    def __eq__(self, other: object, /) -> bool: ...
    def __reduce__(self) -> tuple[Any, ...]: ...
    def taken(self, start: int, step: int, count: int) -> FitList:
        """The rows from `start` on in steps of `step`, `count` of them."""
    def errors(self) -> dict[int, str]:
        """Why a row has no result, by its number."""
    def remarks(self) -> list[str]:
        """What must be known with each row, one text a row, found on all threads; empty where there is nothing."""
    def status(self) -> list[str]:
        """The status of each fit; `error` where there is none."""
    def columns(self) -> dict[str, Any]:
        """Columns of rms, chi2, dof, and of every parameter and key point that any row has: values and `_u`, NaN where a
        row has none.
        """
    def to_json(self) -> str:
        """The object as JSON text, lossless; non-finite numbers are the words "inf", "-inf", "nan"."""
    @staticmethod
    def from_json(text: str) -> FitList:
        """The object that `to_json` wrote as `text`; `InputError` where the text is none of this class.

        ```python
        >>> import litdiode as ld
        >>> noise = ld.Noise(current_a=1e-5, current_rel=0.002)
        >>> ld.Noise.from_json(noise.to_json()) == noise
        True
        ```
        """

def quoted(value: float, u: float | None, unit: str, exponent: int | None = None) -> str:
    """`value ± u` with its unit, under the prefix that the size of the value asks for, or that of 10^`exponent`."""

def plus_minus(value: float, u: float | None) -> str:
    """`value ± u` with two significant digits of `u`; without `u` the value alone, in four digits."""

def between(value: float, low: float | None, high: float | None, unit: str) -> str:
    """`value (95 %: low to high) unit`, three digits each; an end that is not given is open."""

def prefix_exponent(size: float, unit: str) -> int:
    """The power of ten, a multiple of three, that leaves 1 to 999 of `size`; 0 if `unit` takes no prefix."""

def prefixed(unit: str, exponent: int) -> str:
    """The unit with the prefix of a power of ten: `A`, −3 → `mA`."""

def span(low: float, high: float, unit: str) -> str:
    """`low to high unit`, four digits each, under one prefix where that serves both."""

@final
class KeyPointList:
    """Key points in the order of their sweeps; a row without any holds the reason instead."""
    def __new__(cls, rows: Sequence[KeyPoints | str]) -> KeyPointList: ...
    def __len__(self) -> int: ...
    def __getitem__(self, k: int, /) -> KeyPoints | str: ...
    def __eq__(self, other: object, /) -> bool: ...
    def __reduce__(self) -> tuple[Any, ...]: ...
    def taken(self, start: int, step: int, count: int) -> KeyPointList:
        """The rows from `start` on in steps of `step`, `count` of them."""
    def errors(self) -> dict[int, str]:
        """Why a row has no result, by its number."""
    def remarks(self) -> list[str]:
        """What must be known with each row, one text a row, found on all threads; empty where there is nothing."""
    def columns(self) -> dict[str, Any]:
        """Columns of every figure that any row has: values and `_u`, NaN where a row has none."""
    def to_json(self) -> str:
        """The object as JSON text, lossless; non-finite numbers are the words "inf", "-inf", "nan"."""
    @staticmethod
    def from_json(text: str) -> KeyPointList:
        """The object that `to_json` wrote as `text`; `InputError` where the text is none of this class.

        ```python
        >>> import litdiode as ld
        >>> noise = ld.Noise(current_a=1e-5, current_rel=0.002)
        >>> ld.Noise.from_json(noise.to_json()) == noise
        True
        ```
        """

def key_point_rows(
    sweeps: SweepRows, *, threads: int | None = None, progress: bool | Callable[[int], Any] | None = None
) -> KeyPointList:
    """Key points of every sweep on threads. `progress` is told the rows done. `litdiode.key_points_many` puts the result
    in columns.
    """

def fit_rows(
    sweeps: SweepRows,
    *,
    diodes: int = 1,
    residual: str = "auto",
    fix: Mapping[str, float] | None = None,
    bounds: Mapping[str, tuple[float, float]] | None = None,
    start: Mapping[str, float] | None = None,
    noise_scale: str = "stated",
    most_evaluations: int | None = None,
    deadline_s: float | None = None,
    threads: int | None = None,
    progress: bool | Callable[[int], Any] | None = None,
) -> FitList:
    """Fits every sweep on threads: a `Fit` a row, or the reason why there is none. `progress` is told the rows done.
    `litdiode.fit_many` puts the result in columns, and says what the other arguments mean.
    """

def from_end_slopes(
    *,
    isc_a: float,
    voc_v: float,
    v_pmax_v: float,
    i_pmax_a: float,
    rs0_ohm: float,
    rsh0_ohm: float,
    cells: int = 1,
    temperature_c: float = 25.0,
) -> ClosedForm:
    """One diode in closed form from Isc, Voc, the point of maximum power and both end slopes: a `ClosedForm`.

    ```text
    n  = (Vm + Im·Rs0 − Voc)/(VT·[ln(A − Im) − ln(B) + Im/B])      A = Isc − Vm/Rsh,  B = Isc − Voc/Rsh,  Rsh = Rsh0
    I0 = B·e^(−Voc/nVT)      Rs = Rs0 − (nVT/I0)·e^(−Voc/nVT)      Iph = Isc·(1 + Rs/Rsh) + I0·(e^(Isc·Rs/nVT) − 1)
    ```

    - `isc_a`, `voc_v`: short-circuit current in A and open-circuit voltage in V, above 0.
    - `v_pmax_v`, `i_pmax_a`: the point of maximum power in V and A, between 0 and `voc_v`, `isc_a`.
    - `rs0_ohm`: Rs0 = −dV/dI at Voc in Ω, above 0.
    - `rsh0_ohm`: Rsh0 = −dV/dI at Isc in Ω, above Voc/Isc.
    - `cells`: cells in series, 1 unless given.
    - `temperature_c`: temperature in °C, 25 unless given.

    All are single numbers by keyword. A negative Rs is taken as 0, with a reservation. Raises `InputError` for a figure
    outside its limits and for slopes that contradict the points. Source: J. C. H. Phang, D. S. H. Chan, J. R. Phillips,
    Electronics Letters 20 (1984) 406.

    ```python
    >>> import litdiode as ld
    >>> found = ld.from_end_slopes(isc_a=0.1023, voc_v=0.536, v_pmax_v=0.437, i_pmax_a=0.0925, rs0_ohm=0.45,
    ...                            rsh0_ohm=1000, temperature_c=26.85)
    >>> round(found.model.n, 3), round(found.model.rs_ohm, 4)
    (1.503, 0.0683)
    ```

    The figures are the blue cell of Charles et al., Solar Cells 4 (1981) 169 (from memory).
    """

def from_key_points(
    *,
    isc_a: float,
    voc_v: float,
    v_pmax_v: float,
    i_pmax_a: float,
    n: float,
    cells: int = 1,
    temperature_c: float = 25.0,
) -> ClosedForm:
    """One diode from Isc, Voc, the point of maximum power and a given ideality factor: a `ClosedForm`.

    The curve passes the three points and has its maximum at the second. For a given Rs that is linear in (Iph, I0,
    1/Rsh), so that one equation in Rs remains. It may have two roots: the smaller is taken, and the other is a
    reservation. Where no shunt fits, Rsh is infinite, the curve passes the three points alone, and a reservation says
    so.

    - `isc_a`, `voc_v`: short-circuit current in A and open-circuit voltage in V, above 0.
    - `v_pmax_v`, `i_pmax_a`: the point of maximum power in V and A, between 0 and `voc_v`, `isc_a`.
    - `n`: ideality factor of one cell, 0.01 to 1000.
    - `cells`: cells in series, 1 unless given.
    - `temperature_c`: temperature in °C, 25 unless given.

    All are single numbers by keyword. Raises `InputError` for a figure outside its limits, and for an n with which no
    diode has so high a fill factor.

    ```python
    >>> import litdiode as ld
    >>> found = ld.from_key_points(isc_a=0.030, voc_v=0.58, v_pmax_v=0.47, i_pmax_a=0.0275, n=1.3)  # invented
    >>> f"{found.model.rs_ohm:.3f} Ω, {found.model.rsh_ohm:.0f} Ω, {1e9 * found.model.i0_a:.3f} nA"
    '0.739 Ω, 951 Ω, 0.845 nA'
    >>> f"{1e3 * found.model.key_points().pmax.value:.3f} mW"
    '12.925 mW'
    ```
    """

def power_rows(
    sweep: Sweep,
    progress: bool | Callable[[int], Any] | None = None,
) -> tuple[
    list[tuple[str, Estimate, float, str]],
    list[tuple[str, str]],
    tuple[str, Estimate, float, str] | None,
    str,
    tuple[float, float] | None,
]:
    """All methods for Pmax. `progress` is told the methods done."""

def resistance_rows(
    lit: Sweep | None,
    dark: Sweep | None,
    more_lit: Iterable[Sweep],
    implied_v: ArrayLike | None,
    suns: ArrayLike | None,
    n: float | Estimate | None,
    progress: bool | Callable[[int], Any] | None = None,
) -> tuple[
    list[tuple[str, str, Estimate, tuple[float | None, float | None], str, str, str]],
    list[tuple[str, str, str]],
    list[tuple[str, str | None, str]],
]:
    """All methods for Rs and Rsh: rows, (quantity, method, why) of those that gave nothing, and the methods to quote.
    `progress` is told the methods done.
    """

@final
class Plan:
    """The set points of a sweep, from `plan_sweep`, and the uncertainty that each figure would have.

    `set_points` is what to set. `figures`, `equal_voltage` and `equal_current` are dictionaries of name to `Estimate`, whose
    `u` is what a fit (or key points without a model) of readings there would state; `u` is None where the readings leave
    the figure open. `str` shows them side by side, `notes` what must be known. `plot()` draws the plan on the curve, and
    u against the number of points.

    ```python
    >>> import litdiode as ld
    >>> dye = ld.SingleDiode(iph_a=6e-4, i0_a=2e-9, n=1.9, rs_ohm=60, rsh_ohm=9e3)  # invented
    >>> plan = ld.plan_sweep(dye, noise=ld.Noise(voltage_v=0.002), swept="current")
    >>> plan.swept, len(plan.set_points), f"{1e6 * plan.set_points[0]:.0f} to {1e6 * plan.set_points[-1]:.0f} µA"
    ('current', 25, '0 to 599 µA')
    >>> [f"{estimates['ff'].u:.4f}" for estimates in (plan.figures, plan.equal_voltage, plan.equal_current)]
    ['0.0012', '0.0024', '0.0016']
    ```
    """

    @property
    def set_points(self) -> _Array:
        """What to set, rising: V, or A where the current is set. Equal ones are read as often as they stand here."""
    @property
    def voltage_v(self) -> _Array:
        """Voltages in V that the first expected device would show there."""
    @property
    def current_a(self) -> _Array:
        """Currents in A that it would show there."""
    @property
    def figures(self) -> dict[str, Estimate]:
        """Name to `Estimate` of every figure of the first expected device, read at the set points."""
    @property
    def equal_voltage(self) -> dict[str, Estimate]:
        """The same, read at as many points in equal steps of the voltage."""
    @property
    def equal_current(self) -> dict[str, Estimate]:
        """The same, read at as many points in equal steps of the current."""
    @property
    def notes(self) -> list[str]:
        """What must be known with the plan, in sentences."""
    @property
    def swept(self) -> Literal["voltage", "current"]:
        """The quantity that is set: "voltage" or "current"."""
    @property
    def target(self) -> str:
        """The name of the figure whose uncertainty was made small."""
    @property
    def method(self) -> Literal["model", "local"]:
        """ "model" or "local"."""
    @property
    def noise(self) -> Noise | None:
        """The noise that was planned with."""
    @property
    def fewest_points(self) -> int:
        """The fewest points that can be planned: as many as the fit has free parameters."""
    def figures_of(
        self, expected: SingleDiode | DoubleDiode | Fit | Sequence[SingleDiode] | Sequence[DoubleDiode]
    ) -> dict[str, Estimate]:
        """Name to `Estimate` of every figure of another device, read at the same set points.

        - `expected`: a `SingleDiode`, `DoubleDiode` or `Fit`, or a list of models, the first of which counts.

        Raises `InputError` for a device without the target.

        ```python
        >>> import litdiode as ld
        >>> dye = ld.SingleDiode(iph_a=6e-4, i0_a=2e-9, n=1.9, rs_ohm=60, rsh_ohm=9e3)  # invented
        >>> plan = ld.plan_sweep(dye, noise=ld.Noise(current_a=6e-6))
        >>> better = ld.SingleDiode(iph_a=6e-4, i0_a=2e-9, n=1.9, rs_ohm=20, rsh_ohm=9e3)
        >>> print(plan.figures["ff"], plan.figures_of(better)["ff"], sep="; ")
        0.6329 ± 0.0034; 0.6572 ± 0.0032
        ```
        """
    def at_points(self, points: Sequence[int]) -> list[tuple[int, float | None, float | None, float | None]]:
        """The standard uncertainty of the target from other numbers of points, in its unit.

        - `points`: a list of numbers of points, each of which is planned anew.

        Returns a list of (points, planned, equal steps of voltage, equal steps of current), None where the readings leave the
        target open. Raises `InputError` for a number that cannot be planned.

        ```python
        >>> import litdiode as ld
        >>> dye = ld.SingleDiode(iph_a=6e-4, i0_a=2e-9, n=1.9, rs_ohm=60, rsh_ohm=9e3)  # invented
        >>> plan = ld.plan_sweep(dye, noise=ld.Noise(current_a=6e-6))
        >>> [(points, round(planned, 4)) for points, planned, _, _ in plan.at_points([10, 25, 50])]
        [(10, 0.0055), (25, 0.0034), (50, 0.0024)]
        ```
        """
    def curve(self, points: int = 200) -> tuple[_Array, _Array]:
        """Voltages in V and currents in A of the first expected device, from end to end of the set points.

        - `points`: how many, 200 unless given.

        ```python
        >>> import litdiode as ld
        >>> dye = ld.SingleDiode(iph_a=6e-4, i0_a=2e-9, n=1.9, rs_ohm=60, rsh_ohm=9e3)  # invented
        >>> plan = ld.plan_sweep(dye, noise=ld.Noise(current_a=6e-6))
        >>> voltage_v, current_a = plan.curve(points=50)
        >>> bool(voltage_v[0] == plan.set_points[0]), len(current_a)
        (True, 50)
        ```
        """
    def plot(self, ax: Axes | None = None, **options: Any) -> list[Axes]:
        """Draws the set points on the curve of the expected device into `ax` (a new figure if None), u against the
        number of points below; returns both axes.

        `options` are those of `litdiode.plots.plot_plan`: `points=None`, the numbers of points at which u is drawn.

        ```python
        >>> import litdiode as ld
        >>> dye = ld.SingleDiode(iph_a=6e-4, i0_a=2e-9, n=1.9, rs_ohm=60, rsh_ohm=9e3)  # invented
        >>> curve, u = ld.plan_sweep(dye, noise=ld.Noise(current_a=6e-6)).plot(points=[15, 25])
        >>> u.get_ylabel()
        'u(FF) / %'
        ```
        """
    def __len__(self) -> int: ...
    def to_json(self) -> str:
        """The object as JSON text, lossless; non-finite numbers are the words "inf", "-inf", "nan"."""
    @staticmethod
    def from_json(text: str) -> Plan:
        """The object that `to_json` wrote as `text`; `InputError` where the text is none of this class.

        ```python
        >>> import litdiode as ld
        >>> noise = ld.Noise(current_a=1e-5, current_rel=0.002)
        >>> ld.Noise.from_json(noise.to_json()) == noise
        True
        ```
        """
    def __eq__(self, other: object, /) -> bool: ...

@final
class PointsNeeded:
    """How many set points a wanted uncertainty takes, from `points_needed`; `str` is one sentence.

    ```python
    >>> import litdiode as ld
    >>> dye = ld.SingleDiode(iph_a=6e-4, i0_a=2e-9, n=1.9, rs_ohm=60, rsh_ohm=9e3)  # invented
    >>> needed = ld.points_needed(dye, 0.01, noise=ld.Noise(current_a=6e-6))
    >>> needed.planned, needed.equal_voltage, needed.equal_current
    (8, 14, 29)
    >>> needed.points, needed.repeats, round(needed.relative_u, 4)
    (25, 1, 0.0053)
    ```
    """

    @property
    def planned(self) -> int | None:
        """Planned points; above 100 in whole repeats of the plan of 100. Where repeats of the plan of `points` take fewer, as they
        may with the method "local", their number: `repeats`·`points`. None where no number up to 20,000 suffices.
        """
    @property
    def equal_voltage(self) -> int | None:
        """Points in equal steps of the voltage."""
    @property
    def equal_current(self) -> int | None:
        """Points in equal steps of the current."""
    @property
    def repeats(self) -> int | None:
        """How often the plan of `points` is taken instead."""
    @property
    def points(self) -> int:
        """Points of the plan that is repeated."""
    @property
    def relative_u(self) -> float:
        """Relative standard uncertainty that it gives, taken once."""
    @property
    def wanted(self) -> float:
        """Relative standard uncertainty that is wanted."""
    @property
    def target(self) -> str:
        """The name of the figure."""
    def to_json(self) -> str:
        """The object as JSON text, lossless; non-finite numbers are the words "inf", "-inf", "nan"."""
    @staticmethod
    def from_json(text: str) -> PointsNeeded:
        """The object that `to_json` wrote as `text`; `InputError` where the text is none of this class.

        ```python
        >>> import litdiode as ld
        >>> noise = ld.Noise(current_a=1e-5, current_rel=0.002)
        >>> ld.Noise.from_json(noise.to_json()) == noise
        True
        ```
        """
    def __eq__(self, other: object, /) -> bool: ...

def plan_sweep(
    expected: SingleDiode | DoubleDiode | Fit | Sequence[SingleDiode] | Sequence[DoubleDiode],
    points: int = 25,
    *,
    swept: Literal["voltage", "current"] | None = None,
    noise: Noise | None = None,
    target: str = "ff",
    limits: Mapping[str, Any] | None = None,
    method: Literal["model", "local"] = "model",
    step: float = 0.0,
    spread: float | None = None,
    fix: str | Sequence[str] | None = None,
) -> Plan:
    """Set points for the next sweep that make the uncertainty of a figure smallest, a `Plan`.

    ```text
    M = Σ g·gᵀ,  g = ∂r/∂θ of the residual r of the fits at each set point        u²(figure) = cᵀ·M⁻¹·c,  c = ∂figure/∂θ
    least over the set points: mean of [ln u²(target) − 0.2·ln det M/m] over the devices, m free parameters θ
    ```

    - `expected`: the device that will be measured, a `SingleDiode` or `DoubleDiode`; a list of models that one plan should serve;
      or a first `Fit`, whose uncertainty the plan allows for.
    - `points`: how many readings, repeated ones counted, up to 1000; 25 unless given.
    - `swept`: the quantity that is set, "voltage" or "current"; None takes that of a fit's sweep, else the voltage.
    - `noise`: the `Noise` of the instrument; the axis that is set is exact unless it has scatter too. None takes that of a fit's
      sweep, or the scatter that the fit found.
    - `target`: a key point ("isc", "voc", "pmax", "v_pmax", "i_pmax", "ff") or a parameter of the model ("rs", "n1", …).
    - `limits`: what every expected device keeps to, a dictionary of "voltage_v" and "current_a" to (low, high), None for an open
      end, and of "power_w" to the largest |V·I|. A low end of the voltage limits the reverse bias. Unless limited, voltages are
      set from −0.05 to 1.05·Voc (or to Voc of a device off by `spread`), currents from 0 to that at −0.05·Voc, beyond which the
      device is reverse-biased. Whatever the limits, no set point lies below −0.5·Voc, above 1.1·Voc (more where `spread` is) or
      beyond 3·Isc into any lit device that was given.
    - `method`: "model" plans for the diode fit; "local" for `Sweep.key_points`, which need no model: clusters about Isc, the
      maximum power and Voc, whose sizes and widths make the u that it states least.
    - `step`: step of the source in V or A; set points are multiples of it. 0 for none.
    - `spread`: by what share Voc (where currents are set, Isc) of the device may be off, 0 to 0.3. None is 0.1 for one model, and
      0 for a list and a fit; the method "local" takes no less than 0.1.
    - `fix`: names of parameters that the fit will hold, such as ["n1", "n2"].

    The term ln det M keeps all parameters determined, at a cost of 2 to 6 % of u(FF) and at most 9 % of the u of another target;
    without it a plan for FF would be three points, which no diode can be fitted to. Gains and offsets of the noise are in every
    u. Source: A. C. Atkinson, A. N. Donev, R. D. Tobias, Optimum Experimental Designs, with SAS, 2007 (from memory). Raises
    `InputError` for arguments outside their domain, a device without the target, limits that leave too few set points, and a
    target that no readings determine. Two diodes whose idealities are both free are planned far from the best: fix them.

    ```python
    >>> import litdiode as ld
    >>> dye = ld.SingleDiode(iph_a=6e-4, i0_a=2e-9, n=1.9, rs_ohm=60, rsh_ohm=9e3)  # invented
    >>> plan = ld.plan_sweep(dye, noise=ld.Noise(current_a=6e-6), step=0.001)
    >>> len(plan.set_points), plan.equal_voltage["ff"].u > 1.3 * plan.figures["ff"].u
    (25, True)
    ```
    """

def points_needed(
    expected: SingleDiode | DoubleDiode | Fit | Sequence[SingleDiode] | Sequence[DoubleDiode],
    wanted: float,
    points: int = 25,
    *,
    swept: Literal["voltage", "current"] | None = None,
    noise: Noise | None = None,
    target: str = "ff",
    limits: Mapping[str, Any] | None = None,
    method: Literal["model", "local"] = "model",
    step: float = 0.0,
    spread: float | None = None,
    fix: str | Sequence[str] | None = None,
) -> PointsNeeded:
    """How many set points, or repeats of a plan, a wanted uncertainty takes, a `PointsNeeded`.

    - `wanted`: the relative standard uncertainty of the target, between 0 and 1; 0.01 is 1 %.
    - `expected`, `points`, `swept`, `noise`, `target`, `limits`, `method`, `step`, `spread`, `fix`: those of `plan_sweep`;
      `points` is the size of the plan that would be repeated.

    The fewest n with u(n) ≤ wanted, for planned points and for equal steps of voltage and of current. What gains and offsets
    leave no number of points takes away: the counts are then None. Raises `InputError` as `plan_sweep`, and for `wanted`
    outside its domain.

    ```python
    >>> import litdiode as ld
    >>> dye = ld.SingleDiode(iph_a=6e-4, i0_a=2e-9, n=1.9, rs_ohm=60, rsh_ohm=9e3)  # invented
    >>> needed = ld.points_needed(dye, 0.01, noise=ld.Noise(current_a=6e-6))
    >>> needed.planned < needed.equal_voltage < needed.equal_current
    True
    ```
    """
