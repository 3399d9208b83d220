"""Edited texts of every class: an error or a working object, never a panic, a hang or a NaN in silence.

`LITDIODE_EDITS=100000 python -m pytest tests/python/test_edited_json.py` runs the long version.
"""

import contextlib
import copy
import json
import math
import os
import random

import numpy as np
import pytest

import litdiode as ld

EDITS = int(os.environ.get("LITDIODE_EDITS", "2500"))

CELL = ld.SingleDiode(iph_a=0.030, i0_a=1e-9, n=1.3, rs_ohm=0.5, rsh_ohm=900)  # invented
TWO = ld.DoubleDiode(iph_a=0.030, i01_a=1e-12, n1=1, i02_a=1e-8, n2=2, rs_ohm=0.5, rsh_ohm=900)  # invented


def objects():
    """One or more of each class that is written as JSON."""
    quiet = ld.Instrument(noise_current_a=2e-5)
    sweep = ld.simulate_sweep(CELL, quiet, seed=1)
    noise = ld.Noise(voltage_v=1e-4, current_a=2e-5, current_rel=1e-3, voltage_gain_u=1e-3)
    plain = {"sign": "generator", "leads": "as_given"}
    sweeps = {
        "stated": ld.Sweep(
            sweep.voltage_v, sweep.current_a, noise=noise, area_cm2=1.0, irradiance_w_m2=1000.0, label="a", **plain
        ),
        "short": ld.Sweep(sweep.voltage_v[:18], sweep.current_a[:18], **plain),
        "load": ld.Sweep(sweep.voltage_v, -np.asarray(sweep.current_a), sign="load"),
    }
    step = ld.Procedure1(
        alpha_a_per_k=1e-5, beta_v_per_k=-0.002, rs_ohm=ld.Estimate(0.5, 0.1, unit="Ω"), kappa_ohm_per_k=1e-4
    )
    ratio = ld.Procedure2(alpha_rel_per_k=5e-4, beta_rel_per_k=-0.004, a=0.05, rs_ohm=0.04, kappa_ohm_per_k=2e-4)
    moved = [sweeps["stated"].translate(by, irradiance_w_m2=900, temperature_c=35) for by in (step, ratio)]
    curves = [sweep.interpolate(kind) for kind in ("linear", "monotone_cubic", "natural_cubic", "smoothing")]
    shape = sweep.interpolate("shape_constrained")
    fits = [ld.fit_single_diode(one) for one in (sweep, *sweeps.values())]
    fits += [ld.fit_single_diode(sweep, fix={"n": 1.3}), ld.fit_double_diode(sweep)]
    cells = {"iph_a": [[0.030], [0.031]], "rs_ohm": 0.5, "rsh_ohm": [900, 800, np.inf]}
    rows = [sweep, sweeps["stated"]]
    warmth = [
        ld.Sweep(sweep.voltage_v, CELL.at(temperature_c=t).current(sweep.voltage_v), irradiance_w_m2=1000,
                 temperature_c=t, **plain)
        for t in (15, 25, 40, 60)
    ]  # fmt: skip
    wrong = np.array(sweep.current_a)
    wrong[5] = 0.0
    figures = {"isc_a": 0.03, "voc_v": 0.55, "v_pmax_v": 0.45, "i_pmax_a": 0.028}
    return [
        sweep, *sweeps.values(), *fits, *moved, *curves, shape, CELL, TWO, noise, quiet, step, ratio,
        *sweeps["load"].changes, *ld.Sweep(sweep.voltage_v, wrong, **plain).findings,
        sweep.key_points(), fits[0].key_points(), fits[0].parameters["n"], fits[0].interval("rs"),
        fits[0].resample(draws=20), curves[1].maximum_power(), shape.shape_test(),
        ld.SingleDiode(i0_a=1e-9, n=1.3, **cells), ld.DoubleDiode(i01_a=1e-12, n1=1, i02_a=1e-8, n2=2, **cells),
        ld.fit_many(rows)._rows, ld.key_points_many(rows)._rows, ld.from_key_points(n=1.3, **figures),
        ld.temperature_coefficients(warmth),
        ld.plan_sweep(CELL, 8, noise=noise), ld.plan_sweep(TWO, 9, noise=noise, fix=["n1", "n2"]),
        ld.points_needed(fits[0], 0.05, 8),
    ]  # fmt: skip


def places(tree, at=()):
    """Every place in a tree of JSON."""
    yield at
    children = tree.items() if isinstance(tree, dict) else enumerate(tree) if isinstance(tree, list) else ()
    for key, child in children:
        yield from places(child, (*at, key))


WILD = [0, -1, 1, 2, -0.0, 1e300, -1e300, 5e-324, 1e-300, 0.5, 1e9, -3.7, 10**30, "nan", "inf", "-inf", "NaN",
        "Infinity", "", "x", None, True, [], {}, [1.0], {"a": 1}]  # fmt: skip


