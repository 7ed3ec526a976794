"""Bent planks as solids in their places, on a hull of cones and planes.

A plank bends along and is flat across: at every place of a seam its section is a rectangle with bevelled edges about
the straight line to its other seam, square to that line and to the seam.  Two planks of a seam are laid on the boat so,
each from its own edges and bevels, and must share both corners: apart by no more than 0.2 mm where they are bevelled,
by t tan(fold) over both faces where square edges are left (rule A11), fold = width x bend across (any text on curves).
As bodies (manifold3d) they share no wood.  Chine: corners of the finished edges on the exact normals of cone and plane.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import pairwise

import manifold3d
import numpy as np
import pytest
import shapely
from scipy.optimize import brentq
from tests.acceptance.conftest import HERRINGBONE, STRAKES
from tests.acceptance.shapes import ConeAndPlane
from tests.acceptance.yard import Planked, margins, planked, settings_of
from tests.exact_meshes import Make

from strakewright.arrays import Floats
from strakewright.parts import Margin, Plank

HULL = ConeAndPlane()
T, WIDTH, ALLOWED = 19.0, 160.0, 0.2


def boat(square_gap: float, lap: bool = False) -> Planked:
    """Diagonals on the side, whose seams fold; under a bottom of diagonals, or none."""
    side = replace(HERRINGBONE, panel="side", layers=1, thickness=T, angle_deg=60.0, width=WIDTH, square_gap=square_gap)
    bottom = replace(HERRINGBONE, layers=1, thickness=T, width=250.0)
    return planked(
        HULL.mesh(Make(triangles=4000)), settings_of((replace(STRAKES, courses=3), bottom) if lap else (side,))
    )


@pytest.fixture(scope="module")
def bevelled() -> Planked:
    return boat(0.0)


@pytest.fixture(scope="module")
def squared() -> Planked:
    return boat(1.0)


@dataclass(frozen=True, eq=False)
class Ribs:
    """Sections of a plank along one of its seams.  seam, far : (n, 3);  outside, inside : (n, 3) corners at the seam
    normal : (n, 3) of the plank, outward"""

    seam: Floats
    far: Floats
    outside: Floats
    inside: Floats
    normal: Floats


def ribs(plank: Plank, near: Margin, other: Margin) -> Ribs:
    """Places of `near` from which a rib meets the other seam well inside its ends."""
    tangent = np.gradient(near.seam, axis=0)
    tangent /= np.linalg.norm(tangent, axis=1, keepdims=True)
    a, b = other.seam[:-1], other.seam[1:]
    step = b - a
    share = ((near.seam[:, None] - a) * step).sum(axis=-1) / (step**2).sum(axis=-1)
    feet = a + np.clip(share, 0.0, 1.0)[..., None] * step
    gaps = np.linalg.norm(feet - near.seam[:, None], axis=-1)
    best = gaps.argmin(axis=1)
    at = best + np.clip(share, 0.0, 1.0)[np.arange(len(best)), best]
    good = (at > 1.0) & (at < len(a) - 1.0) & (np.arange(len(at)) > 1) & (np.arange(len(at)) < len(at) - 2)
    far = feet[np.arange(len(best)), best]
    across = far - near.seam
    across /= np.linalg.norm(across, axis=1, keepdims=True)
    normal = np.cross(tangent, across)
    normal /= np.linalg.norm(normal, axis=1, keepdims=True)
    normal *= np.sign((normal * HULL.side_normal(near.seam)).sum(axis=1, keepdims=True))
    lean = (plank.thickness / 2 * np.tan(near.bevel))[:, None] * across
    half = plank.thickness / 2 * normal
    rows = near.seam, far, near.seam + half - lean, near.seam - half + lean, normal
    return Ribs(*(r[good] for r in rows))


def shared_seams(planks: Planked) -> list[tuple[Plank, Plank]]:
    """Neighbours that both have a seam on either side."""
    port = sorted(planks.port("side"), key=lambda p: p.course)
    port = [p for p in port if p.first.meets == p.second.meets == "seam"]
    return [(a, b) for a, b in pairwise(port) if np.array_equal(a.second.seam, b.first.seam)]


def corner_gaps(boat: Planked) -> tuple[Floats, Floats, Floats]:
    """(n,) distance of the outside corners and of the inside corners of two planks at their common seam, mm; folds."""
    rows = []
    for a, b in shared_seams(boat):
        one, two = ribs(a, a.second, a.first), ribs(b, b.first, b.second)
        both = [np.flatnonzero((one.seam == p).all(axis=1)) for p in two.seam]
        k = np.array([i for i, found in enumerate(both) if len(found)], dtype=int)
        j = np.array([found[0] for found in both if len(found)], dtype=int)
        fold = np.arccos(np.clip((one.normal[j] * two.normal[k]).sum(axis=1), -1.0, 1.0))
        rows.append(
            (
                np.linalg.norm(one.outside[j] - two.outside[k], axis=1),
                np.linalg.norm(one.inside[j] - two.inside[k], axis=1),
                fold,
            )
        )
    out, into, fold = (np.concatenate(r) for r in zip(*rows, strict=True))
    return out, into, fold


def test_the_folds_are_those_of_the_cone(bevelled: Planked) -> None:
    """Fold = width x bend across the plank; a cone bends cos f / r round its axis, r from the axis, and not at all
    along its straight lines (Euler's rule of normal curvatures; M. do Carmo)."""
    for a, b in shared_seams(bevelled)[3:]:
        one, two = ribs(a, a.second, a.first), ribs(b, b.first, b.second)
        same = np.isin(one.seam[:, 0], two.seam[:, 0])
        across = (one.far - one.seam)[same] / WIDTH
        spoke = one.seam[same, :2] - np.array([HULL.length, -HULL.offset])
        radius = np.linalg.norm(spoke, axis=1)
        around = (across[:, :2] * np.stack([-spoke[:, 1], spoke[:, 0]], axis=-1)).sum(axis=1) / radius
        bend = around**2 * np.cos(np.radians(HULL.flare_deg)) / radius
        told = a.second.bevel[np.isin(a.second.seam[:, 0], one.seam[same, 0])]
        assert 2 * told == pytest.approx(WIDTH * bend, abs=np.radians(0.02))
        assert told.min() > np.radians(0.1)


def test_bevelled_seams_close_on_both_faces(bevelled: Planked) -> None:
    out, into, fold = corner_gaps(bevelled)
    assert max(out.max(), into.max()) <= ALLOWED
    assert T * np.tan(fold).max() > 0.05  # square edges would not: not a test of nothing


def test_square_seams_gape_by_no_more_than_the_rule_says(squared: Planked) -> None:
    """Square edges meet at mid-thickness: open by t tan(fold) / 2 outside, as much too full inside; the whole of it,
    t tan(fold), once the inside is eased to close."""
    for plank in squared.port("side"):
        assert all(np.all(m.bevel == 0.0) for m in (plank.first, plank.second) if m.meets == "seam")
    out, into, fold = corner_gaps(squared)
    assert out + into == pytest.approx(T * np.tan(fold), abs=0.01)
    assert (out + into).max() <= 1.0


def body(a: Ribs) -> manifold3d.Manifold:
    """The plank between a seam and half way to its other one, as a closed tube."""
    middle, half = (a.seam + a.far) / 2, T / 2 * a.normal
    rows = np.stack([a.outside, a.inside, middle - half, middle + half], axis=1)
    n = len(rows)
    quads = []
    for k in range(4):
        i = 4 * np.arange(n - 1)
        quads.append(np.stack([i + k, i + (k + 1) % 4, i + 4 + (k + 1) % 4, i + 4 + k], axis=1))
    quads.append(np.array([[0, 3, 2, 1], [4 * n - 4, 4 * n - 3, 4 * n - 2, 4 * n - 1]]))
    q = np.concatenate(quads)
    faces = np.concatenate([q[:, [0, 1, 2]], q[:, [0, 2, 3]]])
    points = rows.reshape(-1, 3)
    corners = points[faces]
    volume = np.einsum("ni,ni->n", corners[:, 0], np.cross(corners[:, 1], corners[:, 2])).sum() / 6
    faces = faces if volume > 0 else faces[:, ::-1]
    mesh = manifold3d.Mesh64(points, np.ascontiguousarray(faces.astype(np.uint64)))
    return manifold3d.Manifold(mesh)


def shared_depth(one: Ribs, two: Ribs) -> float:
    """Wood common to two planks, as mm over their common seam face."""
    first, second = body(one), body(two)
    assert first.volume() > 1e5
    assert second.volume() > 1e5
    length = float(np.linalg.norm(np.diff(one.seam, axis=0), axis=1).sum())
    return float((first ^ second).volume()) / (length * T)


def test_planks_share_no_wood(bevelled: Planked) -> None:
    pairs = [(ribs(a, a.second, a.first), ribs(b, b.first, b.second)) for a, b in shared_seams(bevelled)]
    pairs = [(one, two) for one, two in pairs if min(len(one.seam), len(two.seam)) > 5]
    assert len(pairs) > 10
    assert max(shared_depth(one, two) for one, two in pairs) <= ALLOWED / 2
    one, two = pairs[5]
    shift = 2.0 * (two.far - two.seam) / np.linalg.norm(two.far - two.seam, axis=1, keepdims=True)
    pushed = replace(two, **{k: getattr(two, k) - shift for k in ("seam", "far", "outside", "inside")})
    assert shared_depth(one, pushed) > 1.0  # a plank 2 mm into its neighbour is seen


# -- the chine, both sides of its transition -------------------------------------------------------


def chine_corners(boat: Planked, panel: str) -> dict[str, Floats]:
    """(n, 3) outside and inside corners of the finished edges on the chine, port, aft to forward."""
    rows: dict[str, list[Floats]] = {"outside": [], "inside": []}
    for plank in boat.port(panel):
        for m in (m for m in margins(plank) if m.meets == "chine"):
            normal = HULL.side_normal(m.seam) if panel == "side" else np.tile(HULL.bottom_normal(), (len(m.seam), 1))
            tangent = np.gradient(m.seam, axis=0)
            away = np.cross(tangent, normal)
            away /= np.linalg.norm(away, axis=1, keepdims=True)
            away *= np.sign(away[:, 2:]) * (-1.0 if panel == "side" else 1.0)  # out of the side is down
            inside = shapely.contains_xy(shapely.Polygon(plank.net_outline), *m.fitted.T)
            shift = np.linalg.norm(m.fitted - m.flat, axis=1) * np.where(inside, -1.0, 1.0)
            for face, side in (("outside", 1.0), ("inside", -1.0)):
                reach = shift + side * plank.thickness / 2 * np.tan(m.bevel)
                corner = m.seam + reach[:, None] * away + side * plank.thickness / 2 * normal
                rows[face].append(corner[2:-2])
    joined = {face: np.concatenate(r) for face, r in rows.items()}
    return {face: pts[np.argsort(pts[:, 0])] for face, pts in joined.items()}


def off_line(points: Floats, line: Floats) -> Floats:
    """(n,) distance of points from the curve through others that are in order."""
    k = np.clip(np.searchsorted(line[:, 0], points[:, 0]), 1, len(line) - 1)
    a, b = line[k - 1], line[k]
    share = ((points - a) * (b - a)).sum(axis=1) / np.maximum(((b - a) ** 2).sum(axis=1), 1e-12)
    return np.asarray(np.linalg.norm(points - a - np.clip(share, 0.0, 1.0)[:, None] * (b - a), axis=1))


def test_lap_and_mitre_close_on_the_chine_of_cone_and_plane() -> None:
    """The angle inside passes 145 degrees where the fold is 35.  Aft the side's outer corner lies on the bottom's
    inner face; forward outer meets outer and inner meets inner (rule A6)."""
    planks = boat(0.3, lap=True)
    step = float(brentq(lambda x: float(HULL.fold(np.array([x]))[0]) - 35.0, 10.0, HULL.length - 10.0))
    assert 300.0 < step < HULL.length - 300.0
    side, bottom = (chine_corners(planks, panel) for panel in ("side", "bottom"))
    pairs = [("outside", "inside", 150.0, step - 60.0)]
    pairs += [(face, face, step + 60.0, HULL.length - 150.0) for face in ("outside", "inside")]
    for mine, other, lo, hi in pairs:
        points = side[mine][(side[mine][:, 0] > lo) & (side[mine][:, 0] < hi)]
        assert len(points) > 30
        assert off_line(points, bottom[other]).max() <= ALLOWED
