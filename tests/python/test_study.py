"""Groups of cells and their comparison, against published examples, full enumeration and simulation."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
from scipy import integrate, stats

import litdiode as ld
from litdiode.study import comparison
from litdiode.study.planning import power_of

CELL = ld.SingleDiode(iph_a=0.020, i0_a=1e-10, n=1.6, rs_ohm=1.0, rsh_ohm=2000)  # invented


def group(label, values):
    return ld.Group(label, [ld.Estimate(float(x)) for x in values])


def test_welch_of_the_nist_handbook():
    """NIST/SEMATECH handbook 1.3.5.3: n 249 and 79, Welch's t −12.94627 with 136.875 degrees of freedom."""
    means, sds, n = (20.14458, 30.48101), (6.41470, 6.10771), (249, 79)
    se, dof = comparison._welch((n[0], sds[0] ** 2), (n[1], sds[1] ** 2))
    assert (means[0] - means[1]) / se == pytest.approx(-12.94627, abs=5e-5)
    assert dof == pytest.approx(136.875, abs=5e-3)


@pytest.mark.parametrize(("effect", "cells"), [(0.5, 64), (0.8, 26), (1.0, 17), (1.5, 9), (2.0, 6)])
def test_cells_of_the_sample_size_table(effect, cells):
    """Two-sided 0.05, power 0.80 (J. Cohen, Statistical Power Analysis (1988), table 2.4.1)."""
    assert ld.cells_needed(effect) == cells
    assert power_of(cells, effect, 0.05) >= 0.8 > power_of(cells - 1, effect, 0.05)


def test_hedges_correction_is_exact():
    """E(d) = δ/J(ν), by integrating over the standard deviation: √(ν/2)·Γ((ν − 1)/2)/Γ(ν/2) is the mean of √(ν/χ²)."""
    for dof in (3, 8, 20):
        mean, _ = integrate.quad(lambda x, dof=dof: math.sqrt(dof / x) * stats.chi2.pdf(x, dof), 0, np.inf)
        assert comparison.correction_of(dof) * mean == pytest.approx(1.0, rel=1e-7)


def test_the_permutation_counts_all_252_arrangements():
    a, b = [8.1, 7.8, 8.3, 8.0, 7.9], [7.4, 7.85, 7.3, 7.6, 8.05]
    values, seen = np.array(a + b), abs(np.mean(a) - np.mean(b))
    count = beyond = 0
    for chosen in itertools.combinations(range(10), 5):
        rest = [k for k in range(10) if k not in chosen]
        count += 1
        beyond += abs(values[list(chosen)].mean() - values[rest].mean()) >= seen - 1e-12
    found = ld.compare(group("A", a), group("B", b))
    assert count == 252 and found.p_exact == pytest.approx(beyond / 252, rel=1e-12)
    assert found.p_welch == pytest.approx(stats.ttest_ind(a, b, equal_var=False).pvalue, rel=1e-10)
    assert found.p_rank == pytest.approx(stats.mannwhitneyu(a, b, method="exact").pvalue, rel=1e-10)
    many = ld.compare(
        group("A", np.tile(a, 4) + np.arange(20) * 1e-3), group("B", np.tile(b, 4) + np.arange(20) * 1e-3)
    )
    reference = stats.permutation_test(
        (np.tile(a, 4) + np.arange(20) * 1e-3, np.tile(b, 4) + np.arange(20) * 1e-3),
        lambda x, y, axis: np.abs(x.mean(axis=axis) - y.mean(axis=axis)),
        n_resamples=20_000,
        alternative="greater",
        vectorized=True,
        rng=1,
    )
    assert many.p_exact == pytest.approx(reference.pvalue, abs=5 * math.sqrt(1e-4 / 20_000) + 3e-4)


def test_verdicts_say_what_the_data_tell():
    a = group("recipe A", [0.081, 0.078, 0.083, 0.080, 0.079])
    b = group("recipe B", [0.074, 0.077, 0.073, 0.076, 0.075])
    found = ld.compare(a, b)
    assert found.verdict == "different" and found.sentence.startswith(
        "efficiency of recipe A is higher than of recipe B"
    )
    assert found.low > 0 and found.ratio.value == pytest.approx(0.0802 / 0.075)
    near = group("recipe C", [0.0801, 0.0799, 0.0803, 0.0800, 0.0802])
    same = group("recipe D", [0.0802, 0.0800, 0.0801, 0.0803, 0.0799])
    alike = ld.compare(near, same, margin=0.02)
    assert alike.verdict == "equivalent" and alike.p_equivalence < 0.05
    open_ = ld.compare(a, group("recipe E", [0.084, 0.074, 0.081, 0.076, 0.079]), margin=0.01)
    assert open_.verdict == "undecided" and "about 17 cells" in open_.sentence and open_.cells_needed == 17
    assert "undecided" in repr(open_) and str(open_) == open_.sentence
    turned = ld.compare(b, a)
    assert turned.difference.value == -found.difference.value and turned.hedges_g == -found.hedges_g
    assert "recipe A is higher" in turned.sentence


def test_hedges_g_by_its_formula_and_its_interval():
    a, b = [8.1, 7.8, 8.3, 8.0, 7.9], [7.4, 7.85, 7.3, 7.6, 8.05]
    found = ld.compare(group("A", a), group("B", b))
    pooled = math.sqrt((np.var(a, ddof=1) + np.var(b, ddof=1)) / 2)
    d = (np.mean(a) - np.mean(b)) / pooled
    assert found.hedges_g == pytest.approx(comparison.correction_of(8) * d, rel=1e-12)
    for end, p in ((found.g_low, 0.975), (found.g_high, 0.025)):
        delta = end / comparison.correction_of(8) * math.sqrt(2.5)
        assert stats.nct.cdf(d * math.sqrt(2.5), 8, delta) == pytest.approx(p, abs=1e-7)


