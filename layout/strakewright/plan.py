"""Which part lies on which board, and how well the wood is used.

placement   flip (y to -y) if set, turn counter-clockwise about the part's own (0, 0), shift by (x, y)
bound       area no plan can go below; gap = how far the plan may be above the best possible
book-matched  mates out of neighbouring leaves at one place, opened like a book
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field

SAME_PLACE, SAME_TURN = 0.01, 1e-4
"""mm and degrees within which two placements count as one place: nest.json is written to more than that."""


@dataclass(frozen=True)
class Placement:
    """Where one part lies.  x, y mm · rotation_deg counter-clockwise · leaf : 1-based leaf of a resawn board."""

    part: str
    board: str
    x: float
    y: float
    rotation_deg: float = 0.0
    flip: bool = False
    leaf: int | None = None


def book_matched(one: Placement, other: Placement) -> bool:
    """Whether two mates lie as in an opened book: at one place on neighbouring leaves of a board, only the one farther
    from the face turned over, so that their faces at the saw cut show the same grain.

    >>> port = Placement("P", "B", 10.0, 20.0, 180.0, leaf=1)
    >>> mate = Placement("S", "B", 10.0, 20.0, 180.0, flip=True, leaf=2)
    >>> aside = Placement("S", "B", 11.0, 20.0, 180.0, flip=True, leaf=2)
    >>> book_matched(port, mate), book_matched(mate, port), book_matched(port, aside)
    (True, True, False)
    """
    near, far = sorted((one, other), key=lambda q: q.leaf or 0)
    if not near.leaf or (far.board, far.leaf) != (near.board, near.leaf + 1) or near.flip or not far.flip:
        return False
    turn = abs((near.rotation_deg - far.rotation_deg + 180.0) % 360.0 - 180.0)
    return math.hypot(near.x - far.x, near.y - far.y) <= SAME_PLACE and turn <= SAME_TURN


@dataclass(frozen=True)
class Plan:
    """A complete answer.  Yields and gap are fractions; bound in m2 for the objective, None when unknown.

    chosen : choice id -> option number;  explained : part id -> why it fits no board
    interrupted : stopped by the user before its time was over
    """

    placements: tuple[Placement, ...]
    unplaced: tuple[str, ...]
    boards_used: int
    gross_m2: float
    net_m2: float
    gross_yield: float
    net_yield: float
    bound: float | None
    gap: float | None
    seed: int
    rounds: int
    chosen: dict[str, int] = field(default_factory=dict)
    explained: dict[str, str] = field(default_factory=dict)
    interrupted: bool = False


def above_best(gap: float) -> str:
    """What a gap says of a plan, in words; rounded up, so that it stays true.

    >>> above_best(0.0831), above_best(0.0)
    ('at most 8.4 % above the best possible', 'at most 0 % above the best possible')
    """
    return f"at most {math.ceil(1000 * max(gap, 0.0) - 1e-9) / 10:g} % above the best possible"
