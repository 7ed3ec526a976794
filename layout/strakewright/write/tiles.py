"""A drawing too large for the printer, on ordinary sheets to be taped together.

tile        one sheet's window of the drawing, named by row letter and column number: A1 is lower left
cross       register mark at every corner of a window: neighbours show the same four crosses
match line  the window's side: sheets are laid edge on edge there, no overlap to cut away but the white margin
scale page  comes first: bars to measure, the printer's correction, and the plan of the tiles
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from strakewright.arrays import Floats
from strakewright.write.paper import PaperFile, PaperPen, words_width
from strakewright.write.patterns import FIGURE, NUMBER
from strakewright.write.pen import Pen, Role, Stroke
from strakewright.write.roll import bar
from strakewright.write.settables import wrapped
from strakewright.write.windows import Drawing, draw_in, drawing_of

_TOUCH = 1e-6
_PITCH = 7.5  # mm from line to line of 5 mm letters
_MARGIN, _HEAD = 12.0, 14.0  # mm white round a window; room for words above it


@dataclass(frozen=True)
class Sheet:
    """Paper of a desk printer, lying.  width, height : mm"""

    name: str
    width: float
    height: float
    correction: tuple[float, float] = (1.0, 1.0)

    @property
    def window(self) -> Floats:
        """(2,) mm of drawing on one tile."""
        paper = np.array([self.width, self.height]) - [2 * _MARGIN, 2 * _MARGIN + _HEAD]
        return np.asarray(np.floor(paper / np.maximum(self.correction, 1.0)))


A4 = Sheet("A4", 297.0, 210.0)
A3 = Sheet("A3", 420.0, 297.0)
LETTER = Sheet("Letter", 279.4, 215.9)


@dataclass(frozen=True, eq=False)
class Tile:
    """name : row letter and column number;  low : (2,) mm lower left of its window in the drawing"""

    name: str
    row: int
    column: int
    low: Floats


def tiles_of(drawing: Drawing, sheet: Sheet) -> tuple[Tile, ...]:
    """The tiles that show something, row by row from the lower left."""
    (low, high), size, boxes = drawing.extent, sheet.window, drawing.boxes
    columns, rows = (max(1, int(np.ceil(n - 1e-9))) for n in (high - low) / size)
    found = []
    for row in range(rows):
        for column in range(columns):
            corner = low + size * [column, row]
            over = np.all(boxes[:, 1] > corner + _TOUCH, axis=1) & np.all(boxes[:, 0] < corner + size - _TOUCH, axis=1)
            if over.any():
                found.append(Tile(f"{row_letters(row)}{column + 1}", row, column, corner))
    return tuple(found)


def row_letters(row: int) -> str:
    """A to Z, then AA, AB ...

    >>> row_letters(0), row_letters(27)
    ('A', 'AB')
    """
    ahead = row_letters(row // 26 - 1) if row >= 26 else ""
    return ahead + chr(ord("A") + row % 26)


@dataclass(frozen=True, eq=False)
class Tiled:
    """Where a tile went.  page : of the file, from 0;  name : of its drawing;  corner : (2,) mm on the page of `low`"""

    page: int
    name: str
    low: Floats
    high: Floats
    corner: Floats


def write_tiles(path: Path, strokes: Sequence[Stroke], title: str, sheet: Sheet, notes: Sequence[str] = ()) -> int:
    """One PDF of tiles with the scale page first; returns how many tiles it has."""
    return len(write_all_tiles(path, [("", strokes)], title, sheet, notes))


def write_all_tiles(
    path: Path, drawings: Iterable[tuple[str, Sequence[Stroke]]], title: str, sheet: Sheet, notes: Sequence[str] = ()
) -> tuple[Tiled, ...]:
    """The same for several drawings, each beginning at its own A1; tells where every tile went."""
    kept = [(name, drawing_of(strokes)) for name, strokes in drawings]
    sets = [(name, drawing, tiles_of(drawing, sheet)) for name, drawing in kept]
    paper = PaperFile(path, title)
    first = _corrected(paper.page(sheet.width, sheet.height), sheet)
    _draw_scale_page(first, title, sheet, ([t for _, _, tiles in sets for t in tiles], notes))
    placed: list[Tiled] = []
    for name, drawing, tiles in sets:
        names = {(tile.row, tile.column): tile.name for tile in tiles}
        heading = f"{title}  {name}".rstrip()
        for tile in tiles:
            _draw_tile(paper, drawing, tile, names, (heading, sheet))
            corner = np.full(2, _MARGIN)
            placed.append(Tiled(len(placed) + 1, name, tile.low, tile.low + sheet.window, corner))
    paper.save()
    return tuple(placed)


def _draw_tile(
    paper: PaperFile,
    drawing: Drawing,
    tile: Tile,
    names: dict[tuple[int, int], str],
    about: tuple[str, Sheet],
) -> None:
    """One tile on a page of its own."""
    heading, sheet = about
    foot = np.array([_MARGIN, _MARGIN])
    pen = _corrected(paper.page(sheet.width, sheet.height), sheet)
    inside = PaperPen(pen.canvas, tuple(foot - np.array(sheet.correction) * tile.low), sheet.correction)
    with paper.window(foot, foot + sheet.window * sheet.correction):
        draw_in(inside, drawing, tile.low, tile.low + sheet.window)
    _draw_frame(PaperPen(pen.canvas, (_MARGIN, _MARGIN), sheet.correction), tile, names, (heading, sheet))


def _corrected(pen: PaperPen, sheet: Sheet) -> PaperPen:
    return PaperPen(pen.canvas, scale=sheet.correction)


def _draw_frame(pen: Pen, tile: Tile, names: dict[tuple[int, int], str], about: tuple[str, Sheet]) -> None:
    """Crosses, match lines with the neighbour's name, 100 mm bars, and the tile's name."""
    title, sheet = about
    wide, tall = sheet.window
    ring = np.array([[0.0, 0.0], [wide, 0.0], [wide, tall], [0.0, tall]])
    pen.polyline(ring, closed=True, role=Role.SCRIBE)
    for corner in ring:
        for arm in (np.array([6.0, 0.0]), np.array([0.0, 6.0])):
            pen.polyline(np.stack([corner - arm, corner + arm]), closed=False, role=Role.CHECK)
    beside = {(0, 1): (60.0, tall + 4.0, 0), (0, -1): (60.0, -5.0, 0)}
    beside |= {(1, 0): (wide + 5.0, tall - 22.0, 90), (-1, 0): (-5.0, tall - 22.0, 90)}
    for (right, up), (x, y, turn) in beside.items():
        name = names.get((tile.row + up, tile.column + right))
        if name:
            spot = np.array([x, y])
            pen.text(spot, f"match {name}", height=FIGURE, turn=turn, anchor="middle", role=Role.CHECK)
    top = tall + 13.0
    pen.text(np.array([0.0, top - 3.0]), tile.name, height=NUMBER, turn=0, anchor="left", role=Role.CHECK)
    past = max(28.0, words_width(tile.name, NUMBER) + 4.0)
    pen.text(np.array([past, top + 1.0]), title, height=FIGURE, turn=0, anchor="left", role=Role.CHECK)
    _bar(pen, np.array([wide - 130.0, tall + 6.0]), np.array([100.0, 0.0]))
    _bar(pen, np.array([wide + 3.5, 20.0]), np.array([0.0, 100.0]))


def _bar(pen: Pen, start: Floats, way: Floats) -> None:
    """A 100 mm bar for the margin, its words beside its end."""
    across = np.array([-way[1], way[0]]) / 100.0
    pen.polyline(np.stack([start, start + way]), closed=False, role=Role.CHECK)
    for end in (start, start + way):
        pen.polyline(np.stack([end - 2.5 * across, end + 2.5 * across]), closed=False, role=Role.CHECK)
    turn = 90.0 if way[1] else 0.0
    at = start + way * 1.03 if not way[1] else start + way / 2 - 4.5 * across * [1.0, 0.0]
    anchor = "left" if not way[1] else "middle"
    pen.text(at, "100 mm", height=FIGURE, turn=turn, anchor=anchor, role=Role.CHECK)  # type: ignore[arg-type]


def _draw_scale_page(pen: Pen, title: str, sheet: Sheet, about: tuple[Sequence[Tile], Sequence[str]]) -> None:
    tiles, notes = about
    top = sheet.height / sheet.correction[1] - 22.0
    pen.text(np.array([_MARGIN, top]), f"{title}: scale page", height=7, turn=0, anchor="left", role=Role.CHECK)
    told = [
        f"{len(tiles)} sheets of {sheet.name}, lying. Print at 100 %, not fitted to the page.",
        "Measure both bars here: 100 mm. If they are off, do not use the sheets.",
        "Cut each sheet along two match lines, lay cross on cross, tape. Row A is lowest, column 1 leftmost.",
        *notes,
    ]
    planned = len({tile.name for tile in tiles}) == len(tiles)  # one drawing: how its tiles lie stands beside the bars
    high = _plan_size(tiles)[1] * (max(tile.row for tile in tiles) + 1) + 8.0 if planned else 0.0
    _tell(pen, told, (top - 14.0, sheet.width - 2 * _MARGIN), high)
    corner = np.array([_MARGIN + 12.0, _MARGIN + 4.0])
    bar(pen, corner, 100.0, upright=True)
    bar(pen, corner + np.array([12.0, 0.0]), 100.0)
    if planned:
        _draw_plan(pen, tiles, np.array([_MARGIN + 135.0, _MARGIN + 4.0]), sheet.width - 2 * _MARGIN - 150.0)


def _tell(pen: Pen, notes: Sequence[str], room: tuple[float, float], taken: float) -> None:
    """Notes above the bars; those that find no room there go beside them, above what is `taken` there.

    room : height of the first line, width;  taken : mm from the foot
    """
    start, width = room
    low, high = _MARGIN + taken, _MARGIN + 98.0
    most = int((start - _MARGIN - 112.0) / _PITCH)
    above, rest = _told(notes, len(notes), width)
    for count in range(len(notes) - 1, 0, -1):
        fewer, more = _told(notes, count, width)
        if len(above) <= most or (len(more) - 1) * _PITCH > high - low:
            break
        above, rest = fewer, more
    pitch = min(_PITCH, (start - _MARGIN - 112.0) / max(len(above), 1))
    for left, top, step, lines in ((0.0, start, pitch, above), (140.0, high, _PITCH, rest)):
        for n, line in enumerate(lines):
            spot = np.array([_MARGIN + left, top - step * n])
            pen.text(spot, line, height=FIGURE, turn=0, anchor="left", role=Role.CHECK)


def _told(notes: Sequence[str], count: int, width: float) -> tuple[list[str], list[str]]:
    """The first `count` notes in lines of the whole width, the others in lines that go beside the bars."""
    above = [line for note in notes[:count] for line in wrapped(note, FIGURE, width)]
    return above, [line for note in notes[count:] for line in wrapped(note, FIGURE, width - 140.0)]


def _plan_size(tiles: Sequence[Tile]) -> tuple[int, float]:
    """Columns of the plan of tiles, and the height of one on it, mm."""
    return max(t.column for t in tiles) + 1, min(9.0, 90.0 / (max(t.row for t in tiles) + 1))


def _draw_plan(pen: Pen, tiles: Sequence[Tile], corner: Floats, room: float) -> None:
    """How the tiles lie, small."""
    columns, tall = _plan_size(tiles)
    wide = min(20.0, room / columns)
    for tile in tiles:
        low = corner + np.array([tile.column * wide, tile.row * tall])
        ring = low + np.array([[0.0, 0.0], [wide, 0.0], [wide, tall], [0.0, tall]])
        pen.polyline(ring, closed=True, role=Role.CHECK)
        size = min(FIGURE, 0.6 * tall)
        pen.text(low + np.array([wide, tall]) / 2, tile.name, height=size, turn=0, anchor="middle", role=Role.LABEL)
