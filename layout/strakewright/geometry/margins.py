"""A ring whose stretches move by different amounts: from the net plank to its faces and to the line to cut.

stretch   part of a ring between two corners, walked counter-clockwise
shift     how far each of its points moves outward, square to it (mm, negative inward)

Source: derived.  Neighbouring stretches are mitred (run on to where they cross); two stretches of one line with
different shifts meet in a square step.
"""

from __future__ import annotations

import math

import numpy as np
import shapely

from strakewright.arrays import Floats
from strakewright.errors import UnworkableError
from strakewright.geometry import quickrings
from strakewright.geometry.crossings import curve_crossings, take

STILL = 1e-9
BESIDE = 9  # segments of a stretch beside a corner: where two moved ones nearly always cross


def outward(points: Floats) -> Floats:
    """(n, 2) unit directions out of a counter-clockwise ring, square to a stretch of it.

    >>> outward(np.array([[0.0, 0.0], [2.0, 0.0]])).tolist()
    [[0.0, -1.0], [0.0, -1.0]]
    """
    steps = np.diff(points, axis=0)
    lengths = np.linalg.norm(steps, axis=-1, keepdims=True)
    ways = steps / np.where(lengths > 0, lengths, 1.0)
    weights = 1.0 / np.where(lengths > 0, lengths, 1e-12)
    tangent = np.empty_like(points)
    tangent[0], tangent[-1] = ways[0], ways[-1]
    if len(points) > 2:  # second-order slope for uneven steps, run on to the ends
        inner = ways[:-1] * weights[:-1] + ways[1:] * weights[1:]
        size = np.linalg.norm(inner, axis=-1, keepdims=True)
        turned = size < 1e-12  # a stretch that doubles back on itself has no slope of its own there
        tangent[1:-1] = np.where(turned, ways[1:], inner / np.where(turned, 1.0, size))
        tangent[0] = 2 * ways[0] - tangent[1]
        tangent[-1] = 2 * ways[-1] - tangent[-2]
    tangent /= np.linalg.norm(tangent, axis=-1, keepdims=True)
    return np.stack([tangent[:, 1], -tangent[:, 0]], axis=-1) + 0.0


def shifted_ring(stretches: list[Floats], shifts: list[Floats], ways: list[Floats] | None = None) -> Floats:
    """The ring whose stretches have moved.

    stretches : (n_i, 2) in ring order, each ending where the next begins;  shifts : (n_i,) mm outward
    ways : `outward` of each stretch, where it is known already
    returns (m, 2), first point not repeated; where a shift swallows a short stretch the
    largest simple part is returned;  raises UnworkableError when nothing is left
    """
    ways = [outward(p) for p in stretches] if ways is None else ways
    moved = [p + d[:, None] * way for p, d, way in zip(stretches, shifts, ways, strict=True)]
    count = len(moved)
    starts, stops = [0.0] * count, [float(len(m) - 1) for m in moved]
    joins: list[Floats] = []
    for i in range(count):
        j = (i + 1) % count
        still = abs(shifts[i][-1]) < STILL and abs(shifts[j][0]) < STILL
        found = None if still or count == 1 else _mitre(moved[i], moved[j], shifts[i][-1], shifts[j][0])
        if found is None:
            joins.append(moved[i][-1:] if still else np.stack([moved[i][-1], moved[j][0]]))
            continue
        point, at_i, at_j = found
        stops[i] = min(stops[i], at_i)
        starts[j] = max(starts[j], at_j)
        joins.append(point[None])
    parts = []
    for i in range(count):
        if stops[i] > starts[i]:
            parts.append(moved[i][int(np.floor(starts[i])) + 1 : int(np.ceil(stops[i]))])
        parts.append(joins[i])
    ring = np.concatenate(parts)
    gaps = np.linalg.norm(ring - np.roll(ring, 1, axis=0), axis=-1)
    return _uncrossed(ring[gaps > 1e-6])


def _uncrossed(ring: Floats) -> Floats:
    """The ring itself, or its largest simple part where a swallowed stretch has made it cross itself."""
    shape = shapely.Polygon(ring)
    if shape.is_valid:
        return ring
    parts = [g for g in shapely.get_parts(shapely.make_valid(shape)) if g.geom_type == "Polygon"]
    if not parts:
        raise UnworkableError("a plank is too small to be cut", fix="Use wider planks or thinner stock")
    largest = max(parts, key=lambda g: float(g.area))
    return np.asarray(shapely.get_coordinates(shapely.orient_polygons(largest).exterior)[:-1])


def _mitre(a: Floats, b: Floats, da: float, db: float) -> tuple[Floats, float, float] | None:
    """Where the end of stretch a, run on, crosses the start of stretch b, run on; with indices clamped to
    the stretches.  None when they run side by side (a step)."""
    length = 12.0 * (abs(da) + abs(db)) + 5.0
    ends = np.stack([a[-1] + length * _unit(a[-1] - a[-2]), b[0] - length * _unit(b[1] - b[0])])
    out = np.empty(4)
    if quickrings.met(a, b, ends, BESIDE, out):
        return out[2:], min(float(out[0]), len(a) - 1.0), max(float(out[1]), 0.0)
    run_a, run_b = np.concatenate([a, ends[:1]]), np.concatenate([ends[1:], b])
    found = curve_crossings(run_a, run_b)
    if not found:
        return None
    at_a, at_b = min(found, key=lambda c: abs(c[0] - len(a) + 1.0) + abs(c[1] - 1.0))
    point = take(run_a, at_a, at_a + 1e-12)[0]
    return point, min(at_a, len(a) - 1.0), max(at_b - 1.0, 0.0)


def _unit(v: Floats) -> Floats:
    return np.asarray(v / max(math.hypot(v[0], v[1]), 1e-12))
