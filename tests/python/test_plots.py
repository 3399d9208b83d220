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

from litdiode.plots import (  # noqa: E402
    plot_fit,
    plot_interpolant,
    plot_maximum_powers,
    plot_resistances,
    plot_sweep,
    plot_sweeps,
    plot_translated,
)

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


def test_axes_are_drawn_on_again() -> None:
    def pixels(times: int) -> bytes:
        _, ax = pyplot.subplots(figsize=(6, 6))
        for _ in range(times):
            upper, lower = plot_sweep(demo("soot_1"), ax)
        canvas = FigureCanvasAgg(upper.figure)
        canvas.draw()
        assert len(upper.figure.axes) == 2 and lower in upper.figure.axes
        return bytes(canvas.buffer_rgba())

    assert pixels(1) == pixels(3)


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


def test_more_sweeps_than_panels_lie_over_each_other() -> None:
    [ax] = plot_sweeps([demo("soot_1"), demo("soot_2")] * 60)
    assert ax.get_title(loc="left") == "120 sweeps and their points of maximum power"
    [curves] = ax.collections
    assert len(curves.get_paths()) == 120
    assert_readable(ax)


@pytest.mark.parametrize("kind", ["linear", "monotone_cubic", "natural_cubic", "smoothing", "shape_constrained"])
@pytest.mark.parametrize("name", ["soot_1", "silicon_check", "silicon_dark"])
def test_an_interpolant_is_drawn_over_its_points(name: str, kind: str) -> None:
    curve = demo(name).interpolate(kind)
    top, bottom = plot_interpolant(curve)
    line, points = top.lines[:2]
    factor = 1e6 if top.get_ylabel().endswith("µA") else 1e3
    np.testing.assert_allclose(line.get_ydata(), curve.current(line.get_xdata()) * factor, rtol=1e-12)
    np.testing.assert_allclose(points.get_ydata(), curve.sweep.current_a * factor, rtol=1e-12)
    assert bool(bottom.collections) is (kind == "smoothing")
    assert bottom.get_ylabel().startswith("left over /" if curve.chi2 is not None else "power /")
    assert kind.split("_")[0] in top.texts[0].get_text() or "falling, concave" in top.texts[0].get_text()
    assert_readable(top, bottom)


def test_the_band_of_an_interpolant_is_that_of_its_level() -> None:
    curve = demo("silicon_check").interpolate("smoothing")
    for level, with_bias in ((0.68, False), (0.95, True)):
        _, bottom = curve.plot(level=level, with_bias=with_bias)
        exponent = {"µA": 1e6, "mA": 1e3, "nA": 1e9}[bottom.get_ylabel().split(" / ")[1]]
        edge = bottom.collections[0].get_paths()[0].vertices
        middle = edge[np.argmin(np.abs(edge[:, 0] - 0.3))]
        low, high = curve.band(middle[0], level, with_bias=with_bias)
        half = (high - low) / 2 * exponent
        assert abs(middle[1]) == pytest.approx(half, rel=1e-9)


def lit(irradiance_w_m2: float, temperature_c: float = 25.0, points: int = 41) -> ld.Sweep:
    """An invented cell."""
    cell = ld.SingleDiode(iph_a=0.035, i0_a=1e-9, n=1.4, rs_ohm=0.8, rsh_ohm=900.0)
    model = cell.at(irradiance_w_m2, temperature_c)
    voltage_v = np.linspace(-0.1, 0.7, points)
    current_a = model.current(voltage_v) + np.random.default_rng(int(irradiance_w_m2)).normal(0, 3e-5, points)
    light = ld.Estimate(irradiance_w_m2, 0.01 * irradiance_w_m2, unit="W/m²")
    return ld.Sweep(
        voltage_v,
        current_a,
        noise=ld.Noise(current_a=3e-5),
        irradiance_w_m2=light,
        temperature_c=temperature_c,
    )


PARAMETERS = ld.Procedure1(alpha_a_per_k=1e-5, beta_v_per_k=-0.002, rs_ohm=0.8, kappa_ohm_per_k=0.0)


