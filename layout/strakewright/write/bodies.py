"""Planks as solid bodies in space, for looking at.

mid-face  the plank's surface half way through its thickness, triangulated in the flat between its margins

Seam points are known in space and in the flat, so the flat ring is triangulated (constrained Delaunay) and each
point goes to its place in space; the faces lie half the thickness to either side (derived).  Edges are shown
square: bevels are in planks.json, not here.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping

import numpy as np
import shapely

from strakewright.arrays import Floats, Ints
from strakewright.parts import Margin, Plank
from strakewright.solids import Body

STEP = 160.0  # mm between points along a seam, for looking at


def bodies_of(planks: Iterable[Plank], boards: Mapping[str, str]) -> tuple[Body, ...]:
    """A body for every plank.  boards : plank id -> board it is cut from."""
    return tuple(body_of(plank, boards.get(plank.id, "none")) for plank in planks)


def body_of(plank: Plank, board: str = "none") -> Body:
    """One plank at its net thickness."""
    flat, space = ring_in_space(plank)
    triangles = _triangulated(flat)
    lift = plank.thickness / 2 * _normals(space, triangles)
    n = len(flat)
    rim = np.arange(n)
    after = np.roll(rim, -1)
    walls = np.concatenate([np.column_stack([rim, after, after + n]), np.column_stack([rim, after + n, rim + n])])
    faces = np.concatenate([triangles[:, ::-1], triangles + n, walls])
    return Body(plank.id, np.concatenate([space - lift, space + lift]), faces, _info(plank, board))


def _info(plank: Plank, board: str) -> dict[str, str]:
    long, wide = np.ptp(plank.outline, axis=0)
    fit = plank.fit
    return {
        "piece": "plank",
        "side": plank.side,
        "panel": plank.panel,
        "layer": str(plank.layer),
        "course": str(plank.course),
        "verdict": fit.verdict,
        "reason": fit.reason,
        "board": board,
        "size": f"{long:.0f} x {wide:.0f} x {plank.thickness:g} mm",
        "bend": "straight" if fit.bend_radius_min is None else f"R {fit.bend_radius_min / 1000:.2f} m",
        "twist": f"{np.rad2deg(fit.twist_max) * 1000:.1f} deg/m",
    }


def ring_in_space(plank: Plank) -> tuple[Floats, Floats]:
    """The ring of a plank's margins, thinned: (n, 2) in the flat, counter-clockwise, and (n, 3) in space.

    The margins are chained by their ends in the flat, whatever their order and direction.
    """
    rims = [_thinned(margin) for margin in (plank.first, plank.second, *plank.ends)]
    chain_flat, chain_space = [rims[0][0]], [rims[0][1]]
    left = rims[1:]
    while left:
        tip = chain_flat[-1][-1]
        gaps = [(float(np.hypot(*(flat[end] - tip))), i, end) for i, (flat, _) in enumerate(left) for end in (0, -1)]
        _, i, end = min(gaps)
        flat, space = left.pop(i)
        chain_flat.append(flat if end == 0 else flat[::-1])
        chain_space.append(space if end == 0 else space[::-1])
    flat, space = np.concatenate(chain_flat), np.concatenate(chain_space)
    apart = np.linalg.norm(flat - np.roll(flat, 1, axis=0), axis=1) > 0.01
    flat, space = flat[apart], space[apart]
    x, y = flat.T
    clockwise = float(x @ np.roll(y, -1) - np.roll(x, -1) @ y) < 0
    return (flat[::-1], space[::-1]) if clockwise else (flat, space)


def _thinned(margin: Margin) -> tuple[Floats, Floats]:
    run = float(np.linalg.norm(np.diff(margin.flat, axis=0), axis=1).sum())
    count = min(len(margin.flat), max(2, int(run / STEP) + 2))
    keep = np.unique(np.round(np.linspace(0, len(margin.flat) - 1, count)).astype(int))
    return margin.flat[keep], margin.seam[keep]


def _triangulated(flat: Floats) -> Ints:
    """(m, 3) triangles of a ring between its own points, counter-clockwise in the flat."""
    pieces = shapely.constrained_delaunay_triangles(shapely.Polygon(flat))
    corners = np.array([shapely.get_coordinates(piece)[:3] for piece in shapely.get_parts(pieces)])
    near = np.linalg.norm(corners[:, :, None] - flat[None, None], axis=-1)
    index = near.argmin(axis=-1)
    a, b, c = (flat[index[:, k]] for k in range(3))
    ab, ac = b - a, c - a
    left = ab[:, 0] * ac[:, 1] - ab[:, 1] * ac[:, 0] > 0
    return np.asarray(np.where(left[:, None], index, index[:, ::-1]), dtype=np.int64)


def _normals(space: Floats, triangles: Ints) -> Floats:
    """(n, 3) unit normals at the points of a triangulated face, weighed by area."""
    a, b, c = (space[triangles[:, k]] for k in range(3))
    face = np.cross(b - a, c - a)
    total = np.zeros_like(space)
    for k in range(3):
        np.add.at(total, triangles[:, k], face)
    return np.asarray(total / np.maximum(np.linalg.norm(total, axis=1, keepdims=True), 1e-12))
