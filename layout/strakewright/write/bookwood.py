"""What the book says of wood: what to buy, and what comes out of every board.

board feet   144 cubic inches of rough wood;  yield : parts over wood used, net of offcuts worth keeping
hardest      the parts that fewest boards of the pile would take: buy or keep boards for them first
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from strakewright.arrays import Floats
from strakewright.geometry.outlines import signed_area
from strakewright.lumber import Board
from strakewright.measure import board_feet
from strakewright.parts import Part
from strakewright.plan import Placement, above_best
from strakewright.write.book import (
    FIGURE,
    NUMBER,
    PICTURE,
    Block,
    Facts,
    Picture,
    Section,
    Table,
    Words,
    blank_size,
    counted,
    in_line,
    thick,
    two_lines,
)
from strakewright.write.paper import words_width
from strakewright.write.pen import Hatch, Pen, Role, lay, placed
from strakewright.write.settables import together, wrapped
from strakewright.write.sheets import Sheet
from strakewright.write.wordplaces import half_way_up, in_a_row, place

_FOOT = 9.0  # mm below a board for numbers of small pieces
_LINE = 7.5  # mm from line to line
_LETTERS = "abcdefhkmnrstuvwxz"  # none that hangs below the line or is taken for a figure
_SIZES = tuple(np.arange(NUMBER, FIGURE - 0.1, -1.0).tolist())
_MISSING = ("boards-missing", "part-fits-no-board", "part-left-over")


def what_to_buy(facts: Facts) -> Section:
    """Missing boards, boards used, board feet and yields, and the five parts that cannot be worked around."""
    short = [f for f in facts.findings if f.code in _MISSING]
    blocks: list[Block] = []
    if short:
        lacking = counted(len(facts.plan.unplaced), "PART HAS", "PARTS HAVE")
        blocks.append(Words(f"{lacking} NO BOARD. Nothing is bought yet for them:", True))
        rows = tuple((f.subject, f.what, f.fix) for f in short)
        blocks.append(Table(("part or boards", "what is the matter", "what to bring"), rows))
    else:
        blocks.append(Words("Nothing: every part lies on a board of the pile.", True))
    plan = facts.plan
    blocks.append(_used(facts))
    blocks.append(
        Words(
            f"Of the wood used, {100 * plan.net_yield:.0f} % becomes parts when offcuts of"
            f" {facts.rules.min_offcut:.0f} mm and longer are kept, {100 * plan.gross_yield:.0f} % when they are not."
            f"{_at_best(plan.gap)}"
            " Board feet: usable length and width at rough thickness; what is trimmed off the ends comes on top."
        )
    )
    blocks.append(Words("THE FIVE THAT CANNOT BE WORKED AROUND: fewest boards of the pile would take them.", True))
    blocks.append(_hardest(facts))
    blocks.append(Words("Take this list to the mill: boards for these five first, the rest finds room."))
    return Section("What to buy", tuple(blocks))


def _at_best(gap: float | None) -> str:
    """How far the plan may be from the best; nothing where the bound says nothing."""
    return f" The plan is {above_best(gap)}." if gap is not None and gap < 1.0 else ""


def _used(facts: Facts) -> Table:
    used = {p.board for p in facts.plan.placements}
    groups: dict[tuple[str, float], list[Board]] = defaultdict(list)
    for board in facts.boards:
        groups[board.species, board.rough_thickness or board.thickness].append(board)
    rows = []
    for (species, rough), boards in sorted(groups.items()):
        sawn = [b for b in boards if b.id in used]
        feet, there = sum(map(board_feet, sawn)), sum(map(board_feet, boards))
        rows.append((species, thick(rough), f"{len(sawn)} of {len(boards)}", f"{feet:.0f} of {there:.0f}"))
    return Table(("wood", "rough thickness", "boards used", "board feet used"), tuple(rows))


def _hardest(facts: Facts) -> Table:
    port = [p for p in facts.parts if p.mate is None or p.id < p.mate]
    counts = [(_takers(part, facts), -part_area(part), n) for n, part in enumerate(port)]
    rows = []
    for takers, _, n in sorted(counts)[:5]:
        long, wide = (v + 2 * facts.rules.edge_margin for v in blank_size(port[n]))
        name = port[n].id if port[n].mate is None else f"{port[n].id} + {port[n].mate}"
        rows.append((name, two_lines(long), two_lines(wide), thick(port[n].thickness), f"{takers} of the pile"))
    head = ("pair", "clear length, mm / in", "clear width, mm / in", "dressed", "boards that would do")
    return Table(head, tuple(rows))


def part_area(part: Part) -> float:
    """mm2"""
    return abs(signed_area(part.outline))


def _takers(part: Part, facts: Facts) -> int:
    """Boards long, wide and thick enough for the straight blank of a part (defects not counted)."""
    need = np.array(blank_size(part)) + 2 * facts.rules.edge_margin
    return sum(
        b.species == part.species
        and b.thickness >= part.thickness - 1e-6
        and bool(np.all(np.ptp(b.outline, axis=0) >= need))
        for b in facts.boards
    )


def board_list(facts: Facts) -> Section:
    """Every board used with a sketch: parts from the butt, across drawn larger than along."""
    intro = Words(
        "One sketch a board, butt (x = 0) at the left, jointed edge or string (y = 0) below; drawn taller than it is."
    )
    exact = Words("The cutting sheet of the same name is exact; measure its tape checks before cutting.")
    pictures = [board_sketch(sheet) for sheet in facts.sheets]
    return Section("Boards", (intro, exact, *pictures), bench=True)


def board_sketch(sheet: Sheet, wide: float = PICTURE) -> Picture:
    """One board with its parts and defects, across drawn larger than along, its chalk number 10 mm high; numbers of
    pieces too small for 5 mm stand below, with a line to the piece; where they are too many for that, pieces bear
    letters and a list below says which is which."""
    board = sheet.board
    low, size = board.outline.min(axis=0), np.ptp(board.outline, axis=0)
    across = float(np.clip(3.0 + 16.0 * len(_rows(sheet)), 20.0, 44.0 * wide / PICTURE))
    scale = np.array([wide / size[0], across / size[1]])
    rings = {part.id: (lay(part.outline, placement) - low) * scale for part, placement in sheet.laid}
    tight = _too_small(rings)
    letters = _letters(tight, wide)
    shown = {letters.get(name, name): ring for name, ring in rings.items()}
    small = _small_ones(shown, _too_small(shown) if letters else tight, wide)
    key = wrapped("   ".join(f"{letter}\u00a0{name}" for name, letter in letters.items()), FIGURE, wide)
    below = _LINE * len(key) if letters else 0.0
    foot = below + (_FOOT if small else 0.0)
    tall = min(NUMBER, 0.4 * wide / (0.85 * len(sheet.name)))
    words = f"{in_line(float(size[0]))} x {in_line(float(size[1]))}  {board.species}"
    room = wide - 0.85 * tall * (len(sheet.name) + 1)
    lines = wrapped(together(words), FIGURE, room)
    head = max(15.0, 8.0 * len(lines) + 5.0)

    def draw(pen: Pen) -> None:
        board_pen = placed(pen, Placement("", "", 0.0, foot))
        _draw_wood(board_pen, sheet, low, scale)
        _draw_parts(board_pen, shown, [one.leader for one in small])
        _draw_small(board_pen, small)
        for n, line in enumerate(key if letters else []):
            spot = np.array([0.0, below - _LINE * (n + 0.5) - 1.0])
            pen.text(spot, line, height=FIGURE, turn=0, anchor="left", role=Role.LABEL)
        at = np.array([0.0, foot + across + head - 6.0])
        pen.text(at, sheet.name, height=tall, turn=0, anchor="left", role=Role.LABEL)
        for n, line in enumerate(lines):
            beside = at + np.array([wide - room, -2.0 - 7.5 * n + 2.0 * (len(lines) > 1)])
            pen.text(beside, line, height=FIGURE, turn=0, anchor="left", role=Role.LABEL)

    return Picture(wide, foot + across + head, draw)


@dataclass(frozen=True, eq=False)
class _Small:
    """A piece too small for its number.  spot : the number below the board;  leader : (2, 2) from it to the piece"""

    name: str
    spot: Floats
    leader: Floats


def _too_small(rings: Mapping[str, Floats]) -> list[str]:
    """Pieces whose number does not go on them at 5 mm, from the butt."""
    found = [name for name, ring in rings.items() if place(ring, name, (FIGURE,)) is None]
    return sorted(found, key=lambda name: float(rings[name][:, 0].mean()))


def _widths(names: Sequence[str]) -> list[float]:
    """What numbers take in a row, mm."""
    return [words_width(name, FIGURE) + 3.0 for name in names]


def _letters(tight: Sequence[str], wide: float) -> dict[str, str]:
    """A letter for each piece too small for its number, where those would not fit in one row."""
    if sum(_widths(tight)) <= wide:
        return {}
    return {name: _LETTERS[n % len(_LETTERS)] * (1 + n // len(_LETTERS)) for n, name in enumerate(tight)}


def _small_ones(rings: Mapping[str, Floats], tight: Sequence[str], wide: float) -> list[_Small]:
    """Places below the board for the numbers that do not go on their pieces; mm from the foot of the board."""
    middles = [rings[name].mean(axis=0) for name in tight]
    row = in_a_row([float(middle[0]) for middle in middles], _widths(tight), wide)
    found = []
    for name, middle, x in zip(tight, middles, row, strict=True):
        on_it = half_way_up(rings[name], np.array([x]))[0]
        spot = np.array([x, FIGURE / 2 + 0.5 - _FOOT])
        end = middle if np.isnan(on_it[1]) else on_it
        found.append(_Small(name, spot, np.array([spot + np.array([0.0, 3.2]), end])))
    return found


def _draw_small(pen: Pen, small: Sequence[_Small]) -> None:
    """Numbers in a row under the board, each with a line to its piece."""
    for one in small:
        pen.text(one.spot, one.name, height=FIGURE, turn=0, anchor="middle", role=Role.LABEL)
        pen.polyline(one.leader, closed=False, role=Role.CHECK)


def _rows(sheet: Sheet) -> list[float]:
    """Parts that lie side by side where most do, by the middles of their heights."""
    spans = [
        (ring[:, 0].min(), ring[:, 0].max(), ring[:, 1].mean()) for ring in (lay(p.outline, q) for p, q in sheet.laid)
    ]
    most = max(spans, key=lambda a: sum(b[0] <= a[0] < b[1] for b in spans))
    return [b[2] for b in spans if b[0] <= most[0] < b[1]]


def _draw_wood(pen: Pen, sheet: Sheet, low: Floats, scale: Floats) -> None:
    pen.polyline((sheet.board.outline - low) * scale, closed=True, role=Role.CUT_OUTSIDE)
    for defect in sheet.board.defects:
        pen.area((defect.outline - low) * scale, Hatch(45.0, 1.5, crossed=True), Role.DEFECT)


def _draw_parts(pen: Pen, rings: Mapping[str, Floats], leaders: Sequence[Floats]) -> None:
    """Outlines, and numbers as large as goes between the lines, clear of leaders where that can be."""
    for name, ring in rings.items():
        pen.polyline(ring, closed=True, role=Role.CHECK)
        found = place(ring, name, _SIZES, avoid=leaders) or place(ring, name, _SIZES)
        if found:
            pen.text(found[0], name, height=found[1], turn=0, anchor="middle", role=Role.LABEL)
