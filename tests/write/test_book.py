"""The shop book: its content against closed forms, and both its settings against each other and the page rules."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import replace
from html import unescape
from pathlib import Path

import numpy as np
import pytest
import shapely
from shapely import affinity

from strakewright.errors import Check
from strakewright.measure import board_feet
from strakewright.parts import Margin
from strakewright.units import print_tape
from strakewright.write.book import Book, Facts, Section, Table, Words
from strakewright.write.bookbevels import bevel_rows
from strakewright.write.bookchecks import boat_in_figures, check_sheet
from strakewright.write.bookhtml import page as html_page
from strakewright.write.bookpdf import A4, LETTER, Leaf, write_book_pdf
from strakewright.write.bookplanks import measure_first
from strakewright.write.bookwood import what_to_buy
from strakewright.write.edges import bevel_at, edge_runs
from strakewright.write.paper import words_width
from strakewright.write.pen import RecordingPen
from strakewright.write.shopbook import book_of
from tests.write.pdfium import Seen, seen
from tests.write.small_boat import FACTS, PARTS, PORT_SIDE, SLANT, WIDE, part

BOOK = book_of(FACTS)


@pytest.fixture(scope="module")
def pages(tmp_path_factory: pytest.TempPathFactory) -> list[Seen]:
    path = tmp_path_factory.mktemp("book") / "book.pdf"
    write_book_pdf(path, BOOK)
    return seen(path)


def spaced(cell: str) -> str:
    """With plain spaces: lengths in a cell hold together at a line's end."""
    return cell.replace("\N{NO-BREAK SPACE}", " ")


def section(title: str, book: Book = BOOK) -> Section:
    return next(s for s in book.sections if s.title == title)


def tables(of: Section) -> list[Table]:
    return [b for b in of.blocks if isinstance(b, Table)]


def cells(of: Section) -> Iterator[str]:
    for table in tables(of):
        for row in (table.head, *table.rows):
            yield from row


def row(of: Section, first: str) -> tuple[str, ...]:
    return next(r for t in tables(of) for r in t.rows if r[0] == first)


# -- content -----------------------------------------------------------------------------------------


def test_the_book_tells_all_it_must() -> None:
    assert [s.title for s in BOOK.sections] == [
        "The boat in figures",
        "What to buy",
        "Findings",
        "Boards",
        "Planks in hanging order",
        "Joint maps",
        "Order of hanging",
        "Widths",
        "Measure first",
        "Bevels of edges",
        "What will not bend, and what needs help",
        "Limits of bending",
        "Check sheet",
        "Cautions",
    ]


def test_both_ways_of_laying_a_panel_flat_are_compared() -> None:
    """A line a panel, in both units above a millimetre."""
    told = boat_in_figures(replace(FACTS, hull={"side flats_apart": 0.0004, "bottom flats_apart": 50.5}))
    words = "laid flat from triangles and from the smooth surface: borders apart"
    assert row(told, f"side {words}")[1] == "under 0.01 mm"
    assert "50.5 mm" in spaced(row(told, f"bottom {words}")[1])


def test_board_feet_are_144_cubic_inches_rough() -> None:
    # 3600 x 254 mm of 4/4: 141.73 in x 10 in x 1 in / 144
    assert board_feet(FACTS.boards[0]) == pytest.approx(141.732 * 10 / 144, rel=1e-4)


def test_what_to_buy_names_what_is_missing_and_the_five_hardest() -> None:
    buy = section("What to buy")
    assert "Bring 2 more of larch" in list(cells(buy))
    hardest = tables(buy)[-1].rows
    # nothing 3 085 mm long fits the 1 200 mm boards: only the three long ones take it
    assert hardest[0][0] == "S02P + S02S"
    assert hardest[0][-1] == "3 of the pile"
    assert spaced(hardest[0][1]) == f"3091\n{print_tape(3091)}"  # with 3 mm of edge margin at both ends
    enough = replace(FACTS, findings=(), plan=replace(FACTS.plan, unplaced=()))
    assert "every part lies on a board" in next(b.text for b in what_to_buy(enough).blocks if isinstance(b, Words))


