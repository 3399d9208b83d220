"""Docstrings of the public surface: they name every argument with its unit, no other, and their examples run."""

from __future__ import annotations

import doctest
import inspect
import re
from collections.abc import Iterator
from typing import Any

import pytest

import litdiode as ld
from litdiode import plots

# Endings of argument names, the longest first, and how a docstring writes the unit.
UNITS = {
    "_a_per_k": "A/K",
    "_v_per_k": "V/K",
    "_rel_per_k": "1/K",
    "_ohm_per_k": "Ω/K",
    "isc_per_k": "per kelvin",
    "_cm2": "cm²",
    "_w_m2": "W/m²",
    "_ohm": "Ω",
    "_ev": "eV",
    "_a": "A",
    "_v": "V",
    "_c": "°C",
    "_s": "s",
}


def public() -> Iterator[tuple[str, Any]]:
    """Everything in `litdiode.__all__`, of the course and of the pictures, every public method and property."""
    yield from ((f"plots.{name}", getattr(plots, name)) for name in plots.__all__)
    named = [(name, getattr(ld, name)) for name in ld.__all__]
    named += [(f"course.{name}", getattr(ld.course, name)) for name in ld.course.__all__]
    for name, thing in named:
        yield name, thing
        if inspect.isclass(thing) and not issubclass(thing, BaseException):
            members = {member: getattr(thing, member) for member in own(thing) if not member.startswith("_")}
            # The default of a dataclass's field is no member.
            documented = {m: x for m, x in sorted(members.items()) if callable(x) or inspect.isdatadescriptor(x)}
            yield from ((f"{name}.{member}", x) for member, x in documented.items())


def own(kind: type) -> set[str]:
    """Names that the class or a base of the package defines."""
    return {name for base in kind.__mro__ if base.__module__.startswith("litdiode") for name in vars(base)}


def arguments(thing: Any) -> list[str]:
    """The names that a caller may pass; those of a class are those of its constructor, where it has one."""
    if inspect.isclass(thing):
        made_by_hand = thing.__text_signature__ is not None or "__init__" in own(thing)
        if not made_by_hand or issubclass(thing, BaseException):
            return []
    return [name for name in inspect.signature(thing).parameters if name != "self"] if callable(thing) else []


def text_of(thing: Any) -> str:
    return inspect.cleandoc(thing.__doc__ or "")


def items(text: str) -> list[str]:
    """Paragraphs and entries of lists, without the blocks of equations and examples."""
    prose = re.sub(r"```.*?```", "", text, flags=re.DOTALL)
    return [" ".join(item.split()) for item in re.split(r"\n\s*\n|\n(?=- )", prose)]


# What has no example, with the reason.
WITHOUT_EXAMPLE = {
    "course.EXERCISES": "a tuple has the docstring of its type; the example of the course uses it",
}

PUBLIC = dict(public())
EXAMPLES = {name: text_of(thing) for name, thing in PUBLIC.items() if ">>>" in text_of(thing)}


@pytest.mark.parametrize("name", PUBLIC)
def test_a_docstring_names_every_argument_with_its_unit(name: str) -> None:
    text, names = text_of(PUBLIC[name]), arguments(PUBLIC[name])
    assert len(text) > 10
    for argument in names:
        about = [item for item in items(text) if f"`{argument}`" in item or f"`{argument}=" in item]
        assert about, f"{name} does not say what {argument} is"
        # A list of the class's own options says the unit where it is documented.
        unit = next((unit for ending, unit in UNITS.items() if argument.endswith(ending)), "")
        needed = re.compile(rf"(?<![\w/]){re.escape(unit)}(?![\w²])")
        assert any(needed.search(item) or "those of `" in item for item in about), f"{name}: {argument} in {unit}"


@pytest.mark.parametrize("name", [name for name in PUBLIC if arguments(PUBLIC[name])])
def test_a_list_of_arguments_holds_nothing_else(name: str) -> None:
    listed = [item.split(":")[0] for item in items(text_of(PUBLIC[name])) if item.startswith("- `")]
    found = {argument for head in listed for argument in re.findall(r"`(\w+)`", head)}
    assert found <= set(arguments(PUBLIC[name]))


@pytest.fixture
def pictures() -> Iterator[None]:
    """No window for the pictures, and none left open."""
    matplotlib = pytest.importorskip("matplotlib")
    matplotlib.use("Agg")
    from matplotlib import pyplot

    yield
    pyplot.close("all")


@pytest.mark.parametrize("name", EXAMPLES)
@pytest.mark.usefixtures("pictures")
def test_examples_run(name: str) -> None:
    # The line that closes a block is no output.
    text = re.sub(r"^\s*```.*$", "", EXAMPLES[name], flags=re.MULTILINE)
    example = doctest.DocTestParser().get_doctest(text, {}, name, None, 0)
    told: list[str] = []
    outcome = doctest.DocTestRunner(verbose=False).run(example, out=told.append)
    assert outcome.attempted == text.count(">>>") and outcome.failed == 0, "".join(told)


def needs_an_example(name: str) -> bool:
    """Public names of the package, of the course and of the pictures, and public methods with arguments."""
    bare = name.removeprefix("plots.").removeprefix("course.")
    return "." not in bare or (not inspect.isdatadescriptor(PUBLIC[name]) and bool(arguments(PUBLIC[name])))


def test_every_public_name_and_every_method_with_arguments_has_an_example() -> None:
    needed = {name for name in PUBLIC if needs_an_example(name)}
    assert len(needed) > 200
    assert needed - set(EXAMPLES) == set(WITHOUT_EXAMPLE)


def test_an_example_shows_a_result() -> None:
    ending = re.compile(r"^(?!>>>|\.\.\.|```).+\n```$", re.MULTILINE)
    silent = [name for name, text in EXAMPLES.items() if not ending.search(text)]
    assert silent == []
