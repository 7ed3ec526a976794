"""Who may lie where, and whether it fits there at all.

need       the strip a part asks for: its least width at any turn within its skew, and its length there
worth      what opening a board costs for an objective
bulk       how thick a board is beside the others of its wood: a thick one has more board feet to the m2
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
from shapely.geometry import Polygon

from strakewright.arrays import Bools, Floats
from strakewright.lumber import OPENED, Board
from strakewright.nest.swift import Rack, Timber
from strakewright.nest.swiftly import fits
from strakewright.parts import Part

THIN = 1e-6
"""mm a part may be thicker than a board and still count as equal (rounding of inches)."""


def may_lie(parts: Sequence[Part], boards: Sequence[Board]) -> Bools:
    """(parts, boards): species agree and the board finishes at the part's thickness or above."""
    kinds = np.array([[p.species == b.species for b in boards] for p in parts], dtype=bool)
    thick = np.array([p.thickness for p in parts])[:, None] <= np.array([b.thickness for b in boards]) + THIN
    return kinds.reshape(len(parts), len(boards)) & thick


def bulk(boards: Sequence[Board]) -> Floats:
    """(boards,) rough thickness over the mean of the boards of that wood, by area: 1 for all where there is one
    thickness.  Leaves sawn already count with the thickness they came from, where it is known.

    >>> pair = [Board(str(t), [(0, 0), (1, 0), (1, 1), (0, 1)], t, "ash") for t in (10.0, 30.0)]
    >>> bulk(pair).tolist(), bulk(pair[:1]).tolist()
    ([0.5, 1.5], [1.0])
    """
    area = np.array([Polygon(b.outline).area for b in boards])
    thick = np.array([b.rough_thickness or b.thickness * b.leaves for b in boards])
    found = np.ones(len(boards))
    for species in {b.species for b in boards}:
        mine = np.array([b.species == species for b in boards])
        if float(np.ptp(thick[mine])) > THIN:
            found[mine] = thick[mine] / np.average(thick[mine], weights=area[mine])
    return found


def worths(boards: Sequence[Board], objective: str, thick: Floats | None = None) -> Floats:
    """Cost of each board: m2 (gross, net), 1 and a little by area (boards), or price (m2 where none is known).

    thick : (boards,) `bulk`, where area is to be weighed by it
    """
    area = np.array([Polygon(b.outline).area / 1e6 for b in boards]) * (1.0 if thick is None else thick)
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


def fits_somewhere(timber: Timber, part: int, racks: Sequence[Rack | None], may: Bools) -> bool:
    """Whether some board it may lie on has room for a part, when empty.  may : (parts, boards)"""
    return any(r is not None and may[part, b] and fits(timber, part, r) for b, r in enumerate(racks))


def skews_needed(
    timber: Timber, parts: Sequence[Part], racks: Sequence[Rack | None], may: Bools
) -> dict[int, list[float]]:
    """Skews to try for parts that fit no board square to the grain: the narrowest turn, the limits and half of them."""
    found: dict[int, list[float]] = {}
    for number, part in enumerate(parts):
        low, high = (float(v) for v in timber.window[number])
        if high > low and not fits_somewhere(timber, number, racks, may):
            turn = narrowest(part.outline, max(high, -low))[2]
            found[number] = sorted({turn, high, low, high / 2, low / 2} - {0.0})
    return found
