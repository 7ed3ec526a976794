"""Choosing the pieces of one lane together, so that they fill its length.

lane       pieces laid end to end along a stretch, all about as wide as each other
team       the pieces chosen for a lane before the first is laid
slant      which way a piece's ends lean: -1 like a backslash, 1 like a slash, 0 square or neither; pieces of one slant
           tuck into each other
gauge      what a lane sees of a part: length it takes up when tucked, height, slant

Method: 0/1 knapsack by dynamic programming (textbook) over column counts.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.random import Generator

from strakewright.arrays import Floats, Ints
from strakewright.nest.ways import Ways

MEMBERS = 36
"""Pieces weighed for a lane at most."""
MISFIT = 0.72
"""A piece lower than this share of its lane is not asked to join."""


@dataclass(frozen=True, eq=False)
class Gauge:
    """Per part: length (columns, tucked), over (columns of one slanted end), height (mm), slant."""

    length: Ints
    over: Ints
    height: Floats
    slant: Ints


def gauge(ways: Ways) -> Gauge:
    """The gauge of every part, from its first way."""
    first = np.array([int(w[0]) for w in ways.of], dtype=np.int64)
    left, right = ways.left[first], ways.right[first]
    slant = np.sign(right - left) * (np.abs(right - left) > 3)
    over = np.where(slant == 0, 0, np.maximum(left, right))
    return Gauge(ways.columns[first] - over, over, ways.height[first], slant)


def knapsack(length: Ints, value: Floats, room: int) -> list[int]:
    """Which items together are worth most within `room`.  length : (k,) > 0;  value : (k,) >= 0.

    >>> knapsack(np.array([4, 3, 3]), np.array([5.0, 3.0, 3.0]), 6)
    [2, 1]
    """
    table = np.zeros((len(length) + 1, room + 1))
    for i, size in enumerate(length):
        table[i + 1] = table[i]
        if size <= room:
            np.maximum(table[i, size:], table[i, : room + 1 - size] + value[i], out=table[i + 1, size:])
    chosen: list[int] = []
    for i in range(len(length) - 1, -1, -1):
        if table[i + 1, room] > table[i, room]:
            chosen.append(i)
            room -= int(length[i])
    return chosen


def team(
    g: Gauge, parts: Sequence[int], worth: Floats, lane: tuple[int, float, float], rng: Generator
) -> list[int] | None:
    """Pieces for a lane, or None when two or more cannot be found.

    worth : (parts,) value of each part;  lane : columns, height of the lane, height free there
    """
    room, height, free = lane
    pick = np.asarray(parts)
    tall = g.height[pick]
    pick = pick[(tall <= min(height + 0.5, free)) & (tall >= MISFIT * height)]
    if rng.random() < 0.75 and len(pick):
        slant = g.slant[int(rng.choice(pick))]
        pick = pick[(g.slant[pick] == slant) | (g.slant[pick] == 0)]
    if len(pick) > MEMBERS:
        pick = rng.choice(pick, MEMBERS, replace=False)
    if len(pick) < 2:
        return None
    chosen = knapsack(g.length[pick], worth[pick], max(room - int(g.over[pick].max()), 1))
    return [int(pick[i]) for i in chosen] if len(chosen) > 1 else None
