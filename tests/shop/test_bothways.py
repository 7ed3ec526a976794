"""Which of two flats is used, against developments known in closed form: a cylinder opens to (R angle, height), a
bent plate to its two planes side by side."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from tests.bench.flatten_shapes import cone, irregular, off_after_fit, topside

from strakewright.arrays import Floats, Ints
from strakewright.flats import FlatPanel, TwoWays
from strakewright.geometry.arcs import smooth_surface
from strakewright.geometry.flatten import flatten
from strakewright.geometry.surface import fit_patch
from strakewright.geometry.twoflats import smooth_on
from strakewright.shop import bothways
from strakewright.shop.bothways import differing
from strakewright.shop.unrolling import unroll_surface

RADIUS = 1500.0


def ways_of(panel: FlatPanel) -> TwoWays:
    assert panel.ways is not None
    return panel.ways


def cylinder(count: int, noise: float) -> tuple[Floats, Ints]:
    """2 m by 0.6 m of a cylinder, its corners pushed in and out by noise (mm, one standard deviation)."""
    places, faces = irregular(2000.0, 600.0, count)
    out = RADIUS + np.random.default_rng(5).normal(0.0, noise, len(places))
    turn = places[:, 0] / RADIUS
    return np.column_stack([out * np.cos(turn), out * np.sin(turn), places[:, 1]]), faces


def rolled_out(points: Floats) -> Floats:
    return np.column_stack([RADIUS * np.arctan2(points[:, 1], points[:, 0]), points[:, 2]])


def bent_plate(fold_deg: float) -> tuple[Floats, Ints, Floats]:
    """A plate of 2.4 m by 0.6 m with a knuckle along its middle, and where its corners lie in the flat."""
    x, y = np.meshgrid(np.linspace(0, 2400, 49), np.linspace(-300, 300, 13))
    flat, f = np.column_stack([x.ravel(), y.ravel()]), np.radians(fold_deg)
    up = np.maximum(flat[:, 1], 0.0)
    space = np.column_stack([flat[:, 0], flat[:, 1] - up * (1 - np.cos(f)), up * np.sin(f)])
    corner = np.arange(len(flat)).reshape(x.shape)
    a, b, c, d = (s.ravel() for s in (corner[:-1, :-1], corner[:-1, 1:], corner[1:, :-1], corner[1:, 1:]))
    return space, np.concatenate([np.stack([a, b, d], 1), np.stack([a, d, c], 1)]), flat


def test_of_rough_corners_the_surface_is_used_and_lies_nearer_the_truth() -> None:
    """Corners astray by 0.3 mm every 11 mm: sides along the facets are 0.07 % too long, the surface evens them out."""
    vertices, faces = cylinder(20000, 0.3)
    (panel,) = unroll_surface(vertices, faces, crease_deg=40.0).panels
    ways = ways_of(panel)
    assert ways.used == "surface"
    assert "noise" in ways.why
    by_triangles = off_after_fit(flatten(vertices, faces, rounds=20).points, rolled_out(vertices))
    by_surface = off_after_fit(panel.flat, rolled_out(panel.vertices))
    assert by_surface < 0.06
    assert by_surface < 0.3 * by_triangles
    assert ways.by_surface[1] < 0.1 * ways.by_triangles[1]
    assert panel.strain_rms == ways.by_surface[1]


def test_over_a_knuckle_the_triangles_are_used_and_lie_nearer_the_truth() -> None:
    """Two planes lie flat exactly; a smooth surface rounds the knuckle off and comes out narrower."""
    vertices, faces, flat = bent_plate(12.0)
    (panel,) = unroll_surface(vertices, faces, crease_deg=15.0).panels
    ways = ways_of(panel)
    assert ways.used == "triangles"
    own = np.round(np.column_stack([panel.vertices[:, 0], np.hypot(*panel.vertices[:, 1:].T)]), 6)
    sides = np.where(panel.vertices[:, 2] > 0, 1.0, np.sign(panel.vertices[:, 1]))
    assert off_after_fit(panel.flat, own * np.column_stack([np.ones(len(own)), sides])) < 1e-6
    assert ways.apart > 0.02
    assert ways.off > 0.5
    assert len(flat) == ways.corners


def test_a_surface_that_misses_a_dent_is_not_used() -> None:
    """A dent of 8 mm and 60 mm radius in a topside, of smooth corners: less strain, but not this panel's."""
    shape = topside(4000)
    away = np.hypot(shape.vertices[:, 0] - 2200.0, shape.vertices[:, 2] - shape.vertices[:, 2].mean())
    dented = shape.vertices + np.outer(8.0 * np.exp(-((away / 60.0) ** 2)), [0.0, 1.0, 0.0])
    ways = ways_of(unroll_surface(dented, shape.triangles, crease_deg=40.0).panels[0])
    assert ways.used == "triangles"
    assert "misses" in ways.why
    assert ways.off > 1.0


