"""Forms of a number: exponents, signs, points without digits, glued columns."""

from collections.abc import Iterator

from parts import EXPONENT, Column, CorpusFile, Draw, Expected, Sweep, headed, made, meaning, one, rows, text, write


def exponents(draw: Draw, k: int) -> CorpusFile:
    """Exponents with e, E, D and d, of two or three digits, with and without sign."""
    device = draw.device()
    v, i = draw.curve(device)
    columns = [write(v, 0, 5, "exponent"), write(i, 0, 5, "exponent")]

    def form(number: str) -> str:
        mantissa, exponent = number.split("e")
        sign, digits = exponent[0], exponent[1:]
        return [
            f"{mantissa}e{sign}{digits}",
            f"{mantissa}E{sign}{digits}",
            f"{mantissa}D{sign}{digits}",
            f"{mantissa}E{sign}0{digits}",
            f"{mantissa}E{sign.replace('+', '')}{int(digits)}",
            f"{mantissa.replace('.', ',')}E{sign}{digits}",
            f"{mantissa}d{sign}{digits}",
        ][k % 7]

    cells = [[form(t) for t in column.texts] for column in columns]
    mark = ";" if k % 7 == 5 else draw.choice([",", "\t", " "])
    top = "Voltage_V Current_A" if mark == " " else f"Voltage (V){mark}Current (A)"
    return one("exponents.csv", [top, *rows(cells, mark)], Expected(None, columns[0].si, columns[1].si))


def signs(draw: Draw, k: int) -> CorpusFile:
    """The minus of typesetters, a leading plus, a blank within the sign, minus in load sign."""
    s = draw.sweep(swept="voltage")
    v, i = s.v.texts, s.i.texts
    turned = k % 2 == 1
    if turned:
        i = s.i.negative().texts

    def form(t: str) -> str:
        if k % 4 == 3:
            return t.replace("-", "- ") if t.startswith("-") else t
        if k % 4 == 2:
            return t if t.startswith("-") else "+" + t
        return t.replace("-", "\u2212") if k < 4 else t.replace("-", "\u2013")

    mark = [",", ";", "\t"][k % 3]
    return one("signs.csv", [headed(s, mark), *rows([[form(t) for t in v], [form(t) for t in i]], mark)], s.expected())


def no_digit(draw: Draw, k: int) -> CorpusFile:
    """.5 and 5. : no digit before or behind the point."""
    s = draw.sweep(draw.choice(["silicon", "organic"]))
    mark = [",", ";", "\t"][k % 3]
    if k % 2:
        v = [t.replace("0.", ".", 1) if t.lstrip("-").startswith("0.") else t for t in s.v.texts]
        i = [t.replace("0.", ".", 1) if t.lstrip("-").startswith("0.") else t for t in s.i.texts]
        return one("no_digit.csv", [headed(s, mark), *rows([v, i], mark)], s.expected())
    v_whole = [str(round(x * 1e3)) + "." for x in s.v.si]
    i_whole = [str(round(x * 1e6)) + "." for x in s.i.si]
    expected = Expected(None, [meaning(t, -3) for t in v_whole], [meaning(t, -6) for t in i_whole])
    return one("no_digit.csv", [f"V (mV){mark}I (µA)", *rows([v_whole, i_whole], mark)], expected)


def whole(draw: Draw, k: int) -> CorpusFile:
    """Whole numbers of mV and µA or nA, as a converter gives them."""
    device = draw.device("dye")
    v, i = draw.curve(device)
    unit = ["µA", "nA"][k % 2]
    columns = [write(v, -3, 1), write(i, EXPONENT[unit], 1)]
    cells = [[t.split(".")[0] for t in column.texts] for column in columns]
    expected = Expected(None, [meaning(t, -3) for t in cells[0]], [meaning(t, EXPONENT[unit]) for t in cells[1]])
    mark = [",", ";", "\t"][k % 3]
    return one("whole.csv", [f"U [mV]{mark}I [{unit}]", *rows(cells, mark)], expected)


