"""Drawings as PNG pictures in grey, for a screen or a message where no drawing program is at hand.

The same calls as any pen; roles are told apart by the weight and the grey of the line.  Raster and letters are
Pillow's; everything is drawn three times as large and evened out, so that thin lines stay whole.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import numpy as np

from strakewright.arrays import Floats
from strakewright.write.pen import RecordingPen, Role, Stroke, hatch_lines, text_box

_FINER = 3
_MARGIN = 24  # pixels
_NARROW = 0.75  # these letters are narrower than a plotter's
_LEAST = 7.0  # pixels of capitals that can be read
# weight relative to a cut line; grey, 0 = black
_LINES = {
    Role.CUT_OUTSIDE: (1.0, 0),
    Role.CUT_INSIDE: (1.0, 0),
    Role.BOARD: (0.7, 85),
    Role.DEFECT: (0.5, 85),
    Role.CHECK: (0.6, 110),
}
_OTHERS = (0.6, 0)


@dataclass(frozen=True)
class PngPen(RecordingPen):
    """Gathers drawing calls; `write` makes the picture.  width : pixels;  weight : pixels of a cut line"""

    strokes: list[Stroke] = field(default_factory=list)
    width: int = 1800
    weight: float = 3.0

    def write(self, path: Path) -> None:
        """Put the picture in a file."""
        from PIL import Image, ImageDraw

        (x0, y0), (x1, y1) = _extent(self.strokes)
        scale = (self.width - 2 * _MARGIN) / max(x1 - x0, 1e-9) * _FINER
        size = self.width * _FINER, round((y1 - y0) * scale) + 2 * _MARGIN * _FINER
        picture = Image.new("L", size, 255)
        origin = np.array([x0 * scale - _MARGIN * _FINER, -y1 * scale - _MARGIN * _FINER])
        board = _Board(picture, ImageDraw.Draw(picture), scale, origin, self.weight * _FINER)
        for stroke in self.strokes:
            board.draw(stroke)
        small = picture.resize((size[0] // _FINER, size[1] // _FINER), Image.Resampling.LANCZOS)
        small.save(path, optimize=True)


def _extent(strokes: list[Stroke]) -> tuple[Floats, Floats]:
    """Least and greatest x, y of all that is drawn."""
    corners = [np.zeros((1, 2))] if not strokes else [_box(stroke) for stroke in strokes]
    drawn = np.concatenate(corners)
    return drawn.min(axis=0), drawn.max(axis=0)


def _box(stroke: Stroke) -> Floats:
    if stroke.kind == "text":
        few = stroke.words[: max(1, round(_NARROW * len(stroke.words)))]
        return text_box(stroke.points[0], few, stroke.size, stroke.turn, stroke.anchor)
    reach = stroke.size if stroke.kind == "circle" else 0.0
    return np.concatenate([stroke.points - reach, stroke.points + reach])


@dataclass(frozen=True)
class _Board:
    """picture, board : Pillow's;  scale : pixels a mm;  origin : pixels of the left upper corner;  weight : pixels"""

    picture: Any
    board: Any
    scale: float
    origin: Floats
    weight: float

    def draw(self, stroke: Stroke) -> None:
        share, grey = _LINES.get(stroke.role, _OTHERS)
        if stroke.kind == "text":
            self._text(stroke, grey)
            return
        width = max(1, round(share * self.weight))
        if stroke.kind == "circle":
            turn = np.linspace(0.0, 2 * np.pi, 49)
            self._line(stroke.points[0] + stroke.size * np.column_stack([np.cos(turn), np.sin(turn)]), width, grey)
            return
        closed = np.concatenate([stroke.points, stroke.points[:1]]) if stroke.closed else stroke.points
        self._line(closed, width, grey)
        for line in hatch_lines(stroke.points, stroke.hatch) if stroke.hatch else ():
            self._line(line, width, grey)

    def _line(self, points: Floats, width: int, grey: int) -> None:
        places = points * (self.scale, -self.scale) - self.origin
        self.board.line([(float(x), float(y)) for x, y in places], fill=grey, width=width, joint="curve")

    def _text(self, stroke: Stroke, grey: int) -> None:
        from PIL import Image, ImageDraw, ImageFont

        high = max(stroke.size * self.scale, _LEAST * _FINER)
        font = ImageFont.load_default(high / 0.72)  # capitals of common sans-serif faces are 0.72 of the size
        anchor = {"left": "lm", "middle": "mm", "right": "rm"}[stroke.anchor]
        x, y = stroke.points[0] * (self.scale, -self.scale) - self.origin
        if not stroke.turn:
            self.board.text((float(x), float(y)), stroke.words, font=font, fill=grey, anchor=anchor)
            return
        reach = int(font.getlength(stroke.words) + 2 * high)
        sheet = Image.new("L", (2 * reach, 2 * reach), 0)
        ImageDraw.Draw(sheet).text((reach, reach), stroke.words, font=font, fill=255, anchor=anchor)
        turned = sheet.rotate(stroke.turn, Image.Resampling.BICUBIC)
        self.picture.paste(grey, (round(x) - reach, round(y) - reach), turned)
