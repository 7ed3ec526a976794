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
    LAID,
    LEFT,
    LEFT_OVER,
    LOW,
    NOTCH,
    PART,
    PER,
    ROOF,
    SHOULDER,
    SLACK,
    START,
    SURFACE,
    TEAM,
    THICK,
    TURN,
    WALLS,
    Array,
    Bench,
    Rack,
    Timber,
    called,
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
LIKING, NOISE, WORTH, HARD = 0, 1, 2, 3
"""Places in `Taste.of`."""
WASTED = 64
"""Notches of rounding forgiven in a column when room is weighed by sums."""


class Taste(NamedTuple):
    """of : (4, parts) liking, noise, worth, hardness;  wall : added for a left, a right wall;  often : of teams
    hang : of hanging a piece from the upper edge;  least : height of the lowest way, mm."""

    of: Array
    wall: tuple[float, float]
    often: float
    hang: float
    least: float


@swift
def find_walls(b: Bench, rack: Rack, view: int, a: int, c: int) -> None:
    """Left and right walls to try in a stretch: its own ends, and the ends of defects inside it."""
    b.walls[0, 0], b.walls[0, 1] = a, c
    k = 1
    for i in range(rack.spots.shape[0]):
        first, end = rack.spots[i, 1], rack.spots[i, 2]
        if rack.spots[i, 0] == view and a < end and first < c:
            b.walls[k, 0], b.walls[k, 1] = max(end, a), min(first, c)
            k += 1
    b.count[WALLS] = k


@swift
def seats(t: Timber, b: Bench, o: Outlook, who: tuple[int, int, Taste], where: tuple[int, int]) -> int:
    """Where every way could begin in a stretch, against either wall or tucked under what leans over it; how many.

    who : row of `b.parts` and how many parts, taste;  where : first column, end
    b.seat (k, 4) way, column, wall, 1 when tucked; b.worth (k, 3) waste fixed by the seat (mm x columns), factor on
    waste, liking
    """
    row, many, taste = who
    a, c = where
    n, k = b.col.shape[1], 0
    for i in range(many):
        p = b.parts[row, i]
        for w in range(t.of[p], t.of[p + 1]):
            m = t.who[w, COLUMNS]
            for way in range(4):
                wall, tucked = way // 2, way % 2
                lean = t.who[w, LEFT + wall] * tucked
                if m > n or (tucked and lean <= 0):
                    continue
                for e in range(b.count[WALLS]):
                    at = b.walls[e, wall] + (lean - m if wall else -lean)
                    if at < 0 or at > n - m:
                        continue
                    room = b.sums[1, at + m] - b.sums[1, at] - (b.sums[0, at + m] - b.sums[0, at])
                    if e == 0 and not tucked and room < t.who[w, HIGH] - t.who[w, LOW] - WASTED * m:
                        continue
                    beside = (c - at - m if wall == 0 else at - a) + t.who[w, SHOULDER + 1 - wall] - o.over
                    aside = o.along[min(max(beside, 0), len(o.along) - 1)] * t.num[w, THICK]
                    b.seat[k, 0], b.seat[k, 1], b.seat[k, 2], b.seat[k, 3] = w, at, wall, tucked
                    b.worth[k, 0] = aside + (0.0 if tucked else t.num[w, CORNER + wall])
                    b.worth[k, 1] = t.num[w, PER] * taste.of[NOISE, p]
                    b.worth[k, 2] = taste.of[LIKING, p] - taste.wall[wall]
                    k += 1
    return k


@swift
def best_piece(
    t: Timber, b: Bench, rack: Rack, o: Outlook, who: tuple[int, int, Taste], where: tuple[int, int, int]
) -> tuple[int, int]:
    """The piece that suits a stretch best: its place in `b.seat` (-1: none) and its height.

    who : row of `b.parts` and how many parts, taste;  where : view, first column, end
    """
    view = where[0]
    find_walls(b, rack, view, where[1], where[2])
    many = seats(t, b, o, who, (where[1], where[2]))
    surface, roof = b.col[SURFACE + view], b.col[ROOF]
    across, ground, above = o.across, b.sums[0], b.sums[1]
    best, got, height = np.inf, -1, 0
    for k in range(many):
        if b.worth[k, 0] * b.worth[k, 1] - b.worth[k, 2] >= best:
            continue
        w, at = int(b.seat[k, 0]), int(b.seat[k, 1])
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
        waste = (m * y + t.who[w, LOW] - ground[at + m] + ground[at]) / NOTCH + lost + b.worth[k, 0]
        score = waste * b.worth[k, 1] - b.worth[k, 2]
        if score < best and headroom(roof, at, t.tops, start, m) >= y:
            best, got, height = score, k, y
    return got, height


