"""A sweep while it is measured: the mathematics is tested in the core; here what Python adds, and the example."""

from __future__ import annotations

import pickle
import runpy
from pathlib import Path

import numpy as np
import pytest

import litdiode as ld

ROOT = Path(__file__).parents[2]
CELL = ld.SingleDiode(iph_a=0.03, i0_a=1e-9, n=1.4, rs_ohm=0.8, rsh_ohm=900)  # invented
LIMITS = {"limits_v": (-0.1, 0.8), "limits_a": (-0.06, 0.06)}


def measured(until: int | None = None, **options: object) -> ld.LiveSweep:
    """A live sweep of the cell, to its end or to a number of readings."""
    live = ld.LiveSweep(**LIMITS | {"noise": ld.Noise(current_a=1e-4)} | options)
    random = np.random.default_rng(1)
    while len(live) != until and (point := live.next_set_point()) is not None:
        live.push(float(point), CELL.current(point.value) + 1e-4 * random.normal())
    return live


def test_a_sweep_ends_where_the_target_is_known() -> None:
    live = measured(wanted=0.005)
    ff = live.key_points().ff
    assert live.reason_kind == "reached" and live.reason is not None and "FF is known to" in live.reason
    assert ff.u / ff.value <= 0.005 and abs(ff.value - CELL.key_points().ff.value) < 4 * ff.u
    assert live.relative_u() == pytest.approx(ff.u / ff.value)
    assert live.missing() == {} and len(live.flags) == len(live)
    sweep = live.sweep()
    assert np.array_equal(sweep.voltage_v, live.voltage_v) and sweep.noise == ld.Noise(current_a=1e-4)
    assert live.fit(deadline_s=5.0).status in ("converged", "at_bound", "not_identified")


def test_what_was_stated_is_in_the_sweep() -> None:
    live = measured(12, area_cm2=1.2, irradiance_w_m2=1000, label="invented", cells=1, temperature_c=30.0)
    sweep = live.sweep()
    assert (sweep.area_cm2.value, sweep.irradiance_w_m2.value, sweep.label) == (1.2, 1000, "invented")
    assert live.key_points().efficiency is not None
    corrected = measured(12, corrections=[ld.LeadResistance(0.1)]).sweep()
    assert len(corrected.corrections) == 1


def test_what_is_missing_is_told_by_name() -> None:
    live = ld.LiveSweep(**LIMITS)
    assert set(live.missing()) == {"isc", "voc", "pmax", "v_pmax", "i_pmax", "ff"}
    assert live.reason is None and live.relative_u() is None and live.curve([0.1]) is None


def test_a_stored_sweep_goes_on() -> None:
    live = measured(14, wanted=1e-6)
    for back in (pickle.loads(pickle.dumps(live)), ld.LiveSweep.from_json(live.to_json())):
        assert back.to_json() == live.to_json()
        assert np.array_equal(back.current_a, live.current_a)
        assert back.key_points().pmax.value == pytest.approx(live.key_points().pmax.value, rel=1e-4)
    point = live.next_set_point()
    assert pickle.loads(pickle.dumps(point)) == point


def test_a_reading_that_is_no_number_is_refused_and_asked_for_again() -> None:
    live = measured(5)
    point = live.next_set_point()
    with pytest.raises(ld.InputError, match=r"current_a = NaN of reading 5"):
        live.push(point.value, float("nan"))
    assert live.next_set_point() == point and len(live) == 5


def test_limits_and_options_are_checked() -> None:
    with pytest.raises(ld.InputError, match=r"limits_v = 0\.1 to 0\.9"):
        ld.LiveSweep(limits_v=(0.1, 0.9), limits_a=(-1, 1))
    with pytest.raises(ld.InputError, match='target = "jsc" is not known'):
        ld.LiveSweep(**LIMITS, target="jsc")
    with pytest.raises(ld.InputError, match="cannot be stated before"):
        ld.LiveSweep(**LIMITS, time_s=[1.0])
    with pytest.raises(TypeError, match="limits_v"):
        ld.LiveSweep(limits_v=1.0, limits_a=(-1, 1))


def test_a_picture_shows_readings_curve_and_set_point() -> None:
    pyplot = pytest.importorskip("matplotlib.pyplot")
    live = measured(14, wanted=1e-6)
    ax = live.plot()
    assert len(ax.lines[0].get_xdata()) == 14
    at = live.next_set_point().value
    assert any(np.allclose(line.get_xdata(), at) for line in ax.lines)
    assert live.plot(ax=ax) is ax
    assert ld.LiveSweep(**LIMITS).plot() is not None
    pyplot.close("all")


def test_the_example_runs(capsys: pytest.CaptureFixture[str]) -> None:
    runpy.run_path(str(ROOT / "examples" / "acquisition.py"), run_name="__main__")
    told = capsys.readouterr().out
    assert "refused: current_a = NaN" in told and "source at 0 V and off" in told and "stopped: FF is known to" in told
