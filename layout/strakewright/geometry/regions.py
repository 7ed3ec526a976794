"""Flat regions cut out of each other, and solids drawn between two of them.

ring      closed outline, (n, 2) mm, counter-clockwise, first point not repeated; an empty one has no points
left      of a line, seen along it: the inside of the boat for a section that runs from keel to sheer
walled    the solid between a ring in one plane and a ring in another: two lids, and walls of straight rulings

Where cutting leaves several pieces the largest stays.  Walls: rings are matched corner by corner, then stretch by
stretch by their share of length; rings with different corners are joined by the walls whose rulings are shortest in
all (dynamic programming; derived).  Lids: constrained Delaunay triangles between the ring's own points.
"""

from __future__ import annotations

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from strakewright.arrays import Floats, Ints
from strakewright.geometry.curves import arc_length
from strakewright.geometry.outlines import as_ccw

NONE: Floats = np.empty((0, 2))
CORNER = np.radians(25.0)  # turn that makes a corner to match
SHORT = 0.02  # mm, segments below this are dropped before walls are built
TURN_WEIGHT = 3.0  # what a millimetre of edge facing a turned edge costs against a millimetre of ruling
FAR = 20_000.0  # mm, larger than any boat


def join(rings: list[Floats]) -> Floats:
    """The outer line of all rings together (the largest piece); empty rings are passed over."""
    return _largest(shapely.union_all([_polygon(r) for r in rings if len(r)]))


def share(a: Floats, b: Floats) -> Floats:
    """What two rings have in common (the largest piece)."""
    return _largest(_polygon(a) & _polygon(b)) if len(a) and len(b) else NONE


def without(ring: Floats, holes: list[Floats]) -> Floats:
    """The ring less all of `holes` (the largest piece, its outer line)."""
    if not len(ring):
        return NONE
    return _largest(_polygon(ring) - shapely.union_all([_polygon(h) for h in holes if len(h)]))


def beyond(ring: Floats, point: Floats, way: Floats) -> Floats:
    """The part of a ring on the side of `point` that the direction `way` (2,) looks to."""
    way = np.asarray(way, dtype=float) / np.linalg.norm(way)
    along = np.array([-way[1], way[0]])
    half = np.array(
        [point - FAR * along, point + FAR * along, point + FAR * (along + way), point + FAR * (way - along)]
    )
    return share(ring, as_ccw(half))


def area_of(ring: Floats) -> float:
    """mm2, 0 for an empty ring."""
    return float(_polygon(ring).area) if len(ring) else 0.0


def shared_area(a: Floats, b: Floats) -> float:
    """mm2 that two rings have in common, in however many pieces."""
    return float((_polygon(a) & _polygon(b)).area) if len(a) and len(b) else 0.0


def outside_by(ring: Floats, of: Floats) -> float:
    """How far, at most, a ring reaches outside another one, mm; 0 when it lies inside."""
    left = _polygon(ring) - _polygon(of)
    points = shapely.get_coordinates(left)
    return float(shapely.distance(shapely.points(points), _polygon(of)).max(initial=0.0)) if len(points) else 0.0


def gap_between(a: Floats, b: Floats) -> float:
    """Least distance between two lines or rings (n, 2), as open polylines, mm."""
    return float(shapely.distance(shapely.LineString(a), shapely.LineString(b)))


def shrunk(ring: Floats, by: float) -> Floats:
    """The ring with `by` mm taken off all round, corners kept sharp (the largest piece)."""
    with np.errstate(invalid="ignore"):  # mitres of specks
        return _largest(_polygon(ring).buffer(-by, join_style="mitre"))


def opened(ring: Floats, thin: float) -> Floats:
    """The ring without what is thinner than `thin` mm (the largest piece)."""
    if not len(ring):
        return NONE
    wood = _polygon(ring)
    with np.errstate(invalid="ignore"):  # mitres of specks
        stout = wood.buffer(-thin / 2, join_style="mitre").buffer(thin / 2, join_style="mitre")
    return _largest(shapely.make_valid(wood) & shapely.make_valid(stout))  # a notch may leave a spike without breadth


