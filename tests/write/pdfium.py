"""A PDF as pdfium sees it, in mm: lines with their weights, words with their sizes.  Shares nothing with our pens."""

from __future__ import annotations

import ctypes
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pypdfium2 as pdfium
from pypdfium2 import raw

from strakewright.arrays import Floats

MM = 25.4 / 72


@dataclass(frozen=True, eq=False)
class Line:
    points: Floats
    closed: bool
    weight: float


@dataclass(frozen=True, eq=False)
class Said:
    words: str
    size: float  # mm, of the face (capitals are 0.718 of it)


@dataclass(frozen=True, eq=False)
class Seen:
    """A page: size in mm, lines without curves, words."""

    size: tuple[float, float]
    lines: tuple[Line, ...]
    words: tuple[Said, ...]

    @property
    def text(self) -> str:
        return "\n".join(s.words for s in self.words)

    def bars(self, long: float, *, upright: bool) -> Floats:
        """Lengths of the straight lines about `long` mm, level or upright."""
        runs = [line.points[1] - line.points[0] for line in self.lines if len(line.points) == 2]
        along, across = (1, 0) if upright else (0, 1)
        found = [abs(r[along]) for r in runs if abs(r[across]) < 1e-3 and abs(abs(r[along]) - long) < 0.01 * long]
        return np.array(found)


def seen(path: Path) -> list[Seen]:
    document = pdfium.PdfDocument(path)
    pages = []
    for page in document:
        lines: list[Line] = []
        words: list[Said] = []
        text = page.get_textpage()
        for item in page.get_objects():
            matrix = _matrix(item.raw)
            if item.type == raw.FPDF_PAGEOBJ_PATH:
                lines += _lines(item.raw, matrix)
            elif item.type == raw.FPDF_PAGEOBJ_TEXT:
                words.append(_said(item.raw, text, matrix))
        width, height = page.get_size()
        pages.append(Seen((width * MM, height * MM), tuple(lines), tuple(words)))
        text.close()
        page.close()
    document.close()
    return pages


def _matrix(item: object) -> Floats:
    held = raw.FS_MATRIX()
    raw.FPDFPageObj_GetMatrix(item, held)
    return np.array([[held.a, held.b], [held.c, held.d], [held.e, held.f]])


def _lines(item: object, matrix: Floats) -> Iterator[Line]:
    weight = ctypes.c_float()
    raw.FPDFPageObj_GetStrokeWidth(item, weight)
    points: list[list[float]] = []
    curved = closed = False

    def done() -> Iterator[Line]:
        if len(points) > 1 and not curved:
            placed = np.array(points) @ matrix[:2] + matrix[2]
            placed = placed[:-1] if closed and np.allclose(placed[0], placed[-1]) else placed
            yield Line(placed * MM, closed, weight.value * MM)

    for k in range(raw.FPDFPath_CountSegments(item)):
        segment = raw.FPDFPath_GetPathSegment(item, k)
        x, y = ctypes.c_float(), ctypes.c_float()
        raw.FPDFPathSegment_GetPoint(segment, x, y)
        kind = raw.FPDFPathSegment_GetType(segment)
        if kind == raw.FPDF_SEGMENT_MOVETO:
            yield from done()
            points, curved, closed = [], False, False
        curved = curved or kind == raw.FPDF_SEGMENT_BEZIERTO
        points.append([x.value, y.value])
        closed = closed or bool(raw.FPDFPathSegment_GetClose(segment))
    yield from done()


def _said(item: object, page: pdfium.PdfTextPage, matrix: Floats) -> Said:
    size = ctypes.c_float()
    raw.FPDFTextObj_GetFontSize(item, size)
    count = raw.FPDFTextObj_GetText(item, page.raw, None, 0)
    buffer = ctypes.create_string_buffer(count)
    raw.FPDFTextObj_GetText(item, page.raw, ctypes.cast(buffer, ctypes.POINTER(raw.FPDF_WCHAR)), count)
    words = buffer.raw[: max(count - 2, 0)].decode("utf-16-le")
    return Said(" ".join(words.split()), size.value * float(np.hypot(*matrix[0])) * MM)
