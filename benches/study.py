"""How long a study of many files takes, step by step: `python benches/study.py [FILES] [GROUPS]` (1000 and 10).

The files are invented: cells of one diode with a spread of 3 %, 25 readings with noise, one area mask, lamp and
instrument for all. Each group is compared with the first.
"""

from __future__ import annotations

import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np

import litdiode as ld

STUDY = """
title = "Bench (invented data)"
files = ["*.csv"]
pattern = "{group}_{label:d}"
area_cm2 = "1.0 ± 0.02"
irradiance_w_m2 = "1000 ± 30"
reference = "recipe0"
diodes = 1

[noise]
current_a = 2e-5
current_gain_u = 0.01
"""


def write(folder: Path, files: int, groups: int) -> None:
    """Files of `groups` recipes, each 1 % better than the one before."""
    draw = np.random.default_rng(1)
    tracer = ld.Instrument(noise_current_a=2e-5)
    for k in range(files):
        iph_a = 0.02 * (1 + 0.01 * (k % groups)) * (1 + 0.03 * draw.standard_normal())
        cell = ld.SingleDiode(iph_a=iph_a, i0_a=1e-10, n=1.6, rs_ohm=1.0, rsh_ohm=2000.0)
        sweep = ld.simulate_sweep(cell, tracer, seed=k)
        rows = "\n".join(f"{v:.6f},{1e3 * i:.6f}" for v, i in zip(sweep.voltage_v, sweep.current_a, strict=True))
        (folder / f"recipe{k % groups}_{k}.csv").write_text(f"# invented\nV (V),I (mA)\n{rows}\n")
    (folder / "study.toml").write_text(STUDY, encoding="utf-8")


def main() -> None:
    """Print the time of each step, and of all."""
    files = int(sys.argv[1]) if len(sys.argv) > 1 else 1000
    groups = int(sys.argv[2]) if len(sys.argv) > 2 else 10
    with tempfile.TemporaryDirectory() as at:
        write(Path(at), files, groups)
        times: dict[str, tuple[float, float]] = {}
        study = timed(times, "reading", lambda: ld.Study.read(Path(at) / "study.toml"))
        timed(times, "key points", lambda: study.key_points)
        timed(times, "findings", lambda: study.findings)
        timed(times, "fits", lambda: study.fits)
        timed(times, "comparisons", study.comparisons)
        timed(times, "tables", lambda: (study.to_csv(), study.to_json()))
        timed(times, "report", lambda: study.report(Path(at) / "report.html"))
    print(f"{files} files, {groups} groups")
    whole = tuple(map(sum, zip(*times.values(), strict=True)))
    print(f"{'':<12}{'elapsed':>9}{'processor':>11}   (on a busy machine the second tells)")
    for name, (elapsed, processor) in (times | {"all": whole}).items():
        print(f"{name:<12}{elapsed:7.2f} s{processor:9.2f} s")


def timed(times: dict[str, tuple[float, float]], name: str, job: Callable[[], object]) -> ld.Study:
    """What the job gives; the time that passed and that of the processors is noted."""
    elapsed, processor = time.perf_counter(), time.process_time()
    found = job()
    times[name] = (time.perf_counter() - elapsed, time.process_time() - processor)
    return found  # type: ignore[return-value]


if __name__ == "__main__":
    main()
