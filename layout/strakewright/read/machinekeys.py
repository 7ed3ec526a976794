"""Keys of the boat file on machine and paper (the types are in `machine`).

Bounds are common practice, no source.
"""

from __future__ import annotations

from typing import Annotated, Any, cast

from pydantic import BaseModel, BeforeValidator, ConfigDict, ValidationInfo

from strakewright.errors import InputError
from strakewright.machine import MachineSettings, PaperSettings
from strakewright.read.keyvalues import Switch, choice, length, pair, shown
from strakewright.units import parse_length

_ROLLS = {"A0": 841.0, "A1": 594.0, "36 in": 914.4, "42 in": 1066.8, "24 in": 609.6}


def _read_roll(value: object, info: ValidationInfo) -> float:
    if isinstance(value, str) and value in _ROLLS:
        return _ROLLS[value]
    unit = cast(dict[str, Any], info.context)["unit"]
    try:
        mm = parse_length(value, unit or "mm")
    except InputError:
        raise InputError(f"{shown(value)} is no width of a roll", fix='Write "A0", "36 in" or a width') from None
    if unit is not None and not 250.0 <= mm <= 2000.0:
        raise InputError(f"{mm:g} mm is outside 250 to 2000 mm", fix='Write "A0", "36 in" or a width of the roll')
    return mm


class _Keys(BaseModel):
    """A key left out stays unset: its default stands with the types."""

    model_config = ConfigDict(extra="forbid", frozen=True)


class MachineTable(_Keys):
    cutting: Annotated[str, choice("router", "bandsaw", "table saw")] | None = None
    bed: Annotated[tuple[float, float], pair((300, 100), (30_000, 5000), '["8 ft", "4 ft"]')] | None = None
    cutter: Annotated[float, length(1, 40)] | None = None
    tabs: Annotated[str, choice("tabs", "skin", "none")] | None = None
    resaw_max: Annotated[float, length(30, 1000)] | None = None
    planer_min: Annotated[float, length(50, 2000)] | None = None
    snipe: Annotated[float, length(0, 300)] | None = None
    dxf: Annotated[str, choice("R2000", "R12")] | None = None
    arcs: Switch | None = None
    text: Annotated[str, choice("words", "strokes")] | None = None


class PaperTable(_Keys):
    roll: Annotated[float, BeforeValidator(_read_roll)] | None = None
    tiles: Annotated[str, choice("A4", "Letter", "A3")] | None = None
    book: Annotated[str, choice("A4", "Letter")] | None = None
    roll_measured: Annotated[tuple[float, float], pair((970, 97), (1030, 103), '["1002 mm", "100 mm"]')] | None = None
    tile_measured: Annotated[tuple[float, float], pair((97, 97), (103, 103), '["100.4 mm", "100 mm"]')] | None = None


MACHINE_TABLES: dict[str, type[BaseModel]] = {"machine": MachineTable, "paper": PaperTable}


def machine_settings(table: MachineTable | None, where: str) -> MachineSettings | None:
    """None when the boat file says nothing of a machine."""
    return None if table is None else MachineSettings(**table.model_dump(exclude_none=True), where=where)


def paper_settings(table: PaperTable) -> PaperSettings:
    """How papers are printed."""
    return PaperSettings(**table.model_dump(exclude_none=True))
