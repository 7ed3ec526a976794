"""Damage to corners and triangles: torn, doubled, turned, missing, shifted apart."""

from __future__ import annotations

from typing import Any

import numpy as np

from strakewright.arrays import Floats, Ints
from strakewright.geometry.meshes import edges
from tests.bench.damaged import Clean, Damaged, Rng, both_sides, own, together


def unwelded(hull: Clean, rng: Rng) -> Damaged:
    """Every triangle with corners of its own, in single precision, shuffled."""
    vertices, triangles = hull.whole
    return Damaged((vertices, rng.permutation(triangles)), kind="stl")


def slivers(hull: Clean, rng: Rng) -> Damaged:
    """A fifth of the triangles split at a point two hundredths of a millimetre from one of their corners."""
    vertices, triangles = hull.whole
    pick = rng.random(len(triangles)) < 0.2
    a, b, c = (vertices[triangles[pick, k]] for k in range(3))
    way = b + rng.uniform(0.2, 0.8, (len(a), 1)) * (c - b) - a
    new = a + 0.02 * way / np.linalg.norm(way, axis=1, keepdims=True)
    number = len(vertices) + np.arange(len(new))
    i, j, k = triangles[pick].T
    pieces = np.concatenate([np.stack(p, axis=1) for p in ((i, j, number), (j, k, number), (k, i, number))])
    return Damaged((np.concatenate([vertices, new]), np.concatenate([triangles[~pick], pieces])))


def repeated(hull: Clean, rng: Rng) -> Damaged:
    """A tenth of the triangles given again, half of these turned over."""
    vertices, triangles = hull.whole
    again = triangles[rng.random(len(triangles)) < 0.1]
    flip = rng.random(len(again)) < 0.5
    return Damaged((vertices, np.concatenate([triangles, np.where(flip[:, None], again[:, ::-1], again)])))


def twice(hull: Clean, rng: Rng) -> Damaged:
    """The whole skin exported twice, with corners of its own."""
    vertices, triangles = hull.whole
    return Damaged((np.concatenate([vertices, vertices]), np.concatenate([triangles, triangles + len(vertices)])))


def degenerate(hull: Clean, rng: Rng) -> Damaged:
    """Triangles whose corners fall together or lie in one line."""
    vertices, triangles = hull.whole
    some = triangles[rng.choice(len(triangles), 60, replace=False)]
    point = some[:, [0, 1, 1]]
    middle = vertices[some[:, :2]].mean(axis=1)
    line = np.stack([some[:, 0], len(vertices) + np.arange(len(some)), some[:, 1]], axis=1)
    return Damaged((np.concatenate([vertices, middle]), np.concatenate([triangles, point, line])))


def turned(hull: Clean, rng: Rng) -> Damaged:
    """Two triangles of five turned over."""
    vertices, triangles = hull.whole
    flip = rng.random(len(triangles)) < 0.4
    return Damaged((vertices, np.where(flip[:, None], triangles[:, ::-1], triangles)))


def one_side_turned(hull: Clean, rng: Rng) -> Damaged:
    """The starboard side turned inside out."""
    vertices, triangles = hull.whole
    flip = vertices[triangles, 1].mean(axis=1) < 0
    return Damaged((vertices, np.where(flip[:, None], triangles[:, ::-1], triangles)))


def holes(hull: Clean, rng: Rng) -> Damaged:
    """Three small holes of one to three triangles, away from all borders."""
    vertices, triangles = hull.half
    gone: set[int] = set()
    net = edges(triangles)
    border = np.zeros(len(vertices), dtype=bool)
    border[net.ends[net.border].ravel()] = True
    fold = _folds(vertices, triangles, net)
    border[net.ends[net.inner & (fold > np.radians(3))].ravel()] = True
    inner = np.flatnonzero(~border[triangles].any(axis=1))
    for first in rng.choice(inner, 3, replace=False):
        gone.add(int(first))
        beside = net.faces[net.inner][(net.faces[net.inner] == first).any(axis=1)].ravel()
        gone |= {int(t) for t in beside[: rng.integers(0, 4)] if t in inner}
    half = vertices, np.delete(triangles, sorted(gone), axis=0)
    return Damaged(both_sides(half), refusal=("hole",))


