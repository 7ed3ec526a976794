"""Tables fitted to the paper: how wide each column, where words break.

grid      a table with every cell broken into lines and every column given its place
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import accumulate

from strakewright.write.book import NUMBER, Table
from strakewright.write.paper import words_width

_GUTTER, _MORE = 4.0, 4.0  # mm between columns at least, and more where there is room
_TIGHT = 2.0  # between columns where words would have to be broken
_HELD = "\N{NO-BREAK SPACE}"
_LEADING, TALL = 1.6, 1.45  # line to line, of the height

_ONE = re.compile(
    r"""(?<=\d) (?=\d+/\d+")|(?<=\d') (?=\d)|(?<=\d) (?=%|mm\b|in\b|kg\b|lb\b|m2\b)"""
    r"""|(?<=\b[xy]) (?== \d)|(?<=\b[xy] =) (?=\d)"""
)

Cells = Sequence[Sequence[str]]


def together(text: str) -> str:
    """Feet, inches and fraction of one length stay on one line, and so do a figure and its unit, and x = 0.

    >>> together("board 28 mm (1' 1 3/32\\") wide").replace(_HELD, "~")
    'board 28~mm (1\\'~1~3/32") wide'
    >>> together("that end is x = 0").replace(_HELD, "~")
    'that end is x~=~0'
    """
    return _ONE.sub(_HELD, text)


@dataclass(frozen=True)
class Grid:
    """rows : cells as lines;  edges : mm from the left, one more than columns;  right : columns set to the right;
    grouped : rows belong to the row above whose first cell holds a number;  gutter : mm between columns"""

    head: Cells
    rows: Sequence[Cells]
    edges: tuple[float, ...]
    right: tuple[bool, ...]
    size: float
    tall: tuple[int, ...]
    grouped: bool
    gutter: float
    leading: float = _LEADING

    def height(self, row: Cells) -> float:
        """mm a row takes."""
        tall = () if row is self.head else self.tall
        lines = max(len(cell) for cell in row)
        numbers = max((len(row[c]) for c in tall if any(row[c])), default=0)
        return max(lines * self.size * self.leading, numbers * NUMBER * TALL) + 2.0


def grid_of(table: Table, size: float, measure: float) -> Grid:
    """Columns as wide as their words; too wide a table breaks words in its widest columns first."""
    columns = range(len(table.head))
    cells: list[tuple[str, ...]] = [tuple(map(together, row)) for row in (table.head, *table.rows)]
    room = measure - _GUTTER * len(table.head)
    natural, least = _needed(table, cells, size)
    if sum(least) > room:  # figures may part between feet, inches and fractions, never inside one of them
        cells = [tuple(cell.replace(_HELD, " ") for cell in row) for row in cells]
        natural, least = _needed(table, cells, size)
    if sum(least) > room:
        room = measure - _TIGHT * len(table.head)
    widths = _fitted(natural, least, room)
    broken = [
        [_lines(cell, _size(table, c, r, size), widths[c]) for c, cell in enumerate(row)] for r, row in enumerate(cells)
    ]
    left = measure - sum(widths)
    gutter = min(_GUTTER + _MORE, left / len(widths))
    edges = tuple(accumulate((w + gutter for w in widths), initial=0.0))
    grouped = table.tall == (0,) and any(not row[0] for row in table.rows)
    right = tuple(table.is_figure(c) for c in columns)
    return Grid(broken[0], broken[1:], edges, right, size, table.tall, grouped, gutter)


def _needed(table: Table, cells: Cells, size: float) -> tuple[list[float], list[float]]:
    """Width of every column with nothing parted, and that of its longest word."""
    columns = range(len(table.head))
    rows = [
        [(row[c], _size(table, c, r, size), r == 0 or c in table.tall) for c in columns] for r, row in enumerate(cells)
    ]
    natural = [max(_widest(*row[c]) for row in rows) for c in columns]
    return natural, [max(_longest_word(*row[c]) for row in rows) for c in columns]


def _size(table: Table, column: int, row: int, size: float) -> float:
    return NUMBER if column in table.tall and row > 0 else size


def _widest(cell: str, size: float, bold: bool) -> float:
    return max(words_width(line, size, bold) for line in cell.split("\n"))


def _longest_word(cell: str, size: float, bold: bool) -> float:
    return max((words_width(word, size, bold) for word in cell.replace("\n", " ").split(" ")), default=0.0)


def _fitted(natural: list[float], least: list[float], room: float) -> list[float]:
    """Widths within the room: all columns above a common width are cut back to it, none below its longest word
    while that can be."""
    if sum(natural) <= room:
        return natural
    if sum(least) > room:
        return [n * room / sum(least) for n in least]
    low, high = 0.0, max(natural)
    for _ in range(40):
        cap = (low + high) / 2
        total = sum(max(min(n, cap), m) for n, m in zip(natural, least, strict=True))
        low, high = (cap, high) if total <= room else (low, cap)
    return [max(min(n, low), m) for n, m in zip(natural, least, strict=True)]


def _lines(cell: str, size: float, width: float) -> list[str]:
    return [line for part in cell.split("\n") for line in wrapped(part, size, width)]


def wrapped(text: str, size: float, width: float, *, bold: bool = False) -> list[str]:
    """Words broken into lines no wider than `width` mm; a word wider than that is broken too."""
    lines = [""]
    for word in (piece for whole in text.split(" ") for piece in _pieces(whole, size, width, bold)):
        longer = f"{lines[-1]} {word}" if lines[-1] else word
        if lines[-1] and words_width(longer, size, bold) > width + 0.01:
            lines.append(word)
        else:
            lines[-1] = longer
    return lines


def _pieces(word: str, size: float, width: float, bold: bool) -> list[str]:
    """A word in pieces that fit; whole when it fits or no letter does."""
    if words_width(word, size, bold) <= width + 0.01:
        return [word]
    most = next((n for n in range(len(word) - 1, 0, -1) if words_width(word[:n], size, bold) <= width), 1)
    return [word[:most], *_pieces(word[most:], size, width, bold)] if len(word) > 1 else [word]
