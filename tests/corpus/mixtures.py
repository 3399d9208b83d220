"""Files that show several peculiarities at once, drawn at random."""

from collections.abc import Iterator
from dataclasses import dataclass, field

from extra_columns import clock
from parts import EXPONENT, CorpusFile, Draw, Expected, Sweep, comma, made, meaning, rows, text, write, write_decimals

LANGUAGES = {
    "en": ("Voltage", "Current", "Area", "Temperature", "Sample", "Power"),
    "de": ("Spannung", "Strom", "Fläche", "Temperatur", "Probe", "Leistung"),
    "fr": ("Tension", "Courant", "Surface", "Température", "Échantillon", "Puissance"),
    "es": ("Tensión", "Corriente", "Área", "Temperatura", "Muestra", "Potencia"),
    "it": ("Tensione", "Corrente", "Area", "Temperatura", "Campione", "Potenza"),
    "pt": ("Tensão", "Corrente", "Área", "Temperatura", "Amostra", "Potência"),
}


@dataclass
class Habits:
    """How one laboratory writes its files."""

    words: tuple[str, str, str, str, str, str]
    mark: str
    with_comma: bool
    unit: str
    comment: str
    end: str
    encoding: str
    load: bool
    overflow: str | None
    columns: list[str] = field(default_factory=list)


def habits(draw: Draw) -> Habits:
    """Habits that do not contradict each other."""
    language = draw.choice(list(LANGUAGES))
    with_comma = language != "en" and draw.random() < 0.7
    encoding = draw.choice(["utf-8", "utf-8", "utf-8-sig", "latin-1", "cp1252", "utf-16"])
    marks = ["NaN", "9,9E37" if with_comma else "9.9E37", "OVL", "---"]
    return Habits(
        LANGUAGES[language],
        draw.choice([";", "\t"] if with_comma else [",", ";", "\t"]),
        with_comma,
        draw.choice(["{} ({})", "{} [{}]", "{}/{}", "{} in {}", "{}_{}"]),
        draw.choice(["# ", "", "% "]),
        draw.choice(["\n", "\r\n", "\r"]),
        encoding,
        draw.random() < 0.2,
        draw.choice(marks) if draw.random() < 0.2 else None,
        draw.sample(["index", "clock", "power", "status"], draw.choice([0, 0, 1, 2])),
    )


def written(draw: Draw, points: int | None = None) -> Sweep:
    """A sweep with four or five decimals, so that no comma can part thousands."""
    device = draw.device()
    v, i = draw.curve(device, points, "voltage")
    unit = draw.choice(["mA", "µA"]) if device.isc_a < 1e-3 else draw.choice(["mA", "A"])
    return Sweep(write_decimals(v, 0, 4), write_decimals(i, EXPONENT[unit], draw.choice([4, 5])), "V", unit, device)


def grid(draw: Draw, s: Sweep, h: Habits, bad: list[int]) -> list[str]:
    """The table of a sweep."""
    i = s.i.negative().texts if h.load else s.i.texts
    v = s.v.texts
    if h.with_comma:
        v, i = comma(v), comma(i)
    i = [h.overflow if j in bad and h.overflow else t for j, t in enumerate(i)]
    columns = [[h.unit.format(h.words[0], s.v_unit), *v], [h.unit.format(h.words[1], s.i_unit), *i]]
    for name in h.columns:
        if name == "index":
            columns.insert(0, ["n", *(str(j) for j in range(len(s)))])
        elif name == "clock":
            columns.insert(0, ["Time", *clock(draw, 1, len(s))[1]])
        elif name == "power":
            columns.append([f"{h.words[5]} (mW)", *power(s, h, bad)])
        else:
            columns.append(["Status", *["0"] * len(s)])
    return rows(columns, h.mark)


def power(s: Sweep, h: Habits, bad: list[int]) -> list[str]:
    """The product of the written voltage and current, in their sign."""
    watts = [(-1 if h.load else 1) * v * i for v, i in zip(s.v.si, s.i.si, strict=True)]
    texts = [f"{1e3 * p:.4f}" for p in watts]
    texts = comma(texts) if h.with_comma else texts
    return [h.overflow if j in bad and h.overflow else t for j, t in enumerate(texts)]


