"""The JSON files: every noun as plain numbers and words, and parts, boards and plans back again.

Each file is one object that begins with its format and `"units": "mm"`.  Angles end in `_deg`.  A number that
has no meaning (the bend radius of a straight plank) is null; NaN and Infinity never occur.  Equal content gives
equal bytes: keys in a fixed order, one record to a line.

Rounding: planks to 1e-6 mm (far below what can be cut, enough for proofs); the outlines of parts to 0.001 mm,
because they are the very polyline that is cut; boards and placements not at all.
"""

from __future__ import annotations

import json
import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import fields
from pathlib import Path
from typing import Any, TypeAlias

import numpy as np

from strakewright.arrays import Floats
from strakewright.errors import Check, Finding
from strakewright.hull import Border, Hull, Panel
from strakewright.lumber import Board, Defect, Rules
from strakewright.parts import Choice, Fit, Margin, Mark, Option, Part, Plank
from strakewright.plan import Placement, Plan
from strakewright.write.girths import crossings

Record: TypeAlias = dict[str, Any]
_FINE, _CUT = 6, 3  # decimals of a mm
_FIGURES = 3  # more for single figures: strains are fractions


def plain(value: object, decimals: int | None = None) -> Any:
    """Numbers, words, lists and mappings only; arrays become lists, what is not finite becomes None.

    decimals : of coordinates in arrays (single figures get three more), None = as they are

    >>> plain({"a": np.array([1.0, np.nan]), "b": (np.int64(2), True)})
    {'a': [1.0, None], 'b': [2, True]}
    """
    kind = type(value)
    if value is None or kind is str or kind is bool or kind is int:
        return value
    if isinstance(value, float | np.floating):
        return _number(float(value), decimals)
    if isinstance(value, np.ndarray):
        return _listed(value, decimals)
    if isinstance(value, Mapping):
        return {str(key): plain(inner, decimals) for key, inner in value.items()}
    if isinstance(value, str | bool | np.bool_):
        return bool(value) if isinstance(value, np.bool_) else value
    if isinstance(value, int | np.integer):
        return int(value)
    if isinstance(value, Path):
        return value.as_posix()
    if isinstance(value, Iterable):
        return [plain(inner, decimals) for inner in value]
    raise TypeError(f"{type(value).__name__} has no place in a JSON file")


def _number(value: float, decimals: int | None) -> float | None:
    if not math.isfinite(value):
        return None
    return (value if decimals is None else round(value, decimals + _FIGURES)) + 0.0


def _listed(array: np.ndarray[Any, Any], decimals: int | None) -> Any:
    if array.dtype.kind == "f" and np.isfinite(array).all():
        return ((array if decimals is None else np.round(array, decimals)) + 0.0).tolist()
    if array.dtype.kind in "iub":
        return array.tolist()
    return [plain(inner, decimals) for inner in array] if array.ndim else plain(array.item(), decimals)


def document(name: str, content: Mapping[str, Any]) -> Record:
    """A whole file: format and units first, then the content in its own order."""
    return headed(name, plain(content))


def headed(name: str, content: Record) -> Record:
    """A whole file of content that is plain already."""
    return {"format": f"strakewright/{name}@1", "units": "mm", **content}


def json_text(content: Mapping[str, Any]) -> str:
    """One line per key, and per record of a list of records.

    >>> print(json_text({"units": "mm", "parts": [{"id": "A"}, {"id": "B"}]}), end="")
    {
    "units": "mm",
    "parts": [
    {"id": "A"},
    {"id": "B"}
    ]
    }
    """
    lines = (f"{json.dumps(key)}: {_spread(value)}" for key, value in content.items())
    return "{\n" + ",\n".join(lines) + "\n}\n"


def _spread(value: Any) -> str:
    if isinstance(value, list) and value and all(isinstance(row, dict) for row in value):
        return "[\n" + ",\n".join(_dense(row) for row in value) + "\n]"
    return _dense(value)


def _dense(value: Any) -> str:
    return json.dumps(value, allow_nan=False, ensure_ascii=False)


def write_json(path: Path, content: Mapping[str, Any]) -> None:
    """Put a document in a file, UTF-8 with plain line ends."""
    path.write_text(json_text(content), encoding="utf-8", newline="\n")


def planks_document(planks: Iterable[Plank]) -> Record:
    """planks.json"""
    return headed("planks", {"planks": [plank_record(plank) for plank in planks]})


