"""A sweep at standard test conditions by procedure 1 of IEC 60891:2009, clause 3.2 (from memory).

```text
I2 = I1 + Isc1·(G2/G1 − 1) + α·ΔT        V2 = V1 − Rs·(I2 − I1) − κ·I2·ΔT + β·ΔT
```
"""

from __future__ import annotations

from collections.abc import Mapping

from ..._core import Estimate, Instrument, KeyPoints, Procedure1, SingleDiode, Sweep, simulate_sweep
from ..devices import anew, beyond, figures, lit_device, measured, rounded, true_figures
from ..draw import Draw
from ..exercise import Case, Drawn, Exercise, Quantity, Readings, Slip

#: Relative standard uncertainty of each coefficient on the sheet, and of the irradiance.
_SHEET = {"alpha": ("A/K", 0.10), "beta": ("V/K", 0.02), "rs": ("Ω", 0.05), "kappa": ("Ω/K", 0.20)}
_U_IRRADIANCE = 0.01
_ISC_PER_K = 5e-4
_STC = {"irradiance_w_m2": 1000.0, "temperature_c": 25.0}
#: Another way to the key points has another ± by this factor, at most.
_ALIKE = 1.4
_NOTHING = Slip(
    "not_translated",
    (
        "this is the figure of the sweep as it was measured, not that at 1000 W/m² and 25 °C.",
        "Less light lowers the current in proportion, and warmth lowers the voltage.",
        "Move every point by the equations of procedure 1, then find the key points of the moved curve.",
    ),
)
_SIGN = Slip(
    "sign_of_temperature",
    (
        "the temperature was corrected in the wrong direction.",
        "ΔT is that of the target less that of the measurement.",
        "ΔT = T2 − T1 with T2 = 25 °C: below 0 here, and β is below 0 as well, so that the voltage rises.",
    ),
)
_COEFFICIENT = Slip(
    "coefficient",
    (
        "one of the four coefficients has the wrong sign, or was left out.",
        "Each has a term of its own, and all four are on the sheet with their signs.",
        "I2 = I1 + Isc1·(G2/G1 − 1) + α·ΔT and V2 = V1 − Rs·(I2 − I1) − κ·I2·ΔT + β·ΔT.",
    ),
)
_LAMP = Slip(
    "irradiance_u",
    (
        "this ± leaves out that of the irradiance, which moves all currents together.",
        "The scatter of the readings averages down; what is common to all of them does not.",
        "u²(Isc) has the term (Isc·u(G)/G)², and Pmax nearly the same.",
    ),
    "u",
)


