"""Outlines against closed forms, and against shapely's own buffer where that is an independent answer."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from strakewright.arrays import Floats
from strakewright.errors import UnworkableError
from strakewright.geometry import outlines as ol


def box(x0: float, y0: float, x1: float, y1: float) -> Floats:
    return np.array([[x0, y0], [x1, y0], [x1, y1], [x0, y1]], dtype=float)


def circle(radius: float, n: int) -> Floats:
    turn = np.arange(n) * 2 * np.pi / n
    return radius * np.column_stack([np.cos(turn), np.sin(turn)])


def crescent(n: int = 301) -> Floats:
    """A plank with much sny: both edges arcs, ends square to x.  5 m long, R 6 m, 90 wide."""
    x = np.linspace(-2500, 2500, n)
    low = np.sqrt(6000.0**2 - x**2) - 6000.0
    return np.concatenate([np.column_stack([x, low]), np.column_stack([x, low + 90])[::-1]])


def test_area_and_length_of_a_circle_polygon() -> None:
    ring = circle(100.0, 360)  # closed form of the regular polygon
    assert ol.signed_area(ring) == pytest.approx(0.5 * 360 * 1e4 * np.sin(2 * np.pi / 360), rel=1e-12)
    assert ol.perimeter(ring) == pytest.approx(2 * 360 * 100 * np.sin(np.pi / 360), rel=1e-12)
    assert ol.signed_area(ring[::-1]) < 0
    assert ol.signed_area(ol.as_ccw(ring[::-1])) > 0


def test_area_keeps_its_figures_far_from_the_origin() -> None:
    assert ol.signed_area(box(0, 0, 10, 10) + 1e7) == pytest.approx(100.0, rel=1e-9)


def test_simple_or_not() -> None:
    assert ol.is_simple(box(0, 0, 2, 1))
    assert not ol.is_simple(np.array([[0.0, 0], [2, 1], [2, 0], [0, 1]]))
    assert not ol.is_simple(np.array([[0.0, 0], [1, 0], [2, 0]]))


def test_union_of_two_faces_is_the_outer_line() -> None:
    joined = ol.union_ring(box(0, 0, 100, 20), box(5, -3, 90, 26))
    assert ol.signed_area(joined) == pytest.approx(100 * 20 + 85 * 3 + 85 * 6)  # closed form
    assert ol.is_simple(joined)


def test_union_of_pieces_apart_or_crossed_is_refused() -> None:
    with pytest.raises(UnworkableError, match="lie apart"):
        ol.union_ring(box(0, 0, 1, 1), box(5, 5, 6, 6))
    with pytest.raises(UnworkableError, match="crosses itself"):
        ol.union_ring(box(0, 0, 1, 1), np.array([[0.0, 0], [2, 1], [2, 0], [0, 1]]))


def test_shared_ring() -> None:
    assert ol.signed_area(ol.intersection_ring(box(0, 0, 4, 4), box(2, 1, 9, 3))) == pytest.approx(4.0)
    with pytest.raises(UnworkableError):
        ol.intersection_ring(box(0, 0, 1, 1), box(5, 5, 6, 6))


def test_line_clipped_keeps_order_and_direction() -> None:
    comb = np.array([[0.0, 0], [10, 0], [10, 5], [8, 5], [8, 1], [2, 1], [2, 5], [0, 5]])
    pieces = ol.clip_lines(np.array([[12.0, 3.0], [-2.0, 3.0]]), comb)
    assert [p.tolist() for p in pieces] == [[[10, 3], [8, 3]], [[2, 3], [0, 3]]]
    assert ol.clip_lines(np.array([[0.0, 9.0], [9.0, 9.0]]), comb) == []
    within = np.array([[1.0, 0.5], [9.0, 0.5]])
    assert ol.clip_lines(within, comb)[0] is within


def test_points_inside_and_distance() -> None:
    square = box(0, 0, 10, 10)
    points = np.array([[5.0, 5.0], [13.0, 14.0], [10.0, 4.0]])
    assert ol.contains(square, points).tolist() == [True, False, True]
    assert ol.distance_to_ring(points, square) == pytest.approx([5.0, 5.0, 0.0])


@pytest.mark.parametrize("d", [7.0, 0.0, -7.0])
def test_grown_circle_polygon_stays_a_circle_polygon(d: float) -> None:
    n = 720  # the apothem moves by exactly d (closed form)
    grown = ol.grow_ring(circle(100.0, n), d)
    radius = np.linalg.norm(grown, axis=1)
    assert radius == pytest.approx(np.full(n, 100.0 + d / np.cos(np.pi / n)), rel=1e-12)


def test_tails_and_trims_meet_at_the_mitre() -> None:
    # right-angled triangle 3-4-5, its hypotenuse moved by 1: similar triangle (closed form)
    triangle = np.array([[0.0, 0.0], [4.0, 0.0], [0.0, 3.0]])
    grown = ol.grow_ring(triangle, np.array([0.0, 1.0, 0.0]))
    assert grown.tolist() == [[0.0, 0.0], [pytest.approx(4 + 5 / 3), 0.0], [0.0, pytest.approx(3 + 5 / 4)]]


def test_glue_line_off_the_long_edges_while_the_ends_get_tails() -> None:
    grown = ol.grow_ring(box(0, 0, 1000, 90), np.array([-0.1, 60.0, -0.1, 25.0]))
    assert grown.tolist() == [
        [-25, 0.1],
        [1060, 0.1],
        [1060, pytest.approx(89.9)],
        [-25, pytest.approx(89.9)],
    ]


def test_step_on_a_straight_run_stays_a_step() -> None:
    ring = np.array([[0.0, 0], [50, 0], [100, 0], [100, 20], [0, 20]])
    grown = ol.grow_ring(ring, np.array([5.0, 12.0, 0, 0, 0]))
    assert ol.signed_area(grown) == pytest.approx(100 * 20 + 50 * 5 + 50 * 12)


def test_sharp_tip_is_cut_off_not_run_out_for_metres() -> None:
    tip = np.array([[0.0, -1.0], [200.0, 0.0], [0.0, 1.0]])
    assert ol.grow_ring(tip, 5.0)[:, 0].max() < 200 + 4 * 5


@pytest.mark.parametrize("d", [3.0, 20.0, 60.0])
def test_grown_crescent_against_a_mitred_buffer(d: float) -> None:
    ring = crescent()
    grown = shapely.Polygon(ol.grow_ring(ring, d))
    other = shapely.Polygon(ring).buffer(d, join_style="mitre", mitre_limit=5)
    assert grown.symmetric_difference(other).area < 1e-4 * ol.perimeter(ring)


def test_growth_wider_than_a_notch_fills_it() -> None:
    # slot 4 wide, 10 deep grown by 3: direct mitring folds over, so the strips are joined
    ring = np.array([[0.0, 0], [50, 0], [50, 30], [27, 30], [27, 20], [23, 20], [23, 30], [0, 30]])
    grown = ol.grow_ring(ring, 3.0)
    assert ol.is_simple(grown)
    assert ol.signed_area(grown) == pytest.approx(56.0 * 36.0)


def test_notch_with_tail_and_trimmed_edges() -> None:
    ring = np.array([[0.0, 0], [50, 0], [50, 30], [27, 30], [27, 20], [23, 20], [23, 30], [0, 30]])
    grown = ol.grow_ring(ring, np.array([-1.0, 9, -1, 3, 3, 3, -1, 0]))
    assert shapely.Polygon(grown).bounds == pytest.approx((0, 1, 59, 29))


@pytest.mark.parametrize("noise", [0.0, 1e-12, 1e-9, 1e-6])
def test_faces_that_coincide_but_for_noise_grow_without_spikes(noise: float) -> None:
    ring = crescent()
    other = ring + np.random.default_rng(3).normal(0, noise, ring.shape)
    grown = ol.grow_ring(ol.union_ring(ring, other), 60.0)
    wanted = shapely.Polygon(ring).buffer(60.0, join_style="mitre", mitre_limit=5)
    assert shapely.Polygon(grown).symmetric_difference(wanted).area < 1e-2 * ol.perimeter(ring)


def test_trimming_everything_away_is_refused() -> None:
    with pytest.raises(UnworkableError, match="falls apart"):
        ol.grow_ring(box(0, 0, 100, 4), -3.0)


@settings(max_examples=60, deadline=None)
@given(
    st.lists(st.floats(0.3, 1.0), min_size=5, max_size=14),
    st.lists(st.sampled_from([-2.0, 0.0, 1.0, 6.0]), min_size=14, max_size=14),
)
def test_growing_any_star_gives_a_simple_ring_between_its_limits(radii: list[float], moves: list[float]) -> None:
    turn = np.arange(len(radii)) * 2 * np.pi / len(radii)
    ring = 200 * np.array(radii)[:, None] * np.column_stack([np.cos(turn), np.sin(turn)])
    grown = ol.grow_ring(ring, np.array(moves[: len(radii)]))
    least = shapely.Polygon(ring).buffer(-2.0 - 1e-9)
    most = shapely.Polygon(ring).buffer(4 * 6.0 + 1e-9)
    assert ol.is_simple(grown)
    assert most.contains(shapely.Polygon(grown))
    assert shapely.Polygon(grown).buffer(1e-9).contains(least.buffer(-4 * 2.0))


def test_thinned_ring_stays_within_tolerance_and_keeps_corners() -> None:
    ring = crescent(4001)
    thin = ol.thin_ring(ring)
    steps = np.linalg.norm(np.roll(thin, -1, axis=0) - thin, axis=1)
    assert shapely.LinearRing(thin).hausdorff_distance(shapely.LinearRing(ring)) <= 0.05
    assert steps.max() <= 50.0 + 1e-9
    assert steps.min() >= 0.01
    for corner in ring[[0, 4000, 4001, -1]]:
        assert np.abs(thin - corner).sum(axis=1).min() == 0
    assert len(thin) < 320


def test_long_straight_edges_are_divided_evenly() -> None:
    thin = ol.thin_ring(box(0, 0, 1000, 20))
    assert len(thin) == 2 * (20 + 1)
    assert ol.signed_area(thin) == pytest.approx(20000.0, rel=1e-14)
    assert len(ol.thin_ring(box(0, 0, 1000, 20), longest=np.inf)) == 4


def test_specks_go_and_corners_stay() -> None:
    ring = np.array([[0.0, 0], [99.995, 0], [100, 0], [100, 40], [100, 40.004], [0, 40.004]])
    thin = ol.thin_ring(ring, longest=1e9)
    assert thin.tolist() == [[0, 0], [100, 0], [100, 40.004], [0, 40.004]]


def test_circle_without_corners() -> None:
    thin = ol.thin_ring(circle(30.0, 5000))
    # sagitta 0.05 at R 30: chord 2*sqrt(2*30*0.05), so at least 54 sides (closed form)
    assert 54 <= len(thin) <= 110


def test_needle_is_thinned_without_crossing() -> None:
    x = np.linspace(0, 500, 2001)
    wave = 0.3 * np.sin(x / 20)
    needle = np.concatenate([np.column_stack([x, wave]), np.column_stack([x, wave + 0.02])[::-1]])
    assert ol.is_simple(ol.thin_ring(needle))


def test_open_line_keeps_its_ends() -> None:
    x = np.linspace(0, 300, 301)
    line = np.column_stack([x, x**2 / 5000])
    thin = ol.thin_line(line)
    assert thin[0].tolist() == line[0].tolist()
    assert thin[-1].tolist() == line[-1].tolist()
    assert shapely.LineString(thin).hausdorff_distance(shapely.LineString(line)) <= 0.05
