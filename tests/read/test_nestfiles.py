"""Files of `nest`: parts, rules and boards in the project's JSON forms."""

from __future__ import annotations

import copy
import json
from pathlib import Path
from typing import Any

import pytest

from strakewright.errors import InputError
from strakewright.lumber import Dressing
from strakewright.measure import size_of
from strakewright.read.nestfiles import NestJob, read_nest

RULES = {"spacing": 8, "edge_margin": 4, "defect_margin": 4, "max_skew_deg": 3, "min_offcut": 600}
PARTS: dict[str, Any] = {
    "format": "strakewright/parts@1",
    "units": "mm",
    "rules": RULES,
    "parts": [
        {
            "id": "S1",
            "outline": [[0, 0], [0, 90], [900, 90], [900, 0], [0, 0]],
            "thickness": 19,
            "species": "white ash",
            "mate": None,
            "maker": "someone else",
            "marks": [{"kind": "frame", "name": "F1", "points": [[10, 0], [10, 90]]}],
        },
        {"id": "S2", "outline": [[0, 0], [1, 0], [1, 1]], "thickness": 19.5, "species": "white ash", "may_flip": True},
    ],
}
BOARDS: dict[str, Any] = {
    "format": "strakewright/boards@1",
    "boards": [
        {
            "id": "B1",
            "outline": [[0, 0], [2400, 0], [2400, 150], [0, 150]],
            "thickness": 20,
            "species": "white ash",
            "price": 12.5,
            "defects": [{"kind": "knot", "outline": [[10, 10], [20, 10], [15, 20]]}],
            "taken": [{"part": "S9", "outline": [[100, 0], [200, 0], [200, 50], [100, 50]]}],
        }
    ],
}


def job(folder: Path, parts: object, boards: object) -> NestJob:
    for name, content in (("parts.json", parts), ("boards.json", boards)):
        (folder / name).write_text(content if isinstance(content, str) else json.dumps(content))
    return read_nest(folder / "parts.json", folder / "boards.json")


def told(folder: Path, parts: object, boards: object = BOARDS) -> list[str]:
    with pytest.raises(InputError) as refused:
        job(folder, parts, boards)
    return [str(fault) for fault in (refused.value, *refused.value.also)]


def changed(record: dict[str, Any], key: str, value: object, top: str = "") -> dict[str, Any]:
    """A copy with one key of the first part or board (or of `top`) changed; None takes the key out."""
    copied = copy.deepcopy(record)
    target = copied[top] if top else copied["parts" if "parts" in copied else "boards"][0]
    if value is None:
        del target[key]
    else:
        target[key] = value
    return copied


def test_sound_files_are_read_whole(tmp_path: Path) -> None:
    read = job(tmp_path, PARTS, BOARDS)
    first, second = read.parts
    assert first.outline.tolist() == [[0, 0], [900, 0], [900, 90], [0, 90]]  # closed and clockwise in the file
    assert (first.thickness, first.may_flip, second.may_flip, first.mate) == (19.0, False, True, None)
    assert (first.marks[0].kind, first.marks[0].points.tolist()) == ("frame", [[10, 0], [10, 90]])
    assert [defect.kind for defect in read.boards[0].defects] == ["knot", "taken"]
    assert read.boards[0].price == 12.5
    assert (read.rules.spacing, read.rules.objective, read.rules.run_out) == (8.0, "gross", None)


def test_boards_may_be_a_table(tmp_path: Path) -> None:
    """A board that names no wood is of the parts' wood, when those have only one."""
    (tmp_path / "parts.json").write_text(json.dumps(PARTS))
    (tmp_path / "boards.csv").write_text("id,length,width,thickness\nA,2400,150,27\n")
    read = read_nest(tmp_path / "parts.json", tmp_path / "boards.csv")
    assert (read.boards[0].species, read.boards[0].thickness, read.findings[0].code) == (
        "white ash",
        24.0,
        "boards-trimmed",
    )
    (tmp_path / "parts.json").write_text(json.dumps(changed(PARTS, "species", "plum")))
    with pytest.raises(InputError, match="the parts are of several woods"):
        read_nest(tmp_path / "parts.json", tmp_path / "boards.csv")


