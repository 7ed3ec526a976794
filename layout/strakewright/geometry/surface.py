"""Patches: the smooth carrier of a panel, its bends, its offsets, and how one is fitted to scattered points.

patch     quintic tensor spline r(p, q) over a nearly isometric flat chart (mm); r_p x r_q points inboard
outward   unit normal pointing to the water
reach     how far the patch runs on past the points it was fitted to
bend      normal curvature, 1/mm, + where the skin bulges outwards (a cylinder of radius R: +1/R)
twist     geodesic twist, radians per mm, + like a right-hand screw

Method: least squares with third-derivative energy (its null space are the quadratics, so the patch runs on
quadratically), weighed by generalised cross-validation (P. Craven, G. Wahba 1979; trace after M. Hutchinson 1989);
normal equations by banded Cholesky with iterative refinement (G. Golub, C. Van Loan, Matrix Computations).
Curvatures from the two fundamental forms (M. do Carmo).
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from scipy import sparse
from scipy.interpolate import BSpline
from scipy.linalg import LinAlgError, cho_solve_banded, cholesky_banded

from strakewright.arrays import Floats
from strakewright.errors import UnworkableError
from strakewright.geometry import quick
from strakewright.geometry.drawn import DEGREE
from strakewright.geometry.energy import energy, span
from strakewright.geometry.quick import ORDER
from strakewright.geometry.tensor import TensorSpline, clamped_knots, greville, through_greville

SPANS_ALONG, SPANS_ACROSS = 40, 10
POINTS_PER_SPAN = 4.0
STIFFNESSES = (1e-9, 1e-7, 1e-5, 1e-3, 1e-1, 1e1)
ENOUGH_TO_VALIDATE = 64
WARY = 1.4  # each unknown counts for more than one, else cross-validation now and then follows the noise
STRIDE = 60.0  # mm of one Newton step to a foot: near a fold of the patch the next one would run far off
FINE, NOISY, CLEARLY = 1e-3, 1e-6, 0.5


@dataclass(frozen=True, eq=False)
class Patch(TensorSpline):
    """A surface in space: knots_p, knots_q mm in the chart; coefs (np, nq, 3) mm.

    Inherits `at`, `jet1`, `jet2`, `box`; past the box all of them continue by second-order Taylor series.
    """

    def normal(self, pq: Floats) -> Floats:
        """(..., 3) unit outward normals."""
        flat = np.array(pq, dtype=np.float64, order="C").reshape(-1, 2)
        found = np.empty((len(flat), 3))
        quick.normals(self.tables, flat, found)
        return found.reshape((*np.shape(pq)[:-1], 3))


@dataclass(frozen=True)
class Metric:
    """First form E, F, G and the area factor W = sqrt(EG - FF)."""

    E: Floats
    F: Floats
    G: Floats
    W: Floats

    def length(self, v: Floats) -> Floats:
        """(...) mm per unit of chart vectors (..., 2)."""
        return np.sqrt(self.first(v, v))

    def first(self, v: Floats, w: Floats) -> Floats:
        """Scalar product in space of two chart vectors."""
        return _form(self.E, self.F, self.G, v, w)

    def left(self, v: Floats) -> Floats:
        """Chart vectors square to `v` in space, as long, turned counter-clockwise in the chart."""
        a, b = v[..., 0], v[..., 1]
        turned = np.stack([-(self.F * a + self.G * b), self.E * a + self.F * b], axis=-1)
        return np.asarray(turned / self.W[..., None])


@dataclass(frozen=True)
class Forms(Metric):
    """Both forms; the second one L, M, N towards the inside."""

    L: Floats
    M: Floats
    N: Floats

    def second(self, v: Floats, w: Floats) -> Floats:
        """Second fundamental form of two chart vectors."""
        return _form(self.L, self.M, self.N, v, w)


def _form(a: Floats, b: Floats, c: Floats, v: Floats, w: Floats) -> Floats:
    cross = v[..., 0] * w[..., 1] + v[..., 1] * w[..., 0]
    return a * v[..., 0] * w[..., 0] + b * cross + c * v[..., 1] * w[..., 1]


def forms(patch: Patch, pq: Floats) -> Forms:
    """Both fundamental forms at (..., 2) points."""
    flat = np.array(pq, dtype=np.float64, order="C").reshape(-1, 2)
    found = np.empty((len(flat), 7))
    quick.formed(patch.tables, flat, found)
    return Forms(*(column.reshape(np.shape(pq)[:-1]) for column in found.T))


def _dot(a: Floats, b: Floats) -> Floats:
    return np.asarray(np.einsum("...i,...i->...", a, b))


def gauss_curvature(patch: Patch, pq: Floats) -> Floats:
    """(...) product of the principal curvatures, 1/mm2; 0 on plane and developable surfaces."""
    f = forms(patch, pq)
    return np.asarray((f.L * f.N - f.M**2) / f.W**2)


def normal_curvature(patch: Patch, pq: Floats, direction: Floats) -> Floats:
    """(...) bend of the surface along chart vectors (..., 2) of any length, 1/mm, + bulging outwards."""
    f = forms(patch, pq)
    return np.asarray(f.second(direction, direction) / f.first(direction, direction))


def geodesic_twist(patch: Patch, pq: Floats, direction: Floats) -> Floats:
    """(...) twist of the surface along chart vectors (..., 2) of any length, rad/mm, + right-hand screw."""
    f = forms(patch, pq)
    return np.asarray(f.second(direction, f.left(direction)) / f.first(direction, direction))


def bends_and_twist(patch: Patch, pq: Floats, direction: Floats, across: Floats) -> tuple[Floats, Floats, Floats]:
    """Bend along `direction`, bend along `across` and twist along `direction`, as the functions above have them."""
    f = forms(patch, pq)
    square = f.first(direction, direction)
    bends = f.second(direction, direction) / square, f.second(across, across) / f.first(across, across)
    return np.asarray(bends[0]), np.asarray(bends[1]), np.asarray(f.second(direction, f.left(direction)) / square)


def refit(patch: Patch, f: Callable[[Floats], Floats]) -> Patch:
    """The patch on the same chart and knots through f((n, 2) chart points) -> (n, 3) at its Greville grid."""
    p, q = greville(patch.knots_p), greville(patch.knots_q)
    grid = np.stack(np.meshgrid(p, q, indexing="ij"), axis=-1)
    values = f(grid.reshape(-1, 2)).reshape(len(p), len(q), 3)
    return Patch(patch.knots_p, patch.knots_q, through_greville(patch.knots_p, patch.knots_q, values))


def offset(patch: Patch, inward: float) -> Patch:
    """The surface `inward` mm further inboard along its normals, on the same chart."""
    return refit(patch, lambda pq: patch.at(pq) - inward * patch.normal(pq))


@dataclass(frozen=True)
class FitOptions:
    """reach : mm the patch runs on past the points

    spans_p, spans_q : spans of the spline inside the points; None = by number of points
    stiffness : weight of the third-derivative energy per span against one point; None = by cross-validation:
        next to nothing for points on a smooth surface, more the noisier they are
    slides : times the points' chart coordinates are moved to their nearest point of the patch and the fit is done
        anew; for a chart that is itself rough (the chart of a point is then `foot_points` of it)
    """

    reach: float = 300.0
    spans_p: int | None = None
    spans_q: int | None = None
    stiffness: float | None = None
    slides: int = 0


def fit_patch(chart: Floats, points: Floats, *, options: FitOptions = FitOptions()) -> tuple[Patch, float]:
    """The patch through scattered points and the largest distance (mm) left between it and a point.

    chart : (n, 2) mm, n >= 3, not all in line;  points : (n, 3) mm.  Raises UnworkableError for fewer.
    """
    plane, rest = _without_plane(chart, points)
    fit = _best_spans(chart, rest, options)
    p, q = greville(fit.knots_p), greville(fit.knots_q)
    corners = np.stack(np.meshgrid(p, q, indexing="ij"), axis=-1)
    patch = Patch(fit.knots_p, fit.knots_q, fit.coefs + corners @ plane[:2] + plane[2])
    if options.slides:
        moved = foot_points(patch, points, chart)
        return fit_patch(moved, points, options=replace(options, slides=options.slides - 1))
    return patch, float(np.linalg.norm(patch.at(chart) - points, axis=1).max())


def likely_stiffness(chart: Floats, points: Floats, options: FitOptions = FitOptions()) -> float:
    """The stiffness that cross-validation chooses for points as `fit_patch` takes them."""
    return _best_spans(chart, _without_plane(chart, points)[1], options).stiffness


def foot_points(patch: Patch, points: Floats, start: Floats, rounds: int = 8) -> Floats:
    """(n, 2) chart points where the patch is nearest to (n, 3) points, by Newton from (n, 2) near guesses."""
    pq = np.array(start, dtype=np.float64)
    for _ in range(rounds):
        r, r_p, r_q, r_pp, r_pq, r_qq = patch.jet2(pq)
        away = points - r
        a, b, c = (_dot(x, y) for x, y in ((r_p, r_p), (r_p, r_q), (r_q, r_q)))
        x, y = _dot(away, r_p), _dot(away, r_q)
        hollow = [_dot(away, s) for s in (r_pp, r_pq, r_qq)]
        full = (a - hollow[0]) * (c - hollow[2]) - (b - hollow[1]) ** 2
        safe = full > 0.25 * (a * c - b * b)  # else the point lies near a centre of bend: plain projection
        a, b, c = (np.where(safe, s - h, s) for s, h in zip((a, b, c), hollow, strict=True))
        step = np.stack([c * x - b * y, a * y - b * x], axis=1) / np.maximum(a * c - b * b, 1e-12)[:, None]
        step *= np.minimum(1.0, STRIDE / np.maximum(np.abs(step).max(axis=1, keepdims=True), 1e-12))
        pq += step
        if np.abs(step).max(initial=0.0) < 1e-9:
            break
    return pq


@dataclass(frozen=True, eq=False)
class _Fitted:
    """coefs : (np, nq, 3) without the plane;  worst : mm left in a coordinate;  score : of cross-validation."""

    knots_p: Floats
    knots_q: Floats
    coefs: Floats
    stiffness: float
    worst: float
    score: float

    def wants_spans(self) -> bool:
        """Whether the spline, not the noise of the points, may be what keeps it off them."""
        return self.worst > FINE and self.stiffness < NOISY


def _best_spans(chart: Floats, rest: Floats, options: FitOptions) -> _Fitted:
    """The fit on the usual spans, or on twice as many along or across where that is clearly better."""
    share = min(1.0, float(np.sqrt(len(chart) / (POINTS_PER_SPAN * SPANS_ALONG * SPANS_ACROSS))))
    usual = (SPANS_ALONG, SPANS_ACROSS) if np.ptp(chart[:, 0]) >= np.ptp(chart[:, 1]) else (SPANS_ACROSS, SPANS_ALONG)
    counts = [options.spans_p or usual[0] * share, options.spans_q or usual[1] * share]
    best = _fit(chart, rest, counts, options)
    for axis, given in enumerate((options.spans_p, options.spans_q)):
        while given is None and best.wants_spans() and 2 * POINTS_PER_SPAN * np.prod(counts) <= len(chart):
            finer = [count * (2 if i == axis else 1) for i, count in enumerate(counts)]
            trial = _fit(chart, rest, finer, options)
            if trial.score > CLEARLY * best.score:
                break
            best, counts = trial, finer
    return best


def _fit(chart: Floats, rest: Floats, counts: Sequence[float], options: FitOptions) -> _Fitted:
    low, high = chart.min(axis=0), chart.max(axis=0)
    knots_p, knots_q = (_spans(*x, options.reach) for x in zip(low, high, counts, strict=True))
    system = _System(chart, knots_p, knots_q)
    stiffness, score = _validated(system, rest, options.stiffness)
    coefs = system.solve(rest, stiffness, rounds=4)
    worst = float(np.abs(system.rows @ coefs - rest).max())
    return _Fitted(knots_p, knots_q, system.grid(coefs), stiffness, worst, score)


def _without_plane(chart: Floats, points: Floats) -> tuple[Floats, Floats]:
    """Best affine map of the chart, (3, 3) with rows p, q, 1, and what it leaves of the points."""
    rows = np.column_stack([chart, np.ones(len(chart))])
    plane, _, rank, _ = np.linalg.lstsq(rows, points, rcond=1e-12)
    if rank < 3:
        raise UnworkableError(
            "the points of a panel lie in one line", fix="Give at least three corners that are not in line"
        )
    return np.asarray(plane, dtype=np.float64), np.asarray(points - rows @ plane, dtype=np.float64)


def _spans(low: float, high: float, count: float, reach: float) -> Floats:
    """About `count` even spans from low to high and, past both, spans about as long over the reach."""
    inside = np.linspace(low, high, max(1, round(count)) + 1)
    extra = min(int(np.ceil(reach / (inside[1] - inside[0]))), 8)
    past = reach * np.arange(1, extra + 1) / max(extra, 1)
    return clamped_knots(np.concatenate([low - past[::-1], inside, high + past]))


class _System:
    """Normal equations of one set of chart points, factored for any stiffness."""

    def __init__(self, chart: Floats, knots_p: Floats, knots_q: Floats) -> None:
        self.sizes = len(knots_p) - ORDER, len(knots_q) - ORDER
        self.flip = self.sizes[1] > self.sizes[0]
        self.rows = _design(chart, (knots_p, knots_q), self.flip)
        self.columns = self.rows.T.tocsr()
        size, width = self.sizes[0] * self.sizes[1], DEGREE * (min(self.sizes) + 1)
        self.normal = _banded((self.columns @ self.rows).tocoo(), size, width)
        cells = np.ptp(chart, axis=0) / np.array([span(knots_p), span(knots_q)])
        weight = max(1.0, len(chart) / max(1.0, float(np.prod(cells))))
        self.energy = energy((knots_p, knots_q), self.flip) * weight
        self.stiff = _banded(self.energy.tocoo(), size, width)

    def solve(self, values: Floats, stiffness: float, rounds: int = 1) -> Floats:
        """(np nq, k) coefficients in the order of the equations, refined `rounds` - 1 times."""
        factor, stiffness = self._factor(stiffness)
        coefs = cho_solve_banded(factor, self.columns @ values, check_finite=False)
        for _ in range(rounds - 1):
            left = self.columns @ (values - self.rows @ coefs) - stiffness * (self.energy @ coefs)
            coefs += cho_solve_banded(factor, left, check_finite=False)
        return np.asarray(coefs)

    def weighed(self, right: Floats, stiffness: float) -> Floats:
        """As `solve`, of the points' share of the equations, `columns` @ values."""
        return np.asarray(cho_solve_banded(self._factor(stiffness)[0], right, check_finite=False))

    def _factor(self, stiffness: float) -> tuple[tuple[Floats, bool], float]:
        """The factor, and the stiffness it could be made with."""
        band = self.normal + stiffness * self.stiff
        try:
            return (cholesky_banded(band, overwrite_ab=True, lower=True, check_finite=False), True), stiffness
        except LinAlgError:  # too many empty cells for so little stiffness
            return self._factor(100.0 * stiffness)

    def grid(self, coefs: Floats) -> Floats:
        """(np, nq, k) from the order of the equations."""
        if self.flip:
            return np.swapaxes(coefs.reshape(*self.sizes[::-1], -1), 0, 1)
        return coefs.reshape(*self.sizes, -1)


