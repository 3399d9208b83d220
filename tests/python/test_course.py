"""The course: what is drawn, what a student can see of it, and whether right and wrong answers are told apart."""

from __future__ import annotations

import copy
import csv
import gc
import hashlib
import importlib.util
import io
import itertools
import json
import math
import os
import pickle
import re
import subprocess
import sys
import types
from pathlib import Path
from typing import Any

import numpy as np
import pytest

import litdiode as ld
from litdiode import course
from litdiode.course.draw import Draw
from litdiode.course.exercise import Case, Quantity
from litdiode.course.exercises import ALL
from litdiode.course.exercises.translation import translated
from litdiode.course.judging import all_handed, judge

ROOT = Path(__file__).parents[2]
SALT = "an invented salt, for these tests"
TEACHER = course.Instructor(SALT)
# The exercise of two recipes needs it.
pytest.importorskip("scipy")
HANDOUT = TEACHER.handout("0042")


def simulation() -> Any:
    """The script that makes the tables of docs/course.md."""
    spec = importlib.util.spec_from_file_location("course_simulation", ROOT / "tests/simulations/course.py")
    assert spec is not None and spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def solution(handout: course.Handout, exercise: str) -> dict[str, Any]:
    """What the library makes of the readings."""
    return dict(ALL[exercise].reference(handout.readings(exercise)))


def failure(exercise: str, answer: dict[str, Any], hint: int = 1) -> course.CheckFailed:
    with pytest.raises(course.CheckFailed) as told:
        course.check(HANDOUT, exercise, answer, hint=hint)
    return told.value


# What is drawn


def test_numbers_are_the_hmac_of_number_and_salt() -> None:
    # RFC 2104 written out: H(K ⊕ opad, H(K ⊕ ipad, text)), blocks of 64 bytes.
    key = SALT.encode().ljust(64, b"\0")
    message = b"\0".join([b"litdiode course 2", b"fault", b"0", "№ 7 é".encode()])
    inner = hashlib.sha256(bytes(b ^ 0x36 for b in key) + message).digest()
    outer = hashlib.sha256(bytes(b ^ 0x5C for b in key) + inner).digest()
    draw = Draw(SALT.encode(), "№ 7 é", "fault", 0)
    for count in range(3):
        text = count.to_bytes(8, "big")
        block = outer.ljust(64, b"\0")
        inner = hashlib.sha256(bytes(b ^ 0x36 for b in block) + text).digest()
        digest = hashlib.sha256(bytes(b ^ 0x5C for b in block) + inner).digest()
        assert draw.uniform(0.0, 1.0) == ((int.from_bytes(digest, "big") >> 204) + 0.5) * 2.0**-52


