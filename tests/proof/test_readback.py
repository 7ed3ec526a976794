"""A sound sheet passes; every way of spoiling one is caught."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from ezdxf.filemanagement import new, readfile

from strakewright.lumber import Board, Rules
from strakewright.parts import Part
from strakewright.plan import Placement, Plan
from strakewright.proof.dxfback import read_drawing
from strakewright.proof.readback import area_off, read_back, read_sheet, ring_off
from strakewright.write.sheets import Title, sheets_of, write_sheets

RING = np.array([[0.0, 0], [600, 20], [1200, 0], [1190, 95], [600, 116], [5, 96]])
PARTS = tuple(Part(name, RING + shift, 19.0, "ash") for name, shift in (("P1", 0.0), ("P2", 3.3), ("S1", 0.0)))
BOARDS = tuple(Board(name, np.array([[0.0, 0], [3000, 0], [3000, 260], [0, 260]]), 19.0, "ash") for name in "AB")
PLAN = Plan(
    (
        Placement("P1", "A", 10.0, 12.0, 1.3),
        Placement("P2", "A", 2700.0, 240.0, 179.0),
        Placement("S1", "B", 50.0, 150.0, 0.0, flip=True),
    ),
    *((), 2, 1.0, 1.0, 0.5, 0.5, None, None, 0, 0),
)
Keys = dict[tuple[str, int | None], Path]


@pytest.fixture
def sheets(tmp_path: Path) -> Keys:
    written = write_sheets(tmp_path, sheets_of(PLAN, PARTS, BOARDS), Title("x"), Rules(), {})
    return {(name, None): path for name, path in written.items()}


def codes(sheets: Keys, plan: Plan = PLAN) -> list[str]:
    checks, findings = read_back(sheets, PARTS, plan)
    assert all(check.holds for check in checks) == (not findings)
    assert all(finding.level == "blocking" for finding in findings)
    return sorted(finding.code for finding in findings)


def test_sound_sheets_pass(sheets: Keys) -> None:
    checks, findings = read_back(sheets, PARTS, PLAN)
    assert not findings
    assert all(check.holds for check in checks)
    assert 0 < checks[0].value < 0.001  # rounding to 0.001 mm moves a point by 0.0007 at most


def spoil(path: Path, change: Callable[[Any, Any], None]) -> None:
    """Change the first cut line of a file."""
    document = readfile(path)
    change(document, document.modelspace().query("LWPOLYLINE[layer=='CUT_OUTSIDE']")[0])
    document.saveas(path)


def move_point(by: float) -> Callable[[Any, Any], None]:
    def change(_: Any, line: Any) -> None:
        x, y = line[2][:2]
        line[2] = (x + by, y, 0, 0, 0)

    return change


def turn_round(_: Any, line: Any) -> None:
    line.set_points(list(line.get_points())[::-1])


def drop_point(_: Any, line: Any) -> None:
    del line[4]


def open_up(_: Any, line: Any) -> None:
    line.closed = False


def bulge(_: Any, line: Any) -> None:
    line[1] = (*line[1][:4], 0.1)


def add_circle(document: Any, _: Any) -> None:
    document.modelspace().add_circle((9, 9), 3, dxfattribs={"layer": "CUT_OUTSIDE"})


def in_inches(document: Any, _: Any) -> None:
    document.header["$INSUNITS"] = 1


def shrink_square(document: Any, _: Any) -> None:
    for line in document.modelspace().query("LWPOLYLINE[layer=='CHECK']"):
        if len(line) == 4:
            line[2] = (line[2][0] - 0.4, line[2][1], 0, 0, 0)


SPOILED = [
    (move_point(0.003), "sheet-differs"),
    (turn_round, "sheet-differs"),
    (drop_point, "sheet-differs"),
    (open_up, "sheet-unsound"),
    (bulge, "sheet-unsound"),
    (add_circle, "sheet-unsound"),
    (in_inches, "sheet-unsound"),
    (shrink_square, "sheet-unsound"),
    (lambda _, line: line.destroy(), "sheet-part-missing"),
    (lambda doc, line: doc.modelspace().add_entity(line.copy()), "sheet-extra-cut"),
]


@pytest.mark.parametrize(("change", "code"), SPOILED)
def test_spoiled_sheet_is_caught(sheets: Keys, change: Callable[[Any, Any], None], code: str) -> None:
    spoil(sheets["A", None], change)
    assert code in codes(sheets)


def test_moves_below_the_limit_pass(sheets: Keys) -> None:
    spoil(sheets["A", None], move_point(0.001))
    assert codes(sheets) == []


def test_truncated_missing_and_foreign_files_are_caught(sheets: Keys) -> None:
    path = sheets["A", None]
    path.write_bytes(path.read_bytes()[: path.stat().st_size // 2])
    assert "sheet-unsound" in codes(sheets)
    path.write_text("not a drawing")
    assert codes(sheets) == ["sheet-part-missing", "sheet-part-missing", "sheet-unsound"]
    path.unlink()
    assert "sheet-unsound" in codes(sheets)
    assert "sheet-part-missing" in codes({key: p for key, p in sheets.items() if key[0] == "B"})


def test_sheet_drawn_from_another_plan_is_caught(sheets: Keys) -> None:
    moved = replace(PLAN, placements=(replace(PLAN.placements[0], x=10.01), *PLAN.placements[1:]))
    assert codes(sheets, moved) == ["sheet-differs"]
    swapped = replace(PLAN, placements=(replace(PLAN.placements[0], board="B"), *PLAN.placements[1:]))
    assert codes(sheets, swapped) == ["sheet-extra-cut", "sheet-part-missing"]


def test_measures_against_closed_forms() -> None:
    square = np.array([[0.0, 0], [10, 0], [10, 10], [0, 10]])
    cut = np.array([[0.0, 0], [10, 0], [10, 10]])
    assert ring_off(square, cut) == pytest.approx(10 / np.sqrt(2))
    assert ring_off(square, np.roll(square, 1, axis=0)) == 0
    assert area_off(square, square * [1, 1.001]) == pytest.approx(0.1 / 0.04)  # 0.1 mm2 of 0.001 x 40
    big = square * 1e3
    assert area_off(big, big * [1, 1 + 2e-6]) == pytest.approx(2.0, rel=1e-3)  # 2 ppm, one is allowed


def test_what_is_read_is_what_was_drawn(sheets: Keys) -> None:
    lines = read_sheet(sheets["B", None])
    assert lines.faults == ()
    assert len(lines.cuts) == 1
    assert len(lines.cuts[0]) == len(RING)


def test_the_reader_agrees_with_a_general_library(sheets: Keys) -> None:
    ours = read_drawing(sheets["A", None])
    theirs = [e for e in readfile(sheets["A", None]).modelspace() if e.dxftype() == "LWPOLYLINE"]
    assert len(ours.lines) == len(theirs)
    for line, entity in zip(ours.lines, theirs, strict=True):
        assert (line.layer, line.closed) == (entity.dxf.layer, entity.is_closed)  # type: ignore[attr-defined]
        assert np.array_equal(line.points, np.array(list(entity.get_points("xy"))))  # type: ignore[attr-defined]


def test_arcs_are_read_as_what_they_are(tmp_path: Path) -> None:
    document = new("R2000")
    document.layers.add("CUT_OUTSIDE")
    rows = [(-50.0, 0.0, 1.0), (50.0, 0.0, 1.0)]  # two half circles of 50 mm, counter-clockwise
    document.modelspace().add_lwpolyline(rows, format="xyb", close=True, dxfattribs={"layer": "CUT_OUTSIDE"})
    document.saveas(tmp_path / "round.dxf")
    (line,) = read_drawing(tmp_path / "round.dxf").lines
    assert np.abs(np.hypot(*line.flat().T) - 50.0).max() < 1e-9
    x, y = line.flat().T
    assert (x @ np.roll(y, -1) - np.roll(x, -1) @ y) / 2 == pytest.approx(np.pi * 2500, rel=1e-4)


@pytest.mark.parametrize(
    ("before", "after", "told"),
    [
        ("\nCUT_OUTSIDE\n100\nAcDbPolyline", "\nCUT_INSIDES\n100\nAcDbPolyline", "layer CUT_INSIDES"),
        ("  5\n3C\n", "  5\n3B\n", "handle twice"),
        (" 90\n6\n", " 90\n7\n", "as many corners"),
        ("  0\nENDSEC\n  0\nEOF", "  0\nEOF", "cannot be read"),
        ("  0\nSECTION\n  2\nENTITIES", "  0\nSECTION\n  2\nENTITLES", "cannot be read"),
    ],
)
def test_unsound_files_are_told(sheets: Keys, before: str, after: str, told: str) -> None:
    text = sheets["A", None].read_text("ascii")
    assert before in text
    sheets["A", None].write_text(text.replace(before, after, 1), "ascii")
    assert any(told in fault for fault in read_sheet(sheets["A", None]).faults)