def test_the_plank_table_has_blanks_boards_ends_and_tails() -> None:
    found = row(section("Planks in hanging order"), "S02")
    # 3 000 mm with tails of 25 and 60, 96 mm with 2 mm a side
    assert found[1] == f"3085 x 100\n{print_tape(3085)} x {print_tape(100)}"
    assert found[2] == "A1\nA2"
    assert found[4].split("\n") == ["stem -20° tail 60", "transom +11.5° tail 25", "along chine"]
    told = " ".join(b.text for b in section("Planks in hanging order").blocks if isinstance(b, Words))
    assert 'Tails: forward 60 mm (2 3/8"), aft 25 mm (31/32").' in told
    joined = row(section("Planks in hanging order"), "S01a")
    assert "NONE" in joined[2]
    # 8:1 of 19 mm is 152 mm; the after piece is tapered on its outside, so that the feather points aft
    assert "scarf 152 to S01b, taper outside" in joined[4]
    assert "scarf 152 to S01a, taper inside" in row(section("Planks in hanging order"), "S01b")[4]


def test_pairs_are_hung_in_step_course_by_course() -> None:
    steps = [r[0] for t in tables(section("Order of hanging")) for r in t.rows]
    assert steps[:3] == ["S01a + S01b", "S02", "B01"]
    assert "PORT" in tables(section("Order of hanging"))[0].head


def test_spares_and_ticking_anew_are_told() -> None:
    """One short plank in twenty, rounded up, and one strake (common practice, no source)."""
    leaning = sum(len(la.planks) for la in FACTS.layers if la.settings.pattern != "strakes")
    told = " ".join(b.text for b in section("Order of hanging").blocks if isinstance(b, Words))
    assert f"SPARES: {(leaning + 19) // 20} diagonals" in told
    assert "one forward length" in told
    assert "after every third strake" in " ".join(b.text for b in section("Widths").blocks if isinstance(b, Words))


def test_widths_are_told_both_ways_and_add_up_to_the_girth() -> None:
    on_frame, square = tables(section("Widths"))[:2]
    assert "ON FRAME" in on_frame.caption
    assert "SQUARE" in square.caption
    aslant = WIDE / np.cos(SLANT)
    assert spaced(on_frame.rows[0][1]) == f"{round(2 * aslant) / 2:g}\n{print_tape(aslant)}"
    assert spaced(square.rows[0][1]) == f"96\n{print_tape(96)}"
    sums, girth = on_frame.rows[-2], on_frame.rows[-1]
    assert (sums[0], girth[0]) == ("sum", "girth")
    assert sums[1:] == girth[1:]


def test_diagonals_have_their_places_on_keel_and_chine() -> None:
    table = tables(section("Widths"))[-1]
    # at 45 degrees the after corner on the keel is 141.42 mm further forward a course
    assert tuple(map(spaced, table.rows[0][:2])) == ("B01", f"441.5\n{print_tape(300 + 141.42)}")


def test_closing_courses_are_measured_before_they_are_cut() -> None:
    table = tables(section("Measure first"))[0]
    assert "S02" in table.caption
    assert table.rows[0][0] == "F1"
    assert table.rows[0][2].strip("[]").isspace()
    one = replace(FACTS, layers=FACTS.layers[1:])
    assert measure_first(one) is None


def test_bevels_stand_at_frames_and_every_300_mm_in_degrees_and_mm() -> None:
    plank = PORT_SIDE[2]  # the lower edge runs evenly from 0 to -30 degrees over 3 000 mm
    rows = {r[1]: r for r in bevel_rows(plank, part(plank))}
    assert "300" in rows
    at_1500 = rows["1500"]
    angle = -30.0 * (1500 - 25) / 3000  # x of the pattern begins at the end of the tail
    assert at_1500[3:5] == ("square", "0")
    assert float(at_1500[5].rstrip("°")) == pytest.approx(angle, abs=0.251)
    assert float(at_1500[6]) == pytest.approx(19 * np.tan(np.deg2rad(angle)), abs=0.051)
    frame = next(r for r in rows.values() if r[0] == "F1")
    assert float(frame[1]) == pytest.approx(625.0, abs=0.5)


