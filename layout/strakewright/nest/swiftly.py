"""The compiled filling at the service of the search: tables made once, boards filled on request."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.random import Generator

from strakewright.arrays import Floats, Ints
from strakewright.nest.lanes import gauge
from strakewright.nest.outlook import Outlook
from strakewright.nest.racks import Slab
from strakewright.nest.swift import (
    AREA,
    LAID,
    LEFT_OVER,
    MOST,
    NOTCH,
    SETTLED,
    SURFACE,
    Array,
    Bench,
    Rack,
    Timber,
    chance,
    goes_on,
    trace,
)
from strakewright.nest.swiftfill import HARD, LIKING, MEMBERS, NOISE, WORTH, Taste, drawn, keep_filling
from strakewright.nest.ways import Laid, Ways

SKEWS = (0.0, -1.0, 1.0, -2.0, 2.0, -3.0, 3.0)
"""Degrees tried on top of a way's own turn."""
HUNG = 0.3
"""How often the part that must go on a board is hung from the upper edge."""
SEATS = 4
"""Seats of a way at a pair of walls: two walls, tucked or not."""


@dataclass(frozen=True, eq=False)
class Swift:
    """timber, racks : the job as flat tables;  hard, area : (parts,);  least : mm, height of the lowest way
    columns : of the longest board;  benches, room : boards being filled, and room all of them share; written over."""

    timber: Timber
    racks: tuple[Rack | None, ...]
    hard: Floats
    area: Floats
    least: float
    columns: int
    benches: dict[int, Bench]
    room: list[Array]


def swift_tables(timber: Timber, racks: Sequence[Rack | None], least: float, hard: Floats) -> Swift:
    """Everything the compiled filling needs to know of a job."""
    longest = max((r.floor.shape[1] for r in racks if r is not None), default=1)
    return Swift(timber, tuple(racks), hard, timber.num[timber.of[:-1], AREA], least, longest, {}, _no_room())


def _no_room() -> list[Array]:
    return [np.empty((0, 4), dtype=np.int64), np.empty((0, 3))]


def fits(timber: Timber, part: int, rack: Rack) -> bool:
    """Whether a part, in any of its ways, fits an empty board anywhere."""
    return bool(goes_on(timber, rack, part))


def timber_of(ways: Ways) -> Timber:
    """All ways, and all skews of them, as columns."""
    degs = np.array(SKEWS)
    rings = [np.ascontiguousarray(np.asarray(s.exterior.coords)[:, :2]) for s in ways.shapes]
    made = [profile(rings[w.part], w.turn_deg + d, w.flip, ways.step) for w in ways.ways for d in SKEWS]
    m = np.array([len(b) for b, _ in made], dtype=np.int64)
    sums = np.array([(b.sum(dtype=np.int64), t.sum(dtype=np.int64)) for b, t in made], dtype=np.int64).reshape(-1, 2)
    lies = np.column_stack([np.cumsum(m) - m, m, sums])
    base = lies[:: len(degs)]
    flips, turns = [w.flip for w in ways.ways], [w.turn_deg for w in ways.ways]
    sides = [ways.left, ways.right, ways.shoulder[0], ways.shoulder[1]]
    who = np.column_stack([ways.part, base[:, 1], base[:, 0], *sides, flips, base[:, 2], base[:, 3], ways.kind]).astype(
        np.int64
    )
    per = ways.step / ways.area
    num = np.column_stack([per, ways.thick, ways.corner[0], ways.corner[1], turns, ways.area])
    of = np.concatenate([[0], np.cumsum([len(o) for o in ways.of])]).astype(np.int64)
    size = gauge(ways)
    kinds = np.array([size.length, size.over, size.height, size.slant], dtype=np.float64)
    none = np.zeros(0, dtype=np.int32)
    bottoms, tops = np.concatenate([none, *(b for b, _ in made)]), np.concatenate([none, *(t for _, t in made)])
    return Timber(ways.step, who, num, of, lies, bottoms, tops, degs, ways.window, kinds)


def profile(ring: Floats, turn_deg: float, flip: bool, step: float) -> tuple[Ints, Ints]:
    """Bottom and top in notches of a ring flipped if asked, then turned; least bottom 0."""
    c, s, f = np.cos(np.radians(turn_deg)), np.sin(np.radians(turn_deg)), -1.0 if flip else 1.0
    laid = ring @ np.array([[c, s], [-s * f, c * f]])
    m = max(1, int(np.ceil(float(np.ptp(laid[:, 0])) / step - 1e-9)))
    bottom, top = np.full(m, np.inf), np.full(m, -np.inf)
    trace(laid, step, bottom, top)
    low = bottom.min()
    down = np.floor((bottom - low) * NOTCH + 1e-6).astype(np.int32)
    return down, np.ceil((top - low) * NOTCH - 1e-6).astype(np.int32)


