"""The state of a board being filled, compiled, in whole numbers.

surface    height reached from below, per column; the other view's surface is this one's roof
stretch    run of columns between two walls (board ends, ends of pieces already laid) that is filled next
settled    the surface, with wood given up counted in
notch      1/1024 mm: heights are whole notches, so that the processor compares eight at a time and sums are exact
timber     the ways of all parts as flat tables
lie        a way with one of the skews tried (0 first)
rack       one board made ready, as in `racks`
bench      a board being filled
row        a piece as laid: way, first column, height (mm), skew (degrees), view

Every rounding is to the safe side.  Method: derived (a skyline on profiles instead of boxes, from both edges); the
source of chance is xorshift64* (Vigna 2016).
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, NamedTuple, TypeVar, cast

import numpy as np
from numba import config, njit

from strakewright.nest.compiling import kept

Made = TypeVar("Made", bound=Callable[..., object])
Array = Any
"""Arrays as the compiler sees them."""

NOTCH = 1024.0
SLACK = 1e-6
MOST = 400
"""Stretches of one view at most."""
PART, COLUMNS, START, LEFT, RIGHT, SHOULDER, FLIP, LOW, HIGH, CLASS = 0, 1, 2, 3, 4, 5, 7, 8, 9, 10
"""Places in a row of `Timber.who`; the shoulders take two, LOW and HIGH are sums of bottoms and tops."""
PER, THICK, CORNER, TURN, AREA = 0, 1, 2, 4, 5
"""Places in a row of `Timber.num`; the corners take two."""
SURFACE, SETTLED, ROOF = 0, 2, 4
"""Places in `Bench.col`; surface and settled have a row for each view."""


def swift(made: Made) -> Made:
    """Compile a function, once for all: the machine code is kept for the next run."""
    settings: Any = config
    before, settings.CACHE_DIR = settings.CACHE_DIR, _KEPT
    try:
        compiled: Any = njit(cache=True)(made)
    finally:
        settings.CACHE_DIR = before
    return cast("Made", compiled)


_KEPT = str(kept())


class Timber(NamedTuple):
    """who : (ways, 11), num : (ways, 6), see PART ... and PER ...;  of : (parts + 1,) first way of each part
    lies : (ways * skews, 4) start, columns, sum of bottoms, sum of tops;  bottoms, tops : columns of all lies, notches
    degs : (skews,) 0 first;  window : (parts, 2) deg, as drawn;  gauge : (4, parts) length, over, height, slant."""

    step: float
    who: Array
    num: Array
    of: Array
    lies: Array
    bottoms: Array
    tops: Array
    degs: Array
    window: Array
    gauge: Array


class Rack(NamedTuple):
    """floor : (2, n) notches;  boxes : (j, 6) view, first column, end, low, high, qualities that pass
    spots : (k, 3) view, first, end."""

    floor: Array
    boxes: Array
    spots: Array
    span: int


class Bench(NamedTuple):
    """col : (5, n) see SURFACE ...;  sums : (2, n + 1) running sums of settled and roof in the view at work
    stretch : (2, MOST, 2), count : (2,);  rows : (k, 5), laid : (1,) how many of them."""

    col: Array
    sums: Array
    stretch: Array
    count: Array
    rows: Array
    laid: Array


@swift
def chance(state: Array) -> float:
    """A number drawn evenly from 0 to 1;  state : (1,) uint64, never 0."""
    x = state[0]
    x ^= x >> np.uint64(12)
    x ^= x << np.uint64(25)
    x ^= x >> np.uint64(27)
    state[0] = x
    return float((x * np.uint64(2685821657736338717)) >> np.uint64(11)) * (1.0 / 9007199254740992.0)


@swift
def profile(ring: Array, turn_deg: float, flip: bool, step: float) -> tuple[Array, Array]:
    """Bottom and top in notches of a ring flipped if asked, then turned; least bottom 0."""
    turn = np.radians(turn_deg)
    c, s = np.cos(turn), np.sin(turn)
    f = -1.0 if flip else 1.0
    x, y = c * ring[:, 0] - s * f * ring[:, 1], s * ring[:, 0] + c * f * ring[:, 1]
    begin = x.min()
    m = max(1, int(np.ceil((x.max() - begin) / step - 1e-9)))
    bottom, top = np.full(m, np.inf), np.full(m, -np.inf)
    for i in range(len(x) - 1):
        xa, xb, ya, yb = (x[i] - begin) / step, (x[i + 1] - begin) / step, y[i], y[i + 1]
        if xa > xb:
            xa, xb, ya, yb = xb, xa, yb, ya
        first = min(max(int(np.floor(xa + 1e-9)), 0), m - 1)
        last = min(max(int(np.ceil(xb - 1e-9)) - 1, first), m - 1)
        slope = (yb - ya) / (xb - xa) if xb > xa else 0.0
        for k in range(first, last + 1):
            p = ya if k == first else ya + slope * (k - xa)
            q = yb if k == last else ya + slope * (k + 1 - xa)
            bottom[k] = min(bottom[k], p, q)
            top[k] = max(top[k], p, q)
    low = bottom.min()
    down = np.floor((bottom - low) * NOTCH + 1e-6).astype(np.int32)
    up = np.ceil((top - low) * NOTCH - 1e-6).astype(np.int32)
    return down, up


@swift
def resting(surface: Array, at: int, bottom: Array, start: int, m: int) -> int:
    """Least height at which m columns of a bottom, from `start` on, lie on a surface from column `at` on."""
    here, under = surface[at : at + m], bottom[start : start + m]
    y = np.int32(-(2**30))
    for i in range(here.shape[0]):
        gap = np.int32(here[i] - under[i])
        y = max(y, gap)
    return int(y)


@swift
def headroom(roof: Array, at: int, top: Array, start: int, m: int) -> int:
    """Greatest height at which m columns of a top, from `start` on, stay under a roof from column `at` on."""
    here, over = roof[at : at + m], top[start : start + m]
    y = np.int32(2**30)
    for i in range(here.shape[0]):
        gap = np.int32(here[i] - over[i])
        y = min(y, gap)
    return int(y)


@swift
def clear_of(boxes: Array, view: int, t: Timber, lie: tuple[int, int, int], where: tuple[int, int]) -> int:
    """Raise a height until a lie is clear of every box that its quality does not pass.

    lie : start, columns, class of quality;  where : first column, height
    """
    (start, m, kind), (at, y) = lie, where
    again = True
    while again:
        again = False
        for k in range(boxes.shape[0]):
            i, j = max(boxes[k, 1] - at, 0), min(boxes[k, 2] - at, m)
            if boxes[k, 0] != view or i >= j or y >= boxes[k, 4] or (boxes[k, 5] >> kind) & 1:
                continue
            bottom, top = t.bottoms[start + i : start + j], t.tops[start + i : start + j]
            low, high = bottom[0], top[0]
            for c in range(1, bottom.shape[0]):
                low, high = min(low, bottom[c]), max(high, top[c])
            if y + high > boxes[k, 3] and y + low < boxes[k, 4]:
                y = boxes[k, 4] - low
                again = True
    return y


@swift
def goes_on(t: Timber, rack: Rack, part: int) -> bool:
    """Whether a part, in any of its ways, fits the empty board anywhere."""
    n = rack.floor.shape[1]
    for w in range(t.of[part], t.of[part + 1]):
        start, m, kind = t.who[w, START], t.who[w, COLUMNS], t.who[w, CLASS]
        for at in range(n - m + 1):
            y = resting(rack.floor[0], at, t.bottoms, start, m)
            if len(rack.boxes):
                y = clear_of(rack.boxes, 0, t, (start, m, kind), (at, y))
            room = y
            for i in range(m):
                room = min(room, rack.span - rack.floor[1, n - 1 - at - i] - t.tops[start + i])
            if room >= y:
                return True
    return False


@swift
def bench_of(rack: Rack, pieces: int) -> Bench:
    """An empty board."""
    n = rack.floor.shape[1]
    stretch = np.zeros((2, MOST, 2), dtype=np.int64)
    stretch[:, 0, 1] = n
    col = np.empty((5, n), dtype=np.int32)
    col[SURFACE : SURFACE + 2] = rack.floor
    col[SETTLED : SETTLED + 2] = rack.floor
    sums = np.zeros((2, n + 1), dtype=np.int64)
    return Bench(col, sums, stretch, np.ones(2, dtype=np.int64), np.empty((pieces, 5)), np.zeros(1, dtype=np.int64))


@swift
def refresh(b: Bench, span: int, view: int) -> None:
    """Work out roof and running sums of a view."""
    n = b.col.shape[1]
    for i in range(n):
        b.col[ROOF, i] = span - b.col[SURFACE + 1 - view, n - 1 - i]
        b.sums[0, i + 1] = b.sums[0, i] + b.col[SETTLED + view, i]
        b.sums[1, i + 1] = b.sums[1, i] + b.col[ROOF, i]


@swift
def put(t: Timber, b: Bench, row: Array) -> None:
    """Lay a piece: the surface rises, the stretches part at its ends."""
    view, a = int(row[4]), int(row[1])
    lie = int(row[0]) * len(t.degs) + int(np.argmin(np.abs(t.degs - row[3])))
    start, m = t.lies[lie, 0], t.lies[lie, 1]
    e = a + m
    y = int(np.round(row[2] * NOTCH))
    for i in range(m):
        b.col[SURFACE + view, a + i] = max(b.col[SURFACE + view, a + i], y + t.tops[start + i])
        b.col[SETTLED + view, a + i] = b.col[SURFACE + view, a + i]
    old, k = b.stretch[view, : b.count[view]].copy(), 0
    fresh, placed = b.stretch[view], False
    for c, d in old:
        if c < a:
            fresh[k, 0], fresh[k, 1] = c, min(d, a)
            k += 1
        if d > a and not placed:
            fresh[k, 0], fresh[k, 1] = a, e
            k += 1
            placed = True
        if d > e:
            fresh[k, 0], fresh[k, 1] = max(c, e), d
            k += 1
    b.count[view] = k
    b.rows[b.laid[0]] = row
    b.laid[0] += 1


@swift
def give_up(b: Bench, view: int, number: int) -> None:
    """Join a stretch to its lower neighbour, its wood up to there counted as lost."""
    st, n = b.stretch[view], b.count[view]
    settled = b.col[SETTLED + view]
    other = number - 1
    if number == 0 or (number + 1 < n and level(settled, st[number + 1]) < level(settled, st[number - 1])):
        other = number + 1
    up = int(level(settled, st[other]))
    for i in range(st[number, 0], st[number, 1]):
        settled[i] = max(settled[i], up)
    low, high = min(number, other), max(number, other)
    st[low, 1] = st[high, 1]
    for k in range(high, n - 1):
        st[k, 0], st[k, 1] = st[k + 1, 0], st[k + 1, 1]
    b.count[view] = n - 1


@swift
def level(values: Array, run: Array) -> float:
    """Mean over a run of columns."""
    total = 0
    for i in range(run[0], run[1]):
        total += values[i]
    return float(total / (run[1] - run[0]))


@swift
def lowest(b: Bench, rack: Rack, view: int) -> int:
    """The stretch that has risen least."""
    best, least = 0, np.inf
    for k in range(b.count[view]):
        run = b.stretch[view, k]
        risen = level(b.col[SURFACE + view], run) - level(rack.floor[view], run)
        if risen < least:
            best, least = k, risen
    return best
