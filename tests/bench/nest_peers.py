"""General packing libraries on the same instances: what they leave, judged by the same referee where they give a plan.

boxes     rectpack: bounding boxes of the parts in straight boxes of the boards
strips    spyrrow: an irregular strip packer, board after board, each taking what still ends within it
solved    packingsolver: research code for irregular bins of different cost (Python 3.12 or newer)
All of them lie in the largest straight box of each board; no skews.  Not part of the product: installed only where
this bench is run.
"""

from __future__ import annotations

import multiprocessing
import time
from collections.abc import Sequence
from itertools import pairwise
from multiprocessing.connection import Connection

import numpy as np
from shapely.geometry import MultiPolygon, Polygon, box

from strakewright.arrays import Floats
from strakewright.plan import Placement, Plan
from strakewright.proof.referee import lying
from tests.bench.nest_yard import Instance

Row = tuple[str, float, int, float]
"""Peer, gross m2 of the boards opened, parts left, seconds."""
COLUMN = 25.0
"""mm: width of the columns in which a board's box is sought."""
FULL = 0.95
"""Of a board's box, by area: so much is tried at once."""
SLACK = 0.2
"""mm: the strip packer's own rounding."""
WORKERS = 2
"""Threads of a peer, as many cores as our own search has."""


def inner_box(instance: Instance, number: int) -> tuple[float, float, float, float]:
    """The largest straight box inside a board, margins and defects off.  x, y, length, width"""
    board, rules = instance.boards[number], instance.rules
    usable = Polygon(board.outline).buffer(-rules.edge_margin, join_style="mitre")
    for defect in board.defects:
        usable = usable.difference(Polygon(defect.outline).buffer(rules.defect_margin))
    x0, y0, x1, y1 = usable.bounds
    columns = np.linspace(x0, x1, max(int((x1 - x0) / COLUMN), 1) + 1)
    free = [_free(usable, a, b, y0, y1) for a, b in pairwise(columns)]
    best = (x0, y0, 0.0, 0.0)
    for i in range(len(free)):
        low, high = free[i]
        for j in range(i, len(free)):
            low, high = max(low, free[j][0]), min(high, free[j][1])
            if high <= low:
                break
            length = float(columns[j + 1] - columns[i])
            if length * (high - low) > best[2] * best[3]:
                best = (float(columns[i]), low, length, high - low)
    return best


def _free(usable: Polygon | MultiPolygon, left: float, right: float, low: float, high: float) -> tuple[float, float]:
    """The widest stretch of y over which a column is usable all across."""
    blocked = box(left, low, right, high).difference(usable)
    taken = sorted((g.bounds[1], g.bounds[3]) for g in getattr(blocked, "geoms", [blocked]) if not g.is_empty)
    best, top = (low, low), low
    for start, end in [*taken, (high, high)]:
        if start - top > best[1] - best[0]:
            best = (top, start)
        top = max(top, end)
    return best


def boxes(instance: Instance) -> tuple[Row, Plan]:
    """Bounding boxes, largest boards first."""
    from rectpack import newPacker

    begun, saw = time.perf_counter(), instance.rules.spacing
    packer = newPacker(rotation=False)
    rooms = {k: inner_box(instance, k) for k in range(len(instance.boards))}
    for k, (_, _, length, width) in sorted(rooms.items(), key=lambda r: r[1][2] * r[1][3]):
        if length > 100 and width > 20:
            packer.add_bin(length + saw, width + saw, bid=k)
    for n, part in enumerate(instance.parts):
        size = np.ptp(part.outline, axis=0) + saw
        packer.add_rect(float(size[0]), float(size[1]), rid=n)
    packer.pack()
    puts = []
    for b, x, y, _, _, n in packer.rect_list():
        bid = list(packer)[b].bid
        start = instance.parts[n].outline.min(axis=0)
        room = rooms[bid]
        at = (room[0] + x - float(start[0]), room[1] + y - float(start[1]))
        puts.append(Placement(instance.parts[n].id, instance.boards[bid].id, *at))
    return _row("boxes (rectpack)", instance, puts, begun)