def edited(tree, rng):
    """A copy with one to three edits."""
    tree = copy.deepcopy(tree)
    for _ in range(rng.choice([1, 1, 2, 3])):
        at = rng.choice(list(places(tree))[1:])
        parent = tree
        for key in at[:-1]:
            parent = parent[key]
        key, kind = at[-1], rng.randrange(6)
        value = parent[key]
        if kind == 0 and isinstance(parent, list):
            parent.insert(key, copy.deepcopy(value))
        elif kind == 1:
            del parent[key]
        elif kind == 2 and isinstance(value, list):
            rng.shuffle(value)
        elif kind == 3 and isinstance(value, (int, float)) and not isinstance(value, bool):
            parent[key] = rng.choice([-value, value * 1e3, value * 1e-3, value + 1, -value * 1e12])
        else:
            parent[key] = copy.deepcopy(rng.choice(WILD))
        if not list(places(tree))[1:]:
            break
    return tree


def is_nan(x):
    return isinstance(x, float) and math.isnan(x)


PARAMETERS = {"iph", "i0", "n", "i01", "n1", "i02", "n2", "rs", "rsh"}


def use(thing):
    """Everything that the object gives without an argument, and what a fit is asked for."""
    repr(thing), str(thing), thing.to_json()
    for name in dir(thing):
        if name.startswith("_") or name in {"plot", "from_json", "resample", "interpolate", "findings", "frame"}:
            continue
        value = getattr(type(thing), name, None)
        try:
            if isinstance(thing, ld.Fit) and name in PARAMETERS and name not in thing.parameters:
                # A parameter of the other model.
                assert not hasattr(thing, name)
                continue
            got = getattr(thing, name)
            if callable(got) and not callable(value):
                got = got()
        except (ld.LitdiodeError, ValueError, TypeError, KeyError):
            continue
        assert not is_nan(got), name
    if isinstance(thing, ld.Fit):
        names = [*thing.names, "pmax"]
        for name in names[:2] + names[-1:]:
            try:
                interval = thing.interval(name)
            except ld.InputError:
                continue
            assert not is_nan(interval.low) and not is_nan(interval.high), name
            assert interval.note or (interval.low is not None and interval.high is not None), name
        with contextlib.suppress(ld.InputError):
            thing.resample(draws=2)
        thing.key_points()
    if isinstance(thing, ld.Sweep):
        thing.key_points()
    if isinstance(thing, ld.Estimate):
        interval = thing.interval(0.9)
        assert not is_nan(interval.low) and not is_nan(interval.high)


@pytest.mark.filterwarnings("ignore")
def test_edited_texts_are_refused_or_work():
    originals = objects()
    assert len({type(one) for one in originals}) == 26
    texts = [(type(one), one.to_json()) for one in originals]
    for kind, text in texts:
        use(kind.from_json(text))
    ends = {"refused": 0, "worked": 0}
    for seed in range(EDITS):
        kind, text = texts[seed % len(texts)]
        rng = random.Random(seed)
        new = json.dumps(edited(json.loads(text), rng))
        if rng.randrange(20) == 0:
            new = new[: rng.randrange(len(new))]
        try:
            thing = kind.from_json(new)
        except ld.InputError as error:
            assert str(error)
            ends["refused"] += 1
            continue
        try:
            use(thing)
        except BaseException as error:
            raise AssertionError(f"seed {seed}, {kind.__name__}: {error!r}\n{new[:2000]}") from error
        ends["worked"] += 1
    assert min(ends.values()) > EDITS // 10, ends


def replaced(tree, name, value):
    """A copy in which every entry of that name is `value`."""
    if isinstance(tree, dict):
        return {key: value if key == name else replaced(child, name, value) for key, child in tree.items()}
    return [replaced(child, name, value) for child in tree] if isinstance(tree, list) else tree


def test_edited_notes_are_refused():
    """What is said beside a result comes back in the same words; words of no meaning are an error."""
    closed = ld.from_key_points(n=1.5, isc_a=0.03, voc_v=0.55, v_pmax_v=0.44, i_pmax_a=0.028)
    sweep = ld.simulate_sweep(CELL, ld.Instrument(noise_current_a=2e-5), seed=1)
    lit = ld.Sweep(sweep.voltage_v, sweep.current_a, irradiance_w_m2=1000.0)
    warm = {"temperature_range_c": (35, math.inf)}
    step = ld.Procedure1(alpha_a_per_k=0.0, beta_v_per_k=-0.002, rs_ohm=0.5, kappa_ohm_per_k=0.0, **warm)
    moved = lit.translate(step, temperature_c=30)
    for thing, name in ((ld.fit_double_diode(sweep), "notes"), (closed, "reservations"), (moved, "warnings")):
        told, text = getattr(thing, name), thing.to_json()
        assert told and all(isinstance(one, str) for one in told)
        assert getattr(type(thing).from_json(text), name) == told
        for wrong in ("all is well", {"all is well": {}}, {"FewRuns": {"runs": -1}}, {"Extrapolated": {}}, 5, None):
            with pytest.raises(ld.InputError):
                type(thing).from_json(json.dumps(replaced(json.loads(text), name, [wrong])))
