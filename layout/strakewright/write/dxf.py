"""Drawings as DXF, the file every cutting machine reads.

Profile: R2000, millimetres, one closed light-weight polyline per contour of straight segments only (readers
lose or flatten arcs, silently), coordinates to 0.001 mm, outside contours counter-clockwise and inside ones
clockwise, one layer per operation, plain ASCII words, nothing else.  Equal drawings give equal bytes: dates
and identity numbers are fixed.  After Autodesk's published DXF reference for AC1015.

style     what may be asked for instead: arcs in cut lines, R12 (which says no units: they stay mm), words as strokes
"""

from __future__ import annotations

import logging
import unicodedata
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Literal

import numpy as np
from ezdxf._options import options
from ezdxf.document import Drawing
from ezdxf.filemanagement import new

from strakewright.arrays import Floats
from strakewright.geometry.biarcs import biarcs
from strakewright.geometry.outlines import signed_area
from strakewright.write.pen import LETTER_WIDTH, Anchor, Hatch, Role, hatch_lines
from strakewright.write.strokes import StrokedPen

# layer: colour number and line weight in 1/100 mm; the colour only helps the eye at a screen
_LAYERS = {
    Role.CUT_OUTSIDE: (1, 50),
    Role.CUT_INSIDE: (6, 50),
    Role.DRILL: (5, 35),
    Role.SCRIBE: (3, 25),
    Role.LABEL: (7, 25),
    Role.BOARD: (8, 35),
    Role.DEFECT: (30, 18),
    Role.CHECK: (4, 35),
}
_ANCHORS = {"left": 0, "middle": 1, "right": 2}
_LOG = logging.getLogger("ezdxf")
_CUTS = (Role.CUT_OUTSIDE, Role.CUT_INSIDE)


@dataclass(frozen=True)
class DxfStyle:
    """version : of the format;  arcs : cut lines as arcs, within 0.02 mm of every corner point;  strokes : words on
    the wood as single lines."""

    version: Literal["R2000", "R12"] = "R2000"
    arcs: bool = False
    strokes: bool = False


_PLAIN = str.maketrans(
    {
        "ø": "o",
        "Ø": "O",
        "ß": "ss",
        "æ": "ae",
        "Æ": "AE",
        "œ": "oe",
        "ł": "l",
        "Ł": "L",
        "đ": "d",
        "°": " deg",
    }
    | {"–": "-", "—": "-", "‘": "'", "’": "'", "“": '"', "”": '"', "×": "x", "·": "-", "…": "...", "±": "+/-"}
    | {"þ": "th", "Þ": "Th", "ð": "d", "½": "1/2", "¼": "1/4", "¾": "3/4", "²": "2", "³": "3", "→": "->"}
)


def ascii_words(words: str) -> str:
    """Words that every reader shows: accents off, common signs spelled out, the rest as '?'.

    >>> ascii_words("Håkon’s Færing – 3½ m")
    "Hakon's Faering - 31/2 m"
    """
    plain = unicodedata.normalize("NFKD", words.translate(_PLAIN))
    bare = "".join(c for c in plain if not unicodedata.combining(c))
    return "".join(c if " " <= c <= "~" else "?" for c in bare)


@contextmanager
def _fixed_identity() -> Iterator[None]:
    """No clock and no random numbers in the file."""
    before = options.write_fixed_meta_data_for_testing, _LOG.level
    options.write_fixed_meta_data_for_testing = True
    _LOG.setLevel(logging.ERROR)  # that R12 holds no units is known
    try:
        yield
    finally:
        options.write_fixed_meta_data_for_testing = before[0]
        _LOG.setLevel(before[1])


def _blank(version: str) -> Drawing:
    """An empty document in mm with the layers of the profile."""
    with _fixed_identity():
        document = new(version, setup=False, units=4 if version != "R12" else 0)
    document.header["$MEASUREMENT"] = 1
    document.header["$LWDISPLAY"] = 1
    for role, (colour, weight) in _LAYERS.items():
        document.layers.add(role.value, color=colour, lineweight=weight)
    return document


