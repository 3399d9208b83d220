"""Long text headers, terminal captures, logs of a graphical program, and files in the operator's language."""

from typing import Any

from held_out_bench import LARGE, SMALL, Bench, Layout, clocked, comma, joined, numbered, padded, stated, text_file
from parts import CorpusFile


def header(b: Bench, count: int, separator: str = "\t") -> list[str]:
    """Lines of a long header that are no readings, though they hold numbers and words like voltage."""
    every = [
        ("Program", "IV station 4.1"), ("Date", b.date()), ("Time", b.clock()), ("Operator", "K."), ("Room", "2.114"),
        ("Start voltage (V)", "-0.100"), ("Stop voltage (V)", "1.300"), ("Step (mV)", "20"), ("Delay (ms)", "50"),
        ("Averages", "8"), ("Current limit (mA)", "100"), ("Range", "auto"), ("4-wire", "TRUE"),
        ("Lamp hours", "412.5"), ("Lamp current (A)", "7.20"), ("Shutter", "open"), ("Spectrum", "AM1.5G"),
        ("Reference cell", "R-02"), ("Calibration due", "2031-01-01"), ("Remarks", "none, all fine: ok"),
    ]  # fmt: skip
    return [f"{name}{separator}{value}" for name, value in every[:count]]


def long_tabs(b: Bench) -> CorpusFile:
    """Key and value by tabs, an empty line, the table."""
    s = b.sweep("perovskite", iu="mA", points=40)
    area = b.area(s.device)
    lines = [*header(b, 20), f"Area\t{area.text}", "", "Voltage (V)\tCurrent (mA)", *joined("\t", s.v, s.i)]
    return text_file("iv_0001.txt", lines, s.expected(**stated(area)), end="\r\n")


def long_colons(b: Bench) -> CorpusFile:
    """Key and value by colons, a marker line, four columns."""
    s = b.sweep("small silicon", iu="A", style="E", vd=6, idg=6, sign=-1, points=35)
    area, light, heat = b.area(s.device), b.light(), b.heat()
    lines = [
        *header(b, 15, ": "),
        f"Cell area: {area.text}",
        f"Light intensity: {light.text}",
        f"Temperature: {heat.text}",
    ]
    lines += ["***** data *****", "Index\tTime (s)\tVoltage (V)\tCurrent (A)"]
    lines += joined("\t", numbered(35, 0), clocked(35, 0.07), s.v, s.i)
    return text_file("cell.txt", lines, s.expected(**stated(area, light, heat)), end="\r\n")


def long_comment_column(b: Bench) -> CorpusFile:
    """An empty first column and a comment column whose only text stands in the first row."""
    s = b.sweep(SMALL, iu="mA", points=22)
    notes = ["shutter opened", *[""] * 21]
    lines = [*header(b, 9), "", "\tU [V]\tI [mA]\tComment", *joined("\t", [""] * 22, s.v, s.i, notes)]
    return text_file("station.txt", lines, s.expected(), end="\r\n")


def long_german(b: Bench) -> CorpusFile:
    """German header and decimal commas, trailing tabs."""
    s = b.sweep("thin film", iu="mA", points=30)
    area, heat = b.area(s.device, ","), b.heat(",")
    lines = [
        "Messprogramm\tKennlinie 2.0\t",
        f"Datum\t{b.date()}\t",
        "Startspannung\t-0,1 V\t",
        "Schrittweite\t20 mV\t",
    ]
    lines += [f"Aktive Fläche\t{area.text}\t", f"Temperatur\t{heat.text}\t", "\t\t", "Spannung\tStrom\t", "V\tmA\t"]
    lines += [row + "\t" for row in joined("\t", comma(s.v), comma(s.i))]
    return text_file("Kennlinie.txt", lines, s.expected(**stated(area, heat)), end="\r\n", encoding="cp1252")


