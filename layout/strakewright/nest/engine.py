"""Parts + boards -> plan: the whole of nesting as one readable function.

first plan   complete and fast; everything after only makes it better, so it may be stopped at any time
round        see `islands`
"""

from __future__ import annotations

import os
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np

from strakewright.lumber import Board, Rules
from strakewright.nest.bound import bound
from strakewright.nest.compiling import compiled
from strakewright.nest.covering import covered
from strakewright.nest.explain import explained
from strakewright.nest.figures import figure_for, figures
from strakewright.nest.finishing import slid, tidied
from strakewright.nest.islands import ISLANDS, Crew, compared, crew
from strakewright.nest.job import Order, Shed, make_ready, placement
from strakewright.nest.practice import compile_now
from strakewright.nest.search import Heat, Island, Stand, first_plan, may_go, shares
from strakewright.parts import Choice, Part
from strakewright.plan import Plan

Watch: TypeAlias = Callable[[str, float, float], None]

MOVES = 2
"""Moves of one island in one round."""
ENDLESS = 10**9
ROUNDS = 6
"""Rounds into which the time is cut when time decides."""
SEARCHED = 0.97
"""Share of the time that is searched; the rest is for tidying."""
AT_LEAST = 3
"""Rounds made while a part is left over, whatever the time."""
LEAVE, HEAT = 0.004, 0.02
"""How lenient the search is at the beginning: see `search.Heat`."""
FINER_UP_TO = 260
"""Jobs with more parts are not tried with finer columns: making 356 parts ready four times as fine took 24 s."""
SLOWER = 2.0
"""Columns half as long take so many times as long to the first plan."""
TIGHT_UP_TO = 80
"""Jobs of so many parts are tried with finer columns as soon as a part is left over: rounding may keep it out."""
PLENTY = 0.85
"""Share of the wood up to which it counts as plenty for a larger job, so that a part left over is odd."""
FOUND = 0.5
"""Fraction of the search after which loads of both islands are put together to plans."""
SHARE, COVER_NODES = 0.5, 200
"""Share of a round's time for that, and the work allowed to its solver where rounds decide."""
NODES = 500
"""Work allowed to the bound's solver, so that it gives the same answer on any machine."""
SMALL = 10
"""Jobs with fewer parts stay in one process."""


@dataclass(frozen=True)
class Search:
    """How long to look.  seconds : 0 = the first plan, None = no limit but rounds;  rounds : in place of seconds,
    the same plan on any machine;  workers : processes, None = as many as there are cores, at most two."""

    seconds: float | None = 10.0
    rounds: int | None = None
    seed: int = 0
    workers: int | None = None


@dataclass
class Progress:
    """What has been reached while searching."""

    best: Stand
    rounds: int = 0
    bound: float | None = None
    bound_known: bool = False
    interrupted: bool = False


def nest(
    parts: Sequence[Part],
    boards: Sequence[Board],
    rules: Rules,
    search: Search,
    watch: Watch | None = None,
    choices: Sequence[Choice] = (),
) -> Plan:
    """Lay the parts on the boards so that the objective of `rules` costs least; of every choice one option.

    watch : called with what is being done, the current figure (m2, boards or price) and the fraction done
    When no part fits any board the plan is empty and explains every part.  Ctrl-C ends the search and gives the
    best plan so far (`interrupted` is set); before there is a first plan it is passed on.
    """
    tell = watch or (lambda stage, figure, fraction: None)
    if not compiled():
        tell("compiling, once on this machine", 0.0, 0.0)
        compile_now()
    begun = time.monotonic()
    root = np.random.SeedSequence(search.seed)
    until = None if search.rounds is not None or not search.seconds else begun + search.seconds
    shed, first = begin(Order(tuple(parts), tuple(boards), rules, tuple(choices)), root, until)
    if parts and not first.loads:
        return finished(shed, Search(0.0, seed=search.seed), Progress(first))
    tell("first plan", first.cost, 0.0)
    progress = Progress(first)
    try:
        if wanted(search) and parts:
            look(shed, search, progress, (begun, tell), root)
            until = None if search.rounds is not None or search.seconds is None else begun + search.seconds
            progress.best = tidied(shed, progress.best, np.random.default_rng(root), until)
        find_bound(shed, search, progress)
    except KeyboardInterrupt:
        progress.interrupted = True
    tell("done", progress.best.cost, 1.0)
    return finished(shed, search, progress)


def begin(order: Order, root: np.random.SeedSequence, until: float | None = None) -> tuple[Shed, Stand]:
    """The job made ready and a first plan; with finer columns when a part left over fits no board with coarse ones,
    and in a small job when any part is left over that there is wood for, as long as there is time for it.

    until : when the search is to end, None where work decides
    """
    for finer in (1, 2, 4):
        begun = time.monotonic()
        shed = make_ready(order, finer)
        stand = first_plan(shed, np.random.default_rng(root))
        if not stand.left or len(order.parts) > FINER_UP_TO:
            break
        now = time.monotonic()
        if until is not None and now + SLOWER * (now - begun) > until:
            break
        full = float(shed.area.sum()) / max(float(shed.room.sum()), 1.0)
        tight = full < (1.0 if len(order.parts) <= TIGHT_UP_TO else PLENTY)
        if not tight and all(may_go(shed, p) for p in stand.left):
            break
    return shed, stand


