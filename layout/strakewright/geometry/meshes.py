"""Triangle meshes as nets of edges: what hangs together, where it folds, where it ends.

weld      make one corner of all corners that lie in the same place
edge      a side of a triangle; an inner edge has a triangle on both hands, a border edge on one
fold      angle between two neighbouring triangles, 0 = they lie flat
piece     triangles that hang together across edges
fan       the triangles about one corner that hang together across edges
border    ring of edges with a triangle on one hand only; walked with the material on the left

Method: derived (sorting of edge keys, graph components from scipy).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components
from scipy.spatial import KDTree

from strakewright.arrays import Bools, Floats, Ints
from strakewright.errors import InputError, UnworkableError

_CHAIN = 6  # slivers in a row that are seen through


@dataclass(frozen=True, eq=False)
class Edges:
    """Every edge of a mesh once, in the order of its ends.

    ends : (e, 2) corner numbers, the smaller first
    faces : (e, 2) triangles on its two hands, -1 on the second hand of a border edge
    alike : (e,) True when both triangles are wound the same way round (always True at a border)
    crowded : (e,) True where three or more triangles meet (faces then names the first two)
    """

    ends: Ints
    faces: Ints
    alike: Bools
    crowded: Bools

    @property
    def inner(self) -> Bools:
        """(e,) True for edges between exactly two triangles."""
        return (self.faces[:, 1] >= 0) & ~self.crowded

    @property
    def border(self) -> Bools:
        """(e,) True for edges with a triangle on one hand only."""
        return self.faces[:, 1] < 0


def edges(triangles: Ints) -> Edges:
    """All edges of (m, 3) triangles.

    >>> edges(np.array([[0, 1, 2], [0, 2, 3]])).border.sum()
    np.int64(4)
    """
    m = len(triangles)
    start, end = triangles.T.ravel(), triangles[:, [1, 2, 0]].T.ravel()
    face = np.tile(np.arange(m, dtype=np.int64), 3)
    low, high = np.minimum(start, end), np.maximum(start, end)
    key = low * (int(triangles.max(initial=0)) + 1) + high
    order = np.argsort(key, kind="stable")
    first = np.flatnonzero(np.diff(key[order], prepend=-1))
    count = np.diff(first, append=3 * m)
    one, other = order[first], order[first + np.minimum(count - 1, 1)]
    faces = np.column_stack([face[one], np.where(count > 1, face[other], -1)])
    alike = (count == 1) | (start[one] != start[other])
    return Edges(np.column_stack([low[one], high[one]]), faces, alike, count > 2)


def double_areas(vertices: Floats, triangles: Ints) -> Floats:
    """(m, 3) normals by the right-hand rule, as long as twice the triangles' areas."""
    columns, (a, b, c) = np.ascontiguousarray(vertices.T), triangles.T  # thrice as fast as rows
    ux, uy, uz = (column[b] - column[a] for column in columns)
    vx, vy, vz = (column[c] - column[a] for column in columns)
    return np.stack([uy * vz - uz * vy, uz * vx - ux * vz, ux * vy - uy * vx], axis=1)


def face_normals(vertices: Floats, triangles: Ints) -> Floats:
    """(m, 3) unit normals by the right-hand rule; zeros for triangles without area."""
    return unit_rows(double_areas(vertices, triangles))


def unit_rows(rows: Floats) -> Floats:
    """(m, 3) of length one; rows of no length stay so."""
    length = np.linalg.norm(rows, axis=1, keepdims=True)
    return np.asarray(rows / np.where(length > 0, length, 1.0))


def face_areas(vertices: Floats, triangles: Ints) -> Floats:
    """(m,) areas, in the square of the unit of `vertices`."""
    return np.asarray(np.linalg.norm(double_areas(vertices, triangles), axis=1) / 2)


def dihedral_fold(vertices: Floats, triangles: Ints, net: Edges, normals: Floats | None = None) -> Floats:
    """(e,) fold at each edge in radians, 0 flat to pi folded back; 0 at borders and crowded edges.

    normals : (m, 3) to use in place of the triangles' own
    Triangles wound against each other are compared as if they agreed.
    """
    normals = face_normals(vertices, triangles) if normals is None else normals
    one, other = normals[net.faces[:, 0]], normals[net.faces[:, 1]]
    other = np.where(net.alike[:, None], other, -other)
    sine = np.linalg.norm(np.cross(one, other), axis=1)
    fold = np.arctan2(sine, np.einsum("ij,ij->i", one, other))
    return np.where(net.inner, fold, 0.0)


def steady_normals(vertices: Floats, triangles: Ints, net: Edges, thinnest: float) -> Floats:
    """(m, 3) unit normals in which triangles less high than `thinnest` (mm) face as their neighbour does.

    The normal of a sliver is noise: it takes that of the triangle across its longest side, wound alike, and so
    on along chains of slivers; so a sliver that lies along a crease goes to one side of it.
    """
    normals = face_normals(vertices, triangles)
    side = np.linalg.norm(vertices[triangles] - vertices[np.roll(triangles, -1, axis=1)], axis=2)
    thin = np.flatnonzero(2 * face_areas(vertices, triangles) < thinnest * side.max(axis=1))
    if len(thin) == 0:
        return normals
    longest = side[thin].argmax(axis=1)
    ends = np.sort(np.column_stack([triangles[thin, longest], triangles[thin, (longest + 1) % 3]]), axis=1)
    size = int(triangles.max()) + 1
    at = np.searchsorted(net.ends[:, 0] * size + net.ends[:, 1], ends[:, 0] * size + ends[:, 1])
    across = np.where(net.faces[at, 0] == thin, net.faces[at, 1], net.faces[at, 0])
    across, hand = np.where(across < 0, thin, across), np.where(net.alike[at], 1.0, -1.0)
    for _ in range(_CHAIN):
        normals[thin] = hand[:, None] * normals[across]
    return normals


