"""The corpus of measurement files holds what its answers say, and its judge tells right from wrong.

The answers are found again on a way that shares nothing with the writers: each line is split at every mark that could
part cells, each piece is read with a decimal point and with a decimal comma, and the expected pairs must stand on the
lines, in order, up to one power of ten a column, the sign, and the area where a density is written.
"""

import gzip
import re
import sys
from collections.abc import Iterable
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

sys.path.insert(0, str(Path(__file__).parents[1] / "corpus"))

from judge import OPTIONS, Reader, ReaderError, Reading, judge
from make_files import CorpusFile, Expected, files

CASES = list(files())
READABLE = [case for case in CASES if case.sweeps]
# Each number has a prefix of its own here.
OWN_PREFIX = "numbers/mixed prefixes"

SPLITTERS = [r"[;\t|]", r",", r"\s+", r"\s{2,}|:", r"[;\t|,\s:={}<>\"\[\]]+|VDC|ADC", r"\"?,\"|\"", r", "]


def decoded(data: bytes) -> str:
    """The text of a file whose bytes name or show their encoding."""
    if data[:2] == b"\x1f\x8b":
        data = gzip.decompress(data)
    for mark, name in [
        (b"\xff\xfe\0\0", "utf-32"),
        (b"\0\0\xfe\xff", "utf-32"),
        (b"\xff\xfe", "utf-16"),
        (b"\xfe\xff", "utf-16"),
    ]:
        if data.startswith(mark):
            return data.decode(name)
    if data[1:2] == b"\0" or data[:1] == b"\0":
        return data.decode("utf-16-le" if data[1] == 0 else "utf-16-be")
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError:
        return data.decode("latin-1")


def numbers(line: str) -> np.ndarray:
    """All numbers that the pieces of a line could mean."""
    line = re.sub(r"\x1b\[[0-9;]*m", "", line).replace("\u2212", "-").replace("\u2013", "-")
    line = re.sub(r"([0-9.])[Dd]([-+])", r"\1e\2", line)
    line = re.sub(r"(?<=\d)(?=-\d+\.\d+[eE])", " ", line)
    found = set()
    for splitter in SPLITTERS:
        for piece in re.split(splitter, line):
            bare = re.sub(r"[^-+0-9.,eE]", "", re.sub(r"(?<=[\d.])\s?[a-zA-Zµ]*[A-DF-Zµ][a-zA-Z]*$", "", piece.strip()))
            for text in (bare.replace(",", ""), bare.replace(".", "").replace(",", ".")):
                try:
                    found.add(float(text))
                except ValueError:
                    continue
    halves = line.split(",")
    if re.fullmatch(r"-?\d+,\d+,-?\d+,\d+", line):
        found |= {float(f"{halves[k]}.{halves[k + 1]}") for k in (0, 2)}
    return np.array(sorted(found))


def holds(line: np.ndarray, value: float) -> bool:
    """Whether a line has a number, up to rounding in the last bits."""
    return bool(line.size) and bool(np.any(np.abs(line - value) <= 1e-12 * abs(value)))


def factors(case: CorpusFile, sweep: Expected) -> Iterable[float]:
    """What a current may be multiplied with."""
    area = sweep.options.get("area_cm2") or (case.needs or {}).get("area_cm2") or 1.0
    for sign in (1.0, -1.0):
        for exponent in (0, -3, -6, -9, -4):
            for factor in dict.fromkeys((1.0, area)):
                yield sign * 10.0**exponent * factor


def found_in_order(lines: list[np.ndarray], sweep: Expected, v_factor: float, i_factor: float) -> bool:
    """Whether all pairs stand on lines one after the other, each pair on one line."""
    k = 0
    for v, i in zip(sweep.voltage_v, sweep.current_a, strict=True):
        while k < len(lines) and not (holds(lines[k], v / v_factor) and holds(lines[k], i / i_factor)):
            k += 1
        if k == len(lines):
            return False
        k += 1
    return True


def recovered(case: CorpusFile, sweep: Expected) -> bool:
    """Whether some pair of factors finds a sweep in its file; lists and web pages hold no pairs on a line."""
    text = decoded(case.data)
    lines = [numbers(line) for line in re.split(r"[\r\n\f]+", text)]
    if case.kind.startswith(("logs/json", "logs/named lists", "logs/web table")):
        lines = [np.unique(np.concatenate(lines))] * len(sweep.voltage_v)
    return any(
        found_in_order(lines, sweep, v_factor, i_factor)
        for v_factor in (1.0, 1e-3, 1e3)
        for i_factor in factors(case, sweep)
    )


