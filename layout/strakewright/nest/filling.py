"""Filling one board from one end, piece upon piece.

stretch    run of columns between two walls (board ends, ends of pieces already laid) that is filled next
wall       where a stretch ends
taste      what is liked in a piece: little waste, or the awkward pieces first
waste      wood made useless by laying a piece: under it, above it where nothing more goes in, and beside it

Always the lowest stretch is filled; every piece of the pool is tried against both its walls, tucked under slanted
ends and against defects, all at once.  Method: derived (a best-fit skyline on profiles instead of boxes).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from strakewright.arrays import Bools, Floats, Ints
from strakewright.nest.racks import Slab, climb
from strakewright.nest.ways import Ragged, Ways

SLACK = 1e-6


@dataclass(frozen=True)
class Laid:
    """A way lying on a slab: column it starts at, mm above the slab's height 0."""

    way: int
    at: int
    y: float


@dataclass(frozen=True, eq=False)
class Pool:
    """Ways to choose from, with their blocks gathered.  way : (k,);  low, high : blocks with `at` already made
    places in a ladder and `first` starting each way;  *_of : way (0..k) of each block."""

    way: Ints
    low: Ragged
    low_of: Ints
    high: Ragged
    high_of: Ints


@dataclass(eq=False)
class Filling:
    """A board being filled.  surface : (n,) mm, height reached;  settled : the same, with wood given up counted in."""

    slab: Slab
    surface: Floats
    settled: Floats
    stretches: list[tuple[int, int]]
    laid: list[Laid] = field(default_factory=list)


@dataclass(frozen=True, eq=False)
class Taste:
    """liking : (parts,) mm2 of waste per mm2 of piece forgiven;  noise : (parts,) factor on waste near 1."""

    liking: Floats
    noise: Floats


def gather(table: Ragged, ways: Ints, stride: int) -> tuple[Ragged, Ints]:
    """The blocks of some ways, and which way each belongs to."""
    count = table.first[ways + 1] - table.first[ways]
    first = np.concatenate([[0], np.cumsum(count)])
    of = np.repeat(np.arange(len(ways)), count)
    pick = np.arange(first[-1]) + (table.first[ways] - first[:-1])[of]
    level = table.level[pick]
    return Ragged(table.at[pick] + level * stride, level, table.value[pick], first[:-1]), of


def pool_of(ways: Ways, parts: Sequence[int], slab: Slab) -> Pool:
    """Every way of every part listed that is not longer than the slab."""
    n = len(slab.floor)
    stride = len(slab.ladder) // n.bit_length()
    index = np.concatenate([ways.of[p] for p in parts]) if len(parts) else np.zeros(0, dtype=np.int64)
    index = index[ways.columns[index] <= n]
    return Pool(index, *gather(ways.low, index, stride), *gather(ways.high, index, stride))


def start(slab: Slab) -> Filling:
    """An empty board."""
    return Filling(slab, slab.floor.copy(), slab.floor.copy(), [(0, len(slab.floor))])


