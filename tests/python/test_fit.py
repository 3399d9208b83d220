"""Fits as a notebook uses them: many at once, resampled, banded, carried on with correlations."""

import itertools
import json
import pickle
import signal
import threading
import time
from collections.abc import Iterator

import numpy as np
import pytest
from scipy import stats

import litdiode as ld

CELL = ld.SingleDiode(iph_a=0.035, i0_a=1e-9, n=1.4, rs_ohm=0.8, rsh_ohm=900.0)
NOISE = ld.Noise(current_a=4e-5)


def measured(seed: int, points: int = 25, **options: object) -> ld.Sweep:
    """An invented sweep with known truth: current noise of 40 µA."""
    voltage_v = np.linspace(-0.05, 0.66, points)
    scatter = np.random.default_rng(seed).normal(0, 4e-5, points)
    return ld.Sweep(voltage_v, CELL.current(voltage_v) + scatter, **{"noise": NOISE, **options})


def test_trace_tells_every_step_and_why_it_stopped():
    fit = ld.fit_single_diode(measured(1))
    first, last = fit.trace[0], fit.trace[-1]
    assert first["iteration"] == 0 and first["stopped"] is None
    assert last["stopped"] == fit.stopped
    assert last["parameters"]["n"] == pytest.approx(fit.parameters["n"].value)
    assert last["norm"] ** 2 == pytest.approx(fit.chi2)
    norms = [step["norm"] for step in fit.trace]
    assert all(a >= b * (1 - 1e-12) for a, b in itertools.pairwise(norms))


def test_band_holds_the_curve_and_agrees_with_draws():
    fit = ld.fit_single_diode(measured(2))
    voltage_v = np.linspace(0, 0.6, 13)
    low, high = fit.band(voltage_v)
    assert np.all(low < fit.model.current(voltage_v)) and np.all(fit.model.current(voltage_v) < high)
    # The spread of curves through independent draws of the parameters, with NumPy.
    names, mean = fit.names, [fit.parameters[n].value for n in fit.names]
    random = np.random.default_rng(3)
    i = names.index("i0")
    jacobian = np.eye(5)
    jacobian[i, i] = 1 / mean[i]
    logs = np.array(mean)
    logs[i] = np.log(mean[i])
    # A tenth of the standard deviations, so that the curve is straight in the parameters.
    draws = random.multivariate_normal(logs, 0.01 * jacobian @ fit.covariance @ jacobian, 4000)
    draws[:, i] = np.exp(draws[:, i])
    curves = [
        ld.SingleDiode(iph_a=p[0], i0_a=p[1], n=p[2], rs_ohm=abs(p[3]), rsh_ohm=p[4]).current(voltage_v) for p in draws
    ]
    spread = np.std(curves, axis=0)
    assert (high - low) / 2 == pytest.approx(19.6 * spread, rel=0.08)


def test_intervals_by_every_method():
    fit = ld.fit_single_diode(measured(4))
    for name in ("n", "rs", "rsh", "voc", "ff", "pmax"):
        linear, profile = (fit.interval(name, method=m) for m in ("linear", "profile"))
        width = linear.high - linear.low
        assert profile.low == pytest.approx(linear.low, abs=0.2 * width)
        assert profile.high == pytest.approx(linear.high, abs=0.2 * width)
    with pytest.raises(ld.InputError, match="method"):
        fit.interval("n", method="bayes")
    with pytest.raises(ld.InputError, match="not a figure"):
        fit.interval("colour")


def test_parameters_are_attributes_as_well():
    sweep = measured(4)
    one, two = ld.fit_single_diode(sweep), ld.fit_double_diode(sweep)
    for fit, missing in ((one, ("i01", "n1", "i02", "n2")), (two, ("i0", "n"))):
        assert all(getattr(fit, name) == estimate for name, estimate in fit.parameters.items())
        assert not any(hasattr(fit, name) for name in missing)
        with pytest.raises(AttributeError, match=f"no {missing[0]}; its parameters are iph, i0"):
            getattr(fit, missing[0])
    with pytest.raises(ld.InputError, match=r'fix: "rshunt" is no parameter.*use one of iph, i0, n, rs, rsh'):
        ld.fit_single_diode(sweep, fix={"rshunt": 1.0})
    with pytest.raises(ld.InputError, match=r'fix: "n1" is no parameter.*use one of iph, i0, n, rs, rsh'):
        ld.fit_single_diode(sweep, fix={"n1": 1.0})


