"""Work done in a second process while the first goes on: both cores of a small machine are used."""

from __future__ import annotations

import multiprocessing
import os
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from multiprocessing.connection import Connection
from typing import Generic, TypeVar

Value = TypeVar("Value")


@dataclass
class Answer(Generic[Value]):
    """What the work beside gave; there once the block has ended."""

    value: Value | None = None


@contextmanager
def beside(work: Callable[[], Value]) -> Iterator[Answer[Value]]:
    """Run `work` (which writes files, and gives something small) beside the block; both are done when it ends.

    Where processes cannot be forked, or there is one core, it simply runs first.  An exception of `work` is raised
    here, after the block.
    """
    if not sys.platform.startswith("linux") or (os.cpu_count() or 1) < 2:
        yield Answer(work())
        return
    forks = multiprocessing.get_context("fork")
    mine, theirs = forks.Pipe(duplex=False)
    child = forks.Process(target=_told, args=(work, theirs), daemon=True)
    child.start()
    theirs.close()
    answer: Answer[Value] = Answer()
    try:
        yield answer
        trouble, answer.value = mine.recv()
    except BaseException:
        child.kill()
        raise
    finally:
        child.join()
        mine.close()
    if trouble is not None:
        raise trouble


def _told(work: Callable[[], object], answer: Connection) -> None:
    try:
        given = work()
    except Exception as trouble:
        answer.send((trouble, None))
    else:
        answer.send((None, given))
