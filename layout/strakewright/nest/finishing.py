"""The last touches to a plan: the same parts on the same boards, laid so that more is left whole and less is ripped.

run      stretch of a board from its first part to its last; what lies past it, long enough, is an offcut
rip      a cut along a board between parts that lie beside each other; none where a crosscut parts them
tidied   boards filled again with their own parts, the tidiest filling kept
slid     parts moved along the grain on their true outlines, closing what columns rounded to the safe side left open

Nothing here opens a board, moves a part to another one, or makes an offcut shorter.  Method: derived; slides by
halving, every place taken only where the true distances to neighbours, edges and defects are what the rules ask.
"""

from __future__ import annotations

import time
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import shapely
from numpy.random import Generator
from shapely.affinity import translate
from shapely.geometry import LineString, Polygon

from strakewright.lumber import Board, Rules
from strakewright.nest.building import Hands, filled
from strakewright.nest.figures import placed
from strakewright.nest.job import Load, Shed, cost, spans
from strakewright.nest.racks import passing
from strakewright.nest.search import Stand, standing
from strakewright.nest.ways import KINDS
from strakewright.parts import Part
from strakewright.plan import Placement

AGAIN = 12
"""Fillings tried for each board."""
REACH, HALVINGS = 24.0, 7
"""mm a part is slid in one step, and how finely in the last: to a fifth of a millimetre."""
PASSES = 2
FORGIVEN = 0.006
"""mm that grown outlines are short of round: clearances count as kept down to that."""


def rips(shed: Shed, board: int, load: Load) -> int:
    """Rips that part the pieces of a load: one for each piece that no crosscut parts from the one before it."""
    end, groups = -1, 0
    for first, last in sorted(spans(shed, board, load)):
        groups += first >= end
        end = max(end, last)
    return len(load) - groups


def tidiness(shed: Shed, board: int, load: Load) -> tuple[float, float, int]:
    """Cost, length of the run in mm, rips: less is better, in that order."""
    seen = spans(shed, board, load)
    run = (max(b for _, b in seen) - min(a for a, _ in seen)) * shed.ways.step
    return round(cost(shed, board, load), 9), run, rips(shed, board, load)


def tidied(shed: Shed, stand: Stand, rng: Generator, until: float | None) -> Stand:
    """The plan with every board's parts laid as tidily as a few fillings find.  until : when to stop"""
    loads: dict[int, Load] = {}
    for board, load in stand.loads.items():
        parts = [int(shed.ways.part[p.way]) for p in load]
        hands, best, kept = Hands(shed.area * 1e-6, rng), tidiness(shed, board, load), load
        for _ in range(AGAIN):
            if until is not None and time.monotonic() > until:
                break
            tried = filled(shed, board, parts, hands)
            if len(tried) == len(load) and (found := tidiness(shed, board, tried)) < best:
                best, kept = found, tried
        loads[board] = kept
    return standing(shed, loads, stand.left, stand.picked)


@dataclass(frozen=True, eq=False)
class Piece:
    """A part where it lies.  put : its number among the placements;  shape : true outline;  bar : defects it may not
    hold, and how far it keeps off each."""

    put: int
    shape: Polygon
    bar: tuple[tuple[Polygon, float], ...]


def slid(
    parts: Sequence[Part], boards: Sequence[Board], rules: Rules, puts: Sequence[Placement]
) -> tuple[Placement, ...]:
    """Placements with every board's parts drawn together along the grain, towards the end nearer to them, where that
    makes an offcut longer.  Leaves that hold pairs stay as they are: book-matched mates lie at one place."""
    pieces, stock = {p.id: p for p in parts}, {b.id: b for b in boards}
    found = list(puts)
    booked = {q.board for q in puts if q.leaf and pieces[q.part].match}
    for name, leaf in sorted({(q.board, q.leaf or 0) for q in puts if q.board not in booked}):
        board = stock[name]
        mine = [i for i, q in enumerate(puts) if (q.board, q.leaf or 0) == (name, leaf)]
        lying = [
            Piece(i, placed(Polygon(pieces[puts[i].part].outline), puts[i]), barred(pieces[puts[i].part], board, rules))
            for i in mine
        ]
        for i, by in drawn_together(lying, board, rules).items():
            found[i] = replace(puts[i], x=puts[i].x + by)
    return tuple(found)


def barred(part: Part, board: Board, rules: Rules) -> tuple[tuple[Polygon, float], ...]:
    """Defects of a board that a part may not hold, and how far it keeps off each."""
    kind = KINDS.get(part.quality or "", 0)
    return tuple((Polygon(d.outline), rules.keep_off(d.kind)) for d in board.defects if not passing(d) >> kind & 1)


def drawn_together(lying: Sequence[Piece], board: Board, rules: Rules) -> dict[int, float]:
    """How far each piece of a board moves along it, by number of placement; nothing where the offcut gets no longer."""
    x0, _, x1, _ = Polygon(board.outline).bounds
    rules = rules.for_planing(board)
    low, high = min(p.shape.bounds[0] for p in lying), max(p.shape.bounds[2] for p in lying)
    way = -1.0 if low - x0 <= x1 - high else 1.0
    free = x1 - high if way < 0 else low - x0
    near = min(low - x0, x1 - high)
    keeps = near - rules.spacing >= rules.min_offcut  # the near end is an offcut too: it must not get shorter
    if keeps or rules.min_offcut <= 0 or free + near < rules.min_offcut + rules.spacing:
        return {}
    edge, (_, y0, _, y1) = shapely.linearrings(board.outline), Polygon(board.outline).bounds
    ends = [LineString([(x, y0), (x, y1)]) for x in (x0, x1)] if rules.snipe else []
    shapes, moved = [p.shape for p in lying], np.zeros(len(lying))
    order = sorted(range(len(lying)), key=lambda k: shapes[k].bounds[0] if way < 0 else -shapes[k].bounds[2])
    for _ in range(PASSES):
        for k in order:
            others = [(s, rules.spacing) for i, s in enumerate(shapes) if i != k]
            asks = [*others, (edge, rules.edge_margin), *lying[k].bar, *((end, rules.snipe or 0.0) for end in ends)]
            left, _, right, _ = shapes[k].bounds
            by = way * slide(shapes[k], way, asks, left - x0 if way < 0 else x1 - right)
            shapes[k], moved[k] = translate(shapes[k], by), moved[k] + by
    gained = high - max(s.bounds[2] for s in shapes) if way < 0 else min(s.bounds[0] for s in shapes) - low
    return {p.put: float(m) for p, m in zip(lying, moved, strict=True) if m} if gained > 0 else {}


def slide(shape: Polygon, way: float, asks: Sequence[tuple[Any, float]], most: float) -> float:
    """How far a shape can be moved one way, step by step, and still keep its distances.

    asks : (other shape, mm);  most : mm to the end of the board, past which nothing would be in the way
    """
    others, least = np.array([s for s, _ in asks], dtype=object), np.array([mm - FORGIVEN for _, mm in asks])

    def clear(by: float) -> bool:
        return bool((shapely.distance(others, translate(shape, way * by)) >= least).all())

    if not clear(0.0):
        return 0.0
    low = 0.0
    while low + REACH < most and clear(low + REACH):
        low += REACH
    high = min(low + REACH, most)
    for _ in range(HALVINGS):
        middle = (low + high) / 2
        low, high = (middle, high) if clear(middle) else (low, middle)
    return low
