"""The lines in the shop book: the drawing, what was corrected, what fairing moved, and the table to lay off by."""

from __future__ import annotations

from strakewright.hull import Hull
from strakewright.offsets import LinesPlan, Move
from strakewright.write.book import PICTURE, Block, Facts, Picture, Section, Table, Words, tenths
from strakewright.write.linesplan import draw_lines, draw_sections, lines_height, lines_width
from strakewright.write.offsetrecords import NOTE, corrected_rows, in_eighths, in_mm

_TALLEST = 145.0  # mm: of a picture that shares a page with its title and two lines of words, on both papers
_NOTED = 20.0  # mm that the words before the first picture take
_ACROSS = 7  # stations beside each other in a table of the book


def lines_section(facts: Facts) -> Section | None:
    """The lines, for a hull from a table of offsets."""
    hull = facts.lofted
    if hull is None or hull.lines is None:
        return None
    blocks: tuple[Block, ...] = (
        Words(NOTE + " Leave wood where planks meet, and fit them.", strong=True),
        *_pictures(hull, hull.lines),
        *_corrections(hull.lines),
        _moves(hull.lines),
        *_tables(hull.lines),
    )
    return Section("Lines and corrected offsets", blocks)


def _pictures(hull: Hull, plan: LinesPlan) -> tuple[Picture, Picture]:
    """Two pages: the long views, and the sections."""
    width = lines_width(hull, PICTURE, _TALLEST - _NOTED)
    long = "Full: the boat's lines, with their curvature; dashed: waterlines, buttocks, diagonals; rings: moves in mm"
    body = "Sections at the stations of the table: after half at the left, forward half at the right"
    return (
        Picture(PICTURE, lines_height(hull, width), lambda pen: draw_lines(pen, hull, plan, width), long),
        Picture(PICTURE, _TALLEST, lambda pen: draw_sections(pen, hull, plan, PICTURE, _TALLEST), body),
    )


def _corrections(plan: LinesPlan) -> tuple[Block, ...]:
    if not plan.corrections:
        return ()
    head = ("row", "station", "in the table", "corrected to", "reason")
    rows = tuple((c.row, c.station, c.was or "blank", f"{c.text} ({in_mm(c.mm)})", c.reason) for c in plan.corrections)
    return (Table(head, rows, "Cells corrected by the boat file"),)


def _moves(plan: LinesPlan) -> Block:
    worst = max(plan.moves, key=lambda m: abs(m.by), default=None)
    if worst is None or abs(worst.by) < 0.05:
        return Words("Fairing has moved no cell.")
    moved = [m for m in plan.moves if abs(m.by) >= 0.05]
    rows = tuple(_move_row(m) for m in sorted(moved, key=lambda m: (m.row, m.station)))
    head = ("row", "station", "in the table", "faired", "moved, mm", "")
    told = (
        f"Moves of fairing, + up or out; the largest is {abs(worst.by):.1f} mm ({worst.row}, station {worst.station})"
    )
    return Table(head, rows, told)


def _move_row(m: Move) -> tuple[str, ...]:
    standing = "locked" if m.locked else ("allowed" if m.allowed else "")
    shown = [f"{in_eighths(v)} ({in_mm(v)})" for v in (m.tabled, m.faired)]
    return (m.row, m.station, *shown, tenths(m.by), standing)


def _tables(plan: LinesPlan) -> list[Block]:
    """The corrected table, both notations in a cell, some stations at a time."""
    eighths, mm = corrected_rows(plan, in_eighths), corrected_rows(plan, in_mm)
    made: list[Block] = []
    for first in range(1, len(eighths[0]), _ACROSS):
        pick = slice(first, first + _ACROSS)
        head = ("row", *eighths[0][pick])
        rows = tuple(
            (a[0], *(f"{x}\n{y.removesuffix(' mm')}" for x, y in zip(a[pick], b[pick], strict=True)))
            for a, b in zip(eighths[1:], mm[1:], strict=True)
        )
        made.append(Table(head, rows, "Corrected table of offsets: feet-inches-eighths, mm below"))
    return made
