"""`read_sweep` and `read_sweeps`: text as laboratories write it. Expected numbers stand in the fixture above."""

from __future__ import annotations

import gzip
import io
import warnings
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import litdiode as ld

VOLTS = [-0.05, 0.0, 0.05, 0.1, 0.15, 0.2, 0.25, 0.3, 0.35, 0.4, 0.45, 0.5, 0.55, 0.6]
MILLI = [3.21, 3.2, 3.19, 3.185, 3.17, 3.16, 3.13, 3.08, 2.99, 2.81, 2.4, 1.7, 0.6, -1.1]


def rows(between: str = ",", decimal: str = ".", end: str = "\n") -> str:
    """The sweep above in V and mA, as text."""
    lines = [f"{v}{between}{i}" for v, i in zip(VOLTS, MILLI, strict=True)]
    return end.join(line.replace(".", decimal) for line in lines) + end


def sweep_of(text: str | bytes, **options: Any) -> ld.Sweep:
    """The text as a sweep, without a word about missing units."""
    data = text.encode() if isinstance(text, str) else text
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", ld.LitdiodeWarning)
        return ld.read_sweep(data, **options)


def read(text: str | bytes, **options: Any) -> ld.Sweep:
    """The text as a sweep, with its readings checked to be the ones above."""
    found = sweep_of(text, **options)
    np.testing.assert_allclose(found.voltage_v, VOLTS, rtol=1e-14)
    np.testing.assert_allclose(found.current_a, np.array(MILLI) * 1e-3, rtol=1e-14)
    return found


def said(sweep: ld.Sweep) -> str:
    """All that is recorded of a sweep."""
    return "; ".join(change.what for change in sweep.changes)


def refused(text: str | bytes, **options: Any) -> str:
    """The message with which a text is refused."""
    with pytest.raises(ld.InputError) as caught:
        sweep_of(text, **options)
    return str(caught.value)


@pytest.mark.parametrize(
    ("between", "decimal"),
    [(",", "."), (";", "."), (";", ","), ("\t", ","), ("\t", "."), (" ", ","), ("   ", "."), (", ", "."), ("|", ",")],
)
@pytest.mark.parametrize("end", ["\n", "\r\n", "\r", "\r\r\n"])
def test_delimiters_decimals_and_line_ends(between: str, decimal: str, end: str) -> None:
    found = read(f"V{between}I_mA{end}" + rows(between, decimal, end))
    assert ("decimal comma" in said(found)) == (decimal == ",")


@pytest.mark.parametrize(
    "head",
    [
        "Voltage (V);Current (mA)",
        "V [V];I [mA]",
        "U / V;I / mA",
        "Voltage;Current, mA",
        "V;I_mA",
        '"Bias voltage";"Cell current (mA)"',
        "Spannung;Strom (mA)",
        "Tension (V);Intensité (mA)",
        "Tensão (V);Corrente (mA)",
        "V (volts);I (milliamps)",
        "Voltage V;Current mA",
        "Voltage;Current\nV;mA",
        "V;mA\nVoltage;Current",
        "# Voltage (V), Current (mA)",
        "# Voltage (V), Current (mA)\n# made by hand",
        "a title\n# made by hand\n\nV;I (ma)",
        "Voltage (V);Current (mA), light",
        "Voltage (V);I (mA) @ 1 sun",
        "voltage_V_avg;current_mA_avg",
        "Voltage (V);Current (mA)\n-----------;------------",
    ],
)
def test_headings(head: str) -> None:
    read(head + "\n" + rows(";"))


def test_units_split_off_by_the_delimiter() -> None:
    read("Voltage, V, Current, mA\n" + rows(", "))
    read("U / V   I / mA\n" + rows(" "))
    read("U (V)   I (mA)\n" + rows("\t"))


def test_units_on_the_numbers_and_in_columns_of_their_own() -> None:
    pairs = list(zip(VOLTS, MILLI, strict=True))
    read("V;I\n" + "".join(f"{v} V;{i} mA\n" for v, i in pairs))
    read("".join(f"{v:+.3e}VDC,{i * 1e-3:+.7e}ADC\n" for v, i in pairs))
    read("V;unit;I;unit\n" + "".join(f"{v};V;{i};mA\n" for v, i in pairs))
    assert "' W' is no unit" not in refused("V;I\n0 V;1 W\n0.1 V;1 W\n0.2 V;0 W\n")


