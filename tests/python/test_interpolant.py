"""Interpolants: against SciPy, against hand computation, and what they refuse."""

from __future__ import annotations

import pickle
from concurrent.futures import ThreadPoolExecutor

import numpy as np
import pytest

import litdiode as ld

CELL = ld.SingleDiode(iph_a=0.035, i0_a=1e-9, n=1.4, rs_ohm=0.8, rsh_ohm=900.0)
KINDS = ("linear", "monotone_cubic", "natural_cubic", "smoothing", "shape_constrained")


def noisy(points: int = 30, sigma_a: float = 2e-4, *, stated: bool = True, seed: int = 5) -> ld.Sweep:
    """An invented sweep with known truth, at uneven voltages."""
    random = np.random.default_rng(seed)
    voltage_v = np.sort(np.linspace(-0.1, 0.66, points) + random.uniform(-0.008, 0.008, points))
    current_a = np.asarray(CELL.current(voltage_v)) + random.normal(0, sigma_a, points)
    return ld.Sweep(voltage_v, current_a, noise=ld.Noise(current_a=sigma_a) if stated else None)


def given(voltage_v: list[float], current_a: list[float]) -> ld.Sweep:
    return ld.Sweep(voltage_v, current_a, sign="generator", leads="as_given")


@pytest.mark.parametrize(
    ("kind", "make"),
    [
        ("linear", lambda _, v, i, x: np.interp(x, v, i)),
        ("monotone_cubic", lambda scipy, v, i, x: scipy.PchipInterpolator(v, i)(x)),
        ("natural_cubic", lambda scipy, v, i, x: scipy.CubicSpline(v, i, bc_type="natural")(x)),
    ],
)
def test_curves_through_the_points_agree_with_scipy(kind, make):
    scipy = pytest.importorskip("scipy.interpolate")
    sweep = noisy()
    fine = np.linspace(*sweep.interpolate(kind).range_v, 500)
    expected = make(scipy, sweep.voltage_v, sweep.current_a, fine)
    np.testing.assert_allclose(sweep.interpolate(kind).current(fine), expected, rtol=0, atol=1e-13)


def test_slopes_agree_with_scipy():
    interpolate = pytest.importorskip("scipy.interpolate")
    sweep = noisy()
    fine = np.linspace(-0.05, 0.6, 101)
    for kind, spline in (
        ("monotone_cubic", interpolate.PchipInterpolator(sweep.voltage_v, sweep.current_a)),
        ("natural_cubic", interpolate.CubicSpline(sweep.voltage_v, sweep.current_a, bc_type="natural")),
    ):
        np.testing.assert_allclose(sweep.interpolate(kind).slope(fine), spline(fine, 1), rtol=1e-10, atol=1e-10)


@pytest.mark.parametrize("stated", [False, True])
def test_the_smoothing_spline_agrees_with_scipy_at_equal_penalty(stated):
    interpolate = pytest.importorskip("scipy.interpolate")
    sigma_a = 2e-4
    sweep = noisy(sigma_a=sigma_a, stated=stated)
    weights = np.full(len(sweep), sigma_a**-2 if stated else 1.0)
    for in_units_of_w in (1e-7, 1e-5):
        penalty = in_units_of_w * weights[0]
        smooth = sweep.interpolate("smoothing", penalty=penalty)
        spline = interpolate.make_smoothing_spline(sweep.voltage_v, sweep.current_a, w=weights, lam=penalty)
        fine = np.linspace(*smooth.range_v, 300)
        np.testing.assert_allclose(smooth.current(fine), spline(fine), rtol=0, atol=1e-9)
        assert smooth.penalty == pytest.approx(penalty, rel=1e-14) and smooth.penalty_chosen_by == "given"
        # χ² from the curve of SciPy.
        chi2 = np.sum(weights * (sweep.current_a - spline(sweep.voltage_v)) ** 2)
        assert smooth.chi2 == pytest.approx(chi2, rel=1e-5)


