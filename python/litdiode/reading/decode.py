"""Bytes of a file to text: byte-order marks, UTF-16 without a mark, UTF-8, and the old one-byte tables.

The one-byte fallback is Windows-1252, which agrees with Latin-1 on the micro sign, the degree sign and the
plus-minus sign, the three that matter in a laboratory's headings.
"""

from __future__ import annotations

import codecs

from .._core import InputError

# The longer marks first: the UTF-32 mark begins with the UTF-16 one.
_MARKS = (
    (codecs.BOM_UTF32_LE, "utf-32"),
    (codecs.BOM_UTF32_BE, "utf-32"),
    (codecs.BOM_UTF8, "utf-8-sig"),
    (codecs.BOM_UTF16_LE, "utf-16"),
    (codecs.BOM_UTF16_BE, "utf-16"),
)
_CONTROL = {chr(c) for c in range(32)} - set("\t\n\r\f\x1a")


def decode(data: bytes, name: str, encoding: str | None = None) -> tuple[str, str | None]:
    """Text of `data`, and a sentence on what was assumed about its encoding (None if nothing was).

    Raises `InputError` for an unknown or unfitting `encoding` and for bytes that are no text.
    """
    if encoding is not None:
        return _named(data, name, encoding), None
    for mark, codec in _MARKS:
        if data.startswith(mark):
            return _named(data, name, codec), None
    wide = _utf16_without_mark(data)
    if wide is not None:
        return _text(_named(data, name, wide), name), f"read as {wide}: every other byte is zero"
    try:
        return _text(data.decode("utf-8"), name), None
    except UnicodeDecodeError:
        text = data.decode("cp1252", errors="replace")
        return _text(text, name), "not UTF-8: read as Windows-1252 (Latin-1); encoding= names another"


def _named(data: bytes, name: str, encoding: str) -> str:
    try:
        return data.decode(encoding).removeprefix("\ufeff")
    except LookupError:
        raise InputError(f"encoding={encoding!r} is unknown: pass one such as 'utf-8' or 'latin-1'") from None
    except (UnicodeError, AttributeError, TypeError) as problem:
        cure = "leave encoding= out, or name the one the file was written in"
        raise InputError(f"{name}: cannot be read as {encoding} ({problem}): {cure}") from None


def _utf16_without_mark(data: bytes) -> str | None:
    """ASCII in two bytes a character leaves one half of the bytes zero and hardly any of the other."""
    head = data[:4096]
    half = len(head) // 2
    if half < 2:
        return None
    even, odd = head[0::2].count(0), head[1::2].count(0)
    if odd > 0.7 * half and even < 0.1 * half:
        return "utf-16-le"
    if even > 0.7 * half and odd < 0.1 * half:
        return "utf-16-be"
    return None


def _text(text: str, name: str) -> str:
    if any(character in _CONTROL for character in text):
        cure = "a sweep is read from delimited text, so export the table as CSV first"
        raise InputError(f"{name}: this is a binary file, not text: {cure}")
    return text
