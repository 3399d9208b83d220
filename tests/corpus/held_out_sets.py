"""Files of several sweeps: six pixels, forward and reverse, dark and light, flashed modules, archives."""

from decimal import Decimal

from held_out_bench import SMALL, Bench, Device, Layout, Sweep, clocked, comma, joined, numbered, stated, text_file
from parts import CorpusFile


def pixels(b: Bench, count: int = 6, points: int = 16, iu: str = "mA", kind: str = "perovskite") -> list[Sweep]:
    """Pixels of one substrate on common voltages, each a little different."""
    first = b.device(kind)
    made = []
    for _ in range(count):
        g = first.g_s * b.uniform(0.8, 2.0)
        own = Device(first.isc_a * b.uniform(0.9, 1.1), first.voc_v, first.a_v, first.rs_ohm, g, first.area, 1)
        made.append(b.sweep(own, points=points, iu=iu))
    return made


def pixels_wide(b: Bench) -> CorpusFile:
    """A common voltage and one current column a pixel."""
    sweeps = pixels(b, points=80)
    head = "Voltage (V)," + ",".join(f"Pixel {k} (mA)" for k in range(1, 7))
    lines = [head, *joined(",", sweeps[0].v, *[s.i for s in sweeps])]
    return text_file("substrate12.csv", lines, *[s.expected(f"Pixel {k}") for k, s in enumerate(sweeps, 1)])


def pixels_blocks(b: Bench) -> CorpusFile:
    """Blocks with the pixel's letter above; the area counts for all."""
    sweeps = pixels(b, points=12)
    lines = ["Substrate;S-04", f"Area per pixel (cm2);{sweeps[0].device.area}"]
    for name, s in zip("ABCDEF", sweeps, strict=True):
        lines += ["", f"Pixel {name}", "U (V);I (mA)", *joined(";", s.v, s.i)]
    area = float(Decimal(sweeps[0].device.area))
    expected = [s.expected(f"Pixel {n}", area_cm2=area) for n, s in zip("ABCDEF", sweeps, strict=True)]
    return text_file("S-04.txt", lines, *expected)


def pixels_pairs(b: Bench) -> CorpusFile:
    """A voltage and a current column a pixel, tabs between."""
    sweeps = pixels(b, points=14, kind="organic")
    head = "\t".join(f"V_px{k} [V]\tI_px{k} [mA]" for k in range(1, 7))
    lines = [head, *joined("\t", *[c for s in sweeps for c in (s.v, s.i)])]
    return text_file("OPV_run3.tsv", lines, *[s.expected(f"px{k}") for k, s in enumerate(sweeps, 1)])


def pixels_column(b: Bench) -> CorpusFile:
    """Multiplexed: at each voltage all pixels in turn, so the sweeps are interleaved."""
    sweeps = pixels(b, points=12)
    lines = ["step,pixel,V (V),I (mA)"]
    for k in range(12):
        lines += [f"{k},{p},{s.v[k]},{s.i[k]}" for p, s in enumerate(sweeps, 1)]
    return text_file("mux.csv", lines, *[s.expected() for s in sweeps])


def pixels_shorted(b: Bench) -> CorpusFile:
    """One pixel is a short circuit through the origin; the sign is that of its neighbours."""
    sweeps = pixels(b, count=4, points=15)
    ohmic = [f"{-40 * float(v):.3f}" for v in sweeps[0].v]
    shorted = Sweep(sweeps[0].v, ohmic, "V", "mA", sweeps[0].device)
    every = [*sweeps[:2], shorted, *sweeps[2:]]
    lines = ["U/V;" + ";".join(f"I{k}/mA" for k in range(1, 6)), *joined(";", every[0].v, *[s.i for s in every])]
    return text_file("sub_short.csv", lines, *[s.expected(f"I{k}") for k, s in enumerate(every, 1)])


def pixels_missing(b: Bench) -> CorpusFile:
    """Two pixels were not contacted: their columns are empty."""
    sweeps = pixels(b, count=4, points=16)
    empty = [""] * 16
    columns = [sweeps[0].i, sweeps[1].i, empty, sweeps[2].i, empty, sweeps[3].i]
    lines = ["V (V)," + ",".join(f"P{k} (mA)" for k in range(1, 7)), *joined(",", sweeps[0].v, *columns)]
    expected = [s.expected(f"P{k}") for k, s in zip((1, 2, 4, 6), sweeps, strict=True)]
    return text_file("contacts.csv", lines, *expected)


