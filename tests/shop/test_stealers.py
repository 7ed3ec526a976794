"""Dropped strakes: a course that would end in a sliver stops in a nib, and its neighbour takes its place.

A cylinder (radius 6 m) whose lower edge rises as a parabola until 60 mm are left at the stem: laid flat it is a plane
region between straight upper edge and a known lower one, so widths, nibs and areas are known to the hundredth.  A zone
of a sphere shows that nothing hangs on the surface being developable.  The rule of nibs is common practice, no source.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from itertools import combinations

import numpy as np
import pytest
import shapely
from tests.acceptance.yard import Planked, planked, rectangle, rigid_fit, settings_of
from tests.exact_hulls import CYLINDER, Zone
from tests.exact_meshes import Make

from strakewright.arrays import Floats
from strakewright.job.strakes import stealers
from strakewright.parts import Margin, Plank
from strakewright.proof.closure import closure
from strakewright.proof.jointed import joint_checks
from strakewright.proof.nibs import nib_checks
from strakewright.settings import PlankingSettings
from strakewright.write.bookmaps import nibs_told
from strakewright.write.girths import crossings

SMALL = Make(triangles=1600)
STRAKES = PlankingSettings(
    panel="side", pattern="strakes", thickness=19.0, courses=4, start="sheer", lining="even", joint="none"
)
WALL = replace(CYLINDER, least=60.0)
SIDING = 32.0


@pytest.fixture(scope="module")
def wall() -> Planked:
    """Four courses, 15 mm each at the stem."""
    return planked(WALL.mesh(SMALL), settings_of((STRAKES,), surface="middle", spacing=300.0))


def port(boat: Planked) -> dict[int, Plank]:
    return {p.course: p for p in boat.planks if p.side == "port"}


def proved(planks: list[Plank], boat: Planked) -> dict[str, bool]:
    checks = [*closure(planks, [x.truth for x in boat.layers]), *nib_checks(planks, boat.frames, SIDING)]
    return {c.name: c.holds for c in checks}


def nib_of(plank: Plank) -> Margin:
    return next(e for e in plank.ends if e.meets == "seam")


def test_slivers_are_dropped_into_their_neighbours_and_all_still_closes(wall: Planked) -> None:
    told = [f for f in wall.findings if f.code == "stealer"]
    assert [f.subject for f in told] == ["S01P", "S03P"]
    assert not any(f.code == "end-too-narrow" for f in wall.findings)
    planks = port(wall)
    assert [len(planks[k].extra.get("nibs", ())) for k in (1, 2, 3, 4)] == [1, 0, 1, 0]
    assert {e.neighbour for e in planks[4].ends if e.meets == "seam"} == {"S02P", "S03P"}
    found = proved(wall.planks, wall)
    assert len(found) == 10
    assert all(found.values()), found


def test_planks_lie_where_the_exact_flat_says_and_cover_it_once(wall: Planked) -> None:
    """Cylinder laid flat: first axis rho x theta, second z.  Every plank's ring, fitted on the development of its own
    seams and ends, leaves no gap and no overlap, and no point is further than 0.05 mm from where it belongs."""
    placed = []
    for plank in port(wall).values():
        margins = (plank.first, plank.second, *plank.ends)
        flat, space = (np.concatenate([getattr(m, name) for m in margins]) for name in ("flat", "seam"))
        x, y = space[:, 0], space[:, 1] + WALL._stem_y()
        exact = np.column_stack([WALL.rho * np.arctan2(x, y), space[:, 2]])
        fitted = rigid_fit(flat, exact)
        assert np.abs(fitted - exact).max() < 0.05
        placed.append(shapely.Polygon(rigid_fit_ring(plank.net_outline, flat, fitted)))
    for one, other in combinations(placed, 2):
        assert one.intersection(other).area < 0.1 * 100.0
    whole = shapely.union_all([p.buffer(0.05) for p in placed])
    assert len(shapely.get_parts(whole)) == 1
    assert not whole.interiors


def rigid_fit_ring(ring: Floats, flat: Floats, fitted: Floats) -> Floats:
    """A ring moved as `flat` was moved to `fitted`."""
    a, b = np.column_stack([flat, np.ones(len(flat))]), fitted
    move, *_ = np.linalg.lstsq(a, b, rcond=None)
    return np.asarray(np.column_stack([ring, np.ones(len(ring))]) @ move)


def test_the_nib_is_as_wide_as_the_rule_says_and_stands_on_the_frames_wood(wall: Planked) -> None:
    """The even share of the height left at the nib's place, a quarter of it, on the cylinder's own z."""
    for k in (1, 3):
        plank, nib = port(wall)[k], nib_of(port(wall)[k])
        width = float(np.linalg.norm(nib.flat[-1] - nib.flat[0]))
        told = plank.extra["nibs"][0]  # type: ignore[index]
        assert width >= 150.0 / 3
        assert width == pytest.approx(float(np.linalg.norm(nib.seam[-1] - nib.seam[0])), abs=0.05)
        assert told["width"] == pytest.approx(width, abs=0.01)
        x = dict(wall.frames)[told["frame"]]
        assert nib.seam[:, 0].mean() == pytest.approx(x + 16.0, abs=0.5)
        assert width == pytest.approx(share_at(x + 16.0), abs=3.0)
        assert share_at(x + 300.0 + 16.0) < 150.0 / 3  # one frame further on it would be too narrow


def share_at(x: float) -> float:
    """A quarter of the height that the parabola leaves at x."""
    z = np.linspace(0.0, 540.0, 400)
    edge = WALL.at(np.sqrt(z / 540.0) * WALL.stem(z), z)
    return float(600.0 - np.interp(x, edge[:, 0], z)) / 4.0


def test_summary_and_joint_map_name_the_dropped_strakes(wall: Planked) -> None:
    """The same frame and width as measured on the flat nib."""
    rows = stealers([p for p in wall.planks if p.side == "port"])
    assert [(r["plank"], r["into"]) for r in rows] == [("S01P", "S02P"), ("S03P", "S04P")]
    for row, k in zip(rows, (1, 3), strict=True):
        flat = nib_of(port(wall)[k]).flat
        assert row["width"] == pytest.approx(float(np.linalg.norm(flat[-1] - flat[0])), abs=0.01)
    told = nibs_told([p for p in wall.planks if p.side == "port"])
    assert f"over {rows[0]['frame']}" in told
    assert "let into course 2" in told


def test_hanging_waits_for_both_planks_below(wall: Planked) -> None:
    """The course past a nib lies along the seam of the course beyond the dropped one."""
    assert set(port(wall)[4].extra["needs"]) == {"S02P", "S03P"}  # type: ignore[arg-type]
    assert set(port(wall)[2].extra["needs"]) == {"S01P"}  # type: ignore[arg-type]


def test_a_doubly_curved_side_closes_as_well() -> None:
    boat = planked(Zone(least=70.0).mesh(SMALL), settings_of((STRAKES,), surface="middle"))
    assert sum(f.code == "stealer" for f in boat.findings) == 2
    found = proved(boat.planks, boat)
    assert all(found.values()), found


def test_a_course_may_take_the_place_of_both_neighbours_and_be_joined() -> None:
    """Of three courses the middle one takes the place of both others; boards of 2.7 m make all of them be joined."""
    three = replace(STRAKES, courses=3, joint="scarf", min_end_width=25.0)
    boards = tuple(rectangle(f"B{i}", 2700.0, 260.0, 25.0) for i in range(4))
    boat = planked(WALL.mesh(SMALL), settings_of((three,), surface="middle", spacing=400.0), boards)
    told = [p for p in boat.planks if p.side == "port" and "nibs" in p.extra]
    assert [(p.course, nib_of(p).neighbour[:3]) for p in told] == [(1, "S02"), (3, "S02")]  # type: ignore[index]
    assert any(e.meets == "scarf" for p in boat.planks for e in p.ends)
    widths_are_as_measured([p for p in boat.planks if p.on_port])
    assert all(proved(boat.planks, boat).values())
    assert all(c.holds for c in joint_checks(boat.planks, boat.frames, [boat.layers[0].joint_rule]))


def widths_are_as_measured(planks: list[Plank]) -> None:
    """The widest place named of every plank is no narrower than where a frame crosses it, no wider than it lies: the
    course that takes a dropped one's place is as wide as both past the nib."""
    told = {p.id: float(p.extra["width_max"]) for p in planks}  # type: ignore[arg-type]
    for row in crossings(planks).values():
        assert all(c.square <= told[c.plank] + 0.1 for c in row)
    for p in planks:
        assert told[p.id] <= np.ptp(p.net_outline[:, 1]) + 0.1