@pytest.mark.parametrize(
    ("make", "curves", "warned"),
    [
        (lambda: lit(200).translate(PARAMETERS, irradiance_w_m2=1000, temperature_c=40), 2, True),
        (lambda: lit(1000).translate(PARAMETERS, irradiance_w_m2=200), 2, True),
        (lambda: ld.translate_between(lit(100), lit(1000, 30.0), irradiance_w_m2=300), 3, False),
    ],
)
def test_a_translation_stands_beside_its_origins(make, curves: int, warned: bool) -> None:
    moved = make()
    current, power = plot_translated(moved)
    legend = current.get_legend()
    assert legend is not None
    names = [text.get_text() for text in legend.get_texts()]
    assert len(names) == curves and names[-1].startswith(f"procedure {moved.procedure}: ")
    np.testing.assert_allclose(power.lines[curves - 1].get_xdata(), np.sort(moved.sweep.voltage_v))
    assert any("warning" in text.get_text() for text in power.texts) is bool(moved.warnings) is warned
    assert all(any(word in text.get_text() for text in current.texts) for word in ("Isc", "Voc", "Pmax", "FF"))
    assert_readable(current, power)
    figure = current.get_figure()
    boxes = [legend.get_window_extent(), *(text.get_window_extent() for text in current.texts)]
    assert figure is not None and not boxes[0].overlaps(boxes[1])


def test_every_method_has_its_point_on_the_power() -> None:
    found = ld.maximum_powers(lit(1000))
    power, chart = plot_maximum_powers(found)
    assert len(power.lines) == 1 + len(found.rows)
    for line, row in zip(power.lines[1:], found.rows, strict=True):
        assert (line.get_xdata()[0], line.get_ydata()[0] / 1e3) == pytest.approx((row.v_pmax, row.pmax.value))
        assert power.get_ylim()[0] < line.get_ydata()[0] < power.get_ylim()[1]
    labels = [text.get_text() for text in chart.get_yticklabels()]
    assert [label.split("\n")[0].removesuffix(" (quoted)") for label in labels] == [row.method for row in found.rows]
    assert sum("(quoted)" in label for label in labels) == 1 and chart.get_xlabel() == "Pmax / mW"
    assert_readable(power, chart)


@pytest.mark.parametrize("which", ["powers", "resistances"])
def test_pictures_of_several_panels_stay_within_the_axes_given(which: str) -> None:
    found = ld.maximum_powers(lit(1000)) if which == "powers" else ld.resistances(lit(1000))
    figure, (left, right) = pyplot.subplots(1, 2, figsize=(13, 6), layout="constrained")
    inset = figure.add_axes((0.55, 0.1, 0.4, 0.8))
    for ax in (left, inset):
        drawn = found.plot(ax)
        counts = [len(panel.lines) for panel in drawn]
        assert drawn[0] is ax and len(drawn) == {"powers": 2, "resistances": 3}[which]
        # Once more: the same axes, and nothing over each other.
        again = found.plot(ax=ax)
        assert all(a is b for a, b in zip(again, drawn, strict=True))
        assert [len(panel.lines) for panel in again] == counts
        figure.canvas.draw()
        boxes = [panel.get_position() for panel in drawn]
        assert all(box.y1 <= boxes[0].y0 for box in boxes[1:])
        allowed = right.get_position().x0 if ax is left else 0.95 + 1e-9
        assert all(box.x1 <= allowed for box in boxes)
    assert len(figure.axes) == 3 + 2 * (len(drawn) - 1)


def test_no_maximum_is_drawn_as_none() -> None:
    sweep = demo("silicon_dark")
    power, chart = ld.maximum_powers(sweep).plot()
    # Nothing to quote, and no close-up on the noise.
    assert not any("quoted" in text.get_text() for text in chart.get_yticklabels())
    low, high = power.get_xlim()
    assert low <= sweep.voltage_v.min() and sweep.voltage_v.max() <= high
    top, _ = plot_interpolant(sweep.interpolate("natural_cubic"))
    assert "Pmax" not in top.texts[0].get_text()


