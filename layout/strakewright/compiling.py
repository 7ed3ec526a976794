"""Compiled work is kept on the machine: where, and how a function comes to be compiled.

kept       folder for the machine code of exactly these sources
compiler   numba, an optional extra; without it the same functions run as Python, with the same answers, far slower
called     a function that is compiled the first time it is called, and kept for the next run
inner      one that only compiled functions call: it has no way in from outside
"""

from __future__ import annotations

import hashlib
import os
import tempfile
from collections.abc import Callable, Iterable
from functools import cache
from pathlib import Path
from typing import Any, TypeVar, cast

try:
    from numba import config, njit
except ImportError:  # an optional extra: the same functions then run as they are written
    config, njit = cast("Any", None), cast("Any", None)

Made = TypeVar("Made", bound=Callable[..., object])


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


def mark_of(sources: Iterable[Path]) -> str:
    """A mark of exactly these sources, where and of when they are, as the compiler tells machine code apart by both: a
    stale piece of one module is then never called by another, and what is there for one installation is not taken to
    be there for the next."""
    mark = hashlib.sha256()
    for path in sorted(sources):
        mark.update(f"{path} {path.stat().st_mtime_ns} ".encode() + path.read_bytes())
    return mark.hexdigest()[:16]


def compile_called(made: Made, folder: Path) -> Made:
    """Compile a function that is called from outside, once for all: the machine code is kept in `folder`."""
    return _compiled(made, folder, {})


def compile_inner(made: Made, folder: Path) -> Made:
    """Compile a function that only others of its kind call."""
    return _compiled(made, folder, {"no_cpython_wrapper": True})


def has_compiler() -> bool:
    """Whether work is compiled at all."""
    return njit is not None


def _compiled(made: Made, folder: Path, more: dict[str, bool]) -> Made:
    if not has_compiler():
        return made
    settings, compiler = cast("Any", config), cast("Any", njit)
    before, settings.CACHE_DIR = settings.CACHE_DIR, str(folder)
    try:
        return cast("Made", compiler(cache=True, error_model="numpy", no_cfunc_wrapper=True, **more)(made))
    finally:
        settings.CACHE_DIR = before
