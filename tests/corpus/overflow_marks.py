"""Readings that are none: marks of overflow, and rows that an operator has muted."""

from collections.abc import Iterator, Sequence

from parts import CorpusFile, Draw, Sweep, headed, made, rows, text

MARKS = ["9.9e37", "9.91E+37", "+9.90000E+37", "-9.9E37", "OVLD", "OL", "---", "NaN", "INF", "#N/A", "", "overflow"]


def points(draw: Draw) -> int:
    """Enough readings to lose some."""
    return draw.choice([21, 25, 25, 25, 31])


def bad_rows(draw: Draw, s: Sweep, way: int) -> list[int]:
    """Rows at the end, in the middle or at the start."""
    n = len(s)
    if way == 0:
        return [n - 1]
    if way == 1:
        return [n - 3, n - 2, n - 1]
    return [n // 2, n // 2 + 3] if way == 2 else [0]


def marked(s: Sweep, bad: Sequence[int], mark: str, delimiter: str, both: bool = False) -> list[str]:
    """The table with a mark in the place of the current, or of voltage and current."""
    i = [mark if j in bad else t for j, t in enumerate(s.i.texts)]
    v = [mark if j in bad and both else t for j, t in enumerate(s.v.texts)]
    return [headed(s, delimiter), *rows([v, i], delimiter)]


def answer(name: str, lines: Sequence[str], s: Sweep, bad: Sequence[int]) -> CorpusFile:
    """The rows without a mark hold; a reader must say that it left rows out."""
    kept = [j for j in range(len(s)) if j not in bad]
    return CorpusFile(name, text(lines), "", [s.kept(kept)], incomplete=True)


def in_current(draw: Draw, k: int) -> CorpusFile:
    """A mark in the current column, in A or mA."""
    s = draw.sweep("silicon", i_unit=["A", "mA"][k % 2], points=points(draw))
    bad = bad_rows(draw, s, k % 4)
    return answer("overflow.csv", marked(s, bad, MARKS[k % len(MARKS)], [",", ";", "\t"][k % 3]), s, bad)


def scaled(draw: Draw, k: int) -> CorpusFile:
    """9.9e37 A written as mA or µA: 9.9e+40 or 9.91e+43."""
    unit = ["mA", "µA"][k % 2]
    s = draw.sweep("dye", i_unit=unit, points=points(draw))
    bad = bad_rows(draw, s, k % 3)
    mark = ["9.9e+40", "9.91E+43", "-9.9e+40", "9.9e43"][k % 4]
    return answer("scaled.csv", marked(s, bad, mark, "\t"), s, bad)


def in_both(draw: Draw, k: int) -> CorpusFile:
    """A mark in both columns."""
    s = draw.sweep(points=points(draw))
    bad = bad_rows(draw, s, k % 3)
    mark = ["NaN", "9.9E37", "OL", "---"][k % 4]
    return answer("both.csv", marked(s, bad, mark, [",", "\t"][k % 2], both=True), s, bad)


def with_more_columns(draw: Draw, k: int) -> CorpusFile:
    """A mark in the current of a table with a power column that repeats it."""
    s = draw.sweep("organic", i_unit="mA", points=points(draw))
    bad = bad_rows(draw, s, k % 4)
    mark = ["NaN", "9.91E+37", "OVLD", "INF"][k % 4]
    lines = marked(s, bad, mark, ";")
    power = [f"{v * i * 1e3:.5f}" for v, i in zip(s.v.si, s.i.si, strict=True)]
    power = [mark if j in bad else t for j, t in enumerate(power)]
    lines = [f"{line};{cell}" for line, cell in zip(lines, ["Power (mW)", *power], strict=True)]
    return answer("power.csv", lines, s, bad)


def muted(draw: Draw, k: int) -> CorpusFile:
    """Rows that an operator has muted by a comment mark are no readings; nothing needs to be said of them."""
    s = draw.sweep(points=points(draw))
    bad = [[4], [10, 11], [len(s) - 1]][k % 3]
    sign = ["#", "# ", "%", "//"][k % 4]
    top, *body = marked(s, [], "", [",", "\t", ";"][k % 3])
    lines = [sign + line if j in bad else line for j, line in enumerate(body)]
    kept = [j for j in range(len(s)) if j not in bad]
    return CorpusFile("muted.csv", text(["# shutter open", top, *lines]), "", [s.kept(kept)])


def overflow_marks(seed: int) -> Iterator[CorpusFile]:
    """All files of this kind."""
    yield from made("overflow/current", 24, seed, in_current)
    yield from made("overflow/scaled", 4, seed, scaled)
    yield from made("overflow/both columns", 6, seed, in_both)
    yield from made("overflow/more columns", 4, seed, with_more_columns)
    yield from made("overflow/muted rows", 8, seed, muted)
