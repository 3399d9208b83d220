"""Tables with more columns than voltage and current, and with other orders of the two."""

from collections.abc import Iterator

from parts import CorpusFile, Draw, Expected, Sweep, made, meaning, one, rows, write

INDEX = ["#", "No.", "Point", "", "Index", "Nr", "N", "Row"]


def index(draw: Draw, k: int) -> CorpusFile:
    """A running number first, named in many ways or not at all."""
    s = draw.sweep()
    mark = [",", ";", "\t"][k % 3]
    name = INDEX[k % len(INDEX)]
    numbers = [str(j + k % 2) for j in range(len(s))]
    heading = mark.join([name, f"Voltage ({s.v_unit})", f"Current ({s.i_unit})"])
    return one("index.csv", [heading, *rows([numbers, s.v.texts, s.i.texts], mark)], s.expected())


def clock(draw: Draw, way: int, points: int) -> tuple[str, list[str]]:
    """Heading and cells of a column of times."""
    seconds = [j * 3 for j in range(points)]
    stamps = [f"14:{7 + t // 60:02d}:{t % 60:02d}" for t in seconds]
    if way == 0:
        return "Time (s)", [f"{t * 0.4:.2f}" for t in seconds]
    if way == 1:
        return "Time", stamps
    if way == 2:
        return "Timestamp", [f"2031-05-17T{t}" for t in stamps]
    if way == 3:
        return "Date Time", [f"2031-05-17 {t}.250" for t in stamps]
    if way == 4:
        return "Zeit", [f"17.05.2031 {t}" for t in stamps]
    return "t/ms", [str(t * 400) for t in seconds]


def times(draw: Draw, k: int) -> CorpusFile:
    """Seconds, clock times, ISO dates and German dates as the first or the last column."""
    s = draw.sweep()
    name, stamps = clock(draw, k % 6, len(s))
    mark = [",", ";", "\t"][k % 3]
    columns = [[f"V ({s.v_unit})", *s.v.texts], [f"I ({s.i_unit})", *s.i.texts]]
    columns.insert(0 if k % 4 < 3 else 2, [name, *stamps])
    return one("times.csv", rows(columns, mark), s.expected())


def power(draw: Draw, k: int) -> CorpusFile:
    """Power, resistance or both behind the pair."""
    s = draw.sweep()
    watts = [v * i for v, i in zip(s.v.si, s.i.si, strict=True)]
    p = write(watts, -3, 5)
    mark = draw.choice([",", ";", "\t"])
    columns = [[f"Voltage ({s.v_unit})", *s.v.texts], [f"Current ({s.i_unit})", *s.i.texts], ["Power (mW)", *p.texts]]
    if k % 2:
        ohms = [f"{v / i:.2f}" if i else "0.00" for v, i in zip(s.v.si, s.i.si, strict=True)]
        columns.insert(k % 3, ["R (Ohm)", *ohms])
    return one("power.csv", rows(columns, mark), s.expected())


def surroundings(draw: Draw, k: int) -> CorpusFile:
    """Temperature and irradiance at every reading."""
    s = draw.sweep()
    n = len(s)
    columns = [[f"Voltage ({s.v_unit})", *s.v.texts], [f"Current ({s.i_unit})", *s.i.texts]]
    warm = ["Temperature (°C)", *(f"{24.8 + draw.gauss(0, 0.1):.1f}" for _ in range(n))]
    bright = ["Irradiance (W/m²)", *(f"{998 + draw.gauss(0, 2):.0f}" for _ in range(n))]
    columns += [[warm], [bright], [warm, bright]][k % 3]
    if k % 2:
        columns = columns[2:] + columns[:2]
    return one("surroundings.csv", rows(columns, draw.choice([",", ";", "\t"])), s.expected())


