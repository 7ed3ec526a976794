"""Lines in space looked up on a patch.

seat      the foot of each point on the patch
face      what ends a hull: the centreline plane or one beside it, a transom flat or curved in plan; f(r) = 0 on it
onto      the places of the patch that lie on a face, by the shortest way in space
"""

from __future__ import annotations

from collections.abc import Callable
from typing import TypeAlias

import numpy as np

from strakewright.arrays import Floats
from strakewright.geometry.surface import Patch, foot_points

Face: TypeAlias = Callable[[Floats], tuple[Floats, Floats]]
"""(n, 3) points -> (n,) signed distance, roughly in mm, + outside the boat, and (n, 3) its gradient"""


def beside_centre(half_siding: float) -> Face:
    """The plane y = half_siding; outside is towards the centreline."""

    def face(r: Floats) -> tuple[Floats, Floats]:
        return half_siding - r[..., 1], np.broadcast_to(np.array([0.0, -1.0, 0.0]), r.shape)

    return face


def transom_face(way: float, at: float, lean: float, radius: float | None) -> Face:
    """A transom: x = at + lean z + (y bulge).  way : -1 aft, +1 forward;  radius : mm in plan, None = flat

    The middle of a curved one stands out towards `way`.
    """

    def face(r: Floats) -> tuple[Floats, Floats]:
        y = r[..., 1]
        if radius is None:
            bulge, slope = np.zeros_like(y), np.zeros_like(y)
        else:
            held = np.clip(y, -0.95 * radius, 0.95 * radius)
            root = np.sqrt(radius**2 - held**2)
            bulge, slope = radius - root, held / root
        value = way * (r[..., 0] - at - lean * r[..., 2]) + bulge
        return value, np.stack([np.full_like(y, way), slope, np.full_like(y, -way * lean)], axis=-1)

    return face


def onto(patch: Patch, pq: Floats, face: Face, rounds: int = 12) -> Floats:
    """(n, 2) chart points moved the shortest way in space until they lie on the face."""
    for _ in range(rounds):
        r, r_p, r_q = patch.jet1(pq)
        value, gradient = face(r)
        g_p, g_q = (gradient * r_p).sum(axis=-1), (gradient * r_q).sum(axis=-1)
        # the shortest way in space: step = G^-1 grad lambda with G the first form
        e, f, g = ((a * b).sum(axis=-1) for a, b in ((r_p, r_p), (r_p, r_q), (r_q, r_q)))
        det = e * g - f * f
        way = np.stack([g * g_p - f * g_q, e * g_q - f * g_p], axis=1) / det[:, None]
        slope = g_p * way[:, 0] + g_q * way[:, 1]
        step = (value / np.maximum(slope, 1e-12))[:, None] * way
        pq = pq - step
        if np.abs(step).max(initial=0.0) < 1e-10:
            break
    return pq


def seat(patch: Patch, start: Floats, points: Floats, centreline: bool) -> Floats:
    """(n, 2) feet of points; on the centreline, the places in y = 0 nearest to them."""
    pq = foot_points(patch, points, start)
    return onto(patch, pq, beside_centre(0.0), 8) if centreline else pq
