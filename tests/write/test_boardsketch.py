"""Sketches of boards in the book: every number readable and within its room."""

from __future__ import annotations

import re
from dataclasses import replace

import numpy as np

from strakewright.plan import Placement
from strakewright.write.bookwood import board_sketch
from strakewright.write.paper import words_width
from strakewright.write.pen import RecordingPen, text_box
from strakewright.write.sheets import Sheet, sheets_of
from tests.write import rack

KNEE = np.array([[0.0, 0.0], [200.0, 0.0], [200.0, 85.0], [0.0, 85.0]])


def test_numbers_too_small_for_their_piece_stand_below_at_five_millimetres() -> None:
    sheet = sheets_of(rack.PLAN, rack.PARTS, [rack.BOARD])[0]
    pen = RecordingPen()
    picture = board_sketch(sheet, 178.0)
    picture.draw(pen)
    words = {s.words: s for s in pen.strokes if s.kind == "text"}
    assert set(words) >= {p.id for p in rack.PARTS}
    assert min(s.size for s in words.values()) >= 5.0
    assert float(words["B1-1S"].points[0, 1]) < 9.0  # the corner piece: below the board
    for s in words.values():
        box = text_box(s.points[0], s.words, 0.66 * s.size / 0.9, s.turn, s.anchor)  # sans-serif runs 0.6 to 0.7
        assert box[:, 0].max() <= 178.0 + 2.0
        assert 0.0 <= float(s.points[0, 1]) <= picture.height


def test_many_small_pieces_bear_letters_and_a_list_says_which_is_which() -> None:
    """Fourteen knees in two rows: their numbers would need 330 mm side by side, and the page has 178."""
    knees = [replace(rack.corner(f"F{n}-gusset-P"), outline=KNEE) for n in range(1, 15)]
    laid = [Placement(k.id, "B07", 250.0 * (n % 7), 100.0 * (n // 7), 0.0) for n, k in enumerate(knees)]
    picture = board_sketch(Sheet(rack.BOARD, None, tuple(zip(knees, laid, strict=True)), 1, 1), 178.0)
    pen = RecordingPen()
    picture.draw(pen)
    words = [s for s in pen.strokes if s.kind == "text"]
    told = dict(re.findall(r"([a-z])\u00a0(F\d+-gusset-P)", " ".join(s.words for s in words)))
    assert sorted(told.values()) == sorted(k.id for k in knees)
    on_pieces = {s.words: s.points[0] for s in words if s.words in told}
    assert set(on_pieces) == set(told)
    left = {k.id: p for k, p in zip(knees, laid, strict=True)}
    for letter, name in told.items():  # 178 mm of page for 4 400 mm of board
        assert 0.0 < on_pieces[letter][0] * 4400.0 / 178.0 - left[name].x < 150.0
    for s in words:
        long = words_width(s.words, s.size) * (0.5 if s.anchor == "middle" else 1.0)
        assert float(s.points[0, 0]) + long <= 178.0 + 0.5
        assert s.size >= 5.0
