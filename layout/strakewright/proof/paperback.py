"""Patterns on paper read back: what a printer will draw, measured against what is to be cut.

drawn line   a path of the page's own drawing orders, in mm from the lower left corner
check bar    a straight line of 100 or 1 000 mm along or across the page, there to be measured

A reader of its own for plain pages: objects, streams, and the orders q Q cm m l h re c (ISO 32000-1); it shares
nothing with the pen that wrote them.
"""

from __future__ import annotations

import re
import zlib
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from strakewright.arrays import Floats
from strakewright.errors import Check, Finding, at_most
from strakewright.parts import Part

POINT_LIMIT = 0.02  # mm
BAR_LIMIT = 0.01
_MM = 25.4 / 72
_OBJECT = re.compile(rb"(?:^|\n)(\d+) 0 obj\b(.*?)endobj", re.DOTALL)
_STREAM = re.compile(rb"/Length (\d+).*?stream\r?\n", re.DOTALL)
_WORDS = re.compile(rb"\((?:\\.|[^\\()])*\)")
_FIGURES = b"0123456789.+-"
_BOX = re.compile(rb"/MediaBox \[ ([-\d. ]+) \]")


@dataclass(frozen=True, eq=False)
class DrawnPage:
    """width, height : mm;  rings : closed lines, first point not repeated;  lines : open ones"""

    width: float
    height: float
    rings: tuple[Floats, ...]
    lines: tuple[Floats, ...]


Scale = tuple[float, float]
"""What was drawn for 1 mm, along and across, for a printer measured to be off."""


def read_pages(path: Path, scale: Scale = (1.0, 1.0)) -> tuple[DrawnPage, ...]:
    """Every page of a PDF whose streams are plain or deflated, in order; a correction of the printer taken out."""
    objects = {int(m[1]): m[2] for m in _OBJECT.finditer(path.read_bytes())}
    kids = next(body for body in objects.values() if re.search(rb"/Type /Pages\b", body))
    numbers = re.findall(rb"(\d+) 0 R", re.search(rb"/Kids \[(.*?)\]", kids, re.DOTALL)[1])  # type: ignore[index]
    return tuple(_page(objects, objects[int(n)], scale) for n in numbers)


def _page(objects: Mapping[int, bytes], body: bytes, scale: Scale) -> DrawnPage:
    box, contents = _BOX.search(body), re.search(rb"/Contents (\d+) 0 R", body)
    if box is None or contents is None:
        raise ValueError("a page without a size or without drawing orders")
    x0, y0, x1, y1 = (float(v) for v in box[1].split())
    closed, opened = ([line / scale for line in rows] for rows in _lines(_orders(objects[int(contents[1])])))
    return DrawnPage((x1 - x0) * _MM, (y1 - y0) * _MM, tuple(closed), tuple(opened))


def _orders(body: bytes) -> bytes:
    head = _STREAM.search(body)
    data = body[head.end() : head.end() + int(head[1])] if head else b""
    return zlib.decompress(data) if b"/FlateDecode" in body else data


def _lines(orders: bytes) -> tuple[list[Floats], list[Floats]]:
    """Closed and open lines of a page, mm."""
    here, kept = np.eye(3), []
    found: tuple[list[Floats], list[Floats]] = ([], [])
    numbers: list[float] = []
    line: list[list[float]] = []
    for word in _WORDS.sub(b" ", orders).replace(b"[", b" [ ").replace(b"]", b" ] ").split():
        if word == b"q":
            kept.append(here)
        elif word == b"Q":
            here = kept.pop()
        elif word == b"cm":
            a, b, c, d, e, f = numbers[-6:]
            here = np.array([[a, b, 0.0], [c, d, 0.0], [e, f, 1.0]]) @ here
        elif word in (b"m", b"l"):
            if word == b"m":
                _keep(found[1], line, here)
                line = []
            line.append([*numbers[-2:], 1.0])
        elif word == b"c":
            line = []  # curves are rings round letters: nothing to measure
        elif word == b"h":
            _keep(found[0], line, here)
            line = []
        elif word in (b"S", b"s", b"n", b"f"):
            _keep(found[1], line, here)
            line = []
        elif word[0] in _FIGURES:
            numbers.append(float(word))
            continue
        numbers = []
    return found


def _keep(kept: list[Floats], line: Sequence[Sequence[float]], here: Floats) -> None:
    if len(line) > 1:
        kept.append((np.array(line) @ here)[:, :2] * _MM)


Tape = tuple[str, Floats, Floats, float]
"""Name, both corners (2,) in the part's axes, distance printed."""


