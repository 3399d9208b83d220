"""The teaching notebooks of `python/notebooks`: each runs from a clean kernel, its checks refuse wrong answers and take
right ones, and what it hands in is what the course accepts.

One pass a notebook, as a student goes through it: every cell as it stands; at each answer first the answer left open,
then wrong ones, then the right one; the open answer again, so that the cells after it run as they do in a notebook
that nobody filled in. At the end the answer is handed in, with practice data and with a file of the instructor's,
predictions are written, and computations are spoilt.
"""

from __future__ import annotations

import asyncio
import concurrent.futures
import dataclasses
import os
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

import litdiode as ld

for needed in ("ipykernel", "ipywidgets", "matplotlib", "pandas", "scipy", "statsmodels"):
    pytest.importorskip(needed)
nbclient, nbformat = pytest.importorskip("nbclient"), pytest.importorskip("nbformat")

FOLDER = Path(__file__).parents[2] / "python" / "notebooks"
STUDENT = "0042"
#: The salt of the practice data, and one that a notebook cannot know.
PRACTICE, SECRET = "a practice salt that everybody knows", "an invented salt, for these tests"
#: The notebook with sliders.
SECOND = "02_diode_by_hand"
#: What runs before the first cell: a name that is looked up, or a connection that is opened, is an error.
NO_NETWORK = """
import socket
def refused(*given, **named):
    raise OSError("a notebook must run without a network")
socket.getaddrinfo = socket.create_connection = refused
"""
NO_WIDGETS = "import sys\nsys.modules['ipywidgets'] = None"
#: What the library makes of the readings of the handout, as an answer to hand in.
HANDED_IN = """
from litdiode.course.exercises import ALL as _all
_readings = handout.readings("{exercise}")
_found = _all["{exercise}"].reference(_readings)
answer = dict(_found)
"""


@dataclasses.dataclass(frozen=True)
class Answer:
    """One answer cell: code that answers it rightly, and wrong answers (code) with a word of what the check says."""

    right: str
    wrong: dict[str, str]
    #: The figure as a check prints it, which a student may type.
    printed: tuple[str, ...] = ()


@dataclasses.dataclass(frozen=True)
class Lab:
    """One notebook: its exercise, its answer cells in order, predictions that a student may write, what to spoil."""

    exercise: str
    answers: tuple[Answer, ...]
    predictions: tuple[str, ...]
    #: Code that spoils a computation, with words of the check that has to notice it.
    spoilt: dict[str, str]


def hand_in(exercise: str, wrong: dict[str, str]) -> Answer:
    """The last answer of a notebook; wrong ones are changes of the right one."""
    right = HANDED_IN.format(exercise=exercise)
    return Answer(right, {right + code: said for code, said in wrong.items()})


