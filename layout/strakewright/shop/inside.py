"""The inside of the planking: what frames, floors, transoms and inner members are cut to.

inner skin   the described surface moved in by all layers of planking, and by the sheathing where the lines count it
face         a smooth surface that cuts the boat: the plane of a frame's face, the plane or curve of a transom
line         where a face cuts the inner skin of one panel, from the lower corner to the upper
corner       where two lines meet: the inner chine is where the two inner skins cross, not a chine moved in
bevel        how far the skin's outward normal leans out of the face, + towards the side the face looks to;
             for a frame face that looks forward: + = the boat narrows forward, the forward face is the smaller

In a plane face, planking of thickness t takes t / cos(bevel).  Source: derived; closed forms for prism, cone and
Wigley hull in the tests.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Protocol

import numpy as np

from strakewright.arrays import Floats, frozen_array
from strakewright.geometry.crossings import curve_crossings, take
from strakewright.geometry.surface import Patch, offset
from strakewright.hull import Border, Hull, Panel, SurfaceFace
from strakewright.settings import PlankingSettings

POINTS = 601  # along one line, before it is cut at its corners
RUN_ON = 260.0  # mm a line is followed past the described border, to find its corner
NEAR_CORNER = 320.0  # mm from the described chine within which the inner one is looked for
COARSE = (121, 41)  # grid of the chart on which a face is first found


class Face(Protocol):
    """A surface that cuts the boat, with flat coordinates of its own (u to port, v up)."""

    def level(self, points: Floats) -> Floats:
        """(n,) signed distance mm of (n, 3) points from the face, + on the side it looks to."""
        ...

    def normal(self, points: Floats) -> Floats:
        """(n, 3) unit normals of the face at points near it."""
        ...

    def flat(self, points: Floats) -> Floats:
        """(n, 2) of points on the face: u to port, v up, true lengths."""
        ...


@dataclass(frozen=True)
class StationFace:
    """The plane x = station, looking forward: u = y, v = z."""

    station: float

    def level(self, points: Floats) -> Floats:
        return np.asarray(points[:, 0] - self.station)

    def normal(self, points: Floats) -> Floats:
        return np.broadcast_to(np.array([1.0, 0.0, 0.0]), points.shape)

    def flat(self, points: Floats) -> Floats:
        return np.asarray(points[:, 1:])


@dataclass(frozen=True, eq=False)
class InnerSkin:
    """Inside of the planking of one panel, port side.  depth : mm in from the described surface

    patch : r(p, q) on the panel's own chart;  panel : its borders are looked up on the same chart
    """

    panel: Panel
    depth: float
    patch: Patch


@dataclass(frozen=True, eq=False)
class Inside:
    """Inner skins from the keel up."""

    skins: tuple[InnerSkin, ...]

    def skin(self, name: str) -> InnerSkin:
        """The inner skin of that panel; raises KeyError."""
        return {s.panel.name: s for s in self.skins}[name]


@dataclass(frozen=True, eq=False)
class InnerLine:
    """One panel's line in a face, lower end first.

    space : (n, 3) mm;  flat : (n, 2) in the face's own coordinates;  normal : (n, 3) outward unit normals
    bevel : (n,) radians;  lower, upper : what the ends lie on: "centreline", or the name of the border
    """

    panel: str
    space: Floats
    flat: Floats
    normal: Floats
    bevel: Floats
    lower: str
    upper: str

    def __post_init__(self) -> None:
        n = len(self.space)
        for name, width in (("space", 3), ("flat", 2), ("normal", 3)):
            object.__setattr__(self, name, frozen_array(getattr(self, name), (n, width), f"inner line {name}"))
        object.__setattr__(self, "bevel", frozen_array(self.bevel, (n,), "inner line bevel"))


def inside_depth(planking: PlankingSettings | None, surface: SurfaceFace) -> float:
    """How far the inside of the planking lies in from the described surface, mm: all of its wood, and the sheathing
    where the lines count it."""
    total = planking.total + planking.sheathed if planking else 0.0
    return {"outside": total, "middle": total / 2, "inside": 0.0}[surface]


def inside_of(hull: Hull, planking: Sequence[PlankingSettings]) -> Inside:
    """The inner skin of every panel; a panel without planking settings stays as described."""
    by_name = {p.panel: p for p in planking}
    skins = []
    for panel in hull.panels:
        depth = inside_depth(by_name.get(panel.name), hull.surface)
        skins.append(InnerSkin(panel, depth, offset(panel.patch, depth) if depth else panel.patch))
    return Inside(tuple(skins))


def lines_at(inside: Inside, station: float) -> tuple[InnerLine, ...]:
    """The frame section at x = station, port half, from the centreline up; empty off the hull."""
    return lines_on(inside, StationFace(station))


def lines_on(inside: Inside, face: Face, past: float = 0.0) -> tuple[InnerLine, ...]:
    """Where a face cuts the inside of the planking, port half, from the centreline up.

    past : mm the planking is run on past transoms, for the faces of the transom itself
    Worked from the sheer down: each line ends where it meets the next one below, or the centreline if that comes
    first; panels below that are not there any more.
    """
    lines: list[InnerLine] = []
    above: _Traced | None = None
    for skin in reversed(inside.skins):
        traced = _traced(skin, face, past)
        if traced is None:
            continue
        if above is None:
            above = _cut_above(traced)
            continue
        met = _met(above, traced)
        if met is None:
            if _ends_on_centreline(above) is not None:
                break
            met = _stepped(above, traced)
        lines.append(_line(above.cut_from(met[0], above.lower.name), face))
        above = traced.cut_to(met[1], traced.upper.name)
    if above is not None:
        lines.append(_line(_cut_below(above), face))
    return tuple(reversed(lines))


@dataclass(frozen=True, eq=False)
class _Traced:
    """A line followed past its panel's borders.  start, stop : fractional indices of its present ends;
    at_lower, at_upper : those of the described borders carried square to the skin."""

    skin: InnerSkin
    chart: Floats
    space: Floats
    flat: Floats
    at_lower: float
    at_upper: float
    start: float
    stop: float
    lower: Border
    upper: Border
    low_end: str = ""
    top_end: str = ""

    def cut_from(self, at: float, name: str) -> _Traced:
        return replace(self, start=at, low_end=name)

    def cut_to(self, at: float, name: str) -> _Traced:
        return replace(self, stop=at, top_end=name)


def _traced(skin: InnerSkin, face: Face, past: float) -> _Traced | None:
    """The line of one skin, run on past both borders; None where the face misses the panel."""
    ends = _ends(skin, face, past)
    if ends is None:
        return None
    (a, lower), (b, upper) = ends
    way = (b - a) / np.linalg.norm(b - a)
    part = np.linspace(0.0, 1.0, POINTS)[:, None]
    chart = _onto(skin.patch, face, (a - RUN_ON * way) * (1 - part) + (b + RUN_ON * way) * part)
    space = skin.patch.at(chart)
    at_lower, at_upper = (_nearest_index(chart, end) for end in (a, b))
    return _Traced(skin, chart, space, face.flat(space), at_lower, at_upper, 0.0, POINTS - 1.0, lower, upper)


def _ends(skin: InnerSkin, face: Face, past: float) -> tuple[tuple[Floats, Border], tuple[Floats, Border]] | None:
    """Chart points where the face cuts the panel's ring (carried square to the skin), lower first."""
    found: list[tuple[float, Floats, Border]] = []
    for border, points in _ring(skin.panel, past):
        over = face.level(skin.patch.at(points))
        for i in np.flatnonzero(over[:-1] * over[1:] <= 0.0):
            if over[i] == over[i + 1]:
                continue
            part = over[i] / (over[i] - over[i + 1])
            at = points[i] * (1 - part) + points[i + 1] * part
            found.append((float(at[1]), at, border))
    if len(found) < 2:
        return None
    found.sort(key=lambda row: row[0])
    if np.linalg.norm(found[-1][1] - found[0][1]) < 1.0:
        return None
    return found[0][1:], found[-1][1:]


