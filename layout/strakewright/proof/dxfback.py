"""A reader of DXF files of its own, for the lines that are cut: what a machine will be told.

tag       a pair of lines of the file: a number that says what follows, and what follows
entity    a run of tags that begins with 0 and a kind; here lines, circles and words with their layer

Reads the text form of R12 and R2000 (after Autodesk's published DXF reference) and tells what is unsound: tags that do
not pair, sections that do not close, a handle twice, a layer that the tables do not name.  Shares nothing with the
writer or the library it uses; tests hold it against that library's reader and against GDAL.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from strakewright.arrays import Floats

_FINE = 0.001  # mm: straights in place of an arc
Tag = tuple[int, str]


@dataclass(frozen=True, eq=False)
class Line:
    """kind : of the entity;  points : (n, 2) mm;  bulges : (n,) of the straight that begins at each point, tangent of a
    quarter of the arc's angle"""

    kind: str
    layer: str
    points: Floats
    bulges: Floats
    closed: bool

    @property
    def has_arc(self) -> bool:
        return bool(np.any(self.bulges))

    def flat(self) -> Floats:
        """Corners, (n, 2), arcs as straights within 0.001 mm; a closed line does not repeat its first point."""
        if not self.has_arc:
            return self.points
        after = np.roll(self.points, -1, axis=0)
        count = len(self.points) if self.closed else len(self.points) - 1
        pieces = [_arc(self.points[n], after[n], float(self.bulges[n])) for n in range(count)]
        return np.concatenate(pieces if self.closed else [*pieces, self.points[-1:]])


@dataclass(frozen=True, eq=False)
class Drawing:
    """version : as the head says;  units : code of $INSUNITS, None = not said;  lines : closed and open ones;
    others : kind and layer of everything else"""

    version: str
    units: int | None
    lines: tuple[Line, ...]
    others: tuple[tuple[str, str], ...]
    faults: tuple[str, ...]


def read_drawing(path: Path) -> Drawing:
    """Raises OSError or ValueError where the file cannot be read at all."""
    tags = _tags(path)
    if not tags or tags[-1] != (0, "EOF"):
        raise ValueError("does not end as a DXF file does")
    sections = dict(_sections(tags[:-1]))
    head, entities = sections.get("HEADER", []), sections.get("ENTITIES")
    if entities is None:
        raise ValueError("has no ENTITIES")
    units = _after(head, "$INSUNITS")
    layers = {runs[2] for kind, runs in _entities(sections.get("TABLES", [])) if kind == "LAYER" and 2 in runs}
    lines, others, faults = _drawn(entities)
    strange = {line.layer for line in lines} | {layer for _, layer in others}
    faults += [f"names a layer {name} that its tables do not" for name in sorted(strange - layers - {"0"})]
    handles = [value for code, value in entities if code == 5]
    if len(set(handles)) < len(handles):
        faults.append("uses a handle twice")
    return Drawing(_after(head, "$ACADVER") or "", None if units is None else int(units), lines, others, tuple(faults))


def _tags(path: Path) -> list[Tag]:
    rows = path.read_text("ascii").split("\n")
    rows = rows[:-1] if rows and not rows[-1] else rows
    if len(rows) % 2:
        raise ValueError("breaks off in the middle of a tag")
    return list(zip(map(int, rows[::2]), rows[1::2], strict=True))


def _sections(tags: Sequence[Tag]) -> Iterator[tuple[str, list[Tag]]]:
    start = None
    for n, tag in enumerate(tags):
        if tag == (0, "SECTION"):
            if start is not None:
                raise ValueError("a section does not close")
            start = n
        elif tag == (0, "ENDSEC"):
            if start is None:
                raise ValueError("a section closes that did not open")
            yield tags[start + 1][1], list(tags[start + 2 : n])
            start = None
    if start is not None:
        raise ValueError("a section does not close")


def _after(head: Sequence[Tag], name: str) -> str | None:
    """The figure of a variable of the head."""
    at = next((n for n, tag in enumerate(head) if tag == (9, name)), None)
    return None if at is None else head[at + 1][1].strip()


def _entities(tags: Sequence[Tag]) -> Iterator[tuple[str, dict[int, str]]]:
    """Kind and tags of every entity, of a repeated tag the last."""
    starts = [n for n, (code, _) in enumerate(tags) if code == 0]
    for a, b in zip(starts, [*starts[1:], len(tags)], strict=True):
        yield tags[a][1], dict(tags[a + 1 : b])


def _drawn(tags: Sequence[Tag]) -> tuple[tuple[Line, ...], tuple[tuple[str, str], ...], list[str]]:
    """Lines, everything else, faults."""
    lines: list[Line] = []
    others: list[tuple[str, str]] = []
    faults: list[str] = []
    starts = [n for n, (code, _) in enumerate(tags) if code == 0]
    old: tuple[dict[int, str], list[Tag]] | None = None  # an R12 line under way
    for a, b in zip(starts, [*starts[1:], len(tags)], strict=True):
        kind, mine = tags[a][1], tags[a + 1 : b]
        if kind == "LWPOLYLINE":
            head = dict(mine)
            lines.append(_line(kind, head, mine))
            if int(head.get(90, "-1")) != len(lines[-1].points):
                faults.append("a line does not have as many corners as it says")
        elif kind == "POLYLINE":
            old = dict(mine), []
        elif kind == "VERTEX" and old is not None:
            old[1].extend(tag for tag in mine if tag[0] in (10, 20, 42))
        elif kind == "SEQEND" and old is not None:
            lines.append(_line("POLYLINE", *old))
            old = None
        else:
            others.append((kind, dict(mine).get(8, "0")))
    if old is not None:
        faults.append("a line does not end")
    return tuple(lines), tuple(others), faults


def _line(kind: str, head: dict[int, str], tags: Sequence[Tag]) -> Line:
    x, y = ([float(value) for code, value in tags if code == wanted] for wanted in (10, 20))
    bulges, corner = np.zeros(len(x)), -1
    for code, value in tags if any(code == 42 for code, _ in tags) else ():
        corner += code == 10
        if code == 42:
            bulges[corner] = float(value)
    points = np.column_stack([x, y])
    return Line(kind, head.get(8, "0"), points, bulges, bool(int(head.get(70, "0")) & 1))


def _arc(start: Floats, end: Floats, bulge: float) -> Floats:
    """Points from start on, without the end.  Half angle a = 2 atan(bulge); radius = half chord / sin a."""
    chord = end - start
    half = float(np.hypot(*chord)) / 2
    if bulge == 0.0 or half == 0.0:
        return start[None]
    angle = 2 * np.arctan(bulge)
    radius = half / abs(np.sin(angle))
    middle = (start + end) / 2 + np.array([-chord[1], chord[0]]) / (2 * np.tan(angle))
    step = 2 * np.arccos(max(1 - _FINE / radius, 0.0))
    turns = np.linspace(0, 2 * angle, int(np.ceil(abs(2 * angle) / step)) + 1)[:-1]
    (x, y), (cos, sin) = start - middle, (np.cos(turns), np.sin(turns))
    return np.asarray(middle + np.column_stack([x * cos - y * sin, x * sin + y * cos]))