SCALED = "answer = {{k: (e.value, {0} * e.u) for k, e in _found.items()}}"
LABS = {
    "01_first_sweep": Lab(
        "key_points",
        (
            Answer(
                "my_ff = found.ff.value\n"
                "parts = [(e.u / e.value) ** 2 for e in (found.pmax, found.isc, found.voc)]\n"
                "my_u_if_independent = my_ff * sum(parts) ** 0.5",
                {
                    "my_ff = found.pmax.value / found.isc.value\nmy_u_if_independent = 0.004": "mind that Voc divides",
                    "my_ff = 63.5\nmy_u_if_independent = 0.4": "It lies between 0 and 1",
                    "my_ff = found.ff.value\nmy_u_if_independent = my_ff * sum(parts)": "without the root",
                    "my_ff = found.ff.value\nmy_u_if_independent = sum(parts) ** 0.5": "times FF",
                    "my_ff = found.ff.value\nmy_u_if_independent = found.ff.u": "term by term",
                },
                (
                    "my_ff, my_u_if_independent = 0.6345, 0.0043",
                    "my_ff, my_u_if_independent = 0.635, 0.0042",
                ),
            ),
            Answer(
                "my_sd_voc_v = voc_v.std(ddof=1)",
                {
                    "my_sd_voc_v = voc_v.var(ddof=1)": "variance",
                    "my_sd_voc_v = stated_u_v.mean()": "mean of the stated u",
                    "my_sd_voc_v = 1e3 * voc_v.std(ddof=1)": "in mV",
                    "my_sd_voc_v = voc_v.std()": "divides by N",
                    "my_sd_voc_v = 0.0015": "give more digits",
                    "my_sd_voc_v = 0.002": "from their mean",
                },
                ("my_sd_voc_v = 0.00145", "my_sd_voc_v = '0.00145'"),
            ),
            Answer('my_next_step = "better bias"', {'my_next_step = "more points"': "average the scatter alone"}),
            hand_in(
                "key_points",
                {
                    "answer['pmax'] = (max(mine.voltage_v * mine.current_a), 1e-5)": "highest sample",
                    SCALED.format(0.3): "too small",
                    "answer['isc'] = (1e3 * _found['isc'].value, 1e3 * _found['isc'].u)": "another unit",
                },
            ),
        ),
        ("0.62", "285", "204"),
        {
            "repeats = as_exact": "Did you change seeds or noise?",
            "with_u = as_exact": "must be wider",
        },
    ),
    "02_diode_by_hand": Lab(
        "dark_curve",
        (
            Answer(
                "a_v = 1.9 * k_j_per_k * 298.15 / q_c\n"
                "my_current_a = 600e-6 - 2e-9 * (np.exp(0.5 / a_v) - 1) - 0.5 / 9000\n"
                "my_voltage_v = 0.5 - my_current_a * 60",
                {
                    "my_current_a = 600e-6 - 2e-9 * np.expm1(0.5 / a_v)\nmy_voltage_v = 0.47": "shunt takes current",
                    "my_current_a = 600e-6 - 2e-9 * np.exp(0.5 / 0.0259) - 0.5 / 9000\nmy_voltage_v = 0.47": "Check a",
                    "my_current_a = 600e-6 - 2e-9 * np.expm1(0.5 / a_v) - 0.5 / 9000\n"
                    "my_voltage_v = 0.5 + my_current_a * 60": "costs voltage",
                    "my_current_a, my_voltage_v = 0.4883, 0.4707": "in mA",
                    "my_current_a, my_voltage_v = 488e-6, 470.7": "in mV",
                },
                (
                    "my_current_a, my_voltage_v = 488e-6, 0.4707",
                    "my_current_a, my_voltage_v = 488.3e-6, 0.4707",
                ),
            ),
            Answer(
                "my_device = ld.fit_single_diode(measured).model",
                {
                    "m = ld.fit_single_diode(measured).model\n"
                    "my_device = ld.SingleDiode(iph_a=1.05 * m.iph_a, i0_a=m.i0_a, n=m.n, rs_ohm=m.rs_ohm, "
                    "rsh_ohm=m.rsh_ohm)": "plateau",
                    "my_device = ld.SingleDiode(iph_a=m.iph_a, i0_a=3 * m.i0_a, n=m.n, rs_ohm=m.rs_ohm, "
                    "rsh_ohm=m.rsh_ohm)": "near Voc",
                    "my_device = (m.iph_a, m.i0_a)": "ld.SingleDiode",
                },
            ),
            Answer(
                "step_v, ratio = dark.voltage_v[high] - dark.voltage_v[low], size_a[high] / size_a[low]\n"
                "my_n = step_v / (thermal_v * np.log(ratio))",
                {
                    "my_n = step_v / (thermal_v * np.log10(ratio))": "natural logarithm",
                    "my_n = 2.0": "as printed",
                },
                (
                    "my_n = 1.557",
                    "my_n = 1.56",
                ),
            ),
            hand_in(
                "dark_curve",
                {
                    "_fit = ld.fit_single_diode(ld.Sweep(mine.voltage_v, mine.current_a, sign='generator', "
                    "leads='as_given'), fix={'iph': 0.0})\n"
                    "answer = {'n': _fit.n, 'i0': _fit.i0}": "weighs all readings alike"
                },
            ),
        ),
        ('dict(zip(prediction, ("isc", "voc", "voc", "ff", "ff")))',),
        {
            'largest["Rs · 2"] = "voc"': "Both resistances move FF most",
            "others[2.2] = others[1.9]": "more than a factor of ten",
        },
    ),
    "03_fit_step_by_step": Lab(
        "diode_parameters",
        (
            Answer(
                "my_reduced_chi2 = np.sum((fit.residuals / sigma_v) ** 2) / (len(sweep) - 5)",
                {
                    "my_reduced_chi2 = fit.chi2": "degrees of freedom",
                    "my_reduced_chi2 = fit.chi2 / 25": "Divided by N",
                    "my_reduced_chi2 = np.sum(fit.residuals**2) / 20": "σ = 3 mV",
                },
                ("my_reduced_chi2 = 0.73",),
            ),
            Answer(
                "my_u_n_alone = u_of[2] / np.linalg.inv(fit.correlation)[2, 2] ** 0.5",
                {
                    "my_u_n_alone = u_of[2]": "all parameters free",
                    "my_u_n_alone = u_of[2] / np.linalg.inv(fit.correlation)[2, 2]": "correlation matrix",
                },
                ("my_u_n_alone = 0.00199",),
            ),
            hand_in(
                "diode_parameters",
                {
                    "from litdiode.course.exercises.diode_parameters import conditional_u\n"
                    "_u = conditional_u(ld.fit_single_diode(mine))\n"
                    "answer = {k: (e.value, _u[k]) for k, e in _found.items()}": "if all other parameters were known"
                },
            ),
        ),
        ("20", "10", '["rs"]', "True", "False"),
        {
            'support["one diode", "bench"] = support["two diodes", "bench"]': "claimed where there is none",
            'holding["default"] = 50': "hold too seldom",
            "theta = 1.01 * theta": "has not reached the minimum",
        },
    ),
    "04_series_resistance": Lab(
        "series_resistance",
        (
            Answer(
                "parabola = np.polyfit(first_a, first_v, 2)\nmy_slope_ohm = -parabola[1]\n"
                "my_rs_ohm = my_slope_ohm - 1.9 * thermal_v / lit.key_points().isc.value",
                {
                    "my_slope_ohm = parabola[1]\nmy_rs_ohm = 60": "above 0",
                    "my_slope_ohm = -parabola[1]\nmy_rs_ohm = my_slope_ohm": "the slope itself",
                    "my_slope_ohm = -parabola[1]\nmy_rs_ohm = my_slope_ohm - 1.9 * thermal_v": "V divided by A",
                },
                (
                    "my_slope_ohm, my_rs_ohm = 133, 51",
                    "my_slope_ohm, my_rs_ohm = 133, 52",
                ),
            ),
            Answer(
                'my_method = "diode fit, lit"',
                {'my_method = "lit against dark"': "dark resistance", 'my_method = "slope at Voc"': "open circuit"},
            ),
            hand_in(
                "series_resistance",
                {
                    "answer['rs_slope'] = ld.resistances(mine).slope_at_voc": "resistance of its own",
                    "answer['rs_slope'] = _found['rs_fit']": "once more",
                },
            ),
        ),
        ('"diode"', '["slope at Voc", "diode fit, lit"]'),
        {'cases["Rsh 1 MΩ"] = cases["Rsh 9.3 kΩ"]': "The slope at Voc must be nearer"},
    ),
    "05_noise_and_limits": Lab(
        "detection_limit",
        (
            Answer(
                "my_single_noise_v = of_mean_v * 8**0.5",
                {
                    "my_single_noise_v = of_mean_v * 8": "not 8 times",
                    "my_single_noise_v = of_mean_v / 8**0.5": "scatters more than a mean",
                    "my_single_noise_v = of_mean_v": "mean of m = 8",
                },
                ("my_single_noise_v = 0.00300",),
            ),
            Answer(
                "my_critical_a = stats.t.ppf(0.95, 7) * blank_a.std(ddof=1) * (9 / 8) ** 0.5",
                {
                    "my_critical_a = 1.6449 * blank_a.std(ddof=1) * (9 / 8) ** 0.5": "Student's",
                    "my_critical_a = stats.t.ppf(0.95, 7) * blank_a.std(ddof=1)": "mean of the blanks scatters",
                    "my_critical_a = stats.t.ppf(0.95, 7) * blank_a.std() * (9 / 8) ** 0.5": "ddof=1",
                    "my_critical_a = 3 * blank_a.std(ddof=1)": "In A",
                },
                ("my_critical_a = 248e-9",),
            ),
            Answer(
                "my_factor = (1 - 0.75 * budget.contributions[0][2]) ** 0.5",
                {
                    "my_factor = 0.5": "the other sources stay",
                    "my_factor = 1 - 0.75 * budget.contributions[0][2]": "factor of u²",
                    "my_factor = 0.9": "the area's share",
                },
                (
                    "my_factor = 0.728",
                    "my_factor = 0.73",
                ),
            ),
            hand_in(
                "detection_limit",
                {
                    "answer['critical'] = 1.645 * _found['scatter'].value * 1.1**0.5": "normal distribution",
                    "answer['detection'] = 3 * _found['scatter'].value": "rule of thumb",
                },
            ),
        ),
        ("15", "8", "10"),
        {
            "estimates_v = 1.2 * estimates_v": "was its noise changed?",
            'false_share["Currie, Student\'s t"] = 0.08': "must be called something",
            "scatter = 0.1": "must be near the promise",
        },
    ),
    "06_plan_your_sweep": Lab(
        "fault",
        (
            Answer(
                "my_best_a = grid_a[np.argmin(u_after)]",
                {
                    "my_best_a = grid_a[np.argmax(u_after)]": "least worth",
                    "my_best_a = 1e-4": "Where is u_after smallest",
                },
            ),
            Answer(
                "p = plan.figures['ff']\nmy_points = round(25 * (p.u / p.value / 0.0015) ** 2)",
                {
                    "my_points = 25 * p.u / p.value / 0.0015": "falls with N",
                    "my_points = 100": "relative",
                    "my_points = ld.points_needed(fit, 0.0015, target='ff', step=1e-6)": "several counts",
                },
            ),
            hand_in("fault", {"answer['fault'] = 'none' if _found['fault'] != 'none' else 'bias'": "Another fault"}),
        ),
        ('"knee"', '"Isc"', "2", "12"),
        {
            "u_now = 2 * u_now": "Both u(FF) must agree",
            "ratio = 1.0": "gain must agree",
            "values = [true_ff + 2 * (v - true_ff) for v in values]": "as good as it says",
        },
    ),
    "07_two_recipes": Lab(
        "two_recipes",
        (
            Answer(
                "my_difference = eta_a.mean() - eta_b.mean()\n"
                "my_u_difference = (eta_a.var(ddof=1) / 5 + eta_b.var(ddof=1) / 5) ** 0.5",
                {
                    "my_difference = eta_b.mean() - eta_a.mean()\nmy_u_difference = 1e-4": "not B less A",
                    "my_difference = eta_a.mean() - eta_b.mean()\n"
                    "my_u_difference = (eta_a.var(ddof=1) + eta_b.var(ddof=1)) ** 0.5": "means of five",
                    "my_difference = eta_a.mean() - eta_b.mean()\n"
                    "my_u_difference = (eta_a.var() / 5 + eta_b.var() / 5) ** 0.5": "ddof=1",
                },
                ("my_difference, my_u_difference = 0.00052, 0.00024",),
            ),
            Answer(
                "my_p = comparison.p_exact",
                {"my_p = comparison.p_exact / 2": "one side", "my_p = comparison.p_welch": "what is compared"},
                ("my_p = 0.063",),
            ),
            Answer(
                "my_cells = ld.cells_needed(0.06 / 0.055)",
                {"my_cells = ld.cells_needed(0.055 / 0.06)": "other way round", "my_cells = 5": "What is d"},
            ),
            Answer('my_plan = "6 batches of 2"', {'my_plan = "3 batches of 4"': "number of batches"}),
            hand_in(
                "two_recipes",
                {
                    "answer['difference'] = (_found['difference'].value, 6**0.5 * _found['difference'].u)": "of single",
                    "answer['verdict'] = 'equivalent' if _found['verdict'] != 'equivalent' else 'different'": "verdict",
                },
            ),
        ),
        ('"cannot say"', "300", "20"),
        {
            'shares[0.06, 5, "different"] = 0.9': "less than half",
            "false_batches = 0.3": "counting batches",
        },
    ),
    "08_temperature_and_translation": Lab(
        "translation",
        (
            Answer(
                "my_theory_v_per_k = -(1.12 + 3 * 0.025693 - cold) / 298.15",
                {
                    "my_theory_v_per_k = (1.12 + 3 * 0.025693 - cold) / 298.15": "negative",
                    "my_theory_v_per_k = -(1.12 + 3 * 0.025693 - cold) / 25": "kelvin",
                    "my_theory_v_per_k = -0.0023": "Which numbers stand",
                },
                ("my_theory_v_per_k = -1.94e-3",),
            ),
            Answer(
                "p = procedure\nmy_i2_a = i1 + isc1 * 0.25 + p.alpha.value * -23\n"
                "my_v2_v = v1 - p.rs.value * (my_i2_a - i1) - p.kappa.value * my_i2_a * -23 + p.beta.value * -23",
                {
                    "my_i2_a = i1 * 1.25\nmy_v2_v = 0.53": "does not multiply",
                    "my_i2_a = i1 + isc1 * 0.25 + p.alpha.value * 23\nmy_v2_v = 0.53": "which is negative",
                    "my_i2_a = i1 + isc1 * 0.25 + p.alpha.value * -23\n"
                    "my_v2_v = v1 + p.beta.value * -23": "term by term",
                    "my_i2_a, my_v2_v = 365.42, 0.5372": "in µA",
                },
                ("my_i2_a, my_v2_v = 365.42e-6, 0.5372",),
            ),
            Answer(
                "b = translated.sweep.budget('pmax').contributions\nmy_largest = 'irradiance'\n"
                "my_rest_percent = 100 * found.pmax.u / found.pmax.value * (1 - b[0][2]) ** 0.5",
                {
                    "my_largest = 'beta'\nmy_rest_percent = 1": "shares of u²",
                    "my_largest = 'irradiance'\n"
                    "my_rest_percent = 100 * found.pmax.u / found.pmax.value * (1 - b[0][2])": "asked is u",
                },
            ),
            hand_in(
                "translation",
                {
                    "answer = {k: getattr(mine.key_points(), k) for k in answer}": "as it was measured",
                    SCALED.format(0.2): "too small",
                },
            ),
        ),
        ("-44", '["voc"]', "50"),
        {
            "voc = voc[::-1]": "A line by numpy and the library",
            'holding["irradiance with its ±"] = 50': "at least 88",
            "shift_v = 0.0": "about 2·β",
        },
    ),
}


