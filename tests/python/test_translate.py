"""Translations to other light and temperature: by hand, against simulated truth, and what they refuse."""

from __future__ import annotations

import pickle
from typing import Any

import numpy as np
import pytest

import litdiode as ld

EXACT_1 = {"alpha_a_per_k": 0.001, "beta_v_per_k": -0.002, "rs_ohm": 0.05, "kappa_ohm_per_k": 0.001}
EXACT_2 = {"alpha_rel_per_k": 0.001, "beta_rel_per_k": -0.004, "a": 0.05, "rs_ohm": 0.05, "kappa_ohm_per_k": 0.001}
# An invented silicon cell: 1 A in full light.
CELL = ld.SingleDiode(iph_a=1.0, i0_a=1e-9, n=1.1, rs_ohm=0.04, rsh_ohm=60.0)


def ramp(isc_a: float = 1.2, voc_v: float = 0.6, irradiance_w_m2: Any = 800.0, temperature_c: float = 25.0) -> ld.Sweep:
    """I = Isc·(1 − V/Voc) at 16 voltages: point 2 is V = 0, point 12 V = 0.5 V, Isc and Voc by construction."""
    voltage_v = (np.arange(16) - 2) * 0.05
    return ld.Sweep(
        voltage_v,
        isc_a * (1 - voltage_v / voc_v),
        sign="generator",
        leads="as_given",
        irradiance_w_m2=irradiance_w_m2,
        temperature_c=temperature_c,
    )


def simulated(irradiance_w_m2: float, temperature_c: float = 25.0, noise_a: float = 0.0, seed: int = 0) -> ld.Sweep:
    """The cell at a condition; its shunt follows the light, for which procedure 2 is exact."""
    model = CELL.at(irradiance_w_m2, temperature_c, isc_per_k=5e-4, shunt_follows_light=True)
    voltage_v = np.linspace(-0.1, model.key_points().voc.value + 0.05, 401)
    scatter = np.random.default_rng(seed).normal(0, noise_a, 401) if noise_a else 0.0
    noise = ld.Noise(current_a=noise_a) if noise_a else None
    light = ld.Estimate(irradiance_w_m2, 0.0, unit="W/m²")
    current_a = model.current(voltage_v) + scatter
    return ld.Sweep(voltage_v, current_a, noise=noise, irradiance_w_m2=light, temperature_c=temperature_c)


def test_procedure_1_by_hand():
    """800 to 1000 W/m², 25 to 35 °C: step = 1.2·0.25 + 0.001·10 = 0.31 A.

    (0, 1.2): I2 = 1.51, V2 = −0.05·0.31 − 0.001·1.51·10 − 0.002·10 = −0.0506.
    (0.5, 0.2): I2 = 0.51, V2 = 0.5 − 0.0155 − 0.0051 − 0.02 = 0.4594.
    """
    found = ramp().translate(ld.Procedure1(**EXACT_1), irradiance_w_m2=1000, temperature_c=35)
    assert found.procedure == 1 and len(found) == 16
    for k, v, i in ((2, -0.0506, 1.51), (12, 0.4594, 0.51)):
        assert found.sweep.voltage_v[k] == pytest.approx(v, abs=1e-9)
        assert found.sweep.current_a[k] == pytest.approx(i, abs=1e-9)
    assert (found.sweep.irradiance_w_m2.value, found.sweep.temperature_c) == (1000, 35)
    assert "procedure 1" in found.sweep.changes[-1].what and "800 W/m²" in found.sweep.changes[-1].what
    assert found.origins == [ramp()]