def plank_record(plank: Plank) -> Record:
    """One plank as the contract names it; the keys of `plank.extra` are added, sorted."""
    rings = ("net_outline", "fitted_outline", "face_inside", "face_outside", "outline")
    head = ("id", "side", "panel", "layer", "course", "piece", "mate", "thickness", "cut_thickness", "species")
    record: Record = {key: getattr(plank, key) for key in head}
    record |= {key: getattr(plank, key) for key in rings}
    record["widths"] = [
        {"frame": frame, "width_on_frame": c.on_frame, "width_square": c.square}
        for frame, row in crossings([plank]).items()
        for c in row
    ]
    record |= {
        "face_up": plank.face_up,
        "cut": plank.cut,
        "edges": {"first": _edge(plank.first), "second": _edge(plank.second)},
        "ends": [_end(end) for end in plank.ends],
        "marks": [mark_record(mark) for mark in plank.marks],
        "fit": fit_record(plank.fit),
    }
    clash = record.keys() & plank.extra.keys()
    if clash:
        raise ValueError(f"plank {plank.id!r}: extra keys {sorted(clash)} hide the plank's own")
    return plain(record | dict(sorted(plank.extra.items())), _FINE)  # type: ignore[no-any-return]


def _margin(margin: Margin) -> Record:
    record: Record = {"seam": margin.seam, "flat": margin.flat, "bevel_deg": np.rad2deg(margin.bevel)}
    if not np.array_equal(margin.fitted, margin.flat):
        record["fitted"] = margin.fitted
    return record


def _edge(margin: Margin) -> Record:
    record = {"meets": margin.meets, "with": margin.neighbour} | _margin(margin)
    return record if margin.border is None else record | {"border": margin.border}


def _end(margin: Margin) -> Record:
    return _edge(margin) | {"tail": margin.tail}


def fit_record(fit: Fit) -> Record:
    """Will the wood take the shape: twist as degrees to the metre, which is what a builder sights."""
    record: Record = {f.name: getattr(fit, f.name) for f in fields(fit) if f.name != "twist_max"}
    return record | {"twist_max_deg_per_m": math.degrees(fit.twist_max) * 1000}


def mark_record(mark: Mark) -> Record:
    """kind, name and points of a mark."""
    return {"kind": mark.kind, "name": mark.name, "points": mark.points}


def mark_from(record: Mapping[str, Any]) -> Mark:
    """A mark back from its record."""
    return Mark(record["kind"], record["name"], _points(record["points"]))


def parts_document(parts: Iterable[Part], rules: Rules, choices: Sequence[Choice] = ()) -> Record:
    """parts.json.  choices : what may be chosen between (joints, splits)."""
    content: Record = {"rules": plain(rules_record(rules)), "parts": [part_record(part) for part in parts]}
    return headed("parts", content | ({"choices": plain([choice_record(c) for c in choices])} if choices else {}))


def choice_record(choice: Choice) -> Record:
    """A choice with its options, the usual one first."""
    rows = [{"parts": list(o.parts), "cost": o.cost, "note": o.note} for o in choice.options]
    return {"id": choice.id, "options": rows}


def choice_from(record: Mapping[str, Any]) -> Choice:
    """A choice back from its record; cost and note may be absent."""
    options = (Option(tuple(o["parts"]), float(o.get("cost", 0.0)), o.get("note", "")) for o in record["options"])
    return Choice(record["id"], tuple(options))


def rules_record(rules: Rules) -> Record:
    """The clearances; a rule that is None is not asked for and left out."""
    return {f.name: value for f in fields(rules) if (value := getattr(rules, f.name)) is not None}


def rules_from(record: Mapping[str, Any]) -> Rules:
    """Rules back from their record; what is absent takes its default, unknown keys are passed over."""
    return Rules(**{f.name: record[f.name] for f in fields(Rules) if f.name in record})


def part_record(part: Part) -> Record:
    """A part as it is cut: outline to 0.001 mm."""
    record: Record = {
        "id": part.id,
        "outline": plain(part.outline, _CUT),
        "thickness": plain(part.thickness),
        "species": part.species,
        "may_flip": part.may_flip,
        "marks": [plain(mark_record(mark), _CUT) for mark in part.marks],
    }
    more: Record = plain(_given(part, ("mate", "max_skew_deg", "quality", "stage")))
    return record | more | ({"match": True} if part.match else {})


def part_from(record: Mapping[str, Any]) -> Part:
    """A part back from its record."""
    optional: Record = {key: record.get(key) for key in ("mate", "max_skew_deg", "quality", "stage")}
    marks = tuple(mark_from(mark) for mark in record.get("marks", ()))
    wood = (record["thickness"], record["species"], bool(record.get("may_flip", False)))
    match = bool(record.get("match", False))
    return Part(record["id"], _points(record["outline"]), *wood, marks=marks, match=match, **optional)