def test_ufloats_keep_their_correlations():
    from uncertainties import correlation_matrix

    fit = ld.fit_single_diode(measured(5))
    values = fit.ufloats()
    matrix = np.array(correlation_matrix([values[n] for n in fit.names]))
    assert matrix == pytest.approx(fit.correlation, abs=1e-6)
    # FF made of its parts has the uncertainty of FF, which independent parts would not give.
    made = values["pmax"] / (values["isc"] * values["voc"])
    assert made.std_dev == pytest.approx(fit.key_points().ff.u, rel=1e-6)


@pytest.mark.parametrize("scatter", ["parametric", "residual"])
def test_resample_spreads_like_the_covariance(scatter):
    fit = ld.fit_single_diode(measured(6, points=60))
    draws = fit.resample(2000, seed=7, scatter=scatter)
    assert len(draws) + draws.failed == 2000 and draws.failed < 20
    for name in ("n", "rs"):
        assert np.std(draws.column(name)) == pytest.approx(fit.parameters[name].u, rel=0.15)
    points = fit.key_points()
    for name in ("isc", "voc", "pmax", "ff"):
        assert np.std(draws.column(name)) == pytest.approx(getattr(points, name).u, rel=0.15)
    again = fit.resample(2000, seed=7, scatter=scatter, threads=1)
    assert np.array_equal(draws.values, again.values)
    assert pickle.loads(pickle.dumps(draws)) == draws
    interval = draws.interval("n")
    assert interval.low == pytest.approx(np.quantile(draws.column("n"), 0.025))


def test_a_second_diode_that_is_not_there_is_said_so():
    fit = ld.fit_double_diode(measured(8))
    assert fit.status == "not_identified"
    assert not fit.support["holds"] and fit.support["aicc_difference"] > 0
    assert any("do not support a second diode" in note for note in fit.notes)
    # A second diode that is there: currents over many decades.
    voltage_v = np.linspace(0.05, 0.7, 40)
    model = ld.DoubleDiode(iph_a=0.0, i01_a=1e-12, n1=1.0, i02_a=1e-8, n2=2.0, rs_ohm=0.5, rsh_ohm=1e6)
    noise = ld.Noise(current_rel=0.01, current_a=1e-10)
    current = model.current(voltage_v)
    scatter = np.random.default_rng(9).normal(0, 1, 40) * np.hypot(0.01 * current, 1e-10)
    dark = ld.Sweep(voltage_v, current + scatter, sign="generator", leads="as_given", noise=noise)
    fit = ld.fit_double_diode(dark, fix={"iph": 0.0})
    assert fit.support["holds"] and fit.support["p"] < 1e-6


def test_dark_curve_over_six_decades():
    """Relative noise of 2 %: weights from the readings would bias the fit, even weights would lose all but the top."""
    model = ld.SingleDiode(iph_a=0.0, i0_a=1e-9, n=1.6, rs_ohm=2.0, rsh_ohm=5e6)
    voltage_v = np.linspace(0.02, 0.75, 36)
    current = model.current(voltage_v)
    assert current.min() / current.max() > 1e6 or abs(current[-1] / current[0]) > 1e6
    noise = ld.Noise(current_rel=0.02, current_a=1e-11)
    random = np.random.default_rng(10)
    inside = np.zeros(4)
    for _ in range(60):
        scatter = random.normal(0, 1, 36) * np.hypot(0.02 * current, 1e-11)
        sweep = ld.Sweep(voltage_v, current + scatter, sign="generator", leads="as_given", noise=noise)
        fit = ld.fit_single_diode(sweep, fix={"iph": 0.0})
        assert fit.status == "converged", fit.notes
        for k, (name, truth) in enumerate({"i0": 1e-9, "n": 1.6, "rs": 2.0, "rsh": 5e6}.items()):
            interval = fit.interval(name)
            inside[k] += interval.low <= truth <= interval.high
    # 95 % of 60 is 57; fewer than 51 has a probability below 0.001.
    assert np.all(inside >= 51), inside


