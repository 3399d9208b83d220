"""The held-out files themselves: every expected number stands in the file, found by a path that shares no code."""

import itertools
import re
import sys
from collections import Counter
from collections.abc import Iterator
from decimal import Decimal
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parents[1] / "corpus"))

from held_out import files
from parts import CorpusFile, Expected

FILES = list(files())
READABLE = [f for f in FILES if f.refused is None]
SWEEPS = [(f, s) for f in READABLE for s in f.sweeps]
# Options of the reader, as its users know them.
OPTIONS = {"voltage", "current", "columns", "voltage_unit", "current_unit", "decimal", "encoding"} | {
    "area_cm2",
    "sign",
    "leads",
}
NUMBER = re.compile(r"[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?")
UNIT = re.compile(r"\s?([mµunk]?)[VA]\b")
PREFIX = {"": 0, "m": -3, "µ": -6, "u": -6, "n": -9, "k": 3}
Rows = list[list[Decimal]]
# A table folded into two halves is read half by half, not line by line.
FOLDED = "folded.txt"


def decoded(data: bytes) -> str:
    """The text; figures and signs are the same in every eight-bit encoding."""
    if data[:2] in (b"\xff\xfe", b"\xfe\xff"):
        return data.decode("utf-16")
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError:
        return data.decode("latin-1")


def spellings(text: str) -> Iterator[str]:
    """The text with its numbers respelt with a decimal point, for each way to write numbers."""
    text = re.sub(r"\x1b\[\d*m", " ", text).replace("−", "-").replace("·", ".")
    text = re.sub(r"(?<=\d)D(?=[-+]\d)", "E", text)
    text = re.sub(r" × 10\^(?=-?\d)", "e", text)
    yield text
    yield re.sub(r"(?<=\d),(?=\d)", ".", text)
    yield re.sub(r"(?<=\d),(?=\d)", ".", re.sub(r"(?<=\d)[.\u202f](?=\d{3}(?!\d))", "", text))
    yield re.sub(r"(?<=\d)['\u2009](?=\d)", "", text)


def rows(text: str, with_units: bool) -> Rows:
    """The numbers of every line; `with_units` multiplies each by the prefix of the unit behind it."""
    lines = []
    for line in re.split(r"[\r\n]+", text):
        numbers = []
        for found in NUMBER.finditer(line):
            unit = UNIT.match(line, found.end()) if with_units else None
            numbers.append(Decimal(found[0]).scaleb(PREFIX[unit[1]] if unit else 0))
        if numbers:
            lines.append(numbers)
    return lines


def spots(numbers: Rows, values: list[float], factor: Decimal) -> list[set[tuple[int, int]]]:
    """For every value the lines and places of the numbers that mean it; nothing when one value is nowhere."""
    places: dict[float, set[tuple[int, int]]] = {}
    for k, line in enumerate(numbers):
        for j, x in enumerate(line):
            places.setdefault(float(x * factor), set()).add((k, j))
    return [places[x] for x in values] if all(x in places for x in values) else []


def in_order(places: list[set[tuple[int, int]]]) -> bool:
    """Whether one place of each set can be picked so that they follow one another in the file."""
    last = (-1, -1)
    for options in places:
        later = [p for p in options if p > last]
        if not later:
            return False
        last = min(later)
    return True


def paired(volts: list[set[tuple[int, int]]], amperes: list[set[tuple[int, int]]], ordered: bool) -> bool:
    """Whether voltage and current of each reading stand in one line, the lines in order."""
    last = 0
    for v, i in zip(volts, amperes, strict=True):
        common = {a for (a, x), (b, y) in itertools.product(v, i) if a == b and x != y}
        later = [k for k in common if k >= last] if ordered else list(common)
        if not later:
            return False
        last = min(later)
    return True


def areas(file: CorpusFile, sweep: Expected) -> set[Decimal]:
    """Factors by which a current density may have been multiplied."""
    return {Decimal(1)} | {Decimal(str(x)) for k, x in sweep.options.items() if k == "area_cm2"}


def found_in(file: CorpusFile, sweep: Expected) -> str | None:
    """How a sweep stands in the file: "lines", "columns", "folded", or None when it does not."""
    for text, with_units in itertools.product(spellings(decoded(file.data)), (False, True)):
        numbers = rows(text, with_units)
        signs = (Decimal(1), Decimal(-1))
        v_factors = [s.scaleb(p) for s in signs for p in (0, -3, 3)]
        i_factors = [s.scaleb(p) * a for s in signs for p in (0, -3, -6, -9) for a in areas(file, sweep)]
        volts = [v for f in v_factors if (v := spots(numbers, sweep.voltage_v, f))]
        amperes = [i for f in i_factors if volts and (i := spots(numbers, sweep.current_a, f))]
        for v, i in itertools.product(volts, amperes):
            if paired(v, i, ordered=True):
                return "lines"
            if in_order(v) and in_order(i):
                return "columns"
            if paired(v, i, ordered=False):
                return "folded"
    return None


