"""Lay a curved patch of triangles flat with the least stretch and squeeze.

flat       the patch laid on the bench; seen from the side its triangles face, nothing is mirrored
stretch    length in the flat over length on the surface: 1.002 = the flat is 0.2 % longer there
strain     stretch less one, in the direction where it is greatest and in the one square to it
floor      the least strain any flat strip of a doubly curved surface can have

Method: start from the conformal map of Levy et al. 2002 ("least squares conformal maps"), written as one
complex unknown per corner; then the energy of Liu et al. 2008 ("a local/global approach to mesh
parameterization"), sum of area x squared strains, lowered by limited-memory quasi-Newton rounds
(Nocedal 1980) in which one factorised Laplacian plays the first Hessian; the plain local/global round is
the first of these steps.  Second start where the first one folds, and the first of fine meshes: turn of every
triangle carried along a tree of neighbours, then one Poisson solve (derived).  Fine meshes take more and cheaper
rounds (`laplace`).  A map w -> z of a triangle is split into z = a w + b conj(w): its stretches are |a| + |b| and
|a| - |b|, and a / |a| is its rotation.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any, TypeAlias

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import coo_array, csc_array, csr_array
from scipy.sparse.csgraph import breadth_first_order
from scipy.spatial import ConvexHull

from strakewright.arrays import Bools, Floats, Ints, frozen_array
from strakewright.geometry.arcs import arc_lengths, side_lengths
from strakewright.geometry.laplace import FINE, Solver, factorised, laplace_solver
from strakewright.geometry.meshes import Edges, edges
from strakewright.geometry.openness import check_mesh, open_borders

Complex: TypeAlias = NDArray[np.complex128]
Matrix: TypeAlias = Any  # scipy's sparse arrays carry no usable types

_THINNEST = 1e-6  # height of a triangle over its side; thinner ones are treated as this thick
_SLIVER = 1e-3  # height over longest side below which the strain of a triangle says nothing
_STILL = 1e-10  # a round that moves no corner by more than this part of the patch's size is the last
_LITTLE = 1e-3  # share of the energy: a round that gains less is the last
_WORTH = ((100_000, 6, 1e-4), (20_000, 2, 1e-2), (0, 0, 1e-2))
"""Corners above which so many rounds more are worth their time, and what a round must gain, of what rounding may hide:
with 250 000 corners strains were else 1.4 % from the least."""
_MEMORY = 8
_CYCLES = 4  # rounds for one, where the Laplacian is solved roughly


@dataclass(frozen=True, eq=False)
class Flat:
    """A patch laid flat.

    points : (n, 2) mm, middle at (0, 0), longest extent along x
    stretch : (m, 2) greatest and least stretch of each triangle;  direction : (m, 2) unit vector in the
        flat along the greatest
    area : (m,) mm2 of each triangle on the surface;  sound : (m,) False for slivers, whose strain is noise
    flipped : triangles that lie on their back, slivers aside
    """

    points: Floats
    stretch: Floats
    direction: Floats
    area: Floats
    sound: Bools
    flipped: int

    def __post_init__(self) -> None:
        for name, width in (("points", 2), ("stretch", 2), ("direction", 2)):
            object.__setattr__(self, name, frozen_array(getattr(self, name), (None, width), name))
        object.__setattr__(self, "area", frozen_array(self.area, (None,), "area"))

    @property
    def strain(self) -> Floats:
        """(m, 2) principal strains: stretch less one."""
        return self.stretch - 1.0

    @property
    def strain_max(self) -> float:
        """Largest principal strain of any sound triangle, stretch or squeeze, as a fraction."""
        return float(np.abs(self.strain[self.sound]).max(initial=0.0))

    @property
    def strain_rms(self) -> float:
        """Root of the area-weighted mean of the summed squares of both strains, as a fraction."""
        return float(np.sqrt((self.area @ (self.strain**2).sum(axis=1)) / self.area.sum()))


def flatten(vertices: Floats, triangles: Ints, *, rounds: int = 10, smooth: bool = True) -> Flat:
    """Lay one open patch flat.

    vertices : (n, 3) mm;  triangles : (m, 3) corner numbers, wound alike, every corner used
    rounds : most rounds of evening out, of large meshes a few more
    smooth : the mesh stands for the smooth surface through its corners (else for its own facets); areas and
    strains are reckoned accordingly
    Equal input gives equal output.  The flat is not mirrored: counter-clockwise stays so.  Holes are allowed.
    Raises InputError for arrays that are no mesh, UnworkableError for several pieces, closed surfaces, rings.
    """
    check_mesh(vertices, triangles)
    sides = (arc_lengths if smooth else side_lengths)(vertices, triangles)
    return flatten_sides(vertices, triangles, sides, rounds=rounds)


def flatten_sides(vertices: Floats, triangles: Ints, sides: Floats, *, rounds: int = 10) -> Flat:
    """As `flatten`, with the true length of every side given.  sides : (m, 3) mm opposite each corner"""
    check_mesh(vertices, triangles)
    net, corners = edges(triangles), _laid_out(sides)
    loops = open_borders(triangles, net, corners)
    task = _task(corners, triangles, vertices, loops)
    fine = len(vertices) > FINE  # its rounds cost little, but a conformal map wants factors
    more, least = next((more, least) for above, more, least in _WORTH if len(vertices) > above)
    most = _CYCLES * rounds if fine else rounds + more
    flat = _evened(task, _start(task, vertices, net, carried=fine), most, least)
    if _folds(task, flat):
        other = _evened(task, _start(task, vertices, net, carried=not fine), most, least)
        flat = min(flat, other, key=lambda z: (_folds(task, z), _energy(task, z)[0]))
    return _measured(task, _posed(flat, vertices, task.triangles, task.area))


def _start(task: _Task, vertices: Floats, net: Edges, *, carried: bool) -> Complex:
    return _carried(task, net) if carried else _conformal(task, vertices)


def squared_up(flat: Flat) -> Flat:
    """The flat turned so that the box about it is as small as can be, its longer side along x.

    Of boxes alike to 1e-9 the one that needs the least turn.
    """
    rim = flat.points[ConvexHull(flat.points).vertices] @ [1, 1j]
    angles = np.angle(rim - np.roll(rim, 1)) % (np.pi / 2)
    angles = np.where(angles > np.pi / 4, angles - np.pi / 2, angles)
    boxes = rim[:, None] * np.exp(-1j * angles)
    sizes = np.array([np.ptp(boxes.real, axis=0), np.ptp(boxes.imag, axis=0)])
    areas = sizes.prod(axis=0)
    near = np.flatnonzero(areas <= areas.min() * (1 + 1e-9))
    best = near[np.abs(angles[near]).argmin()]
    turn = angles[best] + (np.pi / 2 if sizes[1, best] > sizes[0, best] else 0.0)
    back = np.array([[np.cos(turn), -np.sin(turn)], [np.sin(turn), np.cos(turn)]])
    return replace(flat, points=flat.points @ back, direction=flat.direction @ back)


def strain_floor(curvature: float, width: float) -> float:
    """Least possible largest strain of a long strip, K w^2 / 16 (1/mm2, mm), as a fraction.

    >>> round(strain_floor(1 / 1500.0**2, 150.0), 6)
    0.000625
    """
    return abs(curvature) * width**2 / 16


def strip_strains(curvature: float, width: float) -> tuple[float, float]:
    """Strain at the edge and in the middle of a long strip laid flat: K w^2 / 12 and -K w^2 / 24.

    That is the flat of least squared strain, which leaves the strip's width alone.
    """
    return curvature * width**2 / 12, -curvature * width**2 / 24


def widest_strip(curvature: float, strain: float) -> float:
    """Width mm of the widest strip whose floor stays at `strain`; infinite on single curved surfaces."""
    return float("inf") if curvature == 0 else 4 * float(np.sqrt(strain / abs(curvature)))


# triangles in their own plane


def _laid_out(sides: Floats) -> Complex:
    """(m, 3) corners of each triangle in its own plane from its sides: first at 0, second on the x axis.

    Height by Kahan's formula, which holds for needles; a triangle without height is given a little.
    """
    longest = sides.max(axis=1)
    base = np.maximum(sides[:, 2], _THINNEST * longest)
    c, b, a = np.sort(sides, axis=1).T
    squared = (a + (b + c)) * np.maximum(c - (a - b), 0) * (c + (a - b)) * (a + (b - c))
    height = np.maximum(np.sqrt(squared) / (2 * base), _THINNEST * base)
    along = ((sides[:, 1] - sides[:, 0]) * (sides[:, 1] + sides[:, 0]) / base + base) / 2
    return np.column_stack([np.zeros(len(sides)), base, along + 1j * height]).astype(np.complex128)


# the work


@dataclass(frozen=True, eq=False)
class _Task:
    """What every round needs.

    similar : (m, n), giving 2 A a of z = a w + b conj(w), its conjugate 2 A b;  back : its transpose, conjugate;
    border : (k, 2) corners along the rings
    """

    triangles: Ints
    corners: Complex
    area: Floats
    laplacian: Matrix
    similar: Matrix
    back: Matrix
    border: Ints
    solver: Solver


def _task(corners: Complex, triangles: Ints, vertices: Floats, loops: tuple[Ints, ...]) -> _Task:
    """Matrices of a patch; the Laplacian is solved with corner 0 held."""
    count = len(vertices)
    side = np.roll(corners, 1, axis=1) - np.roll(corners, -1, axis=1)
    area = (corners[:, 1].conj() * corners[:, 2]).imag / 2
    where = (triangles.ravel(), np.arange(0, 3 * len(triangles) + 1, 3))
    shape = (len(triangles), count)
    similar = csr_array(((-0.5j * side.conj()).ravel(), *where), shape=shape)
    laplacian = _laplacian(side, area, triangles, count)
    solver = laplace_solver(laplacian[1:, 1:], vertices[1:])
    border = np.concatenate([np.column_stack([loop, np.roll(loop, -1)]) for loop in loops])
    return _Task(triangles, corners, area, laplacian, similar, similar.conj().T.tocsr(), border, solver)


def _laplacian(side: Complex, area: Floats, triangles: Ints, count: int) -> Matrix:
    """(n, n) of the dot products of the triangles' sides over four times their areas."""
    small, itself = triangles.astype(np.int32), np.arange(count, dtype=np.int32)
    one, other = np.array([0, 1, 2]), np.array([1, 2, 0])
    x, y = side.real, side.imag
    apart = (x[:, one] * x[:, other] + y[:, one] * y[:, other]) / (4 * area)[:, None]
    own = np.bincount(triangles.ravel(), ((x * x + y * y) / (4 * area)[:, None]).ravel(), count)
    rows, columns = small[:, one].ravel(), small[:, other].ravel()
    where = (np.concatenate([rows, columns, itself]), np.concatenate([columns, rows, itself]))
    return csc_array((np.concatenate([apart.ravel(), apart.ravel(), own]), where), shape=(count, count))


