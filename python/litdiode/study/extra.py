"""The libraries of the extra "study", imported when something of it is asked for."""

from __future__ import annotations

from importlib import import_module
from typing import Any


def library(name: str) -> Any:
    """The module `name` of SciPy, statsmodels or pandas; a missing one says what to install."""
    try:
        return import_module(name)
    except ImportError as error:
        raise ImportError(f"{name.partition('.')[0]} is missing; install it by: pip install litdiode[study]") from error