def test_noise_alone_is_no_fit():
    """Readings without a cell: no status may claim that something was found."""
    voltage_v = np.linspace(-0.1, 0.7, 25)
    for seed in range(60):
        current = np.random.default_rng(seed).normal(0, 1e-6, 25)
        for noise in (None, ld.Noise(current_a=1e-6)):
            sweep = ld.Sweep(voltage_v, current, sign="generator", leads="as_given", noise=noise)
            fit = ld.fit_single_diode(sweep)
            assert fit.status == "not_identified", fit
    assert any("do not differ from noise" in note for note in fit.notes)


def test_wrong_model_and_wrong_noise_are_said():
    voltage_v = np.linspace(-0.1, 0.6, 40)
    s_shape = 0.03 / (1 + np.exp((voltage_v - 0.35) / 0.05)) - 0.01 * (voltage_v > 0.5) * (voltage_v - 0.5)
    fit = ld.fit_single_diode(ld.Sweep(voltage_v, s_shape, sign="generator", leads="as_given"))
    assert any("runs" in note for note in fit.notes)
    too_small = ld.fit_single_diode(measured(11, noise=ld.Noise(current_a=1e-5)))
    assert any("times as much as stated" in note for note in too_small.notes)
    rescaled = ld.fit_single_diode(measured(11, noise=ld.Noise(current_a=1e-5)), noise_scale="from_scatter")
    plain = ld.fit_single_diode(measured(11, noise=None))
    assert rescaled.parameters["n"].u == pytest.approx(plain.parameters["n"].u, rel=1e-6)
    assert rescaled.parameters["n"].dof == 20


def test_repeated_readings_weigh_themselves():
    """200 draws of 8 repeats: the noise found is that of the mean, floor and proportional part."""
    voltage_v = np.linspace(-0.05, 0.66, 25)
    truth = CELL.current(voltage_v)
    random = np.random.default_rng(12)
    floors, rels = [], []
    for _ in range(200):
        scatter = random.normal(0, 1, (8, 25)) * np.hypot(2e-5, 0.004 * truth)
        sweep = ld.Sweep.from_repeats(np.tile(voltage_v, (8, 1)), truth + scatter, noise=ld.Noise(current_gain_u=0.01))
        floors.append(sweep.noise.current_a)
        rels.append(sweep.noise.current_rel)
    assert np.mean(floors) == pytest.approx(2e-5 / np.sqrt(8), rel=0.1)
    assert np.mean(rels) == pytest.approx(0.004 / np.sqrt(8), rel=0.02)
    assert sweep.noise.current_gain_u == 0.01 and sweep.noise.voltage_v == 0
    assert sweep.current_a == pytest.approx((truth + scatter).mean(axis=0))
    with pytest.raises(ld.InputError, match="at least 2, one a repetition"):
        ld.Sweep.from_repeats([voltage_v], [truth])


def test_closed_forms():
    points = CELL.key_points()
    given = {
        "isc_a": float(points.isc),
        "voc_v": float(points.voc),
        "v_pmax_v": float(points.v_pmax),
        "i_pmax_a": float(points.i_pmax),
    }
    exact = ld.from_key_points(**given, n=1.4)
    assert exact.trustworthy
    assert exact.model.rs_ohm == pytest.approx(0.8, rel=1e-6)
    rs0, rsh0 = -1 / CELL.slope([float(points.voc), 0.0])
    slopes = ld.from_end_slopes(**given, rs0_ohm=rs0, rsh0_ohm=rsh0)
    assert slopes.model.n == pytest.approx(1.4, rel=0.01)
    with pytest.raises(ld.InputError, match="n = 4"):
        ld.from_key_points(**given, n=4.0)


