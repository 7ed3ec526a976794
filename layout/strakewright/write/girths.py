"""How wide every plank is where it crosses a frame, and where its seams lie round the frame.

on the frame    width in the station plane, along the frame: what the ticks of a girth staff show
square across   width square to the plank's edges: what a rip fence is set to
staff           strip of paper bent round the frame, with a tick at every seam

Both widths are measured on the finished flat plank: the first along its frame mark, the second is the first times
the cosine of the angle between the mark and the line square to the edges it ends on.  Source: derived.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import shapely

from strakewright.arrays import Floats
from strakewright.parts import Margin, Plank


@dataclass(frozen=True)
class Crossing:
    """A plank at a frame.  on_frame, square : mm;  rank : where round the frame, from the lower border up."""

    plank: str
    course: int
    on_frame: float
    square: float
    rank: float


def crossings(planks: Iterable[Plank]) -> dict[str, list[Crossing]]:
    """Frame -> its planks in order from the lower border up.  planks : one side of one layer"""
    found: dict[str, list[Crossing]] = {}
    for plank in planks:
        ring = shapely.Polygon(plank.net_outline).buffer(1e-6)
        shapely.prepare(ring)
        edges = _edges(plank)
        for mark in plank.marks:
            line = shapely.intersection(shapely.LineString(mark.points), ring) if mark.kind == "frame" else None
            if line is not None and shapely.length(line) > 0:
                found.setdefault(mark.name, []).append(_crossing(plank, edges, line))
    return {frame: sorted(row, key=lambda c: c.rank) for frame, row in found.items()}


_Edges = Sequence[tuple[Margin, shapely.Geometry]]


def _edges(plank: Plank) -> _Edges:
    """Every edge and end with its line in the flat."""
    return [(m, shapely.LineString(m.flat)) for m in (plank.first, plank.second, *plank.ends)]


def _crossing(plank: Plank, edges: _Edges, line: shapely.Geometry) -> Crossing:
    points = shapely.get_coordinates(line)
    middle = (points[0] + points[-1]) / 2
    widths = float(shapely.length(line)), _square(edges, line)
    return Crossing(plank.id, plank.course, *widths, _height_round(plank, middle))


def _square(edges: _Edges, line: shapely.Geometry) -> float:
    """Width square to the edges at both ends of a frame line; an end cut there has no say."""
    ends = shapely.get_coordinates(line)[[0, -1]]
    ways = [_way(edges, spot) for spot in ends]
    way = np.sum([w for w, is_long in ways if is_long] or [w for w, _ in ways], axis=0)
    run = ends[1] - ends[0]
    return float(abs(run[0] * way[1] - run[1] * way[0]) / np.hypot(*way))


def _way(edges: _Edges, spot: Floats) -> tuple[Floats, bool]:
    """Direction of the edge nearest to a point, forward along the plank; whether it runs along, not across."""
    far = shapely.distance([line for _, line in edges], shapely.Point(spot))
    margin = edges[int(np.argmin(far))][0]
    steps = np.diff(margin.flat, axis=0)
    share = np.clip(np.sum((spot - margin.flat[:-1]) * steps, axis=1) / np.maximum((steps**2).sum(axis=1), 1e-12), 0, 1)
    off = np.hypot(*(margin.flat[:-1] + share[:, None] * steps - spot).T)
    way = steps[int(np.argmin(off))]
    way = way / np.hypot(*way)
    along = margin.meets in ("seam", "chine", "sheer", "keel") and abs(way[0]) > 0.7
    return way * (1.0 if way[0] >= 0 else -1.0), bool(along)


def _height_round(plank: Plank, middle: Floats) -> float:
    """|y| + z of the boat near a point of the flat plank: grows from keel to sheer round any section."""
    spots = [_nearest(margin, middle) for margin in (plank.first, plank.second)]
    far = np.array([s[0] for s in spots])
    share = far[::-1] / max(float(far.sum()), 1e-9)
    return float(share @ np.array([s[1] for s in spots]))


def _nearest(margin: Margin, middle: Floats) -> tuple[float, float]:
    off = np.hypot(*(margin.flat - middle).T)
    at = int(np.argmin(off))
    return float(off[at]), float(abs(margin.seam[at, 1]) + margin.seam[at, 2])


@dataclass(frozen=True)
class Staff:
    """Ticks of one girth staff.  ticks : mm from the top of the list, with the words beside each;
    spaces : words between two ticks"""

    name: str
    ticks: tuple[tuple[float, str], ...]
    spaces: tuple[str, ...]


def staff_of(name: str, row: list[Crossing], ends: tuple[str, str], from_course_one: bool) -> Staff:
    """A staff from the border where course 1 lies (or from the lower border), a tick at every seam.

    ends : names of the lower and the upper border;  pieces of one course on one frame make one space
    """
    upward = not from_course_one or row[0].course <= row[-1].course
    ordered, (low, high) = (row, ends) if upward else (row[::-1], ends[::-1])
    spaces: list[tuple[str, float]] = []
    for at, crossing in enumerate(ordered):
        if at and ordered[at - 1].course == crossing.course:
            label, wide = spaces.pop()
            spaces.append((label, wide + crossing.on_frame))
        else:
            spaces.append((pair_stem(crossing.plank), crossing.on_frame))
    reach = np.concatenate([[0.0], np.cumsum([wide for _, wide in spaces])])
    words = [low, *(f"{a[0]}/{b[0]}" for a, b in pairwise(spaces)), high]
    return Staff(name, tuple(zip(reach.tolist(), words, strict=True)), tuple(label for label, _ in spaces))


def pair_stem(name: str) -> str:
    """The chalk number of a pair: the id without its side.

    >>> pair_stem("S03aP"), pair_stem("wedge")
    ('S03a', 'wedge')
    """
    return name[:-1] if name[-1:] in ("P", "S", "C") and len(name) > 1 else name
