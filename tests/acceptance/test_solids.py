"""Planks as solid bodies in their places: they neither run into each other nor gape.

V prism: every plank is a convex solid between its two faces, laid on the boat by its own listed points (Kabsch fit);
overlaps by boolean intersection (manifold3d), gaps by looking for places near a seam that lie in no plank.  Allowed:
0.2 mm along bevelled seams.  The shell's volume is known on paper: its section x its length.

Running chine (both surfaces wound, the corner opening past the limit of the lap): where the corners of the two finished
edges lie, worked out in the section plane, in which both normals lie exactly.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import combinations

import manifold3d
import numpy as np
import pytest
from scipy.optimize import brentq
from scipy.spatial import ConvexHull
from tests.acceptance.yard import Planked, margins
from tests.exact_hulls import RunningChine

from strakewright.arrays import Floats
from strakewright.parts import Margin, Plank

RISE, FLARE = np.radians(20.0), np.radians(10.0)
ALLOWED = 0.2


@dataclass(frozen=True, eq=False)
class Solid:
    """points : (n, 3);  planes : (m, 4) of its hull, outward;  body : for booleans"""

    name: str
    points: Floats
    planes: Floats
    body: manifold3d.Manifold

    def depth(self, spots: Floats) -> Floats:
        """How far outside the solid each spot lies, negative inside (exact for the nearest face)."""
        return np.asarray((spots @ self.planes[:, :3].T + self.planes[:, 3]).max(axis=1))


def solid_of(plank: Plank) -> Solid:
    """The two faces of a plank on a plane, half its thickness either way of where its listed points lie."""
    flat = np.concatenate([m.flat for m in margins(plank)])
    space = np.concatenate([m.seam for m in margins(plank)])
    here, there = flat.mean(axis=0), space.mean(axis=0)
    u, _, v = np.linalg.svd((flat - here).T @ (space - there), full_matrices=False)
    turn = u @ v
    assert np.abs((flat - here) @ turn + there - space).max() < 0.01  # a plane plank
    out = np.cross(turn[0], turn[1])
    out *= np.sign(out @ np.array([0.0, there[1], -1000.0]))  # away from a point high up on the centreline
    faces = [
        (ring - here) @ turn + there + side * plank.thickness / 2 * out
        for ring, side in ((plank.face_outside, 1.0), (plank.face_inside, -1.0))
    ]
    points = np.concatenate(faces)
    hull = ConvexHull(points)
    return Solid(plank.id, points, hull.equations, manifold3d.Manifold.hull_points(points))


@pytest.fixture(scope="module")
def solids(prism: Planked) -> dict[str, Solid]:
    return {p.id: solid_of(p) for p in prism.planks}


def overlap(a: Solid, b: Solid) -> float:
    """mm: volume common to both over the area of the thinner one's largest side is never more than this deep."""
    low, high = (
        np.maximum(a.points.min(axis=0), b.points.min(axis=0)),
        np.minimum(a.points.max(axis=0), b.points.max(axis=0)),
    )
    if (low > high).any():
        return 0.0
    common = a.body ^ b.body
    if common.is_empty() or common.volume() < 1e-6:
        return 0.0
    box = common.bounding_box()
    sides = sorted(np.array(box[3:]) - np.array(box[:3]))
    return float(common.volume() / (sides[1] * sides[2]))


def test_no_two_planks_run_into_each_other(solids: dict[str, Solid]) -> None:
    deepest = max(overlap(a, b) for a, b in combinations(solids.values(), 2))
    assert deepest <= ALLOWED


def test_the_overlap_is_seen(solids: dict[str, Solid]) -> None:
    a = solids["S01P"]
    moved = Solid("x", a.points, a.planes, a.body.translate((0.0, 0.0, -60.0)))
    assert overlap(a, moved) > 5.0


def seam_spots(plank: Plank, solid: Solid) -> Floats:
    """Places on the common face of a seam, at mid-thickness and 0.4 of the thickness to either side."""
    rng = np.random.default_rng(3)
    rows = []
    for m in (plank.first, plank.second):
        if m.meets == "seam":
            inner = m.seam[2:-2:4] if len(m.seam) > 8 else m.seam[:0]
            normal = np.cross(m.seam[-1] - m.seam[0], solid.points.mean(axis=0) - m.seam[0])
            normal = np.cross(normal, m.seam[-1] - m.seam[0])
            through = np.cross(m.seam[-1] - m.seam[0], normal)
            through = through / np.linalg.norm(through)
            rows += [inner + share * plank.thickness * through for share in (-0.4, 0.0, 0.4)]
    spots = np.concatenate(rows) if rows else np.zeros((0, 3))
    return np.asarray(spots + rng.uniform(-0.05, 0.05, spots.shape))


def test_no_seam_gapes(prism: Planked, solids: dict[str, Solid]) -> None:
    for panel, layers in (("side", (1,)), ("bottom", (1, 2))):
        for layer in layers:
            planks = prism.port(panel, layer)
            bodies = [solids[p.id] for p in planks]
            spots = np.concatenate([seam_spots(p, solids[p.id]) for p in planks])
            assert len(spots) > 100
            nearest = np.min([b.depth(spots) for b in bodies], axis=0)
            assert nearest.max() <= ALLOWED / 2


