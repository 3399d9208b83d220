"""A study of many files: what its file says, what is common to its cells, what it gives back."""

from __future__ import annotations

import csv
import hashlib
import io
import json
from pathlib import Path

import numpy as np
import pytest
from invented_files import CELL, write_cells

import litdiode as ld


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    write_cells(tmp_path, "soot", 0.020, 5, seed=1)
    write_cells(tmp_path, "graphite", 0.017, 5, seed=2)
    return tmp_path


def study_file(folder: Path, *lines: str) -> Path:
    path = folder / "study.toml"
    path.write_text("\n".join(['files = ["*.csv"]', *lines]) + "\n", encoding="utf-8")
    return path


def test_what_is_stated_once_is_common_to_all(folder: Path) -> None:
    path = study_file(
        folder,
        'pattern = "{group}_{label:d}"',
        'area_cm2 = "1.00 ± 0.05"',
        'irradiance_w_m2 = { value = 1000, u = 50, name = "lamp" }',
        'temperature_c = "25 ± 1"',
        "[noise]",
        "current_a = 2e-5",
        "current_gain_u = 0.04",
    )
    study = ld.Study.read(path)
    assert list(study.groups) == ["graphite", "soot"] and len(study.sweeps) == 10
    a, b = (sweep.key_points().efficiency for sweep in study.sweeps[:2])
    assert a.u / a.value == pytest.approx(np.sqrt(0.05**2 + 0.05**2 + 0.04**2), rel=0.02)
    # Mask, lamp and gain move both alike: of 8 % nothing is left in the ratio but the scatter.
    assert (a / b).u / (a / b).value < 0.002
    [found] = study.comparisons()
    # What is common scales the difference alone; the rest is the spread of five and five cells.
    common, spread = 0.0812 * found.difference.value, [g.summary("efficiency").sd for g in study.groups.values()]
    assert found.verdict == "different"
    assert found.difference.u == pytest.approx(np.sqrt(common**2 + sum(s * s for s in spread) / 5), rel=0.02)
    assert study.stated[0].startswith("temperature (25.0 ± 1.0) °C: figures are those at this temperature")
    assert study.sweeps[0].temperature_c == 25


def test_corrections_come_in_order_from_the_file(folder: Path) -> None:
    path = study_file(
        folder,
        "[[corrections]]",
        'kind = "Offset"',
        'voltage_v = "0.002 ± 0.001"',
        "[[corrections]]",
        'kind = "LeadResistance"',
        "ohm = 0.5",
    )
    sweep = ld.Study.read(path).sweeps[0]
    plain = ld.read_sweep(folder / "graphite_1.csv")
    by_hand = plain.correct([ld.Offset(voltage_v=ld.Estimate(0.002, 0.001, unit="V")), ld.LeadResistance(0.5)])
    np.testing.assert_array_equal(sweep.voltage_v, by_hand.voltage_v)
    assert sweep.key_points().voc.u == pytest.approx(by_hand.key_points().voc.u)


def test_a_dark_sweep_and_a_calibration(folder: Path) -> None:
    v = np.linspace(-0.1, 0.9, 30)
    (folder / "dark.txt").write_text("V (V),I (mA)\n" + "\n".join(f"{a:.4f},{-1e-3 * a:.6f}" for a in v) + "\n")
    lines = ["[[corrections]]", 'kind = "DarkSweep"', 'file = "dark.txt"', "[[corrections]]", 'kind = "Calibration"']
    sweep = ld.Study.read(study_file(folder, *lines, "current = [[-1, 1], [-2, 2]]")).sweeps[0]
    plain = ld.read_sweep(folder / "graphite_1.csv")
    np.testing.assert_allclose(sweep.current_a, 2 * (plain.current_a + 1e-6 * plain.voltage_v), rtol=1e-6, atol=1e-12)


