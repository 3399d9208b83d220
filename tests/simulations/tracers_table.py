"""Tables of docs/key_points.md from the lines of `cargo run --release --example tracers`.

    cargo run --release --example tracers -- 1000 aside > tracers.csv
    python tests/simulations/tracers_table.py tracers.csv

A cell is one device, tracer, number of points and noise; a figure counts in the cells whose sweeps reach it.
"""

import csv
import sys
from collections import defaultdict

FIGURES = ["isc", "voc", "pmax", "ff", "v_pmax"]
# What chance makes of 95 % in 1,000 sweeps: one standard deviation is 0.7 %.
CHANCE = 0.007


def reaches(row):
    """Whether the sweep of a cell reaches its figure."""
    if row["start"] != "Beyond":
        return True
    lost = "isc" if row["swept"] == "voltage" else "voc"
    return row["figure"] not in (lost, "ff")


def read(path):
    """The cells that count, with numbers as numbers."""
    with open(path, encoding="utf-8") as lines:
        rows = [row for row in csv.DictReader(lines) if reaches(row)]
    for row in rows:
        for key in ("given", "bias", "spread", "core", "u", "holds"):
            row[key] = float(row[key])
    return rows


def percent(share):
    return f"{100 * share:.1f}"


def summary(rows):
    """One line a device, tracer and figure."""
    groups = defaultdict(list)
    for row in rows:
        groups[row["device"], row["swept"], row["figure"]].append(row)
    yield "| device | stepped | figure | cells | given at least | holds: least | median | most | in 93–97 |"
    yield "|---|---|---|---|---|---|---|---|---|"
    for (device, swept, figure), own in groups.items():
        holds = sorted(row["holds"] for row in own if row["given"] > 0)
        inside = sum(0.93 - CHANCE <= h <= 0.97 + CHANCE for h in holds) / len(holds)
        numbers = [min(row["given"] for row in own), holds[0], holds[len(holds) // 2], holds[-1], inside]
        cells = " | ".join(percent(number) for number in numbers)
        yield f"| {device} | {swept} | {figure} | {len(own)} | {cells} |"


def misses(rows):
    """Cells that hold in less than 91 % or are not given."""
    yield "| device | stepped | start | points | noise/% | noise | figure | given | bias/u | u/% | holds |"
    yield "|---|---|---|---|---|---|---|---|---|---|---|"
    for row in rows:
        if row["given"] < 0.99 or row["holds"] < 0.91 - CHANCE:
            ratio = row["bias"] / row["u"] if row["u"] > 0 else 0.0
            yield (
                f"| {row['device']} | {row['swept']} | {row['start'].lower()} | {row['points']} | "
                f"{row['noise_percent']} | {row['stated']} | {row['figure']} | {percent(row['given'])} | "
                f"{ratio:+.2f} | {percent(row['u'])} | {percent(row['holds'])} |"
            )


def main():
    rows = read(sys.argv[1])
    print("\n".join(summary(rows)))
    for name, own in (
        ("one diode", [r for r in rows if not r["device"].endswith("S")]),
        ("S-shapes", [r for r in rows if r["device"].endswith("S") and r["device"] != "high Rs"]),
    ):
        holds = [row["holds"] for row in own if row["given"] > 0]
        if not holds:
            continue
        inside = sum(0.93 - CHANCE <= h <= 0.97 + CHANCE for h in holds) / len(holds)
        low = sum(h < 0.91 - CHANCE for h in holds) / len(holds)
        high = sum(h > 0.98 + CHANCE for h in holds) / len(holds)
        given = sum(row["given"] >= 0.99 for row in own) / len(own)
        print(
            f"\n{name}: {len(own)} cells; in 93 to 97 %: {percent(inside)}; below 91 %: {percent(low)}; "
            f"above 98 %: {percent(high)}; given in 99 %: {percent(given)}"
        )
    print()
    print("\n".join(misses(rows)))


if __name__ == "__main__":
    main()
