"""Rulings and cover against closed forms: on a cone every ruling runs to the apex, on a cylinder along the axis."""

from __future__ import annotations

import numpy as np
import pytest
from tests import exact_hulls as exact
from tests.exact_meshes import Make

from strakewright.geometry.arcs import smooth_surface
from strakewright.shop.unrolling import unroll_surface

MAKE = Make(triangles=5000, whole=False)


def test_rulings_of_a_cone_meet_in_its_apex() -> None:
    """Laid flat the apex is one point: all rulings pass it (radius of the flat sector rho / sin f)."""
    panel = unroll_surface(*exact.cone_wall(MAKE)).panels[0]
    assert len(panel.rulings) > 8
    ends = np.array(panel.rulings)
    way = ends[:, 1] - ends[:, 0]
    way /= np.linalg.norm(way, axis=1, keepdims=True)
    across = np.stack([-way[:, 1], way[:, 0]], axis=1)
    reach = (across * ends[:, 0]).sum(axis=1)
    apex = np.linalg.lstsq(across, reach, rcond=None)[0]
    missed = np.abs(across @ apex - reach)
    far = np.linalg.norm(ends.mean(axis=1) - apex, axis=1)
    assert np.degrees(missed / far).max() < 0.1
    wall = exact.CONE
    assert np.linalg.norm(ends - apex, axis=2).min() > 0.98 * wall.rho / np.sin(wall.flare)


def test_no_rulings_where_there_are_none() -> None:
    assert unroll_surface(*exact.sphere_zone(MAKE)).panels[0].rulings == ()
    assert unroll_surface(*exact.v_prism(MAKE)).panels[0].rulings == ()


def test_principal_curvatures_of_a_sphere_and_a_cylinder() -> None:
    for mesh, radius, least in (
        (exact.sphere_zone(MAKE), 5000.0, 1 / 5000.0),
        (exact.cylinder_wall(MAKE), 6000.0, 0.0),
    ):
        bend, way = smooth_surface(*mesh).principal()
        assert np.median(np.abs(bend[:, 0])) == pytest.approx(1 / radius, rel=2e-3)
        assert np.median(np.abs(bend[:, 1])) == pytest.approx(least, abs=2e-3 / radius)
        assert np.abs(np.linalg.norm(way, axis=1) - 1).max() < 1e-9
    assert np.quantile(np.abs(way[:, 2]), 0.05) > 0.999  # the cylinder stands upright
