"""Where a plank longer than the boards is joined.

scarf     tapered glued joint through the thickness; L = slope x thickness, half of it each side of the joint
butt      square joint on a block between two frames
bay       the space between two frames
split     the joints of one course;  stagger : how they keep from those of the courses beside it (`stagger`)

nib       square end of a dropped course: for that course and the one it is let into it counts as a joint, so that a
          scarf stands in another bay and 300 mm off

Source: fewest pieces first, then the least unequal ones, away from tight bends: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from itertools import pairwise

import numpy as np

from strakewright.arrays import Floats
from strakewright.errors import Finding
from strakewright.shop.stagger import (
    SCARFS,
    Ladder,
    Stagger,
    best_layout,
    breaches,
    other_splits,
    rules_of,
    shifted_layout,
    smallest_gaps,
)

SPOIL = 10.0
LAID = 3.0  # mm that the x of a joint laid down may be off: cut square to its plank it lies across more than one
MOST_PIECES = 5
MOST_CHOICES = 240
TIGHT = 1 / 200  # thickness over radius of bend from which a scarf is cut 12:1 and a joint is better elsewhere
SLOPE_IN_BENDS = 12.0  # common practice, no source
IN_A_BEND = 10.0  # what a joint in a tight bend costs, in squared shares of inequality
SHORTEST = {"scarf": 600.0, "butt": 5 * 304.8}  # mm; butts: no plank under 5 ft (US Army TB 55-1900-201-45/1)
IN_THE_BAY = {"scarf": (0.5, 0.3, 0.7), "butt": (0.5, 0.4, 0.6)}  # a block ends clear of the frames


@dataclass(frozen=True)
class Rule:
    """How planks are joined.  kind : "scarf" or "butt";  length : L of a scarf, mm (0 for a butt)
    stagger : the rule in force, then easier ones;  spare : further splits wanted of each course.
    in_bends : L of a scarf where the plank bends tightly;  shifted : starboard in other bays than port"""

    kind: str = "scarf"
    length: float = 0.0
    stagger: tuple[Stagger, ...] = (SCARFS,)
    spare: int = 0
    in_bends: float = 0.0
    shifted: bool = False

    def over(self, bend: float) -> float:
        """mm of a piece past the middle of its joint.  bend : thickness over radius there"""
        length = self.in_bends if bend > TIGHT else self.length
        return length / 2 + SPOIL if self.kind == "scarf" else 0.0


def slope_at(bend: float, slope: float) -> float:
    """Slope of a scarf of a plank that bends so tightly, as thickness over radius; `slope` elsewhere."""
    return max(SLOPE_IN_BENDS, slope) if bend > TIGHT else slope


def rule_of(
    kind: str,
    slope: float,
    thickness: float,
    asked: tuple[int | None, float | None] = (None, None),
    spare: int = 0,
) -> Rule:
    """The rule of a kind of joint.  asked : bays and mm between joints of neighbours, None = by the trade"""
    lengths = [thickness * k if kind == "scarf" else 0.0 for k in (slope, slope_at(1.0, slope))]
    return Rule(kind, lengths[0], rules_of(kind, *asked), spare, lengths[1])


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
    fixed : x of its joints when they are laid down beforehand;  bend : s -> thickness over radius of bend
    nibs : x of the nibs it ends in or that are let into it;  starboard : as `fixed`, where that side is shifted;
    shifts : whether its joints may be shifted there"""

    name: str
    lo: float
    hi: float
    x_at: Callable[[Floats], Floats]
    blank: Callable[[float, float], tuple[float, float]]
    fixed: tuple[float, ...] | None = None
    bend: Callable[[Floats], Floats] = np.zeros_like
    nibs: tuple[float, ...] = ()
    starboard: tuple[float, ...] | None = None
    shifts: bool = True


CUT_FROM = 0.8
"""Share of the wood of long boards reckoned to end as planks left whole."""

Place = tuple[float, int, float]
"""s, bay and x of a place where a joint may stand."""


