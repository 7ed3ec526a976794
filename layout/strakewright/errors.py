"""What can go wrong, and what is worth telling.

    StrakewrightError            carries what, where, fix; `status` is the exit status of the command
    ├── UsageError      2        the command line, or a folder that may not be replaced
    ├── InputError      3        a file that cannot be read as what it should be (also a ValueError)
    ├── UnworkableError 4        sound input that has no answer: no flat shape, no part fits any board
    └── DefectError     5        an inner check failed: our fault, not the user's

A `Finding` is something to tell that does not stop the work; a `Check` is a proof with its figure.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Literal

Level = Literal["note", "warning", "blocking"]


class StrakewrightError(Exception):
    """Base of every error: what is wrong, where (file, line, key ...) and what to do instead."""

    status = 1

    def __init__(self, what: str, *, where: str = "", fix: str = "") -> None:
        self.what, self.where, self.fix = what, where, fix
        super().__init__(what, where, fix)

    def __reduce__(self) -> tuple[Any, ...]:
        """Errors travel between processes with all they carry (their arguments are by name)."""
        return _bare, (type(self),), self.__dict__

    def __str__(self) -> str:
        head = f"{self.where}: {self.what}" if self.where else self.what
        return f"{head}. {self.fix}" if self.fix else head


def _bare(kind: type[StrakewrightError]) -> StrakewrightError:
    return kind.__new__(kind)


class UsageError(StrakewrightError):
    """Wrong command line; nothing is written."""

    status = 2


class InputError(StrakewrightError, ValueError):
    """Bad input; nothing is written. `also` holds further faults found in the same go."""

    status = 3

    def __init__(self, what: str, *, where: str = "", fix: str = "", also: tuple[InputError, ...] = ()) -> None:
        super().__init__(what, where=where, fix=fix)
        self.also = also


class UnworkableError(StrakewrightError):
    """Sound input that cannot be worked out; nothing is written."""

    status = 4


class DefectError(StrakewrightError):
    """An inner check failed: a defect of the program."""

    status = 5


@dataclass(frozen=True)
class Finding:
    """Something the builder should know.  code : kebab-case, one code per kind of finding."""

    code: str
    level: Level
    subject: str
    what: str
    fix: str = ""


@dataclass(frozen=True)
class Check:
    """A proof: `value` measured against `limit` in `unit`; `holds` says whether it does."""

    name: str
    value: float
    limit: float
    unit: str
    holds: bool


def at_most(name: str, value: float, limit: float, unit: str) -> Check:
    """A check that holds when value <= limit (a value that is not a number never holds)."""
    return Check(name, float(value), float(limit), unit, bool(value <= limit))