def test_a_wood_that_may_be_misspelt_is_told_and_bare_numbers_may_be_inches(tmp_path: Path) -> None:
    (tmp_path / "parts.json").write_text(json.dumps(PARTS))
    table = "id,length,width,thickness,species\nA,96,6,1,wite ash\nB,96,6,1,larch\n"
    (tmp_path / "boards.csv").write_text(table)
    read = read_nest(tmp_path / "parts.json", tmp_path / "boards.csv", "in")
    assert [(f.subject, f.fix) for f in read.findings if f.code == "wood-not-asked-for"] == [
        ("wite ash", 'If it is the same, write "white ash"')
    ]
    assert read.boards[0].outline[:, 0].max() == pytest.approx(96 * 25.4 - 100)
    assert {b.end_trim for b in read.boards} == {50.0}


def test_what_comes_off_the_boards_may_be_said(tmp_path: Path) -> None:
    """Of 2400 x 27: 100 off each end leaves 2200; dressed stock keeps its 27, rough loses 2 off each face."""
    (tmp_path / "parts.json").write_text(json.dumps(PARTS))
    (tmp_path / "boards.csv").write_text("id,length,width,thickness\nA,2400,150,27\n")
    for measured, left in (("dressed", 27.0), ("rough", 23.0)):
        taken = Dressing(end_trim=100.0, skip=2.0, measured=measured)
        (board,) = read_nest(tmp_path / "parts.json", tmp_path / "boards.csv", "mm", taken).boards
        assert (board.outline[:, 0].max(), board.thickness, size_of(board)[0]) == (2200.0, left, 2400.0)


BOW_TIE = [[0, 0], [10, 10], [10, 0], [0, 10]]
BAD_PARTS = [
    ("id", "Nummer 1", "id is 'Nummer 1'"),
    ("id", None, "id is None"),
    ("id", "s2", 'parts.json: parts[1] "S2": a second one of that id'),
    ("outline", None, "points are not a list"),
    ("outline", [], "points are not a list"),
    ("outline", [[0, 0], [1, 1]], "crosses or touches itself, or has no area"),
    ("outline", [[0, 0], [1, 1], [2, 2]], "crosses or touches itself, or has no area"),
    ("outline", BOW_TIE, "crosses or touches itself, or has no area"),
    ("outline", [[0, 0], [1, "a"], [2, 5]], "a coordinate is not a number"),
    ("outline", [[0, 0], [1, 10**400], [2, 5]], "a coordinate is not a number"),
    ("outline", [[0, 0], [1, True], [2, 5]], "a coordinate is not a number"),
    ("outline", [[0, 0, 0], [1, 0, 0], [2, 5, 0]], "points are not a list of [x, y]"),
    ("thickness", None, "thickness is missing"),
    ("thickness", -19, "thickness is -19"),
    ("thickness", "19 mm", "thickness is '19 mm'"),
    ("species", None, "species is missing"),
    ("species", 7, "species is 7"),
    ("may_flip", "no", "may_flip is 'no'"),
    ("marks", {"kind": "frame"}, "marks is not a list"),
    ("marks", [{"kind": "scratch", "points": [[0, 0]]}], "kind is 'scratch'"),
    ("max_skew_deg", 120, "max_skew_deg is 120"),
    ("quality", "fine", "quality is 'fine'"),
    ("match", "yes", "match is 'yes'"),
]


@pytest.mark.parametrize(("key", "value", "message"), BAD_PARTS)
def test_a_bad_part_is_named(tmp_path: Path, key: str, value: object, message: str) -> None:
    lines = told(tmp_path, changed(PARTS, key, value))
    assert len(lines) == 1
    assert message in lines[0]
    assert lines[0].startswith("parts.json: parts[")


