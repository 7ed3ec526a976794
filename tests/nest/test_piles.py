"""Buying off a kind of pile, against a simulation that only counts.

Tiny case: 12 strips, each 150 mm wide and as long as every board; a board 160-330 mm wide gives one or two of them
(two from 2 x 150 + spacing + margins = 316 mm on). How many boards are needed is then counting, without any nesting.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from strakewright.lumber import Pile, Rules
from strakewright.measure import size_of
from strakewright.nest import piles
from strakewright.nest.piles import asked, delivery, drawn, must_haves, quantile
from tests.nest.yard import part, rectangle

RULES = Rules(spacing=8.0, edge_margin=4.0, defect_margin=4.0, max_skew_deg=0.0, min_offcut=0.0, objective="gross")
PILE = Pile("white ash", 20.6, 25.4, (160.0, 330.0), (2438.4, 2438.4))
STRIPS = [part(f"P{i}", rectangle(2320, 150)) for i in range(12)]


def counted(widths):
    """Board feet of the shortest run of boards that gives twelve strips."""
    got = feet = 0.0
    for width in widths:
        feet += width * 2438.4 * 25.4 / (144 * 25.4**3)
        got += 2 if width >= 316.0 else 1
        if got >= 12:
            return feet
    raise AssertionError


def test_each_order_is_the_shortest_run_of_its_pile():
    for seed in range(4):
        found = delivery(STRIPS, RULES, PILE, (3, seed), 1)
        assert found is not None
        rng = np.random.default_rng((3, seed))
        widths = [size_of(drawn(PILE, rng, n))[1] for n in range(20)]
        assert found.feet == pytest.approx(counted(widths))
        assert found.plan.unplaced == ()


def test_quantiles_of_board_feet_agree_with_brute_simulation():
    found = [delivery(STRIPS, RULES, PILE, (5, n), 0) for n in range(30)]
    mine = [d.feet for d in found if d is not None]
    rng = np.random.default_rng(99)
    brute = np.array([counted(rng.uniform(160.0, 330.0, 20)) for _ in range(20_000)])
    for share in (0.5, 0.8, 0.95):  # the share of the brute orders below our quantile: binomial, 3.5 sigma of 30 piles
        below = float((brute <= quantile(mine, share)).mean())
        assert below == pytest.approx(share, abs=3.5 * np.sqrt(share * (1 - share) / 30) + 1 / 30)


def test_must_haves_name_sizes_few_boards_have_and_every_plan_used():
    pile = Pile("white ash", 20.6, 25.4, (152.4, 304.8), (2438.4, 4876.8), knots=0.0)
    long = [part(f"L{i}", rectangle(4500, 240)) for i in range(3)]
    short = [part(f"S{i}", rectangle(1500, 80)) for i in range(12)]
    assert asked(long[0], RULES, pile) == pytest.approx((254.0, 4876.8))
    found = [d for n in range(4) if (d := delivery([*long, *short], RULES, pile, (7, n), 0)) is not None]
    listed = must_haves([*long, *short], RULES, pile, found)
    assert (listed[0].count, listed[0].width, listed[0].length) == (3, pytest.approx(254.0), pytest.approx(4876.8))
    assert listed[0].share == pytest.approx((304.8 - 254.0) / 152.4 / 9)
    assert [m.share for m in listed] == sorted(m.share for m in listed)


def test_a_pile_that_never_holds_a_part_is_told():
    assert delivery([part("W", rectangle(2000, 600))], RULES, PILE, (1, 1), 0) is None


def test_an_interrupted_search_makes_no_order(monkeypatch: pytest.MonkeyPatch) -> None:
    """The search keeps its best plan when it is interrupted; an order built on such plans would be too large."""
    whole = piles.nest
    monkeypatch.setattr(piles, "nest", lambda *a: replace(whole(*a), interrupted=True))
    with pytest.raises(KeyboardInterrupt):
        delivery(STRIPS, RULES, PILE, (3, 0), 0)


def test_knotty_piles_are_drawn_with_knots():
    rng = np.random.default_rng(0)
    boards = [drawn(Pile("ash", 20.0, 25.4, (200, 200), (3000, 3000), knots=5.0), rng, n) for n in range(200)]
    mean = np.mean([len(b.defects) for b in boards])
    assert mean == pytest.approx(5.0 * 2.9 * 0.2, abs=0.5)
