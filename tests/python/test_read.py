"""`read_sweep`: text as laboratories write it. Every expected number is written into the fixture above it."""

from __future__ import annotations

import warnings
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import litdiode as ld
from litdiode.reading import ParsedSweep, parse_sweep
from litdiode.reading.decode import decode
from litdiode.reading.header import heading
from litdiode.reading.units import unit

VOLTS = [-0.05, 0.0, 0.05, 0.1, 0.15, 0.2, 0.25, 0.3, 0.35, 0.4, 0.45, 0.5, 0.55, 0.6]
MILLI = [3.21, 3.2, 3.19, 3.185, 3.17, 3.16, 3.13, 3.08, 2.99, 2.81, 2.4, 1.7, 0.6, -1.1]


def rows(between: str = ",", decimal: str = ".", end: str = "\n") -> str:
    """The sweep above in V and mA, as text."""
    lines = [f"{v}{between}{i}" for v, i in zip(VOLTS, MILLI, strict=True)]
    return end.join(line.replace(".", decimal) for line in lines) + end


def parsed(text: str, **options: object) -> ParsedSweep:
    """The text as a sweep, with its figures checked to be the ones above."""
    found = parse_sweep(text, "cell.csv", **options)  # type: ignore[arg-type]
    np.testing.assert_allclose(found.voltage_v, VOLTS, rtol=1e-14)
    np.testing.assert_allclose(found.current_a, np.array(MILLI) * 1e-3, rtol=1e-14)
    return found


def refused(text: str, **options: object) -> str:
    """The message with which a text is refused."""
    with pytest.raises(ld.InputError) as caught:
        parse_sweep(text, "cell.csv", **options)  # type: ignore[arg-type]
    assert "cell.csv" in str(caught.value)
    return str(caught.value)


@pytest.mark.parametrize(
    ("between", "decimal"),
    [(",", "."), (";", "."), (";", ","), ("\t", ","), ("\t", "."), (" ", ","), ("   ", "."), (", ", ".")],
)
@pytest.mark.parametrize("end", ["\n", "\r\n", "\r", "\r\r\n"])
def test_delimiters_decimals_and_line_ends(between: str, decimal: str, end: str) -> None:
    found = parsed(f"V{between}I_mA{end}" + rows(between, decimal, end))
    assert any("decimal comma" in text for text in found.assumed) == (decimal == ",")


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
        "V (volts);I (milliamps)",
        "Voltage V;Current mA",
        "Voltage;Current\nV;mA",
        "# Voltage (V), Current (mA)",
        "a title\n# made by hand\n\nV;I (ma)",
    ],
)
def test_headings(head: str) -> None:
    parsed(head + "\n" + rows(";"))


def test_units_split_off_by_the_delimiter() -> None:
    parsed("Voltage, V, Current, mA\n" + rows(", "))
    parsed("U / V   I / mA\n" + rows(" "))
    parsed("U (V)   I (mA)\n" + rows("\t"))


@pytest.mark.parametrize(
    ("text", "kind", "factor"),
    [
        ("µA", "current", 1e-6),
        ("μA", "current", 1e-6),
        ("uA", "current", 1e-6),
        ("nA", "current", 1e-9),
        ("mV", "voltage", 1e-3),
        ("kV", "voltage", 1e3),
        ("microampere", "current", 1e-6),
        ("mA/cm2", "density", 1e-3),
        ("mA cm⁻²", "density", 1e-3),
        ("mA·cm^-2", "density", 1e-3),
        ("A/m²", "density", 1e-4),
        ("µA/mm^2", "density", 1e-4),
    ],
)
def test_units(text: str, kind: str, factor: float) -> None:
    found = unit(text)
    assert found is not None and found.kind == kind
    assert found.factor == pytest.approx(factor, rel=1e-14)


@pytest.mark.parametrize("text", ["", "s", "W", "Ω", "mW/cm2", "mV/cm2", "arb", "%"])
def test_no_units(text: str) -> None:
    assert unit(text) is None


@pytest.mark.parametrize(
    ("text", "quantity"),
    [
        ("Time (s)", "other"),
        ("Power (mW)", "other"),
        ("Current error (mA)", "other"),
        ("j (mA/cm2)", "density"),
        ("Current density [A/m²]", "density"),
        ("I/µA", "current"),
        ("index", "other"),
        ("remark", None),
        ("V (mA)", None),
    ],
)
def test_what_a_heading_says(text: str, quantity: str | None) -> None:
    assert heading(text).quantity == quantity


def test_milliamperes_are_never_amperes_in_silence(tmp_path: Path) -> None:
    file = tmp_path / "bare.csv"
    file.write_text("V,I\n" + rows())
    with pytest.warns(ld.LitdiodeWarning, match="no unit for the current: taken as A; pass current_unit="):
        sweep = ld.read_sweep(file)
    assert sweep.current_a[1] == 3.2
    assert any("taken as A" in change.what for change in sweep.changes)
    with warnings.catch_warnings():
        warnings.simplefilter("error", ld.LitdiodeWarning)
        sweep = ld.read_sweep(file, voltage_unit="V", current_unit="mA")
    assert sweep.current_a[1] == pytest.approx(3.2e-3)