def test_the_spread_is_split():
    rng = np.random.default_rng(3)
    lamp = ld.Estimate(1.0, 0.05, name="lamp of the split")
    values = 0.08 + 0.002 * rng.standard_normal(400)
    cells = [ld.Estimate(x + 0.001 * z, 0.001) * lamp for x, z in zip(values, rng.standard_normal(400), strict=True)]
    found = ld.Group("many", cells[:40]).summary("efficiency")
    assert found.u_common == pytest.approx(0.05 * found.mean.value, rel=0.02)
    assert found.sd_measured == pytest.approx(0.001, rel=0.02)
    assert found.sd_cells == pytest.approx(math.sqrt(found.sd**2 - 0.001**2), rel=0.02)
    assert found.mean.u == pytest.approx(math.hypot(found.sd / math.sqrt(40), found.u_common), rel=1e-9)
    assert found.outliers == ()


def test_an_outlier_is_named_and_kept():
    found = group("A", [8.1, 7.8, 8.3, 8.0, 7.9, 8.1, 4.0]).summary("ff")
    [(place, value, why)] = found.outliers
    assert (place, value) == (6, 4.0) and "limit" in why and found.n == 7 and "cell 6" in repr(found)
    # Of 7 values at 1 %, two-sided, 2.139 (F. E. Grubbs, Technometrics 11 (1969) 1, table 1, from memory).
    assert "2.14" in why


def sweeps(rng, iph, count, lamp_error, lamp):
    made = []
    for _ in range(count):
        shift = 1 + 0.03 * rng.standard_normal()
        cell = ld.SingleDiode(iph_a=iph * shift * lamp_error, i0_a=1e-10, n=1.6, rs_ohm=1.0, rsh_ohm=2000)
        v = np.linspace(-0.05, 0.85, 20)
        i = cell.current(v) + 2e-5 * rng.standard_normal(20)
        made.append(
            ld.Sweep(v, i, area_cm2=ld.Estimate(1.0, 0.0), irradiance_w_m2=lamp, sign="generator", leads="as_given")
        )
    return made


@pytest.mark.parametrize("lamp_u", [0.0, 0.05])
def test_equal_recipes_are_called_different_as_often_as_stated(lamp_u):
    """Five cells a recipe, simulated sweeps; `LITDIODE_STUDIES=4000` for the longer version (5 ± 0.7 %)."""
    import os

    runs = int(os.environ.get("LITDIODE_STUDIES", "200"))
    rng = np.random.default_rng(2024)
    wrong = 0
    for _ in range(runs):
        lamp = ld.Estimate(1000.0, 1000.0 * lamp_u)
        error = 1 + lamp_u * rng.standard_normal()
        a, b = (ld.Group(name, sweeps(rng, 0.020, 5, error, lamp)) for name in "AB")
        wrong += ld.compare(a, b, "efficiency").verdict == "different"
    share = 100 * wrong / runs
    print(f"lamp {lamp_u}: {share:.2f} % of {runs}")
    assert abs(share - 5) < 0.7 + 300 * math.sqrt(0.05 * 0.95 / runs)


def test_a_lamp_of_both_groups_does_not_blur_the_difference():
    rng = np.random.default_rng(7)
    lamp = ld.Estimate(1000.0, 50.0)
    a, b = (ld.Group(n, sweeps(rng, i, 5, 1.0, lamp)) for n, i in (("A", 0.022), ("B", 0.018)))
    found = ld.compare(a, b)
    assert found.verdict == "different" and found.difference.u < 0.1 * a.summary("efficiency").mean.value
    apart = [ld.Group(n, sweeps(rng, i, 5, 1.0, ld.Estimate(1000.0, 50.0))) for n, i in (("A", 0.022), ("B", 0.018))]
    assert ld.compare(*apart).difference.u > 1.5 * found.difference.u


def test_what_cannot_be_compared_is_refused():
    a, one = group("A", [1.0, 2.0]), group("B", [1.0])
    with pytest.raises(ld.InputError, match="B: 1 cells have"):
        ld.compare(a, one, "ff")
    with pytest.raises(ld.InputError, match="no cell differs"):
        ld.compare(group("A", [1.0, 1.0]), group("B", [2.0, 2.0]))
    with pytest.raises(ld.InputError, match="empty"):
        ld.Group("none", [])
    with pytest.raises(ld.InputError, match="margin"):
        ld.compare(a, a, margin=5)
    with pytest.raises(ld.InputError, match="effect"):
        ld.cells_needed(0.0)
    short = ld.Sweep([0.1, 0.2, 0.3, 0.4, 0.5], [0.03, 0.03, 0.029, 0.02, 0.0])
    shorter = ld.Sweep([0.1, 0.2, 0.3, 0.4, 0.5], [0.031, 0.03, 0.029, 0.02, 0.0])
    with pytest.raises(ld.InputError, match="sweep begins at"):
        ld.Group("short", [short, shorter]).summary("isc")
    with pytest.raises(ld.InputError, match="figure"):
        ld.Group("short", [short]).figures("shape")


@pytest.mark.parametrize(
    ("a", "b", "p"),
    [((1, 1, 1, 2), (2, 3, 3, 3), 4 / 70), ((1, 1, 2, 2), (2, 3, 3, 4), 6 / 70), ((1, 1, 2), (3, 4, 5), 0.1)],
)
def test_the_rank_test_is_exact_with_ties(a, b, p):
    """By enumeration of the arrangements of the middle ranks."""
    found = ld.compare(*(ld.Group(n, [ld.Estimate(float(x)) for x in v]) for n, v in (("A", a), ("B", b))))
    assert found.p_rank == pytest.approx(p, rel=1e-12)
