"""The bindings: any array-like in, typed errors out, objects that travel."""

from __future__ import annotations

import copy
import math
import pickle
import subprocess
import sys
import threading
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pytest
from scipy.constants import Boltzmann, elementary_charge
from scipy.optimize import brentq

import litdiode as ld

DATA = Path(__file__).parents[1] / "data"
V = [-0.1, 0.2, 0.4, 0.5, 0.6]
I = [0.030, 0.030, 0.028, 0.017, -0.041]  # noqa: E741


@pytest.fixture(scope="module")
def cell() -> ld.Sweep:
    table = np.loadtxt(DATA / "easwarakhanthan_1986_cell.csv", delimiter=",", skiprows=2)
    return ld.Sweep(table[:, 0], table[:, 1], temperature_c=33.0)


@pytest.fixture(scope="module")
def fit(cell: ld.Sweep) -> ld.Fit:
    return ld.fit_single_diode(cell)


@pytest.mark.parametrize("kind", [list, tuple, np.array, pd.Series, lambda x: np.array(x)[::-1][::-1]])
def test_any_array_like_is_taken(kind: type) -> None:
    sweep = ld.Sweep(kind(V), kind(I))
    np.testing.assert_array_equal(sweep.voltage_v, V)
    np.testing.assert_array_equal(sweep.current_a, I)


@pytest.mark.parametrize(
    ("voltage", "current", "text"),
    [
        ([], [], "voltage_v has 0 point"),
        ([1.0], [1.0], "voltage_v has 1 point"),
        (V, I[:4], "voltage_v has 5 values and current_a has 4"),
        ([0.0, math.nan], [1.0, 2.0], r"voltage_v\[1\] = NaN"),
        ([0.0, 1.0], [math.inf, 2.0], r"current_a\[0\] = inf"),
        ([0.0, 9.9e37], [1.0, 2.0], r"voltage_v\[1\] = 9.9e37 .* over-range"),
        ([0.0, "x"], [1.0, 2.0], r"voltage_v\[1\] = 'x' is not a number"),
        ([0.0, 1.0], None, r"current_a = None|current_a has 0 dimensions"),
        ([[0.0, 1.0]], [1.0, 2.0], "voltage_v has 2 dimensions"),
        ([1.0, 1.0], [1.0, 2.0], "all voltage_v are 1"),
        ([0.0, 1.0], [0.0, 0.0], "all current_a are 0"),
        (np.ma.masked_array([0.0, 1.0], [0, 1]), [1.0, 0.0], r"voltage_v\[1\] = NaN"),
        ([0.0, 1.0], np.array([1.0, 2j]), r"current_a\[0\] = .* is complex"),
        ([0.0, 1.0], [1.0, 2j], r"current_a\[1\] = 2j is complex"),
    ],
)
def test_bad_readings_say_what_and_where(voltage: object, current: object, text: str) -> None:
    with pytest.raises(ld.InputError, match=text) as caught:
        ld.Sweep(voltage, current)  # type: ignore[arg-type]
    assert isinstance(caught.value, ValueError) and isinstance(caught.value, ld.LitdiodeError)


@pytest.mark.parametrize(
    ("options", "text"),
    [
        ({"area_cm2": 0}, "area_cm2 = 0"),
        ({"area_cm2": "big"}, "area_cm2 = 'big' is neither a number nor an Estimate"),
        ({"irradiance_w_m2": -5}, "irradiance_w_m2 = -5"),
        ({"temperature_c": -274}, "temperature_c = -274"),
        ({"cells": -1}, "cells = -1"),
        ({"swept": "both"}, 'pass "voltage" or "current"'),
        ({"sign": "plus"}, '"auto" or "generator" or "load"'),
        ({"time_s": [1.0]}, "time_s has 1"),
    ],
)
def test_bad_options_say_what_to_pass(options: dict[str, object], text: str) -> None:
    with pytest.raises(ld.InputError, match=text):
        ld.Sweep(V, I, **options)  # type: ignore[arg-type]