def test_effective_degrees_of_freedom_and_band_are_those_of_the_smoother_matrix():
    """Column k of the smoother is the smooth of a unit reading at k (linearity), here by SciPy."""
    interpolate = pytest.importorskip("scipy.interpolate")
    sweep = noisy(points=15, stated=False)
    penalty = 1e-6
    v = sweep.voltage_v
    columns = [interpolate.make_smoothing_spline(v, unit, lam=penalty) for unit in np.eye(15)]
    matrix = np.array([spline(v) for spline in columns]).T
    smooth = sweep.interpolate("smoothing", penalty=penalty)
    assert smooth.effective_dof == pytest.approx(np.trace(matrix), rel=1e-7)
    assert smooth.residual_dof == pytest.approx(15 - np.trace(matrix), rel=1e-7)
    current, slope = smooth.shares(0.3)
    np.testing.assert_allclose(current, [spline(0.3) for spline in columns], atol=1e-7)
    np.testing.assert_allclose(slope, [spline(0.3, 1) for spline in columns], atol=1e-5)
    scatter = np.sqrt(np.sum((sweep.current_a - matrix @ sweep.current_a) ** 2) / (15 - np.trace(matrix)))
    assert smooth.scatter == pytest.approx(scatter, rel=1e-5)
    u = scatter * np.linalg.norm([spline(0.3) for spline in columns])
    assert smooth.u_current(0.3) == pytest.approx(u, rel=1e-5)
    t = pytest.importorskip("scipy.stats").t.ppf(0.95, smooth.residual_dof)
    low, high = smooth.band(0.3, 0.9, with_bias=False)
    assert (high - low) / 2 == pytest.approx(t * u, rel=1e-5)
    assert (high + low) / 2 == pytest.approx(smooth.current(0.3), rel=1e-12)


def test_a_parabola_has_its_maximum_where_a_hand_finds_it():
    """I = 1 - V between points, by hand: P = V - V², highest at 0.5 V with 0.25 W; I(V) = 0.25 at V = 0.75."""
    sweep = given([0.0, 0.3, 0.8, 1.0], [1.0, 0.7, 0.2, 0.0])
    for kind in KINDS[:3]:
        curve = sweep.interpolate(kind)
        peak = curve.maximum_power()
        assert (peak.pmax_w, peak.v_pmax_v, peak.i_pmax_a) == pytest.approx((0.25, 0.5, 0.5), rel=1e-12)
        assert not peak.at_end
        assert curve.voltage(0.25) == pytest.approx(0.75, rel=1e-14)
        assert curve.power(0.5) == pytest.approx(0.25, rel=1e-14)
        assert curve.slope(0.5) == pytest.approx(-1.0, rel=1e-12)
        assert curve.current(1.5, extrapolate=True) == pytest.approx(-0.5, rel=1e-12)
        assert curve.voltage(-0.5, extrapolate=True) == pytest.approx(1.5, rel=1e-12)
        np.testing.assert_allclose(curve.breakpoints_v, sweep.voltage_v)
        np.testing.assert_allclose(curve.coefficients_a[:, :2], [[1, -0.3], [0.7, -0.5], [0.2, -0.2]], atol=1e-15)
    short = given([0.0, 0.1, 0.2], [1.0, 0.99, 0.98]).interpolate("linear").maximum_power()
    assert short.at_end and short.pmax_w == pytest.approx(0.196) and "end" in repr(short)


def test_the_exact_maximum_is_no_lower_than_any_place():
    sweep = noisy()
    for kind in KINDS:
        curve = sweep.interpolate(kind)
        fine = np.linspace(*curve.range_v, 20001)
        peak = curve.maximum_power()
        assert curve.power(fine).max() <= peak.pmax_w * (1 + 1e-14)
        assert curve.power(fine).max() == pytest.approx(peak.pmax_w, rel=1e-5)
        assert curve.power(peak.v_pmax_v) == pytest.approx(peak.pmax_w, rel=1e-12)