def test_every_notebook_is_tested() -> None:
    assert sorted(path.stem for path in FOLDER.glob("*.ipynb")) == list(LABS)
    assert sorted(lab.exercise for lab in LABS.values()) == sorted(ld.course.EXERCISES)


def cells_of(name: str, tag: str) -> list[Any]:
    return [cell for cell in notebook(name).cells if tag in cell.metadata.get("tags", [])]


def notebook(name: str) -> Any:
    return nbformat.read(FOLDER / f"{name}.ipynb", as_version=4)


# As it is stored


@pytest.mark.parametrize("name", LABS)
def test_outputs_are_stripped(name: str) -> None:
    found = notebook(name)
    nbformat.validate(found)
    assert found.metadata == {
        "kernelspec": {"display_name": "Python 3", "language": "python", "name": "python3"},
        "language_info": {"name": "python"},
    }
    for cell in found.cells:
        assert set(cell.metadata) <= {"tags"}
        if cell.cell_type == "code":
            assert cell.outputs == [] and cell.execution_count is None


@pytest.mark.parametrize("name", LABS)
def test_a_notebook_says_what_it_needs_and_what_it_does_not_show(name: str) -> None:
    texts = [cell.source for cell in notebook(name).cells if cell.cell_type == "markdown"]
    for said in ("**Time:**", "**What you need to know:**", "**What you will be able to do:**", "data are invented"):
        assert said in texts[0]
    assert texts[-1].startswith("## What this lab does not show") or "\n## What this lab does not show" in texts[-1]
    assert "## Question" in "\n".join(texts)


