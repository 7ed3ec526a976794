"""The boat file: read whole, every fault named with its line before anything else happens.

fault     one thing wrong: the line, the key, what was read, what to write instead
Faults are gathered from three sides and told in the order of the file: values (pydantic), unknown keys with
the nearest known one, and keys that contradict each other.
"""

from __future__ import annotations

import re
import tomllib
from dataclasses import replace
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from strakewright.errors import InputError
from strakewright.machine import MachineSettings
from strakewright.read.boatkeys import EXAMPLES, LATER, LISTS, TABLES, BoatFile, PlankingTable
from strakewright.read.contradictions import Fault, contradictions, machine_faults, starts
from strakewright.read.faults import together
from strakewright.read.keyvalues import UNITS, shown
from strakewright.read.machinekeys import machine_settings, paper_settings
from strakewright.read.memberkeys import chine_settings, member_settings
from strakewright.read.names import nearest
from strakewright.read.outfitkeys import outfit_settings, sheathing_settings, wood_settings
from strakewright.read.tablekeys import TableKeys, table_settings
from strakewright.read.textfile import text_of
from strakewright.read.tomllines import Path as KeyPath
from strakewright.read.tomllines import lines_of
from strakewright.settings import (
    BackboneSettings,
    BoatSettings,
    FrameSettings,
    HullSettings,
    PlankingSettings,
    SheathingSettings,
    StockSettings,
    TransomSettings,
)
from strakewright.units import MM_PER_UNIT

LARGEST = 2**20  # bytes: a boat file is a page or two


def read_boat(path: Path) -> BoatSettings:
    """The boat file at `path`, names of files in it taken from its own folder.

    raises InputError for the first fault in the file, with all the others in `also`
    """
    text = text_of(path, "boat file", LARGEST)
    data = _toml(text, path.name)
    lines = lines_of(text)
    faults = list(contradictions(data))
    try:
        boat = BoatFile.model_validate(data, context={"unit": _unit(data), "folder": path.parent})
    except ValidationError as refused:
        faults += [_from_pydantic(error) for error in refused.errors()]
        boat = None
    if boat is not None:
        faults += machine_faults(boat, machine_settings(boat.machine, ""))
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


def _from_pydantic(error: Any) -> Fault:
    """One complaint of pydantic in the words of a boat file."""
    path, kind, value = tuple(error["loc"]), error["type"], error["input"]
    raised = error.get("ctx", {}).get("error")
    if isinstance(raised, InputError):
        return Fault(path, raised.what, raised.fix)
    if kind == "extra_forbidden":
        return _unknown(path)
    if kind == "missing":
        key = str(path[-1])
        return Fault(path, "is missing", f"Write {EXAMPLES.get(key, key)}")
    if path in {(name,) for name in LISTS}:
        fix = (
            "Write [[planking]], with double brackets, once for each panel; [[item]], [[member]], [[correct]] likewise"
        )
        return Fault(path, "is not a list of tables", fix)
    if path[0] == "planking" and path[-1] == "layer":
        return Fault(path, "is not a list of tables", "Write [[planking.layer]], once for each layer, innermost first")
    return Fault(path, f"{shown(value)} is not a table of keys", f"Write [{path[0]}] and its keys below it")


def _unknown(path: KeyPath) -> Fault:
    """A key that nobody knows, or that only a later part will."""
    *above, key = (str(name) for name in path)
    table = above[0] if above else ""
    if key in LATER.get(table, ()):
        return Fault(path, "is not yet built", "Leave it out until then")
    if "layer" in above and key in TABLES[table].model_fields:
        return Fault(path, "is one for all layers", "It belongs in [[planking]], above the layers")
    homes = [name for name, keys in TABLES.items() if name != table and key in keys.model_fields]
    if len(homes) == 1 and table:
        return Fault(path, f"is not a key of {_header(table)}", f"It belongs in {_header(homes[0])}")
    known = TABLES[table].model_fields if table else TABLES
    best = nearest(key, [*known, *LATER.get(table, ())])
    later = "" if best in known else ", which is not yet built"
    return Fault(path, f"is not a known {'key' if table else 'table'}", f'Did you mean "{best}"{later}?')


