"""The rack of boards: a table of sizes, or outlines with defects.

rough      as sawn and bought;  dressed : planed on both faces;  skip : what planing takes off each face
quarters   "5/4": nominal rough thickness; dressed thickness then stands in the grading standard's table
end trim   cut off both ends for checks before anything is laid out

A row of the table is a rectangle free of defects unless it says more (see `taped`).  Both trims come off here, so that
a board's outline is usable wood and its thickness is what it finishes at.  A boards.json is taken as it is: its outline
is usable wood.
"""

from __future__ import annotations

import csv
import dataclasses
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TypeVar

from strakewright.errors import Finding, InputError
from strakewright.lumber import Board, Dressing
from strakewright.measure import feet_of, size_of
from strakewright.read.faults import together
from strakewright.read.jsonfiles import read_board_records
from strakewright.read.names import ID, ID_RULE, nearest
from strakewright.read.taped import TAPED, Taped, marred_in
from strakewright.read.textfile import text_of
from strakewright.settings import StockSettings
from strakewright.tables import dressed_quarters, species, species_names
from strakewright.units import SPOKEN, parse_cell, parse_quarters

NEEDED = ("id", "length", "width", "thickness")
COLUMNS = (*NEEDED, "count", "species", "grade", "price", "price_bf", *TAPED)
_IGNORED = {"note", "notes"}
MOST_BOARDS = 20_000

Value = TypeVar("Value")


@dataclass(frozen=True)
class _Table:
    """How the cells of one file are to be taken."""

    file: str
    unit: str
    stock: Dressing
    species: str

    @property
    def named_woods(self) -> bool:
        """Whether species must stand in the table of woods."""
        return isinstance(self.stock, StockSettings)

    @property
    def priced(self) -> bool:
        """Whether every board must have a price."""
        return isinstance(self.stock, StockSettings) and self.stock.objective == "price"


def read_boards(path: Path, stock: Dressing, species: str, unit: str = "mm") -> tuple[list[Board], list[Finding]]:
    """The boards of a .csv or a boards.json, and a note of what was taken off them.

    stock : of a boat file, or trims alone (then any name of a species will do)
    species : of boards that do not say;  unit : of bare numbers in a .csv
    raises InputError with every bad cell, in the order of the file
    """
    table = _Table(path.name, unit, stock, species)
    if path.suffix.lower() == ".json":
        return _named(read_board_records(path, species), table), []
    boards = _read_rows(path, table)
    return boards, [_note(table, len(boards))]


def _read_rows(path: Path, table: _Table) -> list[Board]:
    rows = _cells(text_of(path, "table of boards"), table.file)
    header = _header(next(rows, (1, [])), table.file)
    boards: list[Board] = []
    faults: list[InputError] = []
    seen: set[str] = set()
    for line, cells in rows:
        row = _Row(table, line, dict(zip(header, cells, strict=False)), faults)
        if len(cells) > len(header) and any(cell.strip() for cell in cells[len(header) :]):
            row.fault("row", f"{len(cells)} cells under {len(header)} columns", "Put text with a comma in quotes")
        boards += row.boards(seen)
    if not boards and not faults:
        faults.append(InputError("the table has no boards", where=table.file, fix="Write a row for each board"))
    if len(boards) > MOST_BOARDS:
        faults.append(InputError(f"{len(boards)} boards, more than {MOST_BOARDS}", where=table.file, fix="Split it"))
    if faults:
        raise together(faults)
    return boards


def _cells(text: str, file: str) -> Iterator[tuple[int, list[str]]]:
    """Line number and cells of each row that is neither empty nor a comment (#)."""
    lines = ["" if line.lstrip().startswith("#") else line for line in text.splitlines()]
    delimiter = max(",;\t", key=next((line for line in lines if line.strip()), "").count)
    reader = csv.reader(lines, delimiter=delimiter, skipinitialspace=True, strict=True)
    while True:
        line = reader.line_num + 1
        try:
            cells = next(reader, None)
        except csv.Error as trouble:
            fix = 'Check the quotes: "5 1/2 in" in a pair of them, or 5 1/2 in without'
            raise InputError(f"not a table: {trouble}", where=f"{file}:{line}", fix=fix) from None
        if cells is None:
            return
        if any(cell.strip() for cell in cells):
            yield line, cells


