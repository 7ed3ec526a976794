"""All loads found so far weighed together: what each part costs in the best use of them.

master     loads taken in shares so that every part is covered and no board is opened more than once, at least cost
price      what it would save in the master to leave a part out: parts that are dear here are the ones to place well

Method: duals of the covering relaxation over loads found (Gilmore and Gomory 1961), by HiGHS through SciPy.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import Any

import numpy as np
from scipy.optimize import linprog
from scipy.sparse import csr_matrix, vstack

from strakewright.arrays import Floats, Ints
from strakewright.nest.archive import Archive
from strakewright.nest.job import Shed

UP_TO = 110
"""Parts up to which loads are weighed together: with 246 the loads found are too few, and plans came out worse."""

BATCH, EACH = 700, 12
"""Loads priced at a time, and so many for every part to begin with."""


@dataclass(frozen=True, eq=False)
class Master:
    """index : (n,) offers weighed;  cover : (parts wanted, n) which parts they hold;  once : (boards, n) which board
    they open;  cost : (n,)."""

    index: Ints
    cover: csr_matrix
    once: csr_matrix
    cost: Floats


def master(shed: Shed, archive: Archive, wanted: list[int]) -> Master | None:
    """All loads of an archive that hold none but the parts wanted; None when there are none."""
    others = np.ones(len(shed.parts), dtype=bool)
    others[wanted] = False
    index = np.flatnonzero(~(archive.member & others).any(axis=1))
    if not len(index) or not len(wanted):
        return None
    cover = csr_matrix(archive.member[index][:, wanted].T.astype(float))
    source = shed.source[archive.board[index]]
    boards = int(shed.source.max()) + 1
    once = csr_matrix((np.ones(len(index)), (source, np.arange(len(index)))), shape=(boards, len(index)))
    return Master(index, cover, once, archive.cost[index])


def prices(asked: Master, guess: Floats | None = None) -> tuple[Floats, Floats] | None:
    """What leaving a part out, and what one board more, would save: (parts,), (boards,); None when the loads do not
    cover the parts.  Weighed a batch at a time: first the loads that cost least by a guess at the prices, then those
    that the prices so far undercut, until none is left (column generation: Gilmore and Gomory 1961).

    guess : (parts,) None = from the loads
    """
    many = asked.cover.shape[1]
    if many <= 2 * BATCH:
        return _priced(asked, np.arange(many))
    told = _shared(asked) if guess is None else guess
    order = np.argsort(asked.cost / np.maximum(asked.cover.T @ told, 1e-12), kind="stable")
    inside = np.zeros(many, dtype=bool)
    inside[order[:BATCH]] = True
    inside[_each(asked, order)] = True
    while (got := _priced(asked, np.flatnonzero(inside))) is not None:
        reduced = asked.cost - asked.cover.T @ got[0] + asked.once.T @ got[1]
        reduced[inside] = 0.0
        under = np.argsort(reduced, kind="stable")[:BATCH]
        under = under[reduced[under] < -1e-9]
        if not len(under):
            return got
        inside[under] = True
    return _priced(asked, np.arange(many))


def _shared(asked: Master) -> Floats:
    """(parts,) a first guess at the prices: the least that a part costs where parts share by number."""
    each = asked.cost / np.asarray(asked.cover.sum(axis=0)).ravel()
    found = [each[asked.cover.indices[a:b]].min(initial=np.inf) for a, b in pairwise(asked.cover.indptr)]
    return np.asarray(np.minimum(np.array(found), float(asked.cost.max())))


def _each(asked: Master, order: Ints) -> Ints:
    """For every part the first few loads, in an order, that hold it, so that the batch covers what can be."""
    place = np.empty(len(order), dtype=np.int64)
    place[order] = np.arange(len(order))
    rows = [asked.cover.indices[a:b] for a, b in pairwise(asked.cover.indptr)]
    found = [row[np.argsort(place[row], kind="stable")[:EACH]] for row in rows]
    return np.concatenate(found, dtype=np.int64)


def _priced(asked: Master, index: Ints) -> tuple[Floats, Floats] | None:
    """The same over some of the loads only."""
    cover, once = asked.cover[:, index], asked.once[:, index]
    rows: Any = vstack([-cover, once])
    parts, boards = cover.shape[0], once.shape[0]
    limit = np.concatenate([-np.ones(parts), np.ones(boards)])
    got = linprog(asked.cost[index], A_ub=rows, b_ub=limit, bounds=(0, None), method="highs")
    if got.status != 0:
        return None
    saved = np.maximum(-np.asarray(got.ineqlin.marginals, dtype=np.float64), 0.0)
    return saved[:parts], saved[parts:]


def weighed(shed: Shed, archive: Archive, wanted: list[int], guess: Floats | None = None) -> Floats | None:
    """(wanted,) price of each part in the master; None when the loads known do not cover all of them.

    guess : (parts,) prices so far
    """
    asked = master(shed, archive, wanted)
    got = None if asked is None else prices(asked, None if guess is None else guess[wanted])
    return None if got is None else got[0]
