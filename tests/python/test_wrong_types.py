"""A value of a wrong type is told with the name of its argument, the value, and what to write instead."""

from __future__ import annotations

import inspect
import sys
from collections.abc import Callable, Iterator
from importlib import resources
from operator import attrgetter
from typing import Any

import numpy as np
import pytest
from test_docs import arguments, public

import litdiode as ld
from litdiode import plots, quote

CELL = ld.SingleDiode(iph_a=0.03, i0_a=1e-9, n=1.3, rs_ohm=0.5, rsh_ohm=900)  # invented
CELLS = ld.SingleDiode(iph_a=[0.03, 0.031], i0_a=1e-9, n=1.3, rs_ohm=0.5, rsh_ohm=900)
TWO = {"iph_a": 0.03, "i01_a": 1e-12, "n1": 1, "i02_a": 1e-9, "n2": 2, "rs_ohm": 0.5, "rsh_ohm": 900}
DOUBLE = ld.DoubleDiode(**TWO)
DOUBLES = ld.DoubleDiode(**TWO | {"iph_a": [0.03, 0.031]})
INSTRUMENT = ld.Instrument(noise_current_a=2e-5)


def measured(irradiance_w_m2: float = 1000.0, temperature_c: float = 25.0) -> ld.Sweep:
    """A sweep of the cell under another condition."""
    taken = ld.simulate_sweep(CELL.at(irradiance_w_m2, temperature_c), INSTRUMENT, seed=1)
    return ld.Sweep(taken.voltage_v, taken.current_a, irradiance_w_m2=irradiance_w_m2, temperature_c=temperature_c)


