"""Curves that share out a four-sided patch of the plane.

blend     curve at share v between a lower and an upper border, whose ends lie on the aft and forward borders at the
          same share of their length

Source: S. Coons, Surfaces for Computer-Aided Design of Space Forms (bilinearly blended patch).
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from strakewright.arrays import Floats

POINTS = 401


def coons(lower: Floats, upper: Floats, aft: Floats, forward: Floats, shares: Floats) -> list[Floats]:
    """Blends at each share, aft to forward.

    lower, upper : (n, 2) from aft to forward;  aft, forward : (n, 2) from lower to upper;  shares : 0..1
    returns one (401, 2) array a share
    """
    borders = [by_share(points) for points in (lower, upper, aft, forward)]
    return [_blend(borders[0], borders[1], borders[2], borders[3], float(v)) for v in shares]


def by_share(points: Floats) -> Callable[[Floats], Floats]:
    """Points of a polyline at shares of its length."""
    steps = np.linalg.norm(np.diff(points, axis=0), axis=-1)
    run = np.concatenate([[0.0], np.cumsum(steps)])
    run /= run[-1]
    return lambda u: np.stack([np.interp(u, run, points[:, k]) for k in (0, 1)], axis=-1)


def _blend(
    lower: Callable[[Floats], Floats],
    upper: Callable[[Floats], Floats],
    aft: Callable[[Floats], Floats],
    forward: Callable[[Floats], Floats],
    v: float,
) -> Floats:
    u = np.linspace(0.0, 1.0, POINTS)
    one, at = np.ones(1), np.array([v])
    ruled = (1 - v) * lower(u) + v * upper(u)
    ends = (1 - u)[:, None] * aft(at) + u[:, None] * forward(at)
    corners = (1 - u)[:, None] * ((1 - v) * lower(0 * one) + v * upper(0 * one)) + u[:, None] * (
        (1 - v) * lower(one) + v * upper(one)
    )
    return np.asarray(ruled + ends - corners)
