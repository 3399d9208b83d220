"""What scripts write: matrices of a mathematics program, numpy text, data frames, JSON, YAML."""

import json
from decimal import Decimal
from typing import Any

from held_out_bench import LARGE, SMALL, Bench, Layout, clocked, joined, numbered, padded, stated, text_file
from parts import CorpusFile, Expected

PLAIN = {"voltage": 0, "current": 1, "voltage_unit": "V", "current_unit": "A"}


def octave_matrix(b: Bench) -> CorpusFile:
    """A saved matrix: two columns in SI, whose meaning a person would ask for."""
    s = b.sweep(SMALL, iu="A", vd=9, style="g", idg=9)
    lines = ["# Created by a script", "# name: iv", "# type: matrix", f"# rows: {len(s)}", "# columns: 2"]
    lines += [" " + r for r in joined(" ", s.v, s.i)]
    return text_file("iv.mat.txt", [*lines, "", ""], s.expected(), needs=PLAIN)


def octave_two_vectors(b: Bench) -> CorpusFile:
    """Named vectors and a scalar one after the other."""
    s = b.sweep("thin film", iu="A", vd=8, idg=8)
    lines = ["# name: area_cm2", "# type: scalar", s.device.area, ""]
    for name, texts in [("voltage_V", s.v), ("current_A", s.i)]:
        lines += [
            f"# name: {name}",
            "# type: matrix",
            f"# rows: {len(s)}",
            "# columns: 1",
            *[" " + t for t in texts],
            "",
        ]
    return text_file("vars.txt", lines, s.expected(area_cm2=float(Decimal(s.device.area))))


def octave_ascii(b: Bench) -> CorpusFile:
    """Bare columns with seven decimals and exponents."""
    s = b.sweep(SMALL, iu="A", style="e", vd=8, idg=8, sign=-1)
    return text_file("iv_ascii.dat", ["   " + r for r in joined("   ", s.v, s.i)], s.expected(), needs=PLAIN)


def octave_scale_factor(b: Bench) -> CorpusFile:
    """A display with a common factor before the matrix."""
    s = b.sweep("dye", vu="mV", iu="mA", vd=6, idg=5, points=12)
    volts = [f"{v}" for v in s.v]
    lines = ["VI_in_V_and_A =", "", "   1.0e-03 *", "", *padded(14, volts, s.i), ""]
    return text_file(
        "diary.txt", lines, s.expected(), needs={"voltage_unit": "mV", "current_unit": "mA", **columns01()}
    )


def columns01() -> dict[str, Any]:
    """The two columns by number."""
    return {"voltage": 0, "current": 1}


def octave_display(b: Bench) -> CorpusFile:
    """Two vectors displayed as rows."""
    s = b.sweep("panel", iu="A", points=10, vd=5)
    lines = [
        ">> V_volt",
        "V_volt =",
        "",
        "  " + "   ".join(s.v),
        "",
        ">> I_ampere",
        "I_ampere =",
        "",
        "  " + "   ".join(s.i),
    ]
    return text_file("session.txt", lines, s.expected())


def octave_script(b: Bench) -> CorpusFile:
    """Readings kept as assignments in a script, units as comments."""
    s = b.sweep("small silicon", iu="mA", points=14)
    lines = [
        "% cell 4, lamp at 30 cm",
        "V = [" + " ".join(s.v) + "]; % V",
        "I = [" + " ".join(s.i) + "]; % mA",
        "plot(V, I)",
    ]
    return text_file("cell4.m", lines, s.expected())


def octave_columns_comment(b: Bench) -> CorpusFile:
    """A percent heading; tabs between; an empty line before the end."""
    s = b.sweep(LARGE, iu="A")
    lines = ["% Voltage(V)\tCurrent(A)", *joined("\t", s.v, s.i), ""]
    return text_file("module.txt", lines, s.expected())


def octave_three_columns(b: Bench) -> CorpusFile:
    """A saved matrix with a note of its columns."""
    s = b.sweep("perovskite", iu="mA", points=30)
    lines = ["# name: data", "# type: matrix", "# rows: 30", "# columns: 3", "# time (s), voltage (V), current (mA)"]
    return text_file("data.oct.txt", lines + joined(" ", clocked(30, 0.1), s.v, s.i), s.expected())