def test_many_sweeps_a_status_a_row():
    sweeps = [measured(k) for k in range(6)]
    fits = ld.fit_many(sweeps, threads=2)
    assert fits.status == ["converged"] * 6
    assert fits[3] == ld.fit_single_diode(sweeps[3])
    columns = fits.columns()
    assert columns["n"] == pytest.approx([f.parameters["n"].value for f in fits])
    assert columns["ff_u"][2] == pytest.approx(fits[2].key_points().ff.u)
    frame = fits.frame()
    assert list(frame.columns[:2]) == ["status", "error"] and len(frame) == 6
    assert pickle.loads(pickle.dumps(fits)) == fits
    assert "6 converged" in repr(fits)


def test_many_rows_of_arrays_ragged_and_bad():
    voltage_v = np.linspace(-0.05, 0.66, 25)
    current = np.array([measured(k).current_a for k in range(4)])
    same = ld.fit_many(voltage_v, current, noise=NOISE)
    assert same[1] == ld.fit_single_diode(measured(1))
    ragged = [current[0], current[1][:20], np.append(current[2], np.nan), current[3]]
    voltages = [voltage_v, voltage_v[:20], np.append(voltage_v, np.nan), voltage_v]
    ragged[3] = ragged[3].copy()
    ragged[3][4] = np.inf
    fits = ld.fit_many(voltages, ragged, noise=NOISE)
    assert fits.status[3] == "error" and "current_a[4] = inf" in fits.errors[3]
    assert fits[0] == same[0] and fits[2] == same[2]
    assert len(fits[1].residuals) == 20
    assert np.isnan(fits.columns()["n"][3])
    with pytest.raises(ld.InputError, match="sweeps\\[0\\]"):
        ld.fit_many([1, 2])


def test_progress_is_told_and_ctrl_c_stops():
    sweeps = [measured(k) for k in range(40)]
    told: list[int] = []
    ld.fit_many(sweeps, progress=told.append)
    assert told[-1] == 40
    ld.fit_many(sweeps[:2], progress=True)
    with pytest.raises(ZeroDivisionError):
        ld.fit_many(sweeps, progress=lambda done: 1 / 0)

    def interrupt() -> None:
        time.sleep(0.3)
        signal.raise_signal(signal.SIGINT)

    many = sweeps * 5000
    start = time.monotonic()
    thread = threading.Thread(target=interrupt)
    # A process in the background of a shell starts with this signal ignored.
    before = signal.signal(signal.SIGINT, signal.default_int_handler)
    try:
        thread.start()
        with pytest.raises(KeyboardInterrupt):
            ld.fit_many(many, threads=1)
        thread.join()
    finally:
        signal.signal(signal.SIGINT, before)
    assert time.monotonic() - start < 20


def test_chance_of_the_size_test():
    """χ² of the stated noise follows its distribution: 300 sweeps, Kolmogorov–Smirnov by SciPy."""
    fits = ld.fit_many([measured(k) for k in range(300)])
    chi2 = fits.columns()["chi2"]
    assert stats.kstest(chi2, stats.chi2(20).cdf).pvalue > 1e-3


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda fit: fit.resample(10, seed=-1), "seed = -1"),
        (lambda fit: fit.resample(0), "draws = 0"),
        (lambda fit: fit.resample(10, threads=0), "threads = 0"),
        (lambda fit: fit.band([0.1, float("nan")]), "voltage_v\\[1\\]"),
        (lambda fit: ld.fit_many(fit.sweep.voltage_v, fit.sweep.current_a), "single row"),
        (lambda fit: ld.fit_many([fit.sweep], diodes=3), "diodes = 3"),
        (lambda fit: ld.fit_single_diode(fit.sweep, noise_scale="x"), "noise_scale"),
        (lambda fit: ld.Sweep.from_repeats([[0, 1, 2], [0, 1]], [[1, 1, 0], [1, 1, 0]]), "voltage_v\\[1\\] has 2"),
    ],
)
def test_bad_requests_are_named(call, words):
    with pytest.raises(ld.InputError, match=words):
        call(ld.fit_single_diode(measured(13)))


