"""Planks and frames are worked out from the hull by different ways; hung on the frames, the planks touch them.

Source: geometry (the middle of a plank stands t / 2 off what it lies on, t / (2 cos bevel) in the plane of a frame).
"""

from __future__ import annotations

from dataclasses import replace

import pytest
from tests.acceptance.shapes import raked_wedge
from tests.acceptance.yard import Planked, planked, settings_of
from tests.exact_meshes import Make

from strakewright.errors import Check
from strakewright.frames import Framing, SawnFrame
from strakewright.proof.framing import judge_frames
from strakewright.settings import PlankingSettings
from strakewright.shop.frames import saw_frame
from strakewright.shop.inside import inside_of
from strakewright.shop.rawpieces import FrameSpec

SIDE = PlankingSettings(panel="side", pattern="strakes", thickness=19.0, courses=4, start="sheer", joint="none")


@pytest.fixture(scope="module")
def boat() -> Planked:
    return planked(raked_wedge(29.0, 0.0, Make(triangles=5000)), settings_of((SIDE,)))


@pytest.fixture(scope="module")
def frames(boat: Planked) -> tuple[SawnFrame, ...]:
    inside = inside_of(boat.hull, (SIDE,))
    made = [saw_frame(name, x, FrameSpec(), inside, ())[0] for name, x in boat.frames]
    return tuple(f for f in made if f is not None)


def bearing(boat: Planked, frames: tuple[SawnFrame, ...]) -> Check:
    checks = judge_frames(Framing(frames), (), boat.planks)
    return next(c for c in checks if c.name == "planks off the frames")


def test_planks_touch_the_frames(boat: Planked, frames: tuple[SawnFrame, ...]) -> None:
    check = bearing(boat, frames)
    assert check.holds
    assert check.value < 0.05


def test_a_frame_half_a_millimetre_narrow_is_seen(boat: Planked, frames: tuple[SawnFrame, ...]) -> None:
    narrow = tuple(replace(f, lines={k: v - [0.5, 0.0] for k, v in f.lines.items()}) for f in frames)
    assert not bearing(boat, narrow).holds
