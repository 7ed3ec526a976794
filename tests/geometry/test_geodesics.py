"""Geodesics, base curves and fans against planes, cylinders, cones, spheres and helix walls in closed form."""

from __future__ import annotations

import numpy as np
import pytest
from tests.geometry import exact_patches as ex

from strakewright.arrays import Floats
from strakewright.errors import UnworkableError
from strakewright.geometry import fans
from strakewright.geometry import geodesics as geo
from strakewright.geometry.surface import fit_patch, foot_points


def line(start: tuple[float, float], end: tuple[float, float], count: int = 60) -> Floats:
    return np.array(start) + np.linspace(0, 1, count)[:, None] * (np.array(end) - np.array(start))


def test_geodesic_of_a_cylinder_is_a_helix() -> None:
    start, way = np.array([200.0, 100.0]), np.array([5.0, 0.9])
    path = geo.geodesic(ex.cylinder_patch(), start, way, 5000.0)
    exact = start + np.linspace(0, 5000.0, len(path))[:, None] * way / np.hypot(*way)
    assert np.abs(path - exact).max() < 1e-4  # closed form: straight in the development


def test_geodesic_of_a_sphere_is_a_great_circle() -> None:
    patch = ex.sphere_patch()
    path = patch.at(geo.geodesic(patch, np.array([-900.0, -400.0]), np.array([2.0, 0.9]), 1800.0))
    turn = np.linspace(0.0, 0.9, len(path))[:, None]
    first = path[0] / ex.SPHERE
    last = path[-1] / ex.SPHERE
    other = (last - np.cos(0.9) * first) / np.sin(0.9)
    assert np.abs(path - ex.SPHERE * (np.cos(turn) * first + np.sin(turn) * other)).max() < 1e-3  # closed form
    assert np.linalg.norm(other) == pytest.approx(1.0, abs=1e-6)  # closed form: the whole arc is 0.9 rad


def test_geodesic_of_a_cone_is_straight_in_the_development() -> None:
    wall, patch = ex.wall_patch("cone")
    start, way = np.array([300.0, 50.0]), np.array([3.0, 0.4])
    path = geo.geodesic(patch, start, way, 3000.0)
    flat = wall.flat(*ex.wall_chart(wall, path))
    exact = flat[0] + np.linspace(0, 1, len(path))[:, None] * (flat[-1] - flat[0])
    assert np.abs(flat - exact).max() < 1e-3  # closed form
    assert np.linalg.norm(flat[-1] - flat[0]) == pytest.approx(3000.0, abs=1e-4)  # closed form


def test_a_coarser_step_changes_nothing_that_matters() -> None:
    patch = ex.wall_patch("helix")[1]
    start, way = np.array([300.0, 50.0]), np.array([3.0, 0.4])
    ends = [geo.geodesic(patch, start, way, 2000.0, step=h)[-1] for h in (5.0, 20.0)]
    assert np.abs(ends[0] - ends[1]).max() < 1e-6


def test_base_curve_runs_by_true_length() -> None:
    points = line((0, 600), (6000, 600), 200)
    points[:, 1] += 100.0 * np.sin(points[:, 0] / 6000.0 * np.pi)
    base = geo.base_curve(ex.cylinder_patch(), points, before=300.0, after=150.0)
    fine = np.linspace(0, 6000, 200001)
    length = np.hypot(np.diff(fine), np.diff(100.0 * np.sin(fine / 6000.0 * np.pi))).sum()
    assert base.length == pytest.approx(length, abs=1e-4)  # closed form: length in the development
    assert (base.s_lo, base.s_hi) == (-300.0, base.length + 150.0)
    assert np.abs(base.at(np.array([0.0, base.length])) - points[[0, -1]]).max() < 1e-3
    s = np.linspace(base.s_lo, base.s_hi, 3000)
    assert np.linalg.norm(base.tangent(s), axis=1) == pytest.approx(1.0, abs=1e-6)


def test_base_curve_runs_on_with_its_bend_fading_out() -> None:
    angle = np.linspace(0.0, 1.2, 100)
    circle = np.column_stack([500 + 1000 * np.sin(angle), 1000 - 1000 * np.cos(angle)])
    patch = ex.plane_patch()
    base = geo.base_curve(patch, circle, before=500.0, after=500.0)
    bend = geo.side_bend(patch, base.spline, np.array([-500.0, -410.0, -5.0, 600.0, 1205.0, 1620.0]))
    assert bend[3] == pytest.approx(1e-3, rel=1e-4)  # closed form, + turning left
    assert bend[[2, 4]] == pytest.approx(1e-3, rel=1e-3)
    assert np.abs(bend[[0, 1, 5]]).max() < 1e-6


