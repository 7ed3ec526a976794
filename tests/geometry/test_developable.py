"""Bands laid flat against closed-form developments, and the strain of bands that have none."""

from __future__ import annotations

import numpy as np
import pytest
from tests.geometry import exact_patches as ex

from strakewright.arrays import Floats
from strakewright.errors import UnworkableError
from strakewright.geometry import developable as dv
from strakewright.geometry.curves import arc_length
from strakewright.geometry.fans import Fan, shoot_fan
from strakewright.geometry.geodesics import base_curve
from strakewright.geometry.surface import Patch, fit_patch


def fan_from(patch: Patch, start: tuple[float, float], end: tuple[float, float], t: tuple[float, float]) -> Fan:
    """Fan of the base curve straight in the chart from start to end."""
    chart = np.array(start) + np.linspace(0, 1, 80)[:, None] * (np.array(end) - np.array(start))
    return shoot_fan(patch, base_curve(patch, chart, before=0.0, after=0.0), t_lo=t[0], t_hi=t[1])


def misfit(flat: Floats, exact: Floats) -> float:
    """Largest distance after the best turn and shift (no mirroring)."""
    a, b = flat - flat.mean(axis=0), exact - exact.mean(axis=0)
    angle = np.arctan2((a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]).sum(), (a * b).sum())
    return float(np.linalg.norm(dv.turned(a, angle) - b, axis=1).max())


def wavy(fan: Fan, low: float, high: float) -> tuple[Floats, Floats, Floats]:
    """s and two edges that are not parallel to the base."""
    s = np.linspace(fan.box[0], fan.box[1], 81)
    return s, low + 20.0 * np.sin(s / 700.0), high - 15.0 * np.cos(s / 900.0)


def spots(band: dv.Band, count: int = 500) -> tuple[Floats, Floats]:
    s, share = np.random.default_rng(1).uniform((band.first, 0), (band.last, 1), (count, 2)).T
    return s, band.a(s) + share * (band.b(s) - band.a(s))


@pytest.mark.parametrize("name", ["cone", "helix"])
def test_band_of_a_wall_is_its_development(name: str) -> None:
    wall, patch = ex.wall_patch(name)
    fan = fan_from(patch, (100, 560), (0.65 * wall.rho, 380), (-350.0, 0.0))
    band = dv.unroll_band(fan, *wavy(fan, -250.0, -40.0))
    s, t = spots(band)
    exact = wall.flat(*ex.wall_chart(wall, fan.pq(s, t)))
    assert misfit(band.flat(s, t), exact) < 0.002  # closed form
    assert abs(band.worst_strain()[0]) < 1e-6  # closed form: none


def test_band_over_the_whole_panel_is_its_isometry() -> None:
    wall, patch = ex.wall_patch("cone")
    fan = fan_from(patch, (0, 320), (0.7 * wall.rho, 320), (-320.0, 320.0))
    s = np.linspace(*fan.box[:2], 50)
    band = dv.unroll_band(fan, s, np.full(50, -320.0), np.full(50, 320.0))
    st = spots(band, 2000)
    assert misfit(band.flat(*st), wall.flat(*ex.wall_chart(wall, fan.pq(*st)))) < 0.002  # closed form


def test_plank_at_30_degrees_on_a_cylinder() -> None:
    patch = ex.cylinder_patch()
    fan = fan_from(patch, (500, 100), (500 + 1500, 100 + 1500 * np.tan(np.pi / 6)), (-60.0, 60.0))
    s = np.linspace(*fan.box[:2], 30)
    band = dv.unroll_band(fan, s, np.full(30, -50.0), np.full(30, 50.0)).along_chord()
    length = 1500 / np.cos(np.pi / 6)
    corners = band.flat(np.array([0, length, length, 0]), np.array([-50.0, -50.0, 50.0, 50.0]))
    exact = [[0, -50], [length, -50], [length, 50], [0, 50]]  # closed form: a rectangle, x along s, y along t
    assert corners == pytest.approx(np.array(exact), abs=1e-3)


def test_band_that_hangs_below_its_base() -> None:
    patch = ex.plane_patch()
    fan = fan_from(patch, (100, 500), (2900, 700), (-120.0, 10.0))
    s = np.linspace(*fan.box[:2], 30)
    down = dv.unroll_band(fan, s, np.zeros(30), np.full(30, -100.0))
    up = dv.unroll_band(fan, s, np.full(30, -100.0), np.zeros(30))
    st = spots(down)
    for band in (down, up):
        assert misfit(band.flat(*st), fan.pq(*st)) < 1e-4  # closed form: same shape, not mirrored


