"""Cutting sheets: one per board, with everything the person at the machine needs.

datum     where a sheet finds its board: one jointed edge is y = 0, one squared butt is x = 0
tape check  straight distances between lettered points, to be measured on the board before cutting
check square  100 mm square beside the board: measure it on whatever the machine or printer made

A sheet's coordinates are the board's.  Notes stand below the board, off the wood.
"""

from __future__ import annotations

import textwrap
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path

import numpy as np

from strakewright.arrays import Floats
from strakewright.geometry.outlines import clip_lines
from strakewright.lumber import Board, Rules
from strakewright.machine import CLEAR
from strakewright.parts import Mark, Part
from strakewright.plan import Placement, Plan, book_matched
from strakewright.units import print_mm, print_tape
from strakewright.write.datum import butt_words, edge_words, is_jointed
from strakewright.write.dxf import DxfPen, DxfStyle
from strakewright.write.labels import SMALLEST, Label, Room, beside
from strakewright.write.pen import LETTER_WIDTH, Hatch, Pen, Role, lay, placed

_NOTE, _TITLE, _LEADING = 16.0, 28.0, 1.6
_SQUARE = 100.0
_DEFECT = Hatch(slope_deg=45.0, gap=6.0, crossed=True)
_JOINT = Hatch(slope_deg=60.0, gap=7.0)
_CAUTION = (
    "CAUTION: measure the 100 mm square and the tape checks before cutting. Clamps and screws clear of the"
    " cutter's path. Guards on, eyes and ears covered, dust drawn off and a mask worn: wood dust harms."
)


@dataclass(frozen=True)
class Title:
    """What every sheet carries: the boat, the revision of the drawing, and how sure its lines are (note)."""

    boat: str
    revision: str = ""
    note: str = ""


@dataclass(frozen=True, eq=False)
class Sheet:
    """One board (or one leaf of it) and the parts that lie on it, number `number` of `count`.

    leaves : how many the board is sawn into;  books : book-matched part -> its mate and the leaf that lies on"""

    board: Board
    leaf: int | None
    laid: tuple[tuple[Part, Placement], ...]
    number: int
    count: int
    leaves: int = 1
    books: Mapping[str, tuple[str, int]] = field(default_factory=dict)

    @property
    def name(self) -> str:
        """File name without ending; `+` cannot be part of a board's id."""
        return self.board.id if self.leaf is None else f"{self.board.id}+leaf{self.leaf}"

    @property
    def over(self) -> tuple[str, ...]:
        """Parts that lie with their marked face down."""
        return tuple(p.id for p, q in self.laid if is_over(p, q))

    @property
    def planed(self) -> float:
        """mm to plane it to: as thick as its thickest part is to be, which the board may well pass."""
        return max((part.thickness for part, _ in self.laid), default=self.board.thickness)


@dataclass(frozen=True, eq=False)
class TapeCheck:
    """A straight distance to measure.  start, end : (2,) mm on the board;  distance : mm"""

    name: str
    start: Floats
    end: Floats
    distance: float


@dataclass(frozen=True, eq=False)
class Extra:
    """What a machine wants on a sheet besides.  draw : on a pen in the board's axes;  notes : below the board;
    wood : draws board and parts (worked out once for sheet and windows)"""

    draw: Callable[[Pen], None]
    notes: Sequence[str]
    wood: Callable[[Pen], None]


@dataclass(frozen=True, eq=False)
class Machining:
    """For the machine there is.  style : of the files;  extras : by sheet;  cutter : mm, None = by the spacing"""

    style: DxfStyle = field(default_factory=DxfStyle)
    extras: Mapping[str, Extra] = field(default_factory=dict)
    cutter: float | None = None


