"""The last touches: offcuts grow, rips go, clearances stay.  Places by addition and subtraction, by hand; soundness by
the referee, which is written apart."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from strakewright.lumber import Defect, Rules
from strakewright.nest import Search, nest
from strakewright.nest.figures import figures
from strakewright.nest.finishing import rips, slid, tidied
from strakewright.nest.job import Order, make_ready
from strakewright.nest.search import first_plan
from strakewright.plan import Placement, Plan
from strakewright.proof.referee import judge
from strakewright.read.taped import Taped
from tests.nest.yard import RULES, board, part, planks, rectangle, rough

FINE = 24 / 2**7 * 2
"""mm: a slide is halved seven times, twice."""


def sound(parts, boards, rules, puts):
    left = tuple(p.id for p in parts if p.id not in {q.part for q in puts})
    plan = Plan(tuple(puts), left, 1, 1.0, 1.0, 0.5, 0.5, None, None, 0, 0)
    return judge(parts, boards, rules, plan)[1] == ()


def test_parts_close_up_to_margin_and_spacing():
    """By hand: 4 from the butt, then 4 + 500 + 8 = 512."""
    parts = [part("A", rectangle(500, 60)), part("B", rectangle(700, 60))]
    boards = [board("W", rectangle(4000, 100))]
    puts = [Placement("A", "W", 10.0, 10.0), Placement("B", "W", 540.0, 12.0)]
    found = slid(parts, boards, RULES, puts)
    assert found[0].x == pytest.approx(4.0, abs=FINE)
    assert found[1].x == pytest.approx(512.0, abs=2 * FINE)
    assert [q.y for q in found] == [10.0, 12.0]
    assert sound(parts, boards, RULES, found)
    mirrored = [replace(q, x=4000 - q.x - (500, 700)[i]) for i, q in enumerate(puts)]
    other = slid(parts, boards, RULES, mirrored)
    assert other[0].x == pytest.approx(4000 - 4 - 500, abs=FINE)


def test_a_knot_stops_what_may_not_hold_it():
    """By hand: a sound knot of 8 mm ends at 300 + 8, and 4 of margin more: 312; what may hold it reaches the butt."""
    knot = Defect("sound knot", rectangle(8, 8) + np.array([300.0, 30.0]))
    boards = [board("W", rectangle(3000, 100), defects=(knot,))]
    for quality, x in (("show", 312.0), ("hidden", 4.0)):
        parts = [part("A", rectangle(900, 60), quality=quality)]
        found = slid(parts, boards, RULES, [Placement("A", "W", 320.0, 10.0)])
        assert found[0].x == pytest.approx(x, abs=FINE)
        assert sound(parts, boards, RULES, found)


def test_a_part_far_from_the_butt_is_drawn_to_it_and_not_past_it():
    """A bowed lower edge: columns seat a part where it rests best, 180 mm in; a short one could step off the board."""
    bowed = board("W", Taped(2640.0, 152.0, 140.0, 10.0).outline())
    for length in (900.0, 12.0):
        parts = [part("A", rectangle(length, 90))]
        (found,) = slid(parts, [bowed], replace(RULES, min_offcut=600.0), [Placement("A", "W", 182.0, 16.0)])
        assert found.x == pytest.approx(RULES.edge_margin, abs=FINE)
        assert sound(parts, [bowed], RULES, [found])


def test_an_offcut_worth_keeping_at_the_near_end_is_left_as_it_is():
    parts, boards = [part("A", rectangle(500, 60))], [board("W", rectangle(4000, 100))]
    puts = (Placement("A", "W", 700.0, 10.0),)
    assert slid(parts, boards, RULES, puts) == puts


@pytest.mark.parametrize("seed", range(3))
def test_sliding_never_takes_more_wood_and_stays_sound(seed):
    rng = np.random.default_rng(seed)
    parts, boards = planks(rng, 10), rough(rng, 8)
    rules = Rules(spacing=8, edge_margin=4, defect_margin=5, objective="net", min_offcut=300)
    plan = nest(parts, boards, rules, Search(seconds=0, seed=seed))
    found = slid(parts, boards, rules, plan.placements)
    before, after = (figures(parts, boards, rules, p) for p in (plan.placements, found))
    assert after.net_m2 <= before.net_m2 + 1e-12
    assert sound(parts, boards, rules, found)


def test_a_tidied_plan_has_its_parts_on_the_same_boards_and_rips_no_more():
    """By hand: six strips of 300 x 40 need no rip on a board 50 wide, three or more rips in two lanes of three."""
    rng = np.random.default_rng(0)
    parts = [part(f"P{k}", rectangle(300, 40)) for k in range(6)]
    for width, most in ((50, 0), (105, 3)):
        boards = (board("W", rectangle(1900 if width == 50 else 960, width)),)
        shed = make_ready(Order(tuple(parts), boards, RULES))
        stand = first_plan(shed, rng)
        assert stand.left == ()
        tidy = tidied(shed, stand, rng, None)
        assert rips(shed, 0, tidy.loads[0]) == most
        assert tidy.cost <= stand.cost
        assert sorted(p.way for p in tidy.loads[0]) or tidy.left == ()
