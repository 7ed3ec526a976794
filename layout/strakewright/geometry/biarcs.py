"""Arcs in place of many short straights, for machines that run smoother on them.

biarc     two arcs that meet in one tangent, from a point and direction to another point and direction
bulge     tangent of a quarter of an arc's angle, + to the left: what a DXF polyline carries; 0 = straight
corner    a point where the line turns too sharply to belong to one smooth run

The points are taken to lie on the true curve (that is how outlines are thinned), so arcs are laid through points and
directions of the line, as long as every point passed over lies within the tolerance of them. Biarc with equal arms
after K. M. Bolton, "Biarc curves", Computer-Aided Design 7 (1975); the search for the longest run is derived.
"""

from __future__ import annotations

from itertools import pairwise

import numpy as np

from strakewright.arrays import Bools, Floats

CORNER_DEG = 12.0  # sharper turns are corners
LONGEST_TURN = np.deg2rad(160.0)  # of one arc, so that none comes near a half circle

Row = tuple[float, float, float]
"""x, y, bulge of the stretch to the next point."""


def biarcs(points: Floats, closed: bool, tol: float = 0.02) -> Floats:
    """(m, 3) x, y and bulge of each stretch to the next point; a closed line's last row goes back to the first.

    points : (n, 2) mm, no repeats;  tol : mm that a point passed over may lie off the arcs

    >>> turn = np.arange(60) * 2 * np.pi / 60
    >>> ring = biarcs(1000 * np.column_stack([np.cos(turn), np.sin(turn)]), closed=True)
    >>> len(ring) < 20 and bool((ring[:, 2] > 0).all())
    True
    """
    line, start = _from_a_corner(points) if closed else (points, None)
    ways_in, ways_out, corner = _directions(line, smooth_ends=closed and start is None)
    rows: list[Row] = []
    stops = np.flatnonzero(corner)
    for first, last in pairwise(stops):
        rows += _run(line, (ways_out, ways_in), (int(first), int(last)), tol)
    if not closed:
        rows.append((float(line[-1, 0]), float(line[-1, 1]), 0.0))
    return np.array(rows)


def _from_a_corner(points: Floats) -> tuple[Floats, int | None]:
    """The ring begun and ended at its sharpest corner; None when it has no corner at all."""
    after, before = np.roll(points, -1, axis=0) - points, points - np.roll(points, 1, axis=0)
    turn = np.abs(_angle(before, after))
    at = int(np.argmax(turn))
    ring = np.roll(points, -at, axis=0)
    return np.concatenate([ring, ring[:1]]), at if turn[at] > np.deg2rad(CORNER_DEG) else None


def _angle(a: Floats, b: Floats) -> Floats:
    """Turn from a to b, radians, + to the left.  a, b : (..., 2)"""
    return np.asarray(np.arctan2(a[..., 0] * b[..., 1] - a[..., 1] * b[..., 0], (a * b).sum(axis=-1)))


def _directions(line: Floats, smooth_ends: bool) -> tuple[Floats, Floats, Bools]:
    """Unit directions into and out of every point and whether it is a corner (ends always are).

    A smooth point has the tangent of the circle through it and its neighbours.
    """
    steps = np.diff(line, axis=0)
    long = np.hypot(*steps.T)
    unit = steps / long[:, None]
    before = np.concatenate([unit[-1:] if smooth_ends else unit[:1], unit])
    after = np.concatenate([unit, unit[:1] if smooth_ends else unit[-1:]])
    far_before = np.concatenate([long[-1:] if smooth_ends else long[:1], long])
    far_after = np.concatenate([long, long[:1] if smooth_ends else long[-1:]])
    turn = _angle(before, after)
    tangent = _turned(before, turn * (far_before / (far_before + far_after)))
    corner = np.abs(turn) > np.deg2rad(CORNER_DEG)
    straight_next = _long_straight(far_before, far_after, turn)
    corner |= straight_next
    ways_in, ways_out = tangent.copy(), tangent.copy()
    ways_in[corner], ways_out[corner] = before[corner], after[corner]
    _open_ends(line, corner, (ways_in, ways_out))
    corner[[0, -1]] = True
    if not smooth_ends:
        ways_out[0], ways_in[-1] = _end_way(line[:3], corner[1]), -_end_way(line[::-1][:3], corner[-2])
    return ways_in, ways_out, corner


def _long_straight(before: Floats, after: Floats, turn: Floats) -> Bools:
    """Points where a straight much longer than its neighbour begins or ends with a turn that is no part of it."""
    ratio = np.maximum(before, after) / np.minimum(before, after)
    return np.asarray((ratio > 6.0) & (np.abs(turn) > np.deg2rad(2.0)))


def _open_ends(line: Floats, corner: Bools, ways: tuple[Floats, Floats]) -> None:
    """Directions at inner corners come from the circle through the next two smooth points, not from the chord."""
    ways_in, ways_out = ways
    for at in np.flatnonzero(corner):
        if 0 < at < len(line) - 1:
            ways_out[at] = _end_way(line[at : at + 3], corner[at + 1])
            ways_in[at] = -_end_way(line[max(at - 2, 0) : at + 1][::-1], corner[at - 1])


def _end_way(points: Floats, straight: bool) -> Floats:
    """Direction at the first of up to three points: tangent of the circle through them; the chord where the next
    point is a corner too."""
    chord = points[1] - points[0]
    unit = chord / np.hypot(*chord)
    if straight or len(points) < 3:
        return np.asarray(unit)
    after = points[2] - points[1]
    turn = float(_angle(chord, after)) * np.hypot(*chord) / (np.hypot(*chord) + np.hypot(*after))
    return np.asarray(_turned(unit[None], np.array([-turn]))[0])