def sheets_of(plan: Plan, parts: Sequence[Part], boards: Sequence[Board]) -> tuple[Sheet, ...]:
    """One sheet per board used, in the order of the rack; parts from butt to top."""
    by_id = {part.id: part for part in parts}
    laid: dict[tuple[str, int], list[tuple[Part, Placement]]] = {}
    for placement in plan.placements:
        laid.setdefault((placement.board, placement.leaf or 0), []).append((by_id[placement.part], placement))
    rank = {board.id: (n, board) for n, board in enumerate(boards)}
    keys = sorted(laid, key=lambda key: (rank[key[0]][0], key[1]))
    books = _books(plan, by_id)
    rows = [(rank[board][1], leaf or None, tuple(sorted(laid[board, leaf], key=_from_butt))) for board, leaf in keys]
    most = {name: max([board.leaves, *(leaf for b, leaf in keys if b == name)]) for name, (_, board) in rank.items()}
    return tuple(
        Sheet(*row, n, len(keys), most[row[0].id], {p.id: books[p.id] for p, _ in row[2] if p.id in books})
        for n, row in enumerate(rows, start=1)
    )


def is_over(part: Part, put: Placement) -> bool:
    """Whether a part with a marked face lies with that face down: one of a book-matched pair."""
    return put.flip and not part.may_flip


def _books(plan: Plan, by_id: Mapping[str, Part]) -> dict[str, tuple[str, int]]:
    """Book-matched part -> its mate and the leaf that lies on."""
    lies = {q.part: q for q in plan.placements}
    pairs = [(q, lies.get(by_id[q.part].mate or "")) for q in plan.placements if by_id[q.part].match]
    return {a.part: (b.part, b.leaf) for a, b in pairs if b is not None and b.leaf and book_matched(a, b)}


def _from_butt(pair: tuple[Part, Placement]) -> tuple[float, str]:
    part, placement = pair
    return float(lay(part.outline, placement)[:, 0].min()), part.id


def write_sheets(
    folder: Path,
    sheets: Sequence[Sheet],
    title: Title,
    rules: Rules,
    labels: Mapping[str, Label],
    machining: Machining | None = None,
) -> dict[str, Path]:
    """Write one DXF per sheet into `folder`; returns sheet name -> file."""
    with_machine = machining or Machining()
    written = {}
    for sheet in sheets:
        pen = DxfPen(with_machine.style)
        draw_sheet(pen, sheet, title, rules, labels, with_machine)
        written[sheet.name] = folder / f"{sheet.name}.dxf"
        pen.write(written[sheet.name])
    return written


def draw_sheet(
    pen: Pen, sheet: Sheet, title: Title, rules: Rules, labels: Mapping[str, Label], machining: Machining | None = None
) -> None:
    """Everything on one sheet: board, defects, parts, marks, words, checks, notes."""
    with_machine = machining or Machining()
    extra = with_machine.extras.get(sheet.name)
    if extra is None:
        draw_wood(pen, sheet, labels)
    else:
        extra.wood(pen)
        extra.draw(pen)
    low = sheet.board.outline.min(axis=0)
    _draw_datum(pen, sheet.board)
    _draw_letters(pen, _lettered(sheet))
    corner = np.array([low[0], low[1] - 70 - _SQUARE])
    draw_square(pen, corner)
    beside_it = corner + np.array([_SQUARE + 40, _SQUARE - _TITLE / 2])
    cutter = with_machine.cutter or max(rules.spacing - CLEAR, 0)
    clear = f"Clear between parts {rules.spacing:g} mm: cutter of {cutter:g} mm or less."
    notes = [clear, *(extra.notes if extra else ())]
    _draw_notes(pen, sheet, beside_it, _notes(sheet, title, labels, notes))


def draw_wood(pen: Pen, sheet: Sheet, labels: Mapping[str, Label]) -> None:
    """The board and every part on it."""
    draw_board(pen, sheet.board)
    for part, placement in sheet.laid:
        draw_part(placed(pen, placement), part, _seen(labels.get(part.id, Label(forward=None)), part, placement))


def _seen(label: Label, part: Part, put: Placement) -> Label:
    """The label of a part as it lies: with its marked face down the outside is up."""
    return replace(label, face_up="outside") if is_over(part, put) else label


