"""Pictures of a study: what is drawn is what was measured, told apart in grey, inside the canvas at any size."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from importlib import resources

import numpy as np
import pytest

import litdiode as ld

matplotlib = pytest.importorskip("matplotlib")
matplotlib.use("Agg")

from matplotlib import pyplot  # noqa: E402
from matplotlib.axes import Axes  # noqa: E402
from matplotlib.backends.backend_agg import FigureCanvasAgg  # noqa: E402
from matplotlib.colors import to_rgb  # noqa: E402

from litdiode.plots import plot_cells, plot_comparisons, plot_study  # noqa: E402
from litdiode.plots.studies import group_style  # noqa: E402

pytestmark = pytest.mark.filterwarnings("ignore::litdiode.LitdiodeWarning")
CELL = {"i0_a": 1e-10, "n": 1.6, "rs_ohm": 1.0, "rsh_ohm": 2000.0}  # invented


@pytest.fixture(autouse=True)
def closed() -> Iterator[None]:
    yield
    pyplot.close("all")


def demo() -> ld.Study:
    sweeps = ld.read_sweeps(str(resources.files("litdiode") / "demo"))
    groups = {"soot": ["soot_*"], "graphite": ["graphite_*"]}
    return ld.Study(sweeps, groups=groups, title="Demo", figures=["efficiency", "ff"], margins=0.05)


def many(groups: int, cells: int) -> ld.Study:
    rng = np.random.default_rng(1)
    sweeps, names = [], []
    for k in range(groups * cells):
        cell = ld.SingleDiode(iph_a=0.02 * (1 + 0.02 * rng.standard_normal()), **CELL)
        sweeps.append(ld.simulate_sweep(cell, ld.Instrument(noise_current_a=2e-5), seed=k))
        names.append(f"recipe number {k % groups}")
    return ld.Study(sweeps, groups=names, reference="recipe number 0")


def test_curves_are_densities_of_the_cells_in_groups() -> None:
    study = demo()
    ax = plot_study(study)
    assert ax.get_ylabel() == "J / (mA/cm²)" and "not drawn: 2 sweeps of no group" in ax.get_title(loc="left")
    curves = [line for line in ax.lines if len(line.get_xdata()) > 5]
    assert len(curves) == 12
    first = study.sweeps[study.places["graphite"][0]]
    np.testing.assert_allclose(curves[0].get_ydata(), first.current_a / first.area_cm2.value * 1e3)
    legend = ax.get_legend()
    assert legend is not None and [t.get_text() for t in legend.get_texts()] == ["graphite (6)", "soot (6)"]
    bare = ld.Study([ld.Sweep(s.voltage_v, s.current_a, sign="generator") for s in study.sweeps[:3]])
    plain = plot_study(bare)
    assert plain.get_ylabel() == "current / µA" and plain.get_legend() is None


def test_many_curves_are_all_drawn() -> None:
    ax = plot_study(many(10, 6))
    assert sum(len(one.get_paths()) for one in ax.collections) == 60 and len(ax.collections) == 10


def test_cells_stand_with_their_mean() -> None:
    study = demo()
    ax = plot_cells(study, "efficiency")
    found = study.groups["soot"].summary("efficiency")
    diamonds = [line for line in ax.lines if line.get_marker() == "D" and len(line.get_xdata()) == 1]
    assert diamonds[1].get_xdata()[0] == pytest.approx(100 * found.mean.value)
    values = [line.get_xdata() for line in ax.lines if line.get_marker() == "s"]
    np.testing.assert_allclose(values[0], [100 * e.value for e in study.groups["soot"].figures("efficiency")[0]])
    assert ax.get_xlabel() == "η / %" and ax.get_yticklabels()[0].get_text() == "graphite\n6 of 6 cells"
    assert plot_cells(study, "voc").get_yticklabels()[0].get_text() == "graphite\n5 of 6 cells"


def test_an_outlier_is_ringed_by_name() -> None:
    sweeps = [
        ld.simulate_sweep(ld.SingleDiode(iph_a=i, **CELL), ld.Instrument(noise_current_a=2e-5), seed=k)
        for k, i in enumerate([0.0200, 0.0201, 0.0199, 0.0202, 0.0200, 0.0201, 0.0120])
    ]
    ax = plot_cells(ld.Study(sweeps, groups=["A"] * 7), "isc")
    assert [text.get_text() for text in ax.texts] == ["sweep 6"]


def test_a_row_a_comparison() -> None:
    found = [one for one in demo().comparisons() if one.figure == "efficiency"]
    ax = plot_comparisons(found)
    marker = next(line for line in ax.lines if line.get_marker() == "D")
    assert marker.get_xdata()[0] == pytest.approx(100 * found[0].difference.value)
    assert ax.get_xlabel() == "difference in η / %" and "different" in ax.get_yticklabels()[0].get_text()
    with pytest.raises(ld.InputError, match="of one figure"):
        plot_comparisons(demo().comparisons())
    with pytest.raises(ld.InputError, match="one at least"):
        plot_comparisons([])


def of_first_figure(study: ld.Study) -> list[ld.Comparison]:
    return [one for one in study.comparisons() if one.figure == study.figures[0]]


DRAWN: dict[str, Callable[[ld.Study, Axes], Axes]] = {
    "curves": plot_study,
    "cells": lambda study, ax: plot_cells(study, None, ax),
    "comparisons": lambda study, ax: plot_comparisons(
        [c for c in study.comparisons() if c.figure == study.figures[0]], ax
    ),
}


@pytest.mark.parametrize("name", DRAWN)
def test_drawn_again_it_is_the_same_picture(name: str) -> None:
    def picture(times: int) -> bytes:
        _, ax = pyplot.subplots(layout="constrained")
        for _ in range(times):
            assert DRAWN[name](study, ax) is ax
        canvas = FigureCanvasAgg(ax.figure)
        canvas.draw()
        return bytes(canvas.buffer_rgba())

    study = demo()
    assert picture(1) == picture(3)


# Nine rows of two lines need more than 2.4 inches.
@pytest.mark.parametrize(
    ("groups", "size"), [(2, (3.2, 2.4)), (2, (6.4, 4.6)), (2, (12, 7)), (9, (6.4, 4.6)), (9, (12, 7))]
)
@pytest.mark.parametrize("name", DRAWN)
def test_labels_are_inside_the_canvas(name: str, groups: int, size: tuple[float, float]) -> None:
    figure, ax = pyplot.subplots(figsize=size, layout="constrained")
    DRAWN[name](demo() if groups == 2 else many(9, 3), ax)
    canvas = FigureCanvasAgg(figure)
    canvas.draw()
    wide, high = canvas.get_width_height()
    legend = ax.get_legend()
    ticks = [
        tick.label1
        for axis in (ax.xaxis, ax.yaxis)
        for tick in axis.get_major_ticks()
        if min(axis.get_view_interval()) <= tick.get_loc() <= max(axis.get_view_interval())
    ]
    texts = [*ticks, ax.xaxis.label, ax.yaxis.label, ax._left_title, *ax.texts]
    boxes = [text.get_window_extent() for text in texts if text.get_text() and text.get_visible()]
    boxes += [] if legend is None else [legend.get_window_extent()]
    for box in boxes:
        assert box.x0 >= -1 and box.y0 >= -1 and box.x1 <= wide + 1 and box.y1 <= high + 1, box


def test_neighbouring_groups_differ_in_grey_and_in_more_than_colour() -> None:
    def lightness(colour: str) -> float:
        linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in to_rgb(colour)]
        y = 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]
        return 116 * y ** (1 / 3) - 16 if y > 0.008856 else 903.3 * y

    styles = [group_style(k) for k in range(40)]
    for one, other in zip(styles[:6], styles[1:7], strict=True):
        assert abs(lightness(one["color"]) - lightness(other["color"])) > 10
    assert len({(s["color"], s["marker"], s["linestyle"]) for s in styles}) == 40
    for one, other in zip(styles, styles[1:], strict=False):
        assert one["marker"] != other["marker"] and one["linestyle"] != other["linestyle"]