def test_support_of_a_second_diode_by_hand():
    """Λ and AICc from the χ² of two fits; the single fits are bounded as either diode is."""
    sweep = measured(8)
    both = ld.fit_double_diode(sweep)
    alone = ld.fit_single_diode(sweep, bounds={"n": (1.0, 2.0)})
    ratio = alone.chi2 - both.chi2
    assert both.support["likelihood_ratio"] == pytest.approx(ratio, rel=1e-6, abs=1e-9)
    assert both.support["p"] == pytest.approx(stats.chi2(2).sf(ratio), rel=1e-6)

    def aicc(chi2: float, k: int) -> float:
        return chi2 + 2 * k + 2 * k * (k + 1) / (25 - k - 1)

    assert both.support["aicc_difference"] == pytest.approx(aicc(both.chi2, 7) - aicc(alone.chi2, 5), rel=1e-6)


def test_profile_is_the_linear_interval_where_the_problem_is_straight():
    """A hundredth of the noise: the ends agree to 2 % of the width, which another level or factor would not."""
    voltage_v = np.linspace(-0.05, 0.66, 25)
    scatter = np.random.default_rng(14).normal(0, 4e-7, 25)
    for noise in (ld.Noise(current_a=4e-7), None):
        fit = ld.fit_single_diode(ld.Sweep(voltage_v, CELL.current(voltage_v) + scatter, noise=noise))
        for name in ("iph", "i0", "n", "rs", "rsh", "isc", "voc", "pmax", "ff", "v_pmax"):
            linear, profile = (fit.interval(name, method=m) for m in ("linear", "profile"))
            width = linear.high - linear.low
            assert profile.low == pytest.approx(linear.low, abs=0.02 * width), name
            assert profile.high == pytest.approx(linear.high, abs=0.02 * width), name


def test_common_errors_and_area_widen_the_profile():
    """In quadrature: 1 % of gain moves Iph and Isc by 1 %; 2 % of area and 3 % of light stand in η."""
    half = {}
    for gain in (0.0, 0.01):
        noise = ld.Noise(current_a=4e-5, current_gain_u=gain)
        fit = ld.fit_single_diode(measured(15, noise=noise))
        for name, value in (("iph", fit.parameters["iph"].value), ("isc", float(fit.key_points().isc))):
            interval = fit.interval(name, method="profile")
            half[name, gain] = 0.5 * (interval.high - interval.low) / value
    for name in ("iph", "isc"):
        assert half[name, 0.01] == pytest.approx(np.hypot(half[name, 0.0], 1.96 * 0.01), rel=0.01)
    area, light = ld.Estimate(4.0, 0.08, unit="cm²"), ld.Estimate(1000.0, 30.0, unit="W/m²")
    fit = ld.fit_single_diode(measured(15, area_cm2=area, irradiance_w_m2=light))
    power, share = (fit.interval(name, method="profile") for name in ("pmax", "efficiency"))
    eta = fit.key_points().efficiency.value
    own = 0.5 * (power.high - power.low) / float(fit.key_points().pmax)
    assert 0.5 * (share.high - share.low) / eta == pytest.approx(np.hypot(own, 1.96 * np.hypot(0.02, 0.03)), rel=0.01)


def test_residuals_of_both_axes_are_drawn_along_their_own_direction():
    """Errors in both axes: residual draws spread as the covariance says."""
    voltage_v = np.linspace(-0.05, 0.66, 60)
    random = np.random.default_rng(16)
    noise = ld.Noise(current_a=3e-5, voltage_v=5e-4)
    true_v = voltage_v + random.normal(0, 5e-4, 60)
    sweep = ld.Sweep(true_v, CELL.current(voltage_v) + random.normal(0, 3e-5, 60), noise=noise)
    fit = ld.fit_single_diode(sweep)
    assert fit.residual == "nearest"
    scale = np.sqrt(fit.chi2 / fit.dof)
    draws = fit.resample(1500, seed=17, scatter="residual")
    for name in ("n", "rs", "iph"):
        assert np.std(draws.column(name)) == pytest.approx(scale * fit.parameters[name].u, rel=0.15), name


