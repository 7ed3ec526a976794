"""Paper read back by pdfium and poppler: true sizes, true weights, equal bytes."""

from __future__ import annotations

import shutil
import subprocess
from itertools import pairwise
from pathlib import Path

import numpy as np
import pypdfium2
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from reportlab import rl_config

from strakewright.proof.paperback import read_pages
from strakewright.write.paper import CAPITAL, LONGEST, PaperFile, PaperPen, words_width
from strakewright.write.pen import Hatch, Pen, Role, Stroke
from strakewright.write.tiles import A4, write_all_tiles
from strakewright.write.windows import StrokePen, clipped, draw_in, drawing_of
from tests.write.pdfium import seen

ZIGZAG = np.array([[10.0, 10], [4321.123, 20.5], [4000.001, 333.333], [12.3456, 200]])


def drawn(path: Path, width: float = LONGEST, height: float = 914.4) -> Path:
    paper = PaperFile(path, "Håkon's boat")
    pen = paper.page(width, height)
    for role in Role:
        pen.polyline(ZIGZAG, closed=role is Role.CUT_OUTSIDE, role=role)
    pen.area(np.array([[0.0, 0], [50, 0], [50, 40], [0, 40]]), Hatch(), Role.DEFECT)
    pen.circle(np.array([100.0, 100]), 20.0, Role.DRILL)
    pen.text(np.array([500.0, 500]), "S01a – 3½ ø", height=10, turn=30, anchor="middle", role=Role.LABEL)
    paper.save()
    return path


def test_lines_come_back_at_their_places(tmp_path: Path) -> None:
    page = seen(drawn(tmp_path / "a.pdf"))[0]
    ring = next(line for line in page.lines if line.closed and len(line.points) == 4 and line.points[1, 0] > 4000)
    assert np.abs(ring.points - ZIGZAG).max() < 0.02
    assert sum(len(line.points) == 4 and not line.closed for line in page.lines) == len(Role) - 1


def test_no_line_is_too_thin_for_a_shop_printer(tmp_path: Path) -> None:
    weights = [line.weight for line in seen(drawn(tmp_path / "a.pdf"))[0].lines]
    assert min(weights) >= 0.35 - 1e-4  # the job's own rule: no line under 0.35 mm
    assert max(weights) <= 0.6


@pytest.mark.parametrize("size", [(LONGEST, 914.4), (297.0, 210.0), (279.4, 215.9)])
def test_poppler_and_pdfium_agree_on_the_page(tmp_path: Path, size: tuple[float, float]) -> None:
    path = drawn(tmp_path / "a.pdf", *size)
    assert seen(path)[0].size == pytest.approx(size, abs=0.01)
    assert b"UserUnit" not in path.read_bytes()
    if shutil.which("pdfinfo"):
        said = subprocess.run(["pdfinfo", path], capture_output=True, text=True, check=True).stdout
        words = next(line for line in said.splitlines() if line.startswith("Page size")).split()
        assert (float(words[2]) * 25.4 / 72, float(words[4]) * 25.4 / 72) == pytest.approx(size, abs=0.2)


def test_words_have_the_height_they_say(tmp_path: Path) -> None:
    said = seen(drawn(tmp_path / "a.pdf"))[0].words[0]
    assert said.size * CAPITAL == pytest.approx(10.0, abs=0.02)
    assert said.words == "S01a – 3½ ø"
    # advance widths of the standard face, from its published metrics (from memory): digits 556/1000
    assert words_width("00", 0.718) == pytest.approx(2 * 0.556, abs=1e-6)


def test_equal_drawings_give_equal_bytes_and_leave_the_writer_as_it_was(tmp_path: Path) -> None:
    before = rl_config.useA85
    assert drawn(tmp_path / "a.pdf").read_bytes() == drawn(tmp_path / "b.pdf").read_bytes()
    assert rl_config.useA85 == before
    assert b"ASCII85" not in (tmp_path / "a.pdf").read_bytes()


def test_pages_past_the_format_are_refused(tmp_path: Path) -> None:
    with pytest.raises(ValueError, match="cannot be a PDF page"):
        PaperFile(tmp_path / "a.pdf", "x").page(LONGEST + 1, 100)


