"""Results as plain data: numbers, texts, lists and dicts that JSON and CSV hold."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Mapping
from typing import Any

from .._core import Estimate


def plain(value: Any) -> Any:
    """A value without objects; what is not finite becomes None, and a row says in its remark that it is infinite."""
    if isinstance(value, Estimate):
        return {"value": plain(value.value), "u": plain(value.u), "dof": plain(value.dof), "unit": value.unit}
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        return {field.name: plain(getattr(value, field.name)) for field in dataclasses.fields(value)}
    if isinstance(value, Mapping):
        row = {key: plain(one) for key, one in value.items()}
        if value.get("value") == math.inf and "remark" in row:
            row["remark"] = "; ".join(text for text in ("infinite", row["remark"]) if text)
        return row
    if isinstance(value, (list, tuple)):
        return [plain(one) for one in value]
    if isinstance(value, float) and not math.isfinite(value):
        return None
    return value