@pytest.mark.parametrize("name", LABS)
def test_answers_and_predictions_are_left_open_and_used(name: str) -> None:
    code = [cell.source for cell in notebook(name).cells if cell.cell_type == "code"]
    for cell in cells_of(name, "answer") + cells_of(name, "prediction"):
        given = re.findall(r"^(\w+) = |^    \"[^\"]+\": (\w+),", cell.source, re.MULTILINE)
        assert given
        for variable, value in given:
            assert not variable or re.search(rf"^{variable} = (None|{{)", cell.source, re.MULTILINE)
            assert not value or value == "None"
            # Somewhere it is read.
            assert not variable or sum(variable in other for other in code) > 1
    assert len(cells_of(name, "answer")) == len(LABS[name].answers)


# As it runs


@dataclasses.dataclass
class Trial:
    """What a check made of one answer: the error that it raised, or None, and what was printed."""

    error: str | None
    printed: str


@dataclasses.dataclass
class Pass:
    """What came of one pass through a notebook."""

    outputs: dict[str, list[Any]] = dataclasses.field(default_factory=dict)
    untouched: list[Trial] = dataclasses.field(default_factory=list)
    wrong: dict[str, Trial] = dataclasses.field(default_factory=dict)
    more: dict[str, Trial] = dataclasses.field(default_factory=dict)
    right: list[Trial] = dataclasses.field(default_factory=list)
    printed: dict[str, Trial] = dataclasses.field(default_factory=dict)
    no_number: dict[str, Trial] = dataclasses.field(default_factory=dict)
    handed_in: str = ""
    with_predictions: list[Trial] = dataclasses.field(default_factory=list)
    spoilt: dict[str, Trial] = dataclasses.field(default_factory=dict)
    of_own_file: list[Trial] = dataclasses.field(default_factory=list)
    handed_in_of_own_file: str = ""
    refused: Trial | None = None
    handed_in_though_refused: str = ""
    neighbours: list[Trial] = dataclasses.field(default_factory=list)


