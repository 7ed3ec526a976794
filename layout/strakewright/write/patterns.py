"""Full-size paper patterns of planks, with the figures that stand beside each.

pattern     the line to cut of one plank, inside face up, with its marks; the mate is the same paper turned over;
            a plank whose joints are shifted has no mate, and its pattern serves one side only
base line   straight line 10 mm under the pattern's lowest point; x = 0 at its left end (aft; keel of a diagonal)
ordinates   how far both edges stand above the base line, at every frame and every 300 mm: paper moves with damp,
            figures do not
tape check  straight distances between lettered corners, to measure on the paper before it is used
block       a drawing with its size, ready to be laid on a roll
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import shapely

from strakewright.arrays import Floats
from strakewright.geometry.outlines import clip_lines
from strakewright.parts import Part, Plank
from strakewright.plan import Placement
from strakewright.units import print_mm, print_tape
from strakewright.write.edges import bevel_of, degrees, low_and_high
from strakewright.write.girths import Staff
from strakewright.write.labels import Label
from strakewright.write.pen import Pen, Role, kept, placed
from strakewright.write.sheets import draw_part

STEP = 300.0  # mm between ordinates
BELOW = np.array([0.0, 10.0])  # mm from the base line up to the lowest point: the two lines are never confused
FIGURE, NUMBER = 5.0, 12.0  # mm: smallest figures, part numbers
_ROW = 8.0
_COLUMNS = (20.0, 25.0, 22.0, 25.0, 22.0)  # at, x low, y low, x high, y high in mm
_TAPES = (40.0, 32.0, 40.0, 32.0)
_BEVELS = (22.0, 22.0)
_HEAD = ("at", "x", "lower", "x", "upper")
TABLE = sum(_COLUMNS) + sum(_TAPES) + sum(_BEVELS) + 10.0
_TITLE, _FOOT = 34.0, 26.0
INNER = (10.0, _FOOT)  # mm: where the base point of a plank lies in its block


@dataclass(frozen=True, eq=False)
class Ordinate:
    """Where a station line crosses the lower and the upper edge.  low, high : (2,) mm from the base line's start"""

    name: str
    low: Floats
    high: Floats


def bevels_at(row: Ordinate, plank: Plank, part: Part) -> tuple[str, str]:
    """Bevels in degrees of the lower and the upper edge at a station; a dash where an end is cut instead."""
    start = float(base_of(part)[0])
    edges = zip(low_and_high(plank), (row.low, row.high), strict=True)
    angles = [bevel_of(runs, start + float(spot[0])) for runs, spot in edges]
    low, high = ("–" if angle is None else degrees(angle) for angle in angles)
    return low, high


@dataclass(frozen=True, eq=False)
class Block:
    """width, height mm;  draw : puts the drawing on a pen, its lower left corner at (0, 0), worked out once for all
    papers;  inner : (2,) mm of the pattern's base point within the block"""

    name: str
    width: float
    height: float
    draw: Callable[[Pen], None]
    inner: tuple[float, float] = (0.0, 0.0)

    def __post_init__(self) -> None:
        object.__setattr__(self, "draw", kept(self.draw))


@dataclass(frozen=True, eq=False)
class Pattern:
    """A plank of the port side, or one without a mate, with its part as it is cut, inside face up.

    title : boat and revision"""

    plank: Plank
    part: Part
    label: Label
    title: str = ""

    @property
    def base(self) -> Floats:
        """(2,) start of the base line in the part's axes."""
        return base_of(self.part)

    @property
    def size(self) -> Floats:
        return np.asarray(np.ptp(self.part.outline, axis=0) + BELOW)


def base_of(part: Part) -> Floats:
    """(2,) where the base line of a part begins, in the part's axes."""
    return np.asarray(part.outline.min(axis=0) - BELOW)


def ordinates(part: Part) -> tuple[Ordinate, ...]:
    """Both edges at the lettered corners, at every 300 mm from x = 0 and at every frame, in order."""
    outline, base = part.outline, base_of(part)
    spots = corners(part)
    ends = [Ordinate("A D", spots["A"] - base, spots["D"] - base)]
    ends.append(Ordinate("B C", spots["B"] - base, spots["C"] - base))
    stations = np.arange(STEP, np.ptp(outline[:, 0]) - 1.0, STEP)
    rows = [_at_station(f"{x:.0f}", outline, base, x) for x in stations]
    for mark in part.marks:
        pieces = clip_lines(mark.points, outline) if mark.kind == "frame" and len(mark.points) > 1 else []
        if pieces:
            line = np.concatenate(pieces) - base
            low, high = line[int(np.argmin(line[:, 1]))], line[int(np.argmax(line[:, 1]))]
            rows.append(Ordinate(mark.name, low, high))
    return (ends[0], *sorted(rows, key=lambda o: float(o.low[0] + o.high[0])), ends[1])


