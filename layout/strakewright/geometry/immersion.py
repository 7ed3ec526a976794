"""What of a closed shape of triangles lies below a plane: volume, centre, wetted area, and the plane's own figures.

waterplane     the plane's patch inside the shape; area, first and second moments in its own axes
wetted         area of the shape's surface below the plane (only of triangles that are asked for)
axes           three rows: forward along the plane, to port along the plane, up (square to it)

Method (derived): triangles are cut at the plane; volume and centre are those of the tetrahedra from a point of the
plane over the pieces (divergence theorem, the lid adds nothing); the waterplane's moments are those of the pieces
seen from above, because 1, x, y, xx, xy and yy times the vertical have no divergence. Exact for the triangles.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from strakewright.arrays import Bools, Floats, Ints

UPRIGHT = np.eye(3)


@dataclass(frozen=True, eq=False)
class Immersed:
    """Figures in the plane's axes, the plane itself at height 0.  mm, mm2 ...

    centre : (3,) of the volume, its height below 0;  area : of the waterplane;  first : (2,) its moments about the
    axes' origin;  second : (2, 2) likewise;  wetted;  reach : (4,) least and most forward, least and most to port of
    the line where the plane cuts the surface
    """

    volume: float
    centre: Floats
    area: float
    first: Floats
    second: Floats
    wetted: float
    reach: Floats


def immersed(
    vertices: Floats, triangles: Ints, axes: Floats = UPRIGHT, level: float = 0.0, wets: Bools | None = None
) -> Immersed:
    """What lies below the plane at height `level` along the third axis.

    vertices : (n, 3);  triangles : (m, 3), outward, closed below the plane;  wets : (m,) which count as wetted
    """
    points, at_water, counted = pieces_below(vertices, triangles, axes, level, wets)
    if len(points) == 0:
        nothing = np.zeros(2)
        return Immersed(0.0, np.zeros(3), 0.0, nothing, np.zeros((2, 2)), 0.0, np.zeros(4))
    x, y, z = np.ascontiguousarray(points.transpose(2, 1, 0))  # each (3, k): corners one under the other
    ux, uy, uz = (c[1] - c[0] for c in (x, y, z))
    vx, vy, vz = (c[2] - c[0] for c in (x, y, z))
    square = np.stack([uy * vz - uz * vy, uz * vx - ux * vz, ux * vy - uy * vx])
    sixth = (x[0] * square[0] + y[0] * square[1] + z[0] * square[2]) / 6
    volume = float(sixth.sum())
    sums = x[0] + x[1] + x[2], y[0] + y[1] + y[2], z[0] + z[1] + z[2]
    centre = np.array([sixth @ s for s in sums]) / 4 / (volume if volume else 1.0)
    down = -square[2] / 2
    first = np.array([down @ sums[0], down @ sums[1]]) / 3
    (xx, xy), (_, yy) = _products(down, (x, y), sums)
    second = np.array([[xx, xy], [xy, yy]]) / 12
    wetted = float(np.sqrt((square[:, counted] ** 2).sum(axis=0)).sum() / 2)
    return Immersed(volume, centre, float(down.sum()), first, second, wetted, _reach(at_water))


def _products(down: Floats, flat: tuple[Floats, Floats], sums: tuple[Floats, ...]) -> list[list[float]]:
    """Twelve times the second moments of triangles weighed by their area seen from above."""
    return [
        [float(down @ (a[0] * b[0] + a[1] * b[1] + a[2] * b[2] + sums[i] * sums[j])) for j, b in enumerate(flat)]
        for i, a in enumerate(flat)
    ]


def pieces_below(
    vertices: Floats, triangles: Ints, axes: Floats, level: float, wets: Bools | None = None
) -> tuple[Floats, Floats, Bools]:
    """Triangles below the plane and pieces of those it cuts, in its axes: (k, 3, 3), height <= 0.

    returns also (j, 2, 3) where the plane cuts the surface, and (k,) which pieces count as wetted
    """
    seen = vertices @ axes.T - np.array([0.0, 0.0, level])
    below = (seen[:, 2] < 0.0)[triangles]
    count = below.sum(axis=1)
    counted = np.ones(len(triangles), dtype=bool) if wets is None else wets
    whole, one, two = count == 3, count == 1, count == 2
    tip = seen[_lone_first(triangles[one], below[one])]
    left_1, right_1 = _cut(tip[:, 0], tip[:, 1]), _cut(tip[:, 0], tip[:, 2])
    top = seen[_lone_first(triangles[two], ~below[two])]
    left_2, right_2 = _cut(top[:, 0], top[:, 1]), _cut(top[:, 0], top[:, 2])
    pieces = (
        seen[triangles[whole]],
        np.stack([tip[:, 0], left_1, right_1], axis=1),
        np.stack([left_2, top[:, 1], top[:, 2]], axis=1),
        np.stack([left_2, top[:, 2], right_2], axis=1),
    )
    lines = np.concatenate([np.stack([left_1, right_1], axis=1), np.stack([left_2, right_2], axis=1)])
    wet = np.concatenate([counted[whole], counted[one], counted[two], counted[two]])
    return np.concatenate(pieces), lines, wet


def section_area(points: Floats, at: float) -> float:
    """Area in the plane forward = at, of a closed shape below the water given as pieces (k, 3, 3): the integral
    of y dz round the section; the lid at height 0 adds nothing."""
    over = points[:, :, 0] - at
    positive = over >= 0
    count = positive.sum(axis=1)
    crossing = (count > 0) & (count < 3)
    part, front = points[crossing], positive[crossing]
    lone = np.where(count[crossing] == 1, front.argmax(axis=1), (~front).argmax(axis=1))
    rows = np.arange(len(part))
    tip, b, c = (part[rows, (lone + k) % 3] for k in range(3))
    p, q = (tip + ((at - tip[:, 0]) / (o[:, 0] - tip[:, 0]))[:, None] * (o - tip) for o in (b, c))
    out = np.cross(b - tip, c - tip)
    run = (q - p)[:, 1:]
    way = np.sign(run[:, 1] * out[:, 1] - run[:, 0] * out[:, 2])
    return float((way * 0.5 * (p[:, 1] + q[:, 1]) * run[:, 1]).sum())


def _lone_first(triangles: Ints, lone: Bools) -> Ints:
    """Triangles turned so that the corner marked lone comes first."""
    at = lone.argmax(axis=1)
    turn = (at[:, None] + np.arange(3)) % 3
    return np.asarray(np.take_along_axis(triangles, turn, axis=1))


def _cut(a: Floats, b: Floats) -> Floats:
    """Where the lines from a to b meet height 0."""
    share = a[:, 2] / (a[:, 2] - b[:, 2])
    return np.asarray(a + share[:, None] * (b - a))


def _reach(lines: Floats) -> Floats:
    if len(lines) == 0:
        return np.zeros(4)
    flat = lines.reshape(-1, 3)
    return np.array([flat[:, 0].min(), flat[:, 0].max(), flat[:, 1].min(), flat[:, 1].max()])
