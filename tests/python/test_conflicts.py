"""Files that two readings explain, or that lack a cell: never wrong in silence. All data are invented."""

import json

import numpy as np
import pytest

import litdiode as ld

V = [-0.08, 0.05, 0.18, 0.31, 0.44, 0.575, 0.64]
I_MA = [30.4, 30.25, 30.1, 29.95, 29.6, 23.6, -5.1]


def rows(mark: str = ",", extra: str = "") -> list[str]:
    """The readings as lines."""
    return [f"{v:.3f}{mark}{i:.3f}{extra}" for v, i in zip(V, I_MA, strict=True)]


def page(inside: list[str]) -> str:
    """A table of a web page."""
    return "<table><tr><th>V (V)</th><th>I (mA)</th></tr>" + "".join(inside) + "</table>"


def items(name: str, values: list[float]) -> str:
    """A list with an item a line."""
    return f"{name}:\n" + "".join(f"  - {x}\n" for x in values)


CELLS = [f"<tr><td>{v}</td><td>{i}</td></tr>" for v, i in zip(V, I_MA, strict=True)]

REFUSED = {
    "two things in a cell": page([*CELLS[:3], "<tr><td>0.31</td><td>29.95<br>12</td></tr>", *CELLS[4:]]),
    "a footnote in a cell": page([*CELLS[:3], "<tr><td>0.31</td><td>29.95<sup>2</sup></td></tr>", *CELLS[4:]]),
    "a cell over two rows": page([*CELLS[:3], "<tr><td rowspan=2>0.31</td><td>29.95</td></tr>", *CELLS[4:]]),
    "a missing cell": "\n".join(["V (V),I (mA),gain", *rows(",", ",1.000")]).replace("0.180,30.100", "0.180"),
    "a list changed later": f"voltage_V = {V}\ncurrent_mA = {I_MA}\nvoltage_V = [x/1000 for x in voltage_V]\n",
    "a list with two units": f"voltage_V = {V}\ncurrent_A = {I_MA} # mA\n",
    "commas of both kinds": "voltage_V = 0,1, 2,3, 4,5, 6,7\ncurrent_mA = 9,8, 7,6, 5,4, 3,2\n",
    "a row of other units": "\n".join(["V (V),I (A)", "V,mA", *rows()]),
    "a density in mA": "\n".join(["V (V),current density (mA)", *rows()]),
    "a key twice": json.dumps({"V_V": V, "I_mA": I_MA})[:-1] + f', "I_mA": {I_MA}}}',
    "a delimiter too many above": "\n".join(["V (V);;I (mA);R (ohm);P (mW)", *rows(";", ";57.7;0.02")]),
    "an item without a number": items("voltage_V", [*V[:3], *V[4:]]) + items("current_mA", I_MA).replace("29.95", ""),
    "an item or a minus": items("voltage_V", V) + items("current_mA", I_MA).replace("- 29.95", "-29.95"),
    "a list without its end": f"voltage_V = {V}\ncurrent_mA = {I_MA}"[:-2],
    "half a code of a terminal": "\n".join(["V (V),I (mA)", *rows(",", "\x1b[0m")]).replace("\x1b[0m", "\x1b0m", 1),
    "units that contradict": json.dumps({"units": {"current": "mA"}, "voltage_V": V, "current_A": I_MA}),
}


WORDS = {
    "two things in a cell": "'29.95 12', and '12' is no unit of current",
    "a footnote in a cell": "'29.95 2', and '2' is no unit of current",
    "a cell over two rows": "no row with two numbers was found",
    "a missing cell": "2 cells, other rows have 3",
    "a list changed later": "columns and no headings",
    "a list with two units": "columns and no headings",
    "commas of both kinds": "columns and no headings",
    "a row of other units": "the current is in two units: the heading is 'I (A)', line 2 says 'mA'",
    "a density in mA": "'current density (mA)' says current",
    "a key twice": "the key 'I_mA' stands twice",
    "a delimiter too many above": "there are 5 headings and 4 cells in a row",
    "an item without a number": "the list 'current_mA' has an item without a number",
    "an item or a minus": "the dash may mark an item of the list 'current_mA' or a negative number",
    "a list without its end": "'current_mA' begins with a bracket that is not closed",
    "half a code of a terminal": "line 2 ('-0.080,30.400'): an escape character",
    "units that contradict": "the heading is 'current_A', line 1 says 'mA'",
}


@pytest.mark.parametrize("kind", REFUSED)
def test_what_conflicts_is_refused(kind: str):
    with pytest.raises(ld.InputError) as caught:
        ld.read_sweep(REFUSED[kind].encode(), sign="generator", leads="as_given")
    assert WORDS[kind] in str(caught.value)


@pytest.mark.parametrize(
    "text",
    [
        page(CELLS),
        "\n".join(["V (V),I (mA),gain", *rows(",", ",1.000")]),
        f"voltage_V = {V}\ncurrent_mA = {I_MA}\n",
        f"voltage_V = {V}\ncurrent_mA = {I_MA} # mA\n",
        "\n".join(["V (V),I (mA)", "V,mA", *rows()]),
        json.dumps({"V_V": V, "I_mA": I_MA}),
        json.dumps({"units": {"current": "mA"}, "voltage_V": V, "current_mA": I_MA}),
    ],
)
def test_without_the_conflict_it_is_read(text: str):
    sweep = read(text)
    np.testing.assert_allclose(sweep.voltage_v, V)
    np.testing.assert_allclose(sweep.current_a, np.multiply(I_MA, 1e-3))


