"""What `nest` reads: anybody's parts onto anybody's boards.

rules     clearances of the job; no rule is applied that is neither here nor on a part
A missing clearance is asked for, not guessed: somebody cuts by it.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import get_args

from strakewright.errors import Finding, InputError
from strakewright.lumber import Board, Rules
from strakewright.parts import Mark, MarkKind, Part
from strakewright.read.jsonfiles import (
    Record,
    list_in,
    number_of,
    optional_number,
    points_of,
    read_object,
    read_records,
    ring_of,
    species_in,
    text_in,
)
from strakewright.read.stock import read_boards

_KINDS: dict[str, MarkKind] = {kind: kind for kind in get_args(MarkKind)}
_OBJECTIVES = ("gross", "net", "boards", "price")


@dataclass(frozen=True, eq=False)
class NestJob:
    """Parts to place, boards to place them on, the clearances, and what the reader did to the boards."""

    parts: tuple[Part, ...]
    boards: tuple[Board, ...]
    rules: Rules
    findings: tuple[Finding, ...]


def read_nest(parts: Path, boards: Path) -> NestJob:
    """A parts.json and a boards.json or .csv;  raises InputError

    Boards of a .csv that name no species are taken to be of the parts' species, when those have only one.
    """
    wanted, rules = read_parts(parts)
    woods = {part.species for part in wanted}
    rack, findings = read_boards(boards, None, woods.pop() if len(woods) == 1 else "")
    if rules.objective == "price" and any(board.price is None for board in rack):
        raise InputError('a board has no price, but the objective is "price"', where=boards.name, fix="Give prices")
    return NestJob(wanted, tuple(rack), rules, tuple(findings))


def read_parts(path: Path) -> tuple[tuple[Part, ...], Rules]:
    """Parts and rules of a parts.json;  raises InputError"""
    record = read_object(path, "parts")
    if record.get("choices"):
        raise InputError("choices are not yet built", where=path.name, fix="Write only the parts to be cut")
    return read_records(record, "parts", path.name, _part), _rules(record, f"{path.name}: rules")


def _part(row: Record, where: str) -> Part:
    flip = row.get("may_flip", False)
    if not isinstance(flip, bool):
        raise InputError(f"may_flip is {flip!r:.40}", where=where, fix="Write true or false")
    return Part(
        id=row["id"],
        outline=ring_of(row.get("outline"), where),
        thickness=number_of(row, "thickness", where, 0.1, 1000),
        species=species_in(row, where),
        may_flip=flip,
        marks=tuple(_mark(mark, f"{where} marks") for mark in list_in(row, "marks", where)),
        mate=text_in(row, "mate", where),
        max_skew_deg=optional_number(row, "max_skew_deg", where, 0, 90),
        quality=text_in(row, "quality", where),
        stage=_stage(row, where),
    )


def _stage(row: Record, where: str) -> int | None:
    stage = optional_number(row, "stage", where, 0, 1000)
    return None if stage is None else int(stage)


def _mark(row: Record, where: str) -> Mark:
    kind = _KINDS.get(str(row.get("kind")))
    if kind is None:
        fix = f"Write one of {', '.join(_KINDS)}"
        raise InputError(f"kind is {row.get('kind')!r:.40}", where=where, fix=fix)
    return Mark(kind, text_in(row, "name", where, "") or "", points_of(row.get("points"), where))


def _rules(record: Record, where: str) -> Rules:
    rules = record.get("rules")
    if not isinstance(rules, dict):
        fix = "Write spacing, edge_margin, defect_margin, max_skew_deg and min_offcut"
        raise InputError("the rules of the job are missing", where=where, fix=fix)
    objective = rules.get("objective", "gross")
    if objective not in _OBJECTIVES:
        raise InputError(f"objective is {objective!r:.40}", where=where, fix=f"Write one of {', '.join(_OBJECTIVES)}")
    return Rules(
        spacing=number_of(rules, "spacing", where, 0, 200),
        edge_margin=number_of(rules, "edge_margin", where, 0, 200),
        defect_margin=number_of(rules, "defect_margin", where, 0, 200),
        max_skew_deg=number_of(rules, "max_skew_deg", where, 0, 90),
        min_offcut=number_of(rules, "min_offcut", where, 0, 1e6),
        objective=objective,
        run_out=optional_number(rules, "run_out", where, 1, 1000),
    )
