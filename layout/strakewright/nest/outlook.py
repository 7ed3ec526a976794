"""What the parts still to be laid can use of a length or a height, so that wood no part can use counts as waste.

slack      what is left of a length after laying the best sum of some sizes in it
outlook    slack of every length along a board and of every height across it
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from strakewright.arrays import Floats, Ints
from strakewright.nest.ways import Ways

HEIGHTS = 400
"""mm of height looked ahead for."""


class Outlook(NamedTuple):
    """along : (columns + 1,) slack of a length;  across : (mm + 1,) slack of a height;  over : columns an end commonly
    overhangs."""

    along: Floats
    across: Floats
    over: int


def slack_table(sizes: Sequence[int], limit: int, repeat: bool) -> Floats:
    """What is left of a length 0..limit after laying the best sum of `sizes` in it.

    repeat : every size as often as liked, else once;  limit : > 0

    >>> slack_table([3, 5], 9, repeat=False).tolist()
    [0.0, 1.0, 2.0, 0.0, 1.0, 0.0, 1.0, 2.0, 0.0, 1.0]
    """
    reach, mask = 1, (1 << (limit + 1)) - 1
    for size in sizes:
        shift = size
        while shift <= limit:
            reach |= (reach << shift) & mask
            if not repeat:
                break
            shift *= 2
    bits = np.unpackbits(np.frombuffer(reach.to_bytes(limit // 8 + 1, "little"), np.uint8), bitorder="little")
    best = np.maximum.accumulate(np.where(bits[: limit + 1] > 0, np.arange(limit + 1), 0))
    return (np.arange(limit + 1) - best).astype(np.float64)


def ahead(ways: Ways, parts: Sequence[int] | Ints, columns: int) -> Outlook:
    """The outlook of some parts on boards of so many columns."""
    first = [int(ways.of[p][0]) for p in parts]
    wide = sorted({int(np.ceil(ways.girth[w] - 0.01)) for w in first})
    return Outlook(
        slack_table([int(ways.columns[w] - ways.left[w] - ways.right[w]) for w in first], columns, False),
        slack_table(wide, HEIGHTS, True),
        int(np.median([ways.left[w] + ways.right[w] for w in first])) if first else 0,
    )