@pytest.mark.parametrize(
    ("heading", "factor"),
    [
        ("I (µA)", 1e-6),
        ("I (μA)", 1e-6),
        ("I (uA)", 1e-6),
        ("I (nA)", 1e-9),
        ("I (microampere)", 1e-6),
        ("-I (mA)", -1e-3),
    ],
)
def test_units(heading: str, factor: float) -> None:
    found = sweep_of(f"V (V);{heading}\n" + rows(";"), sign="generator", leads="as_given")
    np.testing.assert_allclose(found.current_a, np.array(MILLI) * factor, rtol=1e-14) if factor > 0 else None
    if factor < 0:
        assert "turned" in said(found)


@pytest.mark.parametrize(
    ("heading", "per_cm2"),
    [
        ("j (mA/cm2)", 1e-3),
        ("J (mA cm⁻²)", 1e-3),
        ("J (mA·cm^-2)", 1e-3),
        ("Current density [A/m²]", 1e-4),
        ("j (µA/mm^2)", 1e-4),
    ],
)
def test_densities_need_an_area(heading: str, per_cm2: float) -> None:
    text = f"V (V);{heading}\n" + rows(";")
    assert "pass area_cm2=" in refused(text)
    found = sweep_of(text, area_cm2=0.25)
    np.testing.assert_allclose(found.current_a, np.array(MILLI) * per_cm2 * 0.25, rtol=1e-14)
    found = sweep_of(f"Area: 0.25 cm2\n{text}")
    np.testing.assert_allclose(found.current_a, np.array(MILLI) * per_cm2 * 0.25, rtol=1e-14)


def test_milliamperes_are_never_amperes_in_silence(tmp_path: Path) -> None:
    file = tmp_path / "bare.csv"
    file.write_text("V (V),I\n" + rows())
    with pytest.warns(ld.LitdiodeWarning, match="no unit for the current: taken as A; pass current_unit="):
        sweep = ld.read_sweep(file)
    assert sweep.current_a[1] == 3.2
    assert "taken as A" in said(sweep)
    with warnings.catch_warnings():
        warnings.simplefilter("error", ld.LitdiodeWarning)
        sweep = ld.read_sweep(file, voltage_unit="V", current_unit="mA")
    assert sweep.current_a[1] == pytest.approx(3.2e-3)


def test_extra_columns_footer_and_muted_rows() -> None:
    lines = [f"10:0{n % 6}:00;{n};{v};{i};{v * i};" for n, (v, i) in enumerate(zip(VOLTS, MILLI, strict=True))]
    lines.insert(4, "# 10:00:00;9;9.0;9.0;81")
    lines.insert(5, "# 1;9;9.0;9.0;81")
    head = "Time (hh:mm:ss);Index;Voltage (V);Current (mA);Power (mW);\n"
    found = read(head + "\n".join(lines) + "\n\nend of file;;;;\n")
    assert "text left out: line 19 ('end of file;;;;')" in said(found)
    assert "behind a comment mark left out: lines 6, 7" in said(found)


def test_summaries_are_no_points() -> None:
    found = read(
        "n,V (V),I (mA)\n" + "".join(f"{k},{r}\n" for k, r in enumerate(rows().split())) + "Mean,0.3,2.5\nStd,0.2,1\n"
    )
    assert "rows that summarise others left out: lines 16, 17" in said(found)


def test_measured_column_before_the_programmed_one() -> None:
    text = "\n".join(f"9,{v},{i}" for v, i in zip(VOLTS, MILLI, strict=True))
    found = read("Set voltage (V),Measured voltage (V),Current (mA)\n" + text)
    assert "measured column" in said(found)


def test_a_set_current_says_that_the_current_was_stepped() -> None:
    text = "\n".join(f"{i},{v},{i}" for v, i in zip(VOLTS, MILLI, strict=True))
    assert read("I_set (mA),V (V),I (mA)\n" + text).swept == "current"


def test_columns_by_name_and_number() -> None:
    text = "a,b,I1 (mA),I2 (mA)\n" + "\n".join(f"1,{v},7,{i}" for v, i in zip(VOLTS, MILLI, strict=True))
    read(text, voltage="b", current="I2 (mA)", voltage_unit="V")
    read(text, columns={"voltage": "B", "current": "i2"}, voltage_unit="V")
    read(text, voltage=1, current=3, voltage_unit="V")
    assert "pass voltage=" in refused(text, current=3)
    assert "holds 2 sweeps: 0: 'I1 (mA)'" in refused(text, voltage=1)
    read(text, voltage=1, voltage_unit="V", which="I2 (mA)")
    read(text, voltage=1, voltage_unit="V", which=1)
    assert "no such column" in refused(text, voltage="volts", current=3)
    assert "no such column" in refused(text, voltage=9, current=3)
    assert "two different ones" in refused(text, voltage=3, current=3, voltage_unit="V")
    assert "columns={'volts': 1}" in refused(text, columns={"volts": 1})


