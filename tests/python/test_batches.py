"""Cells in batches: the components of variance, and verdicts that do not count the cells of one batch as replicates."""

from __future__ import annotations

import math
import os
import warnings

import numpy as np
import pytest
from scipy import stats

import litdiode as ld
from litdiode.study.batches import components

# Yields of dyestuff of six batches, O. L. Davies, Statistical Methods in Research and Production (1947), table 6.2.
DYESTUFF = [
    [1545, 1440, 1440, 1520, 1580],
    [1540, 1555, 1490, 1560, 1495],
    [1595, 1550, 1605, 1510, 1560],
    [1445, 1440, 1595, 1465, 1545],
    [1595, 1630, 1515, 1635, 1625],
    [1520, 1455, 1450, 1480, 1445],
]


def labels(batches, cells):
    return [f"batch {k}" for k in range(batches) for _ in range(cells)]


def test_the_dyestuff_to_the_printed_digits():
    """Its components are 1764.05 and 2451.25 (from memory, as many textbooks print them)."""
    between, within = components([y for batch in DYESTUFF for y in batch], labels(6, 5))
    assert between == pytest.approx(1764.05, abs=0.005) and within == pytest.approx(2451.25, abs=0.005)
    cells = [ld.Estimate(float(y)) for batch in DYESTUFF for y in batch]
    found = ld.Group("dyestuff", cells, batch=labels(6, 5)).summary("pmax")
    assert (round(found.sd_batches, 2), round(found.sd_cells, 2), found.batches) == (42.00, 49.51, 6)
    # The mean is 1527.5 with a standard error of 19.38 there.
    assert found.mean.value == 1527.5 and found.mean.u == pytest.approx(19.38, abs=0.005)
    assert found.mean.dof == pytest.approx(5, rel=1e-12)
    assert "in 6 batches" in repr(found) and "from batch to batch 42.00" in repr(found)


def test_the_components_are_those_of_a_mixed_model():
    frame = pytest.importorskip("pandas").DataFrame(
        {"y": [float(y) for batch in DYESTUFF for y in batch], "batch": labels(6, 5)}
    )
    mixed = pytest.importorskip("statsmodels.formula.api").mixedlm
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        outside = mixed("y ~ 1", frame, groups=frame["batch"]).fit(reml=True)
    between, within = components(list(frame["y"]), list(frame["batch"]))
    assert between == pytest.approx(float(outside.cov_re.iloc[0, 0]), rel=1e-3)
    assert within == pytest.approx(float(outside.scale), rel=1e-3)


def test_unequal_batches_have_unbiased_components():
    rng = np.random.default_rng(4)
    sizes = [2, 3, 5, 8]
    names = [f"b{k}" for k, n in enumerate(sizes) for _ in range(n)]
    found = []
    for _ in range(4000):
        y = np.repeat(2 * rng.standard_normal(4), sizes) + rng.standard_normal(sum(sizes))
        found.append(components(list(y), names))
    between, within = np.mean(found, axis=0)
    # Of 4,000 the standard errors are 0.07 and 0.006; cut at 0, the first lies a little higher.
    assert within == pytest.approx(1.0, abs=0.03) and between == pytest.approx(4.0, abs=0.25)


def made(rng, batches, cells, sd_batches, level=10.0):
    y = level + np.repeat(sd_batches * rng.standard_normal(batches), cells) + rng.standard_normal(batches * cells)
    return [ld.Estimate(float(x)) for x in y]


@pytest.mark.parametrize(("batches", "cells", "sd_batches"), [(2, 4, 1.0), (3, 5, 2.0), (5, 4, 1.0), (4, 3, 0.0)])
def test_batches_that_differ_make_no_verdict(batches, cells, sd_batches):
    """Equal recipes; `LITDIODE_STUDIES=4000` for the longer version. Cells taken for replicates err far more often."""
    runs = int(os.environ.get("LITDIODE_STUDIES", "300"))
    rng = np.random.default_rng(8)
    wrong = pooled = 0
    for _ in range(runs):
        a, b = (made(rng, batches, cells, sd_batches) for _ in "ab")
        groups = [ld.Group(name, one, batch=labels(batches, cells)) for name, one in (("A", a), ("B", b))]
        wrong += ld.compare(*groups).verdict == "different"
        pooled += stats.ttest_ind([x.value for x in a], [x.value for x in b], equal_var=False).pvalue < 0.05
    print(f"{batches} × {cells}, {sd_batches}: {100 * wrong / runs:.2f} %, as cells {100 * pooled / runs:.1f} %")
    assert wrong / runs < 0.057 + 2.5 * math.sqrt(0.05 * 0.95 / runs)
    assert sd_batches == 0 or pooled / runs > 0.15


