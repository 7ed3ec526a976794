"""All loads found so far weighed together: what each part costs in the best use of them.

master     loads taken in shares so that every part is covered and no board is opened more than once, at least cost
price      what it would save in the master to leave a part out: parts that are dear here are the ones to place well

Method: duals of the covering relaxation over loads found (Gilmore and Gomory 1961), by HiGHS through SciPy.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from scipy.optimize import linprog
from scipy.sparse import csr_matrix, vstack

from strakewright.arrays import Floats
from strakewright.nest.archive import Archive
from strakewright.nest.job import Shed

UP_TO = 110
"""Parts up to which loads are weighed together: with 246 the loads found are too few, and plans came out worse."""


def weighed(shed: Shed, archive: Archive, wanted: list[int]) -> Floats | None:
    """(wanted,) price of each part in the master; None when the loads known do not cover all of them."""
    others = np.ones(len(shed.parts), dtype=bool)
    others[wanted] = False
    index = np.flatnonzero(~(archive.member & others).any(axis=1))
    if not len(index) or not len(wanted):
        return None
    cover = csr_matrix(archive.member[index][:, wanted].T.astype(float))
    source = shed.source[archive.board[index]]
    boards = int(shed.source.max()) + 1
    once = csr_matrix((np.ones(len(index)), (source, np.arange(len(index)))), shape=(boards, len(index)))
    rows: Any = vstack([-cover, once])
    limit = np.concatenate([-np.ones(len(wanted)), np.ones(boards)])
    cost = archive.cost[index]
    got = linprog(cost, A_ub=rows, b_ub=limit, bounds=(0, None), method="highs")
    if got.status != 0:
        return None
    return np.maximum(-np.asarray(got.ineqlin.marginals, dtype=np.float64)[: len(wanted)], 0.0)