def test_base_curve_of_no_length_is_refused() -> None:
    with pytest.raises(UnworkableError, match="no length"):
        geo.base_curve(ex.plane_patch(), np.full((5, 2), 100.0), before=0.0, after=0.0)


def test_fan_of_a_straight_base_on_a_cylinder() -> None:
    patch = ex.cylinder_patch()
    start, end = np.array([500.0, 300.0]), np.array([5500.0, 900.0])
    base = geo.base_curve(patch, line((500, 300), (5500, 900)), before=0.0, after=0.0)
    fan = fans.shoot_fan(patch, base, t_lo=-250.0, t_hi=250.0)
    s, t = np.random.default_rng(0).uniform((0, -250), (base.length, 250), (4000, 2)).T
    way = (end - start) / np.linalg.norm(end - start)
    exact = start + s[:, None] * way + t[:, None] * np.array([-way[1], way[0]])  # + t to the left
    assert np.abs(fan.pq(s, t) - exact).max() < 2e-4  # closed form: development
    assert np.abs(fan.spread(s, t) - 1.0).max() < 1e-6  # closed form
    assert np.abs(fan.spread_t(s, t)).max() < 1e-7  # closed form


def test_fan_on_the_concave_side_closes_up_and_folds() -> None:
    angle = np.linspace(0.0, 1.2, 100)
    circle = np.column_stack([1000 + 300 * np.sin(angle), 400 - 300 * np.cos(angle)])
    base = geo.base_curve(ex.plane_patch(), circle, before=0.0, after=0.0)
    fan = fans.shoot_fan(ex.plane_patch(), base, t_lo=-200.0, t_hi=400.0)
    s = np.linspace(20.0, 340.0, 9)
    for t in (-200.0, -50.0, 150.0, 290.0):
        assert fan.spread(s, t) == pytest.approx(1 - t / 300.0, abs=1e-4)  # closed form
    assert not fan.folds(s, 299.0).any()
    assert fan.folds(s, 301.0).all()  # closed form: all meet in the centre


def test_fan_of_a_sphere() -> None:
    patch = ex.sphere_patch()
    for lift in (0.0, 300.0):
        base = geo.base_curve(patch, line((-1000, lift), (1000, lift)), before=0.0, after=0.0)
        fan = fans.shoot_fan(patch, base, t_lo=-250.0, t_hi=250.0)
        s, t = np.random.default_rng(0).uniform((0, -250), (base.length, 250), (2000, 2)).T
        start = np.cos(lift / ex.SPHERE)
        assert base.length == pytest.approx(2000.0 * start, abs=1e-3)  # closed form
        exact = np.cos((lift + t) / ex.SPHERE) / start
        assert fan.spread(s, t) == pytest.approx(exact, abs=1e-6)  # closed form
        assert fan.spread_t(s, t) == pytest.approx(-np.sin((lift + t) / ex.SPHERE) / ex.SPHERE / start, abs=1e-8)
        there = np.column_stack([s / start - 1000.0, lift + t])
        assert np.abs(fan.pq(s, t) - there).max() < 1e-3  # closed form: meridians


def test_fan_along_a_cone_is_its_generators() -> None:
    wall, patch = ex.wall_patch("cone")
    base = geo.base_curve(patch, line((0, 100), (0.7 * wall.rho, 100)), before=0.0, after=0.0)
    fan = fans.shoot_fan(patch, base, t_lo=-100.0, t_hi=500.0)
    s, t = np.random.default_rng(0).uniform((0, -100), (base.length, 500), (3000, 2)).T
    reach = wall.rho / np.sin(wall.flare) + 100.0
    assert fan.spread(s, t) == pytest.approx(1 + t / reach, abs=1e-6)  # closed form
    exact = np.column_stack([s * wall.rho / (reach * np.sin(wall.flare)), 100.0 + t])
    assert np.abs(fan.pq(s, t) - exact).max() < 1e-3  # closed form


