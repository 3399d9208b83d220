"""Make tests/data/diode_truth.csv: exact values of the single- and double-diode model over the whole domain.

Run from the project's root, with mpmath 1.3 or later (gmpy2 makes it faster):

    python tests/data/make_diode_truth.py            # write the table
    python tests/data/make_diode_truth.py --check    # check 50 random rows of it at more than 100 digits

It shares no formula with the library: diode_truth_solve.py solves the implicit circuit equation in I or V
itself. Rows whose exact value lies beyond binary64, or does not exist, carry `inf` or `-inf`; of each
kind only a few are kept.
"""

from __future__ import annotations

import argparse
from collections import Counter
from collections.abc import Iterator
from pathlib import Path

from diode_truth_cases import SEED, cases
from diode_truth_check import check
from diode_truth_rows import COLUMNS, row

TABLE = Path(__file__).with_name("diode_truth.csv")
KEEP_INFINITE = 30
HEADER = f"""\
# Exact single- and double-diode values: tests/data/make_diode_truth.py, seed {SEED}; invented circuits.
# x: V in V for `current`, I in A for `voltage`; value + value_lo: the exact result, in V, A or W.
"""


def lines() -> Iterator[str]:
    """The table's rows, all but the first few infinite ones of a kind."""
    infinite: Counter[str] = Counter()
    for case in cases():
        cells = row(case)
        if "inf" in cells["value"]:
            infinite[case.kind] += 1
            if infinite[case.kind] > KEEP_INFINITE:
                continue
        yield ",".join(cells.values())


def main() -> None:
    options = argparse.ArgumentParser(description="Make or check tests/data/diode_truth.csv.")
    options.add_argument("--check", action="store_true", help="check 50 random rows of the table instead")
    if options.parse_args().check:
        print(check(TABLE, rows=50))
        return
    table = list(lines())
    TABLE.write_text(HEADER + "\n".join([",".join(COLUMNS), *table]) + "\n", encoding="utf-8")
    print(f"{TABLE.name}: {len(table)} rows")


if __name__ == "__main__":
    main()
