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
from strakewright.nest.swift import NOTCH, Rack, Timber, goes_on, profile
from strakewright.nest.swiftfill import fill
from strakewright.nest.ways import Laid, Ways

SKEWS = (0.0, -1.0, 1.0, -2.0, 2.0, -3.0, 3.0)
"""Degrees tried on top of a way's own turn."""
NONE = np.zeros((0, 5))


@dataclass(frozen=True, eq=False)
class Swift:
    """timber, racks : the job as flat tables;  hard : (parts,);  least : mm, height of the lowest way;  columns : of
    the longest board."""

    timber: Timber
    racks: tuple[Rack | None, ...]
    hard: Floats
    least: float
    columns: int


def swift_tables(timber: Timber, racks: Sequence[Rack | None], least: float, hard: Floats) -> Swift:
    """Everything the compiled filling needs to know of a job."""
    longest = max((r.floor.shape[1] for r in racks if r is not None), default=1)
    return Swift(timber, tuple(racks), hard, least, longest)


def fits(timber: Timber, part: int, rack: Rack) -> bool:
    """Whether a part, in any of its ways, fits an empty board anywhere."""
    return bool(goes_on(timber, rack, part))


def timber_of(ways: Ways) -> Timber:
    """All ways, and all skews of them, as columns."""
    degs = np.array(SKEWS)
    rings = [np.ascontiguousarray(np.asarray(s.exterior.coords)[:, :2]) for s in ways.shapes]
    made = [profile(rings[w.part], w.turn_deg + d, w.flip, ways.step) for w in ways.ways for d in degs]
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


def swiftly_filled(
    swift: Swift, board: int, load: Sequence[Laid], who: tuple[Ints, int, Outlook], price: Floats, rng: Generator
) -> tuple[Laid, ...]:
    """A board filled on top of its load, once.  who : parts, the one to lay first or -1, outlook;  nothing when the
    first one does not go on the board."""
    rack = swift.racks[board]
    assert rack is not None
    there = np.array([(p.way, p.at, p.y, p.skew, p.side) for p in load], dtype=np.float64) if load else NONE
    state = np.array([rng.integers(1, 2**63)], dtype=np.uint64)
    parts, first, outlook = who
    taste = (price, swift.hard, swift.least, not load)
    if not len(parts):
        return tuple(load)
    rows = fill(swift.timber, rack, outlook, (there, parts, first), taste, state)
    return tuple(Laid(int(w), int(at), y, deg, int(side)) for w, at, y, deg, side in rows.tolist())
