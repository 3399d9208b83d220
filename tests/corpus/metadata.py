"""Lines of metadata before and after the table, in six languages and all forms."""

from collections.abc import Iterator, Sequence
from statistics import stdev

from parts import CorpusFile, Draw, Expected, Sweep, comma, headed, made, one, rows, table

Fact = tuple[str, str, str, float]

# Key, value and unit as written; name of the option and its value.
AREAS = [
    ("Area", "0.25", "cm²", 0.25),
    ("Area", "25", "mm²", 0.25),
    ("Cell area", "0.00025", "m²", 2.5),
    ("Active area", "0.16", "cm2", 0.16),
    ("Active Area", "12.5", "mm2", 0.125),
    ("Fläche", "0.25", "cm²", 0.25),
    ("Zellfläche", "0.5", "cm²", 0.5),
    ("Surface", "0.32", "cm²", 0.32),
    ("Área", "0.4", "cm²", 0.4),
    ("Superficie", "0.45", "cm^2", 0.45),
    ("Area attiva", "0.12", "cm²", 0.12),
    ("Área ativa", "0.15", "cm²", 0.15),
]
IRRADIANCES = [
    ("Irradiance", "1000", "W/m²", 1000.0),
    ("Irradiance", "100", "mW/cm²", 1000.0),
    ("Light intensity", "0.5", "suns", 500.0),
    ("Illumination", "1", "sun", 1000.0),
    ("Irradiance", "80", "mW/cm2", 800.0),
    ("Bestrahlungsstärke", "950", "W/m²", 950.0),
    ("Einstrahlung", "1000", "W/m2", 1000.0),
    ("Éclairement", "900", "W/m²", 900.0),
    ("Irradiancia", "980", "W/m²", 980.0),
    ("Irraggiamento", "970", "W/m²", 970.0),
    ("Irradiância", "1010", "W/m²", 1010.0),
    ("Irradiance", "1000", "W m^-2", 1000.0),
]
TEMPERATURES = [
    ("Temperature", "31.5", "°C", 31.5),
    ("Temperature", "303.15", "K", 30.0),
    ("Temperature", "86", "°F", 30.0),
    ("Cell temperature", "45", "degC", 45.0),
    ("Temp", "28.5", "C", 28.5),
    ("Temperatur", "33.5", "°C", 33.5),
    ("Zelltemperatur", "40", "°C", 40.0),
    ("Température", "27.5", "°C", 27.5),
    ("Temperatura", "29.5", "°C", 29.5),
    ("Temperatura", "32", "°C", 32.0),
    ("Temperatura", "308.15", "K", 35.0),
    ("Temperature", "35.5", "°C", 35.5),
]
CELLS = [
    ("Cells in series", 36),
    ("Cells", 36),
    ("Number of cells", 36),
    ("Zellen in Reihe", 36),
    ("Zellenzahl", 36),
    ("Cellules en série", 36),
    ("Celdas en serie", 36),
    ("Celle in serie", 36),
    ("Células em série", 36),
    ("Anzahl Zellen", 36),
    ("cells_in_series", 36),
]
LABELS = [
    ("Sample", "B12-3"),
    ("Device", "cell 7b"),
    ("Sample name", "blue dye 4"),
    ("Device ID", "D-0419"),
    ("Probe", "Zelle 5"),
    ("Échantillon", "lot C2"),
    ("Muestra", "celda 9"),
    ("Campione", "cella 2"),
    ("Amostra", "célula 8"),
    ("Label", "after soaking"),
    ("Name", "edge cell"),
    ("Cell", "K4"),
]
FORMS = ["{}: {}", "{} = {}", "{}\t{}", "{};{}", "{}={}", "{} : {}"]


def stated(form: str, key: str, value: str, unit: str, where: int) -> str:
    """A line of metadata with the unit behind the value, in the key, or tight behind the value."""
    if where == 1:
        return form.format(f"{key} ({unit})", value)
    if where == 2:
        return form.format(f"{key} [{unit}]", value)
    return form.format(key, f"{value} {unit}".rstrip())