class Student:
    """A kernel, and the cells of one notebook in it."""

    def __init__(self, client: Any, cells: list[Any], folder: Path) -> None:
        self._client, self._cells, self._folder = client, cells, folder

    async def run(self, source: str) -> Trial:
        """Runs code as a cell of its own."""
        cell = nbformat.v4.new_code_cell(source)
        # The client wants a place for it in the notebook.
        self._client.nb.cells.append(cell)
        try:
            await self._client.async_execute_cell(cell, len(self._client.nb.cells) - 1)
        except nbclient.exceptions.CellExecutionError as error:
            return Trial(f"{error.ename}: {error.evalue}", printed(cell.outputs))
        finally:
            self._client.nb.cells.pop()
        return Trial(None, printed(cell.outputs))

    async def must(self, source: str) -> Trial:
        found = await self.run(source)
        assert found.error is None, f"{found.error}\n{source}"
        return found

    def tagged(self, tag: str, after: int = 0) -> int:
        """The place of the next cell with a tag."""
        return next(k for k in range(after, len(self._cells)) if tag in self._cells[k].metadata.get("tags", []))

    def source(self, place: int) -> str:
        return str(self._cells[place].source)

    def file(self, name: str) -> Path:
        return self._folder / name


def printed(outputs: list[Any]) -> str:
    return "".join(one.text for one in outputs if one.output_type == "stream")