def heights(filling: Filling, ways: Ways, pool: Pool, at: Ints) -> tuple[Floats, Bools]:
    """Least height of each way at each start column, and whether it fits there.  at : (e, k), may be out of range."""
    slab, n = filling.slab, len(filling.surface)
    last = n - ways.columns[pool.way]
    inside = (at >= 0) & (at <= last)
    at = np.minimum(np.maximum(at, 0), last)
    ladder = climb(filling.surface, len(slab.ladder) // n.bit_length(), greatest=True)
    under = ladder.take(pool.low.at + at[:, pool.low_of]) - pool.low.value
    y = np.maximum.reduceat(under, pool.low.first, axis=1)
    over = slab.ladder.take(pool.high.at + at[:, pool.high_of]) + pool.high.value
    roof = np.minimum.reduceat(over, pool.high.first, axis=1)
    if len(slab.boxes):
        y = over_boxes(slab.boxes, ways, pool.way, at, y)
    return y, inside & (y <= roof + SLACK)


def over_boxes(boxes: Floats, ways: Ways, index: Ints, at: Ints, y: Floats) -> Floats:
    """Raise each height until the way is clear of every box.  at, y : (e, k);  returns (e, k)."""
    m = ways.columns[index]
    first = np.maximum(boxes[:, 0].astype(np.int64)[:, None, None] - at, 0)
    end = np.minimum(boxes[:, 1].astype(np.int64)[:, None, None] - at, m)
    hit = first < end
    if not hit.any():
        return y
    j, e, k = np.nonzero(hit)
    bottom, top = spans(ways, index[k], first[hit], end[hit])
    low, high = boxes[j, 2] - top, boxes[j, 3] - bottom
    order = np.argsort(high, kind="stable")
    return _pushed(y.copy(), (e[order], k[order]), low[order], high[order])


def _pushed(y: Floats, where: tuple[Ints, Ints], low: Floats, high: Floats) -> Floats:
    """Lift y out of every open interval (low, high); repeated until nothing moves."""
    while True:
        here = y[where]
        bad = (here > low + SLACK) & (here < high - SLACK)
        if not bad.any():
            return y
        np.maximum.at(y, (where[0][bad], where[1][bad]), high[bad])


def spans(ways: Ways, way: Ints, first: Ints, end: Ints) -> tuple[Floats, Floats]:
    """Least bottom and greatest top of ways over runs of at most 8 columns.  way, first, end : (n,)."""
    offset = ways.start[way]
    last = end - 1
    bottom, top = ways.bottom[offset + first], ways.top[offset + first]
    for k in range(1, int((end - first).max())):
        c = offset + np.minimum(first + k, last)
        bottom, top = np.minimum(bottom, ways.bottom[c]), np.maximum(top, ways.top[c])
    return bottom, top


def starts(filling: Filling, ways: Ways, pool: Pool, stretch: tuple[int, int]) -> Ints:
    """Start columns to try in a stretch: (e, k), the first half against left walls, the rest against right ones."""
    m, left, right = ways.columns[pool.way], ways.left[pool.way], ways.right[pool.way]
    a, b = stretch
    rows = [a + 0 * m, a - left, a - np.maximum(left - 2, 0)]
    flip = [b - m, b - m + right, b - m + np.maximum(right - 2, 0)]
    for box in filling.slab.boxes:
        if a < box[1] < b:
            rows.append(int(box[1]) + 0 * m)
            flip.append(int(box[0]) - m)
    return np.stack(rows + flip)


def slack_table(sizes: Sequence[int], limit: int, repeat: bool) -> Floats:
    """What is left of a length 0..limit after laying the best sum of `sizes` in it.

    repeat : every size as often as liked, else once;  limit : > 0

    >>> slack_table([3, 5], 9, repeat=False).tolist()
    [0.0, 1.0, 2.0, 0.0, 1.0, 0.0, 1.0, 2.0, 0.0, 1.0]
    """
    reach, mask = 1, (1 << (limit + 1)) - 1
    for size in sizes:
        shift = size
        while shift <= limit:
            reach |= (reach << shift) & mask
            if not repeat:
                break
            shift *= 2
    bits = np.unpackbits(np.frombuffer(reach.to_bytes(limit // 8 + 1, "little"), np.uint8), bitorder="little")
    best = np.maximum.accumulate(np.where(bits[: limit + 1] > 0, np.arange(limit + 1), 0))
    return (np.arange(limit + 1) - best).astype(np.float64)


@dataclass(frozen=True, eq=False)
class Outlook:
    """What the pool can still use: slack of a length in columns, of a height in mm."""

    along: Floats
    across: Floats


def outlook(ways: Ways, parts: Sequence[int], n: int) -> Outlook:
    """Slack tables for a board of n columns."""
    first = [int(ways.of[p][0]) for p in parts]
    wide = sorted({int(np.ceil(ways.area[w] / (ways.columns[w] * ways.step))) for w in first})
    return Outlook(slack_table([int(ways.columns[w]) for w in first], n, False), slack_table(wide, 400, True))


def wasted(filling: Filling, ways: Ways, pool: Pool, view: Outlook, tried: tuple[tuple[int, int], Ints, Floats]) -> Floats:
    """Waste per mm2 of piece for every way (k) at every start (e).  tried : stretch, at, y."""
    (a, b), at, y = tried
    m = ways.columns[pool.way]
    at = np.minimum(np.maximum(at, 0), len(filling.surface) - m)
    end = at + m
    settled = np.concatenate([[0.0], np.cumsum(filling.settled)])
    under = m * y + ways.sum_bottom[pool.way] - (settled[end] - settled[at])
    room = (filling.slab.sum_roof[end] - filling.slab.sum_roof[at] - ways.sum_top[pool.way]) / m - y
    above = view.across[np.clip(room, 0, 400).astype(np.int64)] * m
    half = len(at) // 2
    beside = np.concatenate([b - end[:half], at[half:] - a])
    thick = (ways.sum_top - ways.sum_bottom)[pool.way] / m
    aside = view.along[np.clip(beside, 0, len(view.along) - 1)] * thick
    return np.asarray((under + above + aside) * ways.step / ways.area[pool.way])


def lay(filling: Filling, ways: Ways, laid: Laid) -> None:
    """Put a piece down: the surface rises, the stretches part at its ends."""
    way = ways.ways[laid.way]
    a, b = laid.at, laid.at + len(way.top)
    filling.surface[a:b] = np.maximum(filling.surface[a:b], laid.y + way.top)
    filling.settled[a:b] = filling.surface[a:b]
    rest = []
    for c, d in filling.stretches:
        rest.extend([(c, d)] if d <= a or c >= b else [(c, a)] * (c < a) + [(b, d)] * (b < d))
    filling.stretches = sorted([*rest, (a, b)])
    filling.laid.append(laid)


def give_up(filling: Filling, number: int) -> None:
    """Nothing fits this stretch: join it to its lower neighbour, its wood up to there counted as lost."""
    levels = [float(filling.settled[c:d].mean()) for c, d in filling.stretches]
    sides = [k for k in (number - 1, number + 1) if 0 <= k < len(levels)]
    other = min(sides, key=lambda k: levels[k])
    (a, b), (c, d) = filling.stretches[number], filling.stretches[other]
    filling.settled[a:b] = np.maximum(filling.settled[a:b], levels[other])
    filling.stretches[min(number, other)] = (min(a, c), max(b, d))
    del filling.stretches[max(number, other)]


def lowest(filling: Filling) -> int:
    """The stretch with most of its height free."""
    free = [float((filling.surface[c:d] - filling.slab.floor[c:d]).mean()) for c, d in filling.stretches]
    return int(np.argmin(free))


def fill(filling: Filling, ways: Ways, parts: Sequence[int], taste: Taste) -> list[int]:
    """Lay pieces on a board until none fits; returns the parts left over.  Parts come and go as numbers."""
    left = list(parts)
    view = outlook(ways, left, len(filling.surface))
    pool = pool_of(ways, left, filling.slab)
    while left and len(pool.way):
        number = lowest(filling)
        stretch = filling.stretches[number]
        best = best_piece(filling, ways, pool, view, (stretch, taste))
        if best is None:
            if len(filling.stretches) == 1:
                break
            give_up(filling, number)
            continue
        lay(filling, ways, best)
        left.remove(int(ways.part[best.way]))
        pool = pool_of(ways, left, filling.slab)
    return left


def best_piece(
    filling: Filling, ways: Ways, pool: Pool, view: Outlook, how: tuple[tuple[int, int], Taste]
) -> Laid | None:
    """The piece that suits a stretch best, or None.  how : the stretch, the taste."""
    stretch, taste = how
    at = starts(filling, ways, pool, stretch)
    y, fits = heights(filling, ways, pool, at)
    if not fits.any():
        return None
    part = ways.part[pool.way]
    score = wasted(filling, ways, pool, view, (stretch, at, y)) * taste.noise[part] - taste.liking[part]
    score[~fits] = np.inf
    e, k = divmod(int(np.argmin(score)), len(part))
    return Laid(int(pool.way[k]), int(at[e, k]), float(y[e, k]))
