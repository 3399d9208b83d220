"""Numbers of cells: against another library, simulation of normal spread, and published tables."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import stats

import litdiode as ld
from litdiode.study.planning import equivalence_power_of, narrow_enough, power_of

RUNS = 40_000


def groups_of(rng, cells, shift=0.0):
    """Differences of means and pooled standard deviations of simulated pairs of groups."""
    a, b = rng.standard_normal((2, RUNS, cells))
    s = np.sqrt((a.var(axis=1, ddof=1) + b.var(axis=1, ddof=1)) / 2)
    return a.mean(axis=1) + shift - b.mean(axis=1), s, s * math.sqrt(2 / cells)


@pytest.mark.parametrize(("effect", "power", "alpha"), [(1.0, 0.8, 0.05), (1.7, 0.9, 0.01), (0.8, 0.95, 0.05)])
def test_the_power_of_a_difference_is_as_stated(effect, power, alpha):
    needed = ld.cells_needed(effect, power=power, alpha=alpha)
    gap, _, se = groups_of(np.random.default_rng(1), needed, effect)
    seen = np.mean(np.abs(gap / se) > stats.t.ppf(1 - alpha / 2, 2 * needed - 2))
    assert seen == pytest.approx(power_of(needed, effect, alpha), abs=0.01) and power - 0.01 < seen < power + 0.05
    outside = pytest.importorskip("statsmodels.stats.power").TTestIndPower()
    assert power_of(needed, effect, alpha) == pytest.approx(outside.power(effect, needed, alpha), abs=1e-6)


@pytest.mark.parametrize(("margin", "power", "alpha"), [(1.0, 0.8, 0.05), (2.0, 0.9, 0.05), (1.5, 0.8, 0.01)])
def test_the_power_of_an_equivalence_is_as_stated(margin, power, alpha):
    needed = ld.cells_for_equivalence(margin, power=power, alpha=alpha)
    gap, _, se = groups_of(np.random.default_rng(2), needed)
    critical = stats.t.ppf(1 - alpha, 2 * needed - 2)
    found = np.mean(np.abs(gap) + critical * se < margin)
    assert found == pytest.approx(equivalence_power_of(needed, margin, alpha), abs=0.01)
    assert equivalence_power_of(needed - 1, margin, alpha) < power <= found + 0.01


@pytest.mark.parametrize(("half_width", "power", "alpha"), [(1.0, 0.8, 0.05), (0.5, 0.9, 0.05), (2.0, 0.5, 0.01)])
def test_an_interval_is_as_narrow_as_planned(half_width, power, alpha):
    needed = ld.cells_for_width(half_width, power=power, alpha=alpha)
    _, _, se = groups_of(np.random.default_rng(3), needed)
    found = np.mean(stats.t.ppf(1 - alpha / 2, 2 * needed - 2) * se <= half_width)
    assert found == pytest.approx(narrow_enough(needed, half_width, alpha), abs=0.01)
    assert narrow_enough(needed - 1, half_width, alpha) < power <= found + 0.01


def test_many_cells_follow_the_normal_formula():
    """n = 2(z₁₋α + z₁₋β/₂)²/margin² of two equal means (D. J. Schuirmann 1987; from memory)."""
    z = stats.norm.ppf
    assert ld.cells_for_equivalence(0.1) == pytest.approx(2 * (z(0.95) + z(0.9)) ** 2 / 0.01, rel=2e-3)
    assert ld.cells_for_width(0.05, power=0.5) == pytest.approx(2 * (z(0.975) / 0.05) ** 2, rel=2e-3)


def test_the_equivalence_of_compare_has_the_power_that_was_planned():
    """The whole chain: a margin of 2 % of the mean is one standard deviation here."""
    rng, needed = np.random.default_rng(4), ld.cells_for_equivalence(2.0)
    runs = alike = 0
    for _ in range(400):
        a, b = (50 + 0.5 * rng.standard_normal(needed) for _ in "ab")
        groups = [ld.Group(n, [ld.Estimate(float(x)) for x in one]) for n, one in (("A", a), ("B", b))]
        alike += ld.compare(*groups, margin=0.02).p_equivalence < 0.05
        runs += 1
    # Welch's degrees of freedom are a little fewer than those of the plan.
    assert alike / runs == pytest.approx(equivalence_power_of(needed, 2.0, 0.05), abs=3 * math.sqrt(0.16 / runs) + 0.02)


def test_what_more_of_each_buys_is_what_it_gives():
    """Simulated cells with a measurement of known u: twice of each thing, and the spread of the means it leaves."""
    rng = np.random.default_rng(5)
    sd, u, n, runs = 0.002, 0.003, 8, 4000

    def spread(cells, repeats):
        values = (
            0.08 + sd * rng.standard_normal((runs, cells)) + u / math.sqrt(repeats) * rng.standard_normal((runs, cells))
        )
        return values.mean(axis=1).std()

    found = []
    for _ in range(300):
        values = 0.08 + sd * rng.standard_normal(n) + u * rng.standard_normal(n)
        found.append(ld.precision(ld.Group("A", [ld.Estimate(x, u) for x in values]).summary("efficiency")))
    for name, truth in (("now", spread(n, 1)), ("cells", spread(2 * n, 1)), ("repeats", spread(n, 2))):
        assert math.sqrt(np.mean([getattr(one, name) ** 2 for one in found])) == pytest.approx(truth, rel=0.06), name
    assert found[0].points == found[0].repeats


def test_what_all_cells_share_is_the_end_of_it():
    lamp = ld.Estimate(1.0, 0.05)
    cells = [ld.Estimate(x, 1e-5) * lamp for x in (0.0801, 0.0800, 0.0799, 0.0802)]
    found = ld.precision(ld.Group("A", cells).summary("efficiency"), times=100)
    assert found.cells == pytest.approx(0.004, rel=0.01) and "do not help" in found.sentence
    bare = ld.precision(ld.Group("A", [ld.Estimate(x) for x in (1.0, 2.0, 3.0)]).summary("ff"), times=4)
    assert bare.repeats is None and bare.cells == pytest.approx(bare.now / 2) and "the cells have no ±" in repr(bare)


def test_plans_that_cannot_be_made_are_refused():
    for call in (ld.cells_for_equivalence, ld.cells_for_width, ld.cells_needed):
        with pytest.raises(ld.InputError, match="must be above 0"):
            call(0.0)
        with pytest.raises(ld.InputError, match="power = 1"):
            call(1.0, power=1.0)
        with pytest.raises(ld.InputError, match="a million cells"):
            call(1e-4)
    with pytest.raises(ld.InputError, match="times = 1"):
        ld.precision(ld.Group("A", [ld.Estimate(1.0), ld.Estimate(2.0)]).summary("ff"), times=1)


@pytest.mark.parametrize("effect", [0.8, 1.5, 5.8, 50.0])
@pytest.mark.parametrize("alpha", [0.05, 0.01, 0.001])
@pytest.mark.parametrize("power", [0.8, 0.99])
def test_cells_needed_by_quadrature(effect, alpha, power):
    """Power of the t test by integrating the normal probability over the distribution of s."""

    def by_quadrature(n):
        dof = 2 * (n - 1)
        critical, shift = stats.t.ppf(1 - alpha / 2, dof), effect * math.sqrt(n / 2)
        s = np.sqrt(stats.chi2.ppf((np.arange(20_000) + 0.5) / 20_000, dof) / dof)
        return float(np.mean(stats.norm.sf(critical * s - shift) + stats.norm.cdf(-critical * s - shift)))

    n = ld.cells_needed(effect, power=power, alpha=alpha)
    assert by_quadrature(n) > power - 1e-3
    assert n == 2 or by_quadrature(n - 1) < power + 1e-3


def test_alpha_of_a_one_sided_test_is_below_a_half():
    with pytest.raises(ld.InputError, match="below 0"):
        ld.cells_for_equivalence(1.0, alpha=0.5)