def test_square_planks_are_named_and_have_no_rows() -> None:
    assert bevel_rows(PORT_SIDE[0], part(PORT_SIDE[0])) == []
    told = " ".join(b.text for b in section("Bevels of edges").blocks if isinstance(b, Words))
    assert re.search(r"side, square on both edges at every station: S01a, S01b\.", told)


def test_no_bevel_is_made_up_between_lap_and_mitre() -> None:
    def stretch(x0: float, x1: float, bevel: float) -> Margin:
        flat = np.array([[x0, 0.0], [x1, 0.0]])
        seam = np.column_stack([flat, np.zeros(2)])
        return Margin("chine", None, "chine", seam, flat, flat, np.full(2, np.deg2rad(bevel)))

    plank = replace(PORT_SIDE[2], second=stretch(0, 1490, -60), ends=(*PORT_SIDE[2].ends, stretch(1500, 3000, 15)))
    runs = edge_runs(plank, plank.second)
    assert len(runs) == 2
    rows = {r[1]: r[5] for r in bevel_rows(plank, part(PORT_SIDE[2]))}
    assert rows["1500"] == "-60°"
    assert set(rows.values()) == {"-60°", "+15°"}
    assert bevel_at(runs[0], 1495.0) is None


def test_what_needs_help_has_its_figures_and_the_limits_their_sources() -> None:
    bend = section("What will not bend, and what needs help")
    found = row(bend, "S01b")
    assert found[1:6] == ("4.00 m", "211", "11.5°/m", "0.4 mm", "0.20 %")
    assert "common practice, no source" in list(cells(section("Limits of bending")))
    helps = {
        name: row[1] for t in tables(bend) if t.caption == "What helps" for row in t.rows for name in row[0].split(", ")
    }
    assert "Use thinner stock" in helps["S01b"]  # the plank it helps stands beside it


def test_the_check_sheet_shows_every_proof_and_says_which_fail() -> None:
    sheet = section("Check sheet")
    assert {r[0] for r in tables(sheet)[0].rows} == {c.name for c in FACTS.checks}
    assert "1 PROOF FAILS" in next(b.text for b in sheet.blocks if isinstance(b, Words))
    bad = Check("sheet A1, tape A to C", 100.0, 101.0, "mm", False)
    told = tables(check_sheet(replace(FACTS, checks=(bad,))))[0].rows
    assert told[-1][-1] == "NO: sheet A1, tape A to C"


def test_cautions_send_the_builder_to_codes_and_licensed_practice() -> None:
    told = " ".join(b.text for b in section("Cautions").blocks if isinstance(b, Words))
    for needed in ("local codes", "licensed practice", "DUST", "GLUE", "Guards"):
        assert needed in told


def test_every_picture_keeps_inside_its_room() -> None:
    for title in ("Boards", "Joint maps"):
        for block in section(title).blocks:
            if not isinstance(block, Words | Table):
                pen = RecordingPen()
                block.draw(pen)
                points = np.concatenate([s.points for s in pen.strokes])
                assert points.min() >= -0.5
                assert points[:, 0].max() <= block.width + 0.5
                assert points[:, 1].max() <= block.height + 0.5


def test_numbers_of_the_maps_do_not_run_into_each_other() -> None:
    for block in section("Joint maps").blocks:
        if not isinstance(block, Words | Table):
            pen = RecordingPen()
            block.draw(pen)
            words = [s for s in pen.strokes if s.kind == "text"]
            halves = [(words_width(s.words, s.size) / 2, s.size / 2) for s in words]
            boxes = [
                affinity.rotate(shapely.box(x - a, y - b, x + a, y + b), s.turn)
                for s, (a, b) in zip(words, halves, strict=True)
                for x, y in s.points
            ]
            for n, box in enumerate(boxes):
                near = [w.words for w, other in zip(words[:n], boxes[:n], strict=True) if box.intersects(other)]
                assert not near, words[n].words


