"""Drawings as SVG pictures in black and white, for the eye and the printer.

The same calls as any pen; roles are told apart by the weight and dash of the line, never by colour.
After W3C SVG 1.1.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from html import escape
from pathlib import Path

import numpy as np

from strakewright.arrays import Floats
from strakewright.write.pen import Anchor, Hatch, Role, hatch_lines, text_box

# weight relative to a cut line, dash relative to the weight, grey
_LINES = {
    Role.CUT_OUTSIDE: (1.0, "", "#000"),
    Role.CUT_INSIDE: (1.0, "", "#000"),
    Role.DRILL: (0.7, "", "#000"),
    Role.SCRIBE: (0.6, "6 3", "#000"),
    Role.LABEL: (0.6, "", "#000"),
    Role.BOARD: (0.7, "", "#555"),
    Role.DEFECT: (0.5, "", "#555"),
    Role.CHECK: (0.6, "2 2", "#000"),
}
_ANCHORS = {"left": "start", "middle": "middle", "right": "end"}


@dataclass(frozen=True)
class SvgPen:
    """Gathers drawing calls; `markup` is the whole picture.  weight : mm of a cut line, as drawn."""

    weight: float = 1.0
    items: list[str] = field(default_factory=list)
    corners: list[Floats] = field(default_factory=list)

    def polyline(self, points: Floats, *, closed: bool, role: Role) -> None:
        self.corners.append(points)
        self.items.append(f'<path d="{_path(points, closed)}" {self._look(role)}/>')

    def circle(self, centre: Floats, radius: float, role: Role) -> None:
        self.corners.extend((centre[None] - radius, centre[None] + radius))
        x, y = _number(centre[0]), _number(-centre[1])
        self.items.append(f'<circle cx="{x}" cy="{y}" r="{_number(radius)}" {self._look(role)}/>')

    def text(self, at: Floats, words: str, *, height: float, turn: float, anchor: Anchor, role: Role) -> None:
        self.corners.append(text_box(at, words, height, turn, anchor))
        x, y = _number(at[0]), _number(-at[1])
        spun = f' transform="rotate({_number(-turn)} {x} {y})"' if turn else ""
        kept = ' xml:space="preserve"' if "  " in words else ""  # gaps between figures are not to close up
        size = _number(height / 0.72)  # capitals of common sans-serif faces are 0.72 of the size
        self.items.append(
            f'<text x="{x}" y="{y}" dy="{_number(height / 2)}" font-size="{size}" '
            f'text-anchor="{_ANCHORS[anchor]}" fill="{_LINES[role][2]}"{kept}{spun}>{escape(words)}</text>'
        )

    def area(self, ring: Floats, hatch: Hatch, role: Role) -> None:
        self.polyline(ring, closed=True, role=role)
        lines = " ".join(_path(line, False) for line in hatch_lines(ring, hatch))
        self.items.append(f'<path d="{lines}" {self._look(role)}/>')

    def _look(self, role: Role) -> str:
        share, dash, grey = _LINES[role]
        width = share * self.weight
        dashes = " ".join(_number(float(d) * width) for d in dash.split())
        dashed = f' stroke-dasharray="{dashes}"' if dash else ""
        return f'fill="none" stroke="{grey}" stroke-width="{_number(width)}"{dashed}'

    def markup(self, *, title: str, margin: float = 10.0) -> str:
        """The picture as SVG text, everything drawn inside it."""
        drawn = np.concatenate(self.corners) if self.corners else np.zeros((1, 2))
        (x0, y0), (x1, y1) = drawn.min(axis=0) - margin, drawn.max(axis=0) + margin
        box = " ".join(_number(v) for v in (x0, -y1, x1 - x0, y1 - y0))
        head = f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="{box}" font-family="sans-serif" role="img">'
        return "\n".join([head, f"<title>{escape(title)}</title>", *self.items, "</svg>\n"])

    def write(self, path: Path, *, title: str) -> None:
        """Put the picture in a file."""
        path.write_text(self.markup(title=title), encoding="utf-8", newline="\n")


def _number(value: float) -> str:
    """Three decimals at most, no needless zeros."""
    return _short(round(float(value), 3) + 0.0)


def _short(value: float) -> str:
    """A rounded figure without needless zeros."""
    shown = repr(value)
    return shown[:-2] if shown.endswith(".0") else shown


def _path(points: Floats, closed: bool) -> str:
    figures = (np.round(points * (1.0, -1.0), 3) + 0.0).reshape(-1).tolist()
    return f"M{' '.join(map(_short, figures))}{'Z' if closed else ''}"
