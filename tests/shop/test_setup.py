"""The set-up sheet on a wedge hull, every figure worked out by hand from the hull itself.

Source: trigonometry.  Sides y = (4000 - x) tan 29, 600 high, 19 mm planking: the sheer mark of a frame at x stands at
y = (4000 - x) tan 29 - 19 / cos 29, z = 600.  Practice of inverted set-up: common practice, no source.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from tests.acceptance.shapes import raked_wedge
from tests.acceptance.yard import settings_of
from tests.exact_meshes import Make

from strakewright.frames import Framing, SawnFrame, SetUp
from strakewright.loft.hulls import loft_hull
from strakewright.settings import PlankingSettings
from strakewright.shop.framebodies import piece_body
from strakewright.shop.frames import saw_frame
from strakewright.shop.inside import inside_of
from strakewright.shop.rawpieces import FrameSpec
from strakewright.shop.setup import set_up
from strakewright.shop.spalls import spall_of, spall_part
from strakewright.triangles import TriangleMesh
from strakewright.write.framerecords import frames_document

SIDE = PlankingSettings(panel="side", pattern="strakes", thickness=19.0, courses=4, start="sheer")
STATIONS = (1000.0, 2200.0, 3100.0)
A = np.radians(29.0)


@pytest.fixture(scope="module")
def frames() -> list[SawnFrame]:
    hull = loft_hull(TriangleMesh(*raked_wedge(29.0, 0.0, Make(triangles=5000))), settings_of((SIDE,)).hull, "x")
    inside = inside_of(hull, (SIDE,))
    made = [saw_frame(f"F{i}", x, FrameSpec(), inside, ())[0] for i, x in enumerate(STATIONS, 1)]
    return [f for f in made if f is not None]


@pytest.fixture(scope="module")
def sheet(frames: list[SawnFrame]) -> SetUp:
    return set_up(frames, [], None, 4000.0)[0]


def test_heights_are_upside_down_from_one_reference(sheet: SetUp) -> None:
    """Sheer at 600, 100 mm clear: strongback at z 700; every sheer 100 up, every leg alike."""
    assert sheet.h_ref == 700.0
    for row in sheet.rows:
        assert row.heights["sheer"] == pytest.approx(100.0, abs=0.05)
        assert row.leg == pytest.approx(700.0 - sheet.spall_z)
    assert sheet.spall_z == pytest.approx(540.0, abs=1.0)


def test_stations_are_taped_from_one_end(sheet: SetUp) -> None:
    assert [row.at["sheer"] for row in sheet.rows] == list(STATIONS)


def test_diagonals_by_pythagoras(sheet: SetUp) -> None:
    for row, x in zip(sheet.rows, STATIONS, strict=True):
        y = (4000.0 - x) * np.tan(A) - 19.0 / np.cos(A)
        assert row.half_breadths["sheer"] == pytest.approx(y, abs=0.05)
        a, b = row.diagonals["sheer"]
        assert a == pytest.approx(np.sqrt(x**2 + y**2 + 100.0**2), abs=0.1)
        assert b == pytest.approx(np.sqrt((4000.0 - x) ** 2 + y**2 + 100.0**2), abs=0.1)


def test_diagonals_from_the_solids_agree(frames: list[SawnFrame], sheet: SetUp) -> None:
    """By another way: the outermost point at the sheer of each side piece's solid, on its station plane."""
    for frame, row in zip(frames, sheet.rows, strict=True):
        piece = next(p for p in frame.pieces if p.kind == "side" and p.side == "port")
        corners = piece_body(piece).vertices
        on_line = corners[np.abs(corners[:, 0] - frame.station) < 1e-9]
        mark = on_line[np.argmax(on_line[:, 1] + on_line[:, 2])]
        for nail, told in zip(sheet.points, row.diagonals["sheer"], strict=True):
            assert np.linalg.norm(mark - [nail, 0.0, sheet.h_ref]) == pytest.approx(told, abs=0.1)


def test_spall_reaches_from_edge_to_edge(frames: list[SawnFrame], sheet: SetUp) -> None:
    _, braced, _ = set_up(frames, [], 300.0, 4000.0)
    for frame in braced:
        assert frame.spall is not None
        level, length = frame.spall
        assert level == 300.0
        assert length == pytest.approx(2 * ((4000 - frame.station) * np.tan(A) - 19 / np.cos(A)), abs=0.1)


def test_cross_spalls_are_pieces_with_their_marks(frames: list[SawnFrame]) -> None:
    """The sides are upright planes at 29 degrees to the centreline: both edges as long as the frame is broad,
    2 ((4000 - x) tan 29 - 19 / cos 29); the centreline in the middle."""
    _, braced, _ = set_up(frames, [], 300.0, 4000.0)
    for frame in braced:
        spall = spall_of(frame, 90.0, (18.0, "eastern white pine"))
        assert spall is not None
        broad = 2 * ((4000.0 - frame.station) * np.tan(A) - 19.0 / np.cos(A))
        assert spall.lengths == pytest.approx((broad, broad), abs=0.1)
        part = spall_part(spall)
        assert part is not None
        assert np.ptp(part.outline, axis=0) == pytest.approx([broad, 90.0], abs=0.1)
        assert (part.thickness, part.species) == (18.0, "eastern white pine")
        assert part.marks[0].points[:, 0] == pytest.approx([broad / 2] * 2, abs=0.05)
        rough = spall_of(frame, 90.0, None)
        assert rough is not None
        assert spall_part(rough) is None
    _, bare, _ = set_up(frames, [], 650.0, 4000.0)
    assert [spall_of(f, 90.0, None) for f in bare] == [None] * len(bare)


def test_the_ends_of_a_cross_spall_follow_the_flare(frames: list[SawnFrame]) -> None:
    """A side that flares 15 degrees: the lower edge is 2 x 90 tan 15 shorter than the upper."""
    z = np.linspace(0.0, 600.0, 61)
    flared = np.stack([400.0 + z * np.tan(np.radians(15.0)), z], axis=1)
    frame = replace(frames[0], lines={"side": flared}, spall=(500.0, 0.0))
    spall = spall_of(frame, 90.0, None)
    assert spall is not None
    upper, lower = spall.lengths
    assert upper == pytest.approx(2 * (400.0 + 500.0 * np.tan(np.radians(15.0))), abs=1e-6)
    assert upper - lower == pytest.approx(180.0 * np.tan(np.radians(15.0)), abs=1e-6)


def test_a_spall_out_of_reach_is_told(frames: list[SawnFrame]) -> None:
    _, braced, told = set_up(frames, [], 650.0, 4000.0)
    assert [f.code for f in told] == ["spall-misses"]
    assert all(f.spall is None for f in braced)


def test_the_file_says_where_port_is(frames: list[SawnFrame], sheet: SetUp) -> None:
    document = frames_document(Framing(tuple(frames), (), sheet))
    assert document["format"] == "strakewright/frames@1"
    assert "PORT is on your RIGHT" in document["set_up"]["looking"]
    assert document["frames"][0]["control_face"] == "aft"
    piece = document["frames"][0]["pieces"][0]
    assert piece["bevels"][0]["bevel_deg"] == pytest.approx(29.0, abs=0.02)
