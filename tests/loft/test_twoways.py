"""A panel's two flats against the development of a cylinder in closed form."""

import numpy as np
import pytest

from strakewright.arrays import Floats, Ints
from strakewright.geometry import twoflats
from strakewright.geometry.meshes import border_loops
from strakewright.geometry.outlines import signed_area
from strakewright.geometry.surface import fit_patch
from strakewright.geometry.twoflats import apart, second_flat, thinned
from strakewright.loft.twoways import LIMIT, told_apart

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
    flat = second_flat(patch, chart, vertices, triangles, chart)
    assert flat.apart < 0.005
    assert apart(chart[flat.corners], flat.flat.points) < 0.005


def test_a_surface_off_the_mesh_is_told() -> None:
    """A surface fitted to a cylinder of 0.3 % more radius: its flat is 1800 x 0.003 mm longer, half of it each end."""
    vertices, chart, triangles = grid(1.003 * RADIUS)
    patch, _ = fit_patch(chart, vertices)
    far = second_flat(patch, chart, vertices, triangles, chart).apart
    assert far == pytest.approx(0.0015 * RADIUS * 1.2, rel=0.02)
    assert [f.code for f in told_apart("side", far)] == ["flats-differ"]
    assert told_apart("side", 0.9 * LIMIT) == ()


def test_fine_meshes_are_thinned_first(monkeypatch: pytest.MonkeyPatch) -> None:
    """A sixth of the corners says the same of a good surface, and of one that is 2.7 mm too short at either end."""
    monkeypatch.setattr(twoflats, "MOST", 80)
    for radius, within in ((RADIUS, (0.0, 0.01)), (1.003 * RADIUS, (0.0015 * RADIUS * 1.2, 0.3))):
        vertices, chart, triangles = grid(radius)
        patch, _ = fit_patch(chart, grid()[0])
        flat = second_flat(patch, chart, vertices, triangles, chart)
        assert len(flat.corners) < 160
        assert flat.apart == pytest.approx(within[0], abs=within[1])


def test_thinned_triangles_cover_the_flat_but_not_its_hole() -> None:
    """A sheet of 1800 x 800 mm with a hatch of 300 x 267: areas by the ruler, within what thinned rims cut off."""
    _, chart, triangles = grid()
    middle = chart[triangles].mean(axis=1)
    hatch = (np.abs(middle[:, 0] - 900) < 150) & (np.abs(middle[:, 1] - 400) < 134)
    used, own = np.unique(triangles[~hatch], return_inverse=True)
    corners, some = thinned(chart[used], own.reshape(-1, 3), 120)
    flat = chart[used][corners]
    a, b, c = (flat[some[:, k]] for k in range(3))
    double = (b - a)[:, 0] * (c - a)[:, 1] - (b - a)[:, 1] * (c - a)[:, 0]
    assert double.min() > 0
    assert double.sum() / 2 == pytest.approx(1800 * 800 - 300 * 800 / 3, rel=0.03)
    assert sorted(np.sign(signed_area(flat[loop])) for loop in border_loops(some)) == [-1, 1]
