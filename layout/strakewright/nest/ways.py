"""Every way a part may be laid on a board, as columns across the grain.

way        a part with one turn (0 or 180 degrees, give or take a skew) and one face up
column     a strip of the board one `step` long; a way is two rows of numbers, bottom and top, per column
block      columns taken together when the edge is as good as straight over them: 1, 2, 4, 8 ... columns
overhang   columns at an end of a way under which another piece may be tucked

Parts are grown by half the spacing first, so two ways that do not overlap are a spacing apart.  Every rounding is
to the safe side: bottom = least, top = greatest height anywhere in the column.  Method: derived.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.affinity import affine_transform
from shapely.geometry import Polygon

from strakewright.arrays import Floats, Ints
from strakewright.parts import Part

ROUND = 16
"""Segments in a quarter circle of a grown outline: 0.12 % of the radius is lost, 0.005 mm at spacing 8."""


@dataclass(frozen=True, eq=False)
class Way:
    """One way of laying a part.  bottom, top : (m,) mm, least bottom 0;  part's (0, 0) lies at `origin` from the
    start of column 0 and height 0;  left, right : overhanging columns at the two ends."""

    part: int
    turn_deg: float
    flip: bool
    bottom: Floats
    top: Floats
    origin: tuple[float, float]
    left: int
    right: int


@dataclass(frozen=True, eq=False)
class Ragged:
    """Blocks of many ways laid end to end.  at, level, value : one per block;  first : (ways + 1,) where each begins."""

    at: Ints
    level: Ints
    value: Floats
    first: Ints


@dataclass(frozen=True, eq=False)
class Ways:
    """All ways of all parts as flat tables.  of : the ways of each part;  bottom, top : the columns of all ways laid
    end to end, each way's beginning at `start`;  low, high : blocks of bottom and of minus top."""

    step: float
    ways: tuple[Way, ...]
    of: tuple[Ints, ...]
    part: Ints
    columns: Ints
    start: Ints
    bottom: Floats
    top: Floats
    area: Floats
    height: Floats
    sum_bottom: Floats
    sum_top: Floats
    left: Ints
    right: Ints
    low: Ragged
    high: Ragged


def grown(outline: Floats, by: float) -> Polygon:
    """The outline grown by `by` mm with round corners."""
    return Polygon(outline) if by <= 0 else Polygon(outline).buffer(by, quad_segs=ROUND)


def turned(shape: Polygon, turn_deg: float, flip: bool) -> Polygon:
    """Flip (y to -y) if set, then turn counter-clockwise about (0, 0)."""
    c, s = math.cos(math.radians(turn_deg)), math.sin(math.radians(turn_deg))
    f = -1.0 if flip else 1.0
    return affine_transform(shape, [c, -s * f, s, c * f, 0.0, 0.0])


def crossings(ring: Floats, start: float, step: float) -> tuple[Ints, Floats, Ints]:
    """Where a ring meets the columns: (column, height, edge) for every vertex and every column border crossed.

    ring : (n, 2) mm, closed (first point repeated);  a border crossing is listed for both its columns
    """
    x, y = (ring[:, 0] - start) / step, ring[:, 1]
    lo, hi = np.minimum(x[:-1], x[1:]), np.maximum(x[:-1], x[1:])
    first, last = np.floor(lo + 1e-9).astype(np.int64) + 1, np.ceil(hi - 1e-9).astype(np.int64) - 1
    count = np.maximum(last - first + 1, 0)
    edge = np.repeat(np.arange(len(count)), count)
    border = np.arange(count.sum()) - np.repeat(np.cumsum(count) - count, count) + first[edge]
    run = np.where(x[1:] == x[:-1], 1.0, x[1:] - x[:-1])[edge]
    height = y[edge] + (y[edge + 1] - y[edge]) * (border - x[edge]) / run
    ends = np.arange(len(count))
    inner = np.floor((lo + hi) / 2 + 1e-12).astype(np.int64)
    left = np.clip(np.floor(x[:-1] + 1e-9).astype(np.int64), first - 1, last)
    right = np.clip(np.floor(x[1:] + 1e-9).astype(np.int64), first - 1, last)
    left, right = np.where(count, left, inner), np.where(count, right, inner)
    column = np.concatenate([border - 1, border, left, right])
    return column, np.concatenate([height, height, y[:-1], y[1:]]), np.concatenate([edge, edge, ends, ends])


def profile(shape: Polygon, step: float, start: float | None = None) -> tuple[Floats, Floats, float]:
    """Least and greatest height per column, columns counted from `start` (default: the left end of the shape).

    returns bottom, top (m,), start
    """
    ring = np.asarray(shape.exterior.coords, dtype=np.float64)[:, :2]
    start = float(ring[:, 0].min()) if start is None else start
    m = max(1, math.ceil((float(ring[:, 0].max()) - start) / step - 1e-9))
    column, height, _ = crossings(ring, start, step)
    column = np.clip(column, 0, m - 1)
    bottom, top = np.full(m, np.inf), np.full(m, -np.inf)
    np.minimum.at(bottom, column, height)
    np.maximum.at(top, column, height)
    return bottom, top, start


