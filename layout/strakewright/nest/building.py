"""Building a plan board by board, each time taking the load that gives most for its cost.

offer      a load a board could take
seed       the hardest part left: the next board must hold it, so that rare boards go to the parts that need them
tuck       lay a part left over into free wood on a board already opened
"""

from __future__ import annotations

import time
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
from numpy.random import Generator

from strakewright.arrays import Bools, Floats, Ints
from strakewright.nest.archive import Archive
from strakewright.nest.books import opened_at
from strakewright.nest.job import Load, Shed, cost
from strakewright.nest.outlook import Outlook, ahead
from strakewright.nest.swiftly import swiftly_filled
from strakewright.nest.ways import Laid

EASY = 0.6
"""Parts less hard than this need not be on the next board."""
LAST = 1.5
"""How much more a load is worth that takes all that is left."""
TUCKS = 10
"""Boards on which a part left over is tried."""


def tucked(
    shed: Shed, loads: dict[int, Load], left: list[int], price: Floats, rng: Generator, most: int = TUCKS
) -> list[int]:
    """Put parts left over into free wood on boards already opened; `loads` changes; returns what is still left."""
    for board in sorted(loads, key=lambda b: -free(shed, b, loads[b]))[:most]:
        if not left or free(shed, board, loads[board]) < min(shed.area[p] for p in left):
            break
        loads[board] = filled(shed, board, left, Hands(price, rng), load=loads[board])
        gone = set(parts_of(shed, [loads[board]]))
        left = [p for p in left if p not in gone]
    return left


def free(shed: Shed, board: int, load: Load) -> float:
    """Usable mm2 of a board not covered by its pieces."""
    return float(shed.room[board] - sum(shed.ways.area[p.way] for p in load))


def parts_of(shed: Shed, loads: Sequence[Load]) -> list[int]:
    """The parts lying in some loads."""
    return [int(shed.ways.part[p.way]) for load in loads for p in load]


@dataclass(frozen=True, eq=False)
class Hands:
    """price : (parts,);  rng : source of chance;  outlook : what the parts left can use, where it is known already."""

    price: Floats
    rng: Generator
    outlook: Outlook | None = None


def filled(
    shed: Shed, board: int, parts: Sequence[int] | Ints, hands: Hands, seed: int | None = None, load: Load = ()
) -> Load:
    """A board filled once on top of its load, part `seed` first, and its match with it; nothing when the seed does
    not go on it.  Matched pairs go on a resawn board as books, as many as there is room for."""
    if shed.plain:
        return filled_once(shed, board, parts, hands, seed, load)
    parts = in_wave(shed, parts, seed, load, hands.rng)
    loose = [p for p in parts if shed.mate[p] < 0]
    match = -1 if seed is None else int(shed.mate[seed])
    if seed is None or match < 0:
        return filled_once(shed, board, loose if seed is None or seed in loose else [seed, *loose], hands, seed, load)
    if match not in parts:
        return ()
    if shed.books is not None and shed.leaves[board] > 1 and (leader := shed.books.leader_of(seed)) is not None:
        load = booked(
            shed, board, [p for p, mate in shed.books.mate.items() if p in parts and mate in parts], hands, leader
        )
        return filled_once(shed, board, loose, hands, None, load) if load else ()
    for first in (seed, match):
        load = filled_once(shed, board, [first], hands, first, load)
        if not load or first not in parts_of(shed, [load]):
            return ()
    return filled_once(shed, board, loose, hands, None, load)


def booked(shed: Shed, board: int, leaders: Sequence[int], hands: Hands, seed: int) -> Load:
    """A resawn board with book-matched pairs only, two leaves at a time, `seed` and its mate among them; nothing when
    they do not go on it."""
    books, slab, leaves = shed.books, shed.slabs[board], int(shed.leaves[board])
    if books is None or slab is None:
        return ()
    mine = [p for p in leaders if shed.may[p, board] and shed.may[books.mate[p], board]]
    load: list[Laid] = []
    for first in range(0, leaves - 1, 2):
        if not mine or (first == 0 and seed not in mine):
            break
        who = np.asarray(mine, dtype=np.int64), seed if first == 0 else -1, ahead(shed.ways, mine, shed.stride)
        leaf = swiftly_filled(books.swift, board, (), who, hands.price, hands.rng)
        gone = set(parts_of(shed, [leaf]))
        if first == 0 and seed not in gone:
            return ()
        load += opened_at(books, shed.ways, leaf, (leaves, slab.pitch), first)
        mine = [p for p in mine if p not in gone]
    return tuple(load)


def in_wave(
    shed: Shed, parts: Sequence[int] | Ints, seed: int | None, load: Load, rng: Generator
) -> Sequence[int] | Ints:
    """Parts that may be sawn together: of one stage (the seed's, the load's, else one by lot) or of none."""
    if not shed.rules.by_stage or not len(parts):
        return parts
    there = [int(shed.stage[p]) for p in (*parts_of(shed, [load]), *([] if seed is None else [seed]))]
    waves = [w for w in there if w] or [int(shed.stage[int(rng.choice(parts))])]
    return [p for p in parts if shed.stage[p] in (0, waves[0])]


def filled_once(
    shed: Shed, board: int, parts: Sequence[int] | Ints, hands: Hands, seed: int | None = None, load: Load = ()
) -> Load:
    """A board filled on top of its load by one run of moves."""
    pick = np.asarray(parts, dtype=np.int64)
    allowed = pick if shed.open_to_all[board] else pick[shed.may[pick, board]]
    if seed is not None and seed not in allowed:
        return ()
    outlook = hands.outlook or ahead(shed.ways, parts, shed.stride)
    who = allowed, -1 if seed is None else seed, outlook
    return swiftly_filled(shed.swift, board, load, who, hands.price, hands.rng)


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
        used = {int(shed.source[b]) for b in loads}
        open_to = [b for b in boards if shed.source[b] not in used and spent + shed.worth[b] <= effort.limit]
        if not open_to or spent + float(shed.area[left].sum()) * shed.least_rate > effort.limit:
            break
        seed: int | None = max(wanted, key=lambda p: order[p])
        if order[seed] < EASY and shed.mate[seed] < 0:
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
    hands = Hands(price, rng, ahead(shed.ways, left, shed.stride))
    need = float(shed.area[left].sum())
    enough = sorted((b for b in boards if shed.room[b] * 0.95 >= need), key=lambda b: shed.worth[b])[:3]
    order = [*enough, *(int(b) for b in rng.permutation(boards))]
    pick = np.asarray(left, dtype=np.int64) if shed.plain else left
    for board in (order * (1 + fresh // max(len(order), 1)))[: 4 * fresh + 8]:
        if seed is not None and (not shed.may[seed, board] or shed.room[board] < shed.area[seed]):
            continue
        load = filled(shed, board, pick, hands, seed)
        if load:
            archive.add(board, load, parts_of(shed, [load]), cost(shed, board, load))
            fresh -= 1
        if fresh <= 0 or effort.over():
            return