def test_procedure_2_by_hand():
    """800 to 1000 W/m², 25 to 35 °C: factor 1.01·1.25 = 1.2625; Voc·(−0.04 + 0.05·ln 1.25) = −0.0173056935 V.

    (0, 1.2): I2 = 1.515, V2 = −0.0173056935 − 0.05·0.315 − 0.001·1.515·10 = −0.0482056935.
    (0.5, 0.2): I2 = 0.2525, V2 = 0.5 − 0.0173056935 − 0.05·0.0525 − 0.001·0.2525·10 = 0.4775443065.
    """
    found = ramp().translate(ld.Procedure2(**EXACT_2), irradiance_w_m2=1000, temperature_c=35)
    assert found.procedure == 2
    for k, v, i in ((2, -0.0482056935, 1.515), (12, 0.4775443065, 0.2525)):
        assert found.sweep.voltage_v[k] == pytest.approx(v, abs=1e-9)
        assert found.sweep.current_a[k] == pytest.approx(i, abs=1e-9)


@pytest.mark.parametrize("how", [{"c": 0.5}, {"irradiance_w_m2": 750}, {"temperature_c": 30}])
def test_procedure_3_by_hand(how):
    """First I = 0.6 − V at 500 W/m², 25 °C, second I = 1.2 − 2·V at 1000 W/m², 35 °C: Isc2 − Isc1 = 0.6 A.

    (0.1, 0.5) goes with (0.05, 1.1), half way (0.075, 0.8); (0.3, 0.3) with (0.15, 0.9), half way (0.225, 0.6).
    """
    first, second = ramp(0.6, 0.6, 500.0), ramp(1.2, 0.6, 1000.0, 35.0)
    found = ld.translate_between(first, second, **how)
    assert found.procedure == 3 and found.origins == [first, second]
    for k, v, i in ((4, 0.075, 0.8), (8, 0.225, 0.6)):
        assert found.sweep.voltage_v[k] == pytest.approx(v, abs=1e-9)
        assert found.sweep.current_a[k] == pytest.approx(i, abs=1e-9)
    assert (found.sweep.irradiance_w_m2.value, found.sweep.temperature_c) == (750, 30)


def test_the_ends_of_procedure_3_are_the_sweeps():
    first, second = simulated(500), simulated(1000)
    start = ld.translate_between(first, second, 0.0)
    np.testing.assert_allclose(start.sweep.current_a, first.current_a[: len(start)], rtol=1e-12)
    beyond = ld.translate_between(first, second, 1.1)
    assert any("extrapolates" in text for text in beyond.warnings) and "warning:" in repr(beyond)


def test_effects_are_the_derivatives_times_u():
    """By hand: α moves I by u(α)·ΔT = 1e-3 A, V by −(Rs + κ·ΔT)·1e-3 A = −6e-5 V; 1 % of light I by −1.2·1.25·1 %."""
    light = ld.Estimate(800, 8, unit="W/m²")
    parameters = ld.Procedure1(**(EXACT_1 | {"alpha_a_per_k": ld.Estimate(0.001, 1e-4)}))
    found = ramp(irradiance_w_m2=light).translate(parameters, irradiance_w_m2=1000, temperature_c=35)
    voltage, current = found.effects["alpha"]
    np.testing.assert_allclose(current, 1e-3, rtol=1e-12)
    np.testing.assert_allclose(voltage, -6e-5, rtol=1e-12)
    voltage_g, current_g = found.effects["irradiance_w_m2"]
    np.testing.assert_allclose(current_g, -0.015, rtol=1e-6)
    np.testing.assert_allclose(voltage_g, 0.06 * 0.015, rtol=1e-6)
    both = np.array(list(found.effects.values()))
    np.testing.assert_allclose(found.u_voltage_v, np.linalg.norm(both[:, 0], axis=0), rtol=1e-12)
    np.testing.assert_allclose(found.u_current_a, np.linalg.norm(both[:, 1], axis=0), rtol=1e-12)
    np.testing.assert_allclose(found.covariance(3, 9), both[:, :, 3].T @ both[:, :, 9], rtol=1e-12)
    # What was given without ± is named.
    assert sorted(text.split()[0] for text in found.warnings) == ["beta", "kappa", "rs"]
    # The line has the slope −2/1.02 A/V now, so that a move of the voltage by dV is one of the current by dV·2/1.02.
    at_zero = np.hypot(-0.015 + 0.0009 * 2 / 1.02, 1e-3 - 6e-5 * 2 / 1.02)
    assert found.key_points().isc.u == pytest.approx(at_zero, rel=1e-3)


