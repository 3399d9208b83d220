"""Files of an older DOS data logger, of two hand-held meters, and of a hand-held outdoor tracer."""

from decimal import Decimal

from held_out_bench import LARGE, SMALL, Bench, Layout, clocked, comma, joined, numbered, padded, stated, text_file
from parts import CorpusFile


def boxed(b: Bench) -> CorpusFile:
    """Title, box-drawing line in code page 437, fixed width, end-of-file character."""
    s = b.sweep("small silicon", iu="mA", points=25)
    lines = [
        "LOGGER V2.11   12.03.94  14:05",
        "════════════════════",
        "     U/V      I/mA",
        *padded(10, s.v, s.i),
        "\x1a",
    ]
    return text_file("MESS0312.DAT", lines, s.expected(), end="\r\n", encoding="cp437", ended=False)


def double_exponents(b: Bench) -> CorpusFile:
    """Double-precision exponents with the letter D."""
    s = b.sweep(SMALL, iu="A", style="E", idg=6, vd=6, sign=-1, points=20)
    columns = [[t.replace("E", "D") for t in c] for c in (s.v, s.i)]
    return text_file("IV.OUT", ["    VOLTS (V)       AMPS (A)", *padded(16, *columns)], s.expected(), end="\r\n")


def paged(b: Bench) -> CorpusFile:
    """A printout whose heading stands on every page while the sweep goes on."""
    s = b.sweep("panel", iu="A", points=45)
    rows = padded(10, numbered(45), s.v, s.i)
    lines: list[str] = []
    for page in range(3):
        lines += [f"PAGE {page + 1}", "        NO    U [V]     I [A]", *rows[15 * page : 15 * page + 15], "\f"]
    return text_file("PRINT.TXT", lines, s.expected(), end="\r\n")


def degree_sign(b: Bench) -> CorpusFile:
    """The degree sign of code page 437 and a decimal comma."""
    s = b.sweep("panel", iu="A", points=16)
    lines = ["Modul Nr. 4", "Temperatur: 38,5 °C", "Zellen: 36", "", "  U [V]     I [A]"]
    lines += padded(10, comma(s.v), comma(s.i))
    expected = s.expected(temperature_c=38.5, cells=36.0)
    return text_file("MODUL4.PRN", lines, expected, end="\r\n", encoding="cp437")


def micro_sign(b: Bench) -> CorpusFile:
    """The unit's first letter is a byte that is µ in code page 850 and something else elsewhere."""
    s = b.sweep("indoor dye", iu="µA", vu="mV", vd=4, points=18)
    lines = ["U(mV)  I(µA)", *padded(9, s.v, s.i)]
    needs = {"current_unit": "uA"}
    return text_file("ZELLE3.DAT", lines, s.expected(), end="\r\n", encoding="cp850", needs=needs)


def no_leading_zero(b: Bench) -> CorpusFile:
    """Numbers below one have no digit before the point."""
    s = b.sweep("small silicon", iu="A", sign=-1, points=24)
    columns = [[t.replace("0.", ".", 1) if t.lstrip("-").startswith("0.") else t for t in c] for c in (s.v, s.i)]
    return text_file("CELL.LST", ["     VOLTS      AMPS", *padded(10, *columns)], s.expected(), end="\r\n")


def fields_touch(b: Bench) -> CorpusFile:
    """Fixed fields: a minus sign stands against the number before it."""
    s = b.sweep("wafer", vu="V", iu="mA", sign=-1, stop=1.0, points=22, vd=5, idg=9)
    lines = ["    U(V)     I(mA)", *[f"{v:>8}{i:>11}" for v, i in zip(s.v, s.i, strict=True)]]
    return text_file("FIX.DAT", lines, s.expected(), end="\r\n")


def stars(b: Bench) -> CorpusFile:
    """A number did not fit its field and was printed as stars."""
    s = b.sweep("small silicon", iu="mA", points=27)
    i = list(s.i)
    i[4] = "*" * 9
    lines = ["    U / V    I / mA", *padded(10, s.v, i)]
    return text_file("RUN8.LST", lines, s.expected(None, [k for k in range(27) if k != 4]), end="\r\n")


