"""Tables of people: spreadsheets saved in several countries, a course template, a plotting program, a paper."""

from decimal import Decimal

from held_out_bench import (
    SMALL,
    Bench,
    Layout,
    Sweep,
    comma,
    grouped,
    joined,
    numbered,
    stated,
    text_file,
)
from parts import CorpusFile

# Voltage, current, area, irradiance, temperature, remark.
WORDS = {
    "de": ["Spannung", "Strom", "Fläche", "Bestrahlungsstärke", "Temperatur", "Bemerkung"],
    "fr": ["Tension", "Courant", "Surface", "Éclairement", "Température", "Remarque"],
    "pt": ["Tensão", "Corrente", "Área", "Irradiância", "Temperatura", "Observação"],
    "es": ["Tensión", "Corriente", "Área", "Irradiancia", "Temperatura", "Nota"],
    "it": ["Tensione", "Corrente", "Area", "Irraggiamento", "Temperatura", "Nota"],
    "nl": ["Spanning", "Stroom", "Oppervlakte", "Instraling", "Temperatuur", "Opmerking"],
}


def saved(language: str, b: Bench, style: int) -> CorpusFile:
    """A spreadsheet saved as text where the comma is the decimal mark."""
    volt, amp, area_word, light_word, heat_word, remark = WORDS[language]
    s = b.sweep(SMALL if style else None)
    area, light, heat = b.area(s.device, ","), b.light(","), b.heat(",")
    v, i = comma(s.v), comma(s.i)
    if style == 0:
        lines = [f"{volt} ({s.vu});{amp} ({s.iu})", *joined(";", v, i)]
        return text_file(f"{language}_curva.csv", lines, s.expected(), end="\r\n", encoding="cp1252")
    if style == 1:
        # Every row is as long as the longest one.
        lines = [f"{area_word};{area.text};;", f"{light_word};{light.text};;", f"{heat_word};{heat.text};;", ";;;"]
        lines += [f"Nr;{volt} [{s.vu}];{amp} [{s.iu}];{remark}", *joined(";", numbered(len(s)), v, i, [""] * len(s))]
        expected = s.expected(**stated(area, light, heat))
        return text_file(f"{language}_1.csv", lines, expected, end="\r\n", encoding="utf-8-sig")
    # Copied from the sheet: tabs; a small table of results stands at the right of the first rows.
    side = [f"\t\tVoc\t{s.device.voc_v:.3f}\tV".replace(".", ","), "\t\tFF\t71,2\t%"] + [""] * (len(s) - 2)
    lines = [f"{volt}/{s.vu}\t{amp}/{s.iu}", *[row + x for row, x in zip(joined("\t", v, i), side, strict=True)]]
    return text_file(f"{language}_paste.txt", lines, s.expected(), end="\r\n")


def german_plain(b: Bench) -> CorpusFile:
    """Two columns from Germany."""
    return saved("de", b, 0)


def french_padded(b: Bench) -> CorpusFile:
    """Facts above, rows filled up with empty cells, from France."""
    return saved("fr", b, 1)


def brazilian_pasted(b: Bench) -> CorpusFile:
    """Pasted with a table of results at the right, from Brazil."""
    return saved("pt", b, 2)


def spanish_plain(b: Bench) -> CorpusFile:
    """Two columns from Spain."""
    return saved("es", b, 0)


def italian_padded(b: Bench) -> CorpusFile:
    """Facts above, from Italy."""
    return saved("it", b, 1)


def dutch_pasted(b: Bench) -> CorpusFile:
    """Pasted from a sheet in the Netherlands."""
    return saved("nl", b, 2)


def german_thousands(b: Bench) -> CorpusFile:
    """Thousands with a point and decimals with a comma; small numbers show both."""
    s = b.sweep("wafer", vu="mV", iu="mA", vd=4, idg=6, points=21)
    v, i = grouped(s.v, ".", ","), grouped(s.i, ".", ",")
    lines = ["Spannung (mV);Strom (mA)", *joined(";", v, i)]
    return text_file("Wafer.csv", lines, s.expected(), end="\r\n", encoding="cp1252")


