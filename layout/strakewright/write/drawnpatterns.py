"""Full-size patterns of everything that is no plank: frames, formers, transom, stem, bevel board.

lines      this face solid, the far face dashed, set-up lines dash and dot
ordinates  how far the outermost cut line stands above the base line, low and high: paper moves, figures do not
spot       small cross with a letter; straight distances between spots are printed to measure the paper by
on its side  a pattern that is too high for the roll is turned a quarter
"""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np
import shapely

from strakewright.arrays import Floats
from strakewright.drawn import Drawn, DrawnLine, LineKind
from strakewright.plan import Placement
from strakewright.units import print_mm, print_tape
from strakewright.write.patterns import FIGURE, NUMBER, Block
from strakewright.write.pen import Pen, Role, lay, placed, text_box
from strakewright.write.settables import together

_ROLES: dict[LineKind, Role] = {
    "cut": Role.CUT_OUTSIDE,
    "other face": Role.SCRIBE,
    "scribe": Role.LABEL,
    "centreline": Role.BOARD,
    "reference": Role.BOARD,
    "clamp hole": Role.DRILL,
}
_EDGE, _ROW, _HEAD = 25.0, 8.0, 22.0
_COLUMNS = (24.0, 28.0, 28.0, 42.0, 42.0)
TABLE = sum(_COLUMNS) + 12.0
ARM = 5.0  # mm: a spot's cross
_MOST_TAPES = 5


@dataclass(frozen=True, eq=False)
class Laid:
    """A pattern as a block, and where things lie in it.  rings : closed cut lines (n, 2);  spots : name, (2,);
    tapes : name, start (2,), end (2,), distance printed: all in the block's axes"""

    block: Block
    rings: tuple[Floats, ...]
    tapes: tuple[tuple[str, Floats, Floats, float], ...]


def laid_out(drawn: Drawn, title: str, most: float, most_aside: float | None = None) -> Laid:
    """The pattern with heading, ordinates and tape checks, as it best goes on the roll.

    title : boat and revision;  most : mm of height a page takes with its bars at the foot;  most_aside : with its bars
    at the left end (None: the same).  Tried in turn: heading on top, on its side, heading at the right, that on its
    side; what fits nowhere is laid out upright.
    """
    upright, compact = _laid(drawn, title, beside=False), _laid(drawn, title, beside=True)
    for laid in (upright, _on_its_side(upright)):
        if laid.block.height <= most:
            return laid
    for laid in (compact, _on_its_side(compact)):
        if laid.block.height <= (most_aside or most):
            return laid
    return upright


def _laid(drawn: Drawn, title: str, *, beside: bool) -> Laid:
    """beside : heading at the right of the drawing, not above it."""
    low, high = _extent(drawn)
    rows = ordinates(drawn)
    shift = np.array([_EDGE, _EDGE]) - low
    words = [*drawn.notes, *_tape_words(drawn), title]
    long, tall = (float(v) for v in high - low + 2 * _EDGE)
    column = max(TABLE if rows else 0.0, 330.0 if beside else 0.0)
    wide = (long if beside else max(long, 0.78 * FIGURE * 80)) + column
    lines = [piece for line in words for piece in _wrapped(line, column if beside else wide)]
    heading = _HEAD + _ROW * (len(lines) + beside)
    height = max(tall, (len(rows) + 3) * _ROW + heading * beside) + heading * (not beside)
    spots = {name: at + shift for name, at in drawn.spots}
    corner = np.array([long + 4.0 if beside else 8.0, height])

    def draw(pen: Pen) -> None:
        _draw_heading(pen, drawn, lines, (corner, beside))
        _draw_lines(pen, drawn, shift)
        for name, at in spots.items():
            _draw_spot(pen, name, at)
        if rows:
            _draw_base(pen, shift + low - np.array([0.0, 10.0]), long - 2 * _EDGE)
            _draw_table(pen, rows, np.array([wide - column + 4.0, height - heading]), drawn.id)

    rings = tuple(line.points + shift for line in drawn.lines if line.kind == "cut" and line.closed)
    tapes = tuple((f"{a} to {b}", spots[a], spots[b], far) for a, b, far in tapes_of(drawn))
    return Laid(Block(drawn.id, wide, height, draw, (float(shift[0]), float(shift[1]))), rings, tapes)


