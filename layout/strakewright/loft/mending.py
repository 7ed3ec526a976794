"""Meshes whose panels were made one by one: their borders lie on each other but share no corners.

seam      two borders that lie on each other
stitching each border edge is divided where a corner of the other border lies on it; the triangle behind it is
          fanned, so that both borders end up with the same corners

body      triangles that hang together; bulkheads or a skeg may be bodies beside the skin

Method: derived.
"""

from __future__ import annotations

from itertools import pairwise

import numpy as np
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components
from scipy.spatial import KDTree

from strakewright.arrays import Floats, Ints
from strakewright.errors import InputError
from strakewright.geometry.meshes import components, edges, face_areas, weld

NEAR = 0.1  # mm, border corners this near are one
SAG = 0.01  # of an edge's length (and never more than `MOST`), how far a corner may lie off it
MOST = 1.0
BODY, SPECK = 0.1, 0.002  # of the skin's area: a body so large is no fitting, one so small is nothing
FINE = 0.3  # share of sides shorter than `NEAR` from which a mesh is fine, not damaged


def stitched(vertices: Floats, triangles: Ints) -> tuple[Floats, Ints, int]:
    """The mesh with borders that lie on each other joined, and how many border corners that took.

    vertices : (n, 3) mm, triangles : (m, 3)
    """
    before = _border_corners(triangles)
    vertices, triangles = _nearby_joined(vertices, triangles)
    vertices, triangles = _edges_divided(vertices, triangles)
    joined = len(before) - len(_border_corners(triangles))
    return vertices, triangles, max(joined, 0)


def _border_corners(triangles: Ints) -> Ints:
    net = edges(triangles)
    return np.unique(net.ends[net.border])


def _nearby_joined(vertices: Floats, triangles: Ints) -> tuple[Floats, Ints]:
    border = _border_corners(triangles)
    pairs = KDTree(vertices[border]).query_pairs(NEAR, output_type="ndarray")
    if len(pairs) == 0:
        return vertices, triangles
    size = (len(border), len(border))
    group = connected_components(coo_array((np.ones(len(pairs)), pairs.T), shape=size), directed=False)[1]
    first = np.full(int(group.max()) + 1, len(border))
    np.minimum.at(first, group, np.arange(len(border)))
    alias = np.arange(len(vertices))
    alias[border] = border[first[group]]
    moved = vertices[alias]
    return weld(moved, alias[triangles])


def _edges_divided(vertices: Floats, triangles: Ints) -> tuple[Floats, Ints]:
    """Triangles fanned at the corners of other borders that lie on their border edges."""
    net = edges(triangles)
    free = np.flatnonzero(net.border)
    cuts = _corners_on_edges(vertices, net.ends[free])
    if not cuts:
        return vertices, triangles
    fanned: dict[int, list[list[int]]] = {}
    for edge, corners in cuts.items():
        face = int(net.faces[free[edge], 0])
        pieces = fanned.setdefault(face, [triangles[face].tolist()])
        fanned[face] = _fan(pieces, net.ends[free[edge]].tolist(), corners)
    keep = np.ones(len(triangles), dtype=np.bool_)
    keep[list(fanned)] = False
    new = np.array([piece for pieces in fanned.values() for piece in pieces], dtype=np.int64)
    new = new[face_areas(vertices, new) > 0]
    return vertices, np.concatenate([triangles[keep], new])


def _corners_on_edges(vertices: Floats, ends: Ints) -> dict[int, list[int]]:
    """For each border edge the corners that lie on it, from its first end to its second."""
    border = np.unique(ends)
    a, b = vertices[ends[:, 0]], vertices[ends[:, 1]]
    length = np.linalg.norm(b - a, axis=1)
    near = KDTree(vertices[border]).query_ball_point((a + b) / 2, length / 2 + 1e-9)
    found: dict[int, list[int]] = {}
    for i, mates in enumerate(near):
        others = border[[j for j in mates if border[j] not in ends[i]]]
        if len(others) == 0:
            continue
        way = (b[i] - a[i]) / length[i]
        along = (vertices[others] - a[i]) @ way
        off = np.linalg.norm(vertices[others] - a[i] - along[:, None] * way, axis=1)
        on = (along > NEAR) & (along < length[i] - NEAR) & (off <= min(MOST, max(NEAR, SAG * length[i])))
        if on.any():
            found[i] = others[on][np.argsort(along[on])].tolist()
    return found


def _fan(pieces: list[list[int]], ends: list[int], corners: list[int]) -> list[list[int]]:
    """The piece that holds the edge, replaced by a fan of triangles over the divided edge."""
    out = []
    for piece in pieces:
        if not set(ends) <= set(piece):
            out.append(piece)
            continue
        apex = next(c for c in piece if c not in ends)
        at = piece.index(apex)
        first = piece[(at + 1) % 3]
        run = [ends[0], *corners, ends[1]] if first == ends[0] else [ends[1], *corners[::-1], ends[0]]
        out += [[apex, p, q] for p, q in pairwise(run)]
    return out


def without_scraps(vertices: Floats, triangles: Ints) -> tuple[Floats, Ints, int]:
    """Corners of the same body nearer than `NEAR` made one, and how many that took: slivers close."""
    before = len(np.unique(triangles))
    side = np.linalg.norm(vertices[triangles] - vertices[np.roll(triangles, -1, axis=1)], axis=2)
    if side.min() >= NEAR or np.mean(side < NEAR) > FINE:
        return vertices, triangles, 0
    vertices, triangles = weld(vertices, triangles, reach=NEAR)
    return vertices, triangles, before - len(vertices)


def main_body(vertices: Floats, triangles: Ints) -> tuple[Ints, list[Floats], int]:
    """The triangles that hang together with the largest piece, where other pieces lay, and how many specks.

    Raises InputError when another piece is large: then the skin itself may be in pieces.
    """
    body = components(len(triangles), edges(triangles))
    sizes = np.bincount(body, face_areas(vertices, triangles))
    main = int(np.argmax(sizes))
    spots = []
    for other in np.flatnonzero(sizes > SPECK * sizes[main]):
        if other == main:
            continue
        spot = vertices[triangles[body == other]].mean(axis=(0, 1))
        if sizes[other] > BODY * sizes[main]:
            raise InputError(
                f"the skin is in pieces that do not join: one of {sizes[other] / 1e6:.1f} m2 lies about"
                f" x {spot[0]:.0f}, y {spot[1]:.0f}, z {spot[2]:.0f}, the largest has {sizes[main] / 1e6:.1f} m2",
                where="[hull] mesh",
                fix="Close the gap along its border; or leave an inner skin out of the mesh",
            )
        spots.append(spot)
    return triangles[body == main], spots, len(sizes) - 1 - len(spots)
