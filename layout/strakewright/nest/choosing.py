"""Choosing what to lay next on a board, until nothing more fits.

taste      what is liked in a piece: little waste, or the awkward and dear pieces first
waste      wood made useless by laying a piece: under it, above it where nothing more goes in, and beside it
outlook    what the pool can still use of a length or a height
crewing    picking the pieces of a whole lane together

Always the lowest stretch of a view is filled; every piece of the pool is tried against both its walls, tucked under
slanted ends and against defects, all at once; the one taken is then settled in.  Method: derived.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.random import Generator

from strakewright.arrays import Bools, Floats, Ints
from strakewright.nest.filling import (
    SLACK,
    Filling,
    Laid,
    give_up,
    ladder_of,
    lay,
    lies_free,
    lowest,
    roof,
    walls,
)
from strakewright.nest.lanes import Gauge, team
from strakewright.nest.racks import Slab
from strakewright.nest.settling import settled_in
from strakewright.nest.ways import Ways

LEADERS = 3
"""Pieces drawn to set the height of a lane."""
LOG2 = np.array([max(n.bit_length() - 1, 0) for n in range(1 << 14)], dtype=np.int64)
"""Whole part of log2: the level of a ladder that covers a run in two looks."""


@dataclass(frozen=True)
class Spot:
    """Where the next piece goes."""

    view: int
    stretch: tuple[int, int]


@dataclass(frozen=True, eq=False)
class Pool:
    """Ways to choose from, each as often as there are ways to put it against a wall.

    way, part : (k,);  wall : (k,) 0 against the left wall, 1 the right;  shift : (k,) columns from the wall
    columns, last, lift, rise, thick, per : (k,) of the way: columns, last column it can start at on this slab, sum of
    bottoms, mean top, mean thickness, mm of column per mm2 of part
    shoulder, corner : (k,) sloping columns of the top away from the wall; what is missing over those at the wall
    at, value, of, first : blocks of the bottoms, `at` as places in a ladder, `of` the entry they belong to
    """

    way: Ints
    part: Ints
    wall: Ints
    shift: Ints
    columns: Ints
    last: Ints
    lift: Floats
    rise: Floats
    thick: Floats
    per: Floats
    shoulder: Ints
    corner: Floats
    at: Ints
    value: Floats
    of: Ints
    first: Ints


@dataclass(frozen=True, eq=False)
class Taste:
    """liking : (parts,) mm2 of waste per mm2 of piece forgiven;  noise : (parts,) factor on waste near 1;
    wall : added to the waste of pieces against a left or a right wall."""

    liking: Floats
    noise: Floats
    wall: tuple[float, float] = (0.0, 0.0)


@dataclass(frozen=True, eq=False)
class Crewing:
    """How lanes are manned: gauge of the parts, worth of each, how often a team is picked, how often
    a piece is hung from the upper edge, source of chance."""

    gauge: Gauge
    worth: Floats
    often: float
    hang: float
    rng: Generator


def pool_of(ways: Ways, parts: Sequence[int], slab: Slab) -> Pool:
    """Every way of every part listed that is not longer than the slab, against both walls and tucked under."""
    n = len(slab.floor[0])
    index = np.concatenate([ways.of[p] for p in parts]) if len(parts) else np.zeros(0, dtype=np.int64)
    index = index[ways.columns[index] <= n]
    lefty, righty = index[ways.left[index] > 0], index[ways.right[index] > 0]
    m = ways.columns
    way = np.concatenate([index, index, lefty, lefty, righty, righty])
    wall = np.repeat([0, 1, 0, 1], [len(index), len(index), 2 * len(lefty), 2 * len(righty)])
    shift = np.concatenate(
        [
            np.zeros(len(index), dtype=np.int64),
            -m[index],
            -ways.left[lefty],
            -np.maximum(ways.left[lefty] - 2, 0),
            ways.right[righty] - m[righty],
            np.maximum(ways.right[righty] - 2, 0) - m[righty],
        ]
    )
    count = ways.low.first[way + 1] - ways.low.first[way]
    first = np.cumsum(count) - count
    of = np.repeat(np.arange(len(way)), count)
    pick = np.arange(len(of)) + (ways.low.first[way] - first)[of]
    at = ways.low.at[pick] + ways.low.level[pick] * slab.stride
    return Pool(
        way,
        ways.part[way],
        wall,
        shift,
        m[way],
        n - m[way],
        ways.sum_bottom[way],
        ways.sum_top[way] / m[way],
        ways.thick[way],
        ways.step / ways.area[way],
        ways.shoulder[1 - wall, way],
        np.where(np.arange(len(way)) < 2 * len(index), ways.corner[wall, way], 0.0),
        at,
        ways.low.value[pick],
        of,
        first,
    )


def heights(filling: Filling, ways: Ways, pool: Pool, at: Ints, view: int) -> Floats:
    """Least height of each entry of the pool at each start column.  at : (e, k), in range;  returns (e, k)."""
    under = ladder_of(filling, view).take(pool.at + at.take(pool.of, axis=1))
    under -= pool.value
    y = np.maximum.reduceat(under, pool.first, axis=1)
    boxes = filling.slab.boxes[view]
    return over_boxes(boxes, ways, pool.way, at, y) if len(boxes) else y


def over_boxes(boxes: Floats, ways: Ways, way: Ints, at: Ints, y: Floats) -> Floats:
    """Raise each height until the way is clear of every box.  at, y : (e, k);  returns (e, k)."""
    first = np.maximum(boxes[:, 0].astype(np.int64)[:, None, None] - at, 0)
    m = ways.columns[way]
    end = np.minimum(boxes[:, 1].astype(np.int64)[:, None, None] - at, m)
    hit = (first < end) & ~passes(boxes, ways.kind[way])[:, None, :]
    if not hit.any():
        return y
    level = LOG2[np.maximum(end - first, 1)]
    one = level * ways.stride + ways.start[way] + np.minimum(first, m - 1)
    two = one + np.maximum(end - first - (1 << level), 0)
    bottom = np.minimum(ways.bottoms.take(one), ways.bottoms.take(two))
    top = np.maximum(ways.tops.take(one), ways.tops.take(two))
    low = np.where(hit, boxes[:, 2, None, None] - top + SLACK, np.inf)
    high = boxes[:, 3, None, None] - bottom
    while True:
        bad = (y > low) & (y < high - SLACK)
        if not bad.any():
            return y
        y = np.maximum(y, np.where(bad, high, -np.inf).max(axis=0))


def passes(boxes: Floats, kind: Ints) -> Bools:
    """(boxes, k) which boxes pieces of these classes of quality may lie over."""
    return np.asarray((boxes[:, 4].astype(np.int64)[:, None] >> kind) & 1 == 1)


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
    """What the pool can still use: slack of a length in columns, of a height in mm; over : columns the end of a lane
    commonly overhangs."""

    along: Floats
    across: Floats
    over: int


def outlook_of(ways: Ways, parts: Sequence[int], n: int) -> Outlook:
    """Slack tables for a board of n columns."""
    first = [int(ways.of[p][0]) for p in parts]
    wide = sorted({int(np.ceil(ways.girth[w] - 0.01)) for w in first})
    return Outlook(
        slack_table([int(ways.columns[w] - ways.left[w] - ways.right[w]) for w in first], n, False),
        slack_table(wide, 400, True),
        int(np.median([ways.left[w] + ways.right[w] for w in first])) if first else 0,
    )


def wasted(filling: Filling, pool: Pool, outlook: Outlook, tried: tuple[Spot, Ints, Floats]) -> tuple[Floats, Floats]:
    """Waste per mm2 of piece for every entry (k) at every start (e), and the mean height left above it.

    tried : where, start columns, heights
    """
    spot, at, y = tried
    a, b = spot.stretch
    end = at + pool.columns
    settled = np.concatenate([[0.0], np.cumsum(filling.settled[spot.view])])
    under = pool.columns * y + pool.lift - (settled.take(end) - settled.take(at))
    above = np.concatenate([[0.0], np.cumsum(roof(filling, spot.view))])
    room = (above.take(end) - above.take(at)) / pool.columns - pool.rise - y
    lost = outlook.across.take(room.astype(np.int64), mode="clip") * pool.columns
    beside = np.where(pool.wall == 0, b - end, at - a) + pool.shoulder - outlook.over
    aside = outlook.along.take(beside, mode="clip") * pool.thick
    return (under + lost + aside + pool.corner) * pool.per, room


@dataclass(eq=False)
class Stock:
    """What is still to be laid: parts left, the pool gathered from them, parts of the team at work, least height."""

    left: list[int]
    pool: Pool
    gathered: int
    alive: Bools
    mates: list[int]
    narrow: float

    def take(self, ways: Ways, slab: Slab, part: int) -> None:
        """A part is laid: it leaves the stock."""
        self.left.remove(part)
        self.alive[part] = False
        if part in self.mates:
            self.mates.remove(part)
        if len(self.left) < 0.7 * self.gathered:
            self.pool, self.gathered = pool_of(ways, self.left, slab), len(self.left)
            self.narrow = least_height(ways, self.pool)


def least_height(ways: Ways, pool: Pool) -> float:
    """Height of the lowest way in a pool."""
    return float(ways.height[pool.way].min(initial=np.inf))


def fill(filling: Filling, ways: Ways, parts: Sequence[int], taste: Taste, crewing: Crewing) -> list[int]:
    """Lay pieces on a board until none fits; returns the parts left over.  Parts come and go as numbers."""
    slab, rng = filling.slab, crewing.rng
    outlook = outlook_of(ways, parts, len(slab.floor[0]))
    pool = pool_of(ways, parts, slab)
    everyone = np.ones(len(ways.of), dtype=bool)
    stock = Stock(list(parts), pool, len(parts), everyone, [], least_height(ways, pool))
    view, redraw = (filling.laid[-1].side, False) if filling.laid else (0, True)
    closed = [False, crewing.hang == 0.0 and view == 0]
    shut = list(closed)
    while stock.left and len(stock.pool.way) and not all(shut):
        if shut[view] or redraw:
            view = int(shut[0] or (not shut[1] and rng.random() < crewing.hang))
        number = lowest(filling, view)
        best = next_piece(filling, ways, stock, (outlook, taste, crewing), Spot(view, filling.stretches[view][number]))
        if best is not None:
            redraw = False
            lay(filling, ways, best)
            stock.take(ways, slab, int(ways.part[best.way]))
            shut = list(closed)
        elif len(filling.stretches[view]) > 1:
            give_up(filling, view, number)
            redraw = True
        else:
            shut[view] = True
    return stock.left


def next_piece(
    filling: Filling, ways: Ways, stock: Stock, how: tuple[Outlook, Taste, Crewing], spot: Spot
) -> Laid | None:
    """The piece to lay next, of the team first."""
    outlook, taste, crewing = how
    span = slice(*spot.stretch)
    room = float((roof(filling, spot.view)[span] - filling.surface[spot.view][span]).max())
    if room < stock.narrow:
        return None
    if not stock.mates and crewing.rng.random() < crewing.often:
        stock.mates = _team(crewing, stock.left, (*spot.stretch, room), outlook)
    if stock.mates:
        few = pool_of(ways, stock.mates, filling.slab)
        best = best_piece(filling, ways, (few, stock.alive), outlook, (spot, taste)) if len(few.way) else None
        if best is not None:
            return best
        stock.mates = []
    return best_piece(filling, ways, (stock.pool, stock.alive), outlook, (spot, taste))


def _team(crewing: Crewing, left: Sequence[int], lane: tuple[int, int, float], outlook: Outlook) -> list[int]:
    """A team for a stretch; empty when there is none.  lane : first and end column, height free.

    The lane is as high as a piece drawn at random; of a few, the one that leaves a height others can use.
    """
    g, rng = crewing.gauge, crewing.rng
    a, b, room = lane
    heights = g.height[rng.choice(left, min(LEADERS, len(left)))]
    heights = heights[heights <= room + SLACK]
    if not len(heights):
        return []
    spare = outlook.across.take((room - heights).astype(np.int64), mode="clip")
    height = float(heights[int(np.argmin(spare - 0.02 * heights * rng.random(len(heights))))])
    return team(g, left, crewing.worth, (b - a, height, room), rng) or []


def best_piece(
    filling: Filling, ways: Ways, stock: tuple[Pool, Bools], outlook: Outlook, how: tuple[Spot, Taste]
) -> Laid | None:
    """The piece that suits a stretch best, or None.  stock : the pool, parts not yet laid;  how : where, taste."""
    (spot, taste), (pool, alive) = how, stock
    at = walls(filling, spot.view, spot.stretch)[:, pool.wall] + pool.shift
    away = (at < 0) | (at > pool.last) | ~alive.take(pool.part)
    at = np.minimum(np.maximum(at, 0), pool.last)
    y = heights(filling, ways, pool, at, spot.view)
    waste, room = wasted(filling, pool, outlook, (spot, at, y))
    score = waste * taste.noise.take(pool.part) - taste.liking.take(pool.part)
    score += np.take(taste.wall, pool.wall)
    score[away | (room < -SLACK)] = np.inf
    while True:
        e, k = divmod(int(np.argmin(score)), len(pool.way))
        if score[e, k] == np.inf:
            return None
        laid = Laid(int(pool.way[k]), int(at[e, k]), float(y[e, k]), 0.0, spot.view)
        if lies_free(filling, ways.ways[laid.way], laid.at, laid.y, spot.view):
            return settled_in(filling, ways, laid, bool(pool.wall[k]), bool(pool.shift[k] not in (0, -pool.columns[k])))
        score[e, k] = np.inf
