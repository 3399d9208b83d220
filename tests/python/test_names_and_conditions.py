"""Groups, labels and conditions of many files: from their names, and from a table."""

from __future__ import annotations

import hashlib
import os
import warnings
from pathlib import Path

import pytest

import litdiode as ld
from litdiode.reading import NamePattern
from litdiode.reading.quantities import quantity

ROWS = "V (V),I (mA)\n-0.1,30\n0.1,30\n0.2,30\n0.4,28\n0.5,17\n0.6,-41\n"  # invented


def files(folder: Path, *names: str) -> Path:
    for name in names:
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(ROWS)
    return folder


@pytest.mark.parametrize(
    ("pattern", "name", "fields"),
    [
        ("{group}_{label}.csv", "far/soot_1.csv", {"group": "soot", "label": "1"}),
        ("{group}_{label:d}", "soot_black_12.txt", {"group": "soot_black", "label": "12"}),
        ("{batch}/{group}/{_}-{label}.csv", "a/day 1/A/x-7.csv", {"batch": "day 1", "group": "A", "label": "7"}),
        ("({group}) [{label}].csv", "(a+b) [1].csv", {"group": "a+b", "label": "1"}),
        ("{group}/{label}", "up/grün/3.v2.csv", {"group": "grün", "label": "3.v2"}),
    ],
)
def test_what_a_name_says(pattern: str, name: str, fields: dict[str, str]) -> None:
    assert NamePattern(pattern).fields(name) == fields


@pytest.mark.parametrize(
    ("pattern", "name", "told"),
    [
        ("{group}_{label}.csv", "soot.csv", r"soot\.csv: the name does not fit"),
        ("{group}_{label}.csv", "soot_1.txt", "does not fit"),
        ("{group}_{label}.csv", "soot_black_1.csv", r"two ways, group='soot_black' label='1' or group='soot'.*:d"),
        ("{batch}/{group}_{label}.csv", "soot_1.csv", "does not fit"),
    ],
)
def test_a_name_that_does_not_fit_is_said(pattern: str, name: str, told: str) -> None:
    with pytest.raises(ld.InputError, match=told):
        NamePattern(pattern).fields(name)


@pytest.mark.parametrize(
    ("pattern", "told"),
    [
        ("{gruop}_{label}", "gruop.*pass {group}"),
        ("plain.csv", "no field"),
        ("{label}_{label}", "twice"),
        ("{group", "open"),
        ("{group:s}", "digits"),
    ],
)
def test_a_template_that_is_none_is_said(pattern: str, told: str) -> None:
    with pytest.raises(ld.InputError, match=told):
        NamePattern(pattern)


def test_groups_and_labels_from_names(tmp_path: Path) -> None:
    found = ld.read_sweeps(files(tmp_path, "soot_1.csv", "graphite_1.csv"), pattern="{group}_{label}.csv")
    assert [(s.label, o.group) for s, o in zip(found, found.origins, strict=True)] == [("1", "graphite"), ("1", "soot")]
    assert found.origins[0].sha256 == hashlib.sha256(ROWS.encode()).hexdigest()
    files(tmp_path, "stray.csv")
    with pytest.raises(ld.InputError, match=r"stray\.csv.*does not fit"):
        ld.read_sweeps(tmp_path, pattern="{group}_{label}.csv")
    with pytest.warns(ld.LitdiodeWarning, match=r"stray\.csv.*no group"):
        found = ld.read_sweeps(tmp_path, pattern="{group}_{label}.csv", unreadable="warn")
    assert [o.group for o in found.origins] == ["graphite", "soot", None] and found[2].label == "stray"


def test_several_sweeps_of_one_file_keep_their_names(tmp_path: Path) -> None:
    rows = ["-0.1,30,29", "0.2,30,29", "0.4,28,27", "0.5,17,16", "0.6,-41,-42"]
    (tmp_path / "A_7.csv").write_text("\n".join(["V (V),left (mA),right (mA)", *rows]))
    found = ld.read_sweeps(tmp_path, pattern="{group}_{label}.csv")
    assert [sweep.label for sweep in found] == ["7 left (mA)", "7 right (mA)"]
    assert [origin.group for origin in found.origins] == ["A", "A"]


def test_conditions_of_files_and_of_labels(tmp_path: Path) -> None:
    files(tmp_path, "data/a.csv", "data/b.csv")
    table = tmp_path / "cells.csv"
    table.write_text(
        "# invented\nfile;label;area_cm2;irradiance_w_m2;cells;group;noise_current_a\n"
        "a.csv;first;0.2 ± 0.01 (mask 1);1000;1;A;1e-5\nb.csv;;0.4 +- 0.02 (mask 1);500;;B;1e-5\n"
    )
    a, b = found = ld.read_sweeps(tmp_path / "data", conditions=table)
    assert (a.label, b.label) == ("first", "b") and [o.group for o in found.origins] == ["A", "B"]
    assert a.area_cm2.value == 0.2 and a.area_cm2.u == 0.01 and b.irradiance_w_m2.value == 500
    # The name of the mask makes both one source: 5 % of each, all of it common.
    ratio = a.key_points().jsc / b.key_points().jsc
    alone = (a.key_points().isc / b.key_points().isc).u / (a.key_points().isc / b.key_points().isc).value
    assert ratio.u / ratio.value == pytest.approx(alone, rel=1e-6)
    assert a.noise.current_a == 1e-5
    [c, d] = ld.read_sweeps(tmp_path / "data", conditions=[{"label": "a", "area_cm2": 0.3, "group": "A"}])
    assert c.area_cm2.value == 0.3 and d.area_cm2 is None