def _told(faults: list[Fault], lines: dict[KeyPath, int], name: str) -> InputError:
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
    return _header(table) if table in TABLES else table


def _header(table: str) -> str:
    return f"[[{table}]]" if table in LISTS else f"[{table}]"


def _settings(boat: BoatFile, path: Path, lines: dict[KeyPath, int]) -> BoatSettings:
    hull = boat.hull.model_dump(exclude_none=True, exclude=set(TableKeys.model_fields))
    hull.setdefault("mesh", None)
    units = hull.setdefault("mesh_units", boat.boat.units)
    usual = boat.shop.model_dump(exclude_none=True)
    if boat.joints.kind is not None:
        usual["joint"] = boat.joints.kind
    if boat.joints.alternatives is not None:
        usual["alternatives"] = boat.joints.alternatives
    machine = machine_settings(boat.machine, _place(("machine",), path, lines))
    stock = StockSettings(**(_clear_of(machine) | boat.stock.model_dump(exclude_none=True)))
    planking = tuple(
        _planking(table, usual, _place(("planking", n), path, lines)) for n, table in enumerate(boat.planking)
    )
    if boat.hull.skin_in_lines and boat.sheathing is not None:
        planking = tuple(_under(p, sheathing_settings(boat.sheathing)) for p in planking)
    half = boat.backbone.half_siding
    table = table_settings(boat.hull, half, boat.correct, lambda n: _place(("correct", n), path, lines))
    return BoatSettings(
        path=path,
        name=boat.boat.name,
        units=boat.boat.units,
        hull=HullSettings(**hull, mesh_scale=float(MM_PER_UNIT[units]), table=table),
        frames=FrameSettings(**boat.frames.model_dump(exclude_none=True), where=_place(("frames", "at"), path, lines)),
        planking=planking,
        stock=stock,
        species=boat.shop.species or PlankingSettings.species,
        backbone=BackboneSettings(**boat.backbone.model_dump(exclude_none=True)),
        chine=chine_settings(boat.chine),
        members=member_settings(
            boat.member, usual, [_place(("member", n), path, lines) for n in range(len(boat.member))]
        ),
        machine=machine,
        paper=paper_settings(boat.paper),
        sheathing=sheathing_settings(boat.sheathing),
        transom=TransomSettings(**boat.transom.model_dump(exclude_none=True)) if boat.transom else None,
        woods=wood_settings(boat.species),
        outfit=outfit_settings(boat, [_place(("item", n), path, lines) for n in range(len(boat.item))]),
    )


def _clear_of(machine: MachineSettings | None) -> dict[str, Any]:
    """The clear distance between parts where the boat file gives none: the usual, or what the machine needs."""
    if machine is None:
        return {}
    usual = StockSettings.spacing if machine.cutting == "router" else machine.spacing
    return {"spacing": max(usual, machine.spacing)}


def _place(key: KeyPath, path: Path, lines: dict[KeyPath, int]) -> str:
    return f"{path.name}:{_line(key, lines)}"


def _planking(table: PlankingTable, usual: dict[str, Any], where: str) -> PlankingSettings:
    given = usual | table.model_dump(exclude_none=True) | {"where": where}
    layers = given.pop("layer", ())
    if not layers:
        return _one_layer(given)
    rows = [given | layer | {"layers": len(layers)} for layer in layers]
    stack = tuple(float(row["thickness"]) for row in rows)
    each = tuple(_one_layer(row | {"stack": stack}) for row in rows)
    return replace(each[-1], each=each)


def _under(planking: PlankingSettings, sheathing: SheathingSettings | None) -> PlankingSettings:
    """The same below the sheathing, where that covers the panel."""
    if sheathing is None or not sheathing.over(planking.panel):
        return planking
    each = tuple(replace(layer, sheathed=sheathing.thickness) for layer in planking.each)
    return replace(planking, sheathed=sheathing.thickness, each=each)


def _one_layer(given: dict[str, Any]) -> PlankingSettings:
    if given["pattern"] == "strakes":
        given = {"start": starts(given["panel"])[0]} | given
    return PlankingSettings(**given)
