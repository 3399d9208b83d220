"""How a reader of files does on the corpus: one verdict a file, and a table of counts.

    python tests/corpus/judge.py [SEED] [held_out]

prints the counts a kind and the files that are not right, with the installed litdiode as the reader.

| verdict | meaning |
|---|---|
| right | all sweeps, numbers and options are there |
| right_with_option | the file is ambiguous, the error names an option, and with the right option the reading is right |
| refused | an error where no reading is right |
| refused_wrongly | an error where a reading was due, or one that names no option where it should |
| crashed | an exception that is no error of the reader |
| wrong_silently | other numbers or another number of sweeps, and no change or warning that shows it |
| wrong_said | the same, but a change or warning speaks of what is wrong |
| metadata_dropped | an option or a label that the file states is missing and nothing mentions it |

An ambiguous file that is read right without a question counts as right if the reader says anything about it, otherwise
as wrong_silently: it was a guess. Some files may be refused or read (`refused` with an answer): both are good.
"""

import re
import sys
import tempfile
import warnings
from collections import Counter, defaultdict
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import held_out
import numpy as np
from make_files import files
from parts import CorpusFile, Expected

VERDICTS = [
    "right",
    "right_with_option",
    "refused",
    "refused_wrongly",
    "crashed",
    "wrong_silently",
    "wrong_said",
    "metadata_dropped",
]
GOOD = {"right", "right_with_option", "refused"}
TOLERANCE = 1e-9

OPTIONS = [
    "voltage",
    "current",
    "columns",
    "voltage_unit",
    "current_unit",
    "decimal",
    "thousands",
    "delimiter",
    "encoding",
    "skip_rows",
    "header_row",
    "comment",
    "overflow",
    "which",
    "area_cm2",
    "irradiance_w_m2",
    "temperature_c",
    "cells",
    "sign",
    "leads",
    "swept",
    "noise",
    "time_s",
    "label",
]

# What a text says when it speaks of a thing, in stems of the words that the corpus uses.
MENTIONS = {
    "area_cm2": "area|mask|aperture|fläche|surface|superfici|área",
    "irradiance_w_m2": "irradia|light|illumin|sun|intensity|strahl|éclairement|irraggia",
    "temperature_c": "temp",
    "cells": "cell|zell|celd|céld|cellul|célula",
    "rows": "row|line|reading|exclu|left out|overflow|incomplete|cut",
    "sweeps": "sweep|block|table|group",
    "numbers": "unit|decimal|thousand|sign|scale|assum|taken as|density",
}


class ReaderError(Exception):
    """The reader has refused a file with an error of its own."""


@dataclass
class Reading:
    """A sweep as the reader gives it, with all that was said about it."""

    voltage_v: Sequence[float]
    current_a: Sequence[float]
    label: str | None = None
    options: dict[str, float | None] = field(default_factory=dict)
    said: list[str] = field(default_factory=list)


Reader = Callable[..., list[Reading]]


@dataclass(frozen=True)
class Verdict:
    """A word of the table above and what it rests on."""

    word: str
    detail: str = ""


def close(found: Sequence[float], expected: Sequence[float]) -> bool:
    """Equal within 1e-9 of the largest value of the column."""
    a, b = np.asarray(found, dtype=float), np.asarray(expected, dtype=float)
    if a.shape != b.shape:
        return False
    return bool(np.all(np.abs(a - b) <= TOLERANCE * np.max(np.abs(b), initial=0)))


def mentions(said: Iterable[str], thing: str) -> bool:
    """Whether any text speaks of a thing."""
    return any(re.search(MENTIONS[thing], text, re.IGNORECASE) for text in said)


def difference(found: list[Reading], expected: list[Expected]) -> tuple[str, str] | None:
    """What is different (a key of MENTIONS) and how, or None."""
    if len(found) != len(expected):
        return "sweeps", f"{len(found)} sweeps instead of {len(expected)}"
    for k, (reading, truth) in enumerate(zip(found, expected, strict=True)):
        if len(reading.voltage_v) != len(truth.voltage_v):
            return "rows", f"sweep {k}: {len(reading.voltage_v)} readings instead of {len(truth.voltage_v)}"
        for name, a, b in (
            ("voltage", reading.voltage_v, truth.voltage_v),
            ("current", reading.current_a, truth.current_a),
        ):
            if not close(a, b):
                j = int(np.argmax(~np.isclose(a, b, rtol=0, atol=TOLERANCE * np.max(np.abs(b)))))
                return "numbers", f"sweep {k}: {name} {j} is {a[j]!r} instead of {b[j]!r}"
    return None


def options_of(found: list[Reading], expected: list[Expected]) -> Verdict:
    """Whether the label and the options that the file states have arrived, or are at least mentioned."""
    for k, (reading, truth) in enumerate(zip(found, expected, strict=True)):
        if truth.label and not any(
            truth.label.lower() in text.lower() for text in [reading.label or "", *reading.said]
        ):
            return Verdict("metadata_dropped", f"sweep {k}: label {reading.label!r} instead of {truth.label!r}")
        for name, value in truth.options.items():
            have = reading.options.get(name)
            default = {"temperature_c": 25.0, "cells": 1}.get(name)
            if have is not None and abs(have - value) <= 1e-6 * abs(value):
                continue
            detail = f"sweep {k}: {name} is {have} instead of {value}"
            if have is not None and have != default:
                return Verdict("wrong_said" if mentions(reading.said, name) else "wrong_silently", detail)
            if not mentions(reading.said, name):
                return Verdict("metadata_dropped", detail)
    return Verdict("right")


