"""Keys of the boat file on members: [chine] logs and [[member]].

along     an edge of the hull (keel, stem, keel+stem, chine, chine1 ..., sheer), a share of a panel's girth
          ("bottom@0.33"), or a seam ("side/3": above course 3)

Bounds are common practice, no source: wide enough for any boat of 2 to 20 m.
"""

from __future__ import annotations

import re
from typing import Annotated, Any

from pydantic import BaseModel, BeforeValidator, ConfigDict

from strakewright.errors import InputError
from strakewright.read.keyvalues import Wood, choice, length, number, shown, whole
from strakewright.settings import ChineSettings, MemberSettings

_EDGES = r"keel|stem|keel\+stem|chine[1-9]?|sheer"
_INSIDE = r"(side|bottom|bilge[1-9][0-9]?)(@0?\.[0-9]+|/[1-9][0-9]?)"
_Size = Annotated[float, length(5, 1000)]
_X = Annotated[float, length(-1000, 100_000)]


def _read_along(value: object) -> str:
    if isinstance(value, str) and re.fullmatch(f"{_EDGES}|{_INSIDE}", value):
        return value
    fix = 'Write "keel", "stem", "keel+stem", "chine", "sheer", "bottom@0.33" (share of girth) or "side/3" (a seam)'
    raise InputError(f"{shown(value)} is no line of a hull", fix=fix)


def _read_chalk(value: object) -> str:
    if isinstance(value, str) and re.fullmatch(r"[A-Za-z0-9][A-Za-z0-9 _.-]{0,23}", value.strip()):
        return value.strip()
    raise InputError(f"{shown(value)} is no name to chalk on wood", fix="Write up to 24 letters, digits and spaces")


class _Keys(BaseModel):
    """A key left out stays unset: its default stands with the types."""

    model_config = ConfigDict(extra="forbid", frozen=True)


class ChineTable(_Keys):
    joint: Annotated[str, choice("lap", "mitre")] | None = None
    lap_limit_deg: Annotated[float, number(95, 175, "degrees")] | None = None
    forward_joint: Annotated[str, choice("mitre", "butt")] | None = None
    log: Annotated[float, length(10, 300)] | None = None
    log_land: Annotated[float, length(5, 300)] | None = None
    log_turn: Annotated[str, choice("bisector", "side")] | None = None
    log_plies: Annotated[int, whole(1, 60)] | None = None
    log_species: Wood | None = None


class MemberTable(_Keys):
    name: Annotated[str, BeforeValidator(_read_chalk)]
    along: Annotated[str, BeforeValidator(_read_along)]
    sided: _Size
    moulded: _Size
    shape: Annotated[str, choice("run", "skeg", "breasthook", "knee")] | None = None
    face: Annotated[str, choice("inside", "outside")] | None = None
    aft: _X | None = None
    forward: _X | None = None
    plies: Annotated[int, whole(1, 60)] | None = None
    ply: Annotated[float, length(1, 200)] | None = None
    plies_lie: Annotated[str, choice("to side", "to bottom")] | None = None
    glued: Annotated[str, choice("in place", "on former")] | None = None
    springback_factor: Annotated[float, number(0, 3, "times the reckoned springback")] | None = None
    species: Wood | None = None


def chine_settings(table: ChineTable) -> ChineSettings:
    """[chine] as a frozen type."""
    return ChineSettings(**table.model_dump(exclude_none=True))


def member_settings(
    tables: tuple[MemberTable, ...], usual: dict[str, Any], places: list[str]
) -> tuple[MemberSettings, ...]:
    """Every [[member]].  usual : the shop's species, if it names one;  places : where each stands in the file"""
    wood = {"species": usual["species"]} if "species" in usual else {}
    return tuple(
        MemberSettings(**(wood | table.model_dump(exclude_none=True)), where=place)
        for table, place in zip(tables, places, strict=True)
    )
