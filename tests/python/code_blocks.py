"""Blocks of code in pages: what they print, beside the blocks of text that show it."""

from __future__ import annotations

import contextlib
import io
import re
from collections.abc import Iterator

_BLOCK = re.compile(r"```(python|text)\n(.*?)```", re.DOTALL)


def printed_by(code: str, names: dict[str, object]) -> str:
    """What code prints that knows `names` and adds to them."""
    printed = io.StringIO()
    with contextlib.redirect_stdout(printed):
        exec(code, names)
    return printed.getvalue()


def shown(page: str) -> Iterator[tuple[re.Match[str], str]]:
    """Each block of text behind a block of code, and what that prints; all code of the page runs, in its order."""
    names: dict[str, object] = {}
    printed: str | None = None
    for block in _BLOCK.finditer(page):
        if block[1] == "python":
            printed = printed_by(block[2], names)
        elif printed is not None:
            yield block, printed
            printed = None


def without_last_digits(text: str) -> str:
    """A text without the last digits of long numbers, which depend on the platform's exp."""
    return re.sub(r"(\d\.\d{6})\d+", r"\1", text)
