"""Nets of triangles against Euler's count, known folds and known borders."""

from __future__ import annotations

import numpy as np
import pytest
from tests.bench.flatten_shapes import irregular

from strakewright.arrays import Floats, Ints
from strakewright.errors import InputError, UnworkableError
from strakewright.geometry.meshes import (
    border_loops,
    components,
    dihedral_fold,
    edges,
    face_areas,
    face_normals,
    fans,
    steady_normals,
    weld,
    wound_alike,
)

# a unit cube, outward
CUBE = np.array([[x, y, z] for x in (0.0, 1.0) for y in (0.0, 1.0) for z in (0.0, 1.0)])
SQUARES = [(0, 1, 3, 2), (4, 6, 7, 5), (0, 4, 5, 1), (2, 3, 7, 6), (0, 2, 6, 4), (1, 5, 7, 3)]
SKIN = np.array([[s[0], s[i], s[i + 1]] for s in SQUARES for i in (1, 2)])


def plate(count: int = 200) -> tuple[Floats, Ints]:
    places, faces = irregular(900.0, 500.0, count)
    return np.column_stack([places, np.zeros(len(places))]), faces


def test_edges_obey_euler() -> None:
    """Euler: corners - edges + faces = 2 on a sphere, 1 on a disk."""
    points, faces = plate()
    net = edges(faces)
    assert len(points) - len(net.ends) + len(faces) == 1
    assert len(CUBE) - len(edges(SKIN).ends) + len(SKIN) == 2
    assert edges(SKIN).inner.all()


def test_border_edges_are_what_three_sides_a_triangle_leave_over() -> None:
    """Closed form: 3 m = 2 inner + border."""
    _, faces = plate()
    net = edges(faces)
    assert 3 * len(faces) == 2 * net.inner.sum() + net.border.sum()


def test_cube_folds_by_ninety_degrees_and_nothing_across_its_faces() -> None:
    fold = np.degrees(dihedral_fold(CUBE, SKIN, edges(SKIN)))
    assert sorted(fold.round(9)) == [0.0] * 6 + [90.0] * 12  # closed form
    assert face_areas(CUBE, SKIN).sum() == pytest.approx(6.0)
    assert (np.einsum("ij,ij->i", face_normals(CUBE, SKIN), CUBE[SKIN].mean(axis=1) - 0.5) > 0).all()


def test_fold_does_not_depend_on_winding() -> None:
    turned = SKIN.copy()
    turned[::3] = turned[::3, ::-1]
    assert sorted(np.degrees(dihedral_fold(CUBE, turned, edges(turned))).round(9)) == [0.0] * 6 + [90.0] * 12


def test_folded_back_is_half_a_turn() -> None:
    points = np.array([[0.0, 0, 0], [1, 0, 0], [0.4, 1, 0], [0.6, 1, 0]])
    faces = np.array([[0, 1, 2], [1, 0, 3]])
    assert dihedral_fold(points, faces, edges(faces)).max() == pytest.approx(np.pi)


def test_cube_comes_apart_into_six_squares() -> None:
    net = edges(SKIN)
    assert components(12, net).max() == 0
    assert components(12, net, dihedral_fold(CUBE, SKIN, net) < 0.1).tolist() == [i // 2 for i in range(12)]


def test_border_is_walked_with_the_material_on_the_left() -> None:
    points, faces = plate()
    (loop,) = border_loops(faces)
    x, y = points[loop, :2].T
    assert np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y) / 2 == pytest.approx(900 * 500)  # counter-clockwise
    (turned,) = border_loops(faces[:, ::-1])
    assert sorted(turned) == sorted(loop)
    assert np.sum(points[turned, 0] * np.roll(points[turned, 1], -1)) < np.sum(
        np.roll(points[turned, 0], -1) * points[turned, 1]
    )


def test_a_window_is_a_second_loop_the_other_way_round() -> None:
    points, faces = plate(600)
    inside = np.hypot(*(points[faces].mean(axis=1)[:, :2] - [450, 250]).T) < 120
    outer, inner = border_loops(faces[~inside])
    x, y = points[inner, :2].T
    window = -face_areas(points, faces[inside]).sum()
    assert np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y) / 2 == pytest.approx(window)
    assert len(outer) > len(inner)


def test_no_border_on_a_closed_skin() -> None:
    assert border_loops(SKIN) == ()