def long_sections(b: Bench) -> CorpusFile:
    """Sections in brackets; a section of results follows the curve."""
    s = b.sweep("minimodule", iu="mA", points=28)
    heat = b.heat()
    lines = [
        "[general]",
        *header(b, 5, "="),
        "[conditions]",
        "illumination=1 sun",
        f"temperature={heat.text}",
        f"cells={s.device.cells}",
        "[curve]",
    ]
    lines += ["V (V),I (mA)", *joined(",", s.v, s.i), "[results]", f"Voc (V)={s.device.voc_v:.3f}", "FF (%)=66.1"]
    return text_file(
        "minimod.txt", lines, s.expected(cells=float(s.device.cells), irradiance_w_m2=1000.0, **stated(heat))
    )


def long_count(b: Bench) -> CorpusFile:
    """The header states how many header lines there are, and the table has no heading of its own."""
    s = b.sweep("wafer", iu="A", points=33)
    lines = ["header lines: 9", *header(b, 6, ": "), "column 1: voltage (V)", "column 2: current (A)"]
    return text_file("wafer_33.asc", lines + padded(12, s.v, s.i), s.expected())


def long_gap(b: Bench) -> CorpusFile:
    """An empty row in the middle of the readings; the header repeats itself after it."""
    s = b.sweep("perovskite", iu="mA", points=30)
    top = [*header(b, 8), "Voltage (V)\tCurrent (mA)"]
    rows = joined("\t", s.v, s.i)
    return text_file("resumed.txt", [*top, *rows[:17], "", *top, *rows[17:]], s.expected(), end="\r\n")


def long_stopped(b: Bench) -> CorpusFile:
    """The operator stopped before the first reading."""
    lines = [*header(b, 20), "Voltage (V)\tCurrent (mA)", "stopped by operator"]
    return text_file("iv_0002.txt", lines, refused="stopped before the first reading", end="\r\n")


def long_density(b: Bench) -> CorpusFile:
    """Current and current density both stand there."""
    s = b.sweep("perovskite", iu="mA", points=25)
    density = [f"{float(i) / float(s.device.area):.4f}" for i in s.i]
    area = b.area(s.device)
    lines = [
        *header(b, 12, ": "),
        f"Area: {area.text}",
        "",
        "V (V)\tI (mA)\tJ (mA/cm2)",
        *joined("\t", s.v, s.i, density),
    ]
    return text_file("both_IJ.txt", lines, s.expected(**stated(area)))


def long_cut(b: Bench) -> CorpusFile:
    """The network drive went away inside a current."""
    s = b.sweep("small silicon", iu="mA", points=20, idg=7)
    rows = joined("\t", s.v, s.i)
    lines = [*header(b, 14), "Voltage (V)\tCurrent (mA)", *rows[:-1], rows[-1][:-4]]
    return text_file("share.txt", lines, s.expected(None, range(19)), end="\r\n", ended=False, incomplete=True)


def long_wide_units(b: Bench) -> CorpusFile:
    """A module with a unit row and quantities in words."""
    s = b.sweep("module", iu="A", points=55)
    light = b.light()
    lines = [
        *header(b, 5, " : "),
        f"Irradiance : {light.text}",
        "No. of cells : 72",
        "Point\tTerminal voltage\tTerminal current",
    ]
    lines += ["-\tV\tA", *joined("\t", numbered(55), s.v, s.i)]
    return text_file("M72.txt", lines, s.expected(cells=72.0, **stated(light)))


def screen_prompt(b: Bench) -> CorpusFile:
    """A recorded shell session with the command and its table."""
    s = b.sweep("dye", vu="mV", iu="uA", points=20)
    lines = ["$ ./trace --start 0 --stop 700 --step 35", "opening port ... ok", "U/mV  I/uA", *joined("  ", s.v, s.i)]
    return text_file("typescript", [*lines, "20 points in 2.1 s", "$ exit"], s.expected())


def screen_sentences(b: Bench) -> CorpusFile:
    """A sentence each reading."""
    s = b.sweep("small silicon", iu="mA", points=18)
    lines = [f"point {k}: V = {v} V, I = {i} mA" for k, (v, i) in enumerate(zip(s.v, s.i, strict=True), 1)]
    return text_file("screen.log", ["Starting sweep.", *lines, "Sweep finished."], s.expected())


