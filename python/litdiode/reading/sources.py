"""Whatever holds a table, as bytes with a name: paths, folders, patterns, bytes, open files, frames, spreadsheets."""

from __future__ import annotations

import glob
import hashlib
import io
import os
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from .._core import InputError

Source = Any
_SHEETS = (".xlsx", ".xlsm", ".xlsb", ".xls", ".ods")
_NO_TEXT = (".png", ".jpg", ".jpeg", ".pdf", ".gif", ".zip", ".svg", ".html", ".py", ".ipynb", ".md", ".toml", ".db")


@dataclass
class Named:
    """Bytes of a table, the name in messages, the label where the file has none, options that the source implies.

    `path` is the whole path, and `sha256` of the bytes of the file, of which `data` may be a text.
    """

    data: bytes
    name: str
    label: str | None = None
    reader: dict[str, Any] = field(default_factory=dict)
    path: str = ""
    sha256: str = ""

    def __post_init__(self) -> None:
        self.path = self.path or self.name
        self.sha256 = self.sha256 or hashlib.sha256(self.data).hexdigest()


def named(source: Source) -> Named:
    """The bytes of one source."""
    if isinstance(source, (bytes, bytearray, memoryview)):
        return _of_bytes(bytes(source), "source", None)
    if hasattr(source, "read"):
        return _of_file(source)
    if hasattr(source, "to_csv"):
        return _of_frame(source)
    if not isinstance(source, (str, os.PathLike)):
        raise InputError(f"source={type(source).__name__}: pass a path, bytes, an open file or a DataFrame")
    return _of_path(source)


def several(source: Source) -> list[Source]:
    """Every single source: a folder's and a pattern's files in the order of their names."""
    if isinstance(source, (list, tuple)):
        return [one for each in source for one in several(each)]
    return list(paths(source)) if isinstance(source, (str, os.PathLike)) else [source]


def shown(path: object) -> str:
    """A path as a text that can be written anywhere: bytes that are no UTF-8 become a mark."""
    return os.fsdecode(os.fspath(path)).encode("utf-8", "surrogateescape").decode("utf-8", "replace")  # type: ignore[call-overload]


def paths(source: str | os.PathLike[str]) -> list[str | os.PathLike[str]]:
    """The files that a path, a folder or a pattern names, in the order of their names."""
    text = os.fspath(source)
    if isinstance(text, str) and "\n" not in text and "\0" not in text:
        path = Path(text)
        if path.is_dir():
            inside = sorted(p for p in path.iterdir() if p.is_file() and _may_be_a_table(p))
            if not inside:
                raise InputError(f"{text}: there is no table in this folder: name another")
            return list(inside)
        if any(mark in text for mark in "*?[") and not path.exists():
            found = sorted(p for p in glob.glob(text, recursive=True) if os.path.isfile(p))
            if not found:
                raise InputError(f"{text}: no file fits this pattern: check folder and ending")
            return list(found)
    return [source]


def _may_be_a_table(path: Path) -> bool:
    return not path.name.startswith(".") and path.suffix.lower() not in _NO_TEXT


def _of_path(source: str | os.PathLike[str]) -> Named:
    name = os.fspath(source)
    if isinstance(name, str) and ("\n" in name or "\r" in name):
        raise InputError("source: this is a text, not a path: pass text.encode(), or io.StringIO(text)")
    if not name:
        raise InputError("source: the path is empty: pass the name of a file")
    text = shown(name)
    base = os.path.basename(text) or text
    try:
        data = Path(name).read_bytes()
    except FileNotFoundError:
        raise InputError(f"{text}: there is no such file: check the path that is the source") from None
    except IsADirectoryError:
        raise InputError(f"{text}: this is a folder: name a file in it, or read all with read_sweeps") from None
    except (OSError, ValueError, TypeError) as problem:
        reason = getattr(problem, "strerror", None) or problem
        raise InputError(f"{text}: cannot be read ({reason}): check path and permissions") from None
    stem = Path(base).stem if not base.lower().endswith(".gz") else Path(Path(base).stem).stem
    found = _of_bytes(data, base, stem)
    found.path, found.sha256 = text, hashlib.sha256(data).hexdigest()
    return found


def _of_file(source: Any) -> Named:
    content = source.read()
    name = os.path.basename(str(getattr(source, "name", "") or "file"))
    label = Path(name).stem if name != "file" else None
    if isinstance(content, str):
        return Named(content.encode(), name, label, {"encoding": "utf-8"})
    if isinstance(content, (bytes, bytearray)):
        return _of_bytes(bytes(content), name, label)
    raise InputError(f"{name}: reading it gives {type(content).__name__}, not text or bytes: open a file of text")


def _of_frame(frame: Any) -> Named:
    """A table of pandas (or its like) as text: numbers in their shortest exact form."""
    index = getattr(frame, "index", None)
    keep = bool(getattr(index, "name", None))
    buffer = io.StringIO()
    # Columns that are only numbered have no headings.
    headed = not all(isinstance(name, int) for name in frame.columns)
    frame.to_csv(buffer, sep="\t", index=keep, header=headed)
    reader = {"delimiter": "\t", "decimal": ".", "encoding": "utf-8"}
    return Named(buffer.getvalue().encode(), "the frame", None, reader)


def _of_bytes(data: bytes, name: str, label: str | None) -> Named:
    packed = data[:4] == b"PK\x03\x04" or data[:4] == b"\xd0\xcf\x11\xe0"
    if packed and (name == "source" or os.path.splitext(name)[1].lower() in _SHEETS):
        return _of_spreadsheet(data, name, label)
    return Named(data, name, label)


def _of_spreadsheet(data: bytes, name: str, label: str | None) -> Named:
    """Every sheet as delimited text, its name above it where there are several."""
    try:
        from python_calamine import CalamineError, CalamineWorkbook
    except ImportError:
        raise InputError(
            f"{name}: this is a spreadsheet: pip install 'litdiode[spreadsheet]', or export the table as CSV"
        ) from None
    try:
        book = CalamineWorkbook.from_filelike(io.BytesIO(data))
        sheets = [(title, book.get_sheet_by_name(title).to_python()) for title in book.sheet_names]
    except CalamineError as problem:
        raise InputError(f"{name}: no spreadsheet that can be read ({problem}): export the table as CSV") from None
    filled = [(title, rows) for title, rows in sheets if any(any(cell != "" for cell in row) for row in rows)]
    lines: list[str] = []
    for title, rows in filled:
        if len(filled) > 1:
            lines += ["", f"# sweep: {title}"]
        lines += ["\t".join(_cell(cell) for cell in row) for row in rows]
    reader = {"delimiter": "\t", "encoding": "utf-8"}
    return Named("\n".join([*lines, ""]).encode(), name, label, reader)


def _cell(cell: object) -> str:
    text = repr(cell) if isinstance(cell, float) else str(cell)
    return " ".join(text.split())
