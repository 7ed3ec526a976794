"""Surfaces in closed form over a chart (p forward, q up the port side, mm), and patches fitted to points on them."""

from __future__ import annotations

from collections.abc import Callable
from functools import cache

import numpy as np
from tests.exact_hulls import CONE, HELIX, Wall

from strakewright.arrays import Floats
from strakewright.geometry.surface import Patch, fit_patch

Surface = Callable[[Floats], Floats]
SPHERE = 2000.0


def plane(chart: Floats) -> Floats:
    """A side flared at arctan 0.3."""
    p, q = chart[..., 0], chart[..., 1]
    return np.stack([p, 500.0 + 0.3 * q / np.hypot(1, 0.3), q / np.hypot(1, 0.3)], axis=-1)


def cylinder(radius: float) -> Surface:
    """Axis along x, bulging to port; the chart is its development."""

    def surface(chart: Floats) -> Floats:
        turn = chart[..., 1] / radius
        return np.stack([chart[..., 0], radius * np.cos(turn), radius * np.sin(turn)], axis=-1)

    return surface


def sphere(chart: Floats) -> Floats:
    """Radius 2 m; p along the equator, q up the meridians (not isometric: p shrinks by cos(q / R))."""
    a, b = chart[..., 0] / SPHERE, chart[..., 1] / SPHERE
    return SPHERE * np.stack([np.sin(a) * np.cos(b), np.cos(a) * np.cos(b), np.sin(b)], axis=-1)


def twisted(chart: Floats) -> Floats:
    """Right-hand helicoid: rulings along q turn 0.3 rad per m of p."""
    turn = 3e-4 * chart[..., 0]
    return np.stack([chart[..., 0], -chart[..., 1] * np.sin(turn), chart[..., 1] * np.cos(turn)], axis=-1)


def wall_chart(wall: Wall, chart: Floats) -> tuple[Floats, Floats]:
    """theta and z of a deliberately uneven chart of a wall: girth at the foot, height along the slope."""
    z = chart[..., 1] * np.cos(wall.flare)
    return chart[..., 0] / wall.rho, z


def wall_surface(wall: Wall) -> Surface:
    """A wall of constant slope over its uneven chart."""
    return lambda chart: wall.at(*wall_chart(wall, chart))


def scatter(low: tuple[float, float], high: tuple[float, float], count: int) -> Floats:
    """Irregular chart points with all corners and borders well covered."""
    inside = np.random.default_rng(3).uniform(low, high, (count, 2))
    u = np.linspace(0.0, 1.0, max(2, count // 20))
    low_, high_ = np.array(low), np.array(high)
    sides = [np.column_stack([u, 0 * u]), np.column_stack([u, 0 * u + 1])]
    sides += [side[:, ::-1] for side in sides]
    return np.concatenate([inside, low_ + np.concatenate(sides) * (high_ - low_)])


@cache
def cylinder_patch() -> Patch:
    """Radius 2 m, 6 m long, 1.2 m of girth."""
    chart = scatter((0, 0), (6000, 1200), 5000)
    return fit_patch(chart, cylinder(2000.0)(chart))[0]


@cache
def sphere_patch() -> Patch:
    """2.4 m along the equator, +-600 up and down."""
    chart = scatter((-1200, -600), (1200, 600), 4000)
    return fit_patch(chart, sphere(chart))[0]


@cache
def plane_patch() -> Patch:
    """3 m by 1 m."""
    chart = scatter((0, 0), (3000, 1000), 60)
    return fit_patch(chart, plane(chart))[0]


@cache
def wall_patch(name: str) -> tuple[Wall, Patch]:
    """The cone or the helix wall, 600 high and 0.7 rad long."""
    wall = {"cone": CONE, "helix": HELIX}[name]
    chart = scatter((0, 0), (0.7 * wall.rho, 640), 5000)
    return wall, fit_patch(chart, wall_surface(wall)(chart))[0]