def screen_colours(b: Bench) -> CorpusFile:
    """Colour codes of the terminal around every number."""
    s = b.sweep("thin film", iu="mA", points=16)
    rows = [f"\x1b[32m{v}\x1b[0m\t\x1b[33m{i}\x1b[0m" for v, i in zip(s.v, s.i, strict=True)]
    return text_file("colour.log", ["\x1b[1mV (V)\tI (mA)\x1b[0m", *rows], s.expected())


def screen_progress(b: Bench) -> CorpusFile:
    """A progress line that overwrites itself stands between the readings."""
    s = b.sweep("perovskite", iu="mA", points=15)
    text = "V (V);I (mA)\n"
    for k, row in enumerate(joined(";", s.v, s.i)):
        text += f"  {100 * k // 15} %\r{row}\n"
    return text_file("progress.txt", [text], s.expected(), ended=False)


def screen_log_levels(b: Bench) -> CorpusFile:
    """Time, level and module before each reading."""
    s = b.sweep("panel", iu="A", points=17)
    lines = [
        f"[11:59:{k + 10}] INFO  sweep: voltage={v} V current={i} A"
        for k, (v, i) in enumerate(zip(s.v, s.i, strict=True))
    ]
    lines.insert(6, "[11:59:16] WARN  lamp: flicker 0.4 %")
    return text_file("station.log", lines, s.expected())


def screen_traceback(b: Bench) -> CorpusFile:
    """The program failed before it measured."""
    lines = ["$ python3 trace.py", "Traceback (most recent call last):", '  File "trace.py", line 41, in <module>']
    return text_file("fail.log", [*lines, "TimeoutError: no answer after 2.0 s"], refused="an error report")


def screen_interrupted(b: Bench) -> CorpusFile:
    """Stopped from the keyboard; whole lines up to there."""
    s = b.sweep("wafer", iu="A", points=24).part(0, 17)
    lines = ["V [V]    I [A]", *padded(10, s.v, s.i), "^C", "interrupted"]
    return text_file("ctrl_c.txt", lines, s.expected())


def screen_queries(b: Bench) -> CorpusFile:
    """Commands and answers of an instrument, > out and < in."""
    s = b.sweep("small silicon", iu="A", style="E", vd=6, idg=6, points=12)
    lines: list[str] = []
    for v, i in zip(s.v, s.i, strict=True):
        lines += ["> MEAS:VOLT?", f"< {v} V", "> MEAS:CURR?", f"< {i} A"]
    return text_file("dialogue.log", lines, s.expected())


def screen_frame(b: Bench) -> CorpusFile:
    """A table drawn with lines."""
    s = b.sweep("organic", iu="mA", points=14)
    width = max(len(t) for t in (*s.v, *s.i, "I (mA)"))
    rule = "+" + "-" * (width + 2) + "+" + "-" * (width + 2) + "+"
    rows = [f"| {v:>{width}} | {i:>{width}} |" for v, i in zip(["V (V)", *s.v], ["I (mA)", *s.i], strict=True)]
    return text_file("table.txt", [rule, rows[0], rule, *rows[1:], rule], s.expected())


def screen_two_commands(b: Bench) -> CorpusFile:
    """Two sweeps in one session."""
    sweeps = [b.sweep("dye", iu="mA", points=13) for _ in range(2)]
    lines: list[str] = []
    for name, s in zip("ab", sweeps, strict=True):
        lines += [f"$ iv --cell {name}", "V (V)\tI (mA)", *joined("\t", s.v, s.i), "done"]
    return text_file("two.log", lines, *[s.expected() for s in sweeps])


def window_log(b: Bench) -> CorpusFile:
    """Log with a comma before the milliseconds of each time."""
    s = b.sweep("thin film", iu="mA", points=18)
    lines = [
        f"2019-10-02 12:01:{k:02d},{123 + k} INFO V={v} V I={i} mA"
        for k, (v, i) in enumerate(zip(s.v, s.i, strict=True))
    ]
    return text_file("gui.log", lines, s.expected())


