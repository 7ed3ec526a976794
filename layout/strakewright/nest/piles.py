"""What to order when only the kind of pile is known: random widths and lengths of one wood and thickness.

pile      boards as they come: widths even between two limits, lengths in whole steps
order     board feet delivered before the parts can all be cut from what has come
must-have boards that every plan needs and few of the pile are: so wide and so long at least, and how many

Method: seeded piles are drawn board by board and nested; the order of each is the shortest run of its boards that holds
all parts; quantiles are taken over the piles (order statistics).  Derived.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.random import Generator
from shapely.geometry import Polygon

from strakewright.lumber import Board, Defect, Pile, Rules
from strakewright.measure import INCH, feet_of, size_of, tally
from strakewright.nest.bound import least_extents
from strakewright.nest.engine import Search, nest
from strakewright.nest.fitting import narrowest
from strakewright.parts import Part
from strakewright.plan import Plan

MOST = 6
"""So many times the boards that would do by area are drawn at most."""
RARE = 0.6
"""A size is worth asking for when no more than this share of the pile has it."""
KNOT = (8.0, 30.0)
"""Extent of drawn knots in mm: invented."""


@dataclass(frozen=True, eq=False)
class Delivery:
    """boards : as drawn, end trim off;  plan : how the parts lie on them."""

    boards: tuple[Board, ...]
    plan: Plan

    @property
    def feet(self) -> float:
        """Board feet, exact."""
        return sum(feet_of(*size_of(b)) for b in self.boards)

    @property
    def counted(self) -> float:
        """Board feet as a grader counts them."""
        return sum(tally(size_of(b) for b in self.boards))


@dataclass(frozen=True)
class MustHave:
    """At least `count` boards this wide and this long as bought;  share : of the pile that is so."""

    count: int
    width: float
    length: float
    share: float


def drawn(pile: Pile, rng: Generator, number: int) -> Board:
    """One board as it comes off the pile."""
    width = float(rng.uniform(*pile.width)) if pile.width[1] > pile.width[0] else pile.width[0]
    length = float(rng.choice(pile.lengths()))
    usable = length - 2 * pile.end_trim
    outline = np.array([[0.0, 0.0], [usable, 0.0], [usable, width], [0.0, width]])
    marred = [_knot(rng, usable, width) for _ in range(int(rng.poisson(pile.knots * usable * width / 1e6)))]
    price = None if pile.price is None else pile.price * feet_of(length, width, pile.rough)
    wood = (pile.thickness, pile.species, tuple(marred), price, pile.rough)
    return Board(f"D{number}", outline, *wood, end_trim=pile.end_trim)


def _knot(rng: Generator, length: float, width: float) -> Defect:
    size = float(rng.uniform(*KNOT)) / 2
    middle = np.array([rng.uniform(0, length), rng.uniform(0, width)])
    turn = np.linspace(0.0, 2 * np.pi, 9)[:-1]
    return Defect("knot", middle + size * np.column_stack([np.cos(turn), np.sin(turn)]))


def delivery(parts: Sequence[Part], rules: Rules, pile: Pile, seed: Sequence[int], effort: int) -> Delivery | None:
    """The shortest run of boards off one pile that takes all parts; None when it never does.

    effort : rounds of search for each try;  raises KeyboardInterrupt, which the search itself would keep
    """
    if not all(may_hold(p, rules, pile) for p in parts):
        return None
    rng = np.random.default_rng(seed)
    boards: list[Board] = []
    search = Search(rounds=effort, seconds=None, seed=0, workers=1)
    area = sum(Polygon(p.outline).area for p in parts)
    short, plan = 0, None

    def take(n: int) -> None:
        while len(boards) < n:
            boards.append(drawn(pile, rng, len(boards) + 1))

    def tried(n: int) -> Plan:
        take(n)
        plan = nest(parts, boards[:n], rules, search)
        if plan.interrupted:  # an order from half a search would be wrong, not early
            raise KeyboardInterrupt
        return plan

    take(1)
    while sum(Polygon(b.outline).area for b in boards) < area:
        take(len(boards) + 1)
    count = len(boards)
    most = MOST * count + 10
    while count <= most:
        found = tried(count)
        if not found.unplaced:
            plan = found
            break
        short, count = count, count + max(1, round(0.06 * count))
    if plan is None:
        return None
    while count - short > 1:
        middle = (count + short) // 2
        found = tried(middle)
        if found.unplaced:
            short = middle
        else:
            count, plan = middle, found
    return Delivery(tuple(boards[:count]), plan)


def may_hold(part: Part, rules: Rules, pile: Pile) -> bool:
    """Whether the largest board of a pile is long and wide enough for a part."""
    limit = rules.max_skew_deg if part.max_skew_deg is None else part.max_skew_deg
    length, width = least_extents(part.outline, limit)
    margin = 2 * rules.edge_margin - 0.1
    return length + margin + 2 * pile.end_trim <= pile.length[1] and width + margin <= pile.width[1]


def quantile(values: Sequence[float], share: float) -> float:
    """The least value that so large a share of the values do not exceed.

    >>> quantile([3.0, 1.0, 2.0, 4.0], 0.5), quantile([3.0, 1.0, 2.0, 4.0], 0.8)
    (2.0, 4.0)
    """
    return sorted(values)[max(math.ceil(share * len(values) - 1e-9) - 1, 0)]


def asked(part: Part, rules: Rules, pile: Pile) -> tuple[float, float]:
    """Width and length of board as bought that a part asks for, to whole inches and whole steps."""
    limit = rules.max_skew_deg if part.max_skew_deg is None else part.max_skew_deg
    width, length, _ = narrowest(part.outline, limit)
    wide = math.ceil((width + 2 * rules.edge_margin) / INCH - 1e-6) * INCH
    needs = length + 2 * rules.edge_margin + 2 * pile.end_trim
    return wide, pile.length[0] + max(math.ceil((needs - pile.length[0]) / pile.step - 1e-6), 0) * pile.step


def must_haves(parts: Sequence[Part], rules: Rules, pile: Pile, found: Sequence[Delivery]) -> list[MustHave]:
    """Sizes that few boards have and every delivery used, the scarcest first."""
    wants = {p.id: asked(p, rules, pile) for p in parts}
    listed: list[MustHave] = []
    for width, length in sorted(set(wants.values())):
        hold = {name for name, (w, n) in wants.items() if w >= width - 1e-6 and n >= length - 1e-6}
        count = min(len({q.board for q in d.plan.placements if q.part in hold}) for d in found)
        share = pile.share(width, length)
        if count and share <= RARE:
            listed.append(MustHave(count, width, length, share))
    return sorted(_telling(listed), key=lambda m: (m.share, -m.count))


def _telling(listed: Sequence[MustHave]) -> list[MustHave]:
    """Without those that another one, larger in size and no smaller in number, implies."""
    return [
        m
        for m in listed
        if not any(o != m and o.width >= m.width and o.length >= m.length and o.count >= m.count for o in listed)
    ]