def compare(found: list[Reading], case: CorpusFile) -> Verdict:
    """The verdict on a reading of a file that can be read."""
    said = [text for reading in found for text in reading.said]
    different = difference(found, case.sweeps)
    if different:
        thing, detail = different
        return Verdict("wrong_said" if mentions(said, thing) else "wrong_silently", detail)
    if case.incomplete and not mentions(said, "rows"):
        return Verdict("wrong_silently", "rows are left out without a word")
    return options_of(found, case.sweeps)


def names_an_option(message: str) -> bool:
    """Whether an error names one of the options of the reader, as option= or in quotes."""
    return any(re.search(rf"\b{name}\s*=|[`'\"]{name}[`'\"]", message) for name in OPTIONS)


def read_unasked(case: CorpusFile, found: list[Reading]) -> Verdict:
    """A file that should have raised a question was read."""
    said = any(reading.said for reading in found)
    right = bool(case.sweeps) and difference(found, case.sweeps) is None
    if right and (said or case.refused):
        return Verdict("right", "read without a question")
    detail = "read without a question" if right else f"read although {case.refused or 'ambiguous'}"
    return Verdict("wrong_said" if said and not right else "wrong_silently", detail)


def judge(case: CorpusFile, read: Reader) -> Verdict:
    """The verdict on one file."""
    try:
        found = read(case.data, case.name)
    except ReaderError as error:
        return on_error(case, read, str(error))
    except Exception as error:
        return Verdict("crashed", f"{type(error).__name__}: {error}")
    if case.refused or case.needs:
        return read_unasked(case, found)
    return compare(found, case)


def on_error(case: CorpusFile, read: Reader, message: str) -> Verdict:
    """The reader has refused: was it right, and does its cure work?"""
    if case.refused:
        return Verdict("refused", message)
    if not case.needs or not names_an_option(message):
        return Verdict("refused_wrongly", message)
    try:
        verdict = compare(read(case.data, case.name, **case.needs), case)
    except ReaderError as error:
        return Verdict("refused_wrongly", f"even with {case.needs}: {error}")
    except Exception as error:
        return Verdict("crashed", f"with {case.needs}: {type(error).__name__}: {error}")
    return Verdict("right_with_option", message) if verdict.word == "right" else verdict


def litdiode_reader() -> Reader:
    """The installed litdiode: read_sweeps, or read_sweep where that does not exist."""
    import litdiode as ld

    def reading(sweep: Any, said: list[str]) -> Reading:
        options = {
            name: None if getattr(sweep, name) is None else float(getattr(sweep, name))
            for name in ("area_cm2", "irradiance_w_m2", "temperature_c", "cells")
        }
        texts = [str(change) for change in sweep.changes] + said
        texts += [f"{key}: {value}" for key, value in dict(getattr(sweep, "metadata", None) or {}).items()]
        return Reading(sweep.voltage_v, sweep.current_a, sweep.label, options, texts)

    def read(data: bytes, name: str, **options: Any) -> list[Reading]:
        with tempfile.TemporaryDirectory() as folder, warnings.catch_warnings(record=True) as caught:
            warnings.simplefilter("always")
            path = Path(folder) / name
            path.write_bytes(data)
            try:
                many = getattr(ld, "read_sweeps", None)
                sweeps = many(path, **options) if many else [ld.read_sweep(path, **options)]
            except ld.LitdiodeError as error:
                raise ReaderError(str(error)) from error
            return [reading(sweep, [str(warning.message) for warning in caught]) for sweep in sweeps]

    return read


def print_table(results: Sequence[tuple[CorpusFile, Verdict]], by: Callable[[CorpusFile], str]) -> None:
    """Counts of each verdict a kind, in Markdown."""
    counts: dict[str, Counter[str]] = defaultdict(Counter)
    for case, verdict in results:
        for kind in (by(case), "all"):
            counts[kind][verdict.word] += 1
    print("| kind | files | " + " | ".join(VERDICTS) + " |")
    print("|---|" + "---|" * (len(VERDICTS) + 1))
    for kind in [*(kind for kind in counts if kind != "all"), "all"]:
        row = counts[kind]
        print(f"| {kind} | {sum(row.values())} | " + " | ".join(str(row[word] or "") for word in VERDICTS) + " |")


def main() -> None:
    """Judge the installed litdiode on the whole corpus."""
    read = litdiode_reader()
    seed = int(sys.argv[1]) if len(sys.argv) > 1 else 1
    cases = held_out.files(seed) if "held_out" in sys.argv[2:] else files(seed)
    results = [(case, judge(case, read)) for case in cases]
    print_table(results, lambda case: case.kind)
    print()
    print_table(results, lambda case: case.kind.split("/")[0])
    print()
    for case, verdict in results:
        if verdict.word not in GOOD:
            print(f"{verdict.word:18} {case.name}: {' '.join(verdict.detail.split())[:300]}")


if __name__ == "__main__":
    main()
