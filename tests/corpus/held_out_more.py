"""Further files of the same programs: other countries, longer tables, rarer habits and accidents."""

from decimal import Decimal

from held_out_bench import LARGE, SMALL, Bench, Layout, clocked, comma, joined, numbered, padded, stated, text_file
from parts import CorpusFile


def checksums(b: Bench) -> CorpusFile:
    """A checksum behind a star ends every line of a serial log."""
    s = b.sweep("dye", stepped="current", vu="mV", iu="uA", vd=3, idg=4, points=25)
    lines = ["mV,uA", *[f"{v},{i}*{b.randint(16, 255):02X}" for v, i in zip(s.v, s.i, strict=True)]]
    return text_file("checks.log", lines, s.expected(), end="\r\n")


def eighty_steps(b: Bench) -> CorpusFile:
    """Eighty steps with a tick count, current before voltage."""
    s = b.sweep("small silicon", stepped="current", iu="mA", points=80, vd=5)
    ticks = [str(4096 * 7 + 331 * k) for k in range(80)]
    return text_file("long.log", ["ticks\tI [mA]\tU [V]", *joined("\t", ticks, s.i, s.v)], s.expected())


def element_names(b: Bench) -> CorpusFile:
    """Variable names of a unit's script without units."""
    s = b.sweep("perovskite", iu="A", style="e", vd=7, idg=7, sign=-1, points=26)
    needs = {"voltage": "vals.V", "current": "vals.I", "voltage_unit": "V", "current_unit": "A"}
    return text_file("vals.csv", ["vals.I,vals.V", *joined(",", s.i, s.v)], s.expected(), needs=needs)


def plus_signs(b: Bench) -> CorpusFile:
    """Signs on all numbers, blanks after commas, an end line."""
    s = b.sweep("dye", iu="A", style="e", vd=6, idg=6, points=30)
    v, i = ([t if t.startswith("-") else "+" + t for t in c] for c in (s.v, s.i))
    return text_file("signs.txt", ["V (V), I (A)", *joined(", ", v, i), "END OF SWEEP"], s.expected(), end="\r\n")


def unit_cells(b: Bench) -> CorpusFile:
    """The recorder writes a unit column after every quantity."""
    s = b.sweep("wafer", vu="mV", iu="A", points=24)
    lines = ["Time,Voltage,Unit,Current,Unit", *joined(",", clocked(24, 0.2), s.v, ["mV"] * 24, s.i, ["A"] * 24)]
    return text_file("units.csv", lines, s.expected())


def extremes_below(b: Bench) -> CorpusFile:
    """Extremes of each column follow the table; they are no readings."""
    s = b.sweep("small silicon", iu="mA", points=29)
    edges = [[f(c, key=Decimal) for c in (s.v, s.i)] for f in (min, max)]
    lines = ["  NO     VOLT(V)    AMP(mA)", *padded(11, numbered(29), s.v, s.i), "-" * 33]
    lines += [
        "MIN".rjust(11) + "".join(t.rjust(11) for t in edges[0]),
        "MAX".rjust(11) + "".join(t.rjust(11) for t in edges[1]),
    ]
    return text_file("LOG29.PRN", lines, s.expected(), end="\r\n")


def old_long_table(b: Bench) -> CorpusFile:
    """Eighty rows, three to a printed line, read line by line."""
    s = b.sweep("panel", iu="A", points=36)
    pairs = [f"{v:>8}{i:>8}" for v, i in zip(s.v, s.i, strict=True)]
    lines = ["    U(V)    I(A)" * 3, *["".join(pairs[k : k + 3]) for k in range(0, 36, 3)]]
    return text_file("THREE.LST", lines, s.expected(), end="\r\n")


def meters_minutes(b: Bench) -> CorpusFile:
    """Minutes and seconds, decimal commas, tabs."""
    s = b.sweep("calculator", iu="µA", points=18)
    times = [f"{k // 4}:{k % 4 * 15:02d}" for k in range(18)]
    return text_file(
        "taschenrechner.txt", ["Zeit\tU (V)\tI (µA)", *joined("\t", times, comma(s.v), comma(s.i))], s.expected()
    )