async def go_through(name: str, lab: Lab, folder: Path, first: str = NO_NETWORK) -> Pass:
    """One pass: see the docstring of this file."""
    found, book = Pass(), notebook(name)
    # What the kernel says of itself, such as of its ports, belongs into no report.
    quiet = ["--log-level=ERROR"]
    where = {"metadata": {"path": str(folder)}}
    client = nbclient.NotebookClient(book, timeout=120, kernel_name="python3", resources=where, extra_arguments=quiet)
    async with client.async_setup_kernel():
        student = Student(client, list(book.cells), folder)
        await student.must(first)
        answers = iter(lab.answers)
        open_answer: tuple[int, Answer] | None = None
        for k, cell in enumerate(list(book.cells)):
            tags = cell.metadata.get("tags", [])
            if cell.cell_type != "code":
                continue
            await client.async_execute_cell(cell, k)
            found.outputs[cell.id] = cell.outputs
            if "answer" in tags:
                open_answer = k, next(answers)
            elif "check" in tags and open_answer is not None:
                found.untouched.append(Trial(None, printed(cell.outputs)))
                await _try(student, found, *open_answer, cell.source)
                open_answer = None
        await _hand_in(student, found, lab, name)
        await _predict(student, found, lab)
        for code, said in lab.spoilt.items():
            (check,) = [cell.source for cell in cells_of(name, "check") if said in cell.source]
            await student.must(code)
            found.spoilt[code] = await student.run(check)
    return found


async def _try(student: Student, found: Pass, place: int, answer: Answer, check: str) -> None:
    """Wrong answers and the right one, then the open one again."""
    await student.must(answer.right)
    for code in answer.wrong:
        await student.must(code)
        found.wrong[code] = await student.run(check)
        if "more = True" in str(found.wrong[code].error):
            await student.must(f"{code}\nmore = True")
            found.more[code] = await student.run(check)
            await student.must("more = False")
    for code in answer.printed:
        await student.must(code)
        found.printed[code] = await student.run(check)
    for variable in re.findall(r"^(\w+) = None", student.source(place), re.MULTILINE):
        await student.must(answer.right)
        if "number" in (await student.must(f"print('number' if {variable} != str({variable}) else 'word')")).printed:
            for given in ("'1.4 mV'", "(1.56, 0.01)", "True", "[1.0]"):
                await student.must(f"{variable} = {given}")
                found.no_number[f"{variable} = {given}"] = await student.run(check)
    await student.must(answer.right)
    found.right.append(await student.run(check))
    await student.must(student.source(place))


async def _hand_in(student: Student, found: Pass, lab: Lab, name: str) -> None:
    """The right answer is handed in; then a file of the instructor's lies beside the notebook."""
    handout, last = student.tagged("handout"), student.tagged("hand-in")
    answers = student.file(f"answers_{STUDENT}_{name[:2]}.csv")
    assert not answers.exists()
    await student.must(lab.answers[-1].right)
    await student.must(student.source(last))
    found.handed_in = answers.read_text(encoding="utf-8")
    text = ld.course.Instructor(SECRET).handout(STUDENT, [lab.exercise]).to_json()
    student.file(f"handout_{STUDENT}.json").write_text(text, encoding="utf-8")
    check = student.tagged("check", handout)
    found.of_own_file = [await student.run(student.source(handout)), await student.run(lab.answers[-1].right)]
    found.of_own_file += [await student.run(student.source(k)) for k in (check, last)]
    found.handed_in_of_own_file = answers.read_text(encoding="utf-8")
    await student.must(next(iter(lab.answers[-1].wrong)))
    found.refused = await student.run(student.source(last))
    found.handed_in_though_refused = answers.read_text(encoding="utf-8")
    answers.unlink()
    text = ld.course.Instructor(SECRET).handout("0007", [lab.exercise]).to_json()
    student.file(f"handout_{STUDENT}.json").write_text(text, encoding="utf-8")
    found.neighbours = [await student.run(student.source(k)) for k in (handout, last)]
    assert not answers.exists()


