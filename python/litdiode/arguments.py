"""Arguments of a wrong type: a `TypeError` that names the argument, the value, and what to write instead."""

from __future__ import annotations

import math
from numbers import Integral, Real
from typing import Any

from ._core import InputError

# What a list of numbers may take: as many as the compiled core makes.
_MOST = 10_000_000


def require(name: str, value: Any, kind: type | tuple[type, ...], cure: str) -> None:
    """Nothing where `value` is a `kind`; else a `TypeError` that ends with `cure`."""
    if not isinstance(value, kind):
        raise TypeError(f"{name} = {value!r} is of type {type(value).__name__}; pass {cure}")


def require_count(name: str, value: Any) -> None:
    """Nothing where `value` is a whole number from 1 to 10 million; else an error that names it."""
    require(name, value, Integral, "a whole number")
    if not 1 <= value <= _MOST:
        raise InputError(f"{name} = {value} is not allowed; pass 1 to 10 million")


def require_number(name: str, value: Any) -> float:
    """The number that `value` is; else an error that names it."""
    require(name, value, Real, "a number")
    try:
        number = float(value)
    except OverflowError:
        number = math.nan
    if isinstance(value, bool) or math.isnan(number):
        raise InputError(f"{name} is no number that fits; pass one, such as 0.05")
    return number
