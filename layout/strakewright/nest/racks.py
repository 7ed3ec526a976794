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
from shapely.geometry import Polygon, box
from shapely.geometry.base import BaseGeometry

from strakewright.arrays import Floats
from strakewright.lumber import TAKES, Board, Defect, Rules
from strakewright.nest.ways import KINDS, ROUND, crossings, profile

BOX = 32
"""Columns one box of a defect covers at most."""
GAP = 2
"""Columns between two leaves."""


@dataclass(frozen=True, eq=False)
class Slab:
    """One board; every pair holds the board as it lies and turned half round.

    floor : (n,) mm;  boxes : (j, 5) first column, end column, low, high, qualities that pass (bits, see `ways.KINDS`)
    spots : first and end column of each defect;  pitch : columns from leaf to leaf, 0 = not resawn
    corner : board x of column 0;  reach : x + x' of the two views;  span : y + y', so roof = span - other floor
    """

    board: int
    floor: tuple[Floats, Floats]
    boxes: tuple[Floats, Floats]
    spots: tuple[tuple[tuple[int, int], ...], tuple[tuple[int, int], ...]]
    corner: float
    reach: float
    span: float
    pitch: int = 0


def usable(board: Board, rules: Rules) -> Polygon:
    """Where grown parts may lie as far as the board's edges and the planer go; the largest piece if the margin parts
    it, none of a board too short for the planer."""
    whole = Polygon(board.outline)
    by = rules.spacing / 2 - rules.edge_margin
    region = whole.buffer(by, join_style="mitre")
    if by > 0 and not _sound(region, whole, rules):
        region = whole
    x0, y0, x1, y1 = whole.bounds
    rules = rules.for_planing(board)
    if rules.planer_min is not None and x1 - x0 < rules.planer_min:
        return Polygon()
    if rules.snipe:
        inside = rules.snipe - rules.spacing / 2
        region = region.intersection(box(x0 + inside, y0 - rules.spacing, x1 - inside, y1 + rules.spacing))
    pieces = [g for g in getattr(region, "geoms", [region]) if isinstance(g, Polygon) and g.area > 0]
    return max(pieces, key=lambda g: float(g.area), default=Polygon())


def _sound(region: BaseGeometry, whole: Polygon, rules: Rules) -> bool:
    """Whether every part whose grown shape lies in `region` keeps the edge margin."""
    inner = region.buffer(-rules.spacing / 2, quad_segs=ROUND)
    return bool(whole.buffer(-rules.edge_margin + 0.02, quad_segs=ROUND).covers(inner))


def blocked(defect: Defect, rules: Rules, origin: float, step: float) -> list[tuple[int, int, float, float]]:
    """A defect, grown by its margin less the half spacing parts carry, as boxes of (first, end, low, high)."""
    by = max(rules.keep_off(defect.kind) - rules.spacing / 2, 0.0)
    shape = Polygon(defect.outline).buffer(by + 1e-6, quad_segs=ROUND)
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
    """step : column length, mm;  narrow : mm that no part can pass through."""

    step: float
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
    holes = [(blocked(d, rules, start, grid.step), passing(d)) for d in board.defects]
    boxes = [(max(a, 0), min(b, n), lo, hi, q) for hole, q in holes for a, b, lo, hi in hole if b > 0 and a < n]
    boxes = [box for box in boxes if box[3] > floor[box[0] : box[1]].min() and box[2] < roof[box[0] : box[1]].max()]
    spots = [(max(h[0][0], 0), min(h[-1][1], n)) for h, _ in holes]
    spots = [(a, b) for a, b in spots if a < b]
    boxes = [box for box in boxes if box[4] or not _absorbed(box[:4], floor, roof, grid.narrow)]
    here = np.array(boxes, dtype=np.float64).reshape(-1, 5)
    there = np.column_stack([n - here[:, 1], n - here[:, 0], span - here[:, 3], span - here[:, 2], here[:, 4]])
    return Slab(
        number,
        (floor, span - roof[::-1]),
        (here, there),
        (tuple(spots), tuple((n - b, n - a) for a, b in spots)),
        start,
        2 * start + n * grid.step,
        span,
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


def passing(defect: Defect) -> int:
    """Bits of the classes of quality that may hold a defect."""
    size = float(np.ptp(defect.outline, axis=0).max())
    return sum(1 << k for name, k in KINDS.items() if size <= TAKES[name].get(defect.kind, 0.0))


def leaved(slab: Slab | None, leaves: int, step: float) -> Slab | None:
    """A board resawn: its leaves end to end with a gap between, so that one filling serves them all."""
    if slab is None or leaves == 1:
        return slab
    n = len(slab.floor[0])
    pitch, whole = n + GAP, leaves * (n + GAP) - GAP
    wall = np.full(GAP, slab.span / 2)
    floors = [np.concatenate([*[f, wall] * (leaves - 1), f]) for f in slab.floor]
    at = [k * pitch for k in range(leaves)]
    boxes = [np.concatenate([b + np.array([a, a, 0.0, 0.0, 0.0]) for a in at]) for b in slab.boxes]
    gaps = [(a - GAP, a) for a in at[1:]]
    spots = [(*((a + i, a + j) for a in at for i, j in s), *gaps) for s in slab.spots]
    reach = slab.reach + (whole - n) * step
    pairs = (floors[0], floors[1]), (boxes[0], boxes[1]), (spots[0], spots[1])
    return Slab(slab.board, *pairs, slab.corner, reach, slab.span, pitch)


def columns_of(boards: Sequence[tuple[Board, int]], step: float) -> int:
    """Columns the longest board needs, all leaves end to end, with room for rounding."""
    longest = max((float(np.ptp(b.outline[:, 0])) * leaves for b, leaves in boards), default=0.0)
    return int(longest / step) + 64
