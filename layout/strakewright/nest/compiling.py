"""Compiled moves made once on a machine, without anybody waiting for them.

kept       folder for the machine code of exactly these sources
compiled   whether all of it is there already
meanwhile  a helper process compiles while this run fills its boards by plain moves; the next run finds the code

Where rounds decide, or nothing but the first plan is asked, the plan must be the same on every run: there the moves are
compiled first, however long it takes.
"""

from __future__ import annotations

import hashlib
import importlib.util
import os
import signal
from collections.abc import Callable
from functools import cache
from pathlib import Path

DONE = "complete"
"""Name of the file that says so."""
PATIENCE = 4
"""How far the helper process stands back for others (as in `nice`)."""


def installed() -> bool:
    """Whether moves can be compiled at all."""
    return importlib.util.find_spec("numba") is not None


def kept() -> Path:
    """Folder for the machine code of exactly these sources: a stale piece of one module is then never called by
    another."""
    here = Path(__file__).parent
    mark = hashlib.sha256(b"".join(p.read_bytes() for p in sorted(here.glob("swift*.py")))).hexdigest()[:16]
    home = Path(os.environ.get("XDG_CACHE_HOME") or Path.home() / ".cache")
    return home / "strakewright" / mark


def compiled() -> bool:
    """Whether nothing is left to compile."""
    return (kept() / DONE).exists()


@cache
def compiled_from_the_start(folder: Path) -> bool:
    """Whether nothing was left to compile when first asked: all timed plans of one run are made by the same moves, so
    that they can be compared.  folder : as kept"""
    return (folder / DONE).exists()


def all_compiled() -> None:
    """Note that nothing is left to compile; where the folder cannot be written every run begins afresh."""
    try:
        kept().mkdir(parents=True, exist_ok=True)
        (kept() / DONE).touch()
    except OSError:
        return


def quietly(work: Callable[[], object]) -> None:
    """Work in a helper process: Ctrl-C is the parent's, and others go first."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    if hasattr(os, "nice"):
        os.nice(PATIENCE)
    work()
