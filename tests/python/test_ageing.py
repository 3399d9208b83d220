"""Decays of known truth: how often the interval of the time to 80 % holds, and what the parts of an ageing say.

`LITDIODE_DECAYS=1500 pytest -s tests/python/test_ageing.py -k holds` makes the table of docs/ageing.md.
"""

from __future__ import annotations

import math
import os

import numpy as np
import pytest
from scipy import optimize, stats

import litdiode as ld
from litdiode.study.decay_fit import best
from litdiode.study.decay_models import MODELS, Points

DECAYS = int(os.environ.get("LITDIODE_DECAYS", "20"))
_K = -math.log(0.8)


def three_phases(x):
    return 0.06 * np.exp(-20 * x) + 0.1 * np.exp(-2 * x) + 0.84 * np.exp(-0.02 * x)


def scaled(f):
    """The decay f with its time in parts of that at which it comes to 0.8."""
    end = optimize.brentq(lambda x: float(f(np.array(x))) - 0.8, 1e-6, 100)
    return lambda x: f(np.asarray(x) * end)


# f(0) = 1 and f(1) = 0.8. The first seven shaped the method; those kept aside were run once, at the end.
KINDS = {
    "linear": lambda x: 1 - 0.2 * x,
    "exponential": lambda x: np.exp(-_K * x),
    "two-phase": scaled(lambda x: 0.1 * np.exp(-8 * x) + 0.9 * np.exp(-0.12 * x)),
    "stretched, β = 0.6": lambda x: np.exp(-_K * x**0.6),
    "hyperbolic": lambda x: 1 / (1 + 0.25 * x),
    "quadratic": lambda x: 1 - 0.1 * x - 0.1 * x**2,
    "light soaking": scaled(lambda x: np.exp(-0.2 * x) + 0.04 * (1 - np.exp(-8 * x))),
}
ASIDE = {
    "power law": scaled(lambda x: (1 + 5 * x) ** -0.3),
    "three phases": scaled(three_phases),
    "logarithmic": scaled(lambda x: 1 - 0.06 * np.log1p(9 * x)),
    "accelerating, cos": scaled(lambda x: np.cos(0.4 * x)),
}


# Where a large part of the loss comes before the second reading, the initial value rests on the first reading alone,
# and the interval holds less often: found by a kind that was kept aside, and left as it was found.
LEAST = {"logarithmic": 82.0}


def design(rng):
    """Times, noise and reach of one invented measurement: 10 to 40 readings, 0.3 to 2 %, 1.2 to 2.5 times T."""
    n, reach = int(rng.integers(10, 41)), rng.uniform(1.2, 2.5)
    even = np.linspace(0, reach, n)
    early = np.concatenate([[0.0], np.geomspace(0.02, 1, n - 1) * reach])
    return (even if rng.random() < 0.7 else early), float(np.exp(rng.uniform(math.log(0.003), math.log(0.02))))


def held(f, rng, runs, stated):
    """Shares in percent of the runs: the interval holds, lies above, lies below, is open."""
    above = below = opened = 0
    for _ in range(runs):
        t, noise = design(rng)
        y = f(t) + noise * rng.standard_normal(len(t))
        found = ld.ageing(100 * t, [ld.Estimate(v, noise) for v in y] if stated else y)
        assert found.low_h <= found.time_to_share_h <= found.high_h
        above += found.low_h > 100
        below += found.high_h < 100
        opened += found.high_h == math.inf
    return [100 * x / runs for x in (runs - above - below, above, below, opened)]


CASES = [(kind, False) for kind in KINDS | ASIDE] + [("exponential", True), ("two-phase", True), ("quadratic", True)]


@pytest.mark.parametrize(("kind", "stated"), CASES, ids=[f"{k}-{'stated' if s else 'found'}" for k, s in CASES])
def test_the_interval_of_the_time_holds_as_often_as_stated(kind, stated):
    """95 % of the decays that reach 80 %, to within 2 % and the chance of so many runs."""
    names = list(KINDS | ASIDE)
    rng = np.random.default_rng([2026, names.index(kind), stated])
    holds, above, below, opened = held((KINDS | ASIDE)[kind], rng, DECAYS, stated)
    row = f"| {kind} | {'stated' if stated else 'found'} | {holds:.1f} | {above:.1f} | {below:.1f} | {opened:.1f} |"
    print(row, flush=True)
    chance = 350 * math.sqrt(0.95 * 0.05 / DECAYS)
    assert LEAST.get(kind, 93.0) - chance < holds < 97 + chance, row


