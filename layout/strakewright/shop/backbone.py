"""Members on the centreline: keelson and inner stem inside the planking, stem cap and keel shoe outside it.

half angle    between the planking and the centreline plane, in the plane square to the run; 90 degrees less deadrise
face          the inner stem's forward face, which planking ends are flush with; half of it: h
land          the flat that hood ends are cut to, level with that face; half of it H = h + t / cos(half angle)
flat          what is planed off the bottom's ridge for a keel shoe
cheek         side of an inner member between its bearing and its inner face

The ridge line is where the inner skins meet the centreline plane; the face lies h / tan(half angle) inside it.
All members of one run share the curve of that face: the inner stem's former is `moulded` inside it, the cap's first
ply lies on it.  Source: derived; points are taken from the skins themselves, not from angles.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from strakewright.arrays import Bools, Floats, Ints
from strakewright.geometry.seats import seats
from strakewright.geometry.surface import Patch
from strakewright.members import Bearing, Blank, Swept
from strakewright.settings import BackboneSettings
from strakewright.shop.runs import Line, evenly, faired, frames_along
from strakewright.shop.swept import DRESSING, Skins, dot, face_bevel, inner_chine

Y = np.array([0.0, 1.0, 0.0])
FAIR_IN = 300.0  # mm of keel over which the stem's face runs out
NEAR = 900.0  # mm from the end of a chine within which a centreline member may reach it
LEAST_SIDE = 0.5  # mm off the centreline from which a stem's border is the edge of its land
LEAST_KNEE = 1.0  # mm of a lower bearing that is worth having
CHEEK = 2.0  # mm of side left at least above a bearing


@dataclass(frozen=True, eq=False)
class Spine:
    """The face curve of a centreline run and what stands about it.

    points : (n, 3) mm, y = 0, faired;  tangent : (n, 3);  down : (n, 3) unit vectors towards the water
    panel : (n,) panel whose skin lies beside each station;  chart : (n, 2) near guesses there
    half_face : (n,) h;  on_stem : (n,) True above the keel
    """

    run: Floats
    points: Floats
    tangent: Floats
    down: Floats
    panel: Floats
    chart: Floats
    half_face: Floats
    on_stem: Bools


def spine(skins: Skins, line: Line, backbone: BackboneSettings) -> Spine:
    """The curve of the inner stem's forward face, and of the keelson's ridge, along an edge of the centreline."""
    line = evenly(line)
    flat = line.points * np.array([1.0, 0.0, 1.0])
    stem = _on_stem(skins, line)
    found = _spine(flat, line, stem, np.zeros(len(flat)))
    sides = line.points[:, 1]  # a border off the centreline is the land's own edge
    h = half_faces(skins, found, backbone, sides)
    for _ in range(2):
        depth = _depth_at(skins, found, h)
        moved = faired(found.points - depth[:, None] * found.down)
        found = _spine(moved, line, stem, h)
        h = half_faces(skins, found, backbone, sides)
    return found


def _spine(points: Floats, line: Line, stem: Bools, h: Floats) -> Spine:
    run, tangent = frames_along(points)
    down = np.stack([tangent[:, 2], np.zeros(len(tangent)), -tangent[:, 0]], axis=-1)
    return Spine(run, points, tangent, down, line.panel, line.chart, h, stem)


def _on_stem(skins: Skins, line: Line) -> Bools:
    """Stations whose nearest border is a stem: those forward of the end of the lowest panel's lower edge."""
    keel = skins.hull.panels[0]
    if keel.lower.name != "keel":
        return np.ones(len(line.points), dtype=bool)
    end = keel.in_space(keel.lower)[-1]
    return np.asarray((line.points[:, 2] > end[2] + 1e-6) & (line.points[:, 0] > end[0] - 1.0))


def half_faces(skins: Skins, spine: Spine, backbone: BackboneSettings, sides: Floats) -> Floats:
    """(n,) h, half the inner stem's face.

    On the stem: what the planking's share t / cos a leaves of the land's half width, which is the border's own half
    breadth `sides` (n,) where it stands off the centreline, else `half_siding`; or half of `stem_face_min`.  On the
    keel: nothing, run out over FAIR_IN where the two follow each other.
    """
    full = np.full(len(spine.run), backbone.stem_face_min / 2)
    given = spine.on_stem.any() and sides[spine.on_stem].min() > LEAST_SIDE
    if given or backbone.half_siding is not None:
        thick = np.array([skins.thick[int(i)] for i in spine.panel])
        land = sides if given else np.full(len(full), backbone.half_siding)
        full = np.maximum(land - thick / np.cos(half_angles(skins, spine)), 0.0)
    if not spine.on_stem.any():
        return np.zeros(len(spine.run))
    foot = int(np.argmax(spine.on_stem))
    share = np.clip(1.0 - (spine.run[foot] - spine.run) / FAIR_IN, 0.0, 1.0)
    return np.where(spine.on_stem, full, full[foot] * share)