def pixels_german(b: Bench) -> CorpusFile:
    """Decimal commas; names in one row, units in the next."""
    sweeps = pixels(b, points=18, kind="thin film")
    lines = ["Spannung;" + ";".join(f"Zelle {k}" for k in range(1, 7)), "V" + ";mA" * 6]
    lines += joined(";", comma(sweeps[0].v), *[comma(s.i) for s in sweeps])
    expected = [s.expected(f"Zelle {k}") for k, s in enumerate(sweeps, 1)]
    return text_file("Substrat 7.csv", lines, *expected, end="\r\n", encoding="cp1252")


def pixels_density(b: Bench) -> CorpusFile:
    """Current densities with the pixel area in the head."""
    first = b.device("perovskite")
    sweeps = [b.sweep(first, points=14, iu="mA", area=first.area) for _ in range(6)]
    head = "Voltage (V)\t" + "\t".join(f"J{k} (mA/cm2)" for k in range(1, 7))
    lines = [f"Pixel area: {first.area} cm2", head, *joined("\t", sweeps[0].v, *[s.i for s in sweeps])]
    area = float(Decimal(first.area))
    return text_file("JV6.txt", lines, *[s.expected(f"J{k}", area_cm2=area) for k, s in enumerate(sweeps, 1)])


def pixels_times(b: Bench) -> CorpusFile:
    """Stability tracking of six pixels at their maximum power."""
    rows = [f"{10 * k}," + ",".join(f"{b.uniform(1.9, 2.1):.3f}" for _ in range(6)) for k in range(25)]
    lines = ["Time (s)," + ",".join(f"P{k} (mW)" for k in range(1, 7)), *rows]
    return text_file("mppt.csv", lines, refused="power over time, no curve")


def pixels_uneven(b: Bench) -> CorpusFile:
    """Current-stepped pixels, a block each, different lengths, the last one cut."""
    sweeps = [b.sweep("dye", iu="uA", vu="mV", vd=5, stepped="current", points=n) for n in (12, 9, 11)]
    lines: list[str] = []
    for k, s in enumerate(sweeps, 1):
        lines += [f"# pixel {k}", "# I/uA U/mV", *joined(" ", s.i, s.v)]
    lines.append("1")
    expected = [s.expected(f"pixel {k}") for k, s in enumerate(sweeps, 1)]
    return text_file("mux_log.txt", lines, *expected, ended=False, incomplete=True)


def both_ways(
    b: Bench, kind: str = "perovskite", points: int = 20, iu: str = "mA", sign: int = 1
) -> tuple[Sweep, Sweep]:
    """A forward and a reverse sweep of one device; the reverse one gives a little more."""
    device = b.device(kind)
    better = Device(
        device.isc_a * 1.01, device.voc_v * 1.01, device.a_v, device.rs_ohm * 0.8, device.g_s, device.area, 1
    )
    forward = b.sweep(device, points=points, iu=iu, sign=sign)
    return forward, b.sweep(better, points=points, iu=iu, sign=sign, backwards=True)


def ways_blocks(b: Bench) -> CorpusFile:
    """Two blocks; the hold time between them is a comment."""
    up, down = both_ways(b)
    lines = ["# forward", "V (V),I (mA)", *joined(",", up.v, up.i), "# hold 5.0 s at 1.2 V", "# reverse"]
    return text_file(
        "hyst1.csv",
        [*lines, "V (V),I (mA)", *joined(",", down.v, down.i)],
        up.expected("forward"),
        down.expected("reverse"),
    )


def ways_side(b: Bench) -> CorpusFile:
    """Side by side."""
    up, down = both_ways(b, points=24)
    lines = ["V_fwd (V)\tI_fwd (mA)\tV_rev (V)\tI_rev (mA)", *joined("\t", up.v, up.i, down.v, down.i)]
    return text_file("hyst2.txt", lines, up.expected("fwd"), down.expected("rev"))


