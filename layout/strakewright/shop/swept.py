"""Finished sections of members that lie on a panel or in a chine, and the blanks they are planed from.

flat run   batten, clamp, rail: a square stick on the planking's inside or outside; its bearing face follows the
           planking, so that it needs no bevel but takes a twist
log        stick in the inner corner of a chine, bearing on both panels.  "bisector": the blank's outer face square to
           the bisector of the corner, w = 2 land cos(fold/2), both faces bevelled fold/2, depth + (w/2) tan(fold/2);
           "side": the blank flat on the side, hanging s tan(theta - 90) below the corner
dressing   wood on a blank's outer face that planing the bevels takes off

Source: derived (solid geometry in the plane square to the run); closed forms in the tests.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from strakewright.arrays import Bools, Floats
from strakewright.geometry.seats import corners, seats
from strakewright.geometry.surface import Patch, foot_points, offset
from strakewright.hull import Hull
from strakewright.members import Bearing, Blank, Swept
from strakewright.settings import PlankingSettings
from strakewright.shop.inside import Inside
from strakewright.shop.runs import Line, evenly, frames_along

DRESSING = 2.0
LEAST_FOLD = np.radians(2.0)


@dataclass(frozen=True, eq=False)
class Skins:
    """Both faces of the planking, panel by panel from the keel up.  inner, outer : patches on the panels' charts;
    thick : mm of planking of each panel, square to it."""

    hull: Hull
    inner: tuple[Patch, ...]
    outer: tuple[Patch, ...]
    thick: tuple[float, ...]

    @staticmethod
    def of(hull: Hull, inside: Inside, planking: tuple[PlankingSettings, ...]) -> Skins:
        """From the inside of the planking out by the thickness of all layers."""
        total = {p.panel: p.total for p in planking}
        thick = tuple(total.get(p.name, 0.0) for p in hull.panels)
        inner = tuple(inside.skin(p.name).patch for p in hull.panels)
        outs = [inside.skin(p.name).depth - t for p, t in zip(hull.panels, thick, strict=True)]
        outer = tuple(offset(p.patch, d) if abs(d) > 1e-9 else p.patch for p, d in zip(hull.panels, outs, strict=True))
        return Skins(hull, inner, outer, thick)

    def face(self, place: str) -> tuple[Patch, ...]:
        return self.inner if place == "inside" else self.outer


def dot(a: Floats, b: Floats) -> Floats:
    """(...) scalar products of (..., 3) vectors."""
    return np.asarray((a * b).sum(axis=-1))


def unit(v: Floats) -> Floats:
    """(..., 3) unit vectors."""
    return np.asarray(v / np.linalg.norm(v, axis=-1, keepdims=True))


# -- flat runs -------------------------------------------------------------------------------------


def flat_run(skins: Skins, line: Line, place: str, size: tuple[float, float], lateral: tuple[float, float]) -> Swept:
    """A square stick whose bearing face follows the planking.

    size : sided, moulded mm;  lateral : mm of its lower and upper edge from the line, + towards the sheer
    """
    panel = int(line.panel[0])
    patch = skins.face(place)[panel]
    line = evenly(Line(patch.at(line.chart), line.panel, line.chart))
    run, tangent = frames_along(line.points)
    chart = foot_points(patch, line.points, line.chart)
    up = unit(np.cross(tangent, -patch.normal(chart)))
    up = up * np.where(dot(up, np.array([0.0, 1.0, 1.0])) < 0, -1.0, 1.0)[:, None]
    low, high = (_beside(patch, chart, line.points, (tangent, up), w) for w in lateral)
    across = unit(high - low)
    deep = unit(np.cross(across, tangent))
    deep = deep * np.where(dot(deep, patch.normal(chart)) > 0, -1.0, 1.0)[:, None]
    sided, moulded = size
    out = -moulded * deep if place == "outside" else 0.0 * deep
    ring = [low + out, low + out + moulded * deep, high + out + moulded * deep, high + out]
    stack, bearing = _wound(ring, tangent, 3 if place == "inside" else 1)
    blank = Blank((low + high) / 2 + out, across, deep, sided, moulded)
    on = skins.hull.panels[panel].name
    return Swept(run, stack, blank, (Bearing(on, bearing, np.zeros(len(run))),))


def _beside(patch: Patch, chart: Floats, at: Floats, frame: tuple[Floats, Floats], width: float) -> Floats:
    """Points of the skin in the section planes at a chord of `width` (signed) from the line."""
    tangent, up = frame
    found, reach = at, np.full(len(at), width)
    if width == 0.0:
        return at
    for _ in range(3):
        values = np.stack([dot(tangent, at), dot(up, at) + reach], axis=1)
        chart = seats(patch, chart, np.stack([tangent, up], axis=1), values)
        found = patch.at(chart)
        reach = reach + np.sign(width) * (abs(width) - np.linalg.norm(found - at, axis=-1))
    return found


def _wound(ring: list[Floats], tangent: Floats, bearing: int) -> tuple[Floats, int]:
    """Corners (n, k, 3) counter-clockwise seen from ahead, and the number of the bearing edge among them."""
    stack = np.stack(ring, axis=1)
    k = len(ring)
    around = np.cross(stack, np.roll(stack, -1, axis=1)).sum(axis=1)
    if float(np.median(dot(around - _about(stack), tangent))) < 0:
        return stack[:, ::-1], (k - 2 - bearing) % k
    return stack, bearing


def _about(stack: Floats) -> Floats:
    """Twice the vector area is taken about each section's own middle, so this is nothing but rounding."""
    middle = stack.mean(axis=1, keepdims=True)
    shifted = stack - middle
    return np.asarray(
        np.cross(stack, np.roll(stack, -1, axis=1)).sum(axis=1)
        - np.cross(shifted, np.roll(shifted, -1, axis=1)).sum(axis=1)
    )


