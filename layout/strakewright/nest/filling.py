"""A board being filled, and where a piece comes to rest on it.

view       the board as it lies (0) or turned half round (1); pieces are laid on the surface of either
surface    height reached from below, per column; the other view's surface is this one's roof
stretch    run of columns between two walls (board ends, ends of pieces already laid) that is filled next
settled    the surface, with wood given up counted in

Method: derived (a skyline on profiles instead of boxes, from both edges).
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view

from strakewright.arrays import Floats, Ints
from strakewright.nest.racks import Slab
from strakewright.nest.ways import Way, Ways, climb, skew

SLACK = 1e-6


@dataclass(frozen=True)
class Laid:
    """A way lying on a slab: column it starts at, mm above the view's height 0, degrees of skew, view."""

    way: int
    at: int
    y: float
    skew: float = 0.0
    side: int = 0


@dataclass(eq=False)
class Filling:
    """A board being filled; every pair holds one entry per view."""

    slab: Slab
    surface: list[Floats]
    settled: list[Floats]
    stretches: list[list[tuple[int, int]]]
    ladder: list[Floats | None]
    laid: list[Laid] = field(default_factory=list)


def way_of(ways: Ways, laid: Laid) -> Way:
    """The way as it lies, skew included."""
    return skew(ways, laid.way, laid.skew)


def start(slab: Slab) -> Filling:
    """An empty board."""
    a, b = slab.floor
    whole = [(0, len(a))]
    return Filling(slab, [a.copy(), b.copy()], [a.copy(), b.copy()], [whole, list(whole)], [None, None])


def roof(filling: Filling, view: int) -> Floats:
    """Height up to which each column is free, seen in a view."""
    return filling.slab.span - filling.surface[1 - view][::-1]


def ladder_of(filling: Filling, view: int) -> Floats:
    """The ladder of a surface as it is now."""
    ladder = filling.ladder[view]
    if ladder is None:
        ladder = filling.ladder[view] = climb(filling.surface[view], filling.slab.stride, greatest=True)
    return ladder


def lies_free(filling: Filling, way: Way, at: int, y: float, view: int) -> bool:
    """Whether a way lies above the surface, below the roof and clear of every defect."""
    end = at + len(way.top)
    if at < 0 or end > len(filling.surface[0]):
        return False
    if (filling.slab.span - filling.surface[1 - view][::-1][at:end] - way.top).min() < y - SLACK:
        return False
    for a, b, low, high, passed in filling.slab.boxes[view]:
        if int(passed) >> way.kind & 1:
            continue
        i, j = max(int(a) - at, 0), min(int(b) - at, len(way.top))
        if i < j and y + way.top[i:j].max() > low + SLACK and y + way.bottom[i:j].min() < high - SLACK:
            return False
    return True


def resting(filling: Filling, way: Way, first: int, count: int, view: int) -> Floats:
    """Least height of a way at `count` columns from `first` on, defects not looked at; all must be in range."""
    m = len(way.bottom)
    under = sliding_window_view(filling.surface[view][first : first + count + m - 1], m)
    return np.asarray((under - way.bottom).max(axis=1))


def lay(filling: Filling, ways: Ways, laid: Laid) -> None:
    """Put a piece down: the surface rises, the stretches part at its ends."""
    way, view = way_of(ways, laid), laid.side
    a, b = laid.at, laid.at + len(way.top)
    surface = filling.surface[view]
    surface[a:b] = np.maximum(surface[a:b], laid.y + way.top)
    filling.settled[view][a:b] = surface[a:b]
    filling.ladder[view] = None
    rest = []
    for c, d in filling.stretches[view]:
        rest.extend([(c, d)] if d <= a or c >= b else [(c, a)] * (c < a) + [(b, d)] * (b < d))
    filling.stretches[view] = sorted([*rest, (a, b)])
    filling.laid.append(laid)


def give_up(filling: Filling, view: int, number: int) -> None:
    """Nothing fits this stretch: join it to its lower neighbour, its wood up to there counted as lost."""
    settled, stretches = filling.settled[view], filling.stretches[view]
    levels = [float(settled[c:d].mean()) for c, d in stretches]
    sides = [k for k in (number - 1, number + 1) if 0 <= k < len(levels)]
    other = min(sides, key=lambda k: levels[k])
    (a, b), (c, d) = stretches[number], stretches[other]
    settled[a:b] = np.maximum(settled[a:b], levels[other])
    stretches[min(number, other)] = (min(a, c), max(b, d))
    del stretches[max(number, other)]


def lowest(filling: Filling, view: int) -> int:
    """The stretch that has risen least."""
    stretches = filling.stretches[view]
    if len(stretches) == 1:
        return 0
    risen = np.concatenate([[0.0], np.cumsum(filling.surface[view] - filling.slab.floor[view])])
    return int(np.argmin([(risen[d] - risen[c]) / (d - c) for c, d in stretches]))


def walls(filling: Filling, view: int, stretch: tuple[int, int]) -> Ints:
    """Left and right walls to try in a stretch: (e, 2); its own ends, and the ends of defects inside it."""
    a, b = stretch
    inside = [(end, first) for first, end in filling.slab.spots[view] if a < end and first < b]
    return np.array([(a, b), *((max(c, a), min(d, b)) for c, d in inside)], dtype=np.int64)