def test_plank_may_end_in_a_point() -> None:
    wall, patch = ex.wall_patch("cone")
    fan = fan_from(patch, (100, 560), (0.65 * wall.rho, 380), (-150.0, 0.0))
    s = np.linspace(*fan.box[:2], 60)
    band = dv.unroll_band(fan, s, np.linspace(-100.0, 0.0, 60), np.zeros(60))
    st = spots(band)
    assert misfit(band.flat(*st), wall.flat(*ex.wall_chart(wall, fan.pq(*st)))) < 0.002  # closed form
    assert np.isfinite(band.strain(s, 0 * s)).all()


@pytest.mark.parametrize("width", [100.0, 200.0])
def test_strain_of_a_band_on_a_sphere(width: float) -> None:
    fan = fan_from(ex.sphere_patch(), (-1000, 0), (1000, 0), (-110.0, 110.0))
    s = np.linspace(*fan.box[:2], 40)
    band = dv.unroll_band(fan, s, np.full(40, -width / 2), np.full(40, width / 2))
    strain, _, t = band.worst_strain()
    assert strain == pytest.approx(-(width**2) / (8 * ex.SPHERE**2), rel=0.02)  # closed form -K w^2 / 8
    assert t == pytest.approx(0.0, abs=1e-9)
    assert np.abs(band.strain(s, band.a(s))).max() < 1e-9
    assert np.abs(band.strain(s, band.b(s))).max() < 1e-9


@pytest.mark.parametrize("surface", ["sphere", "twisted"])
def test_both_edges_keep_their_true_length_where_there_is_no_flat_shape(surface: str) -> None:
    if surface == "sphere":
        patch, span = ex.sphere_patch(), ((-1000.0, 50.0), (1000.0, 250.0))
    else:
        chart = ex.scatter((0, 0), (3000, 800), 5000)
        patch, span = fit_patch(chart, ex.twisted(chart))[0], ((50.0, 500.0), (2950.0, 300.0))
    fan = fan_from(patch, *span, (-150.0, 150.0))
    band = dv.unroll_band(fan, *wavy(fan, -80.0, 90.0))
    s = np.linspace(band.first, band.last, 40001)
    for edge in (band.a(s), band.b(s)):
        true = arc_length(patch.at(fan.pq(s, edge)))  # measured in space, not by the fan's metric
        assert np.abs(arc_length(band.flat(s, edge)) - true).max() < 5e-4
    ribs = np.linalg.norm(band.flat(s, band.b(s)) - band.flat(s, band.a(s)), axis=1)
    assert np.abs(ribs - (band.b(s) - band.a(s))).max() < 1e-9


def test_neighbours_share_the_shape_of_their_seam() -> None:
    fan = fan_from(ex.sphere_patch(), (-1000, 50), (1000, 250), (-150.0, 150.0))
    s = np.linspace(*fan.box[:2], 60)
    low, middle, high = np.full(60, -120.0), 10.0 * np.sin(s / 500.0), np.full(60, 120.0)
    one, two = dv.unroll_band(fan, s, low, middle), dv.unroll_band(fan, s, middle, high)
    fine = np.linspace(one.first, one.last, 4001)
    seam = one.flat(fine, one.b(fine)), two.flat(fine, two.a(fine))
    assert np.abs(arc_length(seam[0]) - arc_length(seam[1])).max() < 1e-3
    assert misfit(*seam) > 0.05  # not the same shape: planks of a sphere meet only once bent


def test_along_chord_starts_in_the_origin_and_turns_no_shape() -> None:
    wall, patch = ex.wall_patch("helix")
    fan = fan_from(patch, (100, 560), (0.65 * wall.rho, 380), (-150.0, 0.0))
    raw = dv.unroll_band(fan, *wavy(fan, -110.0, -30.0))
    band = raw.along_chord()
    ends = np.array([band.first, band.last])
    chord = band.flat(ends, 0.5 * (band.a(ends) + band.b(ends)))
    assert chord[0] == pytest.approx([0.0, 0.0], abs=1e-9)
    assert chord[1, 1] == pytest.approx(0.0, abs=1e-9)
    assert chord[1, 0] > 0.0
    st = spots(band)
    assert misfit(raw.flat(*st), band.flat(*st)) < 1e-9


def test_folded_band_is_refused() -> None:
    angle = np.linspace(0.0, 1.2, 100)
    circle = np.column_stack([1000 + 300 * np.sin(angle), 400 - 300 * np.cos(angle)])
    patch = ex.plane_patch()
    fan = shoot_fan(patch, base_curve(patch, circle, before=0.0, after=0.0), t_lo=0.0, t_hi=400.0)
    s = np.linspace(0.0, 300.0, 20)
    assert dv.unroll_band(fan, s, np.zeros(20), np.full(20, 200.0)).last == 300.0
    with pytest.raises(UnworkableError, match="turns too sharply"):
        dv.unroll_band(fan, s, np.full(20, 50.0), np.full(20, 350.0))
