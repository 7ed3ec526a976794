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
from typing import TypeAlias

import numpy as np
from numpy.random import Generator

from strakewright.arrays import Bools, Floats
from strakewright.nest.archive import Archive
from strakewright.nest.choosing import Crewing, Taste, fill
from strakewright.nest.filling import Filling, lay, start
from strakewright.nest.job import Load, Shed, cost

LOST = 1e3
"""Cost of leaving a part out, as a multiple of the dearest board."""


SHARES = (0.3, 0.6, 1.0)
"""Shares of the boards emptied by a move."""
GROW, MOST = 1.35, 200
"""Each move of an island weighs so many times as many loads as the one before, up to a most."""
FIRST = 5
"""Loads to choose from for each board of the first plan."""
EASY = 0.6
"""Parts less hard than this need not be on the next board."""
URGENT = 1.25
"""How much dearer a part becomes each time it is left over."""
AGAIN, AGAIN_UP_TO = 3, 300
"""First plans made while parts are left over, and the most parts for which more than one is made."""
WALLS = ((0.0, 0.0), (0.0, 0.3), (0.3, 0.0))
"""Tastes for a wall: none, left, right."""
LAST = 1.5
"""How much more a load is worth that takes all that is left."""
TUCKS = 10
"""Boards on which a part left over is tried."""
TOGETHER = 0.15
"""What a wholly free board would be worth, as a share of its cost."""


@dataclass(frozen=True)
class Stand:
    """loads : board -> load (no empty ones);  left : parts not placed;  cost : what it all costs;
    promise : cost less a little for free wood that lies together on few boards."""

    loads: dict[int, Load]
    left: tuple[int, ...]
    cost: float
    promise: float


def standing(shed: Shed, loads: dict[int, Load], left: Sequence[int]) -> Stand:
    """A plan with its cost."""
    kept = {b: load for b, load in sorted(loads.items()) if load}
    missing = float(shed.area[list(left)].sum() / 1e6 + len(left)) if len(left) else 0.0
    total = sum(cost(shed, b, load) for b, load in kept.items())
    total += LOST * float(shed.worth.max(initial=1.0)) * missing
    together = sum(shed.worth[b] * (free(shed, b, load) / shed.room[b]) ** 2 for b, load in kept.items())
    return Stand(kept, tuple(sorted(left)), total, total - TOGETHER * float(together))


def wall_of(rng: Generator) -> tuple[float, float]:
    """Mostly no preference for a wall, sometimes the left, sometimes the right."""
    return WALLS[int(rng.integers(len(WALLS)))]


def taste(shed: Shed, price: Floats, rng: Generator) -> Taste:
    """A liking drawn at random: from waste only to the dear or the hard parts first."""
    rate = price / shed.area
    dear = float(rng.choice([0.0, 0.1, 0.3])) * (rate / rate.mean() - 1.0)
    hard = float(rng.choice([0.0, 0.05, 0.2, 0.6])) * shed.hard
    spread = float(rng.choice([0.1, 0.3, 0.8]))
    return Taste(dear + hard, 1.0 + spread * rng.random(len(shed.parts)), wall_of(rng))


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


def tucked(
    shed: Shed, loads: dict[int, Load], left: list[int], price: Floats, rng: Generator, most: int = TUCKS
) -> list[int]:
    """Put parts left over into free wood on boards already opened; `loads` changes; returns what is still left."""
    liking, hands = taste(shed, price, rng), crewing(shed, price, rng)
    hands = replace(hands, hang=0.0)
    for board in sorted(loads, key=lambda b: -free(shed, b, loads[b]))[:most]:
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


def filled(
    shed: Shed, board: int, parts: Sequence[int], price: Floats, rng: Generator, seed: int | None = None
) -> Load:
    """A board filled once, part `seed` first; nothing when the seed does not go on it."""
    filling = reopened(shed, board)
    if seed is not None:
        plain = Taste(np.zeros(len(shed.parts)), np.ones(len(shed.parts)), wall_of(rng))
        hang = float(rng.random() < 0.3)
        if put(shed, filling, [seed], plain, Crewing(shed.gauge, price, 0.0, hang, rng)):
            return ()
        parts = [p for p in parts if p != seed]
    put(shed, filling, parts, taste(shed, price, rng), crewing(shed, price, rng))
    return tuple(filling.laid)