def test_metadata() -> None:
    notes = (
        '# area: 25 mm²\ntemperature (°C) = 31,5\n"irradiance: 100 mW/cm2"\n'
        "% cells: 36\nlabel: cell A; second run\nOperator: nobody\n\n"
    )
    found = read(notes + "V;I_mA\n" + rows(";"))
    assert (found.cells, found.temperature_c, found.label) == (36, 31.5, "cell A; second run")
    assert found.area_cm2 is not None and found.area_cm2.value == pytest.approx(0.25, rel=1e-14)
    assert found.irradiance_w_m2 is not None and found.irradiance_w_m2.value == 1000.0
    assert "line 2" in said(found)


def test_metadata_parted_by_the_tables_delimiter() -> None:
    found = read("Area (cm²);0,25;\nTemperature (K);298,15;\nU / V;I / mA\n" + rows(";", ","))
    assert found.area_cm2 is not None and found.area_cm2.value == 0.25
    assert found.temperature_c == 25.0


def test_of_two_areas_the_mask_counts() -> None:
    found = read("Cell area: 0.36 cm2\nMask: 0.16 cm2\nV,I_mA\n" + rows())
    assert found.area_cm2 is not None and found.area_cm2.value == 0.16
    assert "two areas" in said(found)


@pytest.mark.parametrize(
    "entry", ["irradiance: 100", "area: 0.25", "area: 1,000 cm2", "cells: 2.5", "temperature: 25 k"]
)
def test_metadata_without_a_clear_value_is_not_used(entry: str) -> None:
    text = f"# {entry}\nV (V);I_mA\n" + rows(";")
    with pytest.warns(ld.LitdiodeWarning, match="was not used.*pass"):
        found = ld.read_sweep(text.encode())
    assert (found.area_cm2, found.irradiance_w_m2, found.cells, found.temperature_c) == (None, None, 1, 25.0)
    assert entry in said(found)


def test_metadata_that_contradicts_itself() -> None:
    assert "area_cm2 was 0.25" in refused("# area: 0.25 cm2\n# area: 0.3 cm2\nV,I_mA\n" + rows())


def test_the_caller_wins_over_the_file(tmp_path: Path) -> None:
    file = tmp_path / "cell_7.csv"
    file.write_text("# cells: 3\n# temperature: 40 °C\nV (V),I (mA)\n" + rows(), encoding="utf-8")
    sweep = ld.read_sweep(file, cells=2)
    assert (sweep.cells, sweep.temperature_c, sweep.label) == (2, 40.0, "cell_7")
    assert "temperature_c = 40" in said(sweep) and "cells" not in said(sweep)


