"""Serial log of a microcontroller that steps the current from zero, as a terminal program keeps it."""

from held_out_bench import SMALL, Bench, Layout, clocked, joined, numbered, padded, stated, text_file
from parts import CorpusFile


def plain_integers(b: Bench) -> CorpusFile:
    """Millivolts and microamperes as whole numbers under a banner that holds numbers as well."""
    s = b.sweep("dye", stepped="current", vu="mV", iu="uA", vd=3, idg=4, points=25)
    lines = ["IV tracer fw 0.3", f"Iset 0..{s.i[-1]} uA, {len(s)} steps", "ready.", "n,t_ms,U_mV,I_uA"]
    lines += joined(",", numbered(len(s), 0), clocked(len(s), 50, "{:.0f}"), s.v, s.i)
    return text_file("tracer.log", [*lines, "done."], s.expected(), end="\r\n")


def named_values(b: Bench) -> CorpusFile:
    """Every line names its quantities and carries its units."""
    s = b.sweep(["organic", "perovskite"], stepped="current", iu="mA")
    lines = [f"V={v}V I={i}mA" for v, i in zip(s.v, s.i, strict=True)]
    return text_file("putlog.txt", ["# sweep start", *lines, "# sweep end"], s.expected())


def monitor_stamps(b: Bench) -> CorpusFile:
    """The terminal puts a time and an arrow before each line."""
    s = b.sweep("dye", stepped="current", iu="mA", points=21)
    lines = ["V (V)\tI (mA)", *joined("\t", s.v, s.i), "OK"]
    stamps = [f"12:31:{2 + k // 10:02d}.{k % 10 * 100 + 7:03d} -> {line}" for k, line in enumerate(lines)]
    return text_file("monitor.txt", stamps, s.expected())


def watchdog_reset(b: Bench) -> CorpusFile:
    """The controller restarts in the middle and sweeps again from the start."""
    device = b.device("perovskite")
    first = b.sweep(device, stepped="current", points=25, vu="mV", vd=5, iu="mA").part(0, 11)
    second = b.sweep(device, stepped="current", points=25, vu="mV", vd=5, iu="mA")
    lines = ["boot", "U[mV];I[mA]", *joined(";", first.v, first.i)]
    lines += ["", "WDT reset", "boot", "U[mV];I[mA]", *joined(";", second.v, second.i), "end"]
    return text_file("capture.txt", lines, first.expected(), second.expected())


def cable_pulled(b: Bench) -> CorpusFile:
    """The last line is cut inside its voltage."""
    s = b.sweep("dye", stepped="current", vu="mV", iu="uA", vd=5, idg=6, points=18)
    lines = ["step\tU/mV\tI/uA", *joined("\t", numbered(len(s)), s.v, s.i), f"{len(s) + 1}\t{s.v[-1][:3]}"]
    return text_file("COM3.log", lines, s.expected(), end="\r\n", ended=False, incomplete=True)


def bare_integers(b: Bench) -> CorpusFile:
    """Two columns of whole numbers without a word: quantities and units have to be asked for."""
    s = b.sweep("dye", stepped="current", vu="mV", iu="uA", vd=3, idg=4, points=25)
    needs = {"voltage": 0, "current": 1, "voltage_unit": "mV", "current_unit": "uA"}
    return text_file("data.txt", joined(" ", s.v, s.i), s.expected(), needs=needs)


def raw_counts(b: Bench) -> CorpusFile:
    """Converter counts without their scale."""
    s = b.sweep("dye", stepped="current", points=25)
    counts = [(round(4000 * float(v)), round(300 * float(i))) for v, i in zip(s.v, s.i, strict=True)]
    lines = ["adc0,adc1", *[f"{x},{y}" for x, y in counts]]
    return text_file("raw.csv", lines, refused="converter counts; neither volts nor amperes are stated")


def colon_fields(b: Bench) -> CorpusFile:
    """Fields with a colon; the banner names the units once; the power is printed, too."""
    s = b.sweep("thin film", stepped="current", iu="mA")
    fields = zip(s.v, s.i, s.power(2), strict=True)
    lines = ["fields: V (V), I (mA), P (mW)", *[f"V:{v} I:{i} P:{p}" for v, i, p in fields]]
    return text_file("uart.log", lines, s.expected())


def units_attached(b: Bench) -> CorpusFile:
    """Every number carries its unit."""
    s = b.sweep("organic", stepped="current", vu="mV", iu="uA", points=31)
    return text_file("log_07.txt", [f"{v}mV;{i}uA" for v, i in zip(s.v, s.i, strict=True)], s.expected(), end="\r\n")


def over_range(b: Bench) -> CorpusFile:
    """The amplifier saturates at the first steps; the firmware writes OVF instead of a voltage."""
    s = b.sweep("perovskite", stepped="current", vu="mV", iu="uA", points=25, vd=5)
    v = ["OVF", "OVF", *s.v[2:]]
    lines = ["# U_mV I_uA", *joined(" ", v, s.i), "# stop: U<0"]
    return text_file("run12.dat", lines, s.expected(None, range(2, len(s))))


def object_lines(b: Bench) -> CorpusFile:
    """One object a line."""
    s = b.sweep("indoor dye", stepped="current", vu="mV", iu="uA", points=20)
    pairs = zip(s.v, s.i, strict=True)
    lines = [f'{{"k":{k},"v_mV":{v},"i_uA":{i}}}' for k, (v, i) in enumerate(pairs)]
    return text_file("stream.jsonl", lines, s.expected())


def start_up_noise(b: Bench) -> CorpusFile:
    """A few bytes of line noise stand before the first line."""
    s = b.sweep("dye", stepped="current", vu="mV", iu="uA", points=25)
    made = text_file("terminal.log", ["U [mV],I [uA]", *joined(",", s.v, s.i)], s.expected(), end="\r\n")
    return CorpusFile(made.name, b"\xf8\x80\xfe~\r\n" + made.data, "", made.sweeps)


def tagged_block(b: Bench) -> CorpusFile:
    """Set and read columns, an averaging count, and tags around the block."""
    s = b.sweep(["small silicon", "thin film"], stepped="current", iu="mA", points=30)
    area, light = b.area(s.device), b.light()
    lines = [f"area: {area.text}", f"light: {light.text}", "<begin>", "k, avg, V/V, I/mA"]
    lines += joined(", ", numbered(len(s)), ["16"] * len(s), s.v, s.i)
    lines.append("<end>")
    return text_file("bench.txt", lines, s.expected(**stated(area, light)))


def load_sign_padded(b: Bench) -> CorpusFile:
    """Blank-aligned table with the current counted as load current."""
    s = b.sweep(SMALL, vu="V", sign=-1, points=40)
    lines = ["   #    U(V)      I(" + s.iu + ")", *padded(10, numbered(len(s)), s.v, s.i)]
    return text_file("print.txt", lines, s.expected())


LAYOUTS: list[Layout] = [
    plain_integers, named_values, monitor_stamps, watchdog_reset, cable_pulled, bare_integers, raw_counts,
    colon_fields, units_attached, over_range, object_lines, start_up_noise, tagged_block, load_sign_padded,
]  # fmt: skip
