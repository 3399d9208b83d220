"""The report of a study: what it says is what was measured, whatever the names are, and what is missing is said."""

from __future__ import annotations

import csv
import hashlib
import json
import re
import subprocess
import sys
from html.parser import HTMLParser
from importlib import resources
from pathlib import Path

import numpy as np
import pytest

import litdiode as ld

pytest.importorskip("jinja2")
pytest.importorskip("matplotlib")
pytestmark = pytest.mark.filterwarnings("ignore::litdiode.LitdiodeWarning")
DEMO = str(resources.files("litdiode") / "demo")
CELL = ld.SingleDiode(iph_a=0.03, i0_a=1e-9, n=1.3, rs_ohm=0.5, rsh_ohm=900)  # invented


def demo(**asked: object) -> ld.Study:
    groups = {"soot": ["soot_*"], "graphite": ["graphite_*"]}
    return ld.Study(ld.read_sweeps(DEMO), groups=groups, title="Demo", **asked)  # type: ignore[arg-type]


class Text(HTMLParser):
    """The texts of a page, and its tags, each closed."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.texts: list[str] = []
        self.open: list[str] = []
        self.tags: list[str] = []
        self.feed(page)

    def handle_starttag(self, tag: str, attrs: object) -> None:
        self.tags.append(tag)
        if tag not in ("meta", "img", "link"):
            self.open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        assert self.open and self.open.pop() == tag, f"{tag} closes nothing"

    def handle_data(self, data: str) -> None:
        self.texts.append(data)

    @property
    def text(self) -> str:
        return " ".join(" ".join(self.texts).split())


def test_the_page_says_what_was_measured(tmp_path: Path) -> None:
    study = demo(figures=["efficiency", "ff"], margins=0.05, diodes=1, resistances=True)
    path = study.report(tmp_path / "out" / "report.html")
    page = Text(path.read_text(encoding="utf-8"))
    assert page.open == [] and "script" not in page.tags
    soot = next(s for s, label in zip(study.sweeps, study.labels, strict=True) if label == "soot 1").key_points()
    value, u = soot.voc.value * 1e3, soot.voc.u * 1e3
    assert f"{value:.2f} ± {u:.2f}" in page.text
    assert f"{100 * soot.efficiency.value:.4f} ± {100 * soot.efficiency.u:.4f}" in page.text
    assert "short of Voc" in page.text and "short of voc" not in page.text
    # Every comparison has its sentence in percent, and every file its digest.
    low, high = sorted(abs(100 * x) for x in (study.comparisons()[0].low, study.comparisons()[0].high))
    assert f"η of soot is higher than of graphite, by {low:.3f} to {high:.3f} percentage points" in page.text
    for file in Path(DEMO).glob("*.csv"):
        assert hashlib.sha256(file.read_bytes()).hexdigest() in page.text
    assert "current turned from load sign" in page.text and "soot 3" in page.text
    assert "Methods without data" in page.text and "does not hold" in page.text.lower()
    assert "60 V" not in page.text and "fume hood" in page.text and "Local rules" in page.text


def test_the_same_figures_stand_beside_it(tmp_path: Path) -> None:
    study = demo()
    study.report(tmp_path / "report.html")
    with (tmp_path / "report.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    voc = next(r for r in rows if r["label"] == "soot 1" and r["figure"] == "voc")
    points = study.sweeps[study.labels.index("soot 1")].key_points()
    assert float(voc["value"]) == points.voc.value and float(voc["u"]) == points.voc.u and voc["unit"] == "V"
    told = json.loads((tmp_path / "report.json").read_text(encoding="utf-8"))
    assert told["comparisons"][0]["verdict"] == "different" and len(told["inputs"]) == 14
    assert any(one["kind"] == "short_of_voc" and one["label"] == "graphite 5" for one in told["findings"])


def test_names_cannot_break_the_page(tmp_path: Path) -> None:
    name = "<b>\"A\" & 'B'</b><script>alert(1)</script>"
    sweeps = [ld.simulate_sweep(CELL, ld.Instrument(noise_current_a=2e-5), seed=k) for k in range(4)]
    named = [ld.Sweep(s.voltage_v, s.current_a, label=f"{name} {k}") for k, s in enumerate(sweeps)]
    study = ld.Study(named, groups=[name, name, "C", "C"], title=name)
    page = Text(study.report(tmp_path / "report.html").read_text(encoding="utf-8"))
    assert page.open == [] and "script" not in page.tags and page.text.count(name) > 5


def test_high_voltage_is_said(tmp_path: Path) -> None:
    cell = ld.SingleDiode(iph_a=5.0, i0_a=1e-9, n=1.1, rs_ohm=0.5, rsh_ohm=900, cells=144)  # invented
    v = np.linspace(0.0, 95.0, 40)
    study = ld.Study([ld.Sweep(v, cell.current(v), cells=144, label="string")])
    text = Text(study.report(tmp_path / "report.html").read_text(encoding="utf-8")).text
    assert "Up to 95 V were read. Above 60 V d.c. a string can kill" in text and "licensed" in text
    assert "No groups were compared" in text and "144" in text


def test_what_could_not_be_read_is_said(tmp_path: Path) -> None:
    (tmp_path / "bad.csv").write_text("nothing\n")
    found = ld.read_sweeps([DEMO, tmp_path / "bad.csv"], unreadable="warn")
    text = Text(ld.Study(found).report(tmp_path / "report.html").read_text(encoding="utf-8")).text
    assert "Files that could not be read" in text and "bad.csv" in text


def test_stated_instrument_and_corrections_are_named(tmp_path: Path) -> None:
    raw = ld.simulate_sweep(CELL, ld.Instrument(noise_current_a=2e-5), seed=1)
    area, light = ld.Estimate(1.0, 0.02, unit="cm²"), ld.Estimate(1000.0, 30.0, unit="W/m²")
    sweep = ld.Sweep(
        raw.voltage_v,
        raw.current_a,
        noise=ld.Noise(current_a=2e-5, current_gain_u=0.01),
        area_cm2=area,
        irradiance_w_m2=light,
        corrections=[ld.LeadResistance(ld.Estimate(0.2, 0.05, unit="Ω"))],
    )
    page = Text(ld.Study([sweep]).report(tmp_path / "report.html").read_text(encoding="utf-8")).text
    assert "1.000 ± 0.020 cm²" in page and "1000 ± 30 W/m²" in page
    assert "scatter of the current 20.00 µA; gain of the current, standard uncertainty 1 %" in page
    assert "leads of 200 ± 50 mΩ" in page
    budget = sweep.budget("efficiency")
    share = next(share for source, _, share in budget.contributions if source == "irradiance")
    assert f"irradiance {100 * budget.contributions[0][1]:.2g} {100 * share:.1f} %" in page


def test_many_sweeps_are_drawn_as_pixels_and_cut_in_the_table(tmp_path: Path) -> None:
    v = np.linspace(-0.1, 0.65, 12)
    sweeps = [ld.Sweep(v, CELL.current(v) + 1e-5 * np.sin(v * k), label=f"c{k}") for k in range(310)]
    page = ld.Study(sweeps, groups=["A", "B"] * 155).report(tmp_path / "report.html").read_text(encoding="utf-8")
    assert "data:image/png" in page and "10 more sweeps stand in" in page
    assert len(re.findall('<tr><th scope="row">c', page)) == 300


def test_a_path_that_does_not_serve_is_told(tmp_path: Path) -> None:
    study = demo()
    with pytest.raises(ld.InputError, match=r"ends in \.html"):
        study.report(tmp_path / "report.pdf")
    (tmp_path / "file").write_text("")
    with pytest.raises(ld.InputError, match="cannot be written"):
        study.report(tmp_path / "file" / "report.html")


def test_without_jinja2_the_extra_is_named(tmp_path: Path) -> None:
    (tmp_path / "jinja2.py").write_text("raise ImportError('not here', name='jinja2')\n")
    code = (
        "import sys; sys.path.insert(0, sys.argv[1]); import litdiode as ld\n"
        "s = ld.Study([ld.Sweep([0, .1, .2, .3, .4, .5], [3, 3, 2.9, 2.5, 1, -1])])\n"
        "try: s.report(sys.argv[1] + '/report.html')\n"
        "except ld.InputError as e: print(e)\n"
    )
    done = subprocess.run([sys.executable, "-c", code, str(tmp_path)], capture_output=True, text=True, check=True)
    assert "needs jinja2: pip install 'litdiode[report]'" in done.stdout


def test_the_template_is_in_the_package() -> None:
    for name in ("page.html.j2", "page.css"):
        assert (resources.files("litdiode.report") / name).is_file()