# -- logs ------------------------------------------------------------------------------------------


@dataclass(frozen=True, eq=False)
class InnerChine:
    """The inner corner of a chine.  points : (n, 3) mm;  tangent : (n, 3);  below, above : (n, 3) unit vectors from
    the corner into the bottom's and the side's inner face, square to the run;  inward : (n, 3) of both normals;
    fold : (n,) 180 degrees less the angle inside the boat;  chart : (n, 4) on the two inner skins."""

    points: Floats
    tangent: Floats
    below: Floats
    above: Floats
    fold: Floats
    chart: Floats
    panels: tuple[int, int]


def inner_chine(skins: Skins, line: Line, face: str = "inside") -> InnerChine:
    """The corner between the inner skins along a chine, and the angle there.  face : "outside" for the outer ones"""
    lower = int(line.panel[0])
    line = evenly(line)
    low, high = skins.face(face)[lower], skins.face(face)[lower + 1]
    _, tangent = frames_along(line.points)
    seat = skins.hull.panels[lower + 1]
    start = foot_points(seat.patch, line.points, _along(seat.lower.chart, len(line.points)))
    chart = np.concatenate([line.chart, start], axis=1)
    points = line.points
    for _ in range(2):
        chart = corners(low, high, (chart[:, :2], chart[:, 2:]), tangent, dot(tangent, points))
        points = low.at(chart[:, :2])
        _, tangent = frames_along(points)
    n_low, n_high = low.normal(chart[:, :2]), high.normal(chart[:, 2:])
    below = unit(np.cross(n_low, tangent))
    above = unit(np.cross(n_high, tangent))
    below = below * np.where(dot(below, np.array([0.0, 1.0, 0.0])) > 0, -1.0, 1.0)[:, None]
    above = above * np.where(dot(above, below) > 0, -1.0, 1.0)[:, None]
    fold = np.pi - np.arccos(np.clip(dot(below, above), -1.0, 1.0))
    return InnerChine(points, tangent, below, above, fold, chart, (lower, lower + 1))


def _along(points: Floats, n: int) -> Floats:
    at = np.linspace(0.0, len(points) - 1.0, n)
    return np.stack([np.interp(at, np.arange(len(points)), points[:, k]) for k in (0, 1)], axis=-1)


def log_on_bisector(skins: Skins, chine: InnerChine, depth: float, land: float) -> Swept:
    """A chine log whose blank's outer face is square to the bisector; five corners.

    depth : mm inward from the blank's outer face where the lands end;  land : mm of face on each panel
    """
    a, b = _feet(skins, chine, land, land)
    across = unit(a - b)
    inward = _inward(chine, across)
    ring = [chine.points, a, a + depth * inward, b + depth * inward, b]
    stack, first = _wound(ring, chine.tangent, 0)
    height = dot((a + b) / 2 - chine.points, inward)
    width = float(np.linalg.norm(a - b, axis=-1).max())
    total = depth + float(height.max()) + DRESSING
    outer = (a + b) / 2 - inward * (float(height.max()) + DRESSING)
    blank = Blank(outer, across, inward, width, total)
    return _log(skins, chine, stack, first, blank)