@pytest.mark.parametrize(
    "encoding",
    ["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "utf-16-be", "utf-32", "latin-1", "cp1252", "cp850", "mac-roman"],
)
def test_encodings(tmp_path: Path, encoding: str) -> None:
    file = tmp_path / "µ.csv"
    file.write_bytes(("U / V;I / µA\n" + rows(";")).encode(encoding))
    sweep = ld.read_sweep(file)
    assert sweep.current_a[1] == pytest.approx(3.2e-6)
    assert ld.read_sweep(file, encoding=encoding).current_a[1] == pytest.approx(3.2e-6)


def test_several_sweeps_in_a_file() -> None:
    text = "# cell: A\nV,I_mA\n" + rows() + "\n# cell: B\nV,I_mA\n" + rows().replace("3.2\n", "3.3\n")
    assert "holds 2 sweeps: 0: 'A' (lines 3 to 16), 1: 'B'" in refused(text)
    with pytest.warns(ld.LitdiodeWarning):
        first, second = ld.read_sweeps(text.encode())
    assert (first.label, second.label) == ("A", "B")
    assert first.current_a[1] == 3.2e-3 and second.current_a[1] == 3.3e-3
    assert sweep_of(text, which="b").current_a[1] == 3.3e-3
    assert "no such sweep" in refused(text, which="C")


def test_a_folder_a_pattern_and_a_list(tmp_path: Path) -> None:
    for name in ("b.csv", "a.csv"):
        (tmp_path / name).write_text("V (V),I (mA)\n" + rows())
    (tmp_path / "photo.png").write_bytes(b"\x89PNG")
    calls: list[int] = []
    found = ld.read_sweeps(tmp_path, progress=calls.append)
    assert [sweep.label for sweep in found] == ["a", "b"] and calls == [1, 2]
    assert len(ld.read_sweeps(str(tmp_path / "*.csv"))) == 2
    assert len(ld.read_sweeps([tmp_path / "a.csv", tmp_path / "b.csv"])) == 2
    with pytest.raises(ld.InputError, match="no file fits"):
        ld.read_sweeps(str(tmp_path / "*.txt"))


def test_bytes_open_files_frames_and_gzip(tmp_path: Path) -> None:
    text = "V (V),I (mA)\n" + rows()
    read(text.encode())
    for source in (io.StringIO(text), io.BytesIO(text.encode()), pd.read_csv(io.StringIO(text))):
        found = ld.read_sweep(source)
        np.testing.assert_allclose(found.current_a, np.array(MILLI) * 1e-3, rtol=1e-14)
    file = tmp_path / "cell.csv.gz"
    file.write_bytes(gzip.compress(text.encode()))
    assert ld.read_sweep(file).label == "cell"


def test_spreadsheets(tmp_path: Path) -> None:
    pytest.importorskip("python_calamine")
    writer = pytest.importorskip("openpyxl")
    book = writer.Workbook()
    book.active.append(["Voltage (V)", "Current (mA)"])
    for pair in zip(VOLTS, MILLI, strict=True):
        book.active.append(pair)
    book.save(tmp_path / "cell.xlsx")
    found = ld.read_sweep(tmp_path / "cell.xlsx")
    np.testing.assert_allclose(found.current_a, np.array(MILLI) * 1e-3, rtol=1e-14)


def test_overflow_is_left_out_or_refused_in_every_unit() -> None:
    for mark in ("9.9E37", "-9.91e+37", "OVLD", "---", "NaN", "#N/A", ""):
        text = "V (V),I (mA)\n" + rows() + f"0.65,{mark}\n"
        found = read(text)
        assert "rows without a number left out: line 16" in said(found), mark
    assert "line 16" in refused(text.replace("0.65,", "0.65,OVLD"), overflow="error")


def test_logs_and_json() -> None:
    pairs = list(zip(VOLTS, MILLI, strict=True))
    read("".join(f"12:00:0{k % 10} V={v} I={i} mA\n" for k, (v, i) in enumerate(pairs)))
    read("start\n" + "".join(f"V: {v} V; I: {i} mA\n" for v, i in pairs))
    read("".join(f'{{"V (V)": {v}, "I (mA)": {i}}}\n' for v, i in pairs))
    read(f'{{"area_cm2": 0.25, "voltage_V": {VOLTS}, "current_mA": {MILLI}}}')


REFUSED = {
    "decimal marks are mixed": "V;I_mA\n0,1;3,5\n0.2;2.5\n0.3;1.5\n",
    "'1,234' may be 1.234 or 1234: pass decimal= or thousands=": "mV;µA\n1,234;5,678\n1,345;4,321\n",
    "line 4 ('0.05'): 1 cells, other rows have 2": "V I_mA\n" + rows(" ").replace("3.19", ""),
    "the current is 'broken'": "V,I_mA\n" + rows().replace("3.19", "broken"),
    "holds 2 sweeps: 0: lines 2 to 15, 1: lines 17 to 30": "V,I_mA\n" + rows() + "\n" + rows(),
    "holds 2 sweeps: 0: lines 2 to 15, 1: lines 16": "V,I_mA\n" + rows() + rows(),
    "3 columns and no headings": "5,1,1\n0.1,1,1\n",
    "says voltage": "x,y\n" + rows(),
    "M is mega, but milli may be meant": "V (V),I (MA)\n" + rows(),
    "the unit 'arb' is not known": "V (V),I (arb)\n" + rows(),
    "'log |I|' is a function": "V (V),log |I|\n" + rows(),
    "'Current*1000 (A)' is a function": "V (V),Current*1000 (A)\n" + rows(),
    "pass voltage= as 1 and current= as 0": "\n".join(f"{i},{v}" for v, i in zip(VOLTS, MILLI, strict=True)),
    "there are 2 headings and 3 cells": "U (mV),I (mA)\n-100,31,31\n0,31,30\n100,30,12\n",
    "2 cells, other rows have 3": "V I_mA P_mW\n0 3 0\n0.1 0.3\n0.2 3 0.6\n",
    "3 cells, other rows have 2": "V,I_mA\n" + rows().replace("3.19", "3.19,1"),
    "holds no data": "\n\n# nothing here\n",
    "no row with two numbers": "hello\nworld\n",
}


@pytest.mark.parametrize("message", REFUSED)
def test_what_cannot_be_decided_is_an_error_that_says_so(message: str) -> None:
    assert message in refused(REFUSED[message])


def test_double_spacing_and_page_breaks_leave_one_sweep() -> None:
    read("V,I_mA\n\n" + rows(end="\n\n"))
    lines = rows().splitlines(keepends=True)
    read("V,I_mA\n" + "".join(lines[:6]) + "\f\npage 2\nV,I_mA\n" + "".join(lines[6:]))


def test_a_cut_last_line_is_said() -> None:
    found = read("V,I_mA\n" + rows() + "0.6")
    assert "the last line is cut off and was left out: line 16 ('0.6')" in said(found)


def test_arguments_are_checked() -> None:
    text = "V,I_mA\n" + rows()
    assert "'W' is not a unit of current: pass current_unit=" in refused(text, current_unit="W")
    assert "delimiter='ab'" in refused(text, delimiter="ab").replace('"', "'")
    assert "decimal 'x'" in refused(text, decimal="x")
    assert "thousands" in refused(text, decimal=",", thousands=",")
    assert "header_row 99" in refused(text, header_row=99)
    assert "overflow=" in refused(text, overflow="drop")
    assert "aera_cm2= is no option" in refused(text, aera_cm2=1.0)
    read(text.replace(",", "\t"), delimiter="\\t")
    read("x\n1 2\ny\n" + text, skip_rows=3)
    read("junk (V),junk (A)\nV,I_mA\nmore,text\n" + rows(), header_row=2)
    read(text.replace("V,I_mA", "V,I_mA\n* 1,2"), comment="*")


def test_files_that_are_none(tmp_path: Path) -> None:
    with pytest.raises(ld.InputError, match="no such file"):
        ld.read_sweep(tmp_path / "none.csv")
    with pytest.raises(ld.InputError, match="folder"):
        ld.read_sweep(tmp_path)
    with pytest.raises(ld.InputError, match="path is empty"):
        ld.read_sweep("")
    with pytest.raises(ld.InputError, match="a text, not a path"):
        ld.read_sweep("V,I\n0,1\n")
    with pytest.raises(ld.InputError, match="source=int"):
        ld.read_sweep(7)
    file = tmp_path / "photo.csv"
    file.write_bytes(bytes(range(256)) * 20)
    with pytest.raises(ld.InputError, match="binary file"):
        ld.read_sweep(file)
    file.write_text("V,I_mA\n" + rows())
    with pytest.raises(ld.InputError, match="encoding 'klingon' is unknown"):
        ld.read_sweep(file, encoding="klingon")


def test_errors_of_the_sweep_name_file_and_line(tmp_path: Path) -> None:
    file = tmp_path / "cell.csv"
    file.write_text("V (V),I (mA)\n" + rows() + "0.2,-700\n")
    with pytest.raises(ld.InputError, match=r"cell\.csv, line 16: .*contradict"):
        ld.read_sweep(file)


def test_a_word_that_is_its_unit_is_told() -> None:
    sweep = ld.read_sweep(("Volt,Amp\n" + rows()).encode())
    assert any("from the heading 'Amp'" in change.what + change.why for change in sweep.changes)


def test_a_heading_that_lost_its_delimiter_heads_no_column() -> None:
    lines = "".join(f"{0.1 * k:.4f};{7.5 - k:.5f};{(7.5 - k) * 9e-5:.6f}\n" for k in range(9))  # invented
    text = "Voltage (V)Current density (mA/cm²);Current (A)\n" + lines
    with pytest.raises(ld.InputError, match="2 headings and 3 cells"):
        ld.read_sweep(text.encode())


@settings(max_examples=400, deadline=None, database=None)
@given(st.text(alphabet="0123456789.,;:\t -+eE#%\"'VIUAm/()[]{}\nµnaN=|\\", max_size=200))
def test_any_text_is_read_or_refused(text: str) -> None:
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        try:
            found = ld.read_sweeps(text.encode())
        except ld.InputError:
            return
    assert all(np.isfinite(sweep.voltage_v).all() and np.isfinite(sweep.current_a).all() for sweep in found)


@settings(max_examples=300, deadline=None, database=None)
@given(st.binary(max_size=300))
def test_any_bytes_are_read_or_refused(data: bytes) -> None:
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        try:
            ld.read_sweeps(data)
        except ld.InputError:
            return
