"""Instances for the nesting bench, all invented and seeded.

planting    boards sawn up completely: the parts are known to fit, and the sawing itself is a plan the referee passes
own set     dressed (end trim, thicknesses that dress), leaves (10 mm parts from 27 mm boards), places (quality, stages)
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.random import Generator

from strakewright.arrays import Floats
from strakewright.lumber import Board, Defect, Rules
from strakewright.parts import Part
from strakewright.plan import Placement, Plan

WOOD = "white ash"
RULES = Rules(8.0, 4.0, 4.0, 3.0, 600.0, "gross")


@dataclass(frozen=True, eq=False)
class Instance:
    """sawing : a plan known to be sound, None where none is."""

    name: str
    parts: tuple[Part, ...]
    boards: tuple[Board, ...]
    rules: Rules
    sawing: Plan | None = None


def rectangle(length: float, width: float) -> Floats:
    """Corner at (0, 0)."""
    return np.array([[0.0, 0.0], [length, 0.0], [length, width], [0.0, width]])


def planting(seed: int) -> Instance:
    """12 to 250 parts sawn from boards without a rest, other clearances and skews each, and a third more boards."""
    rng = np.random.default_rng((7, seed))
    want = round(12 * (250 / 12) ** (seed % 20 / 19))
    rules = replace(
        RULES,
        spacing=float(rng.choice([4.0, 8.0, 12.0])),
        edge_margin=float(rng.choice([2.0, 4.0, 8.0])),
        max_skew_deg=float(rng.choice([0.0, 2.0, 3.0])),
    )
    may_flip = bool(rng.random() < 0.5)
    parts: list[Part] = []
    boards: list[Board] = []
    puts: list[Placement] = []
    while len(parts) < want:
        sawn_up(rng, rules, may_flip, (parts, boards, puts))
    for k in range(max(1, len(boards) // 3)):
        spare = rectangle(float(rng.uniform(1800, 4200)), float(rng.uniform(100, 300)))
        boards.append(Board(f"S{k}", spare, 20.0, WOOD))
    order = rng.permutation(len(boards))
    plan = Plan(tuple(puts), (), len({p.board for p in puts}), 0.0, 0.0, 0.0, 0.0, None, None, seed, 0)
    return Instance(f"planting-{seed}", tuple(parts), tuple(boards[i] for i in order), rules, plan)


def sawn_up(
    rng: Generator, rules: Rules, may_flip: bool, into: tuple[list[Part], list[Board], list[Placement]]
) -> None:
    """One more board, and the parts that fill it."""
    parts, boards, puts = into
    length, lanes = float(rng.uniform(1800, 4200)), int(rng.integers(1, 4))
    sag = float(rng.uniform(0, 25))
    gap, y = rules.spacing * 1.03 + 0.1, rules.edge_margin + 1.0
    name = f"B{len(boards)}"
    for width in rng.uniform(45, 110, lanes):
        cuts = np.sort(rng.uniform(500, length - 500, int(rng.integers(0, 3))))
        first = np.concatenate([[rules.edge_margin + 0.5], cuts + gap / 2])
        last = np.concatenate([cuts - gap / 2, [length - rules.edge_margin - 0.5]])
        for a, b in zip(first, last, strict=True):
            if b - a > 120:
                x = np.linspace(a, b, 15)
                low = y + sag * (2 * x / length - 1) ** 2
                ring = np.concatenate([np.column_stack([x, low]), np.column_stack([x, low + width])[::-1]])
                parts.append(Part(f"P{len(parts)}", ring - ring[0], 20.0, WOOD, may_flip))
                puts.append(Placement(parts[-1].id, name, float(ring[0, 0]), float(ring[0, 1])))
        y += width + gap
    boards.append(Board(name, rectangle(length, y - gap + sag + rules.edge_margin + 1.0), 20.0, WOOD))


def rough_board(rng: Generator, name: str, kinds: tuple[str, ...], thickness: tuple[float, float]) -> Board:
    """Crooked and tapered, marred by some defects.  thickness : rough, dressed"""
    length, width = float(rng.uniform(2400, 4900)), float(rng.uniform(120, 280))
    x = np.linspace(0.0, length, 25)
    low = float(rng.uniform(0, 15)) * (1 - (2 * x / length - 1) ** 2)
    high = low + width - float(rng.uniform(0, 25)) * x / length
    turn = np.linspace(0, 2 * np.pi, 13)[:-1]
    marred = []
    for _ in range(int(rng.integers(0, 4))):
        at, across, size = rng.uniform(80, length - 80), rng.uniform(20, width - 30), rng.uniform(4, 25)
        ring = np.column_stack([at + size / 2 * np.cos(turn), across + size / 2 * np.sin(turn)])
        marred.append(Defect(str(rng.choice(kinds)), ring))
    ring = np.concatenate([np.column_stack([x, low]), np.column_stack([x, high])[::-1]])
    return Board(name, ring, thickness[1], WOOD, tuple(marred), rough_thickness=thickness[0])


def plank(rng: Generator, name: str, length: float, width: float) -> Part:
    """A gently curved and tapered plank."""
    x = np.linspace(0.0, length, 21)
    low = float(rng.uniform(0, length / 90)) * (2 * x / length - 1) ** 2
    high = low + width * (1 - 0.3 * float(rng.random()) * x / length)
    ring = np.concatenate([np.column_stack([x, low]), np.column_stack([x, high])[::-1]])
    return Part(name, ring, 20.0, WOOD)


def dressed(seed: int) -> Instance:
    """60 planks of 20 and 26 mm, boards in 4/4, 5/4 and 6/4 with 50 mm trimmed off each end."""
    rng = np.random.default_rng((11, seed))
    sizes = [(25.4, 20.64), (31.75, 26.99), (38.1, 33.34)]
    boards = []
    for k in range(46):
        board = rough_board(rng, f"D{k}", ("knot", "check"), sizes[int(rng.integers(3))])
        ring = board.outline[(board.outline[:, 0] >= 50) & (board.outline[:, 0] <= board.outline[:, 0].max() - 50)]
        boards.append(replace(board, outline=ring - [ring[:, 0].min(), 0.0], defects=()))
    parts = [plank(rng, f"P{k}", float(rng.uniform(700, 3600)), float(rng.uniform(50, 110))) for k in range(60)]
    parts = [replace(p, thickness=20.0 if k % 3 else 26.0) for k, p in enumerate(parts)]
    return Instance("dressed", tuple(parts), tuple(boards), RULES)


def leaves(seed: int) -> Instance:
    """120 slanted diagonals of 10 mm (9.5 and fairing) out of 27 mm boards resawn in two."""
    rng = np.random.default_rng((13, seed))
    boards = [replace(rough_board(rng, f"T{k}", ("knot",), (27.0, 24.0)), defects=()) for k in range(32)]
    parts = []
    for k in range(120):
        length, width = float(rng.uniform(900, 1200)), 100.0
        lean = width * (1.0 if k % 2 else -1.0)
        ring = rectangle(length, width) + np.array([[0, 0], [0, 0], [lean, 0], [lean, 0]])
        parts.append(Part(f"L{k}", ring, 10.0, WOOD))
    return Instance("leaves", tuple(parts), tuple(boards), replace(RULES, resaw_kerf=2.0))


def places(seed: int) -> Instance:
    """80 planks of three qualities and three stages on knotty boards; no board serves two stages."""
    rng = np.random.default_rng((17, seed))
    kinds = ("sound knot", "pin knot", "knot", "stain", "sound knot")
    boards = [rough_board(rng, f"K{k}", kinds, (25.4, 20.64)) for k in range(48)]
    parts = []
    for k in range(80):
        made = plank(rng, f"Q{k}", float(rng.uniform(600, 3200)), float(rng.uniform(50, 100)))
        parts.append(replace(made, quality=("show", "sound", "hidden")[k % 3], stage=1 + k * 3 // 80))
    return Instance("places", tuple(parts), tuple(boards), replace(RULES, by_stage=True))


def growth(count: int) -> Instance:
    """So many planks, and boards in plenty."""
    rng = np.random.default_rng((19, count))
    parts = [plank(rng, f"G{k}", float(rng.uniform(600, 3600)), float(rng.uniform(50, 110))) for k in range(count)]
    boards = [rough_board(rng, f"R{k}", ("knot", "check"), (25.4, 20.64)) for k in range(max(8, count * 2 // 5))]
    return Instance(f"growth-{count}", tuple(parts), tuple(boards), RULES)
