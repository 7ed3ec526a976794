"""Choosing what to lay next on a board, until nothing more fits; compiled.

taste      what is liked in a piece: little waste, or the awkward and dear pieces first
waste      wood made useless by laying a piece: under it, above it where nothing more goes in, and beside it
seat       where a piece can begin in a stretch: against either wall, tucked under a slanted end, against a defect
team       the pieces of one lane, chosen together so that they fill its length and tuck into each other
swallow    wood a piece takes up: all between the ground under it and its top

Always the lowest stretch of a view is filled; every part is tried in every seat; the one taken is then moved a little
along the grain and askew.  Method: derived; a team is a 0/1 knapsack by dynamic programming (textbook) over columns.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from strakewright.nest.outlook import Outlook
from strakewright.nest.swift import (
    AREA,
    CLASS,
    COLUMNS,
    CORNER,
    FLIP,
    HIGH,
    LEFT,
    LOW,
    NOTCH,
    PART,
    PER,
    ROOF,
    SHOULDER,
    SLACK,
    START,
    SURFACE,
    THICK,
    TURN,
    Array,
    Bench,
    Rack,
    Timber,
    bench_of,
    chance,
    clear_of,
    give_up,
    headroom,
    lowest,
    put,
    refresh,
    resting,
    swift,
)

HOLLOW = 0.03
"""Share of a piece's area wasted under it from which skews are tried."""
NUDGE = 4
"""Columns a piece is moved to either side to find where it lies best."""
LEADERS = 3
"""Pieces drawn to set the height of a lane."""
MEMBERS = 36
"""Pieces weighed for a lane at most."""
MISFIT = 0.72
"""A piece lower than this share of its lane is not asked to join."""
WASTED = 64
"""Notches of rounding forgiven in a column when room is weighed by sums."""


class Taste(NamedTuple):
    """liking, noise, worth : (parts,);  wall : (2,) added for a left or a right wall;  often : of teams;  hang : of
    hanging a piece from the upper edge;  least : height of the lowest way, mm."""

    liking: Array
    noise: Array
    worth: Array
    wall: Array
    often: float
    hang: float
    least: float


@swift
def walls_of(rack: Rack, view: int, a: int, c: int) -> Array:
    """Left and right walls to try in a stretch: its own ends, and the ends of defects inside it."""
    walls = np.empty((1 + len(rack.spots), 2), dtype=np.int64)
    walls[0, 0], walls[0, 1] = a, c
    k = 1
    for s in rack.spots:
        if s[0] == view and a < s[2] and s[1] < c:
            walls[k, 0], walls[k, 1] = max(s[2], a), min(s[1], c)
            k += 1
    return walls[:k]


@swift
def seats(
    t: Timber, b: Bench, rack: Rack, o: Outlook, who: tuple[Array, Taste], where: tuple[int, int, int]
) -> tuple[Array, Array]:
    """Where every way could begin in a stretch, against either wall or tucked under what leans over it.

    who : parts, taste;  where : view, first column, end
    returns (k, 4) way, column, wall, 1 when tucked; (k, 3) waste fixed by the seat (mm x columns), factor on waste,
    liking
    """
    parts, taste = who
    view, a, c = where
    n = b.col.shape[1]
    walls = walls_of(rack, view, a, c)
    most = 0
    for p in parts:
        most += (t.of[p + 1] - t.of[p]) * 4 * len(walls)
    seat, worth, k = np.empty((most, 4), dtype=np.int32), np.empty((most, 3)), 0
    for p in parts:
        for w in range(t.of[p], t.of[p + 1]):
            m = t.who[w, COLUMNS]
            for way in range(4):
                wall, tucked = way // 2, way % 2
                lean = t.who[w, LEFT + wall] * tucked
                if m > n or (tucked and lean <= 0):
                    continue
                for e in range(len(walls)):
                    at = walls[e, wall] + (lean - m if wall else -lean)
                    if at < 0 or at > n - m:
                        continue
                    room = b.sums[1, at + m] - b.sums[1, at] - (b.sums[0, at + m] - b.sums[0, at])
                    if e == 0 and not tucked and room < t.who[w, HIGH] - t.who[w, LOW] - WASTED * m:
                        continue
                    beside = (c - at - m if wall == 0 else at - a) + t.who[w, SHOULDER + 1 - wall] - o.over
                    aside = o.along[min(max(beside, 0), len(o.along) - 1)] * t.num[w, THICK]
                    seat[k, 0], seat[k, 1], seat[k, 2], seat[k, 3] = w, at, wall, tucked
                    worth[k, 0] = aside + (0.0 if tucked else t.num[w, CORNER + wall])
                    worth[k, 1] = t.num[w, PER] * taste.noise[p]
                    worth[k, 2] = taste.liking[p] - taste.wall[wall]
                    k += 1
    return seat[:k], worth[:k]


