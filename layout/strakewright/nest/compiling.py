"""Compiled moves are kept on the machine: where, and whether they are all there.

kept       folder for the machine code of exactly these sources
compiled   whether all of it is there already
"""

from __future__ import annotations

import hashlib
import os
import tempfile
from functools import cache
from pathlib import Path

DONE = "complete"
"""Name of the file that says so."""


def sources() -> str:
    """A mark of exactly these sources: a stale piece of one module is then never called by another."""
    here = Path(__file__).parent
    return hashlib.sha256(b"".join(p.read_bytes() for p in sorted(here.glob("swift*.py")))).hexdigest()[:16]


@cache
def home() -> Path:
    """Where what is worth keeping between runs goes: the user's cache folder, or one for this run where that cannot be
    written."""
    wanted = Path(os.environ.get("XDG_CACHE_HOME") or Path.home() / ".cache") / "strakewright"
    try:
        wanted.mkdir(parents=True, exist_ok=True)
    except OSError:
        return Path(tempfile.mkdtemp(prefix="strakewright-"))
    return wanted if os.access(wanted, os.W_OK) else Path(tempfile.mkdtemp(prefix="strakewright-"))


def kept() -> Path:
    """Folder for the machine code."""
    return home() / sources()


def compiled() -> bool:
    """Whether nothing is left to compile."""
    return (kept() / DONE).exists()


def all_compiled() -> None:
    """Note that nothing is left to compile."""
    kept().mkdir(parents=True, exist_ok=True)
    (kept() / DONE).touch()
