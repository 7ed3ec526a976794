"""Looking for a better plan by emptying a few boards and filling cheaper ones with the same pieces.

stand      a plan in hand: loads by board, parts not placed
move       empty 1 to 5 boards, choose a cheaper (or equal) set of boards, fill it with what came off; the last pieces
           left over are tucked into free wood elsewhere
leave      how much worse than the best found a move may make things (record-to-record travel, Dueck 1993)

Method: large-neighbourhood search (Shaw 1998) with a greedy filler; the rest derived.
"""

from __future__ import annotations

import time
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.random import Generator

from strakewright.arrays import Floats
from strakewright.nest.choosing import Crewing, Taste, fill
from strakewright.nest.filling import Filling, lay, start
from strakewright.nest.job import Load, Shed, cost

LOST = 1e3
"""Cost of leaving a part out, as a multiple of the dearest board."""


@dataclass(frozen=True)
class Stand:
    """loads : board -> load (no empty ones);  left : parts not placed;  cost : what it all costs."""

    loads: dict[int, Load]
    left: tuple[int, ...]
    cost: float


def standing(shed: Shed, loads: dict[int, Load], left: Sequence[int]) -> Stand:
    """A plan with its cost."""
    kept = {b: load for b, load in sorted(loads.items()) if load}
    missing = float(shed.area[list(left)].sum() / 1e6 + len(left)) if len(left) else 0.0
    total = sum(cost(shed, b, load) for b, load in kept.items())
    return Stand(kept, tuple(sorted(left)), total + LOST * float(shed.worth.max(initial=1.0)) * missing)


def taste(shed: Shed, price: Floats, rng: Generator) -> Taste:
    """A liking drawn at random: from waste only to the dear or the hard parts first."""
    rate = price / shed.area
    dear = float(rng.choice([0.0, 0.1, 0.3])) * (rate / rate.mean() - 1.0)
    hard = float(rng.choice([0.0, 0.05, 0.2, 0.6])) * shed.hard
    spread = float(rng.choice([0.1, 0.3, 0.8]))
    return Taste(dear + hard, 1.0 + spread * rng.random(len(shed.parts)))


def crewing(shed: Shed, price: Floats, rng: Generator) -> Crewing:
    """How lanes are manned this time."""
    return Crewing(shed.gauge, price, float(rng.choice([0.0, 0.5, 0.9])), float(rng.choice([0.0, 0.2, 0.5])), rng)


def reopened(shed: Shed, board: int, load: Load = ()) -> Filling:
    """The board as it stands with its load, ready to take more."""
    slab = shed.slabs[board]
    assert slab is not None
    filling = start(slab)
    for piece in load:
        lay(filling, shed.ways, piece)
    return filling


def put(shed: Shed, filling: Filling, parts: Sequence[int], liking: Taste, hands: Crewing) -> list[int]:
    """Fill a board with those parts that may lie on it; returns the parts left over."""
    allowed = shed.may[:, filling.slab.board]
    rest = fill(filling, shed.ways, [p for p in parts if allowed[p]], liking, hands)
    return [*rest, *(p for p in parts if not allowed[p])]


def tucked(shed: Shed, loads: dict[int, Load], left: list[int], price: Floats, rng: Generator) -> list[int]:
    """Put parts left over into free wood on boards already opened; `loads` changes; returns what is still left."""
    liking, hands = taste(shed, price, rng), crewing(shed, price, rng)
    for board in sorted(loads, key=lambda b: -free(shed, b, loads[b])):
        if not left or free(shed, board, loads[board]) < min(shed.area[p] for p in left):
            break
        filling = reopened(shed, board, loads[board])
        left = put(shed, filling, left, liking, hands)
        loads[board] = tuple(filling.laid)
    return left


def free(shed: Shed, board: int, load: Load) -> float:
    """Usable mm2 of a board not covered by its pieces."""
    return float(shed.room[board] - sum(shed.ways.area[p.way] for p in load))


def parts_of(shed: Shed, loads: Sequence[Load]) -> list[int]:
    """The parts lying in some loads."""
    return [int(shed.ways.part[p.way]) for load in loads for p in load]


def filled(shed: Shed, board: int, parts: Sequence[int], price: Floats, rng: Generator) -> Load:
    """A board filled once."""
    filling = reopened(shed, board)
    put(shed, filling, parts, taste(shed, price, rng), crewing(shed, price, rng))
    return tuple(filling.laid)


@dataclass(frozen=True)
class Budget:
    """limit : cost not to be passed;  tries : boards looked at for each one taken."""

    limit: float
    tries: int


def built(
    shed: Shed, parts: Sequence[int], boards: Sequence[int], price: Floats, budget: Budget, rng: Generator
) -> tuple[dict[int, Load], list[int]]:
    """Take board after board, each time the one that gives most for its cost, until all parts lie or the budget is
    spent.  returns loads, parts left over."""
    loads: dict[int, Load] = {}
    left, spent = list(parts), 0.0
    while left:
        need = float(shed.area[left].sum())
        open_to = [b for b in boards if b not in loads and spent + shed.worth[b] <= budget.limit]
        if not open_to or spent + need * shed.least_rate > budget.limit:
            break
        best: tuple[float, int, Load] | None = None
        for board in offered(shed, open_to, need, budget.tries, rng):
            load = filled(shed, board, left, price, rng)
            got = parts_of(shed, [load])
            if not got:
                continue
            value = float(price[got].sum()) / cost(shed, board, load)
            if len(got) == len(left):
                value *= 1.5
            if best is None or value > best[0]:
                best = value, board, load
        if best is None:
            break
        loads[best[1]] = best[2]
        spent += cost(shed, best[1], best[2])
        gone = set(parts_of(shed, [best[2]]))
        left = [p for p in left if p not in gone]
    return loads, left


