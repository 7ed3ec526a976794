"""Looking for a better plan by emptying a few boards and filling cheaper ones with the same pieces.

stand      a plan in hand: loads by board, parts not placed
move       empty a share of the boards, the badly used more often, and build anew with more effort each time
price      what a part has cost in the plans so far; dear parts are looked after first

Method: large-neighbourhood search (Shaw 1998) and sequential value correction (Mukhacheva 1993, Belov and Scheithauer
2007) with a greedy builder, accepting small losses as in simulated annealing; the rest derived.
"""

from __future__ import annotations

import time
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.random import Generator

from strakewright.arrays import Floats
from strakewright.nest.archive import Archive
from strakewright.nest.building import Effort, built, free, parts_of, tucked
from strakewright.nest.fitting import fits_somewhere
from strakewright.nest.job import Load, Shed, cost
from strakewright.nest.weighing import UP_TO, weighed

LOST = 1e3
"""Cost of leaving a part out, as a multiple of the dearest board."""
SHARES = (0.3, 0.6, 1.0)
"""Shares of the boards emptied by a move."""
GROW, MOST = 1.35, 200
"""Each move of an island weighs so many times as many loads as the one before, up to a most."""
FIRST = 5
"""Loads to choose from for each board of the first plan."""
URGENT = 1.25
"""How much dearer a part becomes each time it is left over."""
AGAIN, AGAIN_UP_TO = 3, 300
"""First plans made while parts are left over, and the most parts for which more than one is made."""
WEIGH, BLEND = 4, 0.6
"""Moves after which a small job's loads are weighed together, and how far prices are drawn to what comes out."""
STAY = 0.4
"""Share of moves that keep every option."""
TOGETHER = 0.15
"""What a wholly free board would be worth, as a share of its cost."""


@dataclass(frozen=True)
class Stand:
    """loads : board -> load (no empty ones);  left : parts not placed;  cost : what it all costs;
    picked : option of every choice;  promise : cost less a little for free wood that lies together on few boards."""

    loads: dict[int, Load]
    left: tuple[int, ...]
    cost: float
    promise: float
    picked: tuple[int, ...] = ()


def standing(shed: Shed, loads: dict[int, Load], left: Sequence[int], picked: tuple[int, ...] = ()) -> Stand:
    """A plan with its cost."""
    kept = {b: load for b, load in sorted(loads.items()) if load}
    missing = float(shed.area[list(left)].sum() / 1e6 + len(left)) if len(left) else 0.0
    total = sum(cost(shed, b, load) for b, load in kept.items())
    total += sum(c.extra[k] for c, k in zip(shed.choices, picked, strict=True))
    total += LOST * float(shed.worth.max(initial=1.0)) * missing
    together = sum(shed.worth[b] * (free(shed, b, load) / shed.room[b]) ** 2 for b, load in kept.items())
    return Stand(kept, tuple(sorted(left)), total, total - TOGETHER * float(together), picked)


def first_plan(shed: Shed, rng: Generator) -> Stand:
    """A complete plan, fast; if parts are left over, they are tucked in wherever there is room."""
    boards = [b for b, s in enumerate(shed.slabs) if s is not None]
    price = shed.area * 1e-6 * (1.0 + 0.3 * shed.hard)
    hand = Archive(len(shed.parts)), Effort(np.inf, FIRST), rng
    best: Stand | None = None
    picked = first_picks(shed)
    for _ in range(AGAIN):
        loads, left = built(shed, wanted(shed, picked), boards, price, hand)
        left = tucked(shed, loads, left, price, rng, len(loads)) if left else []
        stand = standing(shed, loads, left, picked)
        best = stand if best is None or stand.cost < best.cost else best
        if not left or len(shed.parts) > AGAIN_UP_TO:
            break
        price[left] *= 2.0
        picked = tuple(
            (k + 1) % len(c.options) if set(c.options[k]) & set(left) else k
            for c, k in zip(shed.choices, picked, strict=True)
        )
    assert best is not None
    return best


def wanted(shed: Shed, picked: Sequence[int]) -> list[int]:
    """Parts to be placed: those in no choice, and those of the options picked."""
    chosen = {p for c, k in zip(shed.choices, picked, strict=True) for p in c.options[k]}
    open_to = {p for c in shed.choices for o in c.options for p in o}
    return [p for p in range(len(shed.parts)) if p in chosen or p not in open_to]


