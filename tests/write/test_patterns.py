"""Patterns, rolls, tiles and staffs: against closed forms, and read back by pdfium."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import shapely

from strakewright.arrays import Floats
from strakewright.parts import Mark, Part
from strakewright.proof.paperback import compare_patterns, read_pages
from strakewright.write.edges import low_and_high
from strakewright.write.girths import Staff, crossings, pair_stem, staff_of
from strakewright.write.labels import Label, labels_of
from strakewright.write.patterns import (
    BELOW,
    Block,
    Pattern,
    bevels_at,
    corners,
    ordinates,
    pattern_block,
    staff_block,
    tape_of,
)
from strakewright.write.pen import Pen, Role
from strakewright.write.roll import Roll, pages_of, places, roll_for, write_plots, write_roll
from strakewright.write.tiles import A3, A4, Sheet, tiles_of, write_tiles
from strakewright.write.windows import StrokePen, drawing_of
from tests.write.pdfium import Seen, seen
from tests.write.rack import arc_strake
from tests.write.small_boat import PLANKS, PORT_SIDE, SLANT, WIDE, part, strake

LONG, BROAD, CROOK, SKEW = 2800.0, 95.0, 70.0, 10.0
ARC = Part(
    "S07P",
    arc_strake(LONG, BROAD, CROOK, SKEW),
    20.0,
    "larch",
    marks=(Mark("frame", "F2", np.array([[1000.0, -50.0], [1080.0, 250.0]])),),
)


def pattern(shape: Part) -> Pattern:
    return Pattern(replace(PORT_SIDE[0], id=shape.id, mate=None), shape, Label("PORT"), "Proof rev 1")


def strakes() -> list[Block]:
    labels = labels_of(PLANKS)
    return [pattern_block(Pattern(p, part(p), labels[p.id], "Proof rev 1")) for p in PORT_SIDE]


# -- ordinates ---------------------------------------------------------------------------------------


def test_ordinates_are_the_parabolas_the_strake_was_made_of() -> None:
    rows = {o.name: o for o in ordinates(ARC)}
    for station in np.arange(300.0, 2700.0, 300.0):
        x = station - SKEW  # the aftmost point is the upper corner, SKEW aft of the lower one
        low = 4 * CROOK * (x / LONG) * (1 - x / LONG)
        high = 4 * CROOK * ((x + SKEW) / LONG) * (1 - (x + SKEW) / LONG) + BROAD
        row = rows[f"{station:.0f}"]
        assert row.low[1] - BELOW[1] == pytest.approx(low, abs=0.06)  # outlines are thinned to 0.05 mm
        assert row.high[1] - BELOW[1] == pytest.approx(high, abs=0.06)


def test_ordinates_stand_at_both_ends_of_a_frame_line() -> None:
    row = next(o for o in ordinates(ARC) if o.name == "F2")
    slope = 300.0 / 80.0  # of the mark as drawn
    assert row.high[1] - row.low[1] == pytest.approx(slope * (row.high[0] - row.low[0]), rel=1e-6)
    assert row.low[0] == pytest.approx(SKEW + 1000.0 + (row.low[1] - BELOW[1] + 50.0) / slope, abs=1e-6)


def test_bevels_stand_with_the_ordinates_of_the_edge_they_belong_to() -> None:
    plank = PORT_SIDE[2]  # the chine lies lower and runs evenly from 0 to -30 degrees over 3 000 mm
    rows = {o.name: bevels_at(o, plank, part(plank)) for o in ordinates(part(plank))}
    low, high = rows["2700"]
    assert float(low.rstrip("°")) == pytest.approx(-30.0 * (2700 - 25) / 3000, abs=0.251)
    assert high == "0°"
    # the mate's part is the same drawing turned over, its inside up: seen so, the chine lies higher
    over = next(p for p in PLANKS if p.id == "S02S")
    assert low_and_high(over)[1][0].border == "chine"
    assert bevels_at(ordinates(part(over))[0], over, part(over)) == ("–", "–")  # the tail lies past both edges


def test_tape_distances_are_those_of_the_corners() -> None:
    spots = corners(ARC)
    expected = {"A": (0.0, 0.0), "B": (LONG, 0.0), "C": (LONG - SKEW, BROAD), "D": (-SKEW, BROAD)}
    for letter, spot in expected.items():
        assert spots[letter] == pytest.approx(spot, abs=1e-3)
    far = {a + b: distance for a, b, distance in tape_of(ARC)}
    assert far["AC"] == pytest.approx(np.hypot(LONG - SKEW, BROAD), abs=1e-3)
    assert far["AB"] == pytest.approx(LONG, abs=1e-3)


# -- rolls -------------------------------------------------------------------------------------------


PLAIN = Roll()


def rolled(folder: Path, blocks: list[Block], roll: Roll = PLAIN) -> tuple[list[Seen], dict[str, tuple[int, Floats]]]:
    pages = pages_of([blocks], roll)
    write_roll(folder / "roll.pdf", pages, "Proof rev 1", roll, ["a note"])
    return seen(folder / "roll.pdf"), dict(places(pages))


def test_patterns_on_the_roll_are_the_lines_to_cut(tmp_path: Path) -> None:
    shapes = [*(part(p) for p in PORT_SIDE), ARC]
    pages, where = rolled(tmp_path, [*strakes(), pattern_block(pattern(ARC))])
    for shape in shapes:
        number, base = where[shape.id]
        wanted = shape.outline - shape.outline.min(axis=0) + BELOW + base
        rings = [line.points for line in pages[number].lines if line.closed and len(line.points) == len(wanted)]
        assert min(float(np.abs(ring - wanted).max()) for ring in rings) < 0.02


def test_every_page_carries_true_bars_and_the_scale_page_comes_first(tmp_path: Path) -> None:
    pages, _ = rolled(tmp_path, strakes())
    assert "full-size patterns" in pages[0].text
    assert "Page 1" in pages[0].text
    for page in pages:
        assert page.size[0] <= 5000.01
        assert page.size[1] == pytest.approx(914.4, abs=0.01)
        for long, upright in ((100.0, False), (100.0, True), (1000.0, False)):
            assert np.abs(page.bars(long, upright=upright) - long).min() <= 0.01


def test_a_pattern_says_which_way_it_lies_and_what_it_is(tmp_path: Path) -> None:
    pages, _ = rolled(tmp_path, strakes())
    for words in ("INSIDE UP: PORT as drawn, STBD turn over", "S01aP + S01aS", "Tape check: A-C", "rev 1", "FWD", "F1"):
        assert words in pages[1].text


def test_figures_on_patterns_can_be_read_at_arms_length(tmp_path: Path) -> None:
    pages, _ = rolled(tmp_path, strakes())
    assert min(s.size for s in pages[1].words) * 0.718 >= 5.0 - 0.01  # JOB: figures at least 5 mm high


def test_a_plank_longer_than_the_roll_is_split_with_butt_marks_and_overlap(tmp_path: Path) -> None:
    long = replace(ARC, outline=arc_strake(7300.0, 95.0, 60.0), marks=())
    pages, where = rolled(tmp_path, [pattern_block(pattern(long))])
    assert sorted(where) == ["S07P sheet 1 of 2", "S07P sheet 2 of 2"]
    pieces = []
    for name, (number, base) in where.items():
        shift = long.outline.min(axis=0) - BELOW - base
        found = [line.points + shift for line in pages[number].lines if len(line.points) > 20]
        pieces += [points for points in found if -20 < points[:, 1].mean() < 180]
        assert "BUTT MARK 1 of S07P" in pages[number].text, name
    ring = shapely.LinearRing(long.outline)
    assert max(shapely.distance(ring, shapely.points(np.concatenate(pieces)))) < 0.02
    covered = shapely.union_all([shapely.LineString(p).buffer(0.05) for p in pieces])
    assert shapely.covers(covered, ring)
    overlap = max(p[:, 0].max() for p in pieces if p[:, 0].min() < 0) - min(
        p[:, 0].min() for p in pieces if p[:, 0].max() > 7000
    )
    assert overlap == pytest.approx(100.0, abs=0.05)


def test_a_measured_printer_is_corrected(tmp_path: Path) -> None:
    pages, _ = rolled(tmp_path, strakes(), Roll(correction=(0.996, 1.002)))
    assert np.abs(pages[1].bars(99.6, upright=False) - 99.6).min() < 0.01
    assert np.abs(pages[1].bars(100.2, upright=True) - 100.2).min() < 0.01


def test_a_roll_too_narrow_says_so() -> None:
    with pytest.raises(ValueError, match="the roll takes"):
        pages_of([strakes()], Roll(width=120.0))
    tall = replace(ARC, outline=arc_strake(4000.0, 95.0, 900.0), marks=())
    roll = roll_for([pattern_block(pattern(tall))])
    sheets = [block.name for page in pages_of([[pattern_block(pattern(tall))]], roll) for block, _ in page.laid]
    assert [name.split(" sheet ")[1] for name in sheets] == ["1 of 2", "2 of 2"]  # bars at the left end leave 3.8 m
    assert roll_for(strakes()) == PLAIN


def test_equal_rolls_are_equal_bytes_and_plots_go_beside(tmp_path: Path) -> None:
    pages = pages_of([strakes()], Roll())
    for name in ("a", "b"):
        write_roll(tmp_path / f"{name}.pdf", pages, "Proof", Roll(), [])
    assert (tmp_path / "a.pdf").read_bytes() == (tmp_path / "b.pdf").read_bytes()
    write_plots(tmp_path, pages, "Proof")
    assert (tmp_path / "roll-1.plt").read_text().startswith("IN;")


# -- read back ---------------------------------------------------------------------------------------


def test_reading_back_holds_for_good_paper_and_fails_for_bad(tmp_path: Path) -> None:
    rolled(tmp_path, strakes())
    parts = [part(p) for p in PORT_SIDE]
    spots = corners(parts[0])
    tapes = {parts[0].id: [("A-C", spots["A"], spots["C"], tape_of(parts[0])[0][2])]}
    checks, faults = compare_patterns(read_pages(tmp_path / "roll.pdf"), parts, tapes)
    assert all(c.holds for c in checks)
    assert not faults
    assert [c.name for c in checks][-1] == "pattern S01aP, tape A-C"
    stretched = replace(parts[0], outline=parts[0].outline * [1.00002, 1.0])
    checks, faults = compare_patterns(read_pages(tmp_path / "roll.pdf"), [stretched], {})
    assert [f.code for f in faults] == ["pattern-differs"]
    assert not checks[0].holds
    wrong = {parts[0].id: [("A-C", spots["A"], spots["C"], 1784.0)]}
    assert not compare_patterns(read_pages(tmp_path / "roll.pdf"), parts, wrong)[0][-1].holds


def test_reading_back_misses_bars_that_are_not_there(tmp_path: Path) -> None:
    rolled(tmp_path, strakes(), Roll(correction=(1.001, 1.0)))
    checks, _ = compare_patterns(read_pages(tmp_path / "roll.pdf"), [], {})
    bars = next(c for c in checks if c.name == "check bars on paper")
    assert not bars.holds
    assert bars.value == pytest.approx(1.0, abs=0.01)  # the metre bar is drawn 1 001 mm long


# -- tiles -------------------------------------------------------------------------------------------


def wave(pen: Pen) -> None:
    x = np.linspace(0.0, 900.0, 2001)
    pen.polyline(np.column_stack([x, 250.0 + 240.0 * np.sin(x / 70.0)]), closed=False, role=Role.CUT_OUTSIDE)


@pytest.mark.parametrize("sheet", [A4, A3, Sheet("A4", 297.0, 210.0, (1.004, 0.998))])
def test_tiles_go_together_to_the_whole(tmp_path: Path, sheet: Sheet) -> None:
    keep = StrokePen()
    wave(keep)
    count = write_tiles(tmp_path / "t.pdf", keep.strokes, "wave", sheet)
    pages, tiles = seen(tmp_path / "t.pdf"), tiles_of(drawing_of(keep.strokes), sheet)
    assert len(pages) == count + 1 == len(tiles) + 1
    whole, pieces = shapely.LineString(keep.strokes[0].points), []
    for page, tile in zip(pages[1:], tiles, strict=True):
        mine = [line.points for line in page.lines if len(line.points) > 5]
        pieces += [(points - 12.0) / sheet.correction + tile.low for points in mine]
        assert tile.name in page.text
    assert max(shapely.distance(whole, shapely.points(np.concatenate(pieces)))) < 0.05
    assert sum(shapely.LineString(p).length for p in pieces) == pytest.approx(whole.length, abs=0.05)


def test_neighbouring_tiles_name_each_other_and_carry_bars(tmp_path: Path) -> None:
    keep = StrokePen()
    wave(keep)
    write_tiles(tmp_path / "t.pdf", keep.strokes, "wave", A4)
    pages = seen(tmp_path / "t.pdf")
    assert "scale page" in pages[0].text
    assert "match A2" in pages[1].text
    assert "match B1" in pages[1].text
    assert "match A1" not in pages[1].text
    for page in pages:
        for upright in (False, True):
            assert np.abs(page.bars(100.0, upright=upright) - 100.0).min() <= 0.01


# -- girths ------------------------------------------------------------------------------------------


def test_widths_on_the_frame_and_square_across() -> None:
    row = crossings(PORT_SIDE)["F1"]
    assert [c.plank for c in row] == ["S02P", "S01aP"]  # from the chine up
    for c in row:
        assert c.square == pytest.approx(WIDE, abs=1e-6)
        assert c.on_frame == pytest.approx(WIDE / np.cos(SLANT), abs=1e-6)  # closed form: aslant by 25 degrees
    # the figure of the trade: 96 on the frame is 87 across at 25 degrees
    assert round(96 * np.cos(SLANT)) == 87


def test_a_staff_has_a_tick_at_every_seam_from_course_one() -> None:
    staff = staff_of("F1 side", crossings(PORT_SIDE)["F1"], ("chine", "sheer"), from_course_one=True)
    on_frame = WIDE / np.cos(SLANT)
    assert [t for t, _ in staff.ticks] == pytest.approx([0.0, on_frame, 2 * on_frame])
    assert [words for _, words in staff.ticks] == ["sheer", "S01a/S02", "chine"]
    assert staff.spaces == ("S01a", "S02")


def test_ticks_of_a_staff_on_paper_are_true(tmp_path: Path) -> None:
    staff = Staff("F1 side", ((0.0, "sheer"), (103.25, "S01/S02"), (187.125, "chine")), ("S01", "S02"))
    keep = StrokePen()
    staff_block(staff, "F1 side", 43.0).draw(keep)
    write_tiles(tmp_path / "s.pdf", keep.strokes, "staff", A4)
    page = seen(tmp_path / "s.pdf")[1]
    ticks = sorted(line.points[0, 0] for line in page.lines if len(line.points) == 2 and line.weight > 0.45)
    assert np.diff(ticks) == pytest.approx([103.25, 83.875], abs=0.01)


def test_the_number_of_a_pair_leaves_the_side_away() -> None:
    assert [pair_stem(p.id) for p in PLANKS[:4]] == ["S01a", "S01b", "S02", "S01a"]


def test_a_short_end_crossed_by_a_frame_has_no_say_in_the_width_across() -> None:
    plank = strake("S09", 1, (0.0, 1700.0), ("transom", "stem"))
    line = Mark("frame", "F9", np.array([[0.0, 640.0], [30.0, 700.0]]))  # from the transom end to the sheer
    (c,) = crossings([replace(plank, marks=(line,))])["F9"]
    assert c.square == pytest.approx(60.0, abs=1e-6)  # how far it climbs, square to the sheer
