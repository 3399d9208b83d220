"""Text of a file to volts, amperes, metadata and the list of what was assumed: no file access, no sweep.

Steps: lines → entries and comments set aside → delimiter → rows → decimal mark → headings → columns → units.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from .._core import InputError
from .columns import Choice, Columns, choose, refuse_swapped
from .delimiter import BLANKS, cut, find_decimal, find_delimiter, name_of
from .header import Heading, header_cells, heading, units_only
from .lines import Line, refuse, split_lines
from .metadata import Option, option_of, read_metadata
from .numbers import looks_grouped, number
from .rows import Rows, find_rows
from .units import Unit, unit

Entry = tuple[Line, str, str]


@dataclass
class ParsedSweep:
    """One sweep as a file holds it, in V and A; with `is_density` the currents are in A/cm² still."""

    voltage_v: NDArray[np.float64]
    current_a: NDArray[np.float64]
    is_density: bool = False
    metadata: dict[str, str] = field(default_factory=dict)
    options: dict[str, Option] = field(default_factory=dict)
    said: dict[str, str] = field(default_factory=dict)
    doubts: dict[str, str] = field(default_factory=dict)
    assumed: list[str] = field(default_factory=list)
    warned: list[str] = field(default_factory=list)


def parse_sweep(
    text: str,
    name: str = "text",
    *,
    voltage: Choice = None,
    current: Choice = None,
    voltage_unit: str | None = None,
    current_unit: str | None = None,
    decimal: str | None = None,
    delimiter: str | None = None,
) -> ParsedSweep:
    """Read one sweep from `text`; the arguments are those of `read_sweep`, `name` stands in messages.

    Raises `InputError` naming line, text and the argument to pass where the text does not decide.
    """
    lines = split_lines(text)
    entries, table = _set_aside(lines)
    parted_by = find_delimiter(table, name, delimiter)
    entries, table = _delimited_entries(entries, table, parted_by)
    rows = find_rows(table, lines, parted_by, name)
    mark, evidence = find_decimal(rows.cells, parted_by, name, decimal)
    assumed = [evidence] if evidence else []
    heads = _headings(rows, table, lines, parted_by, name)
    columns = choose(heads, _filled(rows), name, voltage, current)
    assumed += columns.assumed
    volts, amps = (_column(rows, which, n, mark, name) for which, n in _numbered(columns))
    if columns.by_position:
        refuse_swapped(name, volts, amps)
    warned: list[str] = []
    v_unit = _unit("voltage", columns.voltage, heads, entries, voltage_unit, name, assumed, warned)
    i_unit = _unit("current", columns.current, heads, entries, current_unit, name, assumed, warned)
    found = read_metadata(entries, name)
    assumed += rows.left_out
    return ParsedSweep(
        volts * v_unit.factor,
        amps * i_unit.factor,
        i_unit.kind == "density",
        found.entries,
        found.options,
        found.said,
        found.doubts,
        assumed,
        warned,
    )


def _numbered(columns: Columns) -> tuple[tuple[str, int], tuple[str, int]]:
    return ("voltage", columns.voltage), ("current", columns.current)


def _set_aside(lines: Sequence[Line]) -> tuple[list[Entry], list[Line]]:
    """`key: value` entries apart from the lines that may belong to the table; comments belong to neither."""
    entries: list[Entry] = []
    table: list[Line] = []
    for line in lines:
        entry = line.entry
        if entry is not None:
            entries.append((line, *entry))
        elif not line.blank and line.comment is None:
            table.append(line)
    return entries, table


def _delimited_entries(entries: list[Entry], table: list[Line], delimiter: str) -> tuple[list[Entry], list[Line]]:
    """Entries that the table's own delimiter parts (`Area (cm²);0,25`): two cells, the first a known key."""
    if delimiter == BLANKS:
        return entries, table
    more, rest = [], []
    for line in table:
        cells = [cell for cell in cut(line.text, delimiter) if cell]
        if len(cells) == 2 and option_of(cells[0])[0] is not None and heading(cells[1]).quantity is None:
            more.append((line, cells[0], cells[1]))
        else:
            rest.append(line)
    return sorted(entries + more, key=lambda entry: entry[0].number), rest


def _filled(rows: Rows) -> list[int]:
    return [n for n in range(rows.width) if any(n < len(cells) and cells[n] for _, cells in rows.cells)]


def _headings(
    rows: Rows, table: Sequence[Line], lines: Sequence[Line], delimiter: str, name: str
) -> list[Heading] | None:
    """The headings above the first row, plain or in a comment, in one line or two (names, then units)."""
    first = rows.cells[0][0].number
    above = [line for line in table if line.number < first]
    named = _heading_lines([(line, line.text) for line in above], delimiter, rows.width)
    if named is None and above and _too_few(above[-1], rows, delimiter):
        problem = f"there are fewer headings than cells ({rows.width}) in a row parted by {name_of(delimiter)}"
        cure = "if commas mark decimals as well, export with ';' or tab between the cells"
        refuse(name, above[-1], problem, cure)
    if named is None:
        comments = [(line, line.comment or "") for line in lines if line.number < first]
        named = _heading_lines([found for found in comments if found[1]], delimiter, rows.width, True)
    return named