def french_thousands(b: Bench) -> CorpusFile:
    """Thousands with a narrow no-break space."""
    s = b.sweep("perovskite", vu="mV", iu="µA", vd=5, idg=6, points=25)
    v, i = grouped(s.v, "\u202f", ","), grouped(s.i, "\u202f", ",")
    lines = ["Tension (mV);Courant (µA)", *joined(";", v, i)]
    return text_file("cellule B.csv", lines, s.expected(), end="\r\n")


def swiss_apostrophes(b: Bench) -> CorpusFile:
    """Decimal point and thousands with an apostrophe, semicolons between."""
    s = b.sweep("panel", vu="mV", iu="mA", vd=5, idg=5, points=20)
    lines = ["Spannung [mV];Strom [mA]", *joined(";", grouped(s.v, "'", "."), grouped(s.i, "'", "."))]
    return text_file("Panel.csv", lines, s.expected(), end="\r\n")


def undecided_groups(b: Bench) -> CorpusFile:
    """Every number has one comma before three digits: decimals or thousands, nobody can know."""
    s = b.sweep("panel", iu="A", points=12, start=0.06, stop=0.86, vd=5, idg=4)
    v, i = comma(s.v), comma(s.i)
    lines = ["U [V];I [A]", *joined(";", v, i)]
    return text_file("Werte.csv", lines, s.expected(), end="\r\n", needs={"decimal": ","})


def errors_in_cells(b: Bench) -> CorpusFile:
    """A computed power with error cells, and empty rows at the end."""
    s = b.sweep("thin film", iu="mA", points=15)
    power = ["#DIV/0!", *s.power()[1:]]
    lines = ["U (V),I (mA),P (mW)", *joined(",", s.v, s.i, power), ",,", ",,", ",,"]
    return text_file("book2.csv", lines, s.expected(), end="\r\n")


def lost_current_cells(b: Bench) -> CorpusFile:
    """Readings with #N/A are no readings."""
    s = b.sweep("dye", iu="mA", points=17)
    i = ["#N/A" if k in (5, 6) else x for k, x in enumerate(s.i)]
    lines = ["sep=;", "Voltage (V);Current (mA)", *joined(";", s.v, i)]
    return text_file("sheet.csv", lines, s.expected(None, [k for k in range(17) if k not in (5, 6)]), end="\r\n")


def commas_for_all(b: Bench) -> CorpusFile:
    """Decimal commas and commas between the cells, whole numbers without decimals: undecidable."""
    lines = ["U/V,I/A", "0,0,31", "0,1,0,3", "0,2,0,3", "0,3,0,29", "0,4,0,25", "0,5,0,1", "1,0"]
    return text_file("kaputt.csv", lines, refused="commas stand for decimals and between cells")


def quoted_commas(b: Bench) -> CorpusFile:
    """Decimal commas in quotes, commas between the cells."""
    s = b.sweep("minimodule", iu="mA", points=30)
    rows = [f'"{v}","{i}"' for v, i in zip(comma(s.v), comma(s.i), strict=True)]
    return text_file("export_pt.csv", ['"Tensão (V)","Corrente (mA)"', *rows], s.expected())


def template(b: Bench, rows: list[str], s: Sweep, *extra: str) -> CorpusFile:
    """The course's template: title, group, device, heading, rows."""
    lines = ["Versuch 12: Solarzelle;;;", f"Gruppe;{b.randint(1, 14)};;", *extra, "Nr.;U in V;I in mA;Bemerkung", *rows]
    return text_file("protokoll.csv", lines, s.expected(), end="\r\n")


def template_filled(b: Bench) -> CorpusFile:
    """Filled in with commas; rows that were not needed are empty."""
    s = b.sweep("small silicon", iu="mA", points=10, vd=3, idg=3)
    rows = joined(";", numbered(10), comma(s.v), comma(s.i), [""] * 10)
    return template(b, rows + [f"{k};;;" for k in range(11, 16)], s)