def test_the_ridge_closes_at_the_centreline(prism: Planked, solids: dict[str, Solid]) -> None:
    """Both layers, both sides: places on the centreline plane between the faces lie in a plank."""
    for layer in (1, 2):
        bodies = [solids[p.id] for p in prism.planks if (p.panel, p.layer) == ("bottom", layer)]
        depth = 9.5 * (2.5 - layer) - 9.5 / 2
        x = np.linspace(250.0, 2750.0, 60)
        spots = np.stack([x, np.full_like(x, 0.02), np.full_like(x, depth / np.cos(RISE))], axis=-1)
        assert np.min([b.depth(spots) for b in bodies], axis=0).max() <= ALLOWED / 2


def test_the_lap_closes_at_the_chine(prism: Planked, solids: dict[str, Solid]) -> None:
    """The side's lower edge lies on the bottom's inner face, the bottom's ends are flush with the side's outside."""
    corner = np.array([900.0, 900.0 * np.tan(RISE)])
    up, along = np.array([np.sin(FLARE), np.cos(FLARE)]), np.array([-np.cos(RISE), -np.sin(RISE)])
    inward_side, inward_bottom = np.array([-np.cos(FLARE), np.sin(FLARE)]), np.array([-np.sin(RISE), np.cos(RISE)])
    x = np.linspace(300.0, 2700.0, 40)
    port = [s for name, s in solids.items() if name.endswith("P")]

    def gap(places: list[Floats]) -> float:
        spots = np.concatenate([np.column_stack([x, np.full_like(x, p[0]), np.full_like(x, p[1])]) for p in places])
        return float(np.min([b.depth(spots) for b in port], axis=0).max())

    theta = np.pi - (np.pi / 2 - FLARE - RISE)
    land = [corner + inward_side * s + up * (19.0 + s * np.cos(theta)) / np.sin(theta) for s in (2.0, 9.5, 17.0)]
    flush = [corner + inward_bottom * s + along * (s * np.cos(theta) / np.sin(theta) + 0.1) for s in (2.0, 9.0, 17.0)]
    assert gap(land) <= ALLOWED / 2
    assert gap(flush) <= ALLOWED / 2


def test_the_volume_of_the_side_is_its_section_by_its_length(prism: Planked, solids: dict[str, Solid]) -> None:
    """500 / cos 10 less what the lap leaves off at mid-thickness, x 19 x 3000."""
    theta = np.pi - (np.pi / 2 - FLARE - RISE)
    girth = 500.0 / np.cos(FLARE) - (19.0 + 9.5 * np.cos(theta)) / np.sin(theta)
    total = sum(solids[p.id].body.volume() for p in prism.port("side"))
    assert total == pytest.approx(girth * 19.0 * 3000.0, rel=1e-3)


HULL = RunningChine()


def corners(plank: Plank, edge: Margin, slope: Floats, away: Floats) -> dict[str, Floats]:
    """(n, 2) y, z of the outside and inside corners of a finished edge.  slope : of the panel at every point
    away : (n, 2) out of the plank in its face"""
    normal = np.stack([np.sin(slope), -np.cos(slope)], axis=-1)
    off = edge.fitted - edge.flat
    middle = plank.net_outline.mean(axis=0)
    shift = np.linalg.norm(off, axis=1) * np.sign(((edge.flat - middle) * off).sum(axis=1))
    half = plank.thickness / 2
    found = {}
    for face, side in (("outside", 1.0), ("inside", -1.0)):
        reach = shift + side * half * np.tan(edge.bevel)
        found[face] = edge.seam[:, 1:] + reach[:, None] * away + side * half * normal
    return found


def chine_edges(boat: Planked) -> dict[str, dict[str, Floats]]:
    """panel -> x and corners of all its edges on the chine, port, in order along the boat."""
    gathered: dict[str, dict[str, list[Floats]]] = {"side": {}, "bottom": {}}
    for panel, rows in gathered.items():
        for plank in boat.port(panel):
            for m in (m for m in margins(plank) if m.meets == "chine"):
                x = m.seam[:, 0]
                slope = np.radians(HULL.deadrise(x) + (HULL.fold(x) if panel == "side" else 0.0))
                out = np.stack([np.cos(slope), np.sin(slope)], axis=-1) * (-1.0 if panel == "side" else 1.0)
                for face, points in (corners(plank, m, slope, out) | {"x": x[:, None]}).items():
                    rows.setdefault(face, []).append(points[1:-1])
    joined = {panel: {face: np.concatenate(r) for face, r in rows.items()} for panel, rows in gathered.items()}
    return {
        panel: {face: pts[np.argsort(rows["x"][:, 0])] for face, pts in rows.items()} for panel, rows in joined.items()
    }


def at(rows: dict[str, Floats], face: str, x: Floats) -> Floats:
    return np.stack([np.interp(x, rows["x"][:, 0], rows[face][:, k]) for k in (0, 1)], axis=-1)


def test_both_sides_of_the_chines_transition_close(running: Planked) -> None:
    """Lap: the side's outer corner is the bottom's inner one.  Mitre: outer on outer, inner on inner."""
    edges = chine_edges(running)
    step = float(brentq(lambda x: float(HULL.fold(np.array(x))) - 35.0, 500.0, 4000.0))
    lapped, mitred = np.linspace(400.0, step - 60.0, 30), np.linspace(step + 60.0, 3600.0, 30)
    for x, pairs in ((lapped, [("outside", "inside")]), (mitred, [("outside", "outside"), ("inside", "inside")])):
        for side, bottom in pairs:
            gap = np.linalg.norm(at(edges["side"], side, x) - at(edges["bottom"], bottom, x), axis=1)
            assert np.median(gap) < 0.05
            assert gap.max() <= ALLOWED