def half_angles(skins: Skins, spine: Spine) -> Floats:
    """(n,) radians between the planking's inside and the centreline plane, square to the run."""
    a = np.zeros(len(spine.run))
    for i, patch in enumerate(skins.inner):
        here = _beside(spine, i)
        if len(here):
            normal = patch.normal(_seated(patch, spine, here, 0.0 * spine.run))
            normal = normal - dot(normal, spine.tangent[here])[:, None] * spine.tangent[here]
            a[here] = np.arctan2(np.abs(dot(normal, spine.down[here])), np.abs(normal[:, 1]))
    return a


def _beside(spine: Spine, panel: int) -> Ints:
    return np.asarray(np.flatnonzero(spine.panel == panel), dtype=np.int64)


def _seated(patch: Patch, spine: Spine, here: Ints, y: Floats) -> Floats:
    """(m, 2) chart points in the section planes of some stations at half breadths y (n,)."""
    t = spine.tangent[here]
    planes = np.stack([t, np.broadcast_to(Y, t.shape)], axis=1)
    values = np.stack([dot(t, spine.points[here]), y[here]], axis=1)
    return seats(patch, spine.chart[here], planes, values)


def _depth_at(skins: Skins, spine: Spine, y: Floats, face: str = "inside") -> Floats:
    """(n,) mm inward (up, aft) from the spine at which the skin stands y (n,) off the centreline."""
    depth = np.zeros(len(spine.run))
    for i, patch in enumerate(skins.face(face)):
        here = _beside(spine, i)
        if len(here):
            found = patch.at(_seated(patch, spine, here, y))
            depth[here] = -dot(found - spine.points[here], spine.down[here])
    return depth


def _half_breadth(skins: Skins, spine: Spine, depth: Floats, face: str) -> Floats:
    """(n,) half breadth mm of a skin at a depth inward from the spine."""
    y = np.zeros(len(spine.run))
    for i, patch in enumerate(skins.face(face)):
        here = _beside(spine, i)
        if len(here):
            t, d = spine.tangent[here], spine.down[here]
            planes = np.stack([t, d], axis=1)
            at = spine.points[here]
            values = np.stack([dot(t, at), dot(d, at) - depth[here]], axis=1)
            start = _seated(patch, spine, here, np.full(len(spine.run), 15.0))
            y[here] = patch.at(seats(patch, start, planes, values))[:, 1]
    return y


@dataclass(frozen=True, eq=False)
class _Knees:
    """Where the section planes of a centreline run cut the inner chine above their panel.  breadth, depth : (n,) mm,
    infinite where they do not;  above : (n,) panel over that chine"""

    breadth: Floats
    depth: Floats
    above: Floats


def _knees(skins: Skins, spine: Spine, face: str) -> _Knees:
    n = len(spine.run)
    breadth, depth = np.full(n, np.inf), np.full(n, np.inf)
    for i, panel in enumerate(skins.hull.panels[:-1]):
        here = _beside(spine, i)
        if not len(here):
            continue
        chart = panel.upper.chart
        line = Line(panel.in_space(panel.upper), np.full(len(chart), float(i)), chart)
        points = inner_chine(skins, line, face).points
        points = points[points[:, 0] > points[-1, 0] - NEAR]
        points = np.concatenate([points, 4.0 * points[-1:] - 3.0 * points[-2:-1]])  # a little past the stem
        for k in here:
            over = (points - spine.points[k]) @ spine.tangent[k]
            for m in np.flatnonzero(over[:-1] * over[1:] < 0):
                at = points[m] + over[m] / (over[m] - over[m + 1]) * (points[m + 1] - points[m])
                if at[1] < breadth[k]:
                    breadth[k], depth[k] = at[1], -float((at - spine.points[k]) @ spine.down[k])
    return _Knees(breadth, depth, np.minimum(spine.panel + 1, len(skins.hull.panels) - 1))


