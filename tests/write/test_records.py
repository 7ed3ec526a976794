"""JSON files: what goes in comes back bit for bit, and what may never stand in them does not."""

from __future__ import annotations

import json
import math
from dataclasses import fields, is_dataclass
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from strakewright.errors import Finding, at_most
from strakewright.geometry.surface import Patch
from strakewright.hull import Border, Hull, Panel
from strakewright.lumber import Board, Defect, Rules
from strakewright.parts import Choice, Fit, Margin, Mark, Option, Part, Plank
from strakewright.plan import Placement, Plan
from strakewright.write import records as rc

numbers = st.floats(-1e5, 1e5, allow_nan=False)
cut = st.integers(-(10**8), 10**8).map(lambda n: round(n / 1000, 3))  # what stands in an outline: 0.001 mm
ids = st.from_regex(r"[A-Za-z0-9_.-]{1,40}", fullmatch=True)


def rings(of: st.SearchStrategy[float]) -> st.SearchStrategy[np.ndarray[Any, Any]]:
    return st.lists(st.tuples(of, of), min_size=3, max_size=9).map(lambda rows: np.array(rows, dtype=float))


marks = st.builds(Mark, st.sampled_from(["frame", "trim", "screw"]), st.text(max_size=8), rings(cut))
parts = st.builds(
    Part,
    ids,
    rings(cut),
    thickness=st.floats(1, 200),
    species=st.text(max_size=9),
    may_flip=st.booleans(),
    marks=st.lists(marks, max_size=3).map(tuple),
    mate=st.none() | ids,
    max_skew_deg=st.none() | st.floats(0, 90),
    quality=st.none() | st.just("show"),
    stage=st.none() | st.integers(0, 9),
)
boards = st.builds(
    Board,
    ids,
    rings(numbers),
    thickness=st.floats(1, 200),
    species=st.text(max_size=9),
    defects=st.lists(st.builds(Defect, st.text(max_size=5), rings(numbers)), max_size=2).map(tuple),
    price=st.none() | st.floats(0, 1e4),
    rough_thickness=st.none() | st.floats(1, 200),
    leaves=st.integers(1, 4),
)
placements = st.builds(
    Placement, ids, ids, numbers, numbers, st.floats(0, 360), st.booleans(), st.none() | st.integers(1, 4)
)
plans = st.builds(
    Plan,
    st.lists(placements, max_size=3).map(tuple),
    st.lists(ids, max_size=3).map(tuple),
    st.integers(0, 99),
    *[st.floats(0, 1)] * 4,
    st.none() | st.floats(0, 99),
    st.none() | st.floats(0, 1),
    st.integers(0, 2**31),
    st.integers(0, 999),
    st.dictionaries(ids, st.integers(0, 9), max_size=2),
    st.dictionaries(ids, st.text(max_size=9), max_size=2),
)


def through_json(content: dict[str, Any]) -> Any:
    return json.loads(rc.json_text(content), parse_constant=lambda word: pytest.fail(f"{word} in a JSON file"))


def same_bits(a: object, b: object) -> bool:
    if isinstance(a, np.ndarray):
        return isinstance(b, np.ndarray) and a.shape == b.shape and (a + 0.0).tobytes() == (b + 0.0).tobytes()
    if isinstance(a, tuple) and isinstance(b, tuple):
        return len(a) == len(b) and all(same_bits(x, y) for x, y in zip(a, b, strict=True))
    if is_dataclass(a):
        return type(a) is type(b) and all(same_bits(getattr(a, f.name), getattr(b, f.name)) for f in fields(a))
    return a == b


@settings(max_examples=60, deadline=None)
@given(st.lists(parts, max_size=3))
def test_parts_come_back_bit_for_bit(made: list[Part]) -> None:
    read = through_json(rc.parts_document(made, Rules()))
    assert all(same_bits(a, rc.part_from(b)) for a, b in zip(made, read["parts"], strict=True))


@settings(max_examples=60, deadline=None)
@given(st.lists(boards, max_size=3))
def test_boards_come_back_bit_for_bit(made: list[Board]) -> None:
    read = through_json(rc.boards_document(made))
    assert all(same_bits(a, rc.board_from(b)) for a, b in zip(made, read["boards"], strict=True))


@settings(max_examples=60, deadline=None)
@given(plans)
def test_plans_come_back_bit_for_bit(made: Plan) -> None:
    read = rc.plan_from(through_json(rc.plan_document(made)))
    assert same_bits(made, read)


@given(st.builds(Rules, *[st.floats(0, 200)] * 5, st.sampled_from(["net", "price"]), st.none() | st.floats(1, 90)))
def test_rules_come_back(made: Rules) -> None:
    assert rc.rules_from(through_json(rc.parts_document([], made))["rules"] | {"unheard_of": 1}) == made


def test_every_file_begins_with_its_format_and_units(tmp_path: Path) -> None:
    choice = Choice("S03P", (Option(("S03aP", "S03bP"), 0.02, "joint in bay 3"),))
    rc.write_json(tmp_path / "parts.json", rc.parts_document([], Rules(), [choice]))
    read = json.loads((tmp_path / "parts.json").read_text(encoding="utf-8"))
    assert list(read)[:2] == ["format", "units"]
    assert read["format"] == "strakewright/parts@1"
    assert read["units"] == "mm"
    assert read["choices"] == [
        {"id": "S03P", "options": [{"parts": ["S03aP", "S03bP"], "cost": 0.02, "note": "joint in bay 3"}]}
    ]


