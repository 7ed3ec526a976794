"""Drawings as DXF, the file every cutting machine reads.

Profile: R2000, millimetres, one closed light-weight polyline per contour of straight segments only (readers
lose or flatten arcs, silently), coordinates to 0.001 mm, outside contours counter-clockwise and inside ones
clockwise, one layer per operation, plain ASCII words, nothing else.  Equal drawings give equal bytes: dates
and identity numbers are fixed.  After Autodesk's published DXF reference for AC1015.

frame     an empty document written once by a library that knows the format: head, tables, blocks; the drawing goes in
style     what may be asked for instead: arcs in cut lines, R12 (which says no units: they stay mm), words as strokes
"""

from __future__ import annotations

import logging
import re
import unicodedata
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from functools import cache
from io import StringIO
from pathlib import Path
from typing import Literal

import numpy as np
from ezdxf._options import options
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


# stand for a file's own figures in the frame: lowest and highest corner, middle and height of the view
_PLACES = (-710001.125, -720001.125, 710003.125, 720003.125, 730001.125, 740001.125, 750001.125)
_SEED = "FEED5EED"
_HERE = "\n  0\nSECTION\n  2\nENTITIES\n"


@dataclass(frozen=True)
class _Frame:
    """A file without its drawing.  head, tail : before and after the entities;  owner, first : handles of the space
    they lie in and of the first of them"""

    head: str
    tail: str
    owner: str
    first: int


@cache
def _frame(version: str) -> _Frame:
    """An empty document in mm with the layers of the profile, worked out once however many files are written."""
    with _fixed_identity():
        document = new(version, setup=False, units=4 if version != "R12" else 0)
        document.header["$MEASUREMENT"] = 1
        document.header["$LWDISPLAY"] = 1
        for role, (colour, weight) in _LAYERS.items():
            document.layers.add(role.value, color=colour, lineweight=weight)
        x0, y0, x1, y1, x, y, high = _PLACES
        space = document.modelspace()
        space.reset_extents((x0, y0, 0.0), (x1, y1, 0.0))
        space.reset_limits((x0, y0), (x1, y1))
        document.header["$LIMMIN"], document.header["$LIMMAX"] = (x0, y0), (x1, y1)
        document.set_modelspace_vport(height=high, center=(x, y))
        stream = StringIO()
        document.write(stream)
    head, tail = stream.getvalue().split(_HERE)
    seed = re.search(r"\$HANDSEED\n +5\n(\w+)\n", head)
    first = int(seed[1], 16) if seed else 0
    return _Frame(
        head.replace(f"\n  5\n{seed[1] if seed else ''}\n", f"\n  5\n{_SEED}\n", 1) + _HERE,
        tail,
        space.layout_key,
        first,
    )


