"""Invented boards and parts whose answer is known because the parts were sawn from the boards."""

from __future__ import annotations

import numpy as np
from numpy.random import Generator

from strakewright.arrays import Floats
from strakewright.lumber import Board, Defect, Rules
from strakewright.parts import Part

RULES = Rules(spacing=8.0, edge_margin=4.0, defect_margin=4.0, max_skew_deg=3.0, min_offcut=600.0, objective="gross")


def rectangle(length: float, width: float) -> Floats:
    """A board or strip, corner at (0, 0)."""
    return np.array([[0.0, 0.0], [length, 0.0], [length, width], [0.0, width]])


def part(name: str, outline: Floats, **more: object) -> Part:
    """A part of 20 mm ash."""
    return Part(**{"id": name, "outline": outline, "thickness": 20.0, "species": "white ash", **more})  # type: ignore[arg-type]


def board(name: str, outline: Floats, **more: object) -> Board:
    """A board of 20 mm ash."""
    return Board(**{"id": name, "outline": outline, "thickness": 20.0, "species": "white ash", **more})  # type: ignore[arg-type]


def bow(length: float, width: float, sag: float, count: int = 25) -> Floats:
    """A plank of constant width bent sideways: its middle lies `sag` below its ends (a parabola)."""
    x = np.linspace(0.0, length, count)
    low = sag * (2 * x / length - 1) ** 2
    return np.concatenate([np.column_stack([x, low]), np.column_stack([x, low + width])[::-1]])


def planted(rng: Generator, boards: int, spare: int) -> tuple[list[Part], list[Board]]:
    """Boards sawn up completely by curved lanes, and spare boards: the parts are known to fit."""
    stock, parts = [], []
    for k in range(boards):
        length, lanes = float(rng.uniform(1800, 4200)), int(rng.integers(1, 4))
        widths = rng.uniform(45, 110, lanes)
        sag = float(rng.uniform(0, 25))
        gap = RULES.spacing * 1.03
        y = RULES.edge_margin + 1.0
        for lane, width in enumerate(widths):
            cuts = np.sort(rng.uniform(500, length - 500, int(rng.integers(0, 3))))
            ends = (
                np.concatenate([[RULES.edge_margin], cuts + gap / 2]),
                np.concatenate([cuts - gap / 2, [length - 5.0]]),
            )
            for i, (a, b) in enumerate(zip(*ends, strict=True)):
                if b - a > 120:
                    x = np.linspace(a, b, 15)
                    low = y + sag * (2 * x / length - 1) ** 2
                    ring = np.concatenate([np.column_stack([x, low]), np.column_stack([x, low + width])[::-1]])
                    parts.append(part(f"P{k}.{lane}.{i}", ring - ring[0]))
            y += width + gap
        stock.append(board(f"B{k}", rectangle(length, y - gap + sag + RULES.edge_margin + 1.0)))
    for k in range(spare):
        stock.append(board(f"S{k}", rectangle(float(rng.uniform(1800, 4200)), float(rng.uniform(100, 300)))))
    return parts, stock


def rough(rng: Generator, count: int) -> list[Board]:
    """Crooked, tapered boards with knots and checks."""
    stock = []
    for k in range(count):
        length, width = float(rng.uniform(2400, 4800)), float(rng.uniform(120, 300))
        x = np.linspace(0.0, length, 30)
        low = rng.uniform(-15, 15) * (2 * x / length - 1) ** 2 + rng.normal(0, 0.6, 30)
        high = low + width + rng.uniform(-20, 20) * x / length
        ring = np.concatenate([np.column_stack([x, low]), np.column_stack([x, high])[::-1]])
        spots = []
        for _ in range(int(rng.integers(0, 4))):
            at, across, size = rng.uniform(100, length - 100), rng.uniform(20, width - 20), rng.uniform(8, 30)
            turn = np.linspace(0, 2 * np.pi, 9)[:-1]
            spots.append(Defect("knot", np.column_stack([at + size * np.cos(turn), across + size * np.sin(turn)])))
        split = rng.uniform(30, width - 30)
        spots.append(Defect("check", np.array([[0, split], [220, split + 4], [220, split + 6], [0, split + 3]])))
        stock.append(board(f"R{k}", ring, defects=tuple(spots)))
    return stock


def planks(rng: Generator, count: int) -> list[Part]:
    """Curved planks, slanted planks and strips."""
    parts = []
    for k in range(count):
        kind, length, width = k % 3, float(rng.uniform(500, 2600)), float(rng.uniform(45, 100))
        if kind == 0:
            parts.append(part(f"P{k}", bow(length, width, float(rng.uniform(0, length / 60)))))
        elif kind == 1:
            lean = width * float(rng.choice([-1.0, 1.0]))
            ring = rectangle(length, width) + np.array([[0, 0], [0, 0], [lean, 0], [lean, 0]])
            parts.append(part(f"P{k}", ring))
        else:
            parts.append(part(f"P{k}", rectangle(length, width), may_flip=True))
    return parts
