"""Pens: lines turn and flip with the part, words stay readable."""

from __future__ import annotations

from xml.etree import ElementTree

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from strakewright.plan import Placement
from strakewright.write.pen import Hatch, RecordingPen, Role, hatch_lines, lay, placed, readable, text_box
from strakewright.write.svg import SvgPen

TRIANGLE = np.array([[0.0, 0.0], [4.0, 0.0], [0.0, 3.0]])


def test_flip_then_turn_then_shift() -> None:
    # worked by hand: (4, 0) and (0, 3) flip to (4, 0), (0, -3), turn to (0, 4), (3, 0), shift by (10, 20)
    laid = lay(TRIANGLE, Placement("a", "b", 10.0, 20.0, 90.0, flip=True))
    assert laid.tolist() == [[10, 20], [10, 24], [13, 20]]


def test_half_turn_is_exact() -> None:
    assert lay(TRIANGLE, Placement("a", "b", 0.0, 0.0, 180.0)).tolist() == [[0, 0], [-4, 0], [0, -3]]


@given(st.floats(-720, 720), st.booleans())
def test_words_are_never_upside_down_nor_mirrored(turn: float, flip: bool) -> None:
    pen = RecordingPen()
    across = placed(pen, Placement("a", "b", 5.0, 5.0, turn, flip))
    across.text(np.array([1.0, 2.0]), "FWD", height=10, turn=30.0, anchor="left", role=Role.LABEL)
    stands = pen.strokes[0].turn
    wanted = (-30.0 if flip else 30.0) + turn
    assert -90 <= stands <= 90
    assert (stands - wanted) % 180 == pytest.approx(0, abs=1e-6) or (stands - wanted) % 180 == pytest.approx(180)
    swapped = np.cos(np.deg2rad(stands - wanted)) < 0
    assert pen.strokes[0].anchor == ("right" if swapped else "left")


def test_every_call_reaches_the_pen_below() -> None:
    pen = RecordingPen()
    top = placed(pen, Placement("a", "b", 1.0, 0.0, 0.0, flip=True))
    top.polyline(TRIANGLE, closed=True, role=Role.CUT_OUTSIDE)
    top.circle(np.array([0.0, 2.0]), 1.5, Role.DRILL)
    top.area(TRIANGLE, Hatch(), Role.DEFECT)
    assert [s.kind for s in pen.strokes] == ["polyline", "circle", "area"]
    assert pen.strokes[0].points.tolist() == [[1, 0], [5, 0], [1, -3]]
    assert pen.strokes[1].points.tolist() == [[1, -2]]


def test_readable_edge_angles() -> None:
    assert [readable(a)[0] for a in (90.0, -90.0, 180.0, 360.0)] == [90.0, 90.0, 0.0, 0.0]


def test_hatching_covers_an_area_evenly() -> None:
    ring = np.array([[0.0, 0], [300, 0], [300, 200], [0, 200]])
    lines = hatch_lines(ring, Hatch(30.0, 5.0))
    inked = sum(np.hypot(*(line[-1] - line[0])) for line in lines)
    assert inked * 5.0 == pytest.approx(300 * 200, rel=0.02)  # length of lines times their gap is the area
    assert len(hatch_lines(ring, Hatch(30.0, 5.0, crossed=True))) > len(lines)


def test_box_of_words_holds_their_middle() -> None:
    box = text_box(np.array([50.0, 20.0]), "P3.1", 10.0, 0.0, "left")
    assert box[:, 0].min() < 50 < box[:, 0].max() < 50 + 4 * 10
    assert box[:, 1].mean() == pytest.approx(20.0)


def test_picture_holds_everything_and_escapes_words(tmp_path: object) -> None:
    pen = SvgPen(weight=2.0)
    pen.polyline(TRIANGLE * 100, closed=True, role=Role.CUT_OUTSIDE)
    pen.circle(np.array([10.0, 20.0]), 5.0, Role.DRILL)
    pen.area(TRIANGLE * 50, Hatch(), Role.DEFECT)
    pen.text(np.array([0.0, 0.0]), "a < b & c", height=10, turn=90, anchor="middle", role=Role.LABEL)
    shown = pen.markup(title="board <1>")
    assert 'viewBox="' in shown
    assert "a &lt; b &amp; c" in shown
    assert "<title>board &lt;1&gt;</title>" in shown
    assert shown == pen.markup(title="board <1>")


def test_gaps_between_words_of_a_picture_do_not_close_up() -> None:
    """By SVG 1.1, 10.15: runs of spaces are one space unless xml:space is "preserve"."""
    pen = SvgPen()
    for words in ("A to B: 5567 mm   B to C: 1053.5 mm", "one gap only"):
        pen.text(np.zeros(2), words, height=5.0, turn=0, anchor="left", role=Role.LABEL)
    wide, plain = ElementTree.fromstring(pen.markup(title="t")).iter("{http://www.w3.org/2000/svg}text")
    space = "{http://www.w3.org/XML/1998/namespace}space"
    assert wide.attrib[space] == "preserve"
    assert space not in plain.attrib