def _validated(system: _System, values: Floats, wanted: float | None) -> tuple[float, float]:
    """Stiffness of least generalised cross-validation score, and that score.

    A handful of points is not enough to validate by: they get the least stiffness."""
    probes = np.random.default_rng(1).choice((-1.0, 1.0), (len(values), 8))
    right, width = system.columns @ np.column_stack([values, probes]), values.shape[1]

    def score(stiffness: float) -> float:
        coefs = system.weighed(right, stiffness)
        free = len(values) - WARY * float(np.mean(np.sum(right[:, width:] * coefs[:, width:], axis=0)))
        return float(np.sum((values - system.rows @ coefs[:, :width]) ** 2)) / max(free, 1.0) ** 2

    least = STIFFNESSES[0] if wanted is None else wanted
    if wanted is not None or len(values) < ENOUGH_TO_VALIDATE:
        return least, score(least)
    scores = {x: score(x) for x in STIFFNESSES}
    best = min(scores, key=lambda x: scores[x])
    scores |= {x: score(x) for x in (0.1 * best, 10.0 * best) if x >= least}
    best = min(scores, key=lambda x: scores[x])
    return best, scores[best]


def _design(chart: Floats, knots: tuple[Floats, Floats], flip: bool) -> sparse.csr_array:
    """(n, np nq) values of all tensor basis functions at the points; the longer side is the slow index."""
    slow, fast = (1, 0) if flip else (0, 1)
    width = len(knots[fast]) - ORDER
    a = BSpline.design_matrix(chart[:, slow], knots[slow], DEGREE)
    b = BSpline.design_matrix(chart[:, fast], knots[fast], DEGREE)
    weights = a.data.reshape(-1, ORDER, 1) * b.data.reshape(-1, 1, ORDER)
    columns = a.indices.reshape(-1, ORDER, 1) * width + b.indices.reshape(-1, 1, ORDER)
    starts = np.arange(len(chart) + 1) * ORDER**2
    shape = (len(chart), (len(knots[slow]) - ORDER) * width)
    return sparse.csr_array((weights.ravel(), columns.ravel(), starts), shape=shape)


def _banded(matrix: sparse.coo_array, size: int, width: int) -> Floats:
    """Lower banded storage of a symmetric matrix of `size` rows."""
    band = np.zeros((width + 1, size))
    low = matrix.row >= matrix.col
    band[(matrix.row - matrix.col)[low], matrix.col[low]] = matrix.data[low]
    return band
