"""Lines of equal value over a flat mesh, as on a chart of depths.

level     the value that a line runs along;  values stand at the corners and change evenly between them

Method: derived (every triangle is crossed from side to side, the crossings are joined end to end).
"""

from __future__ import annotations

import numpy as np
import shapely

from strakewright.arrays import Floats, Ints


def level_lines(points: Floats, triangles: Ints, values: Floats, level: float) -> list[Floats]:
    """Polylines (k, 2) on which `values` equals `level`; closed ones end where they begin.

    points : (n, 2);  triangles : (m, 3);  values : (n,)

    >>> square = np.array([[0.0, 0.0], [4.0, 0.0], [4.0, 4.0], [0.0, 4.0]])
    >>> halves = np.array([[0, 1, 2], [0, 2, 3]])
    >>> [line.tolist() for line in level_lines(square, halves, square[:, 0], 1.0)]
    [[[1.0, 0.0], [1.0, 1.0], [1.0, 4.0]]]
    """
    above = values > level  # a corner exactly on the level counts as below
    ends = np.sort(np.stack([triangles, np.roll(triangles, -1, axis=1)], axis=-1), axis=-1)
    crossed = above[ends[..., 0]] != above[ends[..., 1]]
    sides = ends[crossed.any(axis=1)][crossed[crossed.any(axis=1)]]
    a, b = sides.T
    share = (level - values[a]) / (values[b] - values[a])
    crossings = points[a] + share[:, None] * (points[b] - points[a])
    joined = shapely.line_merge(shapely.MultiLineString(list(crossings.reshape(-1, 2, 2))))
    lines = [np.asarray(line.coords) for line in shapely.get_parts(joined)]
    return sorted((line for line in map(_from_lower_end, lines) if len(line) > 1), key=lambda line: tuple(line[0]))


def at_corners(triangles: Ints, area: Floats, values: Floats) -> Floats:
    """(n,) mean of the (m,) values of the triangles about each corner, by area."""
    weight = np.bincount(triangles.ravel(), np.repeat(area, 3))
    return np.asarray(np.bincount(triangles.ravel(), np.repeat(area * values, 3)) / np.maximum(weight, 1e-300))


def evened(triangles: Ints, values: Floats, rounds: int = 1) -> Floats:
    """(n,) values at corners, each round half mixed with the mean of its neighbours, so that the eye can follow.

    >>> evened(np.array([[0, 1, 2]]), np.array([0.0, 0.0, 3.0]), 1).tolist()
    [0.75, 0.75, 1.5]
    """
    start = np.concatenate([triangles, np.roll(triangles, -1, axis=1)], axis=1).ravel()
    end = np.concatenate([np.roll(triangles, -1, axis=1), triangles], axis=1).ravel()
    count = np.maximum(np.bincount(start, minlength=len(values)), 1)
    for _ in range(rounds):
        values = (values + np.bincount(start, values[end], len(values)) / count) / 2
    return values


def _from_lower_end(line: Floats) -> Floats:
    """The line beginning at the end that is further left, then lower."""
    return line[::-1] if tuple(line[-1]) < tuple(line[0]) else line