@pytest.mark.parametrize(
    ("lines", "told"),
    [
        (["aera_cm2 = 1"], r"study\.toml, line 2: 'aera_cm2' is no key of a study: did you mean area_cm2\?"),
        (["[noise]", "curent_a = 1"], r"line 3: 'curent_a' in \[noise\].*did you mean current_a"),
        (["[reading]", "decimals = 1"], r"line 3: 'decimals' in \[reading\].*decimal"),
        (["[gruops]", "a = 1"], r"line 2: 'gruops'.*groups"),
        (["[[corrections]]", 'kind = "Ofset"'], "correction 1: kind = 'Ofset' is none: did you mean Offset"),
        (["[[corrections]]", 'kind = "Offset"', "volts = 1"], r"'volts' in \[corrections\].*voltage_v"),
        (["[[corrections]]", 'kind = "SenseResistor"'], "give ohm"),
        (['conditions = "none.csv"'], r"none\.csv: cannot be read"),
        (["conditions = 3"], "conditions = 3 must be a text"),
        (["noise = 3"], r"noise = 3 must be a table: write \[noise\]"),
        (["corrections = 3"], r"\[\[corrections\]\]"),
        (['area_cm2 = "1 pm 2"'], r"area_cm2 = '1 pm 2' is no number; pass 100 or 100 ± 0\.5"),
        (["area_cm2 = { u = 1 }"], "must have value"),
        (["area_cm2 = 1 cm"], "check the line"),
        (['figures = ["shape"]'], "'shape' is not known; pass some of isc"),
        (['figures = ["rs"]'], "parameters of a fit need diodes=1"),
        (['reference = "C"'], "reference='C' is no group"),
        (["margins = 5"], "share between 0 and 1"),
        (["[margins]", "voc = 0.1"], "'voc' is not compared"),
        (["diodes = 3"], "diodes = 3"),
        (["level = 2"], "level"),
        (["[groups]", 'A = ["none*"]'], "no sweep fits 'none\\*'"),
        (["[groups]", 'A = ["soot*"]', 'B = ["soot_1"]'], "soot_1 is in 'A' and in 'B'"),
        (['title = "a"', 'title = "b"'], "check the line"),
    ],
)
def test_a_wrong_study_file_is_told(folder: Path, lines: list[str], told: str) -> None:
    with pytest.raises((ld.InputError, TypeError), match=told):
        ld.Study.read(study_file(folder, *lines))


def test_a_study_file_that_is_not_there(tmp_path: Path) -> None:
    with pytest.raises(ld.InputError, match="cannot be read"):
        ld.Study.read(tmp_path / "none.toml")
    (tmp_path / "study.toml").write_text('files = ["*.csv"]')
    with pytest.warns(ld.LitdiodeWarning), pytest.raises(ld.InputError, match=r"no sweep can be read.*no file fits"):
        ld.Study.read(tmp_path / "study.toml")


def test_one_bad_file_spoils_no_other(folder: Path) -> None:
    (folder / "bad.csv").write_text("nothing\n")
    with pytest.warns(ld.LitdiodeWarning, match="bad.csv"):
        study = ld.Study.read(study_file(folder))
    assert len(study.sweeps) == 10 and list(study.unreadable) == [str(folder / "bad.csv")]
    assert str(folder / "bad.csv") in json.loads(study.to_json())["unreadable"]


def test_tables_of_the_study_are_inputs_and_no_cells(folder: Path) -> None:
    (folder / "cells.csv").write_text("file,area_cm2\nsoot_*.csv,0.5\n")
    v = np.linspace(-0.1, 0.9, 30)
    (folder / "dark.csv").write_text("V (V),I (mA)\n" + "\n".join(f"{a:.4f},{-1e-3 * a:.6f}" for a in v) + "\n")
    lines = ['conditions = "cells.csv"', "[[corrections]]", 'kind = "DarkSweep"', 'file = "dark.csv"']
    study = ld.Study.read(study_file(folder, *lines))
    assert len(study.sweeps) == 10 and not study.unreadable
    assert sum(sweep.area_cm2 is not None for sweep in study.sweeps) == 5
    assert [Path(file).name for file in study.inputs()][:3] == ["study.toml", "cells.csv", "dark.csv"]
    assert study.inputs()[str(folder / "cells.csv")] == hashlib.sha256((folder / "cells.csv").read_bytes()).hexdigest()
    with pytest.warns(ld.LitdiodeWarning, match="no unit"):
        (folder / "study.toml").unlink()
        (folder / "dark.csv").write_text("V,I\n" + "\n".join(f"{a:.4f},{-1e-3 * a:.6f}" for a in v) + "\n")
        assert len(ld.read_sweeps(folder, conditions=folder / "cells.csv", sign="generator", leads="as_given")) == 11


def test_a_file_that_two_patterns_name_is_read_once(folder: Path) -> None:
    path = folder / "study.toml"
    path.write_text('files = ["*.csv", "soot_1.csv", "soot_*.csv"]')
    assert len(ld.Study.read(path).sweeps) == 10


