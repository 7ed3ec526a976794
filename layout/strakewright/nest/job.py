"""A nesting job made ready: ways of the parts, boards as slabs, who may go where, what a board costs.

shed       everything that does not change while searching
load       the pieces lying on one board, and the end it is seen from
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from shapely.geometry import Polygon

from strakewright.arrays import Bools, Floats
from strakewright.lumber import Board, Rules
from strakewright.nest.filling import Laid
from strakewright.nest.racks import Slab, columns_of, slabs
from strakewright.nest.ways import Ways, all_ways, turns
from strakewright.parts import Part
from strakewright.plan import Placement

THIN = 1e-6
"""mm a part may be thicker than a board and still count as equal (rounding of inches)."""


@dataclass(frozen=True)
class Load:
    """side : 0 or 1, index of the slab;  laid : pieces in the order they were laid."""

    side: int
    laid: tuple[Laid, ...]


@dataclass(frozen=True, eq=False)
class Shed:
    """may : (parts, boards) species and thickness agree;  area : (parts,) mm2 grown;  hard : (parts,) 0..1, how
    awkward a part is;  room : (boards,) mm2;  worth : (boards,) cost of opening a board for the objective."""

    parts: tuple[Part, ...]
    boards: tuple[Board, ...]
    rules: Rules
    ways: Ways
    slabs: tuple[tuple[Slab, Slab] | None, ...]
    stride: int
    may: Bools
    area: Floats
    hard: Floats
    room: Floats
    worth: Floats


def may_lie(parts: Sequence[Part], boards: Sequence[Board]) -> Bools:
    """(parts, boards): species agree and the board finishes at the part's thickness or above."""
    kinds = np.array([[p.species == b.species for b in boards] for p in parts], dtype=bool)
    thick = np.array([p.thickness for p in parts])[:, None] <= np.array([b.thickness for b in boards]) + THIN
    return kinds.reshape(len(parts), len(boards)) & thick


def step_for(parts: Sequence[Part], boards: Sequence[Board]) -> float:
    """Column length in mm: 4 for boat planks, finer for short parts, coarser for very long boards."""
    shortest = min((float(np.ptp(p.outline[:, 0])) for p in parts), default=400.0)
    longest = max((float(np.ptp(b.outline[:, 0])) for b in boards), default=4000.0)
    return max(min(4.0, shortest / 50), longest / 2000)


def worths(boards: Sequence[Board], objective: str) -> Floats:
    """Cost of each board: m2 (gross, net), 1 and a little by area (boards), or price (m2 where none is known)."""
    area = np.array([Polygon(b.outline).area / 1e6 for b in boards])
    if objective == "boards":
        return 1.0 + area * 1e-3
    if objective == "price":
        known = [b.price / a for b, a in zip(boards, area, strict=True) if b.price is not None]
        rate = float(np.median(known)) if known else 1.0
        return np.array([a * rate if b.price is None else b.price for b, a in zip(boards, area, strict=True)])
    return area


def make_ready(parts: Sequence[Part], boards: Sequence[Board], rules: Rules) -> Shed:
    """Everything the search needs."""
    step = step_for(parts, boards)
    stride = columns_of(boards, step)
    ways = all_ways(parts, rules.spacing, step, [turns(p, (0.0,), rules.max_skew_deg) for p in parts])
    racked = tuple(slabs(i, b, rules, step, stride) for i, b in enumerate(boards))
    room = np.array([0.0 if s is None else float((s[0].roof - s[0].floor).sum() * step) for s in racked])
    first = np.array([int(w[0]) for w in ways.of], dtype=np.int64)
    length, height = ways.columns[first].astype(float), ways.height[first]
    hard = 0.7 * length / max(length.max(initial=1.0), 1.0) + 0.3 * height / max(height.max(initial=1.0), 1.0)
    return Shed(
        tuple(parts),
        tuple(boards),
        rules,
        ways,
        racked,
        stride,
        may_lie(parts, boards),
        ways.area[first],
        hard,
        room,
        worths(boards, rules.objective),
    )


def cost(shed: Shed, board: int, load: Load) -> float:
    """What a board costs with these pieces on it (net: without end offcuts worth keeping)."""
    if not load.laid:
        return 0.0
    if shed.rules.objective != "net" or shed.rules.min_offcut <= 0:
        return float(shed.worth[board])
    both = shed.slabs[board]
    assert both is not None
    n, step = len(both[0].floor), shed.ways.step
    first = min(p.at for p in load.laid)
    end = max(p.at + int(shed.ways.columns[p.way]) for p in load.laid)
    free = [r * step for r in (first, n - end) if r * step >= shed.rules.min_offcut + step]
    return float(shed.worth[board] * (1.0 - sum(free) / (n * step)))


def placement(shed: Shed, board: int, side: int, laid: Laid) -> Placement:
    """Where a laid piece lies in the board's own axes."""
    both = shed.slabs[board]
    assert both is not None
    slab, way = both[side], shed.ways.ways[laid.way]
    x = slab.corner[0] + laid.at * shed.ways.step + way.origin[0]
    y = laid.y + way.origin[1]
    turn = way.turn_deg
    if slab.half_round:
        x, y, turn = slab.pivot[0] - x, slab.pivot[1] - y, turn + 180.0
    part, name = shed.parts[way.part].id, shed.boards[board].id
    return Placement(part, name, float(x), float(y), float((turn + 180.0) % 360.0 - 180.0), way.flip)
