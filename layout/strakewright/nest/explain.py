"""Why a part lies on no board.

clear      straight strip free of edges and defects, margins taken off
need       the strip a part asks for: its least width at any turn within its skew, and its length there
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from strakewright.arrays import Floats
from strakewright.lumber import Rules
from strakewright.nest.bound import hull_of, side_angles
from strakewright.nest.choosing import heights, pool_of
from strakewright.nest.filling import lies_free, start
from strakewright.nest.job import Shed
from strakewright.nest.racks import Slab


def needed(outline: Floats, rules: Rules, limit_deg: float) -> tuple[float, float]:
    """Clear (width, length) in mm of board a part needs, edge margins included, at the turn that is narrowest.

    The least width lies at a limit or where a side of the hull lies along the grain (rotating calipers, textbook).
    """
    hull = hull_of(outline)
    flush = (-side_angles(hull) + 90.0) % 180.0 - 90.0
    angles = np.radians([0.0, -limit_deg, limit_deg, *flush[np.abs(flush) <= limit_deg]])
    width = np.ptp(np.outer(np.sin(angles), hull[:, 0]) + np.outer(np.cos(angles), hull[:, 1]), axis=1)
    length = np.ptp(np.outer(np.cos(angles), hull[:, 0]) - np.outer(np.sin(angles), hull[:, 1]), axis=1)
    best = int(np.argmin(width))
    return float(width[best]) + 2 * rules.edge_margin, float(length[best]) + 2 * rules.edge_margin


def fits(shed: Shed, part: int, slab: Slab) -> bool:
    """Whether a part, unskewed, fits an empty board anywhere."""
    pool = pool_of(shed.ways, [part], slab)
    if not len(pool.way):
        return False
    last = len(slab.floor) - shed.ways.columns[pool.way]
    at = np.minimum(np.arange(int(last.max()) + 1)[:, None], last)
    empty = start(slab)
    y = heights(empty, shed.ways, pool, at, 0)
    return any(
        lies_free(empty, shed.ways.ways[int(way)], int(at[e, k]), float(y[e, k]), 0)
        for e in range(len(at))
        for k, way in enumerate(pool.way)
    )


def explained(shed: Shed, left: Sequence[int]) -> dict[str, str]:
    """Part id -> why it was left over."""
    return {shed.parts[p].id: _why(shed, p) for p in left}


def _why(shed: Shed, number: int) -> str:
    """One part's reason."""
    part = shed.parts[number]
    allowed = np.flatnonzero(shed.may[number])
    if not len(allowed):
        return f"no board is {part.species} of {part.thickness:g} mm or more ({_of(len(shed.boards))} looked at)"
    limit = shed.rules.max_skew_deg if part.max_skew_deg is None else part.max_skew_deg
    width, length = needed(part.outline, shed.rules, limit)
    hosts = sum(1 for b in allowed if (s := shed.slabs[b]) is not None and fits(shed, number, s))
    ask = f"needs {np.ceil(width):.0f} mm clear over {np.ceil(length):.0f} mm"
    if hosts:
        return f"fits {hosts} of {_of(len(allowed))} alone, but they are full: {ask}"
    return f"fits none of {_of(len(allowed))}: {ask}"


def _of(count: int) -> str:
    """A number of boards in words."""
    return f"{count} board" if count == 1 else f"{count} boards"
