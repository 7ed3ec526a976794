"""The bound lies below every sound plan, and is reached where the answer is known."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from strakewright.lumber import Rules
from strakewright.nest import Search, nest
from strakewright.nest.bound import bound, least_extents
from strakewright.nest.fitting import narrowest
from strakewright.nest.job import Order, Shed, make_ready
from tests.nest.yard import RULES, board, part, planks, planted, rectangle, rough


def ready(parts, boards, rules) -> Shed:
    return make_ready(Order(tuple(parts), tuple(boards), rules))


OBJECTIVES = ["gross", "net", "boards", "price"]


@settings(max_examples=16, deadline=None)
@given(seed=st.integers(0, 10_000), objective=st.sampled_from(OBJECTIVES), saw=st.sampled_from([2, 8]))
def test_bound_is_never_above_a_plan(seed, objective, saw):
    rng = np.random.default_rng(seed)
    rules = Rules(spacing=saw, edge_margin=4, defect_margin=5, objective=objective)
    parts, boards = planks(rng, 8), rough(rng, 6)
    if seed % 2:  # thin parts too, some boards thick enough to be resawn for them, whose leaves are all one board
        rules = replace(rules, resaw_kerf=2.0)
        parts = [replace(p, thickness=(20.0, 9.5)[k % 2]) for k, p in enumerate(parts)]
        boards = [replace(b, rough_thickness=(25.4, 32.0)[k % 2]) for k, b in enumerate(boards)]
    boards = [replace(b, price=float(rng.uniform(10, 60))) for b in boards]
    plan = nest(parts, boards, rules, Search(seconds=0, seed=seed))
    paid = sum(b.price or 0.0 for b in boards if b.id in {q.board for q in plan.placements})
    figure = {"gross": plan.gross_m2, "net": plan.net_m2, "boards": plan.boards_used, "price": paid}[objective]
    if not plan.unplaced:
        assert plan.bound is not None
        assert plan.bound <= figure + 1e-9
        assert plan.gap == pytest.approx(figure / plan.bound - 1)


@pytest.mark.parametrize("seed", range(5))
def test_bound_is_not_above_the_boards_the_parts_were_sawn_from(seed):
    parts, boards = planted(np.random.default_rng(seed), 5, 4)
    sawn = sum(np.ptp(b.outline[:, 0]) * np.ptp(b.outline[:, 1]) for b in boards if b.id.startswith("B")) / 1e6
    low = bound(ready(parts, boards, RULES), 5.0, 1000)
    assert low is not None
    assert low <= sawn
    assert low > 0.8 * sum(np.ptp(p.outline[:, 0]) * 45 for p in parts) / 1e6


def test_bound_is_exact_when_each_strip_needs_a_board_of_its_own():
    """Three strips of 60 on boards of 70: one each; the three smallest boards long enough, by hand."""
    parts = [part(f"P{k}", rectangle(1000, 60)) for k in range(3)]
    boards = [board(f"B{k}", rectangle(1010 + 10 * k, 70)) for k in range(6)]
    low = bound(ready(parts, boards, RULES), 5.0, 1000)
    assert low == pytest.approx((1.01 + 1.02 + 1.03) * 0.07, rel=2e-3)


def test_least_extents_of_a_leaning_strip():
    """Closed form: a 1000 x 50 strip turned by 2 deg is 50 wide again when turned back, 1000 long."""
    c, s = np.cos(np.radians(2)), np.sin(np.radians(2))
    ring = rectangle(1000, 50) @ np.array([[c, s], [-s, c]])
    length, width = least_extents(ring, 3.0)
    assert width == pytest.approx(50, abs=1e-6)
    assert length <= 1000 + 1e-6
    assert narrowest(ring, 3.0) == pytest.approx((50, 1000, -2), abs=1e-6)
    assert narrowest(ring, 0.0)[0] == pytest.approx(1000 * s + 50 * c, abs=1e-6)


def test_no_price_no_price_bound():
    parts, boards = [part("A", rectangle(900, 60))], [board("B", rectangle(1000, 70))]
    assert bound(ready(parts, boards, Rules(objective="price")), 1.0, 100) is None
