"""Pictures: of sweeps, plans, fits, interpolants, translations, tables of methods, studies, and of how cells age.

Measured points are drawn as they are; figures stand at their points with their intervals, their values beside
them in the empty area below the curve. Colours differ in lightness; each series has its own marker and line.
matplotlib is imported only when something is drawn, and nothing is ever shown: the axes come back.
"""

from .ageing import plot_ageing
from .budgets import plot_budget
from .comparisons import plot_comparisons
from .fits import plot_fit
from .interpolants import plot_interpolant
from .live import plot_live_sweep
from .plans import plot_plan
from .powers import plot_maximum_powers
from .resistances import plot_resistances
from .studies import plot_cells, plot_study
from .survival import plot_survival
from .sweeps import plot_sweep, plot_sweeps
from .translations import plot_translated

__all__ = [
    "plot_ageing",
    "plot_budget",
    "plot_cells",
    "plot_comparisons",
    "plot_fit",
    "plot_interpolant",
    "plot_live_sweep",
    "plot_maximum_powers",
    "plot_plan",
    "plot_resistances",
    "plot_study",
    "plot_survival",
    "plot_sweep",
    "plot_sweeps",
    "plot_translated",
]
