"""What holds a thin first layer: worked by hand (9.5 mm over bays of 600 mm at 45 degrees spans 850 mm)."""

from __future__ import annotations

from dataclasses import replace

import pytest

from strakewright.settings import MemberSettings, PlankingSettings
from strakewright.shop.clearspans import battens_of, free_span, unheld

DIAGONALS = PlankingSettings("bottom", "herringbone", 9.5, layers=2, width=100.0, angle_deg=45.0)
FRAMES = [600.0, 1200.0, 1800.0]


def batten(along: str, **more: str) -> MemberSettings:
    return replace(MemberSettings("batten", along, 30.0, 20.0), **more)  # type: ignore[arg-type]


def test_a_thin_layer_over_wide_bays_is_told_how_far_it_runs_free() -> None:
    (told,) = unheld(DIAGONALS, FRAMES, 900.0, [])
    assert (told.code, told.level, told.subject) == ("layer-unheld", "note", "bottom layer 1")
    assert "run 849 mm" in told.what  # 600 / cos 45
    assert "285 mm is usual" in told.what  # 30 x 9.5


def test_battens_a_third_apart_hold_it() -> None:
    battens = battens_of("bottom", [batten("bottom@0.66"), batten("bottom@0.33"), batten("chine"), batten("side@0.5")])
    assert battens == [0.33, 0.66]
    assert unheld(DIAGONALS, FRAMES, 800.0, battens) == []  # 0.34 x 800 = 272 mm, under 285
    assert unheld(DIAGONALS, FRAMES, 900.0, battens)  # 306 mm


def test_battens_outside_hold_nothing() -> None:
    assert battens_of("bottom", [batten("bottom@0.5", face="outside")]) == []


@pytest.mark.parametrize(("pattern", "span"), [("strakes", 600.0), ("cross", 900.0)])
def test_strakes_lie_on_frames_and_cross_planks_on_battens(pattern: str, span: float) -> None:
    layer = replace(DIAGONALS, pattern=pattern)  # type: ignore[arg-type]
    assert free_span(layer, 600.0, 900.0) == pytest.approx(span)


def test_frames_close_enough_hold_any_layer_they_cross() -> None:
    assert free_span(DIAGONALS, 280.0, 900.0) is None
    assert free_span(replace(DIAGONALS, pattern="cross"), 280.0, 900.0) == pytest.approx(900.0)