@swift
def best_piece(
    t: Timber, b: Bench, rack: Rack, o: Outlook, who: tuple[Array, Taste], where: tuple[int, int, int]
) -> tuple[int, int, int, int, int]:
    """The piece that suits a stretch best: way (-1: none), column, height, wall, tucked."""
    seat, worth = seats(t, b, rack, o, who, where)
    view = where[0]
    surface, roof = b.col[SURFACE + view], b.col[ROOF]
    across, ground, above = o.across, b.sums[0], b.sums[1]
    best, got, height = np.inf, -1, 0
    for k in range(len(seat)):
        if worth[k, 0] * worth[k, 1] - worth[k, 2] >= best:
            continue
        w, at = seat[k, 0], seat[k, 1]
        start, m = t.who[w, START], t.who[w, COLUMNS]
        y = resting(surface, at, t.bottoms, start, m)
        room = above[at + m] - above[at] - t.who[w, HIGH] - m * y
        if room < 0:
            continue
        if len(rack.boxes):
            y = clear_of(rack.boxes, view, t, (start, m, t.who[w, CLASS]), (at, y))
            room = above[at + m] - above[at] - t.who[w, HIGH] - m * y
            if room < 0:
                continue
        lost = across[min(int(room / (NOTCH * m)), len(across) - 1)] * m
        waste = (m * y + t.who[w, LOW] - ground[at + m] + ground[at]) / NOTCH + lost + worth[k, 0]
        score = waste * worth[k, 1] - worth[k, 2]
        if score < best and headroom(roof, at, t.tops, start, m) >= y:
            best, got, height = score, k, y
    if got < 0:
        return -1, 0, 0, 0, 0
    return int(seat[got, 0]), int(seat[got, 1]), height, int(seat[got, 2]), int(seat[got, 3])


@swift
def settled_in(t: Timber, b: Bench, rack: Rack, got: tuple[int, int, int, int, int], view: int) -> Array:
    """The piece as a row, skewed a little and moved a few columns where that swallows less wood."""
    w, at, y, wall, tucked = got
    m, ground, skews = t.who[w, COLUMNS], b.sums[0], len(t.degs)
    swallowed = m * y - (ground[at + m] - ground[at])
    skew, w_at, w_y = 0, at, y
    if (swallowed + t.who[w, LOW]) / NOTCH * t.step > HOLLOW * t.num[w, AREA]:
        loss = swallowed + t.who[w, HIGH]
        lean = (t.num[w, TURN] + 90.0) % 180.0 - 90.0
        low, high = t.window[t.who[w, PART], 0] - 1e-9, t.window[t.who[w, PART], 1] + 1e-9
        if t.who[w, FLIP]:
            low, high = -high, -low
        for k in range(1, skews):
            if lean + t.degs[k] < low or lean + t.degs[k] > high:
                continue
            start, e = t.lies[w * skews + k, 0], t.lies[w * skews + k, 1]
            here = at + (m - e if wall else 0)
            if here < 0 or here + e > b.col.shape[1]:
                continue
            z = resting(b.col[SURFACE + view], here, t.bottoms, start, e)
            lost = z * e + t.lies[w * skews + k, 3] - (ground[here + e] - ground[here])
            if lost < loss and lies_free(t, b, rack, (start, e, t.who[w, CLASS]), (here, z), view):
                loss, skew, w_at, w_y = lost, k, here, z
    row = np.array([float(w), float(w_at), w_y / NOTCH, t.degs[skew], float(view)])
    if tucked or skew:
        nudge(t, b, rack, row, (skew, wall))
    return row


