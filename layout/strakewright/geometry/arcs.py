"""True lengths on the smooth surface that a mesh was taken from.

chord     straight side of a triangle: always a little short of the surface it cuts through
arc       length along the smooth surface between the same two corners
slope     angle between a chord and the surface at one of its ends
trust     1 where the corners near by lie on one smooth surface, 0 at a fold or in noise

A flat made from chords is short: 0.3 mm on a 4 m cone of 5 000 triangles, 0.0008 mm from arcs.

Method: tangent plane at each corner from a least squares quadric through the corner and its neighbours'
neighbours; a side becomes a cubic with the slopes m, n at its ends, so arc = chord (1 + (2 m^2 + 2 n^2 - m n)
/ 30) (derived; for a circle m = -n and this is its series).  Trust falls from 1 to 0 as the misfit of the
quadric grows from a 25th to a tenth of its own sagitta, and where long thin triangles leave the quadric
undecided: corners on two border circles alone fit a cone and a sphere alike.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from scipy.sparse import csr_array

from strakewright.arrays import Floats, Ints
from strakewright.geometry.meshes import double_areas, unit_rows

_SMOOTH, _ROUGH = 0.04, 0.1  # misfit over sagitta where trust begins and ends to fall
_LOOSE, _FIRM = 1e-4, 4e-4  # firmness where trust begins and ends to rise; needles stay below
_TILT = 1.5  # a normal strays at most this far, in leans of the triangles about it
_POINT = 1e-30  # mm, against dividing by nothing where corners lie in one place
_BLOCK = 1024  # corners fitted at once: what they need stays close to the processor
_STEEPEST = 0.5  # rad; a chord that meets the surface more steeply than this is no small chord


def side_lengths(vertices: Floats, triangles: Ints) -> Floats:
    """(m, 3) mm chord opposite each corner."""
    a, b, c = vertices[triangles.T]
    return np.column_stack([np.linalg.norm(side, axis=1) for side in (c - b, a - c, b - a)])


def arc_lengths(vertices: Floats, triangles: Ints, smooth: Smooth | None = None) -> Floats:
    """(m, 3) mm arc opposite each corner; the chord where the corners lie on no smooth surface.

    vertices : (n, 3) mm, each used by a triangle;  triangles : (m, 3);  smooth : its surface, if at hand

    >>> turn, rise = np.meshgrid(np.arange(9) / 10, [0.0, 100.0, 200.0])        # on a pipe of 1 m radius
    >>> pipe = np.column_stack([1000 * np.sin(turn.ravel()), rise.ravel(), 1000 * np.cos(turn.ravel())])
    >>> left = np.concatenate([np.arange(8), np.arange(9, 17)])
    >>> halves = np.concatenate([np.array([0, 9, 1]) + left[:, None], np.array([1, 9, 10]) + left[:, None]])
    >>> arcs, chords = arc_lengths(pipe, halves)[0, 1], side_lengths(pipe, halves)[0, 1]
    >>> print(f"{chords:.4f} {arcs:.4f}")
    99.9583 100.0004
    """
    surface = smooth or smooth_surface(vertices, triangles)
    return _arcs(vertices, triangles, surface.normals, surface.trust)


def arc_lengths_on(vertices: Floats, triangles: Ints, normals: Floats) -> Floats:
    """As `arc_lengths`, the surface's unit normals (n, 3) at the corners being known."""
    return _arcs(vertices, triangles, normals, np.ones(len(vertices)))


def _arcs(vertices: Floats, triangles: Ints, normals: Floats, trust: Floats) -> Floats:
    places, ways = np.ascontiguousarray(vertices.T), np.ascontiguousarray(normals.T)
    sides = [(triangles[:, i], triangles[:, j]) for i, j in ((1, 2), (2, 0), (0, 1))]
    return np.column_stack([_arc(places, ways, trust, *ends) for ends in sides])