def test_rows_of_equal_noise_are_one_instrument(tmp_path: Path) -> None:
    files(tmp_path, "a.csv", "b.csv")
    rows = [{"file": f"{name}.csv", "noise_current_a": 1e-6, "noise_current_gain_u": 0.05} for name in "ab"]
    a, b = (sweep.key_points().isc for sweep in ld.read_sweeps(tmp_path, conditions=rows))
    assert a.u > 0.04 * a.value and (a - b).u < 0.01 * a.value


def test_a_label_of_the_file_itself_has_its_row(tmp_path: Path) -> None:
    (tmp_path / "x.csv").write_text("# label: cell 9\n" + ROWS)
    [found] = ld.read_sweeps(tmp_path, conditions=[{"label": "cell 9", "area_cm2": 0.3}])
    assert found.area_cm2.value == 0.3 and found.label == "cell 9"


@pytest.mark.parametrize(
    ("rows", "told"),
    [
        ([{"file": "a.csv", "area": 0.2}], "'area' is no column: did you mean area_cm2"),
        ([{"file": "a.csv", "area_cm2": "0,2"}], r"row 1: area_cm2 = '0,2' is no number.*point"),
        ([{"file": "a.csv", "cells": "1.5"}], "whole number"),
        ([{"area_cm2": 1}], "neither file nor label"),
        ([{"file": "a.csv"}, {"file": "a.csv"}], "rows 1 and 2 are both about"),
        ([{"file": "none.csv", "area_cm2": 1}], r"no file fits row 1 \(none.csv\)"),
        ([{"file": "a.csv", "temperature_c": "25 ± 1"}], "without ±"),
        (["a.csv"], "conditions\\[0\\]"),
    ],
)
def test_a_wrong_table_is_told(tmp_path: Path, rows: list[dict[str, object]], told: str) -> None:
    with pytest.raises((ld.InputError, TypeError), match=told):
        ld.read_sweeps(files(tmp_path, "a.csv"), conditions=rows)


def test_a_frame_of_conditions(tmp_path: Path) -> None:
    pandas = pytest.importorskip("pandas")
    frame = pandas.DataFrame({"file": ["a.csv", "b.csv"], "area_cm2": [0.2, None], "cells": [1, 2]})
    a, b = ld.read_sweeps(files(tmp_path, "a.csv", "b.csv"), conditions=frame)
    assert a.area_cm2.value == 0.2 and b.area_cm2 is None and (a.cells, b.cells) == (1, 2)


def test_one_bad_file_spoils_no_other(tmp_path: Path) -> None:
    files(tmp_path, "a.csv")
    (tmp_path / "bad.csv").write_text("nothing here\n")
    with pytest.raises(ld.InputError):
        ld.read_sweeps(tmp_path)
    with pytest.warns(ld.LitdiodeWarning, match="left out"):
        found = ld.read_sweeps([tmp_path, tmp_path / "empty*"], unreadable="warn")
    assert len(found) == 1 and len(found.unreadable) == 2
    with pytest.raises(ld.InputError, match="unreadable"):
        ld.read_sweeps(tmp_path, unreadable="skip")


@pytest.mark.skipif(os.name == "nt", reason="names of files are Unicode there")
def test_a_name_that_is_no_utf_8(tmp_path: Path) -> None:
    path = os.path.join(os.fsencode(tmp_path), b"caf\xe9_1.csv")
    with open(path, "w") as file:
        file.write(ROWS)
    [found] = ld.read_sweeps(tmp_path, pattern="{group}_{label}.csv")
    assert found.label == "1" and ld.read_sweeps(os.fsdecode(path))[0].label == "caf\ufffd_1"


def test_progress_counts_files(tmp_path: Path) -> None:
    told: list[int] = []
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        ld.read_sweeps(files(tmp_path, "a.csv", "b.csv"), progress=told.append)
    assert told == [1, 2]


def test_quantities() -> None:
    assert quantity("100") == 100 and quantity(" −2.5e-3 ") == -2.5e-3
    found = quantity("100 +- 0.5 (lamp)", "W/m²")
    assert isinstance(found, ld.Estimate) and (found.value, found.u, found.unit) == (100, 0.5, "W/m²")
    for text in ("ten", "nan", "1 ± x", "1 (name)", "", True):
        with pytest.raises(ld.InputError, match="pass 100"):
            quantity(text)
