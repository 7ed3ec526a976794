"""What lies inside the skin is set aside: an inner skin, bulkheads, a cockpit sole, tanks.

piece     triangles that hang together without a sharp fold and without an edge where three of them meet
inside    well within the outline of the section, with skin farther out in the same direction

A hollow bottom lies within the outline too, but nothing lies beyond it: it stays.  Method: derived; sections are cut
at each sample, the direction is reckoned from the middle of the section's top.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from scipy.spatial import ConvexHull, QhullError

from strakewright.arrays import Bools, Floats, Ints
from strakewright.geometry.meshes import Edges, components, dihedral_fold, edges, face_areas, face_normals

_SHARP = math.radians(45.0)
_LEAST = 0.001  # of all area: smaller pieces are judged later, as specks
_MOST_PIECES, _SAMPLES = 60, 15
_WITHIN, _BEYOND = 4.0, 2.0  # mm inside the outline, mm farther out
_SHARE = 0.8  # of the samples that must lie inside
_RIM = 150.0  # mm: what joins two skins and is no wider is their rim
_END = 0.15  # of the length: plates athwart in there are transoms


@dataclass(frozen=True, eq=False)
class Inner:
    """One piece set aside.  spot : (3,) mm its middle;  area : mm2"""

    spot: Floats
    area: float


def cleared(vertices: Floats, triangles: Ints) -> tuple[Ints, tuple[Inner, ...]]:
    """The triangles without those that lie inside the skin, and what was set aside.

    vertices : (n, 3) mm, x forward, z up, one side or both;  triangles : (m, 3)
    """
    net = edges(triangles)
    soft = net.inner & (dihedral_fold(vertices, triangles, net) < _SHARP)
    piece = components(len(triangles), net, soft)
    area = face_areas(vertices, triangles)
    sizes = np.bincount(piece, area)
    worth = [int(i) for i in np.argsort(-sizes)[:_MOST_PIECES] if sizes[i] > _LEAST * area.sum()]
    if len(worth) < 2:
        return triangles, ()
    looker = _Looker(vertices, triangles, piece)
    inner = [i for i in worth if looker.lies_inside(i)]
    if not inner:
        return triangles, ()
    inner += _rims(vertices, net, piece, inner, np.asarray(sizes, dtype=np.float64))
    spots = tuple(Inner(vertices[triangles[piece == i]].mean(axis=(0, 1)), float(sizes[i])) for i in inner)
    return triangles[~np.isin(piece, inner)], spots


def _rims(vertices: Floats, net: Edges, piece: Ints, inner: list[int], sizes: Floats) -> list[int]:
    """Narrow strips that only join an inner skin to the outer one."""
    one, other = piece[net.faces[net.inner]].T
    ends = vertices[net.ends[net.inner]]
    run = np.linalg.norm(ends[:, 1] - ends[:, 0], axis=1)
    beside = np.isin(one, inner) ^ np.isin(other, inner)
    outer = np.where(np.isin(one, inner), other, one)[beside]
    length = np.bincount(outer, run[beside], len(sizes))
    narrow = (length > 0) & (sizes < _RIM * np.maximum(length, 1e-9))
    return [int(i) for i in np.flatnonzero(narrow) if i not in inner]


class _Looker:
    """Asks of samples on a piece whether they lie inside everything else."""

    def __init__(self, vertices: Floats, triangles: Ints, piece: Ints) -> None:
        self.corners, self.piece = vertices[triangles], piece
        self.x = self.corners[..., 0]
        self.low, self.high = self.x.min(axis=1), self.x.max(axis=1)
        self.middle_y = float((vertices[:, 1].max() + vertices[:, 1].min()) / 2)
        both = vertices[:, 1].min() < -0.2 * vertices[:, 1].max()
        self.centre_y = self.middle_y if both else 0.0
        self.ends = float(vertices[:, 0].min()), float(vertices[:, 0].max())
        self.athwart = np.abs(face_normals(vertices, triangles)[:, 0])

    def lies_inside(self, number: int) -> bool:
        mine = np.flatnonzero(self.piece == number)
        if self._is_end_plate(mine):
            return False
        some = mine[np.linspace(0, len(mine) - 1, min(_SAMPLES, len(mine))).astype(int)]
        return bool(np.mean([self._inside(self.corners[t].mean(axis=0), number) for t in some]) >= _SHARE)

    def _is_end_plate(self, mine: Ints) -> bool:
        """Transoms are known later by these same signs."""
        aft, fore = self.ends
        length = fore - aft
        low, high = self.low[mine].min(), self.high[mine].max()
        near = high < aft + _END * length or low > fore - _END * length
        return bool(near and self.athwart[mine].mean() > 0.4)

    def _inside(self, point: Floats, number: int) -> bool:
        cut = (self.low < point[0]) & (self.high > point[0])
        start, stop = _section(self.corners[cut], float(point[0]))
        other = self.piece[cut] != number
        if other.sum() < 2:
            return False
        at = point[1:]
        return _within(np.concatenate([start, stop]), at, self.centre_y) and self._covered(
            start[other], stop[other], at, float(np.concatenate([start, stop])[:, 1].max())
        )

    def _covered(self, start: Floats, stop: Floats, at: Floats, top: float) -> bool:
        """True when a line from the middle of the section's top through the point meets another piece beyond it."""
        way = at - np.array([self.centre_y, top])
        size = float(np.hypot(*way))
        if size < 1e-9:
            return False
        way = way / size
        return bool((_hits(at, way, start, stop) > _BEYOND).any())


def _section(corners: Floats, x: float) -> tuple[Floats, Floats]:
    """(k, 2) both ends in y, z of the cuts of triangles (k, 3, 3) that all cross the plane."""
    ahead = corners[..., 0] > x
    lone = np.where(ahead.sum(axis=1) == 1, ahead.argmax(axis=1), (~ahead).argmax(axis=1))
    rows = np.arange(len(corners))
    tip = corners[rows, lone]
    ends = []
    for k in (1, 2):
        far = corners[rows, (lone + k) % 3]
        share = (x - tip[:, 0]) / (far[:, 0] - tip[:, 0])
        ends.append(tip[:, 1:] + share[:, None] * (far - tip)[:, 1:])
    return ends[0], ends[1]


def _within(points: Floats, at: Floats, centre: float) -> bool:
    """True when a point lies well inside the outline of a section and of its mirror image."""
    both = np.concatenate([points, [2 * centre, 0.0] + points * np.array([-1.0, 1.0])])
    try:
        hull = ConvexHull(both)
    except QhullError:
        return False
    return bool((hull.equations[:, :2] @ at + hull.equations[:, 2] < -_WITHIN).all())


def _hits(at: Floats, way: Floats, start: Floats, stop: Floats) -> Floats:
    """(k,) how far along the way each stretch is met, -1 where it is not."""
    run, gap = stop - start, start - at
    det = way[0] * -run[:, 1] + run[:, 0] * way[1]
    safe = np.where(np.abs(det) > 1e-12, det, np.inf)
    far = (gap[:, 0] * -run[:, 1] + run[:, 0] * gap[:, 1]) / safe
    share = (way[0] * gap[:, 1] - way[1] * gap[:, 0]) / safe
    met: Bools = (share >= 0.0) & (share <= 1.0) & np.isfinite(safe)
    return np.where(met, far, -1.0)