def _too_few(line: Line, rows: Rows, delimiter: str) -> bool:
    """Whether a line heads fewer columns than the rows have: decimal commas between commas, most likely."""
    heads = [heading(cell).quantity for cell in cut(line.text, delimiter)]
    return 2 <= len(heads) < rows.width and {"voltage", "current"} <= set(heads)


def _heading_lines(
    candidates: Sequence[tuple[Line, str]], delimiter: str, width: int, in_comment: bool = False
) -> list[Heading] | None:
    if not candidates:
        return None
    last = header_cells(candidates[-1][1], delimiter, width)
    if last is None:
        # A heading line need not use the rows' own delimiter.
        tried = (header_cells(candidates[-1][1], other, width) for other in (",", ";", "\t", BLANKS))
        last = next((cells for cells in tried if cells is not None), None)
    if last is None:
        return None
    above = header_cells(candidates[-2][1], delimiter, width) if len(candidates) > 1 else None
    if above is not None and units_only(last) and not units_only(above):
        pairs = zip(above, last, strict=True)
        return [heading(f"{top} ({low.strip('()[] ')})" if low else top) for top, low in pairs]
    heads = [heading(cell) for cell in last]
    # A remark above the rows is a heading only if it names a measured quantity.
    if in_comment and not {"voltage", "current", "density"} & {head.quantity for head in heads}:
        return None
    return heads


def _column(rows: Rows, what: str, column: int, mark: str, name: str) -> NDArray[np.float64]:
    values = []
    for line, cells in rows.cells:
        cell = cells[column] if column < len(cells) else ""
        value = number(cell, mark)
        if value is None:
            _refuse_cell(line, what, cell, mark, name)
        values.append(value)
    return np.array(values, dtype=np.float64)


def _refuse_cell(line: Line, what: str, cell: str, mark: str, name: str) -> None:
    if not cell:
        refuse(name, line, f"the {what} is missing", "fill the cell in, or delete the row")
    if looks_grouped(cell) or (cell.count(",") + cell.count(".") > 1 and cell.strip("+-.,0123456789") == ""):
        refuse(name, line, f"the {what} is {cell!r}", "thousands marks are not read: export without them")
    cure = f"numbers are read with the decimal mark {mark!r} here: correct the cell, or delete the row"
    refuse(name, line, f"the {what} is {cell!r}, not a number", cure)


def _unit(
    what: str,
    column: int,
    heads: Sequence[Heading] | None,
    entries: Sequence[Entry],
    given: str | None,
    name: str,
    assumed: list[str],
    warned: list[str],
) -> Unit:
    """The unit of a column: the caller's, the heading's, an entry's (`current unit: mA`), else V or A."""
    head = None if heads is None else heads[column]
    if given is not None:
        found = _fitting(what, given, f"{what}_unit={given!r}", name)
        if head is not None and head.unit is not None and head.unit.factor != found.factor:
            assumed.append(f"{what} read in {given} as asked, though the heading says {head.text!r}")
        return found
    if head is not None and head.unknown_unit is not None:
        problem = f"heading {head.text!r}: the unit {head.unknown_unit!r} is not known"
        raise InputError(f"{name}: {problem}: pass {what}_unit=")
    if head is not None and head.unit is not None:
        found = _fitting(what, head.unit.text, f"heading {head.text!r}", name)
        if found.factor != 1.0 or found.kind == "density":
            assumed.append(f"{what} read in {found.text} from the heading {head.text!r}")
        return found
    for line, key, value in entries:
        if " ".join(key.lower().replace("_", " ").split()) in (f"{what} unit", f"{what} units"):
            assumed.append(f"{what} read in {value} as line {line.number} says")
            return _fitting(what, value, f"line {line.number}", name)
    if head is not None and head.quantity == "density":
        raise InputError(f"{name}: heading {head.text!r} gives no unit: pass current_unit=, such as 'mA/cm2'")
    si = "V" if what == "voltage" else "A"
    warned.append(f"no unit for the {what}: taken as {si}; pass {what}_unit= if that is wrong")
    return Unit(what, 1.0, si)


def _fitting(what: str, text: str, where: str, name: str) -> Unit:
    found = unit(text) if isinstance(text, str) else None
    examples = "'V' or 'mV'" if what == "voltage" else "'A', 'mA', 'uA' or 'mA/cm2'"
    kinds = ("voltage",) if what == "voltage" else ("current", "density")
    if found is None or found.kind not in kinds:
        raise InputError(f"{name}: {where}: not a unit of {what}: pass {what}_unit= as {examples}")
    if found.doubtful:
        problem = "M is mega, but milli may be meant"
        raise InputError(f"{name}: {where}: {problem}: pass {what}_unit= as {examples}")
    return found