def _on_its_side(laid: Laid) -> Laid:
    turn = Placement("", "", laid.block.height, 0.0, 90.0)
    block = laid.block
    inner = lay(np.array([block.inner]), turn)[0]
    turned = Block(
        block.name, block.height, block.width, lambda pen: block.draw(placed(pen, turn)), (inner[0], inner[1])
    )
    tapes = [(name, *lay(np.stack([a, b]), turn), far) for name, a, b, far in laid.tapes]
    return Laid(turned, tuple(lay(ring, turn) for ring in laid.rings), tuple(tapes))


def _extent(drawn: Drawn) -> tuple[Floats, Floats]:
    every = np.concatenate([line.points for line in drawn.lines] + [at[None] for _, at in drawn.spots])
    return every.min(axis=0), every.max(axis=0)


def ordinates(drawn: Drawn) -> tuple[tuple[float, float, float], ...]:
    """x, low and high of the cut lines above the base line (10 mm under the lowest point of the pattern), mm; none
    for a pattern under 300 mm or without a closed cut line."""
    low, high = _extent(drawn)
    rings = [shapely.Polygon(line.points) for line in drawn.lines if line.kind == "cut" and line.closed]
    long = float(high[0] - low[0])
    if not rings or long < 300.0:
        return ()
    step = 300.0 if long > 2400.0 else 100.0
    shape = shapely.union_all([shapely.make_valid(ring) for ring in rings])
    found = []
    for x in np.arange(0.0, long + 1.0, step):
        at = low[0] + x
        cut = shapely.intersection(shape, shapely.LineString([(at, low[1] - 1.0), (at, high[1] + 1.0)]))
        if not cut.is_empty:
            _, y0, _, y1 = shapely.bounds(cut)
            found.append((float(x), float(y0 - low[1] + 10.0), float(y1 - low[1] + 10.0)))
    return tuple(found)


def tapes_of(drawn: Drawn) -> tuple[tuple[str, str, float], ...]:
    """Straight distances between spots, the longest first, at most five; none under 20 mm."""
    pairs = [(a, b, float(np.hypot(*(q - p)))) for (a, p), (b, q) in combinations(drawn.spots, 2)]
    return tuple(sorted((p for p in pairs if p[2] > 20.0), key=lambda p: -p[2])[:_MOST_TAPES])


def _tape_words(drawn: Drawn) -> list[str]:
    told = "   ".join(f"{a} to {b} {print_mm(far)} ({print_tape(far)})" for a, b, far in tapes_of(drawn))
    return [f"Tape check, between crosses: {told}"] if told else []


def _wrapped(words: str, wide: float) -> list[str]:
    """In lines that leave a gap to the next pattern, by plotters' letters too; a length is never parted."""
    most = max(40, int((wide - 8.0) / (0.66 * FIGURE)))
    return textwrap.wrap(together(words), most, subsequent_indent="   ") or [""]


def _draw_heading(pen: Pen, drawn: Drawn, lines: Sequence[str], place: tuple[Floats, bool]) -> None:
    """Id, title and notes downwards from a corner; in a column of their own the title stands under the id."""
    (left, top), stacked = place
    pen.text(np.array([left, top - NUMBER]), drawn.id, height=NUMBER, turn=0, anchor="left", role=Role.LABEL)
    beside = 0.0 if stacked else 0.9 * NUMBER * (len(drawn.id) + 1)
    spot = np.array([left + beside, top - NUMBER - 1.5 * NUMBER * stacked])
    pen.text(spot, drawn.title, height=FIGURE + (not stacked), turn=0, anchor="left", role=Role.LABEL)
    for n, line in enumerate(lines):
        spot = np.array([left, top - NUMBER - _HEAD + 6.0 - (n + stacked) * _ROW])
        pen.text(spot, line, height=FIGURE, turn=0, anchor="left", role=Role.LABEL)


