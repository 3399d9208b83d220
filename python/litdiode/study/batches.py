"""Cells that were made in batches: the batches are what was repeated, and the cells of one are alike.

    y_jk = μ + b_j + e_jk        var(ȳ_j) = s_batches² + s_cells²/n_j

The means of the batches are independent, so that tests of these hold whatever the batches differ by; tests of the cells
do not.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from .._core import Estimate


def batch_means(found: Sequence[Estimate], labels: Sequence[str]) -> list[Estimate]:
    """The mean of each batch, in the order in which the batches appear."""
    return [_mean([e for e, label in zip(found, labels, strict=True) if label == one]) for one in dict.fromkeys(labels)]


def _mean(cells: Sequence[Estimate]) -> Estimate:
    total = cells[0]
    for e in cells[1:]:
        total = total + e
    return total / len(cells)


def components(values: Sequence[float], labels: Sequence[str]) -> tuple[float, float] | None:
    """Variance between batches and of the cells within one, by the analysis of variance; None where no batch has two.

    ```text
    s_cells² = SS_within/(N − b)        s_batches² = (SS_between/(b − 1) − s_cells²)/n₀,  n₀ = (N − Σ nⱼ²/N)/(b − 1)
    ```

    S. R. Searle, G. Casella, C. E. McCulloch, Variance Components (1992), chapter 3 (from memory).
    """
    parts: dict[str, list[float]] = {}
    for value, label in zip(values, labels, strict=True):
        parts.setdefault(label, []).append(value)
    n, b = len(values), len(parts)
    if n == b or b < 2:
        return None
    mean = math.fsum(values) / n
    means = {label: math.fsum(part) / len(part) for label, part in parts.items()}
    within = math.fsum((x - means[label]) ** 2 for label, part in parts.items() for x in part) / (n - b)
    between = math.fsum(len(part) * (means[label] - mean) ** 2 for label, part in parts.items()) / (b - 1)
    size = (n - math.fsum(len(part) ** 2 for part in parts.values()) / n) / (b - 1)
    return max(0.0, (between - within) / size), within
