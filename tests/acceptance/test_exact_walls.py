"""Cylinder, cone and helix developable through the whole path, against their exact developments.

Closed form (derived): a layer whose middle lies d inside a wall of constant slope f lies on a wall of the same family,
rho' = rho - d / cos f, k and f unchanged; `Wall.flat` is its exact development.
"""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
import shapely
from tests.acceptance.yard import Planked, length, margins
from tests.exact_hulls import CONE, CYLINDER, HELIX, Wall

from strakewright.arrays import Floats
from strakewright.parts import Plank

DEPTH = 9.5
WALLS = [("cylinder", CYLINDER), ("cone", CONE), ("helix", HELIX)]
each_wall = pytest.mark.parametrize(("name", "wall"), WALLS)


def middle_of(wall: Wall) -> Wall:
    """The wall on which the middle of the planking lies, about the same axis."""
    return Wall(wall.rho - DEPTH / np.cos(wall.flare), wall.height, wall.turn, wall.k, wall.flare_deg)


def theta_of(wall: Wall, points: Floats) -> tuple[Floats, Floats]:
    """theta and the distance from the axis along the outward level normal of points near a wall.

    With the axis shifted to its place, P . (cos, -sin) = k fixes theta (Newton)."""
    own = points + np.array([wall.k, wall._stem_y(), 0.0])
    theta = np.arctan2(own[:, 0], own[:, 1])
    for _ in range(40):
        c, s = np.cos(theta), np.sin(theta)
        theta = theta + (own[:, 0] * c - own[:, 1] * s - wall.k) / (own[:, 0] * s + own[:, 1] * c)
    return theta, own[:, 0] * np.sin(theta) + own[:, 1] * np.cos(theta)


def ring_of(plank: Plank) -> tuple[Floats, Floats]:
    """All listed points of a plank's ring, in space and in the flat."""
    return np.concatenate([m.seam for m in margins(plank)]), np.concatenate([m.flat for m in margins(plank)])


def laid_on(flat: Floats, exact: Floats, points: Floats) -> Floats:
    """`points`, moved as the rigid motion that brings `flat` nearest to `exact` moves them."""
    here, there = flat.mean(axis=0), exact.mean(axis=0)
    u, _, v = np.linalg.svd((flat - here).T @ (exact - there))
    return np.asarray((points - here) @ u @ v + there)


@each_wall
def test_seam_points_lie_on_the_middle_of_the_planking(name: str, wall: Wall, request: pytest.FixtureRequest) -> None:
    boat: Planked = request.getfixturevalue(name)
    middle = middle_of(wall)
    for plank in boat.port("side"):
        seam, _ = ring_of(plank)
        theta, radius = theta_of(wall, seam)
        exact = middle.rho + middle.k * theta + seam[:, 2] * np.tan(middle.flare)
        assert np.abs((radius - exact) * np.cos(wall.flare)).max() < 0.05


@each_wall
def test_flat_edges_are_the_exact_development(name: str, wall: Wall, request: pytest.FixtureRequest) -> None:
    boat: Planked = request.getfixturevalue(name)
    planks = boat.port("side")
    assert len(planks) == 6
    for plank in planks:
        seam, flat = ring_of(plank)
        theta, _ = theta_of(wall, seam)
        exact = middle_of(wall).flat(theta, seam[:, 2])
        assert np.linalg.norm(laid_on(flat, exact, flat) - exact, axis=1).max() < 0.05


@each_wall
def test_edges_are_as_long_in_the_flat_as_on_the_boat(name: str, wall: Wall, request: pytest.FixtureRequest) -> None:
    boat: Planked = request.getfixturevalue(name)
    for plank in boat.planks:
        for margin in margins(plank):
            assert abs(length(margin.seam) - length(margin.flat)) < 0.05


@each_wall
def test_frame_marks_lie_where_the_station_plane_cuts(name: str, wall: Wall, request: pytest.FixtureRequest) -> None:
    """Station x = const on the middle wall: theta by Newton at every height, then the exact development."""
    boat: Planked = request.getfixturevalue(name)
    middle = middle_of(wall)
    for plank in boat.port("side"):
        seam, flat = ring_of(plank)
        exact = middle.flat(theta_of(wall, seam)[0], seam[:, 2])
        z = np.linspace(seam[:, 2].min() - 5, seam[:, 2].max() + 5, 201)
        for mark in (m for m in plank.marks if m.kind == "frame"):
            theta = np.full_like(z, 0.4)
            for _ in range(40):
                radius = middle.rho + middle.k * theta + z * np.tan(middle.flare)
                x = middle.k * np.cos(theta) + radius * np.sin(theta) - wall.k
                theta = theta - (x - dict(boat.frames)[mark.name]) / (radius * np.cos(theta))
            line = shapely.LineString(middle.flat(theta, z))
            points = shapely.points(laid_on(flat, exact, mark.points))
            assert shapely.distance(line, points).max() < 0.1


@each_wall
def test_neighbours_list_the_same_points(name: str, wall: Wall, request: pytest.FixtureRequest) -> None:
    boat: Planked = request.getfixturevalue(name)
    planks = boat.port("side")
    for one, following in pairwise(planks):
        assert one.second.neighbour == following.id
        assert following.first.neighbour == one.id
        assert np.array_equal(one.second.seam, following.first.seam)


def test_strakes_of_an_upright_cylinder_are_rectangles(cylinder: Planked) -> None:
    """Closed form: R theta by height / n on the mid-surface radius R - t/2; the stem is at cos theta = y / R."""
    radius = CYLINDER.rho - DEPTH
    long = radius * np.arccos(CYLINDER._stem_y() / radius)
    for plank in cylinder.port("side"):
        size = np.ptp(plank.net_outline, axis=0)
        assert size == pytest.approx([long, CYLINDER.height / 6], abs=0.01)
        assert shapely.Polygon(plank.net_outline).area == pytest.approx(size[0] * size[1], rel=1e-6)


def test_strakes_of_a_cone_are_annular_sectors(cone: Planked) -> None:
    """Closed form: an edge at height z is an arc of radius rho' / sin f + z / cos f in the flat."""
    middle = middle_of(CONE)
    for plank in cone.port("side"):
        for edge in (plank.first, plank.second):
            centred = np.column_stack([2 * edge.flat, np.ones(len(edge.flat))])
            middle_x, middle_y, rest = np.linalg.lstsq(centred, (edge.flat**2).sum(axis=1), rcond=None)[0]
            fitted = np.sqrt(rest + middle_x**2 + middle_y**2)
            z = edge.seam[:, 2].mean()
            assert np.ptp(edge.seam[:, 2]) < 0.05
            assert fitted == pytest.approx(middle.rho / np.sin(CONE.flare) + z / np.cos(CONE.flare), rel=2e-4)
