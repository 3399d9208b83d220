"""Files of invented cells, one a sweep of 25 readings with 20 µA of noise."""

from pathlib import Path

import numpy as np

import litdiode as ld

CELL = {"i0_a": 1e-10, "n": 1.6, "rs_ohm": 1.0, "rsh_ohm": 2000.0}


def write_cells(
    folder: Path, recipe: str, iph: float, cells: int, *, seed: int, spread: float = 0.02, head: str = "# invented\n"
) -> None:
    """Cells of one `recipe` whose photocurrents scatter by the part `spread`."""
    folder.mkdir(exist_ok=True)
    rng = np.random.default_rng(seed)
    for k in range(1, cells + 1):
        cell = ld.SingleDiode(iph_a=iph * (1 + spread * rng.standard_normal()), **CELL)
        v = np.linspace(-0.05, 0.85, 25)
        i = np.asarray(cell.current(v)) + 2e-5 * rng.standard_normal(25)
        rows = "\n".join(f"{a:.6f},{1e3 * b:.6f}" for a, b in zip(v, i, strict=True))
        (folder / f"{recipe}_{k}.csv").write_text(f"{head}V (V),I (mA)\n{rows}\n")
