"""Rules of joints against the handbook and against counting on paper.

Butts: US Army TB 55-1900-201-45/1 (wood hull repair), paras 2-12, 2-13: three frame spaces between butts of neighbours,
5 ft where frames stand unusually, three solid strakes between butts in one bay.  Feasibility on paper: 9 strakes,
frames 600, joints mid-bay, ends 600 clear.
"""

from __future__ import annotations

from itertools import combinations, pairwise

import numpy as np
import pytest

from strakewright.shop.joints import Joinable, Room, place_joints, rule_of
from strakewright.shop.stagger import BUTTS, Ladder, Stagger, best_layout, clashes, other_splits, rules_of

BUTTED = rule_of("butt", 0.0, 19.0)
FRAMES = np.arange(600.0, 6600.0, 600.0)


def straight(name: str, length: float, bend: float = 0.0) -> Joinable:
    """A straight course whose s is its x, bent forward of x 4000 to thickness over radius `bend`."""
    return Joinable(
        name, 0.0, length, np.asarray, lambda a, b: (b - a, 100.0), bend=lambda s: np.where(s > 4000.0, bend, 0.0)
    )


def room(*lengths: float) -> Room:
    return Room(np.array(lengths), np.full(len(lengths), 150.0))


def ladder(*rows: list[int]) -> Ladder:
    """Splits by their bays, frames 1000 mm, joints mid-bay."""
    return Ladder.of([(row, [1000.0 * b + 500.0 for b in row], 0.0) for row in rows])


def test_the_army_rule_in_figures() -> None:
    """Para 2-12: 3 spaces of 12 in are 36 in, but 5 ft governs: 1524 mm."""
    assert (BUTTS.bays, BUTTS.between) == (3, 3)
    assert BUTTS.apart == pytest.approx(1524.0)
    assert rules_of("butt", None, None)[0] == BUTTS
    assert rules_of("butt", 2, 900.0)[0] == Stagger(2, 900.0, 3)
    assert rules_of("scarf", None, None)[0] == Stagger(1, 300.0)


@pytest.mark.parametrize(("bay", "breaks"), [(5, True), (6, True), (7, True), (8, False), (2, False)])
def test_neighbours_want_three_frame_spaces(bay: int, breaks: bool) -> None:
    assert clashes(ladder([5]), ladder([bay]), 1, BUTTS)[0, 0] == breaks


@pytest.mark.parametrize(("away", "breaks"), [(1, True), (2, True), (3, True), (4, False)])
def test_three_whole_strakes_between_butts_of_one_bay(away: int, breaks: bool) -> None:
    """Strakes 1 and 5 have 2, 3, 4 between them: lawful; 1 and 4 have two: not."""
    assert clashes(ladder([5]), ladder([5]), away, BUTTS)[0, 0] == breaks


def test_short_frame_spaces_are_governed_by_feet() -> None:
    """12 in frames, butts 4 bays (1219 mm) apart keep the first figure and break the second; 5 bays keep both."""
    a, b, c = (Ladder.of([([n], [304.8 * n], 0.0)]) for n in (0, 4, 5))
    assert clashes(a, b, 1, BUTTS)[0, 0]
    assert not clashes(a, c, 1, BUTTS)[0, 0]


@pytest.mark.parametrize("between", [0, 1, 3])
def test_the_beam_finds_what_counting_finds(between: int) -> None:
    """Every row of splits tried one by one (6 courses, 5 bays) against the search."""
    rule = Stagger(2, 0.0, between)
    rungs = ladder([0], [1], [2], [3], [4])
    picks, kept = best_layout([rungs] * 6, (rule,))

    def lawful(row: tuple[int, ...]) -> bool:
        near = all(abs(a - b) >= 2 for a, b in pairwise(row))
        return near and all(row[i] != row[j] for i, j in combinations(range(6), 2) if 1 < j - i <= between)

    possible = any(lawful(row) for row in np.ndindex(*(5,) * 6))
    assert possible == lawful(tuple(picks))
    assert kept == rule


