"""The exercises, each in a file of its own. A new one is a subclass of `Exercise` and its place in `ALL`."""

from __future__ import annotations

from ..exercise import Exercise
from .dark_curve import DarkCurve
from .detection import Detection
from .diode_parameters import DiodeParameters
from .faults import Faults
from .key_points import KeyPointsOfSweep
from .recipes import Recipes
from .series_resistance import SeriesResistance
from .translation import Translation

#: Every exercise, by name, in the order of a course.
ALL: dict[str, Exercise] = {
    one.name: one
    for one in (
        KeyPointsOfSweep(),
        DiodeParameters(),
        DarkCurve(),
        SeriesResistance(),
        Detection(),
        Recipes(),
        Translation(),
        Faults(),
    )
}