def framed(draw: Draw, lines: Sequence[str], s: Sweep, way: int, mark: str) -> list[str]:
    """Metadata before the table, before it as comments, after it, or after it as comments."""
    grid = [headed(s, mark), *rows([s.v.texts, s.i.texts], mark)]
    commented = [f"# {line}" for line in lines]
    if way == 0:
        return [*lines, *grid]
    if way == 1:
        return [*commented, *grid]
    if way == 2:
        return [*lines, "", *grid]
    return [*grid, "", *commented] if way == 3 else [*grid, "", *lines]


def one_fact(draw: Draw, k: int, option: str, facts: Sequence[Fact]) -> CorpusFile:
    """One line of metadata in one form at one place."""
    s = draw.sweep()
    key, value, unit, number = facts[k % len(facts)]
    form = FORMS[k % len(FORMS)]
    line = stated(form, key, value, unit, draw.choice([0, 0, 1, 2]))
    mark = ";" if ";" in form else "\t" if "\t" in form else draw.choice([",", "\t"])
    lines = framed(draw, [line], s, k % 5, mark)
    return one("fact.csv", lines, s.expected(**{option: number}))


def areas(draw: Draw, k: int) -> CorpusFile:
    """The area in three units and six languages."""
    return one_fact(draw, k, "area_cm2", AREAS)


def irradiances(draw: Draw, k: int) -> CorpusFile:
    """The irradiance in four units."""
    return one_fact(draw, k, "irradiance_w_m2", IRRADIANCES)


def temperatures(draw: Draw, k: int) -> CorpusFile:
    """The temperature in °C, K and °F."""
    return one_fact(draw, k, "temperature_c", TEMPERATURES)


def cells(draw: Draw, k: int) -> CorpusFile:
    """The number of cells in series."""
    s = draw.sweep("module")
    key, number = CELLS[k % len(CELLS)]
    form = FORMS[k % len(FORMS)]
    mark = ";" if ";" in form else "\t"
    lines = framed(draw, [form.format(key, number)], s, k % 5, mark)
    return one("cells.csv", lines, s.expected(cells=number))


def labels(draw: Draw, k: int) -> CorpusFile:
    """The name of the device."""
    s = draw.sweep()
    key, name = LABELS[k % len(LABELS)]
    form = FORMS[k % len(FORMS)]
    mark = ";" if ";" in form else "\t"
    lines = framed(draw, [form.format(key, name)], s, k % 3, mark)
    return one("label.csv", lines, s.expected(name))


def bare_pairs(draw: Draw, k: int) -> CorpusFile:
    """Key and value with a blank between, the unit in the key or the value."""
    s = draw.sweep()
    lines = [["Area 0.25 cm2", "Temperature 31.5 C"], ["area_cm2 0.25", "temperature_c 31.5"]][k % 2]
    head = [f"# {line}" for line in lines] if k % 4 > 1 else lines
    return one("pairs.txt", [*head, *table(s, "\t")], s.expected(area_cm2=0.25, temperature_c=31.5))


def snake_keys(draw: Draw, k: int) -> CorpusFile:
    """Keys as a program writes them: area_cm2 = 0.25."""
    s = draw.sweep()
    form = ["{} = {}", "{}: {}", "{}\t{}", "{},{}"][k % 4]
    facts = [("area_cm2", "0.25"), ("irradiance_W_m2", "950"), ("temperature_C", "31.5")]
    lines = [form.format(key, value) for key, value in facts]
    head = [f"# {line}" for line in lines] if k % 2 else lines
    mark = "\t" if "\t" in form else ","
    expected = s.expected(area_cm2=0.25, irradiance_w_m2=950.0, temperature_c=31.5)
    return one("snake.csv", [*head, *table(s, mark)], expected)