SWEEP, DIM, DARK, WARM = measured(), measured(500.0), measured(0.001), measured(temperature_c=40.0)
FIT = ld.fit_single_diode(SWEEP)
SMOOTH = SWEEP.interpolate("smoothing")
SHAPE = SWEEP.interpolate("shape_constrained")
PROCEDURE = {"alpha_a_per_k": 1e-5, "beta_v_per_k": -2e-3, "rs_ohm": 0.5, "kappa_ohm_per_k": 1e-3}
RELATIVE = {"alpha_rel_per_k": 5e-4, "beta_rel_per_k": -3e-3, "a": 0.05, "rs_ohm": 0.5, "kappa_ohm_per_k": 1e-3}
TRANSLATED = SWEEP.translate(ld.Procedure1(**PROCEDURE), irradiance_w_m2=900.0)
RESAMPLE = FIT.resample(draws=3)
POINTS = {"isc_a": 0.1023, "voc_v": 0.536, "v_pmax_v": 0.437, "i_pmax_a": 0.0925}
READINGS = {"voltage_v": SWEEP.voltage_v, "current_a": SWEEP.current_a}
SLOW = [
    ld.simulate_sweep(CELL, ld.Instrument(start=a, stop=b, time_constant_s=0.05, dwell_s=0.1), seed=1)
    for a, b in ((-0.1, 0.62), (0.62, -0.1))
]
SETTLING = ([0.0, 0.02, 0.04, 0.06, 0.1, 0.2, 0.3], [0.014, 0.0153, 0.0161, 0.0167, 0.0174, 0.0179, 0.018])
CELLS_OF_ANOTHER = ld.Group("B", [ld.Estimate(0.079, 0.001), ld.Estimate(0.077, 0.001)])
CELLS_OF_A_RECIPE = ld.Group("A", [ld.Estimate(0.08, 0.001), ld.Estimate(0.081, 0.001)])
STUDY = ld.Study(
    [SWEEP, WARM, *(ld.simulate_sweep(CELL, INSTRUMENT, seed=seed) for seed in (2, 3))], groups=["A", "A", "B", "B"]
)
DEMO = resources.files("litdiode") / "demo" / "study.toml"
HOURS, FALLING = list(range(0, 80, 8)), [0.1 - 0.0004 * t for t in range(0, 80, 8)]
LIMITS = {"limits_v": (-0.1, 0.9), "limits_a": (-0.1, 0.1)}
TEACHER = ld.course.Instructor("an invented salt, not for a course")
HANDOUT = TEACHER.handout("0042", ["key_points"])
KEY_POINTS = {
    name: getattr(HANDOUT.readings("key_points").sweeps["lit"].key_points(), name)
    for name in ("isc", "voc", "pmax", "ff")
}
LIVES = ld.survival([10.0, 20.0, 30.0], [True, True, False])
# What its owner finds; each of these is made of everything that is public, by name.
OBJECTS: dict[str, Any] = {
    "Estimate": ld.Estimate(1.0, 0.1),
    "Fit": FIT,
    "Instrument": INSTRUMENT,
    "Interpolant": SMOOTH,
    "Resample": RESAMPLE,
    "SingleDiode": CELL,
    "SingleDiodes": CELLS,
    "DoubleDiode": DOUBLE,
    "DoubleDiodes": DOUBLES,
    "Sweep": SWEEP,
    "Translated": TRANSLATED,
    "Fits": ld.fit_many([SWEEP]),
    "KeyPointRows": ld.key_points_many([SWEEP]),
    "Resistances": ld.resistances(SWEEP),
    "MaximumPowers": ld.maximum_powers(SWEEP),
    "Budget": SWEEP.budget("ff"),
    "Hysteresis": ld.hysteresis(*SLOW),
    "Group": CELLS_OF_A_RECIPE,
    "StepResponse": ld.step_response(*SETTLING, "A"),
    "Study": STUDY,
    "Ageing": ld.ageing(HOURS, FALLING),
    "Survival": LIVES,
    "LiveSweep": ld.LiveSweep(**LIMITS),
    "course.Handout": HANDOUT,
    "course.Instructor": TEACHER,
    "course.Key": TEACHER.key("0042", ["key_points"]),
    "course.KeyRow": TEACHER.key("0042", ["key_points"]).rows[0],
    "course.Mark": TEACHER.mark("0042", {}, ["key_points"]).rows[0],
    "course.Marks": TEACHER.mark("0042", {}, ["key_points"]),
    "course.Readings": HANDOUT.readings("key_points"),
}
PLANNED = {"expected": CELL, "noise": ld.Noise(current_a=1e-4), "points": 8}
PLAN = ld.plan_sweep(**PLANNED)
OBJECTS["Plan"] = PLAN
EACH = {"voltage_v": 0.3, "current_a": 0.01, "threads": 1}
# Arguments with which a call succeeds; a name without any is called without.
VALID: dict[str, dict[str, Any]] = {
    "Estimate": {"value": 1.0},
    "Estimate.interval": {},
    "check_instrument": {"measured": [ld.Estimate(1.0, 0.1)], "reference": ld.Estimate(1.0, 0.1)},
    "detection_limits": {"blank": [0.1, 0.2, -0.1]},
    "hysteresis": {"first": SLOW[0], "second": SLOW[1]},
    "smallest_cell": {"model": CELL, "noise": ld.Noise(current_a=1e-5)},
    "cells_needed": {"effect": 1.0},
    "compare": {"first": CELLS_OF_A_RECIPE, "second": CELLS_OF_ANOTHER},
    "Ageing.band": {"time_h": [1.0]},
    "Ageing.curve": {"time_h": [1.0]},
    "ageing": {"time_h": HOURS, "figures": FALLING},
    "cells_for_equivalence": {"margin": 1.0},
    "cells_for_width": {"half_width": 1.0},
    "compare_all": {"groups": [ld.Group(label, [ld.Estimate(1.0), ld.Estimate(2.0)]) for label in "ab"]},
    "compare_survival": {"first": LIVES, "second": LIVES},
    "precision": {"summary": CELLS_OF_A_RECIPE.summary("ff")},
    "survival": {"time_h": [10.0, 20.0], "failed": [True, False]},
    "Group": {"label": "A", "members": [ld.Estimate(0.08, 0.001)]},
    "Group.figures": {"figure": "ff"},
    "Group.summary": {"figure": "ff"},
    "ufloats": {"estimates": [ld.Estimate(1.0, 0.1)]},
    "Hysteresis.dwell_for": {"bound": 1e-4},
    "StepResponse.dwell_for": {"bound": 1e-4},
    "step_response": {"time_s": SETTLING[0], "reading": SETTLING[1], "unit": "A"},
    "Fit.band": {"voltage_v": [0.1]},
    "Fit.interval": {"name": "rs"},
    "Fit.resample": {"draws": 2},
    "LiveSweep": LIMITS,
    "LiveSweep.push": {"voltage_v": 0.0, "current_a": 0.03},
    "LiveSweep.curve": {"voltage_v": [0.1]},
    "Interpolant.current": {"voltage_v": 0.3},
    "Interpolant.slope": {"voltage_v": 0.3},
    "Interpolant.power": {"voltage_v": 0.3},
    "Interpolant.voltage": {"current_a": 0.01},
    "Interpolant.voltages": {"current_a": 0.01},
    "Interpolant.band": {"voltage_v": 0.3},
    "Interpolant.u_current": {"voltage_v": 0.3},
    "Interpolant.u_slope": {"voltage_v": 0.3},
    "Interpolant.shares": {"voltage_v": 0.3},
    "Procedure1": PROCEDURE,
    "Procedure1.from_sweeps": {"at_irradiances": [SWEEP, DIM], "at_temperatures": [SWEEP, WARM]},
    "Procedure2": RELATIVE,
    "Procedure2.from_sweeps": {"at_irradiances": [SWEEP, DIM], "at_temperatures": [SWEEP, WARM], "start": SWEEP},
    "Resample.column": {"name": "rs"},
    "Resample.interval": {"name": "rs"},
    "Resistances.get": {"quantity": "series", "method": "slope at Voc"},
    "SingleDiode": {"iph_a": 0.03, "i0_a": 1e-9, "n": 1.3, "rs_ohm": 0.5, "rsh_ohm": 900},
    "DoubleDiode": TWO,
    "Study": {"sweeps": [SWEEP, WARM]},
    "Study.read": {"path": str(DEMO)},
    "Study.report": {"path": "report.html"},
    "Study.summaries": {"figure": "pmax"},
    "Study.group_for": {"name": "A", "figure": "pmax"},
    "Sweep": READINGS,
    "Sweep.from_repeats": {name: [values, values] for name, values in READINGS.items()},
    "Sweep.interpolate": {"kind": "smoothing"},
    "Sweep.translate": {"parameters": ld.Procedure1(**PROCEDURE)},
    "Translated.covariance": {"i": 0, "j": 1},
    "course.Handout.csv": {"exercise": "key_points"},
    "course.Handout.question": {"exercise": "key_points"},
    "course.Handout.readings": {"exercise": "key_points"},
    "course.Instructor": {"salt": "an invented salt, not for a course"},
    "course.Instructor.handout": {"student": "0042", "exercises": ["two_recipes"]},
    "course.Instructor.key": {"student": "0042", "exercises": ["two_recipes"]},
    "course.Instructor.mark": {"student": "0042", "answers": {}, "exercises": ["two_recipes"]},
    "course.Instructor.marking_sheet": {"students": ["0042"], "exercises": ["two_recipes"]},
    "course.check": {"handout": HANDOUT, "exercise": "key_points", "answer": KEY_POINTS},
    "course.read_answers": {"text": "student,exercise,quantity,value,u\n"},
    "course.write_answers": {"student": "0042", "answers": {}},
    "curve_correction": {"sweeps": [SWEEP, WARM], "rs_ohm": 0.5, "beta_v_per_k": -2e-3},
    "fit_double_diode": {"sweep": SWEEP},
    "fit_many": {"sweeps": [SWEEP]},
    "fit_single_diode": {"sweep": SWEEP},
    "from_end_slopes": POINTS | {"rs0_ohm": 0.45, "rsh0_ohm": 1000},
    "from_key_points": POINTS | {"n": 1.3},
    "irradiance_factor": {"sweeps": [SWEEP, DIM], "from_w_m2": 1000.0},
    "key_points_many": {"sweeps": [SWEEP]},
    "maximum_powers": {"sweep": SWEEP},
    "resistances": {"lit": SWEEP},
    "simulate_sweep": {"model": CELL, "instrument": INSTRUMENT},
    "temperature_coefficients": {"sweeps": [SWEEP, WARM]},
    "translate_between": {"first": SWEEP, "second": DIM, "c": 0.5},
    "translation_resistance": {"sweeps": [SWEEP, DIM]},
    "Plan.figures_of": {"expected": CELL},
    "Plan.at_points": {"points": [5]},
    "plan_sweep": PLANNED,
    "points_needed": PLANNED | {"wanted": 0.05},
    "plots.plot_plan": {"plan": PLAN, "points": [5, 8]},
    "plots.plot_ageing": {"ageing": OBJECTS["Ageing"]},
    "plots.plot_survival": {"survival": LIVES},
    "plots.plot_budget": {"budget": SWEEP.budget("ff")},
    "plots.plot_cells": {"study": STUDY},
    "Study.left_out": {"one": STUDY.comparisons()[0]},
    "plots.plot_comparisons": {"comparisons": STUDY.comparisons()},
    "plots.plot_fit": {"fit": FIT},
    "plots.plot_interpolant": {"interpolant": SMOOTH},
    "plots.plot_live_sweep": {"live": OBJECTS["LiveSweep"]},
    "plots.plot_maximum_powers": {"found": ld.maximum_powers(SWEEP)},
    "plots.plot_resistances": {"found": OBJECTS["Resistances"]},
    "plots.plot_study": {"study": STUDY},
    "plots.plot_sweep": {"sweep": SWEEP},
    "plots.plot_sweeps": {"sweeps": [SWEEP]},
    "plots.plot_translated": {"translated": TRANSLATED},
}
for kind in ("SingleDiode", "DoubleDiode", "SingleDiodes", "DoubleDiodes"):
    VALID |= {f"{kind}.{what}": {"voltage_v": 0.3} for what in ("current", "power", "slope", "gradient")}
    VALID[f"{kind}.voltage"] = {"current_a": 0.01}
