"""Several sweeps in one file, and one sweep that looks like several."""

from collections.abc import Iterator, Sequence

from parts import EXPONENT, CorpusFile, Draw, Expected, Sweep, headed, made, rows, table, text, write


def siblings(draw: Draw, count: int, points: int | None = None) -> list[Sweep]:
    """Sweeps of devices of one kind, in the same units."""
    kind = draw.choice(["dye", "organic", "perovskite", "silicon"])
    first = draw.sweep(kind, points=points, swept="voltage")
    rest = [draw.sweep(kind, i_unit=first.i_unit, points=points, swept="voltage") for _ in range(count - 1)]
    return [first, *rest]


def many(name: str, lines: Sequence[str], expected: list[Expected]) -> CorpusFile:
    """A file in UTF-8 with several sweeps."""
    return CorpusFile(name, text(lines), "", expected)


def grid(s: Sweep, mark: str) -> list[str]:
    """The rows without a heading."""
    return rows([s.v.texts, s.i.texts], mark)


def blank_lines(draw: Draw, k: int) -> CorpusFile:
    """Blocks parted by blank lines under one heading, or each under its heading."""
    sweeps = siblings(draw, draw.choice([2, 3]), points=25)
    mark = [",", "\t", ";"][k % 3]
    lines = [headed(sweeps[0], mark)] if k % 2 else []
    for s in sweeps:
        lines += [*(grid(s, mark) if k % 2 else table(s, mark)), *[""] * draw.choice([1, 2])]
    return many("blocks.csv", lines, [s.expected() for s in sweeps])


def headings_again(draw: Draw, k: int) -> CorpusFile:
    """The heading again, without a blank line, parts the sweeps."""
    sweeps = siblings(draw, 2 + k % 2)
    mark = [",", "\t", ";"][k % 3]
    return many("again.csv", [line for s in sweeps for line in table(s, mark)], [s.expected() for s in sweeps])


def titles(draw: Draw, k: int) -> CorpusFile:
    """A title over each block: a line of its own, a comment, or a key and a value."""
    sweeps = siblings(draw, 2 + k % 2, points=21)
    mark = [",", "\t"][k % 2]
    form, names = [
        ("{}", ["cell A", "cell B", "cell C"]),
        ("# {}", ["cell A", "cell B", "cell C"]),
        ("Sample: {}", ["D17", "D18", "D19"]),
        ("# Device: {}", ["left", "middle", "right"]),
        ("[{}]", ["cell 1", "cell 2", "cell 3"]),
    ][k % 5]
    lines = []
    for s, name in zip(sweeps, names, strict=False):
        lines += [form.format(name), *table(s, mark), ""]
    return many("titles.csv", lines, [s.expected(name) for s, name in zip(sweeps, names, strict=False)])


def stated_areas(draw: Draw, k: int) -> CorpusFile:
    """Each block with its own device and area."""
    sweeps = siblings(draw, 2, points=21)
    lines, expected = [], []
    for s, name, area in zip(sweeps, ["P1", "P2"], ["0.25", "0.16"], strict=True):
        head = [f"Sample: {name}", f"Area: {area} cm²"]
        lines += [*(f"# {line}" if k % 2 else line for line in head), *table(s, "\t"), ""]
        expected.append(s.expected(name, area_cm2=float(area)))
    return many("areas.txt", lines, expected)


def long_table(draw: Draw, k: int) -> CorpusFile:
    """A column that names the device, the sweep or the direction of each row."""
    sweeps = siblings(draw, 2 + k % 2, points=15)
    column, names = [
        ("Device", ["A1", "A2", "A3"]),
        ("Sweep", ["1", "2", "3"]),
        ("Direction", ["forward", "reverse", "forward again"]),
        ("Probe", ["Z1", "Z2", "Z3"]),
    ][k % 4]
    if column == "Direction":
        sweeps = sweeps[:2]
    named = list(zip(sweeps, names, strict=False))
    mark = [",", ";", "\t"][k % 3]
    lines = [f"{column}{mark}{headed(sweeps[0], mark)}"]
    lines += [f"{name}{mark}{line}" for s, name in named for line in grid(s, mark)]
    return many("long.csv", lines, [s.expected(name) for s, name in named])


def side_by_side(draw: Draw, k: int) -> CorpusFile:
    """Pairs of columns, named by number or by a row of devices above them."""
    sweeps = siblings(draw, 2 + k % 2, points=21)
    mark = [",", ";", "\t"][k % 3]
    unit = sweeps[0].i_unit
    names = ["cell A", "cell B", "cell C"][: len(sweeps)]
    columns = []
    for j, s in enumerate(sweeps):
        number = "" if k % 4 >= 2 else str(j + 1)
        columns += [[f"V{number} (V)", *s.v.texts], [f"I{number} ({unit})", *s.i.texts]]
    lines = rows(columns, mark)
    if k % 4 >= 2:
        lines.insert(0, mark.join(f"{name}{mark}" for name in names))
        return many("pairs.csv", lines, [s.expected(name) for s, name in zip(sweeps, names, strict=True)])
    return many("pairs.csv", lines, [s.expected() for s in sweeps])


