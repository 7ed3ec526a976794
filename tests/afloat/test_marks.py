"""Marks to paint and room for foam, against plane geometry."""

from __future__ import annotations

import numpy as np
import pytest

from strakewright.afloat.lying import at_rest
from strakewright.afloat.marks import DEEP, deadrise_aft, level_pose, pose_of, side_rooms, water_marks
from strakewright.afloat.shell import shell_of
from tests.acceptance.shapes import raked_wedge
from tests.afloat.forms import box
from tests.exact_hulls import Prism
from tests.loft.hulls import lofted


def test_marks_on_a_raked_stem_and_an_upright_transom() -> None:
    """Sides 600 high, stem leaning forward 40 degrees: 400 mm of height over the water is 400 / cos 40 of stem."""
    shell = shell_of(lofted(raked_wedge(29.0, 40.0)))
    marks = {m.name: m for m in water_marks(shell, level_pose(200.0))}
    stem = marks["stem"]
    assert stem.z == pytest.approx(200.0, abs=0.01)
    assert stem.below_sheer == pytest.approx(400.0 / np.cos(np.radians(40.0)), abs=0.1)
    assert stem.x == pytest.approx(4000.0 + 200.0 * np.tan(np.radians(40.0)), abs=0.1)
    flare = np.tan(np.radians(40.0)) * np.tan(np.radians(29.0))  # the transom widens by this a mm of height
    assert marks["transom, port edge"].below_sheer == pytest.approx(400.0 * np.hypot(1.0, flare), abs=0.1)
    assert marks["transom, starboard edge"].y == pytest.approx(-marks["transom, port edge"].y)


def test_marks_of_a_trimmed_box_lie_in_one_plane() -> None:
    """Draught aft and forward differ by length x tan of the trim."""
    barge = box(4000.0, 1600.0, 900.0)
    lies = at_rest(barge, 1600.0, np.array([1900.0, 0.0, 300.0]))
    marks = {m.name: m for m in water_marks(barge, pose_of(lies))}
    fall = marks["transom, port edge"].z - marks["bow transom, port edge"].z
    assert fall == pytest.approx(4000.0 * np.tan(lies.trim), abs=0.01)
    assert marks["transom, port edge"].below_sheer == pytest.approx(900.0 - marks["transom, port edge"].z, abs=0.01)


def test_an_end_clear_of_the_water_has_no_mark() -> None:
    assert water_marks(box(4000.0, 1600.0, 900.0), level_pose(-10.0)) == ()


def test_deadrise_and_room_of_a_prism() -> None:
    """Deadrise 20 degrees; room between frames is side's girth x bay x 150 mm, both sides."""
    boat = lofted(Prism(length=3000.0).mesh())
    assert deadrise_aft(boat) == pytest.approx(20.0, abs=0.01)
    rooms = side_rooms(boat, (("F1", 1000.0), ("F2", 2000.0)))
    (_, _), (b, rise), (out, top) = Prism(length=3000.0).section()
    girth = float(np.hypot(out - b, top - rise))
    assert [(r.aft, r.forward) for r in rooms] == [(0.0, 1000.0), (1000.0, 2000.0), (2000.0, boat.length)]
    assert sum(r.litres for r in rooms) == pytest.approx(2e-6 * DEEP * girth * 3000.0, rel=1e-4)
    assert rooms[1].litres == pytest.approx(2e-6 * DEEP * girth * 1000.0, rel=0.03)
    framed = side_rooms(boat, (("F1", 1000.0), ("F2", 2000.0)), sided=40.0)  # half a frame in the end bays
    shares = [a.litres / b.litres for a, b in zip(framed, rooms, strict=True)]
    assert shares == pytest.approx([0.98, 0.96, 0.98], abs=1e-9)


def test_foam_meets_in_the_middle_where_she_is_narrow() -> None:
    """Upright sides 600 mm high that close in at 29 degrees: where the half breadth y is under 150 mm the foam of both
    sides meets, and each side's is its area 600 dx / cos 29 times y (prism, closed form)."""
    boat = lofted(raked_wedge(29.0, 0.0))
    slope, narrow = np.tan(np.radians(29.0)), 150.0 / np.tan(np.radians(29.0))
    rooms = side_rooms(boat, (("F1", boat.length - narrow),))
    exact = 2e-6 * 600.0 / np.cos(np.radians(29.0)) * slope * narrow**2 / 2
    assert rooms[1].litres == pytest.approx(exact, rel=0.1)  # cells as long as a tenth of the bay
    assert rooms[1].litres < 2e-6 * DEEP * 600.0 * narrow