def ways_column(b: Bench) -> CorpusFile:
    """The direction stands in a column; load sign."""
    up, down = both_ways(b, sign=-1)
    lines = ["scan,V (V),I (mA)", *joined(",", ["up"] * 20, up.v, up.i), *joined(",", ["down"] * 20, down.v, down.i)]
    return text_file("scan_dir.csv", lines, up.expected("up"), down.expected("down"))


def ways_same_voltages(b: Bench) -> CorpusFile:
    """One voltage column; the currents of both directions beside it."""
    up, down = both_ways(b)
    again = down.i[::-1]
    other = Sweep(up.v, again, "V", "mA", down.device)
    lines = ["Voltage (V);Current forward (mA);Current reverse (mA)", *joined(";", up.v, up.i, again)]
    return text_file("fr.csv", lines, up.expected("forward"), other.expected("reverse"))


def ways_german(b: Bench) -> CorpusFile:
    """German words, decimal commas, hold times in the head."""
    up, down = both_ways(b, "organic")
    lines = ["Haltezeit vorher: 2,0 s", "Haltezeit zwischen: 10,0 s", "", "Vorwärts"]
    lines += ["Spannung [V];Strom [mA]", *joined(";", comma(up.v), comma(up.i)), "", "Rückwärts"]
    lines += ["Spannung [V];Strom [mA]", *joined(";", comma(down.v), comma(down.i))]
    expected = up.expected("Vorwärts"), down.expected("Rückwärts")
    return text_file("Hysterese.csv", lines, *expected, end="\r\n", encoding="cp1252")


def ways_unmarked(b: Bench) -> CorpusFile:
    """Up and down in one table; only the turn of the voltage parts them."""
    up, down = both_ways(b, points=21)
    lines = ["V (V)\tI (mA)", *joined("\t", up.v, up.i), *joined("\t", down.v, down.i)]
    return text_file("loop.txt", lines, up.expected(), down.expected())


def ways_reverse_first(b: Bench) -> CorpusFile:
    """Reverse first; the facts stand between the blocks as well."""
    up, down = both_ways(b)
    area, light = b.area(up.device), b.light()
    facts = [f"Area: {area.text}", f"Light: {light.text}"]
    lines = [*facts, "Scan: reverse", "U [V], I [mA]", *joined(", ", down.v, down.i), ""]
    lines += [*facts, "Scan: forward", "U [V], I [mA]", *joined(", ", up.v, up.i)]
    options = stated(area, light)
    return text_file("two_scans.txt", lines, down.expected("reverse", **options), up.expected("forward", **options))


def ways_three_speeds(b: Bench) -> CorpusFile:
    """The scan rate in a column, three rates."""
    device = b.device("perovskite")
    rates = ["10", "100", "1000"]
    sweeps = [b.sweep(device, points=15, iu="mA", backwards=True) for _ in rates]
    lines = ["rate (mV/s),V (V),I (mA)"]
    for rate, s in zip(rates, sweeps, strict=True):
        lines += joined(",", [rate] * 15, s.v, s.i)
    return text_file("rates.csv", lines, *[s.expected() for s in sweeps])


def ways_cut(b: Bench) -> CorpusFile:
    """The reverse sweep was stopped and its last line is cut."""
    up, down = both_ways(b, points=18)
    kept = down.part(0, 10)
    lines = ["# forward", "V/V I/mA", *joined(" ", up.v, up.i), "# reverse", "V/V I/mA", *joined(" ", kept.v, kept.i)]
    lines.append(down.v[10][:4])
    return text_file(
        "stopped.txt", lines, up.expected("forward"), kept.expected("reverse"), ended=False, incomplete=True
    )


def ways_hold_current(b: Bench) -> CorpusFile:
    """A hold at fixed voltage is recorded over time only."""
    rows = [f"{0.5 * k:.1f},{2.1 + 0.01 * k:.3f}" for k in range(30)]
    return text_file(
        "hold.csv", ["# hold at 0.85 V", "t (s),I (mA)", *rows], refused="a current over time at one voltage"
    )