def meters_words(b: Bench) -> CorpusFile:
    """Polarity in words of a display, zero as it stands."""
    s = b.sweep("small silicon", vu="mV", iu="mA", points=15, start=0.0, vd=3, idg=3)
    lines = ["mV DC;mA DC", *joined(";", s.v, s.i)]
    return text_file("two displays.csv", lines, s.expected())


def outdoor_spanish(b: Bench) -> CorpusFile:
    """Spanish field sheet with facts at the end."""
    s = b.sweep("panel", iu="A", points=22)
    lines = [
        "Voltaje (V);Corriente (A)",
        *joined(";", comma(s.v), comma(s.i)),
        "",
        "Irradiancia: 912 W/m²",
        "Temperatura: 44,1 °C",
    ]
    return text_file("campo.csv", lines, s.expected(irradiance_w_m2=912.0, temperature_c=44.1), end="\r\n")


def outdoor_eighty(b: Bench) -> CorpusFile:
    """Eighty points with kilowatts per square metre in the head."""
    s = b.sweep("module", iu="A", points=80)
    lines = ["# G = 0.905 kW/m2", "# U/V I/A", *joined(" ", s.v, s.i)]
    return text_file("g905.dat", lines, s.expected(irradiance_w_m2=905.0))


def long_french(b: Bench) -> CorpusFile:
    """French header with blanks before the colons."""
    s = b.sweep("thin film", iu="mA", points=26)
    area, light, heat = b.area(s.device, ","), b.light(","), b.heat(",")
    lines = ["Banc de mesure : poste 2", f"Date : {b.date()}", "Pas : 20 mV", f"Surface active : {area.text}"]
    lines += [f"Éclairement : {light.text}", f"Température : {heat.text}", "", "Tension (V)\tCourant (mA)"]
    lines += joined("\t", comma(s.v), comma(s.i))
    return text_file("poste2.txt", lines, s.expected(**stated(area, light, heat)), end="\r\n", encoding="latin-1")


def long_portuguese(b: Bench) -> CorpusFile:
    """Portuguese header in semicolon cells."""
    s = b.sweep("perovskite", iu="mA", points=24)
    area, light = b.area(s.device, ","), b.light(",")
    lines = [
        "Amostra;P-3",
        f"Data;{b.date()}",
        f"Área ativa;{area.text}",
        f"Irradiância;{light.text}",
        "Tensão [V];Corrente [mA]",
    ]
    lines += joined(";", comma(s.v), comma(s.i))
    return text_file("amostra.txt", lines, s.expected(**stated(area, light)))


def comma_exponents(b: Bench) -> CorpusFile:
    """Exponents behind decimal commas."""
    s = b.sweep("dye", iu="A", style="E", vd=3, idg=3, points=20)
    return text_file("Mappe1.csv", ["U [V];I [A]", *joined(";", comma(s.v), comma(s.i))], s.expected(), end="\r\n")


def dated_rows(b: Bench) -> CorpusFile:
    """A day with points and a time stand before the readings."""
    s = b.sweep("panel", iu="A", points=19)
    stamps = [f"07.05.2018;11:{k + 20}:00" for k in range(19)]
    return text_file(
        "Dach.csv", ["Datum;Uhrzeit;U (V);I (A)", *joined(";", stamps, comma(s.v), comma(s.i))], s.expected()
    )


def sum_row(b: Bench) -> CorpusFile:
    """A row of means ends the sheet."""
    s = b.sweep("small silicon", iu="mA", points=17)
    lines = ["No.,Voltage (V),Current (mA)", *joined(",", numbered(17), s.v, s.i), "Mean,0.287,24.1"]
    return text_file("means.csv", lines, s.expected(), end="\r\n")


def template_three_groups(b: Bench) -> CorpusFile:
    """Three groups beside one another with an empty column between."""
    sweeps = [b.sweep("small silicon", iu="mA", points=9, vd=3, idg=3) for _ in range(3)]
    cells = [c for s in sweeps for c in (comma(s.v), comma(s.i), [""] * 9)]
    lines = ["Gruppe 1;;;Gruppe 2;;;Gruppe 3;;", ";".join(["U [V];I [mA];"] * 3), *joined(";", *cells)]
    return text_file("alle.csv", lines, *[s.expected(f"Gruppe {k}") for k, s in enumerate(sweeps, 1)], end="\r\n")


