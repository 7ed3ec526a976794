"""Panels from their meshes: a chart, a smooth patch over it, and the borders as fine curves in the chart.

chart     the panel's mesh laid flat, p forward, q towards the sheer
line      a border as one smooth curve in space, fitted once, so that both panels at a chine get the same one
seating   the line's points looked up on a patch: the foot of each point, or where the patch meets y = 0

Method: quintic least squares with as few spans as the line's points bear (generalised cross-validation, P. Craven
and G. Wahba 1979).
"""

from __future__ import annotations

import numpy as np
from scipy.interpolate import BSpline, make_lsq_spline

from strakewright.arrays import Bools, Floats
from strakewright.errors import Finding
from strakewright.geometry.curves import arc_length
from strakewright.geometry.drawn import Drawn, interpolant, on_knots
from strakewright.geometry.flatten import flatten
from strakewright.geometry.surface import FitOptions, Patch, fit_patch, foot_points, likely_stiffness
from strakewright.geometry.twoflats import second_flat
from strakewright.hull import Border, Panel
from strakewright.loft.needles import Needles, needles_of
from strakewright.loft.seating import seat
from strakewright.loft.sides import PanelMesh, Side
from strakewright.loft.twoways import told_apart

REACH = 400.0
_STEP = 12.0  # mm between points of a finished border
_MOST, _FEWEST = 801, 65
_LONG_EDGE = 60.0  # mm, border edges that want points between their corners
_FEW, _ROOM = 17, 4.0  # corners of a short border; how many times the noise they may lie off it
_ENDS = ("stem", "transom", "bow transom")
_ENOUGH = 30_000  # corners to fit to
_STEADY, _EASED = 1e-2, 0.3  # stiffness of a first patch through noise; of the last, over what its corners ask for
_FAIR_TIMES = 12  # how many corners one of a border drawn fair is worth
_CELLS = 400  # of the map of misses
_ROUGH = 1.0  # mm, a residual worth telling


def panel_of(mesh: PanelMesh) -> tuple[Panel, tuple[Finding, ...]]:
    """The finished panel and what is worth telling about it."""
    chart = _chart(mesh)
    girth = float(np.median(np.linalg.norm(_girths(mesh), axis=1)))
    reach = max(REACH, girth)
    needles = needles_of(mesh)
    if mesh.measured is None:
        patch, _ = fit_patch(*_samples(mesh, chart, needles), options=FitOptions(reach=reach))
    else:
        patch, chart = _through_noise(mesh, mesh.measured, chart, needles, reach)
    feet = foot_points(patch, mesh.vertices, chart)
    away = mesh.vertices - patch.at(feet)
    off = np.linalg.norm(away, axis=1)
    residual = float(off.max())
    far = second_flat(patch, feet, mesh.vertices, mesh.triangles, chart).apart
    seats = _Seats(mesh, patch, chart, float(np.sqrt(np.mean(off**2))))
    panel = Panel(
        mesh.name,
        patch,
        seats.border(mesh.lower),
        seats.border(mesh.upper),
        seats.border(mesh.aft) if mesh.aft else None,
        seats.border(mesh.forward) if mesh.forward else None,
        residual,
        far,
        _misses(feet, np.einsum("ij,ij->i", away, patch.normal(feet))),
    )
    return panel, (*_told(panel, mesh, off), *told_apart(mesh.name, far), *_told_needles(mesh, needles))


