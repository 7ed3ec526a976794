"""Curves against circles, ellipses and cubics."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from strakewright.arrays import Floats
from strakewright.geometry import curves


def arc(radius: float, turn: float, count: int) -> Floats:
    angle = np.linspace(0.0, turn, count)
    return radius * np.column_stack([np.cos(angle), np.sin(angle)])


def test_curve_through_points_of_a_circle() -> None:
    curve = curves.spline_curve(arc(1000.0, 1.5, 40))
    u = np.linspace(0.0, curve.end, 500)
    assert np.abs(np.linalg.norm(curve.at(u), axis=1) - 1000.0).max() < 1e-6  # closed form
    assert curve.length() == pytest.approx(1500.0, abs=1e-6)  # closed form
    assert np.abs(curves.curvature(curve, u) - 1e-3).max() < 1e-8  # closed form, + to the left


def test_curvature_in_space_and_to_the_right() -> None:
    flat = arc(1000.0, 1.5, 40)
    tilted = np.column_stack([flat[:, 0], 0.6 * flat[:, 1], 0.8 * flat[:, 1]])
    u = np.linspace(0.0, 1400.0, 50)
    assert curves.curvature(curves.spline_curve(tilted), u) == pytest.approx(1e-3, rel=1e-4)  # closed form
    assert curves.curvature(curves.spline_curve(flat[::-1]), u) == pytest.approx(-1e-3, rel=1e-4)  # closed form


@pytest.mark.parametrize("count", [2, 3, 4, 5, 6])
def test_few_points_still_make_a_curve_through_them(count: int) -> None:
    points = arc(500.0, 1.0, count)
    curve = curves.spline_curve(points)
    assert np.abs(curve.at(curves.arc_length(points)) - points).max() < 1e-9


def test_repeated_points_do_no_harm() -> None:
    points = np.repeat(arc(500.0, 1.0, 20), 2, axis=0)
    assert curves.spline_curve(points).length() == pytest.approx(500.0, abs=1e-4)  # closed form


def test_resample_keeps_to_the_curve_not_to_the_chords() -> None:
    fine = curves.resample(arc(1000.0, 1.5, 30), 4.0)
    assert np.abs(np.linalg.norm(fine, axis=1) - 1000.0).max() < 1e-5  # closed form; chords are 0.33 mm inside
    steps = np.diff(np.unwrap(np.arctan2(fine[:, 1], fine[:, 0]))) * 1000.0
    assert steps.max() <= 4.0 + 1e-6
    assert np.ptp(steps) < 1e-6


def test_curve_through_rough_points_has_no_false_bends() -> None:
    rough = arc(1000.0, 1.0, 400)
    rough *= 1.0 + 5e-6 * np.random.default_rng(0).uniform(-1, 1, (400, 1))  # +-0.005 mm
    u = curves.arc_length(rough)
    drawn = curves.SplineCurve(curves.drawn_through(u, rough), u[-1])
    inner = np.linspace(50.0, 950.0, 200)
    assert np.abs(curves.curvature(drawn, inner) - 1e-3).max() < 2e-4  # closed form
    through = curves.SplineCurve(curves.interpolant(u, rough), u[-1])
    assert np.abs(curves.curvature(through, inner) - 1e-3).max() > 1e-3  # what is avoided


def test_curve_with_corners_is_followed_all_the_same() -> None:
    corner = np.array([[0.0, 0.0], [100.0, 0.0], [200.0, 0.0], [200.0, 100.0], [200.0, 200.0]])
    u = curves.arc_length(corner)
    assert np.abs(curves.drawn_through(u, corner)(u) - corner).max() < 1e-9


def test_thin_keeps_within_tolerance_of_a_circle() -> None:
    fine = arc(3000.0, 1.0, 4001)
    few = curves.thin(fine, 0.05)
    steps = np.linalg.norm(np.diff(few, axis=0), axis=1)
    assert steps.max() <= np.sqrt(8 * 3000.0 * 0.05) * 1.01  # closed form: chord of sag 0.05
    assert len(few) < 2 * 3000.0 / np.sqrt(8 * 3000.0 * 0.05)  # closed form: twice the fewest possible
    assert (few[0] == fine[0]).all()
    assert (few[-1] == fine[-1]).all()


@pytest.mark.parametrize("longest", [7.0, 50.0])
def test_thin_obeys_the_longest_segment(longest: float) -> None:
    line = np.array([[0.0, 0.0], [400.0, 0.0], [400.0, 95.0]])
    for points in (line, arc(8000.0, 0.5, 2000)):
        few = curves.thin(points, 0.05, longest)
        assert np.linalg.norm(np.diff(few, axis=0), axis=1).max() <= longest + 1e-9


@given(st.lists(st.tuples(st.integers(-500, 500), st.integers(-500, 500)), min_size=2, max_size=40))
def test_thin_never_leaves_a_point_further_than_the_tolerance(points: list[tuple[int, int]]) -> None:
    line = np.array(points, dtype=float)
    few = curves.thin(line, 3.0)
    for point in line:
        a, d = few[:-1], np.diff(few, axis=0)
        share = np.clip(((point - a) * d).sum(1) / np.maximum((d * d).sum(1), 1e-12), 0, 1)
        assert np.linalg.norm(a + share[:, None] * d - point, axis=1).min() <= 3.0 + 1e-9
