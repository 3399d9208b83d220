"""Exports of bench instruments: a source-measure unit and a two-channel recorder."""

from held_out_bench import LARGE, SMALL, Bench, Layout, clocked, joined, numbered, stated, text_file
from parts import CorpusFile


def unit_table(b: Bench) -> CorpusFile:
    """A preamble of key and value, then index, time, voltage and current with exponents, in load sign."""
    s = b.sweep(SMALL, iu="A", style="E", vd=7, idg=7, sign=-1)
    lines = [
        "Instrument,Source-measure unit",
        "Function,Sweep V",
        f"Points,{len(s)}",
        "NPLC,1",
        "Compliance (A),0.1",
        "",
    ]
    lines += ["Index,Time (s),Voltage (V),Current (A)"]
    lines += joined(",", numbered(len(s)), clocked(len(s), 0.0421, "{:.6E}"), s.v, s.i)
    return text_file("smu_export.csv", lines, s.expected(), end="\r\n")


def buffer_with_heading(b: Bench) -> CorpusFile:
    """A reading buffer; the resistance is not measured and stands as the instrument's not-a-number."""
    s = b.sweep(SMALL, iu="A", style="E", vd=7, idg=7, sign=-1)
    signed = [[t if t.startswith("-") else "+" + t for t in c] for c in (s.v, s.i)]
    n = len(s)
    times = clocked(n, 0.118, "{:+.6E}")
    lines = ["VOLT(V),CURR(A),RES(OHM),TIME(S),STAT"]
    lines += joined(",", *signed, ["+9.910000E+37"] * n, times, ["+2.150800E+04"] * n)
    return text_file("BUFFER1.CSV", lines, s.expected(), end="\r\n")


def buffer_bare(b: Bench) -> CorpusFile:
    """The same buffer without a heading: somebody has to say which column is which."""
    s = b.sweep(SMALL, iu="A", style="E", vd=7, idg=7)
    n = len(s)
    lines = joined(",", s.v, s.i, ["+9.910000E+37"] * n, clocked(n, 0.118, "{:+.6E}"), ["+2.150800E+04"] * n)
    needs = {"voltage": 0, "current": 1, "voltage_unit": "V", "current_unit": "A"}
    return text_file("dump.csv", lines, s.expected(), needs=needs)


def all_quoted(b: Bench) -> CorpusFile:
    """Everything in quotes, the preamble as well; every row ends with a delimiter."""
    s = b.sweep(["thin film", "small silicon"], iu="mA")
    area = b.area(s.device)
    rows = [("Device ID", "C-17"), ("Area", area.text), ("Sense", "4-wire"), ("V", "I"), ("(V)", "(mA)")]
    rows += list(zip(s.v, s.i, strict=True))
    return text_file("export (3).csv", [f'"{x}","{y}",' for x, y in rows], s.expected(**stated(area)))


def set_and_measured(b: Bench) -> CorpusFile:
    """The set voltage stands beside the measured one, which is the reading."""
    s = b.sweep("perovskite", iu="mA", vd=6, points=41)
    setting = [f"{float(v):.2f}" for v in s.v]
    lines = ["Source (V),Measured Voltage (V),Measured Current (mA)", *joined(",", setting, s.v, s.i)]
    return text_file("sweep_A.csv", lines, s.expected())


def compliance_flags(b: Bench) -> CorpusFile:
    """A flag column; the last rows reached the current limit, which the file says in its foot."""
    s = b.sweep("small silicon", iu="A", sign=-1, points=31, style="e", idg=6)
    lines = ["V_meas [V]\tI_meas [A]\tlimit", *joined("\t", s.v, s.i, ["F"] * len(s)), "", "# limit = F: not reached"]
    return text_file("device2_iv.txt", lines, s.expected())


def repeats(b: Bench) -> CorpusFile:
    """Two repeats below one another, told apart by a column."""
    device = b.device("organic")
    first, second = (b.sweep(device, iu="A", style="E", idg=6, points=21) for _ in range(2))
    lines = ["Repeat,Point,Voltage (V),Current (A)"]
    for k, s in enumerate([first, second]):
        lines += joined(",", [str(k + 1)] * len(s), numbered(len(s)), s.v, s.i)
    return text_file("repeat.csv", lines, first.expected(), second.expected())


