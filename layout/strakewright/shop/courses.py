"""Seams and courses: what lining off makes and everything after it reads.

seam      line between two courses, on the middle of the layer, run on past the panel's borders
course    one run of planking between two seams (or a seam and the border); course 1 is hung first
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np

from strakewright.arrays import Floats
from strakewright.geometry.crossings import Crossing, Piece
from strakewright.geometry.fans import Fan
from strakewright.geometry.geodesics import BaseCurve
from strakewright.shop.skins import Skin

Width = Callable[[Floats], Floats]
"""mm at (n,) stations s of a seam."""

LEAST = 2.0  # mm: a width is never less, however far a taper is carried on


@dataclass(frozen=True, eq=False)
class Seam:
    """A seam as a curve by true length.

    curve : chart curve by arc length;  stations : (n,) mm along it, SEAM_STEP apart
    crossings : with the skin's ring, `along` in mm of arc length
    border : name of the border it lies on, None inside the panel
    """

    curve: BaseCurve
    stations: Floats
    chart: Floats
    crossings: tuple[Crossing, ...]
    border: str | None = None


@dataclass(frozen=True)
class OneWidth:
    """A course of one width, mm, all along."""

    mm: float

    def __call__(self, s: Floats) -> Floats:
        return np.full(np.shape(s), self.mm)

    @property
    def slope(self) -> float:
        """mm of width per mm along."""
        return 0.0


@dataclass(frozen=True)
class TaperedWidth:
    """A course that widens or narrows evenly along it.

    mm : width at s = first;  slope : mm of width per mm along;  first, last : s between which the taper is reckoned
    """

    mm: float
    slope: float
    first: float
    last: float

    def __call__(self, s: Floats) -> Floats:
        return np.maximum(self.mm + self.slope * (np.asarray(s) - self.first), LEAST)

    @property
    def taper(self) -> float:
        """Difference in width between the two ends, mm, never negative."""
        return abs(self.slope) * (self.last - self.first)


@dataclass(frozen=True, eq=False)
class DrawnWidth:
    """A width that changes along the course: a smooth curve between the first and the last s it is known at."""

    curve: Callable[[Floats], Floats]
    first: float
    last: float

    def __call__(self, s: Floats) -> Floats:
        return np.asarray(self.curve(np.clip(s, self.first, self.last)))


@dataclass(frozen=True, eq=False)
class Course:
    """The region between two seams, and the fan that measures it.

    number : 1 = hung first;  loops : closed walks round it (more than one where the border cuts it apart)
    base : the seam that carries s (t = 0 there);  fan : geodesics square from it
    other : the far seam, None where the course runs to the border
    width : (s -> mm) distance from base to the far edge;  side : +1 when the course lies left of base, else -1
    left, right : the seams on the two sides, None at a border
    """

    number: int
    loops: tuple[tuple[Piece, ...], ...]
    base: Seam
    fan: Fan
    width: Width
    side: int
    left: Seam | None
    right: Seam | None

    def middle(self, s: Floats) -> Floats:
        """(n,) t of the course's middle line."""
        return np.asarray(self.side * self.width(s) / 2)


@dataclass(frozen=True, eq=False)
class Lined:
    """All courses of a layer.  up : +1 when +t is the flat shape's +y (strakes), -1 for diagonals.

    nominal : width mm asked for (0 when it varies);  first_is_left : the `first` edge lies left of the course
    """

    skin: Skin
    courses: tuple[Course, ...]
    up: int
    nominal: float
    first_is_left: bool
    figures: dict[str, float] = field(default_factory=dict)