def window_bom(b: Bench) -> CorpusFile:
    """A byte-order mark before the heading, spaces after the commas."""
    s = b.sweep("perovskite", iu="mA", points=28)
    return text_file(
        "save_1.csv", ["U [V], I [mA], P [mW]", *joined(", ", s.v, s.i, s.power())], s.expected(), encoding="utf-8-sig"
    )


def window_checkboxes(b: Bench) -> CorpusFile:
    """A column tells which readings the user unticked; the file says what that means, but all are readings."""
    s = b.sweep("organic", iu="mA", points=19)
    shown = ["true" if k != 4 else "false" for k in range(19)]
    return text_file(
        "points.csv", ["# shown: drawn in the plot", "shown,V (V),I (mA)", *joined(",", shown, s.v, s.i)], s.expected()
    )


def window_lists(b: Bench) -> CorpusFile:
    """Property list with quantities by name."""
    s = b.sweep("small silicon", iu="A", points=16)
    area = b.area(s.device)
    lines = [f"sample.area: {area.text}", "sweep.mode: voltage", "sweep.n: 16"]
    lines += ["sweep.voltage (V): " + " ".join(s.v), "sweep.current (A): " + " ".join(s.i)]
    return text_file("props.txt", lines, s.expected(**stated(area)))


def window_repeat_heading(b: Bench) -> CorpusFile:
    """The save button wrote the heading twice."""
    s = b.sweep("minimodule", iu="mA", points=21)
    head = "Voltage [V];Current [mA]"
    return text_file("save_2.csv", [head, head, *joined(";", s.v, s.i)], s.expected(), end="\r\n")


def window_wide(b: Bench) -> CorpusFile:
    """UTF-16 without much: semicolons, decimal commas."""
    s = b.sweep(LARGE, iu="A", points=30)
    lines = ["Spannung (V);Strom (A)", *joined(";", comma(s.v), comma(s.i))]
    return text_file("save_w.txt", lines, s.expected(), end="\r\n", encoding="utf-16")


def window_live(b: Bench) -> CorpusFile:
    """Averages and single readings: the table says which columns are the averages."""
    s = b.sweep("dye", iu="mA", points=20, stepped="current", vd=5)
    spread = [f"{abs(b.gauss(0.0005, 0.0001)):.5f}" for _ in range(20)]
    lines = ["I_mean (mA)\tV_mean (V)\tV_std (V)", *joined("\t", s.i, s.v, spread)]
    return text_file("live.txt", lines, s.expected())


def window_picture(b: Bench) -> CorpusFile:
    """The plot was saved as a picture under the name of a table."""
    body = bytes(b.randint(0, 255) for _ in range(600))
    return CorpusFile("plot.csv", b"\x89PNG\r\n\x1a\n\x00\x00\x00\rIHDR" + body, "", [], refused="a picture")


def window_settings_then_data(b: Bench) -> CorpusFile:
    """Settings as JSON in the first line, then the table."""
    s = b.sweep("organic", iu="uA", vu="mV", points=22)
    head = '{"nplc": 1, "delay_s": 0.05, "start_mV": -50, "stop_mV": 900}'
    return text_file("hybrid.txt", [head, "V_mV I_uA", *joined(" ", s.v, s.i)], s.expected())


def window_empty_rows(b: Bench) -> CorpusFile:
    """An empty line after each reading."""
    s = b.sweep("perovskite", iu="mA", points=16, sign=-1)
    lines = [line for row in ["V (V)\tI (mA)", *joined("\t", s.v, s.i)] for line in (row, "")]
    return text_file("double.txt", lines, s.expected())