TIMES = np.linspace(5, 105, 26)
# Shapes without noise: model, parameters in 1/h or pure, and T of 0.8.
EXACT = [
    ("linear", {"rate": 0.004}, 50.0),
    ("quadratic", {"first_rate": -0.001, "last_rate": 0.008}, None),
    ("exponential", {"rate": 0.004}, _K / 0.004),
    ("order m", {"rate": 0.004, "order": 2.0}, 0.25 / 0.004),
    ("stretched", {"rate": 0.004, "exponent": 0.7}, _K ** (1 / 0.7) / 0.004),
    ("two-phase", {"fast_share": 0.15, "fast_rate": 0.1, "slow_rate": 0.002}, None),
]


def decay(model, p, t):
    """The models as the page states them."""
    p = list(p.values())
    return {
        "linear": lambda: 1 - p[0] * t,
        "quadratic": lambda: 1 - p[0] * t - (p[1] - p[0]) * t**2 / 200,
        "exponential": lambda: np.exp(-p[0] * t),
        "order m": lambda: 1 / (1 + p[0] * t),
        "stretched": lambda: np.exp(-((p[0] * t) ** p[1])),
        "two-phase": lambda: p[0] * np.exp(-p[1] * t) + (1 - p[0]) * np.exp(-p[2] * t),
    }[model]()


@pytest.mark.parametrize(("model", "truth", "t80"), EXACT)
def test_a_decay_without_noise_gives_its_parameters_back(model, truth, t80):
    found = ld.ageing(TIMES, 0.18 * decay(model, truth, TIMES - 5))
    assert found.model == model and found.initial.value == pytest.approx(0.18, rel=1e-6)
    for name, value in truth.items():
        assert found.parameters[name].value == pytest.approx(value, rel=2e-4), name
    if t80 is None:
        t80 = optimize.brentq(lambda t: decay(model, truth, t) - 0.8, 1, 100)
    assert found.time_to_share_h == pytest.approx(t80, rel=1e-5)
    assert found.low_h <= found.time_to_share_h <= found.high_h < 1.01 * t80
    assert found.curve(TIMES) == pytest.approx(0.18 * decay(model, truth, TIMES - 5), rel=1e-6)


@pytest.mark.parametrize("model", MODELS[1:], ids=lambda m: m.name)
def test_each_model_begins_at_one_and_comes_to_the_share_at_its_time(model):
    for q in {0: [[]], 1: [[-0.7], [0.0], [0.6]], 2: [[2.0, 0.2], [2.0, 0.7], [3.0, 1.0]]}[
        len(model.box(1.2, 0.05, 0.8)[0])
    ]:
        s, q = 1.2, np.array(q)
        f = model.shape(np.array(s), q, np.array([0.0, 1 / s]), 0.8)
        assert f == pytest.approx([1.0, 0.8], abs=1e-6)
        p, t = model.natural(s, q, 0.8), np.linspace(0.01, 1, 7)
        rows = model.slopes(p, t)
        assert rows[0] == pytest.approx(model.shape(np.array(s), q, t, 0.8), abs=1e-5)
        for k, value in enumerate(p):
            h = 1e-5 * max(abs(value), 0.1)
            up, down = (model.slopes([*p[:k], value + sign * h, *p[k + 1 :]], t)[0] for sign in (1, -1))
            assert rows[k + 1] == pytest.approx((up - down) / (2 * h), abs=3e-5), (model.name, k)


def noisy(seed=3, noise=0.01, t80=60.0):
    rng = np.random.default_rng(seed)
    return 0.1 * np.exp(-_K * (TIMES - 5) / t80) * (1 + noise * rng.standard_normal(len(TIMES)))


def test_the_uncertainties_are_those_of_scipy():
    y = noisy()
    found = ld.ageing(TIMES, y)
    assert found.model == "exponential"
    p, c = optimize.curve_fit(lambda t, a, k: a * np.exp(-k * (t - 5)), TIMES, y, p0=(0.1, 0.004))
    rate = found.parameters["rate"]
    assert (found.initial.value, rate.value) == pytest.approx(tuple(p), rel=1e-5) and rate.dof == 24
    assert rate.u == pytest.approx(math.sqrt(c[1, 1]), rel=1e-3)
    assert math.sqrt(found.covariance[0][0]) == pytest.approx(math.sqrt(c[0, 0]), rel=1e-3)
    # Other models leave the initial value more open than the best one alone.
    assert found.initial.u > math.sqrt(c[0, 0])
    low, high = found.band([5.0, 60.0])
    assert (high - low)[0] / 2 == pytest.approx(stats.t.ppf(0.975, 24) * math.sqrt(c[0, 0]), rel=1e-3)
    rest = y - found.curve(TIMES)
    assert found.scatter == pytest.approx(math.sqrt(rest @ rest / 24), rel=1e-6)


