"""How members are cut where they meet a transom, on box hulls whose ends are planes and cylinders.

Sources: plane geometry.  A plane that leans r from upright meets a level run at 90 - r; its line over an upright side
leans r, over a level bottom face it is square to the run.  A cylinder of radius R stands at asin(y / R) off square
y mm from the middle.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from tests.acceptance.yard import settings_of
from tests.shop.members_yard import members, skins_of
from tests.shop.test_transoms import BOTTOM, LENGTH, SIDE, box
from tests.write.small_boat import FACTS

from strakewright.geometry.sections import section
from strakewright.members import Member
from strakewright.settings import BackboneSettings, MemberSettings, PlankingSettings, TransomSettings
from strakewright.shop.runs import girth_line
from strakewright.write.book import Table
from strakewright.write.bookmembers import member_bevels
from strakewright.write.memberrecords import members_document

CLAMP = MemberSettings("clamp", "sheer", 40.0, 20.0)  # its middle 20 + 10 mm inside the side, y = 470
KEELSON = BackboneSettings(keelson_sided=80.0, keelson_moulded=30.0)


def boxed(rake: float, radius: float | None = None, transom: bool = True) -> dict[str, Member]:
    boat = settings_of((SIDE, BOTTOM))
    boat = replace(boat, transom=TransomSettings(sided=38.0) if transom else None)
    return members(skins_of(box(rake, radius), SIDE, BOTTOM), CLAMP, boat=boat, backbone=KEELSON)[0]


@pytest.fixture(scope="module")
def raked() -> dict[str, Member]:
    return boxed(12.0)


def test_ends_at_a_raked_transom(raked: dict[str, Member]) -> None:
    for name, face, side in (("keelson", 0.0, 12.0), ("clamp", 12.0, 0.0)):
        (cut,) = raked[name].cuts
        assert (cut.end, cut.on) == ("aft", "transom")
        assert np.degrees([cut.angle, cut.face, cut.side]) == pytest.approx([78.0, face, side], abs=0.02)


def test_ends_at_a_curved_transom() -> None:
    """Bent to R 1500 outside, 1462 inside: asin(470 / 1462) = 18.75 degrees for the clamp, longer at its inner face;
    the keelson is square."""
    made = boxed(0.0, 1500.0)
    off = np.degrees(np.arcsin(470.0 / 1462.0))
    (clamp,), (keelson,) = made["clamp"].cuts, made["keelson"].cuts
    assert np.degrees([clamp.angle, clamp.face, clamp.side]) == pytest.approx([90 - off, 0.0, off], abs=0.06)
    assert np.degrees([keelson.angle, keelson.face, keelson.side]) == pytest.approx([90.0, 0.0, 0.0], abs=0.06)


def test_no_transom_asked_no_cut() -> None:
    assert not any(m.cuts for m in boxed(12.0, transom=False).values())


def test_cuts_stand_in_the_file_and_in_the_book(raked: dict[str, Member]) -> None:
    (record,) = [m for m in members_document(raked.values(), ())["members"] if m["name"] == "clamp"]
    (cut,) = record["end_cuts"]
    assert (cut["end"], cut["on"]) == ("aft", "transom")
    assert [cut[k] for k in ("angle_deg", "face_deg", "side_deg")] == pytest.approx([78.0, 12.0, 0.0], abs=0.02)
    section = member_bevels(replace(FACTS, members=tuple(raked.values())))
    assert section is not None
    (table,) = [b for b in section.blocks if isinstance(b, Table) and "transom" in b.caption]
    assert ("keelson", "aft, transom", "78.0", "square", "12.0\ninner face longer") in table.rows
    assert ("clamp", "aft, transom", "78.0", "12.0\nupper edge longer", "square") in table.rows


def test_outside_of_layers_of_unlike_thickness() -> None:
    """9 mm against the frames and 12 over it are 21 mm, the described surface outside: the outer face lies on it."""
    layers = PlankingSettings("bottom", "strakes", 9.0, layers=2, courses=4, start="keel", stack=(9.0, 12.0))
    skins = skins_of(box(0.0), SIDE, layers)
    at = [p.name for p in skins.hull.panels].index("bottom")
    assert skins.thick[at] == 21.0
    chart = skins.hull.panels[at].lower.chart
    assert skins.outer[at].at(chart)[:, 2] == pytest.approx(0.0, abs=0.02)
    assert skins.inner[at].at(chart)[:, 2] == pytest.approx(21.0, abs=0.02)


def test_a_batten_runs_straight_past_a_station_on_a_point_of_the_border() -> None:
    """Flat bottom 500 wide: half its girth lies at y = 250 all along, also at x = 1500, where the border of a box
    3000 long has a point."""
    skins = skins_of(box(0.0), SIDE, BOTTOM)
    line = girth_line(skins.hull, "bottom@0.5", "", 80.0)
    assert line.points[:, 1] == pytest.approx(250.0, abs=0.01)
    panel = skins.hull.panels[[p.name for p in skins.hull.panels].index("bottom")]
    ring = np.concatenate([points[:-1] for _, points in panel.ring()])
    for x in panel.patch.at(ring)[::7, 0]:
        if 1.0 < x < LENGTH - 1.0:
            (across,) = section(panel.patch, ring, float(x))
            assert panel.patch.at(across)[[0, -1], 1] == pytest.approx([0.0, 500.0], abs=0.01)
