"""The water's own count: displacement and its centre found again by another road than the one that is judged.

column    of water over a piece of the hull's skin that faces down, less those over pieces that face up

Method (derived): volume = sum over the triangles of their area seen from above times their mean depth, each triangle
that the water cuts being clipped by hand; the centre from the columns' own centres.  Written apart from `geometry`.
"""

from __future__ import annotations

import numpy as np

from strakewright.arrays import Floats, Ints
from strakewright.errors import Check, at_most
from strakewright.floating import Afloat

BALANCE, STRAIGHT = 1e-4, 0.2  # share of the weight; mm that buoyancy may stand aside of it


def afloat_checks(vertices: Floats, triangles: Ints, lies: Afloat, name: str) -> tuple[Check, ...]:
    """She displaces what she weighs, and the buoyancy stands straight under the weight."""
    volume, centre = columns(vertices, triangles, np.asarray(lies.up), lies.level)
    displaced = volume * 1e-9 * lies.water
    lever = centre - np.asarray(lies.centre)
    aside = float(np.linalg.norm(lever - (lever @ lies.up) * np.asarray(lies.up)))
    return (
        at_most(f"displacement against weight, {name}", abs(displaced / lies.weight - 1.0), BALANCE, "share"),
        at_most(f"buoyancy aside of the weight, {name}", aside, STRAIGHT, "mm"),
    )


def columns(vertices: Floats, triangles: Ints, up: Floats, level: float) -> tuple[float, Floats]:
    """Volume below the water and its centre (3,) in the boat's axes."""
    depth = level - vertices @ up
    sides = depth[triangles] > 0.0
    whole = triangles[sides.all(axis=1)]
    cut = triangles[sides.any(axis=1) & ~sides.all(axis=1)]
    corners = [vertices[whole]]
    depths = [depth[whole]]
    for triangle in cut:
        ring, deep = _clipped(vertices[triangle], depth[triangle])
        for k in range(1, len(ring) - 1):
            corners.append(ring[None, [0, k, k + 1]])
            depths.append(deep[None, [0, k, k + 1]])
    p, d = np.concatenate(corners), np.concatenate(depths)
    seen = -np.einsum("ij,j->i", np.cross(p[:, 1] - p[:, 0], p[:, 2] - p[:, 0]), up) / 2
    volumes = seen * d.mean(axis=1)
    # a column's mass lies over its triangle weighed by depth, half way down: both are quadratic, exact by products
    place = np.einsum("i,ijk,ij->k", seen, p, d) + np.einsum("i,ik,i->k", seen, p.sum(axis=1), d.sum(axis=1))
    rise = (seen * ((d**2).sum(axis=1) + d.sum(axis=1) ** 2)).sum() / 2
    total = float(volumes.sum())
    return total, np.asarray((place + rise * up) / 12 / total)


def _clipped(corners: Floats, depth: Floats) -> tuple[Floats, Floats]:
    """The part of a triangle under water: (k, 3) corners in order and their depths."""
    ring, deep = [], []
    for i in range(3):
        j = (i + 1) % 3
        if depth[i] > 0.0:
            ring.append(corners[i])
            deep.append(depth[i])
        if (depth[i] > 0.0) != (depth[j] > 0.0):
            share = depth[i] / (depth[i] - depth[j])
            ring.append(corners[i] + share * (corners[j] - corners[i]))
            deep.append(0.0)
    return np.array(ring), np.array(deep)