@dataclass(frozen=True)
class Effort:
    """limit : cost not to be passed;  tries : loads to choose from for each board taken;  until : when to stop."""

    limit: float
    tries: int
    until: float | None = None

    def over(self) -> bool:
        """Whether time is up."""
        return self.until is not None and time.monotonic() > self.until


def urgency(shed: Shed, price: Floats) -> Floats:
    """(parts,) how much dearer by area a part is than most: parts often left over come first."""
    if not len(price):
        return price
    rate = price / shed.area
    return np.asarray(np.sqrt(rate / np.median(rate)))


def built(
    shed: Shed, parts: Sequence[int], boards: Sequence[int], price: Floats, hand: tuple[Archive, Effort, Generator]
) -> tuple[dict[int, Load], list[int]]:
    """Take board after board, each time the load that gives most for its cost and holds the hardest part left, until
    all parts lie, the cost limit is reached or time is up.

    hand : loads known, effort, source of chance;  returns loads, parts left over
    """
    _, effort, rng = hand
    loads: dict[int, Load] = {}
    left, spent, stuck = list(parts), 0.0, set[int]()
    order = shed.hard * (1.0 + 0.1 * rng.random(len(shed.hard))) * urgency(shed, price)
    while (wanted := [p for p in left if p not in stuck]) and not effort.over():
        open_to = [b for b in boards if b not in loads and spent + shed.worth[b] <= effort.limit]
        if not open_to or spent + float(shed.area[left].sum()) * shed.least_rate > effort.limit:
            break
        seed: int | None = max(wanted, key=lambda p: order[p])
        if order[seed] < EASY:
            seed = None
        best = best_offer(shed, (open_to, left, seed), price, hand)
        if best is None:
            stuck.update(left if seed is None else [seed])
            continue
        board, load = best
        loads[board] = load
        spent += cost(shed, board, load)
        gone = set(parts_of(shed, [load]))
        left = [p for p in left if p not in gone]
    return loads, left


Scene: TypeAlias = tuple[list[int], list[int], int | None]
"""Boards open to choice, parts left, the part that must be on the next board (None: any)."""


