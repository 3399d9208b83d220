"""n and I0 of a dark curve over six decades.

```text
−I = I0·(exp((V + I·Rs)/(n·kT/q)) − 1) + (V + I·Rs)/Rsh        σ² = floor² + (rel·I)²        min Σ (r/σ)²
```
"""

from __future__ import annotations

from ..._core import Estimate, Fit, Instrument, SingleDiode, Sweep, fit_single_diode
from ..devices import beyond, measured, without_noise
from ..draw import Draw
from ..exercise import Case, Drawn, Exercise, Quantity, Readings, Slip

_UNWEIGHTED = Slip(
    "unweighted",
    (
        "this is what a fit gives that weighs all readings alike: over decades only the few highest currents count "
        "in it.",
        "The scatter is a share of the current: a reading of 10 mA scatters by more than all lower ones are.",
        "Divide each residual by the σ of its reading, σ² = floor² + (rel·I)², with I from the fitted curve.",
    ),
)
_FLOOR_A, _REL = 1e-9, 0.02
#: Of the highest current, about.
_TOP_A = 0.03


class DarkCurve(Exercise):
    """Ideality factor and saturation current of a dark curve."""

    name = "dark_curve"
    title = "A dark curve over decades"
    question = (
        "The sweep `dark` is that of a cell without light, in generator sign (the current that flows into the cell "
        "is negative). Each current scatters by 2 % of itself and by 1 nA. The diode has a series and a shunt "
        "resistance."
    )
    quantities = (Quantity("n", "", "ideality factor", "log"), Quantity("i0", "A", "saturation current", "log"))
    hints = (
        "Which part of the curve is that of the diode alone?",
        "At low voltage the shunt bends the curve, at high currents the series resistance; the slope of ln I between "
        "them is 1/(n·kT/q).",
        "Fit all readings at once with I0, n, Rs and Rsh, each residual divided by its own σ.",
    )

    def draw(self, draw: Draw) -> Drawn:
        """A diode that reaches some 30 mA on 40 readings."""
        n, i0_a = draw.uniform(1.2, 2.0), draw.log_uniform(1e-11, 1e-9)
        rs_ohm, rsh_ohm = draw.uniform(0.5, 3.0), draw.log_uniform(1e6, 1e7)
        device = SingleDiode(iph_a=0.0, i0_a=i0_a, n=n, rs_ohm=rs_ohm, rsh_ohm=rsh_ohm)
        stop = beyond(float(device.voltage(-_TOP_A)), 0.05)
        tracer = Instrument(start=0.05, stop=stop, points=40, noise_current_a=_FLOOR_A, noise_current_rel=_REL)
        readings = Readings(self.name, sweeps={"dark": measured(device, tracer, draw)})
        return Drawn(readings, {"n": n, "i0": i0_a})

    def reference(self, readings: Readings) -> dict[str, Estimate | float | str]:
        """The parameters of the weighted fit without light."""
        fit = self._fit(readings.sweeps["dark"])
        return {"n": fit.n, "i0": fit.i0}

    def slip(self, case: Case, quantity: Quantity, value_failed: bool, u_failed: bool) -> Slip | None:
        """The figures, or the ±, of a fit without weights."""
        wrong = self._fit(without_noise(case.readings.sweeps["dark"])).parameters[quantity.name]
        if case.is_value(quantity.name, wrong.value, value_failed):
            return _UNWEIGHTED
        x = case.value(quantity.name)
        nearer = abs(x - wrong.value) < abs(x - case.right(quantity.name))
        return (
            _UNWEIGHTED if u_failed and nearer and wrong.u is not None and case.is_u(quantity.name, wrong.u) else None
        )

    def _fit(self, sweep: Sweep) -> Fit:
        return fit_single_diode(sweep, fix={"iph": 0.0})