def test_results_have_the_shape_of_the_argument():
    curve = noisy().interpolate("smoothing")
    places = np.linspace(0, 0.5, 6).reshape(2, 3)
    for method in (curve.current, curve.slope, curve.power, curve.u_current, curve.u_slope):
        assert isinstance(method(0.2), float)
        assert method(places).shape == (2, 3)
        assert method([]).shape == (0,)
        assert method(places)[1, 2] == method(0.5)
    low, high = curve.band(places, with_bias=False)
    assert low.shape == high.shape == (2, 3) and np.all(low < high)
    wide_low, wide_high = curve.band(places)
    assert np.all(wide_high - wide_low > high - low)
    assert curve.voltage([[0.0], [0.01]]).shape == (2, 1)
    assert curve.voltage(curve.current(0.6)) == pytest.approx(0.6, rel=1e-12)


def test_several_voltages_are_given_or_refused():
    zigzag = given([0.0, 1.0, 2.0, 3.0], [1.0, 0.8, 1.0, 0.0]).interpolate("linear")
    np.testing.assert_allclose(zigzag.voltages(0.9), [0.5, 1.5, 2.1])
    with pytest.raises(ld.InputError, match=r"current_a\[1\] = 0.9 A is met at 3 voltages from 0.5 to 2.1 V; voltages"):
        zigzag.voltage([0.5, 0.9])
    np.testing.assert_allclose(given([0, 1, 2], [1, 1, 0]).interpolate("linear").voltages(1.0), [0.0, 1.0])


def test_the_stated_noise_chooses_and_weighs():
    sweep = noisy(points=60)
    smooth = sweep.interpolate("smoothing", penalty="stated_noise")
    assert smooth.penalty_chosen_by == "stated_noise" and smooth.noise_stated
    assert smooth.chi2 == pytest.approx(smooth.residual_dof, rel=1e-6)
    assert sweep.interpolate("smoothing").penalty_chosen_by == "cross_validation"
    np.testing.assert_allclose(smooth.points["weight"], (2e-4) ** -2, rtol=1e-12)
    low, high = smooth.band(sweep.voltage_v, 0.999)
    truth = np.asarray(CELL.current(sweep.voltage_v))
    assert np.mean((low < truth) & (truth < high)) > 0.95


def test_repeated_voltages_are_one_point():
    curve = given([0.0, 0.5, 0.5, 1.0], [1.0, 0.6, 0.4, 0.0]).interpolate("linear")
    assert curve.points["voltage_v"].tolist() == [0.0, 0.5, 1.0]
    assert curve.points["count"].tolist() == [1, 2, 1]
    assert curve.current(0.5) == pytest.approx(0.5, rel=1e-15)
    assert curve.effective_dof == 3


def test_the_shape_is_kept_and_tested():
    curve = noisy(points=40, sigma_a=5e-4).interpolate("shape_constrained")
    fine = np.linspace(*curve.range_v, 400)
    slopes = curve.slope(fine)
    assert np.all(slopes <= 1e-12) and np.all(np.diff(slopes) <= 1e-9)
    verdict = curve.shape_test()
    assert verdict.fits and 0.05 < verdict.p <= 1 and verdict == curve.shape_test()
    # An invented S-shaped curve: it bends upwards about 0.3 V.
    v = np.linspace(0, 0.6, 40)
    bent = 0.03 * (1 - v / 0.6) - 0.006 * np.sin(2 * np.pi * v / 0.6)
    verdict = (
        given(v, bent + np.random.default_rng(3).normal(0, 1e-4, 40)).interpolate("shape_constrained").shape_test()
    )
    assert not verdict.fits and verdict.p < 0.05 and verdict.chi2_shape > verdict.chi2_smooth
    assert "another shape" in repr(verdict)


def test_what_a_kind_does_not_have_is_none_or_refused():
    curve = noisy().interpolate("natural_cubic")
    assert (curve.penalty, curve.penalty_chosen_by, curve.residual_dof, curve.chi2, curve.scatter) == (None,) * 5
    for method in (curve.band, curve.u_current, curve.u_slope):
        with pytest.raises(ld.InputError, match=r'"natural_cubic" has no .* use sweep.interpolate\("smoothing"\)'):
            method(0.3)
    with pytest.raises(ld.InputError, match="has no row"):
        curve.shares(0.3)
    with pytest.raises(ld.InputError, match=r'imposes no shape to test; use sweep.interpolate\("shape_constrained"\)'):
        curve.shape_test()