def _at_station(name: str, outline: Floats, base: Floats, x: float) -> Ordinate:
    at, (low, high) = base[0] + x, (outline[:, 1].min() - 1.0, outline[:, 1].max() + 1.0)
    line = shapely.intersection(shapely.LineString([(at, low), (at, high)]), shapely.Polygon(outline))
    _, y0, _, y1 = shapely.bounds(line)
    return Ordinate(name, np.array([x, y0 - base[1]]), np.array([x, y1 - base[1]]))


def corners(part: Part) -> dict[str, Floats]:
    """Points of the outline furthest to each of its four corners, A to D counter-clockwise from the lower left.

    Length counts for as much as width, so that a crook does not hide a corner.
    """
    low, size = part.outline.min(axis=0), np.maximum(np.ptp(part.outline, axis=0), 1e-9)
    shares = (part.outline - low) / size * [8.0, 1.0]
    ways = {"A": (-1, -1), "B": (1, -1), "C": (1, 1), "D": (-1, 1)}
    return {letter: part.outline[int(np.argmax(shares @ np.array(way)))] for letter, way in ways.items()}


def tape_of(part: Part) -> tuple[tuple[str, str, float], ...]:
    """Straight distances mm to measure: both diagonals and the chord of the lower edge; none under 20 mm."""
    spots = corners(part)
    far = [(a, b, float(np.hypot(*(spots[b] - spots[a])))) for a, b in ("AC", "BD", "AB")]
    return tuple(each for each in far if each[2] > 20.0)


