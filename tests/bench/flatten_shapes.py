"""Curved patches as irregular triangle meshes with exact corners, and their flat shape where it is known on paper.

All closed forms: a cone opens to a sector (polar angle x sine of the half-angle), a cylinder to a rectangle,
the tangents of a helix to the tangents of a circle of the same curvature a / (a^2 + b^2).
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from scipy.spatial import Delaunay

from strakewright.arrays import Floats, Ints

UNKNOWN = np.full((1, 2), np.nan)


class Shape(NamedTuple):
    """vertices (n, 3) mm, triangles (m, 3), flat (n, 2) exact development, not a number where unknown."""

    vertices: Floats
    triangles: Ints
    flat: Floats


def irregular(length: float, width: float, count: int, seed: int = 1) -> tuple[Floats, Ints]:
    """About `count` counter-clockwise triangles over a rectangle, corners strewn about a grid."""
    cell = np.sqrt(2 * length * width / count)
    along, across = max(round(length / cell), 1), max(round(width / cell), 1)
    x, y = np.meshgrid(np.arange(along + 1.0), np.arange(across + 1.0), indexing="ij")
    strewn = np.random.default_rng(seed).uniform(-0.35, 0.35, (2, *x.shape))
    x[1:-1] += strewn[0][1:-1]
    y[:, 1:-1] += strewn[1][:, 1:-1]
    points = np.column_stack([x.ravel(), y.ravel()])
    triangles = Delaunay(points).simplices.astype(np.int64)
    a, b, c = points[triangles.T]
    twice = (b - a)[:, 0] * (c - a)[:, 1] - (b - a)[:, 1] * (c - a)[:, 0]
    solid = np.abs(twice) > 1e-9
    faces = np.where((twice < 0)[:, None], triangles[:, ::-1], triangles)[solid]
    return points * [length / along, width / across], faces


def cone(count: int, half_angle: float = 0.35, near: float = 2000.0, width: float = 1200.0) -> Shape:
    """Flared bow: slant from `near` to near + width, 3 m along the near border."""
    places, faces = irregular(3000.0, width, count)
    slant, polar = near + places[:, 1], places[:, 0] / near
    turn, sine = polar / np.sin(half_angle), np.sin(half_angle)
    space = [slant * sine * np.cos(turn), slant * sine * np.sin(turn), slant * np.cos(half_angle)]
    return Shape(np.column_stack(space), faces, np.column_stack([slant * np.sin(polar), slant * np.cos(polar)]))


def cylinder(count: int) -> Shape:
    """5 m by 1 m on a radius of 1.5 m, bent about an axis askew to its sides."""
    places, faces = irregular(5000.0, 1000.0, count)
    along, across = places @ [np.cos(0.5), np.sin(0.5)], places @ [-np.sin(0.5), np.cos(0.5)]
    turn = along / 1500.0
    return Shape(np.column_stack([1500 * np.cos(turn), 1500 * np.sin(turn), across]), faces, places)


def tangents(count: int, length: float = 4000.0) -> Shape:
    """Tangent developable of a helix of radius 1.2 m climbing 0.7 m a radian, 0.4 to 1.3 m along the tangents."""
    places, faces = irregular(length, 900.0, count)
    radius, climb = 1200.0, 700.0
    pace = np.hypot(radius, climb)
    turn, off = places[:, 0] / pace, (400.0 + places[:, 1])[:, None]
    curve = np.column_stack([radius * np.cos(turn), radius * np.sin(turn), climb * turn])
    ray = np.column_stack([-radius * np.sin(turn), radius * np.cos(turn), np.full(len(turn), climb)]) / pace
    bend = radius / pace**2
    polar = places[:, 0] * bend
    circle = np.column_stack([np.cos(polar), np.sin(polar)]) / bend
    touch = np.column_stack([-np.sin(polar), np.cos(polar)])
    return Shape(curve + off * ray, faces, (circle + off * touch) * [1, -1])


def topside(count: int) -> Shape:
    """A flared topside, 5.5 m, doubly curved a little everywhere; no closed form."""
    places, faces = irregular(5500.0, 800.0, count)
    u, w = places[:, 0] / 5500, places[:, 1] / 800
    breadth = (0.75 + 0.25 * w) * 900 * (1 - u**2.5) + 40 * np.sin(3 * w) * u
    return Shape(np.column_stack([places[:, 0], breadth, w * (700 + 350 * u**2) - 60 * np.cos(2 * u)]), faces, UNKNOWN)


def sphere_strip(width: float, count: int, radius: float = 1500.0, length: float = 3000.0) -> Shape:
    """A strip along a great circle, facing outwards; x of the flat would run along it."""
    places, faces = irregular(length, width, count)
    along, up = places[:, 0] / radius, (places[:, 1] - width / 2) / radius
    space = [np.sin(along) * np.cos(up), -np.cos(along) * np.cos(up), np.sin(up)]
    return Shape(radius * np.column_stack(space), faces, UNKNOWN)


def off_after_fit(flat: Floats, exact: Floats) -> float:
    """Largest distance mm left after the best turn and shift, without mirroring."""
    a, b = (points @ [1, 1j] - points.mean(axis=0) @ [1, 1j] for points in (flat, exact))
    turn = np.vdot(a, b)
    return float(np.abs(a * turn / abs(turn) - b).max())


SHAPES = {"cone": cone, "cylinder": cylinder, "tangent developable": tangents, "flared topside": topside}