def template_italian(b: Bench) -> CorpusFile:
    """Italian sheet with the unit in each heading after a comma."""
    s = b.sweep("small silicon", iu="mA", points=13, vd=3, idg=4)
    lines = ["Esperienza 4", "Area cella: 4,0 cm²", "Tensione, V;Corrente, mA", *joined(";", comma(s.v), comma(s.i))]
    return text_file("scheda.csv", lines, s.expected(area_cm2=4.0))


def plot_facts_row(b: Bench) -> CorpusFile:
    """Comments of a column hold area, light and temperature."""
    s = b.sweep("perovskite", iu="mA", points=27)
    area, light, heat = b.area(s.device), b.light(), b.heat()
    lines = ["V\tI", "V\tmA", f"\tarea = {area.text}; light = {light.text}; T = {heat.text}", *joined("\t", s.v, s.i)]
    return text_file("Book7.txt", lines, s.expected(**stated(area, light, heat)))


def plot_millivolts(b: Bench) -> CorpusFile:
    """Quoted long names, millivolts and microamperes, eighty rows."""
    s = b.sweep("organic", vu="mV", iu="µA", points=80)
    return text_file("export.csv", ['"Bias (mV)","Photocurrent (µA)"', *joined(",", s.v, s.i)], s.expected())


def paper_web_table(b: Bench) -> CorpusFile:
    """The source of a web page's table."""
    s = b.sweep("organic", iu="mA", points=12)
    rows = [f"<tr><td>{v}</td><td>{i}</td></tr>" for v, i in zip(s.v, s.i, strict=True)]
    return text_file(
        "table.html", ["<table>", "<tr><th>V (V)</th><th>I (mA)</th></tr>", *rows, "</table>"], s.expected()
    )


def paper_middle_dots(b: Bench) -> CorpusFile:
    """Raised decimal points of an old journal."""
    s = b.sweep("small silicon", iu="mA", points=10, vd=3, idg=3, start=0.0)
    v, i = ([t.replace(".", "·") for t in c] for c in (s.v, s.i))
    return text_file("1974.txt", ["V (volts)   I (mA)", *joined("   ", v, i)], s.expected())


def octave_folded(b: Bench) -> CorpusFile:
    """A display folded into groups of columns."""
    s = b.sweep("panel", iu="A", points=12, vd=4)
    lines: list[str] = []
    for name, c in (("V_volt", s.v), ("I_ampere", s.i)):
        lines += [f"{name} =", "", " Columns 1 through 6:", "", "   " + "   ".join(c[:6]), ""]
        lines += [" Columns 7 through 12:", "", "   " + "   ".join(c[6:]), ""]
    return text_file("folded_diary.txt", lines, s.expected())


def octave_struct(b: Bench) -> CorpusFile:
    """A script with a matrix whose rows end in semicolons, and scalars."""
    s = b.sweep("thin film", iu="A", style="e", vd=5, points=18)
    lines = [f"cell.area_cm2 = {s.device.area};", "% columns: V (V), I (A)", "cell.iv = ["]
    lines += [f"  {v} {i};" for v, i in zip(s.v, s.i, strict=True)] + ["];"]
    return text_file("cell_struct.m", lines, s.expected(area_cm2=float(s.device.area)))


def numpy_widths(b: Bench) -> CorpusFile:
    """Eighty rows with a fixed width and the units in a tuple."""
    s = b.sweep("minimodule", iu="mA", points=80)
    return text_file("w80.txt", ["# ('V [V]', 'I [mA]')", *padded(9, s.v, s.i)], s.expected())


def numpy_blank_line(b: Bench) -> CorpusFile:
    """A comment in the middle says that the lamp was restarted; the sweep goes on."""
    s = b.sweep("thin film", iu="mA", points=32)
    rows = joined("\t", s.v, s.i)
    return text_file("restart.txt", ["# U(V)\tI(mA)", *rows[:15], "# lamp restarted 14:31", *rows[15:]], s.expected())


def frame_table(b: Bench) -> CorpusFile:
    """The frame as a table with pipes, index included."""
    s = b.sweep("organic", iu="mA", points=15)
    rows = [f"| {k:>2} | {v:>9} | {i:>9} |" for k, (v, i) in enumerate(zip(s.v, s.i, strict=True))]
    return text_file(
        "frame.md", ["|    | V_V       | I_mA      |", "|---:|----------:|----------:|", *rows], s.expected()
    )


