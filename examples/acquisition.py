"""A measurement point by point: the live sweep says what to set and when to stop, the rig sets and reads.

The rig here is simulated, its cell invented. Keep the compliance of the source at the limits as well: a program cannot
guard what a loose wire does. Above 60 V d.c., of a string of cells, a hand on a contact is dangerous; a lamp burns and
blinds.
"""

from __future__ import annotations

import math
import random

import litdiode as ld


class Rig:
    """In place of a source and two meters."""

    def __init__(self) -> None:
        self.cell = ld.SingleDiode(iph_a=0.03, i0_a=1e-9, n=1.4, rs_ohm=0.8, rsh_ohm=900)
        self.noise = random.Random(1)
        self.readings = 0
        self.time_s = 0.0

    def set_and_read(self, point: ld.SetPoint) -> tuple[float, float]:
        """Sets a voltage in V, waits, reads voltage in V and current in A. Each tenth reading is lost on the way."""
        self.readings += 1
        self.time_s += point.dwell_s
        if self.readings % 10 == 0:
            return point.value, math.nan
        return point.value, float(self.cell.current(point.value)) + self.noise.gauss(0.0, 60e-6)

    def rest(self) -> None:
        """The source to 0 V and off."""
        print(f"source at 0 V and off after {self.time_s:.1f} s")


def measure(live: ld.LiveSweep, rig: Rig) -> None:
    """Drives the sweep to its end."""
    while (point := live.next_set_point()) is not None:
        voltage_v, current_a = rig.set_and_read(point)
        try:
            flag = live.push(voltage_v, current_a, time_s=rig.time_s)
        except ld.InputError as refused:
            # Nothing is lost: the next set point is the same one.
            print("refused:", refused)
            continue
        if flag is not None:
            print(f"reading {len(live)}: {flag}")
        if (ff := live.key_points().ff) is not None:
            print(f"{len(live):3} readings, set {point.value:7.4f} V: FF {ff}")


def main() -> ld.Sweep:
    """Measures one cell; its sweep."""
    rig = Rig()
    live = ld.LiveSweep(
        limits_v=(-0.1, 0.8),
        limits_a=(-0.06, 0.06),
        limit_w=0.05,
        wanted=0.001,
        capacity=100,
        dwell_s=0.2,
        time_limit_s=60.0,
        noise=ld.Noise(current_a=60e-6),
        label="cell 3",
    )
    try:
        measure(live, rig)
    finally:
        # Whatever happened, the source goes back to rest.
        rig.rest()
    print("stopped:", live.reason)
    print(live.key_points())
    fit = live.fit(deadline_s=0.005)
    print("fit:", fit.status, fit.parameters["n"])
    return live.sweep()


if __name__ == "__main__":
    main()