def template_mixed(b: Bench) -> CorpusFile:
    """Two students: one writes decimals with a comma, the other with a point."""
    s = b.sweep("small silicon", iu="mA", points=12, vd=3, idg=4, start=0.0)
    rows = [f"{k + 1};{v};{i};" for k, (v, i) in enumerate(zip(s.v, s.i, strict=True))]
    return template(b, [*(r.replace(".", ",") for r in rows[:6]), *rows[6:]], s)


def template_remarks(b: Bench) -> CorpusFile:
    """Remarks with numbers in them."""
    s = b.sweep("small silicon", iu="mA", points=14, vd=3, idg=3, start=0.0)
    notes = ["Kurzschluss", "", "Lampe 2 min warm", *[""] * 10, "Leerlauf ca. 0,6 V"]
    return template(b, joined(";", numbered(14), comma(s.v), comma(s.i), notes), s)


def template_uncertain(b: Bench) -> CorpusFile:
    """Every reading is written with its uncertainty."""
    s = b.sweep("small silicon", iu="mA", points=11, vd=3, idg=3, start=0.0)
    v, i = [x + " ± 0.01" for x in s.v], [x + " ± 0.5" for x in s.i]
    return text_file("Gruppe5.txt", ["U / V\tI / mA", *joined("\t", v, i)], s.expected())


def template_resistors(b: Bench) -> CorpusFile:
    """A resistor decade: 0 is short circuit, ∞ is open circuit; U and I were read on meters."""
    s = b.sweep("small silicon", iu="mA", points=10, start=0.01, stop=1.0, vd=3, idg=4)
    ohms = ["0", "1", "2", "3", "5", "7", "10", "20", "100", "∞"]
    lines = ["R [Ω];U [V];I [mA]", *joined(";", ohms, comma(s.v), comma(s.i))]
    return text_file("dekade.csv", lines, s.expected())


def template_blank(b: Bench) -> CorpusFile:
    """Handed in as it was handed out."""
    lines = ["Experiment 12: solar cell", "Group:", "No.,V (V),I (mA)", *[f"{k},," for k in range(1, 16)]]
    return text_file("template.csv", lines, refused="an empty template")


def template_light_levels(b: Bench) -> CorpusFile:
    """Two lamp distances side by side, each with its own voltages; the shorter one ends early."""
    near, far = b.sweep("small silicon", iu="mA", points=12), b.sweep("small silicon", iu="mA", points=9)
    far_v, far_i = far.v + [""] * 3, far.i + [""] * 3
    lines = ["d = 20 cm,,d = 40 cm,", "U (V),I (mA),U (V),I (mA)", *joined(",", near.v, near.i, far_v, far_i)]
    return text_file("distance.csv", lines, near.expected("d = 20 cm"), far.expected("d = 40 cm"))


def template_words(b: Bench) -> CorpusFile:
    """English template with facts in sentences."""
    s = b.sweep("thin film", iu="mA", points=13, vd=3, idg=3)
    area = b.area(s.device)
    lines = ["Lab 4 - photovoltaic cell", f"Area of the cell: {area.text}", "Lamp: halogen", ""]
    lines += [
        "Voltage (V) | Current (mA)",
        "------------+-------------",
        *joined(" | ", s.v, s.i),
        "Conclusion: FF = 0.68",
    ]
    return text_file("lab4.txt", lines, s.expected(**stated(area)))


def template_struck(b: Bench) -> CorpusFile:
    """A wrong row was turned into a comment and read again."""
    s = b.sweep("small silicon", iu="mA", points=12, vd=3, idg=3)
    rows = joined("\t", s.v, s.i)
    lines = ["U (V)\tI (mA)", *rows[:5], "# wrong range, void: 0.21\t3", *rows[5:]]
    return text_file("group9.txt", lines, s.expected())


def template_power_only(b: Bench) -> CorpusFile:
    """Voltage and power were handed in, the current was not."""
    s = b.sweep("small silicon", iu="mA", points=12)
    return text_file("p_only.csv", ["U (V);P (mW)", *joined(";", s.v, s.power(2))], refused="no current column")


