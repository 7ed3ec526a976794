"""Keys of the boat file that say how a table of offsets is to be taken: in [hull], and every [[correct]].

cell      a row and a station, written "height chine at 4";  knuckle : a line and a station, "chine at 4"
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace
from typing import Annotated, Any

from pydantic import BaseModel, BeforeValidator, ConfigDict, ValidationInfo

from strakewright.errors import InputError
from strakewright.offsets import Cell, Correction, OffsetTable, TableSource
from strakewright.read.keyvalues import UNITS, File, Name, Switch, choice, length, number, shown
from strakewright.read.names import nearest
from strakewright.read.offsets import CellFault, heading_of, length_of
from strakewright.settings import TableSettings

KINDS = ("straight", "developable", "lofted")
MESH_KEYS = ("mesh_units", "forward", "up", "half", "crease_deg")


def _read_kinds(value: object) -> tuple[tuple[str, str], ...]:
    fix = 'Write panels = { bottom = "developable", side = "straight" }; "lofted" for round sections'
    if not isinstance(value, dict) or not value:
        raise InputError(f"{shown(value)} says no panel's surface", fix=fix)
    for panel, kind in value.items():
        if not re.fullmatch(r"side|bottom|bilge[1-9][0-9]?", panel):
            raise InputError(f"{shown(panel)} is no name of a panel", fix=fix)
        if kind not in KINDS:
            raise InputError(f"{shown(kind)} is no kind of surface", fix=fix)
    return tuple(sorted(value.items()))


def _places(example: str) -> BeforeValidator:
    def read(value: object) -> tuple[tuple[str, str], ...]:
        texts = value if isinstance(value, list) else [None]
        found = [re.fullmatch(r"\s*(\S.*?)\s+at\s+(\S.*?)\s*", v) if isinstance(v, str) else None for v in texts]
        if not all(found) or len(texts) > 500:
            raise InputError(f"{shown(value)} is no list of places in the table", fix=f"Write as [{example!r}]")
        return tuple((f[1], f[2]) for f in found if f)

    return BeforeValidator(read)


def _read_value(value: object, info: ValidationInfo) -> tuple[float, str]:
    """A cell's new value: mm and the text it was given as; the table's own notation is welcome."""
    unit = (info.context or {}).get("unit") or "mm"
    if isinstance(value, bool) or not isinstance(value, int | float | str):
        raise InputError(f"{shown(value)} is not a length", fix='Write as "2-3-4", "5 1/2 in" or a number')
    return length_of(str(value), unit), str(value)


Places = Annotated[tuple[tuple[str, str], ...], _places("height chine at 4")]


class TableKeys(BaseModel):
    """Keys of [hull] for a table of offsets."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    offsets: File | None = None
    offsets_units: Annotated[str, choice(*UNITS)] | None = None
    stations_from: Annotated[str, choice("stern", "bow")] | None = None
    measure_from: Annotated[str, choice("aft", "station 0")] | None = None
    base_line: Annotated[float, length(-10_000, 10_000)] | None = None
    bow: Annotated[str, choice("stem", "transom")] | None = None
    transom_rake_deg: Annotated[float, number(-60, 60, "degrees")] | None = None
    bow_rake_deg: Annotated[float, number(-60, 80, "degrees")] | None = None
    transom_radius: Annotated[float, length(500, 100_000)] | None = None
    panels: Annotated[tuple[tuple[str, str], ...], BeforeValidator(_read_kinds)] | None = None
    fair: Switch | None = None
    fair_tolerance: Annotated[float, length(0, 100)] | None = None
    locked: Places | None = None
    allowed: Places | None = None
    knuckles: Annotated[tuple[tuple[str, str], ...], _places("chine at 4")] | None = None


class CorrectTable(BaseModel):
    """[[correct]]: a cell of the table changed on purpose."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    row: Name
    station: Annotated[str, BeforeValidator(lambda v: str(v) if isinstance(v, int) else v)]
    value: Annotated[tuple[float, str], BeforeValidator(_read_value)]
    reason: Name


def table_settings(
    hull: TableKeys, half_siding: float | None, corrections: tuple[CorrectTable, ...], place: Callable[[int], str]
) -> TableSettings | None:
    """The settings of a table, or None for a hull from a mesh.  place : where the n-th correction stands"""
    given: dict[str, Any] = {k: v for k, v in hull.__dict__.items() if k in TableKeys.model_fields and v is not None}
    if hull.offsets is None:
        return None
    unit = given.pop("offsets_units", None)
    tolerance = given.pop("fair_tolerance", None)
    unit_key = {} if unit is None else {"unit": unit}
    limit = {} if tolerance is None else {"tolerance": tolerance}
    for key in ("locked", "allowed"):
        given[key] = tuple((_row_name(row), station) for row, station in given.get(key, ()))
    changed = tuple(
        Correction(_row_name(c.row), c.station, *c.value, c.reason, where=place(n)) for n, c in enumerate(corrections)
    )
    return TableSettings(**given, **unit_key, **limit, half_siding=half_siding, corrections=changed)


def _row_name(text: str) -> str:
    """A row as the table names it, whatever way it is written."""
    heading = heading_of(text, "mm")
    return text if heading is None else heading.name


def corrected(
    table: OffsetTable, faults: list[CellFault], settings: TableSettings
) -> tuple[TableSource, list[InputError]]:
    """The table with the boat file's corrections made, and the faults that remain: a corrected cell is none.

    Also finds corrections, locks and allowances of cells the table has not.
    """
    done: list[Correction] = []
    wrong: list[InputError] = []
    for change in settings.corrections:
        row = next((r for r in table.rows if r.name == change.row), None)
        if row is None or change.station not in table.stations:
            wrong.append(_no_cell(table, change.row, change.station, f"{change.where}: [[correct]]"))
            continue
        old = row.cells[table.stations.index(change.station)]
        bad = next((f.text for f in faults if (f.row, f.station) == (change.row, change.station)), "")
        done.append(replace(change, was=old.text if old else bad))
        table = table.with_cell(change.row, change.station, Cell(change.text, change.mm))
    for key in ("locked", "allowed"):
        wrong += [
            _no_cell(table, row, station, f"[hull] {key}")
            for row, station in getattr(settings, key)
            if row not in {r.name for r in table.rows} or station not in table.stations
        ]
    lines = {r.line for r in table.rows if r.line}
    for line, station in settings.knuckles:
        if line not in lines or station not in table.stations:
            wrong.append(_no_cell(table, line, station, "[hull] knuckles"))
    healed = {(c.row, c.station) for c in done}
    left = [f.error for f in faults if (f.row, f.station) not in healed]
    return TableSource(table, tuple(done)), [*left, *wrong]


def _no_cell(table: OffsetTable, row: str, station: str, where: str) -> InputError:
    names = [r.name for r in table.rows]
    if row in names or row in {r.line for r in table.rows}:
        return InputError(
            f"the table has no station {station!r}", where=where, fix=f"Its stations are {', '.join(table.stations)}"
        )
    return InputError(f"the table has no row {row!r}", where=where, fix=f"Did you mean {nearest(row, names)!r}?")
