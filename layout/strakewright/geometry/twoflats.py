"""A panel laid flat a second way: from the smooth surface fitted to it, to compare with the flat of its triangles.

first flat      the triangles laid flat, lengths from the corners round about
second flat     the same corners where they lie on the fitted surface, lengths by its own normals
thinned         of a fine mesh some corners spread evenly, with triangles of their own, and both flats of these: flats
                of unlike triangles differ by a tenth of a millimetre for that alone

Method: `flatten`, twice over; thinned meshes by Delaunay's triangles in the first flat, those outside its borders left
out; the best turn of one flat on the other is that of Kabsch 1976, in the plane.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.spatial import Delaunay, KDTree

from strakewright.arrays import Bools, Floats, Ints
from strakewright.errors import UnworkableError
from strakewright.geometry.arcs import Smooth, arc_lengths_on
from strakewright.geometry.flatten import Flat, flatten, flatten_sides
from strakewright.geometry.meshes import border_loops, edges, fans
from strakewright.geometry.outlines import contains, signed_area
from strakewright.geometry.surface import Patch, forms

MOST = 1500  # corners laid flat a second time; of a finer mesh about as many are taken
_FEW = 2  # times as many and more are thinned
_CELL = 1.15  # corners in even cells make up about this share of those asked for
_CLEAR = 0.55  # of a cell, between corners inside and those on the border
_THIN = 1e-3  # height over longest side of triangles left out at a thinned border


@dataclass(frozen=True, eq=False)
class Second:
    """The second flat.  corners : (k,) of the mesh that it has;  flat : of them;  apart : mm between the borders"""

    corners: Ints
    flat: Flat
    apart: float


def second_flat(patch: Patch, feet: Floats, vertices: Floats, triangles: Ints, first: Floats) -> Second:
    """The flat by the fitted surface, and how far its border lies off the first flat's.

    feet : (n, 2) the mesh's corners (n, 3) on the patch;  triangles : (m, 3);  first : (n, 2) mm the first flat
    """
    if len(feet) > _FEW * MOST:
        try:
            corners, some = thinned(first, triangles, MOST)
            return _laid(patch, feet, corners, some, flatten(vertices[corners], some).points)
        except UnworkableError:  # what is left of it hangs together in single corners
            pass
    return _laid(patch, feet, np.arange(len(feet)), triangles, first)


def _laid(patch: Patch, feet: Floats, corners: Ints, triangles: Ints, first: Floats) -> Second:
    on = patch.at(feet[corners])
    flat = flatten_sides(on, triangles, arc_lengths_on(on, triangles, patch.normal(feet[corners])))
    rim = np.concatenate(border_loops(triangles))
    return Second(corners, flat, apart(first[rim], flat.points[rim]))


def smooth_on(patch: Patch, feet: Floats) -> Smooth:
    """What `arcs` says of a mesh's corners, said of the patch at their feet (n, 2) instead."""
    r_p = patch.jet1(feet)[1]
    form, inward = forms(patch, feet), -patch.normal(feet)
    x_axis = r_p / np.linalg.norm(r_p, axis=1, keepdims=True)
    y_axis = np.cross(inward, x_axis)
    a = np.stack([1 / np.sqrt(form.E), np.zeros(len(feet))], axis=1)  # the axes as chart vectors
    b = form.left(a)
    bends = [form.second(v, w) for v, w in ((a, a), (a, b), (b, b))]
    quadric = np.stack([np.zeros(len(feet)), np.zeros(len(feet)), *bends], axis=1)
    gauss = bends[0] * bends[2] - bends[1] ** 2
    return Smooth(inward, np.ones(len(feet)), gauss, quadric, np.stack([x_axis, y_axis], axis=1, dtype=np.float64))


def apart(one: Floats, other: Floats) -> float:
    """Largest distance between like points (n, 2) after the best shift and turn.

    >>> square = np.array([[0.0, 0.0], [1.0, 0.0], [1.0, 1.0], [0.0, 1.0]])
    >>> round(apart(square, square[:, ::-1] * [-1.0, 1.0] + 5.0), 12)
    0.0
    """
    a, b = (points @ np.array([1.0, 1.0j]) for points in (one, other))
    a, b = a - a.mean(), b - b.mean()
    turn = np.vdot(b, a)
    return float(np.abs(a - b * turn / max(abs(turn), 1e-300)).max())


def thinned(flat: Floats, triangles: Ints, most: int) -> tuple[Ints, Ints]:
    """(k,) about `most` corners of a mesh laid flat, and (j, 3) triangles of them.  flat : (n, 2) mm

    Raises UnworkableError where so few corners cannot be joined to one piece.
    """
    loops = sorted(border_loops(triangles), key=lambda loop: signed_area(flat[loop]), reverse=True)
    cell = float(np.sqrt(sum(signed_area(flat[loop]) for loop in loops) / (_CELL * most)))
    rings = [ring for ring in (_spaced(flat, loop, cell) for loop in loops) if len(ring) > 2]
    rim = np.concatenate(rings)
    corners = np.concatenate([rim, _in_cells(flat, rim, np.concatenate(loops), cell)])
    faces = Delaunay(flat[corners]).simplices.astype(np.int64)
    a, b, c = flat[corners][faces.T]
    middle = (a + b + c) / 3
    inside = contains(flat[rings[0]], middle)
    for hole in rings[1:]:
        inside &= ~contains(flat[hole], middle)
    kept = _ccw(flat[corners], faces[inside & _thick(a, b, c)])
    own, origin = fans(kept, edges(kept))
    return corners[origin], own


def _spaced(flat: Floats, loop: Ints, cell: float) -> Ints:
    """Corners along a ring, a cell apart or more."""
    points = flat[loop]
    along = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(points, axis=0), axis=1))])
    _, first = np.unique(np.floor(along / cell), return_index=True)
    return loop[first]


def _in_cells(flat: Floats, rim: Ints, border: Ints, cell: float) -> Ints:
    """One corner of each even cell, none of the border's nor near the rim."""
    free = np.ones(len(flat), dtype=np.bool_)
    free[border] = False
    some = np.flatnonzero(free)
    box = np.floor((flat[some] - flat.min(axis=0)) / cell).astype(np.int64)
    off = np.abs((flat[some] - flat.min(axis=0)) / cell - box - 0.5).sum(axis=1)
    order = np.lexsort((some, off))  # the one nearest its cell's middle
    _, first = np.unique(box[order, 0] * (int(box[:, 1].max()) + 1) + box[order, 1], return_index=True)
    picked = some[order[first]]
    return np.sort(picked[KDTree(flat[rim]).query(flat[picked])[0] > _CLEAR * cell])


def _ccw(points: Floats, faces: Ints) -> Ints:
    a, b, c = points[faces.T]
    back = (b - a)[:, 0] * (c - a)[:, 1] < (b - a)[:, 1] * (c - a)[:, 0]
    return np.where(back[:, None], faces[:, ::-1], faces)


def _thick(a: Floats, b: Floats, c: Floats) -> Bools:
    double = np.abs((b - a)[:, 0] * (c - a)[:, 1] - (b - a)[:, 1] * (c - a)[:, 0])
    longest = np.max([((p - q) ** 2).sum(axis=1) for p, q in ((a, b), (b, c), (c, a))], axis=0)
    return np.asarray(double > _THIN * longest)
