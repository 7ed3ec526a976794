"""Panels that come to a point at both ends, against the development of a cylinder in closed form.

The bottom is a cylinder of 5 m radius about a line athwart (even rocker), its chine y = 600 sin(pi s / 4000) at s along
the rocker: laid flat the panel is that very sine, pointed at both ends, of area 2 x 600 x 4000 / pi a half.  The sides
stand upright on the chine; flat, they are as long as the chine seen from above.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from strakewright.arrays import Floats
from strakewright.geometry.outlines import signed_area
from strakewright.geometry.sections import area
from strakewright.geometry.surface import gauss_curvature, normal_curvature
from strakewright.hull import Hull
from strakewright.loft.hulls import loft_hull
from strakewright.settings import HullSettings
from strakewright.shop.unrolling import unroll_surface
from strakewright.triangles import TriangleMesh
from tests.bench.flatten_shapes import off_after_fit
from tests.exact_meshes import Make, Mesh, hull_of

ROCKER, LONG, WIDE, HIGH = 5000.0, 4000.0, 600.0, 1000.0
SIZE = 2 * WIDE * LONG / np.pi


def on_rocker(s: Floats, y: Floats) -> Floats:
    turn = (s - LONG / 2) / ROCKER
    return np.stack([ROCKER * (np.sin(turn) + np.sin(LONG / 2 / ROCKER)), y, ROCKER * (1 - np.cos(turn))], axis=-1)


def chine(u: Floats) -> Floats:
    return np.where((u <= 0) | (u >= 1), 0.0, WIDE * np.sin(np.pi * u))


def pointed(half: bool = True) -> Mesh:
    def bottom(u: Floats, v: Floats) -> Floats:
        return on_rocker(LONG * u, v * chine(u))

    def side(u: Floats, v: Floats) -> Floats:
        low = on_rocker(LONG * u, chine(u))
        return np.stack([low[:, 0], low[:, 1], low[:, 2] + v * (HIGH - low[:, 2])], axis=-1)

    return hull_of([bottom, side], Make(triangles=5000, whole=not half))


@pytest.fixture(scope="module")
def hull() -> Hull:
    return loft_hull(TriangleMesh(*pointed()), HullSettings(Path("x"), "mm", 1.0, half=True), "pointed")


def test_two_borders_meet_in_a_point_at_both_ends(hull: Hull) -> None:
    bottom = hull.panels[0]
    assert [border.name for border, _ in bottom.ring()] == ["keel", "chine"]
    assert (bottom.aft, bottom.forward) == (None, None)
    for at in (0, -1):
        keel, edge = bottom.in_space(bottom.lower)[at], bottom.in_space(bottom.upper)[at]
        assert np.abs(keel - edge).max() < 1e-6
        assert np.abs(keel[1]) < 1e-6


def test_the_panel_is_the_cylinder_up_to_its_points(hull: Hull) -> None:
    """Surface, borders, normals, bends and area; the points themselves too."""
    bottom = hull.panels[0]
    assert bottom.residual < 0.01
    assert bottom.flats_apart is not None
    assert bottom.flats_apart < 0.05
    ring = np.concatenate([points[:-1] for _, points in bottom.ring()])
    assert area(bottom.patch, ring) == pytest.approx(SIZE, rel=1e-5)
    edge = bottom.in_space(bottom.upper)
    centre = np.array([ROCKER * np.sin(LONG / 2 / ROCKER), 0.0, ROCKER])
    away = (edge - centre) * [1.0, 0.0, 1.0]
    assert np.abs(np.linalg.norm(away, axis=1) - ROCKER).max() < 0.02
    s = LONG / 2 + ROCKER * np.arctan2(away[:, 0], -away[:, 2])
    assert np.abs(edge[:, 1] - WIDE * np.sin(np.pi * s / LONG)).max() < 0.05
    spots = bottom.upper.chart
    outward = bottom.patch.normal(spots)
    assert np.abs((outward * away).sum(axis=1) / ROCKER - 1).max() < 1e-6
    along = np.broadcast_to([1.0, 0.0], spots.shape)
    assert normal_curvature(bottom.patch, spots, along) == pytest.approx(np.full(len(spots), 1 / ROCKER), rel=0.01)
    assert np.abs(gauss_curvature(bottom.patch, spots)).max() < 1e-3 / ROCKER**2 * 10


def test_laid_flat_it_is_the_sine() -> None:
    panels = unroll_surface(*pointed()).panels
    flat = panels[0]
    away = flat.vertices - [ROCKER * np.sin(LONG / 2 / ROCKER), 0.0, ROCKER]
    exact = np.column_stack([ROCKER * np.arctan2(away[:, 0], -away[:, 2]), -flat.vertices[:, 1]])
    assert off_after_fit(flat.flat, exact) < 0.01
    assert signed_area(flat.outline) == pytest.approx(SIZE, rel=2e-4)  # straight from corner to corner of the mesh
    assert np.ptp(flat.flat, axis=0)[0] == pytest.approx(LONG, abs=0.02)
    assert flat.strain_max < 1e-4
