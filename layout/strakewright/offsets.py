"""The table of offsets as the builder wrote it, cell by cell, and what is worked out of it.

line      a named run along the boat: rabbet (lower edge of the planking), chine, sheer; a waterline or a buttock
view      what a row gives of its line: the position of its points along the boat, heights above the base line,
          half-breadths out from the centreline
station   a column of the table; the same name stands on the body plan and on the set-up sheet
step      the rounding of a row: 1/8 in (1/16 where + and - are used), the finest fraction or the last decimal
move      what fairing has done to a cell, mm
slip      a misprint: a foot, an inch, an eighth, a digit or two figures swapped
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Literal, TypeAlias

from strakewright.arrays import Floats, frozen_array

View: TypeAlias = Literal["position", "height", "half-breadth"]
Notation: TypeAlias = Literal["eighths", "fractions", "decimals"]


@dataclass(frozen=True)
class Cell:
    """text : as written;  mm : what it means;  row_of_file : line of the file it stands in"""

    text: str
    mm: float
    row_of_file: int = 0


@dataclass(frozen=True)
class Row:
    """One line in one view, a cell or None a station.

    line : "rabbet", "chine", "chine1" ..., "sheer", "waterline", "buttock", or "" (positions of all lines)
    level : mm, height of a waterline or distance of a buttock from the centreline;  step : mm
    """

    view: View
    line: str
    cells: tuple[Cell | None, ...]
    step: float
    notation: Notation
    level: float | None = None

    @property
    def name(self) -> str:
        """As it is said in messages and written in tables."""
        level = "" if self.level is None else f" {self.level:g} mm"
        return f"{self.view} {self.line}{level}".strip()


@dataclass(frozen=True)
class OffsetTable:
    """The whole table.  source : name of its file;  stations : names of the columns, in the file's order"""

    source: str
    stations: tuple[str, ...]
    rows: tuple[Row, ...]

    def row(self, view: View, line: str) -> Row | None:
        """The row of a line in one view, if the table has it."""
        return next((r for r in self.rows if (r.view, r.line) == (view, line)), None)

    def cells(self) -> Iterator[tuple[Row, str, Cell]]:
        """Every written cell with its row and station."""
        for row in self.rows:
            for station, cell in zip(self.stations, row.cells, strict=True):
                if cell is not None:
                    yield row, station, cell

    def with_cell(self, name: str, station: str, cell: Cell) -> OffsetTable:
        """The table with one cell changed.  name : of the row;  raises KeyError for a row or station it has not"""
        if name not in {r.name for r in self.rows} or station not in self.stations:
            raise KeyError(name, station)
        at = self.stations.index(station)
        rows = tuple(
            replace(r, cells=(*r.cells[:at], cell, *r.cells[at + 1 :])) if r.name == name else r for r in self.rows
        )
        return replace(self, rows=rows)


@dataclass(frozen=True)
class Correction:
    """A cell the builder has changed on purpose.  mm : the new value;  text : as written in the boat file"""

    row: str
    station: str
    mm: float
    text: str
    reason: str
    was: str = ""
    where: str = ""


@dataclass(frozen=True)
class Move:
    """A cell, and where the fair line passes.  mm: tabled and faired;  locked, allowed : as the boat file says"""

    row: str
    station: str
    tabled: float
    faired: float
    locked: bool = False
    allowed: bool = False

    @property
    def by(self) -> float:
        """mm, + = up or out."""
        return self.faired - self.tabled


@dataclass(frozen=True)
class Suspect:
    """A cell that does not fit its neighbours.  off : mm, written less suggested;  slip : the likely one, in words"""

    row: str
    station: str
    written: float
    suggested: float
    likelihood: float
    slip: str
    found_by: Literal["its own row", "the other rows"]

    @property
    def off(self) -> float:
        return self.written - self.suggested


@dataclass(frozen=True)
class TableSource:
    """The table as the builder wants it: his file with his corrections made."""

    table: OffsetTable
    corrections: tuple[Correction, ...] = ()


@dataclass(frozen=True, eq=False)
class LinesPlan:
    """What became of a table.  lines : fine points (n, 3) mm of rabbet, chines and sheer, aft to forward

    stations : name and x, aft to forward;  tolerance : mm a move may reach before it must be allowed
    """

    table: OffsetTable
    corrections: tuple[Correction, ...]
    moves: tuple[Move, ...]
    suspects: tuple[Suspect, ...]
    lines: tuple[tuple[str, Floats], ...]
    stations: tuple[tuple[str, float], ...]
    tolerance: float

    def __post_init__(self) -> None:
        fine = tuple((name, frozen_array(points, (None, 3), name)) for name, points in self.lines)
        object.__setattr__(self, "lines", fine)
