"""Who may lie where, and whether it fits there at all.

need       the strip a part asks for: its least width at any turn within its skew, and its length there
worth      what opening a board costs for an objective
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
from shapely.geometry import Polygon

from strakewright.arrays import Bools, Floats
from strakewright.lumber import OPENED, Board
from strakewright.nest.choosing import heights, pool_of
from strakewright.nest.filling import lies_free, start
from strakewright.nest.racks import Slab
from strakewright.nest.ways import Ways
from strakewright.parts import Part

THIN = 1e-6
"""mm a part may be thicker than a board and still count as equal (rounding of inches)."""


def may_lie(parts: Sequence[Part], boards: Sequence[Board]) -> Bools:
    """(parts, boards): species agree and the board finishes at the part's thickness or above."""
    kinds = np.array([[p.species == b.species for b in boards] for p in parts], dtype=bool)
    thick = np.array([p.thickness for p in parts])[:, None] <= np.array([b.thickness for b in boards]) + THIN
    return kinds.reshape(len(parts), len(boards)) & thick


def worths(boards: Sequence[Board], objective: str) -> Floats:
    """Cost of each board: m2 (gross, net), 1 and a little by area (boards), or price (m2 where none is known)."""
    area = np.array([Polygon(b.outline).area / 1e6 for b in boards])
    if objective == "boards":
        return (1.0 + area * 1e-3) * spent(boards)
    if objective == "price":
        known = [b.price / a for b, a in zip(boards, area, strict=True) if b.price is not None]
        rate = float(np.median(known)) if known else 1.0
        price = np.array([a * rate if b.price is None else b.price for b, a in zip(boards, area, strict=True)])
        return price * spent(boards)
    return area * spent(boards)


def spent(boards: Sequence[Board]) -> Floats:
    """(boards,) 1, next to nothing for boards that are cut into already: their wood is paid for."""
    return np.array([0.01 if b.state in OPENED else 1.0 for b in boards])


def hull_of(outline: Floats) -> Floats:
    """Corners of the convex hull, first repeated.  outline : (n, 2);  returns (m, 2)."""
    return np.asarray(shapely.get_coordinates(shapely.convex_hull(Polygon(outline))))


def side_angles(hull: Floats) -> Floats:
    """Direction of each side of a closed ring in degrees."""
    step = np.diff(hull, axis=0)
    return np.asarray(np.degrees(np.arctan2(step[:, 1], step[:, 0])))


def narrowest(outline: Floats, limit_deg: float) -> tuple[float, float, float]:
    """Width and length in mm of a part at the turn within its limit that makes it narrowest, and that turn (deg).

    The least width lies at a limit or where a side of the hull lies along the grain (rotating calipers, textbook).
    """
    hull = hull_of(outline)
    flush = (-side_angles(hull) + 90.0) % 180.0 - 90.0
    angles = np.radians([0.0, -limit_deg, limit_deg, *flush[np.abs(flush) <= limit_deg]])
    width = np.ptp(np.outer(np.sin(angles), hull[:, 0]) + np.outer(np.cos(angles), hull[:, 1]), axis=1)
    length = np.ptp(np.outer(np.cos(angles), hull[:, 0]) - np.outer(np.sin(angles), hull[:, 1]), axis=1)
    best = int(np.argmin(width))
    return float(width[best]), float(length[best]), float(np.degrees(angles[best]))


def fits(ways: Ways, part: int, slab: Slab) -> bool:
    """Whether a part, in any of its ways, fits an empty board anywhere."""
    pool = pool_of(ways, [part], slab)
    if not len(pool.way):
        return False
    last = len(slab.floor[0]) - ways.columns[pool.way]
    at = np.minimum(np.arange(int(last.max()) + 1)[:, None], last)
    empty = start(slab)
    y = heights(empty, ways, pool, at, 0)
    low = y + ways.girth[pool.way] <= float((slab.span - slab.floor[1]).max()) + 1e-6
    return any(
        lies_free(empty, ways.ways[int(pool.way[k])], int(at[e, k]), float(y[e, k]), 0) for e, k in np.argwhere(low)
    )


def fits_somewhere(ways: Ways, part: int, slabs: Sequence[Slab | None], may: Bools) -> bool:
    """Whether some board it may lie on has room for a part, when empty."""
    return any(s is not None and may[part, s.board] and fits(ways, part, s) for s in slabs)


def skews_needed(ways: Ways, parts: Sequence[Part], slabs: Sequence[Slab | None], may: Bools) -> dict[int, list[float]]:
    """Skews to try for parts that fit no board square to the grain: the narrowest turn, the limits and half of them."""
    found: dict[int, list[float]] = {}
    racked = sorted((s for s in slabs if s is not None), key=lambda s: -float((s.span - s.floor[1] - s.floor[0]).sum()))
    for number, part in enumerate(parts):
        low, high = (float(v) for v in ways.window[number])
        if high > low and not fits_somewhere(ways, number, racked, may):
            turn = narrowest(part.outline, max(high, -low))[2]
            found[number] = sorted({turn, high, low, high / 2, low / 2} - {0.0})
    return found