def test_coarse_corners_on_a_smooth_surface() -> None:
    """500 triangles of a cone: the flat in use is nearer to the closed form, a sector (slant, angle x sine)."""
    shape = cone(500)
    (panel,) = unroll_surface(shape.vertices, shape.triangles, crease_deg=40.0).panels
    ways = ways_of(panel)
    assert ways.used == "surface"
    assert "every corner" in ways.why
    slant = np.linalg.norm(panel.vertices, axis=1)
    polar = np.arctan2(panel.vertices[:, 1], panel.vertices[:, 0]) % (2 * np.pi) * np.sin(0.35)
    exact = slant[:, None] * np.column_stack([np.sin(polar), np.cos(polar)])
    by_triangles = off_after_fit(flatten(shape.vertices, shape.triangles, rounds=20).points, shape.flat)
    assert off_after_fit(panel.flat, exact) < 0.5 * by_triangles


def test_few_corners_get_no_second_flat() -> None:
    plate, faces = irregular(800.0, 400.0, 12)
    assert unroll_surface(np.column_stack([plate, 0 * plate[:, 0]]), faces).panels[0].ways is None


def test_flats_far_apart_are_told() -> None:
    vertices, faces, _ = bent_plate(12.0)
    (panel,) = unroll_surface(vertices, faces).panels
    assert differing((panel,)) == []
    (told,) = differing((replace(panel, ways=replace(ways_of(panel), apart=1.5)),))
    assert told.code == "flats-differ"
    assert "1.5 mm apart; the flat by its triangles is used" in told.what


@pytest.mark.parametrize("count", [3000])
def test_curvatures_from_the_surface_are_those_of_the_cylinder(count: int) -> None:
    """1/R round, none along, in the directions of the axis; the same as from the corners round about."""
    vertices, faces = cylinder(count, 0.0)
    chart = rolled_out(vertices)
    patch, _ = fit_patch(chart, vertices)
    smooth = smooth_on(patch, chart)
    bend, way = smooth.principal()
    assert np.abs(np.abs(bend[:, 0]) * RADIUS - 1).max() < 1e-3
    assert np.abs(bend[:, 1]).max() < 1e-6
    assert np.abs(way[:, 2]).min() > 0.9999
    assert np.abs(smooth.gauss).max() < 1e-9
    other = smooth_surface(vertices, faces)
    assert np.abs(np.abs((smooth.normals * other.normals).sum(axis=1)) - 1).max() < 1e-4


def test_fine_meshes_are_compared_at_some_corners(monkeypatch: pytest.MonkeyPatch) -> None:
    """Smooth ones keep their triangles; rough ones are laid flat twice whole, however fine."""
    monkeypatch.setattr(bothways, "_ENOUGH", 2000)
    smooth = ways_of(unroll_surface(*cylinder(8000, 0.0), crease_deg=40.0).panels[0])
    assert smooth.used == "triangles"
    assert smooth.corners < 3000
    assert smooth.apart < 0.01
    rough = ways_of(unroll_surface(*cylinder(8000, 0.3), crease_deg=40.0).panels[0])
    assert rough.used == "surface"
    assert rough.corners > 4000
