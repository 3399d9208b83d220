"""Random edits of good files: the reader gives the original's readings, or says something, or refuses.

    python tests/corpus/mutations.py [COUNT] [SEED]

An edit touches the structure and leaves digits alone: marks, headings, units, lines dropped, repeated, exchanged or
cut, encodings; the file itself may end within a number. Allowed without a word are fewer readings, repeated ones and
another order, since a file cannot show what was dropped from it, and numbers that an exchange of lines brought from one
list or sweep into another, since a number does not show where it was written; nor do two lists show that a number is
missing in each, or missing and repeated, so that they are out of step. A reading that the original does not have
needs a change, a warning or an error that the original's reading does not have. Letters of a unit are dropped with the
unit alone: `mA` that became `A` says something else; the mark of a comment before a row is not dropped.
"""

import random
import re
import sys
from collections import Counter
from collections.abc import Callable, Sequence
from typing import Any

from judge import ReaderError, Reading, litdiode_reader
from make_files import files
from parts import CorpusFile

Edit = Callable[[str, random.Random], str]
UNIT = re.compile(r"\s*[(\[{<][^)\]}>0-9]*[)\]}>]")
MARKS = ".,;:\t| \"'#%=-/()[]"


def _line(text: str, rng: random.Random) -> tuple[list[str], int]:
    lines = text.splitlines(keepends=True)
    return lines, rng.randrange(len(lines))


def drop_line(text: str, rng: random.Random) -> str:
    """One line less."""
    lines, k = _line(text, rng)
    return "".join(lines[:k] + lines[k + 1 :])


def repeat_line(text: str, rng: random.Random) -> str:
    """One line twice."""
    lines, k = _line(text, rng)
    return "".join(lines[: k + 1] + lines[k:])


def exchange_lines(text: str, rng: random.Random) -> str:
    """Two lines in each other's place."""
    lines, k = _line(text, rng)
    j = rng.randrange(len(lines))
    lines[k], lines[j] = lines[j], lines[k]
    return "".join(lines)


def cut(text: str, rng: random.Random) -> str:
    """The file ends early."""
    return text[: rng.randrange(1, max(2, len(text)))]


def cut_line(text: str, rng: random.Random) -> str:
    """One line ends early, at a mark."""
    lines, k = _line(text, rng)
    ends = [m.start() for m in re.finditer(r"[;\t| ]|(?<!\d),|,(?!\d)", lines[k])]
    if ends:
        lines[k] = lines[k][: rng.choice(ends)] + "\n"
    return "".join(lines)


def drop_mark(text: str, rng: random.Random) -> str:
    """One mark less, but none within a number."""
    places = [m.start() for m in re.finditer(r"(?<!\d)[.,;:\t| \"'#%=/()\[\]]|[;\t|#%=/()\[\]](?!\d)", text)]
    places = [k for k in places if not re.match(r"[#%] *[-+]?\d", text[k : k + 8])]
    if not places:
        return text
    k = rng.choice(places)
    return text[:k] + text[k + 1 :]


def double_mark(text: str, rng: random.Random) -> str:
    """One mark twice, but none within a number."""
    places = [m.start() for m in re.finditer(r"[;:\t| \"'#%=/()\[\]]", text)]
    if not places:
        return text
    k = rng.choice(places)
    return text[:k] + text[k] + text[k:]


def other_delimiter(text: str, rng: random.Random) -> str:
    """Another character between the cells, everywhere."""
    for mark in rng.sample([";", "\t", "|"], 3):
        if mark in text:
            return text.replace(mark, rng.choice([";", "\t", "|", ","]))
    return text


def drop_unit(text: str, rng: random.Random) -> str:
    """A unit in brackets less."""
    found = list(UNIT.finditer(text))
    if not found:
        return text
    one = rng.choice(found)
    return text[: one.start()] + text[one.end() :]


def garble_heading(text: str, rng: random.Random) -> str:
    """Letters of a word other than a unit exchanged for x."""
    words = [m for m in re.finditer(r"[A-Za-zäöüéíãç]{4,}", text)]
    if not words:
        return text
    one = rng.choice(words)
    return text[: one.start()] + "x" * (one.end() - one.start()) + text[one.end() :]


def blank_line(text: str, rng: random.Random) -> str:
    """An empty line more."""
    lines, k = _line(text, rng)
    lines.insert(k, rng.choice(["\n", "\r\n", " \n", ";;;\n"]))
    return "".join(lines)