def dark_and_light(
    b: Bench, kind: str | list[str] = "thin film", sign: int = 1, points: int = 18
) -> tuple[Sweep, Sweep]:
    """A dark and a light curve of one device on the same voltages."""
    device = b.device(kind)
    iu = "mA" if device.isc_a < 0.5 else "A"
    dark = b.sweep(device, points=points, light=0.0, iu=iu, sign=sign, start=-0.2, stop=1.02)
    return dark, b.sweep(device, points=points, iu=iu, sign=sign, start=-0.2, stop=1.02)


def dark_columns(b: Bench) -> CorpusFile:
    """Dark and light current beside one voltage."""
    dark, light = dark_and_light(b)
    lines = ["V (V),I_dark (mA),I_light (mA)", *joined(",", dark.v, dark.i, light.i)]
    return text_file("dl.csv", lines, dark.expected("dark"), light.expected("light"))


def dark_blocks(b: Bench) -> CorpusFile:
    """Dark first, then light, each under a line."""
    dark, light = dark_and_light(b, sign=-1)
    lines = [
        "DARK",
        "V [V]\tI [mA]",
        *joined("\t", dark.v, dark.i),
        "",
        "LIGHT",
        "V [V]\tI [mA]",
        *joined("\t", light.v, light.i),
    ]
    return text_file("cell8.txt", lines, dark.expected("DARK"), light.expected("LIGHT"))


def dark_column(b: Bench) -> CorpusFile:
    """The lamp's state in a column."""
    dark, light = dark_and_light(b, "small silicon")
    lines = [
        "lamp;U (V);I (mA)",
        *joined(";", ["on"] * 18, light.v, light.i),
        *joined(";", ["off"] * 18, dark.v, dark.i),
    ]
    return text_file("lamp.csv", lines, light.expected("on"), dark.expected("off"))


def dark_french(b: Bench) -> CorpusFile:
    """French headings with decimal commas."""
    dark, light = dark_and_light(b, "small silicon")
    lines = ["Tension (V);Obscurité (mA);Éclairement (mA)", *joined(";", comma(dark.v), comma(dark.i), comma(light.i))]
    return text_file(
        "obscur.csv", lines, dark.expected("Obscurité"), light.expected("Éclairement"), end="\r\n", encoding="cp1252"
    )


def dark_alone(b: Bench) -> CorpusFile:
    """A dark curve in load sign by itself: it shows no sign of its own."""
    dark, _ = dark_and_light(b, "small silicon", sign=-1)
    needs = {"sign": "load", "leads": "as_given"}
    return text_file(
        "dark_only.txt", ["# dark", "V (V) I (mA)", *joined(" ", dark.v, dark.i)], dark.expected(), needs=needs
    )


def dark_json(b: Bench) -> CorpusFile:
    """Both curves as objects."""
    dark, light = dark_and_light(b, "wafer", points=14)
    parts = [
        f'"{n}": {{"V_V": [{", ".join(s.v)}], "I_A": [{", ".join(s.i)}]}}'
        for n, s in (("dark", dark), ("light", light))
    ]
    return text_file("pair.json", ["{" + ", ".join(parts) + "}"], dark.expected("dark"), light.expected("light"))


def dark_logarithm(b: Bench) -> CorpusFile:
    """Logarithms of magnitudes."""
    dark, _ = dark_and_light(b)
    lines = ["V (V)\tlog10(|J|)", *[f"{v}\t{-6 + 0.3 * k:.3f}" for k, v in enumerate(dark.v)]]
    return text_file("logj.txt", lines, refused="logarithms of magnitudes")


def dark_own_voltages(b: Bench) -> CorpusFile:
    """Two pairs of columns; the dark sweep has fewer readings."""
    dark, light = dark_and_light(b)
    short = dark.part(2, 18)
    v, i = [*short.v, "", ""], [*short.i, "", ""]
    lines = ["light,,dark,", "V (V),I (mA),V (V),I (mA)", *joined(",", light.v, light.i, v, i)]
    return text_file("both.csv", lines, light.expected("light"), short.expected("dark"))