@swift
def settle(t: Timber, b: Bench, rack: Rack, got: tuple[int, int], view: int) -> None:
    """The piece as the next row, skewed a little and moved a few columns where that swallows less wood."""
    w, at, y = int(b.seat[got[0], 0]), int(b.seat[got[0], 1]), got[1]
    wall, tucked = int(b.seat[got[0], 2]), b.seat[got[0], 3] > 0
    m, ground, skews = t.who[w, COLUMNS], b.sums[0], len(t.degs)
    swallowed = m * y - (ground[at + m] - ground[at])
    skew, w_at, w_y = len(t.degs) - skews, at, y
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
    row = b.count[LAID]
    b.rows[row, 0], b.rows[row, 1], b.rows[row, 2] = w, w_at, w_y / NOTCH
    b.rows[row, 3], b.rows[row, 4] = t.degs[skew], view
    if tucked or skew:
        nudge(t, b, rack, (row, skew, wall))


@swift
def lies_free(t: Timber, b: Bench, rack: Rack, lie: tuple[int, int, int], where: tuple[int, int], view: int) -> bool:
    """Whether a lie (start, columns, class) stays under the roof and touches no box.  where : first column, height"""
    if headroom(b.col[ROOF], where[0], t.tops, lie[0], lie[1]) < where[1]:
        return False
    return clear_of(rack.boxes, view, t, lie, where) == where[1]


@swift
def nudge(t: Timber, b: Bench, rack: Rack, how: tuple[int, int, int]) -> None:
    """A few columns to either side: lower is better, and so is closer to the wall.  how : row, which changes; number
    of its skew; its wall"""
    row, skew, wall = how
    w, at, view = int(b.rows[row, 0]), int(b.rows[row, 1]), int(b.rows[row, 4])
    lie = w * len(t.degs) + skew
    start, m = t.lies[lie, 0], t.lies[lie, 1]
    best = np.inf
    for here in range(max(at - NUDGE, 0), min(at + NUDGE, b.col.shape[1] - m) + 1):
        y = resting(b.col[SURFACE + view], here, t.bottoms, start, m)
        loss = y / NOTCH * m + (at - here if wall else here - at) * t.num[w, THICK]
        if loss < best and lies_free(t, b, rack, (start, m, t.who[w, CLASS]), (here, y), view):
            best = loss
            b.rows[row, 1], b.rows[row, 2] = here, y / NOTCH


@swift
def lane_height(t: Timber, b: Bench, o: Outlook, room: float) -> float:
    """Height of a lane: of a few parts drawn, the one that leaves a height others can use; -1 where none goes in."""
    height, best = -1.0, np.inf
    many = b.count[LEFT_OVER]
    for _ in range(min(LEADERS, many)):
        h = t.gauge[2, b.parts[0, int(chance(b.state) * many)]]
        if h <= room + SLACK:
            spare = o.across[min(int(room - h + SLACK), len(o.across) - 1)] - 0.02 * h * chance(b.state)
            if spare < best:
                best, height = spare, h
    return height


@swift
def gather(t: Timber, taste: Taste, b: Bench, o: Outlook, lane: tuple[int, float]) -> None:
    """Parts chosen together to fill a lane (see the head), as the team; none when there are not two.

    lane : columns, height
    """
    height = lane_height(t, b, o, lane[1])
    pick, k = b.parts[2], 0
    for i in range(b.count[LEFT_OVER]):
        p = b.parts[0, i]
        if t.gauge[2, p] <= min(height + 0.5, lane[1]) and t.gauge[2, p] >= MISFIT * height and height >= 0.0:
            pick[k] = p
            k += 1
    if k and chance(b.state) < 0.75:
        slant, of, k = t.gauge[3, pick[int(chance(b.state) * k)]], k, 0
        for i in range(of):
            if t.gauge[3, pick[i]] == slant or t.gauge[3, pick[i]] == 0:
                pick[k] = pick[i]
                k += 1
    for i in range(min(k - 1, MEMBERS)):
        j = i + int(chance(b.state) * (k - i))
        pick[i], pick[j] = pick[j], pick[i]
    knapsack(t, taste, b, min(k, MEMBERS), lane[0])