def test_key_points_of_many_sweeps_are_those_of_each():
    sweeps = [measured(seed) for seed in range(12)]
    one, two = ld.key_points_many(sweeps, threads=1), ld.key_points_many(sweeps, threads=2)
    assert one == two and len(one) == 12
    for sweep, row in zip(sweeps, one, strict=True):
        assert row == sweep.key_points()
    columns = one.columns()
    assert columns["pmax"][3] == sweeps[3].key_points().pmax.value
    assert columns["ff_u"][5] == sweeps[5].key_points().ff.u
    voltage_v = sweeps[0].voltage_v
    currents = [s.current_a for s in sweeps[:3]] + [[0.03, float("inf")] + [0.0] * 23]
    rows = ld.key_points_many(voltage_v, currents, noise=NOISE)
    assert rows[2] == one[2] and "current_a[1]" in rows.errors[3]
    assert np.isnan(rows.columns()["voc"][3]) and list(rows.frame()["error"] != "") == [False] * 3 + [True]
    assert pickle.loads(pickle.dumps(rows)) == rows and "3 of 4" in repr(rows) and "<table" in rows._repr_html_()
    told: list[int] = []
    ld.key_points_many(sweeps, progress=told.append)
    assert told[-1] == 12


@pytest.mark.parametrize("draws", [-1, 0, 10**13, 2**62])
def test_a_number_of_draws_that_nothing_holds_is_named(draws: int) -> None:
    """No panic, no end of the process: neither a negative number nor one beyond all memory reaches an allocation."""
    model = ld.SingleDiode(iph_a=0.03, i0_a=2e-9, n=1.4, rs_ohm=1.0, rsh_ohm=800.0)
    voltage_v, current_a = model.curve(30)
    fit = ld.fit_single_diode(ld.Sweep(voltage_v, current_a + 1e-5 * np.sin(37.0 * np.arange(30))))
    with pytest.raises(ld.InputError, match=rf"draws = {draws} .*1 to 10 million"):
        fit.resample(draws)


@pytest.mark.parametrize("points", [-1, 1, 2**62])
def test_a_number_of_points_of_a_curve_is_named(points: int) -> None:
    model = ld.SingleDiode(iph_a=0.03, i0_a=2e-9, n=1.4, rs_ohm=1.0, rsh_ohm=800.0)
    with pytest.raises(ld.InputError, match=rf"points = {points} .*2 to 10 million"):
        model.curve(points)


def test_rows_of_a_batch_are_a_sequence():
    """Indices, slices, steps and membership as of a list; rows compare and pickle by value; errors keep places."""
    current = np.array([measured(k).current_a for k in range(5)])
    current[3, 2] = np.nan
    current[4, 20:] = np.nan
    voltage_v = measured(0).voltage_v
    for rows in (ld.key_points_many(voltage_v, current, noise=NOISE), ld.fit_many(voltage_v, current, noise=NOISE)):
        listed = list(rows)
        assert len(rows) == 5 and list(rows.errors) == [3] and "current_a[2] = NaN" in rows.errors[3]
        assert listed[-1] == rows[-1] == rows[4] == rows[np.int64(4)] and listed[1] in rows
        assert list(rows[::-2]) == listed[::-2] and list(rows[1:4].errors) == [2] and len(rows[5:]) == 0
        assert type(rows)(listed) == rows and rows[:4] != rows and rows != listed
        assert pickle.loads(pickle.dumps(rows[2:])) == rows[2:]
        for bad in (5, -6):
            with pytest.raises(IndexError):
                rows[bad]
        columns = rows.columns()
        assert [len(column) for column in columns.values()] == [5] * len(columns)
        assert np.isnan(columns["pmax"][3]) and columns["error"][3] == rows.errors[3] and columns["error"][0] == ""


