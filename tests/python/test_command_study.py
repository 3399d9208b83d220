"""The command line of a study: groups, verdicts, files for machines, and terminals of all kinds."""

from __future__ import annotations

import csv
import io
import json
import os
import shutil
import subprocess
import sys
from importlib import resources
from pathlib import Path

import pytest
from invented_files import CELL, write_cells

import litdiode as ld
from litdiode.__main__ import main
from litdiode.study.verdicts import sentence
from litdiode.study.writing import version
from litdiode.table import Row, table


def write(folder: Path, recipe: str, iph: float, cells: int = 4) -> None:
    write_cells(folder, recipe, iph, cells, seed=round(1e6 * iph), spread=0.01, head="")


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    write(tmp_path / "day", "soot", 0.020)
    write(tmp_path / "day", "graphite", 0.017)
    return tmp_path / "day"


def run(*arguments: str, stdout: object = subprocess.PIPE, **environment: str) -> subprocess.CompletedProcess[str]:
    command = [sys.executable, "-m", "litdiode", *arguments]
    env = {**os.environ, "PYTHONIOENCODING": "utf-8", **environment}
    return subprocess.run(command, stdout=stdout, stderr=subprocess.PIPE, text=True, encoding="utf-8", env=env)  # type: ignore[call-overload]