@swift
def knapsack(t: Timber, taste: Taste, b: Bench, k: int, length: int) -> None:
    """The parts worth most together within a length, of the first k picked, become the team; one alone is none."""
    pick, table, over = b.parts[2], b.chest, 0
    for i in range(k):
        over = max(over, int(t.gauge[1, pick[i]]))
    room, many = max(length - over, 1), 0
    for r in range(room + 1):
        table[r] = 0.0
    for i in range(k):
        size, value = int(t.gauge[0, pick[i]]), taste.of[WORTH, pick[i]]
        for r in range(min(size, room + 1)):
            b.took[i, r] = 0
        for r in range(room, size - 1, -1):
            v = table[r - size] + value
            b.took[i, r] = v > table[r]
            table[r] = max(table[r], v)
    for i in range(k - 1, -1, -1):
        if b.took[i, room]:
            b.parts[1, many] = pick[i]
            many += 1
            room -= int(t.gauge[0, pick[i]])
    for i in range(many // 2):
        b.parts[1, i], b.parts[1, many - 1 - i] = b.parts[1, many - 1 - i], b.parts[1, i]
    b.count[TEAM] = many if many > 1 and k > 1 else 0


@swift
def strike(b: Bench, row: int, part: int) -> None:
    """Take a part off a row of `b.parts`."""
    at, k = LEFT_OVER + row, 0
    for i in range(b.count[at]):
        if b.parts[row, i] != part:
            b.parts[row, k] = b.parts[row, i]
            k += 1
    b.count[at] = k


@swift
def next_piece(t: Timber, b: Bench, rack: Rack, o: Outlook, taste: Taste, place: tuple[int, int]) -> tuple[int, int]:
    """The piece to lay next, of the team first: see `best_piece`.  place : view, number of the stretch"""
    view, number = place
    a, c = b.stretch[view, number, 0], b.stretch[view, number, 1]
    room = b.col[ROOF, a] - b.col[SURFACE + view, a]
    for i in range(a + 1, c):
        room = max(room, b.col[ROOF, i] - b.col[SURFACE + view, i])
    got = (-1, 0)
    if room / NOTCH < taste.least:
        return got
    if not b.count[TEAM] and chance(b.state) < taste.often:
        gather(t, taste, b, o, (c - a, room / NOTCH))
    row = 1 if b.count[TEAM] else 0
    while row >= 0 and got[0] < 0:
        got = best_piece(t, b, rack, o, (row, b.count[LEFT_OVER + row], taste), (view, a, c))
        if got[0] < 0 and row:
            b.count[TEAM] = 0
        row -= 1
    return got


@called
def drawn(of: Array, area: Array, state: Array) -> tuple[float, float, float, float]:
    """A liking drawn at random: from waste only to the dear or the hard parts first.

    of : as in Taste, worth and hardness filled in;  area : (parts,) mm2;  returns wall (left, right), often, hang
    """
    n, mean = of.shape[1], 0.0
    for p in range(n):
        of[LIKING, p] = of[WORTH, p] / area[p]
        mean += of[LIKING, p]
    mean /= n
    dear = (0.0, 0.1, 0.3)[int(chance(state) * 3)]
    awkward = (0.0, 0.05, 0.2, 0.6)[int(chance(state) * 4)]
    spread = (0.1, 0.3, 0.8)[int(chance(state) * 3)]
    for p in range(n):
        of[NOISE, p] = 1.0 + spread * chance(state)
        of[LIKING, p] = dear * (of[LIKING, p] / mean - 1.0) + awkward * of[HARD, p]
    side = int(chance(state) * 3)
    often = (0.0, 0.5, 0.9)[int(chance(state) * 3)]
    hang = (0.0, 0.2, 0.5)[int(chance(state) * 3)]
    return (0.3 if side == 0 else 0.0), (0.3 if side == 1 else 0.0), often, hang


@called
def keep_filling(t: Timber, b: Bench, rack: Rack, o: Outlook, taste: Taste, there: int) -> None:
    """Lay the rows there already, then the parts left until none fits."""
    for k in range(b.count[LAID], there):
        put(t, b, k)
    b.count[TEAM] = 0
    view = int(b.rows[b.count[LAID] - 1, 4]) if b.count[LAID] else 0
    redraw = b.count[LAID] == 0
    closed = taste.hang == 0.0 and view == 0
    low, high = False, closed
    while b.count[LEFT_OVER] and not (low and high):
        if redraw or (high if view else low):
            view = 1 if low or (not high and chance(b.state) < taste.hang) else 0
        refresh(b, rack.span, view)
        number = lowest(b, rack, view)
        got = next_piece(t, b, rack, o, taste, (view, number))
        if got[0] >= 0:
            redraw = False
            part = t.who[b.seat[got[0], 0], PART]
            settle(t, b, rack, got, view)
            put(t, b, b.count[LAID])
            for row in range(2):
                strike(b, row, part)
            low, high = False, closed
        elif b.count[view] > 1:
            give_up(b, view, number)
            redraw = True
        elif view:
            high = True
        else:
            low = True
