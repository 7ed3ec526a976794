"""Seams and courses: what lining off makes and everything after it reads.

seam      line between two courses, on the middle of the layer, run on past the panel's borders
course    one run of planking between two seams (or a seam and the border); course 1 is hung first
nib       square end over a frame at which a course that grows too narrow stops; the course beside it takes its place
scrap     corner that a seam which leaves the panel and comes back would cut off; it stays on the plank it belongs to
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
    scraps : length mm of each short stretch inside the ring that is left out, and its middle's place along
    """

    curve: BaseCurve
    stations: Floats
    chart: Floats
    crossings: tuple[Crossing, ...]
    border: str | None = None
    scraps: tuple[tuple[float, float], ...] = ()


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
class SteppedWidth:
    """A width that changes at once where a nib stands.

    usual : away from the nibs;  steps : (s of the nib, whether it holds forward of it, width there)
    """

    usual: Width
    steps: tuple[tuple[float, bool, Width], ...]

    def __call__(self, s: Floats) -> Floats:
        s = np.asarray(s, dtype=float)
        found = np.array(self.usual(s), dtype=float)
        for at, forward, width in self.steps:
            there = s > at if forward else s < at
            found = np.where(there, width(s), found)
        return found


@dataclass(frozen=True, eq=False)
class Nib:
    """Where a course ends in a square nib, let into the course beside it.

    owner : the course as it was before it was dropped;  taker : number of the course that takes its place
    frame : name of the frame under it;  forward : whether the course is dropped forward of it, else aft
    seam, along : the seam between the two, and the nib's place on it, mm;  line : (n, 2) chart points from there across
    rim, rim_along : the seam on the owner's other side and the nib's place on it, None at the panel's border
    station : s of the nib in the taker's measure;  width : mm
    """

    owner: Course
    taker: int
    frame: str
    forward: bool
    seam: Seam
    along: float
    line: Floats
    rim: Seam | None
    rim_along: float
    station: float
    width: float


@dataclass(frozen=True, eq=False)
class Course:
    """The region between two seams, and the fan that measures it.

    number : 1 = hung first;  loops : closed walks round it (more than one where the border cuts it apart)
    base : the seam that carries s (t = 0 there);  fan : geodesics square from it
    other : the far seam, None where the course runs to the border
    width : (s -> mm) distance from base to the far edge;  side : +1 when the course lies left of base, else -1
    left, right : the seams on the two sides, None at a border
    nibs : where it ends short;  notches : nibs of its neighbours that are let into it
    behind : mm of its width that lie on the other side of base, where it takes a neighbour's place there
    instead : width of what stands beside its neighbours, also past its nibs, where it is not there itself
    """

    number: int
    loops: tuple[tuple[Piece, ...], ...]
    base: Seam
    fan: Fan
    width: Width
    side: int
    left: Seam | None
    right: Seam | None
    nibs: tuple[Nib, ...] = ()
    notches: tuple[Nib, ...] = ()
    behind: Width | None = None
    instead: Width | None = None

    def middle(self, s: Floats) -> Floats:
        """(n,) t of the course's middle line."""
        near, far = self.reaches(s)
        return np.asarray((near + far) / 2)

    def reaches(self, s: Floats) -> tuple[Floats, Floats]:
        """(n,) t of the course's two sides: the one towards base, and the far one."""
        behind = np.zeros(np.shape(s)) if self.behind is None else self.behind(s)
        return -self.side * behind, self.side * (self.width(s) - behind)


@dataclass(frozen=True, eq=False)
class Lined:
    """All courses of a layer.  up : +1 when +t is the flat shape's +y (strakes), -1 for diagonals.

    nominal : width mm asked for (0 when it varies);  first_is_left : the `first` edge lies left of the course
    listed : id of a seam -> stations on it that every plank beside it lists, because a nib stands there
    """

    skin: Skin
    courses: tuple[Course, ...]
    up: int
    nominal: float
    first_is_left: bool
    figures: dict[str, float] = field(default_factory=dict)
    listed: dict[int, list[float]] = field(default_factory=dict)