def test_the_evidence_is_that_of_the_definition():
    """AICc = n·ln(SSE/n) + 2K + 2K(K + 1)/(n − K − 1), K with the variance; SSE of the straight line by NumPy."""
    y, n = noisy(), len(TIMES)
    found = {c.model: c for c in ld.ageing(TIMES, y).candidates}
    sums = {"constant": ((y - y.mean()) ** 2).sum(), "linear": np.polyfit(TIMES, y, 1, full=True)[1][0]}
    aicc = {
        name: n * math.log(sse / n) + 2 * k + 2 * k * (k + 1) / (n - k - 1)
        for (name, sse), k in zip(sums.items(), (2, 3), strict=True)
    }
    difference = found["constant"].criterion - found["linear"].criterion
    assert difference == pytest.approx(aicc["constant"] - aicc["linear"], abs=1e-5)
    assert sum(c.weight for c in found.values()) == pytest.approx(1.0)
    ratio = found["linear"].weight / found["exponential"].weight
    assert ratio == pytest.approx(math.exp(-0.5 * found["linear"].criterion), rel=1e-6)


@pytest.mark.parametrize("name", ["stretched", "two-phase"])
def test_the_profile_is_that_of_another_search(name):
    """The least sum of squares with f(T) held at 0.8, by differential evolution in other parameters."""
    rng = np.random.default_rng(8)
    t = np.linspace(0, 1, 25)
    y = 0.1 * np.exp(-9 * t) + 0.9 * np.exp(-0.15 * t) + 0.01 * rng.standard_normal(25)
    points, model = Points(t, y, np.ones(25)), next(m for m in MODELS if m.name == name)

    def rest(f):
        return float(((y - f * (y @ f) / (f @ f)) ** 2).sum())

    def other(x, end):
        if name == "stretched":
            return rest(np.exp(-_K * (t / end) ** math.exp(x[0])))
        left = 0.8 - x[0] * math.exp(-x[1] * end)
        if not 0 < left <= 1 - x[0]:
            return 1e3
        return rest(x[0] * np.exp(-x[1] * t) + (1 - x[0]) * np.exp(math.log(left / (1 - x[0])) / end * t))

    limits = [(math.log(0.3), math.log(5))] if name == "stretched" else [(0, 0.9), (0.01, 72)]
    for end in (0.5, 0.7, 0.9):
        sse = best(model, points, 0.8, 1 / end)[2]
        outside = optimize.differential_evolution(other, limits, args=(end,), rng=1, tol=1e-10, popsize=30).fun
        assert sse == pytest.approx(outside, rel=1e-4)


def test_what_all_readings_share_is_in_the_initial_value_alone():
    y, lamp = noisy(noise=0.004), ld.Estimate(1.0, 0.05)
    own = [ld.Estimate(v, 0.0005) for v in y]
    bare, lit = ld.ageing(TIMES, own), ld.ageing(TIMES, [one * lamp for one in own])
    assert (lit.low_h, lit.high_h) == pytest.approx((bare.low_h, bare.high_h), rel=1e-3)
    assert lit.parameters["rate"].u == pytest.approx(bare.parameters["rate"].u, rel=1e-6)
    assert lit.initial.u == pytest.approx(math.hypot(bare.initial.u, 0.05 * bare.initial.value), rel=1e-3)


def test_the_stated_scatter_serves_unless_the_readings_show_more():
    y = noisy(noise=0.004)
    wide, narrow = (ld.ageing(TIMES, [ld.Estimate(v, u) for v in y]) for u in (0.0008, 0.00005))
    assert wide.dof == math.inf and wide.high_h - wide.low_h > ld.ageing(TIMES, y).high_h - ld.ageing(TIMES, y).low_h
    assert narrow.dof == 24 and "times as much as their ± say" in narrow.remarks[0]
    assert narrow.low_h == pytest.approx(ld.ageing(TIMES, y).low_h, rel=1e-3)


def test_what_the_readings_do_not_reach_is_open():
    above = ld.ageing(TIMES, noisy(t80=400.0))
    assert above.time_to_share_h == above.high_h == math.inf and above.low_h == 100
    assert "80 % of its initial value is not reached: above 100 h (95 %)" in above.sentence
    assert "does not come to 80 % before the last reading" in above.reason
    near = ld.ageing(TIMES, noisy(t80=98.0, noise=0.02))
    assert near.high_h == math.inf and near.low_h < 98 and near.reason
    steady = ld.ageing(TIMES, [0.1] * len(TIMES))
    assert steady.model == "constant" and steady.low_h == 100 and not steady.remarks
    rising = ld.ageing(TIMES, 0.1 + 1e-4 * TIMES)
    assert rising.time_to_share_h == math.inf and rising.curve([105.0])[0] == pytest.approx(0.1105, rel=1e-3)


