"""Biarcs against curves in closed form, by lengths, areas and distances of dense truth."""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from strakewright.arrays import Floats
from strakewright.geometry.biarcs import biarcs, dense
from strakewright.geometry.outlines import thin_ring

TOL = 0.02


def off(truth: Floats, line: Floats, closed: bool) -> float:
    """Hausdorff distance mm by an independent library."""
    kind = shapely.LinearRing if closed else shapely.LineString
    return float(shapely.hausdorff_distance(kind(truth), kind(line), densify=0.05))


def ellipse(n: int) -> Floats:
    turn = np.arange(n) * 2 * np.pi / n
    return np.column_stack([1500 * np.cos(turn), 400 * np.sin(turn)])


def test_a_circle_becomes_a_few_exact_arcs() -> None:
    turn = np.arange(90) * 2 * np.pi / 90
    rows = biarcs(700 * np.column_stack([np.cos(turn), np.sin(turn)]), closed=True, tol=TOL)
    assert len(rows) <= 16
    radii = np.hypot(*dense(rows, closed=True).T)
    assert np.abs(radii - 700.0).max() < 1e-6  # every arc is the circle itself


def test_an_ellipse_thinned_as_outlines_are_comes_back_within_the_tolerance() -> None:
    truth = ellipse(20000)
    polygon = thin_ring(truth)
    rows = biarcs(polygon, closed=True, tol=TOL)
    assert len(rows) < 0.5 * len(polygon)
    assert off(truth, dense(rows, closed=True), closed=True) < 0.05
    # area of an ellipse is pi a b; Ramanujan's series for its perimeter
    area = shapely.Polygon(dense(rows, closed=True)).area
    assert area == pytest.approx(np.pi * 1500 * 400, rel=2e-5)
    h = ((1500 - 400) / (1500 + 400)) ** 2
    around = np.pi * 1900 * (1 + 3 * h / (10 + np.sqrt(4 - 3 * h)))
    assert shapely.Polygon(dense(rows, closed=True)).length == pytest.approx(around, rel=2e-5)


def test_corners_and_straights_stay_what_they_are() -> None:
    x = np.linspace(0.0, 2400.0, 80)
    crooked = np.column_stack([x, 60 * np.sin(x / 900)])
    ring = np.concatenate([crooked, [[2400.0, 200.0], [0.0, 200.0]]])
    rows = biarcs(ring, closed=True, tol=TOL)
    for corner in ([0.0, 0.0], [2400.0, crooked[-1, 1]], [2400.0, 200.0], [0.0, 200.0]):
        assert np.hypot(*(rows[:, :2] - corner).T).min() == 0.0
    assert (rows[:, 2] == 0).sum() >= 3  # the three straight sides
    fine = np.linspace(0.0, 2400.0, 20000)
    truth = np.concatenate([np.column_stack([fine, 60 * np.sin(fine / 900)]), [[2400.0, 200.0], [0.0, 200.0]]])
    assert off(truth, dense(rows, closed=True), closed=True) < 0.05


def test_open_lines_keep_their_ends() -> None:
    x = np.linspace(0.0, 900.0, 40)
    line = np.column_stack([x, 1e-4 * x * x])
    rows = biarcs(line, closed=False, tol=TOL)
    assert rows[0, :2].tolist() == line[0].tolist()
    assert rows[-1, :2].tolist() == line[-1].tolist()
    assert off(line, dense(rows, closed=False), closed=False) < 0.05


def test_a_bend_to_the_right_has_a_negative_bulge() -> None:
    turn = np.linspace(np.pi, 0.0, 60)[:45]
    rows = biarcs(500 * np.column_stack([np.cos(turn), np.sin(turn)]), closed=False, tol=TOL)
    assert (rows[:-1, 2] < 0).all()


def test_two_points_are_a_straight() -> None:
    rows = biarcs(np.array([[0.0, 0.0], [300.0, 0.0]]), closed=False)
    assert rows.tolist()[-1] == [300.0, 0.0, 0.0]
    assert np.abs(rows[:, 2]).max() == 0.0
