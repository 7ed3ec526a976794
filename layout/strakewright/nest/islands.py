"""Two searches side by side on two cores, compared at fixed points.

island     a line of search with its own source of chance, fixed by the seed
round      every island makes the same number of moves (or works the same time), then they are compared: an island
           that has fallen behind goes on from the best plan

What comes out depends on seed and rounds only, not on how many cores did the work.
"""

from __future__ import annotations

import multiprocessing
import os
import signal
import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, replace
from multiprocessing.connection import Connection
from typing import Any, TypeAlias

from strakewright.errors import DefectError
from strakewright.nest.archive import Archive
from strakewright.nest.covering import handed_over
from strakewright.nest.job import Order, Shed, make_ready
from strakewright.nest.search import Heat, Island, Stand, improve

ISLANDS = 2
BEHIND = 1.004
"""An island whose best is worse than this times the best of all starts again from the best of all."""

Task: TypeAlias = tuple[Island, tuple[int, float | None], Heat]
"""An island, how many moves and seconds it may make, how lenient it is."""


@dataclass(frozen=True)
class Crew:
    """work : the islands after a round, something else being done meanwhile;
    hand_over : the loads that promise most, of every line of search (plans in hand of the islands)."""

    work: Callable[[Sequence[Task], Callable[[], None]], list[Island]]
    hand_over: Callable[[Sequence[Stand]], list[Archive]]


def compared(islands: Sequence[Island], other: Stand) -> list[Island]:
    """The islands after a round: those fallen behind take over the best plan, an island's or another."""
    best = min((*(i.best for i in islands), other), key=lambda s: s.cost)
    return [replace(i, stand=best, best=best) if i.best.cost > best.cost * BEHIND else i for i in islands]


def _serve(pipe: Connection, job: tuple[Order, int] | Shed) -> None:
    """A helper process: answers tasks until the pipe closes.  The parent alone listens to Ctrl-C."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    shed = job if isinstance(job, Shed) else make_ready(*job)
    archive = Archive(len(shed.parts))
    try:
        while True:
            asked = pipe.recv()
            if isinstance(asked, Stand):
                pipe.send(handed_over(shed, archive, asked))
                continue
            island, bounds, heat = asked
            pipe.send(improve(shed, island, archive, bounds, heat))
    except (EOFError, OSError):
        return


def alone(shed: Shed) -> Crew:
    """A crew of one: islands one after another in this process, sharing the time."""
    archives = [Archive(len(shed.parts)) for _ in range(ISLANDS)]

    def work(tasks: Sequence[Task], meanwhile: Callable[[], None]) -> list[Island]:
        begun = time.monotonic()
        meanwhile()
        spent = time.monotonic() - begun
        return [
            improve(shed, island, archive, (moves, None if s is None else max(s - spent, 0.0) / len(tasks)), heat)
            for archive, (island, (moves, s), heat) in zip(archives, tasks, strict=True)
        ]

    def hand_over(stands: Sequence[Stand]) -> list[Archive]:
        return [handed_over(shed, archive, stand) for archive, stand in zip(archives, stands, strict=True)]

    return Crew(work, hand_over)


def helpers_start() -> tuple[Any, bool]:
    """How helper processes are started, and whether they inherit the job."""
    forks = "fork" in multiprocessing.get_all_start_methods() and os.uname().sysname == "Linux"
    return multiprocessing.get_context("fork" if forks else "spawn"), forks


@contextmanager
def crew(shed: Shed, workers: int) -> Iterator[Crew]:
    """Hands to work with: helper processes when there is more than one worker and they can be started."""
    if workers < 2:
        yield alone(shed)
        return
    context, inherits = helpers_start()
    pipes, helpers = [], []
    try:
        for _ in range(ISLANDS):
            near, far = context.Pipe()
            job = shed if inherits else (shed.order, shed.finer)
            helper = context.Process(target=_serve, args=(far, job), daemon=True)
            helper.start()
            far.close()
            pipes.append(near)
            helpers.append(helper)
        yield _together(pipes)
    finally:
        for pipe in pipes:
            pipe.close()
        for helper in helpers:
            helper.terminate()
            helper.join()


def _together(pipes: Sequence[Connection]) -> Crew:
    """A crew of helper processes, one island each."""

    def work(tasks: Sequence[Task], meanwhile: Callable[[], None]) -> list[Island]:
        sent(tasks)
        meanwhile()
        return answers()

    def hand_over(stands: Sequence[Stand]) -> list[Archive]:
        sent(stands)
        return answers()

    def sent(messages: Sequence[Any]) -> None:
        for pipe, message in zip(pipes, messages, strict=True):
            pipe.send(message)

    def answers() -> list[Any]:
        try:
            return [pipe.recv() for pipe in pipes]
        except EOFError as gone:
            raise DefectError("a helper process of the nesting search stopped") from gone

    return Crew(work, hand_over)