def octave_empty(b: Bench) -> CorpusFile:
    """An empty matrix was saved."""
    lines = ["# name: iv", "# type: matrix", "# rows: 0", "# columns: 2"]
    return text_file("empty.txt", lines, refused="an empty matrix")


def octave_one_column(b: Bench) -> CorpusFile:
    """Only the current vector was saved."""
    s = b.sweep("dye", iu="A", style="e")
    return text_file(
        "current.txt", ["# name: I", "# type: matrix", *[" " + t for t in s.i]], refused="one quantity only"
    )


def numpy_header(b: Bench) -> CorpusFile:
    """Eighteen digits with exponents under a comment heading."""
    s = b.sweep(SMALL, iu="A", style="e", vd=19, idg=19)
    return text_file("iv.txt", ["# voltage (V) current (A)", *joined(" ", s.v, s.i)], s.expected())


def numpy_bare(b: Bench) -> CorpusFile:
    """No heading; volts and milliamperes."""
    s = b.sweep("thin film", iu="mA", vd=7, idg=7)
    return text_file("out.txt", joined(" ", s.v, s.i), s.expected(), needs={**PLAIN, "current_unit": "mA"})


def numpy_dictionary(b: Bench) -> CorpusFile:
    """A dictionary as header."""
    s = b.sweep("perovskite", iu="mA")
    area = float(Decimal(s.device.area))
    facts = {"sample": "P14", "area_cm2": area, "irradiance_W_m2": 1000, "columns": ["voltage_V", "current_mA"]}
    lines = ["# " + json.dumps(facts), *joined(",", s.v, s.i)]
    return text_file("P14.csv", lines, s.expected(area_cm2=area, irradiance_w_m2=1000.0))


def numpy_facts(b: Bench) -> CorpusFile:
    """Facts as comments above, results as comments below."""
    s = b.sweep("organic", iu="mA", sign=-1)
    area, light, heat = b.area(s.device), b.light(), b.heat()
    lines = [f"# area = {area.text}", f"# irradiance = {light.text}", f"# temperature = {heat.text}", "# V/V\tI/mA"]
    lines += [*joined("\t", s.v, s.i), f"# Voc = {s.device.voc_v:.3f} V", "# FF = 0.61"]
    return text_file("b2.dat", lines, s.expected(**stated(area, light, heat)))


def numpy_percent(b: Bench) -> CorpusFile:
    """Another comment mark and semicolons."""
    s = b.sweep("wafer", iu="A", points=60)
    return text_file("w.dat", ["%U [V];I [A]", *joined(";", s.v, s.i)], s.expected())


def numpy_transposed(b: Bench) -> CorpusFile:
    """Voltages in one line, currents in the next."""
    s = b.sweep("minimodule", iu="A", points=16, vd=5)
    return text_file("vi.txt", ["# row 1: V (V), row 2: I (A)", " ".join(s.v), " ".join(s.i)], s.expected())


def numpy_appended(b: Bench) -> CorpusFile:
    """Two runs were appended; each has its header."""
    device = b.device("dye")
    first, second = (b.sweep(device, iu="mA", points=20) for _ in range(2))
    lines: list[str] = []
    for k, s in enumerate([first, second], 1):
        lines += [f"# run {k}", "# V (V), I (mA)", *joined(", ", s.v, s.i)]
    return text_file("runs.txt", lines, first.expected("run 1"), second.expected("run 2"))


def numpy_nan(b: Bench) -> CorpusFile:
    """Lost readings are nan."""
    s = b.sweep("thin film", iu="A", style="e", idg=5)
    i = ["nan" if k in (3, 4) else x for k, x in enumerate(s.i)]
    rows = [k for k in range(len(s)) if k not in (3, 4)]
    return text_file("meas.txt", ["# V_V I_A", *joined(" ", s.v, i)], s.expected(None, rows))


