"""What stands on a sheet: everything a person needs, inside the wood where it belongs, off the cut lines."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import shapely

from strakewright.lumber import Board, Rules
from strakewright.parts import Fit, Margin, Part, Plank
from strakewright.plan import Placement, Plan
from strakewright.write.labels import Label, Room, labels_of
from strakewright.write.overview import draw_overview, write_overview
from strakewright.write.pen import RecordingPen, Role, Stroke, text_box
from strakewright.write.sheets import Title, draw_part, draw_sheet, sheets_of, tape_checks
from tests.write.rack import BOARD, LABELS, PARTS, PLAN, diagonal, strake

RULES = Rules(spacing=10.0)


def drawn(labels: dict[str, Label] = LABELS) -> list[Stroke]:
    pen = RecordingPen()
    draw_sheet(pen, sheets_of(PLAN, PARTS, [BOARD])[0], Title("Teasel", "r2"), RULES, labels)
    return pen.strokes


def words(strokes: list[Stroke]) -> str:
    return "\n".join(s.words for s in strokes if s.kind == "text")


def one_part(part: Part, label: Label) -> list[Stroke]:
    pen = RecordingPen()
    draw_part(pen, part, label)
    return pen.strokes


def test_sheet_says_what_the_shop_must_know() -> None:
    said = words(drawn())
    for needed in (
        "Teasel",
        "BOARD B07",
        "sheet 1 of 1",
        "rev r2",
        "JOINTED EDGE  y = 0",
        "BUTT  x = 0",
        "100 mm",
        "INSIDE UP",
        "OUTSIDE UP",
        "FWD",
        "PORT",
        "TRIM",
        "F1",
        "CAUTION",
        "dust",
        "cutter of 8 mm or less",
        "knot",
        "4400 mm (14' 5 7/32\")",
    ):
        assert needed in said


def test_notes_and_check_square_stay_off_the_wood() -> None:
    for stroke in drawn():
        if stroke.role is Role.CHECK and (stroke.size >= 14 or len(stroke.points) == 4):
            assert stroke.points[:, 1].max() < -40


@pytest.mark.parametrize("part", PARTS)
def test_words_stay_on_the_part_and_clear_of_each_other(part: Part) -> None:
    strokes = one_part(part, LABELS[part.id])
    wood = shapely.Polygon(part.outline)
    boxes = [
        shapely.Polygon(text_box(s.points[0], s.words, s.size, s.turn, s.anchor)).buffer(-0.2)
        for s in strokes
        if s.kind == "text"
    ]
    assert part.id in words(strokes)
    assert all(wood.contains(box) for box in boxes)
    assert not any(a.intersects(b) for i, a in enumerate(boxes) for b in boxes[:i])


def test_ids_are_ten_mm_high_where_the_wood_has_room() -> None:
    for part in PARTS:
        size = next(s.size for s in one_part(part, LABELS[part.id]) if s.words == part.id)
        assert size >= 10
    slip = Part("S-1-2-3", np.array([[0.0, 0], [70, 0], [70, 9], [0, 9]]), 10.0, "ash")
    assert next(s.size for s in one_part(slip, Label(forward=None)) if s.words == "S-1-2-3") < 10


def test_outside_up_leaves_scribed_marks_off_in_large_letters() -> None:
    strokes = one_part(strake(), Label("PORT", "outside"))
    assert not [s for s in strokes if s.role in (Role.SCRIBE, Role.DRILL)]
    face = next(s for s in strokes if "OUTSIDE UP" in s.words)
    assert face.size >= 10


def test_marks_are_clipped_to_the_wood() -> None:
    part = strake()
    scribed = [s for s in one_part(part, LABELS[part.id]) if s.role is Role.SCRIBE]
    assert len(scribed) == len(part.marks)
    wood = shapely.Polygon(part.outline).buffer(1e-6)
    assert all(wood.contains(shapely.LineString(s.points)) for s in scribed)


def test_screws_are_drilled_and_single_points_crossed() -> None:
    strokes = one_part(diagonal(), LABELS["B1-12P"])
    assert [s.points[0].tolist() for s in strokes if s.role is Role.DRILL] == [[500, 30], [560, 60]]
    crossing = [s for s in strokes if s.role is Role.SCRIBE and np.allclose(s.points.mean(axis=0), [700, 50])]
    assert len(crossing) == 2


def test_joint_with_a_face_is_hatched() -> None:
    part = strake()
    face = replace(
        part.marks[0], kind="joint", name="scarf inside", points=np.array([[0.0, 0], [76, 15], [70, 100], [0, 90]])
    )
    strokes = one_part(replace(part, marks=(face,)), LABELS[part.id])
    assert [s.role for s in strokes if s.kind == "area"] == [Role.LABEL]
    assert "SCARF INSIDE" in words(strokes)


@pytest.mark.parametrize("way", [(1.0, 0.0), (-1.0, 0.0), (0.7, -0.7), (0.0, 1.0), (-0.6, 0.8)])
def test_arrow_points_to_the_bow(way: tuple[float, float]) -> None:
    part = Part("A", np.array([[0.0, 0], [900, 0], [900, 120], [0, 120]]), 10.0, "ash")
    lines = [
        s.points for s in one_part(part, Label("PORT", "inside", way)) if s.kind == "polyline" and len(s.points) == 2
    ]
    run = lines[0][1] - lines[0][0]
    assert run / np.hypot(*run) == pytest.approx(np.array(way) / np.hypot(*way), abs=1e-6)


def test_tape_checks_join_corners_of_the_parts() -> None:
    sheet = sheets_of(Plan((Placement("R", "B07", 10, 20),), (), 1, 1, 1, 1, 1, None, None, 0, 0), [RECT], [BOARD])[0]
    checks = {c.name: c.distance for c in tape_checks(sheet)}
    assert checks["A to C"] == pytest.approx(500.0)  # 3-4-5: 300 x 400
    assert checks["B to D"] == pytest.approx(500.0)
    assert checks["butt x = 0 square to C"] == 410.0


RECT = Part("R", np.array([[0.0, 0], [400, 0], [400, 300], [0, 300]]), 10.0, "ash")


def test_one_sheet_per_board_and_leaf_in_rack_order() -> None:
    boards = [Board(name, BOARD.outline, 20.0, "ash", leaves=2) for name in ("Z", "A")]
    lying = [("R1", "A", 2), ("R2", "A", 1), ("R3", "Z", 1), ("R4", "A", 1)]
    parts = [replace(RECT, id=name) for name, _, _ in lying]
    placements = tuple(Placement(p, b, 500.0 if p == "R2" else 0.0, 0.0, leaf=n) for p, b, n in lying)
    sheets = sheets_of(Plan(placements, (), 2, 1, 1, 1, 1, None, None, 0, 0), parts, boards)
    assert [s.name for s in sheets] == ["Z+leaf1", "A+leaf1", "A+leaf2"]
    assert [p.id for p, _ in sheets[1].laid] == ["R4", "R2"]
    assert [(s.number, s.count) for s in sheets] == [(1, 3), (2, 3), (3, 3)]


def plank(side: str, face_up: str, forward: tuple[float, float]) -> Plank:
    """A flat plank whose space x grows along `forward` of its own axes."""
    flat = np.array([[0.0, 0], [500, 0], [500, 80], [0, 80]])
    x = flat @ np.array(forward)
    seam = np.column_stack([x, np.zeros(4), np.zeros(4)])

    def rim(a: int, b: int) -> Margin:
        return Margin("seam", None, None, seam[[a, b]], flat[[a, b]], flat[[a, b]], np.zeros(2))

    rings = (flat, flat, flat, flat, flat)
    fit = Fit(None, 0.0, 0.0, 0.0, 0.0, 0.0, "easy", "")
    head = (f"{side}-{face_up}", side, "side", 1, 3, 1, None, 19.0, 20.0, "ash")
    return Plank(*head, *rings, face_up, "spiled", rim(0, 1), rim(3, 2), (rim(1, 2),), (), fit)  # type: ignore[arg-type]


def test_forward_is_mirrored_with_outside_up_planks_and_snapped_to_the_grain() -> None:
    skewed = plank("port", "inside", (0.995, 0.0999))
    both = labels_of([skewed, plank("starboard", "outside", (0.6, 0.8))])
    assert both["port-inside"] == Label("PORT", "inside", (1.0, 0.0), "side course 3")
    assert both["starboard-outside"].forward == pytest.approx((0.6, -0.8))
    assert both["starboard-outside"].side == "STBD"


def test_overview_shows_every_board_and_part(tmp_path: Path) -> None:
    write_overview(tmp_path / "boards.svg", sheets_of(PLAN, PARTS, [BOARD]), "Teasel")
    assert (tmp_path / "boards.svg").read_text().count(">P3.1</text>") == 1
    write_overview(tmp_path / "none.svg", (), "Teasel")
    pen = RecordingPen()
    draw_overview(pen, sheets_of(PLAN, PARTS, [BOARD]))
    said = words(pen.strokes)
    assert "B07" in said
    assert all(part.id in said for part in PARTS)
    assert len([s for s in pen.strokes if s.role is Role.CUT_OUTSIDE]) == len(PARTS)


def test_room_gives_the_nearest_free_place_once() -> None:
    room = Room(RECT.outline)
    first = room.spot("AAAA", (20.0,), 200.0)
    second = room.spot("AAAA", (20.0,), 200.0)
    assert first is not None
    assert second is not None
    assert abs(first.at[0] - 200) < 10
    assert abs(second.at[0] - first.at[0]) >= 4 * 0.9 * 20
    assert room.spot("A" * 40, (20.0,), 200.0) is None
