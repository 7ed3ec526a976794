"""Level lines against circles and straight lines known beforehand."""

from __future__ import annotations

import numpy as np
import pytest
from tests.bench.flatten_shapes import irregular

from strakewright.geometry.contours import at_corners, level_lines


def test_levels_of_a_cone_are_closed_circles() -> None:
    points, faces = irregular(2000.0, 2000.0, 20000)
    far = np.hypot(*(points - 1000).T)
    (ring,) = level_lines(points, faces, far, 600.0)
    assert (ring[0] == ring[-1]).all()
    assert np.abs(np.hypot(*(ring - 1000).T) - 600).max() < 0.5  # closed form; chords of a 14 mm mesh
    assert np.linalg.norm(np.diff(ring, axis=0), axis=1).sum() == pytest.approx(2 * np.pi * 600, rel=2e-3)


def test_levels_of_a_slope_run_from_border_to_border() -> None:
    points, faces = irregular(2000.0, 500.0, 800)
    (line,) = level_lines(points, faces, points @ [1.0, 1.0], 1000.0)
    assert np.allclose(line.sum(axis=1), 1000.0)
    assert line[[0, -1], 1].tolist() == pytest.approx([500.0, 0.0])


def test_no_line_where_the_level_is_not_reached() -> None:
    points, faces = irregular(2000.0, 500.0, 100)
    assert level_lines(points, faces, points[:, 0], 3000.0) == []


def test_corner_values_keep_a_constant_and_weigh_by_area() -> None:
    faces = np.array([[0, 1, 2], [0, 2, 3]])
    assert at_corners(faces, np.array([1.0, 3.0]), np.array([4.0, 0.0])).tolist() == [1.0, 4.0, 1.0, 0.0]
