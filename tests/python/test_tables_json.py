"""Tables and batches as JSON: they come back exactly, and no other text is taken for one."""

import json

import numpy as np
import pytest

import litdiode as ld

CELL = ld.SingleDiode(iph_a=0.02, i0_a=1e-9, n=1.4, rs_ohm=1.0, rsh_ohm=900)  # invented
TRACER = ld.Instrument(noise_current_a=2e-5)
SWEEPS = [ld.simulate_sweep(CELL, TRACER, seed=seed) for seed in range(3)]
DARK = ld.Sweep(np.linspace(-0.5, 0.6, 30), -1e-9 * np.expm1(np.linspace(-0.5, 0.6, 30) / 0.036), sign="generator")


def same(a: object, b: object) -> None:
    assert a == b and repr(a) == repr(b)


@pytest.mark.parametrize(
    "made", [ld.resistances(SWEEPS[0]), ld.resistances(SWEEPS[0], DARK), ld.resistances(dark=DARK)]
)
def test_resistances(made: ld.Resistances) -> None:
    again = ld.Resistances.from_json(made.to_json())
    same(made, again)
    assert again.plot() and made.tidy().equals(again.tidy())


def test_maximum_powers() -> None:
    made = ld.maximum_powers(SWEEPS[0])
    again = ld.MaximumPowers.from_json(made.to_json())
    same(made, again)
    assert again.plot()
    with pytest.raises(ld.InputError, match="to_json"):
        ld.MaximumPowers.from_json(ld.resistances(SWEEPS[0]).to_json())


def test_batches() -> None:
    rows = [*ld.fit_many(SWEEPS), "no curve"]
    fits = ld.Fits(rows, index=["a", "b", "c", "d"])
    again = ld.Fits.from_json(fits.to_json())
    same(fits, again)
    assert list(again.frame().index) == ["a", "b", "c", "d"] and again.errors == {3: "no curve"}
    points = ld.key_points_many(SWEEPS)
    assert ld.KeyPointRows.from_json(points.to_json()) == points
    for text in ("", "[]", "{}", points.to_json(), '{"class": "Fits", "index": ["a"], "rows": []}'):
        with pytest.raises(ld.InputError):
            ld.Fits.from_json(text)
    broken = json.loads(fits.to_json())
    broken["rows"][0] = {"error": 3}
    with pytest.raises(ld.InputError):
        ld.Fits.from_json(json.dumps(broken))
