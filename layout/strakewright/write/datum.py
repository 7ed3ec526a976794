"""Where a board's x = 0 and y = 0 lie on the wood, in words for the bench.

butt      end the board is measured from, squared where its end trim stops
string    line from end to end of a lower edge that is not straight (crook, wane): jointing such an edge would take
          wood that parts lie in; it is struck on the side that was faced, before the board is cut shorter
"""

from __future__ import annotations

import numpy as np

from strakewright.arrays import Floats
from strakewright.lumber import Board
from strakewright.units import print_mm, print_tape

STRAIGHT = 0.5
"""mm an edge may lie off y = 0 and still be jointed to it."""


def lower_edge(board: Board) -> Floats:
    """(n, 2) the lower edge from butt to top.  mm"""
    ring = board.outline
    first, last = (np.lexsort((ring[:, 1], sign * ring[:, 0]))[0] for sign in (1.0, -1.0))
    return np.asarray(np.roll(ring, -first, axis=0)[: (last - first) % len(ring) + 1])


def is_jointed(board: Board) -> bool:
    """Whether the lower edge is straight along y = 0, so that it can be jointed to it."""
    return bool(np.abs(lower_edge(board)[:, 1]).max() <= STRAIGHT)


def butt_words(board: Board) -> str:
    """Where x = 0 is."""
    if board.end_trim:
        return f"the butt, squared {_short(board.end_trim)} off its end, is x = 0"
    return "one squared butt is x = 0"


def edge_words(board: Board) -> str:
    """Where y = 0 is."""
    if is_jointed(board):
        return "one jointed edge is y = 0"
    edge = lower_edge(board)
    ends = zip(("butt", "top"), edge[[0, -1], 1], strict=True)
    off = [f"{_short(abs(y))} {'below' if y > 0 else 'above'} it at the {end}" for end, y in ends if abs(y) > STRAIGHT]
    where = f", {' and '.join(off)}," if off else ""
    start, end = (_short(x) if x else "0" for x in edge[[0, -1], 0])
    string = f"a string along it from x = {start} to x = {end}{where} is y = 0"
    return f"the lower edge is not straight, do not joint it: {string}"


def squaring(board: Board) -> str:
    """The first step at the bench."""
    if board.end_trim:
        return f"Crosscut: square the butt {_short(board.end_trim)} off its end; there x = 0."
    return "Crosscut: square the butt; that end is x = 0."


def facing(board: Board) -> str:
    """The step that gives y = 0."""
    if is_jointed(board):
        return "Face one side; joint one edge: y = 0. Measure from here on."
    words = edge_words(board)
    return f"Face one side. {words[0].upper()}{words[1:]}. Strike that line there now, and measure from it."


def _short(mm: float) -> str:
    return f"{print_mm(mm)} ({print_tape(mm)})"