def wide_characters(b: Bench) -> CorpusFile:
    """Tab-separated text in UTF-16 with a byte-order mark."""
    s = b.sweep(LARGE, iu="A", points=60)
    heat = b.heat()
    lines = ["Test: IV 4-wire", f"Temperature: {heat.text}", "", "Voltage [V]\tCurrent [A]", *joined("\t", s.v, s.i)]
    return text_file("Unicode.txt", lines, s.expected(**stated(heat)), end="\r\n", encoding="utf-16")


def range_overflow(b: Bench) -> CorpusFile:
    """Two spikes where the meter left its range."""
    s = b.sweep("thin film", iu="A", style="E", idg=7, points=41)
    i = list(s.i)
    lost = [k for k in range(len(s)) if k in (13, 29)]
    for k in lost:
        i[k] = "9.900000E+37"
    lines = ["Voltage (V),Current (A)", *joined(",", s.v, i)]
    return text_file("sweep_range.csv", lines, s.expected(None, [k for k in range(len(s)) if k not in lost]))


def aborted(b: Bench) -> CorpusFile:
    """Only the preamble was written."""
    lines = ["Function,Sweep V", "Start (V),-0.1", "Stop (V),1.2", "Points,41", "Index,Voltage (V),Current (A)"]
    return text_file("abort.csv", [*lines, "Sweep aborted: interlock open"], refused="no reading was taken")


def two_channels(b: Bench) -> CorpusFile:
    """Both channels of the unit measured a cell each."""
    one, two = (b.sweep("perovskite", iu="A", style="E", idg=6, points=31) for _ in range(2))
    head = ",".join(f"Channel {c} {q}" for c in "AB" for q in ("Voltage (V)", "Current (A)"))
    lines = [head, *joined(",", one.v, one.i, two.v, two.i)]
    return text_file("dual.csv", lines, one.expected("Channel A"), two.expected("Channel B"))


def current_first(b: Bench) -> CorpusFile:
    """The current stands first and the power between both."""
    s = b.sweep(LARGE, iu="A", stepped="current", points=25)
    lines = ["Current (A),Power (W),Voltage (V)", *joined(",", s.i, s.power(), s.v)]
    return text_file("load_unit.csv", lines, s.expected())


def nanoamperes(b: Bench) -> CorpusFile:
    """A calculator cell in room light on a sensitive range; cells in series are stated."""
    s = b.sweep("calculator", iu="nA", vu="mV", vd=5, idg=6, sign=-1)
    lines = ["SMU low current", f"Cells in series: {s.device.cells}", "U (mV);I (nA)", *joined(";", s.v, s.i)]
    return text_file("lowcur.csv", lines, s.expected(cells=float(s.device.cells)))


def recorder_units_row(b: Bench) -> CorpusFile:
    """Channels by number; a second heading row gives the units, which tell which channel is which."""
    s = b.sweep(LARGE, iu="A", points=50)
    n = len(s)
    lines = ["Start;" + b.date() + ";" + b.clock(), "CH1;cell voltage", "CH2;cell current", "", "Time;CH1;CH2", "s;V;A"]
    return text_file("rec0001.csv", lines + joined(";", clocked(n, 0.1), s.v, s.i), s.expected())


def recorder_bare_channels(b: Bench) -> CorpusFile:
    """Analogue inputs without a meaning."""
    s = b.sweep("minimodule", iu="A", points=30)
    needs = {"voltage": "ai0", "current": "ai1", "voltage_unit": "V", "current_unit": "A"}
    lines = ["t,ai0,ai1", *joined(",", clocked(len(s), 0.5), s.v, s.i)]
    return text_file("daq.csv", lines, s.expected(), needs=needs)


def recorder_scan_list(b: Bench) -> CorpusFile:
    """A scanner with channel numbers, names and units in one heading, stamps with milliseconds after a colon."""
    s = b.sweep("panel", iu="A", points=20)
    stamps = [f"03/11/2019 10:42:{k + 5:02d}:{k * 37 % 1000:03d}" for k in range(len(s))]
    lines = ["Scan,Time,101 <panel voltage> (VDC),102 <panel current> (ADC)"]
    lines += joined(",", numbered(len(s)), stamps, s.v, s.i)
    return text_file("scan.csv", lines, s.expected(), end="\r\n")


