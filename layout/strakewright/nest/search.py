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
from dataclasses import dataclass

import numpy as np
from numpy.random import Generator

from strakewright.nest.filling import Filling, Taste, fill, lay, start
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
    kept = {b: load for b, load in sorted(loads.items()) if load.laid}
    missing = float(shed.area[list(left)].sum() / 1e6 + len(left)) if len(left) else 0.0
    total = sum(cost(shed, b, load) for b, load in kept.items())
    return Stand(kept, tuple(sorted(left)), total + LOST * float(shed.worth.max(initial=1.0)) * missing)


def taste(shed: Shed, rng: Generator) -> Taste:
    """A liking drawn at random: from waste only to the hard parts first."""
    bias = float(rng.choice([0.0, 0.1, 0.3, 0.8]))
    spread = float(rng.choice([0.05, 0.2, 0.5]))
    return Taste(bias * shed.hard, 1.0 + spread * rng.random(len(shed.parts)))


def reopened(shed: Shed, board: int, load: Load | None, side: int = 0) -> Filling:
    """The board as it stands with its load, ready to take more."""
    both = shed.slabs[board]
    assert both is not None
    filling = start(both[side if load is None else load.side])
    for piece in load.laid if load else ():
        lay(filling, shed.ways, piece)
    return filling


def put(shed: Shed, filling: Filling, parts: Sequence[int], liking: Taste) -> list[int]:
    """Fill a board with those parts that may lie on it; returns the parts left over."""
    allowed = shed.may[:, filling.slab.board]
    rest = fill(filling, shed.ways, [p for p in parts if allowed[p]], liking)
    return [*rest, *(p for p in parts if not allowed[p])]


def filled(shed: Shed, boards: Sequence[int], parts: Sequence[int], rng: Generator) -> tuple[dict[int, Load], list[int]]:
    """Fill boards one after another; returns their loads and the parts left over."""
    loads: dict[int, Load] = {}
    left, liking = list(parts), taste(shed, rng)
    for board in boards:
        if not left:
            break
        side = int(rng.integers(2))
        filling = reopened(shed, board, None, side)
        left = put(shed, filling, left, liking)
        loads[board] = Load(side, tuple(filling.laid))
    return loads, left


def tucked(shed: Shed, loads: dict[int, Load], left: list[int], rng: Generator) -> list[int]:
    """Put parts left over into free wood on boards already opened; `loads` changes; returns what is still left."""
    liking = taste(shed, rng)
    for board in sorted(loads, key=lambda b: -free(shed, b, loads[b])):
        if not left or free(shed, board, loads[board]) < min(shed.area[p] for p in left):
            break
        filling = reopened(shed, board, loads[board])
        left = put(shed, filling, left, liking)
        loads[board] = Load(loads[board].side, tuple(filling.laid))
    return left


def free(shed: Shed, board: int, load: Load) -> float:
    """Usable mm2 of a board not covered by its pieces."""
    return float(shed.room[board] - sum(shed.ways.area[p.way] for p in load.laid))


def parts_of(shed: Shed, loads: Sequence[Load]) -> list[int]:
    """The parts lying in some loads."""
    return [int(shed.ways.part[p.way]) for load in loads for p in load.laid]


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
    left = tucked(shed, loads, left + skipped, rng) if left or skipped else []
    return standing(shed, loads, left)


def _seeded(
    shed: Shed, seed: int, left: Sequence[int], boards: Sequence[int], rng: Generator
) -> tuple[int, Load] | None:
    """The board best used when it takes `seed` and then others: of the first few boards that take it."""
    first: list[tuple[float, int, Load]] = []
    only = Taste(np.zeros(len(shed.parts)), np.ones(len(shed.parts)))
    for board in sorted(boards, key=lambda b: shed.worth[b]):
        if not shed.may[seed, board] or shed.room[board] < shed.area[seed]:
            continue
        side = int(rng.integers(2))
        filling = reopened(shed, board, None, side)
        if put(shed, filling, [seed], only):
            continue
        put(shed, filling, [p for p in left if p != seed], taste(shed, rng))
        load = Load(side, tuple(filling.laid))
        first.append((cost(shed, board, load) / sum(shed.area[parts_of(shed, [load])]), board, load))
        if len(first) == 3:
            break
    if not first:
        return None
    _, board, load = min(first, key=lambda t: t[:2])
    return board, load


def chosen(shed: Shed, stand: Stand, rng: Generator) -> list[int]:
    """Boards to empty: badly used ones more often."""
    open_boards = np.array(list(stand.loads))
    waste = np.array([free(shed, b, stand.loads[b]) for b in stand.loads])
    weight = np.maximum(waste, 1.0) ** 1.5
    k = min(len(open_boards), int(rng.choice([1, 2, 3, 4, 5], p=[0.1, 0.3, 0.3, 0.2, 0.1])))
    return [int(b) for b in rng.choice(open_boards, size=k, replace=False, p=weight / weight.sum())]


def target(shed: Shed, stand: Stand, emptied: Sequence[int], need: float, rng: Generator) -> list[int] | None:
    """Boards to fill instead of those emptied; None when the draw cannot do."""
    spare = [b for b, s in enumerate(shed.slabs) if s is not None and b not in stand.loads]
    take = list(emptied)
    kind = rng.random()
    if kind < 0.3 or not spare:
        take.remove(int(rng.choice(take)))
    elif kind < 0.85:
        out = int(rng.choice(take))
        cheaper = [b for b in spare if shed.worth[b] < shed.worth[out] * 1.02]
        if not cheaper:
            return None
        take.remove(out)
        take.append(int(rng.choice(cheaper)))
    if shed.room[take].sum() * 0.985 < need:
        return None
    order = rng.permutation(len(take)) if rng.random() < 0.5 else np.argsort(-shed.room[take], kind="stable")
    return [take[i] for i in order]


def move(shed: Shed, stand: Stand, rng: Generator) -> Stand | None:
    """One try; None when nothing came of it."""
    emptied = chosen(shed, stand, rng)
    parts = parts_of(shed, [stand.loads[b] for b in emptied]) + list(stand.left)
    boards = target(shed, stand, emptied, float(shed.area[parts].sum()), rng)
    if boards is None:
        return None
    fresh, left = filled(shed, boards, parts, rng)
    loads = {b: load for b, load in stand.loads.items() if b not in emptied}
    if left and (len(left) > 3 or rng.random() < 0.3) and not stand.left:
        return None
    if left:
        left = tucked(shed, loads, left, rng)
    loads.update(fresh)
    return standing(shed, loads, left)


@dataclass(frozen=True)
class Island:
    """One line of search: the plan in hand, its best, its own source of chance, moves made."""

    stand: Stand
    best: Stand
    rng: Generator
    moves: int = 0


def improve(shed: Shed, island: Island, moves: int, seconds: float | None, leave: float) -> Island:
    """Make `moves` moves, or fewer when `seconds` run out first."""
    stand, best, rng = island.stand, island.best, island.rng
    end = None if seconds is None else time.monotonic() + seconds
    done = 0
    while done < moves and (end is None or time.monotonic() < end):
        done += 1
        tried = move(shed, stand, rng)
        if tried is None:
            continue
        if tried.cost <= best.cost * (1.0 + leave) or tried.cost <= stand.cost:
            stand = tried
        if tried.cost < best.cost - 1e-12:
            best = tried
    return Island(stand, best, rng, island.moves + done)
