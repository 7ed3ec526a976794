"""The map of what a panel's surface misses of its mesh: a dent put in by hand comes back where it was put."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from strakewright.hull import Hull
from strakewright.loft.hulls import loft_hull
from strakewright.settings import HullSettings
from strakewright.triangles import TriangleMesh
from strakewright.write.records import panels_document
from tests.exact_hulls import v_prism
from tests.exact_meshes import Make

DEEP, SPOT = 6.0, np.array([2400.0, 450.0])  # mm; x and y on the bottom, 20 degrees of deadrise
KEYS = HullSettings(Path("x"), "mm", 1.0, half=True)


def lofted(deep: float) -> Hull:
    """A V-bottomed prism, one corner of its bottom pushed in, square to the plane it belongs to."""
    vertices, triangles = v_prism(Make(triangles=6000, whole=False))
    slope = np.radians(20.0)
    on = np.abs(vertices[:, 2] - vertices[:, 1] * np.tan(slope)) < 1e-6
    off = np.where(on, np.linalg.norm(vertices[:, :2] - SPOT, axis=1), np.inf)
    vertices = vertices.copy()
    vertices[off.argmin()] += deep * np.array([0.0, -np.sin(slope), np.cos(slope)])
    return loft_hull(TriangleMesh(vertices, triangles), KEYS, "dented")


def test_a_dent_is_on_the_map_where_it_was_put() -> None:
    bottom = lofted(DEEP).panels[0]
    assert bottom.misses is not None
    p, q, miss = bottom.misses[np.abs(bottom.misses[:, 2]).argmax()]
    x, y, _ = bottom.patch.at(np.array([p, q]))
    assert np.hypot(x - SPOT[0], y - SPOT[1]) < 60.0  # the nearest corner
    assert abs(miss) == pytest.approx(bottom.residual, rel=1e-6)
    assert -DEEP < miss < -0.5 * DEEP  # inside the surface, which gave way to it a little
    others = bottom.misses[np.hypot(*(bottom.misses[:, :2] - [p, q]).T) > 400.0, 2]
    assert np.abs(others).max() < 0.05 * DEEP
    assert 100 < len(bottom.misses) < 900


def test_a_good_mesh_has_an_empty_map_and_it_is_written() -> None:
    hull = lofted(0.0)
    for panel, record in zip(hull.panels, panels_document(hull)["panels"], strict=True):
        assert panel.misses is not None
        assert np.abs(panel.misses[:, 2]).max() < 1e-6
        assert np.shape(record["residual_map"]) == panel.misses.shape