def test_figures_are_tidy_and_the_same_everywhere(folder: Path) -> None:
    pytest.importorskip("pandas")
    study = ld.Study.read(study_file(folder, 'pattern = "{group}_{label:d}"', "diodes = 1", "resistances = true"))
    frame = study.frame()
    assert list(frame.columns) == ["label", "group", "figure", "method", "value", "u", "unit", "remark"]
    assert set(frame["method"]) >= {"curve", "one diode", "quoted"}
    assert set(frame["label"]) == {f"{group} {k}" for group in ("soot", "graphite") for k in range(1, 6)}
    points = study.sweeps[0].key_points()
    one = frame[(frame["label"] == "graphite 1") & (frame["figure"] == "voc") & (frame["method"] == "curve")].iloc[0]
    assert (one["value"], one["u"], one["unit"], one["group"]) == (points.voc.value, points.voc.u, "V", "graphite")
    read = list(csv.DictReader(io.StringIO(study.to_csv())))
    assert len(read) == len(frame) and list(read[0]) == list(frame.columns)
    told = json.loads(study.to_json())
    assert len(told["figures"]) == len(frame) and told["comparisons"][0]["verdict"] == study.comparisons()[0].verdict
    assert len(told["inputs"]) == 11 and all(len(one["sha256"]) == 64 for one in told["inputs"])
    assert not (frame["value"].isna() & (frame["remark"] == "")).any()
    lacking = [row for row in told["figures"] if row["value"] is None]
    assert lacking and all(row["remark"] for row in lacking)


def test_pairs_reference_and_parameters_of_fits(folder: Path) -> None:
    write_cells(folder, "mixed", 0.019, 3, seed=3)
    rows = ['pattern = "{group}_{label:d}"', "diodes = 1", 'figures = ["voc", "rs"]']
    study = ld.Study.read(study_file(folder, *rows))
    assert [(c.figure, c.first, c.second) for c in study.comparisons()][:3] == [
        ("voc", "graphite", "mixed"),
        ("voc", "graphite", "soot"),
        ("voc", "mixed", "soot"),
    ]
    against = ld.Study.read(study_file(folder, *rows, 'reference = "soot"'))
    assert [(c.figure, c.first, c.second) for c in against.comparisons()] == [
        ("voc", "graphite", "soot"),
        ("voc", "mixed", "soot"),
        ("rs", "graphite", "soot"),
        ("rs", "mixed", "soot"),
    ]
    by_hand = ld.compare(
        ld.Group("graphite", [ld.fit_single_diode(against.sweeps[k]) for k in against.places["graphite"]]),
        ld.Group("soot", [ld.fit_single_diode(against.sweeps[k]) for k in against.places["soot"]]),
        "rs",
    )
    assert against.comparisons()[2].difference.value == pytest.approx(by_hand.difference.value, rel=1e-9)


def test_what_cannot_be_compared_is_said() -> None:
    cell, tracer = ld.SingleDiode(iph_a=0.02, **CELL), ld.Instrument(noise_current_a=2e-5)
    sweep, *others = (ld.simulate_sweep(cell, tracer, seed=seed) for seed in (1, 2, 3))
    study = ld.Study([sweep, *others], groups=["A", "A", "B"])
    assert study.comparisons() == [] and "B: 1 cells have" in study.not_compared()[0]
    assert isinstance(study.summaries("pmax")["B"], str) and study.labels == ["sweep 0", "sweep 1", "sweep 2"]
    with pytest.raises(ld.InputError, match="groups has 1 names for 3 sweeps"):
        ld.Study([sweep] * 3, groups=["A"])
    with pytest.raises(ld.InputError, match="empty"):
        ld.Study([])
    assert ld.Study([sweep]).comparisons() == []


def test_same_labels_are_told_apart(tmp_path: Path) -> None:
    for name in ("day 1/cell.csv", "day 2/cell.csv", "day 2/other.csv"):
        (tmp_path / name).parent.mkdir(exist_ok=True)
        write_cells(tmp_path, "x", 0.02, 1, seed=1)
        text = (tmp_path / "x_1.csv").read_text()
        (tmp_path / name).write_text("# label: cell\n" + text if "other" in name else text)
    found = ld.Study(ld.read_sweeps([tmp_path / "day 1", tmp_path / "day 2"]))
    assert sorted(found.labels) == ["day 1 cell", "day 2 cell", "other cell"]
    sweep = found.sweeps[0]
    assert ld.Study([sweep, sweep]).labels == ["cell (1)", "cell (2)"]
