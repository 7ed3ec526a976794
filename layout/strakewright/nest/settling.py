"""Moving a piece a little once it is chosen: along the grain by columns, and askew.

swallow    wood a piece takes up: all between the ground under it and its top
hollow     wood lost under a piece
"""

from __future__ import annotations

import numpy as np

from strakewright.nest.filling import Filling, Laid, lies_free, resting
from strakewright.nest.ways import Ways, may_turn, skew

NUDGE = 4
"""Columns a piece is moved to either side to find where it lies best."""
SKEWS = (-1.0, 1.0, -2.0, 2.0, -3.0, 3.0)
"""Degrees tried where a piece would lie hollow."""
HOLLOW = 0.03
"""Share of a piece's area wasted under it from which skews are tried."""


def settled_in(filling: Filling, ways: Ways, laid: Laid, rightwards: bool, tucked: bool) -> Laid:
    """The same piece skewed a little and moved a few columns, where that swallows less wood."""
    base = ways.ways[laid.way]
    ground = filling.settled[laid.side]
    m = len(base.top)
    swallowed = laid.y * m - float(ground[laid.at : laid.at + m].sum())
    hollow = swallowed + float(ways.sum_bottom[laid.way])
    if hollow * ways.step > HOLLOW * float(ways.area[laid.way]):
        laid = _skewed(filling, ways, laid, rightwards, swallowed + float(ways.sum_top[laid.way]))
    return _nudged(filling, ways, laid, rightwards) if tucked or laid.skew else laid


def _skewed(filling: Filling, ways: Ways, laid: Laid, rightwards: bool, swallowed: float) -> Laid:
    """The skew at which a piece, its wall end staying, swallows least (mm x columns)."""
    base, window = ways.ways[laid.way], ways.window[ways.part[laid.way]]
    ground, surface = filling.settled[laid.side], filling.surface[laid.side]
    best, m = laid, int(ways.columns[laid.way])
    for deg in SKEWS:
        if not may_turn(window, base.turn_deg + deg, base.flip):
            continue
        way = skew(ways, laid.way, deg)
        end = len(way.top)
        at = laid.at + (m - end if rightwards else 0)
        if at < 0 or at + end > len(ground):
            continue
        y = float((surface[at : at + end] - way.bottom).max())
        loss = y * end + float(way.top.sum()) - float(ground[at : at + end].sum())
        if loss < swallowed and lies_free(filling, way, at, y, laid.side):
            best, swallowed = Laid(laid.way, at, y, deg, laid.side), loss
    return best


def _nudged(filling: Filling, ways: Ways, laid: Laid, rightwards: bool) -> Laid:
    """A few columns to either side: lower is better, and so is closer to the wall."""
    way, n = skew(ways, laid.way, laid.skew), len(filling.surface[0])
    m = len(way.top)
    first, last = max(laid.at - NUDGE, 0), min(laid.at + NUDGE, n - m)
    y = resting(filling, way, first, last - first + 1, laid.side)
    at = np.arange(first, last + 1)
    loss = y * m + (laid.at - at if rightwards else at - laid.at) * float(ways.thick[laid.way])
    for i in np.argsort(loss, kind="stable")[:4]:
        if lies_free(filling, way, int(at[i]), float(y[i]), laid.side):
            return Laid(laid.way, int(at[i]), float(y[i]), laid.skew, laid.side)
    return laid
