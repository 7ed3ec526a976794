"""Every way a part may be laid on a board, as columns across the grain.

way        a part with one turn (0 or 180 degrees, give or take a skew) and one face up
column     a strip of the board one `step` long; a way is two rows of numbers, bottom and top, per column
laid       a way lying on a board
overhang   columns at an end of a way under which another piece may be tucked

Parts are grown by half the spacing first, so two ways that do not overlap are a spacing apart.  Every rounding is
to the safe side: bottom = least, top = greatest height anywhere in the column.  Method: derived.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from shapely.affinity import affine_transform
from shapely.geometry import Polygon

from strakewright.arrays import Floats, Ints
from strakewright.parts import Part

ROUND = 16
"""Segments in a quarter circle of a grown outline: 0.12 % of the radius is lost, 0.005 mm at spacing 8."""

KINDS = {"sound": 1, "hidden": 2}
"""Class of each quality that may hold some defect; all others are of class 0 and hold none."""


@dataclass(frozen=True, eq=False)
class Way:
    """One way of laying a part.  bottom, top : (m,) mm, least bottom 0;  part's (0, 0) lies at `origin` from the
    start of column 0 and height 0;  left, right : overhanging columns at the two ends;  shoulders : sloping columns
    of the top at the two ends;  kind : class of quality, see `KINDS`."""

    part: int
    turn_deg: float
    flip: bool
    bottom: Floats
    top: Floats
    origin: tuple[float, float]
    left: int
    right: int
    shoulders: tuple[int, int]
    kind: int = 0


@dataclass(frozen=True, eq=False)
class Ways:
    """All ways of all parts as flat tables, one entry per way unless said.

    narrow : height of the lowest way;  of : the ways of each part;  thick, girth : mean and greatest top less bottom
    left, right, shoulder (2, ways) : as in Way;  corner (2, ways) : height times columns missing over the shoulders
    shapes, window : per part, grown outline, least and greatest turn (parts, 2) as drawn
    skewed : ways worked out when first asked for;  kind : class of quality
    """

    step: float
    narrow: float
    ways: tuple[Way, ...]
    of: tuple[Ints, ...]
    part: Ints
    columns: Ints
    thick: Floats
    girth: Floats
    area: Floats
    height: Floats
    left: Ints
    right: Ints
    shoulder: Ints
    corner: Floats
    shapes: tuple[Polygon, ...]
    window: Floats
    skewed: dict[tuple[int, float], Way]
    kind: Ints


@dataclass(frozen=True)
class Laid:
    """A way lying on a slab: column it starts at, mm above the view's height 0, degrees of skew, view."""

    way: int
    at: int
    y: float
    skew: float = 0.0
    side: int = 0


def way_of(ways: Ways, laid: Laid) -> Way:
    """The way as it lies, skew included."""
    return skew(ways, laid.way, laid.skew)


def skew(ways: Ways, way: int, deg: float) -> Way:
    """A way turned by `deg` more; worked out when first asked for."""
    if not deg:
        return ways.ways[way]
    if (way, deg) not in ways.skewed:
        base = ways.ways[way]
        turn = base.turn_deg + deg
        laid = lay(base.part, ways.shapes[base.part], ways.step, turn, base.flip)
        ways.skewed[way, deg] = replace(laid, kind=base.kind)
    return ways.skewed[way, deg]


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


def corners(way: Way) -> tuple[float, float]:
    """Height times columns missing over the two shoulders of a way: wood that is lost against a wall."""
    a, b = way.shoulders
    top = way.top
    return float((top.max() - top[:a]).sum()), float((top.max() - top[len(top) - b :]).sum())


def lay(part: int, shape: Polygon, step: float, turn_deg: float, flip: bool) -> Way:
    """One way: the grown `shape` of part number `part`, turned and flipped."""
    bottom, top, start = profile(turned(shape, turn_deg, flip), step)
    base = float(bottom.min())
    ends = overhang(bottom, step), overhang(bottom[::-1], step)
    shoulders = overhang(-top, step), overhang(-top[::-1], step)
    return Way(part, turn_deg, flip, bottom - base, top - base, (-start, -base), *ends, shoulders)


def same(a: Way, b: Way) -> bool:
    """Whether two ways cover the same columns (a strip turned end for end)."""
    if len(a.bottom) != len(b.bottom):
        return False
    return bool(np.abs(a.bottom - b.bottom).max() < 0.02 and np.abs(a.top - b.top).max() < 0.02)


def turns(part: Part, skews: Sequence[float], window: Sequence[float]) -> list[tuple[float, bool]]:
    """(turn, flip) of every way to try for a part: 0 and 180 degrees, or as near as its window allows, and skews of
    these, also turned over if it may be (skews are then mirrored)."""
    faces = ((1.0, False), (-1.0, True)) if part.may_flip else ((1.0, False),)
    low, high = float(window[0]), float(window[1])
    plain = min(max(0.0, low), high)
    tried = [plain, *(s for s in skews if low <= s <= high and s != plain)]
    return [(base + sign * s, flip) for sign, flip in faces for s in tried for base in (0.0, 180.0)]


def all_ways(
    parts: Sequence[Part], spacing: float, step: float, window: Floats, skews: Mapping[int, Sequence[float]]
) -> Ways:
    """Lay every part every way round; ways that look the same are kept once.

    step, spacing : mm;  window : (parts, 2) see `turning`;  skews : part -> skews
    to try from the start
    """
    shapes = tuple(grown(p.outline, spacing / 2) for p in parts)
    ways: list[Way] = []
    of: list[Ints] = []
    for number, part in enumerate(parts):
        mine: list[Way] = []
        for turn_deg, flip in turns(part, skews.get(number, ()), window[number]):
            way = replace(lay(number, shapes[number], step, turn_deg, flip), kind=KINDS.get(part.quality or "", 0))
            if not any(same(way, other) for other in mine):
                mine.append(way)
        of.append(np.arange(len(ways), len(ways) + len(mine)))
        ways.extend(mine)
    return tabled(step, ways, tuple(of), (shapes, window))


def tabled(step: float, ways: Sequence[Way], of: tuple[Ints, ...], parts: tuple[tuple[Polygon, ...], Floats]) -> Ways:
    """Ways with their flat tables.  of : the ways each part is offered;  parts : grown outlines, windows"""
    shapes, window = parts
    areas = [float(s.area) for s in shapes]
    columns = np.array([len(w.bottom) for w in ways], dtype=np.int64)
    return Ways(
        step,
        min((float(w.top.max()) for w in ways), default=0.0),
        tuple(ways),
        of,
        np.array([w.part for w in ways], dtype=np.int64),
        columns,
        np.array([(w.top - w.bottom).mean() for w in ways], dtype=np.float64),
        np.array([(w.top - w.bottom).max() for w in ways], dtype=np.float64),
        np.array([areas[w.part] for w in ways], dtype=np.float64),
        np.array([w.top.max() for w in ways], dtype=np.float64),
        np.array([w.left for w in ways], dtype=np.int64),
        np.array([w.right for w in ways], dtype=np.int64),
        np.array([w.shoulders for w in ways], dtype=np.int64).reshape(-1, 2).T,
        np.array([corners(w) for w in ways], dtype=np.float64).reshape(-1, 2).T,
        shapes,
        window,
        {},
        np.array([w.kind for w in ways], dtype=np.int64),
    )