def unequal_pairs(draw: Draw, k: int) -> CorpusFile:
    """Pairs of columns of different length: the shorter one ends in empty cells."""
    first = draw.sweep("organic", i_unit="mA", points=25, swept="voltage")
    second = draw.sweep("organic", i_unit="mA", points=18, swept="voltage")
    short = [[*c, *[""] * 7] for c in (second.v.texts, second.i.texts)]
    mark = [",", ";", "\t"][k % 3]
    columns = [["V left (V)", *first.v.texts], ["I left (mA)", *first.i.texts]]
    columns += [["V right (V)", *short[0]], ["I right (mA)", *short[1]]]
    return many("unequal.csv", rows(columns, mark), [first.expected(), second.expected()])


def shared_voltage(draw: Draw, k: int) -> CorpusFile:
    """One voltage and several currents, each named after its device."""
    device = draw.device("perovskite")
    voltages, _ = draw.curve(device, 25, "voltage")
    v = write(voltages, 0, 5)
    names = ["cell A", "cell B", "cell C"][: 2 + k % 2]
    form = ["I {} (mA)", "Current {} (mA)", "{}: I (mA)"][k % 3]
    columns, expected = [["Voltage (V)", *v.texts]], []
    for name in names:
        scale = draw.uniform(0.8, 1.1)
        i = write([scale * device.current(x) for x in voltages], EXPONENT["mA"], 5)
        columns.append([form.format(name), *i.texts])
        expected.append(Expected(name.removeprefix("cell "), v.si, i.si))
    return many("shared.csv", rows(columns, [",", ";", "\t"][k % 3]), expected)


def directions(draw: Draw, k: int) -> CorpusFile:
    """A forward and a reverse block with their titles."""
    forward, other = siblings(draw, 2, points=21)
    reverse = other.backwards()
    titles = [("Forward", "Reverse"), ("# forward", "# reverse"), ("Vorwärts", "Rückwärts"), ("up", "down")]
    first, second = titles[k % 4]
    mark = [",", "\t"][k % 2]
    lines = [first, *table(forward, mark), "", second, *table(reverse, mark)]
    return many("directions.csv", lines, [forward.expected(first.strip("# ")), reverse.expected(second.strip("# "))])


def double_spaced(draw: Draw, k: int) -> CorpusFile:
    """A blank line behind each line: one sweep."""
    s = draw.sweep()
    lines = [spaced for line in table(s, [",", "\t"][k % 2]) for spaced in (line, "")]
    return many("spaced.csv", lines, [s.expected()])


def paged(draw: Draw, k: int) -> CorpusFile:
    """A page break within one sweep, with the heading and a page number again or without: one sweep."""
    s = draw.sweep(points=40, swept="voltage")
    top, *body = table(s, "\t")
    if k % 3 == 0:
        lines = [top, *body[:20], "\f" + body[20], *body[21:]]
    elif k % 3 == 1:
        lines = [top, *body[:20], "\f" + top, *body[20:]]
    else:
        lines = ["Page 1", top, *body[:20], "\fPage 2", top, *body[20:]]
    return many("paged.prn", lines, [s.expected()])


def one_gap(draw: Draw, k: int) -> CorpusFile:
    """Blank lines after the heading and after the last row: one sweep."""
    s = draw.sweep()
    top, *body = table(s, [",", ";", "\t"][k % 3])
    return many("gap.csv", [top, *[""] * (1 + k % 2), *body, "", ""], [s.expected()])


def several_sweeps(seed: int) -> Iterator[CorpusFile]:
    """All files of this kind."""
    yield from made("several/blank lines", 6, seed, blank_lines)
    yield from made("several/headings again", 6, seed, headings_again)
    yield from made("several/titles", 10, seed, titles)
    yield from made("several/areas", 4, seed, stated_areas)
    yield from made("several/long table", 8, seed, long_table)
    yield from made("several/side by side", 8, seed, side_by_side)
    yield from made("several/unequal pairs", 3, seed, unequal_pairs)
    yield from made("several/shared voltage", 6, seed, shared_voltage)
    yield from made("several/directions", 4, seed, directions)
    yield from made("several/double spacing", 4, seed, double_spaced)
    yield from made("several/page break", 6, seed, paged)
    yield from made("several/one gap", 4, seed, one_gap)
