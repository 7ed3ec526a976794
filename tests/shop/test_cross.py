"""Cross planking: a flat bottom takes it whole from chine to chine, a V bottom in two halves (sizes on paper)."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import shapely
from tests.acceptance.yard import Planked, margins, planked, settings_of
from tests.exact_hulls import Prism
from tests.exact_meshes import Make

from strakewright.errors import InputError
from strakewright.parts import Plank
from strakewright.proof.closure import closure
from strakewright.settings import PlankingSettings

SMALL = Make(triangles=3000)
FLAT = Prism(length=2000.0, half_breadth=600.0, deadrise_deg=0.0, side_height=300.0, flare_deg=0.0)
SIDE = PlankingSettings(panel="side", pattern="strakes", thickness=16.0, courses=2, start="sheer", joint="none")
CROSS = PlankingSettings(panel="bottom", pattern="cross", thickness=16.0, width=100.0, start_at="F2")


@pytest.fixture(scope="module")
def flat() -> Planked:
    return planked(FLAT.mesh(SMALL), settings_of((CROSS, SIDE), spacing=500.0))


def bottom(boat: Planked) -> list[Plank]:
    return [p for p in boat.planks if p.panel == "bottom"]


def test_every_plank_runs_from_chine_to_chine(flat: Planked) -> None:
    """2000 in planks of 100, one in the middle over the frame at 1000: 21 pieces of 2 x 600, no mate."""
    planks = bottom(flat)
    assert len(planks) == 21
    for n, p in enumerate(planks):
        wide = 50.0 if n in (0, 20) else 100.0
        assert (p.side, p.mate, p.id[-1], p.course) == ("both", None, "C", n + 1)
        assert np.ptp(p.net_outline, axis=0) == pytest.approx([1200.0, wide], abs=0.02)
        assert shapely.Polygon(p.net_outline).area == pytest.approx(1200.0 * wide, rel=1e-5)
        assert sorted(e.meets for e in p.ends) == ["chine", "chine"]


def test_the_seams_run_from_starboard_to_port(flat: Planked) -> None:
    for p in bottom(flat):
        for edge in (p.first, p.second):
            assert edge.seam[0, 1] == pytest.approx(-600.0, abs=0.02)
            assert edge.seam[-1, 1] == pytest.approx(600.0, abs=0.02)
            assert (np.diff(edge.seam[:, 1]) > 0).all()
            assert np.ptp(edge.seam[:, 0]) < 0.02


def test_work_goes_both_ways_from_the_frame(flat: Planked) -> None:
    """Frame F2 stands at 1000: the middle of a plank lies there."""
    assert min(abs(p.second.seam[0, 0] - 1050.0) for p in bottom(flat)) < 0.02


def test_seams_that_fall_on_the_border_leave_no_sliver() -> None:
    """Frames at 450 and 900, planks of 100: seams at 50, 150 ... 1950; 1950 x 100 of exactly twenty planks."""
    long = replace(FLAT, length=1900.0)
    boat = planked(long.mesh(SMALL), settings_of((replace(CROSS, start_at=None), SIDE), spacing=450.0))
    widths = [np.ptp(p.net_outline[:, 1]) for p in bottom(boat)]
    assert min(widths) > 25.0 - 0.01
    assert sum(widths) == pytest.approx(1900.0, abs=0.05)


def test_faces_ends_and_marks_are_alike_on_both_sides(flat: Planked) -> None:
    for p in bottom(flat):
        for ring in (p.net_outline, p.face_inside, p.face_outside, p.outline):
            middle = (ring[:, 0].min() + ring[:, 0].max()) / 2
            over = shapely.Polygon(ring * [-1.0, 1.0] + [2 * middle, 0.0])
            assert over.symmetric_difference(shapely.Polygon(ring)).area < 1.0
        assert all(np.ptp(m.points[:, 0]) > 1199.9 for m in p.marks if m.kind == "frame")
        assert len(p.ends) == 2


def test_they_close_and_the_checks_can_fail(flat: Planked) -> None:
    truths = [layer.truth for layer in flat.layers]
    assert all(c.holds for c in closure(flat.planks, truths))
    first = bottom(flat)[0]
    crooked = first.outline.copy()
    crooked[3] += [0.0, 3.0]
    broken = [replace(p, outline=crooked) if p is first else p for p in flat.planks]
    assert [c.name for c in closure(broken, truths) if not c.holds] == ["mirror pairs"]
    moved = replace(first, second=replace(first.second, seam=first.second.seam + np.array([0.0, 0.0, 1.0])))
    broken = [moved if p is first else p for p in flat.planks]
    assert "seam points shared by neighbours" in [c.name for c in closure(broken, truths) if not c.holds]


def test_a_v_bottom_takes_them_in_two() -> None:
    """Deadrise 10 degrees: half breadth / cos 10, mirrored pairs, and the finding says why."""
    boat = planked(replace(FLAT, deadrise_deg=10.0).mesh(SMALL), settings_of((CROSS, SIDE), spacing=500.0))
    planks = bottom(boat)
    assert {p.side for p in planks} == {"port", "starboard"}
    middle = planks[10]
    assert np.ptp(middle.net_outline[:, 0]) == pytest.approx(
        600.0 / np.cos(np.radians(10.0)) - 8 * np.tan(np.radians(10)), abs=0.1
    )
    (told,) = [f for f in boat.findings if f.code == "cross-joined-at-keel"]
    assert "10.0 degrees" in told.what
    assert any(m.meets == "keel" for m in margins(middle))


def test_a_frame_the_boat_has_not() -> None:
    with pytest.raises(InputError, match="no frame 'F9'"):
        planked(FLAT.mesh(SMALL), settings_of((replace(CROSS, start_at="F9"), SIDE), spacing=500.0))