def test_extra_columns_footer_and_muted_rows() -> None:
    lines = [f"10:0{n % 6}:00;{n};{v};{i};{v * i};" for n, (v, i) in enumerate(zip(VOLTS, MILLI, strict=True))]
    lines.insert(4, "# 10:00:00;9;9.0;9.0;81")
    lines.insert(5, "# 1;9;9.0;9.0;81")
    head = "Time (hh:mm:ss);Index;Voltage (V);Current (mA);Power (mW);\n"
    found = parsed(head + "\n".join(lines) + "\n\nend of file;;;;\n")
    assert any("text below the table left out, from line 19" in text for text in found.assumed)
    assert any("behind a comment mark left out: line 7" in text for text in found.assumed)


def test_measured_column_before_the_programmed_one() -> None:
    text = "\n".join(f"9,{v},{i}" for v, i in zip(VOLTS, MILLI, strict=True))
    found = parsed("Set voltage (V),Measured voltage (V),Current (mA)\n" + text)
    assert any("measured column" in said for said in found.assumed)


def test_columns_by_name_and_number() -> None:
    text = "a,b,I1 (mA),I2 (mA)\n" + "\n".join(f"1,{v},7,{i}" for v, i in zip(VOLTS, MILLI, strict=True))
    parsed(text, voltage="b", current="I2 (mA)", voltage_unit="V")
    parsed(text, voltage="B", current="i2", voltage_unit="V")
    parsed(text, voltage=1, current=3, voltage_unit="V")
    assert "pass voltage=" in refused(text, current=3)
    assert "'I1 (mA)', 'I2 (mA)'" in refused(text, voltage=1)
    assert "no such heading" in refused(text, voltage="volts", current=3)
    assert "no such column" in refused(text, voltage=9, current=3)
    assert "two different ones" in refused(text, voltage=3, current=3, voltage_unit="V")


def test_metadata() -> None:
    notes = (
        '# area: 25 mm²\ntemperature (°C) = 31,5\n"irradiance: 100 mW/cm2"\n'
        "% cells: 36\nlabel: cell A; second run\nOperator: nobody\n\n"
    )
    found = parsed(notes + "V;I_mA\n" + rows(";"))
    assert found.options == {
        "area_cm2": pytest.approx(0.25),
        "temperature_c": 31.5,
        "irradiance_w_m2": 1000.0,
        "cells": 36,
        "label": "cell A; second run",
    }
    assert found.metadata["Operator"] == "nobody"
    assert "line 2" in found.said["temperature_c"]


def test_metadata_parted_by_the_tables_delimiter() -> None:
    found = parsed("Area (cm²);0,25;\nTemperature (K);298,15;\nU / V;I / mA\n" + rows(";", ","))
    assert found.options == {"area_cm2": 0.25, "temperature_c": pytest.approx(25.0)}


@pytest.mark.parametrize(
    "entry", ["irradiance: 100", "area: 0.25", "irradiance: bright", "area: 1,000 cm2", "cells: 2.5"]
)
def test_metadata_without_a_clear_value_is_not_used(entry: str) -> None:
    found = parsed(f"# {entry}\nV;I_mA\n" + rows(";"))
    assert not found.options
    (doubt,) = found.doubts.values()
    assert entry in doubt and "pass" in doubt


def test_metadata_that_contradicts_itself() -> None:
    assert "area_cm2 was 0.25" in refused("# area: 0.25 cm2\n# area: 0.3 cm2\nV,I_mA\n" + rows())


def test_the_caller_wins_over_the_file(tmp_path: Path) -> None:
    file = tmp_path / "cell_7.csv"
    file.write_text("# cells: 3\n# temperature: 40 °C\nV (V),I (mA)\n" + rows(), encoding="utf-8")
    sweep = ld.read_sweep(file, cells=2)
    assert (sweep.cells, sweep.temperature_c, sweep.label) == (2, 40.0, "cell_7")
    said = " ".join(change.what for change in sweep.changes)
    assert "temperature_c = 40" in said and "cells" not in said


def test_density_needs_an_area(tmp_path: Path) -> None:
    file = tmp_path / "j.csv"
    file.write_text("V (V),j (mA/cm2)\n" + rows())
    with pytest.raises(ld.InputError, match="pass area_cm2="):
        ld.read_sweep(file)
    sweep = ld.read_sweep(file, area_cm2=0.25)
    assert sweep.current_a[1] == pytest.approx(3.2e-3 * 0.25)
    assert any("area_cm2 = 0.25" in change.what for change in sweep.changes)


@pytest.mark.parametrize(
    "encoding", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "utf-16-be", "utf-32", "latin-1", "cp1252"]
)
def test_encodings(tmp_path: Path, encoding: str) -> None:
    file = tmp_path / "µ.csv"
    file.write_bytes(("U / V;I / µA\n" + rows(";")).encode(encoding))
    sweep = ld.read_sweep(file)
    assert sweep.current_a[1] == pytest.approx(3.2e-6)
    assert ld.read_sweep(file, encoding=encoding).current_a[1] == pytest.approx(3.2e-6)


