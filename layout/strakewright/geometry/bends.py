"""A flat curve from its bend: what a stick looks like whose curvature is known all along.

bend      curvature 1/mm along a run in mm, + to the left

Method: the direction is the integral of the bend (exact for its spline); the points are integrals of the direction's
cosine and sine by Gauss quadrature of order 8 between stations.
"""

from __future__ import annotations

import numpy as np

from strakewright.arrays import Floats
from strakewright.geometry.drawn import interpolant

ORDER = 8


def from_bend(run: Floats, bend: Floats) -> tuple[Floats, Floats]:
    """(n, 2) mm points and (n,) directions in radians of the flat curve with the given bend, from (0, 0) along x.

    run : (n,) mm, rising from 0;  bend : (n,) 1/mm

    >>> points, way = from_bend(np.linspace(0.0, 500 * np.pi, 41), np.full(41, 1 / 1000))
    >>> points[-1].round(6).tolist(), round(float(way[-1]), 9) == round(np.pi / 2, 9)
    ([1000.0, 1000.0], True)
    """
    turn = interpolant(run, bend).antiderivative()
    nodes, weights = np.polynomial.legendre.leggauss(ORDER)
    half = 0.5 * np.diff(run)[:, None]
    way = turn(0.5 * (run[1:] + run[:-1])[:, None] + half * nodes) - turn(run[0])
    steps = np.stack([(np.cos(way) * half * weights).sum(axis=1), (np.sin(way) * half * weights).sum(axis=1)], axis=-1)
    points = np.concatenate([np.zeros((1, 2)), np.cumsum(steps, axis=0)])
    return points, np.asarray(turn(run) - turn(run[0]))
