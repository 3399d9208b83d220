"""The command line: demo, own files, bad files, and what a reader of the terminal sees."""

from __future__ import annotations

import os
import re
import runpy
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pytest
from scipy.optimize import brentq

import litdiode as ld
from litdiode.__main__ import main
from litdiode.quote import between, plus_minus, prefix_exponent, quoted

REPOSITORY = Path(__file__).parents[2]
GOOD = "# label: cell 9\n# area: 4 cm²\n# irradiance: 1000 W/m²\nV (V),I (mA)\n"


@pytest.fixture
def good(tmp_path: Path) -> Path:
    """A readable sweep: the bundled silicon cell's rows under notes of its own."""
    rows = (REPOSITORY / "python/litdiode/demo/silicon_check.csv").read_text(encoding="utf-8").splitlines()
    file = tmp_path / "good.csv"
    file.write_text(GOOD + "\n".join(line for line in rows if re.match(r"-?\d", line)), encoding="utf-8")
    return file


def test_the_demo(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["--out", str(tmp_path / "out")]) == 0
    shown = capsys.readouterr()
    assert "Its data are invented" in shown.out
    assert max(map(len, shown.out.replace(str(tmp_path), "").splitlines())) <= 100
    for number in range(1, 7):
        assert f"soot {number}" in shown.out and f"graphite {number}" in shown.out
    assert "current read in µA" in shown.out and "decimal comma" in shown.out
    # soot 3 was measured in load sign, graphite 2 with swapped leads: both are said, one line each.
    assert {"graphite_2.csv", "soot_3.csv"} <= {line.split(": ")[1] for line in shown.err.splitlines()}
    assert all(line.startswith("warning: ") for line in shown.err.splitlines())
    row = next(line for line in shown.out.splitlines() if line.startswith("graphite 5 "))
    assert row.count("—") >= 2, "the sweep stops short of Voc: no Voc and no FF"
    assert (tmp_path / "out/sweeps.png").stat().st_size > 10_000
    assert f"Picture: {tmp_path / 'out' / 'sweeps.png'}" in shown.out


def test_the_demo_gives_back_its_silicon_cell(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["--out", str(tmp_path)]) == 0
    row = next(line for line in capsys.readouterr().out.splitlines() if line.startswith("silicon check"))
    isc, voc = (float(number) for number in re.findall(r"([\d.]+)±", row)[:2])
    # The truth is the script's own cell, its Voc found by a bracketed root.
    cell = runpy.run_path(str(REPOSITORY / "tests/data/make_demo.py"))["SILICON"]
    root = brentq(lambda v: cell.current(np.array([v]))[0], 0.3, 0.7)
    assert isc == pytest.approx(1e3 * cell.current(np.array([0.0]))[0], rel=0.01)
    assert voc == pytest.approx(1e3 * root, rel=0.01)


def test_the_demo_is_what_its_script_makes(tmp_path: Path) -> None:
    make = runpy.run_path(str(REPOSITORY / "tests/data/make_demo.py"))
    make["make"](tmp_path)
    bundled = REPOSITORY / "python/litdiode/demo"
    made = sorted(file.name for file in tmp_path.iterdir())
    assert made == sorted(file.name for file in bundled.iterdir())
    for name in made:
        text = (bundled / name).read_text(encoding="utf-8")
        assert text == (tmp_path / name).read_text(encoding="utf-8")
        assert text.startswith("# invented data")