async def _predict(student: Student, found: Pass, lab: Lab) -> None:
    """Predictions are written, and the cells that read them run again."""
    cells = [cell.source for cell in student._cells if cell.cell_type == "code"]
    written = re.findall(r"^(\w+) = ", "\n".join(c.source for c in student._cells if "prediction" in tags_of(c)), re.M)
    assert len(written) == len(lab.predictions)
    for variable, value in zip(written, lab.predictions, strict=True):
        await student.must(f"{variable} = {value}")
    readers = [c for c in cells if any(re.search(rf"\b{v}\b(?! = )", c) for v in written)]
    found.with_predictions = [await student.run(source) for source in readers]


def tags_of(cell: Any) -> list[str]:
    return list(cell.metadata.get("tags", []))


@pytest.fixture(scope="module")
def passes(
    request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory
) -> Iterator[dict[str, concurrent.futures.Future[Pass]]]:
    """Each notebook that is asked for in a kernel and a folder of its own, two at a time; the second also without
    ipywidgets."""
    asked = [item for item in request.session.items if "passes" in getattr(item, "fixturenames", ())]
    names = {item.callspec.params["name"] for item in asked if hasattr(item, "callspec")}
    both = any(not hasattr(item, "callspec") for item in asked)
    home = tmp_path_factory.mktemp("jupyter")
    # Neither kernels nor start-up files of whoever runs the tests.
    own = {name: str(home / name.lower()) for name in ("IPYTHONDIR", "JUPYTER_CONFIG_DIR", "JUPYTER_RUNTIME_DIR")}
    own |= {"JUPYTER_DATA_DIR": str(home / "data"), "JUPYTER_PREFER_ENV_PATH": "1", "JUPYTER_PLATFORM_DIRS": "1"}
    # The package that is tested, wherever a kernel starts.
    own["PYTHONPATH"] = os.pathsep.join([str(Path(ld.__file__).parents[1]), os.environ.get("PYTHONPATH", "")]).rstrip(
        ":;"
    )
    with pytest.MonkeyPatch.context() as patch:
        for name, value in own.items():
            patch.setenv(name, value)
        # Figures belong into the notebook, whatever the tests draw with.
        patch.delenv("MPLBACKEND", raising=False)
        with concurrent.futures.ThreadPoolExecutor(min(2, os.cpu_count() or 1)) as pool:
            running = {
                name: pool.submit(asyncio.run, go_through(name, lab, tmp_path_factory.mktemp(name)))
                for name, lab in LABS.items()
                if name in names or (both and name == SECOND)
            }
            if both:
                folder, first = tmp_path_factory.mktemp("hidden"), f"{NO_NETWORK}\n{NO_WIDGETS}"
                running["hidden"] = pool.submit(asyncio.run, go_through(SECOND, LABS[SECOND], folder, first))
            yield running
            for one in running.values():
                one.cancel()


@pytest.mark.parametrize("name", LABS)
def test_a_notebook_runs_from_a_clean_kernel_and_shows_no_warning(
    name: str, passes: dict[str, concurrent.futures.Future[Pass]]
) -> None:
    found = passes[name].result()
    for outputs in found.outputs.values():
        assert not [one.text for one in outputs if one.output_type == "stream" and one.name == "stderr"]
    pictures = sum("image/png" in one.get("data", {}) for outputs in found.outputs.values() for one in outputs)
    assert pictures >= 2
    # A figure shows itself, and no leftover of the call that made it.
    for outputs in found.outputs.values():
        assert not [
            one for one in outputs if "matplotlib" in str(one.get("data", {}).get("text/plain", "")).split(".")[0]
        ]


@pytest.mark.parametrize("name", LABS)
def test_an_open_answer_is_told_and_no_error(name: str, passes: dict[str, concurrent.futures.Future[Pass]]) -> None:
    found = passes[name].result()
    assert len(found.untouched) == len(LABS[name].answers)
    assert all("OPEN:" in one.printed for one in found.untouched)


@pytest.mark.parametrize("name", LABS)
def test_wrong_answers_are_refused_with_a_hint(name: str, passes: dict[str, concurrent.futures.Future[Pass]]) -> None:
    found = passes[name].result()
    for answer in LABS[name].answers:
        for code, said in answer.wrong.items():
            trial = found.wrong[code]
            assert trial.error is not None, f"{code}\npassed the check"
            assert trial.error.startswith(("AssertionError", "CheckFailed")) and said in trial.error, code


