"""Where a number goes on its piece: large and clear of the lines where there is room, else beside it with a leader.

place   the spot nearest the middle where a number's box lies wholly on the piece and off what is to be kept clear
leader  a thin line from a number beside its piece to the piece
tip     the end of a line that bears a name
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely

from strakewright.arrays import Floats
from strakewright.geometry.outlines import chords
from strakewright.write.paper import words_width
from strakewright.write.pen import Pen, Role

_CLEAR = 0.8  # mm kept free above and below a number, and at its ends
_SHARES = np.array([0.5 + sign * step for step in np.arange(0.0, 0.46, 0.05) for sign in (1.0, -1.0)])


def place(
    ring: Floats, words: str, sizes: Sequence[float], turn: float = 0.0, avoid: Sequence[Floats] = ()
) -> tuple[Floats, float] | None:
    """Middle of the words (2,) and their height mm; None when they go nowhere.

    ring : (n, 2) mm;  sizes : heights, the most wanted first;  turn : degrees;  avoid : lines (n, 2) to keep clear of
    """
    cos, sin = np.cos(np.deg2rad(turn)), np.sin(np.deg2rad(turn))
    level = np.array([[cos, -sin], [sin, cos]])  # turns points back by `turn`
    lying = ring @ level
    piece = shapely.make_valid(shapely.Polygon(lying))
    shapely.prepare(piece)
    lines = shapely.MultiLineString([line @ level for line in avoid])
    low, high = float(lying[:, 0].min()), float(lying[:, 0].max())
    spots = half_way_up(lying, low + _SHARES * (high - low))  # from the middle of its length outwards
    x, y = spots[~np.isnan(spots[:, 1])].T
    for size in sizes:
        half, tall = words_width(words, size) / 2 + _CLEAR, size / 2 + _CLEAR
        boxes = np.asarray(shapely.box(x - half, y - tall, x + half, y + tall))
        good = shapely.contains(piece, boxes) & ~shapely.intersects(boxes, lines)
        if good.any():
            k = int(np.argmax(good))
            return np.array([x[k], y[k]]) @ level.T, size
    return None


def half_way_up(ring: Floats, x: Floats) -> Floats:
    """Middle of the longest stretch of each upright at x that lies in the ring; NaN where none does.

    ring : (n, 2), x : (k,);  returns (k, 2)
    """
    runs = chords(ring, x)
    if not runs.shape[1]:
        return np.column_stack([x, np.full(len(x), np.nan)])
    longest = np.argmax(np.nan_to_num(runs[..., 1] - runs[..., 0]), axis=1)
    return np.column_stack([x, runs[np.arange(len(x)), longest].mean(axis=1)])


def in_a_row(middles: Sequence[float], widths: Sequence[float], room: float, clear: Sequence[float] = ()) -> Floats:
    """(n,) x of numbers set side by side, each as near its piece as the ones before it and the room allow.

    middles : of the pieces, rising;  widths : of the numbers with their gaps;  clear : x of uprights no number crosses
    """
    found, at, rest = [], 0.0, float(sum(widths))
    for middle, wide in zip(middles, widths, strict=True):
        at = min(max(at, middle - wide / 2), max(room - rest, at))
        for upright in sorted(clear):
            if at < upright < at + wide and upright + wide <= room:
                at = upright
        found.append(at + wide / 2)
        at, rest = at + wide, rest - wide
    return np.array(found)


def name_tips(pen: Pen, tips: Sequence[tuple[str, Floats]], span: tuple[float, float], row: float, size: float) -> None:
    """Names side by side at height `row`, each with a leader down to the tip of its line: close tips stay apart.

    tips : name and (2,) mm;  span : x from and to that the names may take;  size : mm
    """
    ordered = sorted(tips, key=lambda tip: (float(tip[1][0]), tip[0]))
    widths = [words_width(name, size) + 0.8 * size for name, _ in ordered]
    middles = [float(tip[0]) - span[0] for _, tip in ordered]
    for (name, tip), x in zip(ordered, in_a_row(middles, widths, span[1] - span[0]) + span[0], strict=True):
        pen.text(np.array([x, row]), name, height=size, turn=0, anchor="middle", role=Role.LABEL)
        pen.polyline(np.array([[x, row - 0.8 * size], tip]), closed=False, role=Role.CHECK)
