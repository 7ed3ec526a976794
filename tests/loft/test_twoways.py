"""A panel's two flats against the development of a cylinder in closed form."""

import numpy as np
import pytest

from strakewright.arrays import Floats, Ints
from strakewright.geometry.meshes import border_loops
from strakewright.geometry.surface import fit_patch
from strakewright.loft import twoways
from strakewright.loft.twoways import LIMIT, flats_apart, told_apart

RADIUS, HIGH = 1500.0, 800.0


def grid(radius: float = RADIUS) -> tuple[Floats, Floats, Ints]:
    """Vertices on a cylinder, where they lie in its development (R angle, height), and triangles facing inwards."""
    along, up = np.meshgrid(np.linspace(0.0, 1.2, 37), np.linspace(0.0, HIGH, 13))
    chart = np.column_stack([RADIUS * along.ravel(), up.ravel()])
    vertices = np.column_stack([radius * np.sin(along.ravel()), radius * np.cos(along.ravel()), up.ravel()])
    corner = np.arange(len(chart)).reshape(along.shape)
    a, b, c, d = (s.ravel() for s in (corner[:-1, :-1], corner[:-1, 1:], corner[1:, :-1], corner[1:, 1:]))
    return vertices, chart, np.concatenate([np.stack([a, b, d], 1), np.stack([a, d, c], 1)])


def test_flat_of_the_patch_is_the_closed_form() -> None:
    vertices, chart, triangles = grid()
    patch, _ = fit_patch(chart, vertices)
    far = flats_apart(patch, chart, triangles, chart, border_loops(triangles)[0])
    assert far is not None
    assert far < 0.005


def test_a_surface_off_the_mesh_is_told() -> None:
    """A surface fitted to a cylinder of 0.3 % more radius: its flat is 1800 x 0.003 mm longer, half of it each end."""
    vertices, chart, triangles = grid(1.003 * RADIUS)
    patch, _ = fit_patch(chart, vertices)
    far = flats_apart(patch, chart, triangles, chart, border_loops(triangles)[0])
    assert far == pytest.approx(0.0015 * RADIUS * 1.2, rel=0.02)
    assert [f.code for f in told_apart("side", far)] == ["flats-differ"]
    assert told_apart("side", 0.9 * LIMIT) == ()


def test_very_fine_meshes_are_not_laid_flat_again(monkeypatch: pytest.MonkeyPatch) -> None:
    vertices, chart, triangles = grid()
    patch, _ = fit_patch(chart, vertices)
    monkeypatch.setattr(twoways, "MOST", len(chart) - 1)
    assert flats_apart(patch, chart, triangles, chart, border_loops(triangles)[0]) is None
