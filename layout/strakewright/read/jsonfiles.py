"""JSON records of parts and boards, taken apart with care.

record    one JSON object;  where : place in the file for messages, as 'boards.json: boards[3] "B004"'
ring      closed outline, (n, 2) mm, counter-clockwise, first point not repeated
Unknown keys are left alone; what is known is checked, whoever wrote the file.
"""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeGuard, TypeVar

import numpy as np

from strakewright.arrays import Floats
from strakewright.errors import InputError
from strakewright.geometry.outlines import as_ccw, is_simple
from strakewright.lumber import OPENED, Board, Defect
from strakewright.read.faults import together
from strakewright.read.names import ID, ID_RULE
from strakewright.read.textfile import text_of

Record = dict[str, Any]
Thing = TypeVar("Thing")

STATES = ("whole", *sorted(OPENED), "used up")
FARTHEST = 1e6  # mm: a coordinate beyond a kilometre is no wood


def read_object(path: Path, name: str) -> Record:
    """The JSON object of a file in the form strakewright/NAME@1, lengths in mm.

    raises InputError when it is no JSON, another form or in other units
    """
    text = text_of(path, f"{name} file")
    try:
        record = json.loads(text, parse_constant=_no_constant)
    except json.JSONDecodeError as trouble:
        where = f"{path.name}:{trouble.lineno}:{trouble.colno}"
        raise InputError(f"not JSON: {trouble.msg}", where=where, fix="Check the commas and brackets there") from None
    except (RecursionError, ValueError) as trouble:
        why = "nested too deeply" if isinstance(trouble, RecursionError) else str(trouble)
        raise InputError(f"not JSON: {why}", where=path.name, fix="Write finite numbers only") from None
    if not isinstance(record, dict):
        raise InputError("not a JSON object", where=path.name, fix=f'Begin with {{"format": "strakewright/{name}@1"')
    form, units = record.get("format", f"strakewright/{name}@1"), record.get("units", "mm")
    if form != f"strakewright/{name}@1":
        raise InputError(f"format is {form!r:.60}", where=path.name, fix=f'Give a file of "strakewright/{name}@1"')
    if units != "mm":
        raise InputError(f"units is {units!r:.60}", where=path.name, fix='Lengths are in mm: write "units": "mm"')
    return record


def read_records(record: Record, key: str, file: str, read: Callable[[Record, str], Thing]) -> tuple[Thing, ...]:
    """Each object of the list under `key` through `read(object, where)`, all faults at once; ids are unique."""
    rows = record.get(key)
    if not isinstance(rows, list) or not rows:
        raise InputError(f'"{key}" is not a list of objects', where=file, fix=f'Write "{key}": [{{...}}, ...]')
    things, faults, seen = [], [], set()
    for n, row in enumerate(rows):
        where = f"{file}: {key}[{n}]"
        try:
            name = _id(row, where)
            things.append(read(row, f'{where} "{name}"'))
            if name.casefold() in seen:
                raise InputError("a second one of that id", where=f'{where} "{name}"', fix="Give each its own id")
            seen.add(name.casefold())
        except InputError as fault:
            faults.append(fault)
    if faults:
        raise together(faults)
    return tuple(things)


def read_board_records(path: Path, species: str) -> tuple[Board, ...]:
    """The boards of a boards.json: outlines are usable wood, thickness is what the board finishes at.

    species : of boards that do not say; "" when every board must say.  raises InputError
    """
    return read_records(
        read_object(path, "boards"), "boards", path.name, lambda row, where: _board(row, where, species)
    )


def ring_of(value: object, where: str) -> Floats:
    """A sound ring from a JSON list of [x, y]; turned counter-clockwise, repeated points dropped.

    raises InputError when it is no list of finite pairs, crosses itself or has no area
    """
    points = points_of(value, where)
    if len(points) > 1:
        points = points[np.any(points != np.roll(points, -1, axis=0), axis=1)]
    if len(points) < 3 or not is_simple(points):
        fix = "Write three or more points round the piece, in order"
        raise InputError("outline crosses or touches itself, or has no area", where=where, fix=fix)
    return as_ccw(points)