REFUSED = {
    "decimal marks are mixed": "V;I_mA\n0,1;3\n0.2;2\n",
    "may be 1.234 or 1234: pass decimal=','": "mV;µA\n1,234;5,678\n1,345;4,321\n",
    "line 4 ('0.05,'): the current is missing": "V,I_mA\n" + rows().replace("3.19", ""),
    "line 2 ('-0.05,'): the current is missing": "V,I_mA\n" + rows().replace("3.21", ""),
    "the current is 'NaN', not a number": "V,I_mA\n" + rows().replace("3.19", "NaN"),
    "the current is 'broken'": "V,I_mA\n" + rows().replace("3.19", "broken"),
    "thousands marks are not read": "V;I_mA\n" + rows(";").replace("3.19", "3.190.000"),
    "blank lines part 2 blocks of rows (lines 2–15, 17–30)": "V,I_mA\n" + rows() + "\n" + rows(),
    "text stands between rows": "V,I_mA\n" + rows() + "V,I_mA\n" + rows(),
    "an entry stands between rows": "V,I_mA\n" + rows() + "sweep: 2\n" + rows(),
    "current may be any of 'I1 (mA)', 'I2 (mA)'": "V (V),I1 (mA),I2 (mA)\n0,1,1\n0.1,1,1\n",
    "3 columns and no headings": "0,1,1\n0.1,1,1\n",
    "says voltage": "x,y\n" + rows(),
    "M is mega, but milli may be meant": "V (V),I (MA)\n" + rows(),
    "the unit 'arb' is not known": "V (V),I (arb)\n" + rows(),
    "pass voltage=1, current=0": "\n".join(f"{i},{v}" for v, i in zip(VOLTS, MILLI, strict=True)),
    "fewer headings than cells": "V,I_mA\n" + rows(",", ","),
    "1 cells, other rows have 3": "V I_mA W\n0 1 0\n0.1 1\n0.2 1 2".replace("0.1 1", "0.1"),
    "3 cells, other rows have 2": "V,I_mA\n" + rows().replace("3.19", "3.19,1"),
    "holds no data": "\n\n# nothing here\n",
    "no row with two numbers": "hello\nworld\n",
}


@pytest.mark.parametrize("message", REFUSED)
def test_what_cannot_be_decided_is_an_error_that_says_so(message: str) -> None:
    assert message in refused(REFUSED[message])


def test_a_shifted_cell_between_blanks_is_refused() -> None:
    # With the current missing, the power would slide into its column.
    assert "2 cells, other rows have 3" in refused("V I_mA P_mW\n0 3 0\n0.1 0.3\n0.2 3 0.6\n")


def test_double_spacing_is_one_sweep() -> None:
    parsed("V,I_mA\n\n" + rows(end="\n\n"))


def test_arguments_are_checked() -> None:
    text = "V,I_mA\n" + rows()
    assert "current_unit='W'" in refused(text, current_unit="W")
    with pytest.raises(ld.InputError, match="delimiter='ab'"):
        parse_sweep(text, delimiter="ab")
    with pytest.raises(ld.InputError, match="decimal='x'"):
        parse_sweep(text, decimal="x")
    with pytest.raises(ld.InputError, match="also parts the cells"):
        parse_sweep(text, decimal=",", delimiter=",")


def test_files_that_are_none(tmp_path: Path) -> None:
    with pytest.raises(ld.InputError, match="no such file"):
        ld.read_sweep(tmp_path / "none.csv")
    with pytest.raises(ld.InputError, match="folder"):
        ld.read_sweep(tmp_path)
    file = tmp_path / "photo.csv"
    file.write_bytes(bytes(range(256)) * 20)
    with pytest.raises(ld.InputError, match="binary file"):
        ld.read_sweep(file)
    file.write_text("V,I_mA\n" + rows())
    with pytest.raises(ld.InputError, match="encoding='klingon' is unknown"):
        ld.read_sweep(file, encoding="klingon")
    with pytest.raises(ld.InputError, match="aera_cm2= is no option"):
        ld.read_sweep(file, aera_cm2=1.0)


@settings(max_examples=300, deadline=None, database=None)
@given(st.text(alphabet="0123456789.,;:\t -+eE#%\"'VIUAm/()[]\nµnaN", max_size=200))
def test_any_text_is_read_or_refused(text: str) -> None:
    try:
        found = parse_sweep(text)
    except ld.InputError:
        return
    assert found.voltage_v.shape == found.current_a.shape
    assert np.isfinite(found.voltage_v).sum() + np.isinf(found.voltage_v).sum() == found.voltage_v.size


@settings(max_examples=200, deadline=None, database=None)
@given(st.binary(max_size=300))
def test_any_bytes_are_text_or_refused(data: bytes) -> None:
    try:
        text, _ = decode(data, "bytes")
    except ld.InputError:
        return
    assert isinstance(text, str)