@pytest.mark.parametrize("n", [None, 1.4])
def test_tangents_touch_the_curve(n: float | None) -> None:
    sweep = lit(1000)
    found = ld.resistances(sweep, n=n)
    curve, series, shunt = plot_resistances(found)
    at_isc, at_voc = curve.lines[1:3]
    points = sweep.key_points()
    slope = np.diff(at_isc.get_ydata()) / np.diff(at_isc.get_xdata()) / 1e3
    assert -1 / slope[0] == pytest.approx(found.get("shunt", "slope at Isc").resistance.value)
    assert np.interp(0, at_isc.get_xdata(), at_isc.get_ydata()) == pytest.approx(points.isc.value * 1e3)
    # −dV/dI at Voc is Rs + 1/(Id/a + 1/Rsh) for the invented cell, whatever n was told.
    ohm = -np.diff(at_voc.get_xdata()) / np.diff(at_voc.get_ydata()) * 1e3
    a = 1.4 * 1.380649e-23 * 298.15 / 1.602176634e-19
    assert ohm[0] == pytest.approx(0.8 + 1 / ((0.035 - points.voc.value / 900) / a + 1 / 900), rel=0.01)
    for ax, quantity, name in ((series, "series", "Rs / "), (shunt, "shunt", "Rsh / Ω")):
        labels = [text.get_text().split("\n")[0] for text in ax.get_yticklabels()]
        assert labels == [row.method for row in found.rows if row.quantity == quantity]
        assert ax.get_xlabel().startswith(name)
        # The figure to quote is a diamond.
        diamonds = [line.get_ydata()[0] for line in ax.lines if line.get_marker() == "D"]
        assert [labels[int(row)] for row in diamonds] == [found.quote[quantity].method]
    assert_readable(curve, series, shunt)


def test_an_interval_that_is_open_above_ends_in_an_arrow() -> None:
    found = ld.resistances(demo("silicon_check"))
    endless = [r for r in found.rows if r.quantity == "shunt" and r.resistance.interval(0.95).high == np.inf]
    assert endless
    _, _, shunt = found.plot()
    arrows = [line for line in shunt.lines if line.get_marker() == ">"]
    assert len(arrows) == len(endless) and all(line.get_xdata()[0] == shunt.get_xlim()[1] for line in arrows)


def test_a_dark_sweep_shows_its_ohmic_region() -> None:
    found = ld.resistances(dark=demo("silicon_dark"))
    curve, _, _ = found.plot(level=0.68)
    assert curve.get_yscale() == "log" and "Rsh" in curve.get_legend().get_texts()[0].get_text()
    empty = ld.resistances().plot()
    assert [ax.texts[0].get_text() for ax in empty] == [
        "no sweep was given",
        "no method gives Rs",
        "no method gives Rsh",
    ]


def test_importing_the_package_leaves_matplotlib_alone() -> None:
    code = "import litdiode, litdiode.plots, litdiode.__main__, sys; print('matplotlib' in sys.modules)"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "False"


def test_an_outlier_has_a_ring() -> None:
    cell = ld.SingleDiode(iph_a=600e-6, i0_a=2e-9, n=1.9, rs_ohm=60, rsh_ohm=9000)  # invented
    voltage_v = np.linspace(-0.02, 0.64, 25)
    current_a = np.asarray(cell.current(voltage_v))
    for far in (False, True):
        if far:
            current_a[6] = 0.0
        sweep = ld.Sweep(voltage_v, current_a)
        for top in (plot_sweep(sweep)[0], plot_sweeps([sweep])[0], plot_fit(ld.fit_single_diode(sweep))[0]):
            rings = [line for line in top.lines if line.get_color() == "#b3261e"]
            assert len(rings) == int(far)
            assert not far or list(rings[0].get_xdata()) == [voltage_v[6]]
            assert any(text.get_text() == "outlier" for text in top.texts) == far
        pyplot.close("all")