@pytest.mark.parametrize("byte", [b"\x00", b"\xff"])
def test_a_number_is_neither_0_nor_1(byte: bytes, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("litdiode.course.draw.hmac.digest", lambda *given: 32 * byte)
    draw = Draw(SALT.encode(), "0042", "fault", 0)
    assert 0.0 < draw.uniform(0.0, 1.0) < 1.0
    assert draw.choice("abc") == ("a" if byte == b"\x00" else "c") and math.isfinite(draw.normal(0.0, 1.0))


def test_what_is_drawn_has_the_distribution_that_it_says() -> None:
    from scipy import stats

    draw = Draw(SALT.encode(), "distribution", "none", 0)
    assert stats.kstest([draw.normal(3.0, 2.0) for _ in range(2000)], stats.norm(3.0, 2.0).cdf).pvalue > 1e-3
    logs = [math.log10(draw.log_uniform(1e-3, 1e2)) for _ in range(2000)]
    assert stats.kstest(logs, stats.uniform(-3.0, 5.0).cdf).pvalue > 1e-3
    counts = np.unique([draw.choice("abcd") for _ in range(2000)], return_counts=True)[1]
    assert stats.chisquare(counts).pvalue > 1e-3


def test_a_number_and_a_salt_give_one_handout() -> None:
    again = course.Instructor(SALT).handout(" 0042\t")
    assert again == HANDOUT and again.to_json() == HANDOUT.to_json()
    # The same characters in their wide form are the same number.
    assert TEACHER.handout("００４２", ["key_points"]).to_json() == TEACHER.handout("0042", ["key_points"]).to_json()
    others = [TEACHER.handout("0043"), course.Instructor(SALT + "!").handout("0042")]
    for other in others:
        for name in course.EXERCISES:
            assert other.readings(name).to_json() != HANDOUT.readings(name).to_json()


def test_another_process_draws_the_same() -> None:
    text = f"import litdiode as ld; print(ld.course.Instructor({SALT!r}).handout('0042', ['key_points']).to_json())"
    environment = os.environ | {"PYTHONPATH": str(Path(ld.__file__).parents[1]), "PYTHONIOENCODING": "utf-8"}
    run = subprocess.run(
        [sys.executable, "-c", text], capture_output=True, encoding="utf-8", env=environment, check=True
    )
    assert run.stdout.strip() == TEACHER.handout("0042", ["key_points"]).to_json()


def test_an_exercise_does_not_depend_on_which_others_are_given() -> None:
    alone = TEACHER.handout("0042", ["fault"])
    assert alone.names() == ["fault"] and alone.readings("fault") == HANDOUT.readings("fault")


# What a student can see


def truths(student: str) -> list[float]:
    solved = [TEACHER._solved(student, one) for one in ALL.values()]
    return [value for one in solved for value in one.drawn.truth.values() if isinstance(value, float) and value]


def numbers_of(handout: course.Handout) -> np.ndarray:
    texts = [handout.to_json(), repr(handout), *(handout.csv(n) + handout.question(n) for n in handout.names())]
    found = {float(word) for text in texts for word in re.findall(r"-?\d+\.?\d*(?:[eE][+-]?\d+)?", text)}
    return np.array(sorted(found))


def test_no_number_of_a_handout_is_a_truth() -> None:
    for k in range(5):
        handout = TEACHER.handout(f"student {k}")
        numbers = numbers_of(handout)
        assert len(numbers) > 500
        for truth in truths(f"student {k}"):
            # One in full or rounded to eight digits would be found, as a reading is.
            assert not np.any(np.abs(numbers - truth) <= 1e-8 * abs(truth))
        reading = handout.readings("detection_limit").numbers["blank"][3]
        assert np.any(np.abs(numbers - reading) <= 1e-8 * abs(reading))


def reached(start: object) -> list[object]:
    """Every object that an object leads to, but for modules and the insides of classes and functions."""
    seen: dict[int, object] = {}
    todo = [start]
    while todo:
        one = todo.pop()
        if id(one) in seen or isinstance(one, types.ModuleType | type):
            continue
        seen[id(one)] = one
        todo.extend(gc.get_referents(one))
    return list(seen.values())


def test_no_path_leads_from_a_handout_to_the_salt() -> None:
    found = reached(HANDOUT)
    assert len(found) > 50
    assert not any(isinstance(one, course.Instructor | types.FunctionType | types.MethodType) for one in found)
    assert not any(one in (SALT, SALT.encode()) for one in found if isinstance(one, str | bytes))
    for text in (pickle.dumps(HANDOUT), repr(HANDOUT).encode(), str(vars(HANDOUT)).encode()):
        assert SALT.encode() not in text
    # The search finds it where it is.
    assert any(one == SALT.encode() for one in reached(TEACHER) if isinstance(one, bytes))


def test_an_instructor_does_not_tell_the_salt() -> None:
    assert SALT not in repr(TEACHER) and SALT not in str(TEACHER) and not hasattr(TEACHER, "__dict__")
    for written in (pickle.dumps, copy.copy, copy.deepcopy):
        with pytest.raises(TypeError, match="holds the salt"):
            written(TEACHER)
    with pytest.raises(ld.InputError) as told:
        course.Instructor("hunter2")
    assert "hunter2" not in str(told.value) and "new_salt" in str(told.value)
    with pytest.raises(ld.InputError):
        course.Instructor("a" * 40)
    assert course.Instructor(course.new_salt()) and course.new_salt() != course.new_salt()


def test_what_is_set_tells_less_than_what_is_read() -> None:
    handouts = [TEACHER.handout(f"set {k}", ["key_points", "diode_parameters", "dark_curve"]) for k in range(40)]
    stops, noises = set(), set()
    for handout in handouts:
        for name in handout.names():
            (sweep,) = handout.readings(name).sweeps.values()
            noises.add(sweep.noise.current_a)
            stops.add(round(float(sweep.voltage_v[-1]), 9))
    # Of 120 devices each would be another were they computed of the truth.
    assert len(noises) <= 12 and all(f"{x:.0e}"[0] in "125" for x in noises)
    assert len(stops) <= 30 and all(abs(x / 0.01 - round(x / 0.01)) < 1e-6 for x in stops)


def test_a_stated_uncertainty_of_the_sheet_follows_the_stated_value() -> None:
    # u = share · truth would give the truth away.
    for k in range(5):
        solved = TEACHER._solved(f"sheet {k}", ALL["translation"])
        sheet = solved.drawn.readings.estimates
        for name, share in (("alpha", 0.10), ("beta", 0.02), ("rs", 0.05), ("kappa", 0.20)):
            assert sheet[name].u == pytest.approx(share * abs(sheet[name].value), rel=1e-12)


# Right answers


def test_handouts_come_back_from_json_and_pickle() -> None:
    assert course.Handout.from_json(HANDOUT.to_json()) == HANDOUT
    back = pickle.loads(pickle.dumps(HANDOUT))
    assert back == HANDOUT
    for name in course.EXERCISES:
        course.check(back, name, solution(HANDOUT, name))
    edited = json.loads(HANDOUT.to_json())
    edited["fields"]["exercises"][0]["fields"]["exercise"] = "another"
    with pytest.raises(ld.InputError, match="do not fit"):
        course.Handout.from_json(json.dumps(edited))
    for name in course.EXERCISES:
        emptied = course.Handout("0042", (course.Readings(name),))
        with pytest.raises(ld.InputError, match="handout lacks"):
            course.check(emptied, name, solution(HANDOUT, name))


@pytest.mark.parametrize("name", ["key_points", "dark_curve", "series_resistance"])
def test_readings_that_give_no_figure_are_told(name: str) -> None:
    voltage_v = np.linspace(-0.1, 0.7, 6)
    cell = ld.SingleDiode(iph_a=0.03, i0_a=1e-9, n=1.5, rs_ohm=1.0, rsh_ohm=1e3)  # invented
    given = HANDOUT.readings(name)
    few = dict.fromkeys(given.sweeps, ld.Sweep(voltage_v, cell.current(voltage_v)))
    edited = course.Handout("0042", (course.Readings(name, sweeps=few, estimates=given.estimates),))
    with pytest.raises(ld.InputError, match=f"do not answer {name}; use the file as it was given out"):
        course.check(edited, name, solution(HANDOUT, name))


@pytest.mark.parametrize("name", course.EXERCISES)
def test_what_the_library_finds_passes_and_has_full_marks(name: str) -> None:
    answer = solution(HANDOUT, name)
    assert course.check(HANDOUT, name, answer) is None
    marks = TEACHER.mark("0042", {name: answer}, [name])
    assert marks.points == marks.most > 0 and not any(row.hint for row in marks.rows)
    pairs = {k: (e.value, e.u) if isinstance(e, ld.Estimate) else e for k, e in answer.items()}
    assert course.check(HANDOUT, name, pairs) is None


def lambert_current(p: np.ndarray, voltage_v: np.ndarray, vt: float) -> np.ndarray:
    """I(V) of one diode by SciPy's W function; p: Iph, ln I0, n, Rs, 1/Rsh (A. Jain, A. Kapoor, Sol. Energy Mater. Sol.
    Cells 81 (2004) 269, from memory)."""
    from scipy.special import lambertw

    iph, ln_i0, n, rs, g = p
    i0, a = math.exp(ln_i0), n * vt
    share = 1 + rs * g
    w = lambertw(rs * i0 / (a * share) * np.exp((rs * (iph + i0) + voltage_v) / (a * share))).real
    return np.asarray((iph + i0 - voltage_v * g) / share - a / rs * w)


def scipy_fit(sweep: ld.Sweep, start: list[float], dark: bool) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Parameters by SciPy, their ±, and the ± of each were the others known; of a dark curve with σ from the fitted
    current."""
    from scipy.optimize import least_squares

    vt = 8.617333262e-5 * (sweep.temperature_c + 273.15)
    sigma = np.full(len(sweep), sweep.noise.current_a)
    for _ in range(4 if dark else 1):

        def residuals(p: np.ndarray, sigma: np.ndarray = sigma) -> np.ndarray:
            whole = np.concatenate([[0.0], p]) if dark else p
            return (lambert_current(whole, sweep.voltage_v, vt) - sweep.current_a) / sigma

        found = least_squares(residuals, start, x_scale=np.abs(start), method="lm", xtol=1e-14, ftol=1e-14)
        start = list(found.x)
        fitted = residuals(found.x) * sigma + sweep.current_a
        sigma = np.hypot(sweep.noise.current_a, sweep.noise.current_rel * fitted)
    square = found.jac.T @ found.jac
    return found.x, np.sqrt(np.diag(np.linalg.inv(square))), 1 / np.sqrt(np.diag(square))


def test_a_lit_fit_of_scipy_passes() -> None:
    x, u, alone = scipy_fit(
        HANDOUT.readings("diode_parameters").sweeps["lit"], [0.012, math.log(1e-8), 1.4, 2.0, 3e-3], False
    )
    i0 = math.exp(x[1])
    answer = {"n": (x[2], u[2]), "i0": (i0, i0 * u[1]), "rs": (x[3], u[3]), "rsh": (1 / x[4], u[4] / x[4] ** 2)}
    course.check(HANDOUT, "diode_parameters", answer)
    assert TEACHER.mark("0042", {"diode_parameters": answer}, ["diode_parameters"]).points == 8
    # The same with the diagonal inverted in place of the matrix: what a beginner does.
    u = alone
    wrong = {"n": (x[2], u[2]), "i0": (i0, i0 * u[1]), "rs": (x[3], u[3]), "rsh": (1 / x[4], u[4] / x[4] ** 2)}
    assert failure("diode_parameters", wrong).code == "correlation"


def test_a_dark_fit_of_scipy_passes() -> None:
    x, u, _ = scipy_fit(HANDOUT.readings("dark_curve").sweeps["dark"], [math.log(1e-10), 1.5, 1.0, 3e-7], True)
    i0 = math.exp(x[0])
    course.check(HANDOUT, "dark_curve", {"n": (x[1], u[1]), "i0": (i0, i0 * u[0])})


def test_detection_limits_by_scipy_pass() -> None:
    from scipy import optimize, stats

    blank = np.array(HANDOUT.readings("detection_limit").numbers["blank"])
    n, s = len(blank), float(blank.std(ddof=1))
    t = float(stats.t.ppf(0.95, n - 1))
    root = s * math.sqrt(1 + 1 / n)
    delta = optimize.brentq(lambda d: stats.nct.cdf(t, n - 1, d) - 0.05, 1.0, 8.0)
    net = HANDOUT.readings("detection_limit").numbers["reading"][0] - float(blank.mean())
    answer = {
        "scatter": (s, s / math.sqrt(2 * (n - 1))),
        "critical": t * root,
        "detection": delta * root,
        "quantification": 10 * root,
        "detected": "yes" if net > t * root else "no",
    }
    course.check(HANDOUT, "detection_limit", answer)
    assert failure("detection_limit", answer | {"critical": 1.645 * root}).code == "normal_quantile"
    assert failure("detection_limit", answer | {"detection": 3 * s}).code == "three_s"
    assert failure("detection_limit", answer | {"critical": t * s}).code == "blank_scatter"
    assert failure("detection_limit", answer | {"quantification": 10 * root * 1e9}).code == "unit"
    assert (
        failure("detection_limit", answer | {"quantification": 10 * root * math.sqrt(1 - 1 / n)}).code == "divided_by_n"
    )
    other = {"yes": "no", "no": "yes"}[answer["detected"]]
    assert failure("detection_limit", answer | {"detected": other}).quantity == "detected"


def test_a_scatter_and_a_division_by_n_are_told_apart() -> None:
    # 10·s and 10·s·√((1 − 1/n)(1 + 1/n)) lie 0.5 % apart; a thousandth is half of the last of three digits.
    for k in range(30):
        handout = TEACHER.handout(f"blanks {k}", ["detection_limit"])
        answer = solution(handout, "detection_limit")
        s = float(np.std(handout.readings("detection_limit").numbers["blank"], ddof=1))
        for share, code in ((1.0, "blank_scatter"), (math.sqrt(0.99), "divided_by_n")):
            for rounding in (0.998, 1.0, 1.002):
                with pytest.raises(course.CheckFailed) as told:
                    wrong = {"quantification": 10 * s * share * rounding}
                    course.check(handout, "detection_limit", answer | wrong)
                assert told.value.code == code


def test_a_welch_test_of_scipy_passes() -> None:
    a, b = (np.array(HANDOUT.readings("two_recipes").numbers[k]) for k in ("recipe_a", "recipe_b"))
    u = math.sqrt(a.var(ddof=1) / len(a) + b.var(ddof=1) / len(b))
    verdict = str(solution(HANDOUT, "two_recipes")["verdict"])
    answer = {"difference": (float(a.mean() - b.mean()), u), "verdict": verdict}
    course.check(HANDOUT, "two_recipes", answer)
    spread = math.hypot(a.std(ddof=1), b.std(ddof=1))
    assert failure("two_recipes", answer | {"difference": (answer["difference"][0], spread)}).code == "spread_for_mean"


def test_the_scatter_of_one_recipe_alone_is_told() -> None:
    seen = 0
    for k in range(12):
        handout = TEACHER.handout(f"one {k}", ["two_recipes"])
        answer = solution(handout, "two_recipes")
        for cells in handout.readings("two_recipes").numbers.values():
            u = float(np.std(cells, ddof=1)) / math.sqrt(len(cells))
            # A larger one may pass: another sound method has up to twice the ±, and half of it.
            if u < 0.48 * answer["difference"].u:
                with pytest.raises(course.CheckFailed) as told:
                    course.check(handout, "two_recipes", answer | {"difference": (answer["difference"].value, u)})
                assert told.value.code == "one_group"
                seen += 1
    assert seen >= 2


# Wrong answers


def test_wrong_methods_get_their_hint_and_right_ones_pass() -> None:
    """A short version of the simulation of docs/course.md, on students that no constant was chosen by."""
    made = simulation()
    found = made.shares(24)
    assert len(found) > 60
    for (exercise, name), halves in found.items():
        outcomes = halves[False] + halves[True]
        # Of 24 one may fail where 99 % or 95 % hold; the intervals are judged by the long run alone.
        floor = 0.8 if "interval" in name else 0.9
        assert np.mean(outcomes) >= floor, f"{exercise}: {name}: {np.mean(outcomes)}"


def test_ma_read_as_a_is_a_unit() -> None:
    answer = solution(HANDOUT, "key_points")
    ma = {"isc": (1e3 * answer["isc"].value, 1e3 * answer["isc"].u)}
    told = failure("key_points", answer | ma)
    assert (told.code, told.quantity, told.exercise, told.hint) == ("unit", "isc", "key_points", 1)
    percent = {"ff": (1e2 * answer["ff"].value, 1e2 * answer["ff"].u)}
    assert failure("key_points", answer | percent).code == "unit"
    # An Estimate carries its own unit.
    assert failure("key_points", answer | {"isc": answer["voc"]}).code == "unit"


def test_the_plus_minus_must_be_there_and_of_the_right_size() -> None:
    answer = solution(HANDOUT, "key_points")
    value, u = answer["voc"].value, answer["voc"].u
    for factor, code in ((1 / 2.2, "too_small"), (1 / 50, "too_small"), (2.7, "too_wide"), (1e3, "too_wide")):
        assert failure("key_points", answer | {"voc": (value, factor * u)}).code == code
    assert failure("key_points", answer | {"voc": (value, 0.0)}).code == "too_small"
    assert failure("key_points", answer | {"voc": value}).code == "no_u"
    halves = {name: (e.value, 1.96 * e.u) for name, e in answer.items()}
    assert failure("key_points", halves).code == "interval_for_u"
    for factor in (0.55, 2.4):
        course.check(HANDOUT, "key_points", answer | {"voc": (value, factor * u)})
    course.check(HANDOUT, "key_points", answer | {"voc": (value + 2.5 * u, u)})
    assert failure("key_points", answer | {"voc": (value + 3.5 * u, u)}).code == "value"


def test_a_single_reading_as_isc_is_told() -> None:
    lit = HANDOUT.readings("key_points").sweeps["lit"]
    answer = solution(HANDOUT, "key_points")
    nearest = float(lit.current_a[np.abs(lit.voltage_v).argmin()])
    assert failure("key_points", answer | {"isc": (nearest, answer["isc"].u)}).code == "nearest_reading"


def test_the_wrong_sign_of_temperature_is_told() -> None:
    # Procedure 1 written out, with ΔT of the wrong sign.
    given = HANDOUT.readings("translation")
    warm, sheet = given.sweeps["warm"], {name: e.value for name, e in given.estimates.items()}
    warmer = warm.temperature_c - 25.0
    isc = warm.key_points().isc.value
    current_a = warm.current_a + isc * (1000.0 / warm.irradiance_w_m2.value - 1.0) + sheet["alpha"] * warmer
    voltage_v = warm.voltage_v - sheet["rs"] * (current_a - warm.current_a) - sheet["kappa"] * current_a * warmer
    moved = ld.Sweep(voltage_v + sheet["beta"] * warmer, current_a, noise=warm.noise).key_points()
    answer = solution(HANDOUT, "translation")
    wrong = {name: (getattr(moved, name).value, e.u) for name, e in answer.items()}
    told = failure("translation", wrong)
    assert told.code == "sign_of_temperature" and told.quantity == "voc"
    assert failure("translation", answer | {"pmax": wrong["pmax"]}).code == "sign_of_temperature"


def test_one_way_given_twice_is_told() -> None:
    answer = solution(HANDOUT, "series_resistance")
    twice = answer | {"rs_slope": (answer["rs_fit"].value, answer["rs_slope"].u)}
    assert failure("series_resistance", twice).code == "one_way_twice"


def test_hints_grow_and_never_hold_the_solution() -> None:
    made = simulation()
    for name, one in ALL.items():
        solved = TEACHER._solved("0042", one)
        answer = dict(solved.reference)
        # A rounded one may read as the right one does.
        wanted = [one for one in made.METHODS if one[0] == name and one[3] and "rounded" not in one[1]]
        methods = [method for _, _, method, _ in wanted]
        wrong = [method(solved.drawn, answer) for method in methods]
        if any(q.with_u for q in one.quantities):
            wrong += [made.with_u(one, answer, lambda e, f=f: f * e.u) for f in (1e-3, 1e3)]
        for given in filter(None, wrong):
            texts = [str(failure(name, given, hint=level)) for level in (1, 2, 3)]
            parts = [text.split(" (hint=")[0] for text in texts]
            assert parts[1].startswith(parts[0]) and parts[2].startswith(parts[1]) and len(set(parts)) == 3
            shown = [float(word) for word in re.findall(r"\d+\.\d+(?:e[+-]?\d+)?", texts[2])]
            for right in answer.values():
                if isinstance(right, ld.Estimate):
                    assert not any(abs(x - right.value) < 1e-3 * abs(right.value) for x in shown)
            assert str(answer.get("fault", "no such word")) not in texts[2]


def test_a_failed_check_is_an_exception_of_the_library() -> None:
    wrong = "clipped" if solution(HANDOUT, "fault")["fault"] != "clipped" else "bias"
    told = failure("fault", {"fault": wrong}, hint=2)
    assert isinstance(told, ld.LitdiodeError) and str(told).startswith("fault, fault: ") and "hint=3" in str(told)
    back = pickle.loads(pickle.dumps(told))
    assert (str(back), back.code, back.quantity, back.hint) == (str(told), told.code, told.quantity, 2)


def test_bad_answers_are_told_with_their_place() -> None:
    answer = solution(HANDOUT, "key_points")
    for given, told in (
        ({}, "lacks 'isc'"),
        (answer | {"jsc": 1.0}, "'jsc'"),
        (answer | {"isc": (math.nan, 1e-5)}, "answer\\['isc'\\]"),
        (answer | {"isc": (0.03, -1e-5)}, "± of answer\\['isc'\\]"),
        (answer | {"isc": (10**400, 1.0)}, "not finite"),
    ):
        with pytest.raises(ld.InputError, match=told):
            course.check(HANDOUT, "key_points", given)
    for given in (answer | {"isc": "0.03"}, answer | {"isc": (0.03, 1e-5, 2)}, answer | {"isc": True}):
        with pytest.raises(TypeError, match=r"answer\['isc'\]"):
            course.check(HANDOUT, "key_points", given)
    with pytest.raises(ld.InputError, match="hint = 4"):
        course.check(HANDOUT, "key_points", answer, hint=4)
    with pytest.raises(ld.InputError, match="not in this handout"):
        course.check(HANDOUT, "dark", answer)


# Scales and marks


@pytest.mark.parametrize(
    ("scale", "x", "u", "truth", "z"),
    [
        ("linear", 3.0, 0.5, 2.0, 2.0),
        ("log", 2.0 * math.e, 2.0 * math.e * 0.25, 2.0, 4.0),  # ln 2e − ln 2 = 1; u(ln x) = 0.25
        ("inverse", 200.0, 40.0, 100.0, 5.0),  # 1/100 − 1/200 = 0.005; u(1/x) = 40/200² = 0.001
    ],
)
def test_z_is_on_the_scale_of_the_quantity(scale: Any, x: float, u: float, truth: float, z: float) -> None:
    q = Quantity("x", "", "invented", scale)
    assert (q.placed(x) - q.placed(truth)) / q.width(x, u) == pytest.approx(z, rel=1e-12)
    assert q.back(q.placed(x)) == pytest.approx(x, rel=1e-12)
    assert scale == "linear" or (math.isnan(q.placed(-1.0)) and math.isnan(q.width(0.0, 1.0)))
    # Beyond an infinite resistance, −1/x ≥ 0, there is no other end.
    for t in (0.0, 0.5):
        assert (q.back(t) is None) == (scale == "inverse")


def test_marks_are_against_the_truth_and_the_own_plus_minus() -> None:
    solved = TEACHER._solved("0042", ALL["key_points"])
    truth, answer = solved.drawn.truth, dict(solved.reference)
    u = answer["voc"].u

    def mark(value: float, plus_minus: float) -> course.Mark:
        given = {"key_points": answer | {"voc": (value, plus_minus)}}
        return next(r for r in TEACHER.mark("0042", given, ["key_points"]).rows if r.quantity == "voc")

    row = mark(truth["voc"] + 3.0 * u, u)
    assert (row.z, row.ratio, row.points, row.most) == (pytest.approx(3.0), pytest.approx(1.0), 2, 2)
    # 5 u of the library off, with a ± of its size: the value is near enough, the ± does not hold it.
    row = mark(truth["voc"] + 5.0 * u, u)
    assert row.points == 1 and row.z == pytest.approx(5.0) and "too small" in row.hint
    assert mark(truth["voc"] + 6.5 * u, 2.4 * u).points == 0
    assert mark(truth["voc"], 20 * u).points == 1 and mark(truth["voc"], u / 20).points == 1
    assert mark(truth["voc"], u).z == 0.0


def test_resistances_below_nothing_and_nonsense_cost_no_more_than_points() -> None:
    answer = solution(HANDOUT, "diode_parameters")
    wrong = {"rsh": (-5.0, 1.0), "i0": (0.0, 1e-9), "n": "one and a half", "rs": [1, 2, 3]}
    given = {"diode_parameters": answer | wrong}
    marks = TEACHER.mark("0042", given, ["diode_parameters"])
    assert marks.points == 0 and all(row.hint for row in marks.rows)
    assert "cannot be read" in marks.rows[0].hint and marks.rows[0].handed == "one and a half"
    marks = TEACHER.mark("0042", {"diode_parameter": answer}, ["diode_parameters"])
    assert marks.points == 0 and "'diode_parameter', which is no exercise" in marks.rows[0].hint


def test_the_key_holds_the_truth_and_what_passes() -> None:
    key = TEACHER.key("0042")
    assert len(key.rows) == sum(len(one.quantities) for one in ALL.values())
    by_formula = {("two_recipes", "difference"), ("detection_limit", "scatter")}
    for row in key.rows:
        if row.truth is not None and row.low is not None and row.high is not None:
            assert row.low < row.truth < row.high or (row.exercise, row.quantity) in by_formula
    by_name = {(row.exercise, row.quantity): row for row in key.rows}
    # The device that the readings were drawn from gives the same figures by the model itself.
    truth = TEACHER._solved("0042", ALL["series_resistance"]).drawn.truth
    assert {by_name["series_resistance", name].truth for name in ("rs_fit", "rs_slope")} == {truth["rs_fit"]}
    row = by_name["key_points", "ff"]
    figures = [by_name["key_points", name].truth or 0.0 for name in ("pmax", "isc", "voc")]
    assert row.truth == pytest.approx(figures[0] / (figures[1] * figures[2]), rel=1e-12)
    assert course.Key.from_json(key.to_json()) == key and "key_points" in repr(key)
    marks = TEACHER.mark("0042", {})
    assert course.Marks.from_json(marks.to_json()) == marks and "0 of" in repr(marks)


@pytest.mark.parametrize("name", ["key_points", "diode_parameters", "translation"])
def test_ends_of_the_key_pass_and_beyond_do_not(name: str) -> None:
    solved = TEACHER._solved("0042", ALL[name])
    for row in TEACHER.key("0042", [name]).rows:
        assert row.u is not None and row.truth is not None and row.low is not None
        # A resistance without an upper end passes however high it is.
        ends = [row.low] if row.high is None else [row.low, row.high]
        assert len(ends) == 2 or row.quantity == "rsh"
        for end, (share, right) in itertools.product(ends, ((0.98, True), (1.02, False))):
            value = row.truth + share * (end - row.truth)
            answer = dict(solved.reference) | {row.quantity: (value, row.u)}
            case = Case(solved.drawn.readings, solved.reference, all_handed(ALL[name], answer))
            judged = {j.quantity.name: j for j in judge(ALL[name], case, solved.drawn.truth)}
            slip = judged[row.quantity].slip
            like_highest = row.quantity == "pmax" and slip is not None and slip.code == "highest_sample"
            assert judged[row.quantity].value_right == right or like_highest


@pytest.mark.parametrize("name", course.EXERCISES)
def test_any_part_of_an_answer_is_marked_and_any_number_is(name: str) -> None:
    one, answer = ALL[name], solution(HANDOUT, name)
    for q in one.quantities:
        marks = TEACHER.mark("0042", {name: {q.name: answer[q.name]}}, [name])
        assert marks.points == q.points
    extremes = (0.0, -0.0, 5e-324, -5e-324, 1e-200, 1e200, -1e308, 1.7e308, 1.0)
    solved = TEACHER._solved("0042", one)
    for value in extremes:
        for u in (0.0, 5e-324, 1e-200, 1e200, 1.7e308):
            given = {q.name: "nonsense" if q.choices else (value, u) for q in one.quantities}
            case = Case(solved.drawn.readings, solved.reference, all_handed(one, given))
            for judged in judge(one, case, solved.drawn.truth):
                assert not judged.passed and judged.slip is not None
                assert judged.z is None or not math.isnan(judged.z)
    marks = TEACHER.mark("0042", {name: given}, [name])
    assert course.Marks.from_json(marks.to_json()) == marks


def test_a_difference_far_off_is_no_unit() -> None:
    # Where 0 is within reach, dividing by a power of ten leads there from anywhere.
    u = 0.001
    for k in range(12):
        handout = TEACHER.handout(f"unit {k}", ["two_recipes"])
        answer = solution(handout, "two_recipes")
        if abs(answer["difference"].value) < 3 * answer["difference"].u:
            with pytest.raises(course.CheckFailed) as told:
                course.check(handout, "two_recipes", answer | {"difference": (0.5, answer["difference"].u)})
            assert told.value.code == "value"
            u = answer["difference"].u
    assert u != 0.001


# Sheets


def rows_of(text: str) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(text)))


HOSTILE = ["=1+1", "+1", "-1", "@SUM(A1)", "\t=2", " =3", "＝4+1", '=HYPERLINK("x")', "a,b", 'quo"te', "two\nlines"]
# As text already, and what only looks like it.
HOSTILE += ["'=1", "''=1", "' =1", "'1", "''"]


def test_no_cell_of_a_sheet_is_a_formula() -> None:
    text = TEACHER.marking_sheet(HOSTILE, {}, ["two_recipes"]) + course.write_answers("=2", {"=x": {"@y": "=z"}})
    cells = [cell for line in csv.reader(io.StringIO(text)) for cell in line]
    words = [cell for cell in cells if not re.fullmatch(r"-?[\d.]+(e[+-]?\d+)?", cell)]
    assert len(words) > 100
    assert not any(word.strip().startswith(tuple("=+-@＝＋－＠")) for word in words)


def test_hostile_numbers_come_back() -> None:
    for student in HOSTILE:
        text = course.write_answers(student, {"two_recipes": {"difference": (0.1, 0.2), "verdict": "different"}})
        back = course.read_answers(text)
        number = TEACHER.handout(student, ["two_recipes"]).student
        assert back == {number: {"two_recipes": {"difference": (0.1, 0.2), "verdict": "different"}}}


def test_a_class_is_marked_from_its_files() -> None:
    students = ["0042", "Ω 7", "=3"]
    answers: dict[str, Any] = {}
    for student in students[:2]:
        handout = TEACHER.handout(student, ["key_points", "two_recipes"])
        own = {name: solution(handout, name) for name in handout.names()}
        answers |= course.read_answers(course.write_answers(student, own))
    answers["stranger"] = answers["0042"]
    sheet = rows_of(TEACHER.marking_sheet(students, answers, ["key_points", "two_recipes"]))
    assert len(sheet) == 3 * 6 + 1
    for student, reached in (("0042", "11"), ("Ω 7", "11"), ("'=3", "0")):
        own_rows = [row for row in sheet if row["student"] == student]
        assert sum(int(row["points"]) for row in own_rows) == int(reached)
        assert sum(int(row["most"]) for row in own_rows) == 11
    assert sheet[-1]["student"] == "stranger" and sheet[-1]["hint"] == "not in the class list"
    assert all(row["hint"] == "not handed in" for row in sheet if row["student"] == "'=3")


def test_estimates_and_pairs_give_one_sheet() -> None:
    answer = solution(HANDOUT, "key_points")
    pairs = {name: (e.value, e.u) for name, e in answer.items()}
    sheets = [TEACHER.marking_sheet(["0042"], {"0042": {"key_points": a}}, ["key_points"]) for a in (answer, pairs)]
    assert sheets[0] == sheets[1]
    assert float(rows_of(sheets[0])[0]["u"]) == answer["isc"].u
    # One in another unit shows it.
    other = {"0042": {"key_points": answer | {"isc": answer["voc"]}}}
    assert rows_of(TEACHER.marking_sheet(["0042"], other, ["key_points"]))[0]["u"].endswith(" V")


def test_an_empty_sheet_is_filled_by_hand_and_read() -> None:
    sheet = rows_of(TEACHER.marking_sheet(["0042"], exercises=["key_points"]))
    assert {row["points"] for row in sheet} == {""} and {row["value"] for row in sheet} == {""}
    filled = io.StringIO()
    writer = csv.DictWriter(filled, list(sheet[0]), delimiter=";")
    writer.writeheader()
    answer = solution(HANDOUT, "key_points")
    for row in sheet[:-1]:
        e = answer[row["quantity"]]
        writer.writerow(row | {"value": repr(e.value), "u": repr(e.u)})
    back = course.read_answers("\ufeff" + filled.getvalue())
    assert TEACHER.mark("0042", back["0042"], ["key_points"]).points == 6


def test_tables_that_cannot_be_read_are_told() -> None:
    with pytest.raises(ld.InputError, match="no column u"):
        course.read_answers("student,exercise,quantity,value\n")
    heading = "student,exercise,quantity,value,u\n"
    for text in ("a\rb,c\n", "x" * 140_000, heading + "1\r2,key_points,isc,0.03,1e-5\n"):
        with pytest.raises(ld.InputError, match="text is no CSV"):
            course.read_answers(text)
    twice = "student,exercise,quantity,value,u\n" + 2 * "1,key_points,isc,0.03,1e-5\n"
    with pytest.raises(ld.InputError, match="row 1 gives 'isc'"):
        course.read_answers(twice)
    comma = course.read_answers('student,exercise,quantity,value,u\n1,key_points,isc,"0,03",1e-5\n')
    assert comma == {"1": {"key_points": {"isc": (0.03, 1e-5)}}}
    # A short line has empty cells; empty ones behind a long line are left alone.
    short = "student,exercise,quantity,value,u\n1,key_points,isc\n1,key_points,voc,0.6,0.001,,\n"
    assert course.read_answers(short) == {"1": {"key_points": {"voc": (0.6, 0.001)}}}


def test_class_lists_are_checked() -> None:
    with pytest.raises(ld.InputError, match=r"students\[1\] = '7' is there twice"):
        TEACHER.marking_sheet(["7", " 7 "], exercises=["two_recipes"])
    with pytest.raises(ld.InputError, match=r"students\[1\]"):
        TEACHER.marking_sheet(["7", "  "], exercises=["two_recipes"])
    with pytest.raises(ld.InputError, match="'7' twice"):
        TEACHER.marking_sheet(["7"], {"7": {}, "7 ": {}}, ["two_recipes"])
    with pytest.raises(TypeError, match="one text"):
        TEACHER.marking_sheet("0042", exercises=["two_recipes"])
    with pytest.raises(ld.InputError, match=r"exercises\[0\]"):
        TEACHER.handout("7", ["nothing"])


def test_the_csv_of_readings_is_in_milliamperes_and_read_back(tmp_path: Path) -> None:
    path = tmp_path / "key_points.csv"
    path.write_text(HANDOUT.csv("key_points"), encoding="utf-8")
    back = ld.read_sweep(path)
    lit = HANDOUT.readings("key_points").sweeps["lit"]
    assert "current (mA)" in path.read_text(encoding="utf-8")
    np.testing.assert_allclose(back.current_a, lit.current_a, rtol=1e-8)
    np.testing.assert_allclose(back.voltage_v, lit.voltage_v, rtol=1e-8)
    assert HANDOUT.csv("detection_limit").startswith("blank (A),reading (A)\n")
    assert "one of different, equivalent, undecided" in HANDOUT.question("two_recipes")


def code_of(student: str, exercise: str, changed: dict[str, Any]) -> str | None:
    """The code of the hint that an answer gets; None where it passes."""
    solved = TEACHER._solved(student, ALL[exercise])
    answer = dict(solved.reference) | changed
    try:
        course.check(TEACHER.handout(student, [exercise]), exercise, answer)
    except course.CheckFailed as error:
        return error.code
    return None


def test_figures_by_a_formula_must_be_those_of_the_readings() -> None:
    seen: dict[str, int] = {}
    for k in range(12):
        student = str(k)
        found = TEACHER._solved(student, ALL["two_recipes"]).reference["difference"]
        assert isinstance(found, ld.Estimate) and found.u
        numbers = TEACHER.handout(student, ["two_recipes"]).readings("two_recipes").numbers
        sa, sb = (np.std(numbers[name], ddof=1) for name in ("recipe_a", "recipe_b"))
        wrong = {
            "difference_of_zero": (0.0, found.u),
            "order_of_difference": (-found.value, found.u),
            "spread_for_mean": (found.value, np.sqrt((sa**2 + sb**2) / 2)),
        }
        for code, value in wrong.items():
            if code == "difference_of_zero" and abs(found.value) < 0.2 * found.u:
                continue
            assert code_of(student, "two_recipes", {"difference": value}) == code
            solved = TEACHER._solved(student, ALL["two_recipes"]).reference
            rows = TEACHER.mark(student, {"two_recipes": dict(solved) | {"difference": value}}, ["two_recipes"]).rows
            assert rows[0].points < 2
            seen[code] = seen.get(code, 0) + 1
        digits = 1 - int(np.floor(np.log10(found.u)))
        assert code_of(student, "two_recipes", {"difference": (round(found.value, digits), found.u)}) is None
        s = TEACHER._solved(student, ALL["detection_limit"]).reference["scatter"]
        assert isinstance(s, ld.Estimate) and s.u
        blank = np.array(TEACHER.handout(student, ["detection_limit"]).readings("detection_limit").numbers["blank"])
        assert code_of(student, "detection_limit", {"scatter": (blank.std(), s.u)}) == "divided_by_n"
        for factor in (2.0, 3.0, 1 / np.sqrt(10.0)):
            assert code_of(student, "detection_limit", {"scatter": (factor * s.value, factor * s.u)}) is not None
        # Corrected for ten readings: s/c4, c4(10) = 0.9727 (from memory).
        assert code_of(student, "detection_limit", {"scatter": (s.value / 0.9727, s.u)}) is None
    assert seen.pop("difference_of_zero") >= 8 and seen == {"order_of_difference": 12, "spread_for_mean": 12}


def test_a_coefficient_that_is_turned_or_left_out_is_told() -> None:
    told = looked = 0
    for k in range(12):
        readings = TEACHER.handout(str(k), ["translation"]).readings("translation")
        sweep, sheet = readings.sweeps["warm"], readings.estimates
        right = TEACHER._solved(str(k), ALL["translation"]).reference
        for name, factor in itertools.product(("alpha", "rs", "kappa"), (0.0, -1.0)):
            wrong = sheet | {name: ld.Estimate(factor * sheet[name].value, unit=sheet[name].unit)}
            points = translated(sweep, wrong)
            values = {q: getattr(points, q) for q in ("isc", "voc", "pmax")}
            if any(e is None for e in values.values()):
                continue
            looked += 1
            answer = {q: (e.value, right[q].u) for q, e in values.items()}
            told += code_of(str(k), "translation", answer) == "coefficient"
        # Only the irradiance was translated: not the figure as it was measured.
        still = translated(sweep, sheet, sweep.temperature_c)
        answer = {q: (getattr(still, q).value, right[q].u) for q in ("isc", "voc", "pmax")}
        assert code_of(str(k), "translation", answer) != "not_translated"
    assert looked >= 65 and told == looked


def test_answers_of_spreadsheets_are_read() -> None:
    rows = [("0001", "key_points", "isc", "0,0317574", "0,00007"), ("0001", "key_points", "voc", "3,17E-01", "")]
    wanted = {"0001": {"key_points": {"isc": (0.0317574, 0.00007), "voc": 0.317}}}
    head = ("student", "exercise", "quantity", "value", "u")
    for mark, first in ((";", ""), ("\t", ""), (";", "sep=;\n"), (";", "\ufeff")):
        text = first + "\n".join(mark.join(row) for row in (head, *rows))
        assert course.read_answers(text) == wanted
    spaced = "Student, Exercise, Quantity, Value, U\n0001, key_points, isc, 0.03, 1e-5, \n"
    assert course.read_answers(spaced) == {"0001": {"key_points": {"isc": (0.03, 1e-5)}}}
    with pytest.raises(ld.InputError, match="row 0 has more cells than the heading"):
        course.read_answers("student,exercise,quantity,value,u\n0001,key_points,isc,0,0317,0,00007\n")
    one, two = (course.write_answers("0001", {name: {"isc": (0.03, 1e-5)}}) for name in ("key_points", "translation"))
    both = course.read_answers([one, "\ufeff" + two])
    assert both == {"0001": {name: {"isc": (0.03, 1e-5)} for name in ("key_points", "translation")}}
    assert course.read_answers(one + "\ufeff" + two) == both
    with pytest.raises(ld.InputError, match=r"text\[1\]: row 0 gives 'isc' of 'key_points' by '0001' once more"):
        course.read_answers([one, one])


def test_leading_zeros_that_a_spreadsheet_took_are_found() -> None:
    solved = TEACHER._solved("0007", ALL["key_points"]).reference
    answers = {"7": {"key_points": dict(solved)}}
    sheet = TEACHER.marking_sheet(["0007", "0008"], answers, ["key_points"])
    points = [line.split(",")[12] for line in sheet.splitlines()[1:]]
    assert points == ["2"] * 4 + ["0"] * 4
    lost = TEACHER.marking_sheet(["007", "0007"], answers, ["key_points"])
    assert "not in the class list" in lost.splitlines()[-1]
