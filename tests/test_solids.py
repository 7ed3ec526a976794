"""Volume and middle of a solid against closed forms (a box: l w h and its centre) and against trimesh."""

from __future__ import annotations

import numpy as np
import pytest
import trimesh

from strakewright.solids import Body, centroid, volume


def test_a_box_far_from_the_origin() -> None:
    box = trimesh.creation.box(extents=(30.0, 20.0, 10.0))
    body = Body("box", box.vertices + np.array([5000.0, -700.0, 300.0]), np.asarray(box.faces))
    assert volume(body) == pytest.approx(6000.0, rel=1e-12)
    np.testing.assert_allclose(centroid(body), [5000.0, -700.0, 300.0], atol=1e-9)


def test_a_solid_without_volume_has_no_middle() -> None:
    flat = Body("sheet", np.array([[0.0, 0, 0], [1, 0, 0], [0, 1, 0]]), np.array([[0, 1, 2], [0, 2, 1]]))
    with pytest.raises(ValueError, match="encloses nothing"):
        centroid(flat)


def test_a_round_solid_against_trimesh() -> None:
    ball = trimesh.creation.icosphere(subdivisions=3, radius=40.0)
    body = Body("ball", ball.vertices, np.asarray(ball.faces))
    assert volume(body) == pytest.approx(float(ball.volume), rel=1e-9)
