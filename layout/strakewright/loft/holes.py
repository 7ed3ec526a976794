"""Holes in the skin, closed with triangles of their own corners.

hole      ring of border edges too short to be the edge of anything
crease    a chine that arrives at a hole on one side and leaves it on the other; the two triangles' side between
          the two corners carries it across

Method: of all ways to cut the ring into triangles that of least area (Barequet and Sharir 1995), which never lies
folded on itself as a fan can; no corner is added, so the smooth surface over the hole is that of the skin about it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from strakewright.arrays import Floats, Ints
from strakewright.errors import Finding
from strakewright.geometry.meshes import Edges, dihedral_fold, edges

MOST_EDGES = 60
SMALL, LARGEST = 0.08, 0.16  # round a hole as a share of the mesh's size: one larger than the first is warned about
_FOLD = math.radians(6.0)  # a chine arrives with at least this fold, and twice that of any other edge


@dataclass(frozen=True, eq=False)
class Hole:
    """middle : (3,) mm;  around : mm round it"""

    middle: Floats
    around: float


def filled(vertices: Floats, triangles: Ints) -> tuple[Ints, list[Hole]]:
    """The triangles with holes closed, and the holes.  vertices : (n, 3) mm, triangles : (m, 3)"""
    size = float(np.ptp(vertices, axis=0).max())
    net = edges(triangles)
    fold: Floats | None = None
    new: list[Ints] = []
    holes: list[Hole] = []
    for ring in _rings(triangles, net):
        points = vertices[ring]
        around = np.linalg.norm(points - np.roll(points, -1, axis=0), axis=1)
        open_wide = len(ring) == 3 or 2.01 * around.max() < around.sum()
        small = len(ring) <= MOST_EDGES and open_wide and around.sum() < LARGEST * size
        if not small or (points[:, 1] == 0.0).all():
            continue
        fold = dihedral_fold(vertices, triangles, net) if fold is None else fold
        new += [part[pieces][:, ::-1] for part, pieces in _closed(vertices, ring, net, fold)]
        holes.append(Hole(points.mean(axis=0), float(around.sum())))
    return (np.concatenate([triangles, *new]) if new else triangles), holes


def told_holes(holes: list[Hole], length: float) -> list[Finding]:
    """What was closed; a warning where one is so large that it may be meant.  length : mm of the mesh"""
    if not holes:
        return []
    holes = sorted(holes, key=lambda hole: -hole.around)
    spots = "; ".join("x {:.0f}, y {:.0f}, z {:.0f}".format(*hole.middle) for hole in holes[:3])
    what = f"{len(holes)} hole{'s' if len(holes) > 1 else ''} closed over ({spots})"
    if holes[0].around <= SMALL * length:
        return [Finding("holes-closed", "note", "hull", what)]
    what += f"; the largest is {holes[0].around:.0f} mm round"
    fix = "Planks run over it as if it were not there; close it in the mesh to be sure of the surface"
    return [Finding("holes-closed", "warning", "hull", what, fix)]


def _closed(vertices: Floats, ring: Ints, net: Edges, fold: Floats) -> list[tuple[Ints, Ints]]:
    """The ring, or its two parts on either side of a crease, each with its triangles (walked as the ring is)."""
    cut = _crease_across(ring, net, fold)
    if cut is None:
        return [(ring, least_area(vertices[ring]))]
    a, b = cut
    parts = (ring[a : b + 1], np.concatenate([ring[b:], ring[: a + 1]]))
    return [(part, least_area(vertices[part])) for part in parts]


def _crease_across(ring: Ints, net: Edges, fold: Floats) -> tuple[int, int] | None:
    """The two places on the ring between which a crease runs; None where none arrives, or they are neighbours."""
    arriving = np.array([float(fold[(net.ends == corner).any(axis=1)].max()) for corner in ring])
    order = np.argsort(-arriving, kind="stable")
    a, b = sorted(int(k) for k in order[:2])
    third = arriving[order[2]]
    if arriving[order[1]] < max(_FOLD, 2 * third) or b - a in (1, len(ring) - 1):
        return None
    return a, b


def least_area(points: Floats) -> Ints:
    """(n - 2, 3) places on a ring of points (n, 3) mm that make the triangles of least area over it.

    >>> square = np.array([[0.0, 0, 0], [1, 0, 0], [1, 1, 0], [0, 1, 0]])
    >>> least_area(square).tolist()
    [[0, 1, 2], [0, 2, 3]]
    """
    n = len(points)
    total, via = np.zeros((n, n)), np.zeros((n, n), dtype=np.int64)
    for span in range(2, n):
        start = np.arange(n - span)
        stop = start + span
        middle = start[:, None] + np.arange(1, span)
        a, b, c = points[start][:, None], points[middle], points[stop][:, None]
        area = np.linalg.norm(np.cross(b - a, c - a), axis=2) / 2
        cost = area + total[start[:, None], middle] + total[middle, stop[:, None]]
        best = cost.shape[1] - 1 - cost[:, ::-1].argmin(axis=1)
        total[start, stop], via[start, stop] = cost[np.arange(len(start)), best], middle[np.arange(len(start)), best]
    pieces: list[tuple[int, int, int]] = []
    left = [(0, n - 1)]
    while left:
        first, last = left.pop()
        if last - first > 1:
            apex = int(via[first, last])
            pieces.append((first, apex, last))
            left += [(apex, last), (first, apex)]
    return np.array(pieces, dtype=np.int64)[::-1]


def _rings(triangles: Ints, net: Edges) -> list[Ints]:
    """Rings of border edges, walked with the material on the left; where two rings touch, each keeps its own way.

    Edges of triangles wound against their neighbours belong to no ring.
    """
    face, (low, high) = triangles[net.faces[net.border, 0]], net.ends[net.border].T
    at = np.argmax(face == low[:, None], axis=1)
    onward = face[np.arange(len(face)), (at + 1) % 3] == high
    follow: dict[int, list[int]] = {}
    for a, b in zip(np.where(onward, low, high).tolist(), np.where(onward, high, low).tolist(), strict=True):
        follow.setdefault(a, []).append(b)
    return [ring for ring in _walks(follow) if len(ring) > 2]


def _walks(follow: dict[int, list[int]]) -> list[Ints]:
    """Walks until a corner comes round again; what lies between is a ring of its own."""
    rings = []
    for first in sorted(follow):
        walk = [first]
        while follow.get(walk[-1]):
            step = follow[walk[-1]].pop()
            if step in walk:
                start = walk.index(step)
                rings.append(np.array(walk[start:], dtype=np.int64))
                del walk[start + 1 :]
            else:
                walk.append(step)
    return rings
