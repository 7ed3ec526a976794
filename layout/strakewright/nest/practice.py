"""Compiling the moves once on a machine, if need be in a helper process while something else is done.

practice   a small job that calls every compiled move
"""

from __future__ import annotations

import multiprocessing
import os
import signal
from multiprocessing.process import BaseProcess

import numpy as np

from strakewright.arrays import Floats
from strakewright.lumber import Board, Defect, Rules
from strakewright.nest.compiling import all_compiled, compiled
from strakewright.nest.islands import helpers_start
from strakewright.nest.job import Order, make_ready
from strakewright.nest.search import first_plan
from strakewright.parts import Part

COMPILER = "compiling"
"""Name of the helper process that compiles; there is one at most."""
PATIENCE = 4
"""How far it stands back for others (as in `nice`)."""
LIMIT_DEG, MARGIN = 3.0, 5.0


def compile_ahead() -> None:
    """Have the moves compiled by a helper process, where they are not yet: a dozen processor seconds."""
    if compiled() or _helpers():
        return
    helper = helpers_start()[0].Process(name=COMPILER, target=_compile_quietly, daemon=True)
    try:
        helper.start()
    except (OSError, RuntimeError, AssertionError):
        return


def compile_now() -> None:
    """Have the moves compiled when this returns, by the helper process if one is at it."""
    for helper in _helpers():
        helper.join()
    if not compiled():
        practise()
        all_compiled()


def practise() -> None:
    """A board of each kind filled with a few parts: every move is called with the kinds of numbers it will meet."""
    knot = Defect("knot", box(400.0, 40.0, 430.0, 70.0))
    boards = tuple(Board(f"B{k}", box(0, 0, 1500, 160), 27.0, "larch", defects=(knot,) * k) for k in range(2))
    ring = np.array([(0.0, 0.0), (600.0, 0.0), (560.0, 70.0), (40.0, 70.0)])
    parts = tuple(Part(f"P{k}", ring, 20.0, "larch") for k in range(4))
    rules = Rules(8.0, MARGIN, MARGIN, LIMIT_DEG)
    first_plan(make_ready(Order(parts, boards, rules)), np.random.default_rng(0))


def box(x: float, y: float, end: float, top: float) -> Floats:
    """(4, 2) an upright rectangle."""
    return np.array([(x, y), (end, y), (end, top), (x, top)], dtype=np.float64)


def _helpers() -> list[BaseProcess]:
    """The helper that compiles, if there is one."""
    return [child for child in multiprocessing.active_children() if child.name == COMPILER]


def _compile_quietly() -> None:
    """In the helper: Ctrl-C is the parent's, and others go first."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    if hasattr(os, "nice"):
        os.nice(PATIENCE)
    practise()
    all_compiled()
