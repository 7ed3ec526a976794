"""Cut tickets: one page for every board, to hang up beside the machine.

chalk number  the board's id, as chalked on its end
length        what a crosscut leaves: parts that no crosscut can part lie in one length
rip           a straight cut along the board between parts whose places across it do not overlap
remnant       what is left past the last part when it is long enough to keep, with the label to chalk on it

The order is the trade's: crosscut, face, plane, (resaw, plane,) then cut; short pieces go through the planer before
they are crosscut (common practice, no source).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from strakewright.arrays import Floats
from strakewright.lumber import OPENED, TAKEN, Rules
from strakewright.machine import MachineSettings
from strakewright.write.book import Block, Book, Section, Table, Words, in_line, thick
from strakewright.write.bookwood import board_sketch
from strakewright.write.datum import facing, is_jointed, squaring
from strakewright.write.pen import lay
from strakewright.write.setups import Setup
from strakewright.write.sheets import Sheet, book_words, tape_checks

THICKER = 0.75  # mm a part may come out thicker than it is to be without a word: fairing takes that much
SKETCH = 178.0  # mm: as wide as upright paper takes


@dataclass(frozen=True, eq=False)
class Shop:
    """What tickets are written for.  setups : how boards are held on the router, by sheet;  note : on every ticket"""

    rules: Rules
    machine: MachineSettings | None = None
    setups: Mapping[str, Setup] | None = None
    note: str = ""

    @property
    def by_hand(self) -> bool:
        return self.machine is not None and self.machine.cutting != "router"

    @property
    def planer_min(self) -> float:
        return self.machine.planer_min if self.machine else MachineSettings.planer_min


@dataclass(frozen=True)
class Length:
    """x from butt to top of a stretch that is crosscut off;  parts : ids in it"""

    start: float
    end: float
    parts: tuple[str, ...]


def tickets_of(boat: str, revision: str, sheets: Sequence[Sheet], shop: Shop) -> Book:
    """All tickets, in the order of the rack."""
    return Book(f"{boat}: cut tickets", revision, tuple(ticket(sheet, shop) for sheet in sheets))


def ticket(sheet: Sheet, shop: Shop) -> Section:
    """One board: sketch, order of work, checks, defects, remnant."""
    blocks: list[Block] = [board_sketch(sheet, SKETCH)]
    blocks.append(Table(("", "order of work"), tuple((str(n), step) for n, step in enumerate(steps(sheet, shop), 1))))
    if sheet.board.defects:
        blocks.append(Words(f"Defects: {_defects(sheet)}"))
    left = remnant(sheet, shop.rules)
    blocks.append(Words(f"Remnant: {_told(left, sheet)}" if left else "No remnant worth keeping.", strong=bool(left)))
    blocks.append(Words(" ".join(said for said in (_clearance(shop), shop.note) if said)))
    return Section(f"BOARD {sheet.name}", tuple(blocks), bench=True, one_page=True)


# -- where a board is cut ----------------------------------------------------------------------------


def _spans(sheet: Sheet, axis: int) -> list[tuple[float, float, str]]:
    rings = [(lay(part.outline, placement)[:, axis], part.id) for part, placement in sheet.laid]
    return sorted((float(v.min()), float(v.max()), name) for v, name in rings)


def lengths(sheet: Sheet) -> tuple[Length, ...]:
    """The stretches that crosscuts through the whole board part from each other; cuts half way in the gaps."""
    groups: list[list[tuple[float, float, str]]] = []
    for span in _spans(sheet, 0):
        if groups and span[0] < max(s[1] for s in groups[-1]):
            groups[-1].append(span)
        else:
            groups.append([span])
    ends = [max(s[1] for s in group) for group in groups]
    starts = [group[0][0] for group in groups]
    cuts = [(end + start) / 2 for end, start in zip(ends[:-1], starts[1:], strict=True)]
    edges = [
        float(sheet.board.outline[:, 0].min()),
        *cuts,
        min(ends[-1] + 20.0, float(sheet.board.outline[:, 0].max())),
    ]
    names = [tuple(sorted(span[2] for span in group)) for group in groups]
    return tuple(Length(a, b, row) for a, b, row in zip(edges[:-1], edges[1:], names, strict=True))


def rips(sheet: Sheet, length: Length) -> tuple[float, ...]:
    """y of the straight rips that part the pieces of one length, from the jointed edge, or the string, up."""
    spans = [s for s in _spans(sheet, 1) if s[2] in length.parts]
    found, top = [], spans[0][1]
    for low, high, _ in spans[1:]:
        if low >= top:
            found.append((low + top) / 2)
        top = max(top, high)
    return tuple(found)


def remnant(sheet: Sheet, rules: Rules) -> tuple[float, float] | None:
    """x from and to of the wood past the last part, None when it is shorter than what is kept."""
    gone = [float(d.outline[:, 0].max()) for d in sheet.board.defects if d.kind == TAKEN]
    last = max([*(span[1] for span in _spans(sheet, 0)), *gone]) + rules.spacing
    high = float(sheet.board.outline[:, 0].max())
    return (last, high) if high - last >= rules.min_offcut else None


# -- in words ----------------------------------------------------------------------------------------


def steps(sheet: Sheet, shop: Shop) -> list[str]:
    """What to do, in order."""
    board = sheet.board
    if board.state in OPENED:
        line = "jointed edge" if is_jointed(board) else "line"
        found = [f"Cut into already: find its old butt x = 0 and {line} y = 0. Keep off what is gone."]
        found += _crosscuts(sheet, shop)
    else:
        found = [squaring(board), *_crosscuts(sheet, shop)]
        found.insert(len(found) if is_jointed(board) else 1, facing(board))
    if sheet.leaf is not None:
        skip = shop.rules.resaw_skip
        less = "" if skip is None else f", no more than {skip:g} mm off each face"
        found.append(f"Plane the other side parallel{less}.")
        found.append(
            f"Resaw into {sheet.leaves} leaves, mark them 1 to {sheet.leaves} from the face; plane each clean."
        )
        found += _booked(sheet)
    still = " where it is not yet" if board.state in OPENED else ""
    found.append(f"Plane to {thick(round(sheet.planed, 1))}{still}.")
    checks = "; ".join(f"{c.name} {in_line(c.distance)}" for c in tape_checks(sheet))
    if shop.by_hand:
        found.append(f"Lay the patterns out as sketched; check {checks}.")
        found += _sawn(sheet, shop)
    else:
        found.append(f"Sheet {sheet.name}.dxf. Check before cutting: {checks}.")
        found.append(_routed(sheet, shop))
    return [*found, *_thinned(sheet), *_marks_over(sheet)]


def _booked(sheet: Sheet) -> list[str]:
    """Which parts are book-matched, and what the leaves need for that."""
    told = book_words(sheet)
    if not told:
        return []
    return [f"Book-matched: {told}. Every leaf keeps butt, jointed edge and its face up as sawn; clean both alike."]


def _marks_over(sheet: Sheet) -> list[str]:
    """Marks of parts that lie with their marked face down."""
    pairs = [f"{name} from {sheet.books[name][0]}" for name in sheet.over if name in sheet.books]
    if not pairs:
        return []
    return [f"Marks on the face that lay down, marked faces laid together, off the mate's: {', '.join(pairs)}."]


def _thinned(sheet: Sheet) -> list[str]:
    """Parts beside a thicker one on their board, and how thick they are to be."""
    thinner: dict[float, list[str]] = {}
    for part, _ in sheet.laid:
        if part.thickness < sheet.planed - THICKER:
            thinner.setdefault(round(part.thickness, 1), []).append(part.id)
    return [
        f"Thin to {thick(t)}, off the face without marks: {', '.join(names)}." for t, names in sorted(thinner.items())
    ]


def _crosscuts(sheet: Sheet, shop: Shop) -> list[str]:
    left = remnant(sheet, shop.rules)
    off = [f"Crosscut the remnant off at {in_line(left[0])}."] if left else []
    if not shop.by_hand:
        return off
    rows = lengths(sheet)
    told = [f"Crosscut at {in_line(row.end)}: {', '.join(row.parts)}." for row in rows[:-1]]
    short = [row for row in rows if row.end - row.start < shop.planer_min]
    if short:
        names = ", ".join(name for row in short for name in row.parts)
        told.append(f"{names}: under {shop.planer_min:g} mm long: plane before that crosscut.")
    return [*off, *told]


def _sawn(sheet: Sheet, shop: Shop) -> list[str]:
    found = []
    for row in lengths(sheet):
        at = rips(sheet, row)
        if at:
            found.append(f"Rip {', '.join(row.parts)} apart at y {'; '.join(in_line(y) for y in at)}.")
    tool = shop.machine.cutting if shop.machine else "saw"
    found.append(f"Saw to the lines on the {tool}, bevels after: {_blanks(sheet)}.")
    return found


def _blanks(sheet: Sheet) -> str:
    """Each part with the width its straight blank is ripped to."""
    return "; ".join(f"{part.id} {in_line(float(np.ptp(part.outline[:, 1])))} wide" for part, _ in sheet.laid)


def _routed(sheet: Sheet, shop: Shop) -> str:
    setup = (shop.setups or {}).get(sheet.name)
    order = ", ".join(part.id for part, _ in sheet.laid)
    if setup is None:
        return f"Cut from the butt: {order}."
    moved = f" in {len(setup.windows)} windows (sheets/windows/{sheet.name}-w1.dxf and on)" if setup.is_moved else ""
    held = f"{len(setup.screws)} screws in the crossed rings"
    pins = f", drill {len(setup.pins)} pin holes of 8 mm" if len(setup.pins) else ""
    return f"Hold down: {held}{pins}. Cut{moved}: {order}."


def _defects(sheet: Sheet) -> str:
    rows = []
    for defect in sheet.board.defects:
        (x0, y0), (x1, y1) = defect.outline.min(axis=0), defect.outline.max(axis=0)
        kind = f"{defect.part} cut out" if defect.kind == TAKEN and defect.part else defect.kind
        rows.append(f"{kind} at x {_span(x0, x1)}, y {_span(y0, y1)}")
    return "; ".join(rows) + " mm. No part touches them."


def _span(low: float, high: float) -> str:
    return f"{low:.0f}-{high:.0f}"


def _told(left: tuple[float, float], sheet: Sheet) -> str:
    wide = _width_at(sheet.board.outline, (left[0] + left[1]) / 2)
    label = f"{sheet.name}-R"
    return f"chalk {label} on it: {in_line(left[1] - left[0])} x {in_line(wide)}, {sheet.board.species}."


def _width_at(ring: Floats, x: float) -> float:
    """Width of a board at x, from its outline."""
    after = np.roll(ring, -1, axis=0)
    over = (ring[:, 0] - x) * (after[:, 0] - x) <= 0
    run = after[over, 0] - ring[over, 0]
    share = np.clip((x - ring[over, 0]) / np.where(run == 0, 1.0, run), 0.0, 1.0)
    y = ring[over, 1] + share * (after[over, 1] - ring[over, 1])
    return float(np.ptp(y)) if len(y) else 0.0


def _clearance(shop: Shop) -> str:
    """Clearance and cutter."""
    rules = shop.rules
    clear = f"Parts lie {rules.spacing:g} mm apart, {rules.edge_margin:g} mm from the edges."
    if rules.snipe:
        clear += f" None lies in the last {rules.snipe:g} mm of an end: the planer cuts deeper there."
    if shop.by_hand:
        return f"{clear} Kerf in the waste."
    cutter = f"{shop.machine.cutter:g} mm" if shop.machine else f"{max(rules.spacing - 2, 0):g} mm or less"
    return f"{clear} Cutter {cutter}. CAUTION: guards, eyes, ears, dust; see the shop book's cautions."