@dataclass(frozen=True)
class Split:
    """joints : s of each;  bays, xs : where they are;  cost : how unequal the pieces are, and joints in bends"""

    joints: tuple[float, ...]
    bays: tuple[int, ...]
    xs: tuple[float, ...]
    cost: float


@dataclass(frozen=True)
class Joined:
    """Joints of all courses.  splits : for each course the one taken, then further lawful ones (any combination of
    them keeps the rule);  asked, kept : the rule, and what of it could be kept;  findings
    off_nibs : whether every joint keeps off the nibs;  starboard : of each course, where it is joined unlike port"""

    splits: tuple[tuple[Split, ...], ...]
    asked: Stagger
    kept: Stagger
    findings: tuple[Finding, ...] = field(default=())
    off_nibs: bool = True
    starboard: tuple[Split | None, ...] = ()

    @property
    def taken(self) -> list[list[float]]:
        """s of the joints of each course."""
        return [list(row[0].joints) for row in self.splits]


def place_joints(courses: list[Joinable], frames: Floats, room: Room, rule: Rule) -> Joined:
    """Joints of every course, in the fewest pieces that the boards allow.  frames : x of the frames, ascending"""
    findings: list[Finding] = []
    spared = left_whole(courses, room)
    choices = [_choices(c, frames, room, rule, (findings, k in spared)) for k, c in enumerate(courses)]
    ladders = [_ladder(c, row) for c, row in zip(courses, choices, strict=True)]
    picks, kept = best_layout(ladders, rule.stagger)
    asked = rule.stagger[0]
    chosen = [row[i] for row, i in zip(choices, picks, strict=True)]
    if kept != asked:
        findings.append(_eased(courses, ladders, picks, chosen, asked))
    findings += _in_bends(courses, chosen, rule)
    by_nibs = _by_nibs(courses, chosen, frames)
    findings += by_nibs
    others = other_splits(ladders, picks, kept, rule.spare) if rule.spare else [[i] for i in picks]
    splits = tuple(tuple(row[i] for i in kept_ones) for row, kept_ones in zip(choices, others, strict=True))
    joined = Joined(splits, asked, kept, tuple(findings), not by_nibs)
    return _shifted(joined, courses, choices, (frames, room, rule)) if rule.shifted else joined


def _ladder(c: Joinable, row: list[Split]) -> Ladder:
    """Splits as the rule is asked of them.  x of joints laid down beforehand is that of the ends, as they were cut."""
    return Ladder.of([(x.bays, x.xs, x.cost) for x in row], 0.0 if c.fixed is None and c.starboard is None else LAID)


def _shifted(
    joined: Joined, courses: list[Joinable], choices: list[list[Split]], how: tuple[Floats, Room, Rule]
) -> Joined:
    """The same with other joints to starboard, under the rule that port keeps, wherever a course allows them.

    choices : lawful splits of each course, as port had them to choose from"""
    frames, _, rule = how
    own = [row[0] for row in joined.splits]
    rows = [
        _for_starboard(c, row, how) if mine.joints and c.shifts else []
        for c, row, mine in zip(courses, choices, own, strict=True)
    ]
    ladders = [_ladder(c, [mine, *row]) for c, mine, row in zip(courses, own, rows, strict=True)]
    picks = shifted_layout(ladders, joined.kept)
    found = tuple(rows[k][i - 1] if i else None for k, i in enumerate(picks))
    there = [replace(c, name=c.name[:-1] + "S") for c, other in zip(courses, found, strict=True) if other]
    taken = [other for other in found if other]
    by_nibs = _by_nibs(there, taken, frames)
    findings = [*_in_bends(there, taken, rule), *by_nibs]
    stuck = [c.name for c, mine, other in zip(courses, own, found, strict=True) if mine.joints and other is None]
    if stuck:
        findings.append(
            Finding(
                "joints-not-shifted",
                "warning",
                ", ".join(stuck),
                f"no lawful joints stand in another bay and {SCARFS.apart:.0f} mm from those of the other side:"
                " both sides are joined alike here",
                'Bring longer boards, or set one more frame; joint_sides = "alike" joins all as pairs',
            )
        )
    off_nibs = joined.off_nibs and not by_nibs
    return replace(joined, findings=(*joined.findings, *findings), off_nibs=off_nibs, starboard=found)


