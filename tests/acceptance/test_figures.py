"""Figures of fit on walls of constant slope, against closed forms, within 1 %.

On a wall of constant slope f the level lines are lines of curvature: a level plank of middle radius r bends to
R = r / cos f, does not twist, and has no hollow (its rulings are straight); the strain at its faces is t / 2R.
r = rho' + k theta + z tan f on the middle of the planking, rho' = rho - (t / 2) / cos f (derived).
"""

from __future__ import annotations

import numpy as np
import pytest
from tests.acceptance.test_exact_walls import DEPTH, WALLS, middle_of, theta_of
from tests.acceptance.yard import Planked
from tests.exact_hulls import Wall

from strakewright.parts import Plank

T = 2 * DEPTH
ENDS = 0.02  # share of a plank's length at either end that the figures leave out


def tightest(wall: Wall, plank: Plank) -> float:
    """Radius of the bend where it is tightest along the middle of a plank, its ends left out."""
    middle, seam = middle_of(wall), plank.first.seam
    run = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(seam, axis=0), axis=1))])
    theta, _ = theta_of(wall, seam)
    inner = float(np.interp(ENDS * run[-1], run, theta))
    z = (plank.first.seam[:, 2].mean() + plank.second.seam[:, 2].mean()) / 2
    return float((middle.rho + middle.k * inner + z * np.tan(wall.flare)) / np.cos(wall.flare))


@pytest.mark.parametrize(("name", "wall"), WALLS)
def test_bend_twist_hollow_and_strain(name: str, wall: Wall, request: pytest.FixtureRequest) -> None:
    boat: Planked = request.getfixturevalue(name)
    for plank in boat.port("side"):
        radius = tightest(wall, plank)
        assert plank.fit.bend_radius_min == pytest.approx(radius, rel=0.01)
        assert plank.fit.strain_total == pytest.approx(T / 2 / radius, rel=0.01)
        assert plank.fit.hollow < 0.01
        assert np.degrees(plank.fit.twist_max) * 1000 < 0.1
        assert plank.fit.strain_max < 1e-6


def test_the_worst_place_of_the_helix_is_its_aft_end(helix: Planked) -> None:
    """The radius grows by k theta from aft to forward."""
    for plank in helix.port("side"):
        assert plank.fit.worst_x is not None
        assert plank.fit.worst_x < 400.0
        assert plank.fit.worst_at == "aft of F1"
