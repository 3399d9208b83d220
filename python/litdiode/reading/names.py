"""Group, label and batch of a sweep from the name of its file: `{group}_{label}.csv`, `{batch}/{group}_{label:d}`."""

from __future__ import annotations

import re
from difflib import get_close_matches
from pathlib import PurePath

from .._core import InputError
from ..arguments import require

FIELDS = ("group", "label", "batch", "_")
_PARTS = re.compile(r"\{(\w*)(?::([^{}]*))?\}")


class NamePattern:
    """A template of names: what a field stands for is read off a name, everything else must be in it as written.

    - `text`: `{group}`, `{label}` and `{batch}` stand for one character or more of one name; `{label:d}` for digits
      alone; `{_}` for what is not needed. Parts between slashes are folders, counted from the file up. Without a dot
      in the last part the ending of a file is left out of account.

    Raises `InputError` for an unknown field, one that is named twice, and a template without any.
    """

    def __init__(self, text: str) -> None:
        require("pattern", text, str, 'a text such as "{group}_{label}.csv"')
        self.text = text
        self._folders = text.count("/")
        self._stem = "." not in _PARTS.sub("", text).rsplit("/", 1)[-1]
        self._fields: list[str] = []
        self._greedy, self._lazy = (re.compile(self._expression(end)) for end in ("+", "+?"))
        if not self._fields:
            raise InputError(f"pattern={text!r} has no field: pass one such as {{group}}_{{label}}.csv")

    def _expression(self, count: str) -> str:
        """The template as a regular expression whose fields take as much, or as little, as they can."""
        self._fields = []
        found, end = "", 0
        for part in _PARTS.finditer(self.text):
            found += re.escape(self.text[end : part.start()]) + self._field(part[1], part[2], count)
            end = part.end()
        rest = self.text[end:]
        if "{" in rest or "}" in rest:
            raise InputError(f"pattern={self.text!r}: a bracket is open: write fields as {{group}}")
        return found + re.escape(rest)

    def _field(self, name: str, kind: str | None, count: str) -> str:
        if name not in FIELDS:
            near = get_close_matches(name, FIELDS, 1) or ["group"]
            raise InputError(
                f"pattern={self.text!r}: {{{name}}} is no field: pass {{{near[0]}}}, of {', '.join(FIELDS)}"
            )
        if kind not in (None, "d"):
            raise InputError(
                f"pattern={self.text!r}: {{{name}:{kind}}} is no field: pass {{{name}:d}} for digits alone"
            )
        one = (r"\d" if kind else "[^/]") + count
        if name == "_":
            return f"(?:{one})"
        if name in self._fields:
            raise InputError(f"pattern={self.text!r} names {{{name}}} twice: pass {{_}} for the other")
        self._fields.append(name)
        return f"(?P<{name}>{one})"

    def fields(self, file: str) -> dict[str, str]:
        """What the name of a `file` says; `InputError` where it does not fit, or fits in two ways."""
        parts = PurePath(file.replace("\\", "/")).parts[-self._folders - 1 :]
        if parts and self._stem:
            parts = (*parts[:-1], PurePath(parts[-1]).stem)
        name = "/".join(parts)
        greedy, lazy = self._greedy.fullmatch(name), self._lazy.fullmatch(name)
        if greedy is None or lazy is None:
            raise InputError(f"{file}: the name does not fit pattern={self.text!r}: rename it, or pass another pattern")
        if greedy.groupdict() != lazy.groupdict():
            one, other = (" ".join(f"{k}={v!r}" for k, v in m.groupdict().items()) for m in (greedy, lazy))
            raise InputError(
                f"{file}: the name fits pattern={self.text!r} in two ways, {one} or {other}: pass a pattern with "
                "more of the name in it, or {label:d} for digits alone"
            )
        return greedy.groupdict()

    def __repr__(self) -> str:
        return f"NamePattern({self.text!r})"
