"""Borders drawn fair through noise: against the textbook's least squares, and hulls whose lines are known on paper."""

from __future__ import annotations

import numpy as np
import pytest

from strakewright.loft.parting import part_skin
from strakewright.loft.sides import PanelMesh, panel_meshes
from strakewright.loft.steadying import _common, _faired, _Line, _shake, _smoother, steadied
from strakewright.loft.symmetry import port_half
from strakewright.triangles import TriangleMesh
from tests import exact_hulls as exact
from tests.acceptance.test_random_hulls import random_hull
from tests.bench.damage_bench import most_out
from tests.exact_meshes import Make
from tests.loft.hulls import codes, lofted, settings, space


def panels(noise: float, seed: int = 1) -> tuple[PanelMesh, ...]:
    vertices, triangles = exact.running_chine(Make(triangles=4000))
    noisy = vertices + np.random.default_rng(seed).uniform(-noise, noise, vertices.shape)
    return panel_meshes(part_skin(port_half(TriangleMesh(noisy, triangles), settings()), 12.0))


@pytest.mark.parametrize("count", [9, 25, 80])
def test_a_straight_line_is_the_textbooks_least_squares_line(count: int) -> None:
    """Share of a corner's variance left at the ends of a line through n even points: 2 (2n - 1) / (n (n + 1))
    (N. Draper, H. Smith, Applied Regression Analysis).  By Gauss and Markov no unbiased line does better."""
    at = np.arange(count, dtype=float)
    line = np.column_stack([at, 0 * at, 3 + 2 * at]) + np.random.default_rng(3).normal(0, 1e-3, (count, 3))
    spread = _smoother(at, line)
    least = 2 * (2 * count - 1) / (count * (count + 1))
    assert min(spread[0, 0], spread[-1, -1]) > least * (1 - 1e-6)
    assert spread[0, 0] < 4 * least
    assert spread @ np.column_stack([np.ones(count), at]) == pytest.approx(np.column_stack([np.ones(count), at]))


def test_noise_is_measured_from_corners_alone() -> None:
    """A circle of 3 m with corners strewn about even places: noise found within a tenth, of none next to nothing."""
    rng = np.random.default_rng(5)
    turn = np.sort(np.linspace(0, 1.5, 200) + rng.uniform(-0.002, 0.002, 200))
    circle = 3000 * np.column_stack([np.cos(turn), np.sin(turn), 0 * turn])
    assert _shake(3000 * turn, circle) < 1e-4
    assert _shake(3000 * turn, circle + rng.normal(0, 0.05, circle.shape)) == pytest.approx(0.05, rel=0.1)


def test_borders_without_noise_are_left_to_the_last_digit() -> None:
    meshes = panels(0.0)
    assert steadied(meshes) == (meshes, ())


def test_one_lost_corner_is_no_noise() -> None:
    """A chine of exact corners but for one, 1 mm off: the others are on their line and stay there.

    Of noise, distances have a median near the root of their mean square (three ways: 0.89, two 0.83, one 0.67, by the
    laws of Maxwell, Rayleigh and Gauss)."""
    at = np.linspace(0, 4000, 90)
    line = np.column_stack([at, 700 - 2e-5 * (at - 2000) ** 2, 0 * at])
    rng = np.random.default_rng(4)
    for ways, share in ((3, 0.888), (2, 0.833), (1, 0.674)):
        assert _common(rng.normal(0, 1, (4000, ways))) == pytest.approx(share, abs=0.02)
    line[86, 2] += 1.0
    told = _faired(_Line(np.arange(90), line, np.zeros((0, 0)), 0.0, False))
    assert not told.noisy
    assert np.array_equal(told.points, line)
    strewn = line + rng.normal(0, 0.1, line.shape)
    assert _faired(_Line(np.arange(90), strewn, np.zeros((0, 0)), 0.0, False)).noisy


@pytest.mark.parametrize("seed", [5, 33])
def test_a_bent_end_of_few_corners_is_no_noise(seed: int) -> None:
    """Coarse hulls of exact corners (invented, seeded): stems of seven or eight corners bend, and none is astray."""
    assert "corners-astray" not in codes(lofted(random_hull(np.random.default_rng(seed))))


def test_the_ends_of_a_plane_transom_come_back() -> None:
    """Transom and chine of the running chine, on paper: x = 0, y = 700, z = 800; corners 0.1 mm astray each way."""
    for seed in range(6):
        bottom, side = panels(0.1, seed)
        (low, high), (told,) = steadied((bottom, side))
        assert told.code == "corners-astray"
        before = np.abs(bottom.vertices[bottom.upper.corners][:, 1:] - [700.0, 800.0])
        chine = low.vertices[low.upper.corners]
        assert np.array_equal(chine, high.vertices[high.lower.corners])
        after = np.abs(chine[:, 1:] - [700.0, 800.0])
        assert np.sqrt(np.mean(after**2)) < 0.4 * np.sqrt(np.mean(before**2))
        assert low.aft is not None
        ends = low.vertices[low.aft.corners][:, 0]
        assert np.ptp(ends) < 0.08 < np.ptp(bottom.vertices[bottom.aft.corners][:, 0])  # type: ignore[union-attr]


def test_a_fine_noisy_mesh_is_no_farther_out_than_told() -> None:
    """Borders of more corners than are drawn fair at once; the straight chine of the paper: y = 700, z = 800."""
    vertices, triangles = exact.running_chine(Make(triangles=100_000))
    noisy = vertices + np.random.default_rng(2).uniform(-0.05, 0.05, vertices.shape)
    hull = lofted((noisy, triangles))
    assert "corners-astray" in codes(hull)
    for panel in hull.panels:
        assert np.abs(space(panel, "chine")[:, 1:] - [700.0, 800.0]).max() < most_out(hull) < 0.1
