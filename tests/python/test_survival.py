"""Lifetimes of groups of cells, against published examples, another library, enumeration and simulation."""

from __future__ import annotations

import itertools
import math
import os

import numpy as np
import pytest
from scipy import stats

import litdiode as ld
from litdiode.study.survival import log_rank_scores

# Weeks of remission of E. J. Freireich et al., Blood 21 (1963) 699, as D. G. Kleinbaum, M. Klein, Survival Analysis,
# chapter 2, print them (from memory).
TREATED = [6, 6, 6, 6, 7, 9, 10, 10, 11, 13, 16, 17, 19, 20, 22, 23, 25, 32, 32, 34, 35]
ENDED = [k in (0, 1, 2, 4, 6, 9, 10, 14, 15) for k in range(21)]
PLACEBO = [1, 1, 2, 2, 3, 4, 4, 5, 5, 8, 8, 8, 8, 11, 11, 12, 12, 15, 17, 22, 23]


def test_the_remissions_to_the_printed_digits():
    treated = ld.survival(TREATED, ENDED, label="treated")
    assert treated.steps_h == (6, 7, 10, 13, 16, 22, 23) and treated.at_risk == (21, 17, 15, 12, 11, 7, 6)
    assert [round(s, 3) for s in treated.share] == [0.857, 0.807, 0.753, 0.690, 0.627, 0.538, 0.448]
    placebo = ld.survival(PLACEBO, [True] * 21, label="placebo")
    assert [round(s, 2) for s in placebo.share[:5]] == [0.90, 0.81, 0.76, 0.67, 0.57]
    assert (treated.median_h, placebo.median_h) == (23, 8)
    # The log-log interval of the medians there: 13 to none, and 4 to 11.
    assert (treated.median_low_h, treated.median_high_h) == (13, math.inf)
    assert (placebo.median_low_h, placebo.median_high_h) == (4, 11)
    found = ld.compare_survival(treated, placebo)
    assert round(found.chi2, 2) == 16.79 and found.verdict == "different"
    assert "treated last longer" in str(found) and found.p_exact < 1e-3


def test_the_band_is_that_of_scipy():
    found = ld.survival(TREATED, ENDED)
    ended = [t for t, e in zip(TREATED, ENDED, strict=True) if e]
    seen = [t for t, e in zip(TREATED, ENDED, strict=True) if not e]
    band = stats.ecdf(stats.CensoredData(uncensored=ended, right=seen)).sf.confidence_interval(0.95, method="log-log")
    assert found.low == pytest.approx(band.low.evaluate(np.array(found.steps_h)), rel=1e-9)
    assert found.high == pytest.approx(band.high.evaluate(np.array(found.steps_h)), rel=1e-9)
    assert ld.survival(PLACEBO, [True] * 21).low[-1] is None


def test_the_log_rank_is_that_of_scipy_and_the_permutation_counts_all_arrangements():
    a, b = ([5.0, 8, 8, 12, 20], [True, True, False, True, False]), ([2.0, 3, 5, 6, 9], [True, True, True, False, True])
    found = ld.compare_survival(ld.survival(*a, label="a"), ld.survival(*b, label="b"))
    samples = [
        stats.CensoredData(
            uncensored=[x for x, e in zip(t, f, strict=True) if e],
            right=[x for x, e in zip(t, f, strict=True) if not e],
        )
        for t, f in (a, b)
    ]
    outside = stats.logrank(*samples)
    assert found.chi2 == pytest.approx(outside.statistic**2, rel=1e-9)
    assert found.p_logrank == pytest.approx(outside.pvalue, rel=1e-9)

    times, events = np.array(a[0] + b[0]), np.array(a[1] + b[1])

    def expected(chosen):
        """Failures less those expected of the chosen, from the table of each time."""
        total = 0.0
        for t in np.unique(times[events]):
            risk = times >= t
            dead = events & (times == t)
            total += dead[chosen].sum() - dead.sum() * risk[chosen].sum() / risk.sum()
        return total

    assert log_rank_scores(times, events.astype(int))[:5].sum() == pytest.approx(expected(list(range(5))), abs=1e-12)
    sums = [abs(expected(list(c))) for c in itertools.combinations(range(10), 5)]
    assert found.p_exact == pytest.approx(np.mean(np.array(sums) >= abs(expected(list(range(5)))) - 1e-12), rel=1e-12)