def _arc(places: Floats, ways: Floats, trust: Floats, start: Ints, end: Ints) -> Floats:
    """(m,) mm along the surface between corners.  places, ways : (3, n) corners and their normals"""
    x, y, z = (column[end] - column[start] for column in places)
    chord = np.sqrt(x * x + y * y + z * z)
    rise = [(u[at] * x + v[at] * y + w[at] * z) / (chord + _POINT) for u, v, w in [ways] for at in (start, end)]
    m, n = (-np.arcsin(np.clip(sine, -_STEEPEST, _STEEPEST)) for sine in rise)
    small = np.maximum(np.abs(rise[0]), np.abs(rise[1])) < _STEEPEST
    gain = np.where(small, (2 * m * m + 2 * n * n - m * n) / 30, 0.0)
    return np.asarray(chord * (1 + np.minimum(trust[start], trust[end]) * gain))


@dataclass(frozen=True, eq=False)
class Smooth:
    """The smooth surface at every corner of a mesh.

    normals : (n, 3) unit;  trust : (n,) 0 to 1;  gauss : (n,) product of the principal curvatures, 1/mm2
    form : (n, 5) slopes p, q and curvatures r, s, t of the quadric, 1/mm, in a frame of its own;
    frame : (n, 2, 3) its axes
    """

    normals: Floats
    trust: Floats
    gauss: Floats
    form: Floats
    frame: Floats

    def principal(self) -> tuple[Floats, Floats]:
        """(n, 2) principal curvatures 1/mm, the greater in size first, and (n, 3) unit directions of the lesser one."""
        p, q, r, s, t = self.form.T
        metric = np.stack([np.stack([1 + p * p, p * q], axis=1), np.stack([p * q, 1 + q * q], axis=1)], axis=1)
        second = np.stack([np.stack([r, s], axis=1), np.stack([s, t], axis=1)], axis=1)
        steep = np.sqrt(1 + p * p + q * q)
        shape = np.linalg.solve(metric, second) / steep[:, None, None]
        mean = (shape[:, 0, 0] + shape[:, 1, 1]) / 2
        product = shape[:, 0, 0] * shape[:, 1, 1] - shape[:, 0, 1] * shape[:, 1, 0]
        root = np.sqrt(np.maximum(mean * mean - product, 0.0))
        great = mean + np.where(mean < 0, -root, root)
        small = 2 * mean - great
        rows = shape - great[:, None, None] * np.eye(2)  # its columns lie along the lesser direction
        longer = np.abs(rows[:, :, 0]).sum(axis=1) > np.abs(rows[:, :, 1]).sum(axis=1)
        column = np.where(longer[:, None], rows[:, :, 0], rows[:, :, 1])
        climb = (column * self.form[:, :2]).sum(axis=1, keepdims=True)
        way = np.einsum("nk,nkd->nd", column, self.frame) + climb * np.cross(self.frame[:, 0], self.frame[:, 1])
        size = np.linalg.norm(way, axis=1, keepdims=True)
        return np.stack([great, small], axis=1), np.asarray(way / np.maximum(size, 1e-30))