def _turned(ways: Floats, angles: Floats) -> Floats:
    cos, sin = np.cos(angles), np.sin(angles)
    return np.column_stack([ways[:, 0] * cos - ways[:, 1] * sin, ways[:, 0] * sin + ways[:, 1] * cos])


def _run(line: Floats, ways: tuple[Floats, Floats], span: tuple[int, int], tol: float) -> list[Row]:
    """Biarcs over one smooth run, each as long as it may be."""
    (out, into), (at, last) = ways, span
    rows: list[Row] = []
    while at < last:
        reach, good = 1, None
        while at + reach <= last:
            tried = _fitted(line, (out[at], into[at + reach]), (at, at + reach), tol)
            if tried is None:
                break
            good, reach = (tried, reach), reach * 2
        good = _longer(line, ways, (at, last, reach), good, tol)
        if good is None:  # one straight, as it was
            rows.append(_straight(line[at]))
            at += 1
        else:
            rows += good[0]
            at += good[1]
    return rows


def _longer(
    line: Floats,
    ways: tuple[Floats, Floats],
    place: tuple[int, int, int],
    good: tuple[list[Row], int] | None,
    tol: float,
) -> tuple[list[Row], int] | None:
    """Halving between the longest reach that held and the first that did not."""
    at, last, beyond = place
    low, high = (good[1] if good else 0), min(beyond, last - at + 1)
    while high - low > 1:
        middle = (low + high) // 2
        tried = _fitted(line, (ways[0][at], ways[1][at + middle]), (at, at + middle), tol)
        if tried is None:
            high = middle
        else:
            good, low = (tried, middle), middle
    return good


def _fitted(line: Floats, ways: tuple[Floats, Floats], span: tuple[int, int], tol: float) -> list[Row] | None:
    """Both arcs from one point of the line to another, None when they turn too far or stray from the line."""
    (first, last), (start, end) = span, ways
    a, b = line[first], line[last]
    joint = _joint(a, b, start, end)
    if joint is None:
        return None
    arcs = [(a, joint, 2 * float(_angle(start, joint - a))), (joint, b, 2 * float(_angle(b - joint, end)))]
    if any(abs(arc[2]) > LONGEST_TURN for arc in arcs):
        return None
    inner = line[first + 1 : last]
    if len(inner) and off_arcs(inner, arcs).max() > tol:
        return None
    if all(abs(turn) < 1e-9 for _, _, turn in arcs):
        return [_straight(a)]
    return [(float(p[0]), float(p[1]), float(np.tan(turn / 4))) for p, _, turn in arcs]


def _straight(point: Floats) -> Row:
    return float(point[0]), float(point[1]), 0.0


def _joint(a: Floats, b: Floats, start: Floats, end: Floats) -> Floats | None:
    """Where the two arcs of a biarc with equal arms meet; None when there is none ahead."""
    chord, both = b - a, start + end
    square, along, bend = float(chord @ chord), float(chord @ both), 2.0 * (1.0 - float(start @ end))
    if bend < 1e-12:
        arm = square / (2 * along) if along > 1e-12 else -1.0
    else:
        arm = (-along + float(np.sqrt(along * along + bend * square))) / bend
    return np.asarray((a + arm * start + b - arm * end) / 2) if arm > 1e-9 else None


Arc = tuple[Floats, Floats, float]
"""Start (2,), end (2,), turn in radians (0 = straight)."""


def off_arcs(points: Floats, arcs: list[Arc]) -> Floats:
    """(n,) mm from each point to the nearest of some arcs (their whole circle within the chord's span)."""
    return np.asarray(np.stack([_off_arc(points, arc) for arc in arcs]).min(axis=0))


def _off_arc(points: Floats, arc: Arc) -> Floats:
    a, b, turn = arc
    chord = b - a
    long = max(float(np.hypot(*chord)), 1e-12)
    way = chord / long
    along, up = (points - a) @ way, (points - a) @ np.array([-way[1], way[0]])
    if abs(turn) < 1e-9:
        near = np.clip(along, 0.0, long)
        return np.asarray(np.hypot(along - near, up))
    radius = long / (2 * np.sin(turn / 2))  # signed: + turns left, centre on the left
    centre = np.array([long / 2, radius * np.cos(turn / 2)])
    far = np.hypot(along - centre[0], up - centre[1])
    beyond = np.maximum(np.maximum(-along, along - long), 0.0)
    return np.asarray(np.hypot(far - abs(radius), beyond))


def dense(rows: Floats, closed: bool, sag: float = 0.001) -> Floats:
    """(k, 2) points on a line with bulges, so close that no chord is `sag` mm off its arc.  rows : (m, 3)"""
    ends = np.roll(rows, -1, axis=0) if closed else rows[1:]
    found = [
        _on_arc(a[:2], b[:2], 4 * float(np.arctan(a[2])), sag)
        for a, b in zip(rows if closed else rows[:-1], ends, strict=True)
    ]
    return np.concatenate(found if closed else [*found, rows[-1:, :2]])


def _on_arc(a: Floats, b: Floats, turn: float, sag: float) -> Floats:
    """Points from a (included) to b (left out)."""
    if abs(turn) < 1e-9:
        return a[None]
    middle, half = (a + b) / 2, (b - a) / 2
    radius = float(np.hypot(*half)) / abs(np.sin(turn / 2))
    count = max(1, int(np.ceil(abs(turn) / np.sqrt(8 * sag / radius))))
    share = np.arange(count) / count
    centre = middle + np.array([-half[1], half[0]]) / np.tan(turn / 2)
    spun = _turned(np.repeat((a - centre)[None], count, axis=0), turn * share)
    return np.asarray(centre + spun)