def wanted(search: Search) -> bool:
    """Whether anything is to be done after the first plan."""
    if search.rounds is not None:
        return search.rounds > 0
    return search.seconds is None or search.seconds > 0


def workers_for(shed: Shed, search: Search) -> int:
    """Processes to use."""
    if search.workers is not None:
        return search.workers
    return min(ISLANDS, os.cpu_count() or 1) if len(shed.parts) >= SMALL else 1


def find_bound(shed: Shed, search: Search, progress: Progress) -> None:
    """Work out the bound once: at most a fifth of the time; by work, not time, when rounds decide."""
    if progress.bound_known:
        return
    timed = search.rounds is None and bool(search.seconds)
    seconds = (search.seconds or 0.0) / 5 if timed else 3600.0
    nodes = NODES * 100 if timed else (NODES if wanted(search) else 1)
    progress.bound = bound(shed, seconds, nodes)
    progress.bound_known = True


def look(
    shed: Shed, search: Search, progress: Progress, clock: tuple[float, Watch], root: np.random.SeedSequence
) -> None:
    """Rounds until time, rounds or patience end.  clock : when it began, whom to tell."""
    price = shares(shed, progress.best)
    islands = [Island(progress.best, progress.best, np.random.default_rng(s), price) for s in root.spawn(ISLANDS)]
    with crew(shed, workers_for(shed, search)) as work:
        while (share := done(search, progress, clock[0])) < 1.0 or owing(search, progress):
            islands = one_round(shed, search, progress, (work, clock[0], share), islands)
            clock[1]("searching", progress.best.cost, min(1.0, done(search, progress, clock[0])))


def owing(search: Search, progress: Progress) -> bool:
    """Whether a part is left over and little has been tried, as where time was up with the first plan on a busy
    machine: boards to buy must not hang on that."""
    return search.rounds is None and bool(progress.best.left) and progress.rounds < AT_LEAST


def done(search: Search, progress: Progress, begun: float) -> float:
    """Fraction of the search that is over."""
    if search.rounds is not None:
        return progress.rounds / max(search.rounds, 1)
    if search.seconds is None:
        return 0.0
    return (time.monotonic() - begun) / (SEARCHED * search.seconds)


def one_round(
    shed: Shed, search: Search, progress: Progress, now: tuple[Crew, float, float], islands: list[Island]
) -> list[Island]:
    """Let every island work once, then compare.  now : the crew, when it began, the fraction over."""
    work, begun, share = now
    offers = work.hand_over([progress.best] * len(islands)) if share >= FOUND else []
    bounds: tuple[int, float | None] = (MOVES, None)
    solving: tuple[float | None, int] = (None, COVER_NODES)
    if search.rounds is None:
        left = float("inf") if search.seconds is None else begun + SEARCHED * search.seconds - time.monotonic()
        slot = 5.0 if search.seconds is None else max(0.5, search.seconds / ROUNDS)
        if left > 0.0:
            bounds = ENDLESS, min(left, slot)
        solving = (bounds[1] or slot) * SHARE, ENDLESS  # time may have run out since it was last asked
    ease = max(0.0, 1.0 - share)
    heat = Heat(LEAVE * ease, HEAT * ease)
    tasks = [(island, bounds, heat) for island in islands]
    known = progress.best

    def meanwhile() -> None:
        nonlocal known
        find_bound(shed, search, progress)
        if any(a.loads for a in offers):
            known = covered(shed, offers, known, *solving)

    islands = compared(work.work(tasks, meanwhile), known)
    progress.best = min((*(i.best for i in islands), known), key=lambda s: s.cost)
    progress.rounds += 1
    return islands


def finished(shed: Shed, search: Search, progress: Progress) -> Plan:
    """The plan as a noun, with all figures on true outlines."""
    best = progress.best
    puts = tuple(placement(shed, board, laid) for board, load in best.loads.items() for laid in load)
    if wanted(search):
        puts = slid(shed.parts, shed.boards, shed.rules, puts)
    f = figures(shed.parts, shed.boards, shed.rules, puts)
    chosen = {shed.choices[c].id: k for c, k in enumerate(best.picked)}
    reached, limit = figure_for(shed.rules.objective, f), progress.bound
    complete = not best.left and limit is not None and reached is not None and limit > 0
    return Plan(
        placements=puts,
        unplaced=tuple(shed.parts[p].id for p in best.left),
        boards_used=f.boards,
        gross_m2=f.gross_m2,
        net_m2=f.net_m2,
        gross_yield=f.gross_yield,
        net_yield=f.net_yield,
        bound=limit,
        gap=(reached - limit) / limit if complete and limit and reached else None,
        seed=search.seed,
        rounds=progress.rounds,
        chosen=chosen,
        explained=explained(shed, best.left),
        interrupted=progress.interrupted,
    )