def _poisson(solve: Callable[[Floats], Floats], right: Complex) -> Complex:
    """Corners whose Laplacian is `right`, corner 0 at 0."""
    answer = solve(np.column_stack([right.real[1:], right.imag[1:]]))
    return np.concatenate([[0], answer[:, 0] + 1j * answer[:, 1]])


def _conformal(task: _Task, vertices: Floats) -> Complex:
    """Least squares conformal map, scaled to the best mean size; two far corners held.

    Its energy, 4 A |b|^2 summed, is the Laplacian's less twice the area that the border rings enclose in the flat.
    """
    start, end = task.border.T
    turn = np.full(len(start), 0.5j)
    where = (np.concatenate([start, end]), np.concatenate([end, start]))
    energy = csc_array(task.laplacian + csc_array((np.concatenate([turn, -turn]), where), shape=task.laplacian.shape))
    spread = vertices - vertices.mean(axis=0)
    along = spread @ np.linalg.eigh(spread.T @ spread)[1][:, 2]
    held = np.array([along.argmin(), along.argmax()])
    free = np.setdiff1d(np.arange(len(vertices)), held)
    flat = np.zeros(len(vertices), dtype=complex)
    flat[held] = along[held]
    inner = energy[free]
    flat[free] = factorised(inner[:, free]).solve(-(inner[:, held] @ flat[held]))
    size = np.vdot(flat, task.laplacian @ flat).real
    return np.asarray(flat * (np.abs(task.similar @ flat).sum() / size))


