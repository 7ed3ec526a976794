"""Outlines of flat pieces: how large, which way round, joined, grown and thinned.

ring      closed outline, (n, 2) mm, first point not repeated; counter-clockwise = wood on the left
grow      move each stretch of a ring outwards (or, below 0, inwards) by its own distance
mitre     neighbouring stretches run on until they meet, as two planed edges do
thin      as few straight segments as keep within a given distance of the line

Growing moves every segment along its normal and meets neighbours at the mitre; where that folds over
itself, the swept strips are joined instead (union of quads and mitre kites; derived).  Thinning is the
halving method of Douglas and Peucker (1973), with corners kept and a longest segment.
"""

from __future__ import annotations

import numpy as np
import shapely

from strakewright.arrays import Bools, Floats
from strakewright.errors import UnworkableError
from strakewright.geometry import quickrings

_MITRE_LIMIT = 4.0  # a mitre further off than this many distances is cut off square to the ring
_CORNER = np.deg2rad(8.0)  # a turn of more than this is a corner, kept when thinning
_SHORTEST = 0.01  # mm, no segment below this


def signed_area(ring: Floats) -> float:
    """Area of a ring in mm2, positive when counter-clockwise.  ring : (n, 2); returns 0 for n < 3.

    >>> signed_area(np.array([[0.0, 0.0], [4.0, 0.0], [4.0, 3.0], [0.0, 3.0]]))
    12.0
    """
    if len(ring) < 3:
        return 0.0
    x, y = (ring - ring[0]).T
    return float(np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y) / 2)


def perimeter(ring: Floats) -> float:
    """Length round a ring in mm.  ring : (n, 2)

    >>> perimeter(np.array([[0.0, 0.0], [4.0, 0.0], [4.0, 3.0]]))
    12.0
    """
    return float(np.linalg.norm(_steps(ring), axis=1).sum())


def as_ccw(ring: Floats) -> Floats:
    """The ring counter-clockwise, beginning at the same point.  ring : (n, 2)

    >>> as_ccw(np.array([[0.0, 0.0], [0.0, 1.0], [1.0, 0.0]])).tolist()
    [[0.0, 0.0], [1.0, 0.0], [0.0, 1.0]]
    """
    return ring if signed_area(ring) >= 0 else np.concatenate([ring[:1], ring[:0:-1]])


def is_simple(ring: Floats) -> bool:
    """True when the ring neither crosses nor touches itself and has an area.  ring : (n, 2)"""
    return len(ring) >= 3 and bool(shapely.Polygon(ring).is_valid) and abs(signed_area(ring)) > 0


def contains(ring: Floats, points: Floats) -> Bools:
    """Which points lie inside or on the ring.  ring : (n, 2), points : (m, 2); returns (m,)"""
    polygon = shapely.Polygon(ring)
    shapely.prepare(polygon)
    return np.asarray(shapely.intersects_xy(polygon, points[:, 0], points[:, 1]), dtype=np.bool_)


def distance_to_ring(points: Floats, ring: Floats) -> Floats:
    """Distance from each point to the line of the ring, mm, never negative.

    points : (m, 2), ring : (n, 2);  returns (m,)

    >>> distance_to_ring(np.array([[2.0, 1.0]]), np.array([[0.0, 0.0], [4.0, 0.0], [4.0, 3.0], [0.0, 3.0]]))
    array([1.])
    """
    line = shapely.LinearRing(ring)
    shapely.prepare(line)
    return np.asarray(shapely.distance(shapely.points(points), line), dtype=np.float64)


def union_ring(a: Floats, b: Floats) -> Floats:
    """Outer line of two rings together, counter-clockwise; holes between them are filled.

    a, b : (n, 2), each simple.  Raises UnworkableError when they lie apart or a ring crosses itself.
    """
    for ring in (a, b):
        if not is_simple(ring):
            raise UnworkableError("an outline crosses itself", fix=_crossing(ring))
    return _one_ring(shapely.union(shapely.Polygon(a), shapely.Polygon(b)), "two outlines lie apart")


