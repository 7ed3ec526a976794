"""At rest under a weight, and righting arms, against closed forms.

Box barge of breadth B at draught T heeled by h (wall-sided formula, exact while neither edge leaves or enters the
water; E. L. Attwood and any textbook after him): GZ = sin h (GM + BM / 2 tan^2 h), BM = B^2 / (12 T).
V prism of half angle a heeled: with t = tan a the water cuts the sides at heights that follow from the triangle's
area; its centroid is the mean of its corners (derived below).
"""

from __future__ import annotations

import numpy as np
import pytest

from strakewright.afloat.lying import at_rest, righting_curve
from strakewright.afloat.shell import Shell
from strakewright.errors import UnworkableError
from strakewright.floating import SALT
from tests.afloat.forms import box, prism, wedge, wigley

TENTH_MM, HUNDREDTH_DEG = 0.1, np.deg2rad(0.01)


def place(*xyz: float) -> np.ndarray:
    return np.array(xyz)


def test_box_with_an_off_centre_weight() -> None:
    """Heel of a box barge from 0 = GZ: tan h solves GM t + BM t^3 / 2 = d (weight d off centre, flat deck not wet);
    trim likewise from BM_L.  One at a time, then both small together."""
    length, breadth, draught = 4000.0, 1600.0, 250.0
    weight = length * breadth * draught * 1e-6
    barge = box(length, breadth, 900.0)
    bm = breadth**2 / (12 * draught)
    for off in (5.0, 40.0, -60.0):
        centre = place(length / 2, off, 400.0)
        found = at_rest(barge, weight, centre)
        gm = draught / 2 + bm - 400.0
        t = np.roots([bm / 2, 0.0, gm, off])
        tan = float(t[np.abs(t.imag) < 1e-12].real[0])
        assert found.heel == pytest.approx(np.arctan(tan), abs=HUNDREDTH_DEG)
        level = (draught + 0.0) * found.up[2]  # the middle of the water stays at its height over the keel
        assert found.level == pytest.approx(level, abs=TENTH_MM)
        assert found.trim == pytest.approx(0.0, abs=1e-9)
    bm_long = length**2 / (12 * draught)
    found = at_rest(barge, weight, place(length / 2 - 60.0, 0.0, 400.0))
    gm_long = draught / 2 + bm_long - 400.0
    t = np.roots([bm_long / 2, 0.0, gm_long, -60.0])
    assert found.trim == pytest.approx(np.arctan(float(t[np.abs(t.imag) < 1e-12].real[0])), abs=HUNDREDTH_DEG)
    assert found.level == pytest.approx(found.up @ place(length / 2, 0.0, draught), abs=TENTH_MM)
    assert found.gm_long == pytest.approx(gm_long, rel=2e-3)


def test_weight_to_port_heels_to_port_and_weight_aft_trims_by_the_stern() -> None:
    barge = box(4000.0, 1600.0, 900.0)
    found = at_rest(barge, 1600.0, place(1900.0, 30.0, 300.0))
    assert found.heel < 0 < found.trim
    assert found.freeboard < 650.0
    assert (found.freeboard_x, found.draught) == pytest.approx((0.0, 900.0 * found.up[2] - found.freeboard), abs=60.0)


def wedge_at(heel: float, half: float, area: float) -> tuple[np.ndarray, float]:
    """Closed form of a V (sides at `half` either side of upright, point at the origin) heeled to starboard.

    returns the centre of buoyancy in the boat's axes and the height of the water along the vertical"""
    port, starboard = np.array([np.sin(half), np.cos(half)]), np.array([-np.sin(half), np.cos(half)])
    up = np.array([np.sin(heel), np.cos(heel)])
    a, b = 1 / (port @ up), 1 / (starboard @ up)  # lengths of the sides per unit of water height
    level = np.sqrt(area / (0.5 * a * b * np.sin(2 * half)))
    return (port * a + starboard * b) * level / 3, float(level)