def _ring(panel: Panel, past: float) -> list[tuple[Border, Floats]]:
    """The panel's borders; with `past`, long borders run straight on over a transom instead of ending there."""
    if not past:
        return list(panel.ring())
    rows = []
    for border in (panel.lower, panel.upper):
        points = border.chart
        if _is_transom(panel.aft):
            points = np.concatenate([_straight_on(points[0], points[0] - points[3], past), points])
        if _is_transom(panel.forward):
            points = np.concatenate([points, _straight_on(points[-1], points[-1] - points[-4], past)[::-1]])
        rows.append((border, points))
    rows += [(b, b.chart) for b in (panel.aft, panel.forward) if b is not None and not _is_transom(b)]
    return rows


def _is_transom(border: Border | None) -> bool:
    return border is not None and border.name.endswith("transom")


def _straight_on(start: Floats, way: Floats, length: float) -> Floats:
    """(n, 2) chart points from `length` away along `way` up to, not including, `start`."""
    steps = np.arange(length, 0.0, -4.0)[:, None]
    return np.asarray(start + steps * way / np.linalg.norm(way))


def _onto(patch: Patch, face: Face, chart: Floats) -> Floats:
    """Chart points moved, by Newton steps square to the face's trace, until they lie on the face."""
    for _ in range(12):
        r, r_p, r_q = patch.jet1(chart)
        normal = face.normal(r)
        slope = np.stack([(r_p * normal).sum(axis=-1), (r_q * normal).sum(axis=-1)], axis=-1)
        size = (slope**2).sum(axis=-1)
        step = face.level(r)[:, None] * slope / np.where(size > 1e-9, size, np.inf)[:, None]
        chart = chart - np.clip(step, -50.0, 50.0)
        if np.abs(step).max() < 1e-9:
            break
    return np.asarray(chart)


