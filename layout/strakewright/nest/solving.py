"""Whole-number programmes, solved by HiGHS through SciPy without a word.

HiGHS writes a line now and then straight to the process's standard output, past Python (seen with SciPy 1.17, where an
answer is mended to whole numbers); there `--json` promises the record alone.
"""

from __future__ import annotations

import ctypes
import os
import sys
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from typing import Any

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp

from strakewright.arrays import Floats

STDOUT = 1


def chosen(cost: Floats, rows: Sequence[LinearConstraint], seconds: float | None, nodes: int, gap: float) -> Any:
    """Which of things to take at least cost, each whole or not at all; SciPy's `OptimizeResult`.

    cost : (n,);  rows : what must hold of the (n,) of nought and one;  seconds, nodes : limits on the solver's work
    gap : relative, at which it may stop
    """
    limits: Any = {"node_limit": nodes, "mip_rel_gap": gap}
    if seconds is not None:
        limits["time_limit"] = max(seconds, 0.05)
    whole = np.ones(len(cost), dtype=np.int64)
    with unsaid():
        return milp(cost, integrality=whole, bounds=Bounds(0, 1), constraints=list(rows), options=limits)


@contextmanager
def unsaid() -> Iterator[None]:
    """Whatever compiled code writes to standard output meanwhile is lost."""
    sys.stdout.flush()
    try:
        kept = os.dup(STDOUT)
    except OSError:  # closed: nothing can be said anyway
        yield
        return
    nowhere = os.open(os.devnull, os.O_WRONLY)
    os.dup2(nowhere, STDOUT)
    try:
        yield
    finally:
        _flushed()
        os.dup2(kept, STDOUT)
        os.close(kept)
        os.close(nowhere)


def _flushed() -> None:
    """Let the C library write out what it holds back."""
    if os.name == "posix":
        ctypes.CDLL(None).fflush(None)