def test_groups_by_name_get_a_verdict(folder: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    asked = [str(folder), "--group-pattern", "{group}_{label}.csv", "--out", str(tmp_path / "out")]
    assert main(asked) == 0
    shown = capsys.readouterr().out
    assert "Pmax of soot is higher than of graphite, by" in shown
    # Labels are told apart by their groups.
    assert "graphite 1 " in shown and "soot 1 " in shown
    assert {file.name for file in (tmp_path / "out").iterdir()} == {"sweeps.png", "groups.png"}
    assert main([*asked, "--area-cm2", "1.0+-0.02", "--irradiance-w-m2", "1000"]) == 0
    assert "η of soot is higher than of graphite, by" in capsys.readouterr().out


def test_a_name_that_does_not_fit_is_a_line(folder: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    shutil.copy(folder / "soot_1.csv", folder / "stray.csv")
    assert main([str(folder), "--group-pattern", "{group}_{label}.csv", "--out", str(tmp_path / "out")]) == 0
    shown = capsys.readouterr()
    [line] = shown.err.splitlines()
    assert line.startswith("warning: ") and "stray.csv" in line and "--group-pattern" in line
    assert "stray " in shown.out


def test_fits_and_resistances(folder: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main([str(folder / "soot_1.csv"), "--fit", "--resistances", "--out", str(tmp_path)]) == 0
    shown = capsys.readouterr().out
    assert "Fit of one diode" in shown and "Rsh / kΩ" in shown and "Resistances to quote" in shown
    assert "Rs by the diode fit, lit" in shown
    assert main([str(folder / "soot_1.csv"), "--fit", "2", "--out", str(tmp_path)]) == 0
    assert "Fit of two diodes" in capsys.readouterr().out


@pytest.mark.parametrize("kind", ["csv", "json"])
def test_machines_read_the_standard_output(kind: str, folder: Path, tmp_path: Path) -> None:
    done = run(str(folder), f"--{kind}", "-", "--group-pattern", "{group}_{label}.csv", "--out", str(tmp_path / "out"))
    assert done.returncode == 0, done.stderr
    assert not (tmp_path / "out").exists()
    rows = list(csv.DictReader(io.StringIO(done.stdout))) if kind == "csv" else json.loads(done.stdout)["figures"]
    assert len(rows) == 64 and {row["group"] for row in rows} == {"soot", "graphite"}
    target = tmp_path / f"all.{kind}"
    assert run(str(folder), f"--{kind}", str(target), "--out", str(tmp_path / "out")).returncode == 0
    assert len(target.read_text(encoding="utf-8").splitlines()) > 64
    assert run(str(folder), "--csv", "-", "--json", "-").returncode == 2
    assert run(str(folder), f"--{kind}", str(folder / "no" / "file")).returncode == 1


def test_the_demo_for_machines(tmp_path: Path) -> None:
    done = run("--json", "-")
    assert json.loads(done.stdout)["title"] == "Soot against graphite (invented data)"
    assert "Its data are invented" in done.stderr


def test_a_report_is_written(folder: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    pytest.importorskip("jinja2")
    target = tmp_path / "far" / "page.html"
    assert main([str(folder), "--report", str(target), "--out", str(tmp_path / "out")]) == 0
    assert {file.name for file in target.parent.iterdir()} == {"page.html", "page.csv", "page.json"}
    assert main([str(folder), "--report", str(tmp_path / "page.pdf"), "--out", str(tmp_path / "out")]) == 1
    assert "ends in .html" in capsys.readouterr().err


def test_a_study_file_brings_its_report(folder: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    pytest.importorskip("jinja2")
    path = folder / "study.toml"
    path.write_text('files = ["*.csv"]\npattern = "{group}_{label}"\narea_cm2 = 1.0\nirradiance_w_m2 = 1000\n')
    assert main([str(path), "--out", str(tmp_path / "out")]) == 0
    shown = capsys.readouterr().out
    assert "η of soot is higher" in shown and f"Report: {tmp_path / 'out' / 'report.html'}" in shown
    # What is given on the command line wins over the study file.
    assert main([str(path), "--area-cm2", "2", "--json", "-"]) == 0
    told = json.loads(capsys.readouterr().out)["figures"]
    eta = next(row["value"] for row in told if row["figure"] == "efficiency")
    by_hand = ld.read_sweep(folder / "graphite_1.csv", area_cm2=2.0, irradiance_w_m2=1000).key_points().efficiency.value
    assert eta == pytest.approx(by_hand)
    path.write_text("fils = 1\n")
    assert main([str(path)]) == 1 and "did you mean files" in capsys.readouterr().err


def test_the_whole_demo(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    pytest.importorskip("jinja2")
    assert main(["--out", str(tmp_path)]) == 0
    shown = capsys.readouterr().out
    assert "η of soot is higher than of graphite" in shown and "Fit of one diode" in shown
    assert {file.name for file in tmp_path.iterdir()} == {
        "sweeps.png",
        "groups.png",
        "report.html",
        "report.csv",
        "report.json",
    }
    assert "invented" in (tmp_path / "report.html").read_text(encoding="utf-8")


def test_same_names_in_two_folders(folder: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    shutil.copytree(folder, tmp_path / "night")
    assert main([str(folder), str(tmp_path / "night"), "--out", str(tmp_path / "out")]) == 0
    shown = capsys.readouterr().out
    assert "day soot_1 " in shown and "night soot_1 " in shown


def test_conditions_from_a_table(folder: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    conditions = tmp_path / "cells.csv"
    conditions.write_text("file,area_cm2,irradiance_w_m2\nsoot_1.csv,1.0,1000\nnone.csv,1,1\n")
    one = str(folder / "soot_1.csv")
    assert main([one, "--conditions", str(conditions), "--out", str(tmp_path / "out")]) == 0
    shown = capsys.readouterr()
    assert "η / %" in shown.out and "no file fits row 2 (none.csv)" in shown.err


def test_the_version(capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as done:
        main(["--version"])
    assert done.value.code == 0 and capsys.readouterr().out == f"litdiode {version()}\n"


@pytest.mark.skipif(os.name == "nt", reason="there are no such pipes there")
def test_a_reader_that_goes_away_is_no_traceback(folder: Path) -> None:
    read, write_end = os.pipe()
    os.close(read)
    done = run(str(folder), "--csv", "-", stdout=write_end)
    os.close(write_end)
    assert done.returncode == 1 and done.stderr == ""


@pytest.mark.skipif(os.name == "nt", reason="there are no pseudo-terminals there")
@pytest.mark.parametrize("columns", [50, 72, 200])
def test_a_terminal_has_its_width(columns: int, folder: Path, tmp_path: Path) -> None:
    import pty

    leader, follower = pty.openpty()
    process = subprocess.Popen(
        [sys.executable, "-m", "litdiode", str(folder), "--out", str(tmp_path / "out")],
        stdout=follower,
        stderr=subprocess.DEVNULL,
        env={**os.environ, "COLUMNS": str(columns), "PYTHONIOENCODING": "utf-8"},
    )
    os.close(follower)
    data = b""
    while True:
        try:
            part = os.read(leader, 65536)
        except OSError:
            break
        if not part:
            break
        data += part
    os.close(leader)
    assert process.wait() == 0
    lines = [line for line in data.decode().splitlines() if "Picture" not in line]
    assert max(map(len, lines)) <= min(columns, 100)
    # What does not fit stands in tables below the first.
    assert (sum(line.startswith("soot_1") for line in lines) > 1) == (columns < 100)


def test_figures_that_do_not_fit_stand_below() -> None:
    points = ld.SingleDiode(iph_a=0.02, **CELL).key_points()
    found = {name: ld.Estimate(float(getattr(points, name)), 1e-4) for name in ("isc", "voc", "pmax", "ff")}
    text = table([Row("cell", {**found, "efficiency": None}, ["a note"])], width=44)
    assert max(map(len, text.splitlines())) <= 44
    assert all(text.count(symbol) == 1 for symbol in ("Isc", "Voc", "Pmax", "FF", "η"))


@pytest.mark.skipif(os.name == "nt", reason="names of files are Unicode there")
def test_names_that_are_not_utf_8(folder: Path, tmp_path: Path) -> None:
    pytest.importorskip("jinja2")
    shutil.copy(folder / "soot_1.csv", os.path.join(os.fsencode(folder), b"caf\xe9.csv"))
    (folder / "bad").write_text("x")
    os.rename(folder / "bad", os.path.join(os.fsencode(folder), b"b\xe9d.csv"))
    target = tmp_path / "report.html"
    done = run(str(folder), "--report", str(target), "--out", str(tmp_path / "out"))
    assert done.returncode == 1 and "Traceback" not in done.stderr
    assert "caf\ufffd" in done.stdout and "error: b\ufffdd.csv" in done.stderr
    assert "caf\ufffd" in target.read_text(encoding="utf-8")


def test_no_bar_where_nobody_watches(folder: Path, tmp_path: Path) -> None:
    for k in range(30):
        shutil.copy(folder / "soot_1.csv", folder / f"more_{k}.csv")
    assert (
        run(str(folder), "--json", str(tmp_path / "all.json"), "--out", str(tmp_path / "out")).stderr.count("\n") == 1
    )


def test_verdicts_have_symbols_and_percent() -> None:
    def verdict(a: list[float], b: list[float], margin: float | None = None) -> str:
        groups = (ld.Group(name, [ld.Estimate(x) for x in values]) for name, values in (("A", a), ("B", b)))
        return sentence(ld.compare(*groups, "efficiency", margin=margin))

    high, low = [0.081, 0.078, 0.083, 0.080, 0.079], [0.074, 0.077, 0.073, 0.076, 0.075]
    found = ld.compare(*(ld.Group(n, [ld.Estimate(x) for x in v]) for n, v in (("A", high), ("B", low))))
    ends = f"{100 * found.low:.3f} to {100 * found.high:.3f} percentage points"
    assert verdict(high, low) == f"η of A is higher than of B, by {ends} (95 % interval)"
    assert verdict(low, high).startswith("η of B is higher than of A, by 0.")
    near, same = [0.0801, 0.0799, 0.0803, 0.0800, 0.0802], [0.0802, 0.0800, 0.0801, 0.0803, 0.0799]
    assert verdict(near, same, 0.02) == "η of A and B is the same within ± 0.16 percentage points (95 %)"
    text = verdict(high, [0.084, 0.074, 0.081, 0.076, 0.079])
    assert text.startswith("undecided: the difference in η between A and B lies from −0.") and "17 cells" in text


def test_the_study_file_of_the_demo_is_in_the_package() -> None:
    assert (resources.files("litdiode") / "demo" / "study.toml").is_file()


def test_without_scipy_the_tables_still_come(folder: Path, tmp_path: Path) -> None:
    (tmp_path / "fake" / "scipy").mkdir(parents=True)
    (tmp_path / "fake" / "scipy" / "__init__.py").write_text("raise ImportError('not here', name='scipy')\n")
    code = "import sys; sys.path.insert(0, sys.argv.pop(1)); import litdiode.__main__ as m; sys.exit(m.main())"
    asked = [str(folder), "--group-pattern", "{group}_{label}.csv", "--out", str(tmp_path / "out")]
    command = [sys.executable, "-c", code, str(tmp_path / "fake"), *asked]
    environment = {**os.environ, "PYTHONIOENCODING": "utf-8"}
    done = subprocess.run(command, capture_output=True, text=True, encoding="utf-8", env=environment)
    assert done.returncode == 0, done.stderr
    assert "soot 1 " in done.stdout and "litdiode[study]" in done.stdout and "sweeps.png" in done.stdout