def stray_text(text: str, rng: random.Random) -> str:
    """A line of words more."""
    lines, k = _line(text, rng)
    words = ["pause\n", "# note\n", "-----\n", "end of data\n", "page two\n", "lamp off?\n"]
    lines.insert(k, rng.choice(words))
    return "".join(lines)


EDITS: list[Edit] = [
    drop_line,
    repeat_line,
    exchange_lines,
    cut,
    cut_line,
    drop_mark,
    double_mark,
    other_delimiter,
    drop_unit,
    garble_heading,
    blank_line,
    stray_text,
]
ENCODINGS = ["utf-8", "utf-8", "utf-8", "utf-8-sig", "utf-16", "cp1252"]


def edited(case: CorpusFile, rng: random.Random) -> tuple[bytes, list[str]] | None:
    """The file after one to three edits, and their names; None where it is no plain text."""
    try:
        text = case.data.decode("utf-8")
    except UnicodeDecodeError:
        return None
    names = []
    chosen = rng.choices(EDITS, k=rng.randint(1, 3))
    # The end of a file is its end: no edit behind it moves a number that was cut.
    for edit in sorted(chosen, key=lambda edit: edit is cut):
        if text.strip():
            text = edit(text, rng)
            names.append(edit.__name__)
    return text.encode(rng.choice(ENCODINGS), errors="replace"), names


def digits(value: float) -> str:
    """The digits of a number, whatever its unit and its sign."""
    return f"{abs(value):.8e}".split("e")[0].rstrip("0")


def only_moved(found: Sequence[tuple[float, float]], original: Sequence[Reading]) -> bool:
    """Whether every number of `found` stands somewhere in the original, in one of its units."""
    known = {digits(x) for sweep in original for x in (*sweep.voltage_v, *sweep.current_a)}
    return all(digits(x) in known for pair in found for x in pair)


def strangers(found: Sequence[Reading], original: Sequence[Reading]) -> list[tuple[float, float]]:
    """Readings that the original does not have."""
    key = lambda v, i: (f"{v:.9e}", f"{i:.9e}")  # noqa: E731
    known = {key(v, i) for sweep in original for v, i in zip(sweep.voltage_v, sweep.current_a, strict=True)}
    turned = {key(v, -i) for sweep in original for v, i in zip(sweep.voltage_v, sweep.current_a, strict=True)}
    pairs = [(v, i) for sweep in found for v, i in zip(sweep.voltage_v, sweep.current_a, strict=True)]
    return [pair for pair in pairs if key(*pair) not in known | turned]


def run(read: Callable[..., list[Reading]], count: int, seed: int, show: int = 20) -> Counter[str]:
    """What became of `count` edits."""
    rng = random.Random(seed)
    cases = [
        (c, read(c.data, c.name))
        for c in files(1)
        if c.sweeps and not c.needs and not c.refused and "object" not in c.kind
    ]
    counts: Counter[str] = Counter()
    while sum(counts.values()) < count:
        case, original = rng.choice(cases)
        made = edited(case, rng)
        if made is None:
            continue
        data, names = made
        outcome = _outcome(read, data, case.name, (original, names))
        counts[outcome] += 1
        if outcome in ("silent", "crashed") and show:
            show -= 1
            print(f"{outcome}: {names} {case.name}\n{data[:700]!r}\n")
    return counts


def _outcome(
    read: Callable[..., list[Reading]], data: bytes, name: str, made: tuple[Sequence[Reading], Sequence[str]]
) -> str:
    original, names = made
    try:
        found: Any = read(data, name)
    except ReaderError:
        return "refused"
    except Exception:
        return "crashed"
    strange = strangers(found, original)
    if not strange:
        return "the original's readings"
    before = {text for sweep in original for text in sweep.said}
    if {text for sweep in found for text in sweep.said} - before:
        return "said"
    if not only_moved(strange, original):
        return "silent"
    if "exchange_lines" in names:
        return "lines exchanged"
    of_lists = name.startswith("logs_named_lists")
    return "lists out of step" if of_lists and {"drop_line", "repeat_line"} & set(names) else "silent"


def main() -> None:
    """Counts of what became of the edits."""
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 2000
    seed = int(sys.argv[2]) if len(sys.argv) > 2 else 1
    print(dict(run(litdiode_reader(), count, seed)))


if __name__ == "__main__":
    main()