def best_offer(
    shed: Shed, scene: Scene, price: Floats, hand: tuple[Archive, Effort, Generator]
) -> tuple[int, Load] | None:
    """The load that gives most for its cost, of those known and some new ones."""
    boards, left, seed = scene
    archive, effort, _ = hand
    gone = np.ones(len(shed.parts), dtype=bool)
    gone[left] = False
    shut = np.ones(len(shed.boards), dtype=bool)
    shut[boards] = False
    have = int(np.count_nonzero(usable(archive, gone, shut, seed)))
    enlarge(shed, scene, price, hand, max(effort.tries - have // 2, effort.tries // 3, 1))
    fits = usable(archive, gone, shut, seed)
    if not fits.any():
        return None
    index = np.flatnonzero(fits)
    member = archive.member[index]
    value = (member @ price) / archive.cost[index]
    value *= np.where(member.sum(axis=1) == len(left), LAST, 1.0)
    best = int(index[int(np.argmax(value))])
    return int(archive.board[best]), archive.loads[best]


def usable(archive: Archive, gone: Bools, shut: Bools, seed: int | None) -> Bools:
    """Offers on open boards that use no part gone, and the seed."""
    fits = ~shut[archive.board]
    if seed is not None:
        fits &= archive.member[:, seed]
    fits[fits] = ~(archive.member[fits] & gone).any(axis=1)
    return fits


def enlarge(shed: Shed, scene: Scene, price: Floats, hand: tuple[Archive, Effort, Generator], fresh: int) -> None:
    """`fresh` more offers, on boards at random and on the cheapest that could take all that is left."""
    boards, left, seed = scene
    archive, effort, rng = hand
    need = float(shed.area[left].sum())
    enough = sorted((b for b in boards if shed.room[b] * 0.95 >= need), key=lambda b: shed.worth[b])[:3]
    order = [*enough, *(int(b) for b in rng.permutation(boards))]
    for board in (order * (1 + fresh // max(len(order), 1)))[: 4 * fresh + 8]:
        if seed is not None and (not shed.may[seed, board] or shed.room[board] < shed.area[seed]):
            continue
        load = filled(shed, board, left, price, rng, seed)
        if load:
            archive.add(board, load, parts_of(shed, [load]), cost(shed, board, load))
            fresh -= 1
        if fresh <= 0 or effort.over():
            return


def first_plan(shed: Shed, rng: Generator) -> Stand:
    """A complete plan, fast; if parts are left over, they are tucked in wherever there is room."""
    boards = [b for b, s in enumerate(shed.slabs) if s is not None]
    price = shed.area * 1e-6 * (1.0 + 0.3 * shed.hard)
    hand = Archive(len(shed.parts)), Effort(np.inf, FIRST), rng
    best: Stand | None = None
    for _ in range(AGAIN):
        loads, left = built(shed, range(len(shed.parts)), boards, price, hand)
        stand = standing(shed, loads, tucked(shed, loads, left, price, rng, len(loads)) if left else [])
        best = stand if best is None or stand.cost < best.cost else best
        if not left or len(shed.parts) > AGAIN_UP_TO:
            break
        price[left] *= 2.0
    assert best is not None
    return best


@dataclass(frozen=True, eq=False)
class Island:
    """One line of search: the plan in hand, its best, its own source of chance, moves made;
    price : (parts,) what each part has cost in the plans so far."""

    stand: Stand
    best: Stand
    rng: Generator
    price: Floats
    moves: int = 0


def move(shed: Shed, island: Island, archive: Archive, leave: float, until: float | None) -> Stand:
    """A large try: a good share of the boards emptied, the worst used more often, and all built anew."""
    stand, rng = island.stand, island.rng
    boards = list(stand.loads)
    rate = np.array(
        [cost(shed, b, load) / island.price[parts_of(shed, [load])].sum() for b, load in stand.loads.items()]
    )
    share = float(rng.choice(SHARES))
    k = max(min(len(boards), 3), round(share * len(boards)))
    mark = np.argsort(-((rate / rate.mean()) ** 3) * rng.exponential(size=len(boards)), kind="stable")
    emptied = {boards[i] for i in mark[:k]}
    parts = parts_of(shed, [stand.loads[b] for b in emptied]) + list(stand.left)
    loads = {b: load for b, load in stand.loads.items() if b not in emptied}
    spare = [b for b, s in enumerate(shed.slabs) if s is not None and b not in loads]
    limit = sum(cost(shed, b, stand.loads[b]) for b in emptied) + leave if not stand.left else np.inf
    tries = round(min(FIRST * GROW**island.moves, MOST) * (0.6 + 0.8 * rng.random()))
    price = island.price * np.exp(rng.choice([0.0, 0.03, 0.1]) * rng.standard_normal(len(shed.parts)))
    fresh, left = built(shed, parts, spare, price, (archive, Effort(limit, max(tries, 3), until), rng))
    loads.update(fresh)
    if left:
        left = tucked(shed, loads, left, island.price, rng, len(loads))
    return standing(shed, loads, left)


def shares(shed: Shed, stand: Stand) -> Floats:
    """(parts,) what each part costs in a plan: its share by area of its board."""
    share = shed.area * (float(shed.worth.mean()) / float(shed.room.mean()))
    for board, load in stand.loads.items():
        mine = parts_of(shed, [load])
        share[mine] = shed.area[mine] * (cost(shed, board, load) / float(shed.area[mine].sum()))
    return np.asarray(share)


def trade(shed: Shed, island: Island) -> Stand | None:
    """A small try: the pieces of two or three boards dealt out anew, one board perhaps changed for a cheaper one."""
    stand, rng = island.stand, island.rng
    boards = list(stand.loads)
    waste = np.array([free(shed, b, stand.loads[b]) / shed.room[b] for b in boards]) + 0.02
    k = min(len(boards), 2 if rng.random() < 0.6 else 3)
    emptied = [int(b) for b in rng.choice(boards, size=k, replace=False, p=waste / waste.sum())]
    parts = parts_of(shed, [stand.loads[b] for b in emptied]) + list(stand.left)
    spare = [b for b, s in enumerate(shed.slabs) if s is not None and b not in stand.loads]
    take = [emptied[i] for i in rng.permutation(k)]
    if spare and rng.random() < 0.4:
        i = int(rng.integers(k))
        cheaper = [b for b in spare if shed.worth[b] < shed.worth[take[i]] * 1.03]
        take[i] = int(rng.choice(cheaper)) if cheaper else take[i]
    loads = {b: load for b, load in stand.loads.items() if b not in emptied}
    need = float(shed.area[parts].sum())
    if shed.room[take].sum() < need:
        return None
    for board in take[:-1]:
        loads[board] = filled(shed, board, parts, island.price, rng)
        gone = set(parts_of(shed, [loads[board]]))
        parts = [p for p in parts if p not in gone]
    return _closed(shed, loads, parts, (take[-1], spare), island)


def _closed(
    shed: Shed, loads: dict[int, Load], parts: list[int], last: tuple[int, Sequence[int]], island: Island
) -> Stand | None:
    """The last board of a trade: the one meant, or a cheaper spare one; a part or two may go elsewhere.

    last : the board meant, the spare ones
    """
    if not parts:
        return standing(shed, loads, [])
    need = float(shed.area[parts].sum())
    meant, spare = last
    fit = [b for b in spare if b not in loads and shed.room[b] * 0.95 > need and shed.worth[b] < shed.worth[meant]]
    for board in [*sorted(fit, key=lambda b: shed.worth[b])[:2], meant]:
        if shed.room[board] < need * 0.7:
            continue
        load = filled(shed, board, parts, island.price, island.rng)
        gone = set(parts_of(shed, [load]))
        left = [p for p in parts if p not in gone]
        if not left:
            return standing(shed, {**loads, board: load}, [])
        if board == meant and len(left) <= 2:
            loads = {**loads, board: load}
            left = tucked(shed, loads, left, island.price, island.rng)
            return standing(shed, loads, left) if not left or island.stand.left else None
    return None


@dataclass(frozen=True)
class Heat:
    """leave : how much worse than the best a plan may be, as a share;  heat : worsening of promise taken, as a share
    of the mean board."""

    leave: float
    heat: float


def improve(shed: Shed, island: Island, archive: Archive, bounds: tuple[int, float | None], heat: Heat) -> Island:
    """Make moves, at most so many, for at most so many seconds (bounds)."""
    moves, seconds = bounds
    until = None if seconds is None else time.monotonic() + seconds
    board = float(shed.worth.mean())
    for _ in range(moves):
        if until is not None and time.monotonic() > until:
            break
        tried = move(shed, island, archive, heat.leave * island.best.cost, until)
        archive.trim()
        island = replace(island, moves=island.moves + 1)
        if tried.left and not (until is not None and time.monotonic() > until):
            dearer = island.price.copy()
            dearer[list(tried.left)] *= URGENT
            island = replace(island, price=dearer)
        if len(tried.left) > len(island.stand.left):
            continue
        worse = tried.promise - island.stand.promise
        if worse > heat.heat * board * island.rng.exponential():
            continue
        price = 0.7 * island.price + 0.3 * shares(shed, tried)
        best = tried if tried.cost < island.best.cost - 1e-12 else island.best
        island = Island(tried, best, island.rng, price, island.moves)
    return island
