"""Time and memory of one large file of text, from reading to key points: `python benches/large_file.py 5000000`.

The file is invented and written to a temporary folder; it is read in a process of its own, whose peak memory is told.
"""

import resource
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import numpy as np


def write(path: Path, rows: int) -> None:
    """An invented cell of 35 mA with 10 µA of noise."""
    rng = np.random.default_rng(1)
    voltage_v = np.linspace(-0.05, 0.62, rows)
    current_a = 0.035 - 1e-10 * np.expm1(voltage_v / 0.031) - voltage_v / 3500 + 1e-5 * rng.standard_normal(rows)
    with path.open("w") as file:
        file.write("V (V),I (A)\n")
        file.writelines(f"{v:.7f},{i:.7f}\n" for v, i in zip(voltage_v, current_a, strict=True))


def measure(path: str) -> None:
    """Reads the file and prints processor time and peak memory after either step."""
    import litdiode as ld

    def told(step: str, start: float) -> None:
        peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
        print(f"{step:11s} {time.process_time() - start:6.2f} s of processor time, {peak:5.0f} MB at most until then")

    start = time.process_time()
    sweep = ld.read_sweep(path)
    told("reading", start)
    start = time.process_time()
    points = sweep.key_points()
    told("key points", start)
    print(points)


if __name__ == "__main__":
    if len(sys.argv) > 2:
        measure(sys.argv[2])
    else:
        with tempfile.TemporaryDirectory() as folder:
            path = Path(folder) / "large.csv"
            write(path, int(sys.argv[1]) if len(sys.argv) > 1 else 5_000_000)
            print(f"{path.stat().st_size / 1e6:.0f} MB of text")
            subprocess.run([sys.executable, __file__, "measure", str(path)], check=True)