def quoted_words(b: Bench) -> CorpusFile:
    """A program that writes strings in quotes and numbers bare; names and units are rows."""
    s = b.sweep("thin film", iu="mA", points=20)
    lines = ['"CELL 12","12-03-1991"', '"U","I"', '"V","mA"', *joined(",", s.v, s.i)]
    return text_file("C12.WRT", lines, s.expected(), end="\r\n")


def data_statements(b: Bench) -> CorpusFile:
    """Readings kept as data statements of a program with line numbers."""
    s = b.sweep("small silicon", iu="A", points=14)
    lines = ["10 REM CELL IN SUN", "20 REM U (V), I (A)"]
    lines += [f"{100 + 10 * k} DATA {v},{i}" for k, (v, i) in enumerate(zip(s.v, s.i, strict=True))]
    return text_file("SOLAR.BAS", lines, s.expected(), end="\r\n")


def carriage_returns(b: Bench) -> CorpusFile:
    """Lines end with a carriage return alone."""
    s = b.sweep("minimodule", iu="mA", points=33)
    return text_file("old_mac", ["Volts (V)\tCurrent (mA)", *joined("\t", s.v, s.i)], s.expected(), end="\r")


def channel_off(b: Bench) -> CorpusFile:
    """The logger was started with nothing attached."""
    lines = ["LOGGER V2.11", "CH 1: OFF", "CH 2: OFF", "*** NO DATA ***", "\x1a"]
    return text_file("MESS0000.DAT", lines, refused="no reading in the file", end="\r\n", ended=False)


def auto_range(b: Bench) -> CorpusFile:
    """Each reading has the unit of the range the meter chose."""
    s = b.sweep("perovskite", iu="mA", vu="V", points=20, start=0.02, stop=0.99)
    volts = [f"{v} V" if Decimal(v) >= Decimal("0.4") else f"{Decimal(v).scaleb(3):f} mV" for v in s.v]
    lines = ["voltmeter\tammeter", *joined("\t", volts, [f"{i} mA" for i in s.i])]
    return text_file("meters.txt", lines, s.expected())


def open_leads(b: Bench) -> CorpusFile:
    """OL at the first two steps of the ammeter."""
    s = b.sweep("panel", iu="A", points=18)
    lines = ["Meter 1: V DC, Meter 2: A DC", "No,Voltage [V],Current [A]"]
    lines += joined(",", numbered(18), s.v, ["OL", "OL", *s.i[2:]])
    return text_file("two_dmm.csv", lines, s.expected(None, range(2, 18)))


def letter_prefixes(b: Bench) -> CorpusFile:
    """Engineering letters behind the numbers, the units in the heading."""
    s = b.sweep("organic", vu="mV", iu="uA", points=16)
    lines = ["V (V), I (A)", *[f"{v}m, {i}u" for v, i in zip(s.v, s.i, strict=True)]]
    return text_file("eng.txt", lines, s.expected())


def unit_columns(b: Bench) -> CorpusFile:
    """The unit stands in a column of its own."""
    s = b.sweep("small silicon", iu="mA", points=22)
    n = len(s)
    lines = joined(",", numbered(n), s.v, ["V DC"] * n, s.i, ["mA DC"] * n)
    return text_file("merged.csv", lines, s.expected())


def afternoon(b: Bench) -> CorpusFile:
    """Twelve-hour clock and a range remark in each row."""
    s = b.sweep("minimodule", iu="mA", points=21)
    stamps = [f"3/9/2016 2:{11 + k // 4:02d}:{k % 4 * 15:02d} PM" for k in range(21)]
    lines = ["Timestamp,V (V),Range,I (mA),Range", *joined(",", stamps, s.v, ["AUTO"] * 21, s.i, ["400mA"] * 21)]
    return text_file("dmmlog.csv", lines, s.expected(), end="\r\n")


def comma_with_units(b: Bench) -> CorpusFile:
    """Decimal commas with units behind every number."""
    s = b.sweep("dye", vu="mV", iu="mA", points=19)
    rows = zip(comma(s.v), comma(s.i), strict=True)
    lines = ["Spannung ; Strom", *[f"{v} mV ; {i} mA" for v, i in rows]]
    return text_file("zwei Multimeter.txt", lines, s.expected())