def log_on_side(skins: Skins, chine: InnerChine, depth: float, land: float) -> Swept:
    """A chine log flat on the side; four corners: it hangs depth x tan(theta - 90) below the corner."""
    hang = depth / np.maximum(np.cos(np.pi / 2 - chine.fold), 0.05)
    a, b = _feet(skins, chine, land, hang)
    across = unit(a - chine.points)
    inward = _inward(chine, across)
    b = b + inward * (depth - dot(b - chine.points, inward))[:, None]
    b = _on_lower(skins, chine, b)
    ring = [chine.points, a, a + depth * inward, b]
    stack, first = _wound(ring, chine.tangent, 0)
    below = float(np.maximum(-dot(b - chine.points, across), 0.0).max())
    outer = chine.points + across * ((land - below) / 2) - inward * DRESSING
    blank = Blank(outer, across, inward, land + below, depth + DRESSING)
    return _log(skins, chine, stack, first, blank)


def _feet(skins: Skins, chine: InnerChine, on_side: float, on_bottom: float | Floats) -> tuple[Floats, Floats]:
    """Points of the upper and the lower skin at given chords from the corner, in the section planes."""
    low, high = (skins.inner[i] for i in chine.panels)
    a = _reach(high, chine.chart[:, 2:], chine, chine.above, on_side)
    b = _reach(low, chine.chart[:, :2], chine, chine.below, on_bottom)
    return a, b


def _reach(patch: Patch, chart: Floats, chine: InnerChine, way: Floats, length: float | Floats) -> Floats:
    planes = np.stack([chine.tangent, way], axis=1)
    reach = np.broadcast_to(np.asarray(length, dtype=np.float64), (len(way),)).copy()
    found = chine.points
    for _ in range(3):
        values = np.stack([dot(chine.tangent, chine.points), dot(way, chine.points) + reach], axis=1)
        chart = seats(patch, chart, planes, values)
        found = patch.at(chart)
        reach += length - np.linalg.norm(found - chine.points, axis=-1)
    return found


def _on_lower(skins: Skins, chine: InnerChine, near: Floats) -> Floats:
    """The lower skin's points at the same depth inward as `near`."""
    patch = skins.inner[chine.panels[0]]
    inward = _inward(chine, unit(chine.above))
    planes = np.stack([chine.tangent, inward], axis=1)
    values = np.stack([dot(chine.tangent, chine.points), dot(inward, near)], axis=1)
    return patch.at(seats(patch, foot_points(patch, near, chine.chart[:, :2]), planes, values))


def _inward(chine: InnerChine, across: Floats) -> Floats:
    inward = unit(np.cross(chine.tangent, across))
    return inward * np.where(dot(inward, chine.below + chine.above) < 0, -1.0, 1.0)[:, None]


def _log(skins: Skins, chine: InnerChine, stack: Floats, first: int, blank: Blank) -> Swept:
    run, _ = frames_along(chine.points)
    names = [skins.hull.panels[i].name for i in chine.panels]
    k = stack.shape[1]
    corner = first if np.allclose(stack[:, first], chine.points) else (first + 1) % k
    edges = {"above": first, "below": (corner - 1) % k if corner == first else corner}
    bearings = tuple(
        Bearing(name, edge, face_bevel(stack, edge, blank))
        for name, edge in ((names[0], edges["below"]), (names[1], edges["above"]))
    )
    return Swept(run, stack, blank, bearings)


def face_bevel(stack: Floats, edge: int, blank: Blank) -> Floats:
    """(n,) angle between a face of the section and the blank's outer face, radians, 0 to 90 degrees."""
    way = unit(stack[:, (edge + 1) % stack.shape[1]] - stack[:, edge])
    return np.asarray(np.arctan2(np.abs(dot(way, blank.deep)), np.abs(dot(way, blank.across))))


def kept(swept: Swept, keep: Bools) -> Swept:
    """The longest unbroken stretch of stations that are kept, its run reckoned anew from its after end."""
    starts = np.flatnonzero(keep & ~np.concatenate([[False], keep[:-1]]))
    stops = np.flatnonzero(keep & ~np.concatenate([keep[1:], [False]]))
    if not len(starts):
        return swept
    i = int((stops - starts).argmax())
    cut = slice(int(starts[i]), int(stops[i]) + 1)
    b = swept.blank
    return Swept(
        swept.run[cut] - swept.run[starts[i]],
        swept.corners[cut],
        replace(b, outer=b.outer[cut], across=b.across[cut], deep=b.deep[cut]),
        tuple(replace(x, bevel=x.bevel[cut]) for x in swept.bearings),
    )