def template_swapped_columns(b: Bench) -> CorpusFile:
    """The current stands first, in load sign, in amperes with few digits."""
    s = b.sweep("small silicon", iu="A", points=16, vd=3, idg=3, sign=-1, start=0.0, stop=1.01)
    return text_file("grp 3.csv", ["Corriente (A);Voltaje (V)", *joined(";", comma(s.i), comma(s.v))], s.expected())


SPREADSHEET: list[Layout] = [
    german_plain, french_padded, brazilian_pasted, spanish_plain, italian_padded, dutch_pasted, german_thousands,
    french_thousands, swiss_apostrophes, undecided_groups, errors_in_cells, lost_current_cells, commas_for_all,
    quoted_commas,
]  # fmt: skip
TEMPLATE: list[Layout] = [
    template_filled, template_mixed, template_remarks, template_uncertain, template_resistors, template_blank,
    template_light_levels, template_words, template_struck, template_power_only, template_swapped_columns,
]  # fmt: skip


def plot_three_rows(b: Bench) -> CorpusFile:
    """Long name, units and comments above the columns."""
    s = b.sweep("perovskite", iu="mA", vd=5)
    lines = ["Voltage\tCurrent", "V\tmA", "\tcell 3b, after 1 h", *joined("\t", s.v, s.i)]
    return text_file("Book1.txt", lines, s.expected(), end="\r\n")


def plot_density(b: Bench) -> CorpusFile:
    """Current density in mA cm⁻²; the area stands in the comments."""
    device = b.device("organic")
    s = b.sweep(device, area=device.area, iu="mA", points=25)
    lines = ["Voltage\tCurrent density", "V\tmA cm⁻²", f"\tarea {device.area} cm²", *joined("\t", s.v, s.i)]
    return text_file("JV_b.txt", lines, s.expected(area_cm2=float(Decimal(device.area))), end="\r\n")


def plot_density_unknown(b: Bench) -> CorpusFile:
    """Current density without an area: it has to be asked for."""
    device = b.device("perovskite")
    s = b.sweep(device, area=device.area, iu="mA", points=28, sign=-1)
    area = float(Decimal(device.area))
    lines = ["V (V),J (mA/cm^2)", *joined(",", s.v, s.i)]
    return text_file("graph_data.csv", lines, s.expected(area_cm2=area), needs={"area_cm2": area})


def plot_many_curves(b: Bench) -> CorpusFile:
    """Columns of several curves with their names as comments, a common voltage."""
    device = b.device("dye")
    curves = [b.sweep(device, points=21, start=0.0, iu="mA") for _ in range(3)]
    names = ["fresh", "1 day", "1 week"]
    lines = ["Voltage\tCurrent\tCurrent\tCurrent", "V\tmA\tmA\tmA", "\t" + "\t".join(names)]
    lines += joined("\t", curves[0].v, *[c.i for c in curves])
    return text_file("ageing.txt", lines, *[c.expected(n) for n, c in zip(names, curves, strict=True)])


def plot_missing(b: Bench) -> CorpusFile:
    """Missing values are written as two hyphens."""
    s = b.sweep("thin film", iu="mA", points=25)
    i = ["--" if k == 8 else x for k, x in enumerate(s.i)]
    rows = [k for k in range(25) if k != 8]
    return text_file(
        "fig3a.dat", ["A(X)\tB(Y)", "Voltage\tCurrent", "V\tmA", *joined("\t", s.v, i)], s.expected(None, rows)
    )


def plot_with_fit(b: Bench) -> CorpusFile:
    """The fitted curve stands beside the measured one."""
    s = b.sweep("small silicon", iu="mA", points=23)
    fitted = [f"{float(x) * 1.001 + 0.01:.4f}" for x in s.i]
    lines = ["Voltage (V)\tMeasured current (mA)\tFitted current (mA)", *joined("\t", s.v, s.i, fitted)]
    needs = {"current": "Measured current (mA)"}
    return text_file("fit_export.txt", lines, s.expected(), needs=needs)


def plot_digitised(b: Bench) -> CorpusFile:
    """Points taken from a picture: uneven steps, x and y with the axes' names in a comment."""
    s = b.sweep("organic", iu="mA", points=34, vd=6, idg=6)
    rows = joined(", ", s.v, s.i)
    return text_file("digitised.csv", ["# x axis: Voltage (V)", "# y axis: Current (mA)", "x, y", *rows], s.expected())


