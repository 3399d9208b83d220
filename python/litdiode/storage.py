"""Results as texts: JSON that comes back exactly."""

from __future__ import annotations

import json
import math
import types
import typing
from dataclasses import fields, is_dataclass
from typing import TYPE_CHECKING, Any

from ._core import Estimate, InputError, Sweep
from .arguments import require

if TYPE_CHECKING:
    from typing_extensions import Self

_INFINITIES = {"inf": math.inf, "-inf": -math.inf}


class Stored:
    """A dataclass that can be written as JSON."""

    def to_json(self) -> str:
        """The whole result as JSON; `from_json` gives it back exactly, with what its Estimates share."""
        return json.dumps(_encoded(self), ensure_ascii=False, allow_nan=False)

    @classmethod
    def from_json(cls, text: str) -> Self:
        """The result that `to_json` wrote.

        - `text`: what it wrote.

        Raises `InputError` for any other text, that of another class among them.

        ```python
        >>> import litdiode as ld
        >>> group = ld.Group("recipe A", [ld.Estimate(x, 0.001) for x in (0.081, 0.078, 0.083)])  # invented
        >>> summary = group.summary("efficiency")
        >>> ld.Summary.from_json(summary.to_json()) == summary
        True
        ```
        """
        made: Self = _decoded(cls, parsed(text, cls.__name__), cls.__name__)
        return made

    def _consistent(self) -> bool:
        """Whether the fields fit each other: those of an edited text may not."""
        return True


def parsed(text: str, name: str) -> Any:
    """What a `text` of JSON holds; `InputError` that asks for one of the class `name` where it is none."""
    require("text", text, str, "what to_json wrote")
    try:
        return json.loads(text, parse_constant=_refused)
    except (ValueError, RecursionError) as error:
        raise InputError(f"text is no {name} in JSON ({error}); pass what to_json wrote") from None


def _refused(word: str) -> None:
    raise ValueError(f"{word} is no number")


def _encoded(value: Any) -> Any:
    if isinstance(value, Estimate | Sweep):
        return json.loads(value.to_json())
    if is_dataclass(value):
        named = {field.name: _encoded(getattr(value, field.name)) for field in fields(value)}
        return {"class": type(value).__name__, "fields": named}
    if isinstance(value, dict):
        return {key: _encoded(one) for key, one in value.items()}
    if isinstance(value, tuple):
        return [_encoded(one) for one in value]
    if isinstance(value, float) and math.isinf(value):
        return "inf" if value > 0 else "-inf"
    return value


def _decoded(hint: Any, value: Any, where: str) -> Any:
    """The `value` as the type that `hint` asks for; `where` names its place."""
    origin, inner = typing.get_origin(hint), typing.get_args(hint)
    if origin in (types.UnionType, typing.Union):
        rest = [one for one in inner if one is not types.NoneType]
        return None if value is None else _decoded(rest[0], value, where)
    if origin is dict and isinstance(value, dict):
        return {key: _decoded(inner[1], one, f"{where}[{key!r}]") for key, one in value.items()}
    if origin is tuple and isinstance(value, list):
        hints = [inner[0]] * len(value) if inner[-1] is Ellipsis else list(inner)
        if len(hints) != len(value):
            raise _unlike(where, value)
        return tuple(_decoded(h, v, f"{where}[{k}]") for k, (h, v) in enumerate(zip(hints, value, strict=True)))
    if hint in (Estimate, Sweep) and isinstance(value, dict):
        return hint.from_json(json.dumps(value))
    if is_dataclass(hint) and isinstance(hint, type):
        return _made(hint, value, where)
    return _plain(hint, value, where)


def _made(kind: type, value: Any, where: str) -> Any:
    """The dataclass `kind` of what `_encoded` made of it."""
    hints = typing.get_type_hints(kind)
    right = isinstance(value, dict) and value.get("class") == kind.__name__ and isinstance(value.get("fields"), dict)
    if not right or set(value["fields"]) != {field.name for field in fields(kind)}:
        raise _unlike(where, value)
    made = kind(**{name: _decoded(hints[name], one, f"{where}.{name}") for name, one in value["fields"].items()})
    if isinstance(made, Stored) and not made._consistent():
        raise InputError(f"text: the fields of {where} do not fit each other; pass what to_json wrote")
    return made


def _plain(hint: Any, value: Any, where: str) -> Any:
    if hint is float and isinstance(value, str) and value in _INFINITIES:
        return _INFINITIES[value]
    if hint is float and isinstance(value, int | float) and not isinstance(value, bool):
        if isinstance(value, float) and math.isfinite(value):
            return value
        if isinstance(value, int) and abs(value) < 2**53:
            return float(value)
        raise _unlike(where, value)
    if isinstance(hint, type) and type(value) is hint:
        return value
    raise _unlike(where, value)


def _unlike(where: str, value: Any) -> InputError:
    return InputError(f"text: {where} is {value!r:.60}, which to_json does not write there; pass what to_json wrote")
