"""Results of a study as JSON and as frames: exact round trips, and errors for any other text."""

from __future__ import annotations

import contextlib
import json
import math
import os
import random
import sys

import numpy as np
import pytest
from test_edited_json import edited

import litdiode as ld
from litdiode.study import storage

EDITS = int(os.environ.get("LITDIODE_EDITS", "1500"))
LAMP = ld.Estimate(1.0, 0.05, name="lamp of the stored results")


def results():
    """One or more of each class, invented."""
    rng = np.random.default_rng(1)
    cells = [
        [ld.Estimate(m + 0.002 * rng.standard_normal(), 0.001) * LAMP for _ in range(6)] for m in (0.08, 0.07, 0.08)
    ]
    groups = [ld.Group(label, one) for label, one in zip("ABC", cells, strict=True)]
    batches = [ld.Group(label, one, batch=list("aabbcc")) for label, one in zip("AB", cells, strict=False)]
    t = np.linspace(0, 100, 20)
    decays = [ld.ageing(t, f * (1 + 0.004 * rng.standard_normal(20))) for f in (np.exp(-0.004 * t), np.ones(20))]
    lives = [ld.survival([90, 120, 150, 160, 170, 200, 200], [True] * k + [False] * (7 - k)) for k in (5, 0)]
    summary = groups[0].summary("efficiency")
    return [
        summary,
        batches[0].summary("ff"),
        ld.compare(*groups[:2]),
        ld.compare(*groups[:2], margin=0.05),
        ld.compare(*batches),
        ld.compare_all(groups),
        ld.precision(summary),
        *decays,
        *lives,
        ld.compare_survival(*lives),
    ]


RESULTS = results()


@pytest.mark.parametrize("one", RESULTS, ids=lambda r: type(r).__name__)
def test_a_result_comes_back_exactly(one):
    text = one.to_json()
    back = type(one).from_json(text)
    assert back == one and repr(back) == repr(one) and back.to_json() == text
    json.loads(text, parse_constant=lambda word: pytest.fail(word))


def test_what_estimates_share_comes_back():
    summary, comparison = RESULTS[0], RESULTS[2]
    back = ld.Summary.from_json(summary.to_json())
    assert (back.mean - summary.mean).u == pytest.approx(0.0, abs=1e-15)
    assert ld.Comparison.from_json(comparison.to_json()).difference.dof == comparison.difference.dof


@pytest.mark.parametrize("one", RESULTS, ids=lambda r: type(r).__name__)
def test_another_text_is_refused(one):
    kind = type(one)
    other = next(r for r in RESULTS if type(r) is not kind)
    for text in (
        "",
        "NaN",
        "[]",
        "{}",
        '{"class": "Summary"}',
        other.to_json(),
        ld.Estimate(1.0).to_json(),
        "[" * 10**5,
    ):
        with pytest.raises(ld.InputError, match=r"pass what to_json wrote"):
            kind.from_json(text)
    with pytest.raises(TypeError, match="text"):
        kind.from_json(3)


def no_nan(value):
    """Whether a field holds no NaN, at any depth."""
    if isinstance(value, ld.Estimate):
        return not math.isnan(value.value)
    if isinstance(value, dict | tuple):
        return all(map(no_nan, value.values() if isinstance(value, dict) else value))
    return not isinstance(value, float) or not math.isnan(value)


def test_edited_texts_are_errors_or_results():
    """`LITDIODE_EDITS=100000` for the long version."""
    rng = random.Random(3)
    trees = [(type(one), json.loads(one.to_json())) for one in RESULTS]
    made = 0
    for _ in range(EDITS):
        kind, tree = rng.choice(trees)
        with contextlib.suppress(ld.InputError):
            back = kind.from_json(json.dumps(edited(tree, rng)))
            made += 1
            repr(back), str(back), list(back._rows()), back.to_json()
            assert all(no_nan(getattr(back, name)) for name in vars(back))
    assert made > EDITS / 20


@pytest.mark.parametrize("one", RESULTS, ids=lambda r: type(r).__name__)
def test_a_frame_is_tidy(one):
    frame = one.frame()
    assert list(frame.columns) == ["label", "figure", "quantity", "unit", "value", "u"] and len(frame) > 2
    assert not frame.duplicated(["label", "quantity"]).any()
    known = [q for q in frame["quantity"] if hasattr(one, q) and isinstance(getattr(one, q), float)]
    for name in known:
        [value] = frame.loc[frame["quantity"] == name, "value"]
        assert value == getattr(one, name) or (math.isinf(value) and math.isinf(getattr(one, name)))


def test_the_frame_of_a_summary_holds_its_figures():
    frame = RESULTS[0].frame().set_index("quantity")
    assert frame.loc["mean", "value"] == RESULTS[0].mean.value and frame.loc["mean", "u"] == RESULTS[0].mean.u
    assert set(frame["label"]) == {"A"} and set(frame["figure"]) == {"efficiency"}


def test_a_base_without_rows_is_no_result():
    assert storage.Stored()._consistent()
    with pytest.raises(NotImplementedError):
        storage.Stored()._rows()


def test_a_missing_library_says_what_to_install(monkeypatch):
    monkeypatch.setitem(sys.modules, "statsmodels.duration.survfunc", None)
    with pytest.raises(ImportError, match=r"statsmodels is missing; install it by: pip install litdiode\[study\]"):
        ld.survival([1.0, 2.0], [True, False])
