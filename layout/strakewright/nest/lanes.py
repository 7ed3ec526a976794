"""What a lane, a row of pieces laid end to end along a board, sees of a part.

slant      which way a part's ends lean: -1 like a backslash, 1 like a slash, 0 square or neither; pieces of one slant
           tuck into each other
gauge      length a part takes up when tucked, its height, its slant
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from strakewright.arrays import Floats, Ints
from strakewright.nest.ways import Ways


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
