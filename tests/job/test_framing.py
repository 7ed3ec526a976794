"""Frames of a whole boat: made where they are asked for, and only there."""

from __future__ import annotations

from dataclasses import replace

import pytest
from tests.acceptance.shapes import raked_wedge
from tests.acceptance.yard import settings_of
from tests.exact_meshes import Make

from strakewright.hull import Hull
from strakewright.job.framing import frame_hull, framing_figures
from strakewright.loft.hulls import loft_hull
from strakewright.settings import FrameSettings, PlankingSettings, TransomSettings
from strakewright.triangles import TriangleMesh

SIDE = PlankingSettings(panel="side", pattern="strakes", thickness=19.0, courses=4, start="sheer")
FRAMES = (("F1", 1000.0), ("F2", 2200.0))


@pytest.fixture(scope="module")
def hull() -> Hull:
    return loft_hull(TriangleMesh(*raked_wedge(29.0, 0.0, Make(triangles=5000))), settings_of((SIDE,)).hull, "x")


def test_nothing_is_made_that_is_not_asked_for(hull: Hull) -> None:
    framed = frame_hull(settings_of((SIDE,)), hull, FRAMES)
    assert framed.framing.parts == ()
    assert framed.framing.frames == ()
    assert framed.findings == ()


def test_frames_asked_for_become_parts_patterns_and_bodies(hull: Hull) -> None:
    boat = replace(settings_of((SIDE,)), frames=FrameSettings(spacing=1000.0, moulded=60.0, species="white oak"))
    framing = frame_hull(boat, hull, FRAMES).framing
    ids = {p.id for p in framing.parts}
    assert {"F1-side-P", "F1-side-S", "F2-side-P"} <= ids
    assert {b.name for b in framing.bodies} == ids
    assert {p.species for p in framing.parts} == {"white oak"}
    assert [d.id for d in framing.patterns] == ["F1-pattern", "F2-pattern"]
    figures = framing_figures(framing, boat)
    assert figures["lines_are_to"] == "outside"
    # planking of 19 mm at 29 degrees is 21.72 mm in the frame's plane (19 / cos 29)
    assert figures["frames"][0]["deduction"]["side"] == pytest.approx([21.724, 21.724], abs=0.01)
    assert figures["frames"][0]["big_face"] == "aft"
    assert figures["strongback"]["sheer_check"] < 1e-9


def test_a_hull_without_a_transom_is_told(hull: Hull) -> None:
    """A double-ender asked for a transom."""
    pointed = replace(hull, panels=tuple(replace(p, aft=p.aft and replace(p.aft, name="stem")) for p in hull.panels))
    boat = replace(settings_of((SIDE,)), transom=TransomSettings())
    framed = frame_hull(boat, pointed, FRAMES)
    assert [f.code for f in framed.findings] == ["no-transom"]
    assert framed.framing.transoms == ()


def test_a_transom_asked_for_alone(hull: Hull) -> None:
    boat = replace(settings_of((SIDE,)), transom=TransomSettings(sided=30.0))
    framing = frame_hull(boat, hull, FRAMES).framing
    assert [t.name for t in framing.transoms] == ["transom"]
    assert framing.set_up is None
    assert {p.thickness for p in framing.parts} == {30.0}