def first_picks(shed: Shed) -> tuple[int, ...]:
    """The first option of every choice whose parts each fit some board; the usual one where none does."""
    return tuple(next((k for k, o in enumerate(c.options) if all(may_go(shed, p) for p in o)), 0) for c in shed.choices)


def may_go(shed: Shed, part: int) -> bool:
    """Whether some board could take a part."""
    return fits_somewhere(shed.swift.timber, part, shed.swift.racks, shed.may)


def switched(shed: Shed, stand: Stand, rng: Generator) -> tuple[tuple[int, ...], set[int], set[int]]:
    """Another option for one choice or a few, more often than not.  returns options, parts to go, parts to come"""
    picked = list(stand.picked)
    if not picked or rng.random() < STAY:
        return stand.picked, set(), set()
    gone: set[int] = set()
    come: set[int] = set()
    for c in rng.choice(len(picked), min(len(picked), int(rng.integers(1, 4))), replace=False):
        options, old = shed.choices[c].options, picked[c]
        if len(options) > 1:
            picked[c] = int((old + rng.integers(1, len(options))) % len(options))
            gone |= set(options[old]) - set(options[picked[c]])
            come |= set(options[picked[c]]) - set(options[old])
    return tuple(picked), gone, come


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
    picked, gone, come = switched(shed, stand, rng)
    emptied = {boards[i] for i in mark[:k]}
    emptied |= {b for b, load in stand.loads.items() if gone & set(parts_of(shed, [load]))}
    parts = parts_of(shed, [stand.loads[b] for b in sorted(emptied)]) + list(stand.left)
    parts = [p for p in parts if p not in gone] + sorted(come)
    loads = {b: load for b, load in stand.loads.items() if b not in emptied}
    held = {int(shed.source[b]) for b in loads}
    spare = [b for b, s in enumerate(shed.slabs) if s is not None and shed.source[b] not in held]
    limit = sum(cost(shed, b, stand.loads[b]) for b in emptied) + leave if not stand.left else np.inf
    tries = round(min(FIRST * GROW**island.moves, MOST) * (0.6 + 0.8 * rng.random()))
    price = island.price * np.exp(rng.choice([0.0, 0.03, 0.1]) * rng.standard_normal(len(shed.parts)))
    fresh, left = built(shed, parts, spare, price, (archive, Effort(limit, max(tries, 3), until), rng))
    loads.update(fresh)
    if left:
        left = tucked(shed, loads, left, island.price, rng, len(loads))
    return standing(shed, loads, left, picked)


def shares(shed: Shed, stand: Stand) -> Floats:
    """(parts,) what each part costs in a plan: its share by area of its board."""
    share = shed.area * (float(shed.worth.mean()) / float(shed.room.mean()))
    for board, load in stand.loads.items():
        mine = parts_of(shed, [load])
        share[mine] = shed.area[mine] * (cost(shed, board, load) / float(shed.area[mine].sum()))
    return np.asarray(share)


@dataclass(frozen=True)
class Heat:
    """leave : how much worse than the best a plan may be, as a share;  heat : worsening of promise taken, as a share
    of the mean board."""

    leave: float
    heat: float


def repriced(shed: Shed, island: Island, archive: Archive) -> Island:
    """Prices drawn towards what parts cost when all loads known are weighed together."""
    picked = wanted(shed, island.best.picked)
    for board, load in island.best.loads.items():
        archive.add(board, load, parts_of(shed, [load]), cost(shed, board, load))
    if island.best.left or (found := weighed(shed, archive, picked, island.price)) is None:
        return island
    price = island.price.copy()
    price[picked] = BLEND * found + (1.0 - BLEND) * price[picked]
    return replace(island, price=price)


def improve(shed: Shed, island: Island, archive: Archive, bounds: tuple[int, float | None], heat: Heat) -> Island:
    """Make moves, at most so many, for at most so many seconds (bounds)."""
    moves, seconds = bounds
    until = None if seconds is None else time.monotonic() + seconds
    board = float(shed.worth.mean())
    for _ in range(moves):
        if until is not None and time.monotonic() > until:
            break
        if len(shed.parts) <= UP_TO and island.moves % WEIGH == WEIGH - 1:
            island = repriced(shed, island, archive)
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
