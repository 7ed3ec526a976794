"""What a plan comes to, in words for whoever waits for it: wood, money, and how far from the best there can be.

gap      share by which a plan may lie above the best possible at most
sold     board feet as a mill counts them: whole feet of each board
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from strakewright.compiling import has_compiler
from strakewright.errors import Finding
from strakewright.lumber import OPENED, Board
from strakewright.plan import Plan, above_best

MOST = 12
"""Boards listed one by one at most."""
TELLING = 1.0
"""A bound farther off says nothing: of a part or two it is the bare area of their wood."""
NAMED = 3
"""Parts named for one reason, and reasons told, at most."""


def stock_lines(record: Mapping[str, Any]) -> list[str]:
    """The headline figures of a plan in words.  record : summary.json; nothing where it has no plan"""
    stock = record.get("stock")
    if not stock or not stock["parts"]:
        return []
    lines = [
        f"{stock['parts_placed']} of {stock['parts']} parts lie on {stock['boards_used']} of "
        f"{_boards(stock['boards'])}: {stock['gross_m2']:.2f} m2 opened, {stock['gross_yield']:.0%} of it parts "
        f"({stock['net_yield']:.0%} when offcuts worth keeping are not counted)",
        f"Board feet of those boards: {stock['board_feet_bought']:.1f} exact, "
        f"{stock['board_feet_as_tallied']:.0f} as a mill tallies them",
    ]
    if stock.get("cost") is not None:
        lines.append(f"Their price: {stock['cost']:.2f}")
    if stock["gap"] is not None and stock["gap"] < TELLING:
        lines.append(f"The plan is {above_best(stock['gap'])}")
    return lines


def uncompiled() -> tuple[Finding, ...]:
    """A note where numba, an optional extra, is not there to compile the inner loops."""
    if has_compiler():
        return ()
    what = "is not installed: seams and searches run as they are written, to the same answers, in minutes not seconds"
    return (Finding("not-compiled", "note", "numba", what, "Install it beside strakewright: pip install numba"),)


def _boards(count: int) -> str:
    return f"{count} board" if count == 1 else f"{count} boards"


def cost_of(boards: Sequence[Board], plan: Plan) -> float | None:
    """Price of the boards a plan uses, less those cut into already; None when one of them has none."""
    used = {p.board for p in plan.placements}
    prices = [b.price for b in boards if b.id in used and b.state not in OPENED]
    return None if None in prices or not prices else sum(p for p in prices if p is not None)


def by_board(plan: Plan) -> dict[str, list[str]]:
    """Board -> the parts on it, in the order of the plan."""
    rows: dict[str, list[str]] = {}
    for put in plan.placements:
        rows.setdefault(put.board, []).append(put.part)
    return dict(sorted(rows.items()))


def board_lines(record: Mapping[str, Any]) -> list[str]:
    """Which part comes out of which board; of a long plan the first boards."""
    rows = record.get("parts_on_boards", {})
    told = [f"{board}: {', '.join(parts)}" for board, parts in list(rows.items())[:MOST]]
    return told + ([f"... and {_boards(len(rows) - MOST)} more"] if len(rows) > MOST else [])


def reasons(plan: Plan) -> list[str]:
    """Why parts lie nowhere, each reason once with the first parts it holds for."""
    names: dict[str, list[str]] = {}
    for part, why in plan.explained.items():
        names.setdefault(why, []).append(part)
    rows = sorted(names.items(), key=lambda row: -len(row[1]))[:NAMED]
    return [
        f"{', '.join(p[:NAMED])}{f' and {len(p) - NAMED} more' if len(p) > NAMED else ''}: {why}" for why, p in rows
    ]
