"""The state of a board being filled, compiled, in whole numbers.

surface    height reached from below, per column; the other view's surface is this one's roof
stretch    run of columns between two walls (board ends, ends of pieces already laid) that is filled next
settled    the surface, with wood given up counted in
notch      1/1024 mm: heights are whole notches, so that the processor compares eight at a time and sums are exact
timber     the ways of all parts as flat tables
lie        a way with one of the skews tried (0 first)
rack       one board made ready, as in `racks`
bench      a board being filled, with all the room the work needs: nothing is allotted by compiled code
row        a piece as laid: way, first column, height (mm), skew (degrees), view

Plain loops over arrays that are handed in: each array function called here would be compiled anew, which took most of
the time.  Every rounding is to the safe side.  Method: derived (a skyline on profiles instead of boxes, from both
edges); the source of chance is xorshift64* (Vigna 2016).
"""

from __future__ import annotations

import math
import warnings
from typing import Any, NamedTuple

import numpy as np

from strakewright.compiling import Made, compile_called, compile_inner, has_compiler
from strakewright.nest.compiling import kept

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
LAID, LEFT_OVER, TEAM, WALLS = 2, 3, 4, 5
"""Places in `Bench.count`, after the stretches of either view: rows, parts left, parts of the team, walls."""


def swift(made: Made) -> Made:
    """Compile a move that only other moves call, once for all: the machine code is kept for the next run."""
    return compile_inner(made, _KEPT)


def called(made: Made) -> Made:
    """Compile a move that is called from outside too."""
    return compile_called(made, _KEPT)


_KEPT = kept()


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
    stretch : (3, MOST, 2) of either view, and one to work with;  count : (6,) how much of the others is in use
    rows : (k, 5);  parts : (3, k) left, team, and one to work with;  walls : (w, 2);  state : (1,) source of chance
    seat : (m, 4), worth : (m, 3) see `swiftfill.seats`;  chest, took : (n + 1,), (k, n + 1) for the knapsack."""

    col: Array
    sums: Array
    stretch: Array
    count: Array
    rows: Array
    parts: Array
    walls: Array
    state: Array
    seat: Array
    worth: Array
    chest: Array
    took: Array


if not has_compiler():  # its whole numbers are meant to run over; uncompiled ones would say so every time
    warnings.filterwarnings("ignore", "overflow encountered in scalar multiply", RuntimeWarning)


@called
def chance(state: Array) -> float:
    """A number drawn evenly from 0 to 1;  state : (1,) uint64, never 0."""
    x = state[0]
    x ^= x >> np.uint64(12)
    x ^= x << np.uint64(25)
    x ^= x >> np.uint64(27)
    state[0] = x
    return float((x * np.uint64(2685821657736338717)) >> np.uint64(11)) * (1.0 / 9007199254740992.0)


@called
def trace(ring: Array, step: float, bottom: Array, top: Array) -> None:
    """Least and greatest height of a ring (n, 2), first point repeated, in every column from its left end on."""
    begin, m = ring[0, 0], len(bottom)
    for i in range(ring.shape[0]):
        begin = min(begin, ring[i, 0])
    for i in range(ring.shape[0] - 1):
        xa, xb, ya, yb = (ring[i, 0] - begin) / step, (ring[i + 1, 0] - begin) / step, ring[i, 1], ring[i + 1, 1]
        if xa > xb:
            xa, xb, ya, yb = xb, xa, yb, ya
        first = min(max(math.floor(xa + 1e-9), 0), m - 1)
        last = min(max(math.ceil(xb - 1e-9) - 1, first), m - 1)
        slope = (yb - ya) / (xb - xa) if xb > xa else 0.0
        for k in range(first, last + 1):
            p = ya if k == first else ya + slope * (k - xa)
            q = yb if k == last else ya + slope * (k + 1 - xa)
            bottom[k] = min(bottom[k], p, q)
            top[k] = max(top[k], p, q)


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


@called
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
def refresh(b: Bench, span: int, view: int) -> None:
    """Work out roof and running sums of a view."""
    n = b.col.shape[1]
    for i in range(n):
        b.col[ROOF, i] = span - b.col[SURFACE + 1 - view, n - 1 - i]
        b.sums[0, i + 1] = b.sums[0, i] + b.col[SETTLED + view, i]
        b.sums[1, i + 1] = b.sums[1, i] + b.col[ROOF, i]


@swift
def lie_of(t: Timber, way: int, skew: float) -> int:
    """Number of the lie of a way with a skew tried."""
    best = 0
    for k in range(len(t.degs)):
        if abs(t.degs[k] - skew) < abs(t.degs[best] - skew):
            best = k
    return way * len(t.degs) + best


@swift
def put(t: Timber, b: Bench, k: int) -> None:
    """Lay the piece of row k: the surface rises, the stretches part at its ends."""
    view, a = int(b.rows[k, 4]), int(b.rows[k, 1])
    lie = lie_of(t, int(b.rows[k, 0]), b.rows[k, 3])
    start, m = t.lies[lie, 0], t.lies[lie, 1]
    e = a + m
    y = math.floor(b.rows[k, 2] * NOTCH + 0.5)
    for i in range(m):
        b.col[SURFACE + view, a + i] = max(b.col[SURFACE + view, a + i], y + t.tops[start + i])
        b.col[SETTLED + view, a + i] = b.col[SURFACE + view, a + i]
    n, k, placed = b.count[view], 0, False
    for i in range(n):
        b.stretch[2, i, 0], b.stretch[2, i, 1] = b.stretch[view, i, 0], b.stretch[view, i, 1]
    for i in range(n):
        c, d = b.stretch[2, i, 0], b.stretch[2, i, 1]
        if c < a:
            b.stretch[view, k, 0], b.stretch[view, k, 1] = c, min(d, a)
            k += 1
        if d > a and not placed:
            b.stretch[view, k, 0], b.stretch[view, k, 1] = a, e
            k += 1
            placed = True
        if d > e:
            b.stretch[view, k, 0], b.stretch[view, k, 1] = max(c, e), d
            k += 1
    b.count[view] = k
    b.count[LAID] += 1


@swift
def level(values: Array, first: int, end: int) -> float:
    """Mean over a run of columns."""
    total = 0
    for i in range(first, end):
        total += values[i]
    return float(total / (end - first))


@swift
def give_up(b: Bench, view: int, number: int) -> None:
    """Join a stretch to its lower neighbour, its wood up to there counted as lost."""
    n, settled, st = b.count[view], b.col[SETTLED + view], b.stretch[view]
    before = level(settled, st[number - 1, 0], st[number - 1, 1]) if number > 0 else np.inf
    after = level(settled, st[number + 1, 0], st[number + 1, 1]) if number + 1 < n else np.inf
    other = number + 1 if after < before else number - 1
    up = int(min(before, after))
    for i in range(st[number, 0], st[number, 1]):
        settled[i] = max(settled[i], up)
    low, high = min(number, other), max(number, other)
    st[low, 1] = st[high, 1]
    for k in range(high, n - 1):
        st[k, 0], st[k, 1] = st[k + 1, 0], st[k + 1, 1]
    b.count[view] = n - 1


@swift
def lowest(b: Bench, rack: Rack, view: int) -> int:
    """The stretch that has risen least."""
    best, least = 0, np.inf
    for k in range(b.count[view]):
        first, end = b.stretch[view, k, 0], b.stretch[view, k, 1]
        risen = level(b.col[SURFACE + view], first, end) - level(rack.floor[view], first, end)
        if risen < least:
            best, least = k, risen
    return best