def inner_member(skins: Skins, spine: Spine, sided: float, moulded: float) -> Swept:
    """Keelson or inner stem: face, bearings on the planking, cheeks, inner face; eight corners.

    sided : mm athwart;  moulded : mm from the face (or ridge) to the inner face.  Where the planking closes in
    before that depth, the member is as broad as the planking leaves it.  A bearing has a corner in it: on the inner
    chine where the section reaches it, else half way.
    """
    h, half, inner = spine.half_face, np.full(len(spine.run), sided / 2), np.full(len(spine.run), moulded)
    knees = _knees(skins, spine, "inside")
    passed = knees.breadth <= h + LEAST_KNEE
    spine = replace(spine, panel=np.where(passed, knees.above, spine.panel))
    far = replace(spine, panel=knees.above)
    face_at = _depth_at(skins, spine, h)
    reached = (knees.breadth < half) & (knees.depth < moulded - CHEEK) & ~passed
    near = _edge(skins, spine, half, moulded)
    beyond = _edge(skins, far, half, moulded) if reached.any() else near
    broad, wide_at = (np.where(reached, b, a) for a, b in zip(near, beyond, strict=True))
    mid = (h + near[0]) / 2
    knee = np.where(reached, knees.breadth, mid), np.where(reached, knees.depth, _depth_at(skins, spine, mid))
    ring = [(-h, face_at), (h, face_at), knee, (broad, wide_at)]
    ring += [(broad, inner), (-broad, inner), (-broad, wide_at), (-knee[0], knee[1])]
    stack = _placed(spine, ring)
    shallow = float(face_at.min()) - DRESSING
    outer = spine.points - shallow * spine.down
    blank = Blank(outer, np.broadcast_to(Y, outer.shape), -spine.down, 2.0 * float(broad.max()), moulded - shallow)
    name = skins.hull.panels[int(np.median(spine.panel))].name
    return Swept(spine.run, stack, blank, tuple(Bearing(name, edge, face_bevel(stack, edge, blank)) for edge in (1, 2)))


def _edge(skins: Skins, spine: Spine, half: Floats, moulded: float) -> tuple[Floats, Floats]:
    """Half breadth and depth of the outer edge of a bearing: at `half`, or a CHEEK short of the inner face."""
    at = _depth_at(skins, spine, half)
    tight = at > moulded - CHEEK
    deep = np.full(len(half), moulded - CHEEK)
    broad = np.where(tight, _half_breadth(skins, spine, deep, "inside"), half)
    return broad, np.where(tight, deep, at)


def outer_member(skins: Skins, spine: Spine, sided: float, moulded: float, flat: Floats) -> Swept:
    """Stem cap or keel shoe: sits on the land, sides bevelled from the land's width to `sided` at its nose.

    moulded : mm from the spine outward;  flat : (n,) half width mm of the flat planed for it along the keel
    """
    on_stem = _depth_at(skins, spine, spine.half_face)
    on_keel = _depth_at(skins, spine, flat, "outside")
    share = _stem_share(spine)
    land_at = share * on_stem + (1.0 - share) * on_keel
    land = np.where(share > 0.0, _half_breadth(skins, spine, land_at, "outside"), flat)
    knees = _knees(skins, spine, "outside")
    crossed = (knees.breadth < land) & (knees.depth < land_at)
    if crossed.any():
        above = _half_breadth(skins, replace(spine, panel=knees.above), land_at, "outside")
        land = np.where(crossed, np.minimum(land, above), land)
    nose = np.minimum(np.full(len(land), sided / 2), land)
    tip = (1.0 - share) * land_at - moulded
    stack = _placed(spine, [(-nose, tip), (nose, tip), (land, land_at), (-land, land_at)])
    outer = spine.points - (float(tip.min()) - DRESSING) * spine.down
    width, depth = 2.0 * float(land.max()), float(land_at.max() - tip.min()) + DRESSING
    blank = Blank(outer, np.broadcast_to(Y, outer.shape), -spine.down, width, depth)
    return Swept(spine.run, stack, blank, (Bearing("land", 2, 0.0 * spine.run),))


def _stem_share(spine: Spine) -> Floats:
    if not spine.on_stem.any():
        return np.zeros(len(spine.run))
    foot = int(np.argmax(spine.on_stem))
    return np.where(spine.on_stem, 1.0, np.clip(1.0 - (spine.run[foot] - spine.run) / FAIR_IN, 0.0, 1.0))


def _placed(spine: Spine, ring: list[tuple[Floats, Floats]]) -> Floats:
    """(n, k, 3) from half breadths and depths."""
    return np.stack([spine.points + y[:, None] * Y - u[:, None] * spine.down for y, u in ring], axis=1)


def bearing_widths(swept: Swept) -> Floats:
    """(m, n) mm of each bearing, square to the run."""
    k = swept.corners.shape[1]
    return np.array(
        [np.linalg.norm(swept.corners[:, (b.edge + 1) % k] - swept.corners[:, b.edge], axis=-1) for b in swept.bearings]
    )


def land_halves(swept: Swept) -> Floats:
    """(n,) half width mm of the land under an outer member."""
    edge = swept.bearings[0].edge
    return np.asarray(np.linalg.norm(swept.corners[:, (edge + 1) % 4] - swept.corners[:, edge], axis=-1) / 2)