def perfect(case: CorpusFile) -> Reader:
    """A reader that knows the answer and asks where it must."""

    def read(data: bytes, name: str, **options: object) -> list[Reading]:
        if case.refused or (case.needs and options != case.needs):
            raise ReaderError("say decimal= or another option")
        return [Reading(s.voltage_v, s.current_a, s.label, dict(s.options), ["left out"]) for s in case.sweeps]

    return read


def test_there_are_enough_files_and_none_is_large():
    assert len(CASES) >= 640
    assert max(len(case.data) for case in CASES) <= 10_000
    assert len({case.name for case in CASES}) == len(CASES)


def test_equal_seeds_give_equal_files_and_other_seeds_others():
    assert list(files(1)) == CASES
    other = list(files(2))
    assert len(other) == len(CASES)
    assert all(a.data != b.data for a, b in zip(CASES, other, strict=True) if a.sweeps)


def test_answers_are_numbers():
    for case in READABLE:
        for sweep in case.sweeps:
            assert len(sweep.voltage_v) == len(sweep.current_a) >= 5, case.name
            assert np.all(np.isfinite([sweep.voltage_v, sweep.current_a])), case.name


@pytest.mark.parametrize("case", READABLE, ids=lambda case: case.name)
def test_the_answer_stands_in_the_file(case: CorpusFile):
    if case.kind == OWN_PREFIX:
        pytest.skip("each number has its own prefix")
    for sweep in case.sweeps:
        assert recovered(case, sweep)


@pytest.mark.parametrize("seed", [1, 2])
def test_what_is_called_ambiguous_has_two_readings(seed: int):
    for case in files(seed):
        if case.kind == "delimiters/ambiguous":
            rows = decoded(case.data).splitlines()[1:]
            assert len(rows) >= 6
            assert all(re.fullmatch(r"[1-9]\d?,\d{3}[;\t][1-9]\d?,\d{3}", row) for row in rows), case.name


def test_what_must_be_asked_for_is_an_option():
    for case in CASES:
        assert not set(case.needs or {}) - set(OPTIONS), case.name
        assert not (case.needs and case.refused), case.name
        assert case.sweeps or case.refused, case.name


def test_the_judge_knows_a_perfect_reader():
    for case in CASES:
        word = judge(case, perfect(case)).word
        assert word == ("refused" if case.refused else "right_with_option" if case.needs else "right"), case.name


def test_the_judge_knows_what_is_wrong():
    case = next(case for case in CASES if case.kind == "metadata/area")
    truth = case.sweeps[0]
    good = Reading(truth.voltage_v, truth.current_a, None, dict(truth.options))

    def word(*readings: Reading) -> str:
        return judge(case, lambda data, name: list(readings)).word

    assert word(good) == "right"
    assert word(replace(good, options={})) == "metadata_dropped"
    assert word(replace(good, options={}, said=["the line of the area is not understood"])) == "right"
    assert word(replace(good, options={"area_cm2": 9.0})) == "wrong_silently"
    assert word(good, good) == "wrong_silently"
    milli = replace(good, current_a=[1e-3 * i for i in truth.current_a])
    assert word(milli) == "wrong_silently"
    assert word(replace(milli, said=["no unit: the current is taken as mA"])) == "wrong_said"
    assert word(replace(good, voltage_v=truth.voltage_v[1:], current_a=truth.current_a[1:])) == "wrong_silently"


def test_the_judge_wants_a_word_about_rows_that_are_left_out():
    case = next(case for case in CASES if case.kind == "encodings/cut")
    truth = case.sweeps[0]
    silent = Reading(truth.voltage_v, truth.current_a)
    assert judge(case, lambda data, name: [silent]).word == "wrong_silently"
    assert judge(case, lambda data, name: [replace(silent, said=["line 26 is cut"])]).word == "right"


def test_the_judge_takes_a_lucky_guess_for_wrong():
    case = next(case for case in CASES if case.needs)
    guess = [Reading(s.voltage_v, s.current_a) for s in case.sweeps]
    assert judge(case, lambda data, name: guess).word == "wrong_silently"
