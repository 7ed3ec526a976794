"""Round sections: a panel through every waterline and buttock between its two lines.

section   the panel's points at one station, from the lower line to the upper, in the order of their heights
row       a section laid off again in even shares of its length, so that all rows have as many points
end row   the line of the stem or of the transom
left out  cells of waterlines and buttocks at stations that do not cross both lines, as forward of the rabbet's end on a
          raked stem: there is no whole section there

Method: quintic through each section by chord length, then quintics fore and aft through the rows; derived.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from strakewright.arrays import Floats
from strakewright.errors import InputError
from strakewright.geometry.curves import SplineCurve, arc_length
from strakewright.geometry.drawn import interpolant
from strakewright.geometry.ruled import Edge, at_x
from strakewright.loft.closing import ClosedLine
from strakewright.loft.lines import Line

ALONG, ACROSS = 161, 25
_APART = 0.5  # mm between points of a section that are told apart
_NEAR_END = 0.02  # of the length: stations nearer to an end row than this are left to it


def lines_inside(lower: ClosedLine, upper: ClosedLine, between: Sequence[Line]) -> tuple[Line, ...]:
    """The waterlines and buttocks that have points between the two lines."""
    return tuple(line for line in between if len(_inside(line, lower, upper)))


def _inside(line: Line, lower: ClosedLine, upper: ClosedLine) -> list[int]:
    low, high = lower.edge(), upper.edge()
    found = []
    for k, node in enumerate(line.nodes):
        if not (_covers(low, node[0]) and _covers(high, node[0])):
            continue
        a, b = (edge.at(at_x(edge, node[:1]))[0] for edge in (low, high))
        if a[2] + _APART < node[2] < b[2] - _APART:
            found.append(k)
    return found


def _covers(edge: Edge, x: float) -> bool:
    ends = edge.at(np.array([edge.first, edge.last]))[:, 0]
    return bool(ends.min() - 1e-6 <= x <= ends.max() + 1e-6)


def round_grid(name: str, lower: ClosedLine, upper: ClosedLine, inside: Sequence[Line]) -> Floats:
    """(n, m, 3) points of the panel, rows aft to forward.

    Raises InputError with fewer than six sections.
    """
    sections = _sections(lower, upper, inside)
    if len(sections) < 6:
        raise InputError(
            f"panel {name!r} has {len(sections)} stations with both its lines, and needs six to be lofted round",
            where="table of offsets",
            fix='Give more stations, or write panels = {...} with "straight" for it',
        )
    counts = {len(points) for points in sections}
    rows = _alike(np.stack(sections)) if len(counts) == 1 else np.stack([_even(points, ACROSS) for points in sections])
    along = rows[..., 0].mean(axis=1)
    return np.asarray(interpolant(along, rows)(np.linspace(along[0], along[-1], ALONG)))


def _alike(sections: Floats) -> Floats:
    """(n, ACROSS, 3) sections of as many points each, all by one common share of their lengths: so every waterline is
    followed by itself.  sections : (n, k, 3)"""
    shares = np.stack([arc / arc[-1] for arc in (_arcs(points) for points in sections)])
    common = shares.mean(axis=0)
    across = np.swapaxes(sections, 0, 1)
    return np.swapaxes(np.asarray(interpolant(common, across)(np.linspace(0.0, 1.0, ACROSS))), 0, 1)


def _arcs(points: Floats) -> Floats:
    """(k,) mm along the smooth curve through points, by its own length instead of chords."""
    along = arc_length(points)
    for _ in range(3):
        curve = SplineCurve(interpolant(along, points), float(along[-1]))
        along = curve.lengths(along)
    return along


def _sections(lower: ClosedLine, upper: ClosedLine, inside: Sequence[Line]) -> list[Floats]:
    low, high = lower.edge(), upper.edge()
    (first, last), plumb = _reach(low, high)
    xs = sorted({round(float(x), 6) for line in (lower.line, upper.line, *inside) for x in line.nodes[:, 0]})
    found = [_section(x, low, high, inside) for x in xs if first <= x <= last]
    for k, is_plumb in enumerate(plumb):
        if not is_plumb:
            row = _end_row(low, high, k)
            found = [row, *found] if k == 0 else [*found, row]
    return found


def _reach(low: Edge, high: Edge) -> tuple[tuple[float, float], tuple[bool, bool]]:
    """x between which sections are whole, and which ends are plumb (so that the last section is the end itself)."""
    ends = np.stack([edge.at(np.array([edge.first, edge.last]))[:, 0] for edge in (low, high)])
    aft, forward = float(ends[:, 0].max()), float(ends[:, 1].min())
    near = _NEAR_END * (forward - aft)
    plumb = bool(np.ptp(ends[:, 0]) < _APART), bool(np.ptp(ends[:, 1]) < _APART)
    return (aft - 1e-6 if plumb[0] else aft + near, forward + 1e-6 if plumb[1] else forward - near), plumb


def left_out(lower: ClosedLine, upper: ClosedLine, between: Sequence[Line]) -> list[tuple[str, Floats]]:
    """Cells between the two lines that no section takes in: row and station in words, and the point (3,) mm."""
    low, high = lower.edge(), upper.edge()
    (first, last), _ = _reach(low, high)
    ends = low.at(np.array([low.first, low.last]))
    found = []
    for line in between:
        for node, station in zip(line.nodes, line.stations, strict=True):
            if first <= node[0] <= last or not _covers(high, float(node[0])):
                continue
            end = ends[1] if node[0] > last else ends[0]
            top = high.at(at_x(high, node[:1]))[0]
            if end[2] + _APART < node[2] < top[2] - _APART and node[1] > end[1] + _APART:
                found.append((f"{line.name} at {station}", node))
    return found


def _end_row(low: Edge, high: Edge, k: int) -> Floats:
    """The straight line between the two edges' ends; raked stems and transoms are so between two lines."""
    u = [edge.last if k else edge.first for edge in (low, high)]
    a, b = (edge.at(np.array(s)) for edge, s in zip((low, high), u, strict=True))
    return np.asarray(a + np.linspace(0.0, 1.0, 9)[:, None] * (b - a))


def _section(x: float, low: Edge, high: Edge, inside: Sequence[Line]) -> Floats:
    ends = [edge.at(at_x(edge, np.array([x])))[0] for edge in (low, high)]
    middle = [n for line in inside for n in line.nodes[np.abs(line.nodes[:, 0] - x) < 1e-5]]
    between = [n for n in middle if ends[0][2] + _APART < n[2] < ends[1][2] - _APART]
    between.sort(key=lambda n: float(n[2]))
    kept = [ends[0]]
    for n in [*between, ends[1]]:
        if np.linalg.norm(n - kept[-1]) > _APART:
            kept.append(n)
    return np.array(kept)


def _even(points: Floats, count: int) -> Floats:
    """(count, 3) points in even shares of the length of the smooth section."""
    along = _arcs(points)
    return np.asarray(interpolant(along, points)(np.linspace(0.0, along[-1], count)))
