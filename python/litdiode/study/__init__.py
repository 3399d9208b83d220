"""From replicate cells to a verdict: is recipe A better than B, by how much, and how many more cells would tell.

    Group (figures of replicate cells) ─▶ Summary: spread of the cells, of the measurement, and what all share
    Group, Group ─▶ compare ─▶ Comparison: difference, p values, effect size, verdict, cells needed
    several Groups ─▶ compare_all ─▶ Comparisons: every pair, with one chance of error for all
    Summary ─▶ precision ─▶ Precision: what more cells, repeats or points would each buy
    times and figures of a cell ─▶ ageing ─▶ Ageing: the decay, and the time to 80 % of the initial value
    Ageings, or times ─▶ survival ─▶ Survival ─▶ compare_survival ─▶ SurvivalComparison

SciPy and statsmodels do the statistics; they come with the extra "study".
"""

from .ageing import Ageing, ageing
from .comparison import Comparison, compare
from .group import Group, Summary
from .planning import cells_for_equivalence, cells_for_width, cells_needed
from .precision import Precision, precision
from .several import Comparisons, compare_all
from .survival import Survival, SurvivalComparison, compare_survival, survival

__all__ = [
    "Ageing",
    "Comparison",
    "Comparisons",
    "Group",
    "Precision",
    "Summary",
    "Survival",
    "SurvivalComparison",
    "ageing",
    "cells_for_equivalence",
    "cells_for_width",
    "cells_needed",
    "compare",
    "compare_all",
    "compare_survival",
    "precision",
    "survival",
]
