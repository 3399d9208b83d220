"""From replicate cells to a verdict: is recipe A better than B, by how much, and how many more cells would tell.

    Group (figures of replicate cells) ─▶ Summary: spread of the cells, of the measurement, and what all share
    Group, Group ─▶ compare ─▶ Comparison: difference, p values, effect size, verdict, cells needed

SciPy does the statistics; it comes with the extra "study".
"""

from .comparison import Comparison, compare
from .group import Group, Summary
from .planning import cells_needed

__all__ = ["Comparison", "Group", "Summary", "cells_needed", "compare"]