def draw_board(pen: Pen, board: Board) -> None:
    """The usable wood and its defects."""
    pen.polyline(board.outline, closed=True, role=Role.BOARD)
    for defect in board.defects:
        pen.area(defect.outline, _DEFECT, Role.DEFECT)
        top = np.array([defect.outline[:, 0].mean(), defect.outline[:, 1].max() + SMALLEST])
        pen.text(top, defect.kind, height=SMALLEST, turn=0, anchor="middle", role=Role.DEFECT)


def draw_part(pen: Pen, part: Part, label: Label) -> None:
    """Cut line, marks and words of one part, on a pen in the part's own axes."""
    pen.polyline(part.outline, closed=True, role=Role.CUT_OUTSIDE)
    marks = part.marks if label.face_up == "inside" else ()
    room = Room(part.outline, [mark.points for mark in marks])
    pieces = [clip_lines(mark.points, part.outline) if len(mark.points) > 1 else [] for mark in marks]
    for mark, lines in zip(marks, pieces, strict=True):
        _draw_mark(pen, mark, lines)
    for mark, lines in zip(marks, pieces, strict=True):
        _name_mark(pen, mark, lines, room)
    _draw_words(pen, part, label, room)


def _draw_mark(pen: Pen, mark: Mark, pieces: Sequence[Floats]) -> None:
    if mark.kind == "screw":
        for point in mark.points:
            pen.circle(point, 1.5, Role.DRILL)
    elif len(mark.points) == 1:
        for arm in (np.array([3.0, 0.0]), np.array([0.0, 3.0])):
            pen.polyline(np.stack([mark.points[0] - arm, mark.points[0] + arm]), closed=False, role=Role.SCRIBE)
    else:
        for piece in pieces:
            pen.polyline(piece, closed=False, role=Role.SCRIBE)
    if mark.kind == "joint" and len(mark.points) > 3:
        pen.area(mark.points, _JOINT, Role.LABEL)


def _name_mark(pen: Pen, mark: Mark, pieces: Sequence[Floats], room: Room) -> None:
    words = mark.name.upper() or ("TRIM" if mark.kind == "trim" else "")
    if mark.kind in ("screw", "tick") or not words or not pieces:
        return
    if mark.kind == "joint":  # no words over the hatching: beside it, towards the middle of the part
        middle, low, high = room.ring[:, 0].mean(), mark.points[:, 0].min(), mark.points[:, 0].max()
        reach = 0.5 * len(words) * SMALLEST
        _write(pen, room, (words,), (8.0, 6.0, SMALLEST), float(high + reach if high < middle else low - reach))
        return
    if mark.kind == "trim" and "TRIM" not in words:
        words = f"TRIM {words}"
    spot = beside(max(pieces, key=lambda line: float(np.hypot(*(line[-1] - line[0])))), words, room)
    if spot:
        pen.text(spot.at, words, height=spot.height, turn=spot.turn, anchor="middle", role=Role.LABEL)


def _draw_words(pen: Pen, part: Part, label: Label, room: Room) -> None:
    low, high = part.outline.min(axis=0), part.outline.max(axis=0)
    centre, long = float(low[0] + high[0]) / 2, float(high[0] - low[0])
    tallest = max(10.0, 0.3 * float(high[1] - low[1]))
    sizes = tuple(h for h in (30.0, 24.0, 20.0, 16.0, 12.0, 10.0, 8.0, 6.0, SMALLEST, 3.0) if h <= tallest)
    if not _write(pen, room, (part.id,), sizes, centre):
        pen.text(room.widest(), part.id, height=SMALLEST, turn=0, anchor="middle", role=Role.LABEL)
    face = f"{label.face_up.upper()} UP"
    whole = "  ".join(word for word in (label.side, face, label.words) if word)
    down = (14.0, 12.0, 10.0) if label.face_up == "outside" else (14.0, 12.0, 10.0, 8.0, 6.0, SMALLEST)
    _write(pen, room, (whole, f"{label.side[:1]} {face}".strip(), face), down, centre - 0.15 * long)
    if label.forward is not None:
        _draw_arrow(pen, room, label.forward, centre + 0.15 * long)


