"""litdiode: from a raw current–voltage sweep of a solar cell to figures with honest uncertainties.

import litdiode as ld
sweep = ld.Sweep(voltage_v, current_a, temperature_c=25.0)
sweep.key_points()              # Isc, Voc, Pmax, FF … each with its uncertainty
ld.fit_single_diode(sweep)      # Iph, I0, n, Rs, Rsh, and what the data do not determine
"""

from ._core import (
    Change,
    DoubleDiode,
    Estimate,
    Finding,
    Fit,
    InputError,
    Instrument,
    Interval,
    KeyPoints,
    LitdiodeError,
    LitdiodeWarning,
    Noise,
    SingleDiode,
    Sweep,
    fit_double_diode,
    fit_single_diode,
    simulate_sweep,
)
from .reading import read_sweep

__all__ = [
    "Change",
    "DoubleDiode",
    "Estimate",
    "Finding",
    "Fit",
    "InputError",
    "Instrument",
    "Interval",
    "KeyPoints",
    "LitdiodeError",
    "LitdiodeWarning",
    "Noise",
    "SingleDiode",
    "Sweep",
    "fit_double_diode",
    "fit_single_diode",
    "read_sweep",
    "simulate_sweep",
]