def _through_noise(
    mesh: PanelMesh, measured: Floats, chart: Floats, needles: Needles | None, reach: float
) -> tuple[Patch, Floats]:
    """The patch through noisy corners, and their chart anew.

    How stiff it is, the corners themselves say, without the chart's own roughness (they are asked on the places they
    have on a first, stiff patch) and without the borders, which are fair by now and would count as proof of fairness.
    """
    step = max(1, len(chart) // _ENOUGH)
    first, _ = fit_patch(chart[::step], measured[::step], options=FitOptions(reach=reach, stiffness=_STEADY))
    feet = foot_points(first, measured[::step], chart[::step])
    stiff = likely_stiffness(feet, measured[::step], FitOptions(reach=reach))
    chart = foot_points(first, mesh.vertices, chart)
    rows, points = _samples(mesh, chart, needles, _FAIR_TIMES)
    return fit_patch(rows, points, options=FitOptions(reach=reach, stiffness=_EASED * stiff))[0], chart


def _misses(feet: Floats, miss: Floats) -> Floats:
    """(k, 3) chart point and miss of the corner that is furthest off in every even cell, of about `_CELLS`.

    >>> _misses(np.array([[0.0, 0.0], [0.1, 0.1], [9.0, 9.0]]), np.array([0.1, -0.3, 0.2]))[:, 2].tolist()
    [-0.3, 0.2]
    """
    low, size = feet.min(axis=0), np.maximum(np.ptp(feet, axis=0), 1e-9)
    cell = float(np.sqrt(size.prod() / _CELLS))
    place = np.floor((feet - low) / cell).astype(np.int64) @ np.array([4 * _CELLS, 1])
    order = np.lexsort((-np.abs(miss), place))
    _, first = np.unique(place[order], return_index=True)
    return np.column_stack([feet, miss])[order[first]]


def _told(panel: Panel, mesh: PanelMesh, off: Floats) -> tuple[Finding, ...]:
    if panel.residual <= _ROUGH:
        return ()
    worst = mesh.vertices[int(off.argmax())]
    return (
        Finding(
            "surface-off-mesh",
            "warning",
            panel.name,
            f"the smooth surface lies up to {panel.residual:.1f} mm off the mesh,"
            f" worst at x {worst[0]:.0f}, y {worst[1]:.0f}, z {worst[2]:.0f}",
            "Look for a knuckle or a dent there; lower crease_deg if a chine was missed",
        ),
    )


def _told_needles(mesh: PanelMesh, needles: Needles | None) -> tuple[Finding, ...]:
    if needles is None or needles.unsure <= _ROUGH:
        return ()
    what = (
        f"long triangles from border to border, and no telling which of their sides lie on the surface:"
        f" it may be up to {needles.unsure:.1f} mm from what was taken"
    )
    fix = "Export with a finer mesh, so that there are corners inside the panel"
    return (Finding("coarse-inside", "warning", mesh.name, what, fix),)


def _chart(mesh: PanelMesh) -> Floats:
    """(n, 2) the mesh laid flat, the long borders' mean direction along +p, the lower border's after end at 0."""
    flat = flatten(mesh.vertices, mesh.triangles).points
    lower, upper = (flat[side.corners[-1]] - flat[side.corners[0]] for side in (mesh.lower, mesh.upper))
    c, s = (lower + upper) / np.hypot(*(lower + upper))
    return np.asarray((flat - flat[mesh.lower.corners[0]]) @ np.array([[c, -s], [s, c]]))


def _girths(mesh: PanelMesh) -> Floats:
    """(9, 3) from the lower to the upper border at even shares of their lengths."""
    ends = []
    for side in (mesh.lower, mesh.upper):
        points = mesh.vertices[side.corners]
        along = arc_length(points)
        at = np.linspace(0.1, 0.9, 9) * along[-1]
        ends.append(np.stack([np.interp(at, along, column) for column in points.T], axis=1))
    return np.asarray(ends[1] - ends[0])


def _samples(mesh: PanelMesh, chart: Floats, needles: Needles | None, times: int = 3) -> tuple[Floats, Floats]:
    """Chart points and points in space to fit to: the vertices, the borders' several times over, and where border
    edges are long, points of the smooth border between them, so that neighbours agree there too.  Panels without
    corners inside bring points of their own."""
    sides = mesh.sides
    border = np.unique(np.concatenate([s.corners for s in sides]))
    step = max(1, len(chart) // _ENOUGH)  # a fine mesh has more corners than a smooth surface has to say
    which = np.concatenate([np.arange(0, len(chart), step), *[border] * (times - (step == 1))])
    between = [_between(mesh.vertices[s.corners], chart[s.corners], s.fixed) for s in sides]
    if needles is not None and len(needles.shares):
        inside = (np.einsum("kc,kcd->kd", needles.shares, a[needles.corners]) for a in (chart, mesh.vertices))
        between.append((next(inside), next(inside)))
    rows, points = zip((chart[which], mesh.vertices[which]), *between, strict=True)
    return np.concatenate(rows), np.concatenate(points)


def _between(points: Floats, chart: Floats, sure: Bools) -> tuple[Floats, Floats]:
    """Points of the smooth border between corners that lie far apart, with their chart points."""
    u = arc_length(points)
    if np.median(np.diff(u)) < _LONG_EDGE:
        return np.empty((0, 2)), np.empty((0, 3))
    if len(points) == 2:  # an end meshed as one edge is straight
        share = np.linspace(0.0, 1.0, max(3, int(u[-1] / (_LONG_EDGE / 2))))[1:-1, None]
        return chart[0] + share * (chart[1] - chart[0]), points[0] + share * (points[1] - points[0])
    line = smooth_line(points, sure)
    along = arc_length(line)
    at = np.linspace(0.0, 1.0, max(2, int(u[-1] / (_LONG_EDGE / 2))))[1:-1]
    fine = np.asarray(interpolant(along / along[-1], line)(at))
    return np.asarray(interpolant(u / u[-1], chart)(at)), fine


def smooth_line(points: Floats, sure: Bools, noise: float = 0.0) -> Floats:
    """Fine points (m, 3) of the smooth curve through border corners (n, 3), its ends kept exactly.

    sure : (n,) False for corners that only bridge a gap; the curve passes over them.  The fewest spans win that
    cross-validation does not object to; corners on a smooth line are met to their own precision.
    noise : mm, how far corners of this mesh lie off any smooth surface: a border of few corners is not bent to
    follow them closer than that
    """
    keep = points[sure]
    gap = np.linalg.norm(np.diff(keep, axis=0), axis=1)
    keep = keep[np.concatenate([[True], gap > 1e-6])]
    u = arc_length(keep)
    count = int(np.clip(round(u[-1] / _STEP), _FEWEST - 1, _MOST - 1)) + 1
    at = np.linspace(0.0, u[-1], count)
    if len(keep) < _FEW:
        stiff = _stiffest(u, keep, noise)
        if stiff or len(keep) < 8:
            return _ended(np.asarray((stiff or interpolant(u, keep))(at)), keep)
    return _ended(np.asarray(_fitted(u, keep)(at)), keep)


def _stiffest(u: Floats, points: Floats, noise: float) -> BSpline | None:
    """The lowest polynomial that passes the inner corners within the noise; None when none does, or there is none."""
    weights = np.ones(len(u))
    weights[[0, -1]] = 1e3
    for degree in range(1, min(5, len(u) - 1)):
        knots = np.repeat(u[[0, -1]], degree + 1)
        line = make_lsq_spline(u, points, knots, k=degree, w=weights)
        if noise > 0 and np.linalg.norm(line(u) - points, axis=1).max() < _ROOM * noise:
            return line
    return None


def _ended(fine: Floats, keep: Floats) -> Floats:
    fine[0], fine[-1] = keep[0], keep[-1]
    return fine


def _fitted(u: Floats, points: Floats) -> Drawn:
    """Least-squares quintic through both ends, its spans chosen by cross-validation."""
    n = len(points)
    best, least = None, np.inf
    spans = 1
    while spans + 5 <= 0.7 * n:
        spline = _least_squares(u, points, spans)
        free = spans + 5
        score = n * float(((spline(u) - points) ** 2).sum()) / (n - free) ** 2
        if best is None or score < 0.5 * least:
            best, least = spline, score
        spans = max(spans + 1, int(spans * 1.5))
    return interpolant(u, points) if best is None else best


def _least_squares(u: Floats, points: Floats, spans: int) -> Drawn:
    """Breaks at even shares of the points, so that no span is empty; ends weighted to be met."""
    breaks = np.interp(np.linspace(0, len(u) - 1, spans + 1), np.arange(len(u)), u)
    knots = np.concatenate([[u[0]] * 5, breaks, [u[-1]] * 5])
    weights = np.ones(len(u))
    weights[[0, -1]] = 1e3
    return on_knots(knots, make_lsq_spline(u, points, knots, k=5, w=weights).c)


class _Seats:
    """Looks lines up on one patch; corners are looked up once, so that borders meet exactly."""

    def __init__(self, mesh: PanelMesh, patch: Patch, chart: Floats, noise: float) -> None:
        self.mesh, self.patch, self.chart, self.noise = mesh, patch, chart, noise
        self._corners: dict[int, Floats] = {}

    def border(self, side: Side) -> Border:
        """The border as fine points in the chart."""
        points = self.mesh.vertices[side.corners]
        at_end = side.name in _ENDS  # long borders are shared by two panels: both must get the same line
        line = smooth_line(points, side.fixed, self.noise if at_end else 0.0)
        share = arc_length(line) / arc_length(line)[-1]
        along = arc_length(points) / arc_length(points)[-1]
        start = np.stack([np.interp(share, along, c) for c in self.chart[side.corners].T], axis=1)
        seated = seat(self.patch, start, line, side.centreline)
        seated[0], seated[-1] = self._corner(int(side.corners[0])), self._corner(int(side.corners[-1]))
        return Border(side.name, seated, side.centreline)

    def _corner(self, number: int) -> Floats:
        if number not in self._corners:
            point = self.mesh.vertices[number : number + 1]
            on = bool(point[0, 1] == 0.0)
            self._corners[number] = seat(self.patch, self.chart[number : number + 1], point, on)[0]
        return self._corners[number]