def _draw_lines(pen: Pen, drawn: Drawn, shift: Floats) -> None:
    """Every line with its words beside it where they meet no other words."""
    taken: list[Floats] = []
    for line in drawn.lines:
        pen.polyline(line.points + shift, closed=line.closed, role=_ROLES[line.kind])
    for line in drawn.lines:
        if line.words:
            at = _free_spot(line, shift, taken)
            pen.text(at, line.words, height=FIGURE, turn=0, anchor="left", role=Role.LABEL)


def _free_spot(line: DrawnLine, shift: Floats, taken: list[Floats]) -> Floats:
    """Beside the middle of a line; a little up, down or along when other words stand there."""
    middle = line.points.mean(axis=0) if line.closed else line.points[len(line.points) // 2]
    offs = [
        (4.0, 5.0),
        (4.0, -5.0),
        (4.0, 12.0),
        (4.0, -12.0),
        (14.0, 19.0),
        (14.0, -19.0),
        (14.0, 26.0),
        (14.0, -26.0),
    ]
    tries = [middle + shift + np.array(off) for off in offs]
    for at in tries:
        box = text_box(at, line.words, FIGURE, 0.0, "left")
        low, high = box.min(axis=0), box.max(axis=0)
        if not any(np.all(high > other[0]) and np.all(low < other[1]) for other in taken):
            taken.append(np.stack([low, high]))
            return np.asarray(at)
    return np.asarray(tries[0])


def _draw_spot(pen: Pen, name: str, at: Floats) -> None:
    for arm in (np.array([ARM, 0.0]), np.array([0.0, ARM])):
        pen.polyline(np.stack([at - arm, at + arm]), closed=False, role=Role.CHECK)
    spot = at + np.array([-ARM - 1.0, -6.0])
    pen.text(spot, name, height=FIGURE, turn=0, anchor="right", role=Role.CHECK)


def _draw_base(pen: Pen, at: Floats, long: float) -> None:
    pen.polyline(at + np.array([[0.0, 0.0], [long, 0.0]]), closed=False, role=Role.BOARD)
    step = 300.0 if long > 2400.0 else 100.0
    for x in np.arange(0.0, long + 1.0, step):
        pen.polyline(at + np.array([[x, -4.0], [x, 4.0]]), closed=False, role=Role.CHECK)


def _draw_table(pen: Pen, rows: Sequence[tuple[float, float, float]], at: Floats, name: str) -> None:
    """Ordinates from the top left corner `at` downwards."""
    edges = at[0] + np.cumsum([0.0, *_COLUMNS])
    told = f"{name}: heights above the base line"
    pen.text(at - np.array([0.0, _ROW / 2]), told, height=FIGURE, turn=0, anchor="left", role=Role.LABEL)
    head = ["x", "low", "high", "low, in", "high, in"]
    for line, cells in enumerate([head, *(_cells(row) for row in rows)], start=1):
        y = at[1] - _ROW / 2 - line * _ROW
        for cell, right in zip(cells, edges[1:], strict=True):
            spot = np.array([right - 2.0, y])
            pen.text(spot, cell, height=FIGURE, turn=0, anchor="right", role=Role.LABEL)
        rule = np.array([[edges[0], y - _ROW / 2], [edges[-1], y - _ROW / 2]])
        pen.polyline(rule, closed=False, role=Role.CHECK)


def _cells(row: tuple[float, float, float]) -> list[str]:
    x, low, high = row
    bare = [print_mm(v).removesuffix(" mm") for v in (low, high)]
    return [f"{x:.0f}", *bare, print_tape(low), print_tape(high)]