def frame_german(b: Bench) -> CorpusFile:
    """Semicolons and decimal commas with English names."""
    s = b.sweep("panel", iu="A", points=33)
    return text_file(
        "df_de.csv", [";voltage_V;current_A", *joined(";", numbered(33, 0), comma(s.v), comma(s.i))], s.expected()
    )


def frame_columns_as_objects(b: Bench) -> CorpusFile:
    """A frame as JSON by columns, each an object from index to number."""
    s = b.sweep("dye", iu="mA", points=14)
    parts = [
        f'"{name}":{{' + ",".join(f'"{k}":{t}' for k, t in enumerate(c)) + "}"
        for name, c in (("voltage_V", s.v), ("current_mA", s.i))
    ]
    return text_file("columns.json", ["{" + ",".join(parts) + "}"], s.expected())


def web_unit_texts(b: Bench) -> CorpusFile:
    """Each reading is an object of texts with units."""
    s = b.sweep("small silicon", iu="mA", points=14)
    parts = [f'{{"v": "{v} V", "i": "{i} mA"}}' for v, i in zip(s.v, s.i, strict=True)]
    return text_file("texts.json", ['{"readings": [', ",\n".join(parts), "]}"], s.expected())


def web_short_names(b: Bench) -> CorpusFile:
    """Short names; units in an object beside."""
    s = b.sweep("dye", vu="mV", iu="uA", points=25, stepped="current")
    text = f'{{"unit":{{"u":"mV","i":"uA"}},"data":{{"u":[{",".join(s.v)}],"i":[{",".join(s.i)}]}},"n":25}}'
    return text_file("min.json", [text], s.expected(), ended=False)


def web_three_cells(b: Bench) -> CorpusFile:
    """Cells by name, each with area and pairs."""
    parts, expected = [], []
    for name in ("c7", "c8", "c9"):
        s = b.sweep("dye", iu="mA", points=10)
        pairs = ",".join(f"[{v},{i}]" for v, i in zip(s.v, s.i, strict=True))
        parts.append(f'"{name}":{{"area_cm2":{s.device.area},"columns":["V (V)","I (mA)"],"rows":[{pairs}]}}')
        expected.append(s.expected(name, area_cm2=float(s.device.area)))
    return text_file("cells.json", ["{" + ",".join(parts) + "}"], *expected)


def yaml_block(b: Bench) -> CorpusFile:
    """A comma table as block text inside a note."""
    s = b.sweep("perovskite", iu="mA", points=17)
    lines = [
        "sample: P-2",
        "area_cm2: " + s.device.area,
        "table: |",
        "  V (V),I (mA)",
        *["  " + r for r in joined(",", s.v, s.i)],
    ]
    return text_file("note.yaml", lines, s.expected(area_cm2=float(s.device.area)))


def note_bullets(b: Bench) -> CorpusFile:
    """Bullets in an electronic notebook."""
    s = b.sweep("small silicon", iu="mA", points=11)
    lines = ["# Cell 3, lamp 2", "", *[f"* {v} V → {i} mA" for v, i in zip(s.v, s.i, strict=True)]]
    return text_file("cell3.md", lines, s.expected())


def pixels_eight(b: Bench) -> CorpusFile:
    """Eight cells of a tray in microamperes, the voltage last."""
    device = b.device("indoor dye")
    sweeps = [b.sweep(device, vu="mV", iu="uA", points=15) for _ in range(8)]
    lines = [",".join(f"cell{k}_uA" for k in range(1, 9)) + ",V_mV", *joined(",", *[s.i for s in sweeps], sweeps[0].v)]
    return text_file("tray.csv", lines, *[s.expected(f"cell{k}") for k, s in enumerate(sweeps, 1)])


def pixels_objects(b: Bench) -> CorpusFile:
    """A common voltage list and an object of currents."""
    device = b.device("organic")
    sweeps = {f"px{k}": b.sweep(device, iu="mA", points=12) for k in range(1, 5)}
    currents = ",".join(f'"{n}":[{",".join(s.i)}]' for n, s in sweeps.items())
    text = f'{{"voltage_V":[{",".join(sweeps["px1"].v)}],"current_mA":{{{currents}}}}}'
    return text_file("substrate.json", [text], *[s.expected(n) for n, s in sweeps.items()])


