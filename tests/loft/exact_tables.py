"""Tables of offsets whose boats are known on paper.

Wigley      y = (B/2) (1 - (2x/L)^2) (1 - (z/T)^2), z from -T to 0; volume 4/9 L B T (W. Wigley 1934; integral derived)
cosine      y = (B/2) cos(pi x / L)^2 (1 - (z/T)^2): waterlines with an inflection; volume 1/3 L B T (derived)
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from strakewright.arrays import Floats
from strakewright.offsets import Cell, OffsetTable, Row

Shape = Callable[[Floats, Floats], Floats]
LENGTH, BREADTH, DRAFT = 6000.0, 1200.0, 500.0


def wigley(x: Floats, z: Floats) -> Floats:
    """Half-breadths, mm; x from midships, z from the waterline down (0 to -DRAFT)."""
    return np.asarray(BREADTH / 2 * (1 - (2 * x / LENGTH) ** 2) * (1 - (z / DRAFT) ** 2))


def cosine(x: Floats, z: Floats) -> Floats:
    """The same with waterlines that turn hollow towards the ends."""
    return np.asarray(BREADTH / 2 * np.cos(np.pi * x / LENGTH) ** 2 * (1 - (z / DRAFT) ** 2))


def row(view: str, line: str, values: Floats, step: float, level: float | None = None) -> Row:
    """A row of a table with exact or rounded cells."""
    shown = np.round(values / step) * step if step > 1e-3 else values
    cells = tuple(None if np.isnan(v) else Cell(f"{v:.6f}", float(v)) for v in shown)
    notation = "eighths" if step > 1.5 else "decimals"
    return Row(view, line, cells, step, notation, level)  # type: ignore[arg-type]


def round_table(shape: Shape, step: float, stations: int = 21, waterlines: int = 11) -> OffsetTable:
    """A double-ended round-bilged boat by waterlines.  Heights count from the keel (z = -DRAFT)."""
    x = np.linspace(-LENGTH / 2, LENGTH / 2, stations)
    levels = np.linspace(-DRAFT, 0.0, waterlines)[1:-1]
    still = np.zeros(stations)
    rows = [
        row("position", "", x + LENGTH / 2, 1e-6),
        row("height", "rabbet", still, step),
        row("half-breadth", "rabbet", still, step),
        row("height", "sheer", still + DRAFT, 1e-6),
        row("half-breadth", "sheer", shape(x, still), step),
        *(row("half-breadth", "waterline", shape(x, still + z), step, float(z + DRAFT)) for z in levels),
    ]
    return OffsetTable("wigley", tuple(str(k) for k in range(stations)), tuple(rows))
