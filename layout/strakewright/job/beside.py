"""Work done in a second process while the first goes on: both cores of a small machine are used."""

from __future__ import annotations

import multiprocessing
import os
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from multiprocessing.connection import Connection


@contextmanager
def beside(work: Callable[[], None]) -> Iterator[None]:
    """Run `work` (which only writes files) beside the block; both are done when the block ends.

    Where processes cannot be forked, or there is one core, it simply runs first.  An exception of `work` is raised
    here, after the block.
    """
    if not sys.platform.startswith("linux") or (os.cpu_count() or 1) < 2:
        work()
        yield
        return
    forks = multiprocessing.get_context("fork")
    mine, theirs = forks.Pipe(duplex=False)
    child = forks.Process(target=_told, args=(work, theirs), daemon=True)
    child.start()
    theirs.close()
    try:
        yield
        trouble = mine.recv()
    except BaseException:
        child.kill()
        raise
    finally:
        child.join()
        mine.close()
    if trouble is not None:
        raise trouble


def _told(work: Callable[[], None], answer: Connection) -> None:
    try:
        work()
    except Exception as trouble:
        answer.send(trouble)
    else:
        answer.send(None)
