"""A table of offsets in CSV: lines in rows and stations in columns, or the other way round.

heading   what names a row: a view and a line, as "height sheer", "half-breadth chine 1", "hb wl 300 mm",
          "height buttock 0-8-0", "position" (of every line) or "position sheer" (where that line alone ends elsewhere)
notation  feet-inches-eighths 2-3-4, 2-3-4+; inches and fractions; decimal feet; millimetres.  Bare numbers are in the
          unit of the boat file, or in the one a heading names: "height sheer (mm)", "height_sheer_FIE"
blank     the line does not reach that station: nothing, "-" or "x"

A line may be given twice, in two notations: both must say the same.
"""

from __future__ import annotations

import csv
import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Literal

from strakewright.errors import InputError
from strakewright.offsets import Cell, Notation, OffsetTable, Row, View
from strakewright.read.faults import together
from strakewright.read.names import nearest
from strakewright.read.textfile import text_of
from strakewright.units import MM_PER_UNIT, SPOKEN, parse_cell, parse_eighths

LARGEST = 2**20  # bytes: a table of offsets is a page
MOST_STATIONS, MOST_ROWS = 200, 200
_EIGHTHS = re.compile(r"\d+\s*-\s*\d+\s*-\s*\d+\s*[+-]?")
_BLANK = {"", "-", "--", "x", "\u2013", "\u2014", "..."}
_VIEWS: dict[str, View] = {
    "position": "position",
    "positions": "position",
    "distance": "position",
    "height": "height",
    "heights": "height",
    "half-breadth": "half-breadth",
    "half-breadths": "half-breadth",
    "half-width": "half-breadth",
    "hb": "half-breadth",
}
_LINES = {"sheer": "sheer", "deck": "sheer", "rabbet": "rabbet", "keel": "keel", "profile": "rabbet"}
_UNIT_WORDS = {"mm": "mm", "cm": "cm", "m": "m", "in": "in", "inches": "in", "ft": "ft", "feet": "ft"}
_EIGHTH_WORDS = {"fie", "eighths", "8ths"}
_STATION_WORDS = {"station", "stations", "sta", "line", "row", "mould", "moulds", "section", "name", ""}
_FORMS = '"height sheer", "half-breadth chine", "height rabbet", "hb wl 300 mm" or "position"'


@dataclass(frozen=True)
class _Heading:
    view: View
    line: str
    level: float | None
    unit: str | None

    @property
    def name(self) -> str:
        level = "" if self.level is None else f" {self.level:g} mm"
        return f"{self.view} {self.line}{level}".strip()


@dataclass(frozen=True)
class CellFault:
    """A cell that cannot be read (or another fault of the table, then row and station are empty).  text : as written"""

    row: str
    station: str
    text: str
    error: InputError


def read_offsets(path: Path, unit: str) -> OffsetTable:
    """The table in a file.  unit : of bare numbers, "mm" ... "ft".

    raises InputError with every bad cell: file and line, row name, station, what was read, what is allowed
    """
    table, faults = read_what_can_be(path, unit)
    if faults:
        raise together([f.error for f in faults])
    return table


def read_what_can_be(path: Path, unit: str) -> tuple[OffsetTable, list[CellFault]]:
    """The table with every cell that can be read, and the faults of those that cannot (they are left blank)."""
    grid = _grid(text_of(path, "table of offsets", LARGEST), path.name)
    if not _lies_in_rows(grid, unit):
        grid = _turned(grid)
    faults: list[CellFault] = []
    stations = _stations(grid[0], path.name, faults)
    rows = [row for cells in grid[1:] if (row := _row(cells, stations, (path.name, unit), faults)) is not None]
    rows = _once(rows, stations, path.name, faults)
    if not rows and not faults:
        faults.append(_fault("the table has no rows", path.name, f"Begin each row with {_FORMS}"))
    return OffsetTable(path.name, stations, tuple(_stepped(rows))), faults


Written = tuple[str, int]
"""A cell's text and its line in the file."""


def _fault(what: str, where: str, fix: str) -> CellFault:
    return CellFault("", "", "", InputError(what, where=where, fix=fix))


def _grid(text: str, file: str) -> list[list[Written]]:
    """Cells as written, all rows equally long; comments (#) and empty rows left out."""
    lines = ["" if line.lstrip().startswith("#") else line for line in text.splitlines()]
    first = next((line for line in lines if line.strip()), "")
    delimiter = max(",;\t", key=first.count)
    try:
        found = [
            (n, [c.strip() for c in row])
            for n, line in enumerate(lines, 1)
            for row in csv.reader([line], delimiter=delimiter, skipinitialspace=True, quoting=_quoting(line, delimiter))
            if any(c.strip() for c in row)
        ]
    except csv.Error as trouble:
        raise InputError(f"not a table: {trouble}", where=file, fix="Separate the cells by commas") from None
    wide = max((len(row) for _, row in found), default=0)
    if len(found) < 2 or wide < 2:
        fix = f"Write stations in the first row, then a row a line, as {_FORMS}"
        raise InputError("this is no table of offsets: it has no rows and columns", where=file, fix=fix)
    if len(found) > MOST_ROWS + 1 or wide > MOST_STATIONS + 1:
        raise InputError(f"{len(found)} rows and {wide} columns are no table of offsets", where=file)
    return [[(cell, n) for cell in [*row, *[""] * (wide - len(row))]] for n, row in found]


