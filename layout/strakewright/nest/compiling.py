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
    """A mark of exactly these sources, where and of when they are, as the compiler tells machine code apart by both: a
    stale piece of one module is then never called by another, and what is there for one installation is not taken to
    be there for the next."""
    mark = hashlib.sha256()
    for path in sorted(Path(__file__).parent.glob("swift*.py")):
        mark.update(f"{path} {path.stat().st_mtime_ns} ".encode() + path.read_bytes())
    return mark.hexdigest()[:16]


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