def compare_patterns(
    pages: Sequence[DrawnPage], parts: Iterable[Part], tapes: Mapping[str, Sequence[Tape]]
) -> tuple[tuple[Check, ...], tuple[Finding, ...]]:
    """Every part is on the paper, at full size; bars are true; the tape distances printed are those on the paper.

    parts : those that were drawn whole;  tapes : part id -> what is printed beside it
    """
    rings = [ring for page in pages for ring in page.rings]
    found: list[Finding] = []
    checks, worst = [], 0.0
    for part in parts:
        drawn, off = _nearest(part.outline, rings)
        if drawn is None or off > POINT_LIMIT:
            found.append(_finding(part.id, f"its pattern is {off:.3f} mm off the line to cut"))
        worst = max(worst, off)
        checks += [_taped(part, tape, drawn) for tape in tapes.get(part.id, ())]
    bars = [_bars_off(page) for page in pages]
    off = max(bars, default=float("inf"))
    head = (
        at_most("patterns on paper against the lines to cut", worst, POINT_LIMIT, "mm"),
        at_most("check bars on paper", off, BAR_LIMIT, "mm"),
    )
    return (*head, *checks), tuple(found)


@dataclass(frozen=True, eq=False)
class OnPage:
    """A pattern that is no plank, where it should lie.  number : of the page, from 0;  rings : closed lines (n, 2);
    tapes : name, start and end (2,) at the middles of two small crosses, distance printed: mm on the page"""

    name: str
    number: int
    rings: tuple[Floats, ...]
    tapes: tuple[Tape, ...]


def compare_drawn(
    pages: Sequence[DrawnPage], wanted: Iterable[OnPage]
) -> tuple[tuple[Check, ...], tuple[Finding, ...]]:
    """Every ring is drawn in its place, and every printed distance is that between the crosses on the paper."""
    rows = list(wanted)
    if not rows:
        return (), ()
    found: list[Finding] = []
    checks, worst = [], 0.0
    for row in rows:
        page = pages[row.number]
        off = max((_placed_off(ring, page.rings) for ring in row.rings), default=0.0)
        worst = max(worst, off)
        if not off <= POINT_LIMIT:
            found.append(_finding(row.name, f"its pattern is {off:.3f} mm off what is to be cut"))
        crosses = np.array([line.mean(axis=0) for line in page.lines if len(line) == 2]).reshape(-1, 2)
        for name, start, end, printed in row.tapes:
            spots = [crosses[int(np.argmin(np.hypot(*(crosses - spot).T)))] for spot in (start, end)]
            measured = float(np.hypot(*(spots[1] - spots[0])))
            holds = abs(measured - printed) <= 2 * POINT_LIMIT
            checks.append(Check(f"pattern {row.name}, tape {name}", measured, printed, "mm", holds))
    head = at_most("patterns of frames and members on paper", worst, POINT_LIMIT, "mm")
    return (head, *checks), tuple(found)


def _placed_off(wanted: Floats, rings: Sequence[Floats]) -> float:
    """How far the nearest ring of as many corners is off, corner by corner; 1 000 mm where there is none."""
    return min((float(np.abs(r - wanted).max()) for r in rings if len(r) == len(wanted)), default=1000.0)


def _nearest(outline: Floats, rings: Sequence[Floats]) -> tuple[Floats | None, float]:
    """The ring on paper that is the outline but for its place, in the outline's place; how far it is off."""
    best: tuple[Floats | None, float] = (None, float("inf"))
    for ring in rings:
        if len(ring) == len(outline):
            moved = ring - ring.min(axis=0) + outline.min(axis=0)
            off = float(np.abs(moved - outline).max())
            best = (moved, off) if off < best[1] else best
    return best


def _taped(part: Part, tape: Tape, drawn: Floats | None) -> Check:
    name, start, end, printed = tape
    if drawn is None:
        return Check(f"pattern {part.id}, tape {name}", float("inf"), printed, "mm", holds=False)
    spots = [drawn[int(np.argmin(np.hypot(*(drawn - spot).T)))] for spot in (start, end)]
    measured = float(np.hypot(*(spots[1] - spots[0])))
    return Check(f"pattern {part.id}, tape {name}", measured, printed, "mm", abs(measured - printed) <= 2 * POINT_LIMIT)


def _bars_off(page: DrawnPage) -> float:
    """Largest error of the bars of 100 mm both ways and (on a roll) 1 000 mm along; infinite where one is missing."""
    runs = np.array([line[1] - line[0] for line in page.lines if len(line) == 2]).reshape(-1, 2)
    wanted = [np.array([100.0, 0.0]), np.array([0.0, 100.0])]
    wanted += [np.array([1000.0, 0.0])] if page.width > 1100.0 else []
    if not len(runs):
        return float("inf")
    return max(float(np.abs(np.abs(runs) - bar).max(axis=1).min()) for bar in wanted)


def _finding(subject: str, what: str) -> Finding:
    fix = "Do not use this paper; build again, and report it if it comes back"
    return Finding("pattern-differs", "blocking", subject, what, fix)
