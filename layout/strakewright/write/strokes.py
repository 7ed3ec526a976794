"""Letters as single strokes, for machines that skip text: they engrave lines, so words become lines.

grid      every sign stands in a box 4 wide and 6 high, foot at 0; the next sign begins 6 further on
sign      strokes of straight lines, each a row of grid points written as pairs of digits

Capitals, figures and the signs that shop papers use; small letters are drawn as capitals.  The alphabet is our own,
drawn for letters of 5 mm and more.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import numpy as np

from strakewright.arrays import Floats
from strakewright.write.pen import LETTER_WIDTH, Anchor, Hatch, Pen, Role

_HIGH, _WIDE, _STEP = 6.0, 4.0, 6.0
_ROUND = "100105163645413010"
_BOW = "00063645443303"
_SIGNS = {
    "A": "002640 1333",
    "B": f"{_BOW} 3342413000",
    "C": "4536160501103041",
    "D": "00062644422000",
    "E": "46060040 0333",
    "F": "000646 0333",
    "G": "45361605011030414323",
    "H": "0006 4046 0343",
    "I": "1030 1636 2026",
    "J": "0110304146",
    "K": "0006 460340",
    "L": "060040",
    "M": "0006234640",
    "N": "00064046",
    "O": _ROUND,
    "P": _BOW,
    "Q": f"{_ROUND} 2240",
    "R": f"{_BOW} 2340",
    "S": "011030414233130405163645",
    "T": "0646 2026",
    "U": "060110304146",
    "V": "062046",
    "W": "0610243046",
    "X": "0046 0640",
    "Y": "062346 2320",
    "Z": "06460040",
    "0": f"{_ROUND} 1135",
    "1": "152620 1030",
    "2": "05163645440040",
    "3": "05163645443313 334241301001",
    "4": "30360242",
    "5": "460603334241301001",
    "6": "36160501103041423303",
    "7": "064610",
    "8": "130405163645443313 3342413010010213",
    "9": "10304145361605041343",
    "-": "1333",
    "+": "1333 2224",
    ".": "2021",
    ",": "2110",
    ":": "2122 2425",
    ";": "2110 2425",
    "/": "0046",
    "(": "36242230",
    ")": "16242210",
    "=": "0242 0444",
    "'": "2624",
    '"': "1614 3634",
    "%": "0046 0616150506 3040413130",
    "&": "401526350201102042",
    "<": "450341",
    ">": "054301",
    "_": "0040",
    "#": "1016 3036 0242 0444",
    "*": "1234 1432 0343",
    "!": "2622 2021",
    "?": "051636454422 2021",
}


@cache
def _sign(letter: str) -> tuple[Floats, ...]:
    """Strokes of one sign on the grid; a blank has none, an unknown one is drawn as '?'."""
    if letter == " ":
        return ()
    rows = _SIGNS.get(letter.upper(), _SIGNS["?"]).split()
    return tuple(np.array([[int(a), int(b)] for a, b in zip(row[::2], row[1::2], strict=True)], float) for row in rows)


def word_lines(words: str, height: float) -> list[Floats]:
    """Words as open lines with capitals `height` mm high, foot at y = 0, beginning at x = 0.

    >>> [line.round(3).tolist() for line in word_lines("L-", 6.0)]
    [[[0.0, 6.0], [0.0, 0.0], [3.6, 0.0]], [[6.3, 3.0], [8.1, 3.0]]]
    """
    size = height / _HIGH
    pitch = LETTER_WIDTH * height  # a sign takes what every pen takes for it
    squeeze = np.array([pitch / _STEP, size])
    return [line * squeeze + [n * pitch, 0.0] for n, letter in enumerate(words) for line in _sign(letter)]


def words_long(words: str, height: float) -> float:
    """Length mm from the first sign's left to the last one's right."""
    return LETTER_WIDTH * height * (len(words) - 1 + _WIDE / _STEP) if words else 0.0


@dataclass(frozen=True)
class StrokedPen:
    """Any pen, with words drawn as single strokes on the layer they would stand on."""

    pen: Pen

    def polyline(self, points: Floats, *, closed: bool, role: Role) -> None:
        self.pen.polyline(points, closed=closed, role=role)

    def circle(self, centre: Floats, radius: float, role: Role) -> None:
        self.pen.circle(centre, radius, role)

    def area(self, ring: Floats, hatch: Hatch, role: Role) -> None:
        self.pen.area(ring, hatch, role)

    def text(self, at: Floats, words: str, *, height: float, turn: float, anchor: Anchor, role: Role) -> None:
        back = {"left": 0.0, "middle": 0.5, "right": 1.0}[anchor] * words_long(words, height)
        cos, sin = np.cos(np.deg2rad(turn)), np.sin(np.deg2rad(turn))
        for line in word_lines(words, height):
            x, y = (line - [back, height / 2]).T
            self.pen.polyline(at + np.column_stack([x * cos - y * sin, x * sin + y * cos]), closed=False, role=role)
