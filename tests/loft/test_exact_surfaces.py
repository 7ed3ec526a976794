"""Hulls known on paper: the lofted surface and its borders against closed forms (all derived; see `exact_hulls`).

Limits are the project's own: surface 0.02 mm, borders 0.03 mm, shared chines 0.01 mm, on 16 000 triangles.
"""

from __future__ import annotations

import time

import numpy as np
import pytest

from strakewright.arrays import Floats
from strakewright.hull import Panel
from tests import exact_hulls as exact
from tests.exact_meshes import Make, hull_of
from tests.loft.hulls import border, codes, inside, lofted, space

SURFACE, BORDER, SHARED = 0.02, 0.03, 0.01


def off_wall(wall: exact.Wall, points: Floats) -> Floats:
    """Distance from a wall of constant slope, by Newton on the point's own waterline (closed form P)."""
    z = points[:, 2]
    theta = np.full(len(z), wall.turn / 2)
    for _ in range(40):
        on = wall.at(theta, z)
        radius = wall.rho + wall.k * theta + z * np.tan(wall.flare)
        along = np.stack([np.cos(theta), -np.sin(theta)], axis=1)
        theta = theta + ((points[:, :2] - on[:, :2]) * along).sum(axis=1) / radius
    return np.linalg.norm(points - wall.at(theta, z), axis=1) * np.cos(wall.flare)


@pytest.mark.parametrize("wall", [exact.CYLINDER, exact.CONE, exact.HELIX], ids=["cylinder", "cone", "helix"])
def test_walls_of_constant_slope(wall: exact.Wall) -> None:
    (side,) = lofted(wall.mesh()).panels
    assert side.name == "side"
    assert off_wall(wall, inside(side)).max() < SURFACE
    assert np.abs(space(side, "chine")[:, 2]).max() < BORDER
    assert np.abs(space(side, "sheer")[:, 2] - wall.height).max() < BORDER
    assert np.abs(space(side, "transom")[:, 0]).max() < BORDER
    assert np.abs(space(side, "stem")[:, 1]).max() < 1e-6
    assert border(side, "stem").centreline
    assert not border(side, "chine").centreline


def test_sphere_zone() -> None:
    zone = exact.Zone()
    (side,) = lofted(zone.mesh()).panels
    away = inside(side) - np.array([0.0, -zone.offset, -zone.low])
    assert np.abs(np.linalg.norm(away, axis=1) - zone.radius).max() < SURFACE
    assert np.abs(space(side, "sheer")[:, 2] - 600.0).max() < BORDER


def test_prism_borders_are_its_edges() -> None:
    prism = exact.Prism()
    keel, chine, sheer = prism.section()
    hull = lofted(prism.mesh())
    bottom, side = hull.panels
    assert (bottom.name, side.name) == ("bottom", "side")
    for panel, name, at in ((bottom, "keel", keel), (bottom, "chine", chine), (side, "sheer", sheer)):
        points = space(panel, name)
        assert np.abs(points[:, 1:] - at).max() < BORDER
        assert points[[0, -1], 0] == pytest.approx([0.0, prism.length], abs=BORDER)
    assert border(bottom, "keel").centreline
    assert hull.length == pytest.approx(prism.length)
    deadrise = np.radians(prism.deadrise_deg)
    assert np.abs(inside(bottom) @ np.array([0.0, -np.sin(deadrise), np.cos(deadrise)])).max() < SURFACE


def test_wedge_bow_planes() -> None:
    (side,) = lofted(exact.wedge_bow(half_angle_deg=29.0)).panels
    slope = np.tan(np.radians(29.0))
    points = inside(side)
    assert np.abs((4000.0 - points[:, 0]) * slope - points[:, 1]).max() * np.cos(np.radians(29.0)) < SURFACE
    assert np.abs(space(side, "stem")[:, [0, 1]] - [4000.0, 0.0]).max() < BORDER


def test_twisted_bottom() -> None:
    shape = exact.TwistedBottom()
    bottom, side = lofted(shape.mesh()).panels
    x, y, z = inside(bottom).T
    assert np.abs(z - y * (shape.t0 + shape.t1 * x)).max() < SURFACE
    assert np.abs(inside(side)[:, 1] - shape.half_breadth).max() < SURFACE


def test_running_chine_is_followed_to_four_degrees() -> None:
    """Fold 80 degrees aft, 4 at x = 4200, 20 forward: one chine all along, straight by construction."""
    shape = exact.RunningChine()
    hull = lofted(shape.mesh())
    bottom, side = hull.panels
    for points in (space(bottom, "chine"), space(side, "chine")):
        assert np.abs(points[:, 1:] - [shape.half_breadth, shape.chine_height]).max() < BORDER
    said = next(f for f in hull.findings if f.code == "crease-followed")
    assert "at x = 42" in said.what
    x, y, z = inside(bottom).T
    slope = np.radians(shape.deadrise(x))
    off = (z - shape.chine_height) * np.cos(slope) - (y - shape.half_breadth) * np.sin(slope)
    assert np.abs(off).max() < SURFACE


@pytest.mark.parametrize("make", [exact.running_chine, exact.twisted_bottom, exact.v_prism])
def test_neighbours_share_one_chine(make: object) -> None:
    bottom, side = lofted(make()).panels  # type: ignore[operator]
    assert np.abs(bottom.in_space(bottom.upper) - side.in_space(side.lower)).max() < SHARED