@pytest.mark.parametrize("off", [0.0, 8.0, -25.0])
def test_v_prism_with_an_off_centre_weight(off: float) -> None:
    """Rest is where the weight stands over the buoyancy; the heel is found from the closed form by halving."""
    breadth, depth, length = 2000.0, 800.0, 5000.0
    half = np.arctan(breadth / 2 / depth)
    weight = 900.0
    area = weight * 1e6 / length
    centre = np.array([off, 420.0])

    def arm(heel: float) -> float:
        buoyancy, _ = wedge_at(heel, half, area)
        return float((buoyancy - centre) @ np.array([np.cos(heel), -np.sin(heel)]))

    low, high = -0.6, 0.6
    for _ in range(60):
        low, high = ((low + high) / 2, high) if arm((low + high) / 2) > 0 else (low, (low + high) / 2)
    found = at_rest(wedge(length, breadth, depth), weight, place(length / 2, *centre))
    assert found.heel == pytest.approx(low, abs=HUNDREDTH_DEG)
    assert found.level == pytest.approx(wedge_at(low, half, area)[1], abs=TENTH_MM)


def test_righting_arms_of_the_v_prism() -> None:
    breadth, depth, length, weight = 2000.0, 800.0, 5000.0, 900.0
    half, area = np.arctan(breadth / 2 / depth), weight * 1e6 / length
    curve = righting_curve(wedge(length, breadth, depth), weight, place(length / 2, 0.0, 420.0), None, 1000.0)
    assert len(curve.points) > 6
    for point in curve.points:
        buoyancy, level = wedge_at(point.heel, half, area)
        lever = (buoyancy - np.array([0.0, 420.0])) @ np.array([-np.cos(point.heel), np.sin(point.heel)])
        assert point.arm == pytest.approx(float(lever), abs=0.05)
        assert point.level == pytest.approx(level, abs=TENTH_MM)


def test_righting_arms_and_flooding_of_the_box() -> None:
    """Wall-sided formula; the sheer goes under where B/2 tan h = freeboard."""
    length, breadth, draught, depth, high = 4000.0, 1600.0, 300.0, 700.0, 350.0
    weight = length * breadth * draught * 1e-6 * SALT / 1000
    barge = box(length, breadth, depth)
    bm = breadth**2 / (12 * draught)
    gm = draught / 2 + bm - high
    found = at_rest(barge, weight, place(length / 2, 0.0, high), SALT)
    assert found.gm == pytest.approx(gm, rel=1e-6)
    curve = righting_curve(barge, weight, place(length / 2, 0.0, high), None, SALT)
    within = np.arctan(draught / (breadth / 2))  # the bilge leaves the water
    for point in (p for p in curve.points if p.heel <= within):
        lever = np.sin(point.heel) * (gm + bm / 2 * np.tan(point.heel) ** 2)
        assert point.arm == pytest.approx(lever, abs=0.05)
    lower = box(length, breadth, draught + 150.0)
    curve = righting_curve(lower, weight, place(length / 2, 0.0, high), None, SALT)
    assert curve.floods_at == pytest.approx(np.arctan(150.0 / (breadth / 2)), abs=HUNDREDTH_DEG)
    assert curve.through == "the sheer"
    assert curve.points[-1].heel == curve.floods_at
    stated = righting_curve(barge, weight, place(length / 2, 0.0, high), place(2000.0, 500.0, 450.0), SALT)
    assert stated.floods_at == pytest.approx(np.arctan(150.0 / 500.0), abs=HUNDREDTH_DEG)
    assert stated.through == "the stated opening"
    high_up = righting_curve(lower, weight, place(length / 2, 0.0, high), place(2000.0, 100.0, 445.0), SALT)
    assert high_up.floods_at == pytest.approx(np.arctan(150.0 / (breadth / 2)), abs=HUNDREDTH_DEG)
    assert high_up.through == "the sheer"  # an open boat fills over her sheer, whatever opening is stated