def _for_starboard(c: Joinable, row: list[Split], how: tuple[Floats, Room, Rule]) -> list[Split]:
    """What a course may be given to starboard: as port, but joints laid down for port alone do not bind it."""
    if c.fixed is None and c.starboard is None:
        return [x for x in row if x.joints]
    return [x for x in _choices(replace(c, fixed=c.starboard), *how, ([], False)) if x.joints]


def _eased(
    courses: list[Joinable], ladders: list[Ladder], picks: list[int], chosen: list[Split], asked: Stagger
) -> Finding:
    """What was asked for, and how near to it the joints stand."""
    bays, apart = smallest_gaps([(c.bays, c.xs) for c in chosen])
    near = "no two neighbours are joined" if bays == 99 else f"neighbours stand {bays} bays and {apart:.0f} mm apart"
    return Finding(
        "joint-stagger-eased",
        "warning",
        ", ".join(courses[k].name for k in breaches(ladders, picks, asked)),
        f"no layout from these boards keeps the rule of joints ({asked.words()}); in the nearest one {near} at least",
        "Bring longer boards, move a frame, or glue scarfs, which may stand nearer than butts",
    )


def _in_bends(courses: list[Joinable], chosen: list[Split], rule: Rule) -> list[Finding]:
    found = []
    for course, split in zip(courses, chosen, strict=True):
        bends = course.bend(np.array(split.joints)) if split.joints else np.zeros(0)
        tight = [f"x {x:.0f}" for x, bend in zip(split.xs, bends, strict=True) if bend > TIGHT]
        if tight:
            advice = (
                "These scarfs are cut 12:1; longer boards would spare them"
                if rule.kind == "scarf"
                else "Scarf this plank, 12:1, or bring longer boards"
            )
            what = f"a joint stands where the plank bends tighter than 200 times its thickness: {', '.join(tight)}"
            found.append(Finding("joint-in-a-bend", "warning", course.name, what, advice))
    return found


def _by_nibs(courses: list[Joinable], chosen: list[Split], frames: Floats) -> list[Finding]:
    """Joints that stand by a nib because nothing else could be had, or because they were laid down so."""
    found = []
    for course, split in zip(courses, chosen, strict=True):
        at = [(x, b) for x, b in zip(split.xs, split.bays, strict=True) if not _off_nibs((0.0, b, x), course, frames)]
        if at:
            what = f"a joint stands by the nib of a dropped strake: {', '.join(f'x {x:.0f}' for x, _ in at)}"
            advice = "Bring longer boards, or set a frame so that the nib falls elsewhere; fasten both well"
            found.append(Finding("joint-by-a-nib", "warning", course.name, what, advice))
    return found


def _off_nibs(place: Place, c: Joinable, frames: Floats) -> bool:
    """Whether a place is in another bay than every nib of the course, and far enough from it."""
    bays = [int(np.searchsorted(frames, x)) - 1 for x in c.nibs]
    return all(place[1] != b and abs(place[2] - x) >= SCARFS.apart for x, b in zip(c.nibs, bays, strict=True))


def left_whole(courses: list[Joinable], room: Room) -> set[int]:
    """Numbers of the courses that need no joint: the longest first, as far as boards long enough go round for both
    sides of the boat (two long boards do not spare a dozen planks their scarfs)."""
    size = {k: c.blank(c.lo, c.hi) for k, c in enumerate(courses) if c.fixed is None}
    spared, used = set[int](), 0.0
    for k in sorted((k for k in size if room.takes(*size[k])), key=lambda k: -size[k][0]):
        length, width = size[k]
        there = float((room.lengths * room.widths)[room.lengths >= length].sum())
        if used + 2 * length * width <= CUT_FROM * there:
            spared.add(k)
            used += 2 * length * width
    return spared