def offered(shed: Shed, boards: Sequence[int], need: float, tries: int, rng: Generator) -> list[int]:
    """Boards to look at: a few at random, and a few of the cheapest that could take everything left."""
    some = [int(b) for b in rng.choice(boards, size=min(tries, len(boards)), replace=False)]
    enough = sorted((b for b in boards if shed.room[b] * 0.97 >= need), key=lambda b: shed.worth[b])
    return some + [b for b in enough[:3] if b not in some]


def first_plan(shed: Shed, rng: Generator) -> Stand:
    """A complete plan, fast: again and again the board that is filled best, the hardest part left always on it."""
    loads: dict[int, Load] = {}
    left = list(range(len(shed.parts)))
    unopened = {b for b, s in enumerate(shed.slabs) if s is not None}
    skipped: list[int] = []
    while left and unopened:
        seed = max(left, key=lambda p: (shed.hard[p], -p))
        best = _seeded(shed, seed, left, sorted(unopened), rng)
        if best is None:
            left.remove(seed)
            skipped.append(seed)
            continue
        board, load = best
        loads[board] = load
        unopened.discard(board)
        gone = set(parts_of(shed, [load]))
        left = [p for p in left if p not in gone]
        skipped = [p for p in skipped if p not in gone]
    left = tucked(shed, loads, left + skipped, shed.area / 1e6, rng) if left or skipped else []
    return standing(shed, loads, left)


def _seeded(
    shed: Shed, seed: int, left: Sequence[int], boards: Sequence[int], rng: Generator
) -> tuple[int, Load] | None:
    """The board best used when it takes `seed` and then others: of a few boards that take it."""
    first: list[tuple[float, int, Load]] = []
    only = Taste(np.zeros(len(shed.parts)), np.ones(len(shed.parts)))
    price = shed.area * (1.0 + shed.hard)
    for board in (int(b) for b in rng.permutation(boards)):
        if not shed.may[seed, board] or shed.room[board] < shed.area[seed]:
            continue
        filling = reopened(shed, board)
        if put(shed, filling, [seed], only, Crewing(shed.gauge, price, 0.0, 0.0, rng)):
            continue
        put(shed, filling, [p for p in left if p != seed], taste(shed, price, rng), crewing(shed, price, rng))
        load = tuple(filling.laid)
        first.append((cost(shed, board, load) / float(price[parts_of(shed, [load])].sum()), board, load))
        if len(first) == 5:
            break
    if not first:
        return None
    _, board, load = min(first, key=lambda t: t[:2])
    return board, load


def chosen(shed: Shed, island: Island) -> list[int]:
    """Boards to empty: badly used ones more often."""
    stand, rng = island.stand, island.rng
    open_boards = np.array(list(stand.loads))
    waste = np.array([free(shed, b, stand.loads[b]) for b in stand.loads])
    weight = np.maximum(waste, 1.0) ** 1.5
    k = min(len(open_boards), int(rng.choice([2, 3, 4, 5, 6], p=[0.25, 0.25, 0.2, 0.15, 0.15])))
    return [int(b) for b in rng.choice(open_boards, size=k, replace=False, p=weight / weight.sum())]


def move(shed: Shed, island: Island, leave: float) -> Stand | None:
    """One try; None when nothing came of it."""
    stand, rng = island.stand, island.rng
    emptied = chosen(shed, island)
    parts = parts_of(shed, [stand.loads[b] for b in emptied]) + list(stand.left)
    loads = {b: load for b, load in stand.loads.items() if b not in emptied}
    boards = [b for b, s in enumerate(shed.slabs) if s is not None and b not in loads]
    spent = sum(cost(shed, b, stand.loads[b]) for b in emptied)
    limit = spent + leave if not stand.left else np.inf
    fresh, left = built(shed, parts, boards, island.price, Budget(limit, int(rng.integers(1, 5))), rng)
    if left and not stand.left:
        if shed.area[left].sum() > 0.25 * shed.area[parts].sum():
            return None
        left = tucked(shed, loads, left, island.price, rng)
        if left:
            return None
    loads.update(fresh)
    return standing(shed, loads, left)


@dataclass(frozen=True, eq=False)
class Island:
    """One line of search: the plan in hand, its best, its own source of chance, moves made;
    price : (parts,) what each part has cost in the plans so far."""

    stand: Stand
    best: Stand
    rng: Generator
    price: Floats
    moves: int = 0


def shares(shed: Shed, stand: Stand) -> Floats:
    """(parts,) what each part costs in a plan: its share by area of its board."""
    share = shed.area * (float(shed.worth.mean()) / float(shed.room.mean()))
    for board, load in stand.loads.items():
        mine = parts_of(shed, [load])
        share[mine] = shed.area[mine] * (cost(shed, board, load) / float(shed.area[mine].sum()))
    return np.asarray(share)


def improve(shed: Shed, island: Island, moves: int, seconds: float | None, leave: float) -> Island:
    """Make `moves` moves, or fewer when `seconds` run out first.  leave : how much worse than the best may be kept."""
    end = None if seconds is None else time.monotonic() + seconds
    done = 0
    while done < moves and (end is None or time.monotonic() < end):
        done += 1
        tried = move(shed, island, leave * island.best.cost)
        if tried is None or tried.cost > max(island.stand.cost, island.best.cost * (1.0 + leave)):
            continue
        price = 0.9 * island.price + 0.1 * shares(shed, tried)
        best = tried if tried.cost < island.best.cost - 1e-12 else island.best
        island = Island(tried, best, island.rng, price, island.moves)
    return replace(island, moves=island.moves + done)