def dark_facts(b: Bench) -> CorpusFile:
    """The light block states its irradiance, both state the area."""
    dark, light = dark_and_light(b)
    area, sun = b.area(dark.device), b.light()
    lines = ["Mode: dark", f"Area: {area.text}", "V/V,I/mA", *joined(",", dark.v, dark.i), ""]
    lines += [
        "Mode: light",
        f"Area: {area.text}",
        f"Irradiance: {sun.text}",
        "V/V,I/mA",
        *joined(",", light.v, light.i),
    ]
    expected = dark.expected("dark", **stated(area)), light.expected("light", **stated(area, sun))
    return text_file("modes.txt", lines, *expected)


def dark_three_levels(b: Bench) -> CorpusFile:
    """Dark and two irradiances in columns; the headings state them."""
    device = b.device("small silicon")
    sweeps = [b.sweep(device, points=15, iu="mA", light=x) for x in (0.0, 0.5, 1.0)]
    lines = ["U (V);dark (mA);500 W/m² (mA);1000 W/m² (mA)", *joined(";", sweeps[0].v, *[s.i for s in sweeps])]
    half, full = {"irradiance_w_m2": 500.0}, {"irradiance_w_m2": 1000.0}
    expected = sweeps[0].expected("dark"), sweeps[1].expected(None, **half), sweeps[2].expected(None, **full)
    return text_file("levels.csv", lines, *expected)


def flash_report(b: Bench) -> CorpusFile:
    """Report with key figures, then three columns, the monitor cell in between."""
    s = b.sweep("module", iu="A", points=60)
    monitor = [f"{b.gauss(101.4, 0.05):.2f}" for _ in range(60)]
    lines = [
        "Serial No.: INV-000417",
        f"Date: {b.date()}",
        "Cells: 72",
        "Irradiance: 1000.0 W/m2",
        "Module temperature: 24.9 °C",
    ]
    lines += [
        f"Isc: {s.device.isc_a:.3f} A",
        f"Voc: {s.device.voc_v:.2f} V",
        "",
        "Voltage [V];Monitor [mA];Current [A]",
    ]
    options = {"cells": 72.0, "irradiance_w_m2": 1000.0, "temperature_c": 24.9}
    return text_file("INV-000417.txt", lines + joined(";", s.v, monitor, s.i), s.expected(**options), end="\r\n")


def flash_two_lines(b: Bench) -> CorpusFile:
    """Voltages in one line, currents in the next, closed by a semicolon."""
    s = b.sweep("module", iu="A", points=50)
    lines = ["ID;INV-22", "Cells;72", "U[V];" + ";".join(s.v) + ";", "I[A];" + ";".join(s.i) + ";"]
    return text_file("INV-22.dat", lines, s.expected(cells=72.0))


def flash_corrected(b: Bench) -> CorpusFile:
    """The curve as measured and as corrected to other conditions, each with its own."""
    raw, corrected = b.sweep("panel", iu="A", points=25), b.sweep("panel", iu="A", points=25)
    lines: list[str] = []
    for name, g, t, s in (("measured", "941", "31.2", raw), ("corrected", "1000", "25.0", corrected)):
        lines += [
            f"[{name}]",
            f"Irradiance = {g} W/m²",
            f"Temperature = {t} °C",
            "V (V)\tI (A)",
            *joined("\t", s.v, s.i),
            "",
        ]
    first = raw.expected("measured", irradiance_w_m2=941.0, temperature_c=31.2)
    return text_file(
        "corr.txt", lines, first, corrected.expected("corrected", irradiance_w_m2=1000.0, temperature_c=25.0)
    )


def flash_spanish(b: Bench) -> CorpusFile:
    """Spanish report with decimal commas."""
    s = b.sweep("module", iu="A", points=40)
    lines = [
        "Nº de serie;INV-77",
        "Células en serie;72",
        "Irradiancia;1000 W/m²",
        "Temperatura;25,0 °C",
        "",
        "Tensión (V);Intensidad (A)",
    ]
    options = {"cells": 72.0, "irradiance_w_m2": 1000.0, "temperature_c": 25.0}
    lines += joined(";", comma(s.v), comma(s.i))
    return text_file("INV-77.csv", lines, s.expected(**options), end="\r\n", encoding="cp1252")


