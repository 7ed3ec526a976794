"""Keys of [hull] that say outright where panels end: chine lines as points, groups of the mesh as panels.

chine     [[x, y, z], ...] in the mesh file's own axes and unit, or a list of such lines
groups    names of groups from the keel up, each a name or a list of names
ignore    names of groups that are no part of the skin
"""

from __future__ import annotations

from typing import Annotated, Any

from pydantic import BeforeValidator

from strakewright.errors import InputError
from strakewright.read.keyvalues import shown

Point = tuple[float, float, float]


def _read_lines(value: Any) -> tuple[tuple[Point, ...], ...]:
    lines = [value] if _is_line(value) else value
    if not isinstance(lines, list) or not 1 <= len(lines) <= 5 or not all(_is_line(line) for line in lines):
        fix = "Write at least two points, as [[0, 700, 300], [2500, 800, 250]], or a list of such lines"
        raise InputError(f"{shown(value)} is no line of points", fix=fix)
    return tuple(tuple((float(x), float(y), float(z)) for x, y, z in line) for line in lines)


def _is_line(value: Any) -> bool:
    return isinstance(value, list) and 2 <= len(value) <= 2000 and all(_is_point(point) for point in value)


def _is_point(value: Any) -> bool:
    return (
        isinstance(value, list)
        and len(value) == 3
        and all(isinstance(c, int | float) and not isinstance(c, bool) and abs(c) < 1e9 for c in value)
    )


def _read_panels(value: object) -> tuple[tuple[str, ...], ...]:
    if not isinstance(value, list) or not 1 <= len(value) <= 6:
        fix = 'Write the groups of each panel from the keel up, as ["bottom", ["side_p", "side_s"]]'
        raise InputError(f"{shown(value)} is no list of groups", fix=fix)
    return tuple(_names([each] if isinstance(each, str) else each) for each in value)


def _names(value: object) -> tuple[str, ...]:
    if not isinstance(value, list) or not value or not all(isinstance(v, str) and v.strip() for v in value):
        raise InputError(f"{shown(value)} is no list of names", fix='Write names of groups, as ["deck", "engine"]')
    return tuple(value)


ChineLines = Annotated[tuple[tuple[Point, ...], ...], BeforeValidator(_read_lines)]
PanelGroups = Annotated[tuple[tuple[str, ...], ...], BeforeValidator(_read_panels)]
GroupNames = Annotated[tuple[str, ...], BeforeValidator(_names)]