def test_a_drift_makes_the_interval_wider_and_is_said():
    """A rig whose readings wander: first-order autoregressive noise of ρ = 0.8."""
    rng = np.random.default_rng(12)
    runs, held_, said = 60, 0, 0
    for _ in range(runs):
        wander = np.zeros(40)
        for k in range(1, 40):
            wander[k] = 0.8 * wander[k - 1] + 0.005 * rng.standard_normal()
        t = np.linspace(0, 180, 40)
        found = ld.ageing(t, np.exp(-_K * t / 100) + wander)
        held_ += found.low_h <= 100 <= found.high_h
        said += any("neighbouring residuals are alike" in r for r in found.remarks)
    assert said > 0.6 * runs and held_ > 0.75 * runs


def test_sweeps_age():
    rng = np.random.default_rng(2)
    hours = [0, 10, 20, 30, 40, 50, 60, 70, 80, 90]
    v = np.linspace(-0.05, 0.75, 25)
    sweeps = []
    for t in hours:
        cell = ld.SingleDiode(iph_a=0.020 * math.exp(-_K * t / 60), i0_a=1e-10, n=1.6, rs_ohm=1.0, rsh_ohm=2000)
        sweeps.append(ld.Sweep(v, cell.current(v) + 2e-5 * rng.standard_normal(25), sign="generator", leads="as_given"))
    found = ld.ageing(hours, sweeps, "isc", label="cell 1")
    assert found.unit == "A" and found.low_h < 60 < found.high_h and found.sentence.startswith("isc of cell 1 falls")
    # A sweep that stops short has no figure, and is left out with its reason.
    short = ld.Sweep(v[8:], np.asarray(sweeps[4].current_a)[8:], sign="generator", leads="as_given")
    fewer = ld.ageing(hours, [*sweeps[:4], short, *sweeps[5:]], "isc")
    assert len(fewer.time_h) == 9 and fewer.remarks[0].startswith("reading 4: no isc: ")


def test_what_makes_no_decay_is_refused():
    y = list(noisy())
    with pytest.raises(ld.InputError, match="5 different times have efficiency, and a decay needs 6"):
        ld.ageing([0, 1, 2, 3, 4], y[:5])
    with pytest.raises(ld.InputError, match=r"time_h\[2\] = 1.0 lies before"):
        ld.ageing([0, 2, 1, 3, 4, 5], y[:6])
    with pytest.raises(ld.InputError, match="figures has 3 entries and time_h 6"):
        ld.ageing(range(6), y[:3])
    with pytest.raises(ld.InputError, match=r"figures\[1\]"):
        ld.ageing(range(6), [1.0, math.nan, 1.0, 1.0, 1.0, 1.0])
    with pytest.raises(ld.InputError, match="initial value is -1"):
        ld.ageing(range(6), [-1.0] * 6)
    with pytest.raises(ld.InputError, match=r"share = 1.5 must be from 0.05 to 0.99"):
        ld.ageing(range(6), y[:6], share=1.5)
    with pytest.raises(ld.InputError, match="one unit"):
        ld.ageing(range(6), [ld.Estimate(1.0, unit=u) for u in ("A", "A", "A", "V", "A", "A")])
    with pytest.raises(ld.InputError, match="before the first reading"):
        ld.ageing(TIMES, y).curve([0.0])


def test_a_decay_is_drawn_with_its_interval_and_others_beside_it():
    matplotlib = pytest.importorskip("matplotlib")
    matplotlib.use("Agg")
    from matplotlib import pyplot

    found = ld.ageing(TIMES, noisy(), label="cell 1")
    ax = found.plot()
    assert ld.ageing(TIMES, noisy(seed=4, t80=300.0), label="cell 2").plot(ax) is ax
    ax.figure.canvas.draw()
    readings, labels = ax.get_legend_handles_labels()
    assert [label.split(":")[0] for label in labels] == ["cell 1", "cell 2"] and "80 % not before 100 h" in labels[1]
    assert len({one.get_color() for one in readings}) == len({one.get_marker() for one in readings}) == 2
    assert list(readings[0].get_ydata()) == pytest.approx(list(100 * np.array(found.values) / 100))
    bar = next(line for line in ax.lines if len(line.get_xdata()) == 2)
    assert list(bar.get_xdata()) == [5 + found.low_h, 5 + found.high_h]
    # The legend stands above the axes, where no reading can lie.
    assert ax.get_legend().get_window_extent().y0 >= ax.get_window_extent().y1
    pyplot.close("all")