for name in quote.__all__:
    given = {"value": 1.0, "u": 0.1, "unit": "A", "low": 0.5, "high": 2.0, "size": 1.0, "exponent": -3}
    taken = inspect.signature(getattr(quote, name)).parameters
    VALID[f"quote.{name}"] = {argument: value for argument, value in given.items() if argument in taken}


class Thing:
    """What no argument takes."""

    def __repr__(self) -> str:
        return "<a thing>"


WRONG: list[Any] = [Thing(), "nonsense", 1.5j, [Thing()], {"nonsense": "nonsense"}, b"bytes", 10**400]
# Labels of the rows for a frame, which are the caller's own.
FREE = {("Fits", "index"), ("KeyPointRows", "index")}


def calls() -> Iterator[tuple[str, str]]:
    """Every argument of everything that is public, by the name of the call."""
    both = dict(public()) | {f"quote.{name}": getattr(quote, name) for name in quote.__all__}
    for name, thing in both.items():
        tabled = name in (
            "Ageing",
            "Comparison",
            "Comparisons",
            "MaximumPowers",
            "Precision",
            "Resistances",
            "KeyPointsTable",
            "Summary",
            "Survival",
            "SurvivalComparison",
            *(f"course.{kind}" for kind in ("Handout", "Key", "KeyRow", "Mark", "Marks", "Readings")),
        )  # They take what is given.
        if callable(thing) and not tabled:
            yield from ((name, argument) for argument in arguments(thing) if argument != "options")