@pytest.mark.parametrize("make", [exact.cone_wall, exact.running_chine])
def test_ring_closes_counter_clockwise_and_faces_inboard(make: object) -> None:
    for panel in lofted(make()).panels:  # type: ignore[operator]
        runs = [points for _, points in panel.ring()]
        for here, onward in zip(runs, [*runs[1:], runs[0]], strict=True):
            assert np.array_equal(here[-1], onward[0])
        ring = np.concatenate(runs)
        x, y = (ring - ring[0]).T
        assert (x * np.roll(y, -1) - np.roll(x, -1) * y).sum() > 0
        inboard = -panel.patch.normal(ring)
        assert (inboard[:, 2] - inboard[:, 1] > 0).all()
        assert_along(panel)


def assert_along(panel: Panel) -> None:
    """Long borders run forward, ends run up (chart: p forward, q to the sheer)."""
    for long in (panel.lower, panel.upper):
        assert long.chart[-1, 0] > long.chart[0, 0]
        assert panel.in_space(long)[-1, 0] > panel.in_space(long)[0, 0]
    for end in (panel.aft, panel.forward):
        assert end is not None
        assert end.chart[-1, 1] > end.chart[0, 1]


def test_patch_runs_on_past_the_borders() -> None:
    """A plane's patch is that plane 400 mm out as well."""
    bottom, _ = lofted(exact.v_prism(Make(triangles=4000))).panels
    ring = np.concatenate([points for _, points in bottom.ring()])
    outside = ring + 400.0 * np.sign(ring - ring.mean(axis=0))
    deadrise = np.radians(20.0)
    assert np.abs(bottom.patch.at(outside) @ np.array([0.0, -np.sin(deadrise), np.cos(deadrise)])).max() < 0.1


def test_few_triangles_still_give_the_ruled_surface() -> None:
    """144 triangles: straight sections exact at every corner, in between within half a millimetre (own limit)."""
    shape = exact.TwistedBottom()
    bottom, _ = lofted(shape.mesh(Make(triangles=100))).panels
    x, y, z = inside(bottom).T
    assert np.abs(z - y * (shape.t0 + shape.t1 * x)).max() < 0.5


def test_lids_are_set_aside_and_change_nothing() -> None:
    open_hull, closed = (lofted(exact.v_prism(Make(triangles=3000, deck=lid, transom=lid))) for lid in (False, True))
    assert "lids-set-aside" in codes(closed) - codes(open_hull)
    for panel, same in zip(open_hull.panels, closed.panels, strict=True):
        assert [b.name for b, _ in panel.ring()] == [b.name for b, _ in same.ring()]
        assert np.abs(panel.in_space(panel.upper) - same.in_space(same.upper)).max() < 1e-6


def test_same_mesh_gives_the_same_numbers() -> None:
    first, second = (lofted(exact.cone_wall(Make(triangles=3000))).panels[0] for _ in range(2))
    assert first.patch.coefs.tobytes() == second.patch.coefs.tobytes()
    assert first.upper.chart.tobytes() == second.upper.chart.tobytes()


def test_thirty_thousand_triangles_in_two_seconds() -> None:
    mesh = exact.running_chine(Make(triangles=30000))
    start = time.process_time()
    lofted(mesh)
    assert time.process_time() - start < 4.0  # twice the aim: a loaded machine


def aft_end(z: Floats, rake_deg: float, hollow: float) -> Floats:
    """theta of the transom's edge on the cylinder: x = (600 - z) tan(rake) + hollow sin(pi z / 600)."""
    x = (600.0 - z) * np.tan(np.radians(rake_deg)) + hollow * np.sin(np.pi * z / 600.0)
    return np.arcsin(x / exact.CYLINDER.rho)


@pytest.mark.parametrize(("rake_deg", "hollow"), [(0.0, 0.0), (14.0, 0.0), (-12.0, 0.0), (10.0, 60.0)])
def test_transoms_plumb_raked_and_curved(rake_deg: float, hollow: float) -> None:
    """The same cylinder, other after edges: x is known at every height."""
    wall = exact.CYLINDER

    def face(u: Floats, v: Floats) -> Floats:
        z = v * wall.height
        points = wall.at((1 - u) * aft_end(z, rake_deg, hollow) + u * wall.stem(z), z)
        points[u == 1.0, 1] = 0.0
        return points

    (side,) = lofted(hull_of([face], Make(triangles=8000))).panels
    edge = space(side, "transom")
    known = wall.rho * np.sin(aft_end(edge[:, 2], rake_deg, hollow))
    moved = np.array([float(known.min()), 0.0, 0.0])
    assert np.abs(edge[:, 0] + moved[0] - known).max() < BORDER  # x begins at the aftmost place
    assert off_wall(wall, inside(side) + moved).max() < SURFACE


@pytest.mark.parametrize(("lean", "bow"), [(0.0, 0.0), (0.35, 0.0), (0.2, 150.0)])
def test_stems_plumb_raked_and_curved(lean: float, bow: float) -> None:
    """The cylinder sheared along x by lean z + bow (z / 600)^2: the stem is that curve, forward of its foot."""
    wall = exact.CYLINDER
    vertices, triangles = wall.mesh(Make(triangles=8000))

    def shift(z: Floats) -> Floats:
        return lean * z + bow * (z / 600.0) ** 2

    moved = vertices + np.stack([shift(vertices[:, 2]), 0 * vertices[:, 0], 0 * vertices[:, 0]], axis=1)
    (side,) = lofted((moved, triangles)).panels
    foot = wall.at(np.array([wall.turn]), np.array([0.0]))[0, 0]
    stem = space(side, "stem")
    assert np.abs(stem[:, 1]).max() < 1e-6
    assert np.abs(stem[:, 0] - foot - shift(stem[:, 2])).max() < BORDER
    points = inside(side)
    back = points - np.stack([shift(points[:, 2]), 0 * points[:, 0], 0 * points[:, 0]], axis=1)
    assert off_wall(wall, back).max() < SURFACE
