"""Which points lie close to which.

reach : how far a place looks round itself, mm

Method: k-d tree (J. L. Bentley, Comm. ACM 18, 1975), so that a long seam costs no more than its near stretch.
"""

from __future__ import annotations

import numpy as np
from scipy.spatial import KDTree

from strakewright.arrays import Floats, Ints


def pairs_within(places: Floats, points: Floats, reach: float) -> tuple[Ints, Ints]:
    """(m,) indices of places, rising, and (m,) of points at most `reach` from them.  places (n, d), points (k, d)

    >>> [i.tolist() for i in pairs_within(np.array([[0.0], [9.0]]), np.array([[1.0], [8.0], [2.0]]), 2.0)]
    [[0, 0, 1], [0, 2, 1]]
    """
    if len(places) == 0 or len(points) == 0:
        return np.zeros(0, dtype=np.int64), np.zeros(0, dtype=np.int64)
    found = [np.asarray(f, dtype=np.int64) for f in KDTree(points).query_ball_point(places, reach, return_sorted=True)]
    return np.repeat(np.arange(len(places)), [len(f) for f in found]), np.concatenate(found)


def nearest(places: Floats, points: Floats) -> Floats:
    """(m,) distance of each of (m, d) places from the nearest of (n, d) points.

    >>> nearest(np.array([[0.0], [9.0]]), np.array([[1.0], [8.5]])).tolist()
    [1.0, 0.5]
    """
    return np.asarray(KDTree(points).query(places)[0])


def nearest_of(places: Floats, points: Floats) -> tuple[Floats, Ints]:
    """(m,) distance of each of (m, d) places from the nearest of (n, d) points, and (m,) which of them that is.

    >>> [a.tolist() for a in nearest_of(np.array([[0.0], [9.0]]), np.array([[1.0], [8.5]]))]
    [[1.0, 0.5], [0, 1]]
    """
    away, which = KDTree(points).query(places)
    return np.asarray(away), np.asarray(which, dtype=np.int64)