def test_triangles_that_touch_in_one_corner_are_told_apart() -> None:
    bow_tie = np.array([[0, 1, 2], [0, 3, 4]])
    with pytest.raises(UnworkableError, match="single corner"):
        border_loops(bow_tie)
    own, origin = fans(bow_tie, edges(bow_tie))
    assert len(origin) == 6
    assert (origin[own] == bow_tie).all()
    assert len(border_loops(own)) == 2


def test_fans_part_a_cube_into_squares() -> None:
    net = edges(SKIN)
    own, origin = fans(SKIN, net, dihedral_fold(CUBE, SKIN, net) < 0.1)
    assert len(origin) == 24  # six squares of four corners
    assert (origin[own] == SKIN).all()


def test_fans_leave_a_sound_mesh_as_it_is() -> None:
    points, faces = plate()
    own, origin = fans(faces, edges(faces))
    assert len(origin) == len(points)
    assert (origin[own] == faces).all()


def test_three_triangles_on_one_edge_are_crowded_and_join_nothing() -> None:
    faces = np.array([[0, 1, 2], [1, 0, 3], [0, 1, 4]])
    net = edges(faces)
    assert net.crowded.sum() == 1
    assert components(3, net).tolist() == [0, 1, 2]
    with pytest.raises(UnworkableError, match="overlap"):
        border_loops(faces)


def test_winding_is_mended_to_that_of_most() -> None:
    _, faces = plate()
    spoiled = faces.copy()
    spoiled[::4] = spoiled[::4, ::-1]
    assert (wound_alike(spoiled) == faces).all()
    assert (wound_alike(faces) == faces).all()
    spoiled[:] = faces[:, ::-1]
    assert (wound_alike(spoiled) == spoiled).all()


def test_a_twisted_ring_has_one_side_only() -> None:
    """Moebius band of six triangles: the last pair of corners meets the first the other way round."""
    band = np.array([[0, 1, 2], [1, 3, 2], [2, 3, 4], [3, 5, 4], [4, 5, 1], [5, 0, 1]])
    with pytest.raises(UnworkableError, match="one side"):
        wound_alike(band)


def test_weld_brings_loose_triangles_together() -> None:
    points, faces = plate()
    loose = points[faces].reshape(-1, 3)
    numbered = np.arange(len(loose)).reshape(-1, 3)
    welded, joined = weld(loose, numbered)
    assert len(welded) == len(points)
    assert (welded[joined] == points[faces]).all()
    shaken = loose + np.random.default_rng(2).uniform(-1e-4, 1e-4, loose.shape)
    welded, joined = weld(shaken, numbered, 1e-3)
    assert len(welded) == len(points)
    assert np.abs(welded[joined] - points[faces]).max() < 3e-4


def test_weld_drops_triangles_that_vanish_and_corners_nobody_uses() -> None:
    points = np.array([[0.0, 0, 0], [1, 0, 0], [0, 1, 0], [0, 1, 1e-9], [7, 7, 7]])
    welded, faces = weld(points, np.array([[0, 1, 2], [1, 2, 3]]), 1e-6)
    assert len(welded) == 3
    assert faces.tolist() == [[0, 1, 2]]
    with pytest.raises(InputError, match="no triangle"):
        weld(points, np.array([[0, 2, 3]]), 1e-6)


def test_a_sliver_along_a_crease_goes_to_one_side_of_it() -> None:
    """Two planes folded by 90 degrees with a corner a hair off the common side: one sliver, of any normal."""
    points = np.array([[0.0, 0, 0], [100, 0, 0], [50, -80, 0], [50, 0, 80], [50, 1e-5, 2e-5]])
    faces = np.array([[1, 0, 2], [0, 1, 4], [0, 4, 3], [4, 1, 3]])
    net = edges(faces)
    sharp = components(4, net, dihedral_fold(points, faces, net) < 0.2)
    assert sharp.max() == 2  # as it is, the sliver stands alone
    steady = steady_normals(points, faces, net, 1e-3)
    label = components(4, net, dihedral_fold(points, faces, net, steady) < 0.2)
    assert label.tolist() == [0, 0, 1, 1]


def test_normals_of_sound_triangles_stay_their_own() -> None:
    assert (steady_normals(CUBE, SKIN, edges(SKIN), 1e-6) == face_normals(CUBE, SKIN)).all()
