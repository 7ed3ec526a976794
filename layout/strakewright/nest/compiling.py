"""Compiled moves are kept on the machine: where, and whether they are all there.

kept       folder for the machine code of exactly these sources
compiled   whether all of it is there already
"""

from __future__ import annotations

from pathlib import Path

from strakewright.compiling import has_compiler, home, mark_of

DONE = "complete"
"""Name of the file that says so."""


def sources() -> str:
    """A mark of exactly the sources of the moves."""
    return mark_of(Path(__file__).parent.glob("swift*.py"))


def kept() -> Path:
    """Folder for the machine code."""
    return home() / sources()


def compiled() -> bool:
    """Whether nothing is left to compile; so it is without a compiler."""
    return not has_compiler() or (kept() / DONE).exists()


def all_compiled() -> None:
    """Note that nothing is left to compile."""
    kept().mkdir(parents=True, exist_ok=True)
    (kept() / DONE).touch()