def points_of(value: object, where: str) -> Floats:
    """(n, 2) mm from a JSON list of [x, y];  raises InputError"""
    sound = isinstance(value, list) and all(isinstance(p, list) and len(p) == 2 for p in value)
    if not isinstance(value, list) or not sound or not value:
        raise InputError("points are not a list of [x, y]", where=where, fix="Write [[0, 0], [2400, 0], ...]")
    if not all(_is_number(c) and abs(c) <= FARTHEST for point in value for c in point):
        raise InputError("a coordinate is not a number of mm within a kilometre", where=where, fix="Check the points")
    return np.array(value, dtype=np.float64)


def number_of(record: Record, key: str, where: str, low: float, high: float) -> float:
    """A number from low to high under `key`;  raises InputError, also when it is missing"""
    value = record.get(key)
    if not _is_number(value) or not low <= value <= high:
        said = "is missing" if key not in record else f"is {value!r:.40}"
        raise InputError(f"{key} {said}", where=where, fix=f"Write a number from {low:g} to {high:g}")
    return float(value)


def optional_number(record: Record, key: str, where: str, low: float, high: float) -> float | None:
    """As `number_of`, None where the key is missing or null."""
    return None if record.get(key) is None else number_of(record, key, where, low, high)


def text_in(record: Record, key: str, where: str, default: str | None = None) -> str | None:
    """A line of text under `key`, `default` where it is missing or null;  raises InputError"""
    value = record.get(key)
    if value is None:
        return default
    if not isinstance(value, str) or not value.strip() or len(value) > 80:
        raise InputError(f"{key} is {value!r:.40}", where=where, fix="Write a word or two in quotes")
    return value


def species_in(record: Record, where: str, default: str = "") -> str:
    """The species of a part or board;  raises InputError when neither it nor a default is there"""
    species = text_in(record, "species", where, default)
    if not species:
        raise InputError("species is missing", where=where, fix='Write "species": "white ash"')
    return species


def list_in(record: Record, key: str, where: str) -> list[Record]:
    """A list of objects under `key`, empty where it is missing or null;  raises InputError"""
    rows = record.get(key) or []
    if not isinstance(rows, list) or not all(isinstance(row, dict) for row in rows):
        raise InputError(f"{key} is not a list of objects", where=where, fix=f'Write "{key}": [{{...}}]')
    return rows


def _board(row: Record, where: str, species: str) -> Board:
    defects = [
        Defect(text_in(d, "kind", where, "defect") or "defect", ring_of(d.get("outline"), f"{where} defect {n}"))
        for n, d in enumerate(list_in(row, "defects", where))
    ]
    taken = [
        Defect("taken", ring_of(t.get("outline"), f"{where} taken"), text_in(t, "part", where))
        for t in list_in(row, "taken", where)
    ]
    return Board(
        id=row["id"],
        outline=ring_of(row.get("outline"), where),
        thickness=number_of(row, "thickness", where, 0.1, 1000),
        species=species_in(row, where, species),
        defects=(*defects, *taken),
        price=optional_number(row, "price", where, 0, 1e9),
        rough_thickness=optional_number(row, "rough_thickness", where, 0.1, 1000),
        grade=text_in(row, "grade", where),
        state=_state(row, where),
        leaves=int(optional_number(row, "leaves", where, 1, 20) or 1),
        end_trim=optional_number(row, "end_trim", where, 0, 1000) or 0.0,
    )


def _state(row: Record, where: str) -> str | None:
    state = text_in(row, "state", where)
    if state is not None and state not in STATES:
        raise InputError(f"state is {state!r:.40}", where=where, fix=f"Write one of {', '.join(STATES)}, or nothing")
    return state


def _id(row: object, where: str) -> str:
    if not isinstance(row, dict):
        raise InputError("not an object", where=where, fix='Write {"id": ..., "outline": ...}')
    name = row.get("id")
    if not isinstance(name, str) or not ID.fullmatch(name):
        raise InputError(f"id is {name!r:.60}", where=where, fix=ID_RULE[0].upper() + ID_RULE[1:])
    return name


def _is_number(value: object) -> TypeGuard[float]:
    return isinstance(value, int | float) and not isinstance(value, bool) and -1e300 <= value <= 1e300


def _no_constant(name: str) -> float:
    raise ValueError(f"{name} is no number")
