"""A given half siding on a bow of two planes at 29 degrees: hood ends, inner stem and cap agree on one land.

Trade rule B6: H = h + t / cos a (trigonometry).  H 40, t 19, a 29: h = 18.28.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from tests.acceptance.yard import planked, settings_of
from tests.exact_hulls import wedge_bow
from tests.shop.members_yard import members, skins_of

from strakewright.settings import BackboneSettings, MemberSettings, PlankingSettings

A, T, H = np.radians(29.0), 19.0, 40.0
SIDE = PlankingSettings(panel="side", pattern="strakes", thickness=T, courses=3, start="sheer", joint="none")
BACK = BackboneSettings(half_siding=H)


def test_hood_ends_are_cut_to_the_half_siding() -> None:
    boat = replace(settings_of((SIDE,)), backbone=BACK)
    out, on = np.array([np.sin(A), np.cos(A), 0.0]), np.array([np.cos(A), -np.sin(A), 0.0])
    for plank in planked(wedge_bow(half_angle_deg=29.0), boat).port("side"):
        end = next(e for e in plank.ends if e.meets == "stem")
        back = plank.net_outline[:, 0].max() - plank.fitted_outline[:, 0].max()
        lean = T / 2 * np.tan(A)
        outside = end.seam - back * on + T / 2 * out - lean * on
        inside = end.seam - back * on - T / 2 * out + lean * on
        assert outside[:, 1] == pytest.approx(H, abs=0.05)
        assert inside[:, 1] == pytest.approx(H - T / np.cos(A), abs=0.05)
        land_x = 4000.0 - H / np.tan(A)
        assert outside[:, 0] == pytest.approx(land_x, abs=0.1)


def test_stem_and_cap_meet_on_the_same_land() -> None:
    """Question 34: the land is predicted where the cap goes, and the cap's plies with their lengths and taper."""
    asks = (
        MemberSettings("stem", "stem", 60.0, 90.0, plies=6),
        MemberSettings("cap", "stem", 24.0, 30.0, face="outside", plies=5),
    )
    made, found = members(skins_of(wedge_bow(half_angle_deg=29.0), SIDE), *asks, backbone=BACK)
    stem, cap = made["stem"].swept, made["cap"].swept
    land = cap.corners[:, 2:]  # the two corners of the bearing
    assert np.abs(land[..., 1]) == pytest.approx(H, abs=0.05)
    assert land[..., 0] == pytest.approx(4000.0 - H / np.tan(A), abs=0.1)
    face = stem.corners[:, :2]
    assert np.abs(face[..., 1]) == pytest.approx(H - T / np.cos(A), abs=0.05)
    assert face[..., 0] == pytest.approx(land[0, 0, 0], abs=0.1)
    assert not [f for f in found if f.code == "stem-face-thin"]
    plies = made["cap"].plies
    # 32 mm of blank (2 to dress) from H = 40 at the land to 12 at the nose over 30: ply k reaches from 6.4 (k - 1) on
    want = [2 * (40.0 - 28.0 / 30.0 * 6.4 * (k - 1)) for k in range(1, 6)]
    assert [p.width for p in plies] == pytest.approx(want, abs=0.1)
    assert [p.length for p in plies] == pytest.approx([600.0] * 5, abs=0.5)


def test_a_knife_edge_at_the_foot_of_the_stem_is_told() -> None:
    """h = 30 - 19 / cos a wants 8 mm: 9.8 mm at the head, where a is 20 degrees, 3.1 at the foot, where it is 45."""
    mesh = wedge_bow(half_angle_deg=20.0, foot_angle_deg=45.0)
    ask = MemberSettings("stem", "stem", 60.0, 90.0, plies=6)
    _, found = members(skins_of(mesh, SIDE), ask, backbone=BackboneSettings(half_siding=30.0))
    told = next(f for f in found if f.code == "stem-face-thin")
    face = float(told.what.split("face of ")[1].split(" mm")[0])
    assert face == pytest.approx(2 * (30.0 - T / np.cos(np.radians(45.0))), abs=0.4)


@pytest.mark.parametrize(("half", "told"), [(8.2, False), (7.8, True)])
def test_the_land_is_told_below_eight_mm(half: float, told: bool) -> None:
    """Trade rule B6: want h >= 8."""
    back = BackboneSettings(half_siding=half + T / float(np.cos(A)))
    ask = MemberSettings("stem", "stem", 60.0, 90.0, plies=6)
    _, found = members(skins_of(wedge_bow(half_angle_deg=29.0), SIDE), ask, backbone=back)
    assert ("stem-face-thin" in {f.code for f in found}) == told