def smooth_surface(vertices: Floats, triangles: Ints) -> Smooth:
    """The quadrics that best fit the neighbourhood of each corner.  vertices : (n, 3), triangles : (m, 3)"""
    doubled = double_areas(vertices, triangles)
    normals = _mean_normals(triangles, doubled, len(vertices))
    across = np.eye(3)[np.abs(normals).argmin(axis=1)]
    x_axis = np.cross(normals, across)
    x_axis /= np.linalg.norm(x_axis, axis=1, keepdims=True)
    y_axis = np.asarray(np.cross(normals, x_axis), dtype=np.float64)
    near, axes = _Near.of(triangles, len(vertices)), (x_axis, y_axis, normals)
    places = np.ascontiguousarray(vertices.T)
    blocks = [_fitted(near, places, axes, start) for start in range(0, len(vertices), _BLOCK)]
    quadric, misfit, firmness, radius = (np.concatenate(each) for each in zip(*blocks, strict=True))
    slope = quadric[:, :2]
    tilted = normals - slope[:, :1] * x_axis - slope[:, 1:] * y_axis
    sagitta = np.sqrt(quadric[:, 2] ** 2 + 2 * quadric[:, 3] ** 2 + quadric[:, 4] ** 2) / 2
    trust = _fade(misfit, _ROUGH * sagitta, _SMOOTH * sagitta) * _fade(firmness, _LOOSE, _FIRM)
    trust *= np.hypot(slope[:, 0], slope[:, 1]) <= _TILT * _spread(triangles, unit_rows(doubled), normals)
    steep = 1 + (slope**2).sum(axis=1)
    gauss = (quadric[:, 2] * quadric[:, 4] - quadric[:, 3] ** 2) / (steep * radius) ** 2
    form = np.column_stack([slope, quadric[:, 2:5] / radius[:, None]])
    frame = np.stack([x_axis, y_axis], axis=1)
    return Smooth(tilted / np.sqrt(steep)[:, None], trust, gauss, form, frame)


def _fitted(near: _Near, places: Floats, axes: tuple[Floats, ...], start: int) -> tuple[Floats, ...]:
    """Coefficients (k, 5), misfit, firmness and radius in mm (k,) of the quadrics about a block of corners."""
    some = slice(start, start + _BLOCK)
    mine = near.block(some)
    x, y, z = mine.seen(places, some, axes)
    radius = np.sqrt(mine.total(x * x + y * y) / np.maximum(mine.count - 1, 1)) + _POINT
    scale = mine.each(1 / radius)
    return (*_quadrics(mine, x * scale, y * scale, z * scale), radius)


def _fade(value: Floats, none: Floats | float, full: Floats | float) -> Floats:
    """0 at `none`, 1 at `full`, straight between."""
    span = np.where(np.equal(full, none), -1.0, np.subtract(full, none))
    return np.asarray(np.clip((value - none) / span, 0.0, 1.0))


def _spread(triangles: Ints, face: Floats, normals: Floats) -> Floats:
    """(n,) widest angle, rad, between a corner's normal and a triangle's (m, 3), over the corner's neighbourhood."""
    near = np.zeros((2, len(normals)))
    for corner in triangles.T:
        apart = face - normals[corner]
        np.maximum.at(near[0], corner, np.einsum("ij,ij->i", apart, apart))
    widest = near[0][triangles].max(axis=1)
    for corner in triangles.T:
        np.maximum.at(near[1], corner, widest)
    return np.asarray(2 * np.arcsin(np.minimum(np.sqrt(near[1]) / 2, 1.0)))


def _mean_normals(triangles: Ints, doubled: Floats, corners: int) -> Floats:
    """(n, 3) unit normals as the area-weighted mean of the triangles round a corner.

    doubled : (m, 3) normals as long as twice the triangles' areas
    """
    total = np.column_stack([np.bincount(triangles.ravel(), np.repeat(each, 3), corners) for each in doubled.T])
    length = np.linalg.norm(total, axis=1, keepdims=True)
    return np.where(length > 0, total / np.where(length > 0, length, 1), [0.0, 0.0, 1.0])