def hand_typed(b: Bench) -> CorpusFile:
    """Typed during the measurement: headings in words, remarks between brackets."""
    s = b.sweep("small silicon", iu="mA", stepped="current", points=9, vd=3, idg=3)
    rows = joined("   ", s.v, s.i)
    rows[3] += "   (lamp moved, set back)"
    return text_file("notes.txt", ["volts (V)   milliamps (mA)", *rows], s.expected())


def one_meter(b: Bench) -> CorpusFile:
    """Only the voltmeter was read."""
    s = b.sweep("small silicon", points=20)
    lines = ["Meter 1", "No\tReading", *joined("\t", numbered(20), [v + " V DC" for v in s.v])]
    return text_file("meter1.txt", lines, refused="no current in the file")


def cycles_marked(b: Bench) -> CorpusFile:
    """Two cells one after the other, each with a line of its name."""
    sweeps = [b.sweep("dye", iu="mA", points=12, stepped="current") for _ in range(2)]
    lines: list[str] = []
    for name, s in zip(["Cell red", "Cell blue"], sweeps, strict=True):
        lines += [name, "U (V)\tI (mA)", *joined("\t", s.v, s.i), ""]
    expected = [s.expected(name) for name, s in zip(["Cell red", "Cell blue"], sweeps, strict=True)]
    return text_file("both cells.txt", lines, *expected)


def semicolon_times(b: Bench) -> CorpusFile:
    """Hours, voltage and current; the clock of each meter is kept."""
    s = b.sweep("wafer", vu="mV", iu="A", points=30)
    stamps = [f"14:{5 + k // 6:02d}:{k % 6 * 10:02d}" for k in range(30)]
    lines = ["clock A;U [mV];clock B;I [A]", *joined(";", stamps, s.v, stamps, s.i)]
    return text_file("sync.csv", lines, s.expected())


def outdoor_sections(b: Bench) -> CorpusFile:
    """Sections in brackets; the readings are numbered keys."""
    s = b.sweep(["panel", "module"], iu="A", points=30)
    light, heat = b.light(), b.heat()
    lines = ["[Device]", "Type=roof module", f"Cells={s.device.cells}", "[Conditions]", f"Irradiance={light.text}"]
    lines += [f"Temperature={heat.text}", "[Curve]", "Columns=U (V);I (A)"]
    lines += [f"{k}={v};{i}" for k, (v, i) in enumerate(zip(s.v, s.i, strict=True), 1)]
    return text_file("ROOF07.INI", lines, s.expected(cells=float(s.device.cells), **stated(light, heat)), end="\r\n")


def outdoor_summary_first(b: Bench) -> CorpusFile:
    """Key figures before the table, which repeat numbers of the curve."""
    s = b.sweep("module", iu="A", points=50)
    light = b.light()
    figures = [f"Voc,{s.device.voc_v:.2f},V", f"Isc,{s.device.isc_a:.3f},A", "FF,76.1,%"]
    lines = ["Tracer report", *figures, f"Irradiance,{light.text}", "", "Point,Voltage (V),Current (A)"]
    lines += joined(",", numbered(len(s)), s.v, s.i)
    return text_file("trace_0031.csv", lines, s.expected(**stated(light)), end="\r\n")


def outdoor_french(b: Bench) -> CorpusFile:
    """French words, decimal commas, units in a line of their own."""
    s = b.sweep("panel", iu="A", points=24)
    lines = [
        "Traceur de terrain",
        "Éclairement : 873 W/m²",
        "Température cellule : 41,5 °C",
        "N°;Tension;Courant",
        ";V;A",
    ]
    lines += joined(";", numbered(24), comma(s.v), comma(s.i))
    options = {"irradiance_w_m2": 873.0, "temperature_c": 41.5}
    return text_file("terrain.csv", lines, s.expected(**options), end="\r\n", encoding="cp1252")