def test_a_bad_file_spoils_no_other(good: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    bad = tmp_path / "bad.csv"
    bad.write_text("V (V),x,y\n0,1,1\n0.1,1,1\n")
    assert main([str(bad), str(good), str(tmp_path / "none.csv"), "--out", str(tmp_path)]) == 1
    shown = capsys.readouterr()
    assert "cell 9" in shown.out and "Isc / mA" in shown.out
    lines = shown.err.splitlines()
    assert len(lines) == 2
    assert lines[0].startswith("error: bad.csv") and "pass --current with a heading" in lines[0]
    assert "none.csv" in lines[1] and "no such file" in lines[1]


def test_nothing_but_bad_files(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main([str(tmp_path / "none.csv"), "--out", str(tmp_path / "out")]) == 1
    shown = capsys.readouterr()
    assert shown.out == "" and not (tmp_path / "out").exists()


def test_options_reach_the_sweep(good: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    def efficiency(*options: str) -> float:
        assert main([str(good), "--out", str(tmp_path), *options]) == 0
        row = next(line for line in capsys.readouterr().out.splitlines() if line.startswith("cell 9"))
        return float(re.findall(r"([\d.]+)±", row)[4])

    plain = efficiency()
    assert efficiency("--area-cm2", "8") == pytest.approx(plain / 2, rel=0.01)
    assert efficiency("--irradiance-w-m2", "500") == pytest.approx(plain * 2, rel=0.01)


def test_a_missing_unit_is_one_line(tmp_path: Path, good: Path, capsys: pytest.CaptureFixture[str]) -> None:
    bare = tmp_path / "bare.csv"
    bare.write_text(good.read_text(encoding="utf-8").replace("I (mA)", "I"), encoding="utf-8")
    assert main([str(bare), "--out", str(tmp_path)]) == 0
    lines = capsys.readouterr().err.splitlines()
    assert lines == ["warning: bare.csv: no unit for the current: taken as A; pass --current-unit if that is wrong"]
    assert main([str(bare), "--current-unit", "mA", "--out", str(tmp_path)]) == 0
    assert capsys.readouterr().err == ""


def test_a_folder_that_cannot_be_written(good: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main([str(good), "--out", str(good)]) == 1
    shown = capsys.readouterr()
    assert "cell 9" in shown.out and shown.err.startswith("error: ") and "--out" in shown.err


def test_without_matplotlib_the_table_still_comes(good: Path, tmp_path: Path) -> None:
    (tmp_path / "matplotlib.py").write_text("raise ImportError('not here')\n")
    code = "import sys; sys.path.insert(0, sys.argv.pop(1)); import litdiode.__main__ as m; exit(m.main())"
    command = [sys.executable, "-c", code, str(tmp_path), str(good), "--out", str(tmp_path / "out")]
    done = subprocess.run(command, capture_output=True, text=True, encoding="utf-8", env=_environment())
    assert done.returncode == 0, done.stderr
    assert "cell 9" in done.stdout and "pip install matplotlib" in done.stdout
    assert not (tmp_path / "out").exists()


def test_a_terminal_without_the_signs_is_no_reason_to_fail(good: Path, tmp_path: Path) -> None:
    command = [sys.executable, "-m", "litdiode", str(good), "--out", str(tmp_path)]
    environment = _environment() | {"PYTHONIOENCODING": "ascii"}
    done = subprocess.run(command, capture_output=True, text=True, env=environment)
    assert done.returncode == 0 and "Traceback" not in done.stderr


def _environment() -> dict[str, str]:
    return {**os.environ, "PYTHONIOENCODING": "utf-8"}


@dataclass(frozen=True)
class Quoted:
    """A figure and how it is to be written."""

    value: float
    u: float | None
    unit: str
    text: str


@pytest.mark.parametrize(
    "case",
    [
        Quoted(7.3124e-3, 0.1234e-3, "A", "7.31 ± 0.12 mA"),
        Quoted(0.58912, 0.0021, "V", "0.5891 ± 0.0021 V"),
        Quoted(6.4e-7, 9.96e-9, "A", "640 ± 10 nA"),
        Quoted(0.7134, 0.00996, "1", "0.713 ± 0.010"),
        Quoted(12345.0, 1234.0, "Ω", "12.3 ± 1.2 kΩ"),
        Quoted(0.5, None, "A", "500.0 mA"),
        Quoted(-2.5e-3, 1e-4, "A", "−2.50 ± 0.10 mA"),
        Quoted(14.757, 0.1, "%", "(14.76 ± 0.10) %"),
        Quoted(float("inf"), None, "Ω", "∞ Ω"),
        Quoted(3.1e-22, 4e-23, "A", "(3.10e−22 ± 4.0e−23) A"),
        Quoted(0.0, 2e-6, "A", "0.0 ± 2.0 µA"),
        # Four digits of 0.99996 A round up to the next prefix.
        Quoted(0.99996, None, "A", "1.000 A"),
    ],
)
def test_quoting(case: Quoted) -> None:
    assert quoted(case.value, case.u, case.unit) == case.text


def test_prefixes_leave_one_to_three_digits() -> None:
    for power in range(-15, 10):
        left = 10.0**power / 10.0 ** prefix_exponent(10.0**power, "A")
        assert 1 - 1e-9 <= left < 1000
    assert plus_minus(1234.5, 99.6) == "1230 ± 100"


def test_the_ends_of_an_interval_have_prefixes_of_their_own_where_one_does_not_serve() -> None:
    assert between(2e-12, 1.79e-44, 1.83e-5, "A") == "2.00 pA (95 %: 1.79e−44 A to 18.3 µA)"
    assert between(5e-9, 1e-9, 1e-5, "A") == "5.00 nA (95 %: 1.00 nA to 10.0 µA)"
    assert between(311e-9, 250e-9, None, "A") == "311 (95 %: 250 to open) nA"


def test_an_outlier_stands_beside_the_figures_of_the_table(tmp_path: Path) -> None:
    cell = ld.SingleDiode(iph_a=600e-6, i0_a=2e-9, n=1.9, rs_ohm=60, rsh_ohm=9000)  # invented
    voltage_v = np.linspace(-0.02, 0.64, 25)
    current_a = np.asarray(cell.current(voltage_v))
    current_a[6] = 0.0
    path = tmp_path / "far.csv"
    path.write_text(
        "voltage / V,current / A\n" + "\n".join(f"{v},{i}" for v, i in zip(voltage_v, current_a, strict=True))
    )
    command = [sys.executable, "-m", "litdiode", str(path), "--out", str(tmp_path / "out")]
    done = subprocess.run(command, capture_output=True, text=True, encoding="utf-8", env=_environment())
    assert "reading 6" in done.stdout.replace("\n     ", " "), done.stdout
