"""litdiode beside NumPy and SciPy in one run: ratios of medians, one thread where nothing else is said.

Run from the project's root:  python benches/side_by_side.py
"""

from __future__ import annotations

from fits_table import fits
from forward_table import forward

if __name__ == "__main__":
    forward()
    print()
    fits()