@swift
def lies_free(t: Timber, b: Bench, rack: Rack, lie: tuple[int, int, int], where: tuple[int, int], view: int) -> bool:
    """Whether a lie (start, columns, class) stays under the roof and touches no box.  where : first column, height"""
    if headroom(b.col[ROOF], where[0], t.tops, lie[0], lie[1]) < where[1]:
        return False
    return clear_of(rack.boxes, view, t, lie, where) == where[1]


@swift
def nudge(t: Timber, b: Bench, rack: Rack, row: Array, how: tuple[int, int]) -> None:
    """A few columns to either side: lower is better, and so is closer to the wall.  `row` changes;  how : skew, wall"""
    skew, wall = how
    w, at, view = int(row[0]), int(row[1]), int(row[4])
    lie = w * len(t.degs) + skew
    start, m = t.lies[lie, 0], t.lies[lie, 1]
    best = np.inf
    for here in range(max(at - NUDGE, 0), min(at + NUDGE, b.col.shape[1] - m) + 1):
        y = resting(b.col[SURFACE + view], here, t.bottoms, start, m)
        loss = y / NOTCH * m + (at - here if wall else here - at) * t.num[w, THICK]
        if loss < best and lies_free(t, b, rack, (start, m, t.who[w, CLASS]), (here, y), view):
            best = loss
            row[1], row[2] = here, y / NOTCH


@swift
def team(t: Timber, taste: Taste, o: Outlook, left: Array, lane: tuple[int, float], state: Array) -> Array:
    """Parts chosen together to fill a lane (see the head); empty when there are not two.  lane : columns, height."""
    length, room = lane
    none = np.zeros(0, dtype=np.int64)
    height, best = -1.0, np.inf
    for _ in range(min(LEADERS, len(left))):
        h = t.gauge[2, left[int(chance(state) * len(left))]]
        if h <= room + SLACK:
            spare = o.across[min(int(room - h + SLACK), len(o.across) - 1)] - 0.02 * h * chance(state)
            if spare < best:
                best, height = spare, h
    if height < 0.0:
        return none
    tall = t.gauge[2][left]
    pick = left[(tall <= min(height + 0.5, room)) & (tall >= MISFIT * height)]
    if len(pick) and chance(state) < 0.75:
        slant = t.gauge[3, pick[int(chance(state) * len(pick))]]
        pick = pick[(t.gauge[3][pick] == slant) | (t.gauge[3][pick] == 0)]
    for i in range(min(len(pick) - 1, MEMBERS)):
        j = i + int(chance(state) * (len(pick) - i))
        pick[i], pick[j] = pick[j], pick[i]
    pick = pick[:MEMBERS]
    if len(pick) < 2:
        return none
    size = t.gauge[0][pick].astype(np.int64)
    chosen = knapsack(size, taste.worth[pick], max(length - int(t.gauge[1][pick].max()), 1))
    return pick[chosen] if chosen.sum() > 1 else none


@swift
def knapsack(size: Array, value: Array, room: int) -> Array:
    """Which items together are worth most within `room`: (k,) bool."""
    n = len(size)
    table = np.zeros(room + 1)
    took = np.zeros((n, room + 1), dtype=np.bool_)
    for i in range(n):
        for r in range(room, size[i] - 1, -1):
            v = table[r - size[i]] + value[i]
            if v > table[r]:
                table[r] = v
                took[i, r] = True
    chosen = np.zeros(n, dtype=np.bool_)
    for i in range(n - 1, -1, -1):
        if took[i, room]:
            chosen[i] = True
            room -= size[i]
    return chosen


@swift
def without(parts: Array, part: int) -> Array:
    """The parts but one."""
    return parts[parts != part]


