"""The strain picture of unrolled panels: where a sheet must give way, which way, and what would cover it.

too long   the flat is longer than the surface there: a sheet must be squeezed in; strokes rise to the right
too short  the flat is shorter: a sheet must be stretched; strokes fall to the right
closer     strokes stand twice as close in every next band of strain
L, S       where it is too long and too short most, with a bar in that direction;  K: curved most both ways
ladder     the widest plank that lies easily, drawn to the panel's own scale beside the place K

Rules of the picture are our own; made for black and white.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from strakewright.arrays import Bools, Floats, Ints
from strakewright.flats import FlatPanel
from strakewright.geometry.contours import at_corners, evened
from strakewright.geometry.meshes import face_areas
from strakewright.geometry.outlines import thin_ring
from strakewright.write.flatdraw import worst_place
from strakewright.write.pen import Hatch, Pen, Role

BANDS = (5e-4, 2e-3, 5e-3, 2e-2)  # strains at which strokes begin, and stand closer
_GAPS = ((1.0, 0.0), (1.0, 0.5), (0.5, 0.25), (0.25, 0.125))  # gap and first place of each band's own strokes
_SLOPES = (45.0, -45.0)  # degrees: too long, too short
_GAP, _WORDS = 1 / 90, 1 / 75  # of the longest panel: gap of the first band, height of words


def draw_strain(pen: Pen, panels: Sequence[FlatPanel]) -> None:
    """All panels, one above the other in the order given, and at the foot what the strokes mean."""
    size = max(float(np.ptp(panel.flat[:, 0])) for panel in panels)
    foot = _legend(pen, size)
    for panel in panels:
        foot = _draw_panel(pen, panel, size, foot)


def _draw_panel(pen: Pen, panel: FlatPanel, size: float, foot: float) -> float:
    """One panel above its words; returns the height above it."""
    high, words = _WORDS * size, _words(panel)
    for i, line in enumerate(reversed(words)):
        pen.text(
            np.array([0.0, foot + (0.5 + 1.9 * i) * high]), line, height=high, turn=0, anchor="left", role=Role.LABEL
        )
    shift = np.array([0.0, foot + (1.9 * len(words) + 1.0) * high])
    pen.polyline(thin_ring(panel.outline) + shift, closed=True, role=Role.CUT_OUTSIDE)
    for hole in panel.holes:
        pen.polyline(thin_ring(hole)[::-1] + shift, closed=True, role=Role.CUT_INSIDE)
    for column, slope in enumerate(_SLOPES):
        over = evened(panel.triangles, _signed(panel, column), 3)
        for band, (gap, first) in zip(BANDS, _GAPS, strict=True):
            spacing = gap * _GAP * size, first * _GAP * size
            for run in strokes_over(panel.flat, panel.triangles, over - band, slope, spacing):
                pen.polyline(run + shift, closed=False, role=Role.LABEL)
    _marks(pen, panel, shift, size)
    return float(shift[1] + panel.flat[:, 1].max() + 6.5 * high)


def _signed(panel: FlatPanel, column: int) -> Floats:
    """(n,) at corners: strain by which the flat is too long (0), or too short (1)."""
    area = face_areas(panel.vertices, panel.triangles)
    return at_corners(panel.triangles, area, (1 - 2 * column) * panel.strain[:, column])


def strokes_over(
    points: Floats, triangles: Ints, values: Floats, slope_deg: float, spacing: tuple[float, float]
) -> list[Floats]:
    """Parallel strokes (2, 2) over the part of a flat mesh where `values` are above nought.

    points : (n, 2);  triangles : (m, 3);  values : (n,), changing evenly between corners;  spacing : gap between
    strokes and place of the first, square to them

    >>> square = np.array([[0.0, 0.0], [4.0, 0.0], [4.0, 4.0], [0.0, 4.0]])
    >>> halves = np.array([[0, 1, 2], [0, 2, 3]])
    >>> [run.round(6).tolist() for run in strokes_over(square, halves, square[:, 0] - 1, 0.0, (4.0, 2.0))]
    [[[1.0, 2.0], [4.0, 2.0]]]
    """
    gap, first = spacing
    way = np.array([np.cos(np.radians(slope_deg)), np.sin(np.radians(slope_deg))])
    over = np.stack([points @ way, points @ np.array([-way[1], way[0]]), values])[
        :, triangles[_above(values, triangles)]
    ]
    order = np.argsort(over[1], axis=1)
    low, middle, high = np.moveaxis(np.take_along_axis(over, order[None], axis=2), 2, 0)  # each (3, k): s, t, value
    begin = np.ceil((low[1] - first) / gap).astype(np.int64)
    count = np.maximum(np.ceil((high[1] - first) / gap).astype(np.int64) - begin, 0)
    face = np.repeat(np.arange(len(begin)), count)
    number = np.arange(count.sum()) - np.repeat(np.cumsum(count) - count, count) + begin[face]
    at = first + gap * number
    one = _at_height(low[:, face], high[:, face], at)
    upper = at >= middle[1, face]
    other = _at_height(
        np.where(upper, middle[:, face], low[:, face]), np.where(upper, high[:, face], middle[:, face]), at
    )
    runs = _joined(*_clipped(one, other), number, 1e-6 * gap)
    return [
        np.array([s * way + t * np.array([-way[1], way[0]]) for s in ends])
        for *ends, t in ((a, b, first + gap * n) for a, b, n in runs)
    ]


def _above(values: Floats, triangles: Ints) -> Bools:
    return np.asarray((values[triangles] > 0).any(axis=1))


def _at_height(below: Floats, above: Floats, height: Floats) -> Floats:
    """(2, k) s and value where sides cross a height."""
    rise = above[1] - below[1]
    share = np.clip((height - below[1]) / np.where(rise > 0, rise, 1.0), 0.0, 1.0)
    return np.asarray(below[[0, 2]] + share * (above[[0, 2]] - below[[0, 2]]))


def _clipped(one: Floats, other: Floats) -> tuple[Floats, Floats]:
    """(k,) from and to along each crossing, of the part where the value is above nought (from > to: none)."""
    swap = one[0] > other[0]
    left, right = np.where(swap, other, one), np.where(swap, one, other)
    rise = right[1] - left[1]
    share = np.clip(-left[1] / np.where(rise == 0, 1.0, rise), 0.0, 1.0)
    turn = left[0] + share * (right[0] - left[0])
    start = np.where(left[1] > 0, left[0], np.where(right[1] > 0, turn, np.inf))
    stop = np.where(right[1] > 0, right[0], np.where(left[1] > 0, turn, -np.inf))
    return start, stop


def _joined(start: Floats, stop: Floats, number: Ints, speck: float) -> list[tuple[float, float, int]]:
    """Runs that touch made one: from, to and number of the stroke."""
    real = stop > start
    start, stop, number = start[real], stop[real], number[real]
    if len(start) == 0:
        return []
    order = np.lexsort((start, number))
    start, stop, number = start[order], stop[order], number[order]
    fresh = np.concatenate([[True], (number[1:] != number[:-1]) | (start[1:] > stop[:-1] + speck)])
    first = np.flatnonzero(fresh)
    last = np.append(first[1:], len(start)) - 1
    return list(zip(start[first].tolist(), stop[last].tolist(), number[first].tolist(), strict=True))


def _marks(pen: Pen, panel: FlatPanel, shift: Floats, size: float) -> None:
    """L and S with their bars and K, named above the panel where no strokes run; and the widest easy plank to scale."""
    high, flags = _WORDS * size, []
    for letter, column in (("L", 0), ("S", 1)):
        strain, at, way = worst_place(panel, column)
        if abs(strain) >= BANDS[0]:
            pen.polyline(at + np.outer([-1.5 * high, 1.5 * high], way) + shift, closed=False, role=Role.CUT_OUTSIDE)
            flags.append((at, f"{letter} {100 * strain:+.2f} %"))
    corner = panel.cover.corner
    if flags and corner is not None:
        pen.circle(panel.flat[corner] + shift, 0.5 * high, Role.CUT_OUTSIDE)
        flags.append((panel.flat[corner], f"K {1e6 * panel.cover.gauss:+.2g} per m2"))
        _ladder(pen, panel, float(panel.flat[corner, 1]), shift, high)
    _flags(pen, panel, flags, shift, high)


def _flags(pen: Pen, panel: FlatPanel, flags: list[tuple[Floats, str]], shift: Floats, high: float) -> None:
    """Words in a row above the panel, each with a leader to its place."""
    top, free = float(panel.flat[:, 1].max()) + 2.5 * high, -np.inf
    for at, words in sorted(flags, key=lambda flag: float(flag[0][0])):
        x = max(float(at[0]), free)
        free = x + (0.7 * len(words) + 2.0) * high
        pen.polyline(np.array([at, [x, top - 0.8 * high]]) + shift, closed=False, role=Role.CHECK)
        pen.text(np.array([x, top]) + shift, words, height=high, turn=0, anchor="left", role=Role.LABEL)


def _ladder(pen: Pen, panel: FlatPanel, middle: float, shift: Floats, high: float) -> None:
    """The widest plank that lies easily, to scale."""
    easy = next(width for kind, _, width in panel.cover.widest if kind == "plank that lies easily")
    if easy is None:
        return
    foot = np.array([float(panel.flat[:, 0].max()) + 2 * high, middle - easy / 2]) + shift
    ladder = np.array([[0, 0], [high, 0], [0.5 * high, 0], [0.5 * high, easy], [0, easy], [high, easy]])
    pen.polyline(ladder + foot, closed=False, role=Role.CUT_OUTSIDE)
    at = foot + np.array([1.5 * high, easy / 2])
    pen.text(at, f"plank {easy:.0f} mm", height=high, turn=0, anchor="left", role=Role.LABEL)


def _words(panel: FlatPanel) -> list[str]:
    """Under each panel."""
    strain = f"strain at most {100 * panel.strain_max:.2f} %, rms {100 * panel.strain_rms:.2f} %"
    floors = ", ".join(f"{width:.0f} mm {100 * floor:.3f} %" for width, floor in panel.cover.floors)
    curved = f"the least strain that strips keep, K w2/16: {floors}"
    told = [f"{panel.name}: {strain}", panel.cover.words]
    return [*told, curved] if panel.strain_max >= BANDS[0] else told


def _legend(pen: Pen, size: float) -> float:
    """What strokes and letters mean; returns the height above it."""
    high = _WORDS * size
    box, step = 2.4 * high, 8.6 * high
    letters = "L, S: flat too long, too short most, with a bar in that direction; K: curved most both ways"
    pen.text(np.array([0.0, high / 2]), letters, height=high, turn=0, anchor="left", role=Role.LABEL)
    for row, (slope, words) in enumerate(
        ((_SLOPES[1], "short: a sheet must be stretched"), (_SLOPES[0], "long: a sheet must be squeezed"))
    ):
        foot = 2.4 * high + row * (box + 0.8 * high)
        for i, gap in enumerate((1.0, 0.5, 0.25, 0.125)):
            ring = box * np.array([[0, 0], [1, 0], [1, 1], [0, 1]]) + np.array([i * step, foot])
            pen.area(ring, Hatch(slope, gap * _GAP * size), Role.LABEL)
            at = ring[1] + np.array([0.5 * high, box / 2])
            pen.text(at, f"{100 * BANDS[i]:g} %", height=high, turn=0, anchor="left", role=Role.LABEL)
        at = np.array([4 * step, foot + box / 2])
        pen.text(at, f"and more: flat too {words} there", height=high, turn=0, anchor="left", role=Role.LABEL)
    return 2 * box + 6.4 * high