def shorter(e: Margin) -> Margin:
    middle = e.flat.mean(axis=0)
    return replace(e, flat=middle + 0.5 * (e.flat - middle))


def further(e: Margin) -> Margin:
    return replace(e, seam=e.seam + np.array([60.0, 0.0, 0.0]))


def slanting(e: Margin) -> Margin:
    middle, a = e.flat.mean(axis=0), np.radians(25.0)
    turn = np.array([[np.cos(a), np.sin(a)], [-np.sin(a), np.cos(a)]])
    return replace(e, flat=middle + 1.1 * (e.flat - middle) @ turn)


@pytest.mark.parametrize(
    ("spoil", "named"),
    [
        (shorter, "nibs of dropped strakes fall short of 20 mm and a third of the width"),
        (further, "nibs of dropped strakes off their frame's line"),
        (slanting, "nibs of dropped strakes off square"),
        (further, "seam points shared by neighbours"),
    ],
)
def test_a_spoilt_nib_is_seen(wall: Planked, spoil: Callable[[Margin], Margin], named: str) -> None:
    plank = port(wall)[3]
    spoilt = replace(plank, ends=tuple(spoil(e) if e.meets == "seam" else e for e in plank.ends))
    found = proved([spoilt if p.id == plank.id else p for p in wall.planks], wall)
    assert not found[named]
    assert found["edges and ends make the ring"] or spoil is shorter or spoil is slanting


