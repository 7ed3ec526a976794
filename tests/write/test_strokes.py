"""Stroked letters: size, place and that no two signs look alike."""

from __future__ import annotations

import string

import numpy as np
import pytest

from strakewright.write.pen import RecordingPen, Role, text_box
from strakewright.write.strokes import StrokedPen, word_lines, words_long

SHOWN = string.ascii_uppercase + string.digits + "-+.,:;/()='\"%&<>_#*!?"


@pytest.mark.parametrize("sign", SHOWN)
def test_every_sign_stands_in_its_box(sign: str) -> None:
    points = np.concatenate(word_lines(sign, 12.0))
    assert points.min() >= 0.0
    assert points[:, 0].max() <= words_long(sign, 12.0) + 1e-9
    assert points[:, 1].max() <= 12.0
    if sign.isalnum():
        assert np.ptp(points[:, 1]) == pytest.approx(12.0)  # capitals and figures are as high as asked


def test_no_two_signs_are_drawn_alike() -> None:
    drawn = {sign: str([line.tolist() for line in word_lines(sign, 10.0)]) for sign in SHOWN}
    assert len(set(drawn.values())) == len(SHOWN)


def test_small_letters_are_capitals_and_strangers_a_question_mark() -> None:
    assert str(word_lines("ab", 10.0)) == str(word_lines("AB", 10.0))
    assert str(word_lines("~", 10.0)) == str(word_lines("?", 10.0))
    assert word_lines(" ", 10.0) == []


@pytest.mark.parametrize(("anchor", "turn"), [("left", 0.0), ("middle", 90.0), ("right", -30.0)])
def test_words_keep_within_the_space_that_is_kept_free_for_them(anchor: str, turn: float) -> None:
    pen, at = RecordingPen(), np.array([100.0, 50.0])
    StrokedPen(pen).text(at, "S03aP PORT", height=10, turn=turn, anchor=anchor, role=Role.LABEL)  # type: ignore[arg-type]
    box = text_box(at, "S03aP PORT", 10.0, turn, anchor)  # type: ignore[arg-type]
    points = np.concatenate([s.points for s in pen.strokes])
    for n in range(4):
        way, out = box[(n + 1) % 4] - box[n], points - box[n]
        assert (way[0] * out[:, 1] - way[1] * out[:, 0] >= -1e-6).all()
    assert {s.role for s in pen.strokes} == {Role.LABEL}
