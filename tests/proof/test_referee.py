"""The referee passes sound plans and catches every fault, each by its own code."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from strakewright.lumber import Board, Defect, Rules
from strakewright.parts import Part
from strakewright.plan import Placement, Plan
from strakewright.proof.referee import judge

RULES = Rules(spacing=8, edge_margin=4, defect_margin=5, max_skew_deg=3)
STRIP = np.array([[0.0, 0], [1000, 0], [1000, 50], [0, 50]])
KNOT = Defect("knot", np.array([[1500.0, 60], [1520, 60], [1520, 80], [1500, 80]]))
BOARD = Board("W", np.array([[0.0, 0], [2200, 0], [2200, 120], [0, 120]]), 20.0, "ash", (KNOT,))
PARTS = (Part("A", STRIP, 20.0, "ash"), Part("B", STRIP, 20.0, "ash"))
GOOD = (Placement("A", "W", 4, 4), Placement("B", "W", 4, 62))


def plan(*puts: Placement, unplaced: tuple[str, ...] = ()) -> Plan:
    return Plan(puts, unplaced, 1, 0.0, 0.0, 0.0, 0.0, None, None, 0, 0)


def codes(*puts, unplaced=(), parts=PARTS, boards=(BOARD,)):
    return {f.code for f in judge(parts, boards, RULES, plan(*puts, unplaced=unplaced))[1]}


def test_a_plan_with_every_clearance_just_kept_is_sound():
    """4 from both edges, 62 - 54 = 8 apart: exactly what the rules ask."""
    checks, faults = judge(PARTS, (BOARD,), RULES, plan(*GOOD))
    assert faults == ()
    assert all(c.holds for c in checks)


@pytest.mark.parametrize(
    ("code", "change"),
    [
        ("parts-too-close", {"y": 61.9}),
        ("part-near-edge", {"y": 66.1}),
        ("part-off-board", {"y": 75}),
        ("part-near-defect", {"x": 504}),
        ("part-turned-over", {"flip": True, "y": 112}),
        ("part-off-grain", {"rotation_deg": 3.1}),
        ("placement-not-a-number", {"x": float("nan")}),
        ("board-unknown", {"board": "X"}),
        ("part-unknown", {"part": "X"}),
        ("part-placed-twice", {"part": "A"}),
    ],
)
def test_each_fault_is_caught_by_its_code(code, change):
    assert code in codes(GOOD[0], replace(GOOD[1], **change))


def test_half_a_tenth_is_forgiven_and_no_more():
    """The tolerance is 0.05 mm on every clearance (contract)."""
    assert codes(GOOD[0], replace(GOOD[1], y=61.96)) == set()
    assert codes(GOOD[0], replace(GOOD[1], y=61.94)) == {"parts-too-close"}


def test_wood_cut_away_is_kept_off_like_a_part():
    """A part 6 mm from a knot (5 asked) is sound; from wood the saw has taken it lies too near (8 asked)."""
    put = Placement("A", "W", 1526, 4)
    ring = np.array([[1500.0, 4], [1520, 4], [1520, 54], [1500, 54]])
    long = replace(BOARD, outline=np.array([[0.0, 0], [3200, 0], [3200, 120], [0, 120]]))
    for kind, found in (("knot", set()), ("taken", {"part-near-defect"})):
        marred = replace(long, defects=(Defect(kind, ring),))
        assert codes(put, unplaced=("B",), boards=(marred,)) == found


def test_wrong_stock_is_caught():
    thick, oak = replace(PARTS[1], thickness=21.0), replace(PARTS[1], species="oak")
    assert codes(*GOOD, parts=(PARTS[0], thick)) == {"board-too-thin"}
    assert codes(*GOOD, parts=(PARTS[0], oak)) == {"board-of-other-species"}
    assert codes(*GOOD, parts=(PARTS[0], replace(PARTS[1], thickness=19.0))) == set()


def test_unplaced_parts_must_be_listed_and_fail_one_check():
    assert codes(GOOD[0]) == {"part-forgotten"}
    checks, faults = judge(PARTS, (BOARD,), RULES, plan(GOOD[0], unplaced=("B",)))
    assert faults == ()
    assert [c.name for c in checks if not c.holds] == ["parts not placed"]
    assert codes(*GOOD, unplaced=("B",)) == {"part-placed-and-listed"}


def test_turning_is_about_the_parts_own_origin_after_flipping():
    """Closed form: flipped (y to -y), turned 180 deg, (0, 0) at (1004, 4): covers x 4..1004, y 4..54."""
    free = replace(PARTS[0], may_flip=True)
    put = Placement("A", "W", 1004, 4, 180.0, True)
    assert codes(put, GOOD[1], parts=(free, PARTS[1])) == set()


def test_worst_shortfall_is_told():
    checks, _ = judge(PARTS, (BOARD,), RULES, plan(GOOD[0], replace(GOOD[1], y=60)))
    spacing = next(c for c in checks if c.name.startswith("spacing"))
    assert spacing.value == pytest.approx(2.0)
    assert not spacing.holds
