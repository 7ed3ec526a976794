"""Bevels of seams: what is planed off which edge, and what may be left square.

fold      angle between two flat planks at their seam: the surface's bend across it x half the widths of both
both      each plank takes the bevel of its own half;  next : the edge hung first stays square, the next takes all of it
gap       what gapes at one face when both edges are left square: thickness x tan(fold)
square    a seam whose gap is nowhere more than `square_gap` is left square on both edges

A table of bevels has a row at every frame and at every 300 mm: degrees, mm that the narrow face stands back, and the
gap of square edges.

Source: derived; which edge takes the bevel: common practice, no source.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from strakewright.arrays import Floats
from strakewright.settings import PlankingSettings
from strakewright.shop.bevels import curvature_across
from strakewright.shop.courses import Course, Lined, OneWidth, Seam

SPOTS = 25  # places along a seam at which its fold is looked at
STEP = 300.0  # mm between rows of a bevel table


@dataclass(frozen=True, eq=False)
class Fold:
    """A seam between two courses.  gap : mm, the largest that square edges would leave"""

    courses: tuple[Course, ...]
    gap: float

    def beyond(self, course: Course) -> Course | None:
        """The course on the other side; not one that was dropped and whose place `course` takes."""
        taken = {nib.owner.number for nib in course.notches}
        return next((c for c in self.courses if c is not course and c.number not in taken), None)


def folds_of(lined: Lined, thickness: float) -> dict[int, Fold]:
    """Every seam between two courses, by the id of the seam."""
    beside: dict[int, tuple[Seam, list[Course]]] = {}
    for course in lined.courses:
        for seam in (course.left, course.right):
            if seam is not None:
                beside.setdefault(id(seam), (seam, []))[1].append(course)
    return {key: Fold(tuple(courses), _gap(lined, seam, courses, thickness)) for key, (seam, courses) in beside.items()}


def _gap(lined: Lined, seam: Seam, courses: list[Course], thickness: float) -> float:
    s = np.linspace(seam.crossings[0].along, seam.crossings[-1].along, SPOTS)
    chart, patch = seam.curve.at(s), lined.skin.patch
    _, r_p, r_q = patch.jet1(chart)
    way = seam.curve.tangent(s)
    tangent = way[:, :1] * r_p + way[:, 1:] * r_q
    across = np.cross(tangent / np.linalg.norm(tangent, axis=-1, keepdims=True), patch.normal(chart))
    wide = np.sum([width_at(c, chart) for c in courses], axis=0)
    fold = np.abs(curvature_across(patch, chart, across)) * wide / 2
    return float((thickness * np.tan(np.minimum(fold, 1.5))).max())


def width_at(course: Course, chart: Floats) -> Floats:
    """Width of a course beside (n, 2) chart points of one of its seams; where it does not reach them, its nearest."""
    width = course.instead or course.width
    if isinstance(width, OneWidth):
        return np.full(len(chart), width.mm)
    s, _ = course.fan.locate(chart)
    known = np.isfinite(s)
    if not known.any():
        return np.asarray(width(np.zeros(len(s))))
    spots = np.arange(len(s), dtype=float)
    return np.asarray(width(np.interp(spots, spots[known], s[known])))


def planed(own: Floats, beyond: Floats, is_first: bool, fold: Fold, settings: PlankingSettings) -> Floats:
    """Bevel of one edge of a seam, radians.

    own, beyond : half folds of this plank and of the one across the seam;  is_first : the edge towards the course
    hung before
    """
    if fold.gap <= settings.square_gap:
        return np.zeros_like(own)
    on_next = settings.bevel_on or ("next" if settings.cut == "straight" else "both")
    if on_next == "both":
        return own
    return own + beyond if is_first else np.zeros_like(own)


@dataclass(frozen=True, eq=False)
class EdgeTable:
    """An edge for its table, (n,) each.  x : along the plank;  station : x of the boat;  bevel, fold : radians"""

    name: str
    x: Floats
    station: Floats
    bevel: Floats
    fold: Floats


def bevel_rows(edge: EdgeTable, thickness: float, frames: tuple[tuple[str, float], ...]) -> list[dict[str, object]]:
    """Rows at every frame and every 300 mm that the edge reaches, in order along the plank."""
    order = np.argsort(edge.x)
    x = edge.x[order]
    places = [("", float(at)) for at in np.arange(np.ceil(x[0] / STEP) * STEP, x[-1] + 1e-9, STEP)]
    for name, station in frames:
        places += [(name, at) for at in _reached(edge.station, edge.x, station)]
    rows: list[dict[str, object]] = []
    for name, at in sorted(places, key=lambda p: p[1]):
        bevel, fold = (float(np.interp(at, x, values[order])) for values in (edge.bevel, edge.fold))
        rows.append(
            {
                "edge": edge.name,
                "frame": name or None,
                "x": at,
                "bevel_deg": float(np.degrees(bevel)),
                "back": thickness * float(np.tan(bevel)),
                "gap_if_square": thickness * float(np.tan(abs(fold))),
                "square": bevel == 0.0,
            }
        )
    return rows


def _reached(stations: Floats, x: Floats, level: float) -> list[float]:
    """Where a line of points passes a station."""
    over = stations - level
    found = []
    for i in np.nonzero(over[:-1] * over[1:] < 0)[0]:
        part = over[i] / (over[i] - over[i + 1])
        found.append(float(x[i] + part * (x[i + 1] - x[i])))
    return found[:1]
