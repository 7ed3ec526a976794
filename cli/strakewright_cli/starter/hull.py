"""The hull of the starter boat "Knot", a 3.6 m skiff: port half, mm, x forward, y to port, z up.

Both panels are exactly developable, so any wood that takes their gentle bends takes them whole:
side     a wall of constant flare whose waterlines straighten towards the bow (tangent developable of a helix):
         (x, y) = k (cos t, -sin t) + (rho + k t + z tan flare)(sin t, cos t), t the angle that the waterline has turned
bottom   straight athwart at constant deadrise over a keel that rises forward: z = rise (x / length)^4 + y tan deadrise
Every vertex lies on its surface to rounding; the borders are found by halving (bisection).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]


@dataclass(frozen=True)
class Skiff:
    """mm and radians.  columns, rows : squares of the net along and across each panel."""

    rho: float = 4200.0
    k: float = 3600.0
    beam: float = 640.0
    aft: float = 1250.0
    length: float = 3600.0
    flare: float = np.deg2rad(16.0)
    deadrise: float = np.deg2rad(10.0)
    rise: float = 210.0
    sheer_aft: float = 430.0
    sheer_rise: float = 130.0
    columns: int = 72
    rows: int = 14


def skiff_mesh(skiff: Skiff) -> tuple[Floats, Ints]:
    """(n, 3) mm vertices and (m, 3) triangles of the port half, open at sheer, keel and transom."""
    side = _side_net(skiff)
    bottom = _bottom_net(skiff, side[0])
    vertices = np.concatenate([side.reshape(-1, 3), bottom[:-1].reshape(-1, 3)])
    sides = np.arange(side.shape[0] * side.shape[1]).reshape(side.shape[:2])
    bottoms = sides.size + np.arange((len(bottom) - 1) * bottom.shape[1]).reshape(-1, bottom.shape[1])
    bottoms = np.concatenate([bottoms, sides[:1]])  # the two panels share the vertices of the chine
    bottoms[:, -1] = sides[0, -1]  # and the bottom ends in one point at the stem
    triangles = np.concatenate([_triangles(sides), _triangles(bottoms)])
    used, numbers = np.unique(triangles, return_inverse=True)
    return vertices[used], numbers.reshape(-1, 3)


def ply_bytes(vertices: Floats, triangles: Ints) -> bytes:
    """A binary PLY file in double precision."""
    header = (
        "ply\nformat binary_little_endian 1.0\ncomment starter hull, mm\n"
        f"element vertex {len(vertices)}\nproperty double x\nproperty double y\nproperty double z\n"
        f"element face {len(triangles)}\nproperty list uchar int vertex_indices\nend_header\n"
    )
    faces = np.zeros(len(triangles), dtype=[("n", "u1"), ("v", "<i4", (3,))])
    faces["n"], faces["v"] = 3, triangles
    return header.encode("ascii") + vertices.astype("<f8").tobytes() + faces.tobytes()


def _side_net(skiff: Skiff) -> Floats:
    """(rows + 1, columns + 1, 3): from chine to sheer, aft to forward.

    The net is drawn between its four borders in (t, z), where any point lies on the wall.
    """
    low, high = _border(skiff, _above_bottom), _border(skiff, _above_sheer)
    up = np.linspace(0.0, 1.0, skiff.rows + 1)[:, None, None]
    along = np.linspace(0.0, 1.0, skiff.columns + 1)[None, :, None]
    ends = [
        _end(skiff, which, low[n, 1] + up[:, 0, 0] * (high[n, 1] - low[n, 1]))
        for n, which in ((0, "aft"), (-1, "stem"))
    ]
    across = (1 - along) * ends[0][:, None] + along * ends[1][:, None]
    fore_and_aft = (1 - up) * low[None] + up * high[None]
    corners = (1 - up) * ((1 - along) * low[0] + along * low[-1]) + up * ((1 - along) * high[0] + along * high[-1])
    net = across + fore_and_aft - corners
    points = _wall(skiff, net[..., 0], net[..., 1])
    points[:, 0, 0] = 0.0
    points[:, -1, 1] = 0.0
    return points


def _bottom_net(skiff: Skiff, chine: Floats) -> Floats:
    """(rows + 1, columns + 1, 3): from keel to chine, straight athwart."""
    out = np.linspace(0.0, 1.0, skiff.rows + 1)[:, None]
    x, y = np.broadcast_to(chine[:, 0], (len(out), len(chine))), out * chine[:, 1]
    return np.stack([x, y, _bottom_height(skiff, x, y)], axis=-1)


def _wall(skiff: Skiff, t: Floats, z: Floats) -> Floats:
    """Points of the side's wall: (..., 3)."""
    reach = skiff.rho + skiff.k * t + z * np.tan(skiff.flare)
    x = skiff.k * (np.cos(t) - 1) + reach * np.sin(t) + skiff.aft
    y = -skiff.k * np.sin(t) + reach * np.cos(t) - skiff.rho + skiff.beam
    return np.stack([x, y, z], axis=-1)


