"""How lumber is counted at the mill.

board foot       144 cubic inches of rough wood: 1 ft x 1 ft x 1 in nominal
surface measure  width in inches times length in feet over 12, square feet of face
tally            board feet as a grader counts them: surface measure to the whole foot, board by board, exact halves
                 alternately up and down, lengths to the foot below; times nominal thickness, an inch at least
Source: grading rules for hardwood lumber, general instructions (surface measure and its rounding from memory).
"""

from __future__ import annotations

from collections.abc import Iterable
from fractions import Fraction

import numpy as np

from strakewright.geometry.outlines import signed_area
from strakewright.lumber import Board

INCH = 25.4
FOOT = 12 * INCH
BOARD_FOOT = 144 * INCH**3  # mm3


def board_feet(board: Board) -> float:
    """Rough wood of a board as it may be used (end trim is off), 144 cubic inches each."""
    return abs(signed_area(board.outline)) * (board.rough_thickness or board.thickness) / BOARD_FOOT


def feet_of(length: float, width: float, rough: float) -> float:
    """Board feet of a rectangle, exact.  mm

    >>> round(feet_of(12 * FOOT, 8 * INCH, INCH), 9), round(feet_of(10 * FOOT, 7.5 * INCH, 1.5 * INCH), 9)
    (8.0, 9.375)
    """
    return length * width * rough / BOARD_FOOT


def surface_measure(length: float, width: float) -> Fraction:
    """Square feet of face, not yet rounded.  mm; the length is cut to the whole foot, the width to 1/16 in

    >>> surface_measure(10 * FOOT, 7.5 * INCH)
    Fraction(25, 4)
    """
    feet = int(length / FOOT + 1e-6)
    return Fraction(round(width / INCH * 16), 16) * feet / 12


def tally(sizes: Iterable[tuple[float, float, float]]) -> list[float]:
    """Board feet of each board as a grader counts them.  sizes : (length, width, rough thickness) of each, mm

    >>> tally([(12 * FOOT, 8 * INCH, INCH), (10 * FOOT, 7.5 * INCH, 1.5 * INCH)])
    [8.0, 9.0]
    >>> tally([(9 * FOOT, 6 * INCH, INCH), (9 * FOOT, 6 * INCH, INCH), (9 * FOOT, 6 * INCH, INCH)])
    [5.0, 4.0, 5.0]
    """
    counted, up = [], True
    for length, width, rough in sizes:
        face = surface_measure(length, width)
        whole, rest = divmod(face, 1)
        if rest == Fraction(1, 2):
            whole, up = whole + int(up), not up
        else:
            whole += int(rest > Fraction(1, 2))
        nominal = max(Fraction(round(rough / INCH * 64), 64), Fraction(1))
        counted.append(float(whole * nominal))
    return counted


def quarters(rough: float) -> str:
    """A rough thickness in quarters where it is one, else in mm.

    >>> quarters(31.75), quarters(27.0)
    ('5/4', '27 mm')
    """
    count = rough / INCH * 4
    return f"{round(count)}/4" if abs(count - round(count)) < 1e-6 else f"{rough:g} mm"


def size_of(board: Board) -> tuple[float, float, float]:
    """Length, mean width and rough thickness of a board as bought, its end trim counted in again.  mm"""
    length = float(np.ptp(board.outline[:, 0]))
    width = abs(signed_area(board.outline)) / length
    return length + 2 * board.end_trim, width, board.rough_thickness or board.thickness


def bought(boards: Iterable[Board]) -> dict[str, float]:
    """Board feet of boards as bought, ends counted in again: exact, and as a grader counts them."""
    sizes = [size_of(b) for b in boards]
    return {"board_feet_bought": sum(feet_of(*s) for s in sizes), "board_feet_as_tallied": sum(tally(sizes))}