@dataclass
class DxfPen:
    """Draws into a DXF document; `write` puts it in a file."""

    style: DxfStyle = field(default_factory=DxfStyle)
    _drawn: list[str] = field(default_factory=list)
    _corners: list[Floats] = field(default_factory=list)
    _handles: int = 0

    def polyline(self, points: Floats, *, closed: bool, role: Role) -> None:
        self._add(points, closed, role)

    def circle(self, centre: Floats, radius: float, role: Role) -> None:
        (x, y), size = _rounded(centre[None])[0].tolist(), round(radius, 3)
        self._put("CIRCLE", role, "AcDbCircle", f" 10\n{x}\n 20\n{y}\n 30\n0.0\n 40\n{size}\n")
        self._corners += [centre[None] - size, centre[None] + size]

    def text(self, at: Floats, words: str, *, height: float, turn: float, anchor: Anchor, role: Role) -> None:
        shown = ascii_words(words)
        if self.style.strokes and role is Role.LABEL:  # what is engraved; words beside the wood are for the eye
            StrokedPen(self).text(at, shown, height=height, turn=turn, anchor=anchor, role=role)
            return
        back = {"left": 0.0, "middle": 0.5, "right": 1.0}[anchor] * LETTER_WIDTH * height * len(shown)
        angle = np.deg2rad(turn)
        along, across = np.array([np.cos(angle), np.sin(angle)]), np.array([-np.sin(angle), np.cos(angle)])
        # readers that know no alignment put the words at the first place: the same, by our own letter width
        (x, y), (u, v) = _rounded(np.stack([at - back * along - height / 2 * across, at])).tolist()
        held = f" 72\n{_ANCHORS[anchor]}\n 11\n{u}\n 21\n{v}\n 31\n0.0\n"
        told = f" 10\n{x}\n 20\n{y}\n 30\n0.0\n 40\n{round(height, 3)}\n  1\n{shown}\n 50\n{round(turn, 6)}\n"
        again = "" if self.style.version == "R12" else "100\nAcDbText\n"
        self._put("TEXT", role, "AcDbText", f"{told}{held}{again} 73\n2\n")
        self._corners.append(np.array([[x, y]]))

    def area(self, ring: Floats, hatch: Hatch, role: Role) -> None:
        self._add(ring, True, role)
        for line in hatch_lines(ring, hatch):
            self._add(line, False, role)

    def _put(self, kind: str, role: Role, subclass: str, told: str) -> None:
        """One entity, in the order of the format: kind, handle, owner, layer, figures."""
        frame = _frame(self.style.version)
        handle = f"{frame.first + self._handles:X}"
        self._handles += 1
        if self.style.version == "R12":
            self._drawn.append(f"  0\n{kind}\n  5\n{handle}\n  8\n{role.value}\n{told}")
        else:
            owner = f"330\n{frame.owner}\n100\nAcDbEntity\n  8\n{role.value}\n100\n{subclass}\n"
            self._drawn.append(f"  0\n{kind}\n  5\n{handle}\n{owner}{told}")

    def _add(self, points: Floats, closed: bool, role: Role) -> None:
        line = _without_repeats(points, closed)
        if len(line) < 2:
            return
        if closed and (signed_area(line) < 0) != (role is Role.CUT_INSIDE):
            line = np.concatenate([line[:1], line[:0:-1]])
        if self.style.arcs and role in _CUTS:
            line = biarcs(line, closed)
        places = _rounded(line[:, :2])
        self._corners.append(places)
        bulges = line[:, 2].round(9).tolist() if line.shape[1] > 2 else [0.0] * len(line)
        rows = [(x, y, f" 42\n{b}\n" if b else "") for (x, y), b in zip(places.tolist(), bulges, strict=True)]
        if self.style.version == "R12":
            self._add_old(rows, closed, role)
            return
        told = "".join(f" 10\n{x}\n 20\n{y}\n{bulge}" for x, y, bulge in rows)
        self._put("LWPOLYLINE", role, "AcDbPolyline", f" 90\n{len(rows)}\n 70\n{int(closed)}\n{told}")

    def _add_old(self, rows: list[tuple[float, float, str]], closed: bool, role: Role) -> None:
        """A line as R12 knows it."""
        if len(rows) == 2:
            (a, b, _), (c, d, _) = rows
            self._put("LINE", role, "", f" 10\n{a}\n 20\n{b}\n 30\n0.0\n 11\n{c}\n 21\n{d}\n 31\n0.0\n")
            return
        self._put("POLYLINE", role, "", f" 66\n1\n 10\n0.0\n 20\n0.0\n 30\n0.0\n 70\n{int(closed)}\n")
        for x, y, bulge in rows:
            self._put("VERTEX", role, "", f" 10\n{x}\n 20\n{y}\n 30\n0.0\n{bulge}")
        self._put("SEQEND", role, "", "")

    def write(self, path: Path) -> None:
        """Set extents, limits and view, then write the file."""
        frame = _frame(self.style.version)
        drawn = np.concatenate(self._corners or [np.zeros((1, 2))])
        (x0, y0), (x1, y1) = _rounded(np.stack([drawn.min(axis=0), drawn.max(axis=0)])).tolist()
        high = round(1.05 * max(y1 - y0, (x1 - x0) / 1.8, 1.0), 3)
        view = (x0, y0, x1, y1, round((x0 + x1) / 2, 3), round((y0 + y1) / 2, 3), high)
        head, tail = frame.head, frame.tail
        for place, value in zip(_PLACES, view, strict=True):
            head, tail = (text.replace(f"\n{place}\n", f"\n{value}\n") for text in (head, tail))
        head = head.replace(f"\n{_SEED}\n", f"\n{frame.first + self._handles:X}\n", 1)
        with path.open("w", encoding="ascii", newline="\r\n") as stream:
            stream.writelines((head, *self._drawn, tail))


def _rounded(points: Floats) -> Floats:
    return np.round(points, 3) + 0.0


def _without_repeats(points: Floats, closed: bool) -> Floats:
    """Rounding may bring neighbours together; one of them goes."""
    there = _rounded(points)
    keep = np.any(there != np.roll(there, 1, axis=0), axis=1)
    keep[0] = keep[0] if closed else True
    return points[keep]