@pytest.mark.parametrize("feet", [12.0, 14.0])
def test_butts_that_cannot_be_had_are_eased_and_told(feet: float) -> None:
    """By enumeration on paper no layout of 9 strakes of 6.3 m keeps the rule with boards of 12 or 14 ft, 100 mm
    trimmed: never silently."""
    board = feet * 304.8 - 100.0
    done = place_joints([straight(f"S{i:02d}P", 6300.0) for i in range(9)], FRAMES, room(board), BUTTED)
    assert done.asked == BUTTS
    assert done.kept != BUTTS
    told = [f for f in done.findings if f.code == "joint-stagger-eased"]
    assert len(told) == 1
    assert "3 frame spaces" in told[0].what
    assert "nearest" in told[0].what


def test_butts_of_sixteen_feet_want_places_off_the_middle_of_the_bay() -> None:
    """On paper: 16 ft less 100 is 4777; a butt in the middle of the second bay (x 1500) leaves 4800, too long, one
    60 mm further forward leaves 4740; bays 4, 1, 5, 2, 6 and again are then lawful."""
    boards = room(16 * 304.8 - 100.0)
    done = place_joints([straight(f"S{i:02d}P", 6300.0) for i in range(9)], FRAMES, boards, BUTTED)
    assert done.kept == BUTTS
    assert _lawful(done.taken)


def _lawful(taken: list[list[float]]) -> bool:
    rows = [[(int(np.searchsorted(FRAMES, x)), x) for x in row] for row in taken]
    near = all(abs(p - q) >= 3 and abs(x - y) >= 1524 for a, b in pairwise(rows) for p, x in a for q, y in b)
    spread = all(
        p != q for i, j in combinations(range(len(rows)), 2) if j - i <= 3 for p, _ in rows[i] for q, _ in rows[j]
    )
    return near and spread


def test_butts_with_long_boards_keep_the_rule() -> None:
    """Boat of 12 m, 18 bays of 600, boards of 9 m: butts 4 bays on, back to the first bay after four strakes."""
    frames = np.arange(600.0, 11500.0, 600.0)
    done = place_joints([straight(f"S{i:02d}P", 12000.0) for i in range(8)], frames, room(9000.0), BUTTED)
    assert done.kept == BUTTS
    rows = [[int(np.searchsorted(frames, x)) for x in row] for row in done.taken]
    for i, j in combinations(range(8), 2):
        for p in rows[i]:
            for q in rows[j]:
                assert j - i != 1 or abs(p - q) >= 3
                assert j - i > 3 or p != q


def test_joints_keep_out_of_tight_bends_where_they_can() -> None:
    """Boards allow a joint from x 2100 to 3900; with short ones it must stand forward of 4000, in the bend."""
    bent = straight("S01P", 6000.0, bend=1 / 150)
    done = place_joints([bent], FRAMES, room(4000.0), rule_of("scarf", 8.0, 19.0))
    assert done.taken[0][0] < 4000.0
    assert done.findings == ()
    short = Joinable("S01P", 0.0, 6000.0, np.asarray, bent.blank, fixed=(4500.0,), bend=bent.bend)
    told = place_joints([short], FRAMES, room(4000.0), rule_of("scarf", 8.0, 19.0)).findings
    assert [f.code for f in told] == ["joint-in-a-bend"]
    assert "12:1" in told[0].fix


def test_any_combination_of_further_splits_is_lawful() -> None:
    courses = [straight(f"S{i:02d}P", 6000.0) for i in range(5)]
    done = place_joints(courses, FRAMES, room(3900.0), rule_of("scarf", 8.0, 19.0, spare=3))
    assert max(len(row) for row in done.splits) > 1
    for one, two in pairwise(done.splits):
        for a in one:
            for b in two:
                assert all(abs(p - q) >= 300.0 for p in a.xs for q in b.xs)
                assert not set(a.bays) & set(b.bays)


def test_further_splits_differ_from_the_one_taken() -> None:
    rungs = Ladder.of([([b], [600.0 * b + 300.0], 0.0) for b in range(6)] + [([0], [320.0], 0.0)])
    kept = other_splits([rungs], [0], Stagger(1, 300.0), 9)[0]
    assert kept[0] == 0
    assert 6 not in kept  # 20 mm from the first is no other place
    assert len(kept) == 6