@pytest.mark.parametrize(("cells", "end_h"), [(6, math.inf), (10, 130.0), (25, 110.0)])
def test_the_interval_of_the_median_holds(cells, end_h):
    """Lognormal lifetimes of median 100 h, watched until `end_h`; `LITDIODE_STUDIES=4000` for the longer version."""
    runs = int(os.environ.get("LITDIODE_STUDIES", "300"))
    rng = np.random.default_rng(5)
    missed = 0
    for _ in range(runs):
        t = 100 * np.exp(0.4 * rng.standard_normal(cells))
        found = ld.survival(np.minimum(t, end_h), [bool(x <= end_h) for x in t])
        missed += not found.median_low_h <= 100 <= found.median_high_h
    print(f"{cells} cells until {end_h} h: {100 * (1 - missed / runs):.1f} % of {runs}")
    assert missed / runs < 0.055 + 3 * math.sqrt(0.05 * 0.95 / runs)


def test_equal_lifetimes_are_called_different_as_often_as_stated():
    runs = int(os.environ.get("LITDIODE_STUDIES", "300"))
    rng = np.random.default_rng(6)
    wrong = eager = 0
    for _ in range(runs):
        t = 100 * np.exp(0.4 * rng.standard_normal((2, 5)))
        a, b = (ld.survival(np.minimum(x, 120), [bool(y <= 120) for y in x]) for x in t)
        found = ld.compare_survival(a, b)
        wrong += found.verdict == "different"
        eager += found.p_logrank < 0.05
    print(f"permutation {100 * wrong / runs:.1f} %, log-rank {100 * eager / runs:.1f} % of {runs}")
    assert wrong / runs < 0.05 + 3 * math.sqrt(0.05 * 0.95 / runs)


def test_the_median_is_when_half_have_failed():
    assert ld.survival([10, 20, 30, 40, 50, 60, 70, 80], [True] * 8).median_h == 40
    assert ld.survival([10, 20, 30, 40, 50, 60, 70], [True] * 7).median_h == 40


def test_few_cells_bound_no_median():
    """Five outlast their median with 1/32 > 2.5 %, six with 1/64."""
    five = ld.survival([10, 20, 30, 40, 50], [True] * 5)
    assert (five.median_h, five.median_low_h, five.median_high_h) == (30, 0.0, math.inf)
    assert "takes 6 cells" in five.sentence
    none = ld.survival([10, 20, 30, 40, 50, 60, 70], [False] * 7, label="seven")
    assert none.median_h == math.inf and none.median_low_h == 20 and "above 20 h" in str(none)
    assert ld.survival([10, 20, 30], [False] * 3).median_low_h == 0.0


def test_ageings_fail_when_their_curve_comes_to_the_share():
    t = np.linspace(0, 100, 15)
    cells = [ld.ageing(t, 0.1 * np.exp(-k * t)) for k in (0.004, 0.003, 0.001)]
    found = ld.survival(cells)
    assert found.failed == (True, True, False) and found.time_h[2] == 100
    assert found.time_h[:2] == pytest.approx([-math.log(0.8) / k for k in (0.004, 0.003)], rel=1e-4)


def test_what_makes_no_lifetime_is_refused():
    with pytest.raises(ld.InputError, match=r"time_h\[1\] = 0.0 must be above 0 h"):
        ld.survival([1.0, 0.0], [True, True])
    with pytest.raises(ld.InputError, match="failed has 1 entries and time_h 2"):
        ld.survival([1.0, 2.0], [True])
    with pytest.raises(ld.InputError, match=r"failed\[0\] = 1 is neither"):
        ld.survival([1.0, 2.0], [1, 0])
    with pytest.raises(ld.InputError, match="failed is missing"):
        ld.survival([1.0, 2.0])
    with pytest.raises(ld.InputError, match="no cell failed"):
        ld.compare_survival(*[ld.survival([1.0, 2.0], [False, False])] * 2)


def test_the_steps_are_drawn_side_by_side():
    matplotlib = pytest.importorskip("matplotlib")
    matplotlib.use("Agg")
    from matplotlib import pyplot

    first = ld.survival(TREATED, ENDED, label="treated")
    ax = first.plot()
    second = ld.survival(PLACEBO, [True] * 21, label="placebo").plot(ax)
    assert second is ax
    lines = ax.get_legend_handles_labels()[0]
    assert len({line.get_color() for line in lines}) == len({line.get_linestyle() for line in lines}) == 2
    x, y = lines[0].get_data()
    assert list(x[1:-1]) == list(first.steps_h) and list(y[1:-1]) == list(first.share)
    pyplot.close("all")
