"""Pictures of the page as data: SVG, or PNG where many curves would make an SVG large."""

from __future__ import annotations

import base64
import io
from collections.abc import Callable
from typing import TYPE_CHECKING

from ..plots import plot_cells, plot_comparisons, plot_study
from ..study.study import Study

if TYPE_CHECKING:
    from matplotlib.axes import Axes

# More sweeps are drawn as pixels.
_MOST_VECTORS = 100
_DPI = 200
# Narrow, so that the texts can be read on a phone.
_WIDTH = 5.6


def curves(study: Study) -> dict[str, str]:
    """All curves, with a text for those who do not see them."""
    groups = ", ".join(f"{name} with {len(places)}" for name, places in study.places.items())
    alt = f"Current over voltage of {len(study.sweeps)} sweeps" + (f" in groups: {groups}" if groups else "")
    height = 3.9 if len(study.groups) <= 6 else 4.6
    return {"src": _drawn(lambda ax: plot_study(study, ax), (_WIDTH, height), len(study.sweeps)), "alt": alt}


def cells(study: Study, figure: str) -> dict[str, str]:
    """Every cell beside the mean of its group."""
    size = (_WIDTH, 1.3 + 0.8 * max(1, len(study.groups)))
    src = _drawn(lambda ax: plot_cells(study, figure, ax), size, len(study.sweeps))
    return {"src": src, "alt": f"{figure} of every cell with its standard uncertainty, and the mean of each group"}


def comparisons(study: Study, figure: str) -> dict[str, str] | None:
    """The differences of one figure; None where there are none."""
    found = [one for one in study.comparisons() if one.figure == figure]
    if not found:
        return None
    size = (_WIDTH, 1.1 + 0.5 * len(found))
    alt = "; ".join(one.sentence for one in found[:6])
    return {"src": _drawn(lambda ax: plot_comparisons(found, ax), size, len(found)), "alt": f"Differences. {alt}"}


def _drawn(draw: Callable[[Axes], object], size: tuple[float, float], count: int) -> str:
    import matplotlib
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure

    figure = Figure(figsize=size, layout="constrained")
    FigureCanvasAgg(figure)
    kind = "svg" if count <= _MOST_VECTORS else "png"
    data = io.BytesIO()
    # The same study gives the same bytes.
    with matplotlib.rc_context({"svg.hashsalt": "litdiode"}):
        draw(figure.subplots())
        extra = {"metadata": {"Date": None}} if kind == "svg" else {"dpi": _DPI}
        figure.savefig(data, format=kind, **extra)
    media = "image/svg+xml" if kind == "svg" else "image/png"
    return f"data:{media};base64,{base64.b64encode(data.getvalue()).decode()}"