def read(text: str, **options) -> ld.Sweep:
    """One sweep whose sign is not to be found."""
    return ld.read_sweep(text.encode(), sign="generator", leads="as_given", **options)


@pytest.mark.parametrize(
    "text",
    [
        page([*CELLS, "<!-- <tr><td>0.7</td><td>-9.1</td></tr> -->"]),
        page([*CELLS, "<template><tr><td>0.7</td><td>-9.1</td></tr></template>"]),
        page([*CELLS, "<tfoot><tr><td>0.3</td><td>22.1</td></tr></tfoot>"]),
        page(CELLS).replace("-5.1", "&#8722;5.1").replace("I (mA)", "I&nbsp;&#40;mA&#41;"),
    ],
)
def test_a_page_is_read_as_it_shows(text: str):
    np.testing.assert_allclose(read(text).current_a, np.multiply(I_MA, 1e-3))


def test_columns_are_paired_by_their_names():
    other = [20.4, 20.25, 20.1, 19.95, 19.6, 13.6, -3.1]
    text = "\n".join(f"{n} = {x}" for n, x in (("v_a_V", V), ("v_b_V", V), ("i_b_mA", other), ("i_a_mA", I_MA)))
    found = {sweep.label: sweep for sweep in ld.read_sweeps(text.encode())}
    np.testing.assert_allclose(found["i_a_mA"].current_a, np.multiply(I_MA, 1e-3))
    crossed = "V1 (V),I2 (mA),V2 (V),I1 (mA)\n" + "\n".join(
        f"{v},{b},{v + 0.001},{a}" for v, a, b in zip(V, I_MA, other, strict=True)
    )
    found = {sweep.label: sweep for sweep in ld.read_sweeps(crossed.encode())}
    np.testing.assert_allclose(found["I1 (mA)"].voltage_v, V)
    np.testing.assert_allclose(found["I1 (mA)"].current_a, np.multiply(I_MA, 1e-3))


def test_numbers_that_are_in_no_sweep_are_told():
    text = json.dumps({"a": {"V_V": V, "I_mA": I_MA}, "b": [[v, i] for v, i in zip(V, I_MA, strict=True)]})
    assert any("14 of 28 numbers in lists are in no sweep" in change.what for change in read(text).changes)


@pytest.mark.parametrize(
    ("line", "name", "value"),
    [
        ("Area: 0.160(2) cm2", "area_cm2", 0.16),
        ("Area: 0.16 ± 0.01 cm2", "area_cm2", 0.16),
        ("Irradiance: 985 +/- 20 W/m2", "irradiance_w_m2", 985.0),
        ("area=0.16cm2 G=900W/m2 T=31C", "irradiance_w_m2", 900.0),
        ("# area: 0.16 cm2 | irradiance: 900 W/m2 | temperature: 31 C", "irradiance_w_m2", 900.0),
        ("Area=0.16 cm2;Irradiance=900 W/m2", "irradiance_w_m2", 900.0),
    ],
)
def test_values_beside_the_table(line: str, name: str, value: float):
    found = getattr(read("\n".join([line, "V (V),I (mA)", *rows()])), name)
    assert found.value == value


def test_what_stands_below_each_table_is_said_of_it():
    text = "".join("\n".join(["V (V),I (mA)", *rows(), f"Area: {area} cm2", "", ""]) for area in (0.1, 0.2, 0.3))
    assert [sweep.area_cm2.value for sweep in ld.read_sweeps(text.encode())] == [0.1, 0.2, 0.3]


def test_a_row_without_its_unit_has_that_of_the_others():
    lines = [f"{v:.3f};V;{i:.3f};mA" for v, i in zip(V, I_MA, strict=True)]
    lines[5] = lines[5].removesuffix(";mA")
    for text in ("\n".join(["U;unit;I;unit", *lines]), "\n".join(["U;unit;I;unit", *lines[:3], "-----", *lines[3:]])):
        sweep = read(text)
        np.testing.assert_allclose(sweep.current_a, np.multiply(I_MA, 1e-3))
        assert any("has no unit as well" in change.what for change in sweep.changes)


def test_headings_of_an_earlier_table_are_told():
    text = "\n".join(["# area: 0.1 cm2", "V (V),I (mA)", *rows(), "", "# area: 0.2 cm2", *rows(), ""])
    first, second = ld.read_sweeps(text.encode())
    told = [any("no headings of its own: those of line 2" in c.what for c in s.changes) for s in (first, second)]
    assert told == [False, True] and second.area_cm2.value == 0.2


def test_what_may_be_missing_from_a_list_is_told():
    lists = items("voltage_V", V) + items("current_mA", I_MA)
    for text, words in (
        (lists.replace("  - 0.05\n", "\n").replace("  - 29.95\n", ""), "a blank line within the list 'voltage_V'"),
        (lists.replace("  - 0.05\n", "lamp off\n  - 0.05\n"), "text within the list 'voltage_V' left out: line 3"),
        (lists.rstrip("\n"), "the last number may be cut"),
    ):
        assert any(words in change.what for change in read(text).changes), words


def test_a_frame_with_numbered_columns_has_no_headings():
    pandas = pytest.importorskip("pandas")
    with pytest.warns(ld.LitdiodeWarning, match="no unit"):
        sweep = ld.read_sweep(pandas.DataFrame(np.column_stack([V, np.multiply(I_MA, 1e-3)])))
    np.testing.assert_allclose(sweep.voltage_v, V)
