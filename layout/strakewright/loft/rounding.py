"""Chines that were rounded off in the mesh: no single fold parts the panels, many small ones do.

rounded chine   the skin turns by more than `crease_deg` within a hand's breadth, over a good part of the length
spread fold     angle between the normals a little to one side of an edge and a little to the other

Planks cannot be cut to a rounded corner: the chine must be modelled sharp (it is rounded after planking).
Method: derived.
"""

from __future__ import annotations

import math

import numpy as np
from scipy.spatial import KDTree

from strakewright.arrays import Floats, Ints
from strakewright.errors import Finding, InputError
from strakewright.geometry.meshes import face_normals
from strakewright.loft.sides import PanelMesh

_MANY = 40_000  # triangles that are asked one by one
HAND = 50.0  # mm to either side
_LONG = 0.3  # of the panel's length: a chine; less is a dent or a tight forefoot
SURELY = 1.6  # of crease_deg: a turn that no bilge of planks makes
_STRIP = 30.0  # mm, a panel no wider than this is the facet of a rounded chine


def check_rounding(panel: PanelMesh, crease_deg: float) -> tuple[Finding, ...]:
    """A warning for a short stretch.  Raises InputError for a panel that holds or is a rounded chine."""
    _refuse_strip(panel)
    x, turned = _spread(panel, math.radians(crease_deg))
    if len(x) == 0:
        return ()
    low, high = np.quantile(x, [0.02, 0.98])
    seen = f"between x = {low:.0f} and {high:.0f} mm the skin turns up to {turned:.0f} degrees within {2 * HAND:.0f} mm"
    bins = np.unique(np.floor((x - x.min()) / HAND))
    if turned > SURELY * crease_deg and len(bins) * HAND > _LONG * float(np.ptp(panel.vertices[:, 0])):
        raise InputError(
            f"{seen}, without a sharp fold: it looks like a rounded chine",
            where=f"panel {panel.name!r}",
            fix="Model the chine sharp and round it after planking; or set crease_deg above that if it is no chine",
        )
    fix = "Model a chine sharp; look at the hollow of the planks there"
    return (Finding("tight-turn", "warning", panel.name, seen, fix),)


def _refuse_strip(panel: PanelMesh) -> None:
    upper = panel.vertices[panel.upper.corners]
    width = float(np.median(KDTree(panel.vertices[panel.lower.corners]).query(upper)[0]))
    if width < _STRIP:
        raise InputError(
            f"it is a strip only {width:.0f} mm wide, like the facet of a rounded chine",
            where=f"panel {panel.name!r}",
            fix="Model the chine sharp and round it after planking",
        )


def _spread(panel: PanelMesh, least: float) -> tuple[Floats, float]:
    """x of the triangles about which the skin turns by more than `least`, and the largest turn in degrees."""
    middle = panel.vertices[panel.triangles].mean(axis=1)
    clear = np.flatnonzero(_off_border(panel, middle) > 1.5 * HAND)
    turn = turns(panel.vertices, panel.triangles, clear)
    hit = turn > least
    return middle[clear[hit], 0], float(np.degrees(turn.max(initial=0.0)))


def turns(vertices: Floats, triangles: Ints, some: Ints | None = None) -> Floats:
    """(k,) by how much the skin turns within a hand to either side of triangles, radians.

    triangles : (m, 3) wound alike;  some : numbers of those asked for, all by default
    """
    normals, middle = face_normals(vertices, triangles), vertices[triangles].mean(axis=1)
    some = np.arange(len(triangles)) if some is None else some
    if len(some) > 1.5 * _MANY:  # a part of them stands for their neighbours
        part = some[:: int(np.ceil(len(some) / _MANY))]
        return np.asarray(_turns(normals, middle, part)[KDTree(middle[part]).query(middle[some])[1]])
    return _turns(normals, middle, some)


def _turns(normals: Floats, middle: Floats, some: Ints) -> Floats:
    tree = KDTree(middle)
    turn = np.zeros(len(some))
    for angle in np.linspace(0.0, math.pi, 4, endpoint=False):
        way = _across(normals[some], angle)
        ahead, behind = (normals[tree.query(middle[some] + s * HAND * way)[1]] for s in (1, -1))
        turn = np.maximum(turn, np.arccos(np.clip((ahead * behind).sum(axis=1), -1.0, 1.0)))
    return turn


def _off_border(panel: PanelMesh, points: Floats) -> Floats:
    sides = [s for s in (panel.lower, panel.upper, panel.aft, panel.forward) if s is not None]
    return np.asarray(np.min([_distance(points, panel.vertices[s.corners]) for s in sides], axis=0))


def _distance(points: Floats, line: Floats) -> Floats:
    """To a polyline, by points on it no further apart than a fifth of a hand."""
    step = np.linalg.norm(np.diff(line, axis=0), axis=1)
    counts: Ints = np.maximum(1, np.ceil(step / (HAND / 5))).astype(np.int64)
    start, share = np.repeat(np.arange(len(counts)), counts), np.concatenate([np.arange(c) / c for c in counts])
    fine = line[start] + share[:, None] * (line[start + 1] - line[start])
    return np.asarray(KDTree(np.concatenate([fine, line[-1:]])).query(points)[0], dtype=np.float64)


def _across(normals: Floats, angle: float) -> Floats:
    """Unit tangents at an angle from the fore-and-aft tangent."""
    along = np.array([1.0, 0.0, 0.0]) - normals * normals[:, :1]
    size = np.linalg.norm(along, axis=1, keepdims=True)
    along = np.where(size > 1e-6, along / np.maximum(size, 1e-6), [0.0, 0.0, 1.0])
    return np.asarray(math.cos(angle) * along + math.sin(angle) * np.cross(normals, along))
