"""n, I0, Rs and Rsh of a lit sweep by a fit of one diode.

```text
u²(p_k) = (C)_kk        C = (JᵀJ)⁻¹, not 1/(JᵀJ)_kk: the other parameters are fitted as well
```
"""

from __future__ import annotations

import numpy as np

from ..._core import Estimate, Fit, Instrument, fit_single_diode
from ..devices import beyond, lit_device, measured, rounded
from ..draw import Draw
from ..exercise import Case, Drawn, Exercise, Quantity, Readings, Slip

_ALONE = Slip(
    "correlation",
    (
        "this ± holds if all other parameters were known: n, I0, Rs and Rsh are correlated, and that is forgotten "
        "here.",
        "A larger n with a larger I0 and a smaller Rs fits nearly as well, so that each is known worse than by itself.",
        "Invert the whole matrix JᵀJ/σ² and take the roots of the diagonal of the inverse; do not invert its diagonal.",
    ),
    "u",
)
#: Another fit has another ± by this factor, at most.
_ALIKE = 1.4


class DiodeParameters(Exercise):
    """Parameters of one diode with their ±."""

    name = "diode_parameters"
    title = "Diode parameters by a fit"
    question = (
        "Fit I = Iph − I0·(exp((V + I·Rs)/(n·kT/q)) − 1) − (V + I·Rs)/Rsh to the sweep `lit`, whose noise is stated, "
        "at the temperature that it carries."
    )
    quantities = (
        Quantity("n", "", "ideality factor", "log"),
        Quantity("i0", "A", "saturation current", "log"),
        Quantity("rs", "Ω", "series resistance"),
        Quantity("rsh", "Ω", "shunt resistance", "inverse"),
    )
    hints = (
        "Do the residuals of the fit scatter about zero along the whole curve?",
        "The equation has I on both sides: solve it at each voltage, and compare currents with currents.",
        "Fit ln I0 in place of I0 and 1/Rsh in place of Rsh, start from several points, and look at χ²/ν: it must be "
        "near 1.",
    )

    def draw(self, draw: Draw) -> Drawn:
        """A cell whose two resistances show: 60 readings with a scatter of a tenth of a per cent."""
        device, voc_v = lit_device(draw, (0.04, 0.10), (0.03, 0.10))
        tracer = Instrument(
            start=-0.1, stop=beyond(voc_v + 0.02), points=60, noise_current_a=rounded(0.0015 * device.iph_a)
        )
        truth = {"n": device.n, "i0": device.i0_a, "rs": device.rs_ohm, "rsh": device.rsh_ohm}
        return Drawn(Readings(self.name, sweeps={"lit": measured(device, tracer, draw)}), dict(truth))

    def reference(self, readings: Readings) -> dict[str, Estimate | float | str]:
        """The parameters of the library's fit."""
        fit = self._fit(readings)
        return {q.name: fit.parameters[q.name] for q in self.quantities}

    def slip(self, case: Case, quantity: Quantity, value_failed: bool, u_failed: bool) -> Slip | None:
        """The ± that a parameter would have if the others were known."""
        if not u_failed or value_failed:
            return None
        alone = conditional_u(self._fit(case.readings))
        return _ALONE if case.all_u({q.name: alone[q.name] for q in self.quantities}, _ALIKE) else None

    def _fit(self, readings: Readings) -> Fit:
        return fit_single_diode(readings.sweeps["lit"])


def conditional_u(fit: Fit) -> dict[str, float]:
    """The ± that each parameter would have if the others were known, 1/√((C⁻¹)_kk), of the matrix in units of the ±."""
    size = np.sqrt(np.diag(fit.covariance))
    inverse = np.linalg.inv(fit.covariance / np.outer(size, size))
    alone = size / np.sqrt(np.diag(inverse))
    return {name: float(u) for name, u in zip(fit.names, alone, strict=True)}