def _quoting(line: str, delimiter: str) -> Literal[0, 3]:
    """Inch marks are no quotes: a cell is quoted only when it begins with one."""
    quoted = line.lstrip().startswith('"') or re.search(rf'{re.escape(delimiter)}\s*"', line)
    return csv.QUOTE_MINIMAL if quoted else csv.QUOTE_NONE


def _turned(grid: list[list[Written]]) -> list[list[Written]]:
    return [list(column) for column in zip(*grid, strict=True)]


def _lies_in_rows(grid: list[list[Written]], unit: str) -> bool:
    """Whether lines stand in rows: the first column names more lines than the first row."""
    down = sum(heading_of(row[0][0], unit) is not None for row in grid[1:])
    across = sum(heading_of(cell, unit) is not None for cell, _ in grid[0][1:])
    return down >= across


def _stations(row: Sequence[Written], file: str, faults: list[CellFault]) -> tuple[str, ...]:
    names = [cell for cell, _ in row[1:]]
    for n, name in enumerate(names):
        if not name or len(name) > 20 or not name.isprintable():
            where = f"{file}:{row[n + 1][1]}, column {n + 2}"
            faults.append(_fault(f"{name!r} is no name of a station", where, "Name it, as 0, 1, stem"))
        elif name.casefold() in {other.casefold() for other in names[:n]}:
            faults.append(_fault(f"station {name!r} stands twice", file, "Give each its own name"))
    return tuple(names)


def heading_of(text: str, unit: str) -> _Heading | None:
    """View, line, level and unit of a row's name; None when it is none.

    >>> heading_of("hb_chine_FIE", "mm")
    _Heading(view='half-breadth', line='chine', level=None, unit='eighths')
    """
    plain = re.sub(r"half[ _-]*(breadths?|widths?)", "half-breadth", text.casefold().strip())
    words = re.sub(r"[_()\[\],:]+", " ", plain).split()
    if words and words[0] == "x":
        words[0] = "position"
    for long in (("feet", "inches", "eighths"), ("ft", "in", "8ths"), ("in", "8ths")):
        if tuple(words[-len(long) :]) == long:
            words = [*words[: -len(long)], "eighths"]
    named, words = _unit_word(words)
    views = [w for w in words if w in _VIEWS]
    rest = [w for w in words if w not in _VIEWS]
    if len(views) > 1:
        return None
    found = _line_of(rest, unit if named in (None, "eighths") else named or unit)
    if found is None:
        return None
    line, level = found
    view = _VIEWS[views[0]] if views else {"waterline": "half-breadth", "buttock": "height"}.get(line)
    if view is None or (not line and view != "position"):
        return None
    return _Heading(view, line, level, named)  # type: ignore[arg-type]


def _unit_word(words: list[str]) -> tuple[str | None, list[str]]:
    """The unit that closes a heading, unless it belongs to the level of a waterline."""
    if not words:
        return None, words
    last = words[-1]
    if last in _EIGHTH_WORDS:
        return "eighths", words[:-1]
    level = len(words) > 1 and re.fullmatch(r"[-\d./]+", words[-2]) and {"wl", "waterline", "buttock"} & set(words)
    if last in _UNIT_WORDS and not level:
        return _UNIT_WORDS[last], words[:-1]
    return None, words


def _line_of(words: list[str], unit: str) -> tuple[str, float | None] | None:
    if not words:
        return "", None
    first, *more = words
    if first in _LINES and not more:
        return _LINES[first], None
    chine = re.fullmatch(r"chine ?([1-9]?)", " ".join(words))
    if chine:
        return f"chine{chine[1]}", None
    if first in ("wl", "waterline", "water-line", "buttock") and more:
        try:
            level = length_of(" ".join(more), unit)
        except InputError:
            return None
        return ("buttock" if first == "buttock" else "waterline"), level
    return None


def _row(
    cells: Sequence[Written], stations: tuple[str, ...], file_unit: tuple[str, str], faults: list[CellFault]
) -> Row | None:
    file, unit = file_unit
    name, at = cells[0]
    heading = heading_of(name, unit)
    if heading is None:
        faults.append(CellFault("", "", name, _no_heading(name, f"{file}:{at}")))
        return None
    made = [
        _cell(text, number, heading, (file, unit), (name, station), faults)
        for (text, number), station in zip(cells[1:], stations, strict=True)
    ]
    notations = {_notation(c.text) for c in made if c is not None}
    notation: Notation = "decimals"
    if notations & {"eighths", "fractions"}:
        notation = "eighths" if "eighths" in notations else "fractions"
    return Row(heading.view, heading.line, tuple(made), _bare_step(heading.unit or unit), notation, heading.level)


