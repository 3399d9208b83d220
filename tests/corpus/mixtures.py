"""Files that show several peculiarities at once, drawn at random."""

from collections.abc import Iterator
from dataclasses import dataclass, field

from extra_columns import clock
from parts import EXPONENT, CorpusFile, Draw, Expected, Sweep, comma, made, rows, text, write_decimals

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
    return Habits(
        LANGUAGES[language],
        draw.choice([";", "\t"] if with_comma else [",", ";", "\t"]),
        with_comma,
        draw.choice(["{} ({})", "{} [{}]", "{}/{}", "{} in {}", "{}_{}"]),
        draw.choice(["# ", "", "% "]),
        draw.choice(["\n", "\r\n", "\r"]),
        encoding,
        draw.random() < 0.2,
        draw.choice(["NaN", "9.9E37", "OVL", "---"]) if draw.random() < 0.2 else None,
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


def mixtures(seed: int) -> Iterator[CorpusFile]:
    """All files of this kind."""
    yield from made("mixtures/one sweep", 80, seed, single)
    yield from made("mixtures/several sweeps", 16, seed, double)
