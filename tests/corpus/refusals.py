"""What no one can read, or not without asking."""

import math
from collections.abc import Callable, Iterator, Sequence

from parts import CorpusFile, Draw, Expected, made, rows, text, write


def refused(name: str, data: bytes, why: str) -> CorpusFile:
    """A file without a right reading."""
    return CorpusFile(name, data, "", [], None, why)


FUNCTIONS: list[tuple[str, Callable[[float], float]]] = [
    ("log |I|", math.log10),
    ("log10(I)", math.log10),
    ("ln(I/A)", math.log),
    ("I^2", lambda i: i * i),
    ("I² (A²)", lambda i: i * i),
    ("Current*1000 (A)", lambda i: i * 1000),
    ("1/I (1/A)", lambda i: 1 / i),
    ("sqrt(I)", math.sqrt),
    ("dI/dV (A/V)", lambda i: 0.1 + i),
    ("Current x 10^3 (A)", lambda i: i * 1000),
    ("I/I0", lambda i: i / 0.3),
    ("Isc - I (A)", lambda i: 1 - i),
    ("log10 |J| (A/cm²)", lambda i: math.log10(i / 4)),
    ("Current squared", lambda i: i * i),
    ("Normalised current", lambda i: i / 0.3),
]


def functions(draw: Draw, k: int) -> CorpusFile:
    """A function of the current, or of the voltage, in the place of the quantity itself."""
    s = draw.sweep("silicon", i_unit="A", swept="voltage")
    kept = [(v, i) for v, i in zip(s.v.si, s.i.si, strict=True) if i > 0]
    heading, apply = FUNCTIONS[k % len(FUNCTIONS)]
    mark = [",", ";", "\t"][k % 3]
    column = [f"{apply(i):.5f}" for _, i in kept]
    lines = [f"Voltage (V){mark}{heading}", *rows([[f"{v:.4f}" for v, _ in kept], column], mark)]
    return refused("function.csv", text(lines), f"the only current is {heading}, a function of it")


def mega(draw: Draw, k: int) -> CorpusFile:
    """MA is written where mA is meant: the unit must be asked for."""
    s = draw.sweep("organic", i_unit="mA")
    v, i = [("Voltage (V)", "Current (MA)"), ("VOLTAGE (V)", "CURRENT (MA)"), ("V [V]", "I [MA]")][k % 3]
    lines = [f"{v};{i}", *rows([s.v.texts, s.i.texts], ";")]
    return CorpusFile("mega.csv", text(lines), "", [s.expected()], {"current_unit": "mA"})


def two_candidates(draw: Draw, k: int) -> CorpusFile:
    """Two voltages and one current, or two currents of one device, without a sign which counts."""
    s = draw.sweep("silicon", i_unit="A", swept="voltage")
    second = write([v * 0.97 + 0.003 for v in s.v.si], 0, 5).texts
    shunt = write([i * 1.02 + 0.002 for i in s.i.si], 0, 5).texts
    v_names, i_name = [
        (("V1 (V)", "V2 (V)"), "I (A)"),
        (("Voltage A (V)", "Voltage B (V)"), "Current (A)"),
        (("U1 [V]", "U2 [V]"), "I [A]"),
    ][k % 3]
    mark = [",", ";", "\t"][k % 3]
    columns = [[v_names[0], *s.v.texts], [v_names[1], *second], [i_name, *s.i.texts]]
    if k >= 6:
        columns = [[name, *column] for name, column in (("Ch1", s.v.texts), ("Ch2", second), ("Ch3", shunt))]
        lines = rows(columns, mark)
        expected = Expected(None, s.v.si, [float(t) for t in shunt])
        return CorpusFile("channels.csv", text(lines), "", [expected], {"voltage": 0, "current": 2})
    return CorpusFile("two.csv", text(rows(columns, mark)), "", [s.expected()], {"voltage": 0})


def binary(draw: Draw, k: int) -> CorpusFile:
    """Bytes that are no text."""
    noise = bytes(draw.randrange(256) for _ in range(900))
    data = [
        noise,
        b"\x89PNG\r\n\x1a\n\x00\x00\x00\rIHDR" + noise,
        b"PK\x03\x04\x14\x00" + noise,
        b"%PDF-1.4\n%\xe2\xe3\xcf\xd3\n" + noise,
        b"\x00" * 800,
        b"\x1f\x8b\x08\x00" + noise,
        b"\x93NUMPY\x01\x00v\x00{'descr': '<f8', 'shape': (90,), }\n" + noise,
        b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + noise,
    ][k % 8]
    return refused("binary.dat", data, "not a text")


def empty(draw: Draw, k: int) -> CorpusFile:
    """Nothing, or nothing but blanks and line ends."""
    return refused("empty.csv", [b"", b"\n\n\n", b"   \r\n\t\r\n", b"\xef\xbb\xbf"][k % 4], "empty")


def only_text(draw: Draw, k: int) -> CorpusFile:
    """Headings alone, or prose."""
    data = [
        "Voltage (V),Current (A)\n",
        "# sweep 3\n# Area: 0.25 cm²\nVoltage (V)\tCurrent (mA)\n",
        "The lamp failed before the first reading. No data were taken.\n",
        "Voltage;Current\nV;mA\n",
        "Dear colleague,\nthe cells arrive on Monday; please keep them dark.\nRegards\n",
        "<html><body><h1>Not found</h1><p>The file has moved.</p></body></html>\n",
    ][k % 6]
    return refused("words.txt", data.encode(), "no numbers")


def one_column(draw: Draw, k: int) -> CorpusFile:
    """Currents or voltages alone."""
    s = draw.sweep("silicon", i_unit="A")
    lines: Sequence[str] = [["Current (A)", *s.i.texts], ["Voltage (V)", *s.v.texts], s.i.texts][k % 3]
    return refused("one.csv", text(lines), "only one quantity")


def uneven_fields(draw: Draw, k: int) -> CorpusFile:
    """Three fields under two names."""
    mark = [",", ";"][k % 2]
    lines = [mark.join([str(v), str(31 - j), str(31 - j)]) for j, v in enumerate(range(-100, 120, 10))]
    return refused("fields.csv", text([f"Voltage (V){mark}Current (mA)", *lines]), "three fields under two names")


def other_quantities(draw: Draw, k: int) -> CorpusFile:
    """A table of something else."""
    top, first, last = [
        ("Wavelength (nm),EQE (%)", 300, 80.0),
        ("Frequency (Hz),Impedance (Ohm)", 100, 2000.0),
        ("Time (s),Temperature (°C)", 0, 25.0),
        ("Angle (deg),Counts", 10, 4000.0),
    ][k % 4]
    lines = [top, *(f"{first + 10 * j},{last * (1 + 0.01 * draw.gauss(0, 1)):.3f}" for j in range(25))]
    return refused("other.csv", text(lines), "neither voltage nor current")


def refusals(seed: int) -> Iterator[CorpusFile]:
    """All files of this kind."""
    yield from made("refusals/functions", 15, seed, functions)
    yield from made("refusals/mega", 3, seed, mega)
    yield from made("refusals/two candidates", 8, seed, two_candidates)
    yield from made("refusals/binary", 8, seed, binary)
    yield from made("refusals/empty", 4, seed, empty)
    yield from made("refusals/only text", 6, seed, only_text)
    yield from made("refusals/one column", 3, seed, one_column)
    yield from made("refusals/uneven fields", 2, seed, uneven_fields)
    yield from made("refusals/other quantities", 4, seed, other_quantities)