def many_digits(draw: Draw, k: int) -> CorpusFile:
    """All digits of a double, as a program prints it."""
    device = draw.device()
    v, i = draw.curve(device)
    cells = [[repr(x) for x in v], [repr(x) for x in i]]
    mark = [",", ";", "\t"][k % 3]
    return one("digits.csv", [f"Voltage (V){mark}Current (A)", *rows(cells, mark)], Expected(None, v, i))


def few_digits(draw: Draw, k: int) -> CorpusFile:
    """Two or three digits, so that neighbouring readings are equal."""
    s = draw.sweep(draw.choice(["silicon", "dye"]), digits=3)
    mark = [",", ";", "\t"][k % 3]
    return one("few.csv", [headed(s, mark), *rows([s.v.texts, s.i.texts], mark)], s.expected())


def fixed_width(draw: Draw, k: int) -> CorpusFile:
    """Fixed width, columns parted by blanks; each number has its own."""
    s = draw.sweep("silicon", i_unit="A", points=25)
    lines = [f"{v:>10}{i:>14}" for v, i in zip(s.v.texts, s.i.texts, strict=True)]
    top = f"{'V/V':>10}{'I/A':>14}"
    return one("fixed.txt", [top, *lines], s.expected())


def glued(draw: Draw, k: int) -> CorpusFile:
    """Fixed width without a blank before the sign: 0.512-1.2E-3. Read it or refuse it, but not wrong."""
    s = draw.sweep("organic", i_unit="A", swept="voltage", style="exponent", points=25)
    turned = s.i.negative().texts
    width = max(map(len, turned))
    lines = [f"{v:>9}{i.upper():>{width}}" for v, i in zip(s.v.texts, turned, strict=True)]
    lines = [f"{'V/V':>9}{'I/A':>{width}}", *lines]
    return CorpusFile("glued.txt", text(lines), "", [s.expected()], None, "numbers without a gap")


def trailing_units(draw: Draw, k: int) -> CorpusFile:
    """Units behind some columns' numbers, other columns bare."""
    s = draw.sweep()
    v = [f"{t} {s.v_unit}" for t in s.v.texts]
    mark = [",", ";", "\t"][k % 3]
    return one("units.csv", [f"Voltage{mark}Current ({s.i_unit})", *rows([v, s.i.texts], mark)], s.expected())


def mixed_prefixes(draw: Draw, k: int) -> CorpusFile:
    """Each current with its own prefix: 1.2345 mA, 987.6 µA."""
    s = draw.sweep("organic", i_unit="µA", digits=6, swept="voltage")
    texts, si = [], []
    for value in s.i.si:
        exponent, unit = (-3, "mA") if abs(value) >= 1e-3 else (-6, "µA")
        written = write([value], exponent, 5).texts[0] if value else "0.0000"
        texts.append(f"{written} {unit}")
        si.append(meaning(written, exponent))
    column = Column(texts, si)
    lines = ["Voltage;Current", *rows([[f"{t} V" for t in s.v.texts], column.texts], ";")]
    return one("prefixes.csv", lines, Sweep(s.v, column, "V", "A", s.device).expected())


def number_forms(seed: int) -> Iterator[CorpusFile]:
    """All files of this kind."""
    yield from made("numbers/exponents", 14, seed, exponents)
    yield from made("numbers/signs", 8, seed, signs)
    yield from made("numbers/no digit", 6, seed, no_digit)
    yield from made("numbers/whole", 4, seed, whole)
    yield from made("numbers/many digits", 3, seed, many_digits)
    yield from made("numbers/few digits", 4, seed, few_digits)
    yield from made("numbers/fixed width", 3, seed, fixed_width)
    yield from made("numbers/glued", 3, seed, glued)
    yield from made("numbers/trailing units", 3, seed, trailing_units)
    yield from made("numbers/mixed prefixes", 2, seed, mixed_prefixes)
