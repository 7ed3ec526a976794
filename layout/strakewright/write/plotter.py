"""Drawings as HP-GL/2, the language of pen and roll plotters.

plotter unit   1/40 mm, so a line is never more than 0.0125 mm off in x or y

Only the oldest orders are used (IN, SP, PU, PD, SI, DI, LO, LB, PG), absolute, one pen, so that any plotter and any
viewer follows.  After the published HP-GL/2 reference (from memory).
"""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path

import numpy as np

from strakewright.arrays import Floats
from strakewright.write.dxf import ascii_words
from strakewright.write.pen import Anchor, Hatch, Role, hatch_lines

UNITS = 40  # to the mm
_END = "\x03"  # ends a label
_ORIGINS = {"left": 2, "middle": 5, "right": 8}  # LO: half height, from the start, the middle or the end
_FACETS = 72


@dataclass(frozen=True)
class PlotterPen:
    """Gathers orders; `write` puts them in a file, one plot."""

    orders: list[str] = field(default_factory=list)

    def polyline(self, points: Floats, *, closed: bool, role: Role) -> None:
        line = np.rint(np.concatenate([points, points[:1]] if closed else [points]) * UNITS).astype(int)
        first, rest = line[0], line[1:]
        if len(rest):
            self.orders.append(f"PU{first[0]},{first[1]};PD{','.join(map(str, rest.reshape(-1).tolist()))};")

    def circle(self, centre: Floats, radius: float, role: Role) -> None:
        turn = np.arange(_FACETS) * 2 * np.pi / _FACETS
        self.polyline(centre + radius * np.column_stack([np.cos(turn), np.sin(turn)]), closed=True, role=role)

    def text(self, at: Floats, words: str, *, height: float, turn: float, anchor: Anchor, role: Role) -> None:
        x, y = np.rint(at * UNITS).astype(int)
        run, rise = np.cos(np.deg2rad(turn)), np.sin(np.deg2rad(turn))
        size = f"SI{0.045 * height:.4f},{0.1 * height:.4f};DI{run:.4f},{rise:.4f};LO{_ORIGINS[anchor]};"
        self.orders.append(f"PU{x},{y};{size}LB{ascii_words(words)}{_END};")

    def area(self, ring: Floats, hatch: Hatch, role: Role) -> None:
        self.polyline(ring, closed=True, role=role)
        for line in hatch_lines(ring, hatch):
            self.polyline(line, closed=False, role=role)

    def write(self, path: Path) -> None:
        """One plot: start, one pen of 0.35 mm, everything drawn, pen away, page out."""
        text = "\n".join(["IN;SP1;PW0.35;", *self.orders, "PU;SP0;PG;\n"])
        path.write_text(text, encoding="ascii", newline="\n")
