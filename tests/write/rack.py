"""An invented board with a strake, a diagonal and a corner piece on it, made from closed forms."""

from __future__ import annotations

import numpy as np

from strakewright.arrays import Floats
from strakewright.geometry.outlines import thin_ring
from strakewright.lumber import Board, Defect
from strakewright.parts import Mark, Part
from strakewright.plan import Placement, Plan
from strakewright.write.labels import Label


def arc_strake(long: float, wide: float, crook: float, skew: float = 10.0) -> Floats:
    """Both edges parabolas of the given crook, the forward end raked; thinned and rounded as parts are."""
    x = np.linspace(0.0, long, 401)
    low = np.column_stack([x, 4 * crook * (x / long) * (1 - x / long)])
    return np.round(thin_ring(np.concatenate([low, (low + np.array([-skew, wide]))[::-1]])), 3)


def strake(name: str = "P3.1", long: float = 2800.0) -> Part:
    marks = [Mark("trim", "stem", np.array([[long - 60, -9.0], [long - 72, 300.0]]))]
    marks += [
        Mark("frame", f"F{n}", np.array([[at, -90.0], [at + 4, 300.0]]))
        for n, at in enumerate(np.arange(500.0, long - 100, 560.0), start=1)
    ]
    return Part(name, arc_strake(long, 95.0, 70.0), 20.0, "white ash", marks=tuple(marks))


def diagonal(name: str = "B1-12P") -> Part:
    ring = thin_ring(np.array([[0.0, 0], [1000, 0], [1100, 100], [100, 100]]))
    marks = (
        Mark("frame", "F3", np.array([[300.0, 0], [400, 100]])),
        Mark("screw", "", np.array([[500.0, 30], [560, 60]])),
        Mark("tick", "", np.array([[700.0, 50]])),
    )
    return Part(name, np.round(ring, 3), 10.0, "white ash", marks=marks)


def corner(name: str = "B1-1S") -> Part:
    return Part(name, np.array([[0.0, 0], [150, 0], [120, 60]]), 10.0, "white ash")


PARTS = (strake(), diagonal(), corner())
BOARD = Board(
    "B07",
    np.array([[0.0, 0], [4400, 0], [4400, 200], [0, 196]]),
    20.0,
    "white ash",
    defects=(Defect("knot", np.array([[2900.0, 120], [2940, 118], [2945, 150], [2905, 160]])),),
)
PLACEMENTS = (
    Placement("P3.1", "B07", 8.0, 8.0, 0.5),
    Placement("B1-12P", "B07", 4080.123456, 140.0, 180.0),
    Placement("B1-1S", "B07", 4150.0, 110.0, 358.0, flip=True),
)
PLAN = Plan(PLACEMENTS, (), 1, 0.87, 0.38, 0.44, 0.44, None, None, 0, 3)
LABELS = {
    "P3.1": Label("PORT", "inside", (1.0, 0.0), "side course 3"),
    "B1-12P": Label("PORT", "inside", (0.7, -0.7), "bottom layer 1"),
    "B1-1S": Label("STBD", "outside", (0.7, 0.7)),
}
