"""Cross planks in one piece from chine to chine.

cross     planking square to the keel;  where the bottom is flat across the keel a plank runs from side to side
half      the port half of such a plank, worked out like any other plank, its keel end cut square in y = 0
whole     the half and its mirror image grown together at the keel: one piece of wood, no joint, no mate

Source: derived.  On a surface that is its own mirror image in y = 0 a seam square to the keel crosses it straight, and
the keel line of the half is straight in the flat, so the two halves meet in one straight line.
"""

from __future__ import annotations

from dataclasses import replace
from typing import cast

import numpy as np

from strakewright.arrays import Floats
from strakewright.parts import Margin, Mark, Plank

FLATTEST = np.radians(0.5)  # deadrise at the keel up to which a plank bends over it unbroken
AT_KEEL = 0.2  # mm: points this near to the keel line lie on it
RINGS = ("net_outline", "fitted_outline", "face_inside", "face_outside", "outline")
OTHER_SIDE, OVER = np.array([1.0, -1.0, 1.0]), np.array([-1.0, 1.0])


def keel_end(plank: Plank) -> Margin | None:
    """The end of a half plank that lies on the keel; None where it has none."""
    return next((end for end in plank.ends if end.meets == "keel"), None)


def spans(plank: Plank) -> bool:
    """Whether a half plank is flat enough at the keel to run on to the other side."""
    end = keel_end(plank)
    return end is not None and bool(np.abs(end.bevel).max() <= FLATTEST)


def whole_of(half: Plank) -> Plank:
    """One plank from chine to chine.  half : a port plank with x from keel to chine that `spans` the keel."""
    end = keel_end(half)
    assert end is not None
    lay = _Keel.of(end)
    rings = [_grown(lay(getattr(half, name))) for name in RINGS]
    low = np.min([r.min(axis=0) for r in rings], axis=0)
    net, fitted, inside, outside, outline = (ring - low for ring in rings)
    first, *spare = _joined(lay, half.first)
    second, *more = _joined(lay, half.second)
    ends = [m for e in half.ends if e is not end for m in _joined(lay, e)]
    return replace(
        half,
        id=half.id[:-1] + "C",
        side="both",
        mate=None,
        net_outline=net,
        fitted_outline=fitted,
        face_inside=inside,
        face_outside=outside,
        outline=outline,
        first=_shifted(first, low),
        second=_shifted(second, low),
        ends=tuple(_shifted(m, low) for m in [*ends, *spare, *more]),
        marks=tuple(replace(m, points=m.points - low) for mark in half.marks for m in _marks(lay, mark)),
        extra=half.extra | {"bevels": _rows(half, float(end.fitted[:, 0].mean()), float(low[0]))},
    )


def _rows(half: Plank, keel: float, low: float) -> list[dict[str, object]]:
    """The bevel table of the whole: the half's rows and their mirror images, in order along the plank."""
    rows = [dict(row) for row in cast(list[dict[str, object]], half.extra.get("bevels", []))]
    kept = [row for row in rows if row["edge"] != "keel"]
    both = [row | {"x": sign * (cast(float, row["x"]) - keel) - low} for row in kept for sign in (-1.0, 1.0)]
    return sorted(both, key=lambda row: cast(float, row["x"]))


class _Keel:
    """Turn and shift that lay the keel line on x = 0 with the plank to its right."""

    def __init__(self, turn: Floats, start: Floats) -> None:
        self.turn, self.start = turn, start

    @staticmethod
    def of(end: Margin) -> _Keel:
        way = end.fitted[-1] - end.fitted[0]
        way = way / np.linalg.norm(way) * (1.0 if way[1] > 0 else -1.0)
        return _Keel(np.array([[way[1], way[0]], [-way[0], way[1]]]), end.fitted[0])

    def __call__(self, points: Floats) -> Floats:
        laid = (points - self.start) @ self.turn
        laid[np.abs(laid[:, 0]) < AT_KEEL, 0] = 0.0
        return np.asarray(laid)


def _grown(ring: Floats) -> Floats:
    """A counter-clockwise ring with its keel edge on x = 0, and its mirror image, as one ring."""
    on_keel = np.nonzero(ring[:, 0] == 0.0)[0]
    low = on_keel[np.argmin(ring[on_keel, 1])]
    high = on_keel[np.argmax(ring[on_keel, 1])]
    count = (high - low) % len(ring) + 1
    chain = ring[(low + np.arange(count)) % len(ring)]
    return np.concatenate([chain, (chain * OVER)[-2:0:-1]])


def _joined(lay: _Keel, margin: Margin) -> list[Margin]:
    """A margin that starts at the keel and its mirror image as one, from starboard to port; else both."""
    here = replace(margin, flat=lay(margin.flat), fitted=lay(margin.fitted))
    there = replace(
        here,
        seam=here.seam[::-1] * OTHER_SIDE,
        flat=here.flat[::-1] * OVER,
        fitted=here.fitted[::-1] * OVER,
        bevel=here.bevel[::-1],
    )
    touching = [i for i in (0, -1) if abs(here.flat[i, 0]) < AT_KEEL]
    if not touching:
        return [here, there]
    one, two = (there, here) if touching[0] == 0 else (here, there)

    def both(a: Floats, b: Floats) -> Floats:
        return np.concatenate([a, b[1:]])

    return [
        replace(
            here,
            seam=both(one.seam, two.seam),
            flat=both(one.flat, two.flat),
            fitted=both(one.fitted, two.fitted),
            bevel=both(one.bevel, two.bevel),
        )
    ]


def _marks(lay: _Keel, mark: Mark) -> list[Mark]:
    """A line that reaches the keel runs on; a frame's line is one line all the way across; others stand twice."""
    points = lay(mark.points)
    mirrored = points[::-1] * OVER
    if mark.kind == "frame" or np.abs(points[[0, -1], 0]).min() < AT_KEEL:
        inner_first = abs(points[0, 0]) < abs(points[-1, 0])
        halves = (mirrored, points) if inner_first else (points, mirrored)
        return [replace(mark, points=np.concatenate([halves[0], halves[1][1:]]))]
    return [replace(mark, points=points), replace(mark, points=mirrored)]


def _shifted(margin: Margin, low: Floats) -> Margin:
    return replace(margin, flat=margin.flat - low, fitted=margin.fitted - low)