def test_a_turned_sweep_warns_and_records() -> None:
    with pytest.warns(ld.LitdiodeWarning, match="load sign"):
        sweep = ld.Sweep(V, [-x for x in I], changes=["read from a notebook"])
    np.testing.assert_array_equal(sweep.current_a, I)
    assert [change.automatic for change in sweep.changes] == [False, True]


def test_a_sweep_that_stops_short_keeps_its_other_figures() -> None:
    v = np.linspace(-0.1, 0.45, 20)
    points = ld.Sweep(v, 0.03 - 1e-9 * np.expm1(v / 0.03)).key_points()
    assert points.voc is None and points.ff is None and points.isc is not None
    assert "I = 0" in points.absent["voc"]


def test_everything_travels(cell: ld.Sweep, fit: ld.Fit) -> None:
    noise = ld.Noise(current_a=1e-6)
    closed = ld.from_key_points(isc_a=0.03, voc_v=0.6, v_pmax_v=0.5, i_pmax_a=0.028, n=1.3)
    things = [cell, fit, fit.model, fit.key_points(), fit.parameters["rs"], fit.interval("rsh"), noise, closed]
    for thing in things:
        assert pickle.loads(pickle.dumps(thing)) == thing
        assert type(thing).from_json(thing.to_json()) == thing
        assert copy.deepcopy(thing) == thing
        assert repr(thing)
    with pytest.raises(ld.InputError, match="no Sweep in JSON"):
        ld.Sweep.from_json("{}")


def test_estimates_render_and_convert(fit: ld.Fit) -> None:
    rs = fit.parameters["rs"]
    assert rs.u is not None
    assert str(rs) == "36.55 ± 0.49 mΩ" and f"{rs:.4f}" == "(0.0365 ± 0.0005) Ω"
    assert float(rs) == rs.value
    assert rs.ufloat().s == rs.u
    assert "<table>" in fit._repr_html_() and "<table>" in fit.sweep._repr_html_()


def test_covariance_is_symmetric_and_agrees_with_u(fit: ld.Fit, cell: ld.Sweep) -> None:
    for names, covariance, estimates in (
        (fit.names, fit.covariance, fit.parameters),
        (cell.key_points().names, cell.key_points().covariance, None),
    ):
        np.testing.assert_allclose(covariance, covariance.T)
        assert len(names) == len(covariance)
        if estimates is not None:
            np.testing.assert_allclose(np.sqrt(np.diag(covariance)), [estimates[n].u for n in names])


def test_model_agrees_with_brentq() -> None:
    """I(V) from the implicit equation by SciPy's bracketing solver."""
    iph, i0, n, rs, rsh = 0.03, 2e-9, 1.45, 1.5, 900.0
    cell = ld.SingleDiode(iph_a=iph, i0_a=i0, n=n, rs_ohm=rs, rsh_ohm=rsh, temperature_c=30.0)
    a = n * Boltzmann * 303.15 / elementary_charge

    def exact(v: float) -> float:
        return brentq(lambda i: iph - i0 * np.expm1((v + i * rs) / a) - (v + i * rs) / rsh - i, -1.0, 1.0, xtol=1e-17)

    v = np.linspace(-0.5, 0.7, 24).reshape(2, 3, 4)
    current = cell.current(v)
    assert current.shape == v.shape
    np.testing.assert_allclose(current, np.vectorize(exact)(v), rtol=1e-12, atol=1e-15)
    np.testing.assert_allclose(cell.voltage(current), v, rtol=1e-9, atol=1e-12)
    assert isinstance(cell.current(0.3), float)
    np.testing.assert_allclose(cell.power(v), v * current)
    h = 1e-6
    np.testing.assert_allclose(cell.slope(0.5), (cell.current(0.5 + h) - cell.current(0.5 - h)) / (2 * h), rtol=1e-7)
    with pytest.raises(ld.InputError, match=r"voltage_v\[1\] = NaN"):
        cell.current([0.0, math.nan])