def numpy_steps(b: Bench) -> CorpusFile:
    """The set current of each step stands beside both readings."""
    s = b.sweep("perovskite", iu="mA", stepped="current", points=25, vd=5)
    setting = [f"{float(i):.2f}" for i in s.i]
    lines = ["# I_set/mA  I_read/mA  V_read/V", *joined("  ", setting, s.i, s.v)]
    return text_file("istep.txt", lines, s.expected())


def numpy_cut(b: Bench) -> CorpusFile:
    """The file ends within an exponent."""
    s = b.sweep("small silicon", iu="A", style="e", vd=9, idg=9, points=21)
    rows = joined(" ", s.v, s.i)
    lines = ["# V (V) I (A)", *rows[:-1], rows[-1][:-6]]
    return text_file("crash.txt", lines, s.expected(None, range(20)), ended=False, incomplete=True)


def numpy_shape_only(b: Bench) -> CorpusFile:
    """The script saved the fit's parameters instead of the readings."""
    lines = ["# iph_a i0_a n rs_ohm rsh_ohm", "3.12e-02 1.1e-09 1.43 0.81 912.0"]
    return text_file("fit.txt", lines, refused="parameters of a model, no curve")


def frame_index(b: Bench) -> CorpusFile:
    """An unnamed index column."""
    s = b.sweep(SMALL, iu="mA", idg=12, vd=12)
    lines = [",voltage_V,current_mA", *joined(",", numbered(len(s), 0), s.v, s.i)]
    return text_file("df.csv", lines, s.expected())


def frame_long(b: Bench) -> CorpusFile:
    """One row a reading, the device's name in a column."""
    names = ["A1", "A2", "B1"]
    sweeps = [b.sweep("organic", iu="A", style="g", idg=8, points=14) for _ in names]
    lines = ["device,V (V),I (A)"]
    for name, s in zip(names, sweeps, strict=True):
        lines += joined(",", [name] * 14, s.v, s.i)
    return text_file("long.csv", lines, *[s.expected(n) for n, s in zip(names, sweeps, strict=True)])


def frame_two_levels(b: Bench) -> CorpusFile:
    """Two heading rows: device and quantity."""
    one, two = b.sweep("dye", iu="mA", points=18), b.sweep("dye", iu="mA", points=18)
    lines = [",K3,K3,K4,K4", ",V (V),I (mA),V (V),I (mA)", *joined(",", numbered(18, 0), one.v, one.i, two.v, two.i)]
    return text_file("levels.csv", lines, one.expected("K3"), two.expected("K4"))


def frame_print(b: Bench) -> CorpusFile:
    """The printed frame."""
    s = b.sweep("wafer", iu="A", points=22)
    lines = [" " * 4 + "voltage_V".rjust(10) + "current_A".rjust(12)]
    lines += [k.ljust(4) + v.rjust(10) + i.rjust(12) for k, v, i in zip(numbered(22, 0), s.v, s.i, strict=True)]
    return text_file("print.txt", lines, s.expected())


def frame_blank_cells(b: Bench) -> CorpusFile:
    """Blank cells where a reading is lost, and constant columns of facts."""
    s = b.sweep("perovskite", iu="mA", points=20)
    i = ["" if k == 11 else x for k, x in enumerate(s.i)]
    facts = [[s.device.area] * 20, ["1000"] * 20]
    lines = ["V_V,I_mA,area_cm2,irradiance_W_m2", *joined(",", s.v, i, *facts)]
    rows = [k for k in range(20) if k != 11]
    return text_file("tidy.csv", lines, s.expected(None, rows, area_cm2=float(s.device.area), irradiance_w_m2=1000.0))


def frame_dates(b: Bench) -> CorpusFile:
    """A date index with a time zone."""
    s = b.sweep("panel", iu="A", points=24)
    stamps = [f"2022-06-01 10:{k + 10}:00+02:00" for k in range(24)]
    lines = ["timestamp,current_A,voltage_V", *joined(",", stamps, s.i, s.v)]
    return text_file("ts.csv", lines, s.expected())


