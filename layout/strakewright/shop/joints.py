"""Where a plank longer than the boards is joined.

scarf     tapered glued joint through the thickness; L = slope x thickness, half of it each side of the joint
bay       the space between two frames
lawful    joints of neighbouring courses lie in different bays and at least 300 mm apart (glued scarfs)

Source: rule of the trade for glued scarfs, common practice, no source.  Search: shortest path through the courses
(Viterbi), least unequal pieces first.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from strakewright.arrays import Floats
from strakewright.errors import Finding

STAGGER = 300.0
SPOIL = 10.0
MOST_PIECES = 5
MOST_CHOICES = 400
EASED = 1e6


@dataclass(frozen=True, eq=False)
class Room:
    """Boards a plank may be cut from: clear length and width of each, mm."""

    lengths: Floats
    widths: Floats

    def takes(self, length: float, width: float) -> bool:
        """Whether some board is long and wide enough."""
        return bool(np.any((self.lengths >= length) & (self.widths >= width)))


@dataclass(frozen=True, eq=False)
class Joinable:
    """A course to be joined.  name : for findings;  lo, hi : its ends in s, tails left out
    x_at : s -> x in the boat;  blank : (s0, s1) -> length and width mm of the board a piece needs;
    fixed : x of its joints when they are laid down beforehand."""

    name: str
    lo: float
    hi: float
    x_at: Callable[[Floats], Floats]
    blank: Callable[[float, float], tuple[float, float]]
    fixed: tuple[float, ...] | None = None


Place = tuple[float, int, float]
"""s, bay and x of a place where a joint may stand."""


@dataclass(frozen=True)
class _Choice:
    joints: tuple[float, ...]
    bays: tuple[int, ...]
    xs: tuple[float, ...]
    cost: float


def place_joints(
    courses: list[Joinable], frames: Floats, room: Room, scarf: float
) -> tuple[list[list[float]], list[Finding]]:
    """Joint positions (s) of every course, in the fewest pieces that the boards allow.

    frames : x of the frames, ascending;  scarf : length L mm of the joint
    """
    findings: list[Finding] = []
    ladders = [_choices(c, frames, room, scarf, findings) for c in courses]
    picks = _shortest(ladders)
    for k, (a, b) in enumerate(pairwise(picks)):
        if _clash(a, b):
            findings.append(
                Finding(
                    "joint-stagger-eased",
                    "warning",
                    courses[k + 1].name,
                    f"its joint is in the same bay as, or within {STAGGER:.0f} mm of, that of the course beside it",
                    "Bring longer boards, or move a frame",
                )
            )
    return [list(p.joints) for p in picks], findings


def _choices(c: Joinable, frames: Floats, room: Room, scarf: float, findings: list[Finding]) -> list[_Choice]:
    """All lawful splits of one course in the fewest pieces."""
    whole = _Choice((), (), (), 0.0)
    if c.fixed is not None:
        return [_fixed(c, frames)]
    if room.takes(*c.blank(c.lo, c.hi)) or not len(room.lengths):
        return [whole]
    places = _places(c, frames)
    for pieces in range(2, MOST_PIECES + 1):
        found = _splits(c, places, pieces, room, scarf)
        if found:
            return sorted(found, key=lambda x: x.cost)
    length, width = c.blank(c.lo, c.hi)
    findings.append(
        Finding(
            "plank-no-lawful-split",
            "blocking",
            c.name,
            f"needs a board {length:.0f} x {width:.0f} mm and cannot be made from the boards in up to "
            f"{MOST_PIECES} pieces",
            "Bring wider or longer boards, or use more courses",
        )
    )
    return [whole]


def _fixed(c: Joinable, frames: Floats) -> _Choice:
    """The joints laid down beforehand, those off the plank left out."""
    s = np.linspace(c.lo, c.hi, 400)
    x = c.x_at(s)
    order = np.argsort(x)
    xs = tuple(at for at in c.fixed or () if x.min() < at < x.max())
    found = tuple(float(np.interp(at, x[order], s[order])) for at in xs)
    bays = tuple(int(np.searchsorted(frames, at)) - 1 for at in xs)
    return _Choice(found, bays, xs, 0.0)


def _places(c: Joinable, frames: Floats) -> list[Place]:
    """(s, bay, x) of every place a joint may stand: the middle of a bay and a quarter of a bay to either side."""
    s = np.linspace(c.lo, c.hi, 400)
    x = c.x_at(s)
    order = np.argsort(x)
    found = []
    for bay, (a, b) in enumerate(pairwise(frames)):
        for part in (0.5, 0.3, 0.7):
            at = a + part * (b - a)
            if x.min() < at < x.max():
                found.append((float(np.interp(at, x[order], s[order])), bay, float(at)))
    return sorted(found)


def _splits(c: Joinable, places: list[Place], pieces: int, room: Room, scarf: float) -> list[_Choice]:
    share = (c.hi - c.lo) / pieces
    fits, least = _remembered(c, room, scarf), min(600.0, 0.5 * share)
    found: list[_Choice] = []

    def extend(chosen: list[Place], start: float) -> None:
        """Depth first, nearest to equal shares first; a piece that fits no board ends the branch."""
        if len(found) >= limit[0]:
            return
        if len(chosen) == pieces - 1:
            if c.hi - start >= least and fits(start, c.hi):
                found.append(_choice(chosen, c, share))
            return
        wanted = c.lo + share * (len(chosen) + 1)
        for place in sorted(places, key=lambda p: abs(p[0] - wanted)):
            if not chosen:  # every first joint gets its share of the choices
                limit[0] = len(found) + max(20, MOST_CHOICES // len(places))
            if place[0] - start >= least and fits(start, place[0]):
                extend([*chosen, place], place[0])

    limit = [MOST_CHOICES]
    extend([], c.lo)
    return found


def _choice(chosen: list[Place], c: Joinable, share: float) -> _Choice:
    lengths = np.diff([c.lo, *[p[0] for p in chosen], c.hi])
    cost = float(((lengths - share) ** 2).sum()) / share**2
    s, bays, xs = zip(*chosen, strict=True)
    return _Choice(tuple(s), tuple(bays), tuple(xs), cost)


def _remembered(c: Joinable, room: Room, scarf: float) -> Callable[[float, float], bool]:
    known: dict[tuple[float, float], bool] = {}

    def fits(a: float, b: float) -> bool:
        if (a, b) not in known:
            length, width = c.blank(a, b)
            extra = (a > c.lo) * (scarf / 2 + SPOIL) + (b < c.hi) * (scarf / 2 + SPOIL)
            known[a, b] = room.takes(length + extra, width)
        return known[a, b]

    return fits


def _clash(a: _Choice, b: _Choice) -> bool:
    return any(p == q for p in a.bays for q in b.bays) or any(abs(p - q) < STAGGER for p in a.xs for q in b.xs)


def _shortest(ladders: list[list[_Choice]]) -> list[_Choice]:
    """One choice a course, least total cost, clashes between neighbours costing more than all else."""
    best = [np.array([x.cost for x in ladders[0]])]
    back: list[Floats] = []
    for before, here in pairwise(ladders):
        clash = np.array([[_clash(a, b) for a in before] for b in here])
        step = best[-1][None, :] + EASED * clash
        back.append(np.argmin(step, axis=1))
        best.append(np.array([x.cost for x in here]) + step.min(axis=1))
    picks = [int(np.argmin(best[-1]))]
    for arrows in back[::-1]:
        picks.append(int(arrows[picks[-1]]))
    return [ladder[i] for ladder, i in zip(ladders, picks[::-1], strict=True)]