def _choices(c: Joinable, frames: Floats, room: Room, rule: Rule, told: tuple[list[Finding], bool]) -> list[Split]:
    """All lawful splits of one course in the fewest pieces.  told : findings, whether boards go round for it whole"""
    whole = Split((), (), (), 0.0)
    findings, spared = told
    if c.fixed is not None:
        return [_fixed(c, frames)]
    if spared or not len(room.lengths):
        return [whole]
    places = _places(c, frames, rule)
    clear = [p for p in places if _off_nibs(p, c, frames)]
    for some in (clear, places) if len(clear) < len(places) else (places,):  # by a nib only where nothing else will do
        for pieces in range(2, MOST_PIECES + 1):
            found = _splits(c, some, pieces, room, rule)
            if found:
                return sorted(found, key=lambda x: x.cost)
    length, width = c.blank(c.lo, c.hi)
    if room.takes(length, width):
        return [whole]
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


def _fixed(c: Joinable, frames: Floats) -> Split:
    """The joints laid down beforehand, those off the plank left out."""
    s = np.linspace(c.lo, c.hi, 400)
    x = c.x_at(s)
    order = np.argsort(x)
    xs = tuple(at for at in c.fixed or () if x.min() < at < x.max())
    found = tuple(float(np.interp(at, x[order], s[order])) for at in xs)
    bays = tuple(int(np.searchsorted(frames, at)) - 1 for at in xs)
    return Split(found, bays, xs, 0.0)


def _places(c: Joinable, frames: Floats, rule: Rule) -> list[Place]:
    """(s, bay, x) of every place a joint may stand: the middle of a bay and some way to either side."""
    s = np.linspace(c.lo, c.hi, 400)
    x = c.x_at(s)
    order = np.argsort(x)
    found = []
    for bay, (a, b) in enumerate(pairwise(frames)):
        for part in IN_THE_BAY[rule.kind]:
            at = a + part * (b - a)
            if x.min() < at < x.max():
                found.append((float(np.interp(at, x[order], s[order])), bay, float(at)))
    return sorted(found)


def _splits(c: Joinable, places: list[Place], pieces: int, room: Room, rule: Rule) -> list[Split]:
    share = (c.hi - c.lo) / pieces
    fits, least = _remembered(c, room, rule), min(SHORTEST[rule.kind], 0.5 * share)
    bends = dict(zip((p[0] for p in places), c.bend(np.array([p[0] for p in places])), strict=True))
    found: list[Split] = []

    def extend(chosen: list[Place], start: float) -> None:
        """Depth first, nearest to equal shares first; a piece that fits no board ends the branch."""
        if len(found) >= limit[0]:
            return
        if len(chosen) == pieces - 1:
            if c.hi - start >= least and fits(start, c.hi):
                found.append(_split(chosen, c, share, [bends[p[0]] for p in chosen]))
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


def _split(chosen: list[Place], c: Joinable, share: float, bends: list[float]) -> Split:
    lengths = np.diff([c.lo, *[p[0] for p in chosen], c.hi])
    cost = float(((lengths - share) ** 2).sum()) / share**2 + IN_A_BEND * sum(b > TIGHT for b in bends)
    s, bays, xs = zip(*chosen, strict=True)
    return Split(tuple(s), tuple(bays), tuple(xs), cost)


def _remembered(c: Joinable, room: Room, rule: Rule) -> Callable[[float, float], bool]:
    known: dict[tuple[float, float], bool] = {}
    reach: dict[float, float] = {c.lo: 0.0, c.hi: 0.0}

    def over(s: float) -> float:
        if s not in reach:
            reach[s] = rule.over(float(c.bend(np.array([s]))[0]))
        return reach[s]

    def fits(a: float, b: float) -> bool:
        if (a, b) not in known:
            length, width = c.blank(a, b)
            known[a, b] = room.takes(length + over(a) + over(b), width)
        return known[a, b]

    return fits
