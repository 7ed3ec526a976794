"""A panel from rows of points across it: laid flat for its chart, fitted, and its borders seated.

row       points across the panel from the lower edge to the upper, all rows with as many;  a pointed end is a row
          whose points are one
end       where a face (a transom, the plane of the stem) cuts the panel; the grid runs on past it

Method: as for panels from meshes (`patching`), on points that are exact.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from strakewright.arrays import Floats, Ints
from strakewright.geometry.flatten import flatten
from strakewright.geometry.surface import FitOptions, Patch, fit_patch
from strakewright.geometry.twoflats import second_flat
from strakewright.hull import Border, Panel
from strakewright.loft.seating import Face, onto, seat

REACH = 400.0
_STEP = 12.0  # mm between points of a finished border
_FEWEST, _MOST = 65, 801
_POINT = 1e-6  # mm: a row shorter than this is one point
_ACROSS = 65


@dataclass(frozen=True, eq=False)
class LongEdge:
    """A long border.  points : (n, 3) mm, aft to forward, from end to end;  share : (n,) of the grid's rows, 0..1"""

    name: str
    points: Floats
    share: Floats
    centreline: bool


@dataclass(frozen=True, eq=False)
class EndCut:
    """An end of the panel that is not a point.  face : what cuts it"""

    name: str
    face: Face
    centreline: bool


@dataclass(frozen=True, eq=False)
class PanelPlan:
    """grid : (n, m, 3) mm, rows aft to forward;  aft, forward : None where the long edges meet in a point"""

    name: str
    grid: Floats
    lower: LongEdge
    upper: LongEdge
    aft: EndCut | None
    forward: EndCut | None


def panel_from_grid(plan: PanelPlan) -> Panel:
    """The finished panel.  `residual` is the largest distance between the grid's points and the patch."""
    vertices, triangles, number = _mesh(plan.grid)
    chart = _chart(plan, vertices, triangles, number)
    flat = chart.reshape(-1, 2)
    girth = float(np.median(np.linalg.norm(np.diff(plan.grid, axis=1), axis=2).sum(axis=1)))
    first = flat[np.unique(number, return_index=True)[1]]  # of the vertices
    patch, residual = fit_patch(flat, plan.grid.reshape(-1, 3), options=FitOptions(reach=max(REACH, girth)))
    lower, upper = (_long(patch, edge, chart[:, k]) for edge, k in ((plan.lower, 0), (plan.upper, -1)))
    for end, k in ((plan.aft, 0), (plan.forward, -1)):
        if end is None:
            middle = 0.5 * (lower[k] + upper[k])
            lower[k] = upper[k] = middle
        else:  # corners lie on the end's face too
            lower[k], upper[k] = onto(patch, np.stack([lower[k], upper[k]]), end.face)
    aft, forward = (
        None if end is None else Border(end.name, _across(patch, lower[k], upper[k], end.face), end.centreline)
        for end, k in ((plan.aft, 0), (plan.forward, -1))
    )
    return Panel(
        plan.name,
        patch,
        Border(plan.lower.name, lower, plan.lower.centreline),
        Border(plan.upper.name, upper, plan.upper.centreline),
        aft,
        forward,
        residual,
        second_flat(patch, first, vertices, triangles, first).apart,
    )


def _chart(plan: PanelPlan, vertices: Floats, triangles: Ints, number: Ints) -> Floats:
    """(n, m, 2) the grid laid flat, long edges along +p."""
    n, m, _ = plan.grid.shape
    flat = flatten(vertices, triangles).points[number].reshape(n, m, 2)
    way = (flat[-1, 0] - flat[0, 0]) + (flat[-1, -1] - flat[0, -1])
    c, s = way / np.hypot(*way)
    return np.asarray((flat - flat[0, 0]) @ np.array([[c, -s], [s, c]]))


def _mesh(grid: Floats) -> tuple[Floats, Ints, Ints]:
    """Vertices, triangles with normals inboard, and each grid point's vertex; points that coincide are one."""
    n, m, _ = grid.shape
    number = np.arange(n * m).reshape(n, m)
    pointed = np.ptp(grid, axis=1).max(axis=1) < _POINT
    number[pointed] = number[pointed, :1]
    for column in (0, m - 1):  # a fan: many rulings from one place of an edge
        same = np.linalg.norm(np.diff(grid[:, column], axis=0), axis=1) < _POINT
        for k in np.flatnonzero(same):
            number[k + 1, column] = number[k, column]
    a, b, c, d = number[:-1, :-1], number[1:, :-1], number[1:, 1:], number[:-1, 1:]
    triangles = np.concatenate([np.stack([a, b, c], axis=-1), np.stack([a, c, d], axis=-1)]).reshape(-1, 3)
    sound = (triangles[:, 0] != triangles[:, 1]) & (triangles[:, 1] != triangles[:, 2])
    sound &= triangles[:, 2] != triangles[:, 0]
    used, back = np.unique(number, return_inverse=True)
    lookup = np.searchsorted(used, triangles[sound])
    return grid.reshape(-1, 3)[used], lookup.astype(np.int64), back.reshape(-1).astype(np.int64)


def _long(patch: Patch, edge: LongEdge, column: Floats) -> Floats:
    """(n, 2) a long border seated on the patch."""
    rows = np.linspace(0.0, 1.0, len(column))
    start = np.stack([np.interp(edge.share, rows, c) for c in column.T], axis=1)
    return seat(patch, start, edge.points, edge.centreline)


def _across(patch: Patch, low: Floats, high: Floats, face: Face) -> Floats:
    """(n, 2) where a face cuts the patch, from corner to corner."""
    start = low + np.linspace(0.0, 1.0, _ACROSS)[:, None] * (high - low)
    cut = onto(patch, start, face)
    cut[0], cut[-1] = low, high
    return cut


def border_count(length: float) -> int:
    """Points of a finished border of that length, mm."""
    return int(np.clip(round(length / _STEP), _FEWEST - 1, _MOST - 1)) + 1