def recorder_lamp_monitor(b: Bench) -> CorpusFile:
    """A third voltage, in another unit, watches the lamp and is no device voltage."""
    s = b.sweep("thin film", iu="mA", points=31)
    lamp = [f"{b.gauss(61.2, 0.05):.2f}" for _ in range(len(s))]
    lines = ["Lamp monitor (mV)\tCell voltage (V)\tCell current (mA)", *joined("\t", lamp, s.v, s.i)]
    return text_file("lamp_ch3.tsv", lines, s.expected())


def recorder_shunt(b: Bench) -> CorpusFile:
    """The current was recorded as a voltage across a shunt whose resistance nobody noted."""
    s = b.sweep("panel", iu="A", points=30)
    drop = [f"{float(i) * 5.03:.3f}" for i in s.i]
    lines = ["Time (s),Panel (V),Shunt (mV)", *joined(",", clocked(len(s), 0.2), s.v, drop)]
    return text_file("shunt.csv", lines, refused="the current is a voltage across an unknown shunt")


def recorder_swapped(b: Bench) -> CorpusFile:
    """The voltage leads and the current leads were both exchanged."""
    s = b.sweep("wafer", iu="A", points=44, leads=-1)
    lines = ["sample,u_V,i_A", *joined(",", numbered(len(s), 0), s.v, s.i)]
    return text_file("scope_export.csv", lines, s.expected())


def recorder_gap(b: Bench) -> CorpusFile:
    """An empty row, and a note, in the middle."""
    s = b.sweep("minimodule", iu="mA", points=26)
    rows = joined("\t", clocked(len(s), 1.0, "{:.1f}"), s.v, s.i)
    lines = ["t/s\tU/V\tI/mA", *rows[:9], "", "# cloud?", *rows[9:]]
    return text_file("recorder.txt", lines, s.expected())


def recorder_two_pairs(b: Bench) -> CorpusFile:
    """Four channels: two modules with a voltage and a current each."""
    one, two = (b.sweep("panel", iu="A", points=24) for _ in range(2))
    head = "Time [s],U_west [V],I_west [A],U_east [V],I_east [A]"
    lines = [head, *joined(",", clocked(24, 0.25), one.v, one.i, two.v, two.i)]
    return text_file("roof.csv", lines, one.expected("west"), two.expected("east"))


def recorder_only_voltage(b: Bench) -> CorpusFile:
    """The current channel was off."""
    s = b.sweep("panel", points=24)
    lines = ["Time [s],U [V],I [A]", *joined(",", clocked(24, 0.25), s.v, ["OFF"] * 24)]
    return text_file("roof_bad.csv", lines, refused="the current channel was off")


def recorder_cut(b: Bench) -> CorpusFile:
    """The disk was full: the last row lost its current."""
    s = b.sweep("wafer", iu="A", points=22)
    rows = joined(",", clocked(22, 0.05), s.v, s.i)
    lines = ["t (s),V (V),I (A)", *rows, f"1.10,{s.v[-1]},"]
    return text_file("full.csv", lines, s.expected(), ended=False, incomplete=True)


def recorder_kilovolts(b: Bench) -> CorpusFile:
    """A string of twenty modules in kilovolts."""
    s = b.sweep("module", iu="A", points=35)
    string = [f"{float(v) * 20 / 1000:.4f}" for v in s.v]
    long = type(s)(string, s.i, "kV", "A", s.device)
    lines = ["String voltage (kV)\tString current (A)", *joined("\t", long.v, long.i)]
    return text_file("string_4.txt", lines, long.expected())


SOURCE_METER: list[Layout] = [
    unit_table, buffer_with_heading, buffer_bare, all_quoted, set_and_measured, compliance_flags, repeats,
    wide_characters, range_overflow, aborted, two_channels, current_first, nanoamperes,
]  # fmt: skip
RECORDER: list[Layout] = [
    recorder_units_row, recorder_bare_channels, recorder_scan_list, recorder_lamp_monitor, recorder_shunt,
    recorder_swapped, recorder_gap, recorder_two_pairs, recorder_only_voltage, recorder_cut, recorder_kilovolts,
]  # fmt: skip
