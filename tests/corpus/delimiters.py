"""Delimiters, decimal points and commas, quotes and thousands marks."""

import csv
import io
from collections.abc import Iterator

from parts import (
    CorpusFile,
    Draw,
    Expected,
    Sweep,
    aligned,
    comma,
    headed,
    made,
    one,
    rows,
    table,
    text,
    write_decimals,
)

MARKS = {"comma": ",", "semicolon": ";", "tab": "\t", "bar": "|", "blank": " ", "blanks": "   ", "colon": ":"}


def plain(draw: Draw, k: int) -> CorpusFile:
    """One delimiter, decimal point."""
    name = list(MARKS)[k % len(MARKS)]
    mark = MARKS[name]
    s = draw.sweep()
    blank = mark.isspace() and mark != "\t"
    heading = f"Voltage_{s.v_unit}{mark}Current_{s.i_unit}" if blank else headed(s, mark)
    return one(f"{name}.txt", [heading, *rows([s.v.texts, s.i.texts], mark)], s.expected())


def decimal_comma(draw: Draw, k: int) -> CorpusFile:
    """A decimal comma and a delimiter that is none, four or more decimals in at least one column."""
    name = ["semicolon", "tab", "bar", "blank", "blanks", "colon"][k % 6]
    mark = MARKS[name]
    s = comma_sweep(draw)
    between = "_{}" if mark.isspace() and mark != "\t" else " ({})"
    heading = f"Voltage{between.format(s.v_unit)}{mark}Current{between.format(s.i_unit)}"
    lines = [heading, *rows([comma(s.v.texts), comma(s.i.texts)], mark)]
    return one(f"comma_{name}.csv", lines, s.expected())


def comma_sweep(draw: Draw) -> Sweep:
    """A sweep whose decimal commas cannot be thousands marks: 4 or 5 decimals."""
    device = draw.device()
    v, i = draw.curve(device)
    unit = draw.usual_unit(device)
    exponent = {"A": 0, "mA": -3, "µA": -6, "uA": -6}[unit]
    decimals = draw.choice([4, 5])
    return Sweep(write_decimals(v, 0, decimals), write_decimals(i, exponent, decimals), "V", unit, device)


def aligned_columns(draw: Draw, k: int) -> CorpusFile:
    """Columns filled up with blanks on the right or the left, decimal comma or point."""
    s = comma_sweep(draw)
    with_comma = k % 2 == 1
    texts = [comma(s.v.texts), comma(s.i.texts)] if with_comma else [s.v.texts, s.i.texts]
    columns = [[f"V/{s.v_unit}", *texts[0]], [f"I/{s.i_unit}", *texts[1]]]
    lines = aligned(columns, draw.choice([1, 2, 6]), left=k % 4 >= 2)
    if k % 3 == 0:
        lines = ["    " + line for line in lines]
    return one("aligned.txt", lines, s.expected())


def blanks_around(draw: Draw, k: int) -> CorpusFile:
    """Blanks after or around delimiters, or trailing delimiters, or both."""
    s = draw.sweep()
    mark = [",", ";", "\t", "|"][k % 4]
    if k % 3 == 0:
        lines = table(s, f"{mark} " if mark != "|" else " | ")
    elif k % 3 == 1:
        lines = [line + mark for line in table(s, mark)]
    else:
        lines = [line + mark * 2 + " " for line in table(s, f" {mark} ")]
    return one("blanks.csv", lines, s.expected())


def quoted(draw: Draw, k: int) -> CorpusFile:
    """Quoted cells; quoted decimal commas in text with commas between the cells."""
    s = comma_sweep(draw)
    way = k % 4
    cells = [comma(s.v.texts), comma(s.i.texts)] if way else [s.v.texts, s.i.texts]
    out = io.StringIO()
    mark = ";" if way == 3 else ","
    if way == 2:
        writer = csv.writer(out, delimiter=mark, lineterminator="\n")
    else:
        writer = csv.writer(out, delimiter=mark, quoting=csv.QUOTE_ALL, lineterminator="\n")
    writer.writerow([f"Voltage [{s.v_unit}]", f"Current [{s.i_unit}]"])
    writer.writerows(zip(*cells, strict=True))
    return one("quoted.csv", out.getvalue().splitlines(), s.expected())


def grouped(number: str, mark: str, decimal: str) -> str:
    """A written number with marks between its thousands."""
    sign = "-" if number.startswith("-") else ""
    whole, _, part = number.lstrip("-").partition(".")
    groups: list[str] = []
    while len(whole) > 3:
        groups.insert(0, whole[-3:])
        whole = whole[:-3]
    return sign + mark.join([whole, *groups]) + (decimal + part if part else "")