def plot_xy(b: Bench) -> CorpusFile:
    """x and y without a meaning."""
    s = b.sweep("organic", iu="mA", points=20)
    needs = {"voltage": "x", "current": "y", "voltage_unit": "V", "current_unit": "mA"}
    return text_file("curve.xy", ["x y", *joined(" ", s.v, s.i)], s.expected(), needs=needs)


def plot_efficiency(b: Bench) -> CorpusFile:
    """Quantum efficiency over the wavelength."""
    rows = [f"{300 + 20 * k}\t{55 + b.random() * 25:.2f}" for k in range(40)]
    return text_file("EQE.txt", ["Wavelength\tEQE", "nm\t%", *rows], refused="a quantum efficiency")


def plot_comments_between(b: Bench) -> CorpusFile:
    """Blocks for a plotting script: two blank lines between the curves, their titles as comments."""
    sweeps = [b.sweep("dye", iu="mA", points=16) for _ in range(2)]
    lines: list[str] = []
    for name, s in zip(["mask on", "mask off"], sweeps, strict=True):
        lines += [f"# {name}", "# V(V) I(mA)", *joined(" ", s.v, s.i), "", ""]
    return text_file("blocks.dat", lines, sweeps[0].expected("mask on"), sweeps[1].expected("mask off"))


def plot_pairs(b: Bench) -> CorpusFile:
    """Each curve has its own voltage column; the lengths differ."""
    one, two = b.sweep("perovskite", iu="mA", points=24), b.sweep("perovskite", iu="mA", points=18)
    v, i = two.v + [""] * 6, two.i + [""] * 6
    lines = ["V1 (V)\tI1 (mA)\tV2 (V)\tI2 (mA)", *joined("\t", one.v, one.i, v, i)]
    return text_file("multi.txt", lines, one.expected(), two.expected())


def plot_error_columns(b: Bench) -> CorpusFile:
    """Standard deviations stand beside the readings."""
    s = b.sweep("small silicon", iu="mA", points=21)
    sd = [f"{abs(b.gauss(0.05, 0.01)):.3f}" for _ in range(21)]
    lines = ["Voltage (V),Current (mA),SD of current (mA)", *joined(",", s.v, s.i, sd)]
    return text_file("mean.csv", lines, s.expected())


def paper_unicode(b: Bench) -> CorpusFile:
    """Copied from a page: minus signs, thin spaces and a caption with facts."""
    s = b.sweep("thin film", iu="mA", points=15)
    area = b.area(s.device)
    rows = [r.replace("-", "−") for r in joined("\u2003", s.v, s.i)]
    lines = [f"Table S3. Readings of cell B (area {area.text}).", "V / V\u2003I / mA", *rows]
    return text_file("table_S3.txt", lines, s.expected(**stated(area)))


def paper_powers(b: Bench) -> CorpusFile:
    """Currents written with powers of ten."""
    s = b.sweep("dye", iu="A", style="e", vd=4, idg=4, points=14, start=0.0, stop=0.98)
    plain = [f"{float(v):.4f}" for v in s.v]
    kept = Sweep(plain, s.i, "V", "A", s.device)
    powers = [f"{t.split('e')[0]} × 10^{int(t.split('e')[1])}".replace("-", "−") for t in s.i]
    return text_file("SI_table.txt", ["V (V)\tI (A)", *joined("\t", plain, powers)], kept.expected())


def paper_factor_heading(b: Bench) -> CorpusFile:
    """The power of ten stands in the heading."""
    s = b.sweep("dye", iu="mA", points=16)
    return text_file("tab2.txt", ["V (V)\tI (10⁻³ A)", *joined("\t", s.v, s.i)], s.expected())


