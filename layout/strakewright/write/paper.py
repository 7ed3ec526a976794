"""Drawings on paper, as PDF: true to size, black only, for any printer and any roll plotter.

page      one sheet of paper; its pen draws in mm from the lower left corner, y up
window    the part of a page that may be drawn on; what runs past it is cut off

Profile: PDF 1.4 with the page size in points (1 mm = 72/25.4) and no user unit (some viewers scale it away), the
standard sans-serif face, no line under 0.35 mm, roles told apart by weight and dash, never by colour.  Equal
drawings give equal bytes.  After ISO 32000-1.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from reportlab import rl_config
from reportlab.pdfbase.pdfmetrics import stringWidth
from reportlab.pdfgen.canvas import Canvas

from strakewright.arrays import Floats
from strakewright.write.dxf import ascii_words
from strakewright.write.pen import Anchor, Hatch, Role, hatch_lines

POINT = 72 / 25.4  # points to the mm
CAPITAL = 0.718  # height of capitals and figures to the size of the face
THINNEST = 0.35
LONGEST = 5000.0  # mm: the format stops at 14 400 points
PLAIN, BOLD = "Helvetica", "Helvetica-Bold"

# line weight mm, dashes mm
_LINES: dict[Role, tuple[float, tuple[float, ...]]] = {
    Role.CUT_OUTSIDE: (0.5, ()),
    Role.CUT_INSIDE: (0.5, ()),
    Role.DRILL: (THINNEST, ()),
    Role.SCRIBE: (THINNEST, (4.0, 1.5)),
    Role.LABEL: (THINNEST, ()),
    Role.BOARD: (THINNEST, (8.0, 1.5, 1.5, 1.5)),
    Role.DEFECT: (THINNEST, ()),
    Role.CHECK: (THINNEST, ()),
}


def shown(words: str) -> str:
    """Words with every sign the standard face has; others are spelled in plain letters.

    >>> shown("Håkon 3½ – Ωmega")
    'Håkon 3½ – ?mega'
    """
    return words if words.isascii() else "".join(c if _has(c) else ascii_words(c) for c in words)


def _has(sign: str) -> bool:
    try:
        return sign.encode("cp1252") is not None
    except UnicodeEncodeError:
        return False


def words_width(words: str, height: float, bold: bool = False) -> float:
    """Width mm of words with capitals of `height` mm."""
    return float(stringWidth(shown(words), BOLD if bold else PLAIN, height / CAPITAL))


@dataclass(frozen=True)
class PaperPen:
    """Draws on the page that is open.  shift : mm on the page of the drawing's (0, 0);  scale : of the drawing,
    along and across (words keep the mean of both and are never stretched);  lines keep their weight."""

    canvas: Canvas
    shift: tuple[float, float] = (0.0, 0.0)
    scale: tuple[float, float] = (1.0, 1.0)
    bold: bool = False

    def polyline(self, points: Floats, *, closed: bool, role: Role) -> None:
        if len(points) > 1:
            self._line(role)
            self._path([points], closed)

    def circle(self, centre: Floats, radius: float, role: Role) -> None:
        x, y = self._on_page(centre[None])[0]
        self._line(role)
        self.canvas.circle(x, y, radius * self._mean() * POINT)

    def text(self, at: Floats, words: str, *, height: float, turn: float, anchor: Anchor, role: Role) -> None:
        x, y = self._on_page(at[None])[0]
        tall = height * self._mean()
        canvas = self.canvas
        canvas.setFont(BOLD if self.bold else PLAIN, tall / CAPITAL * POINT)
        put = {"left": canvas.drawString, "middle": canvas.drawCentredString, "right": canvas.drawRightString}[anchor]
        if turn:
            canvas.saveState()
            canvas.translate(x, y)
            canvas.rotate(turn)
            put(0.0, -tall / 2 * POINT, shown(words))
            canvas.restoreState()
        else:
            put(x, y - tall / 2 * POINT, shown(words))

    def area(self, ring: Floats, hatch: Hatch, role: Role) -> None:
        self.polyline(ring, closed=True, role=role)
        self._path(hatch_lines(ring, hatch), False)

    def _mean(self) -> float:
        return float(np.sqrt(self.scale[0] * self.scale[1]))

    def _on_page(self, points: Floats) -> list[list[float]]:
        return ((points * self.scale + self.shift) * POINT).tolist()  # type: ignore[no-any-return]

    def _line(self, role: Role) -> None:
        weight, dashes = _LINES[role]
        self.canvas.setLineWidth(weight * POINT)
        self.canvas.setDash([d * POINT for d in dashes])

    def _path(self, lines: list[Floats], closed: bool) -> None:
        path = self.canvas.beginPath()
        for points in lines:
            first, *rest = self._on_page(points)
            path.moveTo(*first)
            for x, y in rest:
                path.lineTo(x, y)
            if closed:
                path.close()
        self.canvas.drawPath(path)


class PaperFile:
    """A PDF under way: open pages one after the other, then `save`."""

    def __init__(self, path: Path, title: str) -> None:
        self.canvas = Canvas(str(path), invariant=1, pageCompression=1)
        self.canvas.setTitle(shown(title))
        self._started = False

    def page(self, width: float, height: float) -> PaperPen:
        """A fresh page of width x height mm.  Raises ValueError past 5 000 mm."""
        if not 0 < max(width, height) <= LONGEST:
            raise ValueError(f"a page of {width:.0f} x {height:.0f} mm cannot be a PDF page")
        if self._started:
            self.canvas.showPage()
        self._started = True
        self.canvas.setPageSize((width * POINT, height * POINT))
        self.canvas.setLineJoin(1)
        self.canvas.setLineCap(1)
        return PaperPen(self.canvas)

    @contextmanager
    def window(self, low: Floats, high: Floats) -> Iterator[None]:
        """What is drawn inside the block shows only between the two corners, mm on the page."""
        canvas = self.canvas
        canvas.saveState()
        path = canvas.beginPath()
        path.rect(*(float(v) * POINT for v in (*low, *(high - low))))
        canvas.clipPath(path, stroke=0, fill=0)
        yield
        canvas.restoreState()

    def save(self) -> None:
        """Finish the file; binary streams, not spelled out in letters."""
        before = rl_config.useA85
        rl_config.useA85 = 0
        try:
            self.canvas.showPage()
            self.canvas.save()
        finally:
            rl_config.useA85 = before