def test_arrays_give_what_their_sweeps_give():
    """A table of floats, of integers, without order in memory, as lists, and the sweeps themselves: the same rows."""
    sweeps = [measured(k) for k in range(6)]
    voltage_v, current = sweeps[0].voltage_v, np.array([s.current_a for s in sweeps])
    one = ld.key_points_many(sweeps)
    tables = (current, np.asfortranarray(current), current.tolist(), list(current), np.ma.masked_invalid(current))
    for table in tables:
        for voltages in (voltage_v, voltage_v.tolist(), np.tile(voltage_v, (6, 1))):
            assert ld.key_points_many(voltages, table, noise=NOISE) == one
    whole = np.round(current * 1e6).astype(np.int64)
    assert ld.key_points_many(voltage_v, whole) == ld.key_points_many(voltage_v, whole.astype(float))
    masked = np.ma.array(current, mask=current > 0.0301)
    assert "current_a[0] = NaN" in ld.key_points_many(voltage_v, masked, noise=NOISE).errors[0]
    short = ld.key_points_many(voltage_v[:-1], current, noise=NOISE)
    assert len(short.errors) == 6 and "24" in short.errors[0] and "25" in short.errors[0]
    wrong = ld.key_points_many(voltage_v, current, sign="up")
    assert len(wrong.errors) == 6 and "sign" in wrong.errors[0]
    with pytest.raises(TypeError, match="colour"):
        ld.key_points_many(voltage_v, current, colour="red")
    assert len(ld.key_points_many(voltage_v, [])) == 0


def test_a_batch_in_load_sign_warns_once():
    sweeps = [measured(k) for k in range(4)]
    current = -np.array([s.current_a for s in sweeps])
    with pytest.warns(ld.LitdiodeWarning, match="load sign") as caught:
        rows = ld.key_points_many(sweeps[0].voltage_v, current, noise=NOISE)
    assert len(caught) == 1 and rows == ld.key_points_many(sweeps)


def test_diodes_in_the_wrong_order_are_named() -> None:
    sweep = measured(1)
    with pytest.raises(ld.InputError, match="n1 is above n2"):
        ld.fit_double_diode(sweep, fix={"n1": 2.0, "n2": 1.0})
    with pytest.raises(ld.InputError, match="n1 is above n2"):
        ld.fit_double_diode(sweep, bounds={"n1": (1.8, 2.0), "n2": (1.0, 1.5)})


def test_a_level_of_a_resample_is_a_probability() -> None:
    draws = ld.fit_single_diode(measured(1)).resample(draws=20, threads=1)
    with pytest.raises(ld.InputError, match="level = 2"):
        draws.interval("rs", level=2)


def shortened(whole: object) -> Iterator[object]:
    """Copies of JSON data with one list somewhere in it one entry shorter."""
    if isinstance(whole, dict):
        for key, part in whole.items():
            for less in shortened(part):
                yield {**whole, key: less}
    elif isinstance(whole, list) and whole:
        yield whole[:-1]
        for k, part in enumerate(whole):
            for less in shortened(part):
                yield [*whole[:k], less, *whole[k + 1 :]]


@pytest.mark.parametrize("fit", [ld.fit_single_diode(measured(2)), ld.fit_double_diode(measured(2), fix={"n1": 1.0})])
def test_damaged_json_is_an_input_error_or_harmless(fit: ld.Fit) -> None:
    refused = 0
    for less in shortened(json.loads(fit.to_json())):
        try:
            again = ld.Fit.from_json(json.dumps(less))
        except ld.InputError:
            refused += 1
            continue
        used = [again.correlation, again.covariance, again.trace, again.interval("iph", method="linear")]
        used += [again.key_points(), again.band([0.0, 0.5]), again.resample(draws=2, threads=1)]
        assert repr(again) and len(used) == 7
    assert refused >= 14
