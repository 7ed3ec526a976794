"""Inside of planking against closed forms: prism, wedge, cone and Wigley hull, each planked from outside.

Sources: prism, wedge, cone: trigonometry of planes and cones moved along their normals; Wigley hull
y = B/2 (1 - (2x/L)^2)(1 - (z/D)^2) (W. Wigley 1934, the usual benchmark form), its inside found here by solving
x(outside) - t n_x = station on the formula itself.  Tolerances: 0.05 mm and 0.02 degrees.
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from scipy.interpolate import LinearNDInterpolator
from scipy.optimize import brentq
from tests.acceptance.shapes import raked_wedge
from tests.acceptance.yard import settings_of
from tests.exact_hulls import CONE, Prism, RunningChine, TwistedBottom
from tests.exact_meshes import Make, Mesh, hull_of
from tests.loft.exact_tables import BREADTH as TABLE_BREADTH
from tests.loft.exact_tables import DRAFT as TABLE_DRAFT
from tests.loft.exact_tables import LENGTH as TABLE_LENGTH
from tests.loft.exact_tables import round_table
from tests.loft.exact_tables import wigley as table_wigley

from strakewright.arrays import Floats
from strakewright.loft.hulls import loft_hull
from strakewright.loft.tabled import table_hull
from strakewright.offsets import TableSource
from strakewright.settings import PlankingSettings, TableSettings
from strakewright.shop.inside import Inside, StationFace, inside_depth, inside_of, lines_at, lines_on
from strakewright.triangles import TriangleMesh

SIDE = PlankingSettings(panel="side", pattern="strakes", thickness=19.0, courses=4, start="sheer")
BOTTOM = PlankingSettings(panel="bottom", pattern="herringbone", thickness=9.5, layers=2, width=100.0)
NEAR, TURN = 0.05, np.radians(0.02)
LENGTH, BREADTH, DEPTH = 6000.0, 1600.0, 900.0


def inside(mesh: Mesh, *planking: PlankingSettings, surface: str = "outside") -> Inside:
    hull = loft_hull(TriangleMesh(*mesh), settings_of(planking, surface=surface).hull, "x")
    return inside_of(hull, planking)


def wigley(u: Floats, v: Floats) -> Floats:
    """Forward half: u from midship to stem, v from keel to the waterline (z 0 to DEPTH)."""
    down = v - 1.0
    y = BREADTH / 2 * (1 - u**2) * (1 - down**2)
    return np.stack([u * LENGTH / 2, np.where((u == 1.0) | (v == 0.0), 0.0, y), (down + 1.0) * DEPTH], axis=-1)


def wigley_inside(station: float, z_outside: Floats, t: float) -> tuple[Floats, Floats]:
    """(n, 2) y, z of the inside at x = station from points of the outside at those heights, and the bevels."""
    found, bevels = [], []
    for z in z_outside:
        zeta = z / DEPTH - 1.0

        def moved(x: float, zeta: float = zeta, z: float = z) -> tuple[Floats, Floats]:
            xi = 2 * x / LENGTH
            y = BREADTH / 2 * (1 - xi**2) * (1 - zeta**2)
            by_x = -BREADTH / 2 * (1 - zeta**2) * 2 * xi * 2 / LENGTH
            by_z = -BREADTH / 2 * (1 - xi**2) * 2 * zeta / DEPTH
            n = np.array([-by_x, 1.0, -by_z]) / np.sqrt(1 + by_x**2 + by_z**2)
            return np.array([x, y, z]) - t * n, n

        x = brentq(lambda x: moved(x)[0][0] - station, station - 50.0, station + 50.0, xtol=1e-10)
        point, n = moved(x)
        found.append(point[1:])
        bevels.append(np.arcsin(n[0]))
    return np.array(found), np.array(bevels)


def test_v_prism_deducts_plain_thickness_and_the_chine_is_a_crossing() -> None:
    """20 degrees of deadrise, sides flared 10: no bevel; the inner corner solves two straight lines."""
    prism = Prism(length=3000.0)
    lines = lines_at(inside(prism.mesh(), replace(SIDE, sheathed=0.5), replace(BOTTOM, sheathed=0.5)), 1400.0)
    keel, chine, sheer = prism.section()
    t, d, f = 19.5, np.radians(20.0), np.radians(10.0)
    n_bottom, n_side = np.array([np.sin(d), -np.cos(d)]), np.array([np.cos(f), -np.sin(f)])
    corner = np.linalg.solve([n_bottom, n_side], [n_bottom @ chine - t, n_side @ chine - t])
    bottom, side = lines
    assert [line.panel for line in lines] == ["bottom", "side"]
    assert bottom.flat[0] == pytest.approx([0.0, keel[1] + t / np.cos(d)], abs=NEAR)
    assert bottom.flat[-1] == pytest.approx(corner, abs=NEAR)
    assert side.flat[0] == pytest.approx(corner, abs=NEAR)
    assert side.flat[-1] == pytest.approx(sheer - t * n_side, abs=NEAR)
    assert np.abs(np.concatenate([bottom.bevel, side.bevel])).max() < TURN
    assert (bottom.lower, bottom.upper, side.lower, side.upper) == ("centreline", "chine", "chine", "sheer")
    assert np.abs(bottom.flat @ n_bottom - (n_bottom @ keel - t)).max() < NEAR


def test_wedge_deducts_t_over_cos_bevel() -> None:
    """Plane sides closing at 29 degrees: 19 mm becomes 19 / cos 29 = 21.72 in the station plane."""
    a = np.radians(29.0)
    lines = lines_at(inside(raked_wedge(29.0, 0.0), SIDE), 2500.0)
    outside = (4000.0 - 2500.0) * np.tan(a)
    assert outside - lines[0].flat[:, 0] == pytest.approx(np.full(len(lines[0].flat), 19.0 / np.cos(a)), abs=NEAR)
    assert lines[0].bevel == pytest.approx(np.full(len(lines[0].flat), a), abs=TURN)


@pytest.mark.parametrize("station", [900.0, 2600.0])
def test_cone(station: float) -> None:
    """A cone moved inwards by t is the same cone with radius less t / cos f."""
    t, f = 19.0, CONE.flare
    line = lines_at(inside(CONE.mesh(), SIDE), station)[0]
    y, z = line.flat.T
    radius = CONE.rho + z * np.tan(f) - t / np.cos(f)
    assert np.abs(np.sqrt(radius**2 - station**2) - CONE._stem_y() - y).max() < NEAR
    assert np.abs(np.arcsin(station / radius * np.cos(f)) - line.bevel).max() < TURN


@pytest.mark.parametrize("station", [300.0, 1500.0, 2400.0])
def test_wigley_hull(station: float) -> None:
    """Doubly curved: both line and bevels by the formula of the hull itself."""
    line = lines_at(inside(hull_of([wigley], Make(triangles=16000)), SIDE), station)[0]
    truth, bevels = wigley_inside(station, np.linspace(60.0, DEPTH - 10.0, 40), 19.0)
    keep = (truth[:, 0] > 1.0) & (truth[:, 1] > line.flat[0, 1]) & (truth[:, 1] < line.flat[-1, 1])
    assert keep.sum() > 25
    found = np.interp(truth[keep, 1], line.flat[:, 1], line.flat[:, 0])
    assert np.abs(found - truth[keep, 0]).max() < NEAR
    turned = np.interp(truth[keep, 1], line.flat[:, 1], line.bevel)
    assert np.abs(turned - bevels[keep]).max() < TURN
    assert line.lower == "centreline"
    assert abs(line.flat[0, 0]) < 1e-6


@pytest.fixture(scope="module")
def from_table() -> dict[str, Inside]:
    """Wigley's hull from exact rows of a table that says it is to the outside, the middle, the inside of planking."""
    source, settings = TableSource(round_table(table_wigley, 1e-6)), TableSettings(Path("o.csv"), half_siding=0.0)
    hulls = {face: table_hull(source, settings, face, "x") for face in ("outside", "middle", "inside")}  # type: ignore[arg-type]
    return {face: inside_of(hull, (replace(SIDE, sheathed=0.5),)) for face, hull in hulls.items()}


