"""book.pdf: the shop book on A4 or Letter, lying, black only.

laid page   what stands on one page, worked out before anything is drawn, so that the contents know the page numbers
bench       figures and capitals 5 mm high, part numbers 10 mm; other sections 3.4 mm
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path

import numpy as np

from strakewright.plan import Placement
from strakewright.write.book import FIGURE, NUMBER, Block, Book, Picture, Section, Table, Words
from strakewright.write.paper import PaperFile, PaperPen
from strakewright.write.pen import Anchor, Role, placed
from strakewright.write.settables import TALL, Grid, grid_of, together, wrapped

_READING, _LEADING = 3.4, 1.6
_CLOSER = (1.4, 1.3, 1.2)  # line to line where a section is to keep to one page
_LEFT, _RIGHT, _TOP, _FOOT = 18.0, 12.0, 12.0, 14.0
_HEADING = 7.0
_SHORT = 18  # contents up to so many lines stand in one column

Draw = Callable[[PaperPen], None]


@dataclass(frozen=True)
class Leaf:
    """Paper.  width, height : mm"""

    width: float
    height: float

    @property
    def upright(self) -> Leaf:
        """The same paper standing."""
        return Leaf(self.height, self.width)

    @property
    def measure(self) -> float:
        return self.width - _LEFT - _RIGHT


A4, LETTER = Leaf(297.0, 210.0), Leaf(279.4, 215.9)


@dataclass
class _Setter:
    """Sets blocks one below the other, page by page."""

    leaf: Leaf
    section: Section
    pages: list[list[Draw]] = field(default_factory=list)
    y: float = 0.0
    leading: float = _LEADING

    @property
    def size(self) -> float:
        return FIGURE if self.section.bench else _READING

    @property
    def bottom(self) -> float:
        return _FOOT + 6.0

    def turn(self) -> None:
        """Begin a page with the section's title."""
        self.y = self.leaf.height - _TOP - _HEADING
        title = self.section.title + (" (continued)" if self.pages else "")
        self.pages.append([])
        self.words(title, _LEFT, self.y, _HEADING, bold=True)
        self.y -= _HEADING + 3.0

    def need(self, height: float) -> bool:
        """Make room; True when that took a new page."""
        if self.pages and self.y - height >= self.bottom:
            return False
        self.turn()
        return True

    def words(
        self, text: str, x: float, y: float, height: float, *, bold: bool = False, anchor: Anchor = "left"
    ) -> None:
        spot = np.array([x, y])

        def draw(pen: PaperPen) -> None:
            heavy = PaperPen(pen.canvas, bold=bold)
            heavy.text(spot, text, height=height, turn=0, anchor=anchor, role=Role.LABEL)

        self.pages[-1].append(draw)

    def rule(self, y: float, width: float) -> None:
        ends = np.array([[_LEFT, y], [_LEFT + width, y]])
        self.pages[-1].append(lambda pen: pen.polyline(ends, closed=False, role=Role.CHECK))

    def block(self, block: Block) -> None:
        """Any block."""
        if isinstance(block, Words):
            self._paragraph(block)
        elif isinstance(block, Table):
            self._table(block)
        else:
            self._picture(block)

    def _paragraph(self, block: Words) -> None:
        lines = wrapped(together(block.text), self.size, self.leaf.measure, bold=block.strong)
        pitch = self.size * self.leading
        self.need(min(len(lines), 3) * pitch)
        for line in lines:
            self.need(pitch)
            self.words(line, _LEFT, self.y - pitch / 2, self.size, bold=block.strong)
            self.y -= pitch
        self.y -= 0.5 * pitch

    def _picture(self, block: Picture) -> None:
        told = wrapped(together(block.caption), self.size, self.leaf.measure, bold=True) if block.caption else []
        pitch = self.size * self.leading
        self.need(block.height + len(told) * pitch + 4.0)
        for line in told:
            self.words(line, _LEFT, self.y - pitch / 2, self.size, bold=True)
            self.y -= pitch
        self.y -= block.height
        place = Placement("", "", _LEFT, self.y)
        self.pages[-1].append(lambda pen: block.draw(placed(pen, place)))
        self.y -= 4.0

    def _table(self, block: Table) -> None:
        grid = replace(grid_of(block, self.size, self.leaf.measure), leading=self.leading)
        pitch = self.size * self.leading
        heights = [grid.height(row) for row in grid.rows]
        told = wrapped(together(block.caption), self.size, self.leaf.measure, bold=True) if block.caption else []
        self.need(pitch * (len(told) + 0.5) + grid.height(grid.head) + sum(heights[:2]))
        for line in told:
            self.words(line, _LEFT, self.y - pitch / 2, self.size, bold=True)
            self.y -= pitch
        self._row(grid, grid.head, bold=True)
        for n, (row, height) in enumerate(zip(grid.rows, heights, strict=True)):
            starts = bool(row[0] and row[0][0]) and n + 1 < len(grid.rows)
            if self.need(height + (heights[n + 1] if starts and grid.grouped else 0.0)):
                self._row(grid, grid.head, bold=True)
            self._row(grid, row, bold=False)
        self.y -= pitch

    def _row(self, grid: Grid, row: Sequence[Sequence[str]], *, bold: bool) -> None:
        height, pitch = grid.height(row), self.size * self.leading
        for column, lines in enumerate(row):
            x = _LEFT + grid.edges[column]
            right = grid.right[column]
            tall = column in grid.tall and not bold
            size = NUMBER if tall else self.size
            step = NUMBER * TALL if tall else pitch
            for k, line in enumerate(lines):
                clear = 0.9 * grid.gutter if column + 1 in grid.tall else 0.7 * grid.gutter
                spot = _LEFT + grid.edges[column + 1] - clear if right else x
                y = self.y - 1.0 - step * (k + 0.5)
                self.words(line, spot, y, size, bold=bold or tall, anchor="right" if right else "left")
        self.y -= height
        if not grid.grouped or bold:
            self.rule(self.y, grid.edges[-1])
        elif row[0] and row[0][0]:
            self.rule(self.y + height, grid.edges[-1])


