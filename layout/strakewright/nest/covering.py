"""The best plan that can be put together from loads found so far, by both lines of search.

cover      loads such that every part lies on at least one board and no board is opened more than once
promising  loads that could stand in a plan cheaper than the one in hand: by the prices of the covering in shares a
           load dearer than the gap between that covering and the plan cannot
doubled    a part lying in two loads of a cover; it is taken off one of them

Method: set covering over patterns (Gilmore and Gomory 1961) with reduced-cost fixing, by HiGHS through SciPy.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from scipy.optimize import LinearConstraint

from strakewright.arrays import Ints
from strakewright.nest.archive import Archive
from strakewright.nest.building import parts_of
from strakewright.nest.job import Load, Shed, cost
from strakewright.nest.search import Stand, standing, wanted
from strakewright.nest.solving import chosen
from strakewright.nest.weighing import UP_TO, Master, master, prices

HANDED = 4000
"""Loads one line of search hands over at most."""
WEIGHED = 3000
"""Loads put before the solver at most."""


def handed_over(shed: Shed, archive: Archive, best: Stand) -> Archive:
    """The loads of one line of search that promise most by its own prices; empty for jobs too large."""
    some = Archive(len(shed.parts))
    if len(shed.parts) > UP_TO or best.left:
        return some
    _with(shed, archive, best)
    found = promising(shed, archive, best, HANDED, dearer=True)
    for i in found if found is not None else ():
        some.take(archive, int(i))
    return some


def _with(shed: Shed, archive: Archive, stand: Stand) -> None:
    """Add the loads of a plan."""
    for board, load in stand.loads.items():
        archive.add(board, load, parts_of(shed, [load]), cost(shed, board, load))


def promising(shed: Shed, archive: Archive, best: Stand, most: int, dearer: bool = False) -> Ints | None:
    """Numbers of the loads that could better a plan, the likeliest first; None where the loads do not cover it.

    dearer : those too dear by these prices as well, as other loads may yet bring the prices down
    """
    asked = master(shed, archive, wanted(shed, best.picked))
    if asked is None or (got := prices(asked)) is None:
        return None
    part, board = got
    reduced = asked.cost - asked.cover.T @ part + asked.once.T @ board
    least = float(part.sum() - board.sum())
    own = sum(cost(shed, b, load) for b, load in best.loads.items())
    order = np.argsort(reduced, kind="stable")[:most]
    return np.asarray(asked.index[order if dearer else order[reduced[order] < own - least]])


def covered(shed: Shed, archives: Sequence[Archive], best: Stand, seconds: float | None, nodes: int) -> Stand:
    """The best plan made of loads handed over, or the plan in hand.  nodes, seconds : limits on the solver's work"""
    merged = Archive(len(shed.parts))
    _with(shed, merged, best)
    own = list(range(len(merged.loads)))
    for archive in archives:
        for i in range(len(archive.loads)):
            merged.take(archive, i)
    if best.left or (found := promising(shed, merged, best, WEIGHED)) is None:
        return best
    index = np.unique(np.concatenate([own, found]).astype(np.int64))
    asked = master(shed, merged.only(index), wanted(shed, best.picked))
    taken = solved(asked, seconds, nodes) if asked is not None and len(index) > len(own) else None
    if taken is None:
        return best
    loads = {int(merged.board[i]): merged.loads[int(i)] for i in index[taken]}
    tried = standing(shed, undoubled(shed, loads), (), best.picked)
    return tried if tried.cost < best.cost - 1e-12 else best


def solved(asked: Master, seconds: float | None, nodes: int) -> Ints | None:
    """Numbers of the loads of the cheapest cover found; None where none is found in time."""
    rows = [LinearConstraint(asked.cover, 1.0, np.inf), LinearConstraint(asked.once, 0.0, 1.0)]
    found = chosen(asked.cost, rows, seconds, nodes, 1e-4)
    return None if found.x is None else np.flatnonzero(np.asarray(found.x) > 0.5)


def undoubled(shed: Shed, loads: dict[int, Load]) -> dict[int, Load]:
    """Loads with every part on one board only: a part goes from the load that has most parts to lose, and a part that
    must share a board with its match goes with it."""
    kept: dict[int, Load] = {}
    seen: set[int] = set()
    for board in sorted(loads, key=lambda b: (len(loads[b]), b)):
        mine = parts_of(shed, [loads[board]])
        gone = {p for p in mine if p in seen}
        kept[board] = tuple(laid for laid, p in zip(loads[board], mine, strict=True) if p not in gone)
        seen |= set(mine)
    return kept