@pytest.mark.parametrize(("face", "depth"), [("outside", 19.5), ("middle", 9.75), ("inside", 0.0)])
@pytest.mark.parametrize("station", [900.0, 3000.0, 4700.0])
def test_inside_of_a_hull_lofted_from_a_table(
    from_table: dict[str, Inside], face: str, depth: float, station: float
) -> None:
    """As above, on the formula the table was made from: 19 mm of planking and 0.5 mm of cloth that the
    lines count, on the true normal."""
    line = lines_at(from_table[face], station)[0]
    fine = np.stack(np.meshgrid(np.linspace(-90.0, 90.0, 181), np.linspace(-480.0, -5.0, 96)), -1).reshape(-1, 2)
    x, z = fine.T + np.array([[station - TABLE_LENGTH / 2], [0.0]])
    y = table_wigley(x, z)
    by_x = -4 * TABLE_BREADTH * x / TABLE_LENGTH**2 * (1 - (z / TABLE_DRAFT) ** 2)
    by_z = -TABLE_BREADTH * z / TABLE_DRAFT**2 * (1 - (2 * x / TABLE_LENGTH) ** 2)
    normal = np.stack([-by_x, np.ones_like(x), -by_z], axis=1) / np.sqrt(1 + by_x**2 + by_z**2)[:, None]
    moved = np.stack([x + TABLE_LENGTH / 2, y, z + TABLE_DRAFT], axis=1) - depth * normal
    truth = LinearNDInterpolator(moved[:, ::2], moved[:, 1])
    bevels = LinearNDInterpolator(moved[:, ::2], np.arcsin(normal[:, 0]))
    at = np.stack([np.full(len(line.flat), station), line.flat[:, 1]], axis=1)
    known = ~np.isnan(truth(at))
    assert known.sum() > 30
    assert np.abs(truth(at) - line.flat[:, 0])[known].max() < NEAR
    assert np.abs(bevels(at) - line.bevel)[known].max() < TURN