def _bottom_height(skiff: Skiff, x: Floats, y: Floats) -> Floats:
    height: Floats = skiff.rise * (x / skiff.length) ** 4 + y * np.tan(skiff.deadrise)
    return height


def _above_bottom(skiff: Skiff, points: Floats) -> Floats:
    return points[..., 2] - _bottom_height(skiff, points[..., 0], points[..., 1])


def _above_sheer(skiff: Skiff, points: Floats) -> Floats:
    return points[..., 2] - skiff.sheer_aft - skiff.sheer_rise * (points[..., 0] / skiff.length) ** 2


def _border(skiff: Skiff, above: Callable[[Skiff, Floats], Floats]) -> Floats:
    """(columns + 1, 2): (t, z) of the chine or the sheer from the transom to the stem."""
    ends = []
    for which in ("aft", "stem"):

        def height(z: Floats, which: str = which) -> Floats:
            on_end = _end(skiff, which, z)
            return above(skiff, _wall(skiff, on_end[:, 0], on_end[:, 1]))

        z = _halving(height, np.array([-200.0]), np.array([900.0]))
        ends.append(_end(skiff, which, z)[0, 0])
    t = np.linspace(ends[0], ends[1], skiff.columns + 1)
    z = _halving(lambda z: above(skiff, _wall(skiff, t, z)), np.full_like(t, -200.0), np.full_like(t, 900.0))
    return np.stack([t, z], axis=-1)


def _end(skiff: Skiff, which: str, z: Floats) -> Floats:
    """(n, 2): (t, z) where the wall meets the transom (x = 0) or the centreline plane (y = 0)."""

    def beyond(t: Floats) -> Floats:
        points = _wall(skiff, t, z)
        return points[..., 0] if which == "aft" else -points[..., 1]

    low, high = (-0.6, 0.0) if which == "aft" else (0.0, 1.0)
    t = _halving(beyond, np.full_like(z, low), np.full_like(z, high))
    return np.stack([t, z], axis=-1)


def _halving(rising: Callable[[Floats], Floats], low: Floats, high: Floats) -> Floats:
    """Where functions that rise through zero between low and high do so."""
    for _ in range(60):
        middle = (low + high) / 2
        over = rising(middle) > 0
        low, high = np.where(over, low, middle), np.where(over, middle, high)
    return (low + high) / 2


def _triangles(net: Ints) -> Ints:
    """Two triangles a square of a net of vertex numbers, without those that fold to a line."""
    a, b, c, d = net[:-1, :-1].ravel(), net[:-1, 1:].ravel(), net[1:, 1:].ravel(), net[1:, :-1].ravel()
    both = np.concatenate([np.stack([a, c, b], axis=1), np.stack([a, d, c], axis=1)])
    ends = np.sort(both, axis=1)
    kept: Ints = both[(ends[:, 0] != ends[:, 1]) & (ends[:, 1] != ends[:, 2])]
    return kept
