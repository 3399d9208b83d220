"""Several groups: Holm's correction, intervals that hold together, and the chance of one wrong verdict among all."""

from __future__ import annotations

import math
import os

import numpy as np
import pytest

import litdiode as ld
from litdiode.study.several import holm

MADE = {"A": (8.1, 7.8, 8.3, 8.0), "B": (7.4, 7.7, 7.3, 7.6), "C": (7.5, 7.6, 7.4, 7.7), "D": (7.9, 7.7, 7.8, 7.5)}


def groups(made):
    return [ld.Group(label, [ld.Estimate(float(x)) for x in values]) for label, values in made.items()]


def test_the_common_example_of_the_correction():
    """p of 0.01, 0.04, 0.03, 0.005: the second 0.03·2 = 0.06 carries the last (S. Holm 1979; example from memory)."""
    assert holm([0.01, 0.04, 0.03, 0.005]) == pytest.approx([0.03, 0.06, 0.06, 0.02], rel=1e-12)


def test_pairs_are_those_of_compare_corrected_by_the_definition():
    found = ld.compare_all(groups(MADE), "efficiency")
    by_label = {group.label: group for group in groups(MADE)}
    assert len(found.pairs) == 6 and found.labels == tuple(MADE)
    p = [pair.comparison.p_welch for pair in found.pairs]
    order, largest = sorted(range(6), key=p.__getitem__), 0.0
    for rank, k in enumerate(order):
        largest = max(largest, min(1.0, (6 - rank) * p[k]))
        pair = found.pairs[k]
        assert pair.p_adjusted == pytest.approx(largest, rel=1e-12)
        assert pair.verdict == ("different" if largest < 0.05 else "undecided")
        alone = ld.compare(by_label[pair.comparison.first], by_label[pair.comparison.second], level=1 - 0.05 / 6)
        assert (pair.comparison.low, pair.comparison.high) == (alone.low, alone.high)
    apart = [pair for pair in found.pairs if pair.verdict == "different"]
    assert apart and f"in {len(apart)} of 6 pairs" in found.sentence
    assert "the intervals hold together at 95 %" in repr(found) and all(
        pair.sentence in str(pair) for pair in found.pairs
    )


def test_one_wrong_verdict_among_all_is_as_rare_as_stated():
    """Four equal recipes of five cells; `LITDIODE_STUDIES=4000` for the longer version."""
    runs = int(os.environ.get("LITDIODE_STUDIES", "40"))
    rng = np.random.default_rng(11)
    wrong = missed = single = 0
    for _ in range(runs):
        found = ld.compare_all(groups({k: rng.standard_normal(5) for k in "ABCD"}))
        wrong += any(pair.verdict == "different" for pair in found.pairs)
        missed += any(not pair.comparison.low <= 0 <= pair.comparison.high for pair in found.pairs)
        single += any(pair.comparison.p_welch < 0.05 for pair in found.pairs)
    print(
        f"wrong {100 * wrong / runs:.1f} %, intervals {100 * missed / runs:.1f} %, "
        f"uncorrected {100 * single / runs:.1f} %"
    )
    assert wrong / runs < 0.05 + 3 * math.sqrt(0.05 * 0.95 / runs) and missed <= wrong
    assert single / runs > 0.1


def test_groups_that_make_no_pairs_are_refused():
    one, two = groups({"A": (1, 2), "B": (2, 3)})
    with pytest.raises(ld.InputError, match="groups holds 1"):
        ld.compare_all([one])
    with pytest.raises(ld.InputError, match="called 'A'"):
        ld.compare_all([one, two, one])
    with pytest.raises(TypeError, match=r"groups\[1\] = 3"):
        ld.compare_all([one, 3])
    with pytest.raises(ld.InputError, match=r"level = 0\.1"):
        ld.compare_all([one, two], level=0.1)
