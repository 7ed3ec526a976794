"""Joint places: fewest pieces, lawful stagger (glued scarfs: other bay and 300 mm, common practice), and what is told
when there is none."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest

from strakewright.errors import Finding
from strakewright.shop.joints import SPOIL, Joinable, Room, place_joints, rule_of

SCARF = 152.0  # 8 x 19
FRAMES = np.arange(600.0, 6000.0, 600.0)


def straight(name: str, length: float, width: float = 100.0) -> Joinable:
    """A straight course whose s is its x."""

    def blank(a: float, b: float) -> tuple[float, float]:
        return b - a, width

    return Joinable(name, 0.0, length, np.asarray, blank)


def room(*lengths: float, width: float = 150.0) -> Room:
    return Room(np.array(lengths), np.full(len(lengths), width))


def placed(courses: list[Joinable], boards: Room) -> tuple[list[list[float]], list[Finding]]:
    done = place_joints(courses, FRAMES, boards, rule_of("scarf", 8.0, SCARF / 8.0))
    return done.taken, list(done.findings)


def bay(x: float) -> int:
    return int(np.searchsorted(FRAMES, x))


def lawful(rows: list[list[float]]) -> bool:
    return all(abs(a - b) >= 300.0 and bay(a) != bay(b) for one, two in pairwise(rows) for a in one for b in two)


def test_a_board_that_is_long_enough_is_not_joined() -> None:
    rows, told = placed([straight("S01P", 4000.0)] * 2, room(*[4000.0] * 4))
    assert rows == [[], []]
    assert told == []


def test_two_long_boards_spare_the_longest_course_its_joint_and_no_more() -> None:
    """Arithmetic: two boards 150 wide give two planks 100 wide, one course of the boat; the rest of the pile is
    shorter."""
    pile = Room(np.array([4000.0] * 2 + [2600.0] * 20), np.full(22, 150.0))
    rows, told = placed([straight("S01P", 3900.0), straight("S02P", 3950.0), straight("S03P", 3800.0)], pile)
    assert [len(r) for r in rows] == [1, 0, 1]
    assert told == []


def test_a_course_no_lawful_joint_can_part_stays_whole_though_long_boards_are_few() -> None:
    rows, told = placed([straight("S01P", 700.0)] * 9, room(720.0))
    assert rows == [[]] * 9
    assert told == []


@pytest.mark.parametrize(
    ("length", "board", "pieces"),
    [(6000.0, 3600.0, 2), (6000.0, 2700.0, 3), (5000.0, 3000.0, 2), (6000.0, 1900.0, 4)],
)
def test_fewest_pieces_that_the_boards_allow(length: float, board: float, pieces: int) -> None:
    """Arithmetic: n pieces of a course of length l need boards of at least l / n + L/2 + spoil on each joined end."""
    rows, told = placed([straight("S01P", length)], room(board))
    assert told == []
    assert len(rows[0]) == pieces - 1
    ends = [0.0, *rows[0], length]
    for i, (a, b) in enumerate(pairwise(ends)):
        joined = (i > 0) + (i < pieces - 1)
        assert b - a + joined * (SCARF / 2 + SPOIL) <= board


@pytest.mark.parametrize(("board", "pieces"), [(3900.0, 2), (2900.0, 3)])
def test_neighbours_are_staggered(board: float, pieces: int) -> None:
    rows, told = placed([straight(f"S{i:02d}P", 6000.0) for i in range(8)], room(board))
    assert told == []
    assert {len(r) for r in rows} == {pieces - 1}
    assert lawful(rows)


def test_joints_keep_off_the_frames() -> None:
    """A boat-glued joint must not share a frame's fastenings: half the scarf away from any frame."""
    rows, _ = placed([straight(f"S{i:02d}P", 6000.0) for i in range(6)], room(3900.0))
    for x in (x for row in rows for x in row):
        assert np.abs(FRAMES - x).min() > SCARF / 2