class Translation(Exercise):
    """Key points at standard test conditions."""

    name = "translation"
    title = "Translation to 1000 W/m² and 25 °C"
    question = (
        "The sweep `warm` was taken at the irradiance and the temperature that it carries. `alpha`, `beta`, `rs` and "
        "`kappa` are the coefficients of procedure 1 of IEC 60891 for this cell, each with its ±. Give the key "
        "points at 1000 W/m² and 25 °C."
    )
    quantities = (
        Quantity("isc", "A", "short-circuit current at 1000 W/m² and 25 °C"),
        Quantity("voc", "V", "open-circuit voltage there"),
        Quantity("pmax", "W", "maximum power there"),
    )
    hints = (
        "Is every point moved, in current and in voltage?",
        "The current moves by Isc1·(G2/G1 − 1) + α·ΔT, the voltage by −Rs·(I2 − I1) − κ·I2·ΔT + β·ΔT.",
        "`sweep.translate` with a `Procedure1` of the four coefficients gives the curve, and its key_points() the "
        "figures.",
    )

    def draw(self, draw: Draw) -> Drawn:
        """A warm cell in three quarters of a sun, with a sheet of its coefficients."""
        device, voc_v = lit_device(draw, (0.02, 0.05), (0.005, 0.02))
        stated_w_m2 = round(draw.uniform(700.0, 900.0))
        warm_c = round(draw.uniform(38.0, 52.0), 1)
        there = device.at(draw.normal(stated_w_m2, _U_IRRADIANCE * stated_w_m2), warm_c, isc_per_k=_ISC_PER_K)
        light = Estimate(stated_w_m2, _U_IRRADIANCE * stated_w_m2, unit="W/m²", name="irradiance of the course")
        tracer = Instrument(start=-0.06, stop=beyond(voc_v), points=40, noise_current_a=rounded(0.004 * device.iph_a))
        sweep = measured(there, tracer, draw, irradiance_w_m2=light)
        sheet = self._sheet(device, stated_w_m2, warm_c, draw)
        readings = Readings(self.name, sweeps={"warm": sweep}, estimates=sheet)
        return Drawn(readings, true_figures(device, [q.name for q in self.quantities]))

    def _sheet(self, device: SingleDiode, from_w_m2: float, warm_c: float, draw: Draw) -> dict[str, Estimate]:
        """The coefficients with errors of the size that the sheet states; the ± follow the stated value, not the
        true."""
        found = coefficients(device, from_w_m2, warm_c)
        sheet = {}
        for name, (unit, share) in _SHEET.items():
            stated = float(f"{draw.normal(1.0, share) * getattr(found, name).value:.3e}")
            sheet[name] = Estimate(stated, share * abs(stated), unit=unit, name=f"{name} of the course")
        return sheet

    def reference(self, readings: Readings) -> dict[str, Estimate | float | str]:
        """The key points of the translated sweep."""
        found = translated(readings.sweeps["warm"], readings.estimates)
        return figures(found, [q.name for q in self.quantities])

    def slip(self, case: Case, quantity: Quantity, value_failed: bool, u_failed: bool) -> Slip | None:
        """No translation, the wrong sign of ΔT, a coefficient left out or turned, an irradiance taken as exact."""
        sweep, name = case.readings.sweeps["warm"], quantity.name
        if self._of_coefficient(case):
            return _COEFFICIENT
        if value_failed:
            plain = getattr(sweep.key_points(), name)
            if plain is not None and case.is_value(name, plain.value, False):
                return _NOTHING
            turned = translated(sweep, case.readings.estimates, 2 * sweep.temperature_c - _STC["temperature_c"])
            wrong = getattr(turned, name)
            return _SIGN if wrong is not None and case.is_value(name, wrong.value, True) else None
        if not u_failed or sweep.irradiance_w_m2 is None:
            return None
        alone = translated(with_exact_irradiance(sweep), case.readings.estimates)
        found = {q.name: getattr(alone, q.name) for q in self.quantities}
        return _LAMP if case.all_u({k: e.u for k, e in found.items() if e is not None and e.u}, _ALIKE) else None

    def _of_coefficient(self, case: Case) -> bool:
        """Whether the figures are those of a sheet with one coefficient of the other sign, or none, in all digits."""
        sweep, sheet = case.readings.sweeps["warm"], case.readings.estimates
        handed = [q.name for q in self.quantities if q.name in case.answer]
        if all(case.agrees(name, case.right(name)) for name in handed):
            return False
        for name, (unit, _) in _SHEET.items():
            for factor in (0.0, -1.0):
                wrong = sheet | {name: Estimate(factor * sheet[name].value, unit=unit)}
                found = translated(sweep, wrong)
                values = [(name, getattr(found, name)) for name in handed]
                if all(e is not None and case.agrees(k, e.value) for k, e in values):
                    return True
        return False


def translated(sweep: Sweep, sheet: Mapping[str, Estimate], temperature_c: float = _STC["temperature_c"]) -> KeyPoints:
    """Key points at 1000 W/m² and a temperature by procedure 1 with the coefficients of a sheet."""
    by = Procedure1(
        alpha_a_per_k=sheet["alpha"], beta_v_per_k=sheet["beta"], rs_ohm=sheet["rs"], kappa_ohm_per_k=sheet["kappa"]
    )
    return sweep.translate(by, irradiance_w_m2=_STC["irradiance_w_m2"], temperature_c=temperature_c).key_points()


def with_exact_irradiance(sweep: Sweep) -> Sweep:
    """The sweep with an irradiance that has no ±."""
    light = sweep.irradiance_w_m2
    return anew(
        sweep,
        noise=sweep.noise,
        irradiance_w_m2=None if light is None else light.value,
        temperature_c=sweep.temperature_c,
    )


def coefficients(device: SingleDiode, from_w_m2: float, warm_c: float) -> Procedure1:
    """Those of procedure 1 for a model on the way to 1000 W/m² and 25 °C, from sweeps of it without noise."""
    tracer = Instrument(start=-0.06, stop=0.8, points=200)

    def at(irradiance_w_m2: float, temperature_c: float) -> Sweep:
        model = device.at(irradiance_w_m2, temperature_c, isc_per_k=_ISC_PER_K)
        taken = simulate_sweep(model, tracer)
        return anew(taken, irradiance_w_m2=irradiance_w_m2, temperature_c=temperature_c)

    # Between the two conditions, so that what is not straight in them is left out.
    return Procedure1.from_sweeps(
        at_irradiances=[at(g, warm_c) for g in (from_w_m2, 0.5 * (from_w_m2 + 1000.0), 1000.0)],
        at_temperatures=[at(1000.0, t) for t in (25.0, 0.5 * (25.0 + warm_c), warm_c)],
    )