def flags(draw: Draw, k: int) -> CorpusFile:
    """A column of states: numbers, words, hexadecimal."""
    s = draw.sweep()
    name, cells = [
        ("Status", ["0"] * len(s)),
        ("Flag", ["ok"] * len(s)),
        ("State", ["0x00"] * len(s)),
        ("Valid", ["true"] * len(s)),
        ("Range", ["auto"] * (len(s) // 2) + ["10m"] * (len(s) - len(s) // 2)),
        ("Compliance", ["N"] * len(s)),
    ][k % 6]
    columns = [[f"Voltage ({s.v_unit})", *s.v.texts], [f"Current ({s.i_unit})", *s.i.texts], [name, *cells]]
    return one("flags.csv", rows(columns, draw.choice([",", ";", "\t"])), s.expected())


def spread(draw: Draw, k: int) -> CorpusFile:
    """The standard deviation of repeats beside the mean."""
    s = draw.sweep()
    std = write([abs(draw.gauss(0, 2e-3 * s.device.isc_a)) + 1e-4 * s.device.isc_a for _ in range(len(s))], -3, 4)
    name = ["Current std (mA)", "σ(I) (mA)", "I stdev [mA]", "sd Current (mA)"][k % 4]
    columns = [[f"Voltage ({s.v_unit})", *s.v.texts], [f"Current ({s.i_unit})", *s.i.texts], [name, *std.texts]]
    if k % 2:
        columns[1][0] = f"Current mean ({s.i_unit})"
    return one("spread.csv", rows(columns, draw.choice([",", ";", "\t"])), s.expected())


def near(draw: Draw, s: Sweep) -> list[str]:
    """Set voltages: what the source was told, near the measured ones."""
    return write([v + draw.gauss(0, 5e-4) * s.device.voc_v for v in s.v.si], 0, 4).texts


SET = [
    ("V set (V)", "V meas (V)", "I meas ({})"),
    ("Vset", "Vmeas", "Imeas"),
    ("Set voltage (V)", "Measured voltage (V)", "Measured current ({})"),
    ("Sollspannung (V)", "Istspannung (V)", "Strom ({})"),
    ("Source voltage (V)", "Voltage (V)", "Current ({})"),
]


def set_and_measured(draw: Draw, k: int) -> CorpusFile:
    """A set voltage beside the measured one: the measured one counts."""
    bare = k % 5 == 1
    s = draw.sweep("silicon" if bare else None, i_unit="A" if bare else None, swept="voltage")
    names = [name.format(s.i_unit) for name in SET[k % 5]]
    columns = [[names[0], *near(draw, s)], [names[1], *s.v.texts], [names[2], *s.i.texts]]
    if k % 2:
        columns = [columns[1], columns[2], columns[0]]
    return one("set.csv", rows(columns, draw.choice([",", ";", "\t"])), s.expected())


def set_current(draw: Draw, k: int) -> CorpusFile:
    """A current-stepped table: set current, measured current and voltage; or the set current alone with the voltage."""
    s = draw.sweep(swept="current")
    told = write([i * (1 + draw.gauss(0, 1e-3)) for i in s.i.si], -3, 5)
    columns = [["Set current (mA)", *told.texts], [f"Measured current ({s.i_unit})", *s.i.texts]]
    columns.append([f"Measured voltage ({s.v_unit})", *s.v.texts])
    if k % 2:
        columns = [[f"Set current ({s.i_unit})", *s.i.texts], columns[2]]
    return one("set_current.csv", rows(columns, draw.choice([",", ";", "\t"])), s.expected())


def compliance(draw: Draw, k: int) -> CorpusFile:
    """The limits of the source as columns of their own."""
    s = draw.sweep(swept="voltage")
    limit = ["Compliance (A)", "Current limit (A)", "I compliance (A)"][k % 3]
    columns = [[f"Voltage ({s.v_unit})", *s.v.texts], [f"Current ({s.i_unit})", *s.i.texts]]
    columns.insert(2 if k % 2 else 0, [limit, *["6.0"] * len(s)])
    return one("limits.csv", rows(columns, draw.choice([",", "\t"])), s.expected())


def remarks(draw: Draw, k: int) -> CorpusFile:
    """A column of remarks; some hold the delimiter within quotes, or a doubled quote."""
    s = draw.sweep(points=25)
    mark = [",", ";", "\t"][k % 3]
    cells = [""] * len(s)
    cells[2] = f'"shutter{mark} slow"'
    cells[5] = '"door ""B"" open"'
    cells[7] = "cloud"
    columns = [[f"Voltage ({s.v_unit})", *s.v.texts], [f"Current ({s.i_unit})", *s.i.texts], ["Remark", *cells]]
    if k % 2:
        columns = [columns[2], columns[0], columns[1]]
    return one("remarks.csv", rows(columns, mark), s.expected())


def current_first(draw: Draw, k: int) -> CorpusFile:
    """The current stands before the voltage."""
    s = draw.sweep()
    columns = [[f"I ({s.i_unit})", *s.i.texts], [f"V ({s.v_unit})", *s.v.texts]]
    if k % 3 == 2:
        columns = [[f"Strom [{s.i_unit}]", *s.i.texts], [f"Spannung [{s.v_unit}]", *s.v.texts]]
    return one("current_first.csv", rows(columns, draw.choice([",", ";", "\t"])), s.expected())


def density_beside(draw: Draw, k: int) -> CorpusFile:
    """Current and current density side by side: the current counts, no area is needed."""
    s = draw.sweep("organic")
    area = s.device.area_cm2
    j = write([i / float(area) for i in s.i.si], -3, 7)
    density = [["Current density (mA/cm²)", "J (mA/cm2)"][k % 2], *j.texts]
    columns = [[f"Voltage ({s.v_unit})", *s.v.texts], [f"Current ({s.i_unit})", *s.i.texts]]
    columns.insert(1 + k % 2, density)
    lines = rows(columns, ";")
    if k % 4 == 3:
        lines.insert(0, f"# Area: {area} cm2")
        return one("density.csv", lines, s.expected(area_cm2=meaning(area)))
    return one("density.csv", lines, s.expected())


def everything(draw: Draw, k: int) -> CorpusFile:
    """Index, clock, pair, power and state in one table."""
    s = draw.sweep()
    name, stamps = clock(draw, 1 + k % 3, len(s))
    p = write([v * i for v, i in zip(s.v.si, s.i.si, strict=True)], -3, 5)
    columns = [
        ["n", *(str(j) for j in range(len(s)))],
        [name, *stamps],
        [f"Voltage ({s.v_unit})", *s.v.texts],
        [f"Current ({s.i_unit})", *s.i.texts],
        ["Power (mW)", *p.texts],
        ["Status", *["0"] * len(s)],
    ]
    expected = Expected(None, s.v.si, s.i.si)
    return one("everything.csv", rows(columns, [",", ";", "\t"][k % 3]), expected)


def extra_columns(seed: int) -> Iterator[CorpusFile]:
    """All files of this kind."""
    yield from made("columns/index", 8, seed, index)
    yield from made("columns/times", 12, seed, times)
    yield from made("columns/power", 6, seed, power)
    yield from made("columns/surroundings", 6, seed, surroundings)
    yield from made("columns/flags", 6, seed, flags)
    yield from made("columns/spread", 4, seed, spread)
    yield from made("columns/set and measured", 10, seed, set_and_measured)
    yield from made("columns/set current", 4, seed, set_current)
    yield from made("columns/compliance", 6, seed, compliance)
    yield from made("columns/remarks", 6, seed, remarks)
    yield from made("columns/current first", 6, seed, current_first)
    yield from made("columns/density beside", 4, seed, density_beside)
    yield from made("columns/everything", 6, seed, everything)
