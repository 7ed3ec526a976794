"""Patterns laid out on rolls of paper.

roll      paper of one width, cut into pages of at most 5 000 mm (a limit of the file format)
row       patterns one after the other along the roll, in hanging order;  page : rows one above the other
bars      100 mm both ways on every page, and 1 000 mm along it: the way paper creeps
butt mark where a drawing longer than a page goes on; both pages show 100 mm of overlap
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path

import numpy as np

from strakewright.arrays import Floats
from strakewright.plan import Placement
from strakewright.write.paper import LONGEST, PaperFile, PaperPen
from strakewright.write.patterns import FIGURE, NUMBER, Block
from strakewright.write.pen import Pen, Role, placed
from strakewright.write.plotter import PlotterPen
from strakewright.write.windows import Drawing, StrokePen, draw_in, drawing_of

WIDTH = 914.4  # 36 in
_EDGE = 15.0  # mm that plotters leave white
_GAP = 12.0
_BARS = 125.0  # kept at the foot of every page
_ASIDE = 1180.0  # kept at the left end where the foot is needed for a pattern
_OVERLAP = 100.0


@dataclass(frozen=True)
class Roll:
    """width, longest : mm of a page;  correction : what to draw for 1 mm, along and across, when the printer was
    measured to be off"""

    width: float = WIDTH
    longest: float = LONGEST
    correction: tuple[float, float] = (1.0, 1.0)


@dataclass(frozen=True, eq=False)
class RollPage:
    """laid : blocks with the lower left corner of each, mm on the page"""

    length: float
    laid: tuple[tuple[Block, Floats], ...]


@dataclass
class _Row:
    blocks: list[Block] = field(default_factory=list)
    length: float = 0.0

    @property
    def height(self) -> float:
        return max(block.height for block in self.blocks)


def usable_height(roll: Roll, *, aside: bool = False) -> float:
    """mm across the roll that blocks may take; more on pages that have their bars at the left end."""
    return roll.width / max(roll.correction[1], 1.0) - 2 * _EDGE - _BARS * (not aside)


def roll_for(blocks: Iterable[Block], wanted: Roll | None = None) -> Roll:
    """The roll wanted, or the narrowest that takes the tallest block."""
    roll = wanted or Roll()
    tallest = max((block.height for block in blocks), default=0.0)
    if tallest <= usable_height(roll, aside=True):
        return roll
    return replace(roll, width=float(np.ceil((tallest + 2 * _EDGE) * max(roll.correction[1], 1.0))))


def pages_of(groups: Iterable[Sequence[Block]], roll: Roll) -> tuple[RollPage, ...]:
    """Blocks laid out in their order, each group beginning a row of its own; a row too high for a page with bars at
    its foot has a page to itself, with the bars at the left end.

    Raises ValueError for a roll too narrow for a block.
    """
    usable = roll.longest / max(roll.correction[0], 1.0) - 2 * _EDGE
    most, aside = usable_height(roll) + 1e-6, usable_height(roll, aside=True) + 1e-6
    rows: list[_Row] = []
    for group in groups:
        room = usable - _ASIDE * any(block.height > most for block in group)
        rows += _rows([p for b in group for p in _broken(b, room)], room)
    pages: list[list[_Row]] = []
    for row in rows:
        if row.height > aside:
            raise ValueError(f"{row.blocks[0].name} is {row.height:.0f} mm high, the roll takes {aside:.0f}")
        alone = row.height > most or (pages and pages[-1][0].height > most)
        if not pages or alone or sum(r.height + _GAP for r in pages[-1]) + row.height > most:
            pages.append([])
        pages[-1].append(row)
    return tuple(_page(page, aside=page[0].height > most) for page in pages)


def _rows(blocks: Sequence[Block], usable: float) -> list[_Row]:
    rows: list[_Row] = []
    for block in blocks:
        if not rows or rows[-1].length + block.width > usable:
            rows.append(_Row())
        rows[-1].blocks.append(block)
        rows[-1].length += block.width + _GAP
    return rows


def _page(rows: Sequence[_Row], *, aside: bool) -> RollPage:
    laid: list[tuple[Block, Floats]] = []
    left = _EDGE + _ASIDE * aside
    y = _EDGE if aside else _EDGE + _BARS + sum(row.height + _GAP for row in rows)
    for row in rows:
        x = left
        y -= 0.0 if aside else row.height + _GAP
        for block in row.blocks:
            laid.append((block, np.array([x, y])))
            x += block.width + _GAP
    length = max(left + max(row.length for row in rows) + _EDGE - _GAP, 1000.0 + 2 * _EDGE + 160.0)
    return RollPage(length, tuple(laid))


def _broken(block: Block, usable: float) -> list[Block]:
    """The block itself, or its pieces with butt marks when it is longer than a page."""
    if block.width <= usable:
        return [block]
    keep = StrokePen()
    block.draw(keep)
    count = int(np.ceil((block.width - _OVERLAP) / (usable - _OVERLAP)))
    share = (block.width - _OVERLAP) / count
    whole = drawing_of(keep.strokes)
    return [_piece(block, whole, n, count, share) for n in range(count)]


def _piece(block: Block, whole: Drawing, n: int, count: int, share: float) -> Block:
    start, wide = n * share, share + _OVERLAP

    def draw(pen: Pen) -> None:
        ahead = placed(pen, Placement("", "", -start, 0.0))
        low, high = np.array([start, 0.0]), np.array([start + wide, block.height])
        draw_in(ahead, whole, low, high)
        for cut in (k for k in (n, n + 1) if 0 < k < count):
            at = cut * share + _OVERLAP / 2
            ahead.polyline(np.array([[at, 0.0], [at, block.height]]), closed=False, role=Role.SCRIBE)
            words = f"BUTT MARK {cut} of {block.name}: lay both sheets on this line"
            spot = np.array([at - 3.0, block.height / 2])
            ahead.text(spot, words, height=FIGURE, turn=90, anchor="middle", role=Role.CHECK)

    inner = (block.inner[0] - start, block.inner[1])
    return Block(f"{block.name} sheet {n + 1} of {count}", wide, block.height, draw, inner)


def bar(pen: Pen, start: Floats, long: float, *, upright: bool = False) -> None:
    """A line of known length with end strokes and its length in words."""
    way = np.array([0.0, 1.0]) if upright else np.array([1.0, 0.0])
    across = np.array([-way[1], way[0]])
    pen.polyline(np.stack([start, start + long * way]), closed=False, role=Role.CHECK)
    for end in (start, start + long * way):
        pen.polyline(np.stack([end - 4 * across, end + 4 * across]), closed=False, role=Role.CHECK)
    spot = start + long / 2 * way + 7.0 * across
    turn = 90.0 if upright else 0.0
    pen.text(spot, f"{long:.0f} mm", height=FIGURE + 1, turn=turn, anchor="middle", role=Role.CHECK)


def _draw_foot(pen: Pen, words: Sequence[str]) -> None:
    """Bars and words at the foot of a page."""
    corner = np.array([_EDGE + 12.0, _EDGE + 5.0])
    bar(pen, corner, 100.0, upright=True)
    bar(pen, corner + np.array([12.0, 0.0]), 100.0)
    bar(pen, corner + np.array([120.0, 0.0]), 1000.0)
    for n, line in enumerate(words):
        spot = corner + np.array([124.0, 92.0 - n * (NUMBER + 10.0)])
        pen.text(spot, line, height=NUMBER if n == 0 else 8.0, turn=0, anchor="left", role=Role.CHECK)


def draw_page(pen: Pen, page: RollPage, words: Sequence[str]) -> None:
    """Everything on one page."""
    _draw_foot(pen, words)
    for block, corner in page.laid:
        block.draw(placed(pen, Placement("", "", float(corner[0]), float(corner[1]))))


def write_roll(path: Path, pages: Sequence[RollPage], title: str, roll: Roll, notes: Sequence[str]) -> None:
    """One PDF: the scale page first, then every page."""
    paper = PaperFile(path, title)
    pen = _corrected(paper.page(min(1400.0, roll.longest), roll.width), roll)
    draw_scale_page(pen, title, [*notes, *_index(pages)], roll)
    for number, page in enumerate(pages, start=1):
        length = min(page.length * roll.correction[0], roll.longest)
        pen = _corrected(paper.page(length, roll.width), roll)
        draw_page(pen, page, _page_words(title, number, len(pages)))
    paper.save()


def write_plots(folder: Path, pages: Sequence[RollPage], title: str) -> None:
    """The same pages for a plotter that takes HP-GL/2, one file a page: roll-1.plt ..."""
    for number, page in enumerate(pages, start=1):
        pen = PlotterPen()
        draw_page(pen, page, _page_words(title, number, len(pages)))
        pen.write(folder / f"roll-{number}.plt")


def _corrected(pen: PaperPen, roll: Roll) -> PaperPen:
    return PaperPen(pen.canvas, scale=roll.correction)


def _page_words(title: str, number: int, count: int) -> list[str]:
    return [
        f"{title}   roll page {number} of {count}",
        "Full size. Measure all three bars before use; if one is off, work from the ordinates, not from the paper.",
    ]


def _index(pages: Sequence[RollPage]) -> list[str]:
    rows = []
    for number, page in enumerate(pages, start=1):
        names = ", ".join(block.name for block, _ in page.laid)
        rows.append(f"Page {number} ({page.length:.0f} mm): {names}")
    return rows


def draw_scale_page(pen: Pen, title: str, notes: Sequence[str], roll: Roll) -> None:
    """Page 1: bars to measure, how to use what follows, what lies on which page."""
    top, columns = roll.width / roll.correction[1] - 50.0, 150
    pen.text(np.array([40.0, top]), f"{title}: full-size patterns", height=18, turn=0, anchor="left", role=Role.CHECK)
    lines = [piece for note in notes for piece in wrapped(note, columns)]
    pitch = min(14.0, (top - 40.0 - _EDGE - _BARS) / max(len(lines), 1))
    for n, line in enumerate(lines):
        spot = np.array([40.0, top - 40.0 - n * pitch])
        pen.text(spot, line, height=min(8.0, 0.6 * pitch), turn=0, anchor="left", role=Role.CHECK)
    _draw_foot(pen, [])


def wrapped(words: str, columns: int) -> list[str]:
    """Words in lines of at most `columns` letters, later lines set in."""
    import textwrap

    return textwrap.wrap(words, columns, subsequent_indent="   ") or [""]


# -- tests and proofs ask where a pattern lies ---------------------------------------------------------


def places(pages: Sequence[RollPage]) -> Mapping[str, tuple[int, Floats]]:
    """Block name -> page number (from 1) and where its base point lies on that page, mm."""
    return {
        block.name: (number, corner + np.array(block.inner))
        for number, page in enumerate(pages, start=1)
        for block, corner in page.laid
    }