def test_decked_box_rights_beyond_her_sheer() -> None:
    """A closed box has no sheer to flood over: the curve runs on, and a box on her side has the arm of a box on end.

    At 90 degrees B' = depth is the breadth: buoyancy lies on her middle line, weight `high` from the keel."""
    length, breadth, depth, high = 4000.0, 1000.0, 800.0, 250.0
    weight = length * breadth * 400.0 * 1e-6
    curve = righting_curve(
        box(length, breadth, depth, deck=True), weight, place(2000.0, 0.0, high), place(2000.0, 0.0, 2500.0), 1000.0
    )
    assert curve.floods_at is None
    assert curve.points[-1].heel == pytest.approx(np.pi / 2)
    assert curve.points[-1].arm == pytest.approx(depth / 2 - high, abs=0.05)


def test_a_tender_box_finds_a_heel_she_stays_at() -> None:
    """GM < 0: the angle of loll of a wall-sided hull, tan h = sqrt(-2 GM / BM)."""
    length, breadth, draught = 4000.0, 1000.0, 500.0
    bm = breadth**2 / (12 * draught)
    gm = -20.0
    high = draught / 2 + bm - gm
    found = at_rest(box(length, breadth, 1500.0), length * breadth * draught * 1e-6, place(2000.0, 0.0, high))
    assert abs(found.heel) == pytest.approx(np.arctan(np.sqrt(-2 * gm / bm)), abs=HUNDREDTH_DEG)
    assert found.gm > 0


def test_fresh_and_salt_water_by_the_textbook() -> None:
    """Stability text for masters and mates: 2639 1/3 m3 displace 2705.3 t of salt water; 660 m2 of waterplane
    give 6.77 t for a cm; fresh water allowance 2705.3 / (4 x 6.77) = 99.9 mm.  Here a barge of those figures."""
    length, breadth = 60_000.0, 11_000.0
    draught = 2639.0 + 1 / 3
    barge = box(length, breadth, 9000.0)
    from strakewright.afloat.upright import at_level

    deep = at_level(barge, draught / 660.0 * 1000.0, SALT)
    assert deep.displacement == pytest.approx(2705.3e3, abs=60.0)
    assert deep.immersion * 10 / 1000 == pytest.approx(6.77, abs=0.006)
    centre = place(length / 2, 0.0, 4000.0)
    salt, fresh = (at_rest(barge, deep.displacement, centre, water).draught for water in (SALT, 1000.0))
    assert fresh - salt == pytest.approx(99.9, abs=0.15)


def test_wigley_hull_rests_on_her_lines() -> None:
    hull = wigley(10_000.0, 1000.0, 625.0)
    weight = 4 / 9 * 10_000 * 1000 * 625 * 1e-6
    found = at_rest(hull, weight, place(5000.0, 0.0, 300.0))
    assert found.level == pytest.approx(625.0, abs=0.3)
    assert found.gm == pytest.approx(5 * 625 / 8 + 3 * 1000**2 / (35 * 625) - 300.0, rel=1e-3)
    assert (found.trim, found.heel) == pytest.approx((0.0, 0.0), abs=5e-5)  # the triangles lean one way


def test_too_heavy_for_her_sheer() -> None:
    with pytest.raises(UnworkableError, match="more than she carries to her sheer"):
        at_rest(box(4000.0, 1600.0, 500.0), 3300.0, place(2000.0, 0.0, 200.0))


def test_what_cannot_come_to_rest_says_so() -> None:
    """An open box that is far too top-heavy turns over: no rest above the sheer."""
    tender: Shell = prism(np.array([[200.0, 0.0], [200.0, 400.0]]), 4000.0)
    with pytest.raises(UnworkableError, match="finds no rest"):
        righting_curve(tender, 200.0, place(9000.0, 0.0, 200.0), None, 1000.0)