def test_choices_come_back() -> None:
    choice = Choice("S03P", (Option(("S03P",)), Option(("S03aP", "S03bP"), 0.02, "joint in bay 3")))
    assert rc.choice_from(rc.choice_record(choice)) == choice
    assert rc.choice_from({"id": "A", "options": [{"parts": ["A"]}]}) == Choice("A", (Option(("A",)),))


def test_a_rule_that_is_not_asked_for_is_left_out() -> None:
    assert "run_out" not in rc.rules_record(Rules())
    assert rc.rules_record(Rules(run_out=12.0))["run_out"] == 12.0


def plank(**changes: Any) -> Plank:
    ring = np.array([[0.0, 0], [100.123456789, 0], [100, 90], [0, 90]])
    seam = np.array([[0.0, 1, 2], [100, 1, -0.0]])
    flat = ring[:2]
    first = Margin("seam", "P2.1", None, seam, flat, flat, np.deg2rad([10.0, -7.5]))
    second = Margin("sheer", None, "sheer", seam, flat, flat + 1.0, np.zeros(2))
    end = Margin("stem", None, "stem", seam, flat, flat, np.zeros(2), tail=60.0)
    fit = Fit(None, 1e-4, math.inf, 3.3e-5, 1e-3, 0.2, "easy", "")
    held: dict[str, Any] = {"id": "P1.1", "side": "port", "panel": "side", "layer": 1, "course": 1, "piece": 1}
    held |= {"mate": None, "thickness": 19.0, "cut_thickness": 20.0, "species": "white ash"}
    held |= dict.fromkeys(("net_outline", "fitted_outline", "face_inside", "face_outside", "outline"), ring)
    held |= {"face_up": "inside", "cut": "spiled", "first": first, "second": second, "ends": (end,), "marks": ()}
    held |= {"fit": fit} | changes
    return Plank(**held)


def test_plank_as_the_contract_names_it() -> None:
    record = through_json(rc.planks_document([plank(extra={"taper": 2.0})]))["planks"][0]
    contract = (
        "id side panel layer course piece mate thickness net_outline face_inside face_outside outline face_up cut"
    )
    assert set(contract.split()) | {"edges", "ends", "marks", "fit", "cut_thickness"} <= set(record)
    assert set(record["edges"]) == {"first", "second"}
    assert record["edges"]["first"]["bevel_deg"] == [10.0, -7.5]
    assert "fitted" not in record["edges"]["first"]
    assert record["edges"]["second"]["fitted"] == [[1.0, 1.0], [101.123457, 1.0]]
    assert record["edges"]["second"]["border"] == "sheer"
    assert {"meets", "with", "seam", "flat", "bevel_deg", "tail"} <= set(record["ends"][0])
    assert record["net_outline"][1] == [100.123457, 0.0]
    assert record["taper"] == 2.0


def test_fit_has_degrees_to_the_metre_and_null_for_what_has_no_meaning() -> None:
    fit = rc.plank_record(plank())["fit"]
    assert fit["twist_max_deg_per_m"] == pytest.approx(math.degrees(0.1))  # 1e-4 rad/mm = 0.1 rad/m
    assert fit["bend_radius_min"] is None
    assert fit["edge_set"] is None
    assert fit["strain_max"] == 3.3e-5
    assert {"hollow", "verdict", "reason", "strain_total"} <= set(fit)


def test_extra_keys_may_not_hide_a_planks_own() -> None:
    with pytest.raises(ValueError, match="outline"):
        rc.plank_record(plank(extra={"outline": []}))


def test_panels_can_be_started_again() -> None:
    knots = np.array([0.0] * 6 + [1.0] * 6)
    patch = Patch(knots, knots, np.arange(108.0).reshape(6, 6, 3))
    line = Border("keel", np.array([[0.0, 0], [1, 0]]), True)
    hull = Hull("x", (Panel("side", patch, line, line, None, line, 0.01),), "outside", 1.0, (), {"length": 1.0})
    panel = through_json(rc.panels_document(hull))["panels"][0]
    assert np.array_equal(panel["patch"]["control_points"], patch.coefs)
    assert panel["patch"]["knots_p"] == knots.tolist()
    assert panel["edges"]["lower"]["chart"] == [[0, 0], [1, 0]]
    assert panel["edges"]["aft"] is None


def test_summary_and_times() -> None:
    checks = [at_most("girth", math.nan, 0.1, "mm")]
    findings = [Finding("plank-refused", "blocking", "P1.1", "too tight", "steam it")]
    summary = through_json(rc.summary_document(checks, findings, {"hull": {"length": np.float64(5.0)}}))
    assert summary["hull"] == {"length": 5.0}
    assert summary["checks"] == [{"name": "girth", "value": None, "limit": 0.1, "unit": "mm", "holds": False}]
    assert summary["findings"][0]["code"] == "plank-refused"
    assert "seconds" not in summary
    assert through_json(rc.times_document({"read": 0.123456}))["seconds"] == {"read": 0.1235}
    assert through_json(rc.lining_document({"seams": np.zeros(2)}))["seams"] == [0, 0]


def test_what_is_no_number_or_word_is_refused() -> None:
    with pytest.raises(TypeError, match="complex"):
        rc.plain({"a": 1j})
    assert rc.plain([np.array(3), np.array([1, 2]), Path("a/b"), -0.0]) == [3, [1, 2], "a/b", 0.0]
