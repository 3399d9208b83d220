"""The times of the last `cargo bench` against the stored baseline, in units of the platform's exponential.

A time by itself says little on another machine, so `benches/baseline.csv` holds each median as so many calls of the
platform's exp, which is measured beside the others. Run from the project's root:

    cargo bench && python benches/baseline.py            # compare
    cargo bench && python benches/baseline.py --store    # make the last run the baseline
"""

from __future__ import annotations

import csv
import json
import os
import sys
from pathlib import Path

HERE = Path(__file__).parent
STORED = HERE / "baseline.csv"
TARGET = Path(os.environ.get("CARGO_TARGET_DIR", HERE.parent / "target"))
REFERENCE = "the platform's exp"
# A change that a busy machine does not make.
NOTABLE = 1.3


def measured() -> dict[str, float]:
    """Medians in calls of the reference, by name."""
    medians = {}
    for path in sorted((TARGET / "criterion").rglob("new/estimates.json")):
        name = json.loads(path.with_name("benchmark.json").read_text())["full_id"]
        medians[name] = json.loads(path.read_text())["median"]["point_estimate"]
    if REFERENCE not in medians:
        sys.exit(f"no times of {REFERENCE!r} under {TARGET}: run `cargo bench` first")
    reference = medians.pop(REFERENCE)
    return {name: median / reference for name, median in medians.items()}


def store(now: dict[str, float]) -> None:
    """Makes the times the baseline."""
    with STORED.open("w", newline="") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow(["bench", "calls of exp"])
        writer.writerows((name, f"{calls:.4g}") for name, calls in now.items())


def compare(now: dict[str, float]) -> None:
    """Prints every time beside its baseline."""
    with STORED.open(newline="") as file:
        baseline = {row["bench"]: float(row["calls of exp"]) for row in csv.DictReader(file)}
    print(f"{'':<32}{'baseline':>12}{'now':>12}{'ratio':>8}")
    for name, calls in now.items():
        before = baseline.get(name)
        if before is None:
            print(f"{name:<32}{'new':>12}{calls:>12.4g}")
            continue
        ratio = calls / before
        remark = "  slower" if ratio > NOTABLE else "  faster" if ratio < 1 / NOTABLE else ""
        print(f"{name:<32}{before:>12.4g}{calls:>12.4g}{ratio:>8.2f}{remark}")


if __name__ == "__main__":
    if sys.argv[1:] == ["--store"]:
        store(measured())
    elif sys.argv[1:]:
        sys.exit(__doc__)
    else:
        compare(measured())