def intersection_ring(a: Floats, b: Floats) -> Floats:
    """The ring of what two rings share.  Raises UnworkableError when that is nothing or several pieces."""
    shared = shapely.intersection(shapely.Polygon(a), shapely.Polygon(b))
    return _one_ring(shared, "two outlines share no single piece")


def clip_lines(points: Floats, ring: Floats) -> list[Floats]:
    """The stretches of a line inside a ring, in the line's own order and direction.

    points : (m, 2) a polyline, ring : (n, 2);  returns polylines (k, 2), none when the line stays outside
    """
    line, polygon = shapely.LineString(points), shapely.Polygon(ring)
    if shapely.contains_properly(polygon, line):
        return [points]
    inside = shapely.line_merge(shapely.intersection(line, polygon))
    pieces = [np.asarray(g.coords) for g in shapely.get_parts(inside) if g.geom_type == "LineString"]
    along = [_run_with(line, piece) for piece in pieces]
    return [piece for _, piece in sorted(along, key=lambda pair: pair[0])]


def chords(ring: Floats, x: Floats) -> Floats:
    """The stretches inside a ring of upright lines at x, lowest first.

    ring : (n, 2), x : (k,);  returns (k, m, 2) lower and upper y, NaN where a line has fewer than m

    >>> chords(np.array([[0.0, 0.0], [4.0, 0.0], [4.0, 3.0], [0.0, 1.0]]), np.array([2.0, 9.0])).tolist()
    [[[0.0, 2.0]], [[nan, nan]]]
    >>> chords(np.array([[0.0, 0.0], [4.0, 0.0], [4.0, 3.0]]), np.zeros(0)).shape
    (0, 0, 2)
    """
    after = np.roll(ring, -1, axis=0)
    crossed = (ring[:, 0] <= x[:, None]) != (after[:, 0] <= x[:, None])
    run = np.where(ring[:, 0] == after[:, 0], 1.0, after[:, 0] - ring[:, 0])
    y = ring[:, 1] + (x[:, None] - ring[:, 0]) / run * (after[:, 1] - ring[:, 1])
    y = np.sort(np.where(crossed, y, np.nan), axis=1)[:, : int(crossed.sum(axis=1).max(initial=0))]
    return y.reshape(len(x), y.shape[1] // 2, 2)


def grow_ring(ring: Floats, distances: Floats | float) -> Floats:
    """The ring with each segment moved square to itself, neighbours meeting at the mitre.

    ring : (n, 2) counter-clockwise
    distances : (n,) mm for the segment that starts at each point (or one for all), + outwards
    returns (m, 2) counter-clockwise.  A step between different distances on a straight run stays a step.
    Raises UnworkableError when nothing is left, or it falls into pieces.

    >>> square = np.array([[0.0, 0.0], [4.0, 0.0], [4.0, 3.0], [0.0, 3.0]])
    >>> grow_ring(square, np.array([0.0, 1.0, 0.0, 2.0])).tolist()
    [[-2.0, 0.0], [5.0, 0.0], [5.0, 3.0], [-2.0, 3.0]]
    """
    ring, distance = _without_specks(ring, np.broadcast_to(np.asarray(distances, dtype=float), len(ring)))
    steps = _steps(ring)
    ways = steps / np.linalg.norm(steps, axis=1, keepdims=True)
    corners = _mitres(ring, ways, distance)
    moved = np.concatenate(corners)
    if _keeps_its_way(corners, ways) and is_simple(moved) and signed_area(moved) > 0:
        return np.asarray(moved[np.linalg.norm(_steps(moved), axis=1) > 1e-9])
    return _grow_by_strips(ring, ways, distance, corners)


def thin_ring(ring: Floats, tol: float = 0.05, longest: float = 50.0) -> Floats:
    """The ring with the fewest straight segments that stay within `tol` mm of it.

    ring : (n, 2), simple;  longest : mm, longer segments are divided
    returns (m, 2), counter-clockwise, beginning at the first point; corners stay where they are, no segment
    under 0.01 mm.  Where thinning would make the ring cross itself the tolerance is tightened.
    """
    whole, _ = _without_specks(as_ccw(ring), np.zeros(len(ring)))
    for eased in (tol, tol / 8, tol / 64):
        thinned = _thin_closed(whole, eased, longest)
        if is_simple(thinned):
            return thinned
    return whole


def thin_line(points: Floats, tol: float = 0.05, longest: float = 50.0) -> Floats:
    """An open line with the fewest straight segments within `tol` mm, its two ends kept.  points : (n, 2)"""
    keep = np.zeros(len(points), dtype=np.bool_)
    keep[[0, -1]] = True
    return _thin(points, keep, tol, longest)


def _steps(ring: Floats) -> Floats:
    return np.roll(ring, -1, axis=0) - ring


def _turns(ring: Floats) -> Floats:
    """(n,) turn of the ring at each point, radians, + to the left."""
    out = _steps(ring)
    come = np.roll(out, 1, axis=0)
    cross = come[:, 0] * out[:, 1] - come[:, 1] * out[:, 0]
    return np.asarray(np.arctan2(cross, np.sum(come * out, axis=1)))


def _crossing(ring: Floats) -> str:
    return f"{shapely.is_valid_reason(shapely.Polygon(ring))} (mm, flat axes)" if len(ring) > 2 else "no area"


def _one_ring(shape: shapely.Geometry, what: str) -> Floats:
    """The outer ring of the only piece; specks below a millionth of the area are let go."""
    pieces = sorted(
        (g for g in shapely.get_parts(shape) if g.geom_type == "Polygon" and g.area > 0),
        key=lambda g: g.area,
        reverse=True,
    )
    if not pieces or sum(g.area for g in pieces[1:]) > 1e-6 * pieces[0].area:
        raise UnworkableError(what, fix=f"{len(pieces)} pieces are left")
    return as_ccw(np.asarray(pieces[0].exterior.coords)[:-1])


def _run_with(line: shapely.LineString, piece: Floats) -> tuple[float, Floats]:
    """Where a piece begins along the line it was cut from, and the piece turned to run with it."""
    start, after = line.project(shapely.Point(piece[0])), line.project(shapely.Point(piece[1]))
    if start <= after:
        return start, piece
    return line.project(shapely.Point(piece[-1])), piece[::-1]


def _mitres(ring: Floats, ways: Floats, distance: Floats) -> list[Floats]:
    """For each point of the ring, the one or two points it becomes.  ways : (n, 2) unit directions."""
    normals = np.column_stack([ways[:, 1], -ways[:, 0]])
    come, before = np.roll(ways, 1, axis=0), np.roll(distance, 1)
    ends = ring + np.roll(normals, 1, axis=0) * before[:, None]
    starts = ring + normals * distance[:, None]
    sine = come[:, 0] * ways[:, 1] - come[:, 1] * ways[:, 0]
    gap = starts - ends
    bends = np.abs(sine) > 1e-9
    along = (gap[:, 0] * ways[:, 1] - gap[:, 1] * ways[:, 0]) / np.where(bends, sine, 1.0)
    meets = ends + come * along[:, None]
    # a gentle turn with equal distances is met half way: no division by a small sine
    level = (before == distance) & (np.abs(sine) < 1e-4) & (np.sum(come * ways, axis=1) > 0)
    meets[level] = (ends[level] + starts[level]) / 2
    reach = np.linalg.norm(meets - ring, axis=1)
    far = _MITRE_LIMIT * np.maximum(np.abs(distance), np.abs(before)) + 1e-12
    near = (reach <= far) & (bends | level)
    return [meets[i : i + 1] if near[i] else np.stack([ends[i], starts[i]]) for i in range(len(ring))]


def _keeps_its_way(corners: list[Floats], ways: Floats) -> bool:
    """True when no segment was turned end for end by moving it."""
    starts = np.array([c[-1] for c in corners])
    ends = np.array([c[0] for c in corners[1:] + corners[:1]])
    return bool(np.all(np.sum((ends - starts) * ways, axis=1) > 0))


def _grow_by_strips(ring: Floats, ways: Floats, distance: Floats, corners: list[Floats]) -> Floats:
    """Join the strips swept outwards, then take away those swept inwards.

    At an outer corner between a grown and a trimmed stretch the kite is what the trimmed edge, run on,
    cuts off the grown strip.
    """
    before, turns = np.roll(distance, 1), _turns(ring)
    shift = np.column_stack([ways[:, 1], -ways[:, 0]]) * distance[:, None]
    after = np.roll(ring, -1, axis=0)
    strips = np.stack([ring, ring + shift, after + shift, after], axis=1)
    kites = [_kite(ring[i], strips[i - 1][2], corners[i], strips[i][1]) for i in range(len(ring))]
    mixed = before * distance < 0
    adds = (turns > 0) & ~mixed & (np.maximum(before, distance) > 0)
    takes = ((turns < 0) & ~mixed & (np.minimum(before, distance) < 0)) | ((turns > 0) & mixed)
    gained = [shapely.Polygon(ring), *_polygons(strips[distance > 0]), *_chosen(kites, adds)]
    taken = [*_polygons(strips[distance < 0]), *_chosen(kites, takes)]
    left = shapely.difference(shapely.union_all(gained), shapely.union_all(taken))
    return _one_ring(left, "an outline falls apart when it is grown or trimmed")


def _polygons(rings: Floats) -> list[shapely.Polygon]:
    return [shapely.Polygon(ring) for ring in rings]


def _chosen(kites: list[shapely.Polygon], which: Bools) -> list[shapely.Polygon]:
    return [kites[i] for i in np.flatnonzero(which) if kites[i].is_valid]


def _kite(point: Floats, end: Floats, corner: Floats, start: Floats) -> shapely.Polygon:
    """What lies between two moved segments at a corner of the ring."""
    return shapely.Polygon(np.concatenate([[point], [end], corner, [start]]))


def _without_specks(ring: Floats, values: Floats) -> tuple[Floats, Floats]:
    """Drop points until no segment is under 0.01 mm; of a close pair the sharper corner stays, and the first
    point always.  values : (n,) one for the segment after each point; the value of a speck is lost.

    A speck's direction is noise: moved square to itself it would stick out as a spike.
    """
    while len(ring) > 3:
        short = np.flatnonzero(np.linalg.norm(_steps(ring), axis=1) < _SHORTEST)
        if not len(short):
            break
        turns, keep, values = np.abs(_turns(ring)), np.ones(len(ring), dtype=np.bool_), values.copy()
        for here in short.tolist():
            there = (here + 1) % len(ring)
            if not (keep[here] and keep[there]):
                continue
            drop = here if there == 0 or (here and turns[here] < turns[there]) else there
            if drop == there:
                values[here] = values[there]
            keep[drop] = False
        ring, values = ring[keep], values[keep]
    return ring, values


def _thin_closed(ring: Floats, tol: float, longest: float) -> Floats:
    corners = np.abs(_turns(ring)) > _CORNER
    corners[0] = True
    if corners.sum() == 1:  # no corner at all: halve the ring so that no chord is of no length
        corners[len(ring) // 2] = True
    return _thin(np.concatenate([ring, ring[:1]]), np.append(corners, True), tol, longest)[:-1]


def _thin(points: Floats, keep: Bools, tol: float, longest: float) -> Floats:
    """The points to keep of a line, beginning with those of `keep` (its ends among them)."""
    points, keep = _divided(points, keep, longest)
    run = np.append(0.0, np.cumsum(np.linalg.norm(np.diff(points, axis=0), axis=1)))
    quickrings.thinned(points, run, keep, float(tol), float(longest))
    return points[keep]


def _divided(points: Floats, keep: Bools, longest: float) -> tuple[Floats, Bools]:
    """Segments longer than `longest` divided evenly."""
    steps = np.diff(points, axis=0)
    parts = np.maximum(np.ceil(np.linalg.norm(steps, axis=1) / longest * (1 - 1e-12)), 1).astype(int)
    at = np.repeat(np.arange(len(steps)), parts)
    share = (np.arange(len(at)) - np.repeat(np.cumsum(parts) - parts, parts)) / parts[at]
    finer = points[at] + share[:, None] * steps[at]
    return np.concatenate([finer, points[-1:]]), np.append(keep[at] & (share == 0), True)
