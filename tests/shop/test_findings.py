"""Findings of planking and of the pile, each raised by the trouble it names (box boat: planes, sizes on paper)."""

from __future__ import annotations

from dataclasses import replace

import pytest
from tests.acceptance.shapes import arc_section
from tests.acceptance.yard import rectangle, settings_of
from tests.exact_hulls import Prism
from tests.exact_meshes import Make, Mesh

from strakewright.errors import Finding, InputError
from strakewright.job.building import Build, BuildOptions, build
from strakewright.job.inputs import Inputs
from strakewright.lumber import Board
from strakewright.settings import FrameSettings, PlankingSettings
from strakewright.triangles import TriangleMesh

SMALL = Make(triangles=2000)
BOX = Prism(length=1500.0, half_breadth=300.0, deadrise_deg=0.0, side_height=300.0, flare_deg=0.0)
SIDES = PlankingSettings(
    panel="side", pattern="strakes", thickness=19.0, courses=2, start="sheer", joint="none", species="white ash"
)


def built(mesh: Mesh, planking: PlankingSettings, boards: list[Board]) -> Build:
    inputs = Inputs(settings_of((planking,), spacing=500.0), TriangleMesh(*mesh), tuple(boards), ())
    return build(inputs, BuildOptions(0.0), lambda *_: None)


def told(done: Build, code: str) -> list[Finding]:
    return [f for f in done.findings if f.code == code]


def codes(done: Build) -> set[str]:
    return {f.code for f in done.findings}


def rack(count: int, length: float = 1800.0, width: float = 200.0, thickness: float = 20.0) -> list[Board]:
    return [rectangle(f"R{i}", length, width, thickness) for i in range(count)]


def test_enough_wood_gives_status_0_and_a_word_about_the_last_course() -> None:
    """Four strakes 150 high and 1500 long (plus tails 60 and 25): one to each board of 200."""
    done = built(BOX.mesh(SMALL), SIDES, rack(4))
    assert done.status == 0
    assert codes(done) <= {"measure-first", "plank-wide-for-wood"}
    first = told(done, "measure-first")[0]
    assert first.level == "note"
    assert first.subject == "S02P, S02S"
    assert len(done.plan.placements) == 4


def test_a_pile_one_board_short() -> None:
    done = built(BOX.mesh(SMALL), SIDES, rack(3))
    assert done.status == 1
    (left,), (missing,) = told(done, "part-left-over"), told(done, "boards-missing")
    assert left.level == missing.level == "blocking"
    assert left.subject in {p.id for p in done.parts}
    assert missing.subject == "1 board"
    assert left.subject in missing.what
    # 20 mm dressed is 4/4 (13/16 in); 1800 mm and 50 mm off each end is 6.2 ft, 200 mm 7.9 in: 7 x 8 / 12 board feet
    assert missing.fix.endswith("at the mill 4/4, 7 ft x 8 in or more, 5 board feet in all")


def test_a_pile_two_boards_short_asks_for_two() -> None:
    done = built(BOX.mesh(SMALL), SIDES, rack(2))
    assert len(told(done, "part-left-over")) == 2
    assert told(done, "boards-missing")[0].subject == "2 boards"


@pytest.mark.parametrize(
    "boards",
    [rack(4, width=140.0), rack(4, length=1500.0), rack(4, thickness=19.0)],
    ids=["narrow", "short", "thin"],
)
def test_boards_that_take_no_part(boards: list[Board]) -> None:
    """Needs 1585 x 150 and trim 17 or 10, 20 mm dressed (19 + 1 for fairing)."""
    done = built(BOX.mesh(SMALL), SIDES, boards)
    assert done.status == 1
    found = told(done, "part-fits-no-board")
    assert {f.subject for f in found} == {p.id for p in done.parts}
    assert all(f.level == "blocking" for f in found)
    assert "20 mm" in found[0].fix


def test_wood_of_another_species_takes_no_part() -> None:
    done = built(BOX.mesh(SMALL), SIDES, [replace(b, species="larch") for b in rack(4)])
    assert len(told(done, "part-fits-no-board")) == 4


def test_a_plank_that_will_not_bend_is_refused() -> None:
    """One course round 60 degrees of R 2 m: 2094 mm wide, hollow w^2 / 8R = 274 mm (closed form)."""
    wide = replace(SIDES, courses=1)
    done = built(arc_section(SMALL), wide, rack(2, length=5000.0, width=2300.0))
    (refused,) = told(done, "plank-refused")
    assert done.status == 1
    assert refused.level == "blocking"
    assert refused.subject == "S01P and S01S"
    assert "274" in refused.what
    assert refused.fix


def test_a_course_no_split_can_make() -> None:
    """Strakes 150 high from boards 140 wide: joining does not help."""
    done = built(BOX.mesh(SMALL), replace(SIDES, joint="scarf"), rack(4, width=140.0))
    assert {f.subject for f in told(done, "plank-no-lawful-split")} >= {"S01P"}
    assert done.status == 1


def test_joints_that_cannot_be_staggered() -> None:
    """Frames at 500 and 1000: the only whole bay is the middle one, boards of 1 m join there in every course."""
    done = built(BOX.mesh(SMALL), replace(SIDES, joint="scarf"), rack(8, length=1000.0, thickness=20.0))
    assert told(done, "joint-stagger-eased")
    assert all(f.level == "warning" for f in told(done, "joint-stagger-eased"))


def test_a_frame_off_the_hull_and_a_panel_it_has_not() -> None:
    boat = replace(settings_of((SIDES,)), frames=FrameSettings(at=(1600.0,)))
    inputs = Inputs(boat, TriangleMesh(*BOX.mesh(SMALL)), tuple(rack(4)), ())
    with pytest.raises(InputError, match="off the hull"):
        build(inputs, BuildOptions(0.0), lambda *_: None)
    with pytest.raises(InputError, match="bilge7"):
        built(BOX.mesh(SMALL), replace(SIDES, panel="bilge7"), rack(4))