def frame_split(b: Bench) -> CorpusFile:
    """Columns, index and data as JSON."""
    s = b.sweep("small silicon", iu="mA", points=20)
    data = ",".join(f"[{v},{i}]" for v, i in zip(s.v, s.i, strict=True))
    text = f'{{"columns":["voltage_V","current_mA"],"index":{json.dumps(list(range(20)))},"data":[{data}]}}'
    return text_file("split.json", [text], s.expected(), ended=False)


def frame_statistics(b: Bench) -> CorpusFile:
    """The frame's statistics instead of the frame."""
    lines = [
        ",voltage_V,current_mA",
        "count,25.0,25.0",
        "mean,0.31,22.1",
        "std,0.2,9.1",
        "min,-0.05,-3.1",
        "max,0.66,31.2",
    ]
    return text_file("describe.csv", lines, refused="statistics of a table, no readings")


def frame_directions(b: Bench) -> CorpusFile:
    """Cell and direction in columns, both directions of two cells."""
    lines, expected = ["cell,direction,V_V,I_mA"], []
    for name in ("c1", "c2"):
        device = b.device("perovskite")
        for way in ("forward", "reverse"):
            s = b.sweep(device, iu="mA", points=13, backwards=way == "reverse")
            lines += joined(",", [name] * 13, [way] * 13, s.v, s.i)
            expected.append(s.expected())
    return text_file("hysteresis.csv", lines, *expected)


def frame_tabs(b: Bench) -> CorpusFile:
    """Tab-separated with index name, ratio columns that look like currents."""
    s = b.sweep("thin film", iu="mA", points=25, sign=-1)
    ratio = [f"{float(i) / float(s.i[0]):.6f}" for i in s.i]
    lines = ["step\tV_V\tI_mA\tI_over_Isc", *joined("\t", numbered(25, 0), s.v, s.i, ratio)]
    return text_file("norm.tsv", lines, s.expected())


def as_json(name: str, body: Any, *sweeps: Expected, indent: int | None = 2, **more: Any) -> CorpusFile:
    """A JSON file from plain objects; Decimal numbers keep their written digits."""
    text = json.dumps(body, indent=indent, ensure_ascii=False, default=lambda d: f"\0{d}\0")
    return text_file(name, [text.replace('"\\u0000', "").replace('\\u0000"', "")], *sweeps, ended=False, **more)


def numbers(texts: list[str]) -> list[Decimal]:
    """Texts as numbers that keep their digits."""
    return [Decimal(t) for t in texts]


def web_nested(b: Bench) -> CorpusFile:
    """Quantities as objects with unit and values; facts in an object of their own."""
    s = b.sweep("perovskite", iu="mA", points=25)
    area = Decimal(s.device.area)
    body = {
        "app": "web tracer", "version": "1.4.0",
        "sample": {"name": "P-7", "area": {"value": area, "unit": "cm²"}, "temperature": {"value": 25, "unit": "°C"}},
        "sweep": {"voltage": {"unit": "V", "values": numbers(s.v)}, "current": {"unit": "mA", "values": numbers(s.i)}},
    }  # fmt: skip
    return as_json("measurement.json", body, s.expected(area_cm2=float(area), temperature_c=25.0), indent=None)


def web_records(b: Bench) -> CorpusFile:
    """A list of records in camel case."""
    s = b.sweep("dye", vu="mV", iu="uA", points=20, stepped="current")
    records = [{"voltageMv": Decimal(v), "currentUa": Decimal(i)} for v, i in zip(s.v, s.i, strict=True)]
    return as_json("points.json", records, s.expected())


def web_several(b: Bench) -> CorpusFile:
    """Several measurements with names."""
    names = ["left", "right"]
    sweeps = [b.sweep("small silicon", iu="A", points=15) for _ in names]
    pairs = list(zip(names, sweeps, strict=True))
    body = {"measurements": [{"label": n, "voltage_v": numbers(s.v), "current_a": numbers(s.i)} for n, s in pairs]}
    return as_json("session.json", body, *[s.expected(n) for n, s in pairs], indent=1)


