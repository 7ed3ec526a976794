"""Patches against surfaces in closed form."""

from __future__ import annotations

import pickle

import numpy as np
import pytest
from tests.geometry import exact_patches as ex

from strakewright.arrays import Floats
from strakewright.errors import UnworkableError
from strakewright.geometry import surface as sf

INSIDE = np.random.default_rng(5).uniform((0, 0), (2000, 800), (3000, 2))


def normals(surface: ex.Surface, chart: Floats) -> Floats:
    """Outward unit normals by central differences of the closed form."""
    dp, dq = np.array([0.05, 0.0]), np.array([0.0, 0.05])
    inward = np.cross(surface(chart + dp) - surface(chart - dp), surface(chart + dq) - surface(chart - dq))
    return np.asarray(-inward / np.linalg.norm(inward, axis=1, keepdims=True))


@pytest.mark.parametrize("shape", [(), (7,), (3, 4)])
def test_shapes_of_input_are_kept(shape: tuple[int, ...]) -> None:
    pq = np.full((*shape, 2), 100.0)
    patch = ex.cylinder_patch()
    assert patch.at(pq).shape == (*shape, 3)
    assert patch.normal(pq).shape == (*shape, 3)
    assert all(a.shape == (*shape, 3) for a in patch.jet2(pq))
    assert sf.gauss_curvature(patch, pq).shape == shape
    assert sf.normal_curvature(patch, pq, np.array([1.0, 0.0])).shape == shape


@pytest.mark.parametrize("surface", [ex.cylinder(1000.0), ex.twisted, ex.wall_surface(ex.CONE)])
def test_patch_through_8000_exact_points(surface: ex.Surface) -> None:
    chart = ex.scatter((0, 0), (2000, 800), 8000)
    patch, residual = sf.fit_patch(chart, surface(chart))
    assert residual < 1e-4
    assert np.linalg.norm(patch.at(INSIDE) - surface(INSIDE), axis=1).max() < 1e-4  # closed form
    assert np.linalg.norm(patch.normal(INSIDE) - normals(surface, INSIDE), axis=1).max() < 1e-6  # closed form


@pytest.mark.parametrize("surface", [ex.cylinder(1000.0), ex.twisted])
def test_patch_runs_on_past_its_points(surface: ex.Surface) -> None:
    chart = ex.scatter((0, 0), (2000, 800), 4000)
    patch = sf.fit_patch(chart, surface(chart))[0]
    past = np.column_stack([np.linspace(0, 2000, 50), np.full(50, 850.0)])
    assert np.linalg.norm(patch.at(past) - surface(past), axis=1).max() < 0.01  # closed form, 50 mm out
    assert patch.box == (-300.0, 2300.0, -300.0, 1100.0)


def test_past_its_box_a_patch_is_its_taylor_series() -> None:
    patch = ex.cylinder_patch()
    p1, q1 = patch.box[1], patch.box[3]
    edge, out = np.array([p1, 300.0]), np.array([p1 + 40.0, 300.0])
    r, r_p, _, r_pp, _, _ = patch.jet2(edge)
    assert np.abs(patch.at(out) - (r + 40.0 * r_p + 800.0 * r_pp)).max() < 1e-9  # closed form
    h, up = 1e-3, np.array([0.0, 1e-3])
    for pq in (out, np.array([p1 + 40.0, q1 + 70.0])):
        rise = (patch.at(pq + up) - patch.at(pq - up)) / (2 * h)
        assert np.abs(patch.jet1(pq)[2] - rise).max() < 1e-7  # jets stay derivatives out there
    assert np.isfinite(patch.at(np.array([[1e5, -1e5]]))).all()
    assert np.isfinite(patch.normal(np.array([[1e5, -1e5]]))).all()


@pytest.mark.parametrize("count", [3, 4, 6, 50])
def test_plane_from_few_points(count: int) -> None:
    chart = np.array([[0, 0], [2000, 0], [2000, 800], [0, 800.0]])[:count]
    chart = np.concatenate([chart, np.random.default_rng(1).uniform((0, 0), (2000, 800), (max(0, count - 4), 2))])
    patch, residual = sf.fit_patch(chart, ex.plane(chart))
    wide = np.random.default_rng(2).uniform((-280, -280), (2280, 1080), (500, 2))
    assert residual < 1e-9
    assert np.abs(patch.at(wide) - ex.plane(wide)).max() < 1e-6  # closed form
    assert np.abs(sf.normal_curvature(patch, wide, np.array([0.6, 0.8]))).max() < 1e-9  # closed form