def overhang(rise: Floats, step: float) -> int:
    """Columns at the start of `rise` over which it falls steeper than 1 in 3."""
    steep = -np.diff(rise) > step / 3
    return int(np.argmin(np.append(steep, False)))


def lay(part: int, shape: Polygon, step: float, turn_deg: float, flip: bool) -> Way:
    """One way: the grown `shape` of part number `part`, turned and flipped."""
    bottom, top, start = profile(turned(shape, turn_deg, flip), step)
    base = float(bottom.min())
    ends = overhang(bottom, step), overhang(bottom[::-1], step)
    return Way(part, turn_deg, flip, bottom - base, top - base, (-start, -base), *ends)


def same(a: Way, b: Way) -> bool:
    """Whether two ways cover the same columns (a strip turned end for end)."""
    if len(a.bottom) != len(b.bottom):
        return False
    return bool(np.abs(a.bottom - b.bottom).max() < 0.02 and np.abs(a.top - b.top).max() < 0.02)


def blocks(rise: Floats, slack: float) -> tuple[list[int], list[int], list[float]]:
    """Cover columns by blocks of 1, 2, 4 ... whose values differ by at most `slack`; each takes its least value.

    rise : (m,) mm;  returns starts, levels (log2 of length), values.  Blocks may overlap: only the least counts.
    """
    at: list[int] = []
    level: list[int] = []
    i = 0
    while i < len(rise):
        rest = rise[i:]
        flat = np.maximum.accumulate(rest) - np.minimum.accumulate(rest) <= slack
        run = len(rest) if flat.all() else int(np.argmin(flat))
        size = run.bit_length() - 1
        starts = [i] if run == 1 << size else [i, i + run - (1 << size)]
        at.extend(starts)
        level.extend([size] * len(starts))
        i += run
    return at, level, [float(rise[a : a + (1 << k)].min()) for a, k in zip(at, level, strict=True)]


def ragged(rises: Sequence[Floats], slack: float) -> Ragged:
    """Blocks of many rows of columns, laid end to end."""
    parts = [blocks(r, slack) for r in rises]
    first = np.concatenate([[0], np.cumsum([len(p[0]) for p in parts])])
    at = np.array([a for p in parts for a in p[0]], dtype=np.int64)
    level = np.array([a for p in parts for a in p[1]], dtype=np.int64)
    return Ragged(at, level, np.array([a for p in parts for a in p[2]], dtype=np.float64), first)


def turns(part: Part, skews: Sequence[float], limit_deg: float) -> list[tuple[float, bool]]:
    """(turn, flip) of every way to try for a part: 0 and 180 degrees, each with every skew within its limit."""
    limit = limit_deg if part.max_skew_deg is None else part.max_skew_deg
    angles = [base + s for s in skews if abs(s) <= limit + 1e-9 for base in (0.0, 180.0)]
    return [(a, flip) for flip in ((False, True) if part.may_flip else (False,)) for a in angles]


def all_ways(parts: Sequence[Part], spacing: float, step: float, angles: Sequence[list[tuple[float, bool]]]) -> Ways:
    """Lay every part in all its `angles`; ways that look the same are kept once.  step, spacing : mm."""
    ways: list[Way] = []
    of: list[Ints] = []
    for number, part in enumerate(parts):
        shape = grown(part.outline, spacing / 2)
        mine: list[Way] = []
        for turn_deg, flip in angles[number]:
            way = lay(number, shape, step, turn_deg, flip)
            if not any(same(way, other) for other in mine):
                mine.append(way)
        of.append(np.arange(len(ways), len(ways) + len(mine)))
        ways.extend(mine)
    areas = [shapely.area(grown(p.outline, spacing / 2)) for p in parts]
    columns = np.array([len(w.bottom) for w in ways], dtype=np.int64)
    return Ways(
        step,
        tuple(ways),
        tuple(of),
        np.array([w.part for w in ways], dtype=np.int64),
        columns,
        np.cumsum(columns) - columns,
        np.concatenate([w.bottom for w in ways] or [np.zeros(0)]),
        np.concatenate([w.top for w in ways] or [np.zeros(0)]),
        np.array([areas[w.part] for w in ways], dtype=np.float64),
        np.array([w.top.max() for w in ways], dtype=np.float64),
        np.array([w.bottom.sum() for w in ways], dtype=np.float64),
        np.array([w.top.sum() for w in ways], dtype=np.float64),
        np.array([w.left for w in ways], dtype=np.int64),
        np.array([w.right for w in ways], dtype=np.int64),
        ragged([w.bottom for w in ways], 0.15),
        ragged([-w.top for w in ways], 0.15),
    )