def test_far_edge_of_a_fan_is_parallel_on_a_twisted_skin() -> None:
    chart = ex.scatter((0, 0), (3000, 800), 5000)
    patch = fit_patch(chart, ex.twisted(chart))[0]
    base = geo.base_curve(patch, line((0, 50), (3000, 50)), before=100.0, after=100.0)
    fan = fans.shoot_fan(patch, base, t_lo=0.0, t_hi=600.0)
    s, t = np.linspace(-60.0, base.length + 60.0, 60), 500.0
    h = 0.05
    along = patch.at(fan.pq(s + h, t)) - patch.at(fan.pq(s - h, t))
    across = patch.at(fan.pq(s, t + h)) - patch.at(fan.pq(s, t - h))
    lengths = np.linalg.norm(along, axis=1) / (2 * h), np.linalg.norm(across, axis=1) / (2 * h)
    assert lengths[1] == pytest.approx(1.0, abs=1e-7)  # closed form: metric dt^2 + g^2 ds^2
    assert lengths[0] == pytest.approx(fan.spread(s, t), abs=5e-6)
    assert np.abs((along * across).sum(axis=1)).max() / (2 * h) ** 2 < 1e-6


def test_locate_finds_the_way_back() -> None:
    patch = ex.wall_patch("helix")[1]
    base = geo.base_curve(patch, line((100, 500), (2300, 350)), before=200.0, after=200.0)
    fan = fans.shoot_fan(patch, base, t_lo=-400.0, t_hi=100.0)
    s, t = np.random.default_rng(0).uniform((-199, -399), (base.length + 199, 99), (3000, 2)).T
    again = fan.locate(fan.pq(s, t).reshape(50, 60, 2))
    assert again[0].shape == (50, 60)
    assert np.abs(again[0].ravel() - s).max() < 1e-8
    assert np.abs(again[1].ravel() - t).max() < 1e-8


def test_locate_says_nan_where_the_fan_does_not_reach() -> None:
    patch = ex.plane_patch()
    base = geo.base_curve(patch, line((1000, 500), (2000, 500)), before=0.0, after=0.0)
    fan = fans.shoot_fan(patch, base, t_lo=-100.0, t_hi=200.0)
    s, t = fan.locate(np.array([[1500.0, 600.0], [1500.0, 750.0], [900.0, 500.0], [1500.0, 350.0], [1e6, 0.0]]))
    assert (s[0], t[0]) == pytest.approx((500.0, 100.0), abs=1e-6)
    assert np.isnan(s[1:]).all()
    assert np.isnan(t[1:]).all()


def test_fan_from_a_stretch_of_the_base() -> None:
    patch = ex.plane_patch()
    base = geo.base_curve(patch, line((100, 500), (2900, 500)), before=0.0, after=0.0)
    fan = fans.shoot_fan(patch, base, t_lo=-100.0, t_hi=0.0, s_lo=400.0, s_hi=900.0)
    assert fan.box == pytest.approx((400.0, 900.0, -100.0, 0.0))
    assert fan.pq(450.0, -30.0) == pytest.approx([550.0, 470.0], abs=1e-6)  # closed form


def test_lines_that_run_far_off_the_skin_stay_harmless() -> None:
    patch = ex.wall_patch("helix")[1]
    base = geo.base_curve(patch, line((100, 500), (2300, 350)), before=2000.0, after=2000.0)
    fan = fans.shoot_fan(patch, base, t_lo=-1500.0, t_hi=800.0)
    assert np.isfinite(fan.field.coefs).all()
    inside = ex.scatter((100, 20), (2300, 620), 500)
    s, t = fan.locate(inside)
    assert np.isfinite(s).all()
    assert np.abs(fan.pq(s, t) - inside).max() < 1e-8


def test_distance_in_a_fan_is_the_distance_on_the_skin() -> None:
    wall, patch = ex.wall_patch("helix")
    base = geo.base_curve(patch, line((100, 550), (2300, 450)), before=100.0, after=100.0)
    fan = fans.shoot_fan(patch, base, t_lo=-400.0, t_hi=0.0)
    s, t = np.linspace(50.0, 2000.0, 30), np.full(30, -300.0)
    feet, far = (wall.flat(*ex.wall_chart(wall, fan.pq(s, x))) for x in (0 * t, t))
    assert np.linalg.norm(feet - far, axis=1) == pytest.approx(300.0, abs=1e-3)  # closed form: development
    again = foot_points(patch, patch.at(fan.pq(s, t)), fan.pq(s, t) + 2.0)
    assert np.abs(again - fan.pq(s, t)).max() < 1e-6