def ways_objects(b: Bench) -> CorpusFile:
    """Forward and reverse as objects, hold times as numbers."""
    device = b.device("perovskite")
    up, down = b.sweep(device, iu="mA", points=16), b.sweep(device, iu="mA", points=16, backwards=True)
    parts = [
        f'"{n}":{{"hold_s":{h},"voltage_V":[{",".join(s.v)}],"current_mA":[{",".join(s.i)}]}}'
        for n, h, s in (("forward", 2.0, up), ("reverse", 10.0, down))
    ]
    return text_file("fr.json", ["{" + ",".join(parts) + "}"], up.expected("forward"), down.expected("reverse"))


def ways_cycles(b: Bench) -> CorpusFile:
    """Cycle and branch in columns; time runs on through the holds."""
    device = b.device("perovskite")
    lines, expected = ["t (s);cycle;branch;U (V);I (mA)"], []
    for k in range(4):
        s = b.sweep(device, iu="mA", points=11, backwards=k % 2 == 1)
        branch = "down" if k % 2 else "up"
        lines += joined(";", clocked(11, 0.5, start=20.0 * k), [str(k // 2 + 1)] * 11, [branch] * 11, s.v, s.i)
        expected.append(s.expected())
    return text_file("cycles.csv", lines, *expected)


def dark_german(b: Bench) -> CorpusFile:
    """German sections for lamp off and lamp on."""
    device = b.device("small silicon")
    off, on = (b.sweep(device, iu="mA", points=17, light=x, start=-0.1) for x in (0.0, 1.0))
    lines = ["Dunkelkennlinie", "U [V];I [mA]", *joined(";", comma(off.v), comma(off.i)), "", "Hellkennlinie"]
    lines += ["U [V];I [mA]", *joined(";", comma(on.v), comma(on.i))]
    expected = off.expected("Dunkelkennlinie"), on.expected("Hellkennlinie")
    return text_file("hell_dunkel.csv", lines, *expected, end="\r\n", encoding="cp1252")


def dark_densities(b: Bench) -> CorpusFile:
    """Light and dark current densities and the area."""
    device = b.device("thin film")
    light, dark = (b.sweep(device, iu="mA", points=20, light=x, area=device.area, sign=-1) for x in (1.0, 0.0))
    lines = [
        f"# area {device.area} cm^2",
        "# V (V)\tJ_light (mA/cm^2)\tJ_dark (mA/cm^2)",
        *joined("\t", light.v, light.i, dark.i),
    ]
    area = float(device.area)
    return text_file("jl_jd.txt", lines, light.expected("light", area_cm2=area), dark.expected("dark", area_cm2=area))


def flash_italian(b: Bench) -> CorpusFile:
    """Italian report with a column of powers."""
    s = b.sweep("module", iu="A", points=30)
    lines = ["Matricola;INV-5", "Celle in serie;72", "Irraggiamento;1000 W/m²", "Tensione (V);Corrente (A);Potenza (W)"]
    lines += joined(";", comma(s.v), comma(s.i), comma(s.power(2)))
    return text_file("INV-5.csv", lines, s.expected(cells=72.0, irradiance_w_m2=1000.0), end="\r\n", encoding="cp1252")


def flash_eighty(b: Bench) -> CorpusFile:
    """Eighty readings, a unit column at the end of each row."""
    s = b.sweep("panel", iu="A", points=80, sign=-1)
    lines = ["NCELLS 36", "VOLTAGE[V] CURRENT[A]", *[f"{v} {i}" for v, i in zip(s.v, s.i, strict=True)], "EOF"]
    return text_file("P36.iv", lines, s.expected(cells=36.0))


def archive_file_column(b: Bench) -> CorpusFile:
    """The name of the source file ends each row."""
    sweeps = [b.sweep(SMALL, iu="mA", points=12) for _ in range(3)]
    lines = ["V (V),I (mA),file"]
    for k, s in enumerate(sweeps, 1):
        lines += joined(",", s.v, s.i, [f"d{k}.txt"] * 12)
    return text_file("joined.csv", lines, *[s.expected() for s in sweeps])


def archive_data_sets(b: Bench) -> CorpusFile:
    """Numbered data sets with their counts of rows and temperatures."""
    lines, expected = [], []
    for k, (count, heat) in enumerate([(10, "25"), (12, "40"), (9, "55")], 1):
        s = b.sweep("wafer", iu="A", points=count)
        lines += [f"Data set {k}/3; {count} points; T = {heat} °C", "V [V];I [A]", *joined(";", s.v, s.i)]
        expected.append(s.expected(None, temperature_c=float(heat)))
    return text_file("sets.txt", lines, *expected)


def screen_epoch(b: Bench) -> CorpusFile:
    """Seconds since 1970 before each reading."""
    s = b.sweep("panel", iu="A", points=20)
    stamps = clocked(20, 0.5, "{:.3f}", 1577880000.0)
    return text_file("tee.log", ["epoch_s V_V I_A", *joined(" ", stamps, s.v, s.i)], s.expected())


def screen_pager(b: Bench) -> CorpusFile:
    """A pager's mark stands between pages of the table."""
    s = b.sweep(LARGE, iu="A", points=30)
    rows = padded(10, s.v, s.i)
    return text_file("pager.txt", ["     U (V)     I (A)", *rows[:14], "--More--", *rows[14:]], s.expected())


def window_resistances(b: Bench) -> CorpusFile:
    """Volts over ampere as a third column with an infinite value."""
    s = b.sweep("small silicon", iu="mA", points=18, start=0.0)
    ohm = [f"{1000 * float(v) / float(i):.2f}" if float(i) else "∞" for v, i in zip(s.v, s.i, strict=True)]
    return text_file("vir.txt", ["V (V)\tI (mA)\tV/I (Ω)", *joined("\t", s.v, s.i, ohm)], s.expected())


def window_two_saves(b: Bench) -> CorpusFile:
    """Saved into the same file twice: the second sweep follows with its own head and date."""
    device = b.device("thin film")
    lines, sweeps = [], []
    for clock in ("10:02", "10:09"):
        s = b.sweep(device, iu="mA", points=16)
        lines += [f"Saved 2021-03-04 {clock}", "V [V]\tI [mA]", *joined("\t", s.v, s.i)]
        sweeps.append(s)
    return text_file("appended.txt", lines, *[s.expected() for s in sweeps])


def words_hungarian(b: Bench) -> CorpusFile:
    """Hungarian in UTF-8 with decimal commas."""
    s = b.sweep("thin film", iu="mA", points=21)
    return text_file("meres.csv", ["Feszültség (V);Áram (mA)", *joined(";", comma(s.v), comma(s.i))], s.expected())


def words_danish(b: Bench) -> CorpusFile:
    """Danish with facts above."""
    s = b.sweep("dye", iu="mA", points=18)
    lines = ["Måling 4", "Temperatur: 23,5 °C", "Spænding [V];Strøm [mA]", *joined(";", comma(s.v), comma(s.i))]
    return text_file("maaling.csv", lines, s.expected(temperature_c=23.5), encoding="cp1252", end="\r\n")


MORE: dict[str, list[Layout]] = {
    "serial log": [checksums, eighty_steps],
    "source-measure unit": [element_names, plus_signs],
    "recorder": [unit_cells],
    "DOS logger": [extremes_below, old_long_table],
    "two meters": [meters_minutes, meters_words],
    "outdoor tracer": [outdoor_spanish, outdoor_eighty],
    "long header": [long_french, long_portuguese],
    "spreadsheet": [comma_exponents, dated_rows, sum_row],
    "course template": [template_three_groups, template_italian],
    "plotting program": [plot_facts_row, plot_millivolts],
    "paper": [paper_web_table, paper_middle_dots],
    "matrix program": [octave_folded, octave_struct],
    "numpy text": [numpy_widths, numpy_blank_line],
    "data frame": [frame_table, frame_german, frame_columns_as_objects],
    "web application": [web_unit_texts, web_short_names, web_three_cells],
    "notebook": [yaml_block, note_bullets],
    "six pixels": [pixels_eight, pixels_objects],
    "both directions": [ways_objects, ways_cycles],
    "dark and light": [dark_german, dark_densities],
    "module flasher": [flash_italian, flash_eighty],
    "archive": [archive_file_column, archive_data_sets],
    "terminal": [screen_epoch, screen_pager],
    "graphical program": [window_resistances, window_two_saves],
    "operator's language": [words_hungarian, words_danish],
}
