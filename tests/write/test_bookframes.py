"""What the book says of frames, read from its sections; figures from the hull's closed form.

Source: the wedge hull y = (4000 - x) tan 29, 600 high, 19 mm planking (trigonometry); rounding to half a millimetre is
the book's own rule.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from strakewright.frames import Framing
from strakewright.loft.hulls import loft_hull
from strakewright.settings import PlankingSettings
from strakewright.shop.frames import saw_frame
from strakewright.shop.inside import inside_of
from strakewright.shop.rawpieces import FrameSpec
from strakewright.shop.setup import set_up
from strakewright.shop.spalls import spall_of
from strakewright.triangles import TriangleMesh
from strakewright.write.book import Facts, Section, Table, Words
from strakewright.write.bookframes import frame_pieces, set_up_sheet, transom_pages
from strakewright.write.framerecords import frame_labels
from tests.acceptance.shapes import raked_wedge
from tests.acceptance.yard import settings_of
from tests.exact_meshes import Make
from tests.write.small_boat import FACTS

SIDE = PlankingSettings(panel="side", pattern="strakes", thickness=19.0, courses=4, start="sheer")
STATIONS = (1000.0, 2200.0)


@pytest.fixture(scope="module")
def facts() -> Facts:
    hull = loft_hull(TriangleMesh(*raked_wedge(29.0, 0.0, Make(triangles=5000))), settings_of((SIDE,)).hull, "x")
    inside = inside_of(hull, (SIDE,))
    made = [saw_frame(f"F{i}", x, FrameSpec(), inside, ())[0] for i, x in enumerate(STATIONS, 1)]
    sheet, frames, _ = set_up([f for f in made if f is not None], [], None, 4000.0)
    spalls = tuple(s for f in frames if (s := spall_of(f, 90.0, None)) is not None)
    return replace(FACTS, framing=Framing(frames, (), sheet, spalls=spalls))


def tables(section: Section | None) -> list[Table]:
    assert section is not None
    return [b for b in section.blocks if isinstance(b, Table)]


def words(section: Section | None) -> str:
    assert section is not None
    return " ".join(b.text for b in section.blocks if isinstance(b, Words))


def test_set_up_sheet(facts: Facts) -> None:
    section = set_up_sheet(facts)
    assert "PORT is on your RIGHT" in words(section)
    heights, spalls, diagonals = tables(section)
    assert [(row[0], row[-1]) for row in spalls.rows] == [("F1", "rough stuff"), ("F2", "rough stuff")]
    assert [row[0] for row in heights.rows] == ["F1", "F2"]
    assert heights.rows[0][1].split("\n")[0] == "1000"
    assert heights.rows[0][2] == "AFT"
    sheer = heights.rows[0][heights.head.index("sheer up")]
    assert sheer.split("\n")[0] == "100"
    y = 3000.0 * np.tan(np.radians(29.0)) - 19.0 / np.cos(np.radians(29.0))
    told = float(diagonals.rows[0][4].split("\n")[0])
    assert told == pytest.approx(np.sqrt(1000.0**2 + y**2 + 100.0**2), abs=0.26)


def test_frame_table_prints_bevels_and_the_big_face(facts: Facts) -> None:
    section = frame_pieces(facts)
    rows = {row[0]: row for row in tables(section)[0].rows}
    assert rows["F1-side P+S"][1] == "AFT"
    assert rows["F1-side P+S"][4].split() == ["+29.0"] * len(rows["F1-side P+S"][4].split())
    assert "LAPPED" in words(section)


def test_labels_say_which_face_lies_up(facts: Facts) -> None:
    label = frame_labels(facts.framing)["F1-side-S"]
    assert label.side == "STBD"
    assert "AFT face up" in label.words


def test_a_boat_without_frames_has_no_such_pages() -> None:
    assert set_up_sheet(FACTS) is None
    assert frame_pieces(FACTS) is None
    assert transom_pages(FACTS) is None