def components(count: int, net: Edges, joined: Bools | None = None) -> Ints:
    """(count,) piece number of each triangle, hanging together across `joined` edges (default: inner ones).

    Pieces are numbered by their first triangle.
    """
    pairs = net.faces[net.inner if joined is None else joined & net.inner]
    return _labels(count, pairs[:, 0], pairs[:, 1])


def fans(triangles: Ints, net: Edges, joined: Bools | None = None) -> tuple[Ints, Ints]:
    """The triangles with a corner of their own for every fan, and (k,) which old corner each new one is.

    A fan is the triangles about a corner that hang together across `joined` edges (default: inner ones); so
    patches part along all other edges, and pieces that touch in a single corner come apart.
    """
    use = net.inner if joined is None else joined & net.inner
    (one, other), pair = net.faces[use].T, net.ends[use]
    same = [[3 * f + (triangles[f] == end[:, None]).argmax(axis=1) for f in (one, other)] for end in pair.T]
    left, right = (np.concatenate([ends[hand] for ends in same]) for hand in (0, 1))
    new = _labels(triangles.size, left, right)
    origin = np.zeros(int(new.max(initial=-1)) + 1, dtype=np.int64)
    origin[new] = triangles.ravel()
    return new.reshape(-1, 3), origin


def wound_alike(triangles: Ints) -> Ints:
    """The triangles, turned over where needed so that neighbours agree; each piece keeps the winding of most.

    Raises UnworkableError for a surface with one side only (a twisted ring).
    """
    m, net = len(triangles), edges(triangles)
    (one, other), alike = net.faces[net.inner].T, net.alike[net.inner]
    # every triangle twice, as it is (t) and turned over (t + m)
    to = np.where(alike, other, other + m)
    back = np.where(alike, other + m, other)
    both = _labels(2 * m, np.concatenate([one, one + m]), np.concatenate([to, back]))
    if (both[:m] == both[m:]).any():
        raise UnworkableError(
            "the surface has one side only, like a twisted ring",
            fix="Cut it open along a line across the ring",
        )
    piece = np.minimum(both[:m], both[m:])
    turned = both[:m] != piece
    share = np.bincount(piece, turned, 2 * m) / np.maximum(np.bincount(piece, minlength=2 * m), 1)
    turned ^= share[piece] > 0.5
    return np.where(turned[:, None], triangles[:, ::-1], triangles)


def border_loops(triangles: Ints, net: Edges | None = None) -> tuple[Ints, ...]:
    """Corner rings of the border, each walked with the material on its left, longest in corners first.

    net : the mesh's edges, if at hand
    Raises UnworkableError where the winding disagrees or two rings touch in one corner.
    """
    net = net or edges(triangles)
    if not net.alike.all() or net.crowded.any():
        raise UnworkableError(
            "triangles overlap or turn their backs to each other",
            fix="Weld the mesh and make its normals agree",
        )
    face, (low, high) = triangles[net.faces[net.border, 0]], net.ends[net.border].T
    place = np.argmax(face == low[:, None], axis=1)
    onward = face[np.arange(len(face)), (place + 1) % 3] == high
    follow = dict(zip(np.where(onward, low, high).tolist(), np.where(onward, high, low).tolist(), strict=True))
    if len(follow) < len(face):
        raise UnworkableError(
            "the surface touches itself in a single corner", fix="Separate the pieces that meet there"
        )
    loops = []
    while follow:
        first, at = follow.popitem()
        ring = [first]
        while at != first:
            ring.append(at)
            at = follow.pop(at)
        loops.append(np.array(ring, dtype=np.int64))
    return tuple(sorted(loops, key=len, reverse=True))


def weld(vertices: Floats, triangles: Ints, reach: float = 0.0) -> tuple[Floats, Ints]:
    """Corners no further apart than `reach` (mm) made one; triangles that vanish and unused corners dropped.

    The first corner of each group stays where it is.  Raises InputError when nothing is left.
    """
    alias = _nearby(vertices, reach)
    faces = alias[triangles]
    whole = (faces != np.roll(faces, 1, axis=1)).all(axis=1)
    if not whole.any():
        raise InputError("the mesh has no triangle with an area", fix="Check the file and its unit")
    used, renumbered = np.unique(faces[whole], return_inverse=True)
    return vertices[used], renumbered.reshape(-1, 3).astype(np.int64)


def nearest_faces(middles: Floats, points: Floats) -> Ints:
    """(n,) for each of the points (n, 3) the number of the nearest of the triangles' middles (m, 3)."""
    return np.asarray(KDTree(middles).query(points)[1], dtype=np.int64)


def _nearby(vertices: Floats, reach: float) -> Ints:
    """(n,) for each corner the first corner of the group it is welded to."""
    if reach <= 0:
        _, first, group = np.unique(vertices, axis=0, return_index=True, return_inverse=True)
        return first[group.ravel()].astype(np.int64)
    pairs = KDTree(vertices).query_pairs(reach, output_type="ndarray")
    group = _labels(len(vertices), pairs[:, 0], pairs[:, 1])
    _, first = np.unique(group, return_index=True)
    return first[group].astype(np.int64)


def _labels(count: int, one: Ints, other: Ints) -> Ints:
    """Components of a graph, numbered in the order of their first member."""
    graph = coo_array((np.ones(len(one), dtype=np.int8), (one, other)), shape=(count, count))
    _, label = connected_components(graph, directed=False)
    _, first, back = np.unique(label, return_index=True, return_inverse=True)
    return np.argsort(np.argsort(first))[back].astype(np.int64)