def facts(draw: Draw, h: Habits, s: Sweep) -> tuple[list[str], str, dict[str, float]]:
    """Lines of metadata, the label and the options that they state."""
    label = f"{draw.choice('ABCD')}{draw.randrange(10, 99)}"
    celsius = draw.choice(["27.5", "31.0", "22.5"])
    area = s.device.area_cm2
    values = [f"{area} cm²", f"{celsius} °C"]
    if h.with_comma:
        values = comma(values)
    lines = [f"{h.words[4]}: {label}", f"{h.words[2]}: {values[0]}", f"{h.words[3]}: {values[1]}"]
    return [h.comment + line for line in lines], label, {"area_cm2": float(area), "temperature_c": float(celsius)}


def single(draw: Draw, k: int) -> CorpusFile:
    """One sweep."""
    h = habits(draw)
    s = written(draw, 25 if h.overflow else None)
    bad = [len(s) - 2, len(s) - 1] if h.overflow else []
    lines, label, options = facts(draw, h, s)
    if draw.random() < 0.3:
        lines, label_wanted, options = [], None, {}
    else:
        label_wanted = label
    table = grid(draw, s, h, bad)
    gap = [""] if draw.random() < 0.4 else []
    lines = [*table, "", *lines] if draw.random() < 0.15 else [*lines, *gap, *table]
    kept = [j for j in range(len(s)) if j not in bad]
    expected = s.kept(kept, label_wanted, **options)
    return CorpusFile("mixed.txt", text(lines, h.end, h.encoding), "", [expected], incomplete=bool(bad))


def double(draw: Draw, k: int) -> CorpusFile:
    """Two or three sweeps, each under its own metadata and heading."""
    h = habits(draw)
    h.overflow = None
    lines: list[str] = []
    expected: list[Expected] = []
    for _ in range(2 + k % 2):
        device_sweep = written(draw, 21)
        head, label, options = facts(draw, h, device_sweep)
        lines += [*head, *grid(draw, device_sweep, h, []), ""]
        expected.append(device_sweep.expected(label, **options))
    return CorpusFile("mixed.txt", text(lines, h.end, h.encoding), "", expected)


def export(draw: Draw, k: int) -> CorpusFile:
    """A table as a spreadsheet or a program exports it: quotes, a unit row, exponents, a density, trailing marks."""
    device = draw.device(draw.choice(["dye", "organic", "perovskite", "silicon"]))
    area = device.area_cm2 if draw.random() < 0.4 else "1"
    v, i = draw.curve(device, swept="voltage")
    style = draw.choice(["fixed", "fixed", "exponent"])
    unit, exponent = draw.choice([("mA", -3), ("A", 0)])
    v_column = write(v, 0, 6, style)
    i_column = write([x / float(area) for x in i], exponent, 6, style)
    names, units = list(draw.choice(list(LANGUAGES.values()))[:2]), ["V", unit]
    options = {}
    if area != "1":
        names[1], units[1] = draw.choice(["J", "Current density"]), unit + "/cm²"
        options["area_cm2"] = float(area)
    current = [meaning(t, exponent, area) for t in i_column.texts]
    lines = exported(draw, names, units, v_column.texts, i_column.texts)
    if options:
        lines.insert(0, f"# Area: {area} cm²")
    end, encoding = draw.choice(["\n", "\r\n"]), draw.choice(["utf-8", "utf-8-sig", "cp1252", "utf-16"])
    expected = Expected(None, v_column.si, current, options)
    return CorpusFile("export.csv", text(lines, end, encoding), "", [expected])


def exported(draw: Draw, names: list[str], units: list[str], v: list[str], i: list[str]) -> list[str]:
    """The lines of the table, with the units in the names or in a row of their own, quoted or not."""
    mark = draw.choice([",", ";", "\t"])
    if draw.random() < 0.4:
        top = [names, [draw.choice([unit, f"[{unit}]"]) for unit in units]]
    else:
        form = draw.choice(["{} ({})", "{} [{}]", "{} / {}", "{}, {}" if mark != "," else "{} ({})"])
        top = [[form.format(name, unit) for name, unit in zip(names, units, strict=True)]]
    if draw.random() < 0.3:
        top = [[f'"{cell}"' for cell in cells] for cells in top]
        if draw.random() < 0.5:
            v, i = [f'"{t}"' for t in v], [f'"{t}"' for t in i]
    tail = mark if draw.random() < 0.2 else ""
    return [line + tail for line in [*(mark.join(cells) for cells in top), *rows([v, i], mark)]]


def mixtures(seed: int) -> Iterator[CorpusFile]:
    """All files of this kind."""
    yield from made("mixtures/one sweep", 80, seed, single)
    yield from made("mixtures/export", 40, seed, export)
    yield from made("mixtures/several sweeps", 16, seed, double)
