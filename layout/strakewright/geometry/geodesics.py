"""Seams that run true: geodesics, and the base curve of a family of seams.

geodesic   a line on the skin that does not bend sideways: a batten laid flat takes it
base curve the line a family of parallel seams starts from, run along by its true length s (mm)

Method: geodesic equation (M. do Carmo, Differential Geometry of Curves and Surfaces) by Gauss collocation of order
six in windows of steps, all steps of a window at once in E. Picard's rounds (E. Hairer, S. Norsett, G. Wanner,
Solving Ordinary Differential Equations I): the lines are few, their steps many.  Quintic splines through the nodes.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.interpolate import BSpline, make_interp_spline

from strakewright.arrays import Floats
from strakewright.errors import UnworkableError
from strakewright.geometry.curves import arc_length, drawn_through, interpolant, without_repeats
from strakewright.geometry.surface import Forms, Patch

STEP = 20.0
MARGIN = 200.0
SHARPEST = 0.02
FADING, LIVELY, CLOSE = 400.0, 1e-6, 10.0
SWUNG, TIGHTEST = 0.06, 1 / 400  # radians at most that a line still swings past its end; 1/mm, its tightest bend there
SLOPES = np.array([9, 10, 11, 3, 4, 5, 18, 19, 20, 12, 13, 14, 6, 7, 8])  # where jets hold r_p, r_q, r_pp, r_pq, r_qq
CROSSED = np.array([10, 11, 9, 5, 3, 4, 11, 9, 10, 4, 5, 3])  # and what their first two are crossed from
WINDOW, ROUNDS, SETTLED = 16, 24, 1e-9  # steps drawn at once, rounds at most, mm of the last round
GAUSS_C = 0.5 + np.sqrt(0.15) * np.array([-1.0, 0.0, 1.0])
GAUSS_B = np.array([5.0, 8.0, 5.0]) / 18.0
GAUSS_A = np.array([[10.0, 16.0, 10.0]] * 3) / 72.0 + np.sqrt(15.0) * np.array(
    [[0.0, -1 / 15, -1 / 30], [1 / 24, 0.0, -1 / 24], [1 / 30, 1 / 15, 0.0]]
)
NODES, WEIGHTS = np.polynomial.legendre.leggauss(5)
SHOTS = 12


@dataclass(frozen=True)
class Local:
    """What a line feels at its points: both forms and the covariant part of its acceleration."""

    forms: Forms
    gamma: Floats
    curvature: Floats


def local(patch: Patch, pq: Floats, v: Floats) -> Local:
    """gamma : (n, 2) Christoffel term of velocity v: a geodesic has v' = -gamma.

    Past the patch's box all bends fade out, so that lines that run far off stay harmless straight lines.
    """
    forms, gamma, gauss = felt(patch, np.asarray(pq).T, np.asarray(v).T)
    return Local(forms, gamma.T, gauss)


def felt(patch: Patch, pq: Floats, v: Floats) -> tuple[Forms, Floats, Floats]:
    """Both forms, (2, n) Christoffel term and (n,) curvature after Gauss, as `local` has them; pq, v : (2, n)."""
    near, fade = _tamed(patch, pq)
    jets = _columns(patch, near)
    crossed = jets[CROSSED].reshape(4, 3, -1)
    inward = crossed[0] * crossed[1] - crossed[2] * crossed[3]
    slopes = jets[SLOPES].reshape(5, 3, -1)  # r_p, r_q, r_pp, r_pq, r_qq
    dots = _dots(slopes, np.concatenate([slopes[:2], inward[None]]))
    first = dots[0, 0], dots[0, 1], dots[1, 1]
    squared = np.maximum(first[0] * first[2] - first[1] * first[1], 1e-12)
    area = np.sqrt(squared)
    second = dots[2:, 2] / area
    gauss = np.clip((second[0] * second[2] - second[1] * second[1]) / squared, -(SHARPEST**2), SHARPEST**2)
    gamma = _steered(dots[2:, :2], first, squared, v)
    if fade is not None:
        gamma, gauss = fade * gamma, fade * gauss
    return Forms(*first, second[0], second[1], second[2], area), gamma, gauss


def _columns(patch: Patch, pq: Floats) -> Floats:
    """(27, n) second-order jets at (2, n) points, a row for each figure: short rows cost more than long ones."""
    return np.ascontiguousarray(patch.jets(pq.T, 2).reshape(pq.shape[1], 27).T)


def _dots(vectors: Floats, others: Floats) -> Floats:
    """(m, k, n) scalar products of (m, 3, n) with (k, 3, n)."""
    return np.asarray((vectors[:, None] * others).sum(axis=2))


def _steered(dots: Floats, first: tuple[Floats, Floats, Floats], squared: Floats, v: Floats) -> Floats:
    """(2, n) Christoffel term of velocity v, at most `SHARPEST`.

    dots : (3, 2, n) second slopes on first ones;  squared : (n,) square of the area factor
    """
    a, b = v
    x, y = (a * a * dots[0] + 2.0 * a * b * dots[1] + b * b * dots[2]) / squared
    gamma = np.stack([first[2] * x - first[1] * y, first[0] * y - first[1] * x])
    return np.asarray(gamma * (SHARPEST / np.maximum(np.hypot(gamma[0], gamma[1]), SHARPEST)))


def _steer(patch: Patch, pq: Floats, v: Floats, bend: Floats | None) -> Floats:
    """(2, n) acceleration of lines of sideways curvature `bend` (n,); None = geodesics.  pq, v : (2, n)

    Minus the Christoffel term, as `local` has it, and the bend to the left, and nothing else.
    """
    near, fade = _tamed(patch, pq)
    slopes = _columns(patch, near)[SLOPES].reshape(5, 3, -1)
    dots = _dots(slopes, slopes[:2])
    first = dots[0, 0], dots[0, 1], dots[1, 1]
    squared = np.maximum(first[0] * first[2] - first[1] * first[1], 1e-12)
    steer = -_steered(dots[2:], first, squared, v)
    if fade is not None:
        steer *= fade
    if bend is not None:
        left = np.stack([-(first[1] * v[0] + first[2] * v[1]), first[0] * v[0] + first[1] * v[1]])
        steer += bend / np.sqrt(squared) * left
    return steer


def _tamed(patch: Patch, pq: Floats) -> tuple[Floats, Floats | None]:
    """(2, n) points pulled in to at most `MARGIN` outside the box, and (n,) 1 inside it, falling to 0 at `MARGIN`;
    None where all lie inside."""
    p0, p1, q0, q1 = patch.box
    (p_low, q_low), (p_high, q_high) = pq.min(axis=1), pq.max(axis=1)
    if p_low >= p0 and p_high <= p1 and q_low >= q0 and q_high <= q1:
        return pq, None
    low, high = np.array([[p0], [q0]]), np.array([[p1], [q1]])
    out = np.maximum(low - pq, pq - high).max(axis=0)
    return np.clip(pq, low - MARGIN, high + MARGIN), _falling(out / MARGIN)


def _drawn_on(patch: Patch, start: Floats, way: Floats, steps: Floats, bends: Floats | None = None) -> Floats:
    """(m + 1, k, 2) chart points of k lines after each of m equal steps.

    start, way : (k, 2) first points and unit velocities;  steps : (m, k) mm, all of one line alike
    bends : (m, 3, k) sideways curvature at the Gauss points of each step, None = geodesics
    """
    points, at = [start[None]], 0
    window = WINDOW
    while at < len(steps):
        stop = min(at + window, len(steps))
        bent = None if bends is None else bends[at:stop]
        found = _settled(patch, points[-1][-1], way, steps[at:stop], bent)
        if found is None and window > 1:
            window //= 2
            continue
        here, way = found or _rounds(patch, points[-1][-1], way, steps[at:stop], bent)[:2]
        points.append(here)
        at, window = stop, min(2 * window, WINDOW)
    return np.concatenate(points)


def _settled(
    patch: Patch, start: Floats, way: Floats, steps: Floats, bends: Floats | None
) -> tuple[Floats, Floats] | None:
    """Points and last velocity of a window of steps, None where the rounds do not settle."""
    here, last, moved = _rounds(patch, start, way, steps, bends)
    return (here, last) if moved < SETTLED else None


def _rounds(
    patch: Patch, start: Floats, way: Floats, steps: Floats, bends: Floats | None
) -> tuple[Floats, Floats, float]:
    """(m, k, 2) points at the ends of the steps, (k, 2) last velocity, mm that the last round moved a point by."""
    h = steps[:, :, None]
    steer = np.zeros((len(steps), 3, *start.shape))
    bend = None if bends is None else bends.reshape(-1)
    last = np.zeros((len(steps), *start.shape))
    ways, moved = way[None], np.inf
    for _ in range(ROUNDS):
        ways = way + np.concatenate([np.zeros_like(way)[None], np.cumsum(h * _weighed(GAUSS_B, steer), axis=0)])
        ends = start + np.cumsum(h * ways[:-1] + h**2 * _weighed(GAUSS_B @ GAUSS_A, steer), axis=0)
        moved, last = float(np.abs(ends - last).max()), ends
        if moved < SETTLED:
            break
        starts = np.concatenate([start[None], ends[:-1]])[:, None]
        h3, ways3 = h[:, None], ways[:-1, None]
        pq = starts + GAUSS_C[:, None, None] * h3 * ways3 + h3**2 * _inner(GAUSS_A @ GAUSS_A, steer)
        v = ways3 + h3 * _inner(GAUSS_A, steer)
        steer = _steer(patch, pq.reshape(-1, 2).T, v.reshape(-1, 2).T, bend).T.reshape(steer.shape)
    return last, ways[-1], moved


def _weighed(weights: Floats, steer: Floats) -> Floats:
    return np.asarray(np.tensordot(weights, steer, axes=(0, 1)))


def _inner(matrix: Floats, steer: Floats) -> Floats:
    return np.asarray((matrix @ steer.reshape(len(steer), 3, -1)).reshape(steer.shape))


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


def geodesics(patch: Patch, start: Floats, direction: Floats, length: float, *, step: float = STEP) -> Floats:
    """(n, k, 2) chart points of k geodesics at once;  start, direction : (k, 2)."""
    speed = local(patch, start, direction).forms.length(direction)
    steps = np.tile(even_steps(length, step)[:, None], len(start))
    return _drawn_on(patch, start, direction / speed[:, None], steps)


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

    spline: BSpline
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


def _speed(patch: Patch, drawn: BSpline, u: Floats) -> Floats:
    _, r_p, r_q = patch.jet1(drawn(u))
    v = drawn(u, nu=1)
    return np.asarray(np.linalg.norm(v[..., :1] * r_p + v[..., 1:] * r_q, axis=-1))


def _by_length(patch: Patch, drawn: BSpline, u: Floats, step: float) -> tuple[Floats, float]:
    """Parameters of even true length along a drawn curve, and its whole length."""
    cuts = np.linspace(u[0], u[-1], max(12, int(np.ceil((u[-1] - u[0]) / step))) + 1)
    half = 0.5 * np.diff(cuts)[:, None]
    speed = _speed(patch, drawn, 0.5 * (cuts[1:] + cuts[:-1])[:, None] + half * NODES)
    along = np.concatenate([[0.0], np.cumsum((speed * half * WEIGHTS).sum(axis=1))])
    length = make_interp_spline(cuts, along, k=5)
    wanted = np.linspace(0.0, along[-1], len(cuts))
    at = np.interp(wanted, along, cuts)
    for _ in range(4):
        moves = (length(at) - wanted) / length(at, nu=1)
        at = np.clip(at - moves, cuts[0], cuts[-1])
        if np.abs(moves).max() < SETTLED:
            break
    return at, float(along[-1])


def _run_on(patch: Patch, spline: BSpline, length: float, runs: Floats) -> tuple[Floats, Floats]:
    """(m, 2) s and (m, 2, 2) chart points past both ends at once.  runs : (2,) -before, after.

    Same tangent, bend and growth of bend as at the end, the bend fading to none, the sooner the tighter it is: a
    hooked end carried on would come back to the border it has crossed.
    """
    ends, back = np.array([0.0, length]), np.array([CLOSE, -CLOSE])
    here, inner = np.split(side_bend(patch, spline, np.append(ends, ends + back)), 2)
    growth = np.clip((inner - here) / back, -LIVELY, LIVELY)
    count = max(1, int(np.ceil(np.abs(runs).max() / STEP)))
    along = (np.arange(count)[:, None, None] + GAUSS_C[:, None]) * runs / count
    here = np.clip(here, -TIGHTEST, TIGHTEST)
    fading = np.minimum(2.0 * SWUNG / np.maximum(np.abs(here), 1e-9), FADING)
    bends = (here + growth * along) * _falling(np.abs(along) / fading)
    path = _drawn_on(patch, spline(ends), spline(ends, nu=1), np.tile(runs / count, (count, 1)), bends)
    return ends + np.arange(count + 1)[:, None] * runs / count, path


def _falling(x: Floats) -> Floats:
    """1 up to x = 0, 0 from x = 1, three times smoothly in between."""
    x = np.clip(x, 0.0, 1.0)
    return np.asarray(1.0 - x**4 * (35.0 - 84.0 * x + 70.0 * x**2 - 20.0 * x**3))


def side_bend(patch: Patch, spline: BSpline, s: Floats) -> Floats:
    """(n,) geodesic curvature of a chart curve of unit speed, 1/mm, + turning left."""
    v = np.asarray(spline(s, nu=1))
    here = local(patch, np.asarray(spline(s)), v)
    bent = np.asarray(spline(s, nu=2)) + here.gamma
    return here.forms.first(bent, here.forms.left(v)) / here.forms.length(v) ** 3