@pytest.mark.parametrize("station", [400.0, 2800.0, 4200.0, 5400.0])
def test_chine_of_any_fold_is_where_the_inner_planes_cross(station: float) -> None:
    """Chine along x, deadrise d(x), side slope s(x): both normals in the station plane at the chine itself, so
    near the chine the sections are lines moved by t; the corner lies on the bisector for equal planking.

    At a fold of 4 degrees the corner is t tan(2 deg) along the planking from the foot: 0.7 mm."""
    shape = RunningChine()
    lines = lines_at(inside(shape.mesh(), SIDE, BOTTOM), station)
    bottom, side = lines
    x = np.array(station)
    d = np.radians(shape.deadrise(x))
    s = d + np.radians(shape.fold(x))
    bisector = np.array([-np.sin((d + s) / 2), np.cos((d + s) / 2)])
    corner = np.array([shape.half_breadth, shape.chine_height]) + 19.0 / np.cos((s - d) / 2) * bisector
    # twist lets the normals lean out of the section plane away from the chine: a second-order part remains
    assert side.flat[0] == pytest.approx(corner, abs=0.12)
    assert bottom.flat[-1] == pytest.approx(side.flat[0], abs=1e-4)


def test_unequal_planking_without_fold_makes_a_step_not_a_far_corner() -> None:
    """19 mm above, 30 mm below a chine of next to no fold: the corner stays near the chine."""
    shape = RunningChine(least=0.3)
    thick = replace(BOTTOM, thickness=15.0)
    lines = lines_at(inside(shape.mesh(), SIDE, thick), 4200.0)
    assert len(lines) == 2
    assert np.abs(lines[1].flat[0] - [700.0, 800.0]).max() < 330.0


def test_surface_inside_and_middle() -> None:
    """Lines to the inside: nothing to take off;  to the middle: half of everything."""
    assert inside_depth(replace(BOTTOM, sheathed=0.5), "inside") == 0.0
    assert inside_depth(BOTTOM, "middle") == 9.5
    assert inside_depth(replace(BOTTOM, sheathed=0.5), "outside") == 19.5
    prism = Prism(length=3000.0)
    lines = lines_at(inside(prism.mesh(), SIDE, BOTTOM, surface="inside"), 1000.0)
    assert lines[0].flat[-1] == pytest.approx(prism.section()[1], abs=NEAR)


def test_twisted_bottom_bevel() -> None:
    """z = y (t0 + t1 x): the normal is (-t1 y, -(t0 + t1 x), 1) turned outwards; on lines to the inside."""
    shape = TwistedBottom()
    lines = lines_at(inside(shape.mesh(), SIDE, BOTTOM, surface="inside"), 2000.0)
    y, z = lines[0].flat.T
    slope = shape.t0 + shape.t1 * 2000.0
    assert np.abs(z - y * slope).max() < NEAR
    bevel = np.arcsin(shape.t1 * y / np.sqrt((shape.t1 * y) ** 2 + slope**2 + 1))
    assert np.abs(lines[0].bevel - bevel).max() < TURN


def test_off_the_hull_there_is_no_line() -> None:
    assert lines_on(inside(raked_wedge(29.0, 0.0), SIDE), StationFace(4200.0)) == ()