def in_words(
    b: Bench, volt: str, amp: str, encoding: str, name: str, delimiter: str = ",", decimal: str = ".", **more: Any
) -> CorpusFile:
    """Headings in a language; the units are the international ones."""
    s = b.sweep(["thin film", "small silicon", "perovskite"], iu="mA", points=20)
    v, i = ([t.replace(".", decimal) for t in c] for c in (s.v, s.i))
    return text_file(
        name, [f"{volt}{delimiter}{amp}", *joined(delimiter, v, i)], s.expected(), encoding=encoding, **more
    )


def words_japanese(b: Bench) -> CorpusFile:
    """Japanese in its older encoding."""
    return in_words(b, "電圧 (V)", "電流 (mA)", "shift_jis", "data.csv", end="\r\n")


def words_chinese(b: Bench) -> CorpusFile:
    """Chinese in UTF-8 with full-width brackets."""
    return in_words(b, "电压（V）", "电流（mA）", "utf-8", "iv.csv")


def words_russian(b: Bench) -> CorpusFile:
    """Russian words and units in an eight-bit encoding."""
    needs = {"encoding": "windows-1251", "voltage": 0, "current": 1, "voltage_unit": "V", "current_unit": "mA"}
    return in_words(b, "Напряжение, В", "Ток, мА", "cp1251", "vah.txt", ";", ",", end="\r\n", needs=needs)


def words_polish(b: Bench) -> CorpusFile:
    """Polish in the central European code page."""
    return in_words(b, "Napięcie (V)", "Prąd (mA)", "cp1250", "pomiar.csv", ";", ",", end="\r\n")


def words_swedish(b: Bench) -> CorpusFile:
    """Swedish with tabs."""
    return in_words(b, "Spänning [V]", "Ström [mA]", "cp1252", "matning.txt", "\t", ",")


def words_turkish(b: Bench) -> CorpusFile:
    """Turkish in UTF-8."""
    return in_words(b, "Gerilim (V)", "Akım (mA)", "utf-8", "olcum.csv", ";", ",")


def words_korean(b: Bench) -> CorpusFile:
    """Korean in UTF-8 with a byte-order mark."""
    return in_words(b, "전압(V)", "전류(mA)", "utf-8-sig", "측정.csv")


def words_greek(b: Bench) -> CorpusFile:
    """Greek in UTF-8."""
    return in_words(b, "Τάση (V)", "Ρεύμα (mA)", "utf-8", "metrisi.csv", ";", ",")


def words_czech(b: Bench) -> CorpusFile:
    """Czech, tab-separated, UTF-16."""
    return in_words(b, "Napětí [V]", "Proud [mA]", "utf-16", "mereni.txt", "\t", ",", end="\r\n")


def words_finnish(b: Bench) -> CorpusFile:
    """Finnish in Latin-1."""
    return in_words(b, "Jännite (V)", "Virta (mA)", "latin-1", "mittaus.txt", "\t", ",")


def words_letter(b: Bench) -> CorpusFile:
    """A letter about a measurement."""
    lines = ["Sehr geehrte Damen und Herren,", "die Zelle lieferte 31,2 mA bei 0,45 V.", "Mit freundlichen Grüßen"]
    return text_file("brief.txt", lines, refused="one pair of numbers in a sentence, no curve", encoding="cp1252")


LONG_HEADER: list[Layout] = [
    long_tabs, long_colons, long_comment_column, long_german, long_sections, long_count, long_gap, long_stopped,
    long_density, long_cut, long_wide_units,
]  # fmt: skip
SCREEN: list[Layout] = [
    screen_prompt, screen_sentences, screen_colours, screen_progress, screen_log_levels, screen_traceback,
    screen_interrupted, screen_queries, screen_frame, screen_two_commands,
]  # fmt: skip
WINDOW: list[Layout] = [
    window_log, window_bom, window_checkboxes, window_lists, window_repeat_heading, window_wide, window_live,
    window_picture, window_settings_then_data, window_empty_rows,
]  # fmt: skip
LANGUAGES: list[Layout] = [
    words_japanese, words_chinese, words_russian, words_polish, words_swedish, words_turkish, words_korean,
    words_greek, words_czech, words_finnish, words_letter,
]  # fmt: skip
