"""Boards as columns across the grain, ready to be filled.

slab       one board seen from one end: per column the free height between its edges
room       usable height of a column after edge margin
block out  a defect as upright boxes over runs of columns (knots, checks), grown by the defect margin
ladder     least (or greatest) value over 1, 2, 4, 8 ... columns from each column on, so that the height over any run
           of columns costs one look

A board is seen from both ends (turned half round), so that filling from the lower edge also fills from the upper.
Every rounding is to the safe side.  Method: derived; ladder = sparse table for range minima (textbook).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.affinity import affine_transform
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from strakewright.arrays import Floats
from strakewright.lumber import Board, Rules
from strakewright.nest.ways import ROUND, crossings, profile

BOX = 6
"""Columns one box of a defect covers at most."""


@dataclass(frozen=True, eq=False)
class Slab:
    """One board from one end.  floor, roof : (n,) mm;  boxes : (j, 4) first column, end column, low, high;
    corner : x of column 0, 0;  half_round : seen from the other end: board x, y = pivot - slab x, y."""

    board: int
    floor: Floats
    roof: Floats
    boxes: Floats
    corner: tuple[float, float]
    half_round: bool
    pivot: tuple[float, float]
    ladder: Floats
    sum_roof: Floats
    area: float


def climb(values: Floats, stride: int, greatest: bool) -> Floats:
    """The ladder of `values`, flattened: entry level * stride + i = extreme of values[i : i + 2**level]."""
    pick = np.maximum if greatest else np.minimum
    n = len(values)
    table = np.empty((max(1, n.bit_length()), stride))
    table[0, :n] = values
    for k in range(1, len(table)):
        half, width = 1 << (k - 1), n - (1 << k) + 1
        if width > 0:
            pick(table[k - 1, :width], table[k - 1, half : half + width], out=table[k, :width])
    return table.ravel()


def usable(board: Board, rules: Rules) -> Polygon:
    """Where grown parts may lie as far as the board's edges go; the largest piece if the margin parts it."""
    whole = Polygon(board.outline)
    by = rules.spacing / 2 - rules.edge_margin
    region = whole.buffer(by, join_style="mitre")
    if by > 0 and not _sound(region, whole, rules):
        region = whole
    pieces = [g for g in getattr(region, "geoms", [region]) if isinstance(g, Polygon) and g.area > 0]
    return max(pieces, key=lambda g: float(g.area), default=Polygon())


def _sound(region: BaseGeometry, whole: Polygon, rules: Rules) -> bool:
    """Whether every part whose grown shape lies in `region` keeps the edge margin."""
    inner = region.buffer(-rules.spacing / 2, quad_segs=ROUND)
    return bool(whole.buffer(-rules.edge_margin + 0.02, quad_segs=ROUND).covers(inner))


def blocked(defect: Floats, rules: Rules, origin: float, step: float) -> list[tuple[int, int, float, float]]:
    """A defect, grown by its margin less the half spacing parts carry, as boxes of (first, end, low, high)."""
    by = max(rules.defect_margin - rules.spacing / 2, 0.0)
    shape = Polygon(defect).buffer(by + 1e-6, quad_segs=ROUND)
    first = math.floor((shape.bounds[0] - origin) / step)
    low, high, _ = profile(shape, step, origin + first * step)
    return [
        (first + i, first + min(i + BOX, len(low)), float(low[i : i + BOX].min()), float(high[i : i + BOX].max()))
        for i in range(0, len(low), BOX)
    ]


def edges(region: Polygon, step: float) -> tuple[Floats, Floats, float]:
    """Greatest lower edge and least upper edge per whole column of a board's usable region, and its left end."""
    ring = np.asarray(shapely.normalize(region).exterior.reverse().coords, dtype=np.float64)[:, :2]
    if not shapely.is_ccw(shapely.linearrings(ring)):
        ring = ring[::-1]
    start = float(ring[:, 0].min())
    n = max(0, math.floor((float(ring[:, 0].max()) - start) / step + 1e-9))
    column, height, edge = crossings(ring, start, step)
    run = np.diff(ring[:, 0])[edge]
    keep = (column >= 0) & (column < n)
    floor, roof = np.full(n, -np.inf), np.full(n, np.inf)
    np.maximum.at(floor, column[keep & (run > 0)], height[keep & (run > 0)])
    np.minimum.at(roof, column[keep & (run < 0)], height[keep & (run < 0)])
    return floor, roof, start


def slabs(number: int, board: Board, rules: Rules, step: float, stride: int) -> tuple[Slab, Slab] | None:
    """The board seen from both ends; None when nothing is left inside its margins."""
    region = usable(board, rules)
    if region.is_empty:
        return None
    x0, y0, x1, y1 = region.bounds
    both = []
    for half_round in (False, True):
        m = [-1, 0, 0, -1, x0 + x1, y0 + y1] if half_round else [1, 0, 0, 1, 0, 0]
        seen = affine_transform(region, m)
        holes = [np.asarray(affine_transform(Polygon(d.outline), m).exterior.coords)[:-1] for d in board.defects]
        floor, roof, start = edges(seen, step)
        if not len(floor):
            return None
        boxes = [b for hole in holes for b in blocked(hole, rules, start, step)]
        both.append(_slab(number, board, (floor, roof, start), boxes, (half_round, (x0 + x1, y0 + y1)), stride))
    return both[0], both[1]


def _slab(
    number: int,
    board: Board,
    columns: tuple[Floats, Floats, float],
    boxes: Sequence[tuple[int, int, float, float]],
    view: tuple[bool, tuple[float, float]],
    stride: int,
) -> Slab:
    """One view of a board with its tables."""
    floor, roof, start = columns
    shut = ~(floor < roof) | ~np.isfinite(floor) | ~np.isfinite(roof)
    top = float(roof[~shut].max(initial=0.0))
    floor, roof = np.where(shut, top, floor), np.where(shut, top, roof)
    n = len(floor)
    inside = [(max(a, 0), min(b, n), lo, hi) for a, b, lo, hi in boxes if b > 0 and a < n]
    inside = [(a, b, lo, hi) for a, b, lo, hi in inside if hi > floor[a:b].min() and lo < roof[a:b].max()]
    return Slab(
        number,
        floor,
        roof,
        np.array(inside, dtype=np.float64).reshape(-1, 4),
        (start, 0.0),
        *view,
        climb(roof, stride, greatest=False),
        np.concatenate([[0.0], np.cumsum(roof)]),
        float(Polygon(board.outline).area),
    )


def columns_of(boards: Sequence[Board], step: float) -> int:
    """Columns the longest board needs, with room for rounding: the stride of every ladder."""
    longest = max((float(np.ptp(b.outline[:, 0])) for b in boards), default=0.0)
    return int(longest / step) + 64
