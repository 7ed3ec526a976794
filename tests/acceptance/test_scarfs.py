"""Plain scarfs in strakes longer than the boards, against trade rule A8 (common practice, no source)."""

from __future__ import annotations

from itertools import pairwise, product

import numpy as np
import pytest
import shapely
from tests.acceptance.yard import Planked, planked, rectangle, settings_of
from tests.exact_hulls import cylinder_wall
from tests.exact_meshes import Make

from strakewright.parts import Margin, Plank
from strakewright.proof.jointed import joint_checks
from strakewright.settings import PlankingSettings

T, SLOPE = 19.0, 8.0
L = SLOPE * T
SPOIL = 10.0


def scarf(plank: Plank, forward: bool) -> Margin | None:
    """The scarf at the plank's forward or aft end."""
    found = [e for e in plank.ends if e.meets == "scarf"]
    middle = plank.net_outline[:, 0].mean()
    return next((e for e in found if (e.flat[:, 0].mean() > middle) == forward), None)


def joints(boat: Planked) -> list[tuple[Plank, Plank, Margin, Margin]]:
    """Aft piece, forward piece and their two ends, for every joint of the port side."""
    by_id = {p.id: p for p in boat.planks}
    rows = []
    for plank in boat.port("side"):
        end = scarf(plank, forward=True)
        if end is not None:
            after = by_id[end.neighbour or ""]
            start = scarf(after, forward=False)
            assert start is not None
            rows.append((plank, after, end, start))
    return rows


def test_every_course_is_joined_once_from_boards_of_three_metres(jointed: Planked) -> None:
    """Strakes of 4.3 m and a 3 m board: two pieces are fewest."""
    planks = jointed.port("side")
    assert len(planks) == 12
    assert [p.piece for p in planks] == [1, 2] * 6
    assert all(np.ptp(p.outline[:, 0]) <= 3000.0 for p in planks)
    assert len(joints(jointed)) == 6


def test_pieces_meet_on_one_line(jointed: Planked) -> None:
    for _, _, end, start in joints(jointed):
        ends = start.seam if np.allclose(start.seam[0], end.seam[0], atol=1e-6) else start.seam[::-1]
        assert np.abs(end.seam[[0, -1]] - ends[[0, -1]]).max() < 1e-6


def test_net_overlap_is_slope_by_thickness(jointed: Planked) -> None:
    """A8: about x0 each piece reaches L/2 past the joint and 10 mm of spoil; not L + L."""
    for aft, forward, end, start in joints(jointed):
        past = aft.outline[:, 0].max() - end.flat[:, 0].max()
        before = start.flat[:, 0].min() - forward.outline[:, 0].min()
        assert past == pytest.approx(L / 2 + SPOIL, abs=0.1)
        assert before == pytest.approx(L / 2 + SPOIL, abs=0.1)


def test_in_a_tight_bend_scarfs_are_cut_twelve_to_one() -> None:
    """35 mm planks on a cylinder of radius 6 m: t / R = 1/171, tighter than 1/200, so L = 12 x 35 = 420 (common
    practice, no source); the pieces reach half of it past the joint, and 10 mm more."""
    stout = PlankingSettings(panel="side", pattern="strakes", thickness=35.0, courses=3, start="sheer")
    boards = tuple(rectangle(f"B{i}", 3300.0, 260.0, 45.0) for i in range(4))
    boat = planked(cylinder_wall(Make(triangles=1600)), settings_of((stout,), spacing=500.0), boards)
    ends = [e for p in boat.planks for e in p.ends if e.meets == "scarf"]
    assert len(ends) >= 12
    assert [35.0 * abs(float(np.tan(e.bevel[0]))) for e in ends] == pytest.approx([420.0] * len(ends))
    assert {f.code for f in boat.findings} >= {"joint-in-a-bend"}
    assert all(c.holds for c in joint_checks(boat.planks, boat.frames, [boat.layers[0].joint_rule]))


def test_aft_piece_is_tapered_outside_and_forward_piece_inside(jointed: Planked) -> None:
    """A8: the feather seen outside points aft: the aft piece's outside ends at x0 - L/2, its inside at x0 + L/2."""
    for aft, forward, end, start in joints(jointed):
        x0 = end.flat[:, 0].mean()
        assert aft.face_outside[:, 0].max() == pytest.approx(x0 - L / 2, abs=0.1)
        assert aft.face_inside[:, 0].max() == pytest.approx(x0 + L / 2, abs=0.1)
        x0 = start.flat[:, 0].mean()
        assert forward.face_inside[:, 0].min() == pytest.approx(x0 + L / 2, abs=0.1)
        assert forward.face_outside[:, 0].min() == pytest.approx(x0 - L / 2, abs=0.1)


def test_ends_are_square_to_the_plank(jointed: Planked) -> None:
    """On the cylinder wall strakes are straight: the joint runs straight across."""
    for _, _, end, _ in joints(jointed):
        assert np.ptp(end.flat[:, 0]) < 0.05
        assert np.ptp(end.flat[:, 1]) == pytest.approx(100.0, abs=0.05)


def test_neighbouring_courses_are_joined_in_other_bays_and_300_mm_apart(jointed: Planked) -> None:
    frames = np.array([x for _, x in jointed.frames])
    rows: dict[int, list[float]] = {}
    for aft, _, end, _ in joints(jointed):
        rows.setdefault(aft.course, []).append(float(end.seam[:, 0].mean()))
    for one, two in pairwise(sorted(rows)):
        for a, b in product(rows[one], rows[two]):
            assert abs(a - b) >= 300.0
            assert np.searchsorted(frames, a) != np.searchsorted(frames, b)


def test_pieces_of_a_course_lie_edge_to_edge(jointed: Planked) -> None:
    """Net areas of the pieces make the whole strake: R theta x height / 6 on the mid-surface (closed form)."""
    radius = 6000.0 - T / 2
    stem_y = 6000.0 * np.cos(0.75)
    area = sum(shapely.Polygon(p.net_outline).area for p in jointed.port("side"))
    assert area == pytest.approx(radius * np.arccos(stem_y / radius) * 600.0, rel=1e-6)


def test_seams_beside_a_joint_are_still_the_same_points(jointed: Planked) -> None:
    """Both courses list every point of their seam, those where either is joined included."""
    rows: dict[int, dict[str, list[tuple[float, ...]]]] = {}
    for plank in jointed.port("side"):
        for name, seam in (("first", plank.course - 1), ("second", plank.course)):
            points = getattr(plank, name).seam if getattr(plank, name).meets == "seam" else []
            rows.setdefault(seam, {}).setdefault(name, []).extend(tuple(p) for p in points)
    inner = {k: v for k, v in rows.items() if 0 < k < 6}
    assert len(inner) == 5
    for both in inner.values():
        assert set(both["first"]) == set(both["second"])