def test_what_is_not_given_stays():
    found = ramp().translate(ld.Procedure1(**EXACT_1))
    np.testing.assert_allclose(found.sweep.voltage_v, ramp().voltage_v, atol=1e-15)
    np.testing.assert_allclose(found.sweep.current_a, ramp().current_a, atol=1e-15)


def test_a_target_beyond_the_range_warns():
    parameters = ld.Procedure1(**EXACT_1, irradiance_range_w_m2=(700, 900), temperature_range_c=(20, 60))
    warnings = ramp().translate(parameters, irradiance_w_m2=1000, temperature_c=65).warnings
    outside = [text for text in warnings if "lies outside" in text]
    assert len(outside) == 2
    assert "target's irradiance of 1000 W/m² lies outside 700 to 900 W/m²" in outside[0]
    assert "target's temperature of 65 °C lies outside 20 to 60 °C" in outside[1]


def test_parameters_of_simulated_sweeps_bring_the_truth():
    light = [simulated(g) for g in (400, 600, 800, 1000)]
    warmth = [simulated(1000, t) for t in (20, 30, 40, 50)]
    # With a shunt that follows the light procedure 2 is exact in light, with R′s = Rs and a = n·k·T/(q·Voc1).
    assert ld.translation_resistance(light, procedure=2).value == pytest.approx(0.04, rel=0.01)
    thermal_v = 1.380649e-23 * 298.15 / 1.602176634e-19
    voc = light[2].key_points().voc.value
    assert ld.irradiance_factor(light, 800).value == pytest.approx(1.1 * thermal_v / voc, rel=0.01)
    coefficients = ld.temperature_coefficients(warmth, 25)
    assert coefficients.alpha.value == pytest.approx(5e-4, rel=0.01)
    vocs = [sweep.key_points().voc.value for sweep in warmth]
    assert coefficients.beta.value == pytest.approx(np.polyfit([20, 30, 40, 50], vocs, 1)[0], rel=0.02)
    assert coefficients.beta_rel.value == pytest.approx(
        coefficients.beta.value / np.interp(25, [20, 30], vocs[:2]), 0.01
    )
    start = light[2]
    truth = simulated(1000, 45).key_points().pmax.value
    one = ld.Procedure1.from_sweeps(at_irradiances=light, at_temperatures=warmth)
    two = ld.Procedure2.from_sweeps(at_irradiances=light, at_temperatures=warmth, start=start)
    for parameters in (one, two):
        assert parameters.irradiance_range_w_m2 == (400, 1000) and parameters.temperature_range_c == (20, 50)
        moved = start.translate(parameters, irradiance_w_m2=1000, temperature_c=45)
        assert moved.key_points().pmax.value == pytest.approx(truth, rel=0.01)
        assert not moved.warnings
    between = ld.translate_between(light[0], light[3], irradiance_w_m2=700).key_points()
    assert between.pmax.value == pytest.approx(simulated(700).key_points().pmax.value, rel=0.005)


def test_parameters_are_those_of_the_single_functions():
    light = [simulated(g, noise_a=1e-3, seed=g) for g in (400, 600, 800, 1000)]
    warmth = [simulated(1000, t, noise_a=1e-3, seed=t) for t in (20, 30, 40, 50)]
    one = ld.Procedure1.from_sweeps(at_irradiances=light, at_temperatures=warmth)
    assert one.rs == ld.translation_resistance(light, procedure=1) and one.rs.u > 0
    kappa = ld.curve_correction(warmth, rs_ohm=one.rs, beta_v_per_k=one.beta)
    assert one.kappa == kappa and kappa.unit == "Ω/K"
    two = ld.Procedure2.from_sweeps(at_irradiances=light, at_temperatures=warmth, start=light[0])
    assert two.a == ld.irradiance_factor(light, 400)
    assert two.kappa == ld.curve_correction(warmth, rs_ohm=two.rs, procedure=2)
    assert two.alpha_rel == ld.temperature_coefficients(warmth, 25).alpha_rel