def boards_document(boards: Iterable[Board]) -> Record:
    """boards.json"""
    return headed("boards", {"boards": [board_record(board) for board in boards]})


def board_record(board: Board) -> Record:
    """A board as it lies in the rack; the price is written also when it is not known."""
    record: Record = {key: getattr(board, key) for key in ("id", "outline", "thickness", "species")}
    record["defects"] = [{"kind": d.kind, "outline": d.outline} for d in board.defects if d.kind != "taken"]
    if any(d.kind == "taken" for d in board.defects):
        record["taken"] = [{"part": d.part, "outline": d.outline} for d in board.defects if d.kind == "taken"]
    record["price"] = board.price
    record |= _given(board, ("rough_thickness", "grade", "state"))
    unusual: Record = {"leaves": board.leaves} if board.leaves != 1 else {}
    unusual |= {"end_trim": board.end_trim} if board.end_trim else {}
    return plain(record | unusual)  # type: ignore[no-any-return]


def board_from(record: Mapping[str, Any]) -> Board:
    """A board back from its record."""
    optional: Record = {key: record.get(key) for key in ("price", "rough_thickness", "grade", "state")}
    marred = [Defect(d["kind"], _points(d["outline"])) for d in record.get("defects", ())]
    taken = [Defect("taken", _points(t["outline"]), t.get("part")) for t in record.get("taken", ())]
    defects, wood = (*marred, *taken), (record["thickness"], record["species"])
    optional |= {"leaves": record.get("leaves", 1), "end_trim": record.get("end_trim", 0.0)}
    return Board(record["id"], _points(record["outline"]), *wood, defects, **optional)


def plan_document(plan: Plan) -> Record:
    """nest.json"""
    placements = [placement_record(placement) for placement in plan.placements]
    rest = {f.name: getattr(plan, f.name) for f in fields(plan) if f.name != "placements"}
    return document("nest", {"placements": placements} | rest)


def placement_record(placement: Placement) -> Record:
    """Where a part lies; `leaf` only on resawn boards."""
    record = {f.name: getattr(placement, f.name) for f in fields(placement)}
    return {key: value for key, value in record.items() if key != "leaf" or value is not None}


def plan_from(record: Mapping[str, Any]) -> Plan:
    """A plan back from nest.json."""
    known = {f.name: record[f.name] for f in fields(Plan) if f.name in record}
    placements = tuple(
        Placement(**{f.name: p[f.name] for f in fields(Placement) if f.name in p}) for p in known.pop("placements")
    )
    return Plan(placements=placements, unplaced=tuple(known.pop("unplaced")), **known)


def panels_document(hull: Hull) -> Record:
    """panels.json: enough to start again from the fitted surfaces."""
    head = {"name": hull.name, "surface": hull.surface, "length": hull.length, "figures": hull.figures}
    return document("panels", head | {"panels": [_panel_record(panel) for panel in hull.panels]})


def _panel_record(panel: Panel) -> Record:
    borders = {key: getattr(panel, key) for key in ("lower", "upper", "aft", "forward")}
    patch = {"degree": 5, "knots_p": panel.patch.knots_p, "knots_q": panel.patch.knots_q}
    return {
        "name": panel.name,
        "residual": panel.residual,
        "flats_apart": panel.flats_apart,
        "residual_map": None if panel.misses is None else plain(panel.misses, 4),
        "patch": patch | {"control_points": panel.patch.coefs},
        "edges": {key: None if border is None else _border_record(border) for key, border in borders.items()},
    }


def _border_record(border: Border) -> Record:
    return {"name": border.name, "chart": border.chart, "centreline": border.centreline}


def lining_document(lining: Mapping[str, Any]) -> Record:
    """lining.json: the choice of seams and joints, to be edited and taken back."""
    return document("lining", lining)


def summary_document(checks: Iterable[Check], findings: Iterable[Finding], headline: Mapping[str, Any]) -> Record:
    """summary.json.  headline : hull, planking and stock figures (no times: those may differ between runs)."""
    content: Record = dict(headline)
    content["checks"] = [{f.name: getattr(check, f.name) for f in fields(check)} for check in checks]
    content["findings"] = [{f.name: getattr(finding, f.name) for f in fields(finding)} for finding in findings]
    return document("summary", content)


def times_document(seconds: Mapping[str, float]) -> Record:
    """times.json: wall time of every stage, the only file that may differ between equal runs."""
    return document("times", {"seconds": {stage: round(taken, 4) for stage, taken in seconds.items()}})


def _given(noun: object, names: tuple[str, ...]) -> Record:
    return {name: value for name in names if (value := getattr(noun, name)) is not None}


def _points(rows: Any) -> Floats:
    return np.array(rows, dtype=np.float64).reshape(-1, 2)