def test_models_name_a_bad_parameter() -> None:
    good = {"iph_a": 0.03, "i0_a": 1e-9, "n": 1.5, "rs_ohm": 1.0, "rsh_ohm": math.inf}
    for name, value in {"rs_ohm": -1.0, "n": 0.0, "i0_a": 0.0, "rsh_ohm": -5.0, "iph_a": math.nan}.items():
        with pytest.raises(ld.InputError, match=f"^{name} = "):
            ld.SingleDiode(**(good | {name: value}))


def test_wishes_reach_the_fit(cell: ld.Sweep) -> None:
    fit = ld.fit_single_diode(cell, residual="implicit", fix={"n": 1.5}, bounds={"rs": (0, 0.03)})
    assert fit.parameters["n"].value == pytest.approx(1.5) and fit.parameters["rs"].u is None
    assert fit.status == "at_bound" and fit.residual == "implicit"
    with pytest.raises(ld.InputError, match="one of iph, i0, n, rs, rsh"):
        ld.fit_single_diode(cell, fix={"x": 1.0})
    with pytest.raises(ld.InputError, match="is not a pair"):
        ld.fit_single_diode(cell, bounds={"rs": 1.0})  # type: ignore[dict-item]


def test_two_diodes_reach_the_published_optimum(cell: ld.Sweep) -> None:
    """Two diodes, n in [1, 2], on the published cell: the optima that many papers print."""
    for residual, rms in (("implicit", 9.82484876e-4), ("current", 7.3264808e-4)):
        fit = ld.fit_double_diode(cell, residual=residual)  # type: ignore[arg-type]
        assert fit.rms == pytest.approx(rms, rel=1e-8)
        assert fit.parameters["n2"].value == pytest.approx(2.0)
        # 26 points do not support the two parameters more: likelihood ratio below 3 on two degrees of freedom.
        assert fit.status == "not_identified" and not fit.support["holds"]


def test_the_trace_goes_down(fit: ld.Fit) -> None:
    taken = [step["norm"] for step in fit.trace if step["taken"]]
    assert len(taken) > 2 and all(b <= a * (1 + 1e-12) for a, b in zip(taken, taken[1:], strict=False))


