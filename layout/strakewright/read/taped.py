"""A board as a tape finds it: width at both ends, crook, and what mars it as a short list.

crook     gap between the hollow edge and a string along it; the hollow edge lies down (at y = 0)
mar       kind, along, across, size: "knot 1200 40 25; check 0 80 220x6", measured from the corner where the tape starts
          to the middle of the defect, across from the lower edge there

The hollow edge is taken as a parabola through both ends (derived).  Knots become ellipses, the rest rectangles.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from strakewright.arrays import Floats
from strakewright.errors import InputError
from strakewright.lumber import Defect

TAPED = ("width_end", "crook", "defects")
"""Columns of a table of boards that say more than length, width and thickness."""
POINTS = 25
_FIX = 'Write kind, along, across, size: "knot 1200 40 25; check 0 80 220x6"'

Size = Callable[[str, float, float], float]


@dataclass(frozen=True)
class Taped:
    """length : usable, mm;  width, width_end : at the two ends, None = the same;  crook : mm."""

    length: float
    width: float
    width_end: float | None = None
    crook: float = 0.0

    def low(self, x: Floats) -> Floats:
        """Height of the lower edge."""
        return np.asarray(self.crook * (1.0 - (2.0 * x / self.length - 1.0) ** 2))

    def high(self, x: Floats) -> Floats:
        """Height of the upper edge."""
        end = self.width if self.width_end is None else self.width_end
        return np.asarray(self.low(x) + self.width + (end - self.width) * x / self.length)

    def outline(self) -> Floats:
        """(n, 2) mm, counter-clockwise, (0, 0) where the tape starts."""
        x = np.linspace(0.0, self.length, POINTS if self.crook else 2)
        return np.concatenate([np.column_stack([x, self.low(x)]), np.column_stack([x, self.high(x)])[::-1]])


def marred_in(text: str, board: Taped, end_trim: float, size: Size) -> tuple[Defect, ...]:
    """The defects of a cell;  size : reads a length between two limits;  raises InputError."""
    return tuple(_mar(entry.strip(), board, end_trim, size) for entry in text.split(";") if entry.strip())


def _mar(entry: str, board: Taped, end_trim: float, size: Size) -> Defect:
    words = entry.rsplit(maxsplit=3)
    if len(words) != 4 or not re.fullmatch(r"[A-Za-z][A-Za-z ]*", words[0]):
        raise InputError(f"{entry!r:.60} is no defect", fix=_FIX)
    extent = re.split("[xX]", words[3])
    if len(extent) > 2:
        raise InputError(f"{words[3]!r:.40} is no size", fix=_FIX)
    along, across = size(words[1], 0, 30_000) - end_trim, size(words[2], 0, 1000)
    long, wide = size(extent[0], 0.5, 30_000), size(extent[-1], 0.5, 1000)
    middle = np.array([along, across + float(board.low(np.array([min(max(along, 0.0), board.length)]))[0])])
    if "knot" in words[0].lower():
        turn = np.linspace(0.0, 2 * np.pi, 17)[:-1]
        ring = np.column_stack([np.cos(turn), np.sin(turn)]) / np.cos(np.pi / 16)
    else:
        ring = np.array([[-1.0, -1.0], [1.0, -1.0], [1.0, 1.0], [-1.0, 1.0]])
    return Defect(words[0].lower(), middle + ring * [long / 2, wide / 2])