def test_points_in_one_line_are_refused() -> None:
    chart = np.column_stack([np.linspace(0, 100, 10), np.linspace(0, 50, 10)])
    with pytest.raises(UnworkableError, match="in one line"):
        sf.fit_patch(chart, ex.plane(chart))


def test_panel_that_ends_in_a_point_and_stands_upright_in_its_chart() -> None:
    chart = ex.scatter((0, 0), (500, 3000), 4000)
    chart[:, 0] *= 1.0 - chart[:, 1] / 3000.0
    surface = ex.cylinder(3000.0)
    patch = sf.fit_patch(chart, surface(chart))[0]
    assert len(patch.knots_q) > len(patch.knots_p)  # spans go by the longer side
    at = chart[::7] * 0.999
    assert np.linalg.norm(patch.at(at) - surface(at), axis=1).max() < 1e-3  # closed form


def test_noise_is_smoothed_by_cross_validation() -> None:
    chart = ex.scatter((0, 0), (2000, 800), 4000)
    surface = ex.cylinder(1000.0)
    noisy = surface(chart) + np.random.default_rng(4).normal(0.0, 0.1, (len(chart), 3))
    inner = INSIDE[(np.abs(INSIDE - [1000, 400]) < [900, 350]).all(axis=1)]
    patch = sf.fit_patch(chart, noisy)[0]
    assert np.linalg.norm(patch.at(inner) - surface(inner), axis=1).max() < 0.06  # closed form
    stiff_less = sf.fit_patch(chart, noisy, options=sf.FitOptions(stiffness=1e-9))[0]
    bend = sf.normal_curvature(patch, inner, np.array([0.0, 1.0]))
    loose = sf.normal_curvature(stiff_less, inner, np.array([0.0, 1.0]))
    assert np.abs(bend - 1e-3).max() < 5e-5  # closed form 1 / R
    assert np.abs(loose - 1e-3).max() > 10 * np.abs(bend - 1e-3).max()  # what is avoided


def test_sharp_shapes_get_more_spans() -> None:
    chart = ex.scatter((0, 0), (2000, 800), 8000)

    def bump(c: Floats) -> Floats:
        rise = 80.0 * np.exp(-(((c[..., 0] - 1500.0) / 80.0) ** 2))
        return np.stack([c[..., 0], 500.0 + rise, c[..., 1]], axis=-1)

    plain = sf.fit_patch(chart, bump(chart), options=sf.FitOptions(spans_p=40, spans_q=10))[1]
    patch, residual = sf.fit_patch(chart, bump(chart))
    assert residual < 0.1 * plain
    assert np.linalg.norm(patch.at(INSIDE) - bump(INSIDE), axis=1).max() < 0.05  # closed form


def test_rough_chart_is_mended_by_sliding() -> None:
    chart = ex.scatter((0, 0), (2000, 800), 4000)
    rough = chart + np.random.default_rng(6).normal(0.0, 0.5, chart.shape)
    surface = ex.cylinder(1000.0)
    patch, residual = sf.fit_patch(rough, surface(chart), options=sf.FitOptions(slides=2))
    assert residual < 0.005
    at = patch.at(INSIDE)
    assert np.abs(np.hypot(at[:, 1], at[:, 2]) - 1000.0).max() < 0.005  # closed form: on the cylinder
    feet = sf.foot_points(patch, surface(chart), rough)
    assert np.linalg.norm(patch.at(feet) - surface(chart), axis=1).max() < 0.005


def test_foot_points_are_square_to_the_skin() -> None:
    patch = ex.cylinder_patch()
    chart = ex.scatter((100, 100), (5900, 1100), 200)
    points = ex.cylinder(2150.0)(chart * [1.0, 2150.0 / 2000.0])
    feet = sf.foot_points(patch, points, chart + 15.0)
    assert np.abs(feet - chart).max() < 1e-4  # closed form: radially below


@pytest.mark.parametrize("inward", [19.0, -12.0, 100.0])
def test_offset_cylinder_is_a_cylinder(inward: float) -> None:
    moved = sf.offset(ex.cylinder_patch(), inward)
    at = np.random.default_rng(8).uniform((0, 0), (6000, 1200), (2000, 2))
    exact = ex.cylinder(2000.0)(at) * [1.0, 1 - inward / 2000.0, 1 - inward / 2000.0]  # closed form
    assert np.linalg.norm(moved.at(at) - exact, axis=1).max() < 1e-3
    assert sf.normal_curvature(moved, at, np.array([0.0, 1.0])) == pytest.approx(1 / (2000.0 - inward), rel=1e-4)


