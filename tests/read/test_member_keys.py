"""[[member]], [chine] and [backbone]: what they give and how wrong values are told.  1 in = 25.4 mm."""

from __future__ import annotations

from pathlib import Path

import pytest
from tests.read.test_boatfile import SOUND, faults, read

from strakewright.settings import ChineSettings, MemberSettings

CLAMP = '[[member]]\nname = "sheer clamp"\nalong = "sheer"\nsided = 2\nmoulded = "20 mm"\n'


def test_a_member_is_read_in_mm(tmp_path: Path) -> None:
    more = 'plies = 4\nplies_lie = "to side"\nspringback_factor = 1.2\nglued = "on former"\naft = 10\nforward = 90\n'
    boat = read(tmp_path, SOUND + CLAMP + more)
    assert boat.members == (
        MemberSettings(
            name="sheer clamp",
            along="sheer",
            sided=50.8,
            moulded=20.0,
            where=f"boat.toml:{SOUND.count(chr(10)) + 1}",
            aft=254.0,
            forward=2286.0,
            plies=4,
            plies_lie="to side",
            glued="on former",
            springback_factor=1.2,
            species="Douglas-fir",
        ),
    )


def test_chine_backbone_and_glue(tmp_path: Path) -> None:
    text = SOUND.replace(
        'stem_end = "lap"\n', "keelson_sided = 4\nkeelson_plies = 3\nhalf_siding = 1.25\nmin_bearing = 1\n"
    )
    boat = read(
        tmp_path,
        text + '[chine]\nlog = 1.25\nlog_turn = "side"\nlog_plies = 2\n[glue]\nclamps = 40\nclamp_spacing = 6\n',
    )
    assert boat.chine == ChineSettings(log=31.75, log_land=30.0, log_turn="side", log_plies=2)
    back = boat.backbone
    assert back.keelson_plies == 3
    assert (back.keelson_sided, back.half_siding, back.min_bearing) == pytest.approx((101.6, 31.75, 25.4))
    assert (boat.outfit.glue.clamps, boat.outfit.glue.clamp_spacing) == (40, pytest.approx(152.4))


@pytest.mark.parametrize(
    "along", ["keel", "stem", "keel+stem", "chine", "chine2", "bottom@0.33", "side/3", "bilge1@.5"]
)
def test_lines_a_member_may_follow(tmp_path: Path, along: str) -> None:
    assert read(tmp_path, SOUND + CLAMP.replace('"sheer"', f'"{along}"')).members[0].along == along


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ('"sheer"', '"gunwale"', "'gunwale' is no line of a hull"),
        ('"sheer"', '"bottom@1.5"', "is no line of a hull"),
        ("sided = 2\n", "", "sided: is missing"),
        ("sided = 2", "sided = 0.1", "2.54 mm, outside 5 to 1000"),
        ("sided = 2", "sided = 2\nplies = 0", "not a whole number from 1 to 60"),
        ("sided = 2", "sided = 2\nply = 6\nplies = 3", "both plies and ply"),
        ("sided = 2", 'sided = 2\nplies_lie = "flat"', '"to side" or "to bottom"'),
        ("sided = 2", 'sided = 2\nglued = "hot"', '"in place" or "on former"'),
        ("sided = 2", 'sided = 2\nplies = 1\nglued = "on former"', "returns to straight"),
        ("sided = 2", "sided = 2\nspringback_factor = 9", "is not a number from 0 to 3"),
        ("sided = 2", 'sided = 2\nshape = "wedge"', '"breasthook" or "knee"'),
        ('"sheer"', '"sheer"\nshape = "skeg"', "no place of a skeg"),
        ("sided = 2", "sided = 2\nwidth = 3", "is not a key of [[member]]"),
        ('"sheer clamp"', '"klamp of the sheer, very long"', "no name to chalk on wood"),
        ('"20 mm"\n', f'"20 mm"\n{CLAMP}', "is there twice"),
    ],
)
def test_wrong_members_are_told(tmp_path: Path, old: str, new: str, told: str) -> None:
    text = CLAMP.replace(old, new, 1)
    assert any(told in line for line in faults(tmp_path, SOUND + text)), faults(tmp_path, SOUND + text)


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ('[chine]\nlog_turn = "level"\n', '"bisector" or "side"'),
        ("[chine]\nlog = 20\n", "508 mm, outside 10 to 300"),
        ("[chine]\nlogs = 2\n", 'Did you mean "log"'),
        ("[glue]\nclamps = 1\n", "whole number from 2 to 1000"),
        ("[member]\nname = 'x'\n", "[[member]]"),
    ],
)
def test_wrong_logs_are_told(tmp_path: Path, text: str, told: str) -> None:
    assert any(told in line for line in faults(tmp_path, SOUND + text)), faults(tmp_path, SOUND + text)