def test_linear_sets_give_their_coefficients_exactly():
    """Isc = 1 + 0.001·(T − 25), Voc = 0.6 − 0.002·(T − 25); Voc = 0.6 + 0.03·ln(G/1000), so that a = 0.03/0.6."""
    warmth = [ramp(1 + 0.001 * (t - 25), 0.6 - 0.002 * (t - 25), 1000.0, t) for t in (15, 25, 35, 45)]
    found = ld.temperature_coefficients(warmth)
    for name, value in {"alpha": 0.001, "beta": -0.002, "alpha_rel": 0.001, "beta_rel": -0.002 / 0.6}.items():
        assert getattr(found, name).value == pytest.approx(value, rel=1e-6)
    light = [ramp(g / 1000, 0.6 + 0.03 * np.log(g / 1000), g) for g in (400.0, 700.0, 1000.0)]
    assert ld.irradiance_factor(light, 1000).value == pytest.approx(0.05, rel=1e-6)


def test_a_translated_sweep_serves_as_any_other():
    sweep = simulated(800, noise_a=5e-4, seed=3)
    parameters = ld.Procedure2(alpha_rel_per_k=5e-4, beta_rel_per_k=-0.004, a=0.05, rs_ohm=0.04, kappa_ohm_per_k=2e-4)
    moved = sweep.translate(parameters, irradiance_w_m2=1000)
    fit = ld.fit_single_diode(moved.sweep)
    assert fit.parameters["iph"].value == pytest.approx(1.0, rel=0.01)
    assert moved.sweep.key_points().pmax.value == pytest.approx(moved.key_points().pmax.value, rel=1e-12)
    # What the translation made uncertain stays with the sweep.
    assert moved.sweep.key_points().pmax.u == pytest.approx(moved.key_points().pmax.u, rel=1e-12)


def test_what_is_stored_comes_back():
    parameters = [ld.Procedure1(**EXACT_1), ld.Procedure2(**EXACT_2, irradiance_range_w_m2=(1, 2))]
    moved = [ramp().translate(p, irradiance_w_m2=900) for p in parameters]
    warmth = [ramp(1 + 0.001 * t, 0.6 - 0.002 * t, 1000.0, t) for t in (15, 25, 35)]
    for thing in (*parameters, *moved, ld.temperature_coefficients(warmth)):
        assert pickle.loads(pickle.dumps(thing)) == thing
        assert type(thing).from_json(thing.to_json()) == thing
    # Without limits the range is infinite, which JSON has no number for.
    assert pickle.loads(pickle.dumps(parameters[0])).irradiance_range_w_m2 == (-np.inf, np.inf)
    assert moved[0] != moved[1]


def test_they_describe_themselves():
    text = repr(ld.Procedure1(**(EXACT_1 | {"rs_ohm": ld.Estimate(0.05, 0.01, unit="Ω")})))
    assert "Rs    50 ± 10 mΩ" in text and "no range stated" in text
    assert "found from" in repr(ld.Procedure2(**EXACT_2, temperature_range_c=(10, 50)))
    text = repr(ramp().translate(ld.Procedure1(**EXACT_1), irradiance_w_m2=1000))
    assert text.startswith("Translated(procedure 1, from 800 W/m², 25 °C to 1000 W/m², 25 °C, 16 points)")
    assert "rs has no uncertainty" in text


ONE = ld.Procedure1(**EXACT_1)


