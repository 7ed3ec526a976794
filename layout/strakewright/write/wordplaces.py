"""Where a number goes on its piece: large and clear of the lines where there is room, else beside it with a leader.

place   the spot nearest the middle where a number's box lies wholly on the piece and off what is to be kept clear
leader  a thin line from a number beside its piece to the piece
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
from shapely import affinity
from shapely.geometry.base import BaseGeometry

from strakewright.arrays import Floats
from strakewright.write.paper import words_width

_CLEAR = 0.8  # mm kept free above and below a number, and at its ends
_SHARES = tuple(0.5 + sign * step for step in np.arange(0.0, 0.46, 0.05) for sign in (1.0, -1.0))


def place(
    ring: Floats, words: str, sizes: Sequence[float], turn: float = 0.0, avoid: Sequence[Floats] = ()
) -> tuple[Floats, float] | None:
    """Middle of the words (2,) and their height mm; None when they go nowhere.

    ring : (n, 2) mm;  sizes : heights, the most wanted first;  turn : degrees;  avoid : lines (n, 2) to keep clear of
    """
    origin = (0.0, 0.0)
    piece = shapely.make_valid(affinity.rotate(shapely.Polygon(ring), -turn, origin))
    lines = affinity.rotate(shapely.MultiLineString(list(avoid)), -turn, origin)
    for size in sizes:
        half = words_width(words, size) / 2 + _CLEAR
        for x, y in _spots(piece):
            box = shapely.box(x - half, y - size / 2 - _CLEAR, x + half, y + size / 2 + _CLEAR)
            if piece.contains(box) and not box.intersects(lines):
                spot = affinity.rotate(shapely.Point(x, y), turn, origin)
                return np.array([spot.x, spot.y]), size
    return None


def _spots(piece: BaseGeometry) -> list[tuple[float, float]]:
    """Half way up the piece, from the middle of its length outwards."""
    low, _, high, _ = piece.bounds
    return [spot for share in _SHARES if (spot := half_way_up(piece, low + share * (high - low))) is not None]


def half_way_up(piece: BaseGeometry, x: float) -> tuple[float, float] | None:
    """Middle of the longest stretch of the upright at x that lies on the piece; None when none does."""
    _, low, _, high = piece.bounds
    upright = shapely.LineString([(x, low - 1.0), (x, high + 1.0)])
    runs = [run for run in shapely.get_parts(piece.intersection(upright)) if run.length > 0]
    if not runs:
        return None
    middle = max(runs, key=lambda run: float(run.length)).centroid
    return float(middle.x), float(middle.y)


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
