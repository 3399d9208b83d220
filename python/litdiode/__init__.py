"""litdiode: from a raw current–voltage sweep of a solar cell to figures with honest uncertainties.

import litdiode as ld
sweep = ld.Sweep(voltage_v, current_a, temperature_c=25.0)
sweep.key_points()              # Isc, Voc, Pmax, FF … each with its uncertainty
ld.fit_single_diode(sweep)      # Iph, I0, n, Rs, Rsh, and what the data do not determine
"""

from ._core import (
    Change,
    ClosedForm,
    DoubleDiode,
    DoubleDiodes,
    Estimate,
    Finding,
    Fit,
    InputError,
    Instrument,
    Interval,
    KeyPoints,
    KeyPointsTable,
    LitdiodeError,
    LitdiodeWarning,
    Noise,
    Resample,
    SingleDiode,
    SingleDiodes,
    Sweep,
    fit_double_diode,
    fit_single_diode,
    from_end_slopes,
    from_key_points,
    simulate_sweep,
)
from .analysis import MaximumPowers, Resistances, maximum_powers, resistances
from .batch import Fits, fit_many
from .reading import read_sweep

__all__ = [
    "Change",
    "ClosedForm",
    "DoubleDiode",
    "DoubleDiodes",
    "Estimate",
    "Finding",
    "Fit",
    "Fits",
    "InputError",
    "Instrument",
    "Interval",
    "KeyPoints",
    "KeyPointsTable",
    "LitdiodeError",
    "LitdiodeWarning",
    "MaximumPowers",
    "Noise",
    "Resample",
    "Resistances",
    "SingleDiode",
    "SingleDiodes",
    "Sweep",
    "fit_double_diode",
    "fit_many",
    "fit_single_diode",
    "from_end_slopes",
    "from_key_points",
    "maximum_powers",
    "read_sweep",
    "resistances",
    "simulate_sweep",
]
