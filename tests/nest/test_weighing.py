"""Prices of parts when all loads found are weighed together: linear programmes small enough to solve by hand."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest

from strakewright.nest.archive import Archive
from strakewright.nest.weighing import weighed


def shed(parts, boards):
    return SimpleNamespace(parts=[None] * parts, source=np.arange(boards))


def archive(parts, *offers):
    made = Archive(parts)
    for board, uses, cost in offers:
        made.add(board, (), uses, cost)
    return made


def test_parts_on_boards_of_their_own_cost_what_their_board_costs():
    """By hand: the duals of min x + 2 y, x >= 1, y >= 1."""
    assert weighed(shed(2, 2), archive(2, (0, [0], 1.0), (1, [1], 2.0)), [0, 1]) == pytest.approx([1.0, 2.0])


def test_three_pairs_in_shares_cost_half_a_board_a_part():
    """By hand: the triangle, whose cover in shares is half of each pair; every part costs half a board."""
    pairs = archive(3, (0, [0, 1], 1.0), (1, [1, 2], 1.0), (2, [0, 2], 1.0))
    assert weighed(shed(3, 3), pairs, [0, 1, 2]) == pytest.approx([0.5, 0.5, 0.5])


def test_a_part_only_a_wasteful_board_takes_is_dear():
    """By hand: part 0 lies with part 1 for 1, part 2 alone needs a board of 3, or all three one of 3.5."""
    prices = weighed(shed(3, 3), archive(3, (0, [0, 1], 1.0), (1, [2], 3.0), (2, [0, 1, 2], 3.5)), [0, 1, 2])
    assert prices.sum() == pytest.approx(3.5)
    assert prices[2] >= 2.5 - 1e-9


def test_loads_of_options_not_picked_count_for_nothing_and_a_part_in_no_load_gives_no_prices():
    offers = archive(3, (0, [0], 1.0), (1, [0, 2], 0.1), (2, [1], 2.0))
    assert weighed(shed(3, 3), offers, [0, 1]) == pytest.approx([1.0, 2.0])
    assert weighed(shed(3, 3), archive(3, (0, [0], 1.0)), [0, 1]) is None
