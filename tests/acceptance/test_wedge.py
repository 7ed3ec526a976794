"""Hood ends on a bow of two planes, against trade rule A3 (trigonometry).

cap   cut to a land square across the boat: bevel -a, inside longer by t tan a
lap   cut in the centreline plane: bevel 90 - a, outside longer by t / tan a
A raked stem line (rake r from upright) opens the angle: tan a' = tan a / cos r, square to the stem (derived:
normal of the plank (tan a, 1, -tan r tan a) against the centreline plane's).
"""

from __future__ import annotations

import numpy as np
import pytest
from tests.acceptance.yard import Planked

from strakewright.parts import Margin, Plank

HALF_ANGLE = np.radians(29.0)
T = 19.0


def end_of(plank: Plank, meets: str) -> Margin:
    return next(e for e in plank.ends if e.meets == meets)


def forward(plank: Plank, ring: str) -> float:
    return float(getattr(plank, ring)[:, 0].max())


def test_cap_ends(capped: Planked) -> None:
    for plank in capped.planks:
        assert np.degrees(end_of(plank, "stem").bevel) == pytest.approx(-29.0, abs=0.01)
        longer = forward(plank, "face_inside") - forward(plank, "face_outside")
        assert longer == pytest.approx(T * np.tan(HALF_ANGLE), abs=0.01)  # 10.5 mm


def test_lap_ends(lapped: Planked) -> None:
    for plank in lapped.planks:
        assert np.degrees(end_of(plank, "stem").bevel) == pytest.approx(61.0, abs=0.01)
        longer = forward(plank, "face_outside") - forward(plank, "face_inside")
        assert longer == pytest.approx(T / np.tan(HALF_ANGLE), abs=0.01)  # 34.3 mm
        assert np.array_equal(end_of(plank, "stem").fitted, end_of(plank, "stem").flat)


def test_the_land_leaves_the_inner_stem_its_face(capped: Planked) -> None:
    """Cap: the inside face of the planking ends stem_face_min / 2 = 8 mm off the centreline (B6).

    On the boat the inside face of an end lies (t/2) inboard of the middle and its edge (t/2) tan(bevel) back."""
    out = np.array([np.sin(HALF_ANGLE), np.cos(HALF_ANGLE), 0.0])
    on = np.array([np.cos(HALF_ANGLE), -np.sin(HALF_ANGLE), 0.0])
    for plank in capped.port("side"):
        end = end_of(plank, "stem")
        cut_back = forward(plank, "net_outline") - forward(plank, "fitted_outline")
        inside = end.seam - cut_back * on - T / 2 * out + T / 2 * np.tan(HALF_ANGLE) * on
        outside = end.seam - cut_back * on + T / 2 * out - T / 2 * np.tan(HALF_ANGLE) * on
        assert inside[:, 1] == pytest.approx(8.0, abs=0.05)
        assert outside[:, 0] == pytest.approx(inside[:, 0], abs=0.05)


@pytest.mark.parametrize(("boat", "longer"), [("capped", "face_inside"), ("lapped", "face_outside")])
def test_tails_are_reckoned_from_the_longer_face(boat: str, longer: str, request: pytest.FixtureRequest) -> None:
    """A3: 60 mm past the stem and 25 mm past the transom, along the plank, from the longer face."""
    for plank in request.getfixturevalue(boat).planks:
        assert forward(plank, "outline") - forward(plank, longer) == pytest.approx(60.0, abs=0.01)
        aft = plank.face_outside[:, 0].min() - plank.outline[:, 0].min()
        assert aft == pytest.approx(25.0, abs=0.01)


def test_transom_ends(capped: Planked) -> None:
    """Plane x = 0 against a plank that opens aft by a: bevel + a, the outside longer by t tan a."""
    for plank in capped.planks:
        assert np.degrees(end_of(plank, "transom").bevel) == pytest.approx(29.0, abs=0.01)
        longer = plank.face_inside[:, 0].min() - plank.face_outside[:, 0].min()
        assert longer == pytest.approx(T * np.tan(HALF_ANGLE), abs=0.01)


def test_a_raked_stem(raked: Planked) -> None:
    exact = np.degrees(np.arctan(np.tan(HALF_ANGLE) / np.cos(np.radians(40.0))))  # 35.89
    for plank in raked.planks:
        assert np.degrees(end_of(plank, "stem").bevel) == pytest.approx(-exact, abs=0.01)
