"""The lines drawing and the corrected table: what they show is what was lofted."""

from __future__ import annotations

import re
from pathlib import Path

import numpy as np
import pytest

from strakewright.hull import Hull
from strakewright.read.offsets import read_offsets
from strakewright.write.linesplan import draw_lines, draw_sections, lines_height, lines_width, write_lines
from strakewright.write.offsetrecords import NOTE, offsets_document, write_tables
from strakewright.write.pen import RecordingPen, Role, text_box
from tests.loft.test_tabled import BARGE, fair_chine, lofted


@pytest.fixture(scope="module")
def hull() -> Hull:
    return lofted(fair_chine(1.0, 3.0), BARGE)


def test_the_corrected_table_reads_back_as_the_faired_cells(hull: Hull, tmp_path: Path) -> None:
    assert hull.lines is not None
    write_tables(tmp_path, hull.lines)
    moves = {(m.row, m.station): m for m in hull.lines.moves}
    for name, step in (("ft-in-8ths", 25.4 / 16), ("mm", 0.1)):
        table = read_offsets(tmp_path / f"offsets-corrected-{name}.csv", "mm")
        told = [(m.faired, c.mm) for r, s, c in table.cells() for m in [moves.get((r.name, s))] if m is not None]
        assert len(told) == len(moves)
        assert max(abs(a - b) for a, b in told) <= step / 2 + 1e-9
        assert NOTE in (tmp_path / f"offsets-corrected-{name}.csv").read_text(encoding="utf-8")


def test_the_drawing_shows_stations_and_moves(hull: Hull, tmp_path: Path) -> None:
    assert hull.lines is not None
    write_lines(tmp_path, hull, hull.lines, "12ab34cd")
    svg = (tmp_path / "lines.svg").read_text(encoding="utf-8")
    marked = [m for m in hull.lines.moves if abs(m.by) >= 0.5]
    assert svg.count("<circle") == len(marked)
    for name, _ in hull.lines.stations:
        assert re.search(rf">{name}</text>", svg)
    assert "better than 1 to 3 mm" in svg


def test_profile_and_half_breadths_are_to_scale(hull: Hull) -> None:
    """The longest full line of the drawing is the boat's length at the scale that the width gives."""
    assert hull.lines is not None
    pen = RecordingPen()
    draw_lines(pen, hull, hull.lines, 300.0)
    full = [s.points for s in pen.strokes if s.role is Role.CUT_OUTSIDE and s.kind == "polyline"]
    assert max(np.ptp(p[:, 0]) for p in full) == pytest.approx(300.0 - 20.0, abs=0.01)
    every = np.concatenate([s.points for s in pen.strokes])
    assert every[:, 1].min() > -1.0
    assert every[:, 1].max() < lines_height(hull, 300.0) + 1.0


def test_offsets_json_lists_every_move(hull: Hull) -> None:
    assert hull.lines is not None
    record = offsets_document(hull.lines)
    assert record["format"] == "strakewright/offsets@1"
    assert len(record["moves"]) == sum(len(r["cells"]) for r in record["rows"] if "position" not in r["row"])


def test_the_book_has_the_lines_on_pages_that_hold_them(hull: Hull) -> None:
    """No picture runs off its page: 145 mm are left on a lying A4 under title, caption and foot (page geometry)."""
    assert hull.lines is not None
    for width in (246.0, 100.0):
        held = lines_width(hull, width, 60.0)
        assert lines_height(hull, held) <= 60.0 + 1e-9 or held == width
    pen = RecordingPen()
    draw_sections(pen, hull, hull.lines, 246.0, 145.0)
    drawn = np.concatenate(
        [text_box(s.points[0], s.words, s.size, s.turn, s.anchor) if s.words else s.points for s in pen.strokes]
    )
    assert drawn[:, 1].min() > -0.1
    assert drawn[:, 1].max() < 145.1
    assert drawn[:, 0].min() > 0.0
    assert drawn[:, 0].max() < 246.0
    names = [s for s in pen.strokes if s.words in dict(hull.lines.stations)]
    assert min(s.size for s in names) >= 3.4
    spots = sorted(float(s.points[0, 0]) for s in names)
    assert np.diff(spots).min() > 3.4  # names stand side by side
