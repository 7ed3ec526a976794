"""Angles of diagonal planking, measured on the finished seams.

angle     between a seam and the keel, in the surface, where the seam leaves the keel
drift     change of that angle from course to course: planks of one width cannot keep it on a twisted bottom
crossing  angle at which the seams of two layers cross

Source: derived.
"""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np

from strakewright.arrays import Floats
from strakewright.geometry.crossings import along
from strakewright.shop.courses import Lined, Seam
from strakewright.shop.skins import Skin


def seams_of(lined: Lined) -> list[Seam]:
    """Every seam between two courses, once."""
    found = {id(s): s for c in lined.courses for s in (c.left, c.right) if s is not None}
    return list(found.values())


def keel_angles(lined: Lined) -> Floats:
    """(n, 2) x of the place and angle in degrees, for every seam that leaves the keel, aft to forward."""
    skin = lined.skin
    rows = []
    for seam in seams_of(lined):
        first = seam.crossings[0]
        if skin.border_at(first.around) == skin.lower:
            rows.append(_angle(skin, seam, first.along, first.around))
    return np.array(sorted(rows)).reshape(-1, 2)


def _angle(skin: Skin, seam: Seam, at: float, around: float) -> tuple[float, float]:
    ring = skin.ring()
    closed = np.concatenate([ring, ring[:2]])
    spot = along(closed, np.array([around]))
    keel = along(closed, np.array([min(around + 2.0, len(ring))])) - along(closed, np.array([max(around - 2.0, 0.0)]))
    r, r_p, r_q = skin.patch.jet1(spot)
    lines = [v[:, :1] * r_p + v[:, 1:] * r_q for v in (keel, seam.curve.tangent(np.array([at])))]
    a, b = (v[0] / np.linalg.norm(v[0]) for v in lines)
    return float(r[0, 0]), float(np.degrees(np.arccos(np.clip(abs(a @ b), 0.0, 1.0))))


def crossing_angles(one: Lined, other: Lined) -> Floats:
    """(n, 2) x and angle in degrees at points spread over the seams of one layer, against the nearest seam of the
    other.  Empty where either layer has no seams."""
    here, there = (_spread(seams_of(lined)) for lined in (one, other))
    if not len(here[0]) or not len(there[0]):
        return np.zeros((0, 2))
    gaps = np.linalg.norm(here[0][:, None] - there[0][None], axis=-1).argmin(axis=1)
    patch = one.skin.patch
    r, r_p, r_q = patch.jet1(here[0])
    a, b = (v[:, :1] * r_p + v[:, 1:] * r_q for v in (here[1], there[1][gaps]))
    cosine = (a * b).sum(-1) / np.linalg.norm(a, axis=-1) / np.linalg.norm(b, axis=-1)
    return np.stack([r[:, 0], np.degrees(np.arccos(np.clip(np.abs(cosine), 0.0, 1.0)))], axis=-1)


def _spread(seams: Iterable[Seam]) -> tuple[Floats, Floats]:
    """Chart points and directions along the part of each seam inside the panel."""
    spots, ways = [np.zeros((0, 2))], [np.zeros((0, 2))]
    for seam in seams:
        s = np.linspace(seam.crossings[0].along, seam.crossings[-1].along, 7)
        spots.append(seam.curve.at(s))
        ways.append(seam.curve.tangent(s))
    return np.concatenate(spots), np.concatenate(ways)