@pytest.mark.parametrize(
    ("call", "text"),
    [
        (lambda: ld.Procedure1(**(EXACT_1 | {"rs_ohm": np.nan})), "rs = NaN is not allowed; give a finite number"),
        (lambda: ld.Procedure1(**(EXACT_1 | {"rs_ohm": "a"})), "rs_ohm = 'a' is neither a number nor an Estimate"),
        (
            lambda: ld.Procedure1(**(EXACT_1 | {"rs_ohm": ld.Estimate(1, 0.1, unit="V")})),
            "rs_ohm is an Estimate in V, and Ω is needed: convert it",
        ),
        (
            lambda: ld.Procedure2(**(EXACT_2 | {"a": ld.Estimate(1, 0.1, unit="V")})),
            "a is an Estimate in V, and a pure number is needed",
        ),
        (lambda: ld.Procedure1(**EXACT_1, irradiance_range_w_m2=(9, 1)), "range: irradiance_w_m2 = 9 .* low ≤ high"),
        (lambda: ramp().translate(EXACT_1), "is neither of both procedures; pass a Procedure1 or a Procedure2"),
        (lambda: ramp().translate(ONE, irradiance_w_m2=-1), "irradiance_w_m2 of the target = -1 is not allowed"),
        (lambda: ramp().translate(ONE, temperature_c=-300), "temperature_c of the target = -300 .* absolute zero"),
        (lambda: ramp(irradiance_w_m2=None).translate(ONE), "sweep 0 has no irradiance; pass irradiance_w_m2 when"),
        (lambda: ramp().translate(ONE).covariance(0, 16), "j = 16 is no point; pass 0 to 15"),
        (lambda: ramp().translate(ONE).covariance(-1, 0), "i = -1 is no point"),
        (lambda: ld.translate_between(ramp(), ramp()), "pass one of c, irradiance_w_m2 and temperature_c"),
        (lambda: ld.translate_between(ramp(), ramp(), 0.1, temperature_c=3), "pass one of c"),
        (lambda: ld.translate_between(ramp(), ramp(), irradiance_w_m2=900), "it is the same in both sweeps"),
        (
            lambda: ld.translate_between(ramp(), ramp(1, 0.6, 900.0), 0.5, correlation=2),
            "correlation = 2 is not allowed",
        ),
        (lambda: ld.translate_between(ramp(), ramp(1, 0.6, 900.0), np.nan), "NaN is not allowed"),
        (lambda: ld.translation_resistance([ramp(), 3]), r"sweeps\[1\] = 3 is no Sweep; pass a list"),
        (lambda: ld.translation_resistance(7), "sweeps = 7 is no list of sweeps"),
        (lambda: ld.translation_resistance([ramp()]), "holds 1 clearly different irradiances, and at least 2"),
        (lambda: ld.translation_resistance([ramp()], procedure=3), "procedure = 3 is not known; pass 1 or 2"),
        (lambda: ld.temperature_coefficients([]), "at least 2"),
        (lambda: ld.temperature_coefficients([ramp()], np.nan), "reference_c = NaN is not allowed"),
        (lambda: ld.irradiance_factor([ramp()], 0.0), "from_w_m2 = 0 is not allowed"),
        (lambda: ld.curve_correction([ramp()], rs_ohm=0.1), "procedure 1 needs beta_v_per_k"),
        (lambda: ld.curve_correction([ramp()], rs_ohm=0.1, beta_v_per_k=1, procedure=2), "leave beta_v_per_k out"),
        (lambda: ld.Translated.from_json("[]"), "text is no Translated in JSON"),
    ],
)
def test_bad_input_is_named_with_its_cure(call, text):
    with pytest.raises(ld.InputError, match=text):
        call()


def test_an_estimate_of_another_unit_is_no_area():
    with pytest.raises(ld.InputError, match="area_cm2 is an Estimate in V, and cm² is needed: convert it"):
        ld.Sweep([0, 0.5, 0.6], [1, 0.9, 0.1], area_cm2=ld.Estimate(1, 0.1, unit="V"))