def test_walds_test_of_a_mixed_model_errs_more_often():
    """Why the means of the batches are compared; `LITDIODE_STUDIES=400` shows how often both err."""
    pandas, mixed = pytest.importorskip("pandas"), pytest.importorskip("statsmodels.formula.api").mixedlm
    runs = int(os.environ.get("LITDIODE_STUDIES", "40"))
    rng = np.random.default_rng(1)
    wald = wrong = 0
    for _ in range(runs):
        cells = [made(rng, 3, 5, 2.0) for _ in "ab"]
        names = [f"{recipe} {name}" for recipe in "ab" for name in labels(3, 5)]
        frame = pandas.DataFrame({"y": [e.value for one in cells for e in one], "recipe": np.repeat([0, 1], 15)})
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            wald += mixed("y ~ recipe", frame, groups=names).fit(reml=True).pvalues["recipe"] < 0.05
        groups = [ld.Group(n, one, batch=labels(3, 5)) for n, one in zip("AB", cells, strict=True)]
        wrong += ld.compare(*groups).verdict == "different"
    print(f"Wald's test of a mixed model {100 * wald / runs:.1f} %, means of batches {100 * wrong / runs:.1f} %")
    assert wald > wrong


def test_a_real_difference_is_seen_and_the_units_are_said():
    rng = np.random.default_rng(9)
    a, b = (ld.Group(n, made(rng, 4, 5, 0.3, m), batch=labels(4, 5)) for n, m in (("A", 12.0), ("B", 10.0)))
    found = ld.compare(a, b)
    assert found.verdict == "different" and found.batches == (4, 4) and found.cells == (20, 20)
    means = [[np.mean([e.value for e in g.members[5 * k : 5 * k + 5]]) for k in range(4)] for g in (a, b)]
    outside = stats.ttest_ind(*means, equal_var=False)
    assert found.p_welch == pytest.approx(outside.pvalue, rel=1e-9)
    interval = outside.confidence_interval(0.95)
    assert (found.low, found.high) == pytest.approx((interval.low, interval.high), rel=1e-9)
    assert "20 cells in 4 batches" in repr(found)
    near = [ld.Group(n, made(rng, 3, 2, 1.0), batch=labels(3, 2)) for n in "CD"]
    assert "batches a recipe" in ld.compare(*near).sentence


def test_what_all_batches_share_is_not_in_the_difference():
    rng = np.random.default_rng(10)
    lamp = ld.Estimate(1.0, 0.2)
    plain = [[ld.Estimate(e.value, 0.1) for e in made(rng, 3, 3, 0.5)] for _ in "ab"]
    lit = [[e * lamp for e in one] for one in plain]
    with_lamp, without = (
        ld.compare(*[ld.Group(n, one, batch=labels(3, 3)) for n, one in zip("AB", both, strict=True)])
        for both in (lit, plain)
    )
    assert with_lamp.difference.u == pytest.approx(without.difference.u, rel=0.05)
    assert ld.Group("A", lit[0], batch=labels(3, 3)).summary("ff").u_common == pytest.approx(2.0, rel=0.1)


def test_batches_that_cannot_be_compared_are_refused():
    cells = [ld.Estimate(x) for x in (1.0, 2.0, 3.0)]
    with pytest.raises(ld.InputError, match="batch has 2 texts and members 3 cells"):
        ld.Group("A", cells, batch=["a", "b"])
    with pytest.raises(TypeError, match=r"batch\[1\] = 2"):
        ld.Group("A", cells, batch=["a", 2, "b"])
    others = [ld.Estimate(x) for x in (1.0, 2.0, 3.0)]
    one, two = ld.Group("A", cells, batch=["a"] * 3), ld.Group("B", others, batch=["a", "a", "b"])
    with pytest.raises(ld.InputError, match="A: all cells with ff are of one batch"):
        ld.compare(one, two, "ff")
    with pytest.raises(ld.InputError, match="of one batch"):
        one.summary("ff")
    with pytest.raises(ld.InputError, match="'C' names no batch"):
        ld.compare(two, ld.Group("C", cells), "ff")
    with pytest.raises(ld.InputError, match="pass one of cells"):
        ld.precision(two.summary("ff"))