def thousands(draw: Draw, k: int) -> CorpusFile:
    """Thousands marks that decide themselves, by a decimal mark behind them or by two marks in a number."""
    mark, decimal, delimiter = [
        (",", ".", ";"),
        (".", ",", ";"),
        (" ", ",", ";"),
        ("'", ".", ";"),
        (",", ".", "\t"),
        (".", ",", "\t"),
        ("\u202f", ",", ";"),
        ("’", ".", "\t"),
        (",", ".", '"'),
    ][k % 9]
    device = draw.device(draw.choice(["organic", "perovskite"]))
    v, i = draw.curve(device, swept="voltage")
    v_column, i_column = write_decimals(v, 0, 4), write_decimals(i, -6, 2)
    cells = [[grouped(t, mark, decimal) for t in column.texts] for column in (v_column, i_column)]
    if delimiter == '"':
        cells = [[f'"{c}"' if "," in c else c for c in column] for column in cells]
        delimiter = ","
    lines = [f"Voltage (V){delimiter}Current (µA)", *rows(cells, delimiter)]
    return one("thousands.csv", lines, Expected(None, v_column.si, i_column.si))


def three_decimals(draw: Draw, k: int) -> CorpusFile:
    """Three digits behind each comma, but 0,512 cannot be a thousand: the decimal comma decides itself by some rows."""
    device = draw.device(draw.choice(["silicon", "organic"]))
    v, i = draw.curve(device, swept="voltage")
    unit, exponent = ("A", 0) if device.isc_a > 0.04 else ("mA", -3)
    v_column, i_column = write_decimals(v, 0, 3), write_decimals(i, exponent, 3)
    mark = [";", "\t"][k % 2]
    lines = [f"U (V){mark}I ({unit})", *rows([comma(v_column.texts), comma(i_column.texts)], mark)]
    return one("three_decimals.csv", lines, Expected(None, v_column.si, i_column.si))


def ambiguous(draw: Draw, k: int) -> CorpusFile:
    """All numbers are d,ddd or dd,ddd (or whole thousands): ask."""
    device = draw.device("module")
    v, i = draw.curve(device, points=20, swept="voltage")
    v, i = [x for x in v if x > 1.1], [y for x, y in zip(v, i, strict=True) if x > 1.1]
    # Readings below 1 A would begin with 0, or hold one group only, and so decide: they are left out.
    pairs = [(x, y) for x, y in zip(v, i, strict=True) if y > 1.01]
    v_column = write_decimals([x for x, _ in pairs], 0, 3)
    i_column = write_decimals([y for _, y in pairs], 0, 3)
    mark = [";", "\t"][k % 2]
    lines = [f"Voltage{mark}Current", *rows([comma(v_column.texts), comma(i_column.texts)], mark)]
    if k % 3 == 2:
        lines[0] = f"Voltage (mV){mark}Current (mA)"
        needs = {"thousands": ","}
    else:
        needs = {"decimal": ","}
    return CorpusFile("ambiguous.csv", text(lines), "", [Expected(None, v_column.si, i_column.si)], needs)


def no_way(draw: Draw, k: int) -> CorpusFile:
    """A decimal comma and a comma between the cells, unquoted: four fields under two names."""
    s = comma_sweep(draw)
    decimals_fixed = [f"{a},{b}" for a, b in zip(comma(s.v.texts), comma(s.i.texts), strict=True)]
    if k % 2:
        decimals_fixed = [f"{-100 + 10 * j},{31 - j // 2},{31 - j // 2}" for j in range(25)]
    return CorpusFile(
        "fields.csv",
        text([headed(s), *decimals_fixed]),
        "",
        [] if k % 2 else [Expected(None, s.v.si, s.i.si)],
        None,
        "more fields than headings",
    )


def delimiters(seed: int) -> Iterator[CorpusFile]:
    """All files of this kind."""
    yield from made("delimiters/plain", 21, seed, plain)
    yield from made("delimiters/decimal comma", 18, seed, decimal_comma)
    yield from made("delimiters/aligned", 12, seed, aligned_columns)
    yield from made("delimiters/blanks", 12, seed, blanks_around)
    yield from made("delimiters/quoted", 8, seed, quoted)
    yield from made("delimiters/thousands", 18, seed, thousands)
    yield from made("delimiters/three decimals", 6, seed, three_decimals)
    yield from made("delimiters/ambiguous", 6, seed, ambiguous)
    yield from made("delimiters/no way", 4, seed, no_way)
