"""Cut tickets: crosscuts, rips and remnants of an invented board worked out by hand."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from strakewright.lumber import Board, Defect, Rules
from strakewright.machine import MachineSettings
from strakewright.parts import Mark, Part
from strakewright.plan import Placement, Plan
from strakewright.read.taped import Taped
from strakewright.write.book import Words
from strakewright.write.bookpdf import A4, LETTER, write_book_pdf
from strakewright.write.offsetrecords import NOTE
from strakewright.write.pen import RecordingPen, Role
from strakewright.write.setups import setup_of
from strakewright.write.sheets import Sheet, Title, draw_sheet, sheets_of
from strakewright.write.tickets import Length, Shop, lengths, remnant, rips, steps, ticket, tickets_of
from tests.write.pdfium import seen


def bar(name: str, long: float, wide: float) -> Part:
    return Part(name, np.array([[0.0, 0], [long, 0], [long, wide], [0, wide]]), 20.0, "larch")


PARTS = (bar("S1P", 1500, 60), bar("S1S", 1400, 60), bar("K1", 300, 150), bar("S2P", 800, 100))
PLACES = (
    Placement("S1P", "B4", 10, 10),
    Placement("S1S", "B4", 10, 80),
    Placement("K1", "B4", 1520, 10),
    Placement("S2P", "B4", 1830, 20),
)
RING = np.array([[0.0, 0], [4000, 0], [4000, 200], [0, 180]])
KNOT = Defect("knot", np.array([[1400.0, 150], [1440, 150], [1440, 175], [1400, 175]]))
BOARD = Board("B4", RING, 20.0, "larch", (KNOT,), rough_thickness=26.0)
HAND = Shop(Rules(), MachineSettings(cutting="bandsaw"))
ROUTER = Shop(Rules(), MachineSettings(bed=(2438.4, 1219.2)))


def sheet(places: tuple[Placement, ...] = PLACES, board: Board = BOARD) -> Sheet:
    return sheets_of(Plan(places, (), 1, 1, 1, 1, 1, None, None, 0, 0), PARTS, [board])[0]


def test_crosscuts_lie_half_way_in_the_gaps() -> None:
    assert lengths(sheet()) == (
        Length(0.0, 1515.0, ("S1P", "S1S")),
        Length(1515.0, 1825.0, ("K1",)),
        Length(1825.0, 2650.0, ("S2P",)),
    )


def test_rips_part_what_lies_side_by_side() -> None:
    first, second, _ = lengths(sheet())
    assert rips(sheet(), first) == (75.0,)  # between 70 and 80
    assert rips(sheet(), second) == ()
    over = (replace(PLACES[0]), replace(PLACES[1], y=60.0))
    assert rips(sheet(over), lengths(sheet(over))[0]) == ()


def test_the_remnant_is_named_when_it_is_worth_keeping() -> None:
    assert remnant(sheet(), Rules(min_offcut=600)) == (2638.0, 4000.0)
    assert remnant(sheet(), Rules(min_offcut=1400)) is None
    told = "\n".join(str(b) for b in ticket(sheet(), HAND).blocks)
    assert "chalk B4-R on it: 1362 mm" in told
    assert "knot at x 1400-1440, y 150-175 mm" in told


def order(words: list[str], *starts: str) -> None:
    at = [next(n for n, step in enumerate(words) if start in step) for start in starts]
    assert at == sorted(at), words


def test_the_order_is_the_trades() -> None:
    by_hand = steps(sheet(), HAND)
    order(by_hand, "square the butt", "Crosscut at", "Face one side", "Plane to 20 mm", "Rip S1P", "Saw to")
    assert any("K1: under 350 mm" in step and "plane before" in step for step in by_hand)
    routed = steps(sheet(), replace(ROUTER, setups={"B4": setup_of(sheet(), ROUTER.machine)}))  # type: ignore[arg-type]
    order(routed, "square the butt", "remnant off", "Face one side", "Plane", "Sheet B4.dxf", "Hold down")
    assert not any("Crosscut at" in step for step in routed)
    assert "in 2 windows" in routed[-1]
    leaf = tuple(replace(p, leaf=1) for p in PLACES)
    resawn = steps(sheet(leaf, replace(BOARD, leaves=2)), replace(HAND, rules=Rules(resaw_skip=1.5)))
    other = "Plane the other side parallel, no more than 1.5 mm off"
    order(resawn, "Crosscut at", "Face one side", other, "Resaw into 2", "Plane to", "Saw to")


def test_a_book_matched_pair_is_told_on_both_leaves_and_one_lies_with_its_marks_down() -> None:
    """S1P on leaf 1, its mirror image at the same place on leaf 2, turned over: its marks are not drawn on the wood."""
    port = replace(PARTS[0], mate="S1S", match=True, marks=(Mark("frame", "F1", np.array([[500.0, 0], [500, 60]])),))
    over = replace(port, id="S1S", mate="S1P", outline=(port.outline * [1, -1])[::-1], marks=port.marks)
    here = Placement("S1P", "B4", 10, 10, leaf=1)
    places = here, Placement("S1S", "B4", 10, 10, flip=True, leaf=2)
    plan = Plan(places, (), 1, 1, 1, 1, 1, None, None, 0, 0)
    first, second = sheets_of(plan, (port, over), [BOARD])
    told = [" ".join(steps(s, replace(HAND, rules=Rules(resaw_skip=1.5)))) for s in (first, second)]
    assert "Book-matched: S1P with S1S on leaf 2." in told[0]
    assert "Book-matched: S1S with S1P on leaf 1." in told[1]
    assert all("Resaw into 2 leaves, mark them 1 to 2" in words for words in told)
    assert ["Marks on the face that lay down" in words for words in told] == [False, True]
    pens = [RecordingPen(), RecordingPen()]
    for pen, each in zip(pens, (first, second), strict=True):
        draw_sheet(pen, each, Title("Proof"), Rules(), {})
    assert [any(s.role is Role.SCRIBE for s in pen.strokes) for pen in pens] == [True, False]
    words = [" ".join(s.words for s in pen.strokes if s.kind == "text") for pen in pens]
    assert ["BOOK-MATCHED: S1P with S1S on leaf 2" in words[0], "OUTSIDE UP: S1S" in words[1]] == [True, True]
    assert "LEAF 2 of 2" in words[1]
    aside = replace(plan, placements=(here, replace(places[1], x=30.0)))
    assert "Book-matched" not in " ".join(steps(sheets_of(aside, (port, over), [BOARD])[1], HAND))


def test_the_butt_is_squared_where_the_end_trim_stops() -> None:
    """Else a board that loses only its checked end lies askew of its defects: x = 0 is where the reader trimmed to."""
    trimmed = replace(BOARD, end_trim=50.0)
    told = steps(sheet(board=trimmed), HAND)
    assert told[0] == 'Crosscut: square the butt 50 mm (1 31/32") off its end; there x = 0.'
    pen = RecordingPen()
    draw_sheet(pen, sheet(board=trimmed), Title("Proof"), Rules(), {})
    said = " ".join(s.words for s in pen.strokes if s.kind == "text")
    assert "the butt, squared 50 mm" in said
    assert "JOINTED EDGE" in said


def test_a_bowed_edge_is_not_jointed() -> None:
    """A crook of 12 mm over 4 m: jointing it away would take parts that lie in the corners it leaves."""
    bowed = replace(BOARD, outline=Taped(4000.0, 200.0, None, 12.0).outline())
    told = steps(sheet(board=bowed), HAND)
    assert "do not joint it: a string along it from x = 0 to x = 4000 mm (13' 1 15/32\") is y = 0" in told[1]
    assert "Crosscut" in told[2]  # the string is struck while the board is whole
    assert not any("joint one edge" in step for step in told)
    pen = RecordingPen()
    draw_sheet(pen, sheet(board=bowed), Title("Proof"), Rules(), {})
    words = [s.words for s in pen.strokes if s.kind == "text"]
    assert "STRING  y = 0" in words
    assert not any("JOINTED EDGE" in w for w in words)
    waney = replace(BOARD, outline=np.array([[0.0, 8], [2000, 20], [4000, 3], [4000, 180], [0, 180]]))
    told = steps(sheet(board=waney), HAND)
    assert '8 mm (5/16") below it at the butt and 3 mm (1/8") below it at the top, is y = 0' in told[1]
    again = steps(sheet(board=replace(bowed, state="opened")), HAND)
    assert "old butt x = 0 and line y = 0" in again[0]


def test_a_board_is_planed_to_its_thickest_part_and_no_thinner_than_that() -> None:
    thick = replace(BOARD, thickness=23.0)
    assert any("Plane to 20 mm" in step for step in steps(sheet(board=thick), HAND))
    assert sheet(board=thick).planed == 20.0


def test_parts_beside_a_thicker_one_are_thinned_last() -> None:
    """A part for 10.5 mm on a board of 20 mm parts: planing the board does not make that part."""
    parts = (PARTS[0], replace(PARTS[1], thickness=10.5), *PARTS[2:])
    plan = Plan(PLACES, (), 1, 1, 1, 1, 1, None, None, 0, 0)
    for shop in (HAND, ROUTER):
        told = steps(sheets_of(plan, parts, [BOARD])[0], shop)
        assert told[-1] == 'Thin to 10.5 mm (13/32"), off the face without marks: S1S.'
        assert not any(step.startswith("Thin") for step in steps(sheet(), shop))


def test_the_check_dimensions_are_those_of_the_corners() -> None:
    told = " ".join(steps(sheet(), ROUTER))
    far = float(np.hypot(2630 - 10, 120 - 10))  # S1P's corner at (10, 10) to S2P's at (2630, 120)
    assert f"A to C {round(far * 2) / 2:g} mm" in told
    assert "butt x = 0 square to C 2630 mm" in told


def test_a_board_cut_into_already_is_neither_squared_nor_faced_again() -> None:
    """Wood taken out from 3000 to 3200 mm: what is kept begins past it and the clearance (8 mm)."""
    gone = Defect("taken", np.array([[3000.0, 20], [3200, 20], [3200, 90], [3000, 90]]), "S9P")
    opened = replace(BOARD, defects=(*BOARD.defects, gone), state="opened")
    told = steps(sheet(board=opened), HAND)
    assert told[0].startswith("Cut into already")
    assert not any(step.startswith(("Face one side", "Crosscut: square")) for step in told)
    assert remnant(sheet(board=opened), Rules()) == (3208.0, 4000.0)
    said = " ".join(b.text for b in ticket(sheet(board=opened), HAND).blocks if isinstance(b, Words))
    assert "S9P cut out at x 3000-3200, y 20-90" in said


@pytest.mark.parametrize("shop", [HAND, ROUTER, Shop(Rules())])
def test_every_board_has_its_page(tmp_path: Path, shop: Shop) -> None:
    for leaf in (A4, LETTER):
        count = write_book_pdf(tmp_path / "t.pdf", tickets_of("Proof", "ab", [sheet(), sheet()], shop), leaf.upright)
        pages = seen(tmp_path / "t.pdf")
        assert count == len(pages) == 3  # what is where, and a page a board
        assert "BOARD B4" in pages[1].text
        heights = [said.size * 0.718 for said in pages[1].words if said.words.strip()]
        assert sorted(heights)[2] >= 5.0 - 1e-3  # all but the two words of the foot


def test_the_note_of_a_rounded_table_stands_on_tickets_and_sheets() -> None:
    """Every paper of a boat from a table of offsets says how sure its outlines are; one from a mesh says nothing."""
    for note in (NOTE, ""):
        words = ticket(sheet(), replace(HAND, note=note)).blocks[-1]
        pen = RecordingPen()
        draw_sheet(pen, sheet(), Title("Teasel", "r2", note), Rules(), {})
        on_sheet = " ".join(s.words for s in pen.strokes)
        assert isinstance(words, Words)
        assert ("1 to 3 mm" in words.text) == ("1 to 3 mm" in on_sheet) == bool(note)


def test_a_ticket_says_which_ends_the_planer_spoils():
    sniped = Shop(Rules(snipe=75.0), MachineSettings(cutting="bandsaw"))
    told = [b.text for b in ticket(sheet(), sniped).blocks if isinstance(b, Words)]
    assert any("None lies in the last 75 mm of an end" in text for text in told)
    assert not any("planer cuts deeper" in b.text for b in ticket(sheet(), HAND).blocks if isinstance(b, Words))
