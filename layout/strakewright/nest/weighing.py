"""All loads found so far weighed together: what each part costs in the best use of them.

master     loads taken in shares so that every part is covered and no board is opened more than once, at least cost
price      what it would save in the master to leave a part out: parts that are dear here are the ones to place well

Method: duals of the covering relaxation over loads found (Gilmore and Gomory 1961), by HiGHS through SciPy.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from scipy.optimize import linprog
from scipy.sparse import csr_matrix, vstack

from strakewright.arrays import Floats, Ints
from strakewright.nest.archive import Archive
from strakewright.nest.job import Shed

UP_TO = 110
"""Parts up to which loads are weighed together: with 246 the loads found are too few, and plans came out worse."""


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


def prices(asked: Master) -> tuple[Floats, Floats] | None:
    """What leaving a part out, and what one board more, would save: (parts,), (boards,); None when the loads do not
    cover the parts."""
    rows: Any = vstack([-asked.cover, asked.once])
    parts, boards = asked.cover.shape[0], asked.once.shape[0]
    limit = np.concatenate([-np.ones(parts), np.ones(boards)])
    got = linprog(asked.cost, A_ub=rows, b_ub=limit, bounds=(0, None), method="highs")
    if got.status != 0:
        return None
    saved = np.maximum(-np.asarray(got.ineqlin.marginals, dtype=np.float64), 0.0)
    return saved[:parts], saved[parts:]


def weighed(shed: Shed, archive: Archive, wanted: list[int]) -> Floats | None:
    """(wanted,) price of each part in the master; None when the loads known do not cover all of them."""
    asked = master(shed, archive, wanted)
    got = None if asked is None else prices(asked)
    return None if got is None else got[0]