@pytest.mark.parametrize("key", sorted(RULES))
def test_a_missing_rule_is_asked_for(tmp_path: Path, key: str) -> None:
    assert told(tmp_path, changed(PARTS, key, None, "rules")) == [
        f"parts.json: rules: {key} is missing. " + told(tmp_path, changed(PARTS, key, -1, "rules"))[0].split(". ")[1]
    ]


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("", "parts.json:1:1: not JSON"),
        ('{"format": "strakewright/parts@1",\n "parts": [', "parts.json:2:12: not JSON"),
        ('{"parts": [NaN]}', "not JSON: NaN is no number"),
        ("[" * 100_000, "not JSON: nested too deeply"),
        ("[1, 2]", "not a JSON object"),
        (json.dumps(PARTS | {"format": "strakewright/nest@1"}), "format is 'strakewright/nest@1'"),
        (json.dumps(PARTS | {"units": "in"}), "units is 'in'"),
        (json.dumps(PARTS | {"parts": []}), '"parts" is not a list of objects'),
        (json.dumps(PARTS | {"parts": [1]}), "parts[0]: not an object"),
        (json.dumps(PARTS | {"rules": None}), "the rules of the job are missing"),
        (json.dumps(PARTS | {"choices": [{"id": "c"}]}), "a choice without options"),
        (json.dumps(PARTS | {"choices": [{"id": "c", "options": [{"parts": 3}]}]}), "parts is not a list of ids"),
        (json.dumps(PARTS | {"choices": [{"id": "c", "options": [{"parts": ["none"]}]}]}), "no part 'none'"),
        (
            json.dumps(PARTS | {"choices": [{"id": c, "options": [{"parts": ["S1"]}]} for c in "cd"]}),
            "part 'S1' also belongs to choice 'c'",
        ),
        (json.dumps(PARTS | {"rules": RULES | {"objective": "speed"}}), "objective is 'speed'"),
    ],
)
def test_a_bad_file_of_parts_is_refused(tmp_path: Path, text: str, message: str) -> None:
    assert message in told(tmp_path, text)[0]


@pytest.mark.parametrize(
    ("key", "value", "message"),
    [
        ("outline", [[0, 0], [2400, 0], [2400, 0], [0, 0]], "has no area"),
        ("thickness", 0, "thickness is 0"),
        ("price", "much", "price is 'much'"),
        ("defects", [{"kind": "knot", "outline": BOW_TIE}], 'boards[0] "B1" defect 0: outline crosses'),
        ("defects", [3], "defects is not a list of objects"),
        ("species", None, "species is missing"),
    ],
)
def test_a_bad_board_is_named(tmp_path: Path, key: str, value: object, message: str) -> None:
    parts = copy.deepcopy(PARTS)
    parts["parts"][1]["species"] = "plum"
    assert message in told(tmp_path, parts, changed(BOARDS, key, value))[0]


def test_prices_are_needed_when_the_plan_is_judged_by_them(tmp_path: Path) -> None:
    by_price = PARTS | {"rules": RULES | {"objective": "price"}}
    assert job(tmp_path, by_price, BOARDS).rules.objective == "price"
    assert "has no price" in told(tmp_path, by_price, changed(BOARDS, "price", None))[0]


def test_every_bad_part_is_told_in_one_go(tmp_path: Path) -> None:
    parts = copy.deepcopy(PARTS)
    parts["parts"][0]["thickness"] = parts["parts"][1]["thickness"] = None
    assert len(told(tmp_path, parts)) == 2


def test_a_matched_part_needs_a_mate_that_asks_for_it_too(tmp_path: Path) -> None:
    assert "match asks for a mate" in told(tmp_path, changed(PARTS, "match", True))[0]


def test_choices_and_rules_of_wood_are_read(tmp_path: Path) -> None:
    choice = {"id": "c", "options": [{"parts": ["S1"]}, {"parts": ["S2"], "cost": 0.1, "note": "shorter"}]}
    more = RULES | {"by_stage": True, "resaw_kerf": 2, "run_out": 12}
    read = job(tmp_path, PARTS | {"choices": [choice], "rules": more}, BOARDS)
    assert [o.parts for o in read.choices[0].options] == [("S1",), ("S2",)]
    assert (read.choices[0].options[1].cost, read.choices[0].options[1].note) == (0.1, "shorter")
    assert (read.rules.by_stage, read.rules.resaw_kerf, read.rules.run_out) == (True, 2.0, 12.0)


@pytest.mark.parametrize(("key", "value"), [("state", "broken"), ("leaves", 0)])
def test_a_bad_state_or_number_of_leaves_is_named(tmp_path: Path, key: str, value: object) -> None:
    assert key in told(tmp_path, PARTS, changed(BOARDS, key, value))[0]