@pytest.mark.parametrize(("file", "sweep"), SWEEPS, ids=[f"{f.name}-{k}" for k, (f, _) in enumerate(SWEEPS)])
def test_every_reading_stands_in_the_file(file: CorpusFile, sweep: Expected):
    how = found_in(file, sweep)
    assert how is not None
    assert (how == "folded") == file.name.endswith(FOLDED)


def test_a_wrong_expectation_is_found():
    file, sweep = next((f, s) for f, s in SWEEPS if f.kind == "serial log")
    wrong = [*sweep.current_a[:-1], sweep.current_a[-1] * 1.001]
    assert found_in(file, Expected(None, sweep.voltage_v, wrong)) is None
    assert found_in(file, Expected(None, sweep.voltage_v[::-1], sweep.current_a)) != "lines"


@pytest.mark.parametrize("file", READABLE, ids=lambda f: f.name)
def test_every_option_stands_in_the_file(file: CorpusFile):
    factors = {
        "area_cm2": ["1", "0.01", "10000"],
        "irradiance_w_m2": ["1", "10", "1000"],
        "temperature_c": ["1"],
        "cells": ["1"],
    }
    tokens = {x for text in spellings(decoded(file.data)) for line in rows(text, False) for x in line}
    grouped = {Decimal(t.replace(",", "")) for t in re.findall(r"\d{1,3},\d{3}", decoded(file.data))}
    for sweep in file.sweeps:
        for name, value in sweep.options.items():
            assert name in factors
            if name in (file.needs or {}):
                continue
            meant = {float(x * Decimal(f)) for x in tokens | grouped for f in factors[name]}
            kelvin = {float(x - Decimal("273.15")) for x in tokens} if name == "temperature_c" else set()
            assert value in meant | kelvin


def every_decoding(data: bytes) -> str:
    """The text in each encoding that fits, one after the other."""
    texts = [decoded(data)]
    for encoding in ("cp1252", "cp437", "cp1250"):
        texts.append(data.decode(encoding, errors="replace"))
    return "\n".join(texts)


def test_labels_stand_in_the_file_and_are_told_apart():
    for file in READABLE:
        labels = [s.label for s in file.sweeps if s.label is not None]
        assert len(set(labels)) == len(labels)
        assert not labels or len(file.sweeps) > 1
        text = every_decoding(file.data)
        assert all(label in text for label in labels), file.name


def test_signs_are_those_of_a_generator():
    dark = 0
    for file, sweep in SWEEPS:
        assert len(sweep.voltage_v) == len(sweep.current_a) >= 7
        powers = [v * i for v, i in zip(sweep.voltage_v, sweep.current_a, strict=True)]
        if max(powers) <= 0:
            dark += 1
            assert file.kind in ("dark and light", "six pixels")
            continue
        # The reading nearest to short circuit.
        k = min(range(len(powers)), key=lambda k: abs(sweep.voltage_v[k]))
        assert sweep.current_a[k] > 0, file.name
        assert max(sweep.voltage_v) > 0
    assert 8 <= dark <= 20


def test_the_set_is_large_and_varied():
    assert len(FILES) >= 240
    assert all(0 < len(f.data) <= 10_000 for f in FILES)
    assert len({f.data for f in FILES}) == len({f.name for f in FILES}) == len(FILES)
    kinds = Counter(f.kind for f in FILES)
    assert len(kinds) >= 20 and min(kinds.values()) >= 10
    lengths = {len(s.voltage_v) for _, s in SWEEPS}
    assert min(lengths) <= 9 and max(lengths) == 80
    currents = [max(s.current_a) for _, s in SWEEPS]
    assert min(c for c in currents if c > 0) < 1e-4 and max(currents) > 8


def test_refused_files_promise_nothing():
    refused = [f for f in FILES if f.refused is not None]
    assert 0.05 <= len(refused) / len(FILES) <= 0.10
    assert all(f.refused and not f.sweeps and f.needs is None and not f.incomplete for f in refused)
    assert all(f.sweeps for f in READABLE)


def test_needs_are_options_of_the_reader():
    asked = [f for f in FILES if f.needs is not None]
    assert 0 < len(asked) < len(FILES) / 10
    assert all(f.needs and set(f.needs) <= OPTIONS for f in asked)


def test_files_are_the_same_every_time_and_differ_between_seeds():
    assert list(files()) == FILES
    other = list(files(8))
    assert [f.name for f in other] == [f.name for f in FILES]
    same = [f.name for f, g in zip(FILES, other, strict=True) if f.data == g.data]
    # Only files without a drawn reading stay as they are.
    assert all(f.refused is not None for f in FILES if f.name in same)