# -- on paper ----------------------------------------------------------------------------------------


def test_the_contents_give_the_true_pages(pages: list[Seen]) -> None:
    said = [s.words for s in pages[0].words]
    for title in (s.title for s in BOOK.sections):
        number = int(said[said.index(title) + 1])
        assert pages[number - 1].words[0].words == title
        assert f"page {number} of {len(pages)}" in pages[number - 1].text


def test_every_page_bears_boat_and_revision(pages: list[Seen]) -> None:
    assert all("Proof rev ab12cd34" in page.text for page in pages)


def test_bench_pages_are_read_at_arms_length(pages: list[Seen]) -> None:
    bench = {s.title for s in BOOK.sections if s.bench}
    numbers = {"S01a", "S02", "B01"}
    for page in pages:
        title = page.words[0].words.removesuffix(" (continued)")
        if title in bench:
            body = [s for s in page.words if not re.match(r"page \d|Proof rev", s.words)]
            small = [s.words for s in body if s.size * 0.718 < 5.0 - 0.01]
            assert not small or title == "Boards", small  # crumbs on a board's sketch have no room
            if title == "Planks in hanging order":
                assert all(s.size * 0.718 > 9.9 for s in body if s.words in numbers)


@pytest.mark.parametrize("leaf", [A4, LETTER])
def test_nothing_runs_off_the_page(tmp_path: Path, leaf: Leaf) -> None:
    write_book_pdf(tmp_path / "book.pdf", BOOK, leaf)
    for page in seen(tmp_path / "book.pdf"):
        assert page.size == pytest.approx((leaf.width, leaf.height), abs=0.01)
        for line in page.lines:
            assert line.points.min() >= 5.0
            assert np.all(line.points <= np.array(page.size) - 5.0)
            assert line.weight >= 0.35 - 1e-4


def test_reruns_are_equal_bytes(tmp_path: Path) -> None:
    for name in ("a", "b"):
        write_book_pdf(tmp_path / name, book_of(FACTS))
    assert (tmp_path / "a").read_bytes() == (tmp_path / "b").read_bytes()


def test_both_settings_say_the_same(pages: list[Seen]) -> None:
    html = unescape(re.sub(r"<[^>]+>", " ", html_page(BOOK)))
    paper = " ".join(page.text for page in pages)
    for of in BOOK.sections:
        for cell in cells(of):
            for word in cell.split():
                assert word in html
                assert word in paper


def test_the_page_asks_nothing_of_the_world() -> None:
    html = html_page(BOOK)
    assert "default-src 'none'" in html
    assert not re.search(r"(src|href)=[\"'](?!#)", html)
    assert html.count("<section") == len(BOOK.sections)
    assert "<b>" not in html_page(Book("<b>", "r", ()))


# -- whole ------------------------------------------------------------------------------------------


def test_parts_of_the_small_boat_are_all_told() -> None:
    told = " ".join(cells(section("Planks in hanging order")))
    assert all(p.id[:-1] in told for p in PARTS)


def test_a_boat_without_a_board_has_a_book_all_the_same(tmp_path: Path) -> None:
    bare: Facts = replace(
        FACTS, sheets=(), plan=replace(FACTS.plan, placements=(), unplaced=tuple(p.id for p in PARTS))
    )
    assert write_book_pdf(tmp_path / "b.pdf", book_of(bare)) > 5


def test_contents_name_every_section_however_many(tmp_path: Path) -> None:
    sections = tuple(Section(f"Section {n}", (Words("words"),)) for n in range(60))
    count = write_book_pdf(tmp_path / "b.pdf", Book("Proof", "ab", sections))
    pages = seen(tmp_path / "b.pdf")
    front = count - 60
    assert front > 1
    told = "\n".join(page.text for page in pages[:front])
    for n in (0, 30, 59):
        assert f"Section {n}\n{front + n + 1}\n" in told
        assert f"Section {n}" in pages[front + n].text