def web_strings(b: Bench) -> CorpusFile:
    """Numbers as texts."""
    s = b.sweep("thin film", iu="mA", points=16)
    body = {"units": {"U": "V", "I": "mA"}, "U": s.v, "I": s.i}
    return as_json("strings.json", body, s.expected(), indent=None)


def web_null(b: Bench) -> CorpusFile:
    """A lost reading is null."""
    s = b.sweep("panel", iu="A", points=18)
    current: list[Any] = [None if k == 7 else Decimal(t) for k, t in enumerate(s.i)]
    body = {"V [V]": numbers(s.v), "I [A]": current}
    return as_json("lost.json", body, s.expected(None, [k for k in range(18) if k != 7]), indent=None)


def web_cut(b: Bench) -> CorpusFile:
    """The transfer broke off before the first current."""
    s = b.sweep("thin film", iu="mA", points=25)
    whole = as_json("x", {"unit_v": "V", "unit_i": "mA", "v": numbers(s.v), "i": numbers(s.i)}).data
    return CorpusFile(
        "partial.json", whole[: len(whole) * 3 // 10], "", [], refused="the text breaks off before the first current"
    )


def web_error(b: Bench) -> CorpusFile:
    """The answer was an error."""
    return as_json("response.json", {"status": 500, "error": "instrument busy", "data": []}, refused="an error message")


def web_points(b: Bench) -> CorpusFile:
    """Pairs in a list, x and y explained by the axes."""
    s = b.sweep("organic", iu="mA", points=20, sign=-1)
    body = {"axes": [{"name": "Voltage", "unit": "V"}, {"name": "Current", "unit": "mA"}]}
    pairs = [[Decimal(v), Decimal(i)] for v, i in zip(s.v, s.i, strict=True)]
    return as_json("axes.json", {**body, "points": pairs}, s.expected(), indent=None)


def web_lengths(b: Bench) -> CorpusFile:
    """One current less than voltages: which one is missing is not said."""
    s = b.sweep("organic", iu="mA", points=20)
    body = {"voltage_V": numbers(s.v), "current_mA": numbers(s.i[:11] + s.i[12:])}
    return as_json(
        "short.json", body, refused="lists of different lengths; the missing reading is unknown", indent=None
    )


def web_bare_names(b: Bench) -> CorpusFile:
    """Lists without units."""
    s = b.sweep("thin film", iu="mA", points=20)
    needs = {"voltage_unit": "V", "current_unit": "mA"}
    return as_json(
        "chart.json", {"voltage": numbers(s.v), "current": numbers(s.i)}, s.expected(), needs=needs, indent=None
    )


def yaml_lists(b: Bench) -> CorpusFile:
    """Notebook entry with lists in one line each."""
    s = b.sweep("small silicon", iu="mA", points=15)
    area = b.area(s.device)
    lines = ["---", f"date: {b.date()}", "sample: Si-9", f"area: {area.text}", "voltage_V: [" + ", ".join(s.v) + "]"]
    return text_file("entry.yaml", [*lines, "current_mA: [" + ", ".join(s.i) + "]"], s.expected(**stated(area)))


def yaml_dashes(b: Bench) -> CorpusFile:
    """Lists with a dash a line."""
    s = b.sweep("organic", iu="A", style="e", vd=5, points=11)
    lines = ["voltage_v:", *["  - " + t for t in s.v], "current_a:", *["  - " + t for t in s.i]]
    return text_file("lists.yml", lines, s.expected())


def yaml_records(b: Bench) -> CorpusFile:
    """One flow mapping a reading."""
    s = b.sweep("dye", vu="mV", iu="mA", points=17)
    lines = ["readings:", *[f"  - {{mV: {v}, mA: {i}}}" for v, i in zip(s.v, s.i, strict=True)]]
    return text_file("readings.yaml", lines, s.expected())


def yaml_front_matter(b: Bench) -> CorpusFile:
    """Facts between rulers, then a comma table."""
    s = b.sweep("perovskite", iu="mA", points=30)
    heat, light = b.heat(), b.light()
    lines = ["---", "title: run 31", f"temperature: {heat.text}", f"irradiance: {light.text}", "---", "U/V,I/mA"]
    return text_file("run31.csv", lines + joined(",", s.v, s.i), s.expected(**stated(heat, light)))


def toml_arrays(b: Bench) -> CorpusFile:
    """Arrays over several lines under a section."""
    s = b.sweep("wafer", iu="A", points=20, vd=4)
    fold = [", ".join(c[k : k + 5]) + "," for c in (s.v, s.i) for k in range(0, 20, 5)]
    lines = [
        "[cell]",
        "area_cm2 = " + s.device.area,
        "[sweep]",
        "voltage_V = [",
        *fold[:4],
        "]",
        "current_A = [",
        *fold[4:],
        "]",
    ]
    return text_file("cell.toml", lines, s.expected(area_cm2=float(Decimal(s.device.area))))


def ini_lists(b: Bench) -> CorpusFile:
    """Lists as values of keys, separated by semicolons."""
    s = b.sweep("minimodule", iu="mA", points=18)
    lines = ["[meta]", f"cells={s.device.cells}", "[data]", "U_V=" + ";".join(s.v), "I_mA=" + ";".join(s.i)]
    return text_file("store.ini", lines, s.expected(cells=float(s.device.cells)))


def settings_only(b: Bench) -> CorpusFile:
    """The settings of a sweep without its readings."""
    lines = ["sweep:", "  start_V: -0.1", "  stop_V: 1.2", "  step_V: 0.02", "  limit_mA: 50", "  settle_s: 0.1"]
    return text_file("settings.yaml", lines, refused="settings only")


def yaml_named(b: Bench) -> CorpusFile:
    """Two cells as mappings."""
    names = ["south", "north"]
    sweeps = [b.sweep("panel", iu="A", points=12) for _ in names]
    lines: list[str] = []
    for name, s in zip(names, sweeps, strict=True):
        lines += [f"{name}:", "  voltage_V: [" + ", ".join(s.v) + "]", "  current_A: [" + ", ".join(s.i) + "]"]
    return text_file("roof.yaml", lines, *[s.expected(n) for n, s in zip(names, sweeps, strict=True)])


def python_literal(b: Bench) -> CorpusFile:
    """Two lists pasted from a notebook, unit in the name."""
    s = b.sweep("small silicon", iu="mA", points=16)
    lines = ["# cell 5", "U_V = [" + ", ".join(s.v) + "]", "I_mA = [" + ", ".join(s.i) + "]"]
    return text_file("paste.py.txt", lines, s.expected())


def yaml_prefixed(b: Bench) -> CorpusFile:
    """Each reading as text with its unit."""
    s = b.sweep("dye", vu="mV", iu="µA", points=14, stepped="current")
    lines = ["readings:", *[f'  - "{v} mV, {i} µA"' for v, i in zip(s.v, s.i, strict=True)]]
    return text_file("texts.yaml", lines, s.expected())


OCTAVE: list[Layout] = [
    octave_matrix, octave_two_vectors, octave_ascii, octave_scale_factor, octave_display, octave_script,
    octave_columns_comment, octave_three_columns, octave_empty, octave_one_column,
]  # fmt: skip
NUMPY: list[Layout] = [
    numpy_header, numpy_bare, numpy_dictionary, numpy_facts, numpy_percent, numpy_transposed, numpy_appended,
    numpy_nan, numpy_steps, numpy_cut, numpy_shape_only,
]  # fmt: skip
FRAMES: list[Layout] = [
    frame_index, frame_long, frame_two_levels, frame_print, frame_blank_cells, frame_dates, frame_split,
    frame_statistics, frame_directions, frame_tabs,
]  # fmt: skip
WEB: list[Layout] = [
    web_nested, web_records, web_several, web_strings, web_null, web_cut, web_error, web_points, web_lengths,
    web_bare_names,
]  # fmt: skip
NOTEBOOK: list[Layout] = [
    yaml_lists, yaml_dashes, yaml_records, yaml_front_matter, toml_arrays, ini_lists, settings_only, yaml_named,
    python_literal, yaml_prefixed,
]  # fmt: skip
