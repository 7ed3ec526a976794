"""How far joints of neighbouring strakes must keep from each other, and what to try when that cannot be had.

bay       the space between two frames, numbered from aft
stagger   joints of strakes side by side stand so many bays and so many mm apart
between   solid strakes between two joints in one bay
eased     the rule given way in steps, each of them a rule of the trade or nearer to one than the next

Sources: butts on blocks, US Army TB 55-1900-201-45/1 (wood hull repair), paras 2-12 and 2-13: three frame spaces, and
5 ft where frames stand unusually, three solid strakes between butts of one bay (the larger of the two distances is
taken); 4 ft with three strakes: Great Lakes rules of 1866; two spaces and two strakes, and the rule for glued scarfs
(another bay, 300 mm): common practice, no source.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from strakewright.arrays import Bools, Floats

BEAM = 250
EASED = 1e6
ALIKE = 1e3  # what a course costs that is joined as on the other side, where it should not be
FOOT = 304.8


@dataclass(frozen=True)
class Stagger:
    """bays, apart : of joints in strakes side by side, at least;  between : solid strakes between joints of one bay"""

    bays: int
    apart: float
    between: int = 0

    def words(self) -> str:
        """The rule as it is said in the shop."""
        row = f"{self.bays} frame spaces and {self.apart:.0f} mm between joints of neighbours"
        if self == NO_RULE:
            return "joints as they fall"
        row = row if self.bays > 1 else f"another bay and {self.apart:.0f} mm between joints of neighbours"
        return row + (f", {self.between} whole strakes between joints in one bay" if self.between else "")


SCARFS = Stagger(1, 300.0)
BUTTS = Stagger(3, 5 * FOOT, 3)
NO_RULE = Stagger(0, 0.0)
EASIER_BUTTS = (Stagger(3, 4 * FOOT, 3), Stagger(2, 4 * FOOT, 3), Stagger(2, 3 * FOOT, 2), Stagger(1, 2 * FOOT, 1))


def rules_of(kind: str, bays: int | None, apart: float | None) -> tuple[Stagger, ...]:
    """The rule in force and the easier ones to fall back on.  bays, apart : asked for, None = by the kind of joint"""
    usual = BUTTS if kind == "butt" else SCARFS
    first = Stagger(usual.bays if bays is None else bays, usual.apart if apart is None else apart, usual.between)
    easier = EASIER_BUTTS if kind == "butt" else ()
    rest = (*easier, SCARFS, Stagger(0, 300.0), Stagger(0, 150.0))
    return (first, *(r for r in rest if r != first and r.bays <= first.bays and r.apart <= first.apart))


@dataclass(frozen=True, eq=False)
class Ladder:
    """The lawful splits of one course.  bays, xs : (n, most) of each split's joints, nan beyond them;  cost : (n,)
    slack : mm that xs may be off"""

    bays: Floats
    xs: Floats
    cost: Floats
    slack: float = 0.0

    @staticmethod
    def of(rows: Sequence[tuple[Sequence[int], Sequence[float], float]], slack: float = 0.0) -> Ladder:
        most = max([1, *(len(bays) for bays, _, _ in rows)])
        filled = np.full((2, len(rows), most), np.nan)
        for i, (bays, xs, _) in enumerate(rows):
            filled[0, i, : len(bays)], filled[1, i, : len(xs)] = bays, xs
        return Ladder(filled[0], filled[1], np.array([cost for _, _, cost in rows]), slack)


def clashes(a: Ladder, b: Ladder, apart: int, rule: Stagger) -> Bools:
    """(n, m) whether a split of one course breaks the rule beside a split of the course `apart` strakes away."""
    if apart > max(1, rule.between):
        return np.zeros((len(a.cost), len(b.cost)), dtype=np.bool_)
    bays = np.abs(a.bays[:, None, :, None] - b.bays[None, :, None, :])
    if apart > 1:
        return np.asarray((bays == 0).any(axis=(2, 3)))
    near = np.abs(a.xs[:, None, :, None] - b.xs[None, :, None, :]) < rule.apart - max(a.slack, b.slack)
    return np.asarray(((bays < rule.bays) | near).any(axis=(2, 3)))


def best_layout(ladders: list[Ladder], rules: tuple[Stagger, ...]) -> tuple[list[int], Stagger]:
    """One split a course under the first rule that can be kept, and that rule; else the fewest breaches of the last."""
    picks: list[int] = []
    for rule in rules:
        picks, broken = _laid_out(ladders, rule)
        if not broken:
            return picks, rule
    return picks, NO_RULE


def _laid_out(ladders: list[Ladder], rule: Stagger) -> tuple[list[int], bool]:
    """The cheapest row of splits, breaches dearer than all else; a beam search over the last few courses."""
    reach = max(1, rule.between)
    grids = [
        {d: clashes(ladders[k - d], ladders[k], d, rule) for d in range(1, min(reach, k) + 1)}
        for k in range(len(ladders))
    ]
    states: list[tuple[float, tuple[int, ...]]] = [(0.0, ())]
    for k, ladder in enumerate(ladders):
        total = np.array([cost for cost, _ in states])[:, None] + ladder.cost
        for d, grid in grids[k].items():
            total += EASED * grid[[picks[k - d] for _, picks in states]]
        found: dict[tuple[int, ...], tuple[float, tuple[int, ...]]] = {}
        for at in np.argsort(total, axis=None, kind="stable")[: 8 * BEAM].tolist():
            row, i = divmod(at, len(ladder.cost))
            picks = (*states[row][1], i)
            found.setdefault(picks[-reach:], (float(total[row, i]), picks))
        states = sorted(found.values())[:BEAM]
    cost, picks = states[0]
    return list(picks), cost >= EASED


def shifted_layout(ladders: list[Ladder], rule: Stagger) -> list[int]:
    """One split a course for the other side of the boat, with as few as may be joined as on this side.

    ladders : the first split of each is this side's; any other is taken only if each of its joints stands in another
    bay and 300 mm from all of this side's.  Where the rule cannot be kept so, the first of all
    """
    rows, allowed = [], []
    for ladder in ladders:
        own = Ladder(ladder.bays[:1], ladder.xs[:1], ladder.cost[:1], ladder.slack)
        free = ~clashes(own, ladder, 1, SCARFS)[0]
        free[0] = True
        extra = np.where(np.arange(len(free)) == 0, ALIKE * np.isfinite(ladder.xs[0]).any(), 0.0)
        allowed.append(np.flatnonzero(free))
        rows.append(Ladder(ladder.bays[free], ladder.xs[free], (ladder.cost + extra)[free], ladder.slack))
    picks, broken = _laid_out(rows, rule)
    if broken or rule == NO_RULE:
        return [0] * len(ladders)
    return [int(some[i]) for some, i in zip(allowed, picks, strict=True)]


def breaches(ladders: list[Ladder], picks: list[int], rule: Stagger) -> list[int]:
    """Courses whose joints break the rule with those of a course before them."""
    found = set()
    for k in range(len(ladders)):
        for d in range(1, min(max(1, rule.between), k) + 1):
            if clashes(ladders[k - d], ladders[k], d, rule)[picks[k - d], picks[k]]:
                found.add(k)
    return sorted(found)


def other_splits(ladders: list[Ladder], picks: list[int], rule: Stagger, most: int) -> list[list[int]]:
    """For each course its pick and up to `most` more splits, such that any combination keeps the rule.

    A split is taken only when it agrees with every split already kept for the courses near it.
    """
    kept = [[pick] for pick in picks]
    for _ in range(most):
        for k, ladder in enumerate(ladders):
            free = np.ones(len(ladder.cost), dtype=np.bool_)
            for j, others in enumerate(kept):
                if 0 < abs(j - k) <= max(1, rule.between):
                    free &= ~clashes(ladder, ladders[j], abs(j - k), rule)[:, others].any(axis=1)
            for i in kept[k]:
                free &= _unlike(ladder, i)
            if free.any():
                order = np.flatnonzero(free)
                kept[k].append(int(order[np.argmin(ladder.cost[order])]))
    return kept


def _unlike(ladder: Ladder, i: int) -> Bools:
    """(n,) splits with another number of joints than split i, or a joint at least 300 mm from all of its own."""
    gaps = np.abs(ladder.xs[:, :, None] - ladder.xs[i][None, None, :])
    counts = np.isfinite(ladder.xs).sum(axis=1) != np.isfinite(ladder.xs[i]).sum()
    nearest = np.where(np.isnan(gaps), np.inf, gaps).min(axis=2)
    away = np.where(np.isfinite(ladder.xs), nearest, 0.0).max(axis=1) >= SCARFS.apart
    return np.asarray(counts | away)


def smallest_gaps(chosen: Sequence[tuple[Sequence[int], Sequence[float]]]) -> tuple[int, float]:
    """Fewest bays and mm between joints of strakes side by side; (99, inf) where no two neighbours are joined."""
    bays, apart = 99, float("inf")
    for (bays_a, xs_a), (bays_b, xs_b) in pairwise(chosen):
        bays = min([bays, *(abs(p - q) for p in bays_a for q in bays_b)])
        apart = min([apart, *(abs(p - q) for p in xs_a for q in xs_b)])
    return bays, apart