@pytest.mark.parametrize(
    ("call", "text"),
    [
        (lambda s: s.interpolate("cubic"), r'kind = "cubic" is not known; pass "linear" or "monotone_cubic"'),
        (lambda s: s.interpolate("linear", penalty=1.0), r'penalty = 1.0 belongs to kind "smoothing"; leave it out'),
        (lambda s: s.interpolate("smoothing", penalty="gcv"), r'penalty = "gcv" is not known; pass "cross_validation"'),
        (lambda s: s.interpolate("smoothing", penalty=[1]), r"penalty = \[1\] is not known; pass"),
        (lambda s: s.interpolate("smoothing", penalty=-1.0), r"penalty\[0\] = -1 is not allowed; give a finite"),
        (lambda s: s.interpolate("smoothing", penalty=np.nan), r"penalty\[0\] = NaN is not allowed"),
        (lambda s: s.interpolate("smoothing", penalty="stated_noise"), "the sweep states none; pass its noise"),
        (
            lambda s: s.interpolate("linear").current([0.1, 9.0]),
            r"voltage_v\[1\] = 9 V lies outside the measured range",
        ),
        (lambda s: s.interpolate("linear").current([[0.1], [np.nan]]), r"voltage_v\[1\] = NaN is not a finite number"),
        (lambda s: s.interpolate("linear").current("a"), "voltage_v"),
        (lambda s: s.interpolate("linear").voltage(5.0), r"current_a\[0\] = 5 A is not reached: the curve runs from"),
        (lambda s: s.interpolate("linear").voltages(5.0), r"current_a\[0\] = 5 A is not reached"),
        (lambda s: s.interpolate("smoothing").band(0.1, 1.5), r"level\[0\] = 1.5 is not allowed; pass a probability"),
        (lambda s: s.interpolate("shape_constrained").shape_test(0.0), r"level\[0\] = 0 is not allowed"),
        (lambda s: s.interpolate("smoothing").shares(7.0), r"voltage_v\[0\] = 7 V lies outside"),
        (lambda _: ld.Interpolant.from_json("{}"), "text is no Interpolant in JSON"),
    ],
)
def test_bad_input_is_named_with_its_cure(call, text):
    with pytest.raises(ld.InputError, match=text):
        call(noisy(stated=False))


def test_a_smooth_without_freedom_says_that_it_has_no_band():
    smooth = given([0.0, 0.3, 0.6], [1.0, 0.9, 0.2]).interpolate("smoothing", penalty=0.0)
    assert smooth.scatter is None
    with pytest.raises(ld.InputError, match="no degrees of freedom for a ±; state the noise"):
        smooth.band(0.1)


@pytest.mark.parametrize("kind", KINDS)
def test_what_is_stored_comes_back_to_the_bit(kind):
    curve = noisy().interpolate(kind)
    for again in (pickle.loads(pickle.dumps(curve)), ld.Interpolant.from_json(curve.to_json())):
        assert again == curve and repr(again) == repr(curve) and again.sweep == curve.sweep
        np.testing.assert_array_equal(again.coefficients_a, curve.coefficients_a)
        assert (again.penalty, again.effective_dof, again.chi2) == (curve.penalty, curve.effective_dof, curve.chi2)
    assert curve != noisy(seed=6).interpolate(kind)
    peak = curve.maximum_power()
    assert pickle.loads(pickle.dumps(peak)) == peak


@pytest.mark.parametrize(("kind", "words"), [("linear", "linear, 30 points"), ("smoothing", "penalty")])
def test_an_interpolant_describes_itself(kind, words):
    assert words in repr(noisy().interpolate(kind))


def test_threads_share_a_curve():
    curve = noisy().interpolate("smoothing")
    places = np.linspace(0, 0.6, 1000)
    expected = curve.current(places)
    with ThreadPoolExecutor(4) as pool:
        for found in pool.map(lambda _: curve.current(places), range(16)):
            np.testing.assert_array_equal(found, expected)