def found(name: str) -> Callable[..., Any]:
    """The function, the class, or the method of an object."""
    owner, _, member = name.rpartition(".")
    if owner in ("plots", "quote", "course"):
        return getattr({"plots": plots, "quote": quote, "course": ld.course}[owner], member)
    if member in ("from_json", "from_sweeps", "from_repeats"):
        return getattr(attrgetter(owner)(ld), member)
    return getattr(OBJECTS[owner] if owner else ld, member)


@pytest.mark.filterwarnings("ignore")
@pytest.mark.parametrize(("name", "argument"), [c for c in calls() if c not in FREE])
def test_a_wrong_type_is_told(name: str, argument: str, tmp_path: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    # What takes the name of a file may write it.
    monkeypatch.chdir(tmp_path)
    call, given = found(name), dict(VALID.get(name, {}))
    if name in ("read_sweep", "read_sweeps"):
        given["source"] = tmp_path / "invented.csv"
        given["source"].write_text("V (V); I (A)\n-0.1; 0.03\n0.2; 0.03\n0.4; 0.028\n0.5; 0.017\n0.6; -0.041\n")
    refused = 0
    for value in WRONG:
        try:
            call(**given | {argument: value})
        except (ld.InputError, TypeError, ValueError) as error:
            refused += 1
            told = str(error)
            assert argument in told, f"{name}({argument}={value!r:.40}): {told}"
            assert any(word in told for word in CURES), f"{name}({argument}={value!r:.40}): {told}"
    # A truth is taken of anything, a label and the name of a method are texts.
    assert refused or (name, argument) in TAKEN


CURES = ("pass", "give", "must", "leave", "check", "name", "use")
TAKEN = {("Fits.frame", "remarks"), ("KeyPointRows.frame", "remarks"), ("Resistances.get", "quantity")}
TAKEN |= {("Resistances.get", "method")}


@pytest.mark.parametrize("name", ["fit_many", "key_points_many", "maximum_powers", "resistances", "band", "resample"])
def test_progress_is_a_bar_where_it_is_true(
    name: str, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    # Without tqdm it is a line on stderr.
    monkeypatch.setitem(sys.modules, "tqdm.auto", None)
    call, given = {
        "band": (FIT.band, {"voltage_v": np.linspace(0.0, 0.5, 4)}),
        "resample": (FIT.resample, {"draws": 4}),
    }.get(name, (getattr(ld, name, None), VALID.get(name, {})))
    last = {"band": "\r4 of 4 voltages\n", "resample": "\r4 of 4 draws\n"}
    plain = call(**given)
    assert repr(call(**given, progress=True)) == repr(plain)
    told = capsys.readouterr().err
    assert told.endswith(last.get(name, "\r1 of 1 sweeps\n" if name.endswith("many") else "methods\n"))


def test_the_remarks_of_a_frame_are_those_of_its_rows() -> None:
    pytest.importorskip("pandas")
    sweeps = [SWEEP, DARK, WARM, ld.Sweep([0.0, 0.2, 0.4], [0.03, 0.029, 0.02], leads="as_given")]
    rows = ld.key_points_many(sweeps)
    texts = ["; ".join(finding.text for finding in row.findings) for row in rows]
    assert rows.frame()["remarks"].tolist() == texts and any(texts)
    fits = ld.fit_many(sweeps)
    notes = ["" if isinstance(fit, str) else "; ".join(fit.notes) for fit in fits]
    assert fits.frame()["remarks"].tolist() == notes and any(notes)