def strips(instance: Instance, seconds: int) -> tuple[Row, Plan]:
    """A strip packer filling one board after another, longest first; each keeps what ends within it.

    The packer holds its items a whole separation off the strip's sides and ends, so the strip is made that much larger
    than the board's box; an item that does not fit its strip makes it give up (it searches for an ever longer strip).
    """
    import spyrrow

    begun, clear = time.perf_counter(), instance.rules.spacing + SLACK
    left = sorted(range(len(instance.parts)), key=lambda n: -float(np.ptp(instance.parts[n].outline[:, 0])))
    puts: list[Placement] = []
    rooms = sorted(range(len(instance.boards)), key=lambda k: -inner_box(instance, k)[2])
    each = max(1, seconds // max(len(rooms), 1))
    for k in rooms:
        x0, y0, length, width = inner_box(instance, k)
        chosen = _filling(instance, left, length, width)
        if not chosen:
            continue
        items = [spyrrow.Item(str(n), _points(instance.parts[n].outline), 1, [0.0, 180.0]) for n in chosen]
        how = spyrrow.StripPackingConfig(
            total_computation_time=each, min_items_separation=clear, seed=0, num_workers=WORKERS
        )
        got = spyrrow.StripPackingInstance("board", width + 2 * clear, items).solve(how)
        for item in got.placed_items:
            n, (x, y) = int(item.id), item.translation
            put = Placement(instance.parts[n].id, instance.boards[k].id, x0 + x - clear, y0 + y - clear, item.rotation)
            if lying(instance.parts[n], put).bounds[2] <= x0 + length:
                puts.append(put)
                left.remove(n)
    return _row("strips (spyrrow)", instance, puts, begun)


def _filling(instance: Instance, left: Sequence[int], length: float, width: float) -> list[int]:
    """Parts, longest first, that a box may hold by size and by area."""
    area, chosen = 0.0, []
    for n in left:
        ring = instance.parts[n].outline
        long, wide = np.ptp(ring, axis=0)
        grown = Polygon(ring).buffer(instance.rules.spacing / 2).area
        if long <= length and wide <= width - SLACK and area + grown < FULL * length * width:
            chosen.append(n)
            area += grown
    return chosen


def solved(instance: Instance, seconds: int) -> tuple[Row, Plan]:
    """A research solver of packing problems: every board a bin of its own cost, parts as they are.

    Boards are straight boxes here as well: of boards as they are, tapered or with defects, it dies (version 0.1.1233).
    Solved in a process of its own, so that this would not end the bench.
    """
    import packingsolver  # noqa: F401  (absent is told before a process starts)

    begun = time.perf_counter()
    context = multiprocessing.get_context("fork")
    mouth, ear = context.Pipe(duplex=False)[::-1]
    worker = context.Process(target=_solve, args=(instance, seconds, mouth))
    worker.start()
    mouth.close()
    try:
        puts = ear.recv() if ear.poll(3 * seconds + 60) else []
    except EOFError:  # it died without a word
        puts = []
    worker.kill()
    return _row("research solver (packingsolver)", instance, puts, begun)


def _solve(instance: Instance, seconds: int, mouth: Connection) -> None:
    from packingsolver import irregular

    rules = instance.rules
    build = irregular.InstanceBuilder()
    build.set_objective(irregular.Objective.VariableSizedBinPacking)
    build.set_item_item_minimum_spacing(rules.spacing)
    rooms = [inner_box(instance, k) for k in range(len(instance.boards))]
    for board, (x, y, length, width) in zip(instance.boards, rooms, strict=True):
        shape = irregular.build_rectangle(x, x + max(length, 1.0), y, y + max(width, 1.0))
        build.add_bin_type(shape, cost=Polygon(board.outline).area, copies=1)
    for part in instance.parts:
        turns = [(0.0, 0.0, False), (180.0, 180.0, False)]
        build.add_item_type(irregular.build_shape(_points(part.outline)), allowed_rotations=turns, copies=1)
    how = irregular.OptimizeParameters()
    how.time_limit = float(seconds)
    how.verbosity_level = 0
    found = irregular.optimize(build.build(), how).solution
    puts = []
    for n in range(found.number_of_different_bins()):
        one = found.bin(n)
        for item in one.items:
            part, board = instance.parts[item.item_type_id], instance.boards[one.bin_type_id]
            puts.append(Placement(part.id, board.id, item.bl_corner.x, item.bl_corner.y, item.angle, item.mirror))
    mouth.send(puts)


def _points(ring: Floats) -> list[tuple[float, float]]:
    return [(float(x), float(y)) for x, y in ring]


def _row(name: str, instance: Instance, puts: list[Placement], begun: float) -> tuple[Row, Plan]:
    used = {p.board for p in puts}
    gross = sum(Polygon(b.outline).area for b in instance.boards if b.id in used) / 1e6
    missing = tuple(p.id for p in instance.parts if p.id not in {q.part for q in puts})
    plan = Plan(tuple(puts), missing, len(used), gross, gross, 0.0, 0.0, None, None, 0, 0)
    return (name, gross, len(missing), time.perf_counter() - begun), plan
