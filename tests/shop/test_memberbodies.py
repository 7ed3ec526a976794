"""Members' solids against boxes and an independent library."""

from __future__ import annotations

import numpy as np
import pytest
import trimesh

from strakewright.members import Blank, Sawn, Swept
from strakewright.shop.memberbodies import sawn_mesh, swept_mesh


def swept(corners: np.ndarray) -> Swept:
    n = len(corners)
    ones = np.tile([[0.0, 1.0, 0.0]], (n, 1))
    blank = Blank(corners.mean(axis=1), ones, np.tile([[0.0, 0.0, 1.0]], (n, 1)), 40.0, 20.0)
    return Swept(np.linspace(0, 1, n), corners, blank, ())


def test_a_tapering_log() -> None:
    """Square of 40 mm tapering to 20 over 3 m: frustum, L / 3 (A + B + sqrt(A B)) (closed form)."""
    square = np.array([[-0.5, -0.5], [0.5, -0.5], [0.5, 0.5], [-0.5, 0.5]])
    x = np.linspace(0.0, 3000.0, 61)
    size = 40.0 - x / 150.0
    ring = np.concatenate([np.tile(x[:, None, None], (1, 4, 1)), size[:, None, None] * square[None]], axis=-1)
    solid = trimesh.Trimesh(*swept_mesh(swept(ring)), process=False)
    assert solid.is_watertight
    assert solid.volume == pytest.approx(1000.0 * (1600 + 400 + 800))


def test_a_bent_log_by_pappus() -> None:
    """Section swept round a circle: area x way of its middle (Pappus), within the chords' error."""
    square = np.array([[0.0, -15.0], [30.0, -15.0], [30.0, 15.0], [0.0, 15.0]])
    turn = np.linspace(0.0, 1.0, 201)
    radius = 2000.0 + square[:, 0]
    ring = np.stack(
        [radius * np.sin(turn[:, None]), radius * np.cos(turn[:, None]), np.tile(square[:, 1], (201, 1))], axis=-1
    )
    solid = trimesh.Trimesh(*swept_mesh(swept(ring[:, ::-1])), process=False)
    assert abs(solid.volume) == pytest.approx(900.0 * 2015.0, rel=1e-4)


def test_a_knee_with_a_hollow() -> None:
    """An L of 100 by 100 with arms of 30, 25 thick: 25 x (100 x 30 + 70 x 30)."""
    ring = np.array([[0.0, 0.0], [100, 0], [100, 30], [30, 30], [30, 100], [0, 100]])
    where = (np.array([500.0, 200.0, 300.0]), np.array([1.0, 0, 0]), np.array([0, 0, 1.0]))
    knee = Sawn("knee", "port", "white oak", 25.0, ring, *where, parts=(), pattern=None)  # type: ignore[arg-type]
    vertices, triangles = sawn_mesh(knee)
    solid = trimesh.Trimesh(vertices, triangles, process=False)
    assert abs(solid.volume) == pytest.approx(25.0 * 5100.0)
    along = (100 * 30 * 50 + 70 * 30 * 15) / 5100
    assert solid.center_mass == pytest.approx([500 + along, 200.0, 300 + along])