def test_outward_is_away_from_the_axis() -> None:
    at = np.array([3000.0, 200.0])
    radial = ex.cylinder(1.0)(at / 2000.0) * [0.0, 1.0, 1.0]
    assert ex.cylinder_patch().normal(at) == pytest.approx(radial, abs=1e-6)  # closed form


def test_plank_at_30_degrees_on_a_cylinder() -> None:
    patch, at = ex.cylinder_patch(), np.array([[3000.0, 600.0], [500.0, 100.0]])
    slant = np.array([np.cos(np.pi / 6), np.sin(np.pi / 6)])
    bend = sf.normal_curvature(patch, at, 3.7 * slant)
    assert 1 / bend == pytest.approx(8000.0, rel=1e-5)  # closed form R / sin^2
    twist = np.degrees(sf.geodesic_twist(patch, at, 3.7 * slant)) * 1000.0
    assert np.abs(twist) == pytest.approx(12.405, abs=5e-4)  # closed form sin cos / R, degrees per metre
    assert (twist * sf.geodesic_twist(patch, at, slant * [1, -1]) < 0).all()


def test_right_hand_helix_twists_positive() -> None:
    patch, up = ex.cylinder_patch(), np.array([1.0, 1.0])
    # closed form: in the chart +x and y -> z; from y to z about +x is a right-hand screw along +x
    assert sf.geodesic_twist(patch, np.array([3000.0, 600.0]), up) == pytest.approx(0.5 / 2000.0, rel=1e-5)


def test_helicoid_twists_along_its_axis() -> None:
    chart = ex.scatter((0, -300), (2000, 300), 3000)
    patch = sf.fit_patch(chart, ex.twisted(chart))[0]
    at = np.array([[1000.0, 0.0], [300.0, 0.0]])
    along, across = np.array([1.0, 0.0]), np.array([0.0, 1.0])
    assert sf.geodesic_twist(patch, at, along) == pytest.approx(3e-4, rel=1e-5)  # closed form
    assert sf.geodesic_twist(patch, at, across) == pytest.approx(-3e-4, rel=1e-5)  # closed form
    assert sf.gauss_curvature(patch, at) == pytest.approx(-9e-8, rel=1e-5)  # closed form -c^2


def test_sphere_bends_the_same_every_way() -> None:
    patch = ex.sphere_patch()
    at = np.random.default_rng(9).uniform((-1200, -600), (1200, 600), (300, 2))
    way = np.random.default_rng(10).normal(size=(300, 2))
    assert sf.gauss_curvature(patch, at) == pytest.approx(1 / ex.SPHERE**2, rel=1e-4)  # closed form
    assert sf.normal_curvature(patch, at, way) == pytest.approx(1 / ex.SPHERE, rel=5e-5)  # closed form
    assert np.abs(sf.geodesic_twist(patch, at, way)).max() < 2e-8  # closed form


def test_patch_survives_the_trip_to_another_process() -> None:
    patch = ex.plane_patch()
    again = pickle.loads(pickle.dumps(patch))
    assert np.array_equal(again.coefs, patch.coefs)
    assert not again.coefs.flags.writeable


def test_patch_refuses_coefficients_that_do_not_fit_its_knots() -> None:
    patch = ex.plane_patch()
    with pytest.raises(ValueError, match="coefs"):
        sf.Patch(patch.knots_p, patch.knots_q, patch.coefs[1:])


@pytest.mark.parametrize("seed", [11, 13])
def test_noise_of_a_tenth_is_smoothed_and_not_followed(seed: int) -> None:
    """600 points of a cylinder in closed form, each 0.1 mm astray: the patch is off by half of that at most."""
    rng = np.random.default_rng(seed)
    chart = rng.uniform((0.0, 0.0), (4000.0, 700.0), (600, 2))

    def pipe(pq):
        return np.column_stack([2500 * np.sin(pq[:, 0] / 2500), 2500 * np.cos(pq[:, 0] / 2500), pq[:, 1]])

    patch, _ = sf.fit_patch(chart, pipe(chart) + rng.uniform(-0.1, 0.1, (600, 3)))
    inside = rng.uniform((100.0, 50.0), (3900.0, 650.0), (2000, 2))
    off = patch.at(inside) - pipe(inside)
    assert np.abs((off * pipe(inside) * [1, 1, 0]).sum(axis=1) / 2500).max() < 0.055
