"""Lengths, normals and curvatures of the smooth surface behind a mesh, against closed forms."""

from __future__ import annotations

import numpy as np
import pytest
from tests.bench.flatten_shapes import cone, cylinder, irregular, sphere_strip

from strakewright.geometry.arcs import arc_lengths, side_lengths, smooth_surface

SIDES = ((1, 2), (2, 0), (0, 1))


def test_arcs_of_a_cylinder_are_the_sides_of_its_flat() -> None:
    shape = cylinder(3000)
    exact = np.column_stack([shape.flat[shape.triangles[:, j]] - shape.flat[shape.triangles[:, i]] for i, j in SIDES])
    exact = np.linalg.norm(exact.reshape(-1, 3, 2), axis=2)
    chords, arcs = (f(shape.vertices, shape.triangles) for f in (side_lengths, arc_lengths))
    assert np.abs(arcs - exact).max() < 0.01 * np.abs(chords - exact).max()  # closed form


def test_arcs_of_a_sphere_are_great_circles() -> None:
    shape = sphere_strip(600.0, 2000)
    chords, arcs = (f(shape.vertices, shape.triangles) for f in (side_lengths, arc_lengths))
    great = 3000 * np.arcsin(chords / 3000)  # closed form
    assert np.abs(arcs - great).max() < 0.02 * (great - chords).max()


def test_normals_of_a_sphere_point_from_its_centre() -> None:
    shape = sphere_strip(600.0, 2000)
    surface = smooth_surface(shape.vertices, shape.triangles)
    assert np.einsum("ij,ij->i", surface.normals, shape.vertices / 1500).min() > 1 - 1e-6
    assert surface.gauss == pytest.approx(1 / 1500**2, rel=3e-3)  # closed form 1 / R^2
    assert surface.trust.min() == 1.0


def test_gauss_curvature_of_a_saddle_is_negative_and_of_a_cone_nothing() -> None:
    places, faces = irregular(1000.0, 1000.0, 2000)
    x, y = (places - 500).T
    saddle = smooth_surface(np.column_stack([x, y, x * y / 2000]), faces)
    middle = np.hypot(x, y) < 50
    assert saddle.gauss[middle] == pytest.approx(-1 / 2000**2, rel=0.02)  # closed form at z = x y / c: -1 / c^2
    shape = cone(3000)
    assert np.abs(smooth_surface(shape.vertices, shape.triangles).gauss).max() < 0.1 / 1500**2


def test_a_flat_mesh_keeps_its_chords_to_the_bit() -> None:
    places, faces = irregular(1000.0, 400.0, 300)
    space = np.column_stack([places, np.zeros(len(places))])
    assert (arc_lengths(space, faces) == side_lengths(space, faces)).all()


def test_corners_at_a_fold_are_not_trusted() -> None:
    places, faces = irregular(1000.0, 400.0, 1500)
    folded = np.abs(places[:, 1] - 200) < 12
    places[folded, 1] = 200.0
    rise = np.maximum(places[:, 1] - 200, 0)
    space = np.column_stack([places[:, 0], places[:, 1] - rise * (1 - np.cos(0.5)), rise * np.sin(0.5)])
    assert smooth_surface(space, faces).trust[folded].max() < 0.5


def test_a_heap_of_noise_is_not_trusted() -> None:
    places, faces = irregular(1000.0, 400.0, 1500)
    noise = np.random.default_rng(4).normal(0, 2.0, len(places))
    surface = smooth_surface(np.column_stack([places, noise]), faces)
    assert np.median(surface.trust) < 0.05
