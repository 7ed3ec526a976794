"""Tables of boards.  Expected sizes by hand: 1 in = 25.4 mm, 1.5 mm planed off each face, 50 mm off each end
(the defaults of the boat file), 4/4 dressed to 13/16 in (grading standard)."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from strakewright.errors import Finding, InputError
from strakewright.lumber import Board, Dressing
from strakewright.read.stock import read_boards
from strakewright.settings import StockSettings


def table(folder: Path, text: str) -> Path:
    path = folder / "boards.csv"
    path.write_text(text, encoding="utf-8")
    return path


def rack(folder: Path, text: str, unit: str = "mm", **trims: Any) -> list[Board]:
    path = table(folder, text)
    return read_boards(path, StockSettings(path, **trims), "white ash", unit)[0]


def told(folder: Path, text: str, **trims: Any) -> list[str]:
    with pytest.raises(InputError) as refused:
        rack(folder, text, **trims)
    return [str(fault) for fault in (refused.value, *refused.value.also)]


def test_trims_come_off_before_anything_is_laid_out(tmp_path: Path) -> None:
    (board,) = rack(tmp_path, "id,length,width,thickness,grade,price\nA1,2400,150,27,FAS,31.50\n")
    assert board.outline.tolist() == [[0, 0], [2300, 0], [2300, 150], [0, 150]]
    assert (board.thickness, board.rough_thickness, board.grade, board.price) == (24.0, 27.0, "FAS", 31.5)
    assert (board.species, board.defects) == ("white ash", ())


def test_bare_numbers_are_in_the_unit_of_the_boat_and_text_may_name_its_own(tmp_path: Path) -> None:
    text = 'id,length,width,thickness\nA,96,5 1/2,4/4\nB,8 ft 1 in,140 mm,27 mm\nC,8\' 1",5½",5/4\n'
    a, b, c = rack(tmp_path, text, "in", end_trim=0.0)
    assert [x.outline[2].tolist() for x in (a, b, c)] == [[2438.4, 139.7], [2463.8, 140], [2463.8, 139.7]]
    assert [x.thickness for x in (a, b, c)] == [20.6375, 24.0, 26.9875]
    assert [x.rough_thickness for x in (a, b, c)] == [25.4, 27.0, 31.75]


def test_dressed_boards_keep_their_thickness(tmp_path: Path) -> None:
    (board,) = rack(tmp_path, "id,length,width,thickness\nA,2400,150,20\n", measured="dressed", end_trim=0.0)
    assert (board.thickness, board.rough_thickness) == (20.0, 20.0)


def test_counted_boards_are_numbered(tmp_path: Path) -> None:
    boards = rack(tmp_path, "id,length,width,thickness,count\nA,2400,150,27,3\nB,2400,150,27,1\nC,2400,150,27,\n")
    assert [board.id for board in boards] == ["A-1", "A-2", "A-3", "B", "C"]


def test_species_go_by_their_trade_names(tmp_path: Path) -> None:
    boards = rack(tmp_path, "ID, Length ,width,thickness,species\nA,2400,150,27,douglas fir\nB,2400,150,27,\n")
    assert [board.species for board in boards] == ["Douglas-fir", "white ash"]


@pytest.mark.parametrize("mark", [",", ";", "\t"])
def test_comments_blank_rows_notes_and_other_separators(tmp_path: Path, mark: str) -> None:
    text = '# my pile, "spring"\n\nid,length,width,thickness,note\n# oak\nA,2400,"150 mm",27,wet\n\n'.replace(",", mark)
    assert [board.id for board in rack(tmp_path, text)] == ["A"]


def test_a_note_says_what_was_taken_off(tmp_path: Path) -> None:
    """Finding boards-trimmed; without a boat file the usual trims are taken and any wood will do."""
    path = table(tmp_path, "id,length,width,thickness,species\nA,2400,150,27,plum\n")
    (board,), (finding,) = read_boards(path, Dressing(), "")
    assert (board.species, board.thickness) == ("plum", 24.0)
    assert isinstance(finding, Finding)
    assert (finding.code, finding.level) == ("boards-trimmed", "note")
    assert "1.5 mm off each face" in finding.what
    assert "50 mm off each end" in finding.what


HEAD = "id,length,width,thickness,count,species,price\n"
BAD_ROWS = [
    ("A,2400,0,27,1,,", "boards.csv:2: width: '0' is 0 mm, outside 10 to 1000 mm"),
    ("A,2400,-150,27,1,,", "boards.csv:2: width: '-150' is -150 mm"),
    ("A,99,150,27,1,,", "boards.csv:2: length: '99' is 99 mm, outside 100 to 30000 mm"),
    ("A,100,150,27,1,,", "boards.csv:2: length: '100' leaves nothing after 50 mm off each end"),
    ("A,2400,150,201,1,,", "boards.csv:2: thickness: '201' is 201 mm, outside 1 to 200 mm"),
    ("A,2400,150,3.5,1,,", "boards.csv:2: thickness: '3.5' leaves less than 1 mm"),
    ("A,long,150,27,1,,", "boards.csv:2: length: 'long' is not a length"),
    ("A,nan,150,27,1,,", "boards.csv:2: length: 'nan' is not a length"),
    ("A,,150,27,1,,", "boards.csv:2: length: the cell is empty"),
    ("A,2400,150", "boards.csv:2: thickness: the cell is empty"),
    (",2400,150,27,1,,", "boards.csv:2: id: the cell is empty"),
    ("Brett Nr.1,2400,150,27,1,,", "boards.csv:2: id: 'Brett Nr.1' is no id"),
    ("Bö,2400,150,27,1,,", "boards.csv:2: id: 'Bö' is no id"),
    ("A,2400,150,27,0,,", "boards.csv:2: count: '0' is no number of boards"),
    ("A,2400,150,27,1.5,,", "boards.csv:2: count: '1.5' is no number of boards"),
    ("A,2400,150,27,²,,", "boards.csv:2: count: '²' is no number of boards"),
    ("A" * 39 + ",2400,150,27,10,,", "is longer than 40 characters"),
    ("A,2400,150,27,1,wite ash,", 'is no wood of the table. The nearest is "white ash"'),
    ("A,2400,150,27,1,,cheap", "boards.csv:2: price: 'cheap' is no price"),
    ("A,2400,150,27,1,,-3", "boards.csv:2: price: '-3' is no price"),
    ("A,2400,150,27,1,,nan", "boards.csv:2: price: 'nan' is no price"),
    ("A,2400,150,27,1,,3,4", "boards.csv:2: row: 8 cells under 7 columns"),
    ('A,2400,"150,27,1,,', "boards.csv:2: not a table"),
]


@pytest.mark.parametrize(("row", "message"), BAD_ROWS)
def test_a_bad_cell_is_told_with_row_and_column(tmp_path: Path, row: str, message: str) -> None:
    lines = told(tmp_path, HEAD + row + "\n")
    assert len(lines) == 1
    assert message in lines[0]


def test_all_bad_cells_come_in_one_go(tmp_path: Path) -> None:
    text = HEAD + "A,2400,0,27,1,,\nB,2400,150,27,1,,\na,2400,150,x,9,,\nb,1,150,27,1,,\n"
    lines = told(tmp_path, text)
    assert [line.split(": ")[0] for line in lines] == ["boards.csv:2", "boards.csv:4", "boards.csv:5", "boards.csv:5"]
    assert "a second board 'b'" in lines[2]


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("", "boards.csv: the table is empty"),
        ("A,2400,150,27\n", "boards.csv:1: no column 'thickness'"),
        ("id,length,width,thickness\n", "the table has no boards"),
        ("id,length,width,thickness,cuont\n", "column 'cuont' is not known. Did you mean \"count\"?"),
        ("id,id,length,width,thickness\n", "two columns 'id'"),
        ("id,length,width,thickness,count\nA,2400,150,27,20000\nB,2400,150,27,2\n", "20002 boards, more than 20000"),
    ],
)
def test_a_bad_table_is_refused(tmp_path: Path, text: str, message: str) -> None:
    assert any(message in line for line in told(tmp_path, text))


def test_prices_are_needed_when_the_plan_is_judged_by_them(tmp_path: Path) -> None:
    rows = "A,2400,150,27,1,,5\nB,2400,150,27,1,,\n"
    assert told(tmp_path, HEAD + rows, objective="price") == [
        "boards.csv:3: price: the cell is empty. Write the price of the board"
    ]
    assert [board.price for board in rack(tmp_path, HEAD + rows)] == [5.0, None]


def test_a_board_foot_may_have_the_price(tmp_path: Path) -> None:
    """12 ft x 8 in x 4/4 is 8 board feet (FACTS of the trade), ends counted in; other woods, other prices."""
    head = "id,length,width,thickness,species,price,price_bf\n"
    rows = "A,12 ft,8 in,4/4,white ash,,7.25\nB,12 ft,8 in,8/4,white oak,,9\nC,12 ft,8 in,4/4,white ash,40,\n"
    assert [board.price for board in rack(tmp_path, head + rows)] == [58.0, 144.0, 40.0]
    assert [board.price for board in rack(tmp_path, head + rows, objective="price")] == [58.0, 144.0, 40.0]
    assert told(tmp_path, head + "A,12 ft,8 in,4/4,white ash,58,7.25\n") == [
        "boards.csv:2: price_bf: a price of the board and one of the board foot. Write one of them"
    ]
    assert told(tmp_path, head + "A,12 ft,8 in,4/4,white ash,,dear\n")[0].startswith(
        "boards.csv:2: price_bf: 'dear' is no price"
    )


def test_outlines_of_a_json_file_are_usable_wood(tmp_path: Path) -> None:
    path = tmp_path / "boards.json"
    square = [[0, 0], [0, 150], [2400, 150], [2400, 0]]
    path.write_text(json.dumps({"boards": [{"id": "A", "outline": square, "thickness": 20, "species": "Ash"}]}))
    (board,), findings = read_boards(path, StockSettings(path), "white oak")
    assert board.outline.tolist() == [[0, 0], [2400, 0], [2400, 150], [0, 150]]  # turned counter-clockwise
    assert (board.thickness, board.species, findings) == (20.0, "white ash", [])
    with pytest.raises(InputError, match=r"boards\.json: A: no price"):
        read_boards(path, StockSettings(path, objective="price"), "white oak")