def hull_ring(points: Floats) -> Floats:
    """Smallest ring without hollows round (n, 2) points."""
    found = shapely.MultiPoint(points).convex_hull
    return as_ccw(shapely.get_coordinates(found)[:-1]) if found.geom_type == "Polygon" else NONE


def moved_left(line: Floats, by: float) -> Floats:
    """A line (n, 2) moved square to itself, + to its left.

    >>> moved_left(np.array([[0.0, 0.0], [5.0, 0.0]]), 2.0).tolist()
    [[0.0, 2.0], [5.0, 2.0]]
    """
    way = np.gradient(line, axis=0)
    way /= np.maximum(np.linalg.norm(way, axis=1, keepdims=True), 1e-12)
    return np.asarray(line + by * np.column_stack([-way[:, 1], way[:, 0]]))


def run_on(line: Floats, before: float, after: float) -> Floats:
    """A line with straight pieces added at its ends."""
    head, tail = line[0] - line[1], line[-1] - line[-2]
    rows = [line]
    if before > 0:
        rows.insert(0, (line[0] + before * head / np.linalg.norm(head))[None])
    if after > 0:
        rows.append((line[-1] + after * tail / np.linalg.norm(tail))[None])
    return np.concatenate(rows)


def _polygon(ring: Floats) -> BaseGeometry:
    polygon = shapely.Polygon(ring)
    return polygon if polygon.is_valid else polygon.buffer(0)


def _largest(shape: BaseGeometry) -> Floats:
    pieces = [g for g in shapely.get_parts(shape) if g.geom_type == "Polygon" and g.area > 1e-6]
    if not pieces:
        return NONE
    ring = np.asarray(max(pieces, key=lambda g: g.area).exterior.coords)[:-1]
    return as_ccw(ring)


# -- solids ------------------------------------------------------------------------------------------


def triangulated(ring: Floats) -> Ints:
    """(m, 3) triangles of a ring between its own points, counter-clockwise in the flat."""
    pieces = shapely.constrained_delaunay_triangles(shapely.Polygon(ring))
    corners = np.array([shapely.get_coordinates(piece)[:3] for piece in shapely.get_parts(pieces)])
    near = np.linalg.norm(corners[:, :, None] - ring[None, None], axis=-1)
    index = near.argmin(axis=-1)
    a, b, c = (ring[index[:, k]] for k in range(3))
    ab, ac = b - a, c - a
    left = ab[:, 0] * ac[:, 1] - ab[:, 1] * ac[:, 0] > 0
    return np.asarray(np.where(left[:, None], index, index[:, ::-1]), dtype=np.int64)


def walled(low: Floats, high: Floats) -> tuple[Floats, Floats, Ints]:
    """Lids and walls between two rings seen from the same side, `high` the nearer to the reader.

    returns the two rings as used ((n, 2), (m, 2)) and triangles over their points in that order, counter-clockwise
    from outside
    """
    low, high = _without_shorts(low), _without_shorts(high)
    legs = _legs(low, high)
    walls = [_zipped(a, b, low, high) for a, b in legs] if legs else [_shortest(low, high)]
    lids = [triangulated(low)[:, ::-1], triangulated(high) + len(low)]
    return low, high, np.concatenate([*lids, *walls])


def _without_shorts(ring: Floats) -> Floats:
    ring = as_ccw(ring)
    while len(ring) > 3:
        steps = np.linalg.norm(np.roll(ring, -1, axis=0) - ring, axis=1)
        if steps.min() > SHORT:
            break
        ring = np.delete(ring, int(steps.argmin()), axis=0)
    return ring


def _corners(ring: Floats) -> Ints:
    out = np.roll(ring, -1, axis=0) - ring
    come = np.roll(out, 1, axis=0)
    turn = np.arctan2(come[:, 0] * out[:, 1] - come[:, 1] * out[:, 0], (come * out).sum(axis=1))
    return np.flatnonzero(np.abs(turn) > CORNER)


