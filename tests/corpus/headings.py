"""Headings: six languages, symbols, units in all places, densities, none at all."""

from collections.abc import Iterator

from parts import (
    EXPONENT,
    CorpusFile,
    Draw,
    Expected,
    Sweep,
    aligned,
    comma,
    headed,
    made,
    meaning,
    one,
    rows,
    text,
    write,
)

WORDS = [
    ("Voltage", "Current"),
    ("Spannung", "Strom"),
    ("Tension", "Courant"),
    ("Tensión", "Corriente"),
    ("Tensione", "Corrente"),
    ("Tensão", "Corrente"),
    ("Voltaje", "Corriente"),
    ("Spannung U", "Strom I"),
    ("V", "I"),
    ("U", "I"),
    ("E", "I"),
    ("voltage", "current"),
    ("VOLTAGE", "CURRENT"),
    ("Potential", "Current"),
    ("Volt", "Amp"),
    ("Vcell", "Icell"),
    ("V_meas", "I_meas"),
    ("bias", "current"),
]

UNITS = [
    "{} ({})",
    "{} [{}]",
    "{} {{{}}}",
    "{} <{}>",
    "{}, {}",
    "{}/{}",
    "{} / {}",
    "{}_{}",
    "{} in {}",
    "{}({})",
    "{}[{}]",
    "{} {}",
]


def languages(draw: Draw, k: int) -> CorpusFile:
    """Names in six languages and as symbols, units in brackets."""
    s = draw.sweep()
    v, i = WORDS[k % len(WORDS)]
    mark = draw.choice([";", "\t", ","])
    return one("names.csv", [headed(s, mark, v, i), *rows([s.v.texts, s.i.texts], mark)], s.expected())


def places(draw: Draw, k: int) -> CorpusFile:
    """The unit in every place that people put it."""
    s = draw.sweep(v_unit=draw.choice(["V", "V", "mV"]))
    way = UNITS[k % len(UNITS)]
    v, i = draw.choice(WORDS[:11])
    lines = [f"{way.format(v, s.v_unit)}\t{way.format(i, s.i_unit)}", *rows([s.v.texts, s.i.texts], "\t")]
    return one("places.txt", lines, s.expected())


TAILS = [
    ("Voltage (V), light", "Current ({u}), light"),
    ("V (V)", "I ({u}) @ 1 sun"),
    ("voltage_V_avg", "current_{u}_avg"),
    ("Voltage (V) measured", "Current ({u}) measured"),
    ("V (V) - cell", "I ({u}) - cell"),
    ("Voltage [V] (4-wire)", "Current [{u}] (4-wire)"),
    ("U_mess in V", "I_mess in {u}"),
    ("Bias voltage (V)", "Photocurrent ({u})"),
    ("v_volt_V", "i_amp_{u}"),
    ("Cell voltage / V", "Cell current / {u}"),
]


def tails(draw: Draw, k: int) -> CorpusFile:
    """Words behind or before the unit."""
    s = draw.sweep()
    v, i = TAILS[k % len(TAILS)]
    lines = [f"{v}\t{i.format(u=s.i_unit)}", *rows([s.v.texts, s.i.texts], "\t")]
    return one("tails.txt", lines, s.expected())


def unit_row(draw: Draw, k: int) -> CorpusFile:
    """A row of units under or above the names, bracketed or not."""
    s = draw.sweep()
    mark = [",", ";", "\t"][k % 3]
    bracket = ["{}", "({})", "[{}]"][k % 3]
    names = mark.join(draw.choice(WORDS[:11]))
    units = mark.join([bracket.format(s.v_unit), bracket.format(s.i_unit)])
    top = [units, names] if k % 4 == 3 else [names, units]
    return one("unit_row.csv", [*top, *rows([s.v.texts, s.i.texts], mark)], s.expected())


def on_numbers(draw: Draw, k: int) -> CorpusFile:
    """The unit on every number, with a blank or without."""
    way = k % 4
    if way == 3:
        return instrument_marks(draw)
    s = draw.sweep()
    gap = ["", " ", " "][way]
    cells = [[t + gap + s.v_unit for t in s.v.texts], [t + gap + s.i_unit for t in s.i.texts]]
    mark = draw.choice([",", ";", "\t"])
    return one("on_numbers.csv", [f"Voltage{mark}Current", *rows(cells, mark)], s.expected())


