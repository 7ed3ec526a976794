"""How far a part may be turned on a board: its skew limit, and its own curve against the grain.

middle line  half way between the two long edges;  the slanted ends of a part do not count
run-out      slope of the middle line to the grain, part turned and all
window       least and greatest turn of a part's axis, degrees, as it is drawn (mirrored when it is turned over)

Method: derived.  The middle line is taken every 25 mm or an eighth of the length and sloped over twice that, so that
rounding of an outline to 0.001 mm does not count.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from strakewright.arrays import Floats
from strakewright.lumber import Rules
from strakewright.parts import Part

STATION = 25.0
STEEP = math.tan(math.radians(30.0))
"""An edge steeper than this is an end."""


def middle_slopes(outline: Floats) -> Floats:
    """(k,) degrees of the middle line, aft to forward; none for a piece too short or too odd to have one.

    >>> middle_slopes(np.array([[0.0, 0.0], [800.0, 0.0], [800.0, 100.0], [0.0, 100.0]])).max().item()
    0.0
    """
    ring = np.concatenate([outline, outline[:1]])
    a, b = ring[:-1], ring[1:]
    length = float(np.ptp(outline[:, 0]))
    step = min(STATION, length / 8)
    at = np.arange(float(outline[:, 0].min()) + step / 2, float(outline[:, 0].max()), step)
    low, high = np.minimum(a[:, 0], b[:, 0]), np.maximum(a[:, 0], b[:, 0])
    over = (low <= at[:, None]) & (at[:, None] < high)
    run = np.where(b[:, 0] == a[:, 0], 1.0, b[:, 0] - a[:, 0])
    slope = (b[:, 1] - a[:, 1]) / run
    y = a[:, 1] + (at[:, None] - a[:, 0]) * slope
    under, above = np.where(over, y, np.inf).argmin(axis=1), np.where(over, y, -np.inf).argmax(axis=1)
    rows = np.arange(len(at))
    sound = over.any(axis=1) & (np.abs(slope[under]) < STEEP) & (np.abs(slope[above]) < STEEP)
    middle = (y[rows, under] + y[rows, above]) / 2
    both = sound[2:] & sound[1:-1] & sound[:-2]
    return np.asarray(np.degrees(np.arctan((middle[2:] - middle[:-2])[both] / (2 * step))))


def window(part: Part, rules: Rules) -> tuple[float, float]:
    """Least and greatest turn allowed; least > greatest when the part's own curve passes the run-out."""
    limit = rules.max_skew_deg if part.max_skew_deg is None else part.max_skew_deg
    if rules.run_out is None:
        return -limit, limit
    most = math.degrees(math.atan(1.0 / rules.run_out))
    slopes = middle_slopes(part.outline)
    low, high = (float(slopes.min()), float(slopes.max())) if len(slopes) else (0.0, 0.0)
    return max(-limit, -most - low), min(limit, most - high)


def windows(parts: Sequence[Part], rules: Rules) -> Floats:
    """(parts, 2) the windows of all parts."""
    return np.array([window(p, rules) for p in parts], dtype=np.float64).reshape(-1, 2)
