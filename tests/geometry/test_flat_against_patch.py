"""The triangles' route against the spline's: a quintic patch over the flat has its own opinion of every strain."""

from __future__ import annotations

import numpy as np
import pytest
from tests.bench.flatten_shapes import off_after_fit, sphere_strip, topside

from strakewright.geometry.flatten import flatten, flatten_sides
from strakewright.geometry.surface import FitOptions, fit_patch, forms

PLAIN = FitOptions(reach=50.0, spans_p=36, spans_q=8, stiffness=1e-9)


@pytest.mark.parametrize("shape", [topside(4000), sphere_strip(600.0, 4000)], ids=["topside", "sphere"])
def test_strains_are_those_of_a_spline_over_the_flat(shape) -> None:
    """Derived: stretches of the flat are the inverse singular values of (r_p, r_q) of any patch over it."""
    flat = flatten(shape.vertices, shape.triangles)
    patch, residual = fit_patch(flat.points, shape.vertices, options=PLAIN)
    assert residual < 0.02
    form = forms(patch, flat.points[shape.triangles].mean(axis=1))
    metric = np.moveaxis(np.array([[form.E, form.F], [form.F, form.G]]), -1, 0)
    stretch = 1 / np.sqrt(np.linalg.eigvalsh(metric))
    apart = stretch - flat.stretch
    assert np.sqrt(np.mean(apart**2)) < 0.15 * flat.strain_rms  # the strain of a point against that of a triangle
    assert stretch.max() - 1 == pytest.approx(flat.stretch.max() - 1, rel=0.15)


def test_lengths_taken_from_the_spline_give_the_same_flat() -> None:
    """Both routes together: sides measured along the patch by Gauss's rule against sides from the quadrics."""
    shape = topside(4000)
    flat = flatten(shape.vertices, shape.triangles)
    patch, _ = fit_patch(flat.points, shape.vertices, options=PLAIN)
    sides = []
    for i, j in ((1, 2), (2, 0), (0, 1)):
        start, way = flat.points[shape.triangles[:, i]], np.diff(flat.points[shape.triangles[:, [i, j]]], axis=1)[:, 0]
        length = np.zeros(len(way))
        for place, weight in zip((-np.sqrt(0.6), 0.0, np.sqrt(0.6)), (5 / 18, 8 / 18, 5 / 18), strict=True):
            _, r_p, r_q = patch.jet1(start + (1 + place) / 2 * way)
            length += weight * np.linalg.norm(r_p * way[:, :1] + r_q * way[:, 1:], axis=1)
        sides.append(length)
    other = flatten_sides(shape.vertices, shape.triangles, np.column_stack(sides))
    assert off_after_fit(flat.points, other.points) < 0.02  # measured 0.006 mm
