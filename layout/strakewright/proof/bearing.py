"""Do members lie against the planking, on the right side of it, and inside their blanks?

gap       how far a bearing face stands off the planking's face, mm, + where there is room between
depth     distance of a point from the described surface, + towards the inside of the boat
spare     wood between the finished section and its blank's faces, mm

The planking's faces are parallel to the described surface; so a point on the inside of the planking is exactly as far
from the described surface as the planking is thick there.  Distances are found here by brute force and Gauss-Newton
steps on the described panels, without the moved surfaces that the members were made from.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping

import numpy as np
import shapely

from strakewright.arrays import Bools, Floats
from strakewright.errors import Check
from strakewright.hull import Hull, Panel
from strakewright.members import Member

TOUCHING = 0.2  # mm
CONTAINED = 0.01  # mm
GRID = (120, 30)
EVERY = 4  # stations between those that are measured
FAR = 1e9

Depths = Mapping[str, tuple[float, float]]
"""Panel -> depth of the planking's inside and of its outside, mm."""


def bearing_checks(hull: Hull, members: Iterable[Member], depths: Depths) -> tuple[Check, ...]:
    """For every member: largest gap of its bearings, deepest cut into the planking, least spare wood in its blank."""
    probes = {panel.name: _Probe(panel) for panel in hull.panels}
    return tuple(check for member in members for check in _checks(member, probes, depths))


def _checks(member: Member, probes: Mapping[str, _Probe], depths: Depths) -> Iterable[Check]:
    inside = member.place == "inside"
    gaps = _gaps(member, probes, depths)
    into = _into(member, probes, depths)
    spare = spare_wood(member)
    yield Check(f"{member.name}: bears on the planking", gaps, TOUCHING, "mm", gaps <= TOUCHING)
    where = "inside" if inside else "outside"
    yield Check(f"{member.name}: lies {where} the planking", into, TOUCHING, "mm", into <= TOUCHING)
    yield Check(f"{member.name}: blank contains it", spare, -CONTAINED, "mm", spare >= -CONTAINED)


def _gaps(member: Member, probes: Mapping[str, _Probe], depths: Depths) -> float:
    """Largest distance between a bearing face and the planking."""
    corners = _some(member)
    k = corners.shape[1]
    side = 0 if member.place == "inside" else 1
    worst = 0.0
    for bearing in member.swept.bearings:
        a, b = corners[:, bearing.edge], corners[:, (bearing.edge + 1) % k]
        shares = (0.0, 1.0) if bearing.on == "land" else (0.0, 0.5, 1.0)
        points = np.concatenate([a + share * (b - a) for share in shares])
        points = _to_port(points)
        off = np.full(len(points), FAR)
        for name, probe in probes.items():
            depth, _ = probe.depth(points)
            off = np.minimum(off, np.abs(depth - depths[name][side]))
        worst = max(worst, float(off.max()))
    return worst


def _into(member: Member, probes: Mapping[str, _Probe], depths: Depths) -> float:
    """How deep a corner of the member cuts into the planking, 0 when none does.

    Planking is cut off at the land: what sits on it cuts in only where it goes further in than the land."""
    bearing = member.swept.bearings[0]
    if bearing.on == "land":
        corners, inward = member.swept.corners, member.swept.blank.deep
        land = (corners[:, [bearing.edge, (bearing.edge + 1) % corners.shape[1]]] * inward[:, None]).sum(axis=-1)
        return float(((corners * inward[:, None]).sum(axis=-1) - land.mean(axis=1)[:, None]).max())
    points = _to_port(_some(member).reshape(-1, 3))
    worst = 0.0
    for name, probe in probes.items():
        depth, over = probe.depth(points)
        inner, outer = depths[name]
        cut = inner - depth if member.place == "inside" else depth - outer
        near = over & (np.abs(depth) < 400.0)
        worst = max(worst, float(np.where(near, cut, 0.0).max(initial=0.0)))
    return worst


def _some(member: Member) -> Floats:
    """The corners of every EVERYth station, and of the last."""
    corners = member.swept.corners
    return np.concatenate([corners[:-1:EVERY], corners[-1:]])


def _to_port(points: Floats) -> Floats:
    return np.stack([points[:, 0], np.abs(points[:, 1]), points[:, 2]], axis=-1)


def spare_wood(member: Member) -> float:
    """Least distance from the finished section to a face of its blank, negative where it pokes out."""
    blank, corners = member.swept.blank, member.swept.corners
    away = corners - blank.outer[:, None]
    across = (away * blank.across[:, None]).sum(axis=-1)
    deep = (away * blank.deep[:, None]).sum(axis=-1)
    sides = blank.width / 2 - np.abs(across)
    return float(min(sides.min(), deep.min(), (blank.depth - deep).min()))


class _Probe:
    """Distances from one described panel."""

    def __init__(self, panel: Panel) -> None:
        self.patch = panel.patch
        ring = np.concatenate([points[:-1] for _, points in panel.ring()])
        self.ring = shapely.Polygon(ring)
        low, high = ring.min(axis=0) - 60.0, ring.max(axis=0) + 60.0
        p, q = (np.linspace(a, b, n) for a, b, n in zip(low, high, GRID, strict=True))
        self.grid = np.stack(np.meshgrid(p, q, indexing="ij"), axis=-1).reshape(-1, 2)
        self.there = self.patch.at(self.grid)
        shapely.prepare(self.ring)

    def depth(self, points: Floats) -> tuple[Floats, Bools]:
        """(n,) signed distance from the panel run on past its borders, and whether the foot lies on the panel."""
        pq = self.grid[self._nearest(points)].copy()
        for _ in range(25):
            r, r_p, r_q = self.patch.jet1(pq)
            away = points - r
            a, b, c = (r_p * r_p).sum(-1), (r_p * r_q).sum(-1), (r_q * r_q).sum(-1)
            x, y = (away * r_p).sum(-1), (away * r_q).sum(-1)
            det = a * c - b * b
            step = np.stack([(c * x - b * y) / det, (a * y - b * x) / det], axis=-1)
            pq += np.clip(step, -40.0, 40.0)
            if np.abs(step).max() < 1e-9:
                break
        inward = -self.patch.normal(pq)
        depth = ((points - self.patch.at(pq)) * inward).sum(axis=-1)
        return np.asarray(depth), np.asarray(shapely.contains_xy(self.ring, pq[:, 0], pq[:, 1]))

    def _nearest(self, points: Floats) -> np.ndarray[tuple[int], np.dtype[np.int64]]:
        size = (self.there**2).sum(axis=-1)
        return np.asarray((size - 2.0 * points @ self.there.T).argmin(axis=1), dtype=np.int64)