def test_a_stagger_that_cannot_be_had_is_told() -> None:
    """6 m from boards of 3.1 m: both pieces reach 86 past the joint, so it stands between 2986 and 3014 mm: one bay
    only (arithmetic)."""
    frames = np.array([1000.0, 2000.0, 4000.0, 5000.0])
    courses = [straight(f"S{i:02d}P", 6000.0) for i in range(3)]
    done = place_joints(courses, frames, room(3100.0), rule_of("scarf", 8.0, SCARF / 8.0))
    assert [len(r) for r in done.taken] == [1, 1, 1]
    assert [(f.code, f.level, f.subject) for f in done.findings] == [("joint-stagger-eased", "warning", "S01P, S02P")]
    assert "0 bays" in done.findings[0].what


def test_a_plank_wider_than_every_board_has_no_split() -> None:
    rows, told = placed([straight("S01P", 6000.0, width=200.0), straight("S02P", 6000.0)], room(3900.0))
    assert rows[0] == []
    assert len(rows[1]) == 1
    assert [(f.code, f.level, f.subject) for f in told] == [("plank-no-lawful-split", "blocking", "S01P")]
    assert "200" in told[0].what


def test_no_boards_at_all_leaves_courses_whole() -> None:
    rows, told = placed([straight("S01P", 6000.0)], Room(np.zeros(0), np.zeros(0)))
    assert rows == [[]]
    assert told == []


@pytest.mark.parametrize("board", [1900.0, 2000.0])
def test_courses_in_four_pieces_are_staggered_where_they_can_be(board: float) -> None:
    """A layout exists (checked here by brute force on the same kind of places), so none may be eased."""
    courses = [straight(f"S{i:02d}P", 6000.0) for i in range(4)]
    rows, told = placed(courses, room(board))
    places = [f + share * 600.0 for f in FRAMES[:-1] for share in (0.3, 0.5, 0.7)]
    splits = list(_splits(places, 3, board))
    feasible = any(lawful([list(a), list(b)]) for a in splits for b in splits)
    assert len(rows[0]) == 3
    assert feasible == (told == [])


def test_twelve_metres_in_five_pieces_is_staggered() -> None:
    """Frames 450, boards 3 m.  On paper: joints at x 1035, 3735, 6435, 9135 in one course and 450 mm
    further forward in the next (pieces of 2700 + 2 x 86 mm, other bays) are lawful, turn about."""
    frames = np.arange(450.0, 12000.0, 450.0)
    courses = [straight(f"S{i:02d}P", 12000.0) for i in range(3)]
    done = place_joints(courses, frames, room(3000.0), rule_of("scarf", 8.0, SCARF / 8.0))
    assert [len(r) for r in done.taken] == [4, 4, 4]
    assert done.findings == ()


def _splits(places: list[float], count: int, board: float) -> list[tuple[float, ...]]:
    reach = SCARF / 2 + SPOIL
    found: list[tuple[float, ...]] = []

    def extend(chosen: tuple[float, ...]) -> None:
        start = chosen[-1] if chosen else 0.0
        if len(chosen) == count:
            if 6000.0 - start + reach <= board:
                found.append(chosen)
            return
        for x in places:
            if x - start >= 600.0 and x - start + reach * (2 if chosen else 1) <= board:
                extend((*chosen, x))

    extend(())
    return found


def test_a_joint_keeps_off_a_nib_or_is_told() -> None:
    """A nib counts as a joint of its course (common practice): another bay and 300 mm.  6 m from boards of 3.9 m: the
    joint may stand from 2186 to 3814 mm, in the bays 1800-2400, 2400-3000, 3000-3600 and 3600-4200 (arithmetic)."""
    rule = rule_of("scarf", 8.0, SCARF / 8.0)
    course = straight("S01P", 6000.0)
    free = place_joints([course], FRAMES, room(3900.0), rule)
    at = free.taken[0][0]
    nibbed = place_joints([replace(course, nibs=(at,))], FRAMES, room(3900.0), rule)
    assert nibbed.off_nibs
    assert nibbed.findings == ()
    assert bay(nibbed.taken[0][0]) != bay(at)
    assert abs(nibbed.taken[0][0] - at) >= 300.0
    frames = np.array([2000.0, 4000.0])  # one bay
    forced = place_joints([replace(course, nibs=(2016.0,))], frames, room(3100.0), rule)
    assert [(f.code, f.subject) for f in forced.findings] == [("joint-by-a-nib", "S01P")]
    assert not forced.off_nibs