@pytest.mark.parametrize("name", LABS)
def test_a_computation_gone_wrong_is_noticed(name: str, passes: dict[str, concurrent.futures.Future[Pass]]) -> None:
    found = passes[name].result()
    for code, said in LABS[name].spoilt.items():
        error = found.spoilt[code].error
        assert error is not None and error.startswith("AssertionError") and said in error, code


@pytest.mark.parametrize("name", LABS)
def test_right_answers_pass(name: str, passes: dict[str, concurrent.futures.Future[Pass]]) -> None:
    for trial in passes[name].result().right:
        assert trial.error is None and "OPEN" not in trial.printed
        assert re.search(r"Right|A match|agrees with your readings", trial.printed)


@pytest.mark.parametrize("name", LABS)
def test_figures_pass_as_they_are_printed(name: str, passes: dict[str, concurrent.futures.Future[Pass]]) -> None:
    for code, trial in passes[name].result().printed.items():
        assert trial.error is None, f"{code}\n{trial.error}"


@pytest.mark.parametrize("name", LABS)
def test_what_is_no_number_is_told(name: str, passes: dict[str, concurrent.futures.Future[Pass]]) -> None:
    found = passes[name].result().no_number
    assert found
    for code, trial in found.items():
        assert trial.error is not None and trial.error.startswith("AssertionError"), f"{code}\n{trial.error}"
        assert re.search("is no number|ld.SingleDiode", trial.error), f"{code}\n{trial.error}"


@pytest.mark.parametrize("name", LABS)
def test_a_hint_says_more_when_it_is_asked(name: str, passes: dict[str, concurrent.futures.Future[Pass]]) -> None:
    found = passes[name].result()
    assert found.more
    for code, trial in found.more.items():
        first = str(found.wrong[code].error).removesuffix(" (more = True says more.)")
        assert trial.error is not None and trial.error != first and "more = True" not in trial.error, code


@pytest.mark.parametrize("name", LABS)
def test_a_hand_in_says_whether_it_was_refused(name: str, passes: dict[str, concurrent.futures.Future[Pass]]) -> None:
    found = passes[name].result()
    assert found.refused is not None and found.refused.error is None
    assert "THE CHECK REFUSES THIS ANSWER" in found.refused.printed
    assert not any("REFUSES" in one.printed for one in found.of_own_file)
    marks = ld.course.Instructor(SECRET).mark(STUDENT, ld.course.read_answers(found.handed_in_though_refused)[STUDENT])
    assert marks.points < marks.most


@pytest.mark.parametrize("name", LABS)
def test_a_neighbours_file_is_refused(name: str, passes: dict[str, concurrent.futures.Future[Pass]]) -> None:
    found = passes[name].result().neighbours
    assert len(found) == 2
    for trial in found:
        assert trial.error is not None and trial.error.startswith("AssertionError")
        assert "number 0007, not of 0042" in trial.error


@pytest.mark.parametrize("name", LABS)
def test_predictions_may_be_written(name: str, passes: dict[str, concurrent.futures.Future[Pass]]) -> None:
    trials = passes[name].result().with_predictions
    assert trials and not [one.error for one in trials if one.error]


@pytest.mark.parametrize("name", LABS)
def test_what_is_handed_in_is_what_the_course_accepts(
    name: str, passes: dict[str, concurrent.futures.Future[Pass]]
) -> None:
    found, exercise = passes[name].result(), LABS[name].exercise
    assert not [one.error for one in found.of_own_file if one.error]
    assert "practice data" not in found.of_own_file[0].printed
    for salt, text in ((PRACTICE, found.handed_in), (SECRET, found.handed_in_of_own_file)):
        answers = ld.course.read_answers(text)
        assert list(answers) == [STUDENT] and list(answers[STUDENT]) == [exercise]
        marks = ld.course.Instructor(salt).mark(STUDENT, answers[STUDENT], [exercise])
        assert marks.points == marks.most > 0
    assert found.handed_in != found.handed_in_of_own_file or exercise == "fault"


def test_sliders_give_way_to_a_picture(passes: dict[str, concurrent.futures.Future[Pass]]) -> None:
    (cell,) = cells_of(SECOND, "sliders")
    shown = {name: passes[name].result().outputs[cell.id] for name in (SECOND, "hidden")}
    kinds = {name: {kind for one in outputs for kind in one.get("data", {})} for name, outputs in shown.items()}
    assert "application/vnd.jupyter.widget-view+json" in kinds[SECOND]
    assert "image/png" in kinds["hidden"] and "application/vnd.jupyter.widget-view+json" not in kinds["hidden"]
    assert "ipywidgets is not installed" in printed(shown["hidden"])