def _onto_both(patch: Patch, face: Face, chart: Floats) -> Floats:
    """One chart point moved onto the face and the centreline plane."""
    for _ in range(6):
        r, r_p, r_q = patch.jet1(chart[None])
        normal = face.normal(r)[0]
        jacobian = np.array([[r_p[0] @ normal, r_q[0] @ normal], [r_p[0, 1], r_q[0, 1]]])
        if abs(np.linalg.det(jacobian)) < 1e-9:
            break
        chart = chart - np.linalg.solve(jacobian, np.array([face.level(r)[0], r[0, 1]]))
    return np.asarray(chart)


def _nearest_index(points: Floats, at: Floats) -> float:
    """Fractional index of the place on a fine polyline nearest to a point."""
    a, way = points[:-1], np.diff(points, axis=0)
    share = np.clip(((at - a) * way).sum(axis=-1) / np.maximum((way**2).sum(axis=-1), 1e-18), 0.0, 1.0)
    gap = np.linalg.norm(a + share[:, None] * way - at, axis=-1)
    i = int(gap.argmin())
    return float(i + share[i])


def _cut_above(traced: _Traced) -> _Traced:
    """The uppermost line ends at its own upper border carried square to the skin."""
    return traced.cut_to(traced.at_upper, traced.upper.name)


def _met(above: _Traced, below: _Traced) -> tuple[float, float] | None:
    """Where two neighbouring lines cross, off the centreline, nearest to the chine as described."""
    found = curve_crossings(above.flat, below.flat)
    near = (_at(above.flat, above.at_lower) + _at(below.flat, below.at_upper)) / 2
    gaps = [(float(np.linalg.norm(_at(above.flat, i) - near)), i, j) for i, j in found]
    gaps = [g for g in gaps if g[0] < NEAR_CORNER and _at(above.flat, g[1])[0] > 0.0]
    if not gaps:
        return None
    _, i, j = min(gaps)
    return i, j


def _stepped(above: _Traced, below: _Traced) -> tuple[float, float]:
    """Skins that nowhere cross (equal slopes, unequal planking) end at the chine carried square to each."""
    return above.at_lower, below.at_upper


def _ends_on_centreline(traced: _Traced) -> float | None:
    """Highest place where a line crosses the centreline plane below its upper end, or None."""
    y = traced.space[:, 1]
    last = int(np.floor(traced.stop))
    cross = np.flatnonzero((y[:last] <= 0.0) & (y[1 : last + 1] > 0.0))
    if not len(cross):
        return None
    i = int(cross[-1])
    return float(i + y[i] / (y[i] - y[i + 1]))


def _cut_below(traced: _Traced) -> _Traced:
    """The lowest line ends on the centreline, or at its lower border where that does not lie on it."""
    at = _ends_on_centreline(traced)
    if at is not None and (traced.lower.centreline or at > traced.at_lower):
        return traced.cut_from(at, "centreline")
    return traced.cut_from(traced.at_lower, traced.lower.name)


def _at(points: Floats, index: float) -> Floats:
    i = int(np.clip(np.floor(index), 0, len(points) - 2))
    return np.asarray(points[i] + (index - i) * (points[i + 1] - points[i]))


def _line(traced: _Traced, face: Face) -> InnerLine:
    chart = _onto(traced.skin.patch, face, take(traced.chart, traced.start, traced.stop))
    if traced.low_end == "centreline":
        chart[0] = _onto_both(traced.skin.patch, face, chart[0])
    space = traced.skin.patch.at(chart)
    normal = traced.skin.patch.normal(chart)
    lean = (normal * face.normal(space)).sum(axis=-1)
    bevel = np.arcsin(np.clip(lean, -1.0, 1.0))
    return InnerLine(
        traced.skin.panel.name,
        space,
        face.flat(space),
        normal,
        bevel,
        traced.low_end,
        traced.top_end,
    )
