"""A choice of seams and joints, taken back from a lining.json that `build` wrote and somebody has edited.

course    number of a run of planking, 1 = hung first;  joint : x in the boat where two pieces of it meet
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

from strakewright.errors import InputError
from strakewright.read.jsonfiles import read_object
from strakewright.settings import LiningChoice

_LININGS, _STARTS = ("parallel", "even"), ("sheer", "chine", "keel")
_MOST_COURSES = 500


def read_lining(path: Path) -> tuple[LiningChoice, ...]:
    """Every layer's choice;  raises InputError naming the layer and the key."""
    record = read_object(path, "lining")
    rows = record.get("layers")
    if not isinstance(rows, list):
        raise InputError('"layers" is not a list', where=path.name, fix="Start from a lining.json that build wrote")
    return tuple(_choice(row, f"{path.name}: layers[{n}]") for n, row in enumerate(rows))


def _choice(row: Any, where: str) -> LiningChoice:
    if not isinstance(row, dict) or not isinstance(row.get("panel"), str):
        raise InputError("not an object with a panel", where=where, fix='Write {"panel": "side", "layer": 1, ...}')
    return LiningChoice(
        panel=row["panel"],
        layer=_whole(row, "layer", where, 1, 20) or 1,
        lining=_one_of(row, "lining", where, _LININGS),
        start=_one_of(row, "start", where, _STARTS),
        courses=_whole(row, "courses", where, 1, _MOST_COURSES),
        width=_length(row.get("width"), f"{where} width", 10.0, 1000.0),
        joints=_joints(row.get("joints_at_x") or {}, f"{where} joints_at_x"),
        starboard=_joints(row.get("starboard_joints_at_x") or {}, f"{where} starboard_joints_at_x"),
    )


def _one_of(row: dict[str, Any], key: str, where: str, allowed: tuple[str, ...]) -> Any:
    value = row.get(key)
    if value is not None and value not in allowed:
        raise InputError(f"{key} is {value!r:.40}", where=where, fix=f"Write one of {', '.join(allowed)}, or null")
    return value


def _whole(row: dict[str, Any], key: str, where: str, least: int, most: int) -> int | None:
    value = row.get(key)
    if value is None:
        return None
    if isinstance(value, bool) or not isinstance(value, int) or not least <= value <= most:
        raise InputError(f"{key} is {value!r:.40}", where=where, fix=f"Write a whole number from {least} to {most}")
    return value


def _length(value: Any, where: str, least: float, most: float) -> float | None:
    if value is None:
        return None
    if isinstance(value, bool) or not isinstance(value, (int, float)) or not least <= value <= most:
        raise InputError(f"{value!r:.40} is no length in mm", where=where, fix=f"Write {least:g} to {most:g}")
    return float(value)


def _joints(rows: Any, where: str) -> tuple[tuple[int, tuple[float, ...]], ...]:
    fix = 'Write {"3": [2400.0]}: course number, then x of each joint in mm, aft to forward'
    if not isinstance(rows, dict):
        raise InputError("not an object", where=where, fix=fix)
    found = []
    for course, xs in rows.items():
        if not course.isdigit() or not isinstance(xs, list):
            raise InputError(f"course {course!r:.20} cannot be read", where=where, fix=fix)
        placed = tuple(_length(x, f"{where} course {course}", 0.0, 30_000.0) or 0.0 for x in xs)
        if list(placed) != sorted(set(placed)):
            raise InputError(f"joints of course {course} are not in order", where=where, fix=fix)
        found.append((int(course), placed))
    return tuple(sorted(found))