def pattern_block(pattern: Pattern, *, table: bool = True) -> Block:
    """The pattern with title, base line, tape checks and, if asked for, its table of ordinates at its right."""
    rows = [(row, bevels_at(row, pattern.plank, pattern.part)) for row in (ordinates(pattern.part) if table else ())]
    long, wide = pattern.size
    tall = max(wide, 9 * _ROW)
    lots = _lots(rows, int((tall + _TITLE) // _ROW) - 3) if rows else []
    height = max(wide + _TITLE + _FOOT, (max(map(len, lots), default=0) + 3) * _ROW)
    width = max(long + 20.0, _title_width(pattern)) + len(lots) * TABLE

    def draw(pen: Pen) -> None:
        _draw_pattern(pen, pattern, np.array(INNER))
        left = max(long + 20.0, _title_width(pattern)) + 10.0
        for n, lot in enumerate(lots):
            _draw_table(pen, lot, np.array([left + n * TABLE, height]), pattern.part.id)

    return Block(pattern.part.id, width, height, draw, INNER)


Row = tuple[Ordinate, tuple[str, str]]
"""An ordinate and the bevels there."""


def _title_width(pattern: Pattern) -> float:
    return 0.74 * FIGURE * max(len(words) for words in _words(pattern)) + 0.8 * NUMBER * 12


def _lots(rows: Sequence[Row], most: int) -> list[Sequence[Row]]:
    """Rows shared evenly among as many tables as it takes."""
    count = -(-len(rows) // max(most, 5))
    share = -(-len(rows) // count)
    return [rows[at : at + share] for at in range(0, len(rows), share)]


def _words(pattern: Pattern) -> tuple[str, str]:
    plank = pattern.plank
    tape = "   ".join(f"{a}-{b} {print_mm(far)} ({print_tape(far)})" for a, b, far in tape_of(pattern.part))
    joints = "".join(f"  {mark.name.upper()}." for mark in pattern.part.marks if mark.kind == "joint" and mark.name)
    about = f"{plank.cut_thickness:g} mm {plank.species}  {pattern.title}{joints}"
    side = {"port": "PORT as drawn", "starboard": "STBD as drawn", "both": "PORT as drawn"}[plank.side]
    other = "STBD turn over" if plank.mate or plank.side == "both" else "NOT for the other side"
    return (f"INSIDE UP: {side}, {other}.  {about}", f"Tape check: {tape}")


def _draw_pattern(pen: Pen, pattern: Pattern, at: Floats) -> None:
    """Title above, the plank, its base line under it.  at : (2,) where the base line starts"""
    part, (x, y) = pattern.part, at - pattern.base
    draw_part(placed(pen, Placement(part.id, "", float(x), float(y))), part, pattern.label)
    long, wide = pattern.size
    for letter, spot in corners(part).items():
        pen.circle(spot - pattern.base + at, 3.0, Role.CHECK)
        off = np.array([-5.0 if letter in "AD" else 5.0, 6.0 if letter in "CD" else -6.0])
        pen.text(spot - pattern.base + at + off, letter, height=7, turn=0, anchor="middle", role=Role.CHECK)
    top = at[1] + wide
    pair = f"{part.id} + {pattern.plank.mate}" if pattern.plank.mate else part.id
    pen.text(np.array([at[0], top + 24.0]), pair, height=NUMBER, turn=0, anchor="left", role=Role.LABEL)
    first, second = _words(pattern)
    beside = at[0] + 0.9 * NUMBER * (len(pair) + 1)
    for words, up in ((first, 27.0), (second, 18.5)):
        pen.text(np.array([beside, top + up]), words, height=FIGURE, turn=0, anchor="left", role=Role.LABEL)
    _draw_base(pen, at, float(long))


def _draw_base(pen: Pen, at: Floats, long: float) -> None:
    pen.polyline(at + np.array([[0.0, 0.0], [long, 0.0]]), closed=False, role=Role.BOARD)
    for x in (0.0, *np.arange(STEP, long - 1.0, STEP)):
        tick = np.array([[x, -5.0], [x, 5.0]]) + at
        pen.polyline(tick, closed=False, role=Role.CHECK)
        words = "base line, x = 0" if x == 0 else f"{x:.0f}"
        spot = at + np.array([x + 2.0, -16.0 if x == 0 else -11.0])
        pen.text(spot, words, height=FIGURE, turn=0, anchor="left", role=Role.CHECK)


def _cells(pair: Row) -> list[str]:
    row, bevels = pair
    figures = [float(v) for v in (*row.low, *row.high)]
    return [row.name, *(print_mm(v).removesuffix(" mm") for v in figures), *(print_tape(v) for v in figures), *bevels]


def _draw_table(pen: Pen, rows: Sequence[Row], at: Floats, name: str) -> None:
    """Ordinates from the top left corner `at` downwards: mm, then feet and inches."""
    edges = at[0] + np.cumsum([0.0, *_COLUMNS, *_TAPES, *_BEVELS])
    heads = [*_HEAD, *_HEAD[1:], "lower", "upper"]
    y = at[1] - _ROW / 2
    pen.text(
        np.array([edges[0], y]),
        f"{name}: mm, then inches, then bevels (+ off the inside)",
        height=FIGURE,
        turn=0,
        anchor="left",
        role=Role.LABEL,
    )
    for line, cells in enumerate([heads, *(_cells(row) for row in rows)], start=1):
        spot_y = y - line * _ROW
        for cell, (left, right) in zip(cells, pairwise(edges), strict=True):
            named = left == edges[0]
            spot = np.array([left + 1.0 if named else right - 2.0, spot_y])
            pen.text(spot, cell, height=FIGURE, turn=0, anchor="left" if named else "right", role=Role.LABEL)
        rule = np.array([[edges[0], spot_y - _ROW / 2], [edges[-1], spot_y - _ROW / 2]])
        pen.polyline(rule, closed=False, role=Role.CHECK)


def staff_block(staff: Staff, title: str, height: float = 44.0) -> Block:
    """A girth staff as a strip of paper: edges to cut along, a tick and its name at every seam."""
    long = staff.ticks[-1][0]
    width = max(long + 60.0, 0.8 * FIGURE * len(title) + 20.0)

    def draw(pen: Pen) -> None:
        ring = np.array([[0.0, 0.0], [width, 0.0], [width, height], [0.0, height]])
        pen.polyline(ring, closed=True, role=Role.BOARD)
        pen.text(np.array([30.0, height - 6.0]), title, height=FIGURE, turn=0, anchor="left", role=Role.LABEL)
        for number, (reach, words) in enumerate(staff.ticks):
            _draw_tick(pen, 30.0 + reach, words, ends=number in (0, len(staff.ticks) - 1))
        for words, (a, b) in zip(staff.spaces, pairwise(reach for reach, _ in staff.ticks), strict=True):
            if b - a > FIGURE + 1.0:
                fits = 0.8 * NUMBER * len(words) < b - a - 4.0
                tall = NUMBER if fits else min(FIGURE + 2.0, (b - a - 4.0) / (0.8 * len(words)))
                turn, size = (0.0, tall) if tall >= FIGURE else (90.0, FIGURE)
                spot = np.array([30.0 + (a + b) / 2, 13.0 if turn else 16.0])
                pen.text(spot, words, height=size, turn=turn, anchor="middle", role=Role.LABEL)

    return Block(staff.name, width, height, draw, (30.0, 0.0))


def _draw_tick(pen: Pen, x: float, words: str, *, ends: bool) -> None:
    pen.polyline(np.array([[x, 0.0], [x, 31.0 if ends else 26.0]]), closed=False, role=Role.CUT_OUTSIDE)
    if ends:
        pen.text(np.array([x + 1.5, 28.0]), words.upper(), height=FIGURE, turn=0, anchor="left", role=Role.LABEL)


def staff_title(staff: Staff, title: str) -> str:
    """What stands on a staff."""
    long = staff.ticks[-1][0]
    return f"{staff.name}  girth {print_mm(long)} ({print_tape(long)})  {title}"