def test_fits_run_in_threads(cell: ld.Sweep, fit: ld.Fit) -> None:
    found: list[float] = []
    threads = [threading.Thread(target=lambda: found.append(ld.fit_single_diode(cell).rms)) for _ in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert found == [fit.rms] * 4


def test_the_import_brings_nothing_heavy() -> None:
    """Nothing that costs time is imported before it is used."""
    code = "import sys, litdiode; print([m for m in ('matplotlib', 'scipy', 'pandas') if m in sys.modules])"
    assert subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout == "[]\n"


def test_a_simulated_sweep_gives_its_truth_back() -> None:
    cell = ld.SingleDiode(iph_a=0.03, i0_a=2e-9, n=1.45, rs_ohm=1.0, rsh_ohm=800.0)
    tracer = ld.Instrument(noise_current_a=2e-5, lead_resistance_ohm=0.5, points=60)
    sweep = ld.simulate_sweep(cell, tracer, seed=3)
    assert sweep == ld.simulate_sweep(cell, tracer, seed=3) and sweep != ld.simulate_sweep(cell, tracer, seed=4)
    rs = ld.fit_single_diode(sweep).parameters["rs"]
    assert rs.u is not None and abs(rs.value - 1.5) < 4 * rs.u
    assert tracer.noise().current_a == 2e-5 and ld.Instrument.from_json(tracer.to_json()) == tracer
    with pytest.raises(ld.InputError, match="dwell_s = 0"):
        ld.Instrument(dwell_s=0.0)


def test_a_model_at_another_condition() -> None:
    cell = ld.SingleDiode(iph_a=0.03, i0_a=2e-9, n=1.45, rs_ohm=1.0, rsh_ohm=800.0)
    half = cell.at(500, shunt_follows_light=True)
    assert (half.iph_a, half.rsh_ohm) == (0.015, 1600.0)
    kt = Boltzmann * 298.15 / elementary_charge
    warm = cell.at(temperature_c=35, gap_ev=1.2)
    carriers = (308.15 / 298.15) ** 3 * math.exp(1.2 / kt * (1 - 298.15 / 308.15))  # n_i² over that at 25 °C
    assert warm.i0_a == pytest.approx(2e-9 * carriers ** (1 / 1.45), rel=1e-12)
    intrinsic = cell.at(temperature_c=35, gap_ev=1.2, saturation_law="intrinsic")
    assert intrinsic.i0_a == pytest.approx(2e-9 * carriers, rel=1e-12)
    with pytest.raises(ld.InputError, match='saturation_law = "boltzmann" is not known; pass "ideality" or'):
        cell.at(temperature_c=35, saturation_law="boltzmann")
    with pytest.raises(ld.InputError, match="gap_ev = -1"):
        cell.at(temperature_c=35, gap_ev=-1)


def test_figures_beyond_the_sweep_only_on_request():
    voltage_v = np.linspace(0.03, 0.6, 30)
    cell = ld.SingleDiode(iph_a=0.03, i0_a=1e-9, n=1.4, rs_ohm=0.8, rsh_ohm=900.0)
    short = ld.Sweep(voltage_v, cell.current(voltage_v), noise=ld.Noise(current_a=1e-5))
    assert short.key_points().isc is None
    points = short.key_points(extrapolate=["isc", "voc"])
    truth = cell.key_points()
    for name in ("isc", "voc"):
        found = getattr(points, name)
        assert found.value == pytest.approx(getattr(truth, name).value, abs=4 * found.u)
        assert "extrapolated" in found.note
    with pytest.raises(ld.InputError, match=r"extrapolate: .pmax. cannot"):
        short.key_points(extrapolate=["pmax"])


@pytest.mark.parametrize("count", [-1, 0, 1.5, 2**70, "two"])
def test_a_wrong_number_of_things_is_an_input_error(cell: ld.Sweep, count: object) -> None:
    closed = {"isc_a": 0.03, "voc_v": 0.6, "v_pmax_v": 0.5, "i_pmax_a": 0.028}
    with pytest.raises(ld.InputError, match="cells = "):
        ld.Sweep(V, I, cells=count)
    with pytest.raises(ld.InputError, match="cells = "):
        ld.from_key_points(**closed, n=1.3, cells=count)
    with pytest.raises(ld.InputError, match="cells = "):
        ld.from_end_slopes(**closed, rs0_ohm=2.0, rsh0_ohm=900.0, cells=count)


@pytest.mark.parametrize("points", [-1, 0, 1, 2**70])
def test_a_wrong_number_of_set_points_is_an_input_error(points: int) -> None:
    with pytest.raises(ld.InputError, match="points = "):
        ld.Instrument(points=points)


def test_a_message_shows_a_tiny_number_in_few_digits() -> None:
    with pytest.raises(ld.InputError, match=r"i0_a = 1e-310 is outside 1e-300 to"):
        ld.SingleDiode(iph_a=0.03, i0_a=1e-310, n=1.0, rs_ohm=0.0, rsh_ohm=1e3)


# A cell of 0.6235 V, 600 µA; invented.
DYE = ld.SingleDiode(iph_a=600e-6, i0_a=2e-9, n=1.9, rs_ohm=60, rsh_ohm=9000)
DYE_V = np.linspace(-0.02, 0.66, 25)
DYE_I = np.asarray(DYE.current(DYE_V))


@pytest.mark.parametrize("many", [ld.key_points_many, ld.fit_many])
def test_rows_of_unequal_length_are_not_paired(many: Any) -> None:
    rows = many([DYE_V, DYE_V], [DYE_I, DYE_I[1:]])
    assert list(rows.errors) == [1]
    assert "row 1 has 25 voltages and 24 currents" in rows.errors[1]
    rows = many(DYE_V, [DYE_I, DYE_I[:-1]])
    assert "row 1 has 25 voltages and 24 currents" in rows.errors[1]
    with pytest.raises(ld.InputError, match="row 0 has 25 voltages and 24 currents"):
        many(np.array([DYE_V, DYE_V]), np.array([DYE_I[1:], DYE_I[1:]]))


@pytest.mark.parametrize("many", [ld.key_points_many, ld.fit_many])
def test_a_frame_is_rows_and_keeps_its_labels(many: Any) -> None:
    frame = pd.DataFrame([DYE_I, 0.9 * DYE_I], index=["first", "second"])
    plain = many(DYE_V, np.array([DYE_I, 0.9 * DYE_I]))
    rows = many(DYE_V, frame)
    assert rows == plain and not rows.errors
    assert list(rows.frame().index) == ["first", "second"] and list(rows[1:].frame().index) == ["second"]
    assert many(pd.DataFrame([DYE_V, DYE_V]), frame) == plain
    assert many(pd.Series(DYE_V, index=range(5, 30)), frame) == plain


@pytest.mark.parametrize("many", [ld.key_points_many, ld.fit_many])
def test_masked_readings_are_missing_as_nan_is(many: Any) -> None:
    padded = np.append(DYE_I, [np.nan, np.nan])
    voltage_v = np.append(DYE_V, [0.7, 0.8])
    expected = many(voltage_v, [padded])
    assert not expected.errors
    for masked in (np.ma.masked_invalid([padded]), [np.ma.masked_invalid(padded)]):
        assert many(voltage_v, masked) == expected
    inside = np.ma.array([DYE_I], mask=[np.arange(25) == 3])
    assert "current_a[3] = NaN" in many(DYE_V, inside).errors[0]


COMPLEX = np.asarray(DYE_I) + 0.1j


@pytest.mark.parametrize(
    "call",
    [
        lambda: ld.Sweep(DYE_V, COMPLEX),
        lambda: ld.Sweep(DYE_V.astype(complex), DYE_I),
        lambda: ld.Sweep(DYE_V, pd.Series(COMPLEX)),
        lambda: ld.Sweep(DYE_V, DYE_I, area_cm2=np.complex128(1 + 1j)),
        lambda: ld.Sweep(DYE_V, DYE_I, temperature_c=np.complex64(25)),
        lambda: ld.fit_many(DYE_V, [COMPLEX]),
        lambda: ld.key_points_many(DYE_V, np.array([COMPLEX, COMPLEX])),
        lambda: ld.key_points_many(DYE_V, pd.DataFrame([COMPLEX])),
        lambda: DYE.current(COMPLEX),
        lambda: DYE.voltage(COMPLEX),
        lambda: DYE.current(0.1 + 1j),
        lambda: DYE.current(np.complex128(0.1 + 1j)),
        lambda: ld.SingleDiode(iph_a=np.complex128(1 + 1j), i0_a=1e-9, n=1, rs_ohm=0, rsh_ohm=9),
        lambda: ld.SingleDiode(iph_a=COMPLEX, i0_a=1e-9, n=1, rs_ohm=0, rsh_ohm=9),
        lambda: ld.Sweep.from_repeats([DYE_V, DYE_V], [COMPLEX, COMPLEX]),
    ],
)
def test_complex_numbers_are_refused(call: Any) -> None:
    with pytest.raises(ld.InputError, match="complex"):
        call()


def test_an_outlier_stands_beside_the_figures() -> None:
    current_a = DYE_I.copy()
    current_a[6] = 0.0
    sweep = ld.Sweep(DYE_V, current_a)
    (finding,) = [f for f in sweep.findings if f.kind == "outlier"]
    assert finding.points == [6] and "reading 6" in finding.text
    points = sweep.key_points()
    assert points.findings == sweep.findings
    fit = ld.fit_single_diode(sweep)
    rows = ld.key_points_many(DYE_V, np.array([DYE_I, current_a]))
    texts = [repr(points), points._repr_html_(), sweep._repr_html_(), repr(fit), fit._repr_html_(), repr(rows[1])]
    texts += [repr(fit.key_points()), repr(ld.KeyPoints.from_json(points.to_json())), rows._repr_html_()]
    for text in texts:
        assert "reading 6" in text, text
    assert pickle.loads(pickle.dumps(points)) == points
    assert pickle.loads(pickle.dumps(rows)) == rows
    clean = ld.Sweep(DYE_V, DYE_I)
    assert [f.kind for f in clean.findings] == ["shunted"] and "reading" not in repr(clean.key_points())


def test_figures_that_no_device_has_are_told() -> None:
    millivolts = ld.Sweep(1e3 * DYE_V, DYE_I)
    assert "remark: Voc is about 609" in repr(millivolts.key_points())
    lit = ld.Sweep(DYE_V, 1e3 * DYE_I, area_cm2=0.25, irradiance_w_m2=1000)
    assert any("η is about" in f.text and f.kind == "implausible" for f in lit.findings)
    assert any("η is about" in note for note in ld.fit_single_diode(lit).notes)


def test_a_forced_sign_that_contradicts_the_readings_is_told_as_such() -> None:
    with pytest.raises(ld.InputError, match="sign = load contradicts the readings"):
        ld.Sweep(DYE_V, DYE_I, sign="load")
    forced = ld.Sweep(DYE_V, DYE_I, sign="load", leads="as_given")
    assert "sign_contradicted" in [f.kind for f in forced.findings]


@pytest.mark.parametrize("points", [6, 7])
def test_a_few_points_of_a_good_cell_are_no_noise_about_zero(points: int) -> None:
    cell = ld.SingleDiode(iph_a=0.035, i0_a=1e-9, n=1.4, rs_ohm=0.5, rsh_ohm=3000)  # invented
    for seed in range(20):
        instrument = ld.Instrument(start=-0.02, stop=0.64, points=points, noise_current_a=1e-4)
        fit = ld.fit_single_diode(ld.simulate_sweep(cell, instrument, seed=seed))
        assert not any("noise about zero" in note for note in fit.notes), (seed, fit.notes)


def test_wrong_types_say_what_to_write() -> None:
    sweep = ld.Sweep(DYE_V, DYE_I)
    assert sweep.key_points(extrapolate="isc") == sweep.key_points(extrapolate=["isc"])
    with pytest.raises(TypeError, match=r"extrapolate = 5 is of type int; pass a word or a list of words, such as \["):
        sweep.key_points(extrapolate=5)  # type: ignore[arg-type]
    with pytest.raises(ld.InputError, match="cannot be extrapolated"):
        sweep.key_points(extrapolate="ff")  # type: ignore[arg-type]
    say = r"noise = 1e-05 is of type float; pass litdiode.Noise\(current_a=1e-5\)"
    for call in (
        lambda: ld.Sweep(DYE_V, DYE_I, noise=1e-5),  # type: ignore[arg-type]
        lambda: ld.Sweep.from_repeats([DYE_V, DYE_V], [DYE_I, DYE_I], noise=1e-5),
        lambda: ld.key_points_many(DYE_V, [DYE_I], noise=1e-5),
    ):
        with pytest.raises(TypeError, match=say):
            call()
    for rows in ("text", 5):
        with pytest.raises(TypeError, match=r"voltage_v = .* of type .*; pass a list of rows, one a repetition"):
            ld.Sweep.from_repeats(rows, rows)  # type: ignore[arg-type]
    for name, cure in {
        "swept": '"voltage" or "current"',
        "sign": '"auto", "generator" or "load"',
        "leads": '"auto", "as_given" or "swapped"',
        "temperature_c": "a temperature in °C",
        "label": "a text or None",
        "changes": "a list of texts",
    }.items():
        with pytest.raises(TypeError, match=f"{name} = .* is of type object; pass {cure}"):
            ld.Sweep(DYE_V, DYE_I, **{name: object()})


@pytest.mark.parametrize("many", [ld.key_points_many, ld.fit_many])
def test_a_frame_carries_the_remarks_of_its_rows(many: Any) -> None:
    rows = many(DYE_V, np.array([DYE_I, DYE_I]), temperature_c=298.15)
    told = rows.frame()["remarks"]
    assert all("kelvin" in text for text in told) and "remarks" not in rows.frame(remarks=False)
