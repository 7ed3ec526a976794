"""A nesting job made ready: ways of the parts, boards as slabs, who may go where, what a board costs.

shed       everything that does not change while searching
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import TypeAlias

import numpy as np

from strakewright.arrays import Bools, Floats, Ints
from strakewright.lumber import Board, Rules
from strakewright.nest.books import Books, books_of, pairs, with_followers
from strakewright.nest.fitting import bulk, may_lie, skews_needed, spent, worths
from strakewright.nest.leaves import Wood, woods
from strakewright.nest.racks import GAP, Grid, Slab, columns_of, leaved, slab_of
from strakewright.nest.swiftly import Swift, rack_of, swift_tables, timber_of
from strakewright.nest.turning import windows
from strakewright.nest.ways import Laid, Ways, all_ways, way_of
from strakewright.parts import Choice, Part
from strakewright.plan import Placement

Load: TypeAlias = tuple[Laid, ...]
"""The pieces lying on one board, in the order they were laid."""


OPENED = 1e-3
"""What opening a board costs beside the wood used of it, as a share of the whole: of plans alike fewer boards win."""


@dataclass(frozen=True, eq=False)
class Pick:
    """A choice as numbers.  options : the parts of each;  extra : m2 each must save."""

    id: str
    options: tuple[tuple[int, ...], ...]
    extra: tuple[float, ...]


@dataclass(frozen=True, eq=False)
class Order:
    """What is asked: parts, boards as they lie in the rack, rules, what may be chosen between."""

    parts: tuple[Part, ...]
    boards: tuple[Board, ...]
    rules: Rules
    choices: tuple[Choice, ...] = ()


@dataclass(frozen=True, eq=False)
class Shed:
    """may : (parts, boards) species and thickness agree;  area : (parts,) mm2 grown;  hard : (parts,) 0..1, how
    awkward a part is;  room : (boards,) mm2;  worth : (boards,) cost of opening a board for the objective, by volume;
    source, leaves : (boards,) number in the rack, leaves: a board may stand here several times, whole and resawn
    stage : (parts,) 0 = any;  mate : (parts,) number of the part that must share its board, -1 = none
    choices : which parts go together;  least_rate : least cost of 1 mm2 of part;  order : as it was asked
    swift : tables of the compiled filling;  plain : no stages, no pairs;  open_to_all : (boards,) any part may go
    books : pairs that are book-matched on resawn boards, None = there are none."""

    parts: tuple[Part, ...]
    boards: tuple[Board, ...]
    rules: Rules
    ways: Ways
    slabs: tuple[Slab | None, ...]
    stride: int
    may: Bools
    area: Floats
    hard: Floats
    room: Floats
    worth: Floats
    least_rate: float
    source: Ints
    leaves: Ints
    stage: Ints
    mate: Ints
    swift: Swift
    choices: tuple[Pick, ...] = ()
    order: Order | None = None
    finer: int = 1
    plain: bool = False
    open_to_all: Bools = field(default_factory=lambda: np.zeros(0, dtype=bool))
    books: Books | None = None


def step_for(parts: Sequence[Part], boards: Sequence[Board]) -> float:
    """Column length in mm: 4 for boat planks, finer for short parts, coarser for very long boards."""
    shortest = min((float(np.ptp(p.outline[:, 0])) for p in parts), default=400.0)
    longest = max((float(np.ptp(b.outline[:, 0])) for b in boards), default=4000.0)
    return max(min(4.0, shortest / 50), longest / 2000)


def make_ready(order: Order, finer: int = 1) -> Shed:
    """Everything the search needs.  finer : columns so many times shorter than usual."""
    parts, rules = order.parts, order.rules
    wood = woods(parts, order.boards, rules)
    boards = [w.board for w in wood]
    step = step_for(parts, boards) / finer
    stride = columns_of([(w.board, w.leaves) for w in wood], step)
    window = windows(parts, rules)
    ways = all_ways(parts, rules.spacing, step, window, {})
    may = may_lie(parts, boards) & (window[:, 0] <= window[:, 1])[:, None]
    grid = Grid(step, ways.narrow)
    bare = [slab_of(i, w.board, rules, grid) for i, w in enumerate(wood)]
    racked = tuple(leaved(s, w.leaves, step) for s, w in zip(bare, wood, strict=True))
    room = np.array([0.0 if s is None else usable_area(s, step) for s in racked])
    racks = tuple(None if s is None else rack_of(s) for s in racked)
    timber = timber_of(ways)
    skews = skews_needed(timber, parts, racks, may)
    if skews:
        ways = all_ways(parts, rules.spacing, step, window, skews)
        timber = timber_of(ways)
    mate = mates(parts)
    paired = pairs(parts, mate, wood)
    ways, over = with_followers(ways, paired)
    timber = timber_of(ways) if over else timber
    worth = worths(boards, rules.objective, bulk(boards))
    first = np.array([int(w[0]) for w in ways.of], dtype=np.int64)
    length, height = ways.columns[first].astype(float), ways.height[first]
    hard = 0.45 * length / max(length.max(initial=1.0), 1.0) + 0.15 * height / max(height.max(initial=1.0), 1.0)
    hard += 0.4 * rarity(length, height, racked, may)
    hard = np.where(mate >= 0, hard + 1.0, hard)
    lowest = float(ways.height.min(initial=np.inf))
    leaf = [s if w.leaves > 1 else None for s, w in zip(bare, wood, strict=True)]
    return Shed(
        parts,
        tuple(boards),
        rules,
        ways,
        racked,
        stride,
        may,
        ways.area[first],
        hard,
        room,
        worth,
        least_rate(wood, rules.objective, worth, room),
        np.array([w.source for w in wood], dtype=np.int64),
        np.array([w.leaves for w in wood], dtype=np.int64),
        np.array([p.stage or 0 for p in parts], dtype=np.int64),
        mate,
        swift_tables(timber, racks, lowest, hard),
        picks(order),
        order,
        finer,
        not rules.by_stage and bool((mate < 0).all()),
        np.asarray(may.all(axis=0)),
        books_of((paired, over), timber, leaf, (lowest, hard)),
    )


def least_rate(wood: Sequence[Wood], objective: str, worth: Floats, room: Floats) -> float:
    """Least cost of 1 mm2 of part on any board; net: end offcuts come back."""
    if objective != "net":
        return float((worth / np.maximum(room, 1e-9)).min(initial=np.inf))
    boards, leaves = [w.board for w in wood], np.array([w.leaves for w in wood])
    return 0.9e-6 * float((bulk(boards) * spent(boards) / leaves).min(initial=1.0))


def mates(parts: Sequence[Part]) -> Ints:
    """(parts,) number of the mate that must lie on the same board, -1 = none."""
    number = {p.id: i for i, p in enumerate(parts)}
    return np.array([number.get(p.mate or "", -1) if p.match else -1 for p in parts], dtype=np.int64)


def picks(order: Order) -> tuple[Pick, ...]:
    """The choices as numbers of parts."""
    number = {p.id: i for i, p in enumerate(order.parts)}
    return tuple(
        Pick(c.id, tuple(tuple(number[i] for i in o.parts) for o in c.options), tuple(o.cost for o in c.options))
        for c in order.choices
    )


def usable_area(slab: Slab, step: float) -> float:
    """mm2 between the edges of a slab."""
    return float((slab.span - slab.floor[1] - slab.floor[0]).sum() * step)


def rarity(length: Floats, height: Floats, slabs: Sequence[Slab | None], may: Bools) -> Floats:
    """(parts,) share of the boards too short, too narrow or not meant for each part.  length in columns."""
    sizes = [
        (0.0, 0.0) if s is None else (len(s.floor[0]), (s.span - s.floor[1][::-1] - s.floor[0]).max()) for s in slabs
    ]
    n, room = np.array(sizes, dtype=np.float64).reshape(-1, 2).T
    big = (n >= length[:, None]) & (room >= height[:, None]) & may
    return np.asarray(1.0 - big.mean(axis=1)) if len(slabs) else np.ones(len(length))


def cost(shed: Shed, board: int, load: Load) -> float:
    """What a board costs with these pieces on it (net: without end offcuts worth keeping)."""
    slab = shed.slabs[board]
    if not load or slab is None:
        return 0.0
    if shed.rules.objective != "net" or shed.rules.min_offcut <= 0:
        return float(shed.worth[board])
    step, seen = shed.ways.step, spans(shed, board, load)
    n = slab.pitch - GAP if slab.pitch else len(slab.floor[0])
    first, end = min(a for a, _ in seen), max(b for _, b in seen)
    free = [r * step for r in (first, n - end) if r * step >= shed.rules.min_offcut + step]
    return float(shed.worth[board] * (1.0 + OPENED - sum(free) / (n * step)))


def spans(shed: Shed, board: int, load: Load) -> list[tuple[int, int]]:
    """Columns from and to of every piece, as the board (or its leaf) lies."""
    slab = shed.slabs[board]
    assert slab is not None
    n = len(slab.floor[0])
    runs = [(p.at, p.at + len(way_of(shed.ways, p).top), p.side) for p in load]
    return [_within((n - b, n - a) if side else (a, b), slab.pitch) for a, b, side in runs]


def _within(run: tuple[int, int], pitch: int) -> tuple[int, int]:
    """A run of columns counted from the start of its own leaf."""
    return (run[0] % pitch, run[0] % pitch + run[1] - run[0]) if pitch else run


def placement(shed: Shed, board: int, laid: Laid) -> Placement:
    """Where a laid piece lies in the board's own axes."""
    slab = shed.slabs[board]
    assert slab is not None
    way = way_of(shed.ways, laid)
    x = slab.corner + laid.at * shed.ways.step + way.origin[0]
    y = laid.y + way.origin[1]
    turn = way.turn_deg
    if laid.side:
        x, y, turn = slab.reach - x, slab.span - y, turn + 180.0
    part, name = shed.parts[way.part].id, shed.boards[board].id
    leaf = None
    if slab.pitch:
        n = len(slab.floor[0])
        at = n - laid.at - len(way.top) if laid.side else laid.at
        leaf = at // slab.pitch + 1
        x -= (leaf - 1) * slab.pitch * shed.ways.step
    return Placement(part, name, float(x), float(y), float((turn + 180.0) % 360.0 - 180.0), way.flip, leaf)
