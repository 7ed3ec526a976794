"""Surfaces that bend both ways or twist: sphere, paraboloid, helicoid, and the figures of fit.

Closed forms: sphere K = 1 / R^2; cylinder of radius R crossed at angle b to its axis: bend R / sin^2 b, twist
sin b cos b / R, hollow w^2 cos^2 b / 8R; helicoid: twist k / (1 + k^2 v^2), no bend along the helices.
"""

from __future__ import annotations

import numpy as np
import pytest
from scipy.interpolate import CubicSpline
from scipy.spatial import cKDTree
from tests.acceptance.shapes import ARC_FROM, ARC_TO, HELIX_TO, HELIX_TURN
from tests.acceptance.yard import Planked, length, margins
from tests.exact_hulls import TwistedBottom

from strakewright.arrays import Floats

SPHERE = 5000.0 - 9.5
CENTRE = np.array([0.0, -3800.0, 300.0])


def test_sphere_seams_lie_on_the_middle_of_the_planking(sphere: Planked) -> None:
    for plank in sphere.port("side"):
        for m in margins(plank):
            assert np.abs(np.linalg.norm(m.seam - CENTRE, axis=1) - SPHERE).max() < 0.05
            assert abs(length(m.seam) - length(m.flat)) < 0.05


def test_sphere_neighbours_stand_one_width_apart(sphere: Planked) -> None:
    """Angle at the centre x R from a point of one seam to the nearest of the next; the girth square from the sheer
    divided by six.  Great-circle distance is the geodesic distance."""
    widths = []
    for plank in sphere.port("side")[1:-1]:
        a, b = (m.seam - CENTRE for m in (plank.first, plank.second))
        near = cKDTree(b).query(a[50:-50:20])[0]
        widths.append(2 * SPHERE * np.arcsin(near / 2 / SPHERE))
    every = np.concatenate(widths)
    assert np.ptp(every) < 0.05 + 0.13  # listed points stand 10 mm apart: hypot(5, 100) - 100
    assert every.min() == pytest.approx(100.0, abs=1.0)


def test_sphere_strain_is_gauss_curvature_by_width_squared_over_eight(sphere: Planked) -> None:
    """Both edges true: the middle of a strip of width w is off by K w^2 / 8 (derived, Gauss)."""
    for plank in sphere.port("side"):
        width = float(plank.extra["width_max"])  # type: ignore[arg-type]
        assert plank.fit.strain_max == pytest.approx(width**2 / 8 / SPHERE**2, rel=0.02)
        assert plank.fit.bend_radius_min == pytest.approx(SPHERE, rel=0.01)
        assert plank.fit.hollow == pytest.approx(width**2 / 8 / SPHERE, rel=0.01)


def test_half_fold_bevels_of_an_arc_section(arc: Planked) -> None:
    """Eight strakes share 60 degrees: fold w / R = 7.5 degrees, half of it on each edge."""
    planks = arc.port("side")
    assert len(planks) == 8
    half = (ARC_TO - ARC_FROM) / 8 / 2
    for plank in planks:
        for m in (m for m in (plank.first, plank.second) if m.meets == "seam"):
            assert np.abs(np.degrees(m.bevel) - half).max() < 0.05
        width = 2000.0 * np.radians(2 * half)
        assert plank.fit.hollow == pytest.approx(width**2 / 8 / 2000.0, rel=0.01)
        assert plank.fit.bend_radius_min is None or plank.fit.bend_radius_min > 1e6


def test_diagonals_on_a_cylinder(arc_diagonal: Planked) -> None:
    """30 degrees on R 2 m: bends to 8 m, twists 12.405 degrees a metre, 0.469 mm hollow in 100 mm.

    Curvature across the seams is cos^2 30 / R: half-fold of 100 mm planks 1.0743 degrees."""
    whole = [p for p in arc_diagonal.port("side") if p.first.meets == p.second.meets == "seam"]
    assert len(whole) > 20
    for plank in whole:
        assert plank.fit.bend_radius_min == pytest.approx(8000.0, rel=0.01)
        assert np.degrees(plank.fit.twist_max) * 1000 == pytest.approx(12.405, rel=0.01)
        assert plank.fit.hollow == pytest.approx(100.0**2 * 0.75 / 2000.0 / 8, rel=0.01)
        for m in (plank.first, plank.second):
            assert np.degrees(m.bevel) == pytest.approx(np.degrees(0.75 / 2000.0 * 50.0), abs=0.05)


def test_strakes_on_a_helicoid(wound: Planked) -> None:
    planks = wound.port("side")
    assert len(planks) == 7
    for i, plank in enumerate(planks):
        v = HELIX_TO - 100.0 * (i + 0.5)
        assert plank.fit.twist_max == pytest.approx(HELIX_TURN / (1 + (HELIX_TURN * v) ** 2), rel=0.01)
        assert plank.fit.bend_radius_min is None or plank.fit.bend_radius_min > 1e6
        assert np.abs(np.hypot(*plank.first.seam[:, 1:].T) - (HELIX_TO - 100.0 * i)).max() < 0.05


# -- width on a twisted panel, by an independent geodesic -------------------------------------------------

DEPTH, STEP = 9.5, 0.5
HP = TwistedBottom()