def rack_of(slab: Slab) -> Rack:
    """A board in notches, rounded to the safe side."""
    floor = np.ceil(np.array(slab.floor) * NOTCH - 1e-6).astype(np.int32)
    boxes = [
        (v, int(a), int(b), int(np.floor(low * NOTCH + 1e-6)), int(np.ceil(high * NOTCH - 1e-6)), int(q))
        for v in (0, 1)
        for a, b, low, high, q in slab.boxes[v]
    ]
    spots = [(v, a, b) for v in (0, 1) for a, b in slab.spots[v]]
    return Rack(
        floor,
        np.array(boxes, dtype=np.int64).reshape(-1, 6),
        np.array(spots, dtype=np.int64).reshape(-1, 3),
        int(np.floor(slab.span * NOTCH + 1e-6)),
    )


def bench_for(swift: Swift, board: int) -> Bench:
    """A bench for a board with all the room the work needs; made once a board and used again for every filling."""
    if board in swift.benches:
        return swift.benches[board]
    rack = swift.racks[board]
    assert rack is not None
    n, many, walls = rack.floor.shape[1], len(swift.area), 1 + len(rack.spots)
    seats = int(swift.timber.of[-1]) * SEATS * walls
    if len(swift.room[0]) < seats:
        swift.room[:] = [np.empty((seats, 4), dtype=np.int64), np.empty((seats, 3))]
    swift.benches[board] = made = Bench(
        np.empty((5, n), dtype=np.int32),
        np.zeros((2, n + 1), dtype=np.int64),
        np.zeros((3, MOST, 2), dtype=np.int64),
        np.zeros(6, dtype=np.int64),
        np.empty((many + 1, 5)),
        np.empty((3, many), dtype=np.int64),
        np.empty((walls, 2), dtype=np.int64),
        np.zeros(1, dtype=np.uint64),
        swift.room[0],
        swift.room[1],
        np.empty(n + 1),
        np.empty((min(many, MEMBERS), n + 1), dtype=np.bool_),
    )
    return made


def bench_of(swift: Swift, board: int, load: Sequence[Laid], parts: Ints, rng: Generator) -> Bench:
    """A board with its load, not laid yet, and the parts to choose from."""
    b, rack = bench_for(swift, board), swift.racks[board]
    assert rack is not None
    b.col[SURFACE : SURFACE + 2] = b.col[SETTLED : SETTLED + 2] = rack.floor
    b.stretch[:2, 0] = 0, rack.floor.shape[1]
    b.count[:] = 1, 1, 0, len(parts), 0, 0
    if load:
        b.rows[: len(load)] = [(p.way, p.at, p.y, p.skew, p.side) for p in load]
    b.parts[0, : len(parts)] = parts
    b.state[0] = rng.integers(1, 2**63)
    return b


def swiftly_filled(
    swift: Swift, board: int, load: Sequence[Laid], who: tuple[Ints, int, Outlook], price: Floats, rng: Generator
) -> tuple[Laid, ...]:
    """A board filled on top of its load, once.  who : parts, the one to lay first or -1, outlook;  nothing when the
    first one does not go on the board."""
    rack = swift.racks[board]
    assert rack is not None
    parts, first, outlook = who
    if not len(parts):
        return tuple(load)
    if first >= 0:
        parts = np.concatenate([[first], parts[parts != first]])
    b = bench_of(swift, board, load, parts, rng)
    of = np.empty((4, len(price)))
    of[WORTH], of[HARD] = price, swift.hard
    left, right, often, hang = drawn(of, swift.area, b.state)
    if first >= 0:
        alone = of.copy()
        alone[LIKING, first], alone[NOISE, first], b.count[LEFT_OVER] = 0.0, 1.0, 1
        hung = 1.0 if chance(b.state) < HUNG else 0.0
        keep_filling(swift.timber, b, rack, outlook, Taste(alone, (left, right), 0.0, hung, 0.0), len(load))
        if b.count[LAID] == len(load):
            return ()
        b.parts[0, : len(parts) - 1], b.count[LEFT_OVER] = parts[1:], len(parts) - 1
    taste = Taste(of, (left, right), often, 0.0 if load else hang, swift.least)
    keep_filling(swift.timber, b, rack, outlook, taste, len(load))
    rows = b.rows[: b.count[LAID]].tolist()
    return tuple(Laid(int(w), int(at), y, deg, int(side)) for w, at, y, deg, side in rows)