def outdoor_rows(b: Bench) -> CorpusFile:
    """One long row for each quantity."""
    s = b.sweep("panel", iu="A", points=20)
    lines = ["ID,M-114", "V (V)," + ",".join(s.v), "I (A)," + ",".join(s.i)]
    return text_file("rows.csv", lines, s.expected())


def outdoor_two_units(b: Bench) -> CorpusFile:
    """A reference cell's current in mA stands beside the module's current in A."""
    s = b.sweep("module", iu="A", points=28)
    reference = [f"{b.gauss(91.3, 0.1):.2f}" for _ in range(28)]
    lines = ["Reference cell current (mA)\tModule voltage (V)\tModule current (A)", *joined("\t", reference, s.v, s.i)]
    return text_file("field_ref.txt", lines, s.expected())


def outdoor_day(b: Bench) -> CorpusFile:
    """Several traces of a morning in one file, each under its time."""
    sweeps = [b.sweep("panel", iu="A", points=15) for _ in range(3)]
    lines: list[str] = []
    for k, s in enumerate(sweeps):
        lines += [f"--- trace {k + 1}, {8 + k}:30 ---", "U (V), I (A)", *joined(", ", s.v, s.i)]
    return text_file("morning.log", lines, *[s.expected() for s in sweeps])


def outdoor_no_unit(b: Bench) -> CorpusFile:
    """Headings without units."""
    s = b.sweep("panel", iu="A", points=30)
    needs = {"voltage_unit": "V", "current_unit": "A"}
    return text_file("tr.csv", ["Voltage,Current", *joined(",", s.v, s.i)], s.expected(), needs=needs)


def outdoor_charging(b: Bench) -> CorpusFile:
    """A capacitor is charged: the voltage rises unevenly in time; the load sign is used."""
    s = b.sweep("panel", iu="A", points=36, sign=-1, start=0.0)
    times = [f"{0.002 * k**1.5:.4f}" for k in range(36)]
    lines = ["% capacitor load, 4.7 mF", "% time_s voltage_V current_A", *joined(" ", times, s.v, s.i)]
    return text_file("cap.dat", lines, s.expected())


def outdoor_irradiance_log(b: Bench) -> CorpusFile:
    """A log of the irradiance over a day."""
    lines = [
        "Time,Irradiance (W/m2),Tmod (degC)",
        *[f"{8 + k // 4}:{k % 4 * 15:02d},{300 + 17 * k},{25 + k}" for k in range(30)],
    ]
    return text_file("pyranometer.csv", lines, refused="irradiance and temperature only")


def outdoor_spikes(b: Bench) -> CorpusFile:
    """The current saturates as inf and the voltage once as NaN."""
    s = b.sweep(LARGE, iu="A", points=26)
    v, i = list(s.v), list(s.i)
    i[0], v[12] = "inf", "NaN"
    rows = [k for k in range(26) if k not in (0, 12)]
    return text_file("spiky.csv", ["U/V,I/A", *joined(",", v, i)], s.expected(None, rows))


def outdoor_trailing(b: Bench) -> CorpusFile:
    """Times with a blank, trailing blanks, and a last line that repeats the end mark."""
    s = b.sweep("panel", iu="A", points=18)
    lines = [
        "T(s)   U(V)   I(A)   ",
        *[f"{t}   {v}   {i}   " for t, v, i in zip(clocked(18, 0.5), s.v, s.i, strict=True)],
    ]
    return text_file("trail.txt", [*lines, "END", "END"], s.expected())


DOS_LOGGER: list[Layout] = [
    boxed, double_exponents, paged, degree_sign, micro_sign, no_leading_zero, fields_touch, stars, quoted_words,
    data_statements, carriage_returns, channel_off,
]  # fmt: skip
TWO_METERS: list[Layout] = [
    auto_range, open_leads, letter_prefixes, unit_columns, afternoon, comma_with_units, hand_typed, one_meter,
    cycles_marked, semicolon_times,
]  # fmt: skip
OUTDOOR: list[Layout] = [
    outdoor_sections, outdoor_summary_first, outdoor_french, outdoor_rows, outdoor_two_units, outdoor_day,
    outdoor_no_unit, outdoor_charging, outdoor_irradiance_log, outdoor_spikes, outdoor_trailing,
]  # fmt: skip