def _no_heading(name: str, where: str) -> InputError:
    known = [f"{view} {line}" for view in ("height", "half-breadth") for line in ("sheer", "chine", "rabbet")]
    best = nearest(name or "height", [*known, "position"])
    if re.search(r"\b(wl|waterline|buttock)", name.casefold()):
        return InputError(f"{name!r} does not say where it lies", where=where, fix="Write as 'hb wl 300 mm'")
    return InputError(f"{name!r} names no line", where=where, fix=f"Did you mean {best!r}? Rows are named {_FORMS}")


def _cell(
    text: str,
    number: int,
    heading: _Heading,
    file_unit: tuple[str, str],
    place: tuple[str, str],
    faults: list[CellFault],
) -> Cell | None:
    file, unit = file_unit
    if text.casefold() in _BLANK:
        return None
    try:
        mm = length_of(text, unit if heading.unit in (None, "eighths") else heading.unit or unit)
        if heading.view == "half-breadth" and mm < 0:
            raise InputError(f"{text!r} is below zero", fix="Half-breadths are counted out from the centreline")
    except InputError as fault:
        where = f"{file}:{number}, row {place[0]!r}, station {place[1]}"
        fix = fault.fix if "arry" in fault.fix else _allowed(unit)
        faults.append(CellFault(heading.name, place[1], text, InputError(fault.what, where=where, fix=fix)))
        return None
    return Cell(text, mm, number)


def _allowed(unit: str) -> str:
    return f"Write 2-3-4 (feet-inches-eighths, + or - a sixteenth), 5' 3 1/2\", 12 1/2 in or a number in {SPOKEN[unit]}"


def length_of(text: str, unit: str) -> float:
    """mm of a cell in any notation.  Raises InputError."""
    if _EIGHTHS.fullmatch(text):
        return parse_eighths(text)
    if re.search(r"['\u2032\u2019]\s*0\d", text):
        raise InputError(f"{text!r} has inches that begin with 0: a fraction has run into them")
    return parse_cell(text, unit)


def _notation(text: str) -> Notation:
    if _EIGHTHS.fullmatch(text):
        return "eighths"
    return "fractions" if re.search(r"[/'\"\u00bc-\u00be\u215b-\u215e]|\bin\b|\bft\b", text) else "decimals"


def _bare_step(unit: str) -> float:
    return float(MM_PER_UNIT.get(unit, MM_PER_UNIT["in"]))


def _stepped(rows: list[Row]) -> list[Row]:
    """The rows with the rounding of their notation, judged by all cells written alike."""
    texts = [(r.notation, r.step, c.text) for r in rows for c in r.cells if c is not None and r.view != "position"]
    made = []
    for row in rows:
        mine = [t for notation, step, t in texts if (notation, step) == (row.notation, row.step)]
        made.append(replace(row, step=_step(row.notation, row.step, mine or ["0"])))
    return made


def _step(notation: Notation, unit: float, texts: list[str]) -> float:
    inch = float(MM_PER_UNIT["in"])
    if notation == "eighths":
        return inch / (16 if any(t.rstrip().endswith(("+", "-")) for t in texts) else 8)
    if notation == "fractions":
        parts = [int(found[1]) for t in texts for found in [re.search(r"/(\d+)", t)] if found and int(found[1])]
        return inch / max(parts, default=1)
    digits = [len(found[1]) for t in texts for found in [re.search(r"\.(\d+)", t)] if found]
    return unit * 10.0 ** -max(digits, default=0)


def _once(rows: list[Row], stations: tuple[str, ...], file: str, faults: list[CellFault]) -> list[Row]:
    """Each line once a view; the same line in two notations must agree, and the coarser one counts."""
    kept: dict[str, Row] = {}
    steps = {id(r): s.step for r, s in zip(rows, _stepped(rows), strict=True)}
    for row in rows:
        other = kept.get(row.name)
        if other is None:
            kept[row.name] = row
            continue
        coarse, fine = (row, other) if steps[id(row)] >= steps[id(other)] else (other, row)
        for station, a, b in zip(stations, coarse.cells, fine.cells, strict=True):
            if a and b and abs(a.mm - b.mm) > 0.51 * (steps[id(fine)] + steps[id(coarse)]):
                where = f"{file}:{b.row_of_file}, row {row.name!r}, station {station}"
                what = f"{a.text!r} and {b.text!r} stand for the same cell, {abs(a.mm - b.mm):.1f} mm apart"
                faults.append(_fault(what, where, "Correct one of the two"))
        kept[row.name] = coarse
    return list(kept.values())