def _carried(task: _Task, net: Edges) -> Complex:
    """Start from turns carried from triangle to triangle outwards from the middle one."""
    count, (one, other) = len(task.area), net.faces[net.inner].T
    turn = _along(task, net, one) / _along(task, net, other)
    links: Matrix = coo_array(
        (np.concatenate([turn, 1 / turn]), (np.concatenate([one, other]), np.concatenate([other, one]))),
        shape=(count, count),
    ).tocsr()
    middle = _middle(links)
    _, parent = breadth_first_order(abs(links), middle, directed=False)
    parent[middle] = middle
    turns = np.asarray(links[parent, np.arange(count)]).ravel()
    turns[middle] = 1
    while (parent != parent[parent]).any():
        turns, parent = turns * turns[parent], parent[parent]
    return _poisson(task.solver.solve, task.back @ (turns / np.abs(turns)))


def _along(task: _Task, net: Edges, face: Ints) -> Complex:
    """Inner edges as seen in the plane of their neighbour `face`."""
    low, high = net.ends[net.inner].T
    row, ring = np.arange(len(face)), task.triangles[face]
    places = task.corners[face]
    return np.asarray(
        places[row, (ring == high[:, None]).argmax(axis=1)] - places[row, (ring == low[:, None]).argmax(axis=1)]
    )


