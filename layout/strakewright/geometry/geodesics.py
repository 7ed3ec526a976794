"""Seams that run true: geodesics, and the base curve of a family of seams.

geodesic   a line on the skin that does not bend sideways: a batten laid flat takes it
base curve the line a family of parallel seams starts from, run along by its true length s (mm)

Method: geodesic equation (M. do Carmo, Differential Geometry of Curves and Surfaces) by Gauss collocation of order
six, each step in E. Picard's rounds (E. Hairer, S. Norsett, G. Wanner, Solving Ordinary Differential Equations I).
Quintic splines through the nodes.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from strakewright.arrays import Floats
from strakewright.errors import UnworkableError
from strakewright.geometry import quick
from strakewright.geometry.curves import arc_length, drawn_through, without_repeats
from strakewright.geometry.drawn import Drawn, interpolant
from strakewright.geometry.surface import Metric, Patch

STEP = 20.0
FADING, LIVELY, CLOSE = 400.0, 1e-6, 10.0
SWUNG, TIGHTEST = 0.06, 1 / 400  # radians at most that a line still swings past its end; 1/mm, its tightest bend there
SETTLED = 1e-9  # mm of the last step to a place by true length
NODES, WEIGHTS = np.polynomial.legendre.leggauss(5)
SHOTS = 12


@dataclass(frozen=True)
class Local:
    """What a line feels at its points: the metric and the covariant part of its acceleration."""

    forms: Metric
    gamma: Floats


def local(patch: Patch, pq: Floats, v: Floats) -> Local:
    """gamma : (n, 2) Christoffel term of velocity v: a geodesic has v' = -gamma.  pq, v : (n, 2)

    Past the patch's box all bends fade out, so that lines that run far off stay harmless straight lines.
    """
    found = np.empty((len(pq), 6))
    quick.felt(patch.tables, _rows(pq), _rows(v), found)
    return Local(Metric(*found[:, :4].T), found[:, 4:])


def _rows(values: Floats) -> Floats:
    return np.array(values, dtype=np.float64, order="C")


def _drawn_on(
    patch: Patch,
    start: Floats,
    way: Floats,
    steps: Floats,
    bends: Floats | None = None,
    most: float = quick.SHARPEST,
) -> Floats:
    """(m + 1, k, 2) chart points of k lines after each of m equal steps.

    start, way : (k, 2) first points and unit velocities;  steps : (m, k) mm, all of one line alike
    bends : (m, 3, k) sideways curvature at the Gauss points of each step, None = geodesics;  most : see `geodesics`
    """
    found = np.empty((len(steps) + 1, *start.shape))
    bends = np.empty((0, 3, 0)) if bends is None else _rows(bends)
    quick.drawn(patch.tables, np.concatenate([start, way], axis=1), _rows(steps[0]), bends, most, found)
    return found


def even_steps(length: float, step: float, least: int = 1) -> Floats:
    """Equal steps no longer than `step` that make up `length`."""
    count = max(least, int(np.ceil(abs(length) / step - 1e-9)))
    return np.full(count, length / count)


def sums(steps: Floats) -> Floats:
    return np.concatenate([[0.0], np.cumsum(steps)])


def geodesic(patch: Patch, start: Floats, direction: Floats, length: float, *, step: float = STEP) -> Floats:
    """(n, 2) chart points of one geodesic at equal distances, first = start, last `length` mm away.

    start : (2,);  direction : (2,) chart vector of any length.  Error about 1e-6 mm a metre.
    """
    return geodesics(patch, np.atleast_2d(start), np.atleast_2d(direction), length, step=step)[:, 0]


def geodesics(
    patch: Patch, start: Floats, direction: Floats, length: float, *, step: float = STEP, most: float = quick.SHARPEST
) -> Floats:
    """(n, k, 2) chart points of k geodesics at once;  start, direction : (k, 2).

    most : 1/mm that they turn in the chart; where a skin carried on past its border folds they would turn at once
    """
    speed = local(patch, start, direction).forms.length(direction)
    steps = np.tile(even_steps(length, step)[:, None], len(start))
    return _drawn_on(patch, start, direction / speed[:, None], steps, most=most)


def geodesics_between(patch: Patch, start: Floats, stop: Floats, *, step: float = STEP) -> list[Floats]:
    """Geodesics from each of (k, 2) chart points to its fellow: one (n, 2) array each, ends included.

    Shooting: the direction is turned by the angle the last shot missed by.  Raises UnworkableError where none is found.
    """
    way, turn = stop - start, np.zeros(len(start))
    length = 1.02 * float(np.linalg.norm(patch.at(stop) - patch.at(start), axis=-1).max()) + 4.0 * step
    shots = 0
    while True:
        shots += 1
        c, s = np.cos(turn), np.sin(turn)
        aimed = np.stack([c * way[:, 0] - s * way[:, 1], s * way[:, 0] + c * way[:, 1]], axis=-1)
        paths = geodesics(patch, start, aimed, length, step=step)
        ends = [_nearest(paths[:, k], stop[k]) for k in range(len(start))]
        miss = np.array([side for _, side, _ in ends]) / np.linalg.norm(way, axis=-1)
        if np.abs(miss).max() < 1e-9 or shots == SHOTS:
            break
        turn = turn + miss
    if np.abs(miss).max() > 1e-6:
        raise UnworkableError(
            "no straight seam runs from end to end of this panel", fix='Write lining = "even" or "parallel"'
        )
    found = []
    for k, (at, _, point) in enumerate(ends):
        last = int(np.ceil(at)) if at - int(at) > 0.2 else int(at)
        found.append(np.concatenate([paths[:last, k], point[None]]))
    return found


def _nearest(path: Floats, wanted: Floats) -> tuple[float, float, Floats]:
    """Where a path passes nearest to a point: place (point index), how far the point lies to its left, its foot."""
    u = np.arange(float(len(path)))
    line = interpolant(u, path)
    at = float(np.argmin(np.linalg.norm(path - wanted, axis=-1)))
    for _ in range(8):
        gap, along = line(at) - wanted, line(at, nu=1)
        at = float(np.clip(at - gap @ along / (along @ along), 0.0, u[-1]))
    gap, along = wanted - line(at), line(at, nu=1)
    return at, float(along[0] * gap[1] - along[1] * gap[0]) / float(np.linalg.norm(along)), np.asarray(line(at))


@dataclass(frozen=True, eq=False)
class BaseCurve:
    """A chart curve by true length: s = 0 at its first given point, `length` at its last.

    spline : s -> (p, q), valid from s_lo = -before to s_hi = length + after
    """

    spline: Drawn
    s_lo: float
    s_hi: float
    length: float

    def at(self, s: Floats) -> Floats:
        """(..., 2) chart points."""
        return np.asarray(self.spline(s))

    def tangent(self, s: Floats) -> Floats:
        """(..., 2) chart vectors of unit length in space."""
        return np.asarray(self.spline(s, nu=1))


def base_curve(patch: Patch, chart: Floats, *, before: float, after: float, step: float = 10.0) -> BaseCurve:
    """The smooth curve through (n, 2) chart points, run on at both ends with its sideways bend fading out."""
    points = without_repeats(np.asarray(chart, dtype=np.float64))
    if len(points) < 2:
        raise UnworkableError("a base curve has no length", fix="Give at least two points that differ")
    u = arc_length(points)
    drawn = drawn_through(u, points)
    along, length = _by_length(patch, drawn, u, step)
    s, nodes = np.linspace(0.0, length, len(along)), drawn(along)
    runs = np.array([-before, after])
    if runs.any():
        more, tails = _run_on(patch, interpolant(s, nodes), length, runs)
        if before > 0.0:
            s, nodes = np.append(more[:0:-1, 0], s), np.concatenate([tails[:0:-1, 0], nodes])
        if after > 0.0:
            s, nodes = np.append(s, more[1:, 1]), np.concatenate([nodes, tails[1:, 1]])
    return BaseCurve(interpolant(s, nodes), float(s[0]), float(s[-1]), length)


def _speed(patch: Patch, drawn: Drawn, u: Floats) -> Floats:
    _, r_p, r_q = patch.jet1(drawn(u))
    v = drawn(u, nu=1)
    return np.asarray(np.linalg.norm(v[..., :1] * r_p + v[..., 1:] * r_q, axis=-1))


def _by_length(patch: Patch, drawn: Drawn, u: Floats, step: float) -> tuple[Floats, float]:
    """Parameters of even true length along a drawn curve, and its whole length."""
    cuts = np.linspace(u[0], u[-1], max(12, int(np.ceil((u[-1] - u[0]) / step))) + 1)
    half = 0.5 * np.diff(cuts)[:, None]
    speed = _speed(patch, drawn, 0.5 * (cuts[1:] + cuts[:-1])[:, None] + half * NODES)
    along = np.concatenate([[0.0], np.cumsum((speed * half * WEIGHTS).sum(axis=1))])
    length = interpolant(cuts, along)
    wanted = np.linspace(0.0, along[-1], len(cuts))
    at = np.interp(wanted, along, cuts)
    for _ in range(4):
        moves = (length(at) - wanted) / length(at, nu=1)
        at = np.clip(at - moves, cuts[0], cuts[-1])
        if np.abs(moves).max() < SETTLED:
            break
    return at, float(along[-1])


def _run_on(patch: Patch, spline: Drawn, length: float, runs: Floats) -> tuple[Floats, Floats]:
    """(m, 2) s and (m, 2, 2) chart points past both ends at once.  runs : (2,) -before, after.

    Same tangent, bend and growth of bend as at the end, the bend fading to none, the sooner the tighter it is: a
    hooked end carried on would come back to the border it has crossed.
    """
    ends, back = np.array([0.0, length]), np.array([CLOSE, -CLOSE])
    here, inner = np.split(side_bend(patch, spline, np.append(ends, ends + back)), 2)
    growth = np.clip((inner - here) / back, -LIVELY, LIVELY)
    count = max(1, int(np.ceil(np.abs(runs).max() / STEP)))
    along = (np.arange(count)[:, None, None] + quick.GAUSS_C[:, None]) * runs / count
    here = np.clip(here, -TIGHTEST, TIGHTEST)
    fading = np.minimum(2.0 * SWUNG / np.maximum(np.abs(here), 1e-9), FADING)
    bends = (here + growth * along) * _falling(np.abs(along) / fading)
    path = _drawn_on(patch, spline(ends), spline(ends, nu=1), np.tile(runs / count, (count, 1)), bends)
    return ends + np.arange(count + 1)[:, None] * runs / count, path


def _falling(x: Floats) -> Floats:
    """1 up to x = 0, 0 from x = 1, three times smoothly in between."""
    x = np.clip(x, 0.0, 1.0)
    return np.asarray(1.0 - x**4 * (35.0 - 84.0 * x + 70.0 * x**2 - 20.0 * x**3))


def side_bend(patch: Patch, spline: Drawn, s: Floats) -> Floats:
    """(n,) geodesic curvature of a chart curve of unit speed, 1/mm, + turning left."""
    v = np.asarray(spline(s, nu=1))
    here = local(patch, np.asarray(spline(s)), v)
    bent = np.asarray(spline(s, nu=2)) + here.gamma
    return here.forms.first(bent, here.forms.left(v)) / here.forms.length(v) ** 3
