"""Shapes to be drawn full size on paper, other than planks: frames, formers, transom, stem, bevel board.

line      one line of the pattern and what it is for
pattern   all lines of one piece in one plane, with the words that stand on it
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from strakewright.arrays import Floats, frozen_array

LineKind = Literal["cut", "other face", "scribe", "centreline", "reference", "clamp hole"]
"""cut : saw here;  other face : where the far face ends, when its bevel is on;  scribe : marks to carry over, as
frame lines and notches to pare;  centreline, reference : to set the piece up by;  clamp hole : bore here (closed)"""


@dataclass(frozen=True, eq=False)
class DrawnLine:
    """points : (n, 2) mm in the pattern's plane;  closed : the last point joins the first, not repeated;
    words : stand beside the line, or nothing"""

    points: Floats
    kind: LineKind
    closed: bool = False
    words: str = ""

    def __post_init__(self) -> None:
        object.__setattr__(self, "points", frozen_array(self.points, (None, 2), f"{self.kind} line"))


@dataclass(frozen=True, eq=False)
class Drawn:
    """One full-size pattern.

    id : unique, as chalked on the piece;  title : what it is, as "Frame F3, looking forward, big face aft"
    notes : one line each, printed beside the pattern
    spots : named points (2,) mm between which straight distances are printed to measure the paper by
    """

    id: str
    title: str
    lines: tuple[DrawnLine, ...]
    notes: tuple[str, ...] = ()
    spots: tuple[tuple[str, Floats], ...] = ()

    def __post_init__(self) -> None:
        spots = tuple((name, frozen_array(at, (2,), f"spot {name!r}")) for name, at in self.spots)
        object.__setattr__(self, "spots", spots)