def flash_results(b: Bench) -> CorpusFile:
    """The day's results, one line a module."""
    rows = [f"INV-{k:03d},{46 + b.random():.2f},{9 + b.random():.3f},{320 + 10 * b.random():.1f}" for k in range(20)]
    return text_file("day.csv", ["Serial,Voc (V),Isc (A),Pmax (W)", *rows], refused="results of many modules, no curve")


def flash_three_parts(b: Bench) -> CorpusFile:
    """Three flashes each cover a part of the voltages; the parts follow one another and are one curve."""
    s = b.sweep("module", iu="A", points=45)
    lines = ["V (V),I (A),flash", *joined(",", s.v, s.i, [str(1 + k // 15) for k in range(45)])]
    return text_file("sections.csv", lines, s.expected())


def flash_long_times(b: Bench) -> CorpusFile:
    """Milliseconds, irradiance of every reading, and the two quantities; exponents."""
    s = b.sweep("module", iu="A", points=40, style="E", vd=6, idg=6)
    g = [f"{b.gauss(1000, 0.8):.1f}" for _ in range(40)]
    lines = ["t (ms)\tG (W/m2)\tU (V)\tI (A)", *joined("\t", clocked(40, 0.25), g, s.v, s.i)]
    return text_file("pulse.txt", lines, s.expected())


def flash_backwards(b: Bench) -> CorpusFile:
    """From open circuit to short circuit, with the temperature in kelvin."""
    s = b.sweep("module", iu="A", points=30, backwards=True, start=0.0)
    lines = ["# T_module = 298.65 K", "# U_V I_A", *joined(" ", s.v, s.i)]
    return text_file("sweep_down.dat", lines, s.expected(temperature_c=25.5))


def flash_lost_trigger(b: Bench) -> CorpusFile:
    """The flash was missed: no light, all currents zero."""
    lines = ["Serial No.: INV-9", "ERROR 14: no trigger", "Voltage [V];Current [A]"]
    return text_file("INV-9.txt", lines, refused="no reading: the flash was missed", end="\r\n")


def flash_quoted(b: Bench) -> CorpusFile:
    """Quoted texts, thousands in the area, bare numbers in the curve."""
    s = b.sweep("module", iu="A", points=36)
    area = s.device.area
    lines = ['"Module area","' + f"{int(area):,}" + ' cm²"', '"V (V)","I (A)"', *joined(",", s.v, s.i)]
    return text_file("flash_q.csv", lines, s.expected(area_cm2=float(area)))


def archive_marks(b: Bench) -> CorpusFile:
    """Several files were printed one after the other with their names."""
    names = ["c1.csv", "c2.csv", "c3.csv"]
    sweeps = [b.sweep(SMALL, iu="mA", points=11) for _ in names]
    lines: list[str] = []
    for name, s in zip(names, sweeps, strict=True):
        lines += [f"==> {name} <==", "V (V),I (mA)", *joined(",", s.v, s.i), ""]
    return text_file("all.txt", lines, *[s.expected() for s in sweeps])


def archive_facts(b: Bench) -> CorpusFile:
    """Each cell has its own area; later facts are not those of earlier cells."""
    lines, expected = [], []
    for k, area in enumerate(["0.16", "0.20", "0.25"], 1):
        s = b.sweep("dye", iu="mA", points=13)
        lines += [f"Cell: N{k}", f"Area (cm2): {area}", "U (V)\tI (mA)", *joined("\t", s.v, s.i), ""]
        expected.append(s.expected(f"N{k}", area_cm2=float(area)))
    return text_file("series_N.txt", lines, *expected)


def archive_units_differ(b: Bench) -> CorpusFile:
    """Two programs' outputs in one file: units and delimiters differ."""
    one, two = b.sweep("dye", vu="mV", iu="uA", points=12), b.sweep("dye", iu="mA", points=15)
    lines = ["U [mV];I [uA]", *joined(";", one.v, one.i), "", "Voltage (V)\tCurrent (mA)", *joined("\t", two.v, two.i)]
    return text_file("mixed.txt", lines, one.expected(), two.expected())


def archive_wide_names(b: Bench) -> CorpusFile:
    """A matrix: currents of four cells named by the columns, unit once above."""
    sweeps = pixels(b, count=4, points=20, kind="thin film")
    lines = [
        "All currents in mA, voltage in V",
        "V,r1c1,r1c2,r2c1,r2c2",
        *joined(",", sweeps[0].v, *[s.i for s in sweeps]),
    ]
    names = ["r1c1", "r1c2", "r2c1", "r2c2"]
    return text_file("grid.csv", lines, *[s.expected(n) for n, s in zip(names, sweeps, strict=True)])


def archive_empty_member(b: Bench) -> CorpusFile:
    """One of three cells has a heading without rows."""
    sweeps = [b.sweep("organic", iu="mA", points=12) for _ in range(2)]
    parts = {"cell 1": sweeps[0], "cell 2": None, "cell 3": sweeps[1]}
    lines: list[str] = []
    for name, s in parts.items():
        lines += [f"*** {name} ***", "V (V);I (mA)", *(joined(";", s.v, s.i) if s else ["no contact"]), ""]
    return text_file("three.txt", lines, sweeps[0].expected("cell 1"), sweeps[1].expected("cell 3"))


def archive_numbers(b: Bench) -> CorpusFile:
    """The cell's number in a column that is sorted by voltage: the sweeps are interleaved."""
    sweeps = pixels(b, count=3, points=14, kind="organic")
    lines = ["U (V),cell,I (mA)"]
    for k in range(14):
        lines += [f"{s.v[k]},{n},{s.i[k]}" for n, s in enumerate(sweeps, 11)]
    return text_file("sorted.csv", lines, *[s.expected() for s in sweeps])


def archive_listing(b: Bench) -> CorpusFile:
    """A directory listing was saved instead of the files."""
    lines = [f"{b.date()} {b.clock()[:5]}   {b.randint(700, 2900)} cell{k}.csv" for k in range(14)]
    return text_file("list.txt", lines, refused="a directory listing")


def archive_days(b: Bench) -> CorpusFile:
    """One cell on three days, the date in a column of its own."""
    device = b.device("perovskite")
    sweeps = [b.sweep(device, iu="mA", points=12) for _ in range(3)]
    lines = ["date;U (V);I (mA)"]
    for day, s in zip(["01.03.2023", "08.03.2023", "15.03.2023"], sweeps, strict=True):
        lines += joined(";", [day] * 12, comma(s.v), comma(s.i))
    return text_file("Alterung.csv", lines, *[s.expected() for s in sweeps])


def archive_numbered(b: Bench) -> CorpusFile:
    """Ruled blocks with running numbers that start again."""
    sweeps = [b.sweep("minimodule", iu="mA", points=11) for _ in range(2)]
    lines: list[str] = []
    for s in sweeps:
        lines += ["-" * 30, " no  U/V  I/mA", *joined("  ", numbered(11), s.v, s.i)]
    return text_file("ruled.txt", [*lines, "-" * 30], *[s.expected() for s in sweeps])


SIX_PIXELS: list[Layout] = [
    pixels_wide, pixels_blocks, pixels_pairs, pixels_column, pixels_shorted, pixels_missing, pixels_german,
    pixels_density, pixels_times, pixels_uneven,
]  # fmt: skip
BOTH_WAYS: list[Layout] = [
    ways_blocks, ways_side, ways_column, ways_same_voltages, ways_german, ways_unmarked, ways_reverse_first,
    ways_three_speeds, ways_cut, ways_hold_current,
]  # fmt: skip
DARK_LIGHT: list[Layout] = [
    dark_columns, dark_blocks, dark_column, dark_french, dark_alone, dark_json, dark_logarithm, dark_own_voltages,
    dark_facts, dark_three_levels,
]  # fmt: skip
FLASHER: list[Layout] = [
    flash_report, flash_two_lines, flash_corrected, flash_spanish, flash_results, flash_three_parts,
    flash_long_times, flash_backwards, flash_lost_trigger, flash_quoted,
]  # fmt: skip
ARCHIVE: list[Layout] = [
    archive_marks, archive_facts, archive_units_differ, archive_wide_names, archive_empty_member, archive_numbers,
    archive_listing, archive_days, archive_numbered,
]  # fmt: skip