def middle(uv: Floats) -> Floats:
    """Middle of 19 mm planking inside z = y (t0 + t1 x): closed form, (u, v) = (x, y) of the outside."""
    u, v = uv[..., 0], uv[..., 1]
    slope = HP.t0 + HP.t1 * u
    out = np.stack([v * HP.t1, slope, -np.ones_like(u)], axis=-1)
    return np.asarray(np.stack([u, v, v * slope], -1) - DEPTH * out / np.linalg.norm(out, axis=-1, keepdims=True))


def derivatives(uv: Floats) -> tuple[Floats, ...]:
    """r, r_u, r_v, r_uu, r_uv, r_vv by central differences of the closed form."""
    e, f, h = np.array([STEP, 0.0]), np.array([0.0, STEP]), STEP
    r, a, b, c, d = middle(uv), middle(uv + e), middle(uv - e), middle(uv + f), middle(uv - f)
    mixed = middle(uv + e + f) + middle(uv - e - f) - middle(uv + e - f) - middle(uv - e + f)
    return r, (a - b) / 2 / h, (c - d) / 2 / h, (a + b - 2 * r) / h**2, mixed / 4 / h**2, (c + d - 2 * r) / h**2


def in_surface(r_u: Floats, r_v: Floats, vector: Floats) -> Floats:
    """Components of a space vector's tangent part."""
    e, f, g = (r_u * r_u).sum(-1), (r_u * r_v).sum(-1), (r_v * r_v).sum(-1)
    a, b = (vector * r_u).sum(-1), (vector * r_v).sum(-1)
    return np.asarray(np.stack([g * a - f * b, e * b - f * a], axis=-1) / (e * g - f * f)[:, None])


def foot(points: Floats) -> Floats:
    """(u, v) of points near the middle surface."""
    uv = points[:, :2].copy()
    for _ in range(30):
        r, r_u, r_v, *_ = derivatives(uv)
        uv = uv + in_surface(r_u, r_v, points - r)
    return uv


def bending(uv: Floats, w: Floats) -> Floats:
    """Second derivative of (u, v) along a geodesic of velocity w."""
    _, r_u, r_v, uu, mixed, vv = derivatives(uv)
    second = uu * w[:, :1] ** 2 + 2 * mixed * w[:, :1] * w[:, 1:] + vv * w[:, 1:] ** 2
    return -in_surface(r_u, r_v, second)


def walk(uv: Floats, w: Floats, distance: float) -> Floats:
    """End points in space of geodesics of that length (Runge-Kutta, 20 steps)."""
    h = distance / 20
    for _ in range(20):
        a, da = w, bending(uv, w)
        b, db = w + h / 2 * da, bending(uv + h / 2 * a, w + h / 2 * da)
        c, dc = w + h / 2 * db, bending(uv + h / 2 * b, w + h / 2 * db)
        d, dd = w + h * dc, bending(uv + h * c, w + h * dc)
        uv, w = uv + h / 6 * (a + 2 * b + 2 * c + d), w + h / 6 * (da + 2 * db + 2 * dc + dd)
    return middle(uv)


def by_length(points: Floats) -> CubicSpline:
    run = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(points, axis=0), axis=1))])
    return CubicSpline(run, points)


def miss(a: Floats, b: Floats, width: float) -> float:
    """Largest distance by which geodesics of length `width`, square from seam a, miss seam b."""
    one, two = by_length(a), by_length(b)
    at = np.linspace(0.03, 0.97, 30) * one.x[-1]
    start, tangent = one(at), one(at, 1)
    uv = foot(start)
    _, r_u, r_v, *_ = derivatives(uv)
    way = np.cross(np.cross(r_u, r_v), tangent)
    way *= np.sign(way @ (two(two.x[-1] / 2) - one(one.x[-1] / 2)))[:, None]
    w = in_surface(r_u, r_v, way)
    w /= np.linalg.norm(w[:, :1] * r_u + w[:, 1:] * r_v, axis=1)[:, None]
    end = walk(uv, w, width)
    fine = np.linspace(0.0, two.x[-1], 4001)
    nearest = cKDTree(two(fine)).query(end)[1]
    inner = (nearest > 20) & (nearest < 3980)
    gap, along = end - two(fine[nearest]), two(fine[nearest], 1)
    along /= np.linalg.norm(along, axis=1)[:, None]
    across = np.linalg.norm(gap - (gap * along).sum(axis=1)[:, None] * along, axis=1)
    return float(across[inner].max(initial=0.0))


def test_neighbouring_seams_of_a_twisted_bottom_stand_one_width_apart(twisted: Planked) -> None:
    pairs = [p for p in twisted.port("bottom") if p.first.meets == p.second.meets == "seam" and len(p.first.seam) > 8]
    assert len(pairs) > 20
    for plank in pairs:
        on = np.concatenate([plank.first.seam, plank.second.seam])
        assert np.linalg.norm(middle(foot(on)) - on, axis=1).max() < 0.05
        assert miss(plank.first.seam, plank.second.seam, 160.0) < 0.05


def test_twisted_seams_are_as_long_in_the_flat(twisted: Planked) -> None:
    for plank in twisted.planks:
        for m in (m for m in margins(plank) if m.meets == "seam"):
            assert abs(length(m.seam) - length(m.flat)) < 0.05