@swift
def next_piece(
    t: Timber, b: Bench, rack: Rack, o: Outlook, who: tuple[Array, Array, Taste], place: tuple[int, int, Array]
) -> tuple[tuple[int, int, int, int, int], Array]:
    """The piece to lay next, of the team first, and what is left of the team.

    who : parts left, the team, taste;  place : view, number of the stretch, source of chance
    """
    left, mates, taste = who
    view, number, state = place
    a, c = b.stretch[view, number, 0], b.stretch[view, number, 1]
    room = (b.col[ROOF, a:c] - b.col[SURFACE + view, a:c]).max() / NOTCH
    got = (-1, 0, 0, 0, 0)
    if room < taste.least:
        return got, mates
    if not len(mates) and chance(state) < taste.often:
        mates = team(t, taste, o, left, (c - a, room), state)
    if len(mates):
        got = best_piece(t, b, rack, o, (mates, taste), (view, a, c))
    if got[0] < 0:
        mates = left[:0]
        got = best_piece(t, b, rack, o, (left, taste), (view, a, c))
    return got, mates


@swift
def keep_filling(t: Timber, b: Bench, rack: Rack, o: Outlook, who: tuple[Array, Taste], state: Array) -> None:
    """Lay pieces until none fits."""
    left, taste = who
    mates = left[:0]
    view = int(b.rows[b.laid[0] - 1, 4]) if b.laid[0] else 0
    redraw = b.laid[0] == 0
    closed = taste.hang == 0.0 and view == 0
    shut = np.array([False, closed])
    while len(left) and not (shut[0] and shut[1]):
        if shut[view] or redraw:
            view = 1 if shut[0] or (not shut[1] and chance(state) < taste.hang) else 0
        refresh(b, rack.span, view)
        number = lowest(b, rack, view)
        got, mates = next_piece(t, b, rack, o, (left, mates, taste), (view, number, state))
        if got[0] >= 0:
            redraw = False
            put(t, b, settled_in(t, b, rack, got, view))
            left, mates = without(left, t.who[got[0], PART]), without(mates, t.who[got[0], PART])
            shut[0], shut[1] = False, closed
        elif b.count[view] > 1:
            give_up(b, view, number)
            redraw = True
        else:
            shut[view] = True


@swift
def drawn(t: Timber, price: Array, hard: Array, least: float, state: Array) -> Taste:
    """A liking drawn at random: from waste only to the dear or the hard parts first."""
    n = len(price)
    rate = np.empty(n)
    for p in range(n):
        rate[p] = price[p] / t.num[t.of[p], AREA]
    dear = (0.0, 0.1, 0.3)[int(chance(state) * 3)]
    awkward = (0.0, 0.05, 0.2, 0.6)[int(chance(state) * 4)]
    spread = (0.1, 0.3, 0.8)[int(chance(state) * 3)]
    noise = np.empty(n)
    for p in range(n):
        noise[p] = 1.0 + spread * chance(state)
    wall = np.zeros(2)
    side = int(chance(state) * 3)
    if side < 2:
        wall[side] = 0.3
    often = (0.0, 0.5, 0.9)[int(chance(state) * 3)]
    hang = (0.0, 0.2, 0.5)[int(chance(state) * 3)]
    return Taste(dear * (rate / rate.mean() - 1.0) + awkward * hard, noise, price, wall, often, hang, least)


@swift
def fill(
    t: Timber,
    rack: Rack,
    o: Outlook,
    who: tuple[Array, Array, int],
    taste: tuple[Array, Array, float, bool],
    state: Array,
) -> Array:
    """Fill a board: rows (k, 5) laid.

    who : rows already there, parts to choose from, part to lay first (-1: any)
    taste : price, hardness of the parts, height of the lowest way, whether pieces may hang
    No rows when the first part does not go on the board.
    """
    there, parts, first = who
    b = bench_of(rack, len(there) + len(parts) + 1)
    for row in there:
        put(t, b, row)
    liking = drawn(t, taste[0], taste[1], taste[2], state)
    if first >= 0:
        quiet = np.zeros(len(liking.noise))
        hang = 1.0 if chance(state) < 0.3 else 0.0
        plain = Taste(quiet, quiet + 1.0, liking.worth, liking.wall, 0.0, hang, 0.0)
        keep_filling(t, b, rack, o, (np.array([first]), plain), state)
        if b.laid[0] == len(there):
            return b.rows[:0]
        parts = without(parts, first)
    if not taste[3]:
        liking = Taste(liking.liking, liking.noise, liking.worth, liking.wall, liking.often, 0.0, liking.least)
    keep_filling(t, b, rack, o, (parts, liking), state)
    return b.rows[: b.laid[0]]