def instrument_marks(draw: Draw) -> CorpusFile:
    """Numbers as an instrument prints them: +1.0000E-01VDC,+2.0000E-03ADC."""
    device = draw.device()
    v, i = draw.curve(device)
    v_column, i_column = write(v, 0, 6, "exponent"), write(i, 0, 6, "exponent")

    def printed(texts: list[str], unit: str) -> list[str]:
        return [("" if t.startswith("-") else "+") + t.upper() + unit for t in texts]

    lines = rows([printed(v_column.texts, "VDC"), printed(i_column.texts, "ADC")])
    return one("instrument.txt", lines, Expected(None, v_column.si, i_column.si))


def unit_columns(draw: Draw, k: int) -> CorpusFile:
    """Each number is followed by a cell with its unit."""
    s = draw.sweep()
    mark = [";", "\t", ","][k % 3]
    cells = [s.v.texts, [s.v_unit] * len(s), s.i.texts, [s.i_unit] * len(s)]
    heading = mark.join(["Voltage", "Unit", "Current", "Unit"])
    return one("unit_columns.csv", [heading, *rows(cells, mark)], s.expected())


def prefixes(draw: Draw, k: int) -> CorpusFile:
    """Prefixes of both units, full unit names among them."""
    device, v_unit, i_unit = [
        ("dye", "mV", "µA"),
        ("dye", "mV", "nA"),
        ("dye", "V", "uA"),
        ("module", "kV", "mA"),
        ("organic", "mV", "mA"),
        ("silicon", "mV", "A"),
    ][k % 6]
    s = draw.sweep(device, v_unit=v_unit, i_unit=i_unit)
    return one("prefixes.csv", [headed(s, ";"), *rows([s.v.texts, s.i.texts], ";")], s.expected())


def unit_names(draw: Draw, k: int) -> CorpusFile:
    """Units as words: volts, milliamps."""
    v_word, i_word, unit = [
        ("volts", "amps", "A"),
        ("Volt", "Milliampere", "mA"),
        ("volts", "milliamps", "mA"),
        ("millivolts", "microamps", "µA"),
        ("Volt", "Ampere", "A"),
        ("V", "mAmps", "mA"),
    ][k % 6]
    s = draw.sweep("dye" if unit == "µA" else "silicon", v_unit="mV" if v_word == "millivolts" else "V", i_unit=unit)
    lines = [f"Voltage ({v_word}),Current ({i_word})", *rows([s.v.texts, s.i.texts])]
    return one("unit_names.csv", lines, s.expected())


DENSITIES = [
    ("mA/cm²", -3),
    ("mA/cm2", -3),
    ("mA cm^-2", -3),
    ("mA·cm⁻²", -3),
    ("A/m²", -4),
    ("mA/cm^2", -3),
    ("A/m2", -4),
]


def densities(draw: Draw, k: int) -> CorpusFile:
    """Current densities: with the area stated, or to be asked for."""
    unit, exponent = DENSITIES[k % len(DENSITIES)]
    device = draw.device(draw.choice(["dye", "organic", "perovskite"]))
    v, i = draw.curve(device)
    area = device.area_cm2
    v_column = write(v, 0, 5)
    column = write([x / float(area) for x in i], exponent, 5)
    current = [meaning(t, exponent, area) for t in column.texts]
    lines = [f"Voltage (V);J ({unit})" if k % 2 else f"V [V];Current density [{unit}]"]
    lines += rows([v_column.texts, column.texts], ";")
    if k % 3 == 2:
        return one("density.csv", lines, Expected(None, v_column.si, current), needs={"area_cm2": float(area)})
    stated = f"# Area: {area} cm²" if k % 3 else f"Area (cm2);{area}"
    return one("density.csv", [stated, *lines], Expected(None, v_column.si, current, {"area_cm2": float(area)}))


def no_unit(draw: Draw, k: int) -> CorpusFile:
    """Names without units: taken as V and A, with a warning."""
    s = draw.sweep("silicon", i_unit="A")
    v, i = WORDS[k % 11]
    mark = draw.choice([",", ";", "\t"])
    return one("no_unit.csv", [v + mark + i, *rows([s.v.texts, s.i.texts], mark)], s.expected())


def no_heading(draw: Draw, k: int) -> CorpusFile:
    """Two columns without any heading: voltage first, V and A, with a warning."""
    s = draw.sweep("silicon", i_unit="A", points=draw.choice([25, 8, 40]), swept="voltage")
    mark = [",", "\t", " ", ";"][k % 4]
    lines = rows([s.v.texts, s.i.texts], mark)
    return one("bare.dat", ["# measured at noon", *lines] if k % 3 == 2 else lines, s.expected())