def _write(pen: Pen, room: Room, choices: Sequence[str], heights: tuple[float, ...], near: float) -> bool:
    """The first of the choices that fits at 10 mm or more, else the first that fits at all; False if none."""
    tall = tuple(h for h in heights if h >= 10)
    for sizes in (tall, heights[len(tall) :]):
        for words in choices:
            spot = room.spot(words, sizes, near)
            if spot:
                pen.text(spot.at, words, height=spot.height, turn=spot.turn, anchor="middle", role=Role.LABEL)
                return True
    return False


def _draw_arrow(pen: Pen, room: Room, forward: tuple[float, float], near: float) -> None:
    """An arrow to the bow with FWD at its tail, as large as there is room for."""
    way = np.array(forward) / np.hypot(*forward)
    for size in (12.0, 10.0, 8.0, 6.0, SMALLEST):
        length, words = 5 * size, 3.4 * LETTER_WIDTH * size
        across = max(abs(way[1]) * length, 1.4 * size)
        spot = room.block(length + words + size, across, near)
        if spot is None:
            continue
        slant = np.deg2rad(spot.turn)
        along = np.array([np.cos(slant), np.sin(slant)])
        tail_side = -1.0 if way[0] >= 0 else 1.0
        centre = spot.at - tail_side * along * (words + size) / 2
        way = along * np.sign(way[0]) if abs(way[1]) < 1e-6 else way
        _arrow(pen, centre - way * length / 2, centre + way * length / 2, size)
        spot_words = centre + tail_side * along * (length + words + size / 2) / 2
        pen.text(spot_words, "FWD", height=size, turn=spot.turn, anchor="middle", role=Role.LABEL)
        return


def _arrow(pen: Pen, tail: Floats, tip: Floats, size: float) -> None:
    way = (tip - tail) / np.hypot(*(tip - tail))
    side = np.array([-way[1], way[0]])
    head = np.stack([tip - size * way + 0.4 * size * side, tip, tip - size * way - 0.4 * size * side])
    pen.polyline(np.stack([tail, tip]), closed=False, role=Role.LABEL)
    pen.polyline(head, closed=False, role=Role.LABEL)


def tape_checks(sheet: Sheet) -> tuple[TapeCheck, ...]:
    """Two diagonals over all parts of a sheet and one distance from the butt: points are corners of parts."""
    spots = dict(_lettered(sheet))
    pairs = [("A", "C"), ("B", "D")]
    found = [TapeCheck(f"{a} to {b}", spots[a], spots[b], float(np.hypot(*(spots[b] - spots[a])))) for a, b in pairs]
    foot = np.array([0.0, spots["C"][1]])
    return (*found, TapeCheck("butt x = 0 square to C", foot, spots["C"], float(abs(spots["C"][0]))))


def _lettered(sheet: Sheet) -> list[tuple[str, Floats]]:
    """Points of the parts nearest to the four corners of the board, A to D counter-clockwise from the datum."""
    points = np.concatenate([lay(part.outline, placement) for part, placement in sheet.laid])
    ways = {"A": (-1, -1), "B": (1, -1), "C": (1, 1), "D": (-1, 1)}
    return [(letter, points[int(np.argmax(points @ np.array(way)))]) for letter, way in ways.items()]


def _draw_letters(pen: Pen, lettered: list[tuple[str, Floats]]) -> None:
    """Ring and letter at every point to measure from; a point that serves twice carries both letters."""
    names: dict[tuple[float, ...], str] = {}
    for letter, spot in lettered:
        names[tuple(spot.tolist())] = names.get(tuple(spot.tolist()), "") + letter
    for where, letters in names.items():
        spot = np.array(where)
        pen.circle(spot, 4.0, Role.CHECK)
        pen.text(spot + np.array([7.0, 9.0]), letters, height=10, turn=0, anchor="left", role=Role.CHECK)