def hole_at_chine(hull: Clean, rng: Rng) -> Damaged:
    """Two to four triangles missing on both sides of the chine."""
    vertices, triangles = hull.half
    net = edges(triangles)
    x = vertices[net.ends, 0].mean(axis=1) - vertices[:, 0].min()
    along = (x > 0.1 * np.ptp(vertices[:, 0])) & (x < 0.8 * np.ptp(vertices[:, 0]))
    chine = np.flatnonzero(net.inner & along & (_folds(vertices, triangles, net) > np.radians(10)))
    gone = {int(f) for f in net.faces[rng.choice(chine)]}
    for face in sorted(gone)[: rng.integers(0, 3)]:
        beside = net.faces[net.inner][(net.faces[net.inner] == face).any(axis=1)].ravel()
        gone.add(int(rng.choice(beside)))
    return Damaged(both_sides((vertices, np.delete(triangles, sorted(gone), axis=0))), refusal=("hole",))


def _folds(vertices: Floats, triangles: Ints, net: Any) -> Floats:
    from strakewright.geometry.meshes import dihedral_fold

    return dihedral_fold(vertices, triangles, net)


def large_hole(hull: Clean, rng: Rng) -> Damaged:
    """A hole of 400 mm in the side or the bottom."""
    vertices, triangles = hull.half
    middle = vertices[triangles].mean(axis=1)
    x = vertices[:, 0].min() + rng.uniform(0.3, 0.5) * np.ptp(vertices[:, 0])
    chine, sheer = (vertices[self_at] for self_at in (hull.chain("keel"), hull.chain("sheer")))
    foot, top = (line[np.argmin(np.abs(line[:, 0] - x))] for line in (chine, sheer))
    side = hull.truth.panels[-1].in_space(hull.truth.panels[-1].lower)
    corner = side[np.argmin(np.abs(side[:, 0] - x))]
    centre = (corner + top) / 2 if rng.random() < 0.5 else (corner + foot) / 2
    keep = np.linalg.norm(middle - centre, axis=1) > 190.0
    return Damaged(both_sides((vertices, triangles[keep])), refusal=("hole",))


def t_junctions(hull: Clean, rng: Rng) -> Damaged:
    """A tenth of the inner edges divided on one side only: the neighbour does not share the new corner."""
    vertices, triangles = hull.half
    net = edges(triangles)
    used: set[int] = set()
    new_points, new_faces, gone = [], [], set()
    for edge in rng.permutation(np.flatnonzero(net.inner))[: len(triangles) // 10]:
        face = int(net.faces[edge, 0])
        if face in used:
            continue
        used |= {int(f) for f in net.faces[edge]}
        a, b = net.ends[edge]
        apex = next(int(c) for c in triangles[face] if c not in (a, b))
        at = list(triangles[face]).index(apex)
        p, q = triangles[face, (at + 1) % 3], triangles[face, (at + 2) % 3]
        number = len(vertices) + len(new_points)
        new_points.append(vertices[[a, b]].mean(axis=0))
        new_faces += [[apex, p, number], [apex, number, q]]
        gone.add(face)
    rest = np.delete(triangles, sorted(gone), axis=0)
    placed = hull.onto(np.array(new_points))
    return Damaged(both_sides((np.concatenate([vertices, placed]), np.concatenate([rest, new_faces]))))


def chine_apart(hull: Clean, rng: Rng) -> Damaged:
    """Bottom and side meshed one by one: along the chine corners of their own, the two lines up to 0.06 mm apart."""
    from strakewright.geometry.meshes import components

    vertices, triangles = hull.half
    net = edges(triangles)
    label = components(len(triangles), net, _folds(vertices, triangles, net) < np.radians(5))
    parts = []
    for piece in np.unique(label):
        used, own = np.unique(triangles[label == piece], return_inverse=True)
        moved = vertices[used] + (rng.uniform(-0.03, 0.03, (len(used), 3)) if piece else 0.0)
        moved[vertices[used, 1] == 0.0, 1] = 0.0
        parts.append((moved, own.reshape(-1, 3)))
    return Damaged(both_sides(together(*parts)))


def gap_at_chine(hull: Clean, rng: Rng) -> Damaged:
    """The side moved out by 15 mm: the skin is open along the chine."""
    from strakewright.geometry.meshes import components

    vertices, triangles = hull.half
    net = edges(triangles)
    label = components(len(triangles), net, _folds(vertices, triangles, net) < np.radians(5))
    middle = [vertices[triangles[label == k], 2].mean() for k in range(label.max() + 1)]
    upper = label == int(np.argmax(middle))
    side = own(vertices, triangles[upper])
    bottom = own(vertices, triangles[~upper])
    return Damaged(
        both_sides(together(bottom, (side[0] + [0.0, 15.0, 15.0], side[1]))),
        refusal=("pieces", "chine", "join", "border", "crease"),
    )