def in_comment(draw: Draw, k: int) -> CorpusFile:
    """The heading in a comment line, alone, or with another comment behind it."""
    s = draw.sweep()
    mark = draw.choice(["\t", ","])
    sign = ["#", "%", "//", ";", "!"][k % 5]
    mark = "\t" if sign == ";" else mark
    lines = [f"{sign} sweep with the shutter open", f"{sign} {headed(s, mark)}"]
    if k % 2:
        lines.append(f"{sign} settled for two seconds at each point")
    return one("comment.dat", [*lines, *rows([s.v.texts, s.i.texts], mark)], s.expected())


def some_columns(draw: Draw, k: int) -> CorpusFile:
    """Names over the first two of three columns; the third is an unnamed index or state."""
    s = draw.sweep()
    mark = [",", ";", "\t"][k % 3]
    third = ["0"] * len(s) if k % 2 else [str(j + 1) for j in range(len(s))]
    lines = [headed(s, mark), *rows([s.v.texts, s.i.texts, third], mark)]
    return one("some.csv", lines, s.expected())


def rules(draw: Draw, k: int) -> CorpusFile:
    """Rules of dashes or equal signs under or around the heading."""
    s = draw.sweep()
    lines = aligned([[f"U ({s.v_unit})", *s.v.texts], [f"I ({s.i_unit})", *s.i.texts]], 3)
    rule = ["-" * 24, "=" * 24, "--------   --------", "+--------+--------+"][k % 4]
    lines.insert(1, rule)
    if k % 2:
        lines = [rule, *lines, rule]
    if k % 4 == 3:
        boxed = aligned([[f"U ({s.v_unit})", *s.v.texts], [f"I ({s.i_unit})", *s.i.texts]], 3)
        bars = ["| " + line.replace(") ", ")|", 1) + " |" for line in boxed[:1]]
        bars += [f"| {v} | {i} |" for v, i in zip(s.v.texts, s.i.texts, strict=True)]
        lines = [rule, f"| U ({s.v_unit}) | I ({s.i_unit}) |", rule, *bars[1:], rule]
    return one("rules.txt", lines, s.expected())


def load_sign(draw: Draw, k: int) -> CorpusFile:
    """A lit device in load sign: the answer is in generator sign."""
    s = draw.sweep(swept="voltage")
    turned = Sweep(s.v, s.i.negative(), s.v_unit, s.i_unit, s.device)
    mark = draw.choice([",", "\t"])
    return one("load.csv", [headed(s, mark), *rows([turned.v.texts, turned.i.texts], mark)], s.expected())


def dark(draw: Draw, k: int) -> CorpusFile:
    """A dark curve: nothing in it says which sign it has, so the sign must be asked for."""
    device = draw.device("silicon")
    v = [device.voc_v * j / 24 for j in range(25)]
    i = [-(device.isc_a - device.current(x)) for x in v]
    v_column, i_column = write(v, 0, 5), write(i, -3, 6)
    texts = i_column.texts if k % 2 else i_column.negative().texts
    texts = ["0.0" if float(t) == 0 else t for t in texts]
    lines = ["Voltage (V),Dark current (mA)", *rows([v_column.texts, texts])]
    needs = {"sign": "generator" if k % 2 else "load"}
    return CorpusFile("dark.csv", text(lines), "", [Expected(None, v_column.si, i_column.si)], needs)


def german(draw: Draw, k: int) -> CorpusFile:
    """A whole German file: decimal commas, semicolons, units in square brackets."""
    s = draw.sweep(v_unit=draw.choice(["V", "mV"]))
    lines = [f"Spannung [{s.v_unit}];Strom [{s.i_unit}]", *rows([comma(s.v.texts), comma(s.i.texts)], ";")]
    assert EXPONENT[s.i_unit] <= 0
    return one("german.csv", lines, s.expected())


def headings(seed: int) -> Iterator[CorpusFile]:
    """All files of this kind."""
    yield from made("headings/languages", 18, seed, languages)
    yield from made("headings/unit places", 12, seed, places)
    yield from made("headings/words behind", 10, seed, tails)
    yield from made("headings/unit row", 8, seed, unit_row)
    yield from made("headings/unit on numbers", 8, seed, on_numbers)
    yield from made("headings/unit columns", 3, seed, unit_columns)
    yield from made("headings/prefixes", 6, seed, prefixes)
    yield from made("headings/unit names", 6, seed, unit_names)
    yield from made("headings/densities", 14, seed, densities)
    yield from made("headings/no unit", 6, seed, no_unit)
    yield from made("headings/none", 6, seed, no_heading)
    yield from made("headings/in comments", 10, seed, in_comment)
    yield from made("headings/some columns", 4, seed, some_columns)
    yield from made("headings/rules", 8, seed, rules)
    yield from made("headings/load sign", 6, seed, load_sign)
    yield from made("headings/dark", 4, seed, dark)
    yield from made("headings/german", 4, seed, german)
