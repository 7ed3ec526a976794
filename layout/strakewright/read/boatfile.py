"""The boat file: read whole, every fault named with its line before anything else happens.

fault     one thing wrong: the line, the key, what was read, what to write instead
Faults are gathered from three sides and told in the order of the file: values (pydantic), unknown keys with
the nearest known one, and keys that contradict each other.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from strakewright.errors import InputError
from strakewright.read.boatkeys import EXAMPLES, LATER, TABLES, UNITS, BoatFile, PlankingTable, shown
from strakewright.read.faults import together
from strakewright.read.names import nearest
from strakewright.read.textfile import text_of
from strakewright.read.tomllines import Path as KeyPath
from strakewright.read.tomllines import lines_of
from strakewright.settings import (
    BackboneSettings,
    BoatSettings,
    FrameSettings,
    HullSettings,
    PlankingSettings,
    StockSettings,
)
from strakewright.units import MM_PER_UNIT

LARGEST = 2**20  # bytes: a boat file is a page or two
_STRAKE_KEYS = ("courses", "max_width", "start", "lining", "scarf_slope")
_DIAGONAL_KEYS = ("width", "angle_deg", "tail_keel")
_STARTS = {"side": ("sheer", "chine", "keel"), "bottom": ("keel", "chine"), "bilge": ("chine",)}


@dataclass(frozen=True)
class _Fault:
    path: KeyPath
    what: str
    fix: str


def read_boat(path: Path) -> BoatSettings:
    """The boat file at `path`, names of files in it taken from its own folder.

    raises InputError for the first fault in the file, with all the others in `also`
    """
    text = text_of(path, "boat file", LARGEST)
    data = _toml(text, path.name)
    lines = lines_of(text)
    faults = list(_contradictions(data))
    try:
        boat = BoatFile.model_validate(data, context={"unit": _unit(data), "folder": path.parent})
    except ValidationError as refused:
        faults += [_from_pydantic(error) for error in refused.errors() if not _excused(error, data)]
        boat = None
    if faults or boat is None:
        raise _told(faults, lines, path.name)
    return _settings(boat, path, lines)


def _toml(text: str, name: str) -> dict[str, Any]:
    try:
        return tomllib.loads(text)
    except (tomllib.TOMLDecodeError, RecursionError, ValueError) as trouble:
        found = re.search(r"\(at line (\d+), column (\d+)\)|\(at end of document\)", str(trouble))
        said = str(trouble)[: found.start()].strip() if found else "nested too deeply"
        line = found[1] if found and found[1] else text.count("\n") + 1
        column = f":{found[2]}" if found and found[2] else ""
        fix = "Check the quotes, brackets and equals signs there; text stands in quotes"
        raise InputError(f"not TOML: {said}", where=f"{name}:{line}{column}", fix=fix) from None


def _unit(data: dict[str, Any]) -> str | None:
    """The unit of bare numbers, None when the file does not rightly say."""
    boat = data.get("boat")
    unit = boat.get("units") if isinstance(boat, dict) else None
    return unit if isinstance(unit, str) and unit in UNITS else None


def _from_pydantic(error: Any) -> _Fault:
    """One complaint of pydantic in the words of a boat file."""
    path, kind, value = tuple(error["loc"]), error["type"], error["input"]
    raised = error.get("ctx", {}).get("error")
    if isinstance(raised, InputError):
        return _Fault(path, raised.what, raised.fix)
    if kind == "extra_forbidden":
        return _unknown(path)
    if kind == "missing":
        key = str(path[-1])
        return _Fault(path, "is missing", f"Write {EXAMPLES.get(key, key)}")
    if path == ("planking",):
        return _Fault(path, "is not a list of tables", "Write [[planking]], with double brackets, once for each panel")
    return _Fault(path, f"{shown(value)} is not a table of keys", f"Write [{path[0]}] and its keys below it")


def _unknown(path: KeyPath) -> _Fault:
    """A key that nobody knows, or that only a later part will."""
    *above, key = (str(name) for name in path)
    table = above[0] if above else ""
    if key in LATER.get(table, ()):
        return _Fault(path, "is not yet built", "Leave it out until then")
    homes = [name for name, keys in TABLES.items() if name != table and key in keys.model_fields]
    if len(homes) == 1 and table:
        return _Fault(path, f"is not a key of {_header(table)}", f"It belongs in {_header(homes[0])}")
    known = TABLES[table].model_fields if table else TABLES
    best = nearest(key, [*known, *LATER.get(table, ())])
    later = "" if best in known else ", which is not yet built"
    return _Fault(path, f"is not a known {'key' if table else 'table'}", f'Did you mean "{best}"{later}?')


def _excused(error: Any, data: dict[str, Any]) -> bool:
    """A missing mesh is no second fault in a file that gives offsets."""
    hull = data.get("hull")
    return error["loc"] == ("hull", "mesh") and isinstance(hull, dict) and "offsets" in hull and "mesh" not in hull


def _contradictions(data: dict[str, Any]) -> Iterator[_Fault]:
    """Keys that do not go together; says nothing about values that are wrong in themselves."""
    frames, hull, planking = data.get("frames"), data.get("hull"), data.get("planking")
    if isinstance(frames, dict) and ("at" in frames) == ("spacing" in frames):
        fault = (("spacing",), "both at and spacing") if "at" in frames else ((), "says no place of a frame")
        yield _Fault(("frames", *fault[0]), fault[1], "Write at = [600, 1200] or spacing = 600")
    if isinstance(hull, dict) and _axis(hull, "forward", "+x") == _axis(hull, "up", "+z"):
        yield _Fault(("hull", "up" if "up" in hull else "forward"), "up and forward are the same axis", "Turn one")
    if isinstance(planking, list):
        tables = [(n, table) for n, table in enumerate(planking) if isinstance(table, dict)]
        yield from _same_panel_twice(tables)
        for n, table in tables:
            yield from _pattern_faults(("planking", n), table)
        if not planking:
            yield _Fault(("planking",), "is empty", f"Write {EXAMPLES['planking']}")


def _axis(hull: dict[str, Any], key: str, usual: str) -> str:
    return str(hull.get(key, usual)).lstrip("+-")


def _same_panel_twice(tables: list[tuple[int, dict[str, Any]]]) -> Iterator[_Fault]:
    seen: set[str] = set()
    for n, table in tables:
        panel = table.get("panel")
        if isinstance(panel, str) and panel in seen:
            yield _Fault(("planking", n, "panel"), f'"{panel}" is planked twice', "Give each panel one [[planking]]")
        seen.add(str(panel))


def _pattern_faults(path: KeyPath, table: dict[str, Any]) -> Iterator[_Fault]:
    """Keys that belong to the other pattern, or that the pattern needs."""
    pattern = table.get("pattern")
    if pattern == "strakes":
        if ("courses" in table) == ("max_width" in table):
            fault = (
                (("max_width",), "both courses and max_width") if "courses" in table else ((), "no width of strakes")
            )
            yield _Fault((*path, *fault[0]), fault[1], "Write courses = 9 or max_width = 95, one of the two")
        if isinstance(table.get("layers"), int) and table["layers"] > 1:
            yield _Fault((*path, "layers"), "strakes in several layers are not yet built", "Write layers = 1")
        yield from _wrong_start(path, table)
    if pattern == "herringbone" and "width" not in table:
        yield _Fault(path, "herringbone needs a width", "Write width = 100, the width of each plank")
    strangers = {"strakes": _DIAGONAL_KEYS, "herringbone": _STRAKE_KEYS}.get(str(pattern), ())
    for key in (key for key in strangers if key in table):
        other = "herringbone" if pattern == "strakes" else "strakes"
        yield _Fault((*path, key), f"belongs to {other}, not to {pattern}", "Take it out, or change the pattern")


def _wrong_start(path: KeyPath, table: dict[str, Any]) -> Iterator[_Fault]:
    allowed = _starts(str(table.get("panel")))
    start = table.get("start")
    if allowed and start in {"sheer", "chine", "keel"} - set(allowed):
        words = " or ".join(f'"{word}"' for word in allowed)
        yield _Fault((*path, "start"), f'the panel "{table["panel"]}" does not reach the {start}', f"Write {words}")


def _starts(panel: str) -> tuple[str, ...]:
    """Where course 1 may lie on a panel, the usual place first."""
    return _STARTS.get("bilge" if panel.startswith("bilge") else panel, ())


def _told(faults: list[_Fault], lines: dict[KeyPath, int], name: str) -> InputError:
    """All faults in the order of the file: the first as the error, the others beside it."""
    placed = sorted({(_line(f.path, lines), _label(f.path), f.what, f.fix) for f in faults})
    errors = [
        InputError(what, where=f"{name}:{line}: {label}" if line else f"{name}: {label}", fix=fix)
        for line, label, what, fix in placed
    ]
    return together(errors)


def _line(path: KeyPath, lines: dict[KeyPath, int]) -> int:
    """Line of a key, or of the nearest table around it; 0 when there is none."""
    while path and path not in lines:
        path = path[:-1]
    return lines.get(path, 0)


def _label(path: KeyPath) -> str:
    """ "[[planking]] thickness" for ("planking", 0, "thickness")."""
    table, *keys = [f"{name:.60}" for name in path if isinstance(name, str)]
    if keys:
        return f"{_header(table)} {'.'.join(keys)}"
    return _header(table) if table in TABLES or table in LATER[""] else table


def _header(table: str) -> str:
    return f"[[{table}]]" if table == "planking" else f"[{table}]"


def _settings(boat: BoatFile, path: Path, lines: dict[KeyPath, int]) -> BoatSettings:
    hull = boat.hull.model_dump(exclude_none=True)
    units = hull.setdefault("mesh_units", boat.boat.units)
    usual = boat.shop.model_dump(exclude_none=True)
    if boat.joints.kind is not None:
        usual["joint"] = boat.joints.kind
    stock = StockSettings(**boat.stock.model_dump(exclude_none=True))
    planking = tuple(
        _planking(table, usual, _place(("planking", n), path, lines)) for n, table in enumerate(boat.planking)
    )
    return BoatSettings(
        path=path,
        name=boat.boat.name,
        units=boat.boat.units,
        hull=HullSettings(**hull, mesh_scale=float(MM_PER_UNIT[units])),
        frames=FrameSettings(**boat.frames.model_dump(exclude_none=True), where=_place(("frames", "at"), path, lines)),
        planking=planking,
        stock=stock,
        species=boat.shop.species or PlankingSettings.species,
        backbone=BackboneSettings(**boat.backbone.model_dump(exclude_none=True)),
    )


def _place(key: KeyPath, path: Path, lines: dict[KeyPath, int]) -> str:
    return f"{path.name}:{_line(key, lines)}"


def _planking(table: PlankingTable, usual: dict[str, Any], where: str) -> PlankingSettings:
    given = table.model_dump(exclude_none=True)
    if table.pattern == "strakes":
        given.setdefault("start", _starts(table.panel)[0])
    return PlankingSettings(**(usual | given), where=where)
