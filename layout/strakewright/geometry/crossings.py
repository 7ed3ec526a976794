"""Where curves in a chart cross, and the regions they cut a ring into.

ring      closed border of a panel in its chart, counter-clockwise, as a fine polyline
seam      open curve that runs through the ring and past it at both ends
interval  stretch of a seam that lies inside the ring, from one crossing to the next
loop      closed walk round one region between two seams: pieces of seam and pieces of ring in turn

Source: derived (the usual walk round the cells of an arrangement of curves: at every crossing turn left).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
import shapely
from numpy.typing import NDArray

from strakewright.arrays import Floats, Ints
from strakewright.errors import DefectError

BUNDLE = 16  # segments of a seam that are looked up together


@dataclass(frozen=True)
class Crossing:
    """along : position on the seam, around : position on the ring (fractional point indices);
    entering : the seam goes into the ring here."""

    along: float
    around: float
    entering: bool


@dataclass(frozen=True)
class Piece:
    """Part of a loop: `source` "right" (the right-hand seam, walked forward), "left" (the left-hand seam,
    walked backward) or "ring" (counter-clockwise); from position `start` to `stop` on that curve.  A ring
    piece whose stop is not above its start wraps round the ring's first point."""

    source: Literal["right", "left", "ring"]
    start: float
    stop: float


class RingIndex:
    """A ring prepared for being crossed many times.  points : (n, 2), first point not repeated."""

    def __init__(self, points: Floats) -> None:
        self.points = points
        closed = np.concatenate([points, points[:1]])
        self._tree = shapely.STRtree(_segments(closed))

    def crossings(self, seam: Floats) -> list[Crossing]:
        """Every crossing of a seam, in order along it.  seam : (m, 2)."""
        starts = np.arange(0, len(seam) - 1, BUNDLE)
        bundles = seam[np.minimum(starts[:, None] + np.arange(BUNDLE + 1), len(seam) - 1)]
        bundle, near = self._tree.query(shapely.linestrings(bundles), predicate="intersects")
        if len(bundle) == 0:
            return []
        mine = (starts[bundle][:, None] + np.arange(BUNDLE)).reshape(-1)
        theirs = np.repeat(near, BUNDLE)[mine < len(seam) - 1]
        mine = mine[mine < len(seam) - 1]
        found = _meet(seam, self.points, mine, theirs)
        found.sort(key=lambda c: c.along)
        return _checked(found)


def curve_crossings(first: Floats, second: Floats) -> list[tuple[float, float]]:
    """Where two open polylines cross, as fractional indices on each.  (n, 2), (m, 2)."""
    mine, theirs = shapely.STRtree(_segments(second)).query(_segments(first), predicate="intersects")
    return [(c.along, c.around) for c in _meet(first, second, mine, theirs)]


def _segments(points: Floats) -> NDArray[np.object_]:
    return np.asarray(shapely.linestrings(np.stack([points[:-1], points[1:]], axis=1)), dtype=np.object_)


def _meet(seam: Floats, ring: Floats, mine: Ints, theirs: Ints) -> list[Crossing]:
    a, b = seam[mine], seam[mine + 1]
    c, d = ring[theirs], ring[(theirs + 1) % len(ring)]
    u, v, w = b - a, d - c, c - a
    across = u[:, 0] * v[:, 1] - u[:, 1] * v[:, 0]
    with np.errstate(divide="ignore", invalid="ignore"):
        f = (w[:, 0] * v[:, 1] - w[:, 1] * v[:, 0]) / across
        g = (w[:, 0] * u[:, 1] - w[:, 1] * u[:, 0]) / across
    near = 1e-9  # a crossing at a listed point is found on both its segments, and counted once by _checked
    keep = (f >= -near) & (f <= 1 + near) & (g >= -near) & (g <= 1 + near) & (across != 0)
    rows = zip(mine[keep], f[keep], theirs[keep], g[keep], across[keep], strict=True)
    return [Crossing(float(i + x), float(j + y), bool(k < 0)) for i, x, j, y, k in rows]


def _checked(found: list[Crossing]) -> list[Crossing]:
    """Entering and leaving must alternate; a touch (two crossings at one place) is dropped."""
    clean: list[Crossing] = []
    for crossing in found:
        twin = bool(clean) and clean[-1].entering == crossing.entering
        if twin and crossing.along - clean[-1].along < 1e-6:
            continue
        if twin:
            raise DefectError("a seam crosses the border twice in the same direction", where="lining off")
        clean.append(crossing)
    if len(clean) % 2 or (clean and not clean[0].entering):
        raise DefectError("a seam does not run past the border at both ends", where="lining off")
    return clean


def loops_between(right: list[Crossing], left: list[Crossing], ring_length: int) -> list[list[Piece]]:
    """The regions to the left of seam `right` and to the right of seam `left`.

    An empty list of crossings means that this seam is not there (the region runs to the border).
    ring_length : number of points of the ring;  returns one list of pieces per region, counter-clockwise
    """
    if not right and not left:
        return [[Piece("ring", 0.0, float(ring_length))]]
    intervals = [("right", a.along, b.along, a.around, b.around) for a, b in _pairs(right)]
    intervals += [("left", b.along, a.along, b.around, a.around) for a, b in _pairs(left)]
    begins = {i: row[3] for i, row in enumerate(intervals)}
    loops, unused = [], set(begins)
    while unused:
        loop, first = [], min(unused)
        here = first
        while True:
            unused.discard(here)
            source, start, stop, _, ends_at = intervals[here]
            loop.append(Piece(source, start, stop))  # type: ignore[arg-type]
            here, meets = _next_on_ring(ends_at, begins, ring_length)
            loop.append(Piece("ring", ends_at, meets))
            if here == first:
                break
            if here not in unused:
                raise DefectError("the walk round a plank does not close", where="lining off")
        loops.append(loop)
    return loops


def _pairs(crossings: list[Crossing]) -> list[tuple[Crossing, Crossing]]:
    return list(zip(crossings[::2], crossings[1::2], strict=True))


def _next_on_ring(position: float, begins: dict[int, float], n: int) -> tuple[int, float]:
    key = min(begins, key=lambda i: ((begins[i] - position) % n) or n)
    return key, begins[key]


def take(points: Floats, start: float, stop: float) -> Floats:
    """The stretch of an open polyline between two fractional indices, ends included.

    Runs backward when stop < start.
    """
    lo, hi = min(start, stop), max(start, stop)
    inner = np.arange(int(np.floor(lo)) + 1, int(np.ceil(hi)))
    index = np.concatenate([[lo], inner, [hi]])
    found = along(points, index)
    return found if stop >= start else found[::-1]


def along(points: Floats, index: Floats) -> Floats:
    """Points of a polyline at fractional indices (straight between points)."""
    base = np.clip(np.floor(index).astype(int), 0, len(points) - 2)
    part = (index - base)[:, None]
    return np.asarray(points[base] * (1 - part) + points[base + 1] * part)