def test_a_nib_that_is_not_there_is_seen(wall: Planked) -> None:
    bare = [replace(p, ends=tuple(e for e in p.ends if e.meets != "seam")) for p in wall.planks]
    assert [c.holds for c in nib_checks(bare, wall.frames, SIDING)] == [False]


def test_joints_keep_off_nibs_and_a_nib_moved_to_one_is_seen() -> None:
    """A nib counts as a joint (common practice): another bay and 300 mm, for the strake it ends and the one it is let
    into.  Boards of 1.6 m: two joints would stand by a nib were they placed without regard to it; then a nib is moved
    to where a joint stands."""
    joined = replace(STRAKES, joint="scarf")
    boards = tuple(rectangle(f"B{i}", 1600.0, 260.0, 25.0) for i in range(4))
    boat = planked(WALL.mesh(SMALL), settings_of((joined,), surface="middle", spacing=300.0), boards)
    rule = boat.layers[0].joint_rule
    assert rule.off_nibs
    assert not any(f.code == "joint-by-a-nib" for f in boat.findings)
    ported = [p for p in boat.planks if p.side == "port"]
    nibbed = next(p for p in ported if "nibs" in p.extra)
    into = nibbed.extra["nibs"][0]["course"]  # type: ignore[index]
    two = [p for p in ported if p.course in (nibbed.course, into)]
    joints = [e.seam[:, 0].mean() for p in two for e in p.ends if e.meets == "scarf"]
    nib = nib_of(nibbed)
    x = float(nib.seam[:, 0].mean())
    stations = np.array([at for _, at in boat.frames])
    assert joints
    assert min(abs(x - j) for j in joints) >= 300.0 - 3.0
    assert np.searchsorted(stations, x) not in np.searchsorted(stations, joints)
    name = "joints by a nib, side layer 1"
    found = {c.name: c.holds for c in joint_checks(boat.planks, boat.frames, [rule])}
    assert found[name]
    moved = replace(nib, seam=nib.seam + np.array([joints[0] - x, 0.0, 0.0]))
    ends = tuple(moved if e is nib else e for e in nibbed.ends)
    spoilt = [replace(nibbed, ends=ends) if p is nibbed else p for p in boat.planks]
    assert not {c.name: c.holds for c in joint_checks(spoilt, boat.frames, [rule])}[name]
