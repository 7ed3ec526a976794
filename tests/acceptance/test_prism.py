"""Herringbone and strakes on planes, where areas, angles and end cuts are exact on paper.

Closed forms: a layer d below the outside of a bottom of deadrise a meets the centreline d tan a short of the outside's
own edge, so its breadth is w - d tan a; area = length x breadth.
"""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from tests.acceptance.yard import Planked

from strakewright.arrays import Floats
from strakewright.parts import Plank

LENGTH, HALF, DEADRISE = 3000.0, 900.0, np.radians(20.0)
BREADTH = HALF / np.cos(DEADRISE)
LAYER_DEPTH = {1: 14.25, 2: 4.75}


def area(planks: list[Plank]) -> float:
    return float(sum(shapely.Polygon(p.net_outline).area for p in planks))


def direction(points: Floats) -> Floats:
    chord = points[-1] - points[0]
    return np.asarray(chord / np.linalg.norm(chord))


def seams_of(planks: list[Plank]) -> list[Floats]:
    return [m.seam for p in planks for m in (p.first, p.second) if m.meets == "seam"]


@pytest.mark.parametrize("layer", [1, 2])
def test_area_of_a_layer(prism: Planked, layer: int) -> None:
    exact = LENGTH * (BREADTH - LAYER_DEPTH[layer] * np.tan(DEADRISE))
    assert area(prism.port("bottom", layer)) == pytest.approx(exact, rel=5e-4)


def test_area_of_the_strakes(prism: Planked) -> None:
    assert area(prism.port("side")) == pytest.approx(LENGTH * 500.0 / np.cos(np.radians(10.0)), rel=5e-4)


@pytest.mark.parametrize("layer", [1, 2])
def test_diagonals_run_at_45_degrees_to_the_keel(prism: Planked, layer: int) -> None:
    """Keel along x: the angle in the surface is that with the x axis."""
    for seam in seams_of(prism.port("bottom", layer)):
        along = abs(direction(seam)[0])
        assert abs(np.degrees(np.arccos(along)) - 45.0) < 0.5


def test_layers_cross_at_a_right_angle(prism: Planked) -> None:
    ones, twos = (direction(seams_of(prism.port("bottom", layer))[5]) for layer in (1, 2))
    assert abs(np.degrees(np.arccos(abs(ones @ twos))) - 90.0) < 1.0


@pytest.mark.parametrize("layer", [1, 2])
def test_every_full_diagonal_is_as_wide_as_asked(prism: Planked, layer: int) -> None:
    for plank in prism.port("bottom", layer):
        if plank.first.meets == plank.second.meets == "seam":
            assert np.ptp(plank.first.flat[:, 1]) < 1e-6
            assert abs(np.mean(plank.second.flat[:, 1]) - np.mean(plank.first.flat[:, 1])) == pytest.approx(
                200, abs=0.01
            )


@pytest.mark.parametrize("layer", [1, 2])
def test_keel_ends(prism: Planked, layer: int) -> None:
    """Trade rule A3: cut in y = 0 the bevel is the deadrise square to the end, the outside longer by t tan d."""
    ends = [m for p in prism.port("bottom", layer) for m in (p.first, p.second, *p.ends) if m.border == "keel"]
    assert len(ends) > 8
    for end in ends:
        assert np.degrees(end.bevel) == pytest.approx(20.0, abs=0.01)
        assert np.abs(end.seam[:, 1]).max() < 1e-6


def test_layer_two_starts_where_layer_ones_outer_face_is(prism: Planked) -> None:
    """A3: no other offset.  Both cut lines at 9.5 mm below the outside are y = 0, z = 9.5 / cos d."""
    for layer, towards_inside in ((1, -1.0), (2, 1.0)):
        plank = next(p for p in prism.port("bottom", layer) if any(e.meets == "keel" for e in p.ends))
        end = next(e for e in plank.ends if e.meets == "keel")
        normal = np.array([0.0, -np.sin(DEADRISE), np.cos(DEADRISE)])  # inboard
        away = np.array([0.0, -np.cos(DEADRISE), -np.sin(DEADRISE)])  # down to the keel
        lean = 4.75 * np.tan(end.bevel[0])
        face = end.seam + towards_inside * (4.75 * normal - lean * away)
        assert face[:, 1] == pytest.approx(0.0, abs=0.01)
        assert face[:, 2] == pytest.approx(9.5 / np.cos(DEADRISE), abs=0.01)


def test_ends_at_the_transom_are_square(prism: Planked) -> None:
    """The prism's end plane x = 0 is square to every plank: bevel 0."""
    ends = [m for p in prism.planks for m in (p.first, p.second, *p.ends) if m.border == "transom"]
    assert len(ends) > 10
    assert max(np.abs(np.degrees(m.bevel)).max() for m in ends) < 1e-3


def test_lap_at_the_chine(prism: Planked) -> None:
    """Trade rule A6, theta = 180 - (80 - 20) = 120: u = (Tb + s cos theta) / sin theta up the side; bevel theta - 90.

    Side: Tb 19, s 9.5 at mid-thickness; inside face wider.  Bottom: trimmed to the side's outside, the inside face
    longer: each layer stands s cot(60) past the corner line."""
    theta = np.radians(120.0)
    side = next(m for p in prism.port("side") for m in (p.first, p.second) if m.border == "chine")
    up = (19.0 + 9.5 * np.cos(theta)) / np.sin(theta)
    assert np.degrees(side.bevel) == pytest.approx(-30.0, abs=0.01)
    assert np.linalg.norm(side.fitted - side.flat, axis=1) == pytest.approx(up, abs=0.01)
    for layer, depth in LAYER_DEPTH.items():
        for plank in prism.port("bottom", layer):
            for end in (e for e in plank.ends if e.border == "chine"):
                assert np.degrees(end.bevel) == pytest.approx(-30.0, abs=0.01)
                past = np.linalg.norm(end.fitted - end.flat, axis=1)
                assert past == pytest.approx(depth / np.tan(np.radians(60.0)), abs=0.01)


def test_numbering_and_hanging_order(prism: Planked) -> None:
    """Contract: course 1 of strakes lies at `start` (sheer); course 1 of a herringbone is the aftmost."""
    assert prism.port("side")[0].first.border == "sheer"
    for layer in (1, 2):
        middles = [np.mean([m.seam[:, 0].mean() for m in (p.first, p.second)]) for p in prism.port("bottom", layer)]
        assert (np.diff(middles) > 0).all()
