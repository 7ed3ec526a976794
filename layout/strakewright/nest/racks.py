"""Boards as columns across the grain, ready to be filled.

slab       one board: per column its lower and upper edge
view       0: the board as it lies;  1: turned half round
room       usable height of a column after edge margin
block out  a defect as upright boxes over runs of columns (knots, checks), grown by the defect margin

A board is also held turned half round, so that hanging a piece from the upper edge is laying it on the lower.
Every rounding is to the safe side.  Method: derived.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from strakewright.arrays import Floats
from strakewright.lumber import Board, Rules
from strakewright.nest.ways import ROUND, crossings, profile

BOX = 32
"""Columns one box of a defect covers at most."""


@dataclass(frozen=True, eq=False)
class Slab:
    """One board; every pair holds the board as it lies and turned half round.

    floor : (n,) mm;  boxes : (j, 4) first column, end column, low, high;  spots : first and end column of each defect
    corner : board x of column 0;  reach : x + x' of the two views;  span : y + y', so roof = span - other floor
    """

    board: int
    floor: tuple[Floats, Floats]
    boxes: tuple[Floats, Floats]
    spots: tuple[tuple[tuple[int, int], ...], tuple[tuple[int, int], ...]]
    corner: float
    reach: float
    span: float
    stride: int


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


@dataclass(frozen=True)
class Grid:
    """step : column length, mm;  stride : columns of the longest board;  narrow : mm that no part can pass through."""

    step: float
    stride: int
    narrow: float


def slab_of(number: int, board: Board, rules: Rules, grid: Grid) -> Slab | None:
    """A board made ready; None when nothing is left inside its margins."""
    region = usable(board, rules)
    if region.is_empty:
        return None
    floor, roof, start = edges(region, grid.step)
    n = len(floor)
    if not n:
        return None
    span = region.bounds[1] + region.bounds[3]
    shut = ~(floor < roof) | ~np.isfinite(floor) | ~np.isfinite(roof)
    floor, roof = np.where(shut, span / 2, floor), np.where(shut, span / 2, roof)
    holes = [blocked(d.outline, rules, start, grid.step) for d in board.defects]
    boxes = [(max(a, 0), min(b, n), lo, hi) for hole in holes for a, b, lo, hi in hole if b > 0 and a < n]
    boxes = [(a, b, lo, hi) for a, b, lo, hi in boxes if hi > floor[a:b].min() and lo < roof[a:b].max()]
    spots = [(max(h[0][0], 0), min(h[-1][1], n)) for h in holes]
    spots = [(a, b) for a, b in spots if a < b]
    boxes = [box for box in boxes if not _absorbed(box, floor, roof, grid.narrow)]
    here = np.array(boxes, dtype=np.float64).reshape(-1, 4)
    there = np.column_stack([n - here[:, 1], n - here[:, 0], span - here[:, 3], span - here[:, 2]])
    return Slab(
        number,
        (floor, span - roof[::-1]),
        (here, there),
        (tuple(spots), tuple((n - b, n - a) for a, b in spots)),
        start,
        2 * start + n * grid.step,
        span,
        grid.stride,
    )


def _absorbed(box: tuple[int, int, float, float], floor: Floats, roof: Floats, narrow: float) -> bool:
    """Take a box that leaves no way past on one side into the edge there; True when it needs no more looking at."""
    a, b, low, high = box
    if low - floor[a:b].min() < narrow:
        floor[a:b] = np.minimum(np.maximum(floor[a:b], high), np.maximum(roof[a:b], floor[a:b]))
        return True
    if roof[a:b].max() - high < narrow:
        roof[a:b] = np.maximum(np.minimum(roof[a:b], low), floor[a:b])
        return True
    return False


def columns_of(boards: Sequence[Board], step: float) -> int:
    """Columns the longest board needs, with room for rounding: the stride of every ladder."""
    longest = max((float(np.ptp(b.outline[:, 0])) for b in boards), default=0.0)
    return int(longest / step) + 64
