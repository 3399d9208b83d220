"""Pictures: what is drawn is what was measured, texts keep clear of each other and of the points."""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Iterator
from importlib import resources
from pathlib import Path

import numpy as np
import pytest

import litdiode as ld

matplotlib = pytest.importorskip("matplotlib")
matplotlib.use("Agg")

from matplotlib import pyplot  # noqa: E402
from matplotlib.axes import Axes  # noqa: E402
from matplotlib.backends.backend_agg import FigureCanvasAgg  # noqa: E402
from matplotlib.text import Text  # noqa: E402

from litdiode.plots import plot_fit, plot_sweep, plot_sweeps  # noqa: E402

DEMO = resources.files("litdiode") / "demo"
NAMES = ["soot_1", "graphite_5", "silicon_check", "silicon_dark"]
pytestmark = pytest.mark.filterwarnings("ignore::litdiode.LitdiodeWarning")


def demo(name: str) -> ld.Sweep:
    """One sweep of the bundled demo."""
    return ld.read_sweep(str(DEMO / f"{name}.csv"))


@pytest.fixture(autouse=True)
def never_shown(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """No figure is shown, and none stays open."""

    def show(*_: object, **__: object) -> None:
        raise AssertionError("a library must not show a figure")

    monkeypatch.setattr(pyplot, "show", show)
    yield
    pyplot.close("all")


def assert_readable(*panels: Axes) -> None:
    """No text over another, and no measured point under a text."""
    figure = panels[0].get_figure()
    assert figure is not None
    canvas = FigureCanvasAgg(figure)
    canvas.draw()
    renderer = canvas.get_renderer()
    texts: list[Text] = [text for panel in panels for text in panel.texts if text.get_text()]
    boxes = [text.get_window_extent(renderer) for text in texts]
    for n, box in enumerate(boxes):
        for other, text in zip(boxes[:n], texts, strict=False):
            assert not box.overlaps(other), f"{texts[n].get_text()!r} over {text.get_text()!r}"
    for panel in panels:
        for line in panel.lines:
            if line.get_marker() != "o":
                continue
            points = panel.transData.transform(np.column_stack([line.get_xdata(), line.get_ydata()]))
            for text, box in zip(texts, boxes, strict=True):
                if text.axes is panel:
                    assert not any(box.contains(*point) for point in points), text.get_text()


@pytest.mark.parametrize("name", NAMES)
def test_a_sweep_is_drawn_as_measured(name: str) -> None:
    sweep = demo(name)
    current, power = plot_sweep(sweep)
    factor = {"current / µA": 1e6, "current / mA": 1e3}[current.get_ylabel()]
    np.testing.assert_allclose(current.lines[0].get_xdata(), sweep.voltage_v)
    np.testing.assert_allclose(current.lines[0].get_ydata(), sweep.current_a * factor)
    watts = {"power / µW": 1e6, "power / mW": 1e3}[power.get_ylabel()]
    np.testing.assert_allclose(power.lines[0].get_ydata(), sweep.voltage_v * sweep.current_a * watts)
    assert current.get_title(loc="left") == sweep.label
    assert_readable(current, power)


def test_figures_stand_with_their_values() -> None:
    sweep = demo("silicon_check")
    points = sweep.key_points()
    current, power = plot_sweep(sweep)
    texts = " ".join(text.get_text() for panel in (current, power) for text in panel.texts)
    for symbol in ("Isc", "Voc", "Pmax", "FF", "η"):
        assert symbol in texts
    assert f"Voc  {points.voc.value:.2f}"[:8] in texts and "±" in texts


def test_what_is_not_determined_has_no_figure() -> None:
    current, power = plot_sweep(demo("graphite_5"))
    assert not any("Voc" in text.get_text() for text in current.texts)
    assert any("not determined" in text.get_text() for text in power.texts)
    current, power = plot_sweep(demo("silicon_dark"))
    assert not any(symbol in text.get_text() for text in power.texts for symbol in ("Pmax", "FF", "η"))
    # In the dark the curve passes through the origin: Voc is read there, and is 0 within its ±.
    voc = demo("silicon_dark").key_points().voc
    assert voc is not None and voc.u is not None and abs(voc.value) < 3 * voc.u


def test_a_given_axes_is_used() -> None:
    figure, ax = pyplot.subplots()
    current, power = plot_sweep(demo("soot_1"), ax)
    assert current is ax and power.get_figure() is figure


@pytest.mark.parametrize("name", ["soot_1", "silicon_check"])
def test_a_fit_is_drawn_with_its_residuals(name: str) -> None:
    fit = ld.fit_single_diode(demo(name))
    curve, residuals = plot_fit(fit)
    line = curve.lines[0]
    factor = 1e6 if curve.get_ylabel().endswith("µA") else 1e3
    np.testing.assert_allclose(line.get_ydata(), fit.model.current(line.get_xdata()) * factor, rtol=1e-12)
    scatter = next(one for one in residuals.lines if one.get_marker() == "o")
    exponent = {"µA": 1e6, "mA": 1e3, "nA": 1e9}[residuals.get_ylabel().split(" / ")[1]]
    np.testing.assert_allclose(scatter.get_ydata(), np.asarray(fit.residuals) * exponent, rtol=1e-12)
    assert all(symbol in curve.texts[0].get_text() for symbol in ("Iph", "I0", "n ", "Rs", "Rsh"))
    assert_readable(curve, residuals)


@pytest.mark.parametrize("count", [1, 2, 5, 14])
def test_many_sweeps_in_one_figure(count: int, tmp_path: Path) -> None:
    files = sorted(str(file) for file in DEMO.iterdir() if file.name.endswith(".csv"))[:count]
    sweeps = [ld.read_sweep(file) for file in files]
    panels = plot_sweeps(sweeps)
    assert [panel.get_title(loc="left") for panel in panels] == [sweep.label for sweep in sweeps]
    for panel in panels:
        assert_readable(panel)


def test_a_figure_of_more_sweeps_than_it_holds_says_so() -> None:
    panels = plot_sweeps([demo("soot_1")] * 101)
    assert len(panels) == 100
    figure = panels[0].get_figure()
    assert figure is not None and figure.get_suptitle() == "first 100 of 101 sweeps"


def test_importing_the_package_leaves_matplotlib_alone() -> None:
    code = "import litdiode, litdiode.plots, litdiode.__main__, sys; print('matplotlib' in sys.modules)"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "False"
