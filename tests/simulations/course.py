"""How often the exercises of `ld.course` can be solved, and how often a wrong method gets its hint: the tables of
docs/course.md.

python tests/simulations/course.py 1000         # of students 0 to 999; a second number is the first student

Students are parted by the first bit of a hash of their number. Constants were chosen on one half ("chosen"); what is
claimed is measured on the other ("aside").
"""

from __future__ import annotations

import hashlib
import sys
from collections import defaultdict
from collections.abc import Callable, Iterator
from typing import Any

import numpy as np

import litdiode as ld
from litdiode.course.devices import without_noise
from litdiode.course.exercise import Case, Drawn, Exercise, Solved
from litdiode.course.exercises import ALL
from litdiode.course.exercises.diode_parameters import conditional_u
from litdiode.course.exercises.translation import translated, with_exact_irradiance
from litdiode.course.judging import all_handed, first_wrong, half_interval, judge

SALT = "an invented salt, for this simulation"
Answer = dict[str, Any]


def is_aside(student: str) -> bool:
    """Whether a student belongs to the half that no constant was chosen by."""
    return bool(hashlib.sha256(student.encode()).digest()[0] & 1)


def with_u(one: Exercise, answer: Answer, change: Callable[[Any], Any]) -> Answer:
    """The answer with every ± changed."""
    names = [q.name for q in one.quantities if q.with_u]
    return answer | {name: (answer[name].value, change(answer[name])) for name in names}


def unweighted(drawn: Drawn, answer: Answer) -> Answer | None:
    """n and I0 of a dark fit that weighs all readings alike, with the ± that it has (its value where it has none)."""
    fit = ld.fit_single_diode(without_noise(drawn.readings.sweeps["dark"]), fix={"iph": 0.0})
    return {name: (e.value, e.value if e.u is None else e.u) for name, e in (("n", fit.n), ("i0", fit.i0))}


def highest(drawn: Drawn, answer: Answer) -> Answer:
    """The highest sample of V·I, with the ± of one reading."""
    lit = drawn.readings.sweeps["lit"]
    power = lit.voltage_v * lit.current_a
    k = int(power.argmax())
    return answer | {"pmax": (float(power[k]), float(lit.voltage_v[k] * lit.noise.current_a))}


def by_hand(method: Callable[[Drawn, Answer], Answer | None]) -> Callable[[Drawn, Answer], Answer | None]:
    """The answer of a method as it is written by hand, with two digits of each ±."""

    def change(drawn: Drawn, answer: Answer) -> Answer | None:
        made = method(drawn, answer)
        return made and {k: rounded(ld.Estimate(*v) if isinstance(v, tuple) else v) for k, v in made.items()}

    return change


def conditional(drawn: Drawn, answer: Answer) -> Answer:
    """Each ± as if the other parameters were known."""
    alone = conditional_u(ld.fit_single_diode(drawn.readings.sweeps["lit"]))
    return {name: (e.value, alone[name]) for name, e in answer.items()}


def slope(drawn: Drawn, answer: Answer) -> Answer:
    """The slope at Voc itself."""
    found = ld.resistances(drawn.readings.sweeps["lit"]).slope_at_voc
    return answer | {"rs_slope": (found.value, found.u)}


def exact_light(drawn: Drawn, answer: Answer) -> Answer:
    """The translation with an irradiance that counts as exact."""
    found = translated(with_exact_irradiance(drawn.readings.sweeps["warm"]), drawn.readings.estimates)
    return {name: getattr(found, name) for name in answer}


def turned(drawn: Drawn, answer: Answer) -> Answer:
    """The translation with the wrong sign of ΔT."""
    warm = drawn.readings.sweeps["warm"]
    found = translated(warm, drawn.readings.estimates, 2.0 * warm.temperature_c - 25.0)
    return {name: getattr(found, name) for name in answer}


def measured(drawn: Drawn, answer: Answer) -> Answer:
    """No translation at all."""
    found = drawn.readings.sweeps["warm"].key_points()
    return {name: getattr(found, name) for name in answer}


def scaled(powers: dict[str, int]) -> Callable[[Drawn, Answer], Answer]:
    """All figures as they come of currents in mA."""

    def change(drawn: Drawn, answer: Answer) -> Answer:
        return answer | {k: (10.0**p * answer[k].value, 10.0**p * answer[k].u) for k, p in powers.items()}

    return change


def normal_limits(drawn: Drawn, answer: Answer) -> Answer:
    """Limits with the quantiles of a known scatter."""
    blank = np.array(drawn.readings.numbers["blank"])
    s = float(blank.std(ddof=1) * np.sqrt(1 + 1 / len(blank)))
    return answer | {"critical": 1.645 * s, "detection": 3.29 * s}


def no_difference(drawn: Drawn, answer: Answer) -> Answer | None:
    """Equivalent, where the cells do not decide."""
    return answer | {"verdict": "equivalent"} if answer["verdict"] == "undecided" else None


def another_fault(drawn: Drawn, answer: Answer) -> Answer:
    """Clipped, or where it is that, biased."""
    return {"fault": "bias" if answer["fault"] == "clipped" else "clipped"}


def by_model(drawn: Drawn, answer: Answer) -> Answer:
    """Key points of a fitted diode."""
    found = ld.fit_single_diode(drawn.readings.sweeps["lit"]).key_points()
    return {name: getattr(found, name) for name in answer}