def masks(draw: Draw, k: int) -> CorpusFile:
    """A mask or aperture beside the cell's area: the lit area counts."""
    s = draw.sweep()
    cell, mask, value = [
        ("Cell area: 0.36 cm²", "Aperture area: 0.159 cm²", 0.159),
        ("Cell area: 0.36 cm²", "Mask area: 0.16 cm²", 0.16),
        ("Zellfläche: 0.5 cm²", "Maskenfläche: 0.25 cm²", 0.25),
        ("Active area (mm2): 36", "Aperture (mm2): 16", 0.16),
        ("Total area: 1.0 cm²", "Mask: 0.64 cm²", 0.64),
        ("Area: 0.36 cm²", "Mask aperture: 0.2 cm²", 0.2),
    ][k % 6]
    lines = [cell, mask] if k % 2 else [mask, cell]
    return one("mask.csv", [*(f"# {line}" for line in lines), *table(s)], s.expected(area_cm2=value))


def one_sun(draw: Draw, k: int) -> CorpusFile:
    """The irradiance in words."""
    s = draw.sweep()
    line, value = [
        ("Light: 1 sun", 1000.0),
        ("Illumination: 1 sun (simulator)", 1000.0),
        ("Intensity = 0.1 sun", 100.0),
        ("Irradiance: 1 sun AM1.5G", 1000.0),
        ("Light source: lamp, 100 mW/cm²", 1000.0),
        ("Irradiance: 1.0 kW/m²", 1000.0),
    ][k % 6]
    return one("sun.csv", [f"# {line}", *table(s)], s.expected(irradiance_w_m2=value))


REMARKS = [
    "Remark: shutter opened at 10:42, second try",
    "Operator: K. Example",
    "Note: 3 of 5 cells from batch 12, stored 14 days at 85 %",
    "Date: 2031-05-17 14:07:32",
    "Serial number: 004711",
    "Software version: 2.10.3",
    "Comment: ratio 1:2, spin 2000 rpm, 30 s",
    "Range: 10 mA; filter: on; wires: 4",
    "NPLC = 1",
    "Integration time (ms): 20",
    "File: run_17_05.dat",
    "Position 3, slot 2",
]


def remarks(draw: Draw, k: int) -> CorpusFile:
    """What operators and programs write, numbers, colons and dates in it."""
    s = draw.sweep()
    lines = draw.sample(REMARKS, 5)
    options = {}
    if k % 2:
        lines.insert(2, "Area: 0.25 cm²")
        options["area_cm2"] = 0.25
    return one("remarks.txt", framed(draw, lines, s, k % 5, "\t"), s.expected(**options))


def header_block(draw: Draw, k: int) -> CorpusFile:
    """Two cells a line, filled up with empty cells to the width of the table, as a spreadsheet saves it."""
    s = draw.sweep()
    mark = [",", ";", "\t"][k % 3]
    power = [f"{v * i * 1e3:.5f}" for v, i in zip(s.v.si, s.i.si, strict=True)]
    facts = [("Sample", "S-14"), ("Date", "2031-05-17"), ("Area (cm2)", "0.25"), ("Irradiance (W/m2)", "1000")]
    head = [f"{key}{mark}{value}{mark}" for key, value in facts]
    grid = rows([s.v.texts, s.i.texts, power], mark)
    lines = [*head, mark * 2, headed(s, mark) + mark + "Power (mW)", *grid]
    return one("sheet.csv", lines, s.expected("S-14", area_cm2=0.25, irradiance_w_m2=1000.0))


def points_line(draw: Draw, k: int) -> CorpusFile:
    """Lines of a key and a number right before the heading, or before rows without one."""
    bare = k % 2 == 0
    s = draw.sweep("silicon", i_unit="A", swept="voltage") if bare else draw.sweep()
    mark = ["\t", " ", ","][k % 3]
    head = [f"Delay{mark}0.1", f"Averages{mark}4", f"Points{mark}{len(s)}"]
    top = headed(s, mark) if mark != " " else f"V/{s.v_unit} I/{s.i_unit}"
    grid = rows([s.v.texts, s.i.texts], mark)
    return one("points.txt", [*head, *grid] if bare else [*head, top, *grid], s.expected())


