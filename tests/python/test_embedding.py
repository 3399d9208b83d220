"""The package inside other programs: threads, processes, subinterpreters (docs/embedding.md)."""

from __future__ import annotations

import multiprocessing
import subprocess
import sys
import textwrap
from concurrent.futures import ThreadPoolExecutor

import pytest

import litdiode as ld

CELL = ld.SingleDiode(iph_a=0.03, i0_a=1e-9, n=1.3, rs_ohm=0.5, rsh_ohm=900)  # invented


def sweep(seed: int) -> ld.Sweep:
    """A noisy sweep of the cell."""
    return ld.simulate_sweep(CELL, ld.Instrument(noise_current_a=2e-5), seed=seed)


def figures(measured: ld.Sweep) -> tuple[float, float]:
    """What key points and a fit give."""
    return measured.key_points().ff.value, ld.fit_single_diode(measured).rms


@pytest.mark.filterwarnings("ignore:.*multi-threaded.*fork.*:DeprecationWarning")
@pytest.mark.parametrize("method", [m for m in ("fork", "spawn") if m in multiprocessing.get_all_start_methods()])
def test_processes_find_the_same_bits(method: str) -> None:
    sweeps = [sweep(seed) for seed in range(4)]
    # Threads of the library have run before the fork, and are gone by then.
    ld.fit_many(sweeps, threads=2)
    with multiprocessing.get_context(method).Pool(2) as pool:
        assert pool.map(figures, sweeps) == [figures(s) for s in sweeps]


def test_threads_share_what_they_read() -> None:
    shared, alone = sweep(1), figures(sweep(1))
    with ThreadPoolExecutor(8) as pool:
        assert list(pool.map(figures, [shared] * 32)) == [alone] * 32


# Runs code in new interpreters of one process, one after the other, and prints what they print or raise.
INTERPRETERS = """
import sys
try:
    import _interpreters as interpreters
except ImportError:
    import _xxsubinterpreters as interpreters

def run(code, isolated=False):
    if sys.version_info >= (3, 13):
        made = interpreters.create("isolated" if isolated else "legacy")
    elif sys.version_info >= (3, 12):
        made = interpreters.create(isolated=isolated)
    else:
        made = interpreters.create()
    try:
        failed = interpreters.run_string(made, f"import sys, warnings\\nsys.path[:0] = {sys.path!r}\\n"
            f"warnings.simplefilter('ignore')\\n{code}\\nsys.stdout.flush()")
        if failed is not None:
            print(failed.formatted)
    except Exception as error:
        print(error)
    sys.stdout.flush()
"""
FITS = "import litdiode as ld; print('imported')"


def printed(code: str) -> str:
    """What a fresh process prints."""
    code = INTERPRETERS + textwrap.dedent(code)
    ended = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    assert ended.returncode == 0, ended.stderr
    return ended.stdout


def test_one_interpreter_of_a_process_has_it() -> None:
    """A second one is refused, and the first goes on."""
    said = printed(f"""
        import litdiode as ld
        run({FITS!r})
        print(ld.SingleDiode(iph_a=0.03, i0_a=1e-9, n=1.3, rs_ohm=0.5, rsh_ohm=900).key_points().isc.value > 0)
    """)
    assert "imported" not in said
    assert "ImportError" in said
    assert said.endswith("True\n")


def test_it_may_be_a_subinterpreter() -> None:
    said = printed(f"run({FITS!r})\nrun({FITS!r})")
    assert said.startswith("imported\n")
    assert said.count("imported") == 1
    assert "ImportError" in said


def test_an_interpreter_with_a_lock_of_its_own_is_refused() -> None:
    """From CPython 3.12 on; before, there are none."""
    said = printed(f"run({FITS!r}, isolated=True)")
    assert ("does not support loading in subinterpreters" in said) is (sys.version_info >= (3, 12))