def smooth(drawn: Drawn, answer: Answer) -> Answer | None:
    """Pmax of a smooth."""
    found = [r.pmax for r in ld.maximum_powers(drawn.readings.sweeps["lit"]).rows if r.method == "smooth curve"]
    return answer | {"pmax": found[0]} if found and found[0].u else None


#: Exercise, method, the answer that it gives, and the codes of the right hint; None for a sound method.
METHODS: list[tuple[str, str, Callable[[Drawn, Answer], Answer | None], tuple[str, ...]]] = [
    ("key_points", "diode model (sound)", by_model, ()),
    ("key_points", "Pmax of a smooth (sound)", smooth, ()),
    ("key_points", "highest sample as Pmax", highest, ("highest_sample",)),
    ("key_points", "the same, rounded to two digits of ±", by_hand(highest), ("highest_sample",)),
    ("key_points", "mA read as A", scaled({"isc": 3, "pmax": 3}), ("unit",)),
    ("diode_parameters", "mA read as A", scaled({"i0": 3, "rs": -3, "rsh": -3}), ("unit",)),
    ("diode_parameters", "correlation forgotten", conditional, ("correlation",)),
    ("dark_curve", "unweighted fit", unweighted, ("unweighted",)),
    ("dark_curve", "the same, rounded to two digits of ±", by_hand(unweighted), ("unweighted",)),
    ("series_resistance", "slope at Voc alone", slope, ("slope_alone",)),
    ("detection_limit", "normal quantiles", normal_limits, ("normal_quantile",)),
    ("two_recipes", "not seen, so equal", no_difference, ("absence_of_evidence",)),
    ("translation", "irradiance as exact", exact_light, ("irradiance_u",)),
    ("translation", "not translated", measured, ("not_translated",)),
    ("translation", "wrong sign of ΔT", turned, ("sign_of_temperature",)),
    ("fault", "another fault", another_fault, ("fault",)),
]


def tried(one: Exercise, solved: Solved) -> Iterator[tuple[str, bool]]:
    """What is tried on the readings of a student, and whether it came out as it should."""
    answer = dict(solved.reference)
    case = Case(solved.drawn.readings, answer, all_handed(one, answer))
    yield "library: full marks", all(found.passed for found in judge(one, case, solved.drawn.truth))
    yield "library: passes the check", first_wrong(judge(one, case, None)) is None
    short = Case(case.readings, answer, all_handed(one, {name: rounded(given) for name, given in answer.items()}))
    yield "rounded to two digits of ±: full marks", all(found.passed for found in judge(one, short, solved.drawn.truth))
    for found in judge(one, case, solved.drawn.truth):
        if found.z is not None:
            high = half_interval(answer[found.quantity.name], 0.95)
            yield f"95 % interval of {found.quantity.name} holds the truth", abs(found.z) <= high
    if any(q.with_u for q in one.quantities):
        for name, change, code in (
            ("variance as ±", lambda e: e.u**2, "variance"),
            ("± a third", lambda e: e.u / 3, "too_small"),
            ("± four times", lambda e: 4 * e.u, "too_wide"),
            ("half of a 95 % interval", half, "interval_for_u"),
        ):
            if change is half and sum(q.with_u for q in one.quantities) < 2:
                continue
            yield name, is_told(one, solved, with_u(one, answer, change), (code,))
    for exercise, name, method, codes in METHODS:
        if exercise == one.name:
            wrong = method(solved.drawn, answer)
            if wrong is not None:
                yield name, is_told(one, solved, wrong, codes)


def rounded(given: Any) -> Any:
    """A figure and its ± with two digits of the ±, as it is written by hand."""
    if not isinstance(given, ld.Estimate):
        return given
    u = float(f"{given.u:.1e}")
    decimals = 1 - int(np.floor(np.log10(u)))
    return round(given.value, decimals), u


def half(given: ld.Estimate) -> float:
    """Half of the 95 % interval."""
    return given.u * half_interval(given, 0.95)


def is_told(one: Exercise, solved: Solved, answer: Answer, codes: tuple[str, ...]) -> bool:
    """Whether a student's check gives the right hint, or none where there are no codes."""
    found = first_wrong(judge(one, Case(solved.drawn.readings, solved.reference, all_handed(one, answer)), None))
    return found is None if not codes else found is not None and found.slip is not None and found.slip.code in codes


def shares(count: int, first: int = 0) -> dict[tuple[str, str], dict[bool, list[bool]]]:
    """Outcomes by exercise and what was tried, of the half that is aside and of the other."""
    teacher = ld.course.Instructor(SALT)
    found: dict[tuple[str, str], dict[bool, list[bool]]] = defaultdict(lambda: {False: [], True: []})
    for k in range(first, first + count):
        student = f"student {k}"
        for one in ALL.values():
            for name, outcome in tried(one, teacher._solved(student, one)):
                found[one.name, name][is_aside(student)].append(outcome)
    return found


def main() -> None:
    """Prints the table."""
    given = [int(word) for word in sys.argv[1:]]
    found = shares(*given or [100])
    print("| exercise | tried | chosen, % | aside, % | aside | of |\n|---|---|---|---|---|---|")
    for (exercise, name), halves in found.items():
        rest, aside = (100 * float(np.mean(halves[half])) if halves[half] else float("nan") for half in (False, True))
        print(f"| {exercise} | {name} | {rest:.1f} | {aside:.1f} | {sum(halves[True])} | {len(halves[True])} |")


if __name__ == "__main__":
    main()