def summary(draw: Draw, k: int) -> CorpusFile:
    """Rows of figures or statistics after the table."""
    s = draw.sweep()
    mark = [",", ";", "\t"][k % 3]
    mean_v, mean_i = sum(map(float, s.v.texts)) / len(s), sum(map(float, s.i.texts)) / len(s)
    top_v, top_i = max(map(float, s.v.texts)), max(map(float, s.i.texts))
    std_v, std_i = (stdev(map(float, column.texts)) for column in (s.v, s.i))
    figures = (("Mean", mean_v, mean_i), ("Std", std_v, std_i), ("Max", top_v, top_i))
    statistics = [mark.join([name, f"{a:.4f}", f"{b:.4f}"]) for name, a, b in figures]
    grid = [f"n{mark}{headed(s, mark)}", *rows([[str(j + 1) for j in range(len(s))], s.v.texts, s.i.texts], mark)]
    if k % 2 == 0:
        return one("summary.csv", [*grid, *statistics], s.expected())
    keys = [f"Isc{mark}{top_i:.4f}", f"Voc{mark}{top_v:.4f}", f"FF{mark}0.61", f"Efficiency (%){mark}4.2"]
    return one("summary.csv", [*table(s, mark), "", *keys], s.expected())


# Voltage, current, and the words for sample, area, temperature and irradiance.
LANGUAGES = [
    ("Spannung [V]", "Strom [{}]", ["Probe", "Fläche", "Temperatur", "Bestrahlungsstärke"]),
    ("Tension (V)", "Courant ({})", ["Échantillon ", "Surface ", "Température ", "Éclairement "]),
    ("Tensión (V)", "Corriente ({})", ["Muestra", "Área", "Temperatura", "Irradiancia"]),
    ("Tensione (V)", "Corrente ({})", ["Campione", "Area", "Temperatura", "Irraggiamento"]),
    ("Tensão (V)", "Corrente ({})", ["Amostra", "Área", "Temperatura", "Irradiância"]),
    ("Voltage (V)", "Current ({})", ["Sample", "Area", "Temperature", "Irradiance"]),
]


def whole_language(draw: Draw, k: int) -> CorpusFile:
    """A file that is in one language throughout, with that language's decimal mark."""
    s = draw.sweep()
    v, i, keys = LANGUAGES[k % 6]
    values = ["Z4", "0.25 cm²", "31.5 °C", "950 W/m²"]
    columns = [s.v.texts, s.i.texts]
    if k % 6 != 5:
        values, columns = comma(values), [comma(texts) for texts in columns]
    lines = [f"{key}: {value}" for key, value in zip(keys, values, strict=True)]
    head = [f"# {line}" for line in lines] if k % 4 < 2 else lines
    grid = [f"{v}\t{i.format(s.i_unit)}", *rows(columns, "\t")]
    expected = Expected("Z4", s.v.si, s.i.si, {"area_cm2": 0.25, "temperature_c": 31.5, "irradiance_w_m2": 950.0})
    return one("language.txt", [*head, *grid], expected)


def metadata(seed: int) -> Iterator[CorpusFile]:
    """All files of this kind."""
    yield from made("metadata/area", 12, seed, areas)
    yield from made("metadata/irradiance", 12, seed, irradiances)
    yield from made("metadata/temperature", 12, seed, temperatures)
    yield from made("metadata/cells", 11, seed, cells)
    yield from made("metadata/label", 12, seed, labels)
    yield from made("metadata/key blank value", 4, seed, bare_pairs)
    yield from made("metadata/program keys", 6, seed, snake_keys)
    yield from made("metadata/mask", 6, seed, masks)
    yield from made("metadata/suns", 6, seed, one_sun)
    yield from made("metadata/remarks", 10, seed, remarks)
    yield from made("metadata/spreadsheet head", 6, seed, header_block)
    yield from made("metadata/points line", 6, seed, points_line)
    yield from made("metadata/summary rows", 6, seed, summary)
    yield from made("metadata/language", 12, seed, whole_language)