@dataclass(frozen=True)
class DxfPen:
    """Draws into a DXF document; `write` puts it in a file."""

    style: DxfStyle = DxfStyle()
    document: Drawing = field(init=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "document", _blank(self.style.version))

    def polyline(self, points: Floats, *, closed: bool, role: Role) -> None:
        self._add(points, closed, role)

    def circle(self, centre: Floats, radius: float, role: Role) -> None:
        spot = tuple(_rounded(centre[None])[0].tolist())
        self.document.modelspace().add_circle(spot, round(radius, 3), dxfattribs={"layer": role.value})

    def text(self, at: Floats, words: str, *, height: float, turn: float, anchor: Anchor, role: Role) -> None:
        shown = ascii_words(words)
        if self.style.strokes and role is Role.LABEL:  # what is engraved; words beside the wood are for the eye
            StrokedPen(self).text(at, shown, height=height, turn=turn, anchor=anchor, role=role)
            return
        back = {"left": 0.0, "middle": 0.5, "right": 1.0}[anchor] * LETTER_WIDTH * height * len(shown)
        angle = np.deg2rad(turn)
        along, across = np.array([np.cos(angle), np.sin(angle)]), np.array([-np.sin(angle), np.cos(angle)])
        # readers that know no alignment put the words at `insert`: the same place, by our own letter width
        start = at - back * along - height / 2 * across
        where: dict[str, Any] = {
            "layer": role.value,
            "height": round(height, 3),
            "rotation": round(turn, 6),
            "halign": _ANCHORS[anchor],
            "valign": 2,
            "insert": tuple(_rounded(start[None])[0].tolist()),
            "align_point": tuple(_rounded(at[None])[0].tolist()),
        }
        self.document.modelspace().add_text(shown, dxfattribs=where)

    def area(self, ring: Floats, hatch: Hatch, role: Role) -> None:
        self._add(ring, True, role)
        for line in hatch_lines(ring, hatch):
            self._add(line, False, role)

    def _add(self, points: Floats, closed: bool, role: Role) -> None:
        line = _without_repeats(points, closed)
        if len(line) < 2:
            return
        if closed and (signed_area(line) < 0) != (role is Role.CUT_INSIDE):
            line = np.concatenate([line[:1], line[:0:-1]])
        if self.style.arcs and role in _CUTS:
            line = biarcs(line, closed)
        rows = [(*_rounded(row[:2]).tolist(), *row[2:].round(9).tolist()) for row in line]
        kind, more = "xyb"[: len(rows[0])], {"layer": role.value}
        space = self.document.modelspace()
        if self.style.version == "R12" and len(rows) == 2:
            space.add_line(rows[0][:2], rows[1][:2], dxfattribs=more)
        elif self.style.version == "R12":
            space.add_polyline2d(rows, format=kind, close=closed, dxfattribs=more)
        else:
            space.add_lwpolyline(rows, format=kind, close=closed, dxfattribs=more)

    def write(self, path: Path) -> None:
        """Set extents, limits and view, then write the file."""
        low, high = _extents(self.document)
        _show(self.document, low, high)
        with _fixed_identity(), path.open("w", encoding="ascii", newline="\r\n") as stream:
            self.document.write(stream)


def _rounded(points: Floats) -> Floats:
    return np.round(points, 3) + 0.0


def _without_repeats(points: Floats, closed: bool) -> Floats:
    """Rounding may bring neighbours together; one of them goes."""
    there = _rounded(points)
    keep = np.any(there != np.roll(there, 1, axis=0), axis=1)
    keep[0] = keep[0] if closed else True
    return points[keep]


def _extents(document: Drawing) -> tuple[Floats, Floats]:
    """Lowest and highest corner of everything drawn."""
    corners = [np.zeros((1, 2))]
    for entity in document.modelspace():
        if entity.dxftype() == "LWPOLYLINE":
            corners.append(np.array(entity.get_points("xy")))  # type: ignore[attr-defined]
        elif entity.dxftype() == "LINE":
            corners.append(np.array([entity.dxf.start, entity.dxf.end])[:, :2])
        elif entity.dxftype() == "POLYLINE":
            corners.append(np.array([v.dxf.location for v in entity.vertices])[:, :2])  # type: ignore[attr-defined]
        elif entity.dxftype() == "CIRCLE":
            centre, radius = np.array(entity.dxf.center)[:2], entity.dxf.radius
            corners += [centre[None] - radius, centre[None] + radius]
        else:
            corners.append(np.array(entity.dxf.insert)[None, :2])
    drawn = np.concatenate(corners[1:] or corners)
    return drawn.min(axis=0), drawn.max(axis=0)


def _show(document: Drawing, low: Floats, high: Floats) -> None:
    space = document.modelspace()
    x0, y0, x1, y1 = (float(v) for v in (*low, *high))
    space.reset_extents((x0, y0, 0.0), (x1, y1, 0.0))
    space.reset_limits((x0, y0), (x1, y1))
    document.header["$LIMMIN"], document.header["$LIMMAX"] = (x0, y0), (x1, y1)
    document.set_modelspace_vport(
        height=1.05 * max(y1 - y0, (x1 - x0) / 1.8, 1.0), center=((x0 + x1) / 2, (y0 + y1) / 2)
    )
