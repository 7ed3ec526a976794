"""Every finding about a member is raised by a case worked by hand, and stays away just beside it."""

from __future__ import annotations

from dataclasses import replace

import pytest
from tests.acceptance.yard import settings_of
from tests.exact_hulls import Prism, RunningChine, TwistedBottom, cylinder_wall
from tests.shop.members_yard import BOTTOM, SIDE, members, skins_of

from strakewright.outfit import BentPlank, WoodSettings
from strakewright.settings import ChineSettings, MemberSettings, PlankingSettings
from strakewright.shop.swept import Skins

WALL = PlankingSettings(panel="side", pattern="strakes", thickness=19.0, courses=4, start="sheer")


@pytest.fixture(scope="module")
def cylinder() -> Skins:
    """Vertical wall of radius 6 m; a clamp inside the planking has its concave face at 6000 - 19 - moulded."""
    return skins_of(cylinder_wall(), WALL)


@pytest.mark.parametrize(("ply", "told"), [(58.0, False), (62.0, True)])
def test_tight_plies(cylinder: Skins, ply: float, told: bool) -> None:
    """Ash, t/R 1/100: the middle of one ply t thick lies at R = 5981 - t/2; 58 / 5952 is 1/103, 62 / 5950 is 1/96."""
    made, found = members(cylinder, MemberSettings("clamp", "sheer", 40.0, ply, plies=1))
    assert made["clamp"].bend.ratio == pytest.approx(ply / (5981.0 - ply / 2), rel=2e-3)
    assert any(f.code == "member-tight" for f in found) == told
    assert all(f.level != "blocking" for f in found)


@pytest.mark.parametrize(("ply", "told"), [(58.0, False), (70.0, True)])
def test_strained_plies(cylinder: Skins, ply: float, told: bool) -> None:
    """Ash breaks at 103 / 12000 = 0.858 %; 0.6 of it is 0.515 %: t/2R passes that from about 61 mm."""
    _, found = members(cylinder, MemberSettings("clamp", "sheer", 40.0, ply, plies=1))
    assert any(f.code == "member-strain" for f in found) == told


def test_former_bent_member_asks_for_a_test_piece(cylinder: Skins) -> None:
    """Question 15: springback with its formula, and a test piece suggested.  5 plies: 1/25 = 4 %."""
    made, found = members(cylinder, MemberSettings("clamp", "sheer", 40.0, 30.0, plies=5, glued="on former"))
    piece = next(f for f in found if f.code == "test-piece")
    assert "1/n2 = 4.0%" in piece.what
    assert "test piece" in piece.fix
    former = made["clamp"].former
    assert former is not None
    kinds = [line.kind for line in former.lines]
    assert kinds.count("clamp hole") == len(made["clamp"].clamping.positions)  # type: ignore[union-attr]
    _, found = members(cylinder, MemberSettings("clamp", "sheer", 40.0, 30.0, plies=5))
    assert not [f for f in found if f.code == "test-piece"]


def test_a_log_that_ends_early_and_one_that_is_too_wide() -> None:
    hull = RunningChine(least=0.5)
    skins = skins_of(hull.mesh(), BOTTOM, SIDE)
    _, found = members(skins, chine=ChineSettings(log=32.0, log_land=40.0))
    assert [f.code for f in found if f.code == "log-ends"]  # the fold is below 2 degrees at three quarters
    _, found = members(skins_of(Prism().mesh(), BOTTOM, SIDE), chine=ChineSettings(log=32.0, log_turn="side"))
    assert not [f for f in found if f.code in ("log-ends", "log-wide")]


@pytest.mark.parametrize(("want", "lies"), [("to side", "to side"), ("to bottom", "to bottom"), (None, "to side")])
def test_plies_lie_as_asked_or_with_the_smaller_edge_strain(cylinder: Skins, want: str | None, lies: str) -> None:
    """Round a vertical cylinder plies flat on the side are not edge-bent; laid level they are, 24 / 2 / 5969."""
    ask = MemberSettings("clamp", "sheer", 40.0, 24.0, plies=3, plies_lie=want)  # type: ignore[arg-type]
    made, _ = members(cylinder, ask)
    clamp = made["clamp"]
    assert clamp.plies_lie == lies
    strains = {clamp.plies_lie: clamp.bend.edge_strain}
    strains["to bottom" if lies == "to side" else "to side"] = clamp.other_way.edge_strain
    assert strains["to side"] == pytest.approx(0.0, abs=1e-6)
    assert strains["to bottom"] == pytest.approx(24.0 / 2 / 5969.0, rel=1e-3)


def test_twist_is_reported() -> None:
    """Bottom z = y (0.2 + 0.00012 x): along y = 400 the section turns from atan 0.2 to atan 0.8 in 5 m."""
    skins = skins_of(TwistedBottom().mesh(), BOTTOM, SIDE)
    made, _ = members(skins, MemberSettings("batten", "bottom@0.5", 30.0, 20.0))
    # d/dx atan(0.2 + c x) = c / (1 + slope2): greatest aft, 0.00012 / 1.04
    assert made["batten"].bend.twist == pytest.approx(0.00012 / 1.04, rel=0.1)


def test_plies_follow_the_thickest_board() -> None:
    """25 mm clamps from boards that finish at 11: three plies of 8.3, though one would bend."""
    from tests.acceptance.yard import settings_of

    from strakewright.shop.membering import Around, members_of

    skins = skins_of(Prism().mesh(), BOTTOM, SIDE)
    around = Around(skins, settings_of((BOTTOM, SIDE)), (), lambda _w, t: 3000.0 if t <= 11.0 else None)
    made, _ = members_of(around, (MemberSettings("clamp", "sheer", 45.0, 25.0),))
    assert [p.thickness for p in made[0].plies] == pytest.approx([25 / 3] * 3)


def test_own_strength_and_bent_planks_move_the_limits_of_members(cylinder: Skins) -> None:
    """[species] of the boat file: strength 60 over stiffness 12000 MPa breaks at 0.5 %, so t/2R = 0.49 % is 98 % of
    it; E t/2R with E 15000 is 1.25 times the table's 12000; a ply of 62 mm that stood R 5.9 m moves 1/100."""
    ask = MemberSettings("clamp", "sheer", 40.0, 58.0, plies=1)

    def told(own: WoodSettings) -> tuple[float, set[str]]:
        boat = replace(settings_of((BOTTOM, SIDE)), woods=(own,))
        made, found = members(cylinder, ask, boat=boat)
        return made["clamp"].bend.stress or 0.0, {f.code for f in found}

    plain, codes = told(WoodSettings("white ash"))
    assert "member-strain" not in codes
    assert "member-strain" in told(WoodSettings("white ash", strength=60.0, stiffness=12000.0))[1]
    assert told(WoodSettings("white ash", stiffness=15000.0))[0] == pytest.approx(1.25 * plain)
    assert "member-tight" in told(WoodSettings("white ash", firm_radius=150.0))[1]
    thick = replace(ask, moulded=62.0)
    assert "member-tight" in {f.code for f in members(cylinder, thick)[1]}
    stood = WoodSettings("white ash", bent_ok=(BentPlank(62.0, 5900.0),))
    boat = replace(settings_of((BOTTOM, SIDE)), woods=(stood,))
    assert "member-tight" not in {f.code for f in members(cylinder, thick, boat=boat)[1]}
