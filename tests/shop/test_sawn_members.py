"""Sawn members on exact hulls: skeg, breasthook, knees.  Closed forms: trigonometry of planes.

Prism: level keel at z = 0 outside, V bottom 20 degrees, side flared 10 degrees, no transom in the settings.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import shapely
from tests.exact_hulls import Prism, wedge_bow
from tests.exact_meshes import Make
from tests.shop.members_yard import BOTTOM, SIDE, members, skins_of

from strakewright.errors import InputError
from strakewright.members import Sawn
from strakewright.settings import MemberSettings
from strakewright.shop.memberbodies import member_bodies
from strakewright.shop.sawnmembers import sawn_members
from strakewright.shop.swept import Skins
from strakewright.solids import volume

T = 19.0


@pytest.fixture(scope="module")
def prism() -> Skins:
    return skins_of(Prism().mesh(), BOTTOM, SIDE)


def sawn(skins: Skins, *asks: MemberSettings, transom: float = 0.0) -> dict[str, Sawn]:
    runs = [a for a in asks if a.shape == "run"]
    made, _ = members(skins, *runs)
    return {s.name: s for s in sawn_members(skins, asks, list(made.values()), transom)}


def test_skeg_under_a_level_keel(prism: Skins) -> None:
    """120 deep aft to nothing at 1500: a triangle less its tip, where 12 mm are left (x = 1350)."""
    ask = MemberSettings("skeg", "keel", 32.0, 120.0, shape="skeg", aft=0.0, forward=1500.0)
    skeg = sawn(prism, ask)["skeg"]
    area = shapely.Polygon(skeg.outline).area
    assert area == pytest.approx((120.0 + 12.0) / 2 * 1350.0, rel=0.01)
    assert np.ptp(skeg.outline[:, 1]) == pytest.approx(120.0, abs=0.1)
    assert skeg.corner[2] == pytest.approx(-120.0, abs=0.1)
    body = member_bodies([], [skeg])
    assert volume(body[0]) == pytest.approx(area * 32.0, rel=1e-6)
    assert len(body) == len(skeg.parts) == 1
    assert skeg.parts[0].thickness == 32.0


def test_skeg_goes_under_a_shoe(prism: Skins) -> None:
    shoe = MemberSettings("shoe", "keel", 40.0, 20.0, face="outside")
    ask = MemberSettings("skeg", "keel", 32.0, 120.0, shape="skeg", aft=0.0, forward=1500.0)
    assert sawn(prism, shoe, ask)["skeg"].corner[2] == pytest.approx(-140.0, abs=0.1)


def test_breasthook_of_a_wedge_bow() -> None:
    """Planes at 25 degrees: the halves' sides lie at 25 degrees to the centreline, on the inside of the planking."""
    a = np.radians(25.0)
    skins = skins_of(wedge_bow(half_angle_deg=25.0), replace(SIDE, courses=3))
    stem = MemberSettings("stem", "stem", 40.0, 70.0)
    hook = sawn(skins, stem, MemberSettings("hook", "sheer", 25.0, 300.0, shape="breasthook"))["hook"]
    space = hook.corner + hook.outline[:, :1] * hook.along + hook.outline[:, 1:] * hook.up
    inside_x = 4000.0 - T / np.sin(a) - space[:, 1] / np.tan(a)
    assert (space[:, 0] <= inside_x + 0.05).all()
    side = np.abs(space[:, 0] - inside_x) < 0.05
    arm = space[side]
    assert np.ptp(arm[:, 1]) == pytest.approx(300.0 * np.sin(a), rel=0.02)
    assert arm[:, 1].min() == pytest.approx(20.0, abs=8.0)  # against the stem's side
    assert hook.bevels[0].startswith("side: square at the stem, square at the toe")  # upright sides, level sheer
    assert [p.id for p in hook.parts] == ["hook-P", "hook-S"]
    port, starboard = (p.outline for p in hook.parts)
    assert shapely.Polygon(port).area == pytest.approx(shapely.Polygon(starboard).area, rel=1e-5)
    assert shapely.Polygon(starboard).exterior.is_ccw
    assert len(member_bodies([], [hook])) == 2


def test_quarter_knee_fits_its_corner(prism: Skins) -> None:
    """Sheer along x, transom square across: arms at 90 degrees, both 200; corner on the inside of both."""
    skins = skins_of(Prism().mesh(Make(transom=True)), BOTTOM, SIDE)
    knee = sawn(skins, MemberSettings("knee", "sheer", 25.0, 200.0, shape="knee"), transom=25.0)["knee"]
    assert knee.corner[0] == pytest.approx(25.0, abs=0.1)
    assert knee.along == pytest.approx([1.0, 0.0, 0.0], abs=1e-3)
    assert np.ptp(knee.outline, axis=0) == pytest.approx([200.0, 200.0], abs=0.5)
    inner = Prism().section()[2] - T * np.array([np.cos(np.radians(10)), -np.sin(np.radians(10))])
    assert knee.corner[1:] == pytest.approx(inner, abs=0.05)
    # a side that flares 10 degrees looks down and out, a plumb transom neither: its edge is square
    assert knee.bevels[0] == (
        "edge on the side: 10.0 degrees, upper face larger at the corner, 10.0 degrees, upper face larger at the toe"
    )
    assert knee.bevels[1] == "edge on the transom: square"
    assert all(words in knee.pattern.notes for words in knee.bevels)


def test_stern_knee_stands_on_the_keelson() -> None:
    skins = skins_of(Prism().mesh(Make(transom=True)), BOTTOM, SIDE)
    keelson = MemberSettings("keelson", "keel", 90.0, 50.0)
    knee = sawn(skins, keelson, MemberSettings("knee", "keel", 40.0, 250.0, shape="knee"), transom=25.0)["knee"]
    assert knee.where == "centre"
    assert knee.corner[2] == pytest.approx(T / np.cos(np.radians(20)) + 50.0, abs=0.05)
    assert knee.up == pytest.approx([0.0, 0.0, 1.0], abs=1e-3)


@pytest.mark.parametrize(
    ("ask", "told"),
    [
        (MemberSettings("hook", "sheer", 25.0, 300.0, shape="breasthook"), "do not meet at the bow"),
        (MemberSettings("skeg", "keel", 25.0, 11.0, shape="skeg"), "has no depth"),
    ],
)
def test_pieces_that_have_no_place(prism: Skins, ask: MemberSettings, told: str) -> None:
    with pytest.raises(InputError, match=told):
        sawn(prism, ask)


def test_grain_runs_from_toe_to_toe() -> None:
    skins = skins_of(Prism().mesh(Make(transom=True)), BOTTOM, SIDE)
    knee = sawn(skins, MemberSettings("knee", "sheer", 25.0, 200.0, shape="knee"))["knee"]
    long, wide = np.ptp(knee.parts[0].outline, axis=0)
    assert long == pytest.approx(200.0 * np.sqrt(2), abs=1.0)  # along the grain, x
    assert wide == pytest.approx(100.0 * np.sqrt(2), rel=0.05)  # from the corner to the throat's chord