def _legs(low: Floats, high: Floats) -> list[tuple[Ints, Ints]]:
    """Stretches that belong together, corner by corner, as indices; none where the rings have different corners."""
    a, b = _corners(low), _corners(high)
    if len(a) != len(b) or len(a) < 2:
        return []
    gaps = [float(np.linalg.norm(low[a] - high[np.roll(b, -k)], axis=1).sum()) for k in range(len(b))]
    b = np.roll(b, -int(np.argmin(gaps)))
    return [
        (_cyclic(a[i], a[(i + 1) % len(a)], len(low)), _cyclic(b[i], b[(i + 1) % len(b)], len(high)))
        for i in range(len(a))
    ]


def _cyclic(start: int, stop: int, count: int) -> Ints:
    """Indices from start to stop round a ring, both included (once round when they are equal)."""
    steps = (stop - start) % count or count
    return (np.arange(steps + 1) + start) % count


def _zipped(a: Ints, b: Ints, low: Floats, high: Floats) -> Ints:
    """Triangles between two stretches walked together by their shares of length."""
    u, v = (arc_length(ring[index]) for ring, index in ((low, a), (high, b)))
    u, v = u / u[-1], v / v[-1]
    i = j = 0
    out = []
    while i < len(a) - 1 or j < len(b) - 1:
        if j == len(b) - 1 or (i < len(a) - 1 and u[i + 1] <= v[j + 1]):
            out.append((a[i], a[i + 1], b[j] + len(low)))
            i += 1
        else:
            out.append((a[i], b[j + 1] + len(low), b[j] + len(low)))
            j += 1
    return np.array(out, dtype=np.int64)


def _shortest(low: Floats, high: Floats) -> Ints:
    """Walls between rings with different corners: of all ways round, the one with the shortest rulings and the
    least turn between the edges that face each other."""
    start = int(np.linalg.norm(high[:, None] - low[None], axis=-1).min(axis=1).argmin())
    first = int(np.linalg.norm(low - high[start], axis=1).argmin())
    a, b = _cyclic(first, first, len(low)), _cyclic(start, start, len(high))
    rung = np.linalg.norm(low[a][:, None] - high[b][None], axis=-1)
    on_a, on_b = _turned(low[a], high[b]), _turned(high[b], low[a]).T
    cost = np.full(rung.shape, np.inf)
    cost[0, 0] = 0.0
    for i in range(len(a)):
        for j in range(len(b)):
            if i:
                cost[i, j] = cost[i - 1, j] + rung[i, j] + on_a[i - 1, j]
            if j:
                cost[i, j] = min(cost[i, j], cost[i, j - 1] + rung[i, j] + on_b[i, j - 1])
    return _walked(a, b, cost, on_a, rung, len(low))


def _turned(mine: Floats, theirs: Floats) -> Floats:
    """(edges of mine, points of theirs) length of an edge, times how far it is turned from the edges at the point."""
    edge, other = np.diff(mine, axis=0), np.diff(theirs, axis=0)
    size = np.linalg.norm(edge, axis=1)
    way, beside = edge / np.maximum(size, 1e-12)[:, None], other / np.linalg.norm(other, axis=1, keepdims=True)
    come, leave = np.concatenate([beside[-1:], beside]), np.concatenate([beside, beside[:1]])
    alike = np.maximum(way @ come.T, way @ leave.T)
    return np.asarray(TURN_WEIGHT * size[:, None] * (1.0 - alike))


def _walked(a: Ints, b: Ints, cost: Floats, on_a: Floats, rung: Floats, shift: int) -> Ints:
    """Triangles of the cheapest way, from its end back."""
    out = []
    i, j = len(a) - 1, len(b) - 1
    while i or j:
        by_a = i > 0 and (j == 0 or cost[i, j] >= cost[i - 1, j] + rung[i, j] + on_a[i - 1, j] - 1e-9)
        if by_a:
            out.append((a[i - 1], a[i], b[j] + shift))
            i -= 1
        else:
            out.append((a[i], b[j] + shift, b[j - 1] + shift))
            j -= 1
    return np.array(out, dtype=np.int64)