def _header(row: tuple[int, list[str]], file: str) -> list[str]:
    line, names = row[0], [cell.strip().lower() for cell in row[1]]
    where = f"{file}:{line}"
    if not any(names):
        fix = f"Write a row of columns, {','.join(COLUMNS)}, and a row for each board (tally makes such a table)"
        raise InputError("the table is empty", where=file, fix=fix)
    faults = [
        InputError(f"no column {name!r}", where=where, fix=f"The first row names the columns: {','.join(COLUMNS)}")
        for name in NEEDED
        if name not in names
    ]
    for name in dict.fromkeys(names):
        if name and name not in COLUMNS and name not in _IGNORED:
            fix = f'Did you mean "{nearest(name, COLUMNS)}"? Remarks go into a column "note"'
            faults.append(InputError(f"column {name!r:.60} is not known", where=where, fix=fix))
        if name and names.count(name) > 1:
            faults.append(InputError(f"two columns {name!r:.60}", where=where, fix="Take one out"))
    if faults:
        raise together(faults)
    return names


@dataclass(frozen=True)
class _Row:
    """One row of the table; what is wrong with it goes to `faults`."""

    table: _Table
    line: int
    cells: dict[str, str]
    faults: list[InputError]

    def boards(self, seen: set[str]) -> list[Board]:
        """The boards of the row, none when a cell is bad.  seen : ids so far, in small letters"""
        before = len(self.faults)
        ids = self.ids(seen)
        length, width = self.value("length", self.length), self.value("width", self.width)
        thickness, wood = self.value("thickness", self.thickness), self.wood()
        price, foot = self.prices()
        if length is None or width is None or thickness is None or len(self.faults) > before:
            return []
        shape = Taped(length, width, self.optional("width_end", self.width), self.optional("crook", self.crook) or 0.0)
        marred = self.optional("defects", lambda text: marred_in(text, shape, self.table.stock.end_trim, self.size))
        if len(self.faults) > before:
            return []
        rough, dressed = thickness
        one = Board("", shape.outline(), dressed, wood, marred or (), price, rough, self.text("grade") or None)
        one = dataclasses.replace(one, end_trim=self.table.stock.end_trim)
        if foot is not None:
            one = dataclasses.replace(one, price=round(foot * feet_of(*size_of(one)), 2))
        return [dataclasses.replace(one, id=name) for name in ids]

    def optional(self, column: str, read: Callable[[str], Value]) -> Value | None:
        """As `value`, None without a fault where the cell is empty."""
        return self.value(column, read) if self.text(column) else None

    def prices(self) -> tuple[float | None, float | None]:
        """Of the whole board and of a board foot, None where not written."""
        if self.text("price") and self.text("price_bf"):
            self.fault("price_bf", "a price of the board and one of the board foot", "Write one of them")
        foot = self.optional("price_bf", _price)
        needed = self.text("price") or (self.table.priced and not self.text("price_bf"))
        return (self.value("price", _price) if needed else None), foot

    def text(self, column: str) -> str:
        return self.cells.get(column, "").strip()

    def value(self, column: str, read: Callable[[str], Value]) -> Value | None:
        """The cell through `read`; None, and a fault, when it is empty or bad."""
        try:
            if not self.text(column):
                raise InputError("the cell is empty", fix=f"Write the {column} of the board")
            return read(self.text(column))
        except InputError as fault:
            self.fault(column, fault.what, fault.fix)
            return None

    def fault(self, column: str, what: str, fix: str) -> None:
        self.faults.append(InputError(what, where=f"{self.table.file}:{self.line}: {column}", fix=fix))

    def ids(self, seen: set[str]) -> list[str]:
        """The id of each board of the row: ID, or ID-1 to ID-n."""
        name = self.value("id", _id)
        count = self.value("count", _count) if self.text("count") else 1
        if name is None or count is None:
            return []
        ids = [name] if count == 1 else [f"{name}-{n}" for n in range(1, count + 1)]
        if len(ids[-1]) > 40:
            self.fault("id", f"{ids[-1]} is longer than 40 characters", "Give a shorter id")
        twice = [each for each in ids if each.casefold() in seen]
        if twice:
            self.fault("id", f"a second board {twice[0]!r}", "Give each board its own id (capitals do not count)")
        seen.update(each.casefold() for each in ids)
        return ids

    def length(self, text: str) -> float:
        """Usable length: end trim is off both ends."""
        trim = self.table.stock.end_trim
        usable = self.size(text, 100, 30_000) - 2 * trim
        if usable <= 0:
            fix = "Take the row out, or lower end_trim"
            raise InputError(f"{text!r} leaves nothing after {trim:g} mm off each end", fix=fix)
        return usable

    def width(self, text: str) -> float:
        return self.size(text, 10, 1000)

    def crook(self, text: str) -> float:
        return self.size(text, 0, 500)

    def thickness(self, text: str) -> tuple[float, float]:
        """(rough, finished) thickness."""
        rough = parse_quarters(text)
        if rough in dressed_quarters():
            return rough, dressed_quarters()[rough]
        rough = self.size(text, 1, 200) if rough is None else rough
        off = 2 * self.table.stock.skip if self.table.stock.measured == "rough" else 0.0
        if rough - off < 1:
            fix = 'Take the row out, lower skip, or say measured = "dressed"'
            if not self.table.named_woods:
                fix = f"Take the row out, lower --skip, or say --measured dressed; {self.bare_numbers()}"
            raise InputError(f"{text!r} leaves less than 1 mm after planing {off:g} mm off", fix=fix)
        return rough, rough - off

    def size(self, text: str, low: float, high: float) -> float:
        mm = parse_cell(text, self.table.unit)
        if not low <= mm <= high:
            fix = f"Write {low:g} to {high:g} mm; {self.bare_numbers()}"
            raise InputError(f"{text!r:.40} is {mm:g} mm, outside {low:g} to {high:g} mm", fix=fix)
        return mm

    def bare_numbers(self) -> str:
        """What numbers without a unit are taken for, and how to say otherwise."""
        other = "" if self.table.named_woods else "; --units in says that they are inches"
        return f"numbers without a unit are in {SPOKEN[self.table.unit]}{other}"

    def wood(self) -> str:
        name = self.text("species") or self.table.species
        try:
            return _wood(name, self.table.named_woods)
        except InputError as fault:
            self.fault("species", fault.what, fault.fix)
            return name


