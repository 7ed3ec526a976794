"""Bevel boards against angles in closed form, measured on the lines themselves."""

from __future__ import annotations

import re
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest

from strakewright.drawn import Drawn, DrawnLine
from strakewright.frames import BevelAt, FramePiece, Framing, SawnFrame
from strakewright.write.bevelboard import WIDTH, bevel_boards
from tests.write.small_boat import strake


def pairs(board: Drawn) -> list[tuple[DrawnLine, DrawnLine]]:
    """Every line with the stub below it that carries its number."""
    found = list(zip(board.lines[1::2], board.lines[2::2], strict=True))
    assert all(line.points[0, 0] == foot.points[0, 0] and foot.words for line, foot in found)
    return found


def measured(board: Drawn) -> dict[str, float]:
    """Degrees from square of every line, by its number: what a gauge laid on the paper would read."""
    runs = {foot.words: line.points[1] - line.points[0] for line, foot in pairs(board)}
    assert all(run[1] == WIDTH for run in runs.values())
    return {words: float(np.rad2deg(np.arctan2(run[0], run[1]))) for words, run in runs.items()}


def told(board: Drawn) -> dict[str, float]:
    """Degrees of every number in the list beside the board."""
    found = re.findall(r"(\d+): [^:]*? ([-+][\d.]+)°", board.notes[-1])
    return {number: float(angle) for number, angle in found}


def test_a_course_shows_the_bevels_of_its_edges() -> None:
    # the lower edge falls from square to -30 degrees over 3 m: -6 at 600, -12 at 1200, -24 at 2400
    plank = strake("S02", 2, (0.0, 3000.0), ("transom", "stem"))
    (board,) = bevel_boards(Framing(), [plank])
    assert sorted(measured(board).values()) == pytest.approx([-24.0, -12.0, -6.0], abs=0.3)
    for number, angle in told(board).items():
        assert measured(board)[number] == pytest.approx(angle, abs=0.26)  # the list is rounded to half a degree


def test_lines_do_not_cross_and_stay_on_the_board() -> None:
    angles = [-55.0, 40.0, -3.0, 12.5, 60.0, 8.0]
    ring = np.array([[0.0, 0.0], [100.0, 0.0], [100.0, 80.0], [0.0, 80.0]])
    bevels = tuple(BevelAt(f"p{n}", np.zeros(2), np.deg2rad(a), square=False) for n, a in enumerate(angles))
    piece = FramePiece("F1-B", "bottom", "centre", "oak", 32.0, 0.0, 32.0, ring, ring, ring, np.array([1.0, 0.0]), 0.0)
    frame = SawnFrame("F1", 600.0, "aft", "lap", (replace(piece, bevels=bevels),), (), {}, 0.0, None)
    (board,) = bevel_boards(Framing(frames=(frame,)), ())
    assert measured(board) == pytest.approx({str(n + 1): a for n, a in enumerate(angles)})
    lines = sorted((line.points for line, _ in pairs(board)), key=lambda p: float(p[0, 0]))
    for a, b in pairwise(lines):
        assert b[0, 0] - a[0, 0] >= 40.0
        assert b[-1, 0] > a[-1, 0]
    outline = board.lines[0].points
    assert np.ptp(outline[:, 1]) == WIDTH
    every = np.concatenate(lines)
    assert every[:, 0].min() >= outline[:, 0].min()
    assert every[:, 0].max() <= outline[:, 0].max()


def test_square_edges_need_no_board() -> None:
    assert bevel_boards(Framing(), [strake("S01", 1, (0.0, 3000.0), ("transom", "stem"))]) == ()
