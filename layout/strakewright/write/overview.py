"""All boards of a plan with their parts on one picture, in black and white.

rack      the boards one under the other, in the order of the sheets
"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import numpy as np

from strakewright.plan import Placement
from strakewright.write.labels import Room
from strakewright.write.pen import Hatch, Pen, Role, placed
from strakewright.write.sheets import Sheet
from strakewright.write.svg import SvgPen


def write_overview(path: Path, sheets: Sequence[Sheet], boat: str) -> None:
    """boards.svg"""
    longest = _longest(sheets)
    pen = SvgPen(weight=longest / 1400)
    draw_overview(pen, sheets)
    pen.write(path, title=f"{boat}: {len(sheets)} boards with their parts")


def _longest(sheets: Sequence[Sheet]) -> float:
    return max((float(np.ptp(sheet.board.outline[:, 0])) for sheet in sheets), default=1000.0)


def _columns(sheets: Sequence[Sheet], row: float, column: float) -> list[Sequence[Sheet]]:
    """The sheets in columns, so that the picture is about as wide as it is high."""
    count = max(1, round(float(np.sqrt(len(sheets) * row / column))))
    share = -(-len(sheets) // count)
    return [sheets[at : at + share] for at in range(0, len(sheets), share)] if share else []


def draw_overview(pen: Pen, sheets: Sequence[Sheet]) -> None:
    """All boards of a plan, column by column, each with its parts and their ids: the rack at a glance."""
    longest = _longest(sheets)
    height = longest / 110
    tallest = max((float(np.ptp(sheet.board.outline[:, 1])) for sheet in sheets), default=0.0)
    for number, column in enumerate(_columns(sheets, tallest + 2 * height, 1.1 * longest)):
        left, top = number * 1.12 * longest, 0.0
        for sheet in column:
            low, high = sheet.board.outline.min(axis=0), sheet.board.outline.max(axis=0)
            row = Placement("", sheet.board.id, left - float(low[0]), top - float(high[1]))
            _draw_row(placed(pen, row), sheet, height)
            at = np.array([left - height, top - float(high[1] - low[1]) / 2])
            pen.text(at, sheet.name, height=1.5 * height, turn=0, anchor="right", role=Role.LABEL)
            top -= float(high[1] - low[1]) + 2 * height


def _draw_row(pen: Pen, sheet: Sheet, height: float) -> None:
    pen.polyline(sheet.board.outline, closed=True, role=Role.BOARD)
    for defect in sheet.board.defects:
        pen.area(defect.outline, Hatch(45.0, 15.0, crossed=True), Role.DEFECT)
    for part, placement in sheet.laid:
        on_board = placed(pen, placement)
        on_board.polyline(part.outline, closed=True, role=Role.CUT_OUTSIDE)
        room = Room(part.outline)
        middle = float(part.outline[:, 0].mean())
        spot = room.spot(part.id, (1.4 * height, height, 0.7 * height, 0.5 * height, 0.35 * height), middle)
        if spot:
            on_board.text(spot.at, part.id, height=spot.height, turn=spot.turn, anchor="middle", role=Role.LABEL)
