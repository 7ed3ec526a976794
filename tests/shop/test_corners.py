"""Chine joints by the numbers of trade rule A6 (trigonometry): u up the side's edge from the outer corner.

lap    u = (Tb + s cos theta) / sin theta, bevel theta - 90 with the inside wider
mitre  u straight from 0 to (Tb + Ts cos theta) / sin theta; equal thickness: bevel 90 - theta / 2, outside wider
"""

from __future__ import annotations

import numpy as np
import pytest

from strakewright.arrays import Floats
from strakewright.shop.bevels import Corner, chine_cut
from strakewright.shop.shapes import Run

X = np.linspace(0.0, 1000.0, 5)
T = 19.0


def corner(theta_deg: float, below: float = T, above: float = T, outside: bool = True) -> Corner:
    points = np.column_stack([X, np.full(5, 700.0), np.full(5, 300.0)])
    out = (0.0, 0.0) if outside else (below, above)
    theta = np.full(5, np.radians(theta_deg))
    return Corner("chine", points, theta, (below, out[0]), (above, out[1]), np.inf)


def run() -> Run:
    space = np.column_stack([X, np.full(5, 700.0), np.full(5, 300.0)])
    none = np.zeros((5, 2))
    return Run("border", "chine", none, none, none, space)


def up(theta_deg: float, depth: float, mitred: bool, above: bool = True, below: float = T) -> tuple[float, float]:
    """u and bevel in degrees at a depth."""
    cut = chine_cut(run(), corner(theta_deg, below), depth, above, mitred)
    return -float(cut.shift[0]), float(np.degrees(cut.bevel[0]))


@pytest.mark.parametrize("theta", [100.0, 121.0, 135.0, 150.0, 176.0])
@pytest.mark.parametrize("depth", [0.0, 9.5, 19.0])
def test_lap(theta: float, depth: float) -> None:
    angle = np.radians(theta)
    assert up(theta, depth, mitred=False) == pytest.approx(
        ((T + depth * np.cos(angle)) / np.sin(angle), 90.0 - theta), abs=1e-6
    )


@pytest.mark.parametrize("theta", [100.0, 135.0, 150.0, 176.0])
def test_mitre(theta: float) -> None:
    angle = np.radians(theta)
    inside = (T + T * np.cos(angle)) / np.sin(angle)
    assert up(theta, 0.0, mitred=True) == pytest.approx((0.0, 90.0 - theta / 2), abs=1e-6)
    assert up(theta, 19.0, mitred=True)[0] == pytest.approx(inside)


def test_lap_and_mitre_share_the_inside_edge_and_step_38_mm_outside_at_150_degrees() -> None:
    """A6's worked numbers: 19 mm at 150 degrees: step Tb / sin theta = 38 mm, bevel from -60 to +15."""
    lap, mitre = up(150.0, 0.0, mitred=False), up(150.0, 0.0, mitred=True)
    assert lap[0] - mitre[0] == pytest.approx(38.0)
    assert (lap[1], mitre[1]) == pytest.approx((-60.0, 15.0))
    assert up(150.0, T, mitred=False)[0] == pytest.approx(up(150.0, T, mitred=True)[0])


@pytest.mark.parametrize("theta", [100.0, 135.0])
@pytest.mark.parametrize("depth", [0.0, 4.75, 14.25])
def test_bottom_in_the_lap_is_trimmed_to_the_sides_outside(theta: float, depth: float) -> None:
    """The side's outside plane cuts the bottom s cot(theta) up from the corner: it stands past it when theta > 90."""
    u, bevel = up(theta, depth, mitred=False, above=False)
    assert u == pytest.approx(depth / np.tan(np.radians(theta)), abs=1e-9)
    assert bevel == pytest.approx(90.0 - theta)


def test_mitre_planes_of_unequal_planks_are_one_plane() -> None:
    """Corner at the origin, bottom along +x, side at theta: both cuts run from the outer corner to the corner where
    the two insides cross (solid geometry of planes)."""
    below, above, theta = 12.0, 19.0, np.radians(150.0)
    side, bottom = np.array([np.cos(theta), np.sin(theta)]), np.array([1.0, 0.0])
    side_in, bottom_in = np.array([np.sin(theta), -np.cos(theta)]), np.array([0.0, 1.0])
    ends: list[Floats] = []
    for is_above, thick, along, inwards in ((True, above, side, side_in), (False, below, bottom, bottom_in)):
        cut = chine_cut(run(), corner(150.0, below, above), thick, is_above, True)
        ends.append(-cut.shift[0] * along + thick * inwards)
    assert ends[0] == pytest.approx(ends[1], abs=1e-9)


@pytest.mark.parametrize("mitred", [False, True])
@pytest.mark.parametrize("is_above", [False, True])
def test_a_hull_given_to_the_inside_has_the_same_joint(mitred: bool, is_above: bool) -> None:
    """surface = "inside": the described corner is the inner one; the outer corner lies (Tother + Tmine cos) / sin down
    the plank, and reckoned from there u is the same."""
    theta = np.radians(135.0)
    outer = (T + T * np.cos(theta)) / np.sin(theta)
    given_outside = chine_cut(run(), corner(135.0), 9.5, is_above, mitred)
    given_inside = chine_cut(run(), corner(135.0, outside=False), 9.5, is_above, mitred)
    assert given_inside.bevel == pytest.approx(given_outside.bevel)
    assert given_inside.shift - outer == pytest.approx(given_outside.shift)
