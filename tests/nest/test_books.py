"""Book-matched pairs: mates at one place on neighbouring leaves, opened like a book.  Invented planks and boards.

The rule is geometry (two leaves parted by one saw cut show the same grain, mirrored), the naming common practice, no
source.  Whether mates coincide is asked of shapely, on their outlines as they lie; each way of being wrong is provoked.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from strakewright.lumber import Defect
from strakewright.nest import Search, nest
from strakewright.nest.finishing import slid
from strakewright.plan import Placement, Plan, book_matched
from strakewright.proof.referee import judge, lying
from tests.nest.yard import RULES, board, bow, part, rectangle

RESAWN = replace(RULES, resaw_kerf=2.0)
SHORT = Search(rounds=1, workers=1)
KNOT = Defect("knot", np.array([[900.0, 40.0], [930.0, 40.0], [930.0, 70.0], [900.0, 70.0]]))


def pair(name, length, width, sag, **more):
    """A plank cut off at a slant, and its mate as it lies with the same face up: the mirror image."""
    ring = bow(length, width, sag)
    ring = ring + np.column_stack([0.3 * ring[:, 1], np.zeros(len(ring))])
    more = {"thickness": 10.0, "match": True} | more
    over = (ring * [1.0, -1.0])[::-1]
    return [part(f"{name}P", ring, mate=f"{name}S", **more), part(f"{name}S", over, mate=f"{name}P", **more)]


PAIRS = [*pair("a", 1500, 70, 25), *pair("b", 1300, 60, -15), *pair("c", 1700, 80, 10)]
LOOSE = [part(f"L{i}", rectangle(600, 50), thickness=10.0) for i in range(3)]


def rack(rough: float | None = 27.0, **more):
    return [
        board(f"B{i}", rectangle(2000, 340), **({"rough_thickness": rough, "thickness": 24.0} | more)) for i in (1, 2)
    ]


def codes(parts, boards, rules, plan):
    return {f.code for f in judge(parts, boards, rules, plan)[1]}


@pytest.mark.parametrize(
    ("boards", "objective"),
    [
        (rack(), "net"),
        (rack(leaves=3, thickness=10.0, rough_thickness=None, defects=(KNOT,)), "gross"),
    ],
)
def test_mates_come_from_neighbouring_leaves_opened_like_a_book(boards, objective):
    parts, rules = [*PAIRS, *LOOSE], replace(RESAWN, objective=objective)
    plan = nest(parts, boards, rules, SHORT)
    assert (plan.unplaced, codes(parts, boards, rules, plan)) == ((), set())
    put, by_id = {q.part: q for q in plan.placements}, {p.id: p for p in parts}
    for port in "aP", "bP", "cP":
        one, other = put[port], put[port[0] + "S"]
        assert one.board == other.board
        assert {(one.leaf, one.flip), (other.leaf, other.flip)} == {(1, False), (2, True)}
        here, there = lying(by_id[one.part], one), lying(by_id[other.part], other)
        assert here.symmetric_difference(there).area < 1.0
    assert plan.boards_used == 1  # three pairs and the loose parts share a board
    assert slid(parts, boards, rules, plan.placements) == plan.placements


def test_without_match_or_without_leaves_nothing_is_turned_over():
    plain = [replace(p, match=False) for p in PAIRS]
    whole = rack(rough=None)
    for parts, boards in ((plain, rack()), (PAIRS, [*whole, board("B3", rectangle(2000, 340))])):
        plan = nest(parts, boards, RESAWN, SHORT)
        assert codes(parts, boards, RESAWN, plan) == set()
        assert not any(q.flip for q in plan.placements)


def test_mates_that_are_not_each_other_turned_over_only_share_the_board():
    first, second = pair("a", 1500, 70, 25)
    parts = [first, replace(second, outline=first.outline)]
    plan = nest(parts, rack(), RESAWN, SHORT)
    assert (plan.unplaced, codes(parts, rack(), RESAWN, plan)) == ((), set())
    assert not any(q.flip for q in plan.placements)


@pytest.mark.parametrize(
    ("change", "told"),
    [
        ({}, set()),
        ({"x": 100.5}, {"pair-not-book-matched"}),
        ({"y": 60.0}, {"pair-not-book-matched"}),
        ({"rotation_deg": 0.2}, {"pair-not-book-matched"}),
        ({"leaf": 3}, {"pair-not-book-matched"}),
        ({"leaf": None}, {"part-turned-over", "board-whole-and-resawn"}),
        ({"board": "B2"}, {"pair-not-book-matched", "pair-parted"}),
        ({"leaf": 1, "y": 200.0}, {"pair-not-book-matched"}),
    ],
)
def test_the_referee_sees_a_pair_that_is_not_one(change, told):
    parts, boards = PAIRS[:2], rack(leaves=3, thickness=10.0, rough_thickness=None)
    places = Placement("aP", "B1", 100.0, 50.0, leaf=1), Placement("aS", "B1", 100.0, 50.0, flip=True, leaf=2)
    broken = places[0], replace(places[1], **change)
    plan = Plan(broken, (), 1, 1.0, 1.0, 0.5, 0.5, None, None, 0, 0)
    assert codes(parts, boards, RULES, plan) == told
    assert book_matched(*broken) is (told == set())


def test_turning_over_stays_forbidden_to_parts_without_a_match():
    parts = [replace(p, match=False) for p in PAIRS[:2]]
    places = Placement("aP", "B1", 100.0, 50.0, leaf=1), Placement("aS", "B1", 100.0, 50.0, flip=True, leaf=2)
    plan = Plan(places, (), 1, 1.0, 1.0, 0.5, 0.5, None, None, 0, 0)
    boards = rack(leaves=2, thickness=10.0, rough_thickness=None)
    assert codes(parts, boards, RULES, plan) == {"part-turned-over"}
    both = replace(plan, placements=(replace(places[0], flip=True), places[1]))
    assert "pair-not-book-matched" in codes(PAIRS[:2], boards, RULES, both)