def lay_out(book: Book, leaf: Leaf) -> list[tuple[Section, list[list[Draw]]]]:
    """Every section with its pages; lines closer together where that keeps a section to the one page it asks for."""
    found = []
    for section in book.sections:
        pages = _set(section, leaf, _LEADING)
        for leading in _CLOSER if section.one_page else ():
            if len(pages) == 1:
                break
            pages = _set(section, leaf, leading)
        found.append((section, pages))
    return found


def _set(section: Section, leaf: Leaf, leading: float) -> list[list[Draw]]:
    setter = _Setter(leaf, section, leading=leading)
    for block in section.blocks:
        setter.block(block)
    return setter.pages


def write_book_pdf(path: Path, book: Book, leaf: Leaf = A4) -> int:
    """Write the book; returns how many pages it has."""
    sections = lay_out(book, leaf)
    front = _contents(book, leaf, [(section.title, 0) for section, _ in sections])
    starts, number = [], len(front) + 1
    for _, pages in sections:
        starts.append(number)
        number += len(pages)
    front = _contents(book, leaf, [(s.title, at) for (s, _), at in zip(sections, starts, strict=True)])
    paper = PaperFile(path, f"{book.boat} shop book")
    leaves = [*(("Contents", page) for page in front), *((s.title, page) for s, laid in sections for page in laid)]
    for at, (title, page) in enumerate(leaves, start=1):
        pen = paper.page(leaf.width, leaf.height)
        if at in (1, *starts):
            paper.canvas.bookmarkPage(f"p{at}")
            paper.canvas.addOutlineEntry(title, f"p{at}", level=0)
        for draw in page:
            draw(pen)
        _foot(pen, book, at, len(leaves), leaf)
    paper.save()
    return len(leaves)


def _contents(book: Book, leaf: Leaf, rows: Sequence[tuple[str, int]]) -> list[list[Draw]]:
    """What stands on which page, as many pages as that takes."""
    title = book.boat if ":" in book.boat else f"{book.boat}: shop book"
    setter = _Setter(leaf, Section(title, ()))
    setter.turn()
    told = f"Revision {book.revision}: letters made from the inputs; every paper of one build bears the same."
    setter.block(Words(told))
    lots = 1 if len(rows) <= _SHORT else 2
    share = -(-len(rows) // lots)
    cells = [(title, str(at)) for title, at in rows] + [("", "")] * (share * lots - len(rows))
    lines = tuple(sum((cells[n * share + k] for n in range(lots)), ()) for k in range(share))
    setter.block(Table(("what", "page") * lots, lines))
    setter.block(Words("Lengths in mm to 0.5 and in inches to 1/32; exact figures stand in the JSON and DXF files."))
    return setter.pages


def _foot(pen: PaperPen, book: Book, number: int, count: int, leaf: Leaf) -> None:
    words = {"left": f"{book.boat}   rev {book.revision}", "right": f"page {number} of {count}"}
    y = _FOOT - 4.0
    pen.polyline(np.array([[_LEFT, y + 5.0], [leaf.width - _RIGHT, y + 5.0]]), closed=False, role=Role.CHECK)
    pen.text(np.array([_LEFT, y]), words["left"], height=4.0, turn=0, anchor="left", role=Role.LABEL)
    at = np.array([leaf.width - _RIGHT, y])
    pen.text(at, words["right"], height=4.0, turn=0, anchor="right", role=Role.LABEL)