@dataclass(frozen=True, eq=False)
class _Near:
    """Pairs of corners up to two sides apart, sorted by the first; every corner is its own neighbour too.

    other : (k,) second corner;  first : (n,) where the pairs of each corner begin;  count : (n,) how many
    """

    other: Ints
    first: Ints
    count: Ints

    @classmethod
    def of(cls, triangles: Ints, corners: int) -> _Near:
        """The pairs of a mesh that uses all its corners."""
        small = triangles.astype(np.int32)
        start, end, itself = small.ravel(), np.roll(small, 1, axis=1).ravel(), np.arange(corners, dtype=np.int32)
        pairs = (np.concatenate([start, end, itself]), np.concatenate([end, start, itself]))
        once: Any = csr_array((np.ones(len(pairs[0]), dtype=np.float32), pairs), shape=(corners, corners))
        twice = once @ once
        return cls(twice.indices, twice.indptr[:-1], np.diff(twice.indptr))

    def each(self, values: Floats) -> Floats:
        """(k,) the value of each pair's first corner."""
        return np.repeat(values, self.count)

    def total(self, values: Floats) -> Floats:
        """(n,) sum over the pairs of each corner."""
        return np.add.reduceat(values, self.first)

    def block(self, some: slice) -> _Near:
        """The pairs of some first corners."""
        first, count = self.first[some], self.count[some]
        return _Near(self.other[first[0] : first[-1] + count[-1]], first - first[0], count)

    def seen(self, places: Floats, some: slice, axes: tuple[Floats, ...]) -> list[Floats]:
        """(k,) coordinates of each pair's other corner along the axes (n, 3) of its first, one of `some`.

        places : (3, n) mm of all corners
        """
        spans = [column[self.other] - self.each(column[some]) for column in places]
        parts = ([span * self.each(way) for span, way in zip(spans, axis[some].T, strict=True)] for axis in axes)
        return [a + b + c for a, b, c in parts]


def _quadrics(near: _Near, x: Floats, y: Floats, z: Floats) -> tuple[Floats, Floats, Floats]:
    """Best z = p x + q y + r x^2/2 + s x y + t y^2/2 about each corner.

    x, y, z : (k,) of each pair, in radii of the neighbourhood; near corners weigh more
    Returns (n, 5) coefficients, (n,) misfit and (n,) firmness: how far the corners near by are from leaving the
    quadric undecided (least eigenvalue of the scaled normal matrix, within a factor of 5 below).
    """
    far = x * x + y * y
    weight = np.where(far > 0, 1 / (far + 0.05), 0.0)
    terms = (x, y, x * x / 2, x * y, y * y / 2)
    weighed = [weight * term for term in terms]
    square = [[near.total(w * term) for term in terms[: i + 1]] for i, w in enumerate(weighed)]
    right = [near.total(w * z) for w in weighed]
    scale = [1 / np.sqrt(np.maximum(row[i], 1e-30)) for i, row in enumerate(square)]
    evened = [[square[i][j] * scale[i] * scale[j] + 1e-9 * (i == j) for j in range(i + 1)] for i in range(5)]
    inner, trace = _solved(evened, [b * c for b, c in zip(right, scale, strict=True)])
    found = [a * b for a, b in zip(inner, scale, strict=True)]
    met = sum(a * b for a, b in zip(found, right, strict=True))
    misfit = np.sqrt(np.maximum(near.total(weight * z * z) - met, 0.0) / (near.total(weight) + _POINT))
    return np.stack(found, axis=1), misfit, 1 / trace


def _solved(square: list[list[Floats]], right: list[Floats]) -> tuple[list[Floats], Floats]:
    """Solutions of many small symmetric systems at once, and the traces of their inverses.

    square : rows of the lower half, each entry (n,);  right : (n,) each.  Cholesky, one entry for all systems at a time
    """
    size = len(right)
    lower: list[list[Floats]] = []
    for i, row in enumerate(square):
        lower.append([])
        for j in range(i):
            done = row[j] - sum(lower[i][k] * lower[j][k] for k in range(j))
            lower[i].append(done / lower[j][j])
        lower[i].append(np.sqrt(np.maximum(row[i] - sum(entry**2 for entry in lower[i]), 1e-15)))
    turned: list[list[Floats]] = []  # the inverse of the lower half
    for i in range(size):
        row = [-sum(lower[i][k] * turned[k][j] for k in range(j, i)) / lower[i][i] for j in range(i)]
        turned.append([*row, 1 / lower[i][i]])
    half = [np.asarray(sum(turned[i][j] * right[j] for j in range(i + 1))) for i in range(size)]
    answer = [np.asarray(sum(turned[i][j] * half[i] for i in range(j, size))) for j in range(size)]
    return answer, np.asarray(sum(entry**2 for row in turned for entry in row))
