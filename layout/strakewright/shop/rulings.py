"""Straight lines that lie in a single-curved panel.

ruling    straight line on the surface along which it does not bend; straight in the flat too

Rulings run along the direction of least curvature of the smooth surface at corners along the panel.
"""

from __future__ import annotations

import numpy as np

from strakewright.arrays import Floats, Ints
from strakewright.geometry.arcs import Smooth
from strakewright.geometry.outlines import clip_lines

_APART = 250.0  # mm between rulings
_STRAIGHT = 1e-5  # 1/mm: a surface of 100 m radius has no rulings worth drawing
_SURE = 0.5  # trust
_TWIST = 0.02  # of the greatest curvature: the least may be so large on a ruling


def rulings_of(flat: Floats, vertices: Floats, triangles: Ints, smooth: Smooth, outline: Floats) -> tuple[Floats, ...]:
    """(2, 2) mm ends in the flat of rulings about `_APART` apart; none where the panel is flat or curved both ways."""
    bend, along = smooth.principal()
    most, least = np.abs(bend).T
    single = (smooth.trust > _SURE) & (most > _STRAIGHT) & (least < _TWIST * most)
    if np.mean(single) < 0.5:
        return ()
    seeds = _seeds(flat, np.flatnonzero(single))
    found = []
    for corner in seeds:
        way = _in_flat(corner, flat, vertices, triangles, along[corner])
        reach = float(np.ptp(flat, axis=0).sum())
        line = np.stack([flat[corner] - reach * way, flat[corner] + reach * way])
        pieces = clip_lines(line, outline)
        found += [piece[[0, -1]] for piece in pieces if _holds(piece, flat[corner])]
    return tuple(found)


def _seeds(flat: Floats, some: Ints) -> list[int]:
    """Corners along the panel's middle, evenly along its length."""
    low, high = flat[some].min(axis=0), flat[some].max(axis=0)
    count = max(2, int((high[0] - low[0]) / _APART))
    seeds = []
    for x in np.linspace(low[0], high[0], count + 2)[1:-1]:
        near = some[np.abs(flat[some, 0] - x) < _APART / 2]
        if len(near):
            middle = np.array([x, (flat[near, 1].min() + flat[near, 1].max()) / 2])
            seeds.append(int(near[np.argmin(np.linalg.norm(flat[near] - middle, axis=1))]))
    return seeds


def _in_flat(corner: int, flat: Floats, vertices: Floats, triangles: Ints, way: Floats) -> Floats:
    """(2,) unit: a direction in space as it runs in the flat, by the triangles about the corner."""
    about = triangles[(triangles == corner).any(axis=1)]
    total = np.zeros(2)
    for a, b, c in about:
        sides = np.stack([vertices[b] - vertices[a], vertices[c] - vertices[a]], axis=1)
        share = np.linalg.lstsq(sides, way, rcond=None)[0]
        total += np.stack([flat[b] - flat[a], flat[c] - flat[a]], axis=1) @ share
    return np.asarray(total / max(float(np.hypot(total[0], total[1])), 1e-12))


def _holds(piece: Floats, spot: Floats) -> bool:
    """True for the piece of a clipped line on which the spot lies."""
    start, stop = piece[0], piece[-1]
    way = stop - start
    share = float((spot - start) @ way) / max(float(way @ way), 1e-12)
    return -1e-6 <= share <= 1 + 1e-6