def _draw_datum(pen: Pen, board: Board) -> None:
    """Arrows and words at the corner the sheet is measured from."""
    high = board.outline.max(axis=0)
    pen.polyline(np.array([[-30.0, 0.0], [min(300.0, high[0]), 0.0]]), closed=False, role=Role.CHECK)
    pen.polyline(np.array([[0.0, -30.0], [0.0, high[1]]]), closed=False, role=Role.CHECK)
    edge = np.array([20.0, -14.0])
    name = "JOINTED EDGE" if is_jointed(board) else "STRING"
    pen.text(edge, f"{name}  y = 0", height=10, turn=0, anchor="left", role=Role.CHECK)
    butt = np.array([-14.0, high[1] / 2])
    pen.text(butt, "BUTT  x = 0", height=10, turn=90, anchor="middle", role=Role.CHECK)


def draw_square(pen: Pen, corner: Floats) -> None:
    """The check square, its lower left at `corner`."""
    square = corner + _SQUARE * np.array([[0.0, 0.0], [1, 0], [1, 1], [0, 1]])
    pen.polyline(square, closed=True, role=Role.CHECK)
    pen.text(corner + _SQUARE / 2, "100 mm", height=14, turn=0, anchor="middle", role=Role.CHECK)


def _notes(sheet: Sheet, title: Title, labels: Mapping[str, Label], machine: Sequence[str]) -> list[str]:
    board = sheet.board
    size = board.outline.max(axis=0) - board.outline.min(axis=0)
    leaf = "" if sheet.leaf is None else f"  LEAF {sheet.leaf} of {sheet.leaves}"
    revision = f"  rev {title.revision}" if title.revision else ""
    both = "  x  ".join(f"{print_mm(float(v))} ({print_tape(float(v))})" for v in size)
    tape = "   ".join(f"{c.name}: {print_mm(c.distance)} ({print_tape(c.distance)})" for c in tape_checks(sheet))
    faces = [(p.id, _seen(labels.get(p.id, Label()), p, q).face_up) for p, q in sheet.laid]
    outside = [name for name, face in faces if face == "outside"]
    return [
        f"{title.boat}   BOARD {board.id}{leaf}   sheet {sheet.number} of {sheet.count}{revision}",
        f"{board.species}, finish at {sheet.planed:g} mm ({print_tape(sheet.planed)}); usable {both};"
        f" {len(sheet.laid)} {'part' if len(sheet.laid) == 1 else 'parts'}, marked face up.",
        f"Datum: {edge_words(board)}; {butt_words(board)}; measure after facing. x runs with the grain.",
        f"Tape check before cutting. {tape}.",
        f"Cut lines are square, round the wider face of each piece: plane bevels afterwards. {machine[0]}",
        *machine[1:],
        *([f"OUTSIDE UP: {', '.join(outside)}. Their marks are left off."] if outside else []),
        *(f"BOOK-MATCHED: {told}." for told in [book_words(sheet)] if told),
        *([title.note] if title.note else []),
        _CAUTION,
    ]


def book_words(sheet: Sheet) -> str:
    """Which parts are book-matched with which, empty if none are."""
    return "; ".join(f"{name} with {mate} on leaf {leaf}" for name, (mate, leaf) in sorted(sheet.books.items()))


def _draw_notes(pen: Pen, sheet: Sheet, at: Floats, notes: list[str]) -> None:
    long = float(np.ptp(sheet.board.outline[:, 0])) - _SQUARE - 40
    columns = max(70, int(long / (LETTER_WIDTH * _NOTE)))
    pen.text(at, notes[0], height=_TITLE, turn=0, anchor="left", role=Role.CHECK)
    y = float(at[1]) - _TITLE * 1.4
    for line in (piece for note in notes[1:] for piece in textwrap.wrap(note, columns)):
        pen.text(np.array([at[0], y]), line, height=_NOTE, turn=0, anchor="left", role=Role.CHECK)
        y -= _NOTE * _LEADING