def test_scale_moves_lines_and_not_their_weight(tmp_path: Path) -> None:
    paper = PaperFile(tmp_path / "a.pdf", "x")
    pen = PaperPen(paper.page(200, 100).canvas, (10.0, 5.0), (0.5, 0.25))
    pen.polyline(np.array([[0.0, 0], [100, 40]]), closed=False, role=Role.CHECK)
    paper.save()
    line = seen(tmp_path / "a.pdf")[0].lines[0]
    assert line.points.tolist() == pytest.approx(np.array([[10.0, 5], [60, 15]]), abs=1e-3)
    assert line.weight == pytest.approx(0.35, abs=1e-3)


def test_our_own_reader_sees_what_pdfium_sees(tmp_path: Path) -> None:
    path = drawn(tmp_path / "a.pdf")
    ours, theirs = read_pages(path)[0], seen(path)[0]
    assert (ours.width, ours.height) == pytest.approx(theirs.size, abs=1e-2)
    mine = sorted(float(np.abs(line).sum()) for line in (*ours.rings, *ours.lines))
    other = sorted(float(np.abs(line.points).sum()) for line in theirs.lines)
    assert mine == pytest.approx(other, abs=0.05)


# -- windows -----------------------------------------------------------------------------------------

POINT = st.tuples(st.integers(-20, 20), st.integers(-20, 20))


@given(st.lists(POINT, min_size=2, max_size=12))
def test_clipped_lines_are_as_long_as_shapely_says(points: list[tuple[int, int]]) -> None:
    line = np.array(points, dtype=float)
    low, high = np.array([-7.5, -3.5]), np.array([9.5, 6.5])
    pieces = clipped(line, low, high)
    inside = sum(
        shapely.intersection(shapely.LineString([a, b]), shapely.box(*low, *high)).length
        for a, b in pairwise(points)
        if a != b
    )
    assert sum(np.linalg.norm(np.diff(p, axis=0), axis=1).sum() for p in pieces) == pytest.approx(inside, abs=1e-6)
    for piece in pieces:
        assert np.all(piece >= low - 1e-9)
        assert np.all(piece <= high + 1e-9)


def shapes(pen: Pen) -> None:
    pen.circle(np.array([50.0, 50]), 30.0, Role.DRILL)
    pen.area(np.array([[0.0, 0], [100, 0], [100, 20], [0, 20]]), Hatch(90, 10), Role.DEFECT)
    pen.text(np.array([90.0, 50]), "KEEL", height=8, turn=0, anchor="left", role=Role.LABEL)


def test_windows_show_everything_between_them() -> None:
    keep = StrokePen()
    shapes(keep)
    drawing = drawing_of(keep.strokes)
    low, high = drawing.extent
    middle = np.array([50.0, high[1]])
    left, right = StrokePen(), StrokePen()
    draw_in(left, drawing, low, middle)
    draw_in(right, drawing, np.array([50.0, low[1]]), high)
    around = sum(
        float(np.linalg.norm(np.diff(s.points, axis=0), axis=1).sum())
        for s in (*left.strokes, *right.strokes)
        if s.kind == "polyline" and s.role is Role.DRILL
    )
    assert around == pytest.approx(2 * np.pi * 30, rel=1e-3)  # closed form: round a circle
    assert [s.words for s in right.strokes if s.kind == "text"] == ["KEEL"]
    assert not [s for s in left.strokes if s.kind == "text"]


def test_words_of_the_scale_page_stand_apart_and_on_the_sheet(tmp_path: Path) -> None:
    """As pdfium finds them; with as many notes as a boat's patterns have."""
    note = "Every pattern shows the PORT plank, INSIDE FACE UP. For STARBOARD turn the paper over and prick through."
    line = Stroke("polyline", Role.CHECK, np.array([[0.0, 0.0], [2900.0, 100.0]]))
    write_all_tiles(tmp_path / "t.pdf", [("S01aP", [line]), ("S02aP", [line])], "Proof", A4, [note] * 3)
    sheet = pypdfium2.PdfDocument(tmp_path / "t.pdf")[0]
    words = sheet.get_textpage()
    boxes = [shapely.box(*words.get_rect(n)) for n in range(words.count_rects())]
    assert len(boxes) >= 11
    for n, box in enumerate(boxes):
        assert box.bounds[2] < sheet.get_width() - 20.0
        assert not any(box.intersection(other).area > 1.0 for other in boxes[:n])