def _middle(links: Matrix) -> int:
    """A triangle half way along the longest chain of neighbours (found from both its ends)."""
    first, _ = breadth_first_order(abs(links), 0, directed=False)
    order, parent = breadth_first_order(abs(links), int(first[-1]), directed=False)
    chain = [int(order[-1])]
    while parent[chain[-1]] >= 0:
        chain.append(int(parent[chain[-1]]))
    return chain[len(chain) // 2]


def _energy(task: _Task, flat: Complex) -> tuple[float, Complex]:
    """Sum of area x squared strains, and the gradient."""
    similar, pulled = task.similar @ flat, task.laplacian @ flat
    size = np.abs(similar)
    value = np.vdot(flat, pulled).real - 2 * size.sum() + 2 * task.area.sum()
    turns = np.divide(similar, size, out=np.ones_like(similar), where=size > 0)
    return float(value), np.asarray(pulled - task.back @ turns)


def _evened(task: _Task, flat: Complex, rounds: int, least: float) -> Complex:
    """Quasi-Newton rounds from `flat`; never a step that raises the energy."""
    value, slope = _energy(task, flat)
    memory: list[tuple[Complex, Complex, float]] = []
    still, noise = _STILL * np.abs(flat).max(), 1e-12 * task.area.sum()
    for _ in range(rounds):
        step = -_quasi_newton(task, slope, memory)
        if -(fall := 2 * np.vdot(slope, step).real) < min(noise, max(least * noise, _LITTLE * value)):
            break
        share = 1.0
        while (trial := _energy(task, flat + share * step))[0] > value + 1e-4 * share * fall + noise:
            share /= 2
            if share < 1e-4:
                return flat
        change, (value, new_slope) = share * step, trial
        grown = float(np.vdot(change, new_slope - slope).real)
        if grown > 0:
            memory = [*memory[1 - _MEMORY :], (change, new_slope - slope, 1 / grown)]
        flat, slope = flat + change, new_slope
        if np.abs(change).max() < still:
            break
    return flat


def _quasi_newton(task: _Task, slope: Complex, memory: list[tuple[Complex, Complex, float]]) -> Complex:
    """Two-loop recursion: the remembered steps' inverse Hessian times `slope`."""
    kept = []
    for step, change, scale in reversed(memory):
        kept.append(scale * np.vdot(step, slope).real)
        slope = slope - kept[-1] * change
    answer = _poisson(task.solver.near, slope)
    for (step, change, scale), share in zip(memory, reversed(kept), strict=True):
        answer = answer + step * (share - scale * np.vdot(change, answer).real)
    return answer


# what came out


def _parts(task: _Task, flat: Complex) -> tuple[Complex, Complex]:
    """a and b of every triangle's map z = a w + b conj(w)."""
    twice = 2 * task.area
    return (task.similar @ flat) / twice, (task.similar @ flat.conj()).conj() / twice


def _sound(task: _Task) -> Bools:
    """(m,) True for triangles that are no slivers."""
    sides = np.abs(task.corners - np.roll(task.corners, 1, axis=1))
    return np.asarray(2 * task.area > _SLIVER * sides.max(axis=1) ** 2)


def _folds(task: _Task, flat: Complex) -> int:
    """Sound triangles that lie on their back."""
    a, b = _parts(task, flat)
    return int(np.count_nonzero((np.abs(a) <= np.abs(b)) & _sound(task)))


def _measured(task: _Task, flat: Complex) -> Flat:
    """The flat with its strains."""
    a, b = _parts(task, flat)
    stretch, lean = np.column_stack([np.abs(a) + np.abs(b), np.abs(a) - np.abs(b)]), (np.angle(a) + np.angle(b)) / 2
    direction = np.column_stack([np.cos(lean), np.sin(lean)])
    points = np.column_stack([flat.real, flat.imag])
    return Flat(points, np.abs(stretch), direction, task.area, _sound(task), _folds(task, flat))


def _posed(flat: Complex, vertices: Floats, triangles: Ints, area: Floats) -> Complex:
    """Middle at 0, longest extent along x, pointing the way the surface's longest coordinate grows."""
    weight = np.bincount(triangles.ravel(), np.repeat(area, 3)) / (3 * area.sum())
    flat = flat - weight @ flat
    axis = np.sqrt(np.sum(weight * flat**2))
    flat = flat / (axis / abs(axis)) if abs(axis) > 0 else flat
    guide = vertices[:, np.ptp(vertices, axis=0).argmax()]
    return -flat if np.sum(weight * flat.real * (guide - weight @ guide)) < 0 else flat
