"""Outlines walked point by point, compiled.

thinned   the points of a line that straight segments within a tolerance of it need
met       where two moved stretches of a ring, each run on, cross beside their corner

Plain loops over arrays that are handed in.  Methods: see `outlines` and `margins`.
"""

from __future__ import annotations

import math

import numpy as np

from strakewright.geometry.quick import Array, called, inner


@inner
def worst_off(points: Array, a: int, b: int, tol: float) -> int:
    """The point between two stops that lies farthest off their chord; a itself where none is more than `tol` off."""
    x, y = points[b, 0] - points[a, 0], points[b, 1] - points[a, 1]
    square = max(math.hypot(x, y), 1e-300) ** 2
    found, most = a, tol
    for i in range(a + 1, b):
        u, v = points[i, 0] - points[a, 0], points[i, 1] - points[a, 1]
        share = min(max((u * x + v * y) / square, 0.0), 1.0)
        off = math.hypot(u - share * x, v - share * y)
        if off > most:
            found, most = i, off
    return found


@inner
def divided(run: Array, a: int, b: int, longest: float, keep: Array) -> None:
    """Keep inner points that divide a stretch about evenly.  run : (n,) mm along the line"""
    parts = math.ceil((run[b] - run[a]) / longest)
    at = a + 1
    for part in range(1, parts):
        wanted = run[a] + (run[b] - run[a]) * part / parts
        while at < b and run[at] < wanted:
            at += 1
        near = at - 1 if wanted - run[at - 1] < run[at] - wanted else at
        keep[min(max(near, a + 1), b - 1)] = True


@called
def thinned(points: Array, run: Array, keep: Array, tol: float, longest: float) -> None:
    """Mark in `keep` (n,), which marks both ends, the points (n, 2) that must stay."""
    more = True
    while more:
        more = False
        a = int(np.int64(0))
        for b in range(1, len(points)):
            if keep[b]:
                worst = worst_off(points, a, b, tol)
                if worst > a:
                    keep[worst] = True
                    more = True
                a = b
        if more:
            continue
        a = int(np.int64(0))
        for b in range(1, len(points)):
            if keep[b]:
                chord = math.hypot(points[b, 0] - points[a, 0], points[b, 1] - points[a, 1])
                if chord > longest * (1 + 1e-9):
                    divided(run, a, b, 0.97 * longest, keep)
                    more = True
                a = b


@inner
def spot(line: Array, i: int, before: Array, after: Array) -> tuple[float, float]:
    """Point number i of a line with one more point before and one after it."""
    if i < 0:
        return before[0], before[1]
    if i >= len(line):
        return after[0], after[1]
    return line[i, 0], line[i, 1]


@called
def met(a: Array, b: Array, ends: Array, beside: int, out: Array) -> bool:
    """Where the end of a (n, 2), run on to ends[0], crosses the start of b (m, 2), run on back to ends[1]: the crossing
    nearest to the corner among `beside` segments of each; False where there is none.

    out : (4,) place on a and on b (fractional point indices, the runs' own), and the point
    """
    found, least = False, 0.0
    last = len(a) - 1
    for i in range(max(0, last - beside + 1), last + 1):
        px, py = spot(a, i, ends[0], ends[0])
        qx, qy = spot(a, i + 1, ends[0], ends[0])
        for j in range(-1, min(beside - 1, len(b) - 1)):
            rx, ry = spot(b, j, ends[1], ends[1])
            sx, sy = spot(b, j + 1, ends[1], ends[1])
            ux, uy, vx, vy, wx, wy = qx - px, qy - py, sx - rx, sy - ry, rx - px, ry - py
            across = ux * vy - uy * vx
            if across == 0.0:
                continue
            f, g = (wx * vy - wy * vx) / across, (wx * uy - wy * ux) / across
            if 0.0 <= f <= 1.0 and 0.0 <= g <= 1.0:
                off = abs(i + f - last) + abs(j + g)
                if not found or off < least:
                    found, least = True, off
                    out[0], out[1], out[2], out[3] = i + f, j + g, px + f * ux, py + f * uy
    return found
