"""What each board can be: whole, or resawn into leaves.

wood       a board in one of the shapes it can take, with the number of leaves it then gives
leaf       one of the thinner boards of a resawn one; all have its outline
group      the woods of one board: only one of them can be

Leaves of a board T thick, `skip` off each face first, `kerf` for each cut, `clean` off every leaf afterwards:
n = floor((T - 2 skip + kerf) / (leaf + clean + kerf)); 27 mm, skip 1.5, kerf 2, leaf 10, clean 1: exactly 2.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from strakewright.lumber import Board, Rules
from strakewright.parts import Part

SKIP, CLEAN = 1.5, 1.0


@dataclass(frozen=True, eq=False)
class Wood:
    """board : with the thickness it then has;  source : number of the board it comes from;  leaves : 1 = whole."""

    board: Board
    source: int
    leaves: int = 1


def leaves_of(rough: float, leaf: float, rules: Rules) -> int:
    """How many leaves finishing at `leaf` a board `rough` thick gives;  rules.resaw_kerf must be set.

    >>> leaves_of(27.0, 10.0, Rules(resaw_kerf=2.0)), leaves_of(25.4, 9.5, Rules(resaw_kerf=2.0))
    (2, 1)
    """
    kerf = rules.resaw_kerf or 0.0
    skip = SKIP if rules.resaw_skip is None else rules.resaw_skip
    clean = CLEAN if rules.resaw_clean is None else rules.resaw_clean
    return math.floor((rough - 2 * skip + kerf) / (leaf + clean + kerf) + 1e-9)


def woods(parts: Sequence[Part], boards: Sequence[Board], rules: Rules) -> list[Wood]:
    """Every shape of every board, board after board."""
    found: list[Wood] = []
    for number, board in enumerate(boards):
        found.append(Wood(board, number, board.leaves))
        if rules.resaw_kerf is None or board.rough_thickness is None or board.leaves > 1:
            continue
        if rules.resaw_max is not None and float(np.ptp(board.outline[:, 1])) > rules.resaw_max:
            continue
        for leaf in sorted({p.thickness for p in parts if p.species == board.species}):
            count = leaves_of(board.rough_thickness, leaf, rules)
            if count > 1:
                found.append(Wood(replace(board, thickness=leaf), number, count))
    return found
