"""Finished sections of members on exact hulls, against plane geometry.

Prism: V bottom 20 degrees, half breadth 900, side flared 10 degrees; planking 19 mm outside in, bottom 2 x 9.5.
Angle inside the boat between side and bottom: 90 + 20 + 10 = 120 degrees; fold 60.
Wedge: upright plane sides at 20 degrees to the centreline plane.  All closed forms: trigonometry.
"""

from __future__ import annotations

import numpy as np
import pytest
from tests.exact_hulls import Prism, RunningChine, TwistedBottom, wedge_bow
from tests.shop.members_yard import BOTTOM, SIDE, members, skins_of

from strakewright.arrays import Floats
from strakewright.errors import InputError
from strakewright.members import Member, section_at
from strakewright.proof.bearing import bearing_checks, spare_wood
from strakewright.settings import BackboneSettings, ChineSettings, MemberSettings, PlankingSettings
from strakewright.shop.backbone import bearing_widths, land_halves
from strakewright.shop.swept import Skins

T = 19.0
FOLD = np.radians(60.0)
DEADRISE = np.radians(20.0)


@pytest.fixture(scope="module")
def prism() -> Skins:
    return skins_of(Prism().mesh(), BOTTOM, SIDE)


def middle(member: Member) -> Floats:
    """The section half way along."""
    return np.asarray(member.swept.corners[len(member.swept.run) // 2])


def proved(skins: Skins, made: dict[str, Member]) -> None:
    depths = {p.name: (t, 0.0) for p, t in zip(skins.hull.panels, skins.thick, strict=True)}
    for check in bearing_checks(skins.hull, made.values(), depths):
        assert check.holds, check


# -- chine logs ------------------------------------------------------------------------------------


def test_log_on_the_bisector(prism: Skins) -> None:
    """Blank w = 2 land cos(fold/2), both faces bevelled fold/2, depth + (w/2) tan(fold/2) and 2 mm to dress."""
    made, _ = members(prism, chine=ChineSettings(log=32.0, log_land=40.0))
    log = made["chine log"]
    width = 2 * 40.0 * np.cos(FOLD / 2)
    assert log.swept.blank.width == pytest.approx(width, abs=0.02)
    assert log.swept.blank.depth == pytest.approx(32.0 + width / 2 * np.tan(FOLD / 2) + 2.0, abs=0.02)
    for bearing in log.swept.bearings:
        assert np.degrees(bearing.bevel) == pytest.approx(30.0, abs=0.02)
    assert bearing_widths(log.swept) == pytest.approx(40.0, abs=0.01)
    corner = np.array([900.0 - T * np.tan(FOLD / 2) * np.cos(DEADRISE) - T * np.sin(DEADRISE), 0.0])
    assert np.abs(middle(log)[:, 1] - corner[0]).min() == pytest.approx(0.0, abs=0.05)
    proved(prism, made)


@pytest.mark.parametrize("depth", [32.0, 20.0])
def test_log_on_the_side_hangs_below_the_corner(prism: Skins, depth: float) -> None:
    """s tan(theta - 90): 32 mm at 120 degrees is 18.5 mm (worked figure: 19 mm at 121)."""
    made, _ = members(prism, chine=ChineSettings(log=depth, log_land=40.0, log_turn="side"))
    log = made["chine log"]
    assert log.swept.blank.width == pytest.approx(40.0 + depth * np.tan(np.radians(30)), abs=0.02)
    assert log.swept.blank.depth == pytest.approx(depth + 2.0, abs=0.01)
    bottom, side = log.swept.bearings
    assert np.degrees(side.bevel) == pytest.approx(0.0, abs=0.02)
    assert np.degrees(bottom.bevel) == pytest.approx(60.0, abs=0.02)
    proved(prism, made)


@pytest.mark.parametrize(("theta", "hang"), [(121, 19), (135, 32), (150, 55), (165, 119)])
def test_how_far_a_log_on_the_side_hangs_as_the_chine_opens(theta: float, hang: float) -> None:
    """Worked figures for 32 mm, on a hull whose chine turns about itself: fold(x) is known exactly."""
    hull = RunningChine()
    skins = skins_of(hull.mesh(), BOTTOM, SIDE)
    made, found = members(skins, chine=ChineSettings(log=32.0, log_land=40.0, log_turn="side"))
    log = made["chine log"]
    fold = np.degrees(log.swept.bearings[0].bevel)
    near = int(np.abs(fold - (180 - theta)).argmin())
    assert fold[near] == pytest.approx(180 - theta, abs=1.0)
    ring = log.swept.corners[near]
    blank = log.swept.blank
    below = ((ring - blank.outer[near]) @ blank.across[near]).min()
    corner = ring[np.abs((ring - blank.outer[near]) @ blank.deep[near] - 2.0).argsort()[:2]]
    low = ((corner - blank.outer[near]) @ blank.across[near]).min()
    assert low - below == pytest.approx(32.0 / np.tan(np.radians(fold[near])), rel=0.02)
    assert 32.0 * np.tan(np.radians(theta - 90)) == pytest.approx(hang, abs=0.7)
    assert any(f.code == "log-wide" for f in found)


def test_log_follows_a_turning_chine(prism: Skins) -> None:
    """Question 17: both bevels are half the fold at every row; the blank holds the section everywhere."""
    hull = RunningChine()
    skins = skins_of(hull.mesh(), BOTTOM, SIDE)
    made, _ = members(skins, chine=ChineSettings(log=32.0, log_land=30.0))
    log = made["chine log"]
    rows = [r for r in log.rows if 100 < r.x < 5500]
    for row in rows:
        assert np.degrees(row.bevels) == pytest.approx(hull.fold(np.array(row.x)) / 2, abs=0.25)
    runs = np.array([r.run for r in log.rows if not r.name])
    assert np.diff(runs).max() <= 300.0 + 1e-9
    assert [r.name for r in log.rows if r.name] == [f"F{k}" for k in range(1, 12)]
    assert spare_wood(log) >= -0.01
    proved(skins, made)


# -- flat runs -------------------------------------------------------------------------------------


def test_clamp_and_rail_lie_against_the_planking(prism: Skins) -> None:
    ask = MemberSettings("clamp", "sheer", 45.0, 20.0), MemberSettings("rail", "sheer", 30.0, 22.0, face="outside")
    made, _ = members(prism, *ask)
    flare = np.radians(10.0)
    sheer = Prism().section()[2]
    inner = sheer + T * np.array([-np.cos(flare), np.sin(flare)])
    up = np.array([np.sin(flare), np.cos(flare)])
    into = np.array([-np.cos(flare), np.sin(flare)])
    clamp = [inner - 45 * up, inner, inner + 20 * into, inner - 45 * up + 20 * into]
    rail = [sheer - 30 * up, sheer, sheer - 22 * into, sheer - 30 * up - 22 * into]
    for name, want in (("clamp", clamp), ("rail", rail)):
        ring = section_at(made[name], 2500.0)
        assert ring is not None
        gaps = np.linalg.norm(ring[:, None] - np.array(want), axis=-1)
        assert gaps.min(axis=1).max() < 0.02
    proved(prism, made)


@pytest.mark.parametrize("share", [0.33, 0.66])
def test_batten_lies_at_its_share_of_the_girth(prism: Skins, share: float) -> None:
    made, _ = members(prism, MemberSettings("batten", f"bottom@{share}", 40.0, 20.0))
    ring = section_at(made["batten"], 2500.0)
    assert ring is not None
    girth = 900.0 / np.cos(DEADRISE)
    way, normal = np.array([np.cos(DEADRISE), np.sin(DEADRISE)]), np.array([-np.sin(DEADRISE), np.cos(DEADRISE)])
    along = ring @ way
    assert (along.min() + along.max()) / 2 == pytest.approx(share * girth, abs=0.1)
    assert np.ptp(along) == pytest.approx(40.0, abs=0.02)
    assert (ring @ normal).min() == pytest.approx(T, abs=0.02)
    assert (ring @ normal).max() == pytest.approx(T + 20.0, abs=0.02)
    proved(prism, made)


def test_batten_along_a_seam(prism: Skins) -> None:
    """Question of a batten behind a seam: its middle on the seam, square to the side's inside (plane flared 10)."""
    flare = np.radians(10.0)
    keel, chine, sheer = Prism().section()
    x = np.linspace(200.0, 4800.0, 93)
    seam = chine + 0.4 * (sheer - chine)
    points = np.column_stack([x, np.full_like(x, seam[0]), np.full_like(x, seam[1])])
    made, _ = members(prism, MemberSettings("batten", "side/3", 40.0, 20.0), seams={"side/3": points})
    ring = section_at(made["batten"], 2500.0)
    assert ring is not None
    up, into = np.array([np.sin(flare), np.cos(flare)]), np.array([-np.cos(flare), np.sin(flare)])
    away = ring - seam
    assert (away @ up).min() == pytest.approx(-20.0, abs=0.05)
    assert (away @ up).max() == pytest.approx(20.0, abs=0.05)
    assert (away @ into).min() == pytest.approx(19.0, abs=0.02)
    assert (away @ into).max() == pytest.approx(39.0, abs=0.02)
    assert keel[1] < ring[:, 1].min()
    proved(prism, made)


def test_batten_along_a_twisted_bottom_bears_all_along() -> None:
    skins = skins_of(TwistedBottom().mesh(), BOTTOM, SIDE)
    made, _ = members(skins, MemberSettings("batten", "bottom@0.5", 40.0, 20.0))
    proved(skins, made)
    rows = made["batten"].rows
    # plane sections z = y (t0 + t1 x): the girth line's slope turns from atan 0.2 to atan 0.8
    want = np.arctan(0.2 + 0.6 / 5000 * np.array([rows[0].x, rows[-1].x]))
    assert abs(rows[-1].turn) == pytest.approx(abs(np.diff(want)[0]), rel=0.05)


# -- keelson, stem, cap ----------------------------------------------------------------------------


def test_keelson_on_a_v_bottom(prism: Skins) -> None:
    """Ridge at t / cos d; bearings half sided / cos d; bevel = deadrise."""
    made, found = members(prism, backbone=BackboneSettings(keelson_sided=90.0, keelson_moulded=50.0))
    keelson = made["keelson"]
    ring = section_at(keelson, 2500.0)
    assert ring is not None
    low = T / np.cos(DEADRISE)
    assert ring[:, 1].min() == pytest.approx(low, abs=0.02)
    assert ring[:, 1].max() == pytest.approx(low + 50.0, abs=0.02)
    assert ring[:, 0].max() == pytest.approx(45.0, abs=0.02)
    assert bearing_widths(keelson.swept).sum(axis=0) == pytest.approx(45.0 / np.cos(DEADRISE), abs=0.02)
    assert np.degrees([b.bevel for b in keelson.swept.bearings]) == pytest.approx(20.0, abs=0.02)
    assert not found
    proved(prism, made)


def test_narrow_keelson_is_told(prism: Skins) -> None:
    """Faces of 27 mm / cos 20 = 28.7 mm, 30 are wanted."""
    _, found = members(prism, backbone=BackboneSettings(keelson_sided=54.0))
    assert [f.code for f in found] == ["bearing-narrow"]
    assert "29 mm" in found[0].what


def wedge(half_angle: float) -> Skins:
    side = PlankingSettings(panel="side", pattern="strakes", thickness=T, courses=4, start="sheer")
    return skins_of(wedge_bow(half_angle_deg=half_angle), side)


@pytest.mark.parametrize("a_deg", [20.0, 29.0])
def test_inner_stem_and_cap_of_a_wedge(a_deg: float) -> None:
    """Land H = h + t / cos a; face h / tan a aft of where the insides meet; bearing (sided/2 - h) / sin a."""
    a = np.radians(a_deg)
    skins = wedge(a_deg)
    stem = MemberSettings("stem", "stem", 44.4, 70.0)
    cap = MemberSettings("cap", "stem", 20.0, 30.0, face="outside")
    made, _ = members(skins, stem, cap, backbone=BackboneSettings(stem_face_min=16.0))
    h = 8.0
    assert land_halves(made["cap"].swept) == pytest.approx(h + T / np.cos(a), abs=0.02)
    face_x = 4000.0 - T / np.sin(a) - h / np.tan(a)
    assert middle(made["stem"])[:, 0].max() == pytest.approx(face_x, abs=0.03)
    assert middle(made["stem"])[:, 0].min() == pytest.approx(face_x - 70.0, abs=0.03)
    assert bearing_widths(made["stem"].swept).sum(axis=0) == pytest.approx((22.2 - h) / np.sin(a), abs=0.05)
    assert middle(made["cap"])[:, 0].max() == pytest.approx(face_x + 30.0, abs=0.03)
    proved(skins, made)


def test_half_siding_that_leaves_a_knife_edge_is_told() -> None:
    """Half siding 22.2, a 29 degrees, t 19: h = 22.2 - 19 / cos 29 = 0.5 mm (worked figure)."""
    assert 22.2 - 19.0 / np.cos(np.radians(29.0)) == pytest.approx(0.5, abs=0.05)
    skins = wedge(29.0)
    stem = MemberSettings("stem", "stem", 44.4, 70.0)
    made, found = members(skins, stem, backbone=BackboneSettings(half_siding=22.2))
    told = {f.code: f.what for f in found}
    assert "face of 1.0 mm" in told["stem-face-thin"]
    face = made["stem"].swept.corners[5]
    assert np.linalg.norm(face[1] - face[0]) / 2 == pytest.approx(0.476, abs=0.02)


def test_narrow_stem_is_told() -> None:
    """Bearing (15 - 8) / sin 29 = 14.4 mm, 1.75 x 19 = 33 are wanted."""
    _, found = members(wedge(29.0), MemberSettings("stem", "stem", 30.0, 60.0))
    assert any(f.code == "bearing-narrow" and "14 mm" in f.what and "33 mm" in f.what for f in found)


# -- refusals and a check that can fail ------------------------------------------------------------


@pytest.mark.parametrize(
    ("along", "told"),
    [("stem", "has no stem"), ("chine2", "has no chine2"), ("bilge1@0.5", "no panel"), ("side/3", "no seam")],
)
def test_lines_the_hull_has_not(prism: Skins, along: str, told: str) -> None:
    with pytest.raises(InputError, match=told):
        members(prism, MemberSettings("x", along, 40.0, 20.0))


def test_member_without_length(prism: Skins) -> None:
    with pytest.raises(InputError, match="no length left"):
        members(prism, MemberSettings("x", "sheer", 40.0, 20.0, aft=4000.0, forward=3000.0))
    with pytest.raises(InputError, match="no room"):
        members(prism, MemberSettings("x", "bottom@0.02", 40.0, 20.0))


@pytest.mark.parametrize(
    ("shift", "fails"),
    [
        (np.array([0.0, 0.0, 0.5]), "bears on"),
        (np.array([0.0, 0.0, -0.5]), "lies inside"),
    ],
)
def test_a_moved_member_fails_its_checks(prism: Skins, shift: Floats, fails: str) -> None:
    from dataclasses import replace

    made, _ = members(prism, MemberSettings("batten", "bottom@0.4", 40.0, 20.0))
    batten = made["batten"]
    moved = replace(batten, swept=replace(batten.swept, corners=batten.swept.corners + shift))
    depths = {"bottom": (T, 0.0), "side": (T, 0.0)}
    broken = [c.name for c in bearing_checks(prism.hull, [moved], depths) if not c.holds]
    assert any(fails in name for name in broken)
    assert any("blank contains it" in name for name in broken)


# -- blanks and their plies ------------------------------------------------------------------------


@pytest.mark.parametrize("flip", ["to side", "to bottom"])
def test_every_ply_contains_its_share_of_the_finished_section(flip: str) -> None:
    """Question 17, for the pieces themselves: in the blank's own frame the section between a ply's two faces
    (clipped by an independent library, shapely) lies inside the ply's outline with 3 mm to spare."""
    import shapely

    hull = RunningChine()
    skins = skins_of(hull.mesh(), BOTTOM, SIDE)
    ask = MemberSettings("log", "chine", 30.0, 28.0, plies=3, plies_lie=flip)  # type: ignore[arg-type]
    made, _ = members(skins, ask, longest=9000.0)
    log = made["log"]
    blank, n = log.swept.blank, len(log.swept.run)
    for station in range(0, n, 9):
        away = log.swept.corners[station] - blank.outer[station]
        ring = np.stack([away @ blank.across[station], away @ blank.deep[station]], axis=-1)
        whole = shapely.Polygon(ring)
        assert shapely.box(-blank.width / 2, 0, blank.width / 2, blank.depth).buffer(0.01).contains(whole)
        covered = 0.0
        on_edge = _on_edge(log)
        for ply in log.plies:
            slab = _slab(log, ply.number, on_edge)
            piece = whole.intersection(slab)
            if piece.area < 1e-9:
                continue
            low, high = (piece.bounds[1], piece.bounds[3]) if on_edge else (piece.bounds[0], piece.bounds[2])
            part = next(p for p in log.parts if p.id == ply.parts[0])
            x = 50.0 + log.swept.run[station] * ply.length / log.swept.run[-1]
            cut = shapely.Polygon(part.outline).intersection(shapely.LineString([(x, -1e3), (x, 1e3)]))
            assert cut.length >= high - low + 6.0
            covered += piece.area
        assert covered == pytest.approx(whole.area, rel=1e-6)


def _on_edge(log: Member) -> bool:
    """Plies cut from the blank's width, not from its depth."""
    return abs(log.plies[0].thickness * len(log.plies) - log.swept.blank.width) < 1e-6


def _slab(log: Member, number: int, on_edge: bool) -> object:
    import shapely

    t, b = log.plies[0].thickness, log.swept.blank
    if on_edge:
        return shapely.box(-b.width / 2 + (number - 1) * t, -500, -b.width / 2 + number * t, 500)
    return shapely.box(-500, b.depth - number * t, 500, b.depth - (number - 1) * t)


def test_whole_plies_of_a_given_thickness(prism: Skins) -> None:
    """6 mm plies, 50 mm keelson with 2 mm to dress: nine, 54 mm."""
    made, _ = members(prism, MemberSettings("keelson", "keel", 90.0, 50.0, ply=6.0))
    keelson = made["keelson"]
    assert [p.thickness for p in keelson.plies] == pytest.approx([6.0] * 9)
    assert keelson.swept.blank.depth == pytest.approx(54.0)
    assert spare_wood(keelson) >= -0.01


def test_members_bent_in_place_have_no_former(prism: Skins) -> None:
    """No springback on a keelson screwed to its frames."""
    made, found = members(prism, MemberSettings("keelson", "keel", 90.0, 50.0, plies=4))
    assert made["keelson"].former is None
    assert not [f for f in found if f.code == "test-piece"]


def test_shoe_sits_on_the_flat_that_is_planed_for_it(prism: Skins) -> None:
    """Flat of 44 at x 1000, 20 at 4000: half width 16 at 2500; it lies 16 tan 20 above the ridge, 20 mm deep."""
    back = BackboneSettings(keel_flat=((1000.0, 44.0), (4000.0, 20.0)))
    made, _ = members(prism, MemberSettings("shoe", "keel", 24.0, 20.0, face="outside"), backbone=back)
    ring = section_at(made["shoe"], 2500.0)
    assert ring is not None
    up = 16.0 * np.tan(DEADRISE)
    want = np.array([[-12.0, up - 20.0], [12.0, up - 20.0], [16.0, up], [-16.0, up]])
    assert np.linalg.norm(ring[:, None] - want, axis=-1).min(axis=1).max() < 0.05
    proved(prism, made)