def _wood(name: str, named: bool) -> str:
    """The trade name of a wood.  named : it must stand in the table of woods;  raises InputError"""
    if not name:
        raise InputError("the cell is empty, and the parts are of several woods", fix="Write the wood of the board")
    if not named:
        return name
    try:
        return species(name).name
    except KeyError:
        best = species(nearest(name, species_names())).name
        raise InputError(f"{name!r:.60} is no wood of the table", fix=f'The nearest is "{best}"') from None


def _id(text: str) -> str:
    if not ID.fullmatch(text):
        raise InputError(f"{text!r:.60} is no id", fix=ID_RULE)
    return text


def _count(text: str) -> int:
    if not (text.isascii() and text.isdigit() and len(text) <= 5 and 1 <= int(text) <= MOST_BOARDS):
        raise InputError(f"{text!r:.40} is no number of boards", fix=f"Write 1 to {MOST_BOARDS}")
    return int(text)


def _price(text: str) -> float:
    try:
        price = float(text)
    except ValueError:
        price = -1.0
    if not 0 <= price <= 1e9:
        raise InputError(
            f"{text!r:.40} is no price",
            fix="Write the price as a plain number, as 51.05",
        )
    return price


def _named(boards: Sequence[Board], table: _Table) -> list[Board]:
    """Boards with the trade names of their woods, and with prices where the plan is to be judged by them."""
    named, faults = [], []
    for board in boards:
        try:
            if table.priced and board.price is None:
                raise InputError('no price, but the objective is "price"', fix="Write the price of the board")
            named.append(dataclasses.replace(board, species=_wood(board.species, table.named_woods)))
        except InputError as fault:
            faults.append(InputError(fault.what, where=f"{table.file}: {board.id}", fix=fault.fix))
    if faults:
        raise together(faults)
    return named


def _note(table: _Table, count: int) -> Finding:
    """What was taken off the boards of a table."""
    stock = table.stock
    planed = f"{stock.skip:g} mm off each face, quarters by the grading table" if stock.measured == "rough" else "as is"
    what = f"{count} boards: thickness {planed}; {stock.end_trim:g} mm off each end before anything is laid out"
    return Finding("boards-trimmed", "note", table.file, what)
