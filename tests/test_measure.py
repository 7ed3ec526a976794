"""Lumber measure against worked figures.

8 in x 12 ft x 4/4 = SM 8, 8 BF; 7 1/2 in x 10 ft x 6/4 = SM 6 1/4 -> 6, 9 BF tallied, 9.375 exact. A board foot is 144
cubic inches by definition; surface measure is rounded by the general rules of hardwood grading (from memory).
"""

from __future__ import annotations

import numpy as np
import pytest

from strakewright.lumber import Board
from strakewright.measure import FOOT, INCH, board_feet, bought, feet_of, quarters, size_of, tally
from strakewright.read.taped import Taped


def test_worked_boards() -> None:
    sizes = [(12 * FOOT, 8 * INCH, INCH), (10 * FOOT, 7.5 * INCH, 1.5 * INCH)]
    assert [feet_of(*s) for s in sizes] == pytest.approx([8.0, 9.375])
    assert tally(sizes) == [8.0, 9.0]


def test_halves_go_up_and_down_in_turn_and_thin_stock_counts_as_an_inch() -> None:
    half = (9 * FOOT, 6 * INCH, INCH)  # SM 4 1/2
    assert tally([half] * 4) == [5.0, 4.0, 5.0, 4.0]
    assert tally([(12 * FOOT, 8 * INCH, 0.5 * INCH)]) == [8.0]
    assert tally([(12.9 * FOOT, 8 * INCH, INCH)]) == [8.0]


def test_a_board_counts_with_its_ends_as_bought_and_without_them_as_used() -> None:
    board = Board(
        "A", np.array([[0, 0], [3000.0, 0], [3000.0, 200], [0, 200]]), 20.6, "ash", rough_thickness=25.4, end_trim=50
    )
    assert board_feet(board) == pytest.approx(3000 * 200 * 25.4 / (144 * 25.4**3))
    assert size_of(board) == (3100.0, 200.0, 25.4)
    assert (quarters(25.4), quarters(38.1), quarters(27)) == ("4/4", "6/4", "27 mm")
    figures = bought([board])
    assert figures["board_feet_bought"] == pytest.approx(3100 * 200 / (144 * 25.4**2))
    assert figures["board_feet_as_tallied"] == 7.0  # 10 whole feet x 7 7/8 in / 12 = 6.56


def test_a_bent_or_tapered_board_counts_at_its_mean_width() -> None:
    for width_end, crook in ((None, 40.0), (140.0, 0.0), (140.0, 40.0)):
        board = Board("A", Taped(3000.0, 200.0, width_end, crook).outline(), 25.4, "ash")
        assert size_of(board)[1] == pytest.approx(200.0 if width_end is None else 170.0, abs=1e-6)
