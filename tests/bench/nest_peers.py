"""General packing libraries on the same instances: what they leave, judged by the same referee where they give a plan.

boxes     rectpack: bounding boxes of the parts in straight boxes of the boards
strips    spyrrow: an irregular strip packer, board after board, each taking what still ends within it
Both are told the clearances by growing the parts.  Not part of the product: installed only where this bench is run.
"""

from __future__ import annotations

import time

import numpy as np
from shapely.geometry import Polygon

from strakewright.plan import Placement, Plan
from tests.bench.nest_yard import Instance

Row = tuple[str, float, int, float]
"""Peer, gross m2 of the boards opened, parts left, seconds."""


def inner_box(instance: Instance, number: int) -> tuple[float, float, float, float]:
    """The straight box inside a board, margins off; one with a defect ends at the first one.  x, y, length, width"""
    board, edge = instance.boards[number], instance.rules.edge_margin
    ring, middle = board.outline, float(np.median(board.outline[:, 1]))
    low = float(ring[ring[:, 1] < middle][:, 1].max(initial=ring[:, 1].min())) + edge
    high = float(ring[ring[:, 1] >= middle][:, 1].min(initial=ring[:, 1].max())) - edge
    x0, x1 = float(ring[:, 0].min()) + edge, float(ring[:, 0].max()) - edge
    for defect in board.defects:
        a, b = defect.outline[:, 0].min() - edge, defect.outline[:, 0].max() + edge
        x0, x1 = (x0, float(a)) if a - x0 > x1 - b else (float(b), x1)
    return x0, low, max(x1 - x0, 0.0), max(high - low, 0.0)


def boxes(instance: Instance) -> tuple[Row, Plan]:
    """Bounding boxes, largest boards first."""
    from rectpack import newPacker

    begun, saw = time.monotonic(), instance.rules.spacing
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
    """A strip packer filling one board after another, widest first, so many seconds in all."""
    import spyrrow

    begun, saw = time.monotonic(), instance.rules.spacing
    left = sorted(range(len(instance.parts)), key=lambda n: -float(np.ptp(instance.parts[n].outline[:, 0])))
    puts: list[Placement] = []
    rooms = sorted(range(len(instance.boards)), key=lambda k: -inner_box(instance, k)[2])
    each = max(1, seconds // max(len(rooms), 1))
    for k in rooms:
        x0, y0, length, width = inner_box(instance, k)
        fit = [n for n in left if np.ptp(instance.parts[n].outline[:, 1]) <= width]
        area, chosen = 0.0, []
        for n in fit:
            grown = Polygon(instance.parts[n].outline).buffer(saw / 2).area
            if area + grown < 0.9 * length * width and np.ptp(instance.parts[n].outline[:, 0]) <= length:
                chosen.append(n)
                area += grown
        while chosen and time.monotonic() - begun < seconds:
            items = [
                spyrrow.Item(str(n), [tuple(p) for p in instance.parts[n].outline], 1, [0.0, 180.0]) for n in chosen
            ]
            how = spyrrow.StripPackingConfig(total_computation_time=each, min_items_separation=saw, seed=0)
            try:
                got = spyrrow.StripPackingInstance("board", width, items).solve(how)
            except BaseException as broken:
                if type(broken).__name__ != "PanicException":
                    raise
                chosen = chosen[1:]  # the packer gives up on the longest: it does not fit this board after all
                continue
            if got.width <= length:
                for item in got.placed_items:
                    x, y = item.translation
                    put = Placement(
                        instance.parts[int(item.id)].id, instance.boards[k].id, x0 + x, y0 + y, item.rotation
                    )
                    puts.append(put)
                left = [n for n in left if n not in chosen]
                break
            chosen = chosen[:-1]
    return _row("strips (spyrrow)", instance, puts, begun)


def _row(name: str, instance: Instance, puts: list[Placement], begun: float) -> tuple[Row, Plan]:
    used = {p.board for p in puts}
    gross = sum(Polygon(b.outline).area for b in instance.boards if b.id in used) / 1e6
    missing = tuple(p.id for p in instance.parts if p.id not in {q.part for q in puts})
    plan = Plan(tuple(puts), missing, len(used), gross, gross, 0.0, 0.0, None, None, 0, 0)
    return (name, gross, len(missing), time.monotonic() - begun), plan