def paper_typeset(b: Bench) -> CorpusFile:
    """The rows of a typeset table."""
    s = b.sweep("small silicon", iu="mA", points=12, vd=3)
    lines = ["\\begin{tabular}{rr}", "\\hline", "$V$ (V) & $I$ (mA) \\\\", "\\hline"]
    lines += [f"{v} & {i} \\\\" for v, i in zip(s.v, s.i, strict=True)]
    return text_file("table2.tex", [*lines, "\\hline", "\\end{tabular}"], s.expected())


def paper_pipes(b: Bench) -> CorpusFile:
    """A table with pipes and a ruler."""
    s = b.sweep("minimodule", iu="mA", points=18)
    rows = [f"| {v} | {i} |" for v, i in zip(s.v, s.i, strict=True)]
    lines = ["Readings of mini-module 2.", "", "| Voltage (V) | Current (mA) |", "|---:|---:|", *rows]
    return text_file("readme_data.md", lines, s.expected())


def paper_folded(b: Bench) -> CorpusFile:
    """A long table folded into two halves side by side; the second half goes on where the first ends."""
    s = b.sweep("wafer", vu="V", iu="A", points=26, start=0.0)
    lines = ["Table 1. One sweep of a cell, continued at the right.", "V/V\tI/A\tV/V\tI/A"]
    lines += joined("\t", s.v[:13], s.i[:13], s.v[13:], s.i[13:])
    return text_file("folded.txt", lines, s.expected())


def paper_footnotes(b: Bench) -> CorpusFile:
    """Letters of footnotes behind two numbers."""
    s = b.sweep("panel", iu="A", points=11, vd=4, idg=4)
    v = list(s.v)
    v[3] += " a"
    lines = ["V (V) ; I (A)", *joined(" ; ", v, s.i), "", "a) read twice"]
    return text_file("footnote.txt", lines, s.expected())


def paper_key_figures(b: Bench) -> CorpusFile:
    """A table of key figures of several cells, no curve."""
    lines = [
        "Cell,Voc (V),Jsc (mA/cm2),FF (%),PCE (%)",
        *[f"C{k},1.0{k},2{k % 3}.3,7{k}.1,1{k}.2" for k in range(1, 9)],
    ]
    return text_file("table1.csv", lines, refused="key figures of several cells; no curve")


def paper_units_bracket_row(b: Bench) -> CorpusFile:
    """Symbols, then units in brackets, numbers without leading zero."""
    s = b.sweep("small silicon", iu="A", points=20)
    columns = [[t.replace("0.", ".", 1) if t.lstrip("-").startswith("0.") else t for t in c] for c in (s.v, s.i)]
    return text_file("appendix.txt", ["V   I", "[V]   [A]", *joined("   ", *columns)], s.expected())


def paper_digit_spaces(b: Bench) -> CorpusFile:
    """Digits in groups of three behind the point, with thin spaces."""
    s = b.sweep("wafer", iu="A", points=15, vd=5, idg=7, start=0.0)
    grouped_i = [t[: t.index(".") + 4] + "\u2009" + t[t.index(".") + 4 :] for t in s.i]
    return text_file("calibration.txt", ["V / V\tI / A", *joined("\t", s.v, grouped_i)], s.expected())


def paper_two_cells(b: Bench) -> CorpusFile:
    """Two cells under one caption; the second heading row belongs to the pairs."""
    one, two = b.sweep("organic", iu="mA", points=15, start=0.0), b.sweep("organic", iu="mA", points=15, start=0.0)
    lines = ["cell A;;cell B;", "V (V);I (mA);V (V);I (mA)", *joined(";", one.v, one.i, two.v, two.i)]
    return text_file("tableS1.csv", lines, one.expected("cell A"), two.expected("cell B"))


PLOT_PROGRAM: list[Layout] = [
    plot_three_rows, plot_density, plot_density_unknown, plot_many_curves, plot_missing, plot_with_fit, plot_digitised,
    plot_xy, plot_efficiency, plot_comments_between, plot_pairs, plot_error_columns,
]  # fmt: skip
PAPER: list[Layout] = [
    paper_unicode, paper_powers, paper_factor_heading, paper_typeset, paper_pipes, paper_folded, paper_footnotes,
    paper_key_figures, paper_units_bracket_row, paper_digit_spaces, paper_two_cells,
]  # fmt: skip
