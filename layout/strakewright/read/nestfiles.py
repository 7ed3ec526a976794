"""What `nest` reads: anybody's parts onto anybody's boards.

rules     clearances of the job; no rule is applied that is neither here nor on a part
A missing clearance is asked for, not guessed: somebody cuts by it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from difflib import SequenceMatcher
from pathlib import Path
from typing import get_args

from strakewright.errors import Finding, InputError
from strakewright.lumber import TAKES, USUAL, Board, Dressing, Rules
from strakewright.parts import Choice, Mark, MarkKind, Option, Part
from strakewright.plan import Placement
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
from strakewright.read.names import nearest
from strakewright.read.stock import read_boards

_KINDS: dict[str, MarkKind] = {kind: kind for kind in get_args(MarkKind)}
ALIKE = 0.8
"""Two names of woods with so large a share of letters in common may mean the same."""
_OBJECTIVES = ("gross", "net", "boards", "price")


@dataclass(frozen=True, eq=False)
class NestJob:
    """Parts to place, boards to place them on, the clearances, and what the reader did to the boards.

    cut : parts of an earlier plan that are sawn already; kept so that one spoiled later can be cut again
    """

    parts: tuple[Part, ...]
    boards: tuple[Board, ...]
    rules: Rules
    findings: tuple[Finding, ...]
    choices: tuple[Choice, ...] = ()
    cut: tuple[Part, ...] = ()


def read_nest(parts: Path, boards: Path, unit: str = "mm", dressing: Dressing = USUAL) -> NestJob:
    """A parts.json and a boards.json or .csv;  raises InputError

    unit : of bare numbers in a .csv;  dressing : what comes off its boards

    Boards of a .csv that name no species are taken to be of the parts' species, when those have only one.
    """
    wanted, rules, choices = read_parts(parts)
    woods = {part.species for part in wanted}
    rack, findings = read_boards(boards, dressing, woods.pop() if len(woods) == 1 else "", unit)
    if rules.objective == "price" and any(board.price is None for board in rack):
        raise InputError('a board has no price, but the objective is "price"', where=boards.name, fix="Give prices")
    rack = [b for b in rack if b.state != "used up"]
    return NestJob(wanted, tuple(rack), rules, (*findings, *_other_woods(wanted, rack)), choices)


def _other_woods(parts: Sequence[Part], boards: Sequence[Board]) -> list[Finding]:
    """A warning for every wood of the pile that is so nearly a wood of the parts that it may be misspelt."""
    wanted = sorted({p.species for p in parts})
    found = []
    for wood in sorted({b.species for b in boards} - set(wanted)):
        best = nearest(wood, wanted) if wanted else wood
        if SequenceMatcher(None, wood.casefold(), best.casefold()).ratio() > ALIKE:
            what = f"is no wood of the parts; they are of {', '.join(wanted)}"
            found.append(Finding("wood-not-asked-for", "warning", wood, what, f'If it is the same, write "{best}"'))
    return found


def read_parts(path: Path) -> tuple[tuple[Part, ...], Rules, tuple[Choice, ...]]:
    """Parts, rules and choices of a parts.json;  raises InputError"""
    record = read_object(path, "parts")
    parts = read_records(record, "parts", path.name, _part)
    _paired(parts, path.name)
    rules = _rules(record, f"{path.name}: rules")
    if not record.get("choices"):
        return parts, rules, ()
    choices = read_records(record, "choices", path.name, _choice)
    _separate(choices, {p.id for p in parts}, path.name)
    return parts, rules, choices


def read_cut(path: Path) -> tuple[Part, ...]:
    """Parts that the parts.json of a recut lists as cut already;  raises InputError"""
    record = read_object(path, "parts")
    return read_records(record, "cut_already", path.name, _part) if record.get("cut_already") else ()


def _choice(row: Record, where: str) -> Choice:
    """One choice: its options, the usual one first."""
    options = []
    for n, option in enumerate(list_in(row, "options", where)):
        here = f"{where} option {n}"
        names = option.get("parts")
        if not isinstance(names, list) or not all(isinstance(name, str) for name in names):
            raise InputError("parts is not a list of ids", where=here, fix='Write "parts": ["S1", "S2"]')
        cost = optional_number(option, "cost", here, -1e6, 1e6) or 0.0
        note = text_in(option, "note", here) if option.get("note") else ""
        options.append(Option(tuple(names), cost, note or ""))
    if not options:
        raise InputError("a choice without options", where=where, fix='Write "options": [{"parts": [...]}, ...]')
    return Choice(row["id"], tuple(options))


def _separate(choices: Sequence[Choice], known: set[str], file: str) -> None:
    """Every part of an option exists, and belongs to one choice only;  raises InputError"""
    owner: dict[str, str] = {}
    for choice in choices:
        where = f'{file}: choices "{choice.id}"'
        for name in (p for option in choice.options for p in option.parts):
            if name not in known:
                raise InputError(f"no part {name!r:.60}", where=where, fix="Write ids that stand under parts")
            if owner.setdefault(name, choice.id) != choice.id:
                fix = "Give each choice parts of its own"
                raise InputError(f"part {name!r} also belongs to choice {owner[name]!r}", where=where, fix=fix)


def _paired(parts: Sequence[Part], file: str) -> None:
    """Matched parts name each other;  raises InputError"""
    by_id = {p.id: p for p in parts}
    for part in (p for p in parts if p.match):
        mate = by_id.get(part.mate or "")
        if mate is None or mate.mate != part.id or not mate.match or mate is part:
            fix = 'Give both parts "match": true and each other as "mate"'
            raise InputError("match asks for a mate that asks for it too", where=f'{file}: parts "{part.id}"', fix=fix)


def _part(row: Record, where: str) -> Part:
    flip, match = (_switch(row, key, where) for key in ("may_flip", "match"))
    return Part(
        id=row["id"],
        outline=ring_of(row.get("outline"), where),
        thickness=number_of(row, "thickness", where, 0.1, 1000),
        species=species_in(row, where),
        may_flip=flip,
        marks=tuple(_mark(mark, f"{where} marks") for mark in list_in(row, "marks", where)),
        mate=text_in(row, "mate", where),
        max_skew_deg=optional_number(row, "max_skew_deg", where, 0, 90),
        quality=_quality(row, where),
        stage=_stage(row, where),
        match=match,
    )


def _switch(row: Record, key: str, where: str) -> bool:
    value = row.get(key, False)
    if not isinstance(value, bool):
        raise InputError(f"{key} is {value!r:.40}", where=where, fix="Write true or false")
    return value


def _quality(row: Record, where: str) -> str | None:
    quality = text_in(row, "quality", where)
    if quality is not None and quality not in TAKES:
        raise InputError(f"quality is {quality!r:.40}", where=where, fix=f"Write one of {', '.join(TAKES)}")
    return quality


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
        by_stage=_switch(rules, "by_stage", where) or None,
        resaw_kerf=optional_number(rules, "resaw_kerf", where, 0, 20),
        resaw_skip=optional_number(rules, "resaw_skip", where, 0, 20),
        resaw_clean=optional_number(rules, "resaw_clean", where, 0, 20),
        resaw_max=optional_number(rules, "resaw_max", where, 10, 2000),
        snipe=optional_number(rules, "snipe", where, 0, 300),
        planer_min=optional_number(rules, "planer_min", where, 0, 2000),
    )


def read_placements(path: Path) -> tuple[tuple[Placement, ...], dict[str, int]]:
    """Placements and options chosen of a nest.json;  raises InputError"""
    record = read_object(path, "nest")
    rows = record.get("placements")
    if not isinstance(rows, list):
        raise InputError('"placements" is not a list', where=path.name, fix="Give the nest.json of a plan")
    chosen = record.get("chosen") or {}
    if not isinstance(chosen, dict) or not all(isinstance(v, int) for v in chosen.values()):
        raise InputError("chosen is no list of options", where=path.name, fix="Give the nest.json of a plan")
    return tuple(_placement(row, f"{path.name}: placements[{n}]") for n, row in enumerate(rows)), chosen


def _placement(row: object, where: str) -> Placement:
    if not isinstance(row, dict) or not all(isinstance(row.get(key), str) for key in ("part", "board")):
        raise InputError("no part and board", where=where, fix="Give the nest.json of a plan")
    x, y = (number_of(row, key, where, -1e6, 1e6) for key in ("x", "y"))
    leaf = optional_number(row, "leaf", where, 1, 100)
    turn = optional_number(row, "rotation_deg", where, -360, 360) or 0.0
    return Placement(
        row["part"], row["board"], x, y, turn, _switch(row, "flip", where), None if leaf is None else int(leaf)
    )
