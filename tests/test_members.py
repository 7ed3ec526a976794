"""A member's section in a station plane against closed forms: oblique prisms and a ring (solid geometry)."""

from __future__ import annotations

import numpy as np
import pytest

from strakewright.arrays import Floats
from strakewright.members import Blank, Swept, reach, section_at


def swept(run: Floats, corners: Floats) -> Swept:
    n = len(run)
    across, deep = (np.tile(v, (n, 1)) for v in ([0.0, 1.0, 0.0], [0.0, 0.0, 1.0]))
    return Swept(run, corners, Blank(corners.mean(axis=1), across, deep, 1.0, 1.0), ())


def square_stick(plan_deg: float, size: float, stations: int = 40) -> Swept:
    """A square stick on the level, run at an angle to the centreline in plan."""
    a = np.radians(plan_deg)
    run = np.linspace(0.0, 3000.0, stations)
    way, aside = np.array([np.cos(a), np.sin(a), 0.0]), np.array([-np.sin(a), np.cos(a), 0.0])
    up = np.array([0.0, 0.0, 1.0])
    half = size / 2
    square = [-half * aside - half * up, half * aside - half * up, half * aside + half * up, -half * aside + half * up]
    return swept(run, run[:, None, None] * way + np.array(square))


@pytest.mark.parametrize("plan_deg", [0.0, 12.0, 25.0])
def test_square_stick_crossing_obliquely(plan_deg: float) -> None:
    found = section_at(square_stick(plan_deg, 32.0), 1500.0)
    assert found is not None
    breadth = 32.0 / np.cos(np.radians(plan_deg))
    middle = 1500.0 * np.tan(np.radians(plan_deg))
    want = [[middle - breadth / 2, -16], [middle + breadth / 2, -16], [middle + breadth / 2, 16]]
    assert found[:3] == pytest.approx(np.array(want), abs=1e-9)


def test_ring_in_the_station_plane() -> None:
    """Corners on circles about the z axis: at x the corner of radius r stands at y = sqrt(r2 - x2)."""
    turn = np.linspace(-1.2, 1.2, 97)[::-1]
    radii = np.array([980.0, 1020.0, 1020.0, 980.0])
    heights = np.array([0.0, 0.0, 40.0, 40.0])
    corners = np.stack(
        [
            -radii * np.sin(turn)[:, None],
            radii * np.cos(turn)[:, None],
            np.broadcast_to(heights, (len(turn), 4)),
        ],
        axis=-1,
    )
    found = section_at(swept(np.linspace(0, 2400, len(turn)), corners), 333.0)
    assert found is not None
    assert found[:, 0] == pytest.approx(np.sqrt(radii**2 - 333.0**2), abs=2e-4)
    assert found[:, 1] == pytest.approx(heights, abs=1e-9)


def test_a_plane_past_the_end_is_missed() -> None:
    stick = square_stick(25.0, 32.0)
    low, high = reach(stick)
    assert section_at(stick, low + 1.0) is not None
    assert section_at(stick, low - 1.0) is None
    assert section_at(stick, high + 1.0) is None
    assert low == pytest.approx(16.0 * np.sin(np.radians(25.0)))
